"""Every result that a case page prints, as poppler reads it, against results.csv of the same run.

    check_values.py RESULTS.csv DEVICES.csv PAGE.pdf ...

The page is read through its structure (`pdfinfo -struct-text` of poppler), so that a value is found by the label that
a reader finds it by. Rounding is Python's (correctly rounded), the limits are those of the definitions. Every column of
results.csv is either in one of the tables below or in NOT_PRINTED: a new column has to be put into one of them.
"""

import csv
import re
import subprocess
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

HEAD = ""
BEFORE = "Before: stenosis, flow, ventricle, risk"
CT = "CT, sizes by line, procedure"
RESULT = "Result and complications to day 30"
# Named by the echo that it is of.
MEASURED_MISMATCH = re.compile(r"Mismatch, (?:day \d+|discharge|measured) \(c\)")
RULER = "Sizing on one ruler, diameters in mm"
VERDICTS = "VARC-3 endpoints (c)"
JUDGED = "What a usual measuring error would change; what is missing"
CHANGED = "What was done, what changed"
PLAN = "Plan, as recorded (nothing here is proposed by the program)"
ATTENTION = "For attention"

DASH = "—"
# A number with a true minus, or the dash of a value that is not known.
N = r"(—|[+−]?\d+(?:\.\d+)?)"

# Column, section, label, where in the value, digits after the point, limits that rounding must not cross. A measured
# number is printed as recorded, with at most so many digits; a signed one carries its plus.
MEASURED, SIGNED = "measured", "signed"
NUMBERS = [
    ("age_years", HEAD, None, N + r" y at the procedure", 0, []),
    ("baseline_peak_gradient_mmhg", BEFORE, "Mean · peak (c) gradient", r"· " + N, 0, []),
    ("baseline_ava_computed_cm2", BEFORE, "Valve area (c) | reported", "^" + N, 2, [1.0]),
    ("baseline_ava_computed_cm2", CHANGED, "Valve area (c), cm²", "^" + N, 2, [1.0]),
    ("baseline_avai_cm2_m2", BEFORE, "Indexed area · DVI (c)", "^" + N, 2, []),
    ("baseline_dvi", BEFORE, "Indexed area · DVI (c)", " · " + N, 2, []),
    ("baseline_stroke_volume_ml", BEFORE, "Stroke volume · index (c)", "^" + N, 0, []),
    ("baseline_svi_ml_m2", BEFORE, "Stroke volume · index (c)", " · " + N, 0, [35]),
    ("baseline_rvsp_used_mmhg", BEFORE, "LVEF · RV systolic", " · " + N, 0, [30, 55, 60]),
    ("lv_mass_index_g_m2", BEFORE, "LV mass index · wall (c)", "^" + N, 0, [95, 115]),
    ("relative_wall_thickness", BEFORE, "LV mass index · wall (c)", " · " + N, 2, [0.42]),
    ("baseline_zva_mmhg_ml_m2", BEFORE, "Zva · energy loss index (c)", "^" + N, 1, []),
    ("baseline_energy_loss_index_cm2_m2", BEFORE, "Zva · energy loss index (c)", " · " + N, 2, []),
    ("euroscore2_pct", BEFORE, "EuroSCORE II (c) | reported", "^" + N, 1, []),
    ("bsa_m2", BEFORE, "Body surface · BMI (c)", "^" + N, 2, []),
    ("bmi_kg_m2", BEFORE, "Body surface · BMI (c)", " · " + N, 1, [30]),
    ("annulus_eccentricity_index", CT, "Short × long · index (c)", " · " + N, 2, []),
    ("sheath_femoral_ratio", CT, "Sheath / lumen", "= " + N, 2, [1.05]),
    ("aortic_regurgitation_index", CT, "Regurgitation index after (c)", "^" + N, 0, [25]),
    ("aortic_regurgitation_index_ratio", CT, "Regurgitation index after (c)", N + " of before", 2, []),
    ("annulus_area_diameter_mm", RULER, None, r"annulus by area \(c\)†? " + N, 1, []),
    ("annulus_perimeter_diameter_mm", RULER, None, r"by perimeter \(c\)†? " + N, 1, []),
    ("filled_diameter_estimate_mm", RULER, None, r"filled, estimate \(c\) " + N, 1, []),
    ("area_oversizing_pct", RULER, None, "by area: annulus " + N + " %", 0, [0, 20], SIGNED),
    ("perimeter_oversizing_pct", RULER, None, "by perimeter: annulus " + N + " %", 0, [0, 20], SIGNED),
    ("supraannular_area_oversizing_pct", RULER, None, "[:,] supra-annular " + N + " %", 0, [0, 20], SIGNED),
    ("balloon_area_oversizing_pct", RULER, None, "[:,] balloon that sealed " + N + " %", 0, [0, 20], SIGNED),
    ("post_eoa_cm2", CHANGED, "Valve area (c), cm²", r"^(?:\(r\) )?\S+ \| " + N, 2, []),
    ("performance_mean_gradient_mmhg", RESULT, "Mean · velocity · DVI (c)", "^" + N, 1, [20, 30], MEASURED),
    ("performance_dvi", RESULT, "Mean · velocity · DVI (c)", " · .* · " + N, 2, [0.25]),
    ("performance_eoai_cm2_m2", RESULT, MEASURED_MISMATCH, r"\(" + N, 2, [0.55, 0.65, 0.7, 0.85]),
    ("predicted_eoai_cm2_m2", RESULT, "Mismatch, expected (c)", r"\(" + N, 2, [0.55, 0.65, 0.7, 0.85]),
    ("length_of_stay_days", RESULT, "Discharge · stay (c)", " · " + N + " d", 0, []),
]

