//! The whole build, as it stands after the check of the build file.
//!
//! What holds for every [`Build`] (the check of the build file sees to it):
//!
//! * every number is finite, in mm, N, MPa, rad, s; lengths, thicknesses and widths are positive;
//! * there is at least one lamination; names are unique, fit for file names, and in order from back to belly;
//! * curves have increasing stations; every finished thickness is positive over the whole strip, overrun included;
//! * the riser, outline and target, where given, agree with each other in length;
//! * woods, papers and stages are resolved: no names are left to look up;
//! * every default that was used is listed in `assumed` with its reason.

use super::lamination::{Face, Lamination};
use super::limb::OneLimb;
use super::outline::Outline;
use super::overlay::Overlay;
use super::riser::Riser;
use super::string::ShotPlan;
use super::wood::Wood;
use super::workshop::{Glue, Sander, Shop, SledPlan};
use crate::diag::{Message, Place, newtons};
use crate::numeric::span::Span;
use crate::units::{System, fixed, limit, trim_zeros};

/// A bow, or a batch of laminations, ready to be worked on.
#[derive(Debug, Clone, PartialEq)]
pub struct Build {
    pub title: String,
    /// How numbers are written for this builder.
    pub units: System,
    /// It describes one limb alone; `None` for both limbs alike.
    pub limb: Option<OneLimb>,
    pub target: Option<Target>,
    pub outline: Option<Outline>,
    pub riser: Option<Riser>,
    /// Back to belly.
    pub laminations: Vec<Lamination>,
    /// On the tips, glued on last; at most one on each face.
    pub overlays: Vec<Overlay>,
    /// Wood moisture content in use, as a ratio (0.12 is twelve percent).
    pub moisture: f64,
    pub sizing: Option<Sizing>,
    /// Bows of other weights from the same form and outline, lightest first; none where the file names none.
    pub series: Vec<SeriesBow>,
    /// Finished bows of this builder, whose readings say how stiff the builder's wood and ways really are.
    pub calibration: Vec<FinishedBow>,
    /// What a log of finished bows said of all stiffness; it stands before what `calibration` says.
    pub learnt: Option<LearntStiffness>,
    pub glue: Glue,
    /// The string, and what else a shot moves and loses.
    pub shot: ShotPlan,
    pub sander: Option<Sander>,
    pub sled: Option<SledPlan>,
    pub shop: Shop,
    /// Defaults that stand in for what the build file does not say.
    pub assumed: Vec<Assumed>,
}

/// What the bow shall do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// N at full draw, the finished bow.
    pub draw_weight_n: f64,
    /// Draw length as the builder states it, mm.
    pub draw_length_mm: f64,
    /// From the pivot point to the nocking point at full draw, mm: the draw length less 1¾ in when it was given to the trade's standard.
    pub pivot_to_nock_mm: f64,
    /// From the pivot point to the braced string, mm.
    pub brace_height_mm: f64,
    /// The builder gave it in pounds, whatever the file's units are.
    pub in_pounds: bool,
    /// N kept in hand for sanding, finish and set.
    pub finishing_n: f64,
    /// How much farther from the string the upper limb shall stand than the lower, at the end of its fade at brace, mm.
    pub positive_tiller_mm: f64,
    /// From the back of the grip to its deepest point, the pivot point, mm; `None` for the whole depth of the stack there.
    pub grip_depth_mm: Option<f64>,
}

impl Target {
    /// What the stack draws as it comes off its last form, before finishing takes its part, N.
    pub fn stack_weight_n(&self) -> f64 {
        self.draw_weight_n + self.finishing_n
    }

    /// What finishing leaves of a stack that draws `stack_n`, N.
    pub fn finished_weight_n(&self, stack_n: f64) -> f64 {
        stack_n - self.finishing_n
    }
}

/// A bow that was built and weighed.
#[derive(Debug, Clone, PartialEq)]
pub struct FinishedBow {
    /// Its build file, as written: a path from the folder of the build file that names it.
    pub build_file: String,
    /// What it weighs at the draw length of its own target, N.
    pub weight_n: f64,
    /// What finishing took before it was weighed, N; `None` for what its own target keeps for it.
    pub finishing_n: Option<f64>,
    pub place: Place,
}

/// All stiffness over the handbook's, as a log told it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LearntStiffness {
    pub factor: f64,
    /// One standard deviation of the next bow's weight, as a fraction of it; `None` from a single bow.
    pub spread: Option<f64>,
    /// From how many bows.
    pub bows: u32,
}

/// Bows of one weight in a series.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeriesBow {
    /// N at full draw, the finished bow.
    pub draw_weight_n: f64,
    /// Given in pounds, whatever the file's units are.
    pub in_pounds: bool,
    pub count: u32,
}

impl SeriesBow {
    /// The weight as a build file has it, such as `45 lbf`.
    pub fn weight_in_file(&self, units: System) -> String {
        match (units, self.in_pounds) {
            (System::Millimetre, false) => format!("{} N", trim_zeros(&fixed(self.draw_weight_n, 2))),
            _ => format!("{} lbf", trim_zeros(&fixed(System::Inch.force(self.draw_weight_n), 3))),
        }
    }
}

