//! What the page is told of a job: figures already in the builder's units and words, pictures as pieces of a page. The numbers are the
//! job's; nothing is worked out here but how they read.

use super::levers::lamination_key;
use crate::diag::{Diagnostic, Severity, SourceText as _};
use crate::drawing::Drawing;
use crate::job::{Job, Refused, Unread, misses};
use crate::mechanics::draw::{DrawCurve, DrawPoint};
use crate::mechanics::overstrain;
use crate::mechanics::strain::Worst;
use crate::mechanics::verdict;
use crate::model::Build;
use crate::model::build::Target;
use crate::model::limb::LimbSide;
use crate::model::workshop::Held;
use crate::sheets::bow::{key_numbers, moves_rows, nock_to_nock_mm, part_name, share_words, strain_row};
use crate::sheets::figures::{self, Chart, Side};
use crate::shop::form::MORE_GLUE;
use crate::units::published::round_point;
use crate::units::{System, fixed};
use crate::write::figure::figure;
use serde::Serialize;

/// A fault or a warning, with the lever that it concerns.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Told {
    pub fault: bool,
    /// Where, in words.
    pub at: String,
    pub message: String,
    pub hints: Vec<String>,
    /// Key path in the build file; empty for the file as a whole.
    pub key: String,
    /// Line in the file, from 1.
    pub line: Option<usize>,
    /// That line.
    pub text: String,
    /// Of two different limbs, whose file it is said of: `lower limb, NAME`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
}

impl Told {
    fn of(diagnostic: &Diagnostic, units: System, source: &crate::buildfile::Source) -> Told {
        let words = diagnostic.words(units);
        let span = source.span(&diagnostic.place);
        let line = span.as_ref().map(|span| source.line_of(span.start));
        Told {
            fault: diagnostic.severity == Severity::Fault,
            at: source.words(&diagnostic.place),
            message: words.message,
            hints: words.hints,
            key: source.key_of(&diagnostic.place),
            text: line.and_then(|line| source.text().lines().nth(line - 1)).unwrap_or_default().to_owned(),
            line,
            file: None,
        }
    }

    /// Something about the file itself, not what is in it.
    pub fn of_file(message: String) -> Told {
        Told { key: FILE.into(), ..Told::of_whole(message, Vec::new()) }
    }

    /// Something that is in none of its lines.
    pub fn of_whole(message: String, hints: Vec<String>) -> Told {
        Told { fault: true, at: String::new(), message, hints, key: String::new(), line: None, text: String::new(), file: None }
    }

    pub fn is_of_file(&self) -> bool {
        self.key == FILE
    }
}

/// Stands for the file in [`Told::key`]; no key of a build file looks like it.
const FILE: &str = "(file)";

/// Faults of a text that makes no job.
pub fn unread(unread: &Unread) -> Vec<Told> {
    // What a reading finds is spoken already.
    unread.faults.iter().map(|fault| Told::of(fault, System::Inch, &unread.source)).collect()
}

/// Faults and warnings of a text.
pub fn told_of(diagnostics: &[Diagnostic], units: System, source: &crate::buildfile::Source) -> Vec<Told> {
    diagnostics.iter().map(|diagnostic| Told::of(diagnostic, units, source)).collect()
}

/// Faults and warnings of a job.
pub fn told(job: &Job, diagnostics: &[Diagnostic]) -> Vec<Told> {
    told_of(diagnostics, job.build().units, job.source())
}

/// A lamination, and whether it may be solved for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NamedFigure {
    /// By which it is told from all others on the page.
    pub id: String,
    pub name: String,
    pub key: String,
    /// Of two different limbs, whose it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb: Option<&'static str>,
    pub wood: String,
    /// Not measured as ground already.
    pub free: bool,
    /// Named under `[sizing]`.
    pub sized: bool,
}

