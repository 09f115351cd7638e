//! Reading quantities with units and writing them for people: the only place where conversion factors stand.
//!
//! Inside the program lengths are mm, forces N, moduli MPa, angles rad, times s, speeds mm/s, spreads of glue kg/m²,
//! masses kg, tapers and percentages plain ratios. A build file's bare numbers are in its own [`System`].

mod digits;
pub mod limit;
pub mod published;
mod written;

pub use digits::{fixed, fraction, percent, push_fixed, scaled, trim_zeros};
use std::fmt;
pub use written::{PressureStep, TemperatureStep};

/// Millimetres in an inch, exact by definition (international inch, 1959).
pub const MM_PER_IN: f64 = 25.4;
/// Newtons in a pound-force, exact: 0.453 592 37 kg × 9.806 65 m/s².
pub const N_PER_LBF: f64 = 4.448_221_615_260_5;
/// Newtons in a kilogram-force, exact.
pub const N_PER_KGF: f64 = 9.806_65;
/// Megapascals in a thousand pounds per square inch.
pub const MPA_PER_KSI: f64 = N_PER_LBF * 1000.0 / (MM_PER_IN * MM_PER_IN);
/// Points in an inch, as PDF and CSS count them.
pub const PT_PER_IN: f64 = 72.0;
/// Points in a millimetre.
pub const PT_PER_MM: f64 = PT_PER_IN / MM_PER_IN;

/// A degree Fahrenheit, and what that scale shows of melting ice.
const C_PER_F: f64 = 1.0 / 1.8;
const ICE_F: f64 = 32.0;

/// A unit and what a value in it is multiplied by to be in ours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NamedUnit {
    pub name: &'static str,
    pub factor: f64,
}

/// The units that a build file's bare numbers are in, and that its reports are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum System {
    Inch,
    Millimetre,
}

/// What kind of quantity a text is to be read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// mm
    Length,
    /// N
    Force,
    /// rad; bare numbers are degrees
    Angle,
    /// length per length, such as a taper
    Rate,
    /// mm/s; bare numbers are ft/min or m/min
    Speed,
    /// kg/m²; bare numbers are kg/m²
    Spread,
    /// s; bare numbers are hours
    Time,
    /// MPa; bare numbers are GPa, or 10⁶ psi in inch files
    Modulus,
    /// MPa; bare numbers are MPa, or psi in inch files
    Strength,
    /// kg/m³
    Density,
    /// kg; bare numbers are grains or grams
    Mass,
    /// mm/s, of an arrow; bare numbers are ft/s or m/s
    ArrowSpeed,
    /// plain ratio; `%` divides by a hundred
    Ratio,
    /// °C; bare numbers are °C, or °F in inch files
    Temperature,
}

