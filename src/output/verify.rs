//! Are the files those that the last run wrote?

use std::collections::BTreeSet;

use serde::Deserialize;

use super::folder::{Folder, sha256_hex};
use super::lock::Standing;

/// What run.json says of the files.
#[derive(Debug, Deserialize)]
struct Run {
    files: Vec<Listed>,
}

/// One file of run.json.
#[derive(Debug, Deserialize)]
struct Listed {
    file: String,
    sha256: String,
}

/// What became of the files of a run.
#[derive(Debug, PartialEq, Eq)]
pub struct Verdict {
    /// Files that are as they were written.
    pub intact: usize,
    /// Files that have other bytes now.
    pub changed: Vec<String>,
    /// Files that are not there, or cannot be read.
    pub gone: Vec<String>,
    /// Files of an earlier run that run.json does not list: pages perhaps of a case that is no longer in the table.
    pub not_listed: Vec<String>,
    /// Files that a stopped run left half written.
    pub parts: Vec<String>,
    /// Whether a run is on, or was stopped before its end.
    pub standing: Standing,
}

impl Verdict {
    /// Whether every file is as it was written, no other lies beside them, and the run came to its end.
    pub fn clean(&self) -> bool {
        self.changed.is_empty()
            && self.gone.is_empty()
            && self.not_listed.is_empty()
            && self.parts.is_empty()
            && self.standing == Standing::Free
    }
}

/// Holds the files of a folder against its run.json.
///
/// # Errors
/// Where there is no run.json that can be read, with the reason.
pub fn verify(folder: &Folder) -> Result<Verdict, String> {
    let text = folder
        .earlier("run.json")
        .ok_or("no run.json there: not a folder that a report was written to")?;
    let run: Run =
        serde_json::from_str(&text).map_err(|error| format!("run.json cannot be read: {error}"))?;
    let mut verdict = Verdict {
        intact: 0,
        changed: Vec::new(),
        gone: Vec::new(),
        not_listed: Vec::new(),
        parts: folder.parts(),
        standing: folder.standing(),
    };
    for listed in &run.files {
        match folder.bytes(&listed.file) {
            Some(bytes) if sha256_hex(&bytes) == listed.sha256 => verdict.intact += 1,
            Some(_) => verdict.changed.push(listed.file.clone()),
            None => verdict.gone.push(listed.file.clone()),
        }
    }
    let listed: BTreeSet<&str> = run
        .files
        .iter()
        .map(|listed| listed.file.as_str())
        .collect();
    verdict.not_listed = folder
        .tables()
        .map(str::to_owned)
        .chain(folder.pages())
        .filter(|file| !listed.contains(file.as_str()))
        .collect();
    Ok(verdict)
}
