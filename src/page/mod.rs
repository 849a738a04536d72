//! Pages: what a reader sees of a case or a cohort, laid out in millimetres and measured before it is drawn.
//!
//! The building blocks are shared by all pages: [`grid`] says where columns stand on either paper, [`text`] and
//! [`table`] are blocks that know their height before they are drawn, [`number`] writes numbers so that none
//! contradicts the class beside it, and [`layout`] keeps the box of every block, so that overlap and overflow are
//! found and not hoped against.

pub mod case;
pub mod cohort;
pub mod grid;
pub mod layout;
pub mod number;
pub mod packet;
pub mod table;
pub mod text;
pub mod theme;
pub mod words;

pub use grid::Grid;
pub use layout::{Pen, Place, Placed, Rect};
pub use table::{Align, Pairs, Table};
pub use text::{Block, Heading, Items, Paragraph, Rich, Stack};
