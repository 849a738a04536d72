//! The page that says what a de-identified summary leaves out, in place of the pages themselves.

use super::writer::Writer;
use crate::page::table::Pairs;
use crate::page::text::{Paragraph, Rich};

/// What is left out, and why.
const LEFT_OUT: [(&str, &str); 12] = [
    (
        "Deaths over time (expected minus observed, CUSUM)",
        "single deaths in their order",
    ),
    ("Gradients of each case", "every line is one patient"),
    (
        "NYHA class before and after",
        "small counts of a table of two margins",
    ),
    (
        "The period before, or an earlier file, beside this one",
        "with earlier releases the difference could be a small count",
    ),
    (
        "Results of single cases (results.csv)",
        "hidden counts could be counted in them: into a folder of their own, for another reader",
    ),
    (
        "Sizing, disagreements, planning risks",
        "single patients and small counts",
    ),
    (
        "Quarter by quarter, number of cases by quarter",
        "small counts; quarters and period can be subtracted",
    ),
    (
        "Operators and access routes on a page, case by case",
        "their groups are in cohort.csv where none is masked",
    ),
    ("Sites", "never written"),
    (
        "Survival and deterioration curves, visits, overdue and lost",
        "every step is one patient",
    ),
    (
        "Chase list, recorded against derivable, cases to pull",
        "rows of single cases",
    ),
    (
        "Rolling 12 months and since the start",
        "they overlap the period: the difference could be a small count",
    ),
];

/// Writes the page.
pub fn write(writer: &mut Writer<'_>) {
    writer.section("Left out of a de-identified summary");
    let rows = LEFT_OUT
        .iter()
        .map(|(what, why)| (Rich::from(*what), Rich::from(*why)))
        .collect();
    writer.block(0.0, &Pairs::body(rows));
    writer.block(
        1.5,
        &Paragraph::small(
            "Two releases must not differ by one patient: release whole quarters or longer, once. The names behind operator \
             letters change with every release.",
        ),
    );
}