/// Which laminations may change to reach the draw weight, and how.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sizing {
    /// Indices into [`Build::laminations`].
    pub change: Vec<usize>,
    pub how: SizingHow,
    /// How far they may; at most one for a lamination.
    pub limits: Vec<SizingLimit>,
}

/// How far one lamination may change.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SizingLimit {
    /// Index into [`Build::laminations`].
    pub lamination: usize,
    /// Finished thickness, nowhere in the bow less or more, mm.
    pub min_mm: Option<f64>,
    pub max_mm: Option<f64>,
    /// How far its taper may go, thinner by this much per unit of length; a negative one is thicker toward the tip.
    pub taper: Option<Span>,
    /// Its share of the dry stack where the limb starts to work, as a ratio.
    pub fraction: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SizingHow {
    #[default]
    Thickness,
    Taper,
    /// Thickness and taper, for as even a strain as straight tapers allow.
    Both,
}

/// A default that was used: the key as it would be written, its value as text, and why that value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Assumed {
    pub key: String,
    pub value: String,
    pub why: String,
}

/// How deep layers of these thicknesses are together, with a glue line between each two, mm; one of no thickness is not there and takes no line.
pub fn stacked_mm(thicknesses_mm: impl IntoIterator<Item = f64>, line_mm: f64) -> f64 {
    let there = thicknesses_mm.into_iter().filter(|thickness_mm| 0.0 < *thickness_mm);
    let (dry_mm, layers) = there.fold((0.0, 0_usize), |(sum, count), thickness_mm| (sum + thickness_mm, count + 1));
    dry_mm + line_mm * layers.saturating_sub(1) as f64
}

impl Build {
    /// What the builder's way of stating draws counts beyond the pivot point, mm.
    pub fn draws_beyond_pivot_mm(&self) -> f64 {
        self.target.map_or(0.0, |target| target.draw_length_mm - target.pivot_to_nock_mm)
    }

    /// A draw from the pivot point as the builder states draws, mm.
    pub fn stated_draw_mm(&self, pivot_to_nock_mm: f64) -> f64 {
        pivot_to_nock_mm + self.draws_beyond_pivot_mm()
    }

    /// Limbs that it describes: both, or one whose other limb is a different one.
    pub fn limbs(&self) -> u32 {
        if self.limb.is_some() { 1 } else { 2 }
    }

    /// Where a limb leaves the riser and may bend: the station of the riser's feather, 0 without a riser, mm.
    pub fn limb_from_mm(&self) -> f64 {
        self.riser.as_ref().map_or(0.0, Riser::feather_station_mm)
    }

    /// The station of a nock, mm; 0 for a batch of laminations.
    pub fn nock_mm(&self) -> f64 {
        self.outline.as_ref().map_or(0.0, Outline::nock_mm)
    }

    /// What a part is called where those of two different limbs lie together; its name alone where both are alike.
    pub fn part_name(&self, name: &str) -> String {
        self.limb.as_ref().map_or_else(|| name.to_owned(), |limb| limb.part_name(name))
    }

