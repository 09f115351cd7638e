//! Pictures of the book, drawn at a round scale in millimetres of the page.
//!
//! Heights of sleds and thickness of strips are enlarged against lengths, since a rise of two millimetres in a metre cannot be
//! seen; every caption says by how much.

use super::block::Picture;
use crate::drawing::annotate::{dimension_x, dimension_y, station_rule};
use crate::drawing::font::{SMALL_MM, TEXT_MM, width_mm};
use crate::drawing::{Align, Drawing, Kind, Label, Lettering};
use crate::geometry::path::Vertex;
use crate::geometry::{Bounds, Path, Point};
use crate::mechanics::draw::DrawCurve;
use crate::mechanics::glueup::{GlueUp, Stage};
use crate::model::Build;
use crate::model::join::Meet;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::limb::LimbSide;
use crate::model::outline::Outline;
use crate::model::riser::Riser;
use crate::model::workshop::Held;
use crate::sheets::bow::{ShownDraw, limbs, nock_to_nock_mm, string};
use crate::shop::grip::HandCuts;
use crate::shop::kit::{Kit, Shim, SideView};
use crate::shop::riser_block::RiserBlock;
use crate::shop::sled::Sled;
use crate::units::limit;

/// Widest picture, mm: a page of Letter or A4 between its margins.
pub(super) const WIDE_MM: f64 = 168.0;
/// Round scales, each as how many times smaller.
const SCALES: [f64; 12] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0];

/// The first round scale at which a length fits.
fn scale_for(length_mm: f64, room_mm: f64) -> f64 {
    SCALES.into_iter().find(|k| length_mm / k <= room_mm).unwrap_or(20.0 * (length_mm / 20.0 / room_mm).ceil())
}

fn in_words(scale: f64) -> String {
    if scale.fract() < 1e-9 { format!("1 : {scale:.0}") } else { format!("1 : {scale:.1}") }
}

fn scaled(path: &Path, by: f64) -> Path {
    let vertices = path.vertices.iter().map(|v| Vertex { at: Point::new(v.at.x * by, v.at.y * by), bulge: v.bulge }).collect();
    Path { vertices, closed: path.closed }
}

/// The bow from the side as it lies unstrung, stands braced and is drawn: back up, string below.
pub(super) fn bow(build: &Build, curve: &DrawCurve, glued: Option<&GlueUp>) -> Picture {
    let mut drawing = Drawing::new("bow", "The bow from the side");
    let long = nock_to_nock_mm(build);
    let scale = scale_for(long, 0.78 * WIDE_MM);
    let at = |x: f64, y: f64| Point::new(y / scale, -x / scale);
    // Unstrung: the back's line as the glue-up leaves it.
    let spots = glued.and_then(|glued| glued.stages.last()).map(|stage| stage.released.as_slice()).unwrap_or_default();
    // Of two different limbs, this one's.
    let sides: &[f64] = match &build.limb {
        None => &[1.0, -1.0],
        Some(limb) if limb.is == LimbSide::Upper => &[1.0],
        Some(_) => &[-1.0],
    };
    for side in sides {
        let unstrung: Vec<Point> = match spots {
            [] => vec![at(0.0, 0.0), at(0.0, side * 0.5 * long)],
            spots => spots.iter().map(|spot| at(spot.rise_mm, side * spot.s_mm)).collect(),
        };
        drawing.path(Kind::Centre, Path::open(unstrung));
    }
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
    let alt = format!(
        "Side view: unstrung, braced at {} and drawn to {}, where it draws {}.",
        build.units.rule(curve.at_brace().pivot_to_nock_mm),
        build.units.rule(curve.at_full_draw().draw_length_mm),
        build.weight_text(curve.at_full_draw().force_n)
    );
    let caption = format!(
        "Side view, {}{}. Chain line: the back unstrung. Dashed: braced. Full: drawn to {}.",
        in_words(scale),
        if build.limb.is_some() { ", upper limb on the right" } else { "" },
        build.units.rule(curve.at_full_draw().draw_length_mm)
    );
    Picture { drawing, caption, alt }
}

