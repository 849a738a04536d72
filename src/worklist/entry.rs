//! One line of the worklist: a case with a visit that is due, and how it stands.

use jiff::civil::Date;

use super::gaps::CaseGaps;
use super::slip::Slip;
use crate::assess::{
    Assessment, Flag, FollowUpState, LeftOut, NextVisit, Scheduled, done, latest, reference_visit,
    scheduled, target,
};
use crate::date::days_between;
use crate::record::{Attendance, CaseRecord, FollowUpStatus, Sex, Text};
use crate::settings::Schedule;

/// Why a case is on the list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Not known alive for longer than the schedule allows.
    Lost,
    /// The window of the visit has closed.
    Overdue,
    /// The window is open.
    Due,
    /// The window opens within the days looked ahead.
    OpensSoon,
    /// The visit is done, but no echo was recorded in its window; nothing else is due.
    EchoOutstanding,
}

impl Why {
    /// The word of worklist.csv.
    pub fn word(self) -> &'static str {
        match self {
            Self::Lost => "lost",
            Self::Overdue => "overdue",
            Self::Due => "due",
            Self::OpensSoon => "opens_soon",
            Self::EchoOutstanding => "echo_outstanding",
        }
    }
}

/// Whether a next visit is booked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Booking {
    /// No booking is recorded, or the booked visit has been.
    None,
    /// Booked for a day not before the as-of date.
    For(Date),
    /// Was booked for a day before the as-of date, and no visit is recorded on or after it.
    Passed(Date),
}

impl Booking {
    /// The word of worklist.csv.
    pub fn word(self) -> &'static str {
        match self {
            Self::None => "not_booked",
            Self::For(_) => "booked",
            Self::Passed(_) => "booking_passed",
        }
    }

    /// The booked day.
    pub fn date(self) -> Option<Date> {
        match self {
            Self::None => None,
            Self::For(date) | Self::Passed(date) => Some(date),
        }
    }
}

/// The last visit that counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LastSeen {
    /// Its date.
    pub date: Date,
    /// How the patient was seen; blank is attended.
    pub attendance: Attendance,
}

/// A mean gradient and when it was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gradient {
    /// Mean gradient (mmHg).
    pub mean_mmhg: f64,
    /// Day of the echo, where it is recorded.
    pub date: Option<Date>,
    /// Whether it is that of the echo before discharge.
    pub before_discharge: bool,
    /// Whether a check across cells of that echo fails.
    pub in_doubt: bool,
}

/// One line of the worklist.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The case.
    pub case_id: Text,
    /// What identifies the patient on a page.
    pub label: Option<Text>,
    /// Birth date.
    pub birth_date: Option<Date>,
    /// Sex.
    pub sex: Option<Sex>,
    /// Clinic that follows the patient: follow_up_site, else site.
    pub clinic: Option<Text>,
    /// Whether the clinic is the cell of that name, and not the site of the procedure.
    pub clinic_recorded: bool,
    /// Day 0.
    pub procedure_date: Date,
    /// Whether the procedure ended without a valve.
    pub no_valve: bool,
    /// Why it is on the list.
    pub why: Why,
    /// State as in results.csv.
    pub state: FollowUpState,
    /// The visit aimed at, as in results.csv.
    pub visit: Scheduled,
    /// Days from the as-of date to the due day; negative once it is past.
    pub days_to_due: i64,
    /// Earlier scheduled visits that were never made, earliest first.
    pub missed: Vec<Scheduled>,
    /// The visit that is done without an echo in its window.
    pub echo_outstanding: Option<Scheduled>,
    /// Whether a next visit is booked.
    pub booking: Booking,
    /// Standing of the follow-up as recorded.
    pub standing: Option<FollowUpStatus>,
    /// Days on which the patient did not attend, since the window opened or since the last visit, earliest first.
    pub not_attended: Vec<Date>,
    /// The last counted visit.
    pub last_seen: Option<LastSeen>,
    /// Latest day the patient is known to have been alive.
    pub last_contact: Date,
    /// Days without contact.
    pub days_without_contact: i64,
    /// The same patient under another case known alive on a later day: the day and the case.
    pub later_contact: Option<(Date, Text)>,
    /// The latest mean gradient after the procedure.
    pub last_gradient: Option<Gradient>,
    /// Findings that go before the order of dates.
    pub findings: Vec<Flag>,
    /// What is missing.
    pub gaps: CaseGaps,
    /// What the next echo is held against.
    pub slip: Slip,
    /// Other cases of the same patient.
    pub same_patient: Vec<Text>,
}

