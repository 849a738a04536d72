//! The plan, as recorded: nothing here is proposed by the program.

use super::answer::no_echo_since_reintervention;
use super::ladder::Detail;
use super::limits;
use super::view::{View, cell, computed};
use crate::assess::{NextVisit, ProsthesisEcho, Scheduled, latest, target};
use crate::page::number::{date, date_range, recorded, with_unit};
use crate::page::text::Rich;
use crate::page::words::{self, NOT_RECORDED, Words};
use crate::record::DischargeStatus;

/// What stands for a plan that nobody could make.
const DIED_IN_THE_ROOM: &str = "none: died in the procedure room";

/// One row: what it is about, and what was recorded.
pub(super) struct Row {
    pub key: &'static str,
    pub value: Rich,
    /// Most lines; `usize::MAX` for what is never shortened.
    pub most_lines: usize,
}

fn row(key: &'static str, value: impl Into<Rich>) -> Row {
    Row {
        key,
        value: value.into(),
        most_lines: usize::MAX,
    }
}

/// The latest recorded antithrombotic treatment and where it was recorded.
pub(super) fn latest_treatment(view: &View<'_>) -> (&'static str, String) {
    match latest(view.known, |visit| visit.cells.antithrombotic) {
        Some((visit, treatment)) => (treatment.words(), format!("visit of {}", date(visit.date))),
        None => match view.cells.antithrombotic_plan {
            Some(plan) => (plan.words(), "plan at discharge".to_owned()),
            None => (NOT_RECORDED, "no visit and no plan".to_owned()),
        },
    }
}

/// The visit aimed at on the day of the report.
pub(super) fn scheduled_visit(view: &View<'_>) -> Option<Scheduled> {
    target(view.known, &view.context.settings.schedule)
}

/// What a scheduled visit is called.
pub(super) fn visit_name(visit: &Scheduled) -> String {
    match (visit.visit, visit.years) {
        (NextVisit::Annual, 1) => "1-year visit".to_owned(),
        (NextVisit::Annual, years) => format!("{years}-year visit"),
        (NextVisit::Day30 | NextVisit::None, _) => "30-day visit".to_owned(),
    }
}

/// Every row of the plan.
pub(super) fn rows(view: &View<'_>, detail: &Detail) -> Vec<Row> {
    let mut rows = vec![
        row("Antithrombotic", antithrombotic(view)),
        row("Next visit", next_visit(view)),
        row("For the next echo", echo_repeats(view)),
        row("Rhythm", rhythm(view)),
        Row {
            most_lines: 3,
            ..row("Incidental finding", incidental(view))
        },
        row("Medication", medication(view)),
    ];
    if let Some(note) = view
        .cells
        .discharge_note
        .as_deref()
        .filter(|_| !detail.tight)
    {
        rows.push(Row {
            most_lines: 2,
            ..row("Note at discharge", format!("“{note}”"))
        });
    }
    rows.push(Row {
        most_lines: 2,
        ..row("Contact", contact(view))
    });
    rows
}

fn antithrombotic(view: &View<'_>) -> Rich {
    let cells = &view.record.cells;
    let until = cells
        .antithrombotic_until
        .map_or(String::new(), |until| format!(", until {}", date(until)));
    let then = cells
        .antithrombotic_then
        .map_or(String::new(), |then| format!(", then {}", then.words()));
    let plan = match cells.antithrombotic_plan {
        Some(plan) => format!("{}{until}{then}", plan.words()),
        None if cells.procedural_death == Some(true) => {
            return Rich::from(DIED_IN_THE_ROOM);
        }
        None if until.is_empty() && then.is_empty() => NOT_RECORDED.to_owned(),
        None => format!("{NOT_RECORDED}{until}{then}"),
    };
    match latest(view.known, |visit| visit.cells.antithrombotic) {
        Some((visit, treatment)) => {
            let how = visit
                .cells
                .attendance
                .map_or(String::new(), |how| match how {
                    crate::record::Attendance::Attended => String::new(),
                    how => format!(", {}", how.words()),
                });
            Rich::bold(treatment.words()).and(format!(
                " (visit of {}{how}); at discharge: {plan}",
                date(visit.date)
            ))
        }
        None => {
            let visits = if view.known.visits.is_empty() {
                ""
            } else {
                "; at the visits: not recorded"
            };
            Rich::default()
                .and("at discharge: ")
                .and_bold(plan)
                .and(visits)
        }
    }
}

