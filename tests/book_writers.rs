//! The two writers of the build book, judged by reading their files again: pages by pdfplumber and pikepdf, HTML by html5lib.

mod peers;

use proptest::prelude::*;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use taperwright::book::{Block, Book, Cell, Chapter, Column, Picture, Run, Table, Text};
use taperwright::drawing::{Align, Drawing, Item, Kind, Label, LineTable, Shape, font};
use taperwright::geometry::{Bounds, Path as Line, Point};
use taperwright::model::paper;
use taperwright::model::workshop::PrintPaper;
use taperwright::write::{book_html, book_pdf};

const LONG_NAME: &str =
    "heartwood-of-osage_orange/quarter.sawn,from.the.old.fence.row_by_the_creek_bed_2019_batch_no_17_left_over_piece";
const NO_BREAK: &str =
    "Unaussprechlichlangerholzartennameohnejedebruchstelleundohneendedernochvielweitergehtalseinespalteseinkann";

fn sheet(name: &str) -> PrintPaper {
    paper::named(name).expect("a sheet of the table").sheet(6.0)
}

/// A side view with letters in all directions, as wide and high as asked.
fn drawing(width: f64, height: f64) -> Drawing {
    let mut drawing = Drawing::new("view", "View");
    let corners = Bounds { min: Point::new(-20.0, 5.0), max: Point::new(width - 20.0, height + 5.0) };
    let third = Bounds { min: corners.min, max: Point::new(corners.max.x, corners.min.y + 0.3 * height) };
    drawing.path(Kind::Tone, Line::rectangle(third));
    drawing.path(Kind::Edge, Line::rectangle(corners));
    drawing.path(Kind::Centre, Line::line(corners.min, corners.max));
    drawing.path(Kind::Hidden, Line::circle(Point::new(0.5 * width - 20.0, 0.5 * height + 5.0), 0.2 * height));
    for (k, align) in [Align::Left, Align::Middle, Align::Right].into_iter().enumerate() {
        let at = Point::new(0.5 * width - 20.0, 5.0 + (0.3 + 0.15 * k as f64) * height);
        drawing.label(Kind::Note, Label::new(format!("view {k} ½ in"), at, 2.5).aligned(align).turned(0.3 * k as f64));
    }
    drawing.label(Kind::Dimension, Label::new("Ø 6.35", Point::new(-15.0, 8.0), 1.8).bold());
    drawing
}

fn picture(width: f64, height: f64, caption: &str) -> Block {
    Block::Picture(Picture { drawing: drawing(width, height), caption: caption.into(), alt: format!("alternative of {caption}") })
}

fn number(value: f64, pointer: &str) -> Text {
    Text::number(format!("{value:.3}"), pointer, value)
}

fn draw_table() -> Table {
    let columns = ["draw, in", "weight, lbf", "energy stored to here, ft lbf", "string tension, lbf", "strain of the back, %"];
    let rows = (0..30).map(|k| {
        let k = f64::from(k);
        [k + 0.5, 1.371 * k, 0.05 * k * k, 90.1 + k, 0.021 * k]
            .iter()
            .enumerate()
            .map(|(c, value)| number(*value, &format!("/draw/{k}/{c}")).into())
            .collect()
    });
    Table {
        caption: "Force along the draw".into(),
        columns: columns.into_iter().map(Column::figures).collect(),
        rows: rows.collect(),
    }
}

fn pass_table() -> Table {
    let mut columns = vec![Column::words("done"), Column::figures("pass"), Column::words("face and what to watch")];
    columns.extend([Column::figures("gap, in"), Column::words("read, in"), Column::words("note")]);
    let rows = (1..=34)
        .map(|k| {
            let watch = match k % 4 {
                0 => "top; feed the thick end first and keep a steady hand on the strip as it leaves",
                1 => "belly",
                _ => "top, second paper",
            };
            vec![
                Cell::Tick,
                Cell::from(k.to_string()),
                watch.into(),
                number(1.25 - 0.007 * f64::from(k), &format!("/passes/{k}/gap_mm")).into(),
                Cell::Blank,
                Cell::Blank,
            ]
        })
        .collect();
    Table { caption: "Passes of the core".into(), columns, rows }
}

