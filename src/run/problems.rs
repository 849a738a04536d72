//! problems.csv: every finding, in the order of the places.

use std::borrow::Cow;

use super::findings::MissingCell;
use crate::diagnostic::{Diagnostic, problem_lines, problems_header};
use crate::output::folder::{Folder, NotWritten, Written};

/// Findings written out at a time.
const AT_A_TIME: usize = 1000;

/// Writes the file, of findings that are in order, and cells that are missing. These are most of it: each becomes a
/// finding when it is written, and is none before.
pub(super) fn write(
    folder: &Folder,
    found: &[Diagnostic],
    mut missing: Vec<MissingCell>,
) -> Result<Written, NotWritten> {
    missing.sort_unstable();
    let mut file = folder.begin("problems.csv");
    file.add(&problems_header());
    let mut merged = merged(found, &missing);
    loop {
        let part = problem_lines(merged.by_ref().take(AT_A_TIME));
        if part.is_empty() {
            return file.finish();
        }
        file.add(&part);
    }
}

/// Both in one order.
fn merged<'f>(
    found: &'f [Diagnostic],
    missing: &'f [MissingCell],
) -> impl Iterator<Item = Cow<'f, Diagnostic>> {
    let mut found = found.iter().peekable();
    let mut missing = missing.iter().map(MissingCell::finding).peekable();
    std::iter::from_fn(move || match (found.peek(), missing.peek()) {
        (Some(first), Some(second)) if *first <= second => found.next().map(Cow::Borrowed),
        (Some(_), None) => found.next().map(Cow::Borrowed),
        _ => missing.next().map(Cow::Owned),
    })
}
