//! Which column a header is: by its words, held against its unit and its values.

use std::collections::{BTreeSet, HashMap};

use super::candidate::{Candidate, candidates_of};
use super::export::{Export, Field};
use super::target::targets;
use super::unit::Unit;
use crate::input::spec::Spec;

/// How sure a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Confidence {
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
    pub sure: Confidence,
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
    for (position, field) in export.fields.iter().enumerate() {
        candidates.extend(candidates_of(position, field, &targets, &rarity, mark));
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
                let none = || "its words are those of no column".to_owned();
                let why = lost.remove(&position).unwrap_or_else(none);
                places.unplaced.push((field, why));
            }
        }
    }
    places
}
