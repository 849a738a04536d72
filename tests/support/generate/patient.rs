//! Who the patient is: body, age, comorbidity, and one hidden number, `risk`, that ties the unfavourable things together.
//!
//! All shares and means here and in the other parts are rough figures of this project for plausible test data, of no source.

use super::day::Day;
use super::random::Random;
use super::table::Row;

/// A patient.
#[derive(Clone, Debug)]
pub struct Patient {
    /// Woman.
    pub female: bool,
    /// Date of birth.
    pub birth: Day,
    /// Height, cm.
    pub height_cm: f64,
    /// Weight, kg.
    pub weight_kg: f64,
    /// Hidden risk, mean 0 and deviation 1: more is worse.
    pub risk: f64,
    /// Atrial fibrillation: on the ECG, only in the history, or never.
    pub fibrillation: Fibrillation,
    /// Pacemaker before the procedure.
    pub paced: bool,
    /// On dialysis.
    pub dialysis: bool,
    /// Creatinine before the procedure, umol/L.
    pub creatinine_umol_l: f64,
    /// Haemoglobin before the procedure, g/dL.
    pub haemoglobin_g_dl: f64,
}

/// Atrial fibrillation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fibrillation {
    /// Never known.
    Never,
    /// Known, sinus rhythm on the ECG.
    History,
    /// On the ECG.
    Present,
}

impl Patient {
    /// A patient who has a procedure on `procedure`.
    pub fn draw(random: &mut Random, procedure: Day) -> Self {
        let female = random.chance(0.48);
        let risk = random.normal_within(0.0, 1.0, -2.5, 2.8);
        let age_years = random.normal_within(80.5 + risk, 6.0, 48.0, 98.0);
        let height_cm = if female {
            random.normal_within(160.0, 6.5, 142.0, 182.0)
        } else {
            random.normal_within(173.0, 7.0, 152.0, 198.0)
        };
        let bmi = random.normal_within(27.0, 4.6, 17.0, 46.0);
        let dialysis = random.chance(0.02 + 0.01 * risk.max(0.0));
        let creatinine = if dialysis {
            random.normal_within(480.0, 120.0, 220.0, 900.0)
        } else {
            88.0 * (random.normal(0.0, 0.24) + 0.16 * risk).exp()
        };
        Self {
            female,
            birth: procedure.plus(-(age_years * 365.25) as i64),
            height_cm: height_cm.round(),
            weight_kg: (bmi * (height_cm / 100.0).powi(2)).round(),
            risk,
            fibrillation: random.weighted(&[
                (Fibrillation::Never, 0.64),
                (Fibrillation::History, 0.16),
                (Fibrillation::Present, 0.20),
            ]),
            paced: random.chance(0.1),
            dialysis,
            creatinine_umol_l: creatinine.clamp(40.0, 1000.0).round(),
            haemoglobin_g_dl: random.normal_within(
                if female { 12.1 } else { 12.9 } - 0.4 * risk,
                1.2,
                7.6,
                16.8,
            ),
        }
    }

    /// Body surface area, m2 (Du Bois 1916): how flow scales with the body.
    pub fn bsa_m2(&self) -> f64 {
        0.007184 * self.weight_kg.powf(0.425) * self.height_cm.powf(0.725)
    }

    /// Writes body and comorbidity.
    pub fn fill(&self, row: &mut Row, random: &mut Random, procedure: Day) {
        let risk = self.risk;
        // A transferred table sometimes has the age alone.
        if random.chance(0.03) {
            row.set("age_years", self.birth.years_to(procedure));
        } else {
            row.set("birth_date", self.birth);
        }
        row.set("sex", if self.female { "female" } else { "male" });
        row.set("height_cm", self.height_cm);
        row.set("weight_kg", self.weight_kg);
        let worse =
            |random: &mut Random, share: f64| random.chance((share * (0.5 * risk).exp()).min(0.9));
        row.set(
            "nyha_class",
            random.weighted(&[
                ("I", 0.02),
                ("II", 0.25),
                ("III", 0.6),
                ("IV", 0.13 * risk.exp()),
            ]),
        );
        row.set(
            "clinical_frailty_scale",
            random
                .normal_within(3.6 + 0.7 * risk, 0.9, 1.0, 8.0)
                .round(),
        );
        row.number(
            "kccq_baseline",
            random.normal_within(52.0 - 8.0 * risk, 14.0, 5.0, 92.0),
            0,
        );
        let shares = [
            ("ccs4_angina", 0.02),
            ("prior_stroke", 0.1),
            ("insulin_diabetes", 0.09),
            ("extracardiac_arteriopathy", 0.15),
            ("chronic_lung_disease", 0.14),
            ("poor_mobility", 0.08),
            ("previous_cardiac_surgery", 0.08),
            ("active_endocarditis", 0.004),
            ("recent_myocardial_infarction", 0.03),
        ];
        for (column, share) in shares {
            let present = worse(random, share);
            row.yes_no(column, present);
        }
        let urgency = random.weighted(&[
            ("elective", 0.87),
            ("urgent", 0.11 * (0.6 * risk).exp()),
            ("emergency", 0.014 * risk.exp()),
            ("salvage", 0.002),
        ]);
        row.set("urgency", urgency);
        row.yes_no(
            "critical_preoperative_state",
            matches!(urgency, "emergency" | "salvage") && random.chance(0.7),
        );
        row.yes_no("dialysis", self.dialysis);
        row.set("creatinine_umol_l", self.creatinine_umol_l);
        row.number("haemoglobin_g_dl", self.haemoglobin_g_dl, 1);
        self.fill_rhythm(row, random);
        let score = (2.9 * (0.55 * risk + random.normal(0.0, 0.25)).exp()).clamp(0.7, 45.0);
        row.number("euroscore2_reported_pct", score, 2);
        row.number(
            "sts_prom_pct",
            (score * random.between(0.7, 1.2)).clamp(0.6, 28.0),
            1,
        );
    }

    fn fill_rhythm(&self, row: &mut Row, random: &mut Random) {
        let rhythm = match self.fibrillation {
            _ if self.paced && random.chance(0.7) => "paced",
            Fibrillation::Present => "atrial_fibrillation",
            _ if random.chance(0.005) => "other",
            _ => "sinus",
        };
        row.set("rhythm", rhythm);
        row.yes_no(
            "atrial_fibrillation_history",
            self.fibrillation != Fibrillation::Never,
        );
        row.yes_no("prior_pacemaker", self.paced);
        let right_block = !self.paced && random.chance(0.1);
        row.yes_no("right_bundle_branch_block", right_block);
        if rhythm == "sinus" {
            row.number(
                "pr_interval_ms",
                random.normal_within(182.0, 26.0, 110.0, 290.0),
                0,
            );
        }
        let qrs_ms = if rhythm == "paced" {
            156.0
        } else if right_block {
            140.0
        } else {
            95.0
        };
        row.number(
            "qrs_duration_ms",
            random.normal_within(qrs_ms, 9.0, 72.0, 178.0),
            0,
        );
    }
}