impl Quantity {
    /// The units that a text of this kind may carry, each with its factor to the internal unit.
    fn units(self) -> &'static [(&'static str, f64)] {
        const RAD_PER_DEG: f64 = std::f64::consts::PI / 180.0;
        const FT: f64 = 12.0 * MM_PER_IN;
        const OZ_PER_FT2: f64 = KG_PER_LB / 16.0 / (FT * FT * 1e-6);
        match self {
            Quantity::Length => &[("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", MM_PER_IN), ("\"", MM_PER_IN), ("ft", FT)],
            Quantity::Force => {
                &[("lbf", N_PER_LBF), ("lb", N_PER_LBF), ("#", N_PER_LBF), ("N", 1.0), ("kgf", N_PER_KGF), ("kg", N_PER_KGF)]
            }
            Quantity::Angle => &[("deg", RAD_PER_DEG), ("°", RAD_PER_DEG), ("rad", 1.0)],
            Quantity::Rate => &[("in/in", 1.0), ("mm/mm", 1.0), ("in/ft", 1.0 / 12.0), ("mm/m", 1e-3), ("%", 0.01)],
            Quantity::Speed => &[
                ("ft/min", FT / 60.0),
                ("m/min", 1000.0 / 60.0),
                ("mm/s", 1.0),
                ("in/s", MM_PER_IN),
                ("in/min", MM_PER_IN / 60.0),
            ],
            Quantity::Spread => &[("kg/m2", 1.0), ("g/m2", 1e-3), ("oz/ft2", OZ_PER_FT2)],
            Quantity::Time => &[("s", 1.0), ("min", 60.0), ("h", 3600.0), ("d", 86400.0)],
            Quantity::Modulus => &[
                ("GPa", 1000.0),
                ("MPa", 1.0),
                ("Mpsi", MPA_PER_KSI * 1000.0),
                ("ksi", MPA_PER_KSI),
                ("psi", MPA_PER_KSI / 1000.0),
            ],
            Quantity::Strength => &[("MPa", 1.0), ("psi", MPA_PER_KSI / 1000.0), ("ksi", MPA_PER_KSI)],
            Quantity::Density => &[("kg/m3", 1.0), ("g/cm3", 1000.0), ("lb/ft3", KG_PER_LB / (FT * FT * FT * 1e-9))],
            Quantity::Mass => &[("gr", KG_PER_GRAIN), ("g", 1e-3), ("kg", 1.0), ("oz", KG_PER_LB / 16.0)],
            Quantity::ArrowSpeed => &[("ft/s", FT), ("m/s", 1000.0)],
            Quantity::Ratio => &[("%", 0.01)],
            Quantity::Temperature => &[("C", 1.0), ("F", C_PER_F)],
        }
    }

    /// Other spellings of units, each with the one that [`Quantity::units`] lists: what people type.
    const ALSO: [(&'static str, &'static str); 31] = [
        ("inch", "in"),
        ("inches", "in"),
        ("in.", "in"),
        ("\u{201d}", "in"),
        ("\u{2033}", "in"),
        ("''", "in"),
        ("millimetre", "mm"),
        ("millimetres", "mm"),
        ("millimeter", "mm"),
        ("millimeters", "mm"),
        ("feet", "ft"),
        ("foot", "ft"),
        ("lbs", "lbf"),
        ("lbs.", "lbf"),
        ("lb.", "lbf"),
        ("pound", "lbf"),
        ("pounds", "lbf"),
        ("newton", "N"),
        ("newtons", "N"),
        ("degrees", "deg"),
        ("hours", "h"),
        ("percent", "%"),
        ("grain", "gr"),
        ("grains", "gr"),
        ("grams", "g"),
        ("fps", "ft/s"),
        ("feet per second", "ft/s"),
        ("°C", "C"),
        ("degC", "C"),
        ("°F", "F"),
        ("degF", "F"),
    ];

    /// A unit as it was typed; case counts only where it tells units apart.
    fn unit_of(self, unit: &str) -> Option<NamedUnit> {
        let same = |a: &str, b: &str| a.to_lowercase() == b.to_lowercase();
        let of = |unit: &str| {
            let exact = self.units().iter().find(|(name, _)| *name == unit);
            let found = exact.or_else(|| self.units().iter().find(|(name, _)| same(name, unit)));
            found.map(|(name, factor)| NamedUnit { name, factor: *factor })
        };
        of(unit).or_else(|| Quantity::ALSO.iter().find(|(typed, _)| same(typed, unit)).and_then(|(_, name)| of(name)))
    }

    /// What a bare number is multiplied by in this system; `None` where a bare number is not accepted.
    pub fn bare_factor(self, system: System) -> f64 {
        let inch = system == System::Inch;
        let unit = match self {
            Quantity::Length => {
                if inch {
                    "in"
                } else {
                    "mm"
                }
            }
            Quantity::Force => {
                if inch {
                    "lbf"
                } else {
                    "N"
                }
            }
            Quantity::Angle => "deg",
            Quantity::Rate => "in/in",
            Quantity::Speed => {
                if inch {
                    "ft/min"
                } else {
                    "m/min"
                }
            }
            Quantity::Spread => "kg/m2",
            Quantity::Time => "h",
            Quantity::Modulus => {
                if inch {
                    "Mpsi"
                } else {
                    "GPa"
                }
            }
            Quantity::Strength => {
                if inch {
                    "psi"
                } else {
                    "MPa"
                }
            }
            Quantity::Density => "kg/m3",
            Quantity::Mass => {
                if inch {
                    "gr"
                } else {
                    "g"
                }
            }
            Quantity::ArrowSpeed => {
                if inch {
                    "ft/s"
                } else {
                    "m/s"
                }
            }
            Quantity::Ratio => return 1.0,
            Quantity::Temperature => {
                if inch {
                    "F"
                } else {
                    "C"
                }
            }
        };
        self.units().iter().find(|(name, _)| *name == unit).map_or(1.0, |(_, factor)| *factor)
    }

    /// The value of a number without a unit, in the internal unit.
    pub fn of_bare(self, number: f64, system: System) -> f64 {
        self.value(number, NamedUnit { name: self.bare_unit(system), factor: self.bare_factor(system) })
    }

    /// The number that stands for a value where no unit is written.
    pub fn bare_of(self, value: f64, system: System) -> f64 {
        (value - self.of_bare(0.0, system)) / self.bare_factor(system)
    }

    /// So many of a unit. Degrees Fahrenheit alone count from another zero.
    fn value(self, number: f64, unit: NamedUnit) -> f64 {
        let from = if self == Quantity::Temperature && unit.name == "F" { ICE_F } else { 0.0 };
        (number - from) * unit.factor
    }

    /// The unit that a value is said in: that of bare numbers, but for spreads of glue, which are kg/m² bare.
    pub fn said_in(self, system: System) -> NamedUnit {
        let unit = if self == Quantity::Spread && system == System::Inch { "oz/ft2" } else { self.bare_unit(system) };
        NamedUnit { name: unit, factor: self.units().iter().find(|(name, _)| *name == unit).map_or(1.0, |(_, factor)| *factor) }
    }

    /// The unit a bare number has in this system, for messages.
    pub fn bare_unit(self, system: System) -> &'static str {
        let factor = self.bare_factor(system);
        match self {
            Quantity::Ratio => return "",
            // The same number in either, said as the file counts.
            Quantity::Rate if system == System::Millimetre => return "mm/mm",
            _ => {}
        }
        self.units().iter().find(|(_, f)| (*f - factor).abs() <= f64::EPSILON * factor.abs()).map_or("", |(name, _)| *name)
    }

    fn noun(self) -> &'static str {
        match self {
            Quantity::Length => "a length",
            Quantity::Force => "a force",
            Quantity::Angle => "an angle",
            Quantity::Rate => "a taper",
            Quantity::Speed => "a speed",
            Quantity::Spread => "a weight per area",
            Quantity::Time => "a time",
            Quantity::Modulus => "a modulus",
            Quantity::Strength => "a strength",
            Quantity::Density => "a density",
            Quantity::Mass => "a mass",
            Quantity::ArrowSpeed => "a speed",
            Quantity::Ratio => "a number or a percentage",
            Quantity::Temperature => "a temperature",
        }
    }
}