/// Force over draw length.
pub(super) fn force(build: &Build, curve: &DrawCurve) -> Picture {
    let mut drawing = Drawing::new("force", "Force over draw length");
    crate::sheets::bow::plot(&mut drawing, build.units, curve, Point::new(0.0, 0.0), (110.0, 28.0));
    let full = curve.at_full_draw();
    let alt = format!(
        "Force over draw length, rising to {} at {}.",
        build.weight_text(full.force_n),
        build.units.rule(full.draw_length_mm)
    );
    Picture { drawing, caption: "Force over draw length; the tone under the line is the stored energy.".into(), alt }
}

/// One limb from the back, with its widths.
pub(super) fn outline(build: &Build, outline: &Outline) -> Picture {
    let mut drawing = Drawing::new("outline", "The limb's outline");
    let end = outline.end_mm();
    let scale = scale_for(end, WIDE_MM);
    let wider = 2.0;
    let half: Vec<Point> = crate::sheets::outline::edge(outline, 0.0, end);
    let shown = |side: f64| half.iter().map(move |p| Point::new(p.x / scale, side * p.y.abs() * wider / scale));
    let upper: Vec<Point> = shown(1.0).collect();
    let whole = Path::closed(upper.iter().copied().chain(shown(-1.0).collect::<Vec<_>>().into_iter().rev()));
    drawing.path(Kind::Tone, whole.clone());
    drawing.path(Kind::Edge, whole);
    drawing.line(Kind::Centre, Point::new(-4.0, 0.0), Point::new(end / scale + 4.0, 0.0));
    let deepest = half.iter().map(|p| p.y.abs()).fold(0.0, f64::max) * wider / scale;
    let stations = marks(build, end);
    station_rule(
        &mut drawing,
        Point::new(0.0, -deepest - 5.0),
        0.0,
        &stations.iter().map(|s| (s / scale, build.units.rule(*s))).collect::<Vec<_>>(),
    );
    let mut free = f64::NEG_INFINITY;
    for s in &stations {
        let text = build.units.rule(outline.width_at(*s));
        let half_wide = 0.5 * width_mm(&text, SMALL_MM, Lettering::Regular) + 0.8;
        let x = s / scale;
        if free < x - half_wide {
            let label = Label::new(text, Point::new(x, deepest + 2.5), SMALL_MM).aligned(Align::Middle);
            drawing.label(Kind::Dimension, label);
            free = x + half_wide;
        }
    }
    let caption =
        format!("One limb from the back, lengths {}, widths doubled; full widths above, stations below.", in_words(scale));
    let alt = format!("Outline of one limb, {} long.", build.units.rule(end));
    Picture { drawing, caption, alt }
}

/// Round stations along a limb: each four inches or 100 mm, with the end.
pub(super) fn marks(build: &Build, end_mm: f64) -> Vec<f64> {
    let step = build.units.either_mm(4.0, 100.0);
    let mut marks: Vec<f64> = limit::steps_within(end_mm, step).collect();
    // A round place close to the end gives way to it.
    marks.pop_if(|last| end_mm - *last <= 0.3 * step);
    marks.push(end_mm);
    marks
}

