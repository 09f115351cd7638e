//! `[string]` and `[shot]`: the bowstring by material and strands, and what else a shot moves and loses.

use super::reader::{FileSection, Preset, Range, if_given};
use super::spelling::{self, Quoted};
use crate::model::string::{self, ShotPlan};
use crate::units::Quantity;

/// Strands of any string that is laid.
const STRANDS: [u32; 2] = [4, 60];
/// What is served onto a string, or sits on a tip, kg.
const SMALL: Range = Range::between(0.0, 0.05);
/// What limbs may keep: more than any that is called sound.
const LOSS: Range = Range::between(0.0, 0.3);
const LOSS_SPREAD: Range = Range::between(0.0, 0.3);

const SERVING: Preset = Preset::new(20.0, 1.3, "centre serving with a nocking point; common practice, no source");
const TIP: Preset =
    Preset::new(10.0, 0.65, "the string's loop and its serving on each tip, no overlay; common practice, no source");

/// The plan of a shot; defaults are noted where there is a bow, which has a target.
pub fn shot(string: &FileSection<'_>, shot: &FileSection<'_>, target: &FileSection<'_>) -> Option<ShotPlan> {
    if !target.present() && !string.present() && !shot.present() {
        return Some(ShotPlan::default());
    }
    let material = match string.get("material") {
        None => {
            let usual = &string::all()[0];
            string.assume("material", usual.name.clone(), format!("{}; numbers of strings are from memory", usual.note));
            Some(usual)
        }
        Some(written) => written.text("the material of a string").and_then(|name| {
            let found = string::named(name);
            if found.is_none() {
                let names = string::all().iter().map(|row| row.name.as_str());
                let hint = spelling::meant(name, names.clone(), Quoted::Value, || {
                    format!("known are {}", names.map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", "))
                });
                written.fault("this material of a string is not known", hint);
            }
            found
        }),
    };
    let usual = material.map_or(STRANDS[0], |material| material.strands);
    let strands =
        string.count_or("strands", STRANDS[0], STRANDS[1], usual, "usual for that material; common practice, no source");
    let serving = string.quantity_or("serving", Quantity::Mass, SMALL, SERVING);
    string.finish();
    let tip = shot.quantity_or("tip", Quantity::Mass, SMALL, TIP);
    let loss = shot.get("loss").map(|written| written.quantity(Quantity::Ratio, LOSS));
    let spread = shot.get("loss_spread").map(|written| {
        if !shot.has("loss") {
            written.fault("there is no `loss` that this could be the spread of", "add `loss`, or take it out");
            return None;
        }
        written.quantity(Quantity::Ratio, LOSS_SPREAD)
    });
    shot.finish();
    Some(ShotPlan {
        material: material?.clone(),
        strands: strands?,
        serving_kg: serving?,
        tip_kg: tip?,
        loss: if_given(loss)?,
        loss_spread: if_given(spread)?,
    })
}