fn wide_table() -> Table {
    let columns = (0..14).map(|k| {
        if k % 5 == 0 { Column::words(format!("wood{k} {NO_BREAK}")) } else { Column::figures(format!("station{k} mm")) }
    });
    let row = |r: usize| -> Vec<Cell> {
        let cell = |k: usize| {
            if k == 0 {
                LONG_NAME.into()
            } else if k == 5 {
                format!("{NO_BREAK}{r}").into()
            } else {
                format!("{}.{:03}", 100 + k, r * 37 % 1000).into()
            }
        };
        (0..14).map(cell).collect()
    };
    Table { caption: "Everything at every station".into(), columns: columns.collect(), rows: (0..6).map(row).collect() }
}

fn book() -> Book {
    let chapter = |anchor: &str, title: &str, blocks: Vec<Block>| Chapter { anchor: anchor.into(), title: title.into(), blocks };
    let sentence =
        "The strip is laid on the sled with its thick end first and held by the hook, which stays lower than the finished wood. ";
    let facts = |count: usize| {
        let value = |k: usize| Text::from("about ").then(number(1.5 + k as f64, &format!("/facts/{k}"))).then(" in");
        (0..count).map(|k| (format!("measure number {k}"), value(k))).collect()
    };
    let mut chapters = vec![
        chapter(
            "the-bow",
            "The bow & what it <is> made of",
            vec![
                Block::Paragraph(
                    Text::from("A flatbow of ")
                        .then(Text::number("42.0 lbf", "/bow/draw_weight_n", 186.825_307_838_940_3))
                        .then(", drawn to 28 in; ")
                        .then(Text::strong("weights are averages"))
                        .then(" of a material that varies. See ")
                        .then(Text::link("the passes", "passes"))
                        .then(" and ")
                        .then(Text::link("a chapter that is not there", "nowhere"))
                        .then("."),
                ),
                Block::Facts(facts(11)),
                Block::Heading("Side view".into()),
                picture(160.0, 60.0, "Side view, 1 : 5"),
                Block::Facts(vec![
                    ("back".into(), LONG_NAME.into()),
                    (format!("name {NO_BREAK}"), format!("{sentence}{sentence}").into()),
                    ("density ρ".into(), "0.6 g/cm³ ⌀".into()),
                ]),
            ],
        ),
        chapter("short", "A short one", vec![Block::Paragraph("It shares a page.".into())]),
        chapter(
            "passes",
            "Passes",
            vec![
                Block::Caution(vec![
                    format!("Never stand behind the strip. {}", sentence.repeat(2)).into(),
                    "Wood dust sensitises: collect it and wear a respirator.".into(),
                ]),
                Block::Ticks(vec![
                    "belt is new".into(),
                    format!("zero is set: {}", sentence.repeat(2)).into(),
                    "dust is collected".into(),
                ]),
                Block::Table(pass_table()),
                Block::Blanks(vec!["reflex left at the nock, in".into(), "thickness at the fade, in".into(), "by".into()]),
                Block::Heading("In this order".into()),
                Block::Steps((0..12).map(|k| Text::from(format!("Step: {}", sentence.repeat(1 + k % 3)))).collect()),
            ],
        ),
        chapter(
            "draw",
            "Drawing the bow",
            vec![
                Block::Table(draw_table()),
                picture(400.0, 120.0, "Too wide for any page, 1 : 2"),
                Block::Heading("High".into()),
                picture(50.0, 700.0, "Too high for any page, 1 : 1"),
                Block::NewPage,
                Block::Table(wide_table()),
                Block::Blanks(vec![format!("a blank with a name that goes on: {sentence}"), "short".into()]),
                Block::Paragraph(sentence.repeat(60).into()),
            ],
        ),
    ];
    chapters.extend((0..9).map(|k| {
        chapter(
            &format!("more-{k}"),
            &format!("Chapter that follows number {k}"),
            vec![Block::Paragraph(sentence.repeat(9).into())],
        )
    }));
    let title = "Build book: meadow <66 in>".to_owned();
    let made_by = format!("taperwright 0.1.0, meadow.toml, input 0123abcd, {LONG_NAME}");
    Book {
        title,
        subtitle: "A trilaminate flatbow, 42 lbf at 28 in & more".into(),
        made_by,
        key: "taperwright 0.1.0 0123abcd".into(),
        chapters,
    }
}

