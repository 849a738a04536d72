//! Reading the reference values.

use serde_json::Value;
use std::sync::LazyLock;
use valvefolio::cohort::statistics::{Interval, Predicted};

/// Tolerance against reference libraries.
pub const LIBRARY: f64 = 1e-9;
/// Tolerance against tables printed with four decimals.
pub const FOUR_DECIMALS: f64 = 5e-5;

/// R, SciPy, statsmodels and lifelines values (`tests/reference/values.json`).
pub static VALUES: LazyLock<Value> = LazyLock::new(|| {
    serde_json::from_str(include_str!("../reference/values.json")).expect("values.json parses")
});

/// SciPy, statsmodels and lifelines values for large samples and ties (`tests/reference/more.json`).
pub static MORE: LazyLock<Value> = LazyLock::new(|| {
    serde_json::from_str(include_str!("../reference/more.json")).expect("more.json parses")
});

/// A list, or a lone value as a list of one (one-point curves are written so).
pub fn list(value: &Value) -> Vec<Value> {
    assert!(!value.is_null(), "a reference value is missing");
    match value {
        Value::Array(items) => items.clone(),
        lone => vec![lone.clone()],
    }
}

pub fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("not a number: {value}"))
}

pub fn numbers(value: &Value) -> Vec<f64> {
    list(value).iter().map(number).collect()
}

/// Numbers where null means undefined.
pub fn defined(value: &Value) -> Vec<Option<f64>> {
    list(value).iter().map(Value::as_f64).collect()
}

pub fn count(value: &Value) -> usize {
    usize::try_from(
        value
            .as_u64()
            .unwrap_or_else(|| panic!("not a count: {value}")),
    )
    .expect("count fits")
}

pub fn counts(value: &Value) -> Vec<usize> {
    list(value).iter().map(count).collect()
}

pub fn days(value: &Value) -> Vec<u32> {
    counts(value)
        .into_iter()
        .map(|day| u32::try_from(day).expect("day fits"))
        .collect()
}

pub fn predicted(risks: &[f64], died: &[usize]) -> Vec<Predicted> {
    assert_eq!(risks.len(), died.len());
    risks
        .iter()
        .zip(died)
        .map(|(&risk, &died)| Predicted::new(risk, died == 1).expect("a risk within 0 to 1"))
        .collect()
}

/// The synthetic series of 160 cases.
pub fn series() -> Vec<Predicted> {
    let series = &VALUES["ra_series"];
    predicted(&numbers(&series["p"]), &counts(&series["y"]))
}

/// Fails unless the two agree within `tolerance`, relative above 1.
#[track_caller]
pub fn close(ours: f64, theirs: f64, tolerance: f64, what: &str) {
    assert!(
        (ours - theirs).abs() <= tolerance * theirs.abs().max(1.0),
        "{what}: {ours} here, {theirs} in the reference"
    );
}

#[track_caller]
pub fn close_limits(ours: Interval, theirs: &Value, tolerance: f64, what: &str) {
    let theirs = numbers(theirs);
    assert_eq!(theirs.len(), 2, "{what}");
    close(ours.low, theirs[0], tolerance, what);
    close(ours.high, theirs[1], tolerance, what);
}
