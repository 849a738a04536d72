//! `--deidentify`: what is written names nobody.

use std::path::{Path, PathBuf};

use serde_json::Value;

use super::generate::{self, Settings, day::Day};
use super::support::{DEMO, Run, csv_rows, files, report};
use super::traces::{under, value};
use super::words::{as_on_a_page, everything_said, naming_words, text_of_pages};

/// Generated tables: 150 cases.
fn generated(folder: &Path) -> [PathBuf; 3] {
    let settings = Settings {
        cases: 150,
        seed: 20_261,
        holes: 0.08,
        until: "2026-09-30".parse::<Day>().expect("a day"),
    };
    generate::files::write(&settings, folder).expect("written");
    ["cases.csv", "followups.csv", "devices.csv"].map(|name| folder.join(name))
}

/// The tables of a generated cohort as arguments of `report`.
fn arguments(tables: &[PathBuf; 3]) -> Vec<&str> {
    let [cases, followups, devices] = tables
        .each_ref()
        .map(|path| path.to_str().expect("plain path"));
    vec![
        cases,
        "--followups",
        followups,
        "--devices",
        devices,
        "--as-of",
        "2026-11-20",
    ]
}

fn deidentified(inputs: &[&str], out: &Path, options: &[&str]) -> Run {
    let run = report(inputs, out, &[&["--deidentify"], options].concat());
    assert_eq!(run.code, 0, "{}", run.err);
    run
}

/// Demands that nothing that names someone in the tables is said anywhere in the folder, nor on the terminal.
fn says_nothing(of: &[&Path], out: &Path, run: &Run) {
    let words = naming_words(of);
    assert!(words.len() > 100);
    let mut said = everything_said(out);
    said.push(("standard error".to_owned(), run.err.clone()));
    for (name, text) in &said {
        let on_a_page = text.replace('\u{a0}', " ");
        for word in &words {
            // The as-of date and the twelve months to it are the release's own, not a patient's.
            if ["2026-11-20", "2025-11-21"].contains(&word.as_str()) {
                continue;
            }
            assert!(!text.contains(word.as_str()), "{name} says {word:?}");
            if let Some(date) = as_on_a_page(word) {
                let date = format!(" {date}");
                assert!(!on_a_page.contains(&date), "{name} says {date}");
            }
        }
    }
}

#[test]
fn results_of_the_demo_say_no_name_no_date_and_no_text_of_the_tables() {
    let work = tempfile::tempdir().expect("a folder");
    let run = deidentified(&DEMO, work.path(), &["--make", "results"]);
    says_nothing(&[Path::new(DEMO[0]), Path::new(DEMO[2])], work.path(), &run);
}

#[test]
fn results_of_a_generated_cohort_say_no_name_no_date_and_no_text_of_the_tables() {
    let work = tempfile::tempdir().expect("a folder");
    let tables = generated(&work.path().join("in"));
    let out = work.path().join("out");
    let run = deidentified(&arguments(&tables), &out, &["--make", "results"]);
    says_nothing(&[&tables[0], &tables[1]], &out, &run);
}

#[test]
fn the_cohort_summary_says_none_either() {
    let work = tempfile::tempdir().expect("a folder");
    let (demo, out) = (work.path().join("demo"), work.path().join("out"));
    let run = deidentified(&DEMO, &demo, &[]);
    says_nothing(&[Path::new(DEMO[0]), Path::new(DEMO[2])], &demo, &run);
    let tables = generated(&work.path().join("in"));
    let run = deidentified(&arguments(&tables), &out, &[]);
    says_nothing(&[&tables[0], &tables[1]], &out, &run);
}

