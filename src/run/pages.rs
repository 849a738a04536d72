//! One page a case, written as it is made.

use std::collections::{HashMap, HashSet};

use super::report::paper;
use super::{DEFINITIONS_VERSION, Work};
use crate::assess::Assessment;
use crate::cli::ReportArgs;
use crate::draw::{Attachment, Fonts};
use crate::explain::Identity;
use crate::output::folder::{Folder, NotWritten, Written};
use crate::output::pdf::to_pdf;
use crate::output::{ledger, results};
use crate::page::case::{CasePage, PageContext, PageFault, SourceLine, State, case_page};
use crate::record::CaseRecord;

/// Where a case's page stands.
fn page_path(case_id: &str) -> String {
    format!("cases/{case_id}.pdf")
}

/// What became of one page.
pub enum Made {
    /// It stands in its place.
    Written {
        /// The file.
        written: Written,
        /// Its entry in documents.csv.
        document: Box<ledger::Document>,
    },
    /// The system refused it.
    NotWritten(NotWritten),
    /// The page is withheld; the reason names the case.
    Withheld(String),
}

/// Makes case pages: what all of them share.
pub struct Pages<'a> {
    args: &'a ReportArgs,
    work: &'a Work,
    fonts: &'a Fonts,
    only: HashSet<&'a str>,
    centre: Vec<String>,
    sources: Vec<SourceLine>,
}

impl<'a> Pages<'a> {
    /// Name and address of the centre come from the site file.
    pub fn new(args: &'a ReportArgs, work: &'a Work, fonts: &'a Fonts) -> Self {
        let centre = &work.site.centre;
        let sources = work.files.iter().map(|file| SourceLine {
            file: file.name.to_string(),
            sha256: Some(file.sha256.clone()),
        });
        Self {
            args,
            work,
            fonts,
            only: args.only.iter().map(String::as_str).collect(),
            centre: centre.name.iter().chain(&centre.address).cloned().collect(),
            sources: sources.collect(),
        }
    }

    /// The page of one case.
    ///
    /// # Errors
    /// Where what must stand on it does not fit; the fault names the case.
    pub fn page(
        &self,
        record: &CaseRecord,
        assessment: &Assessment,
    ) -> Result<CasePage, PageFault> {
        let context = PageContext {
            paper: paper(self.args, self.work),
            centre_lines: &self.centre,
            contact_lines: &self.work.site.centre.contact,
            program_version: env!("CARGO_PKG_VERSION"),
            definitions_version: DEFINITIONS_VERSION,
            sources: &self.sources,
            settings: &self.work.site.settings,
        };
        let mut page = case_page(
            record,
            assessment,
            &self.work.catalogue,
            &context,
            self.fonts,
        )?;
        // A title is read by search engines and mail gateways that never show the page: it names the case, not the patient.
        page.document.title = format!("Case {}", record.case_id);
        Ok(page)
    }

    /// Whether the page of this case was asked for.
    pub fn asked(&self, case_id: &str) -> bool {
        self.only.is_empty() || self.only.contains(case_id)
    }

    /// Makes and writes the page of a case, which takes the place of one of these. A case whose page cannot be made is
    /// named.
    pub fn write(
        &self,
        record: &CaseRecord,
        assessment: &Assessment,
        folder: &Folder,
        earlier: &Earlier<'_>,
    ) -> Made {
        let mut page = match self.page(record, assessment) {
            Ok(page) => page,
            Err(fault) => return Made::Withheld(format!("page withheld: {fault}")),
        };
        if self.args.attach {
            page.document.attachment = Some(results_of(record, assessment, self.work));
        }
        let bytes = match to_pdf(&page.document, self.fonts) {
            Ok(bytes) => bytes,
            Err(fault) => {
                return Made::Withheld(format!("page withheld: case {}: {fault}", record.case_id));
            }
        };
        let file = page_path(&record.case_id);
        let before = earlier.get(file.as_str()).copied();
        let written = keep_signed(before, &page, folder).and_then(|()| folder.write(&file, &bytes));
        match written {
            Ok(written) => Made::Written {
                document: Box::new(entry(&page, &record.case_id, self.work, before, &written)),
                written,
            },
            Err(failed) => Made::NotWritten(failed),
        }
    }
}

/// Documents of the run before, by their file.
pub type Earlier<'a> = HashMap<&'a str, &'a ledger::Document>;

/// The case's results and their trace, to lie inside its page.
fn results_of(record: &CaseRecord, assessment: &Assessment, work: &Work) -> Attachment {
    let row = results::json_row(record, assessment, &work.catalogue, Identity::Named);
    Attachment {
        name: format!("{}.json", record.case_id),
        description: "Results of this case with inputs, formulas and sources".to_owned(),
        mime: "application/json".to_owned(),
        bytes: results::json(&row).into_bytes(),
    }
}

/// A signed file is kept in `superseded/` before another takes its place, never overwritten.
fn keep_signed(
    before: Option<&ledger::Document>,
    page: &CasePage,
    folder: &Folder,
) -> Result<(), NotWritten> {
    match before {
        Some(before)
            if before.state == State::Signed.word()
                && !ledger::same_code(&before.check_code, &page.check_code)
                && folder.path(&before.file).is_file() =>
        {
            let aside = format!("superseded/{}-{}.pdf", before.case_id, before.check_code);
            folder.keep_aside(&before.file, &aside)
        }
        _ => Ok(()),
    }
}

fn entry(
    page: &CasePage,
    case_id: &str,
    work: &Work,
    before: Option<&ledger::Document>,
    written: &Written,
) -> ledger::Document {
    ledger::Document {
        file: written.file.clone(),
        case_id: case_id.to_owned(),
        kind: page.kind.word().to_owned(),
        date: work.as_of.to_string(),
        state: page.state.word().to_owned(),
        check_code: page.check_code.clone(),
        sha256: written.sha256.clone(),
        replaces: ledger::Document::replaced_by(before, &page.check_code),
    }
}

/// A document that is not a case's: the cohort summary or the packet. No check code is printed on it.
pub fn summary_entry(kind: &str, work: &Work, written: &Written) -> ledger::Document {
    ledger::Document {
        file: written.file.clone(),
        case_id: String::new(),
        kind: kind.to_owned(),
        date: work.as_of.to_string(),
        state: "draft".to_owned(),
        check_code: String::new(),
        sha256: written.sha256.clone(),
        replaces: String::new(),
    }
}
