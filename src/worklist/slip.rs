//! What the next echo is held against: this patient's reference values, and the numbers from which it would be
//! deterioration.

use jiff::civil::Date;

use super::entry::echo_in_doubt;
use crate::assess::{
    Assessment, PERFORMANCE_CLOSES, PERFORMANCE_OPENS, ProsthesisEcho, STAGE_2, STAGE_3, StageRule,
};
use crate::date::plus_days;
use crate::record::Grade;

/// An echo of the prosthesis with its date.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EchoOn {
    /// Its date, where it is known.
    pub date: Option<Date>,
    /// Mean gradient (mmHg).
    pub mean_gradient_mmhg: Option<f64>,
    /// Effective orifice area (cm²).
    pub eoa_cm2: Option<f64>,
    /// Doppler velocity index.
    pub dvi: Option<f64>,
    /// Transvalvular regurgitation.
    pub transvalvular_grade: Option<Grade>,
    /// Whether a check across cells of this echo fails.
    pub in_doubt: bool,
}

impl EchoOn {
    fn of(echo: &ProsthesisEcho, date: Option<Date>, in_doubt: bool) -> Self {
        Self {
            in_doubt,
            date,
            mean_gradient_mmhg: echo.mean_gradient_mmhg,
            eoa_cm2: echo.eoa_cm2(),
            dvi: echo.dvi(),
            transvalvular_grade: echo.transvalvular_grade,
        }
    }
}

/// From which numbers on an echo of this patient would be a stage of deterioration (VARC-3, Genereux 2021).
///
/// The gradient route asks for the mean gradient *and* one of the two falls; the regurgitation route stands alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Threshold {
    /// 2 or 3.
    pub stage: u8,
    /// Mean gradient (mmHg), this or more.
    pub mean_gradient_mmhg: Option<f64>,
    /// Effective orifice area (cm²), this or less; unknown where the reference has none.
    pub eoa_cm2: Option<f64>,
    /// Doppler velocity index, this or less; unknown where the reference has none.
    pub dvi: Option<f64>,
    /// Transvalvular regurgitation, this or worse.
    pub regurgitation: Option<Grade>,
    /// Whether the regurgitation route can be met at all: a reference already at the grade cannot get so many steps
    /// worse. `None` where the reference grade is unknown.
    pub regurgitation_reachable: Option<bool>,
}

impl Threshold {
    /// The thresholds of one rule for a reference echo.
    pub fn of(stage: u8, rule: &StageRule, reference: &EchoOn) -> Self {
        // Either fall is enough, so the higher of the two values is the one that is reached first.
        let below = |value: f64, by: f64, by_pct: f64| {
            let after = (value - by).max(value * (1.0 - by_pct / 100.0));
            (after > 0.0).then_some(after)
        };
        let worse = reference.transvalvular_grade.map(|grade| {
            grades()
                .into_iter()
                .filter(|&candidate| candidate >= rule.regurgitation)
                .find(|&candidate| step(candidate) - step(grade) >= rule.regurgitation_steps)
        });
        Self {
            stage,
            mean_gradient_mmhg: reference
                .mean_gradient_mmhg
                .map(|mean| (mean + rule.rise_mmhg).max(rule.mean_mmhg)),
            eoa_cm2: reference
                .eoa_cm2
                .and_then(|area| below(area, rule.eoa_fall_cm2, rule.eoa_fall_pct)),
            dvi: reference
                .dvi
                .and_then(|dvi| below(dvi, rule.dvi_fall, rule.dvi_fall_pct)),
            regurgitation: worse.flatten(),
            regurgitation_reachable: worse.map(|grade| grade.is_some()),
        }
    }
}

fn grades() -> [Grade; 5] {
    [
        Grade::None,
        Grade::Trace,
        Grade::Mild,
        Grade::Moderate,
        Grade::Severe,
    ]
}

/// None and trace are one step, then mild, moderate, severe.
fn step(grade: Grade) -> i8 {
    match grade {
        Grade::None | Grade::Trace => 0,
        Grade::Mild => 1,
        Grade::Moderate => 2,
        Grade::Severe => 3,
    }
}

/// Everything a slip for the next echo needs of the earlier ones.
#[derive(Clone, Debug, PartialEq)]
pub struct Slip {
    /// The reference echo.
    pub reference: Option<EchoOn>,
    /// Without a reference echo: the last day on which an echo can still become it, where that is not past.
    pub reference_until: Option<Date>,
    /// Without a reference echo: the first day of the same time.
    pub reference_from: Option<Date>,
    /// The echo before discharge, where there is no reference: shown, and no reference.
    pub discharge: Option<EchoOn>,
    /// Stage 2 and stage 3, where there is a reference.
    pub thresholds: Option<[Threshold; 2]>,
    /// Day of the first visit that records a reintervention on the valve: from it on deterioration is not judged.
    pub reintervention: Option<Date>,
    /// Outflow tract diameter used last at the prosthesis (mm), with the day of its echo.
    pub outflow_diameter: Option<(f64, Option<Date>)>,
}

impl Slip {
    /// The slip of a case.
    pub fn of(assessment: &Assessment) -> Self {
        let known = &assessment.known;
        let reference = assessment.course.reference.map(|position| {
            let visit = &known.visits[position];
            EchoOn::of(
                &ProsthesisEcho::of_visit(&visit.cells),
                Some(visit.date),
                echo_in_doubt(assessment, Some(visit.date)),
            )
        });
        let day = |day| plus_days(known.procedure_date, day);
        let open = reference.is_none() && known.as_of_day() <= PERFORMANCE_CLOSES;
        let discharge = EchoOn::of(
            &ProsthesisEcho::before_discharge(&known.cells),
            known.cells.post_echo_date,
            echo_in_doubt(assessment, None),
        );
        let outflow_diameter = known
            .visits
            .iter()
            .rev()
            .find_map(|visit| Some((visit.cells.lvot_diameter_mm?, Some(visit.date))))
            .or_else(|| {
                Some((
                    known.cells.post_lvot_diameter_mm?,
                    known.cells.post_echo_date,
                ))
            });
        Self {
            thresholds: reference.as_ref().map(|reference| {
                [
                    Threshold::of(2, &STAGE_2, reference),
                    Threshold::of(3, &STAGE_3, reference),
                ]
            }),
            discharge: (reference.is_none() && discharge.mean_gradient_mmhg.is_some())
                .then_some(discharge),
            reference,
            reference_until: open.then(|| day(PERFORMANCE_CLOSES)).flatten(),
            reference_from: open.then(|| day(PERFORMANCE_OPENS)).flatten(),
            reintervention: known
                .visits
                .iter()
                .find(|visit| visit.cells.valve_reintervention == Some(true))
                .map(|visit| visit.date),
            outflow_diameter,
        }
    }
}
