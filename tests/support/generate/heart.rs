//! The heart before the procedure: the planning CT and the baseline echo, whose numbers belong to one heart.

use std::f64::consts::{FRAC_PI_4, PI};

use super::day::Day;
use super::patient::{Fibrillation, Patient};
use super::random::Random;
use super::table::Row;

/// What later parts need to know of the heart.
#[derive(Clone, Debug)]
pub struct Heart {
    /// Morphology as the files spell it.
    pub morphology: &'static str,
    /// Annulus area, mm2.
    pub area_mm2: f64,
    /// Annulus perimeter, mm.
    pub perimeter_mm: f64,
    /// Intercommissural distance of a bicuspid valve, mm.
    pub intercommissural_mm: Option<f64>,
    /// Calcium of the outflow tract, 0 none to 3 heavy.
    pub outflow_calcium: usize,
    /// Calcium of the leaflets, 0 none to 3 heavy.
    pub leaflet_calcium: usize,
    /// Membranous septum, mm.
    pub septum_mm: f64,
    /// Outflow diameter as echo measures it, mm.
    pub outflow_mm: f64,
    /// Stroke volume, mL.
    pub stroke_volume_ml: f64,
    /// Ejection fraction, %.
    pub lvef_pct: f64,
    /// Mean gradient, mmHg.
    pub mean_gradient_mmhg: f64,
    /// Right ventricular systolic pressure, mmHg.
    pub rvsp_mmhg: f64,
}

/// The four grades of calcium.
pub const CALCIUM: [&str; 4] = ["none", "mild", "moderate", "heavy"];

/// The five grades of regurgitation.
pub const GRADES: [&str; 5] = ["none", "trace", "mild", "moderate", "severe"];

/// A grade for a severity around 1: most are none to mild.
pub fn grade(severity: f64) -> &'static str {
    GRADES[severity.clamp(0.0, 4.0) as usize]
}

/// Perimeter of an ellipse of the given axes (Ramanujan's second approximation, 1914).
fn ellipse_perimeter(long: f64, short: f64) -> f64 {
    let h = ((long - short) / (long + short)).powi(2);
    PI * (long + short) / 2.0 * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt()))
}

impl Heart {
    /// A heart, written into the row.
    pub fn draw(row: &mut Row, random: &mut Random, patient: &Patient, procedure: Day) -> Self {
        let morphology = random.weighted(&[
            ("tricuspid", 0.87),
            ("bicuspid_type_0", 0.012),
            ("bicuspid_type_1", 0.06),
            ("bicuspid_type_2", 0.006),
            ("bicuspid_undetermined", 0.008),
            ("surgical_bioprosthesis", 0.044),
        ]);
        let indication = match morphology {
            "surgical_bioprosthesis" => "failed_bioprosthesis",
            _ => random.weighted(&[
                ("aortic_stenosis", 0.93),
                ("mixed", 0.055),
                ("aortic_regurgitation", 0.015),
            ]),
        };
        row.set("indication", indication);
        let mut heart = Self::scan(row, random, patient, morphology);
        row.set(
            "ct_date",
            procedure
                .plus(-random.whole(3, 60))
                .working()
                .min(procedure.plus(-1)),
        );
        heart.echo(row, random, patient, indication);
        row.set(
            "baseline_echo_date",
            procedure
                .plus(-random.whole(3, 100))
                .working()
                .min(procedure.plus(-1)),
        );
        heart
    }

