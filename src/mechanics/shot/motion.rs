//! The chain let go.
//!
//! Nodes `j` with masses `m_j`; link i has the direction `t_i = (sin θ_i, cos θ_i)` and turns with `n_i = (cos θ_i, −sin θ_i)`. The springs' torque on it,
//! `τ_i = −k_i Δ_i + k_{i+1} Δ_{i+1}`, is a pair of forces `± τ_i n_i/h` at its ends; the string pulls at the last node with `T u`. With the pull `λ_i` in link i
//!
//! ```text
//!   m_j a_j = f_j − λ_j t_j + λ_{j+1} t_{j+1}
//!   (a_j − a_{j−1}) · t_j = −h θ̇_j²                 the link keeps its length: tridiagonal in λ
//!   h θ̈_j = (a_j − a_{j−1}) · n_j
//! ```
//!
//! Steps: classic Runge–Kutta of fourth order, of length `0.55 √(m h²/k)` at the worst joint, which is `0.55 h² √(V/W)` for mass `V` and stiffness `W` per
//! length (0.7 is the bound of stability), and no more than a quarter over the frequency of the string between its end masses: longer and the check of
//! energy halves them, shorter ones only cost time. The string's peak
//! is that of a cubic through tension and its rate at both ends of a step: the string may swing from one end to the other of it.

use super::chain::{Chain, HeldEnd};
use super::{Loading, ShotFault};
use crate::numeric::heading::Heading;
use crate::numeric::root::bisect;

/// One limb with what moves at its tip.
#[derive(Debug, Clone, PartialEq)]
pub struct MovingSide<'a> {
    chain: &'a Chain,
    masses: Vec<f64>,
    /// One over each of them: a step asks for them a dozen times a link.
    per_mass: Vec<f64>,
    stiffness: f64,
    natural: f64,
}

