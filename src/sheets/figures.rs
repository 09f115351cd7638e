//! Figures for a screen: the bow from the side, and curves along the draw and along the limb. Each is small enough for a telephone, and of
//! its own proportions; lines of one thing carry its name as their part, so that a page can tell them apart.

use super::bow::{ShownDraw, limb, limbs, part_name, string};
use crate::drawing::{Align, Drawing, Kind, Label, font};
use crate::geometry::{Path, Point};
use crate::mechanics::bow::Unstrung;
use crate::mechanics::draw::{DrawCurve, DrawPoint};
use crate::mechanics::glueup::{self, Stage};
use crate::mechanics::layer_kind::LayerKind;
use crate::mechanics::verdict::COMFORTABLE;
use crate::model::Build;
use crate::model::limb::LimbSide;
use crate::units::{Quantity, System, fixed};

/// Letters of a figure, its width taken as 100.
const LETTERS: f64 = 2.7;
/// Plotted area, its lower left corner at the origin.
pub const AREA: [f64; 2] = [84.0, 48.0];

/// One curve of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartCurve {
    /// What it shows, which is also how a page tells it from the others.
    pub name: String,
    pub points: Vec<(f64, f64)>,
    /// As the file has it, not as it is tried.
    pub ghost: bool,
}

/// A line across a chart that should not be passed, with its words.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    pub at: f64,
    pub words: String,
}

/// Curves over one another in one pair of axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    pub name: String,
    pub title: String,
    pub x_title: String,
    pub y_title: String,
    pub series: Vec<ChartCurve>,
    pub limits: Vec<Limit>,
    /// Whether the axis up starts at nothing; where it does not, its title says at what.
    pub from_nothing: bool,
}

impl Chart {
    /// The chart as a drawing about 100 wide; ghosts below, then the curves, each with its name at its end.
    pub fn drawing(&self) -> Drawing {
        let mut drawing = Drawing::new(self.name.clone(), self.title.clone());
        let [(x, x_step), (y, y_step)] = self.rounded_axes();
        let at = |px: f64, py: f64| {
            Point::new(AREA[0] * (px - x[0]) / (x[1] - x[0]).max(1e-9), AREA[1] * (py - y[0]) / (y[1] - y[0]).max(1e-9))
        };
        for k in 0..=count(x, x_step) {
            let value = x[0] + x_step * f64::from(k);
            let foot = Point::new(at(value, y[0]).x, 0.0);
            drawing.line(Kind::Centre, foot, Point::new(foot.x, AREA[1]));
            drawing.label(
                Kind::Dimension,
                Label::new(tick(value, x_step), Point::new(foot.x, -1.8 * LETTERS), LETTERS).aligned(Align::Middle),
            );
        }
        for k in 0..=count(y, y_step) {
            let value = y[0] + y_step * f64::from(k);
            let side = Point::new(0.0, at(x[0], value).y);
            drawing.line(Kind::Centre, side, Point::new(AREA[0], side.y));
            drawing.label(
                Kind::Dimension,
                Label::new(tick(value, y_step), Point::new(-1.2, side.y - 0.45 * LETTERS), LETTERS).aligned(Align::Right),
            );
        }
        for limit in &self.limits {
            let level = at(x[0], limit.at).y;
            drawing.part_path(Kind::ScaleCheck, "limit", Path::line(Point::new(0.0, level), Point::new(AREA[0], level)));
            drawing.label(Kind::ScaleCheck, Label::new(limit.words.clone(), Point::new(1.0, level + 0.8), LETTERS));
        }
        for ghost in [true, false] {
            for series in self.series.iter().filter(|series| series.ghost == ghost) {
                let kind = if ghost { Kind::Hidden } else { Kind::Edge };
                drawing.part_path(kind, &series.name, Path::open(series.points.iter().map(|(px, py)| at(*px, *py))));
            }
        }
        for (series, level) in self.names(|py| at(x[0], py).y) {
            drawing
                .label(Kind::Note, Label::new(series.name.clone(), Point::new(AREA[0] + 8.6, level - 0.45 * LETTERS), LETTERS));
            // A piece of the curve beside its name: several may end at one place.
            let sample = Path::line(Point::new(AREA[0] + 1.2, level), Point::new(AREA[0] + 7.6, level));
            drawing.part_path(Kind::Edge, &series.name, sample);
        }
        let foot = Point::new(0.5 * AREA[0], -3.9 * LETTERS);
        // Clear of the words of a limit that lies along the top.
        let above = if self.limits.is_empty() { 1.2 } else { 2.6 };
        drawing.label(Kind::Note, Label::new(self.x_title.clone(), foot, LETTERS).aligned(Align::Middle));
        let starts = if self.from_nothing { String::new() } else { format!("; the axis starts at {}", tick(y[0], y_step)) };
        drawing.label(
            Kind::Note,
            Label::new(format!("{}{starts}", self.y_title), Point::new(-6.0, AREA[1] + above * LETTERS), LETTERS),
        );
        drawing
    }

