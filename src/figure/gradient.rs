//! Mean gradients of one patient: before on its own panel and scale, after on a true time axis.

use std::ops::Range;

use plotters::prelude::*;
use plotters::style::RGBColor;

use super::FigureError;
use super::axes::{Axes, span};
use super::labels::Labels;
use super::marked::Marked;
use super::recorder::{Area, Control, drawing_error, record};
use super::theme;
use crate::draw::{Align, Dash, Fonts, Item, Point};

/// One mean gradient after the procedure.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Days from the procedure.
    pub day: i64,
    /// Mean gradient (mmHg).
    pub mmhg: f64,
    /// The value as printed beside its point.
    pub label: String,
}

/// What the chart shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct GradientChart {
    /// Mean gradient before the procedure (mmHg) and how it is printed.
    pub before: Option<(f64, String)>,
    /// Mean gradients after it, earliest first.
    pub after: Vec<Reading>,
    /// From here the gradient part of stage 2 deterioration is met in this patient (mmHg).
    pub threshold_mmhg: Option<f64>,
    /// Day of a valve reintervention: readings before and after it are of different valves.
    pub reintervention_day: Option<i64>,
}

/// Share of the width that the panel before has.
const BEFORE_SHARE: f64 = 0.24;
/// Room right of the panel for the words of its lines (mm).
const RIGHT_MM: f64 = 18.4;
/// Radius of a point (mm).
const POINT_MM: f64 = 0.85;

/// The chart as items of the page; the caller tags it with a description.
///
/// # Errors
/// Where a reading would be drawn where it is not, or the drawing library refuses.
pub fn gradient(
    chart: &GradientChart,
    area: Area,
    fonts: &Fonts,
) -> Result<Vec<Item>, FigureError> {
    let before_mm = area.width_mm * BEFORE_SHARE;
    let before = Area {
        width_mm: before_mm,
        ..area
    };
    let after = Area {
        x_mm: area.x_mm + before_mm + 3.0,
        width_mm: area.width_mm - before_mm - 3.0 - RIGHT_MM,
        ..area
    };
    let mut items = panel_before(chart, before, fonts)?;
    items.extend(panel_after(chart, after, area.x_mm + area.width_mm, fonts)?);
    Ok(items)
}

/// The next multiple of ten at or above a value.
fn next_ten(value: f64) -> f64 {
    (value / 10.0).ceil() * 10.0
}

/// About five marks from 0 to the end of an axis.
fn marks(end: f64) -> Vec<f64> {
    let step = [5.0, 10.0, 20.0, 25.0, 50.0]
        .into_iter()
        .find(|step| end / step <= 6.0)
        .unwrap_or(50.0);
    (0..)
        .map(|count| f64::from(count) * step)
        .take_while(|&mark| mark <= end)
        .collect()
}

/// Marks of the time axis with their words.
fn time_marks(last_day: f64) -> Vec<(f64, String)> {
    const MONTH: f64 = 365.25 / 12.0;
    const YEAR: f64 = 365.25;
    let days = |step: i32| -> Vec<(f64, String)> {
        (0..)
            .map(|count| count * step)
            .take_while(|&day| f64::from(day) <= last_day)
            .map(|day| (f64::from(day), format!("{day}\u{a0}d")))
            .collect()
    };
    let months = |step: i32| -> Vec<(f64, String)> {
        (0..)
            .map(|count| count * step)
            .take_while(|&month| f64::from(month) * MONTH <= last_day)
            .map(|month| {
                let words = match (month, month % 12) {
                    (0, _) => "0".to_owned(),
                    (_, 0) => format!("{}\u{a0}y", month / 12),
                    _ => format!("{month}\u{a0}mo"),
                };
                (f64::from(month) * MONTH, words)
            })
            .collect()
    };
    match last_day {
        last if last <= 45.0 => days(10),
        last if last <= 130.0 => days(30),
        last if last <= 420.0 => months(3),
        last if last <= 1250.0 => months(6),
        last => {
            let step = ((last / YEAR) / 7.0).ceil().max(1.0) as i32;
            months(12 * step)
        }
    }
}

