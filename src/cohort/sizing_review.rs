//! Sizing and what came of it: counts, no advice.

use super::audit_case::AuditCase;
use super::proportion::{Counts, Verdict, verdict};
use crate::assess::bands::at_least;
use crate::assess::{Flag, sealed_balloon_mm};
use crate::record::{Catalogue, Extent, Grade, Mechanism, Text};

/// From this difference on, annulus and sealed balloon are said to differ (mm; project's own choice).
pub const DIFFER_FROM_MM: f64 = 2.0;

/// One case on the charts of over-sizing.
#[derive(Clone, Debug, PartialEq)]
pub struct SizingPoint {
    /// Its key.
    pub case_id: Text,
    /// How the valve expands.
    pub mechanism: Option<Mechanism>,
    /// Over-sizing against the annulus area (%).
    pub oversizing_pct: f64,
    /// Mean gradient of the performance echo (mmHg).
    pub gradient_mmhg: Option<f64>,
    /// Paravalvular regurgitation of the performance echo.
    pub paravalvular: Option<Grade>,
}

/// Which line of evidence the implanted size follows, by the labelled ranges.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Followed {
    /// The device's range holds the annulus, and not the balloon.
    Annulus,
    /// It holds the balloon, and not the annulus.
    Balloon,
    /// It holds both.
    Both,
    /// It holds neither.
    Neither,
    /// The device or a range is not known.
    NotKnown,
}

impl Followed {
    /// Every standing, in the order of the page.
    pub const ALL: [Self; 5] = [
        Self::Annulus,
        Self::Balloon,
        Self::Both,
        Self::Neither,
        Self::NotKnown,
    ];

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Annulus => "labelled range holds the annulus only",
            Self::Balloon => "labelled range holds the balloon only",
            Self::Both => "labelled range holds both",
            Self::Neither => "labelled range holds neither",
            Self::NotKnown => "device or range not known",
        }
    }
}

/// What came of a group of cases.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CameOf {
    /// Cases.
    pub n: usize,
    /// Regurgitation moderate or more after.
    pub regurgitation: Counts,
    /// Mean gradient 20 mmHg or more at the judging echo.
    pub gradient: Counts,
    /// Annular rupture, aortic dissection or a major structural complication.
    pub root_injury: Counts,
    /// New pacemaker.
    pub pacemaker: Counts,
}

impl CameOf {
    fn add(&mut self, case: &AuditCase<'_>) {
        let judged = |measure| verdict(measure, case).unwrap_or(Verdict::Unknown);
        self.n += 1;
        self.regurgitation
            .add(judged("regurgitation_moderate_or_worse"), true);
        self.gradient.add(judged("residual_gradient"), true);
        self.root_injury.add(root_injury(case).into(), true);
        self.pacemaker.add(judged("new_pacemaker"), true);
    }
}

/// A planning risk and what happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanningRisk {
    /// The risk, with its rule.
    pub risk: &'static str,
    /// What it is a risk of.
    pub event: &'static str,
    /// Among the cases where it was raised.
    pub raised: Counts,
    /// Among all others.
    pub others: Counts,
}

/// Sizing of a selection of cases.
#[derive(Clone, Debug, PartialEq)]
pub struct SizingReview {
    /// Cases.
    pub n: usize,
    /// Cases with an over-sizing.
    pub points: Vec<SizingPoint>,
    /// Cases with an annulus and a balloon that sealed.
    pub both_lines: usize,
    /// Those that differ, by what the device followed.
    pub differing: [CameOf; Followed::ALL.len()],
    /// Their keys.
    pub differing_cases: Vec<(Text, Followed)>,
    /// Those that do not.
    pub alike: CameOf,
    /// Planning risks.
    pub risks: Vec<PlanningRisk>,
}

