//! The composite endpoints in words: met, not met and why, open until when, or what is missing.

use super::criteria;
use super::view::View;
use crate::assess::{
    DeteriorationStage, Endpoint, PERFORMANCE_CLOSES, PERFORMANCE_OPENS, Part, ProsthesisEcho,
    ValveFailure, intended_performance_parts, one_year_kccq_visit,
};
use crate::date::plus_days;
use crate::page::number::date;
use crate::page::words::Words;

/// One line of the block: what is judged, the verdict (none on a line that only adds to the one above), and the part
/// that decides it.
pub(super) struct Verdict {
    pub what: String,
    pub result: &'static str,
    pub verdict: String,
    pub because: String,
}

/// How a failed and an unknown part are said.
const PARTS: [(&str, &str, &str); 21] = [
    (
        "no_procedural_death",
        "died in the room",
        "death in the room",
    ),
    (
        "access_delivery_retrieval",
        "access, delivery or retrieval failed",
        "access, delivery and retrieval",
    ),
    ("position", "valve position not correct", "valve position"),
    ("single_valve", "second valve", "second valve"),
    (
        "no_conversion_to_surgery",
        "conversion to surgery",
        "conversion to surgery",
    ),
    (
        "no_device_intervention_in_room",
        "device intervention in the room",
        "device intervention in the room",
    ),
    (
        "no_complication_intervention_in_room",
        "intervention for a complication in the room",
        "intervention for a complication in the room",
    ),
    (
        "technical_success",
        "no technical success",
        "technical success",
    ),
    ("alive_30d", "died by day 30", "alive at day 30"),
    (
        "no_device_intervention_to_30_days",
        "device intervention by day 30",
        "device intervention to day 30",
    ),
    (
        "no_complication_intervention_to_30_days",
        "intervention for a complication by day 30",
        "intervention for a complication to day 30",
    ),
    ("no_stroke", "stroke", "stroke to day 30"),
    (
        "no_bleeding_type_2_to_4",
        "bleeding type 2 or more",
        "bleeding",
    ),
    (
        "no_major_vascular_complication",
        "major vascular complication",
        "vascular complication",
    ),
    (
        "no_major_structural_complication",
        "major structural complication",
        "structural complication",
    ),
    (
        "no_kidney_injury_stage_3_or_4",
        "kidney injury stage 3 or 4",
        "creatinine, dialysis",
    ),
    (
        "no_moderate_regurgitation",
        "leak moderate or more",
        "both leak grades",
    ),
    (
        "no_new_pacemaker",
        "new pacemaker",
        "pacemaker before or new",
    ),
    ("alive_365d", "died by day 365", "alive at day 365"),
    ("no_stroke_30d", "stroke by day 30", "stroke to day 30"),
    (
        "no_hospitalisation_365d",
        "hospitalised for valve or procedure",
        "hospitalisation to day 365",
    ),
];

fn part_words(view: &View<'_>, part: &Part) -> String {
    let failed = part.holds == Some(false);
    match part.name {
        "no_stroke_365d" => if failed {
            "stroke by day 365"
        } else {
            "stroke to day 365"
        }
        .to_owned(),
        "kccq_45_or_more" => if failed {
            "KCCQ below 45"
        } else {
            "KCCQ at one year"
        }
        .to_owned(),
        "kccq_not_10_worse" if failed => "KCCQ more than 10 worse".to_owned(),
        "kccq_not_10_worse" => match view.cells.kccq_baseline {
            // What lacks at one year is said by the part that needs it alone.
            Some(_) => "KCCQ at one year",
            None => "KCCQ before",
        }
        .to_owned(),
        "no_kidney_injury_stage_3_or_4" if !failed => kidney_lacks(view),
        "intended_performance" => performance_part(view, failed),
        name => PARTS
            .iter()
            .find(|(listed, _, _)| *listed == name)
            .map_or_else(
                || name.replace('_', " "),
                |(_, fails, lacks)| if failed { *fails } else { *lacks }.to_owned(),
            ),
    }
}

/// What of the kidney's values is not recorded.
fn kidney_lacks(view: &View<'_>) -> String {
    let cells = view.cells;
    let lacks: Vec<&str> = [
        (cells.creatinine_umol_l.is_none(), "creatinine before"),
        (cells.creatinine_peak_umol_l.is_none(), "creatinine peak"),
        (cells.new_dialysis.is_none(), "new dialysis"),
    ]
    .into_iter()
    .filter_map(|(lacks, words)| lacks.then_some(words))
    .collect();
    if lacks.is_empty() {
        "creatinine, dialysis".to_owned()
    } else {
        lacks.join(", ")
    }
}

