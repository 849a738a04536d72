//! Operators and sites against the centre's own rate. No ranks: a difference is a reason to look at cases.

use super::audit_case::AuditCase;
use super::group::{Dimension, Grouping, NOT_RECORDED};
use super::headline::counts;
use super::options::RiskModel;
use super::proportion::Counts;
use super::statistics::{CountDistribution, Predicted, Standing, funnel_applies, standing};

/// Outcomes held side by side, with their words.
pub const COMPARED: [(&str, &str); 3] = [
    ("early_safety", "Early safety"),
    ("device_success", "Device success"),
    ("new_pacemaker", "New pacemaker"),
];

/// One operator or site.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupReview {
    /// Letter, code or name.
    pub name: String,
    /// Cases of the period.
    pub in_period: usize,
    /// Cases of the twelve months.
    pub n: usize,
    /// Counts of each of [`COMPARED`].
    pub counts: [Counts; COMPARED.len()],
    /// Their standing against the pooled rate; `None` without known cases.
    pub standings: [Option<Standing>; COMPARED.len()],
    /// Deaths to day 30 among cases with known risk and outcome.
    pub observed: usize,
    /// Deaths expected among them.
    pub expected: f64,
    /// Cases among them.
    pub with_risk: usize,
    /// Standing of the deaths by the group's own risks.
    pub deaths: Option<Standing>,
}

/// All groups of a dimension.
#[derive(Clone, Debug, PartialEq)]
pub struct GroupsReview {
    /// Which dimension.
    pub dimension: Dimension,
    /// Groups with a case, in the order of their names.
    pub groups: Vec<GroupReview>,
    /// Pooled counts of each of [`COMPARED`].
    pub pooled: [Counts; COMPARED.len()],
    /// Whether a funnel is drawn.
    pub funnel: bool,
}

impl GroupsReview {
    /// Of the cases of the twelve months, with the number in the period beside.
    pub fn of(
        cases: &[AuditCase<'_>],
        grouping: &Grouping,
        twelve_months: &[usize],
        period: &[usize],
        model: RiskModel,
    ) -> Self {
        let pooled = COMPARED.map(|(measure, _)| counts(measure, cases, twelve_months));
        let groups: Vec<GroupReview> = grouping
            .names
            .iter()
            .enumerate()
            .filter_map(|(group, name)| {
                let of = |selection: &[usize]| -> Vec<usize> {
                    selection
                        .iter()
                        .copied()
                        .filter(|&case| grouping.of_case[case] == group)
                        .collect()
                };
                let (inside, in_period) = (of(twelve_months), of(period).len());
                (inside.len() + in_period > 0)
                    .then(|| review(name, cases, &inside, in_period, &pooled, model))
            })
            .collect();
        let sizes: Vec<usize> = groups
            .iter()
            .filter(|group| group.name != NOT_RECORDED)
            .map(|group| group.n)
            .collect();
        Self {
            dimension: grouping.dimension,
            // A route is chosen for the patient: the pooled rate of all routes is no benchmark for one of them.
            funnel: grouping.dimension != Dimension::AccessRoute && funnel_applies(&sizes),
            groups,
            pooled,
        }
    }

    /// Whether any group is far outside (99.8 %) for any outcome.
    pub fn flagged(&self) -> Vec<(&str, &'static str)> {
        let far = |standing: Option<Standing>| {
            matches!(standing, Some(Standing::FarAbove | Standing::FarBelow))
        };
        self.groups
            .iter()
            .flat_map(|group| {
                let outcomes = COMPARED
                    .iter()
                    .zip(group.standings)
                    .filter(move |(_, standing)| far(*standing))
                    .map(|((_, title), _)| *title);
                let deaths = far(group.deaths).then_some("Deaths to day 30");
                outcomes
                    .chain(deaths)
                    .map(|title| (group.name.as_str(), title))
            })
            .collect()
    }
}

fn review(
    name: &str,
    cases: &[AuditCase<'_>],
    inside: &[usize],
    in_period: usize,
    pooled: &[Counts; COMPARED.len()],
    model: RiskModel,
) -> GroupReview {
    let counts = COMPARED.map(|(measure, _)| counts(measure, cases, inside));
    let standings =
        std::array::from_fn(|measure| against_pooled(&counts[measure], &pooled[measure]));
    let predicted: Vec<Predicted> = inside
        .iter()
        .filter_map(|&case| cases[case].predicted(model))
        .collect();
    let risks: Vec<f64> = predicted.iter().map(Predicted::risk).collect();
    let observed = predicted.iter().filter(|case| case.died()).count();
    let deaths = (!risks.is_empty())
        .then(|| CountDistribution::unequal(&risks))
        .flatten()
        .map(|expected| standing(&expected, observed));
    GroupReview {
        name: name.to_owned(),
        in_period,
        n: inside.len(),
        counts,
        standings,
        observed,
        expected: super::statistics::observed_expected(&predicted).expected,
        with_risk: predicted.len(),
        deaths,
    }
}

fn against_pooled(group: &Counts, pooled: &Counts) -> Option<Standing> {
    if group.known() == 0 || pooled.known() == 0 {
        return None;
    }
    let rate = pooled.yes as f64 / pooled.known() as f64;
    let expected = CountDistribution::binomial(group.known(), rate)?;
    Some(standing(&expected, group.yes))
}
