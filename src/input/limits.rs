//! The limits of a number column.

use std::cmp::Ordering;
use std::sync::OnceLock;

use super::units::{compare, for_message};
use crate::dictionary::Column;

/// What the numbers of a column may be.
#[derive(Debug)]
pub(super) struct Limits {
    /// Outside of these no number is believed.
    pub believed: Range,
    /// Outside of these a number is kept, with a word to check it.
    pub usual: Range,
}

impl Limits {
    /// The limits of this column.
    pub fn of(column: &'static Column) -> Self {
        Self {
            believed: Range::of(column.reject_below, column.reject_above, &column.unit),
            usual: Range::of(
                column.flag_below.or(column.reject_below),
                column.flag_above.or(column.reject_above),
                &column.unit,
            ),
        }
    }
}

/// Two limits, each inside.
#[derive(Debug)]
pub(super) struct Range {
    low: Option<f64>,
    high: Option<f64>,
    unit: &'static str,
    /// Made when first needed: a file may have thousands of values outside of them.
    words: OnceLock<String>,
}

impl Range {
    fn of(low: Option<f64>, high: Option<f64>, unit: &'static str) -> Self {
        Self {
            low,
            high,
            unit,
            words: OnceLock::new(),
        }
    }

    /// Whether the value is between the limits or equal to one.
    pub fn holds(&self, value: f64) -> bool {
        // What lies plainly inside need not be told from what is equal.
        self.low
            .is_none_or(|low| value >= low || compare(value, low) != Ordering::Less)
            && self
                .high
                .is_none_or(|high| value <= high || compare(value, high) != Ordering::Greater)
    }

    /// The limits in words, with their unit.
    pub fn in_words(&self) -> &str {
        self.words.get_or_init(|| {
            let range = match (self.low, self.high) {
                (Some(low), Some(high)) => format!("{} to {}", for_message(low), for_message(high)),
                (Some(low), None) => format!("{} or more", for_message(low)),
                (None, Some(high)) => format!("{} or less", for_message(high)),
                (None, None) => "any number".to_owned(),
            };
            format!("{range} {}", self.unit).trim_end().to_owned()
        })
    }
}
