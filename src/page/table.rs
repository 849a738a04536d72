//! Tables: pairs of a label and a value, and columns with header cells.

use super::layout::{Pen, Place};
use super::text::{Block, Laid, Rich, RichLine};
use super::theme::{self, TypeSize};
pub use crate::draw::Align;
use crate::draw::{Fonts, Role, Scope, Tag};

/// Labels on the left, values on the right edge. A value that does not fit beside its label goes on below it.
#[derive(Clone, Debug, PartialEq)]
pub struct Pairs {
    /// Label and value of each row.
    pub rows: Vec<(Rich, Rich)>,
    /// Size.
    pub size: TypeSize,
}

impl Pairs {
    /// A clinical table.
    pub const fn body(rows: Vec<(Rich, Rich)>) -> Self {
        Self {
            rows,
            size: theme::BODY,
        }
    }

    /// The lines of a row, and whether the value starts beside the label.
    fn row(&self, fonts: &Fonts, (label, value): &(Rich, Rich), width_mm: f64) -> PairLines {
        let label = label.lines(fonts, self.size, width_mm, usize::MAX);
        let last_label = label.last().map_or(0.0, |line| line.width_mm(self.size));
        let beside_mm = width_mm - last_label - theme::CELL_GAP_MM;
        let beside = beside_mm >= 0.5 * width_mm || value.width_mm(fonts, self.size) <= beside_mm;
        let value = value.lines(
            fonts,
            self.size,
            if beside { beside_mm } else { width_mm - 3.0 },
            usize::MAX,
        );
        PairLines {
            label,
            value,
            beside,
        }
    }

    fn draw_row(&self, pen: &mut Pen<'_>, row: PairLines, at: Place) {
        let size = self.size;
        let baseline = |line: usize| at.y_mm + line as f64 * size.pitch_mm + size.rise_mm;
        let value_line = row.value_line();
        pen.tagged(Tag::new(Role::Row), |pen| {
            pen.tagged(Tag::header(Scope::Row), |pen| {
                for (position, line) in row.label.into_iter().enumerate() {
                    let baseline = baseline(position);
                    line.draw(pen, at.x_mm, baseline, Align::Left, size, theme::INK);
                }
            });
            pen.tagged(Tag::cell(), |pen| {
                let right = at.x_mm + at.width_mm;
                for (position, line) in row.value.into_iter().enumerate() {
                    let baseline = baseline(value_line + position);
                    line.draw(pen, right, baseline, Align::Right, size, theme::INK);
                }
            });
        });
    }
}

struct PairLines {
    label: Vec<RichLine>,
    value: Vec<RichLine>,
    beside: bool,
}

impl PairLines {
    fn count(&self) -> usize {
        let label = self.label.len().max(1);
        match (self.beside, self.value.len()) {
            (_, 0) => label,
            (true, values) => label - 1 + values,
            (false, values) => label + values,
        }
    }

    /// Line on which the value starts.
    fn value_line(&self) -> usize {
        let label = self.label.len().max(1);
        if self.beside { label - 1 } else { label }
    }
}

impl Block for Pairs {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let rows: Vec<PairLines> = self
            .rows
            .iter()
            .map(|row| self.row(fonts, row, width_mm))
            .collect();
        let lines: usize = rows.iter().map(PairLines::count).sum();
        Laid::new(lines as f64 * self.size.pitch_mm, move |pen, at| {
            if rows.is_empty() {
                return;
            }
            pen.tagged(Tag::new(Role::Table), |pen| {
                let mut y_mm = at.y_mm;
                for row in rows {
                    let lines = row.count();
                    self.draw_row(pen, row, Place { y_mm, ..at });
                    y_mm += lines as f64 * self.size.pitch_mm;
                }
            });
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for (label, value) in &self.rows {
            see(&label.plain());
            see(&value.plain());
        }
    }
}

/// How wide a column is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Width {
    /// In millimetres.
    Fixed(f64),
    /// As wide as its widest cell.
    Natural,
    /// A share of what is left.
    Share(f64),
}

/// A column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// How wide.
    pub width: Width,
    /// Which edge its cells keep.
    pub align: Align,
}

impl Column {
    /// A column whose cells start at its left edge.
    pub const fn left(width: Width) -> Self {
        Self {
            width,
            align: Align::Left,
        }
    }

