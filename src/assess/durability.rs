//! Durability: haemodynamic deterioration against this patient's own reference echo, and valve failure (VARC-3).

use super::after::reference_visit;
use super::bands::{all_of, any_of, at_least};
use super::echo::ProsthesisEcho;
use super::known::{Known, Visit};
use super::result::{DeteriorationStage, ValveFailure, results};
use crate::record::Grade;

results! {
    /// Results of the later visits.
    Durability {
        /// Worst haemodynamic deterioration against the reference echo.
        deterioration_stage: DeteriorationStage,
        /// Failure of the bioprosthesis.
        bioprosthetic_valve_failure: ValveFailure,
    }
}

/// What a stage of deterioration asks for.
#[derive(Clone, Copy, Debug)]
pub struct StageRule {
    /// Rise of the mean gradient (mmHg), at least.
    pub rise_mmhg: f64,
    /// Mean gradient (mmHg), at least.
    pub mean_mmhg: f64,
    /// Fall of the effective orifice area (cm²), at least; or
    pub eoa_fall_cm2: f64,
    /// its fall (% of the reference), at least.
    pub eoa_fall_pct: f64,
    /// Fall of the Doppler velocity index, at least; or
    pub dvi_fall: f64,
    /// its fall (% of the reference), at least.
    pub dvi_fall_pct: f64,
    /// Steps by which transvalvular regurgitation is worse, at least.
    pub regurgitation_steps: i8,
    /// Transvalvular regurgitation, at least.
    pub regurgitation: Grade,
}

/// Stage 2, moderate haemodynamic deterioration.
pub const STAGE_2: StageRule = StageRule {
    rise_mmhg: 10.0,
    mean_mmhg: 20.0,
    eoa_fall_cm2: 0.3,
    eoa_fall_pct: 25.0,
    dvi_fall: 0.1,
    dvi_fall_pct: 20.0,
    regurgitation_steps: 1,
    regurgitation: Grade::Moderate,
};

/// Stage 3, severe haemodynamic deterioration.
pub const STAGE_3: StageRule = StageRule {
    rise_mmhg: 20.0,
    mean_mmhg: 30.0,
    eoa_fall_cm2: 0.6,
    eoa_fall_pct: 50.0,
    dvi_fall: 0.2,
    dvi_fall_pct: 40.0,
    regurgitation_steps: 2,
    regurgitation: Grade::Severe,
};

/// None and trace are one step, then mild, moderate, severe.
fn step(grade: Grade) -> i8 {
    match grade {
        Grade::None | Grade::Trace => 0,
        Grade::Mild => 1,
        Grade::Moderate => 2,
        Grade::Severe => 3,
    }
}

/// Whether a value fell by a threshold or by a share of the reference; `None` where either echo lacks it.
fn fell(reference: Option<f64>, now: Option<f64>, by: f64, by_pct: f64) -> Option<bool> {
    let (reference, now) = (reference?, now?);
    let fall = reference - now;
    Some(at_least(fall, by) || at_least(fall / reference * 100.0, by_pct))
}

/// How far one criterion of deterioration is met at an echo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CriterionState {
    /// Not met for stage 2.
    NotMet,
    /// Met for stage 2, not for stage 3.
    Stage2,
    /// Met for stage 3.
    Stage3,
}

/// Each criterion of deterioration on its own, at one echo against the reference echo (VARC-3); `None` where either
/// echo lacks what it compares. The gradient counts only together with a fall of area or of the index.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Criteria {
    /// Rise of the mean gradient, and the gradient reached.
    pub gradient: Option<CriterionState>,
    /// Fall of the effective orifice area.
    pub area: Option<CriterionState>,
    /// Fall of the Doppler velocity index.
    pub index: Option<CriterionState>,
    /// Transvalvular regurgitation, new or worse.
    pub regurgitation: Option<CriterionState>,
}

