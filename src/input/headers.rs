//! The header row: which position of a row is which column.

use std::sync::Arc;

use super::dialect::{Dialect, HeaderRule};
use super::findings::Findings;
use super::hidden::shortened;
use super::loose::{loose_form, suggestion};
use super::spec::Specs;
use super::split::RawRow;
use crate::diagnostic::{Code, Severity};

/// What one position of a row is read as.
#[derive(Clone, Copy)]
pub(super) struct Slot<'d> {
    /// Position of the cell in the row, counted from 0.
    pub position: usize,
    /// Where its column stands in the dictionary.
    pub field: usize,
    /// What the site file says of this header.
    pub rule: Option<&'d HeaderRule>,
}

/// The header row, understood.
#[derive(Clone)]
pub(super) struct Headers<'d> {
    /// Every header as the file has it, without those behind the last that is not blank.
    pub names: Vec<Arc<str>>,
    /// Number of cells of the header row, blank ones at its end included.
    pub cells: usize,
    /// The positions that are read, in their order; one a column, unless the column stands there twice.
    pub slots: Vec<Slot<'d>>,
    /// Line of the header.
    pub line: u64,
}

/// Unknown headers that a suggestion is looked for; a file with more is not a table of this program.
const SUGGESTIONS: usize = 300;

impl<'d> Headers<'d> {
    /// Understands the header row.
    pub fn read(
        row: &RawRow<'_, '_>,
        file: &str,
        specs: &Specs,
        dialect: &'d Dialect,
        findings: &mut Findings,
    ) -> Self {
        let mut names: Vec<Arc<str>> = (0..row.len()).map(|i| row.cell(i).trim().into()).collect();
        let cells = names.len();
        while names.last().is_some_and(|name| name.is_empty()) {
            names.pop();
        }
        let mut slots = Vec::new();
        let mut unknown = 0;
        for (position, name) in names.iter().enumerate() {
            if name.is_empty() {
                continue;
            }
            let rule = rule_of(name, file, dialect);
            let field = match rule {
                Some(rule) => specs.position(rule.column),
                None => specs.position(name),
            };
            if let Some(field) = field {
                if let Some(conversion) = rule.and_then(|rule| rule.conversion) {
                    let taken = format!(
                        "numbers in {}, taken as {} (site file)",
                        conversion.from, conversion.to
                    );
                    findings.at(row.line, position, name).add(
                        Severity::Note,
                        Code::HowRead,
                        shortened(name),
                        taken,
                    );
                }
                slots.push(Slot {
                    position,
                    field,
                    rule,
                });
                continue;
            }
            unknown += 1;
            let meant = (unknown <= SUGGESTIONS)
                .then(|| suggestion(name, specs.names()))
                .flatten();
            let expected = match meant {
                Some(meant) => format!("a column of the dictionary ({meant}?): ignored"),
                None => "a column of the dictionary: ignored".to_owned(),
            };
            findings.at(row.line, position, name).add(
                Severity::Warning,
                Code::UnknownColumn,
                shortened(name),
                expected,
            );
        }
        Self {
            names,
            cells,
            slots,
            line: row.line,
        }
    }

    /// The first position of this column.
    pub fn position_of(&self, field: usize) -> Option<usize> {
        self.slots
            .iter()
            .find(|slot| slot.field == field)
            .map(|slot| slot.position)
    }

    /// The header nearest to a column that is missing.
    pub fn nearest_to(&self, column: &str) -> Option<&str> {
        suggestion(
            column,
            self.names.iter().take(SUGGESTIONS).map(|name| &**name),
        )
    }
}

/// Whether a header names a column: one of the dictionary's, or one of the centre's own.
pub(super) fn is_known(name: &str, file: &str, specs: &Specs, dialect: &Dialect) -> bool {
    specs.position(name).is_some() || rule_of(name.trim(), file, dialect).is_some()
}

fn rule_of<'d>(name: &str, file: &str, dialect: &'d Dialect) -> Option<&'d HeaderRule> {
    let rules = || dialect.headers.iter().filter(|rule| rule.file == file);
    rules().find(|rule| rule.header == name).or_else(|| {
        let form = loose_form(name);
        rules().find(|rule| loose_form(&rule.header) == form)
    })
}
