//! `--since`: which results are other than in an earlier run, and why. Small tables written by hand; every expected cause
//! follows from what was edited between the two runs, every expected number was worked out by hand beside it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::support::{Run, csv_rows, files, report, run};

const CASES: &str = "\
case_id,procedure_date,birth_date,sex,weight_kg,height_cm,annulus_area_mm2,device_id,device_serial,last_contact_date
K1,2026-01-01,1944-05-06,female,80,200,450,D1,S-1,2026-01-20
K2,2026-01-01,1940-02-03,male,90,200,310,D2,S-2,2026-01-20
";
/// K1's annulus of 450 mm² lies in the range of D1 alone, K2's of 310 mm² in that of D2 alone.
const DEVICES: &str = "\
device_id,label,mechanism,labelled_size_mm,sized_by,range_min,range_max
D1,Demo one,balloon_expandable,24,area,400,500
D2,Demo two,balloon_expandable,20,area,300,350
";

/// A folder with tables and what runs left.
struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder"),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn text(&self, name: &str) -> String {
        self.path(name).to_str().expect("plain path").to_owned()
    }

    fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).expect("written");
    }

    /// Runs on these tables into the folder `out`.
    fn run(&self, [cases, devices]: [&str; 2], as_of: &str, out: &str, options: &[&str]) -> Run {
        self.write("cases.csv", cases);
        self.write("devices.csv", devices);
        let (cases, devices) = (self.text("cases.csv"), self.text("devices.csv"));
        let inputs = [&*cases, "--devices", &*devices, "--as-of", as_of];
        report(&inputs, &self.path(out), options)
    }

    /// An earlier run on the tables above as of 2026-02-01.
    fn earlier(&self) -> String {
        let run = self.run(
            [CASES, DEVICES],
            "2026-02-01",
            "before",
            &["--make", "results"],
        );
        assert_eq!(run.code, 0, "{}", run.err);
        self.text("before/results.csv")
    }

    /// What changes.csv says of a later run, by case and result.
    fn changes(&self, tables: [&str; 2], as_of: &str, options: &[&str]) -> Changes {
        let earlier = self.earlier();
        self.changes_since(&earlier, tables, as_of, options)
    }

    fn changes_since(
        &self,
        earlier: &str,
        tables: [&str; 2],
        as_of: &str,
        options: &[&str],
    ) -> Changes {
        let options = [&["--make", "results", "--since", earlier], options].concat();
        let run = self.run(tables, as_of, "after", &options);
        assert!(run.code < 2, "{}", run.err);
        changes_in(&self.path("after/changes.csv"))
    }
}

type Changes = BTreeMap<(String, String), BTreeMap<String, String>>;

fn changes_in(file: &Path) -> Changes {
    let rows = csv_rows(&std::fs::read(file).expect("changes.csv"));
    let count = rows.len();
    let changes: Changes = rows
        .into_iter()
        .map(|row| ((row["case_id"].clone(), row["result"].clone()), row))
        .collect();
    assert_eq!(changes.len(), count, "a result stands once");
    changes
}

fn why<'c>(changes: &'c Changes, case: &str, result: &str) -> &'c str {
    let key = (case.to_owned(), result.to_owned());
    &changes
        .get(&key)
        .unwrap_or_else(|| panic!("{key:?} is not among {:?}", changes.keys()))["why"]
}

/// Demands that every change has this one cause, and is of this case.
fn all(changes: &Changes, case: &str, cause: &str) {
    assert!(!changes.is_empty());
    for ((of, result), row) in changes {
        assert_eq!(of, case, "{result}");
        assert_eq!(row["why"], cause, "{of} {result}");
    }
}

#[test]
fn nothing_changed_is_a_header() {
    let bench = Bench::new();
    assert_eq!(
        bench.changes([CASES, DEVICES], "2026-02-01", &[]),
        Changes::new()
    );
}