/// Which part of the valve's performance failed, or is unknown.
fn performance_part(view: &View<'_>, failed: bool) -> String {
    let echo = &view.assessment.performance.echo;
    let parts = intended_performance_parts(echo, view.assessment.moderate_regurgitation);
    let words = [
        ("mean gradient 20 mmHg or more", "mean gradient"),
        ("peak velocity 3 m/s or more", "peak velocity"),
        ("DVI below 0.25", "DVI (both VTIs)"),
        ("leak moderate or more", "both leak grades"),
    ];
    let wanted = failed.then_some(false);
    let said: Vec<&str> = parts
        .iter()
        .zip(words)
        .filter(|(holds, _)| **holds == wanted)
        .map(|(_, (fails, lacks))| if failed { fails } else { lacks })
        .collect();
    format!("valve performance: {}", said.join(", "))
}

/// What failed, or what is missing.
fn because(view: &View<'_>, parts: &[Part], verdict: Endpoint, most_parts: usize) -> String {
    let wanted = match verdict {
        Endpoint::Yes => return String::new(),
        Endpoint::No => Some(false),
        Endpoint::NotAssessable => None,
    };
    if verdict == Endpoint::NotAssessable && parts.iter().all(|part| part.holds.is_none()) {
        return format!("missing: all of its {} parts", parts.len());
    }
    let mut said: Vec<String> = Vec::new();
    for part in parts.iter().filter(|part| part.holds == wanted) {
        // Technical success stands on the line above, with its own reason.
        let words = part_words(view, part);
        if !said.contains(&words) {
            said.push(words);
        }
    }
    let more = said.len().saturating_sub(most_parts);
    said.truncate(most_parts);
    let mut joined = said.join("; ");
    if more > 0 {
        joined += &format!("; and {more} more");
    }
    match verdict {
        Endpoint::NotAssessable if !joined.is_empty() => format!("missing: {joined}"),
        _ => joined,
    }
}

/// Every verdict, in the order of the page, each with at most so many of its failing or missing parts.
pub(super) fn verdicts(view: &View<'_>, most_parts: usize) -> Vec<Verdict> {
    let outcomes = &view.assessment.results.outcomes;
    let parts = &view.assessment.composites;
    let mut verdicts = vec![
        endpoint(
            view,
            "Technical success",
            "technical_success",
            outcomes.technical_success,
            &parts.technical_success,
            (0, most_parts),
        ),
        endpoint(
            view,
            "Device success, 30 days",
            "device_success",
            outcomes.device_success,
            &parts.device_success,
            (30, most_parts),
        ),
        endpoint(
            view,
            "Early safety, 30 days",
            "early_safety",
            outcomes.early_safety,
            &parts.early_safety,
            (30, most_parts),
        ),
        efficacy(view, most_parts),
        deterioration(view),
    ];
    verdicts.extend(criteria::at_latest_echo(view));
    verdicts.push(failure(view));
    verdicts
}

/// A composite endpoint: open while the day that it needs has not come.
fn endpoint(
    view: &View<'_>,
    what: &'static str,
    result: &'static str,
    verdict: Endpoint,
    parts: &[Part],
    (day, most_parts): (i64, usize),
) -> Verdict {
    let open = verdict == Endpoint::NotAssessable && !view.dead() && view.known.as_of_day() < day;
    let verdict_words = match plus_days(view.known.procedure_date, day).filter(|_| open) {
        Some(until) => format!("open until {}", date(until)),
        None => verdict.words().to_owned(),
    };
    Verdict {
        what: what.to_owned(),
        result,
        verdict: verdict_words,
        because: because(view, parts, verdict, most_parts),
    }
}

fn efficacy(view: &View<'_>, most_parts: usize) -> Verdict {
    let verdict = view.assessment.results.outcomes.clinical_efficacy_1y;
    let parts = &view.assessment.composites.clinical_efficacy_1y;
    // The quality of life at one year may still be asked for until day 425.
    let closes = if one_year_kccq_visit(view.known).is_some() {
        365
    } else {
        425
    };
    let day = if view.known.as_of_day() < 365 {
        365
    } else {
        closes
    };
    let mut judged = endpoint(
        view,
        "Clinical efficacy, 1 year",
        "clinical_efficacy_1y",
        verdict,
        parts,
        (day, most_parts),
    );
    if judged.verdict.starts_with("open") {
        judged.because = String::new();
    }
    judged
}

/// Why nothing can be held against a reference echo.
pub(super) fn no_reference(view: &View<'_>) -> String {
    let window = format!("day {PERFORMANCE_OPENS} to {PERFORMANCE_CLOSES}");
    match view.known.death_date.map(|on| view.known.day_of(on)) {
        Some(day) if day <= PERFORMANCE_CLOSES => {
            format!("died on day {day}: no reference echo ({window})")
        }
        _ if !view.dead() && view.known.as_of_day() <= PERFORMANCE_CLOSES => {
            format!("no reference echo yet ({window})")
        }
        _ => format!("no reference echo ({window})"),
    }
}

