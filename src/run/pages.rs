//! One page a case, written as it is made.

use std::collections::HashMap;

use super::report::paper;
use super::{DEFINITIONS_VERSION, Work};
use crate::assess::Assessment;
use crate::cli::{Make, ReportArgs};
use crate::draw::{Attachment, Fonts};
use crate::explain::Identity;
use crate::output::folder::{Folder, NotWritten, Written, sha256_hex};
use crate::output::pdf::to_pdf;
use crate::output::{ledger, results};
use crate::page::case::{CasePage, PageContext, PageFault, SourceLine, State, case_page};
use crate::record::CaseRecord;

/// Where a case's page stands.
fn page_path(case_id: &str) -> String {
    format!("cases/{case_id}.pdf")
}

/// Whether a page of this case was asked for.
pub fn asked(args: &ReportArgs, case_id: &str) -> bool {
    let pages = args.make.is_empty() || args.make.contains(&Make::Pages);
    pages && (args.only.is_empty() || args.only.iter().any(|id| id == case_id))
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
        let written = match signed_there(before, &file, folder) {
            Some(there) if there.stays(&page, before) => Ok(there.written(&file)),
            Some(there) if there.bytes != bytes => {
                keep_signed(&there, &record.case_id, &file, folder)
                    .and_then(|()| folder.write(&file, &bytes))
            }
            _ => folder.write(&file, &bytes),
        };
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
        bytes: results::json(work.as_of, &row).into_bytes(),
    }
}

/// A signed page that stands where a new one is to stand.
struct Signed {
    check_code: String,
    bytes: Vec<u8>,
}

impl Signed {
    /// Whether it is the page that was made now and as it was written: what was signed stays the file that was signed,
    /// though the input files that its foot names may have changed elsewhere.
    fn stays(&self, page: &CasePage, before: Option<&ledger::Document>) -> bool {
        page.state == State::Signed
            && ledger::same_code(&self.check_code, &page.check_code)
            && before.is_some_and(|before| before.sha256 == sha256_hex(&self.bytes))
    }

    fn written(&self, file: &str) -> Written {
        Written {
            file: file.to_owned(),
            sha256: sha256_hex(&self.bytes),
        }
    }
}

/// The signed page in this place, if there is one. The list of documents says so; where it may not know (no entry, a page
/// that could not be renewed, a run that was stopped before it wrote its list) the file itself is asked.
fn signed_there(before: Option<&ledger::Document>, file: &str, folder: &Folder) -> Option<Signed> {
    let listed = before.filter(|before| before.state == State::Signed.word());
    let unlisted = before.is_none_or(|before| before.state == ledger::NOT_RENEWED);
    if listed.is_none() && !unlisted && !folder.after_unfinished() {
        return None;
    }
    let bytes = folder.bytes(file)?;
    let check_code =
        ledger::signed_code(&bytes).or_else(|| listed.map(|before| before.check_code.clone()))?;
    Some(Signed { check_code, bytes })
}

/// A signed file is kept in `superseded/` before another takes its place, never overwritten there either.
fn keep_signed(
    there: &Signed,
    case_id: &str,
    file: &str,
    folder: &Folder,
) -> Result<(), NotWritten> {
    let aside = format!("superseded/{case_id}-{}", there.check_code);
    let plain = format!("{aside}.pdf");
    match folder.bytes(&plain) {
        Some(kept) if kept == there.bytes => Ok(()),
        Some(_) => {
            let sha256 = sha256_hex(&there.bytes);
            folder.keep_aside(file, &format!("{aside}-{}.pdf", &sha256[..8]))
        }
        None => folder.keep_aside(file, &plain),
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
