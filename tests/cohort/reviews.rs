//! The reviews behind the pages, each on a few cases whose standing is plain from the definitions.

use jiff::civil::{Date, date};
use valvefolio::assess::FollowUpState;
use valvefolio::cohort::{CohortOptions, FOLLOWED, Followed, Quarter};
use valvefolio::record::{CaseRecord, Catalogue, Device, DeviceCells};

use crate::support::{case, cohort, cohort_with, set, with_visit};

fn options() -> CohortOptions {
    CohortOptions::new(date(2026, 7, 1))
}

fn device(id: &str, range_min: &str, range_max: &str) -> Device {
    let mut cells = DeviceCells::default();
    for (column, text) in [
        ("device_id", id),
        ("label", id),
        ("mechanism", "balloon_expandable"),
        ("labelled_size_mm", "26"),
        ("sized_by", "area"),
        ("range_min", range_min),
        ("range_max", range_max),
    ] {
        set(&mut cells, column, text);
    }
    Device::from_cells(cells).expect("every required cell")
}

#[test]
fn which_line_of_evidence_a_size_followed() {
    // Ranges: SMALL 380 to 460, LARGE 500 to 620 mm2. Annulus 560 mm2 is a circle of 26.70 mm; a balloon of 23 mm is a
    // circle of 415.5 mm2: they differ by 3.7 mm. A balloon of 25 mm is 490.9 mm2, in neither range, and 1.7 mm off.
    let catalogue = Catalogue::new(vec![
        device("SMALL", "380", "460"),
        device("LARGE", "500", "620"),
    ]);
    let sized = |id: &str, device: &str, balloon: &str| {
        case(
            id,
            "2026-05-01",
            &[
                ("annulus_area_mm2", "560"),
                ("predilatation_balloon_mm", balloon),
                ("predilatation_seal", "complete"),
                ("device_id", device),
                ("annular_rupture", "no"),
                ("aortic_dissection", "no"),
                (
                    "structural_complication",
                    if id == "a" { "major" } else { "none" },
                ),
            ],
        )
    };
    let cases = [
        sized("a", "LARGE", "23"),
        sized("b", "SMALL", "23"),
        sized("c", "OTHER", "23"),
        sized("d", "LARGE", "25"),
        // No seal: no line of evidence.
        case(
            "e",
            "2026-05-01",
            &[
                ("annulus_area_mm2", "560"),
                ("predilatation_balloon_mm", "23"),
            ],
        ),
    ];
    let cohort = cohort_with(&cases, &catalogue, &options(), &[]);
    let review = &cohort.sizing;
    assert_eq!(review.both_lines, 4);
    let standing: Vec<_> = review
        .differing_cases
        .iter()
        .map(|(case, followed)| (&**case, *followed))
        .collect();
    assert_eq!(
        standing,
        [
            ("a", Followed::Annulus),
            ("b", Followed::Balloon),
            ("c", Followed::NotKnown)
        ]
    );
    assert_eq!(review.alike.n, 1);
    let annulus = &review.differing[Followed::Annulus as usize];
    assert_eq!(
        (annulus.root_injury.yes, annulus.root_injury.known()),
        (1, 1)
    );
    // No echo after: the leak is unknown, not absent.
    assert_eq!(
        (annulus.regurgitation.known(), annulus.regurgitation.missing),
        (0, 1)
    );
}