    /// What holds for all limbs that it describes.
    pub fn whole_words(&self) -> &'static str {
        if self.limb.is_some() { "this limb" } else { "the whole bow" }
    }

    /// What the bow is made of: its laminations from back to belly, then what its riser is made of, then its overlays.
    pub fn woods(&self) -> impl Iterator<Item = &Wood> {
        let riser = self.riser.iter().flat_map(|riser| riser.woods());
        let overlays = self.overlays.iter().map(|overlay| &overlay.wood);
        self.laminations.iter().flat_map(Lamination::woods).chain(riser).chain(overlays)
    }

    /// Whether a default stands in for this key, such as `target.brace_height`.
    pub fn assumes(&self, key: &str) -> bool {
        self.assumed.iter().any(|assumed| assumed.key == key)
    }

    /// The sled that this lamination's strips are ground on, its own or the one for all.
    pub fn sled_for<'a>(&'a self, lamination: &'a Lamination) -> Option<&'a SledPlan> {
        lamination.sled.as_ref().or(self.sled.as_ref())
    }

    /// Where a key of that sled stands: with the lamination where it says something of its own, else under `[sled]`.
    pub fn sled_place(&self, lamination: &Lamination, key: &str) -> Place {
        let shared = Place::new("sled").key(key);
        let Some(own) = &lamination.sled else { return shared };
        let same = self.sled.as_ref().is_some_and(|all| match key {
            "make" => own.make == all.make,
            "base" => limit::same(own.base_mm, all.base_mm),
            "deck" => limit::same(own.deck_mm, all.deck_mm),
            "supports" => own.supports_mm == all.supports_mm,
            "butt_leads" => own.butt_leads == all.butt_leads,
            "sheet" => own.sheet == all.sheet,
            _ => true,
        });
        if same { shared } else { lamination.place.key("sled").key(key) }
    }

    /// Sum of the finished laminations at station `s`, without glue lines and riser, mm.
    pub fn dry_stack_mm(&self, s: f64) -> f64 {
        self.laminations.iter().map(|lamination| lamination.thickness_at(s)).sum()
    }

    /// Back to belly at station `s` as the bow comes off its last form: laminations, riser and glue lines, mm.
    pub fn stack_mm(&self, s: f64) -> f64 {
        let laminations = self.laminations.iter().map(|lamination| lamination.thickness_at(s));
        stacked_mm(laminations.chain(self.riser.iter().map(|riser| riser.thickness_at(s))), self.glue.line_mm)
    }

    /// The belly face of each lamination at station `s`, from the back, the riser over it counted, mm; `None` for one that does not reach there.
    pub fn belly_faces_mm(&self, s: f64) -> Vec<Option<f64>> {
        let mut deep_mm = 0.0;
        let face = |(index, lamination): (usize, &Lamination)| {
            let riser_mm = self.riser.as_ref().filter(|riser| riser.position == index).map_or(0.0, |riser| riser.thickness_at(s));
            let thickness_mm = lamination.thickness_at(s);
            deep_mm = stacked_mm([deep_mm, riser_mm, thickness_mm], self.glue.line_mm);
            (0.0 < thickness_mm).then_some(deep_mm)
        };
        self.laminations.iter().enumerate().map(face).collect()
    }

    /// The riser's flat face at station `s`, from the back: laminations on it with the glue line under each, mm.
    pub fn flat_face_mm(&self, riser: &Riser, s: f64) -> f64 {
        let on_it = self.belly_faces_mm(s).into_iter().take(riser.position).flatten().last();
        on_it.map_or(0.0, |face_mm| face_mm + self.glue.line_mm)
    }

    /// All that is glued at station `s`, tip overlays among it, mm.
    pub fn finished_mm(&self, s: f64) -> f64 {
        self.depth_mm(s) + self.tip_overlays_mm(s).iter().sum::<f64>()
    }

    /// The riser's overlay at station `s` with the glue line under it, mm; nothing where there is none.
    pub fn riser_overlay_mm(&self, s: f64) -> f64 {
        let overlay = self.riser.as_ref().and_then(|riser| riser.overlay.as_ref());
        let thickness_mm = overlay.map_or(0.0, |overlay| overlay.thickness_at(s));
        if 0.0 < thickness_mm { thickness_mm + self.glue.line_mm } else { 0.0 }
    }

    /// Back to belly at station `s`: all that is glued there, before hands cut a grip, mm.
    pub fn depth_mm(&self, s: f64) -> f64 {
        self.stack_mm(s) + self.riser_overlay_mm(s)
    }

    /// Tip overlays on back and belly at station `s`, each with the glue line under it, mm; nothing where none lies.
    pub fn tip_overlays_mm(&self, s: f64) -> [f64; 2] {
        let end_mm = self.outline.as_ref().map_or(0.0, Outline::end_mm);
        [Face::Back, Face::Belly].map(|face| {
            let overlay = self.overlays.iter().find(|overlay| overlay.face == face);
            overlay.map_or(0.0, |overlay| overlay.depth_mm(end_mm, s, self.glue.line_mm))
        })
    }

    /// From and to of the string's groove, which is filed through limb and overlays, mm; `None` for a batch of laminations.
    pub fn nock_groove_mm(&self) -> Option<[f64; 2]> {
        let outline = self.outline.as_ref()?;
        let nock_mm = outline.nock_mm();
        Some(outline.groove_mm(self.finished_mm(nock_mm)))
    }

    /// What hands cut off the belly for the grip at station `s`, positive toward the upper limb, mm.
    pub fn grip_off_mm(&self, s: f64) -> f64 {
        let grip = self.riser.as_ref().and_then(|riser| riser.grip);
        grip.map_or(0.0, |grip| grip.off_mm(|at| self.depth_mm(at), s))
    }

    /// The lamination whose belly face is the limb's at station `s`, an index; `None` where that is the riser's, or where there is no wood.
    pub fn belly_at(&self, s: f64) -> Option<usize> {
        let under_all = self.riser.as_ref().filter(|riser| self.laminations.len() <= riser.position);
        if under_all.is_some_and(|riser| s < riser.feather_station_mm()) || 0.0 < self.riser_overlay_mm(s) {
            return None;
        }
        self.laminations.iter().rposition(|lamination| lamination.from_mm <= s && s <= lamination.to_mm)
    }

    /// A weight of the bow for a message: in pounds as well where the target was given in them and the file counts in newtons.
    pub fn weight(&self, force_n: f64) -> Message {
        let pounds = self.units == System::Millimetre && self.target.is_some_and(|target| target.in_pounds);
        let beside = if pounds { format!(" ({})", System::Inch.force_text(force_n)) } else { String::new() };
        message!("{}{}", newtons(force_n), beside)
    }

    /// The same as it is shown.
    pub fn weight_text(&self, force_n: f64) -> String {
        self.weight(force_n).spoken(self.units)
    }
}