/// Why a text could not be read as a quantity, and what would have been accepted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    pub message: String,
    pub hint: String,
}

impl fmt::Display for Unreadable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({})", self.message, self.hint)
    }
}

/// Reads a text such as `1 5/8 in`, `-2.6 mm`, `0.002 in/in` or `42 lbf` into the internal unit of its kind.
///
/// ```
/// use taperwright::units::{read, Quantity, System};
/// assert_eq!(read("1 5/8 in", Quantity::Length, System::Millimetre).unwrap(), 41.275);
/// assert_eq!(read("-1/2", Quantity::Length, System::Inch).unwrap(), -12.7);
/// assert!(read("42 lbf", Quantity::Length, System::Inch).is_err());
/// ```
pub fn read(text: &str, quantity: Quantity, system: System) -> Result<f64, Unreadable> {
    let plain = plain_digits(text);
    let trimmed = plain.trim();
    let known: Vec<&str> = quantity.units().iter().map(|(name, _)| *name).filter(|name| *name != "#" && *name != "\"").collect();
    let example = format!("write a number with one of: {}", known.join(", "));
    // The number ends where the first character stands that no number can hold.
    let split =
        trimmed.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '/' | ' ' | '-' | '+' | '\t'))).unwrap_or(trimmed.len());
    let (number, unit) = (trimmed[..split].trim(), trimmed[split..].trim());
    // `1e3` and the like: let the whole text have a go as a plain number first.
    if let Ok(value) = trimmed.parse::<f64>() {
        return finite(quantity.of_bare(value, system), text);
    }
    if number.is_empty() {
        return Err(Unreadable { message: format!("`{text}` is not a number"), hint: example });
    }
    let unit = if unit.is_empty() {
        NamedUnit { name: quantity.bare_unit(system), factor: quantity.bare_factor(system) }
    } else {
        match quantity.unit_of(unit) {
            Some(unit) => unit,
            None if decimal_comma(trimmed).is_some() => {
                return Err(Unreadable {
                    message: format!("`{text}` is not {}: a comma stands in its number", quantity.noun()),
                    hint: format!("write a point: \"{}\"", decimal_comma(trimmed).unwrap_or_default()),
                });
            }
            None => {
                return Err(Unreadable {
                    message: format!("`{text}` is not {}: unit `{unit}` does not fit here", quantity.noun()),
                    hint: example,
                });
            }
        }
    };
    finite(quantity.value(mixed_number(number, text)?, unit), text)
}

