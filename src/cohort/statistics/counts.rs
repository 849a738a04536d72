//! Distributions of a count: binomial, Poisson, and the sum of unequal yes-or-no cases.
//!
//! All three are kept as a table of probabilities over the window of counts that matter, so that
//! limits, tails and critical counts are written once for all of them.

/// Probabilities below this share of the largest one are not kept in a binomial or Poisson table.
/// Counts that far out have a tail smaller than any number printed by some ninety powers of ten.
const NEGLIGIBLE_SHARE: f64 = 1e-100;

/// Probabilities below this are dropped from the ends of the table while unequal cases are added.
/// With 100,000 cases this loses less than 1e-24 in all.
const NEGLIGIBLE_MASS: f64 = 1e-30;

/// Slack for a cumulative probability that equals a limit exactly but for rounding.
const EXACT_TIE: f64 = 1e-13;

/// Probabilities of the counts `first ..`, everything outside being negligible.
#[derive(Debug, Clone, PartialEq)]
pub struct CountDistribution {
    first: usize,
    mass: Vec<f64>,
    largest: Option<usize>,
}

impl CountDistribution {
    /// Number of events among `n` cases, each with the same `probability`.
    ///
    /// None when the probability is not within 0 to 1.
    ///
    /// Built outwards from the most likely count by the ratio of neighbouring probabilities and
    /// scaled to sum to 1: no logarithm of a factorial, no cancellation, at any `n`.
    #[must_use]
    pub fn binomial(n: usize, probability: f64) -> Option<Self> {
        if !(0.0..=1.0).contains(&probability) {
            return None;
        }
        let mode = (((n + 1) as f64 * probability).floor() as usize).min(n);
        let odds = probability / (1.0 - probability);
        let up = |k: usize| {
            if k >= n {
                0.0
            } else {
                (n - k) as f64 / (k + 1) as f64 * odds
            }
        };
        let down = |k: usize| k as f64 / ((n - k + 1) as f64 * odds);
        Some(Self {
            largest: Some(n),
            ..Self::outwards(mode, up, down)
        })
    }

    /// Number of events of a Poisson process with the given mean.
    ///
    /// None when the mean is negative or not finite.
    #[must_use]
    pub fn poisson(mean: f64) -> Option<Self> {
        if !(mean.is_finite() && mean >= 0.0) {
            return None;
        }
        let mode = mean.floor() as usize;
        let up = |k: usize| mean / (k + 1) as f64;
        let down = |k: usize| k as f64 / mean;
        Some(Self::outwards(mode, up, down))
    }

    /// Number of events among cases with unequal `risks` (the Poisson-binomial distribution).
    ///
    /// None when a risk is not within 0 to 1. With no cases the count is 0.
    ///
    /// # Definition
    /// Case by case, a(k) becomes a(k)(1 − p) + a(k − 1)p. Probabilities below 1e-30 at either end
    /// are dropped, so that the table holds only the counts around the expected one and 100,000
    /// cases do not need the square of that number of steps.
    #[must_use]
    pub fn unequal(risks: &[f64]) -> Option<Self> {
        let mut distribution = Self::none_yet();
        for &risk in risks {
            distribution.add_case(risk)?;
        }
        Some(distribution)
    }

    /// The count before any case: certainly 0.
    #[must_use]
    pub fn none_yet() -> Self {
        Self {
            first: 0,
            mass: vec![1.0],
            largest: Some(0),
        }
    }

    /// Adds one case with its own `risk`; none, and nothing changed, when the risk is not within 0 to 1.
    #[must_use]
    pub fn add_case(&mut self, risk: f64) -> Option<()> {
        if !(0.0..=1.0).contains(&risk) {
            return None;
        }
        self.mass.push(0.0);
        for k in (1..self.mass.len()).rev() {
            self.mass[k] = self.mass[k] * (1.0 - risk) + self.mass[k - 1] * risk;
        }
        self.mass[0] *= 1.0 - risk;
        self.largest = self.largest.map(|n| n + 1);
        while self.mass.last().is_some_and(|&m| m < NEGLIGIBLE_MASS) {
            self.mass.pop();
        }
        let low = self
            .mass
            .iter()
            .take_while(|&&m| m < NEGLIGIBLE_MASS)
            .count();
        if low > 0 {
            self.mass.drain(..low);
            self.first += low;
        }
        Some(())
    }

