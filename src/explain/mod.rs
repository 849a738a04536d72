//! How a number came about: its inputs, formula and source, or what is missing.

mod basis;
mod identity;
mod json;
mod outside;
mod text;

use crate::assess::definitions::{DEFINITIONS, Definition, Read};
use crate::assess::{Assessment, discharge_column, implanted, lacking};
use crate::dictionary::{self, ResultColumn};
use crate::record::{CaseRecord, Catalogue, Cells, Shown};

pub use basis::{Basis, NOT_READ, device_row_hash, input_hash};
pub use identity::{Identity, OLDER, Teller, Told};
pub use json::{case_json, definitions_json, shown_json};
pub use outside::outside_check;
pub use text::{explain_text, plain};

/// Where an input of a result came from.
#[derive(Clone, Debug, PartialEq)]
pub enum Origin {
    /// A cell of the cases file.
    Case,
    /// A cell of the devices file, of the implanted device.
    Device,
    /// A cell of the follow-up file, of the visit on this date.
    Visit(jiff::civil::Date),
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
            Self::Visit(date) => format!("visit of {date}"),
            Self::Result => "computed".to_owned(),
            Self::AsOf => "as-of date".to_owned(),
        }
    }
}

/// One input of a result.
#[derive(Clone, Debug, PartialEq)]
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
    let value = assessment
        .results
        .values()
        .nth(position)
        .and_then(|(_, value)| value);
    Some(trace_of(position, value, record, assessment, catalogue))
}

/// How every result came about, in the order of results.csv.
pub fn traces<'a>(
    record: &'a CaseRecord,
    assessment: &'a Assessment,
    catalogue: &'a Catalogue,
) -> impl Iterator<Item = Trace<'a>> {
    assessment
        .results
        .values()
        .enumerate()
        .map(move |(position, (_, value))| trace_of(position, value, record, assessment, catalogue))
}

fn trace_of<'a>(
    position: usize,
    value: Option<Shown<'a>>,
    record: &'a CaseRecord,
    assessment: &'a Assessment,
    catalogue: &'a Catalogue,
) -> Trace<'a> {
    let definition = &DEFINITIONS[position];
    let mut inputs: Vec<Input<'a>> = Vec::new();
    let known_only = |inputs: &[Input<'a>]| inputs.iter().all(|input| !lacking(input.value));
    for &read in definition.reads {
        inputs.extend(inputs_of(read, record, assessment, catalogue));
    }
    // The second way counts where the first is closed, or where it settles the value beside it.
    if !known_only(&inputs) || !definition.or_reads.is_empty() {
        for &read in definition.or_reads {
            inputs.extend(
                inputs_of(read, record, assessment, catalogue)
                    .into_iter()
                    .filter(|input| input.value.is_some()),
            );
        }
    }
    Trace {
        definition,
        column: result_column(definition.name),
        value,
        inputs,
        in_doubt: assessment.in_doubt.contains(&definition.name),
    }
}

/// The dictionary's entry of a result.
fn result_column(name: &str) -> &'static ResultColumn {
    dictionary::RESULTS
        .iter()
        .find(|column| column.name == name)
        .expect("tests/definitions.rs holds the definitions against the dictionary")
}

fn unit_of(file: &str, column: &str) -> &'static str {
    dictionary::column(file, column).map_or("", |column| column.unit.as_str())
}

fn inputs_of<'a>(
    read: Read,
    record: &'a CaseRecord,
    assessment: &'a Assessment,
    catalogue: &'a Catalogue,
) -> Vec<Input<'a>> {
    let cells = &assessment.known.cells;
    let case = |name: &'static str| Input {
        name,
        origin: Origin::Case,
        value: if name == "procedure_date" {
            Some(Shown::Date(record.procedure_date))
        } else {
            cells.value(name)
        },
        unit: unit_of("cases", name),
    };
    let visit = |position: usize, name: &'static str| {
        let visit = &assessment.known.visits[position];
        Input {
            name,
            origin: Origin::Visit(visit.date),
            value: visit.cells.value(name),
            unit: unit_of("followups", name),
        }
    };
    match read {
        Read::Case(name) => vec![case(name)],
        Read::Device(name) => vec![Input {
            name,
            origin: Origin::Device,
            value: implanted(cells, catalogue).and_then(|device| device.cells.value(name)),
            unit: unit_of("devices", name),
        }],
        Read::Ranges => Vec::new(),
        Read::Performance(name) => match assessment.performance.visit {
            Some(position) => vec![visit(position, name)],
            None => discharge_column(name).map(case).into_iter().collect(),
        },
        Read::Reference(name) => assessment
            .course
            .reference
            .map(|position| visit(position, name))
            .into_iter()
            .collect(),
        Read::Later(name) => assessment
            .course
            .later
            .iter()
            .map(|later| visit(later.visit, name))
            .collect(),
        Read::Visits(name) => (0..assessment.known.visits.len())
            .map(|position| visit(position, name))
            .collect(),
        Read::Result(name) => vec![Input {
            name,
            origin: Origin::Result,
            value: assessment.value(name),
            unit: result_column(name).unit.as_str(),
        }],
        Read::AsOf => vec![Input {
            name: "as_of",
            origin: Origin::AsOf,
            value: Some(Shown::Date(assessment.known.as_of)),
            unit: "",
        }],
    }
}
