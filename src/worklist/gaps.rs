//! What is missing of each case, which results it costs, whom to ask, and over all cases what would bring most back.
//!
//! A cell *costs* a result that is lacking, reads it (directly or through another lacking result) and could be had if
//! all missing cells of the case were known. It *settles* a result that would be known with this cell alone, whatever
//! its answer. Both are found by assessing the case again with the cells filled, not by a second set of rules.
//!
//! What nobody can be asked for ([`Assessment::asked`]) is no gap: the death of a living patient, the echo before
//! discharge of one who died in the room.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::trial::{Trial, lacking_results};
use crate::assess::definitions::{Read, definition};
use crate::assess::{Assessment, PERFORMANCE_CLOSES, PERFORMANCE_OPENS};
use crate::dictionary;
use crate::record::{CaseRecord, Catalogue, Cells, Text};
use crate::settings::Settings;

/// One cell that is blank or rejected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct GapCell {
    /// `cases` or `followups`.
    pub table: &'static str,
    /// Column.
    pub column: &'static str,
    /// Date of the visit, for a cell of the follow-up file.
    pub visit: Option<Date>,
    /// Position in [`CaseRecord::visits`], for such a cell.
    pub(super) row: Option<usize>,
}

impl GapCell {
    /// Position of the visit in [`CaseRecord::visits`], for a cell of the follow-up file.
    pub fn visit_row(&self) -> Option<usize> {
        self.row
    }

    /// Whom to ask: echo, ct, cath, ward, laboratory, clinic or administration.
    pub fn from(&self) -> &'static str {
        dictionary::column(self.table, self.column).map_or("", |column| column.from.as_str())
    }

    /// What the column means, as the dictionary says it.
    pub fn meaning(&self) -> &'static str {
        dictionary::column(self.table, self.column).map_or("", |column| column.meaning.as_str())
    }
}

/// A missing cell of one case with what it costs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Gap {
    /// The cell.
    pub cell: GapCell,
    /// Results that lack it, itself or through another result, in the order of results.csv.
    pub costs: Vec<&'static str>,
    /// Of these, the results that it alone would settle.
    pub settles: Vec<&'static str>,
}

impl Gap {
    /// The gravest result it alone would settle, or else costs; `None` where it is none that judges the case.
    pub fn judges(&self) -> Option<&'static str> {
        let gravest = |names: &[&'static str]| {
            let judged = names.iter().filter(|name| JUDGED.contains(name));
            judged.min_by_key(|name| rank(name)).copied()
        };
        gravest(&self.settles).or_else(|| gravest(&self.costs))
    }
}

/// The gaps of one case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaseGaps {
    /// The case.
    pub case_id: Text,
    /// Missing cells, those that settle most first, then those that cost most.
    pub gaps: Vec<Gap>,
    /// First and last day on which an echo would have been the reference, where there is none and deterioration can
    /// therefore not be judged. No cell of the tables as they are could settle it.
    pub no_reference: Option<(Date, Date)>,
}

/// Results that judge the case: named first where results are listed.
pub const JUDGED: [&str; 11] = [
    "device_success",
    "early_safety",
    "clinical_efficacy_1y",
    "technical_success",
    "intended_performance",
    "deterioration_stage",
    "bioprosthetic_valve_failure",
    "death_30d",
    "new_pacemaker",
    "aki_stage",
    "measured_ppm",
];

/// Where a result stands in a list: those that judge the case first, in their order.
fn rank(name: &str) -> usize {
    JUDGED
        .iter()
        .position(|judged| *judged == name)
        .unwrap_or(JUDGED.len())
}

/// Cells of visits that are no gap where blank: the date of an event that did not happen, and what decides windows.
const NO_VISIT_GAP: [&str; 6] = [
    "visit_date",
    "attendance",
    "stroke_date",
    "hospitalisation_date",
    "reintervention_date",
    "mean_gradient_mmhg",
];

