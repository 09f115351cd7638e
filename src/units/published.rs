//! How finely numbers are published: finer than whoever reads them can tell apart, coarser than the last bits in which mathematics
//! libraries differ. None is ever `-0.0`.
//!
//! | of what | decimals | by | because |
//! |---|---|---|---|
//! | lengths, forces, stresses, angles, ratios | 4 | [`round`] | a ten-thousandth is finer than any shop measures |
//! | strains, tapers | 8 | [`round_fine`] | they are a thousand times smaller than lengths, and differ by their fourth figure |
//! | what a log's readings come to | 6 | [`round_found`] | factors and their bands are added up over many bows |
//! | points of a figure on a screen | 2 | [`round_point`] | it is looked at, not measured: finer than its lines |
//! | values with a source | its own | [`round_to`] | more figures than the source has would be made up |
//!
//! Whatever is shown is made from the published value. A number that were rounded for the report, and from there once more, would differ
//! from the same number rounded once.

/// Powers of ten that are exact, and more decimals than any file has.
pub(super) const POWERS: [f64; 11] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10];

/// As most numbers are published: to a ten-thousandth.
pub fn round(value: f64) -> f64 {
    round_to(value, 4)
}

/// A strain or a taper.
pub fn round_fine(value: f64) -> f64 {
    round_to(value, 8)
}

/// What is found from a log's readings.
pub fn round_found(value: f64) -> f64 {
    round_to(value, 6)
}

/// A coordinate of a figure on a screen.
pub fn round_point(value: f64) -> f64 {
    round_to(value, 2)
}

/// To so many decimals, ten at the most.
pub fn round_to(value: f64, decimals: usize) -> f64 {
    let per_unit = POWERS[decimals];
    (value * per_unit).round() / per_unit + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_rounds_to_nothing_has_no_sign() {
        let woods = |decimals| move |value| round_to(value, decimals);
        let all: [&dyn Fn(f64) -> f64; 8] =
            [&round, &round_fine, &round_found, &round_point, &woods(0), &woods(1), &woods(3), &woods(5)];
        for rounded in all {
            for value in [-1e-12, -0.0, 0.0, 1e-12] {
                assert_eq!(rounded(value).to_bits(), 0.0_f64.to_bits(), "{value}");
            }
            assert_eq!(rounded(-2.0), -2.0);
        }
    }

    #[test]
    fn to_the_nearest_step() {
        assert_eq!(
            [round(0.123_456_789), round_fine(0.123_456_789_1), round_found(-0.123_456_789)],
            [0.1235, 0.123_456_79, -0.123_457]
        );
        assert_eq!([round_point(0.126), round_to(1_234.5, 0), round_to(0.009_876, 5)], [0.13, 1_235.0, 0.009_88]);
    }
}
