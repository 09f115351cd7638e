//! The program run as a shell would.

use assert_cmd::Command;
use serde_json::Value;
use std::process::Output;

pub fn program(args: &[&str]) -> Output {
    Command::cargo_bin("taperwright").unwrap().args(args).output().unwrap()
}

/// What it prints where it succeeds.
pub fn json(args: &[&str]) -> Value {
    let output = program(args);
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}
