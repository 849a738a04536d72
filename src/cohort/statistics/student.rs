//! Student's t distribution with a whole number of degrees of freedom.

use super::bisection::root_of_rising;
use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

/// The value exceeded with probability `tail` on the upper side, for whole `degrees` of freedom.
///
/// None when there are no degrees of freedom or the tail is not between 0 and 0.5.
///
/// # Definition
/// With θ = atan(t/√df) the two-sided probability is a finite trigonometric sum
/// (Abramowitz and Stegun 26.7.3-4, from memory); θ is found by bisection.
#[must_use]
pub fn t_upper(degrees: usize, tail: f64) -> Option<f64> {
    if degrees == 0 || !(tail > 0.0 && tail < 0.5) {
        return None;
    }
    let inside = 1.0 - 2.0 * tail;
    let angle = root_of_rising(0.0, FRAC_PI_2, |theta| {
        probability_within(degrees, theta) - inside
    });
    Some((degrees as f64).sqrt() * angle.tan())
}

/// P(|T| <= √df·tan θ).
fn probability_within(degrees: usize, theta: f64) -> f64 {
    let (sine, cosine) = theta.sin_cos();
    let square = cosine * cosine;
    if degrees % 2 == 1 {
        // cos θ (1 + 2/3 cos²θ + 2·4/(3·5) cos⁴θ + ...), up to cos^(df−2).
        let mut term = cosine;
        let mut sum = 0.0;
        let mut power = 1;
        while power + 2 <= degrees {
            sum += term;
            term *= square * (power + 1) as f64 / (power + 2) as f64;
            power += 2;
        }
        FRAC_2_PI * (theta + sine * sum)
    } else {
        // sin θ (1 + 1/2 cos²θ + 1·3/(2·4) cos⁴θ + ...), up to cos^(df−2).
        let mut term = 1.0;
        let mut sum = 0.0;
        let mut power = 0;
        while power + 2 <= degrees {
            sum += term;
            term *= square * (power + 1) as f64 / (power + 2) as f64;
            power += 2;
        }
        sine * sum
    }
}
