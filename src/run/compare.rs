//! `--compare`: the earlier period's own table, which enters the comparison of the cohort summary and nothing else.

use jiff::civil::Date;
use serde_json::{Value, json};

use super::{Outcome, RunError, Work, counted, exit_code, prepare};
use crate::cli::{BesideArgs, FailOn, Make, ReportArgs};
use crate::diagnostic::{Diagnostic, Severity};

/// Reads and assesses the earlier period, where one is asked for and the summary is made.
///
/// # Errors
/// As for the tables of the run.
pub fn earlier(args: &ReportArgs, today: Date) -> Result<Option<Work>, RunError> {
    let summary = args.make.is_empty() || args.make.contains(&Make::Cohort);
    let Some(cases) = args.compare.as_ref().filter(|_| summary) else {
        return Ok(None);
    };
    let beside = BesideArgs {
        followups: args.compare_followups.clone(),
        devices: args
            .compare_devices
            .clone()
            .or(args.inputs.beside.devices.clone()),
        ..args.inputs.beside.clone()
    };
    let mut earlier = prepare(std::slice::from_ref(cases), &beside, today)?;
    earlier.note_findings();
    Ok(Some(earlier))
}

/// What is wrong with its tables, told on the terminal and nowhere else.
pub fn tell(earlier: &Work, fail_on: FailOn, outcome: &mut Outcome) {
    let count = |severity| {
        earlier
            .diagnostics
            .iter()
            .filter(|finding| finding.severity == severity)
            .count()
    };
    outcome.messages.push(format!(
        "Earlier period: {} read, {} withheld, {} and {}; told in full by check.",
        counted(earlier.cases.len(), "case"),
        earlier.withheld.len(),
        counted(count(Severity::Error), "error"),
        counted(count(Severity::Warning), "warning"),
    ));
    outcome.messages.extend(earlier.withheld.iter().map(|case| {
        format!(
            "  withheld, earlier period ({}:{}): {}",
            case.place.file, case.place.line, case.reason
        )
    }));
    let errors = earlier
        .diagnostics
        .iter()
        .filter(|finding| finding.severity == Severity::Error);
    outcome
        .findings
        .extend(errors.map(Diagnostic::without_cell));
    outcome.exit_code = outcome.exit_code.max(exit_code(fail_on, earlier));
}

/// Its tables for run.json.
pub fn files(earlier: &Work) -> Value {
    let files: Vec<Value> = earlier
        .files
        .iter()
        .map(|file| json!({ "file": &*file.name, "sha256": file.sha256 }))
        .collect();
    json!(files)
}
