//! Cases written by hand, cell by cell, and what becomes of them.

use std::sync::Arc;

use jiff::civil::Date;
use valvefolio::assess::{Assessment, Known, Likeness, across_cases, assess};
use valvefolio::record::{
    CaseCells, CaseRecord, Catalogue, CellNotes, Cells, Parsed, RowPlace, VisitCells, VisitRecord,
};
use valvefolio::settings::Settings;
use valvefolio::worklist::{Entry, Worklist};

/// A date from its text.
pub fn day(text: &str) -> Date {
    text.parse().expect("a date")
}

fn set<C: Cells>(cells: &mut C, column: &str, text: &str) {
    let field = C::field(column).unwrap_or_else(|| panic!("no column {column}"));
    let parsed = match field.kind {
        "number" => Parsed::Number(text.parse().expect(column)),
        "integer" => Parsed::Integer(text.parse().expect(column)),
        "date" => Parsed::Date(day(text)),
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
pub fn case(case_id: &str, procedure: &str, known: &[(&str, &str)]) -> CaseRecord {
    let mut cells = CaseCells::default();
    set(&mut cells, "case_id", case_id);
    set(&mut cells, "procedure_date", procedure);
    for (column, text) in known {
        set(&mut cells, column, text);
    }
    CaseRecord {
        case_id: case_id.into(),
        procedure_date: day(procedure),
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
        date: day(date),
        cells,
        notes: CellNotes::default(),
        place: place(),
    });
    case
}

/// The cases as assessed on a day.
pub fn assessed(cases: Vec<CaseRecord>, as_of: &str) -> Vec<(CaseRecord, Assessment)> {
    let known: Vec<(CaseRecord, Known)> = cases
        .into_iter()
        .filter_map(|case| {
            let known = Known::on(&case, day(as_of))?;
            Some((case, known))
        })
        .collect();
    let likenesses: Vec<_> = known
        .iter()
        .map(|(case, known)| Likeness::of(case, known))
        .collect();
    let across = across_cases(&likenesses);
    known
        .into_iter()
        .zip(across)
        .map(|((case, known), across)| {
            let assessment = assess(
                &case,
                known,
                &Catalogue::default(),
                &Settings::default(),
                across,
            );
            (case, assessment)
        })
        .collect()
}

/// The worklist of these cases on a day.
pub fn worklist(cases: Vec<CaseRecord>, as_of: &str, look_ahead_days: i64) -> Worklist {
    Worklist::of(
        &assessed(cases, as_of),
        &Catalogue::default(),
        &Settings::default(),
        look_ahead_days,
        day(as_of),
    )
}

/// The one line of a case on a day; `None` where it is not on the list.
pub fn line(case: CaseRecord, as_of: &str, look_ahead_days: i64) -> Option<Entry> {
    let mut list = worklist(vec![case], as_of, look_ahead_days);
    assert!(list.entries.len() <= 1, "a case stands on the list once");
    list.entries.pop()
}