/// A number with a decimal comma and perhaps a unit, its comma put right: `3,42 mm` is `3.42 mm`.
fn decimal_comma(text: &str) -> Option<String> {
    let (whole, rest) = text.split_once(',')?;
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    let one_number = whole.trim_start_matches(['-', '+']).bytes().all(|byte| byte.is_ascii_digit());
    let ends = !rest[digits..].starts_with([',', '.', '/']);
    (one_number && 0 < digits && ends).then(|| format!("{whole}.{rest}"))
}

/// The text with fractions of one letter, the typographer's minus, fraction slash and spaces as a keyboard has them: `1½` is `1 1/2`.
fn plain_digits(text: &str) -> String {
    const FRACTIONS: [(char, &str); 15] = [
        ('½', "1/2"),
        ('⅓', "1/3"),
        ('⅔', "2/3"),
        ('¼', "1/4"),
        ('¾', "3/4"),
        ('⅕', "1/5"),
        ('⅖', "2/5"),
        ('⅗', "3/5"),
        ('⅘', "4/5"),
        ('⅙', "1/6"),
        ('⅚', "5/6"),
        ('⅛', "1/8"),
        ('⅜', "3/8"),
        ('⅝', "5/8"),
        ('⅞', "7/8"),
    ];
    let mut plain = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\u{2044}' => plain.push('/'),
            '\u{2212}' | '\u{2013}' | '\u{2010}' | '\u{2011}' => plain.push('-'),
            '\u{a0}' | '\u{2009}' | '\u{202f}' => plain.push(' '),
            _ => match FRACTIONS.iter().find(|(sign, _)| *sign == letter) {
                Some((_, spelled)) => {
                    if plain.ends_with(|c: char| c.is_ascii_digit()) {
                        plain.push(' ');
                    }
                    plain.push_str(spelled);
                }
                None => plain.push(letter),
            },
        }
    }
    plain
}

fn finite(value: f64, text: &str) -> Result<f64, Unreadable> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(Unreadable {
            message: format!("`{text}` is not a finite number"),
            hint: "write an ordinary decimal number or a fraction".into(),
        })
    }
}

/// Reads `3`, `3.5`, `5/8`, `1 5/8`, `1-5/8`, each with an optional leading sign that covers the whole.
fn mixed_number(number: &str, text: &str) -> Result<f64, Unreadable> {
    let bad = |why: &str| Unreadable {
        message: format!("`{text}` cannot be read: {why}"),
        hint: "write 0.625, 5/8 or 1 5/8, then the unit".into(),
    };
    let (sign, rest) = match number.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, number.strip_prefix('+').unwrap_or(number)),
    };
    if rest.trim_start().starts_with(['-', '+']) {
        return Err(bad("it has two signs"));
    }
    let parts: Vec<&str> = rest.split(|c: char| c.is_whitespace() || c == '-').filter(|part| !part.is_empty()).collect();
    let decimal = |part: &str| part.parse::<f64>().map_err(|_| bad(&format!("`{part}` is not a number")));
    let fraction = |part: &str| -> Result<f64, Unreadable> {
        let (top, bottom) = part.split_once('/').ok_or_else(|| bad(&format!("`{part}` is not a fraction")))?;
        match (top.parse::<u32>(), bottom.parse::<u32>()) {
            (Ok(top), Ok(bottom)) if bottom > 0 => Ok(f64::from(top) / f64::from(bottom)),
            _ => Err(bad(&format!("`{part}` is not a fraction of whole numbers"))),
        }
    };
    match parts.as_slice() {
        [] => Err(bad("there is no number")),
        [only] if only.contains('/') => Ok(sign * fraction(only)?),
        [only] => Ok(sign * decimal(only)?),
        [whole, part] if part.contains('/') && !whole.contains(['/', '.']) => Ok(sign * (decimal(whole)? + fraction(part)?)),
        _ => Err(bad("only a whole number and one fraction can stand together")),
    }
}

