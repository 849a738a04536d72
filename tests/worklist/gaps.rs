//! What a missing cell costs and settles. Which parts a judgement asks for is VARC-3 (Genereux 2021) as the definitions
//! fix it; every expectation here was reasoned from those parts by hand.

use valvefolio::record::{CaseRecord, Catalogue};
use valvefolio::settings::Settings;
use valvefolio::worklist::{CaseGaps, Gap, Gaps};

use crate::support::{assessed, case};

/// Everything that device success asks for, an echo before discharge that meets it; known alive to day 45.
const SUCCESS: [(&str, &str); 18] = [
    ("procedural_death", "no"),
    ("access_delivery_retrieval_ok", "yes"),
    ("position_ok", "yes"),
    ("second_valve", "no"),
    ("conversion_to_surgery", "no"),
    ("device_intervention_in_room", "no"),
    ("complication_intervention_in_room", "no"),
    ("device_intervention_to_30_days", "no"),
    ("complication_intervention_to_30_days", "no"),
    ("last_contact_date", "2026-02-15"),
    ("post_mean_gradient_mmhg", "9"),
    ("post_vmax_m_s", "2"),
    ("post_av_vti_cm", "40"),
    ("post_lvot_vti_cm", "20"),
    ("post_lvot_diameter_mm", "20"),
    ("post_paravalvular_grade", "none"),
    ("post_transvalvular_grade", "none"),
    ("post_echo_date", "2026-01-03"),
];

fn without(case_id: &str, columns: &[&str]) -> CaseRecord {
    let cells: Vec<(&str, &str)> = SUCCESS
        .into_iter()
        .filter(|(column, _)| !columns.contains(column))
        .collect();
    case(case_id, "2026-01-01", &cells)
}

fn gaps(record: CaseRecord) -> CaseGaps {
    let assessed = assessed(vec![record], "2026-03-01");
    let (record, assessment) = &assessed[0];
    CaseGaps::of(
        record,
        assessment,
        &Catalogue::default(),
        &Settings::default(),
    )
}

fn gap<'a>(gaps: &'a CaseGaps, column: &str) -> Option<&'a Gap> {
    gaps.gaps.iter().find(|gap| gap.cell.column == column)
}

#[test]
fn complete_judgement_has_no_gap() {
    let gaps = gaps(without("C", &[]));
    let costly = gaps
        .gaps
        .iter()
        .any(|gap| gap.costs.contains(&"device_success"));
    assert!(!costly);
}

#[test]
fn one_missing_outflow_vti_settles_all_that_hangs_on_it() {
    let gaps = gaps(without("C", &["post_lvot_vti_cm"]));
    let vti = gap(&gaps, "post_lvot_vti_cm").expect("it is missing");
    assert_eq!(vti.cell.from(), "echo");
    for result in [
        "post_dvi",
        "post_eoa_cm2",
        "intended_performance",
        "device_success",
    ] {
        assert!(vti.settles.contains(&result), "{result}: {vti:?}");
    }
    // Early safety lacks stroke, bleeding and more, and does not ask for the DVI.
    assert!(!vti.costs.contains(&"early_safety"));
}

#[test]
fn two_missing_cells_cost_what_neither_settles() {
    let gaps = gaps(without("C", &["post_lvot_vti_cm", "post_vmax_m_s"]));
    let vti = gap(&gaps, "post_lvot_vti_cm").expect("missing");
    let jet = gap(&gaps, "post_vmax_m_s").expect("missing");
    assert!(vti.settles.contains(&"post_dvi"));
    // A velocity below 3 m/s would leave the DVI open; one of 3 or more would settle the performance as no. So neither
    // cell settles it whatever its answer, and both cost it.
    for gap in [vti, jet] {
        assert!(!gap.settles.contains(&"device_success"), "{gap:?}");
        assert!(gap.costs.contains(&"device_success"), "{gap:?}");
        assert!(gap.costs.contains(&"intended_performance"), "{gap:?}");
    }
}

