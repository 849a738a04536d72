//! Deaths observed against deaths expected.

use super::bisection::root_of_rising;
use super::counts::CountDistribution;
use super::interval::Interval;
use super::predicted::{Predicted, risks};

/// Below this many expected deaths no ratio is given.
pub const RATIO_FROM_EXPECTED: f64 = 1.0;

/// Observed and expected deaths of a group of cases.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ObservedExpected {
    /// Number of cases.
    pub cases: usize,
    /// Deaths observed.
    pub observed: usize,
    /// Deaths expected: the sum of the predicted risks.
    pub expected: f64,
    /// Observed / expected with exact Poisson 95 % limits; none below [`RATIO_FROM_EXPECTED`].
    pub ratio: Option<Ratio>,
    /// Chance of at least this many deaths if every predicted risk is right, the cases being
    /// unequal (Poisson-binomial). 1 when nobody died.
    pub chance_of_as_many: f64,
    /// Chance of at most this many deaths, likewise.
    pub chance_of_as_few: f64,
}

/// Observed / expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ratio {
    /// The ratio.
    pub estimate: f64,
    /// Exact Poisson 95 % limits.
    pub interval: Interval,
}

/// Observed against expected deaths. The order of the cases does not matter, to the last bit.
#[must_use]
pub fn observed_expected(cases: &[Predicted]) -> ObservedExpected {
    let mut risks = risks(cases);
    risks.sort_by(f64::total_cmp);
    let observed = cases.iter().filter(|case| case.died()).count();
    let expected: f64 = risks.iter().sum();
    let distribution =
        CountDistribution::unequal(&risks).unwrap_or_else(CountDistribution::none_yet);
    ObservedExpected {
        cases: cases.len(),
        observed,
        expected,
        ratio: ratio(observed, expected),
        chance_of_as_many: distribution.at_least(observed),
        chance_of_as_few: distribution.at_most(observed),
    }
}

/// The ratio with its limits; none when fewer than [`RATIO_FROM_EXPECTED`] deaths are expected.
#[must_use]
pub fn ratio(observed: usize, expected: f64) -> Option<Ratio> {
    if !(expected.is_finite() && expected >= RATIO_FROM_EXPECTED) {
        return None;
    }
    Some(Ratio {
        estimate: observed as f64 / expected,
        interval: poisson_limits(observed, 0.95)?.scaled(1.0 / expected),
    })
}

/// Exact (Garwood) limits of a Poisson mean, given a count, at any `confidence` between 0 and 1.
///
/// The lower limit is exactly 0 at a count of 0. None when the confidence is not within 0 to 1.
///
/// # Definition
/// The means at which P(X >= count) and P(X <= count) equal α/2: the chi-square form
/// χ²(α/2; 2O)/2 and χ²(1 − α/2; 2O + 2)/2, found by bisection on the tails.
///
/// # References
/// Garwood 1936, Biometrika 28:437-442; Ulm 1990, Am J Epidemiol 131:373-375.
#[must_use]
pub fn poisson_limits(count: usize, confidence: f64) -> Option<Interval> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    let tail = (1.0 - confidence) / 2.0;
    let observed = count as f64;
    let low = if count == 0 {
        0.0
    } else {
        root_of_rising(0.0, observed + 1.0, |mean| {
            CountDistribution::poisson(mean).map_or(-1.0, |x| x.at_least(count) - tail)
        })
    };
    let too_high =
        |mean: f64| CountDistribution::poisson(mean).map_or(1.0, |x| tail - x.at_most(count));
    let high = if count == 0 {
        -tail.ln()
    } else {
        let mut above = 2.0 * observed + 10.0;
        while too_high(above) <= 0.0 {
            above *= 2.0;
        }
        root_of_rising(observed.min(above) / 2.0, above, too_high)
    };
    Some(Interval { low, high })
}

/// P(X >= `observed`) for a Poisson count with mean `expected`; none for a mean that is negative
/// or not finite.
#[must_use]
pub fn poisson_chance_of_as_many(observed: usize, expected: f64) -> Option<f64> {
    CountDistribution::poisson(expected).map(|x| x.at_least(observed))
}
