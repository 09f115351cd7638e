//! Pages that one can stand at: few, none empty, no text cut by the joint of two pages, and what is only read on one.

use std::fs;
use std::path::Path as File;
use taperwright::drawing::{Drawing, Kind, Shape, font};
use taperwright::geometry::{Bounds, Point};
use taperwright::job::{Change, Inputs, Job};
use taperwright::model::paper;
use taperwright::model::workshop::PrintPaper;
use taperwright::sheets;
use taperwright::write::pdf;
use taperwright::write::tile::Printed;

fn job(name: &str, changes: &[Change]) -> Job {
    let file = File::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name).with_extension("toml");
    let job = Job::read(name, &fs::read_to_string(file).unwrap(), Inputs::default()).unwrap_or_else(|_| panic!("{name}"));
    if changes.is_empty() { job } else { job.with(changes).unwrap_or_else(|_| panic!("{name}: {changes:?}")) }
}

/// Pages of a PDF file, counted by their objects.
fn pages(bytes: &[u8]) -> usize {
    let text = String::from_utf8_lossy(bytes);
    text.match_indices("/Type")
        .filter(|(at, key)| {
            let rest = text[at + key.len()..].trim_start();
            rest.strip_prefix("/Page").is_some_and(|after| !after.starts_with(|c: char| c.is_ascii_alphabetic()))
        })
        .count()
}

/// Every PDF of a job but the book, with its pages.
fn counted(job: &Job) -> Vec<(String, usize)> {
    let files = job.files().unwrap();
    let names: Vec<String> = files.names().map(str::to_owned).collect();
    let wanted = |name: &String| name.ends_with(".pdf") && !name.contains("book");
    let sheets = names.iter().enumerate().filter(|(_, name)| wanted(name));
    sheets.map(|(number, name)| (name.clone(), pages(&files.bytes(number).unwrap()))).collect()
}

/// The main example came to 123 pages beside its book, seven of them for each path of a laser.
#[test]
fn the_examples_take_few_pages_and_what_is_only_read_takes_one() {
    for (name, max) in [("meadow", 42), ("heron", 42), ("strips", 2), ("more/curlew", 45)] {
        for paper in ["letter", "a4"] {
            let counted = counted(&job(name, &[Change::new("shop.paper", paper)]));
            let all: usize = counted.iter().map(|(_, pages)| pages).sum();
            assert!(all <= max, "{name} on {paper}: {all} pages, {counted:?}");
            for (file, pages) in &counted {
                let read = ["assembly", "bow.pdf", "/tiller.pdf", "/cut-"].iter().any(|what| file.contains(what));
                assert!(!read || *pages == 1, "{file}: {pages}");
            }
        }
    }
}

