//! Whole files: separators, encodings, line ends, headers, rows that do not fit.

use encoding_rs::WINDOWS_1252;
use valvefolio::diagnostic::{Code, Severity};
use valvefolio::input::{DecimalMark, InputError, Inputs, ReadOptions, Source, read};
use valvefolio::record::CaseRecord;

use crate::{cases, findings, fixture, places};

#[test]
fn one_table_in_many_dresses_gives_the_same_records() {
    let plain = cases(fixture("plain.csv"));
    let dressed = cases(fixture("crlf-bom-semicolon.csv"));
    assert_eq!(plain.cases, dressed.cases);
    assert_eq!(places(&plain), places(&dressed));
    // The quoted line break and the blank line count: the second case stands on line 5.
    assert_eq!(plain.records()[1].place.line, 5);
    assert_eq!(places(&plain), [(Code::UnitSlip, 5, 3)]);
    assert_eq!(plain.records()[0].cells.height_cm, Some(172.5));
    assert_eq!(
        plain.records()[0].cells.sizing_reason.as_deref(),
        Some("first line\nsecond line")
    );
    let file = &dressed.files[0];
    assert_eq!(
        (file.separator, file.decimal_mark, file.encoding, file.rows),
        ("semicolon", DecimalMark::Comma, "UTF-8", 2)
    );
}

#[test]
fn line_ends_cr_lf_and_crlf() {
    for end in ["\n", "\r", "\r\n"] {
        let text = [
            "case_id,procedure_date,sex",
            "A1,2031-04-03,male",
            "",
            "A2,2031-04-04,mail",
        ]
        .join(end);
        let inputs = cases(text);
        assert_eq!(inputs.cases.len(), 2, "{end:?}");
        assert_eq!(places(&inputs), [(Code::NotAChoice, 4, 3)], "{end:?}");
    }
}

#[test]
fn utf_16_with_its_mark() {
    let text = "case_id\tprocedure_date\tsite\nA1\t2031-04-03\tSüd\n";
    let mut bytes = vec![0xFF, 0xFE];
    bytes.extend(text.encode_utf16().flat_map(u16::to_le_bytes));
    let inputs = cases(bytes);
    assert_eq!(inputs.records()[0].cells.site.as_deref(), Some("Süd"));
    assert_eq!(
        (inputs.files[0].encoding, inputs.files[0].separator),
        ("UTF-16LE", "tab")
    );
    // Without its mark the file is refused, with the encoding it looks like.
    let bytes: Vec<u8> = text.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let error = read(
        &[Source::new("c.csv", bytes)],
        None,
        None,
        &ReadOptions::default(),
    )
    .unwrap_err();
    assert!(error.to_string().contains("--encoding utf-16be"), "{error}");
}

#[test]
fn a_bad_byte_costs_its_cell_and_says_which_encoding_it_may_be() {
    let inputs = cases(fixture("windows-1252.csv"));
    assert_eq!(
        places(&inputs),
        [(Code::Encoding, 0, 0), (Code::Encoding, 2, 4)]
    );
    assert!(
        findings(&inputs)[0]
            .expected
            .contains("--encoding windows-1252")
    );
    let case = &inputs.records()[0];
    assert_eq!(
        (case.cells.height_cm, case.cells.site.as_deref()),
        (Some(172.0), None)
    );
    assert_eq!(inputs.records()[1].cells.site.as_deref(), Some("North"));
    let options = ReadOptions {
        encoding: Some(WINDOWS_1252),
        ..ReadOptions::default()
    };
    let inputs = read(
        &[Source::new("c.csv", fixture("windows-1252.csv"))],
        None,
        None,
        &options,
    )
    .unwrap();
    assert!(findings(&inputs).is_empty());
    assert_eq!(inputs.records()[0].cells.site.as_deref(), Some("Süd"));
}

