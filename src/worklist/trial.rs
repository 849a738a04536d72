//! Trying a blank cell: what would be known if it were filled, whatever the answer.

use jiff::civil::Date;

use crate::assess::{Assessment, Known, assess, lacking};
use crate::dictionary;
use crate::record::{CaseRecord, Catalogue, Cells, Parsed};
use crate::settings::Settings;

use super::gaps::GapCell;

/// A case whose blank cells can be filled on trial.
pub(super) struct Trial<'a> {
    /// The record as read.
    pub record: &'a CaseRecord,
    /// What is said of it as it stands.
    pub assessment: &'a Assessment,
    /// The devices file.
    pub catalogue: &'a Catalogue,
    /// What the centre chose.
    pub settings: &'a Settings,
}

/// Most answers tried of one cell.
const MOST_ANSWERS: usize = 6;

impl Trial<'_> {
    /// How many different answers a cell can have, as far as they can matter.
    fn answers(&self, cell: &GapCell) -> usize {
        match kind(cell) {
            "yes_no" => 2,
            "number" | "integer" => 3,
            "choice" => words(cell).min(MOST_ANSWERS),
            "date" => 1,
            _ => self.catalogue.devices().len().clamp(1, 2),
        }
    }

    /// Names of results that are still lacking once these cells hold their `answer`-th answer.
    fn lacking_with<'c>(
        &self,
        cells: impl Iterator<Item = &'c GapCell>,
        answer: usize,
    ) -> Vec<&'static str> {
        let mut record = self.record.clone();
        for cell in cells {
            let parsed = self.answer(cell, answer);
            match cell.row {
                None => set(&mut *record.cells, cell.column, parsed),
                Some(row) => set(&mut *record.visits[row].cells, cell.column, parsed),
            }
        }
        let Some(known) = Known::on(&record, self.assessment.known.as_of) else {
            return Vec::new();
        };
        let across = self.assessment.across.clone();
        let assessed = assess(&record, known, self.catalogue, self.settings, across);
        lacking_results(&assessed)
    }

    /// Results, out of `lacking`, that are known whatever the answer of this one cell.
    pub fn settled(&self, cell: &GapCell, lacking: &[&'static str]) -> Vec<&'static str> {
        let mut settled = lacking.to_vec();
        for answer in 0..self.answers(cell) {
            if settled.is_empty() {
                break;
            }
            let still = self.lacking_with(std::iter::once(cell), answer);
            settled.retain(|name| !still.contains(name));
        }
        settled
    }

    /// Results, out of `lacking`, that some answers of all these cells together would make known.
    pub fn within_reach<'c>(
        &self,
        cells: impl Iterator<Item = &'c GapCell> + Clone,
        lacking: &[&'static str],
    ) -> Vec<&'static str> {
        let mut reached: Vec<&'static str> = Vec::new();
        for answer in 0..3 {
            let still = self.lacking_with(cells.clone(), answer);
            reached.extend(lacking.iter().filter(|name| !still.contains(name)));
        }
        lacking
            .iter()
            .copied()
            .filter(|name| reached.contains(name))
            .collect()
    }

    /// The `number`-th answer a cell could have.
    fn answer(&self, cell: &GapCell, number: usize) -> Parsed {
        let column = dictionary::column(cell.table, cell.column);
        let value = || {
            let (low, high) = column.map_or((0.0, 1.0), |column| {
                let low = column.flag_below.or(column.reject_below).unwrap_or(0.0);
                let high = column.flag_above.or(column.reject_above);
                (low, high.unwrap_or(low + 10.0))
            });
            [low.midpoint(high), low, high][number % 3]
        };
        match kind(cell) {
            "yes_no" => Parsed::YesNo(number % 2 == 1),
            "number" => Parsed::Number(value()),
            "integer" => Parsed::Integer(value().round() as i64),
            "choice" => Parsed::Choice(number % words(cell).max(1)),
            "date" => Parsed::Date(self.date(cell.column)),
            _ => {
                let devices = self.catalogue.devices();
                let device = if number.is_multiple_of(2) {
                    devices.first()
                } else {
                    devices.last()
                };
                Parsed::Text(device.map_or_else(|| "x".into(), |device| device.device_id.clone()))
            }
        }
    }

    /// A day that a blank date could hold: a birth 80 years before, a stay around the procedure, else the as-of date.
    fn date(&self, column: &str) -> Date {
        let known = &self.assessment.known;
        match column {
            "birth_date" => crate::date::anniversary(known.procedure_date, -80),
            "admission_date" | "discharge_date" => Some(known.procedure_date),
            _ => None,
        }
        .unwrap_or(known.as_of)
    }
}

/// Names of the results a reader still lacks.
pub(super) fn lacking_results(assessment: &Assessment) -> Vec<&'static str> {
    let mut names = Vec::new();
    assessment.results.each(|name, value| {
        if lacking(value) {
            names.push(name);
        }
    });
    names
}

fn kind(cell: &GapCell) -> &'static str {
    dictionary::column(cell.table, cell.column).map_or("text", |column| column.kind.as_str())
}

fn words(cell: &GapCell) -> usize {
    dictionary::column(cell.table, cell.column).map_or(1, |column| column.words().count())
}

fn set<C: Cells>(cells: &mut C, column: &str, parsed: Parsed) {
    if let Some(field) = C::field(column) {
        (field.set)(cells, parsed);
    }
}
