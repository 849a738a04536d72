//! What a cell can hold, and the macro that turns a list of columns into a plain struct.

use std::collections::HashMap;
use std::sync::LazyLock;

use jiff::civil::Date;
use smol_str::SmolStr;

use super::ColumnSet;
use super::at_rest::{fold_sign, put_number, put_whole, take_number, take_whole, unfold_sign};

/// Free text or an identifier: short ones, as most are, where they stand, longer ones shared, so that neither copying a
/// record nor taking it up asks for memory.
pub type Text = SmolStr;

/// A closed list of words, in the order of the dictionary.
pub trait Choice: Copy + 'static {
    /// Every choice.
    const ALL: &'static [Self];
    /// The word as files hold it.
    fn word(self) -> &'static str;
    /// Where it stands in the list.
    fn position(self) -> usize;
}

/// One cell once its text has been understood.
#[derive(Clone, Debug, PartialEq)]
pub enum Parsed {
    /// A finite number in the column's unit.
    Number(f64),
    /// A whole number.
    Integer(i64),
    /// A calendar date.
    Date(Date),
    /// Yes or no.
    YesNo(bool),
    /// Position in the column's list of choices.
    Choice(usize),
    /// Text, never empty.
    Text(Text),
}

impl Parsed {
    /// The kind of the columns that can hold it.
    pub(super) fn kind(&self) -> &'static str {
        match self {
            Self::Number(_) => f64::KIND,
            Self::Integer(_) => i64::KIND,
            Self::Date(_) => Date::KIND,
            Self::YesNo(_) => bool::KIND,
            Self::Choice(_) => CHOICE,
            Self::Text(_) => Text::KIND,
        }
    }

    /// Puts the value at the end of the bytes of a row at rest, as a cell of that kind does.
    pub(super) fn put(&self, bytes: &mut Vec<u8>) {
        match self {
            Self::Number(value) => value.put(bytes),
            Self::Integer(value) => value.put(bytes),
            Self::Date(value) => value.put(bytes),
            Self::YesNo(value) => value.put(bytes),
            Self::Choice(position) => put_choice(*position, bytes),
            Self::Text(value) => value.put(bytes),
        }
    }
}

/// A known value on its way to a reader.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shown<'a> {
    /// A number in the unit of its column or result.
    Number(f64),
    /// A whole number.
    Integer(i64),
    /// A calendar date.
    Date(Date),
    /// Yes or no.
    YesNo(bool),
    /// A word of a closed list.
    Word(&'static str),
    /// Free text or an identifier.
    Text(&'a str),
}

/// A type that a column can have.
pub trait Field: Sized {
    /// The kind, as the dictionary names it.
    const KIND: &'static str;
    /// The words of a choice; empty for every other kind.
    fn words() -> Vec<&'static str> {
        Vec::new()
    }
    /// The value, where the parsed cell is of this kind.
    fn from_parsed(parsed: Parsed) -> Option<Self>;
    /// The value for a reader.
    fn shown(&self) -> Shown<'_>;
    /// Puts the value at the end of the bytes of a row at rest.
    fn put(&self, bytes: &mut Vec<u8>);
    /// Takes the value from the front of the bytes of a row at rest; `None` where it is not there.
    fn take(bytes: &mut &[u8]) -> Option<Self>;
    /// Steps over the value at the front of the bytes of a row at rest; `None` where it is not there.
    fn skip(bytes: &mut &[u8]) -> Option<()> {
        Self::take(bytes).map(drop)
    }
}

macro_rules! plain_field {
    ($ty:ty, $kind:literal, $parsed:ident, $shown:expr, $put:expr, $take:expr) => {
        impl Field for $ty {
            const KIND: &'static str = $kind;
            fn from_parsed(parsed: Parsed) -> Option<Self> {
                match parsed {
                    Parsed::$parsed(value) => Some(value),
                    _ => None,
                }
            }
            fn shown(&self) -> Shown<'_> {
                ($shown)(self)
            }
            fn put(&self, bytes: &mut Vec<u8>) {
                ($put)(self, bytes);
            }
            fn take(bytes: &mut &[u8]) -> Option<Self> {
                ($take)(bytes)
            }
        }
    };
}

