//! The bow on one sheet: braced and at full draw, the force it takes, and how hard each layer works.
//!
//! The side view is reduced, and says by how much; the plot's axes carry their figures. Upper and lower limb mirror each other.

use crate::drawing::annotate::{heading, leader, table};
use crate::drawing::font::{HEAD_MM, SMALL_MM, TEXT_MM};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::{Bounds, Path, Point};
use crate::mechanics::draw::{DrawCurve, DrawPoint};
use crate::mechanics::layer_kind::LayerKind;
use crate::mechanics::pair::{PairCurve, TillerGap};
use crate::mechanics::sensitivity::Sensitivity;
use crate::mechanics::strain::{DrawState, Worst};
use crate::mechanics::verdict::Verdict;
use crate::model::Build;
use crate::model::limb::LimbSide;
use crate::shop::cautions::{DRY_FIRE, ON_THE_TREE, PRACTICE_FIRST, breaking};
use crate::units::{System, fixed, percent};

/// Height of the side view on paper, at most, mm: beside it, plot and tables find room on one page.
const VIEW_MM: f64 = 160.0;
/// The plot of force over draw, mm.
const PLOT: (f64, f64) = (84.0, 60.0);

/// The sheet `bow`.
///
/// `spread_n` is one standard deviation of the draw weight, N.
pub fn sheet(build: &Build, curve: &DrawCurve, moves: &Sensitivity, spread_n: f64) -> Drawing {
    let mut drawing = Drawing::new("bow", format!("{}: braced and drawn", build.title));
    let reduced = [4.0, 5.0, 6.0, 8.0, 10.0, 12.0].into_iter().find(|k| height(curve) / k <= VIEW_MM).unwrap_or(15.0);
    drawing.panel(|panel| side_view(panel, build, curve, reduced));
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, PLOT.1 + 4.0), "Force over draw length");
        plot(panel, build.units, curve, Point::new(14.0, 0.0), PLOT);
    });
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), "Key numbers");
        table(panel, Point::new(0.0, -HEAD_MM), &["the bow", ""], &key_numbers(build, curve), TEXT_MM);
    });
    let spread = vec!["scatter, one standard deviation".to_owned(), String::new(), format!("± {}", build.weight_text(spread_n))];
    let rows: Vec<Vec<String>> = moves_rows(build, moves).into_iter().chain([spread]).collect();
    drawing.panel(|panel| {
        let of =
            if build.limb.is_some() { "What moves the draw weight, done to this limb" } else { "What moves the draw weight" };
        heading(panel, Point::new(0.0, 0.0), of);
        table(panel, Point::new(0.0, -HEAD_MM), &["change", "by", "weight"], &rows, TEXT_MM);
    });
    let rows: Vec<Vec<String>> = curve.worst.iter().map(|worst| strain_row(build, worst)).collect();
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), "Greatest surface strain of each part");
        table(panel, Point::new(0.0, -HEAD_MM), &["part", "strain", "where", "of breaking"], &rows, TEXT_MM);
    });
    drawing.notes = vec![
        breaking().join(" "),
        "Computed for straight-grained average wood: moduli scatter by a fifth from piece to piece, and so does what breaks them.".into(),
        format!("{DRY_FIRE} {ON_THE_TREE}"),
        PRACTICE_FIRST.into(),
    ];
    drawing
}

/// A bow's string is so much shorter than the bow: AMO Standards, FP-3 (2000), for bows marked by it.
const STRING_LESS_IN: f64 = 3.0;

/// Of the bow, along the back, mm.
pub fn nock_to_nock_mm(build: &Build) -> f64 {
    let other = |nock_mm: f64| build.limb.as_ref().map_or(nock_mm, |limb| limb.other_nock_mm);
    build.outline.as_ref().map_or(0.0, |outline| outline.nock_mm() + other(outline.nock_mm()))
}

/// From the centre to the farther nock of either limb in either shape, the upper limb's first, mm.
fn heights(curve: &DrawCurve) -> [f64; 2] {
    let nock = |point: &DrawPoint| point.places.last().map_or(0.0, |place| place.y_mm);
    curve.limbs().map(|limb| nock(limb.at_brace()).max(nock(limb.at_full_draw())))
}

/// Of the taller of the two shapes, tip to tip, mm.
fn height(curve: &DrawCurve) -> f64 {
    heights(curve).into_iter().sum()
}

/// One of the draws of a curve.
pub type ShownDraw = fn(&DrawCurve) -> &DrawPoint;

