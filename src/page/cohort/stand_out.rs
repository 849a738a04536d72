//! What stands out, in sentences. "Outside a limit" means "look at the cases", never more.

use super::words::{beside_words, counted, percent_of_estimate, share, share_below};
use crate::cohort::statistics::{NoLimit, percent_text};
use crate::cohort::{Cohort, Compared, PeriodName, open_width, title};
use crate::page::number::{date, digits, signed};
use crate::page::text::Rich;

/// Below this share of cases known at 30 days the page warns (house choice).
const KNOWN_WARNING_PCT: usize = 95;
/// From this many percentage points on, open bounds are named (house choice).
const OPEN_FROM_POINTS: f64 = 20.0;
/// Tail of the exact distribution from which observed deaths are named.
const TAIL: f64 = 0.025;

/// The sentences, gravest first; never empty.
pub fn sentences(cohort: &Cohort) -> Vec<Rich> {
    let mut found = Vec::new();
    deaths(cohort, &mut found);
    limits_crossed(cohort, &mut found);
    for compared in cohort
        .compared
        .iter()
        .filter(|compared| compared.stands_out())
    {
        found.push(change(cohort, compared));
    }
    for review in [&cohort.operators, &cohort.site_groups] {
        let by = match review.dimension {
            crate::cohort::Dimension::Site => "site",
            _ => "operator",
        };
        for (name, outcome) in review.flagged() {
            found.push(
                Rich::bold(format!("{outcome}, {by} {name}: ")).and(
                    "outside the 99.8 % limits over the rolling 12 months; look at the cases.",
                ),
            );
        }
    }
    let crossed = !found.is_empty();
    completeness(cohort, &mut found);
    open_bounds(cohort, &mut found);
    let quiet = power(cohort, crossed);
    if !crossed {
        found.insert(0, quiet);
    } else {
        found.push(quiet);
    }
    found.insert(0, died(cohort));
    found
}

/// Deaths to day 30 of the period: how many of all, and against the predicted risks.
fn died(cohort: &Cohort) -> Rich {
    let deaths_in = |period| {
        let row = cohort.row("death_30d", "all", period);
        row.and_then(|row| row.numerator).unwrap_or(0)
    };
    let (now, ever) = (
        deaths_in(PeriodName::Period),
        deaths_in(PeriodName::SinceStart),
    );
    let known = known_at_30_days(cohort).map_or(0, |(known, _)| known);
    let mut text = if known == 0 {
        " none can be told, since no case of the period is known at 30 days.".to_owned()
    } else {
        format!(
            " {now} observed among {} known in the period.",
            counted(known, "case")
        )
    };
    if cohort.undated_deaths > 0 {
        text.push_str(&format!(
            " {} without a day that can be used, in no rate.",
            counted(cohort.undated_deaths, "death")
        ));
    }
    let (n, all) = (cohort.n[0], cohort.n[2]);
    if ever > 0 && n < all {
        let which = match (now, ever) {
            (1, 1) => "The one death".to_owned(),
            _ if now == ever => format!("All {ever} deaths"),
            _ => format!("{now} of the {ever} deaths"),
        };
        text.push_str(&format!(
            " {which} within 30 days since the start fell in this period, which holds {n} of the {all} cases."
        ));
    }
    text.push_str(&against_risk(cohort));
    Rich::bold("Deaths to day 30:").and(text)
}

fn against_risk(cohort: &Cohort) -> String {
    let deaths = &cohort.deaths[0].deaths;
    let Some(row) = cohort.of_period("deaths_observed_expected") else {
        return String::new();
    };
    if deaths.cases == 0 {
        return " No case has both outcome and predicted risk: none can be held against a prediction."
            .to_owned();
    }
    let start = format!(
        " Of the {} that have a predicted risk too, {} died and {} were expected to",
        deaths.cases,
        deaths.observed,
        digits(deaths.expected, 1)
    );
    match (row.estimate, row.low, row.high) {
        (Some(ratio), Some(low), Some(high)) => format!(
            "{start}: {} times as many (95 % {} to {}){}.",
            digits(ratio, 2),
            digits(low, 2),
            digits(high, 2),
            if (low..=high).contains(&1.0) {
                ", which chance alone could explain"
            } else {
                ", which chance alone would rarely do"
            }
        ),
        _ => format!("{start}: too few expected deaths for a ratio."),
    }
}

fn deaths(cohort: &Cohort, found: &mut Vec<Rich>) {
    for span in &cohort.deaths {
        let deaths = &span.deaths;
        if deaths.observed > 0 && deaths.chance_of_as_many <= TAIL {
            found.push(
                Rich::bold(format!("More deaths than predicted, {}: ", span.window.name.title()))
                    .and(format!(
                        "{} observed, {} expected; were every predicted risk right, as many or more would be seen \
                         with probability {}.",
                        deaths.observed,
                        digits(deaths.expected, 1),
                        probability(deaths.chance_of_as_many)
                    )),
            );
        }
    }
}

