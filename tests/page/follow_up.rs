//! The page at follow-up: area against the patient's own reference, each criterion of deterioration, what changed.
//!
//! Thresholds are those of VARC-3 (Généreux 2021): gradient + 10 to 20 mmHg at least (stage 3: + 20 to 30), area − 0.3
//! cm² or 25 % (0.6 or 50 %), index − 0.1 or 20 % (0.2 or 40 %). Expected numbers are worked out by hand from the cells
//! of fixtures/quarter: area is π/4 · d² · outflow VTI / prosthesis VTI.

use jiff::civil::date;
use valvefolio::assess::{Criteria, CriterionState, ProsthesisEcho, STAGE_2, STAGE_3};
use valvefolio::draw::Paper;
use valvefolio::record::{
    CaseCells, CaseRecord, CellNotes, Grade, Nyha, RowPlace, VisitCells, VisitRecord,
};

use crate::support::{QUARTER, as_of, assessed, demo_page, descriptions, page_on, record, words};

fn says(case_id: &str, phrase: &str) {
    let words = words(&demo_page(case_id));
    assert!(
        words.contains(phrase),
        "{case_id} does not say “{phrase}”: {words}"
    );
}

/// An echo of this mean gradient, area and index.
fn echo(mean: f64, area_and_index: Option<(f64, f64)>, leak: Option<Grade>) -> ProsthesisEcho {
    let (area, index) = area_and_index.unwrap_or((f64::NAN, f64::NAN));
    // Outflow of area/index, whose diameter is 2 √(A/π); VTIs of 40 · index and 40.
    let outflow_cm2 = area / index;
    ProsthesisEcho {
        mean_gradient_mmhg: Some(mean),
        transvalvular_grade: leak,
        lvot_diameter_mm: area_and_index
            .map(|_| 20.0 * (outflow_cm2 / std::f64::consts::PI).sqrt()),
        lvot_vti_cm: area_and_index.map(|_| 40.0 * index),
        av_vti_cm: area_and_index.map(|_| 40.0),
        ..ProsthesisEcho::default()
    }
}

#[test]
fn each_criterion_is_judged_on_its_own() {
    use CriterionState::{NotMet, Stage2, Stage3};
    // 9/1.7/0.55 → 22/1.3/0.40: + 13, − 0.4, − 0.15; all of stage 2.
    let none = Some(Grade::None);
    let found = Criteria::of(
        &echo(9.0, Some((1.7, 0.55)), none),
        &echo(22.0, Some((1.3, 0.40)), none),
    );
    assert_eq!(
        (found.gradient, found.area, found.index, found.regurgitation),
        (Some(Stage2), Some(Stage2), Some(Stage2), Some(NotMet))
    );
    // 12 → 31 is + 19, not 20: stage 2. 1.6 → 0.8 is 50 %: stage 3. Index 0.50 → 0.31 is 38 %: stage 2.
    let found = Criteria::of(
        &echo(12.0, Some((1.6, 0.50)), none),
        &echo(31.0, Some((0.8, 0.31)), Some(Grade::Severe)),
    );
    assert_eq!(
        (found.gradient, found.area, found.index, found.regurgitation),
        (Some(Stage2), Some(Stage3), Some(Stage2), Some(Stage3))
    );
    // No area, no index, no leak at the reference: unknown, not absent.
    let found = Criteria::of(
        &echo(9.0, None, None),
        &echo(22.0, Some((1.3, 0.40)), Some(Grade::Moderate)),
    );
    assert_eq!(
        (found.gradient, found.area, found.index, found.regurgitation),
        (Some(Stage2), None, None, None)
    );
}

#[test]
fn thresholds_are_this_patients_own() {
    let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-9, "{found}");
    for (reference, moderate, severe) in [(1.8, 1.5, 1.2), (1.0, 0.75, 0.5), (1.2, 0.9, 0.6)] {
        near(STAGE_2.area_to_cm2(reference), moderate);
        near(STAGE_3.area_to_cm2(reference), severe);
    }
    for (reference, moderate, severe) in [(9.0, 20.0, 30.0), (12.0, 22.0, 32.0)] {
        near(STAGE_2.gradient_from_mmhg(reference), moderate);
        near(STAGE_3.gradient_from_mmhg(reference), severe);
    }
    // 2023-003: reference 17 Oct 2023, mean 8, 21.3 mm, 19.7 and 38.5 cm: 1.823 cm².
    let chart = &descriptions(&demo_page("2023-003"))[0];
    for phrase in [
        "stage 2 deterioration begins at 20 mmHg in this patient, of stage 3 at 30 mmHg",
        "1.82 on day 35",
        "0.86 on day 975 cm²",
        "The area part of stage 2 begins at a fall to 1.52 cm², of stage 3 to 1.22 cm²",
    ] {
        assert!(chart.contains(phrase), "{phrase}: {chart}");
    }
}