#[test]
fn nul_bytes_cost_their_cell() {
    let inputs = cases(&b"case_id,procedure_date,site,sex\nA1,2031-04-03,No\0rth,male\nA\0,2031-04-03,North,male\n"[..]);
    assert_eq!(
        places(&inputs),
        [(Code::Encoding, 2, 3), (Code::Encoding, 3, 1)]
    );
    assert_eq!(inputs.cases.len(), 1);
    assert_eq!(inputs.withheld.len(), 1);
}

#[test]
fn the_decimal_mark_is_decided_once_a_file_and_said() {
    let inputs = cases(
        "case_id,procedure_date,height_cm,weight_kg\nA1,2031-04-03,\"172,5\",\"80,2\"\nA2,2031-04-04,168.5,70\n",
    );
    assert_eq!(inputs.files[0].decimal_mark, DecimalMark::Comma);
    assert_eq!(inputs.records()[0].cells.height_cm, Some(172.5));
    // The point is not the mark of this file: the cell is refused, not read as 1685.
    assert_eq!(places(&inputs), [(Code::NotANumber, 3, 3)]);
    assert!(findings(&inputs)[0].expected.contains("is a comma"));
    let said: Vec<_> = inputs
        .diagnostics
        .iter()
        .filter(|finding| finding.code == Code::HowRead)
        .collect();
    // Sorted by severity at one place: the two marks first.
    assert_eq!(
        (said[0].severity, said[1].severity),
        (Severity::Warning, Severity::Note)
    );
    assert!(said[1].found.contains("decimal comma"), "{}", said[1].found);
}

#[test]
fn a_quotation_mark_left_open_loses_no_other_row() {
    let inputs = cases(fixture("open-quotation.csv"));
    let ids: Vec<&str> = inputs.cases.iter().map(|case| &*case.case_id).collect();
    assert_eq!(ids, ["A1", "A3", "A4", "A5"]);
    assert_eq!(places(&inputs), [(Code::Quotation, 3, 0)]);
    assert_eq!(
        (&*inputs.withheld[0].case_id, inputs.withheld[0].place.line),
        ("A2", 3)
    );
}

#[test]
fn blank_lines_and_rows_are_none() {
    let inputs = cases("case_id,procedure_date,sex\n\n  \n,,\n \t,, \nA1,2031-04-03,male\n\n");
    assert!(findings(&inputs).is_empty());
    assert_eq!((inputs.cases.len(), inputs.files[0].rows), (1, 1));
    assert_eq!(inputs.records()[0].place.line, 6);
}

#[test]
fn separators_at_the_end_of_every_line() {
    let inputs =
        cases("case_id;procedure_date;sex;;\nA1;2031-04-03;male;;\nA2;2031-04-03;female;;\n");
    assert!(findings(&inputs).is_empty());
    assert_eq!(inputs.cases.len(), 2);
    // The rows may be without them.
    let inputs = cases("case_id;procedure_date;sex;;\nA1;2031-04-03;male\nA2;2031-04-03;female\n");
    assert_eq!((inputs.cases.len(), findings(&inputs).len()), (2, 0));
}

#[test]
fn a_row_that_may_be_shifted_is_never_read() {
    // 172,5 without quotation marks makes one cell too many; the last being blank does not make the row fit.
    let inputs = cases(
        "case_id,procedure_date,height_cm,weight_kg,site\nA1,2031-04-03,172,5,80,\nA2,2031-04-03,170,80,\n",
    );
    assert_eq!(places(&inputs), [(Code::RowLength, 2, 0)]);
    assert_eq!(findings(&inputs)[0].found, "6 cells");
    assert!(findings(&inputs)[0].withholds);
    assert_eq!(&*inputs.records()[0].case_id, "A2");
    assert_eq!(
        (
            &*inputs.withheld[0].case_id,
            inputs.withheld[0].sign_of_death
        ),
        ("A1", None)
    );
    // Nor where the header ends with a separator and something stands behind the last name.
    let inputs = cases(
        "case_id,procedure_date,height_cm,site,\nA1,2031-04-03,172,5,North\nA2,2031-04-03,170,North,\n",
    );
    assert_eq!(places(&inputs), [(Code::RowLength, 2, 0)]);
    let inputs = cases("case_id,procedure_date,sex\nA1,2031-04-03\n");
    assert_eq!(places(&inputs), [(Code::RowLength, 2, 0)]);
}

