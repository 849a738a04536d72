//! Running the program.

#![allow(dead_code, reason = "each test uses the part it needs")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The demo's arguments, the as-of date it is written for included.
pub const DEMO: [&str; 7] = [
    "fixtures/quarter/cases.csv",
    "--followups",
    "fixtures/quarter/followups.csv",
    "--devices",
    "fixtures/quarter/devices.csv",
    "--as-of",
    "2026-11-20",
];

/// A finished run.
pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl From<Output> for Run {
    fn from(output: Output) -> Self {
        Self {
            code: output.status.code().expect("ended by itself"),
            out: String::from_utf8(output.stdout).expect("UTF-8"),
            err: String::from_utf8(output.stderr).expect("UTF-8"),
        }
    }
}

/// Runs the program with these arguments.
pub fn run<'a>(arguments: impl IntoIterator<Item = &'a str>) -> Run {
    Command::new(env!("CARGO_BIN_EXE_valvefolio"))
        .args(arguments)
        .output()
        .expect("the program starts")
        .into()
}

/// Runs `report` into a folder.
pub fn report(inputs: &[&str], out: &Path, options: &[&str]) -> Run {
    let out = out.to_str().expect("plain path");
    run(["report"]
        .iter()
        .chain(inputs)
        .chain(&["--out", out])
        .chain(options)
        .copied())
}

/// Writes a file into a folder; its path as an argument.
pub fn input_file(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).expect("written");
    path.to_str().expect("plain path").to_owned()
}

/// Every file below a folder with its bytes, by path.
pub fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                walk(&path, found)
            } else {
                found.push(path)
            }
        }
    }
    let mut paths = Vec::new();
    walk(folder, &mut paths);
    paths
        .into_iter()
        .map(|path| {
            let name = path
                .strip_prefix(folder)
                .expect("below it")
                .to_string_lossy()
                .into_owned();
            (name, std::fs::read(&path).expect("readable"))
        })
        .collect()
}

/// A CSV file as rows of named cells.
pub fn csv_rows(bytes: &[u8]) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_reader(bytes);
    reader
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("well formed")
}
