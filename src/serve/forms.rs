//! Forms for readings: every kind that the log knows, each with its keys as a page asks for them. The log's own reader judges what comes
//! in; a form only says what to ask, in which unit, and what may be left out.

use crate::buildfile::log::KINDS;
use crate::model::Build;
use crate::units::{Quantity, System};
use serde::Serialize;

/// A kind of reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingForm {
    /// As the log names it.
    pub word: &'static str,
    pub what: &'static str,
    pub fields: Vec<Field>,
}

/// A key of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Field {
    pub key: &'static str,
    pub label: &'static str,
    pub kind: FieldKind,
    /// Of the figure, or of each; empty for counts.
    pub unit: &'static str,
    /// Words to choose from, each as it is written and as it is shown.
    pub choices: Vec<[String; 2]>,
    /// Columns of rows, places first.
    pub columns: &'static [&'static str],
    /// May be left out.
    pub free: bool,
    /// Asked only where another key has this value.
    pub only: Option<[&'static str; 2]>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum FieldKind {
    Choice,
    /// One figure.
    Number,
    /// One or several figures of the same thing.
    Several,
    /// Figures place by place.
    Rows,
    /// One of the words, one figure, or figures place by place.
    Along,
    Text,
}

/// The forms for this build, in the order of the work.
pub fn forms(build: &Build) -> Vec<ReadingForm> {
    let made = |kind: &crate::buildfile::log::ReadingKind| ReadingForm {
        word: kind.word,
        what: kind.what,
        fields: fields(kind.word, build).into_iter().chain(kind.is_of_one_bow().then(serial)).collect(),
    };
    KINDS.iter().map(made).collect()
}

fn fields(word: &str, build: &Build) -> Vec<Field> {
    let length = build.units.length_unit();
    let force = Quantity::Force.bare_unit(build.units);
    let names = || build.laminations.iter().map(|lamination| lamination.name.clone());
    let lamination = || choice("lamination", "lamination", plain(names()));
    let to_grind = build.laminations.iter().filter(|lamination| !lamination.ground).map(|lamination| lamination.name.clone());
    let at_the_machine = choice("lamination", "lamination", plain(to_grind));
    let strip = || said("strip", "strip");
    let temperature =
        || Field { free: true, ..number("temperature", "the form's temperature", Quantity::Temperature.bare_unit(build.units)) };
    let size = |key, label| number(key, label, length);
    let free = |field: Field| Field { free: true, ..field };
    let only = |field: Field, key, word| Field { only: Some([key, word]), ..field };
    let rows = |key, label, columns| Field { kind: FieldKind::Rows, columns, ..number(key, label, length) };
    let several = |key, label| Field { kind: FieldKind::Several, ..number(key, label, length) };
    let along = |key, label, columns, choices| Field { kind: FieldKind::Along, columns, choices, ..number(key, label, length) };
    let worded =
        |words: &[[&str; 2]]| words.iter().map(|[word, shown]| [(*word).to_owned(), (*shown).to_owned()]).collect::<Vec<_>>();
    let count = || choice("counted_from", "places counted from", worded(&[["end", "strip's end"], ["centre", "bow's centre"]]));
    let width = || {
        free(along(
            "width",
            "width by now",
            &["station", "width"],
            worded(&[["strips", "as the strips"], ["outline", "trimmed to outline"]]),
        ))
    };
    let belly_off = || free(size("belly_off", "off the belly by now"));
    match word {
        "sheet" => vec![several("thickness", "thickness, at several places")],
        "shim" => {
            let stock = build.shop.shims.iter().map(|stock| stock.of.clone());
            vec![choice("stock", "stock", plain(stock)), several("thickness", "thickness, of several pieces")]
        }
        "print" => {
            let bar = System::Millimetre.length_unit();
            vec![number("across", "bar across", bar), number("up", "bar up", bar)]
        }
        "sled" => vec![at_the_machine, free(count()), rows("heights", "heights above the table", &["place", "height"])],
        "test strip" => vec![
            free(at_the_machine),
            free(choice("on", "run on", worded(&[["table", "the table"], ["sled", "the sled"]]))),
            size("gauge", "the gauge showed"),
            free(size("apart", "left and right, apart by")),
            free(number("after", "after pass", "")),
            free(count()),
            rows("readings", "thickness", &["place", "left", "right"]),
        ],
        "strip" => vec![
            at_the_machine,
            strip(),
            number("after", "after pass", ""),
            free(size("gauge", "the gauge showed")),
            free(size("apart", "left and right, apart by")),
            free(count()),
            rows("readings", "thickness", &["place", "left", "right"]),
        ],
        "done" => vec![at_the_machine, strip(), number("pass", "pass made last", "")],
        "bend" => vec![
            lamination(),
            strip(),
            size("span", "between the supports"),
            number("weight", "weight on the middle", force),
            several("sag", "the middle went down by"),
            free(size("reads", "a sag is read to")),
            along("width", "width", &["from a support", "width"], Vec::new()),
            along("thickness", "thickness", &["from a support", "thickness"], Vec::new()),
        ],
        "release" => {
            let stages = build.glue.stages.iter().map(|stage| stage.number.to_string());
            vec![
                choice("stage", "stage", plain(stages)),
                free(size("upper", "upper nock over the grip, - for reflex")),
                free(size("lower", "lower nock over the grip, - for reflex")),
                free(size("tip", "or the mean of both")),
                said("batch", "batch of glue or glass"),
                temperature(),
            ]
        }
        "blank" => vec![
            choice(
                "how",
                "how it was bent",
                worded(&[["long string", "long string"], ["braced", "braced"], ["floor", "on the floor"]]),
            ),
            only(size("string", "string, nock to nock"), "how", "long string"),
            only(size("brace", "brace height"), "how", "braced"),
            only(size("drop", "grip pressed down by"), "how", "floor"),
            Field { only: Some(["how", "long string|braced"]), ..size("draw", "drawn to") },
            number("weight", "weight", force),
            width(),
            belly_off(),
        ],
        "tiller" => vec![
            free(size("draw", "drawn to; empty at brace")),
            free(size("brace", "brace height, where it is another")),
            free(choice("held", "the grip is", worded(&[["free", "free to turn"], ["fixed", "held fast"]]))),
            free(size("reads_to", "read to")),
            free(choice("worked", "wood came off since the last", worded(&[["true", "yes"], ["false", "no"]]))),
            rows("gaps", "belly to string", &["station", "upper", "lower"]),
        ],
        "bow" => vec![
            number("weight", "weight at full draw", force),
            free(number("finishing", "finishing took", force)),
            width(),
            belly_off(),
            said("mass", "the bow's mass, with its unit"),
            said("batch", "batch of glue or glass"),
            temperature(),
        ],
        "shot" => {
            let unit = |quantity: Quantity| quantity.bare_unit(build.units);
            vec![
                Field { kind: FieldKind::Several, ..number("speed", "the chronograph showed", unit(Quantity::ArrowSpeed)) },
                number("arrow", "the whole arrow weighs", unit(Quantity::Mass)),
                free(size("draw", "drawn to; empty at full draw")),
            ]
        }
        _ => Vec::new(),
    }
}

