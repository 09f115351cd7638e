//! The same bow for another length: what is stretched, and what stays?
//!
//! Grip, riser and fades fit the hand and stay. Beyond the riser's feather the limb is stretched or shortened like a rubber band:
//!
//! ```text
//!   s' = s                         inside the feather, s ≤ r
//!   s' = r + k (s − r)             working limb,  k = (n' − r)/(n − r)
//!   s' = n' + (s − n)              beyond the nock
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s`, `s'` | station before and after | mm |
//! | `r`, `n`, `n'` | station of the feather (0 without a riser), of the nock before and after | mm |
//! | `k` | ratio of the working limbs | – |
//!
//! | what | becomes |
//! |---|---|
//! | widths, trapping, crown, tip beyond the nock, nock grooves | kept; the outline's stations move as above |
//! | laminations | butt and tip thickness are kept, so tapers become steeper or flatter; ends, level parts and stations move as above |
//! | strips that are already ground | kept as measured, cut at the tip: wood cannot be stretched |
//! | forms | a copy of the working limb's part scaled about the feather: its angles stay, its rise and length go with `k` |
//! | props | their station moves as above, their rise and a wanted tip go with `k` |
//! | target, woods, glue, stock overrun, shop | kept |
//!
//! Source: derived here. Weight, strain and string follow from solving the new bow.

use crate::diag::{Diagnostic, Outcome, Place, Reported, mm};
use crate::model::Build;
use crate::model::join::Splice;
use crate::model::lamination::Lamination;
use crate::model::taper::{Taper, TaperForm};
use crate::model::workshop::Held;
use crate::numeric::interp::{Between, Curve, CurveFault};

/// A build carried to another length.
#[derive(Debug, Clone, PartialEq)]
pub struct Rescaled {
    pub build: Build,
    /// Working limb after over before.
    pub ratio: f64,
}

/// Beyond these the result is another bow, and the old one says nothing about it.
const RATIOS: [f64; 2] = [0.6, 1.6];

/// The rules in words, for whoever reads the result.
pub const RULES: [&str; 6] = [
    "riser, grip and fades stay; stations beyond the riser's feather move with the working limb's length",
    "widths, and what stands beyond the nocks, stay",
    "each lamination keeps its butt and its tip thickness, so tapers change",
    "a strip that is already ground stays as measured and is cut at the tip",
    "a form keeps its angles: beyond the feather its length and its rise change alike; props and a wanted tip follow",
    "draw weight, draw length, woods and shop stay as the file says",
];

/// Carries a bow to another length, nock to nock.
pub fn rescale(build: &Build, nock_to_nock_mm: f64) -> Outcome<Rescaled> {
    let lengths = Lengths::of(build, nock_to_nock_mm).map_err(|fault| vec![fault])?;
    let mut warnings = Vec::new();
    let carried = carried(build, nock_to_nock_mm, &lengths, &mut warnings);
    let build = carried.map_err(|_| {
        vec![
            Diagnostic::fault(
                Place::new("outline.nock_to_nock"),
                message!("stations fall together at a length of {}", mm(nock_to_nock_mm)),
            )
            .hint("carry it to a length nearer to the bow's own"),
        ]
    })?;
    Ok(Reported { value: Rescaled { build, ratio: lengths.ratio() }, warnings })
}

/// Where the limb is stretched.
#[derive(Debug, Clone, Copy)]
struct Lengths {
    feather_mm: f64,
    nock_mm: [f64; 2],
    end_mm: f64,
}

impl Lengths {
    fn of(build: &Build, nock_to_nock_mm: f64) -> Result<Lengths, Diagnostic> {
        let Some(outline) = &build.outline else {
            return Err(Diagnostic::fault(Place::new("outline"), "there is no outline, so there is no length to change")
                .hint("a batch of laminations has no nocks; give `outline` with its widths"));
        };
        let feather_mm = build.limb_from_mm();
        let lengths = Lengths {
            feather_mm,
            nock_mm: [outline.nock_mm(), 0.5 * nock_to_nock_mm],
            end_mm: 0.5 * nock_to_nock_mm + outline.tip_beyond_nock_mm,
        };
        let of_ratio = |ratio: f64| 2.0 * (feather_mm + ratio * (outline.nock_mm() - feather_mm));
        let [min, max] = RATIOS.map(of_ratio);
        if (min..=max).contains(&nock_to_nock_mm) {
            return Ok(lengths);
        }
        let message = message!(
            "{} nock to nock is out of reach of a bow of {}: its working limb would be {} times as long",
            mm(nock_to_nock_mm),
            mm(outline.nock_to_nock_mm),
            format_args!("{:.2}", lengths.ratio())
        );
        Err(Diagnostic::fault(Place::new("outline.nock_to_nock"), message).hint(message!(
            "it can be carried to {} up to {}",
            mm(min),
            mm(max)
        )))
    }

