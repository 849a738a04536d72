//! Characters that nobody sees, and text shortened so that a message stays one line.

use std::borrow::Cow;

/// Whether a character changes how a text is read without being seen: control characters, zero-width spaces, marks that
/// turn the direction of writing. Joiners that some scripts need are not among them, nor are line breaks and tabs.
fn is_hidden(character: char) -> bool {
    matches!(
        character,
        '\u{0}'..='\u{8}' | '\u{B}' | '\u{C}' | '\u{E}'..='\u{1F}' | '\u{7F}'..='\u{9F}' | '\u{AD}' | '\u{200B}'
            | '\u{200E}' | '\u{200F}' | '\u{2028}' | '\u{2029}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}'
    )
}

/// Whether the text is nothing but printable ASCII on one line, as most is.
pub(super) fn is_plain(text: &str) -> bool {
    text.bytes()
        .fold(true, |plain, byte| plain & (0x20..0x7F).contains(&byte))
}

/// The first hidden character.
pub(super) fn first_hidden(text: &str) -> Option<char> {
    text.chars().find(|&character| is_hidden(character))
}

/// Free text as it is kept: line breaks are LF, hidden characters are left out.
pub(super) fn cleaned(text: &str) -> Cow<'_, str> {
    if !text.contains('\r') && first_hidden(text).is_none() {
        return Cow::Borrowed(text);
    }
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let kept: String = text
        .chars()
        .filter(|&character| !is_hidden(character))
        .collect();
    Cow::Owned(kept.trim().to_owned())
}

/// The longest part of a cell that a message repeats, in characters.
pub(super) const SHOWN: usize = 40;

/// The text, cut after 40 characters with `…`.
pub(super) fn shortened(text: &str) -> String {
    match text.char_indices().nth(SHOWN) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn direction_marks_are_left_out_and_letters_are_not() {
        assert_eq!(cleaned("A\u{202E}B\u{200B}"), "AB");
        assert_eq!(cleaned("one\r\ntwo\rthree"), "one\ntwo\nthree");
        let joined = "\u{645}\u{6CC}\u{200C}\u{62E}";
        assert_eq!(cleaned(joined), joined);
    }

    #[test]
    fn long_cells_are_cut_between_characters() {
        assert_eq!(shortened(&"é".repeat(40)), "é".repeat(40));
        assert_eq!(shortened(&"é".repeat(41)), format!("{}…", "é".repeat(40)));
    }
}
