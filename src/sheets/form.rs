//! The form of a glue-up stage, true size: its profile to cut or to saw to, with every mark, and the pile on it seen from above.
//!
//! It shows the whole form; where that is longer than the cutter's bed, its pieces lie among the parts to cut ([`super::cut`]).

use super::layout::{Flag, upright_flags};
use super::outline;
use crate::diag::Diagnostic;
use crate::drawing::annotate::{dimension_x, dimension_y, heading, leader, table};
use crate::drawing::font::{HEAD_MM, SMALL_MM, TEXT_MM, extent};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::{Bounds, Path, Placement, Point, height_at};
use crate::mechanics::glueup::{GlueUp, Stage};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::shop::cautions::{EPOXY, SPRINGS};
use crate::shop::form::{self, Form, LimbOnForm, Mark, PIN_MM, Upper, WeightShim};
use crate::shop::upper_half::{self, EVEN_MM};
use crate::units::{PressureStep, System, fixed, limit};

/// The forms of a glue-up, in the order of the stages, upper halves behind their lower ones; none where every stage is held on props or flat.
pub fn laid_out(build: &Build, glued: &GlueUp) -> Result<Vec<Form>, Vec<Diagnostic>> {
    laid_out_halves((build, glued), None)
}

/// The same with a different limb on the left half; `None` for two alike.
pub fn laid_out_halves(right: (&Build, &GlueUp), left: Option<(&Build, &GlueUp)>) -> Result<Vec<Form>, Vec<Diagnostic>> {
    let mut forms = Vec::new();
    for (k, stage) in right.1.stages.iter().enumerate() {
        let limb = |(build, glued)| LimbOnForm { build, glued, stage };
        let other = left.and_then(|(build, glued)| Some(LimbOnForm { build, glued, stage: glued.stages.get(k)? }));
        forms.extend(form::lay_out_halves(limb(right), other, 0.0)?.value);
        forms.extend(upper_half::lay_out_halves(limb(right), other)?.value);
    }
    Ok(forms)
}

/// The sheets of these forms, with a different limb on the left half; `None` for two alike. `form-2`, or of its upper half: `form-2-upper`. Their pieces,
/// where the cutter takes a form in pieces, lie among the other parts to cut.
pub fn all_halves((build, glued): (&Build, &GlueUp), left: Option<(&Build, &GlueUp)>, forms: &[Form]) -> Vec<Drawing> {
    let of = |form: &Form| {
        let k = glued.stages.iter().position(|stage| stage.number == form.stage)?;
        let right = LimbOnForm { build, glued, stage: &glued.stages[k] };
        let left = left.and_then(|(build, glued)| Some(LimbOnForm { build, glued, stage: glued.stages.get(k)? }));
        Some(of_halves(right, left, form))
    };
    forms.iter().filter_map(of).collect()
}

fn of_halves(right: LimbOnForm<'_>, left: Option<LimbOnForm<'_>>, form: &Form) -> Drawing {
    let LimbOnForm { build, glued, stage } = right;
    let name = form.sheet_name();
    let half = if form.upper.is_some() { "upper half of the form" } else { "form" };
    let mut drawing = Drawing::new(name.clone(), format!("{}: {half} of stage {}", build.title, form.stage));
    let profile = profile(build, form, &name);
    drawing.include(&profile, &Placement::IDENTITY);
    if let Some(upper) = &form.upper {
        for (limb, _, points) in halves(right, left, form) {
            drawing.panel(|panel| {
                let text = format!("Height of the edge above the back, to check the upper half by{limb}");
                heading(panel, Point::new(0.0, 0.0), &text);
                heights(panel, Point::new(0.0, -HEAD_MM), build, form, &points);
            });
        }
        let of_left = form.left.as_ref().zip(upper.left_gaps_mm.as_ref());
        let limb = if of_left.is_some() { ", upper limb" } else { "" };
        drawing.panel(|panel| gaps(panel, build, limb, &form.marks, &upper.gaps_mm));
        if let Some((left, gaps_mm)) = of_left {
            drawing.panel(|panel| gaps(panel, build, ", lower limb", &left.marks, gaps_mm));
        }
        drawing.notes = upper_notes(build, glued, form, upper);
        return drawing;
    }
    drawing.panel(|panel| from_above(panel, right, left, form));
    for (limb, on_form, points) in halves(right, left, form) {
        drawing.panel(|panel| {
            let text = format!("Height of the edge above the foot, to check the form by{limb}");
            heading(panel, Point::new(0.0, 0.0), &text);
            let under = heights(panel, Point::new(0.0, -HEAD_MM), build, form, &points);
            tips(panel, under, build.units, on_form.stage);
        });
    }
    drawing.notes = notes(build, stage, left.map(|left| left.stage), form);
    drawing
}