#[test]
fn the_search_finds_the_names_in_a_folder_that_has_them() {
    let work = tempfile::tempdir().expect("a folder");
    report(&DEMO, work.path(), &[]);
    let words = naming_words(&[Path::new(DEMO[0])]);
    let said = everything_said(work.path());
    let packet = said.iter().find(|(name, _)| name == "followup.pdf");
    let packet = packet.expect("there").1.replace('\u{a0}', " ");
    assert!(
        words
            .iter()
            .filter_map(|word| as_on_a_page(word))
            .any(|date| packet.contains(&format!(" {date}"))),
        "a page that has dates says them in these words"
    );
    for file in [
        "results.csv",
        "results.json",
        "cohort.pdf",
        "devices-used.csv",
        "run.json",
    ] {
        let (_, text) = said.iter().find(|(name, _)| name == file).expect("there");
        assert!(
            words.iter().any(|word| text.contains(word.as_str())),
            "{file}"
        );
    }
}

#[test]
fn only_files_that_name_nobody_are_written() {
    let work = tempfile::tempdir().expect("a folder");
    let summary = work.path().join("summary");
    let run = deidentified(&DEMO, &summary, &[]);
    assert!(run.err.contains("--make results"), "{}", run.err);
    let single = work.path().join("single");
    deidentified(&DEMO, &single, &["--make", "results"]);
    for (folder, names) in [
        (
            &summary,
            &["cohort.csv", "cohort-series.csv", "cohort.pdf", "run.json"][..],
        ),
        (&single, &["results.csv", "results.json", "run.json"]),
    ] {
        let mut written: Vec<String> = files(folder).into_keys().collect();
        written.retain(|name| !name.starts_with('.'));
        let mut names: Vec<String> = names.iter().map(|&name| name.to_owned()).collect();
        names.sort();
        written.sort();
        assert_eq!(written, names);
    }
    let written = files(&summary);
    for name in [
        "problems.csv",
        "devices-used.csv",
        "documents.csv",
        "worklist.csv",
        "followup.pdf",
    ] {
        assert!(!written.contains_key(name), "{name}");
    }
    assert!(
        !written.keys().any(|name| name.contains('/')),
        "{:?}",
        written.keys()
    );
}

#[test]
fn rows_are_numbered_in_an_order_of_their_own_and_tell_days() {
    let work = tempfile::tempdir().expect("a folder");
    let (named, numbered) = (work.path().join("named"), work.path().join("numbered"));
    report(&DEMO, &named, &["--make", "results"]);
    deidentified(&DEMO, &numbered, &["--make", "results"]);
    let read = |folder: &Path| csv_rows(&std::fs::read(folder.join("results.csv")).expect("there"));
    let (named, numbered) = (read(&named), read(&numbered));
    assert_eq!(named.len(), numbered.len());
    for (position, row) in numbered.iter().enumerate() {
        assert_eq!(row["case_id"], (position + 1).to_string());
        let due = &row["next_visit_due"];
        assert!(due.is_empty() || due.parse::<i64>().is_ok(), "{due}");
    }
    let column = |rows: &[std::collections::BTreeMap<String, String>], name: &str| -> Vec<String> {
        rows.iter().map(|row| row[name].clone()).collect()
    };
    let (before, after) = (column(&named, "bsa_m2"), column(&numbered, "bsa_m2"));
    assert_ne!(before, after, "the order of the table is not told");
    let sorted = |mut cells: Vec<String>| {
        cells.sort();
        cells
    };
    assert_eq!(sorted(before), sorted(after), "and no row is lost");
}

