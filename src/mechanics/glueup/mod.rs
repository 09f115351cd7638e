//! What do the stages of a glue-up leave in the bow, and how must they be held so that they leave what is wanted?
//!
//! Station by station: wet pieces slip over each other and take the form's curvature, each about its own neutral axis; the glue
//! sets; the glued piece springs back until nothing holds it ([`super::release`]), and is one piece of the next stage.
//!
//! | question | how |
//! |---|---|
//! | curvature, tip and strain left | [`super::release`] at every station, chained over the stages |
//! | shape bent free over props | elastic line of the slipping pile (`hold`) |
//! | props' rise or form's depth for a wanted tip | the rise scaled until the released tip stands there |
//! | form whose released shape is the wanted one | `κ_f = (EI_c κ − Σ EI_j κ_j) / (EI_c − Σ EI_j)` at every station |
//! | load on the form | `M = Σ EI_j (κ_f − κ_j)` of what is bent down; forces at stations from its second difference |
//! | how sure is the tip? | the tips again with each wood a little stiffer ([`scatter`]) |
//! | it came off with another shape: how now? | its own share of the curvature, read at the tip ([`came_off`]) |
//! | does it pay? | draw curves of the build as written, glued flat, and glued in one stage ([`compare`]) |
//!
//! Signs: curvature, rise and reflex as everywhere, positive toward the belly. A tip's rise is that of the back's line at the nock
//! over the same line at the bow's centre. The two limbs mirror each other.
//!
//! Limits: elastic wood, thin pieces, glue that carries no shear while wet; what creeps away is the share that the build file
//! states (`glue.retained`). The riser counts as a beam right to its feather; slopes of the laminations on the fade are left out.
//! At the feather and at the ends of laminations shear is concentrated over about a thickness: no beam shows that.
//!
//! Derived here; tests against published rules, elliptic integrals and an energy minimisation in `tests/glueup.rs`.

mod pile;
mod hold;
mod props;
mod load;
mod wanted;
pub mod came_off;
pub mod compare;
pub mod scatter;

pub use hold::LinePoint;
pub use load::{Clamping, Clamps, Force, GlueNeed, LineLoad, Load};
pub use wanted::Wanted;

use super::bow::Unstrung;
use super::layer_kind::LayerKind;
use super::section::Stack;
use super::verdict::Limits;
use crate::diag::{Diagnostic, Outcome, Place, Reported, mm};
use crate::geometry::{Point, height_at};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::model::workshop::Held;
use crate::numeric::ode::{self, NODES};
use crate::units::limit;
use hold::{FormCurve, Hold, LineCurvature};
use pile::{Pile, StackColumn};
use props::Propped;
use wanted::TipStiffness;

/// What a glue-up does to the bow.
#[derive(Debug, Clone, PartialEq)]
pub struct GlueUp {
    pub stages: Vec<Stage>,
    /// Width of the strips while they are glued, mm.
    pub blank_mm: f64,
    pub nock_mm: f64,
    /// For the draw: curvature and locked-in strain after the last stage.
    pub unstrung: Unstrung,
    /// Share of the curvature kept after release that creep leaves, in stages without their own.
    pub retained: f64,
}

/// One stage, held as it will be held.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    pub number: u32,
    /// Place among the described stages, for messages.
    pub place: Place,
    /// Indices of the laminations that are glued in it, back to belly.
    pub laminations: Vec<usize>,
    /// The riser is glued in it.
    pub riser: bool,
    /// How it is held: as written, or with the props or the form brought to what is wanted.
    pub held: Held,
    /// The tip that the build file wants, and how the hold was brought there.
    pub wanted: Option<Wanted>,
    /// While held and after release, at stations from the bow's centre; the last is the nock.
    pub on_form: Vec<LinePoint>,
    pub released: Vec<LinePoint>,
    /// Share of the curvature that its release leaves.
    pub retained: f64,
    /// The hardest-bent place of each piece on the form.
    pub bent: Vec<PieceBend>,
    /// The greatest strain left in each layer once released.
    pub left: Vec<Left>,
    /// For a form: rise over the station of the form whose released shape is exactly the wanted one, mm.
    pub exact_form: Vec<(f64, f64)>,
    pub load: Load,
    pub clamps: Clamps,
    pub glue: GlueNeed,
    pub clamp_time_s: Option<f64>,
}

