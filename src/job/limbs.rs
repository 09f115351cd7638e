//! A bow of two different limbs: each has a job of its own, which knows the other limb's.
//!
//! A job beside another works out the bow of both: force, string, energy, tiller and speeds are the bow's, strains and what is ground are the
//! limb's own. One string serves both limbs, and one riser; [`one_draw`], [`one_riser`] and [`one_pile`] say where the files speak of two.

use super::{Ground, Job, Refused, SeriesFolder, Unread, portion};
use crate::diag::{Diagnostic, Message, Place, mm};
use crate::mechanics::weigher::OtherLimb;
use crate::model::Build;
use crate::model::block::BlockLayer;
use crate::model::join::Meet;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::limb::{LimbSide, OneLimb};
use crate::model::riser::{Riser, Slice};
use crate::model::taper::TaperForm;
use crate::model::workshop::Held;
use crate::units::limit;
use std::sync::Arc;

/// The other limb of a job's bow.
#[derive(Debug)]
pub(super) struct OtherFile {
    /// Which one the other is.
    pub is: LimbSide,
    /// Of the other limb's file, by itself.
    pub other: Job,
}

impl OtherFile {
    /// Makes a build that of one limb.
    pub fn claim(&self, build: &mut Build) {
        build.limb = Some(OneLimb {
            is: self.is.other(),
            other_file: self.other.name.clone(),
            other_title: self.other.build.title.clone(),
            other_nock_mm: self.other.build.nock_mm(),
        });
        build.laminations.iter_mut().for_each(|lamination| lamination.limbs = 1);
    }

    /// As bracing and drawing see it.
    pub fn limb(&self) -> Result<OtherLimb<'_>, Refused> {
        Ok(OtherLimb { is: self.is, build: self.other.bending.build(), options: self.other.bending.options()? })
    }

    /// As the shot sees it.
    pub fn shooting(&self) -> Result<OtherLimb<'_>, Refused> {
        Ok(OtherLimb { build: self.other.shooting.build(), ..self.limb()? })
    }
}

impl Job {
    /// Both limbs of a bow, the upper one's file first: each job beside the other. Where the files speak of two bows, [`one_draw`] and its like say.
    pub fn of_two_limbs(upper: &Job, lower: &Job) -> Result<[Job; 2], Unread> {
        Ok([upper.beside(LimbSide::Lower, lower)?, lower.beside(LimbSide::Upper, upper)?])
    }

    /// The folders that [`Job::of_two_limbs`] make: `shared`, `upper` and `lower`.
    pub fn folders_of_two(upper: &Job, lower: &Job) -> Result<Vec<SeriesFolder>, Refused> {
        portion::of_two_limbs([upper, lower])
    }

    /// For each lamination the one of the other limb that is ground by the same settings, so that both strips go through together.
    pub(super) fn ground_alike(&self) -> Result<Vec<Option<String>>, Refused> {
        let Some(beside) = &self.beside else { return Ok(vec![None; self.build.laminations.len()]) };
        // As one of two, too: fewer strips are set otherwise.
        let other = beside.other.beside(beside.is.other(), self).map_err(|unread| Refused::from(unread.faults))?;
        let theirs: Vec<Option<&Ground>> =
            (0..other.build.laminations.len()).map(|lamination| other.ground(lamination)).collect::<Result<_, _>>()?;
        let alike = |own: &Ground| {
            let same = |theirs: &&&Ground| theirs.schedule.setups == own.schedule.setups && !own.schedule.setups.is_empty();
            theirs.iter().flatten().find(same).map(|theirs| theirs.lamination.name.clone())
        };
        (0..self.build.laminations.len()).map(|lamination| Ok(self.ground(lamination)?.and_then(alike))).collect()
    }

    fn beside(&self, is: LimbSide, other: &Job) -> Result<Job, Unread> {
        let beside = Arc::new(OtherFile { is, other: other.clone() });
        Job::after(&self.name, self.text(), self.inputs.clone(), Some(self), Some(beside))
    }
}

/// Nobody draws or braces closer than this, mm; files in inches and in millimetres round to less.
const SAME_DRAW_MM: f64 = 0.5;

/// What the lower limb's file asks for otherwise than the upper's, though one string braces and draws both.
pub fn one_draw(upper: &Build, lower: &Build) -> Vec<Diagnostic> {
    let (Some(upper), Some(lower)) = (upper.target, lower.target) else { return Vec::new() };
    // The lower file's draw length, counted as that file counts it.
    let draw_length_mm = upper.pivot_to_nock_mm + lower.draw_length_mm - lower.pivot_to_nock_mm;
    let rows = [
        ("draw_length", "draw length", lower.draw_length_mm, draw_length_mm),
        ("brace_height", "brace height", lower.brace_height_mm, upper.brace_height_mm),
    ];
    rows.into_iter()
        .filter(|(_, _, own, wanted)| SAME_DRAW_MM < (own - wanted).abs())
        .map(|(key, what, own, wanted)| {
            let message =
                message!("its {} is {}, the upper limb's {}, but one string serves both limbs", what, mm(own), mm(wanted));
            Diagnostic::fault(Place::new("target").key(key), message).hint(message!("write `{}` = {}", key, mm(wanted)))
        })
        .collect()
}

