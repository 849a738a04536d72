//! Pages of earlier runs that nobody answers for any more.

use super::support::report;
use super::{NEW, small};

#[test]
fn pages_of_cases_that_are_gone_or_withheld_are_named_and_kept() {
    let work = tempfile::tempdir().expect("a folder");
    std::fs::create_dir(work.path().join("cases")).expect("made");
    let page = |name: &str| work.path().join("cases").join(name);
    for name in ["F-02.pdf", "F-01.pdf", "OLD-7.pdf", "notes.txt"] {
        std::fs::write(page(name), "page").expect("written");
    }
    let run = report(
        &["fixtures/quarter/with-faults.csv", "--as-of", "2026-11-20"],
        work.path(),
        &["--make", "results", "--fail-on", "never"],
    );
    assert_eq!(run.code, 0, "{}", run.err);
    let lines: Vec<&str> = run.err.lines().collect();
    let after = |line: &str| {
        let at = lines.iter().position(|found| found.contains(line));
        lines[at.unwrap_or_else(|| panic!("{line} not in:\n{}", run.err)) + 1]
    };
    assert_eq!(
        after("that is in these tables no longer"),
        "  cases/OLD-7.pdf"
    );
    assert_eq!(after("that is withheld now"), "  cases/F-01.pdf");
    assert!(!run.err.contains("cases/F-02.pdf"), "a case of the tables");
    assert!(!run.err.contains("notes.txt"), "no page");
    for name in ["F-02.pdf", "F-01.pdf", "OLD-7.pdf", "notes.txt"] {
        assert_eq!(std::fs::read(page(name)).expect("kept"), b"page");
    }
}

#[test]
fn nothing_is_said_where_there_is_nothing_stale() {
    let work = tempfile::tempdir().expect("a folder");
    report(&small(NEW), work.path(), &[]);
    let run = report(&small(NEW), work.path(), &["--make", "results"]);
    assert!(!run.err.contains("of an earlier run"), "{}", run.err);
}

/// Root may write anywhere, but nobody can put a file where a folder with something in it stands.
#[test]
fn a_page_that_could_not_be_renewed_is_named() {
    let work = tempfile::tempdir().expect("a folder");
    std::fs::create_dir_all(work.path().join("cases/2023-001.pdf/in the way")).expect("made");
    let run = report(&small(NEW), work.path(), &[]);
    assert_eq!(run.code, 1, "{}", run.err);
    let mut lines = run.err.lines();
    assert!(
        lines.any(|line| line.contains("whose new page could not be made")),
        "{}",
        run.err
    );
    assert_eq!(lines.next(), Some("  cases/2023-001.pdf"));
}
