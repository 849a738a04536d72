//! results.csv and results.json.

use std::fmt::Write as _;

use crate::assess::Assessment;
use crate::dictionary;
use crate::explain::{case_json, definitions_json, plain};
use crate::output::sheet_text::neutral;
use crate::record::{CaseRecord, Catalogue, Choice, Shown};

/// The header of results.csv: the columns of the dictionary, in its order.
pub fn header() -> String {
    let names: Vec<&str> = dictionary::RESULTS
        .iter()
        .map(|column| column.name.as_str())
        .collect();
    names.join(",") + "\n"
}

/// One row of results.csv. Numbers are written so that they read back as the same number.
pub fn row(assessment: &Assessment) -> String {
    let mut row = neutral(&assessment.case_id).into_owned();
    for (_, value) in assessment.results.values() {
        row.push(',');
        match value {
            Some(Shown::Number(number)) => {
                let _ = write!(row, "{number}");
            }
            other => row.push_str(&neutral(&plain(other))),
        }
    }
    let mut fragile: Vec<&str> = assessment
        .fragile
        .iter()
        .map(|fragile| fragile.result)
        .collect();
    fragile.dedup();
    let flags: Vec<&str> = assessment.flags.iter().map(|flag| flag.word()).collect();
    for list in [&fragile, &assessment.in_doubt, &flags, &assessment.missing] {
        row.push(',');
        row.push_str(&list.join(";"));
    }
    row.push('\n');
    row
}

/// results.json up to its cases: the definitions of all results, once.
pub fn json_opening() -> String {
    format!(
        "{{\n\"definitions\": {},\n\"inputs_are\": [\"name\", \"value\", \"unit\", \"from\"],\n\"cases\": [\n",
        definitions_json()
    )
}

/// One case of results.json, on a line of its own.
pub fn json_row(record: &CaseRecord, assessment: &Assessment, catalogue: &Catalogue) -> String {
    case_json(record, assessment, catalogue).to_string()
}

/// results.json after its cases.
pub const JSON_CLOSING: &str = "\n]\n}\n";
