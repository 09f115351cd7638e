//! From the text to the checked build: the tables in order, then what must hold between them.

use super::raw::Value;
use super::reader::{Notes, Range, Section, shown};
use super::source::Source;
use super::{bow, laminations, shop};
use crate::diag::{Diagnostic, Outcome, Place, Reported};
use crate::model::build::{Build, Sizing, SizingHow};
use crate::model::lamination::{Lamination, Pieces};
use crate::model::outline::Outline;
use crate::model::riser::Riser;
use crate::model::workshop::Sander;
use crate::units::{Quantity, System};

/// A build file is a few kilobytes; what is larger is something else.
const MOST_BYTES: usize = 4_000_000;

/// Reads a build file. The source comes back in any case: it is what puts carets under the faults.
pub fn read(name: &str, text: &str) -> (Source, Outcome<Build>) {
    if MOST_BYTES < text.len() {
        let message = format!("the file is {} kB long; a build file is a few kilobytes", text.len() / 1000);
        let fault = Diagnostic::fault(Place::whole_file(), message).hint("is this the right file?");
        return (Source::unread(name, ""), Err(vec![fault]));
    }
    let (mut source, writing, sound_until) = Source::new(name, text);
    let mut notes =
        Notes { units: System::Inch, faults: Vec::new(), warnings: Vec::new(), assumed: Vec::new(), unknown: Vec::new() };
    let build = build(&source, &mut notes);
    let Notes { mut faults, mut warnings, assumed, unknown, .. } = notes;
    for (place, span) in unknown {
        source.mark(place, span);
    }
    if !writing.is_empty() {
        // Below a fault of the writing tables may be torn: what is said of them there would only confuse.
        use crate::diag::Source as _;
        faults.retain(|fault| {
            fault.place != Place::whole_file() && source.span(&fault.place).is_some_and(|span| span.end <= sound_until)
        });
        for fault in writing {
            let place = Place::new(format!("line {}", source.line_of(fault.span.start)));
            source.mark(place.clone(), fault.span);
            let mut diagnostic = Diagnostic::fault(place, fault.message);
            diagnostic.hints.extend(fault.hint);
            faults.push(diagnostic);
        }
    }
    // Each fault once, in the order of the file.
    let order = |diagnostic: &Diagnostic| {
        use crate::diag::Source as _;
        source.span(&diagnostic.place).map_or(0, |span| span.start)
    };
    faults.sort_by_key(order);
    faults.dedup();
    warnings.sort_by_key(order);
    let outcome = match build {
        Some(mut build) if faults.is_empty() => {
            build.assumed = assumed;
            Ok(Reported { value: build, warnings })
        }
        _ => {
            assert!(!faults.is_empty(), "a build file that is not taken has a fault");
            faults.extend(warnings);
            Err(faults)
        }
    };
    (source, outcome)
}

fn build(source: &Source, notes: &mut Notes) -> Option<Build> {
    let mut root = Section::new(source.root(), Place::whole_file());
    let units = root.word("units", &[("in", System::Inch), ("mm", System::Millimetre)], notes);
    if units.is_none() && !root.has("units") {
        notes.fault(
            Place::whole_file(),
            "`units` is missing: what bare numbers are in",
            "begin the file with units = \"in\" or units = \"mm\"",
        );
    }
    notes.units = units.unwrap_or(System::Inch);
    let title = root.text("title", notes);
    if title.is_none() && !root.has("title") {
        notes.assume("title", "Untitled", "sheets need a heading");
    }
    let title = title.map_or("Untitled".to_owned(), |title| shown(title.trim()));
    let moisture = moisture(&mut root, notes);
    let own = laminations::own_woods(&mut root, notes);
    let target = bow::target(&mut root, notes);
    let outline = bow::outline(&mut root, notes);
    let outline_at_fault = root.has("outline") && outline.is_none();
    // With a faulty outline the laminations' ends are not known; their other faults still are.
    let end_mm = outline.as_ref().map(Outline::end_mm).or(outline_at_fault.then_some(super::reader::LONGEST_MM));
    let laminations = laminations::laminations(&mut root, end_mm, &own, moisture, notes);
    let riser = bow::riser(&mut root, &laminations, &own, moisture, notes);
    let sizing = sizing(&mut root, &laminations, notes);
    let glue = shop::glue(&mut root, notes);
    let sander = shop::sander(&mut root, notes);
    let sled = shop::sled(&mut root, notes);
    let shop = shop::shop(&mut root, notes);
    root.finish(notes);
    if sled.is_some() && sander.is_none() && !source.root().entries.iter().any(|entry| entry.key == "sander") {
        notes.fault(Place::new("sled"), "there is a sled and no sander to run it through", "describe the machine under [sander]");
    }
    if let Some(outline) = &outline {
        outline_and_rest(outline, riser.as_ref(), target.as_ref().map(|target| target.pivot_to_nock_mm), notes);
    }
    if let Some(sander) = &sander {
        for lamination in laminations.iter().filter(|lamination| !lamination.ground) {
            through_the_machine(lamination, sander, notes);
        }
    }
    if !notes.faults.is_empty() {
        return None;
    }
    Some(Build {
        title,
        units: notes.units,
        target,
        outline,
        riser,
        laminations,
        moisture,
        sizing,
        glue,
        sander,
        sled,
        shop: shop?,
        assumed: Vec::new(),
    })
}

