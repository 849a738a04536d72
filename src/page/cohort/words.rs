//! Numbers of the summary as people read them.

use crate::cohort::statistics::{percent_text, percent_text_below};
use crate::cohort::{Cohort, MeasureRow};
use crate::page::number::{THIN_SPACE, digits};

/// What stands where a number does not exist.
pub const NONE: &str = "–";
/// What stands where a number is masked.
pub const MASKED: &str = "masked";

/// `n case` or `n cases`.
pub fn counted(n: usize, thing: &str) -> String {
    match n {
        1 => format!("1 {thing}"),
        _ => format!("{n} {thing}s"),
    }
}

/// A percentage that is not made from a count, with one decimal from 100 cases on and none below.
pub fn percent_of_estimate(value: f64, n: usize) -> String {
    let decimals = usize::from(n >= 100);
    digits(value + 1e-9, decimals)
}

/// `24 of 27 (89 %)`.
pub fn share(count: usize, of: usize) -> String {
    with_percent(count, of, percent_text(count, of))
}

/// `56 of 59 (94.9 %)`: beside words that say it is below a limit in percent, or is not.
pub fn share_below(count: usize, of: usize, limit_pct: usize) -> String {
    with_percent(count, of, percent_text_below(count, of, limit_pct))
}

fn with_percent(count: usize, of: usize, percent: Option<String>) -> String {
    match percent {
        Some(percent) => format!("{count} of {of} ({percent}{THIN_SPACE}%)"),
        None => format!("{count} of {of}"),
    }
}

/// Count, denominator and percentage of a row: `24/27`, `89 %`; blanks where the row is masked.
pub fn fraction(row: &MeasureRow) -> (String, String) {
    let (Some(yes), Some(known)) = (row.numerator, row.denominator) else {
        return (MASKED.to_owned(), String::new());
    };
    let known = known as usize;
    let percent = percent_text(yes, known)
        .map_or(NONE.to_owned(), |percent| format!("{percent}{THIN_SPACE}%"));
    (format!("{yes}/{known}"), percent)
}

/// `72 to 96`, in percent.
pub fn limits(low: Option<f64>, high: Option<f64>, n: usize) -> String {
    match (low, high) {
        (Some(low), Some(high)) => format!(
            "{} to {}",
            percent_of_estimate(low, n),
            percent_of_estimate(high, n)
        ),
        _ => NONE.to_owned(),
    }
}

/// What the period is compared with, as a column's head says it.
pub fn beside_words(cohort: &Cohort) -> &'static str {
    if cohort.earlier.is_some() {
        "earlier file"
    } else if cohort.options.previous.is_some() {
        "earlier period"
    } else {
        "12 months before"
    }
}

/// A count, or what stands for a masked one.
pub fn count(value: Option<usize>) -> String {
    value.map_or_else(|| MASKED.to_owned(), |value| value.to_string())
}

/// A count as this summary may show it.
pub fn shown(cohort: &Cohort, count: usize) -> String {
    if cohort.masks(count) {
        MASKED.to_owned()
    } else {
        count.to_string()
    }
}