impl CaseGaps {
    /// The gaps of a case, by filling its missing cells on trial.
    pub fn of(
        record: &CaseRecord,
        assessment: &Assessment,
        catalogue: &Catalogue,
        settings: &Settings,
    ) -> Self {
        let trial = Trial {
            record,
            assessment,
            catalogue,
            settings,
        };
        let lacking = lacking_results(assessment);
        let read: Vec<(&'static str, Vec<GapCell>)> = lacking
            .iter()
            .map(|&name| (name, cells_read(name, &lacking, assessment)))
            .collect();
        let mut cells: Vec<GapCell> = assessment.asked().map(case_cell).collect();
        for cell in read.iter().flat_map(|(_, cells)| cells) {
            if cell.row.is_some() && !cells.contains(cell) {
                cells.push(*cell);
            }
        }
        let reach = trial.within_reach(cells.iter(), &lacking);
        let mut gaps: Vec<Gap> = Vec::with_capacity(cells.len());
        for cell in &cells {
            let mut costs: Vec<&'static str> = read
                .iter()
                .filter(|(name, cells)| reach.contains(name) && cells.contains(cell))
                .map(|(name, _)| *name)
                .collect();
            if cell.row.is_some() && !costs.is_empty() {
                // One of many visits may not be needed at all.
                let others = cells.iter().filter(|other| *other != cell);
                let without = trial.within_reach(others, &costs);
                costs.retain(|name| !without.contains(name));
            }
            let settles = trial.settled(cell, &lacking);
            for name in &settles {
                if !costs.contains(name) {
                    costs.push(name);
                }
            }
            if costs.is_empty() && cell.row.is_some() {
                continue;
            }
            costs.sort_by_key(|name| lacking.iter().position(|result| result == name));
            gaps.push(Gap {
                cell: *cell,
                costs,
                settles,
            });
        }
        gaps.sort_by_key(|gap| {
            (
                std::cmp::Reverse(gap.settles.len()),
                std::cmp::Reverse(gap.costs.len()),
            )
        });
        Self {
            case_id: record.case_id.clone(),
            gaps,
            no_reference: no_reference(assessment),
        }
    }
}

fn no_reference(assessment: &Assessment) -> Option<(Date, Date)> {
    let known = &assessment.known;
    let past = known.as_of_day() > PERFORMANCE_CLOSES;
    let day = |day| crate::date::plus_days(known.procedure_date, day);
    (past && assessment.course.reference.is_none() && !known.signs_of_death)
        .then(|| day(PERFORMANCE_OPENS).zip(day(PERFORMANCE_CLOSES)))
        .flatten()
}

fn case_cell(column: &'static str) -> GapCell {
    GapCell {
        table: "cases",
        column,
        visit: None,
        row: None,
    }
}

/// The unknown cells that a lacking result reads, itself or through another lacking result.
fn cells_read(
    name: &'static str,
    lacking: &[&'static str],
    assessment: &Assessment,
) -> Vec<GapCell> {
    let mut cells: Vec<GapCell> = Vec::new();
    let mut open = vec![name];
    let mut seen = vec![name];
    while let Some(definition) = open.pop().and_then(definition) {
        for &read in definition.reads {
            match read {
                Read::Result(inner) => {
                    if lacking.contains(&inner) && !seen.contains(&inner) {
                        seen.push(inner);
                        open.push(inner);
                    }
                }
                _ => {
                    for cell in cells_of(read, assessment) {
                        if !cells.contains(&cell) {
                            cells.push(cell);
                        }
                    }
                }
            }
        }
    }
    cells
}

/// The unknown cells that a read stands for in this case.
fn cells_of(read: Read, assessment: &Assessment) -> Vec<GapCell> {
    let known = &assessment.known;
    let visit_cell = |position: usize, column: &'static str| {
        let visit = &known.visits[position];
        visit.cells.value(column).is_none().then_some(GapCell {
            table: "followups",
            column,
            visit: Some(visit.date),
            row: Some(visit.row),
        })
    };
    let of_case = |column: &'static str| {
        known
            .cells
            .value(column)
            .is_none()
            .then(|| case_cell(column))
    };
    match read {
        Read::Case(column) => of_case(column).into_iter().collect(),
        Read::Performance(column) => match assessment.performance.visit {
            Some(visit) => visit_cell(visit, column).into_iter().collect(),
            None => crate::assess::discharge_column(column)
                .and_then(of_case)
                .into_iter()
                .collect(),
        },
        Read::Reference(column) => assessment
            .course
            .reference
            .and_then(|visit| visit_cell(visit, column))
            .into_iter()
            .collect(),
        // Only the latest later visit can say that the valve has not deteriorated.
        Read::Later(column) => assessment
            .course
            .later
            .last()
            .and_then(|later| visit_cell(later.visit, column))
            .into_iter()
            .collect(),
        Read::Visits(column) if !NO_VISIT_GAP.contains(&column) => (0..known.visits.len())
            .filter_map(|position| visit_cell(position, column))
            .collect(),
        Read::Visits(_) | Read::Device(_) | Read::Ranges | Read::Result(_) | Read::AsOf => {
            Vec::new()
        }
    }
}

