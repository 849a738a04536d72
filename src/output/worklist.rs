//! worklist.csv: the lines of the follow-up packet as data, one row a case.

use crate::assess::{NextVisit, Scheduled};
use crate::dictionary::Described;
use crate::output::sheet_text::line;
use crate::record::{Choice, Text};
use crate::worklist::{CaseGaps, Entry, Worklist};

/// Name, unit and meaning of every column, in order. Days are whole calendar days; a blank cell is "none" or "not
/// recorded", as the meaning says.
pub const COLUMNS: [Described; 36] = [
    ("as_of", "", "Day the list speaks for"),
    ("clinic", "", "follow_up_site of the cases file, else site"),
    (
        "case_id",
        "",
        "Key of the procedure; each case stands here once",
    ),
    ("patient_label", "", "As in the cases file"),
    ("birth_date", "", "As in the cases file"),
    ("procedure_date", "", "As in the cases file"),
    (
        "why",
        "",
        "lost, overdue, due, opens_soon (its window opens within the days looked ahead) or echo_outstanding (the visit \
         is done, but no echo lies in its window)",
    ),
    ("follow_up_state", "", "As in results.csv"),
    ("next_visit", "", "As in results.csv"),
    (
        "years",
        "a",
        "Years after the procedure; 0 for the first visit",
    ),
    ("next_visit_due", "", "As in results.csv"),
    ("window_opens", "", "First day of the window of that visit"),
    ("window_closes", "", "Last day of the window"),
    (
        "days_to_due",
        "days",
        "From the as-of date to the due day; negative once it is past",
    ),
    (
        "days_past_window",
        "days",
        "Since the window closed; blank where it has not",
    ),
    (
        "booking",
        "",
        "booked (for the as-of date or later), booking_passed (earlier, and no visit recorded since) or not_booked",
    ),
    ("next_booked_date", "", "That day; blank with not_booked"),
    (
        "booked_in_window",
        "",
        "yes or no for a booked visit: whether that day lies in the window",
    ),
    (
        "follow_up_status",
        "",
        "As recorded: active, elsewhere, declined, unreachable; blank where it is not",
    ),
    (
        "last_seen",
        "",
        "Last counted visit; blank where there is none",
    ),
    ("last_attendance", "", "How the patient was seen at it"),
    (
        "not_attended",
        "",
        "Days on which the patient did not attend since the window opened or since last_seen, separated by ;",
    ),
    (
        "last_contact",
        "",
        "Latest day the patient is known alive, of this case",
    ),
    (
        "days_without_contact",
        "days",
        "From then to the as-of date",
    ),
    (
        "later_contact",
        "",
        "Latest day known alive of another case of the patient, where it is later",
    ),
    (
        "last_mean_gradient_mmhg",
        "mmHg",
        "Latest mean gradient after the procedure",
    ),
    ("last_gradient_date", "", "Day of that echo"),
    (
        "reference_mean_gradient_mmhg",
        "mmHg",
        "Mean gradient of the reference echo; blank where there is none",
    ),
    ("reference_echo_date", "", "Its day"),
    (
        "visits_missed",
        "",
        "Earlier scheduled visits never made, separated by ; : 30_day, annual_1, annual_2 and so on",
    ),
    (
        "echo_outstanding",
        "",
        "The visit, written as in visits_missed, that is done without an echo in its window",
    ),
    (
        "findings",
        "",
        "Flags of results.csv that put the case before the order of dates, separated by ;",
    ),
    (
        "missing",
        "",
        "Columns of the cases file, or VISIT_DATE:column of the follow-up file, that a result lacks, separated by ;",
    ),
    (
        "would_settle",
        "",
        "Results that one of these cells alone would make known, separated by ;",
    ),
    (
        "same_patient",
        "",
        "Other cases of the same patient, separated by ;",
    ),
    (
        "look_ahead_days",
        "days",
        "Days looked ahead when the list was made",
    ),
];

