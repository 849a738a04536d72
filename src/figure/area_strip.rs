//! Valve area after the procedure: a strip below the mean gradients, on the same time axis.

use std::ops::Range;

use plotters::prelude::*;

use super::FigureError;
use super::axes::Axes;
use super::gradient::{Panel, Reading, split};
use super::labels::Labels;
use super::line_words;
use super::marked::Marked;
use super::recorder::{Area, Control, drawing_error, record};
use super::{theme, trend};
use crate::draw::{Align, Fonts, Item, Point};

/// What the strip shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AreaStrip {
    /// Valve areas (cm²), earliest first.
    pub readings: Vec<Reading>,
    /// At or below these areas the area part of stage 2, and of stage 3, deterioration is met in this patient (cm²),
    /// each with how it is printed.
    pub thresholds: Option<[(f64, String); 2]>,
}

/// Height of the strip with its axis, of a figure of this height (mm).
pub(super) fn height_mm(figure_mm: f64) -> f64 {
    (figure_mm * 0.36).clamp(14.0, 19.0)
}

/// The range of areas: every reading and threshold with air about it, in halves of a square centimetre.
fn areas(strip: &AreaStrip) -> Range<f64> {
    let limits = strip.thresholds.iter().flatten().map(|(area, _)| *area);
    let all = strip.readings.iter().map(|reading| reading.value);
    let (low, high) = all
        .chain(limits)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), area| {
            (low.min(area), high.max(area))
        });
    if !low.is_finite() {
        return 0.5..2.5;
    }
    let low = (((low - 0.15) * 2.0).floor() / 2.0).max(0.0);
    let high = ((high + 0.2) * 2.0).ceil() / 2.0;
    low..high.max(low + 1.0)
}

/// At most four marks.
fn marks(range: &Range<f64>) -> Vec<f64> {
    let step = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0]
        .into_iter()
        .find(|step| (range.end - range.start) / step <= 3.0)
        .unwrap_or(50.0);
    let first = (range.start / step).ceil() as i64;
    (first..)
        .map(|count| count as f64 * step)
        .take_while(|&mark| mark <= range.end)
        .collect()
}

/// The strip as items of the page, its words left of it in `words_x_mm`.
pub(super) fn draw(
    strip: &AreaStrip,
    panel: &Panel<'_>,
    area: Area,
    words_x_mm: f64,
    fonts: &Fonts,
) -> Result<Vec<Item>, FigureError> {
    let axes = Axes {
        x: panel.days.clone(),
        y: areas(strip),
    };
    let points = axes.inside(
        strip
            .readings
            .iter()
            .map(|reading| (reading.day as f64, reading.value)),
    )?;
    record(fonts, area, |root, control| {
        let mut chart = ChartBuilder::on(root)
            .margin_top(15)
            .x_label_area_size(115)
            .y_label_area_size(160)
            .build_cartesian_2d(
                Marked::new(
                    axes.x.clone(),
                    panel.times.iter().map(|(day, _)| *day).collect(),
                ),
                Marked::new(axes.y.clone(), marks(&axes.y)),
            )
            .map_err(drawing_error)?;
        let below = strip.thresholds.iter().flatten().map(|(from, _)| *from);
        let below = below.filter(|from| *from > axes.y.start);
        let below = below.map(|from| (axes.y.start, from.min(axes.y.end)));
        trend::bands(&mut chart, below)?;
        let parts = split(&points, panel.reintervention_day);
        trend::axes_and_line(&mut chart, panel.times, 1, &parts)?;
        let spec = chart.as_coord_spec();
        let at = |x: f64, y: f64| {
            area.on_paper(plotters::coord::CoordTranslate::translate(spec, &(x, y)))
        };
        contents(strip, panel, &axes, &points, at, fonts, control);
        let middle = (at(0.0, axes.y.start).1 + at(0.0, axes.y.end).1) / 2.0;
        let pitch = theme::line_mm(&theme::AXIS);
        for (line, words) in ["Valve area (c),", "cm², on the", "same time axis"]
            .into_iter()
            .enumerate()
        {
            let y =
                middle + (line as f64 - 1.0) * pitch + theme::middle_to_baseline_mm(&theme::AXIS);
            control.push(fonts.place(words, words_x_mm, y, Align::Left, theme::AXIS));
        }
        Ok(())
    })
}

