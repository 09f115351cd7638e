//! What readings have made of the build so far: strips as tested, stages as they came off, and what follows from both.

use super::Known;
use crate::mechanics::bow::Options;
use crate::mechanics::glueup::{self, GlueUp};
use crate::mechanics::{calibration, sensitivity};
use crate::model::Build;

#[derive(Debug, Clone)]
pub struct Learnt {
    pub build: Build,
    pub glued: Option<GlueUp>,
    pub options: Options,
    /// One standard deviation of the bow's weight, as a share of it.
    pub scatter: f64,
}

impl Learnt {
    /// Before any reading.
    pub fn of(build: &Build, known: &Known<'_>) -> Learnt {
        Learnt { build: build.clone(), glued: known.glued.cloned(), options: known.options.clone(), scatter: known.scatter }
    }

    /// For the answers that come after.
    pub fn known<'a>(&'a self, known: &Known<'_>) -> Known<'a> {
        Known {
            glued: self.glued.as_ref(),
            options: &self.options,
            finished: known.finished.clone(),
            designs: known.designs.clone(),
            scatter: self.scatter,
            stations_mm: known.stations_mm.clone(),
        }
    }

    /// The build as it is now glued, and its unstrung shape.
    pub fn shaped(mut self, build: Build, glued: GlueUp) -> Learnt {
        self.options.unstrung = glued.unstrung.clone();
        Learnt { build, glued: Some(glued), ..self }
    }

    /// Moduli are known better: the shape, what other bows say of the rest, and the scatter anew. What cannot be worked out stays.
    pub fn restiffened(self, build: Build, known: &Known<'_>) -> Learnt {
        let planned = self.glued.as_ref().and_then(|_| glueup::plan(&build).ok());
        let mut learnt = match planned {
            Some(planned) => self.shaped(build, planned.value),
            None => Learnt { build, ..self },
        };
        let own = known.options.stiffness_factor;
        learnt.options.stiffness_factor = calibration::on_untested(&learnt.build, &learnt.options, own).unwrap_or(own);
        if let Ok(moves) = sensitivity::of(&learnt.build, &learnt.options) {
            learnt.scatter = moves.value.spread_n / moves.value.weight_n;
        }
        learnt
    }
}
