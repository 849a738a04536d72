//! Rows become cases, visits and devices: ids, duplicates, several files, follow-up, catalogue.

use valvefolio::diagnostic::Code;
use valvefolio::input::{Inputs, ReadOptions, Source, read};

use crate::{cases, findings, fixture, places};

fn ids(inputs: &Inputs) -> Vec<&str> {
    inputs.cases.iter().map(|case| &*case.case_id).collect()
}

fn withheld(inputs: &Inputs) -> Vec<(&str, u64)> {
    inputs
        .withheld
        .iter()
        .map(|row| (&*row.case_id, row.place.line))
        .collect()
}

fn with_visits(cases: &str, visits: &str) -> Inputs {
    read(
        &[Source::new("cases.csv", cases)],
        Some(&Source::new("visits.csv", visits)),
        None,
        &ReadOptions::default(),
    )
    .unwrap()
}

fn several(files: &[(&str, &str)]) -> Inputs {
    let files: Vec<Source> = files
        .iter()
        .map(|(name, text)| Source::new(name, *text))
        .collect();
    read(&files, None, None, &ReadOptions::default()).unwrap()
}

#[test]
fn every_row_of_an_id_that_stands_twice_is_left_out_and_reported() {
    let inputs = cases(
        "case_id,procedure_date,procedural_death\nA1,2031-04-03,no\nA2,2031-04-03,\nA1,2031-04-04,yes\nA1,2031-04-05,\n",
    );
    assert_eq!(ids(&inputs), ["A2"]);
    assert_eq!(
        places(&inputs),
        [
            (Code::DuplicateId, 2, 1),
            (Code::DuplicateId, 4, 1),
            (Code::DuplicateId, 5, 1)
        ]
    );
    assert!(
        findings(&inputs)
            .iter()
            .all(|finding| finding.withholds && finding.expected.contains("lines 2, 4, 5"))
    );
    assert_eq!(withheld(&inputs), [("A1", 2), ("A1", 4), ("A1", 5)]);
    let deaths: Vec<Option<bool>> = inputs
        .withheld
        .iter()
        .map(|row| row.sign_of_death)
        .collect();
    assert_eq!(deaths, [Some(false), Some(true), Some(false)]);
}

#[test]
fn ids_that_would_be_one_file_are_both_left_out() {
    let inputs = cases("case_id,procedure_date\nA1,2031-04-03\na1,2031-04-03\nB1,2031-04-03\n");
    assert_eq!(ids(&inputs), ["B1"]);
    assert_eq!(
        places(&inputs),
        [(Code::DuplicateId, 2, 1), (Code::DuplicateId, 3, 1)]
    );
    assert!(findings(&inputs)[0].expected.contains("letter case"));
}

#[test]
fn ids_that_cannot_be_file_names_are_left_out() {
    let odd = ["../A1", "CON", "A\u{200B}1", "A 1", "Å1", &"x".repeat(41)];
    let mut text = String::from("case_id,procedure_date\n");
    for id in odd {
        text.push_str(&format!("{id},2031-04-03\n"));
    }
    text.push_str(&format!("{},2031-04-03\n", "x".repeat(40)));
    let inputs = cases(text);
    assert_eq!(inputs.cases.len(), 1);
    assert_eq!(
        places(&inputs),
        (0..6)
            .map(|row| (Code::BadId, row + 2, 1))
            .collect::<Vec<_>>()
    );
    assert_eq!(inputs.withheld.len(), 6);
}

#[test]
fn a_case_without_id_or_date_is_withheld_by_name_or_place() {
    let inputs = cases(
        "case_id,procedure_date,sex\nA1,,male\n,2031-04-03,male\nA3,3.4.2031,male\nA4,2031-04-03,male\n",
    );
    assert_eq!(ids(&inputs), ["A4"]);
    assert_eq!(withheld(&inputs), [("A1", 2), ("", 3), ("A3", 4)]);
    assert_eq!(
        places(&inputs),
        [
            (Code::RequiredCell, 2, 2),
            (Code::RequiredCell, 3, 1),
            (Code::RequiredCell, 4, 2),
            (Code::NotADate, 4, 2)
        ]
    );
}

