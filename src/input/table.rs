//! One file → its typed rows, and what is known of the file as a whole.

use std::sync::Arc;

use encoding_rs::Encoding;
use sha2::{Digest, Sha256};

use super::body::Body;
use super::dialect::Dialect;
use super::encoding::{decode, other_kind_of_file};
use super::error::InputError;
use super::findings::Findings;
use super::headers::{Headers, is_known};
use super::hidden::shortened;
use super::rows::{Row, Unread};
use super::said_once::note_how_read;
use super::separator::{find_start, separator_name};
use super::source::{FileRead, Source};
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
    let headers = Headers::read(&header_row, T::FILE, specs, dialect, &mut findings);
    let no_key = |meant: Option<&str>| InputError::NoKey {
        file: Arc::clone(name),
        key: key.to_owned(),
        separator: separator_name(start.separator),
        meant: meant.map(str::to_owned),
        encoding: decoded.perhaps.map(Encoding::name),
    };
    if headers.position_of(0).is_none() {
        return Err(no_key(
            headers.nearest_to(key).filter(|name| !name.contains('\0')),
        ));
    }
    let body = Body {
        name,
        text,
        start,
        headers,
        specs,
        dialect,
    };
    let read = body.read::<T>().ok_or_else(|| InputError::KeyTwice {
        file: Arc::clone(name),
        key: key.to_owned(),
    })?;
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
        &decoded,
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
    Ok(Table {
        file: FileRead {
            name: Arc::clone(name),
            sha256: hex(&Sha256::digest(&source.bytes)),
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
