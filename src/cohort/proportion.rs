//! The yes-or-no measures: what counts as yes, what as no, and what is unknown.

use super::audit_case::AuditCase;
use super::statistics::{missing_bounds, wilson};
use crate::assess::bands::at_least;
use crate::assess::{AkiStage, Endpoint, Mismatch, NewPacemaker, Part, SizingAgreement};
use crate::record::{BleedingType, Extent, Stroke};

/// What one case says to one yes-or-no measure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Known, counted in the numerator.
    Yes,
    /// Known, counted in the denominator only.
    No,
    /// Not known, or not assessable.
    Unknown,
    /// Outside the question, and outside every count.
    NotApplicable,
}

impl From<Option<bool>> for Verdict {
    fn from(known: Option<bool>) -> Self {
        match known {
            Some(true) => Self::Yes,
            Some(false) => Self::No,
            None => Self::Unknown,
        }
    }
}

impl From<Endpoint> for Verdict {
    fn from(endpoint: Endpoint) -> Self {
        match endpoint {
            Endpoint::Yes => Self::Yes,
            Endpoint::No => Self::No,
            Endpoint::NotAssessable => Self::Unknown,
        }
    }
}

impl Verdict {
    /// An event by day 30 that did not happen counts as known only where it is known whether the patient lived to
    /// day 30 or died: the cell is filled in at discharge, and the month goes on.
    fn no_only_where_death_is_known(self, case: &AuditCase<'_>) -> Self {
        match self {
            Self::No if case.died_30d().is_none() => Self::Unknown,
            verdict => verdict,
        }
    }
}

/// What one case says to the yes-or-no measure of this name in cohort.csv, parts of composites included
/// (`device_success/intended_performance`); `None` where there is no such measure.
pub fn verdict(measure: &str, case: &AuditCase<'_>) -> Option<Verdict> {
    let outcomes = &case.assessment.results.outcomes;
    let after = &case.assessment.results.after;
    let cells = case.cells();
    Some(match measure {
        "technical_success" => outcomes.technical_success.into(),
        "device_success" => outcomes.device_success.into(),
        "early_safety" => outcomes.early_safety.into(),
        "clinical_efficacy_1y" => outcomes.clinical_efficacy_1y.into(),
        "intended_performance" => after.intended_performance.into(),
        "death_30d" => outcomes.death_30d.into(),
        "new_pacemaker" => match outcomes.new_pacemaker {
            NewPacemaker::Yes => Verdict::Yes,
            NewPacemaker::No => Verdict::No.no_only_where_death_is_known(case),
            NewPacemaker::NotApplicable => Verdict::NotApplicable,
            NewPacemaker::NotAssessable => Verdict::Unknown,
        },
        "stroke_30d" => Verdict::from(
            cells
                .stroke_30d
                .map(|stroke| !matches!(stroke, Stroke::None | Stroke::Tia)),
        )
        .no_only_where_death_is_known(case),
        "major_vascular_complication" => Verdict::from(
            cells
                .vascular_complication
                .map(|extent| extent == Extent::Major),
        )
        .no_only_where_death_is_known(case),
        "bleeding_type_2_to_4" => Verdict::from(
            cells
                .bleeding_type
                .map(|bleeding| bleeding >= BleedingType::Type2),
        )
        .no_only_where_death_is_known(case),
        "kidney_injury_stage_2_to_4" => match outcomes.aki_stage {
            AkiStage::Stage2 | AkiStage::Stage3 | AkiStage::Stage4 => Verdict::Yes,
            AkiStage::None | AkiStage::Stage1 => Verdict::No,
            AkiStage::NotApplicable => Verdict::NotApplicable,
            AkiStage::NotAssessable => Verdict::Unknown,
        },
        "regurgitation_moderate_or_worse" => case.assessment.moderate_regurgitation.into(),
        "mismatch_moderate" => mismatch(after.measured_ppm, Mismatch::Moderate),
        "mismatch_severe" => mismatch(after.measured_ppm, Mismatch::Severe),
        "residual_gradient" => after
            .performance_mean_gradient_mmhg
            .map(|mean| at_least(mean, 20.0))
            .into(),
        "sizing_disagreement" => match case.assessment.results.sizing.sizing_agreement {
            SizingAgreement::Disagree => Verdict::Yes,
            SizingAgreement::Agree => Verdict::No,
            SizingAgreement::OneLine | SizingAgreement::NotAssessable => Verdict::Unknown,
        },
        part => part_verdict(part, case)?,
    })
}

fn mismatch(measured: Mismatch, asked: Mismatch) -> Verdict {
    match measured {
        Mismatch::NotAssessable => Verdict::Unknown,
        known if known == asked => Verdict::Yes,
        _ => Verdict::No,
    }
}

fn parts_of<'a>(composite: &str, case: &AuditCase<'a>) -> Option<&'a [Part]> {
    let composites = &case.assessment.composites;
    Some(match composite {
        "technical_success" => &composites.technical_success,
        "device_success" => &composites.device_success,
        "early_safety" => &composites.early_safety,
        "clinical_efficacy_1y" => &composites.clinical_efficacy_1y,
        _ => return None,
    })
}

fn part_verdict(measure: &str, case: &AuditCase<'_>) -> Option<Verdict> {
    let (composite, part) = measure.split_once('/')?;
    let part = parts_of(composite, case)?
        .iter()
        .find(|candidate| candidate.name == part)?;
    Some(part.holds.into())
}

/// The counts of a yes-or-no measure.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Mature and yes.
    pub yes: usize,
    /// Mature and no.
    pub no: usize,
    /// Mature and unknown.
    pub missing: usize,
    /// Not mature yet.
    pub pending: usize,
    /// Outside the question; outside every other count.
    pub not_applicable: usize,
}

impl Counts {
    /// Adds one case.
    pub fn add(&mut self, verdict: Verdict, mature: bool) {
        match (verdict, mature) {
            (Verdict::NotApplicable, _) => self.not_applicable += 1,
            (_, false) => self.pending += 1,
            (Verdict::Yes, true) => self.yes += 1,
            (Verdict::No, true) => self.no += 1,
            (Verdict::Unknown, true) => self.missing += 1,
        }
    }

    /// Known cases.
    pub fn known(&self) -> usize {
        self.yes + self.no
    }

    /// Cases to which the measure applies.
    pub fn n(&self) -> usize {
        self.known() + self.missing + self.pending
    }

    /// Share of yes among the known, with Wilson's 95 % interval (%): estimate, low, high.
    pub fn estimate_pct(&self) -> Option<(f64, f64, f64)> {
        let interval = wilson(self.yes, self.known())?.scaled(100.0);
        let estimate = 100.0 * self.yes as f64 / self.known() as f64;
        Some((estimate, interval.low, interval.high))
    }

    /// The share if every missing case had been a no, and if every one had been a yes (%).
    pub fn bounds_pct(&self) -> Option<(f64, f64)> {
        let bounds = missing_bounds(self.yes, self.known(), self.missing)?.scaled(100.0);
        Some((bounds.low, bounds.high))
    }
}
