//! How fast does the arrow leave, and where does the rest of the energy stay?
//!
//! # Frame and model
//!
//! The side frame: `y` along the bow, `x` from the back of the grip toward the archer. Each limb is a chain of `n` stiff links of length `h`
//! with springs in the joints and masses at the nodes; the string is straight, elastic, with mass; the arrow is pushed straight.
//!
//! ```text
//!      θ_n ╲                        θ_i   angle of link i from +y toward +x
//!    node n ● tip, overlay, loop    Δ_i   = θ_i − θ_{i−1} − free bend of joint i
//!         ╱  ╲   string, T          k_i   spring of joint i: one over the compliance ∫ ds/EI of half a link to either side
//!        ●     ╲                    m_j   half of both neighbours' mass; the last: half a link, all beyond the nock, a third of
//!        │       ╲                        half the string
//!   root ●        ● b  ──► arrow    b     nocking point, with half an arrow and a third of half the string
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `u`, `ℓ` | direction from the nock to the nocking point, and the distance | –, mm |
//! | `ℓ0`, `U` | half the string without tension, its tension per unit of strain | mm, N |
//! | `A`, `η`, `K` | work drawn in, efficiency, virtual mass | N·mm, –, N·s²/mm |
//!
//! Masses are in N·s²/mm (a thousand kilograms), so that forces over masses are mm/s².
//!
//! # Derivation
//!
//! Lagrange's equations of that chain,
//!
//! ```text
//!   Σ_k μ_max(i,k) h² cos(θ_i − θ_k) θ̈_k = −Σ_k μ_max(i,k) h² sin(θ_i − θ_k) θ̇_k² − k_i Δ_i + k_{i+1} Δ_{i+1} + T h (u_x cos θ_i − u_y sin θ_i)
//!   (m_a + m_s/3) b̈ = −T u_x                                  μ_i = Σ_{j ≥ i} m_j
//!   T = U (ℓ − ℓ0)/ℓ0, nothing when slack
//! ```
//!
//! are solved as what they are, points held at their distances: with the pull `λ_i` along link i the points' accelerations follow from
//! forces, and that every link keeps its length is a tridiagonal system for `λ` ([`motion`]). That is the dense system above to rounding, for `n` in place of `n³`.
//!
//! Start: the chain's own static full draw ([`chain`]), at rest. The arrow leaves when the string no longer pushes it (`T u_x` comes to
//! nothing). `η = m v²/2A`, `K = m (1/η − 1)`. Energy at the end against the start is checked in every shot, to 1e-6 of `A`: a shot that misses it is
//! taken in half the steps, and [`ShotFault`] where that does not help.
//!
//! **Two different limbs** are two chains on one string; the nocking point moves in x and y with the whole arrow's mass.
//!
//! # Order and tests
//!
//! Classic fourth-order Runge–Kutta in time, the step bound by the stiffest link ([`motion`]); second order in `h`, so that shots with 10 and with 20 links,
//! extrapolated, are good to about 1e-4 of `η`. `tests/shot.rs`: a published bow (from memory), order of convergence, exact scaling, energy, equal limbs
//! against the symmetric bow, the dense equations above under SciPy's `solve_ivp`, and a second formulation there by differences of energy.
//!
//! Left out: damping (one loss for all, [`loss`]), air, the arrow's bending and its friction, the archer's hand, and a string that comes to lie on the limb:
//! for bows whose string touches, at rest or in the shot, there is no speed ([`of_bow`], [`ShotFault::Touches`]). The model knows no dry-fire.
//!
//! Source: the lumped limb after B. W. Kooi, "On the mechanics of the bow and arrow", J. Eng. Math. 15 (1981) 119–145, from memory; the chain, its
//! solution and the two-limbed bow derived here.

pub mod chain;
pub mod motion;
pub mod loss;
pub mod of_bow;
pub mod table;

use chain::{Chain, HeldEnd};
use motion::{Launch, MovingSide};

/// A string, by its halves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BowString {
    /// Tension per unit of strain, N.
    pub stiffness_n: f64,
    /// Of half the string, without what is served onto its middle, N·s²/mm.
    pub half_mass: f64,
    /// Served onto its middle, whole, N·s²/mm.
    pub serving_mass: f64,
}

