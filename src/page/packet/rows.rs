//! A table whose cells hold several lines of their own, with a line of full width below each row.

use crate::draw::{Align, Colour, Fonts, Item, Role, Scope, Stroke, Tag};
use crate::page::layout::{Pen, Place};
use crate::page::text::{Block, Laid, Rich, RichLine, draw_lines};
use crate::page::theme::{self, TypeSize};

/// Between records.
const HAIRLINE: Stroke = Stroke::solid(0.3, Colour::grey(120));
/// Space above and below the words of a record (mm).
const AIR_MM: f64 = 0.7;
/// Side of a box to tick (mm).
const TICK_MM: f64 = 2.6;
/// Width that a box to tick takes (mm).
const TICK_PLACE_MM: f64 = 4.6;

/// Most lines of a paragraph in a cell, and of one below the cells: more are marked as left out.
const MOST_LINES: (usize, usize) = (10, 40);

/// One record.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Record {
    /// Cells, each with its paragraphs.
    pub cells: Vec<Vec<Rich>>,
    /// Paragraphs below them, over the whole width.
    pub below: Vec<Rich>,
}

/// The table.
#[derive(Clone, Debug, PartialEq)]
pub struct Rows {
    /// Share of each column in the width.
    pub shares: Vec<f64>,
    /// Heads of the columns.
    pub header: Vec<&'static str>,
    /// Records.
    pub records: Vec<Record>,
    /// Whether a box to tick stands before each record.
    pub ticks: bool,
}

impl Rows {
    /// These records under the same heads.
    pub fn of(&self, records: impl IntoIterator<Item = Record>) -> Rows {
        Rows {
            shares: self.shares.clone(),
            header: self.header.clone(),
            records: records.into_iter().collect(),
            ticks: self.ticks,
        }
    }

    /// The same records without the heads.
    #[must_use]
    pub fn without_heads(self) -> Rows {
        Rows {
            header: Vec::new(),
            ..self
        }
    }

    fn indent_mm(&self) -> f64 {
        if self.ticks { TICK_PLACE_MM } else { 0.0 }
    }

    /// Left edge and width of each column.
    fn columns(&self, at: Place) -> Vec<(f64, f64)> {
        let gaps = theme::CELL_GAP_MM * self.shares.len().saturating_sub(1) as f64;
        let free = at.width_mm - self.indent_mm() - gaps;
        let all: f64 = self.shares.iter().sum();
        let mut x_mm = at.x_mm + self.indent_mm();
        self.shares
            .iter()
            .map(|share| {
                let width = free * share / all;
                let column = (x_mm, width);
                x_mm += width + theme::CELL_GAP_MM;
                column
            })
            .collect()
    }

    fn laid_out(&self, fonts: &Fonts, record: &Record, at: Place) -> LaidOut {
        let lines = |paragraphs: &[Rich], width: f64, most: usize| -> Vec<RichLine> {
            paragraphs
                .iter()
                .flat_map(|text| text.lines(fonts, theme::BODY, width, most))
                .collect()
        };
        LaidOut {
            cells: record
                .cells
                .iter()
                .zip(self.columns(at))
                .map(|(cell, (_, width))| lines(cell, width, MOST_LINES.0))
                .collect(),
            below: lines(&record.below, at.width_mm - self.indent_mm(), MOST_LINES.1),
        }
    }

    fn head_mm(&self) -> f64 {
        if self.header.is_empty() {
            0.0
        } else {
            theme::SMALL.pitch_mm + 0.4
        }
    }
}

struct LaidOut {
    cells: Vec<Vec<RichLine>>,
    below: Vec<RichLine>,
}

impl LaidOut {
    fn tall(&self) -> usize {
        self.cells.iter().map(Vec::len).max().unwrap_or(0)
    }

    fn height_mm(&self) -> f64 {
        2.0 * AIR_MM + (self.tall() + self.below.len()) as f64 * theme::BODY.pitch_mm
    }
}

fn place(width_mm: f64) -> Place {
    Place {
        x_mm: 0.0,
        y_mm: 0.0,
        width_mm,
    }
}

