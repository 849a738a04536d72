//! A sheet's items as page operators.
//!
//! Text is written as glyph numbers of [`Faces`] with the kerning between them, one operator for each text.

use super::PdfError;
use super::content::{Content, Hundredths, Paint};
use super::structure::{Ink, Structure};
use super::typeface::{Faces, RESOURCE_NAMES};
use crate::draw::{Colour, Face, Fonts, Item, PT_PER_MM, Point, Sheet, Stroke};

/// Control points of a quarter circle, as a part of the radius; the error is below 0.03 %.
const QUARTER: f64 = 0.552_284_75;

/// The operators of one sheet; its tags go to `structure`.
pub(super) fn page(
    sheet: &Sheet,
    page: usize,
    structure: &mut Structure,
    faces: &Faces,
    fonts: &Fonts,
) -> Result<Vec<u8>, PdfError> {
    let mut writer = Writer {
        height_mm: sheet.paper.height_mm(),
        page,
        faces,
        fonts,
        content: Content::new(sheet.items.len()),
        state: State::default(),
        outer_states: Vec::new(),
        finite: true,
    };
    structure.begin_page(page);
    for item in &sheet.items {
        writer.item(item, structure)?;
    }
    structure.end_page(&mut writer.content)?;
    if !writer.outer_states.is_empty() {
        return Err(PdfError::Structure {
            sheet: page + 1,
            fault: "a clip is not ended".to_owned(),
        });
    }
    if !writer.finite {
        return Err(PdfError::NotFinite { sheet: page + 1 });
    }
    Ok(writer.content.finish())
}

/// What the operators written so far have set.
#[derive(Clone, Default)]
struct State {
    font: Option<(Face, Hundredths)>,
    fill: Option<Colour>,
    line: Option<Colour>,
    width: Option<Hundredths>,
    dash: Option<(Hundredths, Hundredths)>,
}

struct Writer<'a> {
    height_mm: f64,
    page: usize,
    faces: &'a Faces,
    fonts: &'a Fonts,
    content: Content,
    state: State,
    outer_states: Vec<State>,
    finite: bool,
}

