//! Trapped and crowned limbs: the section against another library's meshes, closed forms, what each answer makes of it, and the words for hands.

mod peers;
mod support;

use serde_json::json;
use std::f64::consts::PI;
use std::fs;
use support::bows::{IN, flatbow, lath};
use support::chance::Chance;
use support::near::close;
use taperwright::buildfile::edit::rewritten;
use taperwright::buildfile::{self, Source};
use taperwright::job::{Change, Inputs, Job};
use taperwright::mechanics::across::SectionShape;
use taperwright::mechanics::bow::{Bow, Options};
use taperwright::mechanics::layer_kind::LayerKind;
use taperwright::mechanics::rescale::rescale;
use taperwright::mechanics::section::{Section, Stack};
use taperwright::mechanics::twist::{SHEAR, TwistLimb};
use taperwright::mechanics::{draw, glueup, hinge, mass, relief, sizing};
use taperwright::model::Build;
use taperwright::model::lamination::Face;
use taperwright::model::outline::{LimbShape, NarrowFace, Trapped};
use taperwright::model::workshop::{GlueStage, Held};
use taperwright::numeric::interp::{Between, Curve};
use taperwright::serve::levers::{Takes, levers};
use taperwright::units::System;

/// A section and what it is made of, as the other library is told.
struct Case {
    faces: [f64; 2],
    crown: f64,
    /// Thickness, modulus, share of the width.
    layers: Vec<(f64, f64, f64)>,
}

impl Case {
    fn full(&self) -> f64 {
        self.faces[0].max(self.faces[1])
    }

    fn depth(&self) -> f64 {
        self.layers.iter().map(|layer| layer.0).sum()
    }

    fn section(&self) -> Section {
        let layers = self.layers.iter().enumerate();
        let layers = layers.map(|(k, (t, e, fraction))| (LayerKind::Lamination(k), *t, *e, fraction * self.full()));
        Section::shaped(layers, Some(SectionShape::of(self.full(), self.faces, self.crown, self.depth())))
    }

    fn told(&self) -> serde_json::Value {
        json!({ "faces": self.faces, "crown": self.crown, "depth": self.depth(), "layers": self.layers })
    }
}

/// Random stacks, trapped on either face, crowned or both, some crowns through glue lines and layers narrower by themselves: stiffness,
/// neutral axis, stiffness sideways and in stretch against the meshes of sectionproperties.
#[test]
fn sections_agree_with_meshes_of_another_library() {
    let mut chance = Chance::of(16);
    let mut cases = Vec::new();
    for k in 0..16 {
        let full = chance.between(10.0, 55.0);
        let narrow = full * chance.between(0.25, 1.0);
        let faces = if k % 2 == 0 { [narrow, full] } else { [full, narrow] };
        let mut layers = Vec::new();
        for n in 0..2 + chance.below(3) {
            if 0 < n {
                layers.push((chance.between(0.03, 0.2), 2500.0, 1.0));
            }
            layers.push((chance.between(0.8, 6.0), chance.between(6e3, 45e3), 1.0));
        }
        if k % 4 == 1 {
            // The belly: a narrower layer within the stack would leave its neighbours' faces bare.
            layers.last_mut().unwrap().2 = 0.9;
        }
        let mut case = Case { faces, crown: 0.0, layers };
        if k % 3 != 0 {
            case.crown = chance.between(0.02, 0.6) * (0.5 * faces[1]).min(case.depth());
        }
        cases.push(case);
    }
    let asked: Vec<serde_json::Value> = cases.iter().map(Case::told).collect();
    let Some(answer) = peers::run("across.py", &[], &serde_json::to_string(&asked).unwrap()) else { return };
    let answers: Vec<Vec<f64>> = serde_json::from_str(&answer).unwrap();
    assert_eq!(answers.len(), cases.len());
    for (k, (case, wanted)) in cases.iter().zip(&answers).enumerate() {
        let section = case.section();
        let sum = |of: &dyn Fn(&taperwright::mechanics::section::Layer) -> f64| section.layers.iter().map(of).sum::<f64>();
        close(&format!("{k}: EI"), section.stiffness_n_mm2, wanted[0], 1e-6);
        close(&format!("{k}: neutral axis"), section.neutral_mm, wanted[1], 1e-6);
        close(&format!("{k}: sideways"), sum(&|layer| layer.modulus_mpa * layer.sideways_mm4()), wanted[2], 1e-6);
        close(&format!("{k}: area"), sum(&|layer| layer.modulus_mpa * layer.area_mm2()), wanted[3], 1e-6);
        // And it is no square section that would pass as well.
        let square =
            Section::of(section.layers.iter().map(|layer| (layer.part, layer.thickness_mm, layer.modulus_mpa, layer.width_mm)));
        assert!(1e-4 < (square.stiffness_n_mm2 / wanted[0] - 1.0).abs(), "{k}");
    }
}