/// Findings that go before the order of dates: a patient that may be mixed up with another, then groups 3, 4 and 6 of
/// the order for attention (project's own choice).
pub const FINDINGS: [Flag; 11] = [
    Flag::IdentityConflict,
    Flag::VisitEvent,
    Flag::Deterioration,
    Flag::LateGradient,
    Flag::ResidualGradient,
    Flag::LateRegurgitation,
    Flag::Regurgitation,
    Flag::LvefFall,
    Flag::TreatmentReviewPassed,
    Flag::RhythmWithoutAnticoagulant,
    Flag::IncidentalOpen,
];

/// What people call a scheduled visit: `30-day visit`, `annual visit, year 2`.
pub fn visit_name(visit: &Scheduled, procedure_date: Date) -> String {
    match visit.visit {
        NextVisit::Annual => format!("annual visit, year {}", visit.years),
        _ => format!("{}-day visit", days_between(procedure_date, visit.due)),
    }
}

/// Why a living patient's case is on the list, with the visit aimed at; `None` where nothing is due.
pub(super) fn why(
    assessment: &Assessment,
    schedule: &Schedule,
    look_ahead_days: i64,
) -> Option<(Why, Scheduled)> {
    let known = &assessment.known;
    let visit = target(known, schedule)?;
    let why = match assessment.results.follow_up.follow_up_state {
        FollowUpState::Deceased => return None,
        FollowUpState::Lost => Why::Lost,
        FollowUpState::Overdue => Why::Overdue,
        FollowUpState::Due => Why::Due,
        FollowUpState::NotYetDue if days_between(known.as_of, visit.opens) <= look_ahead_days => {
            Why::OpensSoon
        }
        FollowUpState::NotYetDue => {
            echo_outstanding(assessment, schedule)?;
            Why::EchoOutstanding
        }
    };
    Some((why, visit))
}

/// Every scheduled visit whose window has opened on the as-of date, earliest first.
fn opened(assessment: &Assessment, schedule: &Schedule) -> Vec<Scheduled> {
    let known = &assessment.known;
    (0..)
        .map_while(|years| scheduled(known.procedure_date, years, schedule))
        .take_while(|visit| visit.opens <= known.as_of)
        .collect()
}

/// The latest visit whose window has opened, where it is done and no echo with a mean gradient lies in its window.
fn echo_outstanding(assessment: &Assessment, schedule: &Schedule) -> Option<Scheduled> {
    let known = &assessment.known;
    let visit = opened(assessment, schedule).pop()?;
    let echo = known.visits.iter().any(|seen| {
        seen.cells.mean_gradient_mmhg.is_some() && (visit.opens..=visit.closes).contains(&seen.date)
    }) || (visit.visit == NextVisit::Day30 && reference_visit(&known.visits).is_some());
    (done(known, &visit) && !echo).then_some(visit)
}

fn booking(assessment: &Assessment) -> Booking {
    let known = &assessment.known;
    match known.cells.next_booked_date {
        None => Booking::None,
        Some(date) if date >= known.as_of => Booking::For(date),
        Some(date) if known.visits.iter().any(|visit| visit.date >= date) => Booking::None,
        Some(date) => Booking::Passed(date),
    }
}

/// Whether a check across cells fails that compares a cell of the echo of this visit (`None`: before discharge).
pub(super) fn echo_in_doubt(assessment: &Assessment, visit: Option<Date>) -> bool {
    assessment.failed_checks.iter().any(|check| {
        let date = check
            .visit
            .map(|position| assessment.known.visits[position].date);
        date == visit
            && check.columns.iter().any(|column| {
                ECHO.contains(&column.strip_prefix("post_").unwrap_or(column))
                    && (visit.is_some() || column.starts_with("post_"))
            })
    })
}

