//! `verify`: are the files those of the last run?

use std::path::Path;

use super::support::{Run, report, run};
use super::{NEW, new_run, small};

fn verify(folder: &Path) -> Run {
    run(["verify", folder.to_str().expect("plain path")])
}

#[test]
fn a_folder_as_written_is_whole() {
    let work = tempfile::tempdir().expect("a folder");
    let written = new_run(work.path());
    let verdict = verify(work.path());
    assert_eq!(verdict.code, 0, "{}{}", verdict.out, verdict.err);
    // Every file but run.json, which cannot hold its own hash.
    assert_eq!(
        verdict.out,
        format!("{} files as written\n", written.len() - 1)
    );
}

#[test]
fn what_changed_is_gone_or_is_of_another_run_is_named() {
    let work = tempfile::tempdir().expect("a folder");
    new_run(work.path());
    let file = |name: &str| work.path().join(name);
    // One bit of one file.
    let mut bytes = std::fs::read(file("results.csv")).expect("there");
    let last = bytes.len() - 2;
    bytes[last] ^= 1;
    std::fs::write(file("results.csv"), bytes).expect("written");
    std::fs::remove_file(file("results.json")).expect("removed");
    std::fs::create_dir_all(file("cases")).expect("made");
    std::fs::write(file("cases/OLD-7.pdf"), "page").expect("written");
    std::fs::write(file("cases/.part-12-3"), "half a pa").expect("written");
    std::fs::write(file("notes of ours.txt"), "nobody's business").expect("written");
    let verdict = verify(work.path());
    assert_eq!(verdict.code, 1);
    for line in [
        "changed: results.csv",
        "not there: results.json",
        "not of the last run: cases/OLD-7.pdf",
        "half written: cases/.part-12-3",
    ] {
        assert!(
            verdict.out.lines().any(|found| found == line),
            "{line} not in:\n{}",
            verdict.out
        );
    }
    assert!(!verdict.out.contains("notes of ours"), "{}", verdict.out);
}

#[test]
fn a_table_that_the_last_run_did_not_make_is_named() {
    let work = tempfile::tempdir().expect("a folder");
    new_run(work.path());
    report(&small(NEW), work.path(), &["--make", "cohort"]);
    let verdict = verify(work.path());
    assert_eq!(verdict.code, 1);
    for table in ["results.csv", "results.json"] {
        let line = format!("not of the last run: {table}");
        assert!(
            verdict.out.contains(&line),
            "{line} not in:\n{}",
            verdict.out
        );
    }
}

#[test]
fn a_folder_without_a_run_is_said_to_be_none() {
    let work = tempfile::tempdir().expect("a folder");
    let verdict = verify(work.path());
    assert_eq!(verdict.code, 2);
    assert!(verdict.err.contains("run.json"), "{}", verdict.err);
    assert_eq!(verify(&work.path().join("no such folder")).code, 2);
}
