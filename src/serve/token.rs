//! Tokens and codes: random texts that nobody guesses, and their comparison.

/// Whether two texts are equal, in a time that does not tell where they differ.
pub fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && std::hint::black_box(a.iter().zip(b).fold(0, |differs, (a, b)| differs | (a ^ b))) == 0
}

/// A token: 128 bits from the system, in hexadecimal digits.
pub fn token() -> Result<String, String> {
    let mut bytes = [0u8; 16];
    getrandom::fill(&mut bytes).map_err(|error| format!("the system gives no random bits: {error}"))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_is_equal_and_nothing_else() {
        assert!(same(b"abc", b"abc") && same(b"", b""));
        assert!(!same(b"abc", b"abd") && !same(b"abc", b"ab") && !same(b"", b"a"));
        let (one, other) = (token().expect("random bits"), token().expect("random bits"));
        assert!(one.len() == 32 && one != other);
    }
}
