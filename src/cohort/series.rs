//! cohort-series.csv: the points behind the charts, one row a point.
//!
//! | series | group | x | y | low, high | n |
//! | --- | --- | --- | --- | --- | --- |
//! | `outcome` | measure of cohort.csv | blank | rate (%) | Wilson 95 % | known |
//! | `outcome_bounds` | the same | blank | blank | every missing a no, a yes | known and missing |
//! | `mean_gradient` | case | 0 before, 1 judging echo | mmHg | | |
//! | `expected_minus_observed` | rolling_12_months | case, from 1 | deaths | 95 % band | |
//! | `expected_minus_observed_99` | the same | case | deaths | 99 % band | |
//! | `cusum` | the same | case | value | blank, alarm limit | |
//! | `expected_minus_observed` | three_years | case | deaths | 95 % band | |
//! | `difference` | measure of cohort.csv | blank | percentage points | Newcombe 95 % | known, both spans |
//! | `nyha_change` | class before | class after | cases | | pairs |
//! | `deaths_by_operator`, … | operator, site or route | expected deaths | observed / expected | exact Poisson 95 % | with risk |
//! | `fluoroscopy_by_operator`, … | operator or route | case | min; mL | | |
//! | `fluoroscopy_blocks_by_operator`, … | the same | first-last case | median | quartiles | known |
//! | `observed_minus_expected_by_operator`, `observed_minus_crude_…` | the same | case | deaths | 95 % band | |
//! | `cases_between_events` | measure | event, from 1; last: since | cases | | |
//! | `cases_by_quarter` | all | quarter | cases | | |
//! | `rate_by_quarter` | measure | quarter | rate (%) | Wilson 95 % | known |
//! | `oversizing_gradient`, `oversizing_paravalvular` | mechanism | over-sizing (%) | mmHg; grade 0 to 4 | | |
//! | `early_safety_by_operator`, … | operator or site | known cases | rate (%) | Wilson 95 % | known |
//! | `survival` | since_start | day | alive (%) | log-log 95 % | at risk |
//! | `deterioration` | since_start | day | deteriorated (%) | log-log 95 % | at risk |
//! | `completeness` | field of the core set | blank | filled (%) | | due |
//!
//! `note` says in words what a point is: the case, yes/known, events. De-identified, only the first two are written.

use super::Cohort;
use super::experience::{Experience, PROCESS};
use super::group::Dimension;
use super::operators::{COMPARED, GroupsReview};
use super::period::PeriodName;
use super::quarters::FOLLOWED;
use super::statistics::{ratio as observed_over_expected, wilson};
use super::table::{number, written};
use crate::record::Choice;

/// Header of cohort-series.csv.
pub const SERIES_COLUMNS: [&str; 10] = [
    "series", "group", "x", "x_unit", "y", "y_unit", "low", "high", "n", "note",
];

/// One point.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SeriesPoint {
    /// Which chart.
    pub series: String,
    /// Which line or group of it.
    pub group: String,
    /// Position; a number, or a quarter.
    pub x: String,
    /// Its unit.
    pub x_unit: &'static str,
    /// Height.
    pub y: Option<f64>,
    /// Its unit.
    pub y_unit: &'static str,
    /// Lower limit or edge of a band.
    pub low: Option<f64>,
    /// Upper limit or edge of a band.
    pub high: Option<f64>,
    /// Cases behind the point.
    pub n: Option<usize>,
    /// In words.
    pub note: String,
}

/// The points of each chart, after those that a de-identified summary may show.
const CHARTS: [fn(&Cohort) -> Vec<SeriesPoint>; 13] = [
    |cohort| gradients(cohort).collect(),
    differences,
    nyha,
    deaths,
    three_years,
    quarters,
    oversizing,
    |cohort| groups(&cohort.operators),
    |cohort| groups(&cohort.site_groups),
    |cohort| groups(&cohort.routes),
    |cohort| courses(&cohort.experience, "operator"),
    |cohort| courses(&cohort.route_experience, "access"),
    |cohort| {
        follow_up(cohort)
            .into_iter()
            .chain(completeness(cohort))
            .collect()
    },
];

/// Every point, made chart after chart: a point takes more room than the case it is of.
pub fn points(cohort: &Cohort) -> impl Iterator<Item = SeriesPoint> {
    let charts = if cohort.options.deidentify {
        &[]
    } else {
        &CHARTS[..]
    };
    let charts = charts.iter().flat_map(|points| points(cohort));
    outcomes(cohort).into_iter().chain(charts)
}

