//! Haemodynamic deterioration of the valve, with death competing.

use super::audit_case::AuditCase;
use super::statistics::{Outcome, OutcomeTime};

/// A death later than this many days after the last echo does not compete: the valve was no longer watched.
pub const DEATH_COMPETES_WITHIN: i64 = 425;

/// How the watch over one valve ended; `None` without a reference echo.
///
/// The event is the first later visit with a known stage 2 or 3, on the day of that visit: the day it was found. Death
/// competes where it is at most [`DEATH_COMPETES_WITHIN`] days after the last visit with a mean gradient. Otherwise the
/// case is censored at that visit, which is the last before the first reintervention on the valve.
pub fn outcome(case: &AuditCase<'_>) -> Option<OutcomeTime> {
    let known = &case.assessment.known;
    let course = &case.assessment.course;
    course.reference?;
    if let Some(found) = course.later.iter().find(|later| later.stage.is_some()) {
        return at(known.visits[found.visit].day, Outcome::Event);
    }
    let reintervention = known
        .visits
        .iter()
        .find(|visit| visit.cells.valve_reintervention == Some(true))
        .map(|visit| visit.day);
    let last = known
        .visits
        .iter()
        .filter(|visit| visit.cells.mean_gradient_mmhg.is_some())
        .map(|visit| visit.day)
        .filter(|&day| reintervention.is_none_or(|first| day < first))
        .max()
        .unwrap_or(0);
    match known.death_day() {
        Some(death) if reintervention.is_none() && death - last <= DEATH_COMPETES_WITHIN => {
            at(death, Outcome::Competing)
        }
        _ => at(last, Outcome::Censored),
    }
}

fn at(day: i64, outcome: Outcome) -> Option<OutcomeTime> {
    Some(OutcomeTime {
        day: u32::try_from(day).ok()?,
        outcome,
    })
}
