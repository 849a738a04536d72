//! worklist.csv and visits.ics as other programs read them. tests/tools/check_calendar.py reads the calendar with an
//! independent parser.

use valvefolio::output::calendar::{calendar, has_event};
use valvefolio::output::worklist::{COLUMNS, worklist_csv};
use valvefolio::record::CaseRecord;
use valvefolio::worklist::Worklist;

use crate::support::{case, worklist};

const LABEL: &str = "Sample; Ñandú, \\ 日本\r\nEND:VCALENDAR";

fn patients() -> Vec<CaseRecord> {
    let labelled = |id: &str, procedure: &str, known: &[(&str, &str)]| {
        let mut cells = vec![("patient_label", LABEL)];
        cells.extend_from_slice(known);
        case(id, procedure, &cells)
    };
    vec![
        labelled("due", "2026-01-01", &[("next_booked_date", "2026-02-10")]),
        labelled("overdue", "2025-11-01", &[]),
        labelled(
            "declined",
            "2026-01-01",
            &[("follow_up_status", "declined")],
        ),
        labelled("lost", "2024-01-01", &[]),
        labelled(
            "a-very-long-case-identifier-of-40-letters",
            "2026-01-25",
            &[],
        ),
    ]
}

fn list() -> Worklist {
    worklist(patients(), "2026-02-05", 28)
}

/// Content lines, unfolded as RFC 5545, 3.1 says.
fn unfolded(text: &str) -> Vec<String> {
    assert!(text.ends_with("\r\n"));
    assert!(
        !text.replace("\r\n", "").contains(['\r', '\n']),
        "lines end in CR LF"
    );
    for line in text.split("\r\n") {
        assert!(line.len() <= 75, "{} octets: {line}", line.len());
    }
    text.replace("\r\n ", "")
        .split_terminator("\r\n")
        .map(str::to_owned)
        .collect()
}

#[test]
fn events_stand_on_the_due_days() {
    let lines = unfolded(&calendar(&list(), false));
    let starts: Vec<&String> = lines
        .iter()
        .filter(|line| line.starts_with("DTSTART"))
        .collect();
    // Due days: 1 Nov 2025 + 30 is 1 Dec; 1 Jan 2026 + 30 is 31 Jan; 25 Jan 2026 + 30 is 24 Feb. Lost and declined have
    // no event.
    assert_eq!(
        starts,
        [
            "DTSTART;VALUE=DATE:20251201",
            "DTSTART;VALUE=DATE:20260131",
            "DTSTART;VALUE=DATE:20260224"
        ]
    );
    let count = |wanted: &str| lines.iter().filter(|line| *line == wanted).count();
    assert_eq!(count("BEGIN:VEVENT"), 3);
    assert_eq!(count("END:VEVENT"), 3);
    assert_eq!(count("DTSTAMP:20260205T000000Z"), 3);
    assert_eq!(count("END:VCALENDAR"), 1);
    assert!(
        lines.contains(&"DTEND;VALUE=DATE:20260201".to_owned()),
        "the day after"
    );
    assert_eq!(
        list()
            .entries
            .iter()
            .filter(|entry| has_event(entry))
            .count(),
        3
    );
}

#[test]
fn no_label_unless_asked_for() {
    let plain = calendar(&list(), false);
    assert!(!plain.contains("Sample") && !plain.contains("日本"));
    let labelled = unfolded(&calendar(&list(), true));
    let summary = labelled
        .iter()
        .find(|line| line.starts_with("SUMMARY:") && line.ends_with("case due"))
        .expect("an event of the case");
    assert!(
        summary.contains("Sample\\; Ñandú\\, \\\\ 日本\\nEND:VCALENDAR"),
        "{summary}"
    );
    let ends = labelled
        .iter()
        .filter(|line| *line == "END:VCALENDAR")
        .count();
    assert_eq!(ends, 1, "a label ends nothing");
}

#[test]
fn keys_stay_the_same_on_another_day() {
    let keys = |as_of: &str| -> Vec<String> {
        let mut keys: Vec<String> = unfolded(&calendar(&worklist(patients(), as_of, 28), false))
            .into_iter()
            .filter(|line| line.starts_with("UID:"))
            .collect();
        keys.sort();
        keys
    };
    let first = keys("2026-02-05");
    assert_eq!(first, keys("2026-02-06"));
    let mut once = first.clone();
    once.dedup();
    assert_eq!(once, first, "no key stands twice");
}

#[test]
fn worklist_is_tidy() {
    let text = worklist_csv(&list());
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().expect("a header").clone();
    let documented: Vec<&str> = COLUMNS.iter().map(|(name, _, _)| *name).collect();
    assert_eq!(header.iter().collect::<Vec<_>>(), documented);
    assert!(COLUMNS.iter().all(|(_, _, meaning)| !meaning.is_empty()));
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().expect("rows");
    assert_eq!(rows.len(), 5);
    let label = documented.iter().position(|name| *name == "patient_label");
    assert_eq!(&rows[0][label.expect("a column")], LABEL, "whole");
}
