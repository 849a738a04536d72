//! The first page: what the period comes to.

use super::outcome_table::{OutcomeRow, OutcomeTable};
use super::stand_out::{known_at_30_days, known_of_due, probability, sentences};
use super::words::{beside_words, counted, shown};
use super::writer::Writer;
use crate::cohort::{Cohort, Compared, Deaths, NOT_RECORDED, OUTCOMES, PullCase, Taken};
use crate::page::number::{date, digits};
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Heading, Items, Paragraph, Rich, Stack};

/// Cases to pull that the first page names at least, on a second sheet if need be; as many more as it has room for. All
/// follow on their own page.
const PULLED_FIRST: usize = 16;
/// No page has room for more lines than this.
const PULLED_MOST: usize = 60;

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.section("Cohort summary");
    writer.side_by_side(0.0, &[&coverage(cohort), &deaths(cohort)]);
    writer.block(2.0, &stands_out(cohort));
    writer.block(2.0, &outcomes(cohort));
    writer.block(0.8, &Paragraph::small(outcome_notes(cohort)));
    let withholds = !cohort.withheld.is_empty() && !cohort.options.deidentify;
    let most = if withholds {
        PULLED_FIRST
    } else {
        cohort.pull.len().clamp(PULLED_FIRST, PULLED_MOST)
    };
    let pulled = (PULLED_FIRST..=most)
        .rev()
        .map(|named| pulled(cohort, named))
        .find(|list| writer.has_room(2.0, list))
        .unwrap_or_else(|| pulled(cohort, PULLED_FIRST));
    writer.block(2.0, &pulled);
    if withholds {
        withheld(writer, cohort);
    }
}

fn coverage(cohort: &Cohort) -> Stack<'static> {
    let mut lines = Vec::new();
    let deidentified = cohort.options.deidentify;
    let n = cohort.n[0];
    let cases = match cohort.options.expected_cases {
        _ if deidentified => shown(cohort, n),
        Some(expected) => format!("{n} of {expected} expected"),
        None => format!("{n}; how many to expect was not given"),
    };
    lines.push((Rich::bold("Cases in the period"), Rich::from(cases)));
    let known = known_at_30_days(cohort).map_or_else(
        || Rich::from("masked"),
        |(known, due)| Rich::bold(known_of_due(known, due)),
    );
    lines.push((Rich::bold("Known at 30 days, of those due"), known));
    if let Some(pending) = cohort.of_period("death_30d").and_then(|row| row.pending) {
        let deaths = match cohort.pending_deaths.len() {
            0 => "no death among them so far".to_owned(),
            deaths => format!("{} among them so far, in no rate", counted(deaths, "death")),
        };
        let text = if pending == 0 {
            "none".to_owned()
        } else if deidentified {
            pending.to_string()
        } else {
            format!("{pending}; {deaths}")
        };
        lines.push(("Day 30 not yet reached".into(), text.into()));
    }
    if !deidentified {
        lines.push((
            "Rolling 12 months · since the start".into(),
            format!("{} · {} cases", cohort.n[1], cohort.n[2]).into(),
        ));
    }
    let died = cohort
        .withheld
        .iter()
        .filter(|case| case.sign_of_death == Some(true))
        .count();
    lines.push((
        "Withheld, in no number here".into(),
        match (cohort.withheld.len(), died) {
            (0, _) => "none".into(),
            (withheld, _) if deidentified => shown(cohort, withheld).into(),
            (withheld, 0) => format!("{withheld}; no sign of death among those read").into(),
            (withheld, died) => Rich::bold(format!("{withheld}; {died} with signs of death")),
        },
    ));
    Stack::default()
        .with(Heading::second("What was counted"))
        .with(crate::page::table::Pairs::body(lines))
        .with_gap(0.6, Paragraph::small(sites(cohort)))
}

fn sites(cohort: &Cohort) -> String {
    if cohort.options.deidentify {
        return "Sites: left out of a de-identified summary.".to_owned();
    }
    let listed: Vec<String> = cohort
        .sites
        .iter()
        .filter(|(name, n)| *n > 0 || name != NOT_RECORDED)
        .map(|(name, n)| format!("{name} {n}"))
        .collect();
    format!("Sites in the period: {}.", listed.join(" · "))
}

