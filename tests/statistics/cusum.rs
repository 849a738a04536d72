//! Risk-adjusted CUSUM: weights, line, limits, run length, power.

use super::reference::{LIBRARY, VALUES, close, count, counts, list, number, numbers, series};
use valvefolio::cohort::statistics::{
    ALARM, ALERT, NoLimit, Predicted, average_run_length, cusum_path, cusum_path_restarting,
    cusum_weight, first_signal, least_limit, limit_for, signal_limit, signal_probability,
    signal_probability_by_case,
};

/// The limits and powers of the default chart are tabulated from a coarser grid.
const TABLE: f64 = 0.003;

fn series_risks() -> Vec<f64> {
    series().iter().map(Predicted::risk).collect()
}

/// Steiner et al. 2000, Biostatistics 1:441-452, p. 446 (logit p = −3.68 + 0.077·score), printed
/// to two or three digits, and Steiner 2014 for improvement; R package vlad 0.2.2 in full.
#[test]
fn published_weights() {
    let reference = &VALUES["racusum_published"]["steiner2000"];
    let published = list(&reference["published"]);
    let half = numbers(&reference["published_half"]);
    let in_full = numbers(&reference["vlad"]);
    let half_in_full = numbers(&reference["vlad_half"]);
    for (i, row) in published.iter().enumerate() {
        let logit = -3.68 + 0.077 * number(&row["s"]);
        let case = Predicted::new(1.0 / (1.0 + (-logit).exp()), count(&row["y"]) == 1).unwrap();
        let worse = cusum_weight(case, 2.0);
        let better = cusum_weight(case, 0.5);
        assert!((worse - number(&row["w"])).abs() < 0.005);
        assert!((better - half[i]).abs() < 0.0005);
        close(worse, in_full[i], LIBRARY, "doubled");
        close(better, half_in_full[i], LIBRARY, "halved");
    }
}

/// R packages vlad 0.2.2 and cusum 0.4.1 on the synthetic series.
#[test]
fn line_of_the_series_equals_r() {
    let reference = &VALUES["ra_series"];
    let cases = series();
    let up = cusum_path(&cases, 2.0);
    let down = cusum_path(&cases, 0.5);
    let (w_up, w_down) = (numbers(&reference["w_up"]), numbers(&reference["w_dn"]));
    let (s_up, s_down) = (numbers(&reference["S_up"]), numbers(&reference["S_dn"]));
    for (i, &case) in cases.iter().enumerate() {
        close(cusum_weight(case, 2.0), w_up[i], LIBRARY, "weight, worse");
        close(
            cusum_weight(case, 0.5),
            w_down[i],
            LIBRARY,
            "weight, better",
        );
        close(up[i], s_up[i], LIBRARY, "line, worse");
        close(down[i], s_down[i], LIBRARY, "line, better");
    }
    // Signals by the R values: cases 97, 132, 134 and 156.
    for (limit, case) in [(1.6664, 97), (2.3898, 132), (2.9053, 134), (3.8947, 156)] {
        assert_eq!(first_signal(&up, limit), Some(case - 1));
    }
    assert_eq!(first_signal(&up, 10.0), None);
}

/// R package cusum 0.4.1 `racusum(reset = TRUE)` with limit 2, which prints 0 at the signal; here
/// the signalling case keeps its value.
#[test]
fn restarting_line_equals_r() {
    let reference = &VALUES["ra_series"]["reset_h2"];
    let ours = cusum_path_restarting(&series(), 2.0, number(&reference["h"]));
    let signals: Vec<usize> = (0..ours.len())
        .filter(|&i| ours[i] > 2.0)
        .map(|i| i + 1)
        .collect();
    assert_eq!(signals, counts(&reference["signal_at"]));
    for (i, expected) in numbers(&reference["ct"]).into_iter().enumerate() {
        if !signals.contains(&(i + 1)) {
            close(ours[i], expected, LIBRARY, &format!("case {}", i + 1));
        }
    }
}

/// NumPy script: the same grid of 1000 cells, the range halved 40 times.
#[test]
fn limits_for_the_case_mix_equal_halving() {
    let risks = series_risks();
    for row in list(&VALUES["racusum_h_given_case_mix"]) {
        let window = &risks[..count(&row["N"])];
        let ours = limit_for(window, 2.0, number(&row["alpha"]));
        close(ours, number(&row["h"]), LIBRARY, "limit");
    }
}

/// NumPy script: 200,000 simulated series (four standard errors), and a grid of 2000 cells.
#[test]
fn false_signals_equal_simulation() {
    let risks = series_risks();
    for row in list(&VALUES["racusum_false_signal_given_case_mix"]) {
        let by_case = signal_probability_by_case(&risks, 2.0, 1.0, number(&row["h"]));
        let (grid, simulated) = (numbers(&row["grid"]), numbers(&row["sim"]));
        for (i, n) in counts(&row["N"]).into_iter().enumerate() {
            let ours = by_case[n - 1];
            let error = (simulated[i] * (1.0 - simulated[i]) / 200_000.0).sqrt();
            assert!(
                (ours - simulated[i]).abs() < 4.0 * error + 1e-4,
                "{ours} {}",
                simulated[i]
            );
            close(ours, grid[i], 5e-4, "finer grid");
        }
    }
}

