//! The contract as data: every input column, result and cohort measure, with units and limits.
//!
//! The three CSV files beside this module are the project's dictionary. They drive the reader, the template,
//! the help and the files that are written; `tests/dictionary.rs` keeps them equal to the typed records.

use std::sync::LazyLock;

use serde::Deserialize;

/// One column of an input file.
#[derive(Clone, Debug, Deserialize)]
pub struct Column {
    /// `cases`, `followups` or `devices`.
    pub file: String,
    /// Header.
    #[serde(rename = "column")]
    pub name: String,
    /// Unit as people write it; empty where there is none.
    pub unit: String,
    /// `id`, `text`, `number`, `integer`, `date`, `choice` or `yes_no`.
    pub kind: String,
    /// The words of a choice, separated by `|`.
    pub choices: String,
    /// Below this a value is unusual: kept and flagged.
    pub flag_below: Option<f64>,
    /// Above this a value is unusual: kept and flagged.
    pub flag_above: Option<f64>,
    /// Below this a value is not believable: not used.
    pub reject_below: Option<f64>,
    /// Above this a value is not believable: not used.
    pub reject_above: Option<f64>,
    /// `required` where a row cannot do without it.
    pub need: String,
    /// Who has the value: echo, ct, cath, ward, laboratory, clinic, administration or catalogue.
    pub from: String,
    /// What the column means.
    pub meaning: String,
}

impl Column {
    /// Whether a row cannot do without this cell.
    pub fn required(&self) -> bool {
        self.need == "required"
    }
    /// The words of a choice, in order.
    pub fn words(&self) -> impl Iterator<Item = &str> {
        self.choices.split('|').filter(|word| !word.is_empty())
    }
}

/// One column of results.csv.
#[derive(Clone, Debug, Deserialize)]
pub struct ResultColumn {
    /// Header.
    #[serde(rename = "column")]
    pub name: String,
    /// Unit; empty where there is none.
    pub unit: String,
    /// `id`, `text`, `number`, `integer`, `date` or `choice`.
    pub kind: String,
    /// The words of a choice, separated by `|`.
    pub choices: String,
    /// How it is defined, in one line.
    pub definition: String,
    /// Published source; empty where there is none.
    pub source: String,
}

/// One measure of cohort.csv.
#[derive(Clone, Debug, Deserialize)]
pub struct Measure {
    /// Name.
    #[serde(rename = "measure")]
    pub name: String,
    /// `proportion`, `quantity`, `paired`, `ratio`, `survival` or `incidence`.
    pub kind: String,
    /// Unit; empty where there is none.
    pub unit: String,
    /// Days after the procedure from which a case can be judged.
    pub mature_after_days: Option<i64>,
    /// How it is defined, in one line.
    pub definition: String,
}

fn table<T: for<'de> Deserialize<'de>>(text: &str) -> Vec<T> {
    csv::Reader::from_reader(text.as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("the embedded dictionary is well formed; tests/dictionary.rs reads all of it")
}

/// Every input column, file by file, in the order of the template.
pub static COLUMNS: LazyLock<Vec<Column>> = LazyLock::new(|| table(include_str!("columns.csv")));
/// Every result, in the order of results.csv.
pub static RESULTS: LazyLock<Vec<ResultColumn>> =
    LazyLock::new(|| table(include_str!("results.csv")));
/// Every measure, in the order of cohort.csv.
pub static MEASURES: LazyLock<Vec<Measure>> = LazyLock::new(|| table(include_str!("cohort.csv")));

/// A column of a file that we write, beside the results and measures: name, unit and meaning.
pub type Described = (&'static str, &'static str, &'static str);

/// Columns of results.csv behind the results: what a row rests on, so that a later run can say why a result changed.
/// The hashes are how they are made (`3-`) and 16 hexadecimal digits, an XXH3 of 64 bits over values as they were read, not
/// over bytes: another unit, encoding, header or order of columns changes none. A de-identified results.csv has none of these columns.
pub const BASIS: [Described; 6] = [
    ("as_of", "", "Day the report speaks for"),
    (
        "definitions_version",
        "",
        "Version of the definitions the results follow",
    ),
    (
        "input_hash",
        "",
        "Of every cell of the case and of its visits that a result can read, and of which were rejected or unusual",
    ),
    (
        "device_row_hash",
        "",
        "Of the implanted device's row in the devices file; blank where there is none",
    ),
    (
        "catalogue_hash",
        "",
        "Of every row of the devices file, in their order",
    ),
    (
        "settings_hash",
        "",
        "Of what the site file sets for results: formula of the body surface area, schedule, measurement errors, \
         thresholds for attention",
    ),
];

/// The columns of one file (`cases`, `followups` or `devices`), in order.
pub fn columns_of(file: &str) -> impl Iterator<Item = &'static Column> {
    COLUMNS.iter().filter(move |column| column.file == file)
}

/// The column of this name in this file.
pub fn column(file: &str, name: &str) -> Option<&'static Column> {
    COLUMNS
        .iter()
        .find(|column| column.file == file && column.name == name)
}

/// Smallest and largest believable age at the procedure (completed years).
pub fn age_limits() -> (f64, f64) {
    static LIMITS: LazyLock<(f64, f64)> = LazyLock::new(|| {
        let age = column("cases", "age_years").expect("the dictionary has the age column");
        (
            age.reject_below.unwrap_or(f64::NEG_INFINITY),
            age.reject_above.unwrap_or(f64::INFINITY),
        )
    });
    *LIMITS
}
