//! The folder we write into: each file beside its place first, then renamed, so that a reader sees the old file or
//! the new one and never half of one.
//!
//! Links: a file that is a link is replaced by a file, what it led to stays as it is. A folder below ours that is a
//! link is not written into. The output folder itself may be a link: whoever named it chose where it leads.
//! A file that is marked read-only is replaced like any other, where the system lets its folder be changed.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use sha2::{Digest as _, Sha256};

use super::disk::{Disk, Readers, SystemDisk};
use super::lock::{self, Lock, NotLocked, Standing};
use super::stream::Stream;

/// Beginning of the name of a file that is being written.
const PART: &str = ".part-";
/// The folders of the output folder, itself first.
const FOLDERS: [&str; 3] = ["", "cases", "superseded"];
/// Every file that a run can leave in the folder itself, beside run.json.
pub const FILES: [&str; 13] = [
    "cohort.pdf",
    "cohort.csv",
    "cohort-series.csv",
    "followup.pdf",
    "worklist.csv",
    "visits.ics",
    "data-gaps.csv",
    "changes.csv",
    "results.csv",
    "results.json",
    "problems.csv",
    "documents.csv",
    "devices-used.csv",
];

/// A file that was written.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Written {
    /// Path below the folder, with `/` between its parts.
    pub file: String,
    /// SHA-256 of its bytes, in lower-case hexadecimal.
    pub sha256: String,
}

/// A file that could not be written.
#[derive(Debug, thiserror::Error)]
#[error("{path}: not written: {cause}")]
pub struct NotWritten {
    /// Path of the file.
    pub path: String,
    /// What the system said.
    pub cause: io::Error,
}

/// A folder that cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum NotOpened {
    /// It is no folder, or cannot be made or written into.
    #[error("{path}: {cause}")]
    Refused {
        /// The folder.
        path: String,
        /// What the system said.
        cause: io::Error,
    },
    /// Another run writes into it.
    #[error(
        "{path}: another run is writing into this folder{}; nothing was written, wait for its end or give another --out",
        .process.map_or_else(String::new, |process| format!(" (process {process})"))
    )]
    InUse {
        /// The folder.
        path: String,
        /// The process that holds it, where it can be read.
        process: Option<u32>,
    },
}

/// SHA-256 in lower-case hexadecimal.
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Lower-case hexadecimal.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The output folder.
#[derive(Debug)]
pub struct Folder {
    root: PathBuf,
    pub(super) disk: Arc<dyn Disk>,
    pub(super) readers: Readers,
    serial: AtomicU64,
    /// Held by a folder that is written into.
    lock: Option<Lock>,
}

impl Folder {
    /// Opens the folder to write into it: makes it where it is not there, waits for a run that is writing into it,
    /// and removes what a stopped run left half written.
    ///
    /// # Errors
    /// Where it is not a folder, cannot be made or written into, or another run does not come to its end.
    pub fn open(root: &Path, readers: Readers, disk: Arc<dyn Disk>) -> Result<Self, NotOpened> {
        let refused = |cause| NotOpened::Refused {
            path: root.display().to_string(),
            cause,
        };
        disk.make_folder(root, readers).map_err(refused)?;
        let lock = Lock::take(root, readers).map_err(|reason| match reason {
            NotLocked::Refused(cause) => refused(cause),
            NotLocked::Held(process) => NotOpened::InUse {
                path: root.display().to_string(),
                process,
            },
        })?;
        let folder = Self {
            lock: Some(lock),
            ..Self::at(root, readers, disk)
        };
        folder.remove_parts();
        Ok(folder)
    }

    /// An existing folder, to read from.
    ///
    /// # Errors
    /// Where it is not a folder.
    pub fn existing(root: &Path) -> Result<Self, NotOpened> {
        if root.is_dir() {
            Ok(Self::at(root, Readers::Owner, Arc::new(SystemDisk)))
        } else {
            Err(NotOpened::Refused {
                path: root.display().to_string(),
                cause: io::Error::new(io::ErrorKind::NotADirectory, "not a folder"),
            })
        }
    }

    fn at(root: &Path, readers: Readers, disk: Arc<dyn Disk>) -> Self {
        Self {
            root: root.to_owned(),
            disk,
            readers,
            serial: AtomicU64::new(0),
            lock: None,
        }
    }

    /// Whether a run is on, or one was stopped before its end, seen from outside.
    pub fn standing(&self) -> Standing {
        lock::standing(&self.root)
    }

    /// Whether the run before this one was stopped before its end.
    pub fn after_unfinished(&self) -> bool {
        self.lock.as_ref().is_some_and(|lock| lock.after_unfinished)
    }

