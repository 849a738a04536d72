//! One file → typed rows. Every row is accounted for: read, or left out with a finding that says why.

use std::marker::PhantomData;
use std::sync::Arc;

use encoding_rs::Encoding;
use sha2::{Digest, Sha256};

use super::cells::{CellReader, Reading};
use super::dialect::Dialect;
use super::encoding::{decode, other_kind_of_file};
use super::error::InputError;
use super::findings::Findings;
use super::headers::{Headers, Slot, is_known};
use super::hidden::shortened;
use super::separator::{find_start, separator_name};
use super::source::{FileRead, Source};
use super::spec::{Spec, Specs, specs};
use super::split::{Broken, RawRow};
use super::survey::{Survey, pairs};
use crate::diagnostic::{Code, Severity};
use crate::record::{CellNotes, Cells, Parsed, Text};

/// A row that was read.
pub(super) struct Row<T> {
    /// Line on which it starts.
    pub line: u64,
    /// Its key: case_id or device_id.
    pub id: Text,
    /// Its cells.
    pub cells: T,
    /// What was noted of them.
    pub notes: CellNotes,
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

/// One file, read.
pub(super) struct Table<T> {
    /// How it was read.
    pub file: FileRead,
    /// Rows with a key.
    pub rows: Vec<Row<T>>,
    /// Rows without.
    pub unread: Vec<Unread>,
    /// Where each column of the dictionary stands in a row (counted from 0) and under which header.
    pub places: Vec<Option<(usize, Arc<str>)>>,
    /// Line of the header.
    pub header_line: u64,
    /// What to say of each column that no row can do without and no header names.
    pub missing: Vec<String>,
    /// What was found.
    pub findings: Findings,
}

/// Reads one file.
///
/// # Errors
/// Where it is no table: empty, another kind of file, or without the column of the key.
pub(super) fn read_table<T: Cells>(
    source: &Source,
    encoding: Option<&'static Encoding>,
    dialect: &Dialect,
) -> Result<Table<T>, InputError> {
    let name = &source.name;
    let specs = specs(T::FILE);
    let key = specs
        .list
        .first()
        .map_or("", |spec| spec.column.name.as_str());
    if let Some(kind) = other_kind_of_file(&source.bytes) {
        return Err(InputError::OtherKind {
            file: Arc::clone(name),
            kind,
        });
    }
    let decoded = decode(&source.bytes, encoding);
    let text = &*decoded.text;
    let start = find_start(text, |header| is_known(header, T::FILE, specs, dialect));
    let mut findings = Findings::new(name);
    let mut rows = start.rows(text);
    let header_row = rows.next_row().ok_or_else(|| InputError::NoHeader {
        file: Arc::clone(name),
    })?;
    if header_row.broken.is_some() {
        return Err(InputError::BrokenHeader {
            file: Arc::clone(name),
            line: header_row.line,
        });
    }
    let mut headers = Headers::read(&header_row, T::FILE, specs, dialect, &mut findings);
    let no_key = |meant: Option<&str>| InputError::NoKey {
        file: Arc::clone(name),
        key: key.to_owned(),
        separator: separator_name(start.separator),
        meant: meant.map(str::to_owned),
        encoding: decoded.perhaps.map(Encoding::name),
    };
    if headers.position_of(0).is_none() {
        return Err(no_key(headers.nearest_to(key)));
    }
    let survey = Survey::of(text, start, &headers, specs);
    drop_repeated(&mut headers, &survey, specs, &mut findings);
    let key_position = headers.position_of(0).ok_or_else(|| InputError::KeyTwice {
        file: Arc::clone(name),
        key: key.to_owned(),
    })?;
    for &position in &survey.nameless {
        findings.at(headers.line, position, &Arc::default()).add(
            Severity::Warning,
            Code::UnknownColumn,
            "",
            "a header; what stands below it is ignored",
        );
    }
    let numbers = survey.numbers(start.separator, dialect.decimal_mark);
    note_how_read(
        &mut findings,
        &survey,
        &decoded,
        separator_name(start.separator),
        numbers.mark,
    );
    let missing: Vec<String> = specs
        .list
        .iter()
        .enumerate()
        .filter(|(field, spec)| spec.column.required() && headers.position_of(*field).is_none())
        .map(|(_, spec)| missing_column(&spec.column.name, &headers))
        .collect();

    let mut reader = RowReader {
        cells: CellReader { numbers, dialect },
        headers: &headers,
        specs,
        key_position,
        row_cells: survey.row_cells,
        rows: Vec::new(),
        unread: Vec::new(),
        findings,
        record: PhantomData,
    };
    while let Some(row) = rows.next_row() {
        reader.row(&row);
    }
    let RowReader {
        rows,
        unread,
        findings,
        ..
    } = reader;
    let mut places = vec![None; specs.list.len()];
    for slot in &headers.slots {
        places[slot.field]
            .get_or_insert((slot.position, Arc::clone(&headers.names[slot.position])));
    }
    Ok(Table {
        file: FileRead {
            name: Arc::clone(name),
            sha256: hex(&Sha256::digest(&source.bytes)),
            rows: survey.rows,
            separator: separator_name(start.separator),
            decimal_mark: numbers.mark,
            encoding: decoded.encoding.name(),
            headers: T::FIELDS
                .iter()
                .zip(&places)
                .filter_map(|(field, place)| {
                    let (position, header) = place.as_ref()?;
                    Some((field.name, position + 1, Arc::clone(header)))
                })
                .collect(),
        },
        rows,
        unread,
        places,
        header_line: headers.line,
        missing,
        findings,
    })
}

/// What to say of a column that every row needs and no header names.
fn missing_column(column: &str, headers: &Headers<'_>) -> String {
    match headers.nearest_to(column) {
        Some(nearest) => format!(
            "the column {column} (is it {:?}?): no row can do without it",
            shortened(nearest)
        ),
        None => format!("the column {column}: no row can do without it"),
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Two columns of one name: used where they say the same in every row, neither where they do not.
fn drop_repeated(
    headers: &mut Headers<'_>,
    survey: &Survey,
    specs: &Specs,
    findings: &mut Findings,
) {
    for pair in pairs(&headers.slots) {
        let differ = survey.differing.contains(&pair);
        let Some(slot) = headers.slots.iter().find(|slot| slot.position == pair.1) else {
            continue;
        };
        let column = &specs.list[slot.field].column.name;
        let name = &headers.names[pair.1];
        let (severity, expected) = if differ {
            (
                Severity::Error,
                format!(
                    "the column {column} once; it also stands in column {} and differs: neither is used",
                    pair.0 + 1
                ),
            )
        } else {
            (
                Severity::Note,
                format!(
                    "the column {column} once; it also stands in column {} and is the same",
                    pair.0 + 1
                ),
            )
        };
        findings.at(headers.line, pair.1, name).add(
            severity,
            Code::RepeatedColumn,
            shortened(name),
            expected,
        );
    }
    let field_at = |slots: &[Slot<'_>], position| {
        slots
            .iter()
            .find(|slot| slot.position == position)
            .map(|slot| slot.field)
    };
    let unused: Vec<usize> = survey
        .differing
        .iter()
        .filter_map(|pair| field_at(&headers.slots, pair.0))
        .collect();
    let second: Vec<usize> = pairs(&headers.slots).iter().map(|pair| pair.1).collect();
    headers
        .slots
        .retain(|slot| !unused.contains(&slot.field) && !second.contains(&slot.position));
}

fn note_how_read(
    findings: &mut Findings,
    survey: &Survey,
    decoded: &super::encoding::Decoded<'_>,
    separator: &str,
    mark: super::number::DecimalMark,
) {
    let encoding = decoded.encoding.name();
    let rows = survey.rows;
    findings.whole().add(
        Severity::Note,
        Code::HowRead,
        format!(
            "separator {separator}, decimal {}, {encoding}, rows {rows}",
            mark.word()
        ),
        "",
    );
    if survey.points > 0 && survey.commas > 0 {
        findings.whole().add(
            Severity::Warning,
            Code::HowRead,
            format!(
                "decimal points {}, decimal commas {}",
                survey.points, survey.commas
            ),
            format!("one decimal mark in a file; taken: {}", mark.word()),
        );
    }
    if decoded.damaged {
        let perhaps = decoded.perhaps.map_or_else(
            || " the right encoding in --encoding".to_owned(),
            |other| format!("perhaps --encoding {}", other.name().to_lowercase()),
        );
        findings.whole().add(
            Severity::Warning,
            Code::Encoding,
            format!("bytes that are not {encoding}"),
            format!(
                "{}; cells that hold them are not used",
                perhaps.trim_start()
            ),
        );
    }
    if survey.one_too_many > 0 && survey.one_too_many == survey.rows {
        findings.whole().add(
            Severity::Note,
            Code::RowLength,
            "a blank cell more than headers in every row",
            "a separator at the end of the header too, where the export writes one at the end of every row",
        );
    }
}

/// Turns raw rows into typed ones.
struct RowReader<'a, T> {
    cells: CellReader<'a>,
    headers: &'a Headers<'a>,
    specs: &'static Specs,
    key_position: usize,
    row_cells: usize,
    rows: Vec<Row<T>>,
    unread: Vec<Unread>,
    findings: Findings,
    record: PhantomData<T>,
}

impl<T: Cells> RowReader<'_, T> {
    fn row(&mut self, row: &RawRow<'_, '_>) {
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
        let Some(id) = self.key(row) else {
            return;
        };
        let mut cells = T::default();
        let mut notes = CellNotes::default();
        for slot in &self.headers.slots {
            self.cell(row, *slot, &id, &mut cells, &mut notes);
        }
        self.rows.push(Row {
            line: row.line,
            id,
            cells,
            notes,
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
            match self.cells.read(&self.specs.list[0], rule, &cell) {
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
        let id = cell.trim().trim_matches('"');
        let id: Option<Text> = super::id::check(id)
            .is_ok()
            .then(|| id.into())
            .filter(|id: &Text| !id.is_empty());
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

    fn cell(
        &mut self,
        row: &RawRow<'_, '_>,
        slot: Slot<'_>,
        id: &Text,
        cells: &mut T,
        notes: &mut CellNotes,
    ) {
        let spec = &self.specs.list[slot.field];
        let field = &T::FIELDS[slot.field];
        let cell = row.cell(slot.position);
        let (severity, code, expected) = match self.cells.read(spec, slot.rule, &cell) {
            Reading::Blank => return,
            Reading::Value(value) => return (field.set)(cells, value),
            Reading::Kept(value, code, expected) => {
                (field.set)(cells, value);
                if code == Code::Unusual {
                    notes.unusual.push(field.name);
                }
                (Severity::Warning, code, expected)
            }
            Reading::Rejected(code, expected) => {
                notes.rejected.push(field.name);
                (Severity::Error, code, expected)
            }
        };
        let mut spot =
            self.findings
                .at(row.line, slot.position, &self.headers.names[slot.position]);
        if T::FILE != "devices" {
            spot = spot.of_case(id);
        }
        spot.add(severity, code, shown(spec, &cell), expected);
    }
}

/// What a message repeats of a cell: nothing where it is about a person.
pub(super) fn shown(spec: &Spec, cell: &str) -> String {
    if spec.private {
        String::new()
    } else {
        shortened(cell.trim())
    }
}
