//! How the files of one centre are written: what the site file may say about reading.

use encoding_rs::Encoding;

use super::date::DateFormat;
use super::number::DecimalMark;
use super::units::Conversion;

/// How a centre writes its files, where it differs from the dictionary.
#[derive(Clone, Debug, Default)]
pub struct Dialect {
    /// How dates are written besides YYYY-MM-DD.
    pub date_format: Option<DateFormat>,
    /// What is other in the files of one table, which may come from another system.
    pub of_table: Vec<OfTable>,
    /// The decimal mark of every file; found out file by file where it is not given.
    pub decimal_mark: Option<DecimalMark>,
    /// Words that stand for a blank cell, besides the common ones.
    pub blank_words: Vec<String>,
    /// What a word of the centre is in the words of the dictionary, in every column that has the latter.
    pub words: Vec<Word>,
    /// The centre's own headers.
    pub headers: Vec<HeaderRule>,
}

/// How the files of one table are written, where they differ from the others.
#[derive(Clone, Debug)]
pub struct OfTable {
    /// `cases`, `followups` or `devices`.
    pub file: &'static str,
    /// How dates are written besides YYYY-MM-DD.
    pub date_format: Option<DateFormat>,
    /// The decimal mark.
    pub decimal_mark: Option<DecimalMark>,
    /// The encoding of files without a byte order mark.
    pub encoding: Option<&'static Encoding>,
}

impl Dialect {
    /// How the files of this table are written, with `encoding` where the table has none of its own.
    pub(super) fn for_table(
        &self,
        file: &str,
        encoding: Option<&'static Encoding>,
    ) -> (Option<&'static Encoding>, Self) {
        let mut dialect = self.clone();
        let Some(own) = self.of_table.iter().find(|table| table.file == file) else {
            return (encoding, dialect);
        };
        dialect.date_format = own.date_format.clone().or(dialect.date_format);
        dialect.decimal_mark = own.decimal_mark.or(dialect.decimal_mark);
        (own.encoding.or(encoding), dialect)
    }
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
