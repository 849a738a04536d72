#!/usr/bin/env python3
"""Checks statistics_of_cohort.py against published values; the source stands beside each."""

import statistics_of_cohort as s

FAILED = []


def close(what, found, expected, tolerance):
    for f, e in zip(found, expected):
        if (f is None) != (e is None) or (f is not None and abs(f - e) > tolerance):
            FAILED.append(f"{what}: {found} is not {expected}")
            return


# Newcombe 1998, Stat Med 17:857-872, Table I
for x, n, low, high in ((81, 263, .2553, .3662), (15, 148, .0624, .1605), (0, 20, 0, .1611), (1, 29, .0061, .1718)):
    close(f"Wilson {x}/{n}", s.wilson(x, n), (low, high), 5e-5)

# Type 7 quartiles as R 4.2.2 and NumPy 2.4.6 give them
grad = [42, 38, 55, 61, 47, 40, 40, 52, 49, 66, 44, 58, 39, 71, 45, 50, 48, 43, 57, 60]
close("quartiles", [s.quantile_7(grad, p) for p in (.25, .5, .75)], (42.75, 48.5, 57.25), 1e-12)

# Student 1908 (sleep; ten pairs): mean 1.58, interval .7001-2.4599
sleep = [1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4]
close("paired t", s.mean_with_t_interval(sleep), (1.58, .7001, 2.4599), 5e-5)
close("Hodges-Lehmann of sleep", s.hodges_lehmann(sleep)[:1], (1.3,), 1e-9)

# Darwin's maize, inches/8 (Fisher 1935): mean 20.933, interval .0312-41.8355; exact signed-rank interval 4 to 41.5, estimate 25 (R)
darwin = [49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48]
close("paired t of darwin", s.mean_with_t_interval(darwin), (20.9333, .0312, 41.8355), 5e-5)
close("Hodges-Lehmann of darwin", s.hodges_lehmann(darwin), (25, 4, 41.5), 1e-9)

# Garwood 1936; chi-square form in R
for o, low, high in ((0, 0, 3.6889), (1, .0253, 5.5716), (3, .6187, 8.7673), (10, 4.7954, 18.3904), (20, 12.2165, 30.8884)):
    close(f"Poisson {o}", s.poisson_limits(o), (low, high), 5e-5)

# Freireich 1963, Blood 21:699-716: 6-MP arm; R survival 3.5-3
mp6 = [(6, 1), (6, 1), (6, 1), (6, 0), (7, 1), (9, 0), (10, 1), (10, 0), (11, 0), (13, 1), (16, 1), (17, 0), (19, 0), (20, 0), (22, 1),
       (23, 1), (25, 0), (32, 0), (32, 0), (34, 0), (35, 0)]
for t, value in ((6, .857), (7, .807), (10, .753), (13, .690), (16, .627), (22, .538), (23, .448)):
    close(f"survival at {t}", s.kaplan_meier(mp6, t)[:1], (value,), 5e-4)
close("survival at 10", s.kaplan_meier(mp6, 10)[1:], (.5032, .8894), 5e-5)
close("survival at 20", s.kaplan_meier(mp6, 20), (.6275, .3675, .8049), 5e-5)
close("at risk", (s.at_risk(mp6, 10), s.at_risk(mp6, 20)), (15, 8), 0)
control = [(t, 1) for t in (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)]
close("control at 5", s.kaplan_meier(control, 5), (.5714, .3380, .7492), 5e-5)
close("control at 23", s.kaplan_meier(control, 23), (0, None, None), 0)

# Without competing events the cumulative incidence is 1 - S and its limits are those of the multistate estimate (Aalen & Johansen 1978)
close("incidence without competitor", s.aalen_johansen(mp6, 20)[:1], (1 - .6275,), 5e-5)
mixed = [(t, 2 if t == 13 else e) for t, e in mp6]
parts = [s.aalen_johansen(mixed, 23, kind)[0] for kind in (1, 2)]
close("incidences and survival add to 1", [sum(parts) + s.kaplan_meier([(t, e > 0) for t, e in mixed], 23)[0]], (1,), 1e-12)

# Twelve made-up subjects with ties; R survival 3.5-3, survfit multistate with log-log limits
twelve = list(zip((1, 2, 2, 3, 4, 5, 5, 6, 7, 8, 9, 10), (1, 2, 0, 1, 0, 2, 1, 0, 2, 1, 0, 0)))
for t, *expected in ((3, 0.17592592592593, 0.11332877757862, 0.02750043530936, 0.43159167191945),
                     (8, 0.41402116402116, 0.16378578430883, 0.11950087926744, 0.69347125512086)):
    close(f"incidence at {t}", s.aalen_johansen(twelve, t), expected, 1e-12)

print("\n".join(FAILED) or "all agree")
raise SystemExit(1 if FAILED else 0)
