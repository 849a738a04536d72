//! The measures of the demo against a second reading of the definitions, written in another language by somebody else
//! (`tests/independent/cohort.py`).

use std::process::Command;

use jiff::civil::date;
use valvefolio::cohort::{COLUMNS, CohortOptions};

use crate::support::{cohort_with, demo};

fn second_reading(dates: &[&str]) -> String {
    let output = Command::new("python3")
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .arg("tests/independent/cohort.py")
        .arg("fixtures/quarter/cases.csv")
        .args(["--followups", "fixtures/quarter/followups.csv"])
        .args(["--devices", "fixtures/quarter/devices.csv"])
        .args(["--as-of", "2026-11-20"])
        .args(dates)
        .output()
        .expect("python3 runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("text")
}

fn rows(text: &str) -> Vec<Vec<String>> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(text.as_bytes())
        .records()
        .map(|record| {
            record
                .expect("a record")
                .iter()
                .map(str::to_owned)
                .collect()
        })
        .collect()
}

fn same(ours: &str, theirs: &str) -> bool {
    ours == theirs
        || match (ours.parse::<f64>(), theirs.parse::<f64>()) {
            (Ok(ours), Ok(theirs)) => (ours - theirs).abs() <= 1e-9 * theirs.abs().max(1.0),
            _ => false,
        }
}

fn compare(options: &CohortOptions, dates: &[&str]) {
    let (records, catalogue) = demo();
    let cohort = cohort_with(&records, &catalogue, options, &[]);
    let ours = rows(&String::from_utf8(cohort.csv_bytes()).expect("text"));
    let theirs = rows(&second_reading(dates));
    assert_eq!(ours[0], COLUMNS);
    assert!(theirs.len() > 30, "every measure is read");
    let mut differences = Vec::new();
    for expected in &theirs[1..] {
        let found = ours
            .iter()
            .find(|row| row[..3] == expected[..3])
            .unwrap_or_else(|| panic!("no row {:?}", &expected[..3]));
        for (column, (ours, theirs)) in found.iter().zip(expected).enumerate() {
            if !same(ours, theirs) {
                differences.push(format!(
                    "{} {}: {ours} here, {theirs} there",
                    expected[0], COLUMNS[column]
                ));
            }
        }
    }
    assert!(differences.is_empty(), "{differences:#?}");
}

#[test]
fn the_quarter_agrees_with_the_second_reading() {
    let mut options = CohortOptions::new(date(2026, 11, 20));
    options.from = Some(date(2026, 7, 1));
    options.to = Some(date(2026, 9, 30));
    compare(&options, &["--from", "2026-07-01", "--to", "2026-09-30"]);
}

#[test]
fn all_cases_agree_with_the_second_reading() {
    compare(&CohortOptions::new(date(2026, 11, 20)), &[]);
}