#[test]
fn cases_to_pull_with_the_gravest_first() {
    let mut options = options();
    options.from = Some(date(2026, 4, 1));
    options.to = Some(date(2026, 6, 30));
    let cases = [
        case(
            "quiet",
            "2026-05-01",
            &[("stroke_30d", "none"), ("bleeding_type", "type_2")],
        ),
        case("stroke", "2026-05-02", &[("stroke_30d", "ischaemic")]),
        case(
            "died",
            "2026-05-03",
            &[
                ("death_date", "2026-05-20"),
                ("death_cause", "cardiovascular"),
            ],
        ),
        // Earlier cases: one event before the period began, one after.
        with_visit(
            case("old", "2025-01-01", &[]),
            "2025-06-01",
            &[("endocarditis", "yes")],
        ),
        with_visit(
            case("late", "2025-01-01", &[]),
            "2026-05-01",
            &[
                ("endocarditis", "yes"),
                ("valve_reintervention", "yes"),
                ("reintervention_date", "2026-04-20"),
            ],
        ),
    ];
    let cohort = cohort(&cases, &options);
    let pulled: Vec<(&str, bool)> = cohort
        .pull
        .iter()
        .map(|case| (&*case.case_id, case.in_period))
        .collect();
    assert_eq!(pulled, [("died", true), ("stroke", true), ("late", false)]);
    // 20 May is 17 days after 3 May.
    assert_eq!(
        cohort.pull[0].reasons[0],
        "died on day 17, cardiovascular; no predicted risk"
    );
    // From 1 January 2025 to 20 April 2026 are 474 days, to the visit 485; the endocarditis has no day of its own.
    let late = &cohort.pull[2].reasons;
    assert!(
        late.contains(&"reintervention on the valve, day 474".into()),
        "{late:?}"
    );
    assert!(
        late.contains(&"endocarditis, visit of day 485".into()),
        "{late:?}"
    );
}

/// Six numbers of the eight that both have are the same; a ninth has only one of the two.
#[test]
fn how_many_numbers_two_rows_share_is_said_with_how_many_both_have() {
    let same = [
        ("baseline_vmax_m_s", "4.4"),
        ("baseline_mean_gradient_mmhg", "47"),
        ("baseline_av_vti_cm", "101.3"),
        ("baseline_lvef_pct", "57"),
        ("annulus_area_mm2", "433"),
        ("annulus_perimeter_mm", "74.9"),
    ];
    let with = |id: &str, own: &[(&str, &str)]| case(id, "2026-05-01", &[&same, own].concat());
    let cohort = cohort(
        &[
            with(
                "one",
                &[
                    ("annulus_min_mm", "20.1"),
                    ("annulus_max_mm", "26.3"),
                    ("lvot_area_mm2", "410"),
                ],
            ),
            with(
                "two",
                &[("annulus_min_mm", "20.2"), ("annulus_max_mm", "26.4")],
            ),
        ],
        &options(),
    );
    let reasons: Vec<&str> = cohort
        .pull
        .iter()
        .flat_map(|case| &case.reasons)
        .map(|reason| &**reason)
        .collect();
    assert_eq!(
        reasons,
        [
            "6 of 8 echo and CT numbers as in case two: possibly a pasted row",
            "6 of 8 echo and CT numbers as in case one: possibly a pasted row"
        ]
    );
}

#[test]
fn the_cell_that_settles_most_is_named_first() {
    let known = [
        ("stroke_30d", "none"),
        ("bleeding_type", "none"),
        ("vascular_complication", "none"),
        ("prior_pacemaker", "no"),
        ("new_pacemaker_30d", "no"),
    ];
    let mut almost = known.to_vec();
    almost.push(("last_contact_date", "2026-06-20"));
    almost.retain(|(column, _)| *column != "bleeding_type");
    let cohort = cohort(
        &[
            case("contact", "2026-05-01", &known),
            case("bleeding", "2026-05-01", &almost),
        ],
        &options(),
    );
    let first = &cohort.completeness.settling[0];
    // The last contact alone settles death, stroke, vascular complication, bleeding and pacemaker.
    assert_eq!(
        (&*first.case_id, first.cell, first.from),
        ("contact", "last_contact_date", "clinic")
    );
    assert_eq!(first.settles.len(), 5);
    let bleeding = cohort
        .completeness
        .settling
        .iter()
        .find(|cell| cell.cell == "bleeding_type")
        .expect("the blank bleeding");
    assert_eq!(
        (&*bleeding.case_id, bleeding.settles.as_slice()),
        ("bleeding", &["bleeding_type_2_to_4"][..])
    );
}