/// Half a disc as a belly: area π R²/2 and centroid 4R/3π below its flat (any table of sections); a trapezoid of faces a and b:
/// I = h³ (a² + 4ab + b²)/36 (a + b), centroid h (2b + a)/3 (a + b) from a.
#[test]
fn tables_of_sections_agree() {
    let r: f64 = 7.0;
    let disc =
        Section::shaped([(LayerKind::Lamination(0), r, 1.0, 2.0 * r)], Some(SectionShape::of(2.0 * r, [2.0 * r; 2], r, r)));
    close("half disc, area", disc.layers[0].area_mm2(), 0.5 * PI * r * r, 1e-9);
    close("half disc, centroid", disc.neutral_mm, 4.0 * r / (3.0 * PI), 1e-9);
    close("half disc, I", disc.stiffness_n_mm2, (PI / 8.0 - 8.0 / (9.0 * PI)) * r.powi(4), 1e-9);
    let (a, b, h) = (12.0, 30.0, 9.0_f64);
    let trap = Section::shaped([(LayerKind::Lamination(0), h, 1.0, b)], Some(SectionShape::of(b, [a, b], 0.0, h)));
    close("trapezoid, I", trap.stiffness_n_mm2, h.powi(3) * (a * a + 4.0 * a * b + b * b) / (36.0 * (a + b)), 1e-12);
    close("trapezoid, centroid", trap.neutral_mm, h * (2.0 * b + a) / (3.0 * (a + b)), 1e-12);
    // A crown that begins at nothing takes two thirds of itself off each edge's height, on average a third, and no digit with it.
    let (width, depth) = (30.0, 10.0);
    for crown in [1e-9, 1e-6, 1e-3] {
        let part = SectionShape::of(width, [width; 2], crown, depth).moments(0.0, depth)[0];
        close("a shallow crown", (depth - part) / crown, 1.0 / 3.0, 1e-3_f64.max(1e-13 / crown));
    }
}

fn curve(points: &[(f64, f64)]) -> Curve {
    Curve::through(points.to_vec(), Between::Straight).unwrap()
}

fn shaped(build: &Build, shape: LimbShape) -> Build {
    let mut build = build.clone();
    build.outline.as_mut().unwrap().shape = shape;
    build
}

fn trapped_to(face: Face, points: &[(f64, f64)]) -> LimbShape {
    LimbShape { trapped: Some(Trapped { face, width: NarrowFace::To(curve(points)) }), crown_mm: None }
}

fn weight(build: &Build) -> f64 {
    draw::weight_of(build, &Options::default()).unwrap()
}

