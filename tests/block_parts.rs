//! A riser in layers, with footings, and under an overlay: section, mass, glue-up, draw, cuts, files.
//!
//! Sections are held against meshes of sectionproperties and, where the overlay or a footing comes in, against the transformed section by hand (any
//! text on strength of materials); masses against sums over thin slices; what is cut against sums over cells. All computed independently of the
//! program's sections.

mod peers;
mod support;

use serde_json::json;
use support::bows::{IN, flatbow};
use support::hand_cuts::place;
use support::linear::solved;
use support::near::close;
use support::planned::files::at;
use support::planned::planned;
use taperwright::diag::{Diagnostic, Severity};
use taperwright::drawing::{Kind, Shape};
use taperwright::geometry::Path;
use taperwright::job::{Change, Inputs, Job, one_riser};
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::draw;
use taperwright::mechanics::glueup::{self, Bends, Brought, HeldStage};
use taperwright::mechanics::grip::HandCut;
use taperwright::mechanics::layer_kind::LayerKind;
use taperwright::mechanics::mass;
use taperwright::mechanics::section::Stack;
use taperwright::mechanics::splice;
use taperwright::model::Build;
use taperwright::model::block::{BlockLayer, Footing, RiserOverlay};
use taperwright::model::riser::{BlockProfile, Fade, Riser};
use taperwright::model::wood::{self, Wood};
use taperwright::model::workshop::{GlueStage, Held};
use taperwright::serve::levers::levers;
use taperwright::sheets;
use taperwright::units::System;

const PLOVER: &str = include_str!("../examples/more/plover.toml");

fn job(text: &str) -> Job {
    Job::read("plover.toml", text, Inputs::default()).unwrap_or_else(|unread| panic!("{:?}", unread.faults))
}

fn with(job: &Job, key: &str, value: &str) -> Job {
    job.with(&[Change::new(key, value)]).expect("the change reads")
}

fn named(name: &str) -> Wood {
    wood::named(name).unwrap().at_moisture(0.12)
}

fn layer(name: &str, thickness_mm: f64) -> BlockLayer {
    BlockLayer { wood: named(name), thickness_mm }
}

/// The flatbow of the other tests with its riser changed.
fn bow(change: impl FnOnce(&mut Riser)) -> Build {
    let mut build = flatbow();
    change(build.riser.as_mut().unwrap());
    build
}

fn riser(build: &Build) -> &Riser {
    build.riser.as_ref().unwrap()
}

fn three_layers(riser: &mut Riser) {
    riser.layers = vec![layer("maple, sugar", 12.0), layer("walnut, black", 3.0), layer("locust, black", 24.0)];
    riser.across.truncate(1);
    riser.across[0].width_mm = 45.0;
}

/// Thickness and modulus of what the fade leaves of the boards where the block is `thick` mm thick, glue lines between them. The last board runs as far
/// as the profile does, and the one before it up to its glue line.
fn boards_left(riser: &Riser, thick: f64, line: f64, glue: f64) -> Vec<(f64, f64)> {
    let mut left = Vec::new();
    let mut from = 0.0;
    for (k, board) in riser.layers.iter().enumerate() {
        if from < thick {
            if 0 < k {
                left.push((line, glue));
            }
            let last = k + 1 == riser.layers.len() || thick <= from + board.thickness_mm + line;
            left.push((if last { thick - from } else { board.thickness_mm }, board.wood.modulus_mpa));
        }
        from += board.thickness_mm + line;
    }
    left
}

/// At five stations, from the level part to where the first layer alone is left: what the fade leaves of each board, put together from the file's own
/// sizes, against the meshes of another library.
#[test]
fn the_section_of_three_layers_agrees_with_meshes_along_the_fade() {
    let build = bow(three_layers);
    let (stack, riser) = (Stack::of(&build).unwrap(), riser(&build));
    let (line, glue) = (build.glue.line_mm, build.glue.modulus_mpa);
    let stations = [2.0 * IN, 3.2 * IN, 4.0 * IN, 4.67 * IN, 6.6 * IN];
    let mut told = Vec::new();
    let mut boards = Vec::new();
    for s in stations {
        let width = build.outline.as_ref().unwrap().width_at(s);
        let thick = riser.thickness_at(s);
        let block = boards_left(riser, thick, line, glue);
        boards.push(block.len().div_ceil(2));
        let [back, core, belly] =
            [0, 1, 2].map(|k| (build.laminations[k].thickness_at(s), build.laminations[k].wood.modulus_mpa));
        let glued = [(line, glue)];
        let stack = [back].into_iter().chain(glued).chain([core]).chain(glued).chain(block).chain(glued).chain([belly]);
        let layers: Vec<(f64, f64, f64)> = stack.map(|(t, e)| (t, e, 1.0)).collect();
        let depth: f64 = layers.iter().map(|layer| layer.0).sum();
        told.push(json!({ "faces": [width, width], "crown": 0.0, "depth": depth, "layers": layers }));
    }
    assert_eq!(boards, [3, 3, 3, 2, 1], "the stations are on both sides of both glue lines");
    let Some(answer) = peers::run("across.py", &[], &json!(told).to_string()) else { return };
    let answers: Vec<Vec<f64>> = serde_json::from_str(&answer).unwrap();
    for (s, wanted) in stations.iter().zip(&answers) {
        let (section, properties) = (stack.section(*s, *s), stack.properties(*s, *s));
        close("EI", section.stiffness_n_mm2, wanted[0], 1e-6);
        close("neutral axis", section.neutral_mm, wanted[1], 1e-6);
        close("properties", properties.stiffness_n_mm2, section.stiffness_n_mm2, 1e-12);
    }
}

