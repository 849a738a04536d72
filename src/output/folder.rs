//! The folder we write into: each file beside its place first, then renamed, so that a reader sees the old file or
//! the new one and never half of one.

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use sha2::{Digest as _, Sha256};

/// A file that was written.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Written {
    /// Path below the folder, with `/` between its parts.
    pub file: String,
    /// SHA-256 of its bytes, in lower-case hexadecimal.
    pub sha256: String,
}

/// A file that could not be written.
#[derive(Debug, thiserror::Error)]
#[error("{path}: {cause}")]
pub struct NotWritten {
    /// Path of the file.
    pub path: String,
    /// What the system said.
    pub cause: io::Error,
}

/// SHA-256 in lower-case hexadecimal.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// The output folder.
#[derive(Debug)]
pub struct Folder {
    root: PathBuf,
    serial: AtomicU64,
}

impl Folder {
    /// Opens the folder; makes it where it is not there.
    ///
    /// # Errors
    /// Where it is not a folder or cannot be made.
    pub fn open(root: &Path) -> Result<Self, NotWritten> {
        fs::create_dir_all(root).map_err(|cause| NotWritten {
            path: root.display().to_string(),
            cause,
        })?;
        Ok(Self {
            root: root.to_owned(),
            serial: AtomicU64::new(0),
        })
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
        let Ok(entries) = fs::read_dir(self.path("cases")) else {
            return Vec::new();
        };
        let mut pages: Vec<String> = entries
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .filter(|name| name.ends_with(".pdf"))
            .map(|name| format!("cases/{name}"))
            .collect();
        pages.sort();
        pages
    }

    /// An existing folder, to read from.
    ///
    /// # Errors
    /// Where it is not a folder.
    pub fn existing(root: &Path) -> Result<Self, NotWritten> {
        if root.is_dir() {
            Self::open(root)
        } else {
            Err(NotWritten {
                path: root.display().to_string(),
                cause: io::Error::new(io::ErrorKind::NotADirectory, "not a folder"),
            })
        }
    }

    /// Writes a whole file.
    ///
    /// # Errors
    /// Where the system refuses; what stood there before stands there still.
    pub fn write(&self, file: &str, bytes: &[u8]) -> Result<Written, NotWritten> {
        self.write_at(file, bytes).map_err(|cause| NotWritten {
            path: self.path(file).display().to_string(),
            cause,
        })?;
        Ok(Written {
            file: file.to_owned(),
            sha256: sha256_hex(bytes),
        })
    }

    fn write_at(&self, file: &str, bytes: &[u8]) -> io::Result<()> {
        let target = self.path(file);
        let parent = target.parent().unwrap_or(&self.root);
        fs::create_dir_all(parent)?;
        let serial = self.serial.fetch_add(1, Ordering::Relaxed);
        let beside = parent.join(format!(".part-{}-{serial}", std::process::id()));
        let written = File::create(&beside)
            .and_then(|mut part| part.write_all(bytes))
            .and_then(|()| fs::rename(&beside, &target));
        if written.is_err() {
            // Nothing of ours stays behind; a failure to remove it adds nothing to the first failure.
            let _ = fs::remove_file(&beside);
        }
        written
    }

    /// Moves a file aside, below the folder.
    ///
    /// # Errors
    /// Where the system refuses; the file stands where it stood.
    pub fn move_aside(&self, file: &str, to: &str) -> Result<(), NotWritten> {
        let target = self.path(to);
        let moved = target
            .parent()
            .map_or(Ok(()), fs::create_dir_all)
            .and_then(|()| fs::rename(self.path(file), &target));
        moved.map_err(|cause| NotWritten {
            path: target.display().to_string(),
            cause,
        })
    }
}
