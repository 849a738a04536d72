//! The dictionary for people, and explanations.

use super::support::{DEMO, files, report, run};

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
fn every_column_of_every_table_written_is_described_in_its_order() {
    let folder = tempfile::tempdir().expect("a folder");
    let first = folder.path().join("first");
    let run_of = report(&DEMO, &first, &["--make", "results"]);
    assert_eq!(run_of.code, 0, "{}", run_of.err);
    let out = folder.path().join("out");
    let earlier = first.join("results.csv");
    let earlier = earlier.to_str().expect("plain path");
    let made = ["--make", "results,cohort,followup", "--since", earlier];
    let run_of = report(&DEMO, &out, &made);
    assert_eq!(run_of.code, 0, "{}", run_of.err);
    let mut tables = 0;
    for (name, bytes) in files(&out) {
        if !name.ends_with(".csv") {
            continue;
        }
        tables += 1;
        let described = run(["columns", "--of", &name]);
        assert_eq!(described.code, 0, "{name}: {}", described.err);
        let names: Vec<&str> = described
            .out
            .lines()
            .take_while(|line| !line.is_empty())
            .map(|line| {
                let mut words = line.splitn(2, ' ');
                let column = words.next().expect("a name");
                let rest = words.next().unwrap_or("").trim();
                assert!(!rest.is_empty(), "{name}: {column} means something");
                column
            })
            .collect();
        let header = String::from_utf8(bytes).expect("UTF-8");
        let header: Vec<&str> = header
            .lines()
            .next()
            .expect("a header")
            .split(',')
            .collect();
        assert_eq!(names, header, "{name}");
    }
    assert_eq!(tables, 9);
    let all = run(["columns", "--of", "all"]).out;
    assert!(all.contains("days_without_contact") && all.contains("became_unknown"));
    let gradient = "last_mean_gradient_mmhg       mmHg  Latest mean gradient after the procedure";
    assert!(run(["columns", "--of", "worklist"]).out.contains(gradient));
}

#[test]
fn a_table_that_no_run_writes_is_said_with_those_that_are() {
    let other = run(["columns", "--of", "cases.csv"]);
    assert_eq!(other.code, 2);
    assert!(other.err.contains("worklist.csv"), "{}", other.err);
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
