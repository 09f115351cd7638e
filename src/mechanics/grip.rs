//! Does the riser hold where hands have cut it: at the arrow pass, and at the throat of the grip?
//!
//! At full draw the string pulls on each limb with the tension `T`. In the riser, which hardly bends, that is known without its stiffness: a moment
//! `M` that bends it toward the belly, and a push `N` along it. Both act on what is left of the section, layer by layer and slice by slice:
//!
//! ```text
//!           v, across            ε = ε0 + a (z − z̄) + b (v − v̄)
//!     ┌──────┬─────────┐         ε0 = −N / ΣEA
//!     │ cut  │  left   │ z=0     a Izz + b Izv = −(M − N (z̄ − z̄full))
//!     │ away │  z̄,v̄    │         a Izv + b Ivv = N v̄
//!     └──────┴─────────┘ belly   Izz = ΣE(dz²/12 + (z − z̄)²) A, and so on; σ = E ε
//!         the string pulls at v = 0
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `z`, `v` | depth from the back; across from the centre line, positive on the archer's right | mm |
//! | `M`, `N` | moment about the uncut section's axis `z̄full`, and `T cos β` with the string at `β` to the bow | N·mm, N |
//! | `E`, `A` | modulus and area of a rectangle of one wood | MPa, mm² |
//! | `ε`, `σ` | strain and stress, positive for stretch | –, MPa |
//!
//! A window past the centre line leaves wood to one side of the string: it is bent sideways, too, which is `b`. The greatest strain against the
//! breaking strain of its own wood (bending strength over modulus, [`super::verdict`]) is the fraction of its strength at which a place works; it is
//! looked for a millimetre apart along each cut.
//!
//! Source: beams of several materials under oblique bending with an axial force, any text on strength of materials; from memory. Left out:
//! shear and twist, what the shelf's inside corner adds (it is rounded), what rounding the edges takes off, and what the glue-up left in the riser.

use super::draw::DrawCurve;
use super::layer_kind::LayerKind;
use super::section::Stack;
use super::verdict::{self, Verdict};
use crate::diag::{Diagnostic, Message, Place, at_least, at_most, mm, ruled};
use crate::model::Build;
use crate::model::grip::{ArrowPass, MIN_SHELF_MM};
use crate::model::outline::Outline;
use crate::model::riser::Riser;
use crate::model::wood::Wood;
use crate::numeric::root;
use crate::units::percent;

/// Where a riser is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HandCut {
    ArrowPass,
    Grip,
}

impl HandCut {
    /// As the trade calls it.
    pub fn word(self) -> &'static str {
        match self {
            HandCut::ArrowPass => "arrow pass",
            HandCut::Grip => "grip",
        }
    }
}

/// The hardest-working place of one cut at full draw.
#[derive(Debug, Clone, PartialEq)]
pub struct WeakPlace {
    pub cut: HandCut,
    /// Station, positive toward the upper limb, mm.
    pub s_mm: f64,
    /// What is left there, back to belly and side to side, mm.
    pub depth_mm: f64,
    pub width_mm: f64,
    /// The wood that works hardest.
    pub wood: String,
    /// Its greatest stress, MPa; positive is stretch.
    pub stress_mpa: f64,
    /// |strain| over its average breaking strain; `None` where that is not published.
    pub share_of_breaking: Option<f64>,
}

impl WeakPlace {
    /// Whether the wood left bears it; `None` where its strength is not published.
    pub fn verdict(&self) -> Option<Verdict> {
        self.share_of_breaking.map(verdict::at_a_cut)
    }
}

/// Each cut of the riser at full draw; none without one, and none for a batch of laminations.
pub fn check(build: &Build, curve: &DrawCurve) -> Vec<WeakPlace> {
    let Some(riser) = &build.riser else { return Vec::new() };
    let Ok(stack) = Stack::of(build) else { return Vec::new() };
    let cut = CutRiser { stack: &stack, curve };
    let pass = riser.pass.map(|pass| cut.weakest(HandCut::ArrowPass, pass.height_mm, pass.end_mm()));
    // The grip as far as the shelf: what is cut by both is the arrow pass.
    let shelf_mm = riser.pass.map_or(f64::INFINITY, |pass| pass.height_mm);
    let grip = riser.grip.map(|grip| cut.weakest(HandCut::Grip, -grip.below_mm(), grip.up_mm.min(shelf_mm)));
    pass.into_iter().chain(grip).flatten().collect()
}