#[test]
fn headers_in_any_spelling_and_unknown_ones_once() {
    let inputs = cases(
        "Case ID,Procedure-Date,HEIGHT cm,heigth_cm,shoe size,\nA1,2031-04-03,172,1,44,\nA2,2031-04-03,170,1,44,\n",
    );
    assert_eq!(inputs.records()[0].cells.height_cm, Some(172.0));
    assert_eq!(
        places(&inputs),
        [(Code::UnknownColumn, 1, 4), (Code::UnknownColumn, 1, 5)]
    );
    assert!(findings(&inputs)[0].expected.contains("height_cm?"));
    assert!(!findings(&inputs)[1].expected.contains('?'));
}

#[test]
fn a_column_twice_is_used_only_where_both_agree_everywhere() {
    let inputs = cases(
        "case_id,procedure_date,height_cm,height_cm\nA1,2031-04-03,172,172\nA2,2031-04-03,170,170\n",
    );
    assert_eq!(inputs.records()[1].cells.height_cm, Some(170.0));
    assert_eq!(findings(&inputs)[0].severity, Severity::Note);
    let inputs = cases(
        "case_id,procedure_date,height_cm,Height cm\nA1,2031-04-03,172,172\nA2,2031-04-03,170,\n",
    );
    assert_eq!(inputs.records()[0].cells.height_cm, None);
    assert_eq!(places(&inputs), [(Code::RepeatedColumn, 1, 4)]);
    assert_eq!(findings(&inputs)[0].severity, Severity::Error);
}

/// What holds for a whole file holds for its first row too, where only its last row, the thousandth, shows it: the rule of
/// the tests above, no source beyond.
#[test]
fn what_only_the_last_row_shows_is_known_at_the_first() {
    let table = |header: &str, row: &str, last: &str| {
        let mut text = format!("case_id,procedure_date,{header}\n");
        for number in 1..1000 {
            let id = format!("A{number}");
            text += &format!("{id},2031-04-03,{}\n", row.replace("ID", &id));
        }
        text + &format!("A1000,2031-04-03,{last}\n")
    };
    // A comma in groups of three may separate thousands, until the last row proves that it does not.
    let inputs = cases(table("baseline_vmax_m_s", "\"4,234\"", "\"4,5\""));
    assert_eq!(inputs.files[0].decimal_mark, DecimalMark::Comma);
    let records = inputs.records();
    assert_eq!(records.len(), 1000);
    assert_eq!(records[0].cells.baseline_vmax_m_s, Some(4.234));
    assert_eq!(records[999].cells.baseline_vmax_m_s, Some(4.5));
    // Two columns that agree but in the last row are used in none, and said once.
    let inputs = cases(table("height_cm,height_cm", "172,172", "172,170"));
    let records = inputs.records();
    assert_eq!(records.len(), 1000);
    let known = |record: &&CaseRecord| record.cells.height_cm.is_some();
    assert_eq!(records.iter().filter(known).count(), 0);
    assert_eq!(places(&inputs), [(Code::RepeatedColumn, 1, 4)]);
    assert_eq!(inputs.files[0].rows, 1000);
    let error = error(table("case_id", "ID", "B1"));
    assert!(matches!(error, InputError::KeyTwice { .. }), "{error}");
}

/// Rows of a byte or two, as many as fit: each is named, and what is short of the header's cells is no case.
#[test]
fn a_file_of_nothing_but_short_rows_is_read_to_its_end() {
    let inputs = cases(format!("case_id,procedure_date\n{}", "x\n".repeat(5000)));
    assert_eq!((inputs.cases.len(), inputs.withheld.len()), (0, 5000));
    assert_eq!(inputs.files[0].rows, 5000);
}

