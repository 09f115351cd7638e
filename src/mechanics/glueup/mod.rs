//! What do the stages of a glue-up leave in the bow, and how must they be held so that they leave what is wanted?
//!
//! Station by station: wet pieces slip over each other and take the form's curvature, each about its own neutral axis; the glue
//! sets; the glued piece springs back until nothing holds it ([`super::release`]), and is one piece of the next stage.
//!
//! | question | how |
//! |---|---|
//! | curvature, tip and strain left | [`super::release::glued`] at every station, chained over the stages |
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
mod load;
mod wanted;
pub mod came_off;
pub mod compare;
pub mod scatter;

pub use hold::Spot;
pub use load::{Clamping, Clamps, Force, GlueNeed, Load};
pub use wanted::Wanted;

use super::bow::Unstrung;
use super::section::{Part, Stack};
use super::verdict::{Limits, Verdict};
use crate::diag::{Diagnostic, Outcome, Place, Reported, mm};
use crate::model::Build;
use crate::model::workshop::Held;
use crate::numeric::ode;
use hold::{FormCurve, Hold};
use pile::{Bundle, Pile};

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
    pub on_form: Vec<Spot>,
    pub released: Vec<Spot>,
    /// Share of the curvature that its release leaves.
    pub retained: f64,
    /// The hardest-bent place of each piece on the form.
    pub bent: Vec<Bent>,
    /// The greatest strain left in each layer once released.
    pub left: Vec<Left>,
    /// For a form: rise over the station of the form whose released shape is exactly the wanted one, mm.
    pub exact_form: Vec<(f64, f64)>,
    pub load: Load,
    pub glue: GlueNeed,
    pub clamp_time_s: Option<f64>,
}

/// What is bent: a loose layer, or what came out of the stages before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Bends {
    Layer(Part),
    Before,
}

/// Bending of a piece on the form, against its own free shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bent {
    pub what: Bends,
    /// At the face that works hardest; the strain that the piece carried before is not counted.
    pub strain: f64,
    pub s_mm: f64,
    /// The fade's curvature has its share in it.
    pub on_fade: bool,
}

/// The greatest strain left in a layer; positive is stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Left {
    pub part: Part,
    pub strain: f64,
    pub s_mm: f64,
    pub belly_face: bool,
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
    pub fn stiffer(mut self, by: f64) -> GlueUp {
        for stage in &mut self.stages {
            stage.load.stiffer(by);
        }
        self
    }

    /// Curvature of the limb's line while this lamination is glued, 1/mm.
    pub fn held_curvature(&self, lamination: usize, s_mm: f64) -> f64 {
        let stage = self.stages.iter().find(|stage| stage.laminations.contains(&lamination));
        Spot::curvature_between(stage.map_or(&[][..], |stage| &stage.on_form), s_mm)
    }
}

