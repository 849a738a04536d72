//! The worklist: first what was found, then week by week, clinic by clinic.

use super::leaves::Leaves;
use super::rows::{Record, Rows};
use super::words;
use crate::draw::Role;
use crate::page::number::{date, date_range};
use crate::page::text::{Heading, Paragraph, Rich};
use crate::record::{Choice, FollowUpStatus, Text};
use crate::worklist::{DATA_LAG_DAYS, Entry, Gap, Why, Worklist, visit_name};

/// Missing cells named in a line.
const GAPS_NAMED: usize = 3;

/// Writes the worklist.
pub fn write(leaves: &mut Leaves<'_>, worklist: &Worklist, without_page: &[&Text]) {
    leaves.part("Follow-up worklist", "Worklist", "W");
    leaves.block(0.0, &Paragraph::body(summary(worklist)));
    if let Some(days) = worklist.data_lag() {
        let text = Rich::bold(format!(
            "The data end {} before the day this list speaks for.",
            words::days(days)
        ))
        .and(format!(
            " Visits, bookings and deaths of that time are not in it (said from {} on).",
            words::days(DATA_LAG_DAYS + 1)
        ));
        leaves.block(0.8, &Paragraph::body(text));
    }
    for left_off in &worklist.left_off {
        let text = Rich::bold(format!("Not on the list: case {}", left_off.case_id)).and(format!(
            ", though results.csv has a visit for it: case {} of the same patient shows a sign of death.",
            left_off.because_of
        ));
        leaves.block(0.8, &Paragraph::body(text));
    }
    if !without_page.is_empty() {
        let ids: Vec<&str> = without_page.iter().map(|id| &***id).collect();
        let text = Rich::bold("No page in this packet for: ").and(ids.join(", "));
        leaves.block(0.8, &Paragraph::body(text));
    }
    let clinics = worklist.clinics();
    if clinics.is_empty() {
        leaves.block(3.0, &Paragraph::body("No visit is due, overdue or lost."));
    }
    for clinic in &clinics {
        let name = clinic.name.as_deref().unwrap_or("Clinic not recorded");
        let count = words::counted(i64::try_from(clinic.len()).unwrap_or(i64::MAX), "patient");
        let heading = Heading {
            text: Rich::bold(name).and(format!(" · {count}")),
            role: Role::H2,
        };
        for (position, (group, entries)) in clinic.groups.iter().enumerate() {
            let rows = Rows {
                shares: vec![33.0, 33.0, 36.0, 38.0, 29.0],
                header: if position == 0 {
                    vec![
                        "patient",
                        "visit by the schedule",
                        "how it stands",
                        "last seen and last contact",
                        "last mean gradient",
                    ]
                } else {
                    Vec::new()
                },
                records: entries
                    .iter()
                    .map(|entry| record(entry, worklist))
                    .collect(),
                ticks: true,
            };
            let title = Titled(words::group(*group));
            if position == 0 {
                leaves.rows(&[(4.0, &heading), (0.2, &title)], &rows);
            } else {
                leaves.rows(&[(1.6, &title)], &rows);
            }
        }
    }
    leaves.block(3.0, &Paragraph::small(reading_help()));
}

/// The heading of a group.
struct Titled(String);

impl crate::page::Block for Titled {
    fn height_mm(&self, _: &crate::draw::Fonts, _: f64) -> f64 {
        crate::page::theme::BODY.pitch_mm + 0.4
    }

    fn draw(&self, pen: &mut crate::page::Pen<'_>, at: crate::page::Place) {
        let lines =
            Rich::bold(self.0.as_str()).lines(pen.fonts, crate::page::theme::BODY, at.width_mm, 1);
        pen.tagged(crate::draw::Tag::new(Role::H3), |pen| {
            crate::page::text::draw_lines(
                pen,
                &lines,
                at,
                crate::page::theme::BODY,
                crate::page::theme::INK,
            );
        });
    }

    fn texts(&self, see: &mut dyn FnMut(&str)) {
        see(&self.0);
    }
}