# The same results where a sentence or a reason repeats them; a sentence is on the page only where its rule is met.
REPEATED = [
    ("baseline_svi_ml_m2", BEFORE, "because", "index " + N + " mL", 0, [35]),
    ("baseline_svi_ml_m2", ATTENTION, None, "SVi " + N + " mL", 0, [35]),
    ("baseline_ava_used_cm2", ATTENTION, None, r"Stenosis [^:]*: mean [^,]*, area " + N, 2, [1.0]),
    ("baseline_ava_computed_cm2", ATTENTION, None, "Valve area " + N + " cm² computed", 2, [1.0]),
    ("performance_eoai_cm2_m2", ATTENTION, None, "indexed area " + N, 2, [0.55, 0.65, 0.7, 0.85]),
    ("bmi_kg_m2", ATTENTION, None, "BMI " + N + r"\.", 1, [30]),
    ("performance_mean_gradient_mmhg", ATTENTION, None, "Residual mean gradient " + N, 1, [20, 30], MEASURED),
    ("aortic_regurgitation_index", ATTENTION, None, "Aortic regurgitation index " + N, 0, [25]),
    ("sheath_femoral_ratio", ATTENTION, None, "Sheath " + N + " times the lumen", 2, [1.05]),
    ("area_oversizing_pct", ATTENTION, None, "with " + N + " % over-sizing by area", 0, [0, 20]),
]

WORD = r"(.+?)†?(?: · .*)?$"
ENDPOINT = {"yes": "met", "no": "not met", "not_assessable": "cannot be told"}
NOT_TOLD = {"not_assessable": "cannot be told"}
MISMATCH = {"none": "none", "moderate": "moderate", "severe": "severe"} | NOT_TOLD
STAGES = {"none": "none", "stage_2": "stage 2", "stage_3": "stage 3"} | NOT_TOLD

