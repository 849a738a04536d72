#!/usr/bin/env python3
"""A second, separately written reading of the definitions.

Computes the columns of contract/results.csv from cases.csv, followups.csv and devices.csv (comma separated, ISO dates, dot
decimals, the project's own headers). Python standard library only. The comments quote the sentence each function reads.

    reading.py CASES [--followups FILE] [--devices FILE] --as-of YYYY-MM-DD [--out FILE]

`in_doubt` and `missing` are left blank. Three-valued logic throughout: True, False, None (unknown).
"""

import argparse
import csv
import datetime
import math
import os
import re
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
CONTRACT = os.path.join(HERE, "contract")
SLACK = 1e-9

# --------------------------------------------------------------------------------------------------- comparisons and logic


def same(x, t):
    """|x - t| <= 1e-9 |t| counts as equal, for every threshold, catalogue range and score band."""
    return abs(x - t) <= SLACK * abs(t)


def ge(x, t):
    return None if x is None or t is None else x > t or same(x, t)


def gt(x, t):
    return None if x is None or t is None else x > t and not same(x, t)


def le(x, t):
    return None if x is None or t is None else x < t or same(x, t)


def lt(x, t):
    return None if x is None or t is None else x < t and not same(x, t)


def among(x, *choices):
    return None if x is None else x in choices


def is_yes(x):
    return x


def is_no(x):
    return None if x is None else not x


def negate(x):
    return None if x is None else not x


def all_of(*parts):
    """No once one part is known to fail; yes when every part is known to hold; otherwise not assessable."""
    if any(part is False for part in parts):
        return False
    return True if all(part is True for part in parts) else None


def any_of(*parts):
    if any(part is True for part in parts):
        return True
    return False if all(part is False for part in parts) else None


def word(truth):
    return {True: "yes", False: "no", None: "not_assessable"}[truth]


def known(*values):
    return all(v is not None for v in values)


def finite(compute, *values):
    """The value of `compute`, or None where an input is unknown or the outcome is not a finite number."""
    if not known(*values):
        return None
    try:
        outcome = compute(*values)
    except (ZeroDivisionError, ValueError, OverflowError):
        return None
    if isinstance(outcome, complex) or not math.isfinite(outcome):
        return None
    return outcome


# ----------------------------------------------------------------------------------------------------------- dates and days


def add_years(date, years):
    """29 February -> 1 March in years without it."""
    try:
        return date.replace(year=date.year + years)
    except ValueError:
        return datetime.date(date.year + years, 3, 1)


def completed_years(birth, on):
    years = on.year - birth.year
    return years - 1 if add_years(birth, years) > on else years


# -------------------------------------------------------------------------------------------------------------------- cells

BLANK_WORDS = {"", "na", "n/a", "-", "unknown"}
YES_NO = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}
NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\Z")
ID = re.compile(r"[A-Za-z0-9._-]{1,40}\Z")
DATE = re.compile(r"\d{4}-\d{2}-\d{2}\Z")


class Column:
    def __init__(self, row):
        self.file, self.name, self.kind, self.origin = row["file"], row["column"], row["kind"], row["from"]
        self.required = row["need"] == "required"
        self.choices = {c.lower(): c for c in row["choices"].split("|")} if row["choices"] else {}
        limit = lambda name: float(row[name]) if row[name] else None
        self.flag_below, self.flag_above = limit("flag_below"), limit("flag_above")
        self.reject_below, self.reject_above = limit("reject_below"), limit("reject_above")

    def read(self, text):
        """(value, state): state is known, blank or rejected. A cell is rejected only by its own kind, choices and limits."""
        text = text.strip()
        if text.lower() in BLANK_WORDS and text.lower() not in self.choices:
            return None, "blank"
        value = self.parse(text)
        if value is None:
            return None, "rejected"
        if self.kind in ("number", "integer"):
            if lt(value, self.reject_below) or gt(value, self.reject_above):
                return None, "rejected"
        return value, "known"

    def parse(self, text):
        if self.kind == "text":
            return text
        if self.kind == "id":
            return text if ID.match(text) else None
        if self.kind == "yes_no":
            return YES_NO.get(text.lower())
        if self.kind == "choice":
            return self.choices.get(text.lower())
        if self.kind == "date":
            try:
                return datetime.date.fromisoformat(text) if DATE.match(text) else None
            except ValueError:
                return None
        if not NUMBER.match(text):
            return None
        value = float(text)
        if not math.isfinite(value) or (self.kind == "integer" and value != math.floor(value)):
            return None
        return value

    def unusual(self, value):
        return self.kind in ("number", "integer") and bool(lt(value, self.flag_below) or gt(value, self.flag_above))


def columns(contract=CONTRACT):
    with open(os.path.join(contract, "columns.csv"), encoding="utf-8", newline="") as f:
        found = [Column(row) for row in csv.DictReader(f)]
    return {name: {c.name: c for c in found if c.file == name} for name in ("cases", "followups", "devices")}


COLUMNS = columns()


def result_columns(contract=CONTRACT):
    with open(os.path.join(contract, "results.csv"), encoding="utf-8", newline="") as f:
        return [row["column"] for row in csv.DictReader(f)]


class Row:
    """The cells of one row: values (None where unknown) and states (known, blank, rejected, absent)."""

    def __init__(self, file, texts):
        self.values, self.states = {}, {}
        for name, column in COLUMNS[file].items():
            self.values[name], self.states[name] = column.read(texts.get(name) or "")

    def hide(self, name):
        """The cell belongs to a time after the as-of date: unknown, and neither blank nor rejected."""
        self.values[name], self.states[name] = None, "absent"

    def usable(self, file):
        return all(self.values[c.name] is not None for c in COLUMNS[file].values() if c.required)


def read_rows(file, path):
    """Rows with the right number of cells and every required cell, in the order of the file, and the ids of all rows."""
    with open(path, encoding="utf-8-sig", newline="") as f:
        table = [line for line in csv.reader(f) if line]
    header = [h.strip() for h in table[0]]
    rows, ids = [], []
    key = "device_id" if file == "devices" else "case_id"
    for line in table[1:]:
        row = Row(file, dict(zip(header, line)))
        ids.append(row.values[key])
        if len(line) == len(header) and row.usable(file):
            rows.append(row)
    return rows, ids


# ------------------------------------------------------------------------------------------------------------ echo and visit


class Echo:
    """One echocardiogram after implantation; `day` is None for the one before discharge."""

    PARTS = ("vmax_m_s", "mean_gradient_mmhg", "av_vti_cm", "lvot_diameter_mm", "lvot_vti_cm", "lvef_pct",
             "paravalvular_grade", "transvalvular_grade")

    def __init__(self, values, prefix="", day=None):
        self.day = day
        for part in self.PARTS:
            setattr(self, part, values[prefix + part])

    def eoa(self):
        return finite(lambda d, s, a: math.pi / 4 * (d / 10) ** 2 * s / a, self.lvot_diameter_mm, self.lvot_vti_cm, self.av_vti_cm)

    def dvi(self):
        return finite(lambda s, a: s / a, self.lvot_vti_cm, self.av_vti_cm)

    def leak_below_moderate(self):
        """Moderate or more as soon as either grade is; less than moderate needs both known; else unknown."""
        return all_of(negate(among(self.paravalvular_grade, "moderate", "severe")),
                      negate(among(self.transvalvular_grade, "moderate", "severe")))

    def no_grade(self):
        return self.paravalvular_grade is None and self.transvalvular_grade is None


class Visit:
    def __init__(self, row, procedure_date):
        self.row, self.cells = row, row.values
        self.date = row.values["visit_date"]
        self.day = (self.date - procedure_date).days
        self.record_review = row.values["attendance"] == "record_review"
        self.echo = Echo(row.values, "", self.day)


# --------------------------------------------------------------------------------------------------------------------- case

RESULTS = {}


def result(function):
    """Registers the function under its own name, the name of the result in the contract."""
    RESULTS[function.__name__] = function
    return function