impl<'a> MovingSide<'a> {
    pub fn of(chain: &'a Chain, loading: &Loading, natural_mm: f64) -> MovingSide<'a> {
        let mut masses = chain.masses.clone();
        if let Some(tip) = masses.last_mut() {
            *tip += loading.tip_mass + loading.string.half_mass / 3.0;
        }
        let per_mass = masses.iter().map(|mass| 1.0 / mass).collect();
        MovingSide { chain, masses, per_mass, stiffness: loading.string.stiffness_n, natural: natural_mm }
    }

    fn links(&self) -> usize {
        self.masses.len()
    }

    /// Tension, and direction from the nock to the nocking point, by the directions of the links.
    fn string(&self, along: impl Iterator<Item = [f64; 2]>, nock: [f64; 2]) -> (f64, [f64; 2]) {
        let root = self.chain.root;
        let (mut x, mut y) = (root.x_mm, root.y_mm);
        for [sin, cos] in along {
            x += self.chain.link_mm * sin;
            y += self.chain.link_mm * cos;
        }
        let (dx, dy) = (nock[0] - x, nock[1] - y);
        let length = dx.hypot(dy);
        let tension = (self.stiffness * (length - self.natural) / self.natural).max(0.0);
        (tension, [dx / length, dy / length])
    }

    /// Angular accelerations under the pull `T u` at the nock, into `out`; the links' directions are in `work`.
    fn accelerations(&self, angles: &[f64], rates: &[f64], pull: [f64; 2], work: &mut Scratch, out: &mut [f64]) {
        let (n, h) = (self.links(), self.chain.link_mm);
        let per_h = 1.0 / h;
        let (springs, free, per_mass) = (&self.chain.springs[..n], &self.chain.free[..n], &self.per_mass[..n]);
        let (angles, rates, out) = (&angles[..n], &rates[..n], &mut out[..n]);
        let links = &mut work.links[..n];
        let torque = |i: usize, before: f64| springs[i] * (angles[i] - before - free[i]);
        let mut own = torque(0, self.chain.root.angle_rad);
        for i in 0..n {
            let next = if i + 1 < n { torque(i + 1, angles[i]) } else { 0.0 };
            let couple = (next - own) * per_h;
            let [sin, cos] = links[i].along;
            links[i].force = [couple * cos, -couple * sin];
            own = next;
        }
        // Tridiagonal system for the pulls, by elimination from the root out: row j is −c λ_{j−1} + diagonal λ_j − c' λ_{j+1} = right.
        let dot = |a: [f64; 2], b: [f64; 2]| a[0] * b[0] + a[1] * b[1];
        let mut inner = Link::default();
        let mut inner_per_mass = 0.0;
        for j in 0..n {
            let outer = if j + 1 < n { links[j + 1].force } else { [-pull[0], -pull[1]] };
            let link = &mut links[j];
            // Force over mass at the node, without the links' pulls.
            link.pushed = [(link.force[0] - outer[0]) * per_mass[j], (link.force[1] - outer[1]) * per_mass[j]];
            let relative = [link.pushed[0] - inner.pushed[0], link.pushed[1] - inner.pushed[1]];
            link.coupling = dot(inner.along, link.along) * inner_per_mass;
            let fraction = link.coupling * inner.per_diagonal;
            link.right = dot(relative, link.along) + h * rates[j] * rates[j] + fraction * inner.right;
            link.per_diagonal = 1.0 / (per_mass[j] + inner_per_mass - fraction * link.coupling);
            (inner, inner_per_mass) = (*link, per_mass[j]);
        }
        let (mut pull, mut coupling) = (0.0, 0.0);
        for link in links.iter_mut().rev() {
            pull = (link.right + coupling * pull) * link.per_diagonal;
            (link.pull, coupling) = (pull, link.coupling);
        }
        let mut inner = [0.0; 2];
        for j in 0..n {
            let (next, toward) = if j + 1 < n { (links[j + 1].pull, links[j + 1].along) } else { (0.0, [0.0; 2]) };
            let Link { along: t, pushed, pull, .. } = links[j];
            let here: [f64; 2] = std::array::from_fn(|k| pushed[k] + (next * toward[k] - pull * t[k]) * per_mass[j]);
            out[j] = ((here[0] - inner[0]) * t[1] - (here[1] - inner[1]) * t[0]) * per_h;
            inner = here;
        }
    }

    /// Kinetic energy of the nodes, springs and string, N·mm.
    fn energy(&self, angles: &[f64], rates: &[f64], nock: [f64; 2]) -> f64 {
        let h = self.chain.link_mm;
        let mut velocity = [0.0; 2];
        let mut sum = self.chain.spring_energy_n_mm(angles);
        for ((angle, rate), mass) in angles.iter().zip(rates).zip(&self.masses) {
            let (sin, cos) = angle.sin_cos();
            velocity = [velocity[0] + h * rate * cos, velocity[1] - h * rate * sin];
            sum += 0.5 * mass * (velocity[0] * velocity[0] + velocity[1] * velocity[1]);
        }
        let tension = self.string(angles.iter().map(|angle| direction(*angle)), nock).0;
        sum + 0.5 * tension * tension / self.stiffness * self.natural
    }

    /// The longest step, s.
    fn step(&self, nock_mass: f64) -> f64 {
        let (h, n) = (self.chain.link_mm, self.links());
        let bending = (0..n)
            .map(|i| {
                let mass = if 0 < i { self.masses[i].min(self.masses[i - 1]) } else { self.masses[i] };
                (mass / self.chain.springs[i]).sqrt() * h
            })
            .fold(f64::INFINITY, f64::min);
        let tip = self.masses.last().copied().unwrap_or(nock_mass);
        let frequency = (self.stiffness / self.natural * (1.0 / tip + 1.0 / nock_mass)).sqrt();
        (BENDING * bending).min(STRING / frequency)
    }
}

/// Of a link by its angle: across the bow, and along it.
fn direction(angle: f64) -> [f64; 2] {
    let (sin, cos) = angle.sin_cos();
    [sin, cos]
}

/// Steps over the time a joint, and the string, take: see the module.
const BENDING: f64 = 0.55;
const STRING: f64 = 0.25;
/// Bound on steps: some hundred times what a limb of wood takes.
const MAX_STEPS: usize = 200_000;
/// Halvings of the last step, to the moment at which the arrow leaves: to a thousandth of a millionth of it, and nothing pushes the arrow there.
const HALVINGS: u32 = 30;

/// Room for one chain's solution.
#[derive(Debug, Clone)]
struct Scratch {
    /// Of the links where the step starts: within it they hardly turn.
    headings: Vec<Heading>,
    links: Vec<Link>,
    /// Of the string, and where it runs.
    tension: f64,
    toward: [f64; 2],
}

/// One link and the node at its outer end.
#[derive(Debug, Clone, Copy, Default)]
struct Link {
    along: [f64; 2],
    /// The springs' pair of forces on it.
    force: [f64; 2],
    pushed: [f64; 2],
    /// Of its row of the system for the pulls: what stands before the pull of the link farther in, one over the diagonal, and the right side.
    coupling: f64,
    per_diagonal: f64,
    right: f64,
    pull: f64,
}

impl Scratch {
    fn of(links: usize) -> Scratch {
        Scratch { headings: vec![Heading::of(0.0); links], links: vec![Link::default(); links], tension: 0.0, toward: [0.0; 2] }
    }
}

/// One limb with half an arrow on the bow's axis, or two limbs with a whole one.
#[derive(Debug, Clone, PartialEq)]
pub struct Launch<'a> {
    sides: Vec<MovingSide<'a>>,
    nock_mass: f64,
}

