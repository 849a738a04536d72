//! Rows of one or several cases files → cases: joined by case_id, each whole or withheld by name.

use std::collections::{HashMap, HashSet};
use std::hash::{Hash, Hasher};
use std::sync::Arc;

use foldhash::fast::RandomState;

use super::id;
use super::merge::{ContradictedCell, Merged, OfTables, merge};
use super::rows::Row;
use super::table::Table;
use crate::diagnostic::{Code, Severity};
use crate::record::{CaseAtRest, CaseCells, Cells, DischargeStatus, RowPlace, Text};

/// A row or case that is left out, with its reason: named in the cohort summary.
#[derive(Clone, Debug, PartialEq)]
pub struct Withheld {
    /// Its id as far as it can be read; empty where it cannot.
    pub case_id: Text,
    /// Where it stands.
    pub place: RowPlace,
    /// Why it is left out, in words.
    pub reason: String,
    /// Whether its cells show a sign of death (DEFINITIONS.md, Days); `None` where they were not read.
    pub sign_of_death: Option<bool>,
    /// What links it to other cases of the patient: patient_key, else its id; `None` where its cells were not read.
    pub patient_key: Option<Text>,
}

impl Withheld {
    /// A row that is left out though its cells were read.
    pub fn read(case_id: Text, place: RowPlace, reason: String, cells: &CaseCells) -> Self {
        Self {
            sign_of_death: Some(sign_of_death(cells)),
            patient_key: Some(cells.patient_key.clone().unwrap_or_else(|| case_id.clone())),
            case_id,
            place,
            reason,
        }
    }
}

/// All rows of one id.
struct Entry {
    id: Text,
    /// Table and position of the row in it.
    rows: OfTables<usize>,
    withheld: Option<String>,
}

/// The cases files, joined.
pub(super) struct Joined {
    pub cases: Vec<CaseAtRest>,
    pub withheld: Vec<Withheld>,
    pub contradicted: Vec<ContradictedCell>,
    /// Ids that stand in a cases file, whether their case is withheld or not.
    pub known: Ids,
}

/// A place for each id: as many lookups as there are rows, hence not the standard library's hash.
pub(super) type ById = HashMap<Text, usize, RandomState>;
/// Different ids.
pub(super) type Ids = HashSet<Text, RandomState>;

/// Joins the tables in their order; findings go to the table they are about.
pub(super) fn join(tables: &mut [Table<CaseCells>]) -> Joined {
    let (mut entries, by_id) = entries(tables);
    let mut withheld = Vec::new();
    withhold_unread(&mut entries, &by_id, tables, &mut withheld);
    withhold_repeated(&mut entries, tables);
    withhold_colliding(&mut entries, tables);
    let procedure_date_nowhere = procedure_date_nowhere(tables);
    let mut known: Ids = by_id.into_keys().collect();
    known.extend(withheld.iter().map(|row| row.case_id.clone()));

    let mut rows: Vec<Vec<Option<Row<CaseCells>>>> = tables
        .iter_mut()
        .map(|table| {
            std::mem::take(&mut table.rows)
                .into_iter()
                .map(Some)
                .collect()
        })
        .collect();
    let mut joined = Joined {
        cases: Vec::with_capacity(entries.len()),
        withheld,
        contradicted: Vec::new(),
        known,
    };
    for entry in entries {
        let parts: OfTables<Row<CaseCells>> = entry
            .rows
            .iter()
            .filter_map(|&(table, row)| Some((table, rows[table][row].take()?)))
            .collect();
        if let Some(reason) = entry.withheld {
            for (table, row) in &parts {
                joined
                    .withheld
                    .push(withheld_row(&tables[*table], row, &reason));
            }
            continue;
        }
        let Some(merged) = merge(parts, tables, &mut joined.contradicted) else {
            continue;
        };
        match merged.row.day {
            Some(procedure_date) => joined.cases.push(CaseAtRest::new(
                merged.row.id,
                procedure_date,
                merged.row.cells,
                merged.row.notes,
                merged.place,
            )),
            None => {
                if !procedure_date_nowhere {
                    note_missing_procedure_date(&merged, tables);
                }
                joined.withheld.push(Withheld::read(
                    merged.row.id,
                    merged.place,
                    "procedure_date is blank or cannot be used".to_owned(),
                    &merged.row.cells.cells(),
                ));
            }
        }
    }
    joined
        .withheld
        .sort_by(|one, other| one.place.cmp(&other.place));
    joined
}