impl Block for Rows {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let records: Vec<LaidOut> = self
            .records
            .iter()
            .map(|record| self.laid_out(fonts, record, place(width_mm)))
            .collect();
        let records_mm: f64 = records.iter().map(LaidOut::height_mm).sum();
        Laid::new(self.head_mm() + records_mm, move |pen, at| {
            if !records.is_empty() {
                pen.tagged(Tag::new(Role::Table), |pen| {
                    self.draw_records(pen, records, at)
                });
            }
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for head in &self.header {
            see(head);
        }
        for record in &self.records {
            for text in record.cells.iter().flatten().chain(&record.below) {
                see(&text.plain());
            }
        }
    }
}

impl Rows {
    fn draw_records(&self, pen: &mut Pen<'_>, records: Vec<LaidOut>, at: Place) {
        let columns = self.columns(at);
        if !self.header.is_empty() {
            pen.tagged(Tag::new(Role::Row), |pen| {
                for (head, (x_mm, _)) in self.header.iter().zip(&columns) {
                    pen.tagged(Tag::header(Scope::Column), |pen| {
                        let line =
                            Rich::from(*head).lines(pen.fonts, theme::SMALL, f64::INFINITY, 1);
                        write(pen, line, *x_mm, at.y_mm, theme::SMALL);
                    });
                }
            });
        }
        let mut y_mm = at.y_mm + self.head_mm();
        for record in records {
            let height_mm = record.height_mm();
            self.draw_record(pen, record, &columns, Place { y_mm, ..at });
            y_mm += height_mm;
        }
    }

    fn draw_record(&self, pen: &mut Pen<'_>, record: LaidOut, columns: &[(f64, f64)], at: Place) {
        pen.items.push(Item::line(
            (at.x_mm, at.y_mm),
            (at.x_mm + at.width_mm, at.y_mm),
            HAIRLINE,
        ));
        let top = at.y_mm + AIR_MM;
        if self.ticks {
            pen.items.push(Item::Rect {
                x_mm: at.x_mm + 0.3,
                y_mm: top + 0.2,
                width_mm: TICK_MM,
                height_mm: TICK_MM,
                fill: None,
                stroke: Some(theme::WRITING_LINE),
            });
        }
        let below = top + record.tall() as f64 * theme::BODY.pitch_mm;
        pen.tagged(Tag::new(Role::Row), |pen| {
            for (position, (lines, (x_mm, _))) in record.cells.into_iter().zip(columns).enumerate()
            {
                let tag = if position == 0 {
                    Tag::header(Scope::Row)
                } else {
                    Tag::cell()
                };
                pen.tagged(tag, |pen| write(pen, lines, *x_mm, top, theme::BODY));
            }
        });
        if !record.below.is_empty() {
            let tag = Tag::new(Role::DataCell {
                columns: u16::try_from(columns.len()).unwrap_or(u16::MAX),
            });
            pen.tagged(Tag::new(Role::Row), |pen| {
                pen.tagged(tag, |pen| {
                    let x_mm = at.x_mm + self.indent_mm();
                    write(pen, record.below, x_mm, below, theme::BODY);
                });
            });
        }
    }
}

fn write(pen: &mut Pen<'_>, lines: Vec<RichLine>, x_mm: f64, y_mm: f64, size: TypeSize) {
    let at = Place {
        x_mm,
        y_mm,
        width_mm: 0.0,
    };
    draw_lines(pen, lines, at, size, theme::INK);
}

/// A short text at a place, tagged as a paragraph.
pub fn word(
    pen: &mut Pen<'_>,
    text: &Rich,
    x_mm: f64,
    baseline_mm: f64,
    align: Align,
    size: TypeSize,
) {
    let lines = text.lines(pen.fonts, size, f64::INFINITY, 1);
    pen.tagged(Tag::new(Role::P), |pen| {
        for line in lines {
            line.draw(pen, x_mm, baseline_mm, align, size, theme::INK);
        }
    });
}
