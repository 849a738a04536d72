//! The dictionary for people, and explanations.

use super::support::{DEMO, run};

#[test]
fn a_template_is_the_header_of_the_dictionary() {
    for table in ["cases", "followups", "devices"] {
        let template = run(["columns", table, "--template"]);
        let names: Vec<&str> = valvefolio::dictionary::columns_of(table)
            .map(|column| column.name.as_str())
            .collect();
        assert_eq!(
            template.out.trim_end().split(',').collect::<Vec<_>>(),
            names
        );
        assert_eq!(template.code, 0);
    }
}

#[test]
fn the_core_is_about_thirty_columns_of_the_dictionary() {
    let core = run(["columns", "--core", "--template"]);
    let names: Vec<&str> = core.out.trim_end().split(',').collect();
    assert!((28..=36).contains(&names.len()), "{}", names.len());
    for name in names {
        assert!(
            valvefolio::dictionary::column("cases", name).is_some(),
            "{name}"
        );
    }
}

#[test]
fn the_dictionary_says_unit_choices_and_limits() {
    let text = run(["columns"]).out;
    assert!(text.contains("annulus_area_mm2"));
    assert!(text.contains("number in mm2; usually 300 to 750; not used outside 150 to 1100"));
    assert!(text.contains("tricuspid | bicuspid_type_0"));
    assert!(text.contains("(required)"));
}

#[test]
fn a_number_is_explained_with_inputs_formula_source_and_check() {
    let mut arguments = vec!["explain"];
    arguments.extend(DEMO);
    arguments.extend(["--case", "2026-007", "baseline_svi_ml_m2"]);
    let explained = run(arguments);
    assert_eq!(explained.code, 0, "{}", explained.err);
    for part in [
        "stroke volume / body surface area",
        "bsa_m2 = ",
        "Baumgartner",
        "check",
    ] {
        assert!(
            explained.out.contains(part),
            "{part} not in:\n{}",
            explained.out
        );
    }
}

#[test]
fn a_misspelt_value_or_case_is_named_with_the_nearest() {
    let mut arguments = vec!["explain"];
    arguments.extend(DEMO);
    let value = run(arguments
        .iter()
        .copied()
        .chain(["--case", "2026-007", "baseline_svi_ml"]));
    assert_eq!(value.code, 2);
    assert!(value.err.contains("baseline_svi_ml_m2"), "{}", value.err);
    let case = run(arguments.iter().copied().chain(["--case", "no-such"]));
    assert_eq!(case.code, 2);
    assert!(case.err.contains("no case no-such"), "{}", case.err);
}

#[test]
fn every_command_has_help_with_an_example() {
    for command in ["report", "check", "explain", "columns", "current", "verify"] {
        let help = run([command, "--help"]);
        assert_eq!(help.code, 0);
        assert!(help.out.contains("Example"), "{command}");
        assert!(help.out.contains("valvefolio"), "{command}");
    }
    assert!(run(["--help"]).out.contains("Exit codes"));
}