/// A bare number is a percentage here, as wood workers say it.
fn moisture(root: &mut Section<'_>, notes: &mut Notes) -> f64 {
    const USUAL: f64 = 0.12;
    match root.node("moisture") {
        None => {
            notes.assume("moisture", "12 %", "the handbook's dry condition; wood in use is at 6 to 14 percent");
            USUAL
        }
        Some(node) => match &node.value {
            Value::Number(percent) if (4.0..=30.0).contains(percent) => percent / 100.0,
            Value::Number(percent) => {
                notes.fault(
                    Place::new("moisture"),
                    format!("`moisture` is {percent}: wood in use holds 4 to 30 percent"),
                    "write it in percent, such as moisture = 9",
                );
                USUAL
            }
            _ => {
                let range = Range::between(Quantity::Ratio, 0.04, 0.30);
                super::reader::number(node, &Place::new("moisture"), "moisture", range, notes).unwrap_or(USUAL)
            }
        },
    }
}

fn sizing(root: &mut Section<'_>, laminations: &[Lamination], notes: &mut Notes) -> Option<Sizing> {
    let mut section = root.section("sizing", notes)?;
    let how = section.word(
        "how",
        &[("thickness", SizingHow::Thickness), ("taper", SizingHow::Taper), ("both", SizingHow::Both)],
        notes,
    );
    if !section.has("how") {
        notes.assume("sizing.how", "thickness", "thickness is what builders change first");
    }
    let place = section.at("change");
    let mut change = Vec::new();
    match section.node("change").map(|node| &node.value) {
        Some(Value::List(names)) if !names.is_empty() => {
            for (index, node) in names.iter().enumerate() {
                let Value::Text(name) = &node.value else {
                    notes.fault(
                        place.index(index),
                        "this is not the name of a lamination",
                        "write change = [\"core\", \"belly\"]",
                    );
                    continue;
                };
                match laminations.iter().position(|lamination| lamination.name == *name) {
                    Some(found) if laminations[found].ground => {
                        notes.fault(
                            place.index(index),
                            format!("\"{}\" is ground already and cannot change", shown(name)),
                            "name one that is still to be ground",
                        );
                    }
                    Some(found) if change.contains(&found) => {
                        notes.fault(
                            place.index(index),
                            format!("\"{}\" is named twice", shown(name)),
                            "name each lamination once",
                        );
                    }
                    Some(found) => change.push(found),
                    // A lamination at fault is not in the list: then its own fault is what counts.
                    None if notes.faults.is_empty() => {
                        let names: Vec<&str> = laminations.iter().map(|lamination| lamination.name.as_str()).collect();
                        notes.fault(
                            place.index(index),
                            format!("there is no lamination \"{}\"", shown(name)),
                            &format!("there are: {}", names.join(", ")),
                        );
                    }
                    None => {}
                }
            }
        }
        Some(_) => notes.fault(place, "`change` must list at least one lamination", "write change = [\"core\"]"),
        None => section.missing("change", "which laminations may change", notes),
    }
    section.finish(notes);
    Some(Sizing { change, how: how.unwrap_or(SizingHow::Thickness) })
}

