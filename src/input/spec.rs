//! The dictionary made ready for reading: one specification a column, in the order of the typed record.

use std::collections::HashMap;
use std::sync::LazyLock;

use super::limits::Limits;
use super::loose::loose_form;
use super::units::{Conversion, slips_to};
use crate::dictionary::{Column, columns_of};

/// What a cell of the column must hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Id,
    Text,
    Number,
    Integer,
    Date,
    YesNo,
    Choice,
}

/// One column as the reader needs it.
#[derive(Debug)]
pub(super) struct Spec {
    /// Its entry in the dictionary.
    pub column: &'static Column,
    /// What its cells hold.
    pub kind: Kind,
    /// What its numbers may be.
    pub limits: Limits,
    /// Units that a number may have been written in by slip.
    pub slips: Vec<&'static Conversion>,
    /// The words of a choice, in order.
    pub words: Vec<&'static str>,
    /// What the cell holds is about a person and is never repeated in a message: free text, and the date of birth.
    pub private: bool,
}

/// The columns of one file.
#[derive(Debug)]
pub(super) struct Specs {
    /// In the order of the dictionary, which is that of the typed record.
    pub list: Vec<Spec>,
    /// Where the column of a header stands in the list, by the header's loose form.
    by_name: HashMap<String, usize>,
}

impl Specs {
    fn new(file: &str) -> Self {
        let list: Vec<Spec> = columns_of(file)
            .map(|column| {
                let kind = match column.kind.as_str() {
                    "id" => Kind::Id,
                    "number" => Kind::Number,
                    "integer" => Kind::Integer,
                    "date" => Kind::Date,
                    "yes_no" => Kind::YesNo,
                    "choice" => Kind::Choice,
                    _ => Kind::Text,
                };
                let personal = matches!(column.name.as_str(), "birth_date" | "patient_key");
                Spec {
                    column,
                    kind,
                    limits: Limits::of(column),
                    slips: slips_to(&column.name, &column.unit).collect(),
                    words: column.words().collect(),
                    private: personal || kind == Kind::Text && column.file != "devices",
                }
            })
            .collect();
        let by_name = list
            .iter()
            .enumerate()
            .map(|(position, spec)| (loose_form(&spec.column.name), position))
            .collect();
        Self { list, by_name }
    }

    /// Where the column of this header stands.
    pub fn position(&self, header: &str) -> Option<usize> {
        self.by_name.get(&loose_form(header)).copied()
    }

    /// Every header.
    pub fn names(&self) -> impl Iterator<Item = &'static str> {
        self.list.iter().map(|spec| spec.column.name.as_str())
    }
}

/// The columns of `cases`, `followups` or `devices`.
pub(super) fn specs(file: &str) -> &'static Specs {
    static CASES: LazyLock<Specs> = LazyLock::new(|| Specs::new("cases"));
    static FOLLOWUPS: LazyLock<Specs> = LazyLock::new(|| Specs::new("followups"));
    static DEVICES: LazyLock<Specs> = LazyLock::new(|| Specs::new("devices"));
    match file {
        "cases" => &CASES,
        "followups" => &FOLLOWUPS,
        _ => &DEVICES,
    }
}
