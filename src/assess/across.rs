//! What only a look at all cases can tell: one serial in two cases, one patient with two birth dates, a pasted row.

use std::collections::HashMap;
use std::sync::LazyLock;

use jiff::civil::Date;

use super::alike::alike_pairs;
use super::known::Known;
use crate::dictionary;
use crate::record::{CaseCells, CaseRecord, Cells, FieldOf, Shown, Text};

/// What the other cases say of one of them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AcrossCases {
    /// The first other case, by its id, with the same device serial.
    pub same_serial: Option<Text>,
    /// The first other case, by its id, with the same patient key and another birth date, or whose conflict touches this key.
    pub other_birth_date: Option<Text>,
    /// A case alike in six or more of the echo and CT numbers.
    pub alike: Option<Text>,
    /// The columns in which the two are alike, in the order of the dictionary.
    pub alike_in: Box<[&'static str]>,
    /// How many of the numbers both have: of many that are rounded, a few are the same by chance.
    pub alike_of: usize,
}

impl AcrossCases {
    /// Whether the identity of the device or the patient is in conflict.
    pub fn identity_conflict(&self) -> bool {
        self.same_serial.is_some() || self.other_birth_date.is_some()
    }
}

/// What one case is held against the others by, as known on the as-of date.
#[derive(Clone, Debug)]
pub struct Likeness {
    case_id: Text,
    device_serial: Option<Text>,
    patient_key: Option<Text>,
    birth_date: Option<Date>,
    /// The echo and CT numbers in the order of their columns, as bits; [`NOTHING`] where unknown.
    numbers: Box<[u64]>,
}

/// The bits of no number that a cell can hold.
pub(super) const NOTHING: u64 = u64::MAX;

impl Likeness {
    /// What the others are held against of this case.
    pub fn of(record: &CaseRecord, known: &Known) -> Self {
        let cells = &known.cells;
        Self {
            case_id: record.case_id.clone(),
            device_serial: cells.device_serial.clone(),
            patient_key: cells.patient_key.clone(),
            birth_date: cells.birth_date,
            numbers: COMPARED
                .iter()
                .map(|field| match (field.get)(cells) {
                    Some(Shown::Number(number)) => (number + 0.0).to_bits(),
                    _ => NOTHING,
                })
                .collect(),
        }
    }
}

/// The number cells that an echo or a CT gives.
static COMPARED: LazyLock<Vec<&'static FieldOf<CaseCells>>> = LazyLock::new(|| {
    CaseCells::FIELDS
        .iter()
        .filter(|field| {
            dictionary::column("cases", field.name).is_some_and(|column| {
                column.kind == "number" && matches!(column.from.as_str(), "echo" | "ct")
            })
        })
        .collect()
});

/// What the others say of each case, in their order. Which other case is named does not depend on that order.
pub fn across_cases(cases: &[Likeness]) -> Vec<AcrossCases> {
    let mut by_id: Vec<usize> = (0..cases.len()).collect();
    by_id.sort_by(|&one, &other| cases[one].case_id.cmp(&cases[other].case_id));
    let sorted: Vec<&Likeness> = by_id.iter().map(|&position| &cases[position]).collect();
    let mut across = vec![AcrossCases::default(); cases.len()];
    for (position, said) in by_id.into_iter().zip(across_sorted(&sorted)) {
        across[position] = said;
    }
    across
}

/// The same of cases in the order of their ids: where several others could be named, it is the first of them.
fn across_sorted(cases: &[&Likeness]) -> Vec<AcrossCases> {
    let mut across = vec![AcrossCases::default(); cases.len()];
    let id = |position: usize| cases[position].case_id.clone();
    for positions in grouped(cases, |case| case.device_serial.as_ref()) {
        for &position in &positions {
            across[position].same_serial = positions
                .iter()
                .find(|&&other| other != position)
                .map(|&other| id(other));
        }
    }
    for positions in grouped(cases, |case| {
        Some(case.patient_key.as_ref().unwrap_or(&case.case_id))
    }) {
        let born = |position: usize| cases[position].birth_date;
        let mut dates = positions.iter().filter_map(|&position| born(position));
        let Some(first) = dates.next() else { continue };
        if dates.all(|date| date == first) {
            continue;
        }
        for &position in &positions {
            across[position].other_birth_date = positions
                .iter()
                .find(|&&other| {
                    other != position && born(other).is_some() && born(other) != born(position)
                })
                .map(|&other| id(other));
        }
    }
    let numbers: Vec<&[u64]> = cases.iter().map(|case| &*case.numbers).collect();
    for (position, other) in alike_pairs(&numbers) {
        across[position].alike = Some(id(other));
        let both = || in_both(cases[position], cases[other]);
        across[position].alike_of = both().count();
        across[position].alike_in = both()
            .filter_map(|(column, same)| same.then_some(column))
            .collect();
    }
    across
}

/// Positions of the cases that share a key with at least one other, in a fixed order.
fn grouped<'a>(
    cases: &[&'a Likeness],
    key: impl Fn(&'a Likeness) -> Option<&'a Text>,
) -> Vec<Vec<usize>> {
    let mut groups: HashMap<&Text, Vec<usize>> = HashMap::with_capacity(cases.len());
    for (position, case) in cases.iter().copied().enumerate() {
        if let Some(key) = key(case) {
            groups.entry(key).or_default().push(position);
        }
    }
    let mut groups: Vec<Vec<usize>> = groups
        .into_values()
        .filter(|group| group.len() > 1)
        .collect();
    groups.sort_unstable();
    groups
}

/// The columns in which two cases both hold a number, and whether it is the same.
fn in_both<'a>(
    one: &'a Likeness,
    other: &'a Likeness,
) -> impl Iterator<Item = (&'static str, bool)> + 'a {
    COMPARED
        .iter()
        .zip(one.numbers.iter().zip(&other.numbers))
        .filter(|(_, (one, other))| **one != NOTHING && **other != NOTHING)
        .map(|(field, (one, other))| (field.name, one == other))
}