class Case:
    def __init__(self, row, visit_rows, catalogue, as_of):
        self.row, self.catalogue, self.as_of = row, catalogue, as_of
        self.c = row.values
        self.identity_conflict = self.possible_pasted_row = False
        self.close_the_book()
        self.choose_visits(visit_rows)
        self.cache = {}

    # Any date after the as-of date is unknown ... next_booked_date is the one date that may lie after it.
    def close_the_book(self):
        self.death_date_later = self.c["death_date"] is not None and self.c["death_date"] > self.as_of
        for name, column in COLUMNS["cases"].items():
            if column.kind == "date" and name not in ("next_booked_date", "post_echo_date"):
                if self.c[name] is not None and self.c[name] > self.as_of:
                    self.row.hide(name)
        # "with a death after it death_cause and valve_related_death are unknown too" (a procedural death is on day 0)
        if self.death_date_later and self.c["procedural_death"] is not True:
            self.row.hide("death_cause")
            self.row.hide("valve_related_death")
        # "a pre-discharge echo dated after it is absent with all its values"
        if self.c["post_echo_date"] is not None and self.c["post_echo_date"] > self.as_of:
            for name in COLUMNS["cases"]:
                if name.startswith("post_"):
                    self.row.hide(name)

    def choose_visits(self, visit_rows):
        chosen = {}
        death = self.death_date
        for row in visit_rows:
            date = row.values["visit_date"]
            if row.values["attendance"] == "did_not_attend":
                continue  # "shown and otherwise absent: neither a visit nor proof of life"
            if date > self.as_of:
                continue  # "a visit after it is absent"
            if date < self.c["procedure_date"] or (death is not None and date > death):
                continue  # "Visits before the procedure or after death ... are reported and left out"
            if date in chosen:
                continue  # "the second of two visits of one case on one day"
            for name, column in COLUMNS["followups"].items():
                if column.kind == "date" and row.values[name] is not None and row.values[name] > self.as_of:
                    row.hide(name)
            chosen[date] = Visit(row, self.c["procedure_date"])
        self.visits = [chosen[date] for date in sorted(chosen)]

    # ---- what the results share

    def __getitem__(self, name):
        """The value of a result."""
        if name not in self.cache:
            self.cache[name] = None
            self.cache[name] = RESULTS[name](self)
        return self.cache[name]

    def day(self, date):
        return None if date is None else (date - self.c["procedure_date"]).days

    @property
    def death_date(self):
        """Only a death_date and procedural_death make a dated death: procedural_death yes is death on day 0 whatever the date."""
        return self.c["procedure_date"] if self.c["procedural_death"] is True else self.c["death_date"]

    @property
    def sign_of_death(self):
        """These, and died_in_hospital, a known death_cause, valve_related_death yes, a death_date even after the as-of date."""
        return (self.death_date is not None or self.c["discharge_status"] == "died_in_hospital" or self.c["death_cause"] is not None
                or self.c["valve_related_death"] is True or self.death_date_later)

    @property
    def alive(self):
        return not self.sign_of_death

    @property
    def known_alive(self):
        """The latest of last_contact_date, visit dates, discharge_date, post_echo_date, procedure_date."""
        dates = [self.c[n] for n in ("last_contact_date", "discharge_date", "post_echo_date", "procedure_date")]
        return max([d for d in dates if d is not None] + [v.date for v in self.visits])

    def dead_by(self, days):
        """Yes where death is on day 0 to `days`; no where death is later or known alive to that day or beyond; else unknown."""
        day = self.day(self.death_date)
        if day is not None and 0 <= day <= days:
            return True
        if day is not None and day > days:
            return False
        return False if self.day(self.known_alive) >= days else None

    @property
    def device(self):
        return self.catalogue.get(self.c["device_id"]) if self.c["device_id"] is not None else None

    def device_cell(self, name):
        return None if self.device is None else self.device[name]

    @property
    def bicuspid(self):
        return self.c["valve_morphology"] in ("bicuspid_type_0", "bicuspid_type_1", "bicuspid_type_2", "bicuspid_undetermined")

    @property
    def discharge_echo(self):
        return Echo(self.c, "post_")

    @property
    def reference_echo(self):
        """Among visits of day 23 to 105 with a mean gradient the one nearest day 30 (earlier on a tie)."""
        found = [v for v in self.visits if 23 <= v.day <= 105 and v.echo.mean_gradient_mmhg is not None]
        return min(found, key=lambda v: (abs(v.day - 30), v.day)).echo if found else None

    @property
    def performance(self):
        """The reference echo; else the one before discharge where it has a mean gradient; else none."""
        if self.reference_echo is not None:
            return self.reference_echo
        return self.discharge_echo if self.discharge_echo.mean_gradient_mmhg is not None else None

    def of_performance(self, part):
        return None if self.performance is None else part(self.performance)

    @property
    def leak_below_moderate(self):
        """Total regurgitation after: True is less than moderate, False moderate or more.

        It is that of the performance echo where that is known; else of the echo before discharge where that is known and, if
        less than moderate, the performance echo has neither grade; else unknown.
        """
        judged = self.of_performance(Echo.leak_below_moderate)
        if judged is not None:
            return judged
        discharge = self.discharge_echo.leak_below_moderate()
        if discharge is True and self.performance is not None and not self.performance.no_grade():
            return None
        return discharge

    @property
    def atrial_fibrillation(self):
        """rhythm atrial_fibrillation or history yes; known absent only with history no, or with rhythm sinus or other and
        history blank (a rejected history is not a blank one)."""
        rhythm, history = self.c["rhythm"], self.c["atrial_fibrillation_history"]
        if rhythm == "atrial_fibrillation" or history is True:
            return True
        if history is False:
            return False
        if rhythm in ("sinus", "other") and self.row.states["atrial_fibrillation_history"] == "blank":
            return False
        return None

    @property
    def hypertrophy(self):
        """LVMI > 95 (women), > 115 (men). Sex unknown: unknown."""
        limit = {"female": 95.0, "male": 115.0}.get(self.c["sex"])
        return gt(self["lv_mass_index_g_m2"], limit)

    def moved(self, cells=None, visit=None):
        """A copy with some cells of the case, or (day, column, value) of one visit, replaced."""
        copy = object.__new__(Case)
        copy.__dict__.update(self.__dict__)
        copy.cache = {}
        copy.c = dict(self.c, **(cells or {}))
        if visit:
            day, column, value = visit
            copy.visits = []
            for v in self.visits:
                if v.day == day:
                    w = object.__new__(Visit)
                    w.__dict__.update(v.__dict__)
                    w.cells = dict(v.cells, **{column: value})
                    w.echo = Echo(w.cells, "", day)
                    v = w
                copy.visits.append(v)
        return copy


# ------------------------------------------------------------------------------------------------------------------- before


@result
def case_id(k):
    return k.c["case_id"]


@result
def age_years(k):
    # birth_date known: completed years at procedure_date, unknown outside the reject limits of age_years; else the age_years
    # cell, rounded down.
    if k.c["birth_date"] is not None:
        years = completed_years(k.c["birth_date"], k.c["procedure_date"])
        limits = COLUMNS["cases"]["age_years"]
        return years if limits.reject_below <= years <= limits.reject_above else None
    return finite(lambda years: math.floor(years), k.c["age_years"])


@result
def bmi_kg_m2(k):
    # weight / height^2
    return finite(lambda kg, cm: kg / (cm / 100) ** 2, k.c["weight_kg"], k.c["height_cm"])


@result
def bsa_m2(k):
    # Du Bois: 0.007184 * kg^0.425 * cm^0.725
    return finite(lambda kg, cm: 0.007184 * kg ** 0.425 * cm ** 0.725, k.c["weight_kg"], k.c["height_cm"])


@result
def creatinine_clearance_ml_min(k):
    # (140-age) * kg * (0.85 if female) / (72 * mg/dL); 1 mg/dL = 88.4 umol/L; with completed years
    factor = {"female": 0.85, "male": 1.0}.get(k.c["sex"])
    return finite(lambda age, kg, f, umol: (140 - age) * kg * f / (72 * umol / 88.4),
                  k["age_years"], k.c["weight_kg"], factor, k.c["creatinine_umol_l"])