    /// From where to where the axes reach, and in which steps.
    fn rounded_axes(&self) -> [([f64; 2], f64); 2] {
        let all = || self.series.iter().flat_map(|series| &series.points);
        let reach = |pick: fn(&(f64, f64)) -> f64| all().map(pick).fold([f64::MAX, f64::MIN], |[a, b], x| [a.min(x), b.max(x)]);
        let (x, y) = (reach(|p| p.0), reach(|p| p.1));
        let top = self.limits.iter().map(|limit| limit.at).fold(y[1].max(0.0), f64::max);
        [rounded(x), rounded(if self.from_nothing { [y[0].min(0.0), top] } else { y })]
    }

    /// What a hand on the chart needs: from where to where its axes reach, along and up, over the plotted area.
    pub fn axes(&self) -> [[f64; 2]; 2] {
        self.rounded_axes().map(|(reach, _)| reach)
    }

    /// Where the names stand at the right: at the ends of their curves, moved apart so that none lies on another. A single curve needs no
    /// name.
    fn names(&self, level: impl Fn(f64) -> f64) -> Vec<(&ChartCurve, f64)> {
        let live: Vec<&ChartCurve> = self.series.iter().filter(|series| !series.ghost).collect();
        if live.len() < 2 {
            return Vec::new();
        }
        let end = |series: &ChartCurve| series.points.last().map_or(0.0, |p| level(p.1));
        let mut placed: Vec<(&ChartCurve, f64)> = live.into_iter().map(|series| (series, end(series))).collect();
        placed.sort_by(|a, b| a.1.total_cmp(&b.1));
        for k in 1..placed.len() {
            placed[k].1 = placed[k].1.max(placed[k - 1].1 + 1.5 * LETTERS);
        }
        placed
    }
}

/// The range widened to whole steps of a round size that part it into three to seven, and the step.
fn rounded([from, to]: [f64; 2]) -> ([f64; 2], f64) {
    let rough = ((to - from) / 5.0).max(1e-9);
    let decade = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * decade).find(|step| rough <= *step).unwrap_or(rough);
    let low = (from / step + 1e-9).floor() * step;
    let high = (to / step - 1e-9).ceil().max(low / step + 1.0) * step;
    ([low, high], step)
}

fn count([from, to]: [f64; 2], step: f64) -> u32 {
    ((to - from) / step).round().clamp(0.0, 40.0) as u32
}

fn tick(value: f64, step: f64) -> String {
    let decimals = (-step.log10().floor()).clamp(0.0, 4.0) as usize;
    fixed(value, decimals)
}

/// Force over draw length, as tried and as the file has it.
pub fn force(units: System, curve: &DrawCurve, file: Option<&DrawCurve>) -> Chart {
    let points = |curve: &DrawCurve| {
        curve.points.iter().map(|point| (units.length(point.draw_length_mm), units.force(point.force_n))).collect()
    };
    let series = |name: &str, curve: &DrawCurve, ghost| ChartCurve { name: name.into(), points: points(curve), ghost };
    Chart {
        name: "force".into(),
        title: "Force over draw length".into(),
        x_title: format!("draw length, {}", units.length_unit()),
        y_title: format!("force, {}", units.force_unit()),
        series: file.map(|file| series("file", file, true)).into_iter().chain([series("tried", curve, false)]).collect(),
        limits: Vec::new(),
        from_nothing: true,
    }
}

