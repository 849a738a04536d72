//! An export as it is: its headers, and for each the distinct cells below it.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use encoding_rs::Encoding;

use super::vocabulary::notions;
use crate::input::blank::is_blank_word;
use crate::input::encoding::{decode, other_kind_of_file};
use crate::input::error::InputError;
use crate::input::number::{DecimalMark, grouped, number};
use crate::input::separator::{Beginning, find_start, separator_name};
use crate::input::source::Source;
use crate::input::spec::specs;

/// One export, looked through.
pub(super) struct Export {
    /// `cases`, `followups` or `devices`.
    pub table: &'static str,
    /// The file as the user named it.
    pub file: Arc<str>,
    /// Rows below the header.
    pub rows: usize,
    /// `comma`, `semicolon` or `tab`.
    pub separator: &'static str,
    /// Its encoding.
    pub encoding: &'static Encoding,
    /// Whether letters beyond ASCII stand in it, without a byte order mark in front.
    pub beyond_ascii: bool,
    /// Its headers, in their order; blank ones are left out.
    pub fields: Vec<Field>,
    /// Numbers with a decimal point, and with a decimal comma.
    pub points: usize,
    /// See `points`.
    pub commas: usize,
}

/// One header and what stands below it.
pub(super) struct Field {
    /// The header, trimmed.
    pub header: String,
    /// Its distinct cells that say something, with how often each stands there.
    pub cells: BTreeMap<String, usize>,
    /// Cells that say something.
    pub filled: usize,
}

/// Distinct cells that are kept of a header: enough to judge by.
const DISTINCT: usize = 5000;

impl Export {
    /// Looks through a file.
    ///
    /// # Errors
    /// Where it is no table: another kind of file, empty, or with a broken header.
    pub fn of(
        table: &'static str,
        source: &Source,
        asked: Option<&'static Encoding>,
    ) -> Result<Self, InputError> {
        let file = Arc::clone(&source.name);
        if let Some(kind) = other_kind_of_file(&source.bytes) {
            return Err(InputError::OtherKind { file, kind });
        }
        let mut decoded = decode(&source.bytes, asked);
        let guessed = decoded.perhaps.filter(|_| asked.is_none());
        if let Some(perhaps) = guessed {
            decoded = decode(&source.bytes, Some(perhaps));
        }
        let marked = Encoding::for_bom(&source.bytes).is_some();
        let text: &str = &decoded.text;
        let columns = specs(table);
        let known =
            |header: &str| columns.position(header).is_some() || !notions(header).known.is_empty();
        let no_header = || InputError::NoHeader {
            file: Arc::clone(&file),
        };
        let whole = Beginning::whole(text);
        let start = find_start(whole, known).ok_or_else(no_header)?;
        let mut rows = start.rows(whole);
        let header = rows.next_row().ok_or_else(no_header)?;
        if header.broken.is_some() {
            let line = header.line;
            return Err(InputError::BrokenHeader { file, line });
        }
        let mut fields: Vec<Field> = (0..header.len())
            .map(|position| Field {
                header: header.cell(position).trim().to_owned(),
                cells: BTreeMap::new(),
                filled: 0,
            })
            .collect();
        let mut export = Self {
            table,
            rows: 0,
            separator: separator_name(start.separator),
            encoding: decoded.encoding,
            beyond_ascii: !marked && !text.is_ascii(),
            fields: Vec::new(),
            points: 0,
            commas: 0,
            file,
        };
        while let Some(row) = rows.next_row() {
            if row.broken.is_some() || row.blank_from(0) {
                continue;
            }
            export.rows += 1;
            for (position, field) in fields.iter_mut().enumerate() {
                let cell: Cow<'_, str> = row.cell(position);
                let cell = cell.trim();
                field.take(cell);
                export.weigh(cell);
            }
        }
        fields.retain(|field| !field.header.is_empty());
        export.fields = fields;
        Ok(export)
    }

    /// The decimal mark that most numbers show.
    pub fn mark(&self) -> DecimalMark {
        if self.commas > self.points {
            DecimalMark::Comma
        } else {
            DecimalMark::Point
        }
    }

    /// Counts a cell that shows a decimal mark; `1,234` and `03.04.2031` show none.
    fn weigh(&mut self, cell: &str) {
        if cell.len() > 20 || grouped(cell) {
            return;
        }
        if cell.contains(',') && number(cell, DecimalMark::Comma, 0).is_some() {
            self.commas += 1;
        } else if cell.contains('.') && number(cell, DecimalMark::Point, 0).is_some() {
            self.points += 1;
        }
    }
}

impl Field {
    fn take(&mut self, cell: &str) {
        if cell.is_empty() || is_blank_word(cell, &[]) {
            return;
        }
        self.filled += 1;
        if let Some(count) = self.cells.get_mut(cell) {
            *count += 1;
        } else if self.cells.len() < DISTINCT {
            self.cells.insert(cell.to_owned(), 1);
        }
    }

    /// How many of the kept cells, counted as often as they stand there, pass; and of how many.
    pub fn share(&self, passes: impl Fn(&str) -> bool) -> (usize, usize) {
        self.cells.iter().fold((0, 0), |(yes, all), (cell, count)| {
            (yes + if passes(cell) { *count } else { 0 }, all + count)
        })
    }
}
