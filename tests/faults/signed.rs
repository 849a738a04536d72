//! A file that was signed is never lost, whatever happens to the run that wrote it and to those after it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::disk::{Fault, run_of};
use super::support::{csv_rows, files, report};
use super::{NEW, TABLES};

const CASE: &str = "2023-001";
const PAGE: &str = "cases/2023-001.pdf";

/// The cases with other cells in the row of one of them.
fn tables_with(folder: &Path, case: &str, cells: &[(&str, &str)]) -> PathBuf {
    let mut reader = csv::Reader::from_path(&TABLES[0]).expect("the tables");
    let header = reader.headers().expect("a header").clone();
    let path = folder.join("cases.csv");
    let mut writer = csv::Writer::from_path(&path).expect("created");
    writer.write_record(&header).expect("written");
    for row in reader.records() {
        let row = row.expect("a row");
        let of_case = &row[0] == case;
        let cells = header.iter().zip(&row).map(|(name, cell)| {
            let other = cells.iter().find(|(column, _)| of_case && *column == name);
            other.map_or(cell, |(_, other)| *other)
        });
        writer.write_record(cells).expect("written");
    }
    writer.flush().expect("written");
    path
}

fn arguments(cases: &Path) -> [&str; 7] {
    let cases = cases.to_str().expect("plain path");
    [
        cases,
        "--devices",
        &TABLES[2],
        "--as-of",
        NEW,
        "--make",
        "pages",
    ]
}

fn document(out: &Path) -> BTreeMap<String, String> {
    let documents = csv_rows(&std::fs::read(out.join("documents.csv")).expect("written"));
    let found = documents.into_iter().find(|row| row["case_id"] == CASE);
    found.expect("the case's page")
}

/// Cells of the case before and after it is signed by its page's own code.
fn signature(work: &Path) -> [Vec<(&'static str, String)>; 2] {
    let unsigned = ["signed_by", "signed_on", "signed_hash"].map(|name| (name, String::new()));
    let cases = tables_with(work, CASE, &borrowed(&unsigned));
    let out = work.join("to-sign");
    report(&arguments(&cases), &out, &[]);
    let code = document(&out)["check_code"].clone();
    let signed = vec![
        ("signed_by", "Physician 1".to_owned()),
        ("signed_on", NEW.to_owned()),
        ("signed_hash", code),
    ];
    [unsigned.to_vec(), signed]
}

fn borrowed<'a>(cells: &'a [(&'a str, String)]) -> Vec<(&'a str, &'a str)> {
    cells
        .iter()
        .map(|(name, cell)| (*name, cell.as_str()))
        .collect()
}

#[test]
fn a_signed_page_outlives_the_run_that_died_before_it_listed_it() {
    let work = tempfile::tempdir().expect("a folder");
    let [unsigned, signed] = signature(work.path());
    let mut standing = 0;
    for at in 1.. {
        let out = work.path().join(at.to_string());
        let cases = tables_with(work.path(), CASE, &borrowed(&unsigned));
        assert_eq!(report(&arguments(&cases), &out, &[]).code, 0);
        let draft = std::fs::read(out.join(PAGE)).expect("written");

        let cases = tables_with(work.path(), CASE, &borrowed(&signed));
        if run_of(&arguments(&cases), Fault::Dies, at, &out).is_none() {
            break;
        }
        let page = std::fs::read(out.join(PAGE)).expect("old or new");

        let mut changed = borrowed(&signed);
        changed.push(("post_mean_gradient_mmhg", "13"));
        let cases = tables_with(work.path(), CASE, &changed);
        let run = report(&arguments(&cases), &out, &[]);
        assert_eq!(run.code, 0, "{}", run.err);
        assert_eq!(document(&out)["state"], "recorded as signed");
        if page != draft {
            standing += 1;
            let kept = files(&out.join("superseded"));
            assert!(kept.values().any(|kept| *kept == page), "change {at}");
        }
    }
    assert!(standing > 3, "the signed page stood at {standing} ends");
}

#[test]
fn a_signed_page_stays_the_file_that_was_signed() {
    let work = tempfile::tempdir().expect("a folder");
    let out = work.path().join("out");
    let [_, signed] = signature(work.path());
    let cases = tables_with(work.path(), CASE, &borrowed(&signed));
    report(&arguments(&cases), &out, &[]);
    assert_eq!(document(&out)["state"], "signed");
    let page = std::fs::read(out.join(PAGE)).expect("written");

    // Another row changes, and with it the hash of the file that the foot of every page names.
    let text = std::fs::read_to_string(&cases).expect("a table");
    std::fs::write(&cases, text.replace("2023-002", "2023-902")).expect("written");
    let run = report(&arguments(&cases), &out, &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(std::fs::read(out.join(PAGE)).expect("there") == page);
    assert_eq!(document(&out)["state"], "signed");

    // The list is lost: what the file says of itself is enough.
    std::fs::remove_file(out.join("documents.csv")).expect("removed");
    let mut changed = borrowed(&signed);
    changed.push(("post_mean_gradient_mmhg", "13"));
    let cases = tables_with(work.path(), CASE, &changed);
    report(&arguments(&cases), &out, &[]);
    let aside = out.join(format!("superseded/{CASE}-{}.pdf", signed[2].1));
    assert!(std::fs::read(&aside).expect("kept") == page);

    // Another file under that name is not overwritten either.
    std::fs::write(&aside, "another").expect("written");
    let cases = tables_with(work.path(), CASE, &borrowed(&signed));
    report(&arguments(&cases), &out, &[]);
    let again = std::fs::read(out.join(PAGE)).expect("written");
    let cases = tables_with(work.path(), CASE, &changed);
    report(&arguments(&cases), &out, &[]);
    let kept = files(&out.join("superseded"));
    assert_eq!(std::fs::read(&aside).expect("there"), b"another");
    assert!(kept.values().any(|kept| *kept == again));
    assert_eq!(kept.len(), 2);
}