/// A finished lamination from its edge: thickness enlarged.
pub(super) fn profile(build: &Build, lamination: &Lamination) -> Picture {
    let mut drawing = Drawing::new("profile", "Thickness along the lamination");
    let (from, to) = (lamination.from_mm, lamination.to_mm);
    let scale = scale_for(to - from, WIDE_MM);
    let thickest = lamination.finished.curve().max().y.max(1e-3);
    // About a finger's width of picture.
    let larger = (16.0 * scale / thickest).floor().clamp(1.0, 60.0);
    let at = |s: f64, t: f64| Point::new((s - from) / scale, t * larger / scale);
    let count = 120;
    let top: Vec<Point> = (0..=count)
        .map(|k| from + (to - from) * f64::from(k) / f64::from(count))
        .map(|s| at(s, lamination.finished.at(s)))
        .collect();
    let whole = Path::closed(top.into_iter().chain([at(to, 0.0), at(from, 0.0)]));
    drawing.path(Kind::Tone, whole.clone());
    drawing.path(Kind::Edge, whole);
    if let (Some(splice), Some([inner, outer])) = (&lamination.splice, lamination.spliced_mm()) {
        // The belly side lies at the bottom.
        let outer_on_back = splice.outer.as_ref().is_some_and(|piece| piece.on_back);
        let [on_belly, on_back] = if outer_on_back { [outer, inner] } else { [inner, outer] };
        drawing.line(Kind::Edge, at(on_belly.max(from), 0.0), at(on_back, lamination.finished.at(on_back)));
    }
    if let Some(feather) = build.riser.as_ref().map(|riser| riser.feather_station_mm()).filter(|s| from < *s && *s < to) {
        drawing.line(Kind::Hidden, at(feather, 0.0), Point::new(at(feather, 0.0).x, 21.0));
        let label = Label::new("feather", Point::new(at(feather, 0.0).x + 1.0, 19.5), SMALL_MM);
        drawing.label(Kind::Note, label);
    }
    let stations: Vec<(f64, String)> =
        marks(build, to).into_iter().filter(|s| from <= *s).map(|s| ((s - from) / scale, build.units.rule(s))).collect();
    station_rule(&mut drawing, Point::new(0.0, -3.0), 0.0, &stations);
    let caption = format!(
        "From its edge, {}lengths {}, thickness {larger:.0} times as large; stations from the bow's centre.",
        if lamination.splice.is_some() { "back up, " } else { "" },
        in_words(scale)
    );
    let alt = format!(
        "{} at the butt, {} at the tip.",
        build.units.thickness(lamination.finished.at(from)),
        build.units.thickness(lamination.finished.at(to))
    );
    Picture { drawing, caption, alt }
}

