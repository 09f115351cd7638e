//! Chapters as strips of page: every line of text, table row and picture becomes a strip with its height, what is drawn on it,
//! and whether it must stay with the next. What page a strip lands on is decided in `book_pdf`.
//!
//! Every mark also has its place in the document's structure (`tagged`), or is an ornament. A strip's marks are in mm from its upper left corner, x to the right, y up (so downward is negative). Running text is set
//! no wider than [`typeset::MEASURE_MM`]; tables and pictures may use the whole width of the page, and how wide a table's columns are is told in
//! `book_grid`. The file is long because every kind of block has its function here, and all of them share the same few measures.

use super::book_grid::{BOX_MM, GUTTER_MM, GridLayout, HEADINGS_MM};
use super::canvas::{Ink, MarkRole};
use super::tagged::{Element, ReadOut, Role, Structure};
use super::typeset::{self, PageSetting, TextLine, leading, lines, shown};
use crate::book::{Block, Cell, Chapter, Picture, Table, Text};
use crate::drawing::font::{self, HEAD_MM, SMALL_MM, TEXT_MM};
use crate::drawing::{Align, Drawing, Label, Lettering, Shape};
use crate::geometry::{Bounds, Path, Point};
use std::ops::Range;

/// A piece of a column of pages that is never split.
#[derive(Debug, Clone, Default)]
pub(super) struct Strip {
    /// White above it, unless it is the first on its page.
    pub before_mm: f64,
    pub height_mm: f64,
    /// Not parted from the next strip by the end of a page.
    pub keep: bool,
    /// Starts a page.
    pub new_page: bool,
    /// What stands above it where it starts a page: the place of a table's head among [`Flow::heads`].
    pub head: Option<usize>,
    pub marks: Vec<(MarkRole, InkMark)>,
}

#[derive(Debug, Clone)]
pub(super) enum InkMark {
    Label(Label),
    Line(Path, Ink),
    Link { area: Bounds, anchor: String },
    Picture { drawing: Drawing, from: Point, to: Point, factor: f64 },
}

/// The strips of one chapter.
#[derive(Debug)]
pub(super) struct Flow<'t> {
    pub strips: Vec<Strip>,
    /// Heads of tables, for the pages that a table runs on to.
    pub heads: Vec<Strip>,
    /// Strips that are wanted at once: on one page, or on two that face each other.
    pub at_once: Option<Range<usize>>,
    tags: &'t mut Structure,
    section: Element,
}

/// Capital height of a chapter's title.
const TITLE_MM: f64 = 5.0;
/// Least distance of rows that are written on by hand.
const PENCIL_MM: f64 = 7.0;
/// White between two blocks.
const GAP_MM: f64 = 3.0;

/// How a box and a line to write on are read out.
const TICK_WORDS: &str = "box to tick";
const BLANK_WORDS: &str = "room to write";

const BLACK: [u8; 3] = [0; 3];
const HAIR: Ink = Ink { weight_mm: 0.1, rgb: [0x70; 3], dashes: Vec::new() };
const THIN: Ink = Ink { weight_mm: 0.2, rgb: BLACK, dashes: Vec::new() };
const STRONG: Ink = Ink { weight_mm: 0.5, rgb: BLACK, dashes: Vec::new() };
const HEAVY: Ink = Ink { weight_mm: 1.4, rgb: BLACK, dashes: Vec::new() };

