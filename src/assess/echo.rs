//! One echocardiogram after implantation, whichever file it came from, and what follows from it alone.

use std::f64::consts::PI;

use super::bands::finite;
use crate::record::{CaseCells, Grade, VisitCells};

/// Measurements across the prosthesis.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ProsthesisEcho {
    /// Peak velocity (m/s).
    pub vmax_m_s: Option<f64>,
    /// Mean gradient (mmHg).
    pub mean_gradient_mmhg: Option<f64>,
    /// Velocity-time integral across the prosthesis (cm).
    pub av_vti_cm: Option<f64>,
    /// Outflow tract diameter proximal to the prosthesis (mm).
    pub lvot_diameter_mm: Option<f64>,
    /// Velocity-time integral proximal to the prosthesis (cm).
    pub lvot_vti_cm: Option<f64>,
    /// Left ventricular ejection fraction (%).
    pub lvef_pct: Option<f64>,
    /// Paravalvular regurgitation.
    pub paravalvular_grade: Option<Grade>,
    /// Transvalvular regurgitation.
    pub transvalvular_grade: Option<Grade>,
}

impl ProsthesisEcho {
    /// The echo before discharge.
    pub fn before_discharge(cells: &CaseCells) -> Self {
        Self {
            vmax_m_s: cells.post_vmax_m_s,
            mean_gradient_mmhg: cells.post_mean_gradient_mmhg,
            av_vti_cm: cells.post_av_vti_cm,
            lvot_diameter_mm: cells.post_lvot_diameter_mm,
            lvot_vti_cm: cells.post_lvot_vti_cm,
            lvef_pct: cells.post_lvef_pct,
            paravalvular_grade: cells.post_paravalvular_grade,
            transvalvular_grade: cells.post_transvalvular_grade,
        }
    }

    /// The echo of a visit.
    pub fn of_visit(cells: &VisitCells) -> Self {
        Self {
            vmax_m_s: cells.vmax_m_s,
            mean_gradient_mmhg: cells.mean_gradient_mmhg,
            av_vti_cm: cells.av_vti_cm,
            lvot_diameter_mm: cells.lvot_diameter_mm,
            lvot_vti_cm: cells.lvot_vti_cm,
            lvef_pct: cells.lvef_pct,
            paravalvular_grade: cells.paravalvular_grade,
            transvalvular_grade: cells.transvalvular_grade,
        }
    }

    /// Effective orifice area by continuity (cm²).
    pub fn eoa_cm2(&self) -> Option<f64> {
        continuity_area_cm2(self.lvot_diameter_mm, self.lvot_vti_cm, self.av_vti_cm)
    }

    /// Doppler velocity index: ratio of the velocity-time integrals.
    pub fn dvi(&self) -> Option<f64> {
        finite(self.lvot_vti_cm? / self.av_vti_cm?)
    }

    /// Whether total regurgitation (the worse of the two grades) is moderate or more: yes as soon as either grade
    /// is, no only where both are known.
    pub fn moderate_regurgitation(&self) -> Option<bool> {
        super::bands::any_of([
            self.paravalvular_grade
                .map(|grade| grade >= Grade::Moderate),
            self.transvalvular_grade
                .map(|grade| grade >= Grade::Moderate),
        ])
    }
}

/// Stroke volume (mL): cross-section of the outflow tract times its velocity-time integral.
pub fn stroke_volume_ml(lvot_diameter_mm: Option<f64>, lvot_vti_cm: Option<f64>) -> Option<f64> {
    let diameter_cm = lvot_diameter_mm? / 10.0;
    finite(PI / 4.0 * diameter_cm * diameter_cm * lvot_vti_cm?)
}

/// Area by the continuity equation (cm²): stroke volume over the velocity-time integral across the valve.
pub fn continuity_area_cm2(
    lvot_diameter_mm: Option<f64>,
    lvot_vti_cm: Option<f64>,
    av_vti_cm: Option<f64>,
) -> Option<f64> {
    finite(stroke_volume_ml(lvot_diameter_mm, lvot_vti_cm)? / av_vti_cm?)
}
