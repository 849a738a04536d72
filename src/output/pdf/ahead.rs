//! A sheet written ahead of the document it will stand in, so that the sheets of a document are written side by side.

use super::skeleton::{LEVEL, deflated};
use super::structure::Structure;
use super::typeface::{Faces, Growing, Needs};
use super::{PdfError, operators};
use crate::draw::{Fonts, Sheet};

/// A sheet written ahead.
pub struct Ahead {
    needs: Needs,
    body: Body,
}

enum Body {
    Written(Written),
    /// Its glyphs have no number until its document is known: it holds a rare character.
    Later(Sheet),
}

/// Page operators, compressed, and the tags of the page.
pub(super) struct Written {
    pub content: Vec<u8>,
    pub structure: Structure,
}

impl Ahead {
    /// Writes a sheet.
    ///
    /// # Errors
    /// Where the display list is at fault; the sheet counts as the first of its document.
    pub fn of(sheet: &Sheet, fonts: &Fonts) -> Result<Ahead, PdfError> {
        let needs = Needs::of(&sheet.items, fonts)?;
        let body = if needs.are_common(fonts)? {
            Body::Written(written(sheet, &Faces::that_hold(&needs, fonts)?, fonts)?)
        } else {
            Body::Later(sheet.clone())
        };
        Ok(Ahead { needs, body })
    }

    /// The characters it needs.
    pub(super) fn needs(&self) -> &Needs {
        &self.needs
    }

    /// The sheet in a document with these faces.
    pub(super) fn with(self, faces: &Faces, fonts: &Fonts) -> Result<Written, PdfError> {
        match self.body {
            Body::Written(written) => Ok(written),
            Body::Later(sheet) => written(&sheet, faces, fonts),
        }
    }

    /// The sheet as the next of a document that is written sheet by sheet.
    pub(super) fn bound(self, faces: &mut Growing, fonts: &Fonts) -> Result<Written, PdfError> {
        faces.extend(&self.needs, fonts)?;
        match self.body {
            Body::Written(written) => Ok(written),
            Body::Later(sheet) => written(&sheet, faces.settled(fonts)?, fonts),
        }
    }
}

fn written(sheet: &Sheet, faces: &Faces, fonts: &Fonts) -> Result<Written, PdfError> {
    let mut structure = Structure::new();
    let operators = operators::page(sheet, 0, &mut structure, faces, fonts)?;
    let content = deflated(&operators, LEVEL);
    Ok(Written { content, structure })
}
