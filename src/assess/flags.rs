//! Flags: what a reader should look at, each raised by a stated rule.

use super::across::AcrossCases;
use super::bands::{above, at_least, below};
use super::before::atrial_fibrillation;
use super::known::{Known, Visit};
use super::result::*;
use super::sizing::{areas_differ, implanted};
use super::{Assessed, Facts};
use crate::record::{
    Antithrombotic, BleedingType, Calcification, Choice, Extent, Grade, Mechanism, Rhythm, Stroke,
    choices,
};

choices! {
    /// Code of a flag, in the order they are listed in results.csv.
    Flag {
        SizingDisagreement = "sizing_disagreement",
        SizeOutOfRange = "size_out_of_range",
        RootInjuryRisk = "root_injury_risk",
        LowCoronary = "low_coronary",
        TightAccess = "tight_access",
        WideAorta = "wide_aorta",
        ConductionRisk = "conduction_risk",
        DiscordantStenosis = "discordant_stenosis",
        AreaMismatch = "area_mismatch",
        ResidualGradient = "residual_gradient",
        MajorEvent = "major_event",
        Death = "death",
        DeathUndated = "death_undated",
        VisitEvent = "visit_event",
        LateRegurgitation = "late_regurgitation",
        LateGradient = "late_gradient",
        LvefFall = "lvef_fall",
        NoSizingReason = "no_sizing_reason",
        TreatmentReviewPassed = "treatment_review_passed",
        RhythmWithoutAnticoagulant = "rhythm_without_anticoagulant",
        IncidentalOpen = "incidental_open",
        IdentityConflict = "identity_conflict",
        PossiblePastedRow = "possible_pasted_row",
        Regurgitation = "regurgitation",
        LowRegurgitationIndex = "low_regurgitation_index",
        Mismatch = "mismatch",
        KidneyInjury = "kidney_injury",
        NewConductionDisorder = "new_conduction_disorder",
        Deterioration = "deterioration",
        NoReferenceEcho = "no_reference_echo",
        VisitOverdue = "visit_overdue",
        LostToFollowUp = "lost_to_follow_up",
        Contradiction = "contradiction",
        UnusualValue = "unusual_value",
        RejectedValue = "rejected_value",
    }
}

/// The flags raised, in their order.
pub fn flags(facts: &Facts<'_>, assessed: &Assessed, across: &AcrossCases) -> Vec<Flag> {
    Flag::ALL
        .iter()
        .copied()
        .filter(|&flag| raised(flag, facts, assessed, across))
        .collect()
}

fn raised(flag: Flag, facts: &Facts<'_>, assessed: &Assessed, across: &AcrossCases) -> bool {
    let known = facts.known;
    let cells = &known.cells;
    let limits = facts.attention;
    let (before, sizing, after) = (&assessed.before, &assessed.sizing, &assessed.after);
    let alive = !known.signs_of_death;
    let range = sizing.device_in_range;
    match flag {
        Flag::SizingDisagreement => sizing.sizing_agreement == SizingAgreement::Disagree,
        Flag::SizeOutOfRange => matches!(range, RangePosition::Below | RangePosition::Above),
        Flag::RootInjuryRisk => {
            implanted(cells, facts.catalogue)
                .is_some_and(|device| device.mechanism == Mechanism::BalloonExpandable)
                && cells
                    .lvot_calcification
                    .is_some_and(|calcium| calcium >= Calcification::Moderate)
                && sizing
                    .area_oversizing_pct
                    .is_some_and(|pct| at_least(pct, limits.root_injury_oversizing_pct))
        }
        Flag::LowCoronary => {
            cells
                .left_coronary_height_mm
                .is_some_and(|height| below(height, limits.low_coronary_height_mm))
                && cells
                    .sinus_of_valsalva_mm
                    .is_some_and(|sinus| below(sinus, limits.low_coronary_sinus_mm))
        }
        Flag::TightAccess => sizing
            .sheath_femoral_ratio
            .is_some_and(|ratio| at_least(ratio, limits.tight_access_ratio)),
        Flag::WideAorta => cells
            .ascending_aorta_mm
            .is_some_and(|aorta| at_least(aorta, limits.wide_aorta_mm)),
        Flag::ConductionRisk => {
            cells.prior_pacemaker == Some(false)
                && (cells.right_bundle_branch_block == Some(true)
                    || cells
                        .implant_depth_mm
                        .zip(cells.membranous_septum_mm)
                        .is_some_and(|(depth, septum)| above(depth, septum)))
        }
        Flag::DiscordantStenosis => matches!(
            before.stenosis_class,
            StenosisClass::ClassicalLowFlowLowGradient
                | StenosisClass::ParadoxicalLowFlowLowGradient
                | StenosisClass::NormalFlowLowGradient
        ),
        Flag::AreaMismatch => areas_differ(
            before.baseline_ava_computed_cm2,
            cells.baseline_ava_cm2,
            limits.area_mismatch_pct,
        ),
        Flag::ResidualGradient => after
            .performance_mean_gradient_mmhg
            .is_some_and(|mean| at_least(mean, 20.0)),
        Flag::MajorEvent => major_event(known),
        Flag::Death => known.death_date.is_some(),
        Flag::DeathUndated => known.signs_of_death && known.death_date.is_none(),
        Flag::VisitEvent => known.visits.iter().any(visit_event),
        Flag::LateRegurgitation => late_regurgitation(facts),
        Flag::LateGradient => {
            facts.course.reference.is_none()
                && latest(known, |visit| visit.cells.mean_gradient_mmhg)
                    .is_some_and(|(_, mean)| at_least(mean, 20.0))
        }
        Flag::LvefFall => lvef_fall(known),
        Flag::NoSizingReason => {
            cells.sizing_reason.is_none()
                && (raised(Flag::SizingDisagreement, facts, assessed, across)
                    || raised(Flag::SizeOutOfRange, facts, assessed, across))
        }
        Flag::TreatmentReviewPassed => {
            alive
                && cells.antithrombotic_until.is_some_and(|until| {
                    until < known.as_of
                        && !known.visits.iter().any(|visit| {
                            visit.date >= until && visit.cells.antithrombotic.is_some()
                        })
                })
        }
        Flag::RhythmWithoutAnticoagulant => {
            alive
                && (atrial_fibrillation(known) == Some(true)
                    || cells.discharge_rhythm == Some(Rhythm::AtrialFibrillation))
                && latest_antithrombotic(known).is_some_and(|treatment| {
                    !matches!(
                        treatment,
                        Antithrombotic::Anticoagulant
                            | Antithrombotic::AnticoagulantPlusAntiplatelet
                    )
                })
        }
        Flag::IncidentalOpen => {
            cells.incidental_finding.is_some() && cells.incidental_closed != Some(true)
        }
        Flag::IdentityConflict => across.identity_conflict(),
        Flag::PossiblePastedRow => across.alike.is_some(),
        Flag::Regurgitation => facts.moderate_regurgitation == Some(true),
        Flag::LowRegurgitationIndex => after
            .aortic_regurgitation_index
            .is_some_and(|index| below(index, limits.low_regurgitation_index)),
        Flag::Mismatch => matches!(after.measured_ppm, Mismatch::Moderate | Mismatch::Severe),
        Flag::KidneyInjury => matches!(
            assessed.outcomes.aki_stage,
            AkiStage::Stage2 | AkiStage::Stage3 | AkiStage::Stage4
        ),
        Flag::NewConductionDisorder => {
            cells.new_left_bundle_branch_block == Some(true)
                || assessed.outcomes.new_pacemaker == NewPacemaker::Yes
        }
        Flag::Deterioration => matches!(
            assessed.durability.deterioration_stage,
            DeteriorationStage::Stage2 | DeteriorationStage::Stage3
        ),
        Flag::NoReferenceEcho => {
            alive
                && known.as_of_day() > super::after::PERFORMANCE_CLOSES
                && facts.course.reference.is_none()
        }
        Flag::VisitOverdue => assessed.follow_up.follow_up_state == FollowUpState::Overdue,
        Flag::LostToFollowUp => assessed.follow_up.follow_up_state == FollowUpState::Lost,
        Flag::Contradiction => !facts.failed_checks.is_empty(),
        Flag::UnusualValue => facts.noted(|notes| &notes.unusual),
        Flag::RejectedValue => facts.noted(|notes| &notes.rejected),
    }
}