/// Both limbs from the side at a draw, the upper one's first, `y` toward its tip; `at` brings them to the page.
pub fn limbs(curve: &DrawCurve, shown: ShownDraw, at: impl Fn(f64, f64) -> Point) -> [Path; 2] {
    let [upper, lower] = curve.limbs();
    [(upper, 1.0), (lower, -1.0)].map(|(of, side)| limb(of, shown(of), |x, y| at(x, side * y)))
}

/// One limb from the side at a draw, from the bow's centre along its back and along its belly home; `at` brings it to the page.
pub fn limb(curve: &DrawCurve, point: &DrawPoint, at: impl Fn(f64, f64) -> Point) -> Path {
    let face = |depth: f64| (0..curve.stations.len()).map(move |k| curve.face(point, k, depth));
    let belly: Vec<Point> = face(1.0).collect();
    Path::closed(face(0.0).chain(belly.into_iter().rev()).map(|place| at(place.x, place.y)))
}

/// The string at a draw, from the upper nock to the lower one.
pub fn string(curve: &DrawCurve, shown: ShownDraw, at: impl Fn(f64, f64) -> Point) -> Option<Path> {
    let [upper, lower] = curve.limbs();
    let nock = upper.nocking_point(shown(upper));
    let (above, below) = (shown(upper).places.last()?, shown(lower).places.last()?);
    Some(Path::open([at(above.x_mm, above.y_mm), at(nock.x, nock.y), at(below.x_mm, -below.y_mm)]))
}

fn side_view(drawing: &mut Drawing, build: &Build, curve: &DrawCurve, reduced: f64) {
    let at = |x: f64, y: f64| Point::new(x / reduced, y / reduced);
    let states: [(ShownDraw, Kind); 2] = [(DrawCurve::at_brace, Kind::Hidden), (DrawCurve::at_full_draw, Kind::Edge)];
    for (shown, kind) in states {
        for whole in limbs(curve, shown, at) {
            if kind == Kind::Edge {
                drawing.path(Kind::Tone, whole.clone());
            }
            drawing.path(kind, whole);
        }
        if let Some(string) = string(curve, shown, at) {
            drawing.path(if kind == Kind::Edge { Kind::Dimension } else { Kind::Hidden }, string);
        }
    }
    drawing.line(Kind::Centre, at(-40.0, 0.0), at(curve.grip_depth_mm + curve.at_full_draw().pivot_to_nock_mm + 40.0, 0.0));
    let place = &curve.stations[curve.bends_most];
    let bends_most = curve.face(curve.at_full_draw(), curve.bends_most, 0.0);
    let lower = build.limb.as_ref().is_some_and(|limb| limb.is == LimbSide::Lower);
    let tip = at(bends_most.x, if lower { -bends_most.y } else { bends_most.y });
    let text = format!("bends most, station {}", build.units.rule(place.s_mm));
    leader(drawing, tip, Point::new(tip.x - 16.0, tip.y + 12.0), &[&text]);
    let foot = Point::new(0.0, -heights(curve)[1] / reduced - 6.0);
    let text = match build.limb {
        None => "Side view, reduced. Full lines: full draw. Dashed: braced.",
        Some(_) => "Side view, reduced, upper limb up. Full lines: full draw. Dashed: braced.",
    };
    drawing.label(Kind::Note, Label::new(text, foot, TEXT_MM));
}

/// A round step that makes four to nine parts of `range`.
fn round_step(range: f64) -> f64 {
    let rough = range / 8.0;
    let decade = 10f64.powf(rough.max(1e-9).log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * decade).find(|step| rough <= *step).unwrap_or(rough)
}

