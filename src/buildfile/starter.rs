//! The commented build file to start from: every table, each key in plain words, with numbers that read without a fault.
//!
//! The stack is a first guess that `taperwright size` puts right. Its thickness follows
//!
//! ```text
//! k = k0 (W / 45 lbf / u)^(1/3) (L / 66 in)^a (D / 28 in)^b
//! ```
//!
//! with `W` the draw weight, `L` the length nock to nock and `D` the draw length; `k` multiplies the thickness of each
//! lamination of a 66 in bow. `k0`, `a`, `b` were fitted to a large-deflection limb model of the two scenarios below, 58 to
//! 78 in long and drawn 25 to 30 in (computed independently; wood alone scatters more than the fit).
//!
//! `u` multiplies the limb's widths, so that no part works harder than a sound design lets it: strain goes with thickness, and a wider limb is
//! thinner at the same weight. Of the scenario as it stands the hardest part works at the share of its breaking strain
//!
//! ```text
//! e = e0 ((W + finishing) / 45 lbf)^(1/3) (L / 66 in)^c (D / 28 in)^d      u = (e / 0.88)³, between 1 and 1.5
//! ```
//!
//! fitted to the draw model of this program from 62 to 74 in and 26 to 30 in of draw. Where 1.5 does not do, the bow is too short for its
//! weight, and every command says so. With glass on both faces other numbers hold: `starter/glass.rs`.

mod glass;

use super::bow::LONGEST_TITLE;
use crate::drawing::kind::{Kind, LineTable};
use crate::units::{N_PER_LBF, System, fixed, trim_zeros};

/// What the starter is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Starter {
    pub title: String,
    pub units: System,
    /// Along the back, unstrung, mm.
    pub nock_to_nock_mm: f64,
    pub draw_weight_n: f64,
    /// To the trade's published standard, mm.
    pub draw_length_mm: f64,
    pub style: Style,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Wide in the inner limb, flat in section, the riser on the belly side.
    Flatbow,
    /// Narrow and deep, two cores, the riser on the belly side.
    Longbow,
    /// A longbow's two cores between glass on both faces; the belly's glass climbs the riser.
    Glass,
}

impl Style {
    pub const ALL: [Style; 3] = [Style::Flatbow, Style::Longbow, Style::Glass];

    /// The word for it on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Style::Flatbow => "flatbow",
            Style::Longbow => "longbow",
            Style::Glass => "glass",
        }
    }
}

impl Default for Starter {
    fn default() -> Self {
        Starter {
            title: "First flatbow".into(),
            units: System::Inch,
            nock_to_nock_mm: System::Inch.to_mm(68.0),
            draw_weight_n: 45.0 * N_PER_LBF,
            draw_length_mm: System::Inch.to_mm(28.0),
            style: Style::Flatbow,
        }
    }
}

/// The build file as text. It reads without a fault for bows of 48 to 80 in, 15 to 90 lbf and 20 to 32 in of draw; beyond
/// that, check what it reads as.
///
/// ```
/// use taperwright::buildfile::{read, starter, Starter};
/// let (_, outcome) = read("first.toml", &starter(&Starter::default()));
/// assert_eq!(outcome.unwrap().value.laminations.len(), 3);
/// ```
pub fn starter(options: &Starter) -> String {
    let numbers = Numbers { system: options.units };
    let text = [
        head(options),
        target(options, numbers),
        outline(options, numbers),
        riser(options, numbers),
        laminations(options, numbers),
        sizing_and_glue(options, numbers),
        machine(numbers),
        shop(numbers),
        lines(),
    ]
    .join("\n");
    text.lines().map(|line| aligned(line) + "\n").collect()
}

