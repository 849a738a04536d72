//! Mean gradients of one patient: before on its own panel and scale, after on a true time axis, and where visits exist
//! the valve areas on that axis below.

use std::ops::Range;

use plotters::prelude::*;

use super::FigureError;
use super::area_strip::{self, AreaStrip};
use super::axes::{Axes, span};
use super::labels::Labels;
use super::line_words;
use super::marked::Marked;
use super::recorder::{Area, Control, drawing_error, record};
use super::time_axis::{self, time_marks};
use super::{theme, trend};
use crate::draw::{Align, Colour, Dash, Fonts, Item, Point, Stroke};

/// One value after the procedure.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Days from the procedure.
    pub day: i64,
    /// Mean gradient (mmHg), or valve area (cm²).
    pub value: f64,
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
    /// From these the gradient part of stage 2, and of stage 3, deterioration is met in this patient (mmHg), each with
    /// how it is printed.
    pub thresholds: Option<[(f64, String); 2]>,
    /// Day of the reference echo, whose points are filled.
    pub reference_day: Option<i64>,
    /// Valve areas, where visits exist.
    pub area: Option<AreaStrip>,
    /// What stands in the panel after where it has no reading.
    pub none_after: &'static str,
    /// Day of a valve reintervention: readings before and after it are of different valves.
    pub reintervention_day: Option<i64>,
}

/// Share of the width that the panel before has.
const BEFORE_SHARE: f64 = 0.24;
/// Room right of the panel for the words of its lines (mm).
const RIGHT_MM: f64 = 18.4;
/// Radius of a point (mm), and of one that has another close by.
const POINT_MM: f64 = 0.85;
const SMALL_POINT_MM: f64 = 0.5;
/// Space between the panel of gradients and the strip of areas (mm).
const BETWEEN_MM: f64 = 0.6;

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
    let strip_mm = match chart.area {
        Some(_) => area_strip::height_mm(area.height_mm),
        None => 0.0,
    };
    let before = Area {
        width_mm: before_mm,
        height_mm: area.height_mm - strip_mm,
        ..area
    };
    let after = Area {
        x_mm: area.x_mm + before_mm + 3.0,
        width_mm: area.width_mm - before_mm - 3.0 - RIGHT_MM,
        height_mm: before.height_mm - if strip_mm > 0.0 { BETWEEN_MM } else { 0.0 },
        ..area
    };
    let areas = chart.area.iter().flat_map(|strip| &strip.readings);
    let days = time_axis::days(chart.after.iter().chain(areas).map(|reading| reading.day));
    let times = time_marks(days.end);
    let panel = Panel {
        point_mm: point_mm(chart, &days, after.width_mm),
        days,
        times: &times,
        reference_day: chart.reference_day,
        reintervention_day: chart.reintervention_day,
    };
    let mut items = panel_before(chart, before, fonts)?;
    items.extend(panel_after(chart, &panel, after, fonts)?);
    if let Some(strip) = &chart.area {
        let place = Area {
            y_mm: area.y_mm + area.height_mm - strip_mm,
            height_mm: strip_mm,
            ..after
        };
        items.extend(area_strip::draw(strip, &panel, place, area.x_mm, fonts)?);
    }
    Ok(items)
}

/// What the panels after share: the time axis, and how points look.
pub(super) struct Panel<'a> {
    pub days: Range<f64>,
    pub times: &'a [(f64, String)],
    pub reference_day: Option<i64>,
    pub reintervention_day: Option<i64>,
    point_mm: f64,
}

impl Panel<'_> {
    /// Points at their places, with labels where there is room: the latest first, then the reference, then the earliest.
    pub(super) fn readings(
        &self,
        readings: &[Reading],
        places: &[Point],
        labels: &mut Labels<'_>,
        control: &Control,
    ) {
        let is_reference = |reading: &Reading| Some(reading.day) == self.reference_day;
        let both = || places.iter().copied().zip(readings);
        for (place, _) in both() {
            labels.keep_point_free(place, self.point_mm + 0.2);
        }
        for (place, _) in both().filter(|(_, reading)| !is_reference(reading)) {
            control.push(open_point(place, self.point_mm));
        }
        for (place, _) in both().filter(|(_, reading)| is_reference(reading)) {
            control.push(reference_point(place, self.point_mm));
        }
        let last = readings.len().saturating_sub(1);
        let mut order: Vec<usize> = (0..readings.len()).rev().collect();
        order.sort_by_key(|&position| match position {
            _ if position == last => 0,
            _ if is_reference(&readings[position]) => 1,
            0 => 2,
            _ => 3,
        });
        for position in order {
            let label = &readings[position].label;
            for item in labels
                .beside(places[position], self.point_mm, label, theme::VALUE)
                .into_iter()
                .flatten()
            {
                control.push(item);
            }
        }
    }
}