/// The points as bytes.
pub fn csv_bytes(points: impl Iterator<Item = SeriesPoint>) -> Vec<u8> {
    let records = points.map(|point| {
        [
            point.series,
            point.group,
            point.x,
            point.x_unit.to_owned(),
            number(point.y),
            point.y_unit.to_owned(),
            number(point.low),
            number(point.high),
            point.n.map(|n| n.to_string()).unwrap_or_default(),
            point.note,
        ]
    });
    written(&SERIES_COLUMNS, records)
}

fn outcomes(cohort: &Cohort) -> Vec<SeriesPoint> {
    cohort
        .rows
        .iter()
        .filter(|row| row.group == "all" && row.period == PeriodName::Period.word())
        .filter(|row| row.bound_low.is_some())
        .flat_map(|row| {
            let known = row.denominator.map(|known| known as usize);
            let rate = SeriesPoint {
                series: "outcome".into(),
                group: row.measure.to_string(),
                y: row.estimate,
                y_unit: row.unit,
                low: row.low,
                high: row.high,
                n: known,
                ..SeriesPoint::default()
            };
            let bounds = SeriesPoint {
                series: "outcome_bounds".into(),
                group: row.measure.to_string(),
                y_unit: row.unit,
                low: row.bound_low,
                high: row.bound_high,
                n: known
                    .zip(row.missing)
                    .map(|(known, missing)| known + missing),
                ..SeriesPoint::default()
            };
            [rate, bounds]
        })
        .collect()
}

fn gradients(cohort: &Cohort) -> impl Iterator<Item = SeriesPoint> {
    cohort.haemodynamics.pairs.iter().flat_map(|pair| {
        [("0", pair.before_mmhg), ("1", pair.after_mmhg)].map(|(x, gradient)| SeriesPoint {
            series: "mean_gradient".into(),
            group: pair.case_id.to_string(),
            x: x.into(),
            x_unit: "0 before, 1 judging echo",
            y: Some(gradient),
            y_unit: "mmHg",
            ..SeriesPoint::default()
        })
    })
}

fn deaths(cohort: &Cohort) -> Vec<SeriesPoint> {
    let charts = &cohort.over_time;
    let alarm = charts.limits.as_ref().ok().map(|limits| limits.alarm.limit);
    let group = PeriodName::Rolling12Months.word();
    let mut points = Vec::new();
    let cases = charts.cases.iter().zip(&charts.vlad).zip(&charts.cusum);
    for (index, ((case, vlad), &cusum)) in cases.enumerate() {
        let point = |series: &str, y, y_unit, low, high| SeriesPoint {
            series: series.into(),
            group: group.into(),
            x: (index + 1).to_string(),
            x_unit: "case",
            y: Some(y),
            y_unit,
            low,
            high,
            n: None,
            note: format!(
                "{}, {}",
                case.case_id,
                if case.died { "died" } else { "alive" }
            ),
        };
        let edges = |band: super::statistics::Interval| (Some(band.low), Some(band.high));
        let (low, high) = edges(vlad.band_95);
        points.push(point(
            "expected_minus_observed",
            vlad.value,
            "deaths",
            low,
            high,
        ));
        let (low, high) = edges(vlad.band_99);
        points.push(point(
            "expected_minus_observed_99",
            vlad.value,
            "deaths",
            low,
            high,
        ));
        points.push(point("cusum", cusum, "", None, alarm));
    }
    points
}

fn quarters(cohort: &Cohort) -> Vec<SeriesPoint> {
    let mut points = Vec::new();
    for quarter in &cohort.quarters.quarters {
        points.push(SeriesPoint {
            series: "cases_by_quarter".into(),
            group: "all".into(),
            x: quarter.label(),
            x_unit: "quarter",
            y: Some(quarter.cases as f64),
            y_unit: "cases",
            ..SeriesPoint::default()
        });
    }
    for (measure, (name, _)) in FOLLOWED.iter().enumerate() {
        let gaps = &cohort.quarters.gaps[measure];
        let listed = gaps.before_each.iter().enumerate();
        let listed = listed.map(|(event, &cases)| ((event + 1).to_string(), cases));
        for (x, cases) in listed.chain([("since the last".to_owned(), gaps.since_last)]) {
            points.push(SeriesPoint {
                series: "cases_between_events".into(),
                group: (*name).into(),
                x,
                x_unit: "event",
                y: Some(cases as f64),
                y_unit: "known cases without the event",
                ..SeriesPoint::default()
            });
        }
        for quarter in &cohort.quarters.quarters {
            let counts = quarter.counts[measure];
            points.push(SeriesPoint {
                series: "rate_by_quarter".into(),
                group: (*name).into(),
                x: quarter.label(),
                x_unit: "quarter",
                note: format!("{}/{}", counts.yes, counts.known()),
                ..rate(counts.yes, counts.known())
            });
        }
    }
    points
}

