//! What lies on the bench: the build file as it is on the disk, what is tried on it, and what was kept. One thread owns it; it knows
//! nothing of requests.

use super::answers::{self, AllShown, GlueShown, Look};
use super::levers::{self, Lever, levers, levers_where};
use super::speeds::{self, ShotShown};
use crate::buildfile::edit::{Edit, rewritten};
use crate::diag::{self, Diagnostic};
use crate::folder::{self, FolderFault, NotFilled, Others};
use crate::job::{Change, Easing, Files, Inputs, Job, Named, hash};
use crate::units::fixed;
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

/// One value that the page tries.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize)]
pub struct Tried {
    pub key: String,
    pub value: String,
}

/// What is on the desk, for a page that opens.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct State {
    /// Name of the build file without its folder; none before there is one.
    pub file: Option<String>,
    /// Name of the log without its folder, once it is there.
    pub log: Option<String>,
    pub title: String,
    /// Hash of the file's text: what a keep has to name.
    pub hash: String,
    pub units: &'static str,
    pub is_bow: bool,
    /// Why the file on the disk makes no bow; the page then shows the last good one.
    pub faults: Vec<answers::Told>,
    pub levers: Vec<Lever>,
    /// Laminations by name, with whether "solve" may change them.
    pub laminations: Vec<answers::NamedFigure>,
    /// The bows that the file names under `[series]`, lightest first.
    pub series: Vec<SeriesStep>,
    /// Where `make` goes, from where the program was started.
    pub out: Option<String>,
    /// Keeps that can be taken back.
    pub kept: usize,
    pub aside: Vec<Aside>,
}

/// Bows of one weight in a series.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeriesStep {
    /// As the file writes it.
    pub weight: String,
    pub count: u32,
}

/// A try set aside under a name, with its weight as it was then.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Aside {
    pub name: String,
    pub weight: String,
    pub hardest: String,
    pub changes: Vec<(String, String)>,
}

/// A line that a keep would change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Line {
    pub place: String,
    pub was: String,
    pub now: String,
}

/// Why something asked for was not done.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// The values make no bow: what is wrong, each with its lever.
    Faults(Vec<answers::Told>),
    /// The file moved on meanwhile; its hash now.
    Moved(String),
    /// There is nothing to do it with; in words.
    Cannot(String),
    /// The reading is asked about; nothing was added.
    Asked(super::sent::Asked),
    /// The disk refused; nothing was changed.
    Disk(String),
}

impl From<FolderFault> for Refusal {
    fn from(fault: FolderFault) -> Refusal {
        Refusal::Disk(fault.to_string())
    }
}

/// Keeps that can be taken back: more than anyone goes back, and a bound on what is held.
const MAX_KEPT: usize = 200;
/// Tries set aside.
const MAX_ASIDE: usize = 60;

/// The desk.
#[derive(Debug)]
pub struct Desk {
    /// Where the program was started.
    started: PathBuf,
    /// The file's folder, or where the program was started.
    folder: PathBuf,
    file: Option<PathBuf>,
    /// The log that was named; it may not be there yet. See [`Desk::log`].
    log: Option<PathBuf>,
    pub(super) readings: super::sent::Readings,
    /// The last text that made a job, and its job.
    job: Option<Job>,
    /// The text on the disk, or what a new bow would be written as.
    text: String,
    /// The texts that it names, finished bows for one.
    named: Named,
    faults: Vec<answers::Told>,
    /// Texts before each keep.
    before: Vec<String>,
    aside: Vec<Aside>,
    /// The last job tried: the next differs from it by little.
    tried: Option<(Vec<Tried>, Job)>,
}

fn series_steps(job: &Job) -> Vec<SeriesStep> {
    let build = job.build();
    build.series.iter().map(|bow| SeriesStep { weight: bow.weight_in_file(build.units), count: bow.count }).collect()
}