/// How a flight ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flown {
    pub speed_mm_s: f64,
    pub duration_s: f64,
    pub leaves_x_mm: f64,
    pub peak_tension_n: f64,
    /// Where a string first came to lie on the last link, the nocking point's place, mm; `None` where it kept off it.
    pub touches_x_mm: Option<f64>,
    /// Energy of what is reckoned, at the end less at the start, N·mm.
    pub energy_gained_n_mm: f64,
    pub steps: usize,
    pub solves: usize,
}

impl<'a> Launch<'a> {
    pub fn new(sides: Vec<MovingSide<'a>>, nock_mass: f64) -> Launch<'a> {
        Launch { sides, nock_mass }
    }

    /// How often what is reckoned stands in the bow.
    pub(super) fn halves(&self) -> f64 {
        if self.sides.len() == 1 { 2.0 } else { 1.0 }
    }

    fn unknowns(&self) -> usize {
        self.sides.iter().map(MovingSide::links).sum::<usize>() + 2
    }

    /// The nocking point as a side sees it: the second one in its mirror image.
    fn seen(side: usize, nock: [f64; 2]) -> [f64; 2] {
        [nock[0], if side == 0 { nock[1] } else { -nock[1] }]
    }

    /// Rates of the state `[places, rates]`, each `θ` of all sides, then x and y of the nocking point.
    fn slopes(&self, state: &[f64], work: &mut [Scratch], out: &mut [f64]) -> Pulled {
        let count = self.unknowns();
        let (places, rates) = state.split_at(count);
        out[..count].copy_from_slice(rates);
        let accelerations = &mut out[count..];
        let nock = [places[count - 2], places[count - 1]];
        let mut force = [0.0; 2];
        let mut at = 0;
        let mut pulled = Pulled { push: 0.0, touches: false };
        for (index, (side, work)) in self.sides.iter().zip(work).enumerate() {
            let own = at..at + side.links();
            for ((link, heading), angle) in work.links.iter_mut().zip(&work.headings).zip(&places[own.clone()]) {
                link.along = heading.sin_cos_at(*angle).into();
            }
            let (tension, u) = side.string(work.links.iter().map(|link| link.along), Self::seen(index, nock));
            pulled.touches |= work.links.last().is_some_and(|Link { along: [sin, cos], .. }| u[0] * cos - u[1] * sin <= 0.0);
            (work.tension, work.toward) = (tension, u);
            let pull = [tension * u[0], tension * u[1]];
            side.accelerations(&places[own.clone()], &rates[own.clone()], pull, work, &mut accelerations[own.clone()]);
            force[0] += pull[0];
            force[1] += if index == 0 { pull[1] } else { -pull[1] };
            at = own.end;
        }
        accelerations[count - 2] = -force[0] / self.nock_mass;
        // One limb has its mirror image beside it: the nocking point keeps to the axis.
        accelerations[count - 1] = if self.sides.len() == 1 { 0.0 } else { -force[1] / self.nock_mass };
        pulled.push = force[0];
        pulled
    }

    /// The links' directions at a state, from which its step starts.
    fn head(&self, state: &[f64], work: &mut [Scratch]) {
        let mut angles = state.iter();
        for heading in work.iter_mut().flat_map(|work| &mut work.headings) {
            *heading = Heading::of(angles.next().copied().unwrap_or(0.0));
        }
    }

    /// Tension of each side's string and its rate, N and N/s, at a state whose slopes were the last to be taken.
    fn tensions(&self, state: &[f64], work: &[Scratch]) -> [[f64; 2]; 2] {
        let count = self.unknowns();
        let rates = &state[count..];
        let mut tensions = [[0.0; 2]; 2];
        let mut at = 0;
        for (index, (side, work)) in self.sides.iter().zip(work).enumerate() {
            let own = at..at + side.links();
            at = own.end;
            let mut tip = [0.0; 2];
            for (Link { along: [sin, cos], .. }, rate) in work.links.iter().zip(&rates[own]) {
                tip[0] += side.chain.link_mm * cos * rate;
                tip[1] -= side.chain.link_mm * sin * rate;
            }
            let nock = Self::seen(index, [rates[count - 2], rates[count - 1]]);
            let longer = (nock[0] - tip[0]) * work.toward[0] + (nock[1] - tip[1]) * work.toward[1];
            let rate = if 0.0 < work.tension { side.stiffness / side.natural * longer } else { 0.0 };
            tensions[index] = [work.tension, rate];
        }
        tensions
    }

    fn energy(&self, state: &[f64]) -> f64 {
        let count = self.unknowns();
        let (places, rates) = state.split_at(count);
        let nock = [places[count - 2], places[count - 1]];
        let mut sum = 0.5 * self.nock_mass * (rates[count - 2].powi(2) + rates[count - 1].powi(2));
        let mut at = 0;
        for (index, side) in self.sides.iter().enumerate() {
            let own = at..at + side.links();
            sum += side.energy(&places[own.clone()], &rates[own.clone()], Self::seen(index, nock));
            at = own.end;
        }
        sum
    }

    /// From full draw at rest until the string no longer pushes; `shorter` is a factor on the steps.
    pub fn fly(&self, held: &[HeldEnd], nock: [f64; 2], shorter: f64) -> Result<Flown, ShotFault> {
        let count = self.unknowns();
        let mut state = Vec::with_capacity(2 * count);
        for (side, held) in self.sides.iter().zip(held) {
            state.extend(held.angles(side.chain));
        }
        state.extend(nock);
        state.resize(2 * count, 0.0);
        let mut runge = Stages::of(2 * count, self.sides.iter().map(MovingSide::links));
        // Each side's string has its share of what is on the axis.
        let nock_mass = self.nock_mass / self.sides.len() as f64;
        let step = shorter * self.sides.iter().map(|side| side.step(nock_mass)).fold(f64::INFINITY, f64::min);
        let start = self.energy(&state);
        let (mut time, mut peak) = (0.0, 0.0_f64);
        let mut touches_x_mm = None;
        runge.begin(self, &state);
        let mut tensions = self.tensions(&state, &runge.work);
        for steps in 1..=MAX_STEPS {
            runge.advance(self, &state, step);
            let pulled = runge.at_end(self);
            if 0.0 < pulled.push {
                let now = self.tensions(&runge.end, &runge.work);
                peak = peak.max(crest(&tensions, &now, step));
                tensions = now;
                runge.go_on(self, &mut state);
                if touches_x_mm.is_none() && pulled.touches {
                    touches_x_mm = Some(state[count - 2]);
                }
                time += step;
                continue;
            }
            // The arrow leaves within this step.
            let pushed = |after: f64| {
                runge.advance(self, &state, after);
                0.0 < runge.at_end(self).push
            };
            let to = bisect(pushed, 0.0, step, HALVINGS).fails;
            runge.advance(self, &state, to);
            runge.at_end(self);
            let end = &runge.end;
            peak = peak.max(crest(&tensions, &self.tensions(end, &runge.work), to));
            return Ok(Flown {
                speed_mm_s: end[2 * count - 2].hypot(end[2 * count - 1]),
                duration_s: time + to,
                leaves_x_mm: end[count - 2],
                peak_tension_n: peak,
                touches_x_mm,
                energy_gained_n_mm: self.energy(end) - start,
                steps,
                solves: runge.solves,
            });
        }
        Err(ShotFault::NeverLeaves { steps: MAX_STEPS, nock_x_mm: state[count - 2] })
    }
}

/// The greatest tension within a step, by the cubic through tension and rate at its ends.
fn crest(from: &[[f64; 2]; 2], to: &[[f64; 2]; 2], step: f64) -> f64 {
    let of = |from: [f64; 2], to: [f64; 2]| {
        let (rise, begins, ends) = (to[0] - from[0], step * from[1], step * to[1]);
        let (square, cube) = (3.0 * rise - 2.0 * begins - ends, begins + ends - 2.0 * rise);
        // begins + 2 square s + 3 cube s² = 0
        let root = (square * square - 3.0 * cube * begins).max(0.0).sqrt();
        let both = -(square + root.copysign(square));
        let level = [both / (3.0 * cube), begins / both].into_iter().filter(|s| (0.0..=1.0).contains(s));
        level.map(|s| from[0] + s * (begins + s * (square + s * cube))).fold(from[0].max(to[0]), f64::max)
    };
    of(from[0], to[0]).max(of(from[1], to[1]))
}

/// What a state pulls at.
#[derive(Debug, Clone, Copy)]
struct Pulled {
    /// On the arrow, N.
    push: f64,
    /// The string runs along a last link, or through it: it pulls it no more toward the archer.
    touches: bool,
}

/// Room for a step, and its end. The slopes at a step's end are those at the next one's start.
struct Stages {
    slopes: [Vec<f64>; 4],
    between: Vec<f64>,
    end: Vec<f64>,
    end_slopes: Vec<f64>,
    work: Vec<Scratch>,
    solves: usize,
}

impl Stages {
    fn of(size: usize, links: impl Iterator<Item = usize>) -> Stages {
        let empty = || vec![0.0; size];
        let slopes = std::array::from_fn(|_| empty());
        Stages { slopes, between: empty(), end: empty(), end_slopes: empty(), work: links.map(Scratch::of).collect(), solves: 0 }
    }

