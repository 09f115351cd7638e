//! What is said of sleds, scrap and strips.

use super::super::bench::{AsItCame, Beside, DONE_MM, HeldLamination, Matched, Remedy, Rest, Scrap, Tape, Thin, Ticked};
use super::super::{Grinding, signed};
use super::Sentences;
use crate::diag::{mm, newtons};
use crate::mechanics::sizing::LaminationChange;
use crate::shop::drift::{TableSide, Tilt};

impl Sentences<'_> {
    pub(super) fn tape(&mut self, found: &Tape) {
        let correction = &found.correction;
        self.notes(&found.warnings);
        match found.remedy {
            Remedy::Nothing => self.say(message!("It is even within {}: no tape is needed.", mm(found.even_mm))),
            Remedy::NoStock | Remedy::Tape => self.say(message!(
                "From place to place the sled is off by {}; a strip would come out as uneven.",
                mm(correction.spread_before_mm)
            )),
        }
        match found.remedy {
            Remedy::Nothing => {}
            Remedy::NoStock => {
                self.say("The build file lists no shim stock to bring it up with: list tape and card under [shop] shims.");
            }
            Remedy::Tape => {
                let lamination = self.answer.reading.of.lamination().map(|index| &self.build.laminations[index]);
                for (u, made) in correction.tape.iter().filter(|(_, made)| 0 < made.piece_count()) {
                    let station = lamination.map_or(*u, |lamination| lamination.station_at(*u));
                    self.say(message!(
                        "At {}, station {}: {} ({} for {}).",
                        mm(*u),
                        mm(station),
                        made.in_words(&self.build.shop.shims, self.build.units),
                        mm(made.made_mm),
                        mm(made.wanted_mm)
                    ));
                }
                self.say(message!(
                    "Each piece reaches half way to its neighbours. Then {} are left; measure again and log it.",
                    mm(correction.spread_after_mm)
                ));
            }
        }
        if let Some(shift) = found.shift_mm {
            let wider = if 0.0 < shift { "wider" } else { "narrower" };
            self.say(message!("Every gap is {} {} than planned; the passes below have it.", mm(shift.abs()), wider));
        }
        for other in &found.also {
            let other = self.build.laminations[*other].name.clone();
            self.say(message!("The strips of `{}` lie on the same sled: their gaps go by these heights, too.", other));
        }
    }

    pub(super) fn done(&mut self, found: &Ticked) {
        if let Some(waits) = found.waits {
            self.say(message!("Pass {} is still to be made with the other strip of the pair, at the same gap.", waits));
        }
        self.say(match found.left {
            0 => "No pass is left: read the strip at three places, and log it.".into(),
            1 => "One pass is left.".into(),
            left => message!("{} passes are left.", left),
        });
    }

    pub(super) fn scrap(&mut self, found: &Scrap) {
        self.cutter(found.offset_mm, found.half_width_mm);
        if let Some([shallow, half]) = found.shallow_mm {
            self.say(message!(
                "Along the sled the taper comes out {} by {} ± {} over the strip: measure the sled's heights and log them.",
                if shallow < 0.0 { "too steep" } else { "too shallow" },
                mm(shallow.abs()),
                mm(half)
            ));
        }
        self.leans(found.tilt);
        let lamination = self.answer.reading.of.lamination().map(|index| &self.build.laminations[index].name);
        self.notes(found.restated.iter().flat_map(|restated| &restated.notes));
        match (lamination, found.restated.as_ref().and_then(|restated| restated.left)) {
            (None, _) => self.say("Name the lamination in hand, and its passes are restated from this; each paper and each lamination wants its own scrap."),
            (Some(name), Some(left)) => self.say(message!("{} passes are left for `{}`, restated below.", left, name)),
            (Some(_), None) => {}
        }
    }

    pub(super) fn strip(&mut self, found: &Grinding) {
        if found.of_upper_alone {
            self.say("Held against the upper limb's lamination; the lower limb's is another one: log its strips beside its own file, in a log of their own.");
        }
        if let Some(came) = &found.came {
            self.as_it_came(came);
        }
        if let Some(off) = found.alone_mm {
            self.say(message!(
                "One place alone moves no zero, and it is {} off: read two more where the last pass reached, or log scrap.",
                signed(off)
            ));
        }
        if let Some(uneven) = found.uneven_mm {
            self.say(message!("From place to place it departs from its taper by {}: does it lie flat, the right way round, against its stop, and on its own sled? Measure the sled again.", mm(uneven)));
        }
        self.notes(found.restated.iter().flat_map(|restated| &restated.notes));
        self.leans(found.tilt);
        if let (Some(zero), Some(half)) = (found.zero_mm, found.half_width_mm) {
            self.cutter(zero, half);
        }
        match (&found.thin, found.left) {
            (Some(thin), _) => self.thin(thin),
            (None, _) if found.done => self.say(message!("Done: within {} of its taper everywhere it was read.", mm(DONE_MM))),
            (None, 0) => self.say(message!("No pass is left, and it is {} off its taper at worst.", signed(found.worst_mm))),
            (None, 1) => self.say("1 pass is left, restated below."),
            (None, left) => self.say(message!("{} passes are left, restated below.", left)),
        }
        if let Some(matched) = &found.matched {
            self.matched(&found.strip, found.after, matched);
        }
    }

    fn cutter(&mut self, zero_mm: f64, half_mm: f64) {
        self.say(message!("The cutter stands {} ± {} from where the gauge says.", signed(zero_mm), mm(half_mm)));
    }

    fn leans(&mut self, tilt: Option<Tilt>) {
        let (Some(tilt), Some(sander)) = (tilt, &self.build.sander) else { return };
        self.say(match tilt.raise {
            Some(side) => message!("The table leans: raise its {} side by {} over its width of {}, with the machine unplugged, and read a scrap again.", if side == TableSide::Left { "left" } else { "right" }, mm(tilt.raise_by_mm), mm(sander.widest_mm)),
            None => "Left and right agree as far as a caliper tells.".into(),
        });
    }

    fn as_it_came(&mut self, came: &AsItCame) {
        let Some(index) = self.answer.reading.of.lamination() else { return };
        let stock = &self.build.laminations[index].stock;
        if came.min_mm + 1e-9 < came.wants_mm {
            self.say(message!("It came {} thick, and the finished lamination wants {}.", mm(came.min_mm), mm(came.wants_mm)));
        }
        self.notes(&came.notes);
        if came.planned {
            self.say(message!(
                "The passes begin from stock of {} to {}, the build file says {} to {}.",
                mm(came.min_mm),
                mm(came.max_mm),
                mm(stock.thickness_mm - stock.spread_mm),
                mm(stock.thickness_mm + stock.spread_mm)
            ));
        }
    }

    fn thin(&mut self, thin: &Thin) {
        self.notes(&thin.already);
        self.say(message!("At its thinnest reading it is {} under its taper, and stays so.", mm(thin.by_mm)));
        let Some(HeldLamination { bow, .. }) = &thin.held else { return };
        self.say("In the build file `ground` stands instead of `thickness` and `taper`, of `stock` only the width stays, and `sizing` no longer changes it.");
        let Some(bow) = bow else { return };
        match &bow.rest {
            Rest::Stays => {}
            Rest::NoneLeft => self.say(message!("No other lamination is left to change: the bow will draw {} instead of {}. Keep the strip for a lighter bow, or grind a new one.", newtons(bow.as_it_is_n), newtons(bow.wanted_n))),
            Rest::Sized(changes) => self.sized(changes, bow.wanted_n),
            Rest::Refused(faults) => self.notes(faults),
        }
    }

    pub(super) fn sized(&mut self, changes: &[LaminationChange], wanted_n: f64) {
        for change in changes {
            self.say(message!(
                "To reach {} with it: `{}` at its butt {} instead of {}, at its tip {} instead of {}.",
                newtons(wanted_n),
                self.build.laminations[change.lamination].name,
                mm(change.butt_mm.after),
                mm(change.butt_mm.before),
                mm(change.tip_mm.after),
                mm(change.tip_mm.before)
            ));
        }
    }

    fn matched(&mut self, strip: &str, after: u32, matched: &Matched) {
        let apart = |beside: &Beside| DONE_MM < beside.by_mm.abs();
        let than = |thicker: bool| if thicker { "thicker" } else { "thinner" };
        let Beside { strip: near, u_mm, by_mm } = &matched.nearest;
        let within = mm(DONE_MM);
        let Some(far) = &matched.farthest else {
            self.say(if apart(&matched.nearest) {
                let (by, at) = (mm(by_mm.abs()), mm(*u_mm));
                message!("After pass {} strip {} is {} {} than strip {} at {}.", after, strip, by, than(0.0 < *by_mm), near, at)
            } else {
                message!("Strips {} and {} match within {}.", strip, near, within)
            });
            return;
        };
        // The others are told by how they differ from this one.
        let told = |beside: &Beside| message!("{} {} at {}", mm(beside.by_mm.abs()), than(beside.by_mm < 0.0), mm(beside.u_mm));
        self.say(message!(
            "Of {} strips read after pass {} strip {} is nearest to it: {}.",
            matched.strips,
            after,
            near,
            if apart(&matched.nearest) { told(&matched.nearest) } else { message!("they match within {}", within) }
        ));
        if apart(far) {
            self.say(message!("Strip {} is farthest: {}.", far.strip, told(far)));
        }
    }
}
