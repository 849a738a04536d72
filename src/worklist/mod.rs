//! Who is due, overdue or lost, how each stands, and what is missing.
//!
//! [`Worklist::of`] is pure: cases with their assessments go in, the list comes out, in the order in which it is read.
//! It says what is due by the schedule and what is recorded; it recommends nothing.

pub mod changes;
mod entry;
pub mod gaps;
mod group;
mod slip;
mod trial;

use std::collections::HashMap;

use jiff::civil::Date;

use crate::assess::Assessment;
use crate::date::days_between;
use crate::input::Withheld;
use crate::record::{CaseRecord, Catalogue, Text};
use crate::settings::Settings;

pub use changes::{
    Became, Cause, Change, Changes, OnEarlierDay, ResultRow, changes_of, columns, input_changed,
};
pub use entry::{Booking, Entry, FINDINGS, Gradient, LastSeen, Why, visit_name};
pub use gaps::{CaseGaps, Chase, ColumnGap, Gap, GapCell, Gaps};
pub use group::{Clinic, Group, monday};
pub use slip::{EchoOn, Slip, Threshold};

/// Days by which the data may end before the as-of date without a warning.
pub const DATA_LAG_DAYS: i64 = 7;

/// A case that its own row would put on the list, left off for what another case of the patient says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOff {
    /// The case.
    pub case_id: Text,
    /// The case of the same patient that shows a sign of death.
    pub because_of: Text,
    /// Whether that case is withheld, and so in no other file.
    pub withheld: bool,
}

/// The worklist of one day.
#[derive(Clone, Debug, PartialEq)]
pub struct Worklist {
    /// The day it speaks for.
    pub as_of: Date,
    /// The latest date in the data; `None` without a case.
    pub data_to: Option<Date>,
    /// Days looked ahead.
    pub look_ahead_days: i64,
    /// Every line, in the order of the pages.
    pub entries: Vec<Entry>,
    /// Cases left off for what another case of the patient says.
    pub left_off: Vec<LeftOff>,
    /// Cases in the data.
    pub cases: usize,
    /// Cases with a sign of death.
    pub deceased: usize,
    /// Living, with nothing due within the days looked ahead.
    pub nothing_due: usize,
    /// What is missing of each case, in the order of the cases.
    pub case_gaps: Vec<CaseGaps>,
    /// The same added up over all cases.
    pub gaps: Gaps,
}

impl Worklist {
    /// The worklist of these cases.
    pub fn of(
        cases: &[(CaseRecord, Assessment)],
        catalogue: &Catalogue,
        settings: &Settings,
        look_ahead_days: i64,
        as_of: Date,
    ) -> Self {
        let gaps = cases
            .iter()
            .map(|(record, assessment)| CaseGaps::of(record, assessment, catalogue, settings))
            .collect();
        Self::with_gaps(cases, gaps, &[], settings, look_ahead_days, as_of)
    }

    /// As [`Worklist::of`], with the gaps of each case made before, in the same order; they take most of the time and
    /// can be made side by side. A sign of death in a row that is withheld keeps the patient's other cases off, too.
    pub fn with_gaps(
        cases: &[(CaseRecord, Assessment)],
        case_gaps: Vec<CaseGaps>,
        withheld: &[Withheld],
        settings: &Settings,
        look_ahead_days: i64,
        as_of: Date,
    ) -> Self {
        let mut of_patient: HashMap<&str, Vec<usize>> = HashMap::new();
        for (position, (record, _)) in cases.iter().enumerate() {
            of_patient
                .entry(patient_key(record))
                .or_default()
                .push(position);
        }
        let dead_withheld: HashMap<&str, &Text> = withheld
            .iter()
            .filter(|row| row.sign_of_death == Some(true))
            .filter_map(|row| Some((row.patient_key.as_deref()?, &row.case_id)))
            .collect();
        let mut list = Self {
            as_of,
            data_to: cases
                .iter()
                .map(|(_, assessment)| assessment.known.data_to())
                .max(),
            look_ahead_days,
            entries: Vec::new(),
            left_off: Vec::new(),
            cases: cases.len(),
            deceased: 0,
            nothing_due: 0,
            gaps: Gaps::of(&case_gaps),
            case_gaps: Vec::new(),
        };
        for (position, (record, assessment)) in cases.iter().enumerate() {
            if assessment.known.signs_of_death {
                list.deceased += 1;
                continue;
            }
            let Some(why) = entry::why(assessment, &settings.schedule, look_ahead_days) else {
                list.nothing_due += 1;
                continue;
            };
            let others: Vec<&(CaseRecord, Assessment)> = of_patient[patient_key(record)]
                .iter()
                .filter(|&&other| other != position)
                .map(|&other| &cases[other])
                .collect();
            let dead = others.iter().find(|(_, other)| other.known.signs_of_death);
            let dead = dead.map(|(other, _)| (&other.case_id, false)).or_else(|| {
                let row = dead_withheld.get(patient_key(record))?;
                Some((*row, true))
            });
            if let Some((because_of, withheld)) = dead {
                list.left_off.push(LeftOff {
                    case_id: record.case_id.clone(),
                    because_of: because_of.clone(),
                    withheld,
                });
                continue;
            }
            let gaps = case_gaps[position].clone();
            let mut entry = Entry::new(record, assessment, &settings.schedule, why, gaps);
            entry.later_contact = others
                .iter()
                .map(|(other, assessment)| (assessment.known.alive_to, other.case_id.clone()))
                .filter(|(date, _)| *date > entry.last_contact)
                .max();
            entry.same_patient = others
                .iter()
                .map(|(other, _)| other.case_id.clone())
                .collect();
            list.entries.push(entry);
        }
        list.case_gaps = case_gaps;
        list.entries.sort_by_cached_key(group::order);
        list
    }

    /// Days by which the data end before the as-of date, where that is more than [`DATA_LAG_DAYS`].
    pub fn data_lag(&self) -> Option<i64> {
        let days = days_between(self.data_to?, self.as_of);
        (days > DATA_LAG_DAYS).then_some(days)
    }

    /// Lines with this reason.
    pub fn count(&self, why: Why) -> usize {
        self.entries.iter().filter(|entry| entry.why == why).count()
    }

    /// The lines by clinic and group, in the order of the pages.
    pub fn clinics(&self) -> Vec<Clinic<'_>> {
        group::clinics(&self.entries)
    }
}

fn patient_key(record: &CaseRecord) -> &str {
    record
        .cells
        .patient_key
        .as_deref()
        .unwrap_or(&record.case_id)
}