/// A lamination of the scenario at `k = 1`: name, wood, butt (in), taper, remark.
type StarterLayer = (&'static str, &'static str, f64, f64, &'static str);

const FLATBOW: &[StarterLayer] = &[
    ("back", "hickory, shagbark", 0.125, 0.0, "the back takes the pull: one strip from tip to tip, straight grain"),
    ("core", "maple, sugar", 0.150, 0.002, "the core carries the taper"),
    ("belly", "locust, black", 0.180, 0.002, "the belly takes the push"),
];

const LONGBOW: &[StarterLayer] = &[
    ("back", "hickory, shagbark", 0.125, 0.0, "the back takes the pull: one strip from tip to tip, straight grain"),
    ("core 1", "maple, sugar", 0.170, 0.002, "two cores are easier to bend and to match than one thick one"),
    ("core 2", "maple, sugar", 0.170, 0.002, "the second core"),
    ("belly", "locust, black", 0.180, 0.001, "the belly takes the push"),
];

/// `u` of this file's head.
fn width_factor(options: &Starter) -> f64 {
    let (e0, c, d) = match options.style {
        Style::Flatbow => (0.934, -1.0, 0.39),
        Style::Longbow => (0.992, -1.25, 0.44),
        Style::Glass => return glass::width_factor(options),
    };
    let fraction = e0 * whole_weight(options).cbrt() * sizes(options, c, d);
    (fraction / SOUND).powi(3).clamp(1.0, WIDEST)
}

/// What the limbs must draw before they are finished, over 45 lbf.
fn whole_weight(options: &Starter) -> f64 {
    options.draw_weight_n / (45.0 * N_PER_LBF) + FINISHING_LBF / 45.0
}

/// Kept in hand for finishing.
const FINISHING_LBF: f64 = 3.0;
/// Share of the breaking strain that the widths are laid out for: what the fit and rounding leave stays below the 0.95 of a sound design.
const SOUND: f64 = 0.88;
/// Wider than this a limb is a paddle.
const WIDEST: f64 = 1.5;

/// Powers of the length over 66 in and of the draw over 28 in.
fn sizes(options: &Starter, of_length: f64, of_draw: f64) -> f64 {
    let length = (options.nock_to_nock_mm / System::Inch.to_mm(66.0)).max(0.01);
    let draw = (options.draw_length_mm / System::Inch.to_mm(28.0)).max(0.01);
    length.powf(of_length) * draw.powf(of_draw)
}

/// `k` of this file's head, of a scenario fitted with `k0`, `a` and `b`.
fn thickness_factor(options: &Starter, (k0, a, b): (f64, f64, f64)) -> f64 {
    let weight = (options.draw_weight_n / (45.0 * N_PER_LBF)).max(0.01);
    k0 * (weight / width_factor(options)).cbrt() * sizes(options, a, b)
}

/// Scenario numbers, stated in inches, as round numbers of the file's system.
#[derive(Debug, Clone, Copy)]
struct Numbers {
    system: System,
}

impl Numbers {
    /// A length along the wood: to an eighth of an inch, or five millimetres.
    fn along(self, inch: f64) -> String {
        match self.system {
            System::Inch => trim_zeros(&fixed((inch * 8.0).round() / 8.0, 3)),
            System::Millimetre => fixed(5.0 * (System::Inch.to_mm(inch) / 5.0).round(), 0),
        }
    }

    /// A width: to a hundredth of an inch, or half a millimetre.
    fn width(self, inch: f64) -> String {
        match self.system {
            System::Inch => trim_zeros(&fixed(inch, 2)),
            System::Millimetre => trim_zeros(&fixed((2.0 * System::Inch.to_mm(inch)).round() / 2.0, 1)),
        }
    }

    /// A thickness: to a thousandth of an inch, or two hundredths of a millimetre.
    fn thickness(self, inch: f64) -> String {
        match self.system {
            System::Inch => fixed(inch, 3),
            System::Millimetre => fixed((50.0 * System::Inch.to_mm(inch)).round() / 50.0, 2),
        }
    }

    fn pick<'a>(self, inch: &'a str, metric: &'a str) -> &'a str {
        if self.system == System::Inch { inch } else { metric }
    }
}

fn head(options: &Starter) -> String {
    let clean: String = options.title.chars().filter(|c| !c.is_control()).take(LONGEST_TITLE).collect();
    let title = if clean.trim().is_empty() { "untitled".to_owned() } else { clean.replace('\\', "\\\\").replace('"', "\\\"") };
    let unit = options.units.length_unit();
    format!(
        r#"# A build file for taperwright: one bow, from target to shop. A remark begins with # and may be deleted.
# A number without a unit is in the file's units. A text in quotes may carry its own: "1 5/8 in", "19 mm", "42 lbf".
# `taperwright check` names every fault at once. What you leave out is filled in, and listed with its reason.

title = "{title}"
units = "{unit}"                      # in or mm
moisture = 10                     # of the wood when it is glued, in percent
"#
    )
}

fn target(options: &Starter, numbers: Numbers) -> String {
    let draw = match numbers.system {
        System::Inch => trim_zeros(&fixed(options.draw_length_mm / System::Inch.to_mm(1.0), 2)),
        System::Millimetre => fixed(options.draw_length_mm, 0),
    };
    // As it was asked for: a weight that is no tenth of a pound was given in newtons.
    let tenths = 10.0 * options.draw_weight_n / N_PER_LBF;
    let weight = match numbers.system {
        System::Millimetre if 1e-6 < (tenths - tenths.round()).abs() => {
            format!("{} N", trim_zeros(&fixed(options.draw_weight_n, 1)))
        }
        _ => format!("{} lbf", trim_zeros(&fixed(0.1 * tenths, 1))),
    };
    format!(
        r#"[target]                          # what the bow shall do
draw_weight = "{weight}"            # of the finished bow at full draw
draw_length = {draw}                  # pivot point to string, plus 1 3/4 in
draw_length_from = "standard"     # "pivot" if your figure goes to the pivot point only
brace_height = {brace}                # pivot point to the braced string
finishing = "{FINISHING_LBF} lbf"               # kept in hand for sanding, finish and set
"#,
        brace = numbers.pick("6.5", "165")
    )
}

fn outline(options: &Starter, numbers: Numbers) -> String {
    let (whole, half) = lengths(options);
    let half_in = options.nock_to_nock_mm / System::Inch.to_mm(2.0);
    // The grip fits the hand, and the tip the string: the limb between them is as wide as it must be.
    let u = width_factor(options);
    let points: &[(f64, f64)] = match options.style {
        Style::Flatbow => &[(0.0, 1.2), (0.08, 1.2), (0.25, widest_in(options)), (0.6, 1.5 * u)],
        Style::Longbow | Style::Glass => &[(0.0, 1.15), (0.25, widest_in(options))],
    };
    let mut pairs: Vec<String> =
        points.iter().map(|(part, width)| format!("[{}, {}]", numbers.along(part * half_in), numbers.width(*width))).collect();
    pairs.push(format!("[{half}, {}]", numbers.width(0.5)));
    format!(
        r#"[outline]                         # the bow seen from the back; half of it, the other half mirrors it
nock_to_nock = {whole}                # along the back, unstrung
width = [{pairs}]   # [distance from the centre, full width]
between = "straight"              # straight or smooth from one station to the next
tip_beyond_nock = {tip}            # wood beyond the string groove
nock = {{ depth = {nock}, angle = "40 deg" }}
"#,
        pairs = pairs.join(", "),
        tip = numbers.pick(TIP.0, TIP.1),
        nock = numbers.pick("0.125", "3")
    )
}

/// Where the limb is widest, in.
fn widest_in(options: &Starter) -> f64 {
    let scenario = match options.style {
        Style::Flatbow => 1.75,
        Style::Longbow | Style::Glass => 1.25,
    };
    scenario * width_factor(options)
}

/// Nock to nock and half of it, as written: the half is the whole's, so that the last station meets the nock.
fn lengths(options: &Starter) -> (String, String) {
    let whole = whole_length(options);
    (trim_zeros(&fixed(whole, 3)), trim_zeros(&fixed(0.5 * whole, 3)))
}

/// In the file's units, in round numbers of them.
fn whole_length(options: &Starter) -> f64 {
    match options.units {
        System::Inch => (options.nock_to_nock_mm / System::Inch.to_mm(1.0) * 4.0).round() / 4.0,
        System::Millimetre => options.nock_to_nock_mm.round(),
    }
}

/// Wood beyond the nock, in inches and millimetres.
const TIP: (&str, &str) = ("0.75", "20");
/// What comes off a strip at its edges, both together, in.
const TRIMMED_IN: f64 = 0.13;

fn riser(options: &Starter, numbers: Numbers) -> String {
    let (length, depth, on) = match options.style {
        Style::Flatbow => (16.0, 1.3, "last"),
        Style::Longbow => (14.0, 1.1, "last"),
        Style::Glass => (16.0, 1.1, glass::BELLY),
    };
    // A block to trim a little on either side of the limb.
    let strip = 0.1;
    let side = 0.5 * (widest_in(options) + 0.12 - strip);
    format!(
        r#"[riser]                           # the block in the middle
on = "{on}"                       # last: it lies under all laminations; or the name of the one that climbs it
length = {length}                       # feather to feather
level = {level}                         # full-depth length in the middle
depth = {depth}
fade = "arc"                      # arc, arc-and-flat or eased
feather = {feather}                    # thickness left where a fade runs out
overrun = {overrun}                     # blank beyond the template at each end, trimmed later
# Slices across the width, from one side to the other; with their glue lines they must cover the bow's width here.
across = [["walnut, black", {side}], ["maple, sugar", {strip}], ["walnut, black", {side}]]
"#,
        length = numbers.along(length),
        level = numbers.along(4.0),
        depth = numbers.width(depth),
        feather = numbers.pick("0.012", "0.3"),
        overrun = numbers.pick("0.5", "12"),
        side = numbers.width(side),
        strip = numbers.width(strip)
    )
}

fn laminations(options: &Starter, numbers: Numbers) -> String {
    let wooden = |layers: &[StarterLayer], k: f64| -> Vec<String> {
        let strip = |(index, layer): (usize, &StarterLayer)| {
            let (name, wood, butt, rate, remark) = *layer;
            let rate = (rate * k / RATE_STEP).round() * RATE_STEP;
            let pieces = if index == 0 { "full" } else { "halves" };
            let remarks = if index == 0 { Remarks::All } else { Remarks::Own };
            ground(options, numbers, &(name, wood, butt * k, rate, remark), pieces, remarks)
        };
        layers.iter().enumerate().map(strip).collect()
    };
    let all = match options.style {
        Style::Flatbow => wooden(FLATBOW, thickness_factor(options, (0.997, 1.64, -0.57))),
        Style::Longbow => wooden(LONGBOW, thickness_factor(options, (0.813, 1.48, -0.53))),
        Style::Glass => glass::laminations(options, numbers),
    };
    format!(
        "# The laminations, from back to belly. Thicknesses are a first guess: `taperwright size` solves them.\n\n{}",
        all.join("\n")
    )
}

/// What the sander leaves: rough stock over the butt, in, and the taper's step on a sled.
const TO_GRIND_IN: f64 = 0.045;
const RATE_STEP: f64 = 0.0005;

/// What is remarked on a strip: each of its keys where it is the first that has them, else what it is for alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Remarks {
    All,
    Own,
}

