//! A log's answers as they are published for programs: every number in mm and N, sentences in the builder's units.

use super::fleet;
use super::show::{sentences, take_text};
use crate::job::Job;
use crate::mechanics::tiller_fit::StretchBend;
use crate::model::Build;
use crate::report::log::{
    BendRow, BlankStiffness, CornersRow, DoneFound, EachLimb, EvennessFound, FoundRow, LaminationModulus, LeftToGrind, LogAnswer,
    LossFound, ModulusFound, NextHold, ObservedRow, OwnBowsFound, PassLeft, PrintFound, ReadingAnswer, ReleaseFound, RemovalStep,
    ResizedLamination, ResizedRow, SledFound, StretchRow, StripFound, StripModulus, TakeRow, TapePieces, TapeRow, ThicknessFound,
    WeightKnown, ZeroFound,
};
use crate::shop::blank::WoodLever;
use crate::shop::correct::Correction;
use crate::shop::logged::words::{about, limb, observed, strip_name};
use crate::shop::logged::{
    Answer, Answers, Bench, BendFound, BlankFound, Finding, Grinding, Measure, Next, SheetFound, ShopLog, Tape, TillerFound,
};
use crate::units::published::round_found;

fn r2(values: [f64; 2]) -> [f64; 2] {
    values.map(round_found)
}

/// Answers as they are published; `edits` is the edge's to fill.
pub fn published(opened: &Job, answers: &Answers) -> LogAnswer {
    let build = opened.build();
    let benches = answers.shop.by_serial.iter().flat_map(|(serial, bow)| {
        let shown = move |bench: &&Bench| serial.is_empty() || (bench.begun() && !bow.finished);
        bow.benches.iter().filter(shown).map(move |bench| (serial, bench))
    });
    LogAnswer {
        title: build.title.clone(),
        answers: answers.answers.iter().map(|answer| reading(opened, &answers.shop, answer)).collect(),
        left: benches.map(|(serial, bench)| left(build, serial, bench)).collect(),
        bows: fleet::published(&answers.shop),
        edits: None,
    }
}

/// Of these answers those of one bow.
pub fn of_bow(mut answer: LogAnswer, serial: &str) -> LogAnswer {
    answer.answers.retain(|answer| answer.serial.as_deref() == Some(serial));
    answer.left.retain(|left| left.serial.as_deref() == Some(serial));
    answer
}

fn left(build: &Build, serial: &str, bench: &Bench) -> LeftToGrind {
    let passes =
        bench.left().map(|(_, pass)| PassLeft { number: pass.number, grit: pass.grit, gap_mm: round_found(pass.gap_mm) });
    LeftToGrind {
        lamination: build.laminations[bench.lamination].name.clone(),
        serial: (!serial.is_empty()).then(|| serial.to_owned()),
        made: bench.made,
        passes: passes.collect(),
    }
}

fn reading(opened: &Job, shop: &ShopLog, answer: &Answer) -> ReadingAnswer {
    let build = opened.build();
    ReadingAnswer {
        date: answer.reading.date.clone(),
        of: answer.reading.of.kind().to_owned(),
        serial: answer.reading.serial.clone(),
        about: about(build, &answer.reading).spoken(build.units),
        rows: rows(build, answer),
        says: sentences(build, answer),
        take_over: answer.take_over.iter().map(|taken| take_text(opened, taken)).collect(),
        questions: answer.questions.iter().map(|question| question.message.spoken(build.units)).collect(),
        found: found(build, shop, &answer.finding),
    }
}

fn rows(build: &Build, answer: &Answer) -> Vec<ObservedRow> {
    let unit = |measure: Measure| match measure {
        Measure::Thickness | Measure::Length => "mm",
        Measure::Force => "N",
        Measure::Ratio => "ratio",
        Measure::Modulus => "MPa",
        Measure::Speed => "mm/s",
    };
    let rows = answer.observations.iter().map(|seen| ObservedRow {
        what: observed(build, &answer.reading.of, seen.of).spoken(build.units),
        unit: unit(seen.of.measure()).to_owned(),
        reading: round_found(seen.reading),
        model: round_found(seen.model),
        difference: round_found(seen.difference()),
        band: seen.band.map(round_found),
    });
    rows.collect()
}

