//! One cell → one typed value, nothing, or one finding. Pure: the same text always gives the same.

use super::blank::{is_blank_word, is_spreadsheet_error, trimmed};
use super::date::date;
use super::dialect::{Dialect, HeaderRule, Word};
use super::hidden::{cleaned, first_hidden, is_plain};
use super::id;
use super::loose::{same_word, suggestion};
use super::number::{DecimalMark, grouped, number, why_not};
use super::spec::{Kind, Spec};
use super::units::{Conversion, for_message};
use crate::diagnostic::Code;
use crate::record::Parsed;

/// What a cell was found to hold.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Reading {
    /// Nothing: unknown, and nothing to say about it.
    Blank,
    /// A value.
    Value(Parsed),
    /// A value that is kept, with something to say about it.
    Kept(Parsed, Code, String),
    /// Nothing that can be used: unknown, with what was expected.
    Rejected(Code, String),
}

/// How the numbers of a file are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Numbers {
    /// The decimal mark.
    pub mark: DecimalMark,
    /// Whether some number of the file (or the site file) shows that it is a decimal mark and no thousands separator.
    pub proven: bool,
}

/// What stands for bytes that are no text.
const NO_TEXT: [char; 2] = ['\0', '\u{FFFD}'];

/// Whether a row may hold [`NO_TEXT`]: U+FFFD begins with a byte that few other characters begin with.
pub(super) fn may_be_damaged(row: &str) -> bool {
    row.bytes()
        .fold(false, |found, byte| found | (byte == 0) | (byte == 0xEF))
}

/// Reads the cells of one file.
pub(super) struct CellReader<'a> {
    /// How its numbers are written.
    pub numbers: Numbers,
    /// What the centre says of its files.
    pub dialect: &'a Dialect,
    /// Whether some cell of the row may hold bytes that are no text ([`may_be_damaged`]), so that each must be looked at.
    pub damaged: bool,
}

impl CellReader<'_> {
    /// Reads one cell.
    pub fn read(&self, spec: &Spec, rule: Option<&HeaderRule>, cell: &str) -> Reading {
        let text = trimmed(cell);
        if text.is_empty() {
            return Reading::Blank;
        }
        if self.damaged && text.contains(NO_TEXT) {
            let expected = "text in the file's encoding; this cell holds bytes that are none";
            return Reading::Rejected(Code::Encoding, expected.to_owned());
        }
        if let Some(means) = rule.and_then(|rule| meaning(&rule.words, text)) {
            return own_word(spec, means).unwrap_or(Reading::Blank);
        }
        if matches!(spec.kind, Kind::Choice | Kind::YesNo)
            && let Some(reading) = own_word(spec, text)
        {
            return reading;
        }
        if is_blank_word(text, &self.dialect.blank_words) {
            return Reading::Blank;
        }
        if is_spreadsheet_error(text) {
            return Reading::Rejected(
                Code::SpreadsheetError,
                "a value; a spreadsheet's formula failed here".to_owned(),
            );
        }
        match spec.kind {
            Kind::Number | Kind::Integer => self.number(spec, rule, text),
            Kind::Date => match date(text, self.dialect.date_format.as_ref(), !spec.private) {
                Ok(date) => Reading::Value(Parsed::Date(date)),
                Err(expected) => Reading::Rejected(Code::NotADate, expected),
            },
            Kind::YesNo | Kind::Choice => self.word(spec, text),
            Kind::Id => match id::check(text) {
                Ok(()) => Reading::Value(Parsed::Text(text.into())),
                Err(expected) => Reading::Rejected(Code::BadId, expected),
            },
            Kind::Text => free_text(text),
        }
    }

    fn word(&self, spec: &Spec, text: &str) -> Reading {
        let of_site = meaning(&self.dialect.words, text);
        if let Some(reading) = of_site.and_then(|means| own_word(spec, means)) {
            return reading;
        }
        let (code, list) = match spec.kind {
            Kind::YesNo => (Code::NotYesNo, "yes or no".to_owned()),
            _ => (
                Code::NotAChoice,
                format!("one of {}", spec.words.join(", ")),
            ),
        };
        let meant = match spec.kind {
            Kind::YesNo => suggestion(text, ["yes", "no", "true", "false"]),
            _ => roman(spec, text).or_else(|| suggestion(text, spec.words.iter().copied())),
        };
        let expected = match meant {
            Some(meant) => format!("{list} ({meant}?)"),
            None => list,
        };
        Reading::Rejected(code, expected)
    }

    fn number(&self, spec: &Spec, rule: Option<&HeaderRule>, text: &str) -> Reading {
        let conversion = rule.and_then(|rule| rule.conversion);
        let mark = self.numbers.mark;
        let value = match conversion {
            Some(conversion) => conversion.read(text, mark),
            None => number(text, mark, 0),
        };
        let unit = conversion.map_or(spec.column.unit.as_str(), |conversion| conversion.from);
        let Some(value) = value else {
            let expected = format!("{}{}", wanted(spec.kind, unit), why_not(text, mark));
            return Reading::Rejected(Code::NotANumber, expected);
        };
        let limits = &spec.limits;
        if !self.numbers.proven
            && grouped(text)
            && limits.believed.holds(value * 1000.0)
            && limits.believed.holds(value)
        {
            let expected = format!(
                "{}; whether {:?} is a decimal mark or separates thousands cannot be told in this file",
                wanted(spec.kind, unit),
                mark.character()
            );
            return Reading::Rejected(Code::NotANumber, expected);
        }
        if spec.kind == Kind::Integer && value.fract() != 0.0 {
            return Reading::Rejected(Code::NotANumber, wanted(spec.kind, unit));
        }
        let slips = || self.slips(spec, conversion, text);
        if !limits.believed.holds(value) {
            let range = limits.believed.in_words();
            return match slips() {
                Some(slips) => Reading::Rejected(
                    Code::UnitSlip,
                    format!("{range}; {slips}: not converted, not used"),
                ),
                None => Reading::Rejected(Code::NotBelievable, format!("{range}: not used")),
            };
        }
        let parsed = match spec.kind {
            // A whole number within ±2^53, or it is no count of anything.
            Kind::Integer if value.abs() > 9_007_199_254_740_992.0 => {
                return Reading::Rejected(Code::NotANumber, wanted(spec.kind, unit));
            }
            #[expect(
                clippy::cast_possible_truncation,
                reason = "whole and within the range of exact integers"
            )]
            Kind::Integer => Parsed::Integer(value as i64),
            _ => Parsed::Number(value),
        };
        if limits.usual.holds(value) {
            return Reading::Value(parsed);
        }
        let hint = slips().map_or_else(String::new, |slips| format!("; {slips}"));
        let expected = format!("usually {}{hint}: kept, check it", limits.usual.in_words());
        Reading::Kept(parsed, Code::Unusual, expected)
    }

    /// What the number would be were it written in another unit, for every unit that would make it a usual value.
    fn slips(&self, spec: &Spec, applied: Option<&Conversion>, text: &str) -> Option<String> {
        let limits = &spec.limits;
        let unit = spec.column.unit.as_str();
        let mut found = Vec::new();
        let mut consider = |from: &str, value: Option<f64>| {
            if let Some(value) = value.filter(|&value| limits.usual.holds(value)) {
                let value = for_message(value);
                if !found.iter().any(|(_, known)| *known == value) {
                    found.push((from.to_owned(), value));
                }
            }
        };
        if applied.is_some() {
            consider(unit, number(text, self.numbers.mark, 0));
        }
        for &conversion in &spec.slips {
            if !applied.is_some_and(|applied| std::ptr::eq(applied, conversion)) {
                consider(conversion.from, conversion.read(text, self.numbers.mark));
            }
        }
        let unit = if unit.contains(" or ") { "" } else { unit };
        let phrases: Vec<String> = found
            .into_iter()
            .take(3)
            .map(|(from, value)| {
                format!("if written in {from} it would be {value} {unit}")
                    .trim_end()
                    .to_owned()
            })
            .collect();
        (!phrases.is_empty()).then(|| phrases.join(", "))
    }
}