fn panel_before(
    chart: &GradientChart,
    area: Area,
    fonts: &Fonts,
) -> Result<Vec<Item>, FigureError> {
    let value = chart.before.as_ref().map(|(value, _)| *value);
    let top = value.map_or(60.0, |value| next_ten((value * 1.2).max(40.0)));
    let axes = Axes {
        x: 0.0..1.0,
        y: 0.0..top,
    };
    record(fonts, area, |root, control| {
        let mut panel = ChartBuilder::on(root)
            .margin_top(30)
            .margin_right(10)
            .x_label_area_size(115)
            .y_label_area_size(160)
            .build_cartesian_2d(axes.x.clone(), Marked::new(axes.y.clone(), marks(top)))
            .map_err(drawing_error)?;
        panel
            .configure_mesh()
            .disable_mesh()
            .x_labels(0)
            .set_tick_mark_size(LabelAreaPosition::Left, 25)
            .y_label_formatter(&|mark| format!("{mark:.0}"))
            .label_style(("page", 65))
            .axis_style(BLACK.stroke_width(5))
            .draw()
            .map_err(drawing_error)?;
        let spec = panel.as_coord_spec();
        let at = |x: f64, y: f64| {
            area.on_paper(plotters::coord::CoordTranslate::translate(spec, &(x, y)))
        };
        let (left_top, right_bottom) = (at(0.0, top), at(1.0, 0.0));
        let middle = (left_top.0 + right_bottom.0) / 2.0;
        let inside = inside_of(left_top, right_bottom);
        control.push(Item::line(
            (left_top.0, right_bottom.1),
            right_bottom,
            crate::draw::Stroke::solid(0.5, crate::draw::Colour::BLACK),
        ));
        control.push(fonts.place(
            "before",
            middle,
            right_bottom.1 + 3.0,
            Align::Centre,
            theme::AXIS,
        ));
        match &chart.before {
            Some((value, label)) => {
                axes.inside([(0.5, *value)])?;
                let point = at(0.42, *value);
                let mut labels = Labels::new(fonts, inside);
                labels.keep_point_free(point, POINT_MM);
                draw_point(&panel_point(point), control);
                for item in labels
                    .beside(point, POINT_MM, label, theme::VALUE)
                    .into_iter()
                    .flatten()
                {
                    control.push(item);
                }
            }
            None => {
                for (line, words) in ["not", "recorded"].into_iter().enumerate() {
                    let y = (left_top.1 + right_bottom.1) / 2.0
                        + line as f64 * theme::line_mm(&theme::WORDS);
                    control.push(fonts.place(words, middle, y, Align::Centre, theme::WORDS));
                }
            }
        }
        Ok(())
    })
}

fn panel_point(point: Point) -> Item {
    Item::circle(
        point,
        POINT_MM,
        Some(crate::draw::Colour::WHITE),
        Some(crate::draw::Stroke::solid(0.9, crate::draw::Colour::BLACK)),
    )
}

fn draw_point(point: &Item, control: &Control) {
    control.push(point.clone());
}

fn inside_of(left_top: Point, right_bottom: Point) -> Area {
    Area {
        x_mm: left_top.0 + 0.4,
        y_mm: left_top.1 + 0.2,
        width_mm: right_bottom.0 - left_top.0 - 0.6,
        height_mm: right_bottom.1 - left_top.1 - 0.6,
    }
}

/// The ranges of the panel after: at least 30 mmHg, more where a reading or the threshold needs it.
fn axes_after(chart: &GradientChart) -> Result<Axes, FigureError> {
    let highest = span(
        chart.after.iter().map(|reading| reading.mmhg),
        Some(0.0..30.0),
    )?
    .end;
    let band = chart.threshold_mmhg.map_or(0.0, |from| from + 4.0);
    let last = chart
        .after
        .last()
        .map_or(35.0, |reading| reading.day as f64)
        .max(35.0);
    let first = chart
        .after
        .first()
        .map_or(0.0, |reading| reading.day as f64)
        .min(0.0);
    Ok(Axes {
        x: first - last * 0.03..last * 1.05,
        y: 0.0..next_ten(highest.max(band)),
    })
}

