//! A document of thousands of sheets, written as its sheets are made.
//!
//! Content, tags and page object of a sheet go into the file at once. What stays of it is a [`Leaf`]: the numbers of its
//! objects, its bookmarks and its label, which the page tree, the structure tree and the outline at the end of the file
//! are written from. Sheets may be written in another order than they are read in. The tags of each stand in a part of
//! their own, so that the outermost tag names sheets and not all that stands on them.

use super::ahead::Ahead;
use super::content::push_reference;
use super::file::{CrossReferences, Writer, write_object};
use super::metadata::Fingerprint;
use super::objects::Objects;
use super::outline::{self, Marked};
use super::typeface::Growing;
use super::{PdfError, attachment, colour_profile, content, metadata, skeleton};
use crate::draw::{Bookmark, Document, Fonts, Sheet};
use crate::output::stream::Sink;
use lopdf::{Dictionary, Object, ObjectId, dictionary};

/// Indirect objects that an archived file may have (ISO 19005-2, 6.1.13).
const MOST_OBJECTS: u32 = 8_388_607;

/// What stays of a sheet that is written.
#[derive(Debug)]
pub struct Leaf {
    page: ObjectId,
    /// Key of the page's content in the way back to its tags.
    key: usize,
    /// The tags of each piece of its content.
    owners: ObjectId,
    /// The tag around all of its tags.
    part: ObjectId,
    bookmarks: Vec<Bookmark>,
    label: Option<String>,
}

/// A document that is being written.
pub struct Binder<'a, S> {
    fonts: &'a Fonts,
    file: Bound<S>,
    faces: Growing,
    sheets: usize,
    most_objects: u32,
}

impl<'a, S: Sink> Binder<'a, S> {
    /// Begins a document without sheets.
    pub fn begin(sink: S, fonts: &'a Fonts) -> Self {
        Self {
            fonts,
            file: Bound::begin(sink),
            faces: Growing::default(),
            sheets: 0,
            most_objects: MOST_OBJECTS,
        }
    }

    /// Writes a sheet.
    ///
    /// # Errors
    /// Where its display list is at fault, or the file is full.
    pub fn add(&mut self, sheet: &Sheet) -> Result<Leaf, PdfError> {
        let number = self.sheets + 1;
        let ahead = Ahead::of(sheet, self.fonts).map_err(|fault| fault.on_sheet(number))?;
        self.add_ahead(sheet, ahead)
    }

    /// Writes a sheet that was written ahead, of which `sheet` has all but the items.
    ///
    /// # Errors
    /// As [`Binder::add`].
    pub fn add_ahead(&mut self, sheet: &Sheet, ahead: Ahead) -> Result<Leaf, PdfError> {
        let key = self.sheets;
        self.sheets += 1;
        let written = ahead
            .bound(&mut self.faces, self.fonts)
            .map_err(|fault| fault.on_sheet(self.sheets))?;
        let file = &mut self.file;
        let content = file.add_deflated(Dictionary::new(), written.content);
        let page = file.add(dictionary! {
            "Type" => "Page",
            "Parent" => file.page_tree,
            "MediaBox" => skeleton::media_box(sheet.paper),
            "Resources" => file.resources,
            "Contents" => content,
            "StructParents" => key as i64,
            "Tabs" => "S",
        });
        let (part, owners) = written.structure.add_sheet_to(file, file.whole, page);
        self.not_full()?;
        Ok(Leaf {
            page,
            key,
            owners,
            part,
            bookmarks: sheet.bookmarks.clone(),
            label: sheet.label.clone(),
        })
    }

    /// Ends the document. `leaves` are all its sheets, in the order in which they are read; `about` says what it is, and
    /// has no sheets of its own. Returns where the bytes went.
    ///
    /// # Errors
    /// Where there is no sheet or no title, or the file is full.
    pub fn finish(mut self, about: &Document, leaves: &[Leaf]) -> Result<S, PdfError> {
        super::whole(about, leaves.len())?;
        let file = &mut self.file;
        self.faces.settled(self.fonts)?.add_to(file);
        file.set_page_tree(leaves);
        file.set_structure(leaves);
        let marked: Vec<Marked<'_>> = leaves
            .iter()
            .map(|leaf| Marked {
                page: leaf.page,
                bookmarks: &leaf.bookmarks,
                label: leaf.label.as_deref(),
            })
            .collect();
        outline::add_to(file, &marked);
        file.set_labels(&marked);
        colour_profile::add_to(file);
        if let Some(attachment) = &about.attachment {
            attachment::add_to(file, attachment, about.date);
        }
        metadata::add_to(file, about);
        self.not_full()?;
        Ok(self.file.finish())
    }

    fn not_full(&self) -> Result<(), PdfError> {
        if self.file.file.objects() <= self.most_objects {
            return Ok(());
        }
        Err(PdfError::TooLarge {
            sheets: self.sheets,
            most: self.most_objects,
        })
    }
}

/// The file of a document that is being written, and the objects of it that are known at its end.
struct Bound<S> {
    file: Writer<S>,
    fingerprint: Fingerprint,
    catalogue_id: ObjectId,
    catalogue: Dictionary,
    page_tree: ObjectId,
    resources: ObjectId,
    fonts: Dictionary,
    structure: ObjectId,
    /// The tag around all others.
    whole: ObjectId,
    info: ObjectId,
}

