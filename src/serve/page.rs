//! The page: plain HTML, style and modules, held in the program. Nothing of it is fetched from anywhere else.

/// A part of the page.
pub struct Part {
    pub path: &'static str,
    pub kind: &'static str,
    pub text: &'static str,
}

/// A part whose path is the name of its file.
macro_rules! part {
    ($name:literal, $kind:literal) => {
        Part { path: concat!("/", $name), kind: concat!($kind, "; charset=utf-8"), text: include_str!(concat!("page/", $name)) }
    };
}

/// Where the book is read in a tab of its own; which file it is, its query says by number.
pub const READER: &str = "/reader";

/// Every part, the page itself first.
pub const PARTS: &[Part] = &[
    Part { path: "/", kind: "text/html; charset=utf-8", text: include_str!("page/bench.html") },
    Part { path: READER, kind: "text/html; charset=utf-8", text: include_str!("page/reader.html") },
    part!("bench.css", "text/css"),
    part!("bench.js", "text/javascript"),
    part!("begin.js", "text/javascript"),
    part!("book.js", "text/javascript"),
    part!("desk.js", "text/javascript"),
    part!("dom.js", "text/javascript"),
    part!("door.js", "text/javascript"),
    part!("figures.js", "text/javascript"),
    part!("glue.js", "text/javascript"),
    part!("levers.js", "text/javascript"),
    part!("numbers.js", "text/javascript"),
    part!("outline.js", "text/javascript"),
    part!("reader.js", "text/javascript"),
    part!("side.js", "text/javascript"),
    part!("strain.js", "text/javascript"),
    part!("theme.js", "text/javascript"),
    part!("tries.js", "text/javascript"),
    part!("weight.js", "text/javascript"),
];

/// Whether the path is a part of the page, which anyone on this machine may read: it holds nothing of the builder's.
pub fn is_public(path: &str) -> bool {
    PARTS.iter().any(|part| part.path == path)
}
