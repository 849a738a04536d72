//! One cell at a time.

use valvefolio::diagnostic::{Code, Severity};
use valvefolio::record::{
    CaseCells, Cells, DeathCause, DischargeStatus, Grade, Nyha, Rhythm, Sex, Shared, Shown,
};

use crate::{cell, findings};

/// The one finding about a cell: its code and what was expected. The value must then be unknown.
fn rejected(column: &str, text: &str) -> (Code, String) {
    let inputs = cell(column, text);
    let [finding] = findings(&inputs)[..] else {
        panic!("{column} {text:?}: {:?}", findings(&inputs));
    };
    assert_eq!(finding.severity, Severity::Error);
    assert_eq!((finding.place.line, finding.place.column_number), (2, 3));
    assert_eq!(&*finding.place.column, column);
    assert_eq!(&*finding.case_id, "A1");
    let case = &inputs.records()[0];
    assert_eq!(case.cells.value(column), None);
    assert_eq!(case.notes.rejected, [column]);
    (finding.code, finding.expected.clone())
}

/// The cells of a file whose one cell is taken without a word.
fn taken(column: &str, text: &str) -> Shared<CaseCells> {
    let inputs = cell(column, text);
    assert!(
        findings(&inputs).is_empty(),
        "{column} {text:?}: {:?}",
        findings(&inputs)
    );
    assert!(inputs.records()[0].notes.rejected.is_empty());
    inputs.records()[0].cells.clone()
}

#[test]
fn common_blanks_are_unknown_and_silent() {
    let blanks = [
        "", " ", "NA", "na", "N/A", "n/a", "-", "–", "unknown", "Unknown",
    ];
    for column in [
        "height_cm",
        "sex",
        "prior_stroke",
        "birth_date",
        "site",
        "clinical_frailty_scale",
    ] {
        for blank in blanks {
            assert_eq!(
                taken(column, blank).value(column),
                None,
                "{column} {blank:?}"
            );
        }
    }
    // What stands there for a reason is not blank: it is reported.
    assert_eq!(rejected("height_cm", "NaN").0, Code::NotANumber);
    assert_eq!(rejected("height_cm", "?").0, Code::NotANumber);
    assert_eq!(
        taken("patient_label", "Nan").value("patient_label"),
        Some(Shown::Text("Nan"))
    );
}

#[test]
fn unknown_is_a_cause_of_death_where_it_is_listed() {
    assert_eq!(
        taken("death_cause", "Unknown").death_cause,
        Some(DeathCause::Unknown)
    );
    assert_eq!(taken("death_cause", "-").death_cause, None);
}

#[test]
fn yes_and_no_in_every_spelling_that_is_taken() {
    for text in ["yes", "YES", "y", "true", "1", " Yes "] {
        assert_eq!(taken("prior_stroke", text).prior_stroke, Some(true));
    }
    for text in ["no", "No", "n", "FALSE", "0"] {
        assert_eq!(taken("prior_stroke", text).prior_stroke, Some(false));
    }
    for text in ["ja", "2", "yess", "none", "x"] {
        assert_eq!(rejected("prior_stroke", text).0, Code::NotYesNo);
    }
    assert!(rejected("prior_stroke", "yess").1.contains("(yes?)"));
}

#[test]
fn choices_in_any_letter_case_with_spaces_or_hyphens() {
    assert_eq!(taken("sex", "Female").sex, Some(Sex::Female));
    assert_eq!(
        taken("rhythm", "atrial fibrillation").rhythm,
        Some(Rhythm::AtrialFibrillation)
    );
    assert_eq!(
        taken("discharge_status", "Died-in-Hospital").discharge_status,
        Some(DischargeStatus::DiedInHospital)
    );
    assert_eq!(taken("nyha_class", "iii").nyha_class, Some(Nyha::III));
    assert_eq!(
        taken("baseline_mr_grade", "None").baseline_mr_grade,
        Some(Grade::None)
    );
}

#[test]
fn another_word_is_refused_with_the_one_meant() {
    let (code, expected) = rejected("baseline_mr_grade", "moderat");
    assert_eq!(code, Code::NotAChoice);
    assert!(
        expected.contains("none, trace, mild, moderate, severe (moderate?)"),
        "{expected}"
    );
    assert!(rejected("nyha_class", "3").1.contains("(III?)"));
    assert!(rejected("sex", "f").1.contains("(female?)"));
    assert!(!rejected("baseline_mr_grade", "3+").1.contains('?'));
}

