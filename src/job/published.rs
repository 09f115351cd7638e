//! The published numbers, filled from the stages, rounded so that equal builds give equal bytes.

use super::cut::{CutLoad, CutStages, Cutting};
use super::{Job, Refused, block_parts};
use crate::diag::{Outcome, Reported, Words};
use crate::mechanics::draw::DrawCurve;
use crate::mechanics::glueup::{GlueUp, Stage};
use crate::mechanics::grip::{HandCut, WeakPlace};
use crate::mechanics::mass;
use crate::mechanics::splice::{self, ScarfOf, SpliceLoad};
use crate::mechanics::strain::{DrawState, Worst};
use crate::model::Build;
use crate::model::join::Meet;
use crate::model::lamination::{Face, Lamination, Pieces};
use crate::model::marked_station::StationKind;
use crate::model::outline::Outline;
use crate::model::riser::Riser;
use crate::model::splice::{MisplacedScarf, PiecePlace, SplicePieces};
use crate::model::workshop::Held;
use crate::report::{
    AcrossRow, AssumedRow, BowRow, CauseRow, CutMarkRow, DrawRow, ErrorRow, FloorRow, GlueStageRow, GripRow, HeavyRow, HeightRow,
    HingeRow, LaminationRow, LiesOverRow, LimbRow, LoadPart, LoadRow, MadeBy, MeetRow, MovesRow, OuterWoodRow, OverlayRow,
    PassRow, ProofRow, Report, RiserRow, SetupRow, ShelfRow, SledRow, SplicePieceRow, SpliceRow, StackRow, StrainRow, TillerRow,
    TwoWoodsRow, WarningRow, WeakRow,
};
use crate::sheets::bow::part_name;
use crate::shop::budget::{thickness_error_n, together_mm};
use crate::shop::cutting::SheetCut;
use crate::shop::grip::CutMark;
use crate::shop::kit::{BedLoad, Kit};
use crate::shop::passes::{Carrier, Setup};
use crate::shop::riser_block::RiserBlock;
use crate::units::limit;
use crate::units::published::{round, round_fine};

pub(super) fn report(job: &Job) -> Outcome<Report> {
    let warnings = job.warnings()?;
    let (build, stamp) = (job.build(), job.stamp());
    let works: Vec<&CutStages> = works(job)?;
    let block = job.riser_block();
    let bow = if job.is_bow() { Some(bow_row(job)?) } else { None };
    let pair = job.pair_curve()?;
    let targets_mm = pair.map(|_| job.tiller_targets().map(|targets| targets.positive_tiller_mm)).transpose()?;
    let report = Report {
        made_by: MadeBy {
            program: "taperwright".into(),
            version: env!("CARGO_PKG_VERSION").into(),
            build_file: stamp.build_file.clone(),
            input_hash: stamp.hash.clone(),
            options: stamp.options.clone(),
        },
        title: build.title.clone(),
        limb: build.limb.as_ref().map(|limb| LimbRow {
            is: limb.is.word().into(),
            other_build_file: limb.other_file.clone(),
            other_title: limb.other_title.clone(),
            tiller_mm: targets_mm.map(round),
            pull_angle_rad: pair.map(|curve| round(curve.points[curve.points.len() - 1].pull_angle_rad)),
        }),
        units: build.units.length_unit().into(),
        assumed: build
            .assumed
            .iter()
            .map(|a| AssumedRow { key: a.key.clone(), value: a.value.clone(), why: a.why.clone() })
            .collect(),
        warnings: warnings
            .iter()
            .map(|warning| {
                let Words { message, hints } = warning.words(build.units);
                WarningRow { place: warning.place.as_str().into(), message, hints }
            })
            .collect(),
        stack: stack(build, if job.is_bow() { Some(job.force_curve()?) } else { None }),
        laminations: (0..build.laminations.len()).map(|index| job.lamination_report(index)).collect::<Result<_, _>>()?,
        stack_error_mm: (!works.is_empty()).then(|| round(together_mm(works.iter().map(|cut| &cut.ground.budget)))),
        loads: loads(job)?,
        splices: splices(job)?,
        meets: meets(job)?,
        overlays: (0..build.overlays.len()).map(|index| overlay_row(build, index)).collect::<Result<_, _>>()?,
        riser: build.riser.as_ref().zip(block).map(|(riser, block)| riser_row(job, riser, block)).transpose()?,
        bow,
        shot: if job.is_bow() { Some(job.shot_report(None)?) } else { None },
    };
    Ok(Reported::clean(report))
}

