//! "Did you mean": the known word that lies nearest to what was typed.
//!
//! Distance: letters put in, left out, swapped for another or with their neighbour (optimal string alignment). A word counts as near when at most a
//! third of its letters differ.

use crate::model::wood;

/// How a word is marked where it is offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quoted {
    /// As a value of a file: `"core"`.
    Value,
    /// As a key, or a word of the command line.
    Code,
}

/// The hint for a word that is not known: the one that may have been meant, or what is said `otherwise`.
///
/// ```
/// use taperwright::buildfile::spelling::{Quoted, meant};
/// let known = ["back", "core"];
/// assert_eq!(meant("kore", known, Quoted::Code, || "there are back, core".into()), "did you mean `core`?");
/// assert_eq!(meant("glass", known, Quoted::Code, || "there are back, core".into()), "there are back, core");
/// ```
pub fn meant<'a>(
    typed: &str,
    known: impl IntoIterator<Item = &'a str>,
    quoted: Quoted,
    otherwise: impl FnOnce() -> String,
) -> String {
    match (nearest(typed, known), quoted) {
        (Some(near), Quoted::Value) => format!("did you mean \"{near}\"?"),
        (Some(near), Quoted::Code) => format!("did you mean `{near}`?"),
        (None, _) => otherwise(),
    }
}

/// The woods that may have been meant by a name that is none, as a question.
pub fn wood_meant(typed: &str) -> Option<String> {
    let names = || wood::all().iter().flat_map(wood::Species::names);
    // Of a kind of wood the first word alone is typed: `mapel` is a slip of every maple.
    let kinds = names().flat_map(|name| name.split([',', ' '])).filter(|word| 3 <= word.len());
    let names = match slip(typed, names().chain(kinds)) {
        Some(near) => wood::named(near).map_or_else(|| wood::similar(near), |wood| vec![wood.name.as_str()]),
        None => wood::similar(typed),
    };
    let quoted: Vec<String> = names.iter().take(8).map(|name| format!("\"{name}\"")).collect();
    match quoted.as_slice() {
        [] => None,
        [only] => Some(format!("did you mean {only}?")),
        several => Some(format!("did you mean one of {}?", several.join(", "))),
    }
}

/// The nearest of `known` to `typed`, if one is near; a beginning counts as near.
fn nearest<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    near(typed, known, Nearness::Beginning)
}

/// The nearest of `known` to `typed`, if it is a slip of the finger away.
fn slip<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    near(typed, known, Nearness::Slip)
}

/// What counts as near.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Nearness {
    Slip,
    /// A slip, or a beginning.
    Beginning,
}

fn near<'a>(typed: &str, known: impl IntoIterator<Item = &'a str>, nearness: Nearness) -> Option<&'a str> {
    let plain = |text: &str| -> Vec<char> { text.trim().to_lowercase().replace(['-', ' '], "_").chars().collect() };
    let typed = plain(typed);
    if LONGEST < typed.len() {
        return None;
    }
    let scored = |word: &'a str| {
        let letters = plain(word);
        let distance = distance(&typed, &letters);
        let begins = nearness == Nearness::Beginning
            && 3 <= typed.len()
            && (letters.starts_with(&typed) || (3 <= letters.len() && typed.starts_with(&letters)));
        let score = if begins { distance.min(1) } else { distance };
        (3 * score <= letters.len().max(typed.len())).then_some((score, distance, word))
    };
    known.into_iter().filter_map(scored).min().map(|(_, _, word)| word)
}

/// Longer words are no slip of the finger, and would only cost time.
const LONGEST: usize = 64;

fn distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, other) in b.iter().enumerate() {
            let mut min = (above[j] + usize::from(letter != other)).min(above[j + 1] + 1).min(row[j] + 1);
            if 0 < i && 0 < j && a[i - 1] == *other && *letter == b[j - 1] {
                min = min.min(before[j - 1] + 1);
            }
            row.push(min);
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_finger_are_near_and_other_words_are_not() {
        let keys = ["thickness", "taper", "stock", "stage", "from", "to", "wood", "keep_face"];
        for (typed, meant) in [
            ("thicknes", Some("thickness")),
            ("thikness", Some("thickness")),
            ("tpaer", Some("taper")),
            ("Keep-Face", Some("keep_face")),
            ("thick", Some("thickness")),
            ("colour", None),
            ("x", None),
            ("", None),
        ] {
            assert_eq!(nearest(typed, keys), meant, "{typed}");
        }
        assert_eq!(nearest(&"a".repeat(100_000), keys), None);
    }

    #[test]
    fn distance_counts_single_slips() {
        let count = |a: &str, b: &str| distance(&a.chars().collect::<Vec<_>>(), &b.chars().collect::<Vec<_>>());
        assert_eq!(count("", "abc"), 3);
        assert_eq!(count("abc", "acb"), 1);
        assert_eq!(count("kitten", "sitting"), 3);
    }
}
