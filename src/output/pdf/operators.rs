//! A sheet's items as page operators.
//!
//! Text is written as glyph numbers of [`Faces`] with the kerning between them, one operator for
//! each text, through the library's open operator: its own text items would write a string for each
//! glyph. A test reads the operators back, since this relies on the library passing them on.

use super::PdfError;
use super::structure::{Ink, Structure};
use super::typeface::{Faces, RESOURCE_NAMES};
use crate::draw::{Colour, Face, Fonts, Item, PT_PER_MM, Point, Sheet, Stroke};
use printpdf::{
    Color, DictItem, FontId, Greyscale, Line, LineDashPattern, LinePoint, Op, PaintMode,
    PdfFontHandle, Polygon, PolygonRing, Pt, Rect, Rgb, TextMatrix, WindingOrder,
};
use std::collections::BTreeMap;

/// Control points of a quarter circle, as a part of the radius; the error is below 0.03 %.
const QUARTER: f64 = 0.552_284_75;

/// The operators of one sheet; its tags go to `structure`.
pub(super) fn page(
    sheet: &Sheet,
    page: usize,
    structure: &mut Structure,
    faces: &Faces,
    fonts: &Fonts,
) -> Result<Vec<Op>, PdfError> {
    let mut writer = Writer {
        height_mm: sheet.paper.height_mm(),
        page,
        faces,
        fonts,
        operators: Vec::with_capacity(sheet.items.len() * 4),
        state: State::default(),
        outer_states: Vec::new(),
        last_text: None,
        finite: true,
    };
    structure.begin_page(page);
    for item in &sheet.items {
        writer.item(item, structure)?;
    }
    structure.end_page(&mut writer.operators)?;
    if !writer.outer_states.is_empty() {
        return Err(PdfError::Structure {
            sheet: page + 1,
            fault: "a clip is not ended".to_owned(),
        });
    }
    if !writer.finite {
        return Err(PdfError::NotFinite { sheet: page + 1 });
    }
    Ok(writer.operators)
}

/// What the operators written so far have set.
#[derive(Clone, Default)]
struct State {
    font: Option<(Face, f32)>,
    fill: Option<Colour>,
    line: Option<Colour>,
    width: Option<f32>,
    dash: Option<(f32, f32)>,
}