/// NumPy script: limits and power for the mix of 20 risks, windows of 20 to 400 cases.
#[test]
fn default_limits_and_power() {
    let mix = numbers(&VALUES["racusum_limits_mc"]["mixes"]["tavi_like"]["p"]);
    let rows = list(&VALUES["racusum_default_limits_and_power_tavi_like"]["rows"]);
    assert_eq!(rows.len(), 14);
    for row in rows {
        let n = count(&row["N"]);
        let alpha = number(&row["alpha"]);
        let what = format!("N {n}, {alpha}");
        let risks: Vec<f64> = (0..n).map(|i| mix[(7 * i) % 20]).collect();
        close(risks.iter().sum(), number(&row["E"]), LIBRARY, &what);
        let limit = limit_for(&risks, 2.0, alpha);
        assert!(
            (limit - number(&row["h"])).abs() <= TABLE,
            "{what}: {limit}"
        );
        for (multiplier, key) in [
            (1.0, "P_signal_OR1"),
            (2.0, "P_signal_OR2"),
            (3.0, "P_signal_OR3"),
        ] {
            let ours = signal_probability(&risks, 2.0, multiplier, limit);
            assert!(
                (ours - number(&row[key])).abs() <= TABLE,
                "{what} {key}: {ours}"
            );
        }
        // The windows of at least one expected death get exactly this limit and power.
        match signal_limit(&risks, alpha) {
            Ok(shown) => {
                assert_eq!(shown.limit, limit);
                assert!((shown.power_doubled - number(&row["P_signal_OR2"])).abs() <= TABLE);
                assert!((shown.power_tripled - number(&row["P_signal_OR3"])).abs() <= TABLE);
            }
            Err(reason) => assert_eq!((n, reason), (20, NoLimit::TooFewExpected)),
        }
    }
}

/// The risks of a mix, each repeated by its weight (equal, or a share of 1,766 cases).
fn mix_risks(name: &serde_json::Value) -> Vec<f64> {
    let mix = &VALUES["racusum_limits_mc"]["mixes"][name.as_str().expect("a mix")];
    let (risks, shares) = (numbers(&mix["p"]), numbers(&mix["f"]));
    let equal = shares.iter().all(|share| *share == shares[0]);
    let repeats = |share: f64| {
        if equal {
            1
        } else {
            (share * 1766.0).round() as usize
        }
    };
    risks
        .iter()
        .zip(shares)
        .flat_map(|(&risk, share)| std::iter::repeat_n(risk, repeats(share)))
        .collect()
}

/// R package vlad 0.2.2, Markov chain with weights rounded to 1/600: mean cases to a signal for
/// its limits, seven mixes, both directions, odds unchanged and changed. Mixed risks agree within
/// 0.5 %; with one constant risk the line takes few values and rounding them matters more (3 %).
/// Limits below the least one, where a single death decides, are left out.
#[test]
fn run_lengths_equal_markov_chain() {
    let mut compared = 0;
    for row in list(&VALUES["racusum_limits_mc"]["table"]) {
        let odds = number(&row["RA"]);
        let Some(h) = row["h"].as_f64().filter(|&h| h > least_limit(odds)) else {
            continue;
        };
        let risks = mix_risks(&row["mix"]);
        let tolerance = if risks.len() > 1 { 0.005 } else { 0.03 };
        for (multiplier, key) in [(1.0, "arl0_check"), (odds, "arl1_at_RA")] {
            let ours = average_run_length(&risks, odds, multiplier, h);
            let off = (ours / number(&row[key]) - 1.0).abs();
            assert!(off < tolerance, "{} {odds} {h} {key}: {ours}", row["mix"]);
        }
        compared += 1;
    }
    assert!(compared >= 80, "{compared}");
}

/// NumPy simulation of 20,000 series (10,000 with doubled odds): four standard errors.
#[test]
fn run_lengths_equal_simulation() {
    for row in list(&VALUES["racusum_arl_sim"]) {
        let risks = mix_risks(&row["mix"]);
        let h = number(&row["h"]);
        let false_signal = average_run_length(&risks, 2.0, 1.0, h);
        let off = (false_signal - number(&row["sim_arl0"])).abs();
        assert!(
            off < 4.0 * number(&row["se"]),
            "{}: {false_signal}",
            row["mix"]
        );
        // Run lengths are spread about as widely as their mean: its error is a hundredth of it.
        let true_signal = average_run_length(&risks, 2.0, 2.0, h);
        let simulated = number(&row["sim_arl1"]);
        assert!(
            (true_signal / simulated - 1.0).abs() < 0.04,
            "{}: {true_signal}",
            row["mix"]
        );
    }
}

/// Definition: fewer than 20 cases or less than one expected death draw no limit, and one death
/// alone never signals.
#[test]
fn limits_are_withheld_or_raised() {
    assert_eq!(signal_limit(&[0.2; 19], ALERT), Err(NoLimit::TooFewCases));
    assert_eq!(
        signal_limit(&[0.04; 20], ALERT),
        Err(NoLimit::TooFewExpected)
    );
    assert_eq!(signal_limit(&[], ALARM), Err(NoLimit::TooFewCases));
    close(least_limit(2.0), 0.703, 5e-4, "least limit");
    // All but certain deaths hardly move the line: the limit is the least one.
    let shown = signal_limit(&[0.97; 30], ALERT).unwrap();
    assert_eq!(shown.limit, least_limit(2.0));
    let (alert, alarm) = (
        signal_limit(&[0.05; 100], ALERT),
        signal_limit(&[0.05; 100], ALARM),
    );
    assert!(alert.unwrap().limit < alarm.unwrap().limit);
}
