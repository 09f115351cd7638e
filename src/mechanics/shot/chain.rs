//! The limb as a chain, and how it stands at rest under an elastic string.
//!
//! Statics as in [`crate::mechanics::limb`], link by link from the nock: with tension `T` and nock angle `α` the moment at each joint is `T` times its
//! distance from the string's line, the joint bends by `T p_i/k_i`, and one pass gives root and derivatives. `ℓ = ℓ0 (1 + T/U)`.

use super::{BowString, ShotFault};
use crate::mechanics::limb::{Ends, LimbPass, LimbRoot};
use crate::mechanics::strung;
use crate::numeric::root;

/// One limb, from its root to the nock.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    pub root: LimbRoot,
    pub link_mm: f64,
    /// Of the joints, the root's first, N·mm/rad.
    pub springs: Vec<f64>,
    /// Bend of the joints where nothing pulls, rad.
    pub free: Vec<f64>,
    /// At the outer end of each link, N·s²/mm.
    pub masses: Vec<f64>,
}

/// What a stretch of limb is to bending.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbStretch {
    /// ∫ ds/EI, 1/(N·mm)
    pub compliance: f64,
    /// ∫ κ0 ds, rad
    pub bend_rad: f64,
}

impl Chain {
    /// The limb between two stations as `links` links: `bending` and `mass` (N·s²/mm) of the stretch between two stations.
    #[must_use]
    pub fn lay(
        root: LimbRoot,
        [from_mm, to_mm]: [f64; 2],
        links: usize,
        bending: impl Fn(f64, f64) -> LimbStretch,
        mass: impl Fn(f64, f64) -> f64,
    ) -> Chain {
        let link_mm = (to_mm - from_mm) / links as f64;
        let at = |k: f64| from_mm + k * link_mm;
        let joints: Vec<LimbStretch> = (0..links).map(|k| bending(at((k as f64 - 0.5).max(0.0)), at(k as f64 + 0.5))).collect();
        let whole: Vec<f64> = (0..links).map(|k| mass(at(k as f64), at(k as f64 + 1.0))).collect();
        let masses = (0..links).map(|k| 0.5 * (whole[k] + whole.get(k + 1).copied().unwrap_or(0.0))).collect();
        Chain {
            root,
            link_mm,
            springs: joints.iter().map(|joint| 1.0 / joint.compliance).collect(),
            free: joints.iter().map(|joint| joint.bend_rad).collect(),
            masses,
        }
    }

    /// One pass from the nock to the root; `each` is told every link's angle in the string's frame, from the nock in.
    fn walk(&self, tension: f64, angle: f64, mut each: impl FnMut(f64)) -> LimbPass {
        let mut at = Ends { q: 0.0, p: 0.0, psi: angle };
        let mut by_tension = Ends { q: 0.0, p: 0.0, psi: 0.0 };
        let mut by_angle = Ends { q: 0.0, p: 0.0, psi: 1.0 };
        for (spring, free) in self.springs.iter().zip(&self.free).rev() {
            each(at.psi);
            let (sin, cos) = at.psi.sin_cos();
            let (along, across) = (self.link_mm * cos, self.link_mm * sin);
            at.q += along;
            at.p += across;
            for by in [&mut by_tension, &mut by_angle] {
                by.q -= across * by.psi;
                by.p += along * by.psi;
            }
            at.psi -= free + tension * at.p / spring;
            by_tension.psi -= (at.p + tension * by_tension.p) / spring;
            by_angle.psi -= tension * by_angle.p / spring;
        }
        LimbPass { end: at, by_tension, by_angle }
    }

    fn pass(&self, tension: f64, angle: f64) -> LimbPass {
        self.walk(tension, angle, |_| {})
    }

    /// Angles of the links in the bow's frame, root to nock, rad.
    fn angles(&self, tension: f64, angle: f64) -> Vec<f64> {
        let mut angles = Vec::with_capacity(self.springs.len());
        let pass = self.walk(tension, angle, |psi| angles.push(psi));
        let string = pass.end.psi - self.root.angle_rad;
        angles.iter_mut().for_each(|angle| *angle -= string);
        angles.reverse();
        angles
    }