#[test]
fn numbers_as_people_write_them() {
    for (text, value) in [
        ("172", 172.0),
        ("172.5", 172.5),
        ("+172", 172.0),
        ("1.72e2", 172.0),
        (" 172 ", 172.0),
    ] {
        assert_eq!(taken("height_cm", text).height_cm, Some(value), "{text}");
    }
    assert_eq!(
        taken("implant_depth_mm", "\u{2212}1").implant_depth_mm,
        Some(-1.0)
    );
    assert_eq!(
        taken("clinical_frailty_scale", "5").clinical_frailty_scale,
        Some(5)
    );
    assert_eq!(
        taken("clinical_frailty_scale", "5.0").clinical_frailty_scale,
        Some(5)
    );
}

#[test]
fn no_thousands_separator_unit_or_bound_is_guessed_away() {
    for text in [
        "1,234", "1 234", "1'234", "1.234,5", "485 mm2", "<485", "485-490", "inf", "-inf", "1e999",
        "four", "4 85", "0x1E5", "485%",
    ] {
        assert_eq!(
            rejected("annulus_area_mm2", text).0,
            Code::NotANumber,
            "{text}"
        );
    }
    assert!(
        rejected("annulus_area_mm2", "1,234")
            .1
            .contains("thousands")
    );
    assert!(
        rejected("annulus_area_mm2", "485 mm2")
            .1
            .contains("without unit")
    );
    assert!(
        rejected("clinical_frailty_scale", "4.5")
            .1
            .contains("whole number")
    );
}

#[test]
fn a_point_that_may_separate_thousands_is_not_taken_for_a_decimal_point() {
    // 1.234 and 1234 are both believable calcium scores, and no other number of the file shows what the point is.
    let (code, expected) = rejected("calcium_score_au", "1.234");
    assert_eq!(code, Code::NotANumber);
    assert!(expected.contains("cannot be told"), "{expected}");
    // 4125 m/s is no velocity: the point is a decimal point.
    assert_eq!(
        taken("baseline_vmax_m_s", "4.125").baseline_vmax_m_s,
        Some(4.125)
    );
}

#[test]
fn limits_are_inside() {
    // annulus_area_mm2: usual 300 to 750, believable 150 to 1100.
    for (text, usual) in [
        ("300", true),
        ("750", true),
        ("299.9", false),
        ("150", false),
        ("1100", false),
    ] {
        let inputs = cell("annulus_area_mm2", text);
        let case = &inputs.records()[0];
        assert_eq!(case.cells.annulus_area_mm2, text.parse().ok());
        assert_eq!(case.notes.unusual.is_empty(), usual, "{text}");
        if !usual {
            let finding = findings(&inputs)[0];
            assert_eq!(
                (finding.code, finding.severity),
                (Code::Unusual, Severity::Warning)
            );
            assert!(
                finding.expected.contains("300 to 750 mm2"),
                "{}",
                finding.expected
            );
        }
    }
    assert_eq!(rejected("annulus_area_mm2", "149.9").0, Code::NotBelievable);
    assert_eq!(
        rejected("annulus_area_mm2", "1100.1").0,
        Code::NotBelievable
    );
    assert_eq!(rejected("kccq_baseline", "-1").0, Code::NotBelievable);
    // Equal within a relative 1e-9 (DEFINITIONS.md, Comparisons).
    assert_eq!(
        taken("annulus_area_mm2", "750.0000001").annulus_area_mm2,
        Some(750.0000001)
    );
}

