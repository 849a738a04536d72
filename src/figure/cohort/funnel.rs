//! Groups against the pooled rate, with exact limits by number of cases.

use super::plot::{DOTTED, Frame, INK, LIMIT, Mark, SECOND, plot, round_ticks};
use crate::cohort::statistics::{Confidence, CountDistribution, critical_counts};
use crate::cohort::{GroupsReview, NOT_RECORDED};
use crate::draw::{Align, Face, Fonts, Item};
use crate::figure::FigureError;
use crate::figure::axes::{Axes, span};
use crate::figure::recorder::Area;

/// Most steps of the limit lines.
const STEPS: usize = 200;

/// The funnel of one of the compared outcomes.
///
/// # Errors
/// Where there is nothing to draw.
pub fn funnel(
    fonts: &Fonts,
    area: Area,
    review: &GroupsReview,
    measure: usize,
) -> Result<Vec<Item>, FigureError> {
    let pooled = &review.pooled[measure];
    if pooled.known() == 0 {
        return Err(FigureError::NoValues);
    }
    let rate = pooled.yes as f64 / pooled.known() as f64;
    let most = review
        .groups
        .iter()
        .map(|group| group.counts[measure].known())
        .max()
        .unwrap_or(0)
        .max(10);
    let x = span([], Some(0.0..most as f64 * 1.15))?;
    let frame = Frame {
        area,
        x_ticks: round_ticks(x.start, x.end, 6),
        y_ticks: round_ticks(0.0, 100.0, 5),
        axes: Axes { x, y: 0.0..100.0 },
        x_name: "known cases of the 12 months",
        y_name: "%",
    };
    plot(fonts, &frame, |plot| {
        let end = most as f64 * 1.1;
        plot.line(
            [(0.0, 100.0 * rate), (end, 100.0 * rate)],
            0.6,
            SECOND,
            None,
        )?;
        plot.label(
            (end, 100.0 * rate),
            (0.6, 0.0),
            Align::Left,
            Face::Regular,
            "pooled",
        );
        for (confidence, dash) in [
            (Confidence::Percent95, DOTTED),
            (Confidence::Percent99_8, LIMIT),
        ] {
            for upper in [true, false] {
                let line = limit_line(rate, most, confidence, upper);
                plot.line(line, 0.7, INK, Some(dash))?;
            }
        }
        for group in &review.groups {
            let counts = &group.counts[measure];
            if counts.known() == 0 || group.name == NOT_RECORDED {
                continue;
            }
            let at = (
                counts.known() as f64,
                100.0 * counts.yes as f64 / counts.known() as f64,
            );
            plot.marks([at], Mark::Dot, 0.8, INK)?;
            plot.label(at, (1.4, 0.0), Align::Left, Face::Semibold, &group.name);
        }
        Ok(())
    })
}

/// Half a case inside the critical count, so that line and flag agree.
fn limit_line(rate: f64, most: usize, confidence: Confidence, upper: bool) -> Vec<(f64, f64)> {
    let step = most.div_ceil(STEPS).max(1);
    (1..=most)
        .step_by(step)
        .filter_map(|n| {
            let expected = CountDistribution::binomial(n, rate)?;
            let critical = critical_counts(&expected, confidence);
            let line = if upper {
                critical.upper_line(n as f64)
            } else {
                critical.lower_line(n as f64)
            }?;
            Some((n as f64, (100.0 * line).clamp(0.0, 100.0)))
        })
        .collect()
}
