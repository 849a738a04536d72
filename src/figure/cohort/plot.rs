//! A plot with two axes in the style of the summary: horizontal guide lines, ticks where we want them, and labels
//! beside what they name instead of a legend.

use plotters::coord::combinators::{BindKeyPoints, WithKeyPoints};
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

use crate::draw::{Align, Colour, Dash, Face, Fonts, Item, PT_PER_MM, TextStyle};
use crate::figure::FigureError;
use crate::figure::axes::Axes;
use crate::figure::recorder::{Area, Control, Recorder, drawing_error, record, to_px};

/// Size of the words in a chart (points).
pub const LABEL_PT: f64 = 6.5;
/// Ink of data.
pub const INK: Colour = Colour::BLACK;
/// Second ink, told apart in grey too.
pub const SECOND: Colour = Colour::grey(110);
/// Ink of what stands behind.
pub const FAINT: Colour = Colour::grey(165);
/// Fill of a band.
pub const BAND: Colour = Colour::grey(226);
/// Fill of a band inside a band.
pub const INNER_BAND: Colour = Colour::grey(205);
const GUIDE: Colour = Colour::grey(225);

/// Dashes of a limit.
pub const LIMIT: Dash = Dash {
    on_pt: 3.0,
    off_pt: 1.5,
};
/// Dots of a second limit.
pub const DOTTED: Dash = Dash {
    on_pt: 1.0,
    off_pt: 1.2,
};

/// How a point is marked: shapes are told apart without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Filled circle.
    Dot,
    /// Open circle.
    Ring,
    /// Open square.
    Square,
    /// Triangle.
    Triangle,
    /// Cross.
    Cross,
}

/// What stands along the axes.
pub struct Frame<'a> {
    /// Where the plot stands.
    pub area: Area,
    /// Ranges.
    pub axes: Axes,
    /// Positions and words along the bottom.
    pub x_ticks: Vec<(f64, String)>,
    /// Positions and words along the left edge.
    pub y_ticks: Vec<(f64, String)>,
    /// Name of the horizontal axis, with its unit.
    pub x_name: &'a str,
    /// Name of the vertical axis, with its unit; stands above it.
    pub y_name: &'a str,
}

type Coordinates = Cartesian2d<WithKeyPoints<RangedCoordf64>, WithKeyPoints<RangedCoordf64>>;

/// The inside of a plot.
pub struct Plot<'p, 'c, 'f> {
    chart: &'p mut ChartContext<'c, Recorder<'f>, Coordinates>,
    control: &'p Control,
    fonts: &'f Fonts,
    axes: &'p Axes,
    area: Area,
}