impl Desk {
    /// A desk with this build file on it, or an empty one.
    /// Both paths are resolved here once, so that they stay the same wherever the program goes.
    pub fn open(file: Option<&Path>, log: Option<&Path>) -> Result<Desk, String> {
        let (started, folder) = (folder_of(None)?, folder_of(file)?);
        let file = file.and_then(Path::file_name).map(|name| folder.join(name));
        let log = log.map(|log| {
            // One that is not there yet is begun with its first reading.
            match folder::plain_file(log) {
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(format!("{}: {error}", log.display())),
                _ => Ok(folder_of(Some(log))?.join(log.file_name().unwrap_or_default())),
            }
        });
        let log = log.transpose()?;
        let mut desk = Desk {
            started,
            folder,
            file,
            log,
            readings: super::sent::Readings::default(),
            job: None,
            text: String::new(),
            named: Named::default(),
            faults: Vec::new(),
            before: Vec::new(),
            aside: Vec::new(),
            tried: None,
        };
        if let Some(file) = desk.file.clone() {
            let text = folder::read_text(&file).map_err(|error| format!("{}: {error}", file.display()))?;
            desk.take(text);
        }
        Ok(desk)
    }

    /// The same with the day that readings are written down on.
    pub fn dated(mut self, today: fn(std::time::Duration) -> String) -> Desk {
        self.readings.today = Some(today);
        self
    }

    /// Why the text on the disk makes no job.
    pub(super) fn faults(&self) -> &[answers::Told] {
        &self.faults
    }

    /// The file's name for messages.
    pub(super) fn name(&self) -> String {
        self.file.as_deref().map_or("new bow".into(), name_of)
    }

    /// The log of the bow's readings: the one that was named, or `NAME-log.toml` beside the build file. It may not be there yet.
    pub fn log(&self) -> Option<PathBuf> {
        let beside = || Some(self.folder.join(format!("{}-log.toml", folder::stem(self.file.as_ref()?))));
        self.log.clone().or_else(beside)
    }

    /// Puts a text on the desk; the last good job stays where it makes none.
    fn take(&mut self, text: String) {
        self.named = folder::named_texts(&self.folder, &text);
        match Job::read(&self.name(), &text, Inputs { named: self.named.clone(), ..Inputs::default() }) {
            Ok(job) => {
                self.faults = Vec::new();
                self.job = Some(job);
            }
            Err(unread) => self.faults = answers::unread(&unread),
        }
        self.tried = None;
        self.text = text;
    }

    /// Looks at the disk: whether the file's text, or one that it names, is another one now. A file that is gone leaves what is on the desk.
    pub fn look_at_disk(&mut self) -> bool {
        let Some(file) = &self.file else { return false };
        match folder::read_text(file) {
            Ok(text) if text != self.text => {
                self.take(text);
                true
            }
            Err(error) => {
                let told =
                    answers::Told::of_file(format!("{}: {error}; what is on the bench is the last that was read", self.name()));
                let new = !self.faults.contains(&told);
                self.faults = vec![told];
                new
            }
            Ok(_) => {
                // A file that was gone and came back as it was; or a finished bow that it names is another one now.
                let other = self.faults.iter().any(answers::Told::is_of_file)
                    || (self.named != Named::default() && self.named != folder::named_texts(&self.folder, &self.text));
                if other {
                    self.take(self.text.clone());
                }
                other
            }
        }
    }

    pub fn state(&self) -> State {
        let job = self.job.as_ref();
        State {
            file: self.file.as_ref().map(|_| self.name()),
            log: self.log().filter(|log| log.is_file()).as_deref().map(name_of),
            title: job.map_or(String::new(), |job| job.build().title.clone()),
            hash: self.hash(),
            units: job.map_or("in", |job| job.build().units.length_unit()),
            is_bow: job.is_some_and(Job::is_bow),
            faults: self.faults.clone(),
            levers: job.map_or(Vec::new(), levers),
            laminations: job.map_or(Vec::new(), answers::laminations),
            series: job.map_or(Vec::new(), series_steps),
            out: self.out().map(|out| out.display().to_string()),
            kept: self.before.len(),
            aside: self.aside.clone(),
        }
    }

    /// Hash of the text on the disk.
    pub fn hash(&self) -> String {
        hash::fnv1a(self.text.as_bytes())
    }

    pub(super) fn file_job(&self) -> Result<&Job, Refusal> {
        self.job.as_ref().ok_or_else(|| {
            if self.faults.is_empty() {
                Refusal::Cannot("there is no bow on the bench yet".into())
            } else {
                Refusal::Faults(self.faults.clone())
            }
        })
    }