plain_field!(
    f64,
    "number",
    Number,
    |value: &f64| Shown::Number(*value),
    |value: &f64, bytes: &mut Vec<u8>| put_number(*value, bytes),
    take_number
);
plain_field!(
    i64,
    "integer",
    Integer,
    |value: &i64| Shown::Integer(*value),
    |value: &i64, bytes: &mut Vec<u8>| put_whole(fold_sign(*value), bytes),
    |bytes: &mut &[u8]| take_whole(bytes).map(unfold_sign)
);
plain_field!(
    Date,
    "date",
    Date,
    |value: &Date| Shown::Date(*value),
    put_date,
    take_date
);
plain_field!(
    bool,
    "yes_no",
    YesNo,
    |value: &bool| Shown::YesNo(*value),
    |value: &bool, bytes: &mut Vec<u8>| bytes.push(u8::from(*value)),
    |bytes: &mut &[u8]| Some(take_whole(bytes)? == 1)
);

fn put_date(date: &Date, bytes: &mut Vec<u8>) {
    bytes.extend(date.year().to_le_bytes());
    bytes.extend(date.month().to_le_bytes());
    bytes.extend(date.day().to_le_bytes());
}

fn take_date(bytes: &mut &[u8]) -> Option<Date> {
    let (&[low, high, month, day], rest) = bytes.split_first_chunk()?;
    *bytes = rest;
    let year = i16::from_le_bytes([low, high]);
    Date::new(year, month.cast_signed(), day.cast_signed()).ok()
}

impl Field for Text {
    const KIND: &'static str = "text";
    fn from_parsed(parsed: Parsed) -> Option<Self> {
        match parsed {
            Parsed::Text(value) => Some(value),
            _ => None,
        }
    }
    fn shown(&self) -> Shown<'_> {
        Shown::Text(self)
    }
    fn put(&self, bytes: &mut Vec<u8>) {
        put_whole(self.len() as u64, bytes);
        bytes.extend(self.as_bytes());
    }
    fn take(bytes: &mut &[u8]) -> Option<Self> {
        std::str::from_utf8(take_bytes(bytes)?).ok().map(Self::from)
    }
    fn skip(bytes: &mut &[u8]) -> Option<()> {
        take_bytes(bytes).map(drop)
    }
}

/// Takes the bytes of a text from the front of a row at rest.
fn take_bytes<'b>(bytes: &mut &'b [u8]) -> Option<&'b [u8]> {
    let length = usize::try_from(take_whole(bytes)?).ok()?;
    let (text, rest) = bytes.split_at_checked(length)?;
    *bytes = rest;
    Some(text)
}

/// The kind of every closed list of words.
const CHOICE: &str = "choice";

fn put_choice(position: usize, bytes: &mut Vec<u8>) {
    put_whole(position as u64, bytes);
}

impl<T: Choice> Field for T {
    const KIND: &'static str = CHOICE;
    fn words() -> Vec<&'static str> {
        T::ALL.iter().map(|choice| choice.word()).collect()
    }
    fn from_parsed(parsed: Parsed) -> Option<Self> {
        match parsed {
            Parsed::Choice(position) => T::ALL.get(position).copied(),
            _ => None,
        }
    }
    fn shown(&self) -> Shown<'_> {
        Shown::Word(self.word())
    }
    fn put(&self, bytes: &mut Vec<u8>) {
        put_choice(self.position(), bytes);
    }
    fn take(bytes: &mut &[u8]) -> Option<Self> {
        T::ALL
            .get(usize::try_from(take_whole(bytes)?).ok()?)
            .copied()
    }
}