/// The sled from its side with the strip on it: heights enlarged, places where they are to be measured.
pub(super) fn sled(build: &Build, lamination: &Lamination, kit: &Kit) -> Picture {
    let Kit { sled: of, ribs_mm, shims, .. } = kit;
    let mut drawing = Drawing::new("sled", "The sled from its side");
    let (start, end) = (-of.run_on_mm, of.strip_length_mm + of.run_on_mm);
    let scale = scale_for(end - start, WIDE_MM);
    let highest = of.ramp.max().y;
    let lowest = of.ramp.min().y;
    // The rise, not the height, is what one wants to see: the base is cut short.
    let rise = (highest - lowest).max(0.2);
    let thickest = (0..=20).map(|k| lamination.strip_thickness_at(of.strip_length_mm * f64::from(k) / 20.0)).fold(0.2, f64::max);
    let larger = (18.0 / rise).min(20.0 / thickest);
    // A board or carrier runs on at its own slope; a cut sled is raised at its ends.
    let sloped = kit.side != SideView::Raised;
    let ends = if sloped { [start, end] } else { [0.0, of.strip_length_mm] };
    let low = ends.map(|u| of.surface_mm(u)).into_iter().fold(lowest + of.deck_mm + of.under_mm, f64::min);
    /// What is left of the base, mm of the page.
    const FOOT_MM: f64 = 10.0;
    let y = |height: f64| FOOT_MM + (height - low) * larger;
    let x = |u: f64| (u - start) / scale;
    let count = 160;
    let along = |k: u32| of.strip_length_mm * f64::from(k) / f64::from(count);
    let surface: Vec<Point> = (0..=count).map(along).map(|u| Point::new(x(u), y(of.surface_mm(u)))).collect();
    let over = |u: f64| y(of.surface_mm(u) + lamination.strip_thickness_at(u));
    let strip: Vec<Point> = (0..=count).map(along).map(|u| Point::new(x(u), over(u))).collect();
    let strip = Path::closed(surface.iter().copied().chain(strip.into_iter().rev()));
    drawing.path(Kind::Tone, strip.clone());
    drawing.path(Kind::Edge, strip);
    drawing.line(Kind::Edge, Point::new(x(start) - 2.0, 0.0), Point::new(x(end) + 2.0, 0.0));
    let stop_top = |i: usize| of.run_on_top_mm[i].map(y);
    if sloped {
        let under = |u: f64| y(of.surface_mm(u)) - FOOT_MM;
        let top = [start].into_iter().map(|u| Point::new(x(u), y(of.surface_mm(u)))).chain(surface.iter().copied());
        let top = top.chain([Point::new(x(end), y(of.surface_mm(end)))]);
        let foot = [end].into_iter().chain((0..=count).rev().map(along)).chain([start]).map(|u| Point::new(x(u), under(u)));
        drawing.path(Kind::Edge, Path::closed(top.chain(foot)));
        for Shim { u_mm: u, .. } in shims {
            let middle = x(*u).clamp(x(start) + 1.2, x(end) - 1.2);
            let shim = Bounds { min: Point::new(middle - 1.2, 0.0), max: Point::new(middle + 1.2, under(*u).max(0.0)) };
            drawing.path(Kind::Edge, Path::rectangle(shim));
        }
        for (i, (u, side)) in [(0.0, -1.0), (of.strip_length_mm, 1.0)].into_iter().enumerate() {
            if let Some(top) = stop_top(i) {
                let (near, far) = (x(u), x(u) + side * 3.0);
                let seat = y(of.surface_mm(u));
                drawing.path(Kind::Edge, Path::rectangle(Bounds::of([Point::new(near, seat), Point::new(far, top)])));
            }
        }
    } else {
        let raised = |i: usize, u: f64| stop_top(i).unwrap_or_else(|| y(of.surface_mm(u)));
        let [first, last] = [raised(0, 0.0), raised(1, of.strip_length_mm)];
        let body = [Point::new(x(start), 0.0), Point::new(x(start), first), Point::new(x(0.0), first)]
            .into_iter()
            .chain(surface.iter().copied())
            .chain([Point::new(x(of.strip_length_mm), last), Point::new(x(end), last), Point::new(x(end), 0.0)]);
        drawing.path(Kind::Edge, Path::open(body));
        for u in ribs_mm {
            let top = match *u {
                u if u < 0.0 => first,
                u if of.strip_length_mm < u => last,
                u => y(of.surface_mm(u)),
            };
            drawing.line(Kind::Hidden, Point::new(x(*u), 0.0), Point::new(x(*u), top));
        }
    }
    let lead = if of.first_end_leads { 1.0 } else { -1.0 };
    let top = y(of.surface_mm(0.0) + lamination.strip_thickness_at(0.0)) + 9.0;
    let (tail, head) = if 0.0 < lead { (x(end * 0.35), x(end * 0.15)) } else { (x(end * 0.65), x(end * 0.85)) };
    drawing.path(Kind::Note, Path::open([Point::new(tail, top), Point::new(head, top)]));
    drawing.path(
        Kind::Note,
        Path::open([Point::new(head + 2.2 * lead, top + 1.0), Point::new(head, top), Point::new(head + 2.2 * lead, top - 1.0)]),
    );
    let word = Label::new("into the machine", Point::new(0.5 * (tail + head), top + 1.2), SMALL_MM).aligned(Align::Middle);
    drawing.label(Kind::Note, word);
    for (u, name, align) in [(0.0, of.ends[0], Align::Left), (of.strip_length_mm, of.ends[1], Align::Right)] {
        drawing.label(Kind::Note, Label::new(name, Point::new(x(u), top - 4.5), TEXT_MM).aligned(align));
    }
    let places: Vec<(f64, String)> =
        marks(build, of.strip_length_mm).into_iter().map(|u| (u / scale, build.units.rule(u))).collect();
    station_rule(&mut drawing, Point::new(x(0.0), -4.0), 0.0, &places);
    let caption = format!(
        "Side view, lengths {}, heights {:.0} times as large, base cut short; places from the strip's {}.",
        in_words(scale),
        larger * scale,
        of.ends[0]
    );
    let rises = build.units.thickness(highest - lowest);
    let alt = format!("The sled under {} rises by {rises}; it is highest where the strip is thinnest.", lamination.name);
    Picture { drawing, caption, alt }
}

