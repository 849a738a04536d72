//! `report`: everything that is written, in a fixed order.

use std::collections::HashSet;
use std::sync::Arc;

use indicatif::{ProgressBar, ProgressStyle};
use jiff::civil::Date;
use serde::Serialize;
use serde_json::{Value, json};

use super::pages::{Earlier, Made, Pages};
use super::results::ResultsFiles;
use super::since::Since;
use super::stale::stale_pages;
use super::{
    DEFINITIONS_VERSION, Outcome, RunError, Work, compare, counted, deidentified, exit_code,
    packet, pages, prepare, problems, shown_path,
};
use crate::assess::Assessment;
use crate::cli::{FailOn, Make, PaperArg, ReportArgs, Risk};
use crate::cohort::{Cohort, CohortOptions, EarlierFile, RiskModel};
use crate::diagnostic::{Diagnostic, Severity, is_an_id};
use crate::draw::{Fonts, Paper};
use crate::explain::{Basis, Identity};
use crate::output::changes::changes_csv;
use crate::output::disk::{Disk, Readers};
use crate::output::folder::{Folder, NotWritten, Written};
use crate::output::pdf::to_pdf;
use crate::output::{ledger, results, sheet_text};
use crate::page::cohort::{CohortContext, cohort_document};
use crate::record::{CaseRecord, Text};

/// What a run has written, and what it could not.
#[derive(Default)]
pub struct Tally {
    /// Files that were written, in order.
    pub written: Vec<Written>,
    /// Files that the system refused.
    pub failed: Vec<NotWritten>,
    /// Files of an earlier run that stand beside them and are still current.
    pub kept: Vec<Written>,
    /// PDF files, those of an earlier run that stand beside them included.
    pub documents: Vec<ledger::Document>,
    /// Files that could not be made, with the reason.
    pub not_made: Vec<String>,
}

impl Tally {
    pub(super) fn take(&mut self, result: Result<Written, NotWritten>) {
        match result {
            Ok(written) => self.written.push(written),
            Err(failed) => self.failed.push(failed),
        }
    }

    fn page(&mut self, made: Made) {
        match made {
            Made::Written { written, document } => {
                self.written.push(written);
                self.documents.push(*document);
            }
            Made::NotWritten(failed) => self.failed.push(failed),
            Made::Withheld(reason) => self.not_made.push(reason),
        }
    }

    /// Whether the system took every file that was made.
    fn complete(&self) -> bool {
        self.failed.is_empty()
    }
}

/// Reads, assesses and writes.
pub fn report(args: ReportArgs, today: Date, disk: Arc<dyn Disk>) -> Result<Outcome, RunError> {
    if let (Some(from), Some(to)) = (args.from, args.to)
        && from > to
    {
        return Err(RunError::Asked(format!(
            "--from {from} is later than --to {to}"
        )));
    }
    deidentified::refuse_mixture(&args)?;
    let threads = rayon::ThreadPoolBuilder::new()
        .num_threads(args.jobs.unwrap_or(0))
        .build()
        .map_err(|error| RunError::Asked(format!("--jobs: {error}")))?;
    threads.install(|| report_with(&args, today, disk))
}

