//! Which column a header is: by its words, held against its unit and its values.

use std::collections::{BTreeSet, HashMap};

use super::export::{Export, Field};
use super::unit::{self, Unit};
use super::values;
use super::vocabulary::{Notions, lines, notions};
use crate::input::number::DecimalMark;
use crate::input::spec::{Kind, Spec, specs};

/// How sure a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Sure {
    /// Its words are those of one column, and its values fit.
    Sure,
    /// The same with one thing less; the reason says which.
    Likely,
    /// To be looked at by a person before it is used.
    Guess,
}

/// A header with the column it was placed at.
pub(super) struct Placed<'e> {
    /// The header and its values.
    pub field: &'e Field,
    /// The column.
    pub spec: &'static Spec,
    /// Its unit.
    pub unit: Unit,
    /// How sure it is.
    pub sure: Sure,
    /// Why.
    pub why: Vec<String>,
    /// The header is the column's own name: nothing to write but, perhaps, words of its cells.
    pub by_name: bool,
}

/// What became of the headers of an export.
pub(super) struct Places<'e> {
    /// Headers with a column, in the order of the export.
    pub placed: Vec<Placed<'e>>,
    /// Headers without, and why.
    pub unplaced: Vec<(&'e Field, String)>,
}

/// A column and everything it may be called.
struct Target {
    spec: &'static Spec,
    names: Vec<BTreeSet<&'static str>>,
    /// Names with words that are no notion of the list, compared as they are.
    plain: Vec<(BTreeSet<&'static str>, BTreeSet<String>)>,
    /// Notions that a header may add without saying another thing.
    may: BTreeSet<&'static str>,
}

/// Places every header of an export.
pub(super) fn place(export: &Export) -> Places<'_> {
    let targets = targets(export.table);
    let mut rarity: HashMap<&str, usize> = HashMap::new();
    for target in &targets {
        let all: BTreeSet<&str> = target.names.iter().flatten().copied().collect();
        for notion in all {
            *rarity.entry(notion).or_default() += 1;
        }
    }
    let mark = export.mark();
    let mut candidates: Vec<Candidate<'_>> = Vec::new();
    let mut nothing: Vec<usize> = Vec::new();
    for (position, field) in export.fields.iter().enumerate() {
        let of_field = candidates_of(position, field, &targets, &rarity, mark);
        if of_field.is_empty() {
            nothing.push(position);
        }
        candidates.extend(of_field);
    }
    candidates.sort_by(|a, b| {
        let by = |c: &Candidate<'_>| (!c.placed.by_name, c.placed.sure);
        by(a)
            .cmp(&by(b))
            .then(b.score.total_cmp(&a.score))
            .then(a.position.cmp(&b.position))
    });
    let mut taken: HashMap<&str, String> = HashMap::new();
    let mut done: HashMap<usize, Placed<'_>> = HashMap::new();
    let mut lost: HashMap<usize, String> = HashMap::new();
    for candidate in candidates {
        let Candidate {
            position, placed, ..
        } = candidate;
        let column = placed.spec.column.name.as_str();
        if done.contains_key(&position) {
            continue;
        }
        match taken.get(column) {
            Some(header) => {
                lost.entry(position).or_insert_with(|| {
                    format!("perhaps {column}, which {header:?} is placed at already")
                });
            }
            None => {
                taken.insert(column, placed.field.header.clone());
                done.insert(position, placed);
            }
        }
    }
    let mut places = Places {
        placed: Vec::new(),
        unplaced: Vec::new(),
    };
    for (position, field) in export.fields.iter().enumerate() {
        match done.remove(&position) {
            Some(placed) => places.placed.push(placed),
            None => {
                let why = lost.remove(&position).unwrap_or_else(|| {
                    debug_assert!(nothing.contains(&position));
                    "its words are those of no column".to_owned()
                });
                places.unplaced.push((field, why));
            }
        }
    }
    places
}

struct Candidate<'e> {
    position: usize,
    placed: Placed<'e>,
    score: f64,
}

/// Least likeness, of 1, of a header and a column that is worth a proposal.
const LEAST: f64 = 0.6;
/// Likenesses this near to each other are no difference.
const NEAR: f64 = 0.08;

fn candidates_of<'e>(
    position: usize,
    field: &'e Field,
    targets: &[Target],
    rarity: &HashMap<&str, usize>,
    mark: DecimalMark,
) -> Vec<Candidate<'e>> {
    let by_name = targets.iter().find(|target| {
        specs(&target.spec.column.file)
            .position(&field.header)
            .is_some_and(|at| {
                specs(&target.spec.column.file).list[at].column.name == target.spec.column.name
            })
    });
    if let Some(target) = by_name {
        let placed = named(field, target.spec, mark);
        return vec![Candidate {
            position,
            placed,
            score: 2.0,
        }];
    }
    let split = unit::split(&field.header);
    let said = notions(&split.name);
    // What looked like a unit can be a word: "Annulus min (mm)" is split once only.
    let mut found = Vec::new();
    for target in targets {
        let (score, exact) = likeness(&said, target, rarity);
        if score < LEAST {
            continue;
        }
        let unit = match target.spec.kind {
            Kind::Number | Kind::Integer => {
                let of_header = split.unit;
                match unit::unit_of(of_header, target.spec, field, mark) {
                    Unit::Wrong => continue,
                    unit => unit,
                }
            }
            _ if split.unit.is_some_and(|unit| unit != "years") => continue,
            _ => Unit::Own,
        };
        let Some(doubt) = values::doubt(target.spec, field, mark) else {
            continue;
        };
        found.push((score, exact, target, unit, doubt));
    }
    found.sort_by(|a, b| b.1.cmp(&a.1).then(b.0.total_cmp(&a.0)));
    let exact = found.iter().filter(|(_, exact, ..)| *exact).count();
    let best = found.first().map_or(0.0, |(score, ..)| *score);
    let rivals: Vec<&str> = found
        .iter()
        .filter(|(score, is_exact, ..)| {
            if exact > 0 {
                *is_exact
            } else {
                *score >= best - NEAR
            }
        })
        .map(|(_, _, target, ..)| target.spec.column.name.as_str())
        .collect();
    let rivals: Vec<String> = rivals.iter().map(|name| (*name).to_owned()).collect();
    found
        .into_iter()
        .map(|(score, is_exact, target, unit, doubt)| {
            let (sure, why) = judged(&said, target, is_exact, &unit, doubt, &rivals);
            let placed = Placed {
                field,
                spec: target.spec,
                unit,
                sure,
                why,
                by_name: false,
            };
            Candidate {
                position,
                placed,
                score: score + f64::from(u8::from(is_exact)),
            }
        })
        .collect()
}

