//! The columns of every table that a run writes, with unit and meaning.

use super::{changes, worklist};
use crate::dictionary::{BASIS, Described, MEASURES, RESULTS};

/// Tables that a run writes, in the order of the README.
pub const TABLES: [&str; 9] = [
    "results.csv",
    "cohort.csv",
    "cohort-series.csv",
    "worklist.csv",
    "data-gaps.csv",
    "changes.csv",
    "documents.csv",
    "devices-used.csv",
    "problems.csv",
];

const COHORT: [Described; 16] = [
    (
        "measure",
        "",
        "Name of the measure; the measures stand below",
    ),
    (
        "group",
        "",
        "all, site=…, operator=…, mechanism=… or morphology=…, each with a group of what is not recorded",
    ),
    ("period", "", "period, rolling_12_months or since_start"),
    ("unit", "", "Of estimate and limits"),
    (
        "n",
        "cases",
        "Cases of the group to which the measure applies",
    ),
    (
        "numerator",
        "cases",
        "Those that have it; blank for a quantity",
    ),
    (
        "denominator",
        "cases",
        "Those of whom it is known; blank for a quantity",
    ),
    ("missing", "cases", "Those of whom it cannot be told"),
    (
        "pending",
        "cases",
        "Those whose day has not come on the as-of date",
    ),
    (
        "not_applicable",
        "cases",
        "Those to which it does not apply",
    ),
    (
        "estimate",
        "see unit",
        "Proportion, median, ratio or the like",
    ),
    (
        "low",
        "see unit",
        "Lower limit of the 95 % interval; lower quartile for a quantity",
    ),
    (
        "high",
        "see unit",
        "Upper limit of the 95 % interval; upper quartile for a quantity",
    ),
    ("bound_low", "see unit", "Were every missing case a no"),
    ("bound_high", "see unit", "Were every missing case a yes"),
    ("method", "", "How estimate and limits were computed"),
];

const SERIES: [Described; 10] = [
    ("series", "", "Which chart"),
    ("group", "", "Which line or group of it"),
    ("x", "see x_unit", "Position: a number or a quarter"),
    ("x_unit", "", "Its unit"),
    ("y", "see y_unit", "Height"),
    ("y_unit", "", "Its unit"),
    ("low", "see y_unit", "Lower limit, or lower edge of a band"),
    ("high", "see y_unit", "Upper limit, or upper edge of a band"),
    ("n", "cases", "Cases behind the point"),
    ("note", "", "What the point is, in words"),
];

const GAPS: [Described; 7] = [
    ("case_id", "", "Key of the procedure"),
    (
        "file",
        "",
        "Table with the missing cell: cases or followups",
    ),
    ("column", "", "The missing cell: blank or not used"),
    (
        "visit_date",
        "",
        "Day of the visit, for a cell of followups",
    ),
    (
        "from",
        "",
        "Whom to ask: echo, ct, cath, ward, laboratory, clinic or administration",
    ),
    (
        "costs",
        "",
        "Results that lack it and could be had if every missing cell of the case were known, separated by ;",
    ),
    (
        "settles",
        "",
        "Of these, the results that would be known with this cell alone, separated by ;",
    ),
];

const DOCUMENTS: [Described; 8] = [
    ("file", "", "Path below the folder"),
    (
        "case_id",
        "",
        "The case; blank for the cohort summary and the packet",
    ),
    ("kind", "", "discharge, follow-up, cohort or packet"),
    ("date", "", "Day the document speaks for"),
    (
        "state",
        "",
        "draft; recorded as signed; signed; or draft, changed since",
    ),
    (
        "check_code",
        "",
        "Code printed on the sheet; ask current about it",
    ),
    ("sha256", "", "Of the file"),
    (
        "replaces",
        "",
        "Check codes of earlier sheets of the case, latest first, separated by ;",
    ),
];

const DEVICES_USED: [Described; 6] = [
    ("device_id", "", "As in the cases file"),
    (
        "device",
        "",
        "Its name in the devices file; blank where it is not in it",
    ),
    ("serial", "", "Serial number, as in the cases file"),
    ("lot", "", "Lot, as in the cases file"),
    ("case_id", "", "Key of the procedure"),
    ("procedure_date", "", "Day of the implantation"),
];

const PROBLEMS: [Described; 8] = [
    ("file", "", "Input file, as named on the command line"),
    ("line", "", "Line of the row in it; the header is line 1"),
    ("column", "", "Header of the cell; blank for a whole row"),
    ("case_id", "", "The case, where it can be told"),
    (
        "severity",
        "",
        "error (not used), warning (used and in doubt) or note",
    ),
    ("code", "", "Kind of finding"),
    (
        "found",
        "",
        "What stands there; nothing of cells about a person",
    ),
    ("expected", "", "What was expected, and what follows"),
];

/// The columns of one of [`TABLES`], in order; `None` for any other name.
pub fn columns_of(table: &str) -> Option<Vec<Described>> {
    Some(match table {
        "results.csv" => RESULTS
            .iter()
            .map(|column| -> Described { (&column.name, &column.unit, meaning(column)) })
            .chain(BASIS)
            .collect(),
        "cohort.csv" => COHORT.to_vec(),
        "cohort-series.csv" => SERIES.to_vec(),
        "worklist.csv" => worklist::COLUMNS.to_vec(),
        "data-gaps.csv" => GAPS.to_vec(),
        "changes.csv" => changes::COLUMNS.to_vec(),
        "documents.csv" => DOCUMENTS.to_vec(),
        "devices-used.csv" => DEVICES_USED.to_vec(),
        "problems.csv" => PROBLEMS.to_vec(),
        _ => return None,
    })
}

/// Where the dictionary says nothing of a result, its title does.
fn meaning(column: &'static crate::dictionary::ResultColumn) -> &'static str {
    if column.definition.is_empty() {
        crate::assess::definitions::definition(&column.name).map_or("", |known| known.title)
    } else {
        &column.definition
    }
}

/// The measures of cohort.csv: name, unit and meaning.
pub fn measures() -> impl Iterator<Item = Described> {
    MEASURES
        .iter()
        .map(|measure| -> Described { (&measure.name, &measure.unit, &measure.definition) })
}
