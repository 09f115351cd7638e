//! What is asked of a bow on the bench: one job for two limbs alike, or one for each of two different limbs, whose keys the page can tell apart.

use super::answers::{self, NamedFigure, Told};
use super::levers::{Lever, levers};
use crate::diag::{Diagnostic, SourceText as _};
use crate::job::{Change, Job, LimbFaults, Unread, is_of_both, one_draw};
use crate::model::limb::LimbSide;
use std::collections::BTreeSet;

/// Stands before a key of the lower limb's file; no key of a build file begins so.
const OF_LOWER: &str = "lower:";

/// The jobs of a bow. Cloning is cheap: stages are shared.
#[derive(Debug, Clone)]
pub struct BowJobs {
    /// Of each file by itself, the upper limb's first.
    alone: Vec<Job>,
    /// Of two different limbs, each beside the other.
    beside: Option<[Job; 2]>,
}

impl BowJobs {
    /// Of one file, or of two, the upper limb's first.
    pub fn of(alone: Vec<Job>) -> Result<BowJobs, Unread> {
        let beside = match alone.as_slice() {
            [upper, lower] => Some(Job::of_two_limbs(upper, lower)?),
            _ => None,
        };
        Ok(BowJobs { alone, beside })
    }

    /// Of each file by itself.
    pub fn alone(&self) -> &[Job] {
        &self.alone
    }

    /// The job that speaks for the bow: of two limbs the upper one's, whose file its draw length and its units are of.
    pub fn bow(&self) -> &Job {
        match &self.beside {
            Some([upper, _]) => upper,
            None => &self.alone[0],
        }
    }

    /// Both limbs' jobs where they are different ones, each beside the other.
    pub fn two(&self) -> Option<[&Job; 2]> {
        self.beside.as_ref().map(<[Job; 2]>::each_ref)
    }

    /// What the files say that keeps them from being one bow on one string.
    pub fn one_draw(&self) -> Result<(), LimbFaults> {
        let Some([upper, lower]) = self.two() else { return Ok(()) };
        let faults = one_draw(upper.build(), lower.build());
        if faults.is_empty() { Ok(()) } else { Err(LimbFaults { limb: LimbSide::Lower, faults }) }
    }

    /// Its files, as the page speaks of them.
    pub fn files<'a>(&'a self, of_both: &'a OfBoth) -> Vec<FileJob<'a>> {
        match self.two() {
            None => vec![FileJob { limb: None, job: &self.alone[0], of_both }],
            Some(jobs) => {
                jobs.into_iter().zip(LimbSide::BOTH).map(|(job, limb)| FileJob { limb: Some(limb), job, of_both }).collect()
            }
        }
    }

    /// The files of two different limbs; `None` where one file describes both.
    pub fn both<'a>(&'a self, of_both: &'a OfBoth) -> Option<[FileJob<'a>; 2]> {
        <[FileJob<'a>; 2]>::try_from(self.files(of_both)).ok()
    }
}

/// Keys whose values both files have alike, as they must: one lever moves both.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OfBoth(BTreeSet<String>);

impl OfBoth {
    /// Where they differ, each file keeps its own lever, so that one sees that they do.
    pub fn of(alone: &[Job]) -> OfBoth {
        let [upper, lower] = alone else { return OfBoth::default() };
        let of_lower = levers(lower);
        let alike = |lever: &Lever| {
            is_of_both(&lever.key) && of_lower.iter().any(|other| other.key == lever.key && other.is_alike(lever))
        };
        OfBoth(levers(upper).into_iter().filter(alike).map(|lever| lever.key).collect())
    }

    fn holds(&self, key: &str) -> bool {
        self.0.contains(key)
    }
}

/// One build file of the bow.
#[derive(Debug, Clone, Copy)]
pub struct FileJob<'a> {
    /// Which limb it describes; none for one that describes both.
    pub limb: Option<LimbSide>,
    pub job: &'a Job,
    of_both: &'a OfBoth,
}

impl FileJob<'_> {
    /// A key of this file as the page knows it.
    pub fn key(&self, key: &str) -> String {
        match self.limb {
            Some(LimbSide::Lower) if !self.of_both.holds(key) => format!("{OF_LOWER}{key}"),
            _ => key.to_owned(),
        }
    }

    /// Whose a key is: `upper`, `lower`, or `both`; none where there is one file.
    pub fn whose(&self, key: &str) -> Option<&'static str> {
        let limb = self.limb?;
        Some(if self.of_both.holds(key) { "both" } else { limb.word() })
    }

    /// `upper back`, or `back` alone where there is one file.
    pub fn part_name(&self, name: &str) -> String {
        self.limb.map_or_else(|| name.to_owned(), |limb| format!("{} {name}", limb.word()))
    }

    /// Faults and warnings of this file, with the keys of the page, and with the file's name where there are two.
    pub fn told(&self, diagnostics: &[Diagnostic]) -> Vec<Told> {
        self.marked(answers::told(self.job, diagnostics))
    }

    /// What was told of this file, marked so.
    pub fn marked(&self, told: Vec<Told>) -> Vec<Told> {
        let name = self.job.source().name();
        told.into_iter().map(|told| told_of_limb(told, self.limb, name, &|key| self.key(key))).collect()
    }

    /// Its laminations, marked so.
    pub fn laminations(&self) -> Vec<NamedFigure> {
        let marked = |of: NamedFigure| {
            let id = self.limb.map_or(of.id.clone(), |limb| format!("{}:{}", limb.word(), of.name));
            NamedFigure { id, key: self.key(&of.key), limb: self.limb.map(LimbSide::word), ..of }
        };
        answers::laminations(self.job).into_iter().map(marked).collect()
    }

    /// Its levers, marked so; those of both limbs stand once, with the upper limb's.
    pub fn levers(&self) -> Vec<Lever> {
        self.these(levers(self.job))
    }

    /// The same of some of them.
    pub fn these(&self, some: Vec<Lever>) -> Vec<Lever> {
        let Some(limb) = self.limb else { return some };
        let own = |lever: &Lever| limb == LimbSide::Upper || !self.of_both.holds(&lever.key);
        let marked = |lever: Lever| {
            let whose = self.whose(&lever.key);
            let group = match whose {
                Some("both") => format!("both:{}", lever.group),
                Some("lower") => format!("{OF_LOWER}{}", lever.group),
                _ => lever.group.clone(),
            };
            Lever { key: self.key(&lever.key), group, limb: whose, ..lever }
        };
        some.into_iter().filter(own).map(marked).collect()
    }
}

