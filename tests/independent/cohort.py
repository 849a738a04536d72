#!/usr/bin/env python3
"""The measures of contract/cohort.csv for the group `all`, by the second reading of the definitions.

    cohort.py CASES [--followups FILE] [--devices FILE] --as-of YYYY-MM-DD [--from DATE] [--to DATE] [--out FILE]
"""

import csv
import datetime
import math
import os

import reading
import statistics_of_cohort as stat

HEADER = ["measure", "group", "period", "unit", "n", "numerator", "denominator", "missing", "pending", "not_applicable", "estimate",
          "low", "high", "bound_low", "bound_high"]
YES_NO = {"yes": True, "no": False, "not_assessable": None, "not_applicable": "not_applicable"}


# ------------------------------------------------------------------------------------------------------------- proportions


def only_where_death_is_known(k, truth):
    """A no counts as known only where death_30d is yes or no."""
    return None if truth is False and k["death_30d"] == "not_assessable" else truth


def event_30d(column, *events):
    """One of `events`, of known; the others count as known only where death_30d is yes or no."""
    return lambda k: only_where_death_is_known(k, reading.among(k.c[column], *events))


def class_of(result, *classes, unknown=("not_assessable",)):
    def truth(k):
        value = k[result]
        return "not_applicable" if value == "not_applicable" else None if value in unknown else value in classes
    return truth


PROPORTIONS = {name: (lambda k, name=name: YES_NO[k[name]]) for name in (
    "technical_success", "device_success", "early_safety", "clinical_efficacy_1y", "intended_performance", "death_30d")}
PROPORTIONS.update({
    "new_pacemaker": lambda k: only_where_death_is_known(k, YES_NO[k["new_pacemaker"]]),
    "stroke_30d": event_30d("stroke_30d", "ischaemic", "haemorrhagic", "unspecified"),
    "major_vascular_complication": event_30d("vascular_complication", "major"),
    "bleeding_type_2_to_4": event_30d("bleeding_type", "type_2", "type_3", "type_4"),
    "kidney_injury_stage_2_to_4": class_of("aki_stage", "stage_2", "stage_3", "stage_4"),
    "regurgitation_moderate_or_worse": lambda k: reading.negate(k.leak_below_moderate),
    "mismatch_moderate": class_of("measured_ppm", "moderate"),
    "mismatch_severe": class_of("measured_ppm", "severe"),
    "residual_gradient": lambda k: reading.ge(k["performance_mean_gradient_mmhg"], 20.0),
    "sizing_disagreement": class_of("sizing_agreement", "disagree", unknown=("one_line", "not_assessable")),
})


def proportion(name, cases, mature):
    truths = [(PROPORTIONS[name](k), mature(k)) for k in cases]
    # not_applicable left out of all counts
    not_applicable = sum(t == "not_applicable" for t, _ in truths)
    truths = [(t, m) for t, m in truths if t != "not_applicable"]
    pending = sum(not m for _, m in truths)
    numerator = sum(m and t is True for t, m in truths)
    denominator = numerator + sum(m and t is False for t, m in truths)
    missing = len(truths) - denominator - pending
    row = dict(n=len(truths), numerator=numerator, denominator=denominator, missing=missing, pending=pending,
               not_applicable=not_applicable)
    if denominator:
        low, high = stat.wilson(numerator, denominator)
        row.update(estimate=100 * numerator / denominator, low=100 * low, high=100 * high)
    if denominator + missing:
        row.update(bound_low=100 * numerator / (denominator + missing), bound_high=100 * (numerator + missing) / (denominator + missing))
    return row


# -------------------------------------------------------------------------------------------------- quantities, pairs, ratio


def risk(k):
    """Computed value, else reported."""
    return k["euroscore2_pct"] if k["euroscore2_pct"] is not None else k.c["euroscore2_reported_pct"]


QUANTITIES = {name: (lambda k, name=name: k[name]) for name in (
    "age_years", "performance_mean_gradient_mmhg", "baseline_ava_used_cm2", "area_oversizing_pct", "length_of_stay_days")}
QUANTITIES.update({name: (lambda k, name=name: k.c[name]) for name in (
    "sts_prom_pct", "baseline_mean_gradient_mmhg", "annulus_area_mm2")})
QUANTITIES["euroscore2_pct"] = risk


def quantity(name, cases):
    # n = values used, numerator and denominator blank, missing the rest; median and quartiles (type 7)
    values = [v for v in map(QUANTITIES[name], cases) if v is not None]
    row = dict(n=len(values), missing=len(cases) - len(values), pending=0, not_applicable=0)
    if values:
        row.update(estimate=stat.quantile_7(values, 0.5), low=stat.quantile_7(values, 0.25), high=stat.quantile_7(values, 0.75))
    return row


def paired(name, cases):
    # performance minus baseline mean gradient
    pairs = [(k["performance_mean_gradient_mmhg"], k.c["baseline_mean_gradient_mmhg"]) for k in cases]
    changes = [a - b for a, b in pairs if reading.known(a, b)]
    interval = stat.hodges_lehmann if name.endswith("hodges_lehmann") else stat.mean_with_t_interval
    estimate, low, high = interval(changes)
    return dict(n=len(changes), missing=len(cases) - len(changes), pending=0, not_applicable=0, estimate=estimate, low=low, high=high)


