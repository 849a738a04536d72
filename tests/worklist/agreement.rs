//! The list, worklist.csv and results.csv say the same of the demo on any day, and nobody is left out or named twice.

use std::collections::BTreeMap;
use std::path::Path;

use jiff::civil::{Date, date};
use valvefolio::explain::Identity;
use valvefolio::input::{ReadOptions, Source, read};
use valvefolio::output::results;
use valvefolio::output::worklist::worklist_csv;
use valvefolio::run::{Work, assess_all};
use valvefolio::settings::Settings;
use valvefolio::worklist::Worklist;

/// The demo as assessed on a day.
pub fn demo(as_of: Date) -> Work {
    let open = |name: &str| {
        Source::open(&Path::new("fixtures/quarter").join(name)).expect("a file of the demo")
    };
    let inputs = read(
        &[open("cases.csv")],
        Some(&open("followups.csv")),
        Some(&open("devices.csv")),
        &ReadOptions::default(),
    )
    .expect("the demo can be read");
    assess_all(inputs, Settings::default(), as_of)
}

/// The worklist of the demo.
pub fn demo_list(work: &Work, look_ahead_days: i64) -> Worklist {
    Worklist::of(
        &work.all_assessed(),
        &work.catalogue,
        &work.site.settings,
        look_ahead_days,
        work.as_of,
    )
}

/// Rows of a CSV file by case.
fn by_case(text: &str) -> BTreeMap<String, BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().expect("a header").clone();
    let mut rows = BTreeMap::new();
    for record in reader.records() {
        let record = record.expect("as many cells as the header");
        let row: BTreeMap<String, String> = header
            .iter()
            .map(str::to_owned)
            .zip(record.iter().map(str::to_owned))
            .collect();
        let twice = rows.insert(row["case_id"].clone(), row);
        assert!(twice.is_none(), "a case stands once");
    }
    rows
}

#[test]
fn every_day_agrees_with_the_results() {
    let mut day = date(2024, 1, 3);
    let mut listed = 0;
    while day < date(2027, 9, 1) {
        let work = demo(day);
        let rows: String = work
            .all_assessed()
            .iter()
            .map(|(record, assessment)| results::row(record, assessment, Identity::Named))
            .collect();
        let results = by_case(&(results::header() + &rows));
        let list = demo_list(&work, 0);
        let lines = by_case(&worklist_csv(&list));
        listed += lines.len();
        for (case_id, line) in &lines {
            let result = &results[case_id];
            for column in ["follow_up_state", "next_visit", "next_visit_due"] {
                assert_eq!(line[column], result[column], "{day}, {case_id}, {column}");
            }
            assert_ne!(line["follow_up_state"], "deceased", "{day}, {case_id}");
        }
        let left_off: Vec<&str> = list.left_off.iter().map(|case| &*case.case_id).collect();
        for (case_id, result) in &results {
            let due = ["due", "overdue", "lost"].contains(&result["follow_up_state"].as_str());
            if due && !left_off.contains(&case_id.as_str()) {
                assert!(lines.contains_key(case_id), "{day}: {case_id} is due");
            }
        }
        let counted = list.entries.len() + list.left_off.len() + list.deceased + list.nothing_due;
        assert_eq!(counted, list.cases, "{day}: every case has its place");
        day = day.checked_add(jiff::Span::new().days(23)).expect("a day");
    }
    assert!(listed > 300, "{listed} lines looked at");
}

#[test]
fn states_the_demo_describes() {
    // The demo's own description (fixtures/quarter/README.md) says which states these cases show on 2026-11-20.
    let work = demo(date(2026, 11, 20));
    let lines = by_case(&worklist_csv(&demo_list(&work, 28)));
    let why = |case_id: &str| lines.get(case_id).map_or("", |line| line["why"].as_str());
    assert_eq!(why("2024-001"), "lost");
    assert_eq!(why("2024-007"), "due");
    assert_eq!(lines["2024-007"]["follow_up_status"], "declined");
    assert_eq!(why("2025-005"), "overdue");
    assert_eq!(why("2025-006"), "due");
    assert_eq!(why("2026-014"), "overdue");
    assert_eq!(why("2026-003"), "overdue");
    assert_eq!(why("2024-005"), "overdue");
    assert_eq!(lines["2024-005"]["follow_up_status"], "elsewhere");
    assert_eq!(lines["2026-001"]["echo_outstanding"], "30_day");
    for dead in [
        "2026-019", "2026-020", "2026-021", "2023-004", "2026-002", "2024-003",
    ] {
        assert_eq!(why(dead), "", "{dead} died");
    }
    assert!(
        lines["2026-003"]["not_attended"].starts_with("2026-"),
        "did not attend at 30 days"
    );
}
