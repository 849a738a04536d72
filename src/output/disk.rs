//! The few things that change a disk, in one place, so that a test can let each of them fail in turn.

use std::fmt::Debug;
use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::Path;

/// Who may read what is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Readers {
    /// The user who runs the program: files of mode 0600, folders of mode 0700, where the system knows modes.
    #[default]
    Owner,
    /// Whoever the system lets by default (on Unix: by the umask).
    AsSystem,
}

/// Everything that changes a disk.
pub trait Disk: Debug + Send + Sync {
    /// Makes a folder and those above it; nothing where it is there.
    ///
    /// # Errors
    /// The system's.
    fn make_folder(&self, path: &Path, readers: Readers) -> io::Result<()>;

    /// Begins a file that is not there yet.
    ///
    /// # Errors
    /// The system's.
    fn begin_new(&self, path: &Path, readers: Readers) -> io::Result<Box<dyn NewFile>>;

    /// Gives a file another name in one step; what had that name is gone, a link itself and not what it points to.
    ///
    /// # Errors
    /// The system's; both are as they were.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Removes a file.
    ///
    /// # Errors
    /// The system's.
    fn remove(&self, path: &Path) -> io::Result<()>;
}

/// A file that is being written.
pub trait NewFile: Debug + Send {
    /// Writes bytes behind those that are there.
    ///
    /// # Errors
    /// The system's; part of them may be there then.
    fn add(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Brings all of it down to the medium, so that a disk that is full says so here.
    ///
    /// # Errors
    /// The system's.
    fn complete(self: Box<Self>) -> io::Result<()>;
}

/// The computer's own disk.
#[derive(Clone, Copy, Debug, Default)]
pub struct SystemDisk;

impl Disk for SystemDisk {
    fn make_folder(&self, path: &Path, readers: Readers) -> io::Result<()> {
        let mut builder = DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        if readers == Readers::Owner {
            use std::os::unix::fs::DirBuilderExt as _;
            builder.mode(0o700);
        }
        builder.create(path)
    }

    fn begin_new(&self, path: &Path, readers: Readers) -> io::Result<Box<dyn NewFile>> {
        let mut options = OpenOptions::new();
        // Never into something that is there: nothing is written through a link.
        options.write(true).create_new(true);
        restrict(&mut options, readers);
        Ok(Box::new(options.open(path)?))
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }
}

impl NewFile for File {
    fn add(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.write_all(bytes)
    }

    fn complete(self: Box<Self>) -> io::Result<()> {
        self.sync_all()
    }
}

/// Gives a new file the mode that its readers ask for.
pub(super) fn restrict(options: &mut OpenOptions, readers: Readers) {
    #[cfg(unix)]
    if readers == Readers::Owner {
        use std::os::unix::fs::OpenOptionsExt as _;
        options.mode(0o600);
    }
    #[cfg(not(unix))]
    let _ = (options, readers);
}
