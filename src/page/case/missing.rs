//! What is missing, what it costs and whom to ask.

use super::view::View;
use crate::dictionary;
use crate::explain::traces_of;
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
    ("deterioration_stage", "deterioration"),
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

/// Gaps by source, in the order of the dictionary.
pub(super) fn gaps(view: &View<'_>) -> Vec<Gap> {
    let mut gaps: Vec<Gap> = Vec::new();
    let mut costs_of: Vec<(&'static str, Vec<&'static str>)> = view
        .assessment
        .asked()
        .map(|column| (column, Vec::new()))
        .collect();
    if costs_of.is_empty() {
        return gaps;
    }
    let cost_of = |result: &str| COSTS.iter().find(|(name, _)| *name == result);
    let (record, assessment, catalogue) = (view.record, view.assessment, view.catalogue);
    for trace in traces_of(record, assessment, catalogue, |name| {
        cost_of(name).is_some()
    }) {
        let Some((_, cost)) = cost_of(trace.definition.name) else {
            continue;
        };
        for input in trace.missing() {
            if let Some((_, costs)) = costs_of
                .iter_mut()
                .find(|(column, _)| *column == input.name)
            {
                costs.push(cost);
            }
        }
    }
    for (name, costs) in costs_of {
        let ask = dictionary::column("cases", name)
            .map_or("administration", |column| column.from.as_str());
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
        gap.cells.push(asked(name));
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
