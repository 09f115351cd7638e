//! What is said of the tiller: stretches that are stiff or weak, what comes off, and what readings cannot tell.

use super::super::bending::{PicturedTiller, TellsMost, TillerAction, TillerFound, Unseen};
use super::{Sentences, limb};
use crate::diag::{Message, Piece, mm, newtons};
use crate::mechanics::tiller_fit::{LimbCell, SPOKEN, Stretch};
use crate::mechanics::tillering::{LOWER, UPPER};
use crate::model::Build;
use crate::numeric::span::Span;
use crate::shop::even::RoundWork;
use crate::units::System;

impl Sentences<'_> {
    pub(super) fn tiller(&mut self, found: &TillerFound) {
        if !found.together.is_empty() {
            let plural = if found.together.len() == 1 { "the reading" } else { "the readings" };
            let draw = |draw: &Option<f64>| {
                draw.map_or("at brace".into(), |draw| message!("drawn to {}", mm(self.build.stated_draw_mm(draw))))
            };
            self.say(message!(
                "Reckoned together with {} before it ({}). If wood came off in between, say so: worked = true.",
                plural,
                Message::join(found.together.iter().map(draw), ", ")
            ));
        } else if found.began {
            self.say("A new round: what was read before is left out, since wood came off. If none did, say so: worked = false.");
        }
        let percent = |sigma: f64| message!("{} percent", format_args!("{:.0}", 100.0 * (sigma.exp() - 1.0)));
        let resolution = found.resolution.map_or_else(Message::default, |told| {
            message!("A stretch of {} is told to {} of its stiffness at best, from {}, and to {} at worst, from {} (one σ, whatever all others are).", mm(told.length_mm), percent(told.best.sigma_ln), told_place(self.build.units, told.best.from_mm), percent(told.worst.sigma_ln), told_place(self.build.units, told.worst.from_mm))
        });
        match &found.pictured {
            Some(pictured) => self.pictured(pictured, resolution),
            None => self.say(message!(
                "A distance is taken as read to {} (one σ; `reads_to` says better). {}",
                mm(found.sigma_mm),
                resolution
            )),
        }
        if 0.0 < found.wanted_mm {
            self.say(message!("Wanted at brace: the upper limb {} farther from the string at its fade's end (`target.positive_tiller`); that is no fault.", mm(found.wanted_mm)));
        }
        if let Some(told) = found.limbs {
            let stiffer = Span::about(told.value.abs(), SPOKEN * told.sigma).map(f64::exp);
            self.say(message!(
                "Taken whole the {} limb is the stiffer one: {} times the other ({} to {}, 3.5 σ).",
                limb(if 0.0 < told.value { UPPER } else { LOWER }),
                format_args!("{:.2}", told.value.abs().exp()),
                format_args!("{:.2}", stiffer.min),
                format_args!("{:.2}", stiffer.max)
            ));
        }
        for stretch in &found.stretches {
            self.stretch(stretch, found.working_mm[stretch.side]);
        }
        self.effort(found);
        if let Some(Unseen { off_mm, tells_most }) = found.unseen {
            let so = match found.effort {
                TillerAction::Cut => "What is to come off is the likeliest; one more reading tells it better.",
                _ => "Take nothing off yet.",
            };
            self.say(message!(
                "Distances are off by up to {}, and these readings do not tell where the fault is. {}",
                mm(off_mm),
                so
            ));
            self.say(match tells_most {
                TellsMost::Brace => "What would tell most: the same stations at brace.".into(),
                TellsMost::Draw(draw) => {
                    let stated_mm = told_mm(self.build.units, self.build.stated_draw_mm(draw));
                    message!("What would tell most: the same stations at `draw` = {}.", mm(stated_mm))
                }
                TellsMost::Again => {
                    "What would tell most: all of it read once more, with worked = false, or more stations between.".into()
                }
            });
        }
    }

    /// How good the picture is, and the curve that it shows.
    fn pictured(&mut self, pictured: &PicturedTiller, resolution: Message) {
        let picture = &pictured.picture;
        self.say(message!(
            "From a photograph: clicking tells a point of the back to {} (one σ; `clicks` says better). {}",
            mm(picture.click_mm),
            resolution
        ));
        self.say(if picture.perspective {
            message!(
                "Tilt and perspective are taken out by the four marks: the camera looked from {} degrees aside.",
                format_args!("{:.1}", picture.tilt_rad.to_degrees())
            )
        } else {
            "Two marks tell no tilt of the camera: three degrees of it are taken as possible and widen what is said. Four marks, no three \
             in a line, would tell it."
                .into()
        });
        let units = self.build.units;
        for side in [UPPER, LOWER] {
            let own = pictured.bends.iter().filter(|bend| bend.stretch.side == side);
            let told = own.map(|bend| {
                let radius = |per_mm: f64| mm(1.0 / per_mm);
                let Span { min: least, max: greatest } = bend.interval_per_mm();
                let place = message!("{} to {}", told_place(units, bend.stretch.from_mm), told_place(units, bend.stretch.to_mm));
                if least <= 0.0 || bend.designed_per_mm <= 0.0 {
                    return message!("{} nearly straight", place);
                }
                message!(
                    "{} {} ({} to {}; drawn {})",
                    place,
                    radius(bend.is_per_mm),
                    radius(greatest),
                    radius(least),
                    radius(bend.designed_per_mm)
                )
            });
            self.say(message!("Radius to which the {} limb bends, 95 of 100: {}.", limb(side), Message::join(told, ", ")));
        }
    }

    fn stretch(&mut self, stretch: &Stretch, working_mm: [f64; 2]) {
        let limb = limb(stretch.side);
        let whole = 0.85 * (working_mm[1] - working_mm[0]) <= stretch.to_mm - stretch.from_mm;
        let Span { min, max } = stretch.ln_within.map(f64::exp);
        let band = if max <= MAX_TOLD {
            message!("{} to {}", format_args!("{:.2}", min), format_args!("{:.2}", max))
        } else {
            message!("{} or more", format_args!("{:.2}", min))
        };
        let units = self.build.units;
        let told = |span: Span| span.map(|place_mm| told_mm(units, place_mm));
        let (own, within) = (told(Span { min: stretch.from_mm, max: stretch.to_mm }), told(stretch.within_mm));
        let place = if own == within {
            message!("from {} to {}", mm(own.min), mm(own.max))
        } else {
            message!("somewhere from {} to {}, likeliest from {} to {}", mm(within.min), mm(within.max), mm(own.min), mm(own.max))
        };
        let factor = message!(
            "{} times the rest of the bow ({} whatever its length is, 3.5 σ)",
            format_args!("{:.2}", stretch.ln_factor.exp()),
            band
        );
        self.say(match (whole, 0.0 < stretch.ln_factor) {
            (true, true) => message!("The {} limb is the stiffer one along its whole length: {}.", limb, factor),
            (true, false) => message!(
                "The {} limb is the weaker one along its whole length: {}. Leave it alone; the other is the stiffer one.",
                limb,
                factor
            ),
            (false, true) => message!("The {} limb is stiff {}: {}.", limb, place, factor),
            (false, false) => message!(
                "The {} limb bends too much about {}, {}: {}. Leave it alone there.",
                limb,
                told_place(units, 0.5 * (stretch.from_mm + stretch.to_mm)),
                place,
                factor
            ),
        });
    }

    fn effort(&mut self, found: &TillerFound) {
        let weight_n = found.weight_n.unwrap_or(found.wanted_n);
        let pounds = |fraction: f64| newtons(weight_n * (1.0 - (-fraction).exp()));
        if found.effort == TillerAction::Even {
            self.say("Every distance lies on its target as far as these readings tell. Take nothing off for the tiller.");
        }
        if found.too_light {
            self.say(message!(
                "Evening it out costs {}, and the bow draws {}: {} are wanted, finishing included.",
                pounds(found.work.all_costs),
                newtons(weight_n),
                newtons(found.wanted_n)
            ));
        }
        if found.effort == TillerAction::Stop {
            self.say("Stop here: no wood is left to take off for it. Live with this tiller, or make it a lighter bow.");
        }
        if matches!(found.effort, TillerAction::Cut | TillerAction::Wait) {
            let left = [UPPER, LOWER]
                .into_iter()
                .flat_map(|side| together(&found.weak_before, side).into_iter().map(move |at| (side, at)));
            let left: Vec<Message> = left
                .map(|(side, Span { min, max })| {
                    let units = self.build.units;
                    message!("the {} limb from {} to {}", limb(side), told_place(units, min), told_place(units, max))
                })
                .collect();
            if !left.is_empty() {
                self.say(message!(
                    "Left alone, because it bent too much in an earlier round, or may have: {}.",
                    Message::join(left, ", ")
                ));
            }
        }
        if found.effort != TillerAction::Cut {
            return;
        }
        for side in [UPPER, LOWER] {
            for run in runs(&found.work, side) {
                let most = run.iter().max_by(|a, b| a.1.total_cmp(&b.1)).copied().unwrap_or((run[0].0, 0.0));
                self.say(message!(
                    "On the {} limb take wood off {} from {} to {}, {} where it is most, about {}, less toward both ends.",
                    limb(side),
                    found.work.lever[side].spoken(self.build),
                    told_place(self.build.units, run[0].0.from_mm),
                    told_place(self.build.units, run[run.len() - 1].0.to_mm),
                    mm(most.1),
                    told_place(self.build.units, 0.5 * (most.0.from_mm + most.0.to_mm))
                ));
            }
        }
        let after = match found.weight_n {
            Some(_) => message!("and leaves {}", newtons(weight_n * (-found.work.costs).exp())),
            None => "of a bow at its wanted weight; weigh the bow and log it, so that the answer knows what is in hand".into(),
        };
        self.say(message!(
            "This round costs about {} {}. Then draw it in with many short pulls, and read again.",
            pounds(found.work.costs),
            after
        ));
    }
}

