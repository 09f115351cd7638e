//! The whole reader on whole files.

use super::*;
use crate::model::build::SizingHow;
use crate::model::lamination::{Face, Pieces};
use crate::model::riser::Fade;
use crate::model::taper::TaperForm;
use crate::model::workshop::{Held, MachineCutter, SheetCutter, SledMake};
use crate::units::{MM_PER_IN, N_PER_LBF, System};

/// A whole flatbow: every table of the build file.
const MEADOW: &str = include_str!("meadow.toml");

fn sound(text: &str) -> Reported<Build> {
    let (source, outcome) = read("meadow.toml", text);
    outcome.unwrap_or_else(|faults| panic!("{}", diag::render(&faults, &source)))
}

#[test]
fn a_whole_flatbow_reads_into_internal_units() {
    let Reported { value: build, warnings } = sound(MEADOW);
    assert_eq!(warnings, []);
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9 * b.abs().max(1.0), "{a} {b}");
    let inch = MM_PER_IN;
    assert_eq!((build.title.as_str(), build.units), ("Meadow flatbow", System::Inch));
    let target = build.target.unwrap();
    near(target.draw_weight_n, 42.0 * N_PER_LBF);
    near(target.pivot_to_nock_mm, 26.25 * inch);
    near(target.brace_height_mm, 6.25 * inch);
    near(target.finishing_n, 3.0 * N_PER_LBF);
    let outline = build.outline.as_ref().unwrap();
    near(outline.end_mm(), 33.75 * inch);
    near(outline.width_at(6.0 * inch), (1.125 + 0.2375) * inch);
    near(outline.nock.angle_rad, 40.0_f64.to_radians());
    let riser = build.riser.as_ref().unwrap();
    assert_eq!((riser.position, riser.fade, riser.across.len()), (2, Fade::Arc, 5));
    near(riser.fade_length_mm(), 5.5 * inch);
    let [back, core, belly] = build.laminations.as_slice() else { panic!("three laminations") };
    assert_eq!((back.pieces, core.pieces, belly.pieces), (Pieces::Full, Pieces::Halves, Pieces::Halves));
    assert_eq!((back.keep_face, back.stage, back.finished.form()), (Some(Face::Back), 2, TaperForm::Parallel));
    near(back.strip_length_mm(), 69.0 * inch);
    near(core.thickness_at(33.75 * inch), (0.150 - 29.75 * 0.002) * inch);
    near(core.strip_length_mm(), 35.25 * inch);
    assert!(belly.ground && !core.ground);
    near(belly.thickness_at(12.0 * inch), 0.5 * (0.166 + 0.149) * inch);
    assert_eq!(build.sizing.as_ref().map(|sizing| (sizing.change.clone(), sizing.how)), Some((vec![0], SizingHow::Thickness)));
    near(build.glue.line_mm, 0.003 * inch);
    let [one, two] = build.glue.stages.as_slice() else { panic!("two stages") };
    assert_eq!(one.held, Held::Props { rise_mm: 3.0 * inch, at_mm: 32.0 * inch });
    near(one.clamp_time_s.unwrap(), 64_800.0);
    assert!(matches!(&two.held, Held::Form { rise } if rise.len() == 4));
    near(two.want_tip_mm.unwrap(), -1.5 * inch);
    let sander = build.sander.as_ref().unwrap();
    assert_eq!((sander.cutter, sander.together, sander.repeat_last), (MachineCutter::Drum, 2, 2));
    near(sander.feed_mm_s, 50.8);
    near(sander.papers[1].max_mm, 0.006 * inch);
    near(sander.papers[0].scratch_mm, 1.4 * 0.269);
    let sled = build.sled.as_ref().unwrap();
    assert_eq!(sled.make, SledMake::Ramp);
    near(sled.deck_mm, 0.236 * inch);
    near(sled.sheet.length_mm, 48.0 * inch);
    assert!(matches!(build.shop.cutter, SheetCutter::Laser { bed_mm, .. } if (bed_mm[1] - 12.0 * inch).abs() < 1e-9));
    assert_eq!((build.shop.paper.name.as_str(), build.shop.shims.len(), build.shop.shims[2].count), ("letter", 3, Some(12)));
    for key in ["moisture", "lamination.taper of back", "sander.repeats", "sled.fit", "glue.modulus"] {
        assert!(
            build.assumed.iter().any(|assumed| assumed.key == key) == (key != "lamination.taper of back"),
            "{key}: {:?}",
            build.assumed
        );
    }
}

