//! Deaths fewer or more than predicted, added up case by case.

use super::counts::CountDistribution;
use super::interval::Interval;
use super::predicted::Predicted;

/// The chart after one more case; all values in deaths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VladPoint {
    /// Deaths expected so far.
    pub expected: f64,
    /// Deaths observed so far.
    pub observed: usize,
    /// Expected minus observed: upwards is fewer deaths than predicted.
    pub value: f64,
    /// Where the value lies with 95 % probability if every risk is right.
    pub band_95: Interval,
    /// The same with 99 % probability.
    pub band_99: Interval,
}

/// Variable life-adjusted display: one point per case, in the order given.
///
/// The caller orders the cases by procedure date and then by a stable key. The bands hold at each
/// point by itself, not for the whole line at once.
///
/// # Definition
/// V = Σ(p − y). With q(α) the smallest count k with P(deaths <= k) >= α from the exact
/// distribution of the cases so far, the 95 % band is E − q(0.975) to E − q(0.025), the 99 % band
/// E − q(0.995) to E − q(0.005).
///
/// # References
/// Lovegrove et al. 1997, Lancet 350:1128-1130; Sherlaw-Johnson et al. 2000, Heart 84:79-82.
#[must_use]
pub fn vlad(cases: &[Predicted]) -> Vec<VladPoint> {
    let mut distribution = CountDistribution::none_yet();
    let (mut expected, mut observed, mut value) = (0.0, 0, 0.0);
    let mut points = Vec::with_capacity(cases.len());
    for case in cases {
        if distribution.add_case(case.risk()).is_none() {
            continue;
        }
        expected += case.risk();
        observed += usize::from(case.died());
        value += case.risk() - f64::from(u8::from(case.died()));
        let band = |low: f64, high: f64| Interval {
            low: expected - distribution.quantile(high) as f64,
            high: expected - distribution.quantile(low) as f64,
        };
        points.push(VladPoint {
            expected,
            observed,
            value,
            band_95: band(0.025, 0.975),
            band_99: band(0.005, 0.995),
        });
    }
    points
}
