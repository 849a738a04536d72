//! Rows at rest: what is known of them as bytes, a fifth of the size of the typed row.
//!
//! A row has a field for every column, most of which take 16 bytes whether they are known or not. That is right for
//! a case that is being assessed and too much for all cases of a centre's life at once, so they lie as bytes until
//! their turn comes: a bit a column for whether it is known, then the known values one after the other.

use std::fmt::{self, Debug, Formatter};
use std::marker::PhantomData;

use jiff::civil::Date;

use super::plain::{from_thousandths, thousandths};
use super::{
    CaseCells, CaseRecord, CellNotes, Cells, ColumnSet, Look, Parsed, RowPlace, Text, VisitCells,
    VisitRecord,
};

/// Why the bytes of a row at rest are one.
const SAME_TYPE: &str = "the bytes that the same type has put there";

/// What is known of the cells of one row.
pub struct AtRest<T> {
    bytes: Box<[u8]>,
    row: PhantomData<fn() -> T>,
}

impl<T: Cells> AtRest<T> {
    /// The known cells of a row.
    pub fn of(cells: &T) -> Self {
        let mut bytes = Vec::new();
        cells.put(&mut bytes);
        Self {
            bytes: bytes.into(),
            row: PhantomData,
        }
    }

    /// The row again.
    pub fn cells(&self) -> T {
        T::take(&mut &*self.bytes).expect(SAME_TYPE)
    }

    /// Shows the cells of the columns that are wanted, in their order, without taking up the others.
    pub fn look_at_some(&self, wanted: &ColumnSet, look: &mut impl Look) {
        T::look_at_some(&mut &*self.bytes, wanted, look).expect(SAME_TYPE);
    }
}

impl<T> Clone for AtRest<T> {
    fn clone(&self) -> Self {
        Self {
            bytes: self.bytes.clone(),
            row: PhantomData,
        }
    }
}

impl<T> PartialEq for AtRest<T> {
    fn eq(&self, other: &Self) -> bool {
        self.bytes == other.bytes
    }
}

impl<T: Cells + Debug> Debug for AtRest<T> {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> fmt::Result {
        self.cells().fmt(formatter)
    }
}

/// Rows on their way to rest, one after the other: cell by cell as they are read, without a typed row between.
pub struct ToRest<T> {
    bytes: Vec<u8>,
    /// No cell of a column before this one may follow.
    next: usize,
    row: PhantomData<fn() -> T>,
}

impl<T: Cells> Default for ToRest<T> {
    /// A row of which nothing is known yet.
    fn default() -> Self {
        let mut row = Self {
            bytes: Vec::new(),
            next: 0,
            row: PhantomData,
        };
        row.begin();
        row
    }
}

impl<T: Cells> ToRest<T> {
    /// Begins the next row.
    pub fn begin(&mut self) {
        self.bytes.clear();
        self.bytes.resize(T::FIELDS.len().div_ceil(8), 0);
        self.next = 0;
    }

    /// Adds the cell of the column at this position, a value of that column's kind.
    ///
    /// # Panics
    /// Where the column does not stand behind that of the cell before.
    pub fn add(&mut self, column: usize, value: &Parsed) {
        assert!(column >= self.next, "cells in the order of their columns");
        debug_assert_eq!(value.kind(), T::FIELDS[column].kind);
        self.next = column + 1;
        self.bytes[column / 8] |= 1 << (column % 8);
        value.put(&mut self.bytes);
    }

    /// The row as far as it was added.
    pub fn row(&self) -> AtRest<T> {
        AtRest {
            bytes: self.bytes.as_slice().into(),
            row: PhantomData,
        }
    }
}

/// Notes at rest: most rows have none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NotesAtRest(Option<Box<CellNotes>>);

impl NotesAtRest {
    /// The notes of a row.
    pub fn of(notes: CellNotes) -> Self {
        Self((notes != CellNotes::default()).then(|| Box::new(notes)))
    }

    /// The notes again.
    pub fn notes(&self) -> CellNotes {
        self.0.as_deref().cloned().unwrap_or_default()
    }
}

/// A [`CaseRecord`] at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct CaseAtRest {
    /// Unique key of the procedure.
    pub case_id: Text,
    /// Day 0.
    pub procedure_date: Date,
    /// Where the row stands.
    pub place: RowPlace,
    cells: AtRest<CaseCells>,
    notes: NotesAtRest,
    visits: Vec<VisitAtRest>,
}

/// A [`VisitRecord`] at rest.
#[derive(Clone, Debug, PartialEq)]
pub struct VisitAtRest {
    date: Date,
    cells: AtRest<VisitCells>,
    notes: NotesAtRest,
    place: RowPlace,
}