/// Points, their labels and the words of the thresholds.
fn contents(
    strip: &AreaStrip,
    panel: &Panel<'_>,
    axes: &Axes,
    points: &[(f64, f64)],
    at: impl Fn(f64, f64) -> Point,
    fonts: &Fonts,
    control: &Control,
) {
    let (left_top, right_bottom) = (at(axes.x.start, axes.y.end), at(axes.x.end, axes.y.start));
    let mut labels = Labels::new(fonts, super::gradient::inside_of(left_top, right_bottom));
    let thresholds = || strip.thresholds.iter().flatten();
    for (from, _) in thresholds() {
        labels.keep_line_free(at(axes.x.start, *from), at(axes.x.end, *from));
    }
    for part in split(points, panel.reintervention_day) {
        for pair in part.windows(2) {
            labels.keep_line_free(at(pair[0].0, pair[0].1), at(pair[1].0, pair[1].1));
        }
    }
    let places: Vec<Point> = points.iter().map(|&(x, y)| at(x, y)).collect();
    panel.readings(&strip.readings, &places, &mut labels, control);
    if points.is_empty() {
        let middle = (
            (left_top.0 + right_bottom.0) / 2.0,
            (left_top.1 + right_bottom.1) / 2.0 + theme::middle_to_baseline_mm(&theme::WORDS),
        );
        control.push(fonts.place(
            "no valve area recorded after",
            middle.0,
            middle.1,
            Align::Centre,
            theme::WORDS,
        ));
    }
    let lines = thresholds()
        .zip(["stage 2 part", "stage 3 part"])
        .filter(|((from, _), _)| *from > axes.y.start)
        .map(|((from, words), part)| (at(0.0, *from).1, format!("{words} {part}")))
        .collect();
    line_words::beside(
        lines,
        (left_top.1, right_bottom.1),
        right_bottom.0 + 1.0,
        fonts,
        control,
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::gradient::{GradientChart, gradient};
    use proptest::prelude::*;

    const AREA: Area = Area {
        x_mm: 12.0,
        y_mm: 80.0,
        width_mm: 91.0,
        height_mm: 46.0,
    };

    fn strip(values: &[(i64, f64)], reference: Option<f64>) -> AreaStrip {
        AreaStrip {
            readings: values
                .iter()
                .map(|&(day, value)| Reading {
                    day,
                    value,
                    label: format!("{value:.2}"),
                })
                .collect(),
            thresholds: reference
                .map(|area| [area * 0.75, area * 0.5].map(|from| (from, format!("{from:.2}")))),
        }
    }

    #[test]
    fn without_an_area_the_strip_says_so() {
        let chart = GradientChart {
            area: Some(AreaStrip::default()),
            ..GradientChart::default()
        };
        let items = gradient(&chart, AREA, &Fonts::load()).unwrap();
        assert!(items.iter().any(|item| matches!(
            item,
            Item::Text { text, .. } if text.contains("no valve area recorded after")
        )));
    }

    #[test]
    fn the_strip_has_the_time_axis_of_the_gradients() {
        // The same day stands at the same place in both panels.
        let values = [(1, 1.8), (35, 1.82), (360, 1.7), (974, 0.86)];
        let chart = GradientChart {
            after: values
                .iter()
                .map(|&(day, _)| Reading {
                    day,
                    value: 12.0,
                    label: "12".into(),
                })
                .collect(),
            area: Some(strip(&values, Some(1.82))),
            ..GradientChart::default()
        };
        let items = gradient(&chart, AREA, &Fonts::load()).unwrap();
        let centres: Vec<Point> = items
            .iter()
            .filter_map(|item| match item {
                Item::Ellipse { centre, .. } => Some(*centre),
                _ => None,
            })
            .collect();
        assert_eq!(centres.len(), 8);
        for (above, below) in centres[..4].iter().zip(&centres[4..]) {
            assert!((above.0 - below.0).abs() < 0.02, "{above:?} {below:?}");
            assert!(above.1 < below.1);
        }
        // A smaller area stands lower.
        assert!(centres[7].1 > centres[5].1);
    }

    proptest! {
        #[test]
        fn prop_every_strip_holds_its_areas(
            areas in prop::collection::btree_map(0i64..4000, 0.05..9.0f64, 0..15),
            reference in prop::option::of(0.1..9.0f64),
        ) {
            let values: Vec<(i64, f64)> = areas.into_iter().collect();
            let shown = strip(&values, reference);
            let range = super::areas(&shown);
            prop_assert!(values.iter().all(|(_, area)| range.contains(area)));
            prop_assert!(marks(&range).len() <= 4);
            let chart = GradientChart { area: Some(shown), ..GradientChart::default() };
            prop_assert!(gradient(&chart, AREA, &Fonts::load()).is_ok());
        }
    }
}
