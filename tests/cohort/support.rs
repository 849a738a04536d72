//! Records for the tests of the summary: by hand, cell by cell, or from a file read the plainest way.

use std::path::Path;
use std::sync::Arc;

use valvefolio::assess::{Assessment, Known, Likeness, across_cases, assess};
use valvefolio::cohort::{Cohort, CohortOptions};
use valvefolio::input::{ReadOptions, Source, Withheld, read};
use valvefolio::record::{
    CaseCells, CaseRecord, Catalogue, CellNotes, Cells, Parsed, RowPlace, VisitCells, VisitRecord,
};
use valvefolio::settings::Settings;

/// Sets a cell from its text.
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

/// The summary of these cases; those of a later day than the as-of date are left out.
pub fn cohort_with(
    records: &[CaseRecord],
    catalogue: &Catalogue,
    options: &CohortOptions,
    withheld: &[Withheld],
) -> Cohort {
    let settings = Settings::default();
    let known: Vec<(&CaseRecord, Known)> = records
        .iter()
        .filter_map(|record| Some((record, Known::on(record, options.as_of)?)))
        .collect();
    let across = across_cases(
        &known
            .iter()
            .map(|(record, known)| Likeness::of(record, known))
            .collect::<Vec<_>>(),
    );
    let assessed: Vec<(&CaseRecord, Assessment)> = known
        .into_iter()
        .zip(across)
        .map(|((record, known), across)| {
            (record, assess(record, known, catalogue, &settings, across))
        })
        .collect();
    let pairs: Vec<_> = assessed
        .iter()
        .map(|(record, assessment)| (*record, assessment))
        .collect();
    Cohort::of(&pairs, catalogue, options, withheld)
}

/// The summary without a catalogue and without withheld cases.
pub fn cohort(records: &[CaseRecord], options: &CohortOptions) -> Cohort {
    cohort_with(records, &Catalogue::default(), options, &[])
}

/// The demo quarter, read as a user's files are.
pub fn demo() -> (Vec<CaseRecord>, Catalogue) {
    let open = |name: &str| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/quarter");
        Source::open(&folder.join(name)).expect(name)
    };
    let inputs = read(
        &[open("cases.csv")],
        Some(&open("followups.csv")),
        Some(&open("devices.csv")),
        &ReadOptions::default(),
    )
    .expect("the demo can be read");
    (inputs.records(), inputs.catalogue)
}
