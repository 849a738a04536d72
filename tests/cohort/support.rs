//! Records for the tests of the summary: by hand, cell by cell, or from a file read the plainest way.

use std::collections::HashMap;
use std::sync::Arc;

use jiff::civil::Date;
use valvefolio::assess::{AcrossCases, Assessment, assess};
use valvefolio::cohort::{Cohort, CohortOptions, Withheld};
use valvefolio::dictionary;
use valvefolio::record::{
    CaseCells, CaseRecord, Catalogue, CellNotes, Cells, Device, DeviceCells, Parsed, RowPlace,
    Text, VisitCells, VisitRecord,
};
use valvefolio::settings::Settings;

/// Sets a cell from its text. A value outside the reject limits leaves it unknown.
pub fn set<C: Cells>(cells: &mut C, column: &str, text: &str) {
    let field = C::field(column).unwrap_or_else(|| panic!("no column {column}"));
    let parsed = match field.kind {
        "number" => Parsed::Number(text.parse().expect(column)),
        "integer" => Parsed::Integer(text.parse().expect(column)),
        "date" => Parsed::Date(text.parse().expect(column)),
        "yes_no" => Parsed::YesNo(text == "yes"),
        "choice" => {
            let position = (field.words)().iter().position(|word| *word == text);
            Parsed::Choice(position.unwrap_or_else(|| panic!("{column} has no choice {text}")))
        }
        _ => Parsed::Text(text.into()),
    };
    let limits = dictionary::column(C::FILE, column).expect("in the dictionary");
    if let Parsed::Number(value) = parsed {
        let too_small = limits.reject_below.is_some_and(|limit| value < limit);
        let too_great = limits.reject_above.is_some_and(|limit| value > limit);
        if too_small || too_great {
            return;
        }
    }
    (field.set)(cells, parsed);
}

fn place() -> RowPlace {
    RowPlace {
        file: Arc::from("by hand"),
        line: 1,
    }
}

/// A case of which only these cells are known.
pub fn case(case_id: &str, procedure_date: &str, known: &[(&str, &str)]) -> CaseRecord {
    let mut cells = CaseCells::default();
    set(&mut cells, "case_id", case_id);
    set(&mut cells, "procedure_date", procedure_date);
    for (column, text) in known {
        set(&mut cells, column, text);
    }
    CaseRecord {
        case_id: case_id.into(),
        procedure_date: procedure_date.parse().expect("a date"),
        cells,
        notes: CellNotes::default(),
        place: place(),
        visits: Vec::new(),
    }
}

/// The case with one more visit.
pub fn with_visit(mut case: CaseRecord, date: &str, known: &[(&str, &str)]) -> CaseRecord {
    let mut cells = VisitCells::default();
    set(&mut cells, "visit_date", date);
    for (column, text) in known {
        set(&mut cells, column, text);
    }
    case.visits.push(VisitRecord {
        date: date.parse().expect("a date"),
        cells,
        notes: CellNotes::default(),
        place: place(),
    });
    case
}

/// Every case assessed on one day.
pub fn assessed(records: &[CaseRecord], catalogue: &Catalogue, as_of: Date) -> Vec<Assessment> {
    records
        .iter()
        .filter_map(|record| {
            let settings = Settings::default();
            assess(record, catalogue, &settings, as_of, AcrossCases::default())
        })
        .collect()
}

/// The summary of these cases; those of a later day than the as-of date are left out.
pub fn cohort_with(
    records: &[CaseRecord],
    catalogue: &Catalogue,
    options: &CohortOptions,
    withheld: &[Withheld],
) -> Cohort {
    let records: Vec<CaseRecord> = records
        .iter()
        .filter(|record| record.procedure_date <= options.as_of)
        .cloned()
        .collect();
    let assessments = assessed(&records, catalogue, options.as_of);
    let pairs: Vec<_> = records.iter().zip(&assessments).collect();
    Cohort::of(&pairs, catalogue, options, withheld)
}

/// The summary without a catalogue and without withheld cases.
pub fn cohort(records: &[CaseRecord], options: &CohortOptions) -> Cohort {
    cohort_with(records, &Catalogue::default(), options, &[])
}

fn table(path: &str) -> Vec<HashMap<String, String>> {
    let path = format!("{}/{path}", env!("CARGO_MANIFEST_DIR"));
    let mut reader =
        csv::Reader::from_path(&path).unwrap_or_else(|fault| panic!("{path}: {fault}"));
    reader
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("a regular table")
}

fn cells_of<C: Cells>(row: &HashMap<String, String>) -> C {
    let mut cells = C::default();
    for (column, text) in row {
        if !text.is_empty() && C::field(column).is_some() {
            set(&mut cells, column, text);
        }
    }
    cells
}

/// The demo quarter.
pub fn demo() -> (Vec<CaseRecord>, Catalogue) {
    let devices = table("fixtures/quarter/devices.csv");
    let catalogue = Catalogue::new(
        devices
            .iter()
            .filter_map(|row| Device::from_cells(cells_of::<DeviceCells>(row)))
            .collect(),
    );
    let mut records: Vec<CaseRecord> = table("fixtures/quarter/cases.csv")
        .iter()
        .map(|row| CaseRecord {
            case_id: Text::from(row["case_id"].as_str()),
            procedure_date: row["procedure_date"].parse().expect("a date"),
            cells: cells_of(row),
            notes: CellNotes::default(),
            place: place(),
            visits: Vec::new(),
        })
        .collect();
    for row in table("fixtures/quarter/followups.csv") {
        let record = records
            .iter_mut()
            .find(|record| *record.case_id == *row["case_id"])
            .expect("a visit of a case");
        record.visits.push(VisitRecord {
            date: row["visit_date"].parse().expect("a date"),
            cells: cells_of(&row),
            notes: CellNotes::default(),
            place: place(),
        });
    }
    (records, catalogue)
}
