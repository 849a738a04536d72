//! The structure tree: what each part of the pages is, and in which order it is read.

use super::PdfError;
use super::operators::begin_content;
use super::skeleton::{Skeleton, text_string};
use crate::draw::{Role, Scope, Tag};
use lopdf::{Dictionary, Object, ObjectId, dictionary};
use printpdf::Op;

/// The structure of a document while its pages are written.
pub(super) struct Structure {
    elements: Vec<Element>,
    /// For each page, the element of each piece of content.
    pieces: Vec<Vec<usize>>,
    /// Elements opened and not closed; `None` inside an artifact.
    open: Vec<Option<usize>>,
    current: Current,
}

struct Element {
    kind: &'static str,
    role: Option<Role>,
    parent: usize,
    page: usize,
    alt: Option<String>,
    actual_text: Option<String>,
    kids: Vec<Kid>,
}

enum Kid {
    Element(usize),
    Piece { page: usize, number: usize },
}

/// What the content now being written belongs to.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Current {
    Nothing,
    Artifact,
    Element(usize),
}

/// What is about to be drawn.
pub(super) enum Ink<'a> {
    /// A text.
    Text(&'a str),
    /// A line or a fill.
    Drawing,
}

impl Structure {
    /// A document element with nothing in it.
    pub(super) fn new() -> Structure {
        let document = Element {
            kind: "Document",
            role: None,
            parent: 0,
            page: 0,
            alt: None,
            actual_text: None,
            kids: Vec::new(),
        };
        Structure {
            elements: vec![document],
            pieces: Vec::new(),
            open: vec![Some(0)],
            current: Current::Nothing,
        }
    }

    /// Takes over the one page of another document as the next page of this one.
    pub(super) fn add_page(&mut self, other: Structure) {
        let page = self.pieces.len();
        // The document element is here already.
        let before = self.elements.len() - 1;
        let here = |element: usize| {
            if element == 0 { 0 } else { before + element }
        };
        let kid_here = |kid: Kid| match kid {
            Kid::Element(element) => Kid::Element(here(element)),
            Kid::Piece { number, .. } => Kid::Piece { page, number },
        };
        for (position, element) in other.elements.into_iter().enumerate() {
            let kids = element.kids.into_iter().map(kid_here);
            if position == 0 {
                self.elements[0].kids.extend(kids);
                continue;
            }
            let kids = kids.collect();
            self.elements.push(Element {
                parent: here(element.parent),
                page,
                kids,
                ..element
            });
        }
        let pieces = other.pieces.into_iter().flatten();
        self.pieces.push(pieces.map(here).collect());
    }

    /// Turns to the next page.
    pub(super) fn begin_page(&mut self, page: usize) {
        self.pieces.resize_with(page + 1, Vec::new);
    }

    /// Ends a page, on which every tag must have been closed.
    pub(super) fn end_page(&mut self, operators: &mut Vec<Op>) -> Result<(), PdfError> {
        self.break_ink(operators);
        if self.open.len() > 1 {
            Err(self.fault("a tag is not closed".to_owned()))
        } else {
            Ok(())
        }
    }

    /// Opens an element inside the innermost open one.
    pub(super) fn open(&mut self, tag: &Tag) -> Result<(), PdfError> {
        let Some(parent) = self.innermost() else {
            // Nothing inside an artifact is tagged.
            self.open.push(None);
            return Ok(());
        };
        if tag.role == Role::Artifact {
            self.open.push(None);
            return Ok(());
        }
        let (kind, outside) = (kind(tag.role), self.elements[parent].role);
        if !may_stand_in(tag.role, outside) {
            let outer = self.elements[parent].kind;
            return Err(self.fault(format!("{kind} cannot stand in {outer}")));
        }
        if tag.role == Role::Figure && tag.alt.as_ref().is_none_or(|alt| alt.trim().is_empty()) {
            return Err(self.fault("a figure has no description".to_owned()));
        }
        let element = self.append(kind, Some(tag.role), parent);
        self.elements[element].alt.clone_from(&tag.alt);
        self.elements[element]
            .actual_text
            .clone_from(&tag.actual_text);
        let holder = if tag.role == Role::ListItem {
            self.append("LBody", Some(Role::ListItem), element)
        } else {
            element
        };
        self.open.push(Some(holder));
        Ok(())
    }