fn report_with(args: &ReportArgs, today: Date, disk: Arc<dyn Disk>) -> Result<Outcome, RunError> {
    let mut work = prepare(&args.inputs.cases, &args.inputs.beside, today)?;
    let unknown: Vec<&str> = unknown_ids(args, &work);
    if !unknown.is_empty() {
        return Err(RunError::Asked(format!(
            "--only: no case {}",
            unknown.join(", ")
        )));
    }
    let since = Since::open(args, &work)?;
    let earlier_period = compare::earlier(args, today)?;
    let folder = Folder::open(&args.out, readers(args), disk)?;
    let changes = since.as_ref().map(|since| since.changes(&work));
    let makes = |part| deidentified::makes(args, part);
    let fonts = Fonts::load();
    let mut tally = Tally::default();
    let earlier = folder
        .earlier("documents.csv")
        .map_or_else(Vec::new, |text| ledger::parse(&text));
    let looked = case_by_case(args, &work, &fonts, &folder, &earlier, &mut tally);
    work.note(looked.findings);
    if makes(Make::Results) && args.deidentify {
        deidentified::write_results(&work, &looked.places, &folder, &mut tally);
    }
    let centre = looked.site.centre(&work);
    if makes(Make::Cohort) {
        let (centre, earlier) = (centre.clone(), earlier_period.as_ref());
        write_cohort(args, &work, centre, earlier, &fonts, &folder, &mut tally);
    }
    let mut missing = Vec::new();
    if makes(Make::Followup) && !args.deidentify {
        let changes = changes.as_ref();
        missing = packet::write_packet(args, &work, centre, changes, &fonts, &folder, &mut tally);
    }
    if let Some(changes) = &changes {
        tally.take(folder.write("changes.csv", changes_csv(changes).as_bytes()));
    }
    if !args.deidentify {
        keep_earlier(args, &work, &folder, &earlier, &mut tally);
        tally.take(folder.write("documents.csv", &ledger::render(&tally.documents)));
        tally.take(problems::write(&folder, &work.diagnostics, missing));
        tally.take(folder.write("devices-used.csv", looked.devices.as_bytes()));
    }
    let run = run_json(
        args,
        &work,
        (earlier_period.as_ref(), since.as_ref()),
        &tally,
    );
    tally.take(folder.write("run.json", run.as_bytes()));
    let mut outcome = outcome(args, &work, &tally);
    if let Some(earlier) = &earlier_period {
        compare::tell(earlier, args.fail_on, &mut outcome);
    }
    outcome
        .messages
        .extend(stale_pages(args, &folder, &work, &tally));
    if tally.complete() {
        folder.finish();
    }
    Ok(outcome)
}

/// What is left of the cases once each was looked at.
#[derive(Default)]
struct Looked {
    /// What their assessments found in the inputs.
    findings: Vec<Diagnostic>,
    /// devices-used.csv.
    devices: String,
    /// The places of de-identified cases.
    places: Vec<[u8; 32]>,
    /// Where they were treated.
    site: OneSite,
}

/// The site of all cases, where it is one.
#[derive(Default)]
enum OneSite {
    #[default]
    NoCase,
    All(Option<Text>),
    Several,
}

impl OneSite {
    fn add(&mut self, site: Option<Text>) {
        match self {
            Self::NoCase => *self = Self::All(site),
            Self::All(all) if *all != site => *self = Self::Several,
            Self::All(_) | Self::Several => {}
        }
    }

    /// The centre as its site file names it, else as the table does where all cases are of one site.
    fn centre(&self, work: &Work) -> String {
        let one_site = match self {
            Self::All(Some(site)) => Some(site.to_string()),
            _ => None,
        };
        work.site
            .centre
            .name
            .clone()
            .or(one_site)
            .unwrap_or_default()
    }
}

/// What was made of one case.
struct OfCase {
    findings: Vec<Diagnostic>,
    page: Option<Made>,
    results: Option<(String, String)>,
    device: Option<String>,
    place: Option<[u8; 32]>,
    site: Option<Text>,
}

/// Everything that needs one case at a time, in one go: pages, results and the lists of what was found and used.
fn case_by_case(
    args: &ReportArgs,
    work: &Work,
    fonts: &Fonts,
    folder: &Folder,
    earlier: &[ledger::Document],
    tally: &mut Tally,
) -> Looked {
    let makes = |part| deidentified::makes(args, part);
    let named = !args.deidentify;
    let pages = (named && makes(Make::Pages)).then(|| Pages::new(args, work, fonts));
    let mut files = (named && makes(Make::Results))
        .then(|| ResultsFiles::begin(folder, &results::header_with_basis(), Some(work.as_of)));
    let with_results = files.is_some();
    let basis = basis(work);
    let earlier: Earlier<'_> = earlier
        .iter()
        .rev()
        .map(|document| (document.file.as_str(), document))
        .collect();
    let asked = |case_id: &str| pages.as_ref().filter(|_| pages::asked(args, case_id));
    let bar = progress(
        work.cases
            .iter()
            .filter(|case| asked(&case.case_id).is_some())
            .count(),
    );
    let mut looked = Looked {
        devices: devices_header(),
        ..Looked::default()
    };
    work.each(
        0..work.cases.len(),
        |_, record, assessment| {
            let page = asked(&record.case_id).map(|pages| {
                let made = pages.write(record, assessment, folder, &earlier);
                bar.inc(1);
                made
            });
            OfCase {
                page,
                findings: work.findings_of(record, assessment),
                results: with_results.then(|| {
                    let catalogue = &work.catalogue;
                    let basis = Some(&basis);
                    results::row_and_object(record, assessment, catalogue, Identity::Named, basis)
                }),
                device: named.then(|| device_used(record, work)).flatten(),
                place: args
                    .deidentify
                    .then(|| deidentified::place_of(record, assessment)),
                site: record.cells.site.clone(),
            }
        },
        |made| {
            looked.findings.extend(made.findings);
            looked.places.extend(made.place);
            looked.site.add(made.site);
            if let Some(line) = made.device {
                looked.devices += &line;
            }
            if let Some(page) = made.page {
                tally.page(page);
            }
            if let Some((files, (row, object))) = files.as_mut().zip(made.results) {
                files.add(&row, &object);
            }
        },
    );
    bar.finish_and_clear();
    if let Some(files) = files {
        files.finish(tally);
    }
    looked
}