/// The layers of a cut sled drawn apart, one over the other, in the order in which they go together.
pub(super) fn exploded(lamination: &Lamination, of: &Sled, ribs_mm: &[f64]) -> Picture {
    let mut drawing = Drawing::new("exploded", "How the sled goes together");
    let (start, end) = (-of.run_on_mm, of.strip_length_mm + of.run_on_mm);
    let scale = scale_for(end - start, WIDE_MM - 34.0);
    let x = |u: f64| (u - start) / scale;
    let width = (end - start) / scale;
    let lowest = of.ramp.min().y;
    let highest = of.ramp.max().y;
    let steep = 8.0 / (highest - lowest).max(0.2);
    let rise = |u: f64| (of.ramp.at(u.clamp(0.0, of.strip_length_mm)) - lowest) * steep;
    let count = 80;
    let edge = |base: f64, thick: f64| {
        let along = move |k: u32| start + (end - start) * f64::from(k) / f64::from(count);
        let upper = (0..=count).map(along).map(move |u| Point::new(x(u), base + thick + rise(u)));
        let lower: Vec<Point> = (0..=count).rev().map(along).map(|u| Point::new(x(u), base + rise(u))).collect();
        Path::closed(upper.chain(lower))
    };
    let name = |drawing: &mut Drawing, y: f64, number: u32, text: &str| {
        drawing.label(Kind::Note, Label::new(format!("{number}  {text}"), Point::new(width + 4.0, y), TEXT_MM));
    };
    // From the table up: ribs with slots up, rails that drop over them with slots down, deck, stop and strip.
    let along = |k: u32| start + (end - start) * f64::from(k) / f64::from(count);
    const RAIL_FOOT_MM: f64 = 22.0;
    for u in ribs_mm {
        let (foot, middle, top) = (0.0, 4.5, 9.0 + rise(*u));
        let rib = Bounds { min: Point::new(x(*u) - 0.5, foot), max: Point::new(x(*u) + 0.5, top) };
        drawing.path(Kind::Tone, Path::rectangle(rib));
        drawing.path(Kind::Edge, Path::rectangle(rib));
        // Its slot, seen from the side as a hidden foot.
        drawing.line(Kind::Dimension, Point::new(x(*u) - 0.5, middle), Point::new(x(*u) + 0.5, middle));
        drawing.line(Kind::Centre, Point::new(x(*u), top + 0.6), Point::new(x(*u), RAIL_FOOT_MM - 0.6));
    }
    name(&mut drawing, 3.0, 1, "ribs, slots up");
    let rail = Path::closed(
        (0..=count)
            .map(along)
            .map(|u| Point::new(x(u), RAIL_FOOT_MM + 9.0 + rise(u)))
            .chain([Point::new(x(end), RAIL_FOOT_MM), Point::new(x(start), RAIL_FOOT_MM)]),
    );
    drawing.path(Kind::Tone, rail.clone());
    drawing.path(Kind::Edge, rail);
    for u in ribs_mm {
        for side in [-0.5, 0.5] {
            let at = x(*u) + side;
            drawing.line(Kind::Edge, Point::new(at, RAIL_FOOT_MM), Point::new(at, RAIL_FOOT_MM + 4.5));
        }
        drawing.line(Kind::Edge, Point::new(x(*u) - 0.5, RAIL_FOOT_MM + 4.5), Point::new(x(*u) + 0.5, RAIL_FOOT_MM + 4.5));
    }
    name(&mut drawing, RAIL_FOOT_MM + 3.0, 2, "rails, slots down");
    let deck = edge(44.0, 1.6);
    drawing.path(Kind::Tone, deck.clone());
    drawing.path(Kind::Edge, deck);
    name(&mut drawing, 45.0, 3, "deck");
    let held = if of.first_end_leads { 0.0 } else { of.strip_length_mm };
    let stop = x(held) + if of.first_end_leads { -3.0 } else { 1.0 };
    let base = 58.0 + rise(held);
    drawing.path(Kind::Edge, Path::rectangle(Bounds { min: Point::new(stop, base), max: Point::new(stop + 2.0, base + 2.0) }));
    let thick = |u: f64| (lamination.strip_thickness_at(u) * steep).clamp(0.6, 14.0);
    let strip_at = |k: u32| of.strip_length_mm * f64::from(k) / f64::from(count);
    let strip = Path::closed(
        (0..=count)
            .map(strip_at)
            .map(|u| Point::new(x(u), 58.0 + rise(u) + thick(u)))
            .chain((0..=count).rev().map(strip_at).map(|u| Point::new(x(u), 58.0 + rise(u)))),
    );
    drawing.path(Kind::Tone, strip.clone());
    drawing.path(Kind::Edge, strip);
    name(&mut drawing, 60.0, 4, "stop and strip");
    let alt = "The sled's layers from the table up: ribs with their slots up, rails that drop over them, deck, stop and strip."
        .to_owned();
    let caption = format!("The sled's layers drawn apart: lengths {}, heights and the rise not to scale.", in_words(scale));
    Picture { drawing, caption, alt }
}

