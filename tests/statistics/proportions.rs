//! Intervals for proportions.

use super::reference::{
    FOUR_DECIMALS, LIBRARY, MORE, VALUES, close, close_limits, count, list, number, numbers,
};
use valvefolio::cohort::statistics::{
    Confidence, clopper_pearson, missing_bounds, newcombe_difference, wilson, wilson_at,
    zero_events_upper,
};

/// R 4.2.2 `prop.test(correct = FALSE)` and `binom.test`, 178 pairs; scipy 1.17.1 and
/// statsmodels 0.15.0 agree.
#[test]
fn wilson_and_clopper_pearson_equal_r() {
    let grid = list(&VALUES["proportions"]);
    assert_eq!(grid.len(), 178);
    for row in grid {
        let (x, n) = (count(&row["x"]), count(&row["n"]));
        let what = format!("{x} of {n}");
        close_limits(wilson(x, n).unwrap(), &row["wilson95"], LIBRARY, &what);
        let exact = clopper_pearson(x, n, 0.95).unwrap();
        close_limits(exact, &row["cp95"], LIBRARY, &what);
        let wide = clopper_pearson(x, n, 0.998).unwrap();
        close_limits(wide, &row["cp998"], LIBRARY, &what);
    }
}

/// Newcombe 1998, Stat Med 17:857-872, Table I (Wilson as published; the Clopper-Pearson column
/// from memory).
#[test]
fn newcombe_table_one() {
    for row in list(&VALUES["newcombe1998_table1"]) {
        let (x, n) = (count(&row["x"]), count(&row["n"]));
        let score = wilson(x, n).unwrap();
        close_limits(score, &row["wilson_published"], FOUR_DECIMALS, "Wilson");
        let exact = clopper_pearson(x, n, 0.95).unwrap();
        close_limits(
            exact,
            &row["cp_published_from_memory"],
            FOUR_DECIMALS,
            "exact",
        );
    }
}

/// scipy 1.17.1 `beta.ppf`, four levels, up to 100,000 cases.
#[test]
fn clopper_pearson_at_any_level_and_size_equals_scipy() {
    for row in list(&MORE["clopper_pearson"]) {
        let (x, n) = (count(&row["x"]), count(&row["n"]));
        let limits = clopper_pearson(x, n, number(&row["confidence"])).unwrap();
        close_limits(limits, &row["limits"], LIBRARY, &format!("{x} of {n}"));
        // Small limits are also right relative to their size.
        let theirs = numbers(&row["limits"]);
        assert!((limits.high / theirs[1] - 1.0).abs() < 1e-8, "{x} of {n}");
    }
}

/// Definition: exact ends, and nothing from nothing.
#[test]
fn ends_are_exact_and_no_cases_give_no_interval() {
    for n in [1, 3, 20, 148, 1000] {
        assert_eq!(wilson(0, n).unwrap().low, 0.0);
        assert_eq!(wilson(n, n).unwrap().high, 1.0);
        assert_eq!(clopper_pearson(0, n, 0.95).unwrap().low, 0.0);
        assert_eq!(clopper_pearson(n, n, 0.95).unwrap().high, 1.0);
    }
    assert_eq!(wilson(0, 0), None);
    assert_eq!(clopper_pearson(0, 0, 0.95), None);
    assert_eq!(clopper_pearson(1, 2, 1.0), None);
    assert_eq!(zero_events_upper(0, 0.95), None);
    assert_eq!(newcombe_difference((0, 0), (1, 2)), None);
    assert_eq!(missing_bounds(0, 0, 0), None);
}

/// scipy 1.17.1 values printed with four decimals (`small_n_table`); 3/n is near.
#[test]
fn zero_and_one_event_limits() {
    let table = list(&VALUES["small_n_table"]);
    assert_eq!(table.len(), 9);
    for row in table {
        let n = count(&row["n"]);
        let printed = |key: &str| number(&row[key]);
        let none = wilson(0, n).unwrap().high;
        close(
            none,
            printed("zero_events_upper_wilson"),
            FOUR_DECIMALS,
            "Wilson",
        );
        let exact = clopper_pearson(0, n, 0.95).unwrap().high;
        close(
            exact,
            printed("zero_events_upper_cp_two_sided"),
            FOUR_DECIMALS,
            "exact",
        );
        let bound = zero_events_upper(n, 0.95).unwrap();
        close(
            bound,
            printed("zero_events_upper_one_sided95"),
            FOUR_DECIMALS,
            "bound",
        );
        assert!(bound < 3.0 / n as f64);
        close_limits(
            wilson(1, n).unwrap(),
            &row["one_event_wilson"],
            FOUR_DECIMALS,
            "one",
        );
    }
}

/// Newcombe 1998, Stat Med 17:873-890 (published to four decimals) and statsmodels 0.15.0.
#[test]
fn newcombe_differences() {
    let rows = list(&VALUES["newcombe1998b_diff"]);
    assert_eq!(rows.len(), 6);
    for row in rows {
        let pair = |x: &str, n: &str| (count(&row[x]), count(&row[n]));
        let ours = newcombe_difference(pair("x1", "n1"), pair("x2", "n2")).unwrap();
        close_limits(ours.interval, &row["statsmodels"], LIBRARY, "statsmodels");
        if !row["published"].is_null() {
            close_limits(ours.interval, &row["published"], FOUR_DECIMALS, "published");
        }
    }
}

/// statsmodels 0.15.0 `proportion_confint(5, 40, 0.002, "wilson")`.
#[test]
fn wilson_at_another_confidence() {
    let wide = wilson_at(5, 40, Confidence::Percent99_8).unwrap();
    close(wide.low, 0.035_091_091_129_652_56, LIBRARY, "low");
    close(wide.high, 0.359_454_194_260_037_33, LIBRARY, "high");
}

/// Worked by hand: 31 of 58 known, 2 missing.
#[test]
fn missing_cases_bound_the_proportion() {
    let bounds = missing_bounds(31, 58, 2).unwrap();
    assert_eq!((bounds.low, bounds.high), (31.0 / 60.0, 33.0 / 60.0));
}