impl CaseAtRest {
    /// A case without visits.
    pub fn new(
        case_id: Text,
        procedure_date: Date,
        cells: AtRest<CaseCells>,
        notes: NotesAtRest,
        place: RowPlace,
    ) -> Self {
        Self {
            case_id,
            procedure_date,
            place,
            cells,
            notes,
            visits: Vec::new(),
        }
    }

    /// Adds a visit behind those it has.
    pub fn add_visit(&mut self, visit: VisitAtRest) {
        // One at a time: most cases have few, and room in reserve would be most of what they take.
        self.visits.reserve_exact(1);
        self.visits.push(visit);
    }

    /// The cells of its own row.
    pub fn cells(&self) -> &AtRest<CaseCells> {
        &self.cells
    }

    /// The case as a record.
    pub fn record(&self) -> CaseRecord {
        CaseRecord {
            case_id: self.case_id.clone(),
            procedure_date: self.procedure_date,
            cells: self.cells.cells().into(),
            notes: self.notes.notes(),
            place: self.place.clone(),
            visits: self.visits.iter().map(VisitAtRest::record).collect(),
        }
    }
}

impl VisitAtRest {
    /// A visit.
    pub fn new(date: Date, cells: AtRest<VisitCells>, notes: NotesAtRest, place: RowPlace) -> Self {
        Self {
            date,
            cells,
            notes,
            place,
        }
    }

    fn record(&self) -> VisitRecord {
        VisitRecord {
            date: self.date,
            cells: self.cells.cells().into(),
            notes: self.notes.notes(),
            place: self.place.clone(),
        }
    }
}

/// The bits that say which columns of a row are known, one after the other. Columns are marked and asked in code that
/// names each of them, so that the compiler knows where the bit of each is.
pub(super) struct Marks<const BYTES: usize> {
    bits: [u8; BYTES],
    next: usize,
}

impl<const BYTES: usize> Marks<BYTES> {
    /// No column is marked yet.
    pub fn new() -> Self {
        Self {
            bits: [0; BYTES],
            next: 0,
        }
    }

    /// Marks the next column.
    #[inline(always)]
    pub fn mark(&mut self, known: bool) {
        self.bits[self.next / 8] |= u8::from(known) << (self.next % 8);
        self.next += 1;
    }

    /// Whether the next column was marked.
    #[inline(always)]
    pub fn next(&mut self) -> bool {
        let known = self.bits[self.next / 8] >> (self.next % 8) & 1 == 1;
        self.next += 1;
        known
    }

    /// Puts the marks at the end of the bytes.
    pub fn put(&self, bytes: &mut Vec<u8>) {
        bytes.extend(self.bits);
    }

    /// Takes marks from the front of the bytes.
    pub fn take(bytes: &mut &[u8]) -> Option<Self> {
        let (&bits, rest) = bytes.split_first_chunk()?;
        *bytes = rest;
        Some(Self { bits, next: 0 })
    }
}

/// Puts a whole number: seven bits a byte, lowest first.
pub(super) fn put_whole(mut number: u64, bytes: &mut Vec<u8>) {
    while number >= 0x80 {
        bytes.push(number.to_le_bytes()[0] | 0x80);
        number >>= 7;
    }
    bytes.push(number.to_le_bytes()[0]);
}

/// Takes what [`put_whole`] has put.
pub(super) fn take_whole(bytes: &mut &[u8]) -> Option<u64> {
    let mut number = 0;
    for shift in (0..64).step_by(7) {
        let (&byte, rest) = bytes.split_first()?;
        *bytes = rest;
        number |= u64::from(byte & 0x7f) << shift;
        if byte < 0x80 {
            return Some(number);
        }
    }
    None
}

/// A signed number as one without sign, small where it is near 0.
pub(super) fn fold_sign(number: i64) -> u64 {
    (number << 1 ^ number >> 63).cast_unsigned()
}

/// What [`fold_sign`] has folded.
pub(super) fn unfold_sign(number: u64) -> i64 {
    (number >> 1).cast_signed() ^ -(number & 1).cast_signed()
}

/// Stands before a number that is no thousandfold of 24 bits with its sign.
const AS_BITS: i32 = -(1 << 23);

/// Puts a number exactly: those of at most three decimals and below 8388, nearly all there are, as their thousandfold.
/// They are all of one length, which nobody has to find out before the next cell.
pub(super) fn put_number(number: f64, bytes: &mut Vec<u8>) {
    let small = thousandths(number).and_then(|thousandths| i32::try_from(thousandths).ok());
    match small.filter(|&thousandths| thousandths > AS_BITS && thousandths < -AS_BITS) {
        Some(thousandths) => put_small(thousandths, bytes),
        None => {
            put_small(AS_BITS, bytes);
            bytes.extend_from_slice(&number.to_le_bytes());
        }
    }
}

fn put_small(number: i32, bytes: &mut Vec<u8>) {
    let [low, middle, high, _] = number.to_le_bytes();
    bytes.extend_from_slice(&[low, middle, high]);
}

