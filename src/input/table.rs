//! One file → its typed rows, and what is known of the file as a whole.

use std::sync::Arc;

use encoding_rs::Encoding;
use sha2::{Digest, Sha256};

use super::body::{Body, NotRead, Rows};
use super::dialect::Dialect;
use super::encoding::{Decoded, decode, other_kind_of_file};
use super::error::InputError;
use super::findings::Findings;
use super::headers::{Headers, is_known};
use super::hidden::shortened;
use super::pieces::Pieces;
use super::rows::{KEY, Row, Unread};
use super::said_once::note_how_read;
use super::separator::{Beginning, find_start, separator_name};
use super::source::{FileRead, OpenedSource, Source};
use super::spec::specs;
use crate::diagnostic::{Code, Severity};
use crate::record::Cells;

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

/// A file that is to be read.
pub(super) enum Given<'s> {
    /// Its content is at hand.
    Held(&'s Source),
    /// It was opened.
    Opened(OpenedSource),
}

/// Reads one file.
///
/// # Errors
/// Where it is no table: empty, another kind of file, or without the column of the key.
pub(super) fn read_table<T: Cells>(
    given: Given<'_>,
    encoding: Option<&'static Encoding>,
    dialect: &Dialect,
) -> Result<Table<T>, InputError> {
    match given {
        Given::Held(source) => read_held(source, encoding, dialect),
        Given::Opened(file) => match read_in_pieces(&file, encoding, dialect) {
            Some(table) => Ok(table),
            None => read_held(&file.read()?, encoding, dialect),
        },
    }
}

fn read_held<T: Cells>(
    source: &Source,
    encoding: Option<&'static Encoding>,
    dialect: &Dialect,
) -> Result<Table<T>, InputError> {
    if let Some(kind) = other_kind_of_file(&source.bytes) {
        return Err(InputError::OtherKind {
            file: Arc::clone(&source.name),
            kind,
        });
    }
    let decoded = decode(&source.bytes, encoding);
    let text = &*decoded.text;
    let beginning = Beginning::whole(text);
    let rows = Rows::Held(text);
    let read = read_text(&source.name, &decoded, beginning, rows, dialect)?;
    let mut table: Table<T> = read.expect("the rows of a text that is held");
    table.file.sha256 = hex(&Sha256::digest(&source.bytes));
    Ok(table)
}

/// The table of a large file that is as such a file nearly always is. `None` where it is not: what to say of it shows when
/// all of it is held.
fn read_in_pieces<T: Cells>(
    file: &OpenedSource,
    encoding: Option<&'static Encoding>,
    dialect: &Dialect,
) -> Option<Table<T>> {
    let pieces = Pieces::of(file)?;
    let decoded = pieces.beginning(encoding)?;
    if other_kind_of_file(decoded.text.as_bytes()).is_some() {
        return None;
    }
    let beginning = Beginning {
        text: &decoded.text,
        more: true,
    };
    let rows = Rows::Pieces(&pieces);
    read_text(file.name(), &decoded, beginning, rows, dialect).ok()?
}

/// Reads the table of a text of which so much is decoded; `None` where its rows cannot be read in pieces.
fn read_text<T: Cells>(
    name: &Arc<str>,
    decoded: &Decoded<'_>,
    beginning: Beginning<'_>,
    rows: Rows<'_>,
    dialect: &Dialect,
) -> Result<Option<Table<T>>, InputError> {
    let specs = specs(T::FILE);
    let key = specs
        .list
        .first()
        .map_or("", |spec| spec.column.name.as_str());
    let no_header = || InputError::NoHeader {
        file: Arc::clone(name),
    };
    let start = find_start(beginning, |header| {
        is_known(header, T::FILE, specs, dialect)
    })
    .ok_or_else(no_header)?;
    let mut findings = Findings::new(name);
    let mut first_rows = start.rows(beginning);
    let header_row = first_rows.next_row().ok_or_else(no_header)?;
    if header_row.broken.is_some() {
        return Err(InputError::BrokenHeader {
            file: Arc::clone(name),
            line: header_row.line,
        });
    }
    let headers = Headers::read(&header_row, T::FILE, specs, dialect, &mut findings);
    let no_key = |meant: Option<&str>| InputError::NoKey {
        file: Arc::clone(name),
        key: key.to_owned(),
        separator: separator_name(start.separator),
        meant: meant.map(str::to_owned),
        encoding: decoded.perhaps.map(Encoding::name),
    };
    if headers.position_of(KEY).is_none() {
        return Err(no_key(
            headers.nearest_to(key).filter(|name| !name.contains('\0')),
        ));
    }
    let body = Body {
        name,
        beginning,
        rows,
        start,
        headers,
        specs,
        dialect,
    };
    let read = match body.read::<T>() {
        Ok(read) => read,
        Err(NotRead::InPieces) => return Ok(None),
        Err(NotRead::KeyTwice) => {
            return Err(InputError::KeyTwice {
                file: Arc::clone(name),
                key: key.to_owned(),
            });
        }
    };
    let (headers, survey) = (&read.headers, &read.survey);
    let mark = read.manner.numbers.mark;
    for &position in &survey.nameless {
        findings.at(headers.line, position, &Arc::default()).add(
            Severity::Warning,
            Code::UnknownColumn,
            "",
            "a header; what stands below it is ignored",
        );
    }
    note_how_read(
        &mut findings,
        survey,
        decoded,
        separator_name(start.separator),
        mark,
    );
    let mut found = read.findings;
    found.list.extend(findings.list);
    let missing: Vec<String> = specs
        .list
        .iter()
        .enumerate()
        .filter(|(field, spec)| spec.column.required() && headers.position_of(*field).is_none())
        .map(|(_, spec)| missing_column(&spec.column.name, headers))
        .collect();

    let mut places = vec![None; specs.list.len()];
    for slot in &headers.slots {
        places[slot.field]
            .get_or_insert((slot.position, Arc::clone(&headers.names[slot.position])));
    }
    Ok(Some(Table {
        file: FileRead {
            name: Arc::clone(name),
            sha256: read.sha256.map_or_else(String::new, |digest| hex(&digest)),
            rows: survey.rows,
            separator: separator_name(start.separator),
            decimal_mark: mark,
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
        header_line: headers.line,
        rows: read.rows,
        unread: read.unread,
        places,
        missing,
        findings: found,
    }))
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
