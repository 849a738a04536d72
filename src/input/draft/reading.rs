//! How the files as wholes are written: dates, decimal mark, encoding.

use super::export::Export;
use crate::input::date::DateFormat;

/// A line of `[reading]` or a remark.
pub(super) enum Line {
    /// Written.
    Use(String),
    /// Proposed, for a person to decide.
    Propose(String),
    /// Said.
    Remark(String),
}

/// The part of a cell before a time of day.
fn day_part(cell: &str) -> &str {
    match cell.split_once([' ', 'T']) {
        Some((day, time)) if time.contains(':') && day.len() >= 6 => day,
        _ => cell,
    }
}

/// Three groups of digits with the same mark between them, one of the outer ones a year; or eight digits of our time.
pub(super) fn looks_like_a_date(cell: &str) -> bool {
    let day = day_part(cell);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if digits(day) {
        return day.len() == 8 && (day.starts_with("19") || day.starts_with("20"));
    }
    ['-', '.', '/', ' '].iter().any(|mark| {
        let groups: Vec<&str> = day.split(*mark).collect();
        matches!(groups[..], [a, b, c] if [a, b, c].iter().all(|group| digits(group))
            && b.len() <= 2
            && (a.len() == 4 && c.len() <= 2 || a.len() <= 2 && (c.len() == 4 || c.len() == 2)))
    })
}

fn is_iso(day: &str) -> bool {
    let shape: Vec<usize> = day.split('-').map(str::len).collect();
    shape == [4, 2, 2]
}

/// Every way of writing a date that is thought of, those with two digits first.
fn patterns() -> Vec<DateFormat> {
    let mut patterns = Vec::new();
    for mark in ['.', '/', '-', ' '] {
        for [first, second, third] in [
            ["DD", "MM", "YYYY"],
            ["MM", "DD", "YYYY"],
            ["D", "M", "YYYY"],
            ["M", "D", "YYYY"],
            ["YYYY", "MM", "DD"],
            ["YYYY", "M", "D"],
        ] {
            patterns.push(format!("{first}{mark}{second}{mark}{third}"));
        }
    }
    patterns.push("YYYYMMDD".to_owned());
    patterns
        .iter()
        .filter_map(|pattern| DateFormat::new(pattern).ok())
        .collect()
}