fn found(build: &Build, shop: &ShopLog, finding: &Finding) -> Option<FoundRow> {
    Some(match finding {
        Finding::Nothing | Finding::Silent(_) => return None,
        Finding::Tape(Tape { correction, .. }) => FoundRow::Sled(sled(shop, correction)),
        Finding::Done(done) => FoundRow::Done(DoneFound { made: done.made, left: done.left }),
        Finding::Zero(scrap) => FoundRow::Zero(ZeroFound {
            offset_mm: round_found(scrap.offset_mm),
            half_width_mm: round_found(scrap.half_width_mm),
            lean_mm: scrap.tilt.map(|tilt| round_found(tilt.over_width_mm)),
        }),
        Finding::Strip(grinding) => FoundRow::Strip(strip(build, grinding)),
        Finding::Sheet(SheetFound { thickness_mm, .. }) | Finding::Shim { thickness_mm } => {
            FoundRow::Thickness(ThicknessFound { thickness_mm: round_found(*thickness_mm) })
        }
        Finding::Print { across_mm, up_mm, .. } => {
            FoundRow::Print(PrintFound { across_mm: round_found(*across_mm), up_mm: round_found(*up_mm) })
        }
        Finding::Bend(found) => FoundRow::Bend(modulus(build, found)),
        Finding::Release(found) => {
            FoundRow::Release(ReleaseFound { retained: round_found(found.retained), next: found.next.held().map(next) })
        }
        Finding::Blank(found) => FoundRow::Blank(blank(found)),
        Finding::Tiller(found) => FoundRow::Tiller(evenness(found)),
        Finding::Shot(found) => FoundRow::Shot(LossFound {
            lossless_mm_s: round_found(found.lossless_mm_s),
            grains_per_pound: round_found(found.grains_per_pound),
            loss: round_found(found.loss.fraction),
            loss_band: r2(found.loss.band.pair()),
        }),
        Finding::Bows(found) => FoundRow::Bow(OwnBowsFound {
            stiffness_factor: round_found(found.calibrated.factor),
            spread: found.calibrated.spread.map(round_found),
            bows: found.calibrated.bows,
        }),
    })
}

fn sled(shop: &ShopLog, correction: &Correction) -> SledFound {
    let pieces = |of: &[(usize, u32)]| {
        of.iter().map(|(stock, count)| TapePieces { of: shop.shims[*stock].of.clone(), count: *count }).collect()
    };
    let tape = correction.tape.iter().map(|(u, made)| TapeRow {
        u_mm: round_found(*u),
        wanted_mm: round_found(made.wanted_mm),
        made_mm: round_found(made.made_mm),
        pieces: pieces(&made.pieces),
    });
    SledFound {
        gap_shift_mm: round_found(correction.gap_shift_mm),
        bare_gap_shift_mm: round_found(correction.bare_gap_shift_mm),
        spread_before_mm: round_found(correction.spread_before_mm),
        spread_after_mm: round_found(correction.spread_after_mm),
        tape: tape.collect(),
    }
}

fn strip(build: &Build, grinding: &Grinding) -> StripFound {
    let resized = grinding.thin.iter().filter_map(|thin| thin.held.as_ref()?.bow.as_ref()).next().map(|resized| ResizedRow {
        as_it_is_n: round_found(resized.as_it_is_n),
        weight_n: round_found(resized.weight_n),
        wanted_n: round_found(resized.wanted_n),
        changes: resized
            .rest
            .changes()
            .iter()
            .map(|change| ResizedLamination {
                lamination: build.laminations[change.lamination].name.clone(),
                butt_mm: r2(change.butt_mm.pair()),
                tip_mm: r2(change.tip_mm.pair()),
            })
            .collect(),
    });
    StripFound {
        strip: grinding.strip.clone(),
        after: grinding.after,
        offset_mm: grinding.offset_mm.map(round_found),
        zero_mm: grinding.zero_mm.map(round_found),
        half_width_mm: grinding.half_width_mm.map(round_found),
        worst_mm: round_found(grinding.worst_mm),
        done: grinding.done,
        passes_left: grinding.left,
        resized,
    }
}

