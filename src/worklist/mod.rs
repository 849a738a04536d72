//! Who is due, overdue or lost, how each stands, and what is missing.
//!
//! [`Worklist::of`] is pure: cases with their assessments go in, the list comes out, in the order in which it is read.
//! It says what is due by the schedule and what is recorded; it recommends nothing.

pub mod changes;
mod entry;
pub mod gaps;
mod group;
mod slip;
mod standing;
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
pub use gaps::{CaseGaps, Chase, ColumnGap, Gap, GapCell, GapSums, Gaps};
pub use group::{Clinic, Group, monday};
pub use slip::{EchoOn, Slip, Threshold};
pub use standing::Standing;

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
    /// What is missing, added up over all cases.
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
        let mut sums = GapSums::default();
        let standings = cases
            .iter()
            .map(|(record, assessment)| {
                let gaps = CaseGaps::of(record, assessment, catalogue, settings);
                sums.add(&gaps);
                Standing::of(record, assessment, &gaps, settings, look_ahead_days)
            })
            .collect();
        Self::gathered(standings, sums.finish(), &[], look_ahead_days, as_of)
    }

    /// As [`Worklist::of`], of cases that were looked at before, one by one, for the same days looked ahead. A sign of
    /// death in a row that is withheld keeps the patient's other cases off, too.
    pub fn gathered(
        mut cases: Vec<Standing>,
        gaps: Gaps,
        withheld: &[Withheld],
        look_ahead_days: i64,
        as_of: Date,
    ) -> Self {
        let lines: Vec<Option<Box<Entry>>> =
            cases.iter_mut().map(|case| case.entry.take()).collect();
        let mut of_patient: HashMap<&str, Vec<usize>> = HashMap::new();
        for (position, case) in cases.iter().enumerate() {
            of_patient
                .entry(&case.patient_key)
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
            data_to: cases.iter().map(|case| case.data_to).max(),
            look_ahead_days,
            entries: Vec::with_capacity(lines.iter().flatten().count()),
            left_off: Vec::new(),
            cases: cases.len(),
            deceased: 0,
            nothing_due: 0,
            gaps,
        };
        for (position, (case, line)) in cases.iter().zip(lines).enumerate() {
            if case.signs_of_death {
                list.deceased += 1;
                continue;
            }
            let Some(mut entry) = line else {
                list.nothing_due += 1;
                continue;
            };
            let others: Vec<&Standing> = of_patient[&*case.patient_key]
                .iter()
                .filter(|&&other| other != position)
                .map(|&other| &cases[other])
                .collect();
            let dead = others.iter().find(|other| other.signs_of_death);
            let dead = dead.map(|other| (&other.case_id, false)).or_else(|| {
                let row = dead_withheld.get(&*case.patient_key)?;
                Some((*row, true))
            });
            if let Some((because_of, withheld)) = dead {
                list.left_off.push(LeftOff {
                    case_id: case.case_id.clone(),
                    because_of: because_of.clone(),
                    withheld,
                });
                continue;
            }
            entry.later_contact = others
                .iter()
                .map(|other| (other.alive_to, other.case_id.clone()))
                .filter(|(date, _)| *date > entry.last_contact)
                .max();
            entry.same_patient = others.iter().map(|other| other.case_id.clone()).collect();
            list.entries.push(*entry);
        }
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
