//! Survival and cumulative incidence as steps, with the number at risk under the axis.

use super::plot::{BAND, Frame, INK, SECOND, plot, round_ticks};
use crate::cohort::statistics::{Incidence, SHOWN_FROM_AT_RISK, Survival};
use crate::draw::{Align, Face, Fonts, Item, TextStyle};
use crate::figure::FigureError;
use crate::figure::axes::Axes;
use crate::figure::recorder::Area;

/// Days at which numbers at risk are given, with their words.
const SHOWN_DAYS: [(u32, &str); 9] = [
    (0, "0"),
    (30, "30 d"),
    (182, "6 mo"),
    (365, "1 y"),
    (548, "18 mo"),
    (730, "2 y"),
    (1095, "3 y"),
    (1461, "4 y"),
    (1826, "5 y"),
];

/// Height of the rows of numbers under the axis.
const RISK_MM: f64 = 12.0;

/// Name of a row of numbers under the axis, and its number on a day.
type CountRow<'a> = (&'a str, &'a dyn Fn(u32) -> usize);

fn days_to(end: u32) -> Vec<(u32, &'static str)> {
    SHOWN_DAYS
        .iter()
        .copied()
        .filter(|(day, _)| *day <= end)
        .collect()
}

/// The longest time that is drawn (days): five years.
const LONGEST: u32 = 1826;
/// The shortest axis (days).
const SHORTEST_AXIS: u32 = 30;

/// Day, and in percent the value with its limits.
type StepPoint = (f64, f64, Option<(f64, f64)>);

/// A curve of steps and what stands around it.
struct Steps<'a> {
    points: Vec<StepPoint>,
    /// The day on which the curve ends.
    until: u32,
    /// Top of the axis (%).
    y_top: f64,
    y_name: &'a str,
    /// Rows under the axis; on every day they add up to all.
    counts: [CountRow<'a>; 3],
}

impl Steps<'_> {
    fn corners(&self, end: f64) -> Vec<(f64, f64)> {
        let mut corners = Vec::new();
        let mut last = None;
        for &(day, value, _) in &self.points {
            if let Some(last) = last {
                corners.push((day, last));
            }
            corners.push((day, value));
            last = Some(value);
        }
        if let Some(last) = last {
            corners.push((end, last));
        }
        corners
    }

    fn band(&self, end: f64) -> Vec<(f64, f64, f64)> {
        let mut band = Vec::new();
        let mut last: Option<(f64, f64)> = None;
        for &(day, _, limits) in &self.points {
            if let Some((low, high)) = last {
                band.push((day, low, high));
            }
            if let Some((low, high)) = limits {
                band.push((day, low, high));
            }
            last = limits;
        }
        if let Some((low, high)) = last {
            band.push((end, low, high));
        }
        band
    }
}

fn draw(fonts: &Fonts, area: Area, steps: &Steps<'_>) -> Result<Vec<Item>, FigureError> {
    let until = f64::from(steps.until);
    let axis_end = steps.until.max(SHORTEST_AXIS);
    let days = days_to(axis_end);
    let end = f64::from(axis_end);
    // Where words would stand close together, those between the years are left out.
    let crowded = |day: u32| day == 30 && end > 300.0 || day == 548 && end > 1100.0;
    let inner = Area {
        height_mm: area.height_mm - RISK_MM,
        ..area
    };
    let frame = Frame {
        area: inner,
        x_ticks: days
            .iter()
            .filter(|(day, _)| !crowded(*day))
            .map(|(day, word)| (f64::from(*day), (*word).to_owned()))
            .collect(),
        y_ticks: round_ticks(0.0, steps.y_top, 5),
        axes: Axes {
            x: 0.0..end * 1.12,
            y: 0.0..steps.y_top,
        },
        x_name: "",
        y_name: steps.y_name,
    };
    let mut places = Vec::new();
    let mut items = plot(fonts, &frame, |plot| {
        plot.band(steps.band(until), BAND)?;
        plot.line(steps.corners(until), 1.1, INK, None)?;
        if let Some(&(_, last, _)) = steps.points.last() {
            // The curve seldom ends at a day of the axis, so the last height says of which day it is.
            let word = format!("{last:.0} %, day {}", steps.until);
            plot.label(
                (until, last),
                (1.0, 0.0),
                Align::Left,
                Face::Semibold,
                &word,
            );
        }
        places = days
            .iter()
            .filter(|(day, _)| !crowded(*day))
            .map(|(day, _)| (*day, plot.on_paper(f64::from(*day), 0.0).0))
            .collect();
        Ok(())
    })?;
    let style = |colour| TextStyle {
        face: Face::Regular,
        size_pt: super::plot::LABEL_PT,
        colour,
    };
    let top = inner.y_mm + inner.height_mm;
    for (row, (name, count)) in steps.counts.iter().enumerate() {
        let baseline = top + 3.2 + 2.9 * row as f64;
        let width = fonts.width_mm(name, Face::Regular, super::plot::LABEL_PT);
        items.push(fonts.place(*name, area.x_mm, baseline, Align::Left, style(SECOND)));
        for &(day, x) in &places {
            // The first number stands under the axis' end, beside the name of its row.
            let least = area.x_mm + width + 1.2;
            let number = count(day).to_string();
            let half = fonts.width_mm(&number, Face::Regular, super::plot::LABEL_PT) / 2.0;
            let x = x.max(least + half);
            items.push(fonts.place(number, x, baseline, Align::Centre, style(INK)));
        }
    }
    Ok(items)
}