fn splices(job: &Job) -> Result<Vec<SpliceRow>, Refused> {
    let (build, loads) = (job.build(), job.splice_loads()?);
    let misplaced = build.misplaced_scarfs();
    let over = |found: &MisplacedScarf| LiesOverRow {
        what: found.over.words(build),
        from_mm: round(found.from_mm),
        to_mm: round(found.to_mm),
    };
    let row = |(index, lamination): (usize, &Lamination)| {
        let (splice, load) =
            (lamination.splice.as_ref()?, loads.iter().find(|load| load.lamination == index && load.of == ScarfOf::Splice));
        let two = lamination.outer();
        let piece = |piece: SplicePieces| SplicePieceRow {
            count: piece.count,
            place: piece.place.word().into(),
            length_mm: round(piece.length_mm),
            wood: two.filter(|_| piece.place == PiecePlace::Outer).map_or(&lamination.wood, |outer| &outer.wood).name.clone(),
        };
        Some(SpliceRow {
            lamination: lamination.name.clone(),
            at_mm: round(splice.at_mm),
            slope: round(splice.slope),
            stock_scarf_mm: round(splice.length_mm(lamination.stock.thickness_mm)),
            finished_scarf_mm: round(splice.length_mm(lamination.thickness_at(splice.at_mm))),
            pieces: lamination.splice_pieces().into_iter().map(piece).collect(),
            keeps: round(splice::efficiency(splice.slope)),
            stretch: load.map(|load| round_fine(load.stretch)),
            two_woods: two.map(|outer| TwoWoodsRow {
                on_back: if outer.on_back { "outer" } else { "inner" }.into(),
                inner_mpa: load.map(|load| round(load.beside_mpa[0])),
                outer_mpa: load.map(|load| round(load.beside_mpa[1])),
            }),
            glue_shear_mpa: load.map(|load| round(load.glue_mpa[1])),
            glue_tension_mpa: load.map(|load| round(load.glue_mpa[0])),
            share_of_breaking: load.and_then(|load| load.share_of_breaking).map(round),
            verdict: load.and_then(SpliceLoad::verdict).map(|verdict| verdict.word().into()),
            lies_over: misplaced.iter().filter(|found| found.lamination == index).map(over).collect(),
        })
    };
    Ok(build.laminations.iter().enumerate().filter_map(row).collect())
}

fn meets(job: &Job) -> Result<Vec<MeetRow>, Refused> {
    let (build, loads) = (job.build(), job.splice_loads()?);
    let row = |(index, lamination): (usize, &Lamination)| {
        let length_mm = match lamination.meet {
            Meet::Butted => return None,
            Meet::Scarfed { length_mm } | Meet::Lapped { length_mm } => length_mm,
        };
        let load = loads.iter().find(|load| load.lamination == index && load.of == ScarfOf::Halves);
        let rebate = build.rebates().find(|rebate| rebate.lamination == index);
        Some(MeetRow {
            lamination: lamination.name.clone(),
            how: lamination.meet.word().into(),
            length_mm: round(length_mm),
            past_centre_mm: round(lamination.reach_mm()),
            thickness_mm: round(lamination.finished.at(0.0)),
            slope: lamination.meet_slope().map(round),
            keeps: lamination.meet_slope().map(splice::efficiency).map(round),
            stretch: load.map(|load| round_fine(load.stretch)),
            glue_shear_mpa: load.map(|load| round(load.glue_mpa[1])),
            share_of_breaking: load.and_then(|load| load.share_of_breaking).map(round),
            verdict: load.and_then(SpliceLoad::verdict).map(|verdict| verdict.word().into()),
            rebate_face: rebate.map(|rebate| rebate.face.word().into()),
            rebate_mm: rebate.map(|rebate| round(rebate.depth_mm)),
        })
    };
    Ok(build.laminations.iter().enumerate().filter_map(row).collect())
}

