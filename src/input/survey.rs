//! What must be known of a whole file to read its rows: the decimal mark, how long a row is, whether columns that stand
//! there twice agree. And what is said of it as a whole: how many rows it has, what stands under a blank header.

use super::blank::trimmed;
use super::cells::Numbers;
use super::headers::{Headers, Slot};
use super::number::{DecimalMark, grouped};
use super::spec::{Kind, Specs};
use super::split::RawRow;

/// What the rows of a file, as far as they were looked at, were found to be like.
pub(super) struct Survey {
    /// Rows below the header.
    pub rows: u64,
    /// Numbers that show a decimal point, and a decimal comma, beyond doubt.
    pub points: u64,
    /// See `points`.
    pub commas: u64,
    /// Positions with a blank header and something below it.
    pub nameless: Vec<usize>,
    /// Rows with exactly one blank cell too many at the end.
    pub one_too_many: u64,
    /// Number of headers without those behind the last that is not blank, and with them; rows as long as each.
    short: (usize, u64),
    long: (usize, u64),
    /// Positions of numbers.
    numeric: Vec<usize>,
    /// Pairs of positions with one column, and whether their cells differ in some row.
    twice: Vec<((usize, usize), bool)>,
    /// Positions with a blank header and nothing below it so far.
    blank: Vec<usize>,
}

/// What reading a row depends on.
#[derive(Debug, PartialEq)]
pub(super) struct Manner {
    /// How numbers are written.
    pub numbers: Numbers,
    /// How many cells a row must have.
    pub row_cells: usize,
    /// Pairs of positions with one column whose cells differ in some row.
    pub differing: Vec<(usize, usize)>,
}

impl Survey {
    /// No row was looked at yet.
    pub fn new(headers: &Headers<'_>, specs: &Specs) -> Self {
        let width = headers.names.len();
        let is_number =
            |slot: &&Slot<'_>| matches!(specs.list[slot.field].kind, Kind::Number | Kind::Integer);
        let numeric = headers.slots.iter().filter(is_number);
        Self {
            rows: 0,
            points: 0,
            commas: 0,
            nameless: Vec::new(),
            one_too_many: 0,
            short: (width, 0),
            long: (headers.cells, 0),
            numeric: numeric.map(|slot| slot.position).collect(),
            twice: pairs(&headers.slots)
                .into_iter()
                .map(|pair| (pair, false))
                .collect(),
            blank: (0..width)
                .filter(|&position| headers.names[position].is_empty())
                .collect(),
        }
    }

    /// Looks at the next row.
    pub fn row(&mut self, row: &RawRow<'_, '_>) {
        if row.broken.is_some() {
            self.rows += 1;
            return;
        }
        if row.blank_from(0) {
            return;
        }
        self.rows += 1;
        self.short.1 += u64::from(row.len() == self.short.0);
        self.long.1 += u64::from(row.len() == self.long.0);
        self.one_too_many += u64::from(row.len() == self.long.0 + 1 && row.blank_from(self.long.0));
        for at in 0..self.numeric.len() {
            let position = self.numeric[at];
            if !row.is_empty_at(position) {
                self.weigh(trimmed(&row.cell(position)));
            }
        }
        for (pair, differ) in &mut self.twice {
            *differ |= row.cell(pair.0).trim() != row.cell(pair.1).trim();
        }
        let nameless = &mut self.nameless;
        self.blank.retain(|&position| {
            let blank = row.cell(position).trim().is_empty();
            if !blank {
                nameless.push(position);
            }
            blank
        });
    }

    /// How rows must be read, as those that were looked at show.
    pub fn manner(&self, separator: u8, of_the_site: Option<DecimalMark>) -> Manner {
        let differing = self.twice.iter().filter(|(_, differ)| *differ);
        Manner {
            numbers: self.numbers(separator, of_the_site),
            // Blank headers at the end are separators a spreadsheet wrote; the rows have them too, or none of them has.
            row_cells: if self.short.1 > self.long.1 {
                self.short.0
            } else {
                self.long.0
            },
            differing: differing.map(|(pair, _)| *pair).collect(),
        }
    }

    /// Counts a cell that shows what the decimal mark is.
    fn weigh(&mut self, text: &str) {
        let is_mark = |byte| matches!(byte, b'.' | b',');
        let Some(at) = text.bytes().rposition(is_mark) else {
            return;
        };
        let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
        let whole = text[..at].trim_start_matches(['+', '-', '\u{2212}']);
        let decimals = &text[at + 1..];
        if decimals.is_empty() || !digits(whole) || !digits(decimals) {
            return;
        }
        if decimals.len() == 3 && grouped(text) {
            return;
        }
        if text.as_bytes()[at] == b',' {
            self.commas += 1;
        } else {
            self.points += 1;
        }
    }

    /// The decimal mark of the file: the one most numbers show. Where none does it is a point.
    fn numbers(&self, separator: u8, of_the_site: Option<DecimalMark>) -> Numbers {
        if let Some(mark) = of_the_site {
            return Numbers { mark, proven: true };
        }
        let comma = if separator == b';' {
            self.commas > 0 && self.commas >= self.points
        } else {
            self.commas > self.points
        };
        Numbers {
            mark: if comma {
                DecimalMark::Comma
            } else {
                DecimalMark::Point
            },
            proven: self.commas + self.points > 0,
        }
    }
}

/// Pairs of positions that name one column.
pub(super) fn pairs(slots: &[Slot<'_>]) -> Vec<(usize, usize)> {
    let mut firsts: Vec<&Slot<'_>> = Vec::new();
    let mut pairs = Vec::new();
    for slot in slots {
        match firsts.iter().find(|first| first.field == slot.field) {
            Some(first) => pairs.push((first.position, slot.position)),
            None => firsts.push(slot),
        }
    }
    pairs
}
