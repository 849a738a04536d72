//! Which cells keep a judgement of a case open.

use super::audit_case::AuditCase;
use super::proportion::{Verdict, verdict};
use crate::assess::{ProsthesisEcho, discharge_column};
use crate::dictionary::MEASURES;
use crate::record::Cells;

/// A yes-or-no measure that cannot be told for a case, and the cells that would tell.
pub struct OpenJudgement {
    /// The measure.
    pub measure: &'static str,
    /// Cells of the cases file, each once.
    pub cells: Vec<&'static str>,
}

/// Measures whose open judgements are looked at.
const JUDGED: [&str; 12] = [
    "death_30d",
    "technical_success",
    "device_success",
    "early_safety",
    "intended_performance",
    "stroke_30d",
    "major_vascular_complication",
    "bleeding_type_2_to_4",
    "new_pacemaker",
    "kidney_injury_stage_2_to_4",
    "regurgitation_moderate_or_worse",
    "residual_gradient",
];

/// Every open judgement of a mature case.
pub fn open_judgements(case: &AuditCase<'_>) -> Vec<OpenJudgement> {
    JUDGED
        .iter()
        .filter(|&&measure| {
            verdict(measure, case) == Some(Verdict::Unknown) && case.mature(mature_after(measure))
        })
        .map(|&measure| {
            let mut cells = cells_of(measure, case);
            cells.retain(|column| case.assessment.can_be_asked(column));
            cells.sort_unstable();
            cells.dedup();
            OpenJudgement { measure, cells }
        })
        .filter(|open| !open.cells.is_empty())
        .collect()
}

fn mature_after(measure: &str) -> i64 {
    MEASURES
        .iter()
        .find(|row| row.name == measure)
        .and_then(|row| row.mature_after_days)
        .unwrap_or(0)
}

fn blank(case: &AuditCase<'_>, column: &'static str) -> Option<&'static str> {
    case.cells().value(column).is_none().then_some(column)
}

fn blanks(case: &AuditCase<'_>, columns: &[&'static str]) -> Vec<&'static str> {
    columns
        .iter()
        .filter_map(|column| blank(case, column))
        .collect()
}

/// The cell and, where it does not show the event, the last contact: a complication that did not happen is known only
/// with the state at day 30.
fn event(case: &AuditCase<'_>, column: &'static str) -> Vec<&'static str> {
    let contact = case.died_30d().is_none().then_some("last_contact_date");
    blank(case, column).into_iter().chain(contact).collect()
}

fn cells_of(measure: &str, case: &AuditCase<'_>) -> Vec<&'static str> {
    match measure {
        "death_30d" => vec!["last_contact_date"],
        "stroke_30d" => event(case, "stroke_30d"),
        "major_vascular_complication" => event(case, "vascular_complication"),
        "bleeding_type_2_to_4" => event(case, "bleeding_type"),
        "new_pacemaker" => {
            let mut cells = blanks(case, &["prior_pacemaker"]);
            cells.extend(event(case, "new_pacemaker_30d"));
            cells
        }
        "kidney_injury_stage_2_to_4" => kidney(case),
        "regurgitation_moderate_or_worse" => regurgitation(case),
        "residual_gradient" => echo(case, &["mean_gradient_mmhg"]),
        "intended_performance" => performance(case),
        composite => parts(composite, case),
    }
}

fn kidney(case: &AuditCase<'_>) -> Vec<&'static str> {
    let needed = blanks(
        case,
        &[
            "dialysis",
            "new_dialysis",
            "creatinine_umol_l",
            "creatinine_peak_umol_l",
        ],
    );
    if needed.is_empty() {
        blanks(case, &["creatinine_48h_umol_l"])
    } else {
        needed
    }
}

/// Cells of the judging echo that are blank, by their names at a visit; of the echo before discharge where there is no
/// other.
fn echo(case: &AuditCase<'_>, columns: &[&'static str]) -> Vec<&'static str> {
    let performance = &case.assessment.performance;
    columns
        .iter()
        .filter_map(|&column| match performance.visit {
            Some(visit) => {
                let cells = &case.assessment.known.visits[visit].cells;
                cells.value(column).is_none().then_some(column)
            }
            None => blank(case, discharge_column(column)?),
        })
        .collect()
}

fn regurgitation(case: &AuditCase<'_>) -> Vec<&'static str> {
    let performance: &ProsthesisEcho = &case.assessment.performance.echo;
    if performance.moderate_regurgitation().is_some() {
        return Vec::new();
    }
    echo(case, &["paravalvular_grade", "transvalvular_grade"])
}

fn performance(case: &AuditCase<'_>) -> Vec<&'static str> {
    let mut cells = echo(
        case,
        &["mean_gradient_mmhg", "vmax_m_s", "av_vti_cm", "lvot_vti_cm"],
    );
    if case.assessment.moderate_regurgitation.is_none() {
        cells.extend(regurgitation(case));
    }
    cells
}

fn parts(composite: &str, case: &AuditCase<'_>) -> Vec<&'static str> {
    let composites = &case.assessment.composites;
    let parts = match composite {
        "technical_success" => &composites.technical_success,
        "device_success" => &composites.device_success,
        "early_safety" => &composites.early_safety,
        _ => return Vec::new(),
    };
    parts
        .iter()
        .filter(|part| part.holds.is_none())
        .flat_map(|part| part_cells(part.name, case))
        .collect()
}

fn part_cells(part: &str, case: &AuditCase<'_>) -> Vec<&'static str> {
    match part {
        "technical_success" => parts("technical_success", case),
        "intended_performance" => performance(case),
        "alive_30d" => vec!["last_contact_date"],
        "no_moderate_regurgitation" => regurgitation(case),
        "no_kidney_injury_stage_3_or_4" => kidney(case),
        "no_new_pacemaker" => blanks(case, &["prior_pacemaker", "new_pacemaker_30d"]),
        "no_procedural_death" => vec!["procedural_death"],
        "access_delivery_retrieval" => vec!["access_delivery_retrieval_ok"],
        "position" => vec!["position_ok"],
        "single_valve" => vec!["second_valve"],
        "no_conversion_to_surgery" => vec!["conversion_to_surgery"],
        "no_device_intervention_in_room" => vec!["device_intervention_in_room"],
        "no_complication_intervention_in_room" => vec!["complication_intervention_in_room"],
        "no_device_intervention_to_30_days" => vec!["device_intervention_to_30_days"],
        "no_complication_intervention_to_30_days" => vec!["complication_intervention_to_30_days"],
        "no_stroke" => vec!["stroke_30d"],
        "no_bleeding_type_2_to_4" => vec!["bleeding_type"],
        "no_major_vascular_complication" => vec!["vascular_complication"],
        "no_major_structural_complication" => vec!["structural_complication"],
        _ => Vec::new(),
    }
}
