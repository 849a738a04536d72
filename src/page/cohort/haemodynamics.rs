//! The page of gradients and regurgitation.

use super::stand_out::percent;
use super::words::{counted, percent_of_estimate, share};
use super::writer::Writer;
use crate::cohort::statistics::Summary;
use crate::cohort::{Cohort, GradeCounts, Haemodynamics, NyhaChange};
use crate::figure::cohort::gradients::{gradients, stride};
use crate::page::number::{digits, signed};
use crate::page::table::{Column, Pairs, Table, Width};
use crate::page::text::{Paragraph, Rich};

/// Fewer pairs than this are listed and not drawn.
const DRAWN_FROM: usize = 2;

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    let data = &cohort.haemodynamics;
    writer.section("Haemodynamics");
    writer.heading(
        0.0,
        format!(
            "Mean gradient before and after: {} of {} cases have both",
            data.pairs.len(),
            data.n
        ),
    );
    if data.pairs.len() < DRAWN_FROM {
        writer.block(
            0.5,
            &Paragraph::body("Fewer than two pairs: nothing is drawn."),
        );
    } else {
        writer.figure(1.0, 78.0, alt(data), |fonts, area| {
            gradients(fonts, area, data)
        });
    }
    writer.block(1.0, &Paragraph::body(changes(data)));
    writer.block(0.5, &Paragraph::small(drawn(data)));
    writer.table(2.0, &summaries(data));
    writer.heading(3.0, format!("Regurgitation, n {}", data.n));
    writer.table(0.0, &regurgitation(&data.regurgitation));
    writer.block(
        0.5,
        &Paragraph::small(
            "Judging echo: the visit of day 23 to 105 with a mean gradient nearest day 30, else the echo before discharge.",
        ),
    );
    residual(writer, cohort);
    nyha(writer, &cohort.nyha);
}

/// Class before against class after, as counts, and how many improved.
fn nyha(writer: &mut Writer<'_>, change: &NyhaChange) {
    const CLASSES: [&str; 4] = ["I", "II", "III", "IV"];
    writer.heading(
        3.0,
        format!(
            "NYHA class before and at 30 days: {} of {} cases have both",
            change.known(),
            change.n
        ),
    );
    if change.known() == 0 {
        writer.block(0.0, &Paragraph::body("No case has both: no table."));
    } else {
        let rows = CLASSES
            .iter()
            .zip(&change.pairs)
            .map(|(class, counts)| {
                let mut row = vec![Rich::from(format!("{class} before"))];
                row.extend(counts.iter().map(|count| Rich::from(count.to_string())));
                row.push(counts.iter().sum::<usize>().to_string().into());
                row
            })
            .collect();
        let mut columns = vec![Column::left(Width::Fixed(26.0))];
        columns.extend([Column::right(Width::Fixed(16.0)); 5]);
        columns.push(Column::left(Width::Share(1.0)));
        let header = [
            "cases",
            "I after",
            "II after",
            "III after",
            "IV after",
            "all",
            "",
        ];
        let table = Table::body(columns, Some(header.map(Rich::from).to_vec()), rows);
        writer.table(0.0, &table);
        writer.block(0.8, &Paragraph::body(improved(change)));
    }
    writer.block(
        0.5,
        &Paragraph::small(format!(
            "After: the visit of day 23 to 105 with a class, nearest day 30. Not paired: {} died before such a visit, {} \
             without one yet and the window still open, {} with a class missing. Whoever died has no class, so the living look better than all did.",
            change.died_before, change.not_yet_due, change.missing
        )),
    );
}

fn improved(change: &NyhaChange) -> String {
    let known = change.known();
    let interval = change
        .improved
        .estimate_pct()
        .map_or_else(String::new, |(_, low, high)| {
            format!(
                ", 95 % {} to {}",
                percent_of_estimate(low, known),
                percent_of_estimate(high, known)
            )
        });
    format!(
        "Better by a class or more: {}{interval}. Worse: {}.",
        share(change.improved.yes, known),
        share(change.worse, known)
    )
}

/// Writes what a de-identified summary may say of gradients.
pub fn write_released(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.section("Haemodynamics");
    writer.heading(0.0, "Mean gradient before and after, and its change");
    let rows = [
        (
            "baseline_mean_gradient_mmhg",
            "Before, mmHg: median, quartiles",
        ),
        (
            "performance_mean_gradient_mmhg",
            "Judging echo, mmHg: median, quartiles",
        ),
        (
            "mean_gradient_change",
            "Change, mmHg: mean, 95 % t interval",
        ),
        (
            "mean_gradient_change_hodges_lehmann",
            "Change, mmHg: Hodges-Lehmann, 95 %",
        ),
    ]
    .iter()
    .filter_map(|(measure, title)| {
        let row = cohort.of_period(measure)?;
        let text = match (row.n, row.estimate, row.low, row.high) {
            (None, ..) => "masked".to_owned(),
            (Some(n), Some(estimate), Some(low), Some(high)) => format!(
                "{}, {} to {}, n {n}",
                digits(estimate, 1),
                digits(low, 1),
                digits(high, 1)
            ),
            (Some(n), ..) => format!("–, n {n}"),
        };
        Some((Rich::from(*title), Rich::from(text)))
    })
    .collect();
    writer.block(0.0, &Pairs::body(rows));
}

