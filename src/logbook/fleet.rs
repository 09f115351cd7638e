//! One table over all finished bows of a log, and what they teach: factor, scatter, drift, batches, and what the next bow will draw.

use crate::job::Job;
use crate::mechanics::calibration::ComputedWeight;
use crate::mechanics::fleet::{Batch, Cause, Fleet};
use crate::report::fleet::{BatchFound, CauseFound, FleetBowRow, FleetFound, NextBowRow};
use crate::shop::logged::{ShopLog, WeighedBow};
use crate::units::published::round_found;
use crate::units::{System, TemperatureStep, fixed};
use crate::write::table::plain;

/// As it is published; nothing where the log tells no bows apart, or none is finished.
pub fn published(shop: &ShopLog) -> Option<FleetFound> {
    shop.has_serials().then(|| found(shop)).flatten()
}

/// What all finished bows say, told apart or not; nothing without any.
pub fn found(shop: &ShopLog) -> Option<FleetFound> {
    let fleet = shop.fleet()?;
    Some(FleetFound {
        bows: shop.weighed.iter().map(bow).collect(),
        factor: round_found(fleet.factor),
        factor_between: fleet.factor_between.map(|between| between.pair().map(round_found)),
        scatter: fleet.scatter.map(round_found),
        scatter_between: fleet.scatter_between.map(|between| between.pair().map(round_found)),
        drift: cause(fleet.drift),
        batches: fleet.batches.iter().map(batch).collect(),
        temperature: cause(fleet.temperature),
        next_factor: round_found(fleet.next.factor),
        next_between: fleet.next.between().map(|between| between.pair().map(round_found)),
        next: next(shop, &fleet),
    })
}

fn bow(bow: &WeighedBow) -> FleetBowRow {
    let some = |text: &str| (!text.is_empty()).then(|| text.to_owned());
    FleetBowRow {
        serial: some(&bow.serial),
        date: some(&bow.date),
        build_file: bow.build_file.clone(),
        wanted_n: bow.computed.map(|computed| round_found(computed.wanted_n)),
        weight_n: round_found(bow.weight_n),
        factor: round_found(bow.observation.factor()),
        mass_kg: bow.mass_kg.map(round_found),
        batch: bow.glued.batch.clone(),
        temperature_c: bow.glued.temperature_c.map(round_found),
    }
}

fn batch(batch: &Batch) -> BatchFound {
    BatchFound { name: batch.name.clone(), bows: batch.bows, cause: cause(batch.cause) }
}

fn cause(cause: Cause) -> CauseFound {
    let (told, ln, half_width) = match cause {
        Cause::Unseen => ("unseen", None, None),
        Cause::Unresolved { half_width } => ("unresolved", None, Some(half_width)),
        Cause::Mixed => ("mixed", None, None),
        Cause::Resolved { ln, half_width } => ("resolved", Some(ln), Some(half_width)),
    };
    CauseFound { told: told.to_owned(), ln: ln.map(round_found), half_width: half_width.map(round_found) }
}

/// Another bow of each build file by which bows of the log were made.
fn next(shop: &ShopLog, fleet: &Fleet) -> Vec<NextBowRow> {
    let row = |(path, design): (Option<&str>, ComputedWeight)| {
        let drawn = |factor: f64| round_found(design.computed_n * factor - design.finishing_n);
        NextBowRow {
            build_file: path.map(str::to_owned),
            wanted_n: round_found(design.wanted_n),
            likely_n: drawn(fleet.next.factor),
            between_n: fleet.next.between().map(|between| between.map(drawn).pair()),
        }
    };
    shop.designs().into_iter().map(row).collect()
}

