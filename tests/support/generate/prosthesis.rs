//! Echo of a prosthesis: the gradient that goes with the flow through its area.

use std::f64::consts::FRAC_PI_4;

use super::random::Random;
use super::table::Row;

/// Column names that differ between the echo before discharge and that of a visit only in a prefix.
fn column(prefix: &str, name: &str) -> String {
    format!("{prefix}{name}")
}

/// Writes velocity, gradient, both velocity-time integrals and the outflow diameter.
///
/// By continuity the integral across the valve is stroke volume / area; peak velocity goes with that integral, and the
/// mean gradient is a little more than half of 4v².
pub fn echo(
    row: &mut Row,
    random: &mut Random,
    prefix: &str,
    stroke_volume_ml: f64,
    eoa_cm2: f64,
    outflow_mm: f64,
) {
    let outflow_vti_cm =
        (stroke_volume_ml / (FRAC_PI_4 * (outflow_mm / 10.0).powi(2))).clamp(6.0, 55.0);
    let flow_ml = outflow_vti_cm * FRAC_PI_4 * (outflow_mm / 10.0).powi(2);
    let valve_vti_cm = (flow_ml / eoa_cm2).max(outflow_vti_cm * 1.08).min(200.0);
    let ratio = 20.3 + 2.3 * ((valve_vti_cm - 40.0) / 25.0).clamp(0.0, 1.0);
    let vmax_m_s =
        (valve_vti_cm / ratio * random.normal_within(1.0, 0.02, 0.95, 1.05)).clamp(0.9, 7.0);
    let mean_mmhg = 4.0 * vmax_m_s * vmax_m_s * random.normal_within(0.55, 0.015, 0.5, 0.6);
    row.number(&column(prefix, "vmax_m_s"), vmax_m_s, 2);
    row.number(&column(prefix, "mean_gradient_mmhg"), mean_mmhg, 0);
    row.number(&column(prefix, "av_vti_cm"), valve_vti_cm, 1);
    row.number(&column(prefix, "lvot_diameter_mm"), outflow_mm, 1);
    row.number(&column(prefix, "lvot_vti_cm"), outflow_vti_cm, 1);
}

/// Writes the ventricle, the leaks and the pressure of the right side.
pub fn surroundings(
    row: &mut Row,
    random: &mut Random,
    prefix: &str,
    lvef_pct: f64,
    leak: &str,
    central: &str,
    rvsp_mmhg: f64,
) {
    row.number(&column(prefix, "lvef_pct"), lvef_pct.clamp(10.0, 78.0), 0);
    row.set(&column(prefix, "paravalvular_grade"), leak);
    row.set(&column(prefix, "transvalvular_grade"), central);
    row.number(
        &column(prefix, "rvsp_mmhg"),
        (rvsp_mmhg + random.normal(-4.0, 4.0)).clamp(16.0, 110.0),
        0,
    );
}
