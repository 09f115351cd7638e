//! What a builder may change at the bench: every number of the build file that is a size, a weight or a rise, with the steps of the shop,
//! and the materials to choose from.

use crate::buildfile::Source;
use crate::buildfile::raw::{Node, RawTable, Value};
use crate::diag::{Place, SourceText as _};
use crate::job::Job;
use crate::model::Build;
use crate::model::grip::DrawHand;
use crate::model::lamination::Face;
use crate::model::{string, wood};
use crate::units::{Quantity, System, read};
use serde::Serialize;

/// One thing to change.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lever {
    /// Its key in the build file, by name in a list of named things: it stays its own when one is put before it.
    pub key: String,
    /// Where it stands on the page: `target`, `outline`, `riser`, `glue`, or a lamination's key.
    pub group: String,
    /// Of two different limbs, whose it is: `upper`, `lower` or `both`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb: Option<&'static str>,
    /// In words.
    pub label: String,
    /// As the file writes it.
    pub text: String,
    #[serde(flatten)]
    pub takes: Takes,
    /// Its number in mm, N, rad or kg, by which files in other units are compared.
    #[serde(skip)]
    pub(super) si: f64,
}

impl Lever {
    /// Its number, where it is one.
    pub fn value(&self) -> Option<f64> {
        match self.takes {
            Takes::Number { value, .. } => Some(value),
            Takes::Choice { .. } => None,
        }
    }

    /// What its number is in; nothing where it is plain, or none.
    pub fn unit(&self) -> &str {
        match &self.takes {
            Takes::Number { unit, .. } => unit,
            Takes::Choice { .. } => "",
        }
    }

    /// Whether it stands where another lever of the same key, in another file, does.
    pub fn is_alike(&self, other: &Lever) -> bool {
        /// Closer than any file writes.
        const SAME: f64 = 1e-9;
        match (&self.takes, &other.takes) {
            (Takes::Number { .. }, Takes::Number { .. }) => (self.si - other.si).abs() <= SAME * self.si.abs().max(1.0),
            _ => self.text == other.text,
        }
    }
}

/// What may stand there.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "takes")]
pub enum Takes {
    /// A number in `unit`; written behind it in the file is `suffix`.
    Number { value: f64, unit: String, suffix: String, step: f64, from: f64, to: f64, decimals: usize },
    /// One of these.
    Choice { choices: Vec<String> },
}

/// How finely a shop sets a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Steps {
    /// What the sander's gauge can set.
    Gauge,
    /// The rule's smallest mark: 1/32 in or 0.5 mm.
    Rule,
    /// 1/8 in or 2 mm.
    Eighth,
    /// A pound, or 5 N.
    Weight,
    /// A ten-thousandth.
    Rate,
    Degree,
    /// A hundredth of the whole.
    Share,
    /// Two strands, as a string is laid.
    Strands,
    /// A grain, or a tenth of a gram.
    Grain,
}

/// The levers of a job, in the order of its file.
pub fn levers(job: &Job) -> Vec<Lever> {
    levers_where(job, |_| true)
}

/// Those whose key is wanted: while a hand moves there is no time for all the others and their choices.
pub fn levers_where(job: &Job, wanted: impl Fn(&str) -> bool) -> Vec<Lever> {
    let mut found = Vec::new();
    let walk = Walk { build: job.build(), source: job.source(), wanted: &wanted };
    walk.table(job.source().root(), &Place::whole_file(), &mut found);
    found
}

/// What a place is called at the bench; by its keys, where it is no lever.
pub fn words(job: &Job, place: &Place) -> String {
    let key = job.source().key_of(place);
    let Some(lever) = levers_where(job, |known| known == key).pop() else { return job.source().words(place) };
    match place.as_str().strip_prefix("lamination[").and_then(|rest| rest.split(']').next()?.parse::<usize>().ok()) {
        Some(index) => format!("{}, {}", job.build().laminations[index].name, lever.label),
        None => lever.label,
    }
}

struct Walk<'a> {
    build: &'a Build,
    source: &'a Source,
    wanted: &'a dyn Fn(&str) -> bool,
}

