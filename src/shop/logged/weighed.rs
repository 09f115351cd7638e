//! All finished bows of a shop: what each was weighed at, and what they say together of the next one.

use super::ShopLog;
use crate::mechanics::bow::Options;
use crate::mechanics::calibration::{ComputedWeight, WeightObservation};
use crate::mechanics::fleet::{Fleet, FleetBow, fleet};
use crate::model::log::GluedUnder;

/// A finished bow as it counts for the next one.
#[derive(Debug, Clone, PartialEq)]
pub struct WeighedBow {
    /// Empty for one without a number.
    pub serial: String,
    /// Empty for one of the build file's.
    pub date: String,
    /// As the log names it; `None` for its own build file.
    pub build_file: Option<String>,
    pub observation: WeightObservation,
    /// What its design wants, and what it is computed at as it was made; `None` for one of the build file's.
    pub computed: Option<ComputedWeight>,
    /// On the scale, N.
    pub weight_n: f64,
    pub mass_kg: Option<f64>,
    pub glued: GluedUnder,
}

impl WeighedBow {
    /// One that the build file names.
    pub(super) fn of_build_file(observation: &WeightObservation) -> WeighedBow {
        WeighedBow {
            serial: String::new(),
            date: String::new(),
            build_file: None,
            observation: *observation,
            computed: None,
            weight_n: observation.weighed_n,
            mass_kg: None,
            glued: GluedUnder::default(),
        }
    }

    fn counted(&self) -> FleetBow<'_> {
        FleetBow {
            observation: self.observation,
            batch: self.glued.batch.as_deref().unwrap_or_default(),
            temperature_c: self.glued.temperature_c,
        }
    }
}

impl ShopLog {
    /// What they say together, causes and all.
    pub fn fleet(&self) -> Option<Fleet> {
        fleet(&self.weighed.iter().map(WeighedBow::counted).collect::<Vec<_>>())
    }

    /// What the build files draw by which bows of the log are made, finished or in work, as planned and of the handbook's wood; the log's own first.
    pub fn designs(&self) -> Vec<(Option<&str>, ComputedWeight)> {
        let made_by = |path: Option<&str>| {
            let finished = self.weighed.iter().filter(|bow| bow.computed.is_some()).map(|bow| bow.build_file.as_deref());
            let begun = self.by_serial.iter().filter(|(serial, _)| !serial.is_empty()).map(|(_, bow)| bow.build_file.as_deref());
            finished.chain(begun).any(|other| other == path)
        };
        let own = made_by(None).then(|| {
            let handbook = Options { stiffness_factor: 1.0, ..self.background.options.clone() };
            let computed_n = self.background.weight_n(&self.build, &handbook).ok()?;
            Some((None, ComputedWeight::of(&self.build, computed_n)))
        });
        let named = self.background.designs.iter().filter(|(path, _)| made_by(Some(path.as_str())));
        own.flatten().into_iter().chain(named.map(|(path, design)| (Some(path.as_str()), *design))).collect()
    }

    /// Finished bows but for this one, the build file's first.
    pub(super) fn observations(&self, but: &str) -> Vec<WeightObservation> {
        let others = self.weighed.iter().filter(|bow| but.is_empty() || bow.serial != but);
        others.map(|bow| bow.observation).collect()
    }
}