impl SizingReview {
    /// Of these cases.
    pub fn of(cases: &[AuditCase<'_>], selection: &[usize], catalogue: &Catalogue) -> Self {
        let mut review = Self {
            n: selection.len(),
            points: Vec::new(),
            both_lines: 0,
            differing: [CameOf::default(); Followed::ALL.len()],
            differing_cases: Vec::new(),
            alike: CameOf::default(),
            risks: Vec::new(),
        };
        for &position in selection {
            let case = &cases[position];
            let sizing = &case.assessment.results.sizing;
            if let Some(oversizing_pct) = sizing.area_oversizing_pct {
                review.points.push(SizingPoint {
                    case_id: case.case_id().clone(),
                    mechanism: case.mechanism,
                    oversizing_pct,
                    gradient_mmhg: case.assessment.results.after.performance_mean_gradient_mmhg,
                    paravalvular: case.assessment.performance.echo.paravalvular_grade,
                });
            }
            let annulus = sizing
                .annulus_area_diameter_mm
                .or(sizing.annulus_perimeter_diameter_mm);
            let Some((annulus, balloon)) = annulus.zip(sealed_balloon_mm(case.cells())) else {
                continue;
            };
            review.both_lines += 1;
            if at_least((annulus - balloon).abs(), DIFFER_FROM_MM) {
                let followed = followed(case, catalogue);
                review.differing[followed as usize].add(case);
                review
                    .differing_cases
                    .push((case.case_id().clone(), followed));
            } else {
                review.alike.add(case);
            }
        }
        review.risks = planning_risks(cases, selection);
        review
    }
}

fn root_injury(case: &AuditCase<'_>) -> Option<bool> {
    let cells = case.cells();
    crate::assess::bands::any_of([
        cells.annular_rupture,
        cells.aortic_dissection,
        cells
            .structural_complication
            .map(|extent| extent == Extent::Major),
    ])
}

fn followed(case: &AuditCase<'_>, catalogue: &Catalogue) -> Followed {
    let sizing = &case.assessment.results.sizing;
    let device = case.cells().device_id.as_ref().and_then(|id| {
        catalogue
            .devices()
            .iter()
            .position(|device| device.device_id == *id)
    });
    let (Some(device), Some(annulus), Some(balloon)) =
        (device, &sizing.annulus_sizes, &sizing.balloon_sizes)
    else {
        return Followed::NotKnown;
    };
    if catalogue.devices()[device].range().is_none() {
        return Followed::NotKnown;
    }
    match (
        annulus.rows.contains(&device),
        balloon.rows.contains(&device),
    ) {
        (true, true) => Followed::Both,
        (true, false) => Followed::Annulus,
        (false, true) => Followed::Balloon,
        (false, false) => Followed::Neither,
    }
}

fn planning_risks(cases: &[AuditCase<'_>], selection: &[usize]) -> Vec<PlanningRisk> {
    type Event = fn(&AuditCase<'_>) -> Verdict;
    let rules: [(Flag, &str, &str, Event); 5] = [
        (
            Flag::RootInjuryRisk,
            "Balloon-expandable, calcified outflow tract, 20 % over-sizing or more",
            "rupture, dissection, major structural",
            |case| root_injury(case).into(),
        ),
        (
            Flag::LowCoronary,
            "Left ostium below 12 mm and sinus below 30 mm",
            "coronary obstruction",
            |case| case.cells().coronary_obstruction.into(),
        ),
        (
            Flag::TightAccess,
            "Sheath to lumen 1.05 or more",
            "major vascular complication",
            |case| verdict("major_vascular_complication", case).unwrap_or(Verdict::Unknown),
        ),
        (
            Flag::ConductionRisk,
            "Right bundle branch block, or deeper than the membranous septum",
            "new pacemaker",
            |case| verdict("new_pacemaker", case).unwrap_or(Verdict::Unknown),
        ),
        (
            Flag::WideAorta,
            "Ascending aorta 45 mm or more",
            "aortic dissection",
            |case| case.cells().aortic_dissection.into(),
        ),
    ];
    rules
        .into_iter()
        .map(|(flag, risk, event, happened)| {
            let (mut raised, mut others) = (Counts::default(), Counts::default());
            for &case in selection {
                let case = &cases[case];
                let counts = if case.assessment.has(flag) {
                    &mut raised
                } else {
                    &mut others
                };
                counts.add(happened(case), true);
            }
            PlanningRisk {
                risk,
                event,
                raised,
                others,
            }
        })
        .collect()
}
