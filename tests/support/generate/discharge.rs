//! The end of the stay: echo before discharge, treatment, rhythm, what is left open, signature.

use super::day::Day;
use super::fate::Death;
use super::heart::Heart;
use super::outcome::Outcome;
use super::patient::{Fibrillation, Patient};
use super::procedure::Implant;
use super::prosthesis;
use super::random::Random;
use super::table::Row;

/// Treatment after the procedure, as the files spell it.
fn treatment(random: &mut Random, fibrillation: Fibrillation) -> &'static str {
    if fibrillation == Fibrillation::Never {
        random.weighted(&[
            ("single_antiplatelet", 0.85),
            ("dual_antiplatelet", 0.1),
            ("anticoagulant", 0.03),
            ("none", 0.02),
        ])
    } else {
        random.weighted(&[
            ("anticoagulant", 0.84),
            ("anticoagulant_plus_antiplatelet", 0.09),
            ("single_antiplatelet", 0.05),
            ("dual_antiplatelet", 0.02),
        ])
    }
}

/// What a stay is written from.
pub struct Stay<'a> {
    /// Who.
    pub patient: &'a Patient,
    /// Their heart.
    pub heart: &'a Heart,
    /// The valve.
    pub implant: &'a Implant,
    /// The events.
    pub outcome: &'a Outcome,
    /// The death, where the data reach it.
    pub death: Option<Death>,
    /// Day 0.
    pub procedure: Day,
    /// Last day of the data.
    pub data_to: Day,
}