/// The riser's side with its main sizes, and its slices seen from the back.
pub(super) fn riser(build: &Build, block: &RiserBlock) -> Option<Picture> {
    let riser = build.riser.as_ref()?;
    let mut drawing = Drawing::new("riser", "The riser");
    let scale = scale_for(block.blank_length_mm, WIDE_MM - 16.0);
    let units = build.units;
    let template = scaled(&block.template, 1.0 / scale);
    let bounds = template.bounds();
    let sawn = scaled(&block.sawn, 1.0 / scale);
    drawing.path(Kind::Hidden, sawn);
    drawing.path(Kind::Tone, template.clone());
    drawing.path(Kind::Edge, template);
    let (left, right) = (bounds.min.x, bounds.max.x);
    let middle = 0.5 * (left + right);
    for joint in &block.joints {
        let at = |side: f64| Point::new(middle + side * joint.reach_mm / scale, bounds.min.y + joint.height_mm / scale);
        drawing.line(Kind::Edge, at(-1.0), at(1.0));
    }
    let level = 0.5 * riser.level_mm / scale;
    dimension_x(
        &mut drawing,
        Point::new(left, bounds.min.y),
        Point::new(right, bounds.min.y),
        bounds.min.y - 9.0,
        &units.rule(riser.length_mm),
    );
    dimension_x(
        &mut drawing,
        Point::new(middle - level, bounds.max.y),
        Point::new(middle + level, bounds.max.y),
        bounds.max.y + 7.0,
        &units.rule(riser.level_mm),
    );
    dimension_y(
        &mut drawing,
        Point::new(middle, bounds.min.y),
        Point::new(middle, bounds.max.y),
        right + 9.0,
        &units.thickness(riser.depth_mm),
    );
    // From the back: slices as bands.
    let top = bounds.min.y - 15.0;
    let half = 0.5 * block.blank_length_mm / scale;
    let first = block.bands.iter().map(|band| band.from_mm.min(band.to_mm)).fold(f64::INFINITY, f64::min);
    for band in &block.bands {
        let down = |at_mm: f64| top - (at_mm - first) / scale;
        let (one, other) = (down(band.from_mm), down(band.to_mm));
        let min = Point::new(middle - half, one.min(other));
        drawing.path(Kind::Edge, Path::rectangle(Bounds { min, max: Point::new(middle + half, one.max(other)) }));
    }
    if let Some(footing) = &riser.footing {
        let [point, open] = footing.corners(riser.feather_station_mm()).map(|s| s / scale);
        let (deep, wide) = (top - 0.5 * block.width_mm / scale, 0.5 * block.width_mm / scale);
        for side in [-1.0, 1.0] {
            let at = |s: f64, v: f64| Point::new(middle + side * s, deep + v);
            drawing.path(Kind::Edge, Path::open([at(open, wide), at(point, 0.0), at(open, -wide)]));
        }
    }
    if let Some(overlay) = &block.overlay {
        let over = scaled(&overlay.template, 1.0 / scale);
        let over = over.moved(middle, top - block.width_mm / scale - 5.0 - over.bounds().max.y);
        drawing.path(Kind::Tone, over.clone());
        drawing.path(Kind::Edge, over);
    }
    let from_the_back = match (riser.is_layered(), riser.footing.is_some()) {
        (false, false) => "with its slices",
        (true, false) => "with its first layer",
        (false, true) => "with its slices and the V of its footings",
        (true, true) => "with the V of its footings",
    };
    let under = if block.overlay.is_some() { " Under it the overlay from the side, belly up." } else { "" };
    let caption = format!(
        "The riser, {}. Above: from the side, dashed as sawn, full as ground. Below: the block from the back {from_the_back}.{under}",
        in_words(scale)
    );
    let alt = format!(
        "Riser {} long and {} deep, level for {} in the middle, falling to a feather at both ends.",
        units.rule(riser.length_mm),
        units.thickness(riser.depth_mm),
        units.rule(riser.level_mm)
    );
    Some(Picture { drawing, caption, alt })
}