#[test]
fn another_unit_encoding_or_order_of_columns_is_no_other_input() {
    let bench = Bench::new();
    let site = "[headers.cases]\n\"Height (m)\" = { column = \"height_cm\", unit = \"m\" }\n";
    bench.write("site.toml", site);
    let cases = "\
procedure_date;case_id;device_serial;device_id;last_contact_date;birth_date;sex;weight_kg;Height (m);annulus_area_mm2
2026-01-01;K1;S-1;D1;2026-01-20;1944-05-06;female;80,0;2,00;450
2026-01-01;K2;S-2;D2;2026-01-20;1940-02-03;male;90;2;310
";
    let site = bench.text("site.toml");
    let changes = bench.changes([cases, DEVICES], "2026-02-01", &["--site", &site]);
    assert_eq!(changes, Changes::new());
    let rows = |out: &str| csv_rows(&std::fs::read(bench.path(out)).expect("results"));
    let (before, after) = (rows("before/results.csv"), rows("after/results.csv"));
    for (before, after) in before.iter().zip(&after) {
        for column in ["input_hash", "device_row_hash", "settings_hash"] {
            assert_eq!(before[column], after[column], "{column}");
            assert_eq!(before[column].len(), 2 + 16, "{column}");
        }
    }
}

#[test]
fn only_an_input() {
    let bench = Bench::new();
    let cases = CASES.replace("female,80", "female,100");
    let changes = bench.changes([&cases, DEVICES], "2026-02-01", &[]);
    all(&changes, "K1", "input");
    let bmi = &changes[&("K1".to_owned(), "bmi_kg_m2".to_owned())];
    // 80 / 2² and 100 / 2².
    assert_eq!((&*bmi["before"], &*bmi["now"]), ("20", "25"));
    assert_eq!((&*bmi["change"], &*bmi["unit"]), ("changed", "kg/m2"));
    assert_eq!(
        (&*bmi["as_of_before"], &*bmi["as_of"]),
        ("2026-02-01", "2026-02-01")
    );
}

#[test]
fn a_value_that_became_unknown_and_one_that_became_known() {
    let bench = Bench::new();
    let cases = CASES.replace("female,80", "female,");
    let changes = bench.changes([&cases, DEVICES], "2026-02-01", &[]);
    all(&changes, "K1", "input");
    let key = ("K1".to_owned(), "bmi_kg_m2".to_owned());
    assert_eq!(changes[&key]["change"], "became_unknown");
    assert_eq!(changes[&key]["now"], "");

    let blank = bench.text("after/results.csv");
    let changes = {
        let options = ["--make", "results", "--since", &blank];
        let run = bench.run([CASES, DEVICES], "2026-02-01", "third", &options);
        assert_eq!(run.code, 0, "{}", run.err);
        changes_in(&bench.path("third/changes.csv"))
    };
    all(&changes, "K1", "input");
    assert_eq!(changes[&key]["change"], "became_known");
    assert_eq!(changes[&key]["now"], "20");
}

#[test]
fn only_the_row_of_the_implanted_device() {
    let bench = Bench::new();
    // 450 mm² is larger than 440 mm².
    let devices = DEVICES.replace("400,500", "400,440");
    let changes = bench.changes([CASES, &devices], "2026-02-01", &[]);
    all(&changes, "K1", "catalogue_row");
    let range = &changes[&("K1".to_owned(), "device_in_range".to_owned())];
    assert_eq!((&*range["before"], &*range["now"]), ("within", "above"));
    assert_eq!(why(&changes, "K1", "annulus_sizes"), "catalogue_row");
}

#[test]
fn only_another_row_of_the_catalogue() {
    let bench = Bench::new();
    // D2 reaches to K1's annulus of 450 mm² too; K2's own results do not change.
    let devices = DEVICES.replace("300,350", "300,460");
    let changes = bench.changes([CASES, &devices], "2026-02-01", &[]);
    all(&changes, "K1", "other_catalogue_row");
    let sizes = &changes[&("K1".to_owned(), "annulus_sizes".to_owned())];
    assert_eq!((&*sizes["before"], &*sizes["now"]), ("D1", "D1;D2"));
}

#[test]
fn only_the_version_of_the_definitions() {
    let bench = Bench::new();
    let earlier = bench.earlier();
    // What a program with other definitions might have written: version 0, and another class.
    edit_cells(Path::new(&earlier), |row| {
        row.insert("definitions_version".to_owned(), "0".to_owned());
        row.insert("death_30d".to_owned(), "no".to_owned());
    });
    let changes = bench.changes_since(&earlier, [CASES, DEVICES], "2026-02-01", &[]);
    assert_eq!(changes.len(), 2);
    for case in ["K1", "K2"] {
        // Last contact on day 19, so death to day 30 cannot be told.
        let change = &changes[&(case.to_owned(), "death_30d".to_owned())];
        assert_eq!(change["why"], "definitions_version");
        assert_eq!(change["change"], "became_unknown");
        assert_eq!(
            (&*change["definitions_before"], &*change["definitions"]),
            ("0", "1")
        );
    }
}

