//! Every value on a page is that of results.csv, read back by another program.

use std::process::Command;

use super::hard::cohort;
use super::support::report;

/// `tests/tools/check_values.py` reads the pages with poppler and knows for every column of results.csv where a page
/// prints it, or that none does; a new column has to be put on one of its lists. It fails too where no page of the cohort
/// prints a value that it is there to compare.
#[test]
fn every_value_on_a_page_is_the_one_in_results_csv() {
    let tables = cohort(34, 13);
    let out = tempfile::tempdir().expect("a folder");
    let arguments = tables.arguments();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let run = report(
        &arguments,
        out.path(),
        &["--make", "pages,results", "--fail-on", "never"],
    );
    assert_eq!(run.code, 0, "{}", run.err);
    let pages: Vec<_> = std::fs::read_dir(out.path().join("cases"))
        .expect("pages")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    assert_eq!(pages.len(), 34, "one page a case");
    let output = Command::new("python3")
        .arg("tests/tools/check_values.py")
        .arg(out.path().join("results.csv"))
        .args([tables.path("devices"), tables.path("cases")])
        .args(pages)
        .output()
        .expect("python3 runs; the README's second command installs it");
    let said = String::from_utf8_lossy(&output.stdout);
    let failed = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}{failed}");
    assert!(
        said.contains("34 pages") && said.contains(" 0 faults"),
        "{said}"
    );
}

/// The same of the summary and cohort.csv, for all cases of the period.
#[test]
fn every_value_of_the_summary_is_the_one_in_cohort_csv() {
    let tables = cohort(120, 17);
    let out = tempfile::tempdir().expect("a folder");
    let arguments = tables.arguments();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let options = ["--make", "cohort", "--fail-on", "never"];
    let run = report(&arguments, out.path(), &options);
    assert_eq!(run.code, 0, "{}", run.err);
    let output = Command::new("python3")
        .arg("tests/tools/check_summary.py")
        .arg(out.path().join("cohort.csv"))
        .arg(out.path().join("cohort.pdf"))
        .output()
        .expect("python3 runs; the README's second command installs it");
    let said = String::from_utf8_lossy(&output.stdout);
    let failed = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}{failed}");
    let compared: usize = said
        .trim()
        .split(' ')
        .next()
        .and_then(|count| count.parse().ok())
        .expect("a count");
    assert!(compared > 250, "{said}");
}
