//! What the pages of the demo say, held against what fixtures/quarter/README.md says of each case and what its cells
//! hold. Wording is checked where a wrong word could hurt.

use jiff::civil::date;
use valvefolio::draw::Paper;
use valvefolio::record::{CaseCells, Cells};

use crate::support::{QUARTER, as_of, assessed, demo_page, descriptions, page_on, record, words};

fn says(case_id: &str, phrases: &[&str]) {
    let page = demo_page(case_id);
    let words = words(&page);
    for phrase in phrases {
        assert!(
            words.contains(phrase),
            "{case_id} does not say “{phrase}”: {words}"
        );
    }
}

fn says_not(case_id: &str, phrases: &[&str]) {
    let words = words(&demo_page(case_id));
    for phrase in phrases {
        assert!(!words.contains(phrase), "{case_id} says “{phrase}”");
    }
}

#[test]
fn the_case_whose_sources_disagree() {
    says(
        "2026-007",
        &[
            "bicuspid type 1",
            "Planned Demo BX 29 mm, implanted Demo BX 26 mm, transfemoral",
            "fill −1.5 mL",
            "Sizing lines differ: 29 mm by annulus; 26 mm by supra-annular 25 mm; 24.5 mm by balloon that sealed 23 mm; implanted 26 mm.",
            "Annulus 602 mm² larger than the labelled range of Demo BX 26 mm (445 to 505 mm²): device small for it.",
            "20 mm balloon leaked, 23 mm balloon sealed with a waist.",
            "Labelled ranges are for the annulus; the other lines are additional.",
        ],
    );
    let ruler = &descriptions(&demo_page("2026-007"))[1];
    for phrase in [
        "more than 20",
        "at most 23",
        "frame, measured: 24.6",
        "supra-annular: 25.0",
        "26 from 23.8 to 25.4 mm (implanted)",
    ] {
        assert!(ruler.contains(phrase), "{ruler}");
    }
}

/// Wherever a doubtful number stands it carries its mark: in sentences, charts and thresholds.
#[test]
fn a_doubtful_echo_is_marked_wherever_it_is_used() {
    // 2024-005, 27 Aug 2024: 20.6 mm, 53.3 over 23.4 cm: DVI 2.278, area 3.333 × 2.278 = 7.59 cm², whose part of stage 2
    // begins 0.3 cm² below (VARC-3), at 7.29.
    says(
        "2024-005",
        &[
            "area (c) 1.46 → 7.59† cm²",
            "DVI (c) 0.45 → 2.28†",
            "area to 7.29† (7.59† − 0.3 or 25 %)",
        ],
    );
    let chart = &descriptions(&demo_page("2024-005"))[0];
    assert!(chart.contains("7.59† on day 42"), "{chart}");
}

/// Of two values that a part needs, the one that lacks is named and not the other.
#[test]
fn what_is_recorded_is_not_called_missing() {
    // 2024-005: KCCQ 64 before, none at one year; 2026-037: dialysis recorded, creatinine before not believable.
    says("2024-005", &["cannot be told · missing: KCCQ at one year"]);
    says_not("2024-005", &["KCCQ before"]);
    says("2026-037", &["cannot be told · missing: creatinine before"]);
    says_not("2026-037", &["creatinine before, new dialysis"]);
}

#[test]
fn an_annulus_is_never_called_below_or_above() {
    for (record, _) in &QUARTER.cases {
        says_not(
            &record.case_id,
            &[
                "annulus below",
                "annulus above",
                "Annulus below",
                "Annulus above",
            ],
        );
    }
}

#[test]
fn deaths_are_said_first_and_end_the_follow_up() {
    // 2026-019: died in hospital on day 8; 2026-020: in the room; 2026-002: without a date.
    says(
        "2026-019",
        &["Died on", "day 8", "none: a death is recorded"],
    );
    says(
        "2026-020",
        &[
            "Died in the procedure room",
            "(day 0)",
            "Device success, 30 days not met",
            "died in the procedure room",
        ],
    );
    says(
        "2026-002",
        &[
            "A death is recorded without a date",
            "none: a death is recorded",
        ],
    );
    says_not("2026-019", &["overdue", "not yet due"]);
}

