//! Every line of sizing evidence on one ruler, and at most three shapes to scale.

use std::ops::Range;

use plotters::prelude::*;

use super::FigureError;
use super::axes::{Axes, span};
use super::marked::Marked;
use super::recorder::{Area, Control, drawing_error, record};
use super::theme;
use crate::draw::{Align, Colour, Fonts, Item, PT_PER_MM, Point, Stroke, TextStyle};

/// A labelled range, as diameters.
#[derive(Clone, Debug, PartialEq)]
pub struct SizeRange {
    /// Labelled size as printed.
    pub label: String,
    /// Smallest annulus (mm).
    pub from_mm: f64,
    /// Largest annulus (mm).
    pub to_mm: f64,
    /// Whether this size was implanted.
    pub implanted: bool,
}

/// How a line of evidence is drawn. Shapes carry the meaning.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mark {
    /// A measurement: a circle.
    Measured(f64),
    /// A measurement of the bicuspid valve above the annulus: a diamond.
    Above(f64),
    /// The valve opening is wider than this: an arrow to the right.
    MoreThan(f64),
    /// The valve opening is at most this: an arrow to the left.
    AtMost(f64),
    /// The device at its label: a filled square.
    Device(f64),
    /// An estimate: an open square.
    Estimate(f64),
    /// The frame as measured: a square with a cross.
    Frame(f64),
    /// Not recorded, or not applicable: nothing on the ruler.
    Absent,
}

impl Mark {
    const fn at_mm(self) -> Option<f64> {
        match self {
            Self::Measured(at)
            | Self::Above(at)
            | Self::MoreThan(at)
            | Self::AtMost(at)
            | Self::Device(at)
            | Self::Estimate(at)
            | Self::Frame(at) => Some(at),
            Self::Absent => None,
        }
    }
}

/// One line of evidence.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// What it is.
    pub label: String,
    /// Its value as printed, or why there is none.
    pub value: String,
    /// Where and how it is drawn.
    pub mark: Mark,
}

/// A shape of the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    /// Words of the key.
    pub label: String,
    /// Width (mm).
    pub width_mm: f64,
    /// Height (mm).
    pub height_mm: f64,
    /// How its line looks.
    pub line: ShapeLine,
}

/// Lines that can be told apart without colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShapeLine {
    /// Thin: the annulus.
    Thin,
    /// Thick and grey: the device.
    Thick,
    /// Dashed: the balloon, or the distance above the annulus.
    Dashed,
}

/// What the figure shows.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ruler {
    /// Words for the ranges' row, one line or two.
    pub family: Vec<String>,
    /// Labelled ranges of the implanted family, smallest first.
    pub ranges: Vec<SizeRange>,
    /// Lines of evidence, from above down.
    pub rows: Vec<Evidence>,
    /// At most three shapes; none where the drawing has yielded.
    pub shapes: Vec<Shape>,
}

/// Width of the words left of the ruler (mm).
const WORDS_MM: f64 = 36.0;
/// Width of the drawing (mm), with the space before it.
const DRAWING_MM: f64 = 23.0;
/// Height of a labelled range (mm).
const BOX_MM: f64 = 1.7;
/// Height of the labelled ranges with their words (mm).
const RANGES_MM: f64 = 8.4;
/// Height of the axis with its marks (mm).
const AXIS_MM: f64 = 4.2;

/// Least height at which the rows stay legible (mm), with or without air between them.
pub fn least_height_mm(ruler: &Ruler, tight: bool) -> f64 {
    let pitch = if tight { 2.5 } else { 3.0 };
    ruler.rows.len() as f64 * pitch + RANGES_MM + AXIS_MM
}

/// The figure as items of the page; the caller tags it with a description.
///
/// # Errors
/// Where a mark would be drawn where it is not, or the drawing library refuses.
pub fn ruler(ruler: &Ruler, area: Area, fonts: &Fonts) -> Result<Vec<Item>, FigureError> {
    let drawing_mm = if ruler.shapes.is_empty() {
        0.0
    } else {
        DRAWING_MM
    };
    let scale = Area {
        x_mm: area.x_mm + WORDS_MM,
        width_mm: area.width_mm - WORDS_MM - drawing_mm,
        ..area
    };
    let mut items = rows(ruler, area, scale, fonts)?;
    if !ruler.shapes.is_empty() {
        let place = Area {
            x_mm: area.x_mm + area.width_mm - DRAWING_MM + 3.0,
            width_mm: DRAWING_MM - 3.0,
            ..area
        };
        items.extend(drawing(&ruler.shapes, place, fonts));
    }
    Ok(items)
}

