#!/usr/bin/env python3
"""Made-up cohorts that are hard on purpose: holes in every column, values on and beside every threshold, cells out of their limits,
dates at the edges of windows, deaths of every kind, visits where none should be. Nobody in them exists.

    make_cases.py FOLDER [--seed N] [--cases N] [--as-of YYYY-MM-DD]

writes cases.csv, followups.csv and devices.csv. The same seed gives the same bytes. The cohort speaks for the as-of date
(2026-03-31 unless told).
"""

import argparse
import csv
import datetime
import math
import os
import random

import reading

DAY = datetime.timedelta(days=1)
GRADES = ["none", "trace", "mild", "moderate", "severe"]
TREATMENTS = ["none", "single_antiplatelet", "dual_antiplatelet", "anticoagulant", "anticoagulant_plus_antiplatelet"]
BLEEDING = ["none", "type_1", "type_2", "type_3", "type_4"]

# All invented: labels, sizes and ranges describe no product. Some rows lack cells, some stand twice, one is not believable.
DEVICES = [
    # id, label, mechanism, size, nominal area, nominal perimeter, sized by, range min, range max, fill, EOA, SD, sheath
    ("BX21", "demo balloon-expandable 21", "balloon_expandable", 21, 346, 66, "area", 260, 350, 14, 1.05, 0.2, 7.0),
    ("BX24", "demo balloon-expandable 24", "balloon_expandable", 24, "", "", "area", 350, 440, 18, 1.5, 0.25, 7.0),
    ("BX27", "demo balloon-expandable 27", "balloon_expandable", 27, 570, 84.7, "area", 440, 560, 24, 1.8, 0.3, 7.35),
    ("BX30", "demo balloon-expandable 30", "balloon_expandable", 30, "", 94.3, "area", 560, 700, 33, 2.05, 0.35, 8.0),
    ("SX23", "demo self-expanding 23", "self_expanding", 23, 415, "", "perimeter", 55, 64, "", 1.1, 0.2, 6.0),
    ("SX27", "demo self-expanding 27", "self_expanding", 27, 573, 84.8, "perimeter", 64, math.pi * 23, "", 1.7, 0.3, 6.0),
    ("SX31", "demo self-expanding 31", "self_expanding", 31, "", "", "perimeter", math.pi * 23, 84, "", 2.1, "", 6.3),
    ("SX35", "demo self-expanding 35", "self_expanding", 35, "", "", "perimeter", 84, 95, "", "", "", 7.0),
    ("MX25", "demo mechanically expandable 25", "mechanically_expandable", 25, "", "", "area", 380, math.pi / 4 * 25 ** 2, 20, 1.6, "", ""),
    ("NR26", "demo without a range 26", "self_expanding", 26, "", "", "perimeter", "", "", "", 1.5, "", 6.5),
    ("HR26", "demo with half a range 26", "balloon_expandable", 26, "", "", "area", 430, "", 22, "", "", 7.0),
    ("DD26", "demo row that stands twice", "self_expanding", 26, "", "", "perimeter", 60, 90, "", 1.5, "", 6.5),
    ("DD26", "demo row that stands twice, again", "self_expanding", 26, "", "", "perimeter", 60, 91, "", 1.5, "", 6.5),
    ("BAD1", "demo with a size out of limits", "self_expanding", 99, "", "", "perimeter", 60, 90, "", 1.5, "", 6.5),
    ("BAD2", "demo without a mechanism", "", 26, "", "", "perimeter", 60, 90, "", 1.5, "", 6.5),
]
DEVICE_COLUMNS = ["device_id", "label", "mechanism", "labelled_size_mm", "nominal_area_mm2", "nominal_perimeter_mm", "sized_by",
                  "range_min", "range_max", "nominal_fill_ml", "reference_eoa_cm2", "reference_eoa_sd_cm2", "sheath_outer_mm"]


