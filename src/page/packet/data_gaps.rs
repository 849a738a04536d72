//! What is missing, what it costs, whom to ask; over all cases and for each patient of the packet.

use super::leaves::Leaves;
use super::rows::{Record, Rows};
use super::words;
use crate::page::number::date_range;
use crate::page::text::{Heading, Paragraph, Rich};
use crate::worklist::{CaseGaps, ColumnGap, Gap, Worklist};

/// Results named in a cell of the table.
const RESULTS_NAMED: usize = 4;
/// Cases named in a cell of the table.
const CASES_NAMED: usize = 90;
/// Columns in the first table.
const FIRST: usize = 12;

/// Writes the data gaps.
pub fn write(leaves: &mut Leaves<'_>, worklist: &Worklist) {
    leaves.part("Data gaps", "Data gaps", "G");
    let intro = "A cell costs a result that lacks it; it settles a result that would be known with this cell alone, \
        whatever its answer (a date: were it the as-of date), \
        the rest of the case as it is. All cases of the data are counted, the deceased with them.";
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
        let rows = table(false);
        let records = settling.iter().map(|column| record(column, false));
        leaves.rows(&[(3.0, &heading)], None, true, &rows, records);
    }
    for chase in worklist.gaps.chase() {
        let heading = Heading::second(format!("To ask of: {}", words::source(chase.from)));
        let again = Heading::second(format!(
            "To ask of: {}, continued",
            words::source(chase.from)
        ));
        let rows = table(true);
        let records = chase.columns.iter().map(|column| record(column, true));
        leaves.rows(&[(3.0, &heading)], Some(&again), true, &rows, records);
    }
    let entries = worklist.entries.iter();
    let mut records = entries.flat_map(|entry| of_case(&entry.gaps)).peekable();
    if records.peek().is_some() {
        let heading = Heading::second("The patients of this packet, case by case");
        let rows = Rows {
            shares: vec![28.0, 20.0, 62.0, 64.0],
            header: vec![
                "case",
                "to ask of",
                "missing",
                "costs; bold: settled by this cell alone; –: none yet",
            ],
            records: Vec::new(),
            ticks: true,
        };
        leaves.rows(&[(3.0, &heading)], None, true, &rows, records);
    }
}

/// A table of columns with the results they cost; for a chase list, to tick.
fn table(chase: bool) -> Rows {
    Rows {
        shares: vec![62.0, 12.0, 54.0, 54.0],
        header: vec![
            "cell",
            "cases",
            "alone would settle, in cases",
            "with other cells would settle, in cases",
        ],
        records: Vec::new(),
        ticks: chase,
    }
}

/// A column; for a chase list, with every case that lacks it.
fn record(column: &ColumnGap, chase: bool) -> Record {
    let mut what = vec![
        Rich::bold(words::short(column.meaning())),
        column.column.into(),
    ];
    let mut below = Vec::new();
    if chase {
        below.push(Rich::bold("Cases: ").and(cases(column)));
    } else {
        what.push(format!("to ask of: {}", words::source(column.from)).into());
    }
    Record {
        cells: vec![
            what,
            vec![Rich::bold(column.cases.len().to_string())],
            vec![results(&column.settles)],
            vec![results(&column.with_others())],
        ],
        below,
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
        .map(|(name, cases)| format!("{} in {cases}", words::result(name)))
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
    let record = |first: bool, from: &str, missing: String, costs: Rich| {
        let case = Rich::from(&*gaps.case_id);
        let bold = Rich::bold(&*gaps.case_id);
        Record {
            cells: vec![
                vec![if first { bold } else { case }],
                vec![words::source(from).into()],
                vec![missing.into()],
                vec![costs],
            ],
            below: Vec::new(),
        }
    };
    if let Some((from, to)) = gaps.no_reference {
        let missing = format!(
            "an echo of {}, the reference, if one was made",
            date_range(from, to)
        );
        let costs = words::result("deterioration_stage").into();
        records.push(record(true, "echo", missing, costs));
    }
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
        let cells: Vec<String> = alike.iter().map(|gap| words::cell(&gap.cell)).collect();
        done.extend(alike);
        let first = records.is_empty();
        records.push(record(first, gap.cell.from(), cells.join("; "), costs(gap)));
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
