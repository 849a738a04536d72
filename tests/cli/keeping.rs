//! Sheets over time: which is current, what became of a signed one, is the folder whole.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::support::{csv_rows, report, run};

const CASE: &str = "2026-022";

/// The demo with one cell of one case changed, written beside the output.
fn demo_with(folder: &Path, changes: &[(&str, &str)]) -> PathBuf {
    let mut reader = csv::Reader::from_path("fixtures/quarter/cases.csv").expect("the demo");
    let header = reader.headers().expect("a header").clone();
    let path = folder.join("cases.csv");
    let mut writer = csv::Writer::from_path(&path).expect("writable");
    writer.write_record(&header).expect("written");
    for row in reader.records() {
        let row = row.expect("a row");
        let mut cells: Vec<String> = row.iter().map(str::to_owned).collect();
        if cells[0] == CASE {
            for (column, value) in changes {
                let position = header
                    .iter()
                    .position(|name| name == *column)
                    .expect("a column");
                cells[position] = (*value).to_owned();
            }
        }
        writer.write_record(&cells).expect("written");
    }
    writer.flush().expect("written");
    path
}

fn make(folder: &Path, changes: &[(&str, &str)]) -> BTreeMap<String, String> {
    let cases = demo_with(folder, changes);
    let inputs = [
        cases.to_str().expect("plain path"),
        "--devices",
        "fixtures/quarter/devices.csv",
        "--as-of",
        "2026-11-20",
    ];
    let out = folder.join("out");
    let run = report(&inputs, &out, &["--make", "pages", "--only", CASE]);
    assert_eq!(run.code, 0, "{}", run.err);
    let documents = csv_rows(&std::fs::read(out.join("documents.csv")).expect("written"));
    documents
        .into_iter()
        .find(|row| row["case_id"] == CASE)
        .expect("the case's sheet")
}

#[test]
fn a_sheet_is_current_until_its_contents_change() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let out = out.to_str().expect("plain path");
    let first = make(folder.path(), &[]);
    let code = first["check_code"].as_str();
    let asked = run(["current", code, "--in", out]);
    assert_eq!(asked.code, 0);
    assert!(
        asked.out.contains("current") && asked.out.contains(CASE),
        "{}",
        asked.out
    );
    let bare = code.replace('-', "").to_lowercase();
    assert_eq!(
        run(["current", &bare, "--in", out]).code,
        0,
        "however it is typed"
    );

    let second = make(folder.path(), &[("post_mean_gradient_mmhg", "11")]);
    let third = make(folder.path(), &[("post_mean_gradient_mmhg", "12")]);
    assert_ne!(first["check_code"], second["check_code"]);
    for old in [&first, &second] {
        let asked = run(["current", &old["check_code"], "--in", out]);
        assert_eq!(asked.code, 1);
        assert!(asked.out.contains("not current"), "{}", asked.out);
        assert!(asked.out.contains(&third["check_code"]), "{}", asked.out);
    }
    assert_eq!(
        run(["current", "2222-2222", "--in", out]).code,
        2,
        "never made here"
    );
}

#[test]
fn the_same_contents_have_the_same_code_and_replace_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let first = make(folder.path(), &[]);
    let again = make(folder.path(), &[]);
    assert_eq!(first, again);
    assert_eq!(again["replaces"], "");
}

#[test]
fn a_signed_sheet_is_moved_aside_and_never_overwritten() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let unsigned = [("signed_by", ""), ("signed_on", ""), ("signed_hash", "")];
    let draft = make(folder.path(), &unsigned);
    assert_eq!(draft["state"], "draft");
    let code = draft["check_code"].clone();
    let signature = [
        ("signed_by", "Dr Demo"),
        ("signed_on", "2026-11-19"),
        ("signed_hash", code.as_str()),
    ];
    let signed = make(folder.path(), &signature);
    assert_eq!(
        signed["state"], "signed",
        "the code of the page that was signed is this page's"
    );
    assert_eq!(
        signed["check_code"], code,
        "signing does not change what was signed"
    );
    let bytes = std::fs::read(out.join(&signed["file"])).expect("the signed sheet");

    let mut changed = signature.to_vec();
    changed.push(("post_mean_gradient_mmhg", "13"));
    let later = make(folder.path(), &changed);
    assert_eq!(
        later["state"], "recorded as signed",
        "another page than the one that was signed"
    );
    let aside = out.join(format!("superseded/{CASE}-{code}.pdf"));
    assert!(
        std::fs::read(&aside).expect("moved aside") == bytes,
        "byte for byte"
    );
}

#[test]
fn a_folder_is_whole_or_says_what_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    make(folder.path(), &[]);
    let out = folder.path().join("out");
    let verify = || run(["verify", out.to_str().expect("plain path")]);
    assert_eq!(verify().code, 0, "{}", verify().out);
    std::fs::write(out.join("problems.csv"), "changed").expect("written");
    std::fs::remove_file(out.join("devices-used.csv")).expect("removed");
    std::fs::write(out.join("cases/of-nobody.pdf"), "left over").expect("written");
    let verdict = verify();
    assert_eq!(verdict.code, 1);
    for line in [
        "changed: problems.csv",
        "not there: devices-used.csv",
        "not of the last run: cases/of-nobody.pdf",
    ] {
        assert!(verdict.out.contains(line), "{line} in:\n{}", verdict.out);
    }
    assert_eq!(
        run([
            "verify",
            folder.path().join("nothing").to_str().expect("plain path")
        ])
        .code,
        2
    );
}