/// The dictionary's own word, in any common spelling.
fn own_word(spec: &Spec, text: &str) -> Option<Reading> {
    let parsed = match spec.kind {
        Kind::YesNo => Parsed::YesNo(yes_no(text)?),
        Kind::Choice => Parsed::Choice(
            spec.words
                .iter()
                .position(|word| *word == text)
                .or_else(|| spec.words.iter().position(|word| same_word(word, text)))?,
        ),
        _ => return None,
    };
    Some(Reading::Value(parsed))
}

/// Yes or no, in the spellings that are taken.
pub(super) fn yes_no(text: &str) -> Option<bool> {
    // As nearly all are written.
    match text {
        "yes" => return Some(true),
        "no" => return Some(false),
        _ => {}
    }
    let is = |words: [&str; 4]| words.iter().any(|word| text.eq_ignore_ascii_case(word));
    if is(["yes", "y", "true", "1"]) {
        Some(true)
    } else if is(["no", "n", "false", "0"]) {
        Some(false)
    } else {
        None
    }
}

fn meaning<'w>(words: &'w [Word], text: &str) -> Option<&'w str> {
    words
        .iter()
        .find(|word| same_word(&word.written, text))
        .map(|word| word.means.as_str())
}

/// A class in Arabic numerals where Roman ones are wanted.
fn roman(spec: &Spec, text: &str) -> Option<&'static str> {
    let digit: usize = text.parse().ok()?;
    (spec.words.first() == Some(&"I")).then(|| spec.words.get(digit.checked_sub(1)?).copied())?
}

fn wanted(kind: Kind, unit: &str) -> String {
    let number = if kind == Kind::Integer {
        "a whole number"
    } else {
        "a number"
    };
    if unit.is_empty() {
        number.to_owned()
    } else {
        format!("{number} in {unit}")
    }
}

fn free_text(text: &str) -> Reading {
    if is_plain(text) {
        return Reading::Value(Parsed::Text(text.into()));
    }
    let Some(hidden) = first_hidden(text) else {
        return Reading::Value(Parsed::Text(cleaned(text).into()));
    };
    let kept = cleaned(text);
    let code = u32::from(hidden);
    if kept.is_empty() {
        return Reading::Rejected(
            Code::HiddenCharacter,
            format!("text; there are only hidden characters (U+{code:04X})"),
        );
    }
    let expected = format!("text without hidden characters (U+{code:04X}): kept without them");
    Reading::Kept(Parsed::Text(kept.into()), Code::HiddenCharacter, expected)
}
