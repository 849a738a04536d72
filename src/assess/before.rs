//! Before the procedure: body, stenosis, flow, ventricle, cardiac damage.

use std::f64::consts::PI;

use super::bands::{above, at_least, below, finite};
use super::echo::{continuity_area_cm2, stroke_volume_ml};
use super::known::Known;
use super::result::{CalciumLikelihood, CardiacDamageStage, LvGeometry, StenosisClass, results};
use super::risk;
use crate::date::completed_years;
use crate::dictionary;
use crate::record::{CaseCells, Grade, Morphology, Rhythm, Sex};
use crate::settings::{BsaFormula, Settings};

/// Micromoles of creatinine per litre in one milligram per decilitre.
pub const CREATININE_UMOL_L_PER_MG_DL: f64 = 88.4;

results! {
    /// Results that speak of the patient before the procedure.
    Before {
        /// Completed years at the procedure.
        age_years: Option<i64>,
        /// Body mass index (kg/m²).
        bmi_kg_m2: Option<f64>,
        /// Body surface area (m²).
        bsa_m2: Option<f64>,
        /// Creatinine clearance (mL/min), Cockcroft 1976.
        creatinine_clearance_ml_min: Option<f64>,
        /// EuroSCORE II (%), Nashef 2012.
        euroscore2_pct: Option<f64>,
        /// Peak gradient (mmHg).
        baseline_peak_gradient_mmhg: Option<f64>,
        /// Stroke volume (mL).
        baseline_stroke_volume_ml: Option<f64>,
        /// Stroke volume index (mL/m²).
        baseline_svi_ml_m2: Option<f64>,
        /// Valve area by continuity (cm²).
        baseline_ava_computed_cm2: Option<f64>,
        /// The computed area, else the reported one (cm²).
        baseline_ava_used_cm2: Option<f64>,
        /// Indexed area (cm²/m²).
        baseline_avai_cm2_m2: Option<f64>,
        /// Doppler velocity index.
        baseline_dvi: Option<f64>,
        /// Valvulo-arterial impedance (mmHg/(mL/m²)), Briand 2005.
        baseline_zva_mmhg_ml_m2: Option<f64>,
        /// Energy loss index (cm²/m²), Garcia 2000.
        baseline_energy_loss_index_cm2_m2: Option<f64>,
        /// Severity and flow pattern.
        stenosis_class: StenosisClass,
        /// Right ventricular systolic pressure used (mmHg).
        baseline_rvsp_used_mmhg: Option<f64>,
        /// Left ventricular mass index (g/m²), Lang 2015.
        lv_mass_index_g_m2: Option<f64>,
        /// Relative wall thickness, Lang 2015.
        relative_wall_thickness: Option<f64>,
        /// Geometry of the left ventricle.
        lv_geometry: LvGeometry,
        /// Likelihood of severe stenosis by the calcium score.
        calcium_likelihood: CalciumLikelihood,
        /// Stage of cardiac damage.
        cardiac_damage_stage: CardiacDamageStage,
    }
}

