"""The arithmetic of the cohort summary, standard library only: Wilson, type-7 quartiles, t, Hodges-Lehmann, exact Poisson,
Kaplan-Meier and Aalen-Johansen with log-log limits. Checked against published values by check_statistics.py."""

import math

Z = 1.959963984540054


def wilson(x, n):
    """Wilson 1927, without correction: (low, high) as shares; nothing where n is 0."""
    if n == 0:
        return None, None
    p = x / n
    centre = (p + Z * Z / (2 * n)) / (1 + Z * Z / n)
    half = Z * math.sqrt(p * (1 - p) / n + Z * Z / (4 * n * n)) / (1 + Z * Z / n)
    return 0.0 if x == 0 else centre - half, 1.0 if x == n else centre + half


def quantile_7(values, p):
    """Hyndman & Fan 1996, type 7."""
    x = sorted(values)
    h = (len(x) - 1) * p
    j = math.floor(h)
    return x[j] if j + 1 >= len(x) else x[j] + (h - j) * (x[j + 1] - x[j])


def bisect(rises, low, high):
    """The point where the increasing function `rises` crosses 0."""
    for _ in range(300):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if rises(middle) < 0 else (low, middle)
    return (low + high) / 2


def t_central(t, df):
    """P(|T| <= t) for integer degrees of freedom, by the finite sums of Abramowitz & Stegun 26.7.3-4."""
    theta = math.atan(t / math.sqrt(df))
    cos2 = math.cos(theta) ** 2
    if df % 2:
        total, term = 0.0, math.cos(theta)
        for k in range(1, df - 1, 2):
            total += term
            term *= cos2 * (k + 1) / (k + 2)
        return 2 / math.pi * (theta + math.sin(theta) * total)
    total, term = 0.0, 1.0
    for k in range(0, df - 1, 2):
        total += term
        term *= cos2 * (k + 1) / (k + 2)
    return math.sin(theta) * total


def mean_with_t_interval(d):
    """(mean, low, high); no limits below two values."""
    n = len(d)
    if n == 0:
        return None, None, None
    mean = math.fsum(d) / n
    if n < 2:
        return mean, None, None
    sd = math.sqrt(math.fsum((x - mean) ** 2 for x in d) / (n - 1))
    half = bisect(lambda t: t_central(t, n - 1) - 0.95, 0.0, 1000.0) * sd / math.sqrt(n)
    return mean, mean - half, mean + half


def hodges_lehmann(d):
    """Median of the Walsh averages and the exact 95 % interval of the signed-rank null; no limits below six values."""
    n = len(d)
    if n == 0:
        return None, None, None
    walsh = sorted((d[i] + d[j]) / 2 for i in range(n) for j in range(i, n))
    estimate = quantile_7(walsh, 0.5)
    if n < 6:
        return estimate, None, None
    ways = [1]
    for rank in range(1, n + 1):
        longer = ways + [0] * rank
        for i, w in enumerate(ways):
            longer[i + rank] += w
        ways = longer
    total, k = ways[0], 0
    while total * 1000 < 25 * 2 ** n:
        k += 1
        total += ways[k]
    k = max(k, 1)
    return estimate, walsh[k - 1], walsh[len(walsh) - k]


def poisson_at_most(k, mean):
    term = math.exp(-mean)
    total = term
    for i in range(1, k + 1):
        term *= mean / i
        total += term
    return total


def poisson_limits(observed):
    """Garwood 1936: exact 95 % limits of a Poisson mean."""
    top = 10.0 + 5.0 * observed
    low = 0.0 if observed == 0 else bisect(lambda m: (1 - poisson_at_most(observed - 1, m)) - 0.025, 0.0, top)
    return low, bisect(lambda m: 0.025 - poisson_at_most(observed, m), 0.0, top)


def kaplan_meier(subjects, t):
    """(survival, low, high) at day t from (time, died) pairs; events before censorings at the same time; log-log limits, none at 0 or
    1. Greenwood's variance."""
    s, g = 1.0, 0.0
    for day in sorted({time for time, died in subjects if died and time <= t}):
        n = sum(time >= day for time, _ in subjects)
        d = sum(died and time == day for time, died in subjects)
        s *= 1 - d / n
        g = g + d / (n * (n - d)) if n > d else math.inf
    if s <= 0.0:
        return 0.0, None, None
    if s >= 1.0:
        return 1.0, None, None
    spread = Z * math.sqrt(g) / abs(math.log(s))
    return s, s ** math.exp(spread), s ** math.exp(-spread)


def aalen_johansen(subjects, t, kind=1):
    """(cumulative incidence of `kind`, standard error, low, high) at day t from (time, state) pairs; state 0 is censored. Greenwood-type
    variance; log-log limits, none at incidence 0 or 1."""
    days = sorted({time for time, state in subjects if state and time <= t})
    s, incidence, steps = 1.0, 0.0, []
    for day in days:
        n = sum(time >= day for time, _ in subjects)
        d = sum(state != 0 and time == day for time, state in subjects)
        dk = sum(state == kind and time == day for time, state in subjects)
        incidence += s * dk / n
        steps.append((incidence, s, n, d, dk))
        s *= 1 - d / n
    variance = 0.0
    for i_j, s_before, n, d, dk in steps:
        rest = incidence - i_j
        if n > d:
            variance += rest ** 2 * d / (n * (n - d))
        variance += s_before ** 2 * (n - dk) * dk / n ** 3 - 2 * rest * s_before * dk / n ** 2
    if incidence <= 0.0 or incidence >= 1.0:
        return incidence, None, None, None
    error = math.sqrt(max(variance, 0.0))
    spread = Z * error / (incidence * abs(math.log(incidence)))
    return incidence, error, incidence ** math.exp(spread), incidence ** math.exp(-spread)


def at_risk(subjects, t):
    return sum(time >= t for time, _ in subjects)