#[test]
fn a_part_that_failed_needs_no_more_cells() {
    let mut record = without("C", &["post_lvot_vti_cm", "second_valve"]);
    record.cells.conversion_to_surgery = Some(true);
    let gaps = gaps(record);
    // Converted to surgery: technical and device success are no, whatever else is missing.
    for gap in &gaps.gaps {
        assert!(!gap.costs.contains(&"technical_success"), "{gap:?}");
        assert!(!gap.costs.contains(&"device_success"), "{gap:?}");
    }
}

#[test]
fn nobody_is_asked_for_the_discharge_of_a_patient_who_died_in_the_room() {
    let mut record = without(
        "C",
        &["post_mean_gradient_mmhg", "post_vmax_m_s", "post_echo_date"],
    );
    let asked = [
        "creatinine_umol_l",
        "post_mean_gradient_mmhg",
        "creatinine_peak_umol_l",
    ];
    let before = gaps(record.clone());
    assert!(asked.iter().all(|column| gap(&before, column).is_some()));
    record.cells.procedural_death = Some(true);
    let gaps = gaps(record);
    let still: Vec<&str> = asked
        .into_iter()
        .filter(|column| gap(&gaps, column).is_some())
        .collect();
    assert_eq!(still, ["creatinine_umol_l"], "that before the procedure");
}

#[test]
fn nobody_is_asked_for_the_death_of_a_living_patient() {
    let mut record = without("C", &["last_contact_date"]);
    record.cells.post_echo_date = None;
    let gaps = gaps(record);
    assert_eq!(gap(&gaps, "death_date"), None);
    assert_eq!(gap(&gaps, "valve_related_death"), None);
    let contact = gap(&gaps, "last_contact_date").expect("missing");
    assert!(contact.settles.contains(&"death_30d"));
    assert_eq!(contact.cell.from(), "clinic");
}

#[test]
fn gaps_add_up_by_column_and_source() {
    let cases: Vec<CaseGaps> = [
        without("C-1", &["post_lvot_vti_cm"]),
        without("C-2", &["post_lvot_vti_cm"]),
        without("C-3", &["post_lvot_vti_cm", "post_vmax_m_s"]),
        without("C-4", &["second_valve"]),
    ]
    .into_iter()
    .map(gaps)
    .collect();
    let all = Gaps::of(&cases);
    let column = |name: &str| {
        all.columns
            .iter()
            .find(|column| column.column == name)
            .expect("missing somewhere")
    };
    let vti = column("post_lvot_vti_cm");
    let ids: Vec<&str> = vti.cases.iter().map(|id| &**id).collect();
    assert_eq!(ids, ["C-1", "C-2", "C-3"]);
    let count = |results: &[(&str, usize)], wanted: &str| {
        results
            .iter()
            .find(|(name, _)| *name == wanted)
            .map_or(0, |(_, cases)| *cases)
    };
    assert_eq!(count(&vti.settles, "device_success"), 2);
    assert_eq!(count(&vti.costs, "device_success"), 3);
    assert_eq!(count(&vti.with_others(), "device_success"), 1);
    let second = column("second_valve");
    assert_eq!(second.from, "cath");
    assert_eq!(count(&second.settles, "technical_success"), 1);
    assert_eq!(count(&second.settles, "device_success"), 1);
    assert!(
        all.columns
            .windows(2)
            .all(|pair| pair[0].brings_back() >= pair[1].brings_back())
    );
    let chase = all.chase();
    let echo = chase
        .iter()
        .find(|chase| chase.from == "echo")
        .expect("echo");
    assert!(echo.columns.iter().all(|column| column.from == "echo"));
    let chased: usize = chase.iter().map(|chase| chase.columns.len()).sum();
    assert_eq!(chased, all.columns.len(), "every column has one to ask");
}
