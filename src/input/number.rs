//! A cell's text → a finite number, exactly as written; no thousands separator is ever guessed.

/// What stands between the whole and the decimal part.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum DecimalMark {
    /// `.`
    #[default]
    Point,
    /// `,`
    Comma,
}

impl DecimalMark {
    /// The mark itself.
    pub fn character(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }
    /// The mark in words.
    pub fn word(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
    /// The one that it is not.
    pub(super) fn other(self) -> Self {
        match self {
            Self::Point => Self::Comma,
            Self::Comma => Self::Point,
        }
    }
}

/// The longest number that is read: far more digits than a measurement has.
const LONGEST: usize = 48;

/// The number written here times ten to the power `shift`; `None` where the text is not one finite number.
///
/// A shift moves the decimal mark in the text, before any rounding: 4.85 shifted by 2 is the number that "485" is.
pub(super) fn number(text: &str, mark: DecimalMark, shift: i32) -> Option<f64> {
    if let Some((digits, decimals)) = few_digits(text, mark)
        && let Some(value) = exactly(digits, shift - decimals)
    {
        return Some(value);
    }
    let (negative, rest) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    if rest.len() > LONGEST {
        return None;
    }
    let (mantissa, exponent) = match rest.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, exponent_of(exponent)?),
        None => (rest, 0),
    };
    let (whole, decimals) = match mantissa.split_once(mark.character()) {
        Some((whole, decimals)) if all_digits(decimals) => (whole, decimals),
        Some(_) => return None,
        None => (mantissa, ""),
    };
    if !(all_digits(whole) || whole.is_empty() && !decimals.is_empty()) {
        return None;
    }
    let mut buffer = [0_u8; LONGEST + 16];
    let mut length = 0;
    let mut push = |bytes: &[u8]| {
        buffer[length..length + bytes.len()].copy_from_slice(bytes);
        length += bytes.len();
    };
    push(whole.as_bytes());
    push(b".");
    push(decimals.as_bytes());
    let exponent = exponent + shift;
    if exponent != 0 {
        push(if exponent < 0 { b"e-" } else { b"e+" });
        let size = exponent.unsigned_abs();
        push(&[100, 10, 1].map(|place| b'0' + u8::try_from(size / place % 10).unwrap_or(0)));
    }
    let value: f64 = std::str::from_utf8(&buffer[..length]).ok()?.parse().ok()?;
    // Zero has no sign on a page.
    let value = if negative && value != 0.0 {
        -value
    } else {
        value
    };
    value.is_finite().then_some(value)
}

/// The digits as a whole number and how many of them are decimals, where they are all that is written, besides one mark
/// between them: nearly every number.
fn few_digits(text: &str, mark: DecimalMark) -> Option<(u64, i32)> {
    // Fifteen digits are below 2^53.
    if text.len() > 15 {
        return None;
    }
    let mut number = 0;
    let mut decimals = None;
    for byte in text.bytes() {
        if byte.is_ascii_digit() {
            number = number * 10 + u64::from(byte - b'0');
            decimals = decimals.map(|decimals| decimals + 1);
        } else if char::from(byte) == mark.character() && decimals.is_none() {
            decimals = Some(0);
        } else {
            return None;
        }
    }
    // A mark is followed by a digit.
    match decimals {
        None if !text.is_empty() => Some((number, 0)),
        Some(decimals) if decimals > 0 => Some((number, decimals)),
        _ => None,
    }
}

/// The number these digits are, where the power of ten is a number that a double holds exactly, as it does the digits:
/// one division or multiplication of two such numbers rounds as reading the digits does (Clinger 1990, the short way).
fn exactly(digits: u64, exponent: i32) -> Option<f64> {
    const POWERS: [f64; 16] = [
        1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
    ];
    let power = *POWERS.get(exponent.unsigned_abs() as usize)?;
    #[expect(clippy::cast_precision_loss, reason = "fifteen digits are below 2^53")]
    let digits = digits as f64;
    Some(if exponent < 0 {
        digits / power
    } else {
        digits * power
    })
}

fn all_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// A power of ten of at most three digits.
fn exponent_of(text: &str) -> Option<i32> {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    (all_digits(digits) && digits.len() <= 3)
        .then(|| text.parse().ok())?
        .filter(|exponent: &i32| exponent.abs() <= 400)
}

/// Whether the text is digits in groups of three, or could be: `1,234`, `1.234`, `1 234`, `1'234`.
pub(super) fn grouped(text: &str) -> bool {
    let text = text.trim_start_matches(['+', '-', '\u{2212}']);
    let separators = [',', '.', ' ', '\u{a0}', '\u{202f}', '\'', '\u{2019}'];
    let mut groups = text.split(separators);
    let first = groups.next().unwrap_or("");
    let mut several = false;
    all_digits(first)
        && first.len() <= 3
        && !first.starts_with('0')
        && groups.all(|group| {
            several = true;
            all_digits(group) && group.len() == 3
        })
        && several
}

