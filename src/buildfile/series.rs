//! `[series]`: bows of several weights from one form and one outline.

use super::bow;
use super::raw::Value;
use super::reader::{FileSection, Range, Written};
use crate::model::build::SeriesBow;
use crate::units::{Quantity, limit};

/// More weights than one form serves.
const MAX_WEIGHTS: usize = 24;
/// More bows of one weight than a shop strings together.
const MAX_COUNT: u32 = 200;

const LIST: &str = "weights such as [\"40 lbf\", [\"45 lbf\", 2]]";

/// The bows of a series, lightest first; none where the file names none.
pub fn series(section: &FileSection<'_>) -> Option<Vec<SeriesBow>> {
    if !section.present() {
        return Some(Vec::new());
    }
    let written = section.need("bows", "add the weights wanted, such as bows = [\"40 lbf\", [\"45 lbf\", 2]]");
    section.finish();
    let mut bows: Vec<SeriesBow> = Vec::new();
    let mut sound = true;
    for item in written?.list_up_to(LIST, MAX_WEIGHTS)? {
        match bows_of(&item) {
            Some(bow) if bows.iter().any(|known| limit::same(known.draw_weight_n, bow.draw_weight_n)) => {
                item.fault("this weight is named twice", "name it once, with how many: [weight, count]");
                sound = false;
            }
            Some(bow) => bows.push(bow),
            None => sound = false,
        }
    }
    bows.sort_by(|a, b| a.draw_weight_n.total_cmp(&b.draw_weight_n));
    sound.then_some(bows)
}

/// A weight alone, or with how many bows of it.
fn bows_of(item: &Written<'_>) -> Option<SeriesBow> {
    let Value::List(_) = &item.node.value else { return weight(item, 1) };
    let [weight_of_one, count] = item.pair("a weight and a count", "write [weight, count], such as [\"45 lbf\", 2]")?;
    let count = count.count(1, MAX_COUNT);
    weight(&weight_of_one, count?)
}

fn weight(written: &Written<'_>, count: u32) -> Option<SeriesBow> {
    let draw_weight_n = written.quantity(Quantity::Force, Range::positive(1200.0))?;
    Some(SeriesBow { draw_weight_n, in_pounds: bow::in_pounds(written), count })
}
