//! Sizes, spacing and greys of the pages, in one place. No meaning hangs on colour.

use crate::draw::{Colour, Stroke};

/// A size of type with the line it stands on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TypeSize {
    /// Type size in points.
    pub size_pt: f64,
    /// Distance of lines in millimetres.
    pub pitch_mm: f64,
    /// From the top of the line to the baseline, in millimetres.
    pub rise_mm: f64,
}

/// Name and state.
pub const TITLE: TypeSize = TypeSize {
    size_pt: 13.0,
    pitch_mm: 5.4,
    rise_mm: 4.2,
};
/// Everything clinical.
pub const BODY: TypeSize = TypeSize {
    size_pt: 7.6,
    pitch_mm: 3.2,
    rise_mm: 2.4,
};
/// Axes and small print.
pub const SMALL: TypeSize = TypeSize {
    size_pt: 6.5,
    pitch_mm: 2.75,
    rise_mm: 2.05,
};

/// Words.
pub const INK: Colour = Colour::BLACK;
/// Words that only support others: units of an axis, small print.
pub const QUIET: Colour = Colour::grey(70);
/// Rule above a block.
pub const RULE: Stroke = Stroke::solid(0.6, Colour::BLACK);
/// Line to write on.
pub const WRITING_LINE: Stroke = Stroke::solid(0.5, Colour::BLACK);
/// Frame of a box.
pub const FRAME: Stroke = Stroke::solid(1.0, Colour::BLACK);

/// Space between the rule of a block and its heading.
pub const RULE_GAP_MM: f64 = 0.7;
/// Space between a heading and what it heads.
pub const HEADING_GAP_MM: f64 = 0.3;
/// Least space between the words of two cells of a row.
pub const CELL_GAP_MM: f64 = 1.6;
