//! `current` and `verify`: what the folder says of a sheet, and whether it is whole.

use super::{Outcome, RunError, counted, shown_path};
use crate::cli::{CurrentArgs, VerifyArgs};
use crate::output::folder::Folder;
use crate::output::ledger::{self, same_code};
use crate::output::{Standing, verify};

/// Whether a sheet is the current one, and what replaced it.
pub fn current(args: &CurrentArgs) -> Result<Outcome, RunError> {
    let folder = Folder::existing(&args.folder)?;
    let ledger = folder.earlier("documents.csv").ok_or_else(|| {
        RunError::Asked(format!("no documents.csv in {}", shown_path(&args.folder)))
    })?;
    let documents = ledger::parse(&ledger);
    let unsure = warning(&folder.standing());
    let of_case = |document: &ledger::Document| {
        if document.case_id.is_empty() {
            document.kind.clone()
        } else {
            format!("case {}", document.case_id)
        }
    };
    if let Some(document) = documents
        .iter()
        .find(|document| same_code(&document.check_code, &args.code))
    {
        if document.state == ledger::NOT_RENEWED {
            let output = format!(
                "{}: not current. {}: a later run was to make this page again and could not ({})\n",
                document.check_code,
                of_case(document),
                document.file
            );
            return Ok(Outcome {
                output,
                exit_code: 1,
                messages: unsure.into_iter().collect(),
                ..Outcome::default()
            });
        }
        let output = format!(
            "{}: current. {}, {} of {}, {} ({})\n",
            document.check_code,
            of_case(document),
            document.kind,
            document.date,
            document.state,
            document.file
        );
        return Ok(Outcome {
            output,
            exit_code: u8::from(unsure.is_some()),
            messages: unsure.into_iter().collect(),
            ..Outcome::default()
        });
    }
    if let Some(document) = documents
        .iter()
        .find(|document| document.has_replaced(&args.code))
    {
        let output = format!(
            "{}: not current. Replaced by {}: {}, {} of {}, {} ({})\n",
            args.code.to_ascii_uppercase(),
            document.check_code,
            of_case(document),
            document.kind,
            document.date,
            document.state,
            document.file
        );
        return Ok(Outcome {
            output,
            exit_code: 1,
            messages: unsure.into_iter().collect(),
            ..Outcome::default()
        });
    }
    Err(RunError::Asked(format!(
        "no sheet with check code {} in {}: not made by a run into this folder",
        args.code,
        shown_path(&args.folder)
    )))
}

/// Whether the files of a folder are those that the last run wrote.
pub fn verify(args: &VerifyArgs) -> Result<Outcome, RunError> {
    let folder = Folder::existing(&args.folder)?;
    let verdict = verify::verify(&folder)
        .map_err(|reason| RunError::Asked(format!("{}: {reason}", shown_path(&args.folder))))?;
    let mut output = format!("{} as written\n", counted(verdict.intact, "file"));
    for (what, files) in [
        ("changed", &verdict.changed),
        ("not there", &verdict.gone),
        ("not of the last run", &verdict.not_listed),
        ("half written", &verdict.parts),
    ] {
        for file in files {
            output += &format!("{what}: {file}\n");
        }
    }
    Ok(Outcome {
        output,
        exit_code: u8::from(!verdict.clean()),
        messages: warning(&verdict.standing).into_iter().collect(),
        ..Outcome::default()
    })
}

/// What to say where a run is on or did not come to its end.
fn warning(standing: &Standing) -> Option<String> {
    match standing {
        Standing::Free => None,
        Standing::Running(process) => Some(format!(
            "A run is writing into this folder{}; ask again when it has ended.",
            process.map_or_else(String::new, |process| format!(" (process {process})"))
        )),
        Standing::Unfinished => Some(
            "The last run into this folder was stopped, or could not write every file; sheets may be newer than \
             documents.csv. Run report again."
                .to_owned(),
        ),
    }
}