/// The halves that differ, the right one first: whose each is in words, the limb on it, and its edge from the centre out.
fn halves<'a>(
    right: LimbOnForm<'a>,
    left: Option<LimbOnForm<'a>>,
    form: &Form,
) -> Vec<(&'static str, LimbOnForm<'a>, Vec<Point>)> {
    let Some(left) = left else { return vec![("", right, form.edge.clone())] };
    let mirrored: Vec<Point> = form.edge.iter().rev().map(|point| Point::new(-point.x, point.y)).collect();
    vec![(", upper limb", right, form.edge.clone()), (", lower limb", left, mirrored)]
}

fn profile(build: &Build, form: &Form, name: &str) -> Drawing {
    let units = build.units;
    let mut drawing = Drawing::default();
    drawing.part_path(Kind::Cut, name, form.whole.clone());
    for line in form.scored() {
        drawing.part_path(Kind::Score, name, line);
    }
    for x in &form.joints_mm {
        drawing.line(Kind::Hidden, Point::new(*x, 0.0), Point::new(*x, form.body_mm));
    }
    let (left, right) = (form.edge[0], form.edge[form.edge.len() - 1]);
    let crown = form.height_mm();
    let flag = |side: f64, mark: &Mark| Flag {
        x: side * mark.at.x,
        foot: mark.at.y + 1.5,
        text: format!("{} {}", mark.name, units.rule(mark.station_mm)),
    };
    let right_flags: Vec<Flag> = form.marks.iter().map(|mark| flag(1.0, mark)).collect();
    let left_flags: Vec<Flag> = match &form.left {
        Some(left) => left.marks.iter().skip(1).map(|mark| flag(-1.0, mark)).collect(),
        None => form.marks.iter().skip(1).map(|mark| flag(-1.0, mark)).collect(),
    };
    let all: Vec<Flag> = left_flags.into_iter().chain(right_flags).collect();
    let top = upright_flags(&mut drawing, &all, crown + 5.0, TEXT_MM);
    drawing.line(Kind::Centre, Point::new(0.0, -6.0), Point::new(0.0, crown + 4.0));
    for (side, strap) in form.straps_on_both().filter(|(_, strap)| strap.name.parse::<u32>().is_ok_and(|n| n % 2 == 1)) {
        let at = Point::new(side * (strap.at.x + 6.0 * strap.angle_rad.sin()), strap.at.y - 6.0 - SMALL_MM);
        drawing.label(Kind::Dimension, Label::new(strap.name.as_str(), at, SMALL_MM).aligned(Align::Middle));
    }
    if let Some(pin) = form.pins.first() {
        leader(
            &mut drawing,
            Point::new(pin.at.x, pin.at.y - 6.0),
            Point::new(pin.at.x + 12.0, pin.at.y - 22.0),
            &["hole for a locating pin"],
        );
    }
    let face = match form.lies_on {
        _ if form.upper.is_some() => "turned over, this edge presses hose, heat strip and pile onto the lower half",
        Face::Back => "the BACK of the pile lies on this edge, belly up",
        Face::Belly => "the BELLY of the pile lies on this edge, back up",
    };
    // Beside the centre line.
    let text = format!("{name}: {face}");
    drawing.label(Kind::Engrave, Label::new(text, Point::new(6.0, 8.0), 4.0));
    dimension_x(
        &mut drawing,
        Point::new(left.x, 0.0),
        Point::new(right.x, 0.0),
        -10.0,
        &format!("{} template", units.rule(form.length_mm())),
    );
    dimension_y(&mut drawing, Point::new(0.0, 0.0), Point::new(0.0, crown), left.x - 9.0, &units.rule(crown));
    let side = if form.upper.is_some() { "Side of the upper half, edge up" } else { "Side of the form" };
    heading(&mut drawing, Point::new(left.x, top + 5.0), side);
    if form.left.is_some() {
        for (x, text, align) in [(left.x, "lower limb", Align::Left), (right.x, "upper limb", Align::Right)] {
            drawing.label(Kind::Engrave, Label::new(text, Point::new(x - 12.0 * x.signum(), 8.0), 4.0).aligned(align));
        }
    }
    drawing
}

