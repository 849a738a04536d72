//! Proportions as a table, each with its interval drawn beside it.

use super::words::{MASKED, NONE, count, fraction, limits, percent_of_estimate};
use crate::cohort::MeasureRow;
use crate::draw::{Align, Colour, Fonts, Item, Role, Scope, Stroke, Tag};
use crate::page::layout::{Pen, Place};
use crate::page::text::{Block, Laid, Rich};
use crate::page::theme;

/// Height of a row (mm).
const ROW_MM: f64 = 4.1;
/// Height of the head (mm).
const HEAD_MM: f64 = 6.4;
const GUIDE: Stroke = Stroke::solid(0.3, Colour::grey(215));

/// One row.
pub struct OutcomeRow<'a> {
    /// Words of the first cell.
    pub title: Rich,
    /// The measure.
    pub row: &'a MeasureRow,
    /// What stands in the columns after the counts, one text each.
    pub more: Vec<String>,
}

/// The table; the scale of the drawn intervals goes from 0 to `scale_pct`.
pub struct OutcomeTable<'a> {
    /// Rows in their order; a `None` leaves a small gap.
    pub rows: Vec<Option<OutcomeRow<'a>>>,
    /// Heads of the further columns, with their widths (mm).
    pub more: Vec<(&'static str, f64)>,
    /// Right end of the scale (%).
    pub scale_pct: f64,
}

/// Right edges of the columns before the drawing, and where it begins (mm from the left edge).
struct Before {
    count_mm: f64,
    percent_mm: f64,
    limits_mm: f64,
    scale_mm: f64,
}

/// After the drawing: widths of bounds, missing and pending.
const AFTER_MM: [f64; 3] = [18.0, 11.0, 11.0];
const GAP_MM: f64 = 2.5;

