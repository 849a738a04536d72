//! Classes that a usual measuring error would change, in words.

use super::view::View;
use crate::assess::Fragile;
use crate::dictionary;
use crate::page::number::{recorded, with_unit};
use crate::page::words::column;

/// What a class is called.
pub(super) fn class_name(result: &str) -> &'static str {
    match result {
        "stenosis_class" => "stenosis class",
        "device_in_range" => "annulus",
        "sizing_agreement" => "sizing",
        "intended_performance" => "intended performance",
        "measured_ppm" => "measured mismatch",
        "deterioration_stage" => "valve deterioration",
        _ => "class",
    }
}

/// A class of results.csv in words.
fn class_words(result: &str, word: &str) -> String {
    let words = match (result, word) {
        ("device_in_range", "below") => "smaller than the labelled range",
        ("device_in_range", "above") => "larger than the labelled range",
        ("device_in_range", "within") => "within the labelled range",
        ("sizing_agreement", "agree") => "all lines agree",
        ("sizing_agreement", "disagree") => "lines differ",
        ("sizing_agreement", "one_line") => "one line only",
        ("intended_performance", "yes") => "met",
        ("intended_performance", "no") => "not met",
        (_, "high_gradient") => "severe, high gradient",
        (_, "classical_low_flow_low_gradient") => "classical low-flow low-gradient",
        (_, "paradoxical_low_flow_low_gradient") => "paradoxical low-flow low-gradient",
        (_, "normal_flow_low_gradient") => "normal-flow low-gradient",
        (_, "not_severe") => "not severe",
        (_, word) => return word.replace('_', " "),
    };
    words.to_owned()
}

/// `measured mismatch is moderate; with outflow diameter 19 instead of 20 mm it would be severe`: the fact first, then
/// plainly what is none.
pub(super) fn sentence(_view: &View<'_>, entry: &Fragile) -> String {
    let unit = ["cases", "followups"]
        .iter()
        .find_map(|file| dictionary::column(file, entry.input))
        .map_or("", |column| column.unit.as_str());
    // Three figures are enough to find the measurement again.
    let most = if entry.value.abs() < 10.0 { 2 } else { 1 };
    format!(
        "{} is {}; with {} {} instead of {} it would be {}",
        class_name(entry.result),
        class_words(entry.result, entry.from),
        column(entry.input),
        trimmed(&recorded(entry.moved_to, most, &[])),
        with_unit(&recorded(entry.value, most, &[]), unit),
        class_words(entry.result, entry.to),
    )
}

/// Every fragile class with the input that would change it.
pub(super) fn sentences(view: &View<'_>) -> Vec<String> {
    view.assessment
        .fragile
        .iter()
        .map(|entry| super::findings::capitalised(&format!("{}.", sentence(view, entry))))
        .collect()
}

/// Without a zero that only rounding put behind the point.
fn trimmed(number: &str) -> &str {
    match number.contains('.') {
        true => number.trim_end_matches('0').trim_end_matches('.'),
        false => number,
    }
}