/// The riser as hands cut it, from the back and from the side, both with the upper limb to the right.
pub(super) fn cuts(build: &Build, riser: &Riser, cuts: &HandCuts) -> Picture {
    let mut drawing = Drawing::new("cuts", cuts.which.title());
    let wide = cuts.back_view.as_ref().map_or(2.0 * riser.level_mm, |path| path.bounds().width());
    let scale = scale_for(wide, WIDE_MM - 16.0);
    let mut top = 0.0;
    for (path, name) in cuts.back_view.iter().map(|path| (path, "back")).chain([(&cuts.side_view, "side")]) {
        let view = scaled(path, 1.0 / scale);
        let bounds = view.bounds();
        let view = view.moved(0.0, top - bounds.max.y);
        let bounds = view.bounds();
        drawing.path(Kind::Tone, view.clone());
        drawing.path(Kind::Edge, view);
        drawing.line(Kind::Centre, Point::new(0.0, bounds.min.y - 2.0), Point::new(0.0, bounds.max.y + 2.0));
        drawing
            .label(Kind::Note, Label::new(name, Point::new(bounds.max.x + 3.0, 0.5 * (bounds.min.y + bounds.max.y)), SMALL_MM));
        top = bounds.min.y - 8.0;
    }
    let caption = format!(
        "Cut by hand: {}, {}, upper limb to the right. The dashed line is the throat, at the bow's centre.",
        cuts.which.words(),
        in_words(scale)
    );
    let mut alt = "The riser's level part from the side, back down".to_owned();
    if let Some(grip) = &riser.grip {
        alt += &format!(", cut to {} at the throat", build.units.thickness(grip.throat_mm));
    }
    if let Some(pass) = &riser.pass {
        alt += &format!("; from the back, with a shelf {} over it", build.units.rule(pass.height_mm));
    }
    Picture { drawing, caption, alt: alt + "." }
}

