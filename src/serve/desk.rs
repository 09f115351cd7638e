//! What lies on the bench: the build file, or the two of different limbs, as they are on the disk; what is tried on them, and what was kept. One thread
//! owns it; it knows nothing of requests.

use super::answers::{self, AllShown, InShort, Look, LookAt};
use super::bow_file::{self, BowFile, folder_of, name_of};
use super::jobs::{BowJobs, FileJob, OfBoth, parted, told_of_limb};
use super::levers::{Lever, levers_where};
use super::lines::{Line, changed_lines};
use super::speeds::{self, ShotShown};
use super::two_limbs::{self, GlueTold};
use crate::folder::{self, FolderFault};
use crate::job::{Change, Job, LimbFaults, Refused, Unread};
use crate::model::limb::LimbSide;
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
    /// Both files of two different limbs, the upper limb's first; nothing where one file describes both.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub limbs: Vec<LimbFile>,
    /// Hash of the texts: what a keep has to name.
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
    /// Why the bows of a series that a file names are not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub series_not: Option<&'static str>,
    /// Where `make` goes, from where the program was started.
    pub out: Option<String>,
    /// Keeps that can be taken back.
    pub kept: usize,
    pub aside: Vec<Aside>,
}

/// The file of one of two different limbs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimbFile {
    pub limb: &'static str,
    pub file: String,
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
    pub(super) started: PathBuf,
    /// The build file; of two different limbs each one's, the upper limb's first.
    files: Vec<BowFile>,
    /// The log that was named; it may not be there yet. See [`Desk::log`].
    log: Option<PathBuf>,
    pub(super) readings: super::sent::Readings,
    /// The bow of the last texts that made one.
    bow: Option<BowJobs>,
    pub(super) of_both: OfBoth,
    /// For each keep what the files held before it; none for one that it left alone.
    before: Vec<Vec<Option<String>>>,
    aside: Vec<Aside>,
    /// The last bow tried: the next differs from it by little.
    tried: Option<(Vec<Tried>, BowJobs)>,
    /// What `make` fills, by the folder within: worked out when it is first asked for.
    pub(super) folders: Option<Vec<(String, Job)>>,
}

fn series_steps(job: &Job) -> Vec<SeriesStep> {
    let build = job.build();
    build.series.iter().map(|bow| SeriesStep { weight: bow.weight_in_file(build.units), count: bow.count }).collect()
}

impl Desk {
    /// A desk with this build file on it, or an empty one; `lower` is the lower limb's file, where it is a different limb.
    /// All paths are resolved here once, so that they stay the same wherever the program goes.
    pub fn open(file: Option<&Path>, lower: Option<&Path>, log: Option<&Path>) -> Result<Desk, String> {
        let started = folder_of(None)?;
        if let (Some(file), Some(lower)) = (file, lower)
            && bow_file::is_same(file, lower)
        {
            return Err(format!(
                "--lower {}: this is the upper limb's file\nhelp: leave --lower out for two limbs alike, or give the lower limb a file of its own",
                lower.display()
            ));
        }
        let read = |file: Option<&Path>| {
            let folder = folder_of(file)?;
            let path = file.and_then(Path::file_name).map(|name| folder.join(name));
            BowFile::new(folder, path).read()
        };
        let files = match lower {
            None => vec![read(file)?],
            Some(lower) => vec![read(file)?, read(Some(lower))?],
        };
        let log = log.map(|log| {
            // One that is not there yet is begun with its first reading.
            match folder::plain_file(log) {
                Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(format!("{}: {error}", log.display())),
                _ => Ok(folder_of(Some(log))?.join(log.file_name().unwrap_or_default())),
            }
        });
        let mut desk = Desk {
            started,
            files,
            log: log.transpose()?,
            readings: super::sent::Readings::default(),
            bow: None,
            of_both: OfBoth::default(),
            before: Vec::new(),
            aside: Vec::new(),
            tried: None,
            folders: None,
        };
        desk.put_together();
        Ok(desk)
    }

    /// The same with the day that readings are written down on.
    pub fn dated(mut self, today: fn(std::time::Duration) -> String) -> Desk {
        self.readings.today = Some(today);
        self
    }

    /// Why the texts on the disk make no bow.
    pub(super) fn faults(&self) -> Vec<answers::Told> {
        let told = |(file, limb): (&BowFile, Option<LimbSide>)| {
            let name = file.name();
            file.faults.iter().map(move |told| told_of_limb(told.clone(), limb, &name, &str::to_owned)).collect::<Vec<_>>()
        };
        self.files.iter().zip(self.limbs()).flat_map(told).collect()
    }

