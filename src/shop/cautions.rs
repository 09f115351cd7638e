//! Words of care, each said once, for every sheet, chapter and answer that the work they are for is done from.

use crate::mechanics::verdict::{AVERAGE, BEYOND_MOST, COMFORTABLE};
use crate::model::Build;
use crate::model::wood::Wood;
use crate::model::workshop::{MachineCutter, SheetCutter, Shop};
use crate::units::percent;

/// What every sheet that leads to a machine ends with.
pub const RULES_FIRST: &str = "The machine maker's manual and local rules come first.";

/// Strips going through the machine.
pub const AT_THE_MACHINE: &str =
    "Stand aside of the feed line and never look into the throat; the strip is held by stop and tape, never by hand.";

pub const DUST: &str = "Wood dust harms lungs and skin: collect it at the machine and wear a respirator.";

pub const EPOXY: &str = "Epoxy sensitises skin for life: gloves, no solvent on skin, fresh air. The data sheet governs.";

/// What was glued bent.
pub const SPRINGS: &str = "Bent pieces spring: stand clear of the tips when clamps come off.";

/// Bows that are drawn, the first time and every time.
pub const DRY_FIRE: &str = "Never dry-fire a bow or draw it past its design length; stop at any tick or crack.";

/// First draws.
pub const ON_THE_TREE: &str = "Draw it first on a tillering tree with a pulley, from aside or behind a shield, with eyes protected and nobody in line with the limbs.";

/// What everything that leads to a bow ends with.
pub const PRACTICE_FIRST: &str = "Licensed practice and local rules come first.";

/// What the share of the breaking strain means, wherever it is shown.
///
/// Radius over thickness of bow woods at full draw, 45 to 50 for yew and 35 for osage orange: common practice, no source.
pub fn breaking() -> [String; 3] {
    let [sound, caution, stop] = [COMFORTABLE, AVERAGE, BEYOND_MOST].map(|limit| percent(limit, 0));
    [
        "Breaking strain is the handbook's bending strength over its modulus, an average of clear wood as if it stayed elastic; pieces".into(),
        "scatter by a sixth. Chosen bow wood, well tillered, is worked at 1.0 to 1.1 % (yew, 1.03 % by the handbook) and 1.4 % (osage".into(),
        format!("orange, 1.00 %). So up to {sound} percent is a sound design, above {caution} a caution, above {stop} a stop but for wood known to bear it."),
    ]
}

/// Which of these woods have no strength that can be relied on, and what follows from it.
pub fn unknown_strengths<'a>(woods: impl Iterator<Item = &'a Wood>) -> Option<String> {
    let mut names: Vec<String> =
        woods.filter(|wood| wood.breaking_strain.is_none()).map(|wood| format!("\"{}\"", wood.name)).collect();
    names.sort();
    names.dedup();
    (!names.is_empty()).then(|| {
        format!(
            "No bending strength that can be relied on is known of {}: nothing tells how near to breaking it works. Bend test strips \
             of the same board until they break; `strength` under [[wood]] takes what they bear.",
            names.join(", ")
        )
    })
}

/// What stands wherever a speed is shown.
pub const SPEED: [&str; 3] = [
    "Speed is no reason to shoot an arrow lighter than the maker of bow and string allows: what does not go into it goes into limbs and",
    "string. The model knows no dry-fire: never let a bow go without an arrow. Arrows fit the bow, the range is clear behind the mark, and",
    "nobody stands beside or before it.",
];

/// Cutting sheet stock, by what it is cut with.
pub fn cutting(shop: &Shop) -> String {
    match shop.cutter {
        SheetCutter::Laser { .. } => {
            "Laser: never cut PVC or other chlorinated sheet; resin-bonded board gives off formaldehyde, so \
            extract the fumes; never leave it running unattended, and keep an extinguisher at hand."
                .into()
        }
        SheetCutter::Router { .. } => {
            let held = match shop.profile.tabs {
                Some(_) => "the sheet is clamped down, and every part that its tabs do not hold",
                None => "clamp or tab every part before the last pass",
            };
            format!("Router: {held}; eyes and ears protected, hands and sleeves clear of the bit, dust extracted.")
        }
        SheetCutter::Hand { .. } => "Sawing by hand: clamp the sheet, saw outside the line and file or sand to it.".into(),
    }
}

/// Grinding strips on the sled.
pub fn grinding(build: &Build) -> Vec<String> {
    let Some(sander) = &build.sander else { return Vec::new() };
    let (length, thickness) = (build.units.rule(sander.min_length_mm), build.units.thickness(sander.min_thickness_mm));
    let machine = match sander.cutter {
        MachineCutter::Drum => "Drum sander",
        MachineCutter::Planer => "Planer",
    };
    let assumed = ["sander.least_length", "sander.least_thickness"].map(|key| build.assumes(key));
    let limits = match assumed {
        [false, false] => {
            format!("shorter than {length} or thinner than {thickness}, the maker's limits as the build file states them")
        }
        [true, true] => {
            format!("shorter than {length} or thinner than {thickness}, both assumed here: read the machine's manual")
        }
        [true, false] => format!(
            "thinner than {thickness}, as the build file states it, or shorter than {length}, assumed here: read the machine's manual"
        ),
        [false, true] => format!(
            "shorter than {length}, as the build file states it, or thinner than {thickness}, assumed here: read the machine's manual"
        ),
    };
    vec![format!("{machine}: nothing {limits}. {AT_THE_MACHINE}"), DUST.into()]
}

/// Dust of the woods on this sheet: those known for more than ordinary dust.
pub fn dust<'a>(woods: impl Iterator<Item = (&'a str, Option<&'a str>)>) -> Option<String> {
    let mut known: Vec<String> = woods.filter_map(|(name, dust)| dust.map(|dust| format!("{name}: {dust}"))).collect();
    known.sort();
    known.dedup();
    (!known.is_empty()).then(|| format!("Dust of {}.", known.join("; ")))
}
