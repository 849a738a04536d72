//! What the program says a result reads is what it reads: every cell is blanked in turn, and only results that are said
//! to read it may change. Traces, gaps and doubts all come from these lists.

#[path = "support/generate/mod.rs"]
mod generate;

use std::collections::{BTreeMap, BTreeSet};

use valvefolio::assess::definitions::{DEFINITIONS, Read};
use valvefolio::assess::{AcrossCases, Assessment, Known, Likeness, assess};
use valvefolio::dictionary;
use valvefolio::explain::plain;
use valvefolio::input::{Inputs, ReadOptions, Source, read};
use valvefolio::record::{Attendance, CaseCells, CaseRecord, Cells, VisitCells};
use valvefolio::settings::Settings;
use valvefolio::sources::source_of;

const AS_OF: jiff::civil::Date = jiff::civil::date(2026, 11, 20);

/// Read, but in plausible cohorts always said by another cell too: a procedural death has its date, and a patient has
/// been seen after discharge. `tests/worked.rs` has examples where each decides alone.
const CONFIRMING: [&str; 3] = ["procedural_death", "discharge_date", "post_echo_date"];

fn cohort(cases: u64, holes: f64) -> Inputs {
    let folder = tempfile::tempdir().expect("a folder");
    let settings = generate::Settings {
        cases,
        seed: 5,
        holes,
        until: "2026-09-30".parse().expect("a day"),
    };
    generate::files::write(&settings, folder.path()).expect("written");
    let source = |file: &str| Source::open(&folder.path().join(file)).expect("just written");
    read(
        &[source("cases.csv")],
        Some(&source("followups.csv")),
        Some(&source("devices.csv")),
        &ReadOptions::default(),
    )
    .expect("readable")
}

fn assessed(record: &CaseRecord, inputs: &Inputs) -> Assessment {
    let known = Known::on(record, AS_OF).expect("a procedure before the report");
    assess(
        record,
        known,
        &inputs.catalogue,
        &Settings::default(),
        AcrossCases::default(),
    )
}

fn values(assessment: &Assessment) -> BTreeMap<&'static str, String> {
    let mut values = BTreeMap::new();
    assessment.results.each(|name, value| {
        values.insert(name, plain(value));
    });
    values
}

fn changed(before: &Assessment, after: &Assessment) -> BTreeSet<&'static str> {
    let (before, after) = (values(before), values(after));
    before
        .iter()
        .filter(|(name, value)| after[*name] != **value)
        .map(|(name, _)| *name)
        .collect()
}

/// Results that read, directly or through another, what `touches` says.
fn readers(touches: impl Fn(Read) -> bool) -> BTreeSet<&'static str> {
    let mut readers = BTreeSet::new();
    loop {
        let before = readers.len();
        for definition in DEFINITIONS {
            let reads = |&read: &Read| match read {
                Read::Result(name) => readers.contains(name),
                other => touches(other),
            };
            if definition
                .reads
                .iter()
                .chain(definition.or_reads)
                .any(reads)
            {
                readers.insert(definition.name);
            }
        }
        if readers.len() == before {
            return readers;
        }
    }
}

fn reads_case(column: &str) -> BTreeSet<&'static str> {
    readers(|read| match read {
        Read::Case(name) => name == column,
        Read::Performance(name) => column.strip_prefix("post_") == Some(name),
        _ => false,
    })
}

fn reads_visit(column: &str) -> BTreeSet<&'static str> {
    readers(|read| {
        matches!(read, Read::Performance(name) | Read::Reference(name) | Read::Later(name) | Read::Visits(name)
            if name == column)
    })
}

#[test]
fn blanking_a_cell_changes_only_results_that_are_said_to_read_it() {
    let inputs = cohort(400, 0.03);
    let mut seen: BTreeSet<(&'static str, &'static str)> = BTreeSet::new();
    for record in &inputs.records() {
        let base = assessed(record, &inputs);
        for field in CaseCells::FIELDS {
            if (field.get)(&record.cells).is_none() || field.name == "procedure_date" {
                continue;
            }
            let mut blanked = record.clone();
            (field.clear)(&mut blanked.cells);
            let changed = changed(&base, &assessed(&blanked, &inputs));
            let allowed = reads_case(field.name);
            let silent: Vec<_> = changed.difference(&allowed).collect();
            assert!(
                silent.is_empty(),
                "{}: {} changed {silent:?}",
                record.case_id,
                field.name
            );
            seen.extend(changed.iter().map(|result| (*result, field.name)));
        }
        for row in 0..record.visits.len() {
            // A row that becomes a visit is another visit, not another cell.
            if record.visits[row].cells.attendance == Some(Attendance::DidNotAttend) {
                continue;
            }
            for field in VisitCells::FIELDS
                .iter()
                .filter(|field| !matches!(field.name, "case_id" | "visit_date"))
            {
                if (field.get)(&record.visits[row].cells).is_none() {
                    continue;
                }
                let mut blanked = record.clone();
                (field.clear)(&mut blanked.visits[row].cells);
                let changed = changed(&base, &assessed(&blanked, &inputs));
                let allowed = reads_visit(field.name);
                let silent: Vec<_> = changed.difference(&allowed).collect();
                assert!(
                    silent.is_empty(),
                    "{}: visit {} changed {silent:?}",
                    record.case_id,
                    field.name
                );
            }
        }
    }
    // And the lists name nothing that is never read. A cell that only ever confirms what others already say cannot
    // be seen this way; those are named here.
    let unseen: Vec<_> = DEFINITIONS
        .iter()
        .flat_map(|definition| {
            definition
                .reads
                .iter()
                .map(move |read| (definition.name, read))
        })
        .filter_map(|(result, read)| match read {
            Read::Case(column) => Some((result, *column)),
            _ => None,
        })
        .filter(|pair| !seen.contains(pair) && pair.1 != "procedure_date")
        .filter(|(_, column)| !CONFIRMING.contains(column))
        .collect();
    assert!(unseen.is_empty(), "never seen to be read: {unseen:?}");
}

