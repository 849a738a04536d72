"""Further reference values: large samples, survival and competing risks with many ties, logistic fits.
scipy, numpy, statsmodels and lifelines only; the data come from a small generator written out below.
Run: python more.py FILE"""
import json, math, sys, warnings
import numpy as np, scipy, scipy.stats as st, statsmodels, statsmodels.api as sm, lifelines, pandas as pd
from lifelines import KaplanMeierFitter, AalenJohansenFitter
from lifelines.utils import median_survival_times
from statsmodels.duration.survfunc import CumIncidenceRight
warnings.filterwarnings("ignore")
state = 20260102
def u():
    global state
    state = (1664525 * state + 1013904223) % 2**32
    return state / 2**32
clean = lambda v: None if v is None or not math.isfinite(v) else float(v)
M = {"_versions": {"python": sys.version.split()[0], "numpy": np.__version__, "scipy": scipy.__version__, "statsmodels": statsmodels.__version__, "lifelines": lifelines.__version__}}
def cp(x, n, a): return [0.0 if x == 0 else float(st.beta.ppf(a/2, x, n-x+1)), 1.0 if x == n else float(st.beta.ppf(1-a/2, x+1, n-x))]
M["clopper_pearson"] = [dict(x=x, n=n, confidence=c, limits=cp(x, n, 1-c)) for n in (7, 400, 1000, 10000, 100000) for x in sorted({0, 1, 2, n//100, n//7, n//2, n-1, n}) for c in (.9, .95, .99, .998)]
M["poisson"] = [dict(O=o, confidence=c, limits=[0.0 if o == 0 else float(st.chi2.ppf((1-c)/2, 2*o)/2), float(st.chi2.ppf(1-(1-c)/2, 2*o+2)/2)]) for o in (0, 1, 7, 60, 300, 1000, 10000) for c in (.9, .95, .99, .998)]
M["t_upper"] = [dict(df=d, tail=t, t=float(st.t.isf(t, d))) for d in [*range(1, 41), 60, 99, 100, 500, 1001, 99999] for t in (.025, .005, .05)]
M["binomial_tails"] = [dict(n=n, p=p, x=x, at_most=float(st.binom.cdf(x, n, p)), at_least=float(st.binom.sf(x-1, n, p))) for n in (1, 12, 300, 5000, 100000) for p in (.001, .03, .5, .97) for x in sorted({0, 1, int(n*p), int(n*p)+3, int(n*p)+int(4*math.sqrt(n*p*(1-p))), n}) if x <= n]
M["poisson_tails"] = [dict(mean=m, x=x, at_most=float(st.poisson.cdf(x, m)), at_least=float(st.poisson.sf(x-1, m))) for m in (.2, 3, 17.5, 800.25) for x in sorted({0, 1, int(m), int(m)+2, int(m+5*math.sqrt(m))})]
# unequal cases: whole convolution, no truncation
risks = [round(.01+.11*u()**3, 4) for _ in range(3000)]
a = np.array([1.0])
for p in risks: a = np.convolve(a, [1-p, p])
E = sum(risks)
M["unequal"] = dict(risks=risks, expected=E, tails=[dict(x=x, at_most=float(a[:x+1].sum()), at_least=float(a[x:].sum())) for x in sorted({0, int(E)-60, int(E)-20, int(E)-1, int(E), int(E)+1, int(E)+15, int(E)+40, int(E)+90})], quantiles=[dict(p=p, q=int(np.searchsorted(np.cumsum(a), p))) for p in (.001, .005, .025, .5, .975, .995, .999)])
# Hodges-Lehmann: all Walsh averages listed, exact rank distribution in whole numbers
def hl(n):
    d = np.array([round(-30+25*(u()+u()-1), 1) for _ in range(n)])
    w = np.sort([(d[i]+d[j])/2 for i in range(n) for j in range(i, n)])
    f = [1]+[0]*(n*(n+1)//2)
    for r in range(1, n+1):
        for s in range(len(f)-1, r-1, -1): f[s] += f[s-r]
    c = 0; k = 0
    while True:
        c += f[k]
        if c*1000 >= 25*2**n: break
        k += 1
    k = max(k, 1)
    return dict(differences=d.tolist(), estimate=float(np.median(w)), k=k, limits=[float(w[k-1]), float(w[len(w)-k])])
M["hodges_lehmann"] = [hl(n) for n in (6, 7, 31, 90, 340)]
M["mcnemar"] = [dict(b=b, c=c, p=float(st.binomtest(b, b+c, .5).pvalue)) for b, c in ((0, 1), (1, 1), (0, 6), (3, 9), (20, 21), (150, 110))]
# logistic fits with enough events for a slope
p = np.array([round(.02+.5*u()**2, 4) for _ in range(400)]); y = np.array([int(u() < min(.95, 1.4*q)) for q in p]); l = np.log(p/(1-p))
m0 = sm.GLM(y, np.ones((400, 1)), family=sm.families.Binomial(), offset=l).fit(method="newton", tol=1e-14, disp=0); m1 = sm.GLM(y, np.c_[np.ones(400), l], family=sm.families.Binomial()).fit(method="newton", tol=1e-14, disp=0)
M["logistic"] = dict(p=p.tolist(), y=y.tolist(), intercept=float(m0.params[0]), intercept_se=float(m0.bse[0]), slope=float(m1.params[1]), slope_se=float(m1.bse[1]))
# the calibration intercept of ra_series in values.json with a tight tolerance: R stops one step before its standard error settles
V = json.load(open(__file__.replace("scripts/more.py", "values.json")))["ra_series"]; p = np.array(V["p"]); y = np.array(V["y"]); M["ra_series_intercept"] = []
for n in (160, 80):
    m0 = sm.GLM(y[:n], np.ones((n, 1)), family=sm.families.Binomial(), offset=np.log(p/(1-p))[:n]).fit(method="newton", tol=1e-14, disp=0); M["ra_series_intercept"].append(dict(cases=n, intercept=float(m0.params[0]), se=float(m0.bse[0])))
m1 = sm.GLM(y, np.c_[np.ones(160), np.log(p/(1-p))], family=sm.families.Binomial()).fit(method="newton", tol=1e-14, disp=0); M["ra_series_slope"] = dict(slope=float(m1.params[1]), se=float(m1.bse[1]))
# Kaplan-Meier, many ties, some on day 0; lifelines gives log-log ("exponential Greenwood") limits
def km(n, last, censoring):
    t = [int(last*u()**1.5) for _ in range(n)]; e = [int(u() > censoring) for _ in range(n)]
    f = KaplanMeierFitter().fit(t, e); days = sorted(set(t)); ci = f.confidence_interval_; et = f.event_table
    rows = [dict(day=d, at_risk=int(sum(q >= d for q in t)), events=int(et.observed.loc[d]), censored=int(et.censored.loc[d]), survival=float(f.survival_function_.iloc[:, 0].loc[d]), low=clean(float(ci.iloc[:, 0].loc[d])), high=clean(float(ci.iloc[:, 1].loc[d]))) for d in days]
    g = KaplanMeierFitter().fit(t, [1-q for q in e])
    return dict(day=t, event=e, curve=rows, median=clean(f.median_survival_time_), reverse_median=clean(g.median_survival_time_))
M["kaplan_meier"] = [km(*s) for s in ((12, 9, .3), (40, 20, .5), (90, 400, .6), (200, 900, .85), (60, 30, .1))]
# competing risks with ties: incidences from statsmodels; tie-free sets: incidence and variance from lifelines
def draw(n, last): return [int(last*u()) for _ in range(n)], [0 if (v := u()) < .5 else 1 if v < .8 else 2 for _ in range(n)]
def tied(n, last):
    t, e = draw(n, last); c = CumIncidenceRight(np.array(t, float), np.array(e))
    return dict(day=t, outcome=e, times=[int(v) for v in c.times], cif1=[float(v) for v in c.cinc[0]], cif2=[float(v) for v in c.cinc[1]])
def untied(n):
    t = [(i*7919) % (n*13)+i % 13 for i in range(n)]; t = [13*v+1 for v in np.argsort(np.argsort([u() for _ in t]))]; e = [0 if (v := u()) < .5 else 1 if v < .8 else 2 for _ in range(n)]
    f = AalenJohansenFitter(calculate_variance=True).fit(pd.Series([int(q) for q in t]), pd.Series(e), event_of_interest=1)
    c = f.cumulative_density_; v = f.variance_; days = sorted(int(q) for q, w in zip(t, e) if w)
    return dict(day=[int(q) for q in t], outcome=e, times=days, cif1=[float(c.loc[d].iloc[0]) for d in days], se1=[clean(math.sqrt(float(v.loc[d].iloc[0] if hasattr(v.loc[d], "iloc") else v.loc[d]))) for d in days])
M["competing_tied"] = [tied(*s) for s in ((15, 8), (60, 25), (150, 60))]
M["competing_untied"] = [untied(n) for n in (20, 75)]
json.dump(M, open(sys.argv[1], "w"), separators=(",", ":"), allow_nan=False)
