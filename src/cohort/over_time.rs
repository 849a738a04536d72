//! Deaths against predicted risk, case by case.

use jiff::civil::Date;

use super::audit_case::AuditCase;
use super::options::RiskModel;
use super::period::{Period, three_years};
use super::statistics::{
    ALARM, ALERT, Calibration, NoLimit, ODDS_DOUBLED, ObservedExpected, Predicted, SignalLimit,
    VladPoint, calibration, cusum_path, first_signal, observed_expected, signal_limit, vlad,
};
use crate::record::Text;

/// Most cases on one chart; of more, the latest are shown, and the page says so.
pub const MOST_CASES: usize = 1000;

/// Most cases on the chart of three years; of more, the latest are shown, and the page says so.
pub const MOST_CASES_3Y: usize = 3000;

/// One case on the charts.
#[derive(Clone, Debug, PartialEq)]
pub struct RiskPoint {
    /// Its key.
    pub case_id: Text,
    /// Procedure date.
    pub date: Date,
    /// Predicted risk of death, a fraction of 1.
    pub risk: f64,
    /// Whether the patient died by day 30.
    pub died: bool,
}

/// Cases of the window that are not on the charts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct NotShown {
    /// Not yet 30 days old.
    pub pending: usize,
    /// Of those, deaths already known.
    pub pending_deaths: usize,
    /// Death to day 30 cannot be told.
    pub outcome_unknown: usize,
    /// No predicted risk.
    pub risk_unknown: usize,
    /// Of those, deaths by day 30.
    pub deaths_without_risk: usize,
    /// Earlier than the latest [`MOST_CASES`].
    pub earlier: usize,
}

/// Both limits of the CUSUM.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// False-signal probability of 5 % over the window.
    pub alert: SignalLimit,
    /// False-signal probability of 1 % over the window.
    pub alarm: SignalLimit,
    /// First case above the alert limit.
    pub first_alert: Option<usize>,
    /// First case above the alarm limit.
    pub first_alarm: Option<usize>,
}

/// The charts of one window.
#[derive(Clone, Debug, PartialEq)]
pub struct OverTime {
    /// The window of procedure dates.
    pub window: Period,
    /// Cases of the window.
    pub n: usize,
    /// Cases on the charts, by procedure date and case key.
    pub cases: Vec<RiskPoint>,
    /// Cases that are not on them.
    pub not_shown: NotShown,
    /// Keys of the cases that have an outcome and no predicted risk, and whether the patient died by day 30.
    pub without_risk: Vec<(Text, bool)>,
    /// Expected minus observed deaths with bands, one point a case.
    pub vlad: Vec<VladPoint>,
    /// Risk-adjusted CUSUM for doubled odds, one value a case.
    pub cusum: Vec<f64>,
    /// Its limits.
    pub limits: Result<Limits, NoLimit>,
}

impl OverTime {
    /// The charts of the cases in `window`; cases come in the order of their procedure dates.
    pub fn of(cases: &[AuditCase<'_>], window: Period, model: RiskModel) -> Self {
        let mut not_shown = NotShown::default();
        let mut without_risk = Vec::new();
        let mut points = Vec::new();
        let mut n = 0;
        for case in cases
            .iter()
            .filter(|case| window.holds(case.procedure_date()))
        {
            n += 1;
            let risk = case.risk_pct(model);
            match (case.mature(30), case.died_30d(), risk) {
                (false, died, _) => {
                    not_shown.pending += 1;
                    not_shown.pending_deaths += usize::from(died == Some(true));
                }
                (true, None, _) => not_shown.outcome_unknown += 1,
                (true, Some(died), None) => {
                    not_shown.risk_unknown += 1;
                    not_shown.deaths_without_risk += usize::from(died);
                    without_risk.push((case.case_id().clone(), died));
                }
                (true, Some(died), Some(risk)) => points.push(RiskPoint {
                    case_id: case.case_id().clone(),
                    date: case.procedure_date(),
                    risk: risk / 100.0,
                    died,
                }),
            }
        }
        not_shown.earlier = points.len().saturating_sub(MOST_CASES);
        points.drain(..not_shown.earlier);
        let predicted = predicted(&points);
        let cusum = cusum_path(&predicted, ODDS_DOUBLED);
        let limits = limits(&predicted, &cusum);
        Self {
            window,
            n,
            vlad: vlad(&predicted),
            cases: points,
            not_shown,
            without_risk,
            cusum,
            limits,
        }
    }
}

fn predicted(points: &[RiskPoint]) -> Vec<Predicted> {
    points
        .iter()
        .filter_map(|point| Predicted::new(point.risk, point.died))
        .collect()
}

/// Expected minus observed deaths over the last three years.
#[derive(Clone, Debug, PartialEq)]
pub struct ThreeYears {
    /// First and last procedure date of the window.
    pub window: (Date, Date),
    /// Cases of the window.
    pub n: usize,
    /// Cases on the chart: risk and outcome known, 30 days old or more.
    pub cases: Vec<RiskPoint>,
    /// Such cases before the latest [`MOST_CASES_3Y`].
    pub earlier: usize,
    /// One point a case.
    pub vlad: Vec<VladPoint>,
}

impl ThreeYears {
    /// The three years that end where the twelve months end.
    pub fn of(cases: &[AuditCase<'_>], end: Date, model: RiskModel) -> Self {
        let window = three_years(end);
        let inside = || {
            cases
                .iter()
                .filter(|case| (window.0..=window.1).contains(&case.procedure_date()))
        };
        let mut points: Vec<RiskPoint> = inside()
            .filter_map(|case| {
                let predicted = case.predicted(model)?;
                Some(RiskPoint {
                    case_id: case.case_id().clone(),
                    date: case.procedure_date(),
                    risk: predicted.risk(),
                    died: predicted.died(),
                })
            })
            .collect();
        let earlier = points.len().saturating_sub(MOST_CASES_3Y);
        points.drain(..earlier);
        Self {
            window,
            n: inside().count(),
            vlad: vlad(&predicted(&points)),
            cases: points,
            earlier,
        }
    }
}

fn limits(predicted: &[Predicted], cusum: &[f64]) -> Result<Limits, NoLimit> {
    let risks: Vec<f64> = predicted.iter().map(Predicted::risk).collect();
    let alert = signal_limit(&risks, ALERT)?;
    let alarm = signal_limit(&risks, ALARM)?;
    Ok(Limits {
        alert,
        alarm,
        first_alert: first_signal(cusum, alert.limit),
        first_alarm: first_signal(cusum, alarm.limit),
    })
}

/// Observed against expected deaths of one span.
#[derive(Clone, Debug, PartialEq)]
pub struct Deaths {
    /// The span of procedure dates.
    pub window: Period,
    /// Observed and expected.
    pub deaths: ObservedExpected,
    /// Calibration of the risk.
    pub calibration: Calibration,
}

impl Deaths {
    /// Mature cases of the span with both known.
    pub fn of(cases: &[AuditCase<'_>], window: Period, model: RiskModel) -> Self {
        let predicted: Vec<Predicted> = cases
            .iter()
            .filter(|case| window.holds(case.procedure_date()))
            .filter_map(|case| case.predicted(model))
            .collect();
        Self {
            window,
            deaths: observed_expected(&predicted),
            calibration: calibration(&predicted),
        }
    }
}