/// Smaller where two days stand closer than a point is wide, so that both are seen.
fn point_mm(chart: &GradientChart, days: &Range<f64>, width_mm: f64) -> f64 {
    let per_day = width_mm / (days.end - days.start);
    let closest = |readings: &[Reading]| {
        readings
            .windows(2)
            .map(|pair| (pair[1].day - pair[0].day) as f64 * per_day)
            .fold(f64::INFINITY, f64::min)
    };
    let areas = chart.area.as_ref().map_or(&[][..], |strip| &strip.readings);
    let apart = closest(&chart.after).min(closest(areas));
    if apart < 2.0 * POINT_MM + 0.3 {
        SMALL_POINT_MM
    } else {
        POINT_MM
    }
}

/// The next multiple of ten at or above a value.
fn next_ten(value: f64) -> f64 {
    (value / 10.0).ceil() * 10.0
}

/// Marks from 0 to the end of an axis of this height (mm), at most seven, and as far apart as their words need.
fn marks(end: f64, height_mm: f64) -> Vec<f64> {
    let most = (height_mm / 3.6).floor().clamp(1.0, 6.0);
    let step = [5.0, 10.0, 20.0, 25.0, 50.0, 100.0]
        .into_iter()
        .find(|step| end / step <= most)
        .unwrap_or(200.0);
    (0..)
        .map(|count| f64::from(count) * step)
        .take_while(|&mark| mark <= end)
        .collect()
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
            .build_cartesian_2d(
                axes.x.clone(),
                Marked::new(axes.y.clone(), marks(top, area.height_mm - 5.0)),
            )
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
                control.push(open_point(point, POINT_MM));
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

fn open_point(point: Point, radius_mm: f64) -> Item {
    let line = Stroke::solid(0.9, Colour::BLACK);
    Item::circle(point, radius_mm, Some(Colour::WHITE), Some(line))
}

/// Filled, with a white edge, so that it is told from a point it touches.
fn reference_point(point: Point, radius_mm: f64) -> Item {
    let edge = Stroke::solid(0.5, Colour::WHITE);
    Item::circle(point, radius_mm + 0.25, Some(Colour::BLACK), Some(edge))
}

pub(super) fn inside_of(left_top: Point, right_bottom: Point) -> Area {
    Area {
        x_mm: left_top.0 + 0.4,
        y_mm: left_top.1 + 0.2,
        width_mm: right_bottom.0 - left_top.0 - 0.6,
        height_mm: right_bottom.1 - left_top.1 - 0.6,
    }
}

/// Mean gradients that the panel after spans: to 30 mmHg, more where a reading or a threshold needs it.
fn gradients_after(chart: &GradientChart) -> Result<Range<f64>, FigureError> {
    let highest = span(
        chart.after.iter().map(|reading| reading.value),
        Some(0.0..30.0),
    )?
    .end;
    let bands = chart
        .thresholds
        .iter()
        .flatten()
        .map(|(from, _)| from + 3.0)
        .fold(0.0, f64::max);
    Ok(0.0..next_ten(highest.max(bands)))
}

fn panel_after(
    chart: &GradientChart,
    shared: &Panel<'_>,
    area: Area,
    fonts: &Fonts,
) -> Result<Vec<Item>, FigureError> {
    let axes = Axes {
        x: shared.days.clone(),
        y: gradients_after(chart)?,
    };
    let points = axes.inside(
        chart
            .after
            .iter()
            .map(|reading| (reading.day as f64, reading.value)),
    )?;
    let top = axes.y.end;
    // The strip below has the words of the time axis.
    let (below, words_below) = match chart.area {
        Some(_) => (30, false),
        None => (115, true),
    };
    record(fonts, area, |root, control| {
        let days = shared.times.iter().map(|(day, _)| *day).collect();
        let mut panel = ChartBuilder::on(root)
            .margin_top(30)
            .x_label_area_size(below)
            .y_label_area_size(160)
            .build_cartesian_2d(
                Marked::new(axes.x.clone(), days),
                Marked::new(axes.y.clone(), marks(top, area.height_mm - 3.0)),
            )
            .map_err(drawing_error)?;
        let above = chart.thresholds.iter().flatten();
        trend::bands(&mut panel, above.map(|(from, _)| (*from, top)))?;
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
        let words: &[(f64, String)] = if words_below { shared.times } else { &[] };
        let parts = split(&points, chart.reintervention_day);
        trend::axes_and_line(&mut panel, words, 0, &parts)?;
        let spec = panel.as_coord_spec();
        let at = |x: f64, y: f64| {
            area.on_paper(plotters::coord::CoordTranslate::translate(spec, &(x, y)))
        };
        words_after(chart, shared, &axes, &points, at, fonts, control);
        Ok(())
    })
}

/// Points, their labels and the words of the lines; all kept apart.
fn words_after(
    chart: &GradientChart,
    shared: &Panel<'_>,
    axes: &Axes,
    points: &[(f64, f64)],
    at: impl Fn(f64, f64) -> Point,
    fonts: &Fonts,
    control: &Control,
) {
    let (left_top, right_bottom) = (at(axes.x.start, axes.y.end), at(axes.x.end, 0.0));
    let mut labels = Labels::new(fonts, inside_of(left_top, right_bottom));
    labels.keep_line_free(at(axes.x.start, 20.0), at(axes.x.end, 20.0));
    let thresholds = || chart.thresholds.iter().flatten();
    for (from, _) in thresholds() {
        labels.keep_line_free(at(axes.x.start, *from), at(axes.x.end, *from));
    }
    for part in split(points, chart.reintervention_day) {
        for pair in part.windows(2) {
            labels.keep_line_free(at(pair[0].0, pair[0].1), at(pair[1].0, pair[1].1));
        }
    }
    let places: Vec<Point> = points.iter().map(|&(x, y)| at(x, y)).collect();
    shared.readings(&chart.after, &places, &mut labels, control);
    if points.is_empty() {
        let middle = ((left_top.0 + right_bottom.0) / 2.0, (at(0.0, 10.0)).1);
        let words = match chart.none_after {
            "" => "no mean gradient recorded after",
            words => words,
        };
        control.push(fonts.place(words, middle.0, middle.1, Align::Centre, theme::WORDS));
    }
    let height = |value: f64| at(0.0, value).1;
    let mut lines = vec![(height(20.0), "20 mean".to_owned())];
    for ((from, words), part) in thresholds().zip(["stage 2 part", "stage 3 part"]) {
        if (from - 20.0).abs() < 0.5 {
            // One line with two meanings, in two lines of words.
            lines[0].1 = format!("{words} mean and");
            lines.push((height(*from) + 0.01, part.to_owned()));
        } else {
            lines.push((height(*from), format!("{words} {part}")));
        }
    }
    let inside = (left_top.1, right_bottom.1);
    line_words::beside(lines, inside, right_bottom.0 + 1.0, fonts, control);
}

/// The readings in one line, or in two where the valve was replaced between them.
pub(super) fn split(points: &[(f64, f64)], reintervention_day: Option<i64>) -> Vec<&[(f64, f64)]> {
    let cut = reintervention_day.map_or(points.len(), |day| {
        points.partition_point(|(x, _)| *x < day as f64)
    });
    let (earlier, later) = points.split_at(cut);
    [earlier, later]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect()
}

/// The range of mean gradients that the panel after would show (mmHg).
///
/// # Errors
/// As [`gradient`].
pub fn scale_after(chart: &GradientChart) -> Result<Range<f64>, FigureError> {
    gradients_after(chart)
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
                value: mmhg,
                label: format!("{mmhg:.1}"),
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

    #[test]
    fn discharge_and_reference_are_both_seen_on_a_long_axis() {
        let chart = GradientChart {
            after: readings(&[(3, 9.0), (30, 9.0), (1800, 10.0)]),
            reference_day: Some(30),
            ..GradientChart::default()
        };
        let items = gradient(&chart, AREA, &Fonts::load()).unwrap();
        let points: Vec<(Point, f64, Option<Colour>)> = items
            .iter()
            .filter_map(|item| match item {
                Item::Ellipse {
                    centre,
                    radius_x_mm,
                    fill,
                    ..
                } => Some((*centre, *radius_x_mm, *fill)),
                _ => None,
            })
            .collect();
        let filled = points
            .iter()
            .find(|(.., fill)| *fill == Some(Colour::BLACK))
            .unwrap();
        let first = points
            .iter()
            .map(|(centre, radius, _)| (centre.0, *radius))
            .min_by(|one, other| one.0.total_cmp(&other.0))
            .unwrap();
        // Neither covers the middle of the other, and the one that is the reference is filled.
        assert!(filled.0.0 - first.0 > 0.4);
        assert!(filled.0.0 - first.0 + first.1 > filled.1);
        let labels = items
            .iter()
            .filter(|item| matches!(item, Item::Text { text, .. } if text == "9.0"));
        assert_eq!(labels.count(), 2);
    }

    proptest! {
        #[test]
        fn prop_every_chart_stays_in_its_area(
            days in prop::collection::btree_map(0i64..4000, 0.0..150.0f64, 0..15),
            before in prop::option::of(0.0..150.0f64),
            threshold in prop::option::of(20.0..160.0f64),
            area in any::<bool>(),
        ) {
            let fonts = Fonts::load();
            let values: Vec<(i64, f64)> = days.into_iter().collect();
            let chart = GradientChart {
                before: before.map(|value| (value, format!("{value:.1}"))),
                reference_day: values.first().map(|(day, _)| *day),
                after: readings(&values),
                thresholds: threshold.map(|from| [from, from + 10.0].map(|from| (from, format!("{from:.1}")))),
                area: area.then(AreaStrip::default),
                ..GradientChart::default()
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
