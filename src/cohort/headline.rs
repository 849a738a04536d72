//! What the first page says: outcomes with their intervals, and what stands out.

use super::audit_case::AuditCase;
use super::measures::MeasureRow;
use super::proportion::{Counts, Verdict, verdict};
use super::statistics::{Difference, newcombe_difference};
use crate::dictionary::MEASURES;

/// The outcomes of the first page, in their order, with their names on pages.
pub const OUTCOMES: [(&str, &str); 13] = [
    ("death_30d", "Death to day 30"),
    ("stroke_30d", "Stroke to day 30"),
    ("major_vascular_complication", "Major vascular complication"),
    ("bleeding_type_2_to_4", "Bleeding type 2 to 4"),
    ("kidney_injury_stage_2_to_4", "Kidney injury stage 2 to 4"),
    ("new_pacemaker", "New pacemaker"),
    (
        "regurgitation_moderate_or_worse",
        "Regurgitation moderate or more",
    ),
    ("residual_gradient", "Mean gradient 20 mmHg or more"),
    ("technical_success", "Technical success"),
    ("device_success", "Device success"),
    ("early_safety", "Early safety"),
    ("intended_performance", "Intended performance"),
    ("clinical_efficacy_1y", "Clinical efficacy, 1 year"),
];

/// A page's words for a measure of cohort.csv.
pub fn title(measure: &str) -> &str {
    OUTCOMES
        .iter()
        .find(|(name, _)| *name == measure)
        .map_or(measure, |(_, title)| title)
}

/// An outcome of the period beside that of the span before it.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// Measure of cohort.csv.
    pub measure: &'static str,
    /// Counts of the period.
    pub now: Counts,
    /// Counts of the span before.
    pub before: Counts,
    /// Period minus before, as a fraction; `None` where either has no known case.
    pub difference: Option<Difference>,
}

impl Compared {
    /// Whether the interval of the difference leaves out 0.
    pub fn stands_out(&self) -> bool {
        self.difference
            .is_some_and(|difference| !difference.interval.contains(0.0))
    }
}

/// Every outcome of the first page: cases of the period against those of the span before, which may be of another file.
pub fn compared(
    (cases, now): (&[AuditCase<'_>], &[usize]),
    (earlier, before): (&[AuditCase<'_>], &[usize]),
) -> Vec<Compared> {
    OUTCOMES
        .iter()
        .map(|&(measure, _)| {
            let now = counts(measure, cases, now);
            let before = counts(measure, earlier, before);
            Compared {
                measure,
                now,
                before,
                difference: newcombe_difference(
                    (now.yes, now.known()),
                    (before.yes, before.known()),
                ),
            }
        })
        .collect()
}

/// Days after which a measure is mature.
fn mature_after_days(measure: &str) -> i64 {
    MEASURES
        .iter()
        .find(|row| measure.split('/').next() == Some(&row.name))
        .and_then(|row| row.mature_after_days)
        .unwrap_or(0)
}

/// What a case says to a measure, where it is mature.
pub fn mature_verdict(measure: &str, case: &AuditCase<'_>) -> Option<Verdict> {
    verdict(measure, case).filter(|_| case.mature(mature_after_days(measure)))
}

/// Counts of a yes-or-no measure over these cases.
pub fn counts(measure: &str, cases: &[AuditCase<'_>], selection: &[usize]) -> Counts {
    let days = mature_after_days(measure);
    let mut counts = Counts::default();
    for &case in selection {
        let case = &cases[case];
        if let Some(verdict) = verdict(measure, case) {
            counts.add(verdict, case.mature(days));
        }
    }
    counts
}

/// Width of the bounds that missing parts leave open (percentage points).
pub fn open_width(row: &MeasureRow) -> Option<f64> {
    Some(row.bound_high? - row.bound_low?)
}
