//! The limit of the risk-adjusted CUSUM, from the centre's own case mix.

use super::cusum::{ODDS_DOUBLED, weights};
use super::cusum_run_length::average_run_length;

/// Cells of the grid on which the mass of the chart is followed.
const CELLS: usize = 1000;

/// No limit is drawn for fewer cases in the window.
pub const LIMIT_FROM_CASES: usize = 20;

/// No limit is drawn for fewer expected deaths in the window.
pub const LIMIT_FROM_EXPECTED: f64 = 1.0;

/// Added to ln R for the least limit, so that one death alone cannot signal.
const ABOVE_ONE_DEATH: f64 = 0.01;

/// Where the search for a limit starts.
const SEARCH_FROM: f64 = 0.2;
const SEARCH_TO: f64 = 9.0;

/// The limit is found to this width.
const LIMIT_WIDTH: f64 = 1e-10;

/// False-signal probability over the window of the two limits drawn: alert and alarm.
pub const ALERT: f64 = 0.05;
/// See [`ALERT`].
pub const ALARM: f64 = 0.01;

/// A limit with what it can and cannot see.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignalLimit {
    /// The limit h: a value above it is a signal.
    pub limit: f64,
    /// Probability of any signal within the window when every risk is right, as asked for.
    pub false_signal: f64,
    /// Mean number of cases to a false signal with this limit and case mix.
    pub cases_to_false_signal: f64,
    /// Probability of a signal within the window if the odds of death were doubled.
    pub power_doubled: f64,
    /// The same if they were tripled.
    pub power_tripled: f64,
}

/// Why no limit is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoLimit {
    /// Fewer than [`LIMIT_FROM_CASES`] cases.
    TooFewCases,
    /// Fewer than [`LIMIT_FROM_EXPECTED`] expected deaths: line without limit.
    TooFewExpected,
}

/// The limit of a chart for doubled odds, for the window's own `risks` in their order.
///
/// `false_signal` is the probability of any signal within the window when all risks are right:
/// [`ALERT`] or [`ALARM`]. Risks must lie within 0 to 1. The limit is never below ln 2 + 0.01.
///
/// # Errors
/// [`NoLimit`] when the window holds too few cases or too few expected deaths.
///
/// # References
/// Steiner et al. 2000; limits for the centre's own mix: IJQHC 2015;27:31-36, Wittenberg 2022,
/// SMMR 31:779-800.
pub fn signal_limit(risks: &[f64], false_signal: f64) -> Result<SignalLimit, NoLimit> {
    if risks.len() < LIMIT_FROM_CASES {
        return Err(NoLimit::TooFewCases);
    }
    if risks.iter().sum::<f64>() < LIMIT_FROM_EXPECTED {
        return Err(NoLimit::TooFewExpected);
    }
    let limit = limit_for(risks, ODDS_DOUBLED, false_signal).max(least_limit(ODDS_DOUBLED));
    Ok(SignalLimit {
        limit,
        false_signal,
        cases_to_false_signal: average_run_length(risks, ODDS_DOUBLED, 1.0, limit),
        power_doubled: signal_probability(risks, ODDS_DOUBLED, 2.0, limit),
        power_tripled: signal_probability(risks, ODDS_DOUBLED, 3.0, limit),
    })
}

/// Least limit at which one death alone does not signal: ln R + 0.01 (0.703 for doubled odds).
#[must_use]
pub fn least_limit(odds_ratio: f64) -> f64 {
    odds_ratio.ln().max(0.0) + ABOVE_ONE_DEATH
}

/// The limit at which the chart signals with probability `false_signal` within the window, before
/// the least limit is applied.
///
/// Found by a bracketing search on the logarithm of the probability, to 1e-10: the value that
/// halving the range 36 times would give, in fewer steps.
#[must_use]
pub fn limit_for(risks: &[f64], odds_ratio: f64, false_signal: f64) -> f64 {
    let cases = jumps(risks, odds_ratio, 1.0);
    let excess = |limit: f64| (crossing(&cases, limit) / false_signal).ln();
    let mut low = SEARCH_FROM;
    let mut at_low = excess(low);
    if at_low <= 0.0 {
        return low;
    }
    let mut high = SEARCH_TO;
    let mut at_high = excess(high);
    while at_high > 0.0 {
        (low, at_low) = (high, at_high);
        high *= 2.0;
        at_high = excess(high);
    }
    // Illinois rule: a side kept twice counts half; a step that does not halve the bracket in
    // three is followed by a halving.
    let mut kept_low = false;
    let mut kept_high = false;
    let mut slow = 0;
    while high - low > LIMIT_WIDTH {
        let width = high - low;
        let secant = low + width * at_low / (at_low - at_high);
        let inside = secant.is_finite() && secant > low && secant < high;
        let trial = if inside && slow < 3 {
            // Kept off the ends, so that the far end can move as well.
            secant.clamp(low + LIMIT_WIDTH / 2.0, high - LIMIT_WIDTH / 2.0)
        } else {
            slow = 0;
            low + width / 2.0
        };
        let at_trial = excess(trial);
        if at_trial > 0.0 {
            (low, at_low) = (trial, at_trial);
            if kept_high {
                at_high /= 2.0;
            }
            (kept_low, kept_high) = (false, true);
        } else {
            (high, at_high) = (trial, at_trial);
            if kept_low {
                at_low /= 2.0;
            }
            (kept_low, kept_high) = (true, false);
        }
        slow = if high - low > width / 2.0 {
            slow + 1
        } else {
            0
        };
    }
    high
}