/// A face as wide as the outline and no crown is the square limb, to the last digits: weight, mass, twist.
#[test]
fn what_takes_nothing_off_changes_nothing() {
    let square = flatbow();
    let same = LimbShape { crown_mm: Some(curve(&[(0.0, 0.0)])), ..trapped_to(Face::Belly, &[(0.0, 1.0), (800.0, 1.0)]) };
    let same = shaped(&square, same);
    close("weight", weight(&same), weight(&square), 1e-9);
    close("mass", mass::limb_kg(&same).unwrap(), mass::limb_kg(&square).unwrap(), 1e-12);
}

/// The weight falls with EI: a lath trapped alike all along draws what its table section says, and weighs what its volume does.
#[test]
fn a_lath_draws_and_weighs_by_its_section() {
    let square = lath(800.0, 30.0, 11.0, 12_000.0);
    let (a, b, h) = (18.0, 30.0, 11.0_f64);
    for face in [Face::Back, Face::Belly] {
        let trapped = shaped(&square, trapped_to(face, &[(0.0, a / b)]));
        let part = h.powi(3) * (a * a + 4.0 * a * b + b * b) / (36.0 * (a + b)) / (b * h.powi(3) / 12.0);
        // The string pulls at the neutral axis and the grip is counted from the back: where the axis lies moves the weight a little.
        close("weight", weight(&trapped), part * weight(&square), 5e-3);
        let stiffness = |build: &Build| Stack::of(build).unwrap().properties(300.0, 300.0).stiffness_n_mm2;
        close("stiffness", stiffness(&trapped), part * stiffness(&square), 1e-12);
        close("mass", mass::limb_kg(&trapped).unwrap(), 0.8 * mass::limb_kg(&square).unwrap(), 1e-9);
        let stack = Stack::of(&trapped).unwrap();
        let neutral = stack.properties(300.0, 300.0).neutral_mm;
        // Away from the narrow face.
        assert!(if face == Face::Back { 0.5 * h < neutral } else { neutral < 0.5 * h });
    }
}

/// Scraping leaves the sides where they are and the crown as high: by slices of the limb that is left, measured by its own geometry.
#[test]
fn a_scraped_belly_keeps_sides_and_crown() {
    let crown = 1.4;
    let shape = LimbShape { crown_mm: Some(curve(&[(0.0, crown)])), ..trapped_to(Face::Back, &[(0.0, 0.6)]) };
    let build = shaped(&lath(800.0, 30.0, 11.0, 12_000.0), shape);
    let stack = Stack::of(&build).unwrap();
    let off = 1.1;
    let (edge, slope) = (11.0 - off - crown, 12.0 / (11.0 - crown));
    let at_edge: f64 = 18.0 + slope * edge;
    let radius = (0.25 * at_edge * at_edge + crown * crown) / (2.0 * crown);
    let width = |z: f64| {
        if z <= edge {
            return 18.0 + slope * z;
        }
        let below = z - edge + (radius - crown);
        2.0 * (radius * radius - below * below).max(0.0).sqrt()
    };
    let depth = 11.0 - off;
    let count = 400_000;
    let (mut zeroth, mut first, mut second) = (0.0, 0.0, 0.0);
    for k in 0..count {
        let dz = depth / f64::from(count);
        let z = (f64::from(k) + 0.5) * dz;
        let part = width(z) * dz;
        (zeroth, first, second) = (zeroth + part, first + part * z, second + part * z * z);
    }
    let left = stack.scraped(300.0, off);
    close("depth", left.depth_mm, depth, 1e-12);
    close("neutral axis", left.neutral_mm, first / zeroth, 1e-7);
    close("stiffness", left.stiffness_n_mm2, 12_000.0 * (second - first * first / zeroth), 1e-7);
    assert!(left.stiffness_n_mm2 < stack.properties(300.0, 300.0).stiffness_n_mm2);
}

