//! The case page: one patient, one procedure, one page, always exactly one.

mod answer;
mod arrange;
mod charts;
mod composites;
mod contents;
mod criteria;
mod evidence;
mod findings;
mod foot;
mod fragile;
mod judged;
mod ladder;
mod laid_out;
mod limits;
mod missing;
mod plan;
mod risks;
mod since;
mod sizes;
mod state;
mod view;
mod who;

use crate::assess::Assessment;
use crate::draw::{Document, Fonts, Paper};
use crate::figure::FigureError;
use crate::page::layout::Placed;
use crate::record::{CaseRecord, Catalogue, Text};
use crate::settings::Settings;

pub use state::{Kind, State};

/// An input file, as a page names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SourceLine {
    /// File, as given on the command line; the page prints its name without folders.
    pub file: String,
    /// SHA-256 of its bytes in hexadecimal; the page prints the beginning.
    pub sha256: Option<String>,
}

/// What a page needs beside the case.
#[derive(Clone, Copy, Debug)]
pub struct PageContext<'a> {
    /// Paper.
    pub paper: Paper,
    /// Name and address of the centre, from the site file; may be empty.
    pub centre_lines: &'a [String],
    /// How to reach it, from the site file; may be empty.
    pub contact_lines: &'a [String],
    /// Version of the program.
    pub program_version: &'a str,
    /// Version of the definitions.
    pub definitions_version: &'a str,
    /// The input files.
    pub sources: &'a [SourceLine],
    /// What the centre chose.
    pub settings: &'a Settings,
}

/// A page that was made.
#[derive(Clone, Debug, PartialEq)]
pub struct CasePage {
    /// One sheet, tagged, with its bookmark.
    pub document: Document,
    /// What it is a summary of.
    pub kind: Kind,
    /// How far it is signed.
    pub state: State,
    /// Eight characters that change with the page's contents.
    pub check_code: String,
    /// The box of every block, for checks of the layout.
    pub boxes: Vec<Placed>,
}

/// Why a page was not made; the case is then withheld by name.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PageFault {
    /// What must stand on the page does not fit on it.
    #[error("case {case_id}: {what} does not fit on one page")]
    DoesNotFit {
        /// The case.
        case_id: Text,
        /// What does not fit.
        what: &'static str,
    },
    /// A chart could not be drawn truly.
    #[error("case {case_id}: {fault}")]
    Figure {
        /// The case.
        case_id: Text,
        /// Why.
        fault: FigureError,
    },
}

/// The page of one case.
///
/// # Errors
/// [`PageFault`] where contents that must stay do not fit, however much yields, or a chart cannot be drawn truly.
pub fn case_page(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    context: &PageContext<'_>,
    fonts: &Fonts,
) -> Result<CasePage, PageFault> {
    let view = view::View::new(record, assessment, catalogue, context);
    arrange::arrange(&view, fonts)
}
