//! results.csv and results.json.

use std::fmt::Write as _;

use crate::assess::Assessment;
use crate::dictionary;
use crate::explain::{Basis, Identity, OLDER, Teller, Told, case_json, definitions_json, plain};
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

/// The header of a file whose rows say what they rest on ([`row_with_basis`]).
pub fn header_with_basis() -> String {
    let names: Vec<&str> = dictionary::BASIS.iter().map(|(name, ..)| *name).collect();
    format!("{},{}\n", header().trim_end(), names.join(","))
}

/// One row of results.csv as itself, and behind it what it rests on, so that a later run can say why a result changed.
pub fn row_with_basis(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    basis: &Basis,
) -> String {
    let row = row(record, assessment, Identity::Named);
    let basis = basis.cells(record, assessment, catalogue);
    format!("{},{}\n", row.trim_end_matches('\n'), basis.join(","))
}

/// One row of results.csv. Numbers are written so that they read back as the same number.
pub fn row(record: &CaseRecord, assessment: &Assessment, identity: Identity) -> String {
    let teller = Teller::new(
        identity,
        record.procedure_date,
        assessment.value("age_years"),
    );
    let mut row = match identity {
        Identity::Named => neutral(&assessment.case_id).into_owned(),
        Identity::Numbered(number) => number.to_string(),
    };
    for (name, value) in assessment.results.values() {
        row.push(',');
        match teller.tell(name, value) {
            Told::Value(Shown::Number(number)) => {
                let _ = write!(row, "{number}");
            }
            Told::Value(Shown::Word(word)) => row.push_str(word),
            Told::Value(value) => row.push_str(&neutral(&plain(Some(value)))),
            Told::Days(days) => {
                let _ = write!(row, "{days}");
            }
            Told::Older => row.push_str(OLDER),
            Told::Nothing => {}
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

/// One object of results.json.
pub fn json_row(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    identity: Identity,
) -> String {
    case_json(record, assessment, catalogue, identity)
}

/// Beginning of results.json: the definitions of all results once, then one object a case, each on a line of its own
/// with [`JSON_BETWEEN`] between and [`JSON_END`] at the end.
pub fn json_begin() -> String {
    format!(
        "{{\n\"definitions\": {},\n\"inputs_are\": [\"name\", \"value\", \"unit\", \"from\"],\n\"cases\": [\n",
        definitions_json()
    )
}

/// Between two objects of results.json.
pub const JSON_BETWEEN: &str = ",\n";
/// End of results.json.
pub const JSON_END: &str = "\n]\n}\n";

/// results.json of one case.
pub fn json(object: &str) -> String {
    json_begin() + object + JSON_END
}