/// Force over draw length, `size` mm wide and high, its lower left corner at `origin`.
pub fn plot(drawing: &mut Drawing, units: System, curve: &DrawCurve, origin: Point, size: (f64, f64)) {
    let points: Vec<(f64, f64)> =
        curve.points.iter().map(|point| (units.length(point.draw_length_mm), units.force(point.force_n))).collect();
    let (first, last) = (points[0], points[points.len() - 1]);
    let (step_x, step_y) = (round_step(last.0 - first.0), round_step(last.1));
    let (low, high) = ((first.0 / step_x).floor() * step_x, (last.0 / step_x).ceil() * step_x);
    let top = (last.1 / step_y).ceil() * step_y;
    let at = |x: f64, y: f64| Point::new(origin.x + size.0 * (x - low) / (high - low), origin.y + size.1 * y / top);
    let area = Bounds { min: origin, max: Point::new(origin.x + size.0, origin.y + size.1) };
    let under = points.iter().map(|(x, y)| at(*x, *y)).chain([at(last.0, 0.0), at(first.0, 0.0)]);
    drawing.path(Kind::Tone, Path::closed(under));
    drawing.path(Kind::Dimension, Path::rectangle(area));
    let count = |range: f64, step: f64| (range / step).round() as u32;
    for k in 0..=count(high - low, step_x) {
        let x = low + step_x * f64::from(k);
        drawing.line(Kind::Dimension, at(x, 0.0), Point::new(at(x, 0.0).x, origin.y - 1.5));
        let below = Point::new(at(x, 0.0).x, origin.y - 2.5 - SMALL_MM);
        drawing.label(Kind::Dimension, Label::new(fixed(x, 0), below, SMALL_MM).aligned(Align::Middle));
    }
    for k in 0..=count(top, step_y) {
        let y = step_y * f64::from(k);
        drawing.line(Kind::Dimension, at(low, y), Point::new(origin.x - 1.5, at(low, y).y));
        let beside = Point::new(origin.x - 2.5, at(low, y).y - 0.5 * SMALL_MM);
        drawing.label(Kind::Dimension, Label::new(fixed(y, 0), beside, SMALL_MM).aligned(Align::Right));
    }
    drawing.path(Kind::Edge, Path::open(points.iter().map(|(x, y)| at(*x, *y))));
    let x_title = format!("draw length, {}", units.length_unit());
    let middle = Point::new(origin.x + 0.5 * size.0, origin.y - 4.5 - SMALL_MM - TEXT_MM);
    drawing.label(Kind::Note, Label::new(x_title, middle, TEXT_MM).aligned(Align::Middle));
    let y_title = format!("force, {}", units.force_unit());
    let side = Point::new(origin.x - 10.0, origin.y + 0.5 * size.1);
    drawing.label(Kind::Note, Label::new(y_title, side, TEXT_MM).aligned(Align::Middle).turned(std::f64::consts::FRAC_PI_2));
}

/// What the trade's rule for a string's length takes off the bow's.
fn trade_string(units: System) -> String {
    match units {
        System::Inch => format!("  bow length less {}, the trade's rule", units.rule(System::Inch.to_mm(STRING_LESS_IN))),
        System::Millimetre => {
            let less_mm = System::Inch.to_mm(STRING_LESS_IN);
            format!("  bow length less {} ({}), the trade's rule", units.rule(less_mm), System::Inch.rule(less_mm))
        }
    }
}

/// Words and figures of the bow's behaviour, for tables.
pub fn key_numbers(build: &Build, curve: &DrawCurve) -> Vec<Vec<String>> {
    let units = build.units;
    let (brace, full) = (curve.at_brace(), curve.at_full_draw());
    let row = |what: &str, value: String| vec![what.to_owned(), value];
    let per_length = match units {
        System::Inch => format!("{} lbf per in", fixed(units.force(curve.stack.slope_n_mm * units.to_mm(1.0)), 2)),
        System::Millimetre => format!("{} N per 10 mm", fixed(10.0 * curve.stack.slope_n_mm, 2)),
    };
    let mut rows = vec![
        row("draw weight", format!("{} at {}", build.weight_text(full.force_n), units.rule(full.draw_length_mm))),
        row("stored energy", format!("{} {}", fixed(units.energy_number(curve.energy.work_n_mm), 1), units.energy_unit())),
        row("string, nock to nock at brace", units.rule(curve.string_mm)),
        row(&trade_string(units), units.rule(nock_to_nock_mm(build) - System::Inch.to_mm(STRING_LESS_IN))),
        row("string tension, braced", units.force_text(brace.tension_n)),
        row("string tension, full draw", units.force_text(full.tension_n)),
        row("string against the limb at the nock", format!("{} degrees", fixed(full.nock_angle_rad.to_degrees(), 0))),
        row("rise of the force at full draw", per_length),
        row("that rise over the rise in mid-draw", fixed(curve.stack.over_middle, 2)),
    ];
    // A recurve's string lies on the limb from the nock in.
    if let Some(last) = curve.points.iter().rposition(|point| 0.0 < point.touched_mm) {
        let off = curve.points.get(last + 1).map_or("not off it at full draw".to_owned(), |free| {
            format!("off it by a draw of {}", units.rule(free.draw_length_mm))
        });
        rows.push(row("string on the limb, braced", format!("{} from the nock in, {off}", units.rule(brace.touched_mm))));
    }
    rows
}

