//! After the procedure: how the prosthesis performs, at which echo, and what the catheter measured.

use super::bands::{all_of, at_least, at_most, below, finite};
use super::before::{Before, obese};
use super::echo::ProsthesisEcho;
use super::known::{Known, Visit};
use super::result::{Endpoint, Mismatch, PerformanceEcho, results};
use super::sizing::implanted;
use crate::record::{CaseCells, Catalogue};

/// First day of the window of the echo that judges the prosthesis (project's own choice; VARC-3 says 1 to 3 months).
pub const PERFORMANCE_OPENS: i64 = 23;
/// Last day of that window.
pub const PERFORMANCE_CLOSES: i64 = 105;

results! {
    /// Results of the echoes and the catheter after the procedure.
    After {
        /// Peak gradient before discharge (mmHg).
        post_peak_gradient_mmhg: Option<f64>,
        /// Effective orifice area before discharge (cm²).
        post_eoa_cm2: Option<f64>,
        /// The same, indexed (cm²/m²).
        post_eoai_cm2_m2: Option<f64>,
        /// Doppler velocity index before discharge.
        post_dvi: Option<f64>,
        /// Mean gradient before discharge minus before the procedure (mmHg).
        mean_gradient_change_mmhg: Option<f64>,
        /// The echo that judges the prosthesis.
        performance_echo: PerformanceEcho,
        /// Its mean gradient (mmHg).
        performance_mean_gradient_mmhg: Option<f64>,
        /// Its indexed effective orifice area (cm²/m²).
        performance_eoai_cm2_m2: Option<f64>,
        /// Its Doppler velocity index.
        performance_dvi: Option<f64>,
        /// Intended performance of the valve (VARC-3).
        intended_performance: Endpoint,
        /// Mismatch by the measured area.
        measured_ppm: Mismatch,
        /// Reference area of the catalogue, indexed (cm²/m²).
        predicted_eoai_cm2_m2: Option<f64>,
        /// Mismatch by the reference area.
        predicted_ppm: Mismatch,
        /// Aortic regurgitation index (%), Sinning 2012.
        aortic_regurgitation_index: Option<f64>,
        /// Index after over index before, Sinning 2013.
        aortic_regurgitation_index_ratio: Option<f64>,
        /// Valve area by catheter (cm²), Gorlin 1951.
        gorlin_ava_cm2: Option<f64>,
    }
}

/// The visit of the reference window with a mean gradient that is nearest day 30; the earlier on a tie.
pub fn reference_visit(visits: &[Visit]) -> Option<&Visit> {
    visits
        .iter()
        .filter(|visit| (PERFORMANCE_OPENS..=PERFORMANCE_CLOSES).contains(&visit.day))
        .filter(|visit| visit.cells.mean_gradient_mmhg.is_some())
        .min_by_key(|visit| ((visit.day - 30).abs(), visit.day))
}

/// The echo that judges the prosthesis, with its measurements.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Performance {
    /// Which echo it is.
    pub which: PerformanceEcho,
    /// Position of its visit in [`Known::visits`], where it is a visit.
    pub visit: Option<usize>,
    /// Its measurements; all unknown where there is none.
    pub echo: ProsthesisEcho,
}

impl Performance {
    /// The 30-day echo, else the one before discharge, else none.
    pub fn of(known: &Known) -> Self {
        if let Some(reference) = reference_visit(&known.visits) {
            return Self {
                which: PerformanceEcho::Day30,
                visit: known
                    .visits
                    .iter()
                    .position(|visit| visit.date == reference.date),
                echo: ProsthesisEcho::of_visit(&reference.cells),
            };
        }
        let discharge = ProsthesisEcho::before_discharge(&known.cells);
        let given = discharge.mean_gradient_mmhg.is_some();
        Self {
            which: if given {
                PerformanceEcho::Discharge
            } else {
                PerformanceEcho::None
            },
            visit: None,
            echo: if given {
                discharge
            } else {
                ProsthesisEcho::default()
            },
        }
    }
}

/// Whether total regurgitation after the procedure is moderate or more.
///
/// That of the performance echo where it is known; else that before discharge where it is known and, if less than
/// moderate, the performance echo has neither grade. So a moderate leak stands until a later echo has both grades.
pub fn moderate_regurgitation(
    performance: &Performance,
    discharge: &ProsthesisEcho,
) -> Option<bool> {
    if let Some(known) = performance.echo.moderate_regurgitation() {
        return Some(known);
    }
    let neither = performance.echo.paravalvular_grade.is_none()
        && performance.echo.transvalvular_grade.is_none();
    discharge
        .moderate_regurgitation()
        .filter(|&moderate| moderate || neither)
}

