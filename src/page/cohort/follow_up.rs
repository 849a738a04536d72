//! The page of follow-up.

use super::words::{counted, share};
use super::writer::Writer;
use crate::assess::FollowUpState;
use crate::cohort::statistics::SHOWN_FROM_AT_RISK;
use crate::cohort::{Cohort, FollowUpReview, PeriodName};
use crate::figure::cohort::survival;
use crate::page::number::{date, digits};
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Paragraph, Rich};

/// No curve with fewer events than this.
const CURVE_FROM_EVENTS: usize = 5;
/// Most patients named.
const MOST_NAMED: usize = 60;

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    let review = &cohort.follow_up;
    writer.section("Follow-up");
    writer.heading(
        0.0,
        format!(
            "Survival from the first procedure, since the start: {}, {}",
            counted(review.patients, "patient"),
            counted(review.deaths, "death")
        ),
    );
    survival_curve(writer, cohort);
    writer.heading(2.5, format!(
            "Haemodynamic deterioration of the valve, since the start: {} of {} cases have a reference echo",
            review.with_reference, review.n
        ));
    deterioration(writer, cohort);
    writer.heading(2.5, format!("Visits since the start, n {}", review.n));
    visits(writer, cohort);
    waiting(writer, cohort);
}

/// Writes what a de-identified summary may say of survival.
pub fn write_released(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.section("Follow-up");
    writer.heading(
        0.0,
        "Survival from the first procedure, patients of the period",
    );
    writer.block(0.0, &Paragraph::body(at_days(cohort, PeriodName::Period)));
}

fn survival_curve(writer: &mut Writer<'_>, cohort: &Cohort) {
    let review = &cohort.follow_up;
    let drawn = review
        .survival
        .as_ref()
        .filter(|curve| curve.n() >= SHOWN_FROM_AT_RISK);
    if let Some(curve) = drawn {
        writer.figure(
            0.5,
            66.0,
            at_days(cohort, PeriodName::SinceStart),
            |fonts, area| survival::survival(fonts, area, curve),
        );
    } else {
        writer.block(
            0.0,
            &Paragraph::body(format!(
                "Fewer than {SHOWN_FROM_AT_RISK} patients: no curve is drawn."
            )),
        );
    }
    writer.block(
        0.5,
        &Paragraph::body(at_days(cohort, PeriodName::SinceStart)),
    );
    writer.block(0.5, &Paragraph::small(median(review)));
}

/// Survival at the three days, with limits and numbers at risk.
fn at_days(cohort: &Cohort, period: PeriodName) -> String {
    let days = [
        ("survival_30d", "30 days"),
        ("survival_365d", "1 year"),
        ("survival_730d", "2 years"),
    ];
    let texts: Vec<String> = days
        .iter()
        .filter_map(|(measure, words)| {
            let row = cohort.row(measure, "all", period)?;
            let at_risk = row.denominator? as usize;
            Some(match (row.estimate, row.low, row.high) {
                (None, ..) => format!("{words}: nobody followed that long"),
                (Some(estimate), Some(low), Some(high)) => format!(
                    "{words} {} % (95 % {} to {}), {at_risk} at risk",
                    percent(estimate),
                    percent(low),
                    percent(high)
                ),
                (Some(estimate), ..) => {
                    format!("{words} {} %, {at_risk} at risk", digits(estimate, 0))
                }
            })
        })
        .collect();
    if texts.is_empty() {
        "Survival is masked or cannot be given.".to_owned()
    } else {
        format!("Alive at {}.", texts.join("; "))
    }
}

/// Whole percent, one decimal where whole percent would read 0 or 100 and it is not.
fn percent(value: f64) -> String {
    let at_an_end = !(0.5..=99.5).contains(&value) && value > 0.0 && value < 100.0;
    digits(value, usize::from(at_an_end))
}

fn median(review: &FollowUpReview) -> String {
    let mut text = match review.median_follow_up.and_then(|median| median.estimate) {
        Some(days) => format!(
            "Median follow-up {} days (reverse Kaplan-Meier).",
            digits(days, 0)
        ),
        None => "Median follow-up cannot be given.".to_owned(),
    };
    if review.undated > 0 {
        text.push_str(&format!(
            " {} without a usable date of death: censored where last known alive, or not on the curve.",
            counted(review.undated, "patient")
        ));
    }
    text.push_str(&format!(
        " Kaplan-Meier, log-log limits, grey; the curve ends where fewer than {SHOWN_FROM_AT_RISK} are at risk. The first \
         procedure of a patient counts, death or contact from any of the patient's procedures."
    ));
    text
}