#[test]
fn the_starter_reads_without_a_word_in_both_systems() {
    for units in [System::Inch, System::Millimetre] {
        for style in Style::ALL {
            for (length_in, weight_lbf, draw_in) in [
                (48.0, 15.0, 20.0),
                (54.0, 20.0, 24.0),
                (58.0, 90.0, 28.0),
                (66.0, 45.0, 28.0),
                (71.4, 38.0, 32.0),
                (80.0, 90.0, 30.0),
            ] {
                let options = Starter {
                    title: "A \\ \"quoted\" title\n".into(),
                    units,
                    nock_to_nock_mm: System::Inch.to_mm(length_in),
                    draw_weight_n: weight_lbf * N_PER_LBF,
                    draw_length_mm: System::Inch.to_mm(draw_in),
                    style,
                };
                let Reported { value: build, warnings } = sound(&starter(&options));
                assert_eq!(warnings, [], "{options:?}");
                assert_eq!((build.title.as_str(), build.units), ("A \\ \"quoted\" title", units));
                let target = build.target.unwrap();
                assert!((target.draw_weight_n / options.draw_weight_n - 1.0).abs() < 1e-9);
                assert!((target.draw_length_mm - options.draw_length_mm).abs() < 0.6);
                assert!((build.outline.unwrap().nock_to_nock_mm - options.nock_to_nock_mm).abs() < 4.0);
            }
        }
    }
}

/// A batch with one lamination, its lines as given.
fn one(lines: &str, rest: &str) -> String {
    format!("units = \"in\"\n[[lamination]]\nname = \"core\"\nstock = {{ thickness = 0.3, width = 1.75 }}\n{lines}\n{rest}")
}

#[test]
fn a_batch_needs_only_laminations_sander_and_sled() {
    let text = one("to = 34\nthickness = 0.15\ntaper = 0.002", "[sander]\n[sled]\n");
    let Reported { value: build, warnings } = sound(&text);
    assert_eq!(warnings, []);
    assert!(build.target.is_none() && build.outline.is_none() && build.riser.is_none() && build.sizing.is_none());
    assert_eq!(build.laminations[0].wood.name, "maple, sugar");
    assert_eq!(build.laminations[0].pieces, Pieces::Halves);
    let sander = build.sander.as_ref().unwrap();
    assert_eq!(sander.papers.iter().map(|paper| paper.grit).collect::<Vec<_>>(), [Some(60), Some(80)]);
    // Thousandths in an inch file: 0.25 mm is 9.8 thousandths.
    assert!((sander.papers[0].max_mm - 0.009 * MM_PER_IN).abs() < 1e-9);
    for key in ["title", "lamination.wood", "sander.papers", "sled.make", "shop.paper", "shop.cutter", "glue.line"] {
        assert!(build.assumed.iter().any(|assumed| assumed.key == key), "{key}");
    }
}

#[test]
fn ways_to_give_a_taper_agree_where_they_overlap() {
    let at = |lines: &str, s_in: f64| {
        let text = one(lines, "");
        let text = if lines.contains("ground") { text.replace("thickness = 0.3, ", "") } else { text };
        let build = sound(&text).value;
        build.laminations[0].thickness_at(s_in * MM_PER_IN) / MM_PER_IN
    };
    for s in [0.0, 1.0, 4.0, 17.0, 33.9, 34.0] {
        let straight = at("to = 34\nthickness = 0.150\ntaper = 0.002", s);
        assert!((straight - (0.150 - 0.002 * s)).abs() < 1e-12);
        for same in [
            "to = 34\nthickness = 0.150\ntaper = \"0.024 in/ft\"",
            "to = 34\nthickness = 0.150\ntaper = { tip = 0.082 }",
            "to = 34\nthickness = \"3.81 mm\"\ntaper = { flat = 0, then = 0.002 }",
            "to = 34\ntaper = { stations = [[0, 0.150], [10, 0.130], [34, 0.082]] }",
            "to = 34\ntaper = { stations = [[0, 0.150], [10, 0.130], [34, 0.082]], between = \"smooth\" }",
            "ground = [[0, 0.150], [34, 0.082]]",
        ] {
            let other = at(same, s);
            assert!((other - straight).abs() < 1e-9, "{same} at {s}: {other} {straight}");
        }
        let flat = at("to = 34\nthickness = 0.150\ntaper = { flat = 4, then = 0.002 }", s);
        assert!((flat - (0.150 - 0.002 * (s - 4.0).max(0.0))).abs() < 1e-12);
    }
}

