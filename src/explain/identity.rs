//! As whom a case stands in a file, and what is left out where it stands there as a number.
//!
//! Left out: every text but the ids of the devices file (they name a product of the catalogue, not a patient), birth
//! date and as-of date. Dates are days from the procedure. Ages above 89 are "90+", and every number that is computed
//! from the age is left out there, since a formula with its other inputs beside it would give the age back. The age
//! limit is that of the de-identification standard of 45 CFR 164.514(b)(2)(i)(C).

use std::collections::HashSet;
use std::sync::LazyLock;

use jiff::civil::Date;

use crate::assess::definitions::{DEFINITIONS, Read};
use crate::date::days_between;
use crate::record::Shown;

/// The highest age in completed years that is told.
const OLDEST_TOLD: f64 = 89.0;
/// What stands for an age above it.
pub const OLDER: &str = "90+";
/// Texts that name a device of the catalogue.
const DEVICES: [&str; 5] = [
    "device_id",
    "planned_device_id",
    "annulus_sizes",
    "supraannular_sizes",
    "balloon_sizes",
];

/// As whom a case stands in a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Identity {
    /// As itself.
    Named,
    /// As a number that says nothing of who it is.
    Numbered(usize),
}

/// What a file may say of a value.
#[derive(Clone, Debug, PartialEq)]
pub enum Told<'a> {
    /// The value itself.
    Value(Shown<'a>),
    /// Days from the procedure in place of a date.
    Days(i64),
    /// An age above 89.
    Older,
    /// Nothing: it is unknown, or names someone.
    Nothing,
}

/// What a file may say of the values of one case.
#[derive(Clone, Copy, Debug)]
pub struct Teller {
    identity: Identity,
    procedure_date: Date,
    older: bool,
}

impl Teller {
    /// For a case with this procedure date and age (completed years), where known.
    pub fn new(identity: Identity, procedure_date: Date, age_years: Option<i64>) -> Self {
        Self {
            identity,
            procedure_date,
            older: age_years.is_some_and(|age| above_89(age as f64)),
        }
    }

    /// Whether every value may be told as it is.
    pub fn tells_all(&self) -> bool {
        self.identity == Identity::Named
    }

    /// What may be said of a column or result.
    #[inline]
    pub fn tell<'a>(&self, name: &str, value: Option<Shown<'a>>) -> Told<'a> {
        match (value, self.identity) {
            (None, _) => Told::Nothing,
            (Some(value), Identity::Named) => Told::Value(value),
            (Some(value), Identity::Numbered(_)) => self.tell_of_a_number(name, value),
        }
    }

    fn tell_of_a_number<'a>(&self, name: &str, value: Shown<'a>) -> Told<'a> {
        match value {
            Shown::Date(_) if matches!(name, "birth_date" | "as_of") => Told::Nothing,
            Shown::Date(date) => Told::Days(days_between(self.procedure_date, date)),
            Shown::Text(_) if !DEVICES.contains(&name) => Told::Nothing,
            Shown::Number(_) | Shown::Integer(_) if name == "age_years" => {
                if self.older || as_number(value).is_some_and(above_89) {
                    Told::Older
                } else {
                    Told::Value(value)
                }
            }
            Shown::Number(_) | Shown::Integer(_) if self.older && FROM_AGE.contains(name) => {
                Told::Nothing
            }
            value => Told::Value(value),
        }
    }

    /// A date in words: itself, or the day counted from the procedure.
    pub fn day(&self, date: Date) -> String {
        match self.identity {
            Identity::Named => date.to_string(),
            Identity::Numbered(_) => format!("day {}", days_between(self.procedure_date, date)),
        }
    }
}

/// More than 89 completed years; a file may give the age with decimals.
fn above_89(age_years: f64) -> bool {
    age_years.floor() > OLDEST_TOLD
}

fn as_number(value: Shown<'_>) -> Option<f64> {
    match value {
        Shown::Number(number) => Some(number),
        #[expect(clippy::cast_precision_loss, reason = "ages are small")]
        Shown::Integer(number) => Some(number as f64),
        _ => None,
    }
}

/// Every result that reads the age, or a result that does.
static FROM_AGE: LazyLock<HashSet<&'static str>> = LazyLock::new(|| {
    let mut from_age: HashSet<&'static str> = HashSet::new();
    loop {
        let before = from_age.len();
        for definition in DEFINITIONS {
            let reads_age = definition.reads.iter().chain(definition.or_reads).any(
                |read| matches!(read, Read::Case("birth_date" | "age_years"))
                    || matches!(read, Read::Result(name) if *name == "age_years" || from_age.contains(name)),
            );
            if reads_age {
                from_age.insert(definition.name);
            }
        }
        if from_age.len() == before {
            return from_age;
        }
    }
});

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn teller(age: i64) -> Teller {
        Teller::new(Identity::Numbered(1), date(2026, 3, 1), Some(age))
    }

    #[test]
    fn dates_are_days_and_who_it_is_is_not_told() {
        let teller = teller(80);
        let day = Some(Shown::Date(date(2026, 3, 31)));
        assert_eq!(teller.tell("next_visit_due", day), Told::Days(30));
        assert_eq!(teller.tell("birth_date", day), Told::Nothing);
        assert_eq!(teller.tell("as_of", day), Told::Nothing);
        let text = Some(Shown::Text("x"));
        assert_eq!(teller.tell("discharge_note", text), Told::Nothing);
        assert_eq!(
            teller.tell("annulus_sizes", text),
            Told::Value(Shown::Text("x"))
        );
    }

    #[test]
    fn above_89_neither_the_age_nor_what_gives_it_back_is_told() {
        let clearance = Some(Shown::Number(40.0));
        let ages = [(89, Told::Value(Shown::Integer(89))), (90, Told::Older)];
        for (age, told) in ages {
            assert_eq!(
                teller(age).tell("age_years", Some(Shown::Integer(age))),
                told
            );
        }
        assert_eq!(
            teller(90).tell("creatinine_clearance_ml_min", clearance),
            Told::Nothing
        );
        assert_eq!(teller(90).tell("euroscore2_pct", clearance), Told::Nothing);
        assert_eq!(
            teller(89).tell("creatinine_clearance_ml_min", clearance),
            Told::Value(Shown::Number(40.0))
        );
        assert_eq!(
            teller(90).tell("bmi_kg_m2", clearance),
            Told::Value(Shown::Number(40.0))
        );
    }
}