/// One stage lying wet on what holds it: what will not go there is known without its release, its load and its clamps.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldStage {
    pub number: u32,
    /// As [`Stage::place`], [`Stage::laminations`], [`Stage::riser`] and [`Stage::bent`].
    pub place: Place,
    pub laminations: Vec<usize>,
    pub riser: bool,
    pub bent: Vec<PieceBend>,
    clamp_time_s: Option<f64>,
    /// Curvature of the limb's line, over the stations of [`Stage::on_form`].
    line: Vec<LineCurvature>,
}

impl HeldStage {
    /// Curvature of the limb's line while this lamination is glued, 1/mm.
    pub fn curvature_under(stages: &[HeldStage], lamination: usize, s_mm: f64) -> f64 {
        let stage = stages.iter().find(|stage| stage.laminations.contains(&lamination));
        LineCurvature::between(stage.map_or(&[][..], |stage| &stage.line), s_mm)
    }
}

/// What is bent: a loose layer, or what came out of the stages before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bends {
    Layer(LayerKind),
    Before,
}

/// Bending of a piece on the form, against its own free shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PieceBend {
    pub what: Bends,
    /// At the face that works hardest; the strain that the piece carried before is not counted.
    pub strain: f64,
    pub s_mm: f64,
    /// The fade's curvature has its share in it.
    pub on_fade: bool,
}

/// Rise of a stage at a station, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StageRise {
    pub held_mm: f64,
    pub left_mm: f64,
    /// Of the form whose released shape is exactly the wanted one.
    pub exact_mm: Option<f64>,
}

/// The greatest strain left in a layer; positive is stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    pub part: LayerKind,
    pub strain: f64,
    pub s_mm: f64,
    pub face: Face,
}

impl Stage {
    /// What is glued in it, back to belly, such as `core + riser + belly`.
    pub fn names(&self, build: &Build) -> String {
        let under = build.riser.as_ref().map(|riser| riser.position.min(build.laminations.len()));
        let mut names: Vec<&str> = Vec::new();
        for index in 0..=build.laminations.len() {
            if self.riser && under == Some(index) {
                names.push("riser");
            }
            if self.laminations.contains(&index) {
                names.push(&build.laminations[index].name);
            }
        }
        names.join(" + ")
    }

    /// Straight between the stations that are known, and on straight beyond them.
    pub fn rise_at(&self, s_mm: f64) -> StageRise {
        let at = |line: &[Point]| height_at(line, s_mm);
        let of = |spots: &[LinePoint]| at(&spots.iter().map(|spot| Point::new(spot.s_mm, spot.rise_mm)).collect::<Vec<_>>());
        let exact: Vec<Point> = self.exact_form.iter().map(|(s, rise)| Point::new(*s, *rise)).collect();
        StageRise { held_mm: of(&self.on_form), left_mm: of(&self.released), exact_mm: (!exact.is_empty()).then(|| at(&exact)) }
    }

    /// Rise of the nock while held and after release, mm.
    pub fn tip_held_mm(&self) -> f64 {
        self.on_form.last().map_or(0.0, |spot| spot.rise_mm)
    }

    pub fn tip_left_mm(&self) -> f64 {
        self.released.last().map_or(0.0, |spot| spot.rise_mm)
    }
}

impl GlueUp {
    /// Rise of the nock once all is glued, mm; negative for reflex.
    pub fn tip_mm(&self) -> f64 {
        self.stages.last().map_or(0.0, Stage::tip_left_mm)
    }

    /// The stage of this number.
    pub fn stage(&self, number: u32) -> Option<&Stage> {
        self.stages.iter().find(|stage| stage.number == number)
    }

    /// The same glue-up of wood whose stiffness is multiplied by this, as finished bows have shown it: shapes and strains stay, forces follow.
    #[must_use]
    pub fn stiffer(mut self, by: f64) -> GlueUp {
        for stage in &mut self.stages {
            stage.load.stiffer(by);
        }
        self
    }
}

/// All stages of a build, each held as written or, where a tip is wanted, as it must be.
pub fn plan(build: &Build) -> Outcome<GlueUp> {
    let Reported { value: brought, mut warnings } = Brought::of(build)?;
    let held = brought.held(build)?;
    let value = brought.plan(build, &held.value, brought.unstrung(build)?)?;
    warnings.extend(held.warnings);
    Ok(Reported { value, warnings })
}

