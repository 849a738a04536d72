//! Intervals for proportions, as fractions of 1.

use super::bisection::root_of_rising;
use super::counts::CountDistribution;
use super::interval::{Confidence, Interval, Z95};

/// Wilson's 95 % score interval, without continuity correction, for `count` of `of`.
///
/// None when `of` is 0 (no estimate, and no interval from 0 to 1 either) or `count` is greater
/// than `of`. The lower limit is exactly 0 at a count of 0, the upper exactly 1 at a full count.
///
/// # References
/// Wilson 1927, JASA 22:209-212; Newcombe 1998, Stat Med 17:857-872.
#[must_use]
pub fn wilson(count: usize, of: usize) -> Option<Interval> {
    wilson_at(count, of, Confidence::Percent95)
}

/// Wilson's interval at another confidence; otherwise as [`wilson`].
#[must_use]
pub fn wilson_at(count: usize, of: usize, confidence: Confidence) -> Option<Interval> {
    if of == 0 || count > of {
        return None;
    }
    let z = confidence.normal_quantile();
    let n = of as f64;
    let p = count as f64 / n;
    let spread = 1.0 + z * z / n;
    let centre = (p + z * z / (2.0 * n)) / spread;
    let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt() / spread;
    Some(Interval {
        low: if count == 0 { 0.0 } else { centre - half },
        high: if count == of { 1.0 } else { centre + half },
    })
}

/// Clopper-Pearson's exact interval at any `confidence` between 0 and 1, for `count` of `of`.
///
/// For statements that must never under-cover, such as a safety bound. None when `of` is 0,
/// `count` is greater than `of`, or the confidence is not within 0 to 1.
///
/// # Definition
/// The lower limit is the probability at which P(X >= count) = α/2, the upper that at which
/// P(X <= count) = α/2, found by bisection on the binomial tails.
///
/// # References
/// Clopper and Pearson 1934, Biometrika 26:404-413.
#[must_use]
pub fn clopper_pearson(count: usize, of: usize, confidence: f64) -> Option<Interval> {
    if of == 0 || count > of || !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    let tail = (1.0 - confidence) / 2.0;
    let n = of as f64;
    let low = if count == 0 {
        0.0
    } else if count == of {
        tail.powf(1.0 / n)
    } else {
        root_of_rising(0.0, 1.0, |p| {
            binomial(of, p).map_or(-1.0, |x| x.at_least(count) - tail)
        })
    };
    let high = if count == of {
        1.0
    } else if count == 0 {
        1.0 - tail.powf(1.0 / n)
    } else {
        root_of_rising(0.0, 1.0, |p| {
            binomial(of, p).map_or(-1.0, |x| tail - x.at_most(count))
        })
    };
    Some(Interval { low, high })
}

fn binomial(n: usize, probability: f64) -> Option<CountDistribution> {
    CountDistribution::binomial(n, probability)
}

/// One-sided upper limit, as a fraction, when none of `of` cases had the event: 1 − α^(1/n),
/// near 3/n at 95 %.
///
/// None when `of` is 0 or the confidence is not within 0 to 1.
///
/// # References
/// Hanley and Lippman-Hand 1983 (from memory).
#[must_use]
pub fn zero_events_upper(of: usize, confidence: f64) -> Option<f64> {
    if of == 0 || !(confidence > 0.0 && confidence < 1.0) {
        return None;
    }
    Some(1.0 - (1.0 - confidence).powf(1.0 / of as f64))
}

/// Difference of two independent proportions with its limits, as fractions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// First minus second proportion.
    pub estimate: f64,
    /// 95 % limits.
    pub interval: Interval,
}

/// Newcombe's hybrid score interval (method 10), 95 %, for `first` minus `second`, each
/// `(count, of)`.
///
/// None when either denominator is 0 or a count is greater than its denominator.
///
/// # References
/// Newcombe 1998, Stat Med 17:873-890.
#[must_use]
pub fn newcombe_difference(first: (usize, usize), second: (usize, usize)) -> Option<Difference> {
    let limits_1 = wilson(first.0, first.1)?;
    let limits_2 = wilson(second.0, second.1)?;
    let p1 = first.0 as f64 / first.1 as f64;
    let p2 = second.0 as f64 / second.1 as f64;
    let estimate = p1 - p2;
    Some(Difference {
        estimate,
        interval: Interval {
            low: estimate - (p1 - limits_1.low).hypot(limits_2.high - p2),
            high: estimate + (limits_1.high - p1).hypot(p2 - limits_2.low),
        },
    })
}

/// The proportion if every missing case had been a no, and if every one had been a yes.
///
/// `known` is the denominator without the missing. None when there is no case at all or `count`
/// is greater than `known`.
#[must_use]
pub fn missing_bounds(count: usize, known: usize, missing: usize) -> Option<Interval> {
    let all = known + missing;
    if all == 0 || count > known {
        return None;
    }
    Some(Interval {
        low: count as f64 / all as f64,
        high: (count + missing) as f64 / all as f64,
    })
}

/// 95 % limits of an estimate whose error is taken as normal.
pub(crate) fn normal_limits(estimate: f64, standard_error: f64) -> Interval {
    Interval {
        low: estimate - Z95 * standard_error,
        high: estimate + Z95 * standard_error,
    }
}
