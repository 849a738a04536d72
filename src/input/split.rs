//! Text → rows of cells with true line numbers (RFC 4180, plus `;` and tab as separator and CR, LF or CRLF as line end).
//!
//! Done here and not by a library because of one fault that must never pass unseen: a quotation mark that is opened
//! and not closed. A lenient reader takes the following rows for text of that cell, often with the right number of
//! cells, and the patients in them are gone. Here such a row is broken, and reading goes on with the next line.

use std::borrow::Cow;

/// Why a row cannot be split into cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Broken {
    /// A quotation mark is opened and never closed.
    Unclosed,
    /// Text follows a closing quotation mark.
    TextAfterQuote,
}

/// One cell as a range of the text.
#[derive(Clone, Copy, Debug)]
struct Span {
    start: usize,
    end: usize,
    /// Holds doubled quotation marks, each of which stands for one.
    doubled: bool,
}

/// The rows of a text, one after the other; blank lines are skipped.
pub(super) struct Splitter<'a> {
    text: &'a str,
    separator: u8,
    at: usize,
    line: u64,
    /// Whether more text follows, so that a row that reaches to the end may be longer.
    more: bool,
    spans: Vec<Span>,
}

/// One row: its cells are slices of the text.
pub(super) struct RawRow<'r, 'a> {
    /// Line on which the row starts, counted from 1.
    pub line: u64,
    /// Set where the row could not be split; the cells are then those of its first line, quotation marks included.
    pub broken: Option<Broken>,
    text: &'a str,
    spans: &'r [Span],
}

impl<'a> RawRow<'_, 'a> {
    /// Number of cells.
    pub fn len(&self) -> usize {
        self.spans.len()
    }

    /// Whether nothing stands at this position, not even white space, as in half of all cells.
    #[inline(always)]
    pub fn is_empty_at(&self, position: usize) -> bool {
        let span = self.spans.get(position);
        span.is_none_or(|span| span.start == span.end)
    }

    /// The cell at this position, counted from 0, without its quotation marks; empty beyond the row's end.
    pub fn cell(&self, position: usize) -> Cow<'a, str> {
        let Some(span) = self.spans.get(position) else {
            return Cow::Borrowed("");
        };
        let slice = &self.text[span.start..span.end];
        if span.doubled {
            Cow::Owned(slice.replace("\"\"", "\""))
        } else {
            Cow::Borrowed(slice)
        }
    }

    /// Its text from its first cell to its last.
    pub fn text(&self) -> &'a str {
        match self.spans {
            [first, .., last] => &self.text[first.start..last.end],
            [only] => &self.text[only.start..only.end],
            [] => "",
        }
    }

    /// Whether every cell from this position on holds nothing but white space.
    pub fn blank_from(&self, position: usize) -> bool {
        self.spans.iter().skip(position).all(|span| {
            let slice = &self.text[span.start..span.end];
            slice.trim().is_empty()
        })
    }
}

impl<'a> Splitter<'a> {
    /// Reads `text`, whose first line has the number `first_line`.
    pub fn new(text: &'a str, separator: u8, first_line: u64) -> Self {
        Self {
            text,
            separator,
            at: 0,
            line: first_line,
            more: false,
            spans: Vec::new(),
        }
    }

    /// Where more text follows, a row that reaches to the end of this is not split: it may be longer.
    pub fn continued_if(self, more: bool) -> Self {
        Self { more, ..self }
    }

    /// How many bytes of the text are behind: all but a row that is to be continued.
    pub fn behind(&self) -> usize {
        self.at
    }

    /// The line on which the rest begins.
    pub fn line(&self) -> u64 {
        self.line
    }

    /// The next row that is not a blank line; none where it is to be continued.
    pub fn next_row(&mut self) -> Option<RawRow<'_, 'a>> {
        loop {
            if self.at >= self.text.len() {
                return None;
            }
            let (start, line) = (self.at, self.line);
            self.spans.clear();
            let split = self.split_row();
            let reached = match split {
                Err(Broken::Unclosed) => true,
                // Behind a carriage return the line feed may be still to come.
                _ => self.at >= self.text.len(),
            };
            if self.more && reached {
                (self.at, self.line) = (start, line);
                return None;
            }
            let broken = split.err();
            if broken.is_some() {
                self.split_first_line(start);
            }
            let blank =
                matches!(self.spans[..], [span] if span.start == span.end && span.start == start);
            if !blank {
                return Some(RawRow {
                    line,
                    broken,
                    text: self.text,
                    spans: &self.spans,
                });
            }
        }
    }