    /// The run has come to its end: every file is written or named.
    pub fn finish(mut self) {
        if let Some(lock) = &mut self.lock {
            lock.finish();
        }
    }

    /// Path of a file below the folder.
    pub fn path(&self, file: &str) -> PathBuf {
        self.root.join(file)
    }

    /// The text of a file that an earlier run left; `None` where there is none that can be read.
    pub fn earlier(&self, file: &str) -> Option<String> {
        fs::read_to_string(self.path(file)).ok()
    }

    /// The bytes of a file; `None` where there is none that can be read.
    pub fn bytes(&self, file: &str) -> Option<Vec<u8>> {
        fs::read(self.path(file)).ok()
    }

    /// The case pages that lie in the folder, as `cases/NAME.pdf`, sorted.
    pub fn pages(&self) -> Vec<String> {
        self.names("cases")
            .into_iter()
            .filter(|name| name.ends_with(".pdf"))
            .map(|name| format!("cases/{name}"))
            .collect()
    }

    /// Those of [`FILES`] that lie in the folder.
    pub fn tables(&self) -> impl Iterator<Item = &'static str> {
        FILES
            .into_iter()
            .filter(|file| self.path(file).symlink_metadata().is_ok())
    }

    /// Files that a stopped run left half written, below the folder, sorted.
    pub fn parts(&self) -> Vec<String> {
        let mut parts = Vec::new();
        for folder in FOLDERS.into_iter().filter(|folder| self.is_our_own(folder)) {
            let below = if folder.is_empty() { "" } else { "/" };
            parts.extend(
                self.names(folder)
                    .into_iter()
                    .filter(|name| is_part(name))
                    .map(|name| format!("{folder}{below}{name}")),
            );
        }
        parts
    }

    fn names(&self, folder: &str) -> Vec<String> {
        let Ok(entries) = fs::read_dir(self.path(folder)) else {
            return Vec::new();
        };
        let mut names: Vec<String> = entries
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .collect();
        names.sort();
        names
    }

    /// Whether a folder below ours is there and no link.
    fn is_our_own(&self, folder: &str) -> bool {
        folder.is_empty()
            || fs::symlink_metadata(self.path(folder)).is_ok_and(|found| found.is_dir())
    }

    /// We hold the lock, so no part belongs to a run that is alive. One that cannot be removed is in nobody's way.
    fn remove_parts(&self) {
        for part in self.parts() {
            let _ = self.disk.remove(&self.path(&part));
        }
    }

    /// Writes a whole file.
    ///
    /// # Errors
    /// Where the system refuses; what stood there before stands there still.
    pub fn write(&self, file: &str, bytes: &[u8]) -> Result<Written, NotWritten> {
        let mut stream = self.begin(file);
        stream.add(bytes);
        stream.finish()
    }

    /// Begins a file that is written bit by bit; what stood there before stands there until it is finished.
    pub fn begin(&self, file: &str) -> Stream<'_> {
        Stream::begin(self, file)
    }

    /// The folder of a file, made where it is not there.
    pub(super) fn ready_folder_of<'p>(&self, target: &'p Path) -> io::Result<&'p Path> {
        let parent = target.parent().unwrap_or(target);
        if parent != self.root {
            if fs::symlink_metadata(parent).is_ok_and(|found| found.is_symlink()) {
                return Err(io::Error::other(
                    "its folder is a link; nothing is written through it",
                ));
            }
            self.disk.make_folder(parent, self.readers)?;
        }
        Ok(parent)
    }

    /// Keeps what stands in a file under another name too, before a new file takes its place. The file itself stays
    /// where it is until then, so that a failure between the two loses nothing.
    ///
    /// # Errors
    /// Where it cannot be read or its copy cannot be written.
    pub fn keep_aside(&self, file: &str, to: &str) -> Result<(), NotWritten> {
        let bytes = fs::read(self.path(file)).map_err(|cause| self.not_written(to, cause))?;
        self.write(to, &bytes).map(drop)
    }

    /// A failure to write a file.
    pub(super) fn not_written(&self, file: &str, cause: io::Error) -> NotWritten {
        NotWritten {
            path: self.path(file).display().to_string(),
            cause,
        }
    }

    /// A name beside the files of a folder, of no other file of this run.
    pub(super) fn beside(&self, parent: &Path) -> PathBuf {
        let serial = self.serial.fetch_add(1, Ordering::Relaxed);
        parent.join(format!("{PART}{}-{serial}", std::process::id()))
    }
}

/// `.part-PROCESS-SERIAL`, as [`Folder::begin`] names a file that is being written.
fn is_part(name: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    name.strip_prefix(PART)
        .and_then(|numbers| numbers.split_once('-'))
        .is_some_and(|(process, serial)| digits(process) && digits(serial))
}
