//! What is said of bending tests, released stages, blanks, tiller and finished bows.

use super::super::bench::Rest;
use super::super::bending::{
    Agreement, BendFound, BendWeight, BlankFound, BowsFound, CameOff, ChosenStrips, Effort, Next, NextStage, NockPair,
    PicturedTiller, TellsMost, TestedStrip, TillerFound, Unseen, takes,
};
use super::{Sentences, limb};
use crate::diag::{Message, Piece, mm, mpa, newtons};
use crate::mechanics::strip_test::ErrorSource;
use crate::mechanics::tiller_fit::{LimbCell, SPOKEN, Stretch};
use crate::mechanics::tillering::{LOWER, UPPER};
use crate::model::Build;
use crate::model::log::{BlankWidth, Of};
use crate::model::workshop::Held;
use crate::numeric::span::Span;
use crate::shop::blank::{Gain, NEAR, Removal, WoodLever, kept_because, lever, limits};
use crate::shop::even::RoundWork;
use crate::units::System;

/// Less than this of one standard deviation is as good as a strip's modulus need be known, relative.
const WORTH_MENDING: f64 = 0.01;

/// A strip by its name, or its lamination's.
pub fn strip_name(build: &Build, strip: &TestedStrip) -> Message {
    if strip.name.is_empty() {
        message!("the strip of `{}`", build.laminations[strip.lamination].name)
    } else {
        strip.name.as_str().into()
    }
}

pub fn as_wide_as(width: Option<&BlankWidth>) -> &'static str {
    match width {
        Some(BlankWidth::Strips) => "Counted as wide as its strips",
        Some(BlankWidth::Outline) | None => "Counted as trimmed to the outline",
        Some(BlankWidth::Whole(_) | BlankWidth::Each(_)) => "Counted as wide as was said last",
    }
}

