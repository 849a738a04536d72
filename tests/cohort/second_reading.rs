//! The measures against a second reading of the definitions, written in another language by somebody else
//! (`tests/independent/cohort.py`): of the demo, and of random cohorts made to be hard.

use std::path::Path;
use std::process::Command;

use jiff::civil::{Date, date};
use valvefolio::cohort::{COLUMNS, Cohort, CohortOptions};
use valvefolio::input::{ReadOptions, Source, read};
use valvefolio::run::assess_all;
use valvefolio::settings::Settings;

fn python(script: &str, arguments: &[&str]) -> String {
    let output = Command::new("python3")
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .arg(Path::new("tests/independent").join(script))
        .args(arguments)
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

/// Compares every measure of the period for all cases of the files in `folder`.
fn compare(folder: &Path, as_of: Date, from: Option<Date>, to: Option<Date>) {
    let path = |name: &str| folder.join(name);
    let open = |name: &str| Source::open(&path(name)).expect(name);
    let inputs = read(
        &[open("cases.csv")],
        Some(&open("followups.csv")),
        Some(&open("devices.csv")),
        &ReadOptions::default(),
    )
    .expect("files that can be read");
    let work = assess_all(inputs, Settings::default(), as_of);
    let assessments = work.assessments();
    let cases: Vec<_> = assessments.iter().collect();
    let mut options = CohortOptions::new(as_of);
    (options.from, options.to) = (from, to);
    let cohort = Cohort::of(&cases, &work.catalogue, &options, &work.withheld);
    let ours = rows(&String::from_utf8(cohort.csv_bytes()).expect("text"));
    assert_eq!(ours[0], COLUMNS);

    let text = |name: &str| path(name).to_str().expect("a plain path").to_owned();
    let mut arguments = vec![
        text("cases.csv"),
        "--followups".to_owned(),
        text("followups.csv"),
        "--devices".to_owned(),
        text("devices.csv"),
        "--as-of".to_owned(),
        as_of.to_string(),
    ];
    for (option, day) in [("--from", from), ("--to", to)] {
        if let Some(day) = day {
            arguments.extend([option.to_owned(), day.to_string()]);
        }
    }
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let theirs = rows(&python("cohort.py", &arguments));
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

fn demo() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/quarter")
}

#[test]
fn the_demo_agrees_with_the_second_reading() {
    let as_of = date(2026, 11, 20);
    compare(&demo(), as_of, None, None);
    compare(
        &demo(),
        as_of,
        Some(date(2026, 7, 1)),
        Some(date(2026, 9, 30)),
    );
}

#[test]
fn hard_random_cohorts_agree_with_the_second_reading() {
    let folder = tempfile::tempdir().expect("a folder");
    for seed in ["21", "22", "23"] {
        let cohort = folder.path().join(seed);
        let place = cohort.to_str().expect("a plain path");
        python("make_cases.py", &[place, "--seed", seed, "--cases", "200"]);
        for from in [None, Some(date(2025, 1, 1))] {
            compare(&cohort, date(2026, 3, 31), from, None);
        }
    }
}
