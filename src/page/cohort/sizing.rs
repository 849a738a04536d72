//! The page of sizing: what was chosen and what came of it. Counts, no advice.

use super::writer::{Chart, Writer};
use crate::cohort::{CameOf, Cohort, Counts, DIFFER_FROM_MM, Followed, PlanningRisk, SizingReview};
use crate::figure::cohort::oversizing;
use crate::page::table::{Column, Table, Width};
use crate::page::text::{Paragraph, Rich};

/// Fewer cases than this are not drawn.
const DRAWN_FROM: usize = 5;
/// Most points drawn.
const MOST_POINTS: usize = 2000;
/// Most cases named.
const MOST_NAMED: usize = 60;

/// Writes the page.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    let review = &cohort.sizing;
    writer.section("Sizing and what came of it");
    writer.heading(0.0, format!(
            "Over-sizing, gradient and leak by how the valve expands: {} of {} cases since the start",
            review.points.len(),
            review.n
        ));
    charts(writer, cohort);
    writer.block(
        0.5,
        &Paragraph::small(
            "Over-sizing: nominal device area over the annulus area, minus 1. Points are patients of differing anatomy, \
             calcium and device: a pattern here shows what happened, not what a size does. No line is fitted.",
        ),
    );
    differing(writer, cohort);
    risks(writer, cohort);
    writer.block(
        0.8,
        &Paragraph::small(
            "Labelled ranges are for the annulus; a balloon that sealed is a further line of evidence. Which line a size \
             followed is read from the ranges afterwards, not from what the operator thought. Small counts: no rate is \
             given. Nothing here recommends a size.",
        ),
    );
}

fn charts(writer: &mut Writer<'_>, cohort: &Cohort) {
    let review = &cohort.sizing;
    if review.points.len() < DRAWN_FROM {
        writer.block(
            0.5,
            &Paragraph::body("Fewer than five cases with an over-sizing: nothing is drawn."),
        );
        return;
    }
    let thinned;
    let shown: &SizingReview = if review.points.len() > MOST_POINTS {
        let every = review.points.len().div_ceil(MOST_POINTS);
        thinned = SizingReview {
            points: review.points.iter().step_by(every).cloned().collect(),
            ..review.clone()
        };
        writer.block(
            0.0,
            &Paragraph::small(format!("Every {every}th case is drawn, by procedure date.")),
        );
        &thinned
    } else {
        review
    };
    let with = |known: &dyn Fn(&crate::cohort::SizingPoint) -> bool| {
        review.points.iter().filter(|point| known(point)).count()
    };
    let gradients = with(&|point| point.gradient_mmhg.is_some());
    let grades = with(&|point| point.paravalvular.is_some());
    writer.figures(
        0.5,
        62.0,
        &[
            Chart {
                alt: format!(
                    "Mean gradient at the judging echo against over-sizing, {gradients} cases, by mechanism."
                ),
                draw: Box::new(|fonts, area| oversizing::gradient(fonts, area, shown)),
            },
            Chart {
                alt: format!(
                    "Paravalvular regurgitation at the judging echo against over-sizing, {grades} cases, by mechanism."
                ),
                draw: Box::new(|fonts, area| oversizing::regurgitation(fonts, area, shown)),
            },
        ],
    );
    writer.figure(
        0.5,
        3.5,
        "Filled circle balloon-expandable, open circle self-expanding, triangle mechanically expandable, cross not known.",
        |fonts, area| Ok(oversizing::key(fonts, area, shown)),
    );
    writer.block(
        0.2,
        &Paragraph::small(format!(
            "Left n {gradients}, right n {grades} of the {} with an over-sizing; the others have no such value at the judging \
             echo.",
            review.points.len()
        )),
    );
}

fn differing(writer: &mut Writer<'_>, cohort: &Cohort) {
    let review = &cohort.sizing;
    let differ: usize = review.differing.iter().map(|came| came.n).sum();
    writer.heading(2.5, format!(
            "Annulus against sealed balloon: {differ} of {} cases with both differ by {DIFFER_FROM_MM} mm or more, since the \
             start",
            review.both_lines
        ));
    if review.both_lines == 0 {
        writer.block(
            0.0,
            &Paragraph::body("No case has an annulus and a balloon that sealed completely."),
        );
        return;
    }
    let mut rows: Vec<Vec<Rich>> = Followed::ALL
        .iter()
        .zip(&review.differing)
        .filter(|(_, came)| came.n > 0)
        .map(|(followed, came)| came_row(format!("Differ; {}", followed.words()), came))
        .collect();
    rows.push(came_row(
        format!("Differ by less than {DIFFER_FROM_MM} mm"),
        &review.alike,
    ));
    writer.table(
        0.0,
        &Table::body(
            vec![
                Column::left(Width::Share(1.0)),
                Column::right(Width::Fixed(12.0)),
                Column::right(Width::Fixed(26.0)),
                Column::right(Width::Fixed(26.0)),
                Column::right(Width::Fixed(26.0)),
                Column::right(Width::Fixed(26.0)),
            ],
            Some(
                [
                    "yes of known",
                    "cases",
                    "leak moderate or more",
                    "mean gradient 20 or more",
                    "root injury",
                    "new pacemaker",
                ]
                .map(Rich::from)
                .to_vec(),
            ),
            rows,
        ),
    );
    if !review.differing_cases.is_empty() {
        let named: Vec<String> = review
            .differing_cases
            .iter()
            .take(MOST_NAMED)
            .map(|(case, followed)| format!("{case} ({})", short(*followed)))
            .collect();
        let more = match review.differing_cases.len().saturating_sub(MOST_NAMED) {
            0 => String::new(),
            more => format!(", and {more} more"),
        };
        writer.block(
            0.5,
            &Paragraph::small(format!("Differing: {}{more}.", named.join(", "))),
        );
    }
}

fn short(followed: Followed) -> &'static str {
    match followed {
        Followed::Annulus => "annulus",
        Followed::Balloon => "balloon",
        Followed::Both => "both",
        Followed::Neither => "neither",
        Followed::NotKnown => "not known",
    }
}

fn came_row(title: String, came: &CameOf) -> Vec<Rich> {
    let all = [
        came.regurgitation,
        came.gradient,
        came.root_injury,
        came.pacemaker,
    ];
    let mut cells = vec![Rich::from(title), came.n.to_string().into()];
    cells.extend(all.iter().map(|counts| Rich::from(of_known(counts))));
    cells
}

fn of_known(counts: &Counts) -> String {
    format!("{}/{}", counts.yes, counts.known())
}

fn risks(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.heading(
        2.5,
        format!(
            "Planning risks and what happened, since the start, n {}",
            cohort.sizing.n
        ),
    );
    let rows = cohort.sizing.risks.iter().map(risk_row).collect();
    writer.table(
        0.0,
        &Table::body(
            vec![
                Column::left(Width::Share(1.7)),
                Column::left(Width::Share(1.0)),
                Column::right(Width::Fixed(14.0)),
                Column::right(Width::Fixed(24.0)),
                Column::right(Width::Fixed(22.0)),
            ],
            Some(
                [
                    "raised where",
                    "what it is a risk of",
                    "raised in",
                    "happened, raised",
                    "happened, others",
                ]
                .map(Rich::from)
                .to_vec(),
            ),
            rows,
        ),
    );
}

fn risk_row(risk: &PlanningRisk) -> Vec<Rich> {
    let cases = risk.raised.n() + risk.raised.not_applicable;
    vec![
        risk.risk.into(),
        risk.event.into(),
        cases.to_string().into(),
        of_known(&risk.raised).into(),
        of_known(&risk.others).into(),
    ]
}
