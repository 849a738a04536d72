//! Cells that say nothing, and cells that say only that a spreadsheet failed.

use super::loose::same_word;
use super::spec::Kind;

/// Whether this text, not empty, is a common way to leave a cell blank.
///
/// `nan` is what statistics programs write for a missing number, but also a name: it is kept as text.
pub(super) fn is_blank_word(text: &str, kind: Kind, of_the_site: &[String]) -> bool {
    let common = match text {
        "-" | "\u{2013}" | "\u{2014}" | "?" => true,
        _ if text.len() > 7 => false,
        _ => {
            ["na", "n/a", "unknown"]
                .iter()
                .any(|word| text.eq_ignore_ascii_case(word))
                || text.eq_ignore_ascii_case("nan") && !matches!(kind, Kind::Text | Kind::Id)
        }
    };
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
