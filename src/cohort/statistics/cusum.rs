//! Risk-adjusted CUSUM: evidence, case by case, that the odds of death have changed.

use super::predicted::Predicted;

/// The odds ratio the chart is tuned to notice: a doubling.
pub const ODDS_DOUBLED: f64 = 2.0;

/// The weight of one case for an odds ratio `odds_ratio` against 1 (natural logarithms).
///
/// # Definition
/// ln(R/(1 − p + R·p)) for a death, ln(1/(1 − p + R·p)) for a survivor.
///
/// # References
/// Steiner, Cook, Farewell, Treasure 2000, Biostatistics 1:441-452.
#[must_use]
pub fn cusum_weight(case: Predicted, odds_ratio: f64) -> f64 {
    let (died, survived) = weights(case.risk(), odds_ratio);
    if case.died() { died } else { survived }
}

/// The line of the chart, one value per case in the order given: S = max(0, S + W), from 0.
///
/// An odds ratio above 1 looks for worsening, one below 1 for improvement (plotted downwards).
/// The line is not restarted after a signal.
///
/// # Examples
/// ```
/// use valvefolio::cohort::statistics::{Predicted, cusum_path};
/// let cases: Vec<_> = [(0.05, false), (0.05, true)]
///     .into_iter()
///     .filter_map(|(risk, died)| Predicted::new(risk, died))
///     .collect();
/// let path = cusum_path(&cases, 2.0);
/// assert_eq!(path[0], 0.0);
/// assert!((path[1] - (2.0_f64 / 1.05).ln()).abs() < 1e-12);
/// ```
#[must_use]
pub fn cusum_path(cases: &[Predicted], odds_ratio: f64) -> Vec<f64> {
    cusum_path_restarting(cases, odds_ratio, f64::INFINITY)
}

/// The line when it is restarted at 0 after each signal, as once a review has been recorded. The
/// signalling case keeps its value above `limit`; the case after it starts from 0.
#[must_use]
pub fn cusum_path_restarting(cases: &[Predicted], odds_ratio: f64, limit: f64) -> Vec<f64> {
    let mut value = 0.0_f64;
    cases
        .iter()
        .map(|&case| {
            if value > limit {
                value = 0.0;
            }
            value = (value + cusum_weight(case, odds_ratio)).max(0.0);
            value
        })
        .collect()
}

/// Index of the first case at which the line is above `limit`; none when it never is.
#[must_use]
pub fn first_signal(path: &[f64], limit: f64) -> Option<usize> {
    path.iter().position(|&value| value > limit)
}

/// Weights of a death and of a survivor.
pub(crate) fn weights(risk: f64, odds_ratio: f64) -> (f64, f64) {
    let scale = 1.0 - risk + odds_ratio * risk;
    ((odds_ratio / scale).ln(), (1.0 / scale).ln())
}
