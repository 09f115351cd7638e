//! The page: plain HTML, style and modules, held in the program. Nothing of it is fetched from anywhere else.

/// A part of the page.
pub struct Part {
    pub path: &'static str,
    pub kind: &'static str,
    pub text: &'static str,
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

/// Every part, the page itself first.
pub const PARTS: &[Part] = &[
    Part { path: "/", kind: "text/html; charset=utf-8", text: include_str!("page/bench.html") },
    Part { path: "/bench.css", kind: "text/css; charset=utf-8", text: include_str!("page/bench.css") },
    Part { path: "/bench.js", kind: SCRIPT, text: include_str!("page/bench.js") },
];

/// Whether the path is a part of the page, which anyone on this machine may read: it holds nothing of the builder's.
pub fn is_public(path: &str) -> bool {
    PARTS.iter().any(|part| part.path == path)
}
