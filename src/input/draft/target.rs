//! The columns of a table and everything each may be called.

use std::collections::{BTreeSet, HashMap};

use super::vocabulary::{lines, notions};
use crate::input::spec::{Kind, Spec, specs};

/// A column and everything it may be called.
pub(super) struct Target {
    /// The column.
    pub spec: &'static Spec,
    /// Its names, each as notions.
    pub names: Vec<BTreeSet<&'static str>>,
    /// Names with words that are no notion of the list, compared as they are.
    pub plain: Vec<(BTreeSet<&'static str>, BTreeSet<String>)>,
    /// Notions that a header may add without saying another thing.
    pub may: BTreeSet<&'static str>,
}

/// Endings of column names that are units.
const UNITS_OF_NAMES: &[&str] = &[
    "mm2", "cm2", "mm", "cm", "kg", "ms", "umol_l", "g_dl", "pct", "m_s", "mmhg", "bpm", "ml_m2",
    "au", "deg", "gy_cm2", "ml", "min", "l_min", "s", "years",
];

/// The columns of a table.
pub(super) fn targets(table: &str) -> Vec<Target> {
    let mut others: HashMap<&str, Vec<&'static str>> = HashMap::new();
    for (column, names) in lines(include_str!("names.txt")) {
        if let Some((file, column)) = column.split_once('.')
            && file == table
        {
            others.insert(column, names.collect());
        }
    }
    specs(table)
        .list
        .iter()
        .map(|spec| {
            target(
                spec,
                others
                    .get(spec.column.name.as_str())
                    .map_or(&[], Vec::as_slice),
            )
        })
        .collect()
}

fn target(spec: &'static Spec, others: &[&'static str]) -> Target {
    let column = spec.column;
    let name = column.name.as_str();
    let bare = UNITS_OF_NAMES
        .iter()
        .filter(|_| matches!(spec.kind, Kind::Number | Kind::Integer))
        // A minimum ends as minutes do.
        .filter(|unit| **unit != "min" || column.unit == "min")
        .find_map(|unit| name.strip_suffix(unit)?.strip_suffix('_'))
        .unwrap_or(name);
    let mut names = Vec::new();
    let mut plain = Vec::new();
    for text in std::iter::once(bare).chain(others.iter().copied()) {
        let said = notions(text);
        if said.unknown.is_empty() {
            names.push(said.known);
        } else {
            plain.push((said.known, said.unknown));
        }
    }
    // The echo before discharge is called by either word, or both.
    for known in names.clone() {
        if name.starts_with("post_") && known.contains("after") {
            let mut with: BTreeSet<&'static str> = known.clone();
            with.insert("discharge");
            let without: BTreeSet<&'static str> = with
                .iter()
                .copied()
                .filter(|notion| *notion != "after")
                .collect();
            names.extend([with, without]);
        }
    }
    let mut may: BTreeSet<&'static str> = match column.from.as_str() {
        "ct" => ["ct", "aortic"].into(),
        "echo" => ["echo", "aortic", "valve"].into(),
        "laboratory" => ["lab"].into(),
        "catalogue" => ["device", "valve"].into(),
        _ => ["patient"].into(),
    };
    let baseline =
        column.meaning.contains("aseline") || column.meaning.contains("before the procedure");
    if column.file == "cases"
        && (column.from == "ct"
            || column.from == "laboratory"
                && !name.contains("lowest")
                && !name.contains("discharge")
                && !name.contains("peak")
                && !name.contains("48h")
            || baseline)
    {
        may.insert("before");
    }
    if column.file == "followups" {
        may.extend(["visit", "followup", "device"]);
    }
    if name.starts_with("post_") {
        may.insert("device");
    }
    Target {
        spec,
        names,
        plain,
        may,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_other_name_is_of_a_column() {
        for (column, _) in lines(include_str!("names.txt")) {
            let (table, column) = column.split_once('.').expect("table.column");
            assert!(
                crate::dictionary::column(table, column).is_some(),
                "{table}.{column}"
            );
        }
    }

    #[test]
    fn no_column_is_called_what_another_is() {
        for table in ["cases", "followups", "devices"] {
            let targets = targets(table);
            for (at, target) in targets.iter().enumerate() {
                assert!(!target.names.is_empty() || !target.plain.is_empty());
                for other in &targets[at + 1..] {
                    let shared = target.names.iter().find(|name| other.names.contains(name));
                    assert!(
                        shared.is_none(),
                        "{} and {}: {shared:?}",
                        target.spec.column.name,
                        other.spec.column.name
                    );
                }
            }
        }
    }
}
