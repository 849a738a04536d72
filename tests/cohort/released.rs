//! What a de-identified summary must not say.

use jiff::civil::date;
use valvefolio::cohort::CohortOptions;
use valvefolio::draw::{Fonts, Item, Paper};
use valvefolio::record::CaseRecord;

use crate::pages::{document, faults, quarter};
use crate::support::{case, cohort, cohort_with, demo};

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