/// Whom to ask of the cell of a visit is what the dictionary says of the follow-up file.
#[test]
fn the_cell_of_a_visit_is_asked_of_whoever_made_the_echo() {
    let judged = case(
        "visit",
        "2026-04-01",
        &[("last_contact_date", "2026-06-01")],
    );
    let echo = [
        ("mean_gradient_mmhg", "9"),
        ("vmax_m_s", "2.0"),
        ("paravalvular_grade", "none"),
    ];
    let cohort = cohort(&[with_visit(judged, "2026-05-02", &echo)], &options());
    let settling = &cohort.completeness.settling;
    let grade = settling
        .iter()
        .find(|cell| cell.cell == "transvalvular_grade")
        .expect("the grade that the visit lacks");
    assert_eq!(grade.from, "echo");
}

/// Nobody is asked for the date of a death that nothing speaks of, for a contact where survival to one year is known, nor
/// for what only a patient has who left the procedure room alive.
#[test]
fn the_chase_list_asks_only_for_what_someone_can_tell() {
    let asked = |cells: &[(&str, &str)]| -> Vec<&'static str> {
        let cohort = cohort(&[case("one", "2025-03-01", cells)], &options());
        let sources = cohort.completeness.sources.iter();
        sources
            .flat_map(|source| source.columns.iter().map(|column| column.column))
            .collect()
    };
    let holds = |asked: &[&str], columns: &[&str]| {
        columns
            .iter()
            .map(|column| asked.contains(column))
            .collect::<Vec<_>>()
    };
    let columns = ["death_date", "last_contact_date", "creatinine_peak_umol_l"];
    let unknown = asked(&[]);
    assert_eq!(
        holds(&unknown, &columns),
        [false, true, true],
        "{unknown:?}"
    );
    let died = asked(&[("discharge_status", "died_in_hospital")]);
    assert_eq!(holds(&died, &columns), [true, true, true], "{died:?}");
    let alive = asked(&[("last_contact_date", "2026-04-01")]);
    assert_eq!(holds(&alive, &columns), [false, false, true], "{alive:?}");
    let in_the_room = asked(&[("procedural_death", "yes")]);
    assert_eq!(holds(&in_the_room, &columns), [false; 3], "{in_the_room:?}");
    assert!(in_the_room.contains(&"creatinine_umol_l"), "known before");
}

/// Quarters in which nothing was done are counted once they are over, and the last with a case stays the one that is held
/// against those before it.
#[test]
fn quarters_without_a_case_at_the_end_are_said_and_not_judged() {
    let quarters = |as_of: Date| {
        let cases = [case("a", "2025-02-01", &[]), case("b", "2025-08-31", &[])];
        let cohort = cohort(&cases, &CohortOptions::new(as_of));
        let labels = cohort.quarters.quarters.iter().map(Quarter::label);
        (labels.collect::<Vec<_>>(), cohort.quarters.empty_since)
    };
    for (as_of, empty_since) in [
        (date(2025, 9, 15), 0),
        (date(2025, 9, 30), 0),
        (date(2025, 12, 30), 0),
        (date(2025, 12, 31), 1),
        (date(2026, 2, 1), 1),
        (date(2026, 6, 30), 3),
    ] {
        let (labels, empty) = quarters(as_of);
        assert_eq!(labels, ["2025 Q1", "2025 Q2", "2025 Q3"], "{as_of}");
        assert_eq!(empty, empty_since, "{as_of}");
    }
}

