//! A first draft of a site file, from exports: which header is which column, in which unit, and how cells are written.
//!
//! Text in, text out. The draft is TOML that [`Site::read`](crate::input::site::Site::read) takes as it is printed: what is
//! not certain stands behind `#?`, for a person to decide. A unit is never set in silence, and a date that can be read
//! in two ways is left open.

mod candidate;
mod export;
mod place;
mod print;
mod reading;
mod target;
mod unit;
mod values;
mod vocabulary;
mod words;

use std::collections::HashSet;

use encoding_rs::Encoding;

use self::export::Export;
use self::place::{Confidence, Places};
use self::print::{head, table_lines, unknown_to_exports};
use self::reading::Line;
use self::words::Words;
use super::error::InputError;
use super::loose::loose_form;
use super::source::Source;

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
    let (as_a_whole, of_tables) = reading_lines(&exports, encoding.is_some());
    body.extend(as_a_whole.into_iter().map(written));
    body.extend(words.blank_line());
    body.push(String::new());
    for (export, lines) in exports.iter().zip(of_tables) {
        if !lines.is_empty() {
            body.push(format!("[reading.{}]", export.table));
            body.extend(lines.into_iter().map(written));
            body.push(String::new());
        }
    }
    let everywhere = words.everywhere_lines();
    if !everywhere.is_empty() {
        body.push("[words]".to_owned());
        body.extend(everywhere);
        body.push(String::new());
    }
    for (export, places) in exports.iter().zip(&places) {
        table_lines(export, places, &words, &mut body);
    }
    body.extend(unknown_to_exports());
    let placed = places
        .iter()
        .flat_map(|places| &places.placed)
        .filter(|placed| placed.by_name || placed.sure != Confidence::Guess)
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

fn written(line: Line) -> String {
    match line {
        Line::Use(text) => text,
        Line::Propose(text) => format!("{PROPOSAL}{text}"),
        Line::Remark(text) => format!("# {text}"),
    }
}

/// What some exports show of one setting.
type Look<'a> = &'a dyn Fn(&[Export]) -> Vec<Line>;

/// How the files are written: what holds of all of them, and, where they differ, what holds of each.
fn reading_lines(exports: &[Export], asked: bool) -> (Vec<Line>, Vec<Vec<Line>>) {
    let mut as_a_whole = Vec::new();
    let mut of_tables: Vec<Vec<Line>> = exports.iter().map(|_| Vec::new()).collect();
    let looks: [Look<'_>; 3] = [
        &|exports| reading::encoding(exports, asked),
        &reading::decimal_mark,
        &reading::dates,
    ];
    let sure = |lines: &[Line]| lines.iter().any(|line| matches!(line, Line::Use(_)));
    for look in looks {
        let whole = look(exports);
        let each: Vec<Vec<Line>> = exports
            .iter()
            .map(|export| look(std::slice::from_ref(export)))
            .collect();
        if exports.len() > 1 && !sure(&whole) && each.iter().any(|lines| sure(lines)) {
            for (lines, more) in of_tables.iter_mut().zip(each) {
                lines.extend(more);
            }
        } else {
            as_a_whole.extend(whole);
        }
    }
    (as_a_whole, of_tables)
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