/// How hard each part works along the limb at full draw, in percent of what breaks its wood; parts whose wood has no published
/// figure are left out.
pub fn strain(build: &Build, curve: &DrawCurve) -> Chart {
    let units = build.units;
    let point = curve.at_full_draw();
    let part = |part: LayerKind, percent_per_strain: f64| {
        let along = curve.stations.iter().zip(&point.places).filter_map(|(station, place)| {
            let layer = station.section.layers.iter().position(|layer| layer.part == part)?;
            let hardest = station.strain(place.bend_per_mm, layer).into_iter().fold(0.0, |a: f64, b| a.max(b.abs()));
            Some((units.length(station.s_mm), percent_per_strain * hardest))
        });
        along.collect::<Vec<_>>()
    };
    let series = curve.worst.iter().filter_map(|worst| {
        let fraction = worst.share_of_breaking?;
        let points = part(worst.part, 100.0 * fraction / worst.strain.abs().max(1e-12));
        Some(ChartCurve { name: part_name(build, worst.part), points, ghost: false })
    });
    Chart {
        name: "strain".into(),
        title: "How hard the wood works at full draw".into(),
        x_title: format!("station from the bow's centre, {}", units.length_unit()),
        y_title: "strain, percent of what breaks the wood on average".into(),
        series: series.collect(),
        limits: vec![
            Limit { at: 100.0, words: "breaks, on average".into() },
            Limit { at: 100.0 * COMFORTABLE, words: String::new() },
        ],
        from_nothing: true,
    }
}

/// How much the limb bends along its length at full draw, as tried and as the file has it; of two different limbs each.
pub fn bend(units: System, curve: &DrawCurve, file: Option<&DrawCurve>) -> Chart {
    let (per_mm, unit) = match units {
        System::Inch => (units.to_mm(1.0), "degrees per inch"),
        System::Millimetre => (10.0, "degrees per 10 mm"),
    };
    let points = |curve: &DrawCurve| {
        let bend = |bend_per_mm: f64| (bend_per_mm * per_mm).to_degrees();
        curve
            .stations
            .iter()
            .zip(&curve.at_full_draw().places)
            .map(|(station, place)| (units.length(station.s_mm), bend(place.bend_per_mm)))
            .collect()
    };
    let series = |name: &str, curve: &DrawCurve, ghost| ChartCurve { name: name.into(), points: points(curve), ghost };
    let of_limbs = |alone: &str, curve: &DrawCurve, ghost| match curve.other {
        None => vec![series(alone, curve, ghost)],
        Some(_) => {
            let limbs = LimbSide::BOTH.into_iter().zip(curve.limbs());
            limbs.map(|(limb, curve)| series(if ghost { alone } else { limb.word() }, curve, ghost)).collect()
        }
    };
    Chart {
        name: "bend".into(),
        title: if curve.other.is_some() { "Where both limbs bend at full draw" } else { "Where the limb bends at full draw" }
            .into(),
        x_title: format!("station from the bow's centre, {}", units.length_unit()),
        y_title: format!("bend, {unit}"),
        series: file
            .map_or(Vec::new(), |file| of_limbs("file", file, true))
            .into_iter()
            .chain(of_limbs("tried", curve, false))
            .collect(),
        limits: Vec::new(),
        from_nothing: true,
    }
}