/// What there is to say of the dates of these exports.
pub(super) fn dates(exports: &[Export]) -> Vec<Line> {
    let mut cells: Vec<(&str, usize)> = Vec::new();
    let (mut iso, mut short) = (0, 0);
    for field in exports.iter().flat_map(|export| &export.fields) {
        let (dates, all) = field.share(looks_like_a_date);
        if dates == 0 || dates * 10 < all * 8 {
            continue;
        }
        for (cell, count) in field
            .cells
            .iter()
            .filter(|(cell, _)| looks_like_a_date(cell))
        {
            let day = day_part(cell);
            let year_of_two = day.len() <= 8
                && !day.bytes().all(|byte| byte.is_ascii_digit())
                && day
                    .split(['.', '/', '-', ' '])
                    .all(|group| group.len() <= 2);
            if is_iso(day) {
                iso += count;
            } else if year_of_two {
                short += count;
            } else {
                cells.push((day, *count));
            }
        }
    }
    let mut lines = Vec::new();
    if short > 0 {
        lines.push(Line::Remark(format!(
            "{short} dates have a year of two digits, which can be of two centuries; they are not read: export four digits"
        )));
    }
    let all: usize = cells.iter().map(|(_, count)| count).sum();
    if all == 0 {
        if iso > 0 {
            lines.push(Line::Remark(format!(
                "{iso} dates are written YYYY-MM-DD: nothing to set"
            )));
        }
        return lines;
    }
    let read: Vec<(DateFormat, usize)> = patterns()
        .into_iter()
        .map(|format| {
            let count = cells
                .iter()
                .filter(|(day, _)| format.read(day).is_some())
                .map(|(_, count)| count)
                .sum();
            (format, count)
        })
        .collect();
    let whole: Vec<&DateFormat> = read
        .iter()
        .filter(|(_, count)| *count == all)
        .map(|(format, _)| format)
        .collect();
    let order = |format: &DateFormat| -> Vec<char> {
        let mut order: Vec<char> = format
            .pattern()
            .chars()
            .filter(char::is_ascii_alphabetic)
            .collect();
        order.dedup();
        order
    };
    let set = |format: &DateFormat| format!("date_format = \"{}\"", format.pattern());
    let mut orders: Vec<&DateFormat> = Vec::new();
    for format in whole {
        if !orders.iter().any(|known| order(known) == order(format)) {
            orders.push(format);
        }
    }
    match orders[..] {
        [one] => lines.push(Line::Use(format!(
            "{}  # sure: all {all} dates can be read in this way alone",
            set(one)
        ))),
        [] => {
            lines.push(Line::Remark(format!(
                "the {all} dates are not all written in one way; the others will be reported, cell by cell"
            )));
            let mut best: Vec<&(DateFormat, usize)> =
                read.iter().filter(|(_, count)| *count > 0).collect();
            best.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
            for (format, count) in best.into_iter().take(2) {
                lines.push(Line::Propose(format!(
                    "{}  # guess: reads {count} of {all} dates",
                    set(format)
                )));
            }
        }
        [..] => {
            lines.push(Line::Remark(format!(
                "ambiguous: every one of the {all} dates is a day in more than one way of reading; use the line that is right"
            )));
            for format in orders {
                lines.push(Line::Propose(format!(
                    "{}  # guess: all {all} dates can be read so, and otherwise",
                    set(format)
                )));
            }
        }
    }
    lines
}

/// What there is to say of the decimal mark.
pub(super) fn decimal_mark(exports: &[Export]) -> Vec<Line> {
    let points: usize = exports.iter().map(|export| export.points).sum();
    let commas: usize = exports.iter().map(|export| export.commas).sum();
    match (points, commas) {
        (0, 0) => vec![Line::Remark(
            "no number with decimals was seen: the decimal mark stays open".to_owned(),
        )],
        (0, commas) => vec![Line::Use(format!(
            "decimal_mark = \",\"  # sure: {commas} numbers have a comma, none a point"
        ))],
        (points, 0) => vec![Line::Use(format!(
            "decimal_mark = \".\"  # sure: {points} numbers have a point, none a comma"
        ))],
        (points, commas) => vec![Line::Remark(format!(
            "{points} numbers have a point and {commas} a comma: the mark is found out file by file, and the others are reported"
        ))],
    }
}

/// What there is to say of the encoding. `asked` was given by the user.
pub(super) fn encoding(exports: &[Export], asked: bool) -> Vec<Line> {
    let named: Vec<&Export> = exports
        .iter()
        .filter(|export| export.beyond_ascii)
        .collect();
    let Some(first) = named
        .iter()
        .find(|export| export.encoding != encoding_rs::UTF_8)
    else {
        return Vec::new();
    };
    let name = first.encoding.name().to_lowercase();
    if let Some(other) = named
        .iter()
        .find(|export| export.encoding != first.encoding)
    {
        return vec![Line::Remark(format!(
            "the files differ in encoding ({name}, {}): save them in one, best UTF-8",
            other.encoding.name().to_lowercase()
        ))];
    }
    let why = if asked {
        "sure: as given".to_owned()
    } else {
        let shown = named
            .iter()
            .flat_map(|export| &export.fields)
            .find(|field| !field.header.is_ascii());
        let look = shown.map_or_else(String::new, |field| {
            format!(
                "; look whether {:?} is spelt right",
                super::print::visible(&field.header)
            )
        });
        format!("likely: the bytes are not UTF-8, and are text in this one{look}")
    };
    vec![Line::Use(format!("encoding = \"{name}\"  # {why}"))]
}
