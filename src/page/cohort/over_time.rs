//! The page of deaths over time.

use super::words::counted;
use super::writer::Writer;
use crate::cohort::statistics::{Coefficient, NoLimit, RULES_FROM_POINTS, VladPoint};
use crate::cohort::{Cohort, OverTime, RiskPoint};
use crate::figure::cohort::{deaths, quarters};
use crate::page::number::{date, digits};
use crate::page::text::Paragraph;

/// Fewer cases than this are not drawn.
const DRAWN_FROM: usize = 2;

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    let charts = &cohort.over_time;
    writer.section("Over time");
    writer.heading(
        0.0,
        format!(
            "Deaths to day 30 against predicted risk, rolling 12 months: {} of {} cases",
            charts.cases.len(),
            charts.n
        ),
    );
    if charts.cases.len() < DRAWN_FROM {
        writer.block(
            0.5,
            &Paragraph::body("Fewer than two cases with risk and outcome known: nothing is drawn."),
        );
    } else {
        writer.figure(
            1.0,
            56.0,
            vlad_alt(&charts.cases, &charts.vlad),
            |fonts, area| deaths::expected_minus_observed(fonts, area, &charts.cases, &charts.vlad),
        );
        writer.figure(1.0, 46.0, cusum_alt(charts), |fonts, area| {
            deaths::cusum(fonts, area, charts)
        });
        writer.block(0.5, &Paragraph::body(limits(charts)));
    }
    writer.block(0.5, &Paragraph::small(not_shown(cohort)));
    writer.block(0.5, &Paragraph::small(calibration(cohort)));
    three_years(writer, cohort);
    volume(writer, cohort);
}

/// The same line over three years, where they hold more than the twelve months.
fn three_years(writer: &mut Writer<'_>, cohort: &Cohort) {
    let long = &cohort.three_years;
    writer.heading(
        2.5,
        format!(
            "The same over three years: {} of {} cases",
            long.cases.len(),
            long.n
        ),
    );
    if long.cases.len() < DRAWN_FROM {
        writer.block(
            0.5,
            &Paragraph::body("Fewer than two cases with risk and outcome known: nothing is drawn."),
        );
        return;
    }
    if long.n == cohort.over_time.n {
        writer.block(
            0.5,
            &Paragraph::body(
                "No case is older than the twelve months: the chart above has them all.",
            ),
        );
        return;
    }
    writer.figure(
        1.0,
        36.0,
        vlad_alt(&long.cases, &long.vlad),
        |fonts, area| deaths::expected_minus_observed(fonts, area, &long.cases, &long.vlad),
    );
    let earlier = match long.earlier {
        0 => String::new(),
        earlier => format!(" The {earlier} earlier ones are left out."),
    };
    writer.block(
        0.5,
        &Paragraph::small(format!(
            "From {} to {}, begun at 0 on its first case; bands as above.{earlier}",
            date(long.window.0),
            date(long.window.1)
        )),
    );
}

fn vlad_alt(cases: &[RiskPoint], points: &[VladPoint]) -> String {
    points.last().map_or_else(String::new, |last| {
        format!(
            "Expected minus observed deaths over {}: ends at {} with {} observed and {} expected; 95 % band {} to {}.",
            counted(cases.len(), "case"),
            digits(last.value, 1),
            last.observed,
            digits(last.expected, 1),
            digits(last.band_95.low, 1),
            digits(last.band_95.high, 1)
        )
    })
}

fn cusum_alt(charts: &OverTime) -> String {
    let most = charts.cusum.iter().copied().fold(0.0, f64::max);
    format!(
        "Risk-adjusted CUSUM for doubled odds of death over {}: highest {}. {}",
        counted(charts.cases.len(), "case"),
        digits(most, 2),
        limits(charts)
    )
}

fn limits(charts: &OverTime) -> String {
    match &charts.limits {
        Ok(limits) => {
            let crossed = |at: Option<usize>| {
                at.map_or("not crossed".to_owned(), |at| {
                    format!("first crossed on {}", date(charts.cases[at].date))
                })
            };
            let percent = |part: f64| digits(100.0 * part, 0);
            format!(
                "Alert limit {} ({}): 5 % false signals over the {}, one in {} cases on average if every risk is right. Alarm \
                 limit {} ({}): 1 %, one in {} cases. What the chart can see: the alert is raised with probability {} % if \
                 the odds of death double, {} % if they triple.{}",
                digits(limits.alert.limit, 2),
                crossed(limits.first_alert),
                counted(charts.cases.len(), "case"),
                digits(limits.alert.cases_to_false_signal, 0),
                digits(limits.alarm.limit, 2),
                crossed(limits.first_alarm),
                digits(limits.alarm.cases_to_false_signal, 0),
                percent(limits.alert.power_doubled),
                percent(limits.alert.power_tripled),
                if limits.alert.power_doubled < 0.8 {
                    " A quiet chart is weak evidence."
                } else {
                    ""
                }
            )
        }
        Err(NoLimit::TooFewCases) => {
            "No limit is drawn: fewer than 20 cases. A line without limits is no evidence either way.".to_owned()
        }
        Err(NoLimit::TooFewExpected) => {
            "No limit is drawn: less than one expected death. A line without limits is no evidence either way.".to_owned()
        }
    }
}

