//! Kaplan-Meier curves.

use super::reference::{
    LIBRARY, MORE, VALUES, close, counts, days, defined, list, number, numbers,
};
use serde_json::Value;
use valvefolio::cohort::statistics::{FollowUp, Interval, Survival};

fn curve(day: &Value, event: &Value) -> Survival {
    let follow_ups: Vec<FollowUp> = days(day)
        .into_iter()
        .zip(counts(event))
        .map(|(day, event)| FollowUp {
            day,
            event: event == 1,
        })
        .collect();
    Survival::new(&follow_ups).unwrap()
}

#[track_caller]
fn close_if_defined(ours: Option<Interval>, low: Option<f64>, high: Option<f64>, what: &str) {
    match (ours, low, high) {
        (Some(ours), Some(low), Some(high)) => {
            close(ours.low, low, LIBRARY, what);
            close(ours.high, high, LIBRARY, what);
        }
        (ours, low, high) => assert_eq!((ours, low, high), (None, None, None), "{what}"),
    }
}

/// R 4.2.2 `survival` 3.5-3, `survfit(conf.type = "log-log")`: the leukaemia trial of Freireich
/// 1963, `aml`, and five edge sets; every step of every curve.
#[test]
fn curves_equal_r() {
    let sets = VALUES["km"].as_object().expect("sets");
    assert_eq!(sets.len(), 9);
    for (name, set) in sets {
        let ours = curve(&set["time"], &set["status"]);
        let theirs = &set["curve"];
        let time = numbers(&theirs["time"]);
        assert_eq!(ours.steps().len(), time.len(), "{name}");
        let (at_risk, events) = (counts(&theirs["n_risk"]), counts(&theirs["n_event"]));
        let (censored, survival) = (counts(&theirs["n_censor"]), numbers(&theirs["surv"]));
        let error = defined(&per_step(&theirs["se_greenwood"], time.len()));
        let low = defined(&per_step(&theirs["loglog_lo"], time.len()));
        let high = defined(&per_step(&theirs["loglog_hi"], time.len()));
        for (i, step) in ours.steps().iter().enumerate() {
            let what = format!("{name}, time {}", time[i]);
            assert_eq!(f64::from(step.day), time[i], "{what}");
            assert_eq!(
                (step.at_risk, step.events, step.censored),
                (at_risk[i], events[i], censored[i]),
                "{what}"
            );
            close(step.survival, survival[i], LIBRARY, &what);
            match error[i] {
                Some(error) => close(step.standard_error.unwrap(), error, LIBRARY, &what),
                None => assert_eq!(step.standard_error, None, "{what}"),
            }
            close_if_defined(step.interval, low[i], high[i], &what);
        }
    }
}

/// A one-point curve is written as scalars, an undefined one as null.
fn per_step(value: &Value, steps: usize) -> Value {
    if value.is_null() {
        return Value::Array(vec![Value::Null; steps]);
    }
    value.clone()
}

/// R `summary(survfit, times)`: survival, number at risk and limits on asked days. Before the
/// first event R prints 1 and 1 as limits; here there are none, as on R's curve.
#[test]
fn asked_days_equal_r() {
    for (name, set) in VALUES["km"].as_object().expect("sets") {
        let ours = curve(&set["time"], &set["status"]);
        let at = &set["at"];
        let (at_risk, survival) = (counts(&at["n_risk"]), numbers(&at["surv"]));
        let (low, high) = (defined(&at["lo"]), defined(&at["hi"]));
        for (i, day) in days(&at["times"]).into_iter().enumerate() {
            let what = format!("{name}, day {day}");
            let point = ours.at(day).unwrap();
            assert_eq!(point.at_risk, at_risk[i], "{what}");
            close(point.survival, survival[i], LIBRARY, &what);
            if survival[i] == 1.0 {
                assert_eq!((point.interval, point.events), (None, 0), "{what}");
            } else {
                close_if_defined(point.interval, low[i], high[i], &what);
            }
        }
    }
}

