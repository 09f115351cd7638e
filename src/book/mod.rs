//! The build book: one document to carry into the shop, in the order of the work. A file per chapter or two; `write` makes
//! pages of it.
//!
//! Every number comes from the published report and carries its place there, so that book and `report.json` cannot differ.
//! Pictures are drawn here at a round scale in millimetres of the page.

pub mod block;
mod say;
mod pictures;
mod front;
mod working;
mod cut_list;
mod meet;
mod splice;
mod habits;
mod sleds;
mod machine;
mod lamination;
mod riser;
mod forms;
mod glue;
mod block_parts;
mod overlay;
mod shaping;
mod grip;
mod shot;
mod back;

pub use block::{Block, Book, Cell, Chapter, Column, Picture, Run, Table, Text};
pub use shot::arrow_speeds;

use crate::mechanics::draw::DrawCurve;
use crate::mechanics::glueup::GlueUp;
use crate::mechanics::tiller::Targets;
use crate::model::Build;
use crate::report::Report;
use crate::report::series::PressShimRow;
use crate::shop::cutting::SheetCut;
use crate::shop::kit::Kit;
use crate::shop::riser_block::RiserBlock;

/// What a book is made from.
pub struct Contents<'a> {
    pub build: &'a Build,
    pub report: &'a Report,
    pub made_by: String,
    /// The sleds, each with the index of its lamination.
    pub sleds: Vec<SledOf<'a>>,
    /// What is cut from sheet, and how it lies on its loads.
    pub cuts: &'a [SheetCut],
    pub block: Option<&'a RiserBlock>,
    pub glued: Option<&'a GlueUp>,
    pub bow: Option<(&'a DrawCurve, &'a Targets)>,
    /// What laminations that climb the fades would suffer, a sentence each.
    pub at_the_fades: Vec<String>,
    /// For each lamination the one of the other limb that is ground by the same settings; none where both limbs are alike.
    pub alike: Vec<Option<String>>,
    /// In a series: what this bow lays under the upper halves of its forms, which are cut for the thickest one.
    pub press_shims: &'a [PressShimRow],
}

/// A sled and how it is made.
pub struct SledOf<'a> {
    pub lamination: usize,
    /// Names of the laminations whose strips lie on it, its own among them.
    pub serves: Vec<&'a str>,
    pub kit: &'a Kit,
    /// How it goes together and through the machine, in the order of the work.
    pub steps: Vec<String>,
}

/// The book of a build.
pub fn book(contents: &Contents<'_>) -> Book {
    let mut chapters = Vec::new();
    chapters.extend(front::chapter(contents));
    chapters.extend(working::chapter(contents));
    chapters.push(cut_list::chapter(contents));
    chapters.extend(splice::chapter(contents));
    chapters.extend(sleds::chapter(contents));
    chapters.extend(machine::chapter(contents));
    chapters.extend(lamination::chapters(contents));
    chapters.extend(meet::chapter(contents));
    chapters.extend(riser::chapter(contents));
    chapters.extend(forms::chapter(contents));
    chapters.extend(glue::chapters(contents));
    chapters.extend(block_parts::overlay(contents));
    chapters.extend(overlay::chapter(contents));
    chapters.extend(shaping::chapter(contents));
    chapters.extend(grip::chapter(contents));
    chapters.extend(shot::chapter(contents));
    chapters.extend(back::chapters(contents));
    let of = if contents.bow.is_some() { "Build book" } else { "Grinding book" };
    let made = &contents.report.made_by;
    let limb = contents.build.limb.as_ref().map_or(String::new(), |limb| {
        let (is, other) = (limb.is.word(), limb.is.other().word());
        format!(
            "The {is} limb of a bow of two different limbs: the {other} limb is in {}, and has a book of its own. ",
            limb.other_file
        )
    });
    Book {
        title: contents.report.title.clone(),
        subtitle: format!("{limb}{of}, in the order of the work. Sizes in {}.", contents.build.units.length_words()),
        made_by: contents.made_by.clone(),
        key: format!("{} {} {}", made.program, made.version, made.input_hash),
        chapters,
    }
}