fn not_shown(cohort: &Cohort) -> String {
    let charts = &cohort.over_time;
    let left_out = &charts.not_shown;
    let mut text = format!(
        "Risk: {}. Not on the charts: {} not yet 30 days old ({} so far), {} with the state at day 30 unknown, {} without a \
         risk ({}).",
        cohort.options.risk_model.name(),
        left_out.pending,
        counted(left_out.pending_deaths, "death"),
        left_out.outcome_unknown,
        left_out.risk_unknown,
        counted(left_out.deaths_without_risk, "death"),
    );
    if !charts.without_risk.is_empty() {
        text.push_str(&format!(" Without a risk: {}.", without_risk(charts)));
    }
    if let Some(last) = charts.cases.last() {
        text.push_str(&format!(" The last case shown is of {}.", date(last.date)));
    }
    if left_out.earlier > 0 {
        text.push_str(&format!(
            " The {} earlier ones of the 12 months are left out: the latest {} are shown.",
            left_out.earlier,
            charts.cases.len()
        ));
    }
    text.push_str(
        " Order: procedure date, then case key. Bands hold at each point by itself, not for the whole line. Dots: deaths.",
    );
    text
}

/// The cases that have an outcome and no predicted risk, the deaths among them marked.
fn without_risk(charts: &OverTime) -> String {
    const MOST: usize = 30;
    let mut named: Vec<String> = charts
        .without_risk
        .iter()
        .take(MOST)
        .map(|(case, died)| format!("{case}{}", if *died { " (died)" } else { "" }))
        .collect();
    let more = charts.without_risk.len().saturating_sub(MOST);
    if more > 0 {
        named.push(format!("{more} more"));
    }
    named.join(", ")
}

fn calibration(cohort: &Cohort) -> String {
    let since = &cohort.deaths[2];
    let odds = |coefficient: Coefficient| {
        format!(
            "{} (95 % {} to {})",
            digits(coefficient.estimate.exp(), 2),
            digits(coefficient.interval.low.exp(), 2),
            digits(coefficient.interval.high.exp(), 2)
        )
    };
    let intercept = since.calibration.intercept.map_or_else(
        || "not estimable, since nobody or everybody died".to_owned(),
        |intercept| format!("odds of death against predicted {}", odds(intercept)),
    );
    // A slope is a ratio of log odds already: no exponential.
    let slope = since.calibration.slope.map_or_else(String::new, |slope| {
        format!(
            "; slope {} (95 % {} to {})",
            digits(slope.estimate, 2),
            digits(slope.interval.low, 2),
            digits(slope.interval.high, 2)
        )
    });
    let clamped = match since.calibration.clamped {
        0 => String::new(),
        clamped => format!(
            " {} outside 0.05 to 99.95 % taken as that limit.",
            counted(clamped, "risk")
        ),
    };
    format!(
        "Calibration since the start, n {}, {}: {intercept}{slope}.{clamped} If the risk model is out of date, every line \
         drifts.",
        since.calibration.cases,
        counted(since.calibration.events, "death")
    )
}

fn volume(writer: &mut Writer<'_>, cohort: &Cohort) {
    let data = &cohort.quarters;
    let n: usize = cohort.n[2];
    writer.heading(
        2.5,
        format!("Number of cases by quarter, since the start, n {n}"),
    );
    if data.quarters.is_empty() {
        writer.block(0.5, &Paragraph::body("No case: nothing is drawn."));
        return;
    }
    let alt = format!(
        "Cases in each quarter: {}.",
        data.quarters
            .iter()
            .map(|quarter| format!("{} {}", quarter.label(), quarter.cases))
            .collect::<Vec<_>>()
            .join(", ")
    );
    writer.figure(1.0, 36.0, alt, |fonts, area| {
        quarters::volume(fonts, area, data)
    });
    writer.block(0.5, &Paragraph::small(run_words(cohort)));
}

fn run_words(cohort: &Cohort) -> String {
    let data = &cohort.quarters;
    let Some(run) = &data.volume else {
        return String::new();
    };
    let mut text = match run.rules {
        Some(rules) => format!(
            "Run chart, {} useful quarters: longest run {} (more than {} would signal), {} crossings of the median (fewer \
             than {} would signal): {}.",
            run.useful,
            run.longest_run,
            rules.longest_allowed,
            run.crossings,
            rules.crossings_needed,
            if rules.signal() {
                "the number of cases has shifted"
            } else {
                "no signal"
            }
        ),
        None => format!(
            "Run chart: {} useful quarters, fewer than {RULES_FROM_POINTS}: drawn, and nothing is said.",
            run.useful
        ),
    };
    if data.earlier > 0 {
        text.push_str(&format!(
            " {} earlier quarters are not drawn.",
            data.earlier
        ));
    }
    if data.empty_since > 0 {
        text.push_str(&format!(
            " {} since without a case, not drawn.",
            counted(data.empty_since, "whole quarter")
        ));
    }
    let to = cohort.options.counted_to();
    let last = data.quarters.last();
    if last.is_some_and(|last| last.goes_on_after(to)) {
        text.push_str(&format!(" The last quarter is counted to {}.", date(to)));
    }
    text
}
