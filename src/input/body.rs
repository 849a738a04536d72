//! The rows below a header → typed rows, in one pass.
//!
//! How a row must be read is known for certain once all of them were looked at. The first rows show it nearly always, so
//! the file is read as those say while it is surveyed, and read again only where the whole of it says otherwise.

use std::mem;
use std::sync::Arc;

use super::cells::CellReader;
use super::dialect::Dialect;
use super::findings::Findings;
use super::headers::{Headers, Slot};
use super::pieces::Pieces;
use super::rows::{KEY, Row, RowReader, Unread};
use super::said_once::drop_repeated;
use super::separator::{Beginning, Start};
use super::spec::Specs;
use super::split::RawRow;
use super::survey::{Manner, Survey};
use crate::record::{Cells, ToRest};

/// Rows that are asked how the file is to be read.
const FIRST_ROWS: u64 = 500;

/// Where the rows of a file come from.
#[derive(Clone, Copy)]
pub(super) enum Rows<'a> {
    /// From a text that is held.
    Held(&'a str),
    /// From the file, a piece at a time.
    Pieces(&'a Pieces<'a>),
}

impl Rows<'_> {
    /// Bytes of the text.
    fn length(self) -> u64 {
        match self {
            Self::Held(text) => text.len() as u64,
            Self::Pieces(pieces) => pieces.said(),
        }
    }

    /// Shows every row, the header first; the SHA-256 of a file that was read in pieces.
    fn each(
        self,
        start: Start,
        mut see: impl FnMut(&RawRow<'_, '_>),
    ) -> Result<Option<[u8; 32]>, NotRead> {
        match self {
            Self::Held(text) => {
                let mut rows = start.rows(Beginning::whole(text));
                while let Some(row) = rows.next_row() {
                    see(&row);
                }
                Ok(None)
            }
            Self::Pieces(pieces) => pieces
                .each_row(start, see)
                .map(Some)
                .ok_or(NotRead::InPieces),
        }
    }
}

/// Why rows were not read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum NotRead {
    /// The column of the key stands there twice and differs.
    KeyTwice,
    /// The file must be held as a whole.
    InPieces,
}

/// A table whose header is understood.
pub(super) struct Body<'a> {
    /// The file, as the user named it.
    pub name: &'a Arc<str>,
    /// Its text, or the first lines of it.
    pub beginning: Beginning<'a>,
    /// All of its rows.
    pub rows: Rows<'a>,
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
    /// SHA-256 of the file, where it was read in pieces.
    pub sha256: Option<[u8; 32]>,
}

impl<'a> Body<'a> {
    /// Reads the rows.
    pub fn read<T: Cells>(&self) -> Result<BodyRead<'a, T>, NotRead> {
        let (mut manner, rows) = self.beginning();
        // A row is smaller than the text it was read from, but where that is nothing but short lines.
        let most = self.rows.length() / size_of::<Row<T>>() as u64;
        let room = usize::try_from(rows.min(most)).unwrap_or(0);
        loop {
            let read = self.read_as(manner, room)?;
            let shown = self.manner(&read.survey);
            if read.manner == shown {
                return Ok(read);
            }
            manner = shown;
        }
    }

    fn manner(&self, survey: &Survey) -> Manner {
        survey.manner(self.start.separator, self.dialect.decimal_mark)
    }

    /// How the first rows say that all are to be read, and about how many there are.
    fn beginning(&self) -> (Manner, u64) {
        let mut survey = Survey::new(&self.headers, self.specs);
        let mut rows = self.start.rows(self.beginning);
        rows.next_row();
        while survey.rows < FIRST_ROWS
            && let Some(row) = rows.next_row()
        {
            survey.row(&row);
        }
        let manner = self.manner(&survey);
        // A little more than there seem to be, so that room need not be made again for the last of them.
        let about = survey.rows * self.rows.length() / rows.behind().max(1) as u64 * 21 / 20;
        (manner, about + 1)
    }

    fn read_as<T: Cells>(&self, manner: Manner, room: usize) -> Result<BodyRead<'a, T>, NotRead> {
        let mut findings = Findings::new(self.name);
        let mut headers = self.headers.clone();
        drop_repeated(&mut headers, &manner.differing, self.specs, &mut findings);
        let mut survey = Survey::new(&self.headers, self.specs);
        let behind_key = headers.slots.iter().filter(|slot| slot.field != KEY);
        let mut behind_key: Vec<Slot<'_>> = behind_key.copied().collect();
        behind_key.sort_by_key(|slot| slot.field);
        let mut reader = RowReader {
            cells: CellReader {
                numbers: manner.numbers,
                dialect: self.dialect,
                damaged: false,
            },
            headers: &headers,
            specs: self.specs,
            key_position: headers.position_of(KEY).ok_or(NotRead::KeyTwice)?,
            row_cells: manner.row_cells,
            day_field: T::FIELDS
                .iter()
                .position(|field| matches!(field.name, "procedure_date" | "visit_date")),
            rows: Vec::with_capacity(room),
            unread: Vec::new(),
            findings,
            behind_key,
            to_rest: ToRest::default(),
        };
        let mut is_header = true;
        let sha256 = self.rows.each(self.start, |row| {
            if !mem::take(&mut is_header) {
                survey.row(row);
                reader.row(row);
            }
        })?;
        let RowReader {
            rows,
            unread,
            findings,
            ..
        } = reader;
        Ok(BodyRead {
            headers,
            survey,
            manner,
            rows,
            unread,
            findings,
            sha256,
        })
    }
}