/// The unstrung bow alone, as [`plan`] has it: all that drawing it asks of the glue-up, in a tenth of the time.
pub fn unstrung(build: &Build) -> Outcome<Unstrung> {
    let Reported { value: brought, warnings } = Brought::of(build)?;
    Ok(Reported { value: brought.unstrung(build)?, warnings })
}

/// How each stage of a build is held so that it leaves what is wanted: what both the shape and all else that is asked of the glue-up begin with.
#[derive(Debug, Clone, PartialEq)]
pub struct Brought {
    holds: Vec<Hold>,
    how: Vec<StageHow>,
}

impl Brought {
    /// Each stage held as written or, where a tip is wanted, as it must be.
    pub fn of(build: &Build) -> Outcome<Brought> {
        let (pile, how, warnings) = brought(build)?;
        Ok(Reported { value: Brought { holds: pile.holds, how }, warnings })
    }

    /// The unstrung bow of that build.
    pub fn unstrung(&self, build: &Build) -> Result<Unstrung, Vec<Diagnostic>> {
        let (pile, _) = self.pile(build)?;
        Ok(pile::unstrung(&pile, pile.holds.len() - 1))
    }

    /// The stages of that build wet on what holds them; warned of is what they will not do.
    pub fn held(&self, build: &Build) -> Outcome<Vec<HeldStage>> {
        let (pile, rows) = self.pile(build)?;
        let nock_mm = pile.stack.outline().nock_mm();
        let wet = rows.into_iter().enumerate().map(|(n, StageRow { number, place, clamp_time_s, .. })| {
            let (bent, line) = wet(&pile, n, &ode::mesh(0.0, nock_mm, &pile.corners(n + 1), STEP_MM));
            let laminations = (0..build.laminations.len()).filter(|i| pile.of_lamination[*i] == n).collect();
            let riser = build.riser.is_some() && pile.of_riser == n;
            HeldStage { number, place, laminations, riser, bent, clamp_time_s, line }
        });
        let value: Vec<HeldStage> = wet.collect();
        let warnings = value.iter().flat_map(|stage| unwilling(build, stage)).collect();
        Ok(Reported { value, warnings })
    }

    /// The whole glue-up of that build, whose stages are `held` so, and which comes off the form as `unstrung`.
    pub fn plan(&self, build: &Build, held: &[HeldStage], unstrung: Unstrung) -> Result<GlueUp, Vec<Diagnostic>> {
        let (pile, _) = self.pile(build)?;
        let nock_mm = pile.stack.outline().nock_mm();
        let stages = held.iter().zip(&self.how).enumerate().map(|(n, (wet, (held, wanted)))| {
            let mesh = ode::mesh(0.0, nock_mm, &pile.corners(n + 1), STEP_MM);
            let StageLines { on_form, released, exact_form, left } = lines(&pile, n, &mesh, *wanted);
            let load = load::load(&pile, n, on_form.last().map_or(0.0, |spot| spot.rise_mm), &wet.place);
            Stage {
                number: wet.number,
                place: wet.place.clone(),
                laminations: wet.laminations.clone(),
                riser: wet.riser,
                held: held.clone(),
                wanted: *wanted,
                on_form,
                released,
                retained: pile.retained[n],
                bent: wet.bent.clone(),
                left,
                exact_form,
                clamps: Clamping::usual(build.units).clamps(&load, build.limbs(), nock_mm, pile.blank_mm),
                load,
                glue: load::glue(&pile, n, &mesh),
                clamp_time_s: wet.clamp_time_s,
            }
        });
        let stages = stages.collect();
        Ok(GlueUp { stages, blank_mm: pile.blank_mm, nock_mm, unstrung, retained: build.glue.retained })
    }

    fn pile<'a>(&self, build: &'a Build) -> Result<(Pile<'a>, Vec<StageRow>), Vec<Diagnostic>> {
        let (pile, rows, _) = pile(Stack::of(build).map_err(|fault| vec![fault])?)?;
        Ok((Pile { holds: self.holds.clone(), ..pile }, rows))
    }
}