fn summary(worklist: &Worklist) -> Rich {
    let mut parts: Vec<String> = Vec::new();
    for (why, words) in [
        (Why::Due, "due"),
        (Why::Overdue, "overdue"),
        (Why::Lost, "lost to follow-up"),
        (Why::OpensSoon, "with a window that opens soon"),
        (Why::EchoOutstanding, "seen, echo outstanding"),
    ] {
        let count = worklist.count(why);
        if count > 0 {
            parts.push(format!("{count} {words}"));
        }
    }
    let listed = if parts.is_empty() {
        "nobody".to_owned()
    } else {
        parts.join(", ")
    };
    Rich::bold(format!("{} on the list", worklist.entries.len())).and(format!(
        " of {}: {listed}. Not listed: {} with a sign of death, {} with nothing due within {} of the as-of date.",
        words::counted(i64::try_from(worklist.cases).unwrap_or(i64::MAX), "case"),
        worklist.deceased,
        worklist.nothing_due,
        words::days(worklist.look_ahead_days),
    ))
}

fn reading_help() -> String {
    "Findings stand first, then each week of the due day; clinic: follow_up_site, else site. A visit is due by the \
     schedule of the site file; it is done when any visit lies in its window. “Last contact” is the latest day the \
     patient is known to have been alive. Reference: the echo of day 23 to 105 nearest day 30. A missing cell “settles” \
     a result that would be known with this cell alone. Page labels: W worklist, the case id for a case page, S visit \
     slips, G data gaps."
        .to_owned()
}

/// One patient.
fn record(entry: &Entry, worklist: &Worklist) -> Record {
    Record {
        cells: vec![
            who(entry),
            visit(entry),
            stands(entry, worklist),
            seen(entry),
            gradient(entry),
        ],
        below: below(entry),
    }
}

fn who(entry: &Entry) -> Vec<Rich> {
    let mut lines = vec![match &entry.label {
        Some(label) => Rich::bold(&**label),
        None => Rich::bold("label not recorded"),
    }];
    let sex = entry
        .sex
        .map_or_else(String::new, |sex| format!(" · {}", sex.word()));
    lines.push(
        match entry.birth_date {
            Some(birth) => format!("born {}{sex}", date(birth)),
            None => format!("birth date not recorded{sex}"),
        }
        .into(),
    );
    lines.push(format!("case {}", entry.case_id).into());
    lines
}

fn visit(entry: &Entry) -> Vec<Rich> {
    let visit = &entry.visit;
    let mut lines = vec![
        Rich::bold(visit_name(visit, entry.procedure_date)),
        format!("due {}", date(visit.due)).into(),
        format!("window {}", date_range(visit.opens, visit.closes)).into(),
    ];
    if entry.no_valve {
        lines.push("no valve implanted".into());
    }
    lines
}

fn stands(entry: &Entry, worklist: &Worklist) -> Vec<Rich> {
    let mut lines = vec![Rich::bold(words::state(entry, worklist.as_of))];
    lines.push(words::booking(entry).into());
    match entry.standing {
        None => lines.push("standing not recorded".into()),
        Some(FollowUpStatus::Active) => {}
        Some(status) => lines.push(Rich::bold(words::standing(status))),
    }
    lines
}

fn seen(entry: &Entry) -> Vec<Rich> {
    let mut lines: Vec<Rich> = vec![
        match entry.last_seen {
            Some(seen) => format!(
                "seen {}, {}",
                date(seen.date),
                words::attendance(seen.attendance)
            ),
            None => "no visit recorded".to_owned(),
        }
        .into(),
    ];
    let contact = if entry
        .last_seen
        .is_some_and(|seen| seen.date == entry.last_contact)
    {
        format!(
            "{} without contact",
            words::days(entry.days_without_contact)
        )
    } else {
        format!(
            "last contact {}, {} ago",
            date(entry.last_contact),
            words::days(entry.days_without_contact)
        )
    };
    lines.push(contact.into());
    if !entry.not_attended.is_empty() {
        let days: Vec<String> = entry.not_attended.iter().map(|day| date(*day)).collect();
        lines.push(format!("did not attend {}", days.join(", ")).into());
    }
    if let Some((day, case)) = &entry.later_contact {
        lines.push(Rich::bold(format!(
            "known alive {} by case {case}",
            date(*day)
        )));
    }
    lines
}

