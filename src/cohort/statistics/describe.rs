//! Mean, standard deviation, quartiles: how one continuous measure is summed up.

use super::interval::Interval;

/// The fewest values for which quartiles are shown; below it the range is listed instead.
pub const QUARTILES_FROM: usize = 5;

/// What is shown of one continuous measure, in the unit of the measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Number of values.
    pub n: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Standard deviation with n − 1; none for a single value.
    pub sd: Option<f64>,
    /// Smallest value.
    pub minimum: f64,
    /// Median (type 7, the ordinary median).
    pub median: f64,
    /// First and third quartile (type 7); none for fewer than [`QUARTILES_FROM`] values.
    pub quartiles: Option<Interval>,
    /// Largest value.
    pub maximum: f64,
}

/// Sums up a measure. None when there is no value, or when one is not a finite number.
///
/// The order of the values does not matter, to the last bit: they are sorted before they are added.
#[must_use]
pub fn summary(values: &[f64]) -> Option<Summary> {
    let sorted = sorted(values)?;
    let n = sorted.len();
    Some(Summary {
        n,
        mean: mean(&sorted)?,
        sd: sd(&sorted),
        minimum: *sorted.first()?,
        median: quantile_of_sorted(&sorted, 0.5)?,
        quartiles: if n >= QUARTILES_FROM {
            Some(Interval {
                low: quantile_of_sorted(&sorted, 0.25)?,
                high: quantile_of_sorted(&sorted, 0.75)?,
            })
        } else {
            None
        },
        maximum: *sorted.last()?,
    })
}

/// Quantile of Hyndman and Fan's type 7 at `probability` (0 to 1), the default of R and NumPy
/// and the inclusive quartile of spreadsheets.
///
/// None for no values, a value that is not finite, or a probability outside 0 to 1.
///
/// # Definition
/// With sorted x(1..n): h = (n − 1)p + 1, j = floor(h), Q = x(j) + (h − j)(x(j+1) − x(j)).
///
/// # References
/// Hyndman and Fan 1996, Am Stat 50:361-365.
#[must_use]
pub fn quantile(values: &[f64], probability: f64) -> Option<f64> {
    quantile_of_sorted(&sorted(values)?, probability)
}

/// Median of the values; none as for [`quantile`].
#[must_use]
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

/// Arithmetic mean; none for no values or a value that is not finite.
#[must_use]
pub fn mean(values: &[f64]) -> Option<f64> {
    let sorted = sorted(values)?;
    Some(sorted.iter().sum::<f64>() / sorted.len() as f64)
}

/// Standard deviation with divisor n − 1, in two passes; none for fewer than two values or a
/// value that is not finite.
#[must_use]
pub fn sd(values: &[f64]) -> Option<f64> {
    let sorted = sorted(values)?;
    if sorted.len() < 2 {
        return None;
    }
    let centre = mean(&sorted)?;
    let squares: f64 = sorted.iter().map(|x| (x - centre) * (x - centre)).sum();
    Some((squares / (sorted.len() - 1) as f64).sqrt())
}

/// The values in rising order, or none if there are none or one is not finite.
pub(crate) fn sorted(values: &[f64]) -> Option<Vec<f64>> {
    if values.is_empty() || values.iter().any(|x| !x.is_finite()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    Some(sorted)
}

fn quantile_of_sorted(sorted: &[f64], probability: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&probability) {
        return None;
    }
    let position = (sorted.len().checked_sub(1)? as f64) * probability;
    let below = position.floor();
    let lower = *sorted.get(below as usize)?;
    let upper = sorted.get(below as usize + 1).copied().unwrap_or(lower);
    Some(lower + (position - below) * (upper - lower))
}
