//! How a number came about: its inputs, formula and source, or what is missing.

mod basis;
mod identity;
mod json;
mod outside;
mod reads;
mod text;

use crate::assess::definitions::{DEFINITIONS, Definition};
use crate::assess::{Assessment, lacking};
use crate::dictionary::ResultColumn;
use crate::record::{CaseRecord, Catalogue, Shown};

pub use basis::{Basis, HASHES, NOT_READ, device_row_hash, input_hash};
pub use identity::{Identity, OLDER, Teller, Told};
pub use json::{case_json, columns_json, definitions_json};
pub use outside::outside_check;
pub use reads::Traced;
pub use text::{explain_text, plain};

/// Where an input of a result came from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Origin {
    /// A cell of the cases file.
    Case,
    /// A cell of the devices file, of the implanted device.
    Device,
    /// A cell of the follow-up file.
    Visit {
        /// Position of the visit among those that count, the earliest first.
        position: usize,
        /// Its day.
        date: jiff::civil::Date,
    },
    /// Computed here.
    Result,
    /// The day the report speaks for.
    AsOf,
}

impl Origin {
    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::Case => "cases file".to_owned(),
            Self::Device => "devices file".to_owned(),
            Self::Visit { date, .. } => format!("visit of {date}"),
            Self::Result => "computed".to_owned(),
            Self::AsOf => "as-of date".to_owned(),
        }
    }
}

/// One input of a result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Input<'a> {
    /// Column or result.
    pub name: &'static str,
    /// Where it came from.
    pub origin: Origin,
    /// Its value; `None` where it is unknown.
    pub value: Option<Shown<'a>>,
    /// Its unit; empty where it has none.
    pub unit: &'static str,
}

/// How one result came about.
#[derive(Clone, Debug)]
pub struct Trace<'a> {
    /// What it is and how it is computed.
    pub definition: &'static Definition,
    /// Unit and source.
    pub column: &'static ResultColumn,
    /// The value.
    pub value: Option<Shown<'a>>,
    /// What it read, known or not.
    pub inputs: Vec<Input<'a>>,
    /// Whether a failed check put it in doubt.
    pub in_doubt: bool,
}

impl Trace<'_> {
    /// The inputs that are unknown, where the result is unknown.
    pub fn missing(&self) -> impl Iterator<Item = &Input<'_>> {
        self.inputs
            .iter()
            .filter(|input| lacking(self.value) && lacking(input.value))
    }
}

/// How the result of this name came about in this case; `None` for a name that is no computed result.
pub fn trace<'a>(
    name: &str,
    record: &'a CaseRecord,
    assessment: &'a Assessment,
    catalogue: &'a Catalogue,
) -> Option<Trace<'a>> {
    let position = DEFINITIONS
        .iter()
        .position(|definition| definition.name == name)?;
    let mut trace = Traced::new(record, assessment, catalogue).trace(position);
    trace.inputs.shrink_to_fit();
    Some(trace)
}

/// How every result came about, in the order of results.csv.
pub fn traces<'a>(
    record: &'a CaseRecord,
    assessment: &'a Assessment,
    catalogue: &'a Catalogue,
) -> impl Iterator<Item = Trace<'a>> {
    traces_of(record, assessment, catalogue, |_| true)
}

/// As [`traces`], of the results whose names are `wanted`.
pub fn traces_of<'a>(
    record: &'a CaseRecord,
    assessment: &'a Assessment,
    catalogue: &'a Catalogue,
    wanted: impl Fn(&str) -> bool,
) -> impl Iterator<Item = Trace<'a>> {
    let traced = Traced::new(record, assessment, catalogue);
    let definitions = DEFINITIONS.iter().enumerate();
    definitions
        .filter(move |(_, definition)| wanted(definition.name))
        .map(move |(position, _)| traced.trace(position))
}
