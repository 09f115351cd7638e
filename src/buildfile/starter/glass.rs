//! The starter with glass on both faces: two cores between strips of unidirectional glass, the belly's climbing the riser.
//!
//! Glass comes in a few thicknesses and is not ground, so that the cores reach the weight. What both glasses and both cores come to at the
//! butt follows
//!
//! ```text
//! T = 0.4225 in ((W + finishing) / 45 lbf / u)^0.361 (L / 66 in)^1.545 (D / 28 in)^-0.542 (g / 0.040 in)^-0.131
//! ```
//!
//! with `g` the glass and the other letters of `starter.rs`, and the hardest part, a core, works at the share of its breaking strain
//!
//! ```text
//! e = 0.702 ((W + finishing) / 45 lbf)^0.481 (L / 66 in)^-0.660 (D / 28 in)^0.245 (g / 0.040 in)^-0.419
//! u = (e / 0.88)^2.08, between 1 and 1.5
//! ```
//!
//! Both were fitted to what `size` makes of this scenario in 30 bows, 60 to 74 in long, 25 to 65 lbf, drawn 25 to 31 in: within half a
//! percent of `T` and 1.3 percent of `e`.

use super::{
    Numbers, Remarks, SOUND, Starter, TIP, TRIMMED_IN, WIDEST, ground, lamination, sizes, whole_length, whole_weight, widest_in,
};
use crate::units::{N_PER_LBF, System, fixed, trim_zeros};

/// Thicknesses of bow glass as it is sold, inches and millimetres, and the draw weight up to which each is taken, lbf. Common practice, no
/// source. Thinner on a strong bow, and the cores work harder; thicker on a light one, and little is left for them.
const SOLD: [(&str, &str, f64); 3] = [("0.030", "0.8", 32.0), ("0.040", "1.0", 60.0), ("0.050", "1.2", f64::INFINITY)];

/// The name of the lamination that climbs the riser.
pub(super) const BELLY: &str = "belly glass";
/// Where it ends on the fade, in from the centre.
const BELLY_FROM_IN: f64 = 3.0;

/// Of each core.
const CORE_RATE: f64 = 0.0015;
/// Thinner at the butt, with that taper, a core is thinner at its tip than a drum takes, in.
const THINNEST_CORE_IN: f64 = 0.07;

/// The glass as it is written.
fn sold(options: &Starter) -> &'static str {
    let weight_lbf = options.draw_weight_n / N_PER_LBF;
    let (inch, metric, _) = SOLD.into_iter().find(|(.., max)| weight_lbf <= *max).unwrap_or(SOLD[SOLD.len() - 1]);
    if options.units == System::Inch { inch } else { metric }
}

/// The same in inches.
fn glass_in(options: &Starter) -> f64 {
    let written: f64 = sold(options).parse().expect("the table holds numbers");
    System::Inch.length(options.units.to_mm(written))
}

/// `u` of this file's head.
pub(super) fn width_factor(options: &Starter) -> f64 {
    let fraction = 0.702 * whole_weight(options).powf(0.481) * sizes(options, -0.66, 0.245) * glass_to(options, -0.419);
    (fraction / SOUND).powf(2.08).clamp(1.0, WIDEST)
}

/// A power of the glass over 0.040 in.
fn glass_to(options: &Starter, power: f64) -> f64 {
    (glass_in(options) / 0.040).powf(power)
}

/// One core at the butt, in.
fn core_in(options: &Starter) -> f64 {
    let weight = whole_weight(options).max(0.01) / width_factor(options);
    let all = 0.4225 * weight.powf(0.361) * sizes(options, 1.545, -0.542) * glass_to(options, -0.131);
    (0.5 * all - glass_in(options)).max(THINNEST_CORE_IN)
}

/// From back to belly.
pub(super) fn laminations(options: &Starter, numbers: Numbers) -> Vec<String> {
    let (glass, core) = (sold(options), core_in(options));
    let beyond: f64 = numbers.pick(TIP.0, TIP.1).parse().expect("a number");
    let end = trim_zeros(&fixed(0.5 * whole_length(options) + beyond, 3));
    let stock = format!("stock = {{ width = {} }}", numbers.width(widest_in(options) + TRIMMED_IN));
    let from = numbers.along(BELLY_FROM_IN);
    let wood = || "wood = \"glass, unidirectional\"".to_owned();
    vec![
        lamination(&[
            ("name = \"back glass\"".into(), "glass stays as it is bought: its faces are never ground"),
            (wood(), "an average strip; better the maker's sheet, as [[wood]]"),
            (format!("ground = [[0, {glass}], [{end}, {glass}]]"), "[distance from the centre, thickness]; measure yours"),
            ("pieces = \"full\"".into(), ""),
            (stock.clone(), ""),
        ]),
        ground(
            options,
            numbers,
            &("core 1", "maple, sugar", core, CORE_RATE, "the cores reach the weight; two are easier to match than one"),
            "halves",
            Remarks::All,
        ),
        ground(options, numbers, &("core 2", "maple, sugar", core, CORE_RATE, "the second core"), "halves", Remarks::Own),
        lamination(&[
            (format!("name = \"{BELLY}\""), "it climbs the riser"),
            (wood(), ""),
            (format!("from = {from}"), "it ends on the fade: the grip's shaping hides it"),
            (format!("ground = [[{from}, {glass}], [{end}, {glass}]]"), ""),
            ("pieces = \"halves\"".into(), ""),
            (stock, ""),
        ]),
    ]
}
