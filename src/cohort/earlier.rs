//! An earlier period that comes from a case file of its own.

use std::collections::HashSet;

use jiff::civil::Date;

use super::audit_case::AuditCase;
use super::period::Period;
use crate::assess::Assessment;
use crate::record::Catalogue;

/// The cases of an earlier period, read from their own file.
#[derive(Clone, Copy)]
pub struct EarlierFile<'a> {
    /// Its cases, assessed.
    pub cases: &'a [&'a Assessment],
    /// The devices they were assessed with.
    pub catalogue: &'a Catalogue,
    /// Cases of it that were withheld.
    pub withheld: usize,
}

/// What was taken from such a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Taken {
    /// Cases that stand beside the period.
    pub n: usize,
    /// Cases that were withheld, and stand in no number.
    pub withheld: usize,
    /// Cases left out because they belong to the period, or came after its first day.
    pub not_earlier: usize,
    /// First and last procedure date of those taken.
    pub span: Option<(Date, Date)>,
}

/// The cases of the file that are earlier than the period: two groups are compared as independent, so no case may stand
/// on both sides.
pub fn earlier_cases<'a>(
    file: &EarlierFile<'a>,
    period: &Period,
    of_period: &[&AuditCase<'_>],
) -> (Vec<AuditCase<'a>>, Taken) {
    let here: HashSet<&str> = of_period.iter().map(|case| &**case.case_id()).collect();
    let mut cases: Vec<AuditCase<'a>> = file
        .cases
        .iter()
        .map(|assessment| AuditCase::new(assessment, file.catalogue))
        .filter(|case| {
            !here.contains(&**case.case_id())
                && period.from.is_none_or(|from| case.procedure_date() < from)
        })
        .collect();
    cases.sort_by(|a, b| (a.procedure_date(), a.case_id()).cmp(&(b.procedure_date(), b.case_id())));
    let dates = || cases.iter().map(AuditCase::procedure_date);
    let taken = Taken {
        n: cases.len(),
        withheld: file.withheld,
        not_earlier: file.cases.len() - cases.len(),
        span: dates().min().zip(dates().max()),
    };
    (cases, taken)
}
