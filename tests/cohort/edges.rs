//! Cohorts at their edges: nothing panics, nothing is no number, and the pages say so.

use jiff::civil::date;
use valvefolio::cohort::{Cohort, CohortOptions};
use valvefolio::draw::{Document, Fonts, Item, Paper};
use valvefolio::output::pdf::to_pdf;
use valvefolio::record::CaseRecord;

use crate::pages::{document, faults};
use crate::support::{case, cohort};

/// The words of the pages.
pub fn words(document: &Document) -> String {
    let mut words = String::new();
    for item in document.sheets.iter().flat_map(|sheet| &sheet.items) {
        if let Item::Text { text, .. } = item {
            words.push_str(text);
            words.push(' ');
        }
    }
    // Runs of one line, and lines, are apart by one plain space.
    words.split_whitespace().collect::<Vec<_>>().join(" ")
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
    assert!(words.contains("A funnel is drawn from five groups on"));
    assert!(!words.contains("Smith"), "operators are letters");
}

/// Twelve patients followed to day 12: the axis goes on to day 30, the curve does not.
#[test]
fn a_curve_ends_with_those_it_is_of() {
    let cases: Vec<CaseRecord> = (0..12)
        .map(|number| {
            let contact = [("last_contact_date", "2026-05-13")];
            case(&format!("c{number:02}"), "2026-05-01", &contact)
        })
        .collect();
    let words = checked(&cohort(&cases, &options()));
    assert!(words.contains("100 %, day 12"), "{words}");
    assert!(!words.contains("%, day 30"), "{words}");
}

/// A death without a day is in no rate, and said all the same; one of the last 30 days is not due.
#[test]
fn a_death_without_a_day_is_said_beside_those_in_the_rate() {
    let died = [("discharge_status", "died_in_hospital")];
    let cases = [
        case("undated", "2026-05-01", &died),
        case("young", "2026-06-20", &died),
        case(
            "alive",
            "2026-05-01",
            &[("last_contact_date", "2026-06-15")],
        ),
    ];
    let cohort = cohort(&cases, &options());
    assert_eq!(cohort.undated_deaths, 1);
    let words = checked(&cohort);
    assert!(
        words.contains("0 observed among 1 case known in the period. 1 death without a day"),
        "{words}"
    );
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
fn many_cases_of_which_all_cells_are_missing() {
    let cases: Vec<CaseRecord> = (0..60)
        .map(|number| case(&format!("c{number:02}"), "2026-05-01", &[]))
        .collect();
    let cohort = cohort(&cases, &options());
    let words = checked(&cohort);
    assert!(words.contains("none can be told, since no case of the period is known at 30 days."));
    assert!(words.contains("No case has both outcome and predicted risk"));
    // Nothing is known, so nothing is counted as absent.
    for row in cohort.rows.iter().filter(|row| row.bound_low.is_some()) {
        assert_eq!(row.numerator, Some(0), "{}", row.measure);
        assert_eq!(
            (row.denominator, row.estimate),
            (Some(0.0), None),
            "{}",
            row.measure
        );
    }
}

#[test]
fn no_follow_up_leaves_no_thirty_day_number() {
    let cases: Vec<CaseRecord> = (0..25)
        .map(|number| {
            let known = [
                ("operator", "A"),
                ("discharge_date", "2026-05-06"),
                ("stroke_30d", "none"),
                ("post_mean_gradient_mmhg", "9"),
                ("euroscore2_reported_pct", "3"),
            ];
            case(&format!("c{number:02}"), "2026-05-01", &known)
        })
        .collect();
    let cohort = cohort(&cases, &options());
    for measure in ["death_30d", "stroke_30d"] {
        let row = cohort.of_period(measure).expect(measure);
        assert_eq!((row.missing, row.estimate), (Some(25), None), "{measure}");
        assert_eq!((row.bound_low, row.bound_high), (Some(0.0), Some(100.0)));
    }
    let words = checked(&cohort);
    assert!(words.contains("0 of 25 (0"));
    assert!(words.contains("NYHA class before and at 30 days: 0 of 25 cases have both"));
}

#[test]
fn twenty_thousand_cases_stay_within_their_columns() {
    let operators = ["A", "B", "C", "D", "E", "F"];
    let routes = ["transfemoral", "transcarotid"];
    let cases: Vec<CaseRecord> = (0..20_000)
        .map(|number| {
            let month = 1 + number % 9;
            let risk = format!("{}", 1 + number % 7);
            let end = if number % 41 == 0 {
                ("death_date", format!("2026-{month:02}-20"))
            } else {
                ("last_contact_date", "2026-12-01".to_owned())
            };
            case(
                &format!("c{number:05}"),
                &format!("2026-{month:02}-02"),
                &[
                    (end.0, end.1.as_str()),
                    ("operator", operators[number % operators.len()]),
                    ("access_route", routes[usize::from(number % 5 == 0)]),
                    ("euroscore2_reported_pct", &risk),
                    (
                        "stroke_30d",
                        if number % 53 == 0 {
                            "ischaemic"
                        } else {
                            "none"
                        },
                    ),
                    ("contrast_ml", "90"),
                    ("nyha_class", "III"),
                ],
            )
        })
        .collect();
    let mut options = CohortOptions::new(date(2026, 12, 31));
    options.from = Some(date(2026, 4, 1));
    let cohort = cohort(&cases, &options);
    assert_eq!(cohort.n, [13_332, 20_000, 20_000]);
    let words = checked(&cohort);
    assert!(words.contains("more are not listed here"));
    assert!(words.contains("The same over three years: 3000 of 20000 cases"));
    // Six operators with hundreds of expected deaths each: the funnel of deaths has them all.
    assert!(
        words.contains("Deaths: 6 of 6 groups are drawn"),
        "the funnel of deaths"
    );
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
    assert!(words.contains("A funnel is drawn from five groups on"));
}
