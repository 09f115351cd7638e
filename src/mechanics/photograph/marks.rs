//! What was marked in a picture, judged: is it one at all, and what plane do the marks of known size tell?

use crate::diag::{Diagnostic, Place};
use crate::geometry::homography::BadCorners;
use crate::geometry::path::{Extent, Point};
use crate::geometry::plane_view::{BadView, KnownMarks, PlanePicture, PlaneView};
use crate::mechanics::tillering::{LOWER, UPPER};
use crate::model::log::Photograph;
use crate::numeric::estimate::Estimate;

/// One σ of the camera's distance, of what is said.
const CAMERA: f64 = 0.05;
/// One σ of the marks' places, mm: laths and tape.
const PLACE_MM: f64 = 0.5;
/// Fewer points along a limb tell no curvature.
pub const MIN_POINTS: usize = 5;
pub const MAX_POINTS: usize = 60;

/// The plane of the marks, or what is wrong with what was marked.
pub(super) fn view(photograph: &Photograph, place: &Place) -> Result<PlaneView, Diagnostic> {
    inside(photograph, place)?;
    let behind = photograph.behind_mm;
    let camera = photograph.camera_mm + behind;
    let picture = PlanePicture {
        size_px: photograph.size_px,
        marks: photograph.marks,
        camera_mm: Estimate { value: camera, sigma: CAMERA * camera },
        click_px: photograph.click_px,
        place_mm: PLACE_MM,
    };
    let marks = place.key("marks");
    let round = "mark the four in the order in which one goes round them, the first two on the side that `across` measures";
    PlaneView::of(picture).map_err(|bad| match bad {
        BadView::Corners(BadCorners::Same(a, b)) => {
            Diagnostic::fault(marks, message!("marks {} and {} lie in one place", a + 1, b + 1))
                .hint("mark each where it is; the farther apart the better")
        }
        BadView::Corners(BadCorners::InLine { corners: [a, b, c], off }) => Diagnostic::fault(
            marks,
            message!(
                "marks {}, {} and {} lie in a line: {} is off it by {} pixels",
                a + 1,
                b + 1,
                c + 1,
                b + 1,
                format_args!("{off:.0}")
            ),
        )
        .hint("perspective needs four marks, no three of them in a line"),
        BadView::Corners(BadCorners::Crossed) => {
            Diagnostic::fault(marks, "the marks are in another order than going round them").hint(round)
        }
        BadView::Aside(tilt) => Diagnostic::fault(
            marks,
            message!(
                "by these marks the camera looks at the bow from {} degrees aside",
                format_args!("{:.0}", tilt.to_degrees())
            ),
        )
        .hint("hold the camera square to the bow, at half its length; check the order of the marks, and `camera`"),
        BadView::Uneven(factor) => Diagnostic::fault(
            marks,
            message!("by these marks the picture is stretched {} times in one direction", format_args!("{factor:.2}")),
        )
        .hint("check `across` and `up`: the first two marks are `across` apart, the second and third `up`"),
    })
}

/// Every point lies in the picture, enough are along each limb, and none is there twice.
fn inside(photograph: &Photograph, place: &Place) -> Result<(), Diagnostic> {
    let Extent { width, height } = photograph.size_px;
    let marks: &[Point] = match &photograph.marks {
        KnownMarks::Rectangle { seen_px, .. } => seen_px,
        KnownMarks::Stick { seen_px, .. } => seen_px,
    };
    let limbs = &photograph.limbs_px;
    let lists: [(&str, &[Point]); 5] = [
        ("marks", marks),
        ("nocks", &photograph.nocks_px),
        ("grip", std::slice::from_ref(&photograph.grip_px)),
        ("upper", &limbs[UPPER]),
        ("lower", &limbs[LOWER]),
    ];
    for (key, points) in lists {
        for (k, at) in points.iter().enumerate() {
            if !(0.0 <= at.x && at.x <= width && 0.0 <= at.y && at.y <= height) {
                let message = message!("point {} of `{}` lies outside the picture", k + 1, key);
                let inside = message!(
                    "the picture is {} by {} pixels, counted from its upper left corner",
                    format_args!("{width:.0}"),
                    format_args!("{height:.0}")
                );
                return Err(Diagnostic::fault(place.key(key).index(k), message).hint(inside));
            }
        }
    }
    for (key, points) in &lists[3..] {
        if points.len() < MIN_POINTS || MAX_POINTS < points.len() {
            let message =
                message!("`{}` has {} points: {} to {} tell a limb's curve", *key, points.len(), MIN_POINTS, MAX_POINTS);
            return Err(Diagnostic::fault(place.key(key), message)
                .hint("a dozen along each limb, from the end of the fade to the nock, is good"));
        }
        for (k, at) in points.iter().enumerate() {
            if let Some(other) = points[..k].iter().position(|other| other.distance(*at) <= 2.0 * photograph.click_px) {
                let message = message!("points {} and {} of `{}` are the same", other + 1, k + 1, *key);
                return Err(Diagnostic::fault(place.key(key).index(k), message)
                    .hint("mark a place once, and the next farther along the limb"));
            }
        }
    }
    Ok(())
}
