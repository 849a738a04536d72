//! Observed against expected deaths, calibration, and the life-adjusted display.

use super::reference::{
    LIBRARY, MORE, VALUES, close, close_limits, count, counts, list, number, numbers, predicted,
    series,
};
use valvefolio::cohort::statistics::{
    CountDistribution, Predicted, calibration, observed_expected, poisson_chance_of_as_many,
    poisson_limits, ratio, slope_of_few_events, vlad,
};

/// R 4.2.2 `poisson.test`, counts 0 to 196; scipy 1.17.1 `chi2.ppf` agrees.
#[test]
fn exact_poisson_limits_equal_r_and_scipy() {
    for row in list(&VALUES["poisson"]) {
        let o = count(&row["O"]);
        let what = format!("O {o}");
        close_limits(
            poisson_limits(o, 0.95).unwrap(),
            &row["exact95"],
            LIBRARY,
            &what,
        );
        close_limits(
            poisson_limits(o, 0.998).unwrap(),
            &row["exact998"],
            LIBRARY,
            &what,
        );
    }
    for row in list(&MORE["poisson"]) {
        let o = count(&row["O"]);
        let limits = poisson_limits(o, number(&row["confidence"])).unwrap();
        close_limits(limits, &row["limits"], LIBRARY, &format!("O {o}"));
    }
    assert_eq!(poisson_limits(3, 0.0), None);
}

/// Byar's approximation in the Breslow-Day form (SciPy script): within 0.2 % from 10 deaths on.
#[test]
fn exact_limits_are_near_byar_for_many_deaths() {
    for row in list(&VALUES["py_poisson"]) {
        let o = count(&row["O"]);
        if o >= 10 {
            let exact = poisson_limits(o, 0.95).unwrap();
            let byar = numbers(&row["byar_bd95"]);
            assert!((byar[0] / exact.low - 1.0).abs() < 0.002, "O {o}");
            assert!((byar[1] / exact.high - 1.0).abs() < 0.002, "O {o}");
        }
    }
}

/// R package PoissonBinomial 1.2.5 on the synthetic series: 12 deaths against 5.7951 expected.
#[test]
fn observed_expected_of_the_series() {
    let result = observed_expected(&series());
    let reference = &VALUES["ra_series"]["pbinom_tail"];
    assert_eq!((result.cases, result.observed), (160, 12));
    assert_eq!(result.observed, count(&reference["total_O"]));
    close(result.expected, 5.7951, 1e-9, "E");
    close(
        result.chance_of_as_many,
        number(&reference["p_ge_O"]),
        LIBRARY,
        "as many",
    );
    close(
        result.chance_of_as_few,
        number(&reference["p_le_O"]),
        LIBRARY,
        "as few",
    );
    let ratio = result.ratio.unwrap();
    // R `poisson.test(12)` divided by 5.7951.
    close(ratio.estimate, 2.070_7, 5e-5, "ratio");
    close(ratio.interval.low, 6.200_575_076_5 / 5.7951, 1e-8, "lower");
    close(
        ratio.interval.high,
        20.961_585_017_6 / 5.7951,
        1e-8,
        "upper",
    );
    // scipy 1.17.1 poisson.sf(11, 5.7951), as printed: .01586.
    close(
        poisson_chance_of_as_many(12, 5.7951).unwrap(),
        0.015_86,
        5e-6,
        "Poisson",
    );
}

/// The exact distribution of the series, counts 0 to 20 (R package PoissonBinomial 1.2.5).
#[test]
fn probabilities_of_unequal_cases_equal_r() {
    let risks: Vec<f64> = series().iter().map(Predicted::risk).collect();
    let ours = CountDistribution::unequal(&risks).unwrap();
    let theirs = numbers(&VALUES["ra_series"]["pbinom_tail"]["pmf0_20"]);
    for (k, expected) in theirs.into_iter().enumerate() {
        close(ours.probability(k), expected, LIBRARY, &format!("k {k}"));
    }
}