#[test]
fn the_whole_outline_and_the_paths_of_a_machine_are_printed_for_who_asks() {
    let usual = counted(&job("meadow", &[]));
    let asked = counted(&job("meadow", &[Change::new("shop.print", r#"["whole outline", "cut files"]"#)]));
    let of = |all: &[(String, usize)], what: &str| all.iter().find(|(file, _)| file.contains(what)).unwrap().1;
    assert!(of(&usual, "outline") < of(&asked, "outline"));
    assert!(of(&usual, "cut-1") == 1 && 4 < of(&asked, "cut-1"));
}

/// The sheets that are laid on wood.
fn at_true_size(job: &Job) -> Vec<Drawing> {
    let build = job.build();
    let mut drawings: Vec<Drawing> = sheets::outline::sheet(build).into_iter().collect();
    drawings.extend(job.riser_block().and_then(|block| sheets::riser::sheet(build, block)));
    drawings.push(sheets::tiller::full_size(build, job.force_curve().unwrap(), job.tiller_targets().unwrap()));
    let glued = job.glue_up().unwrap().unwrap();
    drawings.extend(sheets::form::all_halves((build, glued), None, &sheets::form::laid_out(build, glued).unwrap()));
    drawings
}

/// Station names, tables and notes ran over the joints of pages, and pages of nothing were printed.
#[test]
fn no_text_is_cut_by_a_joint_and_no_page_is_empty() {
    let papers: Vec<PrintPaper> = ["letter", "a4", "tabloid"].iter().map(|name| paper::named(name).unwrap().sheet(6.0)).collect();
    let (mut texts, mut moved) = (0, 0);
    for name in ["meadow", "heron", "more/curlew", "more/plover"] {
        for whole in [false, true] {
            let print = whole.then(|| Change::new("shop.print", r#"["whole outline"]"#));
            let job = job(name, print.as_slice());
            for (drawing, paper) in at_true_size(&job).iter().flat_map(|drawing| papers.iter().map(move |paper| (drawing, paper)))
            {
                let tiling = pdf::tiling(drawing, paper, Printed::EXACT).unwrap();
                let by_page = pdf::labels_by_page(drawing, &tiling);
                let drawn = drawing.items.iter().filter(|item| matches!(item.shape, Shape::Label(_))).count();
                assert_eq!(by_page.iter().map(Vec::len).sum::<usize>(), drawn, "{}: each text on one page", drawing.name);
                for (tile, labels) in tiling.tiles.iter().zip(&by_page) {
                    for item in labels {
                        let Shape::Label(label) = &item.shape else { continue };
                        texts += 1;
                        // Nor does it seem to run over one.
                        let (text, page) = (Bounds::of(font::corners(label)), tile.owns.grown(-1.4));
                        assert!(
                            page.min.x <= text.min.x
                                && text.max.x <= page.max.x
                                && page.min.y <= text.min.y
                                && text.max.y <= page.max.y,
                            "{name} {} on {}: `{}` is cut at {}",
                            drawing.name,
                            paper.name,
                            label.text,
                            tile.name
                        );
                        moved += usize::from(!drawing.items.contains(item));
                    }
                }
                // Every page of the file shows a line or a text; the key page comes first where there are several.
                let file = pdf::pdf(std::slice::from_ref(drawing), paper, Printed::EXACT, &job.build().shop.lines).unwrap();
                let shown =
                    tiling.tiles.iter().zip(&by_page).filter(|(tile, labels)| !labels.is_empty() || inked(drawing, tile.owns));
                let (shown, found) = (shown.count(), pages(&file));
                assert!(
                    found == shown + 1 || (found, tiling.tiles.len()) == (1, 1),
                    "{} on {}: {found} {shown}",
                    drawing.name,
                    paper.name
                );
            }
        }
    }
    // Joints run between texts; few have to give way.
    assert!(2000 < texts && 40 * moved < texts, "{moved} of {texts}");
}

/// The crosses by which pages are laid on each other stand on no text, and both pages have them at the same places.
#[test]
fn crosses_on_joints_stand_beside_texts() {
    let (from, to) = (Point::new(-40.0, 7.0), Point::new(160.0, 7.0));
    let usual = pdf::crosses(from, to, &[]);
    assert_eq!(usual, [Point::new(-16.0, 7.0), Point::new(136.0, 7.0)]);
    let text = |at: Point| Bounds { min: Point::new(at.x - 9.0, at.y + 1.0), max: Point::new(at.x + 9.0, at.y + 3.5) };
    let in_the_way = usual.map(text);
    let moved = pdf::crosses(from, to, &in_the_way);
    let apart = |cross: Point, text: &Bounds| cross.x + 4.0 < text.min.x || text.max.x < cross.x - 4.0;
    assert!(moved.iter().all(|cross| in_the_way.iter().all(|text| apart(*cross, text))), "{moved:?}");
    assert!(moved[0].x < 50.0 && 70.0 < moved[1].x && moved.iter().all(|cross| (cross.y - 7.0).abs() < 1e-9));
    // Where words stand all along the joint the crosses stay where they usually are.
    let all = [Bounds { min: Point::new(-40.0, 6.0), max: Point::new(160.0, 8.0) }];
    assert_eq!(pdf::crosses(from, to, &all), usual);
}

/// Whether a line runs through an area, point by point.
fn inked(drawing: &Drawing, area: Bounds) -> bool {
    let inside = |p: Point| area.min.x <= p.x && p.x <= area.max.x && area.min.y <= p.y && p.y <= area.max.y;
    // A line of symmetry alone is nothing to print.
    drawing.items.iter().filter(|item| item.kind != Kind::Centre).any(|item| {
        let Shape::Path(path) = &item.shape else { return false };
        let mut points = path.flattened(0.05);
        if path.closed {
            points.extend(points.first().copied());
        }
        points.windows(2).any(|pair| {
            let steps = (pair[0].distance(pair[1]) / 0.25).ceil().max(1.0);
            (0..=steps as u32).any(|k| {
                let fraction = f64::from(k) / steps;
                inside(Point::new(pair[0].x + fraction * (pair[1].x - pair[0].x), pair[0].y + fraction * (pair[1].y - pair[0].y)))
            })
        })
    })
}