/// Twist against the mesh's torsion constant, J: 4 I k of one wood, trapped or crowned, lies within seven hundredths; the band of shear moduli is
/// more than ten times as wide.
#[test]
fn twist_is_near_the_torsion_constant_of_the_mesh() {
    let shapes: [([f64; 2], f64); 4] = [([32.0, 32.0], 0.0), ([22.0, 32.0], 0.0), ([32.0, 32.0], 2.0), ([26.0, 32.0], 1.5)];
    let depth = 9.0;
    let cases = shapes.map(|(faces, crown)| {
        json!({ "faces": faces, "crown": crown, "depth": depth, "layers": [[depth, 12_000.0, 1.0]], "mesh": 0.5 })
    });
    let Some(answer) = peers::run("across.py", &[], &json!(cases).to_string()) else { return };
    let answers: Vec<Vec<f64>> = serde_json::from_str(&answer).unwrap();
    for ((faces, crown), wanted) in shapes.iter().zip(&answers) {
        let shape =
            LimbShape { crown_mm: Some(curve(&[(0.0, *crown)])), ..trapped_to(Face::Back, &[(0.0, faces[0] / faces[1])]) };
        let build = shaped(&lath(800.0, faces[1], depth, 12_000.0), shape);
        let bow = Bow::of(&build, &Options::default()).unwrap();
        let limb = TwistLimb::of(&bow, &Options::default(), SHEAR[0]);
        let node = limb.steps[3].at[2];
        close("J", 1.0 / (node.twist * SHEAR[0] * 12_000.0), wanted[4], 0.07);
        close("sideways", 1.0 / node.sideways, wanted[2], if *crown > 0.0 { 1e-3 } else { 1e-9 });
    }
}

/// A limb that is glued bent and then crowned: what stays bears no force and no moment at any station, and its curvature moves by as much as
/// its strains turn.
#[test]
fn filed_to_its_shape_a_glued_limb_finds_its_balance() {
    let mut square = flatbow();
    let rise = vec![(0.0, 0.0), (203.2, 0.0), (508.0, -17.8), (838.2, -50.8)];
    square.glue.stages = vec![GlueStage {
        number: 1,
        held: Held::Form { rise },
        clamp_time_s: None,
        want_tip_mm: None,
        retained: None,
        press: None,
    }];
    square.glue.line_mm = 0.0;
    let crowned = LimbShape {
        crown_mm: Some(curve(&[(300.0, 0.0), (500.0, 1.8)])),
        ..trapped_to(Face::Back, &[(300.0, 1.0), (500.0, 0.7)])
    };
    let build = shaped(&square, crowned);
    let [before, after] = [&square, &build].map(|build| glueup::unstrung(build).unwrap().value);
    let stack = Stack::of(&build).unwrap();
    let mut moved = 0.0_f64;
    for s in [350.0, 430.0, 560.0, 700.0, 800.0] {
        let section = stack.section(s, s);
        let (mut force, mut moment, mut scale) = (0.0, 0.0, 0.0);
        let mut turned = Vec::new();
        for layer in &section.layers {
            let strain = |of: &taperwright::mechanics::bow::Unstrung| {
                let locked = of.locked.iter().find(|locked| locked.part == layer.part).expect("every layer is glued");
                [locked.back.at(s, s), locked.belly.at(s, s)]
            };
            let ([a, b], [c, d]) = (strain(&before), strain(&after));
            turned.push(((d - c) - (b - a)) / layer.thickness_mm);
            let count = 20_000;
            for k in 0..count {
                let part = (f64::from(k) + 0.5) / f64::from(count);
                let z = layer.back_mm + part * layer.thickness_mm;
                let pull =
                    layer.modulus_mpa * layer.width_at_mm(z) * layer.thickness_mm / f64::from(count) * (c + part * (d - c));
                force += pull;
                moment += pull * z;
                scale += pull.abs();
            }
        }
        assert!(force.abs() < 1e-5 * scale && moment.abs() < 1e-5 * scale * section.depth_mm, "{s}: {force} {moment} of {scale}");
        let bend = after.curvature_per_mm.at(s, s) - before.curvature_per_mm.at(s, s);
        // Strain by a bend is −Δκ (z − z̄).
        for turned in turned {
            assert!((turned + bend).abs() < 1e-8, "{s}: {turned} {bend}");
        }
        moved = moved.max(bend.abs());
    }
    assert!(1e-7 < moved, "{moved}");
    // Where nothing is filed, nothing moves.
    assert!((after.curvature_per_mm.at(250.0, 250.0) - before.curvature_per_mm.at(250.0, 250.0)).abs() < 1e-12);
}

