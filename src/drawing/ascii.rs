//! Texts spelled in ASCII, for letters of single strokes and for formats whose readers show other characters raw.

/// The text in ASCII, spelled so that no reader takes `%%` or `^` for a control code.
pub fn ascii(text: &str) -> String {
    let mut out = String::new();
    for letter in text.chars() {
        if "½¼¾⅛⅜⅝⅞⅓⅔".contains(letter) {
            // 1½ is 1 1/2, not 11/2.
            if out.ends_with(|c: char| c.is_ascii_digit()) {
                out.push(' ');
            }
        }
        match letter {
            ' '..='~' => out.push(if letter == '^' { '\'' } else { letter }),
            _ => out.push_str(spelled(letter)),
        }
    }
    while out.contains("%%") {
        out = out.replace("%%", "% %");
    }
    out
}

fn spelled(letter: char) -> &'static str {
    match letter {
        '½' => "1/2",
        '¼' => "1/4",
        '¾' => "3/4",
        '⅛' => "1/8",
        '⅜' => "3/8",
        '⅝' => "5/8",
        '⅞' => "7/8",
        '⅓' => "1/3",
        '⅔' => "2/3",
        '′' | '‘' | '’' => "'",
        '″' | '“' | '”' => "\"",
        '×' => "x",
        '±' => "+/-",
        '≤' => "<=",
        '≥' => ">=",
        '≈' => "~",
        '→' => "->",
        '←' => "<-",
        '↑' => "up",
        '↓' => "down",
        '°' => " deg",
        '·' => ".",
        '–' | '—' | '−' | '‐' => "-",
        '…' => "...",
        '²' => "2",
        '³' => "3",
        'µ' | 'μ' => "u",
        'Ø' | '⌀' => "dia. ",
        'α' => "alpha",
        'β' => "beta",
        'ε' => "epsilon",
        'θ' => "theta",
        'κ' => "kappa",
        'σ' => "sigma",
        'Δ' => "delta",
        'Σ' => "sum",
        '√' => "sqrt",
        'à' | 'á' | 'â' | 'ã' => "a",
        'ä' | 'æ' => "ae",
        'å' => "aa",
        'Ä' | 'Æ' => "Ae",
        'Å' => "Aa",
        'ç' => "c",
        'è' | 'é' | 'ê' | 'ë' => "e",
        'È' | 'É' | 'Ê' | 'Ë' => "E",
        'ì' | 'í' | 'î' | 'ï' => "i",
        'ñ' => "n",
        'ò' | 'ó' | 'ô' | 'õ' => "o",
        'ö' | 'ø' => "oe",
        'Ö' => "Oe",
        'ù' | 'ú' | 'û' => "u",
        'ü' => "ue",
        'Ü' => "Ue",
        'ß' => "ss",
        '\n' | '\r' | '\t' | '\u{a0}' | '\u{2009}' | '\u{202f}' => " ",
        _ => "?",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_becomes_plain_ascii() {
        for (text, plain) in [
            ("1½ × 2 ± 0.05 mm", "1 1/2 x 2 +/- 0.05 mm"),
            ("½ in → tip", "1/2 in -> tip"),
            ("100%%d ^I", "100% %d 'I"),
            ("%%%", "% % %"),
            ("κ ≤ 3°", "kappa <= 3 deg"),
            ("Bogen für Käthe – 日本", "Bogen fuer Kaethe - ??"),
        ] {
            assert_eq!(ascii(text), plain);
        }
    }
}
