//! The page of patients and procedures.

use super::words::{beside_words, share, shown};
use super::writer::Writer;
use crate::cohort::statistics::{Summary, summary_released};
use crate::cohort::{Cohort, OLDEST_AGE, TreatedCategory, TreatedQuantity};
use crate::page::number::{digits, pretty_unit};
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Paragraph, Rich};

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    let treated = &cohort.treated;
    writer.section("Who was treated");
    let beside = if cohort.previous.is_some() || cohort.earlier.is_some() {
        beside_words(cohort)
    } else {
        "since the start"
    };
    writer.heading(
        0.0,
        format!(
            "Measures: median, quartiles (range); period n {}{}",
            shown(cohort, treated.now_n),
            match treated.beside_n {
                0 => String::new(),
                n => format!(", {beside} n {}", shown(cohort, n)),
            }
        ),
    );
    let quantities = treated
        .quantities
        .iter()
        .map(|quantity| cut(quantity_row(cohort, quantity), cohort))
        .collect();
    writer.table(
        0.0,
        &Table::body(
            cut(columns(), cohort),
            Some(cut(header(beside), cohort)),
            quantities,
        ),
    );
    writer.heading(2.5, "Categories: cases of those known (percent)");
    let mut rows = Vec::new();
    for category in &treated.categories {
        rows.extend(
            category_rows(cohort, category)
                .into_iter()
                .map(|row| cut(row, cohort)),
        );
    }
    writer.table(
        0.0,
        &Table::body(
            cut(columns(), cohort),
            Some(cut(header(beside), cohort)),
            rows,
        ),
    );
    writer.block(
        0.8,
        &Paragraph::small(
            "Percentages of one measure need not add to 100. Fewer than five values: no quartiles, the range only. Risk \
             scores: EuroSCORE II computed, else as recorded; STS as recorded.",
        ),
    );
}

/// Without a span to stand beside, its three columns are left out.
fn cut<T>(mut cells: Vec<T>, cohort: &Cohort) -> Vec<T> {
    if cohort.treated.beside_n == 0 {
        cells.truncate(4);
    }
    cells
}

fn columns() -> Vec<Column> {
    vec![
        Column::left(Width::Fixed(42.0)),
        Column::right(Width::Share(1.0)),
        Column::right(Width::Fixed(9.0)),
        Column::right(Width::Fixed(11.0)),
        Column::right(Width::Share(1.0)),
        Column::right(Width::Fixed(9.0)),
        Column::right(Width::Fixed(11.0)),
    ]
}

fn header(beside: &str) -> Vec<Rich> {
    ["", "period", "known", "missing", beside, "known", "missing"]
        .map(Rich::from)
        .to_vec()
}

fn quantity_row(cohort: &Cohort, quantity: &TreatedQuantity) -> Vec<Rich> {
    let mut title = quantity.title.to_owned();
    if !quantity.unit.is_empty() {
        title.push_str(&format!(", {}", pretty_unit(quantity.unit)));
    }
    let mut cells = vec![Rich::from(title)];
    let treated = &cohort.treated;
    for (summary, of) in [
        (quantity.now, treated.now_n),
        (quantity.beside, treated.beside_n),
    ] {
        cells.extend(summed(cohort, quantity, summary, of));
    }
    cells
}

fn summed(
    cohort: &Cohort,
    quantity: &TreatedQuantity,
    summary: Option<Summary>,
    of: usize,
) -> [Rich; 3] {
    let (title, decimals) = (quantity.title, quantity.decimals);
    let n = summary.map_or(0, |summary| summary.n);
    let options = &cohort.options;
    let small = |count: usize| (1..options.masking_threshold).contains(&count);
    if options.deidentify && (!summary_released(n, options.masking_threshold) || small(of - n)) {
        return ["masked".into(), Rich::default(), Rich::default()];
    }
    let number = |value: f64| {
        if options.deidentify && title == "Age" && value >= OLDEST_AGE {
            format!("{}+", digits(OLDEST_AGE, 0))
        } else {
            digits(value, decimals)
        }
    };
    let text = summary.map_or_else(
        || "–".to_owned(),
        |summary| {
            let range = format!("{} to {}", number(summary.minimum), number(summary.maximum));
            match summary.quartiles {
                Some(quartiles) if options.deidentify => format!(
                    "{}, {} to {}",
                    number(summary.median),
                    number(quartiles.low),
                    number(quartiles.high)
                ),
                Some(quartiles) => format!(
                    "{}, {} to {} ({range})",
                    number(summary.median),
                    number(quartiles.low),
                    number(quartiles.high)
                ),
                None => format!("({range})"),
            }
        },
    );
    [text, n.to_string(), (of - n).to_string()].map(Rich::from)
}

fn category_rows(cohort: &Cohort, category: &TreatedCategory) -> Vec<Vec<Rich>> {
    let treated = &cohort.treated;
    let masked = |known: usize, of: usize, counts: Vec<usize>| {
        let total: usize = counts.iter().sum();
        // Of a yes-or-no cell, the no is the rest; of a list, the choices not named have no case.
        let rest = known - total;
        cohort.options.deidentify
            && counts
                .into_iter()
                .chain([rest, of - known])
                .any(|count| (1..cohort.options.masking_threshold).contains(&count))
    };
    let hide_now = masked(
        category.now_known,
        treated.now_n,
        category.choices.iter().map(|choice| choice.now).collect(),
    );
    let hide_beside = masked(
        category.beside_known,
        treated.beside_n,
        category
            .choices
            .iter()
            .map(|choice| choice.beside)
            .collect(),
    );
    let missing = [
        (category.now_known, treated.now_n, hide_now),
        (category.beside_known, treated.beside_n, hide_beside),
    ]
    .map(|(known, of, hide)| {
        if hide {
            [Rich::default(), Rich::default()]
        } else {
            [known.to_string(), (of - known).to_string()].map(Rich::from)
        }
    });
    let one_line = category.choices.len() == 1 && category.choices[0].word == "yes";
    let cell = |count: usize, known: usize, hide: bool| {
        if hide {
            Rich::from("masked")
        } else {
            Rich::from(share(count, known))
        }
    };
    let mut rows = Vec::new();
    if !one_line {
        let [now, beside] = missing.clone();
        let [known, lacking] = now;
        let [beside_known, beside_lacking] = beside;
        rows.push(vec![
            Rich::from(category.title),
            Rich::default(),
            known,
            lacking,
            Rich::default(),
            beside_known,
            beside_lacking,
        ]);
    }
    for choice in &category.choices {
        let title = if one_line {
            category.title.to_owned()
        } else {
            format!("\u{a0}\u{a0}{}", choice.word)
        };
        let mut cells = vec![
            Rich::from(title),
            cell(choice.now, category.now_known, hide_now),
            Rich::default(),
            Rich::default(),
            cell(choice.beside, category.beside_known, hide_beside),
            Rich::default(),
            Rich::default(),
        ];
        if one_line {
            let [now, beside] = missing.clone();
            let [known, lacking] = now;
            let [beside_known, beside_lacking] = beside;
            (cells[2], cells[3]) = (known, lacking);
            (cells[5], cells[6]) = (beside_known, beside_lacking);
        }
        rows.push(cells);
    }
    rows
}
