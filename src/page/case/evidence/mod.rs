//! Block 5: the evidence, in three tables.

mod before;
mod result;
mod sizing;

use super::ladder::Detail;
use super::view::View;
use crate::page::table::Pairs;
use crate::page::text::{Heading, Rich, Stack};

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
        Stack::default()
            .with(Heading::second(heading))
            .with(Pairs::body(rows))
    })
}
