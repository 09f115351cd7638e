//! The tables that `make` writes and prints: stack, passes, shims, and the summary.

use crate::mechanics::draw::DrawCurve;
use crate::model::Build;
use crate::model::lamination::file_name;
use crate::report::{LaminationRow, PassRow, Report, StackRow};
use crate::shop::cautions::{AT_THE_MACHINE, DUST, RULES_FIRST};
use crate::shop::kit::Shim;
use crate::units::{System, fixed};
use crate::write::table::{csv, plain};

/// Cells in the builder's units, one digit finer than a shop measures.
fn fine(units: System, mm: f64) -> String {
    match units {
        System::Inch => fixed(units.length(mm), 4),
        System::Millimetre => fixed(mm, 3),
    }
}

/// Thickness of each lamination, riser, overlays, glue and total at each station; columns of overlays where there are such.
pub fn stack(build: &Build, report: &Report) -> Vec<u8> {
    let (units, unit) = (build.units, build.units.length_unit());
    let mut head = vec![format!("station_{unit}"), "mark".into(), format!("width_{unit}")];
    head.extend(build.laminations.iter().map(|lamination| format!("{}_{unit}", file_name(&lamination.name).replace('-', "_"))));
    let overlays = |row: &StackRow| {
        let each = [row.riser_overlay_mm, row.back_overlay_mm, row.belly_overlay_mm];
        ["riser_overlay", "back_overlay", "belly_overlay"].into_iter().zip(each).filter_map(|(what, mm)| Some((what, mm?)))
    };
    let on_top = report.stack.first().into_iter().flat_map(overlays).map(|(what, _)| what);
    let all = ["riser"].into_iter().chain(on_top).chain(["glue", "dry", "total"]);
    head.extend(all.map(|what| format!("{what}_{unit}")));
    head.extend(["taper".into(), "strain_percent".into()]);
    let rows: Vec<Vec<String>> = report
        .stack
        .iter()
        .map(|row| {
            let mut cells =
                vec![fine(units, row.station_mm), row.mark.clone(), row.width_mm.map_or(String::new(), |w| fine(units, w))];
            cells.extend(row.laminations_mm.iter().map(|t| fine(units, *t)));
            cells.push(fine(units, row.riser_mm));
            cells.extend(overlays(row).map(|(_, t)| fine(units, t)));
            cells.extend([row.glue_mm, row.dry_mm, row.total_mm].map(|t| fine(units, t)));
            cells.push(row.taper.map_or(String::new(), |taper| fixed(taper, 5)));
            cells.push(row.strain.map_or(String::new(), |strain| fixed(100.0 * strain, 3)));
            cells
        })
        .collect();
    csv(&head.iter().map(String::as_str).collect::<Vec<_>>(), &rows)
}

/// Force, energy and string at each step of the draw.
pub fn force(units: System, curve: &DrawCurve) -> Vec<u8> {
    let (unit, force) = (units.length_unit(), units.force_unit());
    let head = [
        format!("draw_{unit}"),
        format!("force_{force}"),
        format!("stored_{}", if units == System::Inch { "ft_lbf" } else { "j" }),
        format!("tension_{force}"),
        "nock_angle_deg".into(),
    ];
    let rows: Vec<Vec<String>> = curve
        .points
        .iter()
        .map(|point| {
            vec![
                fine(units, point.draw_length_mm),
                fixed(units.force(point.force_n), 2),
                fixed(units.energy_number(point.stored_n_mm), 2),
                fixed(units.force(point.tension_n), 1),
                fixed(point.nock_angle_rad.to_degrees(), 1),
            ]
        })
        .collect();
    csv(&head.iter().map(String::as_str).collect::<Vec<_>>(), &rows)
}