/// Every id in the order of the files, and where it stands among them.
fn entries(tables: &[Table<CaseCells>]) -> (Vec<Entry>, ById) {
    // Further files are about the same cases.
    let expected = tables.first().map_or(0, |table| table.rows.len());
    let mut entries: Vec<Entry> = Vec::with_capacity(expected);
    let mut by_id: ById = HashMap::with_capacity_and_hasher(expected, RandomState::default());
    for (table, read) in tables.iter().enumerate() {
        for (position, row) in read.rows.iter().enumerate() {
            let entry = *by_id.entry(row.id.clone()).or_insert_with(|| {
                entries.push(Entry {
                    id: row.id.clone(),
                    rows: OfTables::new(),
                    withheld: None,
                });
                entries.len() - 1
            });
            entries[entry].rows.push((table, position));
        }
    }
    (entries, by_id)
}

/// A row that could not be read withholds the case whose id it has, wherever else that stands.
fn withhold_unread(
    entries: &mut [Entry],
    by_id: &ById,
    tables: &mut [Table<CaseCells>],
    withheld: &mut Vec<Withheld>,
) {
    for (number, table) in tables.iter_mut().enumerate() {
        let file = Arc::clone(&table.file.name);
        for unread in &table.unread {
            let entry = unread.id.as_ref().and_then(|id| by_id.get(id).copied());
            let named = unread.id.clone().filter(|_| unread.sure || entry.is_some());
            withheld.push(Withheld {
                case_id: named.unwrap_or_default(),
                place: RowPlace {
                    file: Arc::clone(&file),
                    line: unread.line,
                },
                reason: unread.reason.to_owned(),
                sign_of_death: None,
                patient_key: None,
            });
            let Some(entry) = entry.map(|position| &mut entries[position]) else {
                continue;
            };
            let reason = format!(
                "{file}:{} has the same id and could not be read",
                unread.line
            );
            for &(other, row) in &entry.rows {
                if other == number {
                    let line = table.rows[row].line;
                    table
                        .findings
                        .row(line)
                        .of_case(&entry.id)
                        .withholding(true)
                        .add(
                            Severity::Error,
                            Code::DuplicateId,
                            entry.id.to_string(),
                            format!("an id that stands once; {reason}: left out"),
                        );
                }
            }
            entry.withheld.get_or_insert(reason);
        }
    }
}

/// Notes a finding at the id of every row of this entry in this table.
fn note_rows(entry: &Entry, tables: &mut [Table<CaseCells>], only: Option<usize>, expected: &str) {
    for &(number, row) in &entry.rows {
        if only.is_some_and(|only| only != number) {
            continue;
        }
        let table = &mut tables[number];
        let line = table.rows[row].line;
        let Some((position, header)) = table.places[0].clone() else {
            continue;
        };
        table
            .findings
            .at(line, position, &header)
            .of_case(&entry.id)
            .withholding(true)
            .add(
                Severity::Error,
                Code::DuplicateId,
                entry.id.to_string(),
                expected,
            );
    }
}

/// Every row of an id that stands twice in one file is left out.
fn withhold_repeated(entries: &mut [Entry], tables: &mut [Table<CaseCells>]) {
    for entry in entries.iter_mut().filter(|entry| entry.rows.len() > 1) {
        let mut at = 0;
        while at < entry.rows.len() {
            let number = entry.rows[at].0;
            let count = entry.rows[at..]
                .iter()
                .take_while(|row| row.0 == number)
                .count();
            if count > 1 {
                let table = &tables[number];
                let lines: Vec<String> = entry.rows[at..at + count.min(4)]
                    .iter()
                    .map(|&(_, row)| table.rows[row].line.to_string())
                    .collect();
                let more = if count > 4 {
                    format!(" and {} more", count - 4)
                } else {
                    String::new()
                };
                let reason = format!(
                    "the id stands in lines {}{more} of {}",
                    lines.join(", "),
                    table.file.name
                );
                note_rows(
                    entry,
                    tables,
                    Some(number),
                    &format!("an id that stands once; {reason}: every row of it is left out"),
                );
                entry.withheld.get_or_insert(reason);
            }
            at += count;
        }
    }
}

