//! The measures of cohort.csv, for every group and period.

use std::borrow::Cow;

use super::audit_case::AuditCase;
use super::deterioration_of;
use super::group::{Dimension, Grouping};
use super::options::{CohortOptions, RiskModel};
use super::period::{Period, PeriodName};
use super::proportion::{Counts, Verdict, verdict};
use super::quantity;
use super::statistics::{
    EXACT_RANKS_UP_TO, Incidence, Interval, OutcomeTime, Predicted, Survival, hodges_lehmann,
    mean_change, observed_expected, poisson_limits, quantile,
};
use super::survival_of::Patients;
use crate::assess::bands::at_least;
use crate::assess::composites;
use crate::dictionary::{MEASURES, Measure};

/// One row of cohort.csv. A blank is a value that does not exist, or one that a de-identified summary masks.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MeasureRow {
    /// Name of the measure; a part of a composite as `composite/part`.
    pub measure: Cow<'static, str>,
    /// `all`, or dimension and group as `site=North`.
    pub group: String,
    /// Word of the period.
    pub period: &'static str,
    /// Unit of the estimate.
    pub unit: &'static str,
    /// Cases to which the measure applies; values used, or cases used.
    pub n: Option<usize>,
    /// Cases with the event; observed deaths.
    pub numerator: Option<usize>,
    /// Known cases; at risk on the day; expected deaths.
    pub denominator: Option<f64>,
    /// Cases that could not be told.
    pub missing: Option<usize>,
    /// Cases not mature yet.
    pub pending: Option<usize>,
    /// Cases outside the question.
    pub not_applicable: Option<usize>,
    /// The estimate, in the unit.
    pub estimate: Option<f64>,
    /// Lower limit of its 95 % interval; first quartile of a quantity.
    pub low: Option<f64>,
    /// Upper limit; third quartile of a quantity.
    pub high: Option<f64>,
    /// The proportion if every missing case had been a no.
    pub bound_low: Option<f64>,
    /// The proportion if every missing case had been a yes.
    pub bound_high: Option<f64>,
    /// How it was computed.
    pub method: Cow<'static, str>,
}

/// How a measure is computed, from what each case says to it.
enum Column {
    Proportion {
        verdicts: Vec<Verdict>,
        mature: Vec<bool>,
    },
    Quantity(Vec<Option<f64>>),
    MeanChange(Vec<Option<f64>>),
    TypicalChange(Vec<Option<f64>>),
    Ratio {
        predicted: Vec<Option<Predicted>>,
        mature: Vec<bool>,
        model: RiskModel,
    },
    Survival {
        day: u32,
    },
    Incidence {
        day: u32,
        outcomes: Vec<Option<OutcomeTime>>,
    },
}

struct Asked {
    name: Cow<'static, str>,
    unit: &'static str,
    part_of: Option<&'static str>,
    column: Column,
}

/// The cases of one group in one period, as positions.
pub struct Selection {
    /// `all`, or dimension and group.
    pub group: String,
    /// The dimension; `None` for all cases.
    pub dimension: Option<Dimension>,
    /// The period.
    pub period: PeriodName,
    /// Positions of its cases, in their order.
    pub cases: Vec<usize>,
}

