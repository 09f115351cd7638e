//! What does a picture of the bent bow tell of its limbs?
//!
//! Marked in the picture: the edge of the back nearest the camera, at places along each limb that nobody has to know; both nocks where the
//! groove meets that edge; the middle of the grip on it; and marks of known size in or near the plane in which the bow bends
//! ([`crate::geometry::plane_view`]). Half a limb's width stands before the bow's middle plane, which is known from the outline and taken out.
//!
//! ```text
//!   back nearest the camera, in the bow's side frame      Q_i = A(place(u_i, z_i)),  z_i = behind + half the width at s_i
//!   s_i, n_i                                              the nearest place of the bent model, and the way square to it there
//!   reading                                               y_i = n_i · Q_i            model  f_i(x) = n_i · B(s_i; x)
//! ```
//!
//! A point may slide along the limb, which `n_i` does not see (to second order); a nock is read along the limb as well, and the grip.
//! `A` is a rigid motion that puts nocks and grip where the model has them; what it is off by is left open (`SHIFT_MM`, `TURN`), and so comes out of the fit.
//! Rows and their covariance, with all that moves the points together (tilt, perspective, lens, distance), go to [`tiller_fit`] as readings among others: there is
//! one fit. Since `s_i`, `n_i` and `z_i` hang on the shape, all is done `PASSES` times, each time from the shape fitted before.
//!
//! **Curvature** of a stretch is its turn over its length, from the fit, with its σ: clicks, camera and prior of the wood together.
//!
//! Frames and signs as in [`super::tillering`]: each half in its own side frame. Left out: that the bow may stand out of its plane (a twisted
//! limb), and that it may hang by its own weight.
//!
//! Source: least squares as in [`tiller_fit`]; the rows are derived here. `tests/photograph.rs` renders pictures of solved bows and closes the loop.

mod marks;

use super::reading_errors::ReadingErrors;
use super::tiller_fit::{self, BackRow, Fit, GapLayout, LimbCell, Model, PairDesign, ShownRows};
use super::tillering::{BackPlace, BentBack, LOWER, UPPER};
use crate::diag::{Diagnostic, Place, mm};
use crate::geometry::path::Point;
use crate::geometry::plane_view::{KnownMarks, PlacedPoints, PlaneView, SeenPoint};
use crate::model::log::Photograph;
use crate::numeric::linear::cholesky;

/// One reading of a round.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundReading<'a> {
    /// Without what a picture shows.
    pub layout: GapLayout,
    pub read: RoundRead<'a>,
}

/// What was read.
#[derive(Debug, Clone, PartialEq)]
pub enum RoundRead<'a> {
    /// In the order of the layout's stations, upper then lower.
    Distances { read_mm: Vec<f64>, sigma_mm: f64 },
    /// The layout's distances are not read, but told by the fit.
    Picture { photograph: &'a Photograph, place: &'a Place },
}

/// A round fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundFit {
    pub fit: Fit,
    pub model: Model,
    pub layouts: Vec<GapLayout>,
    pub errors: ReadingErrors,
    /// One for each picture of the round.
    pub pictures: Vec<PictureFit>,
}

/// A picture with the limbs as fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct PictureFit {
    /// Which reading of the round.
    pub reading: usize,
    /// The edge of each limb's back as fitted, where it is seen: station and place in the picture, from the fade to the nock.
    pub edges_px: [Vec<(f64, Point)>; 2],
    /// Of the camera against the bow's plane, rad.
    pub tilt_rad: f64,
    /// σ of a point of the limb square to it, by clicking alone, mm.
    pub click_mm: f64,
    /// Four marks removed tilt and perspective.
    pub perspective: bool,
}

/// Why a round was not fitted.
#[derive(Debug, Clone, PartialEq)]
pub enum RoundUnfit {
    Fault(Diagnostic),
    /// Numbers give out.
    Numbers,
}

impl From<Diagnostic> for RoundUnfit {
    fn from(fault: Diagnostic) -> RoundUnfit {
        RoundUnfit::Fault(fault)
    }
}

