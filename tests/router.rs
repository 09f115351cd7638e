//! A router's lines: tabs, direction and entry where the shop states them, nothing guessed where it does not.

use std::fs;
use std::path::Path as File;
use taperwright::geometry::{Path, Point, Vertex};
use taperwright::job::{Change, Inputs, Job};

fn heron(keys: &str) -> Result<Job, String> {
    let file = File::new(env!("CARGO_MANIFEST_DIR")).join("examples/heron.toml");
    let job = Job::read("heron", &fs::read_to_string(file).unwrap(), Inputs::default()).unwrap_or_else(|_| panic!("heron"));
    let router = format!("{{ router = {{ bit = 3.175, bed = [600, 900], holds = 0.1{keys} }} }}");
    job.with(&[Change::new("shop.cutter", &router)]).map_err(|unread| unread.faults.iter().map(|f| f.to_string()).collect())
}

/// Layer, closed, and the line, mm.
type Line = (String, bool, Path);

/// Every polyline of a file.
fn lines(bytes: &[u8]) -> Vec<Line> {
    let file = ::dxf::Drawing::load(&mut std::io::Cursor::new(bytes)).unwrap();
    let one = |entity: &::dxf::entities::Entity| match &entity.specific {
        ::dxf::entities::EntityType::LwPolyline(line) => {
            let vertices = line.vertices.iter().map(|v| Vertex { at: Point::new(v.x, v.y), bulge: v.bulge }).collect();
            let closed = line.is_closed();
            Some((entity.common.layer.clone(), closed, Path { vertices, closed }))
        }
        _ => None,
    };
    file.entities().filter_map(one).collect()
}

/// The lines of each load's DXF file, and its SVG file.
fn cut_files(job: &Job) -> Vec<(Vec<Line>, String)> {
    let files = job.files().unwrap();
    let names: Vec<String> = files.names().map(str::to_owned).collect();
    let bytes = |name: String| files.bytes(names.iter().position(|known| *known == name).unwrap()).unwrap();
    (1..)
        .map(|k| format!("templates/cut-{k}"))
        .take_while(|stem| names.contains(&format!("{stem}.dxf")))
        .map(|stem| (lines(&bytes(format!("{stem}.dxf"))), String::from_utf8(bytes(format!("{stem}.svg"))).unwrap()))
        .collect()
}

#[test]
fn what_the_shop_does_not_say_is_not_guessed() {
    let plain = heron("").unwrap();
    for (lines, sheet) in cut_files(&plain) {
        assert!(lines.iter().all(|(layer, closed, _)| !layer.starts_with("CUT") || *closed));
        assert!(lines.iter().all(|(layer, ..)| !layer.ends_with("_THROUGH")));
        assert!(sheet.contains("says nothing of tabs, direction, ramp, depth, through under shop.cutter.router"));
    }
    let some = heron(", depth = 2, through = 0.2").unwrap();
    let (_, sheet) = &cut_files(&some)[0];
    assert!(sheet.contains("nothing of tabs, direction, ramp under"), "{sheet}");
}

/// So many rounds as the sheet says go through the sheet and as far beyond as the shop states, and one less does not; with tabs, in both layers.
#[test]
fn rounds_go_as_far_as_they_must() {
    let sheet_mm = heron("").unwrap().build().sled.as_ref().unwrap().sheet.thickness_mm;
    for (depth, through, tabs) in
        [(2.0, 0.2, None), (2.0, 0.0, None), (sheet_mm + 0.1, 0.2, None), (2.0, 0.2, Some(2.0)), (3.0, 0.5, Some(1.5))]
    {
        let with = tabs.map_or(String::new(), |high| format!(", tabs = {{ count = 3, length = 5, height = {high} }}"));
        let job = heron(&format!(", depth = {depth}, through = {through}{with}")).unwrap();
        let said = cut_files(&job)[0].1.replace('\n', " ");
        let count = |after: &str| -> f64 {
            let rest = said.split(after).nth(1).unwrap_or_else(|| panic!("no `{after}` in {said}"));
            rest.split(' ').next().unwrap().parse().unwrap()
        };
        let enough = |rounds: f64, deep: f64| {
            assert!(deep <= rounds * depth + 1e-9 && (rounds - 1.0) * depth < deep, "{rounds} of {depth} for {deep}");
        };
        enough(count(" mm deep: "), sheet_mm + through);
        if let Some(high) = tabs {
            enough(count("where there are tabs "), sheet_mm - high);
            enough(count(" on layer CUT and "), high + through);
        }
    }
}

/// From the files as written: what is left of each profile between its tabs, and where the tabs stand.
#[test]
fn tabs_hold_every_part_and_stand_on_no_ramp() {
    let keys = ", tabs = { count = 4, length = 6, height = 2 }, direction = \"climb\", ramp = 30, depth = 2, through = 0.2";
    let job = heron(keys).unwrap();
    // The proof on the cut files holds as before.
    let plain = heron("").unwrap();
    let worst = |job: &Job| job.lamination_report(1).unwrap().proof.unwrap().worst_mm;
    assert!((worst(&job) - worst(&plain)).abs() < 1e-6);
    let (mut profiles, mut tabs, mut poor) = (0, 0, 0);
    for (lines, sheet) in cut_files(&job) {
        assert!(
            sheet.contains("id=\"CUT_THROUGH\"")
                && sheet.contains("Cut layer CUT 7.1 mm deep")
                && !sheet.contains("says nothing")
        );
        for (layer, closed, path) in &lines {
            match layer.as_str() {
                "CUT" => assert!(*closed && path.area() < 0.0, "climbing goes clockwise around a part"),
                "CUT_INSIDE" => assert!(*closed && 0.0 < path.area(), "and counter-clockwise in a hole"),
                "CUT_THROUGH" => assert!(!closed),
                _ => {}
            }
        }
        for (_, _, whole) in lines.iter().filter(|(layer, ..)| layer == "CUT") {
            profiles += 1;
            // Its own lines begin and end on it.
            let on_it = |p: Point| whole.pieces().any(|(a, b, _)| (a.distance(p) + p.distance(b) - a.distance(b)).abs() < 1e-3);
            let own: Vec<&Path> = lines
                .iter()
                .filter(|(layer, _, path)| layer == "CUT_THROUGH" && on_it(path.vertices[0].at))
                .map(|(.., path)| path)
                .collect();
            if own.is_empty() {
                poor += 1;
                continue;
            }
            tabs += own.len();
            let rest: f64 = own.iter().map(|path| path.length()).sum();
            let bridges = own.len() as f64 * (6.0 + 3.175);
            assert!((rest + bridges - whole.length()).abs() < 0.01 * own.len() as f64, "{rest} {bridges} {}", whole.length());
        }
    }
    assert!(60 < profiles && 3 * profiles < tabs && 10 * poor < profiles, "{profiles} {tabs} {poor}");
}

#[test]
fn slips_are_told_with_their_key() {
    for (keys, told) in [
        (", tabs = { count = 4, length = 6 }", "height"),
        (", tabs = { count = 4, length = 6, height = 9.1 }", "leave nothing to cut"),
        (", direction = \"left\"", "direction"),
        (", ramp = 0", "ramp"),
    ] {
        let fault = heron(keys).map(|_| ()).unwrap_err();
        assert!(fault.contains(told), "{keys}: {fault}");
    }
}
