//! Axis ranges that hold their data.
//!
//! The drawing library moves every point outside its axes to their edge: a gradient of 75 on an axis
//! to 60 would be drawn as 60, and a line to it bent. So ranges are made from the data, and every
//! series passes [`Axes::inside`] before it is drawn.

use super::FigureError;
use std::ops::Range;

/// The ranges of a chart's two axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Axes {
    /// From left to right.
    pub x: Range<f64>,
    /// From bottom to top.
    pub y: Range<f64>,
}

impl Axes {
    /// All points, or the first that the axes do not hold.
    ///
    /// # Errors
    /// [`FigureError::OffScale`] for a point outside, or one that is no number.
    pub fn inside(
        &self,
        points: impl IntoIterator<Item = (f64, f64)>,
    ) -> Result<Vec<(f64, f64)>, FigureError> {
        let holds = |range: &Range<f64>, value: f64| (range.start..=range.end).contains(&value);
        points
            .into_iter()
            .map(|(x, y)| {
                let inside = holds(&self.x, x) && holds(&self.y, y);
                inside
                    .then_some((x, y))
                    .ok_or(FigureError::OffScale { x, y })
            })
            .collect()
    }
}

/// The range that holds `at_least` and all values, widened by 5 % on each side where a value lies
/// beyond `at_least`. Values that are no numbers are passed over.
///
/// # Errors
/// [`FigureError::NoValues`] where the range would be empty.
pub fn span(
    values: impl IntoIterator<Item = f64>,
    at_least: Option<Range<f64>>,
) -> Result<Range<f64>, FigureError> {
    let kept = at_least.clone().unwrap_or(f64::INFINITY..f64::NEG_INFINITY);
    let mut all = kept.clone();
    for value in values.into_iter().filter(|value| value.is_finite()) {
        all.start = all.start.min(value);
        all.end = all.end.max(value);
    }
    if !(all.start.is_finite() && all.end.is_finite()) {
        return Err(FigureError::NoValues);
    }
    let margin = match (all.end - all.start) * 0.05 {
        0.0 => 0.5,
        margin => margin,
    };
    if all.start < kept.start {
        all.start -= margin;
    }
    if all.end > kept.end {
        all.end += margin;
    }
    if all.start < all.end {
        Ok(all)
    } else {
        Err(FigureError::NoValues)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_point_outside_is_named_not_moved() {
        let axes = Axes {
            x: 0.0..13.0,
            y: 0.0..60.0,
        };
        assert_eq!(
            axes.inside([(1.0, 2.0), (13.0, 60.0)]),
            Ok(vec![(1.0, 2.0), (13.0, 60.0)])
        );
        assert_eq!(
            axes.inside([(1.0, 75.0)]),
            Err(FigureError::OffScale { x: 1.0, y: 75.0 })
        );
        assert!(axes.inside([(f64::NAN, 1.0)]).is_err());
    }

    #[test]
    fn the_wanted_range_stays_where_it_is_enough() {
        assert_eq!(span([3.0, 30.0], Some(0.0..30.0)), Ok(0.0..30.0));
        assert_eq!(span([], Some(0.0..30.0)), Ok(0.0..30.0));
        assert_eq!(span([f64::NAN], None), Err(FigureError::NoValues));
        assert_eq!(span([7.0], None), Ok(6.5..7.5));
    }

    proptest! {
        #[test]
        fn prop_a_span_holds_its_values(values in prop::collection::vec(-1e6..1e6, 1..20), low in -10.0..0.0, wide in any::<bool>()) {
            let range = span(values.iter().copied(), wide.then_some(low..low + 5.0)).unwrap();
            let axes = Axes { x: range.clone(), y: range };
            prop_assert!(axes.inside(values.iter().map(|&value| (value, value))).is_ok());
        }
    }
}