impl Sentences<'_> {
    pub(super) fn bend(&mut self, found: &BendFound) {
        let Of::Bend(test) = &self.answer.reading.of else { return };
        let wood = &self.build.laminations[test.lamination].wood;
        let strip = &found.strip;
        let of = if strip.tests == 1 { Message::default() } else { message!(" from {} tests", strip.tests) };
        self.say(message!("{} ± {}{}, 95 percent sure: {} times what the build reckons with, which is good to {} percent (one standard deviation).", mpa(strip.modulus_mpa), mpa(strip.half_width * strip.modulus_mpa), of, format_args!("{:.2}", strip.modulus_mpa / wood.modulus_mpa), format_args!("{:.0}", 100.0 * wood.modulus_cov)));
        let worst = found.tested.parts.iter().max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((part, fraction)) = worst.filter(|(_, fraction)| WORTH_MENDING < *fraction) {
            let how = match part {
                ErrorSource::Sag => "read the sag finer (say so with `reads`), several times, or hang more weight",
                ErrorSource::Thickness => "thickness counts three times: read it at more places with a finer gauge",
                ErrorSource::Width => "measure the width finer",
                ErrorSource::Span => "take a longer span, or measure it finer",
                ErrorSource::Weight => "weigh the weight finer",
            };
            self.say(message!(
                "What it is unsure by comes mostly from here ({} percent): {}.",
                format_args!("{:.1}", 100.0 * fraction),
                how
            ));
        }
        if found.first {
            self.say(message!("{} percent of the sag is shear, and is taken off, as it is from the table of woods: a modulus as handbooks print it has it in, and reads about a tenth lower.", format_args!("{:.1}", 100.0 * found.tested.shear)));
        }
        if found.chosen.len() != found.laminations.len() {
            self.say("So unsure a test tells less than the table of woods: it is not reckoned with.");
        }
        self.pairs(found, &wood.name);
        if let Some(weight) = &found.weight {
            self.tested_weight(weight);
        }
    }

    fn pairs(&mut self, found: &BendFound, wood: &str) {
        let build = self.build;
        let name = |k: &usize| strip_name(build, &found.strips[*k]);
        let of_wood = |chosen: &&ChosenStrips| build.laminations[chosen.lamination].wood.name == wood;
        for chosen in found.chosen.iter().filter(of_wood) {
            let lamination = &build.laminations[chosen.lamination].name;
            match chosen.strips.as_slice() {
                [stiffer, other] => {
                    let [a, b] = [stiffer, other].map(|k| &found.strips[*k].known);
                    let apart = (a.modulus_mpa / b.modulus_mpa).ln();
                    let what = if apart <= 1.96 * a.own.hypot(b.own) {
                        "alike as far as the tests tell".into()
                    } else {
                        message!(
                            "{} percent apart: the stiffer, {}, in the lower limb helps a tiller whose upper limb is the weaker",
                            format_args!("{:.1}", 100.0 * apart),
                            name(stiffer)
                        )
                    };
                    let pair = message!("{} and {}", name(stiffer), name(other));
                    self.say(if chosen.from_pile {
                        message!("For `{}` take {}, {}.", lamination, pair, what)
                    } else {
                        message!("`{}` is {}, {}.", lamination, pair, what)
                    });
                }
                [only] if chosen.from_pile => self.say(message!("For `{}` take {}.", lamination, name(only))),
                [_] if takes(build, chosen.lamination) == 2 => self.say(message!(
                    "The other strip of `{}` is not tested: it counts as like this one, within the wood's scatter. Test it, too.",
                    lamination
                )),
                _ => {}
            }
        }
        if 1 < found.chosen.iter().filter(of_wood).filter(|chosen| chosen.from_pile).count() {
            self.say("Pairs are the closest there are; the stiffest goes nearest the back.");
        }
        if !found.spare.is_empty() {
            self.say(message!("Left over: {}.", Message::join(found.spare.iter().map(name), ", ")));
        }
    }

    fn tested_weight(&mut self, weight: &BendWeight) {
        self.say(message!(
            "With all strips as tested the bow draws {} ± {} (one standard deviation; ± {} before this test).",
            newtons(weight.weight_n),
            newtons(weight.spread_n),
            newtons(weight.before_spread_n)
        ));
        match &weight.rest {
            Rest::Stays => {}
            Rest::NoneLeft => self.say(message!(
                "Wanted are {}: name under [sizing] what may change, and `size` brings it there.",
                newtons(weight.wanted_n)
            )),
            Rest::Sized(changes) => self.sized(changes, weight.wanted_n),
            Rest::Refused(faults) => self.notes(faults),
        }
    }

    pub(super) fn release(&mut self, found: &CameOff) {
        let Of::Release { stage, .. } = self.answer.reading.of else { return };
        let percent = |fraction: f64| message!("{} percent", format_args!("{:.0}", 100.0 * fraction));
        self.say(message!(
            "Of the curvature that the glued section should keep, {} is there; the model reckons with {}.",
            percent(found.retained),
            percent(found.planned)
        ));
        match found.agreement {
            Agreement::Agrees => self.say("Reading and model agree as far as a straightedge shows."),
            Agreement::TooMuch => self
                .say("More is left than the section can keep: was it measured from the grip to the nock, and the form as drawn?"),
            Agreement::Differs if 1 < stage => self.say("Read it again after some days: wood and glue creep."),
            Agreement::Differs => self.say(message!(
                "Read it again after some days: wood and glue creep. The share is this stage's own; for the next bow glued so, \
                 `glue.retained` = {} is the better guess.",
                format_args!("{:.2}", found.retained)
            )),
        }
        match found.nocks {
            None => {}
            Some(NockPair::Alike) => self.say("Both nocks stand alike as far as a straightedge shows."),
            Some(NockPair::Apart(upper_less_lower)) => self.say(message!(
                "They stand {} apart: the {} limb lies more toward the back, with more reflex or less deflex.",
                mm(upper_less_lower.abs()),
                if upper_less_lower < 0.0 { "upper" } else { "lower" }
            )),
        }
        match &found.next {
            NextStage::None => {}
            NextStage::Flat { stage, leaves_mm, wanted_mm } => self.say(message!(
                "Stage {} is held flat, and leaves the nocks at {} instead of {} with the piece as it is.",
                stage,
                mm(*leaves_mm),
                mm(*wanted_mm)
            )),
            NextStage::Unreachable { stage, leaves_mm, wanted_mm } => self.say(message!(
                "No depth of its hold brings stage {} to {} with the piece as it is; held as planned it leaves {}.",
                stage,
                mm(*wanted_mm),
                mm(*leaves_mm)
            )),
            NextStage::Held(next) => self.next_stage(next),
        }
        if let Some(limbs) = &found.limbs {
            let nearer = limb(if limbs.difference_mm < 0.0 { UPPER } else { LOWER });
            self.say(message!("Braced, and of the same stiffness, the {} limb then stands nearer the string, by {} at station {}: it works as the stiffer one.", nearer, mm(limbs.difference_mm.abs()), mm(limbs.station_mm)));
            self.say(if nearer == "lower" {
                "A tiller whose upper limb is the weaker wants it so; what is too much comes off when tillering."
            } else {
                "Where the upper limb shall be the weaker one, turn the bow end for end before grip and nocks are cut."
            });
        }
    }

    fn next_stage(&mut self, next: &Next) {
        let to = message!("For {} at the nocks once stage {} is released", mm(next.wanted_mm), next.stage);
        match (&next.held, &next.planned) {
            (Held::Props { rise_mm, at_mm }, Held::Props { rise_mm: was_mm, .. }) => {
                let over = match next.props_mm {
                    Some([upper, lower]) if 0.0 < (upper - lower).abs() => {
                        message!("{} over the upper prop and {} over the lower one,", mm(upper), mm(lower))
                    }
                    _ => message!("{} over the props", mm(*rise_mm)),
                };
                self.say(message!("{}, raise the back to {} at station {}; planned were {}.", to, over, mm(*at_mm), mm(*was_mm)));
            }
            (Held::Form { rise }, Held::Form { rise: was }) => {
                let deep = |rise: &[(f64, f64)]| rise.last().zip(rise.first()).map_or(0.0, |(last, first)| last.1 - first.1);
                self.say(message!(
                    "{}, multiply the rises of the form as written by {}: {} at its end; planned were {}.",
                    to,
                    format_args!("{:.3}", next.form_by.unwrap_or(1.0)),
                    mm(deep(rise)),
                    mm(deep(was))
                ));
                if let Some([upper, lower]) = next.left_mm {
                    self.say(message!(
                        "One form for both limbs leaves the upper nock at {} and the lower at {}.",
                        mm(upper),
                        mm(lower)
                    ));
                }
            }
            _ => {}
        }
        self.say(message!(
            "The reading is good for ± {} of that; held as planned, the nocks would come to {}.",
            mm(next.band_mm),
            mm(next.as_planned_mm)
        ));
        if let Some(scatter) = next.scatter_mm {
            self.say(message!("The wood's scatter adds ± {} (one standard deviation).", mm(scatter)));
        }
    }

    pub(super) fn blank(&mut self, found: &BlankFound) {
        let Of::Blank { taken_off, .. } = &self.answer.reading.of else { return };
        if let Some(earlier) = found.earlier {
            self.say(message!("Earlier weighings made the wood {} times the handbook's stiffness, this one makes it {}: they cannot all be right. \
                 Was the width given{}? This one is taken alone.", format_args!("{:.2}", earlier), format_args!("{:.2}", found.own_factor), if self.belly_kept() { "" } else { ", and what is off the belly" }));
        }
        if taken_off.width.is_none() {
            let counted = as_wide_as(found.width.as_ref());
            self.say(message!("{}; give `width` for another, such as \"outline\" once it is trimmed.", counted));
        }
        self.removal(&found.removal, found.band);
    }

    fn removal(&mut self, removal: &Removal, trust: f64) {
        let (trimmed, wanted) = (removal.trimmed_n, removal.wanted_n);
        let finishing = self.build.target.map_or(0.0, |target| target.finishing_n);
        self.say(message!(
            "Trimmed to the outline and nothing else taken off it draws {} ± {}; wanted are {}, {} of it kept for finishing.",
            newtons(trimmed),
            newtons(trust * trimmed),
            newtons(wanted),
            newtons(finishing)
        ));
        for (k, step) in removal.steps.iter().enumerate() {
            let most = step.takes.iter().map(|place| place.take_mm).fold(0.0, f64::max);
            let what = match step.lever {
                WoodLever::Belly { lamination } => {
                    message!("{} off the belly of `{}` where it is most", mm(most), self.build.laminations[lamination].name)
                }
                WoodLever::Sides => message!("{} off each edge where it is most", mm(most)),
            };
            self.say(message!(
                "Step {}: {}, from {} to {}; then even the tiller, weigh, and log it.",
                k + 1,
                what,
                newtons(step.from_n),
                newtons(step.to_n)
            ));
        }
        if !removal.steps.is_empty() {
            self.say("Work from the fades outward in the proportions of the table: taken so, both limbs keep their tiller. Keep the back whole.");
            self.say(limits(self.build));
        }
        if let Some(why) = kept_because(self.build) {
            self.say(message!(
                "Not from the belly: {}. The last of it comes off the corners: all four rounded to {} beyond the fades take {}.",
                why,
                mm(removal.corners.radius_mm),
                newtons(removal.corners.takes_n)
            ));
        }
        if let Some(share) = removal.sides_alone {
            self.say(message!(
                "Or leave the belly and narrow the limbs by {} percent of their width beyond the fades.",
                format_args!("{:.1}", 100.0 * share)
            ));
        }
        if let Some(belly) = removal.belly_n_per_mm {
            let (thin, wide) = match self.build.units {
                System::Inch => (System::Inch.to_mm(0.01), System::Inch.to_mm(1.0 / 16.0)),
                System::Millimetre => (0.2, 1.0),
            };
            self.say(message!(
                "{} off the belly is {}; {} off the whole width is {}.",
                mm(thin),
                newtons(thin * belly),
                mm(wide),
                newtons(wide * removal.sides_n_per_mm)
            ));
        }
        if wanted * (1.0 + NEAR) < removal.reached_n {
            if removal.steps.is_empty() {
                self.say(limits(self.build));
            }
            let over_n = removal.reached_n - wanted;
            let corners = removal.corners;
            self.say(if over_n <= corners.takes_n {
                message!("That is as far as it goes: {} more than wanted stay, and corners rounded to somewhat less than {} take them.", newtons(over_n), mm(corners.radius_mm))
            } else {
                message!("That is as far as it goes: {} more than wanted stay, and {} with all corners rounded to {}. Make it a heavier bow, or a \
                     longer one next time.", newtons(over_n), newtons(over_n - corners.takes_n), mm(corners.radius_mm))
            });
        }
        if trimmed < wanted * (1.0 - NEAR) {
            self.say(message!("It is {} too light: wood cannot be put back.", newtons(wanted - trimmed)));
            for gain in &removal.gains {
                self.say(match gain {
                    Gain::Wider { share, to_n } => {
                        message!("Left {} percent wider than the outline beyond the fades it draws {}.", format_args!("{:.1}", 100.0 * share), newtons(*to_n))
                    }
                    Gain::Shorter { by_mm, to_n } => message!("Made {} shorter from nock to nock it draws about {}, and works harder for it: check its strain with `rescale` first.", mm(*by_mm), newtons(*to_n)),
                });
            }
            let best = removal.gains.iter().map(|gain| match gain {
                Gain::Wider { to_n, .. } | Gain::Shorter { to_n, .. } => *to_n,
            });
            if best.fold(trimmed, f64::max) < wanted * (1.0 - NEAR) {
                self.say("None of these alone reaches the weight: finish it as a lighter bow, or laminate anew.");
            }
        } else if removal.steps.is_empty() {
            self.say("Nothing has to go but what finishing takes.");
        }
        self.say("Weigh on a tillering tree with a pulley, from aside, with eyes protected; never past the design's draw length; stop at any tick or crack.");
    }

    pub(super) fn tiller(&mut self, found: &TillerFound) {
        if !found.together.is_empty() {
            let plural = if found.together.len() == 1 { "the reading" } else { "the readings" };
            let draw = |draw: &Option<f64>| draw.map_or("at brace".into(), |draw| message!("drawn {}", mm(draw)));
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
                Effort::Cut => "What is to come off is the likeliest; one more reading tells it better.",
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
                    message!("What would tell most: the same stations drawn {} from the pivot point.", mm(draw))
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

    /// Wood comes off the edges alone.
    fn belly_kept(&self) -> bool {
        lever(self.build) == WoodLever::Sides
    }

    fn stretch(&mut self, stretch: &Stretch, working_mm: [f64; 2]) {
        let limb = limb(stretch.side);
        let whole = 0.85 * (working_mm[1] - working_mm[0]) <= stretch.to_mm - stretch.from_mm;
        let [low, high] = interval(stretch);
        let band = if high.is_finite() {
            message!("{} to {}", format_args!("{:.2}", low), format_args!("{:.2}", high))
        } else {
            message!("{} or more", format_args!("{:.2}", low))
        };
        let factor = message!("{} times the rest of the bow ({}, 3.5 σ)", format_args!("{:.2}", stretch.ln_factor.exp()), band);
        let units = self.build.units;
        let (from, to) = (told_place(units, stretch.from_mm), told_place(units, stretch.to_mm));
        self.say(match (whole, 0.0 < stretch.ln_factor) {
            (true, true) => message!("The {} limb is the stiffer one along its whole length: {}.", limb, factor),
            (true, false) => message!(
                "The {} limb is the weaker one along its whole length: {}. Leave it alone; the other is the stiffer one.",
                limb,
                factor
            ),
            (false, true) => message!("The {} limb is stiff from {} to {}: {}.", limb, from, to, factor),
            (false, false) => message!(
                "The {} limb bends too much about {}, from {} to {}: {}. Leave it alone there.",
                limb,
                told_place(units, 0.5 * (stretch.from_mm + stretch.to_mm)),
                from,
                to,
                factor
            ),
        });
    }

    fn effort(&mut self, found: &TillerFound) {
        let weight_n = found.weight_n.unwrap_or(found.wanted_n);
        let pounds = |fraction: f64| newtons(weight_n * (1.0 - (-fraction).exp()));
        if found.effort == Effort::Even {
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
        if found.effort == Effort::Stop {
            self.say("Stop here: no wood is left to take off for it. Live with this tiller, or make it a lighter bow.");
        }
        if matches!(found.effort, Effort::Cut | Effort::Wait) {
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
        if found.effort != Effort::Cut {
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

    pub(super) fn bows(&mut self, found: &BowsFound) {
        let Of::Bow(bow) = &self.answer.reading.of else { return };
        let before = newtons(bow.weight_n + found.finishing_n);
        self.say(if found.from_blank {
            message!("Wood came off after the last weighing, and how much is not said: the stiffness is that of the blank's weighings. Give {}, and the \
                 finished weight tells it as well.", if self.belly_kept() { "`width` as it is now" } else { "`belly_off` and `width` as they are now" })
        } else if bow.finishing_n.is_some() {
            message!("Before finishing it drew {}.", before)
        } else {
            message!("Counted as finished, with {} gone in sanding, finish and set: before, it drew {}. Give `finishing` if they took more or less, 0 for \
                 a bow that is not finished.", newtons(found.finishing_n), before)
        });
        let count = found.calibrated.bows;
        let bows = if count == 1 { "1 bow".into() } else { message!("{} bows", count) };
        self.say(message!("From {}: the next one of this wood and these hands may be off by {} percent of its weight either way (one standard deviation).", bows, format_args!("{:.0}", 100.0 * found.spread)));
        match (found.as_weighed, found.whole_n) {
            (true, _) if bow.finishing_n.is_some() => {
                self.say("For other builds, name this one under [[calibration]] with this weight and this `finishing`.");
            }
            (true, _) => self.say("For other builds, name this one under [[calibration]] with this weight."),
            (false, Some(whole_n)) => self.say(message!("The stack of the build file, whole and as planned, would draw {} of this wood: under [[calibration]] of other builds give \
                 that as its weight, with finishing = 0.", newtons(whole_n))),
            (false, None) => {}
        }
    }
}

/// What a stretch's stiffness may be over the rest's. It was spoken of because its give `x = 1 − 1/factor` lies [`SPOKEN`] σ off none; the
/// interval is of that same σ, so that it never holds the rest's own stiffness.
fn interval(stretch: &Stretch) -> [f64; 2] {
    let give = 1.0 - (-stretch.ln_factor).exp();
    let sigma = stretch.sigma * (1.0 - give);
    [-SPOKEN, SPOKEN].map(|by| match 1.0 - (give + by * sigma) {
        left if 0.0 < left => 1.0 / left,
        _ => f64::INFINITY,
    })
}

/// A place as finely as readings tell one: whole half inches, or 10 mm.
pub fn told_mm(units: System, place_mm: f64) -> f64 {
    let step_mm = match units {
        System::Inch => System::Inch.to_mm(0.5),
        System::Millimetre => 10.0,
    };
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
        let where_to = place(stretch.from_mm, stretch.to_mm);
        let (what, words) = if 0.0 < stretch.ln_factor {
            (PartMark::Stiff, message!("{} limb stiff, {}", limb(stretch.side), where_to))
        } else {
            (PartMark::Weak, message!("{} limb bends too much, {}: leave it alone", limb(stretch.side), where_to))
        };
        MarkedPart { side: stretch.side, from_mm: stretch.from_mm, to_mm: stretch.to_mm, what, words }
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