impl Criteria {
    /// The criteria of an echo.
    pub fn of(reference: &ProsthesisEcho, now: &ProsthesisEcho) -> Self {
        let state = |met: &dyn Fn(&StageRule) -> Option<bool>| {
            Some(match (met(&STAGE_2)?, met(&STAGE_3)?) {
                (_, true) => CriterionState::Stage3,
                (true, false) => CriterionState::Stage2,
                (false, false) => CriterionState::NotMet,
            })
        };
        Self {
            gradient: state(&|rule| rule.gradient_met(reference, now)),
            area: state(&|rule| rule.area_fell(reference, now)),
            index: state(&|rule| rule.index_fell(reference, now)),
            regurgitation: state(&|rule| rule.regurgitation_route(reference, now)),
        }
    }
}

impl StageRule {
    /// The least mean gradient (mmHg) that meets the gradient part, for this one at the reference echo (mmHg).
    pub const fn gradient_from_mmhg(&self, reference_mmhg: f64) -> f64 {
        (reference_mmhg + self.rise_mmhg).max(self.mean_mmhg)
    }

    /// The largest area (cm²) that meets the area part, for this one at the reference echo (cm²).
    pub const fn area_to_cm2(&self, reference_cm2: f64) -> f64 {
        (reference_cm2 - self.eoa_fall_cm2).max(reference_cm2 * (1.0 - self.eoa_fall_pct / 100.0))
    }

    fn area_fell(&self, reference: &ProsthesisEcho, now: &ProsthesisEcho) -> Option<bool> {
        fell(
            reference.eoa_cm2(),
            now.eoa_cm2(),
            self.eoa_fall_cm2,
            self.eoa_fall_pct,
        )
    }

    fn index_fell(&self, reference: &ProsthesisEcho, now: &ProsthesisEcho) -> Option<bool> {
        fell(reference.dvi(), now.dvi(), self.dvi_fall, self.dvi_fall_pct)
    }

    /// The gradient on its own: its rise, and what it has reached.
    fn gradient_met(&self, reference: &ProsthesisEcho, now: &ProsthesisEcho) -> Option<bool> {
        let mean = now.mean_gradient_mmhg;
        all_of([
            mean.zip(reference.mean_gradient_mmhg)
                .map(|(now, before)| at_least(now - before, self.rise_mmhg)),
            mean.map(|mean| at_least(mean, self.mean_mmhg)),
        ])
    }

    /// The gradient route: rise, gradient, and a fall of area or index. One fall known to reach its threshold is
    /// enough; one known not to reach it is enough to fail where the other is unknown.
    fn gradient_route(&self, reference: &ProsthesisEcho, now: &ProsthesisEcho) -> Option<bool> {
        let falls = [
            self.area_fell(reference, now),
            self.index_fell(reference, now),
        ];
        let fall = falls.iter().flatten().copied().reduce(|a, b| a || b);
        all_of([self.gradient_met(reference, now), fall])
    }

    /// The regurgitation route: transvalvular only.
    fn regurgitation_route(
        &self,
        reference: &ProsthesisEcho,
        now: &ProsthesisEcho,
    ) -> Option<bool> {
        let grade = now.transvalvular_grade;
        all_of([
            grade
                .zip(reference.transvalvular_grade)
                .map(|(now, before)| step(now) - step(before) >= self.regurgitation_steps),
            grade.map(|grade| grade >= self.regurgitation),
        ])
    }

    fn met(&self, reference: &ProsthesisEcho, now: &ProsthesisEcho) -> Option<bool> {
        any_of([
            self.gradient_route(reference, now),
            self.regurgitation_route(reference, now),
        ])
    }
}

/// How one later visit compares with the reference echo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LaterVisit {
    /// Position in [`Known::visits`].
    pub visit: usize,
    /// The worst stage known present: 2 or 3.
    pub stage: Option<u8>,
    /// Whether both routes are known absent for stage 2.
    pub stage_2_absent: bool,
}

