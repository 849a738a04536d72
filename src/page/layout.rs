//! Boxes of what was drawn, and the pen that keeps them.

use std::borrow::Cow;

use crate::draw::{Face, Fonts, Item, PT_PER_MM, Tag};

/// An upright rectangle on the paper, in millimetres from its top-left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x_mm: f64,
    /// Top edge.
    pub y_mm: f64,
    /// Width.
    pub width_mm: f64,
    /// Height.
    pub height_mm: f64,
}

/// Touching edges and rounding are no overlap.
const SLACK_MM: f64 = 0.01;

impl Rect {
    /// Right edge.
    pub const fn right_mm(&self) -> f64 {
        self.x_mm + self.width_mm
    }

    /// Bottom edge.
    pub const fn bottom_mm(&self) -> f64 {
        self.y_mm + self.height_mm
    }

    /// Whether two rectangles share more than an edge.
    pub fn overlaps(&self, other: &Rect) -> bool {
        self.x_mm + SLACK_MM < other.right_mm()
            && other.x_mm + SLACK_MM < self.right_mm()
            && self.y_mm + SLACK_MM < other.bottom_mm()
            && other.y_mm + SLACK_MM < self.bottom_mm()
    }

    /// Whether it lies inside another, edges included.
    pub fn is_inside(&self, outer: &Rect) -> bool {
        self.x_mm >= outer.x_mm - SLACK_MM
            && self.y_mm >= outer.y_mm - SLACK_MM
            && self.right_mm() <= outer.right_mm() + SLACK_MM
            && self.bottom_mm() <= outer.bottom_mm() + SLACK_MM
    }
}

/// A block and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// What it is, for messages.
    pub name: Cow<'static, str>,
    /// Where it stands.
    pub rect: Rect,
}

/// Where a block is drawn: its top-left corner and the width it may use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Left edge (mm).
    pub x_mm: f64,
    /// Top edge (mm).
    pub y_mm: f64,
    /// Width (mm).
    pub width_mm: f64,
}

/// Draws blocks and remembers where they stand.
pub struct Pen<'a> {
    /// The page's type.
    pub fonts: &'a Fonts,
    /// What was drawn, in order.
    pub items: Vec<Item>,
    /// Boxes of the blocks, in order.
    pub boxes: Vec<Placed>,
}

impl<'a> Pen<'a> {
    /// A pen that has drawn nothing.
    pub const fn new(fonts: &'a Fonts) -> Self {
        Self {
            fonts,
            items: Vec::new(),
            boxes: Vec::new(),
        }
    }

    /// Notes that a block fills this box.
    pub fn fills(&mut self, name: impl Into<Cow<'static, str>>, at: Place, height_mm: f64) {
        self.boxes.push(Placed {
            name: name.into(),
            rect: Rect {
                x_mm: at.x_mm,
                y_mm: at.y_mm,
                width_mm: at.width_mm,
                height_mm,
            },
        });
    }

    /// Draws inside a structure element.
    pub fn tagged<T>(&mut self, tag: Tag, draw: impl FnOnce(&mut Self) -> T) -> T {
        self.items.push(Item::Open(tag));
        let result = draw(self);
        self.items.push(Item::Close);
        result
    }
}

/// Every pair of boxes that overlap.
pub fn overlapping(boxes: &[Placed]) -> Vec<(&Placed, &Placed)> {
    let mut pairs = Vec::new();
    for (position, one) in boxes.iter().enumerate() {
        for other in &boxes[position + 1..] {
            if one.rect.overlaps(&other.rect) {
                pairs.push((one, other));
            }
        }
    }
    pairs
}

/// Every box that leaves `inside`.
pub fn outside<'a>(boxes: &'a [Placed], inside: &Rect) -> Vec<&'a Placed> {
    boxes
        .iter()
        .filter(|placed| !placed.rect.is_inside(inside))
        .collect()
}