pub fn laminations(job: &Job) -> Vec<NamedFigure> {
    let build = job.build();
    let sized = |index: usize| build.sizing.as_ref().is_some_and(|sizing| sizing.change.contains(&index));
    let named = |(index, lamination): (usize, &crate::model::lamination::Lamination)| NamedFigure {
        id: lamination.name.clone(),
        name: lamination.name.clone(),
        key: lamination_key(job.source(), index),
        limb: None,
        wood: lamination.wood_words(),
        free: !lamination.ground,
        sized: sized(index),
    };
    build.laminations.iter().enumerate().map(named).collect()
}

/// What is wanted while a hand moves.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Look {
    pub weight: Weight,
    /// Rows of words and figures: as tried, and as the file has it where that differs.
    pub numbers: Vec<[String; 3]>,
    /// A row a part: name, greatest strain, where, of breaking; and whether it is said in warning.
    pub strains: Vec<Strain>,
    /// Where the part that works hardest does, on the strains' chart: station, and percent of what breaks it. The strain is drawn down here.
    pub hardest: Option<[f64; 2]>,
    /// Why the strain is not drawn here at all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not_eased: Option<&'static str>,
    /// Pieces of a page: side, force, strain, bend, stack.
    pub figures: Vec<Figure>,
    /// Levers that are tried, by key, as numbers in their units.
    pub values: Vec<(String, f64)>,
    /// The bow at each draw, for the hand that draws it.
    pub draws: Vec<Drawn>,
    /// Of two different limbs, from belly to string on both.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gaps: Option<GapsShown>,
    pub warnings: Vec<Told>,
}

/// From belly to string on both limbs, braced and drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GapsShown {
    pub heads: Vec<String>,
    pub rows: Vec<Vec<String>>,
    /// Which way the string pulls.
    pub pull: String,
}

/// What of a look is shown.
#[derive(Debug, Clone, Copy)]
pub struct LookAt {
    /// Of two different limbs, the one with its curves.
    pub limb: LimbSide,
    /// The draw at which the bow stands, counted from brace: at it and at full draw limbs have a shape; `None` for every draw.
    pub drawn: Option<usize>,
}

impl LookAt {
    /// Whether the limbs are drawn at this draw of so many.
    pub(super) fn has_shape(self, draw: usize, of: usize) -> bool {
        self.drawn.is_none_or(|drawn| draw == drawn || draw + 1 == of)
    }
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weight {
    /// As `bow` prints it.
    pub text: String,
    pub value: f64,
    pub unit: &'static str,
    pub draw: String,
    /// What is wanted, finishing included; and by how much it is off.
    pub wish: String,
    pub off: String,
    /// Within a twentieth of the wish.
    pub near: bool,
    /// As the file has it, where something is tried.
    pub file: Option<String>,
    /// Under the hand it is the wish without finishing that is drawn.
    pub target: f64,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Strain {
    /// Of two different limbs, whose part it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb: Option<&'static str>,
    pub cells: Vec<String>,
    pub verdict: String,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    pub name: String,
    pub title: String,
    pub svg: String,
    /// From where to where the axes of a chart reach, along and up.
    pub axes: Option<[[f64; 2]; 2]>,
    /// Width and height of its plotted area, in the figure's units; its lower left corner is the figure's origin.
    pub area: [f64; 2],
}

impl Figure {
    pub(super) fn of(drawing: &Drawing) -> Option<Figure> {
        let (name, title) = (drawing.name.clone(), drawing.title.clone());
        Some(Figure { name, title, svg: figure(drawing).ok()?, axes: None, area: figures::AREA })
    }

    pub(super) fn of_chart(chart: &Chart) -> Option<Figure> {
        Some(Figure { axes: Some(chart.axes()), ..Figure::of(&chart.drawing())? })
    }
}

/// The bow at one draw, in the frame of the side view.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drawn {
    pub draw: String,
    pub force: String,
    /// Corners of one limb, along and toward the archer, where it was asked for; the other is its mirror.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub limb: Vec<[f64; 2]>,
    /// The nock, and the nocking point.
    pub nock: [f64; 2],
    pub hand: f64,
    /// The other limb, where it is a different one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lower: Option<DrawnLower>,
}

/// The lower limb at one draw.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawnLower {
    pub limb: Vec<[f64; 2]>,
    pub nock: [f64; 2],
    /// Where the nocking point stands along the bow.
    pub along: f64,
}