/// A table in words.
#[derive(Debug, Clone, PartialEq)]
pub struct WordTable {
    pub heads: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

/// From belly to string of two different limbs, braced and at full draw, square to the string; + where the upper limb stands farther off: a
/// row for each station.
pub fn string_gaps(units: System, curve: &PairCurve) -> WordTable {
    let heads = ["station", "upper, braced", "lower", "difference", "upper, drawn", "lower", "difference"];
    let (brace, full) = (&curve.points[0], &curve.points[curve.points.len() - 1]);
    let row = |(braced, drawn): (&TillerGap, &TillerGap)| {
        let mut row = vec![units.rule(braced.s_mm)];
        for tiller in [braced, drawn] {
            row.extend([tiller.upper_mm, tiller.lower_mm].map(|mm| units.decimal_number(mm)));
            let difference = tiller.difference_mm();
            row.push(format!("{}{}", if difference < 0.0 { "" } else { "+" }, units.decimal_number(difference)));
        }
        row
    };
    let rows = brace.tiller.iter().zip(&full.tiller).map(row).collect();
    WordTable { heads: heads.map(str::to_owned).to_vec(), rows }
}

/// Small changes of thickness, width and length, mm, and how one says them.
pub fn small_changes(units: System) -> [(f64, &'static str); 3] {
    match units {
        System::Inch => [
            (units.to_mm(0.001), "0.001 in thicker"),
            (units.to_mm(1.0 / 16.0), "1/16 in wider"),
            (units.to_mm(1.0), "1 in longer"),
        ],
        System::Millimetre => [(0.01, "0.01 mm thicker"), (1.0, "1 mm wider"), (10.0, "10 mm longer")],
    }
}

/// What changes the draw weight, by how much of it, and what that does: rows of three cells.
pub fn moves_rows(build: &Build, moves: &Sensitivity) -> Vec<Vec<String>> {
    let units = build.units;
    let signed = |n: f64| units.force_change(n);
    let [(thin, thin_text), (wide, wide_text), (long, long_text)] = small_changes(units);
    let mut rows: Vec<Vec<String>> = build
        .laminations
        .iter()
        .zip(&moves.laminations)
        .map(|(lamination, of)| vec![lamination.name.clone(), thin_text.into(), signed(100.0 * thin * of.n_per_hundredth_mm)])
        .collect();
    rows.push(vec!["full width everywhere".into(), wide_text.into(), signed(wide * moves.n_per_mm_width)]);
    rows.push(vec!["nock to nock".into(), long_text.into(), signed(long * moves.n_per_mm_length)]);
    for (lamination, of) in build.laminations.iter().zip(&moves.laminations) {
        let inner = std::iter::once((&lamination.wood, of.n_per_percent_modulus));
        let outer = lamination.outer().map(|outer| &outer.wood).zip(of.outer_n_per_percent_modulus);
        for (wood, by) in inner.chain(outer) {
            let name = format!("{}, {}", lamination.name, wood.name);
            rows.push(vec![name, "1 % stiffer".into(), signed(by)]);
        }
    }
    rows
}

/// A part's greatest strain in words: name, strain, place, share of the average breaking strain.
pub fn strain_row(build: &Build, worst: &Worst) -> Vec<String> {
    let face = worst.face.word();
    let when = match worst.state {
        DrawState::Brace => "brace",
        DrawState::FullDraw => "full draw",
    };
    let how = if 0.0 < worst.strain { "stretched" } else { "pressed" };
    vec![
        part_name(build, worst.part),
        format!("{} % {how}", fixed(100.0 * worst.strain.abs(), 2)),
        format!("{face} side, station {}, {when}", build.units.rule(worst.s_mm)),
        share_words(worst),
    ]
}

/// Share of the average breaking strain, with the verdict where it is not that it goes.
pub fn share_words(worst: &Worst) -> String {
    let told = worst.verdict().filter(|verdict| *verdict != Verdict::Goes);
    let told = told.map_or(String::new(), |verdict| format!(", {}", verdict.word()));
    worst.share_of_breaking.map_or("not published".into(), |fraction| format!("{} %{told}", percent(fraction, 0)))
}

/// What is bent on its way to a form: the riser's block goes there as one piece.
pub fn piece_name(build: &Build, part: LayerKind) -> String {
    if part.is_block() { "riser".into() } else { part_name(build, part) }
}

pub fn part_name(build: &Build, part: LayerKind) -> String {
    part.name(build)
}
