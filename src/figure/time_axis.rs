//! The time axis after the procedure: true distances, marks that a clinic uses.

use std::ops::Range;

/// From a little before the first day to a little after the last; five weeks at least.
pub(super) fn days(days: impl Iterator<Item = i64> + Clone) -> Range<f64> {
    let last = days.clone().max().map_or(35.0, |day| day as f64).max(35.0);
    let first = days.min().map_or(0.0, |day| day as f64).min(0.0);
    first - last * 0.03..last * 1.05
}

/// Marks of the time axis with their words.
pub(super) fn time_marks(last_day: f64) -> Vec<(f64, String)> {
    const MONTH: f64 = 365.25 / 12.0;
    const YEAR: f64 = 365.25;
    let days = |step: i32| -> Vec<(f64, String)> {
        (0..)
            .map(|count| count * step)
            .take_while(|&day| f64::from(day) <= last_day)
            .map(|day| (f64::from(day), format!("{day}\u{a0}d")))
            .collect()
    };
    let months = |step: i32| -> Vec<(f64, String)> {
        (0..)
            .map(|count| count * step)
            .take_while(|&month| f64::from(month) * MONTH <= last_day)
            .map(|month| {
                let words = match (month, month % 12) {
                    (0, _) => "0".to_owned(),
                    (_, 0) => format!("{}\u{a0}y", month / 12),
                    _ => format!("{month}\u{a0}mo"),
                };
                (f64::from(month) * MONTH, words)
            })
            .collect()
    };
    match last_day {
        last if last <= 45.0 => days(10),
        last if last <= 130.0 => days(30),
        last if last <= 420.0 => months(3),
        last if last <= 1250.0 => months(6),
        last => {
            let step = ((last / YEAR) / 7.0).ceil().max(1.0) as i32;
            months(12 * step)
        }
    }
}

/// The words of a mark; none where the axis has no mark.
pub(super) fn words_of(marks: &[(f64, String)], day: f64) -> String {
    marks
        .iter()
        .find(|(mark, _)| (mark - day).abs() < 1e-6)
        .map_or(String::new(), |(_, words)| words.clone())
}
