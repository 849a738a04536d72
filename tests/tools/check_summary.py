"""The numbers of the cohort summary, as poppler reads them, against cohort.csv of the same run.

    check_summary.py COHORT.csv COHORT.pdf

Every proportion, quantity and ratio that the summary prints for all cases of the period: counts, per cent, limits,
bounds, medians and quartiles. Rows are found by their labels; a label that is not known here is a fault.
"""

import csv
import re
import sys
from decimal import ROUND_HALF_UP, Decimal

from check_values import DASH, Page, digits

# Rows of the outcome tables and the measure that each prints.
OUTCOMES = {
    "Death to day 30": "death_30d",
    "Stroke to day 30": "stroke_30d",
    "Major vascular complication": "major_vascular_complication",
    "Bleeding type 2 to 4": "bleeding_type_2_to_4",
    "Kidney injury stage 2 to 4": "kidney_injury_stage_2_to_4",
    "New pacemaker": "new_pacemaker",
    "Regurgitation moderate or more": "regurgitation_moderate_or_worse",
    "Mean gradient 20 mmHg or more": "residual_gradient",
    "Mismatch, moderate": "mismatch_moderate",
    "Mismatch, severe": "mismatch_severe",
    "Technical success": "technical_success",
    "Device success": "device_success",
    "Early safety": "early_safety",
    "Intended performance": "intended_performance",
    "Clinical efficacy, 1 year": "clinical_efficacy_1y",
}
HEADER = ["of those known", "yes/known", "%", "95 % interval (Wilson)", "missing as no, as yes, %", "missing", "pending"]

# Rows of the measures: median, quartiles, with so many digits after the point.
QUANTITIES = {
    "Age, years": ("age_years", 0),
    "EuroSCORE II, %": ("euroscore2_pct", 1),
    "STS predicted risk, %": ("sts_prom_pct", 1),
    "Mean gradient, mmHg": ("baseline_mean_gradient_mmhg", 0),
    "Valve area used, cm²": ("baseline_ava_used_cm2", 2),
    "Annulus area, mm²": ("annulus_area_mm2", 0),
    "Length of stay, days": ("length_of_stay_days", 0),
}


# Parts whose words are not their name.
PARTS = {
    "access, delivery, retrieval": "access_delivery_retrieval",
    "valve in its position": "position",
    "one valve only": "single_valve",
    "no regurgitation moderate or more": "no_moderate_regurgitation",
    "KCCQ 45 or more": "kccq_45_or_more",
    "KCCQ not more than 10 worse": "kccq_not_10_worse",
}


def part_name(label, composite, table):
    """The measure of a part of a composite: its own name, with the day as the table writes it."""
    name = PARTS.get(label) or re.sub(r" to day (\d+)$", r" \1d", label).replace(" ", "_")
    return f"{composite}/{name}" if f"{composite}/{name}" in table else None


def rounded(text, known):
    """A per cent as reports write it: whole below 100 known cases, one decimal from there on. A half goes away from zero,
    since 2.5 is common among quotients of small counts."""
    places = Decimal("0.1") if known >= 100 else Decimal(1)
    return str(Decimal(text).quantize(places, ROUND_HALF_UP))


def main(csv_path, pdf_path):
    with open(csv_path, newline="", encoding="utf-8") as file:
        table = {row["measure"]: row for row in csv.DictReader(file) if (row["group"], row["period"]) == ("all", "period")}
    page = Page(pdf_path)
    faults, compared, seen = [], 0, set()

    def expect(what, found, expected):
        nonlocal compared
        compared += 1
        if found != expected:
            faults.append(f"{what}: page {found!r}, cohort.csv {expected!r}")

    for section, rows in page.rows.items():
        if not rows or rows[0][:7] != HEADER:
            continue
        composite = OUTCOMES.get(section.partition(" and its parts")[0]) if " and its parts" in section else None
        for label, *cells in rows[1:]:
            name = OUTCOMES.get(label) or (composite and part_name(label, composite, table))
            if name is None or name not in table:
                faults.append(f"{section}: {label!r}: which measure?")
                continue
            row = table[name]
            seen.add(name)
            counts, per_cent, limits, bounds, missing, pending = cells[:6]
            what = f"{section}: {label}"

            def per(column):
                return rounded(row[column], int(row["denominator"]))

            expect(what, counts, f"{row['numerator']}/{row['denominator']}")
            expect(what, missing, row["missing"])
            expect(what, pending, row["pending"])
            if per_cent not in ("", DASH):
                expect(what, per_cent, per("estimate") + " %")
                expect(what, limits, f"{per('low')} to {per('high')}")
            elif int(row["denominator"]) >= 10:
                faults.append(f"{what}: no per cent of {row['denominator']}")
            if bounds not in ("", DASH):
                expect(what, bounds, f"{per('bound_low')} to {per('bound_high')}")
            elif int(row["missing"]) and per_cent not in ("", DASH):
                faults.append(f"{what}: {row['missing']} missing and no bounds")

    for section, rows in page.rows.items():
        if not section.startswith("Measures: median"):
            continue
        for label, *cells in rows[1:]:
            if label not in QUANTITIES:
                continue
            name, count = QUANTITIES[label]
            row = table[name]
            seen.add(name)
            median, low, high = (digits(float(row[column]), count) for column in ("estimate", "low", "high"))
            # Of very few values the range alone is printed.
            if not (cells[0].startswith("(") and int(row["n"]) < 5):
                expect(label, cells[0].partition(" (")[0], f"{median}, {low} to {high}")
            expect(label, cells[1:3], [row["n"], row["missing"]])

    for label, *cells in page.rows.get("Deaths to day 30, observed and expected", []):
        if not label.startswith("period, n "):
            continue
        row = table["deaths_observed_expected"]
        seen.add("deaths_observed_expected")
        expect(label, label, f"period, n {row['n']}")
        expect(label, cells[:2], [row["numerator"], digits(float(row["denominator"]), 2)])
        if row["estimate"]:
            ratio, low, high = (digits(float(row[column]), 2) for column in ("estimate", "low", "high"))
            expect(label, cells[2], f"{ratio} ({low} to {high})")

    wanted = set(OUTCOMES.values()) | {name for name, _ in QUANTITIES.values()} | {"deaths_observed_expected"}
    faults += [f"{name}: not on the summary" for name in sorted(wanted - seen)]
    print("\n".join(faults))
    print(f"{compared} values compared, {len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
