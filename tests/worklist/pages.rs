//! The packet as pages: nothing lost, nothing outside, nothing overlapping, every page with its caution.

use jiff::civil::date;
use valvefolio::draw::{Document, Fonts, Item, Paper, Role, Sheet, Tag};
use valvefolio::output::pdf::to_pdf;
use valvefolio::page::layout::{ink, overlapping_texts};
use valvefolio::page::packet::{PacketContext, packet_document};
use valvefolio::page::{Grid, Rect};
use valvefolio::record::Text;
use valvefolio::worklist::{Became, Cause, Change, Changes, Worklist};

use crate::agreement::{demo, demo_list};
use crate::support::{case, with_visit, worklist};

fn texts(sheet: &Sheet) -> Vec<&str> {
    sheet
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Text { text, .. } => Some(text.as_str()),
            _ => None,
        })
        .collect()
}

fn context(paper: Paper) -> PacketContext {
    PacketContext {
        centre: "Demo centre (made up)".to_owned(),
        paper,
        ..PacketContext::default()
    }
}

/// A stand-in for a case page.
fn page(case_id: &Text) -> (Text, Document) {
    let mut sheet = Sheet::new(Paper::A4).with_bookmark("its own", 0);
    sheet.tagged(Tag::new(Role::H1), |items| {
        items.push(Fonts::load().place(
            format!("page of {case_id}"),
            20.0,
            20.0,
            valvefolio::draw::Align::Left,
            valvefolio::draw::TextStyle {
                face: valvefolio::draw::Face::Regular,
                size_pt: 8.0,
                colour: valvefolio::draw::Colour::BLACK,
            },
        ));
    });
    let document = Document {
        title: "a page".to_owned(),
        subject: "a page".to_owned(),
        language: "en-GB".to_owned(),
        date: date(2026, 11, 20),
        sheets: vec![sheet],
        attachment: None,
    };
    (case_id.clone(), document)
}

/// Checks the pages that are the packet's own.
fn check(list: &Worklist, paper: Paper) -> Document {
    check_with(list, &context(paper))
}

fn check_with(list: &Worklist, context: &PacketContext) -> Document {
    let fonts = Fonts::load();
    let document = packet_document(list, &[], context, &fonts);
    let paper = context.paper;
    let inside: Rect = Grid::of(paper).inside();
    for sheet in &document.sheets {
        let label = sheet.label.as_deref().unwrap_or("");
        let all = texts(sheet).join(" ");
        assert!(all.contains("recommends nothing"), "{label}: its caution");
        assert!(all.contains("As of"), "{label}: its day");
        assert_eq!(overlapping_texts(&sheet.items, &fonts), vec![], "{label}");
        for item in &sheet.items {
            if let Some(ink) = ink(item, &fonts) {
                assert!(ink.is_inside(&inside), "{label}: {item:?} at {ink:?}");
            }
        }
        for frame in frames(sheet) {
            for item in &sheet.items {
                let Some(ink) = ink(item, &fonts) else {
                    continue;
                };
                let apart = !ink.overlaps(&frame) || ink.is_inside(&frame);
                assert!(apart, "{label}: {item:?} leaves its slip");
            }
        }
    }
    to_pdf(&document, &fonts).expect("a file");
    document
}

/// Frames of slips: the tall boxes.
fn frames(sheet: &Sheet) -> Vec<Rect> {
    sheet
        .items
        .iter()
        .filter_map(|item| match item {
            Item::Rect {
                x_mm,
                y_mm,
                width_mm,
                height_mm,
                ..
            } if *height_mm > 50.0 => Some(Rect {
                x_mm: *x_mm,
                y_mm: *y_mm,
                width_mm: *width_mm,
                height_mm: *height_mm,
            }),
            _ => None,
        })
        .collect()
}

#[test]
fn demo_stands_inside_its_pages_on_either_paper() {
    let work = demo(date(2026, 11, 20));
    for paper in [Paper::A4, Paper::Letter] {
        let list = demo_list(&work, 28);
        let document = check(&list, paper);
        let listed: Vec<&str> = document
            .sheets
            .iter()
            .filter(|sheet| {
                sheet
                    .label
                    .as_deref()
                    .is_some_and(|label| label.starts_with('W'))
            })
            .flat_map(texts)
            .collect();
        for entry in &list.entries {
            let line = format!("case {}", entry.case_id);
            let times = listed.iter().filter(|text| **text == line).count();
            assert_eq!(times, 1, "{line} on {paper:?}");
        }
        let slips: usize = document
            .sheets
            .iter()
            .map(|sheet| frames(sheet).len())
            .sum();
        let declined = list
            .entries
            .iter()
            .filter(|entry| entry.standing == Some(valvefolio::record::FollowUpStatus::Declined))
            .count();
        assert_eq!(slips, list.entries.len() - declined);
    }
}

