//! Faulty inputs: every fault is reported in its place and costs no other case.

use std::collections::BTreeSet;

use super::support::{csv_rows, report, run};

const FAULTS: &str = "fixtures/quarter/with-faults.csv";
const DEVICES: [&str; 4] = [
    "--devices",
    "fixtures/quarter/devices.csv",
    "--as-of",
    "2026-11-20",
];

#[test]
fn every_fault_of_the_faulty_file_is_in_problems_csv_with_line_and_column() {
    // Written by hand beside the faulty file: what was put where.
    let expected = [
        (1, "ward_colour", "unknown_column"),
        (1, "sinus_of_valsava_mm", "unknown_column"),
        (2, "case_id", "duplicate_id"),
        (3, "annulus_area_mm2", "unit_slip"),
        (4, "height_cm", "unit_slip"),
        (5, "creatinine_umol_l", "unit_slip"),
        (6, "baseline_vmax_m_s", "not_a_number"),
        (7, "baseline_echo_date", "not_a_date"),
        (8, "ct_date", "not_a_date"),
        (9, "procedure_date", "required_cell"),
        (10, "baseline_mean_gradient_mmhg", "contradiction"),
        (11, "annulus_perimeter_mm", "contradiction"),
        (12, "annulus_min_mm", "contradiction"),
        (13, "case_id", "duplicate_id"),
        (14, "stroke_30d", "not_a_choice"),
        (15, "baseline_lvef_pct", "not_a_number"),
        (16, "ct_date", "not_a_date"),
        (17, "", "row_length"),
        (18, "", "row_length"),
        (19, "creatinine_umol_l", "unusual"),
    ];
    let folder = tempfile::tempdir().expect("a folder");
    let mut inputs = vec![FAULTS];
    inputs.extend(DEVICES);
    let run = report(&inputs, folder.path(), &["--make", "results"]);
    assert_eq!(run.code, 1, "cases were withheld: {}", run.err);
    let problems = csv_rows(&std::fs::read(folder.path().join("problems.csv")).expect("written"));
    for (line, column, code) in expected {
        let found = problems.iter().any(|row| {
            row["line"] == line.to_string() && row["column"] == column && row["code"] == code
        });
        assert!(found, "line {line}: {code} in {column}");
    }
}

#[test]
fn a_fault_in_one_row_costs_no_other_case() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut inputs = vec![FAULTS];
    inputs.extend(DEVICES);
    let run = report(&inputs, folder.path(), &["--make", "results"]);
    let results = csv_rows(&std::fs::read(folder.path().join("results.csv")).expect("written"));
    let ids: BTreeSet<&str> = results.iter().map(|row| row["case_id"].as_str()).collect();
    // F-01 stands twice, F-08 has no procedure date, F-15 and F-16 have a wrong number of cells.
    for id in [
        "F-02", "F-03", "F-04", "F-05", "F-06", "F-07", "F-09", "F-10", "F-11", "F-12", "F-13",
        "F-14", "F-17",
    ] {
        assert!(ids.contains(id), "{id}");
    }
    for id in ["F-01", "F-08"] {
        assert!(!ids.contains(id), "{id}");
        assert!(
            run.err.contains(id),
            "{id} is withheld by name:\n{}",
            run.err
        );
    }
}

#[test]
fn check_prints_and_writes_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = std::env::current_dir().expect("a folder").join(FAULTS);
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_valvefolio"))
        .current_dir(folder.path())
        .args([
            "check",
            file.to_str().expect("plain path"),
            "--as-of",
            "2026-11-20",
        ])
        .output()
        .expect("the program starts");
    assert_eq!(output.status.code(), Some(1));
    let err = String::from_utf8(output.stderr).expect("UTF-8");
    assert!(err.contains("unit_slip height_cm [F-03]"), "{err}");
    assert!(err.contains("Nothing was written"), "{err}");
    assert!(!err.contains('\u{1b}'), "no colour in a pipe");
    assert_eq!(
        std::fs::read_dir(folder.path()).expect("a folder").count(),
        0
    );
}

#[test]
fn the_line_of_the_exit_code_can_be_moved() {
    let code = |options: &[&str]| {
        run(["check", FAULTS, "--as-of", "2026-11-20"]
            .iter()
            .chain(options)
            .copied())
        .code
    };
    assert_eq!(code(&[]), 1);
    assert_eq!(code(&["--fail-on", "never"]), 0);
    let demo = |options: &[&str]| {
        run(["check"]
            .iter()
            .chain(&super::support::DEMO)
            .chain(options)
            .copied())
        .code
    };
    assert_eq!(demo(&[]), 0, "nothing withheld in the demo");
    assert_eq!(
        demo(&["--fail-on", "rejected"]),
        1,
        "one creatinine in the wrong unit"
    );
}

#[test]
fn nothing_to_read_is_exit_code_2_and_says_what() {
    let missing = run(["report", "no-such-file.csv"]);
    assert_eq!(missing.code, 2);
    assert!(missing.err.contains("no-such-file.csv"), "{}", missing.err);
    let dates = run([
        "report",
        FAULTS,
        "--from",
        "2026-09-30",
        "--to",
        "2026-07-01",
    ]);
    assert_eq!(dates.code, 2);
    assert!(dates.err.contains("--from"), "{}", dates.err);
    let encoding = run(["check", FAULTS, "--encoding", "no-such-encoding"]);
    assert_eq!(encoding.code, 2);
    assert!(
        encoding.err.contains("no-such-encoding"),
        "{}",
        encoding.err
    );
}

#[test]
fn check_says_every_finding_in_full_where_asked() {
    let check = |options: &[&'static str]| {
        run(["check", FAULTS]
            .into_iter()
            .chain(DEVICES)
            .chain(options.iter().copied()))
    };
    let short = check(&[]);
    let full = check(&["--full"]);
    assert_eq!(short.code, full.code);
    let findings = short.err.lines().count() - 1;
    for part in ["  where ", "  follows "] {
        assert_eq!(full.err.matches(part).count(), findings, "{part}");
    }
    // How a file was read is said without an expectation.
    let expecting = |line: &&str| line.contains("expected ");
    let expecting = short.err.lines().filter(expecting).count();
    assert_eq!(full.err.matches("\n  expected ").count(), expecting);
    assert!(
        full.err.contains("line 4, column 5 (height_cm), case F-03"),
        "{}",
        full.err
    );
    assert!(full.err.contains("the case is withheld"));
}

#[test]
fn check_gives_the_rows_of_problems_csv_as_json() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut inputs = vec![FAULTS];
    inputs.extend(DEVICES);
    report(&inputs, folder.path(), &["--make", "results"]);
    let problems = csv_rows(&std::fs::read(folder.path().join("problems.csv")).expect("written"));
    let json = run(["check", FAULTS]
        .into_iter()
        .chain(DEVICES)
        .chain(["--json"]));
    assert_eq!(json.code, 1);
    let objects: Vec<serde_json::Value> = json
        .out
        .lines()
        .map(|line| serde_json::from_str(line).expect("an object a line"))
        .collect();
    assert_eq!(objects.len(), problems.len());
    for (object, row) in objects.iter().zip(&problems) {
        assert_eq!(object["code"], row["code"].as_str());
        assert_eq!(object["severity"], row["severity"].as_str());
        let line = object["line"]
            .as_u64()
            .map_or_else(String::new, |line| line.to_string());
        assert_eq!(line, row["line"]);
    }
    assert_eq!(
        json.err.lines().count(),
        1,
        "only the closing line: {}",
        json.err
    );
    let both = run(["check", FAULTS, "--json", "--full"]);
    assert_eq!(both.code, 2);
}
