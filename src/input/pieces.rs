//! The rows of a large file without holding its text: it is read a piece at a time, and of the pieces behind only the
//! row that is not at its end is kept.
//!
//! Only for what a large file nearly always is: UTF-8 throughout, and with a beginning that shows how it is made up.
//! Whatever else a file may be shows when it is held as a whole, and so it is read wherever this gives up.

use std::fs::File;
use std::io::{Read, Seek};

use encoding_rs::{Encoding, UTF_8};
use sha2::{Digest, Sha256};

use super::encoding::{Decoded, decode};
use super::separator::Start;
use super::source::{LARGEST_FILE_BYTES, OpenedSource};
use super::split::{RawRow, Splitter};

/// Bytes read at a time. A smaller file is not read in pieces.
const PIECE: usize = 1 << 18;

/// A file that is read in pieces, as often as is asked for.
pub(super) struct Pieces<'f> {
    file: &'f File,
    /// Its beginning, up to the end of a line.
    beginning: Vec<u8>,
    /// What the system says of its length, in bytes.
    said: u64,
    piece: usize,
}

impl<'f> Pieces<'f> {
    /// The beginning of this file; `None` where it is small, or no file that can be read twice.
    pub fn of(source: &'f OpenedSource) -> Option<Self> {
        Self::of_size(source, PIECE)
    }

    fn of_size(source: &'f OpenedSource, piece: usize) -> Option<Self> {
        if !source.is_file() || source.said() <= piece as u64 {
            return None;
        }
        let mut file = source.file();
        file.rewind().ok()?;
        let mut beginning = Vec::new();
        read_on(file, piece, &mut beginning)?;
        let line_end = beginning
            .iter()
            .rposition(|byte| matches!(byte, b'\n' | b'\r'))?;
        beginning.truncate(line_end + 1);
        Some(Self {
            file,
            beginning,
            said: source.said(),
            piece,
        })
    }

