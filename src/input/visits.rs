//! Rows of the follow-up file → visits of their cases.

use std::collections::HashMap;
use std::sync::Arc;

use super::cases::{ById, Ids};
use super::loose::suggestion;
use super::table::Table;
use crate::diagnostic::{Code, Severity};
use crate::record::{CaseAtRest, Cells, RowPlace, Text, VisitAtRest, VisitCells};

/// Most pairs of ids that are compared letter by letter in search of the one meant.
const COMPARISONS: usize = 2_000_000;

/// Gives every visit to its case, in the order of the file. A visit of a withheld case is given to nobody; a visit of
/// a case that no file has is reported with the id nearest to its own.
pub(super) fn attach(table: &mut Table<VisitCells>, cases: &mut [CaseAtRest], known: &Ids) {
    for message in &table.missing {
        table.findings.row(table.header_line).add(
            Severity::Error,
            Code::MissingColumn,
            "",
            message.as_str(),
        );
    }
    let by_id: ById = cases
        .iter()
        .enumerate()
        .map(|(position, case)| (case.case_id.clone(), position))
        .collect();
    let date_column = VisitCells::FIELDS
        .iter()
        .position(|field| field.name == "visit_date");
    let date_place = date_column.and_then(|field| table.places[field].clone());
    let mut nearest = Nearest::new(known);
    for row in std::mem::take(&mut table.rows) {
        let case = by_id.get(&row.id);
        if case.is_none()
            && !known.contains(&row.id)
            && let Some((position, header)) = table.places[0].clone()
        {
            let expected = match nearest.to(&row.id) {
                Some(meant) => {
                    format!("the id of a case (the cases file has {meant}): the visit is left out")
                }
                None => "the id of a case: the visit is left out".to_owned(),
            };
            table
                .findings
                .at(row.line, position, &header)
                .of_case(&row.id)
                .add(
                    Severity::Error,
                    Code::VisitWithoutCase,
                    row.id.to_string(),
                    expected,
                );
        }
        let Some(date) = row.day else {
            if let Some((position, header)) = &date_place {
                table
                    .findings
                    .at(row.line, *position, header)
                    .of_case(&row.id)
                    .add(
                        Severity::Error,
                        Code::RequiredCell,
                        "",
                        "visit_date, which no visit can do without: the visit is left out",
                    );
            }
            continue;
        };
        if let Some(&position) = case {
            let place = RowPlace {
                file: Arc::clone(&table.file.name),
                line: row.line,
            };
            cases[position].add_visit(VisitAtRest::new(date, row.cells, row.notes, place));
        }
    }
}

/// Finds the id that was probably meant. It is shown, never used.
struct Nearest<'a> {
    known: &'a Ids,
    /// Ids by their bare form; made when first needed.
    by_bare: Option<HashMap<String, &'a Text>>,
    comparisons: usize,
}

impl<'a> Nearest<'a> {
    fn new(known: &'a Ids) -> Self {
        Self {
            known,
            by_bare: None,
            comparisons: 0,
        }
    }

    fn to(&mut self, id: &str) -> Option<&'a str> {
        let by_bare = self.by_bare.get_or_insert_with(|| {
            let mut map: HashMap<String, &Text> = HashMap::new();
            for id in self.known {
                let least = map.entry(bare(id)).or_insert(id);
                *least = id.min(*least);
            }
            map
        });
        if let Some(found) = by_bare.get(&bare(id)) {
            return Some(&***found);
        }
        self.comparisons += self.known.len();
        if self.comparisons > COMPARISONS {
            return None;
        }
        let mut ids: Vec<&str> = self.known.iter().map(|id| &**id).collect();
        ids.sort_unstable();
        suggestion(id, ids)
    }
}

/// An id without what a spreadsheet or a hurried hand changes: letter case, punctuation, zeros in front of a number.
fn bare(id: &str) -> String {
    let mut bare = String::new();
    let mut in_number = false;
    for character in id.chars().filter(char::is_ascii_alphanumeric) {
        if character == '0' && !in_number {
            continue;
        }
        in_number = character.is_ascii_digit();
        bare.push(character.to_ascii_lowercase());
    }
    bare
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zeros_and_letter_case_are_seen_through() {
        assert_eq!(bare("00123"), bare("123"));
        assert_eq!(bare("A-001"), bare("a1"));
        assert_ne!(bare("A10"), bare("A1"));
        let known: Ids = ["00123", "B-77"].map(Text::from).into_iter().collect();
        assert_eq!(Nearest::new(&known).to("123"), Some("00123"));
        assert_eq!(Nearest::new(&known).to("zzz"), None);
    }
}
