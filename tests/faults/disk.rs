//! Every change of the disk in turn fails, or is the last one that happens.

use std::io::{self, ErrorKind};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use clap::Parser as _;
use jiff::civil::date;
use valvefolio::cli::Cli;
use valvefolio::output::disk::{Disk, NewFile, Readers, SystemDisk};
use valvefolio::output::folder::Folder;
use valvefolio::run::{Outcome, RunError, run_on};

use super::support::{csv_rows, files, report, run};
use super::{Files, LOCK, NEW, is_part, new_run, old_or_new, old_run, small};

/// What happens at the chosen change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// It fails, for want of space; a file is half written. All others succeed.
    Fails,
    /// The process ends there, a file half written: neither it nor anything after it happens.
    Dies,
}

/// Which change of a disk goes wrong, and how many there were.
#[derive(Debug)]
struct Faults {
    changes: AtomicUsize,
    at: usize,
    fault: Fault,
}

impl Faults {
    /// Counts a change; an error where it must not happen, with whether part of it does.
    fn change(&self) -> Result<(), (io::Error, bool)> {
        let change = self.changes.fetch_add(1, Ordering::SeqCst);
        let error = || io::Error::from(ErrorKind::StorageFull);
        if change == self.at {
            Err((error(), true))
        } else if change > self.at && self.fault == Fault::Dies {
            Err((error(), false))
        } else {
            Ok(())
        }
    }
}

/// A disk with one fault.
#[derive(Debug)]
struct FaultyDisk(Arc<Faults>);

/// A file on it.
#[derive(Debug)]
struct FaultyFile {
    file: Box<dyn NewFile>,
    faults: Arc<Faults>,
}

impl NewFile for FaultyFile {
    fn add(&mut self, bytes: &[u8]) -> io::Result<()> {
        match self.faults.change() {
            Ok(()) => self.file.add(bytes),
            Err((error, half)) => {
                if half {
                    self.file.add(&bytes[..bytes.len() / 2])?;
                }
                Err(error)
            }
        }
    }

    fn complete(self: Box<Self>) -> io::Result<()> {
        self.faults.change().map_err(|(error, _)| error)?;
        self.file.complete()
    }
}

impl Disk for FaultyDisk {
    fn make_folder(&self, path: &Path, readers: Readers) -> io::Result<()> {
        self.0.change().map_err(|(error, _)| error)?;
        SystemDisk.make_folder(path, readers)
    }

    fn begin_new(&self, path: &Path, readers: Readers) -> io::Result<Box<dyn NewFile>> {
        self.0.change().map_err(|(error, _)| error)?;
        Ok(Box::new(FaultyFile {
            file: SystemDisk.begin_new(path, readers)?,
            faults: Arc::clone(&self.0),
        }))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        self.0.change().map_err(|(error, _)| error)?;
        SystemDisk.rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.0.change().map_err(|(error, _)| error)?;
        SystemDisk.remove(path)
    }
}

/// The demo, written to a disk whose change `at` (counted from 0) goes wrong. `None` where there are fewer changes.
fn run_with(fault: Fault, at: usize, out: &Path) -> Option<Result<Outcome, RunError>> {
    run_of(&small(NEW), fault, at, out)
}

/// The same of any tables.
pub fn run_of(
    tables: &[&str],
    fault: Fault,
    at: usize,
    out: &Path,
) -> Option<Result<Outcome, RunError>> {
    let faults = Arc::new(Faults {
        changes: AtomicUsize::new(0),
        at,
        fault,
    });
    let disk = Arc::new(FaultyDisk(Arc::clone(&faults)));
    let out = out.to_str().expect("plain path");
    let arguments = [&["valvefolio", "report"][..], tables, &["--out", out]].concat();
    let ended = run_on(Cli::parse_from(arguments), date(2026, 11, 20), disk);
    (faults.changes.load(Ordering::SeqCst) > at).then_some(ended)
}

#[test]
fn whichever_change_fails_every_file_is_old_or_new_and_the_missing_ones_are_named() {
    let work = tempfile::tempdir().expect("a folder");
    let new = new_run(&work.path().join("new"));
    let mut failures = 0;
    for at in 0.. {
        let out = work.path().join(at.to_string());
        let old = old_run(&out);
        let Some(ended) = run_with(Fault::Fails, at, &out) else {
            break;
        };
        failures += 1;
        let found = files(&out);
        let missing = old_or_new(&found, &old, &new);
        match ended {
            Err(error) => {
                assert!(
                    error.to_string().contains(out.to_str().expect("plain")),
                    "{error}"
                );
                assert_eq!(found, old, "nothing was written at change {at}");
            }
            Ok(outcome) => {
                let said = outcome.messages.join("\n");
                assert_eq!(outcome.exit_code, 1, "change {at}: {said}");
                assert!(
                    !missing.is_empty() || said.contains("not written"),
                    "change {at}"
                );
                for file in &missing {
                    assert!(
                        said.contains(file.as_str()),
                        "change {at}: {file} not in:\n{said}"
                    );
                }
                not_current(&out, &found, &missing);
            }
        }
        assert!(
            !found.keys().any(|name| is_part(name)),
            "change {at}: {:?}",
            found.keys()
        );
    }
    // Folder, and for each of the files of the new run: begin beside, write, complete, rename; for a page its folder
    // before that.
    let pages = new.keys().filter(|name| name.contains('/')).count();
    assert_eq!((pages, failures), (3, 1 + 4 * new.len() + pages));
}

