//! Kinds of reading: what each is for and the keys it takes, as forms, help and the reader have them.

/// A kind of reading.
#[derive(Debug, Clone, Copy)]
pub struct ReadingKind {
    /// As `of` names it.
    pub word: &'static str,
    pub what: &'static str,
    /// Its keys beside `date`, `of`, `note`, and [`ONE_BOW`]'s, optional ones in parentheses.
    pub keys: &'static str,
}

impl ReadingKind {
    /// It belongs to one bow, which `serial` may name; all others are the shop's.
    pub fn is_of_one_bow(self) -> bool {
        !matches!(self.word, "sheet" | "shim" | "print" | "sled")
    }
}

const fn kind(word: &'static str, what: &'static str, keys: &'static str) -> ReadingKind {
    ReadingKind { word, what, keys }
}

/// All kinds, in the order of the work.
pub const KINDS: &[ReadingKind] = &[
    kind("sheet", "thickness of the sheet that the sled is cut from", "thickness"),
    kind("shim", "thickness of shim stock", "stock, thickness"),
    kind("print", "what a 100 mm scale check measures on the print, in mm", "across, up"),
    kind(
        "sled",
        "height of the sled's surface above the table, place by place",
        "lamination, heights = [[place, height], ..], (counted_from)",
    ),
    kind(
        "test strip",
        "scrap through the sander: the gauge's zero, the table's lean",
        "gauge, readings = [[place, left, right], ..], (apart, lamination, on = table | sled, after, counted_from)",
    ),
    kind(
        "strip",
        "the work after a pass",
        "lamination, after, readings = [[place, thickness], ..] or [[place, left, right], ..], (strip, gauge, apart, counted_from)",
    ),
    kind(
        "done",
        "passes made, up to this one; a lower number takes ticks back",
        "lamination, pass, (strip: of a pair that goes through one by one)",
    ),
    kind(
        "bend",
        "a strip on two supports with a weight on its middle: its modulus",
        "lamination, span, weight, sag = one or [..], width, thickness = one or [[place from a support, ..], ..], (strip, reads)",
    ),
    kind(
        "release",
        "rise of both nocks over the grip after a glue-up stage came off, - for reflex",
        "stage, upper and lower, or tip for the mean of both, (batch, temperature: of glue or glass and of the form)",
    ),
    kind(
        "blank",
        "weight of a bow that is not finished",
        "weight, how = long string | braced | floor, then string and draw, brace and draw, or drop, \
         (width = strips | outline | SIZE | [[station, width], ..] | { lamination = .., .. }; belly_off)",
    ),
    kind(
        "tiller",
        "from belly to string on both limbs, or where a photograph shows both backs",
        "gaps = [[station, upper, lower], ..], (draw, brace, held = free | fixed, reads_to, worked = true | false); \
         or in place of gaps, in pixels: picture = its own size, camera = its distance, nocks, grip, upper, lower = [[x, y], ..], \
         marks = [[x, y], ..] with across, up of four or stick of two, (behind, clicks)",
    ),
    kind(
        "bow",
        "weight of a finished bow at its draw length",
        "weight, (build, finishing = what sanding, finish and set took; width, belly_off: what came off on the way; mass, batch, temperature)",
    ),
    kind(
        "shot",
        "an arrow over a chronograph, close to the bow: what the limbs keep",
        "speed = one or [..], arrow = what the whole arrow weighs, (draw)",
    ),
];

/// What `counted_from` means, for the help.
pub const COUNTED_FROM: &str = "counted_from = end (of the strip: its butt, or end A of a full strip) or centre (of the bow: stations; on a full strip - toward \
     end A). Without it places count from the end; a strip that begins off the bow's centre has to say it.";

/// How a reading says which bow it is of, for the help.
pub const ONE_BOW: &str = "serial = the number on the bow, where a log is of several: each then has its own strips, stages, blank, tiller and weight, and finished \
     ones tell of the next. build = the build file that it is made by, said once, where it is another weight of a series. Sheets, shims, prints, sleds \
     and scrap are the shop's.";