/// What a builder is told of cuts that work too hard.
pub fn warnings(build: &Build, curve: &DrawCurve, found: &[WeakPlace]) -> Vec<Diagnostic> {
    let hard = |place: &&WeakPlace| place.verdict().is_some_and(|verdict| verdict != Verdict::Goes);
    found.iter().filter(hard).map(|place| warning(build, curve, place)).collect()
}

fn warning(build: &Build, curve: &DrawCurve, place: &WeakPlace) -> Diagnostic {
    let (limit, told) = match place.verdict() {
        Some(Verdict::Stop) => {
            (verdict::CUT_STOP, "stop: pieces scatter, and a riser that breaks here hurts whoever stands by".to_owned())
        }
        _ => {
            let limit = percent(verdict::CUT_CAUTION, 0);
            (verdict::CUT_CAUTION, format!("caution: what is drawn ten thousand times shall stay below {limit} percent of it"))
        }
    };
    // With as many decimals as tell it from the limit that it is over.
    let works = place.share_of_breaking.unwrap_or(0.0);
    let decimals = (0..2).find(|decimals| percent(works, *decimals) != percent(limit, *decimals)).unwrap_or(2);
    let message = message!(
        "at the {}, station {}, {} deep and {} wide are left: {} works at {} percent of its average strength at full draw; {}",
        place.cut.word(),
        mm(place.s_mm),
        ruled(place.depth_mm),
        ruled(place.width_mm),
        place.wood,
        percent(works, decimals),
        told
    );
    let key = match place.cut {
        HandCut::ArrowPass => Place::new("riser.shelf.past_centre"),
        HandCut::Grip => Place::new("riser.grip.throat"),
    };
    Diagnostic::warning(key, message).hint(enough(build, curve, place.cut))
}

/// What of the cut's own size would stay under the caution; a deeper riser where no size of it does.
fn enough(build: &Build, curve: &DrawCurve, cut: HandCut) -> Message {
    // A deeper throat moves the pivot point, and with it the draw, by a few parts in a hundred.
    const ROOM: f64 = 0.95;
    let bears = |build: &Build| {
        let worst = check(build, curve).into_iter().find(|place| place.cut == cut);
        worst.and_then(|place| place.share_of_breaking).is_none_or(|fraction| fraction <= ROOM * verdict::CUT_CAUTION)
    };
    let Some(riser) = &build.riser else { return Message::default() };
    // From the size that is drawn to the least cut there is.
    let (drawn, min) = match cut {
        HandCut::ArrowPass => {
            let pass = riser.pass.as_ref().zip(build.outline.as_ref());
            pass.map_or((0.0, 0.0), |(pass, outline)| (pass.past_centre_mm, min_past_centre_mm(pass, outline)))
        }
        HandCut::Grip => riser.grip.map_or((0.0, 0.0), |grip| (grip.throat_mm, build.depth_mm(0.0))),
    };
    let changed = |to_mm: f64| {
        let mut build = build.clone();
        if let Some(riser) = &mut build.riser {
            match cut {
                HandCut::ArrowPass => riser.pass.iter_mut().for_each(|pass| pass.past_centre_mm = to_mm),
                HandCut::Grip => riser.grip.iter_mut().for_each(|grip| grip.throat_mm = to_mm),
            }
        }
        build
    };
    if !bears(&changed(min)) {
        return deeper(build, riser, curve, cut);
    }
    // Twelve halvings: a hundredth of a millimetre.
    let enough = root::bisect(|size| bears(&changed(size)), min, drawn, 12).holds;
    match cut {
        HandCut::ArrowPass => message!("lower `past_centre` to {} or less", at_most(enough)),
        HandCut::Grip => message!("raise `throat` to {} or more", at_least(enough)),
    }
}