/// The four parts of intended performance, in the order they are named: mean gradient, velocity, DVI, regurgitation.
pub fn intended_performance_parts(
    echo: &ProsthesisEcho,
    moderate_regurgitation: Option<bool>,
) -> [Option<bool>; 4] {
    [
        echo.mean_gradient_mmhg.map(|mean| below(mean, 20.0)),
        echo.vmax_m_s.map(|jet| below(jet, 3.0)),
        echo.dvi().map(|dvi| at_least(dvi, 0.25)),
        moderate_regurgitation.map(|moderate| !moderate),
    ]
}

/// Mismatch by an indexed area (cm²/m²), thresholds by body mass index (VARC-3).
pub fn mismatch(eoai_cm2_m2: Option<f64>, bmi_kg_m2: Option<f64>) -> Mismatch {
    let (Some(eoai), Some(bmi)) = (eoai_cm2_m2, bmi_kg_m2) else {
        return Mismatch::NotAssessable;
    };
    let (severe, moderate) = if obese(bmi) {
        (0.55, 0.70)
    } else {
        (0.65, 0.85)
    };
    if at_most(eoai, severe) {
        Mismatch::Severe
    } else if at_most(eoai, moderate) {
        Mismatch::Moderate
    } else {
        Mismatch::None
    }
}

/// (Diastolic − left ventricular end-diastolic) / systolic pressure · 100 (%).
fn regurgitation_index(dbp: Option<f64>, lvedp: Option<f64>, sbp: Option<f64>) -> Option<f64> {
    finite((dbp? - lvedp?) / sbp? * 100.0)
}

/// Gorlin 1951: cardiac output over 44.3 · rate · ejection period · √mean gradient (cm²).
fn gorlin_ava_cm2(cells: &CaseCells) -> Option<f64> {
    let output_ml_min = cells.cardiac_output_l_min? * 1000.0;
    let gradient = cells.invasive_mean_gradient_before_mmhg?;
    let ejection_s_min = cells.catheter_heart_rate_bpm? * cells.systolic_ejection_period_s?;
    finite(output_ml_min / (44.3 * ejection_s_min * gradient.sqrt()))
}

impl After {
    /// Every result after the procedure.
    pub fn of(
        known: &Known,
        catalogue: &Catalogue,
        before: &Before,
        performance: &Performance,
        moderate_regurgitation: Option<bool>,
    ) -> Self {
        let cells = &known.cells;
        let discharge = ProsthesisEcho::before_discharge(cells);
        let indexed = |area: Option<f64>| finite(area? / before.bsa_m2?);
        let index_after = regurgitation_index(
            cells.aortic_dbp_after_mmhg,
            cells.lvedp_after_mmhg,
            cells.aortic_sbp_after_mmhg,
        );
        let index_before = regurgitation_index(
            cells.aortic_dbp_before_mmhg,
            cells.lvedp_before_mmhg,
            cells.aortic_sbp_before_mmhg,
        );
        let performance_eoai = indexed(performance.echo.eoa_cm2());
        let predicted_eoai =
            indexed(implanted(cells, catalogue).and_then(|device| device.cells.reference_eoa_cm2));
        Self {
            post_peak_gradient_mmhg: cells.post_vmax_m_s.map(|jet| 4.0 * jet * jet),
            post_eoa_cm2: discharge.eoa_cm2(),
            post_eoai_cm2_m2: indexed(discharge.eoa_cm2()),
            post_dvi: discharge.dvi(),
            mean_gradient_change_mmhg: cells
                .post_mean_gradient_mmhg
                .zip(cells.baseline_mean_gradient_mmhg)
                .map(|(after, before)| after - before),
            performance_echo: performance.which,
            performance_mean_gradient_mmhg: performance.echo.mean_gradient_mmhg,
            performance_eoai_cm2_m2: performance_eoai,
            performance_dvi: performance.echo.dvi(),
            intended_performance: all_of(intended_performance_parts(
                &performance.echo,
                moderate_regurgitation,
            ))
            .into(),
            measured_ppm: mismatch(performance_eoai, before.bmi_kg_m2),
            predicted_eoai_cm2_m2: predicted_eoai,
            predicted_ppm: mismatch(predicted_eoai, before.bmi_kg_m2),
            aortic_regurgitation_index: index_after,
            aortic_regurgitation_index_ratio: index_after
                .zip(index_before)
                .and_then(|(after, before)| finite(after / before)),
            gorlin_ava_cm2: gorlin_ava_cm2(cells),
        }
    }
}