fn overlay_row(build: &Build, index: usize) -> Result<OverlayRow, Refused> {
    let overlay = &build.overlays[index];
    let (kg, tip_mm2) = (mass::overlay_kg(build, index)?, mass::overlay_area_mm2(build, index)?);
    // On both tips.
    let area_mm2 = 2.0 * tip_mm2;
    Ok(OverlayRow {
        face: overlay.face.word().into(),
        wood: overlay.wood.name.clone(),
        thickness_mm: round(overlay.thickness_mm),
        length_mm: round(overlay.length_mm),
        fade_mm: round(overlay.fade_mm),
        widest_mm: round(build.outline.as_ref().map_or(0.0, |outline| overlay.widest_mm(outline))),
        mass_g: round(1e3 * kg),
        glue_area_mm2: round(area_mm2),
        glue_kg: round(1e-6 * area_mm2 * build.glue.spread_kg_m2),
    })
}

fn riser_row(job: &Job, riser: &Riser, block: &RiserBlock) -> Result<RiserRow, Refused> {
    let marks = |marks: &[CutMark]| {
        let row = |mark: &CutMark| CutMarkRow { station_mm: round(mark.station_mm), left_mm: round(mark.left_mm) };
        marks.iter().map(row).collect()
    };
    let weak = job.riser_at_its_cuts()?;
    let weakest = |cut| weak.iter().find(|place| place.cut == cut).map(weak_row);
    let cuts = block.cuts.as_ref();
    let mass = block_parts::mass(job.build())?;
    Ok(RiserRow {
        length_mm: round(riser.length_mm),
        level_mm: round(riser.level_mm),
        depth_mm: round(riser.depth_mm),
        feather_mm: round(riser.feather_mm),
        block_width_mm: round(block.width_mm),
        layered: block_parts::layered(job.build(), riser, mass),
        footing: block_parts::footing(job.build(), riser, block, mass),
        overlay: block_parts::overlay(job, riser, block, mass)?,
        feather_check: block_parts::check_rows(&block.check),
        grip: riser.grip.as_ref().zip(cuts).map(|(grip, cuts)| GripRow {
            throat_mm: round(grip.throat_mm),
            up_mm: round(grip.up_mm),
            down_mm: round(grip.down_mm),
            palm_mm: grip.palm.map(|palm| round(palm.depth_mm)),
            heel_mm: grip.palm.map(|palm| round(palm.heel_mm)),
            depths: marks(&cuts.depths),
            weakest: weakest(HandCut::Grip),
        }),
        shelf: riser.pass.as_ref().zip(cuts).map(|(pass, cuts)| ShelfRow {
            hand: pass.hand.word().into(),
            height_mm: round(pass.height_mm),
            past_centre_mm: round(pass.past_centre_mm),
            window_mm: round(pass.window_mm),
            sweep_mm: round(pass.sweep_mm),
            corner_mm: round(pass.corner_mm),
            widths: marks(&cuts.widths),
            weakest: weakest(HandCut::ArrowPass),
        }),
    })
}

fn weak_row(place: &WeakPlace) -> WeakRow {
    WeakRow {
        station_mm: round(place.s_mm),
        depth_mm: round(place.depth_mm),
        width_mm: round(place.width_mm),
        wood: place.wood.clone(),
        stress_mpa: round(place.stress_mpa),
        share_of_breaking: place.share_of_breaking.map(round),
        verdict: place.verdict().map(|verdict| verdict.word().into()),
    }
}

/// What is cut from sheet, load by load.
fn loads(job: &Job) -> Result<Vec<LoadRow>, Refused> {
    let Cutting { cuts, loads, .. } = job.cutting()?;
    let each = cuts.iter().flat_map(|cut| cut.loads.iter().map(move |load| (cut, load)));
    let row = |((cut, load), drawn): ((&SheetCut, &BedLoad), &CutLoad)| LoadRow {
        file: drawn.drawing.name.clone(),
        sheet: cut.sheet.material.clone(),
        thickness_mm: round(load.thickness_mm),
        filled: round(cut.filled(load)),
        parts: cut.here(load).map(|(_, part, count)| LoadPart { name: part.name.clone(), count }).collect(),
    };
    Ok(each.zip(loads).map(row).collect())
}

