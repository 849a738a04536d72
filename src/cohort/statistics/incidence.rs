//! Cumulative incidence of an event when death competes (Aalen-Johansen).

use super::interval::Interval;
use super::survival::log_log_limits;

/// How one case's follow-up ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Last known without the event.
    Censored,
    /// The event of interest, first detected.
    Event,
    /// Death before the event.
    Competing,
}

/// How long one case was followed, and how it ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OutcomeTime {
    /// Whole days from the start; day 0 counts.
    pub day: u32,
    /// What happened on that day.
    pub outcome: Outcome,
}

/// Cumulative incidence on a day asked for, as fractions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IncidenceAt {
    /// Cumulative incidence of the event.
    pub incidence: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// 95 % log-log limits of the incidence; none at 0 and at 1.
    pub interval: Option<Interval>,
    /// Cumulative incidence of the competing death.
    pub competing: f64,
    /// Probability of neither; the three add up to 1.
    pub event_free: f64,
    /// Cases followed to that day or longer; never 0.
    pub at_risk: usize,
    /// Events up to and including that day.
    pub events: usize,
    /// Competing deaths up to and including that day.
    pub competing_events: usize,
}

/// A day on which an event or a competing death happened.
#[derive(Debug, Clone, Copy, PartialEq)]
struct EventDay {
    day: u32,
    at_risk: f64,
    events: usize,
    competing_events: usize,
    /// Event-free probability just before this day.
    free_before: f64,
    incidence: f64,
    competing: f64,
    event_free: f64,
}

/// An Aalen-Johansen estimate with one competing event.
///
/// # Definition
/// CIF(t) = Σ S(t−)·d/n over the days up to t, S being the Kaplan-Meier of either event; events
/// come before the censorings of the same day. Variance of the Greenwood type:
/// Σ(I(t) − I)²·d/(n(n − d)) + Σ S²(n − d₁)d₁/n³ − 2Σ(I(t) − I)·S·d₁/n², the first term left out
/// where everybody at risk has an event. Limits: I^exp(±1.96·SE/(I·|ln I|)).
///
/// # References
/// Aalen and Johansen 1978 (from memory); Austin, Lee, Fine 2016, Circulation 133:601-609.
#[derive(Debug, Clone, PartialEq)]
pub struct Incidence {
    days: Vec<u32>,
    event_days: Vec<EventDay>,
}

impl Incidence {
    /// The estimate from these cases; none when there are none. Their order does not matter.
    #[must_use]
    pub fn new(outcomes: &[OutcomeTime]) -> Option<Self> {
        if outcomes.is_empty() {
            return None;
        }
        let mut sorted = outcomes.to_vec();
        sorted.sort_by_key(|o| o.day);
        let mut event_days = Vec::new();
        let mut left = sorted.len();
        let (mut free, mut incidence, mut competing) = (1.0, 0.0, 0.0);
        for same_day in sorted.chunk_by(|a, b| a.day == b.day) {
            let count = |outcome| same_day.iter().filter(|o| o.outcome == outcome).count();
            let (events, deaths) = (count(Outcome::Event), count(Outcome::Competing));
            if events + deaths > 0 {
                let at_risk = left as f64;
                let free_before = free;
                incidence += free_before * events as f64 / at_risk;
                competing += free_before * deaths as f64 / at_risk;
                free *= 1.0 - (events + deaths) as f64 / at_risk;
                event_days.push(EventDay {
                    day: same_day[0].day,
                    at_risk,
                    events,
                    competing_events: deaths,
                    free_before,
                    incidence,
                    competing,
                    event_free: free,
                });
            }
            left -= same_day.len();
        }
        Some(Self {
            days: sorted.iter().map(|o| o.day).collect(),
            event_days,
        })
    }

    /// Number of cases.
    #[must_use]
    pub fn n(&self) -> usize {
        self.days.len()
    }

    /// The days on which the event or a competing death happened, in order: where the curve steps.
    pub fn step_days(&self) -> impl Iterator<Item = u32> + '_ {
        self.event_days.iter().map(|step| step.day)
    }

    /// Number of cases followed to `day` or longer.
    #[must_use]
    pub fn at_risk(&self, day: u32) -> usize {
        self.days.len() - self.days.partition_point(|&d| d < day)
    }

    /// Last day on which at least `least` cases are at risk; none when there never are.
    #[must_use]
    pub fn shown_until(&self, least: usize) -> Option<u32> {
        let index = self.days.len().checked_sub(least.max(1))?;
        Some(self.days[index])
    }

    /// Cumulative incidence on `day`; none when nobody was followed that long.
    #[must_use]
    pub fn at(&self, day: u32) -> Option<IncidenceAt> {
        let at_risk = self.at_risk(day);
        if at_risk == 0 {
            return None;
        }
        let passed = self.event_days.partition_point(|step| step.day <= day);
        let steps = &self.event_days[..passed];
        let events = steps.iter().map(|step| step.events).sum();
        let (incidence, competing, event_free) = steps.last().map_or((0.0, 0.0, 1.0), |s| {
            (s.incidence, s.competing, s.event_free)
        });
        let standard_error = variance(steps, incidence).max(0.0).sqrt();
        // A certain event is reached only by rounding-free sums when nobody is left, so the
        // event-free probability decides, not a comparison with 1.
        let certain = event_free == 0.0 && competing == 0.0;
        Some(IncidenceAt {
            incidence: if certain { 1.0 } else { incidence },
            standard_error,
            interval: (events > 0 && !certain)
                .then(|| log_log_limits(incidence, standard_error / incidence)),
            competing,
            event_free,
            at_risk,
            events,
            competing_events: steps.iter().map(|step| step.competing_events).sum(),
        })
    }
}

fn variance(steps: &[EventDay], incidence: f64) -> f64 {
    let mut sum = 0.0;
    for step in steps {
        let n = step.at_risk;
        let any = (step.events + step.competing_events) as f64;
        let events = step.events as f64;
        let later = incidence - step.incidence;
        if n > any {
            sum += later * later * any / (n * (n - any));
        }
        sum += step.free_before * step.free_before * (n - events) * events / (n * n * n);
        sum -= 2.0 * later * step.free_before * events / (n * n);
    }
    sum
}
