//! The cases of a run: read once, at rest, assessed when their turn comes.
//!
//! An assessed case takes thirty times the room of one at rest, and pages and results look at one case at a time. So
//! cases are assessed batch by batch, and what is made of a batch is written before the next but one is begun. Memory
//! grows with what the files hold and not with what the program says of it.

use std::mem;
use std::path::PathBuf;
use std::sync::Arc;

use jiff::civil::Date;
use rayon::prelude::*;

use super::{RunError, encoding_named, findings};
use crate::assess::{AcrossCases, Assessment, Known, Likeness, across_cases, assess};
use crate::cli::BesideArgs;
use crate::diagnostic::Diagnostic;
use crate::input::{self, FileRead, Inputs, OpenedSource, Site, Source, Withheld};
use crate::output::folder::sha256_hex;
use crate::record::{CaseAtRest, CaseRecord, Catalogue};
use crate::settings::Settings;

/// Cases assessed at a time: enough that no thread waits long for the last of a batch.
const BATCH: usize = 64;

/// Everything that was read, in the order of the cases file.
pub struct Work {
    /// The day the report speaks for.
    pub as_of: Date,
    /// Every case that was not withheld.
    pub cases: Vec<CaseAtRest>,
    /// What the others say of each of them.
    across: Vec<AcrossCases>,
    /// The devices file.
    pub catalogue: Catalogue,
    /// Cases that were left out, with the reason.
    pub withheld: Vec<Withheld>,
    /// Every finding, sorted by place; those of the assessments once they were noted.
    pub diagnostics: Vec<Diagnostic>,
    /// How each file was read.
    pub files: Vec<FileRead>,
    /// What the centre sets once.
    pub site: Site,
    /// Name and SHA-256 of the site file, where one was given.
    pub site_read: Option<(Arc<str>, String)>,
}

/// Reads every case and holds each against the others; no finding of an assessment is noted yet.
pub(super) fn prepare(cases: &[PathBuf], args: &BesideArgs, today: Date) -> Result<Work, RunError> {
    let open = |path: &PathBuf| OpenedSource::open(path);
    let cases = cases.iter().map(open).collect::<Result<Vec<_>, _>>()?;
    let followups = args.followups.as_ref().map(open).transpose()?;
    let devices = args.devices.as_ref().map(open).transpose()?;
    let encoding = encoding_named(args.encoding.as_deref())?;
    let site = args.site.as_deref().map(Source::open).transpose()?;
    let (site, site_read) = match site {
        Some(source) => (
            Site::read(&source)?,
            Some((source.name.clone(), sha256_hex(&source.bytes))),
        ),
        None => (Site::default(), None),
    };
    let options = site.read_options(encoding);
    let inputs = input::read_opened(cases, followups, devices, &options)?;
    let mut work = Work::of(inputs, site.settings, args.as_of.unwrap_or(today));
    work.site = site;
    work.site_read = site_read;
    Ok(work)
}

/// Every case that the reader let through, with every finding.
pub fn assess_all(inputs: Inputs, settings: Settings, as_of: Date) -> Work {
    let mut work = Work::of(inputs, settings, as_of);
    work.note_findings();
    work
}

impl Work {
    /// Holds each case against the others; no finding of an assessment is noted yet.
    fn of(inputs: Inputs, settings: Settings, as_of: Date) -> Self {
        let Inputs {
            mut cases,
            catalogue,
            mut withheld,
            mut diagnostics,
            files,
            ..
        } = inputs;
        for case in cases.extract_if(.., |case| case.procedure_date > as_of) {
            diagnostics.push(findings::after_the_report(&case, as_of, &files));
            let record = case.record();
            withheld.push(Withheld::read(
                record.case_id,
                record.place,
                format!("procedure after the day the report speaks for, {as_of}"),
                &record.cells,
            ));
        }
        withheld.sort_by(|a, b| a.place.cmp(&b.place));
        let likenesses: Vec<Likeness> = cases
            .par_iter()
            .map(|case| Likeness::of_case(case, as_of))
            .collect();
        Self {
            as_of,
            across: across_cases(&likenesses),
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

    /// The case at this position, assessed.
    pub fn assessed(&self, position: usize) -> (CaseRecord, Assessment) {
        let record = self.cases[position].record();
        let assessment = self.assessment(position, &record);
        (record, assessment)
    }

    /// The assessment of the case at this position, whose record it is.
    fn assessment(&self, position: usize, record: &CaseRecord) -> Assessment {
        let known = Known::on(record, self.as_of).expect("cases of later days are withheld");
        let across = self.across[position].clone();
        assess(record, known, &self.catalogue, &self.site.settings, across)
    }

    /// The assessment of every case, in their order, for what must look at all of them at once: the records are not
    /// held.
    pub fn assessments(&self) -> Vec<Assessment> {
        (0..self.cases.len())
            .into_par_iter()
            .map(|position| self.assessment(position, &self.cases[position].record()))
            .collect()
    }

    /// Every case with its assessment, in their order.
    pub fn all_assessed(&self) -> Vec<(CaseRecord, Assessment)> {
        (0..self.cases.len())
            .into_par_iter()
            .map(|position| self.assessed(position))
            .collect()
    }

    /// Assesses the cases at these positions, batch by batch: `make` makes something of each, in parallel, and `take`
    /// takes what was made, in the order of the positions, while the next batch is being made.
    pub(super) fn each<M: Send>(
        &self,
        positions: impl IntoIterator<Item = usize>,
        make: impl Fn(usize, &CaseRecord, &Assessment) -> M + Sync,
        mut take: impl FnMut(M) + Send,
    ) {
        let mut positions = positions.into_iter();
        let mut made: Vec<M> = Vec::new();
        loop {
            let batch: Vec<usize> = positions.by_ref().take(BATCH).collect();
            let last = mem::take(&mut made);
            ((), made) = rayon::join(
                || last.into_iter().for_each(&mut take),
                || {
                    batch
                        .par_iter()
                        .map(|&position| {
                            let record = self.cases[position].record();
                            let assessment = self.assessment(position, &record);
                            make(position, &record, &assessment)
                        })
                        .collect()
                },
            );
            if made.is_empty() {
                break;
            }
        }
    }

    /// What the assessment of a case found in the inputs.
    pub(super) fn findings_of(
        &self,
        record: &CaseRecord,
        assessment: &Assessment,
    ) -> Vec<Diagnostic> {
        findings::of_case(record, assessment, &self.catalogue, &self.files)
    }

    /// Notes what the assessments found.
    pub(super) fn note(&mut self, found: Vec<Diagnostic>) {
        self.diagnostics.extend(found);
        self.diagnostics.sort();
    }

    /// Assesses every case for what it finds in the inputs, and notes it.
    pub(super) fn note_findings(&mut self) {
        let mut found = Vec::new();
        self.each(
            0..self.cases.len(),
            |_, record, assessment| self.findings_of(record, assessment),
            |more| found.extend(more),
        );
        self.note(found);
    }
}
