//! What keeps a result from being known, and what puts it in doubt.

use std::collections::HashMap;
use std::sync::LazyLock;

use super::definitions::{DEFINITIONS, Read};
use super::result::PerformanceEcho;
use super::sizing::{bicuspid, implanted};
use super::{Assessed, Facts};
use crate::record::{AccessRoute, CaseCells, Cells, ColumnSet, Mechanism, Seal, Shown};

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
    let mut needed = ColumnSet::default();
    let mut costs = COSTS.iter();
    results.each(|name, value| {
        let costs = costs.next().expect("a definition of every result");
        debug_assert_eq!(name, costs.result);
        if lacking(value) && costs.applies.holds(facts) {
            needed.extend(&costs.cells);
            if facts.performance.visit.is_none() {
                needed.extend(&costs.stand_in);
            }
        }
    });
    needed
        .without(&facts.known.cells.known())
        .map(|position| CaseCells::FIELDS[position].name)
        // Nobody lacks the cause of a death that nothing speaks of.
        .filter(|&name| name != "valve_related_death" || facts.known.signs_of_death)
        .collect()
}

/// What a result costs that is not known: looked up once, since it is asked for most results of every case.
struct Costs {
    /// The result.
    result: &'static str,
    /// When it has a meaning.
    applies: Applies,
    /// The cells of the case that it reads.
    cells: ColumnSet,
    /// Those that it reads where no visit judges the prosthesis.
    stand_in: ColumnSet,
}

/// The costs of every result, in the order of the definitions.
static COSTS: LazyLock<Vec<Costs>> = LazyLock::new(|| {
    DEFINITIONS
        .iter()
        .map(|definition| {
            let positions = |column: fn(Read) -> Option<&'static str>| {
                let columns = definition.reads.iter().filter_map(|&read| column(read));
                columns.filter_map(CaseCells::position).collect()
            };
            Costs {
                result: definition.name,
                applies: Applies::of(definition.name),
                cells: positions(|read| match read {
                    Read::Case(column) => Some(column),
                    _ => None,
                }),
                stand_in: positions(|read| match read {
                    Read::Performance(column) => discharge_column(column),
                    _ => None,
                }),
            }
        })
        .collect()
});

/// When a result has a meaning: a supra-annular line needs a bicuspid valve, and so on.
#[derive(Clone, Copy)]
enum Applies {
    Always,
    Bicuspid,
    BalloonSealed,
    BalloonUsed,
    BalloonExpandable,
    Transfemoral,
    NoSignOfDeath,
    FromDay(i64),
    EchoAfter,
}

impl Applies {
    fn of(result: &str) -> Self {
        match result {
            "icd_annulus_ratio" | "supraannular_area_oversizing_pct" | "supraannular_sizes" => {
                Self::Bicuspid
            }
            "balloon_area_oversizing_pct" | "balloon_sizes" => Self::BalloonSealed,
            "device_balloon_ratio" => Self::BalloonUsed,
            "filled_diameter_estimate_mm" => Self::BalloonExpandable,
            "sheath_femoral_ratio" => Self::Transfemoral,
            "length_of_stay_days" | "next_visit_due" => Self::NoSignOfDeath,
            "death_30d" | "device_success" | "early_safety" => Self::FromDay(30),
            "clinical_efficacy_1y" => Self::FromDay(365),
            "measured_ppm" => Self::EchoAfter,
            name if name.starts_with("post_") || name.starts_with("performance_") => {
                Self::EchoAfter
            }
            _ => Self::Always,
        }
    }

    fn holds(self, facts: &Facts<'_>) -> bool {
        let cells = &facts.known.cells;
        match self {
            Self::Always => true,
            Self::Bicuspid => cells.valve_morphology.is_none() || bicuspid(cells),
            Self::BalloonSealed => {
                cells.predilatation != Some(false)
                    && matches!(cells.predilatation_seal, None | Some(Seal::Complete))
            }
            Self::BalloonUsed => cells.predilatation != Some(false),
            Self::BalloonExpandable => implanted(cells, facts.catalogue)
                .is_some_and(|device| device.mechanism == Mechanism::BalloonExpandable),
            Self::Transfemoral => {
                matches!(cells.access_route, None | Some(AccessRoute::Transfemoral))
            }
            Self::NoSignOfDeath => !facts.known.signs_of_death,
            Self::FromDay(day) => facts.known.as_of_day() >= day,
            Self::EchoAfter => {
                cells.procedural_death != Some(true)
                    || facts.performance.which != PerformanceEcho::None
            }
        }
    }
}
