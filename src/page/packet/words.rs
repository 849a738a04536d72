//! The packet's words for what the worklist holds.

use jiff::civil::Date;

use crate::assess::Flag;
use crate::assess::definitions::definition;
use crate::page::number::{date, recorded, with_unit};
use crate::page::words::asked;
use crate::record::Choice;
use crate::worklist::{Booking, Entry, Gap, GapCell, Group, Why};

/// `1 day`, `12 days`.
pub fn days(count: i64) -> String {
    counted(count, "day")
}

/// `1 case`, `3 cases`.
pub fn counted(count: i64, what: &str) -> String {
    format!("{count}\u{a0}{what}{}", if count == 1 { "" } else { "s" })
}

/// How an entry stands against its window.
pub fn state(entry: &Entry, as_of: Date) -> String {
    let past = entry.days_past_window(as_of);
    match entry.why {
        Why::Lost => "Lost to follow-up".to_owned(),
        Why::Overdue => format!("Overdue, window closed {} ago", days(past.unwrap_or(0))),
        Why::Due => match entry.days_to_due {
            0 => "Due today".to_owned(),
            left if left > 0 => format!("Due in {}", days(left)),
            left => format!("Due, {} past the day", days(-left)),
        },
        Why::OpensSoon => format!(
            "Window opens in {}",
            days(crate::date::days_between(as_of, entry.visit.opens))
        ),
        Why::EchoOutstanding => "Seen, echo outstanding".to_owned(),
    }
}

/// Whether a visit is booked.
pub fn booking(entry: &Entry) -> String {
    match entry.booking {
        Booking::None => "not booked".to_owned(),
        Booking::For(day) if day < entry.visit.opens => {
            format!("booked for {}, before the window", date(day))
        }
        Booking::For(day) if day > entry.visit.closes => {
            format!("booked for {}, after the window", date(day))
        }
        Booking::For(day) => format!("booked for {}", date(day)),
        Booking::Passed(day) => {
            format!("was booked for {}, no visit recorded since", date(day))
        }
    }
}

/// A finding that goes before the order of dates.
pub fn finding(flag: Flag) -> String {
    match flag {
        Flag::IdentityConflict => "identity conflict with another case",
        Flag::VisitEvent => "event at a visit",
        Flag::Deterioration => "haemodynamic deterioration of the valve",
        Flag::LateGradient => "mean gradient 20 mmHg or more, no reference echo",
        Flag::ResidualGradient => "residual mean gradient 20 mmHg or more",
        Flag::LateRegurgitation => "late leak beside the valve, moderate or more",
        Flag::Regurgitation => "regurgitation moderate or more",
        Flag::LvefFall => "fall of LVEF",
        Flag::TreatmentReviewPassed => {
            "antithrombotic review day passed, no later treatment recorded"
        }
        Flag::RhythmWithoutAnticoagulant => "atrial fibrillation, no anticoagulant recorded",
        Flag::IncidentalOpen => "incidental finding open",
        other => return other.word().replace('_', " "),
    }
    .to_owned()
}

/// The heading of a group.
pub fn group(group: Group) -> String {
    match group {
        Group::Findings => "With findings".to_owned(),
        Group::Week(monday) => format!("Due in the week of {}", date(monday)),
        Group::Apart => "Recorded as followed elsewhere, declined or unreachable".to_owned(),
        Group::EchoOutstanding => "Seen, echo outstanding; nothing else due".to_owned(),
    }
}

/// A number as recorded, with its unit.
pub fn measured(value: f64, most: usize, unit: &str) -> String {
    with_unit(&recorded(value, most, &[]), unit)
}

/// What pages call a result.
pub fn result(name: &str) -> &str {
    definition(name).map_or(name, |definition| definition.title)
}

/// A missing cell: what it is, of which visit, whom to ask.
pub fn gap(gap: &Gap) -> String {
    format!("{} ({})", cell(&gap.cell), source(gap.cell.from()))
}

/// Whom to ask, as people write it.
pub fn source(from: &str) -> &str {
    match from {
        "ct" => "CT",
        other => other,
    }
}

/// What a cell holds, and of which visit.
pub fn cell(cell: &GapCell) -> String {
    let name = asked(cell.column);
    match cell.visit {
        Some(day) => format!("{name}, visit of {}", date(day)),
        None => name,
    }
}

/// A meaning of the dictionary up to its first aside.
pub fn short(meaning: &str) -> &str {
    let end = meaning.find(';').unwrap_or(meaning.len());
    meaning[..end].trim_end()
}
