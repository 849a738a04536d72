//! What only a look at all cases can tell: one serial in two cases, one patient with two birth dates, a pasted row.

use std::collections::HashMap;
use std::iter;
use std::sync::LazyLock;

use foldhash::fast::RandomState;
use jiff::civil::Date;

use super::alike::alike_pairs;
use super::known::{Known, forget_later_dates};
use crate::dictionary;
use crate::record::{CaseAtRest, CaseCells, CaseRecord, Cells, ColumnSet, Look, Shown, Text};

/// What the other cases say of one of them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct AcrossCases {
    /// The first other case, by its id, with the same device serial.
    pub same_serial: Option<Text>,
    /// The first other case, by its id, with the same patient key and another birth date, or whose conflict touches this key.
    pub other_birth_date: Option<Text>,
    /// A case alike in six or more of the echo and CT numbers.
    pub alike: Option<Text>,
    /// In which of the numbers the two are alike, a bit each ([`Compared`]).
    alike_in: u64,
    /// How many of the numbers both have: of many that are rounded, a few are the same by chance.
    pub alike_of: usize,
}

impl AcrossCases {
    /// Whether the identity of the device or the patient is in conflict.
    pub fn identity_conflict(&self) -> bool {
        self.same_serial.is_some() || self.other_birth_date.is_some()
    }

    /// The columns in which this case and [`Self::alike`] hold the same number, in the order of the dictionary.
    pub fn alike_in(&self) -> impl Iterator<Item = &'static str> {
        let compared = COMPARED.names.iter().enumerate();
        compared
            .filter(|(at, _)| self.alike_in >> at & 1 == 1)
            .map(|(_, name)| *name)
    }
}

/// What one case is held against the others by, as known on the as-of date.
#[derive(Clone, Debug, PartialEq)]
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
        Self::of_cells(record.case_id.clone(), &known.cells)
    }

    /// The same of a case at rest, as known on `as_of`; its visits say nothing of it.
    pub fn of_case(case: &CaseAtRest, as_of: Date) -> Self {
        let mut gathered = Gathered::new(case.case_id.clone());
        case.cells().look_at_some(&LOOKED_AT.columns, &mut gathered);
        let dates = [gathered.birth_date, gathered.post_echo_date];
        if dates.into_iter().flatten().all(|date| date <= as_of) {
            return gathered.likeness();
        }
        let mut cells = case.cells().cells();
        forget_later_dates(&mut cells, as_of);
        Self::of_cells(case.case_id.clone(), &cells)
    }

    fn of_cells(case_id: Text, cells: &CaseCells) -> Self {
        let mut gathered = Gathered::new(case_id);
        cells.each(&mut gathered);
        gathered.likeness()
    }
}

/// Gathers what a [`Likeness`] is made of.
struct Gathered {
    compared: &'static Compared,
    at: &'static LookedAt,
    case_id: Text,
    device_serial: Option<Text>,
    patient_key: Option<Text>,
    birth_date: Option<Date>,
    post_echo_date: Option<Date>,
    numbers: Vec<u64>,
}

impl Gathered {
    fn new(case_id: Text) -> Self {
        Self {
            compared: &COMPARED,
            at: &LOOKED_AT,
            case_id,
            device_serial: None,
            patient_key: None,
            birth_date: None,
            post_echo_date: None,
            numbers: Vec::with_capacity(COMPARED.names.len()),
        }
    }

    fn likeness(self) -> Likeness {
        Likeness {
            case_id: self.case_id,
            device_serial: self.device_serial,
            patient_key: self.patient_key,
            birth_date: self.birth_date,
            numbers: self.numbers.into(),
        }
    }
}

