//! What is missing, whom to ask, and which cells would settle most.

use std::collections::BTreeMap;

use super::audit_case::AuditCase;
use super::open_cells::open_judgements;
use super::proportion::Counts;
use crate::assess::Flag;
use crate::dictionary;
use crate::record::{Cells, Text};

/// How many of the cells that would settle most are named.
pub const CELLS_NAMED: usize = 10;

/// One input column that is missing where a result needs it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MissingColumn {
    /// The column.
    pub column: &'static str,
    /// Cases whose results lack it.
    pub cases: usize,
}

/// What to ask of one source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    /// echo, ct, cath, ward, laboratory, clinic, administration.
    pub from: &'static str,
    /// Cells to chase.
    pub cells: usize,
    /// Columns, most missing first.
    pub columns: Vec<MissingColumn>,
}

/// A cell that would settle judgements that are open.
#[derive(Clone, Debug, PartialEq)]
pub struct SettlingCell {
    /// The case.
    pub case_id: Text,
    /// The column, or what to record.
    pub cell: &'static str,
    /// Whom to ask.
    pub from: &'static str,
    /// Measures that this cell alone would settle.
    pub settles: Vec<&'static str>,
    /// Measures that it would settle together with others.
    pub helps: Vec<&'static str>,
}

/// One field of the core set.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Filled {
    /// Words.
    pub title: &'static str,
    /// Filled and due, as yes and known.
    pub counts: Counts,
}

/// Completeness of a selection of cases.
#[derive(Clone, Debug, PartialEq)]
pub struct Completeness {
    /// Cases.
    pub n: usize,
    /// Core set, worst first.
    pub core: Vec<Filled>,
    /// Cases with every core field that is due.
    pub core_complete: usize,
    /// Chase list by source, most cells first.
    pub sources: Vec<Source>,
    /// The cells that would settle most.
    pub settling: Vec<SettlingCell>,
    /// Cases with a rejected cell.
    pub rejected: usize,
    /// Cases with an unusual value.
    pub unusual: usize,
    /// Cases with cells that cannot all be right.
    pub contradicting: usize,
    /// Cases with a result marked in doubt.
    pub in_doubt: usize,
    /// Cases whose device serial or patient key conflicts, or that look pasted.
    pub identity: usize,
}

/// Core field: words, column, and day from which it is due.
const CORE: [(&str, &str, i64); 18] = [
    ("Age or birth date", "", 0),
    ("Sex", "sex", 0),
    ("Operator", "operator", 0),
    ("Baseline mean gradient", "baseline_mean_gradient_mmhg", 0),
    ("Baseline LVEF", "baseline_lvef_pct", 0),
    ("Annulus area", "annulus_area_mm2", 0),
    ("Valve morphology", "valve_morphology", 0),
    ("Implanted device", "device_id", 0),
    ("Device serial", "device_serial", 0),
    ("Mean gradient after", "post_mean_gradient_mmhg", 0),
    (
        "Paravalvular regurgitation after",
        "post_paravalvular_grade",
        0,
    ),
    ("Creatinine, highest after", "creatinine_peak_umol_l", 0),
    ("Bleeding", "bleeding_type", 30),
    ("Vascular complication", "vascular_complication", 30),
    ("Stroke", "stroke_30d", 30),
    ("New pacemaker", "new_pacemaker_30d", 30),
    ("Alive or dead at day 30", "", 30),
    ("30-day echo", "", 105),
];