#[test]
fn only_the_day() {
    let bench = Bench::new();
    // The window of the 30-day visit closes on day 75, 17 March 2026.
    let changes = bench.changes([CASES, DEVICES], "2026-03-18", &[]);
    for ((_, result), row) in &changes {
        assert_eq!(row["why"], "time", "{result}");
    }
    for case in ["K1", "K2"] {
        let state = &changes[&(case.to_owned(), "follow_up_state".to_owned())];
        assert_eq!((&*state["before"], &*state["now"]), ("due", "overdue"));
        assert_eq!(
            (&*state["as_of_before"], &*state["as_of"]),
            ("2026-02-01", "2026-03-18")
        );
    }
    let results: Vec<&str> = changes.keys().map(|(_, result)| result.as_str()).collect();
    assert!(!results.contains(&"bmi_kg_m2"), "{results:?}");
}

#[test]
fn a_cell_typed_in_and_a_day_that_passed_are_told_apart() {
    let bench = Bench::new();
    let cases = CASES.replace("female,80", "female,100");
    let changes = bench.changes([&cases, DEVICES], "2026-03-18", &[]);
    assert_eq!(why(&changes, "K1", "bmi_kg_m2"), "input");
    assert_eq!(why(&changes, "K1", "follow_up_state"), "time");
}

#[test]
fn a_contact_since_then_is_an_input_and_not_time() {
    let bench = Bench::new();
    // Known alive on day 41: death to 30 days is no. The day lies between the two as-of dates.
    let cases = CASES.replacen("S-1,2026-01-20", "S-1,2026-02-11", 1);
    let changes = bench.changes([&cases, DEVICES], "2026-03-18", &[]);
    assert_eq!(why(&changes, "K1", "death_30d"), "input");
    let death = &changes[&("K1".to_owned(), "death_30d".to_owned())];
    assert_eq!((&*death["now"], &*death["change"]), ("no", "became_known"));
    assert_eq!(why(&changes, "K2", "follow_up_state"), "time");
}

#[test]
fn only_the_settings_of_the_site_file() {
    let bench = Bench::new();
    bench.write("site.toml", "[formulas]\nbsa = \"mosteller\"\n");
    let site = bench.text("site.toml");
    let changes = bench.changes([CASES, DEVICES], "2026-02-01", &["--site", &site]);
    for ((_, result), row) in &changes {
        assert_eq!(row["why"], "settings", "{result}");
    }
    // √(200 · 90 / 3600) = √5 (Mosteller 1987).
    let bsa: f64 = changes[&("K2".to_owned(), "bsa_m2".to_owned())]["now"]
        .parse()
        .expect("a number");
    assert!((bsa - 5f64.sqrt()).abs() < 1e-12);
}

#[test]
fn another_case_with_the_same_serial() {
    let bench = Bench::new();
    let cases = format!("{CASES}K3,2026-01-05,1950-01-01,male,70,170,320,D2,S-1,2026-01-20\n");
    let changes = bench.changes([&cases, DEVICES], "2026-02-01", &[]);
    assert_eq!(why(&changes, "K1", "flags"), "other_case");
    let new = &changes[&("K3".to_owned(), String::new())];
    assert_eq!((&*new["change"], &*new["why"]), ("new_case", ""));
    assert_eq!(changes.len(), 2, "{:?}", changes.keys());
}

#[test]
fn cases_that_are_gone_or_withheld() {
    let bench = Bench::new();
    let without = |id: &str| -> String {
        let lines = CASES.lines().filter(|line| !line.starts_with(id));
        lines.map(|line| format!("{line}\n")).collect()
    };
    let changes = bench.changes([&without("K2"), DEVICES], "2026-02-01", &[]);
    let became = |changes: &Changes| changes[&("K2".to_owned(), String::new())]["change"].clone();
    assert_eq!(became(&changes), "case_gone");
    assert_eq!(changes.len(), 1);
    let withheld = CASES.replace("K2,2026-01-01", "K2,");
    let changes = bench.changes([&withheld, DEVICES], "2026-02-01", &[]);
    assert_eq!(became(&changes), "case_withheld");
}

