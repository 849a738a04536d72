//! Places for labels that are on no point, no line and no other label.

use super::recorder::Area;
use super::theme::middle_to_baseline_mm;
use crate::draw::{Align, Fonts, Item, PT_PER_MM, Point, Stroke, TextStyle};

/// Space kept around a label (mm).
const CLEAR_MM: f64 = 0.35;
/// How far a leader may lead: beyond, its label would be read as another point's.
const LED_RINGS: i32 = 8;
/// Space kept between two labels side by side, so that they are not read as one number (mm).
const BESIDE_MM: f64 = 1.3;

/// What a label must keep clear of, inside a panel.
pub struct Labels<'a> {
    fonts: &'a Fonts,
    inside: Area,
    taken: Vec<Area>,
    written: Vec<Area>,
    points: Vec<Point>,
    lines: Vec<(Point, Point)>,
}

impl<'a> Labels<'a> {
    /// No obstacles yet.
    pub const fn new(fonts: &'a Fonts, inside: Area) -> Self {
        Self {
            fonts,
            inside,
            taken: Vec::new(),
            written: Vec::new(),
            points: Vec::new(),
            lines: Vec::new(),
        }
    }

    /// Keeps a box free.
    pub fn keep_free(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// Keeps the surroundings of a point free.
    pub fn keep_point_free(&mut self, (x_mm, y_mm): Point, radius_mm: f64) {
        self.points.push((x_mm, y_mm));
        self.taken.push(Area {
            x_mm: x_mm - radius_mm,
            y_mm: y_mm - radius_mm,
            width_mm: 2.0 * radius_mm,
            height_mm: 2.0 * radius_mm,
        });
    }

    /// Keeps a line free.
    pub fn keep_line_free(&mut self, from: Point, to: Point) {
        self.lines.push((from, to));
    }

    fn is_free(&self, area: &Area) -> bool {
        let wide = Area {
            x_mm: area.x_mm - CLEAR_MM,
            y_mm: area.y_mm - CLEAR_MM,
            width_mm: area.width_mm + 2.0 * CLEAR_MM,
            height_mm: area.height_mm + 2.0 * CLEAR_MM,
        };
        let beside = Area {
            x_mm: area.x_mm - BESIDE_MM,
            y_mm: wide.y_mm,
            width_mm: area.width_mm + 2.0 * BESIDE_MM,
            height_mm: wide.height_mm,
        };
        contains(&self.inside, area)
            && !self.written.iter().any(|written| overlap(written, &beside))
            && !self.taken.iter().any(|taken| overlap(taken, &wide))
            && !self
                .lines
                .iter()
                .any(|&(from, to)| crosses(&wide, from, to))
    }

    /// A label near a point of this radius. It stands nearer to its own point than to any other; where no such place
    /// is free, a thin leader leads to it. `None` where no place is free.
    pub fn beside(
        &mut self,
        point: Point,
        radius_mm: f64,
        text: &str,
        style: TextStyle,
    ) -> Option<Vec<Item>> {
        let width = self.fonts.width_mm(text, style.face, style.size_pt);
        let height = Fonts::CAP_HEIGHT_EM * style.size_pt / PT_PER_MM;
        let places = || {
            (0..16).flat_map(move |ring| {
                let gap = radius_mm + 0.7 + f64::from(ring) * 0.9;
                DIRECTIONS.into_iter().map(move |(right, up)| {
                    let area = Area {
                        x_mm: point.0 + right * (gap + width / 2.0) - width / 2.0,
                        y_mm: point.1 - up * (gap + height / 2.0) - height / 2.0,
                        width_mm: width,
                        height_mm: height,
                    };
                    (ring, area)
                })
            })
        };
        let (area, led) = places()
            .find(|(ring, area)| *ring < 3 && self.is_free(area) && self.is_nearest(area, point))
            .map(|(_, area)| (area, false))
            .or_else(|| {
                places()
                    .find(|(ring, area)| (1..=LED_RINGS).contains(ring) && self.is_free(area))
                    .map(|(_, area)| (area, true))
            })?;
        self.written.push(area);
        let baseline = area.y_mm + height / 2.0 + middle_to_baseline_mm(&style);
        let mut items = Vec::with_capacity(2);
        if led {
            items.push(leader(point, radius_mm, &area));
        }
        items.push(self.fonts.place(
            text,
            area.x_mm + width / 2.0,
            baseline,
            Align::Centre,
            style,
        ));
        Some(items)
    }

    /// Whether no other point is nearer to a label than its own.
    fn is_nearest(&self, area: &Area, own: Point) -> bool {
        let distance = |point: Point| {
            let (x, y) = nearest_in(area, point);
            (x - point.0).hypot(y - point.1)
        };
        let own_distance = distance(own);
        self.points
            .iter()
            .filter(|&&other| other != own)
            .all(|&other| distance(other) > own_distance + 0.4)
    }

    /// Words in the first free of these places, given by the left end of their middle line.
    pub fn first_free(&mut self, places: &[Point], text: &str, style: TextStyle) -> Option<Item> {
        let width = self.fonts.width_mm(text, style.face, style.size_pt);
        let height = Fonts::CAP_HEIGHT_EM * style.size_pt / PT_PER_MM;
        for &(x_mm, y_mm) in places {
            let area = Area {
                x_mm,
                y_mm: y_mm - height / 2.0,
                width_mm: width,
                height_mm: height,
            };
            if self.is_free(&area) {
                self.written.push(area);
                return Some(self.fonts.place(
                    text,
                    x_mm,
                    y_mm + middle_to_baseline_mm(&style),
                    Align::Left,
                    style,
                ));
            }
        }
        None
    }
}

/// Where a label is tried: right and up as parts of the distance. Above first, then below, then beside.
const DIRECTIONS: [(f64, f64); 12] = [
    (0.0, 1.0),
    (0.0, -1.0),
    (0.7, 0.8),
    (-0.7, 0.8),
    (0.7, -0.8),
    (-0.7, -0.8),
    (1.0, 0.0),
    (-1.0, 0.0),
    (1.0, 0.5),
    (-1.0, 0.5),
    (1.0, -0.5),
    (-1.0, -0.5),
];

fn leader(point: Point, radius_mm: f64, area: &Area) -> Item {
    let end = nearest_in(area, point);
    let (dx, dy) = (end.0 - point.0, end.1 - point.1);
    let length = dx.hypot(dy).max(radius_mm + 0.1);
    let start = (
        point.0 + dx / length * radius_mm,
        point.1 + dy / length * radius_mm,
    );
    Item::line(
        start,
        end,
        Stroke::solid(0.3, crate::draw::Colour::grey(110)),
    )
}

/// The place in a box that is nearest to a point.
fn nearest_in(area: &Area, point: Point) -> Point {
    (
        point.0.clamp(area.x_mm, area.x_mm + area.width_mm),
        point.1.clamp(area.y_mm, area.y_mm + area.height_mm),
    )
}

fn contains(outer: &Area, area: &Area) -> bool {
    area.x_mm >= outer.x_mm
        && area.y_mm >= outer.y_mm
        && area.x_mm + area.width_mm <= outer.x_mm + outer.width_mm
        && area.y_mm + area.height_mm <= outer.y_mm + outer.height_mm
}

fn overlap(a: &Area, b: &Area) -> bool {
    a.x_mm < b.x_mm + b.width_mm
        && b.x_mm < a.x_mm + a.width_mm
        && a.y_mm < b.y_mm + b.height_mm
        && b.y_mm < a.y_mm + a.height_mm
}

/// Whether a line enters a box (clipping of Liang and Barsky 1984).
fn crosses(area: &Area, from: Point, to: Point) -> bool {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let mut enters: f64 = 0.0;
    let mut leaves: f64 = 1.0;
    for (step, distance) in [
        (-dx, from.0 - area.x_mm),
        (dx, area.x_mm + area.width_mm - from.0),
        (-dy, from.1 - area.y_mm),
        (dy, area.y_mm + area.height_mm - from.1),
    ] {
        if step == 0.0 {
            if distance < 0.0 {
                return false;
            }
        } else if step < 0.0 {
            enters = enters.max(distance / step);
        } else {
            leaves = leaves.min(distance / step);
        }
    }
    enters <= leaves
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::theme::VALUE;

    const PANEL: Area = Area {
        x_mm: 0.0,
        y_mm: 0.0,
        width_mm: 70.0,
        height_mm: 50.0,
    };

    #[test]
    fn a_line_through_a_box_is_seen() {
        let area = Area {
            x_mm: 10.0,
            y_mm: 10.0,
            width_mm: 5.0,
            height_mm: 5.0,
        };
        assert!(crosses(&area, (0.0, 12.0), (30.0, 12.0)));
        assert!(crosses(&area, (0.0, 0.0), (30.0, 30.0)));
        assert!(!crosses(&area, (0.0, 0.0), (30.0, 5.0)));
        assert!(!crosses(&area, (0.0, 12.0), (9.0, 12.0)));
    }

    #[test]
    fn labels_of_a_crowd_keep_apart() {
        let fonts = Fonts::load();
        let mut labels = Labels::new(&fonts, PANEL);
        let points: Vec<Point> = (0..15)
            .map(|step| (3.0 + 4.4 * f64::from(step), 30.0))
            .collect();
        for pair in points.windows(2) {
            labels.keep_line_free(pair[0], pair[1]);
        }
        for &point in &points {
            labels.keep_point_free(point, 0.9);
        }
        for &point in &points {
            assert!(labels.beside(point, 0.9, "11.5", VALUE).is_some());
        }
        let areas = &labels.written;
        assert_eq!(areas.len(), points.len());
        for (position, one) in areas.iter().enumerate() {
            for other in &areas[position + 1..] {
                assert!(!overlap(one, other));
            }
        }
    }
}