    /// A column whose cells end at its right edge.
    pub const fn right(width: Width) -> Self {
        Self {
            width,
            align: Align::Right,
        }
    }
}

/// A table with columns. The first cell of a row heads it.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Columns.
    pub columns: Vec<Column>,
    /// Heads of the columns, in small type; `None` for a table whose rows speak for themselves.
    pub header: Option<Vec<Rich>>,
    /// Rows of as many cells as there are columns.
    pub rows: Vec<Vec<Rich>>,
    /// Size of the rows.
    pub size: TypeSize,
    /// Most lines of a cell; more are marked as left out.
    pub most_lines: usize,
}

impl Table {
    /// A clinical table, whole.
    pub const fn body(
        columns: Vec<Column>,
        header: Option<Vec<Rich>>,
        rows: Vec<Vec<Rich>>,
    ) -> Self {
        Self {
            columns,
            header,
            rows,
            size: theme::BODY,
            most_lines: usize::MAX,
        }
    }

    /// Width of each column; natural columns share what there is where they want more.
    fn widths(&self, fonts: &Fonts, width_mm: f64) -> Vec<f64> {
        let natural = |position: usize| {
            let header = self.header.iter().filter_map(|cells| cells.get(position));
            let header = header.map(|cell| cell.width_mm(fonts, theme::SMALL));
            let rows = self.rows.iter().filter_map(|cells| cells.get(position));
            let rows = rows.map(|cell| cell.width_mm(fonts, self.size));
            header.chain(rows).fold(0.0, f64::max) + 0.05
        };
        let gaps = theme::CELL_GAP_MM * self.columns.len().saturating_sub(1) as f64;
        let wanted: Vec<f64> = self
            .columns
            .iter()
            .enumerate()
            .map(|(position, column)| match column.width {
                Width::Fixed(width) => width,
                Width::Natural => natural(position),
                Width::Share(_) => 0.0,
            })
            .collect();
        let shares: f64 = self
            .columns
            .iter()
            .map(|column| {
                if let Width::Share(share) = column.width {
                    share
                } else {
                    0.0
                }
            })
            .sum();
        let free = width_mm - gaps;
        let used: f64 = wanted.iter().sum();
        // A column of natural width never takes so much that the others have none.
        let most_used = if shares > 0.0 { 0.75 * free } else { free };
        let scale = if used > most_used {
            most_used / used
        } else {
            1.0
        };
        let left = (free - used * scale).max(0.0);
        self.columns
            .iter()
            .zip(wanted)
            .map(|(column, wanted)| match column.width {
                Width::Share(share) => left * share / shares,
                Width::Fixed(_) | Width::Natural => wanted * scale,
            })
            .collect()
    }

    /// The lines of a row of cells.
    fn row(
        &self,
        fonts: &Fonts,
        cells: &[Rich],
        widths: &[f64],
        size: TypeSize,
        heads: bool,
    ) -> RowLines {
        let cells: Vec<Vec<RichLine>> = cells
            .iter()
            .zip(widths)
            .map(|(cell, width)| cell.lines(fonts, size, *width, self.most_lines))
            .collect();
        RowLines {
            tall: cells.iter().map(Vec::len).max().unwrap_or(0).max(1),
            cells,
            size,
            heads,
        }
    }

    fn draw_row(&self, pen: &mut Pen<'_>, row: RowLines, widths: &[f64], at: Place) {
        let RowLines { size, tall, .. } = row;
        pen.tagged(Tag::new(Role::Row), |pen| {
            let mut x_mm = at.x_mm;
            for (position, (lines, width)) in row.cells.into_iter().zip(widths).enumerate() {
                let tag = match (row.heads, position) {
                    (true, _) => Tag::header(Scope::Column),
                    (false, 0) => Tag::header(Scope::Row),
                    (false, _) => Tag::cell(),
                };
                let align = self.columns[position].align;
                let edge = match align {
                    Align::Left => x_mm,
                    Align::Centre => x_mm + width / 2.0,
                    Align::Right => x_mm + width,
                };
                // Heads stand on the line above the rows, whatever their number of lines.
                let first = if row.heads {
                    tall - lines.len().min(tall)
                } else {
                    0
                };
                pen.tagged(tag, |pen| {
                    for (line, runs) in (first..).zip(lines) {
                        let baseline = at.y_mm + line as f64 * size.pitch_mm + size.rise_mm;
                        runs.draw(pen, edge, baseline, align, size, theme::INK);
                    }
                });
                x_mm += width + theme::CELL_GAP_MM;
            }
        });
    }
}

