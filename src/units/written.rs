//! Quantities as people read them: what a [`System`] calls its units, and how finely each number is written, which is how finely it can be
//! measured or set in a shop.

use super::digits::half_up;
use super::limit::Toward;
use super::published::round;
use super::{C_PER_F, KG_PER_LB, MM_PER_IN, MPA_PER_KSI, N_PER_LBF, Quantity, System, fixed, fraction, ounces, trim_zeros};

/// A step of an air gauge, and as it is said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressureStep {
    pub mpa: f64,
    pub said: &'static str,
}

/// A difference of temperature that a shop can make, °C, and as it is said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureStep {
    pub c: f64,
    pub said: &'static str,
}

impl System {
    /// Short name of the length unit: `in` or `mm`.
    pub fn length_unit(self) -> &'static str {
        match self {
            System::Inch => "in",
            System::Millimetre => "mm",
        }
    }

    /// Millimetres to this system's length unit.
    pub fn length(self, mm: f64) -> f64 {
        match self {
            System::Inch => mm / MM_PER_IN,
            System::Millimetre => mm,
        }
    }

    /// A length to write: that of the published millimetres.
    fn shown(self, mm: f64) -> f64 {
        half_up(self.length(round(mm)))
    }

    /// This system's length unit to millimetres.
    pub fn to_mm(self, length: f64) -> f64 {
        match self {
            System::Inch => length * MM_PER_IN,
            System::Millimetre => length,
        }
    }

    /// A length that is round to this system's rule, mm: so many inches, or so many millimetres.
    pub fn either_mm(self, inches: f64, mm: f64) -> f64 {
        match self {
            System::Inch => inches * MM_PER_IN,
            System::Millimetre => mm,
        }
    }

    /// The unit of lengths in a sentence.
    pub fn length_words(self) -> &'static str {
        match self {
            System::Inch => "inches",
            System::Millimetre => "millimetres",
        }
    }

    /// A force in this system's unit as newtons.
    pub fn to_newtons(self, force: f64) -> f64 {
        force / self.force(1.0)
    }

    /// Newtons to pounds-force (inch files) or newtons.
    pub fn force(self, n: f64) -> f64 {
        match self {
            System::Inch => n / N_PER_LBF,
            System::Millimetre => n,
        }
    }

    /// A change of force with its sign and unit.
    pub fn force_change(self, n: f64) -> String {
        format!("{}{} {}", if n < 0.0 { "" } else { "+" }, fixed(self.force(n), 2), self.force_unit())
    }

    pub fn force_unit(self) -> &'static str {
        match self {
            System::Inch => "lbf",
            System::Millimetre => "N",
        }
    }

    /// A thickness or a height to grind to, without its unit: thousandths of an inch, or hundredths of a millimetre.
    pub fn thickness_number(self, mm: f64) -> String {
        match self {
            System::Inch => fixed(self.shown(mm), 3),
            System::Millimetre => fixed(self.shown(mm), 2),
        }
    }

    /// A thickness with its unit.
    pub fn thickness(self, mm: f64) -> String {
        format!("{} {}", self.thickness_number(mm), self.length_unit())
    }

    /// A small difference, one digit finer than [`System::thickness`], trailing zeros dropped.
    pub fn fine(self, mm: f64) -> String {
        format!("{} {}", trim_zeros(&self.fine_number(mm)), self.length_unit())
    }

    /// The same without its unit.
    pub fn fine_number(self, mm: f64) -> String {
        match self {
            System::Inch => fixed(self.shown(mm), 4),
            System::Millimetre => fixed(self.shown(mm), 3),
        }
    }

    /// A length of any size as precisely as a shop can measure it, trailing zeros dropped: for messages.
    pub fn measure(self, mm: f64) -> String {
        self.measure_toward(mm, Toward::Nearest)
    }

    /// The same, rounded toward one side: for the least or the most that would do.
    pub fn measure_toward(self, mm: f64, toward: Toward) -> String {
        self.measure_finer(mm, toward, 0)
    }

    /// The same with more decimals, for lengths that differ by less than is usually written.
    pub fn measure_finer(self, mm: f64, toward: Toward, more_decimals: usize) -> String {
        let length = self.length(mm);
        // Short lengths are read off calipers, long ones off a tape.
        let decimals = match self {
            System::Inch if length.abs() < 8.0 => 4,
            System::Inch => 2,
            System::Millimetre if length.abs() < 200.0 => 3,
            System::Millimetre => 1,
        } + more_decimals;
        format!("{} {}", trim_zeros(&fixed(toward.on_grid(length, decimals), decimals)), self.length_unit())
    }

    /// A length along the wood, for a rule or a tape: inches in sixty-fourths, or tenths of a millimetre.
    pub fn rule(self, mm: f64) -> String {
        format!("{} {}", self.rule_number(mm), self.length_unit())
    }

    /// Steps of a rule on which a place is found at a glance, and finer ones that take a look, coarse to fine, mm.
    pub fn rule_steps_mm(self) -> [f64; 4] {
        match self {
            System::Inch => [1.0, 0.5, 0.25, 0.125].map(|part| part * MM_PER_IN),
            System::Millimetre => [10.0, 5.0, 2.0, 1.0],
        }
    }

    /// The same without its unit.
    pub fn rule_number(self, mm: f64) -> String {
        match self {
            System::Inch => fraction(self.shown(mm), 64),
            System::Millimetre => trim_zeros(&fixed(self.shown(mm), 1)),
        }
    }

    /// A length that is read past a moving string: inches in sixteenths, or whole millimetres. Nobody reads a tiller closer.
    pub fn tiller(self, mm: f64) -> String {
        match self {
            System::Inch => format!("{} in", fraction(self.shown(mm), 16)),
            System::Millimetre => format!("{} mm", fixed(self.shown(mm), 0)),
        }
    }

    /// Where a tip stands, with its word: `1.50 in reflex`, `2.0 mm deflex`, or `straight`; positive is toward the belly.
    ///
    /// ```
    /// use taperwright::units::System;
    /// assert_eq!(System::Inch.tip(-38.1), "1.50 in reflex");
    /// assert_eq!(System::Millimetre.tip(0.01), "straight");
    /// ```
    pub fn tip(self, mm: f64) -> String {
        let number = self.rise_number(mm.abs());
        match mm {
            // A tip that reads as nothing is straight.
            _ if number.chars().all(|c| c == '0' || c == '.') => "straight".to_owned(),
            _ if mm < 0.0 => format!("{number} {} reflex", self.length_unit()),
            _ => format!("{number} {} deflex", self.length_unit()),
        }
    }

    /// How far a tip or a form rises from its line, without its unit: hundredths of an inch, or tenths of a millimetre.
    pub fn rise_number(self, mm: f64) -> String {
        fixed(self.shown(mm), if self == System::Inch { 2 } else { 1 })
    }

    /// A length as a decimal with its unit, trailing zeros dropped.
    pub fn decimal(self, mm: f64) -> String {
        format!("{} {}", self.decimal_number(mm), self.length_unit())
    }

    /// A length as a decimal without its unit, trailing zeros dropped.
    pub fn decimal_number(self, mm: f64) -> String {
        match self {
            System::Inch => trim_zeros(&fixed(self.shown(mm), 3)),
            System::Millimetre => trim_zeros(&fixed(self.shown(mm), 2)),
        }
    }

    /// A taper with its unit, such as `0.0020 in/in`.
    pub fn rate(self, rate: f64) -> String {
        let unit = self.length_unit();
        format!("{} {unit}/{unit}", fixed(rate, 4))
    }

    /// A force with its unit, to a tenth.
    pub fn force_text(self, n: f64) -> String {
        format!("{} {}", fixed(half_up(self.force(round(n))), 1), self.force_unit())
    }

    /// A round step of an air gauge.
    pub fn round_pressure(self) -> PressureStep {
        match self {
            System::Inch => PressureStep { mpa: 10.0 * MPA_PER_KSI / 1000.0, said: "10 psi" },
            System::Millimetre => PressureStep { mpa: 0.1, said: "bar" },
        }
    }

    /// A modulus as a bare number of a build file.
    pub fn modulus_number(self, mpa: f64) -> String {
        fixed(mpa / Quantity::Modulus.bare_factor(self), if self == System::Inch { 3 } else { 2 })
    }

    /// A modulus of elasticity as a build file would have it, such as `1.870 Mpsi` or `12.90 GPa`.
    pub fn modulus(self, mpa: f64) -> String {
        format!("{} {}", self.modulus_number(mpa), Quantity::Modulus.bare_unit(self))
    }

    /// What is weighed on a scale, such as glue or a limb: ounces in tenths, or whole grams; never less than it is.
    pub fn mass(self, kg: f64) -> String {
        match self {
            System::Inch => format!("{} oz", fixed(Toward::Up.on_grid(ounces(kg), 1), 1)),
            System::Millimetre => format!("{} g", fixed(Toward::Up.on_grid(1000.0 * kg, 0), 0)),
        }
    }

    /// What an arrow or a string weighs: whole grains, or tenths of a gram.
    pub fn small_mass(self, kg: f64) -> String {
        format!("{} {}", self.small_mass_number(kg), Quantity::Mass.bare_unit(self))
    }

    /// The same without its unit.
    pub fn small_mass_number(self, kg: f64) -> String {
        fixed(kg / Quantity::Mass.bare_factor(self), if self == System::Inch { 0 } else { 1 })
    }

    pub fn small_mass_unit(self) -> &'static str {
        Quantity::Mass.bare_unit(self)
    }

    /// A temperature in whole degrees.
    pub fn temperature(self, c: f64) -> String {
        format!("{} °{}", fixed(Quantity::Temperature.bare_of(c, self), 0), Quantity::Temperature.bare_unit(self))
    }

    /// A difference of temperature that a shop can make.
    pub fn warmer(self) -> TemperatureStep {
        match self {
            System::Inch => TemperatureStep { c: 20.0 * C_PER_F, said: "20 °F" },
            System::Millimetre => TemperatureStep { c: 10.0, said: "10 °C" },
        }
    }

    /// The speed of an arrow: whole feet, or tenths of a metre, per second.
    pub fn arrow_speed(self, mm_s: f64) -> String {
        format!("{} {}", self.arrow_speed_number(mm_s), self.arrow_speed_unit())
    }

    pub fn arrow_speed_number(self, mm_s: f64) -> String {
        fixed(mm_s / Quantity::ArrowSpeed.bare_factor(self), if self == System::Inch { 0 } else { 1 })
    }

    /// A small change of it with its sign, one digit finer.
    pub fn arrow_speed_change(self, mm_s: f64) -> String {
        let number = fixed(mm_s / Quantity::ArrowSpeed.bare_factor(self), if self == System::Inch { 1 } else { 2 });
        format!("{}{number} {}", if mm_s < 0.0 { "" } else { "+" }, self.arrow_speed_unit())
    }

    pub fn arrow_speed_unit(self) -> &'static str {
        Quantity::ArrowSpeed.bare_unit(self)
    }

    /// An area to spread glue on: whole square inches or square centimetres.
    pub fn area(self, mm2: f64) -> String {
        match self {
            System::Inch => format!("{} in²", fixed(mm2 / (MM_PER_IN * MM_PER_IN), 0)),
            System::Millimetre => format!("{} cm²", fixed(mm2 / 100.0, 0)),
        }
    }

    /// A stress without its unit, [`System::stress_unit`].
    pub fn stress_number(self, mpa: f64) -> String {
        match self {
            System::Inch => fixed(half_up(1000.0 * round(mpa) / MPA_PER_KSI), 0),
            System::Millimetre => fixed(half_up(round(mpa)), 1),
        }
    }

    pub fn stress_unit(self) -> &'static str {
        match self {
            System::Inch => "psi",
            System::Millimetre => "MPa",
        }
    }

    pub fn density(self, kg_m3: f64) -> String {
        const M_PER_FT: f64 = 12.0e-3 * MM_PER_IN;
        match self {
            System::Inch => format!("{} lb/ft³", fixed(kg_m3 * M_PER_FT * M_PER_FT * M_PER_FT / KG_PER_LB, 1)),
            System::Millimetre => format!("{} kg/m³", fixed(kg_m3, 0)),
        }
    }

    /// A volume of dust without its unit: cubic inches, or cubic centimetres.
    pub fn volume_number(self, mm3: f64) -> String {
        match self {
            System::Inch => fixed(mm3 / (MM_PER_IN * MM_PER_IN * MM_PER_IN), 2),
            System::Millimetre => fixed(mm3 / 1000.0, 1),
        }
    }

    /// A time of hours, trailing zeros dropped.
    pub fn hours(s: f64) -> String {
        format!("{} h", trim_zeros(&fixed(s / 3600.0, 1)))
    }

    /// Energy given in N·mm: foot-pounds in inch files, joules in metric ones.
    pub fn energy_number(self, n_mm: f64) -> f64 {
        match self {
            System::Inch => n_mm / (12.0 * MM_PER_IN * N_PER_LBF),
            System::Millimetre => n_mm / 1000.0,
        }
    }

    pub fn energy_unit(self) -> &'static str {
        match self {
            System::Inch => "ft·lbf",
            System::Millimetre => "J",
        }
    }

    /// A speed as the machine's plate gives it: feet or metres a minute.
    pub fn speed(self, mm_per_s: f64) -> String {
        match self {
            System::Inch => format!("{} ft/min", trim_zeros(&fixed(mm_per_s * 60.0 / (12.0 * MM_PER_IN), 1))),
            System::Millimetre => format!("{} m/min", trim_zeros(&fixed(mm_per_s * 60.0 / 1000.0, 2))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writes_without_minus_zero() {
        assert_eq!(fixed(-0.0001, 2), "0.00");
        assert_eq!(fixed(-0.006, 2), "-0.01");
        assert_eq!(System::Inch.rule(63.5 / 64.0 * 25.4), "1 in");
        assert_eq!(System::Inch.thickness(3.81), "0.150 in");
        assert_eq!(System::Millimetre.rule(857.25), "857.3 mm");
    }
}