    /// The slopes at the first step's start.
    fn begin(&mut self, launch: &Launch<'_>, from: &[f64]) {
        self.solves += launch.sides.len();
        launch.head(from, &mut self.work);
        launch.slopes(from, &mut self.work, &mut self.slopes[0]);
    }

    /// One step into `end`, from where the first slopes belong to.
    fn advance(&mut self, launch: &Launch<'_>, from: &[f64], step: f64) {
        for (stage, fraction) in [(1, 0.5), (2, 0.5), (3, 1.0)] {
            let before = &self.slopes[stage - 1];
            for ((between, from), slope) in self.between.iter_mut().zip(from).zip(before) {
                *between = from + fraction * step * slope;
            }
            launch.slopes(&self.between, &mut self.work, &mut self.slopes[stage]);
            self.solves += launch.sides.len();
        }
        let [a, b, c, d] = &self.slopes;
        for (k, end) in self.end.iter_mut().enumerate() {
            *end = from[k] + step / 6.0 * (a[k] + 2.0 * (b[k] + c[k]) + d[k]);
        }
    }

    /// What the step's end pulls at.
    fn at_end(&mut self, launch: &Launch<'_>) -> Pulled {
        self.solves += launch.sides.len();
        launch.slopes(&self.end, &mut self.work, &mut self.end_slopes)
    }

    /// Makes the step's end the next one's start.
    fn go_on(&mut self, launch: &Launch<'_>, state: &mut [f64]) {
        state.copy_from_slice(&self.end);
        launch.head(state, &mut self.work);
        std::mem::swap(&mut self.slopes[0], &mut self.end_slopes);
    }
}