struct Writer<'a> {
    height_mm: f64,
    page: usize,
    faces: &'a Faces,
    fonts: &'a Fonts,
    operators: Vec<Op>,
    state: State,
    outer_states: Vec<State>,
    /// Where the last text was written, while its piece of content lasts.
    last_text: Option<usize>,
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
                self.end_word(*face);
                self.fill(*colour);
                self.font(*face, *size_pt);
                self.operators.push(Op::StartTextSection);
                let start = self.point((*x_mm, *baseline_mm));
                self.operators.push(if *rotated {
                    Op::SetTextMatrix {
                        matrix: TextMatrix::Raw([0.0, 1.0, -1.0, 0.0, start.x.0, start.y.0]),
                    }
                } else {
                    Op::SetTextCursor { pos: start }
                });
                let shown = self.shown(text, *face)?;
                self.last_text = Some(self.operators.len());
                self.operators.push(Op::Unknown {
                    key: "TJ".to_owned(),
                    value: vec![DictItem::Array(shown)],
                });
                self.operators.push(Op::EndTextSection);
            }
            Item::Polyline { points, stroke } => {
                if points.len() > 1 {
                    self.ink(Ink::Drawing, structure)?;
                    self.stroke(stroke);
                    let points = self.corners(points);
                    self.operators.push(Op::DrawLine {
                        line: Line {
                            points,
                            is_closed: false,
                        },
                    });
                }
            }
            Item::Polygon {
                points,
                fill,
                stroke,
            } => {
                if let Some(mode) = paint_mode(*fill, *stroke).filter(|_| points.len() > 1) {
                    self.ink(Ink::Drawing, structure)?;
                    let points = self.corners(points);
                    self.shape(points, mode, *fill, *stroke);
                }
            }
            Item::Ellipse {
                centre,
                radius_x_mm,
                radius_y_mm,
                fill,
                stroke,
            } => {
                if let Some(mode) = paint_mode(*fill, *stroke) {
                    self.ink(Ink::Drawing, structure)?;
                    let points = self.ellipse(*centre, *radius_x_mm, *radius_y_mm);
                    self.shape(points, mode, *fill, *stroke);
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
                if let Some(mode) = paint_mode(*fill, *stroke) {
                    self.ink(Ink::Drawing, structure)?;
                    self.paint(*fill, *stroke);
                    self.rectangle(*x_mm, *y_mm, *width_mm, *height_mm, mode);
                }
            }
            Item::Clip {
                x_mm,
                y_mm,
                width_mm,
                height_mm,
            } => {
                structure.break_ink(&mut self.operators);
                self.operators.push(Op::SaveGraphicsState);
                self.outer_states.push(self.state.clone());
                self.rectangle(*x_mm, *y_mm, *width_mm, *height_mm, PaintMode::Clip);
            }
            Item::Unclip => {
                structure.break_ink(&mut self.operators);
                self.state = self.outer_states.pop().ok_or_else(|| PdfError::Structure {
                    sheet: self.page + 1,
                    fault: "a clip is ended that was not begun".to_owned(),
                })?;
                self.operators.push(Op::RestoreGraphicsState);
            }
        }
        Ok(())
    }

    /// Glyph numbers in strings, with the adjustments between them.
    fn shown(&self, text: &str, face: Face) -> Result<Vec<DictItem>, PdfError> {
        let mut shown = Vec::new();
        let mut run = Vec::with_capacity(text.len() * 2);
        let mut left = None;
        for character in text.chars() {
            let glyph = self
                .faces
                .glyph(character, face)
                .ok_or_else(|| PdfError::NoGlyph {
                    sheet: self.page + 1,
                    character,
                    text: text.to_owned(),
                })?;
            let kern = left.map_or(0, |left| self.fonts.kern_milli(left, character, face));
            if kern != 0 {
                let data = std::mem::replace(&mut run, Vec::with_capacity(text.len()));
                shown.push(DictItem::String {
                    data,
                    literal: true,
                });
                shown.push(DictItem::Int(i64::from(-kern)));
            }
            run.extend(glyph.to_be_bytes());
            left = Some(character);
        }
        shown.push(DictItem::String {
            data: run,
            literal: true,
        });
        Ok(shown)
    }

    fn ink(&mut self, ink: Ink, structure: &mut Structure) -> Result<(), PdfError> {
        if structure.ink(ink, &mut self.operators)? {
            self.last_text = None;
        }
        Ok(())
    }

    /// Ends the text before this one, which belongs to the same element, with a space: the words of two
    /// lines of a paragraph stay apart when it is read aloud or copied.
    fn end_word(&mut self, face: Face) {
        let Some(Op::Unknown { value, .. }) = self
            .last_text
            .and_then(|place| self.operators.get_mut(place))
        else {
            return;
        };
        let Some(space) = self.faces.glyph(' ', face) else {
            return;
        };
        if let Some(DictItem::Array(shown)) = value.first_mut()
            && let Some(DictItem::String { data, .. }) = shown.last_mut()
            && !data.ends_with(&space.to_be_bytes())
        {
            data.extend(space.to_be_bytes());
        }
    }

    fn shape(
        &mut self,
        points: Vec<LinePoint>,
        mode: PaintMode,
        fill: Option<Colour>,
        stroke: Option<Stroke>,
    ) {
        self.paint(fill, stroke);
        let rings = vec![PolygonRing { points }];
        let polygon = Polygon {
            rings,
            mode,
            winding_order: WindingOrder::NonZero,
        };
        self.operators.push(Op::DrawPolygon { polygon });
    }

    fn rectangle(&mut self, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64, mode: PaintMode) {
        let corner = self.point((x_mm, y_mm + height_mm));
        let rectangle = Rect {
            x: corner.x,
            y: corner.y,
            width: self.length(width_mm * PT_PER_MM),
            height: self.length(height_mm * PT_PER_MM),
            mode: Some(mode),
            winding_order: Some(WindingOrder::NonZero),
        };
        self.operators.push(Op::DrawRectangle { rectangle });
    }

    fn ellipse(&mut self, (x, y): Point, radius_x: f64, radius_y: f64) -> Vec<LinePoint> {
        let (near_x, near_y) = (radius_x * QUARTER, radius_y * QUARTER);
        let outline = [
            (x + radius_x, y, false),
            (x + radius_x, y + near_y, true),
            (x + near_x, y + radius_y, true),
            (x, y + radius_y, false),
            (x - near_x, y + radius_y, true),
            (x - radius_x, y + near_y, true),
            (x - radius_x, y, false),
            (x - radius_x, y - near_y, true),
            (x - near_x, y - radius_y, true),
            (x, y - radius_y, false),
            (x + near_x, y - radius_y, true),
            (x + radius_x, y - near_y, true),
            (x + radius_x, y, false),
        ];
        outline
            .iter()
            .map(|&(x, y, bezier)| LinePoint {
                p: self.point((x, y)),
                bezier,
            })
            .collect()
    }

    fn corners(&mut self, points: &[Point]) -> Vec<LinePoint> {
        points
            .iter()
            .map(|&point| LinePoint {
                p: self.point(point),
                bezier: false,
            })
            .collect()
    }

    /// From millimetres down to points up.
    fn point(&mut self, (x_mm, y_mm): Point) -> printpdf::Point {
        let x = self.length(x_mm * PT_PER_MM);
        let y = self.length((self.height_mm - y_mm) * PT_PER_MM);
        printpdf::Point { x, y }
    }

    /// Rounded to a hundredth of a point, 0.004 mm.
    fn length(&mut self, pt: f64) -> Pt {
        self.finite &= pt.is_finite();
        Pt(((pt * 100.0).round() / 100.0) as f32)
    }

    fn font(&mut self, face: Face, size_pt: f64) {
        let size = self.length(size_pt);
        if self.state.font != Some((face, size.0)) {
            self.state.font = Some((face, size.0));
            let font = PdfFontHandle::External(FontId(RESOURCE_NAMES[face.index()].to_owned()));
            self.operators.push(Op::SetFont { font, size });
        }
    }

    fn paint(&mut self, fill: Option<Colour>, stroke: Option<Stroke>) {
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
            self.operators.push(Op::SetFillColor {
                col: colour_of(colour),
            });
        }
    }

    fn stroke(&mut self, stroke: &Stroke) {
        if self.state.line != Some(stroke.colour) {
            self.state.line = Some(stroke.colour);
            self.operators.push(Op::SetOutlineColor {
                col: colour_of(stroke.colour),
            });
        }
        let pt = self.length(stroke.width_pt);
        if self.state.width != Some(pt.0) {
            self.state.width = Some(pt.0);
            self.operators.push(Op::SetOutlineThickness { pt });
        }
        let dash = stroke
            .dash
            .map(|dash| (self.length(dash.on_pt).0, self.length(dash.off_pt).0));
        if self.state.dash != dash {
            self.state.dash = dash;
            let dash = dash.map_or_else(LineDashPattern::solid, |(on, off)| {
                LineDashPattern::new(0.0, &[on, off])
            });
            self.operators.push(Op::SetLineDashPattern { dash });
        }
    }
}

