//! What must be known of a whole file before its first row is read: the decimal mark, how long a row is, whether
//! columns that stand there twice agree, and what stands under a blank header.

use super::blank::trimmed;
use super::cells::Numbers;
use super::headers::{Headers, Slot};
use super::number::{DecimalMark, grouped};
use super::separator::Start;
use super::spec::{Kind, Specs};

/// What a file was found to be like.
#[derive(Default)]
pub(super) struct Survey {
    /// Rows below the header.
    pub rows: u64,
    /// How many cells a row must have.
    pub row_cells: usize,
    /// Numbers that show a decimal point, and a decimal comma, beyond doubt.
    pub points: u64,
    /// See `points`.
    pub commas: u64,
    /// Pairs of positions with one column whose cells differ in some row.
    pub differing: Vec<(usize, usize)>,
    /// Positions with a blank header and something below it.
    pub nameless: Vec<usize>,
    /// Whether some row may hold what stands for bytes that are no text ([`NO_TEXT`]).
    pub damaged: bool,
    /// Rows with exactly one blank cell too many at the end.
    pub one_too_many: u64,
}

impl Survey {
    /// Goes through the rows once.
    pub fn of(text: &str, start: Start, headers: &Headers<'_>, specs: &Specs) -> Self {
        let mut survey = Self::default();
        let width = headers.names.len();
        let numeric: Vec<usize> = headers
            .slots
            .iter()
            .filter(|slot| matches!(specs.list[slot.field].kind, Kind::Number | Kind::Integer))
            .map(|slot| slot.position)
            .collect();
        let mut twice: Vec<_> = pairs(&headers.slots)
            .into_iter()
            .map(|pair| (pair, false))
            .collect();
        let mut nameless: Vec<usize> = (0..width)
            .filter(|&position| headers.names[position].is_empty())
            .collect();
        let (mut short, mut long) = (0_u64, 0_u64);
        let mut rows = start.rows(text);
        rows.next_row();
        while let Some(row) = rows.next_row() {
            if row.broken.is_some() {
                survey.rows += 1;
                continue;
            }
            if row.blank_from(0) {
                continue;
            }
            survey.rows += 1;
            survey.damaged |= may_be_damaged(row.text());
            short += u64::from(row.len() == width);
            long += u64::from(row.len() == headers.cells);
            survey.one_too_many +=
                u64::from(row.len() == headers.cells + 1 && row.blank_from(headers.cells));
            for &position in &numeric {
                survey.weigh(trimmed(&row.cell(position)));
            }
            for (pair, differ) in &mut twice {
                *differ |= row.cell(pair.0).trim() != row.cell(pair.1).trim();
            }
            nameless.retain(|&position| {
                let blank = row.cell(position).trim().is_empty();
                if !blank {
                    survey.nameless.push(position);
                }
                blank
            });
        }
        survey.nameless.sort_unstable();
        survey.differing = twice
            .into_iter()
            .filter_map(|(pair, differ)| differ.then_some(pair))
            .collect();
        // Blank headers at the end are separators a spreadsheet wrote; the rows have them too, or none of them has.
        survey.row_cells = if short > long { width } else { headers.cells };
        survey
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
    pub fn numbers(&self, separator: u8, of_the_site: Option<DecimalMark>) -> Numbers {
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

/// Whether the text may hold one of [`NO_TEXT`]: U+FFFD begins with a byte that few other characters begin with.
fn may_be_damaged(text: &str) -> bool {
    text.bytes()
        .fold(false, |found, byte| found | (byte == 0) | (byte == 0xEF))
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
