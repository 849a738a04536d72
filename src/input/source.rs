//! Files as the user named them, and how they were read.

use std::fs::File;
use std::io::{self, Read, Seek};
use std::path::Path;
use std::sync::Arc;

use super::error::InputError;
use super::number::DecimalMark;

/// One input file: its name as given on the command line, and its bytes.
#[derive(Clone, Debug)]
pub struct Source {
    /// As given on the command line; messages name it so.
    pub name: Arc<str>,
    /// Its content.
    pub bytes: Vec<u8>,
}

/// The largest file that is read, in bytes (1 GiB). A table of cases has about 1 kB a row: this is a million cases, and
/// more than any centre's life. What is larger was named by mistake, and reading it would only fill the memory.
pub const LARGEST_FILE_BYTES: u64 = 1 << 30;

/// A file that was opened and is read when its turn comes: the room that one takes is there again for the next.
#[derive(Debug)]
pub struct OpenedSource {
    name: Arc<str>,
    file: File,
    is_file: bool,
    /// What the system says of its length, in bytes.
    said: u64,
}

impl OpenedSource {
    /// Opens a file of at most [`LARGEST_FILE_BYTES`].
    ///
    /// # Errors
    /// Where it cannot be opened or is larger, with its name and the reason.
    pub fn open(path: &Path) -> Result<Self, InputError> {
        let name: Arc<str> = path.to_string_lossy().into();
        let opened = File::open(path).and_then(|file| Ok((file.metadata()?, file)));
        let (found, file) = opened.map_err(|error| unreadable(&name, error))?;
        if found.len() > LARGEST_FILE_BYTES && found.is_file() {
            return Err(InputError::TooLarge { file: name });
        }
        Ok(Self {
            name,
            file,
            is_file: found.is_file(),
            said: found.len(),
        })
    }

    /// As given on the command line.
    pub(super) fn name(&self) -> &Arc<str> {
        &self.name
    }

    /// The open file.
    pub(super) fn file(&self) -> &File {
        &self.file
    }

    /// Whether it is a file, which tells its length and can be read twice, and not a pipe or a device.
    pub(super) fn is_file(&self) -> bool {
        self.is_file
    }

    /// What the system says of its length, in bytes.
    pub(super) fn said(&self) -> u64 {
        self.said
    }

    /// Reads all of it.
    ///
    /// # Errors
    /// Where it cannot be read or turns out to be larger than it may, with its name and the reason.
    pub fn read(self) -> Result<Source, InputError> {
        let Self {
            name,
            mut file,
            is_file,
            said,
        } = self;
        if is_file {
            // Some of it may have been read.
            file.rewind().map_err(|error| unreadable(&name, error))?;
        }
        match read_at_most(file, said, LARGEST_FILE_BYTES) {
            Ok(Some(bytes)) => Ok(Source { name, bytes }),
            Ok(None) => Err(InputError::TooLarge { file: name }),
            Err(error) => Err(unreadable(&name, error)),
        }
    }
}

fn unreadable(name: &Arc<str>, error: io::Error) -> InputError {
    InputError::Unreadable {
        file: Arc::clone(name),
        error,
    }
}

impl Source {
    /// Reads a file of at most [`LARGEST_FILE_BYTES`].
    ///
    /// # Errors
    /// As [`OpenedSource::open`] and [`OpenedSource::read`].
    pub fn open(path: &Path) -> Result<Self, InputError> {
        OpenedSource::open(path)?.read()
    }

    /// A file whose content is at hand.
    pub fn new(name: &str, bytes: impl Into<Vec<u8>>) -> Self {
        Self {
            name: name.into(),
            bytes: bytes.into(),
        }
    }
}

/// All bytes of a source, or `None` where there are more than this: a pipe or a device tells no length. Room is made for
/// the bytes it says it has, as far as those are allowed.
fn read_at_most(source: impl Read, said: u64, most_bytes: u64) -> io::Result<Option<Vec<u8>>> {
    let room = usize::try_from(said.min(most_bytes)).unwrap_or(0);
    let mut bytes = Vec::new();
    // One more, so that the end is found without asking for more room; too little memory is an error like any other.
    bytes.try_reserve_exact(room + 1)?;
    source.take(most_bytes + 1).read_to_end(&mut bytes)?;
    Ok((bytes.len() as u64 <= most_bytes).then_some(bytes))
}

/// How a file was read: for run.json and the first page of the cohort summary.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FileRead {
    /// As given on the command line.
    pub name: Arc<str>,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub sha256: String,
    /// Rows below the header, whether they could be read or not; blank lines are none.
    pub rows: u64,
    /// `comma`, `semicolon` or `tab`.
    pub separator: &'static str,
    /// What stands before the decimals in its numbers.
    pub decimal_mark: DecimalMark,
    /// Name of the encoding (WHATWG Encoding Standard).
    pub encoding: &'static str,
    /// The columns that were read: name, position in the row counted from 1, header as the file has it.
    pub headers: Vec<(&'static str, usize, Arc<str>)>,
}

impl FileRead {
    /// Position (counted from 1) and header of a column, where the file has it.
    pub fn header_of(&self, column: &str) -> Option<(usize, &Arc<str>)> {
        self.headers
            .iter()
            .find(|(name, ..)| *name == column)
            .map(|(_, position, header)| (*position, header))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_without_end_is_given_up_at_the_limit() {
        // Whatever it says of its length.
        for said in [0, 1000, u64::MAX] {
            assert_eq!(
                read_at_most(io::repeat(b'x'), said, 1000).expect("read"),
                None
            );
            let whole = read_at_most(io::repeat(b'x').take(1000), said, 1000).expect("read");
            assert_eq!(whole, Some(vec![b'x'; 1000]));
        }
    }
}
