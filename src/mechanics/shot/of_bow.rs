//! The shot of a build's bow: its limbs as chains, its string, a row of arrows, and what lighter parts are worth.
//!
//! The chain begins where the riser's compliance ends to matter: at the outermost station inside which lies no more than a hundredth of what turns
//! the nock; that hundredth goes into the root's spring. Each joint takes compliance and unstrung curvature of half a link to either side, each link the slope of the neutral axis.
//! Wood and glue as in [`crate::mechanics::mass`].
//!
//! Speed: the shot's efficiency of the energy that the force curve stores, which is published beside it. The curve's string does not stretch and the
//! shot's does: their energies differ by a percent or so.
//!
//! Two different limbs are the pair of [`crate::mechanics::pair`] let go; the string is the one that the upper limb's build describes.

use super::chain::{Chain, LimbStretch};
use super::{AtRest, BowString, LINKS, Loading, Shot, ShotFault, extrapolated};
use crate::diag::{Diagnostic, Message, Place, mm};
use crate::mechanics::bow::{Bow, Options};
use crate::mechanics::draw::DrawCurve;
use crate::mechanics::limb::{Limb, LimbRoot};
use crate::mechanics::mass;
use crate::mechanics::pair::{PairCurve, PairOptions};
use crate::model::Build;
use crate::model::string::ShotPlan;

/// N·s²/mm in a kilogram.
const PER_KG: f64 = 1e-3;
/// Share of what turns the nock that is left to the root's spring.
const STIFF: f64 = 0.01;

/// A bow ready to be shot.
#[derive(Debug, Clone)]
pub struct ShootingBow {
    coarse: Mesh,
    fine: Mesh,
    /// Without an arrow; what sits on the tips is the chains' own.
    loading: Loading,
    offs: Offs,
    /// From brace to full draw, by the force curve, N·mm.
    pub stored_n_mm: f64,
    /// At full draw, by the force curve, N.
    pub draw_weight_n: f64,
    plan: ShotPlan,
    string_mm: f64,
}

/// The limbs by links of one length.
#[derive(Debug, Clone)]
struct Mesh {
    /// One limb that stands for both, or the upper and the lower one.
    chains: Vec<Chain>,
    /// Masses at the nodes of each lamination alone, by limb: what lighter ones take off.
    by_lamination: Vec<Vec<Vec<f64>>>,
    at_rest: AtRest,
}

/// How far pivot and nocking point lie above the middle, mm; nothing where the limbs are alike.
#[derive(Debug, Clone, Copy, Default)]
struct Offs {
    pivot_mm: f64,
    nocking_mm: f64,
}

/// A part of the bow that may be lighter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lighter {
    /// Each tip, by this much, kg.
    Tips { kg: f64 },
    /// The string, by so many strands.
    Strands { count: u32 },
    /// This lamination of a limb at the same stiffness, by this ratio of its mass; limb 0 is the upper one, or both where they are alike.
    Lamination { limb: usize, index: usize, fraction: f64 },
}

impl ShootingBow {
    /// Of a build as its force curve has it; a fault where the string touches the limb.
    pub fn of(build: &Build, options: &Options, curve: &DrawCurve) -> Result<ShootingBow, Diagnostic> {
        ShootingBow::of_links(build, options, curve, LINKS)
    }

    /// The same with chains of so many links; the second has twice as many as the first.
    pub fn of_links(build: &Build, options: &Options, curve: &DrawCurve, links: [usize; 2]) -> Result<ShootingBow, Diagnostic> {
        free(curve)?;
        let bow = Bow::of(build, options)?;
        let loading = Loading {
            string: bowstring(&build.shot, curve.string_mm),
            tip_mass: 0.0,
            arrow_mass: 0.0,
            brace_x_mm: curve.grip_depth_mm + curve.at_brace().pivot_to_nock_mm,
            full_x_mm: curve.grip_depth_mm + curve.at_full_draw().pivot_to_nock_mm,
        };
        let mesh = |links: usize| Mesh::lay(&[&bow], 0.0, links, &loading, Offs::default());
        Ok(ShootingBow {
            coarse: mesh(links[0])?,
            fine: mesh(links[1])?,
            loading,
            offs: Offs::default(),
            stored_n_mm: curve.energy.work_n_mm,
            draw_weight_n: curve.at_full_draw().force_n,
            plan: build.shot.clone(),
            string_mm: curve.string_mm,
        })
    }

