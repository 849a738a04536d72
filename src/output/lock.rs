//! One run at a time in one folder, and a trace of a run that did not come to its end.
//!
//! The lock is the system's lock on a file of ours: it ends with the process that holds it, however that ends. The
//! file itself is removed when a run ends; one that is there and locked by nobody was left by a run that was stopped.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use super::disk::{Readers, restrict};

/// Name of the lock in the folder.
pub const LOCK: &str = ".run-in-progress";
/// How often a second run looks whether the first has ended, before it gives up.
const LOOKS: u32 = 30;
/// How long it waits between two looks.
const BETWEEN_LOOKS: Duration = Duration::from_millis(100);

/// What the lock of a folder says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// No run is on, and the last one came to its end.
    Free,
    /// A run is on; its process number where it can be read.
    Running(Option<u32>),
    /// A run was stopped before its end.
    Unfinished,
}

/// Why a folder could not be locked.
#[derive(Debug)]
pub(super) enum NotLocked {
    /// Another run holds it; its process number where it can be read.
    Held(Option<u32>),
    /// The lock file cannot be made.
    Refused(io::Error),
}

/// A folder that is ours until this is dropped.
#[derive(Debug)]
pub(super) struct Lock {
    file: File,
    path: PathBuf,
    /// Whether the run came to its end.
    finished: bool,
    /// Whether an earlier run left the lock behind.
    pub after_unfinished: bool,
}

impl Lock {
    /// Locks a folder; waits about three seconds for a run that holds it.
    pub fn take(folder: &Path, readers: Readers) -> Result<Self, NotLocked> {
        let path = folder.join(LOCK);
        for look in 0..=LOOKS {
            if look > 0 {
                std::thread::sleep(BETWEEN_LOOKS);
            }
            if let Some(lock) = Self::attempt(&path, readers).map_err(NotLocked::Refused)? {
                return Ok(lock);
            }
        }
        Err(NotLocked::Held(process_in(&path)))
    }

    /// One attempt; `None` where another run holds the lock.
    fn attempt(path: &Path, readers: Readers) -> io::Result<Option<Self>> {
        if fs::symlink_metadata(path).is_ok_and(|found| found.is_symlink()) {
            // Not ours: we make files. Nothing is written to where it leads.
            fs::remove_file(path)?;
        }
        let left_behind = path.exists();
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false);
        restrict(&mut options, readers);
        let mut file = options.open(path)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Ok(None),
            // A file system without locks: two runs at once cannot be told there, and one run is the rule.
            Err(TryLockError::Error(error)) if error.kind() == io::ErrorKind::Unsupported => {}
            Err(TryLockError::Error(error)) => return Err(error),
        }
        // Between opening and locking, the run before may have removed the file: then another run may lock a new
        // one. The name must still lead to the file that is locked.
        let mark = mark();
        let marked = file
            .set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| file.write_all(mark.as_bytes()));
        if let Err(error) = marked {
            if !left_behind {
                let _ = fs::remove_file(path);
            }
            return Err(error);
        }
        match fs::read(path) {
            Ok(found) if found != mark.as_bytes() => return Ok(None),
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            // Where a lock keeps others from reading, it is ours that does.
            Ok(_) | Err(_) => {}
        }
        Ok(Some(Self {
            file,
            path: path.to_owned(),
            finished: false,
            after_unfinished: left_behind,
        }))
    }

    /// The run has come to its end: every file is written or named.
    pub fn finish(&mut self) {
        self.finished = true;
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        if self.finished {
            // While it is still locked, so that nobody else's lock is removed.
            let _ = fs::remove_file(&self.path);
        }
        let _ = self.file.unlock();
    }
}

/// What stands in the lock file: who holds it. No two locks of living processes have the same.
fn mark() -> String {
    static LOCKS: AtomicU64 = AtomicU64::new(0);
    format!(
        "process {}\nlock {}\nA run of valvefolio is writing into this folder, or was stopped before its end.\n",
        std::process::id(),
        LOCKS.fetch_add(1, Ordering::Relaxed)
    )
}

fn process_in(path: &Path) -> Option<u32> {
    let mut text = String::new();
    File::open(path)
        .ok()?
        .take(256)
        .read_to_string(&mut text)
        .ok()?;
    text.lines().next()?.strip_prefix("process ")?.parse().ok()
}

/// What the lock of a folder says, without taking it.
pub(super) fn standing(folder: &Path) -> Standing {
    let path = folder.join(LOCK);
    let Ok(file) = File::open(&path) else {
        return Standing::Free;
    };
    match file.try_lock_shared() {
        Ok(()) => Standing::Unfinished,
        Err(_) => Standing::Running(process_in(&path)),
    }
}
