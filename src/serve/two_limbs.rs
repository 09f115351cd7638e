//! What the page is told of a bow of two different limbs: what is the bow's once, what is a limb's for each. The numbers are those of `bow --lower`;
//! curves along the limb are those of the limb that is shown.

use super::answers::{self, AllShown, Drawn, DrawnLower, GapsShown, GlueShown, InShort, Look, LookAt, StageShown, Strain, Told};
use super::jobs::{BowJobs, FileJob};
use crate::diag::{self, Diagnostic};
use crate::job::{Balanced, Job, LimbFaults, PairStanding, Refused, halves_meet, one_pile, one_riser};
use crate::mechanics::draw::DrawCurve;
use crate::mechanics::overstrain;
use crate::mechanics::pair::PairCurve;
use crate::model::Build;
use crate::model::limb::LimbSide;
use crate::sheets::bow::{WordTable, moves_rows, string_gaps};
use crate::sheets::figures::{self, Chart, Side};
use crate::units::published::round_point;
use serde::Serialize;

/// Why the strain is not drawn down.
pub const NOT_EASED: &str = "With two different limbs the strain is not drawn: the limb that works hardest could be longer, wider or given less of the \
                             work, and each moves the balance. Move the levers of that limb, then draw the weight: it solves both.";

/// Why the bows of a series are not stepped through.
pub const NO_SERIES: &str =
    "The [series] in the file is of bows whose limbs are alike: with two different limbs it is not stepped through here.";