/// A number for a name: FNV-1a of 32 bits (Fowler, Noll and Vo), which no two columns of a file share.
pub const fn name_code(name: &str) -> u32 {
    let bytes = name.as_bytes();
    let mut code: u32 = 0x811c_9dc5;
    let mut at = 0;
    while at < bytes.len() {
        code = (code ^ bytes[at] as u32).wrapping_mul(0x0100_0193);
        at += 1;
    }
    code
}

/// One column of a record: how it is named, typed, written and read.
pub struct FieldOf<Record> {
    /// Header.
    pub name: &'static str,
    /// Stands for the header where a hash is made ([`name_code`]): the same in every version, wherever the column stands.
    pub code: u32,
    /// Kind, as the dictionary names it (`id` columns are `text` here).
    pub kind: &'static str,
    /// The words of a choice.
    pub words: fn() -> Vec<&'static str>,
    /// Stores a parsed cell; one of the wrong kind leaves the field unknown.
    pub set: fn(&mut Record, Parsed),
    /// The known value.
    pub get: fn(&Record) -> Option<Shown<'_>>,
    /// Makes the field unknown.
    pub clear: fn(&mut Record),
}

/// A struct made by the `cells!` macro: a row of one input file.
pub trait Cells: Sized + Default + 'static {
    /// The file, as the dictionary names it.
    const FILE: &'static str;
    /// Every column, in the order of the dictionary.
    const FIELDS: &'static [FieldOf<Self>];

    /// Puts the known cells at the end of the bytes of a row at rest.
    fn put(&self, bytes: &mut Vec<u8>);
    /// Takes the cells from the front of the bytes of a row at rest; `None` where they are not there.
    fn take(bytes: &mut &[u8]) -> Option<Self>;

    /// Shows the cells at the front of the bytes of a row at rest whose columns are wanted, in the order of
    /// [`Cells::FIELDS`], without taking up the others; `None` where they are not there.
    fn look_at_some(bytes: &mut &[u8], wanted: &ColumnSet, look: &mut impl Look) -> Option<()>;

    /// Shows every cell, in the order of [`Cells::FIELDS`].
    fn each(&self, look: &mut impl Look);

    /// The columns whose cells are known.
    fn known(&self) -> ColumnSet;

    /// Where the column of this name stands in [`Cells::FIELDS`].
    fn position(name: &str) -> Option<usize>;
    /// The column of this name.
    fn field(name: &str) -> Option<&'static FieldOf<Self>> {
        Self::position(name).map(|position| &Self::FIELDS[position])
    }
    /// The known value of the column of this name.
    fn value(&self, name: &str) -> Option<Shown<'_>> {
        (Self::field(name)?.get)(self)
    }
}

/// Looks at the cells of a row, of which there are hundreds in every case. Not a closure, since what is to be done with
/// each can be put in its place only where it has a name.
pub trait Look {
    /// A known cell, with the position of its column.
    fn known(&mut self, position: usize, value: Shown<'_>);
    /// A cell that is not known.
    fn unknown(&mut self, position: usize);
}

/// Where each column stands, by name.
pub(crate) type Positions = LazyLock<HashMap<&'static str, usize>>;

/// The columns of a row by name.
pub(crate) fn positions<T: Cells>() -> HashMap<&'static str, usize> {
    let names = T::FIELDS.iter().map(|field| field.name);
    names.enumerate().map(|(at, name)| (name, at)).collect()
}