    fn scan(
        row: &mut Row,
        random: &mut Random,
        patient: &Patient,
        morphology: &'static str,
    ) -> Self {
        let bicuspid = morphology.starts_with("bicuspid");
        let surgical = morphology == "surgical_bioprosthesis";
        let mean_mm2 = if patient.female {
            402.0 * (patient.height_cm / 160.0)
        } else {
            492.0 * (patient.height_cm / 173.0)
        };
        let usual_mm2 = random.normal_within(
            mean_mm2 + if bicuspid { 55.0 } else { 0.0 },
            58.0,
            252.0,
            740.0,
        );
        let area_mm2 = if surgical {
            FRAC_PI_4 * random.normal_within(21.2, 1.4, 18.5, 26.0).powi(2)
        } else {
            usual_mm2
        };
        let ratio = if surgical {
            0.97
        } else {
            random.normal_within(0.81, 0.05, 0.62, 0.96)
        };
        let long_mm = (area_mm2 / FRAC_PI_4 / ratio).sqrt();
        // Real outlines are a little longer than an ellipse of the same area.
        let perimeter_mm =
            ellipse_perimeter(long_mm, long_mm * ratio) * random.between(1.002, 1.014);
        let diameter_mm = (area_mm2 / FRAC_PI_4).sqrt();
        let leaflet_calcium = (random.normal(2.0, 0.7) + if bicuspid { 0.4 } else { 0.0 })
            .clamp(0.0, 3.0)
            .round() as usize;
        let outflow_calcium = random.normal(0.5, 0.9).clamp(0.0, 3.0).round() as usize;
        let score = (if patient.female { 1750.0 } else { 2900.0 })
            * (0.45 * (leaflet_calcium as f64 - 2.0) + random.normal(0.0, 0.3)).exp();

        row.set("valve_morphology", morphology);
        if surgical {
            row.number("bioprosthesis_inner_diameter_mm", diameter_mm, 1);
        } else {
            row.number("calcium_score_au", score.min(15_000.0), 0);
        }
        row.set("leaflet_calcification", CALCIUM[leaflet_calcium]);
        row.set("lvot_calcification", CALCIUM[outflow_calcium]);
        row.number("annulus_area_mm2", area_mm2, 0);
        row.number("annulus_perimeter_mm", perimeter_mm, 1);
        row.number("annulus_min_mm", long_mm * ratio, 1);
        row.number("annulus_max_mm", long_mm, 1);
        row.number(
            "lvot_area_mm2",
            area_mm2 * random.normal_within(0.99, 0.09, 0.7, 1.3),
            0,
        );
        let intercommissural_mm =
            bicuspid.then(|| diameter_mm * random.normal_within(0.99, 0.09, 0.75, 1.25));
        if let Some(distance_mm) = intercommissural_mm {
            row.number("intercommissural_distance_mm", distance_mm, 1);
        }
        row.number(
            "sinus_of_valsalva_mm",
            diameter_mm + random.normal_within(7.5, 2.0, 2.0, 16.0),
            1,
        );
        row.number(
            "sinotubular_junction_mm",
            diameter_mm + random.normal_within(4.0, 1.8, 0.0, 12.0),
            1,
        );
        row.number(
            "ascending_aorta_mm",
            diameter_mm + random.normal_within(if bicuspid { 14.0 } else { 10.5 }, 3.2, 2.0, 28.0),
            0,
        );
        row.number(
            "left_coronary_height_mm",
            random.normal_within(13.6, 2.3, 6.0, 24.0),
            1,
        );
        row.number(
            "right_coronary_height_mm",
            random.normal_within(16.4, 2.6, 7.0, 26.0),
            1,
        );
        let septum_mm = random.normal_within(5.4, 1.4, 0.5, 11.0);
        row.number("membranous_septum_mm", septum_mm, 1);
        row.number(
            "aortic_angle_deg",
            random.normal_within(49.0, 8.0, 27.0, 74.0),
            0,
        );
        Self {
            morphology,
            area_mm2,
            perimeter_mm,
            intercommissural_mm,
            outflow_calcium,
            leaflet_calcium,
            septum_mm,
            outflow_mm: random.normal_within(10.6 + 0.42 * diameter_mm, 0.7, 17.0, 26.0),
            stroke_volume_ml: 0.0,
            lvef_pct: 0.0,
            mean_gradient_mmhg: 0.0,
            rvsp_mmhg: 0.0,
        }
    }

