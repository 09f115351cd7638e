//! Logs as text, and what an answer to one says.

use serde_json::Value;
use std::fmt::Display;

/// Readings of one day.
pub fn entries<R: Display>(readings: &[R]) -> String {
    readings.iter().map(|reading| format!("[[reading]]\ndate = 2026-11-20\n{reading}\n")).collect()
}

/// A log of them, whose bare numbers are in inches.
pub fn log_text<R: Display>(readings: &[R]) -> String {
    format!("units = \"in\"\n{}", entries(readings))
}

/// Whether an answer, as it is published, says these words.
pub fn said(answer: &Value, words: &str) -> bool {
    answer["says"].as_array().unwrap().iter().any(|say| say.as_str().unwrap().contains(words))
}
