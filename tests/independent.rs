//! Random hard cohorts, read a second time by a program in another language written from the definitions alone.
//!
//! `tests/independent/` holds that program (Python 3, standard library only). Expected values are its own.

use std::path::Path;
use std::process::Command;

use valvefolio::explain::Identity;
use valvefolio::input::{ReadOptions, Source, read};
use valvefolio::output::results;
use valvefolio::run::{Work, assess_all};
use valvefolio::settings::Settings;

const AS_OF: jiff::civil::Date = jiff::civil::date(2026, 3, 31);
/// Lists that the second reading leaves blank.
const NOT_READ_TWICE: [&str; 2] = ["in_doubt", "missing"];
/// Relative difference from which two values differ.
const TOLERANCE: f64 = 1e-9;

fn python(script: &str, arguments: &[&str]) {
    let status = Command::new("python3")
        .arg(Path::new("tests/independent").join(script))
        .args(arguments)
        .status()
        .expect("python3 runs; the README's second command installs it");
    assert!(status.success(), "{script} {arguments:?}");
}

fn source(folder: &Path, file: &str) -> Source {
    Source::open(&folder.join(file)).expect("a file just written")
}

fn ours(folder: &Path) -> Work {
    let inputs = read(
        &[source(folder, "cases.csv")],
        Some(&source(folder, "followups.csv")),
        Some(&source(folder, "devices.csv")),
        &ReadOptions::default(),
    )
    .expect("readable files");
    assess_all(inputs, Settings::default(), AS_OF)
}

fn rows(text: &[u8]) -> Vec<Vec<(String, String)>> {
    let mut reader = csv::Reader::from_reader(text);
    let header = reader.headers().expect("a header").clone();
    reader
        .records()
        .map(|row| {
            let row = row.expect("a row");
            header
                .iter()
                .map(str::to_owned)
                .zip(row.iter().map(str::to_owned))
                .collect()
        })
        .collect()
}

fn same(one: &str, other: &str) -> bool {
    one == other
        || match (one.parse::<f64>(), other.parse::<f64>()) {
            (Ok(one), Ok(other)) => (one - other).abs() <= TOLERANCE * one.abs().max(1.0),
            _ => false,
        }
}

#[test]
fn hard_random_cohorts_agree_with_the_second_reading_in_every_value() {
    let folder = tempfile::tempdir().expect("a folder for the cohorts");
    for seed in ["11", "12", "13"] {
        let cohort = folder.path().join(seed);
        let path = |file: &str| cohort.join(file).to_str().expect("plain path").to_owned();
        python(
            "make_cases.py",
            &[
                cohort.to_str().expect("plain path"),
                "--seed",
                seed,
                "--cases",
                "400",
            ],
        );
        python(
            "reading.py",
            &[
                &path("cases.csv"),
                "--followups",
                &path("followups.csv"),
                "--devices",
                &path("devices.csv"),
                "--as-of",
                &AS_OF.to_string(),
                "--out",
                &path("expected.csv"),
            ],
        );
        let expected = rows(&std::fs::read(path("expected.csv")).expect("just written"));
        let work = ours(&cohort);
        let written: String = std::iter::once(results::header())
            .chain(
                work.all_assessed()
                    .iter()
                    .map(|(record, case)| results::row(record, case, Identity::Named)),
            )
            .collect();
        let found = rows(written.as_bytes());
        assert!(expected.len() > 300, "a cohort to compare");
        assert_eq!(expected.len(), found.len(), "the same cases are reported");
        let mut differences = Vec::new();
        for (expected, found) in expected.iter().zip(&found) {
            for ((column, expected_value), (same_column, value)) in expected.iter().zip(found) {
                assert_eq!(column, same_column, "columns in the order of the contract");
                if !NOT_READ_TWICE.contains(&column.as_str()) && !same(expected_value, value) {
                    differences.push(format!(
                        "{} {column}: “{expected_value}”, here “{value}”",
                        expected[0].1
                    ));
                }
            }
        }
        assert!(
            differences.is_empty(),
            "seed {seed}:\n{}",
            differences.join("\n")
        );
    }
}
