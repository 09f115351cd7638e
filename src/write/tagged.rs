//! The structure of a PDF: what its marks are, in the order in which they are read, for whoever does not see the page.
//!
//! A writer makes the elements in reading order and puts slots into them; a page is then painted slot by slot, and what belongs to
//! none is there for the eye alone (an artifact: rules, heads that are repeated, the foot). An element whose slots were never
//! painted is left out. Source: ISO 32000-1, 14.7 and 14.8 (logical structure, tagged PDF).

use krilla::tagging::{Identifier, ListNumbering, Node, TableHeaderScope, Tag, TagGroup, TagKind, TagTree};
use std::collections::BTreeMap;
use std::num::NonZeroU16;

/// What an element is.
#[derive(Debug, Clone, PartialEq)]
pub enum Role {
    Section,
    /// A heading of this level, from 1, and its words.
    Heading(u16, String),
    Paragraph,
    /// Paragraphs that are set apart together.
    Group,
    List {
        numbered: bool,
    },
    Item,
    ItemLabel,
    ItemBody,
    Table,
    TableCaption,
    TableHead,
    TableBody,
    Row,
    ColumnHead,
    RowHead,
    Cell,
    /// A picture, with what it shows in words.
    Figure(String),
    Contents,
    ContentsItem,
    Link,
}

/// How the marks of a slot are read out.
#[derive(Debug, Clone, PartialEq)]
pub enum ReadOut {
    /// As the letters that are drawn.
    AsDrawn,
    /// By these words in their stead.
    Words(String),
    /// Letters that go on in the next line: a space follows them there.
    GoesOn(String),
}

/// An element, by its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Element(usize);

/// Marks that are painted together and belong to one element.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Slot(usize);

/// The elements of a document.
#[derive(Debug, Clone, Default)]
pub struct Structure {
    elements: Vec<(Role, Vec<Kid>)>,
    top: Vec<Element>,
    slots: Vec<ReadOut>,
}

#[derive(Debug, Clone, Copy)]
enum Kid {
    Element(Element),
    Slot(Slot),
}

impl Structure {
    /// A new element, the last so far in its parent, or in the document.
    pub fn element(&mut self, parent: Option<Element>, role: Role) -> Element {
        let new = Element(self.elements.len());
        self.elements.push((role, Vec::new()));
        match parent {
            Some(Element(parent)) => self.elements[parent].1.push(Kid::Element(new)),
            None => self.top.push(new),
        }
        new
    }

    /// Room for marks in an element, after all that it holds already.
    pub fn slot(&mut self, of: Element, said: ReadOut) -> Slot {
        let new = Slot(self.slots.len());
        self.slots.push(said);
        self.elements[of.0].1.push(Kid::Slot(new));
        new
    }

    pub fn said(&self, slot: Slot) -> &ReadOut {
        &self.slots[slot.0]
    }

    /// The tree as the PDF library takes it: `painted` says where the marks of a slot stand, in the order of the pages.
    pub fn tree(&self, painted: &[(Slot, Identifier)]) -> TagTree {
        let mut marks: BTreeMap<Slot, Vec<Identifier>> = BTreeMap::new();
        for (slot, identifier) in painted {
            marks.entry(*slot).or_default().push(*identifier);
        }
        let mut tree = TagTree::new();
        self.top.iter().filter_map(|element| self.group(*element, &marks)).for_each(|group| tree.push(group));
        tree
    }

    /// As deep as elements are nested, which no text of a builder's can make deeper.
    fn group(&self, element: Element, marks: &BTreeMap<Slot, Vec<Identifier>>) -> Option<TagGroup> {
        let (role, kids) = &self.elements[element.0];
        let children: Vec<Node> = kids
            .iter()
            .flat_map(|kid| match kid {
                Kid::Element(element) => self.group(*element, marks).map(Node::from).into_iter().collect(),
                Kid::Slot(slot) => marks.get(slot).into_iter().flatten().map(|mark| Node::from(*mark)).collect::<Vec<_>>(),
            })
            .collect();
        (!children.is_empty()).then(|| TagGroup::with_children(kind(role), children))
    }
}

fn kind(role: &Role) -> TagKind {
    match role {
        Role::Section => Tag::Section.into(),
        Role::Heading(level, words) => Tag::Hn(NonZeroU16::new(*level).unwrap_or(NonZeroU16::MIN), Some(words.clone())).into(),
        Role::Paragraph => Tag::P.into(),
        Role::Group => Tag::Div.into(),
        Role::List { numbered: true } => Tag::L(ListNumbering::Decimal).into(),
        Role::List { numbered: false } => Tag::L(ListNumbering::None).into(),
        Role::Item => Tag::LI.into(),
        Role::ItemLabel => Tag::Lbl.into(),
        Role::ItemBody => Tag::LBody.into(),
        Role::Table => Tag::Table.into(),
        Role::TableCaption => Tag::Caption.into(),
        Role::TableHead => Tag::THead.into(),
        Role::TableBody => Tag::TBody.into(),
        Role::Row => Tag::TR.into(),
        Role::ColumnHead => Tag::TH(TableHeaderScope::Column).into(),
        Role::RowHead => Tag::TH(TableHeaderScope::Row).into(),
        Role::Cell => Tag::TD.into(),
        Role::Figure(alt) => Tag::Figure(Some(alt.clone())).into(),
        Role::Contents => Tag::TOC.into(),
        Role::ContentsItem => Tag::TOCI.into(),
        Role::Link => Tag::Link.into(),
    }
}