/// Kilograms in an avoirdupois pound, exact (NIST Special Publication 811, appendix B).
const KG_PER_LB: f64 = 0.453_592_37;

/// Kilograms in a grain, seven thousand to the pound, exact.
pub const KG_PER_GRAIN: f64 = KG_PER_LB / 7000.0;

/// An arrow of so many grains for each pound of this draw weight, kg: how the trade counts arrows.
pub fn arrow_kg(grains_per_pound: f64, draw_weight_n: f64) -> f64 {
    grains_per_pound * KG_PER_GRAIN * draw_weight_n / N_PER_LBF
}

/// Grains of an arrow for each pound of this draw weight.
pub fn grains_per_pound(arrow_kg: f64, draw_weight_n: f64) -> f64 {
    arrow_kg / self::arrow_kg(1.0, draw_weight_n)
}

/// A mass in avoirdupois ounces, sixteen to the pound.
pub fn ounces(kg: f64) -> f64 {
    16.0 * kg / KG_PER_LB
}

/// A text of a force names pounds.
pub fn in_pounds(text: &str) -> bool {
    text.contains('#') || text.to_lowercase().contains("lb")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_builders_write() {
        for (text, quantity, expected) in [
            ("1 5/8 in", Quantity::Length, 41.275),
            ("1-5/8 in", Quantity::Length, 41.275),
            ("-2.6", Quantity::Length, -66.04),
            ("5/8\"", Quantity::Length, 15.875),
            ("19 mm", Quantity::Length, 19.0),
            ("0.002 in/in", Quantity::Rate, 0.002),
            ("0.024 in/ft", Quantity::Rate, 0.002),
            ("2 mm/m", Quantity::Rate, 0.002),
            ("10 lbf", Quantity::Force, 44.482_216_152_605),
            ("180 deg", Quantity::Angle, std::f64::consts::PI),
            ("18 h", Quantity::Time, 64_800.0),
            ("10 ft/min", Quantity::Speed, 50.8),
            ("350 g/m2", Quantity::Spread, 0.35),
            ("15 %", Quantity::Ratio, 0.15),
            ("68 F", Quantity::Temperature, 20.0),
            ("68", Quantity::Temperature, 20.0),
            ("20 °c", Quantity::Temperature, 20.0),
            ("66 inches", Quantity::Length, 1676.4),
            ("1½″", Quantity::Length, 38.1),
            ("⅝ In", Quantity::Length, 15.875),
            ("1 5⁄8 in", Quantity::Length, 41.275),
            ("−2 in", Quantity::Length, -50.8),
            (".45", Quantity::Length, 11.43),
            (".45 in.", Quantity::Length, 11.43),
            ("45 lbs", Quantity::Force, 200.169_972_686_722_5),
            ("45 Pounds", Quantity::Force, 200.169_972_686_722_5),
            ("10 mpsi", Quantity::Modulus, 68_947.572_931_68),
        ] {
            let value = read(text, quantity, System::Inch).unwrap();
            assert!((value - expected).abs() <= 1e-12 * expected.abs(), "{text}: {value}");
        }
    }

    #[test]
    fn refuses_what_has_two_meanings() {
        for text in ["5/8 1 in", "1.5 5/8 in", "in", "", "1/0 in", "1//2", "1e999", "NaN", "inf", "3 lbf", "--3"] {
            assert!(read(text, Quantity::Length, System::Inch).is_err(), "{text}");
        }
    }

    #[test]
    fn a_decimal_comma_is_told_as_what_it_is() {
        for (text, meant) in [("3,42 mm", "3.42 mm"), ("-0,5", "-0.5"), ("12,0in", "12.0in")] {
            let hint = read(text, Quantity::Length, System::Millimetre).unwrap_err().hint;
            assert_eq!(hint, format!("write a point: \"{meant}\""));
            assert!(read(meant, Quantity::Length, System::Millimetre).is_ok());
        }
        for text in ["1,2,3 mm", "1,234.5 mm", "1/2,5 mm", ",5,", "3 mm, 4 mm"] {
            let hint = read(text, Quantity::Length, System::Millimetre).unwrap_err().hint;
            assert!(!hint.contains("point"), "{text}: {hint}");
        }
    }

    #[test]
    fn megapascals_in_a_ksi() {
        assert!((MPA_PER_KSI - 6.894_757_293_168).abs() < 1e-11);
    }
}
