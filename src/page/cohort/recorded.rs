//! The page of what was recorded beside what could be derived.

use super::words::counted;
use super::writer::Writer;
use crate::cohort::Cohort;
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Paragraph, Rich};

/// Most cases listed for one comparison.
const MOST: usize = 60;

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.section("Recorded against derivable");
    writer.block(
        0.0,
        &Paragraph::small(
            "The recorded value is what counts in every measure. Where other cells of the same case let one derive another, \
             both stand here for the team to settle at the source; neither is called right.",
        ),
    );
    for comparison in &cohort.comparisons {
        writer.heading(
            2.0,
            format!(
                "{}: {} of {}",
                comparison.title,
                comparison.differing.len(),
                counted(comparison.compared, "case")
            ),
        );
        if comparison.compared == 0 {
            writer.block(0.0, &Paragraph::body("No case has both sides."));
            continue;
        }
        if comparison.differing.is_empty() {
            writer.block(
                0.0,
                &Paragraph::body("None of those with both sides known."),
            );
            continue;
        }
        let rows = comparison
            .differing
            .iter()
            .take(MOST)
            .map(|found| {
                vec![
                    Rich::bold(found.case_id.to_string()),
                    format!("recorded: {}", found.recorded).into(),
                    found.derivable.clone().into(),
                ]
            })
            .collect();
        writer.table(
            0.0,
            &Table::body(
                vec![
                    Column::left(Width::Natural),
                    Column::left(Width::Fixed(50.0)),
                    Column::left(Width::Share(1.0)),
                ],
                None,
                rows,
            ),
        );
        if comparison.differing.len() > MOST {
            let more = counted(comparison.differing.len() - MOST, "case");
            writer.block(0.0, &Paragraph::small(format!("{more} more.")));
        }
    }
    writer.block(
        2.0,
        &Paragraph::small(
            "VARC-3 as quoted in secondary texts: 1 unit of red cells is type 1, 2 to 4 type 2, 5 and more type 3; a fall of \
             haemoglobin above 3 g/dL is type 2 and of 5 g/dL or more type 3 where the source was overt, which these data do not \
             tell; units before the procedure or given for another reason are not told apart.",
        ),
    );
}
