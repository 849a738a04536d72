//! Run chart rules and exact limits per quarter.

use super::reference::{LIBRARY, VALUES, close, count, counts, list, number, numbers};
use valvefolio::cohort::statistics::{
    CountDistribution, QUARTER_TAIL, baseline_rate, quarter_limits, run_chart, run_limits,
};

/// qicharts2 0.8.1 (R): limits for 10 to 60 useful points.
#[test]
fn run_limits_equal_r() {
    let table = list(&VALUES["runchart_limits"]);
    assert_eq!(table.len(), 51);
    for row in table {
        let expected = (count(&row["longest_max"]), count(&row["crossings_min"]));
        assert_eq!(run_limits(count(&row["n"])), expected);
    }
}

/// qicharts2 0.8.1 (R) on 20 points.
#[test]
fn run_chart_equals_r() {
    let example = &VALUES["runchart_example"];
    let theirs = &example["qicharts2"];
    let ours = run_chart(&numbers(&example["y"])).unwrap();
    assert_eq!(ours.median, 5.0);
    assert_eq!(ours.useful, count(&theirs["n.useful"]));
    assert_eq!(ours.longest_run, count(&theirs["longest.run"]));
    assert_eq!(ours.crossings, count(&theirs["n.crossings"]));
    let rules = ours.rules.unwrap();
    assert_eq!(rules.longest_allowed, count(&theirs["longest.run.max"]));
    assert_eq!(rules.crossings_needed, count(&theirs["n.crossings.min"]));
    assert_eq!(Some(rules.signal()), theirs["runs.signal"].as_bool());
}

/// Definition: below ten useful points nothing is said.
#[test]
fn few_points_say_nothing() {
    assert_eq!(run_chart(&[]), None);
    let level = run_chart(&[2.0; 15]).unwrap();
    assert_eq!(
        (level.useful, level.longest_run, level.crossings),
        (0, 0, 0)
    );
    assert_eq!(level.rules, None);
    let nine: Vec<f64> = (0..9).map(f64::from).collect();
    assert_eq!(run_chart(&nine).unwrap().rules, None);
    let ten: Vec<f64> = (0..10).map(f64::from).collect();
    assert!(run_chart(&ten).unwrap().rules.unwrap().few_crossings);
}

/// R 4.2.2 `qbinom` and `pbinom` at 0.00135 and 0.99865, pooled rate of ten quarters
/// (qicharts2 0.8.1 for the centre line).
#[test]
fn quarters_equal_r() {
    let example = &VALUES["pchart_example"];
    let (y, n) = (counts(&example["y"]), counts(&example["n"]));
    let quarters: Vec<(usize, usize)> = y.iter().copied().zip(n.iter().copied()).collect();
    let baseline = baseline_rate(&quarters).unwrap();
    close(
        baseline,
        number(&example["p"]["cl"]),
        LIBRARY,
        "centre line",
    );
    let exact = &example["exact"];
    let (low, high) = (numbers(&exact["lo"]), numbers(&exact["hi"]));
    let (as_many, as_few) = (numbers(&exact["p_ge"]), numbers(&exact["p_le"]));
    for (i, &(x, n)) in quarters.iter().enumerate() {
        let expected = CountDistribution::binomial(n, baseline).unwrap();
        close(expected.at_least(x), as_many[i], LIBRARY, "as many");
        close(expected.at_most(x), as_few[i], LIBRARY, "as few");
        let share = |q: usize| q as f64 / n as f64;
        close(
            share(expected.quantile(QUARTER_TAIL)),
            low[i],
            LIBRARY,
            "low",
        );
        close(
            share(expected.quantile(1.0 - QUARTER_TAIL)),
            high[i],
            LIBRARY,
            "high",
        );
        // The critical count is one beyond R's quantile, so the line lies half a case above it.
        let limits = quarter_limits(n, baseline).unwrap();
        close(
            limits.upper_line.unwrap(),
            high[i] + 0.5 / n as f64,
            LIBRARY,
            "line",
        );
        assert_eq!(limits.lower_line, None, "no count is low enough at 5 %");
    }
    assert_eq!(baseline_rate(&[]), None);
    assert_eq!(quarter_limits(0, 0.05), None);
}