/// Takes what [`put_number`] has put.
pub(super) fn take_number(bytes: &mut &[u8]) -> Option<f64> {
    let (&[low, middle, high], rest) = bytes.split_first_chunk()?;
    *bytes = rest;
    // Shifted down again with its sign.
    match i32::from_le_bytes([0, low, middle, high]) >> 8 {
        AS_BITS => {
            let (&number, rest) = bytes.split_first_chunk()?;
            *bytes = rest;
            Some(f64::from_le_bytes(number))
        }
        thousandths => Some(from_thousandths(thousandths.into())),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::record::{Choice, Field, Rhythm, Shown};

    fn again(number: f64) -> f64 {
        let mut bytes = Vec::new();
        put_number(number, &mut bytes);
        let mut rest = &*bytes;
        let taken = take_number(&mut rest).expect("what was put");
        assert!(rest.is_empty());
        taken
    }

    #[test]
    fn every_number_comes_back_bit_by_bit() {
        for number in [
            0.0,
            -0.0,
            0.1,
            23.45,
            -1e-9,
            1.0 / 3.0,
            f64::MAX,
            f64::MIN_POSITIVE,
            9.1e15,
            8_388.607,
            8_388.608,
            -8_388.607,
            -8_388.608,
            -8_388.609,
            2_147_483.648,
        ] {
            assert_eq!(again(number).to_bits(), number.to_bits(), "{number}");
        }
    }

    #[test]
    fn a_common_number_takes_three_bytes() {
        let mut bytes = Vec::new();
        put_number(23.5, &mut bytes);
        assert_eq!(bytes.len(), 3);
    }

    /// The cells that were shown, in words.
    #[derive(Debug, Default, PartialEq)]
    struct Seen(Vec<(usize, String)>);

    impl Look for Seen {
        fn known(&mut self, position: usize, value: Shown<'_>) {
            self.0.push((position, format!("{value:?}")));
        }

        fn unknown(&mut self, position: usize) {
            self.0.push((position, "unknown".to_owned()));
        }
    }

    proptest! {
        #[test]
        fn prop_numbers_come_back(number in any::<f64>(), decimal in -99_999_999_i64..99_999_999) {
            prop_assert_eq!(again(number).to_bits(), number.to_bits());
            let decimal: f64 = format!("{}.{:03}", decimal / 1000, decimal.abs() % 1000).parse().unwrap();
            prop_assert_eq!(again(decimal).to_bits(), decimal.to_bits());
        }

        #[test]
        fn prop_signs_fold_and_unfold(number in any::<i64>()) {
            prop_assert_eq!(unfold_sign(fold_sign(number)), number);
        }

        /// Any row: every cell known or not, of every kind.
        #[test]
        fn prop_rows_come_back(
            known in prop::collection::vec(any::<bool>(), CaseCells::FIELDS.len()),
            wanted in prop::collection::vec(any::<bool>(), CaseCells::FIELDS.len()),
            number in any::<f64>(),
            text in "\\PC{1,20}",
        ) {
            let mut cells = CaseCells::default();
            let mut to_rest = ToRest::default();
            for (column, (field, known)) in CaseCells::FIELDS.iter().zip(known).enumerate() {
                if known {
                    let words = (field.words)().len();
                    let value = match field.kind {
                        "number" => Parsed::Number(number),
                        "integer" => Parsed::Integer(-7),
                        "date" => Parsed::Date(jiff::civil::date(1936, 2, 29)),
                        "yes_no" => Parsed::YesNo(known),
                        "choice" => Parsed::Choice(words - 1),
                        _ => Parsed::Text(text.as_str().into()),
                    };
                    to_rest.add(column, &value);
                    (field.set)(&mut cells, value);
                }
            }
            let set = (0..wanted.len()).filter(|&column| wanted[column]).collect();
            let mut there = Seen::default();
            cells.each(&mut there);
            there.0.retain(|(column, _)| wanted[*column]);
            for rested in [AtRest::of(&cells), to_rest.row()] {
                prop_assert_eq!(format!("{rested:?}"), format!("{cells:?}"));
                let mut seen = Seen::default();
                rested.look_at_some(&set, &mut seen);
                prop_assert_eq!(&seen, &there);
            }
        }
    }

    #[test]
    fn bytes_that_end_too_early_are_no_row() {
        let cells = CaseCells {
            height_cm: Some(171.5),
            ..CaseCells::default()
        };
        let mut bytes = Vec::new();
        cells.put(&mut bytes);
        for end in 0..bytes.len() {
            assert_eq!(CaseCells::take(&mut &bytes[..end]), None);
            let look = CaseCells::look_at_some(
                &mut &bytes[..end],
                &ColumnSet::default(),
                &mut Seen::default(),
            );
            assert_eq!(look, None);
        }
        assert_eq!(Rhythm::take(&mut &[Rhythm::ALL.len() as u8][..]), None);
    }
}