/// 45 CFR 164.514(b)(2)(i)(C): ages over 89, and all elements of dates indicative of such age, may be told only as "90
/// or older".
#[test]
fn an_age_above_89_is_90_plus_and_cannot_be_computed_back() {
    let work = tempfile::tempdir().expect("a folder");
    let file = work.path().join("cases.csv");
    let rows = "case_id,procedure_date,birth_date,age_years,sex,weight_kg,height_cm,creatinine_umol_l\n\
        A1,2026-03-04,1936-03-05,,male,80,170,88.4\n\
        A2,2026-03-04,1936-03-04,,male,81,170,88.4\n\
        A3,2026-03-04,,93.5,male,82,170,88.4\n";
    std::fs::write(&file, rows).expect("written");
    let inputs = [file.to_str().expect("plain"), "--as-of", "2026-11-20"];
    let out = work.path().join("out");
    deidentified(&inputs, &out, &["--make", "results"]);
    let results = csv_rows(&std::fs::read(out.join("results.csv")).expect("there"));
    let told = |bmi: f64| {
        let row = results
            .iter()
            .find(|row| (row["bmi_kg_m2"].parse::<f64>().expect("a number") - bmi).abs() < 1e-6)
            .expect("a row");
        (
            row["age_years"].as_str(),
            row["creatinine_clearance_ml_min"].is_empty(),
        )
    };
    // The day before the ninetieth birthday, the day itself, and an age without a date.
    assert_eq!(told(80.0 / 2.89), ("89", false));
    assert_eq!(told(81.0 / 2.89), ("90+", true));
    assert_eq!(told(82.0 / 2.89), ("90+", true));
    let json = std::fs::read_to_string(out.join("results.json")).expect("there");
    let results: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let cases = results["cases"].as_array().expect("an array");
    let case_of = |bmi: f64| {
        let bmi_of = |case| {
            value(&results, case, "bmi_kg_m2")
                .as_f64()
                .expect("a number")
        };
        let case = cases.iter().find(|case| (bmi_of(case) - bmi).abs() < 1e-6);
        case.expect("a case")
    };
    let clearance = |case| value(&results, case, "creatinine_clearance_ml_min");
    let young = case_of(80.0 / 2.89);
    assert_eq!(value(&results, young, "age_years"), 89);
    assert!(clearance(young).is_number());
    for (kg, age_cell) in [(81.0, Value::Null), (82.0, "90+".into())] {
        let old = case_of(kg / 2.89);
        assert_eq!(value(&results, old, "age_years"), "90+");
        assert_eq!(
            *under(&results, "case", &old["case"], "age_years"),
            age_cell
        );
        assert!(under(&results, "case", &old["case"], "birth_date").is_null());
        assert!(clearance(old).is_null());
    }
    assert!(results["as_of"].is_null());
}

#[test]
fn run_json_tells_hashes_and_counts_but_no_paths() {
    let work = tempfile::tempdir().expect("a folder");
    deidentified(&DEMO, work.path(), &[]);
    let text = std::fs::read_to_string(work.path().join("run.json")).expect("there");
    let run: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    assert_eq!(run["deidentified"], true);
    for input in run["inputs"].as_array().expect("inputs") {
        assert!(input["file"].is_null());
        assert_eq!(input["sha256"].as_str().map(str::len), Some(64));
    }
    assert!(
        !text.contains(".csv\"") || !text.contains("cases.csv"),
        "{text}"
    );
}

#[test]
fn what_names_patients_and_what_does_not_never_stand_in_one_folder() {
    let work = tempfile::tempdir().expect("a folder");
    let (named, numbered) = (work.path().join("named"), work.path().join("numbered"));
    report(&DEMO, &named, &[]);
    deidentified(&DEMO, &numbered, &[]);
    for (out, options) in [(&named, &["--deidentify"][..]), (&numbered, &[])] {
        let before = files(out);
        let run = report(&DEMO, out, options);
        assert_eq!(run.code, 2, "{}", run.err);
        assert!(run.err.contains("--out"), "{}", run.err);
        assert_eq!(files(out), before);
    }
    let pages = report(
        &DEMO,
        &work.path().join("new"),
        &["--deidentify", "--make", "pages"],
    );
    assert_eq!(pages.code, 2);
    assert!(pages.err.contains("name their patients"), "{}", pages.err);
}