/// The rest, once the hand rests.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AllShown {
    /// One standard deviation of the weight, in words.
    pub band: String,
    /// What each lever is worth: what, by how much, the weight's change.
    pub moves: Vec<Vec<String>>,
    pub warnings: Vec<Told>,
}

pub fn look(job: &Job, file: Option<&Job>, at: LookAt) -> Result<Look, Refused> {
    let build = job.build();
    let curve = job.force_curve()?;
    // What the file's own bow would be is only shown beside the try; where it cannot be solved there is nothing beside it.
    let beside = file.and_then(|file| Some((file, file.force_curve().ok()?)));
    let numbers = numbers(build, curve);
    let before = beside.map_or(Vec::new(), |(file, curve)| self::numbers(file.build(), curve));
    let numbers = numbers
        .into_iter()
        .enumerate()
        .map(|(row, [what, now])| {
            let was = before.get(row).map(|[_, was]| was.clone()).filter(|was| *was != now).unwrap_or_default();
            [what, now, was]
        })
        .collect();
    let hardest = &curve.worst[curve.worst_of_all];
    let ghost = beside.map(|(_, curve)| curve);
    let charts = [
        Some(figures::force(build.units, curve, ghost)),
        Some(figures::strain(build, curve)),
        figures::outline(build, beside.map(|(file, _)| file.build())),
        Some(figures::bend(build.units, curve, ghost)),
        Some(figures::stack(build)),
    ];
    let unstrung = job.unstrung()?;
    let side = Figure::of(&figures::side(build, [unstrung, unstrung], curve));
    let figures = side.into_iter().chain(charts.iter().flatten().filter_map(Figure::of_chart)).collect();
    Ok(Look {
        weight: weight(build, curve, beside),
        numbers,
        strains: strains(build, curve),
        hardest: hardest.share_of_breaking.map(|fraction| [build.units.length(hardest.s_mm), 100.0 * fraction]),
        figures,
        values: Vec::new(),
        draws: draws(build, curve, at),
        not_eased: None,
        gaps: None,
        warnings: told(job, &job.read_warnings().iter().cloned().chain(curve_warnings(job)?).collect::<Vec<_>>()),
    })
}

/// A row a part: how hard it works, and the verdict.
pub(super) fn strains(build: &Build, curve: &DrawCurve) -> Vec<Strain> {
    let row = |worst: &Worst| Strain {
        limb: None,
        cells: strain_row(build, worst),
        verdict: worst.verdict().map_or("", verdict::Verdict::word).into(),
    };
    curve.worst.iter().map(row).collect()
}

fn curve_warnings(job: &Job) -> Result<Vec<Diagnostic>, Refused> {
    let (build, curve) = (job.build(), job.force_curve()?);
    Ok(curve.worst.iter().filter_map(|worst| overstrain::warning(build, worst)).collect())
}

pub(super) fn weight(build: &Build, curve: &DrawCurve, file: Option<(&Job, &DrawCurve)>) -> Weight {
    let full = curve.at_full_draw();
    let target = build.target.as_ref();
    let wanted_n = target.map_or(0.0, Target::stack_weight_n);
    let off_n = full.force_n - wanted_n;
    let wish = target.map_or(String::new(), |target| {
        format!("{} and {} for finishing", build.weight_text(target.draw_weight_n), build.weight_text(target.finishing_n))
    });
    Weight {
        text: build.weight_text(full.force_n),
        value: build.units.force(full.force_n),
        unit: build.units.force_unit(),
        draw: build.units.rule(full.draw_length_mm),
        wish,
        off: format!("{} too {}", build.units.force_text(off_n.abs()), if off_n < 0.0 { "light" } else { "heavy" }),
        near: target.is_some_and(|target| !misses(target, full.force_n)),
        file: file.map(|(file, curve)| file.build().weight_text(curve.at_full_draw().force_n)),
        target: build.units.force(target.map_or(full.force_n, |target| target.finished_weight_n(full.force_n))),
    }
}