/// Blocks and outlines are made no closer, mm.
const SAME_MM: f64 = 0.1;

/// What the lower limb's file says of the riser otherwise than the upper's, though one block carries both limbs. Its two fades, and what they take of
/// its length, may differ.
pub fn one_riser(upper: &Build, lower: &Build) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut differ = |key: &str, message: Message, hint: Message| {
        faults.push(Diagnostic::fault(Place::new(key), message).hint(hint));
    };
    match (&upper.riser, &lower.riser) {
        (None, None) => {}
        (Some(of_upper), Some(of_lower)) => {
            if !close(of_upper.depth_mm, of_lower.depth_mm) {
                let depths = [mm(of_lower.depth_mm), mm(of_upper.depth_mm)];
                differ(
                    "riser.depth",
                    message!("its riser is {} deep, the upper limb's {}, but one block carries both limbs", depths[0], depths[1]),
                    message!("write `depth` = {}", depths[1]),
                );
            }
            let on = |riser: &Riser| if riser.position == 0 { "back" } else { "belly" };
            if on(of_upper) != on(of_lower) {
                differ(
                    "riser.on",
                    message!(
                        "its riser is on the {}, the upper limb's on the {}, but one block carries both limbs",
                        on(of_lower),
                        on(of_upper)
                    ),
                    message!("write on = \"{}\"", on(of_upper)),
                );
            }
            let risers = [of_upper, of_lower];
            let widths_mm = [of_upper.width_mm(upper.glue.line_mm), of_lower.width_mm(lower.glue.line_mm)];
            match risers.map(|riser| !riser.layers.is_empty()) {
                [true, true] => boards_of_one_riser(risers, widths_mm, &mut differ),
                [false, false] => slices_of_one_riser(risers, widths_mm, &mut differ),
                [true, false] => differ(
                    "riser.across",
                    "its riser is of slices, the upper limb's of layers, but one block carries both limbs".into(),
                    message!(
                        "in place of `across` write the upper limb's `layers` into this file, and `width` = {}",
                        mm(widths_mm[0])
                    ),
                ),
                [false, true] => differ(
                    "riser.layers",
                    "its riser is of layers, the upper limb's of slices, but one block carries both limbs".into(),
                    "in place of `layers` and `width` write the upper limb's `across` into this file".into(),
                ),
            }
            overlay_of_one_riser(risers, &mut differ);
            let cuts = [("grip", of_upper.grip != of_lower.grip), ("shelf", of_upper.pass != of_lower.pass)];
            for (key, _) in cuts.into_iter().filter(|(_, apart)| *apart) {
                differ(
                    &format!("riser.{key}"),
                    message!("its {} is cut otherwise than the upper limb's, but one block carries both limbs", key),
                    message!("let both files have the same [riser.{}], or neither", key),
                );
            }
        }
        (of_upper, _) => {
            let (has, hint) = match of_upper {
                Some(_) => (
                    "has no riser, the upper limb's has one",
                    "write the upper limb's [riser] into this file; its fade may differ",
                ),
                None => (
                    "has a riser, the upper limb's has none",
                    "write this file's [riser] into the upper limb's; its fade may differ",
                ),
            };
            differ("riser", message!("it {}", has), hint.into());
        }
    }
    let at_centre = |build: &Build| build.outline.as_ref().map_or(0.0, |outline| outline.width_at(0.0));
    let (own, wanted) = (at_centre(lower), at_centre(upper));
    if !close(own, wanted) {
        differ(
            "outline.width",
            message!(
                "its outline is {} wide at the bow's centre, the upper limb's {}, but both halves meet there",
                mm(own),
                mm(wanted)
            ),
            message!("begin `width` with [0, {}]", mm(wanted)),
        );
    }
    faults.extend(one_meet(upper, lower));
    faults
}

/// Halves of the two limbs that are told to meet otherwise than each other.
fn one_meet<'a>(upper: &'a Build, lower: &'a Build) -> impl Iterator<Item = Diagnostic> + use<'a> {
    lower.laminations.iter().filter_map(|own| {
        let other = upper.laminations.iter().find(|other| other.name == own.name);
        if own.meet == other.map_or(Meet::Butted, |other| other.meet) {
            return None;
        }
        let (message, hint) = match other {
            Some(_) => (
                message!("`{}` meets the upper limb's half otherwise than that meets it", own.name),
                "let both files have the same `meet` for it, or neither",
            ),
            None => (
                message!("the upper limb has no lamination `{}` whose half this one could overlap", own.name),
                "take `meet` out, or name both halves alike",
            ),
        };
        Some(Diagnostic::fault(own.place.key("meet"), message).hint(hint))
    })
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME_MM
}

