//! Bytes → text. A byte that is no text costs only its own cell: it becomes U+FFFD, which no cell may hold.

use std::borrow::Cow;

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// A file as text.
pub(super) struct Decoded<'a> {
    /// The text without byte order mark; a sequence that is not text stands as U+FFFD.
    pub text: Cow<'a, str>,
    /// What it was read as.
    pub encoding: &'static Encoding,
    /// Whether some of it was not text in that encoding.
    pub damaged: bool,
    /// An encoding in which all of it would be text, where it is not in this one.
    pub perhaps: Option<&'static Encoding>,
}

/// The text of these bytes: by their byte order mark, else by the encoding asked for, else UTF-8.
///
/// Nothing is guessed: another encoding is proposed, not used, because a wrong letter in a name is worse than a
/// name that is visibly missing.
pub(super) fn decode<'a>(bytes: &'a [u8], asked: Option<&'static Encoding>) -> Decoded<'a> {
    let (encoding, mark) = match Encoding::for_bom(bytes) {
        Some(found) => found,
        None => (asked.unwrap_or(UTF_8), 0),
    };
    let (text, damaged) = encoding.decode_without_bom_handling(&bytes[mark..]);
    let unmarked = if asked.is_none() && mark == 0 {
        utf_16_without_mark(bytes)
    } else {
        None
    };
    let one_byte = || {
        (damaged && encoding == UTF_8 && !WINDOWS_1252.decode_without_bom_handling(bytes).1)
            .then_some(WINDOWS_1252)
    };
    let perhaps = unmarked.or_else(one_byte);
    Decoded {
        text,
        encoding,
        damaged,
        perhaps,
    }
}

/// UTF-16 whose byte order mark is missing: every second byte of an ASCII header is zero.
fn utf_16_without_mark(bytes: &[u8]) -> Option<&'static Encoding> {
    let start = &bytes[..bytes.len().min(64)];
    let zeros = |from: usize| {
        let (zero, all) = start
            .iter()
            .skip(from)
            .step_by(2)
            .fold((0, 0), |(zero, all), &byte| {
                (zero + usize::from(byte == 0), all + 1)
            });
        all >= 4 && zero * 10 >= all * 9
    };
    match (zeros(0), zeros(1)) {
        (false, true) => Some(UTF_16LE),
        (true, false) => Some(UTF_16BE),
        _ => None,
    }
}

/// What a file is that is no table at all, by its first bytes.
pub(super) fn other_kind_of_file(bytes: &[u8]) -> Option<&'static str> {
    [
        (&b"PK\x03\x04"[..], "a spreadsheet workbook or archive"),
        (&b"\xD0\xCF\x11\xE0"[..], "an old spreadsheet workbook"),
        (&b"%PDF"[..], "a PDF"),
        (&b"\x1F\x8B"[..], "a compressed file"),
    ]
    .into_iter()
    .find(|(start, _)| bytes.starts_with(start))
    .map(|(_, kind)| kind)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_decide_and_are_removed() {
        assert_eq!(decode(b"\xEF\xBB\xBFid", None).text, "id");
        let little = decode(b"\xFF\xFEi\0\xE9\0", None);
        assert_eq!((&*little.text, little.encoding), ("ié", UTF_16LE));
        let big = decode(b"\xFE\xFF\0i\0\xE9", None);
        assert_eq!((&*big.text, big.encoding), ("ié", UTF_16BE));
    }

    #[test]
    fn a_bad_byte_never_eats_the_separator_behind_it() {
        // 0xE9 starts a three-byte sequence in UTF-8; the comma behind it must stay.
        let decoded = decode(b"caf\xE9,next", None);
        assert_eq!(decoded.text, "caf\u{FFFD},next");
        assert!(decoded.damaged);
        assert_eq!(decoded.perhaps, Some(WINDOWS_1252));
        let decoded = decode(b"caf\xE9,next", Some(WINDOWS_1252));
        assert_eq!((&*decoded.text, decoded.damaged), ("café,next", false));
    }

    #[test]
    fn utf_16_without_mark_is_proposed() {
        let bytes: Vec<u8> = "case_id,sex".bytes().flat_map(|byte| [byte, 0]).collect();
        assert_eq!(decode(&bytes, None).perhaps, Some(UTF_16LE));
        assert_eq!(decode(b"case_id,sex", None).perhaps, None);
    }
}