class Maker:
    def __init__(self, seed, as_of):
        self.r, self.as_of = random.Random(seed), as_of

    # ---- draws

    def chance(self, p):
        return self.r.random() < p

    def pick(self, *values):
        return self.r.choice(values)

    def near(self, mean, sd, low, high, decimals=1, exact=(), p=0.25):
        """A plausible value; with probability p one of the exact ones (thresholds and their neighbours)."""
        if exact and self.chance(p):
            return self.r.choice(exact)
        return round(min(max(self.r.gauss(mean, sd), low), high), decimals)

    def weighted(self, **weights):
        return self.r.choices(list(weights), list(weights.values()))[0]

    def beside(self, value):
        """A value on a threshold, or a little to either side of it, more or less than the tolerance."""
        return value * self.pick(1, 1, 1, 1 + 1e-11, 1 - 1e-11, 1 + 1e-6, 1 - 1e-6, 1.01, 0.99)

    # ---- one case

    def case(self, number):
        c = {}
        self.c = c
        self.p_event = self.pick(0.0, 0.0, 0.02, 0.05, 0.15)
        c["case_id"] = f"C{number:04d}"
        self.dates()
        self.patient()
        self.comorbidity()
        self.baseline_echo()
        self.ct()
        self.procedure()
        self.outcome()
        self.discharge()
        self.death()
        self.on_thresholds()
        return c

    def dates(self):
        c = self.c
        ago = self.r.random()
        if ago < 0.2:
            days = self.pick(0, 1, 5, 22, 23, 29, 30, 31, 75, 76, 90, 105, 106, 304, 305, 364, 365, 366, 425, 426, 790, 791)
        elif ago < 0.4:
            days = self.r.randint(0, 130)
        elif ago < 0.6:
            days = self.r.randint(130, 800)
        elif ago < 0.98:
            days = self.r.randint(365, 2600)
        else:
            days = -self.r.randint(0, 20)
        c["procedure_date"] = self.as_of - days * DAY
        if self.chance(0.03):
            c["procedure_date"] = datetime.date(self.pick(2020, 2024), 2, 29)
        self.start = c["procedure_date"]
        c["referral_date"] = self.start - self.r.randint(20, 120) * DAY
        c["heart_team_date"] = self.start - self.r.randint(3, 20) * DAY
        c["admission_date"] = self.start - self.pick(0, 0, 1, 1, 2, 5) * DAY
        c["discharge_date"] = self.start + self.pick(1, 2, 2, 3, 4, 5, 8, 20, 40) * DAY
        c["baseline_echo_date"] = self.start - self.r.randint(1, 60) * DAY
        c["ct_date"] = self.start - self.r.randint(1, 60) * DAY
        c["post_echo_date"] = self.start + self.pick(0, 1, 1, 2, 3) * DAY
        if self.chance(0.03):
            wrong = self.pick("discharge_date", "baseline_echo_date", "ct_date", "post_echo_date")
            c[wrong] = self.start + self.pick(-2, -1, 0, 1, 2) * DAY
        if self.chance(0.01):
            c["post_echo_date"] = self.as_of + DAY
        c["last_contact_date"] = self.start + self.pick(10, 29, 30, 31, 90, 364, 365, 366, 500, 1000, 2500) * DAY
        if self.chance(0.8):
            c["last_contact_date"] = min(c["last_contact_date"], self.as_of - self.pick(0, 1, 30, 200, 424, 425, 426) * DAY)
        c["next_booked_date"] = self.as_of + self.r.randint(-30, 200) * DAY

    def patient(self):
        c, r = self.c, self.r
        c["patient_key"] = f"P{r.randint(1, 9999):04d}" if self.chance(0.5) else ""
        c["patient_label"] = "made up"
        c["sex"] = self.pick("female", "male")
        c["birth_date"] = c["age_years"] = ""
        if self.chance(0.6):
            birth = reading.add_years(self.start, -self.near(80, 7, 30, 99, 0, (60, 61, 17, 18, 115, 116), 0.1).__int__())
            c["birth_date"] = birth + self.pick(0, 0, 1, -1, r.randint(-300, 60)) * DAY
        if self.chance(0.5):
            c["age_years"] = self.near(80, 7, 42, 98, self.pick(0, 1), (60, 60.9, 61))
        c["height_cm"] = self.near(166, 9, 142, 198, 0)
        c["weight_kg"] = self.near(75, 15, 42, 140, 1)
        if self.chance(0.1):
            c["height_cm"], c["weight_kg"] = self.pick((170, 86.7), (160, 76.8), (170, 86.6), (150, 67.5))
        c["site"], c["operator"] = self.pick("North", "South", ""), self.pick("A", "B", "C", "")
        c["indication"] = self.weighted(aortic_stenosis=8, mixed=1, aortic_regurgitation=1, failed_bioprosthesis=1)

    def flag(self, p):
        return "yes" if self.chance(p) else "no"

    def comorbidity(self):
        c = self.c
        c["nyha_class"] = self.pick("I", "II", "III", "IV")
        for name, p in (("ccs4_angina", .05), ("prior_stroke", .1), ("prior_pacemaker", .12), ("right_bundle_branch_block", .12),
                        ("insulin_diabetes", .1), ("extracardiac_arteriopathy", .2), ("chronic_lung_disease", .15), ("poor_mobility", .1),
                        ("previous_cardiac_surgery", .15), ("dialysis", .06), ("active_endocarditis", .02),
                        ("critical_preoperative_state", .03), ("recent_myocardial_infarction", .04), ("rv_dysfunction", .1),
                        ("atrial_fibrillation_history", .25)):
            c[name] = self.flag(p)
        c["rhythm"] = self.weighted(sinus=6, atrial_fibrillation=2, paced=1, other=1)
        if self.chance(0.2):
            c["atrial_fibrillation_history"] = self.pick("", "", "NA", "maybe")
        c["kccq_baseline"] = self.near(50, 15, 5, 100, 1, (55.3, 55, 60.1, 90))
        c["clinical_frailty_scale"] = self.pick(1, 2, 3, 4, 5, 6, 7, 9)
        c["pr_interval_ms"], c["qrs_duration_ms"] = self.near(180, 30, 100, 300, 0), self.near(105, 25, 60, 200, 0)
        c["creatinine_umol_l"] = self.near(100, 35, 40, 420, 1)
        c["haemoglobin_g_dl"] = self.near(12, 1.5, 6.5, 17, 1)
        c["urgency"] = self.weighted(elective=8, urgent=2, emergency=1, salvage=0.5)
        c["euroscore2_reported_pct"], c["sts_prom_pct"] = self.near(4, 3, 0.6, 40, 2), self.near(4, 3, 0.6, 30, 2)

    def baseline_echo(self):
        c = self.c
        severe = self.chance(0.4)
        c["baseline_vmax_m_s"] = self.near(4.4 if severe else 3.3, 0.35, 1.6, 6.2, 2, (4.0, 3.99, 4.01, 2.0, 3.9))
        c["baseline_mean_gradient_mmhg"] = self.near(48 if severe else 27, 6, 10, 90, 1, (40.0, 39.9, 40.1, 39.0, 16.0))
        c["baseline_av_vti_cm"] = self.near(95, 12, 30, 170, 1)
        c["baseline_lvot_diameter_mm"] = self.near(21, 1.6, 17, 26, 1)
        c["baseline_lvot_vti_cm"] = self.near(19, 4, 9, 34, 1)
        c["baseline_lvot_vmax_m_s"] = self.near(0.9, 0.25, 0.4, 2.2, 2, (1.5, 1.51, 1.6, 2.5))
        c["baseline_ava_cm2"] = self.near(0.8, 0.15, 0.4, 1.8, 2, (1.0, 1.01))
        c["baseline_lvef_pct"] = self.near(55, 12, 12, 75, 0, (50, 49.9, 50.1, 30, 20, 30.5))
        c["baseline_sbp_mmhg"], c["baseline_dbp_mmhg"] = self.near(135, 18, 90, 200, 0), self.near(72, 10, 45, 105, 0)
        c["baseline_heart_rate_bpm"] = self.near(72, 12, 45, 120, 0)
        c["baseline_lvedd_mm"] = self.near(47, 6, 34, 68, 1, (50, 40))
        c["baseline_septum_mm"] = self.near(12.5, 2, 7, 19, 1)
        c["baseline_posterior_wall_mm"] = self.near(10.5, 1.8, 6.5, 18, 1, (10.5, 8.4))
        c["baseline_tr_vmax_m_s"] = self.near(2.7, 0.4, 1.6, 4.4, 2, (3.0, 2.5))
        c["baseline_right_atrial_pressure_mmhg"] = self.pick(3, 3, 8, 15, 24, 5)
        c["baseline_rvsp_mmhg"] = self.near(40, 12, 16, 85, 1, (60, 59.9, 30, 30.5, 55, 55.1)) if self.chance(0.6) else ""
        if self.chance(0.12):
            c["baseline_rvsp_mmhg"] = c["baseline_tr_vmax_m_s"] = ""
            c["baseline_tr_grade"] = self.pick("none", "trace", "mild")
        else:
            c["baseline_tr_grade"] = self.weighted(none=3, trace=3, mild=4, moderate=1, severe=0.5)
        c["baseline_ar_grade"] = self.pick(*GRADES)
        c["baseline_mr_grade"] = self.weighted(none=3, trace=3, mild=4, moderate=1, severe=0.5)
        c["left_atrial_volume_index_ml_m2"] = self.near(30, 9, 15, 79, 1, (34, 34.1))
        c["e_over_e_prime"] = self.near(12, 4, 4.5, 34, 1, (14, 14.1))
        if self.chance(0.15):  # an undamaged heart
            c.update(rv_dysfunction="no", rhythm="sinus", atrial_fibrillation_history="no", baseline_tr_grade="mild",
                     baseline_mr_grade="trace", baseline_rvsp_mmhg=28, left_atrial_volume_index_ml_m2=self.pick(28, 34),
                     baseline_septum_mm=8.5, baseline_posterior_wall_mm=8, baseline_lvedd_mm=45, e_over_e_prime=self.pick(9, 14, 14.5),
                     baseline_lvef_pct=self.pick(60, 50, 45))
        if self.chance(0.02):  # nothing known of the damage
            for name in ("rv_dysfunction", "rhythm", "atrial_fibrillation_history", "baseline_tr_grade", "baseline_mr_grade",
                         "baseline_rvsp_mmhg", "baseline_tr_vmax_m_s", "left_atrial_volume_index_ml_m2", "baseline_septum_mm",
                         "e_over_e_prime", "baseline_lvef_pct"):
                c[name] = ""

    def ct(self):
        c = self.c
        c["valve_morphology"] = self.weighted(tricuspid=10, bicuspid_type_0=2, bicuspid_type_1=3, bicuspid_type_2=1,
                                              bicuspid_undetermined=1, surgical_bioprosthesis=1)
        c["bioprosthesis_inner_diameter_mm"] = self.near(21, 1.5, 17, 27, 1)
        c["calcium_score_au"] = self.near(2100, 900, 100, 7500, 0, (3000, 2999, 2000, 1999, 1600, 1599, 1200, 1199, 800, 799))
        c["leaflet_calcification"] = self.pick("none", "mild", "moderate", "heavy")
        c["lvot_calcification"] = self.pick("none", "mild", "moderate", "heavy")
        diameter = self.r.gauss(24.5, 2.2)
        c["annulus_area_mm2"] = round(math.pi / 4 * diameter ** 2, 2)
        c["annulus_perimeter_mm"] = round(math.pi * diameter * self.r.uniform(1.0, 1.03), 2)
        c["annulus_min_mm"] = round(diameter * 0.9, 2)
        c["annulus_max_mm"] = round(diameter / 0.9 * self.r.uniform(0.99, 1.02), 2)
        c["lvot_area_mm2"] = round(c["annulus_area_mm2"] * self.r.uniform(0.8, 1.1), 1)
        if self.chance(0.15):
            c["annulus_area_mm2"] = self.pick(350, 440, 560, 380, math.pi / 4 * 625, 260, 349.9, 560.1, 701)
            if self.chance(0.7):  # the other measures follow
                diameter = math.sqrt(4 / math.pi * c["annulus_area_mm2"])
                c["annulus_perimeter_mm"] = round(math.pi * diameter * 1.015, 2)
                c["annulus_min_mm"], c["annulus_max_mm"] = round(diameter * 0.92, 2), round(diameter * 1.1, 2)
        if self.chance(0.1):
            c["annulus_perimeter_mm"] = self.pick(64, math.pi * 23, 84, 95, 55, 95.1, 54.9)
        c["intercommissural_distance_mm"] = round(diameter * self.r.uniform(0.9, 1.15), 1)
        c["sinus_of_valsalva_mm"] = self.near(32, 3, 25, 44, 1, (30, 29.9))
        c["sinotubular_junction_mm"] = self.near(28.3, 3, 20.5, 41, 2)
        c["ascending_aorta_mm"] = self.near(36, 4, 25, 49, 1, (45, 44.9))
        c["left_coronary_height_mm"] = self.near(14, 2.5, 8.5, 24, 1, (12, 11.9))
        c["right_coronary_height_mm"] = self.near(16, 2.5, 9, 27, 1)
        c["membranous_septum_mm"] = self.near(5, 2, 1, 11, 1)
        c["aortic_angle_deg"] = self.near(48, 8, 26, 74, 1)

    def device_for(self):
        """Mostly one whose range holds the annulus, sometimes any."""
        if self.chance(0.65):
            fits = []
            for row in DEVICES[:9]:
                measure = self.c["annulus_area_mm2"] if row[6] == "area" else self.c["annulus_perimeter_mm"]
                if row[7] <= measure <= row[8]:
                    fits.append(row[0])
            if fits:
                return self.r.choice(fits)
        return self.r.choice([row[0] for row in DEVICES] + ["NOWHERE", "bx24"])

    def procedure(self):
        c = self.c
        c["access_route"] = self.weighted(transfemoral=12, transsubclavian=1, transcarotid=1, transcaval=1, transapical=1, direct_aortic=1)
        c["access_min_lumen_mm"] = self.near(7.4, 1.2, 4.5, 11, 2, (7.0, 6.667, 5.714))
        c["device_id"] = self.device_for()
        c["planned_device_id"] = c["device_id"]
        c["device_serial"], c["device_lot"] = f"SN{self.r.randint(10 ** 8, 10 ** 9)}", f"L{self.r.randint(1, 40)}"
        c["predilatation"] = self.flag(0.6)
        size = math.sqrt(4 / math.pi * c["annulus_area_mm2"])
        c["predilatation_balloon_mm"] = self.pick(20, 22, 23, 25, round(size), round(size) - 1)
        c["leaking_balloon_mm"] = self.pick("", 18, 20)
        c["predilatation_seal"] = self.pick("complete", "complete", "partial", "none")
        c["fill_volume_change_ml"] = self.pick(-2, -1, -0.5, 0, 0, 0, 0.5, 1, 2, "", "")
        c["postdilatation"] = self.pick("yes", "no", "no", "no", "")
        c["postdilatation_volume_change_ml"] = self.pick("", "", -1, 0, 1, 2, 3)
        c["frame_measured_mm"] = self.near(24, 2, 17, 33, 1)
        c["implant_depth_mm"] = c["membranous_septum_mm"] if self.chance(0.15) else self.near(4, 2, -1, 10, 1)
        c["sizing_reason"] = self.pick("", "", "made-up reason; the balloon sealed", "-", 'said "fits", so taken')
        c["anaesthesia"] = self.pick("local", "conscious_sedation", "general")
        c["cerebral_protection"] = self.pick("used", "not_used", "not_feasible")
        c["access_closure"] = self.pick("closure_device", "surgical", "manual")
        c["dose_area_product_gy_cm2"], c["contrast_ml"] = self.near(60, 30, 11, 290, 1), self.near(90, 40, 21, 290, 0)
        c["fluoroscopy_min"] = self.near(18, 8, 5.5, 59, 1)
        c["invasive_mean_gradient_before_mmhg"] = self.near(45, 12, 11, 95, 0)
        c["invasive_mean_gradient_after_mmhg"] = self.near(5, 4, 0, 24, 0)
        c["cardiac_output_l_min"] = self.near(4.8, 1, 2.1, 8.8, 1)
        c["systolic_ejection_period_s"] = self.near(0.33, 0.03, 0.21, 0.44, 2)
        c["catheter_heart_rate_bpm"] = self.near(72, 12, 46, 118, 0)
        for when in ("before", "after"):
            c[f"aortic_sbp_{when}_mmhg"] = self.near(125, 18, 82, 215, 0, (120,))
            c[f"aortic_dbp_{when}_mmhg"] = self.near(56, 9, 31, 105, 0, (50,))
            c[f"lvedp_{when}_mmhg"] = self.near(17, 6, 4, 39, 0, (20,))
        if self.chance(0.05):
            c["aortic_dbp_before_mmhg"] = c["lvedp_before_mmhg"]

    def outcome(self):
        c, p = self.c, self.p_event
        bad = lambda: self.flag(p)
        c["access_delivery_retrieval_ok"] = "no" if self.chance(p) else "yes"
        c["position_ok"] = "no" if self.chance(p) else "yes"
        for name in ("no_valve_implanted", "second_valve", "conversion_to_surgery", "coronary_obstruction", "annular_rupture", "tamponade",
                     "aortic_dissection", "valve_embolisation", "device_intervention_in_room", "device_intervention_to_30_days",
                     "complication_intervention_in_room", "complication_intervention_to_30_days", "periprocedural_myocardial_infarction"):
            c[name] = bad()
        c["procedural_death"] = "yes" if self.chance(0.005 + p / 4) else "no"
        c["vascular_complication"] = self.weighted(none=8, minor=2, major=12 * p)
        c["structural_complication"] = self.weighted(none=8, minor=1, major=12 * p)
        c["bleeding_type"] = self.weighted(none=8, type_1=2, type_2=8 * p, type_3=6 * p, type_4=3 * p)
        c["stroke_30d"] = self.weighted(none=10, tia=0.7, ischaemic=6 * p, haemorrhagic=3 * p, unspecified=3 * p)
        c["stroke_disabling"] = self.pick("yes", "no", "")
        c["haemoglobin_lowest_g_dl"], c["haemoglobin_discharge_g_dl"] = self.near(10, 1.5, 6.1, 16, 1), self.near(10.8, 1.5, 7.1, 16, 1)
        c["red_cell_units"] = self.pick(0, 0, 0, 0, 1, 2, 4, 11)
        self.kidney()
        c["new_pacemaker_30d"] = self.flag(0.02 + p)
        c["new_left_bundle_branch_block"] = self.flag(0.15)
        bad_valve = self.chance(0.2)
        c["post_vmax_m_s"] = self.near(2.9 if bad_valve else 2.2, 0.3, 1.1, 3.9, 2, (3.0, 2.99), 0.1)
        c["post_mean_gradient_mmhg"] = self.near(19 if bad_valve else 10.5, 3, 2.5, 39, 1, (20.0, 19.9), 0.1)
        c["post_av_vti_cm"] = self.near(44, 8, 21, 88, 1)
        c["post_lvot_diameter_mm"] = self.near(21.5, 1.5, 17, 29, 1)
        c["post_lvot_vti_cm"] = self.near(21, 4, 9, 34, 1)
        c["post_lvef_pct"] = self.near(56, 10, 16, 75, 0, (60, 50))
        c["post_paravalvular_grade"] = self.weighted(none=5, trace=3, mild=4, moderate=0.5, severe=0.2)
        c["post_transvalvular_grade"] = self.weighted(none=8, trace=3, mild=1, moderate=0.2, severe=0.1)
        c["post_rvsp_mmhg"] = self.near(36, 8, 16, 80, 0)

    def kidney(self):
        c, base = self.c, self.c["creatinine_umol_l"]
        if self.chance(0.1):
            base = c["creatinine_umol_l"] = self.pick(309.6, 310, 88.4, 100, 70.7, 130.2)
        kind = self.r.random()
        if kind < 0.55:
            peak = round(base * self.r.uniform(0.85, 1.2), 1)
        elif kind < 0.75:
            peak = base * self.pick(1.5, 1.5, 2, 2, 3, 3, 1.499, 2.001, 3.001)
        elif kind < 0.9:
            peak = base + self.pick(26.4, 26.3, 26.5, 44, 43.9)
        else:
            peak = self.pick(353.6, 353.5, 354, base * 4)
        peak = round(peak, 4)
        c["creatinine_peak_umol_l"] = peak
        c["creatinine_48h_umol_l"] = self.pick(peak, peak, round(base, 1), round(base + 26.4, 1), round(base + 26.3, 1), "", "")
        c["creatinine_discharge_umol_l"] = round(base * self.r.uniform(0.9, 1.3), 1)
        c["new_dialysis"] = self.flag(0.02 + self.p_event / 3)

    def discharge(self):
        c = self.c
        c["antithrombotic_plan"] = self.pick(*TREATMENTS)
        c["antithrombotic_until"] = self.start + self.pick(90, 180, 365, 700) * DAY
        c["antithrombotic_then"] = self.pick(*TREATMENTS, "review")
        c["medication"] = self.pick("", "made-up one 5 mg; made-up two 10 mg")
        c["discharge_status"] = "alive"
        c["discharge_rhythm"] = self.pick("sinus", "sinus", "sinus", "atrial_fibrillation", "paced", "other")
        c["discharge_pr_interval_ms"], c["discharge_qrs_duration_ms"] = self.near(185, 30, 101, 290, 0), self.near(115, 25, 71, 179, 0)
        c["rhythm_monitor"] = self.pick("none", "ordered", "no_block", "block_found")
        c["discharge_destination"] = self.pick("home", "rehabilitation", "other_hospital", "care_home")
        c["incidental_finding"] = self.pick("", "", "", "made-up nodule")
        c["incidental_owner"], c["incidental_closed"] = self.pick("", "chest clinic"), self.pick("yes", "no", "")
        c["follow_up_status"] = self.pick("active", "elsewhere", "declined", "unreachable")
        c["follow_up_site"], c["discharge_note"] = self.pick("", "North clinic"), self.pick("", "made up, with a comma")
        c["signed_by"] = c["signed_hash"] = ""
        c["signed_on"] = self.start + 5 * DAY if self.chance(0.3) else ""

    def death(self):
        c = self.c
        c["death_date"] = c["death_cause"] = c["valve_related_death"] = ""
        kind = self.r.random()
        if c["procedural_death"] == "yes":
            c["discharge_date"], c["discharge_status"] = "", "died_in_hospital"
            c["death_date"] = self.pick(self.start, self.start, "", self.start + DAY)
            if self.chance(0.4):
                c[self.pick("discharge_status", "discharge_date")] = self.pick("alive", self.start + 3 * DAY)
        elif kind < 0.14:
            day = self.pick(0, 1, 5, 12, 29, 30, 31, 60, 100, 364, 365, 366, 500, 900, self.r.randint(0, 1500))
            c["death_date"] = self.start + day * DAY
            c["death_cause"] = self.pick("cardiovascular", "non_cardiovascular", "unknown", "unknown", "")
            c["valve_related_death"] = self.pick("yes", "no", "no", "no", "")
            if day < 13:
                c["discharge_date"], c["discharge_status"] = "", "died_in_hospital"
        elif kind < 0.15:
            c["death_date"] = self.as_of + self.pick(1, 365) * DAY
            c["death_cause"], c["valve_related_death"] = self.pick("unknown", "cardiovascular"), self.pick("yes", "no", "")
        elif kind < 0.165:  # a sign of death without a date
            name, value = self.pick(("discharge_status", "died_in_hospital"), ("death_cause", "cardiovascular"),
                                    ("valve_related_death", "yes"), ("death_cause", "unknown"))
            c[name] = value
        elif kind < 0.17:
            c["death_date"] = self.start - self.pick(1, 300) * DAY
        elif kind < 0.22:
            c["valve_related_death"] = "no"

    def on_thresholds(self):
        """Derived values brought onto their thresholds by choosing one input; a recipe that cannot be followed is passed over."""
        recipes = [self.to_svi_35, self.to_ava_1, self.to_dvi, self.to_mismatch, self.to_mass_index, self.to_oversizing, self.to_sheath,
                   self.to_clearance, self.to_area_mismatch, self.to_ellipse, self.to_circle, self.to_peak, self.to_index_25,
                   self.to_wall_thickness, self.to_icd, self.to_rvsp_60, self.to_aorta]
        for recipe in self.r.sample(recipes, 4):
            if self.chance(0.5):
                try:
                    recipe()
                except TypeError:  # an input of the recipe was left blank
                    pass
        if self.chance(0.12):
            c = self.c
            c.update(self.pick(  # cells that speak against each other, or just not
                {"annulus_min_mm": 27, "annulus_max_mm": self.pick(26.9, 27, 27.1)},
                {"baseline_dbp_mmhg": 110, "baseline_sbp_mmhg": self.pick(110, 111, 100)},
                {"aortic_dbp_before_mmhg": 95, "aortic_sbp_before_mmhg": self.pick(95, 96)},
                {"aortic_dbp_after_mmhg": 95, "aortic_sbp_after_mmhg": self.pick(95, 96)},
                {"baseline_av_vti_cm": 25, "baseline_lvot_vti_cm": self.pick(25, 25.1, 24.9)},
                {"post_av_vti_cm": 22, "post_lvot_vti_cm": self.pick(22, 22.1, 21.9)},
                {"ct_date": self.start + self.pick(0, 1, 2) * DAY},
                {"prior_pacemaker": "yes", "new_pacemaker_30d": "yes"},
                {"baseline_vmax_m_s": 1.8, "baseline_lvot_vmax_m_s": self.pick(1.8, 1.9, 1.7)},
            ))

    def bsa(self):
        return 0.007184 * self.c["weight_kg"] ** 0.425 * self.c["height_cm"] ** 0.725

    def to_svi_35(self):
        c = self.c
        c["baseline_lvot_vti_cm"] = self.beside(35 * self.bsa() / (math.pi / 4 * (c["baseline_lvot_diameter_mm"] / 10) ** 2))
        c["baseline_vmax_m_s"], c["baseline_mean_gradient_mmhg"] = self.pick(3.4, 3.9), self.pick(28, 39.9)
        c["baseline_av_vti_cm"] = 110

    def stroke_volume(self):
        c = self.c
        return math.pi / 4 * (c["baseline_lvot_diameter_mm"] / 10) ** 2 * c["baseline_lvot_vti_cm"]

    def to_ava_1(self):
        c = self.c
        c["baseline_vmax_m_s"], c["baseline_mean_gradient_mmhg"] = self.pick(3.4, 3.9), self.pick(28, 39.9)
        c["baseline_av_vti_cm"] = self.beside(self.stroke_volume())

    def to_dvi(self):
        self.c["post_lvot_vti_cm"] = self.beside(0.25 * self.c["post_av_vti_cm"])

    def to_mismatch(self):
        c = self.c
        eoa = self.beside(self.pick(0.55, 0.65, 0.7, 0.85)) * self.bsa()
        c["post_lvot_vti_cm"] = eoa * c["post_av_vti_cm"] / (math.pi / 4 * (c["post_lvot_diameter_mm"] / 10) ** 2)

    def to_mass_index(self):
        c = self.c
        target = self.beside(95 if c["sex"] == "female" else 115) * self.bsa()
        s, d = c["baseline_septum_mm"] / 10, c["baseline_lvedd_mm"] / 10
        c["baseline_posterior_wall_mm"] = 10 * (((target - 0.6) / (0.8 * 1.04) + d ** 3) ** (1 / 3) - s - d)

    def to_wall_thickness(self):
        self.c["baseline_posterior_wall_mm"] = self.beside(round(0.21 * self.c["baseline_lvedd_mm"], 6))

    def size_of_device(self):
        row = next((row for row in DEVICES if row[0] == self.c["device_id"]), DEVICES[0])
        return row

    def to_oversizing(self):
        row = self.size_of_device()
        self.c["annulus_area_mm2"] = self.beside((row[4] or math.pi / 4 * row[3] ** 2) / 1.2)
        self.c["lvot_calcification"] = self.pick("moderate", "heavy", "mild")

    def to_sheath(self):
        self.c["access_min_lumen_mm"] = self.beside((self.size_of_device()[12] or 7) / 1.05)

    def to_clearance(self):
        c = self.c
        c["birth_date"], c["age_years"] = "", 80
        factor = 0.85 if c["sex"] == "female" else 1.0
        c["creatinine_umol_l"] = 88.4 * 60 * c["weight_kg"] * factor / (72 * self.beside(self.pick(85, 50)))

    def to_area_mismatch(self):
        self.c["baseline_ava_cm2"] = self.beside(self.stroke_volume() / self.c["baseline_av_vti_cm"] / self.pick(1.15, 0.85))

    def to_ellipse(self):
        c = self.c
        c["annulus_area_mm2"] = self.beside(self.pick(0.88, 1.12)) * math.pi / 4 * c["annulus_min_mm"] * c["annulus_max_mm"]

    def to_circle(self):
        self.c["annulus_perimeter_mm"] = math.sqrt(self.beside(0.98) * 4 * math.pi * self.c["annulus_area_mm2"])

    def to_peak(self):
        where = self.pick("baseline", "post")
        self.c[f"{where}_mean_gradient_mmhg"] = self.beside(4 * self.c[f"{where}_vmax_m_s"] ** 2)

    def to_index_25(self):
        self.c["aortic_dbp_after_mmhg"] = self.beside(0.25 * self.c["aortic_sbp_after_mmhg"] + self.c["lvedp_after_mmhg"])

    def to_icd(self):
        self.c["valve_morphology"] = self.pick("bicuspid_type_0", "bicuspid_type_1")
        self.c["intercommissural_distance_mm"] = self.beside(self.pick(23, 25, math.sqrt(4 / math.pi * 440), 84 / math.pi))

    def to_rvsp_60(self):
        self.c.update(baseline_rvsp_mmhg="", baseline_tr_vmax_m_s=self.pick(3.0, 2.5), baseline_right_atrial_pressure_mmhg=self.pick(24, 5, 30))

    def to_aorta(self):
        used = self.stroke_volume() / self.c["baseline_av_vti_cm"]
        self.c["sinotubular_junction_mm"] = self.beside(10 * math.sqrt(4 / math.pi * used))

    # ---- visits

    def visits(self, c):
        """Rows of the follow-ups file for one case: (day, cells)."""
        rows = []
        days = []
        if self.chance(0.8):
            days.append(self.pick(22, 23, 25, 30, 30, 31, 35, 45, 60, 75, 76, 90, 105, 106))
        if self.chance(0.1):
            days += self.pick((25, 35), (23, 37), (29, 31), (23, 105))
        if self.chance(0.3):
            days.append(self.pick(150, 180, 200))
        if self.chance(0.7):
            days.append(self.pick(304, 305, 340, 360, 365, 365, 370, 395, 425, 426))
        if self.chance(0.08):
            days += self.pick((355, 375), (305, 425), (364, 366))
        for year in (2, 3, 4, 5):
            if self.chance(0.5):
                days.append(year * 365 + self.r.randint(-70, 70))
        if self.chance(0.04):
            days += [self.pick(-30, -1, 0, 5)]
        if self.chance(0.04) and days:
            days.append(self.r.choice(days))
        last = (self.as_of - self.start).days
        days = [d for d in days if d <= last or self.chance(0.05)]
        story = self.weighted(stable=5, gradient=3, leak=1, unknown=1)
        reference = None
        for day in sorted(days):
            v = self.visit(c, day)
            if reference is None and 23 <= day <= 105:
                reference = v
            elif reference is not None and day > 105:
                self.deteriorate(reference, v, story)
            rows.append((day, v))
        if self.chance(0.3):
            self.r.shuffle(rows)
        return [dict(v, case_id=c["case_id"]) for _, v in rows]

    def visit(self, c, day):
        p = self.p_event
        v = {"visit_date": self.start + day * DAY}
        v["attendance"] = self.weighted(attended=10, telephone=1, record_review=1, did_not_attend=0.7, blank=3).replace("blank", "")
        v["visit"] = "30_day" if day < 120 else "6_month" if day < 250 else self.pick("annual", "annual", "unscheduled")
        v["nyha_class"] = self.pick("I", "II", "III", "IV")
        v["kccq"] = self.near(70, 15, 10, 100, 1, (45, 44.9, 45.3, 45.2, 50.1, 50, 80), 0.2)
        v["vmax_m_s"] = self.near(2.2, 0.3, 1.1, 3.9, 2, (3.0, 2.99), 0.05)
        v["mean_gradient_mmhg"] = self.near(10.5, 3, 2.5, 39, 1, (20.0, 19.9, 9.0, 12.0), 0.15)
        v["av_vti_cm"] = self.near(44, 7, 21, 88, 1)
        v["lvot_diameter_mm"] = self.near(21.5, 1.3, 17, 29, 1)
        v["lvot_vti_cm"] = self.near(21, 3, 9, 34, 1)
        v["lvef_pct"] = self.near(55, 9, 16, 75, 0, (50, 49.9, 46, 40), 0.1)
        v["paravalvular_grade"] = self.weighted(none=5, trace=3, mild=4, moderate=0.6, severe=0.2)
        v["transvalvular_grade"] = self.weighted(none=8, trace=3, mild=1, moderate=0.3, severe=0.1)
        v["rvsp_mmhg"] = self.near(36, 8, 16, 80, 0)
        v["irreversible"] = self.pick("yes", "no", "no", "no", "")
        v["deterioration_cause"] = self.pick("structural", "non_structural", "thrombosis", "endocarditis", "")
        v["new_or_worse_symptoms"] = self.pick("yes", "no", "no", "no", "")
        for name, date in (("stroke", "stroke_date"), ("hospitalised_for_valve_or_procedure", "hospitalisation_date"),
                           ("valve_reintervention", "reintervention_date")):
            happened = self.chance(0.02 + p / 3)
            v[name] = "yes" if happened else "no"
            v[date] = self.start + self.pick(day, day - 5, 364, 365, 366, day + 400) * DAY if happened and self.chance(0.6) else ""
        v["bleeding_type"] = self.weighted(none=9, type_1=1, type_2=1, type_3=0.2, type_4=0.1)
        for name in ("new_pacemaker", "endocarditis", "leaflet_thrombosis"):
            v[name] = self.flag(0.01 + p / 6)
        v["antithrombotic"] = self.pick(*TREATMENTS)
        v["note"] = self.pick("", "made up")
        if self.chance(0.02):
            v["av_vti_cm"] = self.pick(22, 21.9)
            v["lvot_vti_cm"] = 22
        if self.chance(0.08):  # a visit without an echo
            for name in ("vmax_m_s", "mean_gradient_mmhg", "av_vti_cm", "lvot_diameter_mm", "lvot_vti_cm", "lvef_pct",
                         "paravalvular_grade", "transvalvular_grade"):
                v[name] = ""
        return v

    def deteriorate(self, reference, v, story):
        """The later echo in relation to the reference: on, or beside, the steps of the deterioration rule."""
        if v["mean_gradient_mmhg"] == "" or reference["mean_gradient_mmhg"] == "":
            return
        area = lambda e: math.pi / 4 * (e["lvot_diameter_mm"] / 10) ** 2 * e["lvot_vti_cm"] / e["av_vti_cm"]
        if story == "gradient":
            v["mean_gradient_mmhg"] = round(reference["mean_gradient_mmhg"] + self.pick(9.9, 10, 10, 15, 19.9, 20, 20, 25), 4)
            v["vmax_m_s"] = self.pick(2.8, 3.3, 3.8)
            eoa, dvi = area(reference), reference["lvot_vti_cm"] / reference["av_vti_cm"]
            v["lvot_diameter_mm"] = reference["lvot_diameter_mm"]
            if self.chance(0.5):
                new = self.pick(eoa - self.beside(0.3), eoa - self.beside(0.6), eoa * (1 - self.beside(0.25)), eoa * (1 - self.beside(0.5)))
                v["lvot_vti_cm"] = max(new, 0.3) * v["av_vti_cm"] / (math.pi / 4 * (v["lvot_diameter_mm"] / 10) ** 2)
            else:
                new = self.pick(dvi - self.beside(0.1), dvi - self.beside(0.2), dvi * (1 - self.beside(0.2)), dvi * (1 - self.beside(0.4)))
                v["lvot_vti_cm"] = max(new, 0.1) * v["av_vti_cm"]
                if self.chance(0.4):
                    v["lvot_diameter_mm"] = ""
        elif story == "leak":
            v["transvalvular_grade"] = self.pick("mild", "moderate", "severe")
        elif story == "unknown":
            for name in self.pick(("mean_gradient_mmhg",), ("transvalvular_grade",), ("av_vti_cm",)):
                v[name] = ""
        else:
            v["mean_gradient_mmhg"] = round(reference["mean_gradient_mmhg"] + self.r.uniform(-2, 4), 1)

    # ---- cells as someone might type them

    def typed(self, file, rows, holes):
        """The texts of the rows: holes with a probability of their own in each row, slips, and the several ways of writing a value."""
        table = []
        for row in rows:
            p = holes(row)
            slip = 0.004 if self.chance(0.5) else 0.0
            texts = []
            for column in reading.COLUMNS[file].values():
                value = row.get(column.name, "")
                required = column.required
                if self.chance(0.004 if required else p):
                    value = "" if required and self.chance(0.5) else self.blank(column)
                elif self.chance(slip / 4 if required else slip):
                    value = self.slip(column)
                texts.append(self.written(column, value))
            table.append(texts)
        return table

    def blank(self, column):
        words = ["", "", "", "NA", "n/a", "-", "unknown", "N/A", " "]
        return self.r.choice([w for w in words if w not in column.choices])

    def slip(self, column):
        if column.kind in ("number", "integer"):
            limits = [v for v in (column.reject_below, column.reject_above) if v is not None]
            wrong = ["abc", "1.2.3", "?", "12 mm"]
            wrong += [column.reject_below * 0.9 - 0.1] if column.reject_below is not None else []
            wrong += [column.reject_above * 1.1] if column.reject_above is not None else []
            wrong += [v for v in (column.flag_below, column.flag_above) if v is not None]
            wrong += [column.flag_above * 1.001] if column.flag_above is not None else []
            wrong += [3.5] if column.kind == "integer" else []
            return self.r.choice(wrong + limits)
        if column.kind == "date":
            return self.r.choice(["2025-02-30", "not seen", "2025-13-01", self.as_of + DAY, self.as_of])
        if column.kind == "id":
            return self.r.choice(["two words", "x" * 41, "a/b"])
        return "maybe" if column.kind in ("choice", "yes_no") else "text"

    def written(self, column, value):
        if value == "" or isinstance(value, datetime.date):
            return str(value)
        if column.kind == "yes_no" and value in ("yes", "no"):
            return self.r.choice(("yes", "yes", "Yes", "true", "1", "TRUE") if value == "yes" else ("no", "no", "No", "false", "0", "NO"))
        if column.kind == "choice" and self.chance(0.1):
            return self.r.choice((value.upper(), f" {value} ", value.capitalize()))
        if isinstance(value, float):
            return repr(int(value)) if value.is_integer() and self.chance(0.5) else repr(value)
        return str(value)

    # ---- the files

    def cohort(self, number_of_cases):
        cases, visits = [], []
        for number in range(1, number_of_cases + 1):
            c = self.case(number)
            visits += self.visits(c)
            cases.append(c)
        self.entangle(cases)
        share = {c["case_id"]: 0.0 if self.chance(0.35) else self.r.uniform(0, 0.5) for c in cases}
        holes = lambda row: share[row["case_id"]] * (0.6 if "visit_date" in row else 1)
        tables = {"cases": self.typed("cases", cases, holes), "followups": self.typed("followups", visits, holes)}
        tables["followups"].append(["NOBODY", str(self.as_of)] + [""] * (len(reading.COLUMNS["followups"]) - 2))
        tables["cases"] = self.entangle_texts(tables["cases"])
        return tables

    def entangle(self, cases):
        """Second procedures of a patient, serials that stand twice, rows pasted over."""
        for c in cases:
            other = self.r.choice(cases)
            if other is c:
                continue
            if self.chance(0.04):
                other["patient_key"] = other["patient_key"] or other["case_id"]
                c["patient_key"] = other["patient_key"]
                c["birth_date"] = other["birth_date"] if self.chance(0.7) else c["birth_date"]
            if self.chance(0.025):
                c["device_serial"] = other["device_serial"]
            if self.chance(0.02):
                names = self.r.sample(reading.PASTE_COLUMNS, self.pick(5, 6, 7, 12))
                c.update({name: other[name] for name in names})

    def entangle_texts(self, rows):
        """A few ids that stand twice, and rows with a cell too few or too many."""
        for _ in range(len(rows) // 200):
            self.r.choice(rows).append("")
            self.r.choice(rows).pop()
        for _ in range(len(rows) // 100):
            rows.insert(self.r.randrange(len(rows)), list(self.r.choice(rows)))
        return rows


def write(folder, tables):
    os.makedirs(folder, exist_ok=True)
    for file, rows in tables.items():
        header = DEVICE_COLUMNS if file == "devices" else list(reading.COLUMNS[file])
        with open(os.path.join(folder, file + ".csv"), "w", encoding="utf-8", newline="") as f:
            writer = csv.writer(f, lineterminator="\n")
            writer.writerow(header)
            writer.writerows(rows)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folder")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cases", type=int, default=400)
    parser.add_argument("--as-of", type=datetime.date.fromisoformat, default=datetime.date(2026, 3, 31))
    options = parser.parse_args()
    tables = Maker(options.seed, options.as_of).cohort(options.cases)
    tables["devices"] = [[repr(v) if isinstance(v, float) else v for v in row] for row in DEVICES]
    write(options.folder, tables)


if __name__ == "__main__":
    main()
