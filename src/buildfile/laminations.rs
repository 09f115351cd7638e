//! `[[lamination]]` and `[[wood]]`: strips back to belly, and materials of the builder's own.

use super::raw::Value;
use super::reader::{LONGEST_MM, Notes, Range, Section, THICKEST_MM, nearest, points, shown};
use crate::diag::Place;
use crate::model::lamination::{Face, Lamination, Pieces, Stock, file_name};
use crate::model::taper::Taper;
use crate::model::wood::{self, Wood};
use crate::numeric::interp::Between;
use crate::units::Quantity;
use std::collections::BTreeMap;

/// More laminations than any bow has; a longer list is a slip, and would only flood the screen.
const MOST_LAMINATIONS: usize = 1000;
/// Steepest taper that is read: a hundred times what bows use.
const STEEPEST: f64 = 0.2;

const THICKNESS: Range = Range::above_zero(Quantity::Length, THICKEST_MM);
const STATION: Range = Range::from_zero(Quantity::Length, LONGEST_MM);
const RATE: Range = Range::between(Quantity::Rate, -STEEPEST, STEEPEST);

/// The builder's own materials by name.
pub type OwnWoods = BTreeMap<String, Wood>;

/// `[[wood]]`: a material with the builder's numbers.
pub fn own_woods(root: &mut Section<'_>, notes: &mut Notes) -> OwnWoods {
    let mut woods = OwnWoods::new();
    for mut section in root.sections("wood", notes) {
        let name = section.text("name", notes);
        let modulus =
            section.needed("modulus", Range::between(Quantity::Modulus, 500.0, 400_000.0), "stiffness along the grain", notes);
        let spread = section.number_or(
            "spread",
            Range::from_zero(Quantity::Ratio, 0.6),
            0.1,
            "one piece measured by its builder scatters less than a species",
            notes,
        );
        let density = section.needed("density", Range::between(Quantity::Density, 100.0, 3000.0), "weight per volume", notes);
        let strength = section.number("strength", Range::above_zero(Quantity::Strength, 5000.0), notes);
        let dust = section.text("dust", notes);
        let source = section.text("source", notes).unwrap_or_else(|| "the builder's own value".into());
        match &name {
            None if !section.has("name") => section.missing("name", "what laminations call this material", notes),
            Some(name) if woods.contains_key(name) => {
                notes.fault(
                    section.at("name"),
                    format!("there are two materials called \"{}\"", shown(name)),
                    "give each its own name",
                );
            }
            _ => {}
        }
        if let (Some(name), Some(modulus_mpa), Some(density_kg_m3)) = (name, modulus, density) {
            let wood = Wood {
                name: name.clone(),
                modulus_mpa,
                modulus_cov: spread,
                density_kg_m3,
                breaking_strain: strength.map(|strength| strength / modulus_mpa),
                sanding_ease: wood::sanding_ease(density_kg_m3),
                dust,
                source,
            };
            woods.insert(name, wood);
        }
        section.finish(notes);
    }
    woods
}

/// The material of a name: the builder's own first, then the bundled ones.
pub fn find_wood(name: &str, place: Place, own: &OwnWoods, moisture: f64, notes: &mut Notes) -> Option<Wood> {
    if let Some(wood) = own.get(name) {
        return Some(wood.clone());
    }
    if let Some(species) = wood::named(name) {
        return Some(species.at_moisture(moisture));
    }
    let mut near: Vec<&str> = wood::similar(name).into_iter().take(4).collect();
    if near.is_empty() {
        near.extend(nearest(name, wood::all().iter().map(|species| species.name.as_str())));
    }
    let hint = if near.is_empty() {
        "list the known ones with `taperwright woods`, or describe it under [[wood]]".to_owned()
    } else {
        let quoted: Vec<String> = near.iter().map(|name| format!("\"{name}\"")).collect();
        format!("did you mean {}? Or describe it under [[wood]]", quoted.join(" or "))
    };
    notes.fault(place, format!("there is no material \"{}\"", shown(name)), &hint);
    None
}

