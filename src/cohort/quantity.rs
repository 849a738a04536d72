//! The continuous measures, and the change of the mean gradient.

use super::audit_case::AuditCase;
use super::options::RiskModel;

/// The value of one case for the continuous measure of this name in cohort.csv, in the unit given there.
pub fn value(measure: &str, case: &AuditCase<'_>) -> Option<f64> {
    let results = &case.assessment.results;
    let cells = case.cells();
    match measure {
        "age_years" => results.before.age_years.map(|years| years as f64),
        "euroscore2_pct" => case.risk_pct(RiskModel::EuroScore2),
        "sts_prom_pct" => cells.sts_prom_pct,
        "baseline_mean_gradient_mmhg" => cells.baseline_mean_gradient_mmhg,
        "performance_mean_gradient_mmhg" => results.after.performance_mean_gradient_mmhg,
        "baseline_ava_used_cm2" => results.before.baseline_ava_used_cm2,
        "annulus_area_mm2" => cells.annulus_area_mm2,
        "area_oversizing_pct" => results.sizing.area_oversizing_pct,
        "length_of_stay_days" => results.outcomes.length_of_stay_days.map(|days| days as f64),
        _ => None,
    }
}

/// Mean gradient of the performance echo minus that before the procedure (mmHg).
pub fn gradient_change_mmhg(case: &AuditCase<'_>) -> Option<f64> {
    let after = case
        .assessment
        .results
        .after
        .performance_mean_gradient_mmhg?;
    Some(after - case.cells().baseline_mean_gradient_mmhg?)
}
