//! A commented build file to start from.

use crate::units::{Quantity, System, fixed, trim_zeros};

/// What the builder said about the new bow; lengths in mm, force in N.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    pub units: System,
    pub title: String,
    pub nock_to_nock_mm: f64,
    pub draw_weight_n: f64,
    pub draw_length_mm: f64,
}

/// The text of a build file for a straight three-lamination flatbow of that size. It reads without a fault.
pub fn starter(start: &Start) -> String {
    let s = start.units;
    let inch = s == System::Inch;
    // A length that is round in either system.
    let l = |inches: f64, mm: f64| if inch { trim_zeros(&fixed(inches, 4)) } else { trim_zeros(&fixed(mm, 2)) };
    let given = |mm: f64| trim_zeros(&fixed(s.length(mm), if inch { 3 } else { 1 }));
    let half = 0.5 * start.nock_to_nock_mm;
    // Stations of the outline keep their share of the limb's length.
    let at = |share: f64| {
        let step = if inch { 0.5 } else { 5.0 };
        trim_zeros(&fixed((s.length(share * half) / step).round() * step, 2))
    };
    let force = trim_zeros(&fixed(start.draw_weight_n / Quantity::Force.bare_factor(s), 1));
    format!(
        r##"# {title}: a build file for taperwright. Lines after # are remarks.
# Bare numbers are in the units named below; in quotes a number may carry its own: "1 5/8 in", "19 mm", "42 lbf".

title = "{title}"
units = "{unit}"

[target]
draw_weight  = "{force} {force_unit}"           # the finished bow
draw_length  = {draw}                 # to the trade's standard: pivot point + 1 3/4 in
brace_height = {brace}
finishing    = "{finishing}"             # kept in hand for sanding, finish and set

[outline]                             # seen from the back; stations from the bow's centre
nock_to_nock    = {length}
width           = [[0, {w0}], [{s1}, {w0}], [{s2}, {w2}], [{s3}, {w3}], [{s4}, {w4}]]   # [station, full width]
between         = "straight"          # straight | smooth
tip_beyond_nock = {beyond}
nock            = {{ depth = {nock}, angle = "40 deg" }}

[riser]
on      = "belly"                     # the lamination that climbs it; "last" if it lies under all
length  = {riser}                     # feather to feather
level   = {level}                     # full depth in the middle
depth   = {depth}
fade    = "arc"                       # arc | arc-and-flat | eased
feather = {feather}
overrun = {riser_overrun}                       # blank beyond the template, each end
across  = [["walnut, black", {slice}], ["maple, sugar", {stripe}], ["walnut, black", {slice}]]

# Laminations, back to belly. `taper` is thickness lost per unit of length, from the butt at the bow's centre:
# a number, {{ flat = .., then = .. }}, {{ tip = .. }} or {{ stations = [[.., ..], ..] }}.

[[lamination]]
name      = "back"
wood      = "hickory, shagbark"       # `taperwright woods` lists the known ones
thickness = {back}
taper     = 0.001
pieces    = "halves"                  # halves: a matched pair | full: one strip, tip to tip
keep_face = "back"                    # this face is not ground
stock     = {{ thickness = {back_stock}, width = {stock_width}, overrun = {overrun} }}
stage     = 1

[[lamination]]
name      = "core"
wood      = "maple, sugar"
thickness = {core}
taper     = 0.002
pieces    = "halves"
stock     = {{ thickness = {core_stock}, width = {stock_width}, overrun = {overrun} }}
stage     = 1

[[lamination]]
name      = "belly"
wood      = "locust, black"
thickness = {belly}
taper     = {{ flat = {flat}, then = 0.0015 }}
pieces    = "halves"
stock     = {{ thickness = {belly_stock}, width = {stock_width}, overrun = {overrun} }}
stage     = 1
# A strip that is ground already is held as it is: take thickness, taper and stock out, and write
# ground = [[0, 0.181], [16, 0.149], ...]

[sizing]                              # what may change to reach the draw weight
change = ["core"]
how    = "thickness"                  # thickness | taper | both

[glue]
line = {glue}                        # a cured glue line

[[glue.stage]]
number     = 1
held       = "flat"                   # "flat" | {{ props = 2, at = 32 }} | {{ form = [[0, 0], [33, -2]] }}; reflex is negative

[sander]                              # the machine maker's manual comes first
cutter   = "drum"
feed     = "{feed}"
gap_step = {gap_step}                     # the finest step you can set
crank    = {crank}                    # change of the gap per turn
papers   = [{{ grit = 60, most = {p60} }}, {{ grit = 80, most = {p80} }}]   # deepest cut per pass in hard maple
together = 2                          # strips side by side

[sled]
make      = "ramp"                    # ramp | solid | shims | raised-end
base      = {base}                     # height under the butt
tolerance = {tolerance}
run_on    = {run_on}                       # sled beyond the strip, so that snipe falls on the sled
sheet     = {{ material = "birch plywood", thickness = {sheet}, width = {sheet_w}, length = {sheet_l} }}   # measure the sheet

[shop]
cutter = {{ laser = {{ kerf = {kerf}, bed = [{bed_x}, {bed_y}] }} }}   # or {{ router = {{ bit = .., bed = [.., ..] }} }} or "hand"
paper  = "{paper}"
shims  = [{{ of = "clear packing tape", thickness = {tape} }}, {{ of = "masking tape", thickness = {masking} }}]
"##,
        title = start.title,
        unit = s.length_unit(),
        force_unit = s.force_unit(),
        draw = given(start.draw_length_mm),
        brace = l(6.5, 165.0),
        finishing = if inch { "3 lbf" } else { "14 N" },
        length = given(start.nock_to_nock_mm),
        w0 = l(1.125, 29.0),
        s1 = at(0.09),
        s2 = at(0.27),
        w2 = l(1.6, 40.0),
        s3 = at(0.6),
        w3 = l(1.4, 36.0),
        s4 = given(half),
        w4 = l(0.5, 13.0),
        beyond = l(0.75, 18.0),
        nock = l(0.125, 3.0),
        riser = l(16.0, 410.0),
        level = l(5.0, 130.0),
        depth = l(1.5, 38.0),
        feather = l(0.012, 0.3),
        riser_overrun = l(0.5, 12.0),
        slice = l(0.6, 15.0),
        stripe = l(0.06, 1.5),
        back = l(0.13, 3.3),
        back_stock = l(0.17, 4.3),
        core = l(0.17, 4.3),
        core_stock = l(0.22, 5.6),
        belly = l(0.16, 4.0),
        belly_stock = l(0.21, 5.3),
        flat = l(8.0, 200.0),
        stock_width = l(1.75, 45.0),
        overrun = l(0.75, 20.0),
        glue = l(0.003, 0.08),
        feed = if inch { "10 ft/min" } else { "3 m/min" },
        gap_step = l(0.002, 0.05),
        crank = l(0.0625, 1.5),
        p60 = l(0.012, 0.3),
        p80 = l(0.006, 0.15),
        base = l(1.0, 25.0),
        tolerance = l(0.001, 0.03),
        run_on = l(3.0, 80.0),
        sheet = l(0.236, 6.0),
        sheet_w = l(24.0, 600.0),
        sheet_l = l(48.0, 1200.0),
        kerf = l(0.008, 0.2),
        bed_x = l(20.0, 600.0),
        bed_y = l(12.0, 400.0),
        paper = if inch { "letter" } else { "a4" },
        tape = l(0.002, 0.05),
        masking = l(0.005, 0.13),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::buildfile::read;

    #[test]
    fn reads_without_a_fault_in_both_systems_and_many_sizes() {
        for (units, nock_to_nock_mm) in
            [(System::Inch, 1676.4), (System::Inch, 1524.0), (System::Millimetre, 1680.0), (System::Millimetre, 1900.0)]
        {
            let start = Start { units, title: "Trial".into(), nock_to_nock_mm, draw_weight_n: 190.0, draw_length_mm: 711.0 };
            let text = starter(&start);
            let (_, outcome) = read("trial.toml", &text);
            let build = outcome.unwrap_or_else(|faults| panic!("{units:?} {nock_to_nock_mm}: {}\n{text}", faults[0]));
            assert!(build.warnings.is_empty(), "{:?}", build.warnings);
            assert_eq!(build.value.laminations.len(), 3);
            assert!((build.value.outline.unwrap().nock_to_nock_mm - nock_to_nock_mm).abs() < 0.1);
        }
    }
}
