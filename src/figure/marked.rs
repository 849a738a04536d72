//! An axis with marks where we say, labelled as any other axis.

use std::ops::Range;

use plotters::coord::ranged1d::{DefaultFormatting, KeyPointHint, Ranged};
use plotters::coord::types::RangedCoordf64;

/// A linear axis with its marks. The library's own axis of this kind cannot be given labels.
#[derive(Clone)]
pub struct Marked {
    linear: RangedCoordf64,
    marks: Vec<f64>,
}

impl Marked {
    /// An axis over this range, marked at these values.
    pub fn new(range: Range<f64>, marks: Vec<f64>) -> Self {
        Self {
            linear: range.into(),
            marks,
        }
    }
}

impl Ranged for Marked {
    type FormatOption = DefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, limit: (i32, i32)) -> i32 {
        self.linear.map(value, limit)
    }

    fn key_points<Hint: KeyPointHint>(&self, _: Hint) -> Vec<f64> {
        self.marks.clone()
    }

    fn range(&self) -> Range<f64> {
        self.linear.range()
    }
}