impl OutcomeTable<'_> {
    /// Long words and long counts have more room where no further columns follow.
    fn before(&self) -> Before {
        // Counts of five figures need more than the usual room.
        let longest = self.rows.iter().flatten();
        let longest = longest.map(|row| fraction(row.row).0.chars().count()).max();
        let long_mm = 1.6 * longest.unwrap_or(0).saturating_sub(9) as f64;
        let shift_mm = if self.more.is_empty() { 14.0 } else { long_mm };
        Before {
            count_mm: 58.0 + shift_mm,
            percent_mm: 67.5 + shift_mm,
            limits_mm: 83.0 + shift_mm,
            scale_mm: 90.5 + shift_mm,
        }
    }

    /// Left and right end of the scale (mm from the left edge).
    fn scale(&self, width_mm: f64) -> (f64, f64) {
        let more: f64 = self.more.iter().map(|(_, width)| width).sum();
        let scale_mm = self.before().scale_mm;
        (
            scale_mm,
            (width_mm - more - AFTER_MM.iter().sum::<f64>() - GAP_MM).max(scale_mm + 10.0),
        )
    }

    fn edges(&self, width_mm: f64) -> Vec<f64> {
        let mut edge = self.scale(width_mm).1 + GAP_MM;
        AFTER_MM
            .iter()
            .copied()
            .chain(self.more.iter().map(|(_, width)| *width))
            .map(|width| {
                edge += width;
                edge
            })
            .collect()
    }

    fn head(&self, pen: &mut Pen<'_>, at: Place) {
        let baseline = at.y_mm + HEAD_MM - 1.2;
        let edges = self.edges(at.width_mm);
        let before = self.before();
        let (from, to) = self.scale(at.width_mm);
        let cell = |pen: &mut Pen<'_>, text: &str, x: f64, align: Align| {
            pen.tagged(Tag::header(Scope::Column), |pen| {
                // From above down, as it is read aloud; the last line stands at the foot.
                let lines: Vec<&str> = text.split('\n').collect();
                for (line, words) in lines.iter().enumerate() {
                    let below = (lines.len() - 1 - line) as f64;
                    let baseline = baseline - below * theme::SMALL.pitch_mm;
                    one_line(pen, &Rich::from(*words), x, baseline, align, theme::SMALL);
                }
            });
        };
        pen.tagged(Tag::new(Role::Row), |pen| {
            cell(pen, "of those known", at.x_mm, Align::Left);
            cell(pen, "yes/known", at.x_mm + before.count_mm, Align::Right);
            cell(pen, "%", at.x_mm + before.percent_mm, Align::Right);
            cell(
                pen,
                "95 % interval\n(Wilson)",
                at.x_mm + before.limits_mm,
                Align::Right,
            );
            cell(
                pen,
                "missing as\nno, as yes, %",
                at.x_mm + edges[0],
                Align::Right,
            );
            cell(pen, "missing", at.x_mm + edges[1], Align::Right);
            cell(pen, "pending", at.x_mm + edges[2], Align::Right);
            for ((head, _), edge) in self.more.iter().zip(&edges[3..]) {
                cell(pen, head, at.x_mm + edge, Align::Right);
            }
        });
        let steps = if self.scale_pct > 50.0 { 4 } else { 5 };
        let ticks: Vec<f64> = (0..=steps)
            .map(|step| f64::from(step) / f64::from(steps))
            .collect();
        pen.tagged(Tag::new(Role::Artifact), |pen| {
            let middle = at.x_mm + f64::midpoint(from, to);
            let above = baseline - theme::SMALL.pitch_mm;
            one_line(
                pen,
                &Rich::from("rate, %"),
                middle,
                above,
                Align::Centre,
                theme::SMALL,
            );
            // On a short scale every second guide is named.
            let every = 1 + usize::from(to - from < 5.0 * ticks.len() as f64);
            for part in ticks.iter().step_by(every) {
                let x = at.x_mm + from + part * (to - from);
                let text = format!("{:.0}", part * self.scale_pct);
                one_line(
                    pen,
                    &Rich::from(text),
                    x,
                    baseline,
                    Align::Centre,
                    theme::SMALL,
                );
            }
        });
        let rows: f64 = self.rows_mm();
        for part in &ticks {
            let x = at.x_mm + from + part * (to - from);
            let (top, bottom) = (at.y_mm + HEAD_MM - 0.6, at.y_mm + HEAD_MM + rows);
            pen.items.push(Item::line((x, top), (x, bottom), GUIDE));
        }
    }

    fn rows_mm(&self) -> f64 {
        self.rows
            .iter()
            .map(|row| if row.is_some() { ROW_MM } else { ROW_MM / 3.0 })
            .sum()
    }

    fn row(&self, pen: &mut Pen<'_>, at: Place, y_mm: f64, row: &OutcomeRow<'_>) {
        let baseline = y_mm + 3.0;
        let measure = row.row;
        let n = measure.denominator.unwrap_or_default() as usize;
        let (counts, percent) = fraction(measure);
        let masked = measure.n.is_none();
        let interval = if masked {
            String::new()
        } else {
            limits(measure.low, measure.high, n)
        };
        let bounds = match (measure.bound_low, measure.bound_high) {
            (Some(low), Some(high)) if measure.missing != Some(0) => format!(
                "{} to {}",
                percent_of_estimate(low, n),
                percent_of_estimate(high, n)
            ),
            _ if masked => String::new(),
            _ => NONE.to_owned(),
        };
        let number = |value: Option<usize>| {
            let text = count(value);
            if text == MASKED { String::new() } else { text }
        };
        let before = self.before();
        let cells = [
            (counts, before.count_mm),
            (percent, before.percent_mm),
            (interval, before.limits_mm),
        ];
        let edges = self.edges(at.width_mm);
        let after = [bounds, number(measure.missing), number(measure.pending)]
            .into_iter()
            .chain(row.more.iter().cloned())
            .zip(edges);
        pen.tagged(Tag::new(Role::Row), |pen| {
            pen.tagged(Tag::header(Scope::Row), |pen| {
                one_line(pen, &row.title, at.x_mm, baseline, Align::Left, theme::BODY);
            });
            for (text, edge) in cells.into_iter().chain(after) {
                pen.tagged(Tag::cell(), |pen| {
                    let x = at.x_mm + edge;
                    one_line(
                        pen,
                        &Rich::from(text),
                        x,
                        baseline,
                        Align::Right,
                        theme::BODY,
                    );
                });
            }
        });
        self.draw_interval(pen, at, y_mm + 2.0, measure);
    }

    /// The bounds as a thin open bar, the interval as a line over it, the estimate as a dot.
    fn draw_interval(&self, pen: &mut Pen<'_>, at: Place, y_mm: f64, measure: &MeasureRow) {
        let (from, to) = self.scale(at.width_mm);
        let x = |pct: f64| at.x_mm + from + (pct / self.scale_pct).min(1.0) * (to - from);
        if let (Some(low), Some(high)) = (measure.bound_low, measure.bound_high) {
            pen.items.push(Item::Rect {
                x_mm: x(low),
                y_mm: y_mm - 1.1,
                width_mm: x(high) - x(low),
                height_mm: 2.2,
                fill: Some(Colour::grey(222)),
                stroke: None,
            });
        }
        if let (Some(low), Some(high)) = (measure.low, measure.high) {
            let stroke = Stroke::solid(0.9, theme::INK);
            pen.items
                .push(Item::line((x(low), y_mm), (x(high), y_mm), stroke));
        }
        if let Some(estimate) = measure.estimate {
            pen.items.push(Item::circle(
                (x(estimate), y_mm),
                0.75,
                Some(theme::INK),
                None,
            ));
        }
    }
}

fn one_line(
    pen: &mut Pen<'_>,
    text: &Rich,
    x_mm: f64,
    baseline_mm: f64,
    align: Align,
    size: theme::TypeSize,
) {
    if let Some(line) = text.lines(pen.fonts, size, 300.0, 1).pop() {
        line.draw(pen, x_mm, baseline_mm, align, size, theme::INK);
    }
}

impl Block for OutcomeTable<'_> {
    fn laid<'b>(&'b self, _: &Fonts, _: f64) -> Laid<'b> {
        Laid::new(HEAD_MM + self.rows_mm(), |pen, at| {
            // The guide lines come first, so that the words stand over them; all of them are decoration.
            pen.tagged(Tag::new(Role::Table), |pen| {
                self.head(pen, at);
                let mut y_mm = at.y_mm + HEAD_MM;
                for row in &self.rows {
                    match row {
                        Some(row) => {
                            self.row(pen, at, y_mm, row);
                            y_mm += ROW_MM;
                        }
                        None => y_mm += ROW_MM / 3.0,
                    }
                }
            });
        })
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        for row in self.rows.iter().flatten() {
            see(&row.title.plain());
        }
    }
}