/// A trapped bow is sized, and the sized one draws what was asked; a square one sized to the same is thinner.
#[test]
fn a_trapped_bow_is_sized_to_its_weight() {
    let shape = LimbShape {
        crown_mm: Some(curve(&[(200.0, 0.0), (300.0, 1.0)])),
        ..trapped_to(Face::Back, &[(200.0, 1.0), (300.0, 0.75)])
    };
    let mut square = flatbow();
    square.sizing = Some(taperwright::model::build::Sizing { change: vec![0, 1], ..Default::default() });
    let build = shaped(&square, shape);
    let target = build.target.unwrap();
    let [trapped, square] = [&build, &square].map(|build| sizing::size(build, &Options::default()).unwrap().value.build);
    close("weight", weight(&trapped), target.draw_weight_n + target.finishing_n, 1e-5);
    assert!(square.dry_stack_mm(400.0) + 0.3 < trapped.dry_stack_mm(400.0));
}

/// A belly is sized down to the crown worked into it, and no further: the refusal names it, and a file whose belly is that thin still reads.
#[test]
fn sizing_stops_at_the_crown() {
    let crowned = |weight: &str, thickness: &str| {
        format!(
            "units = \"in\"\n[target]\ndraw_weight = \"{weight}\"\ndraw_length = 28\nfinishing = \"3 lbf\"\n[outline]\nnock_to_nock = 66\n\
             width = [[0, 1.125], [9, 1.6], [33, 0.5]]\ncrown = 0.18\n[[lamination]]\nname = \"back\"\nwood = \"hickory, shagbark\"\n\
             thickness = 0.30\n[[lamination]]\nname = \"belly\"\nwood = \"maple, sugar\"\nthickness = {thickness}\n[sizing]\n\
             change = [\"belly\"]\n"
        )
    };
    let (_, build) = read(&crowned("20 lbf", "0.25"));
    let refused =
        sizing::size(&build, &Options::default()).expect_err("it ends at the crown")[0].spoken(System::Inch).to_string();
    assert!(refused.contains("`belly` is then no thicker than the crown of 0.18 in that is worked into it"), "{refused}");
    read(&crowned("20 lbf", "0.18"));
    let (_, outcome) = buildfile::read("bow.toml", &crowned("20 lbf", "0.179"));
    assert_eq!(outcome.expect_err("thinner")[0].place.as_str(), "outline.crown");
}

/// Each number of the shape can be moved on the page, stations as lengths and parts as ratios, and moving it moves the weight.
#[test]
fn the_page_may_change_it() {
    let job = Job::read("bow.toml", &meadow(TRAPPED), Inputs::default()).expect("it reads");
    let found = levers(&job);
    let lever = |key: &str| found.iter().find(|lever| lever.key == key).unwrap_or_else(|| panic!("no {key}"));
    assert!(matches!(&lever("outline.trapped.face").takes, Takes::Choice { choices } if choices == &["back", "belly"]));
    let number = |key: &str| match &lever(key).takes {
        Takes::Number { value, unit, step, .. } => (*value, unit.clone(), *step),
        Takes::Choice { .. } => panic!("{key} is a number"),
    };
    assert_eq!(number("outline.trapped.to[1][0]"), (12.0, "in".to_owned(), 0.125));
    assert_eq!(number("outline.trapped.to[1][1]"), (0.8, String::new(), 0.01));
    assert_eq!(number("outline.crown[1][1]").1, "in");
    assert_eq!(lever("outline.crown[1][0]").label, "crown point 2, station");
    assert!(found.iter().filter(|lever| lever.key.starts_with("outline.trapped.")).all(|lever| lever.group == "outline"));
    let force = |job: &Job| job.force_curve().expect("it draws").at_full_draw().force_n;
    for (key, value) in
        [("outline.trapped.to[1][1]", "0.7"), ("outline.crown[1][1]", "0.06"), ("outline.trapped.to[1][0]", "11.25")]
    {
        let tried = job.with(&[Change::new(key, value)]).unwrap_or_else(|unread| panic!("{key}: {unread}"));
        assert!(force(&tried) < force(&job) - 0.05, "{key}");
    }
}