fn deaths(cohort: &Cohort) -> Stack<'static> {
    let columns = vec![
        Column::left(Width::Natural),
        Column::right(Width::Natural),
        Column::right(Width::Natural),
        Column::right(Width::Share(1.3)),
        Column::right(Width::Share(1.0)),
    ];
    let header = [
        "",
        "observed",
        "expected",
        "ratio (95 %)",
        "chance of as many",
    ]
    .map(Rich::from)
    .to_vec();
    let spans = if cohort.options.deidentify { 1 } else { 3 };
    let rows = cohort
        .deaths
        .iter()
        .take(spans)
        .map(|span| deaths_row(cohort, span))
        .collect();
    Stack::default()
        .with(Heading::second("Deaths to day 30, observed and expected"))
        .with(Table::body(columns, Some(header), rows))
        .with_gap(
            0.6,
            Paragraph::small(format!(
                "Expected: {}. Only cases 30 days old or more with risk and outcome known count on either side; it is \
                 a model of heart surgery, so the ratio is for watching change, not for a verdict. No ratio below one \
                 expected death. Exact Poisson limits. Chance: were every predicted risk right, of as many deaths or more.",
                cohort.options.risk_model.origin()
            )),
        )
}

fn deaths_row(cohort: &Cohort, span: &Deaths) -> Vec<Rich> {
    let deaths = &span.deaths;
    let row = cohort.row("deaths_observed_expected", "all", span.window.name);
    let Some(row) = row.filter(|row| row.n.is_some()) else {
        return vec![
            span.window.name.title().into(),
            "masked".into(),
            Rich::default(),
            Rich::default(),
            Rich::default(),
        ];
    };
    let ratio = match (row.estimate, row.low, row.high) {
        (Some(ratio), Some(low), Some(high)) => format!(
            "{} ({} to {})",
            digits(ratio, 2),
            digits(low, 2),
            digits(high, 2)
        ),
        _ => "too few expected".to_owned(),
    };
    vec![
        format!("{}, n {}", span.window.name.title(), deaths.cases).into(),
        Rich::bold(deaths.observed.to_string()),
        Rich::bold(digits(deaths.expected, 2)),
        ratio.into(),
        if deaths.cases == 0 {
            "–".into()
        } else {
            probability(deaths.chance_of_as_many).into()
        },
    ]
}

fn stands_out(cohort: &Cohort) -> Stack<'static> {
    if cohort.options.deidentify {
        return Stack::default()
            .with(Heading::second("What stands out"))
            .with(Paragraph::body(
                "Signals rest on single deaths and small counts: they are read from the internal summary.",
            ));
    }
    Stack::default()
        .with(Heading::second("What stands out"))
        .with(Items::numbered(sentences(cohort)))
}

fn outcomes(cohort: &Cohort) -> Stack<'_> {
    let rows = OUTCOMES
        .iter()
        .flat_map(|&(measure, title)| {
            let gap = (measure == "technical_success").then_some(None);
            let row = cohort.of_period(measure).map(|row| {
                Some(OutcomeRow {
                    title: Rich::from(title),
                    row,
                    more: before(cohort, measure),
                })
            });
            gap.into_iter().chain(row)
        })
        .collect();
    let more =
        if (cohort.previous.is_some() || cohort.earlier.is_some()) && !cohort.options.deidentify {
            // As wide as its longest count.
            let longest = rows_before(cohort).max().unwrap_or(0) as f64;
            vec![
                (before_head(cohort), (1.6 * longest).max(13.0)),
                ("difference, points\n(95 %)", 23.0),
            ]
        } else {
            Vec::new()
        };
    Stack::default()
        .with(Heading::second(format!(
            "Outcomes of the period, n {}",
            shown(cohort, cohort.n[0])
        )))
        .with(OutcomeTable {
            rows,
            more,
            scale_pct: 100.0,
        })
}

fn before_head(cohort: &Cohort) -> &'static str {
    match beside_words(cohort) {
        "earlier file" => "earlier\nfile",
        "earlier period" => "earlier\nperiod",
        _ => "12 months\nbefore",
    }
}

/// Lengths of the counts of the span before.
fn rows_before(cohort: &Cohort) -> impl Iterator<Item = usize> {
    OUTCOMES.iter().filter_map(|(measure, _)| {
        before(cohort, measure)
            .first()
            .map(|text| text.chars().count())
    })
}

fn before(cohort: &Cohort, measure: &str) -> Vec<String> {
    if (cohort.previous.is_none() && cohort.earlier.is_none()) || cohort.options.deidentify {
        return Vec::new();
    }
    let Some(compared) = cohort
        .compared
        .iter()
        .find(|compared| compared.measure == measure)
    else {
        return vec![String::new(), String::new()];
    };
    vec![
        format!("{}/{}", compared.before.yes, compared.before.known()),
        difference(compared),
    ]
}

