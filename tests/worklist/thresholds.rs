//! This patient's deterioration thresholds, from the rules of VARC-3 (Genereux 2021) by hand, and held against the rule
//! itself for any reference.

use proptest::prelude::*;
use valvefolio::assess::DeteriorationStage;
use valvefolio::record::Grade;
use valvefolio::worklist::{EchoOn, Threshold};

use crate::support::{assessed, case, with_visit, worklist};

fn reference(cells: &[(&str, &str)]) -> [Threshold; 2] {
    let patient = with_visit(case("R", "2025-01-01", &[]), "2025-01-31", cells);
    let list = worklist(vec![patient], "2026-01-01", 0);
    list.entries[0].slip.thresholds.expect("a reference echo")
}

#[test]
fn numbers_of_a_usual_reference() {
    // Outflow 20 mm and VTI 20 over 40 cm: area π/4 · 2² · 20/40 = 1.5708 cm², DVI 0.50.
    // Stage 2: 11 + 10 = 21 mmHg; area 1.5708 − 0.3 = 1.2708 (25 % would be 1.1781); DVI 0.40 both ways.
    // Stage 3: 31 mmHg; area 1.5708 − 0.6 = 0.9708 (50 % would be 0.7854); DVI 0.30 both ways.
    let [two, three] = reference(&[
        ("mean_gradient_mmhg", "11"),
        ("lvot_diameter_mm", "20"),
        ("lvot_vti_cm", "20"),
        ("av_vti_cm", "40"),
        ("transvalvular_grade", "none"),
    ]);
    let near = |value: Option<f64>, expected: f64| {
        let value = value.expect("known");
        assert!((value - expected).abs() < 1e-4, "{value} and {expected}");
    };
    near(two.mean_gradient_mmhg, 21.0);
    near(two.eoa_cm2, 1.2708);
    near(two.dvi, 0.40);
    assert_eq!(two.regurgitation, Some(Grade::Moderate));
    near(three.mean_gradient_mmhg, 31.0);
    near(three.eoa_cm2, 0.9708);
    near(three.dvi, 0.30);
    assert_eq!(three.regurgitation, Some(Grade::Severe));
}

#[test]
fn low_reference_meets_the_least_gradient_and_a_leak_its_steps() {
    // 6 mmHg: 20 and 30 mmHg, not 16 and 26. Moderate at the reference: stage 2 asks for one step more, severe; stage 3
    // for two steps, which there are not. Neither area nor DVI at the reference: neither number.
    let [two, three] = reference(&[
        ("mean_gradient_mmhg", "6"),
        ("transvalvular_grade", "moderate"),
    ]);
    assert_eq!(two.mean_gradient_mmhg, Some(20.0));
    assert_eq!(three.mean_gradient_mmhg, Some(30.0));
    assert_eq!((two.eoa_cm2, two.dvi), (None, None));
    assert_eq!(two.regurgitation, Some(Grade::Severe));
    assert_eq!(three.regurgitation, None);
    assert_eq!(three.regurgitation_reachable, Some(false));
}

#[test]
fn slip_repeats_the_diameter_used_last() {
    let patient = case("O", "2025-01-01", &[("post_lvot_diameter_mm", "21.5")]);
    let slip = |case| {
        worklist(vec![case], "2026-01-01", 0).entries[0]
            .slip
            .clone()
    };
    let diameter = |slip: valvefolio::worklist::Slip| slip.outflow_diameter.map(|(mm, _)| mm);
    assert_eq!(diameter(slip(patient.clone())), Some(21.5));
    let seen = with_visit(patient, "2025-02-01", &[("lvot_diameter_mm", "20.5")]);
    let seen = with_visit(seen, "2025-03-01", &[("mean_gradient_mmhg", "9")]);
    assert_eq!(diameter(slip(seen)), Some(20.5), "the later visit has none");
}

proptest! {
    /// An echo at the numbers of the slip is deterioration by the rule, and one short of the gradient or of both falls
    /// is not.
    #[test]
    fn prop_numbers_of_the_slip_are_the_edge_of_the_rule(mean in 3.0..25.0f64, dvi in 0.25..0.8f64, stage_3 in any::<bool>()) {
        let reference = EchoOn {
            date: None,
            mean_gradient_mmhg: Some(mean),
            eoa_cm2: None,
            dvi: Some(dvi),
            transvalvular_grade: Some(Grade::None),
            in_doubt: false,
        };
        let (stage, rule) = if stage_3 { (3, &valvefolio::assess::STAGE_3) } else { (2, &valvefolio::assess::STAGE_2) };
        let threshold = Threshold::of(stage, rule, &reference);
        let found = |mean_now: f64, dvi_now: f64| {
            let text = |value: f64| format!("{value}");
            let patient = with_visit(case("R", "2025-01-01", &[]), "2025-01-31", &[
                ("mean_gradient_mmhg", &text(mean)), ("lvot_vti_cm", &text(100.0 * dvi)), ("av_vti_cm", "100"),
                ("transvalvular_grade", "none"),
            ]);
            let patient = with_visit(patient, "2025-12-01", &[
                ("mean_gradient_mmhg", &text(mean_now)), ("lvot_vti_cm", &text(100.0 * dvi_now)), ("av_vti_cm", "100"),
                ("transvalvular_grade", "none"),
            ]);
            let assessed = assessed(vec![patient], "2026-01-01");
            match assessed[0].1.results.durability.deterioration_stage {
                DeteriorationStage::Stage3 => 3,
                DeteriorationStage::Stage2 => 2,
                _ => 0,
            }
        };
        let gradient = threshold.mean_gradient_mmhg.unwrap();
        if let Some(index) = threshold.dvi {
            prop_assert!(found(gradient, index) >= stage);
            prop_assert!(found(gradient - 0.01, index) < stage);
            prop_assert!(found(gradient, index + 0.001) < stage);
        }
    }
}
