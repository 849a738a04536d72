//! Pages of earlier runs that this one does not answer for: named, never deleted.

use std::collections::BTreeSet;

use super::report::Tally;
use super::{Work, counted, pages};
use crate::cli::ReportArgs;
use crate::output::folder::Folder;

/// Lines that name the pages that lie in the folder and are not current: of cases that are in the tables no longer, of
/// cases that are withheld now, and of cases whose new page could not be made or written.
pub fn stale_pages(args: &ReportArgs, folder: &Folder, work: &Work, tally: &Tally) -> Vec<String> {
    let lying = folder.pages();
    if lying.is_empty() {
        return Vec::new();
    }
    let page = |case_id: &str| format!("cases/{case_id}.pdf");
    let written: BTreeSet<&str> = tally
        .written
        .iter()
        .map(|written| written.file.as_str())
        .collect();
    let mut present = BTreeSet::new();
    let mut not_renewed = BTreeSet::new();
    for case in &work.cases {
        let page = page(&case.case_id);
        if pages::asked(args, &case.case_id) && !written.contains(page.as_str()) {
            not_renewed.insert(page.clone());
        }
        present.insert(page);
    }
    let withheld: BTreeSet<String> = work.withheld.iter().map(|row| page(&row.case_id)).collect();
    let mut lines = Vec::new();
    let mut name = |of: &str, stale: &dyn Fn(&String) -> bool| {
        let pages: Vec<&String> = lying.iter().filter(|page| stale(page)).collect();
        if !pages.is_empty() {
            lines.push(format!(
                "{} of an earlier run, of a case {of}; kept, not renewed, not current:",
                counted(pages.len(), "page")
            ));
            lines.extend(pages.iter().map(|page| format!("  {page}")));
        }
    };
    name("that is in these tables no longer", &|page| {
        !present.contains(page) && !withheld.contains(page)
    });
    name("that is withheld now", &|page| {
        !present.contains(page) && withheld.contains(page)
    });
    name("whose new page could not be made", &|page| {
        not_renewed.contains(page)
    });
    lines
}
