//! Text from outside, made into text that can be drawn and found again.

use super::fonts::Fonts;
use std::borrow::Cow;
use std::fmt::Write;
use unicode_normalization::char::is_combining_mark;
use unicode_normalization::{IsNormalized, UnicodeNormalization, is_nfc_quick};

impl Fonts {
    /// The text as it can be written: every character of the result is covered by both faces.
    ///
    /// - Control characters, line ends and direction marks become a space (a CR LF pair one).
    /// - Letters and their accents are joined; characters with two code points for one sign get one
    ///   (µ and ∆ the Greek letters, hyphens the ordinary one), so that a search finds them.
    /// - Soft hyphens are left out; the ligatures ﬁ and ﬂ are written as two letters.
    /// - What no face covers is shown as its number, `‹U+65E5›`, never left out.
    pub fn clean<'a>(&self, text: &'a str) -> Cow<'a, str> {
        if text.bytes().all(|byte| (0x20..0x7f).contains(&byte)) {
            return Cow::Borrowed(text);
        }
        // Most of what is not ASCII is already as it is written: dashes, no-break spaces, units.
        if self.all_as_they_came(text) {
            return Cow::Borrowed(text);
        }
        let mut written = String::with_capacity(text.len() + 8);
        for character in text.replace("\r\n", "\n").nfc() {
            match character {
                c if becomes_space(c) => written.push(' '),
                '\u{ad}' => {}
                'ﬁ' => written.push_str("fi"),
                'ﬂ' => written.push_str("fl"),
                c => match one_code_point(c) {
                    c if self.covers(c) => written.push(c),
                    c => write!(written, "‹U+{:04X}›", u32::from(c)).expect("writing to a string"),
                },
            }
        }
        if written == text {
            Cow::Borrowed(text)
        } else {
            Cow::Owned(written)
        }
    }
}

/// Whether a character is written as it comes, whatever stands beside it: it is covered, and neither joins with another
/// nor is replaced. (Covered characters are no marks over others, so what holds of each holds of a text of them.)
pub(super) fn stays(character: char, fonts: &Fonts) -> bool {
    fonts.covers(character)
        && !matches!(character, '\u{ad}' | 'ﬁ' | 'ﬂ')
        && is_nfc_quick(std::iter::once(character)) == IsNormalized::Yes
}

/// Whether a character cannot be drawn by itself: control, mark over another, invisible, or a second
/// code point for a sign (its glyph could then not tell which of the two was meant).
pub(super) fn stands_not_alone(character: char) -> bool {
    becomes_space(character)
        || is_combining_mark(character)
        || one_code_point(character) != character
        || matches!(character, '\u{ad}' | '\u{34f}' | '\u{180e}' | '\u{200b}'..='\u{200d}' | '\u{2060}'..='\u{206f}')
}

/// Controls, line and paragraph ends, and the marks that turn the reading direction.
fn becomes_space(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
        )
}

/// One code point for each sign that has two and a single glyph in the face.
fn one_code_point(character: char) -> char {
    match character {
        'µ' => 'μ',
        '∆' => 'Δ',
        '\u{2126}' => 'Ω',
        'ϕ' => 'φ',
        '\u{2010}' | '\u{2011}' => '-',
        '\u{207c}' => '\u{2ed}',
        other => other,
    }
}