/// What was told of a limb's file, with its name.
pub fn told_of_limb(told: Told, limb: Option<LimbSide>, name: &str, key: &dyn Fn(&str) -> String) -> Told {
    let Some(limb) = limb else { return told };
    let key = if told.is_of_file() || told.key.is_empty() { told.key.clone() } else { key(&told.key) };
    Told { key, file: Some(format!("{} limb, {name}", limb.word())), ..told }
}

/// Values that a page tries, told apart by the file they go into, the upper limb's first. One of both goes into both.
pub fn parted(changes: impl Iterator<Item = Change>, files: &[FileJob<'_>]) -> Vec<Vec<Change>> {
    let mut parted: Vec<Vec<Change>> = files.iter().map(|_| Vec::new()).collect();
    for change in changes {
        match (files, change.key.strip_prefix(OF_LOWER)) {
            ([_, _], Some(key)) => parted[1].push(Change::new(key, change.value)),
            ([upper, lower], None) if upper.of_both.holds(&change.key) => {
                parted[1].push(Change { value: in_file(&change, upper.job, lower.job), ..change.clone() });
                parted[0].push(change);
            }
            _ => parted[0].push(change),
        }
    }
    parted
}

/// A value as it was typed for one file, for another that may have other units.
fn in_file(change: &Change, typed_for: &Job, other: &Job) -> String {
    if typed_for.build().units == other.build().units || change.value.trim().parse::<f64>().is_err() {
        return change.value.clone();
    }
    let lever = super::levers::levers_where(typed_for, |key| key == change.key).pop();
    let unit = lever.as_ref().map_or("", Lever::unit);
    if unit.is_empty() { change.value.clone() } else { format!("{} {unit}", change.value.trim()) }
}

/// Names of laminations from the marks of two files' ones, the upper limb's first.
pub fn parted_names(ids: &[String]) -> [Vec<String>; 2] {
    LimbSide::BOTH.map(|limb| {
        let own = |id: &String| Some(id.strip_prefix(limb.word())?.strip_prefix(':')?.to_owned());
        ids.iter().filter_map(own).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Inputs;

    fn of_two(upper: &str, lower: &str) -> BowJobs {
        let job = |name: &str, text: &str| Job::read(name, text, Inputs::default()).unwrap();
        BowJobs::of(vec![job("upper.toml", upper), job("lower.toml", lower)]).unwrap()
    }

    /// A length typed without a unit for a file in inches is the same length in one in millimetres.
    #[test]
    fn one_lever_moves_files_in_different_units() {
        let upper = include_str!("../../examples/meadow.toml");
        let lower = include_str!("../../examples/heron.toml");
        let at = lower.find("brace_height").unwrap();
        let line = lower[at..].lines().next().unwrap();
        let bow = of_two(upper, &lower.replacen(line, "brace_height = 158.75", 1));
        let of_both = OfBoth::of(bow.alone());
        assert!(of_both.holds("target.brace_height") && !of_both.holds("lamination[back].thickness"), "{of_both:?}");
        let files = bow.files(&of_both);
        assert_eq!(
            (files[0].key("target.brace_height"), files[1].key("target.brace_height")),
            ("target.brace_height".into(), "target.brace_height".into())
        );
        assert_eq!(files[1].key("lamination[belly].thickness"), "lower:lamination[belly].thickness");
        let changes = [
            ("target.brace_height", "6.5"),
            ("lower:outline.nock_to_nock", "1700"),
            ("target.brace_height", "165 mm"),
            ("outline.nock_to_nock", "70"),
        ];
        let [of_upper, of_lower]: [Vec<Change>; 2] =
            parted(changes.iter().map(|(key, value)| Change::new(*key, *value)), &files).try_into().unwrap();
        let change = |key: &str, value: &str| Change::new(key, value);
        assert_eq!(
            of_upper,
            [change("target.brace_height", "6.5"), change("target.brace_height", "165 mm"), change("outline.nock_to_nock", "70")]
        );
        assert_eq!(
            of_lower,
            [
                change("target.brace_height", "6.5 in"),
                change("outline.nock_to_nock", "1700"),
                change("target.brace_height", "165 mm")
            ]
        );
        // A lever of both stands once on the page.
        let all: Vec<Lever> = files.iter().flat_map(FileJob::levers).collect();
        assert_eq!(all.iter().filter(|lever| lever.key.ends_with("target.brace_height")).count(), 1);
        let keys: BTreeSet<&String> = all.iter().map(|lever| &lever.key).collect();
        assert_eq!(keys.len(), all.len());
    }

    #[test]
    fn laminations_are_told_apart_by_their_file() {
        let ids = ["upper:back", "lower:back", "lower:upper:odd", "back"].map(str::to_owned);
        assert_eq!(parted_names(&ids), [vec!["back".to_owned()], vec!["back".to_owned(), "upper:odd".to_owned()]]);
    }
}
