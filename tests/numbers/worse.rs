//! A worse gradient never gives a milder class, all else held: each known gradient of random cases is raised in turn.

use std::sync::LazyLock;

use jiff::civil::Date;
use proptest::prelude::*;
use valvefolio::assess::{Assessment, Flag, Known, Likeness, across_cases, assess};
use valvefolio::explain::plain;
use valvefolio::input::{Inputs, ReadOptions, Source, read};
use valvefolio::record::CaseRecord;
use valvefolio::settings::Settings;

use super::hard::cohort;

static COHORT: LazyLock<(Inputs, Date, Vec<CaseRecord>)> = LazyLock::new(|| {
    let tables = cohort(200, 21);
    let [cases, visits, devices] = ["cases", "followups", "devices"]
        .map(|name| Source::open(&tables.path(name)).expect("written"));
    let inputs = read(
        &[cases],
        Some(&visits),
        Some(&devices),
        &ReadOptions::default(),
    )
    .expect("tables");
    let records = inputs.records();
    (inputs, tables.as_of.parse().expect("a day"), records)
});

fn assessed(record: &CaseRecord) -> Assessment {
    let (inputs, as_of, _) = &*COHORT;
    let known = Known::on(record, *as_of).expect("the procedure is not later");
    let across = across_cases(&[Likeness::of(record, &known)]).remove(0);
    assess(
        record,
        known,
        &inputs.catalogue,
        &Settings::default(),
        across,
    )
}

fn class(assessment: &Assessment, name: &str) -> String {
    plain(assessment.value(name))
}

/// Where a class stands among the classes of its result, mildest first. What cannot be told stands where VARC-3 puts it by
/// the rule of the definitions: a part unknown is neither met nor failed.
fn rank(class: &str, from_mild: &[&str]) -> usize {
    from_mild
        .iter()
        .position(|listed| *listed == class)
        .unwrap_or_else(|| panic!("{class}"))
}

const ENDPOINT: &[&str] = &["yes", "not_assessable", "no"];
const DETERIORATION: &[&str] = &["none", "not_assessable", "stage_2", "stage_3"];

fn raise(cell: &mut Option<f64>, by: f64) -> bool {
    cell.as_mut().map(|value| *value += by).is_some()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn prop_before(case in any::<prop::sample::Index>(), by in 0.0..60.0f64, velocity in any::<bool>()) {
        let record = case.get(&COHORT.2);
        let mut worse = record.clone();
        let raised = if velocity {
            raise(&mut worse.cells.baseline_vmax_m_s, by / 20.0)
        } else {
            raise(&mut worse.cells.baseline_mean_gradient_mmhg, by)
        };
        prop_assume!(raised);
        let (before, after) = (class(&assessed(record), "stenosis_class"), class(&assessed(&worse), "stenosis_class"));
        prop_assert!(after == before || after == "high_gradient", "{before} → {after}");
    }

    #[test]
    fn prop_after(case in any::<prop::sample::Index>(), by in 0.0..30.0f64, velocity in any::<bool>()) {
        let record = case.get(&COHORT.2);
        let milder = assessed(record);
        let mut worse = record.clone();
        let echo = match milder.performance.visit {
            Some(visit) => {
                let visit = &mut *worse.visits[milder.known.visits[visit].row].cells;
                (&mut visit.mean_gradient_mmhg, &mut visit.vmax_m_s)
            }
            None => {
                let cells = &mut *worse.cells;
                (&mut cells.post_mean_gradient_mmhg, &mut cells.post_vmax_m_s)
            }
        };
        prop_assume!(if velocity { raise(echo.1, by / 10.0) } else { raise(echo.0, by) });
        let worse = assessed(&worse);
        for endpoint in ["intended_performance", "device_success"] {
            let (from, to) = (class(&milder, endpoint), class(&worse, endpoint));
            prop_assert!(rank(&to, ENDPOINT) >= rank(&from, ENDPOINT), "{endpoint}: {from} → {to}");
        }
        prop_assert!(worse.has(Flag::ResidualGradient) || !milder.has(Flag::ResidualGradient));
        if by >= 20.0 && !velocity {
            // Whatever it was before, it is 20 mmHg or more now.
            prop_assert!(worse.has(Flag::ResidualGradient));
            prop_assert_eq!(class(&worse, "intended_performance"), "no");
            prop_assert_eq!(class(&worse, "device_success"), "no");
        }
    }

    #[test]
    fn prop_later(case in any::<prop::sample::Index>(), visit in any::<prop::sample::Index>(), by in 0.0..40.0f64) {
        let record = case.get(&COHORT.2);
        let milder = assessed(record);
        let later = &milder.course.later;
        prop_assume!(!later.is_empty());
        let visit = milder.known.visits[visit.get(later).visit].row;
        let mut worse = record.clone();
        prop_assume!(raise(&mut worse.visits[visit].cells.mean_gradient_mmhg, by));
        let worse = assessed(&worse);
        let name = "deterioration_stage";
        let (from, to) = (class(&milder, name), class(&worse, name));
        prop_assert!(rank(&to, DETERIORATION) >= rank(&from, DETERIORATION), "{from} → {to}");
        for flag in [Flag::Deterioration, Flag::LateGradient] {
            prop_assert!(worse.has(flag) || !milder.has(flag), "{flag:?}");
        }
        let name = "bioprosthetic_valve_failure";
        let (from, to) = (class(&milder, name), class(&worse, name));
        let stages = ["none", "stage_1", "stage_2", "stage_3"];
        if from != "not_assessable" && to != "not_assessable" {
            prop_assert!(rank(&to, &stages) >= rank(&from, &stages), "{from} → {to}");
        }
    }
}

/// The properties above move classes: some case gets worse in each.
#[test]
fn forty_more_is_worse_for_some() {
    let mut moved = [0; 3];
    for record in &COHORT.2 {
        let milder = assessed(record);
        let mut worse = record.clone();
        raise(&mut worse.cells.baseline_mean_gradient_mmhg, 40.0);
        raise(&mut worse.cells.post_mean_gradient_mmhg, 40.0);
        for later in &milder.course.later {
            let row = milder.known.visits[later.visit].row;
            raise(&mut worse.visits[row].cells.mean_gradient_mmhg, 40.0);
        }
        let worse = assessed(&worse);
        let names = ["stenosis_class", "device_success", "deterioration_stage"];
        for (count, name) in moved.iter_mut().zip(names) {
            *count += usize::from(class(&milder, name) != class(&worse, name));
        }
    }
    assert!(moved.iter().all(|count| *count > 3), "{moved:?}");
}