/// R `summary(survfit)$table`: median and its limits; NA is "not reached".
#[test]
fn medians_equal_r() {
    for (name, set) in VALUES["km"].as_object().expect("sets") {
        let ours = curve(&set["time"], &set["status"]).median();
        let theirs = defined(&set["median"]);
        assert_eq!(vec![ours.estimate, ours.low, ours.high], theirs, "{name}");
    }
}

/// lifelines 0.30.3: five generated sets with many ties, some on day 0; curve, limits, medians
/// and median follow-up.
#[test]
fn curves_with_many_ties_equal_lifelines() {
    for set in list(&MORE["kaplan_meier"]) {
        let ours = curve(&set["day"], &set["event"]);
        let rows = list(&set["curve"]);
        assert_eq!(ours.steps().len(), rows.len());
        for (step, row) in ours.steps().iter().zip(&rows) {
            let what = format!("n {}, day {}", ours.n(), step.day);
            assert_eq!(
                vec![step.day as usize, step.at_risk, step.events, step.censored],
                ["day", "at_risk", "events", "censored"].map(|key| number(&row[key]) as usize),
                "{what}"
            );
            close(step.survival, number(&row["survival"]), LIBRARY, &what);
            if let Some(interval) = step.interval {
                close(interval.low, number(&row["low"]), LIBRARY, &what);
                close(interval.high, number(&row["high"]), LIBRARY, &what);
            }
        }
        assert_eq!(ours.median().estimate, set["median"].as_f64());
        assert_eq!(
            ours.reverse().median().estimate,
            set["reverse_median"].as_f64()
        );
    }
}

/// Definition: none without patients; no estimate on a day nobody reached.
#[test]
fn a_curve_is_not_extended() {
    assert_eq!(Survival::new(&[]), None);
    let ours = curve(
        &serde_json::json!([10, 20, 30]),
        &serde_json::json!([1, 0, 0]),
    );
    assert!(ours.at(30).is_some());
    assert_eq!(ours.at(31), None);
    let dead = curve(&serde_json::json!([5, 9]), &serde_json::json!([1, 1]));
    let last = dead.at(9).unwrap();
    assert_eq!((last.survival, last.interval, last.at_risk), (0.0, None, 1));
    assert_eq!(dead.at(10), None);
    let procedural = curve(
        &serde_json::json!([0, 0, 40]),
        &serde_json::json!([1, 0, 0]),
    );
    let first = procedural.at(0).unwrap();
    assert_eq!((first.at_risk, first.events), (3, 1));
    close(first.survival, 2.0 / 3.0, LIBRARY, "day 0");
}

/// Worked by hand: with days 1 to 12, ten patients are still at risk on day 3.
#[test]
fn a_drawn_curve_ends_where_few_remain() {
    let day: Vec<u32> = (1..=12).collect();
    let ours = curve(&serde_json::json!(day), &serde_json::json!(vec![0; 12]));
    assert_eq!(ours.shown_until(10), Some(3));
    assert_eq!(ours.at_risk(3), 10);
    assert_eq!(ours.shown_until(13), None);
    assert_eq!(ours.shown_until(1), Some(12));
}

/// lifelines 0.30.3 and scikit-survival 0.28.0, which agree with each other: events and censorings at one time, events on
/// day 0, nobody and everybody dead, the last observation an event, one patient, heavy ties, fractions of a month.
#[test]
fn edges_equal_two_libraries() {
    let sets = MORE["edge_kaplan_meier"].as_object().expect("sets");
    assert_eq!(sets.len(), 13);
    for (name, set) in sets {
        let ours = curve(&set["day"], &set["event"]);
        let rows = list(&set["curve"]);
        assert_eq!(ours.steps().len(), rows.len(), "{name}");
        for (step, row) in ours.steps().iter().zip(&rows) {
            let what = format!("{name}, time {}", step.day);
            assert_eq!(
                vec![step.day as usize, step.at_risk, step.events, step.censored],
                ["day", "at_risk", "events", "censored"].map(|key| number(&row[key]) as usize),
                "{what}"
            );
            close(step.survival, number(&row["survival"]), LIBRARY, &what);
            close_if_defined(
                step.interval,
                row["low"].as_f64(),
                row["high"].as_f64(),
                &what,
            );
        }
    }
}
