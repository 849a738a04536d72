//! What a de-identified summary must not say.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::date;
use valvefolio::cohort::CohortOptions;
use valvefolio::draw::{Fonts, Item, Paper};
use valvefolio::input::Withheld;
use valvefolio::record::{CaseRecord, Catalogue, RowPlace};

use crate::pages::{document, faults, quarter};
use crate::support::{case, cohort, cohort_with, demo, with_visit};

fn everything_written(cohort: &valvefolio::cohort::Cohort) -> String {
    let fonts = Fonts::load();
    let document = document(cohort, Paper::A4, &fonts);
    let faults = faults(&document, &fonts);
    assert!(faults.is_empty(), "{faults:#?}");
    let mut all = String::from_utf8(cohort.csv_bytes()).expect("text");
    all.push_str(&String::from_utf8(cohort.series_csv_bytes()).expect("text"));
    all.push_str(&document.title);
    for sheet in &document.sheets {
        for item in &sheet.items {
            match item {
                Item::Text { text, .. } => all.push_str(text),
                Item::Open(tag) => {
                    all.push_str(tag.alt.as_deref().unwrap_or_default());
                    all.push_str(tag.actual_text.as_deref().unwrap_or_default());
                }
                _ => {}
            }
            all.push('\n');
        }
        for bookmark in &sheet.bookmarks {
            all.push_str(&bookmark.title);
        }
    }
    all
}

#[test]
fn no_case_site_serial_or_file_of_the_demo_is_written() {
    let (records, catalogue) = demo();
    let mut options = quarter();
    options.deidentify = true;
    options.name_operators = true;
    let cohort = cohort_with(&records, &catalogue, &options, &[]);
    let all = everything_written(&cohort);
    for record in &records {
        assert!(!all.contains(&*record.case_id), "{}", record.case_id);
        for text in [
            &record.cells.device_serial,
            &record.cells.device_lot,
            &record.cells.patient_label,
            &record.cells.sizing_reason,
        ]
        .into_iter()
        .flatten()
        {
            assert!(!all.contains(&**text), "{text}");
        }
    }
    for word in ["North", "South", "Demo centre", "cases.csv"] {
        assert!(!all.contains(word), "{word}");
    }
}

#[test]
fn an_age_above_eighty_nine_is_ninety_or_more() {
    let cases: Vec<CaseRecord> = (0..10)
        .map(|number| case(&format!("c{number}"), "2026-05-01", &[("age_years", "107")]))
        .collect();
    let mut options = CohortOptions::new(date(2026, 7, 1));
    options.deidentify = true;
    let cohort = cohort(&cases, &options);
    let age = cohort.of_period("age_years").expect("a row");
    assert_eq!(
        (age.n, age.estimate, age.high),
        (Some(10), Some(90.0), Some(90.0))
    );
    let all = everything_written(&cohort);
    assert!(all.contains("90+") && !all.contains("107"));
}

#[test]
fn a_death_hidden_in_one_row_is_not_given_away_by_another() {
    // Three deaths among forty: masked as deaths, as part of the composites, on the survival rows and as O/E.
    let cases: Vec<CaseRecord> = (0..40)
        .map(|number| {
            let outcome = if number < 3 {
                ("death_date", "2026-05-03")
            } else {
                ("last_contact_date", "2026-06-20")
            };
            case(
                &format!("c{number:02}"),
                "2026-05-01",
                &[outcome, ("euroscore2_reported_pct", "5")],
            )
        })
        .collect();
    let mut options = CohortOptions::new(date(2026, 7, 1));
    options.deidentify = true;
    let cohort = cohort(&cases, &options);
    for measure in [
        "death_30d",
        "device_success/alive_30d",
        "early_safety/alive_30d",
        "deaths_observed_expected",
        "survival_30d",
        "survival_365d",
    ] {
        let row = cohort.of_period(measure).expect(measure);
        assert_eq!(
            (row.n, row.numerator, row.estimate),
            (None, None, None),
            "{measure}"
        );
        assert!(row.method.contains("masked"));
    }
    // What holds no small count is still given: forty values of the risk.
    let risk = cohort.of_period("euroscore2_pct").expect("a row");
    assert_eq!((risk.n, risk.estimate), (Some(40), Some(5.0)));
}