fn gradient(entry: &Entry) -> Vec<Rich> {
    let Some(last) = entry.last_gradient else {
        return vec!["none recorded".into()];
    };
    let when = last
        .date
        .map_or_else(|| "day not recorded".to_owned(), date);
    let mut lines = vec![
        Rich::bold(words::measured(last.mean_mmhg, 1, "mmHg")),
        if last.before_discharge {
            format!("{when}, before discharge").into()
        } else {
            when.into()
        },
    ];
    let reference = entry.slip.reference.as_ref();
    match reference.and_then(|echo| Some((echo.mean_gradient_mmhg?, echo.date?))) {
        Some((_, day)) if Some(day) == last.date => lines.push("the reference echo".into()),
        Some((mean, day)) => {
            lines.push(format!("reference {}, {}", words::measured(mean, 1, ""), date(day)).into())
        }
        None => lines.push("no reference echo".into()),
    }
    lines
}

fn below(entry: &Entry) -> Vec<Rich> {
    let mut lines: Vec<Rich> = Vec::new();
    if !entry.findings.is_empty() {
        let findings: Vec<String> = entry
            .findings
            .iter()
            .map(|flag| words::finding(*flag))
            .collect();
        lines.push(Rich::bold("Found: ").and_bold(findings.join("; ")));
    }
    if let Some(missed) = missed(entry) {
        lines.push(Rich::bold("Never made: ").and(missed));
    }
    if let (Some(visit), true) = (&entry.echo_outstanding, entry.why != Why::EchoOutstanding) {
        lines.push(Rich::bold("Echo outstanding: ").and(format!(
            "{} was made without an echo in its window",
            visit_name(visit, entry.procedure_date)
        )));
    } else if let Some(visit) = &entry.echo_outstanding {
        lines.push(Rich::bold("Echo outstanding: ").and(format!(
            "of the {}, window {}",
            visit_name(visit, entry.procedure_date),
            date_range(visit.opens, visit.closes)
        )));
    }
    if !entry.same_patient.is_empty() {
        lines.push(
            Rich::bold("Same patient: ")
                .and(format!("case {}", entry.same_patient.join(", case "))),
        );
    }
    if let Some(missing) = missing(entry) {
        lines.push(missing);
    }
    lines
}

fn missed(entry: &Entry) -> Option<String> {
    let names: Vec<String> = entry
        .missed
        .iter()
        .map(|visit| {
            let name = visit_name(visit, entry.procedure_date);
            format!("{name}, window {}", date_range(visit.opens, visit.closes))
        })
        .collect();
    (!names.is_empty()).then(|| names.join("; "))
}

/// What is missing, what settles most first.
fn missing(entry: &Entry) -> Option<Rich> {
    let gaps = &entry.gaps.gaps;
    let settling: Vec<&Gap> = gaps.iter().filter(|gap| !gap.settles.is_empty()).collect();
    let named: Vec<String> = settling
        .iter()
        .take(GAPS_NAMED)
        .map(|gap| {
            let first = gap.settles.last().map_or("", |name| words::result(name));
            let more = gap.settles.len() - 1;
            if more == 0 {
                format!("{}, settles {first}", words::gap(gap))
            } else {
                format!("{}, settles {first} and {more} more", words::gap(gap))
            }
        })
        .collect();
    if gaps.is_empty() && entry.gaps.no_reference.is_none() {
        return None;
    }
    let mut text = named.join("; ");
    let rest = gaps.len() - named.len();
    if rest > 0 {
        let more = words::counted(i64::try_from(rest).unwrap_or(i64::MAX), "cell");
        text = if text.is_empty() {
            more
        } else {
            format!("{text}; {more} more, in Data gaps")
        };
    }
    if entry.gaps.no_reference.is_some() {
        let reference = "no reference echo, so deterioration cannot be told";
        text = if text.is_empty() {
            reference.to_owned()
        } else {
            format!("{reference}; {text}")
        };
    }
    Some(Rich::bold("Missing: ").and(text))
}
