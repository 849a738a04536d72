//! Records for the tests of the summary: by hand, cell by cell, or from a file read the plainest way.

use std::path::Path;

use jiff::civil::Date;
use valvefolio::assess::{Assessment, Known, Likeness, across_cases, assess};
use valvefolio::cohort::{Cohort, CohortOptions, EarlierFile};
use valvefolio::input::{ReadOptions, Source, Withheld, read};
use valvefolio::record::{CaseRecord, Catalogue};
use valvefolio::settings::Settings;

pub use crate::by_hand_records::{case, set, with_visit};

/// The cases as assessed on a day; those of a later day are left out.
fn assessed<'a>(
    records: &'a [CaseRecord],
    catalogue: &Catalogue,
    as_of: Date,
) -> Vec<(&'a CaseRecord, Assessment)> {
    let settings = Settings::default();
    let known: Vec<(&CaseRecord, Known)> = records
        .iter()
        .filter_map(|record| Some((record, Known::on(record, as_of)?)))
        .collect();
    let across = across_cases(
        &known
            .iter()
            .map(|(record, known)| Likeness::of(record, known))
            .collect::<Vec<_>>(),
    );
    known
        .into_iter()
        .zip(across)
        .map(|((record, known), across)| {
            (record, assess(record, known, catalogue, &settings, across))
        })
        .collect()
}

fn assessments<'a>(assessed: &'a [(&'a CaseRecord, Assessment)]) -> Vec<&'a Assessment> {
    assessed.iter().map(|(_, assessment)| assessment).collect()
}

/// The summary of these cases.
pub fn cohort_with(
    records: &[CaseRecord],
    catalogue: &Catalogue,
    options: &CohortOptions,
    withheld: &[Withheld],
) -> Cohort {
    let assessed = assessed(records, catalogue, options.as_of);
    Cohort::of(&assessments(&assessed), catalogue, options, withheld)
}

/// The summary of these cases beside those of an earlier period's own file, of which some were withheld.
pub fn cohort_beside(
    records: &[CaseRecord],
    earlier: &[CaseRecord],
    withheld: usize,
    options: &CohortOptions,
) -> Cohort {
    let catalogue = Catalogue::default();
    let here = assessed(records, &catalogue, options.as_of);
    let there = assessed(earlier, &catalogue, options.as_of);
    let there = assessments(&there);
    let file = EarlierFile {
        cases: &there,
        catalogue: &catalogue,
        withheld,
    };
    Cohort::beside(&assessments(&here), &catalogue, options, &[], Some(&file))
}

/// The summary without a catalogue and without withheld cases.
pub fn cohort(records: &[CaseRecord], options: &CohortOptions) -> Cohort {
    cohort_with(records, &Catalogue::default(), options, &[])
}

/// The demo quarter, read as a user's files are.
pub fn demo() -> (Vec<CaseRecord>, Catalogue) {
    let open = |name: &str| {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/quarter");
        Source::open(&folder.join(name)).expect(name)
    };
    let inputs = read(
        &[open("cases.csv")],
        Some(&open("followups.csv")),
        Some(&open("devices.csv")),
        &ReadOptions::default(),
    )
    .expect("the demo can be read");
    (inputs.records(), inputs.catalogue)
}