/// A pacemaker in one of ten is not rare in a quarter of ten, whatever was not done since.
#[test]
fn what_is_rare_is_told_by_the_last_quarter_with_a_case() {
    let known = [
        ("prior_pacemaker", "no"),
        ("last_contact_date", "2025-09-30"),
    ];
    let cases: Vec<CaseRecord> = (0..10)
        .map(|number| {
            let pacemaker = [("new_pacemaker_30d", if number == 3 { "yes" } else { "no" })];
            let cells = [known.as_slice(), &pacemaker].concat();
            case(&format!("{number}"), "2025-08-01", &cells)
        })
        .collect();
    let cohort = cohort(&cases, &CohortOptions::new(date(2026, 2, 1)));
    let pacemaker = FOLLOWED
        .iter()
        .position(|(measure, _)| *measure == "new_pacemaker")
        .expect("followed");
    assert_eq!(cohort.quarters.empty_since, 1);
    assert!(!cohort.quarters.rare(pacemaker));
}

#[test]
fn recorded_against_derivable() {
    // VARC-3: 2 to 4 units are type 2; a fall above 3 g/dL is type 2, of 5 type 3; exactly 3.0 is none of them.
    let bled = |id: &str, recorded: &str, units: &str, before: &str, lowest: &str| {
        case(
            id,
            "2026-05-01",
            &[
                ("bleeding_type", recorded),
                ("red_cell_units", units),
                ("haemoglobin_g_dl", before),
                ("haemoglobin_lowest_g_dl", lowest),
            ],
        )
    };
    let cases: Vec<CaseRecord> = vec![
        bled("a", "type_1", "2", "13", "10"),
        bled("b", "type_2", "4", "13", "7.9"),
        bled("c", "none", "0", "13.2", "10.2"),
        case(
            "d",
            "2026-05-01",
            &[("structural_complication", "none"), ("tamponade", "yes")],
        ),
        with_visit(
            case("e", "2026-05-01", &[("stroke_30d", "none")]),
            "2026-05-25",
            &[("stroke", "yes")],
        ),
        // Reported at a visit after day 30 without a date of its own: not known to be within it.
        with_visit(
            case("f", "2026-05-01", &[("stroke_30d", "none")]),
            "2026-06-20",
            &[("stroke", "yes")],
        ),
    ];
    let cohort = cohort(&cases, &options());
    let differing: Vec<Vec<&str>> = cohort
        .comparisons
        .iter()
        .map(|comparison| {
            comparison
                .differing
                .iter()
                .map(|found| &*found.case_id)
                .collect()
        })
        .collect();
    let none: Vec<&str> = Vec::new();
    assert_eq!(
        differing,
        [
            // Units: a had two and is type 1; b had four and is type 2 already.
            vec!["a"],
            // Fall: a 3.0 and c 3.0 are no type 2; b 5.1 is type 3.
            vec!["b"],
            vec!["d"],
            vec!["e"],
            none.clone(),
            none,
        ]
    );
}

#[test]
fn visits_done_missed_open_and_not_lived_to_see() {
    // As of 1 July 2026; 30-day window day 23 to 75.
    let cases = [
        with_visit(case("done", "2026-01-10", &[]), "2026-02-10", &[]),
        case("missed", "2026-01-10", &[]),
        // Day 23 of a procedure on 20 May is 12 June, day 75 is 3 August: open.
        case("open", "2026-05-20", &[]),
        case("dead", "2026-01-10", &[("death_date", "2026-01-20")]),
        // Day 23 is 8 July: not opened, in no count.
        case("young", "2026-06-15", &[]),
    ];
    let cohort = cohort(&cases, &options());
    let visit = cohort.follow_up.visits[0];
    assert_eq!(
        (visit.closed, visit.done, visit.open, visit.died_before),
        (2, 1, 1, 1)
    );
    let states = cohort.follow_up.states;
    assert_eq!(states[FollowUpState::Overdue as usize], 1);
    assert_eq!(states[FollowUpState::Due as usize], 1);
    assert_eq!(states[FollowUpState::Deceased as usize], 1);
    assert_eq!(states.iter().sum::<usize>(), 5);
}