impl Before {
    /// Every result before the procedure.
    pub fn of(known: &Known, settings: &Settings) -> Self {
        let cells = &known.cells;
        let age_years = age_years(known);
        let bsa_m2 = bsa_m2(cells, settings.bsa_formula);
        let clearance = creatinine_clearance_ml_min(cells, age_years);
        let rvsp_used = rvsp_used_mmhg(cells);
        let stenosis = Stenosis::of(&StenosisInputs::of(cells, bsa_m2));
        let lv_mass_index = lv_mass_g(cells)
            .zip(bsa_m2)
            .and_then(|(mass, bsa)| finite(mass / bsa));
        let relative_wall_thickness = cells
            .baseline_posterior_wall_mm
            .zip(cells.baseline_lvedd_mm)
            .and_then(|(wall, cavity)| finite(2.0 * wall / cavity));
        let hypertrophy = hypertrophy(cells.sex, lv_mass_index);
        Self {
            age_years,
            bmi_kg_m2: bmi_kg_m2(cells),
            bsa_m2,
            creatinine_clearance_ml_min: clearance,
            euroscore2_pct: risk::euroscore2_pct(cells, age_years, clearance, rvsp_used),
            baseline_peak_gradient_mmhg: peak_gradient_mmhg(cells),
            baseline_stroke_volume_ml: stenosis.stroke_volume_ml,
            baseline_svi_ml_m2: stenosis.svi_ml_m2,
            baseline_ava_computed_cm2: stenosis.ava_computed_cm2,
            baseline_ava_used_cm2: stenosis.ava_used_cm2,
            baseline_avai_cm2_m2: stenosis
                .ava_used_cm2
                .zip(bsa_m2)
                .and_then(|(area, bsa)| finite(area / bsa)),
            baseline_dvi: dvi(cells),
            baseline_zva_mmhg_ml_m2: zva(cells, stenosis.svi_ml_m2),
            baseline_energy_loss_index_cm2_m2: energy_loss_index(
                cells,
                stenosis.ava_used_cm2,
                bsa_m2,
            ),
            stenosis_class: stenosis.class,
            baseline_rvsp_used_mmhg: rvsp_used,
            lv_mass_index_g_m2: lv_mass_index,
            relative_wall_thickness,
            lv_geometry: lv_geometry(hypertrophy, relative_wall_thickness),
            calcium_likelihood: calcium_likelihood(cells),
            cardiac_damage_stage: cardiac_damage_stage(&damage_criteria(
                known,
                rvsp_used,
                lv_mass_index,
            )),
        }
    }
}

/// Completed years at the procedure from the birth date; else the age cell, rounded down.
///
/// # Missing
/// Unknown where the birth date gives an age outside what the age column takes as believable.
fn age_years(known: &Known) -> Option<i64> {
    let Some(birth) = known.cells.birth_date else {
        return known.cells.age_years.map(|years| years.floor() as i64);
    };
    let years = completed_years(birth, known.procedure_date);
    let limits = dictionary::age_limits();
    (years as f64 >= limits.0 && years as f64 <= limits.1).then_some(years)
}

/// Weight over height squared (kg/m²).
fn bmi_kg_m2(cells: &CaseCells) -> Option<f64> {
    let height_m = cells.height_cm? / 100.0;
    finite(cells.weight_kg? / (height_m * height_m))
}

/// Body surface area (m²) by the chosen formula (Du Bois 1916 or Mosteller 1987).
fn bsa_m2(cells: &CaseCells, formula: BsaFormula) -> Option<f64> {
    let (kg, cm) = (cells.weight_kg?, cells.height_cm?);
    finite(match formula {
        BsaFormula::DuBois => 0.007184 * kg.powf(0.425) * cm.powf(0.725),
        BsaFormula::Mosteller => (cm * kg / 3600.0).sqrt(),
    })
}

/// Cockcroft 1976 (mL/min), with completed years and actual weight.
fn creatinine_clearance_ml_min(cells: &CaseCells, age_years: Option<i64>) -> Option<f64> {
    let creatinine_mg_dl = cells.creatinine_umol_l? / CREATININE_UMOL_L_PER_MG_DL;
    let by_sex = match cells.sex? {
        Sex::Female => 0.85,
        Sex::Male => 1.0,
    };
    finite((140.0 - age_years? as f64) * cells.weight_kg? * by_sex / (72.0 * creatinine_mg_dl))
}

/// Simplified Bernoulli (mmHg); the outflow velocity is subtracted where it is known and above 1.5 m/s.
fn peak_gradient_mmhg(cells: &CaseCells) -> Option<f64> {
    let jet = cells.baseline_vmax_m_s?;
    let outflow = cells
        .baseline_lvot_vmax_m_s
        .filter(|&velocity| above(velocity, 1.5))
        .unwrap_or(0.0);
    finite(4.0 * (jet * jet - outflow * outflow)).filter(|&gradient| gradient >= 0.0)
}

