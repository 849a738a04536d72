//! Over-sizing against what came of it, by how the valve expands.

use super::plot::{Frame, INK, LIMIT, Mark, SECOND, plot, round_ticks};
use crate::cohort::SizingReview;
use crate::draw::{Align, Colour, Face, Fonts, Item};
use crate::figure::FigureError;
use crate::figure::axes::{Axes, span};
use crate::figure::recorder::Area;
use crate::record::{Grade, Mechanism};

/// Shape and ink of a mechanism.
pub fn mark_of(mechanism: Option<Mechanism>) -> (Mark, Colour) {
    match mechanism {
        Some(Mechanism::BalloonExpandable) => (Mark::Dot, INK),
        Some(Mechanism::SelfExpanding) => (Mark::Ring, INK),
        Some(Mechanism::MechanicallyExpandable) => (Mark::Triangle, SECOND),
        None => (Mark::Cross, SECOND),
    }
}

fn x_range(review: &SizingReview) -> Result<std::ops::Range<f64>, FigureError> {
    span(
        review.points.iter().map(|point| point.oversizing_pct),
        Some(-10.0..40.0),
    )
}

/// Mean gradient of the judging echo.
///
/// # Errors
/// Where there is nothing to draw.
pub fn gradient(
    fonts: &Fonts,
    area: Area,
    review: &SizingReview,
) -> Result<Vec<Item>, FigureError> {
    let x = x_range(review)?;
    let values = review.points.iter().filter_map(|point| point.gradient_mmhg);
    let y = span(values, Some(0.0..25.0))?;
    let frame = Frame {
        area,
        x_ticks: round_ticks(x.start, x.end, 6),
        y_ticks: round_ticks(y.start, y.end, 5),
        axes: Axes { x, y },
        x_name: "over-sizing by area, %",
        y_name: "mean gradient, judging echo, mmHg",
    };
    plot(fonts, &frame, |plot| {
        let (from, to) = (frame.axes.x.start, frame.axes.x.end);
        plot.line([(from, 20.0), (to, 20.0)], 0.5, INK, Some(LIMIT))?;
        for point in &review.points {
            if let Some(gradient) = point.gradient_mmhg {
                let (mark, ink) = mark_of(point.mechanism);
                plot.marks([(point.oversizing_pct, gradient)], mark, 0.8, ink)?;
            }
        }
        Ok(())
    })
}

/// Paravalvular grade of the judging echo; cases alike stand beside each other.
///
/// # Errors
/// Where there is nothing to draw.
pub fn regurgitation(
    fonts: &Fonts,
    area: Area,
    review: &SizingReview,
) -> Result<Vec<Item>, FigureError> {
    const GRADES: [(Grade, &str); 5] = [
        (Grade::None, "none"),
        (Grade::Trace, "trace"),
        (Grade::Mild, "mild"),
        (Grade::Moderate, "moderate"),
        (Grade::Severe, "severe"),
    ];
    let x = x_range(review)?;
    let frame = Frame {
        area,
        x_ticks: round_ticks(x.start, x.end, 6),
        y_ticks: GRADES
            .iter()
            .map(|&(grade, word)| (grade as usize as f64, word.to_owned()))
            .collect(),
        axes: Axes { x, y: -0.5..4.6 },
        x_name: "over-sizing by area, %",
        y_name: "paravalvular regurgitation, judging echo",
    };
    plot(fonts, &frame, |plot| {
        for (grade, _) in GRADES {
            let mut last = f64::NEG_INFINITY;
            let mut raised = 0;
            let mut points: Vec<_> = review
                .points
                .iter()
                .filter(|point| point.paravalvular == Some(grade))
                .collect();
            points.sort_by(|a, b| a.oversizing_pct.total_cmp(&b.oversizing_pct));
            let close = (frame.axes.x.end - frame.axes.x.start) * 0.02;
            for point in points {
                raised = if point.oversizing_pct - last < close {
                    (raised + 1) % 4
                } else {
                    0
                };
                last = point.oversizing_pct;
                let y = grade as usize as f64 + 0.16 * f64::from(raised);
                let (mark, ink) = mark_of(point.mechanism);
                plot.marks([(point.oversizing_pct, y)], mark, 0.8, ink)?;
            }
        }
        Ok(())
    })
}

/// The shapes with their words, in one line of this width.
pub fn key(fonts: &Fonts, area: Area, review: &SizingReview) -> Vec<Item> {
    let kinds = [
        (Some(Mechanism::BalloonExpandable), "balloon-expandable"),
        (Some(Mechanism::SelfExpanding), "self-expanding"),
        (
            Some(Mechanism::MechanicallyExpandable),
            "mechanically expandable",
        ),
        (None, "not known"),
    ];
    let mut items = Vec::new();
    let mut x = area.x_mm + 1.0;
    let y = area.y_mm + area.height_mm / 2.0;
    for (mechanism, word) in kinds {
        let n = review
            .points
            .iter()
            .filter(|point| point.mechanism == mechanism)
            .count();
        if n == 0 {
            continue;
        }
        let (mark, ink) = mark_of(mechanism);
        items.extend(super::plot::mark_item(mark, (x, y), 0.8, ink));
        let text = format!("{word}, n {n}");
        let style = crate::draw::TextStyle {
            face: Face::Regular,
            size_pt: super::plot::LABEL_PT,
            colour: INK,
        };
        let width = super::plot::label_width_mm(fonts, &text);
        items.push(fonts.place(text, x + 2.0, y + 0.8, Align::Left, style));
        x += width + 8.0;
    }
    items
}
