//! Which results are other than in an earlier run, and why.
//!
//! Pure: the rows of both runs go in as text, as results.csv holds them. A cause is given where it can have changed the
//! result; where several can, all are given. That time has passed is given only where it is enough by itself: the facts
//! of today give the earlier value on the earlier day, and none of them came between the two days.

use std::collections::HashSet;
use std::sync::LazyLock;

use jiff::civil::Date;

use crate::assess::Flag;
use crate::assess::definitions::{DEFINITIONS, Read};
use crate::dictionary::{self, BASIS};
use crate::record::{Choice as _, Text};

/// Why a result changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// A cell of the case or of one of its visits, or a row more or less of them.
    Input,
    /// The implanted device's row in the devices file.
    CatalogueRow,
    /// Another row of the devices file.
    OtherCatalogueRow,
    /// The definitions have another version.
    Definitions,
    /// The site file sets other windows, thresholds, errors or formulas.
    Settings,
    /// Another case: one serial in two cases, one patient with two birth dates, two rows alike.
    OtherCase,
    /// Nothing but the day that the report speaks for.
    Time,
    /// None of these: another version of the program, or the earlier file was changed by hand.
    Unexplained,
}

impl Cause {
    /// Every cause with its meaning, for the description of changes.csv.
    pub const ALL: [Self; 8] = [
        Self::Input,
        Self::CatalogueRow,
        Self::OtherCatalogueRow,
        Self::Definitions,
        Self::Settings,
        Self::OtherCase,
        Self::Time,
        Self::Unexplained,
    ];

    /// The word of changes.csv.
    pub fn word(self) -> &'static str {
        match self {
            Self::Input => "input",
            Self::CatalogueRow => "catalogue_row",
            Self::OtherCatalogueRow => "other_catalogue_row",
            Self::Definitions => "definitions_version",
            Self::Settings => "settings",
            Self::OtherCase => "other_case",
            Self::Time => "time",
            Self::Unexplained => "unexplained",
        }
    }
}

/// What became of a result or a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Became {
    /// The value is another one.
    Changed,
    /// It was known and is not: blank or not_assessable.
    Unknown,
    /// It was not known and is.
    Known,
    /// The case was not in the earlier results.
    NewCase,
    /// The case has a row that is withheld now.
    CaseWithheld,
    /// The case is in the tables no longer.
    CaseGone,
}

impl Became {
    /// The word of changes.csv.
    pub fn word(self) -> &'static str {
        match self {
            Self::Changed => "changed",
            Self::Unknown => "became_unknown",
            Self::Known => "became_known",
            Self::NewCase => "new_case",
            Self::CaseWithheld => "case_withheld",
            Self::CaseGone => "case_gone",
        }
    }
}

/// One result of one case that is other than before, or a case that is new or gone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The case.
    pub case_id: Text,
    /// What became of it.
    pub became: Became,
    /// The column of results.csv; `None` for a case as a whole.
    pub result: Option<&'static str>,
    /// Cell of the earlier results.
    pub before: String,
    /// Cell of these.
    pub now: String,
    /// Why, gravest first; empty for a case as a whole.
    pub causes: Vec<Cause>,
}

/// Everything that is other than in an earlier run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Changes {
    /// The earlier results, as the user named them.
    pub file: String,
    /// The day they spoke for; `None` where they held no case.
    pub as_of_before: Option<Date>,
    /// The day that these speak for.
    pub as_of: Option<Date>,
    /// Version of the definitions then.
    pub definitions_before: String,
    /// Version now.
    pub definitions: String,
    /// Cases that both have.
    pub compared: usize,
    /// Of these, the ones with another input.
    pub input_changed: usize,
    /// In the order of the cases file; cases that are gone last, in the order of the earlier file.
    pub list: Vec<Change>,
}

/// The rows of one results.csv, by the names of its columns: results first, then what they rest on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ResultRow {
    cells: Vec<String>,
}

/// Names of the columns of results.csv, in its order.
pub fn columns() -> impl Iterator<Item = &'static str> {
    dictionary::RESULTS
        .iter()
        .map(|column| column.name.as_str())
        .chain(BASIS.iter().map(|(name, ..)| *name))
}

impl ResultRow {
    /// A row whose cells stand in the order of [`columns`].
    pub fn new(cells: Vec<String>) -> Self {
        Self { cells }
    }