#[test]
fn what_does_not_apply_is_said_as_such() {
    says(
        "2026-012",
        &[
            "not applicable: surgical valve",
            "failed surgical bioprosthesis",
        ],
    );
    says("2026-015", &["pacemaker before", "had one before"]);
    says(
        "2026-022",
        &["on dialysis before", "not applicable: dialysis before"],
    );
    says(
        "2026-029",
        &["(no row in the devices file)", "device without a row"],
    );
    says("2026-014", &["Missing (echo)"]);
}

#[test]
fn planning_risk_stands_with_what_happened() {
    // 2026-031: left ostium 8.6 mm, sinus 26.4 mm; 2026-024: sheath to lumen 1.11, iliac rupture.
    says("2026-031", &["8.6", "risk, what happened"]);
    says(
        "2026-024",
        &[
            "1.11",
            "risk, what happened",
            "access: major vascular complication",
        ],
    );
    says(
        "2026-016",
        &["risk, what happened", "conduction: new pacemaker"],
    );
}

/// What fixtures/quarter/README.md and its tables say: 2026-028 lost a valve, and its visit has no outflow VTI; 2026-025 has
/// a history of atrial fibrillation and sinus rhythm, 2026-028 had atrial fibrillation; no echo of 2023-003 follows the
/// reintervention.
#[test]
fn what_went_otherwise_is_said_where_one_line_is_read() {
    says(
        "2026-028",
        &[
            "Valve embolised. Second valve. Implanted as planned:",
            "Missing (echo): outflow VTI of 25 Sep 2026",
            "· atrial fibrillation",
        ],
    );
    says_not("2026-028", &["history of atrial fibrillation"]);
    says("2026-025", &["history of atrial fibrillation"]);
    says("2023-003", &["DVI 0.51; before reintervention"]);
    says_not("2023-002", &["before reintervention"]);
    says(
        "2026-020",
        &["page of 20 Nov 2026, after a death in the room"],
    );
}

/// The estimate rests on the larger of fill and change at post-dilatation where there was one, and on the fill alone where
/// there was none (the project's definitions): what the ruler says of the filling is what the estimate rests on.
#[test]
fn how_far_the_balloon_was_not_filled_as_labelled_is_what_the_estimate_rests_on() {
    let said = |fill, postdilatation, change| {
        let made = record(CaseCells {
            procedure_date: Some(date(2026, 3, 3)),
            device_id: Some("DEMO-BX-26".into()),
            annulus_area_mm2: Some(480.0),
            fill_volume_change_ml: fill,
            postdilatation,
            postdilatation_volume_change_ml: change,
            ..CaseCells::default()
        });
        let page = page_on(&made, &assessed(&made, as_of()), Paper::A4).expect("the page fits");
        let words: Vec<String> = words(&page).split_whitespace().map(str::to_owned).collect();
        let words = words.join(" ");
        let (_, behind) = words
            .split_once("Over-sizing (c) of the nominal 26 mm")
            .unwrap_or_else(|| panic!("{words}"));
        let (said, _) = behind.split_once("by area").expect("by area");
        said.to_owned()
    };
    let (yes, no) = (Some(true), Some(false));
    for (fill, postdilatation, change, expected) in [
        (Some(-1.5), no, None, ", not as filled (−1.5 mL), "),
        (Some(0.5), yes, Some(1.0), ", not as filled (+1 mL), "),
        (Some(-1.5), yes, Some(0.0), ", "),
        (Some(0.0), no, Some(1.0), ", "),
        (None, no, Some(1.0), ", "),
        (Some(-1.5), yes, None, ", not as filled, "),
        (None, None, None, ", "),
    ] {
        assert_eq!(
            said(fill, postdilatation, change),
            expected,
            "{fill:?} {change:?}"
        );
    }
}

#[test]
fn a_contradicted_number_is_marked() {
    // 2026-037: Vmax typed 3.4 for 4.4; the creatinine of 1.1 is not used.
    says(
        "2026-037",
        &[
            "3.4†",
            "Cannot all be right: mean gradient above the peak gradient, before",
            "creatinine before",
        ],
    );
    says_not("2026-037", &["1.1 μmol"]);
}