/// The blank on the form from above, reduced: strips, finished outline, marks, pins.
fn from_above(drawing: &mut Drawing, right: LimbOnForm<'_>, left: Option<LimbOnForm<'_>>, form: &Form) {
    const WIDE_MM: f64 = 240.0;
    let build = right.build;
    let ends = [-form.edge[0].x - 20.0, form.edge[form.edge.len() - 1].x - 20.0];
    let scale = [4.0, 5.0, 6.0, 8.0, 10.0, 12.0].into_iter().find(|k| (ends[0] + ends[1]) / k <= WIDE_MM).unwrap_or(15.0);
    let at = |x: f64, y: f64| Point::new(x / scale, y / scale);
    let blank_mm = left.map_or(right.glued.blank_mm, |left| left.glued.blank_mm.max(right.glued.blank_mm));
    let ([end_left, end], half) = (ends.map(|end| end / scale), 0.5 * blank_mm / scale);
    drawing.path(Kind::Edge, Path::rectangle(Bounds { min: Point::new(-end_left, -half), max: Point::new(end, half) }));
    drawing.line(Kind::Centre, Point::new(-end_left - 3.0, 0.0), Point::new(end + 3.0, 0.0));
    // Along the curve, so that stations count, not their shadows on the bench.
    for (x, limb) in [(1.0, Some(right)), (-1.0, Some(left.unwrap_or(right)))] {
        let Some(shape) = limb.and_then(|limb| limb.build.outline.as_ref()) else { continue };
        let edge = outline::edge(shape, 0.0, shape.end_mm());
        for y in [1.0, -1.0] {
            drawing.path(Kind::Hidden, Path::open(edge.iter().map(|p| at(x * p.x, y * p.y))));
        }
    }
    for (side, mark) in form.marks_on_both() {
        let x = at(side * mark.station_mm, 0.0).x;
        drawing.line(Kind::Dimension, Point::new(x, -half - 3.0), Point::new(x, half + 3.0));
    }
    let of_left = form.left.as_ref().map_or(&form.pins, |left| &left.pins);
    for k in 0..form.pins.len().max(of_left.len()) {
        for (side, pin) in [(-1.0, of_left.get(k)), (1.0, form.pins.get(k))] {
            let Some(pin) = pin else { continue };
            drawing.path(Kind::Edge, Path::circle(at(side * pin.station_mm, 0.0), 0.6));
        }
        for (side, pin) in [(-1.0, form.left.as_ref().and_then(|left| left.pins.get(k))), (1.0, form.pins.get(k))] {
            let Some(pin) = pin else { continue };
            let text = format!(
                "pin at {}, {}",
                build.units.rule(pin.station_mm),
                if pin.under_riser { "hidden by the riser" } else { "in the waste" }
            );
            let x = at(side * pin.station_mm, 0.0).x;
            let y = -half - 5.0 - SMALL_MM - 2.0 * SMALL_MM * k as f64;
            // Of two limbs, each half has its own to its own side.
            let align = match (pin.under_riser, side < 0.0, form.left.is_some()) {
                (true, _, false) => Align::Middle,
                (true, left, true) => {
                    if left {
                        Align::Right
                    } else {
                        Align::Left
                    }
                }
                (false, left, _) => {
                    if left {
                        Align::Left
                    } else {
                        Align::Right
                    }
                }
            };
            drawing.label(Kind::Dimension, Label::new(text, Point::new(x, y), SMALL_MM).aligned(align));
        }
    }
    heading(drawing, Point::new(-end_left, half + 6.0), "The pile laid flat, from above");
    let text = "Reduced. Strips, finished outline (dashed), marks to draw across every piece, pins.";
    let low = extent(drawing).min.y;
    drawing.label(Kind::Note, Label::new(text, Point::new(-end_left, low - 2.0 - TEXT_MM), TEXT_MM));
}

