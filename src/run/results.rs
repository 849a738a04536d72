//! results.csv and results.json, written row by row.

use jiff::civil::Date;

use super::report::Tally;
use crate::output::folder::Folder;
use crate::output::results::{self, JSON_BETWEEN, JSON_END};
use crate::output::stream::Stream;

/// Both files while they are being written.
pub(super) struct ResultsFiles<'f> {
    table: Stream<'f>,
    objects: Stream<'f>,
    rows: usize,
}

impl<'f> ResultsFiles<'f> {
    /// Begins both, results.csv with this header, results.json with the day it speaks for, where that is told.
    pub fn begin(folder: &'f Folder, header: &str, as_of: Option<Date>) -> Self {
        let mut table = folder.begin("results.csv");
        table.add(header.as_bytes());
        let mut objects = folder.begin("results.json");
        objects.add(results::json_begin(as_of).as_bytes());
        Self {
            table,
            objects,
            rows: 0,
        }
    }

    /// Adds a case: its row and its object.
    pub fn add(&mut self, row: &str, object: &str) {
        self.table.add(row.as_bytes());
        if self.rows > 0 {
            self.objects.add(JSON_BETWEEN.as_bytes());
        }
        self.objects.add(object.as_bytes());
        self.rows += 1;
    }

    /// Puts both in their place.
    pub fn finish(mut self, tally: &mut Tally) {
        self.objects.add(JSON_END.as_bytes());
        tally.take(self.table.finish());
        tally.take(self.objects.finish());
    }
}
