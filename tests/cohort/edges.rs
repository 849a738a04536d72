//! Cohorts at their edges: nothing panics, nothing is no number, and the pages say so.

use jiff::civil::date;
use valvefolio::cohort::{Cohort, CohortOptions};
use valvefolio::draw::{Document, Fonts, Item, Paper};
use valvefolio::output::pdf::to_pdf;
use valvefolio::record::CaseRecord;

use crate::pages::{document, faults};
use crate::support::{case, cohort};

fn words(document: &Document) -> String {
    let mut words = String::new();
    for item in document.sheets.iter().flat_map(|sheet| &sheet.items) {
        if let Item::Text { text, .. } = item {
            words.push_str(text);
            words.push(' ');
        }
    }
    words
}

/// Every number of the tables is finite, every page is written without fault; the words of the pages.
fn checked(cohort: &Cohort) -> String {
    let fonts = Fonts::load();
    for bytes in [cohort.csv_bytes(), cohort.series_csv_bytes()] {
        let text = String::from_utf8(bytes).expect("text");
        assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
    }
    let document = document(cohort, Paper::A4, &fonts);
    to_pdf(&document, &fonts).expect("a PDF file");
    let faults = faults(&document, &fonts);
    assert!(faults.is_empty(), "{faults:#?}");
    words(&document)
}

fn options() -> CohortOptions {
    CohortOptions::new(date(2026, 7, 1))
}

#[test]
fn no_case_at_all() {
    let words = checked(&cohort(&[], &options()));
    assert!(words.contains("n 0"));
    assert!(words.contains("Fewer than two cases with risk and outcome known: nothing is drawn."));
    assert!(words.contains("No case: nothing is drawn."));
}

#[test]
fn an_empty_period_in_a_full_table() {
    let mut options = options();
    options.from = Some(date(2030, 1, 1));
    options.to = Some(date(2030, 3, 31));
    let cases = [case(
        "a",
        "2026-05-01",
        &[("last_contact_date", "2026-06-10")],
    )];
    let cohort = cohort(&cases, &options);
    assert_eq!(cohort.n[0], 0);
    let row = cohort.of_period("death_30d").expect("a row");
    assert_eq!(
        (row.n, row.estimate, row.low, row.bound_low),
        (Some(0), None, None, None)
    );
    checked(&cohort);
}

#[test]
fn one_case_of_which_nothing_is_known() {
    let cohort = cohort(&[case("only", "2026-05-01", &[])], &options());
    let row = cohort.of_period("death_30d").expect("a row");
    // Unknown, so anything from 0 to 100 %.
    assert_eq!((row.missing, row.estimate), (Some(1), None));
    assert_eq!((row.bound_low, row.bound_high), (Some(0.0), Some(100.0)));
    let words = checked(&cohort);
    assert!(words.contains("0 of 1 (0"), "known at 30 days");
    assert!(words.contains("small numbers"));
}

#[test]
fn one_operator_without_follow_up_or_risk() {
    let cases: Vec<CaseRecord> = (0..30)
        .map(|number| {
            case(
                &format!("c{number:02}"),
                "2026-05-01",
                &[("operator", "Smith"), ("stroke_30d", "none")],
            )
        })
        .collect();
    let words = checked(&cohort(&cases, &options()));
    assert!(words.contains("too few for a limit"));
    assert!(words.contains("Fewer than five groups"));
    assert!(!words.contains("Smith"), "operators are letters");
}

#[test]
fn operators_are_named_only_where_asked() {
    let cases = [case("a", "2026-05-01", &[("operator", "Smith")])];
    let mut options = options();
    options.name_operators = true;
    let named = cohort(&cases, &options);
    let group = |cohort: &Cohort, name: &str| cohort.rows.iter().any(|row| row.group == name);
    assert!(group(&named, "operator=Smith"));
    options.deidentify = true;
    let released = cohort(&cases, &options);
    assert!(!group(&released, "operator=Smith") && group(&released, "operator=A"));
}

#[test]
fn thousands_of_equal_cases_stay_within_their_limits() {
    // Above the most lines, points and cases that charts draw.
    let cases: Vec<CaseRecord> = (0..2500)
        .map(|number| {
            case(
                &format!("c{number:05}"),
                "2026-04-01",
                &[
                    ("baseline_mean_gradient_mmhg", "45"),
                    ("post_mean_gradient_mmhg", "22"),
                    ("euroscore2_reported_pct", "3"),
                    ("last_contact_date", "2026-06-10"),
                    ("annulus_area_mm2", "450"),
                ],
            )
        })
        .collect();
    let words = checked(&cohort(&cases, &options()));
    assert!(words.contains("more are not listed here"));
    assert!(words.contains("The 1500 earlier ones"));
}

#[test]
fn a_funnel_is_drawn_from_five_operators_on() {
    let operators = ["A", "B", "C", "D", "E", "F", "G"];
    let of = |operators: &[&str]| -> Vec<CaseRecord> {
        operators
            .iter()
            .flat_map(|operator| (0..12).map(move |number| (operator, number)))
            .map(|(operator, number)| {
                case(
                    &format!("{operator}{number:02}"),
                    "2026-05-01",
                    &[
                        ("operator", operator),
                        ("second_valve", if number < 3 { "yes" } else { "no" }),
                        ("device_intervention_in_room", "yes"),
                    ],
                )
            })
            .collect()
    };
    let words = checked(&cohort(&of(&operators), &options()));
    assert!(words.contains("Every group stands in the table."));
    let words = checked(&cohort(&of(&operators[..4]), &options()));
    assert!(words.contains("Fewer than five groups"));
}
