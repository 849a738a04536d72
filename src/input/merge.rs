//! One case out of its rows in several files: what one leaves blank another fills; two values for one cell are none.

use std::collections::HashMap;
use std::sync::Arc;

use smallvec::SmallVec;

use super::hidden::shortened;
use super::rows::Row;
use super::spec::specs;
use super::table::Table;
use super::units::compare;
use crate::diagnostic::{Code, Severity};
use crate::record::{
    AtRest, CaseCells, Cells, FieldOf, NotesAtRest, Parsed, RowPlace, Shown, Text,
};

/// A cell that two files fill differently: unknown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ContradictedCell {
    /// The case.
    pub case_id: Text,
    /// The column.
    pub column: &'static str,
}

/// Something of one or several tables, each with the position of its table. Nearly every case stands in one table only.
pub(super) type OfTables<T> = SmallVec<[(usize, T); 1]>;

/// One case out of its rows, one a file.
pub(super) struct Merged {
    /// The whole of it.
    pub row: Row<CaseCells>,
    /// Where its first row stands.
    pub place: RowPlace,
    /// The rows it was made of: table and line.
    pub parts: OfTables<u64>,
}

/// Merges the rows of one id, at most one of each table, in the order of the tables.
pub(super) fn merge(
    parts: OfTables<Row<CaseCells>>,
    tables: &mut [Table<CaseCells>],
    contradicted: &mut Vec<ContradictedCell>,
) -> Option<Merged> {
    let lines: OfTables<u64> = parts
        .iter()
        .map(|(table, row)| (*table, row.line))
        .collect();
    let mut parts = parts.into_iter();
    let (first_table, mut row) = parts.next()?;
    if lines.len() == 1 {
        return Some(Merged {
            place: RowPlace {
                file: Arc::clone(&tables[first_table].file.name),
                line: row.line,
            },
            row,
            parts: lines,
        });
    }
    let mut cells = row.cells.cells();
    let mut notes = row.notes.notes();
    // For each column the file and line that filled it, and whether two have filled it differently.
    let mut filled_by: HashMap<&'static str, (usize, u64)> = HashMap::new();
    let mut unknown: Vec<&'static str> = Vec::new();
    for (table, other) in parts {
        let others = other.cells.cells();
        for (position, field) in CaseCells::FIELDS.iter().enumerate() {
            let Some(theirs) = (field.get)(&others) else {
                continue;
            };
            if unknown.contains(&field.name) {
                continue;
            }
            let Some(ours) = (field.get)(&cells) else {
                (field.set)(&mut cells, again(theirs, field)?);
                filled_by.insert(field.name, (table, other.line));
                continue;
            };
            if same(ours, theirs) {
                continue;
            }
            let (known_table, known_line) = filled_by
                .get(field.name)
                .copied()
                .unwrap_or((first_table, row.line));
            let private = specs("cases").list[position].private;
            let text = |value: Shown<'_>| if private { String::new() } else { plain(value) };
            let found = text(theirs);
            let expected = format!(
                "what {}:{known_line} says{}; two values for one cell: neither is used",
                tables[known_table].file.name,
                if private {
                    String::new()
                } else {
                    format!(" ({})", plain(ours))
                },
            );
            let case_id = row.id.clone();
            (field.clear)(&mut cells);
            unknown.push(field.name);
            if let Some((column, header)) = tables[table].places[position].clone() {
                tables[table]
                    .findings
                    .at(other.line, column, &header)
                    .of_case(&case_id)
                    .add(Severity::Error, Code::Contradiction, found, expected);
            }
            contradicted.push(ContradictedCell {
                case_id,
                column: field.name,
            });
        }
        let other = other.notes.notes();
        for (ours, theirs) in [
            (&mut notes.rejected, other.rejected),
            (&mut notes.unusual, other.unusual),
        ] {
            for name in theirs {
                if !ours.contains(&name) {
                    ours.push(name);
                }
            }
        }
    }
    row.day = cells.procedure_date;
    row.cells = AtRest::of(&cells);
    notes.unusual.retain(|name| !unknown.contains(name));
    row.notes = NotesAtRest::of(notes);
    Some(Merged {
        place: RowPlace {
            file: Arc::clone(&tables[first_table].file.name),
            line: row.line,
        },
        row,
        parts: lines,
    })
}

fn same(one: Shown<'_>, other: Shown<'_>) -> bool {
    match (one, other) {
        (Shown::Number(one), Shown::Number(other)) => compare(one, other).is_eq(),
        _ => one == other,
    }
}

/// A known value as a parsed cell again.
fn again(value: Shown<'_>, field: &FieldOf<CaseCells>) -> Option<Parsed> {
    Some(match value {
        Shown::Number(value) => Parsed::Number(value),
        Shown::Integer(value) => Parsed::Integer(value),
        Shown::Date(value) => Parsed::Date(value),
        Shown::YesNo(value) => Parsed::YesNo(value),
        Shown::Word(value) => {
            Parsed::Choice((field.words)().iter().position(|word| *word == value)?)
        }
        Shown::Text(value) => Parsed::Text(value.into()),
    })
}

fn plain(value: Shown<'_>) -> String {
    match value {
        Shown::Number(value) => value.to_string(),
        Shown::Integer(value) => value.to_string(),
        Shown::Date(value) => value.to_string(),
        Shown::YesNo(value) => if value { "yes" } else { "no" }.to_owned(),
        Shown::Word(value) => value.to_owned(),
        Shown::Text(value) => shortened(value),
    }
}