/// What is ground, in the order of the laminations.
fn works(job: &Job) -> Result<Vec<&CutStages>, Refused> {
    let all: Result<Vec<_>, Refused> = (0..job.build().laminations.len()).map(|index| job.cut(index)).collect();
    Ok(all?.into_iter().flatten().collect())
}

/// The bow in numbers.
pub(super) fn bow_row(job: &Job) -> Result<BowRow, Refused> {
    let build = job.build();
    let (curve, moves, targets) = (job.force_curve()?, job.sensitivity()?, job.tiller_targets()?);
    let (brace, full) = (curve.at_brace(), curve.at_full_draw());
    let glued = job.glue_up()?;
    let calibrated = job.calibrated();
    Ok(BowRow {
        draw_weight_n: round(full.force_n),
        draw_length_mm: round(full.draw_length_mm),
        pivot_to_nock_mm: round(full.pivot_to_nock_mm),
        brace_height_mm: round(brace.pivot_to_nock_mm),
        grip_depth_mm: round(curve.grip_depth_mm),
        string_mm: round(curve.string_mm),
        stored_energy_j: round(curve.energy.work_n_mm / 1000.0),
        strain_energy_j: round(curve.energy.strain_n_mm / 1000.0),
        slope_n_mm: round(curve.stack.slope_n_mm),
        slope_over_middle: round(curve.stack.over_middle),
        twist_margin: job.twist_margin()?.map(|margin| margin.map(round)),
        bends_most_at_mm: round(curve.stations[curve.bends_most].s_mm),
        draws: curve
            .points
            .iter()
            .map(|point| DrawRow {
                draw_length_mm: round(point.draw_length_mm),
                force_n: round(point.force_n),
                tension_n: round(point.tension_n),
                stored_j: round(point.stored_n_mm / 1000.0),
                string_angle_rad: round(point.string_angle_rad),
                nock_angle_rad: round(point.nock_angle_rad),
                string_on_limb_mm: round(point.touched_mm),
            })
            .collect(),
        strains: strain_rows(build, &curve.worst),
        weight_spread_n: round(job.weight_spread_n()?),
        stiffness_factor: calibrated.map_or(1.0, |own| round(own.factor)),
        calibrated_from_bows: calibrated.map_or(0, |own| own.bows),
        laminations_move_it: build
            .laminations
            .iter()
            .zip(&moves.laminations)
            .map(|(lamination, of)| MovesRow {
                lamination: lamination.name.clone(),
                n_per_hundredth_mm: round(of.n_per_hundredth_mm),
                n_per_percent_modulus: round(of.n_per_percent_modulus),
                outer_n_per_percent_modulus: of.outer_n_per_percent_modulus.map(round),
            })
            .collect(),
        n_per_mm_width: round(moves.n_per_mm_width),
        n_per_mm_length: round(moves.n_per_mm_length),
        thickness_error_n: thickness_error_n(moves, &job.budgets()).map(round),
        hinges: job
            .hinges()?
            .iter()
            .map(|hinge| HingeRow {
                station_mm: round(hinge.s_mm),
                over_trend: round(hinge.over_trend),
                cause: hinge.cause_words(build),
                cause_station_mm: round(hinge.cause_mm),
            })
            .collect(),
        too_heavy: job
            .too_heavy()?
            .iter()
            .map(|row| HeavyRow {
                excess_n: round(row.excess_n),
                belly_mm: row.belly_mm.map(round),
                sides_share: row.sides_share.map(round),
            })
            .collect(),
        floor_tiller: job
            .floor_tiller()?
            .iter()
            .map(|row| FloorRow { drop_mm: round(row.drop_mm), blank_n: round(row.blank_n), trimmed_n: round(row.trimmed_n) })
            .collect(),
        tiller_stations_mm: targets.stations_mm.iter().map(|s| round(*s)).collect(),
        tiller: targets
            .rows
            .iter()
            .map(|row| TillerRow {
                draw_length_mm: round(row.draw_length_mm),
                force_n: round(row.force_n),
                upper_belly_to_string_mm: row.gaps_mm.iter().map(|[upper, _]| round(*upper)).collect(),
                lower_belly_to_string_mm: row.gaps_mm.iter().map(|[_, lower]| round(*lower)).collect(),
            })
            .collect(),
        glue_kg: glued.map_or(0.0, |glued| round(glued.stages.iter().map(|stage| stage.glue.mass_kg).sum())),
        glue_stages: glued.map_or(Ok(Vec::new()), |glued| glue_stages(job, glued))?,
    })
}