    /// The case, as results.csv writes it.
    pub fn id(&self) -> &str {
        self.cells.first().map_or("", String::as_str)
    }

    fn basis(&self, name: &str) -> &str {
        let position = columns().position(|column| column == name);
        position
            .and_then(|position| self.cells.get(position))
            .map_or("", String::as_str)
    }

    /// Results without the id, each with its column.
    fn results(&self) -> impl Iterator<Item = (&'static str, &str)> {
        dictionary::RESULTS
            .iter()
            .zip(&self.cells)
            .skip(1)
            .map(|(column, cell)| (column.name.as_str(), cell.as_str()))
    }

    /// Whether any result is other than in the other row.
    pub fn differs(&self, other: &Self) -> bool {
        self.results()
            .zip(other.results())
            .any(|((_, one), (_, other))| !same(one, other))
    }
}

/// What today's facts of a case give on the day of the earlier results.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnEarlierDay {
    /// The row.
    pub row: ResultRow,
    /// Whether the same facts were known of the case on both days.
    pub same_facts: bool,
}

/// What changed in a case that both runs have.
pub fn changes_of(
    case_id: &Text,
    before: &ResultRow,
    now: &ResultRow,
    then: Option<&OnEarlierDay>,
) -> Vec<Change> {
    let other = |name| before.basis(name) != now.basis(name);
    let facts = Differences {
        input: other("input_hash"),
        catalogue_row: other("catalogue_hash") && other("device_row_hash"),
        catalogue: other("catalogue_hash"),
        definitions: other("definitions_version"),
        settings: other("settings_hash"),
    };
    let mut then_cells = then.map(|then| then.row.results());
    before
        .results()
        .zip(now.results())
        .filter_map(|((result, was), (_, is))| {
            let then_cell = then_cells
                .as_mut()
                .and_then(|cells| cells.next().map(|(_, cell)| cell));
            (!same(was, is)).then(|| {
                let same_facts = then.is_some_and(|then| then.same_facts);
                Change {
                    case_id: case_id.clone(),
                    became: became(result, was, is),
                    result: Some(result),
                    before: was.to_owned(),
                    now: is.to_owned(),
                    causes: causes(result, was, is, then_cell, same_facts, &facts),
                }
            })
        })
        .collect()
}

/// Whether the input of a case is other than before.
pub fn input_changed(before: &ResultRow, now: &ResultRow) -> bool {
    before.basis("input_hash") != now.basis("input_hash")
}

/// What is other between the two runs.
struct Differences {
    input: bool,
    catalogue_row: bool,
    catalogue: bool,
    definitions: bool,
    settings: bool,
}

fn causes(
    result: &str,
    was: &str,
    is: &str,
    then: Option<&str>,
    same_facts: bool,
    differ: &Differences,
) -> Vec<Cause> {
    if then.is_some_and(|then| same(then, was)) && (same_facts || !differ.input) {
        return vec![Cause::Time];
    }
    let flags = Flags::of(result, was, is);
    let any = !known_to_read(result) && flags != Flags::OfOthers;
    let of_device = READS.row.contains(result) || any;
    let of_catalogue = READS.ranges.contains(result) || any;
    let mut causes: Vec<Cause> = [
        (differ.input, Cause::Input),
        (
            differ.catalogue_row && (of_device || of_catalogue),
            Cause::CatalogueRow,
        ),
        (
            differ.catalogue && !differ.catalogue_row && of_catalogue,
            Cause::OtherCatalogueRow,
        ),
        (differ.definitions, Cause::Definitions),
        (differ.settings && flags != Flags::OfOthers, Cause::Settings),
        (flags != Flags::OfTheCase, Cause::OtherCase),
    ]
    .into_iter()
    .filter_map(|(applies, cause)| applies.then_some(cause))
    .collect();
    if causes.is_empty() {
        causes.push(match then {
            Some(then) if !same(then, is) => Cause::Time,
            _ => Cause::Unexplained,
        });
    }
    causes
}

/// Flags, fragile classes, doubts and missing columns are no results with a definition of their own: they can come from
/// any cell.
fn known_to_read(result: &str) -> bool {
    DEFINITIONS
        .iter()
        .any(|definition| definition.name == result)
}

/// Results that read the implanted device's row, and those that read the ranges of all rows, directly or through another
/// result.
static READS: LazyLock<Reads> = LazyLock::new(|| Reads {
    row: reading(|read| matches!(read, Read::Device(_))),
    ranges: reading(|read| matches!(read, Read::Ranges)),
});