/// Declares a row: one optional field a column.
macro_rules! cells {
    ($(#[$doc:meta])* $name:ident of $file:literal {
        $($(#[$meaning:meta])* $field:ident: $ty:ty,)+
    }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct $name { $($(#[$meaning])* pub $field: Option<$ty>,)+ }

        impl $crate::record::Cells for $name {
            const FILE: &'static str = $file;
            const FIELDS: &'static [$crate::record::FieldOf<Self>] = &[$($crate::record::FieldOf {
                name: stringify!($field),
                code: $crate::record::name_code(stringify!($field)),
                kind: <$ty as $crate::record::Field>::KIND,
                words: <$ty as $crate::record::Field>::words,
                set: |cells, parsed| cells.$field = $crate::record::Field::from_parsed(parsed),
                get: |cells| cells.$field.as_ref().map($crate::record::Field::shown),
                clear: |cells| cells.$field = None,
            }),+];

            fn position(name: &str) -> Option<usize> {
                // Names are looked up for every result of every case.
                static POSITIONS: $crate::record::Positions =
                    $crate::record::Positions::new(|| $crate::record::positions::<$name>());
                POSITIONS.get(name).copied()
            }

            fn each(&self, look: &mut impl $crate::record::Look) {
                let mut positions = 0..;
                $(if let Some(position) = positions.next() {
                    match &self.$field {
                        Some(value) => look.known(position, $crate::record::Field::shown(value)),
                        None => look.unknown(position),
                    }
                })+
            }

            fn known(&self) -> $crate::record::ColumnSet {
                const { assert!(Self::FIELDS.len() <= $crate::record::ColumnSet::MOST) };
                let mut known = $crate::record::ColumnSet::default();
                let mut positions = 0..;
                $(if let (Some(position), true) = (positions.next(), self.$field.is_some()) {
                    known.insert(position);
                })+
                known
            }

            fn put(&self, bytes: &mut Vec<u8>) {
                let mut marks = $crate::record::at_rest::Marks::<{ Self::FIELDS.len().div_ceil(8) }>::new();
                $(marks.mark(self.$field.is_some());)+
                marks.put(bytes);
                $(if let Some(value) = &self.$field {
                    $crate::record::Field::put(value, bytes);
                })+
            }

            fn take(bytes: &mut &[u8]) -> Option<Self> {
                let mut marks = $crate::record::at_rest::Marks::<{ Self::FIELDS.len().div_ceil(8) }>::take(bytes)?;
                Some(Self { $($field: match marks.next() {
                    true => Some($crate::record::Field::take(bytes)?),
                    false => None,
                },)+ })
            }

            fn look_at_some(
                bytes: &mut &[u8],
                wanted: &$crate::record::ColumnSet,
                look: &mut impl $crate::record::Look,
            ) -> Option<()> {
                let mut marks = $crate::record::at_rest::Marks::<{ Self::FIELDS.len().div_ceil(8) }>::take(bytes)?;
                let mut positions = 0..;
                $(if let Some(position) = positions.next() {
                    match (marks.next(), wanted.contains(position)) {
                        (true, true) => {
                            let value = <$ty as $crate::record::Field>::take(bytes)?;
                            look.known(position, $crate::record::Field::shown(&value));
                        }
                        (true, false) => <$ty as $crate::record::Field>::skip(bytes)?,
                        (false, true) => look.unknown(position),
                        (false, false) => {}
                    }
                })+
                Some(())
            }
        }
    };
}
pub(crate) use cells;

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;
    use crate::record::{CaseCells, DeviceCells, VisitCells};

    /// Test vectors of 32 bits of FNV-1a as its authors publish them (draft-eastlake-fnv; from memory).
    #[test]
    fn codes_are_those_of_fnv() {
        for (name, code) in [
            ("", 0x811c_9dc5),
            ("a", 0xe40c_292c),
            ("foobar", 0xbf9c_f968),
        ] {
            assert_eq!(name_code(name), code, "{name}");
        }
    }

    #[test]
    fn no_two_columns_of_a_file_share_a_code() {
        fn distinct<T: Cells>() {
            let codes: HashSet<u32> = T::FIELDS.iter().map(|field| field.code).collect();
            assert_eq!(codes.len(), T::FIELDS.len(), "{}", T::FILE);
        }
        distinct::<CaseCells>();
        distinct::<VisitCells>();
        distinct::<DeviceCells>();
    }
}
