//! The pipeline: files → records → assessments → pages and tables → files. The only place that starts threads.

mod columns;
mod compare;
mod deidentified;
mod findings;
mod keeping;
mod packet;
mod pages;
mod problems;
mod report;
mod results;
mod since;
mod site;
mod stale;
mod work;

use std::path::Path;
use std::sync::Arc;

use jiff::civil::Date;

use crate::cli::{CheckArgs, Cli, Command, ExplainArgs, FailOn};
use crate::diagnostic::{Diagnostic, Severity};
use crate::explain::{explain_text, outside_check, traces};
use crate::input::InputError;
use crate::input::site::SiteError;
use crate::output::disk::{Disk, SystemDisk};
use crate::output::earlier::NotResults;
use crate::output::folder::NotOpened;

pub use work::{Work, assess_all};

use work::prepare;

/// Version of the definitions that results, pages and check codes speak of.
pub const DEFINITIONS_VERSION: &str = "1";

/// Why nothing could be done.
#[derive(Debug, thiserror::Error)]
pub enum RunError {
    /// An input file left nothing to read.
    #[error(transparent)]
    Input(#[from] InputError),
    /// The site file has faults.
    #[error(transparent)]
    Site(#[from] SiteError),
    /// The output folder could not be used.
    #[error(transparent)]
    Output(#[from] NotOpened),
    /// The earlier results are none.
    #[error(transparent)]
    Since(#[from] NotResults),
    /// What was asked for cannot be done.
    #[error("{0}")]
    Asked(String),
}

/// How a run ended.
#[derive(Debug, Default)]
pub struct Outcome {
    /// What to print on standard output.
    pub output: String,
    /// What to print on standard error, line by line.
    pub messages: Vec<String>,
    /// Findings to print on standard error.
    pub findings: Vec<Diagnostic>,
    /// Whether they are to be printed in full.
    pub in_full: bool,
    /// Exit code: 0 all done; 1 something was left out; 2 nothing could be written.
    pub exit_code: u8,
}

/// Runs one command.
///
/// # Errors
/// Where nothing could be done at all; the exit code is then 2.
pub fn run(cli: Cli, today: Date) -> Result<Outcome, RunError> {
    run_on(cli, today, Arc::new(SystemDisk))
}

/// Runs one command, and writes on this disk.
///
/// # Errors
/// As [`run`].
pub fn run_on(cli: Cli, today: Date, disk: Arc<dyn Disk>) -> Result<Outcome, RunError> {
    match cli.command {
        Command::Report(args) => report::report(args, today, disk),
        Command::Check(args) => check(&args, today),
        Command::Explain(args) => explain(&args, today),
        Command::Columns(args) => columns::columns(&args),
        Command::Site(args) => site::site(&args),
        Command::Current(args) => keeping::current(&args),
        Command::Verify(args) => keeping::verify(&args),
    }
}

/// The encoding of this name, where one was given.
fn encoding_named(label: Option<&str>) -> Result<Option<&'static encoding_rs::Encoding>, RunError> {
    label
        .map(|label| {
            encoding_rs::Encoding::for_label(label.as_bytes()).ok_or_else(|| {
                RunError::Asked(format!(
                    "encoding “{label}” is not known; try windows-1252 or utf-16le"
                ))
            })
        })
        .transpose()
}

/// The exit code of a run that was not stopped.
fn exit_code(fail_on: FailOn, work: &Work) -> u8 {
    let withheld = !work.withheld.is_empty();
    let rejected = work
        .diagnostics
        .iter()
        .any(|finding| finding.severity == Severity::Error);
    u8::from(match fail_on {
        FailOn::Withheld => withheld,
        FailOn::Rejected => withheld || rejected,
        FailOn::Never => false,
    })
}

fn check(args: &CheckArgs, today: Date) -> Result<Outcome, RunError> {
    let mut work = prepare(&args.inputs.cases, &args.inputs.beside, today)?;
    work.note_findings();
    let count = |severity| {
        work.diagnostics
            .iter()
            .filter(|finding| finding.severity == severity)
            .count()
    };
    let closing = format!(
        "{} read, {} withheld; {}, {}, {}. Nothing was written.",
        counted(work.cases.len() + work.withheld.len(), "case"),
        work.withheld.len(),
        counted(count(Severity::Error), "error"),
        counted(count(Severity::Warning), "warning"),
        counted(count(Severity::Note), "note"),
    );
    let exit_code = exit_code(args.fail_on, &work);
    let (output, findings) = if args.json {
        let lines = work.diagnostics.iter().map(|finding| finding.json() + "\n");
        (lines.collect(), Vec::new())
    } else {
        (String::new(), work.diagnostics)
    };
    Ok(Outcome {
        output,
        messages: vec![closing],
        findings,
        in_full: args.full,
        exit_code,
    })
}

fn explain(args: &ExplainArgs, today: Date) -> Result<Outcome, RunError> {
    let work = prepare(std::slice::from_ref(&args.cases), &args.beside, today)?;
    let (record, assessment) = work
        .cases
        .iter()
        .position(|case| *case.case_id == *args.case)
        .map(|position| work.assessed(position))
        .ok_or_else(|| {
            match work
                .withheld
                .iter()
                .find(|case| *case.case_id == *args.case)
            {
                Some(case) => RunError::Asked(format!(
                    "case {} is withheld: {}",
                    case.case_id, case.reason
                )),
                None => RunError::Asked(format!(
                    "no case {} in {}",
                    args.case,
                    shown_path(&args.cases)
                )),
            }
        })?;
    let unknown = args
        .values
        .iter()
        .find(|name| crate::assess::definitions::definition(name).is_none());
    if let Some(name) = unknown {
        let nearest = crate::assess::definitions::DEFINITIONS
            .iter()
            .map(|definition| definition.name)
            .max_by(|a, b| strsim::jaro_winkler(a, name).total_cmp(&strsim::jaro_winkler(b, name)))
            .unwrap_or_default();
        return Err(RunError::Asked(format!(
            "no result is called {name}; nearest is {nearest}"
        )));
    }
    let output: Vec<String> = traces(&record, &assessment, &work.catalogue)
        .filter(|trace| {
            args.values.is_empty() || args.values.iter().any(|name| name == trace.definition.name)
        })
        .map(|trace| explain_text(&trace, outside_check(trace.definition.name).as_deref()))
        .collect();
    Ok(Outcome {
        output: output.join("\n"),
        ..Outcome::default()
    })
}

/// `1 case`, `2 cases`.
pub(crate) fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

/// A path as the user gave it.
fn shown_path(path: &Path) -> String {
    path.display().to_string()
}