/// Heights of an edge at round places; gives back where the next line may stand.
fn heights(drawing: &mut Drawing, corner: Point, build: &Build, form: &Form, edge: &[Point]) -> Point {
    let units = build.units;
    let step = units.either_mm(2.0, 50.0);
    let end = edge[edge.len() - 1].x;
    let height = |x: f64| height_at(edge, x);
    let rows: Vec<Vec<String>> = limit::steps_within(end, step)
        .map(|x| {
            let drop = if form.upper.is_some() { height(x) - height(0.0) } else { height(0.0) - height(x) };
            vec![units.decimal_number(x), units.thickness_number(height(x)), units.thickness_number(drop)]
        })
        .collect();
    let unit = units.length_unit();
    let centre = if form.upper.is_some() { "above the centre" } else { "below the centre" };
    let (x, y, drop) = (format!("from the centre, {unit}"), format!("height, {unit}"), format!("{centre}, {unit}"));
    // Two columns side by side, so that a long form's table stays on the page.
    let middle = rows.len().div_ceil(2);
    let header = [x.as_str(), y.as_str(), drop.as_str()];
    let first = table(drawing, corner, &header, &rows[..middle], TEXT_MM);
    let second = table(drawing, Point::new(first.max.x + 10.0, corner.y), &header, &rows[middle..], TEXT_MM);
    Point::new(first.min.x, first.min.y.min(second.min.y) - 3.0 - TEXT_MM)
}

/// Where the tip stands on the form, and once released.
fn tips(drawing: &mut Drawing, mut under: Point, units: System, stage: &Stage) {
    for text in [
        format!("the nock rises to {} on the form", signed(units, stage.tip_held_mm())),
        format!("and to {} once released; negative is reflex", signed(units, stage.tip_left_mm())),
    ] {
        drawing.label(Kind::Note, Label::new(text, under, TEXT_MM));
        under.y -= 2.0 * TEXT_MM;
    }
}

/// What is measured between the same marks of both halves.
fn gaps(drawing: &mut Drawing, build: &Build, limb: &str, marks: &[Mark], gaps_mm: &[f64]) {
    let units = build.units;
    heading(drawing, Point::new(0.0, 0.0), &format!("Gap between the halves, upright from mark to mark{limb}"));
    let rows: Vec<Vec<String>> = (marks.iter().zip(gaps_mm))
        .map(|(mark, gap_mm)| vec![mark.name.clone(), units.decimal_number(mark.station_mm), units.thickness_number(*gap_mm)])
        .collect();
    let unit = units.length_unit();
    let (station, gap) = (format!("station, {unit}"), format!("gap, {unit}"));
    table(drawing, Point::new(0.0, -HEAD_MM), &["mark", station.as_str(), gap.as_str()], &rows, TEXT_MM);
}

