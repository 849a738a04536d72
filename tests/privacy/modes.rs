//! Who may read what is written.
#![cfg(unix)]

use std::os::unix::fs::PermissionsExt as _;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::support::DEMO;

/// Everything in a folder, itself included, with its permission bits.
fn modes(folder: &Path) -> Vec<(PathBuf, u32)> {
    let mode = |path: &Path| path.symlink_metadata().expect("there").permissions().mode() & 0o777;
    let mut found = vec![(folder.to_owned(), mode(folder))];
    for entry in std::fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(modes(&path));
        } else {
            found.push((path.clone(), mode(&path)));
        }
    }
    found
}

/// Runs the demo with the umask that most systems have.
fn run_into(out: &Path, option: &str) {
    let [cases, ..] = DEMO;
    let status = Command::new("sh")
        .arg("-c")
        .arg(format!("umask 022; exec \"$0\" \"$@\" {option}"))
        .args([env!("CARGO_BIN_EXE_valvefolio"), "report"])
        .args([
            cases,
            "--as-of",
            "2026-11-20",
            "--only",
            "2023-001",
            "--fail-on",
            "never",
            "--out",
        ])
        .arg(out)
        .stderr(std::process::Stdio::null())
        .status()
        .expect("a shell");
    assert!(status.success());
}

#[test]
fn files_and_folders_are_for_the_owner_alone() {
    let work = tempfile::tempdir().expect("a folder");
    let out = work.path().join("deep/out");
    run_into(&out, "");
    let modes = modes(&out);
    assert!(modes.len() > 7);
    for (path, mode) in modes {
        let expected = if path.is_dir() { 0o700 } else { 0o600 };
        assert_eq!(mode, expected, "{}", path.display());
    }
}

#[test]
fn whoever_says_so_leaves_it_to_the_system() {
    let work = tempfile::tempdir().expect("a folder");
    let out = work.path().join("out");
    run_into(&out, "--readable-by-others");
    for (path, mode) in modes(&out) {
        let expected = if path.is_dir() { 0o755 } else { 0o644 };
        assert_eq!(mode, expected, "{}", path.display());
    }
}
