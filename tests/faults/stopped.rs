//! A run that is killed.
#![cfg(unix)]

use std::os::unix::process::ExitStatusExt as _;
use std::process::{Command, Stdio};

use super::support::{files, report};
use super::{LOCK, NEW, is_part, new_run, old_or_new, old_run, small};

const PROGRAM: &str = env!("CARGO_BIN_EXE_valvefolio");

/// The system ends a process that writes past its limit, in the middle of a file (POSIX, SIGXFSZ, 25 on Linux).
#[test]
fn a_run_killed_in_the_middle_of_a_file_leaves_the_old_one_and_the_next_run_cleans_up() {
    let work = tempfile::tempdir().expect("a folder");
    let new = new_run(&work.path().join("new"));
    let mut killed = 0;
    for blocks in [1, 16, 256, 1024] {
        let out = work.path().join(blocks.to_string());
        let old = old_run(&out);
        let status = Command::new("sh")
            .arg("-c")
            .arg(format!("ulimit -f {blocks}; exec \"$0\" \"$@\""))
            .args([PROGRAM, "report"])
            .args(small(NEW))
            .arg("--out")
            .arg(&out)
            .stderr(Stdio::null())
            .status()
            .expect("a shell");
        let found = files(&out);
        old_or_new(&found, &old, &new);
        if status.signal().is_some() {
            killed += 1;
            let parts = found.keys().filter(|name| is_part(name)).count();
            // One for each thread that was writing.
            assert!(parts > 0, "half a file, beside: {:?}", found.keys());
            assert!(found.contains_key(LOCK));
        }
        let again = report(&small(NEW), &out, &[]);
        assert_eq!(again.code, 0, "{}", again.err);
        assert!(files(&out) == new, "as if nothing had been");
    }
    assert!(killed > 1, "killed {killed} times");
}

/// Killed from outside, as soon as the folder shows that the run has come to writing.
#[test]
fn a_run_killed_from_outside_leaves_old_or_new() {
    let work = tempfile::tempdir().expect("a folder");
    let new = new_run(&work.path().join("new"));
    for trial in 0..6 {
        let out = work.path().join(trial.to_string());
        let old = old_run(&out);
        let mut child = Command::new(PROGRAM)
            .arg("report")
            .args(small(NEW))
            .arg("--out")
            .arg(&out)
            .stderr(Stdio::null())
            .spawn()
            .expect("started");
        // The first looks see the run before it writes, later ones while it writes or after its end.
        while trial > 0 && !out.join(LOCK).exists() {
            if child.try_wait().expect("a child").is_some() {
                break;
            }
        }
        (1..trial).for_each(|_| std::thread::yield_now());
        let _ = child.kill();
        child.wait().expect("ended");
        old_or_new(&files(&out), &old, &new);
        assert_eq!(report(&small(NEW), &out, &[]).code, 0);
        assert!(files(&out) == new);
    }
}
