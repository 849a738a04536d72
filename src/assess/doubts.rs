//! What keeps a result from being known, and what puts it in doubt.

use std::collections::HashMap;
use std::sync::LazyLock;

use super::definitions::{DEFINITIONS, Definition, Read};
use super::result::PerformanceEcho;
use super::sizing::{bicuspid, implanted};
use super::{Assessed, Facts};
use crate::record::{AccessRoute, CaseCells, Cells, Mechanism, Seal, Shown};

/// A cell that a check compares, or that a result reads.
#[derive(Clone, Copy, PartialEq, Eq)]
enum CellAt {
    Case(&'static str),
    /// Position in the counted visits, and column.
    Visit(usize, &'static str),
}

/// The `post_…` column of the cases file that holds what the visit column of this name holds.
pub fn discharge_column(visit_column: &str) -> Option<&'static str> {
    static COLUMNS: LazyLock<HashMap<&'static str, &'static str>> = LazyLock::new(|| {
        let names = CaseCells::FIELDS.iter().map(|field| field.name);
        names
            .filter_map(|name| Some((name.strip_prefix("post_")?, name)))
            .collect()
    });
    COLUMNS.get(visit_column).copied()
}

/// The cells that a read stands for in this case.
fn cells_of(read: Read, facts: &Facts<'_>) -> Vec<CellAt> {
    match read {
        Read::Case(column) => vec![CellAt::Case(column)],
        Read::Performance(column) => match facts.performance.visit {
            Some(visit) => vec![CellAt::Visit(visit, column)],
            None => discharge_column(column)
                .map(CellAt::Case)
                .into_iter()
                .collect(),
        },
        Read::Reference(column) => facts
            .course
            .reference
            .map(|visit| CellAt::Visit(visit, column))
            .into_iter()
            .collect(),
        Read::Later(column) => facts
            .course
            .later
            .iter()
            .map(|later| CellAt::Visit(later.visit, column))
            .collect(),
        Read::Visits(column) => (0..facts.known.visits.len())
            .map(|visit| CellAt::Visit(visit, column))
            .collect(),
        Read::Device(_) | Read::Ranges | Read::Result(_) | Read::AsOf => Vec::new(),
    }
}

/// Results that use, directly or through another, a cell that a failed check compares; the procedure date excepted.
pub fn in_doubt(facts: &Facts<'_>) -> Vec<&'static str> {
    let doubted: Vec<CellAt> = facts
        .failed_checks
        .iter()
        .flat_map(|check| {
            check
                .columns
                .iter()
                .filter(|&&column| column != "procedure_date")
                .map(|&column| match check.visit {
                    Some(visit) => CellAt::Visit(visit, column),
                    None => CellAt::Case(column),
                })
        })
        .collect();
    if doubted.is_empty() {
        return Vec::new();
    }
    let mut in_doubt: Vec<&'static str> = Vec::new();
    // A result may read one that stands further down: repeat until nothing is added.
    loop {
        let before = in_doubt.len();
        for definition in DEFINITIONS {
            let touched =
                definition
                    .reads
                    .iter()
                    .chain(definition.or_reads)
                    .any(|&read| match read {
                        Read::Result(name) => in_doubt.contains(&name),
                        _ => cells_of(read, facts)
                            .iter()
                            .any(|cell| doubted.contains(cell)),
                    });
            if touched && !in_doubt.contains(&definition.name) {
                in_doubt.push(definition.name);
            }
        }
        if in_doubt.len() == before {
            break;
        }
    }
    DEFINITIONS
        .iter()
        .map(|definition| definition.name)
        .filter(|name| in_doubt.contains(name))
        .collect()
}

/// Whether a value is one that a reader still lacks.
pub fn lacking(value: Option<Shown<'_>>) -> bool {
    matches!(value, None | Some(Shown::Word("not_assessable")))
}

/// Columns of the cases file that are blank or rejected and kept a result that applies from being known.
pub fn missing(facts: &Facts<'_>, results: &Assessed) -> Vec<&'static str> {
    let mut needed = vec![false; CaseCells::FIELDS.len()];
    for ((name, value), definition) in results.values().zip(DEFINITIONS) {
        debug_assert_eq!(name, definition.name);
        if lacking(value) && applies(definition, facts) {
            for position in costs(definition, facts).filter_map(CaseCells::position) {
                needed[position] = true;
            }
        }
    }
    let names = CaseCells::FIELDS.iter().map(|field| field.name);
    names
        .zip(needed)
        .filter_map(|(name, needed)| needed.then_some(name))
        .collect()
}

/// The cells of the case that are unknown and that this result reads.
pub fn costs<'a>(
    definition: &'a Definition,
    facts: &'a Facts<'_>,
) -> impl Iterator<Item = &'static str> + 'a {
    definition
        .reads
        .iter()
        .flat_map(|&read| cells_of(read, facts))
        .filter_map(|cell| match cell {
            CellAt::Case(column) => Some(column),
            CellAt::Visit(..) => None,
        })
        .filter(|column| facts.known.cells.value(column).is_none())
        // Nobody lacks the cause of a death that nothing speaks of.
        .filter(|&column| column != "valve_related_death" || facts.known.signs_of_death)
}

/// Whether a result has a meaning in this case: a supra-annular line needs a bicuspid valve, and so on.
pub fn applies(definition: &Definition, facts: &Facts<'_>) -> bool {
    let cells = &facts.known.cells;
    let day = facts.known.as_of_day();
    match definition.name {
        "icd_annulus_ratio" | "supraannular_area_oversizing_pct" | "supraannular_sizes" => {
            cells.valve_morphology.is_none() || bicuspid(cells)
        }
        "balloon_area_oversizing_pct" | "balloon_sizes" => {
            cells.predilatation != Some(false)
                && matches!(cells.predilatation_seal, None | Some(Seal::Complete))
        }
        "device_balloon_ratio" => cells.predilatation != Some(false),
        "filled_diameter_estimate_mm" => implanted(cells, facts.catalogue)
            .is_some_and(|device| device.mechanism == Mechanism::BalloonExpandable),
        "sheath_femoral_ratio" => {
            matches!(cells.access_route, None | Some(AccessRoute::Transfemoral))
        }
        "length_of_stay_days" | "next_visit_due" => !facts.known.signs_of_death,
        "death_30d" | "device_success" | "early_safety" => day >= 30,
        "clinical_efficacy_1y" => day >= 365,
        name if name.starts_with("post_")
            || name.starts_with("performance_")
            || name == "measured_ppm" =>
        {
            cells.procedural_death != Some(true) || facts.performance.which != PerformanceEcho::None
        }
        _ => true,
    }
}