@result
def euroscore2_pct(k):
    # Needs age, sex, NYHA, all nine comorbidity columns, ccs4_angina, urgency, LVEF, RVSP used, and creatinine clearance unless
    # on dialysis. Where RVSP used and TR velocity are unknown and TR is none or trace, the pulmonary term is 0.
    c = k.c
    comorbidity = {
        "insulin_diabetes": 0.3542749, "extracardiac_arteriopathy": 0.5360268, "chronic_lung_disease": 0.1886564,
        "poor_mobility": 0.2407181, "previous_cardiac_surgery": 1.118599, "dialysis": 0.6421508,
        "active_endocarditis": 0.6194522, "critical_preoperative_state": 1.086517, "recent_myocardial_infarction": 0.1528943,
        "ccs4_angina": 0.2226147,
    }
    age, lvef, rvsp = k["age_years"], c["baseline_lvef_pct"], k["baseline_rvsp_used_mmhg"]
    if not known(age, c["sex"], c["nyha_class"], c["urgency"], lvef, *(c[name] for name in comorbidity)):
        return None
    if rvsp is None and not (c["baseline_tr_vmax_m_s"] is None and c["baseline_tr_grade"] in ("none", "trace")):
        return None
    y = -5.324537 + 0.0062118  # single non-CABG procedure
    y += 0.0285181 * (1 if age <= 60 else age - 59)
    y += 0.2196434 if c["sex"] == "female" else 0.0
    y += sum(beta for name, beta in comorbidity.items() if c[name])
    if not c["dialysis"]:
        clearance = k["creatinine_clearance_ml_min"]
        if clearance is None:
            return None
        y += 0.0 if gt(clearance, 85.0) else 0.303553 if gt(clearance, 50.0) else 0.8592256
    y += {"I": 0.0, "II": 0.1070545, "III": 0.2958358, "IV": 0.5597929}[c["nyha_class"]]
    y += 0.0 if gt(lvef, 50.0) else 0.3150652 if gt(lvef, 30.0) else 0.8084096 if gt(lvef, 20.0) else 0.9346919
    if rvsp is not None:
        y += 0.3491475 if gt(rvsp, 55.0) else 0.1788899 if gt(rvsp, 30.0) else 0.0
    y += {"elective": 0.0, "urgent": 0.3174673, "emergency": 0.7039121, "salvage": 1.362947}[c["urgency"]]
    return finite(lambda v: 100 * math.exp(v) / (1 + math.exp(v)), y)


@result
def baseline_peak_gradient_mmhg(k):
    # 4(Vmax^2 - Vlvot^2) where the LVOT peak velocity is known and > 1.5 m/s, else 4 Vmax^2. A peak gradient below 0 is unknown.
    proximal = k.c["baseline_lvot_vmax_m_s"]
    v1 = proximal if gt(proximal, 1.5) else 0.0
    peak = finite(lambda v: 4 * (v * v - v1 * v1), k.c["baseline_vmax_m_s"])
    return None if peak is None or peak < 0 else peak


@result
def baseline_stroke_volume_ml(k):
    # pi/4 * d^2 * VTI of the outflow tract
    return finite(lambda d, vti: math.pi / 4 * (d / 10) ** 2 * vti, k.c["baseline_lvot_diameter_mm"], k.c["baseline_lvot_vti_cm"])


@result
def baseline_svi_ml_m2(k):
    # stroke volume / BSA
    return finite(lambda sv, bsa: sv / bsa, k["baseline_stroke_volume_ml"], k["bsa_m2"])


@result
def baseline_ava_computed_cm2(k):
    # stroke volume / aortic VTI (continuity)
    return finite(lambda sv, vti: sv / vti, k["baseline_stroke_volume_ml"], k.c["baseline_av_vti_cm"])


@result
def baseline_ava_used_cm2(k):
    # the computed area; where it cannot be computed, the reported one
    computed = k["baseline_ava_computed_cm2"]
    return computed if computed is not None else k.c["baseline_ava_cm2"]


@result
def baseline_avai_cm2_m2(k):
    # area used / BSA
    return finite(lambda ava, bsa: ava / bsa, k["baseline_ava_used_cm2"], k["bsa_m2"])


@result
def baseline_dvi(k):
    # ratio of VTIs; where either is unknown, ratio of peak velocities
    c = k.c
    if known(c["baseline_lvot_vti_cm"], c["baseline_av_vti_cm"]):
        return finite(lambda s, a: s / a, c["baseline_lvot_vti_cm"], c["baseline_av_vti_cm"])
    return finite(lambda s, a: s / a, c["baseline_lvot_vmax_m_s"], c["baseline_vmax_m_s"])


@result
def baseline_zva_mmhg_ml_m2(k):
    # (SBP + mean gradient) / SVi
    return finite(lambda sbp, mg, svi: (sbp + mg) / svi, k.c["baseline_sbp_mmhg"], k.c["baseline_mean_gradient_mmhg"],
                  k["baseline_svi_ml_m2"])


@result
def baseline_energy_loss_index_cm2_m2(k):
    # (AVA*Aa/(Aa-AVA)) / BSA, Aa the sinotubular junction area; unknown where the area used is not smaller than the aortic area
    def index(ava, stj, bsa):
        aorta = math.pi / 4 * (stj / 10) ** 2
        return ava * aorta / (aorta - ava) / bsa if lt(ava, aorta) else math.nan
    return finite(index, k["baseline_ava_used_cm2"], k.c["sinotubular_junction_mm"], k["bsa_m2"])


@result
def stenosis_class(k):
    c = k.c
    # surgical_bioprosthesis -> not_applicable
    if c["valve_morphology"] == "surgical_bioprosthesis":
        return "not_applicable"
    mean, vmax = c["baseline_mean_gradient_mmhg"], c["baseline_vmax_m_s"]
    # Mean gradient >= 40 or Vmax >= 4.0 -> high_gradient
    if ge(mean, 40.0) or ge(vmax, 4.0):
        return "high_gradient"
    # Else, with both known: area used > 1.0 -> not_severe
    area, svi, lvef = k["baseline_ava_used_cm2"], k["baseline_svi_ml_m2"], c["baseline_lvef_pct"]
    if not known(mean, vmax, area):
        return "not_assessable"
    if gt(area, 1.0):
        return "not_severe"
    # SVi > 35 -> normal_flow_low_gradient (LVEF not needed)
    if svi is None:
        return "not_assessable"
    if gt(svi, 35.0):
        return "normal_flow_low_gradient"
    # SVi <= 35 with LVEF < 50 -> classical, with LVEF >= 50 -> paradoxical
    if lvef is None:
        return "not_assessable"
    return "classical_low_flow_low_gradient" if lt(lvef, 50.0) else "paradoxical_low_flow_low_gradient"


@result
def baseline_rvsp_used_mmhg(k):
    # the reported value, else 4 TRmax^2 + right atrial pressure where both are known
    if k.c["baseline_rvsp_mmhg"] is not None:
        return k.c["baseline_rvsp_mmhg"]
    return finite(lambda v, rap: 4 * v * v + rap, k.c["baseline_tr_vmax_m_s"], k.c["baseline_right_atrial_pressure_mmhg"])


@result
def lv_mass_index_g_m2(k):
    # cube formula / BSA: 0.8 * 1.04 * [(IVSd + LVIDd + PWTd)^3 - LVIDd^3] + 0.6 g, in cm
    def index(septum, cavity, wall, bsa):
        s, d, p = septum / 10, cavity / 10, wall / 10
        return (0.8 * 1.04 * ((s + d + p) ** 3 - d ** 3) + 0.6) / bsa
    return finite(index, k.c["baseline_septum_mm"], k.c["baseline_lvedd_mm"], k.c["baseline_posterior_wall_mm"], k["bsa_m2"])


@result
def relative_wall_thickness(k):
    # 2*posterior wall/LVEDD
    return finite(lambda p, d: 2 * p / d, k.c["baseline_posterior_wall_mm"], k.c["baseline_lvedd_mm"])


@result
def lv_geometry(k):
    # hypertrophy LVMI > 95 (women), > 115 (men); concentric RWT > 0.42
    concentric = gt(k["relative_wall_thickness"], 0.42)
    if not known(k.hypertrophy, concentric):
        return "not_assessable"
    if k.hypertrophy:
        return "concentric_hypertrophy" if concentric else "eccentric_hypertrophy"
    return "concentric_remodelling" if concentric else "normal"