impl Look for Gathered {
    // The kind of each column is known where it stands.
    #[inline(always)]
    fn known(&mut self, position: usize, value: Shown<'_>) {
        match value {
            Shown::Number(number) if self.compared.columns.contains(position) => {
                self.numbers.push((number + 0.0).to_bits());
            }
            Shown::Text(text) if position == self.at.device_serial => {
                self.device_serial = Some(text.into());
            }
            Shown::Text(text) if position == self.at.patient_key => {
                self.patient_key = Some(text.into());
            }
            Shown::Date(date) if position == self.at.birth_date => self.birth_date = Some(date),
            Shown::Date(date) if position == self.at.post_echo_date => {
                self.post_echo_date = Some(date);
            }
            _ => {}
        }
    }

    #[inline(always)]
    fn unknown(&mut self, position: usize) {
        if self.compared.columns.contains(position) {
            self.numbers.push(NOTHING);
        }
    }
}

/// The number cells that an echo or a CT gives: at most 64, a bit of [`AcrossCases::alike_in`] each.
struct Compared {
    columns: ColumnSet,
    names: Vec<&'static str>,
}

/// See [`Compared`].
static COMPARED: LazyLock<Compared> = LazyLock::new(|| {
    let compared = |name: &str| {
        dictionary::column("cases", name).is_some_and(|column| {
            column.kind == "number" && matches!(column.from.as_str(), "echo" | "ct")
        })
    };
    let fields = CaseCells::FIELDS.iter().enumerate();
    let (positions, names): (Vec<usize>, Vec<&'static str>) = fields
        .filter(|(_, field)| compared(field.name))
        .map(|(position, field)| (position, field.name))
        .unzip();
    assert!(names.len() <= 64, "a bit for each");
    Compared {
        columns: positions.into_iter().collect(),
        names,
    }
});

/// The columns that a [`Likeness`] is made of, and the positions of those that are no numbers.
struct LookedAt {
    columns: ColumnSet,
    device_serial: usize,
    patient_key: usize,
    birth_date: usize,
    /// What was measured at an echo after the as-of date is unknown.
    post_echo_date: usize,
}

/// See [`LookedAt`].
static LOOKED_AT: LazyLock<LookedAt> = LazyLock::new(|| {
    let mut columns = COMPARED.columns;
    let mut position = |name| {
        let position = CaseCells::position(name).expect("a column of the dictionary");
        columns.insert(position);
        position
    };
    let [device_serial, patient_key, birth_date, post_echo_date] = [
        "device_serial",
        "patient_key",
        "birth_date",
        "post_echo_date",
    ]
    .map(&mut position);
    LookedAt {
        columns,
        device_serial,
        patient_key,
        birth_date,
        post_echo_date,
    }
});

/// What the others say of each case, in their order. Which other case is named does not depend on that order.
pub fn across_cases(cases: &[Likeness]) -> Vec<AcrossCases> {
    let mut by_id: Vec<usize> = (0..cases.len()).collect();
    by_id.sort_by(|&one, &other| cases[one].case_id.cmp(&cases[other].case_id));
    let sorted: Vec<&Likeness> = by_id.iter().map(|&position| &cases[position]).collect();
    let mut across = vec![AcrossCases::default(); cases.len()];
    across_sorted(&sorted, &by_id, &mut across);
    across
}

/// The same of cases in the order of their ids: where several others could be named, it is the first of them. `places`
/// are where they stand in what is said of all.
fn across_sorted(cases: &[&Likeness], places: &[usize], across: &mut [AcrossCases]) {
    let id = |position: usize| cases[position].case_id.clone();
    for positions in grouped(cases, |case| case.device_serial.as_ref()) {
        for &position in &positions {
            across[places[position]].same_serial = positions
                .iter()
                .find(|&&other| other != position)
                .map(|&other| id(other));
        }
    }
    for positions in grouped(cases, |case| {
        Some(case.patient_key.as_ref().unwrap_or(&case.case_id))
    }) {
        let born = |position: usize| cases[position].birth_date;
        let mut dated = positions
            .iter()
            .copied()
            .filter(|&position| born(position).is_some());
        let Some(first) = dated.next() else { continue };
        let Some(other) = dated.find(|&other| born(other) != born(first)) else {
            continue;
        };
        for &position in &positions {
            let named = match born(position) == born(first) {
                true => other,
                false => first,
            };
            across[places[position]].other_birth_date = Some(id(named));
        }
    }
    let numbers: Vec<&[u64]> = cases.iter().map(|case| &*case.numbers).collect();
    for (position, other) in alike_pairs(&numbers) {
        let said = &mut across[places[position]];
        said.alike = Some(id(other));
        for (at, same) in in_both(cases[position], cases[other]) {
            said.alike_of += 1;
            said.alike_in |= u64::from(same) << at;
        }
    }
}

/// Positions of the cases that share a key with at least one other, in a fixed order.
fn grouped<'a>(
    cases: &[&'a Likeness],
    key: impl Fn(&'a Likeness) -> Option<&'a Text>,
) -> Vec<Vec<usize>> {
    let mut firsts: HashMap<&str, usize, RandomState> =
        HashMap::with_capacity_and_hasher(cases.len(), RandomState::default());
    let mut further: Vec<(usize, usize)> = Vec::new();
    for (position, case) in cases.iter().copied().enumerate() {
        let Some(key) = key(case) else { continue };
        let first = *firsts.entry(key).or_insert(position);
        if first != position {
            further.push((first, position));
        }
    }
    further.sort_unstable();
    further
        .chunk_by(|one, other| one.0 == other.0)
        .map(|group| {
            let further = group.iter().map(|&(_, position)| position);
            iter::once(group[0].0).chain(further).collect()
        })
        .collect()
}

/// Which of the numbers two cases both hold, and whether it is the same.
fn in_both(one: &Likeness, other: &Likeness) -> impl Iterator<Item = (usize, bool)> {
    one.numbers
        .iter()
        .zip(&other.numbers)
        .enumerate()
        .filter(|(_, (one, other))| **one != NOTHING && **other != NOTHING)
        .map(|(at, (one, other))| (at, one == other))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use proptest::prelude::*;

    use super::*;

    fn case(id: usize, serial: Option<u8>, patient: Option<u8>, born: Option<i8>) -> Likeness {
        Likeness {
            case_id: format!("case-{id:03}").into(),
            device_serial: serial.map(|serial| serial.to_string().into()),
            patient_key: patient.map(|patient| patient.to_string().into()),
            birth_date: born.map(|day| date(1940, 1, day)),
            numbers: Box::default(),
        }
    }

    proptest! {
        /// Against the definitions (project's own rules), read plainly: every case beside every other. Few different
        /// serials, patients and dates, so that many meet; the order of the file is not that of the ids.
        #[test]
        fn prop_serials_and_birth_dates_conflict_as_defined(
            cells in prop::collection::vec(
                (prop::option::of(0_u8..30), prop::option::of(0_u8..12), prop::option::of(1_i8..4)),
                1..60,
            ),
        ) {
            let cases: Vec<Likeness> = cells
                .iter()
                .enumerate()
                .map(|(at, &(serial, patient, born))| case(997 * (at + 1) % 1000, serial, patient, born))
                .collect();
            let first = |of: &dyn Fn(&Likeness) -> bool| {
                cases.iter().filter(|other| of(other)).map(|other| &other.case_id).min().cloned()
            };
            for (this, said) in cases.iter().zip(across_cases(&cases)) {
                let another = |other: &Likeness| other.case_id != this.case_id;
                let serial = first(&|other| {
                    another(other)
                        && this.device_serial.is_some()
                        && other.device_serial == this.device_serial
                });
                prop_assert_eq!(said.same_serial, serial);
                let patients = || {
                    cases.iter().filter(|other| {
                        this.patient_key.is_some() && other.patient_key == this.patient_key
                    })
                };
                let dates: std::collections::HashSet<Date> =
                    patients().filter_map(|other| other.birth_date).collect();
                let born = first(&|other| {
                    dates.len() > 1
                        && another(other)
                        && other.patient_key == this.patient_key
                        && other.birth_date.is_some()
                        && other.birth_date != this.birth_date
                });
                prop_assert_eq!(said.other_birth_date, born);
            }
        }
    }
}