/// A strip that is ground to its butt and taper.
fn ground(
    options: &Starter,
    numbers: Numbers,
    &(name, wood, butt, rate, remark): &StarterLayer,
    pieces: &str,
    remarks: Remarks,
) -> String {
    let say = |remark: &'static str| if remarks == Remarks::All { remark } else { "" };
    lamination(&[
        (format!("name = \"{name}\""), remark),
        (format!("wood = \"{wood}\""), say("`taperwright woods` lists them; [[wood]] adds your own")),
        (format!("thickness = {}", numbers.thickness(butt)), say("finished, at the butt")),
        (format!("taper = {}", trim_zeros(&fixed(rate, 4))), say("thinner by this much per unit of length")),
        (format!("pieces = \"{pieces}\""), say("full: one strip, tip to tip; halves: a pair butted at the centre")),
        (
            format!(
                "stock = {{ thickness = {}, width = {}, overrun = {} }}",
                numbers.thickness(butt + TO_GRIND_IN),
                numbers.width(widest_in(options) + TRIMMED_IN),
                numbers.pick("0.75", "20")
            ),
            say("the strip before grinding"),
        ),
    ])
}

/// Its lines, each with its remark.
fn lamination(lines: &[(String, &str)]) -> String {
    let text: Vec<String> = lines.iter().map(|(line, remark)| remarked(line, remark)).collect();
    format!("[[lamination]]\n{}\n", text.join("\n"))
}