fn alt(data: &Haemodynamics) -> String {
    format!(
        "Mean gradient of each of {} cases before and at the judging echo after, a line for each, and the changes with \
         their mean. {}",
        data.pairs.len(),
        changes(data)
    )
}

fn changes(data: &Haemodynamics) -> String {
    let (Some(mean), Some(typical)) = (data.mean_change, data.typical_change) else {
        return "No case has both gradients.".to_owned();
    };
    let interval = |interval: Option<crate::cohort::statistics::Interval>| match interval {
        Some(interval) => format!(
            "95 % {} to {}",
            signed(interval.low, 1),
            signed(interval.high, 1)
        ),
        None => "too few for an interval".to_owned(),
    };
    format!(
        "Change of the mean gradient, n {}: mean {} mmHg ({}, t interval); Hodges-Lehmann {} mmHg ({}{}).",
        mean.n,
        signed(mean.mean, 1),
        interval(mean.interval),
        signed(typical.estimate, 1),
        interval(typical.interval),
        if typical.exact {
            ", exact"
        } else {
            ", normal approximation"
        },
    )
}

fn drawn(data: &Haemodynamics) -> String {
    let mut text = format!(
        "Not paired: {} without a gradient before, {} without one after, {} without either. Judged at 30 days {}, before \
         discharge {}.",
        data.without_before,
        data.without_after,
        data.without_both,
        data.at_30_days,
        data.at_discharge
    );
    let every = stride(data.pairs.len());
    if every > 1 {
        text.push_str(&format!(
            " Of {} lines every {every}th is drawn, by procedure date; the numbers are of all.",
            data.pairs.len()
        ));
    }
    text
}

fn summaries(data: &Haemodynamics) -> Table {
    let row = |title: &str, summary: Option<Summary>| {
        let mut cells = vec![Rich::from(title)];
        cells.extend(summary_cells(summary, data.n, 1));
        cells
    };
    Table::body(
        vec![
            Column::left(Width::Share(1.0)),
            Column::right(Width::Fixed(14.0)),
            Column::right(Width::Fixed(18.0)),
            Column::right(Width::Fixed(24.0)),
            Column::right(Width::Fixed(24.0)),
            Column::right(Width::Fixed(24.0)),
        ],
        Some(
            ["", "n", "missing", "median", "quartiles", "range"]
                .map(Rich::from)
                .to_vec(),
        ),
        vec![
            row("Mean gradient before, mmHg", data.before),
            row("Mean gradient at the judging echo, mmHg", data.after),
        ],
    )
}

/// n, missing, median, quartiles, range; quartiles only from five values on.
pub fn summary_cells(summary: Option<Summary>, of: usize, decimals: usize) -> Vec<Rich> {
    let Some(summary) = summary else {
        return [
            "0".to_owned(),
            of.to_string(),
            "–".into(),
            "–".into(),
            "–".into(),
        ]
        .map(Rich::from)
        .to_vec();
    };
    let number = |value: f64| digits(value, decimals);
    [
        summary.n.to_string(),
        (of - summary.n).to_string(),
        number(summary.median),
        summary.quartiles.map_or_else(
            || "fewer than 5".to_owned(),
            |quartiles| format!("{} to {}", number(quartiles.low), number(quartiles.high)),
        ),
        format!("{} to {}", number(summary.minimum), number(summary.maximum)),
    ]
    .map(Rich::from)
    .to_vec()
}

fn regurgitation(grades: &[GradeCounts]) -> Table {
    let rows = grades
        .iter()
        .map(|grades| {
            let known: usize = grades.counts.iter().sum();
            let mut cells = vec![Rich::from(grades.title)];
            cells.extend(
                grades
                    .counts
                    .iter()
                    .map(|count| Rich::from(count.to_string())),
            );
            cells.push(known.to_string().into());
            cells.push(grades.unknown.to_string().into());
            let moderate = grades.counts[3] + grades.counts[4];
            cells.push(percent(moderate, known).into());
            cells
        })
        .collect();
    let mut columns = vec![Column::left(Width::Share(1.0))];
    columns.extend([Column::right(Width::Fixed(14.0)); 8]);
    Table::body(
        columns,
        Some(
            [
                "",
                "none",
                "trace",
                "mild",
                "moderate",
                "severe",
                "known",
                "missing",
                "moderate +",
            ]
            .map(Rich::from)
            .to_vec(),
        ),
        rows,
    )
}

fn residual(writer: &mut Writer<'_>, cohort: &Cohort) {
    let residual = &cohort.haemodynamics.residual;
    writer.heading(3.0, "Mean gradient of 20 mmHg or more at the judging echo");
    let text = if residual.is_empty() {
        "No case among those known.".to_owned()
    } else {
        let listed: Vec<String> = residual
            .iter()
            .take(60)
            .map(|(case, mean)| format!("{case} ({} mmHg)", digits(*mean, 0)))
            .collect();
        let more = match residual.len().saturating_sub(60) {
            0 => String::new(),
            more => format!(", and {more} more"),
        };
        format!(
            "{}: {}{more}. For the audit team only.",
            counted(residual.len(), "case"),
            listed.join(", ")
        )
    };
    writer.block(0.0, &Paragraph::body(text));
}
