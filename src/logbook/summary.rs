//! Many strips and many scraps of one lamination on a few lines: a row for each pass that they were read after.

use crate::diag::mm;
use crate::model::Build;
use crate::model::log::Of;
use crate::shop::logged::{Answer, Answers, Finding, Observation, Observed};
use crate::units::{System, fixed};
use crate::write::table::plain;
use std::collections::BTreeMap;

/// So many readings of one kind of a lamination are shown in full.
const SHOWN: usize = 4;

/// Readings of strips, and of scrap, of a bow's lamination that has more than [`SHOWN`] of them: indices of the answers, rising.
pub fn many(answers: &Answers) -> Vec<Vec<usize>> {
    let mut of: BTreeMap<(&str, Option<usize>, &str), Vec<usize>> = BTreeMap::new();
    let all = answers.answers.iter().map(|answer| &answer.reading).enumerate();
    for (index, read) in all.filter(|(_, read)| matches!(read.of, Of::Strip { .. } | Of::TestStrip { .. })) {
        of.entry((read.of.kind(), read.of.lamination(), read.bow())).or_default().push(index);
    }
    of.into_values().filter(|readings| SHOWN < readings.len()).collect()
}

/// All of `read`, of one kind and one lamination, in short.
pub fn text(build: &Build, read: &[&Answer]) -> String {
    let (Some(first), Some(last)) = (read.first(), read.last()) else { return String::new() };
    let name = first.reading.of.lamination().map_or("no lamination named", |index| build.laminations[index].name.as_str());
    let name = if first.reading.bow().is_empty() { name.to_owned() } else { format!("bow {}, {name}", first.reading.bow()) };
    let asked = read.iter().filter(|answer| !answer.questions.is_empty()).count();
    let asked = if asked == 0 { String::new() } else { format!(", {asked} of them asked about and not used") };
    let days = match (&first.reading.date, &last.reading.date) {
        (first, last) if first == last => first.clone(),
        (first, last) => format!("{first} to {last}"),
    };
    let what = if matches!(first.reading.of, Of::Strip { .. }) { "readings of strips" } else { "scraps" };
    let mut text = format!("{days}  {name}: {} {what}{asked}, the last one below; `--all` shows each\n", read.len());
    let zeros: Vec<f64> = read
        .iter()
        .filter_map(|answer| match &answer.finding {
            Finding::Zero(scrap) => Some(scrap.offset_mm),
            _ => None,
        })
        .collect();
    if !zeros.is_empty() {
        let (min, max) = ends(zeros);
        let says = message!("The cutter stood between {} and {} from where the gauge says.\n", mm(min), mm(max));
        text += &says.spoken(build.units);
    }
    let mut passes: BTreeMap<u32, Vec<&Answer>> = BTreeMap::new();
    for answer in read {
        if let Finding::Strip(grinding) = &answer.finding {
            passes.entry(grinding.after).or_default().push(answer);
        }
    }
    if !passes.is_empty() {
        let number = |mm: f64| fine(build.units, mm);
        let rows: Vec<Vec<String>> = passes
            .iter()
            .map(|(after, read)| {
                let off = ends(
                    read.iter()
                        .flat_map(|answer| &answer.observations)
                        .filter(|seen| matches!(seen.of, Observed::ThicknessAt { .. }))
                        .map(Observation::difference),
                );
                let zeros: Vec<f64> = read
                    .iter()
                    .filter_map(|answer| match &answer.finding {
                        Finding::Strip(grinding) => grinding.zero_mm,
                        _ => None,
                    })
                    .collect();
                let zero = ends(zeros.iter().copied());
                let told = |mm: f64| if zeros.is_empty() { String::new() } else { number(mm) };
                vec![after.to_string(), read.len().to_string(), number(off.0), number(off.1), told(zero.0), told(zero.1)]
            })
            .collect();
        text += "Thickness less model, and where the cutter stood from the gauge, least and most:\n";
        text += &plain(&["after pass", "read", "thickness", "", "cutter", ""], &rows);
    }
    text
}

/// Least and greatest.
fn ends(values: impl IntoIterator<Item = f64>) -> (f64, f64) {
    values.into_iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| (a.min(value), b.max(value)))
}

/// As a micrometer shows it: half a thousandth counts.
pub(super) fn fine(units: System, mm: f64) -> String {
    fixed(units.length(mm), if units == System::Inch { 4 } else { 3 })
}
