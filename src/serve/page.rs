//! The pages, the desk's and the phone's: plain HTML, style and modules, held in the program. Nothing of it is fetched from anywhere else.

/// A part of the page.
#[derive(Debug)]
pub struct PagePart {
    pub path: &'static str,
    pub kind: &'static str,
    pub text: &'static str,
}

/// A part whose path is the name of its file.
macro_rules! part {
    ($name:literal, $kind:literal) => {
        PagePart {
            path: concat!("/", $name),
            kind: concat!($kind, "; charset=utf-8"),
            text: include_str!(concat!("page/", $name)),
        }
    };
}

/// Where the book is read in a tab of its own; which file it is, its query says by number.
pub const READER: &str = "/reader";

/// Every part of the desk's page.
pub const DESK: &[&[PagePart]] = &[BENCH, SHARED, PLACES];

/// Every part of the phone's page, and no other.
pub const SHOP: &[&[PagePart]] = &[PHONE, SHARED, PLACES];

const HTML: &str = "text/html; charset=utf-8";
const SHOP_PAGE: &str = include_str!("page/shop.html");

/// The desk's own, the page itself first.
const BENCH: &[PagePart] = &[
    PagePart { path: "/", kind: HTML, text: include_str!("page/bench.html") },
    PagePart { path: READER, kind: HTML, text: include_str!("page/reader.html") },
    part!("bench.js", "text/javascript"),
    part!("begin.js", "text/javascript"),
    part!("book.js", "text/javascript"),
    part!("desk.js", "text/javascript"),
    part!("figures.js", "text/javascript"),
    part!("glue.js", "text/javascript"),
    part!("levers.js", "text/javascript"),
    part!("limbs.js", "text/javascript"),
    part!("numbers.js", "text/javascript"),
    part!("pairing.js", "text/javascript"),
    part!("outline.js", "text/javascript"),
    part!("reader.js", "text/javascript"),
    part!("side.js", "text/javascript"),
    part!("shot.js", "text/javascript"),
    part!("strain.js", "text/javascript"),
    part!("tries.js", "text/javascript"),
    part!("weight.js", "text/javascript"),
    PagePart { path: "/shop.html", kind: HTML, text: SHOP_PAGE },
];

/// The phone's own: its page.
const PHONE: &[PagePart] = &[PagePart { path: "/", kind: HTML, text: SHOP_PAGE }];

/// Of both pages.
const SHARED: &[PagePart] = &[
    part!("bench.css", "text/css"),
    part!("dom.js", "text/javascript"),
    part!("door.js", "text/javascript"),
    part!("theme.js", "text/javascript"),
];

/// The places in the shop, at the desk and on the phone.
const PLACES: &[PagePart] = &[
    part!("shop.css", "text/css"),
    part!("answer.js", "text/javascript"),
    part!("edge.js", "text/javascript"),
    part!("form.js", "text/javascript"),
    part!("glueing.js", "text/javascript"),
    part!("outbox.js", "text/javascript"),
    part!("pad.js", "text/javascript"),
    part!("passes.js", "text/javascript"),
    part!("phone.js", "text/javascript"),
    part!("photograph.js", "text/javascript"),
    part!("picture.js", "text/javascript"),
    part!("readings.js", "text/javascript"),
    part!("shop.js", "text/javascript"),
    part!("tillering.js", "text/javascript"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// What a module leads to, itself left out.
    fn led_to(name: &str, parts: &[&[PagePart]], found: &mut BTreeSet<String>) {
        let part = parts.iter().copied().flatten().find(|part| part.path == name).unwrap_or_else(|| panic!("{name} is no part"));
        for import in part.text.lines().filter_map(|line| line.split_once("from \"./")) {
            let name = format!("/{}", import.1.trim_end_matches([';', '"']));
            if found.insert(name.clone()) {
                led_to(&name, parts, found);
            }
        }
    }

    #[test]
    fn a_page_asks_for_all_its_modules_at_once() {
        for (parts, start) in [(DESK, "/bench.js"), (SHOP, "/shop.js")] {
            let mut wanted = BTreeSet::new();
            led_to(start, parts, &mut wanted);
            let html = parts[0][0].text;
            let asked = html.lines().filter_map(|line| line.strip_prefix("<link rel=\"modulepreload\" href=\""));
            let asked: BTreeSet<String> = asked.map(|rest| rest.trim_end_matches("\">").to_owned()).collect();
            assert_eq!(asked, wanted, "{start}");
        }
    }
}
