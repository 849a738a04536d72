//! A file held whole until its end: objects, pages, catalogue.

use super::PdfError;
use super::metadata::Fingerprint;
use super::objects::Objects;
use crate::draw::{PT_PER_MM, Paper, Sheet};
use flate2::{Compress, Compression, FlushCompress, Status};
use lopdf::{Dictionary, Object, ObjectId, dictionary};
use printpdf::{Mm, PdfDocument, PdfPage, PdfSaveOptions, PdfWarnMsg};
use std::cell::RefCell;

/// Compression of what is made anew for each document: a case page is 3 % larger than at level 4 and the whole of it,
/// reading and assessing included, takes a sixth less time; level 1 would make it a seventh larger.
pub(super) const LEVEL: u32 = 2;

/// The objects of a file, with its pages in place.
pub(super) struct Skeleton {
    document: lopdf::Document,
    catalogue: ObjectId,
    /// The one resource dictionary that all pages share.
    resources: ObjectId,
    /// Page objects in order.
    pub(super) pages: Vec<ObjectId>,
    written: Written,
}

/// Objects that are bytes already, one behind the other, in ascending order of their numbers.
#[derive(Default)]
pub(super) struct Written {
    bytes: Vec<u8>,
    /// Number of an object and where it ends.
    ends: Vec<(u32, usize)>,
}

impl Written {
    /// Number and bytes of each object.
    pub(super) fn objects(&self) -> impl Iterator<Item = (u32, &[u8])> {
        let starts = std::iter::once(0).chain(self.ends.iter().map(|&(_, end)| end));
        self.ends
            .iter()
            .zip(starts)
            .map(|(&(number, end), start)| (number, &self.bytes[start..end]))
    }
}

impl Skeleton {
    /// Pages without content.
    pub(super) fn new(sheets: &[Sheet]) -> Result<Skeleton, PdfError> {
        let pages = sheets
            .iter()
            .map(|sheet| {
                let (width, height) = (
                    sheet.paper.width_mm() as f32,
                    sheet.paper.height_mm() as f32,
                );
                PdfPage::new(Mm(width), Mm(height), Vec::new())
            })
            .collect();
        let mut document = PdfDocument::new("");
        document.pages = pages;
        let options = PdfSaveOptions {
            optimize: false,
            subset_fonts: false,
            secure: false,
            image_optimization: None,
        };
        let mut warnings: Vec<PdfWarnMsg> = Vec::new();
        let document = document.to_lopdf_document(&options, &mut warnings);
        if let Some(warning) = warnings.first() {
            return Err(PdfError::Library(warning.msg.clone()));
        }
        Skeleton::adopt(document, sheets).map_err(|fault| PdfError::Library(fault.to_string()))
    }

    /// Fills a page with compressed operators.
    pub(super) fn set_content(&mut self, page: usize, content: Vec<u8>) -> Result<(), PdfError> {
        let contents = self.page(page).get(b"Contents");
        let filled = contents.and_then(Object::as_reference).and_then(|id| {
            let stream = self.document.get_object_mut(id)?.as_stream_mut()?;
            stream.content = content;
            stream.allows_compression = false;
            stream.dict.set("Filter", "FlateDecode");
            stream.dict.set("Length", stream.content.len() as i64);
            Ok(())
        });
        filled.map_err(|fault| PdfError::Library(fault.to_string()))
    }

    /// Takes over the library's objects: keeps pages and contents, drops empty resources, and gives
    /// all pages one resource dictionary.
    fn adopt(mut document: lopdf::Document, sheets: &[Sheet]) -> lopdf::Result<Skeleton> {
        let catalogue = document.trailer.get(b"Root")?.as_reference()?;
        let tree = document
            .get_dictionary(catalogue)?
            .get(b"Pages")?
            .as_reference()?;
        let kids = document.get_dictionary(tree)?.get(b"Kids")?.as_array()?;
        let pages = kids
            .iter()
            .map(Object::as_reference)
            .collect::<lopdf::Result<Vec<_>>>()?;
        let resources = document.new_object_id();
        let mut unused = Vec::new();
        for (&page, sheet) in pages.iter().zip(sheets) {
            let dictionary = document.get_dictionary_mut(page)?;
            unused.push(dictionary.get(b"Resources")?.as_reference()?);
            for key in [b"TrimBox".as_slice(), b"CropBox", b"Annots"] {
                dictionary.remove(key);
            }
            dictionary.set("MediaBox", media_box(sheet.paper));
            dictionary.set("Resources", Object::Reference(resources));
        }
        if let Some(&first) = unused.first() {
            let shared = document.get_dictionary(first)?;
            let shared = shared
                .iter()
                .filter_map(|(_, entry)| entry.as_reference().ok());
            unused.extend(shared.collect::<Vec<_>>());
        }
        for id in unused {
            document.objects.remove(&id);
        }
        document.objects.insert(
            resources,
            Object::Dictionary(dictionary! { "Font" => Dictionary::new() }),
        );
        let skeleton = Skeleton {
            document,
            catalogue,
            resources,
            pages,
            written: Written::default(),
        };
        Ok(skeleton)
    }

