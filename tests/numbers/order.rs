//! The order of the rows is nobody's result.

use std::collections::BTreeMap;

use jiff::civil::Date;
use valvefolio::draw::{Fonts, Paper};
use valvefolio::input::{ReadOptions, Source, read};
use valvefolio::output::pdf::to_pdf;
use valvefolio::page::case::{PageContext, case_page};
use valvefolio::run::assess_all;
use valvefolio::settings::Settings;

use super::generate::random::Random;
use super::hard::{Tables, cohort, table, write_table};
use super::support::{csv_rows, files, report};

/// Puts the rows of a table in another order (Fisher and Yates 1938, as Durstenfeld 1964 writes it).
fn shuffle(tables: &Tables, name: &str, seed: u64) {
    let (header, mut rows) = table(&tables.path(name));
    let before = rows.clone();
    let mut random = Random::stream(seed, 11, 0);
    for last in (1..rows.len()).rev() {
        rows.swap(last, random.whole(0, last as i64) as usize);
    }
    assert_ne!(rows, before);
    write_table(&tables.path(name), &header, &rows);
}

/// A cohort in which rows were pasted twice and one serial was typed three times, so that cases speak of each other.
fn alike(seed: u64) -> Tables {
    let tables = cohort(60, seed);
    let (header, mut rows) = table(&tables.path("cases"));
    let at = |name: &str| {
        let found = header.iter().position(|column| column == name);
        found.expect("a column")
    };
    let (id, serial) = (at("case_id"), at("device_serial"));
    for (from, to) in [(4, "X-1"), (4, "X-2"), (8, "X-3")] {
        let mut row: Vec<String> = rows[from].clone();
        row[id] = to.to_owned();
        rows.push(row);
    }
    for row in [12, 16, 20] {
        rows[row][serial] = "SAME-1".to_owned();
    }
    write_table(&tables.path("cases"), &header, &rows);
    tables
}

/// The lines of a text, sorted. The comma between the cases of results.json follows the order and is left out.
fn sorted_lines(bytes: &[u8]) -> Vec<String> {
    let text = std::str::from_utf8(bytes).expect("UTF-8");
    let lines = text.lines().map(|line| line.trim_end_matches(','));
    let mut lines: Vec<String> = lines.map(str::to_owned).collect();
    lines.sort();
    lines
}

#[test]
fn tables_in_another_order_give_the_same_results_and_summaries() {
    let tables = alike(5);
    let work = tempfile::tempdir().expect("a folder");
    let arguments = tables.arguments();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let options = ["--make", "results,cohort,followup", "--fail-on", "never"];
    let made = |name: &str| {
        let run = report(&arguments, &work.path().join(name), &options);
        assert_eq!(run.code, 0, "{}", run.err);
        files(&work.path().join(name))
    };
    let one = made("one");
    for (seed, name) in ["cases", "followups"].into_iter().enumerate() {
        shuffle(&tables, name, seed as u64);
    }
    let other = made("other");
    let names: Vec<&String> = one.keys().collect();
    assert_eq!(names, other.keys().collect::<Vec<_>>());
    // What stands in the order of the cases file has the same lines; what has an order of its own is the same.
    for name in [
        "results.csv",
        "results.json",
        "devices-used.csv",
        "data-gaps.csv",
    ] {
        assert!(
            sorted_lines(&one[name]) == sorted_lines(&other[name]),
            "{name}"
        );
    }
    for name in [
        "cohort.csv",
        "cohort-series.csv",
        "worklist.csv",
        "visits.ics",
    ] {
        assert!(one[name].len() > 100, "{name}");
        assert!(one[name] == other[name], "{name}");
    }
}

/// A set of sizes stands in the order of the catalogue, which is the site's own; nothing else follows it.
#[test]
fn a_catalogue_in_another_order_changes_the_order_within_sets_alone() {
    let tables = alike(8);
    let arguments = tables.arguments();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let results = || {
        let out = tempfile::tempdir().expect("a folder");
        let options = ["--make", "results,cohort", "--fail-on", "never"];
        let run = report(&arguments, out.path(), &options);
        assert_eq!(run.code, 0, "{}", run.err);
        let mut files = files(out.path());
        let mut rows = csv_rows(&files["results.csv"]);
        for row in &mut rows {
            // The catalogue as a whole is told apart by its rows in their order.
            row.remove("catalogue_hash");
            for (_, cell) in row.iter_mut().filter(|(name, _)| name.ends_with("_sizes")) {
                let mut sizes: Vec<&str> = cell.split(';').collect();
                sizes.sort_unstable();
                *cell = sizes.join(";");
            }
        }
        (rows, files.remove("cohort.csv"))
    };
    let one = results();
    shuffle(&tables, "devices", 3);
    assert!(one == results());
}

/// The page of every case as bytes. Where a row stands and the hash of the file, which the page names as its source, are
/// left out: they are about the file.
fn pages(tables: &Tables) -> BTreeMap<String, Vec<u8>> {
    let fonts = Fonts::load();
    let as_of: Date = tables.as_of.parse().expect("a day");
    let [cases, visits, devices] = ["cases", "followups", "devices"]
        .map(|name| Source::open(&tables.path(name)).expect("written"));
    let options = ReadOptions::default();
    let inputs = read(&[cases], Some(&visits), Some(&devices), &options).expect("tables");
    let settings = Settings::default();
    let work = assess_all(inputs, settings, as_of);
    let context = PageContext {
        paper: Paper::A4,
        centre_lines: &[],
        contact_lines: &[],
        program_version: "0",
        definitions_version: "1",
        sources: &[],
        settings: &settings,
    };
    let mut pages = BTreeMap::new();
    for (record, assessment) in &work.all_assessed() {
        let mut record = record.clone();
        record.place.line = 2;
        let page = case_page(&record, assessment, &work.catalogue, &context, &fonts);
        let page = page.unwrap_or_else(|fault| panic!("{fault}"));
        let bytes = to_pdf(&page.document, &fonts).expect("written");
        pages.insert(record.case_id.to_string(), bytes);
    }
    pages
}

#[test]
fn tables_in_another_order_give_the_same_pages() {
    let tables = alike(6);
    let one = pages(&tables);
    for (seed, name) in ["cases", "followups"].into_iter().enumerate() {
        shuffle(&tables, name, seed as u64 + 7);
    }
    let other = pages(&tables);
    assert_eq!(one.len(), 63);
    assert!(one.keys().eq(other.keys()));
    let differing: Vec<&String> = one.keys().filter(|id| one[*id] != other[*id]).collect();
    assert!(differing.is_empty(), "{differing:?}");
}
