//! `--since`: these results held against those of an earlier run.

use std::collections::HashSet;

use super::report::basis;
use super::{DEFINITIONS_VERSION, RunError, Work};
use crate::assess::{Assessment, Known, assess};
use crate::cli::ReportArgs;
use crate::explain::Basis;
use crate::input::Source;
use crate::output::earlier::{Earlier, NotResults};
use crate::output::folder::sha256_hex;
use crate::output::results::row_with_basis;
use crate::record::CaseRecord;
use crate::worklist::{
    Became, Change, Changes, OnEarlierDay, ResultRow, changes_of, input_changed,
};

/// The earlier results and their SHA-256, read before anything is written: they may lie in the folder written to.
pub struct Since {
    earlier: Earlier,
    /// Of the file's bytes.
    pub sha256: String,
}

impl Since {
    /// Reads the file, where one was named.
    ///
    /// # Errors
    /// Where it cannot be read, is not the results.csv of an earlier run, or speaks for a later day than this run.
    pub fn open(args: &ReportArgs, work: &Work) -> Result<Option<Self>, RunError> {
        let Some(path) = &args.since else {
            return Ok(None);
        };
        let source = Source::open(path)?;
        let earlier = Earlier::parse(&source.name, &source.bytes)?;
        if let Some(day) = earlier.as_of
            && day > work.as_of
        {
            return Err(NotResults {
                file: source.name.to_string(),
                why: format!(
                    "its results speak for {day}, later than the {} of this report",
                    work.as_of
                ),
            }
            .into());
        }
        Ok(Some(Self {
            earlier,
            sha256: sha256_hex(&source.bytes),
        }))
    }

    /// The file, as the user named it.
    pub fn file(&self) -> &str {
        &self.earlier.file
    }

    /// What changed since.
    pub fn changes(&self, work: &Work) -> Changes {
        let basis = basis(work);
        let mut of_cases: Vec<OfCase> = Vec::with_capacity(work.cases.len());
        work.each(
            0..work.cases.len(),
            |_, record, assessment| self.of_case(work, &basis, record, assessment),
            |case| of_cases.push(case),
        );
        let count = |counts: &dyn Fn(&OfCase) -> bool| -> usize {
            of_cases.iter().filter(|case| counts(case)).count()
        };
        let mut changes = Changes {
            file: self.earlier.file.clone(),
            as_of_before: self.earlier.as_of,
            as_of: Some(work.as_of),
            definitions_before: self.earlier.definitions.clone(),
            definitions: DEFINITIONS_VERSION.to_owned(),
            compared: count(&|case| case.compared),
            input_changed: count(&|case| case.input_changed),
            list: Vec::new(),
        };
        let present: HashSet<String> = of_cases.iter().map(|case| case.id.clone()).collect();
        for case in of_cases {
            changes.list.extend(case.changes);
        }
        let withheld: HashSet<&str> = work.withheld.iter().map(|row| &*row.case_id).collect();
        for id in &self.earlier.ids {
            if !present.contains(id) {
                // An id holds no apostrophe; the one in front is ours.
                let id = id.trim_start_matches('\'');
                let became = if withheld.contains(id) {
                    Became::CaseWithheld
                } else {
                    Became::CaseGone
                };
                changes.list.push(Change::of_case(id.into(), became));
            }
        }
        changes
    }

    fn of_case(
        &self,
        work: &Work,
        basis: &Basis,
        record: &CaseRecord,
        assessment: &Assessment,
    ) -> OfCase {
        let row = |assessment: &Assessment| {
            let written = row_with_basis(record, assessment, &work.catalogue, basis);
            let cells = csv::ReaderBuilder::new()
                .has_headers(false)
                .from_reader(written.as_bytes())
                .records()
                .next()
                .and_then(Result::ok)
                .map_or_else(Vec::new, |record| {
                    record.iter().map(str::to_owned).collect()
                });
            ResultRow::new(cells)
        };
        let now = row(assessment);
        let id = now.id().to_owned();
        let Some(before) = self.earlier.row(&id) else {
            return OfCase {
                id,
                changes: vec![Change::of_case(record.case_id.clone(), Became::NewCase)],
                compared: false,
                input_changed: false,
            };
        };
        let mut changes = Vec::new();
        if before.differs(&now) {
            let then = self.earlier.as_of.filter(|day| *day != work.as_of);
            let then = then.and_then(|day| {
                let known = Known::on(record, day)?;
                let same_facts = known.same_facts(&assessment.known);
                let settings = &work.site.settings;
                let across = assessment.across.clone();
                let assessment = assess(record, known, &work.catalogue, settings, across);
                Some(OnEarlierDay {
                    row: row(&assessment),
                    same_facts,
                })
            });
            changes = changes_of(&record.case_id, before, &now, then.as_ref());
        }
        OfCase {
            id,
            changes,
            compared: true,
            input_changed: input_changed(before, &now),
        }
    }
}

/// What became of one case.
struct OfCase {
    /// As results.csv writes it.
    id: String,
    changes: Vec<Change>,
    /// Whether the earlier results have it too.
    compared: bool,
    input_changed: bool,
}
