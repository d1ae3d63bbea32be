//! The only door to files: append, sync, replace, lock, read.
//!
//! [`Disk`] and [`OpenFile`] are the few acts that a disk can do; [`RealDisk`] does them, and
//! the tests have one that tears, fills up and fails. Everything that takes more than one act
//! ([`replace`], [`copy_in`], [`read`]) is written on top of the two traits, so that the order
//! write, sync, rename, sync the folder can be watched and broken at every point.
//! This room knows no journal and no shop. Start reading at [`Disk`].

mod fault;
mod real;
mod whole;

pub use fault::{Act, Ailment, DiskFault, NotPlain, in_words};
pub use real::RealDisk;
pub use whole::{
    Copied, copy_in, lay, list, make, make_folders, parent_of, read, replace, write_all,
};

pub(crate) use whole::{hex, hex_digits};

use std::fmt;
use std::io;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// How a file is opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// To read; the file must be there.
    Read,
    /// To read and to write at the end; the file must be there.
    Append,
    /// To read and to write at the end; the file is made when it is missing.
    AppendOrMake,
    /// To write a file that must not be there yet.
    Make,
    /// As [`Way::Make`], and only its owner may read it.
    MakePrivate,
}

/// Who else may hold the lock on a file at the same time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Share {
    /// Others may read with us.
    Together,
    /// Nobody else.
    Alone,
}

/// What can be known of a file without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stamp {
    /// Its length in bytes.
    pub len: u64,
    /// When it was last written, by the file system's own clock; only good for comparing.
    pub written: Option<SystemTime>,
    /// Which file it is, whatever its name; `None` where the system cannot tell.
    pub identity: Option<(u64, u64)>,
}

impl Stamp {
    /// Returns all of it as one word, for comparing with the word of another run; `None`
    /// where the system cannot tell one file, or one writing, from another.
    pub fn in_words(&self) -> Option<String> {
        let since = self.written?.duration_since(SystemTime::UNIX_EPOCH).ok()?;
        let (device, number) = self.identity?;
        let nanos = since.as_nanos();
        Some(format!("{} {nanos} {device} {number}", self.len))
    }
}

/// What a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nature {
    /// A file with bytes of its own.
    File,
    /// A folder.
    Folder,
    /// A link to something else.
    Link,
    /// A device, a pipe, a socket: reading it may never end.
    Other,
}

impl Nature {
    /// Returns what it is, as a noun.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::File => "a file",
            Self::Folder => "a folder",
            Self::Link => "a link to somewhere else",
            Self::Other => "a device, a pipe or a socket",
        }
    }
}

/// Returns whether a path is a link to somewhere else. What cannot be looked at is none; opening
/// it tells why.
pub fn is_link(disk: &dyn Disk, path: &Path) -> bool {
    matches!(disk.nature(path), Ok(Nature::Link))
}

/// Returns where a path really leads, links and `..` followed as far as something is there.
pub fn true_path(disk: &dyn Disk, path: &Path) -> PathBuf {
    for above in path.ancestors() {
        if let Ok(there) = disk.true_path(above) {
            let rest = path.strip_prefix(above).unwrap_or(Path::new(""));
            return there.join(rest);
        }
    }
    path.to_owned()
}

/// What is said of a link where a file or folder of a shop should stand.
pub const LINKED: &str = "this is a link to somewhere else: nothing is written through it";

/// One name in a folder.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Entry {
    /// The name without the folder.
    pub name: String,
    /// Whether it is a folder itself (a link counts as what it points to).
    pub is_folder: bool,
}

/// The acts that a disk can do by name.
pub trait Disk: fmt::Debug + Send + Sync {
    /// Opens a file. A file made here can be written by its owner only and read by all.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged; [`NotPlain`] in it for a folder, a device or a
    /// pipe, and for a link that was to be written through.
    fn open(&self, path: &Path, way: Way) -> io::Result<Box<dyn OpenFile>>;

    /// Returns what can be known of a file, or `None` when there is none of that name.
    ///
    /// # Errors
    /// Whatever the system answers, except that the file is missing.
    fn stamp(&self, path: &Path) -> io::Result<Option<Stamp>>;

    /// Returns what a name stands for, a link not followed.
    ///
    /// # Errors
    /// Whatever the system answers, also when there is nothing of that name.
    fn nature(&self, path: &Path) -> io::Result<Nature> {
        match self.stamp(path)? {
            Some(_) => Ok(Nature::File),
            None => Err(io::ErrorKind::NotFound.into()),
        }
    }

    /// Returns the full name of what is there: without links, and without `..` on the way. A disk
    /// that knows neither returns the path as it is.
    ///
    /// # Errors
    /// Whatever the system answers, also when there is nothing of that name.
    fn true_path(&self, path: &Path) -> io::Result<PathBuf> {
        Ok(path.to_owned())
    }

    /// Gives a file another name in the same folder; a file of that name is replaced.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;

    /// Removes a file. Only for our own unfinished files; nothing of a shop is ever removed.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Removes an empty folder. Only for our own unfinished ones.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged.
    fn remove_folder(&self, _folder: &Path) -> io::Result<()> {
        Err(io::ErrorKind::Unsupported.into())
    }

    /// Returns the names in a folder, sorted; names that are not text are left out.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged.
    fn list(&self, folder: &Path) -> io::Result<Vec<Entry>>;

    /// Makes one folder; its parent must be there.
    ///
    /// # Errors
    /// Whatever the system answers, also when the folder is there already.
    fn make_folder(&self, folder: &Path) -> io::Result<()>;

    /// Returns when the names in the folder are on the disk, as far as the system says so.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged.
    fn sync_folder(&self, folder: &Path) -> io::Result<()>;
}

/// The acts that can be done on a file once it is open. Dropping it gives its lock back.
pub trait OpenFile: fmt::Debug + Send {
    /// Returns what can be known of the open file.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged.
    fn stamp(&self) -> io::Result<Stamp>;

    /// Returns up to `most` bytes from `offset` on; fewer only at the end of the file.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged.
    fn read_from(&mut self, offset: u64, most: u64) -> io::Result<Vec<u8>>;

    /// Writes at the end of the file with one call and returns how many bytes went in.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged; then nothing is known about the end of the file.
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize>;

    /// Returns when the bytes and the length of the file are on the disk, as far as the
    /// system says so. The *name* of a new file needs [`Disk::sync_folder`] as well.
    ///
    /// # Errors
    /// Whatever the system answers. After an error nothing is known about the last writes,
    /// and calling again proves nothing.
    fn sync(&mut self) -> io::Result<()>;

    /// Cuts the file back to `len` bytes.
    ///
    /// # Errors
    /// Whatever the system answers, unchanged.
    fn cut(&mut self, len: u64) -> io::Result<()>;

    /// Locks the file against other programs of our kind, waiting up to `limit`.
    ///
    /// # Errors
    /// [`io::ErrorKind::WouldBlock`] when somebody else held the lock all the time (drop this file
    /// and open it again before the next attempt); anything else means that this disk has no
    /// locks.
    fn lock(&mut self, share: Share, limit: Duration) -> io::Result<()>;
}