    /// Of an upper and a lower limb as their force curve has them; that curve refuses where the string touches one.
    pub fn of_two(limbs: [&Build; 2], options: &PairOptions, curve: &PairCurve) -> Result<ShootingBow, Diagnostic> {
        let lower_options = options.of_lower();
        let (upper, lower) = (Bow::of(limbs[0], &options.options)?, Bow::of(limbs[1], &lower_options)?);
        let full = &curve.points[curve.points.len() - 1];
        let plan = &limbs[0].shot;
        // The pair's lengths are counted from the pivot.
        let loading = Loading {
            string: bowstring(plan, curve.string_mm),
            tip_mass: 0.0,
            arrow_mass: 0.0,
            brace_x_mm: upper.brace_height_mm(&options.options)?,
            full_x_mm: full.pivot_to_nock_mm,
        };
        let offs = Offs { pivot_mm: options.pivot_above_mm, nocking_mm: options.nocking_above_mm };
        let mesh = |links: usize| Mesh::lay(&[&upper, &lower], curve.grip_depth_mm, links, &loading, offs);
        Ok(ShootingBow {
            coarse: mesh(LINKS[0])?,
            fine: mesh(LINKS[1])?,
            loading,
            offs,
            stored_n_mm: curve.energy.work_n_mm,
            draw_weight_n: full.force_n,
            plan: plan.clone(),
            string_mm: curve.string_mm,
        })
    }

    /// Without loss.
    pub fn shoot(&self, arrow_kg: f64) -> Result<Shot, Diagnostic> {
        self.shot([&self.coarse, &self.fine], &self.loading, arrow_kg)
    }

    /// The chains of fewer and of more links at full draw, with their own weight and work.
    #[must_use]
    pub fn at_rest(&self) -> [&AtRest; 2] {
        [&self.coarse.at_rest, &self.fine.at_rest]
    }

    fn shot(&self, meshes: [&Mesh; 2], loading: &Loading, arrow_kg: f64) -> Result<Shot, Diagnostic> {
        let shot = shot_of_chains(meshes, loading, arrow_kg)?;
        let speed_mm_s = (2.0 * shot.efficiency * self.stored_n_mm / (PER_KG * arrow_kg)).sqrt();
        Ok(Shot { speed_mm_s, work_n_mm: self.stored_n_mm, force_n: self.draw_weight_n, ..shot })
    }

    /// What may be lighter, by usual amounts: each tip by so much, the string by so many strands, every lamination by a part of it.
    #[must_use]
    pub fn parts(&self, tip_kg: f64, strands: u32, fraction: f64) -> Vec<Lighter> {
        let mut parts = vec![Lighter::Tips { kg: tip_kg }];
        if strands < self.plan.strands {
            parts.push(Lighter::Strands { count: strands });
        }
        for (limb, laminations) in self.fine.by_lamination.iter().enumerate() {
            parts.extend((0..laminations.len()).map(|index| Lighter::Lamination { limb, index, fraction }));
        }
        parts
    }

    /// What an arrow so `shot` gains where a part is lighter, as a ratio of its speed.
    pub fn gain(&self, arrow_kg: f64, of: &Shot, lighter: Lighter) -> Result<f64, Diagnostic> {
        let mut meshes = [self.coarse.clone(), self.fine.clone()];
        let mut loading = self.loading;
        let base = of.speed_mm_s;
        // Tips are made heavier instead, so that nothing needs to be there to be taken.
        let heavier = match lighter {
            Lighter::Tips { kg } => {
                loading.tip_mass += PER_KG * kg;
                true
            }
            Lighter::Strands { count } => {
                let plan = ShotPlan { strands: self.plan.strands.saturating_sub(count).max(1), ..self.plan.clone() };
                loading.string = bowstring(&plan, self.string_mm);
                for mesh in &mut meshes {
                    mesh.at_rest = rest(&mesh.chains, &loading, self.offs)?;
                }
                false
            }
            Lighter::Lamination { limb, index, fraction } => {
                for mesh in &mut meshes {
                    let own = &mesh.by_lamination[limb][index];
                    mesh.chains[limb].masses.iter_mut().zip(own).for_each(|(mass, own)| *mass -= fraction * own);
                }
                false
            }
        };
        let other = self.shot([&meshes[0], &meshes[1]], &loading, arrow_kg)?.speed_mm_s;
        Ok(if heavier { base / other - 1.0 } else { other / base - 1.0 })
    }