@result
def calcium_likelihood(k):
    # surgical_bioprosthesis -> not_applicable; women >= 1600 very_likely, >= 1200 likely, < 800 unlikely, else intermediate; men
    # >= 3000, >= 2000, < 1600. Sex unknown: unknown.
    if k.c["valve_morphology"] == "surgical_bioprosthesis":
        return "not_applicable"
    score = k.c["calcium_score_au"]
    limits = {"female": (1600.0, 1200.0, 800.0), "male": (3000.0, 2000.0, 1600.0)}.get(k.c["sex"])
    if not known(score, limits):
        return "not_assessable"
    if ge(score, limits[0]):
        return "very_likely"
    if ge(score, limits[1]):
        return "likely"
    return "unlikely" if lt(score, limits[2]) else "intermediate"


@result
def cardiac_damage_stage(k):
    c = k.c
    criteria = {
        4: [c["rv_dysfunction"]],
        3: [ge(k["baseline_rvsp_used_mmhg"], 60.0), among(c["baseline_tr_grade"], "moderate", "severe")],
        2: [gt(c["left_atrial_volume_index_ml_m2"], 34.0), k.atrial_fibrillation, among(c["baseline_mr_grade"], "moderate", "severe")],
        1: [k.hypertrophy, gt(c["e_over_e_prime"], 14.0), lt(c["baseline_lvef_pct"], 50.0)],
    }
    # Every criterion unknown -> not_assessable
    if all(x is None for stage in criteria.values() for x in stage):
        return "not_assessable"
    # Highest stage with a criterion known present, else 0
    present = max([stage for stage, found in criteria.items() if True in found], default=0)
    # at_least_ in front where any criterion of a higher stage is unknown (any criterion at all, for 0)
    open_above = any(None in found for stage, found in criteria.items() if stage > present)
    return f"at_least_{present}" if open_above else str(present)


# ------------------------------------------------------------------------------------------------------------------- sizing


def circle_area(d):
    return math.pi / 4 * d * d


def nominal_area(device):
    # the catalogue's, else from the circle of the labelled size
    return device["nominal_area_mm2"] if device["nominal_area_mm2"] is not None else circle_area(device["labelled_size_mm"])


def nominal_perimeter(device):
    if device["nominal_perimeter_mm"] is not None:
        return device["nominal_perimeter_mm"]
    return math.pi * device["labelled_size_mm"]


def has_range(device):
    return known(device["range_min"], device["range_max"])


@result
def annulus_area_diameter_mm(k):
    # 2*sqrt(area/pi)
    return finite(lambda a: 2 * math.sqrt(a / math.pi), k.c["annulus_area_mm2"])


@result
def annulus_perimeter_diameter_mm(k):
    # perimeter/pi
    return finite(lambda p: p / math.pi, k.c["annulus_perimeter_mm"])


@result
def annulus_mean_diameter_mm(k):
    # (min+max)/2
    return finite(lambda a, b: (a + b) / 2, k.c["annulus_min_mm"], k.c["annulus_max_mm"])


@result
def annulus_eccentricity_index(k):
    # 1 - min/max
    return finite(lambda a, b: 1 - a / b, k.c["annulus_min_mm"], k.c["annulus_max_mm"])


@result
def lvot_annulus_area_ratio(k):
    # outflow area / annulus area
    return finite(lambda a, b: a / b, k.c["lvot_area_mm2"], k.c["annulus_area_mm2"])


@result
def icd_annulus_ratio(k):
    # bicuspid only, to the area-derived diameter
    if not k.bicuspid:
        return None
    return finite(lambda i, d: i / d, k.c["intercommissural_distance_mm"], k["annulus_area_diameter_mm"])


def oversizing(device_size, native):
    return finite(lambda d, n: (d / n - 1) * 100, device_size, native)


@result
def area_oversizing_pct(k):
    # (device nominal area / annulus area - 1) * 100
    return oversizing(k.device and nominal_area(k.device), k.c["annulus_area_mm2"])


@result
def perimeter_oversizing_pct(k):
    # (device nominal perimeter / annulus perimeter - 1) * 100
    return oversizing(k.device and nominal_perimeter(k.device), k.c["annulus_perimeter_mm"])


def supraannular_diameter(k):
    """Bicuspid morphology, intercommissural distance."""
    return k.c["intercommissural_distance_mm"] if k.bicuspid else None


def sealing_balloon(k):
    """predilatation_seal complete and a balloon diameter; the predilatation cell plays no part."""
    return k.c["predilatation_balloon_mm"] if k.c["predilatation_seal"] == "complete" else None


@result
def supraannular_area_oversizing_pct(k):
    # (device nominal area / circle of the intercommissural distance - 1) * 100; bicuspid only
    return oversizing(k.device and nominal_area(k.device), finite(circle_area, supraannular_diameter(k)))


@result
def balloon_area_oversizing_pct(k):
    # (device nominal area / circle of the pre-dilatation balloon - 1) * 100; seal complete only
    return oversizing(k.device and nominal_area(k.device), finite(circle_area, sealing_balloon(k)))


@result
def device_in_range(k):
    # the annulus by the implanted device's sized_by; range ends are inside; a device without both ends gives not_assessable.
    # below: annulus smaller than range_min.
    device = k.device
    if device is None or not has_range(device):
        return "not_assessable"
    measure = k.c["annulus_area_mm2" if device["sized_by"] == "area" else "annulus_perimeter_mm"]
    if measure is None:
        return "not_assessable"
    if lt(measure, device["range_min"]):
        return "below"
    return "above" if gt(measure, device["range_max"]) else "within"


def size_set(k, area, perimeter):
    """Catalogue rows with both range ends whose range holds, by their own sized_by, the measure. Blank where it cannot be made,
    `none` where empty."""
    if area is None and perimeter is None:
        return None
    found = []
    for name, device in k.catalogue.items():
        measure = area if device["sized_by"] == "area" else perimeter
        if has_range(device) and ge(measure, device["range_min"]) and le(measure, device["range_max"]):
            found.append(name)
    return ";".join(found) or "none"


@result
def annulus_sizes(k):
    # area or perimeter known; rows sized by the unknown one are not in it
    return size_set(k, k.c["annulus_area_mm2"], k.c["annulus_perimeter_mm"])


def circle_set(k, diameter):
    return None if diameter is None else size_set(k, circle_area(diameter), math.pi * diameter)


@result
def supraannular_sizes(k):
    # the circle of the intercommissural distance
    return circle_set(k, supraannular_diameter(k))


@result
def balloon_sizes(k):
    # the circle of the balloon
    return circle_set(k, sealing_balloon(k))


@result
def sizing_agreement(k):
    # not_assessable where none counts, or the device is blank, not in the catalogue, or without both range ends
    device = k.device
    if device is None or not has_range(device):
        return "not_assessable"
    # a line counts when its set could be made and, for the annulus, the measure the implanted device is sized by is known
    sized_by = k.c["annulus_area_mm2" if device["sized_by"] == "area" else "annulus_perimeter_mm"]
    lines = [k["annulus_sizes"] if sized_by is not None else None, k["supraannular_sizes"], k["balloon_sizes"]]
    lines = [line for line in lines if line is not None]
    if not lines:
        return "not_assessable"
    # one_line where only one counts; of two or three, disagree where the device is missing from one, agree where in all
    if len(lines) == 1:
        return "one_line"
    return "agree" if all(k.c["device_id"] in line.split(";") for line in lines) else "disagree"


@result
def device_balloon_ratio(k):
    # labelled size / balloon
    return finite(lambda d, b: d / b, k.device_cell("labelled_size_mm"), k.c["predilatation_balloon_mm"])


