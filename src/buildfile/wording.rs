//! Numbers, limits and guesses in words for messages about a build file.

use super::range::Range;
use crate::units::limit::Toward;
use crate::units::{self, Quantity, System};

/// What a builder probably meant with a bare number that does not fit: the other system's unit, or thousandths.
pub fn likely_meant(number: f64, quantity: Quantity, range: Range, system: System) -> Option<String> {
    let written = number_text(number);
    let why = format!("a number without a unit is in {} here", in_words(quantity.bare_unit(system)));
    let other = if system == System::Inch { System::Millimetre } else { System::Inch };
    match quantity {
        Quantity::Rate => {
            // By the thousandths of an inch that an inch loses, or the millimetres that a metre or a tenth of one does: what is nearer a usual taper.
            let (parts, rule): (&[f64], _) = match system {
                System::Inch => (&[1000.0], "two thousandths per inch is 0.002"),
                System::Millimetre => (&[1000.0, 100.0], "2 mm thinner over a metre is 0.002"),
            };
            let off = |rate: &f64| (rate.abs() / USUAL_TAPER).ln().abs();
            let meant = parts.iter().map(|part| number / part).filter(|rate| range.holds(*rate));
            let meant = meant.min_by(|a, b| off(a).total_cmp(&off(b))).map(number_text);
            meant.map(|meant| format!("did you mean {meant}? a taper is per unit of length: {rule}"))
        }
        Quantity::Ratio => {
            range.holds(number / 100.0).then(|| format!("did you mean \"{written} %\"? a bare number is read as a plain ratio"))
        }
        _ => {
            let unit = quantity.bare_unit(other);
            let fits = unit != quantity.bare_unit(system) && range.holds(quantity.of_bare(number, other));
            fits.then(|| format!("did you mean \"{written} {unit}\"? {why}"))
        }
    }
}

/// Of laminations that are ground; only which of two guesses lies nearer hangs on it.
const USUAL_TAPER: f64 = 0.002;

fn in_words(unit: &'static str) -> &'static str {
    match unit {
        "in" => "inches",
        "mm" => "millimetres",
        "lbf" => "pounds",
        "N" => "newtons",
        "C" => "degrees Celsius",
        "F" => "degrees Fahrenheit",
        other => other,
    }
}

/// What is to stand where something else was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WantedValue {
    pub noun: &'static str,
    pub example: &'static str,
}

/// A noun for a kind of quantity and an example of it.
pub fn wanted(quantity: Quantity, system: System) -> WantedValue {
    let inch = system == System::Inch;
    let pick = |a, b| if inch { a } else { b };
    let (noun, example) = match quantity {
        Quantity::Length => ("a length", pick("1.5 or \"1 1/2 in\"", "38 or \"38 mm\"")),
        Quantity::Force => ("a force", pick("\"42 lbf\"", "\"190 N\"")),
        Quantity::Angle => ("an angle", "\"40 deg\""),
        Quantity::Rate => ("a taper", "0.002"),
        Quantity::Speed => ("a speed", pick("\"10 ft/min\"", "\"3 m/min\"")),
        Quantity::Spread => ("a weight per area", "\"0.35 kg/m2\""),
        Quantity::Time => ("a time", "\"18 h\""),
        Quantity::Modulus => ("a modulus", pick("\"1.8 Mpsi\"", "\"12.5 GPa\"")),
        Quantity::Strength => ("a strength", pick("\"15000 psi\"", "\"105 MPa\"")),
        Quantity::Density => ("a density", "\"700 kg/m3\""),
        Quantity::Mass => ("a mass", pick("\"420 gr\"", "\"27 g\"")),
        Quantity::ArrowSpeed => ("a speed", pick("\"165 ft/s\"", "\"50 m/s\"")),
        Quantity::Ratio => ("a number or a percentage", "0.15 or \"15 %\""),
        Quantity::Temperature => ("a temperature", pick("\"70 F\"", "\"20 C\"")),
    };
    WantedValue { noun, example }
}

/// An internal value with its unit in this system, to as many digits as matter.
pub fn amount(value: f64, quantity: Quantity, system: System) -> String {
    amount_toward(value, quantity, system, Toward::Nearest)
}

/// The same, rounded toward one side: for the least or the most that would do.
pub fn amount_toward(value: f64, quantity: Quantity, system: System, toward: Toward) -> String {
    let bare = quantity.bare_of(value, system);
    let decimals = match bare.abs() {
        size if size < 0.1 => 4,
        size if size < 10.0 => 3,
        size if size < 100.0 => 2,
        _ => 1,
    };
    with_unit(&units::trim_zeros(&units::fixed(toward.on_grid(bare, decimals), decimals)), quantity.bare_unit(system))
}

/// A limit: three digits say enough, rounded so that they are within it.
pub fn rounded(value: f64, quantity: Quantity, system: System, toward: Toward) -> String {
    let bare = quantity.bare_of(value, system);
    let decimals = if bare.abs() < f64::MIN_POSITIVE { 0 } else { (2 - bare.abs().log10().floor() as i64).clamp(0, 6) as usize };
    with_unit(&units::trim_zeros(&units::fixed(toward.on_grid(bare, decimals), decimals)), quantity.bare_unit(system))
}

pub fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

/// A number as one would write it; very large and very small ones with an exponent, so that a line stays a line.
pub fn number_text(number: f64) -> String {
    let size = number.abs();
    if 0.0 < size && !(1e-6..1e9).contains(&size) { format!("{number:e}") } else { format!("{number}") }
}

/// A text fit for a message: control characters spelled out, not endless.
pub fn shortened(text: &str) -> String {
    const LONGEST: usize = 48;
    let clean = printable(text);
    if clean.chars().count() <= LONGEST { clean } else { format!("{}..", clean.chars().take(LONGEST).collect::<String>()) }
}

pub fn printable(text: &str) -> String {
    let cut: String = text.chars().take(160).collect();
    cut.chars().flat_map(|c| if c.is_control() { c.escape_default().collect::<Vec<_>>() } else { vec![c] }).collect()
}