/// Cells of an echo of the prosthesis that its gradient, area and index rest on.
const ECHO: [&str; 5] = [
    "mean_gradient_mmhg",
    "vmax_m_s",
    "av_vti_cm",
    "lvot_vti_cm",
    "lvot_diameter_mm",
];

fn last_gradient(assessment: &Assessment) -> Option<Gradient> {
    let known = &assessment.known;
    let doubted = |date: Option<Date>| echo_in_doubt(assessment, date);
    latest(known, |visit| visit.cells.mean_gradient_mmhg)
        .map(|(visit, mean_mmhg)| Gradient {
            mean_mmhg,
            date: Some(visit.date),
            before_discharge: false,
            in_doubt: doubted(Some(visit.date)),
        })
        .or_else(|| {
            Some(Gradient {
                mean_mmhg: known.cells.post_mean_gradient_mmhg?,
                date: known.cells.post_echo_date,
                before_discharge: true,
                in_doubt: doubted(None),
            })
        })
}

impl Entry {
    /// The line of a case that is on the list.
    pub(super) fn new(
        record: &CaseRecord,
        assessment: &Assessment,
        schedule: &Schedule,
        (why, visit): (Why, Scheduled),
        gaps: CaseGaps,
    ) -> Self {
        let known = &assessment.known;
        let cells = &known.cells;
        let last_seen = known.visits.last().map(|visit| LastSeen {
            date: visit.date,
            attendance: visit.cells.attendance.unwrap_or(Attendance::Attended),
        });
        let mut not_attended: Vec<Date> = known
            .left_out
            .iter()
            .filter(|(_, reason)| *reason == LeftOut::DidNotAttend)
            .map(|(row, _)| record.visits[*row].date)
            .filter(|date| {
                *date <= known.as_of
                    && *date >= record.procedure_date
                    && (*date >= visit.opens || last_seen.is_none_or(|seen| *date > seen.date))
            })
            .collect();
        not_attended.sort_unstable();
        let missed = opened(assessment, schedule)
            .into_iter()
            .filter(|earlier| earlier.years < visit.years && !done(known, earlier))
            .collect();
        Self {
            case_id: record.case_id.clone(),
            label: cells.patient_label.clone(),
            birth_date: cells.birth_date,
            sex: cells.sex,
            clinic: cells.follow_up_site.clone().or_else(|| cells.site.clone()),
            clinic_recorded: cells.follow_up_site.is_some(),
            procedure_date: record.procedure_date,
            no_valve: cells.no_valve_implanted == Some(true),
            why,
            state: assessment.results.follow_up.follow_up_state,
            visit,
            days_to_due: days_between(known.as_of, visit.due),
            missed,
            echo_outstanding: echo_outstanding(assessment, schedule),
            booking: booking(assessment),
            standing: cells.follow_up_status,
            not_attended,
            last_seen,
            last_contact: known.alive_to,
            days_without_contact: days_between(known.alive_to, known.as_of),
            later_contact: None,
            last_gradient: last_gradient(assessment),
            findings: FINDINGS
                .into_iter()
                .filter(|&flag| assessment.has(flag))
                .collect(),
            gaps,
            slip: Slip::of(assessment),
            same_patient: Vec::new(),
        }
    }

    /// Days since the window closed; `None` where it has not.
    pub fn days_past_window(&self, as_of: Date) -> Option<i64> {
        let days = days_between(self.visit.closes, as_of);
        (days > 0).then_some(days)
    }

    /// Whether the booked day lies in the window; `None` where no day from the as-of date on is booked.
    pub fn booked_in_window(&self) -> Option<bool> {
        match self.booking {
            Booking::For(date) => Some((self.visit.opens..=self.visit.closes).contains(&date)),
            Booking::None | Booking::Passed(_) => None,
        }
    }

    /// Whether another place follows the patient, or nobody does.
    pub fn apart(&self) -> bool {
        matches!(
            self.standing,
            Some(
                FollowUpStatus::Elsewhere | FollowUpStatus::Declined | FollowUpStatus::Unreachable
            )
        )
    }
}
