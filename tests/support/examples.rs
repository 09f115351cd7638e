//! The examples of the repository: where one stands, its text, and what is read of it.

use std::path::{Path, PathBuf};
use taperwright::buildfile;
use taperwright::job::{Inputs, Job};
use taperwright::model::Build;

/// The repository.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Of a file among the examples, such as `meadow.toml`.
pub fn path(file: &str) -> PathBuf {
    root().join("examples").join(file)
}

/// Of a build file by its name alone, such as `meadow`; so all that follows.
pub fn text(name: &str) -> String {
    std::fs::read_to_string(path(&format!("{name}.toml"))).unwrap_or_else(|fault| panic!("{name}: {fault}"))
}

pub fn build(name: &str) -> Build {
    buildfile::read(&format!("{name}.toml"), &text(name)).1.unwrap_or_else(|faults| panic!("{name}: {}", faults[0])).value
}

pub fn job(name: &str) -> Job {
    Job::read(&format!("{name}.toml"), &text(name), Inputs::default()).unwrap_or_else(|unread| panic!("{name}: {unread}"))
}
