//! Text made to fit a width.

use super::fonts::Fonts;
use super::item::Face;
use std::borrow::Cow;

/// Shows that something was left out.
const MARK: &str = "…";

impl Fonts {
    /// The text, or as many of its words as fit with a visible `…`.
    ///
    /// The result is no wider than `max_mm`, unless that is too narrow for the mark itself.
    pub fn fit<'a>(&self, text: &'a str, face: Face, size_pt: f64, max_mm: f64) -> Cow<'a, str> {
        let fits = |text: &str| self.width_mm(text, face, size_pt) <= max_mm;
        if fits(text) {
            return Cow::Borrowed(text);
        }
        let start = &text[..self.reach(text, face, size_pt, max_mm)];
        let by_word = start
            .rmatch_indices(' ')
            .map(|(end, _)| text[..end].trim_end());
        let words = by_word
            .filter(|words| !words.is_empty())
            .map(|words| format!("{words} {MARK}"));
        let by_letter = start
            .char_indices()
            .rev()
            .map(|(end, _)| format!("{}{MARK}", text[..end].trim_end()));
        let shortened = words.chain(by_letter).find(|shortened| fits(shortened));
        Cow::Owned(shortened.unwrap_or_else(|| MARK.to_owned()))
    }

    /// Bytes of the text up to and with the first character that passes `max_mm`.
    fn reach(&self, text: &str, face: Face, size_pt: f64, max_mm: f64) -> usize {
        let mut width_mm = 0.0;
        let mut letter = [0; 4];
        for (start, character) in text.char_indices() {
            // Kerning takes less than a tenth.
            width_mm += 0.9 * self.width_mm(character.encode_utf8(&mut letter), face, size_pt);
            if width_mm > max_mm {
                return start + character.len_utf8();
            }
        }
        text.len()
    }

    /// The text in lines no wider than `max_mm`, broken at spaces (not at no-break spaces), and
    /// within a word only where the word alone is too wide. A blank text has no lines.
    pub fn wrap(&self, text: &str, face: Face, size_pt: f64, max_mm: f64) -> Vec<String> {
        let fits = |milli: i32| Fonts::milli_mm(milli, size_pt) <= max_mm;
        let end = |line: &str| line.chars().next_back();
        let mut lines: Vec<String> = Vec::new();
        // The line and its width: each word is measured once.
        let mut line = String::new();
        let mut milli = 0;
        for word in text
            .split([' ', '\n', '\t'])
            .filter(|word| !word.is_empty())
        {
            let before = line.len();
            let mut longer = milli;
            if !line.is_empty() {
                longer += self.width_after_milli(end(&line), " ", face);
                line.push(' ');
            }
            longer += self.width_after_milli(end(&line), word, face);
            line.push_str(word);
            if fits(longer) {
                milli = longer;
                continue;
            }
            line.truncate(before);
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            milli = 0;
            for character in word.chars() {
                let mut letter = [0; 4];
                let letter: &str = character.encode_utf8(&mut letter);
                milli += self.width_after_milli(end(&line), letter, face);
                if !fits(milli) && !line.is_empty() {
                    lines.push(std::mem::take(&mut line));
                    milli = self.width_milli(letter, face);
                }
                line.push(character);
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// As [`Fonts::wrap`], in at most `most` lines; the last ends in `…` where more would follow.
    pub fn wrap_at_most(
        &self,
        text: &str,
        face: Face,
        size_pt: f64,
        max_mm: f64,
        most: usize,
    ) -> Vec<String> {
        let mut lines = self.wrap(text, face, size_pt, max_mm);
        if lines.len() > most {
            lines.truncate(most);
            if let Some(last) = lines.last_mut() {
                let more = format!("{last} {MARK}");
                *last = self.fit(&more, face, size_pt, max_mm).into_owned();
            }
        }
        lines
    }
}
