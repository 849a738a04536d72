//! What the reader found in the inputs: data first, rendered later.

mod full;
mod render;

use std::sync::Arc;

use crate::record::Text;

pub use render::{PROBLEM_COLUMNS, neutralised, problem_lines, problems_csv, problems_header};

/// How much a finding weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// A row was left out, or a cell was not used.
    Error,
    /// The value was kept, but should be looked at.
    Warning,
    /// Said once so that nothing is dropped silently.
    Note,
}

impl Severity {
    /// The word in problems.csv and on the terminal.
    pub fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// Declares the stable codes of problems.csv.
macro_rules! codes {
    ($($(#[doc = $doc:literal])+ $variant:ident = $word:literal,)+) => {
        /// What kind of finding it is: the stable `code` of problems.csv.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code { $($(#[doc = $doc])+ $variant),+ }
        impl Code {
            /// Every code, in the order they are documented.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// The word in problems.csv.
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
            /// What it means, in one sentence.
            pub fn meaning(self) -> &'static str {
                match self { $(Self::$variant => concat!($($doc),+)),+ }.trim()
            }
        }
    };
}

codes! {
    /// The header names a column the dictionary does not have.
    UnknownColumn = "unknown_column",
    /// The header names a column twice.
    RepeatedColumn = "repeated_column",
    /// A column that every row needs is not in the header.
    MissingColumn = "missing_column",
    /// A row has more or fewer cells than the header.
    RowLength = "row_length",
    /// A cell that the row cannot do without is blank or unreadable.
    RequiredCell = "required_cell",
    /// An id stands in more than one row.
    DuplicateId = "duplicate_id",
    /// The bytes of a cell are not text in the file's encoding.
    Encoding = "encoding",
    /// A quotation mark is opened and not closed, or text follows a closed one.
    Quotation = "quotation",
    /// A cell holds what a spreadsheet shows for a formula that failed.
    SpreadsheetError = "spreadsheet_error",
    /// A text holds characters that cannot be seen: kept without them.
    HiddenCharacter = "hidden_character",
    /// A cell that should hold a number does not.
    NotANumber = "not_a_number",
    /// A cell that should hold a date does not.
    NotADate = "not_a_date",
    /// A cell that should hold yes or no does not.
    NotYesNo = "not_yes_no",
    /// A cell holds a word that is not among its choices.
    NotAChoice = "not_a_choice",
    /// An identifier with characters or a length that is not allowed.
    BadId = "bad_id",
    /// A number outside the limits of what is believable: not used.
    NotBelievable = "not_believable",
    /// A number that looks as if it were in another unit: not used, not converted.
    UnitSlip = "unit_slip",
    /// A number outside the usual limits: kept and flagged.
    Unusual = "unusual",
    /// Cells that cannot all be right.
    Contradiction = "contradiction",
    /// A date after the day the report speaks for: unknown to it.
    AfterAsOf = "after_as_of",
    /// A visit that is left out: before the procedure, after death, or the second of a day.
    VisitLeftOut = "visit_left_out",
    /// A visit whose case is not in the cases file.
    VisitWithoutCase = "visit_without_case",
    /// A device_id that the catalogue does not have.
    DeviceNotInCatalogue = "device_not_in_catalogue",
    /// Two cases that cannot both be what they say they are, or look like a pasted row.
    Identity = "identity",
    /// A cell without a value that results lack; told where the follow-up packet is made.
    MissingValue = "missing_value",
    /// How the file was read (separator, decimal mark, encoding), said once.
    HowRead = "how_read",
}

/// Where a finding stands.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// File, as given on the command line.
    pub file: Arc<str>,
    /// Line of the file, counted from 1; 0 where the finding is about the file as a whole.
    pub line: u64,
    /// Position of the cell in its row, counted from 1; 0 where the finding is about the row.
    pub column_number: usize,
    /// Header of the cell's column; empty where the finding is about the row.
    pub column: Arc<str>,
}

/// One finding in the inputs.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Diagnostic {
    /// Where it stands; findings are sorted by this first.
    pub place: Place,
    /// How much it weighs.
    pub severity: Severity,
    /// What kind of finding it is.
    pub code: Code,
    /// The case concerned; empty where the finding is about a file or a row without a key.
    pub case_id: Text,
    /// What the file holds.
    pub found: String,
    /// What was expected, and what follows from it.
    pub expected: String,
    /// Whether the finding withholds the whole case.
    pub withholds: bool,
}

impl Diagnostic {
    /// The finding as a log may hold it: without what the cell holds, and without an expectation that repeats part of
    /// it. A key that is no id is left out too: in a row that is shifted, a name may stand there.
    pub fn without_cell(&self) -> Self {
        let repeats = matches!(
            self.code,
            Code::NotADate | Code::NotANumber | Code::UnitSlip | Code::Contradiction
        );
        let mut finding = self.clone();
        finding.found = String::new();
        if repeats {
            finding.expected = String::new();
        }
        if !is_an_id(&self.case_id) {
            finding.case_id = Text::default();
        }
        finding
    }
}

/// Whether a text has only the characters of an id: letters, digits, dot, underscore, hyphen.
pub fn is_an_id(text: &str) -> bool {
    text.chars()
        .all(|character| character.is_ascii_alphanumeric() || "._-".contains(character))
}
