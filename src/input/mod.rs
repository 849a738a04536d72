//! Files → records. Nothing is dropped silently: what cannot be used is left out with a finding that says where and why.
//!
//! [`read`] is the whole of it. In order: bytes become text (`encoding`), the separator is found (`separator`), the
//! header is matched with the dictionary (`headers`), rows become typed cells (`table`, `body`, `rows`, `cells`) while the
//! file is looked through for what holds for all of them, its decimal mark and more (`survey`), and rows are joined to
//! cases (`cases`, `merge`), visits and devices.

mod blank;
mod body;
mod cases;
mod cells;
mod date;
mod devices;
mod dialect;
pub mod draft;
mod encoding;
mod error;
mod findings;
mod headers;
mod hidden;
mod id;
mod limits;
mod loose;
mod merge;
mod number;
mod pieces;
mod rows;
mod said_once;
mod separator;
pub mod site;
mod source;
mod spec;
mod split;
mod survey;
mod table;
mod units;
mod visits;

use encoding_rs::Encoding;

pub use cases::Withheld;
pub use date::DateFormat;
pub use dialect::{Dialect, HeaderRule, OfTable, Word};
pub use error::InputError;
pub use merge::ContradictedCell;
pub use number::DecimalMark;
pub use site::{Site, SiteError};
pub use source::{FileRead, LARGEST_FILE_BYTES, OpenedSource, Source};

use crate::diagnostic::Diagnostic;
use crate::record::{CaseAtRest, CaseCells, CaseRecord, Catalogue, Cells, DeviceCells, VisitCells};
use table::{Given, Table, read_table};

/// How the files are to be read.
#[derive(Clone, Debug, Default)]
pub struct ReadOptions {
    /// Encoding of files without a byte order mark; UTF-8 where not given.
    pub encoding: Option<&'static Encoding>,
    /// What the site file says of the centre's files.
    pub dialect: Dialect,
}

/// Everything the files hold, and everything that was wrong with them.
#[derive(Clone, Debug, Default)]
pub struct Inputs {
    /// Cases in the order of the first file (those that only a later file has, behind them), with their visits.
    pub cases: Vec<CaseAtRest>,
    /// The devices file; empty where none was given.
    pub catalogue: Catalogue,
    /// Rows of the cases files that are left out, in their order: one a row, so a case may stand here twice.
    pub withheld: Vec<Withheld>,
    /// Cells that two cases files fill differently: unknown.
    pub contradicted: Vec<ContradictedCell>,
    /// Every finding, sorted by place.
    pub diagnostics: Vec<Diagnostic>,
    /// How each file was read, in the order given: cases, followups, devices.
    pub files: Vec<FileRead>,
}

impl Inputs {
    /// Every case as a record, in the order of [`Inputs::cases`].
    pub fn records(&self) -> Vec<CaseRecord> {
        self.cases.iter().map(CaseAtRest::record).collect()
    }
}

/// Reads one or several cases files, side by side by case_id, and the follow-up and devices files.
///
/// # Errors
/// Only where a file leaves nothing to read: not readable, another kind of file, empty, or without the column of its key.
pub fn read(
    cases: &[Source],
    followups: Option<&Source>,
    devices: Option<&Source>,
    options: &ReadOptions,
) -> Result<Inputs, InputError> {
    read_each(
        cases.iter().map(Given::Held),
        followups.map(Given::Held),
        devices.map(Given::Held),
        options,
    )
}

/// As [`read`], of files of which no more is held than must be.
///
/// # Errors
/// As [`read`].
pub fn read_opened(
    cases: Vec<OpenedSource>,
    followups: Option<OpenedSource>,
    devices: Option<OpenedSource>,
    options: &ReadOptions,
) -> Result<Inputs, InputError> {
    read_each(
        cases.into_iter().map(Given::Opened),
        followups.map(Given::Opened),
        devices.map(Given::Opened),
        options,
    )
}

fn read_each<'s>(
    cases: impl Iterator<Item = Given<'s>>,
    followups: Option<Given<'s>>,
    devices: Option<Given<'s>>,
    options: &ReadOptions,
) -> Result<Inputs, InputError> {
    let of_table = |file| options.dialect.for_table(file, options.encoding);
    let (encoding, dialect) = of_table("cases");
    let mut inputs = Inputs::default();
    let mut tables = read_tables::<CaseCells>(cases, encoding, &dialect)?;
    if tables.is_empty() {
        return Err(InputError::NoFile);
    }
    let (encoding, dialect) = of_table("followups");
    let mut visits = read_tables::<VisitCells>(followups, encoding, &dialect)?.pop();
    let (encoding, dialect) = of_table("devices");
    let mut catalogue = read_tables::<DeviceCells>(devices, encoding, &dialect)?.pop();

    let mut joined = cases::join(&mut tables);
    if let Some(visits) = &mut visits {
        visits::attach(visits, &mut joined.cases, &joined.known);
    }
    if let Some(devices) = &mut catalogue {
        inputs.catalogue = devices::catalogue(devices);
    }
    for table in tables {
        inputs.files.push(table.file);
        inputs.diagnostics.extend(table.findings.list);
    }
    if let Some(table) = visits {
        inputs.files.push(table.file);
        inputs.diagnostics.extend(table.findings.list);
    }
    if let Some(table) = catalogue {
        inputs.files.push(table.file);
        inputs.diagnostics.extend(table.findings.list);
    }
    inputs.diagnostics.sort();
    inputs.cases = joined.cases;
    inputs.withheld = joined.withheld;
    inputs.contradicted = joined.contradicted;
    Ok(inputs)
}

/// The tables of these files, one after the other.
fn read_tables<'s, T: Cells>(
    files: impl IntoIterator<Item = Given<'s>>,
    encoding: Option<&'static Encoding>,
    dialect: &Dialect,
) -> Result<Vec<Table<T>>, InputError> {
    files
        .into_iter()
        .map(|file| read_table(file, encoding, dialect))
        .collect()
}