    /// Which limb each file describes; none for one that describes both.
    fn limbs(&self) -> Vec<Option<LimbSide>> {
        if self.files.len() == 1 { vec![None] } else { LimbSide::BOTH.map(Some).to_vec() }
    }

    /// The file whose name the bow goes by; of two limbs the upper one's.
    pub(super) fn file(&self) -> &BowFile {
        &self.files[0]
    }

    /// The file's name for messages.
    pub(super) fn name(&self) -> String {
        self.file().name()
    }

    /// The log of the bow's readings: the one that was named, or `NAME-log.toml` beside the build file. It may not be there yet.
    pub fn log(&self) -> Option<PathBuf> {
        let file = self.file();
        let beside = || Some(file.folder.join(format!("{}-log.toml", folder::stem(file.path.as_ref()?))));
        self.log.clone().or_else(beside)
    }

    /// Makes the bow of what the files hold; the last good one stays where they make none.
    fn put_together(&mut self) {
        (self.tried, self.folders) = (None, None);
        if self.files.len() == 2 {
            for file in &mut self.files {
                if file.faults.is_empty() && file.job.as_ref().is_some_and(|job| !job.is_bow()) {
                    let hint = "add [target] and [outline] to it".to_owned();
                    file.faults = vec![answers::Told::of_whole("it describes laminations and no limb".into(), vec![hint])];
                }
            }
        }
        let good = |file: &BowFile| file.job.clone().filter(|job| self.files.len() == 1 || job.is_bow());
        let Some(alone) = self.files.iter().map(good).collect::<Option<Vec<Job>>>() else { return };
        match BowJobs::of(alone) {
            Ok(bow) => {
                self.of_both = OfBoth::of(bow.alone());
                self.bow = Some(bow);
            }
            Err(unread) => self.files[0].faults = answers::unread(&unread),
        }
    }

    /// Looks at the disk: whether a file's text, or one that it names, is another one now. A file that is gone leaves what is on the desk.
    pub fn look_at_disk(&mut self) -> bool {
        // Every one is looked at.
        let looks: Vec<bool> = self.files.iter_mut().map(BowFile::look_at_disk).collect();
        let changed = looks.contains(&true);
        if changed {
            self.put_together();
        }
        changed
    }

    pub fn state(&self) -> State {
        let bow = self.bow.as_ref();
        let job = bow.map(BowJobs::bow);
        let files = bow.map_or(Vec::new(), |bow| bow.files(&self.of_both));
        let limb = |(file, limb): (&BowFile, Option<LimbSide>)| Some(LimbFile { limb: limb?.word(), file: file.name() });
        State {
            file: self.file().path.as_ref().map(|_| self.name()),
            log: self.log().filter(|log| log.is_file()).as_deref().map(name_of),
            title: job.map_or(String::new(), |job| job.build().title.clone()),
            limbs: self.files.iter().zip(self.limbs()).filter_map(limb).collect(),
            hash: self.hash(),
            units: job.map_or("in", |job| job.build().units.length_unit()),
            is_bow: job.is_some_and(Job::is_bow),
            faults: self.faults(),
            levers: files.iter().flat_map(FileJob::levers).collect(),
            laminations: files.iter().flat_map(FileJob::laminations).collect(),
            series: job.filter(|_| files.len() == 1).map_or(Vec::new(), series_steps),
            series_not: files
                .iter()
                .any(|file| file.limb.is_some() && !file.job.build().series.is_empty())
                .then_some(two_limbs::NO_SERIES),
            out: self.out().map(|out| out.display().to_string()),
            kept: self.before.len(),
            aside: self.aside.clone(),
        }
    }

    /// Hash of the texts on the disk; of two files both, so that whoever names it has read both.
    pub fn hash(&self) -> String {
        self.files.iter().map(BowFile::hash).collect::<Vec<_>>().join("-")
    }

    pub(super) fn file_bow(&self) -> Result<&BowJobs, Refusal> {
        self.bow.as_ref().ok_or_else(|| {
            let faults = self.faults();
            if faults.is_empty() { Refusal::Cannot("there is no bow on the bench yet".into()) } else { Refusal::Faults(faults) }
        })
    }

    /// Faults that were found in a bow, as the page shows them.
    pub(super) fn refused(&self, bow: &BowJobs, found: &LimbFaults) -> Refusal {
        Refusal::Faults(self.of_limb(bow, found.limb).told(&found.faults))
    }

    /// The file of this limb; the one there is, where one describes both.
    pub(super) fn of_limb<'a>(&'a self, bow: &'a BowJobs, limb: LimbSide) -> FileJob<'a> {
        let files = bow.files(&self.of_both);
        *files.iter().find(|file| file.limb == Some(limb)).unwrap_or(&files[0])
    }

