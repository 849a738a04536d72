//! EuroSCORE II (Nashef 2012): the published logistic model for a single non-CABG procedure without surgery on the
//! thoracic aorta. It was derived on cardiac surgery, not on these procedures.

use super::bands::{above, finite};
use crate::record::{CaseCells, Grade, Nyha, Sex, Urgency};

/// Intercept of the model.
const INTERCEPT: f64 = -5.324537;
/// Coefficient of a year of age above 59.
const AGE: f64 = 0.0285181;
/// Coefficient of a single procedure that is not coronary bypass.
const SINGLE_NON_CABG: f64 = 0.0062118;

/// Whether the pulmonary term was assumed absent: no pressure, no jet, and tricuspid regurgitation none or trace
/// (project's own rule).
pub fn pulmonary_term_assumed(cells: &CaseCells, rvsp_used: Option<f64>) -> bool {
    rvsp_used.is_none()
        && cells.baseline_tr_vmax_m_s.is_none()
        && cells
            .baseline_tr_grade
            .is_some_and(|grade| grade <= Grade::Trace)
}

/// Predicted in-hospital mortality (%), Nashef 2012, table 6.
///
/// # Missing
/// Unknown where any covariate is unknown, the pulmonary term excepted as [`pulmonary_term_assumed`] says.
pub fn euroscore2_pct(
    cells: &CaseCells,
    age_years: Option<i64>,
    clearance_ml_min: Option<f64>,
    rvsp_used_mmhg: Option<f64>,
) -> Option<f64> {
    let age = age_years?;
    let years = if age <= 60 { 1.0 } else { age as f64 - 59.0 };
    let dialysis = cells.dialysis?;
    let renal = if dialysis {
        0.6421508
    } else {
        match clearance_ml_min? {
            clearance if above(clearance, 85.0) => 0.0,
            clearance if above(clearance, 50.0) => 0.303553,
            _ => 0.8592256,
        }
    };
    let nyha = match cells.nyha_class? {
        Nyha::I => 0.0,
        Nyha::II => 0.1070545,
        Nyha::III => 0.2958358,
        Nyha::IV => 0.5597929,
    };
    let ventricle = match cells.baseline_lvef_pct? {
        lvef if above(lvef, 50.0) => 0.0,
        lvef if above(lvef, 30.0) => 0.3150652,
        lvef if above(lvef, 20.0) => 0.8084096,
        _ => 0.9346919,
    };
    let pulmonary = if pulmonary_term_assumed(cells, rvsp_used_mmhg) {
        0.0
    } else {
        match rvsp_used_mmhg? {
            pressure if above(pressure, 55.0) => 0.3491475,
            pressure if above(pressure, 30.0) => 0.1788899,
            _ => 0.0,
        }
    };
    let urgency = match cells.urgency? {
        Urgency::Elective => 0.0,
        Urgency::Urgent => 0.3174673,
        Urgency::Emergency => 0.7039121,
        Urgency::Salvage => 1.362947,
    };
    let when = |present: Option<bool>, coefficient: f64| {
        present.map(|is| if is { coefficient } else { 0.0 })
    };
    let logit = INTERCEPT
        + AGE * years
        + SINGLE_NON_CABG
        + when(cells.sex.map(|sex| sex == Sex::Female), 0.2196434)?
        + renal
        + nyha
        + ventricle
        + pulmonary
        + urgency
        + when(cells.insulin_diabetes, 0.3542749)?
        + when(cells.extracardiac_arteriopathy, 0.5360268)?
        + when(cells.chronic_lung_disease, 0.1886564)?
        + when(cells.poor_mobility, 0.2407181)?
        + when(cells.previous_cardiac_surgery, 1.118599)?
        + when(cells.active_endocarditis, 0.6194522)?
        + when(cells.critical_preoperative_state, 1.086517)?
        + when(cells.recent_myocardial_infarction, 0.1528943)?
        + when(cells.ccs4_angina, 0.2226147)?;
    finite(100.0 / (1.0 + (-logit).exp()))
}
