//! A reading as a page sends it, what is asked about it, and the slips by which a hand types another figure than it meant.

use super::places::Spoken;
use crate::buildfile::edit::as_toml;
use crate::diag::Diagnostic;
use crate::units::{Quantity, System, fixed, read, trim_zeros};
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;
use std::time::{Duration, SystemTime};

/// A reading as a page sends it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sent {
    /// The page's own, different for each reading.
    pub key: String,
    pub of: String,
    pub keys: Vec<(String, Typed)>,
    /// The day, where it was typed; else that of `ago_s`.
    #[serde(default)]
    pub date: Option<String>,
    /// Seconds since it was typed.
    #[serde(default)]
    pub ago_s: u64,
    /// It was sent before, and no answer came.
    #[serde(default)]
    pub again: bool,
}

/// A value as it was typed.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize)]
#[serde(untagged)]
pub enum Typed {
    One(String),
    Several(Vec<String>),
    Rows(Vec<Vec<String>>),
}

/// What is asked about a reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Asked {
    pub questions: Vec<SentQuestion>,
    /// What was probably meant: with it the reading can be used.
    pub meant: Option<Meant>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SentQuestion {
    pub message: String,
    pub hints: Vec<String>,
    /// Key and row, where one is to blame.
    pub key: Option<String>,
    pub row: Option<usize>,
}

/// The same reading with a slip mended.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Meant {
    pub words: String,
    pub keys: Vec<(String, Typed)>,
}

/// What the desk keeps about readings.
#[derive(Debug, Default)]
pub struct Readings {
    pub(super) today: Option<fn(Duration) -> String>,
    /// Keys of readings that were added, and what they said.
    pub(super) known: VecDeque<(String, Spoken)>,
    /// The log as it was seen last.
    pub(super) seen: Option<(SystemTime, u64)>,
}

impl Asked {
    pub fn of(questions: Vec<SentQuestion>) -> Asked {
        Asked { questions, meant: None }
    }
}

impl SentQuestion {
    pub fn new(message: String, hints: Vec<String>) -> SentQuestion {
        SentQuestion { message, hints, key: None, row: None }
    }

    pub fn of(question: &Diagnostic, units: System) -> SentQuestion {
        let said = question.words(units);
        let (key, row) = blamed(question);
        SentQuestion { message: said.message, hints: said.hints, key, row }
    }
}

/// Key and row that a question names: `reading[3].readings[0]`.
fn blamed(question: &Diagnostic) -> (Option<String>, Option<usize>) {
    let Some((_, rest)) = question.place.as_str().split_once("].") else { return (None, None) };
    let key: String = rest.chars().take_while(|c| *c != '[' && *c != '.').collect();
    let row = rest[key.len()..].strip_prefix('[').and_then(|rest| rest.split(']').next()?.parse().ok());
    (Some(key), row)
}

impl Typed {
    /// As `log add` would be given it.
    pub fn text(&self) -> String {
        let list =
            |texts: &[String]| format!("[{}]", texts.iter().map(|text| as_toml(text.trim())).collect::<Vec<_>>().join(", "));
        match self {
            Typed::One(text) => text.clone(),
            Typed::Several(texts) if texts.len() == 1 => texts[0].clone(),
            Typed::Several(texts) => list(texts),
            Typed::Rows(rows) => format!("[{}]", rows.iter().map(|row| list(row)).collect::<Vec<_>>().join(", ")),
        }
    }

    pub fn each(&self) -> Vec<&str> {
        match self {
            Typed::One(text) => vec![text],
            Typed::Several(texts) => texts.iter().map(String::as_str).collect(),
            Typed::Rows(rows) => rows.iter().flatten().map(String::as_str).collect(),
        }
    }

    /// With figures changed: all of them, or those of the rows that are to blame, in one column or in each. Places along the wood stay.
    pub fn with(&self, rows: &[usize], column: Option<usize>, change: &impl Fn(&str) -> Option<String>) -> Option<Typed> {
        let wanted = |row: usize| rows.is_empty() || rows.contains(&row);
        let one = |(row, text): (usize, &String)| if wanted(row) { change(text) } else { Some(text.clone()) };
        Some(match self {
            Typed::One(text) => Typed::One(change(text)?),
            Typed::Several(texts) => Typed::Several(texts.iter().enumerate().map(one).collect::<Option<_>>()?),
            Typed::Rows(all) => {
                let figures = |(row, texts): (usize, &Vec<String>)| -> Option<Vec<String>> {
                    let mut texts = texts.clone();
                    let figures = texts
                        .iter_mut()
                        .enumerate()
                        .skip(1)
                        .filter(|(k, _)| wanted(row) && column.is_none_or(|column| column == *k));
                    for (_, text) in figures {
                        *text = change(text)?;
                    }
                    Some(texts)
                };
                Typed::Rows(all.iter().enumerate().map(figures).collect::<Option<_>>()?)
            }
        })
    }
}