#[test]
fn pages_of_the_patients_are_bound_in_once_with_bookmarks_and_labels() {
    let work = demo(date(2026, 11, 20));
    let list = demo_list(&work, 0);
    // Pages of all cases, in the order of the file, but for one that was withheld.
    let withheld = list.entries[0].case_id.clone();
    let pages: Vec<(Text, Document)> = work
        .cases
        .iter()
        .filter(|case| case.case_id != withheld)
        .map(|case| page(&case.case_id))
        .collect();
    let document = packet_document(&list, &pages, &context(Paper::A4), &Fonts::load());
    let bound: Vec<&str> = document
        .sheets
        .iter()
        .filter_map(|sheet| {
            let text = texts(sheet).first().copied()?.strip_prefix("page of ")?;
            assert_eq!(sheet.label.as_deref(), Some(text));
            let own = sheet.bookmarks.last().expect("a bookmark");
            assert!(own.title.ends_with(text) && own.level == 1);
            Some(text)
        })
        .collect();
    let expected: Vec<&str> = list.entries[1..]
        .iter()
        .map(|entry| &*entry.case_id)
        .collect();
    assert_eq!(bound, expected);
    let outline: Vec<&str> = document
        .sheets
        .iter()
        .flat_map(|sheet| &sheet.bookmarks)
        .filter(|bookmark| bookmark.level == 0)
        .map(|bookmark| bookmark.title.as_str())
        .collect();
    assert_eq!(
        outline,
        [
            "Worklist",
            "Pages of these patients",
            "Visit slips",
            "Data gaps"
        ]
    );
    let first = texts(&document.sheets[0]).join(" ");
    assert!(first.contains("No page in this packet for"));
}

#[test]
fn nothing_leaves_its_place_whatever_the_inputs() {
    let long = "Ångström Ελένη ".repeat(30);
    let unbroken = "Ж".repeat(300);
    let id = "i".repeat(40);
    let mut cases = Vec::new();
    for (position, label) in [long.as_str(), unbroken.as_str(), "日本", ""]
        .iter()
        .enumerate()
    {
        let mut cells = vec![
            ("birth_date", "1940-02-29"),
            ("follow_up_site", unbroken.as_str()),
            ("incidental_finding", "x"),
            ("antithrombotic_until", "2024-06-01"),
            ("patient_key", "same"),
            ("next_booked_date", "2025-01-01"),
        ];
        if !label.is_empty() {
            cells.push(("patient_label", label));
        }
        let patient = case(&format!("{}{position}", &id[1..]), "2024-02-29", &cells);
        let echo = [
            ("mean_gradient_mmhg", "123.456789"),
            ("lvot_vti_cm", "50.123456"),
            ("av_vti_cm", "49.98765"),
            ("lvot_diameter_mm", "29.87654"),
            ("transvalvular_grade", "moderate"),
        ];
        let patient = with_visit(patient, "2024-03-30", &echo);
        let patient = with_visit(patient, "2024-05-30", &[("valve_reintervention", "yes")]);
        cases.push(with_visit(
            patient,
            "2025-01-30",
            &[("attendance", "did_not_attend")],
        ));
    }
    let list = worklist(cases, "2025-02-15", 0);
    assert_eq!(list.entries.len(), 4);
    for paper in [Paper::A4, Paper::Letter] {
        check(&list, paper);
    }
}

#[test]
fn empty_list_is_a_page_that_says_so() {
    let list = worklist(Vec::new(), "2026-11-20", 28);
    let document = check(&list, Paper::A4);
    let first = texts(&document.sheets[0]).join(" ");
    assert!(first.contains("No visit is due, overdue or lost."));
    assert!(first.contains("no data"));
}

/// Questions of the follow-up file that a slip asks, by their columns.
const ASKED: [&str; 6] = [
    "new_or_worse_symptoms",
    "stroke",
    "hospitalised_for_valve_or_procedure",
    "valve_reintervention",
    "endocarditis",
    "leaflet_thrombosis",
];

