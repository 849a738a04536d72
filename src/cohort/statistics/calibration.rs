//! Whether the predicted risks are right on the whole: calibration intercept and slope.

use super::interval::Interval;
use super::predicted::Predicted;
use super::proportion::normal_limits;

/// Risks are brought within these limits before their logit is taken; how many were is counted.
pub const RISK_LIMITS: Interval = Interval {
    low: 0.0005,
    high: 0.9995,
};

/// The fewest deaths, and the fewest survivors, for which a slope is given.
pub const SLOPE_FROM_EVENTS: usize = 20;

/// Convergence of the Newton steps, on the logit scale.
const CONVERGED: f64 = 1e-12;

/// Calibration of predicted risks, on the logit scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calibration {
    /// Number of cases.
    pub cases: usize,
    /// Number of deaths.
    pub events: usize,
    /// Number of risks outside [`RISK_LIMITS`].
    pub clamped: usize,
    /// Intercept with the logit of the risk as offset: its exponential is the odds ratio of
    /// observed to predicted. None (not estimable) when nobody or everybody died.
    pub intercept: Option<Coefficient>,
    /// Slope on the logit of the risk; none below [`SLOPE_FROM_EVENTS`] deaths or survivors.
    pub slope: Option<Coefficient>,
}

/// An estimated coefficient on the logit scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coefficient {
    /// The estimate.
    pub estimate: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Estimate ± 1.96 standard errors.
    pub interval: Interval,
}

/// Calibration intercept and slope. The order of the cases does not matter, to the last bit.
///
/// # Definition
/// Intercept a: Σ(y − expit(logit p + a)) = 0 by Newton steps from 0; SE = 1/√Σq(1 − q).
/// Slope: logistic regression of the outcome on logit p.
///
/// # References
/// Van Calster et al. 2019, BMC Med 17:230.
#[must_use]
pub fn calibration(cases: &[Predicted]) -> Calibration {
    let points = points(cases);
    let events = points.iter().filter(|p| p.died).count();
    let enough = events >= SLOPE_FROM_EVENTS && cases.len() - events >= SLOPE_FROM_EVENTS;
    Calibration {
        cases: cases.len(),
        events,
        clamped: cases
            .iter()
            .filter(|case| !RISK_LIMITS.contains(case.risk()))
            .count(),
        intercept: intercept(&points, events),
        slope: if enough { slope(&points, events) } else { None },
    }
}

/// The slope whatever the number of deaths: for methods work, not for a page.
///
/// None when nobody or everybody died, when all risks are equal, or when the fit does not
/// converge (the risks separate the dead from the living).
#[must_use]
pub fn slope_of_few_events(cases: &[Predicted]) -> Option<Coefficient> {
    let points = points(cases);
    let events = points.iter().filter(|p| p.died).count();
    slope(&points, events)
}

struct Point {
    logit: f64,
    died: bool,
}

fn points(cases: &[Predicted]) -> Vec<Point> {
    let mut points: Vec<Point> = cases
        .iter()
        .map(|case| {
            let risk = case.risk().clamp(RISK_LIMITS.low, RISK_LIMITS.high);
            Point {
                logit: (risk / (1.0 - risk)).ln(),
                died: case.died(),
            }
        })
        .collect();
    points.sort_by(|a, b| a.logit.total_cmp(&b.logit).then(a.died.cmp(&b.died)));
    points
}

fn expit(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

fn coefficient(estimate: f64, standard_error: f64) -> Option<Coefficient> {
    (estimate.is_finite() && standard_error.is_finite()).then(|| Coefficient {
        estimate,
        standard_error,
        interval: normal_limits(estimate, standard_error),
    })
}

fn intercept(points: &[Point], events: usize) -> Option<Coefficient> {
    if events == 0 || events == points.len() {
        return None;
    }
    // The score falls steadily in a, so the root stays bracketed and a Newton step that would
    // leave the bracket is replaced by its middle.
    let (mut low, mut high) = (-60.0_f64, 60.0_f64);
    let mut a = 0.0;
    for _ in 0..200 {
        let (mut score, mut information) = (events as f64, 0.0);
        for point in points {
            let q = expit(point.logit + a);
            score -= q;
            information += q * (1.0 - q);
        }
        if score > 0.0 {
            low = a;
        } else {
            high = a;
        }
        let newton = a + score / information;
        let next = if newton > low && newton < high {
            newton
        } else {
            f64::midpoint(low, high)
        };
        let done = (next - a).abs() < CONVERGED;
        a = next;
        if done {
            break;
        }
    }
    let information: f64 = points
        .iter()
        .map(|point| {
            let q = expit(point.logit + a);
            q * (1.0 - q)
        })
        .sum();
    coefficient(a, 1.0 / information.sqrt())
}

fn slope(points: &[Point], events: usize) -> Option<Coefficient> {
    if events == 0 || events == points.len() {
        return None;
    }
    let (mut a, mut b) = (0.0, 1.0);
    for _ in 0..50 {
        let (mut score_a, mut score_b) = (0.0, 0.0);
        let (mut i_aa, mut i_ab, mut i_bb) = (0.0, 0.0, 0.0);
        for point in points {
            let q = expit(a + b * point.logit);
            let residual = f64::from(u8::from(point.died)) - q;
            let weight = q * (1.0 - q);
            score_a += residual;
            score_b += residual * point.logit;
            i_aa += weight;
            i_ab += weight * point.logit;
            i_bb += weight * point.logit * point.logit;
        }
        let determinant = i_aa * i_bb - i_ab * i_ab;
        if determinant <= 1e-12 * i_aa * i_bb {
            return None;
        }
        let step_a = (i_bb * score_a - i_ab * score_b) / determinant;
        let step_b = (i_aa * score_b - i_ab * score_a) / determinant;
        if !(step_a.is_finite() && step_b.is_finite()) {
            return None;
        }
        a += step_a;
        b += step_b;
        if step_a.abs() < CONVERGED && step_b.abs() < CONVERGED {
            return coefficient(b, (i_aa / determinant).sqrt());
        }
    }
    None
}
