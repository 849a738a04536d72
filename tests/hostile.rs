//! Hostile tables, end to end: the program comes to its end, every row is a case or named, what is good comes through,
//! nothing is written outside the folder, and nothing that is written does harm where it is opened.
//!
//! `fixtures/hostile/README.md` says what is wrong with each file.

#[path = "support/entry.rs"]
mod entry;
#[path = "cli/support.rs"]
mod support;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use support::{Run, csv_rows, files, report};

/// What a run of hostile tables left.
struct Left {
    run: Run,
    files: BTreeMap<String, Vec<u8>>,
}

impl Left {
    fn table(&self, name: &str) -> Vec<BTreeMap<String, String>> {
        csv_rows(&self.files[name])
    }

    /// Ids in results.csv, in order.
    fn ids(&self) -> Vec<String> {
        let results = self.table("results.csv");
        results.iter().map(|row| row["case_id"].clone()).collect()
    }

    /// Code and line of every finding of the inputs that a case or a cell was lost to.
    fn errors(&self) -> BTreeSet<(String, String)> {
        self.table("problems.csv")
            .iter()
            .filter(|row| row["severity"] == "error")
            .map(|row| (row["code"].clone(), row["line"].clone()))
            .collect()
    }

    fn has_error(&self, code: &str, line: u32) {
        let found = (code.to_owned(), line.to_string());
        assert!(
            self.errors().contains(&found),
            "{code} in line {line}: {:?}",
            self.errors()
        );
    }
}

/// Runs `report` on a table, and demands what must hold whatever the table holds.
fn run_on(bytes: &[u8], options: &[&str]) -> Left {
    run_beside(bytes, &[], options)
}