/// Shims of a sled, from the strip's first end.
pub fn shims(build: &Build, shims: &[Shim]) -> Vec<u8> {
    let (units, unit) = (build.units, build.units.length_unit());
    let head = [
        format!("from_first_end_{unit}"),
        format!("shim_{unit}"),
        format!("made_up_{unit}"),
        format!("error_{unit}"),
        "pieces".into(),
    ];
    let rows: Vec<Vec<String>> = shims
        .iter()
        .map(|Shim { u_mm, made }| {
            let numbers = [*u_mm, made.wanted_mm, made.made_mm, made.error_mm()].map(|mm| fine(units, mm));
            // Spreadsheets that take a table for another encoding show two wrong letters for the sign.
            let pieces = made.in_words(&build.shop.shims, units).replace('×', "x");
            numbers.into_iter().chain([pieces]).collect()
        })
        .collect();
    csv(&head.iter().map(String::as_str).collect::<Vec<_>>(), &rows)
}

/// Stretches of the strip, such as `24.4 to 35.2`, from its first end.
fn contact(units: System, pass: &PassRow, length_mm: f64) -> String {
    let whole = |[from, to]: &[f64; 2]| *from <= 0.5 && length_mm - 0.5 <= *to;
    match pass.contact_mm.as_slice() {
        [] => "none".into(),
        [all] if whole(all) => "all".into(),
        some => {
            let number = |mm: f64| match units {
                System::Inch => fixed(units.length(mm), 1),
                System::Millimetre => fixed(mm, 0),
            };
            let texts: Vec<String> = some.iter().map(|[from, to]| format!("{} to {}", number(*from), number(*to))).collect();
            texts.join(", ")
        }
    }
}

fn grit(pass: &PassRow) -> String {
    pass.grit.map_or("knives".into(), |grit| grit.to_string())
}

/// The passes of one lamination.
pub fn passes_csv(units: System, row: &LaminationRow) -> Vec<u8> {
    let unit = units.length_unit();
    let head = [
        "pass".into(),
        "carrier".into(),
        "face".into(),
        "grit".into(),
        format!("gap_{unit}"),
        format!("drop_{unit}"),
        "crank_turns".into(),
        format!("contact_from_first_end_{unit}"),
        format!("deepest_{unit}"),
        format!("limit_{unit}"),
        format!("thinnest_{unit}"),
        format!("removed_{}3", if units == System::Inch { "in" } else { "cm" }),
        "time_s".into(),
        "repeat".into(),
        "new_paper".into(),
    ];
    let yes = |flag: bool| if flag { "yes".to_owned() } else { String::new() };
    let mut rows = Vec::new();
    for setup in &row.setups {
        for pass in &setup.passes {
            rows.push(vec![
                pass.number.to_string(),
                setup.carrier.clone(),
                setup.face.clone(),
                grit(pass),
                fine(units, pass.gap_mm),
                fine(units, pass.drop_mm),
                fixed(pass.crank_turns, 3),
                contact(units, pass, row.strip_length_mm),
                fine(units, pass.deepest_mm),
                fine(units, pass.limit_mm),
                fine(units, pass.thinnest_mm),
                units.volume_number(pass.volume_mm3),
                fixed(pass.time_s, 0),
                yes(pass.repeat),
                yes(pass.new_paper),
            ]);
        }
    }
    csv(&head.iter().map(String::as_str).collect::<Vec<_>>(), &rows)
}

