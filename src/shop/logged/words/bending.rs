//! What is said of bending tests, released stages, blanks and finished bows.

use super::super::bench::Rest;
use super::super::bending::{
    Agreement, BendFound, BendWeight, BlankFound, BowsFound, CameOff, ChosenStrips, Next, NextStage, NockPair, TestedStrip, takes,
};
use super::{Sentences, limb};
use crate::diag::{Message, mm, mpa, newtons};
use crate::mechanics::strip_test::ErrorSource;
use crate::mechanics::tillering::{LOWER, UPPER};
use crate::model::Build;
use crate::model::log::{BlankWidth, Of};
use crate::model::workshop::Held;
use crate::shop::blank::{Gain, NEAR, Removal, WoodLever, kept_because, lever, limits};
use crate::shop::cautions::{DRY_FIRE, ON_THE_TREE};

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
        if found.unsaid && !self.belly_kept() {
            self.say(message!(
                "Counted with {} off the belly, though wood was to come off after the weighing before: `belly_off` says how much is off by now.",
                mm(found.belly_off_mm)
            ));
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
            let what = match step.lever {
                WoodLever::Belly { lamination } => {
                    message!(
                        "{} off the belly of `{}` where it is most",
                        mm(step.most_mm),
                        self.build.laminations[lamination].name
                    )
                }
                WoodLever::Sides => message!("{} off each edge where it is most", mm(step.most_mm)),
            };
            let log = step.belly_off_mm.map_or_else(
                || "log it with the `width` that is left".into(),
                |off_mm| message!("log it with `belly_off` = {}", mm(off_mm)),
            );
            self.say(message!(
                "Step {}: {}, from {} to {}; then even the tiller, weigh, and {}.",
                k + 1,
                what,
                newtons(step.from_n),
                newtons(step.to_n),
                log
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
            let (thin, wide) = (self.build.units.either_mm(0.01, 0.2), self.build.units.either_mm(1.0 / 16.0, 1.0));
            self.say(message!(
                "{} off the belly where it is most is {}; narrowed in proportion by {} at the widest place is {}.",
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
                    Gain::Wider { fraction: wider, to_n } => {
                        message!("Left {} percent wider than the outline beyond the fades it draws {}.", format_args!("{:.1}", 100.0 * wider), newtons(*to_n))
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
        self.say(format!("{ON_THE_TREE} {DRY_FIRE}"));
    }

    /// Wood comes off the edges alone.
    fn belly_kept(&self) -> bool {
        lever(self.build) == WoodLever::Sides
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
        let mean = if count == 1 {
            Message::default()
        } else {
            message!(" all stiffness is {} times the handbook's in the mean, and", format_args!("{:.3}", found.calibrated.factor))
        };
        self.say(message!("From {}:{} the next one of this wood and these hands may be off by {} percent of its weight either way (one standard deviation).", bows, mean, format_args!("{:.0}", 100.0 * found.spread)));
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
