//! Comparison with a threshold, once for the whole program.
//!
//! A value within 1e-9 of a threshold (relative) is on it: 13.2 − 3.2 is 10, and 1.2 / 0.8 is 1.5.

/// Relative width within which a value counts as equal to a threshold.
const TOLERANCE: f64 = 1e-9;

fn on(value: f64, threshold: f64) -> bool {
    (value - threshold).abs() <= TOLERANCE * threshold.abs()
}

/// value ≥ threshold.
pub fn at_least(value: f64, threshold: f64) -> bool {
    value > threshold || on(value, threshold)
}

/// value ≤ threshold.
pub fn at_most(value: f64, threshold: f64) -> bool {
    value < threshold || on(value, threshold)
}

/// value > threshold.
pub fn above(value: f64, threshold: f64) -> bool {
    !at_most(value, threshold)
}

/// value < threshold.
pub fn below(value: f64, threshold: f64) -> bool {
    !at_least(value, threshold)
}

/// The value where it is a finite number.
pub fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// Joint condition, three-valued: no once one part is known to fail, yes when every part is known to hold.
pub fn all_of(parts: impl IntoIterator<Item = Option<bool>>) -> Option<bool> {
    let mut result = Some(true);
    for part in parts {
        match part {
            Some(false) => return Some(false),
            None => result = None,
            Some(true) => {}
        }
    }
    result
}

/// Alternative conditions, three-valued: yes once one is known to hold, no when every one is known to fail.
pub fn any_of(parts: impl IntoIterator<Item = Option<bool>>) -> Option<bool> {
    all_of(parts.into_iter().map(|part| part.map(|held| !held))).map(|none| !none)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_and_ratios_land_on_their_threshold() {
        // Arithmetic traps of binary floating point; expected values by exact decimal arithmetic.
        assert!(at_least(13.2 - 3.2, 10.0));
        assert!(at_least(1.2 / 0.8, 1.5));
        assert!(at_least(13.1 - 10.0, 3.1));
        assert!(!above(1.3 - 1.0, 0.3));
        assert!(!below(0.1 + 0.2, 0.3));
        assert!(below(19.99, 20.0) && above(20.01, 20.0));
    }

    #[test]
    fn missing_is_never_no_and_never_yes() {
        assert_eq!(all_of([Some(true), None]), None);
        assert_eq!(all_of([None, Some(false)]), Some(false));
        assert_eq!(all_of([Some(true), Some(true)]), Some(true));
        assert_eq!(any_of([Some(false), None]), None);
        assert_eq!(any_of([None, Some(true)]), Some(true));
        assert_eq!(any_of([Some(false), Some(false)]), Some(false));
    }
}