/// One board as deep as the block is the block of one slice: draw, glue-up, template and all numbers of the report, bit for bit.
#[test]
fn one_layer_is_the_block_of_one_slice() {
    let text = include_str!("../examples/more/wren.toml");
    let old = "across  = [[\"walnut, black\", 0.85], [\"maple, sugar\", 0.125], [\"walnut, black\", 0.85]]";
    assert!(text.contains(old));
    let sliced = job(&text.replace(old, "across = [[\"cherry, black\", 1.875]]"));
    let layered = job(&text.replace(old, "width = 1.875\nlayers = [[\"cherry, black\", 1.5]]"));
    assert_eq!(sliced.unstrung().unwrap(), layered.unstrung().unwrap());
    assert_eq!(sliced.force_curve().unwrap(), layered.force_curve().unwrap());
    assert_eq!(sliced.riser_at_its_cuts().unwrap(), layered.riser_at_its_cuts().unwrap());
    assert_eq!(sliced.riser_block().unwrap(), layered.riser_block().unwrap());
    let numbers = |job: &Job| {
        let mut report = serde_json::to_value(job.report().unwrap()).unwrap();
        report["made_by"] = json!(null);
        report["riser"].as_object_mut().unwrap().remove("layered");
        report
    };
    assert_eq!(numbers(&sliced), numbers(&layered));
    let sheet = |job: &Job| sheets::riser::sheet(job.build(), job.riser_block().unwrap()).unwrap();
    assert_eq!(sheet(&sliced), sheet(&layered));
}

/// Boards of one wood without glue between them are that block, whatever their thicknesses.
#[test]
fn boards_of_one_wood_without_glue_are_one_block() {
    let of = |layers: Vec<BlockLayer>| {
        let mut build = bow(|riser| {
            riser.across.truncate(1);
            riser.across[0].wood = named("maple, sugar");
            riser.layers = layers;
        });
        build.glue.line_mm = 0.0;
        build.glue.stages = vec![GlueStage { number: 1, held: Held::Form { rise: form() }, ..stage() }];
        build
    };
    let whole = of(vec![layer("maple, sugar", 1.5 * IN)]);
    let boards = of(vec![layer("maple, sugar", 9.0), layer("maple, sugar", 2.0), layer("maple, sugar", 30.0)]);
    let [a, b] = [&whole, &boards].map(|build| glueup::plan(build).unwrap().value);
    // The curve under the riser asks for what the block's own stiffness bears.
    close("tip", a.tip_mm(), b.tip_mm(), 1e-9);
    let draw = |build: &Build, glued: &glueup::GlueUp| {
        let options = Options { unstrung: glued.unstrung.clone(), ..Options::default() };
        draw::curve(build, &options).unwrap().value
    };
    let [one, other] = [draw(&whole, &a), draw(&boards, &b)];
    close("force", other.at_full_draw().force_n, one.at_full_draw().force_n, 1e-9);
    let riser_works = |curve: &draw::DrawCurve| {
        let of_riser = curve.worst.iter().filter(|worst| worst.part.is_block()).map(|worst| worst.strain.abs());
        of_riser.fold(0.0, f64::max)
    };
    close("strain of the riser", riser_works(&other), riser_works(&one), 1e-6);
}

fn form() -> Vec<(f64, f64)> {
    vec![(0.0, 0.0), (200.0, -2.0), (500.0, -20.0), (838.2, -60.0)]
}

fn stage() -> GlueStage {
    let text = format!("{PLOVER}\n[[glue.stage]]\nnumber = 1\nheld = \"flat\"\n");
    job(&text).build().glue.stages[0].clone()
}

/// Wet, the block is one piece: bent under the form it stretches by its own transformed section, not board by board.
#[test]
fn while_it_is_glued_in_the_block_bends_as_one_piece() {
    let mut build = bow(three_layers);
    build.glue.stages = vec![GlueStage { number: 1, held: Held::Form { rise: form() }, ..stage() }];
    let glued = glueup::plan(&build).unwrap().value;
    let stage = &glued.stages[0];
    let bent: Vec<_> = stage.bent.iter().filter(|bent| matches!(bent.what, Bends::Layer(part) if part.is_block())).collect();
    let [bent] = bent.as_slice() else { panic!("one piece: {bent:?}") };
    let riser = riser(&build);
    let thick = riser.thickness_at(bent.s_mm);
    let mut z = 0.0;
    let mut faces = Vec::new();
    for (t, e) in boards_left(riser, thick, build.glue.line_mm, build.glue.modulus_mpa) {
        faces.push((z, z + t, e));
        z += t;
    }
    let sum =
        |power: i32| faces.iter().map(|(a, b, e)| e * (b.powi(power) - f64::powi(*a, power)) / f64::from(power)).sum::<f64>();
    let axis = sum(2) / sum(1);
    let held = Brought::of(&build).unwrap().value.held(&build).unwrap().value;
    let curvature = HeldStage::curvature_under(&held, stage.laminations[0], bent.s_mm);
    close("strain", bent.strain, axis.max(thick - axis) * curvature.abs(), 2e-3);
    // And the glue of the stage is that of the strips: the lines between the boards are set before.
    let mut sliced = build.clone();
    sliced.riser.as_mut().unwrap().layers.clear();
    assert_eq!(stage.glue, glueup::plan(&sliced).unwrap().value.stages[0].glue);
}

