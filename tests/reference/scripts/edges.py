"""Survival and competing risks at their edges, by lifelines (Kaplan-Meier, limits, medians) and scikit-survival (Kaplan-Meier
again; Aalen-Johansen); standard errors of the latter by the infinitesimal jackknife, which is what R's `survfit` gives.
Adds its keys to FILE.
Times are whole numbers of tenths where `per_unit` is 10: the libraries were given the fraction.
Run: python edges.py FILE"""
import json, math, sys, warnings
import numpy as np, lifelines, sksurv
from lifelines import KaplanMeierFitter
from lifelines.utils import median_survival_times
from sksurv.nonparametric import kaplan_meier_estimator, cumulative_incidence_competing_risks
warnings.filterwarnings("ignore")
state = 20261125
def u():
    global state
    state = (1664525 * state + 1013904223) % 2**32
    return state / 2**32
clean = lambda v: None if v is None or not math.isfinite(v) else float(v)
single = lambda per_unit, day, event: dict(per_unit=per_unit, day=day, event=event)
SURVIVAL = {
    "event_and_censoring_at_one_time": single(1, [5, 5, 5, 5, 9, 9, 12, 12], [1, 0, 1, 0, 0, 1, 1, 0]),
    "events_at_day_0": single(1, [0, 0, 0, 0, 3, 30, 30, 365], [1, 1, 0, 0, 1, 0, 1, 0]),
    "all_censored": single(1, [0, 1, 7, 7, 30, 400], [0] * 6),
    "all_dead_at_day_0": single(1, [0, 0, 0], [1, 1, 1]),
    "last_observation_an_event": single(1, [2, 4, 4, 8, 16], [0, 1, 0, 0, 1]),
    "last_two_an_event_and_a_censoring": single(1, [2, 4, 16, 16], [1, 0, 1, 0]),
    "single_subject_dead": single(1, [11], [1]),
    "single_subject_alive": single(1, [11], [0]),
    "two_times_heavily_tied": single(1, [30] * 60 + [365] * 40, [1] * 7 + [0] * 53 + [1] * 11 + [0] * 29),
    "fractional_months": single(10, [3, 3, 7, 12, 12, 12, 25, 31, 31, 60, 118, 118], [1, 0, 1, 0, 1, 1, 0, 1, 0, 1, 0, 1]),
}
for n, days, rate in ((150, 12, .3), (400, 1100, .15), (37, 5, .6)):
    rows = [(int(u() ** 2 * days), int(u() < rate)) for _ in range(n)]
    SURVIVAL[f"generated_{n}"] = single(1, [d for d, _ in rows], [e for _, e in rows])
def survival(s):
    t, e = np.array(s["day"]) / s["per_unit"], np.array(s["event"])
    k = KaplanMeierFitter().fit(t, e, ci_labels=["low", "high"])  # limits on the log(-log) scale
    # lifelines starts its table at 0; the other library has one row a distinct time
    x, prob, ci = kaplan_meier_estimator(e.astype(bool), t, conf_type="log-log")
    ours = k.survival_function_["KM_estimate"]
    assert np.allclose(ours.loc[x].to_numpy(), prob, atol=1e-12)
    table, limits = k.event_table, k.confidence_interval_
    rows = []
    for at in x:
        dead, here = table.loc[at, "observed"], table.loc[at, "at_risk"]
        low, high, value = clean(limits.loc[at, "low"]), clean(limits.loc[at, "high"]), float(ours.loc[at])
        if 0 < value < 1:
            i = list(x).index(at)
            assert abs(ci[0][i] - low) < 1e-9 and abs(ci[1][i] - high) < 1e-9, (low, high, ci[:, i])
        rows.append(dict(day=round(at * s["per_unit"]), at_risk=int(here), events=int(dead), censored=int(table.loc[at, "censored"]),
                         survival=value, low=low if 0 < value < 1 else None, high=high if 0 < value < 1 else None))
    return dict(s, curve=rows)
COMPETING = {
    "all_three_at_one_time": ([4, 4, 4, 4, 9, 9, 9, 20], [0, 1, 2, 0, 2, 1, 0, 0]),
    "at_day_0": ([0, 0, 0, 0, 0, 5, 6], [1, 2, 0, 0, 0, 1, 0]),
    "no_event": ([1, 2, 2, 8], [0, 2, 0, 2]),
    "no_competing": ([1, 2, 2, 8, 9], [0, 1, 0, 1, 0]),
    "last_an_event": ([3, 3, 5, 7], [0, 2, 0, 1]),
    "last_two_different": ([3, 5, 7, 7], [0, 1, 1, 2]),
    "heavily_tied": ([30] * 50 + [365] * 50, [1] * 4 + [2] * 5 + [0] * 41 + [1] * 9 + [2] * 3 + [0] * 38),
}
for n, days in ((120, 9), (300, 900), (41, 4)):
    rows = [(int(u() * days), (0, 0, 1, 2)[int(u() * 4)]) for _ in range(n)]
    COMPETING[f"generated_{n}"] = ([d for d, _ in rows], [e for _, e in rows])
def weighted(day, outcome, weight, at):
    """Aalen-Johansen incidence of kind 1 at a time, every case with its weight."""
    free, incidence = 1.0, 0.0
    for t in sorted({d for d in day if d <= at}):
        risk = sum(w for d, w in zip(day, weight) if d >= t)
        one = sum(w for d, o, w in zip(day, outcome, weight) if d == t and o == 1)
        either = sum(w for d, o, w in zip(day, outcome, weight) if d == t and o > 0)
        incidence += free * one / risk
        free *= 1 - either / risk
    return incidence
def jackknife(day, outcome, at):
    """Infinitesimal jackknife: root of the summed squares of the derivatives by each weight, by complex steps (exact)."""
    total = 0.0
    for i in range(len(day)):
        weight = [1.0 + (1e-30j if j == i else 0) for j in range(len(day))]
        total += (complex(weighted(day, outcome, weight, at)).imag / 1e-30) ** 2
    return math.sqrt(total)
def competing(day, outcome):
    # The library wants both kinds to occur: with one alone, its incidence is one minus Kaplan-Meier.
    if {1, 2} <= set(outcome):
        x, cif = cumulative_incidence_competing_risks(np.array(outcome), np.array(day, float))
        one, two = cif[1], cif[2]
    else:
        x, free = kaplan_meier_estimator(np.array(outcome) > 0, np.array(day, float))
        one, two = (1 - free) * (1 in outcome), (1 - free) * (2 in outcome)
    times = range(len(x)) if len(x) < 30 else range(0, len(x), 25)
    rows = [dict(day=int(x[i]), cif1=float(one[i]), cif2=float(two[i]), se1=jackknife(day, outcome, x[i])) for i in times]
    return dict(day=day, outcome=outcome, curve=rows)
path = sys.argv[1]
M = json.load(open(path))
M["_versions"].update({"scikit-survival": sksurv.__version__, "lifelines_edges": lifelines.__version__})
M["edge_kaplan_meier"] = {name: survival(s) for name, s in SURVIVAL.items()}
M["edge_competing"] = {name: competing(*s) for name, s in COMPETING.items()}
json.dump(M, open(path, "w"), separators=(",", ":"))
