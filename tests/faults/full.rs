//! No space, no permission: as the system itself refuses.

use std::path::Path;
use std::process::{Command, Output};

use super::support::{Run, files};
use super::{NEW, all_named, is_part, new_run, old_or_new, old_run, small};

const PROGRAM: &str = env!("CARGO_BIN_EXE_valvefolio");

/// Runs the demo's report in a shell that does something first.
fn after(first: &str, out: &Path) -> Output {
    Command::new("sh")
        .arg("-c")
        .arg(format!("{first}; exec \"$0\" \"$@\""))
        .arg(PROGRAM)
        .arg("report")
        .args(small(NEW))
        .arg("--out")
        .arg(out)
        .output()
        .expect("a shell")
}

/// The limit of the shell is in units of 512 bytes (POSIX, `ulimit`); the signal at the limit is ignored, so that the
/// program is told instead of ended.
#[test]
fn a_quota_leaves_old_or_new_and_names_what_is_missing() {
    let work = tempfile::tempdir().expect("a folder");
    let new = new_run(&work.path().join("new"));
    let mut partly = 0;
    for blocks in [1, 4, 16, 64, 256, 1024, 4096] {
        let out = work.path().join(blocks.to_string());
        let old = old_run(&out);
        let run: Run = after(&format!("trap '' XFSZ; ulimit -f {blocks}"), &out).into();
        let found = files(&out);
        let missing = old_or_new(&found, &old, &new);
        all_named(&missing, &run);
        // A table that is the same on both days is not to be told from one that was not written.
        let expected = match run.err.matches("not written").count() {
            0 => 0,
            refused if refused < new.len() => 1,
            _ => 2,
        };
        assert_eq!(run.code, expected, "{blocks} blocks: {}", run.err);
        assert_eq!(
            missing.is_empty(),
            expected == 0,
            "{blocks} blocks: {}",
            run.err
        );
        partly += usize::from(expected == 1);
        assert!(
            !found.keys().any(|name| is_part(name)),
            "{:?}",
            found.keys()
        );
    }
    assert!(partly > 1, "some limits cut between the files");
}

#[test]
fn no_space_at_all_is_exit_code_2() {
    let work = tempfile::tempdir().expect("a folder");
    let out = work.path().join("out");
    let old = old_run(&out);
    let run: Run = after("trap '' XFSZ; ulimit -f 0", &out).into();
    assert_eq!(run.code, 2);
    assert!(
        run.err.contains(out.to_str().expect("plain")),
        "{}",
        run.err
    );
    assert_eq!(files(&out), old);
}

/// A disk of 256 KiB, in a mount namespace of its own, which ends with the shell.
#[test]
fn a_full_disk_leaves_old_or_new_and_names_what_is_missing() {
    let work = tempfile::tempdir().expect("a folder");
    let (disk, kept) = (work.path().join("disk"), work.path().join("kept"));
    std::fs::create_dir(&disk).expect("made");
    let script = "mount -t tmpfs -o size=256k none \"$DISK\" || exit 77
        \"$0\" \"$@\"; code=$?
        cp -a \"$DISK\" \"$KEPT\"; exit $code";
    let output = Command::new("unshare")
        .args(["--mount", "sh", "-c", script, PROGRAM, "report"])
        .args(small(NEW))
        .arg("--out")
        .arg(disk.join("out"))
        .env("DISK", &disk)
        .env("KEPT", &kept)
        .output();
    let output = match output {
        Ok(output) if kept.exists() => output,
        other => {
            println!("skipped: a small disk cannot be mounted here: {other:?}");
            return;
        }
    };
    let run = Run::from(output);
    let found = files(&kept.join("out"));
    let new = new_run(&work.path().join("new"));
    let missing = old_or_new(&found, &super::Files::new(), &new);
    assert!(
        missing.contains(&"cohort.csv".to_owned()),
        "it is larger than the disk"
    );
    assert!(missing.len() < new.len(), "small files fit");
    all_named(&missing, &run);
    assert_eq!(run.code, 1, "{}", run.err);
    assert!(
        !found.keys().any(|name| is_part(name)),
        "{:?}",
        found.keys()
    );
}

#[cfg(unix)]
#[test]
fn a_folder_that_may_not_be_written_is_left_as_it_is() {
    use std::os::unix::fs::PermissionsExt as _;
    use std::os::unix::process::CommandExt as _;

    let mode = |path: &Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).expect("mode");
    };
    let work = tempfile::tempdir().expect("a folder");
    mode(work.path(), 0o755);
    let out = work.path().join("out");
    let old = old_run(&out);
    mode(&out, 0o555);
    // Who is root may write everywhere, so the run is somebody else's; it needs a program and tables that it may read.
    let program = work.path().join("program");
    std::fs::copy(PROGRAM, &program).expect("copied");
    mode(&program, 0o755);
    let cases = work.path().join("cases.csv");
    std::fs::copy(small(NEW)[0], &cases).expect("copied");
    mode(&cases, 0o644);
    let is_root = std::fs::write(out.join("probe"), "").is_ok();
    let mut command = Command::new(&program);
    command.current_dir(work.path()).args([
        "report",
        "cases.csv",
        "--as-of",
        "2026-11-20",
        "--out",
        "out",
    ]);
    if is_root {
        std::fs::remove_file(out.join("probe")).expect("removed");
        command.uid(65_534).gid(65_534);
    }
    let run: Run = match command.output() {
        Ok(output) => output.into(),
        Err(error) => {
            return println!("skipped: the program cannot be run as somebody else: {error}");
        }
    };
    mode(&out, 0o755);
    assert_eq!(run.code, 2, "{}", run.err);
    assert!(run.err.contains("out: "), "{}", run.err);
    assert_eq!(files(&out), old);
}