/// The hardest-bent place of each piece of a stage and the curvature of the limb's line, from each place of the mesh as it is seen from both sides.
fn wet(pile: &Pile<'_>, n: usize, mesh: &[f64]) -> (Vec<PieceBend>, Vec<LineCurvature>) {
    let mut bent: Vec<PieceBend> = Vec::new();
    let mut line: Vec<LineCurvature> = Vec::with_capacity(mesh.len());
    let mut column = pile.column();
    let mut before = None;
    for pair in mesh.windows(2) {
        let inside = 0.5 * (pair[0] + pair[1]);
        let [after, next] = [NODES[0], NODES[4]].map(|node| {
            column.lay(n, inside, pair[0] + node * (pair[1] - pair[0]));
            let held_per_mm = column.held_per_mm();
            bend_most(&mut bent, &column, held_per_mm);
            held_per_mm
        });
        line.push(LineCurvature { s_mm: pair[0], before_per_mm: before.unwrap_or(after), after_per_mm: after });
        before = Some(next);
    }
    let last = before.unwrap_or(0.0);
    line.push(LineCurvature { s_mm: mesh[mesh.len() - 1], before_per_mm: last, after_per_mm: last });
    bent.sort_by_key(|bent| bent.what);
    (bent, line)
}

/// The limb's line in one stage, held and after its release, the form that leaves what is wanted, and what strain stays, from one look at each node of
/// the mesh.
struct StageLines {
    on_form: Vec<LinePoint>,
    released: Vec<LinePoint>,
    exact_form: Vec<(f64, f64)>,
    left: Vec<Left>,
}

fn lines(pile: &Pile<'_>, n: usize, mesh: &[f64], wanted: Option<Wanted>) -> StageLines {
    let hold = &pile.holds[n];
    let to_leave = wanted::shape(pile, hold, wanted.map(|wanted| wanted.tip_mm));
    let nodes = NODES.len() * (mesh.len() - 1);
    let [mut held, mut free, mut exact] = [(); 3].map(|()| Vec::with_capacity(nodes));
    let mut left: Vec<Left> = Vec::new();
    let mut column = pile.column();
    for pair in mesh.windows(2) {
        let inside = 0.5 * (pair[0] + pair[1]);
        for (k, node) in NODES.iter().enumerate() {
            column.lay(n, inside, pair[0] + node * (pair[1] - pair[0]));
            held.push(column.held_per_mm());
            exact.extend(to_leave.as_ref().map(|shape| wanted::form_for(pile, n, &column, shape)));
            column.glue();
            free.push(column.free_per_mm);
            if k == 0 || k + 1 == NODES.len() {
                strain_most(&mut left, &column);
            }
        }
    }
    left.sort_by_key(|left| left.part);
    // Asked for at each node of each step, in their order.
    let line = |curvatures: Vec<f64>| {
        let mut next = curvatures.into_iter();
        hold::line(mesh, |_, _| next.next().unwrap_or(0.0))
    };
    let exact_form = match &to_leave {
        Some(_) => line(exact).into_iter().map(|spot| (spot.s_mm, spot.rise_mm)).collect(),
        None => Vec::new(),
    };
    StageLines { on_form: line(held), released: line(free), exact_form, left }
}

/// The back of the unstrung bow from the centre to the nock, off its form.
pub fn line(unstrung: &Unstrung, nock_mm: f64) -> Vec<LinePoint> {
    let curvature = &unstrung.curvature_per_mm;
    hold::line(&ode::mesh(0.0, nock_mm, curvature.corners(), STEP_MM), |inside, s| curvature.at(inside, s))
}

/// Rise of the nock after each stage in the order of the work, mm: all that a scatter of tips asks for.
fn tips_mm(build: &Build) -> Result<Vec<f64>, Vec<Diagnostic>> {
    let (pile, ..) = brought(build)?;
    Ok((0..pile.holds.len()).map(|n| TipStiffness::of(&pile, n, &pile.holds[n].corners()).left_mm(&pile.holds[n])).collect())
}

/// How a stage is held, and the tip that is wanted of it with what that took.
type StageHow = (Held, Option<Wanted>);

/// The pile with each stage held as written or, where a tip is wanted, as it must be.
fn brought(build: &Build) -> Result<(Pile<'_>, Vec<StageHow>, Vec<Diagnostic>), Vec<Diagnostic>> {
    let stack = Stack::of(build).map_err(|fault| vec![fault])?;
    let (mut pile, rows, warnings) = pile(stack)?;
    let mut how = Vec::with_capacity(rows.len());
    for (n, row) in rows.iter().enumerate() {
        let written = written(&pile, n, row).map_err(|fault| vec![fault])?;
        let (hold, held, wanted) = match row.want_tip_mm {
            Some(tip_mm) => wanted::bring(&pile, n, row, written, tip_mm).map_err(|fault| vec![fault])?,
            None => (written, row.held.clone(), None),
        };
        pile.holds.push(hold);
        how.push((held, wanted));
    }
    Ok((pile, how, warnings))
}