#[test]
fn the_state_of_each_criterion_stands_with_its_numbers() {
    // 14 May 2026: 20.2 and 83.8 cm, so 0.859 cm² (− 0.964, 52.9 %) and 0.241 (− 0.271); 8 → 38 mmHg.
    says(
        "2023-003",
        "at 14 May 2026 met for stage 3: mean 38 mmHg (+30), area −0.96 cm² (−53 %), DVI −0.27 (−53 %); not met: leak through it none → mild",
    );
    // 2024-008: 10 → 10 mmHg; a leak of moderate through the valve is stage 2.
    says(
        "2024-008",
        "met for stage 2: leak through it none → moderate",
    );
    // 2023-006: 12 → 24 → 13 → 14; the worst stage stays, the latest echo no longer meets it.
    says(
        "2023-006",
        "Valve deterioration stage 2 · first on 9 Dec 2024",
    );
    says("2023-006", "at 16 Dec 2025 not met: mean 14 mmHg (+2)");
}

#[test]
fn what_changed_since_the_last_visit_is_said_in_numbers() {
    // 23 Sep 2025: 20.6 and 54.1 cm, so 1.357 cm² and 0.381.
    says(
        "2023-003",
        "Since the last visit. Echo of 14 May 2026 against 23 Sep 2025: mean 14 → 38 mmHg, area (c) 1.36 → 0.86 cm², DVI (c) 0.38 → 0.24, leak through none → mild, LVEF 57 → 58 %; unchanged: leak beside none.",
    );
    says(
        "2023-003",
        "Visit of 13 Aug 2026 against 14 May 2026: NYHA III → II, KCCQ 41 → 78; unchanged: antithrombotic single antiplatelet; no new pacemaker since.",
    );
    says(
        "2023-001",
        "Visit of 10 Sep 2026, by telephone, against 14 Jul 2026: KCCQ 79 → 74",
    );
}

fn with_visit(cells: VisitCells, on: jiff::civil::Date) -> CaseRecord {
    let mut made = record(CaseCells {
        procedure_date: Some(date(2026, 3, 3)),
        nyha_class: Some(Nyha::III),
        ..CaseCells::default()
    });
    made.visits.push(VisitRecord {
        date: on,
        cells: VisitCells {
            visit_date: Some(on),
            ..cells
        }
        .into(),
        notes: CellNotes::default(),
        place: RowPlace {
            file: "visits.csv".into(),
            line: 2,
        },
    });
    made
}

#[test]
fn what_is_not_recorded_is_not_unchanged() {
    let made = with_visit(
        VisitCells {
            nyha_class: Some(Nyha::III),
            mean_gradient_mmhg: Some(11.0),
            ..VisitCells::default()
        },
        date(2026, 4, 8),
    );
    let assessment = assessed(&made, as_of());
    let page = page_on(&made, &assessment, Paper::A4).expect("the page fits");
    let words = words(&page);
    for phrase in [
        "Echo of 8 Apr 2026 against discharge: mean 11 mmHg (not recorded then); not recorded: area (c), DVI (c), leak beside, leak through, LVEF.",
        "no recorded value changed; unchanged: NYHA III as before the procedure; not recorded: KCCQ, antithrombotic; new pacemaker since: not recorded.",
        "echo of day 36, 8 Apr 2026",
        "latest echo 8 Apr 2026",
    ] {
        assert!(words.contains(phrase), "{phrase}: {words}");
    }
    let chart = &descriptions(&page)[0];
    assert!(
        chart.contains("Valve area after, computed: not recorded."),
        "{chart}"
    );
}

#[test]
fn a_worse_class_of_mismatch_later_is_a_fact_of_that_visit() {
    // 2023-003: 0.859 cm² on 1.97 m² (172 cm, 84 kg, Du Bois) is 0.44; severe to 0.65 (BMI below 30). The class of the
    // reference echo, 0.92, stays.
    says("2023-003", "Mismatch, day 35 (c) none (0.92 cm²/m²)");
    says(
        "2023-003",
        "at 14 May 2026 (c) 0.44 cm²/m²: range of severe",
    );
    // 2023-001: 1.86 cm² at the latest echo, none as before.
    assert!(!words(&demo_page("2023-001")).contains("range of"));
}

#[test]
fn an_echo_before_a_reintervention_is_said_to_be_of_the_valve_before_it() {
    // 2023-003: last echo 14 May 2026, reintervention 9 Jul 2026 (cells of followups.csv).
    says(
        "2023-003",
        "No echo since the valve reintervention of 9 Jul 2026: what stands here is from before it.",
    );
    assert!(!words(&demo_page("2023-002")).contains("No echo since"));
}

#[test]
fn an_echo_is_called_by_its_day() {
    says("2023-003", "echo of day 35, 17 Oct 2023");
    for (record, _) in &QUARTER.cases {
        let words = words(&demo_page(&record.case_id));
        assert!(!words.contains("30-day echo"), "{}", record.case_id);
        assert!(!words.contains("30 d, latest"), "{}", record.case_id);
    }
}

#[test]
fn only_the_follow_up_page_has_the_trend_of_areas() {
    for (record, assessment) in &QUARTER.cases {
        let page = demo_page(&record.case_id);
        let follows = !assessment.known.visits.is_empty();
        let chart = &descriptions(&page)[0];
        assert_eq!(chart.contains("Valve area after"), follows, "{chart}");
        assert_eq!(
            words(&page).contains("Since the last visit."),
            follows,
            "{}",
            record.case_id
        );
    }
    // 2026-020 died in the room.
    says(
        "2026-020",
        "Died on day 0: no reference echo (day 23 to 105)",
    );
}
