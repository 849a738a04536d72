//! Gradients before and after, and regurgitation.

use super::audit_case::AuditCase;
use super::quantity::gradient_change_mmhg;
use super::statistics::{HodgesLehmann, MeanChange, Summary, hodges_lehmann, mean_change, summary};
use crate::assess::PerformanceEcho;
use crate::assess::bands::at_least;
use crate::record::{Grade, Text};

/// Mean gradients of one case before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct GradientPair {
    /// Its key.
    pub case_id: Text,
    /// Before the procedure (mmHg).
    pub before_mmhg: f64,
    /// Of the performance echo (mmHg).
    pub after_mmhg: f64,
}

/// Grades of one kind of regurgitation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GradeCounts {
    /// Where and when.
    pub title: &'static str,
    /// None, trace, mild, moderate, severe.
    pub counts: [usize; 5],
    /// Not known.
    pub unknown: usize,
}

/// The haemodynamics of a selection of cases.
#[derive(Clone, Debug, PartialEq)]
pub struct Haemodynamics {
    /// Cases.
    pub n: usize,
    /// Cases with both gradients, in the order of the procedures.
    pub pairs: Vec<GradientPair>,
    /// Lacking the gradient before, and not the one after.
    pub without_before: usize,
    /// Lacking the gradient after, and not the one before.
    pub without_after: usize,
    /// Lacking both.
    pub without_both: usize,
    /// The performance echo is that of the 30-day window.
    pub at_30_days: usize,
    /// The performance echo is the one before discharge.
    pub at_discharge: usize,
    /// Mean gradients before, of all cases that have one.
    pub before: Option<Summary>,
    /// Mean gradients after, of all cases that have one.
    pub after: Option<Summary>,
    /// Mean of the paired differences.
    pub mean_change: Option<MeanChange>,
    /// Their Hodges-Lehmann estimate.
    pub typical_change: Option<HodgesLehmann>,
    /// Regurgitation before and after.
    pub regurgitation: Vec<GradeCounts>,
    /// Cases whose performance mean gradient is 20 mmHg or more, with it.
    pub residual: Vec<(Text, f64)>,
}

impl Haemodynamics {
    /// Of these cases.
    pub fn of(cases: &[AuditCase<'_>], selection: &[usize]) -> Self {
        let selected = || selection.iter().map(|&case| &cases[case]);
        let before = |case: &AuditCase<'_>| case.cells().baseline_mean_gradient_mmhg;
        let after =
            |case: &AuditCase<'_>| case.assessment.results.after.performance_mean_gradient_mmhg;
        let changes: Vec<f64> = selected().filter_map(gradient_change_mmhg).collect();
        let lacking = |has_before, has_after| {
            selected()
                .filter(|case| {
                    before(case).is_some() == has_before && after(case).is_some() == has_after
                })
                .count()
        };
        let judged_at = |which| {
            selected()
                .filter(|case| case.assessment.performance.which == which)
                .count()
        };
        let all = |value: &dyn Fn(&AuditCase<'_>) -> Option<f64>| {
            summary(&selected().filter_map(value).collect::<Vec<_>>())
        };
        Self {
            n: selection.len(),
            pairs: selected()
                .filter_map(|case| {
                    Some(GradientPair {
                        case_id: case.case_id().clone(),
                        before_mmhg: before(case)?,
                        after_mmhg: after(case)?,
                    })
                })
                .collect(),
            without_before: lacking(false, true),
            without_after: lacking(true, false),
            without_both: lacking(false, false),
            at_30_days: judged_at(PerformanceEcho::Day30),
            at_discharge: judged_at(PerformanceEcho::Discharge),
            before: all(&before),
            after: all(&after),
            mean_change: mean_change(&changes),
            typical_change: hodges_lehmann(&changes),
            regurgitation: regurgitation(&selected().collect::<Vec<_>>()),
            residual: selected()
                .filter_map(|case| {
                    let mean = after(case)?;
                    at_least(mean, 20.0).then(|| (case.case_id().clone(), mean))
                })
                .collect(),
        }
    }
}

fn regurgitation(cases: &[&AuditCase<'_>]) -> Vec<GradeCounts> {
    let counted = |title, grade: &dyn Fn(&AuditCase<'_>) -> Option<Grade>| {
        let mut counts = GradeCounts {
            title,
            counts: [0; 5],
            unknown: 0,
        };
        for case in cases {
            match grade(case) {
                Some(grade) => counts.counts[grade as usize] += 1,
                None => counts.unknown += 1,
            }
        }
        counts
    };
    vec![
        counted("Aortic regurgitation before", &|case| {
            case.cells().baseline_ar_grade
        }),
        counted("Paravalvular, before discharge", &|case| {
            case.cells().post_paravalvular_grade
        }),
        counted("Paravalvular, judging echo", &|case| {
            case.assessment.performance.echo.paravalvular_grade
        }),
        counted("Transvalvular, before discharge", &|case| {
            case.cells().post_transvalvular_grade
        }),
        counted("Transvalvular, judging echo", &|case| {
            case.assessment.performance.echo.transvalvular_grade
        }),
    ]
}
