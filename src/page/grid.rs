//! Where columns stand, for either paper.

use super::layout::Rect;
use crate::draw::Paper;

/// Space left and right of the text.
pub const SIDE_MARGIN_MM: f64 = 12.0;
/// Space above and below it.
pub const TOP_MARGIN_MM: f64 = 10.0;
/// Space between columns.
pub const GUTTER_MM: f64 = 4.0;

/// The columns of a paper: one, two halves (91 mm on A4) or three thirds (59.3 mm on A4).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Grid {
    /// The paper.
    pub paper: Paper,
}

impl Grid {
    /// The grid of a paper.
    pub const fn of(paper: Paper) -> Self {
        Self { paper }
    }

    /// The part of the paper that is written on.
    pub const fn inside(self) -> Rect {
        Rect {
            x_mm: SIDE_MARGIN_MM,
            y_mm: TOP_MARGIN_MM,
            width_mm: self.paper.width_mm() - 2.0 * SIDE_MARGIN_MM,
            height_mm: self.paper.height_mm() - 2.0 * TOP_MARGIN_MM,
        }
    }

    /// Left edge and width of column `position` of `columns` equal ones, in millimetres.
    pub fn column(self, position: usize, columns: usize) -> (f64, f64) {
        let inside = self.inside();
        let count = columns.max(1) as f64;
        let width = (inside.width_mm - (count - 1.0) * GUTTER_MM) / count;
        (inside.x_mm + position as f64 * (width + GUTTER_MM), width)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_and_thirds_of_a4() {
        // 210 − 2·12 = 186 mm; halves (186 − 4)/2 = 91 mm; thirds (186 − 8)/3 = 59.33 mm.
        let grid = Grid::of(Paper::A4);
        assert_eq!(grid.column(1, 2), (107.0, 91.0));
        assert!((grid.column(0, 3).1 - 59.333).abs() < 0.001);
    }

    #[test]
    fn columns_end_at_the_margin_on_either_paper() {
        for paper in [Paper::A4, Paper::Letter] {
            let inside = Grid::of(paper).inside();
            for columns in 1..5 {
                let (x, width) = Grid::of(paper).column(columns - 1, columns);
                assert!((x + width - inside.right_mm()).abs() < 1e-9);
            }
        }
    }
}
