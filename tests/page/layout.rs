//! One sheet, inside its margins, nothing on top of anything else, whatever the inputs.

use proptest::prelude::*;
use valvefolio::assess::{Assessment, Flag};
use valvefolio::draw::{Item, Paper};
use valvefolio::output::pdf::to_pdf;
use valvefolio::page::case::{CasePage, PageFault};
use valvefolio::page::layout::{ink, outside, overlapping, overlapping_texts};
use valvefolio::page::{Grid, Rect};
use valvefolio::record::CaseRecord;

use crate::random::{Made, random_record};
use crate::support::{FONTS, QUARTER, assessed, page_on, words};

/// A stroke is drawn half outside its line.
const HALF_A_STROKE_MM: f64 = 0.4;
/// What descends below the baseline (the ink box ends there).
const BELOW_BASELINE_MM: f64 = 0.7;

/// What is wrong with the layout, if anything.
fn faults(page: &CasePage, paper: Paper) -> Vec<String> {
    let inside = Grid::of(paper).inside();
    let sheets = &page.document.sheets;
    let mut faults = Vec::new();
    if sheets.len() != 1 {
        faults.push(format!("{} sheets", sheets.len()));
    }
    for placed in outside(&page.boxes, &inside) {
        faults.push(format!(
            "{} leaves the margins: {:?}",
            placed.name, placed.rect
        ));
    }
    for (one, other) in overlapping(&page.boxes) {
        faults.push(format!("{} overlaps {}", one.name, other.name));
    }
    let wide = Rect {
        x_mm: inside.x_mm - HALF_A_STROKE_MM,
        y_mm: inside.y_mm - HALF_A_STROKE_MM,
        width_mm: inside.width_mm + 2.0 * HALF_A_STROKE_MM,
        height_mm: inside.height_mm + HALF_A_STROKE_MM + BELOW_BASELINE_MM,
    };
    for item in &sheets[0].items {
        if let Some(rect) = ink(item, &FONTS)
            && !rect.is_inside(&wide)
        {
            faults.push(format!("outside the margins: {item:?}"));
        }
    }
    for (one, other) in overlapping_texts(&sheets[0].items, &FONTS) {
        faults.push(format!("“{one}” on “{other}”"));
    }
    for item in &sheets[0].items {
        if let Item::Text { text, .. } = item
            && let Some(strange) = text.chars().find(|letter| !FONTS.covers(*letter))
        {
            faults.push(format!("no glyph for {strange:?} in “{text}”"));
        }
    }
    faults
}

/// Words of which one stands on the page where a flag is raised (the words of the page, not of the code).
fn said(flag: Flag) -> &'static [&'static str] {
    match flag {
        Flag::SizingDisagreement => &["Sizing lines differ", "sizing lines differ", "lines differ"],
        Flag::SizeOutOfRange => &[
            "device small for it",
            "device large for it",
            "outside the labelled range",
        ],
        Flag::RootInjuryRisk => &[
            "risk, what happened",
            "over-sizing by area; what",
            "calcium and over-sizing",
        ],
        Flag::LowCoronary => &["risk, what happened", "Left coronary at", "low coronary"],
        Flag::TightAccess => &["risk, what happened", "times the lumen", "tight access"],
        Flag::WideAorta => &["risk, what happened", "Ascending aorta", "wide aorta"],
        Flag::ConductionRisk => &[
            "risk, what happened",
            "what happened is",
            "conduction at risk",
        ],
        Flag::DiscordantStenosis => &["low-gradient"],
        Flag::AreaMismatch => &["computed and reported area differ", "of the reported apart"],
        Flag::ResidualGradient => &["Residual mean gradient", "residual gradient"],
        Flag::MajorEvent => &["ajor event"],
        Flag::Death => &["Died", "died"],
        Flag::DeathUndated => &["death is recorded", "death without a date"],
        Flag::VisitEvent => &["ince discharge"],
        Flag::LateRegurgitation => &[
            "Leak beside the valve moderate",
            "Leak beside the valve severe",
            "late leak",
        ],
        Flag::LateGradient => &["no reference echo to hold", "late gradient"],
        Flag::LvefFall => &["LVEF", "fall of LVEF"],
        Flag::NoSizingReason => &["No reason is recorded", "no reason for the size"],
        Flag::TreatmentReviewPassed => &["to be reviewed on", "treatment review passed"],
        Flag::RhythmWithoutAnticoagulant => &[
            "Atrial fibrillation is recorded",
            "Atrial fibrillation; latest",
            "no anticoagulant recorded",
        ],
        Flag::IncidentalOpen => &["ncidental finding"],
        Flag::IdentityConflict => &["Device serial", "identity conflict"],
        Flag::PossiblePastedRow => &["pasted"],
        Flag::Regurgitation => &["Leak moderate or more", "leak moderate or more"],
        Flag::LowRegurgitationIndex => &["below 25 %", "low regurgitation index"],
        Flag::Mismatch => &["Measured mismatch", "measured mismatch"],
        Flag::KidneyInjury => &["Kidney injury", "kidney injury"],
        Flag::NewConductionDisorder => &[
            "New pacemaker",
            "New left bundle",
            "new conduction disorder",
        ],
        Flag::Deterioration => &["Valve deterioration stage", "valve deterioration"],
        Flag::NoReferenceEcho => &["deterioration cannot be judged", "no reference echo"],
        Flag::VisitOverdue => &["overdue"],
        Flag::LostToFollowUp => &["ost to follow-up"],
        Flag::Contradiction => &["Cannot all be right", "contradiction"],
        Flag::UnusualValue => &["Unusual and kept", "unusual value"],
        Flag::RejectedValue => &["Not believable", "not believable"],
    }
}