/// The hardest-worked place of each part.
pub fn strain_rows(build: &Build, worst: &[Worst]) -> Vec<StrainRow> {
    worst
        .iter()
        .map(|worst| StrainRow {
            part: part_name(build, worst.part),
            strain: round_fine(worst.strain),
            station_mm: round(worst.s_mm),
            face: worst.face.word().into(),
            at_full_draw: worst.state == DrawState::FullDraw,
            left_by_glue_up: round_fine(worst.left),
            share_of_breaking: worst.share_of_breaking.map(round),
            verdict: worst.verdict().map(|verdict| verdict.word().into()),
        })
        .collect()
}

fn glue_stages(job: &Job, glued: &GlueUp) -> Result<Vec<GlueStageRow>, Refused> {
    let scatter = job.tip_scatter_mm()?;
    let spread = |n: usize| scatter.and_then(|of_stages| of_stages.get(n)).map(|mm| round(*mm));
    Ok(glued.stages.iter().enumerate().map(|(n, stage)| glue_stage_row(job.build(), stage, spread(n))).collect())
}

fn glue_stage_row(build: &Build, stage: &Stage, tip_left_spread_mm: Option<f64>) -> GlueStageRow {
    GlueStageRow {
        number: stage.number,
        laminations: stage.laminations.iter().map(|index| build.laminations[*index].name.clone()).collect(),
        riser: stage.riser,
        tip_held_mm: round(stage.tip_held_mm()),
        tip_left_mm: round(stage.tip_left_mm()),
        tip_left_spread_mm,
        props_mm: match stage.held {
            Held::Props { rise_mm, .. } => Some(round(rise_mm)),
            Held::Flat | Held::Form { .. } => None,
        },
        form_mm: match &stage.held {
            Held::Form { rise } => rise.iter().map(|(s, rise)| [round(*s), round(*rise)]).collect(),
            Held::Flat | Held::Props { .. } => Vec::new(),
        },
        clamps: stage.clamps.count(),
        clamp_spacing_mm: round(stage.clamps.apart_mm),
        turns_of_band: stage.clamps.turns_of_band,
        tip_load_n: stage.load.tip_n.map(round),
        glue_lines: stage.glue.lines,
        glue_area_mm2: round(stage.glue.area_mm2),
        glue_kg: round(stage.glue.mass_kg),
        clamp_time_s: stage.clamp_time_s,
    }
}

/// Stations at a round spacing, and those where something begins or ends.
fn stations(build: &Build) -> Vec<(f64, String)> {
    let marked = build.marked_stations();
    let end = marked.last().map_or(0.0, |station| station.station_mm);
    let step = build.units.either_mm(2.0, 50.0);
    // Where thickness does not change, and where it ends with the wood itself, the table has no row of its own.
    let rowless = |kind: &StationKind| {
        matches!(
            kind,
            StationKind::Meets(_) | StationKind::Spliced(_) | StationKind::EndsWithWood(_) | StationKind::OverlayBegins(_)
        )
    };
    let named = marked.iter().filter(|station| !rowless(&station.kind));
    let named = named.map(|station| (station.station_mm, build.station_name(station.kind)));
    let mut all: Vec<(f64, String)> = limit::steps_within(end, step).map(|s| (s, String::new())).chain(named).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.len().cmp(&a.1.len())));
    // A named station beside a round one stands for it.
    all.dedup_by(|later, kept| {
        let same = limit::same_place(later.0, kept.0);
        if same && kept.1.is_empty() {
            kept.clone_from(later);
        } else if same && !later.1.is_empty() && later.1 != kept.1 {
            kept.1 = format!("{}, {}", kept.1, later.1);
        }
        same
    });
    all
}