    /// The job with what is tried.
    fn tried(&mut self, changes: &[Tried]) -> Result<Job, Refusal> {
        if let Some((same, job)) = &self.tried
            && same == changes
        {
            return Ok(job.clone());
        }
        let job = self.file_job()?;
        let wanted: Vec<Change> = changes.iter().map(|tried| Change::new(&*tried.key, &*tried.value)).collect();
        // The last try differs by little: what it worked out is shared, too.
        let text = job.rewritten(&wanted).map_err(|unread| Refusal::Faults(answers::unread(&unread)))?;
        let near = self.tried.as_ref().map_or(job, |(_, last)| last);
        let tried = near.of_text(&text).map_err(|unread| Refusal::Faults(answers::unread(&unread)))?;
        self.tried = Some((changes.to_vec(), tried.clone()));
        Ok(tried)
    }

    /// What the bow does with these values: what is wanted while a hand moves.
    pub fn look(&mut self, changes: &[Tried]) -> Result<Look, Refusal> {
        let tried = self.tried(changes)?;
        let file = self.file_job()?;
        let look = answers::look(&tried, (!changes.is_empty()).then_some(file)).map_err(|refused| of(&tried, &refused.faults))?;
        let of_tries = levers_where(&tried, |key| changes.iter().any(|change| change.key == key));
        let values = of_tries.into_iter().filter_map(|lever| Some((lever.key.clone(), lever.value()?))).collect();
        Ok(Look { values, ..look })
    }

    /// The rest, once the hand rests.
    pub fn whole(&mut self, changes: &[Tried]) -> Result<AllShown, Refusal> {
        let tried = self.tried(changes)?;
        answers::whole(&tried).map_err(|refused| of(&tried, &refused.faults))
    }

    /// What arrows leave with, once the hand rests longer: it costs more than all the rest.
    pub fn shot(&mut self, changes: &[Tried]) -> Result<ShotShown, Refusal> {
        let tried = self.tried(changes)?;
        let file = if changes.is_empty() { None } else { Some(self.file_job()?) };
        speeds::shot(&tried, file).map_err(|refused| of(&tried, &refused.faults))
    }

    /// The glue-up with these values.
    pub fn glue(&mut self, changes: &[Tried]) -> Result<GlueShown, Refusal> {
        let tried = self.tried(changes)?;
        answers::glue(&tried).map_err(|refused| of(&tried, &refused.faults))
    }

    /// The free laminations solved for the draw weight that the values ask for; what is tried then, and what moved.
    pub fn solve(&mut self, changes: &[Tried], free: &[String]) -> Result<(Vec<Tried>, Vec<String>), Refusal> {
        let tried = self.tried(changes)?;
        let sized = tried.sized_by(free).map_err(|refused| of(&tried, &refused.faults))?;
        let mut told: Vec<String> =
            sized.warnings.iter().map(|warning| diag::sentence(&warning.message.spoken(tried.build().units))).collect();
        let (changes, edits) = self.carried_over(changes, &tried, &sized.value.build)?;
        told.extend(edits.iter().map(|edit| moved(&tried, edit)));
        Ok((changes, told))
    }

    /// What is tried for the bow of this weight in the file's series.
    pub fn series_bow(&mut self, weight: &str) -> Result<Vec<Tried>, Refusal> {
        let job = self.file_job()?;
        let series = job.series().map_err(|refused| of(job, &refused.faults))?;
        let Some(bow) = series.and_then(|series| series.bows.into_iter().find(|bow| bow.words == weight)) else {
            return Err(Refusal::Cannot(format!("the file's series has no bow of {weight}")));
        };
        let wish = [Tried { key: "target.draw_weight".into(), value: bow.words }];
        let tried = self.tried(&wish)?;
        Ok(self.carried_over(&wish, &tried, bow.job.build())?.0)
    }

    /// The length, or the widths, at which the hardest-worked part works at `percent` of what breaks it; no values where none does, and why.
    pub fn ease(
        &mut self,
        changes: &[Tried],
        percent: f64,
        by: Easing,
        free: &[String],
    ) -> Result<(Option<Vec<Tried>>, Vec<String>), Refusal> {
        let tried = self.tried(changes)?;
        let (what, bring) = match by {
            Easing::Longer => ("length", "brings"),
            Easing::Wider => ("widths", "bring"),
        };
        let eased = match tried.eased(0.01 * percent, by, free) {
            Ok(eased) => eased,
            Err(refused) => {
                let stops = format!("No {what} within reason {bring} it to {} percent.", fixed(percent, 0));
                let units = tried.build().units;
                let why = refused.faults.iter().flat_map(|fault| {
                    let fault = fault.words(units);
                    std::iter::once(fault.message).chain(fault.hints)
                });
                return Ok((None, std::iter::once(stops).chain(why.map(|words| diag::sentence(&words))).collect()));
            }
        };
        let (changes, edits) = self.carried_over(changes, &tried, &eased.build)?;
        let told = format!(
            "All {what} times {}: the hardest-worked part stands at {} percent.",
            fixed(eased.times, 3),
            fixed(percent, 0)
        );
        Ok((Some(changes), std::iter::once(told).chain(edits.iter().map(|edit| moved(&tried, edit))).collect()))
    }

