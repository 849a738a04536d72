//! `report`: what it leaves behind.

use std::collections::BTreeSet;

use super::support::{DEMO, csv_rows, files, report};
use super::traces::inputs;

#[test]
fn the_demo_gives_a_row_a_case_in_the_columns_of_the_contract() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = report(&DEMO, folder.path(), &["--make", "results"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let bytes = std::fs::read(folder.path().join("results.csv")).expect("written");
    let header = String::from_utf8(bytes.clone()).expect("UTF-8");
    let columns: Vec<&str> = header
        .lines()
        .next()
        .expect("a header")
        .split(',')
        .collect();
    let contract: Vec<&str> = valvefolio::dictionary::RESULTS
        .iter()
        .map(|column| column.name.as_str())
        .collect();
    let basis = valvefolio::dictionary::BASIS.map(|(name, ..)| name);
    assert_eq!(
        columns,
        [contract, basis.to_vec()].concat(),
        "those of the contract first"
    );
    let cases = csv_rows(&std::fs::read(DEMO[0]).expect("the demo"));
    let results = csv_rows(&bytes);
    let ids = |rows: &[std::collections::BTreeMap<String, String>]| -> Vec<String> {
        rows.iter().map(|row| row["case_id"].clone()).collect()
    };
    assert_eq!(ids(&results), ids(&cases), "in the order of the file");
}

#[test]
fn results_json_says_for_each_value_how_it_came_about() {
    let folder = tempfile::tempdir().expect("a folder");
    report(&DEMO, folder.path(), &["--make", "results"]);
    let text = std::fs::read_to_string(folder.path().join("results.json")).expect("written");
    let written: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let mut lacking = 0;
    for case in written["cases"].as_array().expect("an array") {
        for (name, result) in case["results"].as_object().expect("results") {
            let definition = &written["definitions"][name];
            assert!(
                definition["formula"]
                    .as_str()
                    .is_some_and(|formula| !formula.is_empty()),
                "{name}"
            );
            let lacks = |value: &serde_json::Value| value.is_null() || value == "not_assessable";
            let missing: Vec<String> = inputs(&written, case, name)
                .into_iter()
                .filter(|input| lacks(&result["value"]) && lacks(input.value))
                .map(|input| input.called)
                .collect();
            let said: Vec<&str> = result["missing"]
                .as_array()
                .into_iter()
                .flatten()
                .filter_map(serde_json::Value::as_str)
                .collect();
            assert_eq!(said, missing, "{} {name}", case["case_id"]);
            lacking += missing.len();
        }
    }
    assert!(lacking > 100, "{lacking} missing");
}

#[test]
fn one_and_two_threads_write_the_same_bytes() {
    let folder = tempfile::tempdir().expect("a folder");
    let (one, two) = (folder.path().join("one"), folder.path().join("two"));
    report(&DEMO, &one, &["--jobs", "1"]);
    report(&DEMO, &two, &["--jobs", "2"]);
    let (one, two) = (files(&one), files(&two));
    assert_eq!(
        one.keys().collect::<Vec<_>>(),
        two.keys().collect::<Vec<_>>()
    );
    for (name, bytes) in &one {
        assert!(two[name] == *bytes, "{name} differs");
    }
}

#[test]
fn run_json_lists_inputs_and_files_with_their_hash_and_no_time() {
    let folder = tempfile::tempdir().expect("a folder");
    report(&DEMO, folder.path(), &[]);
    let text = std::fs::read_to_string(folder.path().join("run.json")).expect("written");
    let run: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(run["inputs"].as_array().expect("inputs").len(), 3);
    let listed: BTreeSet<String> = run["files"]
        .as_array()
        .expect("files")
        .iter()
        .map(|file| file["file"].as_str().expect("a path").to_owned())
        .collect();
    let mut there: BTreeSet<String> = files(folder.path()).into_keys().collect();
    assert!(there.remove("run.json"), "it cannot hold its own hash");
    assert_eq!(listed, there);
}

#[test]
fn a_file_that_cannot_be_replaced_is_named_and_the_others_are_written() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::create_dir_all(folder.path().join("results.csv/in the way")).expect("made");
    let run = report(&DEMO, folder.path(), &["--make", "results"]);
    assert_eq!(run.code, 1);
    assert!(run.err.contains("results.csv"), "{}", run.err);
    assert!(folder.path().join("problems.csv").is_file());
    assert!(folder.path().join("results.json").is_file());
}

#[test]
fn an_unknown_id_in_only_is_said_before_anything_is_written() {
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let run = report(&DEMO, &out, &["--only", "2026-007,2026-999"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("2026-999"), "{}", run.err);
    assert!(!out.exists());
}
