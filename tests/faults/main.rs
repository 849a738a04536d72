//! What a run leaves behind when something goes wrong: the old file or the new one, each missing file named, and no
//! second run between.

#[path = "../cli/support.rs"]
mod support;

mod disk;
mod full;
mod links;
mod signed;
mod stale;
mod stopped;
mod together;
mod verify;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::LazyLock;

use support::{DEMO, Run, csv_rows, files, report};
use valvefolio::output::folder::sha256_hex;

/// Name of the lock, which is no output.
const LOCK: &str = valvefolio::output::LOCK;

/// Files of a folder by name.
type Files = BTreeMap<String, Vec<u8>>;

/// The first three cases of the demo, with their visits: as arguments of `report`.
static TABLES: LazyLock<[String; 3]> = LazyLock::new(|| {
    let folder =
        Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("faults-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("made");
    let demo = |path: &str| std::fs::read_to_string(path).expect("the demo");
    let (cases, visits, devices) = (demo(DEMO[0]), demo(DEMO[2]), demo(DEMO[4]));
    let cases: Vec<&str> = cases.lines().take(4).collect();
    let id = |line: &str| line.split(',').next().expect("a first cell").to_owned();
    let ids: Vec<String> = cases.iter().map(|line| id(line)).collect();
    let visits: Vec<&str> = visits
        .lines()
        .filter(|line| ids.contains(&id(line)))
        .collect();
    [
        ("cases.csv", cases.join("\n")),
        ("followups.csv", visits.join("\n")),
        ("devices.csv", devices),
    ]
    .map(|(name, text)| {
        std::fs::write(folder.join(name), text).expect("written");
        folder.join(name).to_str().expect("plain path").to_owned()
    })
});

/// The tables and the day that a report of them speaks for.
fn small(as_of: &str) -> [&str; 7] {
    let [cases, followups, devices] = TABLES.each_ref().map(String::as_str);
    [
        cases,
        "--followups",
        followups,
        "--devices",
        devices,
        "--as-of",
        as_of,
    ]
}

/// The day of the old run.
const OLD: &str = "2024-02-01";
/// The day of the new run.
const NEW: &str = "2026-11-20";

/// An old run, whose files differ from those of the new one.
fn old_run(out: &Path) -> Files {
    finished(OLD, out)
}

/// A new run over an old one.
fn new_run(out: &Path) -> Files {
    finished(OLD, out);
    finished(NEW, out)
}

fn finished(as_of: &str, out: &Path) -> Files {
    let run = report(&small(as_of), out, &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    files(out)
}

fn is_part(name: &str) -> bool {
    name.rsplit('/')
        .next()
        .is_some_and(|name| name.starts_with(".part-"))
}

/// The files that list the others.
const LISTS: [&str; 2] = ["run.json", "documents.csv"];

/// Each file that a list names, with its SHA-256.
fn listed(name: &str, bytes: &[u8]) -> Vec<(String, String)> {
    if name == "documents.csv" {
        let pair = |row: &BTreeMap<String, String>| (row["file"].clone(), row["sha256"].clone());
        return csv_rows(bytes).iter().map(pair).collect();
    }
    let run: serde_json::Value = serde_json::from_slice(bytes).expect("whole");
    let text = |value: &serde_json::Value| value.as_str().expect("a text").to_owned();
    let files = run["files"].as_array().expect("files");
    files
        .iter()
        .map(|file| (text(&file["file"]), text(&file["sha256"])))
        .collect()
}

/// Demands that every file is the old one or the new one; gives the names of those that are not the new one.
fn old_or_new(found: &Files, old: &Files, new: &Files) -> Vec<String> {
    let mut not_new = Vec::new();
    for (name, bytes) in found {
        if is_part(name) || name == LOCK {
            continue;
        }
        // A list differs where less was written; it is right where what it says of the others is so.
        let truthful = LISTS.contains(&name.as_str())
            && listed(name, bytes).iter().all(|(file, sha256)| {
                found.get(file).map(|bytes| sha256_hex(bytes)).as_ref() == Some(sha256)
            });
        if truthful {
            continue;
        }
        if new.get(name) != Some(bytes) {
            assert!(
                old.get(name) == Some(bytes),
                "{name} is neither the old file nor the new one"
            );
            not_new.push(name.clone());
        }
    }
    not_new.extend(
        new.keys()
            .filter(|name| !found.contains_key(*name))
            .cloned(),
    );
    not_new
}

/// Demands that each of these files is named on standard error.
fn all_named(files: &[String], run: &Run) {
    for file in files {
        assert!(
            run.err.contains(file.as_str()),
            "{file} is not named:\n{}",
            run.err
        );
    }
}