#[test]
fn own_woods_come_before_the_table_and_fall_back_on_it() {
    let rest = r#"
moisture = 8
[[wood]]
name = "apple"
modulus = "1.5 Mpsi"
density = 700
strength = "12000 psi"
[[wood]]
name = "ash, white"
modulus = "14 GPa"
source = "a strip of mine, bent over 600 mm"
"#;
    let (own, table) = rest.split_at(rest.find("[[wood]]").unwrap());
    let text = format!(
        "{own}units = \"in\"\n{table}\n[[lamination]]\nname = \"a\"\nwood = \"Apple\"\nto = 30\nthickness = 0.1\nstock = {{ thickness = 0.2, width = 1 }}\n\
         [[lamination]]\nname = \"b\"\nwood = \"ash, white\"\nto = 30\nthickness = 0.1\nstock = {{ thickness = 0.2, width = 1 }}\n"
    );
    let build = sound(&text).value;
    assert!((build.moisture - 0.08).abs() < 1e-12);
    let (apple, ash) = (&build.laminations[0].wood, &build.laminations[1].wood);
    // 1 psi is 6.894 757 kPa (NIST SP 811, appendix B.8).
    assert!((apple.modulus_mpa - 1.5 * 6894.757).abs() < 0.01, "{}", apple.modulus_mpa);
    assert!((apple.breaking_strain.unwrap() - 0.008).abs() < 1e-9);
    assert_eq!(apple.source, "the builder's own value");
    assert!((ash.modulus_mpa - 14_000.0).abs() < 1e-9);
    let bundled = crate::model::wood::named("ash, white").unwrap().at_moisture(0.08);
    assert!((ash.density_kg_m3 - bundled.density_kg_m3).abs() < 1e-9 && ash.breaking_strain == bundled.breaking_strain);
    assert!(build.assumed.iter().any(|assumed| assumed.key == "wood.source") && ash.source.starts_with("a strip of mine"));
}

#[test]
fn draw_length_to_the_pivot_is_taken_as_it_is() {
    for (from, pivot_in) in [("standard", 26.25), ("pivot", 28.0)] {
        let text = MEADOW.replace("brace_height  = 6.25", &format!("brace_height = 6.25\ndraw_length_from = \"{from}\""));
        let target = sound(&text).value.target.unwrap();
        assert!((target.pivot_to_nock_mm - pivot_in * MM_PER_IN).abs() < 1e-9, "{from}");
    }
}

#[test]
fn what_cuts_and_prints_can_be_said_in_several_ways() {
    let shop = |lines: &str| sound(&one("to = 34\nthickness = 0.15", &format!("[shop]\n{lines}\n"))).value.shop;
    assert!(matches!(shop("cutter = \"hand\"").cutter, SheetCutter::Hand { .. }));
    assert!(
        matches!(shop("cutter = { hand = { holds = 0.02 } }").cutter, SheetCutter::Hand { holds_mm } if (holds_mm - 0.508).abs() < 1e-9)
    );
    assert!(matches!(shop("cutter = \"router\"").cutter, SheetCutter::Router { bit_mm, .. } if (bit_mm - 3.175).abs() < 1e-9));
    let roll = shop("paper = \"roll 24 in\"").paper;
    assert!(roll.roll && (roll.width_mm - 609.6).abs() < 1e-9 && roll.width_mm < roll.height_mm);
    let a3 = shop("paper = { name = \"A3\", margin = \"5 mm\" }").paper;
    assert!((a3.width_mm - 297.0).abs() < 1e-9 && (a3.margin_mm - 5.0).abs() < 1e-9);
    let lines = shop("[shop.lines]\ncut = { layer = \"THROUGH\", color = 1, rgb = \"#ff0000\", weight = \"0.1 mm\" }").lines;
    let (cut, edge) = (lines.style(crate::drawing::kind::Kind::Cut), lines.style(crate::drawing::kind::Kind::Edge));
    assert_eq!((cut.layer.as_str(), cut.color, cut.rgb, edge.layer.as_str()), ("THROUGH", 1, [255, 0, 0], "EDGE"));
}