fn next_visit(view: &View<'_>) -> Rich {
    use crate::assess::FollowUpState;
    let cells = view.cells;
    if view.dead() {
        return Rich::from("none: a death is recorded");
    }
    let Some(visit) = scheduled_visit(view) else {
        return Rich::from(NOT_RECORDED);
    };
    let state = match view.assessment.results.follow_up.follow_up_state {
        FollowUpState::NotYetDue => "not yet due",
        FollowUpState::Due => "due now",
        FollowUpState::Overdue => "overdue",
        FollowUpState::Lost => "lost to follow-up",
        FollowUpState::Deceased => "",
    };
    let booked = view
        .record
        .cells
        .next_booked_date
        .map_or("none booked".to_owned(), |booked| {
            format!("booked for {}", date(booked))
        });
    let site = cells
        .follow_up_site
        .as_deref()
        .map_or(String::new(), |site| format!("; at {site}"));
    let standing = cells
        .follow_up_status
        .map_or(String::new(), |status| format!("; {}", status.words()));
    Rich::bold(format!("{}, {}", visit_name(&visit), date(visit.due))).and(format!(
        " (window {}), {state}; {booked}{site}{standing}",
        date_range(visit.opens, visit.closes)
    ))
}

/// The outflow diameter that was used last, and the values that a later echo is held against.
fn echo_repeats(view: &View<'_>) -> Rich {
    if view.dead() {
        return Rich::from("none: a death is recorded");
    }
    let known = view.known;
    let last = latest(known, |visit| visit.cells.lvot_diameter_mm)
        .map(|(visit, diameter)| (diameter, Some(visit.date)))
        .or_else(|| {
            view.cells
                .post_lvot_diameter_mm
                .map(|diameter| (diameter, view.cells.post_echo_date))
        });
    let diameter = match last {
        Some((diameter, on)) => {
            let on = on.map_or(String::new(), |on| format!(" on {}", date(on)));
            format!(
                "outflow diameter last {}{on}",
                with_unit(&recorded(diameter, 1, &[]), "mm")
            )
        }
        None => "outflow diameter not recorded".to_owned(),
    };
    let reference = match view.assessment.course.reference {
        Some(position) => {
            let visit = &known.visits[position];
            let echo = ProsthesisEcho::of_visit(&visit.cells);
            format!(
                "reference echo {}: mean {}, area {}, DVI {}{}",
                date(visit.date),
                with_unit(
                    &cell(echo.mean_gradient_mmhg, 1, limits::AFTER_MEAN),
                    "mmHg"
                ),
                with_unit(&computed(echo.eoa_cm2(), 2, &[]), "cm2"),
                computed(echo.dvi(), 2, limits::DVI),
                view.visit_doubt(
                    position,
                    &["mean_gradient_mmhg", "vmax_m_s", "av_vti_cm", "lvot_vti_cm"]
                )
            )
        }
        None => "no reference echo".to_owned(),
    };
    let before = match no_echo_since_reintervention(view, true) {
        Some(_) => "; before reintervention",
        None => "",
    };
    Rich::from(format!("{diameter}; {reference}{before}"))
}

