//! Are the files those that the last run wrote?

use std::collections::BTreeSet;

use serde::Deserialize;

use super::folder::{Folder, sha256_hex};

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
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Verdict {
    /// Files that are as they were written.
    pub intact: usize,
    /// Files that have other bytes now.
    pub changed: Vec<String>,
    /// Files that are not there, or cannot be read.
    pub gone: Vec<String>,
    /// PDF files that no run of run.json wrote: perhaps of a case that is no longer in the table.
    pub not_listed: Vec<String>,
}

impl Verdict {
    /// Whether every file is as it was written, and no other page lies beside them.
    pub fn clean(&self) -> bool {
        self.changed.is_empty() && self.gone.is_empty() && self.not_listed.is_empty()
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
    let mut verdict = Verdict::default();
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
        .pages()
        .into_iter()
        .filter(|file| !listed.contains(file.as_str()))
        .collect();
    Ok(verdict)
}