/// All stages of a build, each held as written or, where a tip is wanted, as it must be.
pub fn plan(build: &Build) -> Outcome<GlueUp> {
    let stack = Stack::of(build).map_err(|fault| vec![fault])?;
    let (mut pile, rows, mut warnings) = pile(stack)?;
    let nock_mm = stack.outline().nock_mm();
    let mut stages = Vec::new();
    for (n, row) in rows.iter().enumerate() {
        let written = written(&pile, n, row).map_err(|fault| vec![fault])?;
        let (hold, held, wanted) = match row.want_tip_mm {
            Some(tip_mm) => wanted::bring(&pile, n, row, written, tip_mm).map_err(|fault| vec![fault])?,
            None => (written, row.held.clone(), None),
        };
        let shape = match (&hold, wanted) {
            (Hold::Form(form), _) => Some(form.clone()),
            _ => None,
        };
        pile.holds.push(hold);
        let mesh = mesh(&pile, nock_mm);
        let laid: Vec<(f64, f64, Vec<Bundle>)> =
            sides(&mesh).into_iter().map(|(inside, s)| (inside, s, pile.laid(n, inside, s))).collect();
        let on_form = hold::line(&mesh, |inside, s| pile.holds[n].curvature(inside, s, &pile.laid(n, inside, s)));
        let after = |inside: f64, s: f64| pile.glued(n, inside, s);
        let released = hold::line(&mesh, |inside, s| after(inside, s).map_or(0.0, |bundle| bundle.piece.free_curvature_per_mm));
        let exact_form = shape.map_or(Vec::new(), |form| wanted::exact(&pile, n, &form, wanted.map(|w| w.tip_mm), &mesh));
        let mut stage = Stage {
            number: row.number,
            place: row.place.clone(),
            laminations: (0..build.laminations.len()).filter(|i| pile.of_lamination[*i] == n).collect(),
            riser: build.riser.is_some() && pile.of_riser == n,
            held,
            wanted,
            on_form,
            released,
            retained: pile.retained[n],
            bent: bent(&pile, n, &laid),
            left: Vec::new(),
            exact_form,
            load: load::load(&pile, n, &row.place),
            glue: load::glue(&pile, n, &mesh),
            clamp_time_s: row.clamp_time_s,
        };
        let glued: Vec<(f64, Bundle)> =
            laid.iter().filter_map(|(inside, s, _)| after(*inside, *s).map(|bundle| (*s, bundle))).collect();
        stage.left = left(&glued);
        warnings.extend(unwilling(build, &stage));
        stages.push(stage);
    }
    let last = pile.holds.len() - 1;
    let unstrung = pile::unstrung(&pile.corners(), nock_mm, |inside, s| pile.glued(last, inside, s));
    let value = GlueUp { stages, blank_mm: pile.blank_mm, nock_mm, unstrung, retained: build.glue.retained };
    Ok(Reported { value, warnings })
}

/// A stage of the build file, or one that stands in for it.
struct Row {
    number: u32,
    place: Place,
    held: Held,
    want_tip_mm: Option<f64>,
    clamp_time_s: Option<f64>,
}