/// Modulus and density by the part of the width, along the V and beyond it.
#[test]
fn a_footing_counts_by_its_part_of_the_width() {
    let footing = Footing { wood: named("locust, black"), length_mm: 100.0, splice_mm: 60.0 };
    let build = bow(|riser| {
        three_layers(riser);
        riser.footing = Some(footing.clone());
    });
    let (stack, riser) = (Stack::of(&build).unwrap(), riser(&build));
    let bare = bow(three_layers);
    let feather = riser.feather_station_mm();
    for (from_feather, fraction) in [(110.0, 0.0), (100.0, 0.0), (85.0, 0.25), (55.0, 0.75), (41.0, 59.0 / 60.0)] {
        let s = feather - from_feather;
        let (section, plain) = (stack.section(s, s), Stack::of(&bare).unwrap().section(s, s));
        assert_eq!(section.layers.len(), plain.layers.len());
        for (layer, plain) in section.layers.iter().zip(&plain.layers) {
            let between_boards = layer.part == LayerKind::Glue && {
                let index = section.layers.iter().position(|other| other == layer).unwrap();
                section.layers[index - 1].part.is_block() && section.layers[index + 1].part.is_block()
            };
            let mixed = if layer.part.is_block() || between_boards { fraction } else { 0.0 };
            let wanted = (1.0 - mixed) * plain.modulus_mpa + mixed * footing.wood.modulus_mpa;
            close("modulus", layer.modulus_mpa, wanted, 1e-12);
            assert_eq!((layer.thickness_mm, layer.back_mm), (plain.thickness_mm, plain.back_mm));
        }
    }
    for from_feather in [39.0, 20.0, 0.5] {
        let s = feather - from_feather;
        let section = stack.section(s, s);
        let own: Vec<_> = section.layers.iter().filter(|layer| layer.part.is_block()).collect();
        assert!(matches!(own.as_slice(), [one] if one.part == LayerKind::Footing));
        close("all of the block", own[0].thickness_mm, riser.thickness_at(s), 1e-12);
        close("its wood", own[0].modulus_mpa, footing.wood.modulus_mpa, 1e-12);
    }
    // The feather is judged by the wood that is in it.
    let worst = draw::curve(&build, &Options::default()).unwrap().value.worst;
    let at_feather = worst.iter().find(|worst| worst.part == LayerKind::Footing).expect("it is bent with the limb");
    let breaking = footing.wood.breaking_strain.unwrap();
    close("share", at_feather.share_of_breaking.unwrap(), at_feather.strain.abs() / breaking, 1e-12);
    assert!((feather - 40.0 - 1e-6..=feather).contains(&at_feather.s_mm));
}

/// By volumes in slices a fiftieth of a millimetre thick, the V among them.
#[test]
fn the_parts_of_a_riser_weigh_what_their_volumes_do() {
    let footing = Footing { wood: named("locust, black"), length_mm: 100.0, splice_mm: 60.0 };
    let profile = BlockProfile { length_mm: 300.0, level_mm: 120.0, depth_mm: 20.0, fade: Fade::Arc, feather_mm: 0.3 };
    let build = bow(|riser| {
        three_layers(riser);
        riser.footing = Some(footing.clone());
        riser.overlay = Some(RiserOverlay { wood: named("cherry, black"), profile, overrun_mm: 12.0 });
    });
    let (riser, outline, line) = (riser(&build), build.outline.as_ref().unwrap(), build.glue.line_mm);
    let feather = riser.feather_station_mm();
    let (mut block, mut footings, mut overlay) = (0.0, 0.0, 0.0);
    let count = (feather / 0.02) as u32;
    for k in 0..count {
        let ds = feather / f64::from(count);
        let s = ds * (f64::from(k) + 0.5);
        let (width, thick) = (outline.width_at(s), riser.thickness_at(s));
        let fraction = ((s - (feather - 100.0)) / 60.0).clamp(0.0, 1.0);
        let mut from = 0.0;
        let mut own = 0.0;
        let mut glue = 0.0;
        for (k, board) in riser.layers.iter().enumerate() {
            let full = if k == 2 { 1e9 } else { board.thickness_mm };
            own += board.wood.density_kg_m3 * ((from + full).min(thick) - from).max(0.0);
            glue += ((from + full + line).min(thick) - (from + full).min(thick)).max(0.0);
            from += full + line;
        }
        block += 2e-9 * ds * width * own * (1.0 - fraction);
        // A footing has no glue lines where it is whole; along its V they are the block's.
        let wood = if fraction < 1.0 { thick - glue } else { thick };
        footings += 2e-9 * ds * width * wood * fraction * footing.wood.density_kg_m3;
        let over = if s < 60.0 { 20.0 } else { profile.thickness_at(s) };
        overlay += 2e-9 * ds * width * over * named("cherry, black").density_kg_m3;
    }
    let found = mass::riser_kg(&build).unwrap();
    close("block", found.block_kg, block, 2e-4);
    close("footings", found.footings_kg, footings, 2e-4);
    close("overlay", found.overlay_kg, overlay, 2e-4);
}