/// A fault at a key of the lower limb's file, and its hint.
type Differ<'a> = dyn FnMut(&str, Message, Message) + 'a;

fn slices_of_one_riser([of_upper, of_lower]: [&Riser; 2], [wanted, own]: [f64; 2], differ: &mut Differ<'_>) {
    let slices = |riser: &Riser| riser.across.iter().map(|slice| slice.wood.name.clone()).collect::<Vec<_>>();
    let apart = |(a, b): (&Slice, &Slice)| !close(a.width_mm, b.width_mm);
    if slices(of_upper) == slices(of_lower) && !of_upper.across.iter().zip(&of_lower.across).any(apart) {
        return;
    }
    let message = message!(
        "its riser is {} wide of {}, the upper limb's {} of {}, but one block carries both limbs",
        mm(own),
        slices(of_lower).join(", "),
        mm(wanted),
        slices(of_upper).join(", ")
    );
    differ("riser.across", message, "write the upper limb's `across` into this file".into());
}

fn boards_of_one_riser([of_upper, of_lower]: [&Riser; 2], [wanted, own]: [f64; 2], differ: &mut Differ<'_>) {
    let boards_apart = |(a, b): (&BlockLayer, &BlockLayer)| a.wood.name != b.wood.name || !close(a.thickness_mm, b.thickness_mm);
    if of_upper.layers.len() != of_lower.layers.len() || of_upper.layers.iter().zip(&of_lower.layers).any(boards_apart) {
        let message = message!("its riser's layers are others than the upper limb's, but one block carries both limbs");
        differ("riser.layers", message, "write the upper limb's `layers` into this file".into());
    }
    if !close(own, wanted) {
        let message =
            message!("its riser is {} wide, the upper limb's {}, but one block carries both limbs", mm(own), mm(wanted));
        differ("riser.width", message, message!("write `width` = {}", mm(wanted)));
    }
}

/// The overlay is one piece from end to end, though its fades may differ.
fn overlay_of_one_riser([of_upper, of_lower]: [&Riser; 2], differ: &mut Differ<'_>) {
    let apart = match (&of_upper.overlay, &of_lower.overlay) {
        (Some(a), Some(b)) => a.wood.name != b.wood.name || !close(a.profile.depth_mm, b.profile.depth_mm),
        (a, b) => a.is_some() != b.is_some(),
    };
    if apart {
        let message = message!("its riser's overlay is another than the upper limb's, but one piece lies on both limbs");
        let hint = "let `wood` and `depth` under [riser.overlay] be the same in both files, or let neither have one; its fade may differ";
        differ("riser.overlay", message, hint.into());
    }
}

/// What the lower limb's file says of the cutter otherwise than the upper's, though the parts of both lie on one bed.
pub fn one_cutter(upper: &Build, lower: &Build) -> Option<Diagnostic> {
    let message = "its cutter is another one than the upper limb's, but the parts of both limbs are cut together";
    let fault = Diagnostic::fault(Place::new("shop.cutter"), message);
    (upper.shop.cutter != lower.shop.cutter).then(|| fault.hint("write the upper limb's `cutter` under [shop] into this file"))
}

/// What of the lower limb's glue-up cannot be done together with the upper's: both are glued around one riser, stage by stage.
pub fn one_pile(upper: &Job, lower: &Job) -> Vec<Diagnostic> {
    let [of_upper, of_lower] = [upper, lower].map(|job| job.glue_up().ok().flatten());
    let (Some(of_upper), Some(of_lower)) = (of_upper, of_lower) else { return Vec::new() };
    let place = Place::new("glue.stage");
    if of_upper.stages.len() != of_lower.stages.len() {
        let message = format!(
            "its glue-up has {}, the upper limb's {}, but both limbs are glued around one riser",
            count_words(of_lower.stages.len()),
            count_words(of_upper.stages.len())
        );
        return vec![Diagnostic::fault(place, message).hint("give both files the same stages; a stage may be held otherwise")];
    }
    let mut faults = Vec::new();
    for (k, (a, b)) in of_upper.stages.iter().zip(&of_lower.stages).enumerate() {
        if a.riser != b.riser {
            let message = format!(
                "the riser is glued in another stage than stage {} of the upper limb's file, but there is one riser",
                a.number
            );
            faults.push(Diagnostic::fault(place.index(k), message).hint("give the riser the same `stage` in both files"));
        }
        let (held, wanted) = (held_words(&b.held), held_words(&a.held));
        if held != wanted {
            let message = format!(
                "stage {} is held {held}, the upper limb's {wanted}, but the pile of both limbs is held in one go",
                b.number
            );
            let hint = "hold both on a form, whose half for a straight limb rises by nothing, or both in the other way";
            faults.push(Diagnostic::fault(place.index(k).key("held"), message).hint(hint));
        }
    }
    faults
}

