//! How a drawing larger than the paper is spread over pages: the plain geometry, in true mm.
//!
//! ```text
//!   page                                     pages side by side
//!   ┌──────────────────────────────┐         ┌─────────┐
//!   │ │                            │         │    ┌────┼────┐   each page shows its window;
//!   │y│        window              │         │ A1 │    │ A2 │   neighbours share an overlap, with
//!   │ │                            │         └────┼────┘    │   the joint line in its middle
//!   │ ├────────────────────────────┤              └─────────┘
//!   │ x  check      foot           │
//!   └──────────────────────────────┘
//! ```
//!
//! Joint lines keep clear of texts where that takes no more pages: pages then own less than their window would hold.
//! Rows have letters from the top, columns numbers from the left. What a page *owns* is its window up to the joint lines:
//! the owned areas cover the drawing exactly once. A printer that stretches is corrected by thinking of its page as
//! smaller or larger by the same factors: everything here is in mm as they will come out.

use crate::drawing::annotate::{CHECK_SIDE_MM, CheckSize};
use crate::geometry::{Bounds, Extent, Point};
use crate::model::workshop::PrintPaper;
use crate::units::PT_PER_MM;

/// Width that neighbouring pages share, mm: less leaves no room for the joint's marks, more costs pages.
pub const OVERLAP_MM: f64 = 10.0;
/// Longest side of a page that PDF readers accept: 14 400 points (ISO 32000-1, annex C).
pub const LONGEST_PAGE_MM: f64 = 14_400.0 / PT_PER_MM;
/// Strip at the left of every page for the upright bar of the scale check, mm.
const SIDE_MM: f64 = 2.0 * CHECK_SIDE_MM + 1.0;
/// Shortest print from a roll, mm: the foot's texts need a line.
const SHORTEST_ROLL_MM: f64 = 250.0;
/// More pages than this are a wrong paper or a wrong unit, not a template.
const MAX_PAGES: usize = 400;

/// What the 100 mm bars of a scale check measured on the user's own print, along the page's x and y, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Printed {
    pub x: f64,
    pub y: f64,
}

impl Printed {
    /// A printer that is exact.
    pub const EXACT: Printed = Printed { x: 100.0, y: 100.0 };

    /// Reads `99.2x99.6`. Values must lie between 90 and 110: beyond that the print was scaled on purpose or by "fit to page".
    ///
    /// ```
    /// use taperwright::write::tile::Printed;
    /// assert_eq!(Printed::read("99.2x99.6").unwrap(), Printed { x: 99.2, y: 99.6 });
    /// assert!(Printed::read("4x4").is_err());
    /// ```
    pub fn read(text: &str) -> Result<Printed, String> {
        let number = |part: &str| part.trim().trim_end_matches("mm").trim().parse::<f64>().ok();
        let parts = text.split_once(['x', '×']).and_then(|(x, y)| Some((number(x)?, number(y)?)));
        let Some((x, y)) = parts else {
            return Err(format!("`{text}` is not two measured lengths: write 99.2x99.6 for the bars along x and y in mm"));
        };
        if [x, y].iter().all(|value| (90.0..=110.0).contains(value)) {
            Ok(Printed { x, y })
        } else {
            Err(format!("`{text}` is not near 100 mm (90 to 110): print with scaling off and measure the 100 mm bars"))
        }
    }

    /// What lengths on paper must be multiplied by, along x and y.
    pub fn stretch(self) -> (f64, f64) {
        (100.0 / self.x, 100.0 / self.y)
    }
}

/// One page of a tiled drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile {
    /// Row letter and column number, such as `A2`.
    pub name: String,
    /// From the top, from 0.
    pub row: usize,
    /// From the left, from 0.
    pub column: usize,
    /// Part of the drawing that the window shows, in the drawing's coordinates.
    pub shows: Bounds,
    /// The window up to the joint lines: every point of the drawing is owned by one tile (two along a joint line).
    pub owns: Bounds,
}

