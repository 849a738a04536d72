//! Records written by hand, cell by cell.

use std::sync::Arc;

use valvefolio::record::{
    CaseCells, CaseRecord, CellNotes, Cells, Parsed, RowPlace, VisitCells, VisitRecord,
};

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
        cells: cells.into(),
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
        cells: cells.into(),
        notes: CellNotes::default(),
        place: place(),
    });
    case
}