/// The pass schedule of one lamination as text for the terminal, in the order of the work.
pub fn passes(build: &Build, row: &LaminationRow) -> String {
    let units = build.units;
    let length = units.rule(row.strip_length_mm);
    let mut text = format!(
        "{} ({}): strip {length} long, stock {} ± {}\n",
        row.name,
        row.wood,
        units.thickness(row.stock_mm),
        units.fine(row.stock_spread_mm)
    );
    if row.already_ground {
        text.push_str("ground already: nothing to do\n");
        return text;
    }
    let strips =
        if row.together == 1 { "one strip at a time".to_owned() } else { format!("{} strips side by side", row.together) };
    let runs = if row.runs == 1 { "one run".to_owned() } else { format!("{} runs, all of them at each setting", row.runs) };
    text.push_str(&format!("{strips}, {runs} for one bow, about {} minutes\n", fixed(row.time_s.unwrap_or(0.0) / 60.0, 0)));
    for (index, setup) in row.setups.iter().enumerate() {
        let on = match (setup.carrier.as_str(), &row.sled) {
            ("sled", Some(sled)) => {
                let leads =
                    if sled.first_end_leads { "first (butt) end leads and is held" } else { "far (tip) end leads and is held" };
                format!("on the sled ({}), {leads}", sled.make)
            }
            _ => "on the flat table or a level board; gaps count from its top".to_owned(),
        };
        let turn = if setup.turn_over { "turn the strip over; " } else { "" };
        text.push_str(&format!("\n{}. {turn}cut the {} face, {on}\n", index + 1, setup.face));
        text.push_str(&format!("   nominal stock is first touched at {}\n\n", units.thickness(setup.first_contact_gap_mm)));
        let head = ["pass", "grit", "gap", "drop", "turns", "touches", "deepest", "limit", "thinnest", "note"];
        let rows: Vec<Vec<String>> = setup
            .passes
            .iter()
            .map(|pass| {
                let note = match (pass.repeat, pass.new_paper) {
                    (true, _) => "no change",
                    (_, true) => "new paper: find the zero",
                    _ => "",
                };
                vec![
                    pass.number.to_string(),
                    grit(pass),
                    units.thickness_number(pass.gap_mm),
                    units.thickness_number(pass.drop_mm),
                    fixed(pass.crank_turns, 2),
                    contact(units, pass, row.strip_length_mm),
                    units.thickness_number(pass.deepest_mm),
                    units.thickness_number(pass.limit_mm),
                    units.thickness_number(pass.thinnest_mm),
                    note.into(),
                ]
            })
            .collect();
        text.push_str(&plain(&head, &rows));
    }
    if let (Some(proof), Some(error)) = (&row.proof, &row.thickness_error) {
        text.push_str(&format!(
            "\nground in simulation {}: {} off at most, {} at the deepest; expect ± {} as cut, ± {} once the sled is trimmed\n",
            if proof.from_cut_file { "on the sled of the cut file" } else { "on the plan" },
            units.fine(proof.worst_mm),
            units.fine(proof.deepest_mm),
            units.fine(error.as_cut_mm),
            units.fine(error.trimmed_mm)
        ));
    }
    text.push_str(&format!(
        "\nSizes in {}. {RULES_FIRST} Nothing shorter or thinner than the manual allows.\n{AT_THE_MACHINE}\n{DUST}\n",
        units.length_unit()
    ));
    text
}

/// What `make` says on stdout: one line for each lamination, and where everything is.
pub fn summary(build: &Build, report: &Report, folder: &str, files: usize) -> String {
    format!("{}\nwrote {files} files to {folder}\n", laminations(build, report))
}

/// A line for each lamination.
pub fn laminations(build: &Build, report: &Report) -> String {
    let units = build.units;
    let head = ["lamination", "butt", "tip", "sled", "passes", "last gap", "± as cut", "± trimmed", "minutes"];
    let rows: Vec<Vec<String>> = report
        .laminations
        .iter()
        .map(|row| {
            let passes: usize = row.setups.iter().map(|setup| setup.passes.len()).sum();
            let error = row.thickness_error.as_ref();
            let last = row.setups.last().and_then(|setup| setup.passes.last());
            vec![
                row.name.clone(),
                units.thickness_number(row.butt_mm),
                units.thickness_number(row.tip_mm),
                match &row.sled {
                    Some(sled) if sled.of == build.part_name(&row.name) => sled.make.clone(),
                    Some(sled) => format!("that of {}", sled.of),
                    None if row.already_ground => "ground".into(),
                    None => "none".into(),
                },
                if passes == 0 { String::new() } else { passes.to_string() },
                last.map_or(String::new(), |pass| units.thickness_number(pass.gap_mm)),
                error.map_or(String::new(), |e| fine(units, e.as_cut_mm)),
                error.map_or(String::new(), |e| fine(units, e.trimmed_mm)),
                row.time_s.filter(|_| 0 < passes).map_or(String::new(), |s| fixed(s / 60.0, 0)),
            ]
        })
        .collect();
    format!("{} (all sizes in {})\n\n{}", build.title, units.length_unit(), plain(&head, &rows))
}