/// The diameters that the ruler spans (mm): everything on it, in whole even millimetres.
fn diameters(ruler: &Ruler) -> Result<Range<f64>, FigureError> {
    let marks = ruler.rows.iter().filter_map(|row| row.mark.at_mm());
    let ranges = ruler
        .ranges
        .iter()
        .flat_map(|range| [range.from_mm, range.to_mm]);
    let all: Vec<f64> = marks.chain(ranges).collect();
    if all.is_empty() {
        return Ok(18.0..32.0);
    }
    let all = span(all, None)?;
    let (from, to) = (
        (all.start / 2.0).floor() * 2.0,
        (all.end / 2.0).ceil() * 2.0,
    );
    Ok(from..to.max(from + 6.0))
}

fn rows(ruler: &Ruler, area: Area, scale: Area, fonts: &Fonts) -> Result<Vec<Item>, FigureError> {
    let axes = Axes {
        x: diameters(ruler)?,
        y: 0.0..1.0,
    };
    axes.inside(
        ruler
            .rows
            .iter()
            .filter_map(|row| Some((row.mark.at_mm()?, 0.5))),
    )?;
    let step = if axes.x.end - axes.x.start > 16.0 {
        4.0
    } else {
        2.0
    };
    let ticks: Vec<f64> = (0..)
        .map(|count| axes.x.start + f64::from(count) * step)
        .take_while(|&tick| tick <= axes.x.end)
        .collect();
    let pitch = (area.height_mm - AXIS_MM - RANGES_MM) / ruler.rows.len().max(1) as f64;
    record(fonts, scale, |root, control| {
        let mut panel = ChartBuilder::on(root)
            .margin_left(20)
            .margin_right(30)
            .x_label_area_size((AXIS_MM * PT_PER_MM * 10.0) as u32)
            .build_cartesian_2d(Marked::new(axes.x.clone(), ticks.clone()), axes.y.clone())
            .map_err(drawing_error)?;
        panel
            .configure_mesh()
            .disable_mesh()
            .disable_y_axis()
            .set_tick_mark_size(LabelAreaPosition::Bottom, 25)
            .x_label_formatter(&|tick| format!("{tick:.0}"))
            .label_style(("page", 65))
            .axis_style(BLACK.stroke_width(5))
            .draw()
            .map_err(drawing_error)?;
        // Where a diameter stands on the paper; rows are placed by their pitch.
        let at = |mm: f64| scale.on_paper(panel.backend_coord(&(mm, 0.0))).0;
        ranges(ruler, &at, area, RANGES_MM, fonts, control);
        for (position, row) in ruler.rows.iter().enumerate() {
            let y = area.y_mm + RANGES_MM + (position as f64 + 0.5) * pitch;
            let (left, right) = (at(axes.x.start), at(axes.x.end));
            control.push(Item::line(
                (left, y),
                (right, y),
                Stroke::solid(0.3, theme::GUIDE),
            ));
            row_words(row, area.x_mm, y, fonts, control);
            mark(row.mark, &at, y, control);
        }
        Ok(())
    })
}

fn row_words(row: &Evidence, x_mm: f64, y: f64, fonts: &Fonts, control: &Control) {
    let baseline = y + theme::middle_to_baseline_mm(&theme::WORDS);
    let value_style = if row.mark == Mark::Absent {
        theme::WORDS
    } else {
        theme::STRONG
    };
    let room = WORDS_MM - 1.6;
    let value = fonts
        .fit(
            &row.value,
            value_style.face,
            value_style.size_pt,
            room - 13.0,
        )
        .into_owned();
    let value_mm = fonts.width_mm(&value, value_style.face, value_style.size_pt);
    let label = fonts
        .fit(
            &row.label,
            theme::WORDS.face,
            theme::WORDS.size_pt,
            room - value_mm - 1.2,
        )
        .into_owned();
    control.push(fonts.place(label, x_mm, baseline, Align::Left, theme::WORDS));
    control.push(fonts.place(value, x_mm + room, baseline, Align::Right, value_style));
}

