//! What was known on the day the report speaks for.
//!
//! A report is the one that could have been written on that day: a later date is unknown, a later echo and a
//! later visit are absent. Rows that are not visits of a living patient are set apart here, once for all results.

use jiff::civil::Date;

use crate::date::days_between;
use crate::record::{Attendance, CaseCells, CaseRecord, DischargeStatus, Shared, VisitCells};

/// A counted visit, with its day from the procedure.
#[derive(Clone, Debug, PartialEq)]
pub struct Visit {
    /// Days from the procedure, which is day 0.
    pub day: i64,
    /// Date of the visit.
    pub date: Date,
    /// Its cells, dates after the as-of date left out.
    pub cells: Shared<VisitCells>,
    /// Position in [`CaseRecord::visits`].
    pub row: usize,
}

/// Why a row of the follow-up file is not a counted visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// The patient did not attend: shown, and otherwise absent.
    DidNotAttend,
    /// Dated after the as-of date: absent.
    AfterAsOf,
    /// Dated before the procedure.
    BeforeProcedure,
    /// Dated after the death.
    AfterDeath,
    /// The second of two visits on one day.
    SecondOfDay,
}

/// One case as known on the as-of date.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The day the report speaks for.
    pub as_of: Date,
    /// Day 0.
    pub procedure_date: Date,
    /// The cells, later dates and what hangs on them left out.
    pub cells: Shared<CaseCells>,
    /// Counted visits, earliest first.
    pub visits: Vec<Visit>,
    /// Rows of the follow-up file that are not counted, with the reason, in the order of the file.
    pub left_out: Vec<(usize, LeftOut)>,
    /// Columns of the case whose date lies after the as-of date.
    pub after_as_of: Vec<&'static str>,
    /// Day of a dated death; procedural death is death on day 0 whatever the date says.
    pub death_date: Option<Date>,
    /// Whether a history of atrial fibrillation was written down but could not be read: unknown, and not blank.
    pub history_unreadable: bool,
    /// Whether anything says that the patient has died, dated or not.
    pub signs_of_death: bool,
    /// Latest date the patient is known to have been alive.
    pub alive_to: Date,
}

impl Known {
    /// What was known of `record` on `as_of`; `None` where the procedure itself came later.
    pub fn on(record: &CaseRecord, as_of: Date) -> Option<Self> {
        if record.procedure_date > as_of {
            return None;
        }
        let mut cells = record.cells.clone();
        // Hardly a case has any, and only where it has is there anything to change.
        let after_as_of = match has_later_dates(&cells, as_of) {
            true => forget_later_dates(&mut cells, as_of),
            false => Vec::new(),
        };
        let death_date = if cells.procedural_death == Some(true) {
            Some(record.procedure_date)
        } else {
            cells.death_date
        };
        let (visits, left_out) = counted_visits(record, as_of, death_date);
        let signs_of_death = death_date.is_some()
            || record.cells.death_date.is_some()
            || cells.discharge_status == Some(DischargeStatus::DiedInHospital)
            || cells.death_cause.is_some()
            || cells.valve_related_death == Some(true);
        let alive_to = [
            cells.last_contact_date,
            cells.discharge_date,
            cells.post_echo_date,
        ]
        .into_iter()
        .flatten()
        .chain(visits.iter().map(|visit| visit.date))
        .fold(record.procedure_date, Date::max);
        Some(Self {
            as_of,
            procedure_date: record.procedure_date,
            cells,
            visits,
            left_out,
            after_as_of,
            death_date,
            history_unreadable: record
                .notes
                .rejected
                .contains(&"atrial_fibrillation_history"),
            signs_of_death,
            alive_to,
        })
    }

    /// Whether the same was known on another day: no date of the case came between the two.
    pub fn same_facts(&self, other: &Self) -> bool {
        Self {
            as_of: other.as_of,
            ..self.clone()
        } == *other
    }

    /// Days from the procedure to `date`.
    pub fn day_of(&self, date: Date) -> i64 {
        days_between(self.procedure_date, date)
    }

    /// Day of the dated death.
    pub fn death_day(&self) -> Option<i64> {
        self.death_date.map(|date| self.day_of(date))
    }