/// The outline, as a width over the station; `None` where the file has none.
pub fn outline(build: &Build, file: Option<&Build>) -> Option<Chart> {
    let units = build.units;
    let series = |name: &str, build: &Build, ghost| {
        let outline = build.outline.as_ref()?;
        const PLACES: u32 = 96;
        let end_mm = outline.nock_mm();
        let even = (0..=PLACES).map(|k| end_mm * f64::from(k) / f64::from(PLACES));
        // Corners stand where they were set, not between two places.
        let corners = outline.width.points().iter().map(|point| point.0).filter(|s| (0.0..=end_mm).contains(s));
        let mut places: Vec<f64> = even.chain(corners).collect();
        places.sort_by(f64::total_cmp);
        let points = places.into_iter().map(|s| (units.length(s), units.length(outline.width_at(s)))).collect();
        Some(ChartCurve { name: name.into(), points, ghost })
    };
    Some(Chart {
        name: "outline".into(),
        title: "Width along the limb".into(),
        x_title: format!("station from the bow's centre, {}", units.length_unit()),
        y_title: format!("width, {}", units.length_unit()),
        series: file.and_then(|file| series("file", file, true)).into_iter().chain([series("tried", build, false)?]).collect(),
        limits: Vec::new(),
        from_nothing: true,
    })
}

/// Thickness of each lamination along the limb.
pub fn stack(build: &Build) -> Chart {
    let units = build.units;
    let end_mm = build.laminations.iter().map(|lamination| lamination.to_mm).fold(0.0, f64::max);
    const PLACES: u32 = 60;
    let series = build.laminations.iter().map(|lamination| {
        let places = (0..=PLACES).map(|k| end_mm * f64::from(k) / f64::from(PLACES));
        let inside = places.filter(|s| lamination.from_mm <= *s && *s <= lamination.to_mm);
        let points = inside.map(|s| (units.length(s), units.length(lamination.thickness_at(s)))).collect();
        ChartCurve { name: lamination.name.clone(), points, ghost: false }
    });
    Chart {
        name: "stack".into(),
        title: "Thickness of the laminations".into(),
        x_title: format!("station from the bow's centre, {}", units.length_unit()),
        y_title: format!("thickness, {}", units.length_unit()),
        series: series.collect(),
        limits: Vec::new(),
        from_nothing: true,
    }
}

/// What an arrow leaves with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArrowSpeed {
    pub arrow_kg: f64,
    pub likely_mm_s: f64,
    /// With the most loss, and with the least.
    pub min_mm_s: f64,
    pub max_mm_s: f64,
}

/// Speed over the arrow's weight with its band, as tried and as the file has it. From nothing up the band would be one line with the
/// curve, so that the axis starts where the speeds do.
pub fn speed(units: System, arrows: &[ArrowSpeed], file: Option<&[ArrowSpeed]>) -> Chart {
    let mass = 1.0 / Quantity::Mass.bare_factor(units);
    let speed = 1.0 / Quantity::ArrowSpeed.bare_factor(units);
    let series = |name: &str, arrows: &[ArrowSpeed], value: &dyn Fn(&ArrowSpeed) -> f64, ghost: bool| ChartCurve {
        name: name.into(),
        points: arrows.iter().map(|arrow| (mass * arrow.arrow_kg, speed * value(arrow))).collect(),
        ghost,
    };
    let mut all: Vec<ChartCurve> = file.map(|file| series("file", file, &|arrow| arrow.likely_mm_s, true)).into_iter().collect();
    all.push(series("likely", arrows, &|arrow| arrow.likely_mm_s, false));
    all.push(series("least loss", arrows, &|arrow| arrow.max_mm_s, false));
    all.push(series("most loss", arrows, &|arrow| arrow.min_mm_s, false));
    Chart {
        name: "shot".into(),
        title: "Speed over the arrow's weight".into(),
        x_title: format!("arrow, {}", units.small_mass_unit()),
        y_title: format!("speed, {}", units.arrow_speed_unit()),
        series: all,
        limits: Vec::new(),
        from_nothing: false,
    }
}