    /// Energy in the springs, N·mm.
    pub(super) fn spring_energy_n_mm(&self, angles: &[f64]) -> f64 {
        let mut before = self.root.angle_rad;
        let mut sum = 0.0;
        for ((angle, spring), free) in angles.iter().zip(&self.springs).zip(&self.free) {
            sum += 0.5 * spring * (angle - before - free).powi(2);
            before = *angle;
        }
        sum
    }

    pub(super) fn length_mm(&self) -> f64 {
        self.link_mm * self.springs.len() as f64
    }

    /// A tension to scale by: that of a limb bent to one radian by a string a third of its length off the root.
    fn scale(&self) -> f64 {
        let compliance: f64 = self.springs.iter().map(|spring| 1.0 / spring).sum();
        3.0 / (compliance * self.length_mm())
    }
}

/// A chain at rest under its string.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldEnd {
    pub tension_n: f64,
    pub nock_angle_rad: f64,
    /// Half the string as it is stretched, mm.
    pub half_mm: f64,
    /// On the nocking point, of both limbs, N; nothing at brace.
    pub force_n: f64,
}

impl HeldEnd {
    /// Of the links in the bow's frame, root to nock, rad.
    #[must_use]
    pub fn angles(&self, chain: &Chain) -> Vec<f64> {
        chain.angles(self.tension_n, self.nock_angle_rad)
    }

    /// Of one limb and its half of the string, N·mm.
    pub(super) fn energy_n_mm(&self, chain: &Chain, string: BowString, natural_mm: f64) -> f64 {
        let strain = self.tension_n / string.stiffness_n;
        chain.spring_energy_n_mm(&self.angles(chain)) + 0.5 * string.stiffness_n * strain * strain * natural_mm
    }
}

fn solved<const N: usize>(f: impl FnMut(&[f64; N]) -> ([f64; N], [[f64; N]; N]), start: [f64; N]) -> Result<[f64; N], ShotFault> {
    let found = root::newton(f, start, TOLERANCE, MAX_NEWTON);
    found.map(|found| found.x).map_err(|fault| ShotFault::NoStatics { residual: fault.residual })
}

/// Residuals over the limb's length, and in radians, to which states at rest are solved.
const TOLERANCE: f64 = 1e-12;
const MAX_NEWTON: usize = 80;
/// Stages in which a draw is walked, each guessed from the one before.
const DRAW_STAGES: u32 = 8;

/// The chain braced with its string at `string_x_mm`.
pub fn brace(chain: &Chain, string_x_mm: f64) -> Result<HeldEnd, ShotFault> {
    let (scale, l) = (chain.scale(), chain.length_mm());
    let residuals = |v: &[f64; 2]| {
        let pass = chain.pass(v[0] * scale, v[1]);
        let (t, a) = (pass.by_tension, pass.by_angle);
        (
            [pass.end.psi - chain.root.angle_rad, (chain.root.x_mm + pass.end.p - string_x_mm) / l],
            [[t.psi * scale, a.psi], [t.p * scale / l, a.p / l]],
        )
    };
    // From a nearly straight string: the nock where the unbent limb has it, bent on by what the string stands off.
    let free: f64 = chain.root.angle_rad + chain.free.iter().sum::<f64>();
    let mut last = ShotFault::NoStatics { residual: f64::NAN };
    for (pull, turn) in [(0.6, 1.3), (0.4, 1.0), (0.8, 1.6), (1.0, 0.7), (0.3, 2.0)] {
        match solved(residuals, [pull, free + turn * (string_x_mm - chain.root.x_mm) / l]) {
            // A string that would run through the last link lies on the limb.
            Ok(x) if 0.0 < x[0] && -0.5 < x[1] && x[1] <= 0.0 => return Err(ShotFault::Touches { nock_x_mm: string_x_mm }),
            Ok(x) if 0.0 < x[0] && 0.0 < x[1] => {
                let pass = chain.pass(x[0] * scale, x[1]);
                return Ok(HeldEnd {
                    tension_n: x[0] * scale,
                    nock_angle_rad: x[1],
                    half_mm: chain.root.frame(pass.end)(0.0, 0.0).y,
                    force_n: 0.0,
                });
            }
            Ok(_) => {}
            Err(fault) => last = fault,
        }
    }
    Err(last)
}

