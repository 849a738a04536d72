//! Deaths case by case: expected minus observed with bands, and the risk-adjusted CUSUM with its limits.

use super::plot::{BAND, DOTTED, Frame, INK, INNER_BAND, LIMIT, Mark, SECOND, plot, round_ticks};
use crate::cohort::statistics::VladPoint;
use crate::cohort::{OverTime, RiskPoint};
use crate::draw::{Align, Face, Fonts, Item};
use crate::figure::FigureError;
use crate::figure::axes::{Axes, span};
use crate::figure::recorder::Area;

/// Tick words along the cases: the month of the first case of each month, thinned.
fn case_ticks(cases: &[RiskPoint]) -> Vec<(f64, String)> {
    const MONTHS: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    let mut ticks: Vec<(f64, String)> = Vec::new();
    let (mut month, mut year) = (None, None);
    let apart = cases.len() as f64 / 13.0;
    for (case, point) in cases.iter().enumerate() {
        let this = (point.date.year(), point.date.month());
        if month != Some(this) {
            month = Some(this);
            let at = (case + 1) as f64;
            let word = MONTHS[(point.date.month() as usize + 11) % 12];
            if ticks.last().is_none_or(|(last, _)| at - last >= apart) {
                let new_year = year.replace(point.date.year()) != Some(point.date.year());
                ticks.push((
                    at,
                    if new_year {
                        format!("{word} {}", point.date.year())
                    } else {
                        word.to_owned()
                    },
                ));
            }
        }
    }
    ticks
}

/// Expected minus observed deaths, case by case.
///
/// # Errors
/// Where there is nothing to draw.
pub fn expected_minus_observed(
    fonts: &Fonts,
    area: Area,
    cases: &[RiskPoint],
    points: &[VladPoint],
) -> Result<Vec<Item>, FigureError> {
    let values = points
        .iter()
        .flat_map(|point| [point.band_99.low, point.band_99.high, point.value]);
    let y = span(values, Some(-2.0..1.0))?;
    let last_x = points.len() as f64;
    let frame = Frame {
        area,
        x_ticks: case_ticks(cases),
        y_ticks: round_ticks(y.start, y.end, 5),
        axes: Axes {
            x: 0.0..last_x * 1.16 + 0.5,
            y,
        },
        x_name: "cases by procedure date",
        y_name: "expected minus observed deaths; up is fewer deaths than predicted",
    };
    plot(fonts, &frame, |plot| {
        let at = |index: usize| (index + 1) as f64;
        let band = |pick: fn(&VladPoint) -> (f64, f64)| {
            std::iter::once((0.0, 0.0, 0.0)).chain(points.iter().enumerate().map(
                move |(index, point)| {
                    let (low, high) = pick(point);
                    (at(index), low, high)
                },
            ))
        };
        plot.band(band(|point| (point.band_99.low, point.band_99.high)), BAND)?;
        plot.band(
            band(|point| (point.band_95.low, point.band_95.high)),
            INNER_BAND,
        )?;
        plot.line([(0.0, 0.0), (last_x, 0.0)], 0.4, SECOND, None)?;
        let line = std::iter::once((0.0, 0.0)).chain(
            points
                .iter()
                .enumerate()
                .map(|(index, point)| (at(index), point.value)),
        );
        plot.line(line, 1.1, INK, None)?;
        let deaths = cases
            .iter()
            .zip(points)
            .enumerate()
            .filter(|(_, (case, _))| case.died)
            .map(|(index, (_, point))| (at(index), point.value));
        plot.marks(deaths, Mark::Dot, 0.8, INK)?;
        if let Some(last) = points.last() {
            let words = [
                (last.band_99.low, "99 % band".to_owned(), Face::Regular),
                (last.band_95.low, "95 % band".to_owned(), Face::Regular),
                (last.value, signed(last.value), Face::Semibold),
            ];
            let heights = spread(
                &words.iter().map(|(value, ..)| *value).collect::<Vec<_>>(),
                (plot.on_paper(0.0, 0.0).1 - plot.on_paper(0.0, 1.0).1).abs(),
            );
            for ((_, word, face), height) in words.iter().zip(heights) {
                plot.label((last_x, 0.0), (1.2, height), Align::Left, *face, word);
            }
        }
        Ok(())
    })
}

/// Shifts from 0 (mm, downward) for words at these values, apart enough to be read.
pub(super) fn spread(values: &[f64], mm_per_unit: f64) -> Vec<f64> {
    const APART_MM: f64 = 2.6;
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[b].total_cmp(&values[a]));
    let mut shifts = vec![0.0; values.len()];
    let mut last = f64::NEG_INFINITY;
    for index in order {
        let wanted: f64 = -values[index] * mm_per_unit;
        last = wanted.max(last + APART_MM);
        shifts[index] = last;
    }
    shifts
}

fn signed(value: f64) -> String {
    let text = format!("{:.1}", value.abs());
    if value < -0.05 {
        format!("−{text}")
    } else {
        text
    }
}

/// The risk-adjusted CUSUM for doubled odds.
///
/// # Errors
/// Where there is nothing to draw.
pub fn cusum(fonts: &Fonts, area: Area, charts: &OverTime) -> Result<Vec<Item>, FigureError> {
    let limits = charts.limits.as_ref().ok();
    let alarm = limits.map(|limits| limits.alarm.limit);
    let y = span(
        charts.cusum.iter().copied().chain(alarm),
        Some(0.0..alarm.unwrap_or(1.0).max(1.0) * 1.1),
    )?;
    let last_x = charts.cusum.len() as f64;
    let frame = Frame {
        area,
        x_ticks: case_ticks(&charts.cases),
        y_ticks: round_ticks(y.start, y.end, 4),
        axes: Axes {
            x: 0.0..last_x * 1.16 + 0.5,
            y,
        },
        x_name: "cases by procedure date",
        y_name: "risk-adjusted CUSUM for doubled odds of death",
    };
    plot(fonts, &frame, |plot| {
        if let Some(limits) = limits {
            for (limit, name, dash) in [
                (limits.alert, "alert", LIMIT),
                (limits.alarm, "alarm", DOTTED),
            ] {
                plot.line(
                    [(0.0, limit.limit), (last_x, limit.limit)],
                    0.8,
                    INK,
                    Some(dash),
                )?;
                let text = format!("{name} {:.2}", limit.limit);
                plot.label(
                    (last_x, limit.limit),
                    (1.2, 0.0),
                    Align::Left,
                    Face::Regular,
                    &text,
                );
            }
        }
        let line = std::iter::once((0.0, 0.0)).chain(
            charts
                .cusum
                .iter()
                .enumerate()
                .map(|(index, &value)| ((index + 1) as f64, value)),
        );
        plot.line(line, 1.1, INK, None)?;
        let deaths = charts
            .cases
            .iter()
            .zip(&charts.cusum)
            .enumerate()
            .filter(|(_, (case, _))| case.died)
            .map(|(index, (_, &value))| ((index + 1) as f64, value));
        plot.marks(deaths, Mark::Dot, 0.8, INK)
    })
}