    /// Mass of the whole string with its serving, kg.
    #[must_use]
    pub fn string_kg(&self) -> f64 {
        self.plan.served_string_kg(self.string_mm)
    }
}

impl Mesh {
    /// The limbs of these bows as chains whose `x` is counted from `pivot_x_mm`.
    fn lay(bows: &[&Bow<'_>], pivot_x_mm: f64, links: usize, loading: &Loading, offs: Offs) -> Result<Mesh, Diagnostic> {
        let mut chains = Vec::new();
        let mut by_lamination = Vec::new();
        for bow in bows {
            let (build, stack) = (bow.stack.build(), &bow.stack);
            let (from, nock, end) = (root_station(&bow.limb), stack.outline().nock_mm(), stack.outline().end_mm());
            let mut chain = chain(bow, links);
            chain.root.x_mm -= pivot_x_mm;
            // The tip moves with the nock, and so does what sits on it.
            put_on_tip(&mut chain.masses, PER_KG * (mass::between_kg(stack, nock, end) + build.shot.tip_kg));
            chains.push(chain);
            let of = |index: usize| {
                let kg = |a: f64, b: f64| PER_KG * mass::lamination_kg(stack, index, a, b);
                let mut masses = node_masses([from, nock], links, kg);
                put_on_tip(&mut masses, kg(nock, end));
                masses
            };
            by_lamination.push((0..build.laminations.len()).map(of).collect());
        }
        let at_rest = rest(&chains, loading, offs)?;
        Ok(Mesh { chains, by_lamination, at_rest })
    }
}

fn rest(chains: &[Chain], loading: &Loading, offs: Offs) -> Result<AtRest, Diagnostic> {
    match chains {
        [upper, lower] => AtRest::of_two([upper, lower], loading, offs.pivot_mm, offs.nocking_mm),
        chains => AtRest::of(&chains[0], loading),
    }
    .map_err(fault)
}

fn put_on_tip(masses: &mut [f64], more: f64) {
    if let Some(tip) = masses.last_mut() {
        *tip += more;
    }
}

fn bowstring(plan: &ShotPlan, string_mm: f64) -> BowString {
    BowString {
        stiffness_n: plan.stiffness_n(),
        half_mass: 0.5 * PER_KG * plan.string_kg(string_mm),
        serving_mass: PER_KG * plan.serving_kg,
    }
}

fn shot_of_chains(meshes: [&Mesh; 2], loading: &Loading, arrow_kg: f64) -> Result<Shot, Diagnostic> {
    let loading = Loading { arrow_mass: PER_KG * arrow_kg, ..*loading };
    let of = |mesh: &Mesh| mesh.at_rest.shoot(&mesh.chains, &loading).map_err(fault);
    let (coarse, fine) = (of(meshes[0])?, of(meshes[1])?);
    Ok(extrapolated(&coarse, &fine, loading.arrow_mass))
}

/// A bow whose string lies on the limb anywhere on the way gets no speed.
fn free(curve: &DrawCurve) -> Result<(), Diagnostic> {
    let Some(last) = curve.points.iter().rev().find(|point| 0.0 < point.touched_mm) else { return Ok(()) };
    let message = message!(
        "no speed is given: the string lies on the limb, {} of it at brace, and comes off at a draw of about {}",
        mm(curve.at_brace().touched_mm),
        mm(last.draw_length_mm)
    );
    Err(touching(message))
}

fn touching(message: Message) -> Diagnostic {
    Diagnostic::fault(Place::new("target.brace_height"), message).hint(
        "how a string slaps back onto a recurved limb is not modelled; force, energy and strain are those of `taperwright bow`",
    )
}

fn fault(fault: ShotFault) -> Diagnostic {
    let message = match fault {
        ShotFault::NoStatics { residual } => {
            message!("the chain of links could not be drawn (residual {})", format_args!("{residual:.1e}"))
        }
        ShotFault::NeverLeaves { steps, nock_x_mm } => {
            message!("the arrow has not left after {} steps, the nocking point at {}", steps, mm(nock_x_mm))
        }
        ShotFault::Touches { nock_x_mm } => {
            return touching(message!(
                "no speed is given: in the shot the string would come to lie on the limb, its nocking point {} from the back of the grip",
                mm(nock_x_mm)
            ));
        }
        ShotFault::Energy { error } => {
            message!("energy went astray in the shot, {} of the work: a defect of this program", format_args!("{error:.1e}"))
        }
    };
    Diagnostic::fault(Place::whole_file(), message).hint("please report this build; no speed of it can be given")
}

/// The outermost station inside which the limb is as good as stiff, mm.
fn root_station(limb: &Limb) -> f64 {
    let nock = limb.length_mm;
    let turn = |pair: &[crate::mechanics::limb::LimbStation]| {
        let at = |k: usize| (nock - pair[k].s_mm) / pair[k].beam.stiffness_n_mm2;
        0.5 * (pair[1].s_mm - pair[0].s_mm) * (at(0) + at(1))
    };
    let whole: f64 = limb.stations.windows(2).map(turn).sum();
    let mut sum = 0.0;
    let mut root = 0.0;
    for pair in limb.stations.windows(2) {
        sum += turn(pair);
        if STIFF * whole < sum {
            break;
        }
        root = pair[1].s_mm;
    }
    root
}

/// Half of both neighbours' mass at each node, root to nock.
fn node_masses([from, to]: [f64; 2], links: usize, mass: impl Fn(f64, f64) -> f64) -> Vec<f64> {
    let root = LimbRoot { x_mm: 0.0, y_mm: 0.0, angle_rad: 0.0 };
    Chain::lay(root, [from, to], links, |_, _| LimbStretch { compliance: 1.0, bend_rad: 0.0 }, mass).masses
}

fn chain(bow: &Bow<'_>, links: usize) -> Chain {
    let limb = &bow.limb;
    let from = root_station(limb);
    let nock = bow.stack.outline().nock_mm();
    // Unbent, in the bow's frame: the root's place, and its neutral axis' depth at the links' ends.
    let free_angle = limb.root.angle_rad - limb.pass(0.0, 0.0).end.psi;
    let trace = limb.trace(0.0, free_angle);
    let end = limb.pass(0.0, free_angle).end;
    let at = limb.stations.iter().position(|station| (station.s_mm - from).abs() < 1e-9).unwrap_or(0);
    let place = limb.frame(end)(trace.at[at].q_mm, trace.at[at].p_mm);
    let root = LimbRoot { x_mm: place.x, y_mm: place.y, angle_rad: trace.at[at].psi_rad + limb.root.angle_rad - end.psi };
    let bending = |a: f64, b: f64| {
        // The root's spring holds the stiff part too.
        let a = if a <= from { 0.0 } else { a };
        let (compliance, bend_rad) = limb.between(a, b);
        let bend_rad = if a <= 0.0 { limb.between(from, b).1 } else { bend_rad };
        LimbStretch { compliance, bend_rad }
    };
    let mut chain = Chain::lay(root, [from, nock], links, bending, |a, b| PER_KG * mass::between_kg(&bow.stack, a, b));
    // A link runs along the neutral axis, which leans on the limb where it changes depth.
    let depth = |s: f64, inside: f64| bow.stack.properties(inside, s).neutral_mm;
    let lean: Vec<f64> = (0..links)
        .map(|k| {
            let (a, b) = (from + k as f64 * chain.link_mm, from + (k as f64 + 1.0) * chain.link_mm);
            ((depth(b, b - 1e-6) - depth(a, a + 1e-6)) / chain.link_mm).atan()
        })
        .collect();
    for k in 0..links {
        chain.free[k] += lean[k] - if 0 < k { lean[k - 1] } else { 0.0 };
    }
    chain
}
