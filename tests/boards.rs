//! Strips of one board vary together: the scatter of a bow's weight and of its reflex against a Monte Carlo of the forward model.
//!
//! The moduli of a thousand bows are drawn from a seed, together or apart as the boards say, and every bow is solved. The spread stated is
//! a first-order one: at a fifth of scatter curvature of the weight costs it a few hundredths, and so does chance with a thousand bows.

mod support;

use support::bows::flatbow;
use support::chance::Chance;
use taperwright::buildfile;
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::glueup::{plan, scatter};
use taperwright::mechanics::{draw, sensitivity};
use taperwright::model::Build;
use taperwright::model::workshop::{GlueStage, Held};

/// The flatbow all of one wood, its riser sure, and its laminations from these boards.
fn of_boards(boards: [Option<&str>; 3]) -> Build {
    let mut build = flatbow();
    let wood = build.laminations[1].wood.clone();
    for (lamination, board) in build.laminations.iter_mut().zip(boards) {
        lamination.wood = wood.clone();
        lamination.board = board.map(str::to_owned);
    }
    for slice in build.riser.iter_mut().flat_map(|riser| &mut riser.across) {
        slice.wood.modulus_cov = 0.0;
    }
    build
}

/// Standard deviation of `what` over bows whose laminations take the draw of the board that `draws` numbers.
fn drawn(build: &Build, draws: [usize; 3], count: usize, mut what: impl FnMut(&Build) -> f64) -> f64 {
    let mut chance = Chance::of(20_261_128);
    let results: Vec<f64> = (0..count)
        .map(|_| {
            let boards: Vec<f64> = (0..3).map(|_| chance.normal()).collect();
            let mut bow = build.clone();
            for (lamination, board) in bow.laminations.iter_mut().zip(draws) {
                lamination.wood.modulus_mpa *= 1.0 + lamination.wood.modulus_cov * boards[board];
            }
            what(&bow)
        })
        .collect();
    let mean = results.iter().sum::<f64>() / count as f64;
    (results.iter().map(|result| (result - mean).powi(2)).sum::<f64>() / (count - 1) as f64).sqrt()
}

#[test]
fn a_bows_weight_scatters_as_its_boards_say() {
    let options = Options { station_step_mm: f64::MAX, ..Options::default() };
    let mut spreads = Vec::new();
    for (boards, draws) in [
        // No board is named: they may all be of one.
        ([None, None, None], [0, 0, 0]),
        ([Some("one"), Some("one"), Some("one")], [0, 0, 0]),
        ([Some("one"), Some("two"), Some("three")], [0, 1, 2]),
        ([Some("one"), Some("two"), Some("one")], [0, 1, 0]),
        // The core may be of the back's board or of the belly's: the one that makes the bow less sure.
        ([Some("one"), None, Some("two")], [0, 0, 2]),
    ] {
        let mut build = of_boards(boards);
        // A tenth, where the weight is straight in the modulus.
        build.laminations.iter_mut().for_each(|lamination| lamination.wood.modulus_cov = 0.1);
        let stated = sensitivity::of(&build, &options).unwrap().value.spread_n;
        let found = drawn(&build, draws, 500, |bow| draw::weight_of(bow, &options).unwrap());
        println!("{boards:?}: stated {stated:.2} N, drawn {found:.2} N");
        // The deviation of 500 draws is itself good to 3.2 percent; two and a half of that.
        assert!((stated / found - 1.0).abs() < 0.08, "{boards:?}: {stated} {found}");
        spreads.push(stated);
    }
    assert!(1.2 * spreads[2] < spreads[0] && (spreads[0] - spreads[1]).abs() < 1e-9 && spreads[3] < spreads[0], "{spreads:?}");
    // Either board that the core may be of.
    let middle = |board| {
        let mut build = of_boards([Some("one"), Some(board), Some("two")]);
        build.laminations.iter_mut().for_each(|lamination| lamination.wood.modulus_cov = 0.1);
        sensitivity::of(&build, &options).unwrap().value.spread_n
    };
    assert!((spreads[4] - middle("one").max(middle("two"))).abs() < 1e-9, "{spreads:?}");
}

/// A stack that is stiffer throughout keeps its reflex: of one board the tip is sure, of boards unknown it is not.
#[test]
fn the_careful_reflex_is_that_of_strips_apart() {
    let glued = |boards| {
        let mut build = of_boards(boards);
        let held = Held::Form { rise: vec![(0.0, 0.0), (200.0, 0.0), (500.0, -15.0), (838.0, -50.0)] };
        build.glue.stages =
            vec![GlueStage { number: 1, held, clamp_time_s: None, want_tip_mm: None, retained: None, press: None }];
        build.glue.modulus_mpa = 1.0;
        let plan = plan(&build).unwrap().value;
        (scatter::of_tips(&build, &plan).unwrap()[0], build)
    };
    let (one, _) = glued([Some("one"), Some("one"), Some("one")]);
    let (apart, build) = glued([Some("one"), Some("two"), Some("three")]);
    let (unknown, _) = glued([None, None, None]);
    println!("one board {one:.3} mm, apart {apart:.3} mm, unknown {unknown:.3} mm");
    assert!(one < 0.1 * apart && unknown + 1e-9 >= apart && unknown < 1.2 * apart, "{one} {apart} {unknown}");
    let found = drawn(&build, [0, 1, 2], 200, |bow| plan(bow).unwrap().value.tip_mm());
    // 200 draws are good to 5 percent, and a fifth of scatter bends the answer by as much.
    assert!((apart / found - 1.0).abs() < 0.15, "{apart} {found}");
}

#[test]
fn a_board_is_a_key_and_of_one_wood() {
    let text = |wood: &str| {
        format!(
            "units = \"mm\"\n[target]\ndraw_weight = \"150 N\"\ndraw_length = 600\nbrace_height = 150\n\
             [outline]\nnock_to_nock = 1600\nwidth = [[0, 40], [800, 40]]\n\
             [[lamination]]\nname = \"back\"\nwood = \"{wood}\"\nthickness = 4\nboard = \"A\"\n\
             [[lamination]]\nname = \"core\"\nwood = \"ash, white\"\nthickness = 5\nboard = \"A\"\n"
        )
    };
    let build = buildfile::read("bow.toml", &text("ash, white")).1.unwrap().value;
    assert!(build.laminations.iter().all(|lamination| lamination.board.as_deref() == Some("A")));
    let faults = buildfile::read("bow.toml", &text("maple, sugar")).1.unwrap_err();
    assert!(faults.iter().any(|fault| fault.to_string().contains("of one wood")), "{faults:?}");
}