    /// Flow first, then velocity; the area follows from both by continuity.
    fn echo(&mut self, row: &mut Row, random: &mut Random, patient: &Patient, indication: &str) {
        let weak = random.chance(0.16 * (0.5 * patient.risk).exp());
        self.lvef_pct = (if weak {
            random.normal_within(36.0, 8.0, 14.0, 49.0)
        } else {
            random.normal_within(60.0, 5.0, 50.0, 76.0)
        })
        .round();
        let regurgitant = matches!(indication, "mixed" | "aortic_regurgitation");
        let svi = random.normal(if weak { 30.0 } else { 38.5 }, 6.0)
            + if regurgitant { 13.0 } else { 0.0 };
        self.stroke_volume_ml = svi.clamp(17.0, 68.0) * patient.bsa_m2();
        let usual_m_s = if indication == "aortic_regurgitation" {
            2.7
        } else {
            3.1 + 0.033 * svi.min(40.0)
        };
        let vmax_m_s = random.normal_within(usual_m_s, 0.45, 2.0, 6.3);
        let mean_mmhg = 4.0 * vmax_m_s * vmax_m_s * random.normal_within(0.61, 0.02, 0.52, 0.68);
        let outflow_cm2 = FRAC_PI_4 * (self.outflow_mm / 10.0).powi(2);
        let outflow_vti_cm = (self.stroke_volume_ml / outflow_cm2).clamp(7.0, 50.0);
        let aortic_vti_cm =
            (vmax_m_s * random.normal_within(23.3, 0.9, 20.0, 27.0)).max(outflow_vti_cm * 1.05);
        self.mean_gradient_mmhg = mean_mmhg.round();
        row.number("baseline_vmax_m_s", vmax_m_s, 2);
        row.number("baseline_mean_gradient_mmhg", mean_mmhg, 0);
        row.number("baseline_av_vti_cm", aortic_vti_cm, 1);
        row.number("baseline_lvot_diameter_mm", self.outflow_mm, 1);
        row.number("baseline_lvot_vti_cm", outflow_vti_cm, 1);
        row.number(
            "baseline_lvot_vmax_m_s",
            outflow_vti_cm / random.normal_within(21.5, 0.6, 19.0, 24.0),
            2,
        );
        let area_cm2 = outflow_cm2 * outflow_vti_cm / aortic_vti_cm;
        row.number(
            "baseline_ava_cm2",
            (area_cm2 * random.normal_within(1.0, 0.05, 0.8, 1.25)).clamp(0.2, 5.5),
            2,
        );
        row.set("baseline_lvef_pct", self.lvef_pct);
        let systolic = random.normal_within(134.0, 15.0, 88.0, 196.0);
        row.number("baseline_sbp_mmhg", systolic, 0);
        row.number(
            "baseline_dbp_mmhg",
            systolic * random.normal_within(0.53, 0.05, 0.42, 0.66),
            0,
        );
        row.number(
            "baseline_heart_rate_bpm",
            random.normal_within(70.0, 10.0, 46.0, 112.0),
            0,
        );
        // The ventricle that ejects this stroke volume: end-diastolic volume by Teichholz 1976, solved for the diameter.
        let volume_ml =
            self.stroke_volume_ml / (self.lvef_pct / 100.0) * random.between(0.95, 1.15);
        row.number("baseline_lvedd_mm", teichholz_diameter_mm(volume_ml), 0);
        let wall_mm = random.normal_within(12.3, 1.4, 8.0, 17.0);
        row.number("baseline_septum_mm", wall_mm + random.between(0.0, 1.2), 1);
        row.number(
            "baseline_posterior_wall_mm",
            wall_mm - random.between(0.0, 0.8),
            1,
        );
        self.right_side(row, random, patient);
        row.set(
            "baseline_ar_grade",
            grade(if regurgitant {
                random.normal(3.7, 0.4)
            } else {
                random.normal(1.7, 0.8)
            }),
        );
        row.set(
            "baseline_mr_grade",
            grade(random.normal(1.7 + if weak { 0.7 } else { 0.0 }, 0.8)),
        );
        let fibrillating = patient.fibrillation != Fibrillation::Never;
        row.number(
            "left_atrial_volume_index_ml_m2",
            random.normal_within(if fibrillating { 52.0 } else { 38.0 }, 8.0, 17.0, 78.0),
            0,
        );
        row.number(
            "e_over_e_prime",
            random.normal_within(14.5, 3.8, 5.0, 33.0),
            0,
        );
    }

    fn right_side(&mut self, row: &mut Row, random: &mut Random, patient: &Patient) {
        let jet_m_s = random.normal_within(2.6 + 0.2 * patient.risk, 0.35, 1.7, 4.4);
        let atrial_mmhg = if jet_m_s > 3.2 {
            15.0
        } else if jet_m_s > 2.7 {
            8.0
        } else {
            3.0
        };
        self.rvsp_mmhg = (4.0 * jet_m_s * jet_m_s + atrial_mmhg).round();
        row.number("baseline_tr_vmax_m_s", jet_m_s, 1);
        row.set("baseline_right_atrial_pressure_mmhg", atrial_mmhg);
        // Many laboratories leave the sum to the reader.
        if random.chance(0.7) {
            row.set("baseline_rvsp_mmhg", self.rvsp_mmhg);
        }
        row.set(
            "baseline_tr_grade",
            grade(random.normal(1.6 + 0.7 * (jet_m_s - 2.6), 0.7)),
        );
        row.yes_no(
            "rv_dysfunction",
            random.chance(if jet_m_s > 3.2 { 0.3 } else { 0.03 }),
        );
    }
}

/// The diameter whose Teichholz volume 7/(2.4 + D) · D³ (cm) is `volume_ml`, by bisection.
fn teichholz_diameter_mm(volume_ml: f64) -> f64 {
    let (mut low, mut high) = (3.0_f64, 8.0_f64);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if 7.0 / (2.4 + middle) * middle.powi(3) < volume_ml {
            low = middle
        } else {
            high = middle
        }
    }
    10.0 * low
}