/// Sixty cases of which everything that is counted is known; the first `small` of them are as `event` says.
fn sixty(
    small: usize,
    event: &dyn Fn(usize, bool) -> Vec<(&'static str, &'static str)>,
) -> Vec<CaseRecord> {
    (0..60)
        .map(|number| {
            let mut known: Vec<(&str, &str)> = vec![
                ("last_contact_date", "2026-06-20"),
                ("operator", ["P", "Q", "R"][number % 3]),
                ("sex", if number % 2 == 0 { "female" } else { "male" }),
                ("nyha_class", if number < 20 { "II" } else { "III" }),
                ("access_route", "transfemoral"),
                ("stroke_30d", "none"),
                ("vascular_complication", "none"),
                ("bleeding_type", "none"),
                ("second_valve", "no"),
                ("new_pacemaker_30d", "no"),
                ("prior_pacemaker", "no"),
                ("euroscore2_reported_pct", "5"),
                ("age_years", "80"),
                ("baseline_mean_gradient_mmhg", "45"),
                ("post_mean_gradient_mmhg", "9"),
                ("post_paravalvular_grade", "none"),
                ("post_transvalvular_grade", "none"),
            ];
            for (column, value) in event(number, number < small) {
                known.retain(|(other, _)| *other != column);
                if !value.is_empty() {
                    known.push((column, value));
                }
            }
            let seen = known
                .iter()
                .any(|(column, _)| *column == "last_contact_date");
            let case = case(&format!("c{number:02}"), "2026-05-01", &known);
            if !seen {
                return case;
            }
            let after = if known.contains(&("nyha_class", "IV")) {
                "III"
            } else {
                "II"
            };
            with_visit(case, "2026-06-12", &[("nyha_class", after)])
        })
        .collect()
}

/// Everything that the summary writes is the same, to the letter, whether a hidden count is 1, 2, 3 or 4: so nothing written
/// can tell which it is, by whatever sum or difference.
#[test]
fn nothing_written_depends_on_a_hidden_count() {
    type Event = (
        &'static str,
        &'static dyn Fn(usize, bool) -> Vec<(&'static str, &'static str)>,
    );
    let events: [Event; 11] = [
        ("deaths", &|_, small| match small {
            true => vec![("death_date", "2026-05-03"), ("last_contact_date", "")],
            false => Vec::new(),
        }),
        ("state at day 30 unknown", &|_, small| match small {
            true => vec![("last_contact_date", "")],
            false => Vec::new(),
        }),
        ("strokes", &|_, small| match small {
            true => vec![("stroke_30d", "ischaemic")],
            false => Vec::new(),
        }),
        ("bleedings unknown", &|_, small| match small {
            true => vec![("bleeding_type", "")],
            false => Vec::new(),
        }),
        ("second valves", &|_, small| match small {
            true => vec![("second_valve", "yes")],
            false => Vec::new(),
        }),
        ("without a risk", &|_, small| match small {
            true => vec![("euroscore2_reported_pct", "")],
            false => Vec::new(),
        }),
        ("gradients unknown", &|_, small| match small {
            true => vec![("baseline_mean_gradient_mmhg", "")],
            false => Vec::new(),
        }),
        ("NYHA class IV", &|_, small| match small {
            true => vec![("nyha_class", "IV")],
            false => Vec::new(),
        }),
        ("another access route", &|_, small| match small {
            true => vec![("access_route", "transcarotid")],
            false => Vec::new(),
        }),
        ("a fourth operator", &|_, small| match small {
            true => vec![("operator", "S")],
            false => Vec::new(),
        }),
        ("pacemakers before", &|_, small| match small {
            true => vec![("prior_pacemaker", "yes")],
            false => Vec::new(),
        }),
    ];
    let mut options = CohortOptions::new(date(2026, 7, 1));
    options.deidentify = true;
    // Limits of another span, and a span to compare with, must give nothing away either.
    options.from = Some(date(2026, 4, 1));
    options.previous = Some((date(2026, 1, 1), date(2026, 3, 31)));
    for (what, event) in events {
        let written: Vec<String> = (1..=4)
            .map(|small| everything_written(&cohort(&sixty(small, event), &options)))
            .collect();
        for other in &written[1..] {
            let differs = written[0]
                .lines()
                .zip(other.lines())
                .find(|(one, other)| one != other);
            assert_eq!(differs, None, "{what}");
            assert_eq!(written[0].len(), other.len(), "{what}");
        }
        // Five are shown, so that the four above were hidden and not left out for another reason.
        let five = everything_written(&cohort(&sixty(5, event), &options));
        assert_ne!(five, written[3], "{what}: nothing is ever shown of it");
    }
}

