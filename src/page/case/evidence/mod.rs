//! Block 5: the evidence, in three tables.

mod before;
mod result;
mod sizing;

use super::ladder::Detail;
use super::view::View;
use crate::page::table::Pairs;
use crate::page::text::{Heading, Rich, Stack};
use crate::page::words::{CANNOT_BE_TOLD, NOT_RECORDED};

/// Label and value.
type Row = (Rich, Rich);

fn row(label: impl Into<Rich>, value: impl Into<Rich>) -> Row {
    (label.into(), value.into())
}

/// The three tables, left to right.
pub(super) fn tables(view: &View<'_>, detail: &Detail) -> [Stack<'static>; 3] {
    [
        (
            "Before: stenosis, flow, ventricle, risk",
            before::rows(view, detail),
        ),
        ("CT, sizes by line, procedure", sizing::rows(view, detail)),
        (
            "Result and complications to day 30",
            result::rows(view, detail),
        ),
    ]
    .map(|(heading, rows)| {
        let rows = if detail.no_empty_rows {
            without_empty(rows)
        } else {
            rows
        };
        Stack::default()
            .with(Heading::second(heading))
            .with(Pairs::body(rows))
    })
}

/// The rows in which something is recorded, and one that names the others.
fn without_empty(rows: Vec<Row>) -> Vec<Row> {
    let (empty, mut rows): (Vec<Row>, Vec<Row>) = rows
        .into_iter()
        .partition(|(_, value)| says_nothing(&value.plain()));
    if !empty.is_empty() {
        let names: Vec<String> = empty
            .iter()
            .map(|(label, _)| {
                label
                    .plain()
                    .trim_matches(['\u{a0}', ' '])
                    .replace(" (c)", "")
            })
            .collect();
        rows.push(row(
            format!("Nothing recorded for: {}", names.join(", ")),
            Rich::default(),
        ));
    }
    rows
}

/// Whether a value holds nothing but marks of what is not recorded.
fn says_nothing(value: &str) -> bool {
    value
        .replace(NOT_RECORDED, "")
        .replace(CANNOT_BE_TOLD, "")
        .chars()
        .all(|mark| matches!(mark, '—' | '·' | '|' | '→' | '/' | ' ' | '\u{a0}'))
}
