//! An earlier period from a case file of its own.

use jiff::civil::date;
use valvefolio::cohort::{Cohort, CohortOptions};
use valvefolio::draw::{Fonts, Paper};
use valvefolio::record::CaseRecord;

use crate::edges::words;
use crate::pages::{document, faults};
use crate::support::{case, cohort, cohort_beside};

fn options() -> CohortOptions {
    let mut options = CohortOptions::new(date(2026, 11, 20));
    options.from = Some(date(2026, 7, 1));
    options.to = Some(date(2026, 9, 30));
    options
}

/// So many cases of one day, of which the first few died on the day after; all others were seen alive later.
fn cases(prefix: &str, n: usize, died: usize, procedure: &str, day_after: &str) -> Vec<CaseRecord> {
    (0..n)
        .map(|number| {
            let end = if number < died {
                ("death_date", day_after)
            } else {
                ("last_contact_date", "2026-11-01")
            };
            case(&format!("{prefix}{number:03}"), procedure, &[end])
        })
        .collect()
}

fn written(cohort: &Cohort) -> String {
    let fonts = Fonts::load();
    let document = document(cohort, Paper::A4, &fonts);
    let faults = faults(&document, &fonts);
    assert!(faults.is_empty(), "{faults:#?}");
    words(&document)
}

/// Newcombe 1998, Stat Med 17:873-890, Table II: 56/70 less 48/80, method 10: .0524 to .3339; 9/10 less 3/10: .1705 to
/// .8090; 5/56 less 0/29: -.0381 to .1926.
#[test]
fn the_difference_from_an_earlier_file_is_newcombes() {
    for (now, before, low, high) in [
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((5, 56), (0, 29), -0.0381, 0.1926),
    ] {
        let here = cases("n", now.1, now.0, "2026-08-03", "2026-08-04");
        let there = cases("b", before.1, before.0, "2026-02-02", "2026-02-03");
        let cohort = cohort_beside(&here, &there, 0, &options());
        let compared = &cohort.compared[0];
        assert_eq!(compared.measure, "death_30d");
        assert_eq!((compared.now.yes, compared.now.known()), now);
        assert_eq!((compared.before.yes, compared.before.known()), before);
        let interval = compared.difference.expect("both known").interval;
        assert!((interval.low - low).abs() < 5e-5 && (interval.high - high).abs() < 5e-5);
        // The same in the file of points, in percentage points.
        let series = cohort.series();
        let point = series
            .iter()
            .find(|point| point.series == "difference" && point.group == "death_30d")
            .expect("a point");
        assert!((point.low.expect("a limit") - 100.0 * low).abs() < 5e-3);
        assert!((point.high.expect("a limit") - 100.0 * high).abs() < 5e-3);
        assert_eq!(
            point.note,
            format!(
                "{}/{} against {}/{} before",
                now.0, now.1, before.0, before.1
            )
        );
    }
}

#[test]
fn no_case_stands_on_both_sides() {
    let here = cases("n", 10, 1, "2026-08-03", "2026-08-04");
    let mut there = cases("b", 8, 2, "2026-02-02", "2026-02-03");
    // Of the period: by its key, though dated wrongly there, and by its date, though under another key.
    there.push(case("n000", "2026-02-05", &[]));
    there.push(case("x", "2026-07-01", &[]));
    let cohort = cohort_beside(&here, &there, 3, &options());
    let taken = cohort.earlier.expect("taken");
    assert_eq!((taken.n, taken.not_earlier, taken.withheld), (8, 2, 3));
    assert_eq!(cohort.previous, Some((date(2026, 2, 2), date(2026, 2, 2))));
    assert_eq!(cohort.treated.beside_n, 8);
    let words = written(&cohort);
    for said in [
        "Earlier file: 8 cases stand beside, 3 withheld, 2 left out because they belong to this period or came after",
        "procedures of 2 Feb 2026 to 2 Feb 2026",
        "2/8",
    ] {
        assert!(words.contains(said), "{said} in {words}");
    }
}

#[test]
fn its_cases_enter_the_comparison_and_nothing_else() {
    let here = cases("n", 30, 2, "2026-08-03", "2026-08-04");
    let there = cases("b", 40, 9, "2026-02-02", "2026-02-03");
    let mut options = options();
    // No case of this file lies in this span, so nothing of it stands beside the period without the other file.
    options.previous = Some((date(2020, 1, 1), date(2020, 1, 2)));
    let alone = cohort(&here, &options);
    let mut beside = cohort_beside(&here, &there, 0, &options);
    assert_eq!(beside.csv_bytes(), alone.csv_bytes());
    assert_eq!(beside.compared[0].before.yes, 9);
    beside.compared = alone.compared.clone();
    beside.treated = alone.treated.clone();
    (beside.previous, beside.earlier) = (alone.previous, None);
    assert_eq!(beside, alone);
}

#[test]
fn an_earlier_file_without_a_case_says_so() {
    let here = cases("n", 5, 0, "2026-08-03", "2026-08-04");
    let cohort = cohort_beside(&here, &[], 0, &options());
    assert_eq!((cohort.previous, cohort.treated.beside_n), (None, 0));
    assert!(
        cohort
            .compared
            .iter()
            .all(|compared| compared.difference.is_none())
    );
    assert!(written(&cohort).contains("Earlier file: 0 cases stand beside."));
}