#[test]
fn a_row_of_wrong_length_withholds_every_row_of_its_id() {
    let inputs = cases(
        "case_id,procedure_date,sex\nA1,2031-04-03,male\nA1,2031-04-03\nA2,2031-04-03,male\n",
    );
    assert_eq!(ids(&inputs), ["A2"]);
    assert_eq!(
        places(&inputs),
        [(Code::DuplicateId, 2, 0), (Code::RowLength, 3, 0)]
    );
    assert_eq!(withheld(&inputs), [("A1", 2), ("A1", 3)]);
}

#[test]
fn several_files_are_taken_side_by_side() {
    let inputs = several(&[
        (
            "clinic.csv",
            "case_id,procedure_date,height_cm,sex\nA1,2031-04-03,172,male\nA2,2031-04-04,,female\n",
        ),
        (
            "ct.csv",
            "case_id;annulus_area_mm2;height_cm\nA2;431,5;168\nA1;4,85;172,0\nA3;500;\n",
        ),
    ]);
    assert_eq!(ids(&inputs), ["A1", "A2"]);
    let [one, two] = &inputs.records()[..] else {
        panic!()
    };
    assert_eq!(
        (one.cells.height_cm, one.cells.annulus_area_mm2),
        (Some(172.0), None)
    );
    assert_eq!(one.notes.rejected, ["annulus_area_mm2"]);
    assert_eq!(
        (two.cells.height_cm, two.cells.annulus_area_mm2),
        (Some(168.0), Some(431.5))
    );
    assert_eq!((&*two.place.file, two.place.line), ("clinic.csv", 3));
    // A3 has no procedure date in any file.
    assert_eq!(withheld(&inputs), [("A3", 4)]);
    assert_eq!(
        places(&inputs),
        [(Code::UnitSlip, 3, 2), (Code::RequiredCell, 4, 0)]
    );
    assert_eq!(inputs.files.len(), 2);
}

#[test]
fn two_values_for_one_cell_are_a_contradiction_and_unknown() {
    let files = [
        (
            "a.csv",
            "case_id,procedure_date,weight_kg,birth_date\nA1,2031-04-03,80,1941-01-01\n",
        ),
        ("b.csv", "case_id,weight_kg,birth_date\nA1,81,1941-01-02\n"),
        ("c.csv", "case_id,weight_kg\nA1,80\n"),
    ];
    let inputs = several(&files);
    assert_eq!(inputs.records()[0].cells.weight_kg, None);
    assert_eq!(inputs.records()[0].cells.birth_date, None);
    let columns: Vec<&str> = inputs.contradicted.iter().map(|cell| cell.column).collect();
    assert_eq!(columns, ["birth_date", "weight_kg"]);
    assert_eq!(
        places(&inputs),
        [(Code::Contradiction, 2, 2), (Code::Contradiction, 2, 3)]
    );
    let weight = findings(&inputs)[0];
    assert_eq!((&*weight.place.file, &*weight.found), ("b.csv", "81"));
    assert!(
        weight.expected.contains("a.csv:2 says (80)"),
        "{}",
        weight.expected
    );
    assert!(!findings(&inputs)[1].concise(false).contains("1941"));
}

#[test]
fn an_id_twice_in_one_of_several_files_withholds_the_case() {
    let inputs = several(&[
        (
            "a.csv",
            "case_id,procedure_date\nA1,2031-04-03\nA2,2031-04-03\n",
        ),
        ("b.csv", "case_id,height_cm\nA1,172\nA1,172\n"),
    ]);
    assert_eq!(ids(&inputs), ["A2"]);
    assert_eq!(
        places(&inputs),
        [(Code::DuplicateId, 2, 1), (Code::DuplicateId, 3, 1)]
    );
    let inputs = several(&[
        (
            "a.csv",
            "case_id,procedure_date\nA1,2031-04-03\nA2,2031-04-03\n",
        ),
        ("b.csv", "case_id,height_cm\nA1,172,5\n"),
    ]);
    assert_eq!(ids(&inputs), ["A2"]);
    assert_eq!(inputs.withheld.len(), 2);
}

#[test]
fn the_order_of_files_decides_the_order_of_cases_only() {
    let a = (
        "a.csv",
        "case_id,procedure_date\nA1,2031-04-03\nA2,2031-04-03\n",
    );
    let b = ("b.csv", "case_id,height_cm\nA2,168\nA1,172\n");
    assert_eq!(ids(&several(&[a, b])), ["A1", "A2"]);
    let turned = several(&[b, a]);
    assert_eq!(ids(&turned), ["A2", "A1"]);
    assert_eq!(
        turned.records()[1].cells,
        several(&[a, b]).records()[0].cells
    );
}

