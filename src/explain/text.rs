//! Traces as text for the terminal.

use std::fmt::Write as _;

use super::Trace;
use crate::record::Shown;
use crate::sources::source_of;

/// A value as plain text, as data files hold it; empty where it is unknown.
pub fn plain(value: Option<Shown<'_>>) -> String {
    let mut text = String::new();
    if let Some(value) = value {
        value.push_plain(&mut text);
    }
    text
}

/// At most six significant digits, for reading.
fn readable(value: Option<Shown<'_>>) -> String {
    match value {
        Some(Shown::Number(number)) if number != 0.0 && number.is_finite() => {
            let digits = (5 - number.abs().log10().floor() as i32).clamp(0, 12) as usize;
            let text = format!("{number:.digits$}");
            if text.contains('.') {
                text.trim_end_matches('0').trim_end_matches('.').to_owned()
            } else {
                text
            }
        }
        None => "not known".to_owned(),
        Some(Shown::Word(word)) => word.replace('_', " "),
        other => plain(other),
    }
}

/// One trace: value, formula, inputs, source and outside check, or what is missing.
pub fn explain_text(trace: &Trace<'_>, outside_check: Option<&str>) -> String {
    let unit = |unit: &str| {
        if unit.is_empty() {
            String::new()
        } else {
            format!(" {unit}")
        }
    };
    let mut text = String::new();
    let mut line = |label: &str, content: &str| {
        let _ = writeln!(text, "  {label:<9} {content}");
    };
    line(
        "value",
        &format!("{}{}", readable(trace.value), unit(&trace.column.unit)),
    );
    line("formula", trace.definition.formula);
    for input in &trace.inputs {
        line(
            "input",
            &format!(
                "{} = {}{} ({})",
                input.name,
                readable(input.value),
                unit(input.unit),
                input.origin.words()
            ),
        );
    }
    let missing: Vec<&str> = trace.missing().map(|input| input.name).collect();
    if !missing.is_empty() {
        line("missing", &missing.join(", "));
    }
    if trace.in_doubt {
        line("in doubt", "a check across cells that it uses has failed");
    }
    match source_of(&trace.column.source) {
        Some(source) => line(
            "source",
            &format!("{} ({})", source.citation, source.standing.words()),
        ),
        None => line(
            "source",
            "the project's own definition, no published source",
        ),
    }
    if let Some(check) = outside_check {
        line("check", check);
    }
    format!(
        "{} ({})\n{text}",
        trace.definition.title, trace.definition.name
    )
}
