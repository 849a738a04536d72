//! State and check code: what was signed, and whether it is still the same page.

use jiff::civil::date;
use valvefolio::draw::Paper;
use valvefolio::page::case::{Kind, State};
use valvefolio::record::{CaseCells, CaseRecord, CellNotes, RowPlace, VisitCells, VisitRecord};

use crate::support::{as_of, assessed, case, page_on, record, words};

/// A stay with an echo before and after, not signed.
fn stay() -> CaseRecord {
    record(CaseCells {
        case_id: Some("T-1".into()),
        patient_label: Some("Ζωή 12".into()),
        birth_date: Some(date(1943, 3, 3)),
        procedure_date: Some(date(2026, 3, 3)),
        discharge_date: Some(date(2026, 3, 6)),
        baseline_mean_gradient_mmhg: Some(52.0),
        post_echo_date: Some(date(2026, 3, 5)),
        post_mean_gradient_mmhg: Some(11.0),
        antithrombotic_until: Some(date(2026, 9, 3)),
        next_booked_date: Some(date(2027, 3, 3)),
        ..CaseCells::default()
    })
}

fn made(record: &CaseRecord) -> valvefolio::page::case::CasePage {
    page_on(record, &assessed(record, as_of()), Paper::A4).expect("the page fits")
}

fn signed(mut record: CaseRecord, code: Option<&str>) -> CaseRecord {
    record.cells.signed_by = Some("Physician 1".into());
    record.cells.signed_on = Some(date(2026, 3, 6));
    record.cells.signed_hash = code.map(Into::into);
    record
}

fn visit(on: jiff::civil::Date) -> VisitRecord {
    VisitRecord {
        date: on,
        cells: VisitCells {
            visit_date: Some(on),
            ..VisitCells::default()
        }
        .into(),
        notes: CellNotes::default(),
        place: RowPlace {
            file: "visits.csv".into(),
            line: 2,
        },
    }
}

#[test]
fn unsigned_is_a_draft() {
    let page = made(&stay());
    assert_eq!((page.state, page.kind), (State::Draft, Kind::Discharge));
    assert!(words(&page).contains("DRAFT not signed"));
}

#[test]
fn signed_only_where_the_code_is_this_pages() {
    let code = made(&stay()).check_code;
    let page = made(&signed(stay(), Some(&code)));
    assert_eq!(page.state, State::Signed);
    assert_eq!(
        page.check_code, code,
        "signing does not change what was signed"
    );
    // As people write it: without the hyphen, in small letters.
    let typed = code.replace('-', "").to_lowercase();
    assert_eq!(made(&signed(stay(), Some(&typed))).state, State::Signed);
    for other in [None, Some("2222-2222"), Some("")] {
        let page = made(&signed(stay(), other));
        assert_eq!(page.state, State::RecordedAsSigned);
        assert!(
            words(&page)
                .contains("Recorded as signed on 6 Mar 2026 by Physician 1, in the source table"),
            "{}",
            words(&page)
        );
    }
}

#[test]
fn a_date_after_the_signature_makes_it_a_draft_again() {
    let code = made(&stay()).check_code;
    let mut later = signed(stay(), Some(&code));
    later.cells.last_contact_date = Some(date(2026, 3, 7));
    assert_eq!(made(&later).state, State::ChangedSince);
    let mut visited = signed(stay(), Some(&code));
    visited.visits.push(visit(date(2026, 4, 4)));
    let page = made(&visited);
    assert_eq!(
        (page.state, page.kind),
        (State::ChangedSince, Kind::FollowUp)
    );
    assert!(words(&page).contains("DRAFT, changed since"));
    assert_ne!(page.check_code, code);
}

#[test]
fn plans_that_lie_ahead_are_no_change() {
    // The stay has an antithrombotic plan to September and a booked visit of next year.
    let code = made(&stay()).check_code;
    assert_eq!(made(&signed(stay(), Some(&code))).state, State::Signed);
}

#[test]
fn the_code_follows_the_contents_and_nothing_else() {
    let record = stay();
    let page = made(&record);
    let assessment = assessed(&record, as_of());
    let letter = page_on(&record, &assessment, Paper::Letter).expect("the page fits");
    assert_eq!(
        letter.check_code, page.check_code,
        "the paper is not signed"
    );
    let mut elsewhere = record.clone();
    elsewhere.place = RowPlace {
        file: "other.csv".into(),
        line: 99,
    };
    assert_eq!(
        made(&elsewhere).check_code,
        page.check_code,
        "where the file lies is not signed"
    );
    let mut changed = record.clone();
    changed.cells.post_mean_gradient_mmhg = Some(12.0);
    assert_ne!(made(&changed).check_code, page.check_code);
    let mut renamed = record;
    renamed.cells.patient_label = Some("Ζωή 13".into());
    assert_ne!(made(&renamed).check_code, page.check_code);
}

#[test]
fn the_demos_invented_code_is_not_taken_for_the_pages() {
    // fixtures/quarter/README.md: the code of 2026-006 is made up.
    let (record, assessment) = case("2026-006");
    assert!(record.cells.signed_hash.is_some());
    let page = page_on(record, assessment, Paper::A4).expect("the page fits");
    assert_ne!(page.state, State::Signed);
}

#[test]
fn two_identifiers_stand_at_the_head_and_beside_the_signature() {
    let words = words(&made(&stay()));
    let (head, foot) = words
        .split_once("To sign in ink once checked against the sources")
        .expect("the page has a signature");
    for part in [head, foot] {
        assert!(
            part.contains("Ζωή 12") && part.contains("born 3 Mar 1943"),
            "{part}"
        );
    }
}
