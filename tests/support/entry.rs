//! The ways into the program for bytes that nobody vouches for. Property tests and fuzz targets go in by the same.

#![allow(dead_code, reason = "each user goes in by the ways it needs")]

use std::collections::HashSet;
use std::sync::LazyLock;

use jiff::civil::date;
use valvefolio::diagnostic::problems_csv;
use valvefolio::dictionary::RESULTS;
use valvefolio::draw::{Fonts, Paper};
use valvefolio::explain::Identity;
use valvefolio::input::site::Site;
use valvefolio::input::{Inputs, ReadOptions, Source, read};
use valvefolio::output::pdf::to_pdf;
use valvefolio::output::results;
use valvefolio::page::case::{PageContext, SourceLine, case_page};
use valvefolio::run::{Work, assess_all};
use valvefolio::settings::Settings;

/// What parts the three tables in the bytes of one trial.
pub const NEXT_TABLE: &[u8] = b"\n%%%\n";

/// Bytes of a cases file, a follow-up file and a devices file → records. The first byte chooses the encoding asked for.
pub fn reader(bytes: &[u8]) -> Option<Inputs> {
    let (choice, bytes) = bytes.split_first()?;
    let encoding = [
        None,
        Some(encoding_rs::WINDOWS_1252),
        Some(encoding_rs::UTF_16LE),
        Some(encoding_rs::SHIFT_JIS),
    ][usize::from(choice % 4)];
    let options = ReadOptions {
        encoding,
        ..ReadOptions::default()
    };
    let [cases, followups, devices] = tables(bytes);
    let inputs = read(
        &[Source::new("c.csv", cases)],
        Some(&Source::new("f.csv", followups)),
        Some(&Source::new("d.csv", devices)),
        &options,
    )
    .or_else(|_| read(&[Source::new("c.csv", cases)], None, None, &options))
    .ok()?;
    let rows = usize::try_from(inputs.files[0].rows).expect("few rows");
    assert_eq!(
        inputs.cases.len() + inputs.withheld.len(),
        rows,
        "every row is a case or withheld"
    );
    let ids: HashSet<String> = inputs
        .cases
        .iter()
        .map(|case| case.case_id.to_ascii_lowercase())
        .collect();
    assert_eq!(
        ids.len(),
        inputs.cases.len(),
        "every case has a file name of its own"
    );
    for finding in &inputs.diagnostics {
        let line = finding.concise(false);
        assert!(!line.contains(char::is_control), "{line:?}");
        assert!(line.chars().count() < 1000, "{line}");
    }
    cells_are_no_formulas(&problems_csv(&inputs.diagnostics));
    Some(inputs)
}

/// The same, and on to the bytes of results.csv and results.json, named and de-identified.
pub fn pipeline(bytes: &[u8]) -> Option<Work> {
    let inputs = reader(bytes)?;
    let work = assess_all(inputs, Settings::default(), date(2026, 11, 20));
    let cases = work.all_assessed();
    for identity in [Identity::Named, Identity::Numbered(7)] {
        let mut table = results::header();
        for (record, assessment) in &cases {
            table += &results::row(record, assessment, identity);
            let json = results::json_row(record, assessment, &work.catalogue, identity);
            let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
            assert_eq!(
                json["results"].as_array().map(Vec::len),
                Some(RESULTS.len() - 5)
            );
        }
        // An id may hold any letters; no other cell may say that a computation went wrong.
        let wrong = table
            .lines()
            .flat_map(|line| line.split(',').skip(1))
            .find(|cell| matches!(*cell, "NaN" | "inf" | "-inf"));
        assert_eq!(wrong, None);
        let rows = cells_are_no_formulas(table.as_bytes());
        assert_eq!(rows, work.cases.len());
    }
    cells_are_no_formulas(&problems_csv(&work.diagnostics));
    Some(work)
}

/// The same, and on to the pages and the PDF files of the cases: one page each, or a fault that names the case.
pub fn pages(bytes: &[u8]) {
    static FONTS: LazyLock<Fonts> = LazyLock::new(Fonts::load);
    let Some(work) = pipeline(bytes) else { return };
    let sources: Vec<SourceLine> = work
        .files
        .iter()
        .map(|file| SourceLine {
            file: file.name.to_string(),
            sha256: Some(file.sha256.clone()),
        })
        .collect();
    let settings = Settings::default();
    let context = PageContext {
        paper: Paper::A4,
        centre_lines: &[],
        contact_lines: &[],
        program_version: "0",
        definitions_version: "1",
        sources: &sources,
        settings: &settings,
    };
    for (record, assessment) in work.all_assessed().iter().take(2) {
        match case_page(record, assessment, &work.catalogue, &context, &FONTS) {
            Ok(page) => {
                assert_eq!(page.document.sheets.len(), 1);
                let pdf = to_pdf(&page.document, &FONTS).expect("every page can be written");
                assert!(pdf.starts_with(b"%PDF-"));
            }
            Err(fault) => assert!(fault.to_string().contains(&*record.case_id), "{fault}"),
        }
    }
}

/// Bytes of a site file.
pub fn site(bytes: &[u8]) {
    match Site::read(&Source::new("site.toml", bytes)) {
        Ok(site) => {
            let _ = site.read_options(None);
        }
        Err(error) => {
            assert!(!error.faults.is_empty());
            assert!(
                error
                    .faults
                    .iter()
                    .all(|fault| fault.line > 0 && fault.column > 0)
            );
        }
    }
}

fn tables(bytes: &[u8]) -> [&[u8]; 3] {
    let cut = |bytes: &[u8]| {
        bytes
            .windows(NEXT_TABLE.len())
            .position(|window| window == NEXT_TABLE)
    };
    let (cases, rest) = match cut(bytes) {
        Some(at) => (&bytes[..at], &bytes[at + NEXT_TABLE.len()..]),
        None => (bytes, &b""[..]),
    };
    let (followups, devices) = match cut(rest) {
        Some(at) => (&rest[..at], &rest[at + NEXT_TABLE.len()..]),
        None => (rest, &b""[..]),
    };
    [cases, followups, devices]
}

/// Reads a table as any other program would (RFC 4180: rows of one length) and demands that no cell begins as a formula
/// does unless it is a number. The beginnings are those of OWASP, "CSV Injection". Returns the number of rows.
pub fn cells_are_no_formulas(table: &[u8]) -> usize {
    let mut reader = csv::Reader::from_reader(table);
    let rows: Vec<csv::StringRecord> = reader
        .records()
        .collect::<Result<_, _>>()
        .expect("rows of one length");
    for cell in rows.iter().flatten() {
        let begins = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
        assert!(
            !begins || cell.replace(',', ".").parse::<f64>().is_ok(),
            "{cell:?}"
        );
    }
    rows.len()
}
