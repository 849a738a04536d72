//! The thresholds of the definitions, by quantity: a printed number stays on its side of every one of them.

/// Mean gradient before (mmHg): high gradient.
pub(super) const BASELINE_MEAN: &[f64] = &[40.0];
/// Peak velocity before (m/s): high gradient.
pub(super) const BASELINE_VMAX: &[f64] = &[4.0];
/// Valve area (cm²): not severe above.
pub(super) const AREA: &[f64] = &[1.0];
/// Stroke volume index (mL/m²): low flow.
pub(super) const SVI: &[f64] = &[35.0];
/// Ejection fraction (%): classes of the stenosis, the risk score and the fall.
pub(super) const LVEF: &[f64] = &[20.0, 30.0, 50.0];
/// Mean gradient after (mmHg): intended performance and both stages.
pub(super) const AFTER_MEAN: &[f64] = &[20.0, 30.0];
/// Peak velocity after (m/s).
pub(super) const AFTER_VMAX: &[f64] = &[3.0];
/// Doppler velocity index after.
pub(super) const DVI: &[f64] = &[0.25];
/// Indexed area after (cm²/m²): mismatch, by body mass index.
pub(super) const MISMATCH: &[f64] = &[0.55, 0.65, 0.70, 0.85];
/// Body mass index (kg/m²).
pub(super) const BMI: &[f64] = &[30.0];
/// Right ventricular pressure (mmHg): damage stage 3 and the risk score.
pub(super) const RVSP: &[f64] = &[30.0, 55.0, 60.0];
/// Left ventricular mass index (g/m²), women and men.
pub(super) const LV_MASS: &[f64] = &[95.0, 115.0];
/// Relative wall thickness.
pub(super) const WALL: &[f64] = &[0.42];
/// Over-sizing by area (%): root injury.
pub(super) const OVERSIZING: &[f64] = &[0.0, 20.0];
/// Sheath over lumen.
pub(super) const SHEATH: &[f64] = &[1.05];
/// Aortic regurgitation index (%).
pub(super) const REGURGITATION_INDEX: &[f64] = &[25.0];
/// Left coronary height (mm).
pub(super) const CORONARY: &[f64] = &[12.0];
/// Sinus of Valsalva (mm).
pub(super) const SINUS: &[f64] = &[30.0];
/// Ascending aorta (mm).
pub(super) const AORTA: &[f64] = &[45.0];
/// KCCQ at one year.
pub(super) const KCCQ: &[f64] = &[45.0];
/// Calcium score (AU), women and men.
pub(super) const CALCIUM: &[f64] = &[800.0, 1200.0, 1600.0, 2000.0, 3000.0];
