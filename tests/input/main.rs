//! Files → records, as a user meets it: hostile files in, records and findings out.
//!
//! Expected values are worked out by hand from the dictionary's limits, RFC 4180 and ISO 8601; where another source
//! stands behind one it is named beside the check.

mod cells;
mod draft;
mod files;
mod joined;
mod large;
mod properties;
mod site;
mod units;

use valvefolio::diagnostic::{Code, Diagnostic};
use valvefolio::input::{Inputs, ReadOptions, Source, read};

/// Reads one cases file.
fn cases(bytes: impl Into<Vec<u8>>) -> Inputs {
    read(
        &[Source::new("cases.csv", bytes)],
        None,
        None,
        &ReadOptions::default(),
    )
    .expect("a table")
}

/// Reads one cases file with one row, of one column besides id and date.
fn cell(column: &str, text: &str) -> Inputs {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record(["case_id", "procedure_date", column])
        .unwrap();
    writer.write_record(["A1", "2031-04-03", text]).unwrap();
    cases(writer.into_inner().unwrap())
}

/// Every finding but how the file was read.
fn findings(inputs: &Inputs) -> Vec<&Diagnostic> {
    inputs
        .diagnostics
        .iter()
        .filter(|finding| finding.code != Code::HowRead)
        .collect()
}

/// Code, line and position of every finding but how the file was read.
fn places(inputs: &Inputs) -> Vec<(Code, u64, usize)> {
    findings(inputs)
        .iter()
        .map(|finding| {
            (
                finding.code,
                finding.place.line,
                finding.place.column_number,
            )
        })
        .collect()
}

/// A file of `fixtures/input`.
fn fixture(name: &str) -> Vec<u8> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/input/");
    std::fs::read(format!("{path}{name}")).expect("fixture")
}