/// An overlay of no depth, and no glue under it, is none.
#[test]
fn an_overlay_of_no_depth_changes_nothing() {
    let of = |depth_mm: Option<f64>| {
        let mut build = bow(|riser| {
            riser.overlay = depth_mm.map(|depth_mm| {
                let profile =
                    BlockProfile { length_mm: 250.0, level_mm: 100.0, depth_mm, fade: Fade::Eased, feather_mm: 0.1 * depth_mm };
                RiserOverlay { wood: named("walnut, black"), profile, overrun_mm: 0.0 }
            });
        });
        build.glue.line_mm = 0.0;
        // The pivot point stays where it is.
        build.target.as_mut().unwrap().grip_depth_mm = Some(40.0);
        draw::curve(&build, &Options::default()).unwrap().value
    };
    let (none, thin, thick) = (of(None), of(Some(1e-7)), of(Some(20.0)));
    for (a, b) in none.points.iter().zip(&thin.points) {
        close("force", b.force_n, a.force_n, 1e-8);
    }
    assert!(none.at_full_draw().force_n < thick.at_full_draw().force_n, "it stiffens the middle");
    assert!(thick.at_full_draw().force_n < 1.05 * none.at_full_draw().force_n, "which hardly bends");
}

/// The section through both blocks by hand; depths are counted from the back as ever.
#[test]
fn the_section_under_the_overlay_is_the_transformed_one() {
    let job = job(PLOVER);
    let build = job.build();
    let (stack, riser) = (Stack::of(build).unwrap(), riser(build));
    let overlay = riser.overlay.as_ref().unwrap();
    let (line, glue) = (build.glue.line_mm, build.glue.modulus_mpa);
    let footing = riser.footing.as_ref().unwrap();
    for s in [0.0, 60.0, 130.0, 160.0, 179.0, 181.0, 255.0] {
        let fraction = footing.fraction_at(riser.feather_station_mm(), s);
        let mut layers = vec![(build.laminations[0].thickness_at(s), build.laminations[0].wood.modulus_mpa), (line, glue)];
        let block = boards_left(riser, riser.thickness_at(s), line, glue);
        layers.extend(block.into_iter().map(|(t, e)| (t, e + fraction * (footing.wood.modulus_mpa - e))));
        layers.extend([(line, glue), (build.laminations[1].thickness_at(s), build.laminations[1].wood.modulus_mpa)]);
        if s < 180.0 {
            layers.extend([(line, glue), (overlay.thickness_at(s), overlay.wood.modulus_mpa)]);
        }
        let mut z = 0.0;
        let (mut ea, mut first, mut second) = (0.0, 0.0, 0.0);
        for (t, e) in layers {
            let to = z + t;
            ea += e * t;
            first += e * (to * to - z * z) / 2.0;
            second += e * (to.powi(3) - z.powi(3)) / 3.0;
            z = to;
        }
        let width = build.outline.as_ref().unwrap().width_at(s);
        let (section, properties) = (stack.section(s, s), stack.properties(s, s));
        close("EI", section.stiffness_n_mm2, width * (second - first * first / ea), 1e-9);
        close("EI of properties", properties.stiffness_n_mm2, section.stiffness_n_mm2, 1e-12);
        close("neutral axis", section.neutral_mm, first / ea, 1e-9);
        close("depth", section.depth_mm, build.depth_mm(s), 1e-9);
    }
}

/// As it lies: what the glue-up leaves and what the fades ask of the strips are the same objects; the overlay bears nothing before the draw.
#[test]
fn an_overlay_leaves_glue_up_and_fades_as_they_were() {
    let bow = job(PLOVER);
    let other = with(&bow, "riser.overlay.depth", "36");
    assert!(std::ptr::eq(bow.unstrung().unwrap(), other.unstrung().unwrap()));
    assert!(std::ptr::eq(bow.fades().unwrap().unwrap(), other.fades().unwrap().unwrap()));
    assert!(!std::ptr::eq(bow.riser_block().unwrap(), other.riser_block().unwrap()));
    let curve = bow.force_curve().unwrap();
    let worst = curve.worst.iter().find(|worst| worst.part == LayerKind::RiserOverlay).expect("it is bent with the bow");
    assert!(worst.left.abs() < 1e-15 && worst.share_of_breaking.is_some());
}

/// Along the whole bow moment and curvature belong together, and between its corners every strain runs on without a jump; at the overlay's end the moment
/// does, and the curvature jumps by the stiffness.
#[test]
fn strain_runs_on_along_the_bow_and_the_end_of_the_overlay_is_told() {
    let bow = job(PLOVER);
    let curve = bow.force_curve().unwrap();
    let full = curve.at_full_draw();
    let end = 180.0;
    let mut jumps = 0;
    for k in 1..curve.stations.len() {
        let (near, far) = (&curve.stations[k - 1], &curve.stations[k]);
        let places = [&full.places[k - 1], &full.places[k]];
        for (station, place) in [near, far].into_iter().zip(places) {
            close("M = EI κ", place.moment_n_mm, station.section.stiffness_n_mm2 * place.bend_per_mm, 1e-6);
        }
        if far.s_mm - near.s_mm < 1e-6 && (near.s_mm - end).abs() < 1e-3 {
            jumps += 1;
            // The pull goes on, about an axis that steps toward the back: the moment grows by the pull times that step.
            let pull = full.tension_n * (full.string_angle_rad + places[0].angle_rad).cos();
            let step = near.section.neutral_mm - far.section.neutral_mm;
            close("moment beyond the end", places[1].moment_n_mm - places[0].moment_n_mm, pull * step, 0.05);
        }
    }
    assert_eq!(jumps, 1, "the end of the overlay is a station seen from both sides");
    let row = bow.report().unwrap().riser.as_ref().unwrap().overlay.as_ref().unwrap().beyond_end.as_ref().unwrap();
    assert!((row.station_mm - end).abs() < 1e-4, "{row:?}");
    // By the section beyond it and the moment there.
    let outer = curve.stations.iter().rposition(|station| (station.s_mm - end).abs() < 1e-6).unwrap();
    let (station, place) = (&curve.stations[outer], &full.places[outer]);
    let left = [station.locked[0][0], station.locked[station.locked.len() - 1][1]];
    let back = place.bend_per_mm * station.section.neutral_mm + left[0];
    let belly = place.bend_per_mm * (station.section.neutral_mm - station.section.depth_mm) + left[1];
    let fractions = [(back, "hickory, shagbark"), (belly, "locust, black")];
    let max = fractions.map(|(strain, wood)| strain.abs() / named(wood).breaking_strain.unwrap()).into_iter().fold(0.0, f64::max);
    close("share beyond the end", row.share_of_breaking.unwrap(), max, 2e-3);
}

