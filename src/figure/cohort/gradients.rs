//! Mean gradients before and after: every case a line, and beside them the changes with their mean.

use super::plot::{FAINT, Frame, INK, Mark, Plot, SECOND, plot, round_ticks};
use crate::cohort::Haemodynamics;
use crate::draw::{Align, Colour, Face, Fonts, Item};
use crate::figure::FigureError;
use crate::figure::axes::{Axes, span};
use crate::figure::recorder::Area;

/// Most lines drawn; of more cases, every so-manieth, and the page says so.
pub const MOST_LINES: usize = 600;

/// Every so-manieth case is drawn.
pub fn stride(pairs: usize) -> usize {
    pairs.div_ceil(MOST_LINES).max(1)
}

/// The two panels side by side; the left one takes three fifths.
///
/// # Errors
/// Where there is nothing to draw.
pub fn gradients(
    fonts: &Fonts,
    area: Area,
    haemodynamics: &Haemodynamics,
) -> Result<Vec<Item>, FigureError> {
    let left = Area {
        width_mm: area.width_mm * 0.58,
        ..area
    };
    let right = Area {
        x_mm: area.x_mm + area.width_mm * 0.62,
        width_mm: area.width_mm * 0.38,
        ..area
    };
    let mut items = lines(fonts, left, haemodynamics)?;
    items.extend(changes(fonts, right, haemodynamics)?);
    Ok(items)
}

fn lines(fonts: &Fonts, area: Area, data: &Haemodynamics) -> Result<Vec<Item>, FigureError> {
    let values = data
        .pairs
        .iter()
        .flat_map(|pair| [pair.before_mmhg, pair.after_mmhg]);
    let y = span(values, Some(0.0..60.0))?;
    let frame = Frame {
        area,
        x_ticks: vec![
            (0.0, "before".to_owned()),
            (1.0, "judging echo after".to_owned()),
        ],
        y_ticks: round_ticks(y.start, y.end, 6),
        axes: Axes { x: -0.35..1.45, y },
        x_name: "",
        y_name: "mean gradient, mmHg",
    };
    let many = data.pairs.len() > 60;
    let ink = if many { FAINT } else { SECOND };
    plot(fonts, &frame, |plot| {
        plot.line(
            [(-0.35, 20.0), (1.45, 20.0)],
            0.5,
            INK,
            Some(super::plot::LIMIT),
        )?;
        plot.label((1.45, 20.0), (0.0, -1.6), Align::Right, Face::Regular, "20");
        for pair in data.pairs.iter().step_by(stride(data.pairs.len())) {
            let width = if many { 0.25 } else { 0.4 };
            plot.line(
                [(0.0, pair.before_mmhg), (1.0, pair.after_mmhg)],
                width,
                ink,
                None,
            )?;
        }
        for pair in data.pairs.iter().step_by(stride(data.pairs.len())) {
            let points = [(0.0, pair.before_mmhg), (1.0, pair.after_mmhg)];
            plot.marks(points, Mark::Dot, 0.45, ink)?;
        }
        for (x, summary, align, shift) in [
            (0.0, data.before, Align::Right, -5.2),
            (1.0, data.after, Align::Left, 5.2),
        ] {
            if let Some(summary) = summary {
                plot.line(
                    [(x - 0.07, summary.median), (x + 0.07, summary.median)],
                    1.8,
                    INK,
                    None,
                )?;
                let text = format!("median {}", trimmed(summary.median));
                plot.label(
                    (x, summary.median),
                    (shift, 0.0),
                    align,
                    Face::Semibold,
                    &text,
                );
            }
        }
        Ok(())
    })
}

fn changes(fonts: &Fonts, area: Area, data: &Haemodynamics) -> Result<Vec<Item>, FigureError> {
    let changes: Vec<f64> = data
        .pairs
        .iter()
        .map(|pair| pair.after_mmhg - pair.before_mmhg)
        .collect();
    let y = span(changes.iter().copied(), Some(-60.0..10.0))?;
    let frame = Frame {
        area,
        x_ticks: vec![
            (0.0, "each case".to_owned()),
            (1.0, "mean, 95 %".to_owned()),
        ],
        y_ticks: round_ticks(y.start, y.end, 6),
        axes: Axes { x: -0.5..1.7, y },
        x_name: "",
        y_name: "change, mmHg",
    };
    plot(fonts, &frame, |plot| {
        plot.line([(-0.5, 0.0), (1.7, 0.0)], 0.5, INK, None)?;
        let step = stride(changes.len());
        let shown: Vec<f64> = changes.iter().copied().step_by(step).collect();
        plot.marks(strip(&shown), Mark::Ring, 0.5, SECOND)?;
        mean_mark(plot, data)
    })
}

/// Points side by side where they would cover each other.
fn strip(values: &[f64]) -> Vec<(f64, f64)> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let mut points = Vec::with_capacity(sorted.len());
    for chunk in sorted.chunk_by(|a, b| (b - a).abs() < 0.75) {
        let wide = 0.07_f64.min(0.8 / chunk.len() as f64);
        for (place, &value) in chunk.iter().enumerate() {
            let offset = (place as f64 - (chunk.len() - 1) as f64 / 2.0) * wide;
            points.push((offset, value));
        }
    }
    points
}

fn mean_mark(plot: &mut Plot<'_, '_, '_>, data: &Haemodynamics) -> Result<(), FigureError> {
    let Some(change) = data.mean_change else {
        return Ok(());
    };
    if let Some(interval) = change.interval {
        plot.line([(1.0, interval.low), (1.0, interval.high)], 1.0, INK, None)?;
        for end in [interval.low, interval.high] {
            plot.line([(0.94, end), (1.06, end)], 1.0, INK, None)?;
        }
    }
    plot.marks([(1.0, change.mean)], Mark::Dot, 0.9, Colour::BLACK)?;
    let text = format!("−{:.1}", change.mean.abs());
    let text = if change.mean < 0.0 {
        text
    } else {
        format!("{:.1}", change.mean)
    };
    plot.label(
        (1.0, change.mean),
        (1.8, 0.0),
        Align::Left,
        Face::Semibold,
        &text,
    );
    Ok(())
}

fn trimmed(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
