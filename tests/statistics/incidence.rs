//! Cumulative incidence with death competing.

use super::reference::{LIBRARY, MORE, VALUES, close, counts, days, defined, list, numbers};
use serde_json::Value;
use valvefolio::cohort::statistics::{Incidence, Outcome, OutcomeTime};

fn incidence(day: &Value, outcome: &Value) -> Incidence {
    let outcomes: Vec<OutcomeTime> = days(day)
        .into_iter()
        .zip(counts(outcome))
        .map(|(day, outcome)| OutcomeTime {
            day,
            outcome: [Outcome::Censored, Outcome::Event, Outcome::Competing][outcome],
        })
        .collect();
    Incidence::new(&outcomes).unwrap()
}

/// R 4.2.2 `survival` 3.5-3, multi-state `survfit`: incidences, numbers at risk and standard
/// errors of boot::melanoma (205) and of twelve tied cases; cmprsk 2.2-11 agrees on incidences.
#[test]
fn incidences_equal_r() {
    for (name, set) in VALUES["aj"].as_object().expect("sets") {
        let ours = incidence(&set["time"], &set["event"]);
        let at = &set["at"];
        let (cif_1, cif_2) = (numbers(&at["cif1"]), numbers(&at["cif2"]));
        let (free, error) = (numbers(&at["event_free"]), numbers(&at["se1_survival_IJ"]));
        let at_risk = counts(&at["n_risk"]);
        for (i, day) in days(&at["times"]).into_iter().enumerate() {
            let what = format!("{name}, day {day}");
            let point = ours.at(day).unwrap();
            close(point.incidence, cif_1[i], LIBRARY, &what);
            close(point.competing, cif_2[i], LIBRARY, &what);
            close(point.event_free, free[i], LIBRARY, &what);
            close(point.standard_error, error[i], LIBRARY, &what);
            assert_eq!(point.at_risk, at_risk[i], "{what}");
        }
    }
}

/// NumPy script with R's standard errors: limits I^exp(±z·SE/(I·|ln I|)).
#[test]
fn log_log_limits_equal_the_script() {
    for (name, set) in VALUES["aj_delta"].as_object().expect("sets") {
        let ours = incidence(&VALUES["aj"][name]["time"], &VALUES["aj"][name]["event"]);
        let (low, high) = (numbers(&set["loglog_lo"]), numbers(&set["loglog_hi"]));
        for (i, day) in days(&set["times"]).into_iter().enumerate() {
            let interval = ours.at(day).unwrap().interval.unwrap();
            close(interval.low, low[i], LIBRARY, name);
            close(interval.high, high[i], LIBRARY, name);
        }
    }
}

/// statsmodels 0.15.0 `CumIncidenceRight` on three generated sets with ties of all kinds.
#[test]
fn tied_cases_equal_statsmodels() {
    for set in list(&MORE["competing_tied"]) {
        let ours = incidence(&set["day"], &set["outcome"]);
        let (cif_1, cif_2) = (numbers(&set["cif1"]), numbers(&set["cif2"]));
        for (i, day) in days(&set["times"]).into_iter().enumerate() {
            let point = ours.at(day).unwrap();
            let what = format!("n {}, day {day}", ours.n());
            close(point.incidence, cif_1[i], LIBRARY, &what);
            close(point.competing, cif_2[i], LIBRARY, &what);
        }
    }
}

/// lifelines 0.30.3 `AalenJohansenFitter` on two generated sets without ties: standard errors.
#[test]
fn standard_errors_equal_lifelines() {
    for set in list(&MORE["competing_untied"]) {
        let ours = incidence(&set["day"], &set["outcome"]);
        let (cif, error) = (numbers(&set["cif1"]), defined(&set["se1"]));
        let steps: Vec<u32> = ours.step_days().collect();
        assert_eq!(steps, days(&set["times"]));
        for (i, day) in steps.into_iter().enumerate() {
            let point = ours.at(day).unwrap();
            close(point.incidence, cif[i], LIBRARY, "incidence");
            // Undefined there once the last case at risk has an event.
            if let Some(error) = error[i] {
                close(point.standard_error, error, LIBRARY, "error");
            }
        }
    }
}

/// R: 1 − Kaplan-Meier with deaths censored is too high (melanoma, 3652 days: .3551 for .3387).
#[test]
fn competing_deaths_lower_the_incidence() {
    let at = &VALUES["aj"]["melanoma"]["at"];
    let naive = numbers(&at["naive_1minusKM"]);
    let ours = incidence(
        &VALUES["aj"]["melanoma"]["time"],
        &VALUES["aj"]["melanoma"]["event"],
    );
    for (i, day) in days(&at["times"]).into_iter().enumerate() {
        assert!(ours.at(day).unwrap().incidence < naive[i]);
    }
}

/// Definition: nothing without cases, no limits at 0 and at 1, nothing once nobody is at risk.
#[test]
fn edges() {
    assert_eq!(Incidence::new(&[]), None);
    let case = |day, outcome| OutcomeTime { day, outcome };
    let quiet = Incidence::new(&[case(3, Outcome::Censored), case(9, Outcome::Competing)]).unwrap();
    let point = quiet.at(9).unwrap();
    assert_eq!((point.incidence, point.interval), (0.0, None));
    assert_eq!((point.competing, point.event_free), (1.0, 0.0));
    assert_eq!(quiet.at(10), None);

    let certain = Incidence::new(&[case(2, Outcome::Event); 3]).unwrap();
    let point = certain.at(2).unwrap();
    assert_eq!(
        (point.incidence, point.interval, point.events),
        (1.0, None, 3)
    );
    assert_eq!(certain.at(1).unwrap().at_risk, 3);

    // Both on day 0, everybody at risk: half each, with limits.
    let split = Incidence::new(&[case(0, Outcome::Event), case(0, Outcome::Competing)]).unwrap();
    let point = split.at(0).unwrap();
    assert_eq!(
        (point.incidence, point.competing, point.event_free),
        (0.5, 0.5, 0.0)
    );
    assert!(point.interval.unwrap().contains(0.5));
}

/// scikit-survival 0.28.0 for the incidences; for the standard errors the infinitesimal jackknife, which R's multi-state
/// `survfit` gives, by complex steps in `scripts/edges.py`: all three outcomes at one time, on day 0, one of them alone,
/// the last observation an event, heavy ties.
#[test]
fn edges_equal_the_library_and_the_jackknife() {
    let sets = MORE["edge_competing"].as_object().expect("sets");
    assert_eq!(sets.len(), 10);
    for (name, set) in sets {
        let ours = incidence(&set["day"], &set["outcome"]);
        for row in list(&set["curve"]) {
            let day = row["day"].as_u64().expect("a day") as u32;
            let point = ours.at(day).unwrap();
            let what = format!("{name}, day {day}");
            let theirs = |key: &str| row[key].as_f64().expect("a number");
            close(point.incidence, theirs("cif1"), LIBRARY, &what);
            close(point.competing, theirs("cif2"), LIBRARY, &what);
            close(point.standard_error, theirs("se1"), LIBRARY, &what);
            let sum = point.incidence + point.competing + point.event_free;
            close(sum, 1.0, LIBRARY, &what);
        }
    }
}