/// Grip and shelf are cut through overlay, strip and layered block: the section in cells, its three equations solved as they stand.
#[test]
fn what_is_cut_through_layers_and_overlay_agrees_with_a_sum_over_cells() {
    let job = job(PLOVER);
    let build = job.build();
    let (riser, outline) = (riser(build), build.outline.as_ref().unwrap());
    for cut in [HandCut::ArrowPass, HandCut::Grip] {
        let found = place(&job, cut);
        let s = found.s_mm;
        let half = 0.5 * outline.width_at(s.abs());
        close("depth left", found.depth_mm, build.depth_mm(s.abs()) - build.grip_off_mm(s), 1e-12);
        // A left-handed bow is cut on the archer's right.
        let face = if cut == HandCut::ArrowPass { -1.5 } else { half };
        let overlay = riser.overlay.as_ref().unwrap();
        let mut faces: Vec<(f64, f64)> = Vec::new();
        let mut from = 0.0;
        let line = build.glue.line_mm;
        let thick = riser.depth_mm;
        let boards = [riser.layers[0].thickness_mm, riser.layers[1].thickness_mm];
        let third = thick - boards[0] - boards[1] - 2.0 * line;
        let wood = |name: &str| named(name).modulus_mpa;
        for (t, e) in [
            (build.laminations[0].thickness_at(s.abs()), wood("hickory, shagbark")),
            (boards[0], wood("maple, sugar")),
            (boards[1], wood("walnut, black")),
            (third, wood("maple, sugar")),
            (build.laminations[1].thickness_at(s.abs()), wood("locust, black")),
            (overlay.profile.depth_mm, wood("walnut, black")),
        ] {
            faces.push((from + t, e));
            from += t + line;
            faces.push((from, build.glue.modulus_mpa));
        }
        let modulus_at = |z: f64| faces.iter().find(|(to, _)| z < *to).unwrap().1;
        let (deep, wide) = (6000, 40);
        let full = build.depth_mm(s.abs());
        let dv = (face + half) / f64::from(wide);
        let mut sums = [0.0_f64; 6];
        let mut uncut = [0.0_f64; 2];
        for i in 0..deep {
            let part = (f64::from(i) + 0.5) / f64::from(deep);
            let (z, dz) = (part * found.depth_mm, found.depth_mm / f64::from(deep));
            let whole = modulus_at(part * full) * full / f64::from(deep);
            uncut[0] += whole;
            uncut[1] += whole * part * full;
            for k in 0..wide {
                let v = -half + dv * (f64::from(k) + 0.5);
                let e = modulus_at(z) * dz * dv;
                for (sum, of) in sums.iter_mut().zip([1.0, z, v, z * z, v * v, z * v]) {
                    *sum += e * of;
                }
            }
        }
        let curve = job.force_curve().unwrap();
        let at_full = curve.at_full_draw();
        let (angle, x) = (at_full.string_angle_rad, curve.grip_depth_mm + at_full.pivot_to_nock_mm);
        let neutral = uncut[1] / uncut[0];
        let push = at_full.tension_n * angle.cos();
        let moment = at_full.tension_n * ((x - neutral) * angle.cos() - s.abs() * angle.sin()) + push * neutral;
        let [one, z, v, zz, vv, zv] = sums;
        let (c, a, b) = solved([[one, z, v, -push], [z, zz, zv, -moment], [v, zv, vv, 0.0]]);
        let strain = |z: f64, v: f64| c + a * z + b * v;
        let breaking = |name: &str| named(name).breaking_strain.unwrap();
        // The belly is the overlay's, the back hickory.
        let belly = strain(found.depth_mm, face).abs().max(strain(found.depth_mm, -half).abs());
        let back = strain(0.0, face).abs().max(strain(0.0, -half).abs());
        let (fraction, wood) = if belly / breaking("walnut, black") < back / breaking("hickory, shagbark") {
            (back / breaking("hickory, shagbark"), "hickory, shagbark")
        } else {
            (belly / breaking("walnut, black"), "walnut, black")
        };
        assert_eq!(found.wood, wood, "{cut:?}");
        close("share", found.share_of_breaking.unwrap(), fraction, 3e-3);
    }
}