/// Period minus the span before, in percentage points.
fn differences(cohort: &Cohort) -> Vec<SeriesPoint> {
    if cohort.previous.is_none() && cohort.earlier.is_none() {
        return Vec::new();
    }
    let points = cohort.compared.iter().map(|compared| {
        let (now, before) = (compared.now, compared.before);
        let limits = compared.difference.map(|difference| difference.interval);
        SeriesPoint {
            series: "difference".into(),
            group: compared.measure.into(),
            y: compared
                .difference
                .map(|difference| 100.0 * difference.estimate),
            y_unit: "percentage points",
            low: limits.map(|limits| 100.0 * limits.low),
            high: limits.map(|limits| 100.0 * limits.high),
            n: Some(now.known() + before.known()),
            note: format!(
                "{}/{} against {}/{} before",
                now.yes,
                now.known(),
                before.yes,
                before.known()
            ),
            ..SeriesPoint::default()
        }
    });
    points.collect()
}

/// Cases by NYHA class before and after.
fn nyha(cohort: &Cohort) -> Vec<SeriesPoint> {
    const CLASSES: [&str; 4] = ["I", "II", "III", "IV"];
    let mut points = Vec::new();
    for (before, counts) in CLASSES.iter().zip(&cohort.nyha.pairs) {
        for (after, &count) in CLASSES.iter().zip(counts) {
            points.push(SeriesPoint {
                series: "nyha_change".into(),
                group: format!("{before} before"),
                x: (*after).into(),
                x_unit: "NYHA class after",
                y: Some(count as f64),
                y_unit: "cases",
                n: Some(cohort.nyha.known()),
                ..SeriesPoint::default()
            });
        }
    }
    points
}

fn three_years(cohort: &Cohort) -> Vec<SeriesPoint> {
    let long = &cohort.three_years;
    let cases = long.cases.iter().zip(&long.vlad).enumerate();
    cases
        .map(|(index, (case, vlad))| SeriesPoint {
            series: "expected_minus_observed".into(),
            group: "three_years".into(),
            x: (index + 1).to_string(),
            x_unit: "case",
            y: Some(vlad.value),
            y_unit: "deaths",
            low: Some(vlad.band_95.low),
            high: Some(vlad.band_95.high),
            n: None,
            note: format!(
                "{}, {}",
                case.case_id,
                if case.died { "died" } else { "alive" }
            ),
        })
        .collect()
}

/// Process measures by case and by block, and deaths, of every course.
fn courses(experience: &Experience, by: &str) -> Vec<SeriesPoint> {
    let mut points = Vec::new();
    for course in &experience.courses {
        for (measure, (name, unit)) in PROCESS.iter().enumerate() {
            let name = name.to_lowercase();
            let point = |series: String, x: String, y| SeriesPoint {
                series,
                group: course.name.clone(),
                x,
                x_unit: "case",
                y,
                y_unit: unit,
                ..SeriesPoint::default()
            };
            for case in &course.cases {
                if let Some(value) = case.process[measure] {
                    let series = format!("{name}_by_{by}");
                    points.push(point(series, case.number.to_string(), Some(value)));
                }
            }
            for block in &course.blocks {
                let summary = block.process[measure];
                let quartiles = summary.and_then(|summary| summary.quartiles);
                points.push(SeriesPoint {
                    low: quartiles.map(|quartiles| quartiles.low),
                    high: quartiles.map(|quartiles| quartiles.high),
                    n: Some(summary.map_or(0, |summary| summary.n)),
                    note: "median and quartiles of a block".into(),
                    ..point(
                        format!("{name}_blocks_by_{by}"),
                        format!("{}-{}", block.first, block.last),
                        summary.map(|summary| summary.median),
                    )
                });
            }
        }
        for death in &course.deaths {
            let point = |series: &str, y, low, high| SeriesPoint {
                series: format!("{series}_by_{by}"),
                group: course.name.clone(),
                x: death.number.to_string(),
                x_unit: "case",
                y: Some(y),
                y_unit: "deaths",
                low,
                high,
                n: None,
                note: if death.died { "died" } else { "alive" }.into(),
            };
            let band = death.band_95;
            points.push(point(
                "observed_minus_expected",
                death.adjusted,
                Some(band.low),
                Some(band.high),
            ));
            points.push(point("observed_minus_crude", death.crude, None, None));
        }
    }
    points
}