/// What each slip is was worked out by hand: 1.1 mg/dL × 88.4 = 97.24 µmol/L, 66 in × 2.54 = 167.64 cm,
/// 16 kPa × 7.50062 = 120.0 mmHg, 18 Fr / 3 = 6 mm.
#[test]
fn unit_slips_are_named_and_never_converted() {
    for (column, text, would_be) in [
        (
            "annulus_area_mm2",
            "4.85",
            "written in cm2 it would be 485 mm2",
        ),
        (
            "annulus_perimeter_mm",
            "7.9",
            "written in cm it would be 79 mm",
        ),
        ("height_cm", "1.72", "written in m it would be 172 cm"),
        ("height_cm", "1720", "written in mm it would be 172 cm"),
        ("height_cm", "66", "written in in it would be 167.6 cm"),
        (
            "creatinine_umol_l",
            "1.1",
            "written in mg/dL it would be 97.24 umol/L",
        ),
        (
            "haemoglobin_g_dl",
            "135",
            "written in g/L it would be 13.5 g/dL",
        ),
        (
            "baseline_lvot_diameter_mm",
            "2.1",
            "written in cm it would be 21 mm",
        ),
        (
            "baseline_vmax_m_s",
            "432",
            "written in cm/s it would be 4.32 m/s",
        ),
        (
            "baseline_lvef_pct",
            "0.57",
            "written in fraction it would be 57 %",
        ),
        (
            "baseline_sbp_mmhg",
            "16",
            "written in kPa it would be 120 mmHg",
        ),
        (
            "systolic_ejection_period_s",
            "310",
            "written in ms it would be 0.31 s",
        ),
        ("pr_interval_ms", "0.18", "written in s it would be 180 ms"),
        (
            "cardiac_output_l_min",
            "4500",
            "written in mL/min it would be 4.5 L/min",
        ),
        (
            "baseline_ava_cm2",
            "70",
            "written in mm2 it would be 0.7 cm2",
        ),
        ("weight_kg", "305", "written in lb it would be 138.3 kg"),
    ] {
        let (code, expected) = rejected(column, text);
        assert_eq!(code, Code::UnitSlip, "{column} {text}: {expected}");
        assert!(expected.contains(would_be), "{column} {text}: {expected}");
    }
}

#[test]
fn an_unusual_value_that_may_be_a_slip_is_kept_and_says_so() {
    let inputs = cell("weight_kg", "180");
    assert_eq!(inputs.records()[0].cells.weight_kg, Some(180.0));
    assert_eq!(inputs.records()[0].notes.unusual, ["weight_kg"]);
    // 180 lb × 0.45359237 = 81.65 kg.
    assert!(
        findings(&inputs)[0]
            .expected
            .contains("lb it would be 81.65 kg")
    );
}

#[test]
fn dates_are_iso_and_real() {
    let date = taken("ct_date", "2031-03-01").ct_date.unwrap();
    assert_eq!(date.to_string(), "2031-03-01");
    assert!(taken("ct_date", "2031-03-01 00:00:00").ct_date.is_some());
    for text in [
        "03/04/2031",
        "3.4.2031",
        "2031-02-29",
        "2031-13-01",
        "45000",
        "2031-03-01T10:00",
        "20310301",
        "March 2031",
        "2031-3-1",
    ] {
        assert_eq!(rejected("ct_date", text).0, Code::NotADate, "{text}");
    }
    assert!(
        rejected("ct_date", "03/04/2031")
            .1
            .contains("day and month cannot be told apart")
    );
    assert!(rejected("ct_date", "45000").1.contains("2023-03-15"));
}

#[test]
fn nothing_about_a_person_is_repeated() {
    for (column, text) in [
        ("birth_date", "03/04/1941"),
        ("birth_date", "15000"),
        ("birth_date", "1941-04-03T09:30"),
    ] {
        let inputs = cell(column, text);
        let finding = findings(&inputs)[0];
        assert_eq!(finding.found, "");
        assert!(!finding.expected.contains("19"), "{}", finding.expected);
    }
    for column in [
        "patient_label",
        "medication",
        "discharge_note",
        "sizing_reason",
    ] {
        let inputs = cell(column, "secret\u{202E} name");
        let finding = findings(&inputs)[0];
        assert_eq!(finding.code, Code::HiddenCharacter);
        assert!(!finding.concise(false).contains("secret"), "{column}");
        assert_eq!(
            inputs.records()[0].cells.value(column),
            Some(Shown::Text("secret name"))
        );
    }
    let inputs = cell("patient_key", "Surname, Name");
    assert!(!findings(&inputs)[0].concise(false).contains("Surname"));
    assert_eq!(inputs.records()[0].cells.patient_key, None);
}

#[test]
fn what_a_spreadsheet_shows_for_a_failed_formula_is_no_value() {
    for column in ["height_cm", "sizing_reason", "device_id", "sex"] {
        assert_eq!(rejected(column, "#REF!").0, Code::SpreadsheetError);
        assert_eq!(rejected(column, "#N/A").0, Code::SpreadsheetError);
    }
}

#[test]
fn long_cells_are_cut_in_messages() {
    let inputs = cell("height_cm", &"9".repeat(1_000_000));
    let finding = findings(&inputs)[0];
    assert_eq!(finding.code, Code::NotANumber);
    assert!(finding.found.chars().count() <= 41);
    assert!(finding.concise(false).len() < 400);
}
