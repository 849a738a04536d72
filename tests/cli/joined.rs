//! Several cases files side by side: nobody has to paste.

use std::collections::BTreeMap;
use std::path::Path;

use super::support::{DEMO, csv_rows, report};

/// Splits the demo's cases by where the values come from: clinic, echo, CT. Each file has the key, and its rows in an
/// order of its own.
fn split_into(folder: &Path) -> Vec<String> {
    let bytes = std::fs::read(DEMO[0]).expect("the demo");
    let mut reader = csv::Reader::from_reader(&bytes[..]);
    let headers = reader.headers().expect("a header").clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let file_of = |column: &str| match &*valvefolio::dictionary::column("cases", column)
        .expect("a column")
        .from
    {
        "echo" => "echo",
        "ct" => "ct",
        _ => "clinic",
    };
    ["clinic", "echo", "ct"]
        .iter()
        .enumerate()
        .map(|(turn, name)| {
            let mine: Vec<usize> = (0..headers.len())
                .filter(|&at| at == 0 || file_of(&headers[at]) == *name)
                .collect();
            assert!(mine.len() > 10, "{name}");
            let path = folder.join(format!("{name}.csv"));
            let mut writer = csv::Writer::from_path(&path).expect("a file");
            writer
                .write_record(mine.iter().map(|&at| &headers[at]))
                .expect("written");
            let mut rows: Vec<_> = rows.iter().collect();
            if turn > 0 {
                rows.rotate_left(turn * 7);
                rows.reverse();
            }
            for row in rows {
                writer
                    .write_record(mine.iter().map(|&at| &row[at]))
                    .expect("written");
            }
            writer.flush().expect("written");
            path.to_str().expect("plain path").to_owned()
        })
        .collect()
}

fn with_demo<'a>(cases: &[&'a str]) -> Vec<&'a str> {
    cases
        .iter()
        .copied()
        .chain(DEMO[1..].iter().copied())
        .collect()
}

#[test]
fn three_files_by_source_give_the_results_of_one() {
    let folder = tempfile::tempdir().expect("a folder");
    let files = split_into(folder.path());
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    let (one, three) = (folder.path().join("one"), folder.path().join("three"));
    assert_eq!(report(&DEMO, &one, &["--make", "results"]).code, 0);
    let run = report(&with_demo(&files), &three, &["--make", "results"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let read = |folder: &Path| std::fs::read(folder.join("results.csv")).expect("written");
    assert!(read(&one) == read(&three), "results.csv differs");
}

#[test]
fn a_finding_names_the_file_that_the_cell_came_from() {
    let folder = tempfile::tempdir().expect("a folder");
    let files = split_into(folder.path());
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    let out = folder.path().join("out");
    report(&with_demo(&files), &out, &["--make", "results"]);
    let problems = csv_rows(&std::fs::read(out.join("problems.csv")).expect("written"));
    let place = |row: &BTreeMap<String, String>| {
        let name = row["file"]
            .rsplit('/')
            .next()
            .unwrap_or_default()
            .to_owned();
        (name, row["column"].clone())
    };
    let unusual: Vec<_> = problems
        .iter()
        .filter(|row| row["code"] == "unusual")
        .map(place)
        .collect();
    assert!(
        unusual.iter().any(|(file, _)| file != "clinic.csv"),
        "{unusual:?}"
    );
    for (file, column) in unusual {
        let Some(known) = valvefolio::dictionary::column("cases", &column) else {
            continue;
        };
        if !matches!(&*known.from, "echo" | "ct") || file == "followups.csv" {
            continue;
        }
        assert_eq!(file, format!("{}.csv", known.from), "{column}");
    }
}

#[test]
fn two_values_for_one_cell_are_said_and_neither_is_used() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("other.csv");
    // 2026-007 has 602 mm2 in the demo.
    std::fs::write(&path, "case_id,annulus_area_mm2\n2026-007,560\n").expect("written");
    let other = path.to_str().expect("plain path");
    let out = folder.path().join("out");
    report(&with_demo(&[DEMO[0], other]), &out, &["--make", "results"]);
    let problems = csv_rows(&std::fs::read(out.join("problems.csv")).expect("written"));
    let said = problems.iter().any(|row| {
        row["case_id"] == "2026-007"
            && row["column"] == "annulus_area_mm2"
            && row["code"] == "contradiction"
    });
    assert!(said, "{problems:?}");
    let results = csv_rows(&std::fs::read(out.join("results.csv")).expect("written"));
    let row = results
        .iter()
        .find(|row| row["case_id"] == "2026-007")
        .expect("the case");
    assert!(
        row["missing"].contains("annulus_area_mm2"),
        "{}",
        row["missing"]
    );
}
