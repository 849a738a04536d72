//! `site`: a first draft of a site file.

use super::{Outcome, RunError, counted, encoding_named};
use crate::cli::{SiteArgs, Table};
use crate::input::Source;
use crate::input::draft::draft;

/// Drafts a site file from exports.
pub fn site(args: &SiteArgs) -> Result<Outcome, RunError> {
    let encoding = encoding_named(args.encoding.as_deref())?;
    let mut files = vec![(args.table, &args.from)];
    for (table, path) in [
        (Table::Followups, &args.followups),
        (Table::Devices, &args.devices),
    ] {
        if let Some(path) = path {
            if files.iter().any(|(known, _)| *known == table) {
                let name = table.name();
                return Err(RunError::Asked(format!(
                    "--{name}: --from is the {name} table already (--table {name})"
                )));
            }
            files.push((table, path));
        }
    }
    let sources = files
        .iter()
        .map(|(table, path)| Ok((table.name(), Source::open(path)?)))
        .collect::<Result<Vec<_>, RunError>>()?;
    let sources: Vec<(&'static str, &Source)> = sources
        .iter()
        .map(|(table, source)| (*table, source))
        .collect();
    let draft = draft(&sources, encoding)?;
    let mut messages = vec![format!(
        "{} of {} placed, {} to decide, {} not placed. Read every line beside the export before you rely on it.",
        draft.placed,
        counted(draft.headers, "header"),
        counted(draft.proposals.len(), "proposal"),
        draft.unplaced,
    )];
    if draft.placed == 0 {
        messages.push(
            "Hardly a header was recognised: is it the right --table, and the right --encoding?"
                .to_owned(),
        );
    }
    Ok(Outcome {
        output: draft.text,
        messages,
        ..Outcome::default()
    })
}