    /// What was tried, with the values at which `after` differs from it.
    fn carried_over(
        &self,
        changes: &[Tried],
        tried: &Job,
        after: &crate::model::Build,
    ) -> Result<(Vec<Tried>, Vec<Edit>), Refusal> {
        let edits = rewritten(tried.source(), tried.build(), after).map_err(|fault| of(tried, &[fault]))?.edits;
        let mut all = changes.to_vec();
        for edit in &edits {
            let key = tried.source().key_of(&edit.place);
            all.retain(|tried| tried.key != key);
            all.push(Tried { key, value: edit.now.clone() });
        }
        Ok((all, edits))
    }

    /// The lines that a keep would change.
    pub fn lines(&mut self, changes: &[Tried]) -> Result<Vec<Line>, Refusal> {
        let tried = self.tried(changes)?;
        let before: Vec<&str> = self.text.lines().collect();
        let after: Vec<&str> = tried.text().lines().collect();
        Ok(changed_lines(&before, &after))
    }

    /// Writes what is tried into the build file, if its text is still the one with this hash.
    pub fn keep(&mut self, changes: &[Tried], hash: &str) -> Result<Vec<Line>, Refusal> {
        let lines = self.lines(changes)?;
        let text = self.tried(changes)?.text().to_owned();
        self.write(&text, hash)?;
        let before = std::mem::replace(&mut self.text, text.clone());
        if self.before.len() == MAX_KEPT {
            self.before.remove(0);
        }
        self.before.push(before);
        self.take(text);
        Ok(lines)
    }

    /// Takes the last keep back, if the file is still as that keep left it.
    pub fn take_back(&mut self, hash: &str) -> Result<(), Refusal> {
        let before =
            self.before.last().cloned().ok_or_else(|| Refusal::Cannot("nothing was kept since the bench was opened".into()))?;
        self.write(&before, hash)?;
        self.before.pop();
        self.take(before);
        Ok(())
    }

    fn write(&mut self, text: &str, hash: &str) -> Result<(), Refusal> {
        let file = self.file.clone().ok_or_else(|| Refusal::Cannot("this bow has no file yet: give it a name first".into()))?;
        self.look_at_disk();
        if self.hash() != hash {
            return Err(Refusal::Moved(self.hash()));
        }
        Ok(folder::replace(&file, self.text.as_bytes(), text.as_bytes())?)
    }

    /// Puts a new bow on the bench: a starter, or an example; it has no file until it is named.
    pub fn begin(&mut self, text: String) -> Result<(), Refusal> {
        if self.file.is_some() {
            return Err(Refusal::Cannot("there is a build file on the bench already".into()));
        }
        self.take(text);
        self.aside.clear();
        if self.faults.is_empty() { Ok(()) } else { Err(Refusal::Faults(self.faults.clone())) }
    }

    /// Writes the bow that has no file yet, what is tried included, under a plain name in the folder where the program was started;
    /// never over a file that is there.
    pub fn name_it(&mut self, name: &str, changes: &[Tried]) -> Result<String, Refusal> {
        if self.file.is_some() {
            return Err(Refusal::Cannot("this bow has a file already".into()));
        }
        let stem = crate::model::lamination::file_name(name.trim().trim_end_matches(".toml"));
        let file = self.folder.join(format!("{stem}.toml"));
        let text = self.tried(changes)?.text().to_owned();
        folder::create(&file, text.as_bytes())?;
        self.file = Some(file);
        self.take(text);
        Ok(self.name())
    }

    /// Sets what is tried aside under a name; one of the same name gives way.
    pub fn set_aside(&mut self, name: &str, changes: &[Tried]) -> Result<(), Refusal> {
        let name = name.trim().chars().filter(|letter| !letter.is_control()).take(60).collect::<String>();
        if name.is_empty() {
            return Err(Refusal::Cannot("give the try a name".into()));
        }
        let tried = self.tried(changes)?;
        let (weight, hardest) = answers::in_short(&tried).map_err(|refused| of(&tried, &refused.faults))?;
        let aside = Aside {
            name,
            weight,
            hardest,
            changes: changes.iter().map(|tried| (tried.key.clone(), tried.value.clone())).collect(),
        };
        self.aside.retain(|other| other.name != aside.name);
        if self.aside.len() == MAX_ASIDE {
            return Err(Refusal::Cannot(format!("{MAX_ASIDE} tries are set aside already: drop one first")));
        }
        self.aside.push(aside);
        Ok(())
    }

