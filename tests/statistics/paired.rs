//! Change within the same patients.

use super::reference::{LIBRARY, MORE, VALUES, close, close_limits, count, list, number, numbers};
use valvefolio::cohort::statistics::{hodges_lehmann, mcnemar_exact, mean_change, t_upper};

/// R 4.2.2 `t.test(paired = TRUE)`; Student's sleep data (1908), Darwin's plants, 20 gradients.
#[test]
fn mean_change_equals_r() {
    for name in ["sleep", "darwin", "synthetic_gradient"] {
        let set = &VALUES["paired"][name];
        let change = mean_change(&numbers(&set["diff"])).unwrap();
        close(change.mean, number(&set["mean"]), LIBRARY, name);
        close(change.sd.unwrap(), number(&set["sd"]), LIBRARY, name);
        close_limits(change.interval.unwrap(), &set["ci95"], LIBRARY, name);
    }
}

/// scipy 1.17.1 `t.isf`, degrees of freedom 1 to 99,999.
#[test]
fn t_quantiles_equal_scipy() {
    for row in list(&MORE["t_upper"]) {
        let degrees = count(&row["df"]);
        let ours = t_upper(degrees, number(&row["tail"])).unwrap();
        close(ours, number(&row["t"]), LIBRARY, &format!("df {degrees}"));
    }
    assert_eq!(t_upper(0, 0.025), None);
}

/// R 4.2.2 `wilcox.test(exact = TRUE)` for Darwin's plants (no ties, no zeros): 25 (4 to 41.5).
#[test]
fn hodges_lehmann_equals_r_where_r_is_exact() {
    let set = &VALUES["paired"]["darwin"];
    let ours = hodges_lehmann(&numbers(&set["diff"])).unwrap();
    close(
        ours.estimate,
        number(&set["wilcox_est"]),
        LIBRARY,
        "estimate",
    );
    close_limits(ours.interval.unwrap(), &set["wilcox_ci"], LIBRARY, "limits");
    assert!(ours.exact);
}

/// NumPy 2.4.6: all Walsh averages listed and sorted, ranks counted one by one. With zeros and
/// ties R drops values; here they are kept.
#[test]
fn hodges_lehmann_equals_the_listed_averages() {
    for (name, limits) in VALUES["hl_exact_ci"].as_object().expect("sets") {
        let set = &VALUES["paired"][name];
        let ours = hodges_lehmann(&numbers(&set["diff"])).unwrap();
        close(
            ours.estimate,
            number(&set["hl_walsh_median"]),
            LIBRARY,
            name,
        );
        let interval = ours.interval.unwrap();
        close(interval.low, number(&limits["lo"]), LIBRARY, name);
        close(interval.high, number(&limits["hi"]), LIBRARY, name);
    }
}

/// NumPy 2.4.6 and whole-number rank counts, up to 340 differences. Above 300 the rank limit is
/// the normal one; on these data, resolved to 0.05, it gives the exact limits.
#[test]
fn hodges_lehmann_at_other_sizes() {
    for set in list(&MORE["hodges_lehmann"]) {
        let differences = numbers(&set["differences"]);
        let n = differences.len();
        let ours = hodges_lehmann(&differences).unwrap();
        close(
            ours.estimate,
            number(&set["estimate"]),
            LIBRARY,
            &format!("n {n}"),
        );
        close_limits(
            ours.interval.unwrap(),
            &set["limits"],
            LIBRARY,
            &format!("n {n}"),
        );
        assert_eq!(ours.exact, n <= 300);
    }
}

/// Definition: 2/2^5 is above 0.05, so five differences have no 95 % interval; six have.
#[test]
fn small_samples_have_no_interval() {
    let change = mean_change(&[-30.0]).unwrap();
    assert_eq!(
        (change.mean, change.sd, change.interval),
        (-30.0, None, None)
    );
    assert_eq!(mean_change(&[]), None);
    let same = mean_change(&[-4.0, -4.0, -4.0]).unwrap().interval.unwrap();
    assert_eq!((same.low, same.high), (-4.0, -4.0));

    assert_eq!(hodges_lehmann(&[]), None);
    assert_eq!(
        hodges_lehmann(&[1.0, 2.0, 3.0, 4.0, 5.0]).unwrap().interval,
        None
    );
    let six = hodges_lehmann(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0]).unwrap();
    let interval = six.interval.unwrap();
    assert_eq!((interval.low, six.estimate, interval.high), (1.0, 3.5, 6.0));
}

/// Worked by hand: of 2m + 1 differences −m..m the median average is 0, and the answer comes
/// without listing the five thousand million averages.
#[test]
fn a_hundred_thousand_differences() {
    let differences: Vec<f64> = (-50_000..=50_000).map(f64::from).collect();
    let ours = hodges_lehmann(&differences).unwrap();
    assert_eq!(ours.estimate, 0.0);
    let interval = ours.interval.unwrap();
    // Symmetric data: symmetric limits; their half-width is about 1.96 standard errors, the
    // asymptotic one being 1/√(12 n)/∫f² with f uniform of density 1/100,001.
    assert_eq!(interval.low, -interval.high);
    let expected = 1.959_964 * 100_001.0 / (12.0 * 100_001.0_f64).sqrt();
    assert!((interval.high / expected - 1.0).abs() < 0.01);
}

/// R 4.2.2 `binom.test(4, 19)` and scipy 1.17.1 `binomtest`.
#[test]
fn mcnemar_equals_r_and_scipy() {
    let set = &VALUES["mcnemar"];
    let ours = mcnemar_exact(count(&set["b"]), count(&set["c"])).unwrap();
    close(ours, number(&set["exact_p"]), LIBRARY, "15 and 4");
    for row in list(&MORE["mcnemar"]) {
        let (b, c) = (count(&row["b"]), count(&row["c"]));
        let ours = mcnemar_exact(b, c).unwrap();
        close(ours, number(&row["p"]), LIBRARY, &format!("{b} and {c}"));
    }
    assert_eq!(mcnemar_exact(0, 0), None);
}
