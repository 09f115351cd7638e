//! Closeness of figures.

/// As near as a part of what is expected.
pub fn close(what: &str, value: f64, expected: f64, relative: f64) {
    assert!((value - expected).abs() <= relative * expected.abs(), "{what}: {value} is not {expected}");
}
