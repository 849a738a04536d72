//! The operators of a page as the bytes of its content stream (ISO 32000-1, 7.8.2).
//!
//! The library's own operators are values that are turned into other values and those into text. A case page has two
//! thousand of them, and that took longer than drawing it; here they are written as text at once.

use crate::draw::Colour;
use lopdf::ObjectId;

/// A length in hundredths of a point.
pub(super) type Hundredths = i64;

/// The content stream of a page, under construction.
#[derive(Default)]
pub(super) struct Content {
    bytes: Vec<u8>,
    /// Where the string of the last text ends, and whether it ends with a space.
    last_text: Option<LastText>,
}

#[derive(Clone, Copy)]
struct LastText {
    end: usize,
    glyph: u16,
}

/// How a path that was drawn is shown.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Paint {
    Fill,
    Stroke,
    Both,
    Clip,
}

impl Content {
    pub(super) fn new(items: usize) -> Self {
        Self {
            bytes: Vec::with_capacity(items * 64),
            last_text: None,
        }
    }

    /// The bytes.
    pub(super) fn finish(self) -> Vec<u8> {
        self.bytes
    }

    fn word(&mut self, word: &[u8]) {
        self.bytes.extend_from_slice(word);
        self.bytes.push(b'\n');
    }

    fn number(&mut self, value: Hundredths) {
        push_decimal(&mut self.bytes, value, 2);
        self.bytes.push(b' ');
    }

    fn point(&mut self, (x, y): (Hundredths, Hundredths)) {
        self.number(x);
        self.number(y);
    }

    pub(super) fn save(&mut self) {
        self.word(b"q");
    }

    pub(super) fn restore(&mut self) {
        self.word(b"Q");
    }

    pub(super) fn begin_artifact(&mut self) {
        self.word(b"/Artifact BMC");
    }

    /// Begins a piece of tagged content.
    pub(super) fn begin_piece(&mut self, kind: &str, number: usize) {
        self.bytes.push(b'/');
        self.bytes.extend_from_slice(kind.as_bytes());
        self.bytes.extend_from_slice(b" <</MCID ");
        push_whole(&mut self.bytes, number as u64);
        self.word(b">> BDC");
    }

    pub(super) fn end_piece(&mut self) {
        self.word(b"EMC");
    }

    pub(super) fn font(&mut self, name: &str, size: Hundredths) {
        self.bytes.push(b'/');
        self.bytes.extend_from_slice(name.as_bytes());
        self.bytes.push(b' ');
        self.number(size);
        self.word(b"Tf");
    }

    pub(super) fn fill_colour(&mut self, colour: Colour) {
        self.colour(colour, b"g", b"rg");
    }

    pub(super) fn line_colour(&mut self, colour: Colour) {
        self.colour(colour, b"G", b"RG");
    }

    fn colour(&mut self, colour: Colour, grey: &[u8], rgb: &[u8]) {
        // Three digits tell all 256 levels apart.
        let part = |level: u8| (i64::from(level) * 2000 + 255) / 510;
        let Colour { red, green, blue } = colour;
        let levels: &[u8] = if red == green && green == blue {
            &[red]
        } else {
            &[red, green, blue]
        };
        for &level in levels {
            push_decimal(&mut self.bytes, part(level), 3);
            self.bytes.push(b' ');
        }
        self.word(if levels.len() == 1 { grey } else { rgb });
    }

    pub(super) fn line_width(&mut self, width: Hundredths) {
        self.number(width);
        self.word(b"w");
    }

    pub(super) fn dash(&mut self, dash: Option<(Hundredths, Hundredths)>) {
        self.bytes.push(b'[');
        if let Some((on, off)) = dash {
            self.number(on);
            push_decimal(&mut self.bytes, off, 2);
        }
        self.word(b"] 0 d");
    }

    /// Begins a text at this place, running upward where it is `rotated`.
    pub(super) fn begin_text(&mut self, start: (Hundredths, Hundredths), rotated: bool) {
        self.word(b"BT");
        if rotated {
            self.bytes.extend_from_slice(b"0 1 -1 0 ");
        }
        self.point(start);
        self.word(if rotated { b"Tm" } else { b"Td" });
        self.bytes.extend_from_slice(b"[(");
    }

    /// The next glyph of the text, after a gap of `kern` thousandths of the type size.
    pub(super) fn glyph(&mut self, glyph: u16, kern: i32) {
        if kern != 0 {
            self.bytes.push(b')');
            if kern > 0 {
                self.bytes.push(b'-');
            }
            push_whole(&mut self.bytes, u64::from(kern.unsigned_abs()));
            self.bytes.push(b'(');
        }
        let code = glyph.to_be_bytes();
        if code.iter().any(|&byte| is_escaped(byte)) {
            for byte in code {
                push_in_string(&mut self.bytes, byte);
            }
        } else {
            self.bytes.extend_from_slice(&code);
        }
    }

    /// Ends the text, whose last glyph this was.
    pub(super) fn end_text(&mut self, glyph: u16) {
        self.last_text = Some(LastText {
            end: self.bytes.len(),
            glyph,
        });
        self.bytes.extend_from_slice(b")] TJ\nET\n");
    }

    /// From here on the last text is of another piece of content and is left as it is.
    pub(super) fn forget_text(&mut self) {
        self.last_text = None;
    }