# Column, section, label, where in the value, the words of each choice; a dash where the page says nothing of it.
CLASSES = [
    ("stenosis_class", BEFORE, "Stenosis (c)", WORD, {
        "high_gradient": "severe, high gradient",
        "classical_low_flow_low_gradient": "classical low-flow low-gradient",
        "paradoxical_low_flow_low_gradient": "paradoxical low-flow low-gradient",
        "normal_flow_low_gradient": "normal-flow low-gradient",
        "not_severe": "not severe",
        "not_applicable": "not applicable: surgical valve",
    } | NOT_TOLD),
    ("lv_geometry", BEFORE, "LV mass index · wall (c)", r", ([a-z ]+)†?$", {
        "normal": "normal",
        "concentric_remodelling": "concentric remodelling",
        "eccentric_hypertrophy": "eccentric hypertrophy",
        "concentric_hypertrophy": "concentric hypertrophy",
        "not_assessable": DASH,
    }),
    ("calcium_likelihood", BEFORE, "CT calcium score", r", (.*) \(c\)†?$", {
        "very_likely": "severe very likely",
        "likely": "severe likely",
        "intermediate": "between the limits",
        "unlikely": "severe unlikely",
        "not_applicable": "not applicable",
        "not_assessable": DASH,
    }),
    ("cardiac_damage_stage", BEFORE, "Cardiac damage (c)", WORD, {
        "0": "stage 0, none",
        "1": re.compile("stage 1: .+"),
        "2": re.compile("stage 2: .+"),
        "3": re.compile("stage 3: .+"),
        "4": re.compile("stage 4: .+"),
        "at_least_0": "none known; inputs missing",
        "at_least_1": re.compile("at least stage 1: .+"),
        "at_least_2": re.compile("at least stage 2: .+"),
        "at_least_3": re.compile("at least stage 3: .+"),
    } | NOT_TOLD),
    ("device_in_range", CT, "Annulus is (c)", r"(cannot be told|[^†]+)", {
        "below": "smaller than the labelled range (device large for it)",
        "within": "within the labelled range",
        "above": "larger than the labelled range (device small for it)",
    } | NOT_TOLD),
    ("sizing_agreement", CT, "Lines agree? (c)", WORD, {
        "agree": "all lines hold the implanted size",
        "disagree": "lines differ",
        "one_line": re.compile("(annulus|supra-annular|balloon) alone, no other gives a size"),
    } | NOT_TOLD),
    ("performance_echo", RESULT, "Judged by", r"(echo of day \d+|echo before discharge|no echo)", {
        "30_day": re.compile(r"echo of day \d+"), "discharge": "echo before discharge", "none": "no echo",
    }),
    ("intended_performance", RESULT, "Intended performance (c)", r"(cannot be told|[a-z ]+)", ENDPOINT),
    ("measured_ppm", RESULT, MEASURED_MISMATCH, r"([a-z ]+?)(?: \(|†|$)", MISMATCH),
    ("predicted_ppm", RESULT, "Mismatch, expected (c)", r"([a-z ]+?)(?: \(|†|$)", MISMATCH),
    ("aki_stage", RESULT, "Kidney injury (c)", r"(.+?)(?: \(.*)?†?$", {
        "none": "none", "stage_1": "stage 1", "stage_2": "stage 2", "stage_3": "stage 3",
        "stage_4": "stage 4, new dialysis", "not_applicable": "not applicable: dialysis before",
    } | NOT_TOLD),
    ("new_pacemaker", RESULT, "Pacemaker (c) · new LBBB", WORD, {
        "yes": "yes", "no": "no", "not_applicable": "had one before",
    } | NOT_TOLD),
    ("technical_success", VERDICTS, "Technical success", WORD, ENDPOINT),
    ("device_success", VERDICTS, "Device success, 30 days", WORD, ENDPOINT),
    ("early_safety", VERDICTS, "Early safety, 30 days", WORD, ENDPOINT),
    ("clinical_efficacy_1y", VERDICTS, "Clinical efficacy, 1 year", WORD, ENDPOINT),
    ("deterioration_stage", VERDICTS, "Valve deterioration", WORD, STAGES),
    ("bioprosthetic_valve_failure", VERDICTS, "Valve failure", WORD, {
        "none": "none", "stage_1": "stage 1", "stage_2": "stage 2, reintervention",
        "stage_3": "stage 3, valve-related death",
    } | NOT_TOLD),
    ("next_visit", PLAN, "Next visit", r"^(30-day|none|\d+-year)", {
        "30_day": "30-day", "annual": re.compile(r"\d+-year"), "none": "none",
    }),
    ("follow_up_state", PLAN, "Next visit", r"(none: a death is recorded|not yet due|due now|overdue|lost to follow-up)", {
        "not_yet_due": "not yet due", "due": "due now", "overdue": "overdue", "lost": "lost to follow-up",
        "deceased": "none: a death is recorded",
    }),
]
NO_LINE = re.compile(r"not recorded|no devices file|none completely|no pre-dilatation")
# What cannot be told yet is open until the day that it needs.
OPEN = re.compile(r"open( until \d+ [A-Z][a-z]{2} \d{4})?")

# Rows that yield where space is short; any other row may be absent only where there is nothing to say in it.
YIELDS = {
    "LV mass index · wall (c)", "Cardiac damage (c)", "Zva · energy loss index (c)", "Regurgitation index after (c)",
    "others (c)",
}

# Columns in words of their own, by the functions below.
BY_FUNCTION = {
    "case_id", "annulus_sizes", "supraannular_sizes", "balloon_sizes", "next_visit_due", "fragile", "in_doubt", "flags",
    "missing",
}

