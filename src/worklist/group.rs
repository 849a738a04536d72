//! The order of the list: by clinic, findings first, then by week.

use jiff::civil::{Date, Weekday};

use super::entry::{Entry, FINDINGS, Why};
use crate::date::plus_days;
use crate::record::Text;

/// Lines that stand together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Something was found that goes before the order of dates.
    Findings,
    /// Due in the week that starts on this Monday.
    Week(Date),
    /// Followed elsewhere, declined or unreachable, as recorded.
    Apart,
    /// The visit is done; only its echo is outstanding.
    EchoOutstanding,
}

impl Group {
    /// The group of a line.
    pub fn of(entry: &Entry) -> Self {
        if !entry.findings.is_empty() {
            Self::Findings
        } else if entry.apart() {
            Self::Apart
        } else if entry.why == Why::EchoOutstanding {
            Self::EchoOutstanding
        } else {
            Self::Week(monday(entry.visit.due))
        }
    }
}

/// The Monday of the week of a day (ISO 8601: weeks start on Monday).
pub fn monday(date: Date) -> Date {
    let back = i64::from(date.weekday().since(Weekday::Monday));
    plus_days(date, -back).unwrap_or(date)
}

/// The lines of one clinic.
#[derive(Clone, Debug, PartialEq)]
pub struct Clinic<'a> {
    /// Its name; `None` where neither follow_up_site nor site is recorded.
    pub name: Option<Text>,
    /// Groups in their order, none empty.
    pub groups: Vec<(Group, Vec<&'a Entry>)>,
}

impl Clinic<'_> {
    /// Number of lines.
    pub fn len(&self) -> usize {
        self.groups.iter().map(|(_, entries)| entries.len()).sum()
    }

    /// Whether it has no line; never so of a clinic of a worklist.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Where a line stands: clinics by name, those without one last; groups; the gravest finding; due day; case.
pub(super) fn order(entry: &Entry) -> (bool, Option<Text>, Group, usize, Date, Text) {
    let gravest = FINDINGS
        .iter()
        .position(|flag| entry.findings.contains(flag));
    (
        entry.clinic.is_none(),
        entry.clinic.clone(),
        Group::of(entry),
        gravest.unwrap_or(FINDINGS.len()),
        entry.visit.due,
        entry.case_id.clone(),
    )
}

/// Sorted lines, parted.
pub(super) fn clinics(entries: &[Entry]) -> Vec<Clinic<'_>> {
    let mut clinics: Vec<Clinic<'_>> = Vec::new();
    for entry in entries {
        if clinics.last().is_none_or(|last| last.name != entry.clinic) {
            clinics.push(Clinic {
                name: entry.clinic.clone(),
                groups: Vec::new(),
            });
        }
        let Some(clinic) = clinics.last_mut() else {
            continue;
        };
        let group = Group::of(entry);
        match clinic.groups.last_mut() {
            Some((last, entries)) if *last == group => entries.push(entry),
            _ => clinic.groups.push((group, vec![entry])),
        }
    }
    clinics
}