impl<S: Sink> Bound<S> {
    fn begin(sink: S) -> Self {
        let mut file = Writer::begin(sink, 1);
        let mut reserve = || file.reserve();
        let [catalogue_id, page_tree, resources, structure, whole, info] =
            std::array::from_fn(|_| reserve());
        Self {
            file,
            fingerprint: Fingerprint::default(),
            catalogue_id,
            catalogue: dictionary! {
                "Type" => "Catalog",
                "PageLayout" => "OneColumn",
                "Pages" => page_tree,
                "StructTreeRoot" => structure,
                "MarkInfo" => dictionary! { "Marked" => true },
            },
            page_tree,
            resources,
            fonts: Dictionary::new(),
            structure,
            whole,
            info,
        }
    }

    fn set_page_tree(&mut self, leaves: &[Leaf]) {
        self.write(self.page_tree, |bytes| {
            bytes.extend_from_slice(b"<</Type /Pages/Count ");
            content::push_whole(bytes, leaves.len() as u64);
            bytes.extend_from_slice(b"/Kids ");
            push_references(bytes, leaves.iter().map(|leaf| leaf.page));
            bytes.extend_from_slice(b">>");
        });
    }

    /// The tag around all others, and the way back from each page's content to its tags.
    fn set_structure(&mut self, leaves: &[Leaf]) {
        let (whole, structure) = (self.whole, self.structure);
        self.write(whole, |bytes| {
            bytes.extend_from_slice(b"<</S /Document/P ");
            push_reference(bytes, structure);
            bytes.extend_from_slice(b"/K ");
            push_references(bytes, leaves.iter().map(|leaf| leaf.part));
            bytes.extend_from_slice(b">>");
        });
        let mut by_key: Vec<(usize, ObjectId)> =
            leaves.iter().map(|leaf| (leaf.key, leaf.owners)).collect();
        by_key.sort_unstable();
        let parents = self.reserve();
        self.write(parents, |bytes| {
            bytes.extend_from_slice(b"<</Nums [");
            for (key, owners) in by_key {
                content::push_whole(bytes, key as u64);
                bytes.push(b' ');
                push_reference(bytes, owners);
                bytes.push(b' ');
            }
            bytes.extend_from_slice(b"]>>");
        });
        self.set(
            structure,
            dictionary! {
                "Type" => "StructTreeRoot",
                "K" => whole,
                "ParentTree" => parents,
                "ParentTreeNextKey" => leaves.len() as i64,
            },
        );
    }

    /// Page labels as an object of their own: one for every page.
    fn set_labels(&mut self, sheets: &[Marked<'_>]) {
        let labels = self.reserve();
        self.write(labels, |bytes| {
            bytes.extend_from_slice(b"<</Nums [");
            for (page, label) in outline::labels(sheets) {
                write_object(bytes, &page);
                bytes.push(b' ');
                write_object(bytes, &label);
                bytes.push(b' ');
            }
            bytes.extend_from_slice(b"]>>");
        });
        self.catalogue.set("PageLabels", labels);
    }

    fn finish(mut self) -> S {
        let fonts = std::mem::take(&mut self.fonts);
        self.set(self.resources, dictionary! { "Font" => fonts });
        let catalogue = std::mem::take(&mut self.catalogue);
        self.set(self.catalogue_id, catalogue);
        let trailer = dictionary! {
            "Root" => self.catalogue_id,
            "Info" => self.info,
            "ID" => self.fingerprint.identifier(),
        };
        self.file.finish(&trailer, CrossReferences::Differences)
    }
}

impl<S: Sink> Objects for Bound<S> {
    fn reserve(&mut self) -> ObjectId {
        self.file.reserve()
    }

    fn set(&mut self, id: ObjectId, object: impl Into<Object>) {
        let object = object.into();
        self.write(id, |bytes| write_object(bytes, &object));
    }

    fn write(&mut self, (number, _): ObjectId, write: impl FnOnce(&mut Vec<u8>)) {
        self.file.object(number, write);
    }

    fn add_stream(&mut self, dictionary: Dictionary, content: Vec<u8>) -> ObjectId {
        let id = self.reserve();
        self.fingerprint.add(&content);
        self.file.stream(id.0, &dictionary, &content);
        id
    }

    fn catalogue(&mut self) -> &mut Dictionary {
        &mut self.catalogue
    }

    fn add_font(&mut self, name: &str, font: ObjectId) {
        self.fonts.set(name, font);
    }

    fn set_info(&mut self, info: Dictionary) {
        self.set(self.info, info);
    }
}

fn push_references(bytes: &mut Vec<u8>, ids: impl Iterator<Item = ObjectId>) {
    bytes.push(b'[');
    for id in ids {
        push_reference(bytes, id);
        bytes.push(b' ');
    }
    bytes.push(b']');
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Paper;

    /// A file that would be no archive any more is refused, with how far it came.
    #[test]
    fn a_document_of_more_objects_than_an_archive_holds_is_refused() {
        let fonts = Fonts::load();
        let sheet = Sheet::new(Paper::A4);
        let mut binder = Binder::begin(Vec::new(), &fonts);
        binder.add(&sheet).expect("there is room");
        binder.most_objects = binder.file.file.objects() + 1;
        let most = binder.most_objects;
        assert_eq!(
            binder.add(&sheet).expect_err("full"),
            PdfError::TooLarge { sheets: 2, most }
        );
    }
}
