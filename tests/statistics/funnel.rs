//! Funnel limits, exact flags and critical counts.

use super::reference::{LIBRARY, VALUES, close, count, list, number, numbers, series};
use valvefolio::cohort::statistics::{
    Confidence, CountDistribution, Predicted, Standing, chance_of_flag, critical_counts,
    critical_counts_at, funnel_applies, funnel_limits, interpolated_count, standing,
};

/// R 4.2.2 `qbinom` and `pbinom`; scipy 1.17.1 agrees to 7e-15. Seven benchmarks, 13 sizes.
#[test]
fn interpolated_binomial_limits_equal_r() {
    let grid = list(&VALUES["funnel_binomial"]);
    assert_eq!(grid.len(), 91);
    for row in grid {
        let (n, theta) = (count(&row["n"]), number(&row["theta"]));
        let expected = CountDistribution::binomial(n, theta).unwrap();
        let (p, r, limit) = (
            numbers(&row["p"]),
            numbers(&row["r"]),
            numbers(&row["interp"]),
        );
        for i in 0..4 {
            let what = format!("theta {theta}, n {n}, p {}", p[i]);
            assert_eq!(expected.quantile(p[i]) as f64, r[i], "{what}");
            let ours = interpolated_count(&expected, p[i]) / n as f64;
            close(ours, limit[i], LIBRARY, &what);
        }
        let drawn = funnel_limits(n, theta, Confidence::Percent99_8).unwrap();
        close(drawn.low, limit[0].clamp(0.0, 1.0), LIBRARY, "drawn low");
        close(drawn.high, limit[3].clamp(0.0, 1.0), LIBRARY, "drawn high");
    }
}

/// R 4.2.2 `qpois` and `ppois`, on the O/E scale.
#[test]
fn interpolated_poisson_limits_equal_r() {
    for row in list(&VALUES["funnel_poisson_OE"]) {
        let e = number(&row["E"]);
        let expected = CountDistribution::poisson(e).unwrap();
        let (p, r, limit) = (
            numbers(&row["p"]),
            numbers(&row["r"]),
            numbers(&row["interp_OE"]),
        );
        for i in 0..4 {
            assert_eq!(expected.quantile(p[i]) as f64, r[i], "E {e}");
            close(
                interpolated_count(&expected, p[i]) / e,
                limit[i],
                LIBRARY,
                &format!("E {e}"),
            );
        }
    }
}

/// scipy 1.17.1 `binom.sf` and `binom.cdf`: smallest and largest count with tail at most p.
#[test]
fn critical_counts_equal_scipy() {
    let grid = list(&VALUES["funnel_critical_counts"]);
    assert_eq!(grid.len(), 91);
    for row in grid {
        let (n, theta) = (count(&row["n"]), number(&row["theta"]));
        let expected = CountDistribution::binomial(n, theta).unwrap();
        for (confidence, p) in [
            (Confidence::Percent95, "0.025"),
            (Confidence::Percent99_8, "0.001"),
        ] {
            let ours = critical_counts(&expected, confidence);
            let theirs = |side: &str| {
                row[format!("{side}_count_p{p}")]
                    .as_u64()
                    .map(|c| c as usize)
            };
            assert_eq!(ours.high, theirs("upper"), "theta {theta}, n {n}, p {p}");
            assert_eq!(ours.low, theirs("lower"), "theta {theta}, n {n}, p {p}");
        }
    }
}

/// Definition: the line is drawn half a case inside the critical count, so line and flag agree.
#[test]
fn line_and_flag_agree() {
    for n in [1, 8, 40, 200] {
        for theta in [0.02, 0.15, 0.5] {
            let expected = CountDistribution::binomial(n, theta).unwrap();
            let limits = critical_counts(&expected, Confidence::Percent99_8);
            for x in 0..=n {
                let rate = x as f64 / n as f64;
                let above = limits.upper_line(n as f64).is_some_and(|line| rate > line);
                let below = limits.lower_line(n as f64).is_some_and(|line| rate < line);
                let flag = standing(&expected, x);
                assert_eq!(above, flag == Standing::FarAbove, "{x} of {n} at {theta}");
                assert_eq!(below, flag == Standing::FarBelow, "{x} of {n} at {theta}");
                assert_eq!(above, expected.at_least(x) <= 0.001 && x > 0);
            }
        }
    }
}

/// An exact tie counts as outside: 0.1³ is 0.001, the tail asked for (worked by hand).
#[test]
fn a_tail_equal_to_the_limit_is_outside() {
    let expected = CountDistribution::binomial(3, 0.1).unwrap();
    assert_eq!(standing(&expected, 3), Standing::FarAbove);
    // R and scipy: the median of one toss of a coin is 0.
    assert_eq!(
        CountDistribution::binomial(1, 0.5).unwrap().quantile(0.5),
        0
    );
}

/// R package PoissonBinomial 1.2.5: P(12 or more) is 0.0129 in the series, inside 99.8 % and
/// outside 95 %.
#[test]
fn unequal_risks_give_their_own_flag() {
    let risks: Vec<f64> = series().iter().map(Predicted::risk).collect();
    let expected = CountDistribution::unequal(&risks).unwrap();
    assert_eq!(standing(&expected, 12), Standing::Above);
    let reference = number(&VALUES["ra_series"]["pbinom_tail"]["p_ge_O"]);
    assert_eq!(
        critical_counts_at(&expected, reference + 1e-9).high,
        Some(12)
    );
    assert_eq!(
        critical_counts_at(&expected, reference - 1e-9).high,
        Some(13)
    );
}

/// scipy 1.17.1 `binom.sf`, benchmark 3 %, true rate 6 % (printed with four decimals).
#[test]
fn chance_of_noticing_a_doubled_rate() {
    for row in list(&VALUES["small_n_table"]) {
        let n = count(&row["n"]);
        let expected = CountDistribution::binomial(n, 0.03).unwrap();
        let look = critical_counts(&expected, Confidence::Percent95).high;
        let flag = critical_counts(&expected, Confidence::Percent99_8).high;
        assert_eq!(look, Some(count(&row["flag97_5_at_3pct"])));
        assert_eq!(flag, Some(count(&row["flag99_9_at_3pct"])));
        let power = chance_of_flag(n, 0.03, 0.06).unwrap();
        close(power, number(&row["power99_9_if_6pct"]), 5e-5, "power");
    }
}

/// Definition: a table instead of a funnel for fewer than five groups or only small ones.
#[test]
fn few_or_small_groups_get_a_table() {
    assert!(funnel_applies(&[10, 3, 4, 5, 6]));
    assert!(!funnel_applies(&[40, 30, 50, 20]));
    assert!(!funnel_applies(&[9, 9, 9, 9, 9, 9]));
    assert!(
        !funnel_applies(&[40, 30, 50, 20, 0]),
        "a group without cases is only listed"
    );
    assert_eq!(funnel_limits(0, 0.03, Confidence::Percent95), None);
    assert_eq!(funnel_limits(10, 1.5, Confidence::Percent95), None);
}
