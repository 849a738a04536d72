//! Kaplan-Meier survival with Greenwood's error and log-log limits.

use super::interval::{Interval, Z95};

/// Fewer patients at risk than this, and the curve is no longer drawn.
pub const SHOWN_FROM_AT_RISK: usize = 10;

/// Slack when a probability is compared with one half.
const HALF_TIE: f64 = 1e-9;

/// How long one patient was followed, and how it ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FollowUp {
    /// Whole days from the start; day 0 is the day of the procedure and counts.
    pub day: u32,
    /// True for an event (death) on that day, false for the last day known without one.
    pub event: bool,
}

/// One distinct day on which somebody died or was last seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalStep {
    /// The day.
    pub day: u32,
    /// Patients followed to this day or longer.
    pub at_risk: usize,
    /// Events on this day; they come before the censorings of the same day.
    pub events: usize,
    /// Patients last seen on this day.
    pub censored: usize,
    /// Survival after this day's events, a fraction.
    pub survival: f64,
    /// Greenwood's standard error; none once survival is 0.
    pub standard_error: Option<f64>,
    /// 95 % log-log limits; none before the first event and once survival is 0.
    pub interval: Option<Interval>,
}

/// Survival on a day asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurvivalAt {
    /// Survival to the end of that day, a fraction.
    pub survival: f64,
    /// 95 % log-log limits; none at 0 and at 1.
    pub interval: Option<Interval>,
    /// Patients followed to that day or longer; never 0.
    pub at_risk: usize,
    /// Events up to and including that day.
    pub events: usize,
}

/// Median survival in days with its 95 % limits; none where it is not reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MedianTime {
    /// First day on which survival is one half or less. Where it stays at exactly one half for a
    /// while and then falls, the middle of that stretch.
    pub estimate: Option<f64>,
    /// First day on which the lower limit is one half or less.
    pub low: Option<f64>,
    /// First day on which the upper limit is one half or less.
    pub high: Option<f64>,
}

/// A Kaplan-Meier curve.
///
/// # Definition
/// S(t) = Π(1 − d/n) over the distinct days up to t, n being those followed to that day or longer.
/// Greenwood: G = Σ d/(n(n − d)), SE = S√G. Limits: S^exp(±1.96·√G/|ln S|).
///
/// # References
/// Kaplan and Meier 1958; Greenwood 1926; Kalbfleisch and Prentice; Brookmeyer and Crowley 1982
/// (all from memory).
#[derive(Debug, Clone, PartialEq)]
pub struct Survival {
    n: usize,
    follow_ups: Vec<FollowUp>,
    steps: Vec<SurvivalStep>,
}

impl Survival {
    /// The curve of these patients; none when there are none. Their order does not matter.
    #[must_use]
    pub fn new(follow_ups: &[FollowUp]) -> Option<Self> {
        if follow_ups.is_empty() {
            return None;
        }
        let mut sorted = follow_ups.to_vec();
        sorted.sort_by_key(|f| f.day);
        let mut steps = Vec::new();
        let mut at_risk = sorted.len();
        let (mut survival, mut greenwood, mut any_event) = (1.0, 0.0, false);
        for same_day in sorted.chunk_by(|a, b| a.day == b.day) {
            let events = same_day.iter().filter(|f| f.event).count();
            let censored = same_day.len() - events;
            any_event |= events > 0;
            survival *= 1.0 - events as f64 / at_risk as f64;
            let survivors = at_risk - events;
            let defined = survivors > 0;
            if defined {
                greenwood += events as f64 / (at_risk as f64 * survivors as f64);
            }
            steps.push(SurvivalStep {
                day: same_day[0].day,
                at_risk,
                events,
                censored,
                survival,
                standard_error: defined.then(|| survival * greenwood.sqrt()),
                interval: (defined && any_event)
                    .then(|| log_log_limits(survival, greenwood.sqrt())),
            });
            at_risk -= same_day.len();
        }
        Some(Self {
            n: follow_ups.len(),
            follow_ups: sorted,
            steps,
        })
    }

    /// Number of patients.
    #[must_use]
    pub fn n(&self) -> usize {
        self.n
    }

    /// The distinct days in order; before the first of them survival is 1.
    #[must_use]
    pub fn steps(&self) -> &[SurvivalStep] {
        &self.steps
    }

    /// Survival on `day`; none when nobody was followed that long: a curve is not extended.
    #[must_use]
    pub fn at(&self, day: u32) -> Option<SurvivalAt> {
        let at_risk = self.at_risk(day);
        if at_risk == 0 {
            return None;
        }
        let passed = self.steps.partition_point(|step| step.day <= day);
        let last = passed.checked_sub(1).map(|i| &self.steps[i]);
        Some(SurvivalAt {
            survival: last.map_or(1.0, |step| step.survival),
            interval: last.and_then(|step| step.interval),
            at_risk,
            events: self.steps[..passed].iter().map(|step| step.events).sum(),
        })
    }

    /// Number of patients followed to `day` or longer.
    #[must_use]
    pub fn at_risk(&self, day: u32) -> usize {
        self.n - self.follow_ups.partition_point(|f| f.day < day)
    }

    /// Last day on which at least `least` patients are at risk, for ending a drawn curve
    /// ([`SHOWN_FROM_AT_RISK`], or the disclosure threshold). None when there never are.
    #[must_use]
    pub fn shown_until(&self, least: usize) -> Option<u32> {
        let index = self.n.checked_sub(least.max(1))?;
        Some(self.follow_ups[index].day)
    }

    /// Median survival with its limits.
    #[must_use]
    pub fn median(&self) -> MedianTime {
        let first = |value: fn(&Interval) -> f64| {
            self.steps
                .iter()
                .find(|s| s.interval.is_some_and(|i| value(&i) <= 0.5 + HALF_TIE))
                .map(|s| f64::from(s.day))
        };
        MedianTime {
            estimate: self.median_estimate(),
            low: first(|interval| interval.low),
            high: first(|interval| interval.high),
        }
    }

    fn median_estimate(&self) -> Option<f64> {
        let half = self
            .steps
            .iter()
            .find(|step| step.survival <= 0.5 + HALF_TIE)?;
        let day = f64::from(half.day);
        if (half.survival - 0.5).abs() > HALF_TIE {
            return Some(day);
        }
        let falls = self
            .steps
            .iter()
            .find(|step| step.survival < half.survival - HALF_TIE);
        Some(falls.map_or(day, |step| f64::midpoint(day, f64::from(step.day))))
    }

    /// The reverse curve, events and censorings swapped: its median is the median follow-up.
    #[must_use]
    pub fn reverse(&self) -> Self {
        let swapped: Vec<FollowUp> = self
            .follow_ups
            .iter()
            .map(|f| FollowUp {
                day: f.day,
                event: !f.event,
            })
            .collect();
        // Not empty, as this curve is not.
        Self::new(&swapped).unwrap_or_else(|| self.clone())
    }
}

/// Limits p^exp(±z·e/|ln p|) of a probability strictly between 0 and 1, `e` being the standard
/// error of ln p.
pub(crate) fn log_log_limits(probability: f64, log_error: f64) -> Interval {
    let spread = Z95 * log_error / probability.ln().abs();
    Interval {
        low: probability.powf(spread.exp()),
        high: probability.powf((-spread).exp()),
    }
}