impl Walk<'_> {
    fn table(&self, table: &RawTable, at: &Place, found: &mut Vec<Lever>) {
        for entry in &table.entries {
            self.node(&entry.node, &at.key(&entry.key), found);
        }
    }

    fn node(&self, node: &Node, at: &Place, found: &mut Vec<Lever>) {
        match &node.value {
            Value::Table(table) => self.table(table, at, found),
            Value::List(nodes) => {
                for (index, node) in nodes.iter().enumerate() {
                    self.node(node, &at.index(index), found);
                }
            }
            Value::Number(_) | Value::Text(_) => {
                let key = self.source.key_of(at);
                if (self.wanted)(&key) {
                    found.extend(self.lever(node, at, key));
                }
            }
            _ => {}
        }
    }

    fn lever(&self, node: &Node, at: &Place, key: String) -> Option<Lever> {
        let written = &self.source.text()[node.span.clone()];
        let (indices, pattern) = parted(at.as_str());
        let group = match at.as_str() {
            place if place.starts_with("lamination[") => lamination_key(self.source, *indices.first()?),
            place if place.starts_with("overlay[") => "outline".to_owned(),
            place => place.split(['.', '[']).next()?.to_owned(),
        };
        if let Some((label, text, choices)) = self.choice(&pattern, &indices) {
            return Some(Lever { key, group, limb: None, label, text, takes: Takes::Choice { choices }, si: 0.0 });
        }
        let (words, quantity, steps) = match meaning(&pattern)? {
            // Of a pair that ends in a ratio the station is a length all the same.
            (words, Quantity::Ratio, _) if indices.last() == Some(&0) && pattern.ends_with("[][]") => {
                (words, Quantity::Length, Steps::Eighth)
            }
            meant => meant,
        };
        let label = match pattern.as_str() {
            "outline.width[][]" => point_words("width", &indices),
            "outline.trapped.by[][]" => point_words("narrower by,", &indices),
            "outline.trapped.to[][]" => point_words("part of the width,", &indices),
            "outline.crown[][]" => point_words("crown", &indices),
            "glue.stage[].held.form[][]" => point_words("form", indices.get(1..)?),
            "lamination[].taper.stations[][]" => point_words("thickness", indices.get(1..)?),
            "riser.across[][]" | "riser.layers[][]" => format!("{words} {}", indices.first()? + 1),
            _ => words.to_owned(),
        };
        let label =
            if pattern.starts_with("glue.stage[]") { format!("stage {}, {label}", self.stage(*indices.first()?)) } else { label };
        let system = self.build.units;
        let (value, suffix) = match &node.value {
            Value::Number(bare) => (*bare, String::new()),
            Value::Text(text) => {
                let si = read(text, quantity, system).ok()?;
                let unit = quantity.bare_unit(system);
                (si / quantity.bare_factor(system), if unit.is_empty() { String::new() } else { format!(" {unit}") })
            }
            _ => return None,
        };
        let steps = if steps == Steps::Gauge && label.ends_with("station") { Steps::Eighth } else { steps };
        let (step, decimals) = self.step(steps);
        let reach = match steps {
            Steps::Rate => 0.004,
            _ => (0.4 * value.abs()).max(8.0 * step),
        };
        let rises = pattern.contains("form") || pattern.contains("props") || pattern.contains("want");
        let signed = rises || pattern.ends_with("past_centre") || matches!(steps, Steps::Rate);
        let from = if signed { value - reach } else { (value - reach).max(0.0) };
        let unit = quantity.bare_unit(system).to_owned();
        let takes = Takes::Number { value, unit, suffix, step, from, to: value + reach, decimals };
        let si = value * quantity.bare_factor(system);
        Some(Lever { key, group, limb: None, label, text: written.to_owned(), takes, si })
    }

    /// What may be chosen at a place, if its value is one of a few: its label, what the build has, and all of them.
    fn choice(&self, pattern: &str, indices: &[usize]) -> Option<(String, String, Vec<String>)> {
        let woods = || wood::all().iter().map(|species| species.name.clone()).collect();
        let first = *indices.first().unwrap_or(&0);
        match (pattern, indices) {
            ("lamination[].wood", _) => Some(("wood".into(), self.build.laminations.get(first)?.wood.name.clone(), woods())),
            ("lamination[].splice.wood", _) => {
                Some(("outer piece, wood".into(), self.build.laminations.get(first)?.outer()?.wood.name.clone(), woods()))
            }
            ("riser.across[][]", [_, 0]) => {
                let slice = self.build.riser.as_ref()?.across.get(first)?;
                Some((format!("slice {}, wood", first + 1), slice.wood.name.clone(), woods()))
            }
            ("riser.layers[][]", [_, 0]) => {
                let layer = self.build.riser.as_ref()?.layers.get(first)?;
                Some((format!("layer {}, wood", first + 1), layer.wood.name.clone(), woods()))
            }
            ("riser.footing.wood", _) => {
                let footing = self.build.riser.as_ref()?.footing.as_ref()?;
                Some(("footing, wood".into(), footing.wood.name.clone(), woods()))
            }
            ("riser.overlay.wood", _) => {
                let overlay = self.build.riser.as_ref()?.overlay.as_ref()?;
                Some(("riser overlay, wood".into(), overlay.wood.name.clone(), woods()))
            }
            ("outline.trapped.face", _) => {
                let face = self.build.outline.as_ref()?.shape.trapped.as_ref()?.face;
                Some((
                    "narrower face".into(),
                    face.word().into(),
                    [Face::Back, Face::Belly].map(|face| face.word().into()).to_vec(),
                ))
            }
            ("overlay[].wood", _) => Some(("overlay, wood".into(), self.build.overlays.get(first)?.wood.name.clone(), woods())),
            ("riser.shelf.hand", _) => {
                let hand = self.build.riser.as_ref()?.pass.as_ref()?.hand;
                let hands = [DrawHand::Right, DrawHand::Left].map(|hand| hand.word().into()).to_vec();
                Some(("hand that draws".into(), hand.word().into(), hands))
            }
            ("string.material", _) => {
                let all = string::all().iter().map(|material| material.name.clone()).collect();
                Some(("string".into(), self.build.shot.material.name.clone(), all))
            }
            _ => None,
        }
    }

    /// The number that a stage of the file carries.
    fn stage(&self, index: usize) -> usize {
        match self.source.value_at(&Place::new("glue.stage").index(index).key("number")) {
            Some(Value::Number(number)) => number.clamp(0.0, 1e3) as usize,
            _ => index + 1,
        }
    }

    /// The step, in the file's units, and the decimals that show it.
    fn step(&self, steps: Steps) -> (f64, usize) {
        let units = self.build.units;
        let gauge_mm =
            self.build.sander.as_ref().map_or(units.to_mm(if units == System::Inch { 0.001 } else { 0.02 }), |s| s.gap_step_mm);
        match (steps, units) {
            (Steps::Gauge, System::Inch) => (units.length(gauge_mm), 4),
            (Steps::Gauge, System::Millimetre) => (gauge_mm, 3),
            (Steps::Rule, System::Inch) => (1.0 / 32.0, 4),
            (Steps::Rule, System::Millimetre) => (0.5, 1),
            (Steps::Eighth, System::Inch) => (0.125, 3),
            (Steps::Eighth, System::Millimetre) => (2.0, 1),
            (Steps::Weight, System::Inch) => (1.0, 1),
            (Steps::Weight, System::Millimetre) => (5.0, 1),
            (Steps::Rate, _) => (1e-4, 4),
            (Steps::Degree, _) => (1.0, 1),
            (Steps::Share, _) => (0.01, 3),
            (Steps::Strands, _) => (2.0, 0),
            (Steps::Grain, System::Inch) => (1.0, 1),
            (Steps::Grain, System::Millimetre) => (0.1, 2),
        }
    }
}

