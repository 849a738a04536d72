//! How the files of one centre are written: what the site file may say about reading.

use super::date::DateFormat;
use super::number::DecimalMark;
use super::units::Conversion;

/// How a centre writes its files, where it differs from the dictionary.
#[derive(Clone, Debug, Default)]
pub struct Dialect {
    /// How dates are written besides YYYY-MM-DD.
    pub date_format: Option<DateFormat>,
    /// The decimal mark of every file; found out file by file where it is not given.
    pub decimal_mark: Option<DecimalMark>,
    /// Words that stand for a blank cell, besides the common ones.
    pub blank_words: Vec<String>,
    /// What a word of the centre is in the words of the dictionary, in every column that has the latter.
    pub words: Vec<Word>,
    /// The centre's own headers.
    pub headers: Vec<HeaderRule>,
}

/// A word of the centre and the word of the dictionary that it means; empty where it means blank.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Word {
    /// As the centre writes it.
    pub written: String,
    /// As the dictionary writes it.
    pub means: String,
}

/// What one header of the centre's export stands for.
#[derive(Clone, Debug)]
pub struct HeaderRule {
    /// `cases`, `followups` or `devices`.
    pub file: &'static str,
    /// The header as the export writes it.
    pub header: String,
    /// The column of the dictionary.
    pub column: &'static str,
    /// How its numbers become numbers in the column's unit; `None` where they are.
    pub(super) conversion: Option<&'static Conversion>,
    /// Words of this column alone; they go before everything else.
    pub words: Vec<Word>,
}