@result
def filled_diameter_estimate_mm(k):
    # Change: with postdilatation no fill_volume_change_ml; with yes the larger of fill (where known) and post-dilatation change,
    # unknown where the latter is blank; postdilatation blank: the larger of those known. Blank is not 0.
    fill, post, done = k.c["fill_volume_change_ml"], k.c["postdilatation_volume_change_ml"], k.c["postdilatation"]
    if done is False:
        change = fill
    elif done is True:
        change = None if post is None else post if fill is None else max(fill, post)
    else:
        change = max([v for v in (fill, post) if v is not None], default=None)
    # labelled size * sqrt((nominal + change)/nominal)
    return finite(lambda size, nominal, v: size * math.sqrt((nominal + v) / nominal),
                  k.device_cell("labelled_size_mm"), k.device_cell("nominal_fill_ml"), change)


@result
def sheath_femoral_ratio(k):
    # access_route transfemoral only
    if k.c["access_route"] != "transfemoral":
        return None
    return finite(lambda s, l: s / l, k.device_cell("sheath_outer_mm"), k.c["access_min_lumen_mm"])


# -------------------------------------------------------------------------------------------------------------------- after


@result
def post_peak_gradient_mmhg(k):
    # 4*Vmax^2
    return finite(lambda v: 4 * v * v, k.c["post_vmax_m_s"])


@result
def post_eoa_cm2(k):
    # continuity equation at the prosthesis; VTIs only
    return k.discharge_echo.eoa()


@result
def post_eoai_cm2_m2(k):
    # EOA / BSA
    return finite(lambda a, b: a / b, k["post_eoa_cm2"], k["bsa_m2"])


@result
def post_dvi(k):
    # outflow VTI / prosthesis VTI
    return k.discharge_echo.dvi()


@result
def mean_gradient_change_mmhg(k):
    # post - baseline mean gradient
    return finite(lambda a, b: a - b, k.c["post_mean_gradient_mmhg"], k.c["baseline_mean_gradient_mmhg"])


@result
def performance_echo(k):
    # 30_day; else discharge where it has a mean gradient; else none
    if k.reference_echo is not None:
        return "30_day"
    return "none" if k.performance is None else "discharge"


@result
def performance_mean_gradient_mmhg(k):
    return k.of_performance(lambda e: e.mean_gradient_mmhg)


@result
def performance_eoai_cm2_m2(k):
    return finite(lambda a, b: a / b, k.of_performance(Echo.eoa), k["bsa_m2"])


@result
def performance_dvi(k):
    return k.of_performance(Echo.dvi)


@result
def intended_performance(k):
    # (all of): mean gradient < 20, Vmax < 3, DVI >= 0.25 of the performance echo, total regurgitation less than moderate
    return word(all_of(lt(k["performance_mean_gradient_mmhg"], 20.0), lt(k.of_performance(lambda e: e.vmax_m_s), 3.0),
                       ge(k["performance_dvi"], 0.25), k.leak_below_moderate))


def mismatch(eoai, bmi):
    # BMI < 30: severe <= 0.65, moderate <= 0.85, else none; BMI >= 30: <= 0.55, <= 0.70
    if not known(eoai, bmi):
        return "not_assessable"
    severe, moderate = (0.55, 0.70) if ge(bmi, 30.0) else (0.65, 0.85)
    return "severe" if le(eoai, severe) else "moderate" if le(eoai, moderate) else "none"


@result
def measured_ppm(k):
    return mismatch(k["performance_eoai_cm2_m2"], k["bmi_kg_m2"])


@result
def predicted_eoai_cm2_m2(k):
    # reference EOA of the device / BSA
    return finite(lambda a, b: a / b, k.device_cell("reference_eoa_cm2"), k["bsa_m2"])


@result
def predicted_ppm(k):
    return mismatch(k["predicted_eoai_cm2_m2"], k["bmi_kg_m2"])


def regurgitation_index(k, when):
    return finite(lambda dbp, edp, sbp: (dbp - edp) / sbp * 100,
                  k.c[f"aortic_dbp_{when}_mmhg"], k.c[f"lvedp_{when}_mmhg"], k.c[f"aortic_sbp_{when}_mmhg"])


@result
def aortic_regurgitation_index(k):
    # (DBP - LVEDP)/SBP * 100 after implantation
    return regurgitation_index(k, "after")


@result
def aortic_regurgitation_index_ratio(k):
    # index after / index before
    return finite(lambda a, b: a / b, k["aortic_regurgitation_index"], regurgitation_index(k, "before"))


@result
def gorlin_ava_cm2(k):
    # CO*1000/(44.3*HR*SEP*sqrt(mean gradient)) before implantation
    return finite(lambda co, hr, sep, mg: co * 1000 / (44.3 * hr * sep * math.sqrt(mg)), k.c["cardiac_output_l_min"],
                  k.c["catheter_heart_rate_bpm"], k.c["systolic_ejection_period_s"], k.c["invasive_mean_gradient_before_mmhg"])


def creatinine(k):
    baseline, peak = k.c["creatinine_umol_l"], k.c["creatinine_peak_umol_l"]
    return baseline, peak, finite(lambda p, b: p / b, peak, baseline), finite(lambda p, b: p - b, peak, baseline)


def stage_3_rule(k):
    # r > 3, or peak >= 353.6 (4.0 mg/dL) and rise >= 44
    _, peak, ratio, rise = creatinine(k)
    return any_of(gt(ratio, 3.0), all_of(ge(peak, 353.6), ge(rise, 44.0)))


@result
def aki_stage(k):
    baseline, peak, ratio, rise = creatinine(k)
    # dialysis yes -> not_applicable; new_dialysis yes -> stage_4; dialysis, new_dialysis, baseline or peak unknown -> not_assessable
    if k.c["dialysis"] is True:
        return "not_applicable"
    if k.c["new_dialysis"] is True:
        return "stage_4"
    if not known(k.c["dialysis"], k.c["new_dialysis"], baseline, peak):
        return "not_assessable"
    if stage_3_rule(k):
        return "stage_3"
    # r > 2 -> stage_2; r >= 1.5 or (48 h value - baseline) >= 26.4 -> stage_1
    if gt(ratio, 2.0):
        return "stage_2"
    early = k.c["creatinine_48h_umol_l"]
    if ge(ratio, 1.5) or ge(finite(lambda e, b: e - b, early, baseline), 26.4):
        return "stage_1"
    # none where the 48 h value is known or peak - baseline < 26.4; else not_assessable
    return "none" if early is not None or lt(rise, 26.4) else "not_assessable"


def no_aki_stage_3_or_4(k):
    # holds with dialysis yes; else fails with new_dialysis yes or a known stage 3 rule; holds with dialysis no, new_dialysis no and
    # the stage 3 rules known not met, whether or not the stage is assessable; else unknown
    if k.c["dialysis"] is True:
        return True
    if k.c["new_dialysis"] is True or stage_3_rule(k) is True:
        return False
    if k.c["dialysis"] is False and k.c["new_dialysis"] is False and stage_3_rule(k) is False:
        return True
    return None


@result
def technical_success(k):
    # (all of): procedural_death no; access_delivery_retrieval_ok yes; position_ok yes; second_valve no; conversion_to_surgery no;
    # device_intervention_in_room no; complication_intervention_in_room no
    c = k.c
    return word(all_of(is_no(c["procedural_death"]), is_yes(c["access_delivery_retrieval_ok"]), is_yes(c["position_ok"]),
                       is_no(c["second_valve"]), is_no(c["conversion_to_surgery"]), is_no(c["device_intervention_in_room"]),
                       is_no(c["complication_intervention_in_room"])))


TRUTH = {"yes": True, "no": False, "not_assessable": None}


@result
def device_success(k):
    # (all of): technical_success; death_30d no; device_intervention_to_30_days no; complication_intervention_to_30_days no;
    # intended_performance
    c = k.c
    return word(all_of(TRUTH[k["technical_success"]], negate(TRUTH[k["death_30d"]]), is_no(c["device_intervention_to_30_days"]),
                       is_no(c["complication_intervention_to_30_days"]), TRUTH[k["intended_performance"]]))


