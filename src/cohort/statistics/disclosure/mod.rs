//! Hiding small counts in tables that leave the house.

mod ledger;

use ledger::{Entry, Kind, Ledger};
use std::fmt;

/// The usual threshold: counts of 1 to 4 are hidden. A house rule, not a law; 11 hides 1 to 10.
pub const USUAL_THRESHOLD: usize = 5;

/// The least threshold that hides anything: with zeros shown, "below 2" could only be 1.
const LEAST_THRESHOLD: usize = 3;

/// A count as released.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Released {
    /// Shown as it is; zeros are always shown outside hidden groups.
    Count(usize),
    /// Hidden because it lies between 1 and the threshold, which is named.
    Below(usize),
    /// Hidden so that another count cannot be worked out.
    Suppressed,
}

impl Released {
    /// The count, if it is shown.
    #[must_use]
    pub fn count(self) -> Option<usize> {
        match self {
            Self::Count(count) => Some(count),
            Self::Below(_) | Self::Suppressed => None,
        }
    }
}

impl fmt::Display for Released {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Count(count) => write!(f, "{count}"),
            Self::Below(threshold) => write!(f, "<{threshold}"),
            Self::Suppressed => f.write_str("suppressed"),
        }
    }
}

/// A row of counts with its total, as released.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReleasedRow {
    /// The counts in their order.
    pub cells: Vec<Released>,
    /// Their total.
    pub total: Released,
}

impl ReleasedRow {
    /// Whether every count and the total are shown. If not, no percentage, limit, bar or label
    /// built on a hidden one may be shown either.
    #[must_use]
    pub fn is_complete(&self) -> bool {
        self.total.count().is_some() && self.cells.iter().all(|cell| cell.count().is_some())
    }
}

/// A two-way table with its margins, as released.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReleasedTable {
    /// The rows with their totals.
    pub rows: Vec<ReleasedRow>,
    /// Totals of the columns.
    pub column_totals: Vec<Released>,
    /// Total of the table.
    pub total: Released,
}

/// Hides the small counts of a row whose total is shown, and as many more as keep them from being
/// worked out from the rest.
///
/// A threshold of 0 or 1 hides nothing; 2 is read as 3, since with zeros shown "below 2" is 1.
///
/// # Definition
/// Counts from 1 to threshold − 1 are hidden; zeros are shown. While a hidden count could have
/// one value only, given everything shown and the range its mark implies, the smallest count
/// still shown that is not 0 is hidden too; when none is left, the total. A row whose total is
/// itself small is hidden whole.
#[must_use]
pub fn release_row(counts: &[usize], threshold: usize) -> ReleasedRow {
    let threshold = effective(threshold);
    let total: usize = counts.iter().sum();
    let mut ledger = Ledger::new(2, threshold);
    for &count in counts {
        ledger.add(Entry::new(0, 1, count, Kind::Cell));
    }
    let total_at = ledger.add(Entry::new(1, 0, total, Kind::Grand));
    if is_small(total, threshold) {
        ledger.hide_small(total_at);
        for cell in 0..counts.len() {
            ledger.hide_in_small_group(cell);
        }
    } else {
        for (cell, &count) in counts.iter().enumerate() {
            if is_small(count, threshold) {
                ledger.hide_small(cell);
            }
        }
        ledger.protect();
    }
    ReleasedRow {
        cells: (0..counts.len())
            .map(|cell| ledger.released(cell))
            .collect(),
        total: ledger.released(total_at),
    }
}

/// A count out of a total as a two-way row: the complement is protected as well, so "58 of 60"
/// does not give away 2. The first cell is the count.
///
/// None when `count` is greater than `of`.
#[must_use]
pub fn release_proportion(count: usize, of: usize, threshold: usize) -> Option<ReleasedRow> {
    Some(release_row(&[count, of.checked_sub(count)?], threshold))
}

/// The same for a two-way table with totals of rows, columns and table, all of which a reader may
/// combine. None when the rows differ in length.
///
/// Rows and columns with a small total are hidden whole, their totals shown as small.
#[must_use]
pub fn release_table(rows: &[Vec<usize>], threshold: usize) -> Option<ReleasedTable> {
    let threshold = effective(threshold);
    let width = rows.first().map_or(0, Vec::len);
    if rows.iter().any(|row| row.len() != width) {
        return None;
    }
    let row_totals: Vec<usize> = rows.iter().map(|row| row.iter().sum()).collect();
    let column_totals: Vec<usize> = (0..width)
        .map(|column| rows.iter().map(|row| row[column]).sum())
        .collect();
    // Accounts: one for each row, one for each column, one for all row totals, one for all column
    // totals. Every count is paid from one of them into another, so each account balances.
    let all_rows = rows.len() + width;
    let all_columns = all_rows + 1;
    let mut ledger = Ledger::new(all_columns + 1, threshold);
    for (i, row) in rows.iter().enumerate() {
        for (j, &count) in row.iter().enumerate() {
            ledger.add(Entry::new(i, rows.len() + j, count, Kind::Cell));
        }
    }
    let row_total_at: Vec<usize> = row_totals
        .iter()
        .enumerate()
        .map(|(i, &count)| ledger.add(Entry::new(all_rows, i, count, Kind::Margin)))
        .collect();
    let column_total_at: Vec<usize> = column_totals
        .iter()
        .enumerate()
        .map(|(j, &count)| ledger.add(Entry::new(rows.len() + j, all_columns, count, Kind::Margin)))
        .collect();
    let total: usize = row_totals.iter().sum();
    let total_at = ledger.add(Entry::new(all_columns, all_rows, total, Kind::Grand));

    if is_small(total, threshold) {
        ledger.hide_everything();
        ledger.hide_small(total_at);
    } else {
        for (i, row) in rows.iter().enumerate() {
            for (j, &count) in row.iter().enumerate() {
                let cell = i * width + j;
                if is_small(row_totals[i], threshold) || is_small(column_totals[j], threshold) {
                    ledger.hide_in_small_group(cell);
                } else if is_small(count, threshold) {
                    ledger.hide_small(cell);
                }
            }
        }
        for (&at, &count) in row_total_at.iter().zip(&row_totals) {
            if is_small(count, threshold) {
                ledger.hide_small(at);
            }
        }
        for (&at, &count) in column_total_at.iter().zip(&column_totals) {
            if is_small(count, threshold) {
                ledger.hide_small(at);
            }
        }
        ledger.protect();
    }
    Some(ReleasedTable {
        rows: row_total_at
            .iter()
            .enumerate()
            .map(|(i, &at)| ReleasedRow {
                cells: (0..width).map(|j| ledger.released(i * width + j)).collect(),
                total: ledger.released(at),
            })
            .collect(),
        column_totals: column_total_at
            .iter()
            .map(|&at| ledger.released(at))
            .collect(),
        total: ledger.released(total_at),
    })
}

/// Whether a median, quartiles or a mean of `n` values may be released. The smallest and the
/// largest value never may: they are single patients' values.
#[must_use]
pub fn summary_released(n: usize, threshold: usize) -> bool {
    n >= effective(threshold)
}

fn effective(threshold: usize) -> usize {
    if threshold < 2 {
        0
    } else {
        threshold.max(LEAST_THRESHOLD)
    }
}

fn is_small(count: usize, threshold: usize) -> bool {
    (1..threshold).contains(&count)
}
