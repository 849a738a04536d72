//! What is wrong with a site file, every fault at its line and column.

use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct SiteFault {
    /// Line, counted from 1.
    pub line: usize,
    /// Character in the line, counted from 1.
    pub column: usize,
    /// What is wrong, and what was meant.
    pub message: String,
}

/// A site file that cannot be used. All its faults are told at once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SiteError {
    /// The file as the user named it.
    pub file: Arc<str>,
    /// Its faults, in the order of the file.
    pub faults: Vec<SiteFault>,
}

impl fmt::Display for SiteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (position, fault) in self.faults.iter().enumerate() {
            if position > 0 {
                writeln!(f)?;
            }
            write!(
                f,
                "{}:{}:{}: {}",
                self.file, fault.line, fault.column, fault.message
            )?;
        }
        Ok(())
    }
}

impl std::error::Error for SiteError {}

/// Faults of one text, collected.
pub(super) struct Faults<'t> {
    text: &'t str,
    list: Vec<SiteFault>,
}

impl<'t> Faults<'t> {
    /// No faults yet.
    pub fn new(text: &'t str) -> Self {
        Self {
            text,
            list: Vec::new(),
        }
    }

    /// Notes a fault at these bytes of the text.
    pub fn add(&mut self, span: Range<usize>, message: impl Into<String>) {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        self.list.push(SiteFault {
            line: before.matches('\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
            message: message.into(),
        });
    }

    /// The faults, in the order of the file.
    pub fn into_sorted(mut self) -> Vec<SiteFault> {
        self.list.sort();
        self.list
    }
}