/// A stretch so many times as stiff hardly bends: how many times it is, distances do not tell.
const MAX_TOLD: f64 = 5.0;

/// A place as finely as readings tell one: whole half inches, or 10 mm.
pub fn told_mm(units: System, place_mm: f64) -> f64 {
    let step_mm = units.either_mm(0.5, 10.0);
    (place_mm / step_mm).round() * step_mm
}

fn told_place(units: System, place_mm: f64) -> Piece {
    mm(told_mm(units, place_mm))
}

/// Part of a limb that the answer speaks of, in a few words: for marks on a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkedPart {
    pub side: usize,
    pub from_mm: f64,
    pub to_mm: f64,
    pub what: PartMark,
    pub words: Message,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartMark {
    Stiff,
    Weak,
    Take,
}

/// Stiff and weak stretches, then where wood comes off.
pub fn marked(build: &Build, found: &TillerFound) -> Vec<MarkedPart> {
    let place = |from: f64, to: f64| message!("{} to {}", told_place(build.units, from), told_place(build.units, to));
    let told = found.stretches.iter().map(|stretch| {
        let likeliest = Span { min: stretch.from_mm, max: stretch.to_mm };
        // What may be weak is left alone as far as it may reach.
        let (what, Span { min, max }, words) = if 0.0 < stretch.ln_factor {
            let words = message!("{} limb stiff, {}", limb(stretch.side), place(likeliest.min, likeliest.max));
            (PartMark::Stiff, likeliest, words)
        } else {
            let within = stretch.within_mm;
            let words = message!("{} limb bends too much, {}: leave it alone", limb(stretch.side), place(within.min, within.max));
            (PartMark::Weak, within, words)
        };
        MarkedPart { side: stretch.side, from_mm: min, to_mm: max, what, words }
    });
    let taken = [UPPER, LOWER].into_iter().flat_map(|side| runs(&found.work, side).into_iter().map(move |run| (side, run)));
    let taken = taken.map(|(side, run)| {
        let (from_mm, to_mm) = (run[0].0.from_mm, run[run.len() - 1].0.to_mm);
        let most = run.iter().map(|(_, take)| *take).fold(0.0, f64::max);
        let words = message!("{} limb, take up to {} off, {}", limb(side), mm(most), place(from_mm, to_mm));
        MarkedPart { side, from_mm, to_mm, what: PartMark::Take, words }
    });
    told.chain(taken).collect()
}

/// What cells of one limb cover together, from the grip outward.
fn together(cells: &[LimbCell], side: usize) -> Vec<Span> {
    let mut own: Vec<Span> =
        cells.iter().filter(|cell| cell.side == side).map(|cell| Span { min: cell.from_mm, max: cell.to_mm }).collect();
    own.sort_by(|a, b| a.min.total_cmp(&b.min));
    own.into_iter().fold(Vec::new(), |mut spans: Vec<Span>, cell| {
        match spans.last_mut() {
            Some(last) if cell.min < last.max + 1.0 => last.max = last.max.max(cell.max),
            _ => spans.push(cell),
        }
        spans
    })
}

/// Cuts of one limb that lie side by side, with what each takes, mm.
fn runs(work: &RoundWork, side: usize) -> Vec<Vec<(LimbCell, f64)>> {
    let mut runs: Vec<Vec<(LimbCell, f64)>> = Vec::new();
    for cut in work.cuts.iter().filter(|cut| cut.cell.side == side) {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|(cell, _)| cut.cell.from_mm - cell.to_mm < 1.0) => {
                run.push((cut.cell, cut.take_mm))
            }
            _ => runs.push(vec![(cut.cell, cut.take_mm)]),
        }
    }
    runs
}
