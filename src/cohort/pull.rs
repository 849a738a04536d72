//! Cases whose records the audit should pull, each with its reasons. A reason is a fact of the record, not a verdict.

use jiff::civil::Date;

use super::audit_case::AuditCase;
use super::options::CohortOptions;
use super::period::Period;
use crate::assess::{DeteriorationStage, Flag, Visit};
use crate::record::{BleedingType, Choice, Extent, Stroke, Text};

/// One case to pull.
#[derive(Clone, Debug, PartialEq)]
pub struct PullCase {
    /// Its key.
    pub case_id: Text,
    /// Procedure date.
    pub procedure_date: Date,
    /// Group of the operator.
    pub operator: String,
    /// Whether it is a case of the period; an earlier one is here for something that happened since.
    pub in_period: bool,
    /// Rank of its gravest reason, 1 the gravest.
    pub gravity: u8,
    /// Reasons, gravest first.
    pub reasons: Vec<String>,
}

#[derive(Default)]
struct Reasons(Vec<(u8, String)>);

impl Reasons {
    fn add(&mut self, holds: bool, gravity: u8, text: impl Into<String>) {
        if holds {
            self.0.push((gravity, text.into()));
        }
    }
}

/// The cases to pull: those of the period with a reason, and earlier ones with an event since the period began.
pub fn cases_to_pull(
    cases: &[AuditCase<'_>],
    operator_of: impl Fn(usize) -> String,
    period: &Period,
    options: &CohortOptions,
) -> Vec<PullCase> {
    let mut pulled: Vec<PullCase> = cases
        .iter()
        .enumerate()
        .filter_map(|(position, case)| {
            let in_period = period.holds(case.procedure_date());
            let mut reasons = if in_period {
                of_period(case, options)
            } else {
                since(case, period.from?, options)
            };
            reasons.0.sort_by_key(|(gravity, _)| *gravity);
            Some(PullCase {
                case_id: case.case_id().clone(),
                procedure_date: case.procedure_date(),
                operator: operator_of(position),
                in_period,
                gravity: reasons.0.first()?.0,
                reasons: reasons.0.into_iter().map(|(_, text)| text).collect(),
            })
        })
        .collect();
    pulled.sort_by(|a, b| {
        (a.gravity, !a.in_period, a.procedure_date, &a.case_id).cmp(&(
            b.gravity,
            !b.in_period,
            b.procedure_date,
            &b.case_id,
        ))
    });
    pulled
}

fn death(case: &AuditCase<'_>, reasons: &mut Reasons, options: &CohortOptions) {
    let known = &case.assessment.known;
    if let Some(day) = known.death_day() {
        let risk = match case.risk_pct(options.risk_model) {
            Some(risk) => format!("; predicted risk {risk:.1} %"),
            None => "; no predicted risk".to_owned(),
        };
        let cause = known
            .cells
            .death_cause
            .map_or("cause not recorded", |cause| match cause {
                crate::record::DeathCause::Cardiovascular => "cardiovascular",
                crate::record::DeathCause::NonCardiovascular => "non-cardiovascular",
                crate::record::DeathCause::Unknown => "cause unknown",
            });
        let text = if known.cells.procedural_death == Some(true) {
            format!("died in the procedure room{risk}")
        } else {
            format!("died on day {day}, {cause}{risk}")
        };
        reasons.add(true, if day <= 30 { 1 } else { 3 }, text);
    }
    reasons.add(
        case.assessment.has(Flag::DeathUndated),
        1,
        "signs of death without a date",
    );
}

fn of_period(case: &AuditCase<'_>, options: &CohortOptions) -> Reasons {
    let mut reasons = Reasons::default();
    death(case, &mut reasons, options);
    let cells = case.cells();
    let assessment = case.assessment;
    let yes = |cell: Option<bool>| cell == Some(true);
    let has = |flag| assessment.has(flag);

    reasons.add(yes(cells.annular_rupture), 2, "annular rupture");
    reasons.add(yes(cells.conversion_to_surgery), 2, "conversion to surgery");
    reasons.add(yes(cells.coronary_obstruction), 2, "coronary obstruction");
    reasons.add(yes(cells.valve_embolisation), 2, "valve embolised");
    reasons.add(yes(cells.second_valve), 2, "second valve");
    reasons.add(yes(cells.no_valve_implanted), 2, "no valve implanted");
    if let Some(stroke) = cells.stroke_30d
        && !matches!(stroke, Stroke::None | Stroke::Tia)
    {
        let how = match cells.stroke_disabling {
            Some(true) => ", disabling",
            Some(false) => ", not disabling",
            None => ", disabling or not not recorded",
        };
        reasons.add(true, 2, format!("stroke, {}{how}", stroke.word()));
    }
    if let Some(bleeding) = cells.bleeding_type
        && bleeding >= BleedingType::Type3
    {
        let text = format!("bleeding {}", bleeding.word().replace('_', " "));
        reasons.add(true, 2, text);
    }
    reasons.add(
        cells.vascular_complication == Some(Extent::Major),
        2,
        "major vascular complication",
    );
    reasons.add(
        cells.structural_complication == Some(Extent::Major),
        2,
        "major structural complication",
    );
    let across = &assessment.across;
    if let Some(other) = &across.same_serial {
        reasons.add(true, 3, format!("device serial also in case {other}"));
    }
    if let Some(other) = &across.other_birth_date {
        let text = format!("patient key with another birth date in case {other}");
        reasons.add(true, 3, text);
    }
    if let Some(other) = &across.alike {
        let text = format!(
            "{} of {} echo and CT numbers as in case {other}: possibly a pasted row",
            across.alike_in().count(),
            across.alike_of
        );
        reasons.add(true, 7, text);
    }
    visit_events(case, None, &mut reasons);
    reasons.add(
        has(Flag::Regurgitation),
        4,
        "regurgitation moderate or more after the procedure",
    );
    if let Some(mean) = assessment.results.after.performance_mean_gradient_mmhg
        && has(Flag::ResidualGradient)
    {
        let text = format!("mean gradient {mean} mmHg after the procedure");
        reasons.add(true, 4, text);
    }
    reasons.add(
        has(Flag::LateGradient),
        4,
        "late gradient of 20 mmHg or more, no reference echo",
    );
    deterioration(case, &mut reasons);
    reasons.add(
        has(Flag::KidneyInjury),
        5,
        format!(
            "kidney injury {}",
            assessment
                .results
                .outcomes
                .aki_stage
                .word()
                .replace('_', " ")
        ),
    );
    reasons.add(
        has(Flag::SizingDisagreement) && has(Flag::NoSizingReason),
        6,
        "lines of sizing evidence disagree, no reason recorded",
    );
    reasons.add(
        has(Flag::SizeOutOfRange) && has(Flag::NoSizingReason),
        6,
        "annulus outside the labelled range, no reason recorded",
    );
    for check in &assessment.failed_checks {
        reasons.add(true, 7, format!("contradiction: {}", check.says));
    }
    reasons
}

/// What happened to an earlier case since the period began.
fn since(case: &AuditCase<'_>, from: Date, options: &CohortOptions) -> Reasons {
    let mut reasons = Reasons::default();
    let known = &case.assessment.known;
    if known.death_date.is_some_and(|date| date >= from) {
        death(case, &mut reasons, options);
    }
    visit_events(case, Some(from), &mut reasons);
    if case
        .assessment
        .course
        .later
        .iter()
        .any(|later| later.stage.is_some() && known.visits[later.visit].date >= from)
    {
        deterioration(case, &mut reasons);
    }
    reasons
}

fn deterioration(case: &AuditCase<'_>, reasons: &mut Reasons) {
    let stage = match case.assessment.results.durability.deterioration_stage {
        DeteriorationStage::Stage2 => "2",
        DeteriorationStage::Stage3 => "3",
        DeteriorationStage::None | DeteriorationStage::NotAssessable => return,
    };
    reasons.add(
        true,
        4,
        format!("haemodynamic deterioration of the valve, stage {stage}"),
    );
}

fn visit_events(case: &AuditCase<'_>, from: Option<Date>, reasons: &mut Reasons) {
    let visits = &case.assessment.known.visits;
    for visit in visits
        .iter()
        .filter(|visit| from.is_none_or(|from| visit.date >= from))
    {
        for (event, day) in events(visit) {
            let day = match day {
                Some(day) => format!("day {}", case.assessment.known.day_of(day)),
                None => format!("visit of day {}", visit.day),
            };
            reasons.add(true, 3, format!("{event}, {day}"));
        }
    }
}

/// The events told at a visit, each with its own day where that is recorded.
fn events(visit: &Visit) -> impl Iterator<Item = (&'static str, Option<Date>)> {
    let cells = &visit.cells;
    [
        (cells.stroke, "stroke", cells.stroke_date),
        (
            cells.valve_reintervention,
            "reintervention on the valve",
            cells.reintervention_date,
        ),
        (cells.endocarditis, "endocarditis", None),
        (cells.leaflet_thrombosis, "leaflet thrombosis", None),
        (
            cells.hospitalised_for_valve_or_procedure,
            "hospitalised for valve or procedure",
            cells.hospitalisation_date,
        ),
    ]
    .into_iter()
    .filter(|(happened, ..)| *happened == Some(true))
    .map(|(_, name, day)| (name, day))
}
