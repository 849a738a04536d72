//! The case as its page sees it: record, assessment, catalogue and settings in one place, with small helpers.

use jiff::civil::Date;

use super::PageContext;
use super::sizes::family_rows;
use crate::assess::{Assessment, Known, ProsthesisEcho, Visit, implanted};
use crate::page::number::{digits_against, recorded, with_unit};
use crate::page::words::{DASH, DOUBT};
use crate::record::{CaseCells, CaseRecord, Catalogue, Device};

/// Columns of an echo that its mean gradient is checked against.
pub(super) const GRADIENT_COLUMNS: [&str; 2] = ["mean_gradient_mmhg", "vmax_m_s"];
/// Columns of an echo that make its area and its velocity index.
pub(super) const AREA_COLUMNS: [&str; 2] = ["av_vti_cm", "lvot_vti_cm"];

/// Everything a block of the page reads.
pub(super) struct View<'a> {
    pub record: &'a CaseRecord,
    pub assessment: &'a Assessment,
    pub catalogue: &'a Catalogue,
    pub context: &'a PageContext<'a>,
    pub known: &'a Known,
    pub cells: &'a CaseCells,
    pub device: Option<&'a Device>,
    /// Devices of the implanted family, in the order of the catalogue; of the planned one where none was implanted.
    pub family: Vec<&'a Device>,
}

impl<'a> View<'a> {
    pub fn new(
        record: &'a CaseRecord,
        assessment: &'a Assessment,
        catalogue: &'a Catalogue,
        context: &'a PageContext<'a>,
    ) -> Self {
        let known = &assessment.known;
        let device = implanted(&known.cells, catalogue);
        let planned = || catalogue.get(known.cells.planned_device_id.as_deref()?);
        Self {
            record,
            assessment,
            catalogue,
            context,
            known,
            cells: &known.cells,
            device,
            family: device
                .or_else(planned)
                .map_or_else(Vec::new, |device| family_rows(device, catalogue)),
        }
    }

    /// `†` where a check put the result in doubt.
    pub fn doubt(&self, result: &str) -> &'static str {
        if self.assessment.in_doubt.contains(&result) {
            DOUBT
        } else {
            ""
        }
    }

    /// `†` where any of the results is in doubt.
    pub fn doubt_any(&self, results: &[&str]) -> &'static str {
        results
            .iter()
            .map(|result| self.doubt(result))
            .find(|mark| !mark.is_empty())
            .unwrap_or("")
    }

    /// `†` where a failed check compares this cell of the case.
    pub fn cell_doubt(&self, columns: &[&str]) -> &'static str {
        let doubted = self.assessment.failed_checks.iter().any(|check| {
            check.visit.is_none() && check.columns.iter().any(|column| columns.contains(column))
        });
        if doubted { DOUBT } else { "" }
    }

    /// `†` where a failed check compares this cell of a counted visit.
    pub fn visit_doubt(&self, visit: usize, columns: &[&str]) -> &'static str {
        let doubted = self.assessment.failed_checks.iter().any(|check| {
            check.visit == Some(visit)
                && check.columns.iter().any(|column| columns.contains(column))
        });
        if doubted { DOUBT } else { "" }
    }

    /// `†` where a failed check compares this measurement of an echo: of a visit, else of the one before discharge.
    pub fn echo_doubt(&self, visit: Option<usize>, columns: [&str; 2]) -> &'static str {
        match visit {
            Some(position) => self.visit_doubt(position, &columns),
            None => {
                let of_the_case = columns.map(|column| format!("post_{column}"));
                self.cell_doubt(&of_the_case.each_ref().map(String::as_str))
            }
        }
    }

    /// Counted visits with anything measured by echo.
    pub fn echo_visits(&self) -> impl DoubleEndedIterator<Item = (usize, &'a Visit)> {
        self.known
            .visits
            .iter()
            .enumerate()
            .filter(|(_, visit)| has_echo(visit))
    }

    /// The date of the echo that judges the prosthesis.
    pub fn performance_date(&self) -> Option<Date> {
        match self.assessment.performance.visit {
            Some(position) => Some(self.known.visits[position].date),
            None => self.cells.post_echo_date,
        }
    }

    /// Whether a sign of death is recorded.
    pub const fn dead(&self) -> bool {
        self.known.signs_of_death
    }
}

/// Whether anything of an echo was recorded at a visit.
pub(super) fn has_echo(visit: &Visit) -> bool {
    let echo = ProsthesisEcho::of_visit(&visit.cells);
    echo.mean_gradient_mmhg.is_some()
        || echo.vmax_m_s.is_some()
        || echo.paravalvular_grade.is_some()
        || echo.transvalvular_grade.is_some()
        || echo.lvef_pct.is_some()
        || echo.eoa_cm2().is_some()
}

/// A measured value as recorded, or a dash.
pub(super) fn cell(value: Option<f64>, most: usize, limits: &[f64]) -> String {
    value.map_or_else(|| DASH.to_owned(), |value| recorded(value, most, limits))
}

/// A measured value with its unit, or a dash.
pub(super) fn measured(value: Option<f64>, most: usize, unit: &str, limits: &[f64]) -> String {
    value.map_or_else(
        || DASH.to_owned(),
        |value| with_unit(&recorded(value, most, limits), unit),
    )
}

/// A computed value, or a dash.
pub(super) fn computed(value: Option<f64>, least: usize, limits: &[f64]) -> String {
    value.map_or_else(
        || DASH.to_owned(),
        |value| digits_against(value, least, limits),
    )
}

/// Words for two values, `–` for a missing one, with one unit; only a dash where neither is known.
pub(super) fn both(first: &str, joint: &str, second: &str, unit: &str) -> String {
    if first == DASH && second == DASH {
        return DASH.to_owned();
    }
    with_unit(&format!("{first}{joint}{second}"), unit)
}
