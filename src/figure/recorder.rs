//! The plotters backend that records.
//!
//! Lines stay lines and texts stay texts in the page's own type, measured by [`Fonts`]. A backend
//! pixel is a tenth of a point, so a stroke width of 5 is 0.5 pt and a type size of 65 is 6.5 pt.
//! Colours with transparency are mixed with white: the page has none.
//!
//! Legends and texts of several lines are measured inside plotters by other means; draw them as
//! items ([`Control::push`]) instead.

use super::FigureError;
use crate::draw::{Align, Colour, Dash, Face, Fonts, Item, PT_PER_MM, Point, Stroke, TextStyle};
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
    FontStyle, FontTransform,
};
use std::cell::RefCell;
use std::rc::Rc;

/// Backend pixels in a point.
pub const PX_PER_PT: f64 = 10.0;

/// Height above the baseline and depth below it that a label is given, in parts of the type size.
const ASCENT_EM: f64 = 0.72;
const DESCENT_EM: f64 = 0.18;

/// Where on the paper a chart is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x_mm: f64,
    /// Top edge.
    pub y_mm: f64,
    /// Width.
    pub width_mm: f64,
    /// Height.
    pub height_mm: f64,
}

impl Area {
    /// Width and height in backend pixels.
    pub fn size_px(&self) -> (u32, u32) {
        (to_px(self.width_mm) as u32, to_px(self.height_mm) as u32)
    }

    /// The place on the paper of a backend pixel.
    pub fn on_paper(&self, (x, y): BackendCoord) -> Point {
        (
            self.x_mm + to_mm(f64::from(x)),
            self.y_mm + to_mm(f64::from(y)),
        )
    }
}

/// Backend pixels for a length on paper.
pub fn to_px(mm: f64) -> f64 {
    (mm * PT_PER_MM * PX_PER_PT).round()
}

fn to_mm(px: f64) -> f64 {
    px / PX_PER_PT / PT_PER_MM
}

/// Shared with the backend while a chart is drawn: what plotters has no words for.
#[derive(Clone, Default)]
pub struct Control(Rc<RefCell<Recorded>>);

#[derive(Default)]
struct Recorded {
    items: Vec<Item>,
    dash: Option<Dash>,
}

impl Control {
    /// Draws the lines of `draw` dashed: one dashed line each, where plotters would draw pieces.
    pub fn dashed<T>(&self, dash: Dash, draw: impl FnOnce() -> T) -> T {
        let outer = self.0.borrow_mut().dash.replace(dash);
        let result = draw();
        self.0.borrow_mut().dash = outer;
        result
    }

    /// Puts an item of the page (millimetres on the paper) after what has been drawn so far: a
    /// legend, a clip, a tag.
    pub fn push(&self, item: Item) {
        self.0.borrow_mut().items.push(item);
    }
}

/// What `draw` draws into `area`, as items of the page.
///
/// The caller wraps them in [`crate::draw::Tag::figure`] with a description.
///
/// # Errors
/// What `draw` returns; [`drawing_error`] turns the errors of plotters into [`FigureError`].
pub fn record<'a>(
    fonts: &'a Fonts,
    area: Area,
    draw: impl FnOnce(&DrawingArea<Recorder<'a>, Shift>, &Control) -> Result<(), FigureError>,
) -> Result<Vec<Item>, FigureError> {
    let control = Control::default();
    let root = Recorder {
        fonts,
        area,
        control: control.clone(),
    }
    .into_drawing_area();
    draw(&root, &control)?;
    drop(root);
    Ok(std::mem::take(&mut control.0.borrow_mut().items))
}

/// An error of plotters as one of ours, for `map_err`.
pub fn drawing_error(fault: impl std::fmt::Display) -> FigureError {
    FigureError::Drawing(fault.to_string())
}

/// The backend.
pub struct Recorder<'a> {
    fonts: &'a Fonts,
    area: Area,
    control: Control,
}

/// Something the page cannot draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("texts run along or up, not down or upside down")]
pub struct TextDirection;

type Drawn = Result<(), DrawingErrorKind<TextDirection>>;

impl Recorder<'_> {
    fn stroke<S: BackendStyle>(&self, style: &S) -> Stroke {
        let width_pt = f64::from(style.stroke_width()) / PX_PER_PT;
        Stroke {
            width_pt,
            colour: on_white(style.color()),
            dash: self.control.0.borrow().dash,
        }
    }

    fn on_paper(&self, points: impl IntoIterator<Item = BackendCoord>) -> Vec<Point> {
        points
            .into_iter()
            .map(|point| self.area.on_paper(point))
            .collect()
    }

    /// Fill and outline of a closed shape, or `None` where it would leave no ink.
    fn paint<S: BackendStyle>(
        &self,
        style: &S,
        fill: bool,
    ) -> Option<(Option<Colour>, Option<Stroke>)> {
        let visible = style.color().alpha > 0.0;
        let filled = fill.then(|| on_white(style.color()));
        let outline = (!fill && style.stroke_width() > 0).then(|| self.stroke(style));
        (visible && (filled.is_some() || outline.is_some())).then_some((filled, outline))
    }
}

