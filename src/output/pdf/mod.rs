//! A document as the bytes of a PDF file.
//!
//! The file is PDF 1.7 and follows PDF/A-2b (PDF/A-3b where it carries an attachment), with tags,
//! language, outline and page labels. The same document gives the same bytes on every run and with
//! any number of threads: nothing here reads a clock, a counter or a random number.
//!
//! A document is written whole from its sheets ([`to_pdf`]) or sheet by sheet ([`Binder`]).
//!
//! The skeleton of the first comes from `printpdf`; `lopdf`, which it is built on, takes the finished objects and
//! adds what an archive needs. What there are hundreds of on a page, operators and structure elements,
//! is written as text at once. No other module uses either crate.

mod ahead;
mod attachment;
mod binder;
mod colour_profile;
mod content;
mod file;
mod metadata;
mod objects;
mod operators;
mod outline;
mod skeleton;
mod structure;
mod typeface;

use crate::draw::{Document, Fonts};

pub use ahead::Ahead;
pub use binder::{Binder, Leaf};

/// Why a document was not written. Each is a fault of the page that was built, not of the data.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PdfError {
    /// A document without sheets.
    #[error("the document has no sheets")]
    NoSheets,
    /// A document without a title.
    #[error("the document has no title")]
    NoTitle,
    /// A character that the faces do not draw; [`Fonts::clean`] makes it visible.
    #[error("sheet {sheet}: no glyph for U+{:04X} in “{text}”", u32::from(*character))]
    NoGlyph {
        /// Number of the sheet, from 1.
        sheet: usize,
        /// The character.
        character: char,
        /// The text it stands in.
        text: String,
    },
    /// Text that no tag gives a meaning.
    #[error("sheet {sheet}: “{text}” is inside no tag that holds text")]
    Untagged {
        /// Number of the sheet, from 1.
        sheet: usize,
        /// The text.
        text: String,
    },
    /// Tags or clips that do not nest, or an element where it cannot stand.
    #[error("sheet {sheet}: {fault}")]
    Structure {
        /// Number of the sheet, from 1.
        sheet: usize,
        /// What is wrong.
        fault: String,
    },
    /// A coordinate that is no number.
    #[error("sheet {sheet}: a coordinate is not a finite number")]
    NotFinite {
        /// Number of the sheet, from 1.
        sheet: usize,
    },
    /// More objects than an archived file may have.
    #[error(
        "{sheets} sheets are more than an archived file holds ({most} objects); make it of fewer cases"
    )]
    TooLarge {
        /// Sheets that were written before it was full.
        sheets: usize,
        /// Objects that it may have.
        most: u32,
    },
    /// The writing libraries refused.
    #[error("the file could not be put together: {0}")]
    Library(String),
}

impl PdfError {
    /// The same fault, on the sheet of this number (from 1).
    fn on_sheet(mut self, number: usize) -> Self {
        match &mut self {
            Self::NoGlyph { sheet, .. }
            | Self::Untagged { sheet, .. }
            | Self::Structure { sheet, .. }
            | Self::NotFinite { sheet } => *sheet = number,
            Self::NoSheets | Self::NoTitle | Self::TooLarge { .. } | Self::Library(_) => {}
        }
        self
    }
}

/// The bytes of the document's PDF file.
///
/// # Errors
/// Where the display list is at fault (see [`PdfError`]); nothing is left out or replaced silently.
pub fn to_pdf(document: &Document, fonts: &Fonts) -> Result<Vec<u8>, PdfError> {
    whole(document, document.sheets.len())?;
    let mut pages = Vec::with_capacity(document.sheets.len());
    for (page, sheet) in document.sheets.iter().enumerate() {
        pages.push(Ahead::of(sheet, fonts).map_err(|fault| fault.on_sheet(page + 1))?);
    }
    let mut needs = typeface::Needs::default();
    for page in &pages {
        needs.extend(page.needs());
    }
    let faces = typeface::Faces::that_hold(&needs, fonts)?;
    let mut file = skeleton::Skeleton::new(&document.sheets)?;
    let mut structure = structure::Structure::new();
    for (page, written) in pages.into_iter().enumerate() {
        let written = written
            .with(&faces, fonts)
            .map_err(|fault| fault.on_sheet(page + 1))?;
        structure.add_page(written.structure);
        file.set_content(page, written.content)?;
    }
    faces.add_to(&mut file);
    structure.add_to(&mut file);
    let marked = outline::marked(&file.pages, &document.sheets);
    outline::add_to(&mut file, &marked);
    outline::add_labels(&mut file, &marked);
    colour_profile::add_to(&mut file);
    if let Some(attachment) = &document.attachment {
        attachment::add_to(&mut file, attachment, document.date);
    }
    metadata::add_to(&mut file, document);
    Ok(file.finish())
}

/// Whether a document of so many sheets has what every document needs.
fn whole(document: &Document, sheets: usize) -> Result<(), PdfError> {
    if sheets == 0 {
        Err(PdfError::NoSheets)
    } else if document.title.trim().is_empty() {
        Err(PdfError::NoTitle)
    } else {
        Ok(())
    }
}
