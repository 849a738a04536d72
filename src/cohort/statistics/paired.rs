//! Change within the same patients, from before to after.

use super::counts::CountDistribution;
use super::describe::{mean, sd};
use super::interval::Interval;
use super::student::t_upper;

/// Mean of paired differences with its limits, in the unit of the differences.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanChange {
    /// Number of pairs.
    pub n: usize,
    /// Mean difference, after minus before.
    pub mean: f64,
    /// Standard deviation of the differences (n − 1); none for one pair.
    pub sd: Option<f64>,
    /// 95 % t interval of the mean; none for one pair. Equal differences give limits equal to the
    /// mean.
    pub interval: Option<Interval>,
}

/// Mean change with mean ± t(0.975, n − 1)·sd/√n, from differences after − before.
///
/// None for no pairs or a difference that is not finite. The order of the pairs does not matter.
#[must_use]
pub fn mean_change(differences: &[f64]) -> Option<MeanChange> {
    let n = differences.len();
    let mean = mean(differences)?;
    let sd = sd(differences);
    let interval = sd.and_then(|sd| {
        let half = t_upper(n - 1, 0.025)? * sd / (n as f64).sqrt();
        Some(Interval {
            low: mean - half,
            high: mean + half,
        })
    });
    Some(MeanChange {
        n,
        mean,
        sd,
        interval,
    })
}

/// Exact McNemar probability, two-sided, from the two discordant counts of a yes-or-no measure
/// before and after.
///
/// None when no pair is discordant. Twice the smaller binomial(b + c, ½) tail, at most 1.
#[must_use]
pub fn mcnemar_exact(only_before: usize, only_after: usize) -> Option<f64> {
    let discordant = only_before + only_after;
    if discordant == 0 {
        return None;
    }
    let distribution = CountDistribution::binomial(discordant, 0.5)?;
    Some((2.0 * distribution.at_most(only_before.min(only_after))).min(1.0))
}