fn difference(compared: &Compared) -> String {
    compared.difference.map_or_else(
        || "–".to_owned(),
        |difference| {
            format!(
                "{} ({} to {})",
                crate::page::number::signed(100.0 * difference.estimate, 0),
                digits(100.0 * difference.interval.low, 0),
                digits(100.0 * difference.interval.high, 0)
            )
        },
    )
}

fn outcome_notes(cohort: &Cohort) -> String {
    let mut notes = "VARC-3 definitions. Dot and line: estimate and 95 % Wilson interval; grey: where the rate could lie \
        were every missing case a no, or a yes. 30-day measures count cases whose day 30 is reached; a complication that \
        was not recorded counts as absent only where the state at day 30 is known. New pacemaker leaves out patients with \
        one before, kidney injury those on dialysis."
        .to_owned();
    if cohort.options.deidentify {
        return notes;
    }
    if let Some((from, to)) = cohort.previous {
        notes.push_str(&format!(
            " {}: procedures of {} to {}; difference: period minus that, with Newcombe's interval.",
            match beside_words(cohort) {
                "earlier file" => "Earlier file",
                "earlier period" => "Earlier period",
                _ => "12 months before",
            },
            date(from),
            date(to)
        ));
    }
    if let Some(taken) = cohort.earlier {
        notes.push_str(&earlier_file(&taken));
    }
    if cohort.n[0] < 100 {
        notes.push_str(&format!(
            " Small numbers are small: with {} one event more moves a rate by {} points; of twenty such intervals, one is \
             expected to miss the truth.",
            counted(cohort.n[0], "case"),
            digits(100.0 / cohort.n[0].max(1) as f64, 0)
        ));
    }
    notes
}

/// What was taken from the earlier period's own file.
fn earlier_file(taken: &Taken) -> String {
    let mut text = format!(" Earlier file: {} stand beside", counted(taken.n, "case"));
    if taken.withheld > 0 {
        text.push_str(&format!(", {} withheld", taken.withheld));
    }
    if taken.not_earlier > 0 {
        text.push_str(&format!(
            ", {} left out because they belong to this period or came after it began",
            taken.not_earlier
        ));
    }
    text + "."
}

fn pulled(cohort: &Cohort, named: usize) -> Stack<'static> {
    if cohort.options.deidentify {
        return Stack::default();
    }
    let in_period = cohort.pull.iter().filter(|case| case.in_period).count();
    let earlier = match cohort.pull.len() - in_period {
        0 => String::new(),
        others => format!(
            ", and {} outside it with something new",
            counted(others, "case")
        ),
    };
    let heading = Heading::second(format!(
        "Cases to pull: {in_period} of {} in the period{earlier}",
        cohort.n[0]
    ));
    let items: Vec<Rich> = cohort.pull.iter().take(named).map(pull_line).collect();
    let rest = cohort.pull.len().saturating_sub(named);
    let mut list = Items::numbered(items);
    list.mark_mm = 4.6;
    let mut stack = Stack::default().with(heading).with(list);
    if rest > 0 {
        stack = stack.with(Paragraph::small(format!(
            "{} more, all with their reasons, on the page “Cases to pull”.",
            counted(rest, "case")
        )));
    }
    if cohort.pull.is_empty() {
        stack = stack.with(Paragraph::body("None by the rules of the methods page."));
    }
    stack
}

/// Key, date and reasons of one case.
fn pull_line(case: &PullCase) -> Rich {
    Rich::bold(case.case_id.to_string()).and(format!(
        " (procedure {}): {}",
        date(case.procedure_date),
        case.reasons.join("; ")
    ))
}

fn withheld(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.heading(
        2.0,
        format!("Withheld: {}", counted(cohort.withheld.len(), "case")),
    );
    let rows = cohort
        .withheld
        .iter()
        .map(|case| {
            let id = if case.case_id.is_empty() {
                "no id".to_owned()
            } else {
                case.case_id.to_string()
            };
            vec![
                Rich::bold(id),
                format!("{}, line {}", case.place.file, case.place.line).into(),
                case.reason.clone().into(),
                match case.sign_of_death {
                    Some(true) => Rich::bold("signs of death"),
                    Some(false) => "no sign of death".into(),
                    None => "death not read".into(),
                },
            ]
        })
        .collect();
    let table = Table::body(
        vec![
            Column::left(Width::Natural),
            Column::left(Width::Natural),
            Column::left(Width::Share(1.0)),
            Column::left(Width::Natural),
        ],
        None,
        rows,
    );
    writer.table(0.0, &table);
}