/// All pages of a drawing. Every page has the same size and the same window.
#[derive(Debug, Clone, PartialEq)]
pub struct Tiling {
    /// Page as the file states it, mm on paper.
    pub paper_mm: Extent,
    /// The same page in mm as they come out of the printer; other lengths here are in these.
    pub page_mm: Extent,
    /// Where the drawing shows, from the page's lower left corner.
    pub window: Bounds,
    /// Corner of the scale check on the page.
    pub check_corner: Point,
    pub check_size: CheckSize,
    /// Free foot beside the check's horizontal bar, under the window.
    pub foot: Bounds,
    pub columns: usize,
    pub rows: usize,
    /// Row by row from the top.
    pub tiles: Vec<Tile>,
}

/// Spreads `extent` over as few pages as the paper allows, upright or lying, whichever needs less.
///
/// `foot_mm` says how high the foot must be for a foot of a given width (its texts break differently).
pub fn tiled(extent: Bounds, paper: &PrintPaper, printed: Printed, foot_mm: impl Fn(f64) -> f64) -> Result<Tiling, String> {
    tiled_around(extent, &[], paper, printed, foot_mm)
}

/// The same with the boxes of texts, between which the joints shall run.
pub fn tiled_around(
    extent: Bounds,
    texts: &[Bounds],
    paper: &PrintPaper,
    printed: Printed,
    foot_mm: impl Fn(f64) -> f64,
) -> Result<Tiling, String> {
    if extent.is_empty() || ![extent.width(), extent.height()].iter().all(|length| length.is_finite()) {
        return Err("the drawing has no finite extent".into());
    }
    let upright = spread(extent, texts, LaidPaper { paper, printed, lying: false }, &foot_mm);
    let lying = spread(extent, texts, LaidPaper { paper, printed, lying: true }, &foot_mm);
    let cost = |tiling: &Tiling| {
        let area = tiling.paper_mm.width * tiling.paper_mm.height * tiling.tiles.len() as f64;
        // Whole mm²: equal papers must compare as equal.
        (tiling.tiles.len(), area.round() as u64)
    };
    match (upright, lying) {
        (Ok(upright), Ok(lying)) => {
            let wide = extent.height() <= extent.width();
            let lying_first = cost(&lying) < cost(&upright) || (wide && cost(&lying) == cost(&upright));
            Ok(if lying_first { lying } else { upright })
        }
        (Ok(only), Err(_)) | (Err(_), Ok(only)) => Ok(only),
        (Err(fault), Err(_)) => Err(fault),
    }
}

/// Paper as it is printed on: upright, or on its long side.
#[derive(Clone, Copy)]
struct LaidPaper<'a> {
    paper: &'a PrintPaper,
    printed: Printed,
    lying: bool,
}