/// The same with other tables beside: the option that names each, and its bytes.
fn run_beside(bytes: &[u8], tables: &[(&str, &[u8])], options: &[&str]) -> Left {
    let work = tempfile::tempdir().expect("a folder");
    let (table, out) = (work.path().join("cases.csv"), work.path().join("deep/out"));
    std::fs::write(&table, bytes).expect("written");
    let table = table.to_str().expect("plain path");
    let aside = tempfile::tempdir().expect("a folder");
    let mut inputs = vec![
        table.to_owned(),
        "--as-of".to_owned(),
        "2026-11-20".to_owned(),
    ];
    for (option, bytes) in tables {
        let path = aside.path().join(option);
        std::fs::write(&path, bytes).expect("written");
        inputs.push((*option).to_owned());
        inputs.push(path.to_str().expect("plain path").to_owned());
    }
    let inputs: Vec<&str> = inputs.iter().map(String::as_str).collect();
    let run = report(&inputs, &out, options);
    assert!(
        matches!(run.code, 0 | 1),
        "exit code {}: {}",
        run.code,
        run.err
    );
    assert!(!run.err.contains("fault of the program"), "{}", run.err);
    // Joiners (U+200C, U+200D) are letters' business and stay.
    let odd = |character: char| {
        character != '\n' && character.is_control()
            || matches!(character, '\u{200B}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
    };
    assert!(!run.err.contains(odd), "{:?}", run.err);
    let files = files(&out);
    let beside: BTreeSet<String> = support::files(work.path())
        .into_keys()
        .filter(|name| !name.starts_with("deep/out/"))
        .collect();
    assert_eq!(
        beside,
        BTreeSet::from(["cases.csv".to_owned()]),
        "nothing outside the folder"
    );
    for (name, bytes) in &files {
        if name.ends_with(".csv") {
            entry::cells_are_no_formulas(bytes);
            let text = std::str::from_utf8(bytes).expect("UTF-8");
            assert!(!text.contains(odd), "{name}");
        }
        if name.ends_with(".json") {
            serde_json::from_slice::<serde_json::Value>(bytes).expect("JSON");
        }
        let page = name
            .strip_prefix("cases/")
            .and_then(|name| name.strip_suffix(".pdf"));
        assert!(page.is_some() || !name.contains('/'), "{name}");
    }
    let left = Left { run, files };
    // A page, or its case named.
    for id in left.ids() {
        let id = id.trim_start_matches('\'');
        let page = left.files.contains_key(&format!("cases/{id}.pdf"));
        let named = left.run.err.contains(&format!("case {id}:"));
        assert!(
            page || named || options.contains(&"results"),
            "{id}: {}",
            left.run.err
        );
    }
    left
}

fn fixture(name: &str) -> Left {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures/hostile")
        .join(name);
    run_on(&std::fs::read(path).expect("fixture"), &[])
}

#[test]
fn ids_that_are_no_file_names_are_left_out_and_two_alike_both() {
    let left = fixture("ids.csv");
    // An id may begin with a hyphen; a table shows it so that no spreadsheet runs it.
    assert_eq!(left.ids(), ["GOOD-1", "'-A1"]);
    for line in [3, 4, 5, 9, 10, 11, 12, 13, 14, 15] {
        left.has_error("bad_id", line);
    }
    for line in [6, 7] {
        left.has_error("duplicate_id", line);
    }
    assert!(
        left.run.err.contains("12 rows withheld"),
        "{}",
        left.run.err
    );
}

#[test]
fn no_cell_of_any_table_is_run_by_a_spreadsheet() {
    let left = fixture("formulas.csv");
    assert_eq!(
        left.ids(),
        ["GOOD-1", "-2", "'-A1"],
        "a plain number is none"
    );
    let devices = left.table("devices-used.csv");
    assert_eq!(devices[0]["device_id"], "'=2*3");
    assert_eq!(devices[0]["serial"], "'+1+1");
    assert_eq!(devices[0]["lot"], "'-1-1");
    assert_eq!(devices[1]["lot"], "'@x");
}

/// Labels, clinics, operators and notes go on into the worklist, the devices used and the audit; no table is left out.
#[test]
fn formulas_in_any_table_are_run_in_none() {
    let columns =
        "case_id,patient_label,site,operator,follow_up_site,procedure_date,device_id,device_lot\n";
    let mut cases = columns.to_owned();
    for (row, start) in ["=", "+", "-", "@", "\t=", "\r="].iter().enumerate() {
        cases += &format!(
            "F-{row},\"{start}1+1\",\"{start}A1\",\"{start}B1\",\"{start}C1\",2026-0{}-04,{},\"{start}E1\"\n",
            row + 1,
            if row % 2 == 0 { "-D1" } else { "=D9" }
        );
    }
    let visits =
        "case_id,visit_date,visit_kind,note\nF-0,2026-02-20,visit,=1+1\nF-1,2026-02-25,visit,@A1\n";
    let devices = "device_id,label,mechanism,labelled_size_mm,sized_by,range_min,range_max\n\
        -D1,=2+2,balloon_expandable,23,area,300,500\nD2,@x,self_expanding,26,perimeter,60,80\n";
    let left = run_beside(
        cases.as_bytes(),
        &[
            ("--followups", visits.as_bytes()),
            ("--devices", devices.as_bytes()),
        ],
        &["--name-operators", "--fail-on", "never"],
    );
    // Each of these starts reaches a table, behind an apostrophe.
    let told: String = ["worklist.csv", "devices-used.csv", "cohort-series.csv"]
        .map(|name| String::from_utf8(left.files[name].clone()).expect("UTF-8"))
        .concat();
    for cell in [
        "'=1+1", "'+1+1", "'-1+1", "'@1+1", "'=C1", "'=2+2", "'-D1", "'=D9", "'@E1", "'=B1",
    ] {
        assert!(told.contains(cell), "{cell}");
    }
}

/// The text of a page as poppler reads it.
fn text_of(pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("page.pdf");
    std::fs::write(&file, pdf).expect("written");
    let output = std::process::Command::new("pdftotext")
        .arg(&file)
        .arg("-")
        .output()
        .expect("pdftotext of poppler-utils, which the README names");
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[test]
fn marks_that_nobody_sees_turn_no_text_around() {
    let left = fixture("marks.csv");
    assert_eq!(left.ids(), ["GOOD-1", "B3", "C4"]);
    left.has_error("bad_id", 3);
    left.has_error("hidden_character", 4);
    let devices = String::from_utf8(left.files["devices-used.csv"].clone()).expect("UTF-8");
    assert!(!devices.contains('\u{200F}'));
    // Nor on the pages, where a label stands at the head.
    let page = text_of(&left.files["cases/GOOD-1.pdf"]);
    assert!(page.contains("Hostile"), "{page}");
    for (name, bytes) in left.files.iter().filter(|(name, _)| name.ends_with(".pdf")) {
        let text = text_of(bytes);
        let turns = |mark: char| matches!(mark, '\u{1B}' | '\u{7}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}');
        assert!(!text.contains(turns), "{name}: {text:?}");
    }
}

#[test]
fn halves_of_pairs_cost_their_own_cell() {
    let left = fixture("lone-surrogates.csv");
    assert_eq!(left.ids(), ["GOOD-1", "A2", "A3", "A4"]);
    let expected = [("encoding", "3"), ("encoding", "4")];
    let expected = expected.map(|(code, line)| (code.to_owned(), line.to_owned()));
    assert_eq!(left.errors(), BTreeSet::from(expected));
    assert_eq!(fixture("odd-utf-16.csv").ids(), ["GOOD-1", "A2"]);
}

#[test]
fn mixed_encodings_and_zero_bytes_cost_their_own_cells_and_rows() {
    let left = fixture("mixed-encodings.csv");
    assert_eq!(left.ids(), ["GOOD-1", "A2"]);
    for line in [3, 4, 5] {
        left.has_error("encoding", line);
    }
    let left = fixture("nul-bytes.csv");
    assert_eq!(left.ids(), ["GOOD-1", "A2", "A4"]);
    for line in [3, 4, 6] {
        left.has_error("encoding", line);
    }
    left.has_error("row_length", 5);
}

#[test]
fn a_header_or_a_column_twice_is_said() {
    let left = fixture("header-twice.csv");
    assert_eq!(left.ids(), ["GOOD-1", "A2"]);
    left.has_error("required_cell", 3);
    let left = fixture("column-twice.csv");
    assert_eq!(left.ids(), ["GOOD-1", "A2"]);
    left.has_error("repeated_column", 1);
    assert!(
        left.table("results.csv")
            .iter()
            .all(|row| row["bsa_m2"].is_empty())
    );
}

#[test]
fn line_ends_and_quotation_marks() {
    assert_eq!(fixture("no-line-end.csv").ids(), ["GOOD-1", "A2"]);
    let left = fixture("quotes.csv");
    assert_eq!(left.ids(), ["GOOD-1", "A3"]);
    left.has_error("quotation", 3);
}

#[test]
fn a_million_characters_in_each_text_and_ten_thousand_columns() {
    let texts = [
        "patient_label",
        "site",
        "operator",
        "device_id",
        "device_serial",
        "medication",
        "discharge_note",
    ];
    let mut table = format!("case_id,procedure_date,{}", texts.join(","));
    (0..10_000).for_each(|column| table += &format!(",extra {column}"));
    for id in ["GOOD-1", "A2"] {
        table += &format!("\n{id},2026-03-04");
        for (position, _) in texts.iter().enumerate() {
            let letter = ["x", "é", "汉", "=", " y", "\u{1F9D1}", "a\u{301}"][position];
            table += &format!(",{}", letter.repeat(1_000_000));
        }
        table += &",1".repeat(10_000);
    }
    table += "\nA3,2026-03-04,short";
    let left = run_on(table.as_bytes(), &[]);
    assert_eq!(left.ids(), ["GOOD-1", "A2"]);
    left.has_error("row_length", 4);
    assert!(
        left.run.err.len() < 20_000,
        "the terminal is not flooded: {}",
        left.run.err.len()
    );
    assert!(left.files["problems.csv"].len() < 4_000_000);
}

#[test]
fn a_row_of_a_million_cells_is_one_row_too_long() {
    let mut table = "case_id,procedure_date\nGOOD-1,2026-03-04\nA2,2026-03-04".to_owned();
    table += &",".repeat(500_000);
    table += &",x".repeat(500_000);
    let left = run_on(table.as_bytes(), &["--make", "results"]);
    assert_eq!(left.ids(), ["GOOD-1"]);
    left.has_error("row_length", 3);
}

/// Runs `report` in an address space of so many KiB (`ulimit -v`).
fn within(kib: u32, inputs: &[&str], out: &Path) -> Run {
    std::process::Command::new("sh")
        .arg("-c")
        .arg(format!("ulimit -v {kib}; exec \"$0\" \"$@\""))
        .args([env!("CARGO_BIN_EXE_valvefolio"), "report"])
        .args(inputs)
        .arg("--out")
        .arg(out)
        .output()
        .expect("a shell")
        .into()
}

/// A sparse file of 2 GiB: its length is told, its blocks are not there, so it is refused before it is read,
/// in half a gibibyte of memory.
#[test]
fn a_table_of_2_gib_is_refused_by_name_and_nothing_is_written() {
    let work = tempfile::tempdir().expect("a folder");
    let (large, out) = (work.path().join("large.csv"), work.path().join("out"));
    let file = std::fs::File::create(&large).expect("created");
    if let Err(error) = file.set_len(2 << 30) {
        return println!("skipped: no sparse files here: {error}");
    }
    let large = large.to_str().expect("plain path");
    let good = "fixtures/quarter/cases.csv";
    for inputs in [
        &[large][..],
        &[good, "--followups", large],
        &[good, "--devices", large],
        &[good, "--site", large],
    ] {
        let run = within(500_000, inputs, &out);
        assert_eq!(run.code, 2, "{}", run.err);
        for part in ["large.csv", "larger than 1 GiB"] {
            assert!(run.err.contains(part), "{part} not in: {}", run.err);
        }
        assert!(!out.exists());
    }
}
