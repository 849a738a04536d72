//! Calendar quarters: how many cases, and how often a complication.

use jiff::civil::Date;

use super::audit_case::AuditCase;
use super::headline::{counts, mature_verdict};
use super::proportion::{Counts, Verdict};
use super::statistics::{QuarterLimits, RunChart, baseline_rate, quarter_limits, run_chart};
use crate::assess::bands::at_least;
use crate::date::plus_days;

/// Complications followed quarter by quarter, with their words.
pub const FOLLOWED: [(&str, &str); 6] = [
    ("death_30d", "Death to day 30"),
    ("stroke_30d", "Stroke to day 30"),
    ("major_vascular_complication", "Major vascular complication"),
    ("bleeding_type_2_to_4", "Bleeding type 2 to 4"),
    ("new_pacemaker", "New pacemaker"),
    (
        "regurgitation_moderate_or_worse",
        "Regurgitation moderate or more",
    ),
];

/// Quarters drawn at most; the latest of more.
pub const MOST_QUARTERS: usize = 16;

/// No limit from earlier quarters with fewer known cases (house choice).
pub const BASELINE_FROM_CASES: usize = 20;

/// No limit for a quarter in which fewer events are expected: such rare events have no rate to watch.
const LIMIT_FROM_EXPECTED: f64 = 1.0;

/// Most gaps between events that are listed; the latest of more.
pub const GAPS_LISTED: usize = 8;

/// A rate of a quarter with fewer known cases is not drawn.
pub const RATE_FROM_CASES: usize = 10;

/// One calendar quarter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quarter {
    /// Year.
    pub year: i16,
    /// 1 to 4.
    pub quarter: i8,
    /// Cases.
    pub cases: usize,
    /// Counts of each measure of [`FOLLOWED`].
    pub counts: [Counts; FOLLOWED.len()],
}

impl Quarter {
    /// `2026 Q3`.
    pub fn label(&self) -> String {
        format!("{} Q{}", self.year, self.quarter)
    }

    /// Whether it goes on after this day.
    pub fn goes_on_after(&self, day: Date) -> bool {
        let last = i32::from(self.year) * 4 + i32::from(self.quarter) - 1;
        plus_days(day, 1).is_some_and(|next| ordinal(next) <= last)
    }
}

/// The quarters since the start, without gaps, up to the last with a case.
#[derive(Clone, Debug, PartialEq)]
pub struct Quarters {
    /// In order of time.
    pub quarters: Vec<Quarter>,
    /// Quarters before the first shown.
    pub earlier: usize,
    /// Quarters without a case behind the last shown that were over when the counting ended. They are said and not drawn:
    /// what the last quarter is held against is the last in which something was done.
    pub empty_since: usize,
    /// Run chart of the number of cases.
    pub volume: Option<RunChart>,
    /// For each measure, rate of the four quarters before the last, as a fraction; `None` where they hold too few.
    pub baselines: [Option<f64>; FOLLOWED.len()],
    /// For each measure, the known cases between its events since the start.
    pub gaps: [Gaps; FOLLOWED.len()],
}

/// Known cases without an event, from one event to the next.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Gaps {
    /// Before each event, since the one before it or the start.
    pub before_each: Vec<usize>,
    /// Since the last event, or the start.
    pub since_last: usize,
}

impl Gaps {
    /// Of verdicts in the order of the procedures; what is not known, or does not apply, is not counted.
    pub fn of(verdicts: impl IntoIterator<Item = Verdict>) -> Self {
        let mut gaps = Self::default();
        for verdict in verdicts {
            match verdict {
                Verdict::Yes => gaps.before_each.push(std::mem::take(&mut gaps.since_last)),
                Verdict::No => gaps.since_last += 1,
                Verdict::Unknown | Verdict::NotApplicable => {}
            }
        }
        gaps
    }
}

fn ordinal(date: Date) -> i32 {
    i32::from(date.year()) * 4 + (i32::from(date.month()) - 1) / 3
}