/// What is shot and by what, beside the limbs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loading {
    pub string: BowString,
    /// On each tip beyond its own wood: overlay, nock, loop, N·s²/mm.
    pub tip_mass: f64,
    /// The whole arrow, N·s²/mm.
    pub arrow_mass: f64,
    /// Where the braced string stands, and the nocking point at full draw, from the frame's origin, mm.
    pub brace_x_mm: f64,
    pub full_x_mm: f64,
}

/// One shot of the whole bow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shot {
    /// At full draw, N.
    pub force_n: f64,
    /// Drawn in from brace to full draw, with what the string takes, N·mm.
    pub work_n_mm: f64,
    /// The arrow's energy over that work.
    pub efficiency: f64,
    pub speed_mm_s: f64,
    /// m (1/η − 1), N·s²/mm.
    pub virtual_mass: f64,
    pub brace_tension_n: f64,
    pub peak_tension_n: f64,
    pub duration_s: f64,
    /// Where the arrow leaves, mm.
    pub leaves_x_mm: f64,
    /// Energy at the end less that at the start, over the work.
    pub energy_error: f64,
    pub effort: ShotEffort,
}

/// What a shot cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ShotEffort {
    pub steps: usize,
    /// Solutions of a chain for its accelerations.
    pub solves: usize,
}

/// Why there is no shot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ShotFault {
    /// The chain's own static state was not found: residual over the limb's length.
    NoStatics { residual: f64 },
    /// The arrow had not left after so many steps, with the nocking point here, mm.
    NeverLeaves { steps: usize, nock_x_mm: f64 },
    /// The string comes to lie on a limb before the arrow leaves, the nocking point here, mm.
    Touches { nock_x_mm: f64 },
    /// Energy went astray by this fraction of the work.
    Energy { error: f64 },
}

/// Links of the two chains of an extrapolated shot.
pub const LINKS: [usize; 2] = [10, 20];
/// Bound on energy that goes astray, over the work.
pub const MAX_ENERGY_ERROR: f64 = 1e-6;
/// Times that the step is halved for it.
const MAX_STEP_HALVINGS: u32 = 4;

/// A bow braced and at full draw: what does not depend on the arrow. One limb that stands for both, or an upper and a lower one.
#[derive(Debug, Clone, PartialEq)]
pub struct AtRest {
    /// At full draw, by limb.
    pub full: Vec<HeldEnd>,
    /// Each limb's part of the string without tension, mm.
    pub naturals_mm: Vec<f64>,
    /// The nocking point at full draw, mm.
    pub nock: [f64; 2],
    /// At full draw, N.
    pub force_n: f64,
    /// Drawn in from brace to full draw, with what the string takes, N·mm.
    pub work_n_mm: f64,
    pub brace_tension_n: f64,
}

impl AtRest {
    /// Of a bow whose limbs are alike.
    pub fn of(chain: &Chain, loading: &Loading) -> Result<AtRest, ShotFault> {
        let string = loading.string;
        let braced = chain::brace(chain, loading.brace_x_mm)?;
        let natural_mm = braced.half_mm / (1.0 + braced.tension_n / string.stiffness_n);
        let full = chain::hold(chain, string.stiffness_n, natural_mm, loading.full_x_mm, &braced)?;
        let energy = |held: &HeldEnd| held.energy_n_mm(chain, string, natural_mm);
        Ok(AtRest {
            full: vec![full],
            naturals_mm: vec![natural_mm],
            nock: [loading.full_x_mm, 0.0],
            force_n: full.force_n,
            work_n_mm: 2.0 * (energy(&full) - energy(&braced)),
            brace_tension_n: braced.tension_n,
        })
    }

