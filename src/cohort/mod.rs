//! What the cases of a period add up to.
//!
//! [`Cohort::of`] is pure: cases with their assessments and the options go in, every number of the summary comes out.
//! Cases are put in the order of their procedure dates first, so that the order of the files changes nothing.

mod audit_case;
mod deterioration_of;
mod group;
mod measures;
mod options;
mod period;
mod proportion;
mod quantity;
pub mod statistics;
mod survival_of;
mod table;

use crate::assess::Assessment;
use crate::input::Withheld;
use crate::record::{CaseRecord, Catalogue};

pub use audit_case::AuditCase;
pub use group::{Dimension, Grouping, NOT_RECORDED};
pub use measures::{MeasureRow, Selection};
pub use options::{CohortOptions, RiskModel};
pub use period::{Period, PeriodName, previous};
pub use proportion::{Counts, Verdict};
pub use table::COLUMNS;

/// Everything the cohort summary says.
#[derive(Clone, Debug, PartialEq)]
pub struct Cohort {
    /// The options it was made with.
    pub options: CohortOptions,
    /// The spans of procedure dates.
    pub periods: [Period; 3],
    /// Every row of cohort.csv.
    pub rows: Vec<MeasureRow>,
    /// Withheld cases, in their order.
    pub withheld: Vec<Withheld>,
}

impl Cohort {
    /// The summary of these cases.
    pub fn of(
        cases: &[(&CaseRecord, &Assessment)],
        catalogue: &Catalogue,
        options: &CohortOptions,
        withheld: &[Withheld],
    ) -> Self {
        let mut cases: Vec<AuditCase<'_>> = cases
            .iter()
            .map(|(record, assessment)| AuditCase::new(record, assessment, catalogue))
            .collect();
        cases.sort_by(|a, b| {
            (a.procedure_date(), a.case_id()).cmp(&(b.procedure_date(), b.case_id()))
        });
        let periods = Period::all(options);
        let groupings: Vec<Grouping> = Dimension::ALL
            .into_iter()
            .map(|dimension| Grouping::of(dimension, &cases, options))
            .collect();
        let selections = measures::selections(&cases, &groupings, &periods);
        let rows = measures::rows(&cases, &selections, options);
        let mut withheld = withheld.to_vec();
        withheld.sort_by(|a, b| a.place.cmp(&b.place));
        Self {
            options: options.clone(),
            periods,
            rows,
            withheld,
        }
    }

    /// The row of a measure.
    pub fn row(&self, measure: &str, group: &str, period: PeriodName) -> Option<&MeasureRow> {
        self.rows
            .iter()
            .find(|row| row.measure == measure && row.group == group && row.period == period.word())
    }

    /// cohort.csv as bytes.
    pub fn csv_bytes(&self) -> Vec<u8> {
        table::csv_bytes(&self.rows)
    }
}
