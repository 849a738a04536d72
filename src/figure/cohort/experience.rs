//! An operator's cases in their order: each case as a dot with the median of every block, and deaths against expectation.

use super::deaths::spread;
use super::plot::{BAND, FAINT, Frame, INK, LIMIT, Mark, SECOND, plot, round_ticks};
use crate::cohort::{Course, CourseDeath, PROCESS};
use crate::draw::{Align, Face, Fonts, Item};
use crate::figure::FigureError;
use crate::figure::axes::{Axes, span};
use crate::figure::recorder::Area;

/// From the first case shown to a little beyond the last.
fn numbers(course: &Course) -> Result<std::ops::Range<f64>, FigureError> {
    let first = course.earlier as f64;
    let last = course.n as f64;
    span([], Some(first..last + (0.24 * (last - first)).max(1.0)))
}

/// A process measure of each case, and the median and quartiles of each block.
///
/// # Errors
/// Where there is nothing to draw.
pub fn process(
    fonts: &Fonts,
    area: Area,
    course: &Course,
    measure: usize,
) -> Result<Vec<Item>, FigureError> {
    let (name, unit) = PROCESS[measure];
    let points: Vec<(f64, f64)> = course
        .cases
        .iter()
        .filter_map(|case| Some((case.number as f64, case.process[measure]?)))
        .collect();
    if points.is_empty() {
        return Err(FigureError::NoValues);
    }
    let x = numbers(course)?;
    let y = span(points.iter().map(|(_, value)| *value), Some(0.0..10.0))?;
    let y_name = format!("{name}, {unit} · n {}", points.len());
    let frame = Frame {
        area,
        x_ticks: round_ticks(x.start, course.n as f64, 4),
        y_ticks: round_ticks(y.start, y.end, 4),
        axes: Axes { x, y },
        x_name: "case",
        y_name: &y_name,
    };
    plot(fonts, &frame, |plot| {
        plot.marks(points.iter().copied(), Mark::Dot, 0.45, FAINT)?;
        for block in &course.blocks {
            let Some(summary) = &block.process[measure] else {
                continue;
            };
            let (from, to) = (block.first as f64, block.last as f64);
            let middle = f64::midpoint(from, to);
            if let Some(quartiles) = summary.quartiles {
                plot.line(
                    [(middle, quartiles.low), (middle, quartiles.high)],
                    0.8,
                    INK,
                    None,
                )?;
            }
            let dash = block.short.then_some(LIMIT);
            plot.line(
                [(from, summary.median), (to, summary.median)],
                1.4,
                INK,
                dash,
            )?;
        }
        let last = course.blocks.iter().rev().find_map(|block| {
            let summary = block.process[measure].as_ref()?;
            Some((block.last as f64, summary.median))
        });
        if let Some((at, median)) = last {
            let word = format!("{median:.0}");
            plot.label((at, median), (1.0, 0.0), Align::Left, Face::Semibold, &word);
        }
        Ok(())
    })
}

/// Observed minus expected deaths, by predicted risk with its band, and crude.
///
/// # Errors
/// Where there is nothing to draw.
pub fn deaths(fonts: &Fonts, area: Area, course: &Course) -> Result<Vec<Item>, FigureError> {
    let Some(last) = course.deaths.last() else {
        return Err(FigureError::NoValues);
    };
    let x = numbers(course)?;
    let values = course.deaths.iter().flat_map(|point| {
        [
            point.crude,
            point.adjusted,
            point.band_95.low,
            point.band_95.high,
        ]
    });
    // Room below the lowest line for the second of two words that stand close.
    let mut y = span(values, Some(-1.0..1.0))?;
    y.start -= 0.12 * (y.end - y.start);
    let start = course.earlier as f64;
    let y_name = format!(
        "deaths, observed − expected (up: more) · n {}",
        course.deaths.len()
    );
    let frame = Frame {
        area,
        x_ticks: round_ticks(x.start, course.n as f64, 4),
        y_ticks: round_ticks(y.start, y.end, 4),
        axes: Axes { x, y },
        x_name: "case",
        y_name: &y_name,
    };
    let at = |number: usize| number as f64;
    let line = |value: fn(&CourseDeath) -> f64| {
        std::iter::once((start, 0.0)).chain(
            course
                .deaths
                .iter()
                .map(move |point| (at(point.number), value(point))),
        )
    };
    plot(fonts, &frame, |plot| {
        let band = course
            .deaths
            .iter()
            .map(|point| (at(point.number), point.band_95.low, point.band_95.high));
        plot.band(std::iter::once((start, 0.0, 0.0)).chain(band), BAND)?;
        plot.line([(start, 0.0), (at(last.number), 0.0)], 0.4, SECOND, None)?;
        plot.line(line(|point| point.crude), 0.7, SECOND, Some(LIMIT))?;
        plot.line(line(|point| point.adjusted), 1.1, INK, None)?;
        let died = course
            .deaths
            .iter()
            .filter(|point| point.died)
            .map(|point| (at(point.number), point.adjusted));
        plot.marks(died, Mark::Dot, 0.7, INK)?;
        let words = [
            (last.adjusted, "by risk", Face::Semibold),
            (last.crude, "crude", Face::Regular),
        ];
        let mm_per_death = (plot.on_paper(0.0, 0.0).1 - plot.on_paper(0.0, 1.0).1).abs();
        let heights = spread(&words.map(|(value, ..)| value), mm_per_death);
        for ((_, word, face), height) in words.into_iter().zip(heights) {
            let place = (at(last.number), 0.0);
            plot.label(place, (1.2, height), Align::Left, face, word);
        }
        Ok(())
    })
}