fn remarked(line: &str, remark: &str) -> String {
    if remark.is_empty() { line.to_owned() } else { format!("{line} # {remark}") }
}

/// The line with its remark in a column of its own.
fn aligned(line: &str) -> String {
    const COLUMN: usize = 34;
    let mut quoted = false;
    // A quote behind a backslash belongs to the text, but only a title has one, and no remark follows it.
    let remark = line.char_indices().find(|(_, c)| {
        quoted ^= *c == '"';
        *c == '#' && !quoted
    });
    match remark {
        Some((at, _)) if 0 < at => format!("{:<COLUMN$}{}", format!("{} ", line[..at].trim_end()), &line[at..]),
        _ => line.to_owned(),
    }
}

fn sizing_and_glue(options: &Starter, numbers: Numbers) -> String {
    let half_in = options.nock_to_nock_mm / System::Inch.to_mm(2.0);
    let change: &[&str] = match options.style {
        Style::Flatbow | Style::Longbow => &["\"belly\""],
        Style::Glass => &["\"core 1\"", "\"core 2\""],
    };
    format!(
        r#"[sizing]                          # which laminations may change to reach the draw weight
change = [{change}]
how = "thickness"                 # thickness, taper or both
# limits = [{{ of = {of}, least = {min}, most = {max}, taper = [0, 0.004] }}]   # how far; share = 0.3 for its share of the stack

[glue]
line = {line}                      # thickness of a cured glue line
spread = "0.35 kg/m2"             # from the adhesive's data sheet

[[glue.stage]]                    # one glue-up; a second [[glue.stage]] with number = 2 takes laminations with stage = 2
number = 1
held = "flat" # on a flat bench; or, held at the grip with tips on props, {{ props = {props}, at = {at} }}: - is reflex

# What `taperwright shot` reckons with; without these lines the usual string is taken, and the report says so.
# [string]
# material = "polyester"          # polyester | hmpe | hmpe and lcp
# strands  = 14
# serving  = "20 gr"              # on its middle, nocking point included
# [shot]
# tip  = "10 gr"                  # on each tip: the string's loop, overlay, nock
# loss = "4 %"                    # what the limbs keep; a `shot` reading in the log tells it
"#,
        of = change[0],
        change = change.join(", "),
        min = numbers.pick("0.080", "2"),
        max = numbers.pick("0.300", "8"),
        line = numbers.pick("0.003", "0.08"),
        props = numbers.pick("-1.5", "-38"),
        at = numbers.along(0.95 * half_in)
    )
}

