//! Large files are read in pieces: they give what the same bytes give when they are held as a whole.

use std::fs;

use valvefolio::input::{OpenedSource, ReadOptions, Source, read, read_opened};

/// Everything that is read from these bytes, or why nothing is: held as a whole, and from a file.
fn both(cases: &[u8], followups: &[u8]) -> [String; 2] {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |name: &str| folder.path().join(name);
    fs::write(path("cases.csv"), cases).expect("written");
    fs::write(path("followups.csv"), followups).expect("written");
    let [cases, followups] = ["cases.csv", "followups.csv"].map(path);
    let options = ReadOptions::default();
    let held = |path| Source::open(path).expect("read");
    let opened = |path| OpenedSource::open(path).expect("opened");
    let shown = |read| match read {
        Ok(inputs) => format!("{inputs:?}"),
        Err(error) => format!("{error:?}"),
    };
    [
        shown(read(
            &[held(&cases)],
            Some(&held(&followups)),
            None,
            &options,
        )),
        shown(read_opened(
            vec![opened(&cases)],
            Some(opened(&followups)),
            None,
            &options,
        )),
    ]
    .map(|read: String| read.replace(&*folder.path().to_string_lossy(), ""))
}

/// A table of about half a megabyte, several pieces: rows with quoted line breaks and letters beyond ASCII, some of which lack a cell, hold a wrong
/// one or have an id twice. `last` stands behind 12,000 rows.
fn table(line_end: &str, last: &str) -> String {
    let mut text = format!("case_id,procedure_date,sex,height_cm,sizing_reason{line_end}");
    for row in 0..12_000 {
        let height = 1500 + row % 400;
        let sex = ["male", "female", "mal", ""][row % 4];
        let reason = match row % 7 {
            0 => format!("\"first{line_end}second \u{3b1}\u{3b2} \"\"row {row}\"\"\""),
            1 => "é".repeat(row % 90),
            _ => String::new(),
        };
        let id = if row % 501 == 500 { row - 1 } else { row };
        let cells = format!("A{id},2031-04-0{},{sex},{}", 1 + row % 9, height / 10);
        text += &format!("{cells}.{},{reason}{line_end}", height % 10);
        if row % 1000 == 3 {
            text += line_end;
        }
    }
    text + last
}

/// So many visits, some of cases that are not there.
fn visits(number: usize) -> String {
    let mut text = "case_id,visit_date,mean_gradient_mmhg\n".to_owned();
    for row in 0..number {
        let day = 1 + row % 28;
        text += &format!("A{},2031-05-{day:02},{}\n", row * 7 % 12_050, row % 60);
    }
    text
}

#[track_caller]
fn same(cases: impl AsRef<[u8]>) -> String {
    assert!(cases.as_ref().len() > 400_000);
    both_same(cases.as_ref(), visits(100).as_bytes())
}

#[track_caller]
fn both_same(cases: &[u8], followups: &[u8]) -> String {
    let [held, in_pieces] = both(cases, followups);
    // Both are long: what is said is where they part.
    let part = held
        .bytes()
        .zip(in_pieces.bytes())
        .position(|(one, other)| one != other);
    let from = part.unwrap_or(0).saturating_sub(200);
    let around = |read: &str| read.chars().skip(from).take(400).collect::<String>();
    assert!(
        held == in_pieces,
        "{}\n{}",
        around(&held),
        around(&in_pieces)
    );
    held
}

#[test]
fn every_line_end_and_a_mark_in_front() {
    for line_end in ["\n", "\r\n", "\r"] {
        let read = same(table(line_end, ""));
        assert!(read.contains("NotAChoice"));
    }
    same(format!("\u{FEFF}{}", table("\n", "")));
    same(format!("sep=,\n{}", table("\n", "")));
    let visits = visits(25_000);
    assert!(visits.len() > 400_000);
    both_same(
        b"case_id,procedure_date\nA7,2031-04-03\n",
        visits.as_bytes(),
    );
}

#[test]
fn what_only_a_late_row_shows() {
    for last in [
        // A quotation mark that is never closed, and one in the middle of a cell.
        "B1,2031-04-03,male,170.5,\"left open\nB2,2031-04-04,male,170.5,\n",
        "B1,2031-04-03,male,170.5,\"closed\"here\nB2,2031-04-04,male,170.5,\n",
        // A row of another length, and one without end.
        "B1,2031-04-03,male,170.5,,,,\n",
        "B1,2031-04-03,male,170.5",
        "\n\n\n",
    ] {
        same(table("\n", last));
    }
}

#[test]
fn an_early_quotation_mark_that_is_never_closed_costs_its_line() {
    // No further mark: the search for its end goes to the end of the file.
    let bare = table("\n", "").replace('"', "");
    let bare = bare.replacen("\nA2,", "\n\"A2,", 1);
    assert!(same(bare).contains("Quotation"));
}

#[test]
fn bytes_that_are_no_text() {
    let mut bytes = table("\n", "").into_bytes();
    for at in [bytes.len() - 3, bytes.len() / 2, 300] {
        let before = std::mem::replace(&mut bytes[at], 0xE9);
        same(&bytes);
        bytes[at] = before;
    }
    let utf_16 = table("\n", "")
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect::<Vec<_>>();
    same([&[0xFF, 0xFE][..], &utf_16].concat());
    same(utf_16);
}

#[test]
fn how_it_must_be_read_shows_late() {
    // Commas within quotation marks as decimal marks, from the middle on, more than there were points.
    let text = table("\n", "");
    let (mut changed, mut seen) = (String::new(), 0);
    for line in text.lines() {
        seen += 1;
        let cells: Vec<&str> = line.splitn(5, ',').collect();
        match cells[..] {
            [id, day, sex, height, reason] if seen > 4000 => {
                let height = height.replace('.', ",");
                changed += &format!("{id},{day},{sex},\"{height}\",{reason}\n");
            }
            _ => changed += &format!("{line}\n"),
        }
    }
    assert!(same(changed).contains("decimal comma"));
    // A column that stands there twice and differs in one of the last rows only.
    let mut twice = String::new();
    for (at, line) in text.lines().enumerate() {
        let cells: Vec<&str> = line.splitn(5, ',').collect();
        if let [id, day, sex, height, reason] = cells[..] {
            let second = if at == 9_000 { "99.9" } else { height };
            twice += &format!("{id},{day},{sex},{height},{second},{reason}\n");
        }
    }
    let twice = twice.replace("height_cm,height_cm", "height_cm,Height cm");
    assert!(same(twice).contains("neither is used"));
}

#[test]
fn cells_of_a_million_letters_and_what_is_no_table() {
    let long = "x".repeat(1_000_000);
    same(table("\n", &format!("B1,2031-04-03,male,170.5,{long}\n")));
    same(format!("case_id,procedure_date,{long}\nA1,2031-04-03,\n").repeat(2));
    same(format!("%PDF{}", table("\n", "")));
    same(table("\n", "").replacen("case_id", "case", 1));
    same(table("\n", "").replacen("case_id", "\"case_id", 1));
    same(table("\n", "").replacen("procedure_date", "case_id", 1));
    same("\n".repeat(600_000));
    same("A1,2031-04-03,male,170.5,\n".repeat(30_000));
}
