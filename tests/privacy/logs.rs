//! What a run says while it works ends up in logs, and what a file says about itself is seen by who does not open it.

use super::support::{DEMO, csv_rows, files, report};

/// Rows in which what names a patient stands where it does not belong: cells shifted, a name for an id, a name for a
/// number, a date or a choice, a birth date that is none, text that is not in the file's encoding.
const SHIFTED: &[u8] = b"case_id,patient_label,birth_date,sex,height_cm,site,procedure_date,device_serial,discharge_note\n\
A1,Quidam Alpha,1944-13-41,male,171,North,2026-03-04,SER-0001,lives with Quaedam\n\
Quidam Beta,1941-02-03,female,160,North,2026-03-05,SER-0002,,\n\
A3,1944-05-06,Quidam Gamma,Quidam Delta,Quidam Epsilon,North,2026-03-06,SER-0003,x\n\
A4,Quidam Zeta,1950-01-02,male,170,North,Quidam Eta 1950-01-02,SER-0004,x\n\
A5,Quidam \xFFTheta,1950-01-03,male,170,North,2026-03-07,SER-0001,x\n\
A6,Quidam Iota,1950-01-04,male\n\
A7,\"Quidam Kappa,1950-01-05,male,170,North,2026-03-07,SER-0007,x\n";

#[test]
fn nothing_of_a_patient_but_the_case_id_is_said_by_report() {
    let work = tempfile::tempdir().expect("a folder");
    let file = work.path().join("cases.csv");
    std::fs::write(&file, SHIFTED).expect("written");
    let run = report(
        &[file.to_str().expect("plain"), "--as-of", "2026-11-20"],
        &work.path().join("out"),
        &[],
    );
    assert_eq!(run.code, 1, "{}", run.err);
    assert!(
        run.err.contains("A6"),
        "a case is named by its id:\n{}",
        run.err
    );
    for part in ["Quidam", "Quaedam", "194", "195", "SER-"] {
        assert!(!run.err.contains(part), "{part} is said:\n{}", run.err);
        assert!(!run.out.contains(part), "{part} is said:\n{}", run.out);
    }
}

#[test]
fn a_fault_of_the_demo_is_said_by_place_alone() {
    let work = tempfile::tempdir().expect("a folder");
    let run = report(&DEMO, work.path(), &[]);
    let line = run
        .err
        .lines()
        .find(|line| line.contains("unit_slip"))
        .expect("the demo has one");
    assert!(
        line.ends_with("unit_slip creatinine_umol_l [2026-037]"),
        "{line}"
    );
    // What it holds stands in the table of problems.
    let problems = csv_rows(&std::fs::read(work.path().join("problems.csv")).expect("there"));
    let told = problems.iter().find(|row| row["code"] == "unit_slip");
    assert!(told.is_some_and(|row| !row["found"].is_empty()));
}

/// The information dictionary, the XMP packet and the outline are read by search engines and mail gateways; a case page
/// may name its case there, nothing else.
#[test]
fn what_a_pdf_says_about_itself_names_no_patient() {
    let work = tempfile::tempdir().expect("a folder");
    report(&DEMO, work.path(), &[]);
    let cases = csv_rows(&std::fs::read(DEMO[0]).expect("the demo"));
    let mut read = 0;
    for (name, bytes) in files(work.path()) {
        assert!(
            !cases
                .iter()
                .any(|case| name.contains(&case["patient_label"])),
            "{name}"
        );
        if !name.ends_with(".pdf") {
            continue;
        }
        let said = about(&bytes);
        assert!(said.contains("valvefolio"), "the producer is read: {said}");
        for case in &cases {
            for column in ["patient_label", "birth_date", "device_serial", "signed_by"] {
                let cell = &case[column];
                assert!(
                    cell.is_empty() || !said.contains(cell.as_str()),
                    "{name} names {column} {cell}"
                );
            }
        }
        read += 1;
    }
    assert!(read > 0, "the run makes PDF files");
}

/// Information dictionary and XMP packet as text.
fn about(pdf: &[u8]) -> String {
    let document = lopdf::Document::load_mem(pdf).expect("a PDF");
    let mut said = String::new();
    let info = document
        .trailer
        .get(b"Info")
        .and_then(lopdf::Object::as_reference);
    let info = info
        .and_then(|id| document.get_dictionary(id))
        .expect("an information dictionary");
    for (_, value) in info {
        if let Ok(text) = lopdf::decode_text_string(value) {
            said += &text;
            said.push('\n');
        }
    }
    let metadata = document.catalog().expect("a catalogue").get(b"Metadata");
    let packet = metadata
        .and_then(lopdf::Object::as_reference)
        .expect("a packet");
    let packet = document
        .get_object(packet)
        .and_then(lopdf::Object::as_stream)
        .expect("a stream");
    said + &String::from_utf8_lossy(&packet.content)
}
