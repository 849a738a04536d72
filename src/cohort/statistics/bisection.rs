//! Where a monotone function crosses zero, to the last bits.

/// Root of a rising function between `low` and `high`, by halving until the midpoint no longer
/// separates them. Returns the end nearer to which the function still rises when it has no root there.
pub(crate) fn root_of_rising(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high || high - low <= 1e-16 * high {
            return middle;
        }
        if rising(middle) > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
}