/// All `[[lamination]]` tables. `end_mm` is where the wood ends, if an outline says so.
pub fn laminations(
    root: &mut Section<'_>,
    end_mm: Option<f64>,
    own: &OwnWoods,
    moisture: f64,
    notes: &mut Notes,
) -> Vec<Lamination> {
    let sections = root.sections("lamination", notes);
    if sections.is_empty() {
        if !root.has("lamination") {
            notes.fault(
                Place::whole_file(),
                "there is no lamination",
                "describe each strip under [[lamination]], from back to belly",
            );
        } else if notes.faults.is_empty() {
            notes.fault(
                Place::new("lamination"),
                "the list of laminations is empty",
                "describe each strip under [[lamination]], from back to belly",
            );
        }
        return Vec::new();
    }
    if MOST_LAMINATIONS < sections.len() {
        notes.fault(
            Place::new(format!("lamination[{MOST_LAMINATIONS}]")),
            format!("there are {} laminations; {MOST_LAMINATIONS} are read at most", sections.len()),
            "split the batch into several build files",
        );
        return Vec::new();
    }
    let mut first_of: BTreeMap<String, usize> = BTreeMap::new();
    let mut all = Vec::with_capacity(sections.len());
    for (index, mut section) in sections.into_iter().enumerate() {
        let name = name(&mut section, notes);
        if let Some(name) = &name {
            // Files are named after laminations, and some file systems do not tell capitals apart.
            if let Some(first) = first_of.insert(file_name(name), index) {
                let message = format!("\"{}\" has the name of lamination {} already", shown(name), first + 1);
                notes.fault(section.at("name"), message, "give each lamination its own name");
            }
        }
        let lamination = lamination(&mut section, name, end_mm, own, moisture, notes);
        section.finish(notes);
        all.extend(lamination);
    }
    all
}

fn name(section: &mut Section<'_>, notes: &mut Notes) -> Option<String> {
    if !section.has("name") {
        section.node("name");
        section.missing("name", "sheets and files are called after it", notes);
        return None;
    }
    let name = section.text("name", notes)?;
    let trimmed = name.trim();
    let fault = if trimmed.is_empty() {
        Some("the name is empty")
    } else if 40 < trimmed.chars().count() {
        Some("the name is longer than 40 characters")
    } else if trimmed.chars().any(char::is_control) {
        Some("the name holds a control character")
    } else if trimmed.contains(['/', '\\', ':']) || trimmed.contains("..") {
        Some("the name holds a part of a path")
    } else if file_name(trimmed).is_empty() {
        Some("the name holds no letter or digit")
    } else {
        None
    };
    match fault {
        Some(why) => {
            notes.fault(
                section.at("name"),
                format!("{why}: \"{}\"", shown(&name)),
                "files are called after it: use letters, digits and spaces",
            );
            None
        }
        None => Some(trimmed.to_owned()),
    }
}

fn lamination(
    section: &mut Section<'_>,
    name: Option<String>,
    end_mm: Option<f64>,
    own: &OwnWoods,
    moisture: f64,
    notes: &mut Notes,
) -> Option<Lamination> {
    let place = section.place.clone();
    let wood = match section.text("wood", notes) {
        Some(name) => find_wood(&name, section.at("wood"), own, moisture, notes),
        None => {
            if !section.has("wood") {
                section.missing("wood", "the material, such as \"maple, sugar\"", notes);
            }
            None
        }
    };
    let from =
        if section.has("from") { section.number("from", STATION, notes)? } else { section.node("from").map_or(0.0, |_| 0.0) };
    let to = match (section.number("to", STATION, notes), end_mm) {
        (Some(to), Some(end)) if end + 0.01 < to => {
            let message = format!(
                "the lamination ends at {}, beyond the wood's end at {}",
                notes.units.measure(to),
                notes.units.measure(end)
            );
            notes.fault(section.at("to"), message, "stock beyond the finished end is `stock.overrun`");
            return None;
        }
        (Some(to), _) => to,
        (None, Some(end)) if !section.has("to") => end,
        (None, None) if !section.has("to") => {
            section.missing(
                "to",
                "without an outline the lamination's length must be given, from the bow's centre to its end",
                notes,
            );
            return None;
        }
        (None, _) => return None,
    };
    if to <= from {
        let message =
            format!("the lamination would end at {} and begin at {}", notes.units.measure(to), notes.units.measure(from));
        notes.fault(
            section.at(if section.has("to") { "to" } else { "from" }),
            message,
            "`to` lies farther from the bow's centre than `from`",
        );
        return None;
    }
    let ground = section.has("ground");
    let finished = if ground { ground_taper(section, notes) } else { taper(section, from, to, notes) };
    let pieces = match section.word("pieces", &[("full", Pieces::Full), ("halves", Pieces::Halves)], notes) {
        Some(Pieces::Full) if 0.0 < from => {
            notes.fault(
                section.at("pieces"),
                format!("a full-length strip cannot begin at {}", notes.units.measure(from)),
                "take `from` out, or write pieces = \"halves\"",
            );
            return None;
        }
        Some(pieces) => pieces,
        None => {
            if !section.has("pieces") {
                notes.assume(
                    section.at("pieces").as_str(),
                    "halves",
                    "a matched pair butted at the centre suits short stock and keeps the two limbs alike",
                );
            }
            Pieces::Halves
        }
    };
    let keep_face = section.word("keep_face", &[("back", Face::Back), ("belly", Face::Belly)], notes);
    let width_share = section.number("width_share", Range::between(Quantity::Ratio, 0.2, 1.0), notes).unwrap_or(1.0);
    let stage = section.count_or("stage", 1, 9, 1, "one glue-up", notes);
    let stock = stock(section, finished.as_ref(), ground, notes);
    let (Some(name), Some(wood), Some(finished), Some(stock)) = (name, wood, finished, stock) else { return None };
    let lamination = Lamination {
        name,
        wood,
        finished,
        from_mm: from,
        to_mm: to,
        pieces,
        keep_face,
        ground,
        stock,
        stage,
        width_share,
        place,
    };
    check_thickness(&lamination, section, notes).then_some(lamination)
}