    pub fn drop_aside(&mut self, name: &str) {
        self.aside.retain(|aside| aside.name != name);
    }

    /// Makes the files of the build file as it is on the disk, into the folder that `make` would take where this program was started;
    /// their names.
    pub fn make(&mut self, mut progress: impl FnMut(usize, usize)) -> Result<Vec<String>, Refusal> {
        let job = self.file_job()?.clone();
        let out = self.out().ok_or_else(|| Refusal::Cannot("give the bow a file first".into()))?;
        let files = job.files().map_err(|refused| of(&job, &refused.faults))?;
        let names: Vec<String> = files.names().map(str::to_owned).collect();
        let all: Vec<usize> = (0..names.len()).collect();
        let mut one = |number: &usize| {
            progress(*number, names.len());
            files.bytes(*number)
        };
        let filled =
            folder::fill_from(&self.started.join(out), &files, &all, Others::Remove, |some| some.iter().map(&mut one).collect());
        filled.map_err(|why| match why {
            NotFilled::Unmade(refused) => of(&job, &refused.faults),
            NotFilled::Folder(fault) => fault.into(),
        })?;
        progress(names.len(), names.len());
        Ok(names)
    }

    /// Where `make` goes, from where the program was started.
    fn out(&self) -> Option<PathBuf> {
        Some(folder::out(self.file.as_ref()?))
    }

    /// One file of the build by its number, made anew: its name and bytes.
    pub fn file(&mut self, number: usize) -> Result<(String, Vec<u8>), Refusal> {
        let job = self.file_job()?.clone();
        let files: Files<'_> = job.files().map_err(|refused| of(&job, &refused.faults))?;
        let name = files.names().nth(number).map(str::to_owned).ok_or_else(|| Refusal::Cannot("there is no such file".into()))?;
        let bytes = files.bytes(number).map_err(|refused| of(&job, &refused.faults))?;
        Ok((name, bytes))
    }
}

/// A path's folder, resolved; where the program was started for a bare name or none.
fn folder_of(path: Option<&Path>) -> Result<PathBuf, String> {
    let folder = path.and_then(Path::parent).filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    folder.canonicalize().map_err(|error| format!("{}: {error}", folder.display()))
}

pub(super) fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// Faults of a job as the page shows them.
fn of(job: &Job, faults: &[Diagnostic]) -> Refusal {
    Refusal::Faults(answers::told(job, faults))
}

/// `core, thickness at the butt: from 0.150 to 0.146`.
fn moved(job: &Job, edit: &Edit) -> String {
    let words = levers::words(job, &edit.place);
    if edit.was.is_empty() { format!("{words}: {}", edit.now) } else { format!("{words}: from {} to {}", edit.was, edit.now) }
}

/// Lines that differ between two texts of which only values were changed, and lines added; by the longest common beginning and end of
/// each stretch.
fn changed_lines(before: &[&str], after: &[&str]) -> Vec<Line> {
    let mut lines = Vec::new();
    if before.len() == after.len() {
        for (number, (was, now)) in before.iter().zip(after).enumerate().filter(|(_, (was, now))| was != now) {
            lines.push(Line { place: format!("line {}", number + 1), was: (*was).into(), now: (*now).into() });
        }
        return lines;
    }
    let (mut at, mut then) = (0, 0);
    while at < before.len() || then < after.len() {
        match (before.get(at), after.get(then)) {
            (Some(was), Some(now)) if was == now => (at, then) = (at + 1, then + 1),
            (was, Some(now)) if was.is_none_or(|was| after[then..].contains(was)) => {
                lines.push(Line { place: format!("line {}", then + 1), was: String::new(), now: (*now).into() });
                then += 1;
            }
            (Some(was), now) => {
                lines.push(Line {
                    place: format!("line {}", at + 1),
                    was: (*was).into(),
                    now: now.map_or(String::new(), |now| (*now).into()),
                });
                at += 1;
                then += usize::from(now.is_some());
            }
            (None, None) | (None, Some(_)) => break,
        }
    }
    lines
}