/// What [`Stenosis`] is computed from; apart from the cells, so that a usual error can be tried on one input.
#[derive(Clone, Copy, Debug)]
pub(super) struct StenosisInputs {
    pub valve_morphology: Option<Morphology>,
    pub mean_gradient_mmhg: Option<f64>,
    pub vmax_m_s: Option<f64>,
    pub lvot_diameter_mm: Option<f64>,
    pub lvot_vti_cm: Option<f64>,
    pub av_vti_cm: Option<f64>,
    pub ava_cm2: Option<f64>,
    pub lvef_pct: Option<f64>,
    pub bsa_m2: Option<f64>,
}

impl StenosisInputs {
    /// The cells of the baseline echo, with the body surface area.
    pub fn of(cells: &CaseCells, bsa_m2: Option<f64>) -> Self {
        Self {
            valve_morphology: cells.valve_morphology,
            mean_gradient_mmhg: cells.baseline_mean_gradient_mmhg,
            vmax_m_s: cells.baseline_vmax_m_s,
            lvot_diameter_mm: cells.baseline_lvot_diameter_mm,
            lvot_vti_cm: cells.baseline_lvot_vti_cm,
            av_vti_cm: cells.baseline_av_vti_cm,
            ava_cm2: cells.baseline_ava_cm2,
            lvef_pct: cells.baseline_lvef_pct,
            bsa_m2,
        }
    }
}

/// The results that the stenosis class rests on.
#[derive(Clone, Copy, Debug)]
pub struct Stenosis {
    /// Stroke volume (mL).
    pub stroke_volume_ml: Option<f64>,
    /// Stroke volume index (mL/m²).
    pub svi_ml_m2: Option<f64>,
    /// Valve area by continuity (cm²).
    pub ava_computed_cm2: Option<f64>,
    /// The computed area, else the reported one (cm²).
    pub ava_used_cm2: Option<f64>,
    /// Severity and flow pattern.
    pub class: StenosisClass,
}

impl Stenosis {
    /// Stroke volume, areas and class from the baseline echo.
    pub(super) fn of(inputs: &StenosisInputs) -> Self {
        let stroke_volume_ml = stroke_volume_ml(inputs.lvot_diameter_mm, inputs.lvot_vti_cm);
        let svi_ml_m2 = stroke_volume_ml
            .zip(inputs.bsa_m2)
            .and_then(|(volume, bsa)| finite(volume / bsa));
        let ava_computed_cm2 = continuity_area_cm2(
            inputs.lvot_diameter_mm,
            inputs.lvot_vti_cm,
            inputs.av_vti_cm,
        );
        let ava_used_cm2 = ava_computed_cm2.or(inputs.ava_cm2);
        Self {
            stroke_volume_ml,
            svi_ml_m2,
            ava_computed_cm2,
            ava_used_cm2,
            class: stenosis_class(inputs, ava_used_cm2, svi_ml_m2),
        }
    }
}

/// Severity and flow pattern (ESC/EACTS 2021: low flow is an index of 35 mL/m² or less).
fn stenosis_class(inputs: &StenosisInputs, area: Option<f64>, svi: Option<f64>) -> StenosisClass {
    if inputs.valve_morphology == Some(Morphology::SurgicalBioprosthesis) {
        return StenosisClass::NotApplicable;
    }
    let (mean, jet) = (inputs.mean_gradient_mmhg, inputs.vmax_m_s);
    if mean.is_some_and(|mean| at_least(mean, 40.0)) || jet.is_some_and(|jet| at_least(jet, 4.0)) {
        return StenosisClass::HighGradient;
    }
    if mean.is_none() || jet.is_none() {
        return StenosisClass::NotAssessable;
    }
    let Some(area) = area else {
        return StenosisClass::NotAssessable;
    };
    if above(area, 1.0) {
        return StenosisClass::NotSevere;
    }
    match (svi, inputs.lvef_pct) {
        (Some(svi), _) if above(svi, 35.0) => StenosisClass::NormalFlowLowGradient,
        (Some(_), Some(lvef)) if below(lvef, 50.0) => StenosisClass::ClassicalLowFlowLowGradient,
        (Some(_), Some(_)) => StenosisClass::ParadoxicalLowFlowLowGradient,
        _ => StenosisClass::NotAssessable,
    }
}