#[test]
fn every_place_of_a_whole_file_has_its_bytes_and_its_words() {
    let (source, _) = read("meadow.toml", MEADOW);
    for (place, bytes, words) in [
        ("target.draw_weight", "\"42 lbf\"", "target.draw_weight"),
        ("outline.width[2]", "[9, 1.6]", "outline.width no. 3"),
        ("outline.width[2][1]", "1.6", "outline.width no. 3"),
        ("lamination[1].taper.then", "0.002", "lamination \"core\", taper.then"),
        ("lamination[1]", "[[lamination]]", "lamination \"core\""),
        ("lamination[1].nothing.here", "[[lamination]]", "lamination \"core\", nothing.here"),
        ("glue.stage[1].want.tip", "-1.5", "glue.stage no. 2, want.tip"),
        ("sander.papers[1].most", "0.006", "sander.papers no. 2, most"),
        ("shop.cutter.laser.bed", "[20, 12]", "shop.cutter.laser.bed"),
    ] {
        let place = Place::new(place);
        let span = diag::SourceText::span(&source, &place).unwrap();
        assert_eq!(&MEADOW[span], bytes, "{place}");
        assert_eq!(diag::SourceText::words(&source, &place), words);
    }
    assert_eq!(diag::SourceText::span(&source, &Place::new("nothing")), None);
}

#[test]
fn a_key_by_name_stays_with_its_lamination() {
    let (source, _) = read("meadow.toml", MEADOW);
    let key = |source: &Source, place: &str| source.key_of(&Place::new(place));
    assert_eq!(key(&source, "lamination[1].taper.then"), "lamination[core].taper.then");
    assert_eq!(source.place_of("lamination[core].taper.then").as_str(), "lamination[1].taper.then");
    for unnamed in ["outline.width[2][1]", "target.draw_weight", "lamination[9].wood", ""] {
        assert_eq!(key(&source, unnamed), unnamed);
    }
    // A name that does not lead back to its lamination is no name to go by.
    for other in ["co]re", "belly"] {
        let (source, _) = read("meadow.toml", &MEADOW.replace("\"core\"", &format!("\"{other}\"")));
        let keys = ["lamination[1].wood", "lamination[2].wood"].map(|place| key(&source, place));
        assert!(
            keys.contains(&if other == "belly" { "lamination[2].wood" } else { "lamination[1].wood" }.to_owned()),
            "{keys:?}"
        );
    }
}

/// The bench draws the released tip of a stage that wishes for none yet.
#[test]
fn a_value_whose_table_is_missing_comes_with_it() {
    let text = "title = \"x\"\n[glue]\nline = 0.003\n[[glue.stage]]\nnumber = 1\nheld = { props = 2.5, at = 35 }\n";
    let source = Source::read("x.toml", text).source;
    let taken = edit::taken_over(&source, &[(Place::new("glue.stage[0].want.tip"), "2.25".into())]).unwrap();
    assert!(taken.text.starts_with(text.trim_end()) && taken.text.ends_with("= { tip = 2.25 }\n"), "{}", taken.text);
    assert!(taken.text.lines().last().is_some_and(|line| line.starts_with("want")), "{}", taken.text);
    assert!(edit::taken_over(&source, &[(Place::new("glue.nowhere.at.all"), "1".into())]).is_err());
}
