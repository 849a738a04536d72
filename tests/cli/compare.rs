//! `report --compare`: an earlier period's own table beside this one.

use std::path::Path;

use super::support::{DEMO, Run, csv_rows, files, report};

const PERIOD: [&str; 6] = [
    "--from",
    "2026-07-01",
    "--to",
    "2026-09-30",
    "--make",
    "cohort,results",
];

fn demo(out: &Path, options: &[&str]) -> Run {
    report(&DEMO, out, &[&PERIOD, options].concat())
}

fn differences(out: &Path) -> Vec<String> {
    let bytes = std::fs::read(out.join("cohort-series.csv")).expect("written");
    csv_rows(&bytes)
        .into_iter()
        .filter(|row| row["series"] == "difference")
        .map(|row| format!("{row:?}"))
        .collect()
}

/// The demo's own table as the earlier one: its cases before the period are those of the span that the two options give.
#[test]
fn a_table_of_its_own_compares_as_a_span_of_the_same_table() {
    let work = tempfile::tempdir().expect("a folder");
    let (span, table) = (work.path().join("span"), work.path().join("table"));
    let run = demo(
        &span,
        &["--compare-from", "2020-01-01", "--compare-to", "2026-06-30"],
    );
    assert_eq!(run.code, 0, "{}", run.err);
    let run = demo(
        &table,
        &["--compare", DEMO[0], "--compare-followups", DEMO[2]],
    );
    assert_eq!(run.code, 0, "{}", run.err);
    // The same table on either side: what the checks across cells find in it is counted on both.
    let told: Vec<&str> = run
        .err
        .lines()
        .filter(|line| line.contains(" warning"))
        .collect();
    let counts = |line: &str| {
        let words = line.split_once("error").expect("errors are told");
        let warnings = words.1.split("warning").next().expect("warnings are told");
        (
            words.0.trim().rsplit(' ').next().map(str::to_owned),
            warnings.to_owned(),
        )
    };
    let [own, earlier] = told[..] else {
        panic!("{told:?}")
    };
    assert_eq!(counts(own), counts(earlier));
    assert_eq!(differences(&table).len(), 13);
    assert_eq!(differences(&table), differences(&span));
}

#[test]
fn an_earlier_table_changes_the_comparison_and_no_other_file() {
    let work = tempfile::tempdir().expect("a folder");
    let earlier = work.path().join("earlier.csv");
    let rows = "case_id,procedure_date,death_date,last_contact_date\n\
        e1,2026-02-02,2026-02-05,\n\
        e2,2026-02-03,,2026-06-01\n\
        e3,not a date,,2026-06-01\n";
    std::fs::write(&earlier, rows).expect("written");
    let (without, with) = (work.path().join("without"), work.path().join("with"));
    assert_eq!(demo(&without, &[]).code, 0);
    let run = demo(&with, &["--compare", earlier.to_str().expect("plain")]);
    // A withheld row is said, with its place, and ends the run as one of this table would.
    assert_eq!(run.code, 1, "{}", run.err);
    assert!(
        run.err.contains("Earlier period: 2 cases read, 1 withheld"),
        "{}",
        run.err
    );
    assert!(run.err.contains("earlier.csv:4"), "{}", run.err);
    let (before, after) = (files(&without), files(&with));
    assert_eq!(
        before.keys().collect::<Vec<_>>(),
        after.keys().collect::<Vec<_>>()
    );
    for (name, bytes) in &before {
        let may_differ = [
            "cohort.pdf",
            "cohort-series.csv",
            "run.json",
            "documents.csv",
        ];
        assert_eq!(
            bytes == &after[name],
            !may_differ.contains(&name.as_str()),
            "{name}"
        );
    }
    let others = |folder: &Path| {
        let bytes = std::fs::read(folder.join("cohort-series.csv")).expect("written");
        let mut rows = csv_rows(&bytes);
        rows.retain(|row| row["series"] != "difference");
        rows
    };
    assert_eq!(others(&without), others(&with));
    assert!(differences(&with)[0].contains("3/30 against 1/2 before"));
    let text = std::fs::read_to_string(with.join("run.json")).expect("written");
    let run: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let files = run["compared_with"].as_array().expect("the earlier table");
    // With the devices of this period, since none of its own were given.
    assert_eq!(files.len(), 2);
    assert!(
        files[0]["file"]
            .as_str()
            .expect("a name")
            .ends_with("earlier.csv")
    );
}

#[test]
fn a_table_and_a_span_are_not_mixed() {
    let work = tempfile::tempdir().expect("a folder");
    for options in [
        &[
            "--compare",
            DEMO[0],
            "--compare-from",
            "2026-01-01",
            "--compare-to",
            "2026-03-31",
        ][..],
        &["--compare-followups", DEMO[2]],
        &["--compare-devices", DEMO[4]],
    ] {
        let run = demo(work.path(), options);
        assert_eq!(run.code, 2, "{}", run.err);
        assert!(run.err.contains("--compare"), "{}", run.err);
    }
    let run = demo(work.path(), &["--compare", "no-such-table.csv"]);
    assert_eq!(run.code, 2, "{}", run.err);
    assert!(files(work.path()).is_empty(), "nothing is written");
}
