//! Cases written by hand, cell by cell, and what becomes of them.

use jiff::civil::Date;
use valvefolio::assess::{Assessment, Known, Likeness, across_cases, assess};
use valvefolio::record::{CaseRecord, Catalogue};
use valvefolio::settings::Settings;
use valvefolio::worklist::{Entry, Worklist};

pub use crate::by_hand_records::{case, with_visit};

/// A date from its text.
pub fn day(text: &str) -> Date {
    text.parse().expect("a date")
}

/// The cases as assessed on a day.
pub fn assessed(cases: Vec<CaseRecord>, as_of: &str) -> Vec<(CaseRecord, Assessment)> {
    let known: Vec<(CaseRecord, Known)> = cases
        .into_iter()
        .filter_map(|case| {
            let known = Known::on(&case, day(as_of))?;
            Some((case, known))
        })
        .collect();
    let likenesses: Vec<_> = known
        .iter()
        .map(|(case, known)| Likeness::of(case, known))
        .collect();
    let across = across_cases(&likenesses);
    known
        .into_iter()
        .zip(across)
        .map(|((case, known), across)| {
            let assessment = assess(
                &case,
                known,
                &Catalogue::default(),
                &Settings::default(),
                across,
            );
            (case, assessment)
        })
        .collect()
}

/// The worklist of these cases on a day.
pub fn worklist(cases: Vec<CaseRecord>, as_of: &str, look_ahead_days: i64) -> Worklist {
    Worklist::of(
        &assessed(cases, as_of),
        &Catalogue::default(),
        &Settings::default(),
        look_ahead_days,
        day(as_of),
    )
}

/// The one line of a case on a day; `None` where it is not on the list.
pub fn line(case: CaseRecord, as_of: &str, look_ahead_days: i64) -> Option<Entry> {
    let mut list = worklist(vec![case], as_of, look_ahead_days);
    assert!(list.entries.len() <= 1, "a case stands on the list once");
    list.entries.pop()
}