/// One column that is missing in one or more cases.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ColumnGap {
    /// `cases` or `followups`.
    pub table: &'static str,
    /// Column.
    pub column: &'static str,
    /// Whom to ask.
    pub from: &'static str,
    /// Cases that lack it, each once, in their order.
    pub cases: Vec<Text>,
    /// Results that it alone would settle, with the number of cases; those that judge the case first.
    pub settles: Vec<(&'static str, usize)>,
    /// Results that lack it, with the number of cases, in the same order.
    pub costs: Vec<(&'static str, usize)>,
}

impl ColumnGap {
    /// Results that lack it in more cases than it alone would settle, with the number of those cases.
    pub fn with_others(&self) -> Vec<(&'static str, usize)> {
        let alone = |name| {
            let found = self.settles.iter().find(|(settled, _)| *settled == name);
            found.map_or(0, |(_, cases)| *cases)
        };
        self.costs
            .iter()
            .map(|&(name, cases)| (name, cases.saturating_sub(alone(name))))
            .filter(|(_, cases)| *cases > 0)
            .collect()
    }

    /// How many results of all cases it alone would bring back.
    pub fn brings_back(&self) -> usize {
        self.settles.iter().map(|(_, cases)| cases).sum()
    }

    /// How many results of all cases lack it.
    pub fn cost(&self) -> usize {
        self.costs.iter().map(|(_, cases)| cases).sum()
    }

    /// What the column means, as the dictionary says it.
    pub fn meaning(&self) -> &'static str {
        dictionary::column(self.table, self.column).map_or("", |column| column.meaning.as_str())
    }
}

/// What to ask of one source.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chase<'a> {
    /// Whom to ask.
    pub from: &'static str,
    /// Columns, what would bring most back first.
    pub columns: Vec<&'a ColumnGap>,
}

/// The gaps of all cases.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Gaps {
    /// Columns, ordered by how many results they would bring back, then by how many lack them.
    pub columns: Vec<ColumnGap>,
}

/// Whom a chase list asks, in its order.
pub const SOURCES: [&str; 7] = [
    "echo",
    "ct",
    "cath",
    "ward",
    "laboratory",
    "clinic",
    "administration",
];

/// The gaps of cases while they are added up by column, case by case.
#[derive(Default)]
pub struct GapSums {
    columns: BTreeMap<(&'static str, &'static str), ColumnSum>,
}

/// The gaps of one column.
#[derive(Default)]
struct ColumnSum {
    cases: Vec<Text>,
    settles: BTreeMap<&'static str, CaseCount>,
    costs: BTreeMap<&'static str, CaseCount>,
}

/// Cases, each counted once though several of its cells say the same.
#[derive(Default)]
struct CaseCount {
    cases: usize,
    last: Option<Text>,
}

impl CaseCount {
    fn add(&mut self, case_id: &Text) {
        if self.last.as_ref() != Some(case_id) {
            self.cases += 1;
            self.last = Some(case_id.clone());
        }
    }
}

impl GapSums {
    /// Adds those of one case.
    pub fn add(&mut self, case: &CaseGaps) {
        for gap in &case.gaps {
            let column = (gap.cell.table, gap.cell.column);
            let sum = self.columns.entry(column).or_default();
            if sum.cases.last() != Some(&case.case_id) {
                sum.cases.push(case.case_id.clone());
            }
            for name in &gap.settles {
                sum.settles.entry(name).or_default().add(&case.case_id);
            }
            for name in &gap.costs {
                sum.costs.entry(name).or_default().add(&case.case_id);
            }
        }
    }

    /// The gaps of all of them.
    pub fn finish(self) -> Gaps {
        let counted = |results: BTreeMap<&'static str, CaseCount>| {
            let mut counts: Vec<(&'static str, usize)> = results
                .into_iter()
                .map(|(name, count)| (name, count.cases))
                .collect();
            counts.sort_by_key(|(name, cases)| (rank(name), std::cmp::Reverse(*cases), *name));
            counts
        };
        let sums = self.columns;
        let mut columns: Vec<ColumnGap> = sums
            .into_iter()
            .map(|((table, column), sum)| ColumnGap {
                table,
                column,
                from: dictionary::column(table, column).map_or("", |column| column.from.as_str()),
                cases: sum.cases,
                settles: counted(sum.settles),
                costs: counted(sum.costs),
            })
            .collect();
        columns.sort_by_key(|column| {
            (
                std::cmp::Reverse(column.brings_back()),
                std::cmp::Reverse(column.cost()),
                std::cmp::Reverse(column.cases.len()),
                column.column,
            )
        });
        Gaps { columns }
    }
}

impl Gaps {
    /// The gaps of these cases.
    pub fn of<'c>(cases: impl IntoIterator<Item = &'c CaseGaps>) -> Self {
        let mut sums = GapSums::default();
        for case in cases {
            sums.add(case);
        }
        sums.finish()
    }

    /// The same by whom to ask, each list in its order.
    pub fn chase(&self) -> Vec<Chase<'_>> {
        SOURCES
            .iter()
            .map(|&from| Chase {
                from,
                columns: self
                    .columns
                    .iter()
                    .filter(|column| column.from == from)
                    .collect(),
            })
            .filter(|chase| !chase.columns.is_empty())
            .collect()
    }
}
