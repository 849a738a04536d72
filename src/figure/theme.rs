//! Sizes and greys of the charts. Shapes carry the meaning, so that a grey copy says the same.

use crate::draw::{Colour, Face, TextStyle};

/// Words of an axis.
pub const AXIS: TextStyle = TextStyle {
    face: Face::Regular,
    size_pt: 6.5,
    colour: Colour::BLACK,
};
/// Values beside their points.
pub const VALUE: TextStyle = TextStyle {
    face: Face::Semibold,
    size_pt: 7.6,
    colour: Colour::BLACK,
};
/// Words in a chart.
pub const WORDS: TextStyle = TextStyle {
    face: Face::Regular,
    size_pt: 7.0,
    colour: Colour::BLACK,
};
/// Words in a chart that stand out.
pub const STRONG: TextStyle = TextStyle {
    face: Face::Semibold,
    size_pt: 7.0,
    colour: Colour::BLACK,
};
/// A band.
pub const BAND: Colour = Colour::grey(228);
/// The band of a graver part within a band.
pub const DEEP_BAND: Colour = Colour::grey(200);
/// Thin lines that guide the eye.
pub const GUIDE: Colour = Colour::grey(190);
/// A filled shape that is not the main one.
pub const SHADE: Colour = Colour::grey(215);

/// A colour as the drawing library has it.
pub const fn rgb(colour: Colour) -> plotters::style::RGBColor {
    plotters::style::RGBColor(colour.red, colour.green, colour.blue)
}

/// Height of a line of words of this size (mm).
pub const fn line_mm(style: &TextStyle) -> f64 {
    style.size_pt * 0.3528 * 1.18
}

/// From the middle of a line of words down to its baseline (mm).
pub const fn middle_to_baseline_mm(style: &TextStyle) -> f64 {
    style.size_pt * 0.3528 * 0.33
}
