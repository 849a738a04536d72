//! Cells that say nothing, and cells that say only that a spreadsheet failed.

use super::loose::same_word;

/// The text without white space at its ends, which hardly a cell has.
pub(super) fn trimmed(text: &str) -> &str {
    let seen = |end: Option<&u8>| end.is_some_and(u8::is_ascii_graphic);
    if seen(text.as_bytes().first()) && seen(text.as_bytes().last()) {
        text
    } else {
        text.trim()
    }
}

/// Whether this text, not empty, is a common way to leave a cell blank.
///
/// A question mark or `nan` is none: somebody or some program put it there for a reason, so it is reported.
pub(super) fn is_blank_word(text: &str, of_the_site: &[String]) -> bool {
    if of_the_site.is_empty() && text.starts_with(|first: char| first.is_ascii_digit()) {
        return false;
    }
    let common = matches!(text, "-" | "\u{2013}" | "\u{2014}")
        || ["na", "n/a", "unknown"]
            .iter()
            .any(|word| text.eq_ignore_ascii_case(word));
    common || of_the_site.iter().any(|word| same_word(word, text))
}

/// Whether this is what a spreadsheet shows for a formula that failed.
pub(super) fn is_spreadsheet_error(text: &str) -> bool {
    text.starts_with('#')
        && [
            "#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!",
        ]
        .iter()
        .any(|word| text.eq_ignore_ascii_case(word))
}