/// A plot as items of the page.
///
/// # Errors
/// Where a point lies outside the axes, or the drawing library refuses.
pub fn plot(
    fonts: &Fonts,
    frame: &Frame<'_>,
    draw: impl FnOnce(&mut Plot<'_, '_, '_>) -> Result<(), FigureError>,
) -> Result<Vec<Item>, FigureError> {
    let mm = |length: f64| to_px(length) as i32;
    let words = |ticks: &[(f64, String)]| {
        ticks
            .iter()
            .map(|(_, word)| fonts.width_mm(word, Face::Regular, LABEL_PT))
            .fold(0.0, f64::max)
    };
    let (left_mm, right_mm) = (words(&frame.y_ticks) + 1.6, 2.0);
    let top_mm = if frame.y_name.is_empty() { 1.5 } else { 4.6 };
    let bottom_mm = if frame.x_name.is_empty() { 3.6 } else { 6.4 };
    record(fonts, frame.area, |root, control| {
        let (x, y) = (frame.axes.x.clone(), frame.axes.y.clone());
        let at = |ticks: &[(f64, String)]| ticks.iter().map(|(at, _)| *at).collect::<Vec<_>>();
        let mut chart = ChartBuilder::on(root)
            .margin_left(mm(left_mm))
            .margin_right(mm(right_mm))
            .margin_top(mm(top_mm))
            .margin_bottom(mm(bottom_mm))
            .build_cartesian_2d(
                x.with_key_points(at(&frame.x_ticks)),
                y.with_key_points(at(&frame.y_ticks)),
            )
            .map_err(drawing_error)?;
        let mut plot = Plot {
            chart: &mut chart,
            control,
            fonts,
            axes: &frame.axes,
            area: frame.area,
        };
        plot.frame(frame);
        draw(&mut plot)
    })
}

impl Plot<'_, '_, '_> {
    fn frame(&mut self, frame: &Frame<'_>) {
        let (left, bottom) = self.on_paper(self.axes.x.start, self.axes.y.start);
        let (right, top) = self.on_paper(self.axes.x.end, self.axes.y.end);
        let line = |from, to, width, colour| {
            Item::line(from, to, crate::draw::Stroke::solid(width, colour))
        };
        for (at, word) in &frame.y_ticks {
            let (_, y) = self.on_paper(self.axes.x.start, *at);
            self.control.push(line((left, y), (right, y), 0.3, GUIDE));
            self.word(word, left - 0.8, y + 0.8, Align::Right, Face::Regular, INK);
        }
        self.control
            .push(line((left, bottom), (right, bottom), 0.5, INK));
        for (at, word) in &frame.x_ticks {
            let (x, _) = self.on_paper(*at, self.axes.y.start);
            self.control
                .push(line((x, bottom), (x, bottom + 0.8), 0.5, INK));
            // A word at either end stays inside the chart's place.
            let half = label_width_mm(self.fonts, word) / 2.0;
            let (first, last) = (
                frame.area.x_mm + half,
                frame.area.x_mm + frame.area.width_mm - half,
            );
            let x = x.min(last).max(first);
            self.word(word, x, bottom + 3.2, Align::Centre, Face::Regular, INK);
        }
        self.word(
            frame.x_name,
            right,
            bottom + 5.9,
            Align::Right,
            Face::Regular,
            SECOND,
        );
        self.word(
            frame.y_name,
            frame.area.x_mm,
            top - 1.6,
            Align::Left,
            Face::Regular,
            SECOND,
        );
    }

    /// Where a point stands on the paper (mm).
    pub fn on_paper(&self, x: f64, y: f64) -> (f64, f64) {
        self.area.on_paper(self.chart.backend_coord(&(x, y)))
    }

    fn word(&self, text: &str, x: f64, baseline: f64, align: Align, face: Face, colour: Colour) {
        if text.is_empty() {
            return;
        }
        let style = TextStyle {
            face,
            size_pt: LABEL_PT,
            colour,
        };
        let text = self.fonts.clean(text).into_owned();
        self.control
            .push(self.fonts.place(text, x, baseline, align, style));
    }

    /// A word beside a point: shifted by millimetres from it, y downward.
    pub fn label(
        &self,
        (x, y): (f64, f64),
        shift_mm: (f64, f64),
        align: Align,
        face: Face,
        text: &str,
    ) {
        let (x, y) = self.on_paper(x, y);
        self.word(text, x + shift_mm.0, y + shift_mm.1 + 0.8, align, face, INK);
    }

    /// Words beside points, each to the right, left, above or below, wherever it covers no other word; a word that finds
    /// no room is left out, so what it names must also stand elsewhere on the page.
    pub fn labels_apart(&self, labels: &[((f64, f64), &str)]) {
        let height = LABEL_PITCH_MM;
        let mut taken: Vec<[f64; 4]> = Vec::new();
        // Clear of the words along the axes.
        let (left_mm, bottom_mm) = self.on_paper(self.axes.x.start, self.axes.y.start);
        let top_mm = self.on_paper(self.axes.x.start, self.axes.y.end).1;
        let inside = |place: [f64; 4]| {
            place[0] >= left_mm
                && place[2] <= self.area.x_mm + self.area.width_mm
                && place[1] >= top_mm - 1.0
                && place[3] <= bottom_mm
        };
        for &((x, y), text) in labels {
            let (x, y) = self.on_paper(x, y);
            let width = self.fonts.width_mm(text, Face::Semibold, LABEL_PT);
            let places = [
                (x + 1.4, y),
                (x - 1.4 - width, y),
                (x - width / 2.0, y - 2.4),
                (x - width / 2.0, y + 2.4),
            ];
            let free = places.into_iter().find(|&(left, middle)| {
                let place = [
                    left,
                    middle - height / 2.0,
                    left + width,
                    middle + height / 2.0,
                ];
                inside(place)
                    && !taken.iter().any(|other| {
                        place[0] < other[2]
                            && other[0] < place[2]
                            && place[1] < other[3]
                            && other[1] < place[3]
                    })
            });
            if let Some((left, middle)) = free {
                taken.push([
                    left,
                    middle - height / 2.0,
                    left + width,
                    middle + height / 2.0,
                ]);
                self.word(text, left, middle + 0.8, Align::Left, Face::Semibold, INK);
            }
        }
    }

    /// A line through points; `None` is solid.
    ///
    /// # Errors
    /// Where a point lies outside the axes.
    pub fn line(
        &mut self,
        points: impl IntoIterator<Item = (f64, f64)>,
        width_pt: f64,
        colour: Colour,
        dash: Option<Dash>,
    ) -> Result<(), FigureError> {
        let points = self.axes.inside(points)?;
        if points.len() < 2 {
            return Ok(());
        }
        let style = rgb(colour).stroke_width(pixels(width_pt));
        let chart = &mut *self.chart;
        let mut draw = || {
            chart
                .draw_series(std::iter::once(PathElement::new(points.clone(), style)))
                .map(|_| ())
                .map_err(drawing_error)
        };
        match dash {
            Some(dash) => self.control.dashed(dash, draw),
            None => draw(),
        }
    }

    /// A filled band between a lower and an upper line that share their x.
    ///
    /// # Errors
    /// Where a point lies outside the axes.
    pub fn band(
        &mut self,
        points: impl IntoIterator<Item = (f64, f64, f64)>,
        colour: Colour,
    ) -> Result<(), FigureError> {
        let points: Vec<_> = points.into_iter().collect();
        let upper = points.iter().map(|&(x, _, high)| (x, high));
        let lower = points.iter().rev().map(|&(x, low, _)| (x, low));
        let outline = self.axes.inside(upper.chain(lower))?;
        if outline.len() < 4 {
            return Ok(());
        }
        self.chart
            .draw_series(std::iter::once(Polygon::new(outline, rgb(colour).filled())))
            .map(|_| ())
            .map_err(drawing_error)
    }

    /// Marks at points.
    ///
    /// # Errors
    /// Where a point lies outside the axes.
    pub fn marks(
        &mut self,
        points: impl IntoIterator<Item = (f64, f64)>,
        mark: Mark,
        radius_mm: f64,
        colour: Colour,
    ) -> Result<(), FigureError> {
        let points = self.axes.inside(points)?;
        for (x, y) in points {
            for item in mark_item(mark, self.on_paper(x, y), radius_mm, colour) {
                self.control.push(item);
            }
        }
        Ok(())
    }

    /// A bar from the bottom of the plot to a height, in a half-open span of x.
    ///
    /// # Errors
    /// Where a corner lies outside the axes.
    pub fn bar(
        &mut self,
        from: f64,
        to: f64,
        height: f64,
        fill: Colour,
    ) -> Result<(), FigureError> {
        let floor = self.axes.y.start.max(0.0);
        self.band([(from, floor, height), (to, floor, height)], fill)
    }
}

