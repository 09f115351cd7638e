//! How wide are the columns of a table on a page?
//!
//! Columns are as wide as their contents; if they do not fit, words are wrapped, then letters made smaller, then both, and at the very end long
//! words are broken: nothing ever leaves the page. A long narrow table stands as two columns of rows side by side.

use super::typeset::{self, PageSetting, TextLine, leading, lines};
use crate::book::{Cell, Table, Text};
use crate::drawing::Lettering;
use crate::drawing::font::{self, SMALL_MM, TEXT_MM};

/// Side of a box to tick: a pencil's cross stays inside, and it does not look like a letter.
pub(super) const BOX_MM: f64 = 3.2;
/// The same in a table, whose rows are ruled: between the lines of squared paper and those of a narrow-ruled pad.
const TABLE_PENCIL_MM: f64 = 5.6;
/// From this many rows on, a table that takes no more than half the page is set in two columns side by side.
const FOLDED_ROWS: usize = 8;
/// White between two such columns, and between those of facts and blanks.
pub(super) const GUTTER_MM: f64 = 8.0;
/// Least width of a blank to write a reading into.
const BLANK_MM: f64 = 16.0;
/// What a blank may grow to where the page has room.
const WIDE_BLANK_MM: f64 = 32.0;
/// The head of a column that is no wider stays on one line, however narrow the cells are.
const SHORT_HEAD_MM: f64 = 16.0;
/// Kept free at least beside a picture for the headings and the caption that stay with it.
pub(super) const HEADINGS_MM: f64 = 30.0;

/// The columns of a table on the page.
pub(super) struct GridLayout {
    pub cap_mm: f64,
    /// Where the columns of rows begin: one, or two side by side.
    pub lefts_mm: Vec<f64>,
    pub widths_mm: Vec<f64>,
    pub between_mm: f64,
    /// Whether rows are written on by hand.
    by_hand: bool,
}

impl GridLayout {
    /// Of a table on this page; nothing where it has too many columns.
    pub fn of(table: &Table, setting: &PageSetting) -> Option<GridLayout> {
        folded(table, setting).or_else(|| grid(table, setting))
    }

    pub fn left(&self, side: usize, column: usize) -> f64 {
        self.lefts_mm[side] + self.inner(column)
    }

    pub fn inner(&self, column: usize) -> f64 {
        self.widths_mm[..column].iter().sum::<f64>() + (column as f64 + 0.5) * self.between_mm
    }

    /// Of one column of rows.
    pub fn width(&self) -> f64 {
        self.inner(self.widths_mm.len()) - 0.5 * self.between_mm
    }

    pub fn row_mm(&self, lines: usize) -> f64 {
        let high = 0.9 + lines as f64 * leading(self.cap_mm);
        if self.by_hand { high.max(TABLE_PENCIL_MM) } else { high }
    }

    /// A row's cells in lines.
    pub fn set(&self, cells: &[Cell], setting: &PageSetting) -> Vec<Vec<TextLine>> {
        let lines = |(cell, width): (&Cell, &f64)| match cell {
            Cell::Text(text) => lines(text, *width, self.cap_mm, setting.references),
            Cell::Blank | Cell::Tick => Vec::new(),
        };
        cells.iter().zip(&self.widths_mm).map(lines).collect()
    }
}

/// Two columns of rows side by side, read down and then across, where a table is long, narrow, and none of its cells is wrapped.
fn folded(table: &Table, setting: &PageSetting) -> Option<GridLayout> {
    if table.rows.len() < FOLDED_ROWS {
        return None;
    }
    let width_mm = 0.5 * (setting.width_mm - GUTTER_MM);
    let half = PageSetting { width_mm, height_mm: setting.height_mm, references: setting.references };
    // Smaller letters are worth half the length, the smallest are not.
    let mut grid = grid(table, &half).filter(|grid| SMALL_MM < grid.cap_mm)?;
    let single = table.rows.iter().all(|row| grid.set(row, setting).iter().all(|lines| lines.len() <= 1));
    // With captions, heads and the rows themselves no page is filled to more than this.
    let high = grid.row_mm(1) * table.rows.len().div_ceil(2) as f64;
    if !single || setting.height_mm - HEADINGS_MM < high {
        return None;
    }
    grid.lefts_mm.push(width_mm + GUTTER_MM);
    Some(grid)
}

/// What a column asks for, at letters of one size.
struct Wish {
    /// Everything on one line.
    whole: f64,
    /// No word broken.
    words: f64,
    /// Words may be wrapped.
    wraps: bool,
    blank: bool,
}