fn machine(numbers: Numbers) -> String {
    format!(
        r#"[sander]                          # your machine; its manual governs
cutter = "drum"                   # drum or planer
least_thickness = {thin}           # thinnest strip it may take
least_length = {short}                  # shortest piece it may take
widest = {wide}
feed = "{feed}"
gap_step = {step}                  # what you can set on the gauge
crank = {crank}                     # change of the gap per turn; not the same on all machines
papers = [{{ grit = 60, most = {p60} }}, {{ grit = 80, most = {p80} }}]   # coarse to fine, deepest cut per pass in hard maple
together = 2                      # strips side by side: a pair is ground in one setting

[sled]                            # what carries the strip under the cutter
make = "ramp"                     # ramp (cut from sheet), solid (board), shims (at stations); raised-end or wedge (straight tapers)
base = {base}                         # height under the butt
butt_leads = true                 # the thick end goes in first and is held; a lamination may have its own: sled = {{ butt_leads = false }}
tolerance = {tolerance}
run_on = {run_on}                        # sled beyond the strip at each end, so that snipe falls on it
sheet = {{ material = "birch plywood", thickness = {sheet}, width = {sheet_width}, length = {sheet_length} }}   # measured thickness
"#,
        thin = numbers.pick("0.030", "0.8"),
        short = numbers.pick("9", "230"),
        wide = numbers.pick("16", "400"),
        feed = numbers.pick("10 ft/min", "3 m/min"),
        step = numbers.pick("0.001", "0.02"),
        crank = numbers.pick("0.0625", "1.5"),
        p60 = numbers.pick("0.010", "0.25"),
        p80 = numbers.pick("0.005", "0.12"),
        base = numbers.pick("1.0", "25"),
        tolerance = numbers.pick("0.001", "0.03"),
        run_on = numbers.pick("3", "75"),
        sheet = numbers.pick("0.236", "6.0"),
        sheet_width = numbers.pick("24", "600"),
        sheet_length = numbers.pick("48", "1200"),
    )
}

fn shop(numbers: Numbers) -> String {
    format!(
        r#"[shop]
# What cuts the sheet: laser, router = {{ bit = .., bed = [..], holds = .. }}, or "hand". Holds: how closely it keeps to a line.
cutter = {{ laser = {{ kerf = {kerf}, bed = [{bed}], holds = {holds} }} }}
paper = "{paper}"                  # letter, legal, tabloid, a4, a3 .. or a roll such as "roll 24 in"
shims = [{{ of = "clear packing tape", thickness = {tape} }}, {{ of = "masking tape", thickness = {masking} }}, {{ of = "card", thickness = {card} }}]
"#,
        kerf = numbers.pick("0.008", "0.2"),
        bed = numbers.pick("20, 12", "500, 300"),
        holds = numbers.pick("0.004", "0.1"),
        paper = numbers.pick("letter", "a4"),
        tape = numbers.pick("0.002", "0.05"),
        masking = numbers.pick("0.005", "0.13"),
        card = numbers.pick("0.011", "0.28"),
    )
}

/// How lines are written, as they are by default: a cutter's habits are the builder's to say.
fn lines() -> String {
    let table = LineTable::default();
    let row = |kind: Kind| {
        let style = table.style(kind);
        let [r, g, b] = style.rgb;
        let color = if kind == Kind::Tone { String::new() } else { format!("color = {}, ", style.color) };
        let text = format!("{} = {{ layer = \"{}\", {color}rgb = \"#{r:02x}{g:02x}{b:02x}\" }}", kind.key(), style.layer);
        format!("{text} # {}\n", kind.what())
    };
    format!(
        "[shop.lines] # each kind of line: color is the index of DXF colours, 1 to 255; rgb is for SVG and PDF\n{}",
        Kind::ALL.map(row).concat()
    )
}