    /// Its beginning as text; `None` where that is not UTF-8, or asked for in another encoding.
    pub fn beginning(&self, asked: Option<&'static Encoding>) -> Option<Decoded<'_>> {
        Some(decode(&self.beginning, asked))
            .filter(|decoded| decoded.encoding == UTF_8 && !decoded.damaged)
    }

    /// What the system says of the length of the file, in bytes.
    pub fn said(&self) -> u64 {
        self.said
    }

    /// Shows every row, the header first, and gives the SHA-256 of the file; `None` where it cannot be read, or not so.
    pub fn each_row(&self, start: Start, mut see: impl FnMut(&RawRow<'_, '_>)) -> Option<[u8; 32]> {
        let mut file = self.file;
        file.rewind().ok()?;
        let mark = Encoding::for_bom(&self.beginning).map_or(0, |(_, length)| length);
        let mut digest = Sha256::new();
        let mut window = Vec::with_capacity(self.piece * 2);
        let (mut behind, mut line) = (mark + start.offset, start.line);
        let (mut wanted, mut total) = (self.piece, 0);
        loop {
            let known = window.len();
            let more = read_on(file, wanted, &mut window)?;
            digest.update(&window[known..]);
            total += (window.len() - known) as u64;
            if total > LARGEST_FILE_BYTES {
                return None;
            }
            let text = whole_characters(window.get(behind..)?, more)?;
            let mut rows = Splitter::new(text, start.separator, line).continued_if(more);
            while let Some(row) = rows.next_row() {
                see(&row);
            }
            if !more {
                return Some(digest.finalize().into());
            }
            behind += rows.behind();
            line = rows.line();
            // A row that is longer than what is held: twice as much each time, so that all of it is gone through but twice.
            wanted = if behind == 0 {
                window.len()
            } else {
                self.piece
            };
            window.drain(..behind);
            behind = 0;
        }
    }
}

/// Reads so many bytes behind those that were read; whether there may be more. `None` where the system refuses.
fn read_on(file: &File, wanted: usize, bytes: &mut Vec<u8>) -> Option<bool> {
    let read = file.take(wanted as u64).read_to_end(bytes).ok()?;
    Some(read == wanted)
}

/// The text of these bytes, without a character at their end of which a part is still to come.
fn whole_characters(bytes: &[u8], more: bool) -> Option<&str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text),
        Err(error) if more && error.error_len().is_none() => {
            std::str::from_utf8(&bytes[..error.valid_up_to()]).ok()
        }
        Err(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use proptest::prelude::*;

    use super::super::separator::Beginning;
    use super::*;

    /// Line, what is broken, cells.
    type Seen = (u64, String, Vec<String>);

    fn seen(row: &RawRow<'_, '_>) -> Seen {
        let cells = (0..row.len()).map(|at| row.cell(at).into_owned());
        (row.line, format!("{:?}", row.broken), cells.collect())
    }

    /// The rows of these bytes read in pieces of this size, and the digest; `None` where they cannot be read so.
    fn in_pieces(bytes: &[u8], piece: usize, start: Start) -> Option<(Vec<Seen>, [u8; 32])> {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("cases.csv");
        fs::write(&path, bytes).expect("written");
        let opened = OpenedSource::open(&path).expect("opened");
        let pieces = Pieces::of_size(&opened, piece)?;
        let mut rows = Vec::new();
        let digest = pieces.each_row(start, |row| rows.push(seen(row)))?;
        // As often as is asked for.
        let mut again = 0;
        pieces.each_row(start, |_| again += 1)?;
        assert_eq!(again, rows.len());
        Some((rows, digest))
    }

    const START: Start = Start {
        separator: b',',
        offset: 0,
        line: 1,
    };

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        /// The same rows as of the whole text, wherever the pieces end: within a cell, a character, a line end, between two
        /// quotation marks, before a quotation mark that is never closed.
        #[test]
        fn prop_rows_are_those_of_the_whole(
            text in "(\u{FEFF})?([ab,]{0,3}(\"|\"\"|\r\n|\n|\r|é|\u{1F600}|,\"|\",|;)){0,30}",
            piece in 1_usize..40,
        ) {
            let bare = text.strip_prefix('\u{FEFF}').unwrap_or(&text);
            let mut whole = Vec::new();
            let mut rows = START.rows(Beginning::whole(bare));
            while let Some(row) = rows.next_row() {
                whole.push(seen(&row));
            }
            if let Some((rows, digest)) = in_pieces(text.as_bytes(), piece, START) {
                prop_assert_eq!(rows, whole);
                prop_assert_eq!(digest, <[u8; 32]>::from(Sha256::digest(&text)));
            } else {
                let first = &text.as_bytes()[..piece.min(text.len())];
                prop_assert!(text.len() <= piece || !first.iter().any(|byte| b"\r\n".contains(byte)));
            }
        }
    }

    #[test]
    fn bytes_that_are_no_text_are_seen_wherever_they_stand() {
        let mut bytes = "id,a\n1,é\n2,x\n".repeat(3).into_bytes();
        assert!(in_pieces(&bytes, 8, START).is_some());
        for at in 8..bytes.len() {
            let before = std::mem::replace(&mut bytes[at], 0xFF);
            assert!(in_pieces(&bytes, 8, START).is_none(), "{at}");
            bytes[at] = before;
        }
        // A character of which the end is missing.
        bytes.truncate(bytes.len() - 1);
        bytes.extend("é".as_bytes());
        bytes.pop();
        assert!(in_pieces(&bytes, 8, START).is_none());
    }

    #[test]
    fn a_small_file_and_one_without_a_line_end_are_held() {
        assert!(in_pieces(b"id,a\n1,2\n", 9, START).is_none());
        assert!(in_pieces(b"id,a,b,c,d\n1", 8, START).is_none());
        assert!(in_pieces(b"id,a\n1,2\n3", 9, START).is_some());
    }
}