    /// Closes the innermost element.
    pub(super) fn close(&mut self) -> Result<(), PdfError> {
        if self.open.len() == 1 {
            return Err(self.fault("a tag is closed that was not opened".to_owned()));
        }
        self.open.pop();
        Ok(())
    }

    /// Makes sure that what is drawn next belongs to its element. True where that begins a new piece.
    pub(super) fn ink(&mut self, ink: Ink, operators: &mut Vec<Op>) -> Result<bool, PdfError> {
        let wanted = match (self.innermost(), ink) {
            (None, _) => Current::Artifact,
            (Some(element), Ink::Text(text)) => {
                if !self.elements[element].role.is_some_and(Role::holds_text) {
                    return Err(PdfError::Untagged {
                        sheet: self.pieces.len(),
                        text: text.to_owned(),
                    });
                }
                Current::Element(element)
            }
            (Some(element), Ink::Drawing) => self
                .figure_around(element)
                .map_or(Current::Artifact, Current::Element),
        };
        if wanted == self.current {
            return Ok(false);
        }
        self.break_ink(operators);
        self.current = wanted;
        match wanted {
            Current::Artifact => operators.push(Op::BeginMarkedContent {
                tag: "Artifact".to_owned(),
            }),
            Current::Element(element) => {
                let page = self.pieces.len() - 1;
                let number = self.pieces[page].len();
                self.pieces[page].push(element);
                self.elements[element]
                    .kids
                    .push(Kid::Piece { page, number });
                begin_content(operators, self.elements[element].kind, number as i64);
            }
            Current::Nothing => {}
        }
        Ok(true)
    }

    /// Ends the piece of content being written.
    pub(super) fn break_ink(&mut self, operators: &mut Vec<Op>) {
        if self.current != Current::Nothing {
            operators.push(Op::EndMarkedContent);
            self.current = Current::Nothing;
        }
    }

    fn innermost(&self) -> Option<usize> {
        self.open.last().copied().flatten()
    }

    fn append(&mut self, kind: &'static str, role: Option<Role>, parent: usize) -> usize {
        let page = self.pieces.len() - 1;
        let element = self.elements.len();
        self.elements.push(Element {
            kind,
            role,
            parent,
            page,
            alt: None,
            actual_text: None,
            kids: Vec::new(),
        });
        self.elements[parent].kids.push(Kid::Element(element));
        element
    }

    fn figure_around(&self, mut element: usize) -> Option<usize> {
        while element != 0 {
            if self.elements[element].role == Some(Role::Figure) {
                return Some(element);
            }
            element = self.elements[element].parent;
        }
        None
    }

    fn fault(&self, fault: String) -> PdfError {
        PdfError::Structure {
            sheet: self.pieces.len(),
            fault,
        }
    }

    /// Writes the tree and the way back from each page's content to it.
    pub(super) fn add_to(self, file: &mut Skeleton) {
        let root = file.reserve();
        let ids: Vec<ObjectId> = self.elements.iter().map(|_| file.reserve()).collect();
        for (index, element) in self.elements.into_iter().enumerate() {
            let parent = if index == 0 {
                root
            } else {
                ids[element.parent]
            };
            let dictionary = element.dictionary(parent, &ids, &file.pages);
            file.set_for_good(ids[index], &dictionary);
        }
        let mut numbers = Vec::with_capacity(self.pieces.len() * 2);
        for (page, pieces) in self.pieces.iter().enumerate() {
            let owners: Vec<Object> = pieces
                .iter()
                .map(|&element| Object::Reference(ids[element]))
                .collect();
            numbers.push(Object::Integer(page as i64));
            numbers.push(Object::Reference(file.add(owners)));
            let dictionary = file.page(page);
            dictionary.set("StructParents", page as i64);
            dictionary.set("Tabs", "S");
        }
        let parents = file.add(dictionary! { "Nums" => numbers });
        file.set(
            root,
            dictionary! {
                "Type" => "StructTreeRoot",
                "K" => ids[0],
                "ParentTree" => parents,
                "ParentTreeNextKey" => self.pieces.len() as i64,
            },
        );
        let catalogue = file.catalogue();
        catalogue.set("StructTreeRoot", root);
        catalogue.set("MarkInfo", dictionary! { "Marked" => true });
    }
}

