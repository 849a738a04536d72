//! results.csv and results.json.

use jiff::civil::Date;

use crate::assess::Assessment;
use crate::assess::definitions::DEFINITIONS;
use crate::dictionary;
use crate::explain::{
    Basis, Identity, OLDER, Teller, Told, Traced, case_json, columns_json, definitions_json,
};
use crate::output::sheet_text::neutral;
use crate::record::{CaseRecord, Catalogue, Choice, Shown, push_date, push_whole};

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

/// A case in both files: its row, behind which stands what it rests on where that is told, and its object.
pub fn row_and_object(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    identity: Identity,
    basis: Option<&Basis>,
) -> (String, String) {
    // Every result is asked for once.
    let traced = Traced::new(record, assessment, catalogue);
    let mut row = Row::of(record, assessment, traced.values(), identity);
    let object = case_json(&traced, identity, |position| row.cell(position));
    if let Some(basis) = basis {
        push_basis(
            record,
            catalogue,
            basis,
            assessment.known.as_of,
            &mut row.text,
        );
    }
    (row.text, object)
}

/// One row of results.csv as itself, and behind it what it rests on, so that a later run can say why a result changed.
pub fn row_with_basis(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    basis: &Basis,
) -> String {
    let mut row = row(record, assessment, Identity::Named);
    push_basis(record, catalogue, basis, assessment.known.as_of, &mut row);
    row
}

/// One row of results.csv. Numbers are written so that they read back as the same number.
pub fn row(record: &CaseRecord, assessment: &Assessment, identity: Identity) -> String {
    Row::of(record, assessment, &assessment.results.all(), identity).text
}

/// Puts what a row rests on behind it.
fn push_basis(
    record: &CaseRecord,
    catalogue: &Catalogue,
    basis: &Basis,
    as_of: Date,
    row: &mut String,
) {
    let line_end = row.pop();
    row.push(',');
    push_date(as_of, row);
    for cell in basis.cells(record, catalogue) {
        row.push(',');
        row.push_str(&cell);
    }
    row.extend(line_end);
}

/// A row of results.csv.
struct Row {
    text: String,
    /// Where the id ends, and each result behind it.
    ends: Vec<usize>,
}

impl Row {
    fn of(
        record: &CaseRecord,
        assessment: &Assessment,
        values: &[Option<Shown<'_>>],
        identity: Identity,
    ) -> Self {
        let teller = Teller::new(
            identity,
            record.procedure_date,
            assessment.results.before.age_years,
        );
        // Most rows take less.
        let mut row = String::with_capacity(2048);
        let mut ends = Vec::with_capacity(values.len() + 1);
        match identity {
            Identity::Named => row.push_str(&neutral(&assessment.case_id)),
            Identity::Numbered(number) => push_whole(number, &mut row),
        }
        ends.push(row.len());
        for (definition, &value) in DEFINITIONS.iter().zip(values) {
            row.push(',');
            match teller.tell(definition.name, value) {
                Told::Value(Shown::Text(text)) => row.push_str(&neutral(text)),
                // What is no text has neither formulas nor separators.
                Told::Value(value) => value.push_plain(&mut row),
                Told::Days(days) => push_whole(days, &mut row),
                Told::Older => row.push_str(OLDER),
                Told::Nothing => {}
            }
            ends.push(row.len());
        }
        let mut fragile: Vec<&str> = assessment
            .fragile
            .iter()
            .map(|fragile| fragile.result)
            .collect();
        fragile.dedup();
        push_list(fragile, &mut row);
        push_list(assessment.in_doubt.iter().copied(), &mut row);
        push_list(assessment.flags.iter().map(|flag| flag.word()), &mut row);
        push_list(assessment.missing.iter().copied(), &mut row);
        row.push('\n');
        Self { text: row, ends }
    }

    /// The result at this position as it is written.
    fn cell(&self, position: usize) -> &str {
        &self.text[self.ends[position] + 1..self.ends[position + 1]]
    }
}

/// Puts a cell with a list behind a row.
fn push_list<'w>(words: impl IntoIterator<Item = &'w str>, row: &mut String) {
    row.push(',');
    for (place, word) in words.into_iter().enumerate() {
        if place > 0 {
            row.push(';');
        }
        row.push_str(word);
    }
}

/// One object of results.json.
pub fn json_row(
    record: &CaseRecord,
    assessment: &Assessment,
    catalogue: &Catalogue,
    identity: Identity,
) -> String {
    row_and_object(record, assessment, catalogue, identity, None).1
}

/// Beginning of results.json: the day it speaks for, where that is told, definitions and columns once, then one object a
/// case, each on a line of its own with [`JSON_BETWEEN`] between and [`JSON_END`] at the end.
pub fn json_begin(as_of: Option<Date>) -> String {
    let as_of = as_of.map_or("null".to_owned(), |day| format!("\"{day}\""));
    format!(
        "{{\n\"as_of\": {as_of},\n\"definitions\": {},\n\"reads_are\": [\"name\", \"unit\", \"of\", \"cell of the case that stands in where there is no such visit\"],\n\"lacks_are\": [\"place of a result in columns\", \"place of an unknown input in its reads and or_reads, or that place and the place of a visit\"],\n\"parts_are\": \"places in the parts of columns, of those that fail and those that are unknown; the others hold\",\n\"columns\": {},\n\"cases\": [\n",
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
