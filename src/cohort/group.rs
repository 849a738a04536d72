//! How cases are grouped, each with a group for what is not recorded, so that groups add up.

use std::collections::BTreeMap;

use jiff::civil::Date;
use sha2::{Digest, Sha256};

use super::audit_case::AuditCase;
use super::options::CohortOptions;
use crate::record::{Choice, Text};

/// What a group is named where the cell is unknown.
pub const NOT_RECORDED: &str = "not recorded";

/// What cases are grouped by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Dimension {
    /// Centre.
    Site,
    /// First operator.
    Operator,
    /// How the implanted valve expands.
    Mechanism,
    /// What the valve was implanted into.
    Morphology,
    /// How the vessel was reached; on pages only.
    AccessRoute,
}

impl Dimension {
    /// The dimensions of cohort.csv, in its order.
    pub const ALL: [Self; 4] = [
        Self::Site,
        Self::Operator,
        Self::Mechanism,
        Self::Morphology,
    ];

    /// The word before `=` in cohort.csv.
    pub fn word(self) -> &'static str {
        match self {
            Self::Site => "site",
            Self::Operator => "operator",
            Self::Mechanism => "mechanism",
            Self::Morphology => "morphology",
            Self::AccessRoute => "access",
        }
    }
}

/// The groups of one dimension and which of them each case belongs to.
#[derive(Clone, Debug, PartialEq)]
pub struct Grouping {
    /// The dimension.
    pub dimension: Dimension,
    /// Names in their order; `not recorded` is the last.
    pub names: Vec<String>,
    /// For each case, the position of its group in `names`.
    pub of_case: Vec<usize>,
}

impl Grouping {
    /// Groups the cases.
    pub fn of(dimension: Dimension, cases: &[AuditCase<'_>], options: &CohortOptions) -> Self {
        let value = |case: &AuditCase<'_>| -> Option<(usize, Text)> {
            let cells = case.cells();
            match dimension {
                Dimension::Site => cells.site.clone().map(|site| (0, site)),
                Dimension::Operator => cells.operator.clone().map(|operator| (0, operator)),
                Dimension::Mechanism => case
                    .mechanism
                    .map(|mechanism| (mechanism as usize, Text::from(mechanism.word()))),
                Dimension::Morphology => cells
                    .valve_morphology
                    .map(|morphology| (morphology as usize, Text::from(morphology.word()))),
                Dimension::AccessRoute => cells
                    .access_route
                    .map(|route| (route as usize, Text::from(route.word()))),
            }
        };
        let values: Vec<Option<(usize, Text)>> = cases.iter().map(value).collect();
        let mut position: BTreeMap<(usize, Text), usize> = values
            .iter()
            .flatten()
            .map(|key| (key.clone(), 0))
            .collect();
        for (order, place) in position.values_mut().enumerate() {
            *place = order;
        }
        let mut names: Vec<String> = position.keys().map(|(_, name)| name.to_string()).collect();
        if dimension == Dimension::Operator && (options.deidentify || !options.name_operators) {
            names = lettered(&names, options);
        }
        let unknown = names.len();
        names.push(NOT_RECORDED.to_owned());
        let of_case = values
            .iter()
            .map(|key| key.as_ref().map_or(unknown, |key| position[key]))
            .collect();
        Self {
            dimension,
            names,
            of_case,
        }
    }

    /// The name of a group in cohort.csv.
    pub fn label(&self, group: usize) -> String {
        format!("{}={}", self.dimension.word(), self.names[group])
    }
}

/// A letter for each code. De-identified, the order of the letters changes with every release, so that neither the
/// alphabet nor an earlier release tells who stands behind one; otherwise it is the order of the codes.
fn lettered(codes: &[String], options: &CohortOptions) -> Vec<String> {
    let mut order: Vec<usize> = (0..codes.len()).collect();
    if options.deidentify {
        order.sort_by_key(|&code| shuffled(&codes[code], options.to.unwrap_or(options.as_of)));
    }
    let mut letters = vec![String::new(); codes.len()];
    for (place, code) in order.into_iter().enumerate() {
        letters[code] = letter(place);
    }
    letters
}

fn shuffled(code: &str, release: Date) -> [u8; 32] {
    Sha256::digest(format!("{release} {code}")).into()
}

/// A, B, … Z, AA, AB, …
fn letter(place: usize) -> String {
    let last = char::from(b'A' + (place % 26) as u8);
    match place / 26 {
        0 => last.to_string(),
        more => letter(more - 1) + &last.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!(letter(0), "A");
        assert_eq!(letter(25), "Z");
        assert_eq!(letter(26), "AA");
        assert_eq!(letter(51), "AZ");
        assert_eq!(letter(52), "BA");
    }
}
