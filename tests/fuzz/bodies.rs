//! What each fuzz target does with its bytes: a reader reads them, and whatever it says of them is shown. Nothing may panic.
#![allow(dead_code, reason = "each target uses one of these")]

use taperwright::buildfile::{self, Source};
use taperwright::diag::{self, Diagnostic, Screen};
use taperwright::model::Build;
use taperwright::units::{self, Quantity, System};
use taperwright::write::{dxf_read, tile::Printed};

/// A build file, and its faults or warnings with their lines.
pub fn build_file(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let (source, outcome) = buildfile::read("build.toml", &text);
    match outcome {
        Ok(reported) => shown(&source, &reported.warnings),
        Err(faults) => {
            assert!(!faults.is_empty(), "refused without a word");
            shown(&source, &faults);
        }
    }
}

/// A shop log of the main example.
pub fn log(bytes: &[u8]) {
    thread_local! {
        static BUILD: Build = buildfile::read("meadow.toml", include_str!("../../examples/meadow.toml")).1.expect("reads").value;
    }
    let text = String::from_utf8_lossy(bytes);
    BUILD.with(|build| {
        let (source, outcome) = buildfile::read_log("log.toml", &text, build);
        match outcome {
            Ok(reported) => shown(&source, &reported.warnings),
            Err(faults) => shown(&source, &faults),
        }
    });
}

/// A number with its unit, as build file and command line take it.
pub fn value(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for system in [System::Inch, System::Millimetre] {
        for quantity in [Quantity::Length, Quantity::Force, Quantity::Angle, Quantity::Rate, Quantity::Modulus, Quantity::Time] {
            if let Ok(value) = units::read(&text, quantity, system) {
                assert!(value.is_finite(), "{text:?} is read as {value}");
            }
        }
    }
    let _ = Printed::read(&text);
}

/// A cut file, read back as the proof of a sled reads its own.
pub fn cut_file(bytes: &[u8]) {
    if let Ok(read) = dxf_read::read(bytes) {
        assert!(read.paths.iter().all(|path| path.path.closed));
    }
}

fn shown(source: &Source, diagnostics: &[Diagnostic]) {
    for system in [System::Inch, System::Millimetre] {
        let spoken: Vec<Diagnostic> = diagnostics.iter().map(|diagnostic| diagnostic.spoken(system)).collect();
        let _ = diag::render_on(&spoken, source, Screen { colour: system == System::Inch, columns: None });
    }
}