    /// P(X = `count`); 0 outside the window kept.
    #[must_use]
    pub fn probability(&self, count: usize) -> f64 {
        count
            .checked_sub(self.first)
            .and_then(|k| self.mass.get(k))
            .copied()
            .unwrap_or(0.0)
    }

    /// P(X <= `count`), added from the low end; exactly 1 above the window.
    #[must_use]
    pub fn at_most(&self, count: usize) -> f64 {
        let kept = (count + 1).saturating_sub(self.first).min(self.mass.len());
        if kept == self.mass.len() {
            return 1.0;
        }
        self.mass[..kept].iter().sum()
    }

    /// P(X >= `count`), added from the high end so that a small tail keeps its digits;
    /// exactly 1 below the window.
    #[must_use]
    pub fn at_least(&self, count: usize) -> f64 {
        let from = count.saturating_sub(self.first).min(self.mass.len());
        if from == 0 {
            return 1.0;
        }
        self.mass[from..].iter().rev().sum()
    }

    /// Smallest count k with P(X <= k) >= `probability`.
    ///
    /// A cumulative probability that misses by less than 1e-13 counts as equal.
    #[must_use]
    pub fn quantile(&self, probability: f64) -> usize {
        let mut below = 0.0;
        for (k, mass) in self.mass.iter().enumerate() {
            below += mass;
            if below >= probability - EXACT_TIE {
                return self.first + k;
            }
        }
        self.first + self.mass.len().saturating_sub(1)
    }

    /// Smallest count c with P(X >= c) <= `tail`; none when no possible count is that rare.
    #[must_use]
    pub fn critical_high(&self, tail: f64) -> Option<usize> {
        let mut above = 0.0;
        let mut critical = self.first + self.mass.len();
        for (k, mass) in self.mass.iter().enumerate().rev() {
            above += mass;
            if above > tail + EXACT_TIE {
                break;
            }
            critical = self.first + k;
        }
        match self.largest {
            Some(largest) if critical > largest => None,
            _ => Some(critical),
        }
    }

    /// Largest count d with P(X <= d) <= `tail`; none when even 0 is not that rare.
    #[must_use]
    pub fn critical_low(&self, tail: f64) -> Option<usize> {
        let mut below = 0.0;
        let mut critical = self.first.checked_sub(1);
        for (k, mass) in self.mass.iter().enumerate() {
            below += mass;
            if below > tail + EXACT_TIE {
                break;
            }
            critical = Some(self.first + k);
        }
        critical
    }

    /// Table from the most likely count outwards, scaled to sum to 1.
    fn outwards(mode: usize, up: impl Fn(usize) -> f64, down: impl Fn(usize) -> f64) -> Self {
        let mut lower = Vec::new();
        let mut weight = 1.0;
        for k in (1..=mode).rev() {
            weight *= down(k);
            if weight < NEGLIGIBLE_SHARE {
                break;
            }
            lower.push(weight);
        }
        let first = mode - lower.len();
        let mut mass: Vec<f64> = lower.into_iter().rev().collect();
        mass.push(1.0);
        weight = 1.0;
        for k in mode.. {
            weight *= up(k);
            if weight.is_nan() || weight < NEGLIGIBLE_SHARE {
                break;
            }
            mass.push(weight);
        }
        let total: f64 = mass.iter().sum();
        for m in &mut mass {
            *m /= total;
        }
        Self {
            first,
            mass,
            largest: None,
        }
    }
}