/// Nocking point, its derivatives to tension and nock angle, and the pass, for a string of natural length `natural`.
fn nock(chain: &Chain, stiffness: f64, natural: f64, tension: f64, angle: f64) -> ([f64; 2], [f64; 2], [f64; 2], LimbPass) {
    let pass = chain.pass(tension, angle);
    let half = natural * (1.0 + tension / stiffness);
    let (place, by_t, by_a) = strung::nocking_point(&chain.root, half, &pass);
    let (sin, cos) = (pass.end.psi - chain.root.angle_rad).sin_cos();
    let stretch = natural / stiffness;
    (place, [by_t[0] + stretch * sin, by_t[1] - stretch * cos], by_a, pass)
}

/// The chain held with its nocking point at `nock_x_mm`, from brace.
pub fn hold(chain: &Chain, stiffness_n: f64, natural_mm: f64, nock_x_mm: f64, braced: &HeldEnd) -> Result<HeldEnd, ShotFault> {
    let (scale, l) = (chain.scale(), chain.length_mm());
    let brace_x = nock(chain, stiffness_n, natural_mm, braced.tension_n, braced.nock_angle_rad).0[0];
    let mut v = [braced.tension_n / scale, braced.nock_angle_rad];
    for stage in 1..=DRAW_STAGES {
        let x = brace_x + (nock_x_mm - brace_x) * f64::from(stage) / f64::from(DRAW_STAGES);
        v = solved(
            |v: &[f64; 2]| {
                let (place, t, a, _) = nock(chain, stiffness_n, natural_mm, v[0] * scale, v[1]);
                ([(place[0] - x) / l, place[1] / l], [[t[0] * scale / l, a[0] / l], [t[1] * scale / l, a[1] / l]])
            },
            v,
        )?;
    }
    let (tension_n, nock_angle_rad) = (v[0] * scale, v[1]);
    let pass = chain.pass(tension_n, nock_angle_rad);
    let force_n = 2.0 * tension_n * (pass.end.psi - chain.root.angle_rad).sin();
    Ok(HeldEnd { tension_n, nock_angle_rad, half_mm: natural_mm * (1.0 + tension_n / stiffness_n), force_n })
}

/// Two chains on one string, at rest: [`crate::mechanics::pair`] link by link.
pub(super) struct PairStatics<'a> {
    pub chains: [&'a Chain; 2],
    pub stiffness_n: f64,
    /// The pivot lies this far above the middle of the bow, and the nocking point this far above its foot on the braced string, mm.
    pub pivot_above_mm: f64,
    pub nocking_above_mm: f64,
}