/// The table and its sentences; empty where the log tells no bows apart, or none is finished.
pub fn text(opened: &Job, shop: &ShopLog) -> String {
    let (Some(fleet), Some(found)) = (shop.fleet(), published(shop)) else { return String::new() };
    let units = opened.build().units;
    let force = |n: f64| fixed(units.force(n), 1);
    let wanted = format!("wanted, {}", units.force_unit());
    let any = |has: &dyn Fn(&FleetBowRow) -> bool| found.bows.iter().any(has);
    let (batches, temperatures) = (any(&|bow| bow.batch.is_some()), any(&|bow| bow.temperature_c.is_some()));
    let masses = any(&|bow| bow.mass_kg.is_some());
    let mut heads = vec!["bow", "made by", &wanted, "read", "factor"];
    heads.extend(masses.then_some("mass"));
    heads.extend(batches.then_some("batch"));
    heads.extend(temperatures.then_some("form"));
    let row = |bow: &FleetBowRow| {
        let own = if bow.date.is_some() { "this build file" } else { "[[calibration]]" };
        let mut cells = vec![
            bow.serial.clone().or(bow.date.clone()).unwrap_or_default(),
            bow.build_file.clone().unwrap_or_else(|| own.into()),
            bow.wanted_n.map_or(String::new(), force),
            force(bow.weight_n),
            fixed(bow.factor, 3),
        ];
        cells.extend(masses.then(|| bow.mass_kg.map_or(String::new(), |kg| units.mass(kg))));
        cells.extend(batches.then(|| bow.batch.clone().unwrap_or_default()));
        cells.extend(temperatures.then(|| bow.temperature_c.map_or(String::new(), |c| units.temperature(c))));
        cells
    };
    let mut text = format!("\nAll finished bows\n{}", plain(&heads, &found.bows.iter().map(row).collect::<Vec<_>>()));
    sentences(&fleet, units).iter().for_each(|say| text += &format!("{say}\n"));
    let rows = found.next.iter().map(|next| {
        let [min, max] = next.between_n.map_or([String::new(), String::new()], |between| between.map(force));
        let made_by = next.build_file.clone().unwrap_or_else(|| "this build file".into());
        vec![made_by, force(next.wanted_n), force(next.likely_n), min, max]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    if !rows.is_empty() {
        text += "What another bow will draw, finished, and between which weights (95 percent sure):\n";
        text += &plain(&["made by", &wanted, "likely", "least", "most"], &rows);
    }
    text
}

/// What the bows teach, a sentence each.
pub fn sentences(fleet: &Fleet, units: System) -> Vec<String> {
    let TemperatureStep { c: warmer_c, said: warmer } = units.warmer();
    let bows = if fleet.bows == 1 { "1 bow".to_owned() } else { format!("{} bows", fleet.bows) };
    let factor = fixed(fleet.factor, 3);
    let mut says = vec![match fleet.factor_between {
        None => format!("From {bows}: all stiffness is {factor} times the handbook's. One bow shows no scatter."),
        Some(between) => format!(
            "From {bows}: all stiffness is {factor} times the handbook's, between {} and {} (95 percent sure).",
            fixed(between.min, 3),
            fixed(between.max, 3)
        ),
    }];
    if let (Some(scatter), Some(between)) = (fleet.scatter, fleet.scatter_between) {
        says.push(format!(
            "Bow to bow it scatters by {} percent, between {} and {} (one standard deviation).",
            percent(scatter),
            percent(between.min),
            percent(between.max)
        ));
    }
    says.extend(match fleet.drift {
        Cause::Unseen => None,
        Cause::Unresolved { half_width } => {
            Some(format!("No drift that these bows can show: {} percent from bow to bow would.", percent(half_width)))
        }
        Cause::Mixed => Some(
            "Bows changed with time, and batch or temperature with it: whether it is drift, these bows cannot tell.".into(),
        ),
        Cause::Resolved { ln, half_width } => Some(format!(
            "Drift: from bow to bow the stiffness {} percent, {}. The next bow is reckoned with it; look for what changes with time.",
            if ln < 0.0 { format!("falls by {}", percent(-ln)) } else { format!("rises by {}", percent(ln)) },
            between(ln, half_width)
        )),
    });
    let named = |told: &dyn Fn(Cause) -> bool| {
        let of: Vec<&str> = fleet.batches.iter().filter(|batch| told(batch.cause)).map(|batch| batch.name.as_str()).collect();
        (!of.is_empty()).then(|| of.join(", "))
    };
    for batch in &fleet.batches {
        if let Cause::Resolved { ln, half_width } = batch.cause {
            says.push(format!(
                "Batch {} ({} of them) is {} percent {} than the other bows, {}. The next bow is taken as one of the last bow's batch.",
                batch.name,
                batch.bows,
                percent(ln.abs()),
                if ln < 0.0 { "softer" } else { "stiffer" },
                between(ln, half_width)
            ));
        }
    }
    if let Some(names) = named(&|cause| matches!(cause, Cause::Unresolved { .. })) {
        let halves = fleet.batches.iter().filter_map(|batch| match batch.cause {
            Cause::Unresolved { half_width } => Some(half_width),
            _ => None,
        });
        says.push(format!(
            "Batches {names}: no difference that these bows can show; {} percent would.",
            percent(halves.fold(0.0, f64::max))
        ));
    }
    if let Some(names) = named(&|cause| cause == Cause::Mixed) {
        says.push(format!(
            "Batches {names} differ, and time or temperature with them: which of them it is, these bows cannot tell. Glue with both batches by turns."
        ));
    }
    if let Some(names) = named(&|cause| cause == Cause::Unseen) {
        says.push(format!("Batches {names}: too few bows to tell them apart."));
    }
    says.extend(match fleet.temperature {
        Cause::Unseen => None,
        Cause::Unresolved { half_width } => Some(format!(
            "The form's temperature makes no difference that these bows can show; {} percent for {warmer} would.",
            percent(warmer_c * half_width)
        )),
        Cause::Mixed => {
            Some("The form's temperature changed together with time or batch: whether it counts, these bows cannot tell.".into())
        }
        Cause::Resolved { ln, half_width } => Some(format!(
            "A form {warmer} warmer makes a bow {} percent {}, {}.",
            percent(warmer_c * ln.abs()),
            if ln < 0.0 { "softer" } else { "stiffer" },
            between(warmer_c * ln, warmer_c * half_width)
        )),
    });
    says
}

/// An interval on the logarithm, in percent by its own sign.
fn between(ln: f64, half_width: f64) -> String {
    let [min, max] = [ln.abs() - half_width, ln.abs() + half_width];
    format!("between {} and {} (95 percent sure)", percent(min), percent(max))
}

fn percent(fraction: f64) -> String {
    fixed(100.0 * fraction, 1)
}