/// A major event to 30 days.
fn major_event(known: &Known) -> bool {
    let cells = &known.cells;
    let yes = |cell: Option<bool>| cell == Some(true);
    cells
        .stroke_30d
        .is_some_and(|stroke| !matches!(stroke, Stroke::None | Stroke::Tia))
        || cells
            .bleeding_type
            .is_some_and(|bleeding| bleeding >= BleedingType::Type3)
        || cells.vascular_complication == Some(Extent::Major)
        || cells.structural_complication == Some(Extent::Major)
        || yes(cells.conversion_to_surgery)
        || yes(cells.valve_embolisation)
        || yes(cells.annular_rupture)
        || yes(cells.coronary_obstruction)
        || yes(cells.second_valve)
        || yes(cells.no_valve_implanted)
}

/// An event reported at a visit.
pub fn visit_event(visit: &Visit) -> bool {
    let cells = &visit.cells;
    [
        cells.stroke,
        cells.hospitalised_for_valve_or_procedure,
        cells.valve_reintervention,
        cells.endocarditis,
        cells.leaflet_thrombosis,
    ]
    .contains(&Some(true))
}

/// The latest counted visit that has a value, with it.
pub fn latest<T>(known: &Known, value: impl Fn(&Visit) -> Option<T>) -> Option<(&Visit, T)> {
    known
        .visits
        .iter()
        .rev()
        .find_map(|visit| value(visit).map(|value| (visit, value)))
}

fn late_regurgitation(facts: &Facts<'_>) -> bool {
    latest(facts.known, |visit| visit.cells.paravalvular_grade).is_some_and(|(visit, grade)| {
        let after_performance = facts
            .performance
            .visit
            .is_none_or(|position| visit.date > facts.known.visits[position].date);
        grade >= Grade::Moderate && after_performance
    })
}

fn lvef_fall(known: &Known) -> bool {
    let Some((_, now)) = latest(known, |visit| visit.cells.lvef_pct) else {
        return false;
    };
    let earlier = known.cells.post_lvef_pct.or(known.cells.baseline_lvef_pct);
    below(now, 50.0) && earlier.is_some_and(|earlier| at_least(earlier - now, 10.0))
}

/// The latest known antithrombotic treatment: of a visit, else the plan at discharge, also after its end.
pub fn latest_antithrombotic(known: &Known) -> Option<Antithrombotic> {
    latest(known, |visit| visit.cells.antithrombotic)
        .map(|(_, treatment)| treatment)
        .or(known.cells.antithrombotic_plan)
}

impl Flag {
    /// The code of results.csv.
    pub fn code(self) -> &'static str {
        self.word()
    }
}
