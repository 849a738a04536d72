//! The few things that leave nothing to read.

use std::sync::Arc;

use thiserror::Error;

/// A file that is no table of this program. Everything else is a finding, and reading goes on.
#[derive(Debug, Error)]
pub enum InputError {
    /// The system does not give it.
    #[error("{file}: cannot be read: {error}")]
    Unreadable {
        /// The file.
        file: Arc<str>,
        /// The system's reason.
        error: std::io::Error,
    },
    /// It is larger than any table of cases is.
    #[error(
        "{file}: larger than 1 GiB, which no table of cases is; is it the file that was meant? Otherwise give it in parts"
    )]
    TooLarge {
        /// The file.
        file: Arc<str>,
    },
    /// It is something else by its first bytes.
    #[error("{file}: this is {kind}, not a CSV file; save the table as CSV (UTF-8) and give that")]
    OtherKind {
        /// The file.
        file: Arc<str>,
        /// What it is.
        kind: &'static str,
    },
    /// It is empty, or has only blank lines.
    #[error("{file}: the file is empty; its first line must name the columns")]
    NoHeader {
        /// The file.
        file: Arc<str>,
    },
    /// A quotation mark of the header is not closed.
    #[error("{file}:{line}: a quotation mark in the header is not closed, or text follows it")]
    BrokenHeader {
        /// The file.
        file: Arc<str>,
        /// Its header's line.
        line: u64,
    },
    /// No header is the key's.
    #[error("{file}: the first line names no column {key} (read with {separator} as separator){}{}",
        .meant.as_ref().map_or_else(String::new, |meant| format!("; is it {meant:?}?")),
        .encoding.map_or_else(String::new, |name| format!("; the file looks like {name}: give --encoding {}", name.to_lowercase())))]
    NoKey {
        /// The file.
        file: Arc<str>,
        /// `case_id` or `device_id`.
        key: String,
        /// The separator it was read with.
        separator: &'static str,
        /// The header that was perhaps meant.
        meant: Option<String>,
        /// The encoding it is perhaps in.
        encoding: Option<&'static str>,
    },
    /// Two columns of the key say different things.
    #[error(
        "{file}: the column {key} stands in the header twice, and the two differ; no row can be told from another"
    )]
    KeyTwice {
        /// The file.
        file: Arc<str>,
        /// `case_id` or `device_id`.
        key: String,
    },
    /// No file was given.
    #[error("no cases file was given")]
    NoFile,
}