/// Why this text is not a number, as a hint for whoever mends the file; empty where nothing can be said.
pub(super) fn why_not(text: &str, mark: DecimalMark) -> &'static str {
    let lower = text.to_lowercase();
    if number(text, mark.other(), 0).is_some() && !grouped(text) {
        return match mark {
            DecimalMark::Point => "; the decimal mark of this file is a point",
            DecimalMark::Comma => "; the decimal mark of this file is a comma",
        };
    }
    if grouped(text) || text.contains([',', '.', '\'', '\u{2019}']) && separated_digits(text) {
        return "; without thousands separators";
    }
    if matches!(
        lower.trim_start_matches(['+', '-']),
        "nan" | "inf" | "infinity"
    ) || lower.contains(['e']) && looks_numeric(&lower)
    {
        return "; finite";
    }
    if text.starts_with(['<', '>', '\u{2264}', '\u{2265}', '~', '\u{2248}']) {
        return "; a bound or an estimate is not a measurement";
    }
    if text.starts_with(|character: char| character.is_ascii_digit()) {
        return "; nothing but the number, without unit or second value";
    }
    ""
}

fn separated_digits(text: &str) -> bool {
    text.chars()
        .all(|character| character.is_ascii_digit() || ",.'\u{2019} +-".contains(character))
        && text.matches([',', '.', '\'', '\u{2019}']).count() > 1
}

fn looks_numeric(text: &str) -> bool {
    text.starts_with(|character: char| character.is_ascii_digit())
        && text
            .chars()
            .all(|character| character.is_ascii_digit() || "e+-.,".contains(character))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::DecimalMark::{Comma, Point};
    use super::*;

    #[test]
    fn plain_numbers() {
        for (text, mark, expected) in [
            ("485", Point, 485.0),
            ("4.85", Point, 4.85),
            ("4,85", Comma, 4.85),
            ("+1", Point, 1.0),
            ("-1.5", Point, -1.5),
            ("\u{2212}1.5", Point, -1.5),
            (".5", Point, 0.5),
            ("1e2", Point, 100.0),
            ("1.5E-1", Point, 0.15),
            ("007", Point, 7.0),
        ] {
            assert_eq!(number(text, mark, 0), Some(expected), "{text}");
        }
        assert!(number("-0", Point, 0).unwrap().is_sign_positive());
    }

    #[test]
    fn everything_else_is_refused() {
        for text in [
            "", "-", "+", ".", "5.", "1,234", "1.2.3", "1 234", "nan", "NaN", "inf", "-inf",
            "1e999", "1e", "e5", "0x10", "1_000", "55%", "12 mm", "--1", "+-1", "१२", "1e+-2",
        ] {
            assert_eq!(number(text, Point, 0), None, "{text}");
        }
        assert_eq!(number("4.85", Comma, 0), None);
        assert_eq!(number(&"1".repeat(1_000_000), Point, 0), None);
    }

    #[test]
    fn the_hint_names_the_fault() {
        assert!(why_not("1,234", Point).contains("thousands"));
        assert!(why_not("1.234,5", Comma).contains("thousands"));
        assert!(why_not("1 234", Point).contains("thousands"));
        assert!(why_not("4,85", Point).contains("is a point"));
        assert!(why_not("4.85", Comma).contains("is a comma"));
        assert!(why_not("Infinity", Point).contains("finite"));
        assert!(why_not("1e999", Point).contains("finite"));
        assert!(why_not("<5", Point).contains("bound"));
        assert!(why_not("12 mm", Point).contains("without unit"));
        assert_eq!(why_not("good", Point), "");
    }

    proptest! {
        /// Moving the mark in the text gives the very number that the moved text is.
        #[test]
        fn prop_a_shift_equals_the_shifted_text(whole in 0_u32..100_000, decimals in 0_u32..100) {
            let short = format!("{whole}.{decimals:02}");
            let shifted = format!("{whole}{decimals:02}");
            prop_assert_eq!(number(&short, Point, 2), number(&shifted, Point, 0));
            prop_assert_eq!(number(&shifted, Point, -2), number(&short, Point, 0));
        }

        /// Whatever is taken is what the standard library reads from the same text.
        #[test]
        fn prop_taken_as_written(value in prop::num::f64::NORMAL) {
            let text = format!("{value}");
            prop_assert!(text.len() > LONGEST || number(&text, Point, 0) == Some(value));
        }

        /// The short way gives what the standard library reads, at any number of digits and any exponent.
        #[test]
        fn prop_few_digits_are_read_as_the_standard_library_reads_them(
            whole in "[0-9]{1,9}", decimals in "[0-9]{1,9}", exponent in -25_i32..25,
        ) {
            for text in [format!("{whole}.{decimals}"), format!("{whole}.{decimals}e{exponent}"), format!("-{whole}e{exponent}")] {
                let read: f64 = text.parse().unwrap();
                prop_assert_eq!(number(&text, Point, 0), Some(read), "{}", text);
            }
        }

        #[test]
        fn prop_never_panics(text in "\\PC{0,20}") {
            let _ = (number(&text, Point, 0), number(&text, Comma, 2), why_not(&text, Point), grouped(&text));
        }
    }
}
