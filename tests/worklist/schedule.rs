//! The edges of the schedule. Every expected day was counted by hand on a calendar from the project's own schedule: day
//! 30 with days 23 to 75, each anniversary with 60 days on either side, lost after 425 days.

use valvefolio::assess::{FollowUpState, NextVisit};
use valvefolio::worklist::{Booking, Why};

use crate::support::{case, day, line, with_visit, worklist};

#[test]
fn leap_day_falls_on_the_first_of_march_and_back() {
    // 29 Feb 2024: +30 is 30 Mar, +23 is 23 Mar, +75 is 14 May. 2025 has no 29 February: 1 Mar 2025, 60 days before it
    // (31 of January and 28 of February are 59) 31 Dec 2024, 60 after it 30 Apr 2025.
    let patient = || case("L", "2024-02-29", &[("last_contact_date", "2024-05-01")]);
    let entry = line(patient(), "2025-02-20", 0).expect("due");
    assert_eq!(entry.why, Why::Due);
    assert_eq!(entry.visit.due, day("2025-03-01"));
    assert_eq!(entry.visit.opens, day("2024-12-31"));
    assert_eq!(entry.visit.closes, day("2025-04-30"));
    assert_eq!(entry.days_to_due, 9);
    assert_eq!(entry.missed.len(), 1);
    assert_eq!(entry.missed[0].due, day("2024-03-30"));
    assert_eq!(entry.missed[0].opens, day("2024-03-23"));
    assert_eq!(entry.missed[0].closes, day("2024-05-14"));

    // 2028 has the day again; 60 days before 29 Feb 2028 are 31 Dec 2027, 60 after 29 Apr 2028.
    let later = case("L", "2024-02-29", &[("last_contact_date", "2028-01-01")]);
    let entry = line(later, "2028-02-29", 0).expect("due");
    assert_eq!(entry.visit.due, day("2028-02-29"));
    assert_eq!(entry.days_to_due, 0);
    assert_eq!(
        (entry.visit.opens, entry.visit.closes),
        (day("2027-12-31"), day("2028-04-29"))
    );
    let missed: Vec<i64> = entry.missed.iter().map(|visit| visit.years).collect();
    assert_eq!(missed, [0, 1, 2, 3]);
}

#[test]
fn window_opens_and_closes_on_its_days() {
    // 1 Jan 2026: day 23 is 24 Jan, day 30 is 31 Jan, day 75 is 17 Mar.
    let why = |as_of, ahead| line(case("W", "2026-01-01", &[]), as_of, ahead).map(|line| line.why);
    assert_eq!(why("2026-01-23", 0), None);
    assert_eq!(why("2026-01-23", 1), Some(Why::OpensSoon));
    assert_eq!(why("2026-01-24", 0), Some(Why::Due));
    assert_eq!(why("2026-03-17", 0), Some(Why::Due));
    assert_eq!(why("2026-03-18", 0), Some(Why::Overdue));
    let overdue = line(case("W", "2026-01-01", &[]), "2026-03-18", 0).expect("overdue");
    assert_eq!(overdue.days_past_window(day("2026-03-18")), Some(1));
    assert_eq!(overdue.days_to_due, -46, "31 January to 18 March");
}

#[test]
fn visit_on_the_edge_of_a_window_counts() {
    let seen = |on: &str, cells: &[(&str, &str)]| {
        let patient = with_visit(case("E", "2026-01-01", &[]), on, cells);
        line(patient, "2026-03-20", 0).map(|line| line.why)
    };
    let echo: &[(&str, &str)] = &[("mean_gradient_mmhg", "10")];
    assert_eq!(seen("2026-01-24", echo), None, "first day");
    assert_eq!(seen("2026-03-17", echo), None, "last day");
    assert_eq!(seen("2026-01-23", echo), Some(Why::Overdue), "a day early");
    assert_eq!(seen("2026-03-18", &[]), Some(Why::Overdue), "a day late");
    assert_eq!(
        seen("2026-03-18", echo),
        None,
        "a reference echo (to day 105) counts for the first visit"
    );
    let review: &[(&str, &str)] = &[("attendance", "record_review")];
    assert_eq!(
        seen("2026-02-01", review),
        Some(Why::Overdue),
        "records are not a visit"
    );
}

#[test]
fn two_visits_in_one_window_are_one_visit_done() {
    let twice = |first: &[(&str, &str)], second: &[(&str, &str)]| {
        let patient = with_visit(case("T", "2026-01-01", &[]), "2026-02-01", first);
        line(with_visit(patient, "2026-03-01", second), "2026-04-01", 0)
    };
    let echo: &[(&str, &str)] = &[("mean_gradient_mmhg", "10")];
    assert_eq!(twice(&[], echo), None);
    assert_eq!(twice(echo, &[]), None);
    let outstanding = twice(&[], &[("attendance", "telephone")]).expect("no echo yet");
    assert_eq!(outstanding.why, Why::EchoOutstanding);
    assert_eq!(outstanding.state, FollowUpState::NotYetDue);
    assert_eq!(outstanding.visit.due, day("2027-01-01"));
    let visit = outstanding.echo_outstanding.expect("which");
    assert_eq!(visit.visit, NextVisit::Day30);
}