/// The columns as wide as their contents, or as this page lets them be; nothing where it has too many.
fn grid(table: &Table, setting: &PageSetting) -> Option<GridLayout> {
    let written = |cell: &Cell| matches!(cell, Cell::Blank | Cell::Tick);
    let by_hand = table.rows.iter().flatten().any(written);
    let wishes = |cap_mm: f64| -> Vec<Wish> {
        table
            .columns
            .iter()
            .enumerate()
            .map(|(k, column)| {
                let head: Text = Text::strong(column.head.as_str());
                let head_words = typeset::widths(&head, cap_mm, setting.references).1;
                let head_lines = if column.figures { 3 } else { 2 };
                let head_single = typeset::widths(&head, cap_mm, setting.references).0;
                let head_whole = typeset::width_in_lines(&head, head_lines, cap_mm, setting.references);
                let head_whole = head_whole.max(head_single.min(SHORT_HEAD_MM));
                let mut wish = Wish { whole: head_whole, words: head_words, wraps: !column.figures, blank: false };
                for cell in table.rows.iter().filter_map(|row| row.get(k)) {
                    let (whole, words) = match cell {
                        Cell::Text(text) => typeset::widths(text, cap_mm, setting.references),
                        Cell::Blank => (BLANK_MM, BLANK_MM),
                        Cell::Tick => (BOX_MM, BOX_MM),
                    };
                    wish.whole = wish.whole.max(whole);
                    wish.words = wish.words.max(words);
                    wish.blank |= *cell == Cell::Blank;
                }
                wish
            })
            .collect()
    };
    let sum = |widths: &[f64]| widths.iter().sum::<f64>();
    let count = table.columns.len() as f64;
    // Words are wrapped before letters shrink, as long as a column keeps this width: a book is read at arm's length.
    const EASY_MM: f64 = 26.0;
    for (cap_mm, between_mm) in [(TEXT_MM, 4.0), (0.5 * (TEXT_MM + SMALL_MM), 3.4), (SMALL_MM, 2.8)] {
        let room = setting.width_mm - count * between_mm;
        let wishes = wishes(cap_mm);
        let whole: Vec<f64> = wishes.iter().map(|wish| wish.whole).collect();
        let easy = |wish: &Wish| if wish.wraps { wish.whole.min(wish.words.max(EASY_MM)) } else { wish.whole };
        let least: Vec<f64> = wishes.iter().map(easy).collect();
        if sum(&least) <= room {
            let mut widths_mm = shared(&whole, &least, room);
            let blanks = wishes.iter().filter(|wish| wish.blank).count() as f64;
            let spare = room - sum(&widths_mm);
            for (width, _) in widths_mm.iter_mut().zip(&wishes).filter(|(_, wish)| wish.blank) {
                *width += (spare / blanks).min((WIDE_BLANK_MM - *width).max(0.0));
            }
            return Some(GridLayout { cap_mm, lefts_mm: vec![0.0], widths_mm, between_mm, by_hand });
        }
    }
    let (cap_mm, between_mm) = (SMALL_MM, 1.8);
    let room = setting.width_mm - count * between_mm;
    let wishes = wishes(cap_mm);
    let whole: Vec<f64> = wishes.iter().map(|wish| wish.whole).collect();
    // First no word is broken, then a column keeps at least two letters, and room to write where there is a blank.
    let words: Vec<f64> = wishes.iter().map(|wish| wish.words).collect();
    let letters = |wish: &Wish| if wish.blank { BLANK_MM } else { wish.words.min(2.0 * font::em_mm(cap_mm, Lettering::Bold)) };
    let letters: Vec<f64> = wishes.iter().map(letters).collect();
    let least = [words, letters].into_iter().find(|least| sum(least) <= room)?;
    Some(GridLayout { cap_mm, lefts_mm: vec![0.0], widths_mm: shared(&whole, &least, room), between_mm, by_hand })
}

/// Widths between `least` and `whole` that fill the room: the widest columns give way first.
fn shared(whole: &[f64], least: &[f64], room: f64) -> Vec<f64> {
    let at = |limit: f64| -> Vec<f64> { whole.iter().zip(least).map(|(whole, least)| whole.min(least.max(limit))).collect() };
    let (mut low, mut high) = (0.0, room.max(whole.iter().copied().fold(0.0, f64::max)));
    if at(high).iter().sum::<f64>() <= room {
        return at(high);
    }
    // 40 halvings bring a page's width under a nanometre.
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if at(middle).iter().sum::<f64>() <= room { low = middle } else { high = middle }
    }
    at(low)
}
