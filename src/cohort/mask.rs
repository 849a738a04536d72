//! What a de-identified summary may say.
//!
//! A rule simple enough to be checked by eye: a row of cohort.csv with any count from 1 to one below the threshold is
//! masked whole, its percentage, interval and n included, so that nothing of the row is left to subtract from. Groups add
//! up to all cases, so the groups of one dimension are shown for a measure only where none of them is masked. Periods
//! overlap, so only the period itself is given. A composite is masked where it would narrow a masked count of its parts.
//! Counts that other rows would give away by subtraction (deaths with and without a predicted risk, gradients known before,
//! after and at both) are looked at too. Sites are not written.

use std::collections::{HashMap, HashSet};

use super::Cohort;
use super::experience::Experience;
use super::functional::NyhaChange;
use super::group::Dimension;
use super::measures::MeasureRow;
use super::options::CohortOptions;
use super::period::PeriodName;
use crate::dictionary::MEASURES;

/// Oldest age that is written; above it only "90 or more" is.
pub const OLDEST_AGE: f64 = 90.0;

/// The rows that may be written, masked where they must be.
pub fn released(rows: Vec<MeasureRow>, options: &CohortOptions) -> Vec<MeasureRow> {
    let site = format!("{}=", Dimension::Site.word());
    let mut rows: Vec<MeasureRow> = rows
        .into_iter()
        .filter(|row| row.period == PeriodName::Period.word())
        .filter(|row| !row.group.starts_with(&site))
        .collect();
    let masked = masked_rows(&rows, options.masking_threshold);
    for (row, masked) in rows.iter_mut().zip(masked) {
        if masked {
            *row = blank(row, options.masking_threshold);
        } else if row.measure == "age_years" {
            for age in [&mut row.estimate, &mut row.low, &mut row.high] {
                *age = age.map(|age| age.min(OLDEST_AGE));
            }
        }
    }
    rows
}

/// For each row, whether it is masked.
fn masked_rows(rows: &[MeasureRow], threshold: usize) -> Vec<bool> {
    let at: HashMap<(&str, &str), &MeasureRow> = rows
        .iter()
        .map(|row| ((row.group.as_str(), &*row.measure), row))
        .collect();
    let of = |group: &str, measure: &str| at.get(&(group, measure)).copied();
    let small = |count: usize| (1..threshold).contains(&count);
    let unsafe_alone: Vec<bool> = rows
        .iter()
        .map(|row| {
            cells(row, &|measure| of(&row.group, measure))
                .into_iter()
                .any(small)
        })
        .collect();
    let mut masked = with_their_groups(rows, unsafe_alone);
    // A composite that is masked is masked as a part of another one too, which may then give away its other parts.
    loop {
        let mut more = masked.clone();
        for (place, row) in rows.iter().enumerate() {
            more[place] |= gives_parts_away(place, rows, &masked, threshold)
                || row.measure.split_once('/').is_some_and(|(_, part)| {
                    let whole = rows.iter().zip(&masked);
                    let mut whole = whole.filter(|(whole, _)| whole.group == row.group);
                    whole.any(|(whole, masked)| *masked && whole.measure == part)
                });
        }
        let more = with_their_groups(rows, more);
        if more == masked {
            return masked;
        }
        masked = more;
    }
}

/// Masked for one group of a dimension is masked for all its groups, and masked for all cases is masked for every group.
fn with_their_groups(rows: &[MeasureRow], masked: Vec<bool>) -> Vec<bool> {
    // Dimension and measure of every masked row, and measures masked for all cases.
    let hidden: HashSet<(&str, &str)> = rows
        .iter()
        .zip(&masked)
        .filter(|(_, masked)| **masked)
        .map(|(row, _)| (dimension(&row.group), &*row.measure))
        .collect();
    rows.iter()
        .map(|row| {
            hidden.contains(&(dimension(&row.group), &*row.measure))
                || hidden.contains(&("all", &*row.measure))
        })
        .collect()
}

/// Whether a composite narrows a masked count of its parts. Every case that fails it fails a part, so the parts fail as often
/// in sum, or more often: with the parts that are shown taken off, what is left over must leave each masked part every
/// count from 1 to one below the threshold. The same with cases that cannot be told.
fn gives_parts_away(
    composite: usize,
    rows: &[MeasureRow],
    masked: &[bool],
    threshold: usize,
) -> bool {
    let row = &rows[composite];
    if masked[composite] {
        return false;
    }
    let failed = |row: &MeasureRow| {
        row.denominator.unwrap_or(0.0) as usize - row.numerator.unwrap_or_default()
    };
    let missing = |row: &MeasureRow| row.missing.unwrap_or_default();
    let parts = rows.iter().zip(masked).filter(|(part, _)| {
        part.group == row.group
            && part
                .measure
                .strip_prefix(&*row.measure)
                .is_some_and(|rest| rest.starts_with('/'))
    });
    let (hidden, shown): (Vec<_>, Vec<_>) = parts.partition(|(_, masked)| **masked);
    let Some(others) = hidden.len().checked_sub(1) else {
        return false;
    };
    let narrowed = |count: &dyn Fn(&MeasureRow) -> usize| {
        let shown: usize = shown.iter().map(|(part, _)| count(part)).sum();
        count(row) > shown + others * (threshold - 1) + 1
    };
    narrowed(&failed) || narrowed(&missing)
}