impl Completeness {
    /// Of these cases.
    pub fn of(cases: &[AuditCase<'_>], selection: &[usize]) -> Self {
        let selected: Vec<&AuditCase<'_>> = selection.iter().map(|&case| &cases[case]).collect();
        let flagged = |flags: &[Flag]| {
            selected
                .iter()
                .filter(|case| flags.iter().any(|&flag| case.assessment.has(flag)))
                .count()
        };
        let mut core: Vec<Filled> = CORE
            .iter()
            .map(|&(title, column, due)| Filled {
                title,
                counts: filled(&selected, title, column, due),
            })
            .collect();
        let open = |filled: &Filled| filled.counts.no as f64 / filled.counts.known().max(1) as f64;
        core.sort_by(|a, b| open(b).total_cmp(&open(a)));
        Self {
            n: selection.len(),
            core,
            core_complete: selected.iter().filter(|case| core_complete(case)).count(),
            sources: sources(&selected),
            settling: settling(&selected),
            rejected: flagged(&[Flag::RejectedValue]),
            unusual: flagged(&[Flag::UnusualValue]),
            contradicting: flagged(&[Flag::Contradiction]),
            in_doubt: selected
                .iter()
                .filter(|case| !case.assessment.in_doubt.is_empty())
                .count(),
            identity: flagged(&[Flag::IdentityConflict, Flag::PossiblePastedRow]),
        }
    }
}

/// Whether a core field of a case is filled; `None` where it is not due.
fn is_filled(case: &AuditCase<'_>, title: &str, column: &str, due: i64) -> Option<bool> {
    if !case.mature(due) {
        return None;
    }
    Some(match title {
        "Age or birth date" => case.assessment.results.before.age_years.is_some(),
        "Alive or dead at day 30" => case.died_30d().is_some(),
        "30-day echo" => {
            // Dead before the window, a patient has no 30-day echo, and lacks none.
            if case.assessment.known.signs_of_death
                && case.assessment.known.death_day().is_none_or(|day| day < 23)
            {
                return None;
            }
            case.assessment.course.reference.is_some()
        }
        _ if case.cells().value(column).is_some() => true,
        // Who died in the room has no values after it, and lacks none.
        _ if !case.assessment.can_be_asked(column) => return None,
        _ => false,
    })
}

fn filled(cases: &[&AuditCase<'_>], title: &str, column: &str, due: i64) -> Counts {
    let mut counts = Counts::default();
    for case in cases {
        match is_filled(case, title, column, due) {
            Some(true) => counts.yes += 1,
            Some(false) => counts.no += 1,
            None => counts.not_applicable += 1,
        }
    }
    counts
}

fn core_complete(case: &AuditCase<'_>) -> bool {
    CORE.iter()
        .all(|&(title, column, due)| is_filled(case, title, column, due) != Some(false))
}

/// Whom to ask for a cell of the case, or of a visit.
fn from_of(column: &str) -> &'static str {
    ["cases", "followups"]
        .iter()
        .find_map(|file| dictionary::column(file, column))
        .map_or("clinic", |column| column.from.as_str())
}

/// Columns that kept a result that applies from being known, by the source that has them.
fn sources(cases: &[&AuditCase<'_>]) -> Vec<Source> {
    let mut by_column: BTreeMap<&'static str, usize> = BTreeMap::new();
    for case in cases {
        for column in case.assessment.asked() {
            *by_column.entry(column).or_default() += 1;
        }
    }
    let mut by_source: BTreeMap<&'static str, Vec<MissingColumn>> = BTreeMap::new();
    for (column, cases) in by_column {
        by_source
            .entry(from_of(column))
            .or_default()
            .push(MissingColumn { column, cases });
    }
    let mut sources: Vec<Source> = by_source
        .into_iter()
        .map(|(from, mut columns)| {
            columns.sort_by_key(|column| std::cmp::Reverse(column.cases));
            Source {
                from,
                cells: columns.iter().map(|column| column.cases).sum(),
                columns,
            }
        })
        .collect();
    sources.sort_by_key(|source| std::cmp::Reverse(source.cells));
    sources
}

/// The cells that would settle most: first by the number of judgements that each would settle alone, then by those it
/// would help to settle, each shared among the cells it needs.
fn settling(cases: &[&AuditCase<'_>]) -> Vec<SettlingCell> {
    let mut ranked: Vec<(usize, f64, SettlingCell)> = Vec::new();
    for case in cases {
        let open = open_judgements(case);
        let mut cells: Vec<&'static str> =
            open.iter().flat_map(|open| open.cells.clone()).collect();
        cells.sort_unstable();
        cells.dedup();
        for cell in cells {
            let mut found = SettlingCell {
                case_id: case.case_id().clone(),
                cell,
                from: from_of(cell),
                settles: Vec::new(),
                helps: Vec::new(),
            };
            let mut share = 0.0;
            for open in open.iter().filter(|open| open.cells.contains(&cell)) {
                share += 1.0 / open.cells.len() as f64;
                if open.cells.len() == 1 {
                    found.settles.push(open.measure);
                } else {
                    found.helps.push(open.measure);
                }
            }
            ranked.push((found.settles.len(), share, found));
        }
    }
    ranked.sort_by(|a, b| {
        (b.0.cmp(&a.0))
            .then(b.1.total_cmp(&a.1))
            .then_with(|| a.2.case_id.cmp(&b.2.case_id))
            .then_with(|| a.2.cell.cmp(b.2.cell))
    });
    ranked.truncate(CELLS_NAMED);
    ranked.into_iter().map(|(_, _, cell)| cell).collect()
}
