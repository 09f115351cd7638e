//! One lamination at the sander: its sled, its passes and its error budget.

use super::bow::kept_if;
use super::kept::Kept;
use super::work::{self, Work};
use super::{Refused, Stamp, reads};
use crate::diag::{Diagnostic, Reported};
use crate::model::Build;
use std::sync::Arc;

/// Sled and passes of one lamination.
pub type Ground = Work;

#[derive(Debug)]
pub(super) struct Grinding {
    /// With this lamination alone.
    build: Build,
    ground: Kept<Option<Ground>>,
}

impl Grinding {
    pub fn of(build: &Build, lamination: usize, before: Option<&Arc<Grinding>>) -> Arc<Grinding> {
        let build = reads::of_grinding(build, lamination);
        kept_if(before, |before| before.build == build).unwrap_or_else(|| Arc::new(Grinding { build, ground: Kept::default() }))
    }

    fn reported(&self) -> Result<&Reported<Option<Ground>>, Refused> {
        self.ground.reported(|| {
            let lamination = &self.build.laminations[0];
            if lamination.ground {
                return Ok(Reported::clean(None));
            }
            let stamp = Stamp { build_file: String::new(), hash: String::new(), options: Vec::new() };
            let mut warnings = Vec::new();
            let value = work::work(&self.build, lamination, &stamp, &mut warnings)?;
            Ok(Reported { value, warnings })
        })
    }

    pub fn ground(&self) -> Result<Option<&Ground>, Refused> {
        Ok(self.reported()?.value.as_ref())
    }

    pub fn warnings(&self) -> Result<Vec<Diagnostic>, Refused> {
        Ok(self.reported()?.warnings.clone())
    }
}
