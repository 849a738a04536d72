//! What a row of results rests on, and what is held against it.

use jiff::civil::date;
use valvefolio::assess::{Known, assess};
use valvefolio::explain::{Identity, NOT_READ, input_hash};
use valvefolio::output::results::row;
use valvefolio::record::{CaseCells, Cells};
use valvefolio::settings::Settings;

use crate::agreement::demo;
use crate::support::{case, with_visit};

#[test]
fn no_result_reads_a_column_that_the_hash_leaves_out() {
    let work = demo(date(2026, 11, 20));
    let mut known = 0;
    for (record, assessment) in &work.all_assessed() {
        for column in NOT_READ {
            let field = CaseCells::field(column).expect("a column");
            let mut without = record.clone();
            (field.clear)(&mut without.cells);
            known += usize::from(without.cells != record.cells);
            assert_eq!(input_hash(&without), input_hash(record), "{column}");
            let assessed = assess(
                &without,
                Known::on(&without, work.as_of).expect("before the day"),
                &work.catalogue,
                &Settings::default(),
                assessment.across.clone(),
            );
            assert_eq!(
                row(&without, &assessed, Identity::Named),
                row(record, assessment, Identity::Named),
                "{column}"
            );
        }
    }
    assert!(known > 300, "{known} cells blanked");
}

#[test]
fn every_other_cell_counts() {
    let work = demo(date(2026, 11, 20));
    let mut blanked = 0;
    for (record, _) in &work.all_assessed() {
        for field in CaseCells::FIELDS {
            if NOT_READ.contains(&field.name) || (field.get)(&record.cells).is_none() {
                continue;
            }
            let mut without = record.clone();
            (field.clear)(&mut without.cells);
            assert_ne!(input_hash(&without), input_hash(record), "{}", field.name);
            blanked += 1;
        }
    }
    assert!(blanked > 5000, "{blanked} cells");
}

/// A value of each kind that is another one.
#[test]
fn another_value_of_any_kind_is_another_hash() {
    let with = |column: &str, value: &str| input_hash(&case("A", "2026-01-01", &[(column, value)]));
    for (column, one, other) in [
        ("annulus_area_mm2", "420", "421"),
        ("weight_kg", "80", "80.001"),
        ("red_cell_units", "2", "3"),
        ("death_date", "2026-02-01", "2026-02-02"),
        ("death_date", "2026-02-01", "2026-03-01"),
        ("death_date", "2026-02-01", "2027-02-01"),
        ("second_valve", "yes", "no"),
        ("stroke_30d", "none", "tia"),
        ("device_serial", "A-1", "A-2"),
    ] {
        assert_ne!(with(column, one), with(column, other), "{column}");
    }
}

#[test]
fn visits_count_by_date_and_not_by_their_line() {
    let first = ("2026-02-01", [("kccq", "60")]);
    let second = ("2026-03-01", [("kccq", "70")]);
    let visits = |order: &[&(&str, [(&str, &str); 1])]| {
        let patient = case("A", "2026-01-01", &[]);
        let patient = order.iter().fold(patient, |patient, (day, cells)| {
            with_visit(patient, day, cells)
        });
        input_hash(&patient)
    };
    assert_eq!(visits(&[&first, &second]), visits(&[&second, &first]));
    assert_ne!(visits(&[&first]), visits(&[&first, &second]));
    assert_ne!(visits(&[&first]), visits(&[&second]));
    // Of two visits on one day the second is left out, so their order counts.
    let other = ("2026-02-01", [("kccq", "61")]);
    assert_ne!(visits(&[&first, &other]), visits(&[&other, &first]));
}
