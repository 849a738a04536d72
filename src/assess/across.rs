//! What only a look at all cases can tell: one serial in two cases, one patient with two birth dates, a pasted row.

use std::collections::HashMap;

use super::known::Known;
use crate::dictionary;
use crate::record::{CaseCells, CaseRecord, Cells, FieldOf, Shown, Text};

/// Cells alike from which two cases look like a row pasted twice (project's own rule).
const ALIKE: usize = 6;
/// With this many groups of columns, six cells alike put two into one group.
const GROUPS: usize = 5;

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
    pub alike_in: Vec<&'static str>,
}

impl AcrossCases {
    /// Whether the identity of the device or the patient is in conflict.
    pub fn identity_conflict(&self) -> bool {
        self.same_serial.is_some() || self.other_birth_date.is_some()
    }
}

/// What the others say of each case, in their order. Which other case is named does not depend on that order.
pub fn across_cases(cases: &[(&CaseRecord, &Known)]) -> Vec<AcrossCases> {
    let mut by_id: Vec<usize> = (0..cases.len()).collect();
    by_id.sort_by(|&one, &other| cases[one].0.case_id.cmp(&cases[other].0.case_id));
    let sorted: Vec<_> = by_id.iter().map(|&position| cases[position]).collect();
    let mut across = vec![AcrossCases::default(); cases.len()];
    for (position, said) in by_id.into_iter().zip(across_sorted(&sorted)) {
        across[position] = said;
    }
    across
}

/// The same of cases in the order of their ids: where several others could be named, it is the first of them.
fn across_sorted(cases: &[(&CaseRecord, &Known)]) -> Vec<AcrossCases> {
    let mut across = vec![AcrossCases::default(); cases.len()];
    let id = |position: usize| cases[position].0.case_id.clone();
    for positions in grouped(cases, |_, known| known.cells.device_serial.clone()) {
        for &position in &positions {
            across[position].same_serial = positions
                .iter()
                .find(|&&other| other != position)
                .map(|&other| id(other));
        }
    }
    let key = |record: &CaseRecord, known: &Known| {
        Some(
            known
                .cells
                .patient_key
                .clone()
                .unwrap_or_else(|| record.case_id.clone()),
        )
    };
    for positions in grouped(cases, key) {
        let born = |position: usize| cases[position].1.cells.birth_date;
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
    let fields = compared_fields();
    for (position, other) in alike_pairs(cases, &fields) {
        across[position].alike = Some(id(other));
        across[position].alike_in = alike_columns(&fields, cases[position].1, cases[other].1);
    }
    across
}

/// Positions of the cases that share a key with at least one other, in a fixed order.
fn grouped(
    cases: &[(&CaseRecord, &Known)],
    key: impl Fn(&CaseRecord, &Known) -> Option<Text>,
) -> Vec<Vec<usize>> {
    let mut groups: HashMap<Text, Vec<usize>> = HashMap::with_capacity(cases.len());
    for (position, (record, known)) in cases.iter().enumerate() {
        if let Some(key) = key(record, known) {
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

/// The number cells that an echo or a CT gives.
fn compared_fields() -> Vec<&'static FieldOf<CaseCells>> {
    CaseCells::FIELDS
        .iter()
        .filter(|field| {
            dictionary::column("cases", field.name).is_some_and(|column| {
                column.kind == "number" && matches!(column.from.as_str(), "echo" | "ct")
            })
        })
        .collect()
}

/// The columns in which two cases hold the same number.
fn alike_columns(
    fields: &[&'static FieldOf<CaseCells>],
    one: &Known,
    other: &Known,
) -> Vec<&'static str> {
    let number = |field: &FieldOf<CaseCells>, known: &Known| match (field.get)(&known.cells) {
        Some(Shown::Number(number)) => Some(number),
        _ => None,
    };
    fields
        .iter()
        .filter(|field| number(field, one).is_some() && number(field, one) == number(field, other))
        .map(|field| field.name)
        .collect()
}

/// For each case that is alike another, that other: exact, without holding every case against every other.
///
/// Two cases with six cells alike share two of them in one of five groups of columns, so only cases that share a
/// pair within a group are compared.
fn alike_pairs(
    cases: &[(&CaseRecord, &Known)],
    fields: &[&'static FieldOf<CaseCells>],
) -> Vec<(usize, usize)> {
    let numbers: Vec<Vec<Option<u64>>> = cases
        .iter()
        .map(|(_, known)| {
            fields
                .iter()
                .map(|field| match (field.get)(&known.cells) {
                    Some(Shown::Number(number)) => Some((number + 0.0).to_bits()),
                    _ => None,
                })
                .collect()
        })
        .collect();
    let alike = |a: usize, b: usize| {
        let same = numbers[a]
            .iter()
            .zip(&numbers[b])
            .filter(|(a, b)| a.is_some() && a == b);
        same.take(ALIKE).count() == ALIKE
    };
    let mut partner: Vec<Option<usize>> = vec![None; cases.len()];
    for group in 0..GROUPS {
        let columns: Vec<usize> = (group..fields.len()).step_by(GROUPS).collect();
        for (at, &first) in columns.iter().enumerate() {
            for &second in &columns[at + 1..] {
                let mut pairs: Vec<(u64, u64, usize)> = numbers
                    .iter()
                    .enumerate()
                    .filter_map(|(case, numbers)| Some((numbers[first]?, numbers[second]?, case)))
                    .collect();
                pairs.sort_unstable();
                for run in pairs
                    .chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
                    .filter(|run| run.len() > 1)
                {
                    for &(_, _, case) in run {
                        if partner[case].is_none() {
                            partner[case] = run
                                .iter()
                                .map(|&(_, _, other)| other)
                                .find(|&other| other != case && alike(case, other));
                        }
                    }
                }
            }
        }
    }
    partner
        .into_iter()
        .enumerate()
        .filter_map(|(case, other)| Some((case, other?)))
        .collect()
}
