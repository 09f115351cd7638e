//! `[sizing]`: which laminations may change to reach the draw weight, how, and how far.

use super::reader::{FileSection, Range, Written, if_given};
use super::{bow, strips};
use crate::model::build::{Sizing, SizingHow, SizingLimit};
use crate::model::lamination::Lamination;
use crate::numeric::span::Span;
use crate::units::Quantity;

/// `[sizing]`: which laminations may change, and how.
pub fn sizing(section: &FileSection<'_>, names: &[Option<String>], laminations: &[Option<Lamination>]) -> Option<Sizing> {
    if !section.present() {
        return None;
    }
    let items =
        section.need("change", "add the names of the laminations that may change").and_then(|w| w.list("names of laminations"));
    let how = section.word_or(
        "how",
        &[("thickness", SizingHow::Thickness), ("taper", SizingHow::Taper), ("both", SizingHow::Both)],
        "the tapers stay as they are",
    );
    let limits = section.get("limits");
    section.finish();
    let mut change = Vec::new();
    let items = items?;
    let named = items.len();
    for item in items {
        let Some(index) = item.text("a lamination's name").and_then(|name| bow::find_lamination(&item, name, names, &[])) else {
            continue;
        };
        if change.contains(&index) {
            item.fault("this lamination is named twice", "name it once");
        } else if laminations.get(index).and_then(Option::as_ref).is_some_and(|lamination| lamination.ground) {
            item.fault("this lamination is already ground and stays as it is", "let another one change, or give it a thickness");
        } else {
            change.push(index);
        }
    }
    let limits = match limits {
        Some(written) => limits_of(&written, names, (&change, change.len() == named), how)?,
        None => Vec::new(),
    };
    Some(Sizing { change, how: how?, limits })
}

/// `sizing.limits`: how far each lamination may change.
fn limits_of(
    written: &Written<'_>,
    names: &[Option<String>],
    (change, all_known): (&[usize], bool),
    how: Option<SizingHow>,
) -> Option<Vec<SizingLimit>> {
    let mut limits: Vec<SizingLimit> = Vec::new();
    let mut sound = true;
    for item in written.list("limits such as { of = \"back\", least = .., most = .. }")? {
        let Some(table) = item.section() else {
            sound = false;
            continue;
        };
        let of = table.need("of", "say which lamination it is for: of = \"back\"");
        let lamination = of.as_ref().and_then(|of| bow::find_lamination(of, of.text("a lamination's name")?, names, &[]));
        let min_mm = if_given(table.get("least").map(|w| w.quantity(Quantity::Length, strips::THICKNESS)));
        let max_mm = if_given(table.get("most").map(|w| w.quantity(Quantity::Length, strips::THICKNESS)));
        let taper = if_given(table.get("taper").map(|w| two_tapers(&w)));
        let fraction = if_given(table.get("share").map(|w| w.quantity(Quantity::Ratio, SHARE)));
        table.finish();
        let (Some(lamination), Some(min_mm), Some(max_mm), Some(taper), Some(fraction)) =
            (lamination, min_mm, max_mm, taper, fraction)
        else {
            sound = false;
            continue;
        };
        let before = written.notes.faults.borrow().len();
        if min_mm.zip(max_mm).is_some_and(|(least, most)| most < least) {
            table.fault("most", "the most is less than the least", "give the lesser thickness as `least`");
        }
        if fraction.is_some() && how == Some(SizingHow::Taper) {
            table.fault(
                "share",
                "a share is kept by thickness, and `how = \"taper\"` holds that",
                "write how = \"both\" or \"thickness\"",
            );
        }
        if limits.iter().any(|known| known.lamination == lamination) {
            table.fault("of", "this lamination has limits already", "put all its limits into one { .. }");
        } else if all_known && !change.contains(&lamination) {
            table.fault(
                "of",
                "this lamination may not change, so that it has no limits",
                "name it in `change`, or take this out",
            );
        }
        sound &= before == written.notes.faults.borrow().len();
        limits.push(SizingLimit { lamination, min_mm, max_mm, taper, fraction });
    }
    let fractions: f64 = limits.iter().filter_map(|limit| limit.fraction).sum();
    if 1.0 <= fractions {
        written.fault(format!("shares of {fractions:.2} leave nothing for the others"), "let them come to less than 1");
        sound = false;
    } else if 0.0 < fractions
        && change.iter().all(|index| limits.iter().any(|limit| limit.lamination == *index && limit.fraction.is_some()))
    {
        let hint = "name another lamination in `change` that takes what is left, or give no share";
        written.fault("with a share for every lamination that may change, nothing is left to reach the weight", hint);
        sound = false;
    }
    sound.then_some(limits)
}

/// A lamination's share of the stack.
const SHARE: Range = Range::between(0.02, 0.95);

fn two_tapers(written: &Written<'_>) -> Option<Span> {
    let hint = "write [least, most], such as [0, 0.004]";
    let [least, most] = written.pair("two tapers", hint)?;
    let (least, most) = (least.quantity(Quantity::Rate, strips::RATE)?, most.quantity(Quantity::Rate, strips::RATE)?);
    if most < least {
        written.fault("the second taper is less than the first", hint);
        return None;
    }
    Some(Span { min: least, max: most })
}
