//! Mean number of cases until the risk-adjusted CUSUM signals.

use super::cusum_limit::{Jump, jumps, split};

/// Cells of the grid over 0 to the limit.
const CELLS: usize = 1000;

/// Mean number of cases to a signal, cases being drawn evenly from `risks` with replacement and
/// the odds of death `odds_multiplier` times the predicted ones (1 for a false signal).
///
/// Infinite when the chart can never signal, as with no risks at all.
///
/// # Definition
/// Markov chain on a grid of 1000 cells over 0 to the limit, each jump split linearly between the
/// two nearest cells; the mean times to absorption solve x = 1 + Qx, by elimination within the
/// band of the longest jumps.
///
/// # References
/// Brook and Evans 1972 (from memory); Knoth, Wittenberg, Gan 2019 for the risk-adjusted chart.
#[must_use]
pub fn average_run_length(risks: &[f64], odds_ratio: f64, odds_multiplier: f64, limit: f64) -> f64 {
    let kernel = Kernel::new(&jumps(risks, odds_ratio, odds_multiplier), limit);
    kernel.mean_cases_from_zero()
}

/// Probability of each whole shift, one case drawn at random; shift = index − CELLS − 1.
struct Kernel {
    shifts: Vec<f64>,
}

const WIDEST: isize = CELLS as isize + 1;

impl Kernel {
    fn new(cases: &[Jump], limit: f64) -> Self {
        let cell = limit / CELLS as f64;
        let mut shifts = vec![0.0; 2 * WIDEST as usize + 1];
        let mut add = |shift: isize, probability: f64| {
            shifts[(shift.clamp(-WIDEST, WIDEST) + WIDEST) as usize] += probability;
        };
        let share = 1.0 / cases.len().max(1) as f64;
        for case in cases {
            for (weight, probability) in [
                (case.if_died, case.death),
                (case.if_survived, 1.0 - case.death),
            ] {
                let (lower, upper_share) = split(weight / cell);
                add(lower, share * probability * (1.0 - upper_share));
                add(lower + 1, share * probability * upper_share);
            }
        }
        Self { shifts }
    }

    fn probability(&self, shift: isize) -> f64 {
        self.shifts[(shift + WIDEST) as usize]
    }

    /// Solves (I − Q)x = 1 and returns x(0). The rows are diagonally dominant, so no row is
    /// exchanged and nothing grows outside the band.
    fn mean_cases_from_zero(&self) -> f64 {
        let nodes = CELLS + 1;
        let reach = |sign: isize| {
            (1..=WIDEST)
                .rev()
                .find(|&shift| self.probability(sign * shift) > 0.0)
                .unwrap_or(0) as usize
        };
        let (down, up) = (reach(-1), reach(1));
        let mut rows = self.equations(nodes);
        let mut right = vec![1.0_f64; nodes];
        for pivot in 0..nodes {
            let last_row = (pivot + down).min(nodes - 1);
            let last_column = (pivot + up).min(nodes - 1);
            let (above, below) = rows.split_at_mut(pivot + 1);
            let pivot_row = &above[pivot][pivot..=last_column];
            for (offset, row) in below[..last_row - pivot].iter_mut().enumerate() {
                let factor = row[pivot] / pivot_row[0];
                if factor != 0.0 {
                    for (to, from) in row[pivot..=last_column].iter_mut().zip(pivot_row) {
                        *to -= factor * from;
                    }
                    right[pivot + 1 + offset] -= factor * right[pivot];
                }
            }
        }
        for node in (0..nodes).rev() {
            let last_column = (node + up).min(nodes - 1);
            let known: f64 = (node + 1..=last_column)
                .map(|column| rows[node][column] * right[column])
                .sum();
            right[node] = (right[node] - known) / rows[node][node];
        }
        if right[0].is_finite() && right[0] >= 1.0 {
            right[0]
        } else {
            f64::INFINITY
        }
    }

    /// I − Q: all mass that would fall below 0 stays at 0, mass above the last node is lost.
    fn equations(&self, nodes: usize) -> Vec<Vec<f64>> {
        let mut to_zero = 0.0;
        let mut at_or_below = vec![0.0; nodes];
        for shift in -WIDEST..=0 {
            to_zero += self.probability(shift);
            if let Some(cell) = at_or_below.get_mut(shift.unsigned_abs()) {
                *cell = to_zero;
            }
        }
        (0..nodes)
            .map(|from| {
                let mut row: Vec<f64> = (0..nodes)
                    .map(|to| {
                        if to == 0 {
                            -at_or_below[from]
                        } else {
                            -self.probability(to as isize - from as isize)
                        }
                    })
                    .collect();
                row[from] += 1.0;
                row
            })
            .collect()
    }
}