    /// Of two different limbs; the lower chain is reckoned in its mirror image. Both chains' `x` is counted from the pivot. The arrow is let go
    /// on the line from the pivot to the nocking point.
    pub fn of_two(
        chains: [&Chain; 2],
        loading: &Loading,
        pivot_above_mm: f64,
        nocking_above_mm: f64,
    ) -> Result<AtRest, ShotFault> {
        let string = loading.string;
        let pair = chain::PairStatics { chains, stiffness_n: string.stiffness_n, pivot_above_mm, nocking_above_mm };
        let (braced, naturals) = pair.brace(loading.brace_x_mm)?;
        let (full, nock, force_n) = pair.hold(naturals, loading.full_x_mm, &braced)?;
        let energy = |held: &[HeldEnd; 2]| -> f64 {
            held.iter().zip(chains).zip(naturals).map(|((held, chain), natural)| held.energy_n_mm(chain, string, natural)).sum()
        };
        Ok(AtRest {
            full: full.to_vec(),
            naturals_mm: naturals.to_vec(),
            nock,
            force_n,
            work_n_mm: energy(&full) - energy(&braced),
            brace_tension_n: braced[0].tension_n,
        })
    }

    /// One shot from here, by chains that bend as those did: their masses, and the arrow's, may be others.
    pub fn shoot(&self, chains: &[Chain], loading: &Loading) -> Result<Shot, ShotFault> {
        let string = loading.string;
        let sides: Vec<MovingSide<'_>> =
            chains.iter().zip(&self.naturals_mm).map(|(chain, natural)| MovingSide::of(chain, loading, *natural)).collect();
        let nock_mass = loading.arrow_mass + string.serving_mass + 2.0 * string.half_mass / 3.0;
        // One limb moves half of what is on the axis.
        let fraction = if sides.len() == 1 { 0.5 } else { 1.0 };
        self.fly(&Launch::new(sides, fraction * nock_mass), loading.arrow_mass)
    }

    fn fly(&self, launch: &Launch<'_>, arrow_mass: f64) -> Result<Shot, ShotFault> {
        let work_n_mm = self.work_n_mm;
        let mut effort = ShotEffort::default();
        let mut error = f64::INFINITY;
        for halving in 0..=MAX_STEP_HALVINGS {
            let flown = launch.fly(&self.full, self.nock, 0.5_f64.powi(halving as i32))?;
            effort = ShotEffort { steps: effort.steps + flown.steps, solves: effort.solves + flown.solves };
            if let Some(nock_x_mm) = flown.touches_x_mm {
                return Err(ShotFault::Touches { nock_x_mm });
            }
            error = launch.halves() * flown.energy_gained_n_mm / work_n_mm;
            if error.abs() <= MAX_ENERGY_ERROR {
                let efficiency = 0.5 * arrow_mass * flown.speed_mm_s.powi(2) / work_n_mm;
                return Ok(Shot {
                    force_n: self.force_n,
                    work_n_mm,
                    efficiency,
                    speed_mm_s: flown.speed_mm_s,
                    virtual_mass: arrow_mass * (1.0 / efficiency - 1.0),
                    brace_tension_n: self.brace_tension_n,
                    peak_tension_n: flown.peak_tension_n,
                    duration_s: flown.duration_s,
                    leaves_x_mm: flown.leaves_x_mm,
                    energy_error: error,
                    effort,
                });
            }
        }
        Err(ShotFault::Energy { error })
    }
}

/// Two shots, with so many links and twice as many, carried to links without end: the error falls with the square of their length.
#[must_use]
pub fn extrapolated(coarse: &Shot, fine: &Shot, arrow_mass: f64) -> Shot {
    let to = |value: fn(&Shot) -> f64| value(fine) + (value(fine) - value(coarse)) / 3.0;
    let efficiency = to(|shot| shot.efficiency);
    let work_n_mm = to(|shot| shot.work_n_mm);
    Shot {
        force_n: to(|shot| shot.force_n),
        work_n_mm,
        efficiency,
        speed_mm_s: (2.0 * efficiency * work_n_mm / arrow_mass).sqrt(),
        virtual_mass: arrow_mass * (1.0 / efficiency - 1.0),
        brace_tension_n: to(|shot| shot.brace_tension_n),
        peak_tension_n: to(|shot| shot.peak_tension_n),
        duration_s: to(|shot| shot.duration_s),
        leaves_x_mm: to(|shot| shot.leaves_x_mm),
        energy_error: fine.energy_error.abs().max(coarse.energy_error.abs()),
        effort: ShotEffort { steps: fine.effort.steps + coarse.effort.steps, solves: fine.effort.solves + coarse.effort.solves },
    }
}
