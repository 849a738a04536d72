//! The list of cases to pull.

use super::words::counted;
use super::writer::Writer;
use crate::cohort::Cohort;
use crate::page::number::date;
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Paragraph, Rich};

/// Most cases listed; the flags of all are in results.csv.
const MOST: usize = 500;

/// Writes the pages.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.section("Cases to pull");
    if cohort.pull.is_empty() {
        writer.block(
            0.0,
            &Paragraph::body("No case of the period has a reason by the rules below."),
        );
    }
    let rows = cohort
        .pull
        .iter()
        .take(MOST)
        .map(|case| {
            vec![
                Rich::bold(case.case_id.to_string()),
                date(case.procedure_date).into(),
                case.operator.clone().into(),
                if case.in_period {
                    "of the period"
                } else {
                    "earlier"
                }
                .into(),
                case.reasons.join("; ").into(),
            ]
        })
        .collect();
    let table = Table::body(
        vec![
            Column::left(Width::Natural),
            Column::left(Width::Natural),
            Column::left(Width::Natural),
            Column::left(Width::Natural),
            Column::left(Width::Share(1.0)),
        ],
        Some(
            [
                "case",
                "procedure date",
                "operator",
                "",
                "reasons, gravest first",
            ]
            .map(Rich::from)
            .to_vec(),
        ),
        rows,
    );
    writer.table(0.0, &table);
    if cohort.pull.len() > MOST {
        let more = counted(cohort.pull.len() - MOST, "case");
        writer.block(
            1.0,
            &Paragraph::body(format!(
                "{more} more are not listed here; column flags of results.csv has all."
            )),
        );
    }
    writer.block(
        2.0,
        &Paragraph::small(
            "Order: death to day 30 or undated; major events of the procedure and the first 30 days; identity, events at \
             visits and later deaths; regurgitation, gradient, deterioration; kidney injury stage 2 or more; size decisions \
             without a recorded reason; contradictions between cells. Earlier cases stand here for a death, an event or a \
             deterioration since the period began. A reason is a fact of the record, not a judgement of anybody.",
        ),
    );
}