/// Two hidden counts at once, in every combination: whatever is written fits at least two numbers of deaths, and two of
/// strokes. (4 and 4 are the trap: eight who fail early safety by two parts of at most four are four and four.)
#[test]
fn nothing_written_depends_on_two_hidden_counts() {
    let mut options = CohortOptions::new(date(2026, 7, 1));
    options.deidentify = true;
    let written = |deaths: usize, strokes: usize| {
        let event = move |number: usize, _: bool| {
            let mut cells = Vec::new();
            if number < deaths {
                cells.extend([("death_date", "2026-05-03"), ("last_contact_date", "")]);
            }
            if (10..10 + strokes).contains(&number) {
                cells.push(("stroke_30d", "ischaemic"));
            }
            cells
        };
        everything_written(&cohort(&sixty(0, &event), &options))
    };
    let mut fitting: BTreeMap<String, [BTreeSet<usize>; 2]> = BTreeMap::new();
    for deaths in 1..=4 {
        for strokes in 1..=4 {
            let counts = fitting.entry(written(deaths, strokes)).or_default();
            counts[0].insert(deaths);
            counts[1].insert(strokes);
        }
    }
    for [deaths, strokes] in fitting.values() {
        assert!(
            deaths.len() > 1 && strokes.len() > 1,
            "{deaths:?} {strokes:?}"
        );
    }
}

/// The number of withheld rows is a count too.
#[test]
fn the_number_of_withheld_rows_is_hidden_below_the_threshold() {
    let mut options = CohortOptions::new(date(2026, 7, 1));
    options.deidentify = true;
    let cases = sixty(0, &|_, _| Vec::new());
    let written = |number: usize| {
        let withheld: Vec<Withheld> = (0..number)
            .map(|line| Withheld {
                case_id: "w".into(),
                place: RowPlace {
                    file: "cases.csv".into(),
                    line: line as u64 + 2,
                },
                reason: "duplicate".to_owned(),
                sign_of_death: Some(true),
                patient_key: None,
            })
            .collect();
        everything_written(&cohort_with(
            &cases,
            &Catalogue::default(),
            &options,
            &withheld,
        ))
    };
    assert_eq!(written(1), written(4));
    assert_ne!(written(4), written(5));
}

/// What stands beside the period in a named summary: neither an earlier span nor an earlier file, nor the panels of cases
/// in their order, nor two-way tables.
#[test]
fn panels_of_single_cases_and_comparisons_are_left_out() {
    let (records, catalogue) = demo();
    let mut options = quarter();
    options.deidentify = true;
    let cohort = cohort_with(&records, &catalogue, &options, &[]);
    assert_eq!((cohort.previous, cohort.treated.beside_n), (None, 0));
    let series = cohort.series();
    assert!(!series.is_empty());
    for point in &series {
        assert!(
            matches!(point.series.as_str(), "outcome" | "outcome_bounds"),
            "{}",
            point.series
        );
    }
    let all = everything_written(&cohort);
    for panel in [
        "Operators case by case, since",
        "The same over three years",
        "NYHA class before and at",
        "Cases between rare events",
        "12 months before",
    ] {
        assert!(!all.contains(panel), "{panel}");
    }
}