/// How deep the riser must be where no size of the cut itself is enough, and what is cut from its belly with it.
fn deeper(build: &Build, riser: &Riser, curve: &DrawCurve, cut: HandCut) -> Message {
    // A deeper grip moves the pivot point farther than a throat within the same riser does.
    const ROOM: f64 = 0.9;
    // A hand closes round no more; a proposal of ours, no source.
    const MOST_MM: f64 = 20.0;
    let full_mm = build.depth_mm(0.0);
    let deepened = |by_mm: f64| {
        let mut build = build.clone();
        if let Some(riser) = &mut build.riser {
            riser.depth_mm += by_mm;
            riser.layers.last_mut().into_iter().for_each(|layer| layer.thickness_mm += by_mm);
            if let Some(grip) = &mut riser.grip {
                grip.throat_mm = full_mm + by_mm;
                grip.palm.iter_mut().for_each(|palm| palm.depth_mm = full_mm + by_mm);
            }
        }
        build
    };
    let bears = |by_mm: f64| {
        let worst = check(&deepened(by_mm), curve).into_iter().find(|place| place.cut == cut);
        worst.and_then(|place| place.share_of_breaking).is_none_or(|fraction| fraction <= ROOM * verdict::CUT_CAUTION)
    };
    if !bears(MOST_MM) {
        return message!(
            "no size of this cut is enough, nor a riser {} deeper: a bow that is wider there, a stronger wood or a lighter bow is what is left",
            mm(MOST_MM)
        );
    }
    let by_mm = root::bisect(bears, MOST_MM, 0.0, 16).holds;
    let mut says = message!(
        "no size of this cut is enough in this riser: raise `riser.depth` to {} or more",
        at_least(riser.depth_mm + by_mm)
    );
    if let Some(layer) = riser.layers.last() {
        says = message!("{}, the last of its `layers` to {} with it", says, at_least(layer.thickness_mm + by_mm));
    }
    if let Some(grip) = &riser.grip {
        says = message!("{}, and `throat` to {}", says, at_most(full_mm + by_mm));
        if grip.palm.is_some() {
            says = message!("{}; take `palm` and `heel` out", says);
        }
    }
    says
}

/// The least that a window may be cut past the centre, for a shelf that an arrow lies on, mm.
fn min_past_centre_mm(pass: &ArrowPass, outline: &Outline) -> f64 {
    MIN_SHELF_MM - 0.5 * outline.width_at(pass.narrowest_mm(outline)).min(outline.width_at(pass.end_mm()))
}

struct CutRiser<'a> {
    stack: &'a Stack<'a>,
    curve: &'a DrawCurve,
}

/// A rectangle of one wood: what is left of a layer or of a slice.
struct Rectangle<'a> {
    z: [f64; 2],
    v: [f64; 2],
    modulus_mpa: f64,
    /// `None` for glue.
    wood: Option<&'a Wood>,
}