@result
def early_safety(k):
    # (all of): death_30d no; stroke_30d none or tia; bleeding_type none or type_1; vascular_complication not major;
    # structural_complication not major; no AKI stage 3 or 4; total regurgitation less than moderate; new_pacemaker no or
    # not_applicable; device_intervention_in_room no; device_intervention_to_30_days no
    c = k.c
    pacemaker = {"no": True, "not_applicable": True, "yes": False, "not_assessable": None}[k["new_pacemaker"]]
    return word(all_of(
        negate(TRUTH[k["death_30d"]]), among(c["stroke_30d"], "none", "tia"), among(c["bleeding_type"], "none", "type_1"),
        negate(among(c["vascular_complication"], "major")), negate(among(c["structural_complication"], "major")),
        no_aki_stage_3_or_4(k), k.leak_below_moderate, pacemaker,
        is_no(c["device_intervention_in_room"]), is_no(c["device_intervention_to_30_days"])))


def no_event_to_day_365(k, cell, date_cell):
    truths = []
    for before, visit in zip([None] + k.visits, k.visits):
        if visit.cells[cell] is not True:
            continue
        own = k.day(visit.cells[date_cell])
        # fails on a yes, on whichever visit, whose day (its own date column, else the visit's) is <= 365
        if (own if own is not None else visit.day) <= 365:
            truths.append(False)
        # unknown on a yes without its date at a visit after day 365 whose preceding visit (or the procedure) is at day 365 or before
        elif own is None and (before is None or before.day <= 365):
            truths.append(None)
    if False in truths:
        return False
    if truths:
        return None
    # Otherwise it holds when at least one visit is at day 305 or later and no visit up to and including the first of these has the
    # cell unknown; else unknown.
    late = [v for v in k.visits if v.day >= 305]
    if not late:
        return None
    asked = [v for v in k.visits if v.day <= late[0].day]
    return True if all(v.cells[cell] is not None for v in asked) else None


@result
def clinical_efficacy_1y(k):
    # KCCQ of the visit with a KCCQ of day 305 to 425 nearest day 365 (earlier on a tie) >= 45 and not more than 10 below baseline
    scored = [v for v in k.visits if 305 <= v.day <= 425 and v.cells["kccq"] is not None]
    kccq = min(scored, key=lambda v: (abs(v.day - 365), v.day)).cells["kccq"] if scored else None
    fall = finite(lambda a, b: a - b, k.c["kccq_baseline"], kccq)
    return word(all_of(
        negate(k.dead_by(365)), among(k.c["stroke_30d"], "none", "tia"), no_event_to_day_365(k, "stroke", "stroke_date"),
        no_event_to_day_365(k, "hospitalised_for_valve_or_procedure", "hospitalisation_date"), ge(kccq, 45.0), le(fall, 10.0)))


@result
def death_30d(k):
    # yes where death is on day 0 to 30; no where death is later or known alive to day 30 or beyond; else not_assessable
    return word(k.dead_by(30))


@result
def new_pacemaker(k):
    # not_applicable with prior_pacemaker yes; prior_pacemaker unknown -> not_assessable; else new_pacemaker_30d
    if k.c["prior_pacemaker"] is True:
        return "not_applicable"
    return word(None if k.c["prior_pacemaker"] is None else k.c["new_pacemaker_30d"])


@result
def length_of_stay_days(k):
    # discharge - admission
    return finite(lambda a, b: a - b, k.day(k.c["discharge_date"]), k.day(k.c["admission_date"]))


@result
def days_to_last_contact(k):
    # to death, else to known alive
    return k.day(k.death_date if k.death_date is not None else k.known_alive)


# --------------------------------------------------------------------------------------------------------------- durability

STEP = {"none": 0, "trace": 0, "mild": 1, "moderate": 2, "severe": 3}


def later_visits(k):
    """After the reference, with a mean gradient or a transvalvular grade, and before the first visit that has valve_reintervention
    yes (where that stands at or before the reference, there is no later visit)."""
    reference = k.reference_echo
    if reference is None:
        return []
    redone = [v.day for v in k.visits if v.cells["valve_reintervention"] is True]
    return [v for v in k.visits
            if v.day > reference.day and (not redone or v.day < redone[0])
            and (v.echo.mean_gradient_mmhg is not None or v.echo.transvalvular_grade is not None)]


def fall_reached(reference, now, eoa_fall, eoa_share, dvi_fall, dvi_share):
    """Falls are of the reference value. Unknown where neither EOA nor DVI is known at both echoes; one that reaches its threshold is
    enough to hold; one known not to reach it is enough to fail where the other is unknown."""
    def reached(before, after, by, share):
        if not known(before, after):
            return None
        return any_of(ge(before - after, by), ge((before - after) / before, share))
    parts = [reached(reference.eoa(), now.eoa(), eoa_fall, eoa_share), reached(reference.dvi(), now.dvi(), dvi_fall, dvi_share)]
    parts = [p for p in parts if p is not None]
    return any(parts) if parts else None


def routes(reference, now):
    """(gradient stage 2, gradient stage 3, regurgitation stage 2, regurgitation stage 3), each True, False or None."""
    mean = now.mean_gradient_mmhg
    rise = finite(lambda a, b: a - b, mean, reference.mean_gradient_mmhg)
    gradient_3 = all_of(ge(rise, 20.0), ge(mean, 30.0), fall_reached(reference, now, 0.6, 0.5, 0.2, 0.4))
    gradient_2 = all_of(ge(rise, 10.0), ge(mean, 20.0), fall_reached(reference, now, 0.3, 0.25, 0.1, 0.2))
    grade, before = now.transvalvular_grade, reference.transvalvular_grade
    steps = None if grade is None or before is None else STEP[grade] - STEP[before]
    leak_3 = all_of(ge(steps, 2), among(grade, "severe"))
    leak_2 = all_of(ge(steps, 1), among(grade, "moderate", "severe"))
    return gradient_2, gradient_3, leak_2, leak_3


def known_stage(k, visit):
    gradient_2, gradient_3, leak_2, leak_3 = routes(k.reference_echo, visit.echo)
    return 3 if gradient_3 or leak_3 else 2 if gradient_2 or leak_2 else 0


@result
def deterioration_stage(k):
    # No reference -> not_assessable
    later = later_visits(k)
    if k.reference_echo is None or not later:
        return "not_assessable"
    # the worst stage known present at any later visit
    worst = max(known_stage(k, v) for v in later)
    if worst:
        return f"stage_{worst}"
    # none if at the latest later visit both routes are known absent for stage 2, else not_assessable
    gradient_2, _, leak_2, _ = routes(k.reference_echo, later[-1].echo)
    return "none" if gradient_2 is False and leak_2 is False else "not_assessable"


@result
def bioprosthetic_valve_failure(k):
    # stage_3 on valve_related_death yes; stage_2 on valve_reintervention yes at any visit
    if k.c["valve_related_death"] is True:
        return "stage_3"
    if any(v.cells["valve_reintervention"] is True for v in k.visits):
        return "stage_2"
    # stage_1 where a later visit with known stage >= 2 has new_or_worse_symptoms yes, or with known stage 3 has irreversible yes
    staged = [(v, known_stage(k, v)) for v in later_visits(k)]
    if any(s >= 2 and v.cells["new_or_worse_symptoms"] is True or s == 3 and v.cells["irreversible"] is True for v, s in staged):
        return "stage_1"
    # none where all hold
    reference = k.reference_echo
    holds = (
        k["deterioration_stage"] != "not_assessable"
        and all(v.cells["valve_reintervention"] is not None for v in k.visits if v.day > reference.day)
        and all(v.cells["new_or_worse_symptoms"] is False for v, s in staged if s >= 2)
        and all(v.cells["irreversible"] is False for v, s in staged if s == 3)
        and (not k.sign_of_death or k.c["valve_related_death"] is False))
    return "none" if holds else "not_assessable"


# ---------------------------------------------------------------------------------------------------------------- follow-up


def scheduled(k, number):
    """(due, window opens, window closes): number 0 is day 30, n the n-th anniversary."""
    start, days = k.c["procedure_date"], datetime.timedelta
    if number == 0:
        return start + days(30), start + days(23), start + days(75)
    due = add_years(start, number)
    return due, due - days(60), due + days(60)


def visit_done(k, number):
    # done when any visit lies in its window, the 30-day visit also by a reference echo, whatever its attendance; the date of a
    # record_review row does not make a visit done
    _, opens, closes = scheduled(k, number)
    if any(opens <= v.date <= closes and not v.record_review for v in k.visits):
        return True
    return number == 0 and k.reference_echo is not None


