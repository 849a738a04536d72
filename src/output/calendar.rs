//! visits.ics: the due visits as all-day events (RFC 5545).
//!
//! An event stands on the due day of each visit that is due, overdue, or opens within the days looked ahead. Patients
//! who are lost, followed elsewhere, declined or unreachable have none: they stand on the worklist. The key of an event
//! is made of the case and the visit, so that a later import replaces an event and does not double it. Nothing but the
//! case id says whose visit it is, unless labels are asked for.

use crate::date::plus_days;
use crate::output::folder::sha256_hex;
use crate::worklist::{Booking, Entry, Why, Worklist, visit_name};

use jiff::civil::Date;

/// Octets of a content line, its end not counted (RFC 5545, 3.1).
const LINE_OCTETS: usize = 75;

/// The whole file.
pub fn calendar(worklist: &Worklist, labels: bool) -> String {
    let mut text = String::new();
    let mut write = |line: &str| fold(&mut text, line);
    write("BEGIN:VCALENDAR");
    write("VERSION:2.0");
    write("PRODID:-//valvefolio//follow-up visits//EN");
    write("CALSCALE:GREGORIAN");
    write("METHOD:PUBLISH");
    for entry in worklist.entries.iter().filter(|entry| has_event(entry)) {
        for line in event(worklist.as_of, entry, labels) {
            write(&line);
        }
    }
    write("END:VCALENDAR");
    text
}

/// Whether a line of the worklist has an event.
pub fn has_event(entry: &Entry) -> bool {
    !entry.apart() && matches!(entry.why, Why::Due | Why::Overdue | Why::OpensSoon)
}

fn event(as_of: Date, entry: &Entry, labels: bool) -> Vec<String> {
    let visit = &entry.visit;
    let name = visit_name(visit, entry.procedure_date);
    let label = entry.label.as_deref().filter(|_| labels);
    let who = match label {
        Some(label) => format!("{label}, case {}", entry.case_id),
        None => format!("case {}", entry.case_id),
    };
    let booked = match entry.booking {
        Booking::For(date) => format!("booked for {date}"),
        Booking::Passed(date) => format!("was booked for {date}, no visit recorded since"),
        Booking::None => "no booking recorded".to_owned(),
    };
    let description = format!(
        "Due by the schedule on {}; window {} to {}; {booked}.\nAs of {as_of}. Made from the data given; not a recommendation.",
        visit.due, visit.opens, visit.closes
    );
    let mut lines = vec![
        "BEGIN:VEVENT".to_owned(),
        format!("UID:{}", uid(entry)),
        format!("DTSTAMP:{}T000000Z", basic(as_of)),
        format!("DTSTART;VALUE=DATE:{}", basic(visit.due)),
    ];
    // Without an end, an all-day event lasts the one day.
    if let Some(next) = plus_days(visit.due, 1) {
        lines.push(format!("DTEND;VALUE=DATE:{}", basic(next)));
    }
    lines.extend([
        format!("SUMMARY:{}", escaped(&format!("Due: {name}, {who}"))),
        format!("DESCRIPTION:{}", escaped(&description)),
        "CLASS:CONFIDENTIAL".to_owned(),
        "TRANSP:TRANSPARENT".to_owned(),
        "END:VEVENT".to_owned(),
    ]);
    lines
}

/// A key that stays the same for the same visit of the same case.
fn uid(entry: &Entry) -> String {
    let content = format!("visit {} of {}", entry.visit.years, entry.case_id);
    format!("{}@valvefolio", &sha256_hex(content.as_bytes())[..32])
}

/// `20261120`.
fn basic(date: Date) -> String {
    format!("{:04}{:02}{:02}", date.year(), date.month(), date.day())
}

/// Text as a value (RFC 5545, 3.3.11); control characters become spaces.
fn escaped(text: &str) -> String {
    let mut value = String::with_capacity(text.len());
    for character in text.replace("\r\n", "\n").chars() {
        match character {
            '\\' | ';' | ',' => {
                value.push('\\');
                value.push(character);
            }
            '\n' => value.push_str("\\n"),
            other if other.is_control() => value.push(' '),
            other => value.push(other),
        }
    }
    value
}

/// Appends a content line, folded between characters so that no part is longer than 75 octets.
fn fold(text: &mut String, line: &str) {
    let mut octets = 0;
    for character in line.chars() {
        if octets + character.len_utf8() > LINE_OCTETS {
            text.push_str("\r\n ");
            octets = 1;
        }
        text.push(character);
        octets += character.len_utf8();
    }
    text.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn text_is_escaped_as_the_standard_shows() {
        // RFC 5545, 3.3.11, example: "Project XYZ Final Review\nConference Room - 3B\nCome Prepared." and the rule for
        // backslash, semicolon and comma.
        assert_eq!(
            escaped("Project XYZ Final Review\nConference Room - 3B\nCome Prepared."),
            "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared."
        );
        assert_eq!(escaped("a;b,c\\d\r\ne\u{7}"), "a\\;b\\,c\\\\d\\ne ");
    }

    proptest! {
        #[test]
        fn prop_folding_is_undone_by_unfolding(line in "[ -~äλЖ🫀]{0,300}") {
            let mut folded = String::new();
            fold(&mut folded, &line);
            prop_assert!(folded.ends_with("\r\n"));
            // RFC 5545, 3.1: unfolding removes a CRLF followed by one white space.
            prop_assert_eq!(folded.replace("\r\n ", ""), format!("{line}\r\n"));
            for part in folded.split("\r\n") {
                prop_assert!(part.len() <= 75);
            }
        }
    }
}
