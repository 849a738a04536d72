//! The page of complications and of the parts of the composites.

use super::outcome_table::{OutcomeRow, OutcomeTable};
use super::words::{counted, percent_of_estimate, shown};
use super::writer::{Chart, Writer};
use crate::cohort::statistics::clopper_pearson;
use crate::cohort::{
    BASELINE_FROM_CASES, Cohort, FOLLOWED, GAPS_LISTED, Gaps, PeriodName, Quarter, RATE_FROM_CASES,
};
use crate::figure::cohort::quarters;
use crate::page::number::THIN_SPACE;
use crate::page::table::{Column, Pairs, Table, Width};
use crate::page::text::{Heading, Paragraph, Rich, Stack};

/// Measures of the table, with their words.
const COMPLICATIONS: [(&str, &str); 9] = [
    ("death_30d", "Death to day 30"),
    ("stroke_30d", "Stroke to day 30"),
    ("bleeding_type_2_to_4", "Bleeding type 2 to 4"),
    ("major_vascular_complication", "Major vascular complication"),
    ("kidney_injury_stage_2_to_4", "Kidney injury stage 2 to 4"),
    ("new_pacemaker", "New pacemaker"),
    (
        "regurgitation_moderate_or_worse",
        "Regurgitation moderate or more",
    ),
    ("mismatch_moderate", "Mismatch, moderate"),
    ("mismatch_severe", "Mismatch, severe"),
];

/// Composites whose parts are shown.
const COMPOSITES: [(&str, &str); 4] = [
    ("technical_success", "Technical success"),
    ("device_success", "Device success"),
    ("early_safety", "Early safety"),
    ("clinical_efficacy_1y", "Clinical efficacy, 1 year"),
];

/// Writes the pages.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.section("Complications");
    let (others, heads) = if cohort.options.deidentify {
        (Vec::new(), Vec::new())
    } else {
        (
            vec![PeriodName::Rolling12Months, PeriodName::SinceStart],
            vec![("rolling\n12 months", 16.0), ("since\nthe start", 16.0)],
        )
    };
    let rows = COMPLICATIONS
        .iter()
        .filter_map(|&(measure, title)| {
            let row = cohort.of_period(measure)?;
            let more = others
                .iter()
                .map(|&span| beside(cohort, measure, span))
                .collect();
            Some(Some(OutcomeRow {
                title: Rich::from(title),
                row,
                more,
            }))
        })
        .collect();
    writer.heading(
        0.0,
        format!(
            "Complications of the period, n {}",
            shown(cohort, cohort.n[0])
        ),
    );
    writer.block(
        0.0,
        &OutcomeTable {
            rows,
            more: heads,
            scale_pct: 50.0,
        },
    );
    writer.block(
        0.5,
        &Paragraph::small(
            "Scale to 50 %; what lies beyond ends at its edge. New pacemaker: patients without one before. Regurgitation and \
             mismatch by the judging echo. A complication recorded as none counts as known here where it is known whether the \
             patient lived to day 30; as a part of a composite, below, wherever it is recorded.",
        ),
    );
    if let Some(text) = none_seen(cohort) {
        writer.block(0.5, &Paragraph::body(text));
    }
    if !cohort.options.deidentify {
        by_quarter(writer, cohort);
        between_events(writer, cohort);
    }
    parts(writer, cohort);
}

/// What no event among so many still leaves possible; a masked row says nothing.
fn none_seen(cohort: &Cohort) -> Option<String> {
    let named: Vec<String> = COMPLICATIONS
        .iter()
        .filter_map(|&(measure, title)| {
            let row = cohort.of_period(measure)?;
            let known = row.denominator? as usize;
            let upper = clopper_pearson(0, known, 0.95)?.high;
            (row.numerator == Some(0)).then(|| {
                format!(
                    "{} 0 of {known}, at most {}{THIN_SPACE}%",
                    title.to_lowercase(),
                    percent_of_estimate(100.0 * upper, 100)
                )
            })
        })
        .collect();
    (!named.is_empty()).then(|| {
        format!(
            "None seen, which still leaves room (exact 95 % limit, Clopper-Pearson): {}.",
            named.join("; ")
        )
    })
}