fn deterioration(view: &View<'_>) -> Verdict {
    let stage = view.assessment.results.durability.deterioration_stage;
    let course = &view.assessment.course;
    let visits = &view.known.visits;
    let reference = course.reference.map(|position| &visits[position]);
    let latest = course.later.last().map(|later| &visits[later.visit]);
    let (verdict, because) = match (stage, reference, latest) {
        (DeteriorationStage::NotAssessable, None, _) => {
            let closes = plus_days(view.known.procedure_date, PERFORMANCE_CLOSES);
            match closes.filter(|closes| !view.dead() && view.known.as_of <= *closes) {
                Some(closes) => (
                    format!("open until {}", date(closes)),
                    "missing: reference echo".to_owned(),
                ),
                None => (stage.words().to_owned(), no_reference(view)),
            }
        }
        (DeteriorationStage::NotAssessable, Some(reference), None) => {
            let verdict = if view.dead() { stage.words() } else { "open" };
            (
                verdict.to_owned(),
                format!("no echo after the reference of {}", date(reference.date)),
            )
        }
        (DeteriorationStage::NotAssessable, Some(reference), Some(latest)) => (
            stage.words().to_owned(),
            format!(
                "missing on {}: {}",
                date(latest.date),
                lacking(reference, latest)
            ),
        ),
        (_, _, Some(latest)) => {
            let worst = course.later.iter().filter_map(|later| later.stage).max();
            let first = course
                .later
                .iter()
                .find(|later| later.stage.is_some() && later.stage == worst);
            let because = match first {
                Some(first) => format!("first on {}", date(visits[first.visit].date)),
                None => format!("to {}", date(latest.date)),
            };
            (stage.words().to_owned(), because)
        }
        (_, _, None) => (stage.words().to_owned(), String::new()),
    };
    Verdict {
        what: "Valve deterioration".to_owned(),
        result: "deterioration_stage",
        verdict,
        because,
    }
}

/// What keeps the latest echo from being held against the reference.
fn lacking(reference: &crate::assess::Visit, latest: &crate::assess::Visit) -> String {
    let (then, now) = (
        ProsthesisEcho::of_visit(&reference.cells),
        ProsthesisEcho::of_visit(&latest.cells),
    );
    let mut lacks = Vec::new();
    if now.mean_gradient_mmhg.is_none() {
        lacks.push("mean gradient");
    }
    let pair = |a: Option<f64>, b: Option<f64>| a.is_some() && b.is_some();
    if !pair(then.eoa_cm2(), now.eoa_cm2()) && !pair(then.dvi(), now.dvi()) {
        lacks.push("area and DVI at both echoes");
    }
    if now.transvalvular_grade.is_none() || then.transvalvular_grade.is_none() {
        lacks.push("leak through the valve at both echoes");
    }
    lacks.join(", ")
}

fn failure(view: &View<'_>) -> Verdict {
    let stage = view
        .assessment
        .results
        .durability
        .bioprosthetic_valve_failure;
    let visits = &view.known.visits;
    let because = match stage {
        ValveFailure::Stage2 => visits
            .iter()
            .find(|visit| visit.cells.valve_reintervention == Some(true))
            .map_or(String::new(), |visit| {
                format!(
                    "on {}",
                    date(visit.cells.reintervention_date.unwrap_or(visit.date))
                )
            }),
        ValveFailure::Stage3 | ValveFailure::None => String::new(),
        ValveFailure::Stage1 => "deterioration with symptoms, or judged irreversible".to_owned(),
        ValveFailure::NotAssessable => failure_lacks(view),
    };
    let open = stage == ValveFailure::NotAssessable
        && !view.dead()
        && view.assessment.course.later.is_empty()
        && view.assessment.course.reference.is_some();
    Verdict {
        what: "Valve failure".to_owned(),
        result: "bioprosthetic_valve_failure",
        verdict: if open {
            "open".to_owned()
        } else {
            stage.words().to_owned()
        },
        because,
    }
}

fn failure_lacks(view: &View<'_>) -> String {
    if view.dead() && view.cells.valve_related_death.is_none() {
        return "missing: whether the death is related to the valve".to_owned();
    }
    if view.assessment.results.durability.deterioration_stage == DeteriorationStage::NotAssessable {
        return "rests on deterioration".to_owned();
    }
    let course = &view.assessment.course;
    let visits = &view.known.visits;
    let later = course
        .reference
        .map_or(&[][..], |reference| &visits[reference + 1..]);
    if let Some(visit) = later
        .iter()
        .find(|visit| visit.cells.valve_reintervention.is_none())
    {
        return format!("missing on {}: reintervention", date(visit.date));
    }
    "missing: symptoms or reversibility at the echo that shows deterioration".to_owned()
}