# Columns that no page prints: they are in results.csv, results.json and explain. (Of baseline_ava_used_cm2 a sentence
# speaks where low-gradient stenosis is a finding.)
NOT_PRINTED = {
    "creatinine_clearance_ml_min", "baseline_ava_used_cm2", "annulus_mean_diameter_mm", "lvot_annulus_area_ratio",
    "icd_annulus_ratio", "device_balloon_ratio", "post_peak_gradient_mmhg", "post_eoai_cm2_m2", "post_dvi",
    "mean_gradient_change_mmhg", "gorlin_ava_cm2", "death_30d", "days_to_last_contact",
    # What a later run tells the cause of a change by.
    "as_of", "definitions_version", "input_hash", "catalogue_hash", "device_row_hash", "settings_hash",
}

FRAGILE = {
    "stenosis_class": "stenosis class", "device_in_range": "annulus", "sizing_agreement": "sizing",
    "intended_performance": "intended performance", "measured_ppm": "measured mismatch",
    "deterioration_stage": "valve deterioration",
}
# Planning risks: once their outcome is recorded they stand in the evidence instead of the list.
RISKS = {"root_injury_risk", "low_coronary", "tight_access", "wide_aorta", "conduction_risk"}


class Page:
    """What poppler says of a page: by section, its rows (label, value) and its other text."""

    def __init__(self, pdf):
        told = subprocess.run(["pdfinfo", "-struct-text", pdf], check=True, capture_output=True, text=True).stdout
        self.rows, self.text, self.items = {}, {}, []
        section, kind, row = HEAD, "", None
        for line in told.split("\n"):
            line = line.strip().replace("\u00a0", " ").replace("\n", " ")
            if re.fullmatch(r"(\w+) \(block\)|TR|TH:|TD|Figure|Span|\w+", line):
                kind = line.split(" ")[0].rstrip(":")
                if kind == "TR":
                    row = []
                    self.rows.setdefault(section, []).append(row)
                elif kind in ("TH", "TD"):
                    row.append("")
                elif kind == "LBody":
                    self.items.append("")
            elif len(line) > 1 and line[0] == line[-1] == '"':
                said = line[1:-1].strip()
                if kind == "H2":
                    section = ATTENTION if said.startswith(ATTENTION) else said
                    self.text[section] = [said]
                elif kind in ("TH", "TD"):
                    row[-1] = (row[-1] + " " + said).strip()
                else:
                    if kind == "LBody":
                        self.items[-1] = (self.items[-1] + " " + said).strip()
                    self.text.setdefault(section, []).append(said)

    def said(self, section):
        """All text of a section that stands in no table."""
        return " ".join(self.text.get(section, []))

    def value(self, section, label):
        """The value beside a label, cells parted by bars; None where the row is not on the page."""
        for row in self.rows.get(section, []):
            if row and (label.fullmatch(row[0].strip()) if isinstance(label, re.Pattern) else row[0].strip() == label):
                return " | ".join(cell or DASH for cell in row[1:])
        return None

    def labels(self, section):
        return [row[0].strip() for row in self.rows.get(section, []) if row]


def digits(value, count):
    """With so many digits after the point and a true minus; never minus nothing."""
    written = f"{value:.{count}f}"
    if float(written) == 0:
        written = written.removeprefix("-")
    return written.replace("-", "−")


def side(value, limit):
    """A value within 1e-9 of a limit is on it (the one rule of comparison of the definitions)."""
    return 0 if abs(value - limit) <= 1e-9 else (1 if value > limit else -1)


def number(text, least, limits, how=None):
    """The number of results.csv as the page has to print it."""
    if text == "":
        return DASH
    value = float(text)
    after_point = len(text.partition(".")[2])
    if how == MEASURED and after_point <= least:
        return digits(value, after_point)
    for count in range(least, 13):
        if all(side(float(f"{value:.{count}f}"), limit) == side(value, limit) for limit in limits):
            break
    written = digits(value, count)
    return "+" + written if how == SIGNED and value > 0 and float(written) > 0 else written


def day(text):
    """2026-03-03 as 3 Mar 2026."""
    year, month, day_of_month = text.split("-")
    return f"{int(day_of_month)} {'Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec'.split()[int(month) - 1]} {year}"