fn panel_after(
    chart: &GradientChart,
    area: Area,
    right_edge_mm: f64,
    fonts: &Fonts,
) -> Result<Vec<Item>, FigureError> {
    let axes = axes_after(chart)?;
    let points = axes.inside(
        chart
            .after
            .iter()
            .map(|reading| (reading.day as f64, reading.mmhg)),
    )?;
    let times = time_marks(axes.x.end);
    let top = axes.y.end;
    record(fonts, area, |root, control| {
        let mut panel = ChartBuilder::on(root)
            .margin_top(30)
            .x_label_area_size(115)
            .y_label_area_size(160)
            .build_cartesian_2d(
                Marked::new(axes.x.clone(), times.iter().map(|(day, _)| *day).collect()),
                Marked::new(axes.y.clone(), marks(top)),
            )
            .map_err(drawing_error)?;
        band(chart, &axes, |from, to| {
            panel
                .draw_series([Rectangle::new([from, to], grey(theme::BAND).filled())])
                .map(|_| ())
                .map_err(drawing_error)
        })?;
        let dashed = Dash {
            on_pt: 2.4,
            off_pt: 1.8,
        };
        control
            .dashed(dashed, || {
                panel.draw_series(LineSeries::new(
                    [(axes.x.start, 20.0), (axes.x.end, 20.0)],
                    BLACK.stroke_width(6),
                ))
            })
            .map_err(drawing_error)?;
        panel
            .configure_mesh()
            .disable_mesh()
            .set_tick_mark_size(LabelAreaPosition::Left, 25)
            .set_tick_mark_size(LabelAreaPosition::Bottom, 25)
            .x_label_formatter(&|day| words_of(&times, *day))
            .y_label_formatter(&|mark| format!("{mark:.0}"))
            .label_style(("page", 65))
            .axis_style(BLACK.stroke_width(5))
            .draw()
            .map_err(drawing_error)?;
        for part in split(&points, chart.reintervention_day) {
            panel
                .draw_series(LineSeries::new(part.iter().copied(), BLACK.stroke_width(9)))
                .map_err(drawing_error)?;
        }
        let spec = panel.as_coord_spec();
        let at = |x: f64, y: f64| {
            area.on_paper(plotters::coord::CoordTranslate::translate(spec, &(x, y)))
        };
        words_after(chart, &axes, &points, at, right_edge_mm, fonts, control);
        Ok(())
    })
}

/// The band, where it lies on the axis.
fn band(
    chart: &GradientChart,
    axes: &Axes,
    draw: impl FnOnce((f64, f64), (f64, f64)) -> Result<(), FigureError>,
) -> Result<(), FigureError> {
    match chart.threshold_mmhg {
        Some(from) if from < axes.y.end => draw((axes.x.start, axes.y.end), (axes.x.end, from)),
        _ => Ok(()),
    }
}

/// Points, their labels and the words of the lines; all kept apart.
fn words_after(
    chart: &GradientChart,
    axes: &Axes,
    points: &[(f64, f64)],
    at: impl Fn(f64, f64) -> Point,
    right_edge_mm: f64,
    fonts: &Fonts,
    control: &Control,
) {
    let (left_top, right_bottom) = (at(axes.x.start, axes.y.end), at(axes.x.end, 0.0));
    let mut labels = Labels::new(fonts, inside_of(left_top, right_bottom));
    labels.keep_line_free(at(axes.x.start, 20.0), at(axes.x.end, 20.0));
    if let Some(from) = chart.threshold_mmhg.filter(|from| *from < axes.y.end) {
        labels.keep_line_free(at(axes.x.start, from), at(axes.x.end, from));
    }
    for part in split(points, chart.reintervention_day) {
        for pair in part.windows(2) {
            labels.keep_line_free(at(pair[0].0, pair[0].1), at(pair[1].0, pair[1].1));
        }
    }
    let places: Vec<Point> = points.iter().map(|&(x, y)| at(x, y)).collect();
    for &place in &places {
        labels.keep_point_free(place, POINT_MM + 0.2);
    }
    for &place in &places {
        control.push(panel_point(place));
    }
    // The latest first: where room is short, it has the nearest place.
    for (place, reading) in places.iter().zip(&chart.after).rev() {
        for item in labels
            .beside(*place, POINT_MM, &reading.label, theme::VALUE)
            .into_iter()
            .flatten()
        {
            control.push(item);
        }
    }
    if points.is_empty() {
        let middle = ((left_top.0 + right_bottom.0) / 2.0, (at(0.0, 10.0)).1);
        control.push(fonts.place(
            "no mean gradient recorded after",
            middle.0,
            middle.1,
            Align::Centre,
            theme::WORDS,
        ));
    }
    let beside = right_bottom.0 + 1.0;
    let mut beside_lines: Vec<(f64, String)> = vec![(20.0, "20 mean".to_owned())];
    if let Some(from) = chart.threshold_mmhg {
        let words = if (from - 20.0).abs() < 0.5 {
            "20 mean and"
        } else {
            ""
        };
        if words.is_empty() {
            beside_lines.push((from, format!("{} stage 2 part", short(from))));
        } else {
            beside_lines[0].1 = words.to_owned();
        }
    }
    let mut ys: Vec<f64> = beside_lines
        .iter()
        .map(|(value, _)| at(0.0, *value).1)
        .collect();
    // Two lines close together: their words move apart, above and below.
    let apart = theme::line_mm(&theme::AXIS);
    if ys.len() == 2 && (ys[0] - ys[1]).abs() < apart {
        let middle = (ys[0] + ys[1]) / 2.0;
        ys[0] = middle + apart / 2.0;
        ys[1] = middle - apart / 2.0;
    }
    for ((_, words), y) in beside_lines.iter().zip(&ys) {
        control.push(fonts.place(
            words.as_str(),
            beside,
            y + theme::middle_to_baseline_mm(&theme::AXIS),
            Align::Left,
            theme::AXIS,
        ));
    }
    if beside_lines.len() == 1 && chart.threshold_mmhg.is_some() {
        let y = ys[0] + apart + theme::middle_to_baseline_mm(&theme::AXIS);
        control.push(fonts.place("stage 2 part", beside, y, Align::Left, theme::AXIS));
    }
    debug_assert!(
        beside + fonts.width_mm("199.9 stage 2 part", theme::AXIS.face, theme::AXIS.size_pt)
            <= right_edge_mm
    );
}

