//! cohort.csv as bytes.

use super::measures::MeasureRow;
use crate::diagnostic::neutralised;

/// Header of cohort.csv.
pub const COLUMNS: [&str; 16] = [
    "measure",
    "group",
    "period",
    "unit",
    "n",
    "numerator",
    "denominator",
    "missing",
    "pending",
    "not_applicable",
    "estimate",
    "low",
    "high",
    "bound_low",
    "bound_high",
    "method",
];

/// A number as files hold it: the shortest text that reads back as the same number, with a dot; blank where unknown.
pub fn number(value: Option<f64>) -> String {
    match value {
        // Adding 0 turns a negative zero into a plain one.
        Some(value) if value.is_finite() => format!("{}", value + 0.0),
        _ => String::new(),
    }
}

fn count(value: Option<usize>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

/// The rows with their header; lines end in LF.
pub fn csv_bytes(rows: &[MeasureRow]) -> Vec<u8> {
    let records = rows.iter().map(|row| {
        [
            row.measure.to_string(),
            row.group.clone(),
            row.period.to_owned(),
            row.unit.to_owned(),
            count(row.n),
            count(row.numerator),
            number(row.denominator),
            count(row.missing),
            count(row.pending),
            count(row.not_applicable),
            number(row.estimate),
            number(row.low),
            number(row.high),
            number(row.bound_low),
            number(row.bound_high),
            row.method.to_string(),
        ]
    });
    written(&COLUMNS, records)
}

/// Records of text as CSV.
pub(super) fn written<const N: usize>(
    header: &[&str; N],
    records: impl Iterator<Item = [String; N]>,
) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut write = |fields: &[&str]| {
        writer
            .write_record(fields)
            .expect("writing to memory does not fail");
    };
    write(header);
    for record in records {
        // A site may be named as a formula begins.
        let cells = record.each_ref().map(|cell| neutralised(cell));
        write(&cells.each_ref().map(|cell| &**cell));
    }
    writer
        .into_inner()
        .expect("writing to memory does not fail")
}

#[cfg(test)]
mod tests {
    use super::number;

    #[test]
    fn numbers_read_back_and_know_no_negative_zero() {
        assert_eq!(number(Some(100.0 * 2.0 / 3.0)), "66.66666666666667");
        assert_eq!(number(Some(-0.0)), "0");
        assert_eq!(number(Some(27.0)), "27");
        assert_eq!(number(Some(f64::NAN)), "");
        assert_eq!(number(None), "");
    }
}