#[test]
fn something_below_a_blank_header_is_reported_once() {
    let inputs = cases("case_id,,procedure_date\nA1,x,2031-04-03\nA2,y,2031-04-03\n");
    assert_eq!(places(&inputs), [(Code::UnknownColumn, 1, 2)]);
    assert!(
        cases("case_id,,procedure_date\nA1,,2031-04-03\n")
            .diagnostics
            .iter()
            .all(|finding| finding.code == Code::HowRead)
    );
}

fn error(bytes: impl Into<Vec<u8>>) -> InputError {
    read(
        &[Source::new("c.csv", bytes)],
        None,
        None,
        &ReadOptions::default(),
    )
    .unwrap_err()
}

#[test]
fn only_what_is_no_table_stops_the_run() {
    assert!(matches!(error(""), InputError::NoHeader { .. }));
    assert!(matches!(error("\n\r\n"), InputError::NoHeader { .. }));
    assert!(matches!(
        error("PK\u{3}\u{4}..."),
        InputError::OtherKind { .. }
    ));
    assert!(matches!(
        error("case_id,\"procedure_date\nA,B\n"),
        InputError::BrokenHeader { line: 1, .. }
    ));
    assert!(
        error("caseid,procedure_date\nA,B\n")
            .to_string()
            .contains("is it \"caseid\"?")
    );
    assert!(matches!(
        error("case_id,case_id,sex\nA,B,male\n"),
        InputError::KeyTwice { .. }
    ));
    // A first line of data is not repeated.
    assert!(!error("17,Some Body,male\n").to_string().contains("Body"));
    let missing = Source::open(std::path::Path::new("no/such/file.csv")).unwrap_err();
    assert!(
        missing
            .to_string()
            .starts_with("no/such/file.csv: cannot be read")
    );
}

#[test]
fn a_header_alone_is_an_empty_cohort() {
    let inputs = cases("case_id,procedure_date\n");
    assert_eq!(
        (
            inputs.cases.len(),
            findings(&inputs).len(),
            inputs.files[0].rows
        ),
        (0, 0, 0)
    );
}

#[test]
fn without_a_procedure_date_column_every_case_is_withheld_and_it_is_said_once() {
    let inputs = cases("case_id,procedure_dat,sex\nA1,2031-04-03,male\nA2,2031-04-03,male\n");
    assert_eq!(
        places(&inputs),
        [(Code::MissingColumn, 1, 0), (Code::UnknownColumn, 1, 2)]
    );
    assert!(findings(&inputs)[0].expected.contains("\"procedure_dat\"?"));
    assert_eq!(inputs.withheld.len(), 2);
}

/// Expected digest: that of the same seven bytes by `sha256sum` of GNU coreutils.
#[test]
fn files_are_known_by_their_sha_256() {
    let inputs: Inputs = cases("case_id");
    assert_eq!(inputs.files[0].sha256, SHA_256_OF_CASE_ID);
}

const SHA_256_OF_CASE_ID: &str = "9c42e18dd69840f8cd302f148ae797f206bd34c26d6f2bf5fddcf8ebf60a6363";

#[test]
fn ten_thousand_columns_and_a_million_characters_are_only_long() {
    let mut text = String::from("case_id,procedure_date,site");
    for column in 0..10_000 {
        text.push_str(&format!(",extra {column}"));
    }
    text.push_str("\nA1,2031-04-03,");
    text.push_str(&"x".repeat(1_000_000));
    text.push_str(&",".repeat(10_000));
    let inputs = cases(text);
    assert_eq!(
        inputs.records()[0].cells.site.as_deref().map(str::len),
        Some(1_000_000)
    );
    assert_eq!(findings(&inputs).len(), 10_000);
    let inputs = cases(format!(
        "case_id,procedure_date,{}\nA1,2031-04-03,1\n",
        "h".repeat(1_000_000)
    ));
    assert!(findings(&inputs)[0].concise(false).len() < 400);
}