#[test]
fn every_slip_asks_every_question_on_either_paper() {
    let work = demo(date(2026, 11, 20));
    let list = demo_list(&work, 28);
    // Among the slips is one with a reference, both stages and a note of doubt: the longest of the demo.
    assert!(list.entries.iter().any(|entry| {
        entry
            .slip
            .reference
            .as_ref()
            .is_some_and(|echo| echo.in_doubt)
    }));
    for paper in [Paper::A4, Paper::Letter] {
        let document = check(&list, paper);
        for sheet in &document.sheets {
            let fonts = Fonts::load();
            for frame in frames(sheet) {
                let within: Vec<&str> = sheet
                    .items
                    .iter()
                    .filter(|item| ink(item, &fonts).is_some_and(|ink| ink.is_inside(&frame)))
                    .filter_map(|item| match item {
                        Item::Text { text, .. } => Some(text.as_str()),
                        _ => None,
                    })
                    .collect();
                for column in ASKED {
                    assert!(
                        within.contains(&column),
                        "{column} on {paper:?}: {within:?}"
                    );
                }
                for column in ["visit_date", "lvot_diameter_mm", "attendance"] {
                    assert!(within.contains(&column), "{column} on {paper:?}");
                }
                let answers = within.iter().filter(|text| **text == "yes").count();
                assert_eq!(answers, ASKED.len(), "{paper:?}");
            }
        }
    }
}

#[test]
fn changed_results_stand_on_the_line_and_on_sheets_that_go_on() {
    let work = demo(date(2026, 11, 20));
    let list = demo_list(&work, 28);
    let change = |case_id: &Text, result, before: &str, now: &str, causes: &[Cause]| Change {
        case_id: case_id.clone(),
        became: Became::Changed,
        result: Some(result),
        before: before.to_owned(),
        now: now.to_owned(),
        causes: causes.to_vec(),
    };
    let every = Cause::ALL;
    let words = "a_word_that_is_long;".repeat(60);
    let mut changes = Changes {
        file: format!("{}/results.csv", "folder/".repeat(60)),
        as_of_before: Some(date(2026, 10, 20)),
        as_of: Some(date(2026, 11, 20)),
        definitions_before: "1".to_owned(),
        definitions: "2".to_owned(),
        compared: 60,
        input_changed: 60,
        list: Vec::new(),
    };
    for (record, _) in &work.all_assessed() {
        let case_id = &record.case_id;
        changes.list.extend([
            change(case_id, "bmi_kg_m2", "20.001", "20.002", &every),
            change(case_id, "device_success", "yes", "no", &[Cause::Input]),
            change(case_id, "missing", &words, "height_cm", &[Cause::Input]),
            change(
                case_id,
                "next_visit_due",
                "2026-11-01",
                "2027-11-01",
                &[Cause::Time],
            ),
        ]);
    }
    let gone =
        (0..300).map(|number| Change::of_case(format!("gone-{number}").into(), Became::CaseGone));
    changes.list.extend(gone);
    for paper in [Paper::A4, Paper::Letter] {
        let context = PacketContext {
            changes: Some(changes.clone()),
            ..context(paper)
        };
        let document = check_with(&list, &context);
        let sheets_of = |letter: char| {
            document.sheets.iter().filter(move |sheet| {
                sheet
                    .label
                    .as_deref()
                    .is_some_and(|label| label.starts_with(letter))
            })
        };
        let changed: Vec<&str> = sheets_of('C').flat_map(texts).collect();
        // Each case with its three changes by more than time, and once with what time changed.
        for (record, _) in &work.all_assessed() {
            let line = format!("case {}", record.case_id);
            let times = changed.iter().filter(|text| **text == line).count();
            assert_eq!(times, 4, "{line} on {paper:?}");
        }
        // As many digits as tell the two apart.
        let told = |text: &str| changed.iter().filter(|known| **known == text).count();
        assert_eq!((told("20.001"), told("20.002")), (60, 60));
        let all = changed.join(" ");
        assert!(all.contains("version 1 then, 2 now"), "{all}");
        assert!(all.contains("gone-0") && all.contains("100 more in changes.csv"));
        let lines = sheets_of('W').flat_map(texts).collect::<Vec<_>>().join(" ");
        let marked = lines.matches("Changed since").count();
        assert_eq!(marked, list.entries.len());
        assert!(
            lines.contains("device success: yes → no (input)"),
            "{lines}"
        );
        let outline: Vec<&str> = document
            .sheets
            .iter()
            .flat_map(|sheet| &sheet.bookmarks)
            .map(|bookmark| bookmark.title.as_str())
            .collect();
        assert_eq!(outline[..2], ["Worklist", "Changed results"]);
    }
}