/// Every selection: periods in their order, within them all cases and then the groups.
pub fn selections(
    cases: &[AuditCase<'_>],
    groupings: &[Grouping],
    periods: &[Period],
) -> Vec<Selection> {
    let mut selections = Vec::new();
    for period in periods {
        let inside: Vec<usize> = (0..cases.len())
            .filter(|&case| period.holds(cases[case].procedure_date()))
            .collect();
        for grouping in groupings {
            let mut groups = vec![Vec::new(); grouping.names.len()];
            for &case in &inside {
                groups[grouping.of_case[case]].push(case);
            }
            selections.extend(
                groups
                    .into_iter()
                    .enumerate()
                    .map(|(group, cases)| Selection {
                        group: grouping.label(group),
                        dimension: Some(grouping.dimension),
                        period: period.name,
                        cases,
                    }),
            );
        }
        let groups: usize = groupings.iter().map(|grouping| grouping.names.len()).sum();
        selections.insert(
            selections.len() - groups,
            Selection {
                group: "all".to_owned(),
                dimension: None,
                period: period.name,
                cases: inside,
            },
        );
    }
    selections
}

/// The day in the name of a survival or incidence measure: `survival_365d` is 365.
fn day_of(name: &str) -> u32 {
    name.trim_end_matches('d')
        .rsplit('_')
        .next()
        .and_then(|digits| digits.parse().ok())
        .unwrap_or_default()
}

fn asked(cases: &[AuditCase<'_>], options: &CohortOptions) -> Vec<Asked> {
    let composites = composites();
    let mut all = Vec::new();
    for measure in MEASURES.iter() {
        let name = measure.name.as_str();
        all.push(Asked {
            name: Cow::Borrowed(name),
            unit: &measure.unit,
            part_of: None,
            column: column(measure, name, cases, options),
        });
        let parts = composites.iter().find(|(composite, _)| *composite == name);
        for part in parts.iter().flat_map(|(_, parts)| parts) {
            let part = format!("{name}/{part}");
            all.push(Asked {
                unit: &measure.unit,
                part_of: Some(name),
                column: column(measure, &part, cases, options),
                name: Cow::Owned(part),
            });
        }
    }
    all
}

fn column(
    measure: &Measure,
    name: &str,
    cases: &[AuditCase<'_>],
    options: &CohortOptions,
) -> Column {
    let days = measure.mature_after_days.unwrap_or(0);
    let mature = || cases.iter().map(|case| case.mature(days)).collect();
    let changes = || cases.iter().map(quantity::gradient_change_mmhg).collect();
    match measure.kind.as_str() {
        "proportion" => Column::Proportion {
            verdicts: cases
                .iter()
                .map(|case| verdict(name, case).unwrap_or(Verdict::Unknown))
                .collect(),
            mature: mature(),
        },
        "paired" if name.ends_with("hodges_lehmann") => Column::TypicalChange(changes()),
        "paired" => Column::MeanChange(changes()),
        "ratio" => Column::Ratio {
            predicted: cases
                .iter()
                .map(|case| case.predicted(options.risk_model))
                .collect(),
            mature: mature(),
            model: options.risk_model,
        },
        "survival" => Column::Survival { day: day_of(name) },
        "incidence" => Column::Incidence {
            day: day_of(name),
            outcomes: cases.iter().map(deterioration_of::outcome).collect(),
        },
        _ => Column::Quantity(
            cases
                .iter()
                .map(|case| quantity::value(name, case))
                .collect(),
        ),
    }
}

/// Every row: for each selection every measure, in the order of the dictionary, a composite before its parts.
pub fn rows(
    cases: &[AuditCase<'_>],
    selections: &[Selection],
    options: &CohortOptions,
) -> Vec<MeasureRow> {
    let asked = asked(cases, options);
    let patients = Patients::of(cases);
    let mut rows = Vec::with_capacity(asked.len() * selections.len());
    for selection in selections {
        let followed = patients.followed(cases, &selection.cases);
        let survival = Survival::new(&followed.follow_ups);
        for measure in &asked {
            let mut row = match &measure.column {
                Column::Survival { day } => survival_row(survival.as_ref(), followed.missing, *day),
                column => row_of(column, &selection.cases),
            };
            row.measure = measure.name.clone();
            row.unit = measure.unit;
            row.group.clone_from(&selection.group);
            row.period = selection.period.word();
            if let Some(composite) = measure.part_of {
                row.method =
                    format!("part of {composite}, judged by itself; {}", row.method).into();
            }
            rows.push(row);
        }
    }
    rows
}

fn row_of(column: &Column, selection: &[usize]) -> MeasureRow {
    match column {
        Column::Proportion { verdicts, mature } => {
            let mut counts = Counts::default();
            for &case in selection {
                counts.add(verdicts[case], mature[case]);
            }
            proportion_row(&counts)
        }
        Column::Quantity(values) => {
            let known = known(values, selection);
            let at = |probability| quantile(&known, probability);
            MeasureRow {
                estimate: at(0.5),
                low: at(0.25),
                high: at(0.75),
                method: "median; low and high are the quartiles (type 7)".into(),
                ..counted(known.len(), selection.len() - known.len())
            }
        }
        Column::MeanChange(changes) => {
            let known = known(changes, selection);
            let change = mean_change(&known);
            let interval = change.and_then(|change| change.interval);
            MeasureRow {
                estimate: change.map(|change| change.mean),
                method: "mean of the paired differences; 95 % t interval".into(),
                ..limits(
                    counted(known.len(), selection.len() - known.len()),
                    interval,
                )
            }
        }
        Column::TypicalChange(changes) => {
            let known = known(changes, selection);
            let change = hodges_lehmann(&known);
            let interval = change.and_then(|change| change.interval);
            MeasureRow {
                estimate: change.map(|change| change.estimate),
                method: if known.len() <= EXACT_RANKS_UP_TO {
                    "Hodges-Lehmann; exact 95 % interval of the signed ranks".into()
                } else {
                    "Hodges-Lehmann; 95 % interval of the signed ranks by normal approximation"
                        .into()
                },
                ..limits(
                    counted(known.len(), selection.len() - known.len()),
                    interval,
                )
            }
        }
        Column::Ratio {
            predicted,
            mature,
            model,
        } => ratio_row(predicted, mature, *model, selection),
        Column::Incidence { day, outcomes } => incidence_row(outcomes, *day, selection),
        Column::Survival { .. } => MeasureRow::default(),
    }
}

fn known(values: &[Option<f64>], selection: &[usize]) -> Vec<f64> {
    selection.iter().filter_map(|&case| values[case]).collect()
}

fn counted(n: usize, missing: usize) -> MeasureRow {
    MeasureRow {
        n: Some(n),
        missing: Some(missing),
        pending: Some(0),
        not_applicable: Some(0),
        ..MeasureRow::default()
    }
}

fn limits(row: MeasureRow, interval: Option<Interval>) -> MeasureRow {
    MeasureRow {
        low: interval.map(|interval| interval.low),
        high: interval.map(|interval| interval.high),
        ..row
    }
}

fn proportion_row(counts: &Counts) -> MeasureRow {
    let estimate = counts.estimate_pct();
    let bounds = counts.bounds_pct();
    MeasureRow {
        n: Some(counts.n()),
        numerator: Some(counts.yes),
        denominator: Some(counts.known() as f64),
        missing: Some(counts.missing),
        pending: Some(counts.pending),
        not_applicable: Some(counts.not_applicable),
        estimate: estimate.map(|(estimate, _, _)| estimate),
        low: estimate.map(|(_, low, _)| low),
        high: estimate.map(|(_, _, high)| high),
        bound_low: bounds.map(|(low, _)| low),
        bound_high: bounds.map(|(_, high)| high),
        method: "Wilson 95 % without correction; bounds: every missing counted as no, as yes"
            .into(),
        ..MeasureRow::default()
    }
}

fn ratio_row(
    predicted: &[Option<Predicted>],
    mature: &[bool],
    model: RiskModel,
    selection: &[usize],
) -> MeasureRow {
    let ready = selection.iter().filter(|&&case| mature[case]).count();
    let used: Vec<Predicted> = selection
        .iter()
        .filter_map(|&case| predicted[case])
        .collect();
    let deaths = observed_expected(&used);
    // Ten risks of 10 % are one expected death, though their binary sum is a little less.
    let enough = at_least(deaths.expected, super::statistics::RATIO_FROM_EXPECTED);
    let interval = poisson_limits(deaths.observed, 0.95)
        .filter(|_| enough)
        .map(|interval| interval.scaled(1.0 / deaths.expected));
    MeasureRow {
        numerator: Some(deaths.observed),
        denominator: Some(deaths.expected),
        pending: Some(selection.len() - ready),
        estimate: enough.then(|| deaths.observed as f64 / deaths.expected),
        method: format!(
            "observed / sum of risk by {}; exact Poisson 95 % limits; none below 1 expected death",
            model.name()
        )
        .into(),
        ..limits(counted(used.len(), ready - used.len()), interval)
    }
}

fn survival_row(survival: Option<&Survival>, missing: usize, day: u32) -> MeasureRow {
    let at = survival.and_then(|curve| curve.at(day));
    let deaths = survival.map_or(0, |curve| {
        let passed = curve.steps().iter().take_while(|step| step.day <= day);
        passed.map(|step| step.events).sum()
    });
    let percent = |interval: Interval| interval.scaled(100.0);
    MeasureRow {
        numerator: Some(deaths),
        denominator: Some(at.map_or(0.0, |at| at.at_risk as f64)),
        estimate: at.map(|at| 100.0 * at.survival),
        method: "Kaplan-Meier from the first procedure of each patient; 95 % log-log limits".into(),
        ..limits(
            counted(survival.map_or(0, Survival::n), missing),
            at.and_then(|at| at.interval).map(percent),
        )
    }
}

fn incidence_row(outcomes: &[Option<OutcomeTime>], day: u32, selection: &[usize]) -> MeasureRow {
    let used: Vec<OutcomeTime> = selection
        .iter()
        .filter_map(|&case| outcomes[case])
        .collect();
    let at = Incidence::new(&used).and_then(|curve| curve.at(day));
    let events = used
        .iter()
        .filter(|outcome| {
            outcome.outcome == super::statistics::Outcome::Event && outcome.day <= day
        })
        .count();
    MeasureRow {
        numerator: Some(events),
        denominator: Some(at.map_or(0.0, |at| at.at_risk as f64)),
        estimate: at.map(|at| 100.0 * at.incidence),
        method: "Aalen-Johansen, death competing; 95 % log-log limits; missing: no reference echo"
            .into(),
        ..limits(
            counted(used.len(), selection.len() - used.len()),
            at.and_then(|at| at.interval)
                .map(|interval| interval.scaled(100.0)),
        )
    }
}