/// Every limit that other values set, worked out by hand: key, limit in mm, which way is beyond, and where it is then wrong.
#[test]
fn every_limit_is_fed_exactly_and_its_hint_followed() {
    let boards = 3.2 + 1.0 + 3.3 + 2.0 * 0.08;
    let rows = [
        ("riser.depth", boards, 1.0, "riser.layers"),
        ("riser.depth", 3.2 + 1.0 + 2.0 * 0.08 + 0.5, -1.0, "riser.layers"),
        ("riser.footing.length", 0.5 * (560.0 - 230.0), 1.0, "riser.footing.length"),
        ("riser.footing.splice", 150.0, 1.0, "riser.footing.splice"),
        ("riser.overlay.length", 560.0, 1.0, "riser.overlay.length"),
        ("riser.shelf.window", 115.0 - 38.0 - 28.0, 1.0, "riser.shelf.window"),
        ("riser.overlay.level", 2.0 * (38.0 + 45.0 + 28.0), -1.0, "riser.shelf.window"),
        ("riser.overlay.level", 2.0 * (50.0 + 20.0), -1.0, "riser.grip.down"),
        ("riser.grip.throat", 4.6 + 7.2 + 6.4 + 33.0 + 3.0 * 0.08, 1.0, "riser.grip.throat"),
        ("lamination[1].from", 180.0, -1.0, "lamination[1].from"),
    ];
    for (path, limit, outward, wrong_at) in rows {
        let file = |mm: f64| -> String {
            let mut table: toml::Table = PLOVER.parse().expect("TOML");
            *at(&mut table, path) = toml::Value::Float(mm);
            toml::to_string(&table).expect("writable")
        };
        let wrong = |text: &str| -> Vec<Diagnostic> {
            planned(text).faults.into_iter().filter(|fault| fault.place.as_str() == wrong_at).collect()
        };
        assert!(wrong(&file(limit)).is_empty(), "{path}: {limit} is the limit and is refused: {:?}", wrong(&file(limit)));
        for beyond in [1e-4, 0.01, 0.7, 1.5] {
            let text = file(limit + outward * beyond);
            let faults = wrong(&text);
            let [fault] = faults.as_slice() else { panic!("{path}: {beyond} beyond {limit}: {faults:?}") };
            let hint = fault.words(System::Millimetre).hints.remove(0);
            // "lower `key` to 3 mm or less", "write from = 0: ...".
            let key = hint.split('`').nth(1).unwrap_or("from");
            let number = hint.split(" to ").nth(1).or(hint.split(" = ").nth(1)).and_then(|rest| rest.split([' ', ':']).next());
            let number: f64 = number.and_then(|number| number.parse().ok()).unwrap_or_else(|| panic!("{hint}"));
            let parent = wrong_at.rsplit_once('.').unwrap().0;
            let inside = if wrong_at == "riser.layers" { "riser" } else { parent };
            let mut table: toml::Table = text.parse().unwrap();
            *at(&mut table, &format!("{inside}.{key}")) = toml::Value::Float(number);
            let after = wrong(&toml::to_string(&table).unwrap());
            assert!(after.is_empty(), "{path}: {hint}, and then {after:?}");
        }
    }
}

/// Report, book and cut list say one number for each thing, and glue and scarf are what their formulas say.
#[test]
fn cut_list_glue_and_book_have_the_parts() {
    let bow = job(PLOVER);
    let (report, build) = (bow.report().unwrap(), bow.build());
    let row = report.riser.as_ref().unwrap();
    let layered = row.layered.as_ref().unwrap();
    let woods: Vec<&str> = layered.layers.iter().map(|layer| layer.wood.as_str()).collect();
    assert_eq!(woods, ["maple, sugar", "walnut, black", "maple, sugar"]);
    // Two lines over the whole blank: 560 mm and an overrun of 12 mm at each end, 48 mm wide.
    close("glue between layers", layered.glue_area_mm2, 2.0 * 584.0 * 48.0, 1e-9);
    close("glue", layered.glue_kg, 1e-6 * layered.glue_area_mm2 * build.glue.spread_kg_m2, 2e-2);
    let reach = layered.layers[2].reach_mm;
    close("the third layer ends", riser(build).thickness_at(reach), 3.2 + 1.0 + 0.16, 1e-4);
    let footing = row.footing.as_ref().unwrap();
    close("slope", footing.slope, 130.0 / 24.0, 1e-4);
    close("keeps", footing.keeps, splice::efficiency(footing.slope), 1e-4);
    let overlay = row.overlay.as_ref().unwrap();
    let width = |s: f64| if s <= 120.0 { 40.0 } else { 40.0 + 6.0 * (s - 120.0) / 180.0 };
    close("under the overlay", overlay.glue_area_mm2, 2.0 * (120.0 * 40.0 + 60.0 * 0.5 * (40.0 + width(180.0))), 1e-4);
    let files = bow.files().unwrap();
    let book = files.names().position(|name| name == "build-book.html").unwrap();
    let book = String::from_utf8_lossy(&files.bytes(book).unwrap()).into_owned();
    for said in [
        "Riser layers, from the flat face on",
        "/riser/layered/mass_g",
        "/riser/footing/keeps",
        "/riser/overlay/mass_g",
        "/riser/overlay/beyond_end/share_of_breaking",
        "riser overlay",
    ] {
        assert!(book.contains(said), "{said}");
    }
    let plain = job(include_str!("../examples/more/wren.toml"));
    let plain = serde_json::to_string(plain.report().unwrap().riser.as_ref().unwrap()).unwrap();
    for absent in ["layered", "footing", "overlay"] {
        assert!(!plain.contains(absent), "{absent}");
    }
}