/// NumPy 2.4.6: 3,000 unequal cases, the whole convolution without truncation.
#[test]
fn truncation_loses_nothing_that_is_printed() {
    let set = &MORE["unequal"];
    let ours = CountDistribution::unequal(&numbers(&set["risks"])).unwrap();
    for row in list(&set["tails"]) {
        let x = count(&row["x"]);
        close(ours.at_most(x), number(&row["at_most"]), LIBRARY, "at most");
        close(
            ours.at_least(x),
            number(&row["at_least"]),
            LIBRARY,
            "at least",
        );
    }
    for row in list(&set["quantiles"]) {
        assert_eq!(ours.quantile(number(&row["p"])), count(&row["q"]));
    }
}

/// scipy 1.17.1 `binom.cdf`, `binom.sf`, `poisson.cdf`, `poisson.sf`.
#[test]
fn binomial_and_poisson_tails_equal_scipy() {
    for row in list(&MORE["binomial_tails"]) {
        let (n, x) = (count(&row["n"]), count(&row["x"]));
        let ours = CountDistribution::binomial(n, number(&row["p"])).unwrap();
        close(ours.at_most(x), number(&row["at_most"]), LIBRARY, "at most");
        close(
            ours.at_least(x),
            number(&row["at_least"]),
            LIBRARY,
            "at least",
        );
    }
    for row in list(&MORE["poisson_tails"]) {
        let x = count(&row["x"]);
        let ours = CountDistribution::poisson(number(&row["mean"])).unwrap();
        close(ours.at_most(x), number(&row["at_most"]), LIBRARY, "at most");
        close(
            ours.at_least(x),
            number(&row["at_least"]),
            LIBRARY,
            "at least",
        );
    }
}

/// Definition: no ratio below one expected death; none observed gives 0 and 3.69/E.
#[test]
fn few_expected_deaths_give_no_ratio() {
    let cases = predicted(&[0.2; 4], &[1, 0, 0, 0]);
    let few = observed_expected(&cases);
    assert_eq!((few.observed, few.ratio), (1, None));
    close(few.expected, 0.8, 1e-12, "E");
    assert_eq!(ratio(0, 0.0), None);
    let none = ratio(0, 2.0).unwrap();
    assert_eq!((none.estimate, none.interval.low), (0.0, 0.0));
    close(
        none.interval.high,
        3.688_879_454_113_936 / 2.0,
        LIBRARY,
        "upper",
    );
    let nobody = observed_expected(&[]);
    assert_eq!(
        (nobody.cases, nobody.observed, nobody.expected),
        (0, 0, 0.0)
    );
    assert_eq!(nobody.ratio, None);
    assert_eq!(nobody.chance_of_as_many, 1.0);
}

/// R 4.2.2 `glm` with offset for the intercept. R stops 5e-9 away and takes its standard error
/// from the step before, up to 4e-5 away; statsmodels 0.15.0 with a tight tolerance settles both
/// to 1e-9.
#[test]
fn calibration_intercept_equals_r_and_statsmodels() {
    let all = series();
    let settled = list(&MORE["ra_series_intercept"]);
    for (key, settled) in ["calibration", "calibration_first80"]
        .into_iter()
        .zip(settled)
    {
        let reference = &VALUES["ra_series"][key];
        let ours = calibration(&all[..count(&settled["cases"])]);
        let intercept = ours.intercept.unwrap();
        close(intercept.estimate, number(&reference["citl"]), 1e-8, key);
        close(
            intercept.standard_error,
            number(&reference["citl_se"]),
            1e-4,
            key,
        );
        close(
            intercept.estimate,
            number(&settled["intercept"]),
            LIBRARY,
            key,
        );
        close(
            intercept.standard_error,
            number(&settled["se"]),
            LIBRARY,
            key,
        );
    }
    assert_eq!(
        calibration(&all).slope,
        None,
        "12 deaths are too few for a slope"
    );
    let slope = slope_of_few_events(&all).unwrap();
    let settled = &MORE["ra_series_slope"];
    close(slope.estimate, number(&settled["slope"]), LIBRARY, "slope");
    close(
        slope.standard_error,
        number(&settled["se"]),
        LIBRARY,
        "its error",
    );
    let reference = &VALUES["ra_series"]["calibration"];
    close(
        slope.estimate,
        number(&reference["slope"]),
        1e-5,
        "slope by R",
    );
    close(
        slope.standard_error,
        number(&reference["slope_se"]),
        1e-5,
        "its error by R",
    );
}

