//! The pages of the demo, read by another program (poppler's).

use std::path::Path;
use std::process::Command;

use super::support::{DEMO, csv_rows, report, run};

/// What another program reads in a PDF.
fn poppler(program: &str, file: &Path) -> String {
    let output = Command::new(program)
        .args(if program == "pdftotext" {
            vec!["-layout"]
        } else {
            vec![]
        })
        .arg(file)
        .args(if program == "pdftotext" {
            vec!["-"]
        } else {
            vec![]
        })
        .output()
        .expect("poppler-utils; the README's second command installs them");
    assert!(output.status.success(), "{program} {}", file.display());
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[test]
fn every_case_has_one_page_that_names_it_and_says_it_is_made_up() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = report(&DEMO, folder.path(), &["--make", "pages"]);
    assert_eq!(run.code, 0, "{}", run.err);
    for case in csv_rows(&std::fs::read(DEMO[0]).expect("the demo")) {
        let file = folder.path().join(format!("cases/{}.pdf", case["case_id"]));
        assert!(
            poppler("pdfinfo", &file).contains("Pages:           1\n"),
            "{}",
            file.display()
        );
        let text = poppler("pdftotext", &file);
        let (head, foot) = text.split_at(text.find("sign in ink").expect("a place to sign"));
        for part in [head, foot] {
            assert!(part.contains(&case["case_id"]), "{}", case["case_id"]);
            // Labels in Greek, Cyrillic and with accents are searched as they were typed.
            assert!(
                case["patient_label"].is_empty() || part.contains(&case["patient_label"]),
                "{text}"
            );
        }
        assert!(text.contains("made up"), "{}", case["case_id"]);
    }
}

#[test]
fn only_makes_the_pages_asked_for_and_touches_no_other() {
    let folder = tempfile::tempdir().expect("a folder");
    report(&DEMO, folder.path(), &["--make", "pages"]);
    let other = folder.path().join("cases/2026-008.pdf");
    let before = std::fs::metadata(&other)
        .expect("there")
        .modified()
        .expect("a time");
    let again = report(
        &DEMO,
        folder.path(),
        &["--make", "pages", "--only", "2026-007"],
    );
    assert_eq!(again.code, 0, "{}", again.err);
    assert_eq!(
        std::fs::metadata(&other)
            .expect("there")
            .modified()
            .expect("a time"),
        before
    );
    let documents = csv_rows(&std::fs::read(folder.path().join("documents.csv")).expect("written"));
    let cases = csv_rows(&std::fs::read(DEMO[0]).expect("the demo"));
    assert_eq!(
        documents.len(),
        cases.len(),
        "the other pages are still listed"
    );
    let verified = run(["verify", folder.path().to_str().expect("plain path")]);
    assert_eq!(verified.code, 0, "{}", verified.out);
}
