//! results.csv and results.json.

use jiff::civil::Date;

use crate::assess::Assessment;
use crate::dictionary;
use crate::explain::{
    Basis, Identity, OLDER, Teller, Told, case_json, columns_json, definitions_json,
};
use crate::output::sheet_text::neutral;
use crate::record::{CaseRecord, Catalogue, Choice, Shown, push_whole};

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
    let mut row = row(record, assessment, Identity::Named);
    row.pop();
    for cell in basis.cells(record, assessment, catalogue) {
        row.push(',');
        row.push_str(&cell);
    }
    row.push('\n');
    row
}

/// One row of results.csv. Numbers are written so that they read back as the same number.
pub fn row(record: &CaseRecord, assessment: &Assessment, identity: Identity) -> String {
    let teller = Teller::new(
        identity,
        record.procedure_date,
        assessment.value("age_years"),
    );
    // Most rows take less.
    let mut row = String::with_capacity(2048);
    match identity {
        Identity::Named => row.push_str(&neutral(&assessment.case_id)),
        Identity::Numbered(number) => push_whole(number, &mut row),
    }
    for (name, value) in assessment.results.values() {
        row.push(',');
        match teller.tell(name, value) {
            Told::Value(Shown::Text(text)) => row.push_str(&neutral(text)),
            // What is no text has neither formulas nor separators.
            Told::Value(value) => value.push_plain(&mut row),
            Told::Days(days) => push_whole(days, &mut row),
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

/// Beginning of results.json: the day it speaks for, where that is told, definitions and columns once, then one object a
/// case, each on a line of its own with [`JSON_BETWEEN`] between and [`JSON_END`] at the end.
pub fn json_begin(as_of: Option<Date>) -> String {
    let as_of = as_of.map_or("null".to_owned(), |day| format!("\"{day}\""));
    format!(
        "{{\n\"as_of\": {as_of},\n\"definitions\": {},\n\"reads_are\": [\"name\", \"unit\", \"of\", \"cell of the case that stands in where there is no such visit\"],\n\"columns\": {},\n\"cases\": [\n",
        definitions_json(),
        columns_json()
    )
}

/// Between two objects of results.json.
pub const JSON_BETWEEN: &str = ",\n";
/// End of results.json.
pub const JSON_END: &str = "\n]\n}\n";

/// results.json of one case.
pub fn json(as_of: Date, object: &str) -> String {
    json_begin(Some(as_of)) + object + JSON_END
}
