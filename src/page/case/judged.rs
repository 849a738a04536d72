//! Block 6: VARC-3 verdicts; what a usual measuring error would change; what is missing.

use super::ladder::Detail;
use super::view::View;
use super::{composites, fragile, missing};
use crate::assess::LeftOut;
use crate::page::number::date;
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Heading, Paragraph, Rich, Stack};

/// Names on each side of a gap, before "and more".
const MOST_NAMES: usize = 4;

/// The left half.
pub(super) fn verdicts(view: &View<'_>, detail: &Detail) -> Stack<'static> {
    let most_parts = if detail.few_parts { 1 } else { usize::MAX };
    let rows = composites::verdicts(view, most_parts)
        .into_iter()
        // The criteria of deterioration go before a page does; their stage stays.
        .filter(|verdict| !(detail.few_parts && verdict.verdict.is_empty()))
        .map(|verdict| {
            let said = match (verdict.verdict.as_str(), verdict.because.as_str()) {
                ("", because) => Rich::from(because),
                (verdict_words, because) => {
                    let doubt = view.doubt(verdict.result);
                    let said = Rich::bold(format!("{verdict_words}{doubt}"));
                    if because.is_empty() {
                        said
                    } else {
                        said.and(format!(" · {because}"))
                    }
                }
            };
            vec![Rich::from(verdict.what), said]
        })
        .collect();
    let columns = vec![
        Column::left(Width::Fixed(29.0)),
        Column::left(Width::Share(1.0)),
    ];
    Stack::default()
        .with(Heading::second("VARC-3 endpoints (c)"))
        .with(Table::body(columns, None, rows))
}

/// The right half.
pub(super) fn limits_and_gaps(view: &View<'_>, detail: &Detail) -> Stack<'static> {
    let mut stack = Stack::default().with(Heading::second(
        "What a usual measuring error would change; what is missing",
    ));
    let lines = if detail.tight { 1 } else { 2 };
    let fragile = fragile::sentences(view);
    if fragile.is_empty() {
        stack = stack.with(Paragraph::body(
            "No class that can be told would change by a usual measuring error.",
        ));
    }
    for sentence in fragile {
        stack = stack.with(Paragraph::body(sentence).at_most(lines));
    }
    let gaps = missing::gaps(view);
    if gaps.is_empty() {
        stack = stack.with(Paragraph::body(
            "Nothing is missing that a result of this page needs.",
        ));
    }
    // The more sources lack something, the fewer names each has room for.
    let most = match (detail.few_gap_names, gaps.len()) {
        (true, _) => 2,
        (false, 0..=3) => MOST_NAMES,
        (false, _) => 3,
    };
    for gap in &gaps {
        stack = stack.with(
            Paragraph::body(missing::sentence(gap, most)).at_most(if detail.few_gap_names {
                1
            } else {
                2
            }),
        );
    }
    if let Some(left_out) = left_out(view) {
        stack = stack.with(Paragraph::body(left_out).at_most(2));
    }
    stack
}

/// Visits that are shown and do not count.
fn left_out(view: &View<'_>) -> Option<String> {
    let said: Vec<String> = view
        .known
        .left_out
        .iter()
        .filter_map(|(row, reason)| {
            let why = match reason {
                LeftOut::DidNotAttend => "did not attend",
                LeftOut::BeforeProcedure => "dated before the procedure",
                LeftOut::AfterDeath => "dated after the death",
                LeftOut::SecondOfDay => "second row of its day",
                LeftOut::AfterAsOf => return None,
            };
            Some(format!("{} ({why})", date(view.record.visits[*row].date)))
        })
        .collect();
    (!said.is_empty()).then(|| format!("Not counted: {}.", said.join(", ")))
}