impl Writer<'_> {
    fn item(&mut self, item: &Item, structure: &mut Structure) -> Result<(), PdfError> {
        match item {
            Item::Open(tag) => return structure.open(tag),
            Item::Close => return structure.close(),
            Item::Text { text, .. } if text.is_empty() => {}
            Item::Text {
                x_mm,
                baseline_mm,
                size_pt,
                face,
                colour,
                text,
                rotated,
            } => {
                self.ink(Ink::Text(text), structure)?;
                // The words of two lines of a paragraph stay apart when it is read aloud or copied.
                if let Some(space) = self.faces.glyph(' ', *face) {
                    self.content.end_word(space);
                }
                self.fill(*colour);
                self.font(*face, *size_pt);
                let start = self.point((*x_mm, *baseline_mm));
                self.content.begin_text(start, *rotated);
                self.show(text, *face)?;
            }
            Item::Polyline { points, stroke } => {
                if points.len() > 1 {
                    self.ink(Ink::Drawing, structure)?;
                    self.stroke(stroke);
                    self.path(points);
                    self.content.stroke_open();
                }
            }
            Item::Polygon {
                points,
                fill,
                stroke,
            } => {
                if let Some(paint) = paint_of(*fill, *stroke).filter(|_| points.len() > 1) {
                    self.ink(Ink::Drawing, structure)?;
                    self.colours(*fill, *stroke);
                    self.path(points);
                    self.content.paint(paint);
                }
            }
            Item::Ellipse {
                centre,
                radius_x_mm,
                radius_y_mm,
                fill,
                stroke,
            } => {
                if let Some(paint) = paint_of(*fill, *stroke) {
                    self.ink(Ink::Drawing, structure)?;
                    self.colours(*fill, *stroke);
                    self.ellipse(*centre, *radius_x_mm, *radius_y_mm);
                    self.content.paint(paint);
                }
            }
            Item::Rect {
                x_mm,
                y_mm,
                width_mm,
                height_mm,
                fill,
                stroke,
            } => {
                if let Some(paint) = paint_of(*fill, *stroke) {
                    self.ink(Ink::Drawing, structure)?;
                    self.colours(*fill, *stroke);
                    self.rectangle(*x_mm, *y_mm, *width_mm, *height_mm);
                    self.content.paint(paint);
                }
            }
            Item::Clip {
                x_mm,
                y_mm,
                width_mm,
                height_mm,
            } => {
                structure.break_ink(&mut self.content);
                self.content.save();
                self.outer_states.push(self.state.clone());
                self.rectangle(*x_mm, *y_mm, *width_mm, *height_mm);
                self.content.paint(Paint::Clip);
            }
            Item::Unclip => {
                structure.break_ink(&mut self.content);
                self.state = self.outer_states.pop().ok_or_else(|| PdfError::Structure {
                    sheet: self.page + 1,
                    fault: "a clip is ended that was not begun".to_owned(),
                })?;
                self.content.restore();
            }
        }
        Ok(())
    }

    /// Glyph numbers in strings, with the adjustments between them.
    fn show(&mut self, text: &str, face: Face) -> Result<(), PdfError> {
        let mut last = 0;
        for (character, kern) in self.fonts.kerned(text, face) {
            let glyph = self
                .faces
                .glyph(character, face)
                .ok_or_else(|| PdfError::NoGlyph {
                    sheet: self.page + 1,
                    character,
                    text: text.to_owned(),
                })?;
            self.content.glyph(glyph, kern);
            last = glyph;
        }
        self.content.end_text(last);
        Ok(())
    }

    fn ink(&mut self, ink: Ink, structure: &mut Structure) -> Result<(), PdfError> {
        if structure.ink(ink, &mut self.content)? {
            self.content.forget_text();
        }
        Ok(())
    }

    fn rectangle(&mut self, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) {
        let corner = self.point((x_mm, y_mm + height_mm));
        let width = self.length(width_mm * PT_PER_MM);
        let height = self.length(height_mm * PT_PER_MM);
        self.content.rectangle(corner, (width, height));
    }

    fn ellipse(&mut self, (x, y): Point, radius_x: f64, radius_y: f64) {
        let (near_x, near_y) = (radius_x * QUARTER, radius_y * QUARTER);
        let quarters = [
            [
                (x + radius_x, y + near_y),
                (x + near_x, y + radius_y),
                (x, y + radius_y),
            ],
            [
                (x - near_x, y + radius_y),
                (x - radius_x, y + near_y),
                (x - radius_x, y),
            ],
            [
                (x - radius_x, y - near_y),
                (x - near_x, y - radius_y),
                (x, y - radius_y),
            ],
            [
                (x + near_x, y - radius_y),
                (x + radius_x, y - near_y),
                (x + radius_x, y),
            ],
        ];
        let start = self.point((x + radius_x, y));
        self.content.move_to(start);
        for quarter in quarters {
            let points = quarter.map(|point| self.point(point));
            self.content.curve_to(points);
        }
    }

    fn path(&mut self, points: &[Point]) {
        for (position, &point) in points.iter().enumerate() {
            let point = self.point(point);
            if position == 0 {
                self.content.move_to(point);
            } else {
                self.content.line_to(point);
            }
        }
    }

    /// From millimetres down to points up.
    fn point(&mut self, (x_mm, y_mm): Point) -> (Hundredths, Hundredths) {
        let x = self.length(x_mm * PT_PER_MM);
        let y = self.length((self.height_mm - y_mm) * PT_PER_MM);
        (x, y)
    }

    /// Rounded to a hundredth of a point, 0.004 mm.
    fn length(&mut self, pt: f64) -> Hundredths {
        self.finite &= pt.is_finite();
        (pt * 100.0).round() as Hundredths
    }

    fn font(&mut self, face: Face, size_pt: f64) {
        let size = self.length(size_pt);
        if self.state.font != Some((face, size)) {
            self.state.font = Some((face, size));
            self.content.font(RESOURCE_NAMES[face.index()], size);
        }
    }

    fn colours(&mut self, fill: Option<Colour>, stroke: Option<Stroke>) {
        if let Some(colour) = fill {
            self.fill(colour);
        }
        if let Some(stroke) = &stroke {
            self.stroke(stroke);
        }
    }

    fn fill(&mut self, colour: Colour) {
        if self.state.fill != Some(colour) {
            self.state.fill = Some(colour);
            self.content.fill_colour(colour);
        }
    }

    fn stroke(&mut self, stroke: &Stroke) {
        if self.state.line != Some(stroke.colour) {
            self.state.line = Some(stroke.colour);
            self.content.line_colour(stroke.colour);
        }
        let width = self.length(stroke.width_pt);
        if self.state.width != Some(width) {
            self.state.width = Some(width);
            self.content.line_width(width);
        }
        let dash = stroke
            .dash
            .map(|dash| (self.length(dash.on_pt), self.length(dash.off_pt)));
        if self.state.dash != dash {
            self.state.dash = dash;
            self.content.dash(dash);
        }
    }
}

fn paint_of(fill: Option<Colour>, stroke: Option<Stroke>) -> Option<Paint> {
    match (fill, stroke) {
        (Some(_), Some(_)) => Some(Paint::Both),
        (Some(_), None) => Some(Paint::Fill),
        (None, Some(_)) => Some(Paint::Stroke),
        (None, None) => None,
    }
}