fn outline_and_rest(outline: &Outline, riser: Option<&Riser>, pivot_to_nock: Option<f64>, notes: &mut Notes) {
    let units = notes.units;
    if let Some(riser) = riser {
        if outline.nock_mm() <= riser.feather_station_mm() {
            let message = format!(
                "the riser's feather lies at {} and the nock at {}",
                units.measure(riser.feather_station_mm()),
                units.measure(outline.nock_mm())
            );
            notes.fault(Place::new("riser.length"), message, "a riser is 16 to 20 in long on a bow of 60 to 70 in");
        }
        let block: f64 = riser.across.iter().map(|slice| slice.width_mm).sum();
        let grip = outline.width_at(0.0);
        if block + 0.01 < grip {
            let message = format!(
                "the slices add up to {} and the outline is {} wide at the grip",
                units.measure(block),
                units.measure(grip)
            );
            notes.warn(
                Place::new("riser.across"),
                message,
                "make the block at least as wide as the grip, with something to trim",
            );
        }
        if riser.feather_mm < System::Inch.to_mm(0.005) {
            notes.warn(
                Place::new("riser.feather"),
                format!("a feather of {} crumbles", units.measure(riser.feather_mm)),
                "0.005 to 0.015 in lets light through and holds",
            );
        }
    }
    // The half string and the half bow are about equally long: the nocking point cannot come farther than that.
    if let Some(draw) = pivot_to_nock.filter(|draw| outline.nock_mm() <= *draw) {
        let message = format!(
            "full draw is {} from the pivot point, and half the bow only {}",
            units.measure(draw),
            units.measure(outline.nock_mm())
        );
        notes.fault(Place::new("target.draw_length"), message, "a bow is about twice its draw length and more");
    }
}

fn through_the_machine(lamination: &Lamination, sander: &Sander, notes: &mut Notes) {
    let units = notes.units;
    let thin = lamination
        .strip_corners()
        .into_iter()
        .min_by(|a, b| lamination.strip_thickness_at(*a).total_cmp(&lamination.strip_thickness_at(*b)));
    if let Some(u) = thin.filter(|u| lamination.strip_thickness_at(*u) < sander.least_thickness_mm) {
        let message = format!(
            "the finished strip is {} at station {}, overrun counted, and the sander takes nothing under {}",
            units.measure(lamination.strip_thickness_at(u)),
            units.measure(lamination.station_at(u)),
            units.measure(sander.least_thickness_mm)
        );
        notes.fault(
            lamination.place.key("taper"),
            message,
            "make the butt thicker, the taper slower or the overrun shorter; what the machine takes is `sander.least_thickness`",
        );
    }
    if sander.widest_mm < lamination.stock.width_mm {
        let message = format!(
            "the strip is {} wide and the sander takes {}",
            units.measure(lamination.stock.width_mm),
            units.measure(sander.widest_mm)
        );
        notes.fault(lamination.place.key("stock.width"), message, "");
    }
    if lamination.strip_length_mm() < sander.least_length_mm {
        let message = format!(
            "the strip is only {} long, and the sander takes nothing shorter than {}",
            units.measure(lamination.strip_length_mm()),
            units.measure(sander.least_length_mm)
        );
        notes.warn(lamination.place.clone(), message, "it must be fixed to a carrier that is long enough");
    }
    // A room, a door and two hands set the bound; no bow needs more.
    const LONGEST_STRIP_MM: f64 = 4000.0;
    if LONGEST_STRIP_MM < lamination.strip_length_mm() {
        let message = format!(
            "the strip would be {} long; {} is the most that is planned for",
            units.measure(lamination.strip_length_mm()),
            units.measure(LONGEST_STRIP_MM)
        );
        let hint = if lamination.pieces == Pieces::Full {
            "make it of two halves, or check `nock_to_nock` and the units"
        } else {
            "check `to` and the units"
        };
        notes.fault(lamination.place.clone(), message, hint);
    }
}
