//! An export with headers, units, dates and words of its own gives the results of the tables it was made from.

use std::path::Path;

use super::support::{DEMO, report, run};

const EXPORT: [&str; 7] = [
    "fixtures/export/faelle.csv",
    "--followups",
    "fixtures/export/verlauf.csv",
    "--devices",
    "fixtures/export/prothesen.csv",
    "--as-of",
    "2026-11-20",
];

fn results(inputs: &[&str], folder: &Path, site: Option<&str>) -> Vec<u8> {
    let mut options = vec!["--make", "results"];
    options.extend(site.iter().flat_map(|site| ["--site", site]));
    let run = report(inputs, folder, &options);
    assert_eq!(run.code, 0, "{}", run.err);
    std::fs::read(folder.join("results.csv")).expect("written")
}

#[test]
fn the_export_is_an_export() {
    let bytes = std::fs::read(EXPORT[0]).expect("the export");
    assert!(std::str::from_utf8(&bytes).is_err(), "not UTF-8");
    let (text, _, damaged) = encoding_rs::WINDOWS_1252.decode(&bytes);
    assert!(!damaged);
    let header = text.lines().next().expect("a header");
    let own: Vec<&str> = header
        .split(';')
        .filter(|name| valvefolio::dictionary::column("cases", name).is_some())
        .collect();
    assert!(own.is_empty(), "no header of the dictionary: {own:?}");
    assert!(header.contains("Annulusfläche (cm²)"));
}

#[test]
fn the_site_file_makes_it_the_same_cohort() {
    let folder = tempfile::tempdir().expect("a folder");
    let quarter = results(&DEMO, &folder.path().join("quarter"), None);
    let site = Some("fixtures/export/site.toml");
    let export = results(&EXPORT, &folder.path().join("export"), site);
    assert!(quarter.len() > 10_000);
    assert!(quarter == export, "results.csv differs");
}

#[test]
fn the_command_of_the_readme_is_all_it_takes() {
    let readme = std::fs::read_to_string("README.md").expect("the README");
    let (_, after) = readme
        .split_once("<!-- export command -->\n```sh\n")
        .expect("the command");
    let command = after.lines().next().expect("a line");
    assert!(after[command.len()..].starts_with("\n```"), "one command");
    let arguments = command
        .strip_prefix("cargo run --release --locked -- ")
        .and_then(|arguments| arguments.strip_suffix(" --out out"))
        .expect("a run into out");
    let folder = tempfile::tempdir().expect("a folder");
    let out = folder.path().join("out");
    let out = out.to_str().expect("plain path");
    let arguments = arguments
        .split(' ')
        .chain(["--make", "results", "--out", out]);
    let ran = run(arguments);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let quarter = results(&DEMO, &folder.path().join("quarter"), None);
    let export = std::fs::read(Path::new(out).join("results.csv")).expect("written");
    assert!(quarter == export, "results.csv differs");
}

/// The proposals of the draft that are right; whoever made the export knows.
const RIGHT: [&str; 5] = [
    "\"Mitralinsuffizienz prä\".words.\"(+)\" = \"trace\"",
    "\"Mitralinsuffizienz prä\".words.\"0\" = \"none\"",
    "\"Mitralinsuffizienz prä\".words.\"1+\" = \"mild\"",
    "\"Mitralinsuffizienz prä\".words.\"2+\" = \"moderate\"",
    "\"Art der Kontrolle\" = \"visit\"",
];

#[test]
fn the_draft_needs_only_the_edits_that_it_names() {
    let drafted = run([
        "site", "--from", EXPORT[0], EXPORT[1], EXPORT[2], EXPORT[3], EXPORT[4],
    ]);
    assert_eq!(drafted.code, 0, "{}", drafted.err);
    // The lines that the draft names at its head: these are edited, and no other.
    let head = "# Proposals to decide, by line: ";
    let named = drafted.out.lines().find_map(|line| line.strip_prefix(head));
    let named: Vec<usize> = named
        .expect("the draft names its proposals")
        .trim_end_matches('.')
        .split(", ")
        .map(|line| line.parse().expect("a line"))
        .collect();
    let mut edits = 0;
    let edited: String = drafted
        .out
        .lines()
        .enumerate()
        .map(|(position, line)| {
            match line
                .strip_prefix("#? ")
                .filter(|_| named.contains(&(position + 1)))
            {
                Some(proposal) => {
                    let right = RIGHT.iter().any(|right| proposal.starts_with(right));
                    assert!(right, "a proposal that the test does not know: {line}");
                    edits += 1;
                    format!("{proposal}\n")
                }
                None => format!("{line}\n"),
            }
        })
        .collect();
    assert_eq!(edits, RIGHT.len());
    let folder = tempfile::tempdir().expect("a folder");
    let draft = folder.path().join("draft.toml");
    std::fs::write(&draft, &drafted.out).expect("written");
    let site = folder.path().join("site.toml");
    std::fs::write(&site, edited).expect("written");
    let path = |path: &'_ Path| path.to_str().expect("plain path").to_owned();

    let quarter = results(&DEMO, &folder.path().join("quarter"), None);
    let unedited = results(
        &EXPORT,
        &folder.path().join("unedited"),
        Some(&path(&draft)),
    );
    assert!(quarter != unedited, "the proposals matter");
    let export = results(&EXPORT, &folder.path().join("edited"), Some(&path(&site)));
    assert!(quarter == export, "results.csv differs");
}

#[test]
fn a_draft_says_what_it_did_and_refuses_a_table_named_twice() {
    let drafted = run(["site", "--from", EXPORT[2], "--table", "followups"]);
    assert_eq!(drafted.code, 0);
    assert!(
        drafted.err.contains("of 30 headers placed"),
        "{}",
        drafted.err
    );
    let twice = run([
        "site",
        "--from",
        EXPORT[2],
        "--table",
        "followups",
        "--followups",
        EXPORT[2],
    ]);
    assert_eq!(twice.code, 2);
    assert!(twice.err.contains("--followups"), "{}", twice.err);
    let other = run([
        "site",
        "--from",
        EXPORT[0],
        "--table",
        "devices",
        "--encoding",
        "no-such",
    ]);
    assert_eq!(other.code, 2);
}