/// Documents of an earlier run that this one did not make again, and whose case is still in the table. A page that was to
/// be made again and was not is no longer current.
fn keep_earlier(
    args: &ReportArgs,
    work: &Work,
    folder: &Folder,
    earlier: &[ledger::Document],
    tally: &mut Tally,
) {
    if earlier.is_empty() {
        return;
    }
    let made: HashSet<&str> = tally
        .documents
        .iter()
        .map(|document| document.file.as_str())
        .collect();
    let cases: HashSet<&str> = work.cases.iter().map(|case| &*case.case_id).collect();
    let kept: Vec<ledger::Document> = earlier
        .iter()
        .filter(|document| !made.contains(document.file.as_str()))
        .filter(|document| document.case_id.is_empty() || cases.contains(document.case_id.as_str()))
        .filter(|document| folder.path(&document.file).is_file())
        .cloned()
        .map(|document| {
            if !document.case_id.is_empty() && pages::asked(args, &document.case_id) {
                document.not_renewed()
            } else {
                document
            }
        })
        .collect();
    tally.kept.extend(kept.iter().map(|document| Written {
        file: document.file.clone(),
        sha256: document.sha256.clone(),
    }));
    tally.documents.extend(kept);
}

fn unknown_ids<'a>(args: &'a ReportArgs, work: &Work) -> Vec<&'a str> {
    if args.only.is_empty() {
        return Vec::new();
    }
    let ids: HashSet<&str> = work.cases.iter().map(|case| &*case.case_id).collect();
    args.only
        .iter()
        .map(String::as_str)
        .filter(|id| !ids.contains(id))
        .collect()
}

/// What every row of results.csv rests on.
pub(super) fn basis(work: &Work) -> Basis {
    Basis::new(DEFINITIONS_VERSION, &work.catalogue, &work.site.settings)
}

/// The paper of every page.
pub fn paper(args: &ReportArgs, work: &Work) -> Paper {
    match args.paper {
        Some(PaperArg::A4) => Paper::A4,
        Some(PaperArg::Letter) => Paper::Letter,
        None => work.site.paper,
    }
}

/// What the audit was asked for.
fn cohort_options(args: &ReportArgs, work: &Work) -> CohortOptions {
    CohortOptions {
        from: args.from,
        to: args.to,
        previous: args.compare_from.zip(args.compare_to),
        risk_model: match args.risk {
            Risk::Euroscore2 => RiskModel::EuroScore2,
            Risk::Sts => RiskModel::StsProm,
        },
        expected_cases: args.expected_cases,
        masking_threshold: work.site.masking.counts_below as usize,
        name_operators: args.name_operators,
        deidentify: args.deidentify,
        schedule: work.site.settings.schedule,
        ..CohortOptions::new(work.as_of)
    }
}

