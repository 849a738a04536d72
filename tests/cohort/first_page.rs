//! The first page, as somebody reads it who has one minute.

use jiff::civil::date;
use valvefolio::cohort::{Cohort, CohortOptions};
use valvefolio::draw::{Fonts, Item, Paper};
use valvefolio::record::CaseRecord;

use crate::edges::words;
use crate::pages::{document, quarter};
use crate::support::{case, cohort, cohort_with, demo};

fn first_page(cohort: &Cohort) -> String {
    let fonts = Fonts::load();
    let mut document = document(cohort, Paper::A4, &fonts);
    document.sheets.truncate(1);
    words(&document)
}

/// Counted in the demo's own tables: 34 cases, 30 of them known at day 30, 3 deaths, 2 cases with one serial.
#[test]
fn the_demo_answers_the_five_questions() {
    let (records, catalogue) = demo();
    let words = first_page(&cohort_with(&records, &catalogue, &quarter(), &[]));
    for said in [
        // How many cases, and how many known.
        "34 of 34 expected",
        "30 of 34 (88",
        // Deaths observed and expected with interval; what stands out.
        "Deaths to day 30: 3 observed among 30 cases known in the period.",
        "All 3 deaths within 30 days since the start fell in this period, which holds 34 of the 60 cases.",
        "1.56 times as many (95 % 0.32 to 4.57), which chance alone could explain.",
        // Which cases to pull, and why.
        "2026-019 (procedure 30 Jul 2026): died on day 8",
        "device serial also in case 2026-039",
        "device serial also in case 2026-032",
    ] {
        assert!(words.contains(said), "{said} in {words}");
    }
}

fn died(id: &str, procedure: &str, death: &str) -> CaseRecord {
    case(id, procedure, &[("death_date", death)])
}

#[test]
fn how_many_of_all_deaths_fell_in_the_period_is_said_as_it_is() {
    let mut options = CohortOptions::new(date(2026, 11, 20));
    options.from = Some(date(2026, 7, 1));
    let alive =
        |id: &str, procedure: &str| case(id, procedure, &[("last_contact_date", "2026-11-01")]);
    let sentence = |cases: &[CaseRecord]| first_page(&cohort(cases, &options));
    let early = died("a", "2026-02-01", "2026-02-02");
    let late = died("b", "2026-08-01", "2026-08-02");
    let living = [alive("c", "2026-02-01"), alive("d", "2026-08-01")];
    let with = |cases: &[&CaseRecord]| {
        let mut all = living.to_vec();
        all.extend(cases.iter().map(|&case| case.clone()));
        sentence(&all)
    };
    assert!(
        with(&[&late]).contains("The one death within 30 days since the start fell in this period")
    );
    assert!(
        with(&[&early, &late]).contains("1 of the 2 deaths within 30 days since the start fell")
    );
    assert!(with(&[&early]).contains("0 of the 1 deaths within 30 days since the start fell"));
    // Nobody died, or there is nothing but the period: no such sentence.
    assert!(!with(&[]).contains("since the start fell"));
    let only: Vec<CaseRecord> = vec![late.clone(), living[1].clone()];
    assert!(!sentence(&only).contains("since the start fell"));
}

#[test]
fn a_patient_with_two_birth_dates_names_the_other_case() {
    let of = |id: &str, born: &str| {
        case(
            id,
            "2026-05-01",
            &[("patient_key", "p"), ("birth_date", born)],
        )
    };
    let cases = [of("a", "1940-01-01"), of("b", "1941-01-01")];
    let words = first_page(&cohort(&cases, &CohortOptions::new(date(2026, 7, 1))));
    assert!(
        words.contains("patient key with another birth date in case b"),
        "{words}"
    );
}

/// The scale's first number stands clear of the column before it: more than two of its own heights.
#[test]
fn the_head_of_the_intervals_does_not_run_into_the_scale() {
    let fonts = Fonts::load();
    let (records, catalogue) = demo();
    let cohort = cohort_with(&records, &catalogue, &quarter(), &[]);
    let document = document(&cohort, Paper::A4, &fonts);
    let place = |wanted: &str| {
        document.sheets[0]
            .items
            .iter()
            .find(|item| matches!(item, Item::Text { text, .. } if &**text == wanted))
            .and_then(|item| valvefolio::page::layout::ink(item, &fonts))
            .unwrap_or_else(|| panic!("{wanted} is written"))
    };
    let (head, zero) = (place("(Wilson)"), place("0"));
    assert!((head.y_mm - zero.y_mm).abs() < 1.0, "one line");
    assert!(zero.x_mm - head.right_mm() > 4.0, "{head:?} {zero:?}");
}

#[test]
fn every_page_has_a_bookmark() {
    let fonts = Fonts::load();
    let (records, catalogue) = demo();
    let cohort = cohort_with(&records, &catalogue, &quarter(), &[]);
    let document = document(&cohort, Paper::A4, &fonts);
    assert!(document.sheets.len() > 10);
    for sheet in &document.sheets {
        assert_eq!(sheet.bookmarks.len(), 1);
    }
}

#[test]
fn cases_without_a_risk_are_named_with_the_deaths_among_them() {
    let mut cases: Vec<CaseRecord> = (0..3)
        .map(|number| {
            let known = [
                ("euroscore2_reported_pct", "4"),
                ("last_contact_date", "2026-06-20"),
            ];
            case(&format!("with{number}"), "2026-05-01", &known)
        })
        .collect();
    cases.push(case(
        "bare1",
        "2026-05-01",
        &[("last_contact_date", "2026-06-20")],
    ));
    cases.push(died("bare2", "2026-05-01", "2026-05-04"));
    let cohort = cohort(&cases, &CohortOptions::new(date(2026, 7, 1)));
    let fonts = Fonts::load();
    let words = words(&document(&cohort, Paper::A4, &fonts));
    assert!(
        words.contains("Without a risk: bare1, bare2 (died)."),
        "{words}"
    );
}
