//! What readings have made of the build so far: strips as tested, stages as they came off, and what follows from both.

use super::Background;
use crate::mechanics::bow::Options;
use crate::mechanics::glueup::{self, GlueUp};
use crate::mechanics::{calibration, sensitivity};
use crate::model::Build;

#[derive(Debug, Clone)]
pub struct Learnt {
    pub build: Build,
    pub glued: Option<GlueUp>,
    pub options: Options,
    /// What finished bows say of all stiffness that is not tested.
    pub own_factor: f64,
    /// One standard deviation of the bow's weight, as a fraction of it.
    pub scatter: f64,
}

impl Learnt {
    /// Before any reading.
    pub fn of(build: &Build, background: &Background) -> Learnt {
        let Background { glued, options, scatter, .. } = background.clone();
        Learnt { build: build.clone(), glued, own_factor: options.stiffness_factor, options, scatter }
    }

    /// The build as it is now glued, and its unstrung shape.
    pub fn shaped(mut self, build: Build, glued: GlueUp) -> Learnt {
        self.options.unstrung = glued.unstrung.clone();
        Learnt { build, glued: Some(glued), ..self }
    }

    /// Moduli are known better: the shape, what other bows say of the rest, and the scatter anew. What cannot be worked out stays.
    pub fn restiffened(self, build: Build) -> Learnt {
        let planned = self.glued.as_ref().and_then(|_| glueup::plan(&build).ok());
        let mut learnt = match planned {
            Some(planned) => self.shaped(build, planned.value),
            None => Learnt { build, ..self },
        };
        learnt.stiffened(learnt.own_factor);
        if let Ok(moves) = sensitivity::of(&learnt.build, &learnt.options) {
            learnt.scatter = moves.value.spread_n / moves.value.weight_n;
        }
        learnt
    }

    /// Finished bows say this of all stiffness that is not tested.
    pub fn stiffened(&mut self, own_factor: f64) {
        self.own_factor = own_factor;
        self.options.stiffness_factor = calibration::on_untested(&self.build, &self.options, own_factor).unwrap_or(own_factor);
    }
}
