//! `meet` of a lamination: how its halves overlap at the grip.

use super::bow::LONGEST_HALF_MM;
use super::raw::Value;
use super::reader::{FileSection, Notes, Range};
use super::splice::SLOPE;
use super::wording::amount;
use crate::diag::{Diagnostic, Message, at_least, at_most, mm};
use crate::model::Build;
use crate::model::join::Meet;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::meet::Rebate;
use crate::units::{Quantity, limit};

/// A lap or a scarf shorter than this cannot be clamped as one, mm.
const LENGTH: Range = Range::between(10.0, 2.0 * LONGEST_HALF_MM);
/// Slope that is proposed where a lap cannot be: one in ten, common practice, no source.
const USUAL: f64 = 10.0;
/// Of the riser's depth laps may take so much together. More, and the block is another one under the hand; a proposal of ours, no source.
const RISER_KEEPS: f64 = 0.5;

/// Butted where it is not said.
pub fn meet(section: &FileSection<'_>) -> Option<Meet> {
    let Some(written) = section.get("meet") else { return Some(Meet::Butted) };
    let hint = "add the length of the overlap along the bow: `scarf`, or `lap` for halves that lie against a riser";
    if let Value::Text(how) = &written.node.value
        && matches!(how.as_str(), "scarf" | "lap")
    {
        written.fault(format!("a {how} has a length"), hint);
        return None;
    }
    if !written.is_table() {
        return written.word(&[("butt", Meet::Butted)]);
    }
    let table = written.section()?;
    let given = ["scarf", "lap"].map(|key| table.has(key));
    let meet = match given {
        [true, true] => {
            table.get("scarf");
            table.fault("lap", "halves are scarfed or lapped, not both", "keep one of them");
            table.get("lap");
            None
        }
        [_, true] => table.length("lap", LENGTH).map(|length_mm| Meet::Lapped { length_mm }),
        _ => table.need_length("scarf", LENGTH, hint).map(|length_mm| Meet::Scarfed { length_mm }),
    };
    table.get("lap");
    table.finish();
    meet
}

/// Whether these are halves that meet, and whether their scarf can be planed.
pub fn judge(section: &FileSection<'_>, lamination: &Lamination) {
    if lamination.meet == Meet::Butted {
        return;
    }
    let length = |mm| amount(mm, Quantity::Length, section.notes.system);
    if lamination.pieces == Pieces::Full {
        let message = "one strip from tip to tip has no halves that meet";
        section.fault("meet", message, "write pieces = \"halves\", or take `meet` out");
    } else if 0.0 < lamination.from_mm {
        let message = format!("halves that begin at station {} do not meet", length(lamination.from_mm));
        section.fault("meet", message, "lower `from` to 0, or take `meet` out");
    } else if limit::above(lamination.reach_mm(), lamination.to_mm) {
        let message = format!(
            "each half would reach {} past the centre, farther than the other one is long, {}",
            length(lamination.reach_mm()),
            length(lamination.to_mm)
        );
        section.fault(
            key(lamination),
            message,
            message!("lower `{}` to {} or less", word(lamination), at_most(2.0 * lamination.to_mm)),
        );
    } else if let Meet::Scarfed { length_mm } = lamination.meet {
        let thickness = lamination.finished.at(0.0);
        let [steepest, flattest] = [SLOPE.min, SLOPE.max].map(|slope| slope * thickness);
        let told = format!("a scarf {} long through {}", length(length_mm), length(thickness));
        if limit::below(length_mm, steepest) {
            let message = format!("{told} is steeper than 1:{}", SLOPE.min);
            section.fault(
                "meet.scarf",
                message,
                message!("raise `scarf` to {} or more; 8 to 12 times the thickness is usual", at_least(steepest)),
            );
        } else if limit::above(length_mm, flattest) {
            let message = format!("{told} is flatter than 1:{}, and no saw follows it", SLOPE.max);
            section.fault(
                "meet.scarf",
                message,
                message!("lower `scarf` to {} or less; 8 to 12 times the thickness is usual", at_most(flattest)),
            );
        }
    }
}

fn word(lamination: &Lamination) -> &'static str {
    lamination.meet.word()
}