/// A row of a table in lines.
struct RowLines {
    cells: Vec<Vec<RichLine>>,
    /// Lines of the tallest cell.
    tall: usize,
    size: TypeSize,
    /// Whether it heads the columns.
    heads: bool,
}

impl Block for Table {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let widths = self.widths(fonts, width_mm);
        let header = self
            .header
            .as_ref()
            .map(|cells| self.row(fonts, cells, &widths, theme::SMALL, true));
        let rows: Vec<RowLines> = self
            .rows
            .iter()
            .map(|cells| self.row(fonts, cells, &widths, self.size, false))
            .collect();
        let header_mm = header
            .as_ref()
            .map_or(0.0, |row| row.tall as f64 * row.size.pitch_mm);
        let lines: f64 = rows.iter().map(|row| row.tall as f64).sum();
        Laid::new(header_mm + lines * self.size.pitch_mm, move |pen, at| {
            if rows.is_empty() && header.is_none() {
                return;
            }
            pen.tagged(Tag::new(Role::Table), |pen| {
                let mut y_mm = at.y_mm;
                for row in header.into_iter().chain(rows) {
                    let height_mm = row.tall as f64 * row.size.pitch_mm;
                    self.draw_row(pen, row, &widths, Place { y_mm, ..at });
                    y_mm += height_mm;
                }
            });
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for cell in self
            .header
            .iter()
            .flatten()
            .chain(self.rows.iter().flatten())
        {
            see(&cell.plain());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::layout::overlapping_texts;
    use proptest::prelude::*;

    const AT: Place = Place {
        x_mm: 12.0,
        y_mm: 20.0,
        width_mm: 59.3,
    };

    fn drawn(block: &dyn Block, fonts: &Fonts) -> Vec<crate::draw::Item> {
        let mut pen = Pen::new(fonts);
        block.draw(&mut pen, AT);
        pen.items
    }

    proptest! {
        #[test]
        fn prop_pairs_keep_apart_and_inside(rows in prop::collection::vec(("[A-Za-z ]{1,60}", "[A-Za-z0-9 ]{0,80}"), 1..12)) {
            let fonts = Fonts::load();
            let pairs = Pairs::body(rows.into_iter().map(|(label, value)| (label.into(), value.into())).collect());
            let items = drawn(&pairs, &fonts);
            prop_assert_eq!(overlapping_texts(&items, &fonts), vec![]);
            let inside = crate::page::Rect { x_mm: AT.x_mm, y_mm: AT.y_mm, width_mm: AT.width_mm, height_mm: pairs.height_mm(&fonts, AT.width_mm) };
            for item in &items {
                if let Some(ink) = crate::page::layout::ink(item, &fonts) {
                    prop_assert!(ink.is_inside(&inside), "{item:?}");
                }
            }
        }

        #[test]
        fn prop_columns_keep_apart_and_inside(rows in prop::collection::vec(prop::collection::vec("[A-Za-z0-9 ]{0,60}", 3), 1..8)) {
            let fonts = Fonts::load();
            let columns = vec![Column::left(Width::Natural), Column::right(Width::Fixed(13.0)), Column::left(Width::Share(1.0))];
            let rows = rows.into_iter().map(|cells| cells.into_iter().map(Rich::from).collect()).collect();
            let table = Table::body(columns, Some(vec!["a".into(), "two words".into(), "c".into()]), rows);
            let items = drawn(&table, &fonts);
            prop_assert_eq!(overlapping_texts(&items, &fonts), vec![]);
            let inside = crate::page::Rect { x_mm: AT.x_mm, y_mm: AT.y_mm, width_mm: AT.width_mm, height_mm: table.height_mm(&fonts, AT.width_mm) };
            for item in &items {
                if let Some(ink) = crate::page::layout::ink(item, &fonts) {
                    prop_assert!(ink.is_inside(&inside), "{item:?}");
                }
            }
        }
    }
}