/// A chapter with its title; `Err` says which table cannot be set.
pub(super) fn flow<'t>(chapter: &Chapter, setting: &PageSetting, tags: &'t mut Structure) -> Result<Flow<'t>, String> {
    let section = tags.element(None, Role::Section);
    let mut flow = Flow { strips: Vec::new(), heads: Vec::new(), at_once: None, tags, section };
    flow.title(&chapter.title, setting);
    let mut new_page = false;
    let mut at_once = None;
    for block in &chapter.blocks {
        let first = flow.strips.len();
        match block {
            Block::Heading(text) => flow.heading(text, setting),
            Block::Paragraph(text) => flow.paragraph(text, setting),
            Block::Steps(steps) => flow.steps(steps, setting),
            Block::Ticks(items) => flow.ticks(items, setting),
            Block::Caution(texts) => flow.caution(texts, setting),
            Block::Facts(facts) => flow.facts(facts, setting),
            Block::Table(table) => flow.table(table, setting)?,
            Block::Picture(picture) => flow.picture(picture, setting),
            Block::Blanks(names) => flow.blanks(names, setting),
            Block::NewPage => new_page = true,
            Block::AtOnce => at_once = Some(first),
            Block::Apart => flow.at_once = at_once.take().map(|from| from..first),
        }
        // A chapter's first words are not parted from what they introduce.
        if first == 1 && matches!(block, Block::Paragraph(_)) && 1 < chapter.blocks.len() {
            flow.strips.last_mut().into_iter().for_each(|strip| strip.keep = true);
        }
        // What is wanted at once is parted between blocks alone.
        if at_once.is_some() {
            flow.kept(first..flow.strips.len(), setting);
        }
        // A title is not left behind: right after it, a new page is one for the chapter.
        let starts = if first == 1 { 0 } else { first };
        if new_page && first < flow.strips.len() {
            flow.strips[starts].new_page = true;
            new_page = false;
        }
    }
    if let Some(range) = at_once.map(|from| from..flow.strips.len()).or(flow.at_once.take()) {
        flow.kept(range.clone(), setting);
        flow.at_once = Some(range);
    }
    Ok(flow)
}

/// A level line from one x to another, `down` under the strip's upper edge.
pub(super) fn level(from: f64, to: f64, down: f64, ink: Ink) -> InkMark {
    InkMark::Line(Path::line(Point::new(from, -down), Point::new(to, -down)), ink)
}

impl Strip {
    /// Lines of text under one another, the left end of each at `x`, the upper edge of the first `down` under the strip's. Without an
    /// element they are there for the eye alone.
    pub fn put_lines(
        &mut self,
        tags: &mut Structure,
        element: Option<Element>,
        lines: &[TextLine],
        (x, down): (f64, f64),
        cap_mm: f64,
    ) {
        for (k, line) in lines.iter().enumerate() {
            let goes_on = k + 1 < lines.len();
            self.put(tags, element, (line, goes_on), (x, down + k as f64 * leading(cap_mm)), cap_mm);
        }
    }

    /// One line, and whether its text goes on in the next.
    pub fn put(
        &mut self,
        tags: &mut Structure,
        element: Option<Element>,
        (line, goes_on): (&TextLine, bool),
        (x, down): (f64, f64),
        cap_mm: f64,
    ) {
        let base = -down - 0.5 * (leading(cap_mm) + cap_mm);
        for (k, piece) in line.pieces.iter().enumerate() {
            let label =
                Label { lettering: piece.lettering, ..Label::new(piece.text.as_str(), Point::new(x + piece.x_mm, base), cap_mm) };
            let link = piece.link.as_ref().filter(|_| element.is_some());
            let element = match link {
                Some(_) => element.map(|element| tags.element(Some(element), Role::Link)),
                None => element,
            };
            let last = goes_on && k + 1 == line.pieces.len();
            let said = if last { ReadOut::GoesOn(piece.text.clone()) } else { ReadOut::AsDrawn };
            let mark = element.map_or(MarkRole::Ornament, |element| MarkRole::Of(tags.slot(element, said)));
            self.marks.push((mark, InkMark::Label(label)));
            if let (Some(anchor), Some(element)) = (link, element) {
                let left = x + piece.x_mm;
                let area =
                    Bounds { min: Point::new(left, -down - leading(cap_mm)), max: Point::new(left + piece.width_mm, -down) };
                let mark = MarkRole::Of(tags.slot(element, ReadOut::AsDrawn));
                self.marks.push((mark, InkMark::Link { area, anchor: anchor.clone() }));
            }
        }
    }

    /// A cell of a table.
    fn put_cell(&mut self, tags: &mut Structure, element: Option<Element>, grid: &GridLayout, cell: &CellLines<'_>) {
        let CellLines { lines, side, column, figures, down } = *cell;
        for (k, line) in lines.iter().enumerate() {
            let spare = if figures { grid.widths_mm[column] - line.width_mm } else { 0.0 };
            let at = (grid.left(side, column) + spare, down + k as f64 * leading(grid.cap_mm));
            self.put(tags, element, (line, k + 1 < lines.len()), at, grid.cap_mm);
        }
    }