/// The reference echo and the visits that are held against it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Course {
    /// Position of the reference echo in [`Known::visits`].
    pub reference: Option<usize>,
    /// Later visits with a mean gradient or a transvalvular grade, before the first reintervention.
    pub later: Vec<LaterVisit>,
}

impl Course {
    /// The course of this patient's valve.
    pub fn of(known: &Known) -> Self {
        Self::of_visits(&known.visits)
    }

    /// The same from the visits alone, so that a usual error can be tried on one gradient.
    pub fn of_visits(visits: &[Visit]) -> Self {
        let Some(reference_visit) = reference_visit(visits) else {
            return Self::default();
        };
        let reference = ProsthesisEcho::of_visit(&reference_visit.cells);
        let reintervention = visits
            .iter()
            .find(|visit| visit.cells.valve_reintervention == Some(true))
            .map(|visit| visit.date);
        let later = visits
            .iter()
            .enumerate()
            .filter(|(_, visit)| visit.date > reference_visit.date)
            .filter(|(_, visit)| reintervention.is_none_or(|date| visit.date < date))
            .filter(|(_, visit)| {
                visit.cells.mean_gradient_mmhg.is_some()
                    || visit.cells.transvalvular_grade.is_some()
            })
            .map(|(position, visit)| {
                let now = ProsthesisEcho::of_visit(&visit.cells);
                let stage_2 = STAGE_2.met(&reference, &now);
                LaterVisit {
                    visit: position,
                    stage: if STAGE_3.met(&reference, &now) == Some(true) {
                        Some(3)
                    } else {
                        (stage_2 == Some(true)).then_some(2)
                    },
                    stage_2_absent: stage_2 == Some(false),
                }
            })
            .collect();
        Self {
            reference: visits
                .iter()
                .position(|visit| visit.date == reference_visit.date),
            later,
        }
    }

    /// The worst stage known present; none only where the latest later visit excludes stage 2.
    pub fn deterioration_stage(&self) -> DeteriorationStage {
        match self.later.iter().filter_map(|later| later.stage).max() {
            Some(3) => DeteriorationStage::Stage3,
            Some(_) => DeteriorationStage::Stage2,
            None if self
                .later
                .last()
                .is_some_and(|latest| latest.stage_2_absent) =>
            {
                DeteriorationStage::None
            }
            None => DeteriorationStage::NotAssessable,
        }
    }

    fn valve_failure(&self, known: &Known) -> ValveFailure {
        if known.cells.valve_related_death == Some(true) {
            return ValveFailure::Stage3;
        }
        let visits = &known.visits;
        if visits
            .iter()
            .any(|visit| visit.cells.valve_reintervention == Some(true))
        {
            return ValveFailure::Stage2;
        }
        let staged = || {
            self.later
                .iter()
                .filter_map(|later| Some((&visits[later.visit].cells, later.stage?)))
        };
        let with_consequences = staged().any(|(cells, stage)| {
            cells.new_or_worse_symptoms == Some(true)
                || (stage == 3 && cells.irreversible == Some(true))
        });
        if with_consequences {
            return ValveFailure::Stage1;
        }
        let after_reference = self
            .reference
            .map_or(&[][..], |reference| &visits[reference + 1..]);
        let excluded = self.deterioration_stage() != DeteriorationStage::NotAssessable
            && after_reference
                .iter()
                .all(|visit| visit.cells.valve_reintervention.is_some())
            && staged().all(|(cells, stage)| {
                cells.new_or_worse_symptoms == Some(false)
                    && (stage < 3 || cells.irreversible == Some(false))
            })
            && (!known.signs_of_death || known.cells.valve_related_death == Some(false));
        if excluded {
            ValveFailure::None
        } else {
            ValveFailure::NotAssessable
        }
    }
}

impl Durability {
    /// Deterioration and failure.
    pub fn of(known: &Known, course: &Course) -> Self {
        Self {
            deterioration_stage: course.deterioration_stage(),
            bioprosthetic_valve_failure: course.valve_failure(known),
        }
    }
}