fn spread(extent: Bounds, texts: &[Bounds], laid: LaidPaper<'_>, foot_mm: &impl Fn(f64) -> f64) -> Result<Tiling, String> {
    let LaidPaper { paper, printed, lying } = laid;
    let stretch = printed.stretch();
    let margin = (paper.margin_mm / stretch.0, paper.margin_mm / stretch.1);
    // Page in true mm. A roll's long side is cut to what is needed, once the needed length is known.
    let (along, across) = (paper.height_mm.min(LONGEST_PAGE_MM), paper.width_mm.min(LONGEST_PAGE_MM));
    let (mut width, mut height) =
        if lying { (along / stretch.0, across / stretch.1) } else { (across / stretch.0, along / stretch.1) };
    let side = margin.0 + SIDE_MM;
    if paper.roll && lying {
        let most = width - side - margin.0;
        let pages = count(extent.width(), most)?;
        let window = (extent.width() + (pages - 1) as f64 * OVERLAP_MM) / pages as f64;
        width = width.min((window + side + margin.0).max(SHORTEST_ROLL_MM));
    }
    let check_corner = Point::new(margin.0 + CHECK_SIDE_MM + 0.5, margin.1 + CHECK_SIDE_MM + 0.5);
    let room = (width - margin.0 - check_corner.x).min(height - margin.1 - check_corner.y);
    let check_size = [CheckSize::Full, CheckSize::Half].into_iter().find(|size| size.longest_mm() + 1.0 < room);
    let Some(check_size) = check_size else {
        return Err(format!("paper `{}` is too small for a scale check of 50 mm", paper.name));
    };
    let foot_left = check_corner.x + check_size.longest_mm() + 5.0;
    let foot_high = foot_mm(width - margin.0 - foot_left).max(2.0 * CHECK_SIDE_MM + 1.5);
    let bottom = margin.1 + foot_high;
    if paper.roll && !lying {
        let most = height - bottom - margin.1;
        let pages = count(extent.height(), most)?;
        let window = (extent.height() + (pages - 1) as f64 * OVERLAP_MM) / pages as f64;
        height = height.min((window + bottom + margin.1).max(SHORTEST_ROLL_MM));
    }
    let window = Bounds { min: Point::new(side, bottom), max: Point::new(width - margin.0, height - margin.1) };
    let columns = count(extent.width(), window.width())?;
    let rows = count(extent.height(), window.height())?;
    if MAX_PAGES < columns * rows {
        let size = format!("{:.0} x {:.0} mm", extent.width(), extent.height());
        return Err(format!("{size} would take {columns} x {rows} pages of `{}`", paper.name));
    }
    let along: Vec<[f64; 2]> = texts.iter().map(|text| [text.min.x, text.max.x]).collect();
    let across = lay([extent.min.x, extent.max.x], window.width(), columns, &along);
    let along: Vec<[f64; 2]> = texts.iter().map(|text| [text.min.y, text.max.y]).collect();
    let up = lay([extent.min.y, extent.max.y], window.height(), rows, &along);
    let mut tiles = Vec::with_capacity(columns * rows);
    for row in 0..rows {
        // Rows count from the top, heights from the bottom.
        let (show_y, own_y) = up[rows - 1 - row];
        for (column, (show_x, own_x)) in across.iter().enumerate() {
            let bounds = |x: [f64; 2], y: [f64; 2]| Bounds { min: Point::new(x[0], y[0]), max: Point::new(x[1], y[1]) };
            let (shows, owns) = (bounds(*show_x, show_y), bounds(*own_x, own_y));
            tiles.push(Tile { name: format!("{}{}", row_letters(row), column + 1), row, column, shows, owns });
        }
    }
    Ok(Tiling {
        paper_mm: Extent { width: width * stretch.0, height: height * stretch.1 },
        page_mm: Extent { width, height },
        window,
        check_corner,
        check_size,
        foot: Bounds { min: Point::new(foot_left, margin.1), max: Point::new(width - margin.0, bottom) },
        columns,
        rows,
        tiles,
    })
}

/// How many windows of this width cover a length, with the overlap between neighbours.
fn count(length: f64, window: f64) -> Result<usize, String> {
    if window < 3.0 * OVERLAP_MM {
        return Err(format!("the paper leaves only {window:.0} mm for the drawing beside margins and scale check"));
    }
    // A hair of rounding must not cost a page.
    const HAIR_MM: f64 = 1e-6;
    if length <= window + HAIR_MM {
        return Ok(1);
    }
    let pages = ((length - OVERLAP_MM - HAIR_MM) / (window - OVERLAP_MM)).ceil();
    if pages <= MAX_PAGES as f64 { Ok(pages as usize) } else { Err(format!("{length:.0} mm would take {pages:.0} pages")) }
}

