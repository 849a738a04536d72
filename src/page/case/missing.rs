//! What is missing, what it costs and whom to ask.

use super::view::View;
use crate::dictionary;
use crate::explain::{Origin, traces_of};
use crate::page::number::date;
use crate::page::words::asked;

/// Results that a reader looks for, with the words for what a gap costs; the others are counted.
const COSTS: [(&str, &str); 25] = [
    ("bsa_m2", "indexed values"),
    ("stenosis_class", "stenosis class"),
    ("baseline_ava_computed_cm2", "valve area"),
    ("intended_performance", "valve performance"),
    ("post_eoa_cm2", "area at discharge"),
    ("technical_success", "technical success"),
    ("device_success", "device success"),
    ("early_safety", "early safety"),
    ("clinical_efficacy_1y", "1-year efficacy"),
    ("deterioration_stage", "stage of deterioration"),
    ("sizing_agreement", "agreement of sizing lines"),
    ("device_in_range", "labelled range"),
    ("measured_ppm", "measured mismatch"),
    ("predicted_ppm", "predicted mismatch"),
    ("aki_stage", "kidney injury"),
    ("new_pacemaker", "new pacemaker"),
    ("euroscore2_pct", "EuroSCORE II"),
    ("cardiac_damage_stage", "cardiac damage"),
    ("calcium_likelihood", "calcium likelihood"),
    ("lv_geometry", "ventricular geometry"),
    ("filled_diameter_estimate_mm", "filled diameter"),
    ("sheath_femoral_ratio", "sheath to lumen"),
    ("aortic_regurgitation_index", "regurgitation index"),
    ("gorlin_ava_cm2", "area by catheter"),
    ("length_of_stay_days", "length of stay"),
];

/// Missing cells of one source, and what they cost.
pub(super) struct Gap {
    /// Whom to ask.
    pub ask: String,
    /// Names of the cells.
    pub cells: Vec<String>,
    /// What cannot be told without them.
    pub costs: Vec<&'static str>,
}

/// A missing cell: of the case, or of the visit whose echo judges the prosthesis.
#[derive(PartialEq)]
struct Missing {
    column: &'static str,
    visit: Option<usize>,
}

impl Missing {
    /// Whom to ask for it.
    fn ask(&self) -> &'static str {
        let file = self.visit.map_or("cases", |_| "followups");
        dictionary::column(file, self.column)
            .map_or("administration", |column| column.from.as_str())
    }

    fn words(&self, view: &View<'_>) -> String {
        let name = asked(self.column);
        match self.visit {
            Some(visit) => format!("{name} of {}", date(view.known.visits[visit].date)),
            None => name,
        }
    }
}

/// Gaps by source, in the order of the dictionary.
pub(super) fn gaps(view: &View<'_>) -> Vec<Gap> {
    let (record, assessment, catalogue) = (view.record, view.assessment, view.catalogue);
    let judging = assessment.performance.visit;
    let mut missing: Vec<(Missing, Vec<&'static str>)> = assessment
        .asked()
        .map(|column| {
            let visit = None;
            (Missing { column, visit }, Vec::new())
        })
        .collect();
    let cost_of = |result: &str| COSTS.iter().find(|(name, _)| *name == result);
    for trace in traces_of(record, assessment, catalogue, |name| {
        cost_of(name).is_some()
    }) {
        let Some((_, cost)) = cost_of(trace.definition.name) else {
            continue;
        };
        for input in trace.missing() {
            let cell = Missing {
                column: input.name,
                visit: match input.origin {
                    Origin::Visit { position, .. } => Some(position),
                    _ => None,
                },
            };
            match missing.iter_mut().find(|(known, _)| *known == cell) {
                Some((_, costs)) => costs.push(cost),
                // Of the visits only the echo that judges is asked for here; the packet lists the rest.
                None if cell.visit.is_some() && cell.visit == judging && cell.ask() == "echo" => {
                    missing.push((cell, vec![cost]));
                }
                None => {}
            }
        }
    }
    let mut gaps: Vec<Gap> = Vec::new();
    for (cell, costs) in missing {
        let ask = cell.ask();
        let gap = match gaps.iter_mut().position(|gap| gap.ask == ask) {
            Some(position) => &mut gaps[position],
            None => {
                gaps.push(Gap {
                    ask: ask.to_owned(),
                    cells: Vec::new(),
                    costs: Vec::new(),
                });
                gaps.last_mut().expect("just pushed")
            }
        };
        gap.cells.push(cell.words(view));
        for cost in costs {
            if !gap.costs.contains(&cost) {
                gap.costs.push(cost);
            }
        }
    }
    gaps
}

/// A few names, and how many more there are.
pub(super) fn some(names: &[String], most: usize) -> String {
    if names.len() <= most {
        return names.join(", ");
    }
    format!(
        "{} and {} more",
        names[..most].join(", "),
        names.len() - most
    )
}

/// The gap in one sentence with at most `most` names on each side.
pub(super) fn sentence(gap: &Gap, most: usize) -> String {
    let costs: Vec<String> = gap.costs.iter().map(|cost| (*cost).to_owned()).collect();
    let costs = if costs.is_empty() {
        String::new()
    } else {
        format!("; without it no {}", some(&costs, most))
    };
    format!(
        "Missing ({}): {}{costs}.",
        who(&gap.ask),
        some(&gap.cells, most)
    )
}

fn who(source: &str) -> &str {
    match source {
        "echo" => "echo",
        "ct" => "CT",
        "cath" => "catheter laboratory",
        "ward" => "ward",
        "laboratory" => "laboratory",
        "clinic" => "clinic",
        "catalogue" => "devices file",
        _ => "administration",
    }
}
