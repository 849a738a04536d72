//! Properties over many made-up files.

use proptest::prelude::*;
use valvefolio::diagnostic::Code;
use valvefolio::input::{Inputs, ReadOptions, Source, read};

use crate::{cases, findings};

/// Headers of the made-up tables; one of each kind of column, text with line breaks among them.
const HEADERS: [&str; 8] = [
    "case_id",
    "procedure_date",
    "height_cm",
    "annulus_area_mm2",
    "sex",
    "prior_stroke",
    "ct_date",
    "device_serial",
];

/// Cells good and bad, without a decimal mark (that is a matter of the file).
fn row() -> impl Strategy<Value = [String; 8]> {
    let pick = |words: &'static [&'static str]| prop::sample::select(words).prop_map(str::to_owned);
    (
        pick(&["2031-04-03", "2031-04-03", "2031-04-04", "", "3.4.2031"]),
        pick(&["172", "17", "1720", "", "tall"]),
        pick(&["485", "5", "1200", "NA", "280"]),
        pick(&["female", "Male", "f", "unknown"]),
        pick(&["yes", "0", "perhaps", ""]),
        pick(&["2031-03-01", "45000", "-", "2031-02-30"]),
        pick(&[
            "S1",
            "two words",
            "a,b",
            "a;b",
            "a \"quoted\" word",
            "two\nlines",
            "",
        ]),
    )
        .prop_map(|(date, height, area, sex, stroke, ct, serial)| {
            [String::new(), date, height, area, sex, stroke, ct, serial]
        })
}

/// A table with ids of its own, and now and then an odd one.
fn table() -> impl Strategy<Value = Vec<[String; 8]>> {
    let id = prop::sample::select(&["", "", "", "", "", "B1", "b1", "../x"][..]);
    prop::collection::vec((row(), id), 0..8).prop_map(|rows| {
        rows.into_iter()
            .enumerate()
            .map(|(position, (mut row, odd))| {
                row[0] = if odd.is_empty() {
                    format!("A{position}")
                } else {
                    odd.to_owned()
                };
                row
            })
            .collect()
    })
}

/// How a file is dressed: separator, line end, byte order mark, every cell quoted, blank lines between rows.
#[derive(Clone, Debug)]
struct Dress {
    separator: u8,
    end: &'static str,
    mark: bool,
    quoted: bool,
    blank_lines: bool,
}

const PLAIN: Dress = Dress {
    separator: b',',
    end: "\n",
    mark: false,
    quoted: false,
    blank_lines: false,
};

fn dress() -> impl Strategy<Value = Dress> {
    (
        prop::sample::select(&[b',', b';', b'\t'][..]),
        prop::sample::select(&["\n", "\r\n", "\r"][..]),
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
    )
        .prop_map(|(separator, end, mark, quoted, blank_lines)| Dress {
            separator,
            end,
            mark,
            quoted,
            blank_lines,
        })
}

/// The file, and the line on which each row (the header first) starts.
fn write(table: &[[String; 8]], dress: &Dress) -> (Vec<u8>, Vec<u64>) {
    let mut text = String::new();
    let mut lines = Vec::new();
    let mut line = 1;
    let header = HEADERS.map(str::to_owned);
    for row in std::iter::once(&header).chain(table) {
        lines.push(line);
        let style = if dress.quoted {
            csv::QuoteStyle::Always
        } else {
            csv::QuoteStyle::Necessary
        };
        let mut writer = csv::WriterBuilder::new()
            .delimiter(dress.separator)
            .quote_style(style)
            .from_writer(Vec::new());
        writer.write_record(row).unwrap();
        let mut written = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        if dress.blank_lines {
            written.push('\n');
        }
        line += written.matches('\n').count() as u64;
        text.push_str(&written.replace('\n', dress.end));
    }
    let mut bytes = if dress.mark {
        b"\xEF\xBB\xBF".to_vec()
    } else {
        Vec::new()
    };
    bytes.extend(text.into_bytes());
    (bytes, lines)
}

/// What a reader of the records sees, without the lines they came from.
fn records(inputs: &Inputs) -> Vec<String> {
    inputs
        .records()
        .iter()
        .map(|case| format!("{} {:?} {:?}", case.case_id, case.cells, case.notes))
        .collect()
}