/// Both limbs of a bow.
struct BothLimbs<'a> {
    files: [FileJob<'a>; 2],
    pair: &'a PairCurve,
    curves: [&'a DrawCurve; 2],
}

impl<'a> BothLimbs<'a> {
    fn of(files: [FileJob<'a>; 2]) -> Result<BothLimbs<'a>, LimbFaults> {
        let upper = files[0];
        // One solution of both gives what either limb does.
        let solved = || Ok((upper.job.force_curve()?, upper.job.pair_curve()?));
        let (curve, pair) = solved().map_err(refused(LimbSide::Upper))?;
        let pair = pair.expect("a limb beside another has both");
        Ok(BothLimbs { files, pair, curves: curve.limbs() })
    }

    fn builds(&self) -> [&'a Build; 2] {
        self.files.map(|file| file.job.build())
    }

    fn standing(&self) -> PairStanding {
        PairStanding::of(self.pair, self.builds())
    }
}

fn refused(limb: LimbSide) -> impl Fn(Refused) -> LimbFaults {
    move |found| LimbFaults { limb, faults: found.faults }
}

pub fn look(files: [FileJob<'_>; 2], file: Option<&BowJobs>, at: LookAt) -> Result<Look, LimbFaults> {
    let both = BothLimbs::of(files)?;
    let [upper, lower] = both.files;
    let curve = both.curves[0];
    // What the files' own bow would be is only shown beside the try; where it cannot be solved there is nothing beside it.
    let beside = file.filter(|file| file.one_draw().is_ok()).and_then(|file| Some((file, file.bow().force_curve().ok()?)));
    let now = numbers(&both);
    let before = beside.and_then(|(file, curve)| Some(numbers_of(file.two()?, file.bow().pair_curve().ok()??, curve)));
    let was = |what: &str, now: &str| {
        let row = before.iter().flatten().find(|[known, _]| known == what);
        row.map_or(String::new(), |[_, was]| if was == now { String::new() } else { was.clone() })
    };
    let strain_rows = both.files.iter().zip(both.curves).flat_map(|(file, curve)| {
        let row = |strain| Strain { limb: file.limb.map(LimbSide::word), ..strain };
        answers::strains(file.job.build(), curve).into_iter().map(row).collect::<Vec<_>>()
    });
    let k = usize::from(at.limb == LimbSide::Lower);
    let (own, own_curve) = (both.builds()[k], both.curves[k]);
    let ghost = beside.map(|(_, curve)| curve);
    let ghost_build = beside.and_then(|(file, _)| Some(file.two()?[k].build()));
    let units = upper.job.build().units;
    let of_limb = |chart: Chart| Chart { title: format!("{}, {} limb", chart.title, at.limb.word()), ..chart };
    let charts = [
        Some(figures::force(units, curve, ghost)),
        Some(of_limb(figures::strain(own, own_curve))),
        figures::outline(own, ghost_build).map(of_limb),
        Some(figures::bend(units, curve, ghost)),
        Some(of_limb(figures::stack(own))),
    ];
    let unstrung =
        [upper.job.unstrung().map_err(refused(LimbSide::Upper))?, lower.job.unstrung().map_err(refused(LimbSide::Lower))?];
    let side = answers::Figure::of(&figures::side(upper.job.build(), unstrung, curve));
    Ok(Look {
        weight: answers::weight(upper.job.build(), curve, beside.map(|(file, curve)| (file.bow(), curve))),
        numbers: now.into_iter().map(|[what, now]| [what.clone(), now.clone(), was(&what, &now)]).collect(),
        strains: strain_rows.collect(),
        hardest: None,
        not_eased: Some(NOT_EASED),
        figures: side.into_iter().chain(charts.iter().flatten().filter_map(answers::Figure::of_chart)).collect(),
        values: Vec::new(),
        draws: draws(upper.job.build(), both.curves, at),
        gaps: Some(gaps(&both)),
        warnings: both.files.iter().zip(both.curves).flat_map(|(file, curve)| file.told(&warnings(file.job, curve))).collect(),
    })
}

fn warnings(job: &Job, curve: &DrawCurve) -> Vec<Diagnostic> {
    let strained = curve.worst.iter().filter_map(|worst| overstrain::warning(job.build(), worst));
    job.read_warnings().iter().cloned().chain(strained).collect()
}

fn numbers(both: &BothLimbs<'_>) -> Vec<[String; 2]> {
    let [upper, lower] = both.files;
    numbers_of([upper.job, lower.job], both.pair, both.curves[0])
}

/// Words and figures of the bow: what both limbs have alike once, the rest for each.
fn numbers_of(jobs: [&Job; 2], pair: &PairCurve, curve: &DrawCurve) -> Vec<[String; 2]> {
    let [upper, lower] = jobs.map(Job::build);
    // Beside each other, in the units of the file that speaks for the bow.
    let lower_alike = (upper.units != lower.units).then(|| Build { units: upper.units, ..lower.clone() });
    let [of_upper, of_lower] = curve.limbs();
    let own = [answers::numbers(upper, of_upper), answers::numbers(lower_alike.as_ref().unwrap_or(lower), of_lower)];
    let named = |what: &str, limb: LimbSide| format!("{}, {} limb", what.trim(), limb.word());
    let mut rows = Vec::new();
    for [what, value] in &own[0] {
        match own[1].iter().find(|[other, _]| other == what) {
            Some([_, other]) if other == value => rows.push([what.clone(), value.clone()]),
            other => {
                rows.push([named(what, LimbSide::Upper), value.clone()]);
                rows.extend(other.map(|[_, value]| [named(what, LimbSide::Lower), value.clone()]));
            }
        }
    }
    let alone = own[1].iter().filter(|[what, _]| own[0].iter().all(|[known, _]| known != what));
    rows.extend(alone.map(|[what, value]| [named(what, LimbSide::Lower), value.clone()]));
    let standing = PairStanding::of(pair, [upper, lower]);
    rows.push(["upper limb farther from the string, braced".into(), standing.farther_words(upper.units)]);
    rows.push(["pull at full draw".into(), standing.pull_words()]);
    rows
}

/// From belly to string on both limbs.
fn gaps(both: &BothLimbs<'_>) -> GapsShown {
    let WordTable { heads, rows } = string_gaps(both.builds()[0].units, both.pair);
    GapsShown { heads, rows, pull: format!("The string pulls {} at full draw.", both.standing().pull_words()) }
}

fn draws(build: &Build, curves: [&DrawCurve; 2], at: LookAt) -> Vec<Drawn> {
    let side = Side::of(curves[0]);
    let [of_upper, of_lower] = curves;
    let limb = |curve: &DrawCurve, k: usize, toward: f64| -> Option<(Vec<[f64; 2]>, [f64; 2])> {
        let point = &curve.points[k];
        let nock = point.places.last()?;
        let nock = side.at(nock.x_mm, toward * nock.y_mm);
        let shape = if at.has_shape(k, of_upper.points.len()) { side.limb(curve, point) } else { Vec::new() };
        let corners = shape.into_iter().map(|[x, y]| [round_point(toward * x), round_point(y)]).collect();
        Some((corners, [round_point(nock.x), round_point(nock.y)]))
    };
    let drawn = |k: usize| {
        let point = &of_upper.points[k];
        let nocked = of_upper.nocking_point(point);
        let hand = side.at(nocked.x, nocked.y);
        let ((own, nock), (lower, lower_nock)) = (limb(of_upper, k, 1.0)?, limb(of_lower, k, -1.0)?);
        Some(Drawn {
            draw: build.units.decimal(point.draw_length_mm),
            force: build.weight_text(point.force_n),
            limb: own,
            nock,
            hand: round_point(hand.y),
            lower: Some(DrawnLower { limb: lower, nock: lower_nock, along: round_point(hand.x) }),
        })
    };
    (0..of_upper.points.len()).filter_map(drawn).collect()
}

/// The band is the bow's; a change is done to one limb and told of the bow.
pub fn whole(files: [FileJob<'_>; 2]) -> Result<AllShown, LimbFaults> {
    let both = BothLimbs::of(files)?;
    let [upper, lower] = both.files;
    let (mut told, mut moves): (Vec<Told>, Vec<Vec<String>>) = (Vec::new(), Vec::new());
    for (file, limb) in both.files.iter().zip(LimbSide::BOTH) {
        let mut warnings = file.job.read_warnings().to_vec();
        match file.job.warnings() {
            Ok(found) => warnings.extend(found),
            Err(refused) => warnings.extend(refused.faults),
        }
        if limb == LimbSide::Lower {
            warnings.extend(halves_meet(upper.job.build(), lower.job.build()));
        }
        told.extend(file.told(&warnings));
        let sensitivity = file.job.sensitivity().map_err(refused(limb))?;
        let rows = moves_rows(file.job.build(), sensitivity).into_iter().map(|mut row| {
            row[0] = file.part_name(&row[0]);
            row
        });
        moves.extend(rows);
    }
    let spread_n = upper.job.weight_spread_n().map_err(refused(LimbSide::Upper))?;
    Ok(AllShown { band: format!("± {}", upper.job.build().weight_text(spread_n)), moves, warnings: told })
}

/// Weight, and the hardest-worked part of either limb, in a few words.
pub fn in_short(files: [FileJob<'_>; 2]) -> Result<InShort, LimbFaults> {
    let both = BothLimbs::of(files)?;
    let hardest = |k: usize| {
        let (curve, file) = (both.curves[k], both.files[k]);
        let worst = &curve.worst[curve.worst_of_all];
        (worst.share_of_breaking.unwrap_or(0.0), file.part_name(&answers::worst_words(file.job.build(), worst)))
    };
    let (of_upper, of_lower) = (hardest(0), hardest(1));
    let weight = both.builds()[0].weight_text(both.curves[0].at_full_draw().force_n);
    Ok(InShort { weight, hardest: if of_upper.0 < of_lower.0 { of_lower.1 } else { of_upper.1 } })
}

/// What was solved for, and what sizing warns of.
pub fn balanced_words(files: [FileJob<'_>; 2], found: &Balanced) -> Vec<String> {
    let of_limb = |(file, warnings): (&FileJob<'_>, &Vec<Diagnostic>)| {
        let units = file.job.build().units;
        let limb = file.limb.map_or("", LimbSide::word);
        warnings
            .iter()
            .map(|warning| format!("The {limb} limb: {}", diag::sentence(&warning.message.spoken(units))))
            .collect::<Vec<_>>()
    };
    files.iter().zip(&found.warnings).flat_map(of_limb).collect()
}

/// The glue-up: of one file for both limbs, or of two.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum GlueTold {
    One(Box<GlueShown>),
    Two(GlueOfTwo),
}

/// Both limbs' glue-ups around one riser.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GlueOfTwo {
    /// The upper limb's first.
    limbs: Vec<GlueOfLimb>,
    /// What holds for neither alone: what keeps them from being glued in one go.
    warnings: Vec<Told>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct GlueOfLimb {
    limb: &'static str,
    file: String,
    units: &'static str,
    #[serde(flatten)]
    glue: GlueShown,
}

pub fn glue(files: [FileJob<'_>; 2]) -> Result<GlueTold, LimbFaults> {
    let both = BothLimbs::of(files)?;
    let [upper, lower] = both.files;
    let mut apart = one_riser(upper.job.build(), lower.job.build());
    let mut limbs = Vec::new();
    for (file, limb) in both.files.iter().zip(LimbSide::BOTH) {
        let glue = answers::glue(file.job).map_err(refused(limb))?;
        let stage = |stage: StageShown| StageShown { want_key: file.key(&stage.want_key), ..stage };
        let warnings = file.marked(glue.warnings);
        limbs.push(GlueOfLimb {
            limb: limb.word(),
            file: crate::diag::SourceText::name(file.job.source()).to_owned(),
            units: file.job.build().units.length_unit(),
            glue: GlueShown { stages: glue.stages.into_iter().map(stage).collect(), warnings, ..glue },
        });
    }
    apart.extend(one_pile(upper.job, lower.job));
    apart.extend(halves_meet(upper.job.build(), lower.job.build()));
    Ok(GlueTold::Two(GlueOfTwo { limbs, warnings: lower.told(&apart) }))
}