impl DrawingBackend for Recorder<'_> {
    type ErrorType = TextDirection;

    fn get_size(&self) -> (u32, u32) {
        self.area.size_px()
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, (x, y): BackendCoord, colour: BackendColor) -> Drawn {
        self.draw_rect((x, y), (x + 1, y + 1), &colour, true)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Drawn {
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Drawn {
        if let Some((fill, stroke)) = self.paint(style, fill) {
            let ((x_mm, y_mm), (right, bottom)) =
                (self.area.on_paper(from), self.area.on_paper(to));
            let (width_mm, height_mm) = (right - x_mm, bottom - y_mm);
            self.control.push(Item::Rect {
                x_mm,
                y_mm,
                width_mm,
                height_mm,
                fill,
                stroke,
            });
        }
        Ok(())
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Drawn {
        if style.color().alpha > 0.0 && style.stroke_width() > 0 {
            let (points, stroke) = (self.on_paper(path), self.stroke(style));
            self.control.push(Item::Polyline { points, stroke });
        }
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        centre: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Drawn {
        if let Some((fill, stroke)) = self.paint(style, fill) {
            let centre = self.area.on_paper(centre);
            self.control
                .push(Item::circle(centre, to_mm(f64::from(radius)), fill, stroke));
        }
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Drawn {
        if let Some((fill, stroke)) = self.paint(style, true) {
            let points = self.on_paper(corners);
            self.control.push(Item::Polygon {
                points,
                fill,
                stroke,
            });
        }
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        place: BackendCoord,
    ) -> Drawn {
        let rotated = match style.transform() {
            FontTransform::None => false,
            FontTransform::Rotate270 => true,
            FontTransform::Rotate90 | FontTransform::Rotate180 => {
                return Err(DrawingErrorKind::DrawingError(TextDirection));
            }
        };
        if style.color().alpha == 0.0 {
            return Ok(());
        }
        let look = TextStyle {
            face: face(style),
            size_pt: style.size() / PX_PER_PT,
            colour: on_white(style.color()),
        };
        let em_mm = look.size_pt / PT_PER_MM;
        let below_mm = em_mm
            * match style.anchor().v_pos {
                VPos::Top => ASCENT_EM,
                VPos::Center => Fonts::CAP_HEIGHT_EM / 2.0,
                VPos::Bottom => -DESCENT_EM,
            };
        let align = match style.anchor().h_pos {
            HPos::Left => Align::Left,
            HPos::Center => Align::Centre,
            HPos::Right => Align::Right,
        };
        let (x_mm, y_mm) = self.area.on_paper(place);
        let text = self.fonts.clean(text);
        let item = if rotated {
            self.fonts
                .place_upward(text, x_mm + below_mm, y_mm, align, look)
        } else {
            self.fonts.place(text, x_mm, y_mm + below_mm, align, look)
        };
        self.control.push(item);
        Ok(())
    }

    fn estimate_text_size<S: BackendTextStyle>(
        &self,
        text: &str,
        style: &S,
    ) -> Result<(u32, u32), DrawingErrorKind<TextDirection>> {
        let width_mm = self.fonts.width_mm(
            &self.fonts.clean(text),
            face(style),
            style.size() / PX_PER_PT,
        );
        let height = style.size() * (ASCENT_EM + DESCENT_EM);
        Ok((to_px(width_mm) as u32, height.round() as u32))
    }

    fn blit_bitmap(&mut self, _: BackendCoord, _: (u32, u32), _: &[u8]) -> Drawn {
        Ok(())
    }
}

fn face<S: BackendTextStyle>(style: &S) -> Face {
    match style.style() {
        FontStyle::Bold => Face::Semibold,
        FontStyle::Normal | FontStyle::Oblique | FontStyle::Italic => Face::Regular,
    }
}

/// The colour as it appears on white paper.
fn on_white(colour: BackendColor) -> Colour {
    let alpha = colour.alpha.clamp(0.0, 1.0);
    let part = |level: u8| (255.0 - (255.0 - f64::from(level)) * alpha).round() as u8;
    Colour::rgb(part(colour.rgb.0), part(colour.rgb.1), part(colour.rgb.2))
}

#[cfg(test)]
mod tests;
