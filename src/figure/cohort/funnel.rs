//! Groups against the pooled rate, with exact limits by number of cases.

use super::plot::{DOTTED, Frame, INK, LIMIT, Mark, SECOND, plot, round_ticks};
use crate::assess::bands::at_least;
use crate::cohort::statistics::{
    Confidence, CountDistribution, RATIO_FROM_EXPECTED, critical_counts,
};
use crate::cohort::{COMPARED, GroupReview, GroupsReview, NOT_RECORDED};
use crate::draw::{Fonts, Item};
use crate::figure::FigureError;
use crate::figure::axes::{Axes, span};
use crate::figure::recorder::Area;

/// Space above the highest and below the lowest group (percentage points).
const ROOM_PCT: f64 = 20.0;
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
    let points: Vec<((f64, f64), &str)> = review
        .groups
        .iter()
        .filter(|group| group.name != NOT_RECORDED && group.counts[measure].known() > 0)
        .map(|group| {
            let counts = &group.counts[measure];
            let known = counts.known() as f64;
            (
                (known, 100.0 * counts.yes as f64 / known),
                group.name.as_str(),
            )
        })
        .collect();
    let most = points
        .iter()
        .map(|((known, _), _)| *known)
        .fold(10.0, f64::max);
    let x = span([], Some(0.0..most * 1.2))?;
    // The axis holds every group; of the limits, which open wide at few cases, what lies on it.
    let rates = || {
        points
            .iter()
            .map(|((_, rate), _)| *rate)
            .chain([100.0 * rate])
    };
    let y = (rates().fold(100.0, f64::min) - ROOM_PCT).max(0.0)
        ..(rates().fold(0.0, f64::max) + ROOM_PCT).min(100.0);
    let frame = Frame {
        area,
        x_ticks: round_ticks(x.start, x.end, 6),
        y_ticks: round_ticks(y.start, y.end, 5),
        axes: Axes { x, y: y.clone() },
        x_name: "known cases of the 12 months",
        y_name: &format!("{}, % · n {}", COMPARED[measure].1, pooled.known()),
    };
    plot(fonts, &frame, |plot| {
        let pooled = 100.0 * rate;
        plot.line([(0.0, pooled), (most * 1.1, pooled)], 0.6, SECOND, None)?;
        for (confidence, dash) in [
            (Confidence::Percent95, DOTTED),
            (Confidence::Percent99_8, LIMIT),
        ] {
            for upper in [true, false] {
                let mut line = limit_line(rate, most as usize, confidence, upper);
                line.retain(|(_, height)| y.contains(height) || *height == y.end);
                plot.line(line, 0.7, INK, Some(dash))?;
            }
        }
        plot.marks(points.iter().map(|(at, _)| *at), Mark::Dot, 0.8, INK)?;
        plot.labels_apart(&points);
        Ok(())
    })
}

/// The highest ratio drawn; a group above it stands in the table only, and the page says so.
pub const HIGHEST_RATIO: f64 = 6.0;

/// Groups whose ratio of deaths is drawn: those with one expected death or more and a ratio the axis holds.
pub fn with_ratio(review: &GroupsReview) -> Vec<&GroupReview> {
    review
        .groups
        .iter()
        .filter(|group| group.name != NOT_RECORDED)
        .filter(|group| at_least(group.expected, RATIO_FROM_EXPECTED))
        .filter(|group| group.observed as f64 / group.expected <= HIGHEST_RATIO)
        .collect()
}

/// Observed over expected deaths by expected deaths, with the exact Poisson limits of the count.
///
/// # Errors
/// Where there is nothing to draw.
pub fn deaths(fonts: &Fonts, area: Area, review: &GroupsReview) -> Result<Vec<Item>, FigureError> {
    let groups = with_ratio(review);
    let n: usize = groups.iter().map(|group| group.with_risk).sum();
    let points: Vec<((f64, f64), &str)> = groups
        .into_iter()
        .map(|group| {
            let ratio = group.observed as f64 / group.expected;
            ((group.expected, ratio), group.name.as_str())
        })
        .collect();
    let most = points
        .iter()
        .map(|((expected, _), _)| *expected)
        .fold(0.0, f64::max);
    if most == 0.0 {
        return Err(FigureError::NoValues);
    }
    let x = span([], Some(0.0..most * 1.2))?;
    let highest = points
        .iter()
        .map(|((_, ratio), _)| *ratio)
        .fold(3.0, f64::max);
    let y = 0.0..highest + 0.5;
    let y_name = format!("Deaths, observed / expected · n {n}");
    let frame = Frame {
        area,
        x_ticks: round_ticks(x.start, x.end, 6),
        y_ticks: round_ticks(y.start, y.end, 5),
        axes: Axes { x, y: y.clone() },
        x_name: "expected deaths of the 12 months",
        y_name: &y_name,
    };
    plot(fonts, &frame, |plot| {
        plot.line([(0.0, 1.0), (most * 1.1, 1.0)], 0.6, SECOND, None)?;
        for (confidence, dash) in [
            (Confidence::Percent95, DOTTED),
            (Confidence::Percent99_8, LIMIT),
        ] {
            for upper in [true, false] {
                let mut line = ratio_line(most * 1.1, confidence, upper);
                line.retain(|(_, height)| y.contains(height));
                plot.line(line, 0.7, INK, Some(dash))?;
            }
        }
        plot.marks(points.iter().map(|(at, _)| *at), Mark::Dot, 0.8, INK)?;
        plot.labels_apart(&points);
        Ok(())
    })
}

/// Half a death inside the critical count of a Poisson distribution, over its mean.
fn ratio_line(most: f64, confidence: Confidence, upper: bool) -> Vec<(f64, f64)> {
    (1..=STEPS)
        .filter_map(|step| {
            let expected = most * step as f64 / STEPS as f64;
            let critical = critical_counts(&CountDistribution::poisson(expected)?, confidence);
            let ratio = if upper {
                critical.upper_line(expected)
            } else {
                critical.lower_line(expected)
            }?;
            Some((expected, ratio.max(0.0)))
        })
        .collect()
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
