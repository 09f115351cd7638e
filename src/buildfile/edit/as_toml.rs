//! Values as people type them, as TOML.

/// The value as it is written in a file: what is TOML stays, anything else becomes a text in quotes.
///
/// ```
/// use taperwright::buildfile::edit::as_toml;
/// assert_eq!(as_toml("0.140 in"), "\"0.140 in\"");
/// assert_eq!(as_toml(".14"), "0.14");
/// assert_eq!(as_toml("[[0, 1.5], [30, 1]]"), "[[0, 1.5], [30, 1]]");
/// ```
pub fn as_toml(text: &str) -> String {
    let text = &with_zeros(text);
    let plain = !text.contains(['\n', '\r', '#']);
    let alone = plain && toml::from_str::<toml::Table>(&format!("x = {text}")).is_ok_and(|table| table.len() == 1);
    if alone { text.clone() } else { quoted(text) }
}

/// `.163` as TOML writes it, `0.163`; texts in quotes stay.
fn with_zeros(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    let mut before = ' ';
    for (at, letter) in text.char_indices() {
        let digit_next = text[at + letter.len_utf8()..].starts_with(|c: char| c.is_ascii_digit());
        if letter == '.' && digit_next && matches!(before, ' ' | '[' | ',' | '-') && !text.contains(['"', '\'']) {
            out.push('0');
        }
        out.push(letter);
        before = letter;
    }
    out
}

/// The text in quotes.
pub fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}