fn upper_notes(build: &Build, glued: &GlueUp, form: &Form, upper: &Upper) -> Vec<String> {
    let units = build.units;
    let (hose, strip) = (units.thickness(upper.press.hose_mm), units.thickness(upper.press.strip_mm));
    let between = if 0.0 < upper.press.strip_mm {
        format!("a heat strip or pressure strip with its film, {strip} together,")
    } else {
        "film".into()
    };
    let PressureStep { mpa, said } = units.round_pressure();
    let apart_n = mpa * glued.blank_mm * upper.pressed_mm;
    vec![
        format!(
            "Between the pile and this edge lie {between} and the hose, flattened to {hose}. Saw outside, plane to the line, square across over the whole width."
        ),
        format!(
            "Fill the gap with the dry pile and look along it: it is even to {} by the shape. Where it is too large the hose rounds, touches on less than the width and presses badly, at the fades first: shim the gap. A stack that comes out thinner leaves it larger by what it is thinner (common practice, no source).",
            units.thickness(EVEN_MM)
        ),
        format!(
            "Short ticks: where bolts or straps hold both halves together, {} a limb, each straight over that of the lower half: bolts go upright, square to foot and back. Where the hose lies flat over the strips' whole width, each {said} in it drives the halves apart with {} {} over the whole bow: bolts, straps and both bodies have to hold that at the pressure you use.",
            form.straps.len(),
            fixed(units.force(apart_n), 0),
            units.force_unit()
        ),
        "Never pump a hose above its maker's limit, nor above what both halves and their bolts are made for: a regulator and a safety valve before it, its ends clamped and closed by this edge all along, so that it bulges nowhere. Stand aside of its ends and of the gap while it fills and while it is full; let it down before a bolt is loosened. Heat weakens hoses: see its maker's limit at the temperature of the box (common practice, no source)."
            .into(),
        "Locating pins are cut off below the pressure strip: one that stands proud goes into the hose.".into(),
    ]
    .into_iter()
    .chain(shims_of_weights(units, upper))
    .chain((!form.joints_mm.is_empty()).then(|| "Dashed lines: where the template is joined when it is cut in pieces.".into()))
    .collect()
}

/// What the weights of a series lay on an upper half that is cut for the thickest of them.
fn shims_of_weights(units: System, upper: &Upper) -> Option<String> {
    let thickest = upper.shims.last()?;
    let of = |shim: &&WeightShim| 0.0 < shim.shim_mm;
    let each: Vec<String> =
        upper.shims.iter().filter(of).map(|shim| format!("{} {}", shim.weight, units.thickness(shim.shim_mm))).collect();
    (!each.is_empty()).then(|| {
        format!(
            "One upper half for all weights: it is cut for the thickest pile, that of {}. The others lie lower, and have a strip of even thickness over the whole edge, between it and the hose: {}. The gaps between the marks are those of the thickest.",
            thickest.weight,
            each.join("; ")
        )
    })
}

fn signed(units: System, mm: f64) -> String {
    format!("{} {}", units.rise_number(mm), units.length_unit())
}

fn notes(build: &Build, stage: &Stage, left: Option<&Stage>, form: &Form) -> Vec<String> {
    let units = build.units;
    let mut notes = Vec::new();
    let beneath = if 0.0 < form.strip_mm {
        format!("a strip of {} lies between form and pile", units.thickness(form.strip_mm))
    } else {
        "nothing thicker than film lies between form and pile; a protecting strip of even thickness may, the curve hardly changes"
            .to_owned()
    };
    notes.push(format!("The edge is the face that the pile lies on; {beneath}. Saw outside, plane to the line, square across over the whole width."));
    if !form.joints_mm.is_empty() {
        notes.push("Dashed lines: where the template is joined when it is cut in pieces.".into());
    }
    notes.push(match left {
        None => format!(
            "Short ticks: {} straps or clamps a limb, {} apart, numbered from the centre: {} for the whole bow, for their spacing and the force (common practice, no source).",
            form.straps.len(),
            units.rule(stage.clamps.apart_mm),
            stage.clamps.count()
        ),
        Some(left) => format!(
            "Short ticks: straps or clamps, numbered from the centre: {} on the upper limb, {} apart, and {} on the lower, {} apart, for their spacing and the force (common practice, no source).",
            stage.clamps.a_limb,
            units.rule(stage.clamps.apart_mm),
            left.clamps.a_limb,
            units.rule(left.clamps.apart_mm)
        ),
    });
    if left.is_some() {
        notes.push("One form of two halves: the upper limb lies on the right, the lower one on the left. Mark which tip is which on the pile, and glue nothing turned round.".into());
    }
    let pin = units.thickness(PIN_MM);
    notes.push(format!(
        "Things slide in wet glue. Pins of {pin} through the pile: under the riser, where it hides them, and in the waste beyond the \
         finished laminations. Draw every mark across every piece and on the form, and go through it dry first."
    ));
    let time = stage.clamp_time_s.map_or("Clamp time: see the adhesive's data sheet.".to_owned(), |s| {
        format!("Clamp time {} as the build file states.", System::hours(s))
    });
    notes.push(format!("{time} {EPOXY}"));
    notes.push(SPRINGS.into());
    notes
}