/// Slips that are known by their factor; see [`crate::shop::plausible`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Slip {
    /// Read in the other unit of length.
    Unit,
    /// The decimal point so many places further right.
    Point(i32),
    Sign,
}

pub const SLIPS: [Slip; 6] = [Slip::Unit, Slip::Point(1), Slip::Point(-1), Slip::Point(2), Slip::Point(-2), Slip::Sign];

impl Slip {
    /// The text with this slip mended; `None` where it cannot be one of this kind.
    pub fn mend(self, text: &str, units: System) -> Option<String> {
        let bare: f64 = text.trim().parse().ok()?;
        Some(match self {
            Slip::Unit => format!("{} {}", text.trim(), other_unit(units)),
            Slip::Point(places) => {
                let decimals = text.trim().split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
                trim_zeros(&fixed(bare * 10f64.powi(places), (decimals - places).clamp(0, 6) as usize))
            }
            Slip::Sign if bare != 0.0 => trim_zeros(&fixed(-bare, 6)),
            Slip::Sign => return None,
        })
    }

    /// Whether the hints of a question speak of it.
    pub fn is_hinted(self, questions: &[SentQuestion]) -> bool {
        let word = match self {
            Slip::Unit => "give the unit",
            Slip::Point(_) => "decimal point",
            Slip::Sign => "sign",
        };
        questions.iter().flat_map(|question| &question.hints).any(|hint| hint.contains(word))
    }

    pub fn words(self, units: System, now: &str) -> String {
        let now = if read(now, Quantity::Length, units).is_ok() { now } else { "so" };
        match self {
            Slip::Unit => match units {
                System::Inch => format!("yes, millimetres: {now}"),
                System::Millimetre => format!("yes, inches: {now}"),
            },
            Slip::Point(_) => format!("yes, the point slipped: {now}"),
            Slip::Sign => format!("yes, the sign: {now}"),
        }
    }
}

fn other_unit(units: System) -> &'static str {
    match units {
        System::Inch => System::Millimetre.length_unit(),
        System::Millimetre => System::Inch.length_unit(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_written_as_log_add_is_given_them() {
        let text = |text: &str| text.to_owned();
        assert_eq!(Typed::Several(vec![text("0.235")]).text(), "0.235");
        assert_eq!(Typed::Several(vec![text(".235"), text("1/4")]).text(), "[0.235, \"1/4\"]");
        let rows = Typed::Rows(vec![vec![text("3"), text("0.2386"), text("6.05 mm")], vec![text("18"), text("7 1/4")]]);
        assert_eq!(rows.text(), "[[3, 0.2386, \"6.05 mm\"], [18, \"7 1/4\"]]");
        assert_eq!(as_toml(&rows.text()), rows.text());
    }

    #[test]
    fn slips_are_mended_in_the_figures_to_blame_alone() {
        assert_eq!(Slip::Unit.mend("5.23", System::Inch).unwrap(), "5.23 mm");
        assert_eq!(Slip::Point(-1).mend("2.386", System::Inch).unwrap(), "0.2386");
        assert_eq!(Slip::Point(1).mend(".0238", System::Inch).unwrap(), "0.238");
        assert_eq!(Slip::Sign.mend("1.1", System::Inch).unwrap(), "-1.1");
        assert!(Slip::Unit.mend("5 mm", System::Inch).is_none());
        let rows = Typed::Rows(vec![vec!["3".into(), "6.1".into()], vec!["18".into(), "0.24".into()]]);
        let mended = rows.with(&[0], None, &|text| Slip::Unit.mend(text, System::Inch)).unwrap();
        assert_eq!(mended, Typed::Rows(vec![vec!["3".into(), "6.1 mm".into()], vec!["18".into(), "0.24".into()]]));
        let edges = Typed::Rows(vec![vec!["3".into(), "2.386".into(), "0.2383".into()]]);
        let mended = edges.with(&[0], Some(1), &|text| Slip::Point(-1).mend(text, System::Inch)).unwrap();
        assert_eq!(mended, Typed::Rows(vec![vec!["3".into(), "0.2386".into(), "0.2383".into()]]));
    }
}