/// The whole file. Lists the same lines as the packet, in the same order.
pub fn worklist_csv(worklist: &Worklist) -> String {
    let mut text = line(COLUMNS.map(|(name, _, _)| name));
    for entry in &worklist.entries {
        let cells = cells(worklist, entry);
        text += &line(cells.iter().map(String::as_str));
    }
    text
}

fn written<T: ToString>(value: Option<T>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

fn text(value: Option<&Text>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

fn joined<T>(values: &[T], written: impl Fn(&T) -> String) -> String {
    values.iter().map(written).collect::<Vec<_>>().join(";")
}

/// `30_day`, `annual_2`.
fn which(visit: &Scheduled) -> String {
    match visit.visit {
        NextVisit::Annual => format!("{}_{}", NextVisit::Annual.word(), visit.years),
        other => other.word().to_owned(),
    }
}

fn cells(worklist: &Worklist, entry: &Entry) -> [String; COLUMNS.len()] {
    let visit = &entry.visit;
    let booked = entry.booking.date();
    let reference = entry.slip.reference.as_ref();
    let mut would_settle: Vec<&str> = Vec::new();
    for name in entry.gaps.gaps.iter().flat_map(|gap| &gap.settles) {
        if !would_settle.contains(name) {
            would_settle.push(name);
        }
    }
    [
        worklist.as_of.to_string(),
        text(entry.clinic.as_ref()),
        entry.case_id.to_string(),
        text(entry.label.as_ref()),
        written(entry.birth_date),
        entry.procedure_date.to_string(),
        entry.why.word().to_owned(),
        entry.state.word().to_owned(),
        visit.visit.word().to_owned(),
        visit.years.to_string(),
        visit.due.to_string(),
        visit.opens.to_string(),
        visit.closes.to_string(),
        entry.days_to_due.to_string(),
        written(entry.days_past_window(worklist.as_of)),
        entry.booking.word().to_owned(),
        written(booked),
        written(
            entry
                .booked_in_window()
                .map(|inside| if inside { "yes" } else { "no" }),
        ),
        written(entry.standing.map(Choice::word)),
        written(entry.last_seen.map(|seen| seen.date)),
        written(entry.last_seen.map(|seen| seen.attendance.word())),
        joined(&entry.not_attended, ToString::to_string),
        entry.last_contact.to_string(),
        entry.days_without_contact.to_string(),
        written(entry.later_contact.as_ref().map(|(date, _)| *date)),
        written(entry.last_gradient.map(|gradient| gradient.mean_mmhg)),
        written(entry.last_gradient.and_then(|gradient| gradient.date)),
        written(reference.and_then(|echo| echo.mean_gradient_mmhg)),
        written(reference.and_then(|echo| echo.date)),
        joined(&entry.missed, which),
        written(entry.echo_outstanding.as_ref().map(which)),
        joined(&entry.findings, |flag| flag.word().to_owned()),
        joined(&entry.gaps.gaps, |gap| match gap.cell.visit {
            Some(date) => format!("{date}:{}", gap.cell.column),
            None => gap.cell.column.to_owned(),
        }),
        would_settle.join(";"),
        joined(&entry.same_patient, ToString::to_string),
        worklist.look_ahead_days.to_string(),
    ]
}

/// Header of the file of data gaps: one row for each missing cell of each case, with the results it costs.
pub fn gaps_header() -> String {
    line([
        "case_id",
        "file",
        "column",
        "visit_date",
        "from",
        "costs",
        "settles",
    ])
}

/// The rows of one case.
pub fn gaps_rows(case: &CaseGaps) -> String {
    let rows = case.gaps.iter().map(|gap| {
        line([
            &*case.case_id,
            gap.cell.table,
            gap.cell.column,
            &written(gap.cell.visit),
            gap.cell.from(),
            &gap.costs.join(";"),
            &gap.settles.join(";"),
        ])
    });
    rows.collect()
}