    /// What is there for the eye alone.
    pub fn ornament(&mut self, mark: InkMark) {
        self.marks.push((MarkRole::Ornament, mark));
    }
}

impl Flow<'_> {
    /// Keeps strips on one page, if one holds them.
    fn kept(&mut self, range: Range<usize>, setting: &PageSetting) {
        let high: f64 = self.strips[range.clone()].iter().map(|strip| strip.before_mm + strip.height_mm).sum();
        if high <= setting.height_mm && !range.is_empty() {
            self.strips[range.start..range.end - 1].iter_mut().for_each(|strip| strip.keep = true);
        }
    }

    fn element(&mut self, role: Role) -> Element {
        self.tags.element(Some(self.section), role)
    }

    /// A strong rule across the page and the title under it.
    fn title(&mut self, title: &str, setting: &PageSetting) {
        let lines = lines(&Text::strong(title), setting.width_mm, TITLE_MM, setting.references);
        let heading = self.element(Role::Heading(2, title.to_owned()));
        let mut strip = Strip { before_mm: 10.0, keep: true, ..Strip::default() };
        strip.ornament(level(0.0, setting.width_mm, 0.5 * STRONG.weight_mm, STRONG));
        strip.put_lines(self.tags, Some(heading), &lines, (0.0, 1.6), TITLE_MM);
        strip.height_mm = 2.6 + lines.len() as f64 * leading(TITLE_MM);
        self.strips.push(strip);
    }

    fn heading(&mut self, text: &str, setting: &PageSetting) {
        let lines = lines(&Text::strong(text), setting.width_mm, HEAD_MM, setting.references);
        let heading = self.element(Role::Heading(3, text.to_owned()));
        let mut strip = Strip { before_mm: 5.5, keep: true, ..Strip::default() };
        strip.put_lines(self.tags, Some(heading), &lines, (0.0, 0.0), HEAD_MM);
        strip.height_mm = lines.len() as f64 * leading(HEAD_MM) - 1.2;
        self.strips.push(strip);
    }

    fn paragraph(&mut self, text: &Text, setting: &PageSetting) {
        let lines = lines(text, setting.measure(), TEXT_MM, setting.references);
        let paragraph = self.element(Role::Paragraph);
        self.lines(paragraph, &lines, 0.0, GAP_MM);
    }

    /// Lines of an element, a strip each. The first two and the last two stay together.
    fn lines(&mut self, of: Element, lines: &[TextLine], x: f64, before_mm: f64) {
        let count = lines.len();
        for (k, line) in lines.iter().enumerate() {
            let mut strip = Strip { height_mm: leading(TEXT_MM), keep: keep(k, count), ..Strip::default() };
            strip.before_mm = if k == 0 { before_mm } else { 0.0 };
            strip.put(self.tags, Some(of), (line, k + 1 < count), (x, 0.0), TEXT_MM);
            self.strips.push(strip);
        }
    }

    /// An item of a list: its label with how that is read out, and its body.
    fn item(&mut self, list: Element, said: ReadOut) -> (MarkRole, Element) {
        let item = self.tags.element(Some(list), Role::Item);
        let label = self.tags.element(Some(item), Role::ItemLabel);
        (MarkRole::Of(self.tags.slot(label, said)), self.tags.element(Some(item), Role::ItemBody))
    }

    fn steps(&mut self, steps: &[Text], setting: &PageSetting) {
        const INDENT_MM: f64 = 9.0;
        let list = self.element(Role::List { numbered: true });
        for (k, step) in steps.iter().enumerate() {
            let first = self.strips.len();
            let lines = lines(step, setting.measure() - INDENT_MM, TEXT_MM, setting.references);
            let (label, body) = self.item(list, ReadOut::AsDrawn);
            self.lines(body, &lines, INDENT_MM, if k == 0 { GAP_MM } else { 1.2 });
            let at = Point::new(INDENT_MM - 3.0, -0.5 * (leading(TEXT_MM) + TEXT_MM));
            let number = Label::new((k + 1).to_string(), at, TEXT_MM).aligned(Align::Right).bold();
            self.strips[first].marks.push((label, InkMark::Label(number)));
        }
    }

    fn ticks(&mut self, items: &[Text], setting: &PageSetting) {
        const INDENT_MM: f64 = 7.0;
        let list = self.element(Role::List { numbered: false });
        for (k, item) in items.iter().enumerate() {
            let first = self.strips.len();
            let lines = lines(item, setting.measure() - INDENT_MM, TEXT_MM, setting.references);
            let (label, body) = self.item(list, ReadOut::Words(TICK_WORDS.into()));
            self.lines(body, &lines, INDENT_MM, if k == 0 { GAP_MM } else { PENCIL_MM - leading(TEXT_MM) });
            let middle = Point::new(0.5 * BOX_MM, -0.5 * leading(TEXT_MM));
            self.strips[first].marks.push((label, tick_box(middle)));
        }
    }

    fn caution(&mut self, texts: &[Text], setting: &PageSetting) {
        const INDENT_MM: f64 = 5.0;
        let first = self.strips.len();
        let group = self.element(Role::Group);
        let head = self.tags.element(Some(group), Role::Paragraph);
        let care = lines(&Text::strong("Care"), setting.measure(), TEXT_MM, setting.references);
        self.lines(head, &care, INDENT_MM, GAP_MM + 1.0);
        self.strips[first].keep = true;
        for text in texts {
            let lines = lines(text, setting.measure() - INDENT_MM, TEXT_MM, setting.references);
            let count = self.strips.len();
            let paragraph = self.tags.element(Some(group), Role::Paragraph);
            self.lines(paragraph, &lines, INDENT_MM, 0.0);
            // Air above each text belongs to its strip, so that the rule at the left has no gap.
            let air = 0.8;
            let strip = &mut self.strips[count];
            strip.height_mm += air;
            for (_, mark) in &mut strip.marks {
                mark.lower(air);
            }
        }
        let last = self.strips.len() - 1;
        // A short caution stays whole; a long one may run on.
        const WHOLE: usize = 14;
        if last - first < WHOLE {
            self.strips[first..last].iter_mut().for_each(|strip| strip.keep = true);
        }
        for (k, strip) in self.strips.iter_mut().enumerate().skip(first) {
            let x = 0.5 * HEAVY.weight_mm;
            // A hair's overlap, so that no screen shows a seam between two strips.
            let below = strip.height_mm + if k < last { 0.1 } else { 0.0 };
            let rule = Path::line(Point::new(x, 0.0), Point::new(x, -below));
            strip.ornament(InkMark::Line(rule, HEAVY));
        }
    }

    /// Names at the left, values beside them; short ones in two columns, read down and then across.
    fn facts(&mut self, facts: &[(String, Text)], setting: &PageSetting) {
        const BETWEEN_MM: f64 = 4.0;
        let references = setting.references;
        let name = |fact: &(String, Text)| typeset::widths(&fact.0.as_str().into(), TEXT_MM, references).0;
        let value = |fact: &(String, Text)| typeset::widths(&fact.1, TEXT_MM, references).0;
        let names = facts.iter().map(name).fold(0.0, f64::max);
        let values = facts.iter().map(value).fold(0.0, f64::max);
        let half = 0.5 * (setting.width_mm - GUTTER_MM);
        // Two columns stay on one page: a reader would take them for two lists if they ran on.
        let two = 8 <= facts.len() && facts.len() <= 40 && names + BETWEEN_MM + values <= half;
        let width = if two { half } else { setting.measure() };
        let name_width = names.min(if two { half } else { 0.45 * width });
        let rows = if two { facts.len().div_ceil(2) } else { facts.len() };
        let list = self.element(Role::List { numbered: false });
        let items: Vec<[Element; 2]> = facts
            .iter()
            .map(|_| {
                let item = self.tags.element(Some(list), Role::Item);
                [Role::ItemLabel, Role::ItemBody].map(|role| self.tags.element(Some(item), role))
            })
            .collect();
        for row in 0..rows {
            let mut strip = Strip { before_mm: if row == 0 { GAP_MM } else { 0.0 }, ..Strip::default() };
            strip.keep = row + 1 < rows && (two || keep(row, rows));
            let mut most = 1;
            for (column, fact) in [facts.get(row), facts.get(row + rows).filter(|_| two)].into_iter().enumerate() {
                let Some((name, value)) = fact else { continue };
                let x = column as f64 * (half + GUTTER_MM);
                let sides = [
                    (x, lines(&name.as_str().into(), name_width, TEXT_MM, references)),
                    (x + name_width + BETWEEN_MM, lines(value, width - name_width - BETWEEN_MM, TEXT_MM, references)),
                ];
                for ((x, lines), element) in sides.iter().zip(items[row + column * rows]) {
                    most = most.max(lines.len());
                    strip.put_lines(self.tags, Some(element), lines, (*x, 0.4), TEXT_MM);
                }
            }
            strip.height_mm = 0.8 + most as f64 * leading(TEXT_MM);
            for column in 0..if two { 2 } else { 1 } {
                let x = f64::from(column) * (half + GUTTER_MM);
                if facts.len() <= row + column as usize * rows {
                    continue;
                }
                if row == 0 {
                    strip.ornament(level(x, x + width, 0.0, THIN));
                }
                strip.ornament(level(x, x + width, strip.height_mm, HAIR));
            }
            self.strips.push(strip);
        }
    }

    /// Names with a line to write on, two side by side where they are short.
    fn blanks(&mut self, names: &[String], setting: &PageSetting) {
        const LINE_MM: f64 = 32.0;
        const PITCH_MM: f64 = 8.5;
        let half = 0.5 * (setting.width_mm - GUTTER_MM);
        let widest = names.iter().map(|name| font::width_mm(&shown(name), TEXT_MM, Lettering::Regular)).fold(0.0, f64::max);
        let across = if widest + 2.0 + LINE_MM <= half && 1 < names.len() { 2 } else { 1 };
        let width = if across == 2 { half } else { setting.measure() };
        let rows = names.chunks(across);
        let count = rows.len();
        let list = self.element(Role::List { numbered: false });
        for (row, here) in rows.enumerate() {
            let mut strip = Strip { keep: keep(row, count), ..Strip::default() };
            strip.before_mm = if row == 0 { GAP_MM - 1.0 } else { 0.0 };
            for (column, name) in here.iter().enumerate() {
                let x = column as f64 * (half + GUTTER_MM);
                let lines = lines(&name.as_str().into(), width - 2.0 - LINE_MM, TEXT_MM, setting.references);
                let top = PITCH_MM - leading(TEXT_MM);
                let item = self.tags.element(Some(list), Role::Item);
                let body = self.tags.element(Some(item), Role::ItemBody);
                strip.put_lines(self.tags, Some(body), &lines, (x, top), TEXT_MM);
                strip.height_mm = strip.height_mm.max(top + lines.len() as f64 * leading(TEXT_MM));
                let last = lines.last().map_or(0.0, |line| line.width_mm);
                let foot = top + lines.len() as f64 * leading(TEXT_MM) - 0.5 * (leading(TEXT_MM) - TEXT_MM);
                let line = MarkRole::Of(self.tags.slot(body, ReadOut::Words(BLANK_WORDS.into())));
                strip.marks.push((line, level(x + last + 2.0, x + width, foot + 0.3, THIN)));
            }
            self.strips.push(strip);
        }
    }

    fn picture(&mut self, picture: &Picture, setting: &PageSetting) {
        let mut drawing = picture.drawing.clone();
        for item in &mut drawing.items {
            if let Shape::Label(label) = &mut item.shape {
                label.text = shown(&label.text).into_owned();
            }
        }
        let bounds = font::extent(&drawing).grown(0.5);
        // Its headings and the caption, as long as it may become, stay on its page.
        let told = fitted_caption(&picture.caption, 0.0);
        let said = lines(&told.into(), setting.measure(), TEXT_MM, setting.references).len() as f64 * leading(TEXT_MM);
        let kept = self.strips.iter().rev().take_while(|strip| strip.keep).map(|strip| strip.before_mm + strip.height_mm);
        let beside = (kept.sum::<f64>() + GAP_MM + 1.0 + 1.5 + said + 1.5).clamp(HEADINGS_MM, 0.5 * setting.height_mm);
        let max_high = setting.height_mm - beside;
        let factor = (setting.width_mm / bounds.width()).min(max_high / bounds.height()).min(1.0);
        let (width, height) = (factor * bounds.width(), factor * bounds.height());
        let mut strip = Strip { before_mm: GAP_MM + 1.0, height_mm: height + 1.5, keep: true, ..Strip::default() };
        let to = Point::new(0.5 * (setting.width_mm - width), -height);
        let figure = self.element(Role::Figure(picture.alt.clone()));
        let mark = MarkRole::Of(self.tags.slot(figure, ReadOut::AsDrawn));
        strip.marks.push((mark, InkMark::Picture { drawing, from: bounds.min, to, factor }));
        self.strips.push(strip);
        let caption = if factor < 1.0 { fitted_caption(&picture.caption, factor) } else { picture.caption.clone() };
        let lines = lines(&caption.into(), setting.measure(), TEXT_MM, setting.references);
        let mut under = Strip { height_mm: lines.len() as f64 * leading(TEXT_MM) + 1.5, ..Strip::default() };
        let words = self.element(Role::Paragraph);
        for (k, line) in lines.iter().enumerate() {
            let at = (0.5 * (setting.width_mm - line.width_mm), k as f64 * leading(TEXT_MM));
            under.put(self.tags, Some(words), (line, k + 1 < lines.len()), at, TEXT_MM);
        }
        self.strips.push(under);
    }

    fn table(&mut self, table: &Table, setting: &PageSetting) -> Result<(), String> {
        if table.columns.is_empty() {
            return Ok(());
        }
        let Some(grid) = GridLayout::of(table, setting) else {
            return Err(format!("the table `{}` has too many columns for this page", table.caption));
        };
        let element = self.element(Role::Table);
        let top = self.strips.len();
        let first = self.table_head(table, &grid, &table.caption, setting, Some(element));
        let continued = if table.caption.is_empty() { "continued".into() } else { format!("{} (continued)", table.caption) };
        let again = self.table_head(table, &grid, &continued, setting, None);
        self.strips.push(first);
        self.heads.push(again);
        let head = self.heads.len() - 1;
        // A row is one strip, unless it alone is higher than a page.
        let room = setting.height_mm - self.heads[head].height_mm - grid.row_mm(0);
        let max_lines = (room / leading(grid.cap_mm)).floor();
        if max_lines < 1.0 {
            return Err(format!("the table `{}` has heads that fill a page", table.caption));
        }
        let body = self.tags.element(Some(element), Role::TableBody);
        let rows: Vec<RowElements> = table.rows.iter().map(|cells| RowElements::of(self.tags, body, cells)).collect();
        let count = table.rows.len().div_ceil(grid.lefts_mm.len());
        for row in 0..count {
            let here: Vec<usize> =
                (0..grid.lefts_mm.len()).map(|side| row + side * count).filter(|k| *k < table.rows.len()).collect();
            let set: Vec<Vec<Vec<TextLine>>> = here.iter().map(|k| grid.set(&table.rows[*k], setting)).collect();
            let longest = set.iter().flatten().map(Vec::len).max().unwrap_or(0).max(1);
            let most = max_lines as usize;
            for from in (0..longest).step_by(most) {
                let lines_here = most.min(longest - from);
                let last = row + 1 == count && longest <= from + most;
                let mut strip = Strip { height_mm: grid.row_mm(lines_here), head: Some(head), ..Strip::default() };
                // Columns side by side would be taken for two tables if they ran on.
                let holds = keep(row, count) || begins_a_pair(&table.rows, row);
                strip.keep = row + 1 < count && (1 < here.len() || holds && longest <= most);
                for (side, k) in here.iter().enumerate() {
                    let cells =
                        SetRow { cells: &table.rows[*k], elements: &rows[*k], lines: &set[side], shown: from..from + lines_here };
                    self.row(&mut strip, table, &grid, side, &cells);
                    let rule = if last { THIN } else { HAIR };
                    strip.ornament(level(grid.lefts_mm[side], grid.lefts_mm[side] + grid.width(), strip.height_mm, rule));
                }
                self.strips.push(strip);
            }
        }
        // A small table is read at a glance, and costs little white where it goes over whole.
        let own = &mut self.strips[top..];
        if own.iter().map(|strip| strip.before_mm + strip.height_mm).sum::<f64>() <= WHOLE_PART * setting.height_mm {
            let before_last = own.len() - 1;
            own[..before_last].iter_mut().for_each(|strip| strip.keep = true);
        }
        Ok(())
    }

    /// Caption and heads of a table; without an element they are only repeated.
    fn table_head(
        &mut self,
        table: &Table,
        grid: &GridLayout,
        caption: &str,
        setting: &PageSetting,
        element: Option<Element>,
    ) -> Strip {
        let mut strip = Strip { before_mm: GAP_MM + 1.0, keep: true, ..Strip::default() };
        let all_wide = grid.lefts_mm.last().unwrap_or(&0.0) + grid.width();
        if !caption.is_empty() {
            let lines = lines(&Text::strong(caption), setting.measure().max(all_wide), TEXT_MM, setting.references);
            let caption = element.map(|element| self.tags.element(Some(element), Role::TableCaption));
            strip.put_lines(self.tags, caption, &lines, (0.0, 0.0), TEXT_MM);
            strip.height_mm += lines.len() as f64 * leading(TEXT_MM) + 0.8;
        }
        let cells: Vec<Vec<TextLine>> = table
            .columns
            .iter()
            .zip(&grid.widths_mm)
            .map(|(column, width)| lines(&Text::strong(column.head.as_str()), *width, grid.cap_mm, setting.references))
            .collect();
        let most = cells.iter().map(Vec::len).max().unwrap_or(1);
        let above = strip.height_mm;
        let top = above + 0.7;
        strip.height_mm = top + most as f64 * leading(grid.cap_mm) + 0.5;
        let row = element.map(|element| {
            let head = self.tags.element(Some(element), Role::TableHead);
            self.tags.element(Some(head), Role::Row)
        });
        for (side, left) in grid.lefts_mm.iter().enumerate() {
            strip.ornament(level(*left, left + grid.width(), above, STRONG));
            for (k, (cell, column)) in cells.iter().zip(&table.columns).enumerate() {
                // Heads stand on the rule; those of the second column of rows are read with the first's.
                let down = top + (most - cell.len()) as f64 * leading(grid.cap_mm);
                let head = row.filter(|_| side == 0).map(|row| self.tags.element(Some(row), Role::ColumnHead));
                let lines = CellLines { lines: cell, side, column: k, figures: column.figures, down };
                strip.put_cell(self.tags, head, grid, &lines);
                if let Some(head) = head.filter(|_| cell.iter().all(|line| line.pieces.is_empty())) {
                    self.empty(&mut strip, head);
                }
            }
            strip.ornament(level(*left, left + grid.width(), strip.height_mm, THIN));
        }
        strip
    }

    /// A cell with nothing in it is a cell all the same: without it the row would lack a column.
    fn empty(&mut self, strip: &mut Strip, cell: Element) {
        let mark = MarkRole::Of(self.tags.slot(cell, ReadOut::AsDrawn));
        strip.marks.push((mark, InkMark::Label(Label::new("", Point::new(0.0, 0.0), SMALL_MM))));
    }

    /// A row, in the column of rows `side`.
    fn row(&mut self, strip: &mut Strip, table: &Table, grid: &GridLayout, side: usize, row: &SetRow<'_>) {
        let SetRow { cells, elements, lines: set, ref shown } = *row;
        // Short rows of a table for pencils: letters stand on the middle of the row.
        let top = 0.5 * (strip.height_mm - shown.len() as f64 * leading(grid.cap_mm));
        for (k, (cell, column)) in cells.iter().zip(&table.columns).enumerate() {
            let element = elements.0[k];
            let lines = &set[k][shown.start.min(set[k].len())..shown.end.min(set[k].len())];
            let placed = CellLines { lines, side, column: k, figures: column.figures, down: top };
            strip.put_cell(self.tags, Some(element), grid, &placed);
            let (left, right) = (grid.left(side, k), grid.left(side, k) + grid.widths_mm[k]);
            match cell {
                Cell::Tick if shown.start == 0 => {
                    let middle = Point::new(0.5 * (left + right), -0.5 * strip.height_mm);
                    let mark = MarkRole::Of(self.tags.slot(element, ReadOut::Words(TICK_WORDS.into())));
                    strip.marks.push((mark, tick_box(middle)));
                }
                Cell::Blank => {
                    // As wide as the column with its white, so that blanks side by side share their edges.
                    let (left, right) = (left - 0.5 * grid.between_mm, right + 0.5 * grid.between_mm);
                    let sides = Bounds { min: Point::new(left, -strip.height_mm), max: Point::new(right, 0.0) };
                    let mark = MarkRole::Of(self.tags.slot(element, ReadOut::Words(BLANK_WORDS.into())));
                    strip.marks.push((mark, InkMark::Line(Path::rectangle(sides), THIN)));
                }
                Cell::Text(_) if shown.start == 0 && lines.iter().all(|line| line.pieces.is_empty()) => {
                    self.empty(strip, element)
                }
                _ => {}
            }
        }
    }
}