/// The summary. No case is held beyond it.
fn cohort(args: &ReportArgs, work: &Work, earlier: Option<&Work>) -> Cohort {
    let assessments = work.assessments();
    let cases: Vec<&Assessment> = assessments.iter().collect();
    let earlier_assessments = earlier.map(Work::assessments).unwrap_or_default();
    let earlier_cases: Vec<&Assessment> = earlier_assessments.iter().collect();
    let earlier_file = earlier.map(|earlier| EarlierFile {
        cases: &earlier_cases,
        catalogue: &earlier.catalogue,
        withheld: earlier.withheld.len(),
    });
    Cohort::beside(
        &cases,
        &work.catalogue,
        &cohort_options(args, work),
        &work.withheld,
        earlier_file.as_ref(),
    )
}

fn write_cohort(
    args: &ReportArgs,
    work: &Work,
    centre: String,
    earlier: Option<&Work>,
    fonts: &Fonts,
    folder: &Folder,
    tally: &mut Tally,
) {
    let cohort = cohort(args, work, earlier);
    tally.take(folder.write("cohort.csv", &cohort.csv_bytes()));
    tally.take(folder.write("cohort-series.csv", &cohort.series_csv_bytes()));
    let context = CohortContext {
        centre,
        paper: paper(args, work),
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        definitions_version: DEFINITIONS_VERSION.to_owned(),
        inputs: work
            .files
            .iter()
            .chain(earlier.iter().flat_map(|earlier| &earlier.files))
            .enumerate()
            .map(|(position, file)| {
                let name = match args.deidentify {
                    true => format!("table {}", position + 1),
                    false => file.name.to_string(),
                };
                (name, file.sha256.clone())
            })
            .collect(),
    };
    let document = cohort_document(&cohort, &context, fonts);
    match to_pdf(&document, fonts) {
        Ok(bytes) => {
            let written = folder.write("cohort.pdf", &bytes);
            if let Ok(written) = &written {
                tally
                    .documents
                    .push(pages::summary_entry("cohort", work, written));
            }
            tally.take(written);
        }
        Err(fault) => tally.not_made.push(format!("cohort.pdf: {fault}")),
    }
}

/// Header of devices-used.csv: a recall is one filter.
fn devices_header() -> String {
    sheet_text::line([
        "device_id",
        "device",
        "serial",
        "lot",
        "case_id",
        "procedure_date",
    ])
}

/// The line of devices-used.csv of a case with a device.
fn device_used(record: &CaseRecord, work: &Work) -> Option<String> {
    let device_id = record.cells.device_id.as_deref()?;
    Some(sheet_text::line([
        device_id,
        work.catalogue
            .get(device_id)
            .map_or("", |device| &device.label),
        record.cells.device_serial.as_deref().unwrap_or(""),
        record.cells.device_lot.as_deref().unwrap_or(""),
        &record.case_id,
        &record.procedure_date.to_string(),
    ]))
}

/// run.json: what was read and written, by whom and how; no time of day, so that the same run writes the same.
fn run_json(
    args: &ReportArgs,
    work: &Work,
    (earlier, since): (Option<&Work>, Option<&Since>),
    tally: &Tally,
) -> String {
    let inputs: Vec<_> = work
        .files
        .iter()
        .map(|file| {
            json!({
                "file": (!args.deidentify).then_some(&*file.name),
                "sha256": file.sha256,
                // De-identified, rows less cases would be the withheld ones.
                "rows": (!args.deidentify).then_some(file.rows),
                "separator": file.separator,
                "decimal_mark": file.decimal_mark.word(),
                "encoding": file.encoding,
            })
        })
        .collect();
    let about = |name: &str, sha256: &str| json!({ "file": (!args.deidentify).then_some(name), "sha256": sha256 });
    let run = RunFile {
        as_of: work.as_of.to_string(),
        cases: deidentified::shown(args, work, work.cases.len()),
        compared_with: earlier.map(compare::files),
        definitions: DEFINITIONS_VERSION,
        deidentified: args.deidentify,
        files: tally.written.iter().chain(&tally.kept).collect(),
        from: args.from.map(|date| date.to_string()),
        inputs,
        program: "valvefolio",
        since: since.map(|since| json!({ "file": since.file(), "sha256": since.sha256 })),
        site_file: work
            .site_read
            .as_ref()
            .map(|(name, sha256)| about(name, sha256)),
        to: args.to.map(|date| date.to_string()),
        version: env!("CARGO_PKG_VERSION"),
        withheld: deidentified::shown(args, work, work.withheld.len()),
    };
    let run = serde_json::to_string_pretty(&run).expect("texts and numbers only");
    run + "\n"
}