/// A stage of the build file, or one that stands in for it.
struct StageRow {
    number: u32,
    place: Place,
    held: Held,
    want_tip_mm: Option<f64>,
    clamp_time_s: Option<f64>,
}

/// The pile with its stages; faults where a stage cannot be glued.
fn pile(stack: Stack<'_>) -> Result<(Pile<'_>, Vec<StageRow>, Vec<Diagnostic>), Vec<Diagnostic>> {
    let build = stack.build();
    let (mut faults, mut warnings, mut rows) = (Vec::new(), Vec::new(), Vec::new());
    let mut numbers: Vec<u32> = build.laminations.iter().map(|lamination| lamination.stage).collect();
    numbers.sort_unstable();
    numbers.dedup();
    for (index, stage) in build.glue.stages.iter().enumerate() {
        if !numbers.contains(&stage.number) {
            let message = format!("no lamination is glued in stage {}", stage.number);
            warnings.push(
                Diagnostic::warning(Place::new("glue.stage").index(index), message)
                    .hint(format!("write `stage = {}` in a lamination, or leave the stage out", stage.number)),
            );
        }
    }
    for number in &numbers {
        let described = build.glue.stages.iter().position(|stage| stage.number == *number);
        let row = match described {
            Some(index) => {
                let stage = &build.glue.stages[index];
                StageRow {
                    number: *number,
                    place: Place::new("glue.stage").index(index),
                    held: stage.held.clone(),
                    want_tip_mm: stage.want_tip_mm,
                    clamp_time_s: stage.clamp_time_s,
                }
            }
            None => {
                let message = format!("nothing says how stage {number} is held, so that it counts as flat");
                let hint = "describe it: [[glue.stage]] with `number` and `held`";
                warnings.push(Diagnostic::warning(Place::new("glue"), message).hint(hint));
                StageRow { number: *number, place: Place::new("glue"), held: Held::Flat, want_tip_mm: None, clamp_time_s: None }
            }
        };
        rows.push(row);
    }
    let place_of = |number: u32| numbers.iter().position(|n| *n == number).unwrap_or(0);
    let of_lamination: Vec<usize> = build.laminations.iter().map(|lamination| place_of(lamination.stage)).collect();
    // What climbs the fades is glued to the riser; a riser under all laminations comes with the last stage.
    let of_riser = build.riser.as_ref().and_then(|riser| of_lamination.get(riser.position).copied()).unwrap_or(numbers.len() - 1);
    for (n, number) in numbers.iter().enumerate() {
        let in_it: Vec<usize> = (0..of_lamination.len()).filter(|i| of_lamination[*i] <= n).collect();
        let (Some(first), Some(last)) = (in_it.first(), in_it.last()) else { continue };
        if let Some(gap) = (*first..*last).find(|i| n < of_lamination[*i]) {
            let [before, between, after] = [gap - 1, gap, *last].map(|i| &build.laminations[i]);
            let message = format!(
                "`{}` is glued in stage {}, but it lies between `{}` and `{}`, which are together by stage {}",
                between.name, between.stage, before.name, after.name, number
            );
            faults.push(
                Diagnostic::fault(between.place.key("stage"), message).hint("glue from one face of the stack to the other"),
            );
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let blank_mm = build.laminations.iter().map(|lamination| lamination.stock.width_mm).fold(0.0, f64::max);
    let retained = numbers.iter().map(|number| build.glue.retained_of(*number)).collect();
    Ok((Pile { stack, of_lamination, of_riser, blank_mm, holds: Vec::new(), retained }, rows, warnings))
}

/// The hold as the build file has it.
fn written(pile: &Pile<'_>, n: usize, row: &StageRow) -> Result<Hold, Diagnostic> {
    let place = row.place.key("held");
    match &row.held {
        Held::Flat => Ok(Hold::Flat),
        Held::Form { rise } => FormCurve::through(rise, &place.key("form")).map(Hold::Form),
        Held::Props { rise_mm, at_mm } => {
            let end = pile.stack.outline().end_mm();
            if limit::past(*at_mm, end) {
                let message = message!("props at station {} stand beyond the limb's end at {}", mm(*at_mm), mm(end));
                return Err(Diagnostic::fault(place.key("at"), message).hint("put them under the tips"));
            }
            let place = place.key("props");
            Propped::of(pile, n, *at_mm, &place)?.raised(*rise_mm, &place)
        }
    }
}

/// Longest step of the results, mm: over the fades curvature changes within tens of millimetres. Where a tip alone is asked for it is found on
/// the same mesh, so that it is the tip of the results.
const STEP_MM: f64 = 6.0;

/// The hardest-bent place of each piece, what is wet at one more station among them.
fn bend_most(worst: &mut Vec<PieceBend>, column: &StackColumn<'_>, held_per_mm: f64) {
    let pile = column.pile;
    let fade = pile.fade_curvature(column.inside_mm, column.s_mm).unwrap_or(0.0);
    for piece in column.pieces() {
        let layers = &column.layers[piece.first..=piece.last];
        let on_fade = 0.0 < fade.abs() && pile.of_riser <= column.stage && layers.iter().any(|layer| pile.climbs(layer.part));
        let bend = held_per_mm - piece.free_per_mm;
        for (part, reach_mm) in column.reaches(&piece) {
            let what = if piece.glued { Bends::Before } else { Bends::Layer(part) };
            let here = PieceBend { what, strain: reach_mm * bend.abs(), s_mm: column.s_mm, on_fade };
            match worst.iter_mut().find(|known| known.what == what) {
                Some(known) if known.strain < here.strain => *known = here,
                Some(_) => {}
                None => worst.push(here),
            }
        }
    }
}

/// The greatest strain in each layer, those that are glued at one more station among them.
fn strain_most(worst: &mut Vec<Left>, column: &StackColumn<'_>) {
    for layer in column.wood() {
        for (face, z) in [(Face::Back, layer.back_mm), (Face::Belly, layer.belly_mm)] {
            let here = Left { part: layer.part, strain: layer.strain.at(z), s_mm: column.s_mm, face };
            match worst.iter_mut().find(|known| known.part == layer.part) {
                Some(known) if known.strain.abs() < here.strain.abs() => *known = here,
                Some(_) => {}
                None => worst.push(here),
            }
        }
    }
}

/// Warnings of pieces that will not go where the form wants them.
fn unwilling(build: &Build, stage: &HeldStage) -> Vec<Diagnostic> {
    let mut warnings = Vec::new();
    for bent in &stage.bent {
        let percent = 100.0 * bent.strain;
        match bent.what {
            Bends::Layer(LayerKind::Riser(_)) if RISER_BENDS < bent.strain => {
                let message = message!(
                    "the form bends under the riser, which would have to stretch by {} percent at station {} and will stay straight",
                    format_args!("{:.2}", percent),
                    mm(bent.s_mm)
                );
                warnings.push(
                    Diagnostic::warning(stage.place.key("held"), message)
                        .hint("keep the form level as far as the riser is stiff, or shape the riser's face to the form"),
                );
            }
            Bends::Layer(part) if !bent.on_fade => {
                let Some((index, wood)) = part.lamination().zip(part.wood(build)) else { continue };
                let Some(over) = Limits::default().of_wood(wood.breaking_strain).over(bent.strain) else { continue };
                let breaks =
                    wood.breaking_strain.map_or(String::new(), |at| format!("; its wood breaks at {:.2} on average", 100.0 * at));
                let message = message!(
                    "bent to the form, `{}` stretches by {} percent at station {}, {}{}",
                    part.name(build),
                    format_args!("{:.2}", percent),
                    mm(bent.s_mm),
                    over,
                    breaks
                );
                warnings.push(
                    Diagnostic::warning(build.laminations[index].place.clone(), message)
                        .hint("use two thinner laminations, or a gentler curve; bend a dry strip over the form first"),
                );
            }
            _ => {}
        }
    }
    if stage.laminations.len() + usize::from(stage.riser) + stage.bent.iter().filter(|b| b.what == Bends::Before).count() < 2 {
        let message = format!("stage {} holds a single piece: nothing is glued, and it springs back whole", stage.number);
        warnings.push(Diagnostic::warning(stage.place.clone(), message).hint("give at least two laminations the same stage"));
    }
    warnings
}

/// Surface strain of a riser on the form above which it counts as not going there: a block 1½ in deep takes a moment of hundreds of N·m for it.
/// Lower, and the harmless ends of the fades are named; higher, and a bridge under the grip goes unnoticed.
const RISER_BENDS: f64 = 2e-3;