fn count_words(stages: usize) -> String {
    if stages == 1 { "1 stage".into() } else { format!("{stages} stages") }
}

fn held_words(held: &Held) -> &'static str {
    match held {
        Held::Flat => "flat",
        Held::Props { .. } => "on props",
        Held::Form { .. } => "on a form",
    }
}

/// A step between both piles that a glue line cannot fill, mm: common practice, no source.
const STEP_MM: f64 = 0.1;

/// What is said where the halves of both limbs meet at the centre with stacks of different thickness under one flat block.
pub fn halves_meet(upper: &Build, lower: &Build) -> Option<Diagnostic> {
    let under = |build: &Build| -> Option<f64> {
        let position = build.riser.as_ref()?.position.min(build.laminations.len());
        let sum = build.laminations[..position].iter().map(|lamination| lamination.thickness_at(0.0)).sum::<f64>();
        (0 < position).then_some(sum)
    };
    let step = under(lower)? - under(upper)?;
    if step.abs() <= STEP_MM {
        return None;
    }
    let than = if step < 0.0 { "thinner" } else { "thicker" };
    let message = message!(
        "at the centre its strips are {} {} than the upper limb's: the riser's flat face stands off one of them by that",
        mm(step.abs()),
        than
    );
    let level = level_butts(upper, lower).unwrap_or_else(|| "give them as much at the butt as the upper limb's have".into());
    let hint = message!(
        "{}, how = \"taper\" under [sizing] of both files, and size both again; or glue in a shim there (common practice, no source)",
        level
    );
    Some(Diagnostic::warning(Place::new("lamination"), message).hint(hint))
}

/// What the lower limb's strips under the block are to be written as, so that they are as thick at the butt as the upper limb's; `None` where they are
/// not the same strips, or one of them is ground.
fn level_butts(upper: &Build, lower: &Build) -> Option<Message> {
    let position = upper.riser.as_ref()?.position;
    let pairs = || upper.laminations.iter().take(position).zip(&lower.laminations);
    let alike = pairs().all(|(a, b)| a.name == b.name && close(a.from_mm, b.from_mm));
    let written = |lamination: &Lamination| {
        !lamination.ground && !matches!(lamination.finished.form(), TaperForm::Stations | TaperForm::Ground)
    };
    let rows: Vec<_> = pairs().filter(|(a, b)| !close_butts(a, b)).collect();
    if !alike || lower.riser.as_ref()?.position != position || rows.is_empty() || !rows.iter().all(|(_, b)| written(b)) {
        return None;
    }
    let each = rows.into_iter().enumerate().map(|(number, (a, b))| {
        let first = if number == 0 { "in this file write " } else { ", " };
        message!("{}`thickness` of `{}` = {}", first, b.name, mm(a.butt_thickness_mm()))
    });
    each.reduce(|all, next| message!("{}{}", all, next))
}

fn close_butts(one: &Lamination, other: &Lamination) -> bool {
    (one.butt_thickness_mm() - other.butt_thickness_mm()).abs() < 1e-3
}

/// What keeps the strips of two different limbs from being made, with whose file it is said of: one strip from tip to tip is a strip of both limbs,
/// so both files have to say it alike.
pub fn full_strips_alike(limb: &Build, other: &Build) -> Vec<Diagnostic> {
    let full = limb.laminations.iter().enumerate().filter(|(_, lamination)| lamination.pieces == Pieces::Full);
    let fault = |(index, lamination): (usize, &Lamination)| {
        let twin = other.laminations.get(index);
        let alike = twin.is_some_and(|twin| {
            Lamination { place: lamination.place.clone(), sled: lamination.sled.clone(), ..twin.clone() } == *lamination
        });
        if alike {
            return None;
        }
        let what = match twin {
            Some(twin) if twin.pieces != Pieces::Full => ": there it is halves",
            Some(twin) if !limit::same(twin.to_mm, lamination.to_mm) => ": there it ends at another station",
            Some(twin) if twin.finished != lamination.finished => ": there it has another thickness or taper",
            _ => "",
        };
        let message =
            format!("`{}` is one strip from tip to tip, but the other limb's file does not say it alike{what}", lamination.name);
        let hint = "say it alike in both files and let the other laminations differ, or write pieces = \"halves\" in both: a strip for each limb, \
                    butted at the centre";
        Some(Diagnostic::fault(lamination.place.key("pieces"), message).hint(hint))
    };
    full.filter_map(fault).collect()
}
