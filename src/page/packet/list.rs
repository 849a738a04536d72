//! The worklist: first what was found, then week by week, clinic by clinic.

use super::changed;
use super::leaves::Leaves;
use super::rows::{Record, Rows};
use super::words;
use crate::draw::{Fonts, Role, Tag};
use crate::page::number::{date, date_range};
use crate::page::text::{Block, Heading, Laid, Paragraph, Rich, draw_lines};
use crate::page::theme;
use crate::page::words::{DOUBT, Words};
use crate::record::{Choice, FollowUpStatus, Text};
use crate::worklist::{Changes, DATA_LAG_DAYS, Entry, Gap, Why, Worklist, visit_name};

/// Heads of the columns.
const HEADS: [&str; 5] = [
    "patient",
    "visit by the schedule",
    "how it stands",
    "last seen and last contact",
    "last mean gradient",
];

/// Missing cells named in a line.
const GAPS_NAMED: usize = 3;

/// Writes the worklist.
pub fn write(
    leaves: &mut Leaves<'_>,
    worklist: &Worklist,
    without_page: &[&Text],
    changes: Option<&Changes>,
) {
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
            ", though results.csv has a visit for it: case {}{} of the same patient shows a sign of death.",
            left_off.because_of,
            if left_off.withheld { ", withheld," } else { "" },
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
        let heading = |more: &str| Heading {
            text: Rich::bold(name).and(more),
            role: Role::H2,
        };
        let (first, again) = (heading(&format!(" · {count}")), heading(", continued"));
        for (position, (group, entries)) in clinic.groups.iter().enumerate() {
            let rows = Rows {
                shares: vec![29.0, 39.5, 34.0, 38.5, 29.0],
                header: HEADS.to_vec(),
                records: Vec::new(),
                ticks: true,
            };
            let records = || {
                let entries = entries.iter();
                entries.map(|entry| record(entry, worklist, changes))
            };
            let title = Title(words::group(*group));
            if position == 0 {
                let above: [(f64, &dyn Block); 2] = [(4.0, &first), (0.2, &title)];
                leaves.rows(&above, Some(&again), true, &rows, records());
            } else {
                leaves.rows(&[(1.6, &title)], Some(&again), false, &rows, records());
            }
        }
    }
    leaves.block(3.0, &Paragraph::small(reading_help(changes)));
}

/// The heading of a group.
struct Title(String);

impl Block for Title {
    fn laid<'b>(&'b self, fonts: &Fonts, width_mm: f64) -> Laid<'b> {
        let lines = Rich::bold(self.0.as_str()).lines(fonts, theme::BODY, width_mm, 1);
        Laid::new(theme::BODY.pitch_mm + 0.4, move |pen, at| {
            pen.tagged(Tag::new(Role::H3), |pen| {
                draw_lines(pen, lines, at, theme::BODY, theme::INK);
            });
        })
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

fn reading_help(changes: Option<&Changes>) -> String {
    let changed = if changes.is_some() {
        "C changed results, "
    } else {
        ""
    };
    format!(
        "Findings stand first, then each week of the due day; clinic: follow_up_site, else site. A visit is due by the \
         schedule of the site file; it is done when any visit but a review of the records lies in its window, that of 30 days also by a reference echo. “Last contact” is the latest day the \
         patient is known to have been alive. Reference: the echo of day 23 to 105 nearest day 30. A missing cell \
         “settles” a result that would be known with this cell alone. †: a check across the cells of that echo fails. \
         Page labels: W worklist, {changed}the case id for a case page, S visit slips, G data gaps."
    )
}

/// One patient.
fn record(entry: &Entry, worklist: &Worklist, changes: Option<&Changes>) -> Record {
    let changed = changes.and_then(|changes| changed::of_case(changes, &entry.case_id));
    Record {
        cells: vec![
            who(entry),
            visit(entry),
            stands(entry, worklist),
            seen(entry),
            gradient(entry),
        ],
        below: below(entry).into_iter().chain(changed).collect(),
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
        Some(status) => lines.push(Rich::bold(format!("recorded: {}", status.words()))),
    }
    lines
}

fn seen(entry: &Entry) -> Vec<Rich> {
    let mut lines: Vec<Rich> = vec![
        match entry.last_seen {
            Some(seen) => format!("seen {}, {}", date(seen.date), seen.attendance.words()),
            None => "no visit recorded".to_owned(),
        }
        .into(),
    ];
    if entry
        .last_seen
        .is_none_or(|seen| seen.date != entry.last_contact)
    {
        lines.push(format!("last contact {}", date(entry.last_contact)).into());
    }
    let days = words::days(entry.days_without_contact);
    lines.push(format!("{days} without contact").into());
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
        Rich::bold(words::measured(last.mean_mmhg, 1, "mmHg")).and_bold(if last.in_doubt {
            DOUBT
        } else {
            ""
        }),
        if last.before_discharge {
            format!("{when}, at discharge").into()
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

/// What is missing for results that judge the case, what settles most first.
fn missing(entry: &Entry) -> Option<Rich> {
    let gaps = &entry.gaps.gaps;
    let judging = |gap: &&Gap| gap.judges().is_some();
    let mut named: Vec<String> = gaps
        .iter()
        .filter(judging)
        .take(GAPS_NAMED)
        .map(|gap| {
            let result = gap.judges().map_or("", words::result);
            let verb = if gap.settles.iter().any(|name| words::result(name) == result) {
                "settles"
            } else {
                "needed for"
            };
            format!("{}, {verb} {result}", words::gap(gap))
        })
        .collect();
    let rest = gaps.len() - named.len();
    if entry.gaps.no_reference.is_some() {
        named.insert(
            0,
            "no reference echo, so deterioration cannot be told".to_owned(),
        );
    }
    if rest > 0 {
        let more = words::counted(i64::try_from(rest).unwrap_or(i64::MAX), "more cell");
        let more = if named.is_empty() {
            more.replacen("more ", "", 1)
        } else {
            more
        };
        named.push(format!("{more} in Data gaps"));
    }
    (!named.is_empty()).then(|| Rich::bold("Missing: ").and(named.join("; ")))
}
