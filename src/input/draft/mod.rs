//! A first draft of a site file, from exports: which header is which column, in which unit, and how cells are written.
//!
//! Text in, text out. The draft is TOML that [`Site::read`](crate::input::site::Site::read) takes as it is printed: what is
//! not certain stands behind `#?`, for a person to decide. A unit is never set in silence, and a date that can be read
//! in two ways is left open.

mod export;
mod place;
mod reading;
mod unit;
mod values;
mod vocabulary;
mod words;

use std::collections::HashSet;

use encoding_rs::Encoding;

use self::export::Export;
use self::place::{Placed, Places, Sure};
use self::reading::Line;
use self::unit::Unit;
use self::words::Words;
use super::error::InputError;
use super::loose::loose_form;
use super::source::Source;
use super::spec::specs;

/// A first draft of a site file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    /// The site file.
    pub text: String,
    /// Lines of the text (counted from 1) that hold a proposal.
    pub proposals: Vec<usize>,
    /// Headers of the exports.
    pub headers: usize,
    /// Headers that the draft places, proposals not counted.
    pub placed: usize,
    /// Headers that it knows no column for.
    pub unplaced: usize,
}

/// What a proposal begins with.
pub const PROPOSAL: &str = "#? ";

/// Drafts a site file from one or several exports, each with its table: `cases`, `followups` or `devices`.
///
/// # Errors
/// Where a file is no table: another kind of file, empty, or with a broken header.
pub fn draft(
    files: &[(&'static str, &Source)],
    encoding: Option<&'static Encoding>,
) -> Result<Draft, InputError> {
    let exports = files
        .iter()
        .map(|(table, source)| Export::of(table, source, encoding))
        .collect::<Result<Vec<_>, _>>()?;
    let mut places: Vec<Places<'_>> = exports.iter().map(place::place).collect();
    places.iter_mut().for_each(set_aside_repeated);
    let words = Words::of(&places);

    let mut body = Vec::new();
    body.push("[reading]".to_owned());
    let as_a_whole = reading::encoding(&exports, encoding.is_some())
        .into_iter()
        .chain(reading::decimal_mark(&exports))
        .chain(reading::dates(&exports));
    body.extend(as_a_whole.map(|line| match line {
        Line::Use(text) => text,
        Line::Propose(text) => format!("{PROPOSAL}{text}"),
        Line::Remark(text) => format!("# {text}"),
    }));
    body.extend(words.blank_line());
    body.push(String::new());
    let everywhere = words.everywhere_lines();
    if !everywhere.is_empty() {
        body.push("[words]".to_owned());
        body.extend(everywhere);
        body.push(String::new());
    }
    for (export, places) in exports.iter().zip(&places) {
        table_lines(export, places, &words, &mut body);
    }
    let placed = places
        .iter()
        .flat_map(|places| &places.placed)
        .filter(|placed| placed.by_name || placed.sure != Sure::Guess)
        .count();
    let head = head(&exports);
    let mut proposals: Vec<usize> = body
        .iter()
        .enumerate()
        .filter(|(_, line)| line.starts_with(PROPOSAL))
        .map(|(at, _)| at + 1)
        .collect();
    let lead = head.len() + 2;
    proposals.iter_mut().for_each(|line| *line += lead);
    let list = match &proposals[..] {
        [] => "# No proposals: nothing was left open.".to_owned(),
        lines => {
            let lines: Vec<String> = lines.iter().map(usize::to_string).collect();
            format!("# Proposals to decide, by line: {}.", lines.join(", "))
        }
    };
    let mut text = head.join("\n");
    for line in [list, String::new()].into_iter().chain(body) {
        text.push('\n');
        text.push_str(&line);
    }
    text.truncate(text.trim_end().len());
    text.push('\n');
    Ok(Draft {
        text,
        proposals,
        headers: exports.iter().map(|export| export.fields.len()).sum(),
        placed,
        unplaced: places.iter().map(|places| places.unplaced.len()).sum(),
    })
}

/// A header that stands in the file twice can be placed once only.
fn set_aside_repeated(places: &mut Places<'_>) {
    let mut seen = HashSet::new();
    let placed = std::mem::take(&mut places.placed);
    for placed in placed {
        if seen.insert(loose_form(&placed.field.header)) {
            places.placed.push(placed);
        } else {
            places.unplaced.push((
                placed.field,
                "the header stands in the file twice".to_owned(),
            ));
        }
    }
}

fn head(exports: &[Export]) -> Vec<String> {
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

fn table_lines(export: &Export, places: &Places<'_>, words: &Words, body: &mut Vec<String>) {
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
    let guess = placed.sure == Sure::Guess;
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
        Sure::Sure => "sure",
        Sure::Likely => "likely",
        Sure::Guess => "guess, please check",
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
fn quoted(text: &str) -> String {
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
fn visible(text: &str) -> String {
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