/// Probability that the chart goes above `limit` within the window if the odds of death are
/// `odds_multiplier` times the predicted ones (1 for a false signal).
///
/// # Definition
/// The mass of S is followed on a grid of 1000 cells over 0 to the limit; each jump is split
/// linearly between the two nearest cells, mass below 0 stays at 0, mass above the limit is
/// absorbed. No random numbers: the same risks give the same bytes.
#[must_use]
pub fn signal_probability(risks: &[f64], odds_ratio: f64, odds_multiplier: f64, limit: f64) -> f64 {
    crossing(&jumps(risks, odds_ratio, odds_multiplier), limit)
}

/// The probability after each case instead of after the last one.
#[must_use]
pub fn signal_probability_by_case(
    risks: &[f64],
    odds_ratio: f64,
    odds_multiplier: f64,
    limit: f64,
) -> Vec<f64> {
    let mut grid = Grid::new(limit);
    jumps(risks, odds_ratio, odds_multiplier)
        .iter()
        .map(|case| {
            grid.step(case);
            grid.absorbed
        })
        .collect()
}

/// One case as the chart sees it.
pub(crate) struct Jump {
    /// Probability of death, the odds multiplier applied.
    pub(crate) death: f64,
    /// Weight of a death.
    pub(crate) if_died: f64,
    /// Weight of a survivor.
    pub(crate) if_survived: f64,
}

/// The weights follow the predicted risk, the deaths the risk with its odds multiplied.
pub(crate) fn jumps(risks: &[f64], odds_ratio: f64, odds_multiplier: f64) -> Vec<Jump> {
    risks
        .iter()
        .map(|&risk| {
            let (if_died, if_survived) = weights(risk, odds_ratio);
            Jump {
                death: odds_multiplier * risk / (1.0 - risk + odds_multiplier * risk),
                if_died,
                if_survived,
            }
        })
        .collect()
}

fn crossing(cases: &[Jump], limit: f64) -> f64 {
    let mut grid = Grid::new(limit);
    for case in cases {
        grid.step(case);
    }
    grid.absorbed
}

/// A jump of `cells` (not whole), split between the two nearest whole shifts so that its mean is
/// kept: the lower shift and the share of the upper one.
pub(crate) fn split(cells: f64) -> (isize, f64) {
    let lower = cells.floor();
    (lower as isize, cells - lower)
}

/// Probability mass of S on the nodes 0 ..= CELLS, with a margin of zeros on both sides so that a
/// shift never needs a bound check.
struct Grid {
    cell: f64,
    now: Vec<f64>,
    next: Vec<f64>,
    absorbed: f64,
}

const NODES: usize = CELLS + 1;
const MARGIN: usize = NODES + 1;

impl Grid {
    fn new(limit: f64) -> Self {
        let mut now = vec![0.0; NODES + 2 * MARGIN];
        now[MARGIN] = 1.0;
        Self {
            cell: limit / CELLS as f64,
            next: vec![0.0; now.len()],
            now,
            absorbed: 0.0,
        }
    }

    fn step(&mut self, case: &Jump) {
        let shares = self.shares(case);
        let source = |shift: isize| {
            let start = MARGIN.saturating_add_signed(-shift);
            &self.now[start..start + NODES]
        };
        let [a, b, c, d] = shares.map(|(shift, _)| source(shift));
        let [wa, wb, wc, wd] = shares.map(|(_, weight)| weight);
        let target = &mut self.next[MARGIN..MARGIN + NODES];
        for ((((to, a), b), c), d) in target.iter_mut().zip(a).zip(b).zip(c).zip(d) {
            *to = wa * a + wb * b + wc * c + wd * d;
        }
        let nodes = &self.now[MARGIN..MARGIN + NODES];
        let mut at_zero = 0.0;
        for (shift, weight) in shares {
            let beyond = shift.unsigned_abs().min(NODES);
            if shift < 0 {
                at_zero += weight * nodes[..beyond].iter().sum::<f64>();
            } else {
                self.absorbed += weight * nodes[NODES - beyond..].iter().sum::<f64>();
            }
        }
        target[0] += at_zero;
        std::mem::swap(&mut self.now, &mut self.next);
    }

    /// The four whole shifts of a case with their probabilities; shifts beyond the grid all mean
    /// the same and are cut to its width.
    fn shares(&self, case: &Jump) -> [(isize, f64); 4] {
        let widest = MARGIN as isize;
        let (died, died_upper) = split(case.if_died / self.cell);
        let (lived, lived_upper) = split(case.if_survived / self.cell);
        let survival = 1.0 - case.death;
        [
            (died, case.death * (1.0 - died_upper)),
            (died + 1, case.death * died_upper),
            (lived, survival * (1.0 - lived_upper)),
            (lived + 1, survival * lived_upper),
        ]
        .map(|(shift, weight)| (shift.clamp(-widest, widest), weight))
    }
}