/// The labelled ranges as boxes at their true extents: every other size in the upper lane with its words above, the
/// others in the lower lane with their words below.
fn ranges(
    ruler: &Ruler,
    at: &impl Fn(f64) -> f64,
    area: Area,
    height_mm: f64,
    fonts: &Fonts,
    control: &Control,
) {
    let middle = area.y_mm + height_mm / 2.0;
    let pitch = theme::line_mm(&theme::WORDS);
    let first = middle - (ruler.family.len() as f64 - 1.0) / 2.0 * pitch
        + theme::middle_to_baseline_mm(&theme::WORDS);
    for (line, words) in ruler.family.iter().enumerate() {
        let words = fonts.fit(
            words,
            theme::WORDS.face,
            theme::WORDS.size_pt,
            WORDS_MM - 1.6,
        );
        let baseline = first + line as f64 * pitch;
        control.push(fonts.place(words, area.x_mm, baseline, Align::Left, theme::WORDS));
    }
    let mut lane_ends = [f64::NEG_INFINITY; 2];
    for (position, range) in ruler.ranges.iter().enumerate() {
        let lane = position % 2;
        let top = if lane == 0 { middle - BOX_MM } else { middle };
        let (left, right) = (at(range.from_mm), at(range.to_mm));
        control.push(Item::Rect {
            x_mm: left,
            y_mm: top,
            width_mm: right - left,
            height_mm: BOX_MM,
            fill: Some(if range.implanted {
                Colour::BLACK
            } else {
                theme::SHADE
            }),
            stroke: Some(Stroke::solid(0.5, Colour::BLACK)),
        });
        let style: TextStyle = if range.implanted {
            theme::STRONG
        } else {
            theme::AXIS
        };
        let width = fonts.width_mm(&range.label, style.face, style.size_pt);
        let centre = (left + right) / 2.0;
        // Words that would run into those before them in their lane are left to the table and the description.
        if centre - width / 2.0 > lane_ends[lane] + 0.5 {
            lane_ends[lane] = centre + width / 2.0;
            let beside = 0.5 + fonts_height_mm(&style);
            let baseline = if lane == 0 {
                top - 0.5
            } else {
                top + BOX_MM + beside
            };
            control.push(fonts.place(range.label.as_str(), centre, baseline, Align::Centre, style));
        }
    }
}

/// Height of figures of this size (mm).
fn fonts_height_mm(style: &TextStyle) -> f64 {
    Fonts::CAP_HEIGHT_EM * style.size_pt / PT_PER_MM
}

/// Half the size of a mark (mm).
const HALF_MM: f64 = 0.95;

fn mark(mark: Mark, at: &impl Fn(f64) -> f64, y: f64, control: &Control) {
    let line = Stroke::solid(0.9, Colour::BLACK);
    let square = |x: f64, fill: Colour| Item::Rect {
        x_mm: x - HALF_MM,
        y_mm: y - HALF_MM,
        width_mm: 2.0 * HALF_MM,
        height_mm: 2.0 * HALF_MM,
        fill: Some(fill),
        stroke: Some(line),
    };
    match mark {
        Mark::Measured(mm) => control.push(Item::circle(
            (at(mm), y),
            HALF_MM,
            Some(Colour::WHITE),
            Some(line),
        )),
        Mark::Above(mm) => {
            let x = at(mm);
            let reach = HALF_MM * 1.3;
            control.push(Item::Polygon {
                points: vec![
                    (x, y - reach),
                    (x + reach, y),
                    (x, y + reach),
                    (x - reach, y),
                ],
                fill: Some(Colour::WHITE),
                stroke: Some(line),
            });
        }
        Mark::MoreThan(mm) => arrow(at(mm), y, 1.0, control),
        Mark::AtMost(mm) => arrow(at(mm), y, -1.0, control),
        Mark::Device(mm) => control.push(square(at(mm), Colour::BLACK)),
        Mark::Estimate(mm) => control.push(square(at(mm), Colour::WHITE)),
        Mark::Frame(mm) => {
            let x = at(mm);
            control.push(square(x, Colour::WHITE));
            control.push(Item::line(
                (x - HALF_MM, y - HALF_MM),
                (x + HALF_MM, y + HALF_MM),
                Stroke::solid(0.6, Colour::BLACK),
            ));
            control.push(Item::line(
                (x - HALF_MM, y + HALF_MM),
                (x + HALF_MM, y - HALF_MM),
                Stroke::solid(0.6, Colour::BLACK),
            ));
        }
        Mark::Absent => {}
    }
}

/// A bar at the balloon's diameter and an arrow to the side on which the valve opening lies.
fn arrow(x: f64, y: f64, side: f64, control: &Control) {
    let line = Stroke::solid(0.9, Colour::BLACK);
    control.push(Item::line((x, y - HALF_MM), (x, y + HALF_MM), line));
    control.push(Item::line((x, y), (x + side * 2.6, y), line));
    control.push(Item::Polygon {
        points: vec![
            (x + side * 3.4, y),
            (x + side * 2.2, y - 0.75),
            (x + side * 2.2, y + 0.75),
        ],
        fill: Some(Colour::BLACK),
        stroke: None,
    });
}