def target(k):
    # the latest scheduled visit whose window has opened, if it is not done; else the next one
    number = -1
    while scheduled(k, number + 1)[1] <= k.as_of:
        number += 1
    return number if number >= 0 and not visit_done(k, number) else number + 1


@result
def next_visit(k):
    if not k.alive:
        return "none"
    return "30_day" if target(k) == 0 else "annual"


@result
def next_visit_due(k):
    return None if not k.alive else scheduled(k, target(k))[0]


@result
def follow_up_state(k):
    # in this order: deceased; lost (known alive to more than 425 days before the as-of date); not_yet_due; due; overdue
    if not k.alive:
        return "deceased"
    if (k.as_of - k.known_alive).days > 425:
        return "lost"
    _, opens, closes = scheduled(k, target(k))
    return "not_yet_due" if k.as_of < opens else "due" if k.as_of <= closes else "overdue"


# ------------------------------------------------------------------------------------------------------------ fragile classes


def moves(value, share=None, by=None):
    if value is None:
        return []
    return [value * (1 - share), value * (1 + share)] if share else [value - by, value + by]


@result
def fragile(k):
    # one input at a time moved by its usual error, both ways; name the class that changes to another class
    c = k.c
    case_moves = lambda name, **error: [k.moved({name: v}) for v in moves(c[name], **error)]

    def echo_moves(echo, name, **error):
        if echo is None:
            return []
        values = moves(getattr(echo, name), **error)
        if echo.day is None:
            return [k.moved({"post_" + name: v}) for v in values]
        return [k.moved(visit=(echo.day, name, v)) for v in values]

    later = later_visits(k)
    annulus = case_moves("annulus_area_mm2", share=0.03) + case_moves("annulus_perimeter_mm", share=0.015)
    trials = {
        "stenosis_class": case_moves("baseline_lvot_diameter_mm", by=1.0) + case_moves("baseline_vmax_m_s", share=0.03)
        + case_moves("baseline_mean_gradient_mmhg", share=0.05),
        "device_in_range": annulus,
        "sizing_agreement": annulus,
        "intended_performance": echo_moves(k.performance, "mean_gradient_mmhg", share=0.05),
        "measured_ppm": echo_moves(k.performance, "lvot_diameter_mm", by=1.0),
        "deterioration_stage": echo_moves(later[-1].echo if later else None, "mean_gradient_mmhg", share=0.05),
    }
    closed = ("not_assessable", "not_applicable")
    changed = [name for name, others in trials.items() if k[name] not in closed
               and any(o[name] not in closed and o[name] != k[name] for o in others)]
    return ";".join(name for name in RESULTS_ORDER if name in changed) or None


# -------------------------------------------------------------------------------------------------------------------- flags


def latest(k, read):
    """(visit, value) of the latest counted visit that has one."""
    for visit in reversed(k.visits):
        if read(visit) is not None:
            return visit, read(visit)
    return None, None


def late_regurgitation(k):
    # paravalvular grade moderate or severe at the latest counted visit that has one, that visit being after the performance echo
    # (any visit is after the discharge echo, and after none)
    visit, grade = latest(k, lambda v: v.echo.paravalvular_grade)
    if grade not in ("moderate", "severe"):
        return False
    return k.reference_echo is None or visit.day > k.reference_echo.day


def lvef_fall(k):
    # LVEF at the latest counted visit that has one < 50 and at least 10 points below that before discharge (before the procedure
    # where that is unknown)
    _, now = latest(k, lambda v: v.echo.lvef_pct)
    before = k.c["post_lvef_pct"] if k.c["post_lvef_pct"] is not None else k.c["baseline_lvef_pct"]
    return all_of(lt(now, 50.0), ge(finite(lambda a, b: a - b, before, now), 10.0))


def treatment_review_passed(k):
    # alive, antithrombotic_until before the as-of date, and no counted visit on or after that day with antithrombotic known
    until = k.c["antithrombotic_until"]
    if not k.alive or until is None or until >= k.as_of:
        return False
    return not any(v.date >= until and v.cells["antithrombotic"] is not None for v in k.visits)


def rhythm_without_anticoagulant(k):
    # alive, atrial fibrillation (rhythm, history or discharge_rhythm), and the latest known treatment (visit, else
    # antithrombotic_plan) without anticoagulant
    c = k.c
    fibrillation = (c["rhythm"] == "atrial_fibrillation" or c["atrial_fibrillation_history"] is True
                    or c["discharge_rhythm"] == "atrial_fibrillation")
    _, treatment = latest(k, lambda v: v.cells["antithrombotic"])
    treatment = treatment if treatment is not None else c["antithrombotic_plan"]
    return k.alive and fibrillation and treatment in ("none", "single_antiplatelet", "dual_antiplatelet")


def major_event(k):
    c = k.c
    return (c["stroke_30d"] in ("ischaemic", "haemorrhagic", "unspecified") or c["bleeding_type"] in ("type_3", "type_4")
            or c["vascular_complication"] == "major" or c["structural_complication"] == "major"
            or any(c[n] for n in ("conversion_to_surgery", "valve_embolisation", "annular_rupture", "coronary_obstruction",
                                  "second_valve", "no_valve_implanted")))


def contradictions(k):
    """The names of the checks across cells that fail."""
    c, procedure = k.c, k.c["procedure_date"]
    peak = lambda v: None if v is None else 4 * v * v
    ratio = lambda a, b: finite(lambda x, y: x / y, a, b)
    echoes = [("before", c["baseline_mean_gradient_mmhg"], c["baseline_vmax_m_s"], c["baseline_av_vti_cm"], c["baseline_lvot_vti_cm"]),
              ("after", c["post_mean_gradient_mmhg"], c["post_vmax_m_s"], c["post_av_vti_cm"], c["post_lvot_vti_cm"])]
    echoes += [(f"visit {v.day}", v.echo.mean_gradient_mmhg, v.echo.vmax_m_s, v.echo.av_vti_cm, v.echo.lvot_vti_cm) for v in k.visits]
    failed = []
    check = lambda name, fails: failed.append(name) if fails else None
    for when, mean, vmax, av_vti, lvot_vti in echoes:
        check(f"mean above peak, {when}", gt(mean, peak(vmax)))
        check(f"aortic VTI below outflow VTI, {when}", lt(av_vti, lvot_vti))
    circle = finite(lambda p, a: p * p / (4 * math.pi * a), c["annulus_perimeter_mm"], c["annulus_area_mm2"])
    check("perimeter shorter than the circle", lt(circle, 0.98))
    check("min above max", gt(c["annulus_min_mm"], c["annulus_max_mm"]))
    check("diastolic not below systolic, echo", ge(c["baseline_dbp_mmhg"], c["baseline_sbp_mmhg"]))
    check("diastolic not below systolic, before", ge(c["aortic_dbp_before_mmhg"], c["aortic_sbp_before_mmhg"]))
    check("diastolic not below systolic, after", ge(c["aortic_dbp_after_mmhg"], c["aortic_sbp_after_mmhg"]))
    for name in ("discharge_date", "death_date", "post_echo_date"):
        check(f"{name} before the procedure", c[name] is not None and c[name] < procedure)
    check("embolised in position", c["valve_embolisation"] and c["position_ok"])
    check("rupture without structural complication", c["annular_rupture"] and c["structural_complication"] == "none")
    check("second pacemaker", c["new_pacemaker_30d"] and c["prior_pacemaker"])
    ellipse = ratio(c["annulus_area_mm2"], finite(lambda a, b: math.pi / 4 * a * b, c["annulus_min_mm"], c["annulus_max_mm"]))
    check("area off the ellipse", lt(ellipse, 0.88) or gt(ellipse, 1.12))
    check("structural complication none", c["structural_complication"] == "none" and any(
        c[n] for n in ("tamponade", "aortic_dissection", "annular_rupture", "coronary_obstruction")))
    check("no valve in position", c["no_valve_implanted"] and c["position_ok"])
    for name in ("ct_date", "baseline_echo_date"):
        check(f"{name} after the procedure", c[name] is not None and c[name] > procedure)
    check("conversion without intervention", c["conversion_to_surgery"] and c["device_intervention_in_room"] is False
          and c["complication_intervention_in_room"] is False)
    check("left alive after procedural death", c["procedural_death"]
          and (c["discharge_status"] == "alive" or c["discharge_date"] is not None))
    check("died in hospital without a date", c["discharge_status"] == "died_in_hospital"
          and k.row.states["death_date"] == "blank" and c["procedural_death"] is not True)
    check("procedural death dated later", c["procedural_death"] and c["death_date"] is not None and c["death_date"] > procedure)
    return failed


