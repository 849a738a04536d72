//! The display list: what a page draws, before any file format.
//!
//! Coordinates are millimetres from the top-left corner of the paper, y downward. Type sizes and
//! stroke widths are points. A [`Sheet`] is a list of [`Item`]s in drawing order, with structure
//! marks ([`Item::Open`], [`Item::Close`]) around what belongs together, so that the same list gives
//! the picture, the reading order and the test's view of the page.
//!
//! ```
//! use valvefolio::draw::{Align, Colour, Face, Fonts, Paper, Role, Sheet, Tag, TextStyle};
//!
//! let fonts = Fonts::load();
//! let style = TextStyle { face: Face::Semibold, size_pt: 7.6, colour: Colour::BLACK };
//! let mut sheet = Sheet::new(Paper::A4);
//! sheet.tagged(Tag::new(Role::P), |items| {
//!     items.push(fonts.place("Mean gradient 11 mmHg", 100.0, 40.0, Align::Right, style));
//! });
//! assert_eq!(sheet.items.len(), 3);
//! ```

mod fonts;
mod item;
mod lines;
mod sheet;
mod written;

pub use fonts::{Align, Fonts, TextStyle};
pub use item::{Colour, Dash, Face, Item, Point, Role, Scope, Stroke, Tag, tagged};
pub use sheet::{Attachment, Bookmark, Document, Paper, Sheet};

/// Points in a millimetre.
pub const PT_PER_MM: f64 = 72.0 / 25.4;

#[cfg(test)]
mod tests;