/// The pile with its stages; faults where a stage cannot be glued.
fn pile(stack: Stack<'_>) -> Result<(Pile<'_>, Vec<Row>, Vec<Diagnostic>), Vec<Diagnostic>> {
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
                Row {
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
                Row { number: *number, place: Place::new("glue"), held: Held::Flat, want_tip_mm: None, clamp_time_s: None }
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
fn written(pile: &Pile<'_>, n: usize, row: &Row) -> Result<Hold, Diagnostic> {
    let place = row.place.key("held");
    match &row.held {
        Held::Flat => Ok(Hold::Flat),
        Held::Form { rise } => FormCurve::through(rise, &place.key("form")).map(Hold::Form),
        Held::Props { rise_mm, at_mm } => {
            let end = pile.stack.outline().end_mm();
            if end < *at_mm {
                let message = format!("props at station {} stand beyond the limb's end at {}", mm(*at_mm), mm(end));
                return Err(Diagnostic::fault(place.key("at"), message).hint("put them under the tips"));
            }
            hold::props(pile, n, *at_mm, *rise_mm, &place.key("props"))
        }
    }
}

/// Stations from the centre to the nock at which results are taken: every corner, and no step longer than [`STEP_MM`].
fn mesh(pile: &Pile<'_>, nock_mm: f64) -> Vec<f64> {
    ode::mesh(0.0, nock_mm, &pile.corners(), STEP_MM)
}

/// Longest step of the results, mm: over the fades curvature changes within tens of millimetres.
const STEP_MM: f64 = 6.0;

/// Every station of a mesh seen from both sides, as (inside, station).
fn sides(mesh: &[f64]) -> Vec<(f64, f64)> {
    mesh.windows(2)
        .flat_map(|pair| {
            let middle = 0.5 * (pair[0] + pair[1]);
            [(middle, pair[0]), (middle, pair[1])]
        })
        .collect()
}

fn bent(pile: &Pile<'_>, n: usize, laid: &[(f64, f64, Vec<Bundle>)]) -> Vec<Bent> {
    let mut worst: Vec<Bent> = Vec::new();
    for (inside, s, bundles) in laid {
        let form = pile.holds[n].curvature(*inside, *s, bundles);
        for bundle in bundles.iter().filter(|bundle| !bundle.is_glue()) {
            let what = if bundle.parts.len() == 1 && pile_stage(pile, bundle.parts[0]) == n {
                Bends::Layer(bundle.parts[0])
            } else {
                Bends::Before
            };
            let bend = form - bundle.piece.free_curvature_per_mm;
            let fade = pile.fade_curvature(*inside, *s).unwrap_or(0.0);
            let on_fade = 0.0 < fade.abs() && pile.of_riser <= n && bundle.parts.iter().any(|part| pile.climbs(*part));
            let here = Bent { what, strain: bundle.reach_mm() * bend.abs(), s_mm: *s, on_fade };
            match worst.iter_mut().find(|known| known.what == what) {
                Some(known) if known.strain < here.strain => *known = here,
                Some(_) => {}
                None => worst.push(here),
            }
        }
    }
    worst.sort_by_key(|bent| bent.what);
    worst
}

fn pile_stage(pile: &Pile<'_>, part: Part) -> usize {
    match part {
        Part::Lamination(index) => pile.of_lamination[index],
        Part::Riser => pile.of_riser,
        Part::Glue => 0,
    }
}

fn left(glued: &[(f64, Bundle)]) -> Vec<Left> {
    let mut worst: Vec<Left> = Vec::new();
    for (s, bundle) in glued {
        for (part, ply) in bundle.parts.iter().zip(&bundle.piece.plies).filter(|(part, _)| **part != Part::Glue) {
            for (belly_face, z) in [(false, ply.from_mm), (true, ply.to_mm)] {
                let here = Left { part: *part, strain: ply.strain.at(z), s_mm: *s, belly_face };
                match worst.iter_mut().find(|known| known.part == *part) {
                    Some(known) if known.strain.abs() < here.strain.abs() => *known = here,
                    Some(_) => {}
                    None => worst.push(here),
                }
            }
        }
    }
    worst.sort_by_key(|left| left.part);
    worst
}

/// Warnings of pieces that will not go where the form wants them.
fn unwilling(build: &Build, stage: &Stage) -> Vec<Diagnostic> {
    let mut warnings = Vec::new();
    for bent in &stage.bent {
        let percent = 100.0 * bent.strain;
        match bent.what {
            Bends::Layer(Part::Riser) if RISER_BENDS < bent.strain => {
                let message = format!(
                    "the form bends under the riser, which would have to stretch by {percent:.2} percent at station {} and will stay straight",
                    mm(bent.s_mm)
                );
                warnings.push(
                    Diagnostic::warning(stage.place.key("held"), message)
                        .hint("keep the form level as far as the riser is stiff, or shape the riser's face to the form"),
                );
            }
            Bends::Layer(Part::Lamination(index)) if !bent.on_fade => {
                let lamination = &build.laminations[index];
                let limits = Limits::default().of_wood(lamination.wood.breaking_strain);
                let (limit, advice) = match limits.verdict(bent.strain) {
                    Verdict::Goes => continue,
                    Verdict::Caution => (limits.caution, ""),
                    Verdict::Stop => (limits.stop, ": stop, and bend a test strip first"),
                };
                let breaks = lamination
                    .wood
                    .breaking_strain
                    .map_or(String::new(), |at| format!("; its wood breaks at {:.2} on average", 100.0 * at));
                let message = format!(
                    "bent to the form, `{}` stretches by {percent:.2} percent at station {}, over the {:.2} percent that we propose as a limit for it dry{breaks}{advice}",
                    lamination.name,
                    mm(bent.s_mm),
                    100.0 * limit
                );
                warnings.push(
                    Diagnostic::warning(lamination.place.clone(), message)
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
