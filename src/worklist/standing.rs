//! What the list needs to know of one case: an assessed case takes several times the room, and the list looks at all
//! of them at once.

use jiff::civil::Date;

use super::entry::{self, Entry};
use super::gaps::CaseGaps;
use crate::assess::Assessment;
use crate::record::{CaseRecord, Text};
use crate::settings::Settings;

/// How one case stands, looked at by itself.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The case.
    pub(super) case_id: Text,
    /// What links the cases of one patient: the key, else the case itself.
    pub(super) patient_key: Text,
    /// Whether anything says that the patient has died.
    pub(super) signs_of_death: bool,
    /// Latest day the patient is known to have been alive.
    pub(super) alive_to: Date,
    /// Latest date of the case.
    pub(super) data_to: Date,
    /// Its line, where by its own row it is on the list.
    pub(super) entry: Option<Box<Entry>>,
}

impl Standing {
    /// How a case stands whose gaps are these.
    pub fn of(
        record: &CaseRecord,
        assessment: &Assessment,
        gaps: &CaseGaps,
        settings: &Settings,
        look_ahead_days: i64,
    ) -> Self {
        let schedule = &settings.schedule;
        let known = &assessment.known;
        let why = (!known.signs_of_death)
            .then(|| entry::why(assessment, schedule, look_ahead_days))
            .flatten();
        let key = record.cells.patient_key.as_ref();
        Self {
            case_id: record.case_id.clone(),
            patient_key: key.unwrap_or(&record.case_id).clone(),
            signs_of_death: known.signs_of_death,
            alive_to: known.alive_to,
            data_to: known.data_to(),
            entry: why.map(|why| {
                let gaps = gaps.clone();
                Box::new(Entry::new(record, assessment, schedule, why, gaps))
            }),
        }
    }
}