    /// Day to which the patient is known to have been alive.
    pub fn alive_to_day(&self) -> i64 {
        self.day_of(self.alive_to)
    }

    /// The as-of date as a day from the procedure.
    pub fn as_of_day(&self) -> i64 {
        self.day_of(self.as_of)
    }

    /// The latest date the page or any result could have used, for "data to".
    pub fn data_to(&self) -> Date {
        self.death_date
            .map_or(self.alive_to, |death| death.max(self.alive_to))
    }
}

/// The dates of a case that may lie after the as-of date by mistake or because more is known now than was then. The next
/// booked date may lie after it.
macro_rules! dates {
    ($of_each:ident) => {
        $of_each!(
            birth_date,
            referral_date,
            heart_team_date,
            admission_date,
            discharge_date,
            baseline_echo_date,
            ct_date,
            post_echo_date,
            antithrombotic_until,
            death_date,
            last_contact_date,
            signed_on
        )
    };
}

/// Whether any date lies after the as-of date.
fn has_later_dates(cells: &CaseCells, as_of: Date) -> bool {
    macro_rules! any {
        ($($field:ident),+) => { false $(|| cells.$field.is_some_and(|date| date > as_of))+ };
    }
    dates!(any)
}

/// Clears every date after the as-of date, and what hangs on it; the columns of those dates.
pub(super) fn forget_later_dates(cells: &mut CaseCells, as_of: Date) -> Vec<&'static str> {
    let mut later = Vec::new();
    macro_rules! forget {
        ($($field:ident),+) => {$(
            if cells.$field.is_some_and(|date| date > as_of) {
                cells.$field = None;
                later.push(stringify!($field));
            }
        )+};
    }
    dates!(forget);
    // A procedural death is on day 0 whatever the date says, so its cause is known.
    if later.contains(&"death_date") && cells.procedural_death != Some(true) {
        cells.death_cause = None;
        cells.valve_related_death = None;
    }
    if later.contains(&"post_echo_date") {
        cells.post_vmax_m_s = None;
        cells.post_mean_gradient_mmhg = None;
        cells.post_av_vti_cm = None;
        cells.post_lvot_diameter_mm = None;
        cells.post_lvot_vti_cm = None;
        cells.post_lvef_pct = None;
        cells.post_paravalvular_grade = None;
        cells.post_transvalvular_grade = None;
        cells.post_rvsp_mmhg = None;
    }
    later
}

fn counted_visits(
    record: &CaseRecord,
    as_of: Date,
    death_date: Option<Date>,
) -> (Vec<Visit>, Vec<(usize, LeftOut)>) {
    let mut visits: Vec<Visit> = Vec::with_capacity(record.visits.len());
    let mut left_out = Vec::new();
    for (row, visit) in record.visits.iter().enumerate() {
        let reason = if visit.cells.attendance == Some(Attendance::DidNotAttend) {
            Some(LeftOut::DidNotAttend)
        } else if visit.date > as_of {
            Some(LeftOut::AfterAsOf)
        } else if visit.date < record.procedure_date {
            Some(LeftOut::BeforeProcedure)
        } else if death_date.is_some_and(|death| visit.date > death) {
            Some(LeftOut::AfterDeath)
        } else if visits.iter().any(|earlier| earlier.date == visit.date) {
            Some(LeftOut::SecondOfDay)
        } else {
            None
        };
        if let Some(reason) = reason {
            left_out.push((row, reason));
            continue;
        }
        let mut cells = visit.cells.clone();
        let later = |date: Option<Date>| date.is_some_and(|date| date > as_of);
        // Only what changes asks for a row of its own.
        if later(cells.stroke_date) {
            cells.stroke_date = None;
        }
        if later(cells.hospitalisation_date) {
            cells.hospitalisation_date = None;
        }
        if later(cells.reintervention_date) {
            cells.reintervention_date = None;
        }
        visits.push(Visit {
            day: days_between(record.procedure_date, visit.date),
            date: visit.date,
            cells,
            row,
        });
    }
    visits.sort_by_key(|visit| visit.date);
    (visits, left_out)
}
