//! How the forms of the glue-ups are made from their templates: before anything is glued on them.

use super::Contents;
use super::block::{Block, Chapter, Text};
use crate::diag::Reported;
use crate::mechanics::glueup::{GlueUp, Stage};
use crate::model::Build;
use crate::shop::form::{self, Form, PIN_MM};
use crate::shop::upper_half;
use crate::units::System;

/// `None` where no stage is glued on a form, or where a form cannot be cut, which is the templates' fault to tell.
pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, glued) = (contents.build, contents.glued?);
    let forms: Vec<Form> = glued.stages.iter().flat_map(|stage| halves(build, glued, stage)).collect();
    if forms.is_empty() {
        return None;
    }
    let mut blocks = Vec::new();
    if build.limb.is_some() {
        blocks.push(Block::Paragraph("One form carries both limbs: its template lies in the folder shared.".into()));
    }
    for form in &forms {
        if 1 < forms.len() {
            blocks.push(Block::Heading(heading(form)));
        }
        blocks.push(Block::Steps(steps(build, glued, form).into_iter().map(Text::from).collect()));
    }
    Some(Chapter { anchor: "forms".into(), title: "Forms: how they are made".into(), blocks })
}

/// The form of a stage and its upper half, as far as there are such.
fn halves(build: &Build, glued: &GlueUp, stage: &Stage) -> Vec<Form> {
    let lower = form::lay_out(build, glued, stage, 0.0);
    let upper = upper_half::lay_out(build, glued, stage);
    [lower, upper].into_iter().filter_map(|laid| laid.ok().and_then(|Reported { value, .. }| value)).collect()
}

fn heading(form: &Form) -> String {
    let name = form.name();
    name[..1].to_uppercase() + &name[1..]
}

fn steps(build: &Build, glued: &GlueUp, form: &Form) -> Vec<String> {
    let units = build.units;
    let (foot, edge) = if form.upper.is_some() { ("back", "that presses the hose") } else { ("foot", "that the pile lies on") };
    let light = match units {
        System::Inch => "1/64 in",
        System::Millimetre => "0.3 mm",
    };
    let mut steps = Vec::new();
    // Of two limbs, and of what is printed, the sheet tells how many pieces there are.
    if build.limb.is_none() && 1 < form.parts.len() {
        steps.push(format!(
            "Lock the {} pieces of its template together and glue them on a flat table, straight sides along one straight edge.",
            form.parts.len()
        ));
    }
    steps.push(format!(
        "Plane the {foot} of the blank straight, and stick the template of {} to its side, straight side flush with the {foot}.",
        form.sheet_name()
    ));
    steps.push(format!(
        "Saw outside the template and plane to its edge, square across over the whole width, {}: no light under a square within {light}. It is the edge {edge}.",
        units.rule(glued.blank_mm)
    ));
    steps.push(format!(
        "Carry every mark across the edge before the template comes off{}.",
        if form.upper.is_some() {
            ", and the ticks of the bolts on both sides".to_owned()
        } else {
            format!(", and bore the holes for the pins of {} square to the edge", units.thickness(PIN_MM))
        }
    ));
    steps.push(format!(
        "Measure its heights at the places of the table on the sheet {}, and set right what is off.",
        form.sheet_name()
    ));
    steps
}