/// `thickness` with `taper` in one of its forms.
fn taper(section: &mut Section<'_>, from: f64, to: f64, notes: &mut Notes) -> Option<Taper> {
    let node = section.node("taper");
    let place = section.at("taper");
    if let Some(Value::Table(table)) = node.map(|node| &node.value) {
        let mut inner = Section::new(table, place.clone());
        let stations = inner.has("stations");
        let taper = if stations {
            let points = inner.points("stations", STATION, THICKNESS, 2, notes);
            let between = inner.word("between", &[("straight", Between::Straight), ("smooth", Between::Smooth)], notes);
            if section.has("thickness") {
                section.node("thickness");
                notes.fault(
                    section.at("thickness"),
                    "`thickness` is given, and the stations of the taper give it too",
                    "take one of them out",
                );
            }
            points.and_then(|points| Taper::stations(points, between.unwrap_or(Between::Straight)).ok())
        } else {
            let butt = section.needed("thickness", THICKNESS, "thickness at the butt", notes);
            if inner.has("tip") {
                let tip = inner.number("tip", THICKNESS, notes);
                butt.zip(tip).and_then(|(butt, tip)| Taper::straight(from, to, butt, (butt - tip) / (to - from)).ok())
            } else if inner.has("flat") || inner.has("then") {
                let flat =
                    inner.needed("flat", Range::above_zero(Quantity::Length, LONGEST_MM), "length of the level part", notes);
                let rate = inner.needed("then", RATE, "taper after the level part", notes);
                match (butt, flat, rate) {
                    (Some(_), Some(flat), Some(_)) if to - from <= flat => {
                        let message = format!(
                            "the level part is {} and the lamination only {}",
                            notes.units.measure(flat),
                            notes.units.measure(to - from)
                        );
                        notes.fault(inner.at("flat"), message, "make it shorter, or write taper = 0");
                        None
                    }
                    (Some(butt), Some(flat), Some(rate)) => Taper::flat_then_straight(from, to, butt, flat, rate).ok(),
                    _ => None,
                }
            } else {
                notes.fault(
                    place,
                    "this taper is empty",
                    "write taper = 0.002, { flat = 4, then = 0.002 }, { tip = 0.08 } or { stations = [[0, 0.15], …] }",
                );
                None
            }
        };
        inner.finish(notes);
        return taper;
    }
    let butt = section.needed("thickness", THICKNESS, "thickness at the butt", notes);
    let rate = match node {
        None => {
            notes.assume(place.as_str(), "0", "a lamination without a taper is parallel");
            Some(0.0)
        }
        Some(node) => super::reader::number(node, &place, "taper", RATE, notes),
    };
    match (butt, rate) {
        (Some(butt), Some(rate)) if 0.0 < rate.abs() => Taper::straight(from, to, butt, rate).ok(),
        (Some(butt), Some(_)) => Some(Taper::parallel(butt)),
        _ => None,
    }
}

fn ground_taper(section: &mut Section<'_>, notes: &mut Notes) -> Option<Taper> {
    for key in ["thickness", "taper"] {
        if section.node(if key == "taper" { "taper" } else { "thickness" }).is_some() {
            notes.fault(
                section.at(key),
                format!("`{key}` is given, but the strip is ground already"),
                "take it out, or take `ground` out",
            );
        }
    }
    let node = section.node("ground")?;
    let readings = points(node, &section.at("ground"), "ground", STATION, THICKNESS, 1, notes)?;
    Taper::ground(readings).ok()
}

