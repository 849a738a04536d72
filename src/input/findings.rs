//! Findings of one file, collected while it is read.

use std::sync::Arc;

use crate::diagnostic::{Code, Diagnostic, Place, Severity};
use crate::record::Text;

/// The findings of one file.
pub(super) struct Findings {
    /// The file as the user named it.
    pub file: Arc<str>,
    /// What was found so far.
    pub list: Vec<Diagnostic>,
}

impl Findings {
    /// No findings in this file yet.
    pub fn new(file: &Arc<str>) -> Self {
        Self {
            file: Arc::clone(file),
            list: Vec::new(),
        }
    }

    /// A finding about the file as a whole.
    pub fn whole(&mut self) -> Spot<'_> {
        self.row(0)
    }

    /// A finding about a row.
    pub fn row(&mut self, line: u64) -> Spot<'_> {
        let place = Place {
            file: Arc::clone(&self.file),
            line,
            ..Place::default()
        };
        Spot {
            list: &mut self.list,
            place,
            case_id: Text::default(),
            withholds: false,
        }
    }

    /// A finding about the cell at this position (counted from 0) of a row.
    pub fn at(&mut self, line: u64, position: usize, header: &Arc<str>) -> Spot<'_> {
        let mut spot = self.row(line);
        spot.place.column_number = position + 1;
        spot.place.column = header_for_messages(header);
        spot
    }
}

/// A header of sensible length; one of a million characters is cut.
fn header_for_messages(header: &Arc<str>) -> Arc<str> {
    if header.chars().nth(super::hidden::SHOWN * 2).is_some() {
        super::hidden::shortened(header).into()
    } else {
        Arc::clone(header)
    }
}

/// Where a finding is about to be noted.
pub(super) struct Spot<'f> {
    list: &'f mut Vec<Diagnostic>,
    place: Place,
    case_id: Text,
    withholds: bool,
}

impl Spot<'_> {
    /// The case concerned.
    pub fn of_case(mut self, case_id: &Text) -> Self {
        self.case_id = case_id.clone();
        self
    }
    /// The finding withholds the whole case.
    pub fn withholding(mut self, withholds: bool) -> Self {
        self.withholds = withholds;
        self
    }
    /// Notes the finding.
    pub fn add(
        self,
        severity: Severity,
        code: Code,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) {
        self.list.push(Diagnostic {
            place: self.place,
            severity,
            code,
            case_id: self.case_id,
            found: found.into(),
            expected: expected.into(),
            withholds: self.withholds,
        });
    }
}