/// run.json, its keys in the order of the alphabet.
#[derive(Serialize)]
struct RunFile<'a> {
    as_of: String,
    cases: Option<usize>,
    compared_with: Option<Value>,
    definitions: &'static str,
    deidentified: bool,
    files: Vec<&'a Written>,
    from: Option<String>,
    inputs: Vec<Value>,
    program: &'static str,
    since: Option<Value>,
    site_file: Option<Value>,
    to: Option<String>,
    version: &'static str,
    withheld: Option<usize>,
}

fn outcome(args: &ReportArgs, work: &Work, tally: &Tally) -> Outcome {
    let mut messages = Vec::new();
    for failed in &tally.failed {
        messages.push(failed.to_string());
    }
    messages.extend(tally.not_made.iter().cloned());
    let pages = tally
        .written
        .iter()
        .filter(|written| written.file.starts_with("cases/"))
        .count();
    messages.push(format!(
        "{} written to {}: {} of {}, and {}.",
        counted(tally.written.len(), "file"),
        shown_path(&args.out),
        counted(pages, "page"),
        counted(work.cases.len(), "case"),
        counted(tally.written.len() - pages, "table and summary file"),
    ));
    let count = |severity| {
        work.diagnostics
            .iter()
            .filter(|finding| finding.severity == severity)
            .count()
    };
    if args.deidentify {
        messages.push(format!(
            "{} withheld; named without --deidentify, as are {} and {} in the inputs.",
            counted(work.withheld.len(), "row"),
            counted(count(Severity::Error), "error"),
            counted(count(Severity::Warning), "warning"),
        ));
        if !deidentified::makes(args, Make::Results) {
            messages.push(
                "Results of single cases are not written beside the summary; --make results writes them into another folder."
                    .to_owned(),
            );
        }
        return Outcome {
            exit_code: ending(args, work, tally),
            messages,
            ..Outcome::default()
        };
    }
    if !work.withheld.is_empty() {
        messages.push(format!("{} withheld:", counted(work.withheld.len(), "row")));
        messages.extend(work.withheld.iter().map(|case| {
            let id = match &*case.case_id {
                "" => "(no id)",
                id if is_an_id(id) => id,
                _ => "(no id that can be used)",
            };
            format!(
                "  {id} ({}:{}): {}",
                case.place.file, case.place.line, case.reason
            )
        }));
    }
    let listed = tally
        .written
        .iter()
        .any(|written| written.file == "problems.csv");
    messages.push(format!(
        "{} and {} in the inputs, {}.",
        counted(count(Severity::Error), "error"),
        counted(count(Severity::Warning), "warning"),
        if listed {
            "all in problems.csv"
        } else {
            "told in full by check"
        },
    ));
    Outcome {
        exit_code: ending(args, work, tally),
        messages,
        findings: work
            .diagnostics
            .iter()
            .filter(|finding| finding.severity == Severity::Error)
            .map(Diagnostic::without_cell)
            .collect(),
        ..Outcome::default()
    }
}

/// The exit code of a run that has come to its end.
fn ending(args: &ReportArgs, work: &Work, tally: &Tally) -> u8 {
    if tally.written.is_empty() {
        2
    } else if !tally.complete() {
        1
    } else if !tally.not_made.is_empty() && args.fail_on != FailOn::Never {
        // A page that cannot be made is a case withheld.
        1
    } else {
        exit_code(args.fail_on, work)
    }
}

/// Who may read what is written.
fn readers(args: &ReportArgs) -> Readers {
    if args.readable_by_others {
        Readers::AsSystem
    } else {
        Readers::Owner
    }
}

/// A bar for people who wait; nothing in a pipe.
pub fn progress(cases: usize) -> ProgressBar {
    let bar = if cases < 200 {
        ProgressBar::hidden()
    } else {
        ProgressBar::new(cases as u64)
    };
    bar.with_style(
        ProgressStyle::with_template("{bar:40} {pos} of {len} pages, {eta} to go")
            .unwrap_or_else(|_| ProgressStyle::default_bar()),
    )
}