impl Element {
    fn dictionary(&self, parent: ObjectId, ids: &[ObjectId], pages: &[ObjectId]) -> Dictionary {
        let mut dictionary = dictionary! { "S" => self.kind, "P" => parent };
        let mut kids: Vec<Object> = self
            .kids
            .iter()
            .map(|kid| self.kid(kid, ids, pages))
            .collect();
        if self.kids.iter().any(|kid| matches!(kid, Kid::Piece { .. })) {
            dictionary.set("Pg", pages[self.page]);
        }
        match kids.len() {
            0 => {}
            1 => dictionary.set("K", kids.remove(0)),
            _ => dictionary.set("K", kids),
        }
        if let Some(alt) = &self.alt {
            dictionary.set("Alt", text_string(alt));
        }
        if let Some(text) = &self.actual_text {
            dictionary.set("ActualText", text_string(text));
        }
        if let Some(attributes) = self.attributes() {
            dictionary.set("A", attributes);
        }
        dictionary
    }

    /// Elements close on the page they open on, so a piece is always on the element's own page.
    fn kid(&self, kid: &Kid, ids: &[ObjectId], pages: &[ObjectId]) -> Object {
        match *kid {
            Kid::Element(element) => Object::Reference(ids[element]),
            Kid::Piece { page, number } if page == self.page => Object::Integer(number as i64),
            Kid::Piece { page, number } => Object::Dictionary(
                dictionary! { "Type" => "MCR", "Pg" => pages[page], "MCID" => number as i64 },
            ),
        }
    }

    fn attributes(&self) -> Option<Dictionary> {
        let (scope, columns) = match self.role? {
            Role::HeaderCell { scope, columns } => (Some(scope), columns),
            Role::DataCell { columns } => (None, columns),
            _ => return None,
        };
        let mut attributes = dictionary! { "O" => "Table" };
        if let Some(scope) = scope {
            let scope = match scope {
                Scope::Column => "Column",
                Scope::Row => "Row",
                Scope::Both => "Both",
            };
            attributes.set("Scope", scope);
        }
        if columns > 1 {
            attributes.set("ColSpan", i64::from(columns));
        }
        (attributes.len() > 1).then_some(attributes)
    }
}

/// The standard structure type.
fn kind(role: Role) -> &'static str {
    match role {
        Role::Sect => "Sect",
        Role::H1 => "H1",
        Role::H2 => "H2",
        Role::H3 => "H3",
        Role::P => "P",
        Role::Table => "Table",
        Role::Row => "TR",
        Role::HeaderCell { .. } => "TH",
        Role::DataCell { .. } => "TD",
        Role::List => "L",
        Role::ListItem => "LI",
        Role::Figure => "Figure",
        Role::Caption => "Caption",
        Role::Artifact => "Artifact",
    }
}

/// Whether an element may stand directly in another (`None`: in the document itself).
fn may_stand_in(role: Role, outer: Option<Role>) -> bool {
    match role {
        Role::Row => outer == Some(Role::Table),
        Role::HeaderCell { .. } | Role::DataCell { .. } => outer == Some(Role::Row),
        Role::ListItem => outer == Some(Role::List),
        Role::Caption => matches!(
            outer,
            None | Some(Role::Sect | Role::Table | Role::Figure | Role::List)
        ),
        Role::H1 | Role::H2 | Role::H3 | Role::Sect => matches!(outer, None | Some(Role::Sect)),
        _ => match outer {
            None => true,
            Some(outer) => !matches!(
                outer,
                Role::Table
                    | Role::Row
                    | Role::List
                    | Role::H1
                    | Role::H2
                    | Role::H3
                    | Role::P
                    | Role::Caption
            ),
        },
    }
}