/// The key of a lamination by its number from 0.
pub fn lamination_key(source: &Source, index: usize) -> String {
    source.key_of(&Place::new("lamination").index(index))
}

fn point_words(what: &str, indices: &[usize]) -> String {
    match indices {
        [point, 0, ..] => format!("{what} point {}, station", point + 1),
        [point, ..] => format!("{what} point {}", point + 1),
        [] => what.to_owned(),
    }
}

/// The numbers in the brackets of a path, and the path without them.
fn parted(path: &str) -> (Vec<usize>, String) {
    let (mut indices, mut pattern) = (Vec::new(), String::new());
    let mut rest = path;
    while let Some((before, after)) = rest.split_once('[') {
        let Some((number, after)) = after.split_once(']') else { break };
        indices.extend(number.parse::<usize>());
        pattern.push_str(before);
        pattern.push_str("[]");
        rest = after;
    }
    pattern.push_str(rest);
    (indices, pattern)
}

/// What a key is called at the bench, what it measures, and in which steps.
fn meaning(pattern: &str) -> Option<(&'static str, Quantity, Steps)> {
    use Quantity::{Force, Length};
    Some(match pattern {
        "target.draw_weight" => ("draw weight", Force, Steps::Weight),
        "target.draw_length" => ("draw length", Length, Steps::Eighth),
        "target.brace_height" => ("brace height", Length, Steps::Eighth),
        "target.finishing" => ("kept for finishing", Force, Steps::Weight),
        "target.positive_tiller" => ("positive tiller", Length, Steps::Rule),
        "outline.nock_to_nock" => ("nock to nock", Length, Steps::Eighth),
        "outline.nock.depth" => ("nock depth", Length, Steps::Rule),
        "outline.nock.angle" => ("nock angle", Quantity::Angle, Steps::Degree),
        "outline.tip_beyond_nock" => ("tip beyond nock", Length, Steps::Eighth),
        "outline.width" => ("width", Length, Steps::Rule),
        "outline.width[][]" => ("width point", Length, Steps::Rule),
        "outline.trapped.by" | "outline.trapped.by[][]" => ("narrower by", Length, Steps::Rule),
        "outline.trapped.to" | "outline.trapped.to[][]" => ("part of the width", Quantity::Ratio, Steps::Share),
        "outline.crown" | "outline.crown[][]" => ("crown", Length, Steps::Gauge),
        "riser.length" => ("riser length", Length, Steps::Eighth),
        "riser.level" => ("riser level", Length, Steps::Eighth),
        "riser.depth" => ("riser depth", Length, Steps::Rule),
        "riser.feather" => ("feather", Length, Steps::Gauge),
        "riser.across[][]" => ("slice", Length, Steps::Rule),
        "riser.layers[][]" => ("layer", Length, Steps::Rule),
        "riser.width" => ("block's width", Length, Steps::Rule),
        "riser.footing.length" => ("footing, length", Length, Steps::Eighth),
        "riser.footing.splice" => ("footing, its V", Length, Steps::Eighth),
        "riser.overlay.length" => ("riser overlay, length", Length, Steps::Eighth),
        "riser.overlay.level" => ("riser overlay, level", Length, Steps::Eighth),
        "riser.overlay.depth" => ("riser overlay, depth", Length, Steps::Rule),
        "riser.overlay.feather" => ("riser overlay, feather", Length, Steps::Gauge),
        "riser.grip.throat" => ("throat", Length, Steps::Gauge),
        "riser.grip.up" => ("throat, up", Length, Steps::Eighth),
        "riser.grip.down" => ("throat, down", Length, Steps::Eighth),
        "riser.grip.palm" => ("palm swell", Length, Steps::Gauge),
        "riser.grip.heel" => ("heel", Length, Steps::Eighth),
        "riser.shelf.height" => ("shelf over the throat", Length, Steps::Eighth),
        "riser.shelf.past_centre" => ("window past centre", Length, Steps::Rule),
        "riser.shelf.window" => ("window", Length, Steps::Eighth),
        "riser.shelf.sweep" => ("window's sweep", Length, Steps::Eighth),
        "riser.shelf.corner" => ("shelf's inside corner", Length, Steps::Rule),
        "lamination[].thickness" => ("thickness at the butt", Length, Steps::Gauge),
        "lamination[].taper" => ("taper", Quantity::Rate, Steps::Rate),
        "lamination[].taper.then" => ("taper, then", Quantity::Rate, Steps::Rate),
        "lamination[].taper.flat" => ("flat as far as station", Length, Steps::Eighth),
        "lamination[].taper.tip" => ("thickness at the tip", Length, Steps::Gauge),
        "lamination[].taper.stations[][]" => ("thickness point", Length, Steps::Gauge),
        "lamination[].from" => ("begins at station", Length, Steps::Eighth),
        "lamination[].to" => ("ends at station", Length, Steps::Eighth),
        "lamination[].splice.at" => ("spliced at station", Length, Steps::Eighth),
        "lamination[].splice.slope" => ("splice, slope 1 in", Quantity::Ratio, Steps::Strands),
        "lamination[].meet.scarf" => ("halves scarfed over", Length, Steps::Eighth),
        "lamination[].meet.lap" => ("halves lapped over", Length, Steps::Eighth),
        "lamination[].width_share" => ("share of the width", Quantity::Ratio, Steps::Share),
        "lamination[].stock.width" => ("strip width", Length, Steps::Rule),
        "lamination[].stock.thickness" => ("stock thickness", Length, Steps::Gauge),
        "overlay[].thickness" => ("overlay, thickness", Length, Steps::Gauge),
        "overlay[].length" => ("overlay, length", Length, Steps::Eighth),
        "overlay[].fade" => ("overlay, thins out over", Length, Steps::Eighth),
        "string.strands" => ("strands", Quantity::Ratio, Steps::Strands),
        "string.serving" => ("serving", Quantity::Mass, Steps::Grain),
        "shot.tip" => ("on each tip", Quantity::Mass, Steps::Grain),
        "glue.line" => ("glue line", Length, Steps::Gauge),
        "glue.stage[].held.props" => ("props, rise", Length, Steps::Eighth),
        "glue.stage[].held.at" => ("props at station", Length, Steps::Eighth),
        "glue.stage[].held.form[][]" => ("form point", Length, Steps::Rule),
        "glue.stage[].press.hose" => ("hose, flattened", Length, Steps::Rule),
        "glue.stage[].press.strip" => ("heat strip", Length, Steps::Gauge),
        "glue.stage[].want.tip" => ("tip wanted", Length, Steps::Rule),
        _ => return None,
    })
}
