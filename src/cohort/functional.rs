//! NYHA class before the procedure and at 30 days.

use super::audit_case::AuditCase;
use super::proportion::{Counts, Verdict};
use crate::assess::{PERFORMANCE_CLOSES, PERFORMANCE_OPENS};
use crate::record::Nyha;

/// Pairs of classes, and why others have none.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NyhaChange {
    /// Cases.
    pub n: usize,
    /// Cases by class before (row) and after (column), I to IV.
    pub pairs: [[usize; 4]; 4],
    /// Improved by a class or more, of the pairs.
    pub improved: Counts,
    /// Worse by a class or more.
    pub worse: usize,
    /// No class after, since the patient died before day 30 and before such a visit.
    pub died_before: usize,
    /// No class after, since the window of the visit is still open.
    pub not_yet_due: usize,
    /// Both classes could be there, and one or both are not.
    pub missing: usize,
}

/// The class of the visit of day 23 to 105 that has one nearest to day 30, the earlier of two as near: the window of the
/// judging echo, so that gradient and symptoms speak of the same time.
fn class_after(case: &AuditCase<'_>) -> Option<Nyha> {
    case.assessment
        .known
        .visits
        .iter()
        .filter(|visit| (PERFORMANCE_OPENS..=PERFORMANCE_CLOSES).contains(&visit.day))
        .filter_map(|visit| Some(((visit.day - 30).abs(), visit.cells.nyha_class?)))
        .min_by_key(|(days, _)| *days)
        .map(|(_, class)| class)
}

impl NyhaChange {
    /// Of these cases.
    pub fn of(cases: &[AuditCase<'_>], selection: &[usize]) -> Self {
        let mut change = Self {
            n: selection.len(),
            ..Self::default()
        };
        for &case in selection {
            let case = &cases[case];
            let after = class_after(case);
            if let (Some(before), Some(after)) = (case.cells().nyha_class, after) {
                change.pairs[before as usize][after as usize] += 1;
                change
                    .improved
                    .add(Verdict::from(Some(after < before)), true);
                change.worse += usize::from(after > before);
                continue;
            }
            let died = case.assessment.known.death_day();
            if after.is_none() && died.is_some_and(|day| day <= 30) {
                change.died_before += 1;
            } else if after.is_none() && !case.mature(PERFORMANCE_CLOSES) && died.is_none() {
                change.not_yet_due += 1;
            } else {
                change.missing += 1;
            }
        }
        change
    }

    /// Cases with both classes.
    pub fn known(&self) -> usize {
        self.improved.known()
    }
}