struct Reads {
    row: HashSet<&'static str>,
    ranges: HashSet<&'static str>,
}

fn reading(directly: impl Fn(&Read) -> bool) -> HashSet<&'static str> {
    let mut found: HashSet<&'static str> = HashSet::new();
    loop {
        let before = found.len();
        for definition in DEFINITIONS {
            let reads = definition.reads.iter().chain(definition.or_reads);
            let mut through = reads.clone().filter_map(|read| match read {
                Read::Result(name) => Some(*name),
                _ => None,
            });
            if reads.clone().any(&directly) || through.any(|name| found.contains(name)) {
                found.insert(definition.name);
            }
        }
        if found.len() == before {
            return found;
        }
    }
}

/// Which flags came or went.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Flags {
    /// None that rests on other cases, or the result is no list of flags.
    OfTheCase,
    /// Only such as rest on other cases too.
    OfOthers,
    /// Both.
    Mixed,
}

impl Flags {
    fn of(result: &str, was: &str, is: &str) -> Self {
        if result != "flags" {
            return Self::OfTheCase;
        }
        let across = [Flag::IdentityConflict, Flag::PossiblePastedRow].map(Flag::word);
        let apart = |these: &str, those: &str| -> Vec<bool> {
            let those: Vec<&str> = those.split(';').collect();
            let these = these.split(';').filter(|word| !word.is_empty());
            these
                .filter(|word| !those.contains(word))
                .map(|word| across.contains(&word))
                .collect()
        };
        let other = [apart(was, is), apart(is, was)].concat();
        match (other.contains(&true), other.contains(&false)) {
            (true, false) => Self::OfOthers,
            (true, true) => Self::Mixed,
            (false, _) => Self::OfTheCase,
        }
    }
}

/// The same text, or the same number written otherwise (a spreadsheet may have saved the file).
fn same(one: &str, other: &str) -> bool {
    one == other
        || match (one.parse::<f64>(), other.parse::<f64>()) {
            #[expect(clippy::float_cmp, reason = "the same number, not a near one")]
            (Ok(one), Ok(other)) => one == other,
            _ => false,
        }
}

/// Lists at the end of results.csv: a blank one is empty, not unknown.
const LISTS: [&str; 4] = ["fragile", "in_doubt", "flags", "missing"];

fn became(result: &str, was: &str, is: &str) -> Became {
    let unknown = |cell: &str| cell.is_empty() || cell == "not_assessable";
    if LISTS.contains(&result) || unknown(was) == unknown(is) {
        Became::Changed
    } else if unknown(is) {
        Became::Unknown
    } else {
        Became::Known
    }
}

impl Change {
    /// A case as a whole.
    pub fn of_case(case_id: Text, became: Became) -> Self {
        Self {
            case_id,
            became,
            result: None,
            before: String::new(),
            now: String::new(),
            causes: Vec::new(),
        }
    }

    /// Whether nothing but the day made it.
    pub fn by_time_alone(&self) -> bool {
        self.causes == [Cause::Time]
    }

    /// For a list of words: the words that are new, and those that are gone; `None` for any other result.
    pub fn words_changed<'a>(&'a self) -> Option<(Vec<&'a str>, Vec<&'a str>)> {
        let list = LISTS.contains(&self.result?)
            || self.result.is_some_and(|name| name.ends_with("_sizes"));
        list.then(|| {
            let apart = |these: Vec<&'a str>, those: &[&str]| -> Vec<&'a str> {
                these
                    .into_iter()
                    .filter(|word| !word.is_empty() && !those.contains(word))
                    .collect()
            };
            let (was, is): (Vec<&'a str>, Vec<&'a str>) = (
                self.before.split(';').collect(),
                self.now.split(';').collect(),
            );
            let new = apart(is.clone(), &was);
            (new, apart(was, &is))
        })
    }
}

impl Changes {
    /// Changes of one case, in the order of results.csv.
    pub fn of<'a>(&'a self, case_id: &'a str) -> impl Iterator<Item = &'a Change> {
        self.list
            .iter()
            .filter(move |change| &*change.case_id == case_id)
    }

    /// Cases with a change, in the order of the list, each with its changes.
    pub fn cases(&self) -> Vec<&[Change]> {
        self.list
            .chunk_by(|one, next| one.case_id == next.case_id)
            .collect()
    }
}