/// What each of `count` windows in a row shows and owns. Joints stand evenly, the slack shared by both ends, unless texts lie across
/// them: then each stands where it parts the fewest, as near to its even place as can be.
fn lay([low, high]: [f64; 2], window: f64, count: usize, texts: &[[f64; 2]]) -> Vec<([f64; 2], [f64; 2])> {
    let pitch = window - OVERLAP_MM;
    let covered = window + (count - 1) as f64 * pitch;
    let start = low - 0.5 * (covered - (high - low));
    // Joints are computed from the left neighbour's number, so that both sides get the same figure.
    let even = |k: usize| start + k as f64 * pitch + 0.5 * OVERLAP_MM;
    let near = |x: f64, clear: f64| texts.iter().filter(|[from, to]| from - clear < x && x < to + clear).count();
    if (1..count).all(|k| near(even(k), CLEAR_MM) == 0) {
        let own = |k: usize, from: f64| if k == 0 { from } else { even(k) };
        return (0..count)
            .map(|k| {
                let from = start + k as f64 * pitch;
                ([from, from + window], [own(k, from), if k + 1 == count { from + window } else { even(k + 1) }])
            })
            .collect();
    }
    // The first and the last page have an overlap at one end only.
    let reach = window - 0.5 * OVERLAP_MM;
    let mut joints: Vec<f64> = Vec::new();
    for k in 1..count {
        let before = joints.last();
        let farthest = before.map_or(low + reach, |joint| joint + pitch);
        let nearest = before.map_or(low, |joint| *joint) + 3.0 * OVERLAP_MM;
        let nearest = nearest.max(high - reach - (count - 1 - k) as f64 * pitch).min(farthest);
        let wanted = even(k).clamp(nearest, farthest);
        let beside = texts.iter().flat_map(|[from, to]| [CLEAR_MM, TIGHT_MM].map(|clear| [from - clear, to + clear])).flatten();
        let places = [wanted, nearest, farthest].into_iter().chain(beside).filter(|x| nearest <= *x && *x <= farthest);
        let crowded = |x: &f64| [near(*x, TIGHT_MM), near(*x, CLEAR_MM)];
        let off = |x: &f64| (x - wanted).abs();
        let best = places.min_by(|a, b| crowded(a).cmp(&crowded(b)).then(off(a).total_cmp(&off(b))));
        joints.push(best.unwrap_or(wanted));
    }
    (0..count)
        .map(|k| {
            let (before, after) = (k.checked_sub(1).map(|k| joints[k]), joints.get(k).copied());
            let seen = [before.map_or(low, |x| x - 0.5 * OVERLAP_MM), after.map_or(high, |x| x + 0.5 * OVERLAP_MM)];
            let from = 0.5 * (seen[0] + seen[1] - window);
            ([from, from + window], [before.unwrap_or(from), after.unwrap_or(from + window)])
        })
        .collect()
}

/// Between a joint and a text beside it, mm: less, and the text seems to run over the joint.
const CLEAR_MM: f64 = 2.0;
/// The same where there is no more room.
const TIGHT_MM: f64 = 0.6;

