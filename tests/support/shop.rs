//! A machine, a sled and strips for it, made straight in the model. A test changes what it asks about: `Sander { together: 2, ..sander() }`.

use taperwright::diag::Place;
use taperwright::model::grit;
use taperwright::model::lamination::{Lamination, Pieces, Stock};
use taperwright::model::taper::Taper;
use taperwright::model::wood::Wood;
use taperwright::model::workshop::{MachineCutter, Paper, Sander, Sheet, SledMake, SledPlan};

/// A 16 in drum whose gap is set by the thousandth, with one paper.
pub fn sander() -> Sander {
    Sander {
        cutter: MachineCutter::Drum,
        min_thickness_mm: 0.5,
        min_length_mm: 228.6,
        widest_mm: 406.4,
        feed_mm_s: 50.8,
        roller_n: 35.6,
        gap_step_mm: 0.0254,
        crank_mm: 1.5875,
        repeats_mm: 0.025,
        papers: vec![Paper { grit: Some(60), max_mm: 0.3, scratch_mm: 0.1 }],
        together: 1,
        repeat_last: 2,
    }
}

/// Papers of these grades as the table has them.
pub fn papers(grades: &[u32]) -> Vec<Paper> {
    let paper = |number: &u32| {
        let grit = grit::grade(*number).unwrap();
        Paper { grit: Some(*number), max_mm: grit.max_mm, scratch_mm: grit.scratch_mm() }
    };
    grades.iter().map(paper).collect()
}

/// A ramp of rails, ribs and a deck, an inch high, from half a sheet of plywood.
pub fn plan() -> SledPlan {
    SledPlan {
        make: SledMake::Ramp,
        base_mm: 25.4,
        deck_mm: 6.0,
        under_mm: 0.1,
        butt_leads: true,
        tolerance_mm: 0.0254,
        run_on_mm: 76.2,
        stop_clearance_mm: 0.4,
        supports_mm: None,
        one_carrier: false,
        sheet: Sheet {
            material: "birch plywood".into(),
            thickness_mm: 6.0,
            spread_mm: 0.1,
            width_mm: 609.6,
            length_mm: 1219.2,
            modulus_mpa: 8000.0,
        },
        fit_mm: 0.1,
    }
}

/// A lamination from the bow's centre to `to_mm`, with the stock that its strips come from.
pub fn lamination(name: &str, wood: Wood, finished: Taper, to_mm: f64, pieces: Pieces, stock: Stock) -> Lamination {
    Lamination {
        name: name.into(),
        wood,
        finished,
        from_mm: 0.0,
        to_mm,
        pieces,
        limbs: 2,
        keep_face: None,
        faces_free: false,
        ground: false,
        stock,
        stage: 1,
        width_fraction: 1.0,
        board: None,
        modulus_tested: false,
        meet: Default::default(),
        splice: None,
        sled: None,
        own_width: None,
        place: Place::new("lamination").index(0),
    }
}
