//! Plain data: what the files recorded of one procedure, typed and with its place, and nothing computed.

mod at_rest;
mod case_cells;
mod catalogue;
mod cell;
mod choices;
mod column_set;
mod device_cells;
mod plain;
mod shared;
mod visit_cells;

use std::sync::Arc;

use jiff::civil::Date;

pub use at_rest::{AtRest, CaseAtRest, NotesAtRest, ToRest, VisitAtRest};
pub use case_cells::CaseCells;
pub use catalogue::{Catalogue, Device};
pub use cell::{Cells, Choice, Field, FieldOf, Look, Parsed, Shown, Text, name_code};
pub(crate) use cell::{Positions, positions};
pub(crate) use choices::choices;
pub use choices::*;
pub use column_set::ColumnSet;
pub use device_cells::DeviceCells;
pub use plain::{push_date, push_number, push_small, push_whole};
pub use shared::Shared;
pub use visit_cells::VisitCells;

/// Where a row stands: the file as the user named it, and the line its record starts on (1 is the header's).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct RowPlace {
    /// File, as given on the command line.
    pub file: Arc<str>,
    /// First line of the record, counted from 1.
    pub line: u64,
}

/// What the reader noted of the cells of one row.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CellNotes {
    /// Columns whose cell was not believable or not readable, and is unknown.
    pub rejected: Vec<&'static str>,
    /// Columns whose cell is outside its flag limits, and kept.
    pub unusual: Vec<&'static str>,
}

/// One procedure with its visits, as the files hold it.
#[derive(Clone, Debug, PartialEq)]
pub struct CaseRecord {
    /// Unique key of the procedure.
    pub case_id: Text,
    /// Day 0.
    pub procedure_date: Date,
    /// Every cell of the row.
    pub cells: Shared<CaseCells>,
    /// What the reader noted of them.
    pub notes: CellNotes,
    /// Where the row stands.
    pub place: RowPlace,
    /// Rows of the follow-up file for this case, in the order of the file.
    pub visits: Vec<VisitRecord>,
}

/// One row of the follow-up file.
#[derive(Clone, Debug, PartialEq)]
pub struct VisitRecord {
    /// Day of the visit.
    pub date: Date,
    /// Every cell of the row.
    pub cells: Shared<VisitCells>,
    /// What the reader noted of them.
    pub notes: CellNotes,
    /// Where the row stands.
    pub place: RowPlace,
}