/// A stage held and released: the back's line, its rise enlarged.
pub(super) fn stage(build: &Build, stage: &Stage) -> Picture {
    let mut drawing = Drawing::new("stage", "Held and released");
    let end = stage.on_form.last().map_or(1.0, |spot| spot.s_mm);
    let scale = scale_for(end, WIDE_MM - 12.0);
    let spots = || stage.on_form.iter().chain(&stage.released);
    let reach = spots().map(|spot| spot.rise_mm.abs()).fold(0.0, f64::max);
    let larger = [1.0, 2.0, 3.0, 4.0, 5.0, 8.0].into_iter().rev().find(|k| reach * k / scale <= 24.0).unwrap_or(1.0);
    // As it lies on the bench: what is nearer the bench is below. The belly is up unless the belly lies on the form.
    let belly_up = match stage.held {
        Held::Flat => true,
        Held::Props { rise_mm, .. } => 0.0 <= rise_mm,
        Held::Form { .. } => build.riser.as_ref().is_none_or(|riser| 0 < riser.position),
    };
    let up = if belly_up { 1.0 } else { -1.0 };
    let at = |s: f64, rise: f64| Point::new(s / scale, up * rise * larger / scale);
    let low = spots().map(|spot| at(0.0, spot.rise_mm).y).fold(0.0, f64::min);
    let held: Vec<Point> = stage.on_form.iter().map(|spot| at(spot.s_mm, spot.rise_mm)).collect();
    let mut bench = 0.0_f64.min(low);
    let mut below = low;
    match stage.held {
        Held::Form { .. } => {
            bench = low - 5.0;
            below = bench;
            let body = Path::closed(held.iter().copied().chain([Point::new(at(end, 0.0).x, bench), Point::new(0.0, bench)]));
            drawing.path(Kind::Tone, body.clone());
            drawing.path(Kind::Dimension, body);
            drawing.label(Kind::Note, Label::new("form", Point::new(2.0, bench + 1.5), SMALL_MM));
        }
        Held::Props { rise_mm, at_mm } => {
            let (foot, top) = (Point::new(at(at_mm, 0.0).x, bench), at(at_mm, rise_mm));
            let prop = [Point::new(foot.x - 2.5, foot.y), Point::new(foot.x + 2.5, foot.y), top];
            drawing.path(Kind::Edge, Path::closed(prop));
            dimension_y(&mut drawing, foot, top, at(end, 0.0).x + 7.0, &build.units.decimal(rise_mm.abs()));
            drawing.label(Kind::Note, Label::new("held down here", Point::new(1.0, 2.2), SMALL_MM));
        }
        Held::Flat => {}
    }
    drawing.line(Kind::Edge, Point::new(-2.0, bench), Point::new(at(end, 0.0).x + 2.0, bench));
    drawing.line(Kind::Centre, at(0.0, 0.0), at(end, 0.0));
    drawing.path(Kind::Edge, Path::open(held));
    drawing.path(Kind::Hidden, Path::open(stage.released.iter().map(|spot| at(spot.s_mm, spot.rise_mm))));
    let stations: Vec<(f64, String)> = marks(build, end).into_iter().map(|s| (s / scale, build.units.rule(s))).collect();
    station_rule(&mut drawing, Point::new(0.0, below.min(bench) - 4.0), 0.0, &stations);
    let rise = if larger < 1.5 { "rise alike".to_owned() } else { format!("rise {larger} times as large") };
    let caption = format!(
        "On the bench, {} up: lengths {}, {rise}. Full: held; dashed: released.",
        if belly_up { "belly" } else { "back" },
        in_words(scale)
    );
    let alt = format!(
        "Held, the nock stands {} from the grip's line; released, {}.",
        build.units.decimal(stage.tip_held_mm()),
        build.units.decimal(stage.tip_left_mm())
    );
    Picture { drawing, caption, alt }
}

/// How many strips one bow takes, in words.
pub(super) fn strips(lamination: &Lamination) -> &'static str {
    match (lamination.pieces, lamination.strips_per_bow()) {
        (Pieces::Halves, 2) if matches!(lamination.meet, Meet::Scarfed { .. }) => "2 strips, a matched pair, scarfed at the grip",
        (Pieces::Halves, 2) if matches!(lamination.meet, Meet::Lapped { .. }) => "2 strips, a matched pair, lapped at the grip",
        (Pieces::Full, _) => "1 strip, tip to tip",
        (Pieces::Halves, 1) => "1 strip; the other limb's is in its own book",
        (Pieces::Halves, _) => "2 strips, a matched pair",
    }
}