class Check:
    """One page against its row."""

    def __init__(self, name, page, row, devices):
        self.name, self.page, self.row, self.devices = name, page, row, devices
        self.faults, self.compared = [], Counter()
        self.doubted = set(filter(None, row["in_doubt"].split(";")))

    def expect(self, column, found, expected):
        same = expected.fullmatch(found) if isinstance(expected, re.Pattern) else found == expected
        if not same:
            self.faults.append(f"{self.name}: {column}: page {found!r}, results.csv {self.row.get(column)!r} → {expected!r}")
        elif found != DASH:
            self.compared[column] += 1

    def find(self, section, label, pattern):
        """What stands there; a dash where nothing does, None where the row may be and is absent."""
        if label is None:
            text = self.page.said(section)
        else:
            text = self.page.value(section, label)
            if text is None:
                return None if label in YIELDS else DASH
        match = re.search(pattern, text)
        return match.group(1) if match else DASH

    def numbers(self):
        for column, section, label, pattern, least, limits, *how in NUMBERS:
            found = self.find(section, label, pattern)
            if found is not None:
                self.expect(column, found, number(self.row[column], least, limits, *how))
        for column, section, label, pattern, least, limits, *how in REPEATED:
            found = self.find(section, label, pattern)
            if found not in (None, DASH):
                self.expect(column, found, number(self.row[column], least, limits, *how))

    def classes(self):
        for column, section, label, pattern, words in CLASSES:
            found = self.find(section, label, pattern)
            if found is None:
                continue
            word = self.row[column]
            if word == "not_assessable" and section == VERDICTS and OPEN.fullmatch(found):
                self.compared[column] += 1
                continue
            if word == "not_assessable" and found == DASH and label not in self.page.labels(section):
                continue
            self.expect(column, found, words[word])

    def sizes(self):
        """Sizes of the implanted family (of the planned one where none was implanted), by their labels' numbers."""
        row = self.row

        def family(device):
            stem = device["label"].replace(f"{float(device['labelled_size_mm']):g}", "", 1).split()
            return device["mechanism"], device["sized_by"], stem

        own = self.devices.get(row["device_id"]) or self.devices.get(row["planned_device_id"])
        for column, label in [
            ("annulus_sizes", "Sizes by annulus (c)"),
            ("supraannular_sizes", "supra-annular (c)"),
            ("balloon_sizes", "balloon that sealed (c)"),
        ]:
            found = self.page.value(CT, label)
            if row[column] == "":
                # The line could not be made: no devices, no balloon that sealed, no bicuspid valve.
                if found is not None and not NO_LINE.match(found):
                    self.faults.append(f"{self.name}: {column}: page {found!r}, results.csv has none")
                continue
            if found is None:
                self.faults.append(f"{self.name}: {column}: not on the page, results.csv {row[column]!r}")
                continue
            held = [self.devices[name] for name in row[column].split(";") if name != "none"]
            mine = [device for device in held if own and family(device) == family(own)]
            others = [device["label"] for device in held if device not in mine]
            if own is None and others:
                expected = ", ".join(others)
            elif mine:
                expected = ", ".join(f"{float(device['labelled_size_mm']):g}" for device in mine) + " mm"
            else:
                expected = "none"
            self.expect(column, found.removesuffix("†"), expected)
            if column == "annulus_sizes" and own and others:
                found = self.page.value(CT, "others (c)")
                if found is not None:
                    self.expect(column, found, ", ".join(others))

    def words(self):
        row, page = self.row, self.page
        self.expect("case_id", self.find(HEAD, None, r"· case (\S+)"), row["case_id"])
        if row["next_visit_due"]:
            self.expect("next_visit_due", self.find(PLAN, "Next visit", r"visit, (\d+ \w+ \d+)"), day(row["next_visit_due"]))
        fragile = [name for name in row["fragile"].split(";") if name]
        said = page.said(JUDGED)
        for result, name in FRAGILE.items():
            if (f"{name} is " in said.lower()) != (result in fragile):
                self.faults.append(f"{self.name}: fragile: {row['fragile']!r}, page {said!r}")
            elif result in fragile:
                self.compared["fragile"] += 1
        missing = [name for name in row["missing"].split(";") if name]
        if "Nothing is missing that a result of this page needs" in said:
            # Nobody asks for the date of a death that nothing speaks of, for a contact where a later one is known, or
            # for what comes after a death in the room.
            died_in_the_room = "Died in the procedure room" in page.said(CHANGED)
            if set(missing) - {"death_date", "last_contact_date"} and not died_in_the_room:
                self.faults.append(f"{self.name}: missing: {missing}, page says none is")
        elif not missing or "Missing (" not in said:
            self.faults.append(f"{self.name}: missing: {missing}, page {said!r}")
        else:
            self.compared["missing"] += 1
        self.flags(fragile)

    def flags(self, fragile):
        """As many findings as flags, but risks whose outcome stands in the evidence, and classes near a limit."""
        flags = [name for name in self.row["flags"].split(";") if name]
        if "contradiction" in flags:
            # One line may stand for several checks.
            return
        told = sum(
            label == "risk, what happened" and "utcome not recorded" not in self.page.rows[CT][at][1]
            for at, label in enumerate(self.page.labels(CT))
        )
        if told > len(RISKS.intersection(flags)):
            self.faults.append(f"{self.name}: flags: {flags}, {told} risks in the evidence")
        expected = len(flags) - told + len(set(fragile))
        heading = re.match(r"For attention(?: \((?:\d+ of )?(\d+))?", self.page.said(ATTENTION))
        found = int(heading.group(1) or 0)
        if found != expected:
            self.faults.append(f"{self.name}: flags: {flags}, near a limit {fragile}, told {told}: page {found} findings")
        elif found:
            self.compared["flags"] += 1

    def doubts(self):
        """† stands beside a value exactly where an input of a result in its row is contradicted."""
        by_row = {}
        for column, section, label, *_ in NUMBERS + CLASSES:
            if section in (BEFORE, RESULT, VERDICTS) and label:
                by_row.setdefault((section, label), set()).add(column)
        for (section, label), columns in by_row.items():
            if label in DOUBT_OF_A_CELL or self.page.value(section, label) is None:
                continue
            columns = columns - NO_DOUBT
            marked = "†" in self.page.value(section, label)
            told = any(self.row[column] not in ("", "not_assessable") for column in columns)
            if marked and not columns & self.doubted or told and not marked and columns & self.doubted:
                self.faults.append(f"{self.name}: {label}: † {marked}, in doubt {sorted(columns & self.doubted)}")
            elif marked:
                self.compared["in_doubt"] += 1

    def run(self):
        self.numbers()
        self.classes()
        self.sizes()
        self.words()
        self.doubts()
        return self.faults, self.compared


