//! Quantiles, mean, standard deviation, percentages.

use super::reference::{LIBRARY, VALUES, close, list, number, numbers};
use valvefolio::cohort::statistics::{mean, percent_tenths, percent_text, quantile, sd, summary};

/// R 4.2.2 `quantile(type = 7)`, `mean`, `sd`; NumPy 2.4.6 "linear" agrees.
#[test]
fn quantiles_mean_and_sd_equal_r() {
    let probabilities = numbers(&VALUES["quantiles"]["probs"]);
    let sets = VALUES["quantiles"]["sets"].as_object().expect("sets");
    assert_eq!(sets.len(), 10);
    for (name, set) in sets {
        let values = numbers(&set["x"]);
        let type_7 = numbers(&set["types"]["type7"]);
        for (p, expected) in probabilities.iter().zip(type_7) {
            close(quantile(&values, *p).unwrap(), expected, LIBRARY, name);
        }
        close(mean(&values).unwrap(), number(&set["mean"]), LIBRARY, name);
        match set["sd"].as_f64() {
            Some(expected) => close(sd(&values).unwrap(), expected, LIBRARY, name),
            None => assert_eq!(sd(&values), None, "{name}"),
        }
        let shown = summary(&values).unwrap();
        close(shown.median, number(&set["median"]), LIBRARY, name);
        // R `fivenum` ends are the smallest and the largest value.
        let ends = numbers(&set["fivenum"]);
        assert_eq!((shown.minimum, shown.maximum), (ends[0], ends[4]), "{name}");
    }
}

/// The quartiles of the 20 gradients (R 4.2.2 and NumPy 2.4.6): 42.75, 48.5, 57.25.
#[test]
fn type_7_is_told_from_type_8() {
    let set = &VALUES["quantiles"]["sets"]["n20_grad"];
    let shown = summary(&numbers(&set["x"])).unwrap();
    let quartiles = shown.quartiles.unwrap();
    assert_eq!(
        (quartiles.low, shown.median, quartiles.high),
        (42.75, 48.5, 57.25)
    );
    assert!((number(&list(&set["types"]["type8"])[3]) - quartiles.low).abs() > 0.3);
}

/// Definition: nothing for no value, no spread for one, no quartiles below five.
#[test]
fn few_values_give_fewer_statistics() {
    assert_eq!(summary(&[]), None);
    assert_eq!(summary(&[1.0, f64::NAN]), None);
    let one = summary(&[7.0]).unwrap();
    assert_eq!(
        (one.n, one.mean, one.sd, one.quartiles),
        (1, 7.0, None, None)
    );
    assert_eq!(summary(&[1.0, 2.0, 3.0, 4.0]).unwrap().quartiles, None);
    assert!(
        summary(&[1.0, 2.0, 3.0, 4.0, 5.0])
            .unwrap()
            .quartiles
            .is_some()
    );
    assert_eq!(quantile(&[1.0, 2.0], 1.5), None);
}

/// Worked by hand: halves go up, as on a pocket calculator. Binary formatting gives 12.2 and 0.2
/// for the first two.
#[test]
fn percentages_round_half_up_from_integers() {
    assert_eq!(percent_tenths(49, 400), Some(123)); // 12.25 %
    assert_eq!(percent_tenths(1, 400), Some(3)); // 0.25 %
    assert_eq!(percent_tenths(1, 800), Some(1)); // 0.125 %
    assert_eq!(percent_tenths(1, 3), Some(333));
    assert_eq!(percent_tenths(2, 3), Some(667));
    assert_eq!(percent_text(31, 58).as_deref(), Some("53"));
    assert_eq!(percent_text(1, 40).as_deref(), Some("3")); // 2.5 %
    assert_eq!(percent_text(99, 99).as_deref(), Some("100"));
    assert_eq!(percent_text(100, 100).as_deref(), Some("100.0"));
    assert_eq!(percent_text(0, 250).as_deref(), Some("0.0"));
    assert_eq!(percent_text(5, 0), None);
    assert_eq!(percent_text(5, 4), None);
}