/// `operator` of `operator=A`; `all` of `all`.
fn dimension(group: &str) -> &str {
    group.split('=').next().unwrap_or(group)
}

fn kind(measure: &str) -> &'static str {
    let name = measure.split('/').next().unwrap_or(measure);
    MEASURES
        .iter()
        .find(|row| row.name == name)
        .map_or("", |row| row.kind.as_str())
}

/// The counts that a row would show or give away, alone or with its relatives.
fn cells<'a>(row: &MeasureRow, of: &dyn Fn(&str) -> Option<&'a MeasureRow>) -> Vec<usize> {
    let count = |value: Option<usize>| value.unwrap_or(0);
    let whole = |value: Option<f64>| value.unwrap_or(0.0) as usize;
    let (n, missing) = (count(row.n), count(row.missing));
    let mut cells = vec![n, missing, count(row.pending), count(row.not_applicable)];
    match kind(&row.measure) {
        "proportion" => {
            let yes = count(row.numerator);
            cells.extend([yes, whole(row.denominator) - yes]);
        }
        "ratio" => {
            let observed = count(row.numerator);
            cells.extend([observed, n - observed]);
            if let Some(deaths) = of("death_30d") {
                let known = whole(deaths.denominator);
                cells.extend([
                    count(deaths.numerator).abs_diff(observed),
                    known.abs_diff(n),
                    missing.abs_diff(count(deaths.missing)),
                ]);
            }
        }
        "paired" => {
            for measure in [
                "baseline_mean_gradient_mmhg",
                "performance_mean_gradient_mmhg",
            ] {
                cells.extend(of(measure).map(|row| count(row.n).abs_diff(n)));
            }
        }
        "survival" | "incidence" => {
            let stem = row.measure.rsplit_once('_').map_or("", |(stem, _)| stem);
            let mut days: Vec<&MeasureRow> = MEASURES
                .iter()
                .filter(|measure| {
                    measure
                        .name
                        .rsplit_once('_')
                        .is_some_and(|(other, _)| other == stem)
                })
                .filter_map(|measure| of(&measure.name))
                .collect();
            days.sort_by_key(|row| count(row.numerator));
            if let (Some(death), Some(first)) = (of("death_30d"), days.first())
                && stem == "survival"
            {
                // Deaths of cases that are not 30 days old are on the curve and not in the rate.
                cells.push(count(death.numerator).abs_diff(count(first.numerator)));
            }
            let mut events = 0;
            let mut at_risk = n;
            for day in days {
                cells.push(count(day.numerator) - events);
                cells.push(at_risk.abs_diff(whole(day.denominator)));
                cells.push(whole(day.denominator));
                cells.push(n.abs_diff(count(day.numerator)));
                events = count(day.numerator);
                at_risk = whole(day.denominator);
            }
        }
        _ => {}
    }
    cells
}

fn blank(row: &MeasureRow, threshold: usize) -> MeasureRow {
    MeasureRow {
        measure: row.measure.clone(),
        group: row.group.clone(),
        period: row.period,
        unit: row.unit,
        method: format!(
            "masked: a count from 1 to {} in this row or a related one",
            threshold - 1
        )
        .into(),
        ..MeasureRow::default()
    }
}

/// Takes everything out of the summary that stands for a single patient, a site or a small group, so that no page can
/// show it.
pub fn deidentify(cohort: &mut Cohort) {
    let rows = std::mem::take(&mut cohort.rows);
    cohort.rows = released(rows, &cohort.options);
    cohort.data_to = None;
    cohort.read = 0;
    cohort.sites.clear();
    cohort.compared.clear();
    cohort.pending_deaths.clear();
    cohort.undated_deaths = 0;
    cohort.pull.clear();
    cohort.comparisons.clear();
    cohort.over_time.cases.clear();
    cohort.over_time.vlad.clear();
    cohort.over_time.cusum.clear();
    cohort.over_time.without_risk.clear();
    cohort.three_years.cases.clear();
    cohort.three_years.vlad.clear();
    cohort.nyha = NyhaChange::default();
    cohort.experience = Experience::default();
    cohort.route_experience = Experience::default();
    cohort.routes.groups.clear();
    cohort.haemodynamics.pairs.clear();
    cohort.haemodynamics.residual.clear();
    cohort.sizing.points.clear();
    cohort.sizing.differing_cases.clear();
    cohort.follow_up.waiting.clear();
    cohort.follow_up.survival = None;
    cohort.follow_up.deterioration = None;
    cohort.completeness.settling.clear();
    cohort.completeness.sources.clear();
    cohort.operators.groups.clear();
    cohort.site_groups.groups.clear();
    cohort.quarters.quarters.clear();
    cohort.quarters.gaps = Default::default();
    // All cases since the start hold those of the period, and a span before holds those of earlier releases: either
    // difference could be a small count.
    cohort.previous = None;
    cohort.earlier = None;
    let treated = &mut cohort.treated;
    treated.beside_n = 0;
    for quantity in &mut treated.quantities {
        quantity.beside = None;
    }
    for category in &mut treated.categories {
        category.beside_known = 0;
        category
            .choices
            .retain(|choice| choice.now > 0 || choice.word == "yes");
        for choice in &mut category.choices {
            choice.beside = 0;
        }
    }
    for case in &mut cohort.withheld {
        case.case_id = "".into();
        case.place.file = "".into();
        case.reason.clear();
    }
}
