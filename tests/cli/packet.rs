//! The packet as another program reads it (poppler's), held against results.csv; and what a site file changes in it.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use jiff::civil::Date;

use super::support::{DEMO, csv_rows, input_file, report};

/// The pages of a PDF as text.
fn pages(file: &Path) -> Vec<String> {
    let output = Command::new("pdftotext")
        .arg("-layout")
        .arg(file)
        .arg("-")
        .output()
        .expect("poppler-utils; the README's second command installs them");
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    // Words of one entry are joined by spaces that do not break.
    text.replace('\u{a0}', " ")
        .split('\u{c}')
        .map(str::to_owned)
        .collect()
}

/// A date as pages write it: 7 Dec 2026.
fn written(day: &str) -> String {
    let day: Date = day.parse().expect("a date");
    let months = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    let month = months[usize::try_from(day.month()).expect("a month") - 1];
    format!("{} {month} {}", day.day(), day.year())
}

fn rows(folder: &Path, file: &str) -> Vec<BTreeMap<String, String>> {
    csv_rows(&std::fs::read(folder.join(file)).expect("written"))
}

#[test]
fn every_patient_due_is_in_the_packet_once_with_the_dates_of_results_csv() {
    let folder = tempfile::tempdir().expect("a folder");
    let options = ["--make", "results,followup", "--window", "0d"];
    let run = report(&DEMO, folder.path(), &options);
    assert_eq!(run.code, 0, "{}", run.err);
    let pages = pages(&folder.path().join("followup.pdf"));
    let list: Vec<&str> = pages
        .iter()
        .filter(|page| page.starts_with("Follow-up worklist"))
        .flat_map(|page| page.lines())
        .collect();
    let case_pages: Vec<&String> = pages
        .iter()
        .filter(|page| page.contains("Plan, as recorded"))
        .collect();
    let mut due = 0;
    for row in rows(folder.path(), "results.csv") {
        let case = format!("case {}", row["case_id"]);
        // The line of the case on the list: its id, and the due day on the line above.
        let at: Vec<usize> = (0..list.len())
            .filter(|at| list[*at].trim_start().starts_with(&format!("{case} ")))
            .collect();
        let own: Vec<&&String> = case_pages
            .iter()
            .filter(|page| {
                let mut head = page.lines().take(4);
                head.any(|line| line.contains(&format!("{case} ")) || line.ends_with(&case))
            })
            .collect();
        let state = row["follow_up_state"].as_str();
        if !["due", "overdue", "lost"].contains(&state) {
            if state == "deceased" {
                assert!(at.is_empty() && own.is_empty(), "{case} died");
            }
            continue;
        }
        due += 1;
        assert_eq!(at.len(), 1, "{case} is {state}");
        assert_eq!(own.len(), 1, "{case} is {state}: its page");
        let day = written(&row["next_visit_due"]);
        let line = list[at[0] - 1];
        assert!(line.contains(&format!("due {day}")), "{case}: {line}");
        let next = own[0]
            .lines()
            .find(|line| line.trim_start().starts_with("Next visit"))
            .expect("the plan says what is next");
        assert!(next.contains(&day), "{case}: {next}");
    }
    assert!(due > 10, "{due} cases are due");
    let listed = rows(folder.path(), "worklist.csv").len();
    assert_eq!(
        case_pages.len(),
        listed,
        "a page for each line and no other"
    );
}