# Rows whose mark is that of a measured cell, and results that their row does not mark.
DOUBT_OF_A_CELL = {"Mean · peak (c) gradient", "LVEF · RV systolic", "Judged by"}
NO_DOUBT = {"relative_wall_thickness", "performance_eoai_cm2_m2", "predicted_eoai_cm2_m2"}


def main(results, devices, cases, pages):
    with open(results, newline="") as file:
        rows = {row["case_id"]: row for row in csv.DictReader(file)}
    with open(devices, newline="") as file:
        by_id = {row["device_id"]: row for row in csv.DictReader(file)}
    with open(cases, newline="") as file:
        for case in csv.DictReader(file):
            if case["case_id"] in rows:
                rows[case["case_id"]] |= {name: case[name] for name in ("device_id", "planned_device_id")}
    columns = {entry[0] for entry in NUMBERS + CLASSES} | BY_FUNCTION
    listed = columns | NOT_PRINTED
    header = set(next(iter(rows.values()))) - {"device_id", "planned_device_id"}
    faults = [f"{column}: printed or not?" for column in sorted(header ^ listed)]
    faults += [f"{column}: in two lists" for column in sorted(columns & NOT_PRINTED)]

    def check(pdf):
        name = Path(pdf).stem
        return Check(name, Page(pdf), rows[name], by_id).run()

    compared = Counter()
    with ThreadPoolExecutor(2) as pool:
        for found, counted in pool.map(check, pages):
            faults += found
            compared += counted
    # A check that never met a value has checked nothing.
    faults += [f"{column}: never compared" for column in sorted(columns) if not compared[column]]
    print("\n".join(faults))
    print(f"{len(pages)} pages, {compared.total()} values compared, {len(faults)} faults")
    if "-v" in sys.argv:
        print(compared)
    return 1 if faults or not pages else 0


if __name__ == "__main__":
    arguments = [argument for argument in sys.argv[1:] if argument != "-v"]
    sys.exit(main(*arguments[:3], arguments[3:]))