    fn byte(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    /// Steps over CR, LF or CRLF.
    fn step_over_line_end(&mut self) {
        let crlf = self.text.as_bytes()[self.at..].starts_with(b"\r\n");
        self.at += if crlf { 2 } else { 1 };
        self.line += 1;
    }

    /// Moves on to the next byte that ends a line or is this one, or to the end.
    fn find(&mut self, stop: u8) {
        let mut rest = &self.text.as_bytes()[self.at..];
        // Most cells end within eight bytes.
        while let Some((word, behind)) = rest.split_first_chunk() {
            if let Some(at) = first_of([stop, b'\n', b'\r'], *word) {
                self.at += at;
                return;
            }
            self.at += word.len();
            rest = behind;
        }
        let stops = |byte: &u8| *byte == stop || matches!(byte, b'\n' | b'\r');
        self.at += rest.iter().position(stops).unwrap_or(rest.len());
    }

    fn split_row(&mut self) -> Result<(), Broken> {
        // Where to go on should the row turn out broken: behind its first line end, wherever that is.
        let mut resume = None;
        loop {
            let split = if self.byte() == Some(b'"') {
                self.quoted_cell(&mut resume)
            } else {
                let (start, separator) = (self.at, self.separator);
                self.find(separator);
                self.spans.push(Span {
                    start,
                    end: self.at,
                    doubled: false,
                });
                Ok(())
            };
            if let Err(broken) = split {
                match resume {
                    Some((at, line)) => (self.at, self.line) = (at, line),
                    None => {
                        self.find(b'\n');
                        if self.byte().is_some() {
                            self.step_over_line_end();
                        }
                    }
                }
                return Err(broken);
            }
            match self.byte() {
                Some(byte) if byte == self.separator => self.at += 1,
                Some(_) => {
                    self.step_over_line_end();
                    return Ok(());
                }
                None => return Ok(()),
            }
        }
    }

    fn quoted_cell(&mut self, resume: &mut Option<(usize, u64)>) -> Result<(), Broken> {
        self.at += 1;
        let start = self.at;
        let mut doubled = false;
        loop {
            self.find(b'"');
            match self.byte() {
                None => return Err(Broken::Unclosed),
                Some(b'"') if self.text.as_bytes().get(self.at + 1) == Some(&b'"') => {
                    doubled = true;
                    self.at += 2;
                }
                Some(b'"') => break,
                Some(_) => {
                    self.step_over_line_end();
                    resume.get_or_insert((self.at, self.line));
                }
            }
        }
        self.spans.push(Span {
            start,
            end: self.at,
            doubled,
        });
        self.at += 1;
        match self.byte() {
            None | Some(b'\n' | b'\r') => Ok(()),
            Some(byte) if byte == self.separator => Ok(()),
            Some(_) => Err(Broken::TextAfterQuote),
        }
    }

    /// The cells of the line that starts here, as far as they can be told without minding quotation marks.
    fn split_first_line(&mut self, start: usize) {
        self.spans.clear();
        let rest = &self.text[start..];
        let line = &rest[..rest.find(['\n', '\r']).unwrap_or(rest.len())];
        let mut at = start;
        for cell in line.split(char::from(self.separator)) {
            self.spans.push(Span {
                start: at,
                end: at + cell.len(),
                doubled: false,
            });
            at += cell.len() + 1;
        }
    }
}

/// Where the first byte stands that is one of these three. All eight are looked at at once: of a number less one, a
/// byte's highest bit becomes one where the byte was zero (below the first zero nowhere else).
fn first_of(stops: [u8; 3], word: [u8; 8]) -> Option<usize> {
    const ONES: u64 = u64::from_ne_bytes([1; 8]);
    let word = u64::from_le_bytes(word);
    let found = stops.into_iter().fold(0, |found, stop| {
        let zero_where_it_is = word ^ (ONES * u64::from(stop));
        found | zero_where_it_is.wrapping_sub(ONES) & !zero_where_it_is
    });
    let found = found & (ONES << 7);
    (found != 0).then_some(found.trailing_zeros() as usize / 8)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn rows(text: &str, separator: u8) -> Vec<(u64, Option<Broken>, Vec<String>)> {
        let mut splitter = Splitter::new(text, separator, 1);
        let mut rows = Vec::new();
        while let Some(row) = splitter.next_row() {
            let cells = (0..row.len()).map(|i| row.cell(i).into_owned()).collect();
            rows.push((row.line, row.broken, cells));
        }
        rows
    }

    fn cells(cells: &[&str]) -> Vec<String> {
        cells.iter().map(|cell| (*cell).to_owned()).collect()
    }

    /// The examples of RFC 4180, section 2, points 1 to 7.
    #[test]
    fn rfc_4180_examples() {
        for text in [
            "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n",
            "aaa,bbb,ccc\r\nzzz,yyy,xxx",
            "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx",
        ] {
            let expected = vec![
                (1, None, cells(&["aaa", "bbb", "ccc"])),
                (2, None, cells(&["zzz", "yyy", "xxx"])),
            ];
            assert_eq!(rows(text, b','), expected);
        }
        let expected = vec![
            (1, None, cells(&["aaa", "b\r\nbb", "ccc"])),
            (3, None, cells(&["zzz", "yyy", "xxx"])),
        ];
        assert_eq!(
            rows("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", b','),
            expected
        );
        assert_eq!(
            rows("\"aaa\",\"b\"\"bb\",\"ccc\"", b','),
            vec![(1, None, cells(&["aaa", "b\"bb", "ccc"]))]
        );
    }

    #[test]
    fn every_line_end_counts_once_and_blank_lines_are_skipped() {
        for end in ["\n", "\r\n", "\r"] {
            let text = ["a,b", "", "1,\"x", "y\"", "", "", "2,3"].join(end);
            let lines: Vec<u64> = rows(&text, b',').iter().map(|row| row.0).collect();
            assert_eq!(lines, [1, 3, 7], "{end:?}");
        }
    }

    #[test]
    fn a_mark_left_open_costs_its_own_line_only() {
        // The third line opens a mark that the fifth would close: a lenient reader loses the fourth.
        let text = "id,note\nA1,fine\nA2,\"left open\nA3,lost?\nA4,\"closed\"\nA5,end\n";
        let rows = rows(text, b',');
        assert_eq!(
            rows[2],
            (
                3,
                Some(Broken::TextAfterQuote),
                cells(&["A2", "\"left open"])
            )
        );
        assert_eq!(rows[3], (4, None, cells(&["A3", "lost?"])));
        assert_eq!(rows[4], (5, None, cells(&["A4", "closed"])));
        assert_eq!(rows[5], (6, None, cells(&["A5", "end"])));
        let rows = self::rows("id,note\nA2,\"left open\nA3,x\n", b',');
        assert_eq!(rows[1].1, Some(Broken::Unclosed));
        assert_eq!(rows[2], (3, None, cells(&["A3", "x"])));
    }

    #[test]
    fn marks_inside_an_unquoted_cell_are_text() {
        assert_eq!(
            rows("a,5\" wide", b','),
            vec![(1, None, cells(&["a", "5\" wide"]))]
        );
        assert_eq!(rows("a;\n;\n", b';')[1].2, cells(&["", ""]));
        assert_eq!(rows("\"\"\nx", b',')[0].2, cells(&[""]));
    }

    proptest! {
        /// Against the standard library, byte by byte.
        #[test]
        fn prop_the_first_stop_is_found_among_eight(
            word in prop::array::uniform8(prop_oneof![any::<u8>(), 0_u8..16, prop::sample::select(b",;\"-+".to_vec())]),
            stop in prop::sample::select(b",;\t\"".to_vec()),
        ) {
            let stops = [stop, b'\n', b'\r'];
            prop_assert_eq!(first_of(stops, word), word.iter().position(|byte| stops.contains(byte)));
        }

        /// Against the csv crate, an independent reader: the same cells for every table that its writer makes.
        #[test]
        fn prop_splits_as_the_csv_crate_does(
            table in prop::collection::vec(prop::collection::vec("[a-z0-9 ,;\"\n\r\t.é]{0,8}", 3), 1..6),
            separator in prop::sample::select(vec![b',', b';', b'\t']),
            crlf in any::<bool>(),
        ) {
            let terminator = if crlf { csv::Terminator::CRLF } else { csv::Terminator::Any(b'\n') };
            let mut writer = csv::WriterBuilder::new().delimiter(separator).terminator(terminator).from_writer(Vec::new());
            for row in &table { writer.write_record(row).unwrap(); }
            let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            let ours = rows(&text, separator);
            prop_assert!(ours.iter().all(|row| row.1.is_none()));
            prop_assert_eq!(ours.into_iter().map(|row| row.2).collect::<Vec<_>>(), table);
        }

        /// Any text: no panic, no row without end, every line at most once.
        #[test]
        fn prop_any_text_is_split(text in "[a\",;\n\r\t]{0,60}", separator in prop::sample::select(vec![b',', b';', b'\t'])) {
            let rows = rows(&text, separator);
            prop_assert!(rows.windows(2).all(|pair| pair[0].0 < pair[1].0));
        }
    }
}
