//! A file written bit by bit: beside its place until it is whole, its SHA-256 computed as it grows.

use std::io;
use std::mem;
use std::path::PathBuf;

use sha2::{Digest as _, Sha256};

use super::disk::NewFile;
use super::folder::{Folder, NotWritten, Written, hex};

/// Bytes that are gathered before the disk is asked to take them.
const GATHERED: usize = 256 * 1024;

/// Where the bytes of a file go, one behind the other.
pub trait Sink {
    /// Adds bytes behind those that were added.
    fn add(&mut self, bytes: &[u8]);
}

impl Sink for Vec<u8> {
    fn add(&mut self, bytes: &[u8]) {
        self.extend_from_slice(bytes);
    }
}

impl Sink for Stream<'_> {
    fn add(&mut self, bytes: &[u8]) {
        Stream::add(self, bytes);
    }
}

/// A file of the output folder that is being written. Dropped before [`Stream::finish`] it leaves nothing behind.
///
/// A failure is kept until the end, so that whoever writes need not ask after every line.
#[derive(Debug)]
pub struct Stream<'f> {
    folder: &'f Folder,
    file: String,
    gathered: Vec<u8>,
    digest: Sha256,
    part: Option<Part>,
    failed: Option<io::Error>,
}

/// The file beside its place.
#[derive(Debug)]
struct Part {
    path: PathBuf,
    file: Box<dyn NewFile>,
}

impl<'f> Stream<'f> {
    pub(super) fn begin(folder: &'f Folder, file: &str) -> Self {
        let mut stream = Self {
            folder,
            file: file.to_owned(),
            gathered: Vec::new(),
            digest: Sha256::new(),
            part: None,
            failed: None,
        };
        let beside = folder
            .ready_folder_of(&folder.path(file))
            .map(|parent| folder.beside(parent));
        let begun = beside.and_then(|path| {
            // Nothing of ours stays behind where the file was made and its making failed all the same.
            let file = folder
                .disk
                .begin_new(&path, folder.readers)
                .inspect_err(|_| {
                    let _ = folder.disk.remove(&path);
                })?;
            Ok(Part { path, file })
        });
        match begun {
            Ok(part) => stream.part = Some(part),
            Err(cause) => stream.failed = Some(cause),
        }
        stream
    }

    /// Writes bytes behind those that were written.
    pub fn add(&mut self, bytes: &[u8]) {
        if self.gathered.len() + bytes.len() > GATHERED {
            self.hand_over();
        }
        if bytes.len() > GATHERED {
            self.send(bytes);
        } else {
            self.gathered.extend_from_slice(bytes);
        }
    }

    fn hand_over(&mut self) {
        if !self.gathered.is_empty() {
            let mut gathered = mem::take(&mut self.gathered);
            self.send(&gathered);
            gathered.clear();
            self.gathered = gathered;
        }
    }

    fn send(&mut self, bytes: &[u8]) {
        let Some(part) = &mut self.part else { return };
        self.digest.update(bytes);
        if let Err(cause) = part.file.add(bytes) {
            self.give_up(cause);
        }
    }

    /// Puts the file in its place.
    ///
    /// # Errors
    /// Where the system refused any of it; what stood there before stands there still.
    pub fn finish(mut self) -> Result<Written, NotWritten> {
        self.hand_over();
        if let Some(part) = self.part.take() {
            let target = self.folder.path(&self.file);
            let disk = &self.folder.disk;
            let placed = part
                .file
                .complete()
                .and_then(|()| disk.rename(&part.path, &target));
            if let Err(cause) = placed {
                let _ = disk.remove(&part.path);
                self.failed = Some(cause);
            }
        }
        match self.failed.take() {
            Some(cause) => Err(self.folder.not_written(&self.file, cause)),
            None => Ok(Written {
                file: mem::take(&mut self.file),
                sha256: hex(&self.digest.finalize_reset()),
            }),
        }
    }

    /// Nothing of ours stays behind; a failure to remove it adds nothing to the first failure.
    fn give_up(&mut self, cause: io::Error) {
        self.remove_part();
        self.failed = Some(cause);
    }

    fn remove_part(&mut self) {
        if let Some(Part { path, file }) = self.part.take() {
            drop(file);
            let _ = self.folder.disk.remove(&path);
        }
    }
}

impl Drop for Stream<'_> {
    fn drop(&mut self) {
        self.remove_part();
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::sync::Arc;

    use super::*;
    use crate::output::disk::{Readers, SystemDisk};
    use crate::output::folder::sha256_hex;

    fn folder(root: &std::path::Path) -> Folder {
        Folder::open(root, Readers::Owner, Arc::new(SystemDisk)).expect("opened")
    }

    #[test]
    fn many_bits_are_one_file_with_its_digest() {
        let root = tempfile::tempdir().expect("a folder");
        let folder = folder(root.path());
        let bits: Vec<Vec<u8>> = (0..300_usize)
            .map(|bit| vec![bit.to_le_bytes()[0]; bit * bit * 7])
            .collect();
        let mut stream = folder.begin("results.csv");
        for bit in &bits {
            stream.add(bit);
            assert!(!folder.path("results.csv").exists());
        }
        let written = stream.finish().expect("written");
        let whole = bits.concat();
        assert!(fs::read(folder.path("results.csv")).expect("there") == whole);
        assert_eq!(written.sha256, sha256_hex(&whole));
    }

    #[test]
    fn one_that_is_not_finished_leaves_the_old_file_and_nothing_else() {
        let root = tempfile::tempdir().expect("a folder");
        let folder = folder(root.path());
        folder.write("results.csv", b"old").expect("written");
        let mut stream = folder.begin("results.csv");
        stream.add(&vec![7; GATHERED * 2]);
        assert_eq!(folder.parts().len(), 1);
        drop(stream);
        assert_eq!(folder.parts(), Vec::<String>::new());
        assert_eq!(folder.earlier("results.csv").as_deref(), Some("old"));
    }
}