fn key(lamination: &Lamination) -> &'static str {
    if matches!(lamination.meet, Meet::Lapped { .. }) { "meet.lap" } else { "meet.scarf" }
}

/// A scarf of usual slope as it is written.
fn scarfed(lamination: &Lamination) -> Message {
    message!("meet = {} scarf = \"{}\" {}", "{", at_least(USUAL * lamination.finished.at(0.0)), "}")
}

/// Laps and the riser that takes them up; what overlaps over the fades.
pub fn among(notes: &Notes, build: &Build) {
    for (index, lamination) in build.laminations.iter().enumerate() {
        match lamination.meet {
            // What is no pair of halves at the grip has been told so.
            _ if lamination.pieces == Pieces::Full || 0.0 < lamination.from_mm => {}
            Meet::Butted => {}
            Meet::Scarfed { length_mm } => over_the_fades(notes, build, index, length_mm),
            Meet::Lapped { length_mm } => lapped(notes, build, index, length_mm),
        }
    }
    rebates(notes, build);
}

fn over_the_fades(notes: &Notes, build: &Build, index: usize, length_mm: f64) {
    let Some(riser) = build.riser.as_ref().filter(|riser| riser.position <= index) else { return };
    if limit::above(length_mm, riser.level_mm) {
        let lamination = &build.laminations[index];
        let message = message!(
            "the scarf between the halves of `{}`, {} long, runs over the riser's fades, where the strips are bent sharply",
            lamination.name,
            mm(length_mm)
        );
        let hint =
            message!("lower `scarf` to {} or less, the riser's level part; common practice, no source", at_most(riser.level_mm));
        notes.warn(Diagnostic::warning(lamination.place.key("meet").key("scarf"), message).hint(hint));
    }
}

fn lapped(notes: &Notes, build: &Build, index: usize, length_mm: f64) {
    let lamination = &build.laminations[index];
    let fault = |message: Message, hint: Message| {
        notes.fault(Diagnostic::fault(lamination.place.key("meet").key("lap"), message).hint(hint));
    };
    let scarf_instead = || message!("write {} instead", scarfed(lamination));
    let (Some(riser), Some(_)) = (&build.riser, build.lap_face(index)) else {
        let message = message!(
            "the halves of `{}` lap, but no riser lies against them: where one strip lies on the other its neighbour cannot lie down over the step",
            lamination.name
        );
        fault(message, scarf_instead());
        return;
    };
    if limit::above(length_mm, riser.level_mm) {
        let message = message!(
            "a lap of {} runs over the riser's level part, {}: what is rebated there for it would cut through the fades",
            mm(length_mm),
            mm(riser.level_mm)
        );
        fault(message, message!("lower `lap` to {} or less, or raise `riser.level`", at_most(riser.level_mm)));
    }
    let last = build.laminations.iter().map(|other| other.stage).max().unwrap_or(1);
    let of_riser = build.laminations.get(riser.position).map_or(last, |climbs| climbs.stage);
    if lamination.stage != of_riser {
        let message = message!(
            "`{}` is glued in stage {}, the riser that its lap is let into in stage {}: one of them would be clamped over the step alone",
            lamination.name,
            lamination.stage,
            of_riser
        );
        fault(message, scarf_instead());
    }
}

/// What is left of the riser.
fn rebates(notes: &Notes, build: &Build) {
    let Some(riser) = &build.riser else { return };
    let rebates: Vec<Rebate> = build.rebates().collect();
    let taken: f64 = rebates.iter().map(|rebate| rebate.depth_mm).sum();
    let max = RISER_KEEPS * riser.depth_mm;
    if let (Some(last), true) = (rebates.last(), limit::above(taken, max)) {
        let lamination = &build.laminations[last.lamination];
        let message =
            message!("laps take {} of the riser's depth of {}: half of it stays at least", mm(taken), mm(riser.depth_mm));
        let hint = message!(
            "raise `riser.depth` to {} or more, or scarf the halves: {}",
            at_least(taken / RISER_KEEPS),
            scarfed(lamination)
        );
        notes.fault(Diagnostic::fault(lamination.place.key("meet").key("lap"), message).hint(hint));
    }
}
