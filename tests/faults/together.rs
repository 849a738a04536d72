//! Two runs into one folder.

use std::process::{Command, Stdio};
use std::sync::Arc;

use valvefolio::output::disk::{Readers, SystemDisk};
use valvefolio::output::folder::Folder;

use super::support::{Run, files, report, run};
use super::{LOCK, NEW, OLD, new_run, old_run, small};

const PROGRAM: &str = env!("CARGO_BIN_EXE_valvefolio");

fn held(out: &std::path::Path) -> Folder {
    Folder::open(out, Readers::Owner, Arc::new(SystemDisk)).expect("opened")
}

#[test]
fn a_second_run_is_refused_by_the_name_of_the_folder_and_changes_nothing() {
    let work = tempfile::tempdir().expect("a folder");
    let out = work.path().join("out");
    let mut old = old_run(&out);
    // This process is the first run.
    let first = held(&out);
    let second = report(&small(NEW), &out, &[]);
    assert_eq!(second.code, 2);
    for part in [
        "another run",
        out.to_str().expect("plain"),
        &std::process::id().to_string(),
    ] {
        assert!(second.err.contains(part), "{part} not in: {}", second.err);
    }
    let verdict = run(["verify", out.to_str().expect("plain")]);
    assert_eq!(verdict.code, 1);
    assert!(verdict.err.contains("A run is writing"), "{}", verdict.err);
    let mut found = files(&out);
    assert!(found.remove(LOCK).is_some());
    assert_eq!(found, old);
    first.finish();
    assert!(!out.join(LOCK).exists());
    old = new_run(&out);
    assert_eq!(files(&out), old);
}

#[test]
fn a_second_run_waits_for_a_first_that_ends_soon() {
    let work = tempfile::tempdir().expect("a folder");
    let first = held(work.path());
    let second = Command::new(PROGRAM)
        .arg("report")
        .args(small(NEW))
        .arg("--out")
        .arg(work.path())
        .stderr(Stdio::piped())
        .spawn()
        .expect("started");
    std::thread::sleep(std::time::Duration::from_millis(700));
    assert!(!work.path().join("results.csv").exists(), "it waits");
    first.finish();
    let second: Run = second.wait_with_output().expect("ended").into();
    assert_eq!(second.code, 0, "{}", second.err);
}

#[test]
fn two_runs_at_once_leave_a_whole_folder() {
    let work = tempfile::tempdir().expect("a folder");
    let start = |as_of: &str| {
        Command::new(PROGRAM)
            .arg("report")
            .args(small(as_of))
            .arg("--out")
            .arg(work.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("started")
    };
    let children = [start(NEW), start(OLD), start(NEW)];
    let runs = children.map(|child| Run::from(child.wait_with_output().expect("ended")));
    assert!(runs.iter().any(|run| run.code == 0));
    for run in &runs {
        assert!(
            run.code == 0 || run.err.contains("another run"),
            "{}",
            run.err
        );
    }
    let verdict = run(["verify", work.path().to_str().expect("plain")]);
    assert_eq!(verdict.code, 0, "{}{}", verdict.out, verdict.err);
}

#[test]
fn the_lock_of_a_dead_process_keeps_nobody_out() {
    let work = tempfile::tempdir().expect("a folder");
    std::fs::write(work.path().join(LOCK), "process 1\nlock 0\n").expect("written");
    let run = report(&small(NEW), work.path(), &[]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(!work.path().join(LOCK).exists());
}