fn deterioration(writer: &mut Writer<'_>, cohort: &Cohort) {
    let review = &cohort.follow_up;
    match &review.deterioration {
        Some(curve) if review.deteriorations >= CURVE_FROM_EVENTS => {
            writer.figure(
                0.5,
                52.0,
                format!(
                    "Cumulative incidence of deterioration with death competing, {} events.",
                    review.deteriorations
                ),
                |fonts, area| survival::incidence(fonts, area, curve),
            );
        }
        _ => writer.block(
            0.0,
            &Paragraph::small(format!(
                "Fewer than {CURVE_FROM_EVENTS} first deteriorations: no curve is drawn."
            )),
        ),
    }
    let at = |measure: &str, words: &str| {
        let row = cohort.row(measure, "all", PeriodName::SinceStart)?;
        let at_risk = row.denominator? as usize;
        Some(match (row.estimate, row.low, row.high) {
            (None, ..) => format!("{words}: no valve watched by echo that long"),
            (Some(estimate), Some(low), Some(high)) => format!(
                "{words} {} % (95 % {} to {}), {at_risk} at risk",
                percent(estimate),
                percent(low),
                percent(high)
            ),
            (Some(estimate), ..) => format!("{words} {} %, {at_risk} at risk", digits(estimate, 0)),
        })
    };
    let texts: Vec<String> = [
        at("deterioration_365d", "1 year"),
        at("deterioration_1095d", "3 years"),
    ]
    .into_iter()
    .flatten()
    .collect();
    writer.block(
        0.3,
        &Paragraph::body(format!(
            "First found stage 2 or 3: {}; competing deaths {}. Cumulative incidence at {}.",
            review.deteriorations,
            review.competing,
            texts.join("; ")
        )),
    );
    writer.block(
        0.3,
        &Paragraph::small(
            "The day is that of the echo that showed it: it began earlier. Cases without later echoes end at their last one.",
        ),
    );
}

fn visits(writer: &mut Writer<'_>, cohort: &Cohort) {
    let review = &cohort.follow_up;
    let states: Vec<(FollowUpState, &str)> = vec![
        (FollowUpState::NotYetDue, "not yet due"),
        (FollowUpState::Due, "due now"),
        (FollowUpState::Overdue, "overdue"),
        (FollowUpState::Lost, "lost"),
        (FollowUpState::Deceased, "deceased"),
    ];
    let words: Vec<String> = states
        .iter()
        .map(|(state, words)| format!("{words} {}", review.states[*state as usize]))
        .collect();
    writer.block(
        0.0,
        &Paragraph::body(format!("On the as-of date: {}.", words.join(" · "))),
    );
    let rows = review
        .visits
        .iter()
        .map(|visit| {
            let title = match visit.years {
                0 => "30-day visit".to_owned(),
                1 => "1 year".to_owned(),
                years => format!("{years} years"),
            };
            vec![
                Rich::from(title),
                Rich::bold(share(visit.done, visit.closed)),
                (visit.closed - visit.done).to_string().into(),
                visit.open.to_string().into(),
                visit.died_before.to_string().into(),
            ]
        })
        .collect();
    writer.table(
        0.8,
        &Table::body(
            vec![
                Column::left(Width::Fixed(30.0)),
                Column::right(Width::Fixed(40.0)),
                Column::right(Width::Fixed(24.0)),
                Column::right(Width::Fixed(30.0)),
                Column::right(Width::Fixed(40.0)),
            ],
            Some(
                [
                    "visit",
                    "done, of those done or past",
                    "missed",
                    "window open, not done",
                    "died before it closed",
                ]
                .map(Rich::from)
                .to_vec(),
            ),
            rows,
        ),
    );
}

fn waiting(writer: &mut Writer<'_>, cohort: &Cohort) {
    let waiting = &cohort.follow_up.waiting;
    for (state, title) in [
        (FollowUpState::Overdue, "Overdue"),
        (FollowUpState::Lost, "Lost to follow-up"),
    ] {
        let of_state: Vec<_> = waiting.iter().filter(|case| case.state == state).collect();
        let named: Vec<String> = of_state
            .iter()
            .take(MOST_NAMED)
            .map(|case| {
                let due = case
                    .due
                    .map_or(String::new(), |due| format!("due {}, ", date(due)));
                format!("{} ({due}alive {})", case.case_id, date(case.alive_to))
            })
            .collect();
        let more = match of_state.len().saturating_sub(MOST_NAMED) {
            0 => String::new(),
            more => format!(", and {more} more in worklist.csv"),
        };
        let text = if named.is_empty() {
            "nobody".to_owned()
        } else {
            format!("{}{more}", named.join(", "))
        };
        writer.block(
            0.8,
            &Paragraph::body(
                Rich::bold(format!("{title}, {}: ", of_state.len())).and(format!("{text}.")),
            ),
        );
    }
}