#[test]
fn slips_stand_four_to_a_page() {
    let folder = tempfile::tempdir().expect("a folder");
    let run = report(&DEMO, folder.path(), &["--make", "followup"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let on_page: Vec<usize> = pages(&folder.path().join("followup.pdf"))
        .iter()
        .filter(|page| page.starts_with("Slips for the next echo"))
        .map(|page| page.matches("To type into the follow-up file").count())
        .collect();
    let (last, full) = on_page.split_last().expect("slips");
    assert!(full.iter().all(|count| *count == 4), "{on_page:?}");
    assert!((1..=4).contains(last), "{on_page:?}");
    // One for each line but of those who declined, or have no valve.
    let slips: usize = on_page.iter().sum();
    let lines = rows(folder.path(), "worklist.csv");
    let declined = lines
        .iter()
        .filter(|row| row["follow_up_status"] == "declined")
        .count();
    assert_eq!(slips, lines.len() - declined);
}

#[test]
fn what_is_missing_stands_in_problems_csv_with_its_place_and_what_it_costs() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str, text: &str| input_file(folder.path(), name, text);
    let cases = file(
        "cases.csv",
        "case_id,procedure_date,weight_kg,height_cm\nA,2026-01-01,80,200\nB,2026-01-01,80,\n",
    );
    let visits = file(
        "visits.csv",
        "case_id,visit_date,mean_gradient_mmhg,vmax_m_s,av_vti_cm,lvot_vti_cm\nA,2026-02-01,10,2,40,\n",
    );
    let inputs = [&*cases, "--followups", &*visits, "--as-of", "2026-03-01"];
    let out = folder.path().join("out");
    let run = report(&inputs, &out, &["--make", "followup"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let problems = rows(&out, "problems.csv");
    let missing = |case: &str, column: &str| {
        problems.iter().find(|row| {
            row["case_id"] == case && row["column"] == column && row["code"] == "missing_value"
        })
    };
    let height = missing("B", "height_cm").expect("no height");
    assert_eq!((&*height["line"], &*height["severity"]), ("3", "note"));
    assert!(height["file"].ends_with("cases.csv"));
    for said in ["administration", "bmi_kg_m2", "alone it would settle"] {
        assert!(height["expected"].contains(said), "{}", height["expected"]);
    }
    assert!(missing("A", "height_cm").is_none(), "known");
    let outflow = missing("A", "lvot_vti_cm").expect("no outflow VTI at the visit");
    assert_eq!(&*outflow["line"], "2");
    assert!(outflow["file"].ends_with("visits.csv"));
    assert!(outflow["expected"].contains("performance_dvi"));
    assert!(outflow["expected"].contains("echo"));
}

/// One case by hand: day 59 on the as-of date; annulus 405 mm² in a range from 400 mm²; sheath 7 mm in a lumen of 7 mm.
#[test]
fn what_the_site_file_sets_decides() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = |name: &str, text: &str| input_file(folder.path(), name, text);
    let cases = file(
        "cases.csv",
        "case_id,procedure_date,annulus_area_mm2,device_id,access_route,access_min_lumen_mm\n\
         A,2026-01-01,405,D1,transfemoral,7\n",
    );
    let devices = file(
        "devices.csv",
        "device_id,label,mechanism,labelled_size_mm,sized_by,range_min,range_max,sheath_outer_mm\n\
         D1,Demo one,balloon_expandable,24,area,400,500,7\n",
    );
    let result = |name: &str, site: &str| {
        let site = file("site.toml", site);
        let inputs = [&*cases, "--devices", &*devices, "--site", &*site];
        let out = folder.path().join(name);
        let options = ["--as-of", "2026-03-01", "--make", "results"];
        let run = report(&inputs, &out, &options);
        assert_eq!(run.code, 0, "{}", run.err);
        rows(&out, "results.csv").remove(0)
    };
    let usual = result("usual", "");
    assert_eq!(
        usual["follow_up_state"], "due",
        "the window closes on day 75"
    );
    // 405 less 3 % is 392.85.
    assert!(usual["fragile"].contains("device_in_range"));
    assert!(
        !usual["flags"].contains("tight_access"),
        "7 / 7 is below 1.05"
    );
    let own = result(
        "own",
        "[visits]\nfirst = { day = 30, from = 23, to = 50 }\n\
         [measurement_errors]\nannulus_area_pct = 1\n\
         [attention]\ntight_access_ratio = 1.0\n",
    );
    assert_eq!(own["follow_up_state"], "overdue", "it closed on day 50");
    // 405 less 1 % is 400.95.
    assert!(!own["fragile"].contains("device_in_range"));
    assert!(own["flags"].contains("tight_access"));
}

#[test]
fn the_masking_threshold_is_the_site_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let masked = |name: &str, below: usize| {
        let site = folder.path().join(format!("{name}.toml"));
        std::fs::write(&site, format!("[cohort]\nmask_counts_below = {below}\n")).expect("written");
        let out = folder.path().join(name);
        let site = site.to_str().expect("plain path");
        let options = ["--site", site, "--deidentify", "--make", "cohort"];
        let run = report(&DEMO, &out, &options);
        assert_eq!(run.code, 0, "{}", run.err);
        let cells: Vec<usize> = rows(&out, "cohort.csv")
            .iter()
            .filter_map(|row| row["numerator"].parse().ok())
            .collect();
        cells
    };
    let small = |counts: &[usize], below: usize| {
        counts
            .iter()
            .filter(|count| (1..below).contains(*count))
            .count()
    };
    let five = masked("five", 5);
    assert_eq!(small(&five, 5), 0, "none under five is told");
    assert!(small(&five, 12) > 0, "some under twelve are");
    assert_eq!(small(&masked("twelve", 12), 12), 0);
}