/// A row whose cells are set in lines, of which some are shown.
struct SetRow<'a> {
    cells: &'a [Cell],
    elements: &'a RowElements,
    lines: &'a [Vec<TextLine>],
    shown: Range<usize>,
}

/// The cells of a row in the document's structure; the first is its head.
struct RowElements(Vec<Element>);

impl RowElements {
    fn of(tags: &mut Structure, body: Element, cells: &[Cell]) -> RowElements {
        let row = tags.element(Some(body), Role::Row);
        let role = |k: usize| if k == 0 { Role::RowHead } else { Role::Cell };
        RowElements((0..cells.len()).map(|k| tags.element(Some(row), role(k))).collect())
    }
}

/// A table that takes no more of a page than this is not parted: more, and pages end half empty; less, and four rows stand on two pages.
const WHOLE_PART: f64 = 0.25;

/// Whether row `k` of `count` must not be parted from the next: the first two and the last two hold together.
fn keep(k: usize, count: usize) -> bool {
    k + 1 < count && (k == 0 || k + 2 == count)
}

/// Whether row `k` and the next are of one thing, as both limbs at one draw are: they have one head, and `k` is the first that has it.
fn begins_a_pair(rows: &[Vec<Cell>], k: usize) -> bool {
    let head = |k: usize| rows.get(k)?.first()?.text().map(Text::letters).filter(|head| !head.is_empty());
    head(k).is_some() && head(k) == head(k + 1) && k.checked_sub(1).and_then(head) != head(k)
}