fn stack(build: &Build, curve: Option<&DrawCurve>) -> Vec<StackRow> {
    let mut rows: Vec<StackRow> = Vec::new();
    for (s, mark) in stations(build) {
        let each: Vec<f64> = build.laminations.iter().map(|lamination| lamination.thickness_at(s)).collect();
        let riser = build.riser.as_ref().map_or(0.0, |riser| riser.thickness_at(s));
        let dry: f64 = each.iter().sum();
        let riser_overlay = build.riser.as_ref().and_then(|riser| riser.overlay.as_ref()).map(|overlay| overlay.thickness_at(s));
        let end_mm = build.outline.as_ref().map_or(0.0, Outline::end_mm);
        let [back_overlay, belly_overlay] = [Face::Back, Face::Belly].map(|face| {
            let overlay = build.overlays.iter().find(|overlay| overlay.face == face)?;
            Some(overlay.thickness_at(end_mm, s).unwrap_or(0.0))
        });
        let total = build.finished_mm(s);
        let wood: f64 = [riser_overlay, back_overlay, belly_overlay].into_iter().flatten().sum();
        let across = build.outline.as_ref().filter(|outline| !outline.shape.is_square()).map(|outline| {
            let ([back, belly], crown) = (outline.faces_at(s), outline.crown_at(s));
            let edge_mm = round(total - crown);
            AcrossRow { back_mm: round(back), belly_mm: round(belly), crown_mm: round(crown), edge_mm }
        });
        let taper = rows.last().map(|before| round_fine((before.dry_mm - dry) / (s - before.station_mm)));
        rows.push(StackRow {
            station_mm: round(s),
            mark,
            width_mm: build.outline.as_ref().map(|outline| round(outline.width_at(s))),
            across,
            laminations_mm: each.into_iter().map(round).collect(),
            riser_mm: round(riser),
            riser_overlay_mm: riser_overlay.map(round),
            back_overlay_mm: back_overlay.map(round),
            belly_overlay_mm: belly_overlay.map(round),
            glue_mm: round(total - dry - riser - wood),
            dry_mm: round(dry),
            total_mm: round(total),
            taper,
            strain: curve.and_then(|curve| curve.greatest_strain_at(s)).map(round_fine),
        });
    }
    rows
}

pub(super) fn lamination_row(build: &Build, lamination: &Lamination, cut: Option<&CutStages>) -> LaminationRow {
    let work = cut.map(|cut| &cut.ground);
    let fade_end = build.riser.as_ref().map(|riser| riser.feather_station_mm());
    LaminationRow {
        name: lamination.name.clone(),
        wood: lamination.wood.name.clone(),
        wood_source: lamination.wood.source.clone(),
        modulus_mpa: round(lamination.wood.modulus_mpa),
        density_kg_m3: round(lamination.wood.density_kg_m3),
        outer: lamination.outer().map(|outer| OuterWoodRow {
            wood: outer.wood.name.clone(),
            wood_source: outer.wood.source.clone(),
            modulus_mpa: round(outer.wood.modulus_mpa),
            density_kg_m3: round(outer.wood.density_kg_m3),
        }),
        pieces: match lamination.pieces {
            Pieces::Full => "full".into(),
            Pieces::Halves => "halves".into(),
        },
        already_ground: lamination.ground,
        stage: lamination.stage,
        from_mm: round(lamination.from_mm),
        to_mm: round(lamination.to_mm),
        butt_mm: round(lamination.finished.at(lamination.from_mm)),
        fade_end_mm: fade_end.map(|s| lamination.thickness_at(s)).filter(|t| 0.0 < *t).map(round),
        tip_mm: round(lamination.finished.at(lamination.to_mm)),
        strip_length_mm: round(lamination.strip_length_mm()),
        strip_width_mm: round(lamination.stock.width_mm),
        stock_mm: round(lamination.stock.thickness_mm),
        stock_spread_mm: round(lamination.stock.spread_mm),
        sled: cut.and_then(|cut| sled_row(build, lamination, cut)),
        setups: work.map(|work| work.schedule.setups.iter().map(setup_row).collect()).unwrap_or_default(),
        runs: work.map_or(0, |work| work.schedule.runs),
        together: work.map_or(0, |work| work.schedule.together),
        time_s: work.map(|work| round(work.schedule.time_s())),
        proof: cut.filter(|cut| !cut.ground.schedule.setups.is_empty()).map(|CutStages { ground, proof, .. }| ProofRow {
            cases: proof.cases,
            from_cut_file: ground.kit.as_ref().is_some_and(Kit::is_cut),
            worst_mm: round(proof.worst.worst_mm),
            worst_at_mm: round(proof.worst.worst_at_mm),
            deepest_mm: round(proof.deepest.deepest_mm),
            deepest_pass: proof.deepest.deepest_pass,
            thinnest_mm: round(proof.worst.thinnest_mm),
        }),
        thickness_error: work.map(|work| ErrorRow {
            as_cut_mm: round(work.budget.as_cut_mm),
            trimmed_mm: round(work.budget.trimmed_mm),
            causes: work
                .budget
                .causes
                .iter()
                .map(|cause| CauseRow {
                    of: cause.of.clone(),
                    why: cause.why.to_owned(),
                    mm: round(cause.mm),
                    one_sided: cause.one_sided,
                })
                .collect(),
        }),
    }
}

