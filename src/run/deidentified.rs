//! `--deidentify`: what may leave the centre, and into which folder.

use sha2::{Digest as _, Sha256};

use super::report::Tally;
use super::results::ResultsFiles;
use super::{RunError, Work, shown_path};
use crate::assess::Assessment;
use crate::cli::{Make, ReportArgs};
use crate::explain::Identity;
use crate::output::folder::Folder;
use crate::output::results;
use crate::record::CaseRecord;

/// Files that name patients or may hold their texts.
const NAMING: [&str; 8] = [
    "followup.pdf",
    "worklist.csv",
    "visits.ics",
    "data-gaps.csv",
    "changes.csv",
    "problems.csv",
    "documents.csv",
    "devices-used.csv",
];

/// Whether the last run into the folder was de-identified; `None` where there was none that can be read.
fn last_was_deidentified(folder: &Folder) -> Option<bool> {
    let run: serde_json::Value = serde_json::from_str(&folder.earlier("run.json")?).ok()?;
    Some(run["deidentified"] == true)
}

/// Whether a part is made. De-identified, the summary alone unless results are asked for: the counts that it hides could be
/// counted in the results of single cases.
pub fn makes(args: &ReportArgs, part: Make) -> bool {
    if args.make.is_empty() {
        !(args.deidentify && part == Make::Results)
    } else {
        args.make.contains(&part)
    }
}

/// A count as run.json may tell it.
pub fn shown(args: &ReportArgs, work: &Work, count: usize) -> Option<usize> {
    let small = 1..work.site.masking.counts_below as usize;
    (!(args.deidentify && small.contains(&count))).then_some(count)
}

/// Refuses to mix what names patients with what does not: whoever passes a folder on passes on all of it.
///
/// # Errors
/// Where the two would stand in one folder, or pages are asked for, which name their patient.
pub fn refuse_mixture(args: &ReportArgs) -> Result<(), RunError> {
    let refused = |why: &str| {
        Err(RunError::Asked(format!(
            "{}: {why}; give another --out",
            shown_path(&args.out)
        )))
    };
    let earlier = Folder::existing(&args.out).ok();
    let last = earlier.as_ref().and_then(last_was_deidentified);
    if !args.deidentify {
        return match last {
            Some(true) => refused(
                "this folder holds de-identified results, and what names patients does not belong beside them",
            ),
            _ => Ok(()),
        };
    }
    let naming_parts = |make: &&Make| !matches!(make, Make::Results | Make::Cohort);
    if args.make.iter().any(|make| naming_parts(&make)) {
        return Err(RunError::Asked(
            "--deidentify writes results and cohort summary only: the other parts name their patients".to_owned(),
        ));
    }
    let both = "the counts that the summary masks could be counted in the results of single cases";
    if makes(args, Make::Results) && makes(args, Make::Cohort) {
        return Err(RunError::Asked(format!(
            "--deidentify --make: {both}; make results and cohort in two runs, each into an --out of its own"
        )));
    }
    let holds = |folder: &Folder, parts: &[&str]| folder.tables().any(|file| parts.contains(&file));
    match earlier {
        Some(folder)
            if makes(args, Make::Results)
                && holds(&folder, &["cohort.csv", "cohort-series.csv"])
                || makes(args, Make::Cohort)
                    && holds(&folder, &["results.csv", "results.json"]) =>
        {
            refused(both)
        }
        Some(folder)
            if last == Some(false)
                || !folder.pages().is_empty()
                || folder.path("superseded").exists()
                || folder.tables().any(|file| NAMING.contains(&file)) =>
        {
            refused("this folder holds files that name patients")
        }
        _ => Ok(()),
    }
}

/// What puts a case in its place in the files: nothing that has to do with the order of the tables.
pub fn place_of(record: &CaseRecord, assessment: &Assessment) -> [u8; 32] {
    Sha256::digest(results::row(record, assessment, Identity::Numbered(0))).into()
}

/// results.csv and results.json, in the order of the places of the cases.
pub fn write_results(work: &Work, places: &[[u8; 32]], folder: &Folder, tally: &mut Tally) {
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_unstable_by_key(|&position| (places[position], position));
    let mut number = vec![0; order.len()];
    for (place, &position) in order.iter().enumerate() {
        number[position] = place + 1;
    }
    let mut files = ResultsFiles::begin(folder, &results::header(), None);
    work.each(
        order,
        |position, record, assessment| {
            let identity = Identity::Numbered(number[position]);
            results::row_and_object(record, assessment, &work.catalogue, identity, None)
        },
        |(row, object)| files.add(&row, &object),
    );
    files.finish(tally);
}