/// The shapes about one centre, a bar of 10 mm, and a key of the lines.
fn drawing(shapes: &[Shape], area: Area, fonts: &Fonts) -> Vec<Item> {
    let key_line = theme::line_mm(&theme::AXIS);
    let key_mm = shapes.len() as f64 * key_line + 4.4;
    let room = Area {
        height_mm: (area.height_mm - key_mm).max(6.0),
        ..area
    };
    let widest = shapes
        .iter()
        .map(|shape| shape.width_mm)
        .fold(10.0, f64::max);
    let tallest = shapes
        .iter()
        .map(|shape| shape.height_mm)
        .fold(10.0, f64::max);
    let scale = (room.width_mm / widest)
        .min(room.height_mm / tallest)
        .min(1.0)
        * 0.96;
    let centre: Point = (
        room.x_mm + room.width_mm / 2.0,
        room.y_mm + room.height_mm / 2.0,
    );
    let mut items: Vec<Item> = shapes
        .iter()
        .map(|shape| Item::Ellipse {
            centre,
            radius_x_mm: shape.width_mm / 2.0 * scale,
            radius_y_mm: shape.height_mm / 2.0 * scale,
            fill: None,
            stroke: Some(stroke_of(shape.line)),
        })
        .collect();
    let bar_y = room.y_mm + room.height_mm + 1.2;
    let bar = 10.0 * scale;
    let words = "10\u{a0}mm";
    let words_mm = fonts.width_mm(words, theme::AXIS.face, theme::AXIS.size_pt);
    let left = centre.0 - (bar + 1.0 + words_mm) / 2.0;
    items.push(Item::line(
        (left, bar_y),
        (left + bar, bar_y),
        Stroke::solid(1.0, Colour::BLACK),
    ));
    let baseline = bar_y + theme::middle_to_baseline_mm(&theme::AXIS);
    items.push(fonts.place(words, left + bar + 1.0, baseline, Align::Left, theme::AXIS));
    for (position, shape) in shapes.iter().enumerate() {
        let y = bar_y + 2.6 + position as f64 * key_line;
        items.push(Item::line(
            (area.x_mm, y),
            (area.x_mm + 3.6, y),
            stroke_of(shape.line),
        ));
        let words = fonts
            .fit(
                &shape.label,
                theme::AXIS.face,
                theme::AXIS.size_pt,
                area.width_mm - 4.4,
            )
            .into_owned();
        items.push(fonts.place(
            words,
            area.x_mm + 4.4,
            y + theme::middle_to_baseline_mm(&theme::AXIS),
            Align::Left,
            theme::AXIS,
        ));
    }
    items
}

const fn stroke_of(line: ShapeLine) -> Stroke {
    match line {
        ShapeLine::Thin => Stroke::solid(0.8, Colour::BLACK),
        ShapeLine::Thick => Stroke::solid(2.2, Colour::grey(150)),
        ShapeLine::Dashed => Stroke::dashed(0.8, Colour::BLACK, 2.2, 1.4),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const AREA: Area = Area {
        x_mm: 107.0,
        y_mm: 80.0,
        width_mm: 91.0,
        height_mm: 40.0,
    };

    fn evidence(mark: Mark) -> Evidence {
        Evidence {
            label: "annulus, area".into(),
            value: "24.1".into(),
            mark,
        }
    }

    proptest! {
        #[test]
        fn prop_marks_stand_where_their_diameter_is(mm in prop::collection::vec(12.0..40.0f64, 2..8)) {
            let fonts = Fonts::load();
            let figure = Ruler { rows: mm.iter().map(|&at| evidence(Mark::Measured(at))).collect(), ..Ruler::default() };
            let items = ruler(&figure, AREA, &fonts).unwrap();
            let centres: Vec<f64> = items.iter().filter_map(|item| match item {
                Item::Ellipse { centre, .. } => Some(centre.0),
                _ => None,
            }).collect();
            prop_assert_eq!(centres.len(), mm.len());
            // Distances on paper are in proportion to distances in millimetres (a backend step is 0.035 mm).
            let (first, per_mm) = (centres[0], (centres[1] - centres[0]) / (mm[1] - mm[0]));
            prop_assume!((mm[1] - mm[0]).abs() > 4.0);
            for (centre, at) in centres.iter().zip(&mm) {
                prop_assert!((centre - first - (at - mm[0]) * per_mm).abs() < 0.5);
            }
        }
    }

    #[test]
    fn nothing_recorded_is_an_empty_ruler() {
        let figure = Ruler {
            rows: vec![evidence(Mark::Absent)],
            ..Ruler::default()
        };
        assert!(ruler(&figure, AREA, &Fonts::load()).is_ok());
    }
}
