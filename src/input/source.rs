//! Files as the user named them, and how they were read.

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

impl Source {
    /// Reads a file.
    ///
    /// # Errors
    /// Where it cannot be read, with its name and the system's reason.
    pub fn open(path: &Path) -> Result<Self, InputError> {
        let name: Arc<str> = path.to_string_lossy().into();
        match std::fs::read(path) {
            Ok(bytes) => Ok(Self { name, bytes }),
            Err(error) => Err(InputError::Unreadable { file: name, error }),
        }
    }

    /// A file whose content is at hand.
    pub fn new(name: &str, bytes: impl Into<Vec<u8>>) -> Self {
        Self {
            name: name.into(),
            bytes: bytes.into(),
        }
    }
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