const TRAPPED: &str =
    "trapped = { face = \"back\", to = [[6, 1.0], [12, 0.8], [37, 0.7]] }\ncrown = [[8, 0], [14, 0.04], [37, 0.03]]";

/// The main example with these lines under `[outline]`.
fn meadow(more: &str) -> String {
    let text = fs::read_to_string("examples/meadow.toml").unwrap();
    let first = "nock_to_nock    = 74\n";
    assert!(text.contains(first));
    text.replacen(first, &format!("{first}{more}\n"), 1)
}

fn read(text: &str) -> (Source, Build) {
    let (source, outcome) = buildfile::read("bow.toml", text);
    let build = outcome.unwrap_or_else(|faults| panic!("{}", faults[0].spoken(System::Inch))).value;
    (source, build)
}

/// One number is for the limbs: nothing at the level part's end, all of it from the feather on. A list is held beyond its ends.
#[test]
fn a_number_is_eased_in_and_a_list_is_as_it_stands() {
    let (_, build) = read(&meadow("trapped = { by = 0.2 }\ncrown = 0.05"));
    let (outline, riser) = (build.outline.as_ref().unwrap(), build.riser.as_ref().unwrap());
    let (level, feather) = (0.5 * riser.level_mm, riser.feather_station_mm());
    let less = |s: f64| outline.width_at(s) - outline.faces_at(s)[0];
    for (s, part) in [(0.0, 0.0), (level, 0.0), (0.5 * (level + feather), 0.5), (feather, 1.0), (outline.end_mm(), 1.0)] {
        assert!((less(s) - part * 0.2 * IN).abs() < 1e-9, "{s}");
        assert!((outline.crown_at(s) - part * 0.05 * IN).abs() < 1e-9, "{s}");
        assert!((outline.faces_at(s)[1] - outline.width_at(s)).abs() < 1e-12, "{s}");
    }
    let (_, build) = read(&meadow(TRAPPED));
    let outline = build.outline.as_ref().unwrap();
    for (at, part) in [(0.0, 1.0), (9.0, 0.9), (37.0, 0.7), (37.6, 0.7)] {
        close("held", outline.faces_at(at * IN)[0], part * outline.width_at(at * IN), 1e-9);
    }
    assert!(outline.crown_at(4.0 * IN).abs() < 1e-12);
}

/// Carried to another length the stations move with the limb, in the file too, and what is one number stays.
#[test]
fn a_trapped_bow_is_carried_to_another_length() {
    for more in [TRAPPED, "trapped = { face = \"belly\", by = 0.1 }\ncrown = 0.03", "trapped = { by = [[9, 0], [37, 0.12]] }"] {
        let (source, build) = read(&meadow(more));
        let longer = rescale(&build, 78.0 * IN).unwrap().value.build;
        let written = rewritten(&source, &build, &longer).unwrap();
        let (_, again) = read(&written.text);
        let (asked, found) = (longer.outline.unwrap(), again.outline.unwrap());
        // Stations are written to a sixteenth of an inch.
        for k in 0..40 {
            let s = asked.end_mm() * f64::from(k) / 40.0;
            for face in [0, 1] {
                assert!((asked.faces_at(s)[face] - found.faces_at(s)[face]).abs() < 0.2, "{more}: {s}");
            }
            assert!((asked.crown_at(s) - found.crown_at(s)).abs() < 0.02, "{more}: {s}");
        }
        let tip = build.outline.as_ref().unwrap();
        close("the tip's narrow face", asked.faces_at(asked.nock_mm())[0], tip.faces_at(tip.nock_mm())[0], 1e-6);
    }
}