#[test]
fn as_of_before_the_first_visit_looks_ahead_only_as_far_as_asked() {
    // The window opens on 24 Jan 2026, 19 days after 5 Jan.
    let ahead = |days| line(case("A", "2026-01-01", &[]), "2026-01-05", days);
    assert_eq!(ahead(18), None);
    let entry = ahead(19).expect("opens in 19 days");
    assert_eq!(entry.why, Why::OpensSoon);
    assert_eq!(entry.days_to_due, 26, "5 to 31 January");
    assert_eq!(entry.last_seen, None);
    assert_eq!(entry.days_without_contact, 4, "since the procedure");
}

#[test]
fn first_visit_never_made_stays_in_the_line() {
    // The window of the first anniversary, 1 Jan 2026, opens on 2 Nov 2025.
    let patient = case("N", "2025-01-01", &[("last_contact_date", "2025-06-01")]);
    let entry = line(patient, "2025-11-02", 0).expect("due");
    assert_eq!((entry.why, entry.visit.years), (Why::Due, 1));
    assert_eq!(entry.missed.len(), 1);
    assert_eq!(entry.missed[0].visit, NextVisit::Day30);
}

#[test]
fn no_sign_of_death_is_ever_on_the_list() {
    let signs: [&[(&str, &str)]; 7] = [
        &[("death_date", "2026-01-20")],
        // Dated after the as-of date: a mistyped year must not put a dead patient on a list.
        &[("death_date", "2027-01-20")],
        &[("death_cause", "cardiovascular")],
        &[("death_cause", "unknown")],
        &[("valve_related_death", "yes")],
        &[("discharge_status", "died_in_hospital")],
        &[("procedural_death", "yes")],
    ];
    for sign in signs {
        let list = worklist(vec![case("D", "2026-01-01", sign)], "2026-02-15", 400);
        assert_eq!(list.entries, vec![], "{sign:?}");
        assert_eq!(list.deceased, 1, "{sign:?}");
    }
}

#[test]
fn death_under_another_case_of_the_patient_takes_every_case_off() {
    let first = case("P-1", "2024-01-01", &[("patient_key", "P")]);
    let second = case(
        "P-2",
        "2026-01-01",
        &[("patient_key", "P"), ("death_date", "2026-01-20")],
    );
    let list = worklist(vec![first, second], "2026-02-15", 0);
    assert_eq!(list.entries, vec![]);
    assert_eq!(list.left_off.len(), 1);
    assert_eq!(&*list.left_off[0].case_id, "P-1");
    assert_eq!(&*list.left_off[0].because_of, "P-2");
}

#[test]
fn contact_under_another_case_of_the_patient_is_named() {
    let first = case("P-1", "2024-01-01", &[("patient_key", "P")]);
    let second = case("P-2", "2026-01-01", &[("patient_key", "P")]);
    let list = worklist(vec![first, second], "2026-02-15", 0);
    let lost = list
        .entries
        .iter()
        .find(|entry| &*entry.case_id == "P-1")
        .expect("by its own case lost");
    assert_eq!(lost.why, Why::Lost);
    assert_eq!(lost.days_without_contact, 776, "1 Jan 2024 to 15 Feb 2026");
    assert_eq!(
        lost.later_contact,
        Some((day("2026-01-01"), "P-2".into())),
        "the second procedure"
    );
}

#[test]
fn lost_begins_after_425_days() {
    // 425 days after 1 Jan 2025 is 2 Mar 2026 (365 to 1 Jan 2026, 31 and 28, then 1), which is also the last day of the
    // window of the first anniversary.
    let why = |as_of| {
        let entry = line(case("X", "2025-01-01", &[]), as_of, 0).expect("on the list");
        (entry.why, entry.days_without_contact)
    };
    assert_eq!(why("2026-03-02"), (Why::Due, 425));
    assert_eq!(why("2026-03-03"), (Why::Lost, 426));
}

#[test]
fn bookings_and_days_not_attended() {
    let booked = |on: &str| case("B", "2026-01-01", &[("next_booked_date", on)]);
    let entry = |case| line(case, "2026-02-05", 0).expect("due");
    let ahead = entry(booked("2026-02-10"));
    assert_eq!(ahead.booking, Booking::For(day("2026-02-10")));
    assert_eq!(ahead.booked_in_window(), Some(true));
    assert_eq!(
        entry(booked("2026-03-18")).booked_in_window(),
        Some(false),
        "the window closes on 17 March"
    );
    assert_eq!(
        entry(booked("2026-02-05")).booking,
        Booking::For(day("2026-02-05"))
    );
    let passed = with_visit(
        booked("2026-02-03"),
        "2026-02-03",
        &[("attendance", "did_not_attend")],
    );
    let passed = entry(passed);
    assert_eq!(passed.booking, Booking::Passed(day("2026-02-03")));
    assert_eq!(passed.not_attended, [day("2026-02-03")]);
    assert_eq!(passed.last_seen, None, "a day not attended is no visit");
    let seen = with_visit(booked("2026-02-03"), "2026-02-03", &[]);
    assert_eq!(
        entry_of_outstanding(seen).booking,
        Booking::None,
        "the booked visit has been"
    );
}