fn rhythm(view: &View<'_>) -> Rich {
    let cells = view.cells;
    if cells.procedural_death == Some(true) && cells.discharge_rhythm.is_none() {
        return Rich::from(DIED_IN_THE_ROOM);
    }
    let rhythm = cells
        .discharge_rhythm
        .map_or(NOT_RECORDED.to_owned(), words::plain);
    let block = match cells.new_left_bundle_branch_block {
        Some(true) => "; new left bundle branch block",
        Some(false) => "; no new left bundle branch block",
        None => "; new left bundle branch block: not recorded",
    };
    let monitor = cells.rhythm_monitor.map_or(NOT_RECORDED, Words::words);
    Rich::from(format!(
        "at discharge {rhythm}{block}; ambulatory monitor: {monitor}"
    ))
}

fn incidental(view: &View<'_>) -> Rich {
    let cells = view.cells;
    let Some(finding) = cells.incidental_finding.as_deref() else {
        return Rich::from("none recorded");
    };
    let owner = cells.incidental_owner.as_deref().unwrap_or(NOT_RECORDED);
    match cells.incidental_closed {
        Some(true) => Rich::from(format!("closed; owner: {owner}; “{finding}”")),
        Some(false) => Rich::bold("open").and(format!("; owner: {owner}; “{finding}”")),
        None => Rich::bold("not recorded as closed").and(format!("; owner: {owner}; “{finding}”")),
    }
}

/// Whole, or its count and where it stands whole: a shortened list of drugs would be read as the whole one.
fn medication(view: &View<'_>) -> Rich {
    match view.cells.medication.as_deref() {
        None if view.cells.procedural_death == Some(true) => Rich::from(DIED_IN_THE_ROOM),
        None => Rich::from(NOT_RECORDED),
        Some(medication) => Rich::from(
            medication
                .split(';')
                .map(str::trim)
                .filter(|item| !item.is_empty())
                .map(unbroken)
                .collect::<Vec<_>>()
                .join("; "),
        ),
    }
}

/// A drug and its dose on one line, as long as that is an item and not a sentence.
fn unbroken(item: &str) -> String {
    const MOST_LETTERS: usize = 40;
    if item.chars().count() > MOST_LETTERS {
        item.to_owned()
    } else {
        item.replace(' ', "\u{a0}")
    }
}

/// What stands in place of a medication list that does not fit.
pub(super) fn medication_counted(view: &View<'_>) -> Rich {
    let items = view.cells.medication.as_deref().map_or(0, |medication| {
        medication
            .split(';')
            .filter(|item| !item.trim().is_empty())
            .count()
    });
    Rich::bold(format!("{items} items, not printed here")).and(format!(
        ": the whole list stands in {}, line {}, column medication",
        super::foot::file_name(&view.record.place.file),
        view.record.place.line
    ))
}

/// Nothing more is said of it.
const PROPHYLAXIS: &str = "; endocarditis prophylaxis: see local guidance";

fn contact(view: &View<'_>) -> Rich {
    let prophylaxis = if view.dead() { "" } else { PROPHYLAXIS };
    let lines: Vec<&str> = view
        .context
        .contact_lines
        .iter()
        .map(String::as_str)
        .filter(|line| !line.trim().is_empty())
        .collect();
    if lines.is_empty() {
        Rich::from(format!("not given (the site file holds it){prophylaxis}"))
    } else {
        Rich::from(format!("{}{prophylaxis}", lines.join(" · ")))
    }
}

/// How the stay ended, in words.
pub(super) fn discharge(view: &View<'_>) -> String {
    let cells = view.cells;
    if cells.procedural_death == Some(true) {
        return "died in the procedure room".to_owned();
    }
    let destination = cells
        .discharge_destination
        .map_or(String::new(), |to| format!(" to {}", words::plain(to)));
    match (cells.discharge_status, cells.discharge_date) {
        (Some(DischargeStatus::DiedInHospital), _) => "died in hospital".to_owned(),
        (_, Some(on)) => format!("{}{destination}", date(on)),
        (Some(DischargeStatus::Alive), None) => format!("alive, date not recorded{destination}"),
        (None, None) => NOT_RECORDED.to_owned(),
    }
}