fn tick_box(middle: Point) -> InkMark {
    let half = 0.5 * BOX_MM;
    let corner = |sign: f64| Point::new(middle.x + sign * half, middle.y + sign * half);
    InkMark::Line(Path::rectangle(Bounds { min: corner(-1.0), max: corner(1.0) }), Ink::solid(0.25, BLACK))
}

impl InkMark {
    fn lower(&mut self, by_mm: f64) {
        match self {
            InkMark::Label(label) => label.at.y -= by_mm,
            InkMark::Link { area, .. } => {
                area.min.y -= by_mm;
                area.max.y -= by_mm;
            }
            InkMark::Line(path, _) => path.vertices.iter_mut().for_each(|vertex| vertex.at.y -= by_mm),
            InkMark::Picture { to, .. } => to.y -= by_mm,
        }
    }
}

/// Lines of a cell, and where they stand.
struct CellLines<'a> {
    lines: &'a [TextLine],
    /// Which column of rows, and which column of it.
    side: usize,
    column: usize,
    /// Flush right.
    figures: bool,
    /// Under the strip's upper edge, mm.
    down: f64,
}

/// The caption of a picture that is made smaller to fit its page: a stated scale holds no longer.
fn fitted_caption(caption: &str, factor: f64) -> String {
    if caption.contains("1 : ") {
        format!("{caption} (shown at {factor:.2} of the scale stated, to fit this page)")
    } else {
        format!("{caption} (shown smaller, to fit this page)")
    }
}