impl CutRiser<'_> {
    fn weakest(&self, cut: HandCut, from: f64, to: f64) -> Option<WeakPlace> {
        const STEP_MM: f64 = 1.0;
        let count = ((to - from) / STEP_MM).ceil().clamp(1.0, 2000.0) as u32;
        let even = (0..=count).map(|k| from + (to - from) * f64::from(k) / f64::from(count));
        // The throat itself, where it is one of them: a grip is thinnest there.
        let stations = even.chain(Some(0.0).filter(|s| from < *s && *s < to));
        let harder = |a: &WeakPlace, b: &WeakPlace| match (a.share_of_breaking, b.share_of_breaking) {
            (Some(a), Some(b)) => a < b,
            (None, None) => a.stress_mpa.abs() < b.stress_mpa.abs(),
            (a, _) => a.is_none(),
        };
        stations.flat_map(|s| self.at(cut, s)).fold(None, |worst: Option<WeakPlace>, here| match worst {
            Some(worst) if !harder(&worst, &here) => Some(worst),
            _ => Some(here),
        })
    }

    /// Every wood at a station with its greatest strain, as the place it would be.
    fn at(&self, cut: HandCut, s_mm: f64) -> Vec<WeakPlace> {
        let (build, s) = (self.stack.build(), s_mm.abs());
        let Some(riser) = &build.riser else { return Vec::new() };
        let outline = self.stack.outline();
        let section = self.stack.section(s, s);
        let half = 0.5 * outline.width_at(s);
        let pass = riser.pass.filter(|_| cut == HandCut::ArrowPass);
        let left = pass.map_or([-half, half], |pass| pass.left_mm(s_mm, half, 0.5 * outline.width_at(pass.end_mm())));
        let depth_mm = section.depth_mm - build.grip_off_mm(s_mm);
        let mut rectangles = Vec::new();
        for layer in &section.layers {
            let z = [layer.back_mm, layer.belly_mm().min(depth_mm)];
            let whole = |modulus_mpa, wood| Rectangle { z, v: left, modulus_mpa, wood };
            match layer.part {
                // On the tips, and at the ends of the fades.
                LayerKind::Overlay(_) | LayerKind::Footing => {}
                LayerKind::Glue => rectangles.push(whole(layer.modulus_mpa, None)),
                LayerKind::Lamination(_) | LayerKind::Outer(_) | LayerKind::OtherHalf(_) | LayerKind::RiserOverlay => {
                    rectangles.push(whole(layer.modulus_mpa, layer.part.wood(build)));
                }
                LayerKind::Riser(index) => {
                    let board = riser.layers.get(index);
                    let slices = riser.across.iter().zip(riser.bands(build.glue.line_mm));
                    rectangles.extend(slices.map(|(slice, [greater, lesser])| {
                        let wood = board.map_or(&slice.wood, |board| &board.wood);
                        let v = [lesser.max(left[0]), greater.min(left[1])];
                        Rectangle { z, v, modulus_mpa: wood.modulus_mpa, wood: Some(wood) }
                    }));
                }
            }
        }
        // A face that falls on a glue line leaves a sliver of rounding.
        const SLIVER_MM: f64 = 1e-6;
        rectangles.retain(|r| SLIVER_MM < r.z[1] - r.z[0] && SLIVER_MM < r.v[1] - r.v[0]);
        let strain = self.strain(&rectangles, s, section.neutral_mm);
        let place = |r: &Rectangle<'_>| {
            let wood = r.wood?;
            let corners = [[0, 0], [0, 1], [1, 0], [1, 1]].map(|[i, k]| strain(r.z[i], r.v[k]));
            let greatest = corners.into_iter().fold(0.0, |max: f64, strain| if max.abs() < strain.abs() { strain } else { max });
            Some(WeakPlace {
                cut,
                s_mm,
                depth_mm,
                width_mm: left[1] - left[0],
                wood: wood.name.clone(),
                stress_mpa: wood.modulus_mpa * greatest,
                share_of_breaking: wood.breaking_strain.map(|breaking| greatest.abs() / breaking),
            })
        };
        rectangles.iter().filter_map(place).collect()
    }

    /// Strain at depth `z` and `v` across, under the pull of the string at full draw.
    fn strain(&self, rectangles: &[Rectangle<'_>], s: f64, uncut_neutral_mm: f64) -> impl Fn(f64, f64) -> f64 + use<> {
        let sums = |of: &dyn Fn(f64, f64, [f64; 2]) -> f64| -> f64 {
            let each = rectangles.iter().map(|r| {
                let size = [r.z[1] - r.z[0], r.v[1] - r.v[0]];
                r.modulus_mpa * size[0] * size[1] * of(0.5 * (r.z[0] + r.z[1]), 0.5 * (r.v[0] + r.v[1]), size)
            });
            each.sum()
        };
        let stretching = sums(&|_, _, _| 1.0);
        let (z_mean, v_mean) = (sums(&|z, _, _| z) / stretching, sums(&|_, v, _| v) / stretching);
        let zz = sums(&|z, _, size| size[0] * size[0] / 12.0 + (z - z_mean).powi(2));
        let vv = sums(&|_, v, size| size[1] * size[1] / 12.0 + (v - v_mean).powi(2));
        let zv = sums(&|z, v, _| (z - z_mean) * (v - v_mean));
        let (moment, push) = self.load(s);
        let (bent, sideways) = (-(moment - push * (z_mean - uncut_neutral_mm)), push * v_mean);
        let determinant = zz * vv - zv * zv;
        let (a, b) = ((bent * vv - sideways * zv) / determinant, (sideways * zz - bent * zv) / determinant);
        let along = -push / stretching;
        move |z, v| along + a * (z - z_mean) + b * (v - v_mean)
    }

    /// Moment about the uncut section's axis and push along it at full draw at station `s`, N·mm and N: straight between stations.
    fn load(&self, s: f64) -> (f64, f64) {
        let full = self.curve.at_full_draw();
        let known = &self.curve.stations;
        let after = known.iter().position(|station| s <= station.s_mm).unwrap_or(known.len() - 1);
        let before = after.saturating_sub(1);
        let (from, to) = (known[before].s_mm, known[after].s_mm);
        let part = if from < to { ((s - from) / (to - from)).clamp(0.0, 1.0) } else { 1.0 };
        let moment = |k: usize| full.places[k].moment_n_mm;
        (moment(before) + part * (moment(after) - moment(before)), full.tension_n * full.string_angle_rad.cos())
    }
}
