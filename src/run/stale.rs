//! Pages of earlier runs that this one does not answer for: named, never deleted.

use std::collections::BTreeSet;

use super::{Work, counted};
use crate::output::folder::Folder;

/// Lines that name the pages of cases that are no longer in the tables, and of cases that are withheld now.
pub fn stale_pages(folder: &Folder, work: &Work) -> Vec<String> {
    let page = |case_id: &str| format!("cases/{case_id}.pdf");
    let present: BTreeSet<String> = work
        .cases
        .iter()
        .map(|(record, _)| page(&record.case_id))
        .collect();
    let withheld: BTreeSet<String> = work.withheld.iter().map(|row| page(&row.case_id)).collect();
    let (of_withheld, of_nobody): (Vec<String>, Vec<String>) = folder
        .pages()
        .into_iter()
        .filter(|page| !present.contains(page))
        .partition(|page| withheld.contains(page));
    let mut lines = Vec::new();
    for (pages, of) in [
        (
            of_nobody,
            "of an earlier run, of a case that is in these tables no longer",
        ),
        (
            of_withheld,
            "of an earlier run, of a case that is withheld now",
        ),
    ] {
        if !pages.is_empty() {
            lines.push(format!(
                "{} {of}; kept, not renewed, not current:",
                counted(pages.len(), "page")
            ));
            lines.extend(pages.iter().map(|page| format!("  {page}")));
        }
    }
    lines
}