/// Rate, limits and n of a count.
fn rate(yes: usize, known: usize) -> SeriesPoint {
    let limits = wilson(yes, known).map(|limits| limits.scaled(100.0));
    SeriesPoint {
        y: (known > 0).then(|| 100.0 * yes as f64 / known as f64),
        y_unit: "%",
        low: limits.map(|limits| limits.low),
        high: limits.map(|limits| limits.high),
        n: Some(known),
        ..SeriesPoint::default()
    }
}

fn oversizing(cohort: &Cohort) -> Vec<SeriesPoint> {
    let mut points = Vec::new();
    for case in &cohort.sizing.points {
        let point = |series: &str, y: Option<f64>, y_unit| SeriesPoint {
            series: series.into(),
            group: case
                .mechanism
                .map_or("not recorded", Choice::word)
                .to_owned(),
            x: number(Some(case.oversizing_pct)),
            x_unit: "%",
            y,
            y_unit,
            note: case.case_id.to_string(),
            ..SeriesPoint::default()
        };
        points.push(point("oversizing_gradient", case.gradient_mmhg, "mmHg"));
        let grade = case.paravalvular.map(|grade| f64::from(grade as u8));
        points.push(point(
            "oversizing_paravalvular",
            grade,
            "0 none, 1 trace, 2 mild, 3 moderate, 4 severe",
        ));
    }
    points
}

fn groups(review: &GroupsReview) -> Vec<SeriesPoint> {
    let by = match review.dimension {
        Dimension::Site => "site",
        Dimension::AccessRoute => "access",
        _ => "operator",
    };
    let mut points = Vec::new();
    for group in &review.groups {
        let ratio = observed_over_expected(group.observed, group.expected);
        let limits = ratio.map(|ratio| ratio.interval);
        points.push(SeriesPoint {
            series: format!("deaths_by_{by}"),
            group: group.name.clone(),
            x: number(Some(group.expected)),
            x_unit: "expected deaths of the rolling 12 months",
            y: ratio.map(|ratio| ratio.estimate),
            y_unit: "observed / expected",
            low: limits.map(|limits| limits.low),
            high: limits.map(|limits| limits.high),
            n: Some(group.with_risk),
            note: format!("{} observed", group.observed),
        });
    }
    for (measure, (name, _)) in COMPARED.iter().enumerate() {
        for group in &review.groups {
            let counts = group.counts[measure];
            points.push(SeriesPoint {
                series: format!("{name}_by_{by}"),
                group: group.name.clone(),
                x: counts.known().to_string(),
                x_unit: "known cases of the rolling 12 months",
                note: format!("{}/{}", counts.yes, counts.known()),
                ..rate(counts.yes, counts.known())
            });
        }
    }
    points
}

fn follow_up(cohort: &Cohort) -> Vec<SeriesPoint> {
    let group = PeriodName::SinceStart.word();
    let mut points = Vec::new();
    if let Some(curve) = &cohort.follow_up.survival {
        for step in curve.steps() {
            points.push(SeriesPoint {
                series: "survival".into(),
                group: group.into(),
                x: step.day.to_string(),
                x_unit: "days",
                y: Some(100.0 * step.survival),
                y_unit: "%",
                low: step.interval.map(|limits| 100.0 * limits.low),
                high: step.interval.map(|limits| 100.0 * limits.high),
                n: Some(step.at_risk),
                note: format!("{} died, {} last seen", step.events, step.censored),
            });
        }
    }
    if let Some(curve) = &cohort.follow_up.deterioration {
        for day in curve.step_days() {
            let Some(at) = curve.at(day) else { continue };
            points.push(SeriesPoint {
                series: "deterioration".into(),
                group: group.into(),
                x: day.to_string(),
                x_unit: "days",
                y: Some(100.0 * at.incidence),
                y_unit: "%",
                low: at.interval.map(|limits| 100.0 * limits.low),
                high: at.interval.map(|limits| 100.0 * limits.high),
                n: Some(at.at_risk),
                note: format!(
                    "{} deteriorated, {} died before",
                    at.events, at.competing_events
                ),
            });
        }
    }
    points
}

fn completeness(cohort: &Cohort) -> impl Iterator<Item = SeriesPoint> {
    cohort.completeness.core.iter().map(|filled| {
        let counts = &filled.counts;
        SeriesPoint {
            series: "completeness".into(),
            group: filled.title.to_owned(),
            low: None,
            high: None,
            note: format!("{}/{}", counts.yes, counts.known()),
            ..rate(counts.yes, counts.known())
        }
    })
}
