//! Quarter by quarter: number of cases as bars, rates as dots with exact limits.

use super::plot::{Frame, INK, LIMIT, Mark, SECOND, plot, round_ticks};
use crate::cohort::{FOLLOWED, Quarters, RATE_FROM_CASES};
use crate::draw::{Align, Colour, Face, Fonts, Item};
use crate::figure::FigureError;
use crate::figure::axes::{Axes, span};
use crate::figure::recorder::Area;

fn ticks(quarters: &Quarters, sparse: bool) -> Vec<(f64, String)> {
    let many = quarters.quarters.len();
    quarters
        .quarters
        .iter()
        .enumerate()
        .filter_map(|(index, quarter)| {
            let word = if index == 0 || quarter.quarter == 1 {
                format!("{} Q{}", quarter.year, quarter.quarter)
            } else if sparse || many > 12 {
                return (index + 1 == many && many > 2)
                    .then(|| ((index + 1) as f64, format!("Q{}", quarter.quarter)));
            } else {
                format!("Q{}", quarter.quarter)
            };
            // The first year's word leaves no room for a second one right after it.
            let crowded = index == 1 || (index > 0 && quarter.quarter == 1 && index < 3);
            (!(sparse && crowded)).then(|| ((index + 1) as f64, word))
        })
        .collect()
}

/// Number of cases in each quarter, with the median.
///
/// # Errors
/// Where there is nothing to draw.
pub fn volume(fonts: &Fonts, area: Area, quarters: &Quarters) -> Result<Vec<Item>, FigureError> {
    let most = quarters.quarters.iter().map(|quarter| quarter.cases).max();
    let y = span([], Some(0.0..most.unwrap_or(0).max(4) as f64 * 1.15))?;
    let last = quarters.quarters.len() as f64;
    let frame = Frame {
        area,
        x_ticks: ticks(quarters, false),
        y_ticks: round_ticks(y.start, y.end, 4),
        axes: Axes {
            x: 0.4..last + 1.6,
            y,
        },
        x_name: "",
        y_name: "cases in each quarter",
    };
    plot(fonts, &frame, |plot| {
        for (index, quarter) in quarters.quarters.iter().enumerate() {
            let at = (index + 1) as f64;
            if quarter.cases > 0 {
                plot.bar(
                    at - 0.32,
                    at + 0.32,
                    quarter.cases as f64,
                    Colour::grey(190),
                )?;
            }
            // A number that would stand on the median's line stands above it.
            let height = quarter.cases as f64;
            let over = quarters.volume.map_or(height, |run| {
                let close = (0.0..0.1 * frame.axes.y.end).contains(&(run.median - height));
                if close { run.median } else { height }
            });
            plot.label(
                (at, over),
                (0.0, -1.7),
                Align::Centre,
                Face::Semibold,
                &quarter.cases.to_string(),
            );
        }
        if let Some(run) = &quarters.volume {
            plot.line(
                [(0.5, run.median), (last + 0.5, run.median)],
                0.7,
                INK,
                Some(LIMIT),
            )?;
            plot.label(
                (last + 0.5, run.median),
                (0.8, 0.0),
                Align::Left,
                Face::Regular,
                "median",
            );
        }
        Ok(())
    })
}

/// The rate of one measure in each quarter.
///
/// # Errors
/// Where there is nothing to draw.
pub fn rate(
    fonts: &Fonts,
    area: Area,
    quarters: &Quarters,
    measure: usize,
) -> Result<Vec<Item>, FigureError> {
    let percent = |yes: usize, known: usize| 100.0 * yes as f64 / known as f64;
    let points: Vec<(f64, f64)> = quarters
        .quarters
        .iter()
        .enumerate()
        .filter_map(|(index, quarter)| {
            let counts = quarter.counts[measure];
            (counts.known() >= RATE_FROM_CASES)
                .then(|| ((index + 1) as f64, percent(counts.yes, counts.known())))
        })
        .collect();
    let last = quarters.quarters.len();
    let upper = last
        .checked_sub(1)
        .and_then(|quarter| quarters.limits(quarter, measure))
        .and_then(|limits| limits.upper_line)
        .map(|line| 100.0 * line);
    let values = points.iter().map(|(_, y)| *y).chain(upper);
    let y = span(values, Some(0.0..20.0))?;
    let y = y.start.max(0.0)..y.end;
    let frame = Frame {
        area,
        x_ticks: ticks(quarters, true),
        y_ticks: round_ticks(y.start, y.end, 4),
        axes: Axes {
            x: 0.5..last as f64 + 0.7,
            y,
        },
        x_name: "",
        y_name: "",
    };
    let last_drawn = points.last().map_or_else(String::new, |&(x, _)| {
        let counts = quarters.quarters[x as usize - 1].counts[measure];
        format!(" · {}/{}", counts.yes, counts.known())
    });
    let title = format!("{}, %{last_drawn}", FOLLOWED[measure].1);
    let mut items = plot(fonts, &frame, |plot| {
        plot.line(points.iter().copied(), 0.5, SECOND, None)?;
        plot.marks(points.iter().copied(), Mark::Dot, 0.7, INK)?;
        if let Some(upper) = upper {
            let at = last as f64;
            plot.line(
                [(at - 0.4, upper), (at + 0.4, upper)],
                0.9,
                INK,
                Some(LIMIT),
            )?;
        }
        Ok(())
    })?;
    let style = crate::draw::TextStyle {
        face: Face::Semibold,
        size_pt: super::plot::LABEL_PT,
        colour: INK,
    };
    items.push(fonts.place(title, area.x_mm, area.y_mm - 0.2, Align::Left, style));
    Ok(items)
}