/// An id as many computers tell files apart: whatever its letter case.
struct FileName(Text);

impl PartialEq for FileName {
    fn eq(&self, other: &Self) -> bool {
        self.0.eq_ignore_ascii_case(&other.0)
    }
}

impl Eq for FileName {}

impl Hash for FileName {
    fn hash<H: Hasher>(&self, hasher: &mut H) {
        // At once, since each part that is hashed costs as much as the whole; no id is longer than this.
        let mut lower = [0; id::LONGEST];
        let length = self.0.len().min(id::LONGEST);
        let lower = &mut lower[..length];
        lower.copy_from_slice(&self.0.as_bytes()[..length]);
        lower.make_ascii_lowercase();
        lower.hash(hasher);
    }
}

/// Ids that differ in letter case only would be one file on many computers.
fn withhold_colliding(entries: &mut [Entry], tables: &mut [Table<CaseCells>]) {
    let mut alike: HashMap<FileName, usize, RandomState> =
        HashMap::with_capacity_and_hasher(entries.len(), RandomState::default());
    for entry in &*entries {
        *alike.entry(FileName(entry.id.clone())).or_default() += 1;
    }
    if alike.len() == entries.len() {
        return;
    }
    for entry in entries.iter_mut() {
        let group = alike[&FileName(entry.id.clone())];
        if group < 2 {
            continue;
        }
        let others = if group == 2 {
            "another id"
        } else {
            "other ids"
        };
        let reason = format!(
            "{others} of these files differs from it in letter case only, and their pages would be one file"
        );
        note_rows(
            entry,
            tables,
            None,
            &format!("an id of its own; {reason}: both are left out"),
        );
        entry.withheld.get_or_insert(reason);
    }
}

/// Says once that no file has a procedure_date column.
fn procedure_date_nowhere(tables: &mut [Table<CaseCells>]) -> bool {
    let nowhere = tables.iter().all(|table| !table.missing.is_empty());
    if nowhere && let Some(table) = tables.first_mut() {
        for message in &table.missing {
            table.findings.row(table.header_line).withholding(true).add(
                Severity::Error,
                Code::MissingColumn,
                "",
                message.as_str(),
            );
        }
    }
    nowhere
}

/// Says at the case's own cell that it is withheld for want of a procedure date.
fn note_missing_procedure_date(merged: &Merged, tables: &mut [Table<CaseCells>]) {
    let Some(field) = CaseCells::FIELDS
        .iter()
        .position(|field| field.name == "procedure_date")
    else {
        return;
    };
    let with_column = merged
        .parts
        .iter()
        .find(|(table, _)| tables[*table].places[field].is_some());
    let Some(&(table, line)) = with_column.or(merged.parts.first()) else {
        return;
    };
    let place = tables[table].places[field].clone();
    let findings = &mut tables[table].findings;
    let spot = match &place {
        Some((position, header)) => findings.at(line, *position, header),
        None => findings.row(line),
    };
    spot.of_case(&merged.row.id).withholding(true).add(
        Severity::Error,
        Code::RequiredCell,
        "",
        "procedure_date, which no case can do without: the case is withheld",
    );
}

fn withheld_row(table: &Table<CaseCells>, row: &Row<CaseCells>, reason: &str) -> Withheld {
    let place = RowPlace {
        file: Arc::clone(&table.file.name),
        line: row.line,
    };
    Withheld::read(row.id.clone(), place, reason.to_owned(), &row.cells.cells())
}

/// Signs of death as DEFINITIONS.md (Days) lists them, whatever the day the report speaks for.
fn sign_of_death(cells: &CaseCells) -> bool {
    cells.death_date.is_some()
        || cells.procedural_death == Some(true)
        || cells.discharge_status == Some(DischargeStatus::DiedInHospital)
        || cells.death_cause.is_some()
        || cells.valve_related_death == Some(true)
}
