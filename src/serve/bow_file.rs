//! One build file on the bench: its text as it is on the disk, and what it last made.

use super::answers::{self, Told};
use crate::folder;
use crate::job::{Inputs, Job, Named, hash};
use std::path::{Path, PathBuf};

/// A build file, or a bow that has none yet.
#[derive(Debug)]
pub struct BowFile {
    /// The file's folder, or where the program was started: paths in the file start from there.
    pub folder: PathBuf,
    pub path: Option<PathBuf>,
    /// The text on the disk, or what a new bow would be written as.
    pub text: String,
    /// The texts that it names, finished bows for one.
    named: Named,
    /// The last text that made a job, as its job.
    pub job: Option<Job>,
    /// Why the text makes none.
    pub faults: Vec<Told>,
}

impl BowFile {
    pub fn new(folder: PathBuf, path: Option<PathBuf>) -> BowFile {
        BowFile { folder, path, text: String::new(), named: Named::default(), job: None, faults: Vec::new() }
    }

    /// The same with the file's text, where there is a file.
    pub fn read(mut self) -> Result<BowFile, String> {
        if let Some(path) = &self.path {
            let text = folder::read_text(path).map_err(|error| format!("{}: {error}", path.display()))?;
            self.take(text);
        }
        Ok(self)
    }

    /// The file's name for messages.
    pub fn name(&self) -> String {
        self.path.as_deref().map_or("new bow".into(), name_of)
    }

    /// Hash of the text on the disk.
    pub fn hash(&self) -> String {
        hash::fnv1a(self.text.as_bytes())
    }

    /// Takes a text; the last good job stays where it makes none.
    pub fn take(&mut self, text: String) {
        self.named = folder::named_texts(&self.folder, &text);
        match Job::read(&self.name(), &text, Inputs { named: self.named.clone(), ..Inputs::default() }) {
            Ok(job) => {
                self.faults = Vec::new();
                self.job = Some(job);
            }
            Err(unread) => self.faults = answers::unread(&unread),
        }
        self.text = text;
    }

    /// Looks at the disk: whether the file's text, or one that it names, is another one now. A file that is gone leaves what is on the bench.
    pub fn look_at_disk(&mut self) -> bool {
        let Some(path) = &self.path else { return false };
        match folder::read_text(path) {
            Ok(text) if text != self.text => {
                self.take(text);
                true
            }
            Err(error) => {
                let told = Told::of_file(format!("{}: {error}; what is on the bench is the last that was read", self.name()));
                let new = !self.faults.contains(&told);
                self.faults = vec![told];
                new
            }
            Ok(_) => {
                // A file that was gone and came back as it was; or a finished bow that it names is another one now.
                let other = self.faults.iter().any(Told::is_of_file)
                    || (self.named != Named::default() && self.named != folder::named_texts(&self.folder, &self.text));
                if other {
                    self.take(self.text.clone());
                }
                other
            }
        }
    }
}

/// Whether two paths lead to one file.
pub fn is_same(one: &Path, other: &Path) -> bool {
    matches!((one.canonicalize(), other.canonicalize()), (Ok(one), Ok(other)) if one == other)
}

/// A path's folder, resolved; where the program was started for a bare name or none.
pub fn folder_of(path: Option<&Path>) -> Result<PathBuf, String> {
    let folder = path.and_then(Path::parent).filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    folder.canonicalize().map_err(|error| format!("{}: {error}", folder.display()))
}

/// A path's last part.
pub fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}
