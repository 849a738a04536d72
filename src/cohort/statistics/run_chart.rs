//! Quarter by quarter: run chart rules and exact limits per quarter.

use super::counts::CountDistribution;
use super::describe::median;
use super::funnel::{CriticalCounts, critical_counts_at};

/// Below this many useful points the chart is drawn and nothing is said.
pub const RULES_FROM_POINTS: usize = 10;

/// Tail on each side of the limits of one quarter, that of three standard deviations.
pub const QUARTER_TAIL: f64 = 0.00135;

/// A run chart read by its two rules.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunChart {
    /// The centre line: median of the plotted points, in their unit.
    pub median: f64,
    /// Points not on the line.
    pub useful: usize,
    /// Longest run of useful points on one side of the line.
    pub longest_run: usize,
    /// Number of times the useful points cross the line.
    pub crossings: usize,
    /// The verdict; none below [`RULES_FROM_POINTS`] useful points.
    pub rules: Option<RunRules>,
}

/// What the rules say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RunRules {
    /// Longest run that chance allows.
    pub longest_allowed: usize,
    /// Fewest crossings that chance allows.
    pub crossings_needed: usize,
    /// A run longer than allowed.
    pub shift: bool,
    /// Fewer crossings than needed.
    pub few_crossings: bool,
}

impl RunRules {
    /// Whether either rule signals.
    #[must_use]
    pub fn signal(&self) -> bool {
        self.shift || self.few_crossings
    }
}

/// Reads a run chart from `points` in order of time. None for no points or one that is not finite.
///
/// # Definition
/// Points on the median are left out. Shift: longest run > round(log2 n) + 3. Crossings: fewer
/// than the 5 % quantile of Binomial(n − 1, ½).
///
/// # References
/// Anhøj and Olesen 2014, PLoS ONE 9:e113825.
#[must_use]
pub fn run_chart(points: &[f64]) -> Option<RunChart> {
    let median = median(points)?;
    let sides: Vec<bool> = points
        .iter()
        .filter(|&&y| y != median)
        .map(|&y| y > median)
        .collect();
    let useful = sides.len();
    let longest_run = sides.chunk_by(|a, b| a == b).map(<[bool]>::len).max();
    let longest_run = longest_run.unwrap_or(0);
    let crossings = sides.chunk_by(|a, b| a == b).count().saturating_sub(1);
    let rules = (useful >= RULES_FROM_POINTS).then(|| {
        let (longest_allowed, crossings_needed) = run_limits(useful);
        RunRules {
            longest_allowed,
            crossings_needed,
            shift: longest_run > longest_allowed,
            few_crossings: crossings < crossings_needed,
        }
    });
    Some(RunChart {
        median,
        useful,
        longest_run,
        crossings,
        rules,
    })
}

/// Longest run allowed and fewest crossings needed for a number of useful points; 0 and 0 for none.
#[must_use]
pub fn run_limits(useful: usize) -> (usize, usize) {
    let Some(gaps) = useful.checked_sub(1) else {
        return (0, 0);
    };
    let longest = (useful as f64).log2().round() as usize + 3;
    let crossings = CountDistribution::binomial(gaps, 0.5).map_or(0, |x| x.quantile(0.05));
    (longest, crossings)
}

/// One quarter against the centre's own baseline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct QuarterLimits {
    /// Counts from which the quarter is outside, [`QUARTER_TAIL`] on each side.
    pub critical: CriticalCounts,
    /// Height of the lower line as a fraction; none when no count is low enough.
    pub lower_line: Option<f64>,
    /// Height of the upper line as a fraction; none when no count is high enough.
    pub upper_line: Option<f64>,
}

/// Exact binomial limits of a quarter with `cases` cases, for a `baseline` rate as a fraction.
/// None when there are no cases or the baseline is not within 0 to 1.
#[must_use]
pub fn quarter_limits(cases: usize, baseline: f64) -> Option<QuarterLimits> {
    if cases == 0 {
        return None;
    }
    let expected = CountDistribution::binomial(cases, baseline)?;
    let critical = critical_counts_at(&expected, QUARTER_TAIL);
    Some(QuarterLimits {
        critical,
        lower_line: critical.lower_line(cases as f64),
        upper_line: critical.upper_line(cases as f64),
    })
}

/// Baseline rate of earlier quarters, each `(count, of)`: Σ counts / Σ cases. The caller passes
/// the four quarters before the one under audit. None when they hold no case.
#[must_use]
pub fn baseline_rate(quarters: &[(usize, usize)]) -> Option<f64> {
    let cases: usize = quarters.iter().map(|quarter| quarter.1).sum();
    let events: usize = quarters.iter().map(|quarter| quarter.0).sum();
    (cases > 0).then(|| events as f64 / cases as f64)
}