/// Ratio of velocity-time integrals, else of peak velocities.
fn dvi(cells: &CaseCells) -> Option<f64> {
    let integrals = cells.baseline_lvot_vti_cm.zip(cells.baseline_av_vti_cm);
    let (outflow, valve) =
        integrals.or(cells.baseline_lvot_vmax_m_s.zip(cells.baseline_vmax_m_s))?;
    finite(outflow / valve)
}

/// Valvulo-arterial impedance (mmHg/(mL/m²)), Briand 2005.
fn zva(cells: &CaseCells, svi: Option<f64>) -> Option<f64> {
    finite((cells.baseline_sbp_mmhg? + cells.baseline_mean_gradient_mmhg?) / svi?)
}

/// Energy loss index (cm²/m²), Garcia 2000; the aortic area is that of the sinotubular junction.
///
/// # Missing
/// Unknown where the valve area is not smaller than the aortic area.
fn energy_loss_index(cells: &CaseCells, area: Option<f64>, bsa: Option<f64>) -> Option<f64> {
    let junction_cm = cells.sinotubular_junction_mm? / 10.0;
    let aorta = PI / 4.0 * junction_cm * junction_cm;
    let area = area.filter(|&area| below(area, aorta))?;
    finite(area * aorta / (aorta - area) / bsa?)
}

/// The reported pressure, else 4 TRmax² + right atrial pressure (mmHg).
fn rvsp_used_mmhg(cells: &CaseCells) -> Option<f64> {
    cells.baseline_rvsp_mmhg.or_else(|| {
        let jet = cells.baseline_tr_vmax_m_s?;
        finite(4.0 * jet * jet + cells.baseline_right_atrial_pressure_mmhg?)
    })
}

/// Left ventricular mass (g) by the cube formula (Lang 2015), walls and cavity in cm.
fn lv_mass_g(cells: &CaseCells) -> Option<f64> {
    let septum = cells.baseline_septum_mm? / 10.0;
    let cavity = cells.baseline_lvedd_mm? / 10.0;
    let wall = cells.baseline_posterior_wall_mm? / 10.0;
    finite(0.8 * 1.04 * ((septum + cavity + wall).powi(3) - cavity.powi(3)) + 0.6)
}

/// Hypertrophy: mass index above 95 g/m² (women) or 115 g/m² (men), Lang 2015.
fn hypertrophy(sex: Option<Sex>, lv_mass_index: Option<f64>) -> Option<bool> {
    let limit = match sex? {
        Sex::Female => 95.0,
        Sex::Male => 115.0,
    };
    Some(above(lv_mass_index?, limit))
}

fn lv_geometry(hypertrophy: Option<bool>, relative_wall_thickness: Option<f64>) -> LvGeometry {
    match (
        hypertrophy,
        relative_wall_thickness.map(|ratio| above(ratio, 0.42)),
    ) {
        (Some(false), Some(false)) => LvGeometry::Normal,
        (Some(false), Some(true)) => LvGeometry::ConcentricRemodelling,
        (Some(true), Some(false)) => LvGeometry::EccentricHypertrophy,
        (Some(true), Some(true)) => LvGeometry::ConcentricHypertrophy,
        _ => LvGeometry::NotAssessable,
    }
}

/// Likelihood of severe stenosis by the calcium score; thresholds by sex (ESC/EACTS 2017, 2021).
fn calcium_likelihood(cells: &CaseCells) -> CalciumLikelihood {
    if cells.valve_morphology == Some(Morphology::SurgicalBioprosthesis) {
        return CalciumLikelihood::NotApplicable;
    }
    let (Some(sex), Some(score)) = (cells.sex, cells.calcium_score_au) else {
        return CalciumLikelihood::NotAssessable;
    };
    let [unlikely_below, likely_from, very_likely_from] = match sex {
        Sex::Female => [800.0, 1200.0, 1600.0],
        Sex::Male => [1600.0, 2000.0, 3000.0],
    };
    if at_least(score, very_likely_from) {
        CalciumLikelihood::VeryLikely
    } else if at_least(score, likely_from) {
        CalciumLikelihood::Likely
    } else if below(score, unlikely_below) {
        CalciumLikelihood::Unlikely
    } else {
        CalciumLikelihood::Intermediate
    }
}

