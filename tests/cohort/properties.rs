//! What holds for every cohort.

use std::collections::HashMap;

use jiff::civil::date;
use proptest::prelude::*;
use valvefolio::cohort::{Cohort, CohortOptions, MeasureRow};
use valvefolio::record::CaseRecord;

use crate::support::{case, cohort};

/// A case with a few cells chosen at random; many are left blank.
fn any_case(number: usize) -> impl Strategy<Value = CaseRecord> {
    let maybe = |words: &'static [&'static str]| {
        prop_oneof![Just(None), proptest::sample::select(words).prop_map(Some)]
    };
    (
        0usize..4,
        maybe(&["2026-02-05", "2026-06-20"]),
        maybe(&["2026-02-03", "2026-06-25"]),
        maybe(&["none", "tia", "ischaemic"]),
        maybe(&["none", "type_1", "type_3"]),
        maybe(&["yes", "no"]),
        maybe(&["yes", "no"]),
        maybe(&["North", "South"]),
        maybe(&["B. One", "A. Two"]),
        maybe(&["2", "5.5", "31"]),
        maybe(&["tricuspid", "bicuspid_type_1"]),
    )
        .prop_map(move |cells| {
            let dates = ["2026-02-01", "2026-05-10", "2026-06-25", "2025-03-01"];
            let columns = [
                ("last_contact_date", cells.1),
                ("death_date", cells.2),
                ("stroke_30d", cells.3),
                ("bleeding_type", cells.4),
                ("prior_pacemaker", cells.5),
                ("new_pacemaker_30d", cells.6),
                ("site", cells.7),
                ("operator", cells.8),
                ("euroscore2_reported_pct", cells.9),
                ("valve_morphology", cells.10),
            ];
            let known: Vec<(&str, &str)> = columns
                .into_iter()
                .filter_map(|(column, text)| Some((column, text?)))
                .collect();
            case(&format!("c{number:03}"), dates[cells.0], &known)
        })
}

fn any_cases() -> impl Strategy<Value = Vec<CaseRecord>> {
    (0usize..40).prop_flat_map(|n| (0..n).map(any_case).collect::<Vec<_>>())
}

fn options() -> CohortOptions {
    let mut options = CohortOptions::new(date(2026, 7, 1));
    options.from = Some(date(2026, 1, 1));
    options.to = Some(date(2026, 6, 30));
    options
}

fn proportions(cohort: &Cohort) -> impl Iterator<Item = &MeasureRow> {
    cohort
        .rows
        .iter()
        .filter(|row| row.bound_low.is_some() || row.method.contains("Wilson"))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn prop_counts_of_a_proportion_add_up(cases in any_cases()) {
        let cohort = cohort(&cases, &options());
        for row in proportions(&cohort) {
            let known = row.denominator.unwrap() as usize;
            prop_assert!(row.numerator.unwrap() <= known);
            prop_assert_eq!(row.n.unwrap(), known + row.missing.unwrap() + row.pending.unwrap());
            if let (Some(estimate), Some(low), Some(high)) = (row.estimate, row.low, row.high) {
                prop_assert!((0.0..=100.0).contains(&low) && low <= estimate && estimate <= high && high <= 100.0);
                prop_assert!(row.bound_low.unwrap() <= estimate + 1e-9 && estimate <= row.bound_high.unwrap() + 1e-9);
            }
        }
    }

    #[test]
    fn prop_groups_add_up_to_all(cases in any_cases()) {
        let cohort = cohort(&cases, &options());
        let mut sums: HashMap<(String, String, &str), [usize; 5]> = HashMap::new();
        let counts = |row: &MeasureRow| [
            row.n.unwrap(), row.numerator.unwrap(), row.missing.unwrap(), row.pending.unwrap(), row.not_applicable.unwrap(),
        ];
        for row in proportions(&cohort).filter(|row| row.group != "all") {
            let dimension = row.group.split('=').next().unwrap().to_owned();
            let sum = sums.entry((dimension, row.measure.to_string(), row.period)).or_default();
            for (sum, count) in sum.iter_mut().zip(counts(row)) {
                *sum += count;
            }
        }
        prop_assert!(!sums.is_empty());
        for ((_, measure, period), sum) in sums {
            let all = cohort.rows.iter().find(|row| row.group == "all" && row.measure == measure && row.period == period);
            prop_assert_eq!(counts(all.unwrap()), sum);
        }
    }

    #[test]
    fn prop_the_order_of_the_rows_changes_no_byte(cases in any_cases(), turn in 0usize..40) {
        let mut turned = cases.clone();
        turned.reverse();
        if !turned.is_empty() {
            let by = turn % turned.len();
            turned.rotate_left(by);
        }
        let (one, other) = (cohort(&cases, &options()), cohort(&turned, &options()));
        prop_assert_eq!(one.csv_bytes(), other.csv_bytes());
        prop_assert_eq!(one.series_csv_bytes(), other.series_csv_bytes());
        prop_assert_eq!(one.pull, other.pull);
    }

    #[test]
    fn prop_a_released_table_holds_no_small_count(cases in any_cases(), threshold in 3usize..12) {
        let mut options = options();
        options.deidentify = true;
        options.masking_threshold = threshold;
        let cohort = cohort(&cases, &options);
        for row in &cohort.rows {
            prop_assert!(row.period == "period" && !row.group.starts_with("site="));
            let counts = [row.n, row.numerator, row.missing, row.pending, row.not_applicable, row.denominator.map(|known| known as usize)];
            // The expected deaths in the denominator of the ratio are no count.
            let counts = if row.measure == "deaths_observed_expected" { &counts[..5] } else { &counts[..] };
            for count in counts.iter().flatten() {
                prop_assert!(*count == 0 || *count >= threshold, "{:?}", row);
            }
            if let (Some(yes), Some(known)) = (row.numerator, row.denominator)
                && row.measure != "deaths_observed_expected"
                && row.bound_low.is_some()
            {
                let no = known as usize - yes;
                prop_assert!(no == 0 || no >= threshold, "{:?}", row);
            }
        }
        // A group that is masked takes its whole dimension with it: nothing to subtract from all cases.
        let mut masked: HashMap<(&str, &str), [bool; 2]> = HashMap::new();
        for row in cohort.rows.iter().filter(|row| row.group != "all") {
            let dimension = row.group.split('=').next().unwrap();
            masked.entry((dimension, &row.measure)).or_default()[usize::from(row.n.is_some())] = true;
        }
        for ((dimension, measure), seen) in masked {
            prop_assert!(seen != [true, true], "{dimension} {measure}");
        }
    }
}