/// The template of the overlay is as thick as calipers shall read, over a belly that falls off as the strip does.
#[test]
fn the_overlay_s_template_lies_on_the_belly() {
    let bow = job(PLOVER);
    let (build, block) = (bow.build(), bow.riser_block().unwrap());
    let cut = block.overlay.as_ref().unwrap();
    assert!(0.0 < cut.template.area() && !cut.flat, "the strip gets thinner and the block falls off");
    let points = cut.template.flattened(1e-6);
    for x in [-171.3, -100.7, 0.5, 50.3, 131.3, 172.7] {
        let n = points.len();
        let crossed = (0..n).map(|i| (points[i], points[(i + 1) % n])).filter(|(a, b)| (a.x - x) * (b.x - x) < 0.0);
        let mut ys: Vec<f64> = crossed.map(|(a, b)| a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y)).collect();
        ys.sort_by(f64::total_cmp);
        let [inner, outer] = ys.as_slice() else { panic!("{x}: {ys:?}") };
        let wanted = build.stack_mm(f64::abs(x)) - build.stack_mm(0.0);
        assert!((inner - wanted).abs() < 0.011, "{x}: {inner} against {wanted}");
        let thick = riser(build).overlay.as_ref().unwrap().thickness_at(x);
        assert!((outer - inner - thick).abs() < 0.022, "{x}");
    }
    for mark in &cut.check {
        let thick = riser(build).overlay.as_ref().unwrap().thickness_at(mark.station_mm);
        assert!((mark.thickness_mm - thick).abs() < 1e-9);
    }
}

/// A block too narrow for the outline is refused by its width, and the hint is enough.
#[test]
fn a_block_too_narrow_is_told_by_its_width() {
    let told = |width: &str| {
        let said = planned(&PLOVER.replace("width   = 48 ", &format!("width   = {width} ")));
        said.faults.into_iter().find(|fault| fault.place.as_str() == "riser.width")
    };
    // The feather, at 280 mm, lies where the outline is this wide.
    let widest = 40.0 + 6.0 * 160.0 / 180.0;
    assert!(told("48").is_none() && told(&widest.to_string()).is_none());
    let fault = told(&(widest - 1e-3).to_string()).expect("it is told");
    assert_eq!(fault.severity, Severity::Fault);
    let hint = fault.words(System::Millimetre).hints.remove(0);
    let number = hint.split(" to ").nth(1).and_then(|rest| rest.split(' ').next()).unwrap();
    assert!(told(number).is_none(), "{hint}");
    // Nor is a hint's block one that leaves next to nothing to trim; where one does, it is told and its hint is enough, too.
    let warned = |width: &str| {
        let said = planned(&PLOVER.replace("width   = 48 ", &format!("width   = {width} ")));
        said.warnings.into_iter().find(|warning| warning.place.as_str() == "riser.width")
    };
    assert!(warned(number).is_none(), "{hint}");
    for more in [0.0, 3e-4, 0.7] {
        let warning = warned(&(widest + more).to_string()).expect("it is told");
        let hint = warning.words(System::Millimetre).hints.remove(0);
        let number: f64 = hint.split(" to ").nth(1).and_then(|rest| rest.split(' ').next()).unwrap().parse().unwrap();
        assert!((2.0 * number).fract().abs() < 1e-9 && (1.5..2.1).contains(&(number - widest)), "{hint}");
        assert!(told(&number.to_string()).is_none() && warned(&number.to_string()).is_none(), "{hint}");
    }
}

/// Every number and wood of the parts is a lever at the bench, and a try of one is the file with that value.
#[test]
fn the_parts_are_levers_at_the_bench() {
    let bow = job(PLOVER);
    let found = levers(&bow);
    for (key, label) in [
        ("riser.layers[1][1]", "layer 2"),
        ("riser.layers[2][0]", "layer 3, wood"),
        ("riser.width", "block's width"),
        ("riser.footing.wood", "footing, wood"),
        ("riser.footing.length", "footing, length"),
        ("riser.footing.splice", "footing, its V"),
        ("riser.overlay.wood", "riser overlay, wood"),
        ("riser.overlay.level", "riser overlay, level"),
        ("riser.overlay.depth", "riser overlay, depth"),
    ] {
        let lever = found.iter().find(|lever| lever.key == key).unwrap_or_else(|| panic!("{key} is no lever"));
        assert_eq!((lever.label.as_str(), lever.group.as_str()), (label, "riser"));
    }
    let tried = with(&bow, "riser.layers[1][0]", "cherry, black");
    assert_eq!(riser(tried.build()).layers[1].wood.name, "cherry, black");
}

/// One block and one overlay carry both limbs, their fades and footings may differ.
#[test]
fn the_files_of_two_limbs_say_one_riser() {
    let upper = job(PLOVER);
    let places = |key: &str, value: &str| -> Vec<String> {
        let faults = one_riser(upper.build(), with(&upper, key, value).build());
        faults.into_iter().map(|fault| fault.place.as_str().to_owned()).collect()
    };
    for (key, value) in [("riser.footing.length", "140"), ("riser.overlay.length", "370"), ("riser.layers[2][1]", "3.35")] {
        assert!(places(key, value).is_empty(), "{key}: {:?}", places(key, value));
    }
    for (key, value, place) in [
        ("riser.layers[2][1]", "3.5", "riser.layers"),
        ("riser.layers[0][0]", "cherry, black", "riser.layers"),
        ("riser.overlay.depth", "34", "riser.overlay"),
        ("riser.overlay.wood", "cherry, black", "riser.overlay"),
    ] {
        assert!(places(key, value).iter().any(|found| found == place), "{key}: {:?}", places(key, value));
    }
    let (before, rest) = PLOVER.split_once("[riser.overlay]").unwrap();
    // Nothing is cut from so low a block.
    let bare = job(&format!("{before}[[lamination]]{}", rest.split_once("[[lamination]]").unwrap().1));
    let faults = one_riser(upper.build(), bare.build());
    assert!(faults.iter().any(|fault| fault.place.as_str() == "riser.overlay"), "{faults:?}");
}