/// A page that could not be renewed is no longer current, and the list of documents says so.
fn not_current(out: &Path, found: &Files, missing: &[String]) {
    let documents = csv_rows(&found["documents.csv"]);
    let out = out.to_str().expect("plain path");
    for page in documents.iter().filter(|row| !row["case_id"].is_empty()) {
        let renewed = !missing.contains(&page["file"]);
        assert_eq!(page["state"] == "not renewed", !renewed, "{page:?}");
        let asked = run(["current", &page["check_code"], "--in", out]);
        assert_eq!(asked.out.contains(": current."), renewed, "{}", asked.out);
        assert_eq!(asked.out.contains("not current"), !renewed, "{}", asked.out);
    }
}

#[test]
fn wherever_a_run_dies_every_file_is_old_or_new_and_the_next_run_puts_it_right() {
    let work = tempfile::tempdir().expect("a folder");
    let new = new_run(&work.path().join("new"));
    let mut half_written = 0;
    for at in 1.. {
        let out = work.path().join(at.to_string());
        let old = old_run(&out);
        let Some(ended) = run_with(Fault::Dies, at, &out) else {
            break;
        };
        let found = files(&out);
        let missing = old_or_new(&found, &old, &new);
        // To a process that lives on, the same is a permission that is lost in the middle: it says what is missing.
        let outcome = ended.expect("the folder was opened");
        let said = outcome.messages.join("\n");
        let refused = said.matches("not written").count();
        let none = refused == new.len();
        assert_eq!(outcome.exit_code, if none { 2 } else { 1 }, "change {at}");
        for file in &missing {
            assert!(said.contains(file.as_str()), "change {at}: {file}: {said}");
        }
        half_written += found.keys().filter(|name| is_part(name)).count();
        assert!(
            found.contains_key(LOCK),
            "the trace of a run that did not end"
        );
        let verdict = run(["verify", out.to_str().expect("plain")]);
        assert_eq!(verdict.code, 1, "change {at}");
        assert!(verdict.err.contains("The last run"), "{}", verdict.err);

        let again = report(&small(NEW), &out, &[]);
        assert_eq!(again.code, 0, "{}", again.err);
        let after = files(&out);
        assert_eq!(
            after.keys().collect::<Vec<_>>(),
            new.keys().collect::<Vec<_>>()
        );
        assert!(after == new, "change {at}");
    }
    assert!(
        half_written >= 2 * (new.len() - 1),
        "parts were left: {half_written}"
    );
}

#[test]
fn where_nothing_can_be_written_the_exit_code_is_2() {
    let work = tempfile::tempdir().expect("a folder");
    let out = work.path().join("out");
    let old = old_run(&out);
    // Change 0 is the folder, which is there; change 1 the first file.
    let outcome = run_with(Fault::Dies, 1, &out)
        .expect("changes")
        .expect("the folder was opened");
    assert_eq!(outcome.exit_code, 2);
    let said = outcome.messages.join("\n");
    for name in old.keys() {
        assert!(said.contains(name.as_str()), "{name} not in:\n{said}");
    }
}

/// What a failure costs between keeping a signed page and putting another in its place: nothing.
#[test]
fn a_page_that_is_kept_aside_stands_in_its_place_until_the_new_one_does() {
    let work = tempfile::tempdir().expect("a folder");
    for at in 0..12 {
        let out = work.path().join(at.to_string());
        let before = Folder::open(&out, Readers::Owner, Arc::new(SystemDisk)).expect("opened");
        before.write("cases/A1.pdf", b"signed").expect("written");
        before.finish();
        // Change 0 is the folder itself.
        let disk = Arc::new(FaultyDisk(Arc::new(Faults {
            changes: AtomicUsize::new(0),
            at: at + 1,
            fault: Fault::Dies,
        })));
        let folder = Folder::open(&out, Readers::Owner, disk).expect("opened");
        let ended = folder
            .keep_aside("cases/A1.pdf", "superseded/A1-0000.pdf")
            .and_then(|()| folder.write("cases/A1.pdf", b"new page"));
        let found = files(&out);
        // Its folder, the file beside begun, written and completed, the renaming: five changes make the copy, and five
        // more the new page.
        assert_eq!(found.contains_key("superseded/A1-0000.pdf"), at >= 5);
        assert_eq!(ended.is_ok(), at >= 10, "change {at}");
        let page = if at >= 10 {
            &b"new page"[..]
        } else {
            b"signed"
        };
        assert_eq!(found["cases/A1.pdf"], page, "change {at}");
    }
}