fn short(value: f64) -> String {
    let written = format!("{value:.1}");
    written
        .strip_suffix(".0")
        .map_or(written.clone(), str::to_owned)
}

fn words_of(marks: &[(f64, String)], day: f64) -> String {
    marks
        .iter()
        .find(|(mark, _)| (mark - day).abs() < 1e-6)
        .map_or(String::new(), |(_, words)| words.clone())
}

/// The readings in one line, or in two where the valve was replaced between them.
fn split(points: &[(f64, f64)], reintervention_day: Option<i64>) -> Vec<&[(f64, f64)]> {
    let cut = reintervention_day.map_or(points.len(), |day| {
        points.partition_point(|(x, _)| *x < day as f64)
    });
    let (earlier, later) = points.split_at(cut);
    [earlier, later]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect()
}

const fn grey(colour: crate::draw::Colour) -> RGBColor {
    RGBColor(colour.red, colour.green, colour.blue)
}

/// The range of mean gradients that the panel after would show (mmHg).
///
/// # Errors
/// As [`gradient`].
pub fn scale_after(chart: &GradientChart) -> Result<Range<f64>, FigureError> {
    Ok(axes_after(chart)?.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const AREA: Area = Area {
        x_mm: 12.0,
        y_mm: 80.0,
        width_mm: 91.0,
        height_mm: 55.0,
    };

    fn readings(values: &[(i64, f64)]) -> Vec<Reading> {
        values
            .iter()
            .map(|&(day, mmhg)| Reading {
                day,
                mmhg,
                label: short(mmhg),
            })
            .collect()
    }

    #[test]
    fn a_high_gradient_is_drawn_where_it_is() {
        let chart = GradientChart {
            after: readings(&[(3, 12.0), (400, 75.0)]),
            ..GradientChart::default()
        };
        assert!(scale_after(&chart).unwrap().end >= 75.0);
        assert!(gradient(&chart, AREA, &Fonts::load()).is_ok());
    }

    #[test]
    fn the_scale_reaches_30_at_least() {
        let chart = GradientChart {
            after: readings(&[(3, 8.0)]),
            ..GradientChart::default()
        };
        assert_eq!(scale_after(&chart).unwrap(), 0.0..30.0);
    }

    proptest! {
        #[test]
        fn prop_every_chart_stays_in_its_area(
            days in prop::collection::btree_map(0i64..4000, 0.0..150.0f64, 0..15),
            before in prop::option::of(0.0..150.0f64),
            threshold in prop::option::of(20.0..160.0f64),
        ) {
            let fonts = Fonts::load();
            let values: Vec<(i64, f64)> = days.into_iter().collect();
            let chart = GradientChart {
                before: before.map(|value| (value, short(value))),
                after: readings(&values),
                threshold_mmhg: threshold,
                reintervention_day: None,
            };
            let items = gradient(&chart, AREA, &fonts).unwrap();
            for item in &items {
                if let Item::Text { x_mm, baseline_mm, text, face, size_pt, .. } = item {
                    let width = fonts.width_mm(text, *face, *size_pt);
                    prop_assert!(*x_mm >= AREA.x_mm - 0.01 && x_mm + width <= AREA.x_mm + AREA.width_mm + 0.01, "{text}");
                    prop_assert!((AREA.y_mm..=AREA.y_mm + AREA.height_mm).contains(baseline_mm), "{text}");
                }
            }
        }
    }
}