fn unnamed(page: &CasePage, assessment: &Assessment) -> Vec<Flag> {
    let words = words(page);
    assessment
        .flags
        .iter()
        .copied()
        .filter(|flag| !said(*flag).iter().any(|phrase| words.contains(phrase)))
        .collect()
}

fn check(
    record: &CaseRecord,
    assessment: &Assessment,
    paper: Paper,
) -> Result<CasePage, PageFault> {
    let page = page_on(record, assessment, paper)?;
    assert_eq!(
        faults(&page, paper),
        Vec::<String>::new(),
        "case {}",
        record.case_id
    );
    assert_eq!(
        unnamed(&page, assessment),
        vec![],
        "case {}: {}",
        record.case_id,
        words(&page)
    );
    Ok(page)
}

#[test]
fn every_demo_page_fits_on_either_paper() {
    for (record, assessment) in &QUARTER.cases {
        for paper in [Paper::A4, Paper::Letter] {
            if let Err(fault) = check(record, assessment, paper) {
                panic!("{paper:?}: {fault}");
            }
        }
    }
}

#[test]
fn a_blank_case_is_a_page() {
    let blank = Made {
        seed: 1,
        filled: 0,
        text: 1,
        visits: 0,
    };
    let record = random_record(blank);
    let assessment = assessed(&record, crate::support::as_of());
    for paper in [Paper::A4, Paper::Letter] {
        assert!(check(&record, &assessment, paper).is_ok());
    }
}

/// The hardest pages as files, for the validators that `.ci/run` asks: every cell filled, none, texts of 200 letters in
/// three scripts, fifteen visits, both papers.
#[test]
fn the_hardest_pages_lie_ready_for_validators() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("hardest-pages");
    std::fs::create_dir_all(&folder).expect("a folder for the tests");
    for (seed, filled, text, visits) in [
        (3, 0, 40, 0),
        (4, 100, 40, 15),
        (5, 100, 200, 15),
        (6, 70, 200, 3),
        (7, 95, 120, 15),
        (8, 30, 200, 1),
    ] {
        let record = random_record(Made {
            seed,
            filled,
            text,
            visits,
        });
        let assessment = assessed(&record, crate::support::as_of());
        for (paper, name) in [(Paper::A4, "a4"), (Paper::Letter, "letter")] {
            let Ok(page) = page_on(&record, &assessment, paper) else {
                // Withheld by name: the property below holds that.
                assert!(paper == Paper::Letter, "seed {seed} on {name}");
                continue;
            };
            let bytes = to_pdf(&page.document, &FONTS).expect("a page can be written");
            let file = folder.join(format!("{seed}-{filled}-{text}-{visits}-{name}.pdf"));
            std::fs::write(file, bytes).expect("the folder takes files");
        }
    }
}

/// Found at random: a finding whose only line was cut before its point, and a page of Letter that its criteria of
/// deterioration pushed over.
#[test]
fn pages_that_once_did_not_fit() {
    for (seed, text, visits, paper) in [
        (11_780_801_781_139_750_416, 200, 0, Paper::A4),
        (14_739_311_863_047_044_941, 40, 5, Paper::Letter),
    ] {
        let record = random_record(Made {
            seed,
            filled: 70,
            text,
            visits,
        });
        let assessment = assessed(&record, crate::support::as_of());
        if let Err(fault) = check(&record, &assessment, paper) {
            panic!("{seed}: {fault}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn prop_any_case_is_one_clean_page(seed in any::<u64>(), filled in prop::sample::select(vec![0u64, 5, 30, 70, 95, 100]), visits in 0u64..16, letter in any::<bool>()) {
        let record = random_record(Made { seed, filled, text: 40, visits });
        let assessment = assessed(&record, crate::support::as_of());
        let paper = if letter { Paper::Letter } else { Paper::A4 };
        match check(&record, &assessment, paper) {
            Ok(_) => {}
            // The shorter paper has no room for a case with nearly every cell filled and nearly everything at fault.
            Err(fault) if letter && filled > 70 => prop_assert!(fault.to_string().contains("T-2023.001_x")),
            Err(fault) => panic!("{fault} ({} flags)", assessment.flags.len()),
        }
    }

    #[test]
    fn prop_long_texts_are_shortened_or_the_case_is_withheld_by_name(seed in any::<u64>(), filled in prop::sample::select(vec![70u64, 100]), visits in 0u64..16) {
        let record = random_record(Made { seed, filled, text: 200, visits });
        let assessment = assessed(&record, crate::support::as_of());
        if let Err(fault) = check(&record, &assessment, Paper::A4) {
            prop_assert!(fault.to_string().contains("T-2023.001_x"), "{fault}");
        }
    }
}