#[test]
fn what_none_of_these_explains_is_said_so() {
    let bench = Bench::new();
    let earlier = bench.earlier();
    edit_cells(Path::new(&earlier), |row| {
        row.insert("bmi_kg_m2".to_owned(), "33".to_owned());
    });
    let changes = bench.changes_since(&earlier, [CASES, DEVICES], "2026-02-01", &[]);
    assert_eq!(changes.len(), 2);
    assert_eq!(why(&changes, "K1", "bmi_kg_m2"), "unexplained");
}

#[test]
fn the_same_number_written_otherwise_is_no_change() {
    let bench = Bench::new();
    let earlier = bench.earlier();
    edit_cells(Path::new(&earlier), |row| {
        let bmi = row["bmi_kg_m2"].clone() + if row["case_id"] == "K1" { ".00" } else { "0" };
        row.insert("bmi_kg_m2".to_owned(), bmi);
    });
    let changes = bench.changes_since(&earlier, [CASES, DEVICES], "2026-02-01", &[]);
    assert_eq!(changes, Changes::new());
}

#[test]
fn the_results_of_the_folder_itself_are_read_before_they_are_written_over() {
    let bench = Bench::new();
    let earlier = bench.earlier();
    let cases = CASES.replace("female,80", "female,100");
    let options = ["--make", "results,followup", "--since", &earlier];
    let run_of = bench.run([&cases, DEVICES], "2026-02-01", "before", &options);
    assert_eq!(run_of.code, 0, "{}", run_of.err);
    let changes = changes_in(&bench.path("before/changes.csv"));
    all(&changes, "K1", "input");
    let again = bench.run([&cases, DEVICES], "2026-02-01", "before", &options);
    assert_eq!(again.code, 0);
    assert_eq!(
        changes_in(&bench.path("before/changes.csv")),
        Changes::new()
    );
    let verdict = run(["verify", &bench.text("before")]);
    assert_eq!(verdict.code, 0, "{}", verdict.out);
    let json = std::fs::read_to_string(bench.path("before/run.json")).expect("there");
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["since"]["file"], earlier.as_str());
    assert_eq!(json["since"]["sha256"].as_str().map(str::len), Some(64));
}

