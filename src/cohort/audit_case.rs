//! One case as the audit sees it.

use jiff::civil::Date;

use super::options::RiskModel;
use super::statistics::Predicted;
use crate::assess::{Assessment, Endpoint};
use crate::record::{CaseCells, Catalogue, Mechanism, Text};

/// An assessed case.
#[derive(Clone, Copy)]
pub struct AuditCase<'a> {
    /// What the program says of it.
    pub assessment: &'a Assessment,
    /// How the implanted valve expands, where it is a row of the catalogue.
    pub mechanism: Option<Mechanism>,
}

impl<'a> AuditCase<'a> {
    /// The case, with the mechanism of its valve looked up.
    pub fn new(assessment: &'a Assessment, catalogue: &Catalogue) -> Self {
        Self {
            assessment,
            mechanism: crate::assess::implanted(&assessment.known.cells, catalogue)
                .map(|device| device.mechanism),
        }
    }

    /// The cells as known on the as-of date.
    pub fn cells(&self) -> &'a CaseCells {
        &self.assessment.known.cells
    }

    /// Unique key of the procedure.
    pub fn case_id(&self) -> &'a Text {
        &self.assessment.case_id
    }

    /// What links the procedures of one patient: the key, else the case itself.
    pub fn patient_key(&self) -> &'a Text {
        self.cells()
            .patient_key
            .as_ref()
            .unwrap_or(&self.assessment.case_id)
    }

    /// Day 0.
    pub fn procedure_date(&self) -> Date {
        self.assessment.known.procedure_date
    }

    /// Whether at least this many days had passed since the procedure on the as-of date.
    pub fn mature(&self, days: i64) -> bool {
        self.assessment.known.as_of_day() >= days
    }

    /// Whether the patient died on day 0 to 30; `None` where that cannot be told.
    pub fn died_30d(&self) -> Option<bool> {
        match self.assessment.results.outcomes.death_30d {
            Endpoint::Yes => Some(true),
            Endpoint::No => Some(false),
            Endpoint::NotAssessable => None,
        }
    }

    /// Predicted risk of death (%).
    pub fn risk_pct(&self, model: RiskModel) -> Option<f64> {
        match model {
            RiskModel::EuroScore2 => self
                .assessment
                .results
                .before
                .euroscore2_pct
                .or(self.cells().euroscore2_reported_pct),
            RiskModel::StsProm => self.cells().sts_prom_pct,
        }
    }

    /// Risk with its outcome, where the case is mature and both are known.
    pub fn predicted(&self, model: RiskModel) -> Option<Predicted> {
        if !self.mature(30) {
            return None;
        }
        Predicted::new(self.risk_pct(model)? / 100.0, self.died_30d()?)
    }
}
