//! changes.csv: which results are other than in an earlier run, and why; one row a result.

use crate::dictionary::{Described, RESULTS};
use crate::output::sheet_text::line;
use crate::worklist::{Cause, Changes};

/// Name, unit and meaning of every column, in order.
pub const COLUMNS: [Described; 11] = [
    ("case_id", "", "Key of the procedure"),
    (
        "result",
        "",
        "Column of results.csv; blank where the case as a whole is new, gone or withheld",
    ),
    ("unit", "", "Its unit"),
    (
        "change",
        "",
        "changed, became_unknown (blank or not_assessable now), became_known, new_case (not in the earlier results), \
         case_withheld (its row is withheld now) or case_gone (in the tables no longer)",
    ),
    ("before", "", "Cell of the earlier results"),
    ("now", "", "Cell of these"),
    (
        "why",
        "",
        "What can have changed it, separated by ; : input (a cell of the case or a visit), catalogue_row (of the \
         implanted device), other_catalogue_row, definitions_version, settings (of the site file), other_case, time \
         (nothing but the as-of date), unexplained (none of these: another version of the program, or a file changed \
         by hand)",
    ),
    ("as_of_before", "", "Day the earlier results speak for"),
    ("as_of", "", "Day these speak for"),
    ("definitions_before", "", "Version of the definitions then"),
    ("definitions", "", "Version now"),
];

/// The whole file.
pub fn changes_csv(changes: &Changes) -> String {
    let mut text = line(COLUMNS.map(|(name, ..)| name));
    let day = |day: Option<jiff::civil::Date>| day.map(|day| day.to_string()).unwrap_or_default();
    let (before, now) = (day(changes.as_of_before), day(changes.as_of));
    for change in &changes.list {
        let result = change.result.unwrap_or("");
        let unit = RESULTS
            .iter()
            .find(|column| column.name == result)
            .map_or("", |column| column.unit.as_str());
        let why: Vec<&str> = change.causes.iter().copied().map(Cause::word).collect();
        text += &line([
            &*change.case_id,
            result,
            unit,
            change.became.word(),
            &change.before,
            &change.now,
            &why.join(";"),
            &before,
            &now,
            &changes.definitions_before,
            &changes.definitions,
        ]);
    }
    text
}