pub(super) fn numbers(build: &Build, curve: &DrawCurve) -> Vec<[String; 2]> {
    let length = ["nock to nock".to_owned(), build.units.rule(nock_to_nock_mm(build))];
    let rows = key_numbers(build, curve).into_iter().skip(1).filter_map(|row| {
        let [what, value] = <[String; 2]>::try_from(row).ok()?;
        Some([what, value])
    });
    std::iter::once(length).chain(rows).collect()
}

fn draws(build: &Build, curve: &DrawCurve, at: LookAt) -> Vec<Drawn> {
    let side = Side::of(curve);
    let corners =
        |point: &DrawPoint| side.limb(curve, point).into_iter().map(|[x, y]| [round_point(x), round_point(y)]).collect();
    curve
        .points
        .iter()
        .enumerate()
        .filter_map(|(draw, point)| {
            let nock = point.places.last()?;
            let nock = side.at(nock.x_mm, nock.y_mm);
            Some(Drawn {
                draw: build.units.decimal(point.draw_length_mm),
                force: build.weight_text(point.force_n),
                limb: if at.has_shape(draw, curve.points.len()) { corners(point) } else { Vec::new() },
                nock: [round_point(nock.x), round_point(nock.y)],
                hand: round_point(side.at(curve.grip_depth_mm + point.pivot_to_nock_mm, 0.0).y),
                lower: None,
            })
        })
        .collect()
}

pub fn whole(job: &Job) -> Result<AllShown, Refused> {
    let build = job.build();
    let mut warnings = job.read_warnings().to_vec();
    match job.warnings() {
        Ok(found) => warnings.extend(found),
        Err(refused) => warnings.extend(refused.faults),
    }
    Ok(AllShown {
        band: format!("± {}", build.weight_text(job.weight_spread_n()?)),
        moves: moves_rows(build, job.sensitivity()?),
        warnings: told(job, &warnings),
    })
}

/// A bow in a few words.
#[derive(Debug)]
pub struct InShort {
    pub weight: String,
    /// The hardest-worked part.
    pub hardest: String,
}

pub fn in_short(job: &Job) -> Result<InShort, Refused> {
    let (build, curve) = (job.build(), job.force_curve()?);
    let worst = &curve.worst[curve.worst_of_all];
    Ok(InShort { weight: build.weight_text(curve.at_full_draw().force_n), hardest: worst_words(build, worst) })
}

/// A part and how hard it works.
pub(super) fn worst_words(build: &Build, worst: &Worst) -> String {
    format!("{} {}", part_name(build, worst.part), share_words(worst))
}

/// The glue-up, stage by stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GlueShown {
    pub stages: Vec<StageShown>,
    /// Strips over the fades: name, strain, verdict, what would cure it.
    pub fades: Vec<[String; 4]>,
    /// The same stack glued in other ways: how, unstrung tip, weight, energy.
    pub ways: Vec<[String; 4]>,
    pub warnings: Vec<Told>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageShown {
    pub number: u32,
    pub pieces: String,
    /// Rows of words and figures.
    pub rows: Vec<[String; 2]>,
    /// Held and released, from the side.
    pub figure: Figure,
    /// The key of the wished tip, and the released tip that it would be drawn from.
    pub want_key: String,
    pub tip: f64,
    /// The station of that tip: the nock.
    pub tip_at: f64,
    pub dry_run: Vec<String>,
}

