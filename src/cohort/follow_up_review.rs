//! Follow-up since the start: survival, deterioration, visits done and due.

use jiff::civil::Date;

use super::audit_case::AuditCase;
use super::deterioration_of;
use super::statistics::{Incidence, MedianTime, Outcome, OutcomeTime, Survival};
use super::survival_of::Patients;
use crate::assess::{FollowUpState, done, scheduled};
use crate::record::Text;
use crate::settings::Schedule;

/// Visits shown: the 30-day visit and this many anniversaries.
const YEARS: i64 = 5;

/// One scheduled visit over all cases.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct VisitCount {
    /// Years after the procedure; 0 for the 30-day visit.
    pub years: i64,
    /// The window has closed and the patient was not known to have died before its end.
    pub closed: usize,
    /// Of those, done.
    pub done: usize,
    /// The window is open on the as-of date, visit not done.
    pub open: usize,
    /// Died before the window closed, not done.
    pub died_before: usize,
}

/// A patient overdue or lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Waiting {
    /// The case.
    pub case_id: Text,
    /// Overdue or lost.
    pub state: FollowUpState,
    /// Day the visit was due.
    pub due: Option<Date>,
    /// Last known alive.
    pub alive_to: Date,
}

/// Follow-up of a selection of cases.
#[derive(Clone, Debug, PartialEq)]
pub struct FollowUpReview {
    /// Cases.
    pub n: usize,
    /// Patients behind them.
    pub patients: usize,
    /// Survival from the first procedure.
    pub survival: Option<Survival>,
    /// Deaths on the curve.
    pub deaths: usize,
    /// Deaths without a date, or dated before the procedure.
    pub undated: usize,
    /// Median follow-up by the reverse curve (days).
    pub median_follow_up: Option<MedianTime>,
    /// Deterioration with death competing.
    pub deterioration: Option<Incidence>,
    /// Cases with a reference echo.
    pub with_reference: usize,
    /// First deteriorations found.
    pub deteriorations: usize,
    /// Competing deaths.
    pub competing: usize,
    /// Scheduled visits.
    pub visits: Vec<VisitCount>,
    /// Not yet due, due, overdue, lost, deceased.
    pub states: [usize; 5],
    /// Overdue and lost, the longest overdue first.
    pub waiting: Vec<Waiting>,
}

impl FollowUpReview {
    /// Of these cases.
    pub fn of(cases: &[AuditCase<'_>], selection: &[usize], schedule: &Schedule) -> Self {
        let followed = Patients::of(cases).followed(cases, selection);
        let survival = Survival::new(&followed.follow_ups);
        let outcomes: Vec<OutcomeTime> = selection
            .iter()
            .filter_map(|&case| deterioration_of::outcome(&cases[case]))
            .collect();
        let count = |wanted| {
            outcomes
                .iter()
                .filter(|time| time.outcome == wanted)
                .count()
        };
        let mut states = [0; 5];
        let mut waiting = Vec::new();
        for &case in selection {
            let assessment = cases[case].assessment;
            let follow_up = &assessment.results.follow_up;
            let state = follow_up.follow_up_state;
            states[state as usize] += 1;
            if matches!(state, FollowUpState::Overdue | FollowUpState::Lost) {
                waiting.push(Waiting {
                    case_id: cases[case].case_id().clone(),
                    state,
                    due: follow_up.next_visit_due,
                    alive_to: assessment.known.alive_to,
                });
            }
        }
        waiting.sort_by(|a, b| (a.due, &a.case_id).cmp(&(b.due, &b.case_id)));
        Self {
            n: selection.len(),
            patients: followed.follow_ups.len(),
            deaths: followed
                .follow_ups
                .iter()
                .filter(|patient| patient.event)
                .count(),
            undated: followed.missing,
            median_follow_up: survival.as_ref().map(|curve| curve.reverse().median()),
            survival,
            deterioration: Incidence::new(&outcomes),
            with_reference: outcomes.len(),
            deteriorations: count(Outcome::Event),
            competing: count(Outcome::Competing),
            visits: (0..=YEARS)
                .map(|years| visit_count(cases, selection, schedule, years))
                .filter(|visit| visit.closed + visit.open + visit.died_before > 0)
                .collect(),
            states,
            waiting,
        }
    }
}

fn visit_count(
    cases: &[AuditCase<'_>],
    selection: &[usize],
    schedule: &Schedule,
    years: i64,
) -> VisitCount {
    let mut count = VisitCount {
        years,
        ..VisitCount::default()
    };
    for &case in selection {
        let known = &cases[case].assessment.known;
        let Some(visit) = scheduled(known.procedure_date, years, schedule) else {
            continue;
        };
        if visit.opens > known.as_of {
            continue;
        }
        let is_done = done(known, &visit);
        let died = match known.death_date {
            Some(death) => death <= visit.closes,
            None => known.signs_of_death && known.alive_to < visit.opens,
        };
        if died && !is_done {
            count.died_before += 1;
        } else if is_done || visit.closes < known.as_of {
            count.closed += 1;
            count.done += usize::from(is_done);
        } else {
            count.open += 1;
        }
    }
    count
}