/// What a reader of the packet sees.
fn packet(bench: &Bench) -> String {
    let output = Command::new("pdftotext")
        .args(["-layout", &bench.text("after/followup.pdf"), "-"])
        .output()
        .expect("poppler-utils; the README's second command installs them");
    assert!(output.status.success());
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[test]
fn the_packet_marks_them_on_the_line_of_the_patient_and_on_a_sheet() {
    let bench = Bench::new();
    let earlier = bench.earlier();
    let cases = CASES.replace("female,80", "female,");
    let options = ["--make", "followup", "--since", &earlier];
    let run = bench.run([&cases, DEVICES], "2026-03-18", "after", &options);
    assert_eq!(run.code, 0, "{}", run.err);
    let text = packet(&bench);
    let sheet = text
        .find("\u{c}Changed results")
        .expect("a sheet of its own");
    let (list, rest) = text.split_at(sheet);
    assert!(list.contains("Changed since 1 Feb 2026:"), "{list}");
    assert!(
        list.contains("body mass index: 20 → unknown (input)"),
        "{list}"
    );
    assert!(list.contains("due → overdue (time alone)"), "{list}");
    assert!(rest.contains("body mass index, kg/m²"), "{rest}");
    assert!(rest.contains("Changed by time alone"), "{rest}");
    assert!(rest.contains("C1"), "{rest}");

    let run = bench.run(
        [&cases, DEVICES],
        "2026-03-18",
        "after",
        &["--make", "followup"],
    );
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(!packet(&bench).contains("Changed"), "not asked for");
}

/// Changes the cells of every row of a results.csv.
fn edit_cells(file: &Path, edit: impl Fn(&mut BTreeMap<String, String>)) {
    let bytes = std::fs::read(file).expect("results");
    let header = csv::Reader::from_reader(&bytes[..])
        .headers()
        .expect("a header")
        .clone();
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(&header).expect("written");
    for mut row in csv_rows(&bytes) {
        edit(&mut row);
        let cells: Vec<&str> = header.iter().map(|name| row[name].as_str()).collect();
        writer.write_record(cells).expect("written");
    }
    std::fs::write(file, writer.into_inner().expect("written")).expect("written");
}

#[test]
fn a_file_that_is_no_earlier_result_is_refused_by_name() {
    let bench = Bench::new();
    let good = std::fs::read_to_string(bench.earlier()).expect("results");
    let (header, rows) = good.split_once('\n').expect("lines");
    let first = rows.lines().next().expect("a row");
    let refused = |name: &str, text: &[u8], said: &str| {
        std::fs::write(bench.path(name), text).expect("written");
        let file = bench.text(name);
        let options = ["--make", "results", "--since", &file];
        let run = bench.run([CASES, DEVICES], "2026-02-01", "after", &options);
        assert_eq!(run.code, 2, "{name}: {}", run.err);
        assert!(run.err.contains(name), "{name}: {}", run.err);
        assert!(run.err.contains(said), "{name}: {}", run.err);
        assert!(!bench.path("after").exists(), "{name}: nothing is written");
    };
    refused("cases-table.csv", CASES.as_bytes(), "results.csv");
    refused(
        "prose.csv",
        b"Dear team,\nsee below\n",
        "names none of the columns",
    );
    refused("empty.csv", b"", "names none of the columns");
    refused("letters.csv", b"case_id\xFF,x\n", "UTF-8");
    refused(
        "bytes.csv",
        &[good.as_bytes(), b"\xFF\xFE,\n"].concat(),
        "UTF-8",
    );
    let twice = format!("{good}{first}\n");
    refused("twice.csv", twice.as_bytes(), "case K1 stands in it twice");
    let more = format!("{header},extra\n{first},1\n");
    refused("more.csv", more.as_bytes(), "\"extra\"");
    let less = good.replacen("bmi_kg_m2,", "", 1);
    refused("less.csv", less.as_bytes(), "no column bmi_kg_m2");
    let repeated = format!("{header},as_of\n{first},2026-02-01\n");
    refused("repeated.csv", repeated.as_bytes(), "twice");
    let short = format!("{header}\n{}\n", first.rsplit_once(',').expect("cells").0);
    refused("short.csv", short.as_bytes(), "line 2");
    let semicolons = good.replace(',', ";");
    refused(
        "semicolons.csv",
        semicolons.as_bytes(),
        "names none of the columns",
    );
    let mixed = good.replacen("2026-02-01", "2026-01-31", 1);
    refused("mixed.csv", mixed.as_bytes(), "different days");
    let dateless = good.replace("2026-02-01", "soon");
    refused("dateless.csv", dateless.as_bytes(), "not a day");
    let nameless = format!("{header}\n{}\n", first.replacen("K1", "", 1));
    refused("nameless.csv", nameless.as_bytes(), "case_id");
    let (_, hash) = good.split_once(",3-").expect("a hash");
    let hash = &hash[..16];
    let of_before = good.replace(&format!("3-{hash}"), hash);
    refused("hashes.csv", of_before.as_bytes(), "made another way");
    let future = good.replace("2026-02-01", "2027-02-01");
    refused("future.csv", future.as_bytes(), "later than");

    let missing = bench.text("no-such.csv");
    let options = ["--since", &missing];
    let run = bench.run([CASES, DEVICES], "2026-02-01", "after", &options);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("no-such.csv"), "{}", run.err);
}

#[test]
fn de_identified_results_neither_have_hashes_nor_can_be_compared() {
    let bench = Bench::new();
    let options = ["--make", "results", "--deidentify"];
    let numbered = bench.run([CASES, DEVICES], "2026-02-01", "numbered", &options);
    assert_eq!(numbered.code, 0, "{}", numbered.err);
    let earlier = bench.text("numbered/results.csv");
    for row in csv_rows(&std::fs::read(&earlier).expect("results")) {
        for (name, ..) in valvefolio::dictionary::BASIS {
            assert!(!row.contains_key(name), "{name}");
        }
    }
    let options = ["--make", "results", "--since", &earlier];
    let run = bench.run([CASES, DEVICES], "2026-02-01", "after", &options);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("de-identified"), "{}", run.err);

    let named = bench.earlier();
    let before = files(bench.folder.path());
    let options = ["--make", "results", "--deidentify", "--since", &named];
    let run = bench.run([CASES, DEVICES], "2026-02-01", "other", &options);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("--since"), "{}", run.err);
    assert_eq!(files(bench.folder.path()), before);
}