/// A mark at a place on the paper (mm).
pub fn mark_item(mark: Mark, (x, y): (f64, f64), r: f64, colour: Colour) -> Vec<Item> {
    let stroke = crate::draw::Stroke::solid(0.6, colour);
    match mark {
        Mark::Dot => vec![Item::circle((x, y), r, Some(colour), None)],
        Mark::Ring => vec![Item::circle((x, y), r, Some(Colour::WHITE), Some(stroke))],
        Mark::Square => vec![Item::Rect {
            x_mm: x - 0.9 * r,
            y_mm: y - 0.9 * r,
            width_mm: 1.8 * r,
            height_mm: 1.8 * r,
            fill: Some(Colour::WHITE),
            stroke: Some(stroke),
        }],
        Mark::Triangle => vec![Item::Polygon {
            points: vec![
                (x, y - 1.2 * r),
                (x + 1.1 * r, y + 0.8 * r),
                (x - 1.1 * r, y + 0.8 * r),
            ],
            fill: Some(colour),
            stroke: None,
        }],
        Mark::Cross => vec![
            Item::line((x - r, y - r), (x + r, y + r), stroke),
            Item::line((x - r, y + r), (x + r, y - r), stroke),
        ],
    }
}

fn rgb(colour: Colour) -> RGBColor {
    RGBColor(colour.red, colour.green, colour.blue)
}

