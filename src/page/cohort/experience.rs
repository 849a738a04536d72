//! Case by case of each operator, and of access routes beside the usual one.

use super::words::counted;
use super::writer::{Chart, Writer};
use crate::cohort::{
    BLOCK, COURSE_FROM_CASES, Cohort, Course, Experience, LONG_BLOCK, LONG_COURSE, PROCESS,
};
use crate::figure::cohort::experience;
use crate::page::number::digits;
use crate::page::text::{Paragraph, Rich};

/// Courses drawn of one kind; the points of all are in cohort-series.csv.
const MOST_DRAWN: usize = 12;

/// Height of a row of charts (mm).
const ROW_MM: f64 = 34.0;

/// Writes the panels.
pub fn write(writer: &mut Writer<'_>, cohort: &Cohort) {
    writer.heading(
        3.0,
        format!("Operators case by case, since the start, n {}", cohort.n[2]),
    );
    courses(writer, &cohort.experience, "operator");
    let routes = &cohort.route_experience;
    if !routes.courses.is_empty() || !routes.too_few.is_empty() {
        writer.heading(3.0, "Access routes beside the usual one, case by case");
        courses(writer, routes, "route");
    }
    if !cohort.experience.courses.is_empty() || !routes.courses.is_empty() {
        writer.block(1.0, &Paragraph::small(explained()));
    }
}

fn courses(writer: &mut Writer<'_>, experience: &Experience, group: &str) {
    for course in experience.courses.iter().take(MOST_DRAWN) {
        writer.need(ROW_MM + 6.0);
        writer.block(
            1.5,
            &Paragraph::body(Rich::bold(format!("{group} {}", course.name)).and(summed(course))),
        );
        let mut charts: Vec<Chart<'_>> = Vec::new();
        for (measure, (name, _)) in PROCESS.iter().enumerate() {
            if course
                .cases
                .iter()
                .any(|case| case.process[measure].is_some())
            {
                charts.push(Chart {
                    alt: format!(
                        "{name} of {group} {} case by case, with the median of each block.",
                        course.name
                    ),
                    draw: Box::new(move |fonts, area| {
                        experience::process(fonts, area, course, measure)
                    }),
                });
            }
        }
        if !course.deaths.is_empty() {
            charts.push(Chart {
                alt: format!(
                    "Observed minus expected deaths of {group} {} case by case, by predicted risk with its 95 % band and crude.",
                    course.name
                ),
                draw: Box::new(move |fonts, area| experience::deaths(fonts, area, course)),
            });
        }
        if charts.is_empty() {
            let text = "Neither process measures nor risks are known: nothing is drawn.";
            writer.block(0.3, &Paragraph::body(text));
        } else {
            writer.figures(0.8, ROW_MM, &charts);
        }
    }
    let more = experience.courses.len().saturating_sub(MOST_DRAWN);
    if more > 0 {
        let text = format!(
            "{} more, not drawn: cohort-series.csv has their points.",
            counted(more, group)
        );
        writer.block(1.0, &Paragraph::body(text));
    }
    writer.block(1.0, &Paragraph::small(too_few(experience, group)));
}

fn summed(course: &Course) -> String {
    let mut text = format!(", {}", counted(course.n, "case"));
    if course.earlier > 0 {
        text.push_str(&format!(", the latest {} shown", course.cases.len()));
    }
    if let Some(last) = course.deaths.last() {
        text.push_str(&format!(
            "; at the last, observed minus expected deaths {} by risk (95 % {} to {} by chance), {} crude",
            digits(last.adjusted, 1),
            digits(last.band_95.low, 1),
            digits(last.band_95.high, 1),
            digits(last.crude, 1)
        ));
    }
    text.push('.');
    text
}

fn too_few(experience: &Experience, group: &str) -> String {
    if experience.too_few.is_empty() && !experience.courses.is_empty() {
        return format!("Every {group} has {COURSE_FROM_CASES} cases or more.");
    }
    if experience.too_few.is_empty() {
        return format!("No {group} is recorded: nothing is drawn.");
    }
    let named: Vec<String> = experience
        .too_few
        .iter()
        .take(40)
        .map(|(name, n)| format!("{} {n}", name.replace('_', " ")))
        .collect();
    format!(
        "Fewer than {COURSE_FROM_CASES} cases, nothing is drawn: {}{}.",
        named.join(", "),
        if experience.too_few.len() > 40 {
            " and others"
        } else {
            ""
        }
    )
}

fn explained() -> String {
    format!(
        "Cases are numbered from the first in these files, which need not be the first ever done. Dots: cases; thick lines: \
         median of {BLOCK} cases in a row ({LONG_BLOCK} above {LONG_COURSE} cases), dashed where the last block is shorter; thin \
         upright lines: quartiles, from five values on. Deaths: up is more deaths than expected; by predicted risk with the band \
         that 95 % of lines lie in at each case by itself, and crude against the centre's own rate. Patients change with \
         experience, so a falling crude line may be choice of patients. No curve is fitted and no case number is a threshold."
    )
}