proptest! {
    #[test]
    fn prop_the_dress_of_a_file_changes_no_record_and_no_line_is_wrong(table in table(), dress in dress()) {
        let plain = cases(write(&table, &PLAIN).0);
        let (bytes, lines) = write(&table, &dress);
        let dressed = cases(bytes);
        prop_assert_eq!(records(&plain), records(&dressed));
        prop_assert_eq!(plain.withheld.len(), dressed.withheld.len());
        // Every row of the table is a case or named as withheld.
        prop_assert_eq!(dressed.cases.len() + dressed.withheld.len(), table.len());
        for case in &dressed.records() {
            let row = lines.iter().position(|line| *line == case.place.line).unwrap();
            prop_assert_eq!(&table[row - 1][0], &*case.case_id);
        }
        for finding in findings(&dressed) {
            let row = lines.iter().position(|line| *line == finding.place.line).unwrap();
            prop_assert!(row > 0 && finding.place.column_number > 0, "{:?}", finding);
            let position = finding.place.column_number - 1;
            prop_assert_eq!(&*finding.place.column, HEADERS[position]);
            prop_assert!(table[row - 1][position].contains(&finding.found), "{:?}", finding);
        }
    }

    #[test]
    fn prop_rows_in_another_order_are_the_same_cases(table in table(), seed in any::<u64>()) {
        let mut turned = table.clone();
        // A fixed shuffle by the seed.
        turned.sort_by_key(|row| row[0].bytes().fold(seed, |sum, byte| sum.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(u64::from(byte))));
        let sorted = |table: &[[String; 8]]| {
            let mut records = records(&cases(write(table, &PLAIN).0));
            records.sort();
            records
        };
        prop_assert_eq!(sorted(&table), sorted(&turned));
    }

    #[test]
    fn prop_any_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let source = Source::new("x.csv", bytes);
        let _ = read(std::slice::from_ref(&source), Some(&source), Some(&source), &ReadOptions::default());
    }

    #[test]
    fn prop_a_valid_file_spoilt_anywhere_never_panics_and_loses_no_row_silently(
        table in table(), dress in dress(),
        spoils in prop::collection::vec((any::<prop::sample::Index>(), prop::sample::select(&b"\"\0\n\r,;\t\xFF=-9x"[..])), 1..6),
    ) {
        let (mut bytes, _) = write(&table, &dress);
        let header = bytes.iter().position(|byte| matches!(byte, b'\n' | b'\r')).unwrap();
        for (at, byte) in spoils {
            // The header stays whole, so that the file stays a table.
            let at = header + at.index(bytes.len() - header);
            bytes[at] = byte;
        }
        let source = Source::new("x.csv", bytes);
        if let Ok(inputs) = read(&[source], None, None, &ReadOptions::default()) {
            let rows = usize::try_from(inputs.files[0].rows).unwrap();
            prop_assert_eq!(inputs.cases.len() + inputs.withheld.len(), rows);
            for row in &inputs.withheld {
                prop_assert!(inputs.diagnostics.iter().any(|finding| finding.place.line == row.place.line && finding.withholds));
            }
            for finding in &inputs.diagnostics {
                prop_assert!(!finding.concise(false).contains(char::is_control));
                prop_assert!(finding.concise(false).chars().count() < 500);
            }
        }
    }

    /// A number is in the record exactly as written, or it is reported: never changed on the way.
    #[test]
    fn prop_numbers_are_kept_as_written_or_reported(tenths in 0_u32..20_000) {
        let text = format!("{}.{}", tenths / 10, tenths % 10);
        let inputs = crate::cell("annulus_area_mm2", &text);
        let value = inputs.records()[0].cells.annulus_area_mm2;
        // The dictionary's limits: 150 to 1100 mm².
        prop_assert_eq!(value, (1500..=11_000).contains(&tenths).then(|| text.parse().unwrap()));
        prop_assert_eq!(value.is_none(), findings(&inputs).iter().any(|finding| matches!(finding.code, Code::NotBelievable | Code::UnitSlip)));
    }
}