    /// The dictionary of a page, by its place.
    pub(super) fn page(&mut self, page: usize) -> &mut Dictionary {
        self.dictionary(self.pages[page])
    }

    /// The bytes of the file, with an identifier that covers all its streams.
    pub(super) fn finish(mut self) -> Vec<u8> {
        let mut fingerprint = Fingerprint::default();
        for object in self.document.objects.values() {
            if let Ok(stream) = object.as_stream() {
                fingerprint.add(&stream.content);
            }
        }
        self.document.trailer.set("ID", fingerprint.identifier());
        super::file::bytes(&self.document, &self.written)
    }

    fn dictionary(&mut self, id: ObjectId) -> &mut Dictionary {
        self.document
            .get_dictionary_mut(id)
            .expect("made as a dictionary by this module")
    }
}

impl Objects for Skeleton {
    fn reserve(&mut self) -> ObjectId {
        self.document.new_object_id()
    }

    fn set(&mut self, id: ObjectId, object: impl Into<Object>) {
        self.document.objects.insert(id, object.into());
    }

    fn write(&mut self, id: ObjectId, write: impl FnOnce(&mut Vec<u8>)) {
        let Written { bytes, ends } = &mut self.written;
        debug_assert!(ends.last().is_none_or(|&(last, _)| last < id.0));
        write(bytes);
        ends.push((id.0, bytes.len()));
    }

    fn add_stream(&mut self, dictionary: Dictionary, content: Vec<u8>) -> ObjectId {
        self.add(lopdf::Stream::new(dictionary, content).with_compression(false))
    }

    fn catalogue(&mut self) -> &mut Dictionary {
        self.dictionary(self.catalogue)
    }

    fn add_font(&mut self, name: &str, font: ObjectId) {
        let resources = self.dictionary(self.resources);
        if let Ok(fonts) = resources.get_mut(b"Font").and_then(Object::as_dict_mut) {
            fonts.set(name, Object::Reference(font));
        }
    }

    fn set_info(&mut self, info: Dictionary) {
        let id = self.document.trailer.get(b"Info");
        if let Ok(id) = id.and_then(Object::as_reference) {
            self.set(id, info);
        }
    }
}

/// The size of a page, in points.
pub(super) fn media_box(paper: Paper) -> Vec<Object> {
    let size_pt = [paper.width_mm(), paper.height_mm()];
    let [width, height] =
        size_pt.map(|mm| Object::Real((mm * PT_PER_MM * 1000.0).round() as f32 / 1000.0));
    vec![0.into(), 0.into(), width, height]
}

thread_local! {
    /// The compressor of [`LEVEL`], kept: its tables are larger than what a page gives it, and clearing them is cheaper
    /// than having them made.
    static COMPRESSOR: RefCell<Compress> = RefCell::new(Compress::new(Compression::new(LEVEL), true));
}

/// Bytes compressed for a `FlateDecode` stream.
pub(super) fn deflated(bytes: &[u8], level: u32) -> Vec<u8> {
    if level != LEVEL {
        return compressed(bytes, &mut Compress::new(Compression::new(level), true));
    }
    COMPRESSOR.with_borrow_mut(|compressor| {
        compressor.reset();
        compressed(bytes, compressor)
    })
}

fn compressed(bytes: &[u8], compressor: &mut Compress) -> Vec<u8> {
    let mut output = Vec::with_capacity(bytes.len() / 2 + 64);
    loop {
        let read = compressor.total_in() as usize;
        let status = compressor
            .compress_vec(&bytes[read..], &mut output, FlushCompress::Finish)
            .expect("compressing into memory");
        if status == Status::StreamEnd {
            return output;
        }
        output.reserve(output.capacity());
    }
}

/// A text for people: plain where it is ASCII, otherwise UTF-16 with its mark.
pub(super) fn text_string(text: &str) -> Object {
    if text.bytes().all(|byte| (0x20..0x7f).contains(&byte)) {
        return Object::string_literal(text);
    }
    let units = std::iter::once(0xfeff).chain(text.encode_utf16());
    Object::String(
        units.flat_map(u16::to_be_bytes).collect(),
        lopdf::StringFormat::Hexadecimal,
    )
}