/// Rounds from shape to rows and back: after the second the rows move by less than a hundredth of a millimetre.
const PASSES: usize = 3;
/// One σ of where the bow stands in the picture, beyond its nocks and grip, and of how it is turned: far more than those leave.
const SHIFT_MM: f64 = 30.0;
const TURN: f64 = 0.03;
/// Beyond clicking, one σ of a point's own, square to the limb: how true an edge is; along it, where a nock's groove has its middle, and
/// the grip.
const EDGE_MM: f64 = 0.15;
const NOCK_MM: [f64; 2] = [0.5, 2.0];
const GRIP_MM: [f64; 2] = [1.5, 6.0];
/// A point farther from its limb than this is none of its, mm.
const FAR_MM: f64 = 120.0;
/// A point that its neighbours contradict by so many σ and by so much was marked elsewhere.
const OUTLIER: f64 = 6.0;
const OUTLIER_MM: f64 = 2.5;
/// Nock to nock in picture and model may differ by this part before it is asked about.
const LENGTH: f64 = 0.06;
/// The grip nearer than this to the line of the nocks does not tell back from belly, mm.
const SIDE_MM: f64 = 15.0;
/// Stretches that curvature is stated for are about so long, mm.
const BEND_MM: f64 = 127.0;
/// Steps of the edge that is drawn over the picture, mm.
const DRAWN_MM: f64 = 12.0;

/// Fits a round of distances and pictures together.
pub fn fit_round(design: &PairDesign<'_>, readings: &[RoundReading<'_>]) -> Result<RoundFit, RoundUnfit> {
    let views: Vec<Option<PlaneView>> = readings
        .iter()
        .map(|reading| match reading.read {
            RoundRead::Picture { photograph, place } => marks::view(photograph, place).map(Some),
            RoundRead::Distances { .. } => Ok(None),
        })
        .collect::<Result<_, _>>()?;
    let bends = stretches(design.cells());
    let mut layouts: Vec<GapLayout> = readings.iter().map(|reading| reading.layout.clone()).collect();
    let mut estimate: Option<Vec<f64>> = None;
    let passes = if views.iter().any(Option::is_some) { PASSES } else { 1 };
    for pass in 1..=passes {
        let (mut read_mm, mut errors) = (Vec::new(), ReadingErrors::default());
        let mut shown = Vec::new();
        for (k, (reading, view)) in readings.iter().zip(&views).enumerate() {
            match (&reading.read, view) {
                (RoundRead::Picture { photograph, place }, Some(view)) => {
                    let backs = design.backs(&layouts, k, estimate.as_deref())?;
                    let rows = PictureRows::of(design, photograph, place, view, &backs)?;
                    layouts[k].shown = ShownRows { backs: rows.rows.clone(), bends: bends.clone() };
                    let gaps = 2 * layouts[k].stations_mm.len();
                    read_mm.extend(std::iter::repeat_n(0.0, gaps).chain(rows.read_mm.iter().copied()));
                    read_mm.extend(bends.iter().map(|_| 0.0));
                    let together = ReadingErrors::together(&rows.covariance).ok_or(RoundUnfit::Numbers)?;
                    errors = errors.then(ReadingErrors::not_read(gaps)).then(together).then(ReadingErrors::not_read(bends.len()));
                    shown.push((k, rows));
                }
                (RoundRead::Distances { read_mm: own, sigma_mm }, _) => {
                    read_mm.extend(own);
                    errors = errors.then(ReadingErrors::each(&vec![*sigma_mm; own.len()]));
                }
                (RoundRead::Picture { .. }, None) => return Err(RoundUnfit::Numbers),
            }
        }
        let model = design.model(&layouts)?;
        let fit = tiller_fit::fit(design, &model, &read_mm, &errors).ok_or(RoundUnfit::Numbers)?;
        if pass < passes {
            estimate = Some(fit.estimate);
            continue;
        }
        let mut pictures = Vec::new();
        for (k, rows) in shown {
            let (RoundRead::Picture { place, .. }, Some(view)) = (&readings[k].read, &views[k]) else { continue };
            let first =
                layouts[..k].iter().map(|layout| layout.rows().iter().sum::<usize>()).sum::<usize>() + layouts[k].rows()[0];
            // Those before it were judged when they were read.
            if k + 1 == readings.len() {
                rows.contradicted(&fit.left[first..first + rows.rows.len()], place)?;
            }
            let backs = design.backs(&layouts, k, Some(&fit.estimate))?;
            pictures.push(rows.drawn(design, k, view, &backs));
        }
        return Ok(RoundFit { fit, model, layouts, errors, pictures });
    }
    Err(RoundUnfit::Numbers)
}

