//! Raw rows → typed rows of one file. Every row is accounted for: read, or left out with a finding that says why.

use jiff::civil::Date;

use super::cells::{CellReader, Reading, may_be_damaged};
use super::findings::Findings;
use super::headers::{Headers, Slot};
use super::hidden::shortened;
use super::id;
use super::spec::{Spec, Specs};
use super::split::{Broken, RawRow};
use crate::diagnostic::{Code, Severity};
use crate::record::{AtRest, CellNotes, Cells, NotesAtRest, Parsed, Text, ToRest};

/// Where the column of the key stands in the dictionary.
pub(super) const KEY: usize = 0;

/// A row that was read.
pub(super) struct Row<T> {
    /// Line on which it starts.
    pub line: u64,
    /// Its key: case_id or device_id.
    pub id: Text,
    /// The day it speaks of (procedure_date, visit_date), where it is known.
    pub day: Option<Date>,
    /// Its cells.
    pub cells: AtRest<T>,
    /// What was noted of them; most rows have no notes.
    pub notes: NotesAtRest,
}

/// A row that was not read.
pub(super) struct Unread {
    /// Line on which it starts.
    pub line: u64,
    /// Its key, where one stands in the key's place and could be one.
    pub id: Option<Text>,
    /// Whether the key is where it belongs; in a row that is shifted something else may stand in its place.
    pub sure: bool,
    /// Why it was not read, in words.
    pub reason: &'static str,
}

/// Turns raw rows into typed ones.
pub(super) struct RowReader<'a, T> {
    /// Reads one cell.
    pub cells: CellReader<'a>,
    /// What stands where.
    pub headers: &'a Headers<'a>,
    /// The columns of the dictionary.
    pub specs: &'static Specs,
    /// Where the key stands in a row.
    pub key_position: usize,
    /// How many cells a row must have.
    pub row_cells: usize,
    /// Where the column of its day stands in the record, if rows of this file have one.
    pub day_field: Option<usize>,
    /// Rows read so far.
    pub rows: Vec<Row<T>>,
    /// Rows left out so far.
    pub unread: Vec<Unread>,
    /// What was found so far.
    pub findings: Findings,
    /// The columns behind the key's, in the order of the dictionary.
    pub behind_key: Vec<Slot<'a>>,
    /// The cells of the row that is being read.
    pub to_rest: ToRest<T>,
}

