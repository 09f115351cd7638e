//! A short, stable hash of bytes, to tell files apart. Not for secrets.

/// FNV-1a over 64 bits as sixteen hexadecimal digits.
///
/// Source: G. Fowler, L. C. Noll, K.-P. Vo, D. Eastlake, "The FNV Non-Cryptographic Hash Algorithm", IETF draft; RFC 9923.
///
/// ```
/// assert_eq!(taperwright::job::hash::fnv1a(b"a"), "af63dc4c8601ec8c");
/// ```
pub fn fnv1a(bytes: &[u8]) -> String {
    let hash =
        bytes.iter().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3));
    format!("{hash:016x}")
}
