//! `[[wood]]` and `moisture`: the builder's own materials before the bundled table.

use super::names;
use super::raw::Value;
use super::reader::{FileSection, Preset, Range, Written};
use super::spelling;
use super::wording::shortened;
use crate::model::wood::{self, MaterialKind, Wood};
use crate::units::{self, Quantity};

/// Every material that this build may name, at its moisture.
#[derive(Debug)]
pub struct Shelf {
    own: Vec<Wood>,
    /// Names of own woods that were faulty: known all the same.
    spoilt: Vec<String>,
    moisture: f64,
}

/// Moisture of the build as a ratio.
pub fn moisture(root: &FileSection<'_>) -> Option<f64> {
    const DRY: f64 = 0.04;
    const GREEN: f64 = 0.30;
    let Some(written) = root.get("moisture") else {
        root.assume("moisture", "12 %", "air-dry wood kept indoors; the handbook's properties are stated at it");
        return Some(0.12);
    };
    let ratio = match written.node.value {
        Value::Number(percent) => percent / 100.0,
        _ => written.quantity(Quantity::Ratio, Range::between(f64::MIN, f64::MAX))?,
    };
    let workable = Range::between(DRY, GREEN);
    if !workable.holds(ratio) {
        let percent = units::trim_zeros(&units::fixed((100.0 * ratio).clamp(-1e6, 1e6), 2));
        let hint = if workable.holds(100.0 * ratio) {
            format!("did you mean {}? moisture is given in percent", units::trim_zeros(&units::fixed(1e4 * ratio, 1)))
        } else {
            "air-dry wood kept indoors has 8 to 12 %".to_owned()
        };
        written.fault(format!("{percent} % is no moisture that wood is worked at; 4 to 30 % makes sense here"), hint);
        return None;
    }
    Some(ratio.clamp(DRY, GREEN))
}

impl Shelf {
    /// Reads the builder's own woods.
    pub fn read(root: &FileSection<'_>, moisture: f64) -> Shelf {
        let mut shelf = Shelf { own: Vec::new(), spoilt: Vec::new(), moisture };
        let mut named = Vec::new();
        for section in root.sections("wood").unwrap_or_default() {
            let name = names::file_name(&section, "wood");
            let read = own(&section, name.as_deref(), moisture);
            section.finish();
            if let (Some(name), Some(written)) = (&name, section.get("name")) {
                named.push((name.clone(), written));
            }
            match (read, name) {
                (Some(wood), _) => shelf.own.push(wood),
                (None, Some(name)) => shelf.spoilt.push(name),
                (None, None) => {}
            }
        }
        names::unique(&named);
        shelf
    }

    /// The material with the name in `written`; a fault if there is none.
    pub fn find(&self, written: &Written<'_>) -> Option<Wood> {
        let name = written.text("the name of a wood")?;
        if let Some(wood) = self.own.iter().find(|wood| wood.name.eq_ignore_ascii_case(name.trim())) {
            return Some(wood.clone());
        }
        if self.spoilt.iter().any(|known| known.eq_ignore_ascii_case(name.trim())) {
            return None;
        }
        if let Some(species) = wood::named(name) {
            return Some(species.at_moisture(self.moisture));
        }
        let hint = spelling::wood_meant(name).unwrap_or_else(|| {
            "`taperwright woods` lists all; one of your own is added as [[wood]] with name, modulus and density".to_owned()
        });
        written.fault(format!("the wood \"{}\" is not known", shortened(name)), hint);
        None
    }

    /// The material that stands in where none is named.
    pub fn stand_in(&self) -> Option<Wood> {
        wood::named(STAND_IN).map(|species| species.at_moisture(self.moisture))
    }
}

/// Depth of cut is counted against hard maple.
pub const STAND_IN: &str = "maple, sugar";

fn own(section: &FileSection<'_>, name: Option<&str>, moisture: f64) -> Option<Wood> {
    let species = name.and_then(wood::named);
    let base = species.map(|species| species.at_moisture(moisture));
    let modulus = match &base {
        Some(base) => given(section, "modulus", Quantity::Modulus, MODULUS, base.modulus_mpa),
        None => section.need("modulus", MODULUS_HINT).and_then(|written| written.quantity(Quantity::Modulus, MODULUS)),
    };
    let density = match &base {
        Some(base) => given(section, "density", Quantity::Density, DENSITY, base.density_kg_m3),
        None => section
            .need("density", "weigh a squared piece: density = \"700 kg/m3\"")
            .and_then(|written| written.quantity(Quantity::Density, DENSITY)),
    };
    let spread = match species {
        // A modulus of the builder's own has nothing to do with what sources print.
        Some(species) => {
            let otherwise = if section.has("modulus") { species.piece_cov } else { species.modulus_cov() };
            given(section, "spread", Quantity::Ratio, SPREAD, otherwise)
        }
        None => section.quantity_or("spread", Quantity::Ratio, SPREAD, SPREAD_PRESET),
    };
    let strength = section.get("strength").map(|written| written.quantity(Quantity::Strength, STRENGTH));
    let dust = section.get("dust").map(|written| written.text("what its dust is known for").map(str::to_owned));
    let source = match section.get("source") {
        Some(written) => written.text("where the numbers come from").map(str::to_owned),
        None => {
            section.assume("source", "the builder's own value", "no source is given");
            Some("the builder's own value".to_owned())
        }
    };
    let (modulus, density) = (modulus?, density?);
    let breaking_strain = match strength {
        Some(strength) => Some(strength? / modulus),
        None => base.as_ref().and_then(|base| base.breaking_strain),
    };
    Some(Wood {
        name: name?.to_owned(),
        kind: base.as_ref().map_or_else(|| MaterialKind::named(name.unwrap_or_default()), |base| base.kind),
        modulus_mpa: modulus,
        modulus_cov: spread?,
        density_kg_m3: density,
        breaking_strain,
        sanding_ease: match &base {
            Some(base) if !section.has("density") => base.sanding_ease,
            _ => wood::sanding_ease(density),
        },
        dust: match dust {
            Some(dust) => Some(dust?),
            None => base.and_then(|base| base.dust),
        },
        source: source?,
    })
}

fn given(section: &FileSection<'_>, key: &'static str, quantity: Quantity, range: Range, otherwise: f64) -> Option<f64> {
    match section.get(key) {
        Some(written) => written.quantity(quantity, range),
        None => Some(otherwise),
    }
}

pub const MODULUS: Range = Range::between(1_000.0, 400_000.0);
const MODULUS_HINT: &str = "measure a strip's deflection, or give a handbook's bending modulus: modulus = \"12.5 GPa\"";
const DENSITY: Range = Range::between(100.0, 8_000.0);
pub const SPREAD: Range = Range::between(0.0, 0.6);
const STRENGTH: Range = Range::between(5.0, 4_000.0);
const SPREAD_PRESET: Preset =
    Preset::same(0.22, "average coefficient of variation of the modulus of clear wood, Wood handbook, chapter 5, from memory");
