//! One header held against every column: by its words first, then its unit and its values.

use std::collections::HashMap;

use super::export::Field;
use super::place::{Confidence, Placed};
use super::target::Target;
use super::unit::{self, Unit};
use super::values;
use super::vocabulary::{Notions, notions};
use crate::input::number::DecimalMark;
use crate::input::spec::{Kind, Spec, specs};

/// A column that a header may be.
pub(super) struct Candidate<'e> {
    /// Where the header stands.
    pub position: usize,
    /// The header at the column.
    pub placed: Placed<'e>,
    /// How well its words fit; more is better.
    pub score: f64,
}

/// Least likeness, of 1, of a header and a column that is worth a proposal.
const LEAST: f64 = 0.6;
/// Likenesses this near to each other are no difference.
const NEAR: f64 = 0.08;

/// Every column that a header may be.
pub(super) fn candidates_of<'e>(
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
            Confidence::Sure
        } else {
            Confidence::Guess
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
) -> (Confidence, Vec<String>) {
    let own = target.spec.column.name.as_str();
    let mut sure = Confidence::Sure;
    let mut why = Vec::new();
    let mut lower = |to: Confidence, reason: String| {
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
        lower(Confidence::Guess, reason);
    }
    let others: Vec<&str> = rivals
        .iter()
        .map(String::as_str)
        .filter(|name| *name != own)
        .collect();
    if !others.is_empty() && rivals.iter().any(|name| name == own) {
        let shown = &others[..others.len().min(3)];
        lower(Confidence::Guess, format!("as well {}", shown.join(", ")));
    }
    for (written, taken) in &said.slips {
        lower(Confidence::Likely, format!("{written} taken for {taken}"));
    }
    match unit {
        Unit::ByValues(way, count) => lower(
            Confidence::Likely,
            format!(
                "no unit in the header; all {count} values can only be {}",
                way.from
            ),
        ),
        Unit::Open(reason) => lower(Confidence::Guess, reason.clone()),
        _ => {}
    }
    if let Some(doubt) = doubt {
        let weight = if doubt.starts_with(values::EMPTY) {
            Confidence::Likely
        } else {
            Confidence::Guess
        };
        lower(weight, doubt);
    }
    (sure, why)
}
