//! What became of the headers, as lines of a site file.

use super::PROPOSAL;
use super::export::Export;
use super::place::{Confidence, Placed, Places};
use super::unit::Unit;
use super::words::Words;
use crate::input::spec::specs;
use crate::settings::Schedule;

/// The first lines: what was looked at, and how to read the others.
pub(super) fn head(exports: &[Export]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    lines
        .push("# A first draft of a site file, made by looking at headers and cells of".to_owned());
    for export in exports {
        lines.push(format!(
            "#   {} ({}): {} rows, {} headers, separated by {}",
            visible(&export.file),
            export.table,
            export.rows,
            export.fields.len(),
            export.separator
        ));
    }
    lines.extend([
        "# Read every line beside the export before you rely on it: a wrong line makes wrong results.".to_owned(),
        "#   sure     the words of the header are those of one column, and its cells fit".to_owned(),
        "#   likely   the same, with the one thing less that is named; please check".to_owned(),
        "#   guess    please check: the line is a proposal and begins with #?; take these two characters away to use it".to_owned(),
    ]);
    lines
}

/// What no export can say: remarks with the value that goes without them, for a person to fill in.
pub(super) fn unknown_to_exports() -> Vec<String> {
    let Schedule {
        first_visit_day,
        first_visit_opens,
        first_visit_closes,
        anniversary_opens_before,
        anniversary_closes_after,
        lost_after,
    } = Schedule::default();
    [
        "# What no export can say. Take the # away from a line and fill it in; without it, what it shows holds (a centre has".to_owned(),
        "# no name then).".to_owned(),
        "# [centre]".to_owned(),
        "# name = \"\"".to_owned(),
        "# address = [\"\", \"\"]  # at most four lines".to_owned(),
        "# contact = [\"\"]  # whom patients and clinics call; at most four lines".to_owned(),
        String::new(),
        "# [page]".to_owned(),
        "# paper = \"A4\"  # or \"Letter\"".to_owned(),
        String::new(),
        "# [formulas]".to_owned(),
        "# bsa = \"du_bois\"  # or \"mosteller\"".to_owned(),
        String::new(),
        "# [visits]  # days from the procedure: when the centre's own follow-up is due".to_owned(),
        format!(
            "# first = {{ day = {first_visit_day}, from = {first_visit_opens}, to = {first_visit_closes} }}"
        ),
        format!(
            "# annual = {{ days_before = {anniversary_opens_before}, days_after = {anniversary_closes_after} }}"
        ),
        format!("# lost_after_days = {lost_after}"),
    ]
    .into()
}

/// The lines of one table.
pub(super) fn table_lines(
    export: &Export,
    places: &Places<'_>,
    words: &Words,
    body: &mut Vec<String>,
) {
    body.push(format!("[headers.{}]", export.table));
    let named = places.placed.iter().filter(|placed| placed.by_name).count();
    if named > 0 {
        body.push(format!(
            "# {named} of the headers are names of columns already: nothing to write for them but what follows."
        ));
    }
    for placed in &places.placed {
        body.extend(placed_lines(placed, words));
    }
    let missing = specs(export.table).list.iter().filter(|spec| {
        spec.column.required()
            && !places
                .placed
                .iter()
                .any(|placed| placed.spec.column.name == spec.column.name)
    });
    for spec in missing {
        let column = &spec.column.name;
        body.push(format!(
            "# No header was found for {column}: no row can do without it."
        ));
    }
    if !places.unplaced.is_empty() {
        body.push("# Not placed; such a column is reported once and ignored:".to_owned());
    }
    for (field, why) in &places.unplaced {
        body.push(format!(
            "# {} = \"\"  # {}",
            quoted(&field.header),
            visible(why)
        ));
    }
    body.push(String::new());
}

/// The lines of one header: its column, and the words that it alone has.
fn placed_lines(placed: &Placed<'_>, words: &Words) -> Vec<String> {
    let header = quoted(&placed.field.header);
    let column = &placed.spec.column.name;
    let of_column = words.lines_of(placed);
    let dotted = of_column.iter().any(|(_, line)| line.is_some());
    let guess = placed.sure == Confidence::Guess;
    let mut lines = Vec::new();
    let unit = match placed.unit {
        Unit::InHeader(way) | Unit::ByValues(way, _) => Some(way.from),
        _ => None,
    };
    let setting = match (unit, dotted) {
        (Some(unit), _) => format!("{header} = {{ column = \"{column}\", unit = \"{unit}\" }}"),
        (None, true) => format!("{header}.column = \"{column}\""),
        (None, false) => format!("{header} = \"{column}\""),
    };
    if placed.by_name && !dotted && unit.is_none() {
        let remarks = placed.why.iter().map(|why| visible(why));
        lines.extend(remarks.map(|why| format!("# {header}: {why}")));
    } else {
        let mark = if guess { PROPOSAL } else { "" };
        lines.push(format!("{mark}{setting}  # {}", reason(placed)));
    }
    for (remark, line) in of_column {
        lines.push(match line {
            Some((true, line)) if !guess => format!("{line}  # {remark}"),
            Some((_, line)) => format!("{PROPOSAL}{line}  # {remark}"),
            None => format!("# {header}: {remark}"),
        });
    }
    lines
}

fn reason(placed: &Placed<'_>) -> String {
    let word = match placed.sure {
        Confidence::Sure => "sure",
        Confidence::Likely => "likely",
        Confidence::Guess => "guess, please check",
    };
    let mut why: Vec<String> = Vec::new();
    if placed.by_name {
        why.push("the column's own name".to_owned());
    }
    match &placed.unit {
        Unit::InHeader(way) => why.push(format!("{} stands in the header", way.from)),
        Unit::OwnByValues(usual, all) if !placed.by_name => why.push(format!(
            "no unit in the header; {usual} of {all} values are usual in {}",
            placed.spec.column.unit
        )),
        _ => {}
    }
    why.extend(placed.why.iter().map(|why| visible(why)));
    if why.is_empty() {
        word.to_owned()
    } else {
        format!("{word}: {}", why.join("; "))
    }
}

/// A text as a TOML string (TOML 1.0, Basic strings).
pub(super) fn quoted(text: &str) -> String {
    let mut quoted = String::from('"');
    for character in text.chars() {
        match character {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            '\n' => quoted.push_str("\\n"),
            '\r' => quoted.push_str("\\r"),
            '\t' => quoted.push_str("\\t"),
            other if other.is_control() => {
                quoted.push_str(&format!("\\u{:04X}", u32::from(other)));
            }
            other => quoted.push(other),
        }
    }
    quoted.push('"');
    quoted
}

/// A text for a remark: on one line, without control characters.
pub(super) fn visible(text: &str) -> String {
    text.chars()
        .map(|character| {
            if character.is_control() {
                ' '
            } else {
                character
            }
        })
        .collect()
}
