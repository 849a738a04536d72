//! The rows below a header → typed rows, in one pass.
//!
//! How a row must be read is known for certain once all of them were looked at. The first rows show it nearly always, so
//! the file is read as those say while it is surveyed, and read again only where the whole of it says otherwise.

use std::sync::Arc;

use super::cells::CellReader;
use super::dialect::Dialect;
use super::findings::Findings;
use super::headers::Headers;
use super::rows::{Row, RowReader, Unread};
use super::said_once::drop_repeated;
use super::separator::Start;
use super::spec::Specs;
use super::survey::{Manner, Survey};
use crate::record::Cells;

/// Rows that are asked how the file is to be read.
const FIRST_ROWS: u64 = 500;

/// A table whose header is understood.
pub(super) struct Body<'a> {
    /// The file, as the user named it.
    pub name: &'a Arc<str>,
    /// All of its text.
    pub text: &'a str,
    /// Where the table begins.
    pub start: Start,
    /// The header row.
    pub headers: Headers<'a>,
    /// The columns of the dictionary.
    pub specs: &'static Specs,
    /// What the centre says of its files.
    pub dialect: &'a Dialect,
}

/// The rows of a table.
pub(super) struct BodyRead<'a, T> {
    /// The header row without the columns that stand there twice.
    pub headers: Headers<'a>,
    /// What the rows are like.
    pub survey: Survey,
    /// How they were read.
    pub manner: Manner,
    /// Rows that were read.
    pub rows: Vec<Row<T>>,
    /// Rows that were not.
    pub unread: Vec<Unread>,
    /// What was found.
    pub findings: Findings,
}

impl<'a> Body<'a> {
    /// Reads the rows; `None` where the column of the key stands there twice and differs.
    pub fn read<T: Cells>(&self) -> Option<BodyRead<'a, T>> {
        let (mut manner, rows) = self.beginning();
        // A row is smaller than the text it was read from, but where that is nothing but short lines.
        let room = rows.min(self.text.len() / size_of::<Row<T>>());
        loop {
            let read = self.read_as(manner, room)?;
            let shown = self.manner(&read.survey);
            if read.manner == shown {
                return Some(read);
            }
            manner = shown;
        }
    }

    fn manner(&self, survey: &Survey) -> Manner {
        survey.manner(self.start.separator, self.dialect.decimal_mark)
    }

    /// How the first rows say that all are to be read, and about how many there are.
    fn beginning(&self) -> (Manner, usize) {
        let mut survey = Survey::new(&self.headers, self.specs);
        let mut rows = self.start.rows(self.text);
        rows.next_row();
        while survey.rows < FIRST_ROWS
            && let Some(row) = rows.next_row()
        {
            survey.row(&row);
        }
        let manner = self.manner(&survey);
        // A little more than there seem to be, so that room need not be made again for the last of them.
        let about = survey.rows * self.text.len() as u64 / rows.behind().max(1) as u64 * 21 / 20;
        (manner, usize::try_from(about + 1).unwrap_or(usize::MAX))
    }

    fn read_as<T: Cells>(&self, manner: Manner, room: usize) -> Option<BodyRead<'a, T>> {
        let mut findings = Findings::new(self.name);
        let mut headers = self.headers.clone();
        drop_repeated(&mut headers, &manner.differing, self.specs, &mut findings);
        let mut survey = Survey::new(&self.headers, self.specs);
        let mut reader = RowReader {
            cells: CellReader {
                numbers: manner.numbers,
                dialect: self.dialect,
                damaged: false,
            },
            headers: &headers,
            specs: self.specs,
            key_position: headers.position_of(0)?,
            row_cells: manner.row_cells,
            day_field: T::FIELDS
                .iter()
                .position(|field| matches!(field.name, "procedure_date" | "visit_date")),
            rows: Vec::with_capacity(room),
            unread: Vec::new(),
            findings,
            scratch: Vec::new(),
        };
        let mut rows = self.start.rows(self.text);
        rows.next_row();
        while let Some(row) = rows.next_row() {
            survey.row(&row);
            reader.row(&row);
        }
        let RowReader {
            rows,
            unread,
            findings,
            ..
        } = reader;
        Some(BodyRead {
            headers,
            survey,
            manner,
            rows,
            unread,
            findings,
        })
    }
}