fn modulus(build: &Build, found: &BendFound) -> ModulusFound {
    let laminations = found.laminations.iter().map(|known| LaminationModulus {
        lamination: build.laminations[known.lamination].name.clone(),
        modulus_mpa: round_found(known.modulus_mpa),
        spread: round_found(known.deviation),
        strips: found.strips_of(known.lamination).map(|strip| strip_name(build, strip).spoken(build.units)).collect(),
    });
    ModulusFound {
        strip: StripModulus {
            modulus_mpa: round_found(found.strip.modulus_mpa),
            half_width_mpa: round_found(found.strip.half_width * found.strip.modulus_mpa),
        },
        laminations: laminations.collect(),
        spare: found.spare.iter().map(|k| strip_name(build, &found.strips[*k]).spoken(build.units)).collect(),
        weight_n: found
            .weight
            .as_ref()
            .map(|known| WeightKnown { weight_n: round_found(known.weight_n), spread_n: round_found(known.spread_n) }),
    }
}

fn next(next: &Next) -> NextHold {
    let limbs = |[upper, lower]: [f64; 2]| EachLimb { upper: round_found(upper), lower: round_found(lower) };
    NextHold {
        stage: next.stage,
        wanted_mm: round_found(next.wanted_mm),
        band_mm: round_found(next.band_mm),
        form_by: next.form_by.map(round_found),
        props_mm: next.props_mm.map(limbs),
        left_mm: next.left_mm.map(limbs),
    }
}

fn blank(found: &BlankFound) -> BlankStiffness {
    let removal = &found.removal;
    let steps = removal.steps.iter().map(|step| RemovalStep {
        lever: lever(step.lever),
        from_n: round_found(step.from_n),
        to_n: round_found(step.to_n),
        belly_off_mm: step.belly_off_mm.map(round_found),
        take_mm: step.takes.iter().map(|place| [round_found(place.s_mm), round_found(place.take_mm)]).collect(),
    });
    BlankStiffness {
        stiffness_factor: round_found(found.factor),
        band: round_found(found.band),
        trimmed_n: round_found(removal.trimmed_n),
        wanted_n: round_found(removal.wanted_n),
        reached_n: round_found(removal.reached_n),
        sides_alone: removal.sides_alone.map(round_found),
        corners: CornersRow { radius_mm: round_found(removal.corners.radius_mm), takes_n: round_found(removal.corners.takes_n) },
        steps: steps.collect(),
    }
}

fn evenness(found: &TillerFound) -> EvennessFound {
    let stretches = found.stretches.iter().map(|stretch| StretchRow {
        limb: limb(stretch.side).to_owned(),
        from_mm: round_found(stretch.from_mm),
        to_mm: round_found(stretch.to_mm),
        within_mm: r2(stretch.within_mm.pair()),
        factor: round_found(stretch.ln_factor.exp()),
        sigma_ln: round_found(stretch.sigma),
        factor_within: stretch.ln_within.pair().map(|ln| Some(ln.exp()).filter(|factor| factor.is_finite()).map(round_found)),
    });
    let work = &found.work;
    let take = work.cuts.iter().map(|cut| TakeRow {
        limb: limb(cut.cell.side).to_owned(),
        lever: lever(work.lever[cut.cell.side]),
        from_mm: round_found(cut.cell.from_mm),
        to_mm: round_found(cut.cell.to_mm),
        take_mm: round_found(cut.take_mm),
    });
    let bends = found.pictured.as_ref().map(|pictured| {
        let bend = |bend: &StretchBend| BendRow {
            limb: limb(bend.stretch.side).to_owned(),
            from_mm: round_found(bend.stretch.from_mm),
            to_mm: round_found(bend.stretch.to_mm),
            curvature_per_m: round_found(1e3 * bend.is_per_mm),
            designed_per_m: round_found(1e3 * bend.designed_per_mm),
            sigma_per_m: round_found(1e3 * bend.sigma_per_mm),
        };
        pictured.bends.iter().map(bend).collect()
    });
    EvennessFound {
        stretches: stretches.collect(),
        costs: round_found(work.costs),
        all_costs: round_found(work.all_costs),
        take: take.collect(),
        bends,
    }
}

fn lever(lever: WoodLever) -> String {
    if lever == WoodLever::Sides { "sides".to_owned() } else { "belly".to_owned() }
}
