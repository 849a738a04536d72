//! The structure tree: what each part of the pages is, and in which order it is read.

use super::PdfError;
use super::content::{Content, push_reference, push_whole};
use super::file::write_object;
use super::objects::Objects;
use super::skeleton::{Skeleton, text_string};
use crate::draw::{Role, Scope, Tag};
use lopdf::{Object, ObjectId, dictionary};

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
    pub(super) fn end_page(&mut self, content: &mut Content) -> Result<(), PdfError> {
        self.break_ink(content);
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
    pub(super) fn ink(&mut self, ink: Ink, content: &mut Content) -> Result<bool, PdfError> {
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
        self.break_ink(content);
        self.current = wanted;
        match wanted {
            Current::Artifact => content.begin_artifact(),
            Current::Element(element) => {
                let page = self.pieces.len() - 1;
                let number = self.pieces[page].len();
                self.pieces[page].push(element);
                self.elements[element]
                    .kids
                    .push(Kid::Piece { page, number });
                content.begin_piece(self.elements[element].kind, number);
            }
            Current::Nothing => {}
        }
        Ok(true)
    }

    /// Ends the piece of content being written.
    pub(super) fn break_ink(&mut self, content: &mut Content) {
        if self.current != Current::Nothing {
            content.end_piece();
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
            let pages = std::mem::take(&mut file.pages);
            file.write(ids[index], |bytes| {
                element.write(bytes, parent, &ids, &pages);
            });
            file.pages = pages;
        }
        let mut numbers = Vec::with_capacity(self.pieces.len() * 2);
        for (page, pieces) in self.pieces.iter().enumerate() {
            let owners = file.reserve();
            file.write(owners, |bytes| push_owners(bytes, pieces, &ids));
            numbers.push(Object::Integer(page as i64));
            numbers.push(Object::Reference(owners));
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

impl Structure {
    /// Writes the tags of a document of this one sheet as a part of a larger one, whose outermost tag is `whole`. Returns
    /// the part, and the object that leads from the page's content back to its tags.
    pub(super) fn add_sheet_to(
        mut self,
        file: &mut impl Objects,
        whole: ObjectId,
        page: ObjectId,
    ) -> (ObjectId, ObjectId) {
        self.elements[0].kind = "Part";
        let ids: Vec<ObjectId> = self.elements.iter().map(|_| file.reserve()).collect();
        for (index, (element, &id)) in self.elements.iter().zip(&ids).enumerate() {
            let parent = if index == 0 {
                whole
            } else {
                ids[element.parent]
            };
            file.write(id, |bytes| element.write(bytes, parent, &ids, &[page]));
        }
        let owners = file.reserve();
        let pieces = self.pieces.first().map_or(&[][..], Vec::as_slice);
        file.write(owners, |bytes| push_owners(bytes, pieces, &ids));
        (ids[0], owners)
    }
}

/// The element of each piece of a page's content.
fn push_owners(bytes: &mut Vec<u8>, pieces: &[usize], ids: &[ObjectId]) {
    bytes.push(b'[');
    for (place, &element) in pieces.iter().enumerate() {
        if place > 0 {
            bytes.push(b' ');
        }
        push_reference(bytes, ids[element]);
    }
    bytes.push(b']');
}

impl Element {
    /// The element as it stands in the file: there are hundreds on a page, so they are written at once.
    fn write(&self, bytes: &mut Vec<u8>, parent: ObjectId, ids: &[ObjectId], pages: &[ObjectId]) {
        bytes.extend_from_slice(b"<</S /");
        bytes.extend_from_slice(self.kind.as_bytes());
        bytes.extend_from_slice(b"/P ");
        push_reference(bytes, parent);
        if self.kids.iter().any(|kid| matches!(kid, Kid::Piece { .. })) {
            bytes.extend_from_slice(b"/Pg ");
            push_reference(bytes, pages[self.page]);
        }
        if let Some((first, more)) = self.kids.split_first() {
            bytes.extend_from_slice(if more.is_empty() { b"/K " } else { b"/K [" });
            self.push_kid(bytes, first, ids, pages);
            for kid in more {
                bytes.push(b' ');
                self.push_kid(bytes, kid, ids, pages);
            }
            if !more.is_empty() {
                bytes.push(b']');
            }
        }
        if let Some(alt) = &self.alt {
            bytes.extend_from_slice(b"/Alt ");
            write_object(bytes, &text_string(alt));
        }
        if let Some(text) = &self.actual_text {
            bytes.extend_from_slice(b"/ActualText ");
            write_object(bytes, &text_string(text));
        }
        self.push_attributes(bytes);
        bytes.extend_from_slice(b">>");
    }

    /// Elements close on the page they open on, so a piece is always on the element's own page.
    fn push_kid(&self, bytes: &mut Vec<u8>, kid: &Kid, ids: &[ObjectId], pages: &[ObjectId]) {
        match *kid {
            Kid::Element(element) => push_reference(bytes, ids[element]),
            Kid::Piece { page, number } if page == self.page => push_whole(bytes, number as u64),
            Kid::Piece { page, number } => {
                bytes.extend_from_slice(b"<</Type /MCR/Pg ");
                push_reference(bytes, pages[page]);
                bytes.extend_from_slice(b"/MCID ");
                push_whole(bytes, number as u64);
                bytes.extend_from_slice(b">>");
            }
        }
    }

    fn push_attributes(&self, bytes: &mut Vec<u8>) {
        let (scope, columns) = match self.role {
            Some(Role::HeaderCell { scope, columns }) => (Some(scope), columns),
            Some(Role::DataCell { columns }) => (None, columns),
            _ => return,
        };
        if scope.is_none() && columns < 2 {
            return;
        }
        bytes.extend_from_slice(b"/A <</O /Table");
        if let Some(scope) = scope {
            bytes.extend_from_slice(b"/Scope /");
            bytes.extend_from_slice(match scope {
                Scope::Column => b"Column",
                Scope::Row => b"Row",
                Scope::Both => b"Both",
            });
        }
        if columns > 1 {
            bytes.extend_from_slice(b"/ColSpan ");
            push_whole(bytes, u64::from(columns));
        }
        bytes.extend_from_slice(b">>");
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