impl PairStatics<'_> {
    /// Braced with the string square to the bow's axis at `string_x_mm`: both states, and both halves' natural lengths, mm.
    pub fn brace(&self, string_x_mm: f64) -> Result<([HeldEnd; 2], [f64; 2]), ShotFault> {
        let each = [brace(self.chains[0], string_x_mm)?, brace(self.chains[1], string_x_mm)?];
        let scale = self.chains[0].scale();
        let l = self.chains[0].length_mm();
        // One tension, one straight line: the string's angle at the one limb is the other's with the other sign. It stands off the pivot by
        // the same at both.
        let start = [0.5 * (each[0].tension_n + each[1].tension_n) / scale, each[0].nock_angle_rad, each[1].nock_angle_rad];
        let stands = |side: usize, pass: &LimbPass| {
            let chain = self.chains[side];
            let beta = pass.end.psi - chain.root.angle_rad;
            let above = if side == 0 { self.pivot_above_mm } else { -self.pivot_above_mm };
            // Of the pivot's foot at x = 0: from the string's line, and from the nock along it.
            let (dx, dy) = (-chain.root.x_mm, above - chain.root.y_mm);
            let off = pass.end.p - dx * beta.cos() - dy * beta.sin();
            let along = pass.end.q + dx * beta.sin() - dy * beta.cos();
            (beta, off, along)
        };
        let residual = |v: &[f64; 3]| {
            let up = stands(0, &self.chains[0].pass(v[0] * scale, v[1]));
            let low = stands(1, &self.chains[1].pass(v[0] * scale, v[2]));
            [up.0 + low.0, (up.1 - string_x_mm) / l, (low.1 - string_x_mm) / l]
        };
        let v = solved(|v: &[f64; 3]| (residual(v), differences(&residual, v)), start)?;
        let tension_n = v[0] * scale;
        let states = [0, 1].map(|side| {
            let nock_angle_rad = v[1 + side];
            let along = stands(side, &self.chains[side].pass(tension_n, nock_angle_rad)).2;
            let half_mm = if side == 0 { along - self.nocking_above_mm } else { along + self.nocking_above_mm };
            HeldEnd { tension_n, nock_angle_rad, half_mm, force_n: 0.0 }
        });
        Ok((states, states.map(|held| held.half_mm / (1.0 + tension_n / self.stiffness_n))))
    }

    /// Held with the nocking point `full_x_mm` from the pivot's foot: both states, the nocking point, and the force along that line, N.
    pub fn hold(
        &self,
        naturals: [f64; 2],
        full_x_mm: f64,
        braced: &[HeldEnd; 2],
    ) -> Result<([HeldEnd; 2], [f64; 2], f64), ShotFault> {
        let scale = self.chains[0].scale();
        let l = self.chains[0].length_mm();
        let place = |v: &[f64; 4]| {
            let of =
                |side: usize| nock(self.chains[side], self.stiffness_n, naturals[side], v[2 * side] * scale, v[2 * side + 1]);
            let (up, low) = (of(0), of(1));
            let beta = |side: usize, pass: &LimbPass| pass.end.psi - self.chains[side].root.angle_rad;
            let ((su, cu), (sl, cl)) = (beta(0, &up.3).sin_cos(), beta(1, &low.3).sin_cos());
            let (tu, tl) = (v[0] * scale, v[2] * scale);
            (up.0, low.0, [tu * su + tl * sl, -tu * cu + tl * cl])
        };
        let mut v =
            [braced[0].tension_n / scale, braced[0].nock_angle_rad, braced[1].tension_n / scale, braced[1].nock_angle_rad];
        let from = (place(&v).0[0]).hypot(place(&v).0[1] - self.pivot_above_mm);
        for stage in 1..=DRAW_STAGES {
            let draw = from + (full_x_mm - from) * f64::from(stage) / f64::from(DRAW_STAGES);
            let residual = |v: &[f64; 4]| {
                let (up, low, force) = place(v);
                let arm = [up[0], up[1] - self.pivot_above_mm];
                [
                    (up[0] - low[0]) / l,
                    (up[1] + low[1]) / l,
                    (arm[0].hypot(arm[1]) - draw) / l,
                    (arm[0] * force[1] - arm[1] * force[0]) / (scale * l),
                ]
            };
            v = solved(|v: &[f64; 4]| (residual(v), differences(&residual, v)), v)?;
        }
        let (up, _, force) = place(&v);
        let arm = [up[0], up[1] - self.pivot_above_mm];
        let force_n = (force[0] * arm[0] + force[1] * arm[1]) / arm[0].hypot(arm[1]);
        let states = [0, 1].map(|side| {
            let tension_n = v[2 * side] * scale;
            let half_mm = naturals[side] * (1.0 + tension_n / self.stiffness_n);
            HeldEnd { tension_n, nock_angle_rad: v[2 * side + 1], half_mm, force_n }
        });
        Ok((states, up, force_n))
    }
}

/// A Jacobian by central differences: good to nine digits, and Newton's method makes up for the rest.
fn differences<const N: usize>(f: &impl Fn(&[f64; N]) -> [f64; N], v: &[f64; N]) -> [[f64; N]; N] {
    const H: f64 = 1e-6;
    let mut jacobian = [[0.0; N]; N];
    for column in 0..N {
        let (mut more, mut less) = (*v, *v);
        more[column] += H;
        less[column] -= H;
        let (more, less) = (f(&more), f(&less));
        for row in 0..N {
            jacobian[row][column] = (more[row] - less[row]) / (2.0 * H);
        }
    }
    jacobian
}
