//! Charts as display lists.
//!
//! A chart is drawn with `plotters` through [`recorder`], which keeps what is drawn as items of the
//! page. [`axes`] guards against the one thing such a chart must never do: show a value where it is
//! not.

pub mod area_strip;
pub mod axes;
pub mod cohort;
pub mod gradient;
pub mod labels;
mod line_words;
mod marked;
pub mod recorder;
pub mod ruler;
pub mod theme;
mod time_axis;
mod trend;

/// Why a chart was not drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FigureError {
    /// A point outside the axes, which the drawing library would move to their edge.
    #[error("({x}, {y}) is outside the axes")]
    OffScale {
        /// Its x.
        x: f64,
        /// Its y.
        y: f64,
    },
    /// Nothing but values that are no numbers.
    #[error("no values to make an axis from")]
    NoValues,
    /// The drawing library refused.
    #[error("the chart could not be drawn: {0}")]
    Drawing(String),
}
