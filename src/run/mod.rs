//! The pipeline: files → records → assessments → pages and tables → files. The only place that starts threads.

mod columns;
mod compare;
mod deidentified;
mod findings;
mod keeping;
mod packet;
mod pages;
mod report;
mod since;
mod site;
mod stale;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;
use rayon::prelude::*;

use crate::assess::{self, Assessment, Known};
use crate::cli::{BesideArgs, CheckArgs, Cli, Command, ExplainArgs, FailOn};
use crate::diagnostic::{Diagnostic, Severity};
use crate::explain::{explain_text, outside_check, traces};
use crate::input::site::{Site, SiteError};
use crate::input::{self, FileRead, InputError, Inputs, Source, Withheld};
use crate::output::disk::{Disk, SystemDisk};
use crate::output::earlier::NotResults;
use crate::output::folder::{NotOpened, sha256_hex};
use crate::record::{CaseRecord, Catalogue};
use crate::settings::Settings;

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

/// Cases read and assessed, in the order of the cases file.
pub struct Work {
    /// The day the report speaks for.
    pub as_of: Date,
    /// Every case that was not withheld, with what the program says of it.
    pub cases: Vec<(CaseRecord, Assessment)>,
    /// The devices file.
    pub catalogue: Catalogue,
    /// Cases that were left out, with the reason.
    pub withheld: Vec<Withheld>,
    /// Every finding, sorted by place.
    pub diagnostics: Vec<Diagnostic>,
    /// How each file was read.
    pub files: Vec<FileRead>,
    /// What the centre sets once.
    pub site: Site,
    /// Name and SHA-256 of the site file, where one was given.
    pub site_read: Option<(Arc<str>, String)>,
}

/// Reads and assesses every case.
fn prepare(cases: &[PathBuf], args: &BesideArgs, today: Date) -> Result<Work, RunError> {
    let open = |path: &PathBuf| Source::open(path);
    let cases = cases.iter().map(open).collect::<Result<Vec<_>, _>>()?;
    let followups = args.followups.as_ref().map(open).transpose()?;
    let devices = args.devices.as_ref().map(open).transpose()?;
    let encoding = encoding_named(args.encoding.as_deref())?;
    let site = args.site.as_ref().map(open).transpose()?;
    let (site, site_read) = match site {
        Some(source) => (
            Site::read(&source)?,
            Some((source.name.clone(), sha256_hex(&source.bytes))),
        ),
        None => (Site::default(), None),
    };
    let options = site.read_options(encoding);
    let inputs = input::read(&cases, followups.as_ref(), devices.as_ref(), &options)?;
    let mut work = assess_all(inputs, site.settings, args.as_of.unwrap_or(today));
    work.site = site;
    work.site_read = site_read;
    Ok(work)
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

/// Assesses every case that the reader let through.
pub fn assess_all(inputs: Inputs, settings: Settings, as_of: Date) -> Work {
    let Inputs {
        cases,
        catalogue,
        mut withheld,
        mut diagnostics,
        files,
        ..
    } = inputs;
    let known: Vec<Option<Known>> = cases
        .par_iter()
        .map(|record| Known::on(record, as_of))
        .collect();
    let mut present = Vec::with_capacity(cases.len());
    for (record, known) in cases.into_iter().zip(known) {
        match known {
            Some(known) => present.push((record, known)),
            None => {
                diagnostics.push(findings::after_the_report(&record, as_of, &files));
                let reason = format!("procedure after the day the report speaks for, {as_of}");
                withheld.push(Withheld::read(
                    record.case_id.clone(),
                    record.place.clone(),
                    reason,
                    &record.cells,
                ));
            }
        }
    }
    let pairs: Vec<_> = present
        .iter()
        .map(|(record, known)| (record, known))
        .collect();
    let across = assess::across_cases(&pairs);
    let cases: Vec<(CaseRecord, Assessment)> = present
        .into_par_iter()
        .zip(across)
        .map(|((record, known), across)| {
            let assessment = assess::assess(&record, known, &catalogue, &settings, across);
            (record, assessment)
        })
        .collect();
    for (record, assessment) in &cases {
        diagnostics.extend(findings::of_case(record, assessment, &catalogue, &files));
    }
    diagnostics.sort();
    withheld.sort_by(|a, b| a.place.cmp(&b.place));
    Work {
        as_of,
        cases,
        catalogue,
        withheld,
        diagnostics,
        files,
        site: Site {
            settings,
            ..Site::default()
        },
        site_read: None,
    }
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
    let work = prepare(&args.inputs.cases, &args.inputs.beside, today)?;
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
        .find(|(record, _)| *record.case_id == *args.case)
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
    let output: Vec<String> = traces(record, assessment, &work.catalogue)
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
