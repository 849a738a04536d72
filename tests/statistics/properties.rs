//! What must hold for any data.

use proptest::prelude::*;
use valvefolio::cohort::statistics::{
    FollowUp, Incidence, Outcome, OutcomeTime, Predicted, Survival, calibration, clopper_pearson,
    hodges_lehmann, mean_change, newcombe_difference, observed_expected, poisson_limits, summary,
    wilson,
};

/// A list and the same list in another order.
fn reordered<T: Clone + std::fmt::Debug>(
    items: impl Strategy<Value = Vec<T>>,
) -> impl Strategy<Value = (Vec<T>, Vec<T>)> {
    items.prop_flat_map(|items| (Just(items.clone()), Just(items).prop_shuffle()))
}

fn follow_ups() -> impl Strategy<Value = Vec<FollowUp>> {
    let one = (0_u32..40, any::<bool>()).prop_map(|(day, event)| FollowUp { day, event });
    proptest::collection::vec(one, 1..60)
}

fn outcomes() -> impl Strategy<Value = Vec<OutcomeTime>> {
    let outcome = prop_oneof![
        Just(Outcome::Censored),
        Just(Outcome::Event),
        Just(Outcome::Competing)
    ];
    let one = (0_u32..40, outcome).prop_map(|(day, outcome)| OutcomeTime { day, outcome });
    proptest::collection::vec(one, 1..60)
}

fn cases() -> impl Strategy<Value = Vec<Predicted>> {
    let one = (0.0_f64..=1.0, any::<bool>())
        .prop_map(|(risk, died)| Predicted::new(risk, died).expect("a risk within 0 to 1"));
    proptest::collection::vec(one, 0..50)
}

/// Tenths, as gradients are written, so that ties happen.
fn differences() -> impl Strategy<Value = Vec<f64>> {
    proptest::collection::vec(
        (-600_i32..200).prop_map(|tenths| f64::from(tenths) / 10.0),
        1..60,
    )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_proportion_intervals_hold_the_estimate(of in 1_usize..400, share in 0.0_f64..=1.0) {
        let count = ((of as f64) * share) as usize;
        let estimate = count as f64 / of as f64;
        let score = wilson(count, of).unwrap();
        let exact = clopper_pearson(count, of, 0.95).unwrap();
        for interval in [score, exact] {
            prop_assert!(interval.contains(estimate));
            prop_assert!(interval.low >= 0.0 && interval.high <= 1.0);
        }
        // Turning yes into no turns the interval round.
        let mirrored = wilson(of - count, of).unwrap();
        prop_assert!((mirrored.low - (1.0 - score.high)).abs() < 1e-12);
        let mirrored = clopper_pearson(of - count, of, 0.95).unwrap();
        prop_assert!((mirrored.low - (1.0 - exact.high)).abs() < 1e-12);
    }

    #[test]
    fn prop_differences_hold_the_estimate(a in 1_usize..90, b in 1_usize..90, x in 0_usize..90, y in 0_usize..90) {
        let (first, second) = ((x.min(a), a), (y.min(b), b));
        let there = newcombe_difference(first, second).unwrap();
        let back = newcombe_difference(second, first).unwrap();
        prop_assert!(there.interval.contains(there.estimate));
        prop_assert!((there.interval.low + back.interval.high).abs() < 1e-12);
    }

    #[test]
    fn prop_poisson_limits_hold_the_count(count in 0_usize..3000) {
        let limits = poisson_limits(count, 0.95).unwrap();
        prop_assert!(limits.contains(count as f64));
        prop_assert!(poisson_limits(count, 0.998).unwrap().high > limits.high);
    }

    #[test]
    fn prop_changes_lie_within_their_limits_in_any_order((a, b) in reordered(differences())) {
        let mean = mean_change(&a).unwrap();
        prop_assert_eq!(Some(mean), mean_change(&b));
        prop_assert!(mean.interval.is_none_or(|i| i.contains(mean.mean)));
        let typical = hodges_lehmann(&a).unwrap();
        prop_assert_eq!(Some(typical), hodges_lehmann(&b));
        prop_assert!(typical.interval.is_none_or(|i| i.contains(typical.estimate)));
        let shown = summary(&a).unwrap();
        prop_assert_eq!(Some(shown), summary(&b));
        prop_assert!(shown.minimum <= shown.median && shown.median <= shown.maximum);
        prop_assert!(shown.quartiles.is_none_or(|q| q.contains(shown.median)));
    }

    #[test]
    fn prop_hodges_lehmann_is_the_median_of_all_averages(values in differences()) {
        let mut averages = Vec::new();
        for (i, a) in values.iter().enumerate() {
            averages.extend(values[i..].iter().map(|b| (a + b) / 2.0));
        }
        averages.sort_by(f64::total_cmp);
        let middle = averages.len() / 2;
        let median = if averages.len() % 2 == 1 {
            averages[middle]
        } else {
            f64::midpoint(averages[middle - 1], averages[middle])
        };
        prop_assert_eq!(hodges_lehmann(&values).unwrap().estimate, median);
    }

    #[test]
    fn prop_expected_deaths_do_not_depend_on_order((a, b) in reordered(cases())) {
        prop_assert_eq!(observed_expected(&a), observed_expected(&b));
        prop_assert_eq!(calibration(&a), calibration(&b));
    }

    #[test]
    fn prop_survival_falls_within_its_limits_in_any_order((a, b) in reordered(follow_ups())) {
        let curve = Survival::new(&a).unwrap();
        let other = Survival::new(&b).unwrap();
        prop_assert_eq!(curve.steps(), other.steps());
        prop_assert_eq!(curve.median(), other.median());
        let mut before = 1.0;
        for step in curve.steps() {
            prop_assert!(step.survival <= before && step.survival >= 0.0);
            prop_assert!(step.interval.is_none_or(|i| i.contains(step.survival)));
            before = step.survival;
        }
        for day in 0..45 {
            prop_assert_eq!(curve.at(day).is_some(), a.iter().any(|f| f.day >= day));
        }
    }

    #[test]
    fn prop_incidences_and_freedom_add_up_to_one((a, b) in reordered(outcomes())) {
        let ours = Incidence::new(&a).unwrap();
        let other = Incidence::new(&b).unwrap();
        for day in 0..45 {
            let point = ours.at(day);
            prop_assert_eq!(point, other.at(day));
            let Some(point) = point else { continue };
            let sum = point.incidence + point.competing + point.event_free;
            prop_assert!((sum - 1.0).abs() < 1e-12);
            prop_assert!(point.interval.is_none_or(|i| i.contains(point.incidence)));
        }
    }

    /// Without competing deaths the incidence is 1 − Kaplan-Meier, limits of the error included.
    #[test]
    fn prop_incidence_without_competing_deaths_mirrors_survival(follow_ups in follow_ups()) {
        let survival = Survival::new(&follow_ups).unwrap();
        let outcomes: Vec<OutcomeTime> = follow_ups
            .iter()
            .map(|f| OutcomeTime {
                day: f.day,
                outcome: if f.event { Outcome::Event } else { Outcome::Censored },
            })
            .collect();
        let incidence = Incidence::new(&outcomes).unwrap();
        for step in survival.steps() {
            let point = incidence.at(step.day).unwrap();
            prop_assert!((point.incidence - (1.0 - step.survival)).abs() < 1e-12);
            if let Some(error) = step.standard_error {
                prop_assert!((point.standard_error - error).abs() < 1e-9);
            }
        }
    }
}