/// A, B, …, Z, AA, AB, ….
fn row_letters(row: usize) -> String {
    let letter = char::from(b'A' + (row % 26) as u8);
    if row < 26 { letter.to_string() } else { format!("{}{letter}", row_letters(row / 26 - 1)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn a4() -> PrintPaper {
        PrintPaper { name: "a4".into(), width_mm: 210.0, height_mm: 297.0, roll: false, margin_mm: 5.0 }
    }

    fn extent(width: f64, height: f64) -> Bounds {
        Bounds { min: Point::new(-30.0, 12.0), max: Point::new(width - 30.0, 12.0 + height) }
    }

    #[test]
    fn a_small_drawing_takes_one_page_in_its_own_direction() {
        for (width, height) in [(180.0, 40.0), (40.0, 180.0)] {
            let tiling = tiled(extent(width, height), &a4(), Printed::EXACT, |_| 14.0).unwrap();
            assert_eq!((tiling.columns, tiling.rows, tiling.tiles[0].name.as_str()), (1, 1, "A1"));
            assert_eq!(tiling.paper_mm.width > tiling.paper_mm.height, width > height);
            assert_eq!(tiling.tiles[0].shows, tiling.tiles[0].owns);
        }
    }

    #[test]
    fn the_direction_with_fewer_pages_wins() {
        // Lying pages show 274 mm each: 1000 mm take 4, upright ones would take 6.
        let tiling = tiled(extent(1000.0, 60.0), &a4(), Printed::EXACT, |_| 14.0).unwrap();
        assert_eq!((tiling.columns, tiling.rows), (4, 1));
        assert!(tiling.paper_mm.width > tiling.paper_mm.height);
        // A tall thin one stands.
        let tiling = tiled(extent(60.0, 1000.0), &a4(), Printed::EXACT, |_| 14.0).unwrap();
        assert_eq!((tiling.columns, tiling.rows), (1, 4));
        assert_eq!(tiling.tiles[1].name, "B1");
        assert!(tiling.tiles[0].shows.min.y > tiling.tiles[1].shows.min.y);
    }

    #[test]
    fn a_roll_is_cut_to_the_length_needed() {
        let roll = PrintPaper { name: "roll 24 in".into(), width_mm: 609.6, height_mm: 20_000.0, roll: true, margin_mm: 5.0 };
        let tiling = tiled(extent(1830.0, 400.0), &roll, Printed::EXACT, |_| 14.0).unwrap();
        assert_eq!(tiling.tiles.len(), 1);
        assert!((tiling.paper_mm.height - 609.6).abs() < 1e-9);
        assert!((tiling.window.width() - 1830.0).abs() < 1e-9, "{:?}", tiling.window);
        // Longer than a page may be: two pages.
        let tiling = tiled(extent(6000.0, 400.0), &roll, Printed::EXACT, |_| 14.0).unwrap();
        assert_eq!(tiling.tiles.len(), 2);
        assert!(tiling.paper_mm.width <= LONGEST_PAGE_MM);
    }

    #[test]
    fn a_shrinking_printer_gets_a_smaller_page() {
        let printed = Printed { x: 98.0, y: 99.0 };
        let tiling = tiled(extent(1000.0, 60.0), &a4(), printed, |_| 14.0).unwrap();
        assert!((tiling.page_mm.width - 297.0 * 0.98).abs() < 1e-9);
        assert!((tiling.page_mm.height - 210.0 * 0.99).abs() < 1e-9);
        assert!((tiling.paper_mm.width - 297.0).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_work_is_refused_with_numbers() {
        let stamp = PrintPaper { name: "stamp".into(), width_mm: 40.0, height_mm: 50.0, roll: false, margin_mm: 3.0 };
        assert!(tiled(extent(100.0, 10.0), &stamp, Printed::EXACT, |_| 14.0).unwrap_err().contains("stamp"));
        assert!(tiled(extent(1e7, 1e7), &a4(), Printed::EXACT, |_| 14.0).unwrap_err().contains("pages"));
        assert!(tiled(Bounds::EMPTY, &a4(), Printed::EXACT, |_| 14.0).is_err());
        assert!(Printed::read("99,2x99").is_err());
        assert!(Printed::read("100").is_err());
    }

    #[test]
    fn joints_run_between_texts_and_cost_no_page() {
        let even = tiled(extent(1000.0, 60.0), &a4(), Printed::EXACT, |_| 14.0).unwrap();
        let joint = even.tiles[0].owns.max.x;
        let text = |from: f64, to: f64| Bounds { min: Point::new(from, 20.0), max: Point::new(to, 24.0) };
        let texts = [text(joint - 4.0, joint + 30.0), text(joint - 20.0, joint - 9.0)];
        let tiling = tiled_around(extent(1000.0, 60.0), &texts, &a4(), Printed::EXACT, |_| 14.0).unwrap();
        assert_eq!(tiling.tiles.len(), even.tiles.len());
        for tile in &tiling.tiles {
            assert!(tile.owns.width() <= tiling.window.width() + 1e-9);
            assert!(texts.iter().all(|text| tile.owns.max.x + 1.99 <= text.min.x || text.max.x + 1.99 <= tile.owns.max.x));
            assert!(tile.shows.min.x <= tile.owns.min.x && tile.owns.max.x <= tile.shows.max.x);
        }
        assert!((tiling.tiles[0].owns.max.x - (joint - 5.0)).abs() < 1.1, "{:?}", tiling.tiles[0]);
    }

    #[test]
    fn rows_run_out_of_letters_late() {
        assert_eq!([0, 25, 26, 51, 52].map(row_letters), ["A", "Z", "AA", "AZ", "BA"]);
    }
}