/// The number on the bow, where a log is of several.
fn serial() -> Field {
    said("serial", "number on the bow")
}

/// A word or two that may be left out.
fn said(key: &'static str, label: &'static str) -> Field {
    Field { kind: FieldKind::Text, free: true, ..number(key, label, "") }
}

fn number(key: &'static str, label: &'static str, unit: &'static str) -> Field {
    Field { key, label, kind: FieldKind::Number, unit, choices: Vec::new(), columns: &[], free: false, only: None }
}

fn choice(key: &'static str, label: &'static str, choices: Vec<[String; 2]>) -> Field {
    Field { kind: FieldKind::Choice, choices, ..number(key, label, "") }
}

fn plain(words: impl Iterator<Item = String>) -> Vec<[String; 2]> {
    words.map(|word| [word.clone(), word]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Keys that the log names and no form asks for: one names a file, the others are sizes beside a picture that is marked at its own place.
    const NOT_ASKED: [(&str, &str); 3] = [("bow", "build"), ("tiller", "across"), ("tiller", "up")];

    /// The log's help names each kind's keys; a key more or less in a form would be one that nobody can enter, or that is refused.
    #[test]
    fn every_kind_and_key_of_the_log_has_its_field() {
        let text = include_str!("../../examples/meadow.toml");
        let build = crate::job::Job::read("meadow.toml", text, crate::job::Inputs::default()).unwrap().build().clone();
        let forms = forms(&build);
        assert_eq!(
            forms.iter().map(|form| form.word).collect::<Vec<_>>(),
            KINDS.iter().map(|kind| kind.word).collect::<Vec<_>>()
        );
        let known = [
            "thickness",
            "stock",
            "across",
            "up",
            "lamination",
            "heights",
            "counted_from",
            "gauge",
            "readings",
            "apart",
            "on",
            "after",
            "strip",
            "pass",
            "span",
            "weight",
            "sag",
            "width",
            "reads",
            "stage",
            "upper",
            "lower",
            "tip",
            "how",
            "string",
            "draw",
            "brace",
            "drop",
            "belly_off",
            "gaps",
            "speed",
            "arrow",
            "held",
            "reads_to",
            "worked",
            "finishing",
            "build",
            "mass",
            "batch",
            "temperature",
        ];
        for (form, kind) in forms.iter().zip(KINDS) {
            let words: Vec<&str> = kind.keys.split(|c: char| !c.is_alphanumeric() && c != '_').collect();
            for key in known {
                let asked = form.fields.iter().any(|field| field.key == key);
                let named = words.contains(&key);
                assert!(!asked || named, "{}: `{key}` is asked for, and the log does not name it", kind.word);
                let left_out = NOT_ASKED.contains(&(kind.word, key)) || IN_EXPLANATIONS.contains(&(kind.word, key));
                assert!(asked || !named || left_out, "{}: `{key}` is not asked for", kind.word);
            }
            assert_eq!(form.fields.last().is_some_and(|field| field.key == "serial"), kind.is_of_one_bow(), "{}", kind.word);
            assert!(form.fields.iter().all(|field| known.contains(&field.key) || field.key == "serial"), "{}", kind.word);
        }
    }

    /// Words of the help's explanations that are keys elsewhere.
    const IN_EXPLANATIONS: [(&str, &str); 5] =
        [("strip", "thickness"), ("blank", "lamination"), ("tiller", "upper"), ("tiller", "lower"), ("bow", "on")];
}
