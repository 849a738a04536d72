//! Links and read-only files in the place of ours.
#![cfg(unix)]

use std::os::unix::fs::{PermissionsExt as _, symlink};
use std::sync::Arc;

use valvefolio::output::disk::{Readers, SystemDisk};
use valvefolio::output::folder::Folder;

use super::support::report;
use super::{NEW, small};

#[test]
fn a_link_is_replaced_and_what_it_led_to_stays_as_it_is() {
    let work = tempfile::tempdir().expect("a folder");
    let (out, outside) = (work.path().join("out"), work.path().join("outside.csv"));
    std::fs::create_dir(&out).expect("made");
    std::fs::write(&outside, "not ours").expect("written");
    symlink(&outside, out.join("results.csv")).expect("linked");
    symlink(work.path().join("nowhere"), out.join("results.json")).expect("linked");
    symlink(&outside, out.join(super::LOCK)).expect("linked");
    let run = report(&small(NEW), &out, &["--make", "results"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(std::fs::read(&outside).expect("there"), b"not ours");
    assert!(!work.path().join("nowhere").exists());
    for file in ["results.csv", "results.json"] {
        assert!(
            out.join(file).symlink_metadata().expect("there").is_file(),
            "{file}"
        );
    }
}

#[test]
fn nothing_is_written_through_a_folder_that_is_a_link() {
    let work = tempfile::tempdir().expect("a folder");
    let (out, outside) = (work.path().join("out"), work.path().join("outside"));
    for folder in [&out, &outside] {
        std::fs::create_dir(folder).expect("made");
    }
    std::fs::write(outside.join(".part-1-1"), "not ours").expect("written");
    symlink(&outside, out.join("cases")).expect("linked");
    let folder = Folder::open(&out, Readers::Owner, Arc::new(SystemDisk)).expect("opened");
    let refused = folder.write("cases/A1.pdf", b"page").expect_err("a link");
    assert!(refused.to_string().contains("cases/A1.pdf"), "{refused}");
    assert!(refused.to_string().contains("link"), "{refused}");
    folder
        .keep_aside("cases/.part-1-1", "cases/A2.pdf")
        .expect_err("a link");
    let names: Vec<_> = std::fs::read_dir(&outside).expect("there").collect();
    assert_eq!(names.len(), 1, "what lay there, and nothing else");
}

#[test]
fn the_output_folder_itself_may_be_a_link() {
    let work = tempfile::tempdir().expect("a folder");
    let (out, real) = (work.path().join("out"), work.path().join("real"));
    std::fs::create_dir(&real).expect("made");
    symlink(&real, &out).expect("linked");
    assert_eq!(report(&small(NEW), &out, &["--make", "results"]).code, 0);
    assert!(real.join("results.csv").is_file());
}

#[test]
fn a_read_only_file_is_replaced_whole() {
    let work = tempfile::tempdir().expect("a folder");
    let file = work.path().join("results.csv");
    std::fs::write(&file, "old").expect("written");
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o444)).expect("mode");
    assert_eq!(
        report(&small(NEW), work.path(), &["--make", "results"]).code,
        0
    );
    assert!(
        std::fs::read(&file)
            .expect("there")
            .starts_with(b"case_id,")
    );
}