impl<T: Cells> RowReader<'_, T> {
    /// Reads the next row, or leaves it out; a row of blank cells is no row.
    pub fn row(&mut self, row: &RawRow<'_, '_>) {
        if let Some(broken) = row.broken {
            let expected = match broken {
                Broken::Unclosed => {
                    "a closing quotation mark; this row is left out and reading goes on with the next line"
                }
                Broken::TextAfterQuote => {
                    "nothing between a closing quotation mark and the separator; was one not closed? This row is left out and reading goes on with the next line"
                }
            };
            self.leave_out(
                row,
                Code::Quotation,
                String::new(),
                expected.to_owned(),
                "a quotation mark does not fit",
            );
            return;
        }
        if row.blank_from(0) {
            return;
        }
        let beyond =
            row.len() > self.headers.names.len() && !row.blank_from(self.headers.names.len());
        if row.len() != self.row_cells || beyond {
            let wanted = if beyond && row.len() == self.row_cells {
                format!(
                    "{} cells; something stands behind the last header",
                    self.headers.names.len()
                )
            } else {
                format!("{} cells, as the header has", self.row_cells)
            };
            self.leave_out(
                row,
                Code::RowLength,
                format!("{} cells", row.len()),
                wanted,
                "the row has the wrong number of cells",
            );
            return;
        }
        self.cells.damaged = may_be_damaged(row.text());
        let Some(id) = self.key(row) else {
            return;
        };
        let mut day = None;
        let mut notes = CellNotes::default();
        self.to_rest.begin();
        self.to_rest.add(KEY, &Parsed::Text(id.clone()));
        for at in 0..self.behind_key.len() {
            let slot = self.behind_key[at];
            if row.is_empty_at(slot.position) {
                continue;
            }
            let Some(value) = self.cell(row, slot, &id, &mut notes) else {
                continue;
            };
            self.to_rest.add(slot.field, &value);
            if self.day_field == Some(slot.field)
                && let Parsed::Date(date) = value
            {
                day = Some(date);
            }
        }
        self.rows.push(Row {
            line: row.line,
            id,
            day,
            cells: self.to_rest.row(),
            notes: NotesAtRest::of(notes),
        });
    }

    /// The key of the row; without one the row is left out, with one finding for the whole of it.
    fn key(&mut self, row: &RawRow<'_, '_>) -> Option<Text> {
        let cell = row.cell(self.key_position);
        let rule = self
            .headers
            .slots
            .iter()
            .find(|slot| slot.position == self.key_position)?
            .rule;
        let (code, found, expected, reason) =
            match self.cells.read(&self.specs.list[KEY], rule, &cell) {
                Reading::Value(Parsed::Text(id)) => return Some(id),
                Reading::Rejected(code, expected) => {
                    (code, shortened(&cell), expected, "its id cannot be used")
                }
                _ => (
                    Code::RequiredCell,
                    shortened(&cell),
                    "an id".to_owned(),
                    "it has no id",
                ),
            };
        self.unread.push(Unread {
            line: row.line,
            id: Some(found.as_str().into()).filter(|id: &Text| !id.is_empty()),
            sure: true,
            reason,
        });
        let name = &self.headers.names[self.key_position];
        self.findings
            .at(row.line, self.key_position, name)
            .withholding(T::FILE == "cases")
            .add(
                Severity::Error,
                code,
                found,
                format!("{expected}: the row is left out"),
            );
        None
    }

    fn leave_out(
        &mut self,
        row: &RawRow<'_, '_>,
        code: Code,
        found: String,
        expected: String,
        reason: &'static str,
    ) {
        let cell = row.cell(self.key_position);
        let key = cell.trim().trim_matches('"');
        let id: Option<Text> = (!key.is_empty() && id::check(key).is_ok()).then(|| key.into());
        let sure = self.key_position == 0;
        let mut spot = self.findings.row(row.line).withholding(T::FILE == "cases");
        if let Some(id) = id.as_ref().filter(|_| sure && T::FILE != "devices") {
            spot = spot.of_case(id);
        }
        spot.add(
            Severity::Error,
            code,
            found,
            format!("{expected}: the row is left out"),
        );
        self.unread.push(Unread {
            line: row.line,
            id,
            sure,
            reason,
        });
    }

    /// The value of a cell, where it has one that is used.
    fn cell(
        &mut self,
        row: &RawRow<'_, '_>,
        slot: Slot<'_>,
        id: &Text,
        notes: &mut CellNotes,
    ) -> Option<Parsed> {
        let spec = &self.specs.list[slot.field];
        let field = &T::FIELDS[slot.field];
        let cell = row.cell(slot.position);
        let (value, severity, code, expected) = match self.cells.read(spec, slot.rule, &cell) {
            Reading::Blank => return None,
            Reading::Value(value) => return Some(value),
            Reading::Kept(value, code, expected) => {
                if code == Code::Unusual {
                    notes.unusual.push(field.name);
                }
                (Some(value), Severity::Warning, code, expected)
            }
            Reading::Rejected(code, expected) => {
                notes.rejected.push(field.name);
                (None, Severity::Error, code, expected)
            }
        };
        let mut spot =
            self.findings
                .at(row.line, slot.position, &self.headers.names[slot.position]);
        if T::FILE != "devices" {
            spot = spot.of_case(id);
        }
        spot.add(severity, code, shown(spec, &cell), expected);
        value
    }
}

/// What a message repeats of a cell: nothing where it is about a person.
fn shown(spec: &Spec, cell: &str) -> String {
    if spec.private {
        String::new()
    } else {
        shortened(cell.trim())
    }
}