    fn ratio(&self) -> f64 {
        (self.nock_mm[1] - self.feather_mm) / (self.nock_mm[0] - self.feather_mm)
    }

    /// The new station of station `s`.
    fn station(&self, s: f64) -> f64 {
        if s <= self.feather_mm {
            s
        } else if s <= self.nock_mm[0] {
            self.feather_mm + self.ratio() * (s - self.feather_mm)
        } else {
            self.nock_mm[1] + (s - self.nock_mm[0])
        }
    }

    fn points(&self, points: &[(f64, f64)]) -> Vec<(f64, f64)> {
        points.iter().map(|(s, y)| (self.station(*s), *y)).collect()
    }
}

fn carried(build: &Build, nock_to_nock_mm: f64, lengths: &Lengths, warnings: &mut Vec<Diagnostic>) -> Result<Build, CurveFault> {
    let mut new = build.clone();
    if let Some(outline) = &mut new.outline {
        outline.nock_to_nock_mm = nock_to_nock_mm;
        outline.width = Curve::through(lengths.points(outline.width.points()), outline.width.between())?;
        for curve in outline.shape.curves_mut() {
            *curve = Curve::through(lengths.points(curve.points()), curve.between())?;
        }
    }
    for lamination in &mut new.laminations {
        *lamination = stretched(lamination, lengths)?;
        let last = lamination.finished.curve().points().last().map_or(0.0, |point| point.0);
        // Half a millimetre is a saw's kerf.
        if lamination.ground && last + 0.5 < lamination.to_mm {
            let message = message!(
                "`{}` is already ground and measured up to {}, but the new bow needs it up to {}",
                lamination.name,
                mm(last),
                mm(lamination.to_mm)
            );
            warnings.push(
                Diagnostic::warning(lamination.place.clone(), message)
                    .hint("the numbers carry its taper on to the new tip; grind a longer strip for this bow"),
            );
        }
    }
    let ratio = lengths.ratio();
    for stage in &mut new.glue.stages {
        stage.want_tip_mm = stage.want_tip_mm.map(|tip| ratio * tip);
        match &mut stage.held {
            Held::Flat => {}
            Held::Props { rise_mm, at_mm } => {
                *rise_mm *= ratio;
                *at_mm = lengths.station(*at_mm);
            }
            Held::Form { rise } => {
                let at_feather = Curve::through(rise.clone(), Between::Smooth)?.at(lengths.feather_mm);
                for (s, y) in rise.iter_mut() {
                    if lengths.feather_mm < *s {
                        *y = at_feather + ratio * (*y - at_feather);
                    }
                    *s = lengths.station(*s);
                }
            }
        }
    }
    Ok(new)
}

/// The lamination on the new limb, its butt and tip thickness kept.
fn stretched(lamination: &Lamination, lengths: &Lengths) -> Result<Lamination, CurveFault> {
    let (from_mm, mut to_mm) = (lengths.station(lamination.from_mm), lengths.station(lamination.to_mm));
    if lamination.ground {
        // Where it ended at the tip it still does; where it ended inside the limb it is as long as it was.
        if lamination.to_mm <= lengths.nock_mm[0] {
            to_mm = lamination.to_mm.min(lengths.end_mm);
        }
        return Ok(Lamination { to_mm, ..lamination.clone() });
    }
    let taper = &lamination.finished;
    let (butt, tip) = (taper.at(lamination.from_mm), taper.at(lamination.to_mm));
    let finished = match taper.form() {
        TaperForm::Parallel => taper.clone(),
        TaperForm::Straight { .. } => Taper::straight(from_mm, to_mm, butt, (butt - tip) / (to_mm - from_mm))?,
        TaperForm::FlatThenStraight { flat_mm, .. } => {
            let level_mm = lengths.station(lamination.from_mm + flat_mm);
            Taper::flat_then_straight(from_mm, to_mm, butt, level_mm - from_mm, (butt - tip) / (to_mm - level_mm))?
        }
        TaperForm::Stations | TaperForm::Ground => {
            Taper::stations(lengths.points(taper.curve().points()), taper.curve().between())?
        }
    };
    let splice = lamination.splice.clone().map(|splice| Splice { at_mm: lengths.station(splice.at_mm), ..splice });
    Ok(Lamination { finished: finished.feathered(taper.feather_mm()), from_mm, to_mm, splice, ..lamination.clone() })
}