impl Stay<'_> {
    /// Writes the end of the stay.
    pub fn fill(&self, row: &mut Row, random: &mut Random) {
        let urgent = row.get("urgency") != "elective";
        row.set(
            "admission_date",
            self.procedure.plus(if urgent {
                -random.whole(1, 12)
            } else {
                -random.whole(0, 1)
            }),
        );
        let stay_days =
            random.normal_within(3.0, 1.2, 1.0, 9.0).round() as i64 + self.outcome.extra_days;
        let died_inside = self.death.is_some_and(|death| death.day <= stay_days);
        let last_day = if died_inside {
            self.death.map_or(stay_days, |death| death.day)
        } else {
            stay_days
        };
        row.set(
            "discharge_status",
            if died_inside {
                "died_in_hospital"
            } else {
                "alive"
            },
        );
        if !self.outcome.died_in_room && !self.outcome.no_valve && last_day >= 1 {
            self.echo(row, random, last_day);
        }
        if died_inside {
            row.clear(&["haemoglobin_discharge_g_dl", "creatinine_discharge_umol_l"]);
            return;
        }
        let discharge = self.procedure.plus(stay_days);
        row.set("discharge_date", discharge);
        let destination = [
            ("home", 0.62),
            ("rehabilitation", 0.27),
            ("other_hospital", 0.07),
            ("care_home", 0.04),
        ];
        row.set("discharge_destination", random.weighted(&destination));
        self.rhythm(row, random);
        self.treat(row, random);
        self.open_ends(row, random);
        if random.chance(0.85) {
            row.set(
                "signed_by",
                format_args!("Physician {}", random.whole(1, 5)),
            );
            row.set("signed_on", discharge.plus(random.whole(0, 4)));
            if random.chance(0.05) {
                row.set("signed_hash", format_args!("{:08X}", random.bits() as u32));
            }
        }
    }

    fn echo(&self, row: &mut Row, random: &mut Random, last_day: i64) {
        row.set(
            "post_echo_date",
            self.procedure.plus(random.whole(1, 2).min(last_day)),
        );
        let outflow_mm = self.heart.outflow_mm + random.between(0.2, 0.9);
        prosthesis::echo(
            row,
            random,
            "post_",
            self.heart.stroke_volume_ml * 1.02,
            self.implant.eoa_cm2,
            outflow_mm,
        );
        let central = random.weighted(&[
            ("none", 0.8),
            ("trace", 0.18),
            ("mild", 0.017),
            ("moderate", 0.002),
            ("severe", 0.001),
        ]);
        let lvef_pct = self.heart.lvef_pct
            + if self.heart.lvef_pct < 50.0 {
                random.between(0.0, 7.0)
            } else {
                random.between(-3.0, 3.0)
            };
        prosthesis::surroundings(
            row,
            random,
            "post_",
            lvef_pct,
            self.implant.leak,
            central,
            self.heart.rvsp_mmhg,
        );
    }

    fn rhythm(&self, row: &mut Row, random: &mut Random) {
        let before = row.get("rhythm").to_owned();
        let rhythm = if self.outcome.paced && random.chance(0.7) {
            "paced"
        } else if before == "sinus" && random.chance(0.04) {
            "atrial_fibrillation"
        } else {
            &before
        };
        row.set("discharge_rhythm", rhythm);
        if rhythm == "sinus" {
            row.number(
                "discharge_pr_interval_ms",
                random.normal_within(192.0, 26.0, 110.0, 300.0),
                0,
            );
        }
        let wide = rhythm == "paced" || row.get("new_left_bundle_branch_block") == "yes";
        row.number(
            "discharge_qrs_duration_ms",
            random.normal_within(if wide { 150.0 } else { 100.0 }, 9.0, 74.0, 190.0),
            0,
        );
        let monitor = if wide && !self.patient.paced {
            [
                ("none", 0.4),
                ("ordered", 0.25),
                ("no_block", 0.28),
                ("block_found", 0.07),
            ]
        } else {
            [
                ("none", 0.93),
                ("ordered", 0.03),
                ("no_block", 0.035),
                ("block_found", 0.005),
            ]
        };
        row.set("rhythm_monitor", random.weighted(&monitor));
    }

    fn treat(&self, row: &mut Row, random: &mut Random) {
        let plan = treatment(random, self.patient.fibrillation);
        row.set("antithrombotic_plan", plan);
        if matches!(
            plan,
            "dual_antiplatelet" | "anticoagulant_plus_antiplatelet"
        ) {
            row.set(
                "antithrombotic_until",
                self.procedure.plus(random.whole(60, 190)),
            );
            let single = if plan == "dual_antiplatelet" {
                "single_antiplatelet"
            } else {
                "anticoagulant"
            };
            row.set(
                "antithrombotic_then",
                random.weighted(&[
                    (single, 0.8),
                    ("review", 0.14),
                    ("none", 0.02),
                    ("dual_antiplatelet", 0.02),
                    ("anticoagulant_plus_antiplatelet", 0.02),
                ]),
            );
        }
        let others = [
            "bisoprolol 2.5 mg",
            "ramipril 5 mg",
            "atorvastatin 40 mg",
            "furosemide 40 mg",
            "pantoprazole 20 mg",
            "amlodipine 5 mg",
        ];
        let mut list: Vec<&str> = Vec::new();
        if plan.contains("antiplatelet") {
            list.push("aspirin 100 mg");
        }
        if plan.starts_with("dual") {
            list.push("clopidogrel 75 mg");
        }
        if plan.starts_with("anticoagulant") {
            list.push("apixaban 5 mg twice");
        }
        list.extend(others.iter().filter(|_| random.chance(0.5)));
        row.set("medication", list.join("; "));
    }

    fn open_ends(&self, row: &mut Row, random: &mut Random) {
        if random.chance(0.08) {
            row.set(
                "incidental_finding",
                random.weighted(&[
                    ("Lung nodule 6 mm", 0.5),
                    ("Adrenal nodule 12 mm", 0.2),
                    ("Renal cyst, indeterminate", 0.3),
                ]),
            );
            row.set(
                "incidental_owner",
                random.weighted(&[("chest clinic", 0.5), ("family doctor", 0.5)]),
            );
            row.yes_no("incidental_closed", random.chance(0.5));
        }
        row.set(
            "follow_up_status",
            random.weighted(&[
                ("active", 0.93),
                ("elsewhere", 0.04),
                ("declined", 0.02),
                ("unreachable", 0.01),
            ]),
        );
        let clinic = format!("valve clinic {}", row.get("site"));
        row.set("follow_up_site", clinic);
        if self.death.is_none() && random.chance(0.1) {
            row.set(
                "next_booked_date",
                self.data_to.plus(random.whole(1, 120)).working(),
            );
        }
        if random.chance(0.05) {
            row.set(
                "discharge_note",
                "Uneventful; \"well\" on the day of discharge, wounds dry",
            );
        }
    }
}