/// The bow from the side, lying: its back down, its string up, the whole bow 100 wide. Parts: `unstrung`, `braced`, `drawn`, and
/// the strings `string braced`, `string drawn`.
///
/// `unstrung` is the upper limb's shape off the form, then the lower one's.
pub fn side(build: &Build, unstrung: [&Unstrung; 2], curve: &DrawCurve) -> Drawing {
    let which = if curve.other.is_some() { ", upper limb on the right" } else { "" };
    let mut drawing = Drawing::new("side", format!("{}: unstrung, braced and drawn{which}", build.title));
    let frame = Side::of(curve);
    for ((limb, unstrung), side) in curve.limbs().into_iter().zip(unstrung).zip([1.0, -1.0]) {
        let nock_mm = limb.stations.last().map_or(0.0, |station| station.s_mm);
        let released = glueup::line(unstrung, nock_mm);
        let line = released.iter().map(|spot| frame.at(spot.rise_mm, side * spot.along_mm));
        drawing.part_path(Kind::Hidden, "unstrung", Path::open(line));
    }
    let states: [(ShownDraw, Kind, &str); 2] =
        [(DrawCurve::at_brace, Kind::Dimension, "braced"), (DrawCurve::at_full_draw, Kind::Edge, "drawn")];
    for (shown, kind, name) in states {
        for whole in limbs(curve, shown, |x, y| frame.at(x, y)) {
            drawing.part_path(kind, name, whole);
        }
        if let Some(line) = string(curve, shown, |x, y| frame.at(x, y)) {
            drawing.part_path(kind, &format!("string {name}"), line);
        }
    }
    let [upper, lower] = curve.limbs();
    let max = |limb: &DrawCurve| limb.at_full_draw().places[limb.bends_most].bend_per_mm.abs();
    let (limb, side) = if max(upper) < max(lower) { (lower, -1.0) } else { (upper, 1.0) };
    let place = &limb.stations[limb.bends_most];
    let bends_most = limb.face(limb.at_full_draw(), limb.bends_most, 0.0);
    let tip = frame.at(bends_most.x, side * bends_most.y);
    let words = format!("bends most, {}", build.units.rule(place.s_mm));
    let foot = font::extent(&drawing).min.y - 1.5;
    drawing.line(Kind::Dimension, tip, Point::new(tip.x, foot));
    drawing.label(Kind::Note, Label::new(words, Point::new(tip.x, foot - 1.3 * LETTERS), LETTERS).aligned(Align::Middle));
    drawing
}

/// The frame of a side view: along the bow to the right, toward the archer up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// Units of the figure for one mm.
    pub scale: f64,
}

impl Side {
    pub fn of(curve: &DrawCurve) -> Side {
        let nock = |point: &DrawPoint| point.places.last().map_or(0.0, |place| place.y_mm);
        let half = |limb: &DrawCurve| nock(limb.at_brace()).max(nock(limb.at_full_draw()));
        let half_mm = curve.limbs().map(half).into_iter().fold(1.0, f64::max);
        Side { scale: 50.0 / half_mm }
    }

    /// A place of the side view by `x` toward the archer and `y` along the bow, mm.
    pub fn at(self, x_mm: f64, y_mm: f64) -> Point {
        Point::new(self.scale * y_mm, self.scale * x_mm)
    }

    /// One limb at a draw as corners, from centre to nock along the back and home along the belly, each as `[along, toward the archer]`.
    pub fn limb(self, curve: &DrawCurve, point: &DrawPoint) -> Vec<[f64; 2]> {
        limb(curve, point, |x, y| self.at(x, y)).vertices.iter().map(|vertex| [vertex.at.x, vertex.at.y]).collect()
    }
}

/// A stage of the glue-up from the side: held, and once released; rise over station.
pub fn stage(units: System, stage: &Stage) -> Chart {
    let line = |spots: &[crate::mechanics::glueup::LinePoint]| {
        spots.iter().map(|spot| (units.length(spot.s_mm), units.length(spot.rise_mm))).collect()
    };
    Chart {
        name: format!("stage-{}", stage.number),
        title: format!("Stage {}, held and released", stage.number),
        x_title: format!("station from the bow's centre, {}", units.length_unit()),
        y_title: format!("rise of the back toward the belly, {}", units.length_unit()),
        series: vec![
            ChartCurve { name: "held".into(), points: line(&stage.on_form), ghost: false },
            ChartCurve { name: "left".into(), points: line(&stage.released), ghost: false },
        ],
        limits: Vec::new(),
        from_nothing: true,
    }
}
