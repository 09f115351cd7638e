//! The files that `make` makes, from the bench: the folder filled whole or not at all, and one file at a time for the page that reads it.

use super::desk::{Desk, Refusal, of_upper};
use crate::folder::{self, Filling, NotFilled, Others, OutFile};
use crate::job::{Files, Job, LimbFaults, Refused, unmakeable};
use crate::model::limb::LimbSide;
use std::path::PathBuf;

impl Desk {
    /// Makes the files of the build file as it is on the disk, into the folder that `make` would take where this program was started;
    /// their names.
    pub fn make(&mut self, mut progress: impl FnMut(usize, usize)) -> Result<Vec<String>, Refusal> {
        self.file_bow()?;
        let out = self.out().ok_or_else(|| Refusal::Cannot("give the bow a file first".into()))?;
        let folders = self.folders()?;
        let unmade = |desk: &Desk, folder: &str, found: Refused| desk.unmade(folder, found);
        let mut lists = Vec::new();
        for (folder, job) in &folders {
            lists.push((folder, job.files().map_err(|found| unmade(self, folder, found))?));
        }
        let in_folder = |(folder, files): &(&String, Files<'_>)| -> Vec<String> {
            files.names().map(|name| format!("{folder}{name}")).collect()
        };
        let names: Vec<String> = lists.iter().flat_map(in_folder).collect();
        let mut filling = Filling::begin(&self.started.join(out))?;
        let mut done = 0;
        for (folder, files) in &lists {
            let all: Vec<usize> = (0..files.names().count()).collect();
            let mut one = |number: &usize| {
                progress(done + number, names.len());
                files.bytes(*number)
            };
            let filled = filling.add_from(folder, files, &all, |some| some.iter().map(&mut one).collect());
            filled.map_err(|why| match why {
                NotFilled::Unmade(found) => unmade(self, folder, found),
                NotFilled::Folder(fault) => fault.into(),
            })?;
            done += all.len();
        }
        filling.finish(Others::Remove)?;
        progress(names.len(), names.len());
        Ok(names)
    }

    /// What `make` fills: one folder; of two different limbs what both share, and what each has for itself.
    fn folders(&mut self) -> Result<Vec<(String, Job)>, Refusal> {
        if let Some(folders) = &self.folders {
            return Ok(folders.clone());
        }
        let bow = self.file_bow()?;
        let folders = match bow.two() {
            None => vec![(String::new(), bow.bow().clone())],
            Some([upper, lower]) => {
                bow.one_draw().map_err(|found| self.refused(bow, &found))?;
                if let Some(found) = unmakeable(upper, lower) {
                    return Err(self.refused(bow, &found));
                }
                let folders = Job::folders_of_two(upper, lower).map_err(|found| self.refused(bow, &of_upper(found)))?;
                folders.into_iter().map(|part| (format!("{}/", part.name), part.job)).collect()
            }
        };
        self.folders = Some(folders.clone());
        Ok(folders)
    }

    /// Why a file of this folder was not made.
    fn unmade(&self, folder: &str, found: Refused) -> Refusal {
        let limb = if folder.strip_suffix('/') == Some(LimbSide::Lower.word()) { LimbSide::Lower } else { LimbSide::Upper };
        match self.file_bow() {
            Ok(bow) => self.refused(bow, &LimbFaults { limb, faults: found.faults }),
            Err(refusal) => refusal,
        }
    }

    /// Where `make` goes, from where the program was started.
    pub(super) fn out(&self) -> Option<PathBuf> {
        Some(folder::out(self.file().path.as_ref()?))
    }

    /// One file of the build by its number, made anew.
    pub fn made_file(&mut self, number: usize) -> Result<OutFile, Refusal> {
        let mut before = 0;
        for (folder, job) in &self.folders()? {
            let files = job.files().map_err(|found| self.unmade(folder, found))?;
            if let Some(name) = files.names().nth(number - before) {
                let bytes = files.bytes(number - before).map_err(|found| self.unmade(folder, found))?;
                return Ok(OutFile { path: format!("{folder}{name}"), bytes });
            }
            before += files.names().count();
        }
        Err(Refusal::Cannot("there is no such file".into()))
    }
}