/// Rare events: the cases between them, since a rate by quarter says nothing of less than one expected event.
fn between_events(writer: &mut Writer<'_>, cohort: &Cohort) {
    let data = &cohort.quarters;
    let rows: Vec<(Rich, Rich)> = (0..FOLLOWED.len())
        .filter(|&measure| data.rare(measure))
        .map(|measure| {
            (
                Rich::from(FOLLOWED[measure].1),
                Rich::from(gap_words(&data.gaps[measure])),
            )
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    writer.block(
        2.0,
        &Stack::default()
            .with(Heading::second("Cases between rare events, since the start"))
            .with(Pairs::body(rows))
            .with_gap(
                0.5,
                Paragraph::small(
                    "Less than one event a quarter is expected at the centre's own rate. Known cases without the event, in the \
                     order of the procedures: before each event, and since the last. Ever shorter gaps are a reason to look.",
                ),
            ),
    );
}

fn gap_words(gaps: &Gaps) -> String {
    if gaps.before_each.is_empty() {
        return format!("none yet among {}", counted(gaps.since_last, "known case"));
    }
    let left_out = gaps.before_each.len().saturating_sub(GAPS_LISTED);
    let mut listed: Vec<String> = gaps.before_each[left_out..]
        .iter()
        .map(ToString::to_string)
        .collect();
    if left_out > 0 {
        listed.insert(0, "\u{2026}".to_owned());
    }
    format!("{}; {} since", listed.join(", "), gaps.since_last)
}

fn beside(cohort: &Cohort, measure: &str, span: PeriodName) -> String {
    match cohort.row(measure, "all", span) {
        Some(row) => match (row.numerator, row.denominator) {
            (Some(yes), Some(known)) => format!("{yes}/{known}"),
            _ => String::new(),
        },
        None => String::new(),
    }
}

fn by_quarter(writer: &mut Writer<'_>, cohort: &Cohort) {
    let data = &cohort.quarters;
    writer.heading(
        2.5,
        format!("Quarter by quarter, since the start, n {}", cohort.n[2]),
    );
    if data.quarters.is_empty() {
        writer.block(0.0, &Paragraph::body("No case."));
        return;
    }
    writer.table(0.0, &counts_by_quarter(cohort));
    let latest = latest_quarters(cohort);
    if latest.len() < data.quarters.len() {
        let cases: usize = latest.iter().map(|quarter| quarter.cases).sum();
        writer.block(
            0.5,
            &Paragraph::small(format!(
                "In the table the last {} quarters, n {cases}.",
                latest.len()
            )),
        );
    }
    let drawn: Vec<usize> = (0..FOLLOWED.len())
        .filter(|&measure| data.drawn(measure) >= 2)
        .collect();
    if drawn.is_empty() {
        writer.block(
            0.5,
            &Paragraph::small(format!(
                "Counts only: fewer than two quarters have {RATE_FROM_CASES} known cases, too few for a rate to be drawn."
            )),
        );
        return;
    }
    for row in drawn.chunks(3) {
        let charts: Vec<Chart<'_>> = row
            .iter()
            .map(|&measure| Chart {
                alt: alt(cohort, measure),
                draw: Box::new(move |fonts, area| quarters::rate(fonts, area, data, measure)),
            })
            .collect();
        writer.figures(3.0, 34.0, &charts);
    }
    writer.block(0.8, &Paragraph::small(quarter_words(cohort)));
}

/// As many of the latest quarters as a table has room for.
fn latest_quarters(cohort: &Cohort) -> &[Quarter] {
    const MOST: usize = 8;
    let quarters = &cohort.quarters.quarters;
    &quarters[quarters.len().saturating_sub(MOST)..]
}

/// Counts of the latest quarters.
fn counts_by_quarter(cohort: &Cohort) -> Table {
    let latest = latest_quarters(cohort);
    let mut header = vec![Rich::from("yes/known")];
    header.extend(latest.iter().map(|quarter| Rich::from(quarter.label())));
    let mut cases = vec![Rich::from("Cases")];
    cases.extend(
        latest
            .iter()
            .map(|quarter| Rich::from(quarter.cases.to_string())),
    );
    let mut rows = vec![cases];
    rows.extend(FOLLOWED.iter().enumerate().map(|(measure, (_, title))| {
        let mut row = vec![Rich::from(*title)];
        row.extend(latest.iter().map(|quarter| {
            let counts = quarter.counts[measure];
            Rich::from(format!("{}/{}", counts.yes, counts.known()))
        }));
        row
    }));
    let mut columns = vec![Column::left(Width::Share(1.0))];
    columns.extend(latest.iter().map(|_| Column::right(Width::Fixed(14.5))));
    Table::body(columns, Some(header), rows)
}

fn quarter_words(cohort: &Cohort) -> String {
    let data = &cohort.quarters;
    let last = data.quarters.len() - 1;
    let (with_limit, without): (Vec<usize>, Vec<usize>) =
        (0..FOLLOWED.len()).partition(|&measure| data.limits(last, measure).is_some());
    let names = |measures: &[usize]| {
        let names: Vec<&str> = measures
            .iter()
            .map(|&measure| FOLLOWED[measure].1)
            .collect();
        names.join(", ")
    };
    let outside: Vec<usize> = with_limit
        .iter()
        .copied()
        .filter(|&measure| data.last_outside(measure))
        .collect();
    let mut text = format!(
        "Rate of those known, in quarters with {RATE_FROM_CASES} known cases or more; beside the title the last of them."
    );
    if !with_limit.is_empty() {
        text.push_str(
            " Dash over the last quarter: exact upper limit from the four quarters before it, which chance crosses once in \
             740 (0.135 %).",
        );
    }
    match outside.as_slice() {
        [] => {}
        outside => text.push_str(&format!(
            " Outside in the last quarter, look at the cases: {}.",
            names(outside)
        )),
    }
    if !without.is_empty() {
        text.push_str(&format!(
            " No limit for {}: the four quarters before hold fewer than {BASELINE_FROM_CASES} known cases, or let less than one \
             event be expected.",
            names(&without)
        ));
    }
    text
}

fn alt(cohort: &Cohort, measure: usize) -> String {
    let quarters: Vec<String> = cohort
        .quarters
        .quarters
        .iter()
        .map(|quarter| {
            let counts = quarter.counts[measure];
            format!("{} {}/{}", quarter.label(), counts.yes, counts.known())
        })
        .collect();
    format!(
        "{} by quarter: {}.",
        FOLLOWED[measure].1,
        quarters.join(", ")
    )
}

fn parts(writer: &mut Writer<'_>, cohort: &Cohort) {
    for (composite, title) in COMPOSITES {
        let prefix = format!("{composite}/");
        let of_period = |name: &str| {
            name == composite
                || name
                    .strip_prefix(&prefix)
                    .is_some_and(|part| !part.is_empty())
        };
        let rows: Vec<Option<OutcomeRow<'_>>> = cohort
            .rows
            .iter()
            .filter(|row| row.group == "all" && row.period == PeriodName::Period.word())
            .filter(|row| of_period(&row.measure))
            .map(|row| {
                let title = match row.measure.strip_prefix(&prefix) {
                    Some(part) => Rich::from(format!("\u{a0}\u{a0}{}", part_words(part))),
                    None => Rich::bold(title),
                };
                Some(OutcomeRow {
                    title,
                    row,
                    more: Vec::new(),
                })
            })
            .collect();
        let table = OutcomeTable {
            rows,
            more: Vec::new(),
            scale_pct: 100.0,
        };
        writer.block(
            2.0,
            &Stack::default()
                .with(Heading::second(format!(
                    "{title} and its parts, n {}",
                    shown(cohort, cohort.n[0])
                )))
                .with(table),
        );
    }
}

/// The name of a part as people read it.
fn part_words(part: &str) -> String {
    match part {
        "access_delivery_retrieval" => "access, delivery, retrieval".to_owned(),
        "position" => "valve in its position".to_owned(),
        "single_valve" => "one valve only".to_owned(),
        "no_moderate_regurgitation" => "no regurgitation moderate or more".to_owned(),
        "kccq_45_or_more" => "KCCQ 45 or more".to_owned(),
        "kccq_not_10_worse" => "KCCQ not more than 10 worse".to_owned(),
        _ => part
            .replace("30d", "to day 30")
            .replace("365d", "to day 365")
            .replace('_', " "),
    }
}