fn stock(section: &mut Section<'_>, finished: Option<&Taper>, ground: bool, notes: &mut Notes) -> Option<Stock> {
    let inch = notes.units == crate::units::System::Inch;
    let usual = |inches: f64, mm: f64| if inch { crate::units::System::Inch.to_mm(inches) } else { mm };
    let thickest = finished.map_or(1.0, |taper| taper.curve().greatest().1);
    if !section.has("stock") {
        section.node("stock");
        if ground {
            return Some(Stock {
                thickness_mm: thickest,
                spread_mm: 0.0,
                width_mm: usual(1.75, 45.0),
                overrun_mm: 0.0,
                first_face_mm: 0.0,
            });
        }
        section.missing(
            "stock",
            "the strip before grinding, such as stock = { thickness = 0.200, width = 1.75, overrun = 0.75 }",
            notes,
        );
        return None;
    }
    let mut stock = section.section("stock", notes)?;
    let thickness = stock.needed("thickness", THICKNESS, "thickness of the strip before grinding", notes);
    let width = stock.needed("width", Range::above_zero(Quantity::Length, 1000.0), "width of the strip", notes);
    let spread = stock.number_or(
        "spread",
        Range::from_zero(Quantity::Length, 10.0),
        usual(0.004, 0.1),
        "resawn strips differ by about that much",
        notes,
    );
    let overrun = stock.number_or(
        "overrun",
        Range::from_zero(Quantity::Length, 500.0),
        usual(0.75, 20.0),
        "room for end damage and for trimming after the glue-up",
        notes,
    );
    let first_face = stock.number_or(
        "first_face",
        Range::from_zero(Quantity::Length, 10.0),
        0.0,
        "one face of the stock is taken to be true already",
        notes,
    );
    stock.finish(notes);
    Some(Stock { thickness_mm: thickness?, spread_mm: spread, width_mm: width?, overrun_mm: overrun, first_face_mm: first_face })
}

/// Is there thickness left everywhere on the strip, and stock to grind it from?
fn check_thickness(lamination: &Lamination, section: &Section<'_>, notes: &mut Notes) -> bool {
    let units = notes.units;
    // Straight and monotone cubic pieces have their extremes at corners.
    let thickness = |u: f64| lamination.strip_thickness_at(u);
    let corners = lamination.strip_corners();
    let thinnest = corners.iter().copied().min_by(|a, b| thickness(*a).total_cmp(&thickness(*b))).unwrap_or(0.0);
    let key = if lamination.ground { "ground" } else { "taper" };
    if thickness(thinnest) <= 0.0 {
        let s = lamination.station_at(thinnest);
        let gone = zero_station(lamination, &corners).unwrap_or(s);
        let over = if lamination.to_mm < gone { " (on the overrun beyond the tip)" } else { "" };
        let message = format!(
            "no thickness is left at station {}{over}: the strip would be {} at station {}",
            units.measure(gone),
            units.measure(thickness(thinnest)),
            units.measure(s)
        );
        notes.fault(section.at(key), message, "make the butt thicker, the taper slower, or the overrun shorter");
        return false;
    }
    if lamination.ground {
        return true;
    }
    let thickest = corners.iter().copied().max_by(|a, b| thickness(*a).total_cmp(&thickness(*b))).unwrap_or(0.0);
    let most = thickness(thickest) + lamination.stock.first_face_mm;
    if lamination.stock.thickness_mm + 1e-9 < most {
        let message = format!(
            "the stock is {} and {} is needed at station {}: {} too thin",
            units.measure(lamination.stock.thickness_mm),
            units.measure(most),
            units.measure(lamination.station_at(thickest)),
            units.measure(most - lamination.stock.thickness_mm)
        );
        notes.fault(section.at("stock").key("thickness"), message, "take thicker stock, or make the lamination thinner");
        return false;
    }
    true
}

/// The station nearest the butt where the thickness reaches zero.
fn zero_station(lamination: &Lamination, corners: &[f64]) -> Option<f64> {
    let middle = if lamination.pieces == Pieces::Full { 0.5 * lamination.strip_length_mm() } else { 0.0 };
    let outward: Vec<f64> = corners.iter().copied().filter(|u| middle <= *u).collect();
    outward.windows(2).find_map(|pair| {
        let (a, b) = (lamination.strip_thickness_at(pair[0]), lamination.strip_thickness_at(pair[1]));
        (0.0 < a && b <= 0.0).then(|| lamination.station_at(pair[0] + (pair[1] - pair[0]) * a / (a - b)))
    })
}