/// Sixty cases of which so many died: written as a user's table is.
fn table_with_deaths(file: &Path, deaths: usize) {
    let mut text =
        "case_id,procedure_date,operator,sex,stroke_30d,euroscore2_reported_pct,death_date,last_contact_date\n".to_owned();
    for number in 0..60 {
        let end = if number < deaths {
            "2026-05-03,"
        } else {
            ",2026-06-20"
        };
        let operator = ["P", "Q", "R"][number % 3];
        text += &format!("c{number:02},2026-05-01,{operator},female,none,5,{end}\n");
    }
    // A row that is withheld for each death, so that their number is hidden too.
    for number in 0..deaths {
        text += &format!("w{number:02},,P,female,none,5,,2026-06-20\n");
    }
    std::fs::write(file, text).expect("written");
}

/// Everything in a folder, the words of the PDF included, without hashes (of tables that differ, they differ).
fn said_without_hashes(out: &Path) -> Vec<(String, String)> {
    let hash = |word: &str| {
        let word = word.trim_matches(|c: char| !c.is_ascii_alphanumeric());
        word.len() >= 16 && word.bytes().all(|byte| byte.is_ascii_hexdigit())
    };
    files(out)
        .into_iter()
        .map(|(name, bytes)| {
            // Bytes of a PDF differ with its fonts, which hold the letters of the hashes.
            let text = if name.ends_with(".pdf") {
                text_of_pages(&bytes)
            } else {
                String::from_utf8(bytes).expect("text")
            };
            let words: Vec<&str> = text.split_whitespace().filter(|word| !hash(word)).collect();
            (name, words.join(" "))
        })
        .collect()
}

/// cohort.pdf, cohort.csv, cohort-series.csv, run.json and the terminal together: the same whether one died or four.
#[test]
fn all_files_together_give_no_hidden_count_away() {
    let work = tempfile::tempdir().expect("a folder");
    let file = work.path().join("cases.csv");
    let run = |deaths: usize| {
        table_with_deaths(&file, deaths);
        let out = work.path().join(format!("out{deaths}"));
        let inputs = [file.to_str().expect("plain"), "--as-of", "2026-07-01"];
        let run = report(&inputs, &out, &["--deidentify", "--fail-on", "never"]);
        assert_eq!(run.code, 0, "{}", run.err);
        said_without_hashes(&out)
    };
    let first = run(1);
    assert!(
        first
            .iter()
            .any(|(name, text)| name == "cohort.pdf" && text.contains("masked"))
    );
    assert!(first.len() >= 4, "{first:?}");
    for deaths in 2..=4 {
        assert_eq!(run(deaths), first, "{deaths} deaths");
    }
    assert_ne!(run(5), first);
}

/// In the results of single cases every count can be counted, so they never stand beside a summary that masks them.
#[test]
fn results_of_single_cases_never_stand_beside_the_summary() {
    let work = tempfile::tempdir().expect("a folder");
    let both = ["--deidentify", "--make", "results,cohort"];
    let run = report(&DEMO, &work.path().join("both"), &both);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("could be counted"), "{}", run.err);
    for (first, second) in [("results", "cohort"), ("cohort", "results")] {
        let out = work.path().join(first);
        deidentified(&DEMO, &out, &["--make", first]);
        let before = files(&out);
        let run = report(&DEMO, &out, &["--deidentify", "--make", second]);
        assert_eq!(run.code, 2, "{}", run.err);
        assert!(run.err.contains("could be counted"), "{}", run.err);
        assert_eq!(files(&out), before);
    }
}

#[test]
fn a_de_identified_summary_is_compared_with_nothing() {
    let work = tempfile::tempdir().expect("a folder");
    for options in [
        &["--compare", DEMO[0]][..],
        &["--compare-from", "2026-01-01", "--compare-to", "2026-03-31"],
    ] {
        let run = report(&DEMO, work.path(), &[&["--deidentify"], options].concat());
        assert_eq!(run.code, 2, "{}", run.err);
        assert!(files(work.path()).is_empty());
    }
}