fn sled_row(build: &Build, lamination: &Lamination, cut: &CutStages) -> Option<SledRow> {
    let (sled, (on, names), units) = (&cut.ground.kit.as_ref()?.sled, cut.on.as_ref()?, build.units);
    // Of one seat, all heights are the same; the run-on stands as its owner needs it.
    let lower_mm = sled.final_gap_mm - on.gap_mm;
    let height = |u: f64| HeightRow {
        u_mm: round(u),
        station_mm: round(lamination.station_at(u)),
        thickness_mm: round(lamination.strip_thickness_at(u)),
        ramp_mm: round(sled.ramp.at(u)),
        surface_mm: round(sled.surface_mm(u)),
    };
    let length = sled.strip_length_mm;
    let step = units.either_mm(2.0, 50.0);
    let mut places: Vec<f64> = limit::steps_within(length, step).collect();
    places.extend(sled.corners_mm.iter().copied());
    places.push(length);
    limit::places_once(&mut places);
    Some(SledRow {
        of: names.of.clone(),
        serves: names.serves.clone(),
        in_shared: cut.lent,
        run_on_lower_mm: round(lower_mm),
        make: sled.make.traits().word.into(),
        length_mm: round(sled.length_mm()),
        deck_mm: round(sled.deck_mm),
        under_mm: round(sled.under_mm),
        final_gap_mm: round(sled.final_gap_mm),
        run_on_mm: round(sled.run_on_mm),
        run_on_top_mm: sled.run_on_top_mm.iter().map(|top| top.map(|top| round(top - lower_mm))).collect(),
        first_end_leads: sled.first_end_leads,
        heights: places.into_iter().map(height).collect(),
    })
}

/// One paper's run through the machine.
pub fn setup_row(setup: &Setup) -> SetupRow {
    SetupRow {
        carrier: match setup.carrier {
            Carrier::Flat => "flat".into(),
            Carrier::Sled => "sled".into(),
        },
        face: setup.face.word().into(),
        turn_over: setup.turn_over,
        first_contact_gap_mm: round(setup.first_contact_gap_mm),
        final_gap_mm: round(setup.final_gap_mm),
        rounding_mm: round(setup.rounding_mm),
        passes: setup
            .passes
            .iter()
            .map(|pass| PassRow {
                number: pass.number,
                grit: pass.grit,
                new_paper: pass.new_paper,
                gap_mm: round(pass.gap_mm),
                drop_mm: round(pass.drop_mm),
                crank_turns: round(pass.turns),
                contact_mm: pass.contact.iter().map(|touched| [round(touched.min), round(touched.max)]).collect(),
                deepest_mm: round(pass.deepest_mm),
                limit_mm: round(pass.limit.depth_mm),
                thinnest_mm: round(pass.thinnest_mm),
                volume_mm3: round(pass.volume_mm3),
                time_s: round(pass.time_s),
                repeat: pass.repeat,
            })
            .collect(),
    }
}