def ratio(cases, mature):
    # observed 30-day deaths / sum of risk over mature cases with both known; no ratio where E < 1
    ready = [k for k in cases if mature(k)]
    used = [k for k in ready if risk(k) is not None and k["death_30d"] != "not_assessable"]
    observed = sum(k["death_30d"] == "yes" for k in used)
    expected = math.fsum(risk(k) / 100 for k in used)
    row = dict(n=len(used), numerator=observed, denominator=expected, missing=len(ready) - len(used), pending=len(cases) - len(ready),
               not_applicable=0)
    if used and reading.ge(expected, 1.0):
        low, high = stat.poisson_limits(observed)
        row.update(estimate=observed / expected, low=low / expected, high=high / expected)
    return row


# ------------------------------------------------------------------------------------------------------- survival, incidence


def percent(row, estimate, low, high):
    row.update({name: 100 * v for name, v in (("estimate", estimate), ("low", low), ("high", high)) if v is not None})


def survival_subjects(cases, everybody):
    """((days, died), death without a date) of each patient_key, from its first procedure among `cases`; death and contact are those
    of any case of the key, in the period or not; a death without a date is censored at known alive."""
    of_key, started = {}, {}
    for k in everybody:
        of_key.setdefault(reading.patient_key(k), []).append(k)
    for k in cases:
        key = reading.patient_key(k)
        started[key] = min(started.get(key, k.c["procedure_date"]), k.c["procedure_date"])
    subjects = []
    for key, start in started.items():
        group = of_key[key]
        deaths = [k.death_date for k in group if k.death_date is not None]
        end = min(deaths) if deaths else max(k.known_alive for k in group)
        undated = not deaths and any(k.sign_of_death for k in group)
        subjects.append((((end - start).days, bool(deaths)), undated))
    return subjects


def survival(cases, everybody, day):
    found = survival_subjects(cases, everybody)
    # a death before the procedure is on the list of contradictions, not on the curve
    subjects = [s for s, _ in found if s[0] >= 0]
    missing = sum(undated for _, undated in found) + len(found) - len(subjects)
    row = dict(n=len(subjects), numerator=sum(died and time <= day for time, died in subjects),
               denominator=stat.at_risk(subjects, day), missing=missing, pending=0, not_applicable=0)
    if row["denominator"]:
        percent(row, *stat.kaplan_meier(subjects, day))
    return row


def incidence_subject(k):
    """(days, state): 1 the first later visit with a known stage 2 or 3, 2 death at most 425 days after the last visit with a mean
    gradient, 0 censored at that visit. The last visit is the last with a mean gradient before the first valve_reintervention yes,
    which censors."""
    for visit in reading.later_visits(k):
        if reading.known_stage(k, visit) >= 2:
            return visit.day, 1
    redone = [v.day for v in k.visits if v.cells["valve_reintervention"] is True]
    echoes = [v.day for v in k.visits if v.echo.mean_gradient_mmhg is not None and (not redone or v.day < redone[0])]
    last = max(echoes, default=0)
    death = k.day(k.death_date)
    if not redone and death is not None and death - last <= 425:
        return death, 2
    return last, 0


def incidence(cases, day):
    used = [k for k in cases if k.reference_echo is not None]
    subjects = [incidence_subject(k) for k in used]
    row = dict(n=len(used), numerator=sum(state == 1 and time <= day for time, state in subjects),
               denominator=stat.at_risk(subjects, day), missing=len(cases) - len(used), pending=0, not_applicable=0)
    if row["denominator"]:
        estimate, _, low, high = stat.aalen_johansen(subjects, day)
        percent(row, estimate, low, high)
    return row


# ---------------------------------------------------------------------------------------------------------------------- table


def measures(cases, everybody, as_of):
    with open(os.path.join(reading.CONTRACT, "cohort.csv"), encoding="utf-8", newline="") as f:
        for line in csv.DictReader(f):
            name, kind = line["measure"], line["kind"]
            days = int(line["mature_after_days"] or 0)
            # a case is mature at least mature_after_days days after its procedure
            mature = lambda k: (as_of - k.c["procedure_date"]).days >= days
            if kind == "proportion":
                row = proportion(name, cases, mature)
            elif kind == "quantity":
                row = quantity(name, cases)
            elif kind == "paired":
                row = paired(name, cases)
            elif kind == "ratio":
                row = ratio(cases, mature)
            else:
                day = int(name.rsplit("_", 1)[1].rstrip("d"))
                row = survival(cases, everybody, day) if kind == "survival" else incidence(cases, day)
            row.update(measure=name, group="all", period="period", unit=line["unit"])
            yield [row.get(column) for column in HEADER]


def main():
    parser = reading.arguments(__doc__.split("\n")[0])
    parser.add_argument("--from", dest="first", type=datetime.date.fromisoformat)
    parser.add_argument("--to", dest="last", type=datetime.date.fromisoformat)
    options = parser.parse_args()
    everybody = reading.read_cases(options.cases, options.followups, options.devices, options.as_of)
    cases = [k for k in everybody if (options.first is None or k.c["procedure_date"] >= options.first)
             and (options.last is None or k.c["procedure_date"] <= options.last)]
    reading.write(options.out, HEADER, measures(cases, everybody, options.as_of))


if __name__ == "__main__":
    main()