pub fn glue(job: &Job) -> Result<GlueShown, Refused> {
    let (build, units) = (job.build(), job.build().units);
    let Some(glued) = job.glue_up()? else {
        return Ok(GlueShown { stages: Vec::new(), fades: Vec::new(), ways: Vec::new(), warnings: Vec::new() });
    };
    let percent = |strain: f64| format!("{} %", fixed(100.0 * strain, 2));
    let stages = glued.stages.iter().enumerate().filter_map(|(index, stage)| {
        let mut rows = vec![
            ["tip held".to_owned(), units.tip(stage.tip_held_mm())],
            ["tip left, once released".to_owned(), units.tip(stage.tip_left_mm())],
        ];
        match &stage.held {
            Held::Props { rise_mm, at_mm } => {
                rows.push(["props".into(), format!("back rises to {} at station {}", units.tip(*rise_mm), units.rule(*at_mm))]);
            }
            Held::Form { .. } | Held::Flat => {}
        }
        if let Some(wanted) = &stage.wanted {
            let how =
                wanted.form_by.map_or("props brought there".into(), |by| format!("all rises of the form times {}", fixed(by, 3)));
            rows.push(["wanted".into(), format!("{}: {how}", units.tip(wanted.tip_mm))]);
            rows.push(["as written it would leave".into(), units.tip(wanted.written_leaves_mm)]);
        }
        if let Some(load) = stage.load.tip_n {
            rows.push(["load at each tip".into(), units.force_text(load.abs())]);
        }
        rows.push([
            "clamps".into(),
            format!("{} for {}, {} apart", stage.clamps.count(), build.whole_words(), units.rule(stage.clamps.apart_mm)),
        ]);
        rows.push(["glue".into(), format!("{} on the wood, {MORE_GLUE}", units.mass(stage.glue.mass_kg))]);
        let hardest = stage.bent.iter().max_by(|a, b| a.strain.total_cmp(&b.strain));
        rows.extend(hardest.map(|bent| {
            ["bent hardest on it".to_owned(), format!("{} at station {}", percent(bent.strain), units.rule(bent.s_mm))]
        }));
        Some(StageShown {
            number: stage.number,
            pieces: stage.names(build),
            rows,
            figure: Figure::of_chart(&figures::stage(units, stage))?,
            want_key: format!("glue.stage[{index}].want.tip"),
            tip: units.length(stage.tip_left_mm()),
            tip_at: units.length(build.nock_mm()),
            dry_run: crate::shop::form::dry_run(build, stage).iter().map(|words| words.spoken(units)).collect(),
        })
    });
    let fades = job.fades()?.map_or(Vec::new(), |fades| {
        let row = |climb: &crate::mechanics::fade::Climb| {
            let cure = climb
                .cure
                .and_then(|cure| cure.fade_length_mm)
                .map_or(String::new(), |mm| format!("fades {} long would do", units.rule(mm)));
            [build.laminations[climb.lamination].name.clone(), percent(climb.strain), climb.verdict.word().to_owned(), cure]
        };
        fades.climbs.iter().map(row).collect()
    });
    let ways = job.glue_ups_compared()?.iter().map(|way| {
        let (weight, energy) = way.drawn.as_ref().map_or((String::new(), String::new()), |drawn| {
            (
                build.weight_text(drawn.weight_n),
                format!("{} {}", fixed(units.energy_number(drawn.energy_n_mm), 1), units.energy_unit()),
            )
        });
        [way.how.words().to_owned(), units.tip(way.tip_mm), weight, energy]
    });
    let mut warnings = job.glue_up_warnings()?.to_vec();
    warnings.extend(job.fades()?.iter().flat_map(|fades| fades.warnings(build)));
    Ok(GlueShown { stages: stages.collect(), fades, ways: ways.collect(), warnings: told(job, &warnings) })
}