fn entry_of_outstanding(case: valvefolio::record::CaseRecord) -> valvefolio::worklist::Entry {
    line(case, "2026-02-05", 0).expect("seen without an echo")
}

#[test]
fn data_that_end_early_are_said() {
    let with_contact = |on: &str| {
        let patient = case("Q", "2026-01-01", &[("last_contact_date", on)]);
        worklist(vec![patient], "2026-02-15", 0).data_lag()
    };
    assert_eq!(with_contact("2026-02-08"), None, "7 days");
    assert_eq!(with_contact("2026-02-07"), Some(8));
}

#[test]
fn clinics_findings_and_weeks_in_their_order() {
    use valvefolio::worklist::Group;
    let at = |id: &str, procedure: &str, known: &[(&str, &str)]| {
        let mut cells = vec![("follow_up_site", "B clinic")];
        cells.extend_from_slice(known);
        case(id, procedure, &cells)
    };
    let cases = vec![
        case("none", "2026-01-01", &[]),
        at("late", "2026-01-08", &[]),
        at(
            "declined",
            "2026-01-01",
            &[("follow_up_status", "declined")],
        ),
        at("early", "2026-01-01", &[]),
        at("found", "2026-01-09", &[("incidental_finding", "nodule")]),
        case("site", "2026-01-01", &[("site", "A centre")]),
    ];
    let list = worklist(cases, "2026-02-10", 0);
    let clinics = list.clinics();
    let names: Vec<Option<&str>> = clinics
        .iter()
        .map(|clinic| clinic.name.as_deref())
        .collect();
    assert_eq!(names, [Some("A centre"), Some("B clinic"), None]);
    let groups: Vec<(Group, Vec<&str>)> = clinics[1]
        .groups
        .iter()
        .map(|(group, entries)| {
            (
                *group,
                entries.iter().map(|entry| &*entry.case_id).collect(),
            )
        })
        .collect();
    // Due on 31 Jan (a Saturday: week of 26 Jan) and 7 Feb 2026 (a Saturday: week of 2 Feb).
    assert_eq!(
        groups,
        [
            (Group::Findings, vec!["found"]),
            (Group::Week(day("2026-01-26")), vec!["early"]),
            (Group::Week(day("2026-02-02")), vec!["late"]),
            (Group::Apart, vec!["declined"]),
        ]
    );
}

#[test]
fn sign_of_death_in_a_withheld_row_of_the_patient_takes_every_case_off() {
    use valvefolio::input::{ReadOptions, Source, read};
    use valvefolio::run::assess_all;
    use valvefolio::settings::Settings;
    use valvefolio::worklist::{CaseGaps, Gaps, Standing, Worklist};
    // P-2 has no procedure date and is withheld; Q-2 stands twice; the procedure of S-2 is after the day of the report. R
    // has no other case that died.
    let table = "\
case_id,patient_key,procedure_date,death_date,discharge_status
P-1,P,2026-01-01,,alive
P-2,P,,2026-01-20,
Q-1,Q,2026-01-01,,
Q-2,Q,2026-01-05,,died_in_hospital
Q-2,Q,2026-01-06,,
R-1,R,2026-01-01,,
R-2,R,,,alive
S-1,S,2026-01-01,,
S-2,S,2026-03-01,,died_in_hospital
";
    let inputs = read(
        &[Source::new("cases.csv", table)],
        None,
        None,
        &ReadOptions::default(),
    )
    .expect("a table");
    let work = assess_all(inputs, Settings::default(), day("2026-02-15"));
    let cases = work.all_assessed();
    let settings = Settings::default();
    let standings = cases
        .iter()
        .map(|(record, assessment)| {
            let gaps = CaseGaps::of(record, assessment, &work.catalogue, &settings);
            Standing::of(record, assessment, &gaps, &settings, 0)
        })
        .collect();
    let list = Worklist::gathered(standings, Gaps::default(), &work.withheld, 0, work.as_of);
    let left_off: Vec<(&str, &str, bool)> = list
        .left_off
        .iter()
        .map(|case| (&*case.case_id, &*case.because_of, case.withheld))
        .collect();
    assert_eq!(
        left_off,
        [
            ("P-1", "P-2", true),
            ("Q-1", "Q-2", true),
            ("S-1", "S-2", true)
        ]
    );
    let listed: Vec<&str> = list.entries.iter().map(|entry| &*entry.case_id).collect();
    assert_eq!(listed, ["R-1"]);
}
