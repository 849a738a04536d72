//! results.csv of an earlier run, to hold this one against.

use std::collections::HashMap;

use jiff::civil::Date;

use crate::dictionary::{BASIS, RESULTS};
use crate::explain::HASHES;
use crate::worklist::{ResultRow, columns};

/// The rows of an earlier results.csv.
#[derive(Clone, Debug, Default)]
pub struct Earlier {
    /// The file, as the user named it.
    pub file: String,
    /// The day it speaks for; `None` where it has no case.
    pub as_of: Option<Date>,
    /// The version of the definitions it follows.
    pub definitions: String,
    /// Ids in the order of the file.
    pub ids: Vec<String>,
    /// Rows by id.
    rows: HashMap<String, ResultRow>,
}

/// Why a file is not the results.csv of an earlier run.
#[derive(Debug, thiserror::Error)]
#[error("--since {file}: {why}; nothing was written")]
pub struct NotResults {
    /// The file, as the user named it.
    pub file: String,
    /// What is wrong with it.
    pub why: String,
}

impl Earlier {
    /// Reads the file. It is ours, so nothing in it is guessed: other columns, an id that stands twice and rows of
    /// different days are refused.
    ///
    /// # Errors
    /// Where it is not what a run writes as results.csv, with what is wrong.
    pub fn parse(file: &str, bytes: &[u8]) -> Result<Self, NotResults> {
        Self::rows_of(file, bytes).map_err(|why| NotResults {
            file: file.to_owned(),
            why,
        })
    }

    fn rows_of(file: &str, bytes: &[u8]) -> Result<Self, String> {
        let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
        let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(bytes);
        let header = reader
            .headers()
            .map_err(|_| "not a results.csv: its first line is not UTF-8 text".to_owned())?
            .clone();
        let places = places(&header.iter().collect::<Vec<_>>())?;
        let mut earlier = Self {
            file: file.to_owned(),
            ..Self::default()
        };
        for record in reader.records() {
            let record = record.map_err(|error| {
                let line = error.position().map_or(0, csv::Position::line);
                format!("line {line} is not UTF-8 text")
            })?;
            let line = record.position().map_or(0, csv::Position::line);
            if record.len() != header.len() {
                return Err(format!(
                    "line {line} has {} cells, its header {}",
                    record.len(),
                    header.len()
                ));
            }
            let cells = places
                .iter()
                .map(|place| record[*place].to_owned())
                .collect();
            earlier.take(line, cells)?;
        }
        Ok(earlier)
    }

    /// Takes a row whose cells stand in the order of results.csv.
    fn take(&mut self, line: u64, cells: Vec<String>) -> Result<(), String> {
        let basis = &cells[RESULTS.len()..];
        let (as_of, definitions, input_hash) = (&basis[0], &basis[1], &basis[2]);
        let day: Date = as_of
            .parse()
            .map_err(|_| format!("line {line}: as_of is {as_of:?}, not a day"))?;
        match self.as_of {
            Some(known) if known != day => {
                return Err(format!(
                    "rows of different days ({known}, and {day} in line {line}): it is of more than one run"
                ));
            }
            Some(_) if self.definitions != *definitions => {
                return Err(format!(
                    "rows by different definitions (version {}, and {definitions} in line {line}): it is of more than one run",
                    self.definitions
                ));
            }
            _ => {
                self.as_of = Some(day);
                self.definitions.clone_from(definitions);
            }
        }
        if !input_hash.starts_with(HASHES) {
            return Err(format!(
                "line {line}: its hashes are made another way than those of this version, which cannot be held against them; \
                 report the tables of that day with this version"
            ));
        }
        let id = cells[0].clone();
        if id.is_empty() {
            return Err(format!("line {line} has no case_id"));
        }
        self.ids.push(id.clone());
        if self
            .rows
            .insert(id.clone(), ResultRow::new(cells))
            .is_some()
        {
            return Err(format!("case {id} stands in it twice"));
        }
        Ok(())
    }

    /// The row of a case, by its id as results.csv writes it.
    pub fn row(&self, id: &str) -> Option<&ResultRow> {
        self.rows.get(id)
    }
}

/// Where each column of results.csv stands in this header.
fn places(header: &[&str]) -> Result<Vec<usize>, String> {
    let wanted: Vec<&str> = columns().collect();
    if header.iter().all(|name| !wanted.contains(name)) {
        return Err("not a results.csv: its first line names none of the columns".to_owned());
    }
    for (position, name) in header.iter().enumerate() {
        if header[..position].contains(name) {
            return Err(format!("the column {name:?} stands in its header twice"));
        }
    }
    let without_basis = BASIS.iter().all(|(name, ..)| !header.contains(name));
    if without_basis && RESULTS.iter().all(|column| header.contains(&&*column.name)) {
        return Err(
            "it does not say what its rows rest on (as_of, input_hash and the like): de-identified results, or of an \
             earlier version of this program"
                .to_owned(),
        );
    }
    let places = wanted
        .iter()
        .map(|name| {
            header
                .iter()
                .position(|known| known == name)
                .ok_or_else(|| {
                    format!("not a results.csv of this program: it has no column {name}")
                })
        })
        .collect::<Result<Vec<_>, _>>()?;
    match header.iter().find(|name| !wanted.contains(name)) {
        Some(name) => Err(format!(
            "not a results.csv of this program: it has a column {name:?}"
        )),
        None => Ok(places),
    }
}