/// Atrial fibrillation before the procedure; known absent only where the history says so, or where the rhythm is
/// another one and nothing is said of the history.
pub fn atrial_fibrillation(known: &Known) -> Option<bool> {
    let cells = &known.cells;
    match (cells.rhythm, cells.atrial_fibrillation_history) {
        (Some(Rhythm::AtrialFibrillation), _) | (_, Some(true)) => Some(true),
        (_, Some(false)) => Some(false),
        (Some(Rhythm::Sinus | Rhythm::Other), None) if !known.history_unreadable => Some(false),
        _ => None,
    }
}

/// One criterion of extravalvular cardiac damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DamageCriterion {
    /// The stage that it makes, 1 to 4.
    pub stage: usize,
    /// What it is, in a few words.
    pub words: &'static str,
    /// Whether it is present.
    pub present: Option<bool>,
}

/// The criteria of extravalvular cardiac damage (Genereux 2017), lowest stage first.
///
/// `rvsp_used` in mmHg, `lv_mass_index` in g/m².
pub fn damage_criteria(
    known: &Known,
    rvsp_used: Option<f64>,
    lv_mass_index: Option<f64>,
) -> [DamageCriterion; 9] {
    let cells = &known.cells;
    let moderate = |grade: Option<Grade>| grade.map(|grade| grade >= Grade::Moderate);
    [
        (1, "hypertrophy", hypertrophy(cells.sex, lv_mass_index)),
        (
            1,
            "E/e′ above 14",
            cells.e_over_e_prime.map(|ratio| above(ratio, 14.0)),
        ),
        (
            1,
            "LVEF below 50 %",
            cells.baseline_lvef_pct.map(|lvef| below(lvef, 50.0)),
        ),
        (
            2,
            "large left atrium",
            cells
                .left_atrial_volume_index_ml_m2
                .map(|index| above(index, 34.0)),
        ),
        (2, "atrial fibrillation", atrial_fibrillation(known)),
        (2, "mitral leak", moderate(cells.baseline_mr_grade)),
        (
            3,
            "RV systolic 60 mmHg or more",
            rvsp_used.map(|pressure| at_least(pressure, 60.0)),
        ),
        (3, "tricuspid leak", moderate(cells.baseline_tr_grade)),
        (4, "RV dysfunction", cells.rv_dysfunction),
    ]
    .map(|(stage, words, present)| DamageCriterion {
        stage,
        words,
        present,
    })
}

/// Extravalvular cardiac damage: the highest stage with a criterion known to be present.
fn cardiac_damage_stage(criteria: &[DamageCriterion]) -> CardiacDamageStage {
    use CardiacDamageStage as Stage;
    if criteria.iter().all(|criterion| criterion.present.is_none()) {
        return Stage::NotAssessable;
    }
    let highest = criteria
        .iter()
        .filter(|criterion| criterion.present == Some(true))
        .map(|criterion| criterion.stage)
        .max()
        .unwrap_or(0);
    let higher_unknown = criteria
        .iter()
        .any(|criterion| criterion.stage > highest && criterion.present.is_none());
    match (highest, higher_unknown) {
        (0, false) => Stage::Stage0,
        (1, false) => Stage::Stage1,
        (2, false) => Stage::Stage2,
        (3, false) => Stage::Stage3,
        (0, true) => Stage::AtLeast0,
        (1, true) => Stage::AtLeast1,
        (2, true) => Stage::AtLeast2,
        (3, true) => Stage::AtLeast3,
        _ => Stage::Stage4,
    }
}

/// Whether an obese patient's mismatch thresholds apply: body mass index of 30 kg/m² or more (VARC-3).
pub fn obese(bmi_kg_m2: f64) -> bool {
    at_least(bmi_kg_m2, 30.0)
}