/// Writes into the target folder, for the peers (and for looking at).
fn kept(name: &str, bytes: &[u8]) -> String {
    let file = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::write(&file, bytes).expect("the target folder takes a file");
    file.to_string_lossy().into_owned()
}

// ---- what a reader must find again ----------------------------------------------------------------------------------

fn blocks(book: &Book) -> impl Iterator<Item = &Block> {
    book.chapters.iter().flat_map(|chapter| &chapter.blocks)
}

/// As a reader of HTML sees it: white is one space.
fn spaced(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn tables(book: &Book) -> Value {
    let cell = |cell: &Cell| match cell {
        Cell::Text(text) => json!(spaced(&text.letters())),
        Cell::Tick => json!(true),
        Cell::Blank => Value::Null,
    };
    let table = |block: &Block| match block {
        Block::Table(table) => Some(json!({
            "caption": table.caption,
            "heads": table.columns.iter().map(|column| column.head.clone()).collect::<Vec<_>>(),
            "rows": table.rows.iter().map(|row| row.iter().map(cell).collect()).collect::<Vec<Vec<Value>>>(),
        })),
        _ => None,
    };
    blocks(book).filter_map(table).collect()
}

fn cells(book: &Book, wanted: Cell) -> usize {
    let count = |block: &Block| match block {
        Block::Table(table) => table.rows.iter().flatten().filter(|cell| **cell == wanted).count(),
        Block::Ticks(items) if wanted == Cell::Tick => items.len(),
        _ => 0,
    };
    blocks(book).map(count).sum()
}

fn chapters(book: &Book) -> Vec<[&str; 2]> {
    book.chapters.iter().map(|chapter| [chapter.anchor.as_str(), chapter.title.as_str()]).collect()
}

/// Links to chapters that are there: as shown, and the anchor and title they lead to.
fn links(book: &Book) -> Vec<[String; 3]> {
    let found = |run: &Run| match run {
        Run::Link { shown, anchor } => {
            let chapter = book.chapters.iter().find(|chapter| chapter.anchor == *anchor)?;
            Some([shown.clone(), anchor.clone(), chapter.title.clone()])
        }
        _ => None,
    };
    blocks(book).flat_map(Block::texts).flat_map(|text| &text.0).filter_map(found).collect()
}

// ---- HTML -----------------------------------------------------------------------------------------------------------

#[test]
fn the_html_book_reads_again_as_what_was_written() {
    let book = book();
    let file = kept("book.html", &book_html::html(&book, &LineTable::default()).unwrap());
    let data = |run: &Run| match run {
        Run::Number { shown, pointer, value } => Some(json!([pointer, value, shown])),
        _ => None,
    };
    let picture = |block: &Block| match block {
        Block::Picture(Picture { drawing, caption, alt }) => {
            let bounds = font::extent(drawing).grown(0.5);
            let label = |item: &Item| match &item.shape {
                Shape::Label(label) => {
                    let em = (1000.0 * font::em_mm(label.cap_mm, label.lettering)).round() / 1000.0;
                    Some(json!([label.text, em]))
                }
                Shape::Path(_) => None,
            };
            let labels: Vec<Value> = drawing.items.iter().filter_map(label).collect();
            let [width, height] = [bounds.width(), bounds.height()];
            // A4 and Letter both hold 180 x 210 mm within ordinary margins; what is larger must not claim its scale.
            let large = 190.0 < width || 230.0 < height;
            let caption =
                format!("{caption}{}", if large { " (printed smaller than the scale stated, to fit a page)" } else { "" });
            Some(json!({"alt": alt, "caption": caption, "width_mm": width, "height_mm": height, "labels": labels}))
        }
        _ => None,
    };
    let facts = |block: &Block| match block {
        Block::Facts(facts) => facts.iter().map(|(name, value)| json!([spaced(name), spaced(&value.letters())])).collect(),
        _ => Vec::new(),
    };
    let cautions = |block: &Block| match block {
        Block::Caution(texts) => Some(texts.iter().map(|text| spaced(&text.letters())).collect()),
        _ => None,
    };
    let blanks = |block: &Block| match block {
        Block::Blanks(names) => names.iter().map(|name| spaced(name)).collect(),
        _ => Vec::new(),
    };
    let expected = json!({
        "title": book.title,
        "chapters": chapters(&book),
        "links": links(&book).iter().map(|[shown, anchor, _]| [anchor, shown]).collect::<Vec<_>>(),
        "data": blocks(&book).flat_map(Block::texts).flat_map(|text| &text.0).filter_map(data).collect::<Vec<_>>(),
        "tables": tables(&book),
        "pictures": blocks(&book).filter_map(picture).collect::<Vec<_>>(),
        "boxes": cells(&book, Cell::Tick),
        "facts": blocks(&book).flat_map(facts).collect::<Vec<_>>(),
        "cautions": blocks(&book).filter_map(cautions).collect::<Vec<Vec<String>>>(),
        "blanks": blocks(&book).flat_map(blanks).collect::<Vec<String>>(),
    });
    let Some(answer) = peers::run("book_html.py", &[&file], &expected.to_string()) else { return };
    assert_eq!(answer.trim(), "agrees");
}

// ---- PDF ------------------------------------------------------------------------------------------------------------

/// Texts in running order that no table and no second column interrupts, short enough for one page.
fn runs(book: &Book) -> Vec<String> {
    let mut runs = Vec::new();
    for chapter in &book.chapters {
        runs.push(chapter.title.clone());
        for block in &chapter.blocks {
            match block {
                Block::Heading(text) => runs.push(text.clone()),
                Block::Picture(picture) => runs.push(picture.caption.clone()),
                Block::Table(table) => runs.push(table.caption.clone()),
                Block::Blanks(names) => runs.extend(names.clone()),
                Block::Ticks(texts) => runs.extend(texts.iter().map(Text::letters)),
                Block::Caution(texts) => {
                    runs.push("Care".into());
                    runs.extend(texts.iter().map(Text::letters));
                }
                _ => {}
            }
        }
    }
    runs
}

/// First and last name of facts that are many enough for two columns.
fn ends(block: &Block) -> Option<[&String; 2]> {
    match block {
        Block::Facts(facts) if 8 <= facts.len() => Some([&facts[0].0, &facts[facts.len() - 1].0]),
        _ => None,
    }
}

/// Many chapters whose headings, tables and pictures meet the end of the page at every height.
fn sliding() -> Book {
    let chapter = |k: usize| {
        let mut blocks = vec![Block::NewPage];
        blocks.extend((0..k).map(|line| Block::Paragraph(format!("line {line} of {k}").into())));
        // In two columns, which a reader takes for two lists if they run on to another page.
        blocks.push(Block::Facts((0..14).map(|fact| (format!("fact {fact} of {k}"), "½ in".into())).collect()));
        blocks.push(Block::Heading(format!("Heading of {k}")));
        let rows = (0..4).map(|row| vec![format!("row {row} of {k}").into(), Cell::Blank, Cell::Tick]).collect();
        let columns = vec![Column::words("row"), Column::words("read"), Column::words("done")];
        blocks.push(Block::Table(Table { caption: format!("Table of {k}"), columns, rows }));
        blocks.push(Block::Heading(format!("Picture after {k}")));
        blocks.push(picture(60.0, 30.0, &format!("Caption of {k}, 1 : 1")));
        Chapter { anchor: format!("slide-{k}"), title: format!("Slide {k}"), blocks }
    };
    Book {
        title: "Slides".into(),
        subtitle: String::new(),
        made_by: "taperwright 0.1.0, slides.toml".into(),
        key: String::new(),
        chapters: (10..34).map(chapter).collect(),
    }
}

#[test]
fn the_pages_hold_everything_inside_their_margins() {
    let (whole, sliding) = (book(), sliding());
    let tones = json!([[160.0, 18.0]]);
    for (book, name, size, tones) in [
        (&whole, "letter", [215.9, 279.4], &tones),
        (&whole, "a4", [210.0, 297.0], &tones),
        (&whole, "tabloid", [279.4, 431.8], &tones),
        (&sliding, "legal", [215.9, 355.6], &json!([[60.0, 9.0]])),
        (&sliding, "letter", [215.9, 279.4], &json!([[60.0, 9.0]])),
    ] {
        let bytes = book_pdf::pdf(book, &sheet(name), &LineTable::default()).unwrap();
        let file = kept(&format!("book-{}-{name}.pdf", book.title.len()), &bytes);
        let mut headings: Vec<&str> = book.chapters.iter().map(|chapter| chapter.title.as_str()).collect();
        headings.push("Care");
        let mut together: Vec<[&String; 2]> = blocks(book).filter_map(ends).collect();
        for pair in blocks(book).collect::<Vec<_>>().windows(2) {
            if let Block::Heading(text) = pair[0] {
                headings.push(text);
                if let Block::Picture(picture) = pair[1] {
                    together.push([text, &picture.caption]);
                }
            }
        }
        let expected = json!({
            "paper_mm": size,
            "margin_mm": 15.0,
            "title": book.title,
            "made_by": book.made_by,
            "chapters": chapters(book),
            "headings": headings,
            "captions": together,
            "runs": runs(book),
            "tables": tables(book),
            "links": links(book).iter().map(|[shown, _, title]| [shown, title]).collect::<Vec<_>>(),
            "boxes": cells(book, Cell::Tick),
            "blanks": cells(book, Cell::Blank),
            "tones_mm": tones,
        });
        let Some(answer) = peers::run("book_pages.py", &[&file], &expected.to_string()) else { return };
        assert_eq!(answer.trim(), "agrees", "{file}");
        // And to whoever does not see the pages: peers find nothing painted that the structure does not hold.
        assert!(peers::run("pdf_structure.py", &[&file], r#"{"kind": "book"}"#).is_some());
    }
}

#[test]
fn rolls_and_plotter_sheets_get_a_page_that_can_be_bound() {
    let small = Book { chapters: vec![], ..book() };
    let page = |paper: &PrintPaper| {
        let bytes = book_pdf::pdf(&small, paper, &LineTable::default()).unwrap();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let at = text.find("/MediaBox").expect("a page has a size");
        text[at..].split(['[', ']']).nth(1).expect("four numbers").to_owned()
    };
    // ISO 216 A4 is 210 mm wide, ANSI/ASME Y14.1 size A 11 in (279.4 mm) high: what prints inside both. In points.
    let common = page(&paper::roll("roll", 609.6, 5.0));
    let numbers: Vec<f64> = common.split_whitespace().map(|number| number.parse().unwrap()).collect();
    assert!((numbers[2] - 595.276).abs() < 0.01 && (numbers[3] - 790.866).abs() < 0.01, "{common}");
    assert_eq!(page(&sheet("a0")), common);
    // A sheet laid on its side makes the same pages as an upright one.
    let upright = sheet("letter");
    let across = PrintPaper { width_mm: upright.height_mm, height_mm: upright.width_mm, ..upright.clone() };
    assert_eq!(page(&upright), page(&across));
    assert_ne!(page(&upright), common);
}

// ---- both -----------------------------------------------------------------------------------------------------------

#[test]
fn equal_books_give_equal_bytes() {
    let lines = LineTable::default();
    for paper in [sheet("letter"), sheet("a4")] {
        assert!(book_pdf::pdf(&book(), &paper, &lines).unwrap() == book_pdf::pdf(&book(), &paper, &lines).unwrap());
    }
    assert!(book_html::html(&book(), &lines).unwrap() == book_html::html(&book(), &lines).unwrap());
}

/// A picture that fills a page leaves room for its chapter's title and for as long a caption as it has: a title alone is no page.
#[test]
fn a_picture_as_high_as_a_page_stays_with_its_title() {
    let pages = |title: &str, height: f64, caption: &str| {
        let chapter = Chapter { anchor: "bend".into(), title: title.into(), blocks: vec![picture(120.0, height, caption)] };
        let bytes = book_pdf::pdf(&Book { chapters: vec![chapter], ..book() }, &sheet("a4"), &LineTable::default()).unwrap();
        let text = String::from_utf8_lossy(&bytes).into_owned();
        let is_page = |rest: &str| {
            rest.trim_start().strip_prefix("/Page").is_some_and(|after| !after.starts_with(|c: char| c.is_ascii_alphabetic()))
        };
        text.match_indices("/Type").filter(|(at, key)| is_page(&text[at + key.len()..])).count()
    };
    let sentence =
        "At full draw, along one limb from the centre: bend, then the greatest strain of each part in percent of its length. ";
    for lines in [1, 2, 3, 6] {
        for height in [240.0, 300.0, 900.0] {
            for title in [
                "Where it bends",
                "Where it bends, how hard the wood works there, and which of its parts is nearest to what it bears",
            ] {
                // The front and one page.
                assert_eq!(pages(title, height, &sentence.repeat(lines)), 2, "{lines} {height}");
            }
        }
    }
}

#[test]
fn a_book_that_cannot_be_shown_whole_is_refused() {
    let with = |block: Block| Book {
        title: "b".into(),
        chapters: vec![Chapter { anchor: "a".into(), title: "A".into(), blocks: vec![block] }],
        ..Book::default()
    };
    let table = |columns: usize, cells: usize| {
        let columns = (0..columns).map(|k| Column::figures(format!("column{k}"))).collect();
        Block::Table(Table { caption: "readings".into(), columns, rows: vec![vec!["0.125".into(); cells]] })
    };
    let nothing = Picture { drawing: Drawing::new("none", "None"), caption: String::new(), alt: String::new() };
    let both = |book: &Book| {
        let pdf = book_pdf::pdf(book, &sheet("letter"), &LineTable::default()).map(|_| ());
        let html = book_html::html(book, &LineTable::default()).map(|_| ());
        [pdf, html].map(|outcome| outcome.err().map(|fault| fault.reason))
    };
    for (book, reason) in [
        (with(table(4, 3)), "table `readings`: a row has 3 cells for 4 columns"),
        (with(Block::Paragraph(Text::number("x", "/bow/mass_kg", f64::NAN))), "the number at `/bow/mass_kg` is NaN"),
        (with(Block::Picture(nothing)), "it is empty"),
        (
            Book { chapters: vec![with(Block::NewPage).chapters[0].clone(); 2], ..Book::default() },
            "two chapters have the anchor `a`",
        ),
        (
            Book { chapters: vec![Chapter { anchor: "A b".into(), ..Chapter::default() }], ..Book::default() },
            "the anchor `A b` is not made of lower-case letters, digits and `-`",
        ),
    ] {
        assert_eq!(both(&book), [Some(reason.to_owned()), Some(reason.to_owned())]);
    }
    // A screen scrolls, paper does not.
    let [pdf, html] = both(&with(table(90, 90)));
    assert_eq!(pdf, Some("the table `readings` has too many columns for this page".to_owned()));
    assert_eq!(html, None);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever names a builder gives: both writers come to an end, and each word without markup stands in the HTML.
    #[test]
    fn no_text_stops_a_writer(texts in prop::collection::vec("\\PC{0,200}|[a-z<&]{0,300}|(\\s|ρ|-|[0-9]){0,40}", 6), rows in 0_usize..70) {
        let cell = |k: usize| Cell::from(texts[k % 6].clone());
        let table = Table {
            caption: texts[0].clone(),
            columns: vec![Column::words(texts[1].clone()), Column::figures(texts[2].clone()), Column::words("done")],
            rows: (0..rows).map(|row| vec![cell(row), cell(row / 6), if row % 2 == 0 { Cell::Tick } else { Cell::Blank }]).collect(),
        };
        let blocks = vec![
            Block::Facts(vec![(texts[3].clone(), texts[4].clone().into()); 1 + rows % 12]),
            Block::Table(table),
            Block::Blanks(texts.clone()),
            Block::Caution(vec![Text::strong(texts[5].clone()).then(Text::number(texts[1].clone(), "/a", 1.5))]),
            Block::Steps(texts.iter().cloned().map(Text::from).collect()),
        ];
        let chapter = Chapter { anchor: "only".into(), title: texts[2].clone(), blocks };
        let book = Book { title: texts[3].clone(), subtitle: texts[4].clone(), made_by: texts[5].clone(), key: texts[0].clone(), chapters: vec![chapter] };
        let pdf = book_pdf::pdf(&book, &sheet("letter"), &LineTable::default());
        prop_assert!(pdf.is_ok(), "{:?}", pdf.err());
        let html = String::from_utf8(book_html::html(&book, &LineTable::default()).unwrap()).unwrap();
        for word in texts[0].split_whitespace().filter(|word| word.chars().all(char::is_alphanumeric)) {
            prop_assert!(html.contains(word), "{word}");
        }
        prop_assert_eq!(html.matches("<script").count(), 1);
    }
}