/// statsmodels 0.15.0 `GLM`, 400 cases, 106 deaths.
#[test]
fn calibration_with_many_deaths_equals_statsmodels() {
    let set = &MORE["logistic"];
    let cases = predicted(&numbers(&set["p"]), &counts(&set["y"]));
    let ours = calibration(&cases);
    let intercept = ours.intercept.unwrap();
    close(
        intercept.estimate,
        number(&set["intercept"]),
        LIBRARY,
        "intercept",
    );
    close(
        intercept.standard_error,
        number(&set["intercept_se"]),
        LIBRARY,
        "its error",
    );
    let slope = ours.slope.unwrap();
    close(slope.estimate, number(&set["slope"]), LIBRARY, "slope");
    close(
        slope.standard_error,
        number(&set["slope_se"]),
        LIBRARY,
        "its error",
    );
    let half = 1.959_963_984_540_054 * number(&set["slope_se"]);
    close(
        slope.interval.high,
        number(&set["slope"]) + half,
        LIBRARY,
        "limit",
    );
}

/// Definition: not estimable when nobody or everybody died; extreme risks are held in and counted.
#[test]
fn calibration_edges() {
    assert_eq!(calibration(&[]).intercept, None);
    assert_eq!(
        calibration(&predicted(&[0.1, 0.2], &[0, 0])).intercept,
        None
    );
    assert_eq!(
        calibration(&predicted(&[0.1, 0.2], &[1, 1])).intercept,
        None
    );
    let ours = calibration(&predicted(&[0.0, 1.0, 0.0005, 0.9995], &[0, 1, 1, 0]));
    assert_eq!(ours.clamped, 2);
    // Symmetric about one half, so the risks are right on the whole.
    close(ours.intercept.unwrap().estimate, 0.0, 1e-9, "intercept");
    // 1 % predicted, 990 of 1000 died: logit(.99) − logit(.01) = 2 ln 99, far from the start.
    let mut died = vec![1; 990];
    died.extend([0; 10]);
    let far = calibration(&predicted(&[0.01; 1000], &died));
    close(
        far.intercept.unwrap().estimate,
        2.0 * 99.0_f64.ln(),
        LIBRARY,
        "far",
    );
}

/// R 4.2.2 for the line, R package PoissonBinomial 1.2.5 for the quantiles behind the bands.
#[test]
fn life_adjusted_display_equals_r() {
    let reference = &VALUES["ra_series"];
    let points = vlad(&series());
    assert_eq!(points.len(), 160);
    let value = numbers(&reference["vlad"]);
    let expected = numbers(&reference["E"]);
    let observed = counts(&reference["O"]);
    let q = |name: &str| numbers(&reference["pbinom_quantiles_deaths"][name]);
    let (q005, q025, q975, q995) = (q("q005"), q("q025"), q("q975"), q("q995"));
    for (i, point) in points.iter().enumerate() {
        let what = format!("case {}", i + 1);
        close(point.value, value[i], LIBRARY, &what);
        close(point.expected, expected[i], LIBRARY, &what);
        assert_eq!(point.observed, observed[i]);
        close(point.band_95.low, expected[i] - q975[i], LIBRARY, &what);
        close(point.band_95.high, expected[i] - q025[i], LIBRARY, &what);
        close(point.band_99.low, expected[i] - q995[i], LIBRARY, &what);
        close(point.band_99.high, expected[i] - q005[i], LIBRARY, &what);
    }
    assert!(!points[159].band_95.contains(points[159].value));
    assert!(vlad(&[]).is_empty());
}