/// Who saws by the steps has the V that the sheet shows: its slope, its point, the wood behind it, and the piece that fits in.
#[test]
fn the_footing_s_steps_make_the_v_of_the_sheet() {
    let job = job(PLOVER);
    let build = job.build();
    let (riser, block) = (riser(build), job.riser_block().unwrap());
    let footing = riser.footing.as_ref().unwrap();
    let steps = sheets::block_parts::block_steps(build, riser, block);
    let step = steps.iter().find(|step| step.starts_with("Footings")).unwrap();
    let mm = |before: &str| -> f64 {
        let rest = step.split(before).nth(1).unwrap_or_else(|| panic!("no `{before}` in {step}"));
        rest.split([' ', ',', ';', '.']).next().unwrap().parse().unwrap()
    };
    let (off, deep, inside, long) = (mm("sawn, saw "), mm("cut a V "), mm("middle of the width, "), mm("is a piece "));
    let end = riser.feather_station_mm() + riser.overrun_mm;
    let [point, open] = footing.corners(riser.feather_station_mm());
    assert!((end - off - open).abs() < 0.1, "the V opens at {} and not at {open}", end - off);
    assert!((end - off - deep - point).abs() < 0.1 && (riser.feather_station_mm() - inside - point).abs() < 0.1, "{step}");
    assert!((long - off - deep).abs() < 0.11, "{step}");
    let slope: f64 = step.split("run 1:").nth(1).unwrap().split(' ').next().unwrap().trim_end_matches('.').parse().unwrap();
    assert!((slope - 2.0 * deep / block.width_mm).abs() < 0.06, "{step}");
}

/// The side view has every glue line where the section has it, and no other: with a lamination that begins beyond the view on either side of the block,
/// and with halves whose lap the block's flat face takes up.
#[test]
fn glue_lines_are_drawn_where_they_lie() {
    let strip = |name: &str, keys: &str| format!("[[lamination]]\nname = \"{name}\"\nwood = \"maple, sugar\"\n{keys}\n\n");
    let belly = "[[lamination]]\nname      = \"belly\"";
    let begins = |name: &str| strip(name, "thickness = 1.2\nfrom = 300\nto = 700");
    let under = PLOVER.replacen(belly, &format!("{}{belly}", begins("wedge")), 1);
    let over = under.replacen("on      = \"belly\"", "on      = \"wedge\"", 1);
    let lapped = PLOVER.replacen("taper     = 0.0015", "taper = 0.0015\npieces = \"halves\"\nmeet = { lap = 60 }", 1);
    let lapped = lapped.replacen("depth   = 7.2", "depth = 10", 1).replacen("3.3]]", "6.2]]", 1);
    for (text, on_back) in [(PLOVER, 1), (&under, 2), (&over, 1), (&lapped, 1)] {
        let bow = job(text);
        let (build, block) = (bow.build(), bow.riser_block().unwrap());
        assert_eq!(riser(build).position, on_back);
        let sheet = sheets::riser::sheet(build, block).unwrap();
        let paths = |kind: Kind| {
            sheet.items.iter().filter(move |item| item.kind == kind).filter_map(|item| match &item.shape {
                Shape::Path(path) => Some((item.part.as_str(), path)),
                Shape::Label(_) => None,
            })
        };
        let view = paths(Kind::Cut).find(|(part, _)| *part == "riser, side view").unwrap().1.bounds();
        // Beside the lap, outside what grip and shelf take away. The limbs lie alike on both sides.
        let s = 95.0;
        let x = 0.5 * (view.min.x + view.max.x) + s;
        let crossed = |(_, path): (&str, &Path)| {
            let line = path.flattened(1e-4);
            let span = line.windows(2).find(|pair| (pair[0].x - x) * (pair[1].x - x) < 0.0)?;
            Some(span[0].y + (x - span[0].x) / (span[1].x - span[0].x) * (span[1].y - span[0].y) - view.min.y)
        };
        let inside = |y: &f64| 0.0 < *y && *y < build.depth_mm(s) - 1e-6;
        // From end to end of the view and, since the back tapers, not level, as sizes are.
        let glue = |(_, path): &(&str, &Path)| {
            let bounds = path.bounds();
            (bounds.min.x - view.min.x).abs() < 1.5 && (bounds.max.x - view.max.x).abs() < 1.5 && 1e-3 < bounds.height()
        };
        let mut drawn: Vec<f64> = paths(Kind::Dimension).filter(glue).filter_map(crossed).filter(inside).collect();
        drawn.sort_by(f64::total_cmp);
        let section = Stack::of(build).unwrap().section(s, s);
        let glued: Vec<_> = section.layers.iter().filter(|layer| layer.part == LayerKind::Glue).collect();
        assert_eq!(drawn.len(), glued.len(), "{drawn:?}");
        for (y, glue) in drawn.iter().zip(glued) {
            assert!(glue.back_mm - 1e-6 < *y && *y < glue.belly_mm() + 1e-6, "{y}: {} to {}", glue.back_mm, glue.belly_mm());
        }
    }
}
