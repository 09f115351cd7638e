//! Names on parts: text that fits where it is to be burned or drawn, and the words for ends and numbers in it.

use crate::drawing::{Align, Label};
use crate::geometry::{Bounds, Point};

/// Letters lower than this cannot be read, mm.
pub(super) const MIN_CAP_MM: f64 = 1.2;

/// The first of `texts` that can stand legibly in the middle of `room`; else the first that can just be read; else the last, as large
/// as it can be.
pub(super) fn label_in(room: Bounds, texts: &[String]) -> Option<Label> {
    // Common faces are up to this wide for each letter, in heights of a capital.
    const WIDTH_PER_CAP: f64 = 0.85;
    // Smaller letters close up when burned; larger ones only take time. From the second size on they can just be read.
    const LEGIBLE_MM: [f64; 2] = [2.5, 1.8];
    const LARGEST_MM: f64 = 5.0;
    let cap = |text: &String| {
        let letters = text.chars().count().max(1) as f64;
        (room.width() / (WIDTH_PER_CAP * letters)).min(0.8 * room.height()).min(LARGEST_MM)
    };
    let text = LEGIBLE_MM.iter().find_map(|min| texts.iter().find(|text| *min <= cap(text))).or(texts.last())?;
    let cap = cap(text);
    let at = Point::new(0.5 * (room.min.x + room.max.x), 0.5 * (room.min.y + room.max.y - cap));
    (MIN_CAP_MM <= cap).then(|| Label::new(text.clone(), at, cap).aligned(Align::Middle))
}

/// The name of an end in a sentence.
pub(super) fn the(end: &str) -> String {
    if end.starts_with("end ") { end.to_owned() } else { format!("the {end}") }
}

/// Numbers as a list with runs drawn together: `1, 3-5`.
pub(super) fn listed(numbers: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == *number => *last = *number,
            _ => runs.push((*number, *number)),
        }
    }
    let text = |(a, b): &(usize, usize)| if a == b { a.to_string() } else { format!("{a}-{b}") };
    runs.iter().map(text).collect::<Vec<_>>().join(", ")
}
