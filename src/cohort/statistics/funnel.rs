//! Operators or sites against a benchmark: limits, exact flags, and critical counts.

use super::counts::CountDistribution;
use super::interval::{Confidence, Interval};

/// The fewest groups for which a funnel is drawn; below it a table is shown.
pub const FUNNEL_FROM_GROUPS: usize = 5;

/// When no group reaches this many cases a table is shown.
pub const FUNNEL_FROM_CASES: usize = 10;

/// How a count stands against its benchmark, by its exact tail probability.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// P(X <= count) is 0.001 or less: fewer than chance allows.
    FarBelow,
    /// P(X <= count) is 0.025 or less: a reason to look, not a flag.
    Below,
    /// Within the limits.
    Within,
    /// P(X >= count) is 0.025 or less: a reason to look, not a flag.
    Above,
    /// P(X >= count) is 0.001 or less: look at the cases.
    FarAbove,
}

/// Where `count` stands in the distribution expected under the benchmark: binomial, or
/// [`CountDistribution::unequal`] from the group's own predicted risks.
///
/// Line and flag agree by construction: the limits of [`critical_counts`] use the same tails.
#[must_use]
pub fn standing(expected: &CountDistribution, count: usize) -> Standing {
    let outside = |confidence: Confidence| {
        let critical = critical_counts(expected, confidence);
        if critical.high.is_some_and(|c| count >= c) {
            Some(true)
        } else if critical.low.is_some_and(|d| count <= d) {
            Some(false)
        } else {
            None
        }
    };
    match (
        outside(Confidence::Percent99_8),
        outside(Confidence::Percent95),
    ) {
        (Some(true), _) => Standing::FarAbove,
        (Some(false), _) => Standing::FarBelow,
        (None, Some(true)) => Standing::Above,
        (None, Some(false)) => Standing::Below,
        (None, None) => Standing::Within,
    }
}

/// The counts from which a group would be called outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CriticalCounts {
    /// Largest count with P(X <= count) at most the tail; none when no count qualifies.
    pub low: Option<usize>,
    /// Smallest count with P(X >= count) at most the tail; none when no count qualifies.
    pub high: Option<usize>,
}

/// Critical counts of a distribution, with the tail of `confidence` on each side.
#[must_use]
pub fn critical_counts(expected: &CountDistribution, confidence: Confidence) -> CriticalCounts {
    critical_counts_at(expected, confidence.tail())
}

/// Critical counts at any tail probability.
#[must_use]
pub fn critical_counts_at(expected: &CountDistribution, tail: f64) -> CriticalCounts {
    CriticalCounts {
        low: expected.critical_low(tail),
        high: expected.critical_high(tail),
    }
}

impl CriticalCounts {
    /// Height at which the upper limit is drawn, half a case inside the critical count, divided
    /// by `scale`: the number of cases for a proportion, the expected deaths for O/E.
    #[must_use]
    pub fn upper_line(&self, scale: f64) -> Option<f64> {
        self.high.map(|c| (c as f64 - 0.5) / scale)
    }

    /// Height at which the lower limit is drawn; none when no count is low enough.
    #[must_use]
    pub fn lower_line(&self, scale: f64) -> Option<f64> {
        self.low.map(|d| (d as f64 + 0.5) / scale)
    }
}

/// Spiegelhalter's interpolated count at cumulative `probability`: decoration for a smooth line,
/// never the flag. It can lie below 0.
///
/// # Definition
/// r the smallest count with P(X <= r) >= p, α = (P(X <= r) − p)/P(X = r): r − α.
///
/// # References
/// Spiegelhalter 2005, Stat Med 24:1185-1202 (formula from memory); against using it as the flag:
/// Manktelow and Seaton 2012, PLoS ONE 7:e45723.
#[must_use]
pub fn interpolated_count(expected: &CountDistribution, probability: f64) -> f64 {
    let r = expected.quantile(probability);
    let excess = expected.at_most(r) - probability;
    r as f64 - excess / expected.probability(r)
}

/// Interpolated limits of a proportion at `cases` and `benchmark`, as fractions held within 0 to 1.
///
/// None when there are no cases or the benchmark is not within 0 to 1.
#[must_use]
pub fn funnel_limits(cases: usize, benchmark: f64, confidence: Confidence) -> Option<Interval> {
    if cases == 0 {
        return None;
    }
    let expected = CountDistribution::binomial(cases, benchmark)?;
    let at = |p: f64| (interpolated_count(&expected, p) / cases as f64).clamp(0.0, 1.0);
    Some(Interval {
        low: at(confidence.tail()),
        high: at(1.0 - confidence.tail()),
    })
}

/// Whether a funnel is drawn rather than a table, from the number of cases of each group.
#[must_use]
pub fn funnel_applies(cases_of_groups: &[usize]) -> bool {
    let groups = cases_of_groups.iter().filter(|&&n| n > 0).count();
    groups >= FUNNEL_FROM_GROUPS && cases_of_groups.iter().any(|&n| n >= FUNNEL_FROM_CASES)
}

/// Chance that `cases` with true rate `rate` would be called far above `benchmark` (99.8 %
/// limits): how much a small group's silence is worth. None for a rate outside 0 to 1.
#[must_use]
pub fn chance_of_flag(cases: usize, benchmark: f64, rate: f64) -> Option<f64> {
    let expected = CountDistribution::binomial(cases, benchmark)?;
    let truth = CountDistribution::binomial(cases, rate)?;
    let critical = expected.critical_high(Confidence::Percent99_8.tail());
    Some(critical.map_or(0.0, |c| truth.at_least(c)))
}