def counted_rows(k):
    return [("cases", k.row)] + [("followups", v.row) for v in k.visits]


def unusual_value(k):
    # a cell of the case, or of a counted visit, outside its flag limits and not rejected
    return any(row.values[n] is not None and column.unusual(row.values[n])
               for file, row in counted_rows(k) for n, column in COLUMNS[file].items())


def rejected_value(k):
    return any(state == "rejected" for _, row in counted_rows(k) for state in row.states.values())


FLAGS = [
    ("sizing_disagreement", lambda k: k["sizing_agreement"] == "disagree"),
    ("size_out_of_range", lambda k: k["device_in_range"] in ("below", "above")),
    ("root_injury_risk", lambda k: k.device_cell("mechanism") == "balloon_expandable"
     and k.c["lvot_calcification"] in ("moderate", "heavy") and ge(k["area_oversizing_pct"], 20.0)),
    ("low_coronary", lambda k: lt(k.c["left_coronary_height_mm"], 12.0) and lt(k.c["sinus_of_valsalva_mm"], 30.0)),
    ("tight_access", lambda k: ge(k["sheath_femoral_ratio"], 1.05)),
    ("wide_aorta", lambda k: ge(k.c["ascending_aorta_mm"], 45.0)),
    ("conduction_risk", lambda k: k.c["prior_pacemaker"] is False
     and (k.c["right_bundle_branch_block"] is True or gt(k.c["implant_depth_mm"], k.c["membranous_septum_mm"]))),
    ("discordant_stenosis", lambda k: k["stenosis_class"].endswith("_low_gradient")),
    ("area_mismatch", lambda k: gt(finite(lambda a, b: abs(a - b) / b, k["baseline_ava_computed_cm2"], k.c["baseline_ava_cm2"]), 0.15)),
    ("residual_gradient", lambda k: ge(k["performance_mean_gradient_mmhg"], 20.0)),
    ("major_event", major_event),
    ("death", lambda k: k.death_date is not None),
    ("death_undated", lambda k: k.sign_of_death and k.death_date is None),
    ("visit_event", lambda k: any(v.cells[n] for v in k.visits for n in (
        "stroke", "hospitalised_for_valve_or_procedure", "valve_reintervention", "endocarditis", "leaflet_thrombosis"))),
    ("late_regurgitation", late_regurgitation),
    ("late_gradient", lambda k: k.reference_echo is None and ge(latest(k, lambda v: v.echo.mean_gradient_mmhg)[1], 20.0)),
    ("lvef_fall", lvef_fall),
    ("no_sizing_reason", lambda k: k.c["sizing_reason"] is None
     and (k["sizing_agreement"] == "disagree" or k["device_in_range"] in ("below", "above"))),
    ("treatment_review_passed", treatment_review_passed),
    ("rhythm_without_anticoagulant", rhythm_without_anticoagulant),
    ("incidental_open", lambda k: k.c["incidental_finding"] is not None and k.c["incidental_closed"] is not True),
    ("identity_conflict", lambda k: k.identity_conflict),
    ("possible_pasted_row", lambda k: k.possible_pasted_row),
    ("regurgitation", lambda k: k.leak_below_moderate is False),
    ("low_regurgitation_index", lambda k: lt(k["aortic_regurgitation_index"], 25.0)),
    ("mismatch", lambda k: k["measured_ppm"] in ("moderate", "severe")),
    ("kidney_injury", lambda k: k["aki_stage"] in ("stage_2", "stage_3", "stage_4")),
    ("new_conduction_disorder", lambda k: k.c["new_left_bundle_branch_block"] is True or k["new_pacemaker"] == "yes"),
    ("deterioration", lambda k: k["deterioration_stage"] in ("stage_2", "stage_3")),
    ("no_reference_echo", lambda k: k.alive and k.day(k.as_of) > 105 and k.reference_echo is None),
    ("visit_overdue", lambda k: k["follow_up_state"] == "overdue"),
    ("lost_to_follow_up", lambda k: k["follow_up_state"] == "lost"),
    ("contradiction", contradictions),
    ("unusual_value", unusual_value),
    ("rejected_value", rejected_value),
]


@result
def flags(k):
    # order of the table, `;` between, no space; a case with no flag has a blank cell
    return ";".join(code for code, raised in FLAGS if raised(k)) or None


@result
def in_doubt(_):
    return None


@result
def missing(_):
    return None


# ------------------------------------------------------------------------------------------------------------- whole tables

PASTE_COLUMNS = [c.name for c in COLUMNS["cases"].values() if c.kind == "number" and c.origin in ("echo", "ct")]
RESULTS_ORDER = result_columns()


def compare_cases(cases):
    """identity_conflict: one device_serial in two cases, one patient_key with two birth dates; possible_pasted_row: two cases alike
    in six or more of the echo and CT number cells."""
    by_serial, by_key = {}, {}
    for k in cases:
        if k.c["device_serial"] is not None:
            by_serial.setdefault(k.c["device_serial"], []).append(k)
        by_key.setdefault(patient_key(k), []).append(k)
    for group in by_serial.values():
        if len(group) > 1:
            for k in group:
                k.identity_conflict = True
    for group in by_key.values():
        if len({k.c["birth_date"] for k in group if k.c["birth_date"] is not None}) > 1:
            for k in group:
                k.identity_conflict = True
    numbers = [[k.c[n] for n in PASTE_COLUMNS] for k in cases]
    for i, a in enumerate(numbers):
        for j in range(i):
            if sum(x is not None and x == y for x, y in zip(a, numbers[j])) >= 6:
                cases[i].possible_pasted_row = cases[j].possible_pasted_row = True


def patient_key(k):
    """case_id where blank"""
    return k.c["patient_key"] if k.c["patient_key"] is not None else k.c["case_id"]


def read_cases(cases_path, followups_path, devices_path, as_of):
    """The cases that are reported, in the order of the file."""
    rows, ids = read_rows("cases", cases_path)
    visit_rows = read_rows("followups", followups_path)[0] if followups_path else []
    device_rows, device_ids = read_rows("devices", devices_path) if devices_path else ([], [])
    catalogue = {r.values["device_id"]: r.values for r in device_rows if device_ids.count(r.values["device_id"]) == 1}
    visits_of = {}
    for row in visit_rows:
        visits_of.setdefault(row.values["case_id"], []).append(row)
    cases = []
    for row in rows:
        name = row.values["case_id"]
        # every row of an id that stands twice is left out; a case whose procedure is after the as-of date is withheld
        if ids.count(name) == 1 and row.values["procedure_date"] <= as_of:
            cases.append(Case(row, visits_of.get(name, []), catalogue, as_of))
    compare_cases(cases)
    return cases


def cell_text(value):
    if value is None:
        return ""
    if isinstance(value, datetime.date):
        return value.isoformat()
    return repr(value) if isinstance(value, (int, float)) else value


def arguments(text):
    parser = argparse.ArgumentParser(description=text)
    parser.add_argument("cases")
    parser.add_argument("--followups")
    parser.add_argument("--devices")
    parser.add_argument("--as-of", required=True, type=datetime.date.fromisoformat)
    parser.add_argument("--out")
    return parser


def write(path, header, rows):
    out = open(path, "w", encoding="utf-8", newline="") if path else sys.stdout
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([cell_text(v) for v in row] for row in rows)
    if path:
        out.close()


def main():
    options = arguments(__doc__.split("\n")[0]).parse_args()
    cases = read_cases(options.cases, options.followups, options.devices, options.as_of)
    write(options.out, RESULTS_ORDER, [[k[name] for name in RESULTS_ORDER] for k in cases])


if __name__ == "__main__":
    main()
