//! The page of data completeness: what to chase, where, and what would settle most.

use super::words::{counted, share, share_below};
use super::writer::Writer;
use crate::cohort::statistics::percent_text;
use crate::cohort::{Cohort, Filled, SettlingCell, Source, title};
use crate::page::table::{Column, Pairs, Table, Width};
use crate::page::text::{Heading, Paragraph, Rich, Stack};

/// A field filled in less than this share of the cases is marked, the lowest line it misses first (project).
const LINES_PCT: [usize; 2] = [90, 95];

/// Columns named for each source.
const COLUMNS_NAMED: usize = 12;

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    let data = &cohort.completeness;
    writer.section("Data completeness");
    let core = Stack::default()
        .with(Heading::second(format!(
            "Core set, worst first: {} of {} cases complete",
            data.core_complete, data.n
        )))
        .with(core_table(&data.core))
        .with_gap(
            0.5,
            Paragraph::small(
                "Due: complications and life or death from day 30; the 30-day echo from day 105, of those alive on day 23; what \
                 is measured after, of those who left the room alive; the rest at once.",
            ),
        );
    let quality = Stack::default()
        .with(Heading::second(format!(
            "What the checks found, n {}",
            data.n
        )))
        .with(Pairs::body(vec![
            (
                "Cells that cannot all be right".into(),
                counted(data.contradicting, "case").into(),
            ),
            (
                "A result marked in doubt".into(),
                counted(data.in_doubt, "case").into(),
            ),
            (
                "A cell not believable, not used".into(),
                counted(data.rejected, "case").into(),
            ),
            (
                "A value unusual, kept".into(),
                counted(data.unusual, "case").into(),
            ),
            (
                "Serial, patient key or row in two cases".into(),
                counted(data.identity, "case").into(),
            ),
            (
                "Withheld, in no number".into(),
                counted(cohort.withheld.len(), "case").into(),
            ),
        ]))
        .with_gap(
            0.5,
            Paragraph::small("Each finding with its line and cell stands in problems.csv."),
        );
    writer.side_by_side(0.0, &[&core, &quality]);
    writer.heading(2.5, "The ten cells that would settle most");
    settling(writer, cohort);
    writer.heading(
        2.5,
        format!(
            "Chase list by source: cells that kept a result from being known, n {}",
            data.n
        ),
    );
    chase(writer, &data.sources);
}

fn core_table(core: &[Filled]) -> Table {
    let rows = core
        .iter()
        .map(|filled| {
            let counts = &filled.counts;
            let known = counts.known();
            let below = LINES_PCT
                .into_iter()
                .find(|&line| counts.yes * 100 < known * line);
            let (text, word) = match below {
                Some(line) => (
                    Rich::bold(share_below(counts.yes, known, line)),
                    format!("under {line} %"),
                ),
                None => (share(counts.yes, known).into(), String::new()),
            };
            vec![Rich::from(filled.title), text, word.into()]
        })
        .collect();
    Table::body(
        vec![
            Column::left(Width::Share(1.0)),
            Column::right(Width::Natural),
            Column::left(Width::Fixed(14.0)),
        ],
        Some(
            ["field", "filled, of those due", ""]
                .map(Rich::from)
                .to_vec(),
        ),
        rows,
    )
}

fn settling(writer: &mut Writer<'_>, cohort: &Cohort) {
    let cells = &cohort.completeness.settling;
    if cells.is_empty() {
        writer.block(
            0.0,
            &Paragraph::body("No judgement of a mature case is open."),
        );
        return;
    }
    let rows = cells.iter().map(settling_row).collect();
    writer.table(
        0.0,
        &Table::body(
            vec![
                Column::left(Width::Natural),
                Column::left(Width::Natural),
                Column::left(Width::Natural),
                Column::left(Width::Share(1.0)),
                Column::left(Width::Share(0.8)),
            ],
            Some(
                ["case", "cell", "ask", "settles alone", "helps to settle"]
                    .map(Rich::from)
                    .to_vec(),
            ),
            rows,
        ),
    );
    writer.block(
        0.5,
        &Paragraph::small(
            "Ranked by the judgements that a cell would settle alone, then by those it helps with, each shared among the cells \
             it needs. Settling a judgement narrows its bounds on the first page by one case. A last_contact_date on or after \
             day 30 settles every complication recorded as none.",
        ),
    );
}

fn settling_row(cell: &SettlingCell) -> Vec<Rich> {
    let words = |measures: &[&'static str]| {
        let titles: Vec<&str> = measures.iter().map(|measure| title(measure)).collect();
        titles.join(", ")
    };
    vec![
        Rich::bold(cell.case_id.to_string()),
        cell.cell.into(),
        cell.from.into(),
        words(&cell.settles).into(),
        words(&cell.helps).into(),
    ]
}

fn chase(writer: &mut Writer<'_>, sources: &[Source]) {
    if sources.is_empty() {
        writer.block(
            0.0,
            &Paragraph::body("Nothing is missing that a result needs."),
        );
        return;
    }
    let rows = sources
        .iter()
        .map(|source| {
            let mut columns: Vec<String> = source
                .columns
                .iter()
                .take(COLUMNS_NAMED)
                .map(|column| format!("{} {}", column.column, column.cases))
                .collect();
            let rest: usize = source
                .columns
                .iter()
                .skip(COLUMNS_NAMED)
                .map(|column| column.cases)
                .sum();
            if rest > 0 {
                columns.push(format!(
                    "{} further columns {rest}",
                    source.columns.len() - COLUMNS_NAMED
                ));
            }
            vec![
                Rich::bold(source.from),
                source.cells.to_string().into(),
                columns.join(" · ").into(),
            ]
        })
        .collect();
    writer.table(
        0.0,
        &Table::body(
            vec![
                Column::left(Width::Natural),
                Column::right(Width::Natural),
                Column::left(Width::Share(1.0)),
            ],
            Some(
                ["ask", "cells", "columns with the number of cases"]
                    .map(Rich::from)
                    .to_vec(),
            ),
            rows,
        ),
    );
    let total: usize = sources.iter().map(|source| source.cells).sum();
    let most = &sources[0];
    if let Some(percent) = percent_text(most.cells, total) {
        writer.block(
            0.5,
            &Paragraph::small(format!(
                "{percent} % of the {total} missing cells are with one source: {}. Which cases: column missing of results.csv. Not \
                 counted here: what nobody can be asked for, as the date of a death that nothing speaks of.",
                most.from
            )),
        );
    }
}
