//! The whole reader on whole files.

use super::*;
use crate::model::build::SizingHow;
use crate::model::lamination::{Face, Pieces};
use crate::model::riser::Fade;
use crate::model::taper::Form;
use crate::model::workshop::{Held, MachineCutter, SheetCutter, SledMake};
use crate::units::{N_PER_LBF, System};

/// A whole flatbow: every table of the build file.
const MEADOW: &str = include_str!("meadow.toml");

fn sound(text: &str) -> Reported<Build> {
    let (source, outcome) = read("meadow.toml", text);
    outcome.unwrap_or_else(|faults| panic!("{}", diag::render(&faults, &source, false)))
}

#[test]
fn a_whole_flatbow_reads_into_internal_units() {
    let Reported { value: build, warnings } = sound(MEADOW);
    assert_eq!(warnings, []);
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9 * b.abs().max(1.0), "{a} {b}");
    let inch = 25.4;
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
    assert_eq!((back.keep_face, back.stage, back.finished.form()), (Some(Face::Back), 2, Form::Parallel));
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
    near(sander.papers[1].most_mm, 0.006 * inch);
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