/// Cells put together to stretches that a hand can find.
fn stretches(cells: &[LimbCell]) -> Vec<LimbCell> {
    let own = |side: usize| cells.iter().filter(|cell| cell.side == side).copied().collect::<Vec<_>>();
    let whole = |some: &[LimbCell]| LimbCell { to_mm: some[some.len() - 1].to_mm, ..some[0] };
    let join = |own: Vec<LimbCell>| {
        let count = own.first().map_or(1.0, |cell| BEND_MM / (cell.to_mm - cell.from_mm)).round().max(1.0) as usize;
        // What is left over at the nock goes with the last.
        let parts = (own.len() / count).max(1);
        (0..parts).map(|k| whole(&own[k * count..if k + 1 == parts { own.len() } else { (k + 1) * count }])).collect::<Vec<_>>()
    };
    [UPPER, LOWER].into_iter().map(own).filter(|own| !own.is_empty()).flat_map(join).collect()
}

/// What one picture gives to the fit.
struct PictureRows {
    rows: Vec<BackRow>,
    read_mm: Vec<f64>,
    covariance: Vec<Vec<f64>>,
    /// Key and number of the point that each row is of.
    of: Vec<(&'static str, usize)>,
    to_bow: RigidMotion,
    behind_mm: f64,
    click_mm: f64,
    perspective: bool,
}

/// From the marks' plane to the bow's frame: `x` toward the archer, `y` toward the upper nock.
#[derive(Debug, Clone, Copy, PartialEq)]
struct RigidMotion {
    /// Columns of the turn, the second mirrored where the picture shows the bow from its other side.
    x: [f64; 2],
    y: [f64; 2],
    from: Point,
    to: [f64; 2],
}

impl RigidMotion {
    fn turned(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [self.x[0] * x + self.x[1] * y, self.y[0] * x + self.y[1] * y]
    }

    fn apply(&self, at: Point) -> [f64; 2] {
        let [x, y] = self.turned([at.x - self.from.x, at.y - self.from.y]);
        [x + self.to[0], y + self.to[1]]
    }

    fn back(&self, [x, y]: [f64; 2]) -> Point {
        let [x, y] = [x - self.to[0], y - self.to[1]];
        Point::new(self.from.x + self.x[0] * x + self.y[0] * y, self.from.y + self.x[1] * x + self.y[1] * y)
    }