impl Quarters {
    /// Of these cases, counted to the day `to`.
    pub fn of(cases: &[AuditCase<'_>], selection: &[usize], to: Date) -> Self {
        let mut by_quarter: std::collections::BTreeMap<i32, Vec<usize>> = Default::default();
        for &case in selection {
            by_quarter
                .entry(ordinal(cases[case].procedure_date()))
                .or_default()
                .push(case);
        }
        let first = by_quarter.keys().next().copied();
        let over = plus_days(to, 1).map_or(ordinal(to), |next| ordinal(next) - 1);
        let last = by_quarter.keys().next_back().copied();
        let all: Vec<Quarter> = match first.zip(last) {
            None => Vec::new(),
            Some((first, last)) => (first..=last)
                .map(|ordinal| {
                    let inside = by_quarter.get(&ordinal).map_or(&[][..], Vec::as_slice);
                    Quarter {
                        year: (ordinal / 4) as i16,
                        quarter: (ordinal % 4) as i8 + 1,
                        cases: inside.len(),
                        counts: FOLLOWED.map(|(measure, _)| counts(measure, cases, inside)),
                    }
                })
                .collect(),
        };
        let volumes: Vec<f64> = all.iter().map(|quarter| quarter.cases as f64).collect();
        let earlier = all.len().saturating_sub(MOST_QUARTERS);
        let mut quarters = Self {
            volume: run_chart(&volumes),
            quarters: all[earlier..].to_vec(),
            earlier,
            empty_since: last.map_or(0, |last| usize::try_from(over - last).unwrap_or(0)),
            baselines: [None; FOLLOWED.len()],
            gaps: FOLLOWED.map(|(measure, _)| {
                Gaps::of(
                    selection
                        .iter()
                        .filter_map(|&case| mature_verdict(measure, &cases[case])),
                )
            }),
        };
        for measure in 0..FOLLOWED.len() {
            quarters.baselines[measure] = quarters.baseline(measure);
        }
        quarters
    }

    fn baseline(&self, measure: usize) -> Option<f64> {
        let before_last = self.quarters.len().checked_sub(1)?;
        let four: Vec<(usize, usize)> = self.quarters[before_last.saturating_sub(4)..before_last]
            .iter()
            .map(|quarter| (quarter.counts[measure].yes, quarter.counts[measure].known()))
            .collect();
        let known: usize = four.iter().map(|(_, known)| known).sum();
        baseline_rate(&four).filter(|_| known >= BASELINE_FROM_CASES)
    }

    /// Whether fewer than one event is expected in the last quarter, at the rate of all known cases since the start: such
    /// events are followed by the cases between them.
    pub fn rare(&self, measure: usize) -> bool {
        let gaps = &self.gaps[measure];
        let events = gaps.before_each.len();
        let known = events + gaps.before_each.iter().sum::<usize>() + gaps.since_last;
        self.quarters.last().is_some_and(|last| {
            known > 0
                && !at_least(
                    events as f64 / known as f64 * last.counts[measure].known() as f64,
                    LIMIT_FROM_EXPECTED,
                )
        })
    }

    /// Exact limits of a quarter for a measure, from the baseline; `None` where too little is known or expected.
    pub fn limits(&self, quarter: usize, measure: usize) -> Option<QuarterLimits> {
        let known = self.quarters[quarter].counts[measure].known();
        let baseline = self.baselines[measure]?;
        at_least(baseline * known as f64, LIMIT_FROM_EXPECTED)
            .then(|| quarter_limits(known, baseline))
            .flatten()
    }

    /// Quarters whose rate of a measure is drawn.
    pub fn drawn(&self, measure: usize) -> usize {
        self.quarters
            .iter()
            .filter(|quarter| quarter.counts[measure].known() >= RATE_FROM_CASES)
            .count()
    }

    /// Whether the last quarter's count is outside its limits.
    pub fn last_outside(&self, measure: usize) -> bool {
        let Some(last) = self.quarters.len().checked_sub(1) else {
            return false;
        };
        let yes = self.quarters[last].counts[measure].yes;
        self.limits(last, measure).is_some_and(|limits| {
            limits.critical.high.is_some_and(|high| yes >= high)
                || limits.critical.low.is_some_and(|low| yes <= low)
        })
    }
}