fn paint_mode(fill: Option<Colour>, stroke: Option<Stroke>) -> Option<PaintMode> {
    match (fill, stroke) {
        (Some(_), Some(_)) => Some(PaintMode::FillStroke),
        (Some(_), None) => Some(PaintMode::Fill),
        (None, Some(_)) => Some(PaintMode::Stroke),
        (None, None) => None,
    }
}

fn colour_of(colour: Colour) -> Color {
    // Three digits tell all 256 levels apart.
    let part = |level: u8| (f32::from(level) / 255.0 * 1000.0).round() / 1000.0;
    let (r, g, b) = (part(colour.red), part(colour.green), part(colour.blue));
    if r == g && g == b {
        Color::Greyscale(Greyscale {
            percent: r,
            icc_profile: None,
        })
    } else {
        Color::Rgb(Rgb {
            r,
            g,
            b,
            icc_profile: None,
        })
    }
}

/// Begins a piece of tagged content.
pub(super) fn begin_content(operators: &mut Vec<Op>, tag: &str, number: i64) {
    let map = BTreeMap::from([("MCID".to_owned(), DictItem::Int(number))]);
    operators.push(Op::BeginMarkedContentWithProperties {
        tag: tag.to_owned(),
        properties: DictItem::Dict { map },
    });
}