fn pixels(points: f64) -> u32 {
    (points * crate::figure::recorder::PX_PER_PT).round() as u32
}

/// Width of a label (mm).
pub fn label_width_mm(fonts: &Fonts, text: &str) -> f64 {
    fonts.width_mm(text, Face::Regular, LABEL_PT)
}

/// Height of the words in a chart (mm).
pub const LABEL_PITCH_MM: f64 = LABEL_PT * 1.2 / PT_PER_MM;

/// Round positions that cover a range in about `wanted` steps, with their words.
pub fn round_ticks(from: f64, to: f64, wanted: usize) -> Vec<(f64, String)> {
    let raw = (to - from) / wanted.max(1) as f64;
    if !(raw.is_finite() && raw > 0.0) {
        return vec![(from, tick_word(from, 0))];
    }
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= raw * 0.999)
        .unwrap_or(10.0 * power);
    let decimals = usize::from(step < 1.0) + usize::from(step < 0.1);
    let first = (from / step - 1e-9).ceil() as i64;
    let last = (to / step + 1e-9).floor() as i64;
    (first..=last)
        .map(|place| {
            let at = place as f64 * step;
            (at.clamp(from, to), tick_word(at, decimals))
        })
        .collect()
}

fn tick_word(value: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", value.abs());
    if value < 0.0 && text.bytes().any(|byte| (b'1'..=b'9').contains(&byte)) {
        format!("−{text}")
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        let words = |from, to, wanted| {
            round_ticks(from, to, wanted)
                .into_iter()
                .map(|(_, word)| word)
                .collect::<Vec<_>>()
        };
        assert_eq!(
            words(0.0, 60.0, 6),
            ["0", "10", "20", "30", "40", "50", "60"]
        );
        assert_eq!(words(-3.2, 1.1, 4), ["−2", "0"]);
        assert_eq!(
            words(0.0, 0.5, 5),
            ["0.0", "0.1", "0.2", "0.3", "0.4", "0.5"]
        );
    }

    #[test]
    fn a_point_outside_the_axes_is_an_error() {
        let fonts = Fonts::load();
        let frame = Frame {
            area: Area {
                x_mm: 0.0,
                y_mm: 0.0,
                width_mm: 50.0,
                height_mm: 30.0,
            },
            axes: Axes {
                x: 0.0..10.0,
                y: 0.0..10.0,
            },
            x_ticks: round_ticks(0.0, 10.0, 5),
            y_ticks: round_ticks(0.0, 10.0, 5),
            x_name: "x",
            y_name: "y",
        };
        let drawn = plot(&fonts, &frame, |plot| {
            plot.line([(0.0, 0.0), (10.0, 11.0)], 0.5, INK, None)
        });
        assert_eq!(drawn, Err(FigureError::OffScale { x: 10.0, y: 11.0 }));
    }
}