    /// The bow with what is tried.
    pub(super) fn tried(&mut self, changes: &[Tried]) -> Result<BowJobs, Refusal> {
        if let Some((same, bow)) = &self.tried
            && same == changes
        {
            return Ok(bow.clone());
        }
        let bow = self.file_bow()?;
        let files = bow.files(&self.of_both);
        let wanted = parted(changes.iter().map(|tried| Change::new(&*tried.key, &*tried.value)), &files);
        // The last try differs by little: what it worked out is shared, too.
        let near = self.tried.as_ref().map_or(bow, |(_, last)| last);
        let mut alone = Vec::new();
        for (k, file) in files.iter().enumerate() {
            let (on_disk, near) = (&bow.alone()[k], &near.alone()[k]);
            let unread = |unread: Unread| Refusal::Faults(file.marked(answers::unread(&unread)));
            let text = on_disk.rewritten(&wanted[k]).map_err(unread)?;
            let job = if text == on_disk.text() { Ok(on_disk.clone()) } else { near.of_text(&text) };
            alone.push(job.map_err(unread)?);
        }
        let as_on_disk = alone.iter().zip(bow.alone()).all(|(tried, on_disk)| tried.text() == on_disk.text());
        let tried = if as_on_disk { bow.clone() } else { self.beside(alone)? };
        tried.one_draw().map_err(|found| self.refused(&tried, &found))?;
        self.tried = Some((changes.to_vec(), tried.clone()));
        Ok(tried)
    }

    /// The bow of these jobs.
    fn beside(&self, alone: Vec<Job>) -> Result<BowJobs, Refusal> {
        BowJobs::of(alone).map_err(|unread| Refusal::Faults(answers::unread(&unread)))
    }