/// Survival from the first procedure, drawn while ten or more are at risk.
///
/// # Errors
/// Where there is nothing to draw.
pub fn survival(fonts: &Fonts, area: Area, curve: &Survival) -> Result<Vec<Item>, FigureError> {
    let until = curve
        .shown_until(SHOWN_FROM_AT_RISK)
        .unwrap_or(0)
        .min(LONGEST);
    let mut points = vec![(0.0, 100.0, None)];
    points.extend(
        curve
            .steps()
            .iter()
            .take_while(|step| step.day <= until)
            .map(|step| {
                (
                    f64::from(step.day),
                    100.0 * step.survival,
                    step.interval
                        .map(|limits| (100.0 * limits.low, 100.0 * limits.high)),
                )
            }),
    );
    let died = |day| {
        let before = curve.steps().iter().take_while(|step| step.day < day);
        before.map(|step| step.events).sum::<usize>()
    };
    let steps = Steps {
        points,
        until,
        y_top: 100.0,
        y_name: "alive, %",
        counts: [
            ("at risk", &|day| curve.at_risk(day)),
            ("died", &died),
            ("last seen", &|day| {
                curve.n() - curve.at_risk(day) - died(day)
            }),
        ],
    };
    draw(fonts, area, &steps)
}

/// Cumulative incidence of deterioration, death competing.
///
/// # Errors
/// Where there is nothing to draw.
pub fn incidence(fonts: &Fonts, area: Area, curve: &Incidence) -> Result<Vec<Item>, FigureError> {
    let until = curve
        .shown_until(SHOWN_FROM_AT_RISK)
        .unwrap_or(0)
        .min(LONGEST);
    let mut points = vec![(0.0, 0.0, None)];
    points.extend(
        curve
            .step_days()
            .take_while(|day| *day <= until)
            .filter_map(|day| {
                let at = curve.at(day)?;
                let limits = at
                    .interval
                    .map(|limits| (100.0 * limits.low, 100.0 * limits.high));
                Some((f64::from(day), 100.0 * at.incidence, limits))
            }),
    );
    let ended = |day: u32| {
        let at = day.checked_sub(1).and_then(|before| curve.at(before));
        at.map_or(0, |at| at.events + at.competing_events)
    };
    let top = points
        .iter()
        .map(|(_, value, limits)| limits.map_or(*value, |(_, high)| high))
        .fold(20.0_f64, f64::max);
    let steps = Steps {
        points,
        until,
        y_top: (top / 10.0).ceil() * 10.0,
        y_name: "deteriorated, %",
        counts: [
            ("at risk", &|day| curve.at_risk(day)),
            ("found or died", &ended),
            ("last seen", &|day| {
                curve.n() - curve.at_risk(day) - ended(day)
            }),
        ],
    };
    draw(fonts, area, &steps)
}