/// The box of the ink of an item: of a text from its baseline to the height of capitals. `None` for structure marks.
pub fn ink(item: &Item, fonts: &Fonts) -> Option<Rect> {
    match item {
        Item::Text {
            x_mm,
            baseline_mm,
            size_pt,
            face,
            text,
            rotated,
            ..
        } => Some(text_ink(
            fonts,
            (*x_mm, *baseline_mm),
            *size_pt,
            *face,
            text,
            *rotated,
        )),
        Item::Polyline { points, .. } | Item::Polygon { points, .. } => {
            let least = |pick: fn(&(f64, f64)) -> f64| {
                points.iter().map(pick).fold(f64::INFINITY, f64::min)
            };
            let most = |pick: fn(&(f64, f64)) -> f64| {
                points.iter().map(pick).fold(f64::NEG_INFINITY, f64::max)
            };
            let (x_mm, y_mm) = (least(|point| point.0), least(|point| point.1));
            Some(Rect {
                x_mm,
                y_mm,
                width_mm: most(|point| point.0) - x_mm,
                height_mm: most(|point| point.1) - y_mm,
            })
        }
        Item::Rect {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
            ..
        } => Some(Rect {
            x_mm: *x_mm,
            y_mm: *y_mm,
            width_mm: *width_mm,
            height_mm: *height_mm,
        }),
        Item::Ellipse {
            centre,
            radius_x_mm,
            radius_y_mm,
            ..
        } => Some(Rect {
            x_mm: centre.0 - radius_x_mm,
            y_mm: centre.1 - radius_y_mm,
            width_mm: 2.0 * radius_x_mm,
            height_mm: 2.0 * radius_y_mm,
        }),
        Item::Clip { .. } | Item::Unclip | Item::Open(_) | Item::Close => None,
    }
}

fn text_ink(
    fonts: &Fonts,
    (x_mm, baseline_mm): (f64, f64),
    size_pt: f64,
    face: Face,
    text: &str,
    rotated: bool,
) -> Rect {
    let length = fonts.width_mm(text, face, size_pt);
    let height = Fonts::CAP_HEIGHT_EM * size_pt / PT_PER_MM;
    if rotated {
        Rect {
            x_mm: x_mm - height,
            y_mm: baseline_mm - length,
            width_mm: height,
            height_mm: length,
        }
    } else {
        Rect {
            x_mm,
            y_mm: baseline_mm - height,
            width_mm: length,
            height_mm: height,
        }
    }
}

/// Every pair of texts whose ink overlaps.
pub fn overlapping_texts<'a>(items: &'a [Item], fonts: &Fonts) -> Vec<(&'a str, &'a str)> {
    let texts: Vec<(&str, Rect)> = items
        .iter()
        .filter_map(|item| match item {
            Item::Text { text, .. } if !text.trim().is_empty() => {
                Some((text.as_str(), ink(item, fonts)?))
            }
            _ => None,
        })
        .collect();
    let mut pairs = Vec::new();
    for (position, (text, rect)) in texts.iter().enumerate() {
        for (other_text, other) in &texts[position + 1..] {
            if rect.overlaps(other) {
                pairs.push((*text, *other_text));
            }
        }
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rect(x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) -> Rect {
        Rect {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
        }
    }

    #[test]
    fn touching_is_no_overlap() {
        assert!(!rect(0.0, 0.0, 10.0, 10.0).overlaps(&rect(10.0, 0.0, 5.0, 5.0)));
        assert!(rect(0.0, 0.0, 10.0, 10.0).overlaps(&rect(9.0, 9.0, 5.0, 5.0)));
        assert!(!rect(0.0, 0.0, 10.0, 10.0).overlaps(&rect(0.0, 10.0, 5.0, 5.0)));
    }

    #[test]
    fn a_box_past_the_margin_is_found() {
        let placed = |name: &'static str, rect| Placed {
            name: name.into(),
            rect,
        };
        let boxes = [
            placed("in", rect(1.0, 1.0, 2.0, 2.0)),
            placed("out", rect(9.0, 1.0, 2.0, 2.0)),
        ];
        let found = outside(&boxes, &rect(0.0, 0.0, 10.0, 10.0));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].name, "out");
    }
}
