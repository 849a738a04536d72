//! What a cell can hold, and the macro that turns a list of columns into a plain struct.

use std::sync::Arc;

use jiff::civil::Date;

/// Free text or an identifier: shared, so that copying a record is cheap.
pub type Text = Arc<str>;

/// A closed list of words, in the order of the dictionary.
pub trait Choice: Copy + 'static {
    /// Every choice.
    const ALL: &'static [Self];
    /// The word as files hold it.
    fn word(self) -> &'static str;
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
}

macro_rules! plain_field {
    ($ty:ty, $kind:literal, $parsed:ident, $shown:expr) => {
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
        }
    };
}

plain_field!(f64, "number", Number, |value: &f64| Shown::Number(*value));
plain_field!(i64, "integer", Integer, |value: &i64| Shown::Integer(
    *value
));
plain_field!(Date, "date", Date, |value: &Date| Shown::Date(*value));
plain_field!(bool, "yes_no", YesNo, |value: &bool| Shown::YesNo(*value));

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
}

impl<T: Choice> Field for T {
    const KIND: &'static str = "choice";
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
}

/// One column of a record: how it is named, typed, written and read.
pub struct FieldOf<Record> {
    /// Header.
    pub name: &'static str,
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

    /// The column of this name.
    fn field(name: &str) -> Option<&'static FieldOf<Self>> {
        Self::FIELDS.iter().find(|field| field.name == name)
    }
    /// The known value of the column of this name.
    fn value(&self, name: &str) -> Option<Shown<'_>> {
        (Self::field(name)?.get)(self)
    }
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
                kind: <$ty as $crate::record::Field>::KIND,
                words: <$ty as $crate::record::Field>::words,
                set: |cells, parsed| cells.$field = $crate::record::Field::from_parsed(parsed),
                get: |cells| cells.$field.as_ref().map($crate::record::Field::shown),
                clear: |cells| cells.$field = None,
            }),+];
        }
    };
}
pub(crate) use cells;