#[test]
fn visits_go_to_their_case_in_the_order_of_the_file() {
    let inputs = with_visits(
        "case_id,procedure_date\nA1,2031-04-03\nA2,2031-04-03\n",
        "case_id,visit_date,mean_gradient_mmhg\nA2,2031-05-03,9\nA1,2032-04-03,80\nA1,2031-05-03,11\n",
    );
    let visits = &inputs.records()[0].visits;
    let dates: Vec<String> = visits.iter().map(|visit| visit.date.to_string()).collect();
    assert_eq!(dates, ["2032-04-03", "2031-05-03"]);
    assert_eq!(visits[0].notes.unusual, ["mean_gradient_mmhg"]);
    assert_eq!(
        (&*visits[1].place.file, visits[1].place.line),
        ("visits.csv", 4)
    );
    assert_eq!(places(&inputs), [(Code::Unusual, 3, 3)]);
    assert_eq!(&*findings(&inputs)[0].case_id, "A1");
}

#[test]
fn visits_that_fit_nowhere_are_reported_and_those_of_withheld_cases_are_not() {
    let inputs = with_visits(
        "case_id,procedure_date\n00123,2031-04-03\nA2,\n",
        "case_id,visit_date\n123,2031-05-03\nA2,2031-05-03\nZ,2031-05-03\n00123,\n,2031-05-03\n00123,2031-05-04,x\n",
    );
    assert!(inputs.records()[0].visits.is_empty());
    let visits: Vec<_> = findings(&inputs)
        .into_iter()
        .filter(|finding| &*finding.place.file == "visits.csv")
        .collect();
    let found: Vec<_> = visits
        .iter()
        .map(|finding| (finding.code, finding.place.line))
        .collect();
    assert_eq!(
        found,
        [
            (Code::VisitWithoutCase, 2),
            (Code::VisitWithoutCase, 4),
            (Code::RequiredCell, 5),
            (Code::RequiredCell, 6),
            (Code::RowLength, 7)
        ]
    );
    assert!(
        visits[0].expected.contains("has 00123"),
        "{}",
        visits[0].expected
    );
    assert!(visits.iter().all(|finding| !finding.withholds));
}

#[test]
fn devices_without_a_required_cell_or_with_an_id_twice_are_left_out() {
    let inputs = read(
        &[Source::new("cases.csv", "case_id,procedure_date\n")],
        None,
        Some(&Source::new("devices.csv", fixture("devices.csv"))),
        &ReadOptions::default(),
    )
    .unwrap();
    let devices: Vec<&str> = inputs
        .catalogue
        .devices()
        .iter()
        .map(|device| &*device.device_id)
        .collect();
    assert_eq!(devices, ["B26"]);
    assert_eq!(
        inputs.catalogue.get("B26").unwrap().range(),
        Some((430.0, 546.0))
    );
    assert_eq!(
        places(&inputs),
        [
            (Code::DuplicateId, 2, 1),
            (Code::RequiredCell, 4, 2),
            (Code::DuplicateId, 5, 1),
            (Code::RequiredCell, 6, 3),
            (Code::NotAChoice, 6, 3),
            (Code::UnitSlip, 6, 6),
            (Code::UnitSlip, 6, 7)
        ]
    );
    assert!(findings(&inputs)[1].expected.starts_with("label, sized_by"));
}

#[test]
fn findings_are_sorted_by_place_and_name_their_file() {
    let inputs = several(&[
        ("b.csv", "case_id,procedure_date,sex\nA1,2031-04-03,x\n"),
        ("a.csv", "case_id,height_cm\nA1,9\n"),
    ]);
    let lines: Vec<String> = findings(&inputs)
        .iter()
        .map(|finding| finding.concise(false))
        .collect();
    assert!(
        lines[0].starts_with(
            "a.csv:2:2: error not_believable height_cm [A1]: found \"9\", expected 100 to 230 cm"
        ),
        "{}",
        lines[0]
    );
    assert!(
        lines[1].starts_with("b.csv:2:3: error not_a_choice sex [A1]: found \"x\""),
        "{}",
        lines[1]
    );
}