/// A header that is the column's own name: the reader takes it as that, so what speaks against it must be said.
fn named<'e>(field: &'e Field, spec: &'static Spec, mark: DecimalMark) -> Placed<'e> {
    let mut why = Vec::new();
    match values::doubt(spec, field, mark) {
        Some(doubt) => why.extend(doubt.filter(|doubt| !doubt.starts_with(values::EMPTY))),
        None => why.push("its cells are hardly those of the column".to_owned()),
    }
    let unit = match spec.kind {
        Kind::Number | Kind::Integer => unit::unit_of(None, spec, field, mark),
        _ => Unit::Own,
    };
    match &unit {
        Unit::Open(reason) => why.push(reason.clone()),
        Unit::ByValues(way, count) => {
            why.push(format!("all {count} values can only be {}", way.from))
        }
        _ => {}
    }
    Placed {
        field,
        spec,
        sure: if why.is_empty() {
            Sure::Sure
        } else {
            Sure::Guess
        },
        unit,
        why,
        by_name: true,
    }
}

/// How like the words of a header are to the names of a column, 0 to 1, and whether they are the same.
fn likeness(said: &Notions, target: &Target, rarity: &HashMap<&str, usize>) -> (f64, bool) {
    let weight = |notion: &str| {
        let columns = rarity.get(notion).copied().unwrap_or(1).max(1);
        1.0 / (1.0 + f64::from(u32::try_from(columns).unwrap_or(u32::MAX)).ln())
    };
    let total = |notions: &mut dyn Iterator<Item = &&'static str>| -> f64 {
        notions.map(|notion| weight(notion)).sum()
    };
    let mut best = (0.0, false);
    for name in &target.names {
        let shared = total(&mut said.known.intersection(name));
        let missing = total(&mut name.difference(&said.known));
        let extra: Vec<&&'static str> = said.known.difference(name).collect();
        let not_excused: f64 = extra
            .iter()
            .filter(|notion| !target.may.contains(**notion))
            .map(|notion| weight(notion))
            .sum();
        let unknown = said.unknown.len() as f64 * 0.5;
        let score = 2.0 * shared / (2.0 * shared + missing + not_excused + unknown);
        let exact = shared > 0.0 && missing == 0.0 && not_excused == 0.0 && said.unknown.is_empty();
        if exact && !best.1 || exact == best.1 && score > best.0 {
            best = (score, exact);
        }
    }
    let plain = target
        .plain
        .iter()
        .any(|(known, words)| *words == said.unknown && *known == said.known);
    if plain { (1.0, true) } else { best }
}

fn judged(
    said: &Notions,
    target: &Target,
    exact: bool,
    unit: &Unit,
    doubt: Option<String>,
    rivals: &[String],
) -> (Sure, Vec<String>) {
    let own = target.spec.column.name.as_str();
    let mut sure = Sure::Sure;
    let mut why = Vec::new();
    let mut lower = |to: Sure, reason: String| {
        sure = sure.max(to);
        why.push(reason);
    };
    if !exact {
        let unknown: Vec<&str> = said.unknown.iter().map(String::as_str).collect();
        let reason = if unknown.is_empty() {
            "only some of its words are those of the column".to_owned()
        } else {
            format!("not known: {}", unknown.join(", "))
        };
        lower(Sure::Guess, reason);
    }
    let others: Vec<&str> = rivals
        .iter()
        .map(String::as_str)
        .filter(|name| *name != own)
        .collect();
    if !others.is_empty() && rivals.iter().any(|name| name == own) {
        let shown = &others[..others.len().min(3)];
        lower(Sure::Guess, format!("as well {}", shown.join(", ")));
    }
    for (written, taken) in &said.slips {
        lower(Sure::Likely, format!("{written} taken for {taken}"));
    }
    match unit {
        Unit::ByValues(way, count) => lower(
            Sure::Likely,
            format!(
                "no unit in the header; all {count} values can only be {}",
                way.from
            ),
        ),
        Unit::Open(reason) => lower(Sure::Guess, reason.clone()),
        _ => {}
    }
    if let Some(doubt) = doubt {
        let weight = if doubt.starts_with(values::EMPTY) {
            Sure::Likely
        } else {
            Sure::Guess
        };
        lower(weight, doubt);
    }
    (sure, why)
}

/// Endings of column names that are units.
const UNITS_OF_NAMES: &[&str] = &[
    "mm2", "cm2", "mm", "cm", "kg", "ms", "umol_l", "g_dl", "pct", "m_s", "mmhg", "bpm", "ml_m2",
    "au", "deg", "gy_cm2", "ml", "min", "l_min", "s", "years",
];

fn targets(table: &str) -> Vec<Target> {
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