    /// That puts the nocks where the model has them, the grip on its side.
    fn of([upper, lower, grip]: [Point; 3], backs: &[BentBack; 2], place: &Place) -> Result<RigidMotion, Diagnostic> {
        let [up, low] = [backs[UPPER].nock(), backs[LOWER].nock()];
        let model = [up.x_mm - low.x_mm, up.y_mm + low.y_mm];
        let seen = [upper.x - lower.x, upper.y - lower.y];
        let (modelled, measured) = (model[0].hypot(model[1]), seen[0].hypot(seen[1]));
        if (measured / modelled - 1.0).abs().is_nan() || LENGTH < (measured / modelled - 1.0).abs() {
            let message =
                message!("nock to nock is {} in the picture, and {} at this draw by the build file", mm(measured), mm(modelled));
            return Err(Diagnostic::fault(place.key("nocks"), message)
                .hint("check the sizes between the marks, how far the bow was drawn, and which points are the nocks"));
        }
        let e = seen.map(|part| part / measured);
        let middle = Point::new(0.5 * (upper.x + lower.x), 0.5 * (upper.y + lower.y));
        let aside = (grip.x - middle.x) * -e[1] + (grip.y - middle.y) * e[0];
        let inside = (grip.x - middle.x) * e[0] + (grip.y - middle.y) * e[1];
        if aside.abs() < SIDE_MM || 0.3 * measured < inside.abs() {
            let message = message!(
                "the grip lies {} from the line through the nocks and {} from their middle",
                mm(aside.abs()),
                mm(inside.abs())
            );
            return Err(Diagnostic::fault(place.key("grip"), message)
                .hint("mark the bow's middle on its back, and the nocks at both ends"));
        }
        // Toward the archer is away from the grip.
        let sign = -aside.signum();
        let square = [-sign * e[1], sign * e[0]];
        // In the model's frame the line of the nocks stands a little aslant.
        let (along, across) = (model.map(|part| part / modelled), [model[1] / modelled, -model[0] / modelled]);
        let row = |k: usize| [across[k] * square[0] + along[k] * e[0], across[k] * square[1] + along[k] * e[1]];
        let to = [0.5 * (up.x_mm + low.x_mm), 0.5 * (up.y_mm - low.y_mm)];
        Ok(RigidMotion { x: row(0), y: row(1), from: middle, to })
    }
}

/// A point of the bow's frame, or a way in it, in the side frame of one half.
fn own(side: usize, [x, y]: [f64; 2]) -> [f64; 2] {
    if side == UPPER { [x, y] } else { [x, -y] }
}

impl PictureRows {
    fn of(
        design: &PairDesign<'_>,
        photograph: &Photograph,
        place: &Place,
        view: &PlaneView,
        backs: &[BentBack; 2],
    ) -> Result<PictureRows, Diagnostic> {
        let behind_mm = photograph.behind_mm;
        let limbs = &photograph.limbs_px;
        // Nocks, grip, then both limbs; each with its half.
        let ends = [(UPPER, photograph.nocks_px[UPPER]), (LOWER, photograph.nocks_px[LOWER]), (UPPER, photograph.grip_px)];
        let points: Vec<(usize, Point)> = ends
            .into_iter()
            .chain([UPPER, LOWER].into_iter().flat_map(|side| limbs[side].iter().map(move |at| (side, *at))))
            .collect();
        let nock = |side: usize| backs[side].nock();
        let mut near: Vec<BackPlace> = points.iter().map(|(side, _)| backs[*side].at(0.5 * nock(*side).s_mm)).collect();
        near[0] = nock(UPPER);
        near[1] = nock(LOWER);
        near[2] = backs[UPPER].at(0.0);
        // All points in the plane of the bow's middle, and the motion into its frame.
        let place_all = |near: &[BackPlace]| -> Result<(PlacedPoints, RigidMotion), Diagnostic> {
            let seen = |((side, at_px), near): (&(usize, Point), &BackPlace)| SeenPoint {
                at_px: *at_px,
                before_mm: behind_mm + design.half_width_mm(*side, near.s_mm),
            };
            let placed = view.place(&points.iter().zip(near).map(seen).collect::<Vec<SeenPoint>>());
            let to_bow = RigidMotion::of([placed.at_mm[0], placed.at_mm[1], placed.at_mm[2]], backs, place)?;
            Ok((placed, to_bow))
        };
        let (mut placed, mut to_bow) = place_all(&near)?;
        // How wide the limb is where a point lies is known once it is known where that is.
        for _ in 0..2 {
            for (k, (side, _)) in points.iter().enumerate().skip(ends.len()) {
                near[k] = backs[*side].nearest(own(*side, to_bow.apply(placed.at_mm[k]))).0;
            }
            (placed, to_bow) = place_all(&near)?;
        }
        let mut made = PictureRows {
            rows: Vec::new(),
            read_mm: Vec::new(),
            covariance: Vec::new(),
            of: Vec::new(),
            to_bow,
            behind_mm,
            click_mm: 0.0,
            perspective: matches!(photograph.marks, KnownMarks::Rectangle { .. }),
        };
        // Of each row: its point, its way in the bow's frame, and what it is off by for itself.
        let mut ways: Vec<(usize, [f64; 2], f64)> = Vec::new();
        for (k, (side, _)) in points.iter().enumerate() {
            let at = own(*side, to_bow.apply(placed.at_mm[k]));
            let (key, number) = match k {
                0 | 1 => ("nocks", k),
                2 => ("grip", 0),
                _ if *side == UPPER => ("upper", k - ends.len()),
                _ => ("lower", k - ends.len() - limbs[UPPER].len()),
            };
            if k >= ends.len() {
                let (nearest, off_mm) = backs[*side].nearest(at);
                near[k] = nearest;
                let beyond = (at[0] - nearest.x_mm).hypot(at[1] - nearest.y_mm);
                if beyond.is_nan() || FAR_MM < beyond.max(off_mm.abs()) {
                    let message = message!("point {} of `{}` lies {} off that limb", number + 1, key, mm(beyond));
                    return Err(Diagnostic::fault(place.key(key).index(number), message)
                        .hint("mark it again along the edge of the back; each limb's points stand in its own list"));
                }
            }
            let of: &[f64] = match key {
                "nocks" => &NOCK_MM,
                "grip" => &GRIP_MM,
                _ => &[EDGE_MM],
            };
            for (way, own_mm) in [near[k].square(), near[k].along()].into_iter().zip(of.iter().copied()) {
                made.rows.push(BackRow { side: *side, s_mm: near[k].s_mm, direction: way });
                made.read_mm.push(way[0] * at[0] + way[1] * at[1]);
                made.of.push((key, number));
                ways.push((k, own(*side, way), own_mm));
            }
        }
        let turned: Vec<[f64; 2]> = placed.at_mm.iter().map(|at| to_bow.apply(*at)).collect();
        // What moves all of them together: the view's sources, and where the bow stands.
        let mut common: Vec<Vec<f64>> = placed
            .common
            .iter()
            .map(|moved| {
                let of = |(k, way, _): &(usize, [f64; 2], f64)| {
                    let [x, y] = to_bow.turned([moved[*k].x, moved[*k].y]);
                    way[0] * x + way[1] * y
                };
                ways.iter().map(of).collect()
            })
            .collect();
        common.push(ways.iter().map(|(_, way, _)| SHIFT_MM * way[0]).collect());
        common.push(ways.iter().map(|(_, way, _)| SHIFT_MM * way[1]).collect());
        common.push(ways.iter().map(|(k, way, _)| TURN * (way[1] * turned[*k][0] - way[0] * turned[*k][1])).collect());
        let clicked = |(k, way, _): &(usize, [f64; 2], f64)| {
            let [[xx, xy], [yx, yy]] = placed.slopes[*k];
            let columns = [to_bow.turned([xx, yx]), to_bow.turned([xy, yy])];
            columns.map(|column| photograph.click_px * (way[0] * column[0] + way[1] * column[1]))
        };
        let clicks: Vec<[f64; 2]> = ways.iter().map(clicked).collect();
        let limb_rows = clicks.iter().skip(2 * ends.len());
        made.click_mm = limb_rows.clone().map(|[x, y]| x * x + y * y).sum::<f64>().sqrt() / (limb_rows.count() as f64).sqrt();
        made.covariance = (0..ways.len())
            .map(|i| {
                let row = (0..ways.len()).map(|j| {
                    let together: f64 = common.iter().map(|moved| moved[i] * moved[j]).sum();
                    let click =
                        if ways[i].0 == ways[j].0 { clicks[i][0] * clicks[j][0] + clicks[i][1] * clicks[j][1] } else { 0.0 };
                    together + click + if i == j { ways[i].2 * ways[i].2 } else { 0.0 }
                });
                row.collect()
            })
            .collect();
        Ok(made)
    }

