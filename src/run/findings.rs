//! What the assessment found in the inputs, with the place of the cells concerned.

use std::collections::HashSet;

use jiff::civil::Date;

use crate::assess::{Assessment, LeftOut};
use crate::diagnostic::{Code, Diagnostic, Place, Severity};
use crate::explain::plain;
use crate::input::FileRead;
use crate::record::{CaseAtRest, CaseRecord, Catalogue, Cells, RowPlace, Text};
use crate::worklist::CaseGaps;

/// The place of a column's cell in a row.
fn place(row: &RowPlace, column: &str, files: &[FileRead]) -> Place {
    let header = files
        .iter()
        .find(|file| file.name == row.file)
        .and_then(|file| file.header_of(column));
    Place {
        file: row.file.clone(),
        line: row.line,
        column_number: header.map_or(0, |(number, _)| number),
        column: header.map_or_else(|| column.into(), |(_, name)| name.clone()),
    }
}

fn finding(
    case_id: &Text,
    place: Place,
    severity: Severity,
    code: Code,
    found: String,
    expected: String,
) -> Diagnostic {
    Diagnostic {
        place,
        severity,
        code,
        case_id: case_id.clone(),
        found,
        expected,
        withholds: false,
    }
}

/// A procedure that came after the day the report speaks for.
pub fn after_the_report(case: &CaseAtRest, as_of: Date, files: &[FileRead]) -> Diagnostic {
    Diagnostic {
        withholds: true,
        ..finding(
            &case.case_id,
            place(&case.place, "procedure_date", files),
            Severity::Error,
            Code::AfterAsOf,
            case.procedure_date.to_string(),
            format!(
                "a procedure on or before {as_of}, the day the report speaks for: case withheld"
            ),
        )
    }
}

/// A cell whose value results lack, as a finding. There are several a case, and most say what others say too.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct MissingCell {
    place: Place,
    case_id: Text,
    expected: Text,
}

/// What was said of missing cells so far.
#[derive(Default)]
pub struct Said(HashSet<Text>);

impl MissingCell {
    /// The same, sharing its words with those that said them before.
    pub fn said_once(mut self, said: &mut Said) -> Self {
        match said.0.get(&self.expected) {
            Some(before) => self.expected = before.clone(),
            None => {
                said.0.insert(self.expected.clone());
            }
        }
        self
    }

    /// The finding in full.
    pub fn finding(&self) -> Diagnostic {
        finding(
            &self.case_id,
            self.place.clone(),
            Severity::Note,
            Code::MissingValue,
            String::new(),
            self.expected.to_string(),
        )
    }
}

/// What is missing of one case, at the cell or, where no file has the column, at the row; which results it costs.
pub fn of_gaps(record: &CaseRecord, gaps: &CaseGaps, files: &[FileRead]) -> Vec<MissingCell> {
    let costly = gaps.gaps.iter().filter(|gap| !gap.costs.is_empty());
    costly
        .map(|gap| {
            let row = gap
                .cell
                .visit_row()
                .map_or(&record.place, |visit| &record.visits[visit].place);
            let settles = match &gap.settles[..] {
                [] => String::new(),
                settles => format!("; alone it would settle {}", settles.join(", ")),
            };
            MissingCell {
                place: place(row, gap.cell.column, files),
                case_id: record.case_id.clone(),
                expected: format!(
                    "a value, to ask of: {}; without it {} cannot be told{settles}",
                    gap.cell.from(),
                    gap.costs.join(", ")
                )
                .into(),
            }
        })
        .collect()
}

/// Everything the assessment found of one case.
pub fn of_case(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    files: &[FileRead],
) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let known = &assessment.known;
    for check in &assessment.failed_checks {
        let (row, values): (&RowPlace, Vec<String>) = match check.visit {
            Some(visit) => {
                let visit = &known.visits[visit];
                let cells =
                    |column: &&str| format!("{column} {}", plain(visit.cells.value(column)));
                (
                    &record.visits[visit.row].place,
                    check.columns.iter().map(cells).collect(),
                )
            }
            None => {
                let cells =
                    |column: &&str| format!("{column} {}", plain(record.cells.value(column)));
                (&record.place, check.columns.iter().map(cells).collect())
            }
        };
        found.push(finding(
            &record.case_id,
            place(row, check.columns[0], files),
            Severity::Warning,
            Code::Contradiction,
            values.join(", "),
            format!(
                "cells that can all be right; {}: kept, results that use them are marked in doubt",
                check.says
            ),
        ));
    }
    for column in &known.after_as_of {
        found.push(finding(
            &record.case_id,
            place(&record.place, column, files),
            Severity::Note,
            Code::AfterAsOf,
            plain(record.cells.value(column)),
            format!(
                "a date on or before {}, the day the report speaks for: unknown to it",
                known.as_of
            ),
        ));
    }
    for &(row, reason) in &known.left_out {
        let (severity, code, why) = match reason {
            LeftOut::DidNotAttend => continue,
            LeftOut::AfterAsOf => (
                Severity::Note,
                Code::AfterAsOf,
                "visit after the day the report speaks for: absent",
            ),
            LeftOut::BeforeProcedure => (
                Severity::Warning,
                Code::VisitLeftOut,
                "a visit after the procedure: left out",
            ),
            LeftOut::AfterDeath => (
                Severity::Warning,
                Code::VisitLeftOut,
                "a visit before the death: left out",
            ),
            LeftOut::SecondOfDay => (
                Severity::Warning,
                Code::VisitLeftOut,
                "one visit of a case on one day: the second is left out",
            ),
        };
        let visit = &record.visits[row];
        found.push(finding(
            &record.case_id,
            place(&visit.place, "visit_date", files),
            severity,
            code,
            visit.date.to_string(),
            why.to_owned(),
        ));
    }
    let with_catalogue = !catalogue.devices().is_empty();
    for (column, device) in [
        ("device_id", &record.cells.device_id),
        ("planned_device_id", &record.cells.planned_device_id),
    ] {
        if let Some(device) = device
            .as_deref()
            .filter(|device| with_catalogue && catalogue.get(device).is_none())
        {
            found.push(finding(
                &record.case_id,
                place(&record.place, column, files),
                Severity::Warning,
                Code::DeviceNotInCatalogue,
                device.to_owned(),
                "a device_id of the devices file: kept, nothing that needs its row can be computed"
                    .to_owned(),
            ));
        }
    }
    let identity = [
        (
            "device_serial",
            &assessment.across.same_serial,
            "one serial in one case: also in case",
        ),
        (
            "birth_date",
            &assessment.across.other_birth_date,
            "one birth date for one patient_key: another in case",
        ),
        (
            "case_id",
            &assessment.across.alike,
            "a row of its own: six or more echo and CT numbers as in case",
        ),
    ];
    for (column, other, why) in identity {
        if let Some(other) = other {
            found.push(finding(
                &record.case_id,
                place(&record.place, column, files),
                Severity::Warning,
                Code::Identity,
                String::new(),
                format!("{why} {other}"),
            ));
        }
    }
    found
}