#[test]
fn medication_is_whole_or_counted() {
    for (record, _) in &QUARTER.cases {
        let Some(medication) = record.cells.medication.as_deref() else {
            continue;
        };
        let words = words(&demo_page(&record.case_id));
        let items: Vec<&str> = medication
            .split(';')
            .map(str::trim)
            .filter(|item| !item.is_empty())
            .collect();
        let whole = words.contains(&items.join("; "));
        let counted = words.contains(&format!("{} items, not printed here", items.len()));
        assert!(whole != counted, "case {}", record.case_id);
    }
}

#[test]
fn the_plan_is_printed_as_recorded() {
    says(
        "2026-035",
        &[
            "at discharge: dual antiplatelet, until 10 Oct 2026, then review",
            "Atrial fibrillation is recorded",
            "was to be reviewed on 10 Oct 2026",
        ],
    );
    says(
        "2026-033",
        &["closed; owner: chest clinic; “Lung nodule 7 mm, right upper lobe”"],
    );
    says(
        "2023-001",
        &["anticoagulant (visit of 10 Sep 2026, by telephone); at discharge: anticoagulant"],
    );
}

#[test]
fn the_gradient_is_described_in_numbers() {
    // The visits of 2023-002 are in fixtures/quarter/followups.csv; the threshold is the reference + 10, at least 20.
    let chart = &descriptions(&demo_page("2023-002"))[0];
    assert!(
        chart.starts_with("Mean gradient before: 56 mmHg. After: 13 on day 1,"),
        "{chart}"
    );
    assert!(chart.contains("A dashed line marks 20 mmHg."));
}

#[test]
fn every_measured_headline_number_is_on_its_page_as_recorded() {
    for (record, _) in &QUARTER.cases {
        let words = words(&demo_page(&record.case_id));
        for column in [
            "baseline_mean_gradient_mmhg",
            "baseline_vmax_m_s",
            "post_mean_gradient_mmhg",
            "post_vmax_m_s",
            "annulus_area_mm2",
        ] {
            if let Some(valvefolio::record::Shown::Number(value)) = record.cells.value(column) {
                assert!(
                    words.contains(&value.to_string()),
                    "{}: {column} {value}",
                    record.case_id
                );
            }
        }
        for text in [&record.cells.device_serial, &record.cells.patient_label]
            .into_iter()
            .flatten()
        {
            assert!(words.contains(&**text), "{}: {text}", record.case_id);
        }
    }
}

#[test]
fn no_page_prints_a_code_or_recommends() {
    for (record, _) in &QUARTER.cases {
        let page = demo_page(&record.case_id);
        let words = words(&page);
        // Own words of the case and names of files may hold what they like.
        let mut ours = words.replace(&*record.case_id, "");
        for text in [
            &record.cells.sizing_reason,
            &record.cells.medication,
            &record.cells.discharge_note,
            &record.cells.incidental_finding,
            &record.cells.device_serial,
            &record.cells.device_lot,
        ]
        .into_iter()
        .flatten()
        {
            ours = ours.replace(&**text, "");
        }
        assert!(!ours.contains('_'), "{}: {ours}", record.case_id);
        for word in [
            "should",
            "must ",
            "recommended",
            "advise",
            "consider ",
            "NaN",
            "inf ",
        ] {
            assert!(
                !ours.contains(word),
                "{}: “{word}” in {ours}",
                record.case_id
            );
        }
        assert_eq!(
            ours.matches("recommend").count(),
            1,
            "only the caution speaks of it: {ours}"
        );
        for caution in [
            "Made from the data given, for review by the treating team.",
            "not a recommendation of a device, size or treatment",
            "instructions for use, local protocol and applicable guidelines",
        ] {
            assert!(ours.contains(caution), "{}", record.case_id);
        }
    }
}

#[test]
fn pages_are_tagged_titled_and_described() {
    for (record, assessment) in &QUARTER.cases {
        let page = page_on(record, assessment, valvefolio::draw::Paper::A4).expect("the page fits");
        assert!(page.document.title.contains(&*record.case_id));
        assert_eq!(page.document.sheets[0].bookmarks.len(), 1);
        assert_eq!(descriptions(&page).len(), 2);
        assert!(valvefolio::output::pdf::to_pdf(&page.document, &crate::support::FONTS).is_ok());
    }
}

#[test]
fn the_same_case_gives_the_same_page() {
    assert_eq!(demo_page("2023-001"), demo_page("2023-001"));
}