    /// Puts a space behind the last text, where it does not end with one.
    pub(super) fn end_word(&mut self, space: u16) {
        if let Some(last) = self.last_text.take().filter(|last| last.glyph != space) {
            let mut escaped = Vec::with_capacity(4);
            for byte in space.to_be_bytes() {
                push_in_string(&mut escaped, byte);
            }
            self.bytes.splice(last.end..last.end, escaped);
        }
    }

    pub(super) fn move_to(&mut self, point: (Hundredths, Hundredths)) {
        self.point(point);
        self.word(b"m");
    }

    pub(super) fn line_to(&mut self, point: (Hundredths, Hundredths)) {
        self.point(point);
        self.word(b"l");
    }

    pub(super) fn curve_to(&mut self, points: [(Hundredths, Hundredths); 3]) {
        for point in points {
            self.point(point);
        }
        self.word(b"c");
    }

    pub(super) fn rectangle(
        &mut self,
        corner: (Hundredths, Hundredths),
        size: (Hundredths, Hundredths),
    ) {
        self.point(corner);
        self.point(size);
        self.word(b"re");
    }

    /// Shows an open path.
    pub(super) fn stroke_open(&mut self) {
        self.word(b"S");
    }

    /// Closes the path and shows it.
    pub(super) fn paint(&mut self, paint: Paint) {
        self.word(match paint {
            Paint::Fill => b"f",
            Paint::Stroke => b"s",
            Paint::Both => b"b",
            Paint::Clip => b"W n",
        });
    }
}

/// Whether a byte stands behind a backslash in a literal string.
fn is_escaped(byte: u8) -> bool {
    matches!(byte, b'(' | b')' | b'\\' | b'\r')
}

/// A byte of a literal string.
fn push_in_string(bytes: &mut Vec<u8>, byte: u8) {
    match byte {
        b'(' | b')' | b'\\' => bytes.extend([b'\\', byte]),
        // A bare line end inside a string would be read as a line feed.
        b'\r' => bytes.extend_from_slice(b"\\r"),
        _ => bytes.push(byte),
    }
}

/// A whole number. Most have at most three digits: lengths, kerns, places, references.
pub(super) fn push_whole(bytes: &mut Vec<u8>, value: u64) {
    let digit = |value: u64| b'0' + (value % 10) as u8;
    match value {
        0..10 => bytes.push(digit(value)),
        10..100 => bytes.extend_from_slice(&[digit(value / 10), digit(value)]),
        100..1000 => {
            bytes.extend_from_slice(&[digit(value / 100), digit(value / 10), digit(value)]);
        }
        _ => push_long(bytes, value),
    }
}

fn push_long(bytes: &mut Vec<u8>, mut value: u64) {
    let mut digits = [0; 20];
    let mut start = digits.len();
    loop {
        start -= 1;
        digits[start] = b'0' + (value % 10) as u8;
        value /= 10;
        if value == 0 {
            break;
        }
    }
    bytes.extend_from_slice(&digits[start..]);
}

/// A reference to an object.
pub(super) fn push_reference(bytes: &mut Vec<u8>, (number, generation): ObjectId) {
    push_whole(bytes, u64::from(number));
    bytes.push(b' ');
    push_whole(bytes, u64::from(generation));
    bytes.extend_from_slice(b" R");
}

/// `value` / 10^`places`, without zeros at the end.
fn push_decimal(bytes: &mut Vec<u8>, value: i64, places: u32) {
    if value < 0 {
        bytes.push(b'-');
    }
    let one = 10_u64.pow(places);
    let size = value.unsigned_abs();
    push_whole(bytes, size / one);
    let mut rest = size % one;
    if rest > 0 {
        bytes.push(b'.');
        let mut place = one / 10;
        while rest > 0 {
            bytes.push(b'0' + (rest / place) as u8);
            rest %= place;
            place /= 10;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The standard library reads back what was written.
        #[test]
        fn prop_a_number_is_read_back(value in -10_000_000i64..10_000_000, places in 0u32..4) {
            let mut bytes = Vec::new();
            push_decimal(&mut bytes, value, places);
            let text = String::from_utf8(bytes).unwrap();
            let read: f64 = text.parse().unwrap();
            prop_assert!((read * 10f64.powi(places as i32) - value as f64).abs() < 1e-3, "{}", text);
            prop_assert!(!text.contains('.') || !text.ends_with('0'), "{}", text);
        }
    }

    #[test]
    fn every_level_is_written_as_the_nearest_thousandth() {
        for level in 0..=255u8 {
            let mut content = Content::new(1);
            content.fill_colour(Colour::grey(level));
            let text = String::from_utf8(content.finish()).unwrap();
            let read: f64 = text.trim_end_matches(" g\n").parse().unwrap();
            assert!((read - f64::from(level) / 255.0).abs() <= 0.0005, "{text}");
        }
    }

    #[test]
    fn a_space_is_put_behind_a_text_once() {
        let mut content = Content::new(1);
        content.begin_text((0, 0), false);
        content.glyph(u16::from_be_bytes(*b"ab"), 0);
        content.end_text(u16::from_be_bytes(*b"ab"));
        content.end_word(u16::from_be_bytes(*b" ("));
        content.end_word(u16::from_be_bytes(*b" ("));
        assert_eq!(content.finish(), b"BT\n0 0 Td\n[(ab \\()] TJ\nET\n");
    }
}