    /// What the bow does with these values: what is wanted while a hand moves. `shown` is the limb whose curves are wanted, where they differ.
    pub fn look(&mut self, changes: &[Tried], at: LookAt) -> Result<Look, Refusal> {
        let tried = self.tried(changes)?;
        let file = if changes.is_empty() { None } else { Some(self.file_bow()?) };
        let files = tried.files(&self.of_both);
        let look = match tried.both(&self.of_both) {
            None => answers::look(tried.bow(), file.map(BowJobs::bow), at).map_err(of_upper),
            Some(both) => two_limbs::look(both, file, at),
        };
        let look = look.map_err(|found| self.refused(&tried, &found))?;
        let of_tries = |file: &FileJob<'_>| {
            let wanted = |key: &str| changes.iter().any(|change| change.key == file.key(key));
            file.these(levers_where(file.job, wanted))
        };
        let values = files.iter().flat_map(of_tries).filter_map(|lever| Some((lever.key.clone(), lever.value()?))).collect();
        Ok(Look { values, ..look })
    }

    /// The rest, once the hand rests.
    pub fn whole(&mut self, changes: &[Tried]) -> Result<AllShown, Refusal> {
        let tried = self.tried(changes)?;
        let whole = match tried.both(&self.of_both) {
            None => answers::whole(tried.bow()).map_err(of_upper),
            Some(both) => two_limbs::whole(both),
        };
        whole.map_err(|found| self.refused(&tried, &found))
    }

    /// What arrows leave with, once the hand rests longer: it costs more than all the rest.
    pub fn shot(&mut self, changes: &[Tried]) -> Result<ShotShown, Refusal> {
        let tried = self.tried(changes)?;
        let file = if changes.is_empty() { None } else { Some(self.file_bow()?.bow()) };
        speeds::shot(tried.bow(), file).map_err(|found| self.refused(&tried, &of_upper(found)))
    }

    /// The glue-up with these values.
    pub fn glue(&mut self, changes: &[Tried]) -> Result<GlueTold, Refusal> {
        let tried = self.tried(changes)?;
        let glue = match tried.both(&self.of_both) {
            None => answers::glue(tried.bow()).map(|glue| GlueTold::One(Box::new(glue))).map_err(of_upper),
            Some(both) => two_limbs::glue(both),
        };
        glue.map_err(|found| self.refused(&tried, &found))
    }

    /// The lines that a keep would change.
    pub fn lines(&mut self, changes: &[Tried]) -> Result<Vec<Line>, Refusal> {
        let tried = self.tried(changes)?;
        let several = 1 < self.files.len();
        let of_file = |(file, job): (&BowFile, &Job)| {
            let before: Vec<&str> = file.text.lines().collect();
            let after: Vec<&str> = job.text().lines().collect();
            let name = file.name();
            let placed = move |line: Line| if several { Line { place: format!("{name}, {}", line.place), ..line } } else { line };
            changed_lines(&before, &after).into_iter().map(placed).collect::<Vec<_>>()
        };
        Ok(self.files.iter().zip(tried.alone()).flat_map(of_file).collect())
    }

    /// Writes what is tried into the file that it belongs to, into both where both change; if their texts are still those with this hash.
    pub fn keep(&mut self, changes: &[Tried], hash: &str) -> Result<Vec<Line>, Refusal> {
        let lines = self.lines(changes)?;
        let texts: Vec<String> = self.tried(changes)?.alone().iter().map(|job| job.text().to_owned()).collect();
        let before = self.write(texts, hash)?;
        if self.before.len() == MAX_KEPT {
            self.before.remove(0);
        }
        self.before.push(before);
        Ok(lines)
    }

    /// Takes the last keep back, if the files are still as that keep left them.
    pub fn take_back(&mut self, hash: &str) -> Result<(), Refusal> {
        let before =
            self.before.last().cloned().ok_or_else(|| Refusal::Cannot("nothing was kept since the bench was opened".into()))?;
        // What another hand did to the other file since then stays.
        let texts = before.into_iter().zip(&self.files).map(|(before, file)| before.unwrap_or_else(|| file.text.clone()));
        self.write(texts.collect(), hash)?;
        self.before.pop();
        Ok(())
    }

    /// Writes a text for each file, all or none of them; what those that changed held before.
    fn write(&mut self, texts: Vec<String>, hash: &str) -> Result<Vec<Option<String>>, Refusal> {
        let no_file = || Refusal::Cannot("this bow has no file yet: give it a name first".into());
        let paths: Vec<PathBuf> = self.files.iter().map(|file| file.path.clone()).collect::<Option<_>>().ok_or_else(no_file)?;
        self.look_at_disk();
        if self.hash() != hash {
            return Err(Refusal::Moved(self.hash()));
        }
        // A keep of one limb leaves the other's file alone. Of one file even an equal text is written, so that a disk that refuses says so.
        let alone = self.files.len() == 1;
        let changes: Vec<bool> = self.files.iter().zip(&texts).map(|(file, text)| alone || file.text != *text).collect();
        let all = paths.iter().zip(&self.files).zip(&texts).zip(&changes).filter(|(_, changes)| **changes);
        let all: Vec<(&Path, &[u8], &[u8])> =
            all.map(|(((path, file), text), _)| (path.as_path(), file.text.as_bytes(), text.as_bytes())).collect();
        folder::replace_all(&all)?;
        let written = self.files.iter_mut().zip(texts).zip(changes);
        let before = written.map(|((file, text), changes)| {
            changes.then(|| {
                let before = file.text.clone();
                file.take(text);
                before
            })
        });
        let before = before.collect();
        self.put_together();
        Ok(before)
    }

    /// Puts a new bow on the bench: a starter, or an example; it has no file until it is named.
    pub fn begin(&mut self, text: String) -> Result<(), Refusal> {
        if self.file().path.is_some() {
            return Err(Refusal::Cannot("there is a build file on the bench already".into()));
        }
        self.files[0].take(text);
        self.put_together();
        self.aside.clear();
        let faults = self.faults();
        if faults.is_empty() { Ok(()) } else { Err(Refusal::Faults(faults)) }
    }

    /// Writes the bow that has no file yet, what is tried included, under a plain name in the folder where the program was started;
    /// never over a file that is there.
    pub fn name_it(&mut self, name: &str, changes: &[Tried]) -> Result<String, Refusal> {
        if self.file().path.is_some() {
            return Err(Refusal::Cannot("this bow has a file already".into()));
        }
        let stem = crate::model::lamination::file_name(name.trim().trim_end_matches(".toml"));
        let path = self.file().folder.join(format!("{stem}.toml"));
        let text = self.tried(changes)?.bow().text().to_owned();
        folder::create(&path, text.as_bytes())?;
        self.files[0].path = Some(path);
        self.files[0].take(text);
        self.put_together();
        Ok(self.name())
    }

    /// Sets what is tried aside under a name; one of the same name gives way.
    pub fn set_aside(&mut self, name: &str, changes: &[Tried]) -> Result<(), Refusal> {
        let name = name.trim().chars().filter(|letter| !letter.is_control()).take(60).collect::<String>();
        if name.is_empty() {
            return Err(Refusal::Cannot("give the try a name".into()));
        }
        let tried = self.tried(changes)?;
        let short = match tried.both(&self.of_both) {
            None => answers::in_short(tried.bow()).map_err(of_upper),
            Some(both) => two_limbs::in_short(both),
        };
        let InShort { weight, hardest } = short.map_err(|found| self.refused(&tried, &found))?;
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
}

/// Faults of the one file there is, or of the limb that speaks for both.
pub(super) fn of_upper(found: Refused) -> LimbFaults {
    LimbFaults { limb: LimbSide::Upper, faults: found.faults }
}
