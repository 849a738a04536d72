//! What is due next: day 30, then every anniversary of the procedure.

use jiff::civil::Date;

use super::after::reference_visit;
use super::known::Known;
use super::result::{FollowUpState, NextVisit, results};
use crate::date::{anniversary, days_between, plus_days};
use crate::record::Attendance;
use crate::settings::Schedule;

results! {
    /// The visit aimed at on the as-of date.
    FollowUp {
        /// Which visit.
        next_visit: NextVisit,
        /// The day itself.
        next_visit_due: Option<Date>,
        /// Where it stands.
        follow_up_state: FollowUpState,
    }
}

/// One scheduled visit with its window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scheduled {
    /// Which visit.
    pub visit: NextVisit,
    /// Years after the procedure; 0 for the 30-day visit.
    pub years: i64,
    /// The day itself.
    pub due: Date,
    /// First day of the window.
    pub opens: Date,
    /// Last day of the window.
    pub closes: Date,
}

/// The scheduled visit of this many years (0: the 30-day visit); `None` outside the calendar.
pub fn scheduled(procedure_date: Date, years: i64, schedule: &Schedule) -> Option<Scheduled> {
    if years == 0 {
        return Some(Scheduled {
            visit: NextVisit::Day30,
            years,
            due: plus_days(procedure_date, schedule.first_visit_day)?,
            opens: plus_days(procedure_date, schedule.first_visit_opens)?,
            closes: plus_days(procedure_date, schedule.first_visit_closes)?,
        });
    }
    let due = anniversary(procedure_date, years)?;
    Some(Scheduled {
        visit: NextVisit::Annual,
        years,
        due,
        opens: plus_days(due, -schedule.anniversary_opens_before)?,
        closes: plus_days(due, schedule.anniversary_closes_after)?,
    })
}

/// Whether any visit lies in the window; a record review is not a visit here, but a reference echo counts for the
/// 30-day visit whatever its attendance.
pub fn done(known: &Known, scheduled: &Scheduled) -> bool {
    known.visits.iter().any(|visit| {
        visit.cells.attendance != Some(Attendance::RecordReview)
            && (scheduled.opens..=scheduled.closes).contains(&visit.date)
    }) || (scheduled.visit == NextVisit::Day30 && reference_visit(&known.visits).is_some())
}

/// The visit aimed at: the latest whose window has opened, if it is not done; else the next one.
pub fn target(known: &Known, schedule: &Schedule) -> Option<Scheduled> {
    let at = |years| scheduled(known.procedure_date, years, schedule);
    let mut latest_open = None;
    let mut years = 0;
    loop {
        let candidate = at(years)?;
        if candidate.opens > known.as_of {
            return match latest_open {
                Some(open) if !done(known, &open) => Some(open),
                _ => Some(candidate),
            };
        }
        latest_open = Some(candidate);
        years += 1;
    }
}

impl FollowUp {
    /// Where the follow-up stands on the as-of date.
    pub fn of(known: &Known, schedule: &Schedule) -> Self {
        if known.signs_of_death {
            return Self {
                next_visit: NextVisit::None,
                next_visit_due: None,
                follow_up_state: FollowUpState::Deceased,
            };
        }
        let target = target(known, schedule);
        let state = if days_between(known.alive_to, known.as_of) > schedule.lost_after {
            FollowUpState::Lost
        } else {
            match target {
                Some(target) if known.as_of > target.closes => FollowUpState::Overdue,
                Some(target) if known.as_of >= target.opens => FollowUpState::Due,
                _ => FollowUpState::NotYetDue,
            }
        };
        Self {
            next_visit: target.map_or(NextVisit::None, |target| target.visit),
            next_visit_due: target.map(|target| target.due),
            follow_up_state: state,
        }
    }
}