#[test]
fn definitions_are_those_of_the_dictionary_in_its_order() {
    let lists = ["fragile", "in_doubt", "flags", "missing"];
    let of_dictionary: Vec<&str> = dictionary::RESULTS
        .iter()
        .map(|column| column.name.as_str())
        .filter(|name| *name != "case_id" && !lists.contains(name))
        .collect();
    let defined: Vec<&str> = DEFINITIONS
        .iter()
        .map(|definition| definition.name)
        .collect();
    assert_eq!(defined, of_dictionary);
    let inputs = cohort(1, 0.0);
    let mut computed = Vec::new();
    let assessed = assessed(&inputs.records()[0], &inputs);
    assessed.results.each(|name, _| computed.push(name));
    assert_eq!(computed, of_dictionary);
}

#[test]
fn choices_of_results_are_those_of_the_dictionary() {
    let inputs = cohort(300, 0.2);
    for record in &inputs.records() {
        assessed(record, &inputs).results.each(|name, value| {
            let column = dictionary::RESULTS
                .iter()
                .find(|column| column.name == name)
                .expect("named there");
            if column.kind == "choice" {
                let word = plain(value);
                assert!(
                    column.choices.split('|').any(|choice| choice == word),
                    "{name}: {word}"
                );
            }
        });
    }
}

#[test]
fn every_source_that_a_result_names_is_cited() {
    for column in dictionary::RESULTS
        .iter()
        .filter(|column| !column.source.is_empty())
    {
        assert!(
            source_of(&column.source).is_some(),
            "{}: {}",
            column.name,
            column.source
        );
    }
}

#[test]
fn a_gap_is_named_by_its_cell_and_a_doubt_by_its_results() {
    // Worked by hand from the definitions: without an outflow diameter there is no stroke volume, and every result
    // built on it is missing that one cell; a mean gradient above 4 · Vmax² puts in doubt what reads either.
    let inputs = cohort(200, 0.0);
    let record = inputs
        .records()
        .into_iter()
        .find(|record| {
            assessed(record, &inputs).missing.is_empty()
                && record.cells.baseline_lvot_diameter_mm.is_some()
        })
        .expect("one complete case");
    let mut gap = record.clone();
    gap.cells.baseline_lvot_diameter_mm = None;
    assert_eq!(
        assessed(&gap, &inputs).missing,
        ["baseline_lvot_diameter_mm"]
    );

    let mut doubt = record.clone();
    doubt.cells.baseline_vmax_m_s = Some(3.0);
    doubt.cells.baseline_mean_gradient_mmhg = Some(60.0);
    let in_doubt = assessed(&doubt, &inputs).in_doubt;
    for result in [
        "baseline_peak_gradient_mmhg",
        "stenosis_class",
        "baseline_zva_mmhg_ml_m2",
        "mean_gradient_change_mmhg",
    ] {
        assert!(
            in_doubt.contains(&result),
            "{result} is not in {in_doubt:?}"
        );
    }
    for result in [
        "baseline_stroke_volume_ml",
        "intended_performance",
        "annulus_area_diameter_mm",
        "bsa_m2",
    ] {
        assert!(!in_doubt.contains(&result), "{result} is in {in_doubt:?}");
    }
}

/// What is known of a case on any day that could touch it: a later echo and a later date say nothing yet.
#[test]
fn a_case_at_rest_is_like_the_same_others_as_its_record() {
    let mut forgotten = 0;
    for case in &cohort(300, 0.2).cases {
        let record = case.record();
        let last = AS_OF;
        let of = |as_of| {
            let known = Known::on(&record, as_of).expect("not before the procedure");
            Likeness::of(&record, &known)
        };
        for days in 0..4 {
            let as_of = record
                .procedure_date
                .checked_add(jiff::Span::new().days(days))
                .expect("a day");
            assert_eq!(Likeness::of_case(case, as_of), of(as_of), "{days}");
            forgotten += usize::from(of(as_of) != of(last));
        }
        assert_eq!(Likeness::of_case(case, last), of(last));
    }
    assert!(forgotten > 100);
}
