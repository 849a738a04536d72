//! The page of operators, sites and access routes.

use super::experience;
use super::writer::{Chart, Writer};
use crate::cohort::statistics::{Standing, percent_text, wilson};
use crate::cohort::{COMPARED, Cohort, Counts, Dimension, GroupReview, GroupsReview};
use crate::figure::cohort::funnel::{
    HIGHEST_RATIO, deaths as funnel_of_deaths, funnel, with_ratio,
};
use crate::page::number::digits;
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Paragraph, Rich};

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.section("Operators, sites, access routes");
    review(writer, cohort, &cohort.operators);
    review(writer, cohort, &cohort.site_groups);
    review(writer, cohort, &cohort.routes);
    writer.block(
        1.0,
        &Paragraph::small(
            "Rolling 12 months, the first operator of a case. Against the pooled rate of all groups of this centre: “look” is \
             outside 95 %, where one group in twenty lies by chance, “flag” outside 99.8 %, by the exact tail; deaths against \
             the group's own predicted risks. No ranks: groups differ in their patients, and a small group that is never \
             flagged is not thereby good. Outside a limit means: look at the cases.",
        ),
    );
    experience::write(writer, cohort);
}

fn review(writer: &mut Writer<'_>, cohort: &Cohort, review: &GroupsReview) {
    let (title, group) = match review.dimension {
        Dimension::Site => ("Sites", "site"),
        Dimension::AccessRoute => ("Access routes", "route"),
        _ => ("Operators", "operator"),
    };
    writer.heading(
        2.5,
        format!("{title}, rolling 12 months, n {}", cohort.n[1]),
    );
    if review.groups.is_empty() {
        writer.block(0.0, &Paragraph::body("No case in the rolling 12 months."));
        return;
    }
    if review.funnel {
        let mut charts: Vec<Chart<'_>> = (0..COMPARED.len())
            .map(|measure| Chart {
                alt: format!(
                    "Funnel of {} by {group} against the pooled rate, with exact 95 % and 99.8 % limits.",
                    COMPARED[measure].1
                ),
                draw: Box::new(move |fonts, area| funnel(fonts, area, review, measure)),
            })
            .collect();
        let with_ratio = with_ratio(review).len();
        if with_ratio > 0 {
            charts.push(Chart {
                alt: format!(
                    "Funnel of observed over expected deaths by {group}, with exact Poisson limits of 95 % and 99.8 %."
                ),
                draw: Box::new(move |fonts, area| funnel_of_deaths(fonts, area, review)),
            });
        }
        for row in charts.chunks(2) {
            writer.figures(1.0, 46.0, row);
        }
        writer.block(
            0.2,
            &Paragraph::small(format!(
                "Line: pooled rate, or as many deaths as expected. Dashed: 99.8 % limits, dotted: 95 %. Every group stands in \
                 the table. {}",
                ratio_words(with_ratio, review.groups.len())
            )),
        );
    } else {
        writer.block(
            0.0,
            &Paragraph::small(match review.dimension {
                Dimension::AccessRoute => {
                    "A route is chosen for the patient, so routes are set side by side in a table and held against no limit."
                }
                _ => {
                    "A funnel is drawn from five groups on, one of them with ten cases or more; with fewer the numbers stand in a table."
                }
            }),
        );
    }
    let rows = review
        .groups
        .iter()
        .map(|group| group_row(group, review))
        .chain([pooled_row(review)])
        .collect();
    let mut columns = vec![
        Column::left(Width::Natural),
        Column::right(Width::Fixed(13.0)),
        Column::right(Width::Fixed(14.0)),
        Column::right(Width::Fixed(30.0)),
    ];
    columns.extend([Column::right(Width::Share(1.0)); COMPARED.len()]);
    let mut header = vec![
        Rich::from(group),
        "period n".into(),
        "12 months n".into(),
        "deaths, observed / expected".into(),
    ];
    header.extend(
        COMPARED
            .iter()
            .map(|(_, title)| Rich::from(format!("{title} (95 % Wilson)"))),
    );
    writer.table(0.5, &Table::body(columns, Some(header), rows));
}

/// Which groups the funnel of deaths shows.
fn ratio_words(drawn: usize, groups: usize) -> String {
    if drawn == 0 {
        return "Deaths are not drawn: no group has one expected death.".to_owned();
    }
    format!(
        "Deaths: {drawn} of {groups} groups are drawn, those with one expected death or more and at most {} times as many \
         deaths; the lines are those of the Poisson distribution, the words in the table follow each group's own risks.",
        digits(HIGHEST_RATIO, 0)
    )
}

fn group_row(group: &GroupReview, review: &GroupsReview) -> Vec<Rich> {
    let mut cells = vec![
        Rich::bold(match review.dimension {
            Dimension::AccessRoute => group.name.replace('_', " "),
            _ => group.name.clone(),
        }),
        group.in_period.to_string().into(),
        group.n.to_string().into(),
        deaths(group),
    ];
    for (measure, counts) in group.counts.iter().enumerate() {
        let text = rate(counts);
        cells.push(match group.standings[measure].and_then(words) {
            Some(word) if review.groups.len() > 1 && review.dimension != Dimension::AccessRoute => {
                Rich::from(text).and_bold(format!(" {word}"))
            }
            _ => text.into(),
        });
    }
    cells
}

fn deaths(group: &GroupReview) -> Rich {
    if group.with_risk == 0 {
        return "–".into();
    }
    let text = format!("{} / {}", group.observed, digits(group.expected, 2));
    match group.deaths.and_then(words) {
        Some(word) => Rich::from(text).and_bold(format!(" {word}")),
        None => text.into(),
    }
}

fn words(standing: Standing) -> Option<&'static str> {
    match standing {
        Standing::Within => None,
        Standing::Above => Some("look, more"),
        Standing::Below => Some("look, fewer"),
        Standing::FarAbove => Some("flag, more"),
        Standing::FarBelow => Some("flag, fewer"),
    }
}

/// Count and interval; below ten known cases the count only, and no rate.
fn rate(counts: &Counts) -> String {
    let known = counts.known();
    let fraction = format!("{}/{known}", counts.yes);
    if known < 10 {
        return fraction;
    }
    match (percent_text(counts.yes, known), wilson(counts.yes, known)) {
        (Some(percent), Some(interval)) => format!(
            "{fraction}, {percent} % ({} to {})",
            digits(100.0 * interval.low, 0),
            digits(100.0 * interval.high, 0)
        ),
        _ => fraction,
    }
}

fn pooled_row(review: &GroupsReview) -> Vec<Rich> {
    let sum = |of: &dyn Fn(&GroupReview) -> usize| review.groups.iter().map(of).sum::<usize>();
    let expected: f64 = review.groups.iter().map(|group| group.expected).sum();
    let mut cells = vec![
        Rich::from("all"),
        sum(&|group| group.in_period).to_string().into(),
        sum(&|group| group.n).to_string().into(),
        format!("{} / {}", sum(&|group| group.observed), digits(expected, 2)).into(),
    ];
    cells.extend(review.pooled.iter().map(|counts| Rich::from(rate(counts))));
    cells
}
