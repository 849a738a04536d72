//! What is missing, what it costs, whom to ask; over all cases and for each patient of the packet.

use super::leaves::Leaves;
use super::rows::{Record, Rows};
use super::words;
use crate::page::text::{Heading, Paragraph, Rich};
use crate::worklist::{CaseGaps, ColumnGap, Entry, Gap, Worklist};

/// Results named in a cell of the table.
const RESULTS_NAMED: usize = 4;
/// Cases named in a cell of the table.
const CASES_NAMED: usize = 8;
/// Columns in the first table.
const FIRST: usize = 12;

/// Writes the data gaps.
pub fn write(leaves: &mut Leaves<'_>, worklist: &Worklist) {
    leaves.part("Data gaps", "Data gaps", "G");
    let intro = "A cell costs a result that lacks it; it settles a result that would be known with this cell alone, \
        whatever its answer, the rest of the case as it is. All cases of the data are counted, the deceased with them.";
    leaves.block(0.0, &Paragraph::body(intro));
    let columns = &worklist.gaps.columns;
    if columns.is_empty() {
        leaves.block(
            3.0,
            &Paragraph::body("No missing cell keeps a result from being known."),
        );
        return;
    }
    let settling: Vec<&ColumnGap> = columns
        .iter()
        .filter(|column| column.brings_back() > 0)
        .take(FIRST)
        .collect();
    if !settling.is_empty() {
        let heading = Heading::second("What would bring back most");
        leaves.rows(&[(3.0, &heading)], &table(&settling, true));
    }
    for chase in worklist.gaps.chase() {
        let heading = Heading::second(format!("To ask of: {}", chase.from));
        leaves.rows(&[(3.0, &heading)], &table(&chase.columns, false));
    }
    let listed: Vec<&Entry> = worklist
        .entries
        .iter()
        .filter(|entry| !entry.gaps.gaps.is_empty())
        .collect();
    if !listed.is_empty() {
        let heading = Heading::second("The patients of this packet, case by case");
        let rows = Rows {
            shares: vec![26.0, 20.0, 62.0, 66.0],
            header: vec![
                "case",
                "to ask of",
                "missing",
                "costs (settled by this cell alone in bold)",
            ],
            records: listed
                .iter()
                .flat_map(|entry| of_case(&entry.gaps))
                .collect(),
            ticks: true,
        };
        leaves.rows(&[(3.0, &heading)], &rows);
    }
}

fn table(columns: &[&ColumnGap], with_source: bool) -> Rows {
    let records = columns.iter().map(|column| {
        let mut what = vec![
            Rich::bold(words::short(column.meaning())),
            column.column.into(),
        ];
        if with_source {
            what.push(format!("to ask of: {}", column.from).into());
        }
        Record {
            cells: vec![
                what,
                vec![
                    Rich::bold(column.cases.len().to_string()).and(format!(": {}", cases(column))),
                ],
                vec![results(&column.settles)],
                vec![results(&column.costs)],
            ],
            below: Vec::new(),
        }
    });
    Rows {
        shares: vec![58.0, 42.0, 42.0, 42.0],
        header: vec![
            "cell",
            "missing in cases",
            "alone would settle, in cases",
            "costs, in cases",
        ],
        records: records.collect(),
        ticks: !with_source,
    }
}

fn cases(column: &ColumnGap) -> String {
    let named: Vec<&str> = column
        .cases
        .iter()
        .take(CASES_NAMED)
        .map(|id| &**id)
        .collect();
    and_more(
        named.join(", "),
        column.cases.len().saturating_sub(CASES_NAMED),
    )
}

fn and_more(named: String, more: usize) -> String {
    if more == 0 {
        named
    } else {
        format!("{named} and {more} more")
    }
}

fn results(results: &[(&'static str, usize)]) -> Rich {
    if results.is_empty() {
        return "–".into();
    }
    let named: Vec<String> = results
        .iter()
        .take(RESULTS_NAMED)
        .map(|(name, cases)| format!("{} {cases}", words::result(name)))
        .collect();
    and_more(
        named.join("; "),
        results.len().saturating_sub(RESULTS_NAMED),
    )
    .into()
}

/// The gaps of one case: cells of one source that cost the same stand together.
fn of_case(gaps: &CaseGaps) -> Vec<Record> {
    let mut records: Vec<Record> = Vec::new();
    let mut done: Vec<&Gap> = Vec::new();
    for gap in &gaps.gaps {
        if done.contains(&gap) {
            continue;
        }
        let alike: Vec<&Gap> = gaps
            .gaps
            .iter()
            .filter(|other| {
                other.cell.from() == gap.cell.from()
                    && other.costs == gap.costs
                    && other.settles == gap.settles
            })
            .collect();
        let cells: Vec<String> = alike
            .iter()
            .map(|gap| match gap.cell.visit {
                Some(day) => format!(
                    "{} of {}",
                    words::meaning(&gap.cell),
                    crate::page::number::date(day)
                ),
                None => words::meaning(&gap.cell),
            })
            .collect();
        done.extend(alike);
        let case = if records.is_empty() {
            Rich::bold(&*gaps.case_id)
        } else {
            Rich::from(&*gaps.case_id)
        };
        records.push(Record {
            cells: vec![
                vec![case],
                vec![gap.cell.from().into()],
                vec![cells.join("; ").into()],
                vec![costs(gap)],
            ],
            below: Vec::new(),
        });
    }
    records
}

fn costs(gap: &Gap) -> Rich {
    let mut text = Rich::default();
    for (position, name) in gap.costs.iter().enumerate() {
        if position > 0 {
            text = text.and("; ");
        }
        let title = words::result(name);
        text = if gap.settles.contains(name) {
            text.and_bold(title)
        } else {
            text.and(title)
        };
    }
    if gap.costs.is_empty() {
        text = text.and("–");
    }
    text
}