fn limits_crossed(cohort: &Cohort, found: &mut Vec<Rich>) {
    let charts = &cohort.over_time;
    if let Ok(limits) = &charts.limits {
        let crossed = limits
            .first_alarm
            .map(|at| ("alarm", at))
            .or(limits.first_alert.map(|at| ("alert", at)));
        if let Some((limit, at)) = crossed {
            let case = &charts.cases[at];
            found.push(
                Rich::bold(format!("The risk-adjusted chart crossed its {limit} limit")).and(
                    format!(
                        " at the case of {}: look at the deaths up to there.",
                        date(case.date)
                    ),
                ),
            );
        }
    }
    if let Some(last) = charts.vlad.last()
        && !last.band_95.contains(last.value)
    {
        found.push(Rich::bold("Expected minus observed deaths").and(format!(
            " over the rolling 12 months is {}, outside the 95 % band {} to {}.",
            digits(last.value, 1),
            digits(last.band_95.low, 1),
            digits(last.band_95.high, 1)
        )));
    }
}

fn change(cohort: &Cohort, compared: &Compared) -> Rich {
    let interval = compared
        .difference
        .map(|difference| (difference.estimate, difference.interval));
    let (now, before) = (compared.now, compared.before);
    let points = match interval {
        Some((estimate, interval)) => format!(
            "{} points (95 % {} to {})",
            signed(100.0 * estimate, 0),
            digits(100.0 * interval.low, 0),
            digits(100.0 * interval.high, 0)
        ),
        None => String::new(),
    };
    Rich::bold(format!("{}: ", title(compared.measure))).and(format!(
        "{} against {} in the {}, {points}.",
        share(now.yes, now.known()),
        share(before.yes, before.known()),
        beside_words(cohort)
    ))
}

fn completeness(cohort: &Cohort, found: &mut Vec<Rich>) {
    if let Some(expected) = cohort.options.expected_cases {
        let here = cohort.n[0] + cohort.withheld.len();
        if here != expected {
            found.push(
                Rich::bold(format!("{here} of {expected} expected cases")).and(format!(
                    " are here ({} counted, {} withheld): whether the others differ is not known.",
                    cohort.n[0],
                    cohort.withheld.len()
                )),
            );
        }
    }
    if let Some((known, due)) = known_at_30_days(cohort)
        && 100 * known < KNOWN_WARNING_PCT * due
    {
        found.push(Rich::bold("Known at 30 days: ").and(format!(
            "{}. Below {KNOWN_WARNING_PCT} %, observed deaths and every 30-day number could move.",
            known_of_due(known, due)
        )));
    }
    let died = cohort
        .withheld
        .iter()
        .filter(|case| case.sign_of_death == Some(true))
        .count();
    if died > 0 {
        found.push(Rich::bold(format!(
            "{} with signs of death {} in no number here.",
            counted(died, "withheld case"),
            if died == 1 { "is" } else { "are" }
        )));
    }
}

/// Cases whose state at day 30 is known, of those whose day 30 has come; `None` where masked.
pub fn known_at_30_days(cohort: &Cohort) -> Option<(usize, usize)> {
    let row = cohort.of_period("death_30d")?;
    let known = row.denominator? as usize;
    Some((known, known + row.missing?))
}

/// `56 of 59 (94.9 %)`: never as much as the share below which the page warns where it is less.
pub fn known_of_due(known: usize, due: usize) -> String {
    share_below(known, due, KNOWN_WARNING_PCT)
}

fn open_bounds(cohort: &Cohort, found: &mut Vec<Rich>) {
    let widest = cohort
        .compared
        .iter()
        .filter_map(|compared| {
            let row = cohort.of_period(compared.measure)?;
            let width = open_width(row)?;
            (width >= OPEN_FROM_POINTS).then_some((width, row))
        })
        .max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((_, row)) = widest
        && let (Some(low), Some(high), Some(missing), Some(known)) =
            (row.bound_low, row.bound_high, row.missing, row.denominator)
    {
        let known = known as usize;
        found.push(
            Rich::bold(format!("{} is the least certain: ", title(&row.measure))).and(format!(
                "anything from {} to {} %, since {} of the {} cases that are due cannot be told.",
                percent_of_estimate(low, known),
                percent_of_estimate(high, known),
                missing,
                known + missing
            )),
        );
    }
}

/// What the charts could have seen.
fn power(cohort: &Cohort, crossed: bool) -> Rich {
    let charts = &cohort.over_time;
    let start = if crossed {
        Rich::default()
    } else {
        Rich::bold("No limit was crossed. ")
    };
    let window = format!(
        "{} of the rolling 12 months with known risk and outcome",
        counted(charts.cases.len(), "case")
    );
    match &charts.limits {
        Ok(limits) => start.and(format!(
            "Over the {window}, the chart had a {} chance of raising its alert had the odds of death doubled{}.",
            whole_percent(limits.alert.power_doubled),
            if limits.alert.power_doubled < 0.8 {
                ": a quiet chart is weak evidence"
            } else {
                ""
            }
        )),
        Err(NoLimit::TooFewCases) => start.and(format!(
            "{window}: too few for a limit (20 needed), so a doubling of the odds of death would go unseen."
        )),
        Err(NoLimit::TooFewExpected) => start.and(format!(
            "{window}, less than one expected death: too few for a limit, so a doubling of the odds of death would go \
             unseen."
        )),
    }
}

fn whole_percent(part: f64) -> String {
    format!("{} %", digits(100.0 * part, 0))
}

/// A probability with as many digits as say something.
pub fn probability(value: f64) -> String {
    if value < 0.0005 {
        "below 0.0005".to_owned()
    } else if value < 0.1 {
        digits(value, 3)
    } else {
        digits(value, 2)
    }
}

/// A count of cases as a share, for other pages.
pub fn percent(count: usize, of: usize) -> String {
    percent_text(count, of).map_or_else(|| "–".to_owned(), |text| format!("{text} %"))
}