    /// A point that all others contradict, if there is one.
    fn contradicted(&self, left_mm: &[f64], place: &Place) -> Result<(), Diagnostic> {
        let Some(factor) = cholesky(&self.covariance) else { return Ok(()) };
        let inverse = factor.inverse();
        let pulled = factor.solve(left_mm);
        // Each left out in turn: by how much it is off what the others say, and that in σ.
        let off = |k: usize| (pulled[k] / inverse[k][k], pulled[k] / inverse[k][k].sqrt());
        let worst = (0..left_mm.len()).map(|k| (k, off(k))).max_by(|a, b| a.1.1.abs().total_cmp(&b.1.1.abs()));
        match worst {
            Some((k, (off_mm, sigmas))) if OUTLIER < sigmas.abs() && OUTLIER_MM < off_mm.abs() => {
                let (key, number) = self.of[k];
                let message =
                    message!("point {} of `{}` lies {} off the curve through the others", number + 1, key, mm(off_mm.abs()));
                Err(Diagnostic::fault(place.key(key).index(number), message)
                    .hint("mark it again: on the edge of the back that is nearest the camera"))
            }
            _ => Ok(()),
        }
    }

    fn drawn(&self, design: &PairDesign<'_>, reading: usize, view: &PlaneView, backs: &[BentBack; 2]) -> PictureFit {
        let edge = |side: usize| {
            let own_cells = || design.cells().iter().filter(|cell| cell.side == side);
            let from = own_cells().next().map_or(0.0, |cell| cell.from_mm);
            let to = backs[side].nock().s_mm;
            let count = ((to - from) / DRAWN_MM).ceil().clamp(1.0, 500.0);
            let at = |k: usize| {
                let s_mm = from + (to - from) * k as f64 / count;
                let back = backs[side].at(s_mm);
                let on = self.to_bow.back(own(side, [back.x_mm, back.y_mm]));
                (s_mm, view.seen(on, self.behind_mm + design.half_width_mm(side, s_mm)))
            };
            (0..=count as usize).map(at).collect()
        };
        PictureFit {
            reading,
            edges_px: [edge(UPPER), edge(LOWER)],
            tilt_rad: view.tilt_rad,
            click_mm: self.click_mm,
            perspective: self.perspective,
        }
    }
}
