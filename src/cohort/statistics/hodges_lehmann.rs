//! The typical change: the median of all pairwise averages, with an interval from ranks.

use super::describe::sorted;
use super::interval::{Interval, Z95};

/// The fewest differences for which a 95 % interval exists: 2/2^n is above 0.05 below it.
pub const RANK_INTERVAL_FROM: usize = 6;

/// Up to this many differences the rank distribution is counted exactly; above, it is taken as
/// normal with continuity correction, because counting grows with the cube of the number.
pub const EXACT_RANKS_UP_TO: usize = 300;

/// Hodges-Lehmann estimate of paired differences, in their unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HodgesLehmann {
    /// Number of differences, zeros included.
    pub n: usize,
    /// Median of the n(n + 1)/2 averages of two differences (each also with itself).
    pub estimate: f64,
    /// 95 % limits; none below [`RANK_INTERVAL_FROM`] differences.
    pub interval: Option<Interval>,
    /// Whether the ranks were counted exactly.
    pub exact: bool,
}

/// Hodges-Lehmann estimate and limits of differences after − before.
///
/// None for no differences or one that is not finite. Zero differences are kept. With ties the
/// interval is wider than it need be. The order of the differences does not matter.
///
/// # Definition
/// With W the sorted Walsh averages, N their number and k the smallest whole number with
/// P(rank sum <= k) >= 0.025 under the signed-rank null, at least 1: limits W(k) and W(N + 1 − k).
///
/// # References
/// Hodges and Lehmann 1963 (from memory).
#[must_use]
pub fn hodges_lehmann(differences: &[f64]) -> Option<HodgesLehmann> {
    let sorted = sorted(differences)?;
    let n = sorted.len();
    let walsh = WalshAverages { sorted };
    let total = walsh.total();
    let estimate = if total % 2 == 1 {
        walsh.smallest(total.div_ceil(2))
    } else {
        (walsh.smallest(total / 2) + walsh.smallest(total / 2 + 1)) / 2.0
    };
    let exact = n <= EXACT_RANKS_UP_TO;
    let interval = (n >= RANK_INTERVAL_FROM).then(|| {
        let k = if exact {
            exact_rank_limit(n)
        } else {
            normal_rank_limit(n)
        };
        Interval {
            low: walsh.smallest(k),
            high: walsh.smallest(total + 1 - k),
        }
    });
    Some(HodgesLehmann {
        n,
        estimate,
        interval,
        exact,
    })
}

/// Smallest k, at least 1, with P(W <= k) >= 0.025, the subsets of the ranks 1..n counted one
/// rank at a time. Halving at each rank keeps probabilities instead of counts.
fn exact_rank_limit(n: usize) -> u64 {
    let half = n * (n + 1) / 4;
    let mut probability = vec![0.0_f64; half + 1];
    probability[0] = 1.0;
    let mut highest = 0;
    for rank in 1..=n {
        highest = (highest + rank).min(half);
        for sum in (0..=highest).rev() {
            let with_rank = if sum >= rank {
                probability[sum - rank]
            } else {
                0.0
            };
            probability[sum] = (probability[sum] + with_rank) / 2.0;
        }
    }
    let mut below = 0.0;
    let mut k = 0;
    for p in probability {
        below += p;
        if below >= 0.025 {
            break;
        }
        k += 1;
    }
    k.max(1)
}

/// The same from the normal approximation: mean n(n+1)/4, variance n(n+1)(2n+1)/24, half a rank
/// of continuity correction.
fn normal_rank_limit(n: usize) -> u64 {
    let n = n as f64;
    let mean = n * (n + 1.0) / 4.0;
    let sd = (n * (n + 1.0) * (2.0 * n + 1.0) / 24.0).sqrt();
    ((mean - Z95 * sd - 0.5).ceil() as u64).max(1)
}

/// All averages of two differences, never listed: n = 100,000 has five thousand million of them.
struct WalshAverages {
    sorted: Vec<f64>,
}

impl WalshAverages {
    fn total(&self) -> u64 {
        let n = self.sorted.len() as u64;
        n * (n + 1) / 2
    }

    /// The `rank`-th smallest average (from 1): halving over the representable numbers for the
    /// smallest sum that at least `rank` sums do not exceed, so the answer is one of the averages.
    fn smallest(&self, rank: u64) -> f64 {
        let mut low = order_key(2.0 * self.sorted[0]);
        let mut high = order_key(2.0 * self.sorted[self.sorted.len() - 1]);
        while low < high {
            let middle = low + (high - low) / 2;
            if self.sums_up_to(from_order_key(middle)) >= rank {
                high = middle;
            } else {
                low = middle + 1;
            }
        }
        // Adding 0 turns a negative zero into a plain one.
        from_order_key(low) / 2.0 + 0.0
    }

    /// Number of pairs i <= j with x(i) + x(j) <= `sum`: one pointer from each end.
    fn sums_up_to(&self, sum: f64) -> u64 {
        let x = &self.sorted;
        let mut end = x.len();
        let mut pairs = 0;
        for (i, &xi) in x.iter().enumerate() {
            while end > i && xi + x[end - 1] > sum {
                end -= 1;
            }
            if end <= i {
                break;
            }
            pairs += (end - i) as u64;
        }
        pairs
    }
}

/// Maps numbers to integers in the same order.
fn order_key(value: f64) -> u64 {
    let bits = value.to_bits();
    if bits >> 63 == 1 {
        !bits
    } else {
        bits | (1 << 63)
    }
}

fn from_order_key(key: u64) -> f64 {
    f64::from_bits(if key >> 63 == 1 {
        key & !(1 << 63)
    } else {
        !key
    })
}