/// A bow that is made wider has both faces wider.
#[test]
fn widening_takes_both_faces_along() {
    let less = Trapped { face: Face::Back, width: NarrowFace::By(curve(&[(0.0, 4.0)])) };
    let build = shaped(&flatbow(), LimbShape { trapped: Some(less), crown_mm: None });
    let wider = relief::wider(&build, 1.1).unwrap();
    for (was, now) in build.outline.unwrap().faces_at(400.0).iter().zip(wider.outline.unwrap().faces_at(400.0)) {
        close("face", now, 1.1 * was, 1e-9);
    }
}

/// A back that is trapped all at once makes a hinge, and the hinge is laid to it.
#[test]
fn a_sudden_trap_is_named_as_the_cause_of_a_hinge() {
    let sudden = shaped(&flatbow(), trapped_to(Face::Back, &[(500.0, 1.0), (503.0, 0.45)]));
    let curve = draw::curve(&sudden, &Options::default()).unwrap().value;
    let found = hinge::find(&sudden, &curve);
    assert!(found.iter().any(|hinge| hinge.cause == hinge::HingeCause::Trapped), "{found:?}");
}

/// Report, book and sheet say one thing: the faces and the edges' thickness at the stack's stations, and that the outline is the widest face.
#[test]
fn the_shop_is_told_how_to_file_it() {
    let job = Job::read("bow.toml", &meadow(TRAPPED), Inputs::default()).expect("it reads");
    let square = Job::read("bow.toml", &meadow(""), Inputs::default()).expect("it reads");
    let force = |job: &Job| job.force_curve().expect("it draws").at_full_draw().force_n;
    assert!(force(&job) < 0.95 * force(&square));
    assert!(job.limb_kg().unwrap() < 0.95 * square.limb_kg().unwrap());
    let report = job.report().expect("it is planned");
    assert!(square.report().expect("it is planned").stack.iter().all(|row| row.across.is_none()));
    let outline = job.build().outline.as_ref().unwrap();
    for row in &report.stack {
        let across = row.across.expect("it is shaped");
        assert!((across.back_mm - outline.faces_at(row.station_mm)[0]).abs() < 1e-3, "{}", row.station_mm);
        assert!((across.belly_mm - row.width_mm.unwrap()).abs() < 1e-9);
        assert!((across.edge_mm - (row.total_mm - across.crown_mm)).abs() < 2e-3);
    }
    let row = report.stack.iter().position(|row| (row.station_mm - 20.0 * IN).abs() < 1e-6).expect("a station at 20 in");
    let across = report.stack[row].across.unwrap();
    let files = job.files().expect("it is planned");
    let file = |name: &str| {
        let index = files.names().position(|known| known.ends_with(name)).unwrap_or_else(|| panic!("no {name}"));
        String::from_utf8_lossy(&files.bytes(index).expect("it is written")).into_owned()
    };
    let book = file("build-book.html");
    for (key, text) in [("back_mm", System::Inch.rule(across.back_mm)), ("edge_mm", System::Inch.thickness(across.edge_mm))] {
        let pointer = format!("/stack/{row}/across/{key}");
        let at = book.find(&pointer).unwrap_or_else(|| panic!("no {pointer}"));
        assert!(book[at..].split("</td>").next().unwrap().contains(&text), "{key}: {text}");
    }
    assert!(book.contains("The limb across"));
}
