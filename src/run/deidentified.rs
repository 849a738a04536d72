//! `--deidentify`: what may leave the centre, and into which folder.

use rayon::prelude::*;
use sha2::{Digest as _, Sha256};

use super::report::Tally;
use super::{RunError, Work, shown_path};
use crate::cli::{Make, ReportArgs};
use crate::explain::Identity;
use crate::output::folder::Folder;
use crate::output::results;

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
    match earlier {
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

/// results.csv and results.json, in an order that has nothing to do with that of the tables.
pub fn write_results(work: &Work, folder: &Folder, tally: &mut Tally) {
    let unnumbered = Identity::Numbered(0);
    let mut order: Vec<([u8; 32], usize)> = work
        .cases
        .par_iter()
        .enumerate()
        .map(|(position, (record, assessment))| {
            let row = results::row(record, assessment, unnumbered);
            (Sha256::digest(row).into(), position)
        })
        .collect();
    order.sort_unstable();
    let numbered = || {
        order.par_iter().enumerate().map(|(number, (_, position))| {
            let (record, assessment) = &work.cases[*position];
            (Identity::Numbered(number + 1), record, assessment)
        })
    };
    let rows: Vec<String> = numbered()
        .map(|(identity, record, assessment)| results::row(record, assessment, identity))
        .collect();
    tally.take(folder.write(
        "results.csv",
        (results::header() + &rows.concat()).as_bytes(),
    ));
    drop(rows);
    let objects: Vec<String> = numbered()
        .map(|(identity, record, assessment)| {
            results::json_row(record, assessment, &work.catalogue, identity)
        })
        .collect();
    tally.take(folder.write("results.json", results::json(&objects).as_bytes()));
}
