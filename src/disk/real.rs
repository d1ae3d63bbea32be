//! The disk of this computer.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use super::{Disk, Entry, Nature, NotPlain, OpenFile, Share, Stamp, Way};

/// The disk of this computer.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    #[expect(
        clippy::disallowed_methods,
        reason = "this is the door through which every file is opened"
    )]
    fn open(&self, path: &Path, way: Way) -> io::Result<Box<dyn OpenFile>> {
        refuse_unless_plain(path, way)?;
        let mut options = OpenOptions::new();
        options.read(true);
        match way {
            Way::Read => {}
            Way::Append => drop(options.append(true)),
            Way::AppendOrMake => drop(options.append(true).create(true)),
            Way::Make | Way::MakePrivate => drop(options.append(true).create_new(true)),
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt;
            // The owner writes, everybody reads; the user's own mask can only take away.
            options.mode(match way {
                Way::MakePrivate => 0o600,
                _ => 0o644,
            });
        }
        Ok(Box::new(RealFile(options.open(path)?)))
    }

    fn stamp(&self, path: &Path) -> io::Result<Option<Stamp>> {
        match fs::metadata(path) {
            Ok(known) => Ok(Some(stamp_of(&known))),
            Err(cause) if cause.kind() == ErrorKind::NotFound => Ok(None),
            Err(cause) => Err(cause),
        }
    }

    fn nature(&self, path: &Path) -> io::Result<Nature> {
        fs::symlink_metadata(path).map(|known| nature_of(&known))
    }

    fn true_path(&self, path: &Path) -> io::Result<PathBuf> {
        fs::canonicalize(path)
    }

    #[expect(
        clippy::disallowed_methods,
        reason = "this is the door through which every file gets its name"
    )]
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn remove_folder(&self, folder: &Path) -> io::Result<()> {
        fs::remove_dir(folder)
    }

    fn list(&self, folder: &Path) -> io::Result<Vec<Entry>> {
        let mut entries = Vec::new();
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            let Ok(name) = entry.file_name().into_string() else {
                continue;
            };
            // A link that points nowhere is listed as a file; opening it tells the rest.
            let is_folder = fs::metadata(entry.path()).is_ok_and(|known| known.is_dir());
            entries.push(Entry { name, is_folder });
        }
        entries.sort();
        Ok(entries)
    }

    fn make_folder(&self, folder: &Path) -> io::Result<()> {
        let mut builder = fs::DirBuilder::new();
        #[cfg(unix)]
        {
            use std::os::unix::fs::DirBuilderExt;
            builder.mode(0o755);
        }
        builder.create(folder)
    }

    #[cfg(unix)]
    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        retried(|| File::open(folder)?.sync_all())
    }

    #[cfg(not(unix))]
    fn sync_folder(&self, _folder: &Path) -> io::Result<()> {
        // Elsewhere a folder cannot be opened for syncing; names are then as safe as the
        // file system makes them by itself.
        Ok(())
    }
}

/// Looks before a file is opened: opening a pipe waits for its other end, perhaps for ever,
/// and what is written through a link lands elsewhere.
fn refuse_unless_plain(path: &Path, way: Way) -> io::Result<()> {
    let known = match way {
        Way::Read => fs::metadata(path),
        Way::Append | Way::AppendOrMake => fs::symlink_metadata(path),
        // What must not be there yet is never opened, nor followed.
        Way::Make | Way::MakePrivate => return Ok(()),
    };
    // Where nothing can be known, opening tells why.
    match known.map(|known| nature_of(&known)) {
        Ok(Nature::File) | Err(_) => Ok(()),
        Ok(other) => Err(io::Error::other(NotPlain(other))),
    }
}

fn nature_of(known: &fs::Metadata) -> Nature {
    let kind = known.file_type();
    if kind.is_symlink() {
        Nature::Link
    } else if kind.is_dir() {
        Nature::Folder
    } else if kind.is_file() {
        Nature::File
    } else {
        Nature::Other
    }
}

#[derive(Debug)]
struct RealFile(File);

impl OpenFile for RealFile {
    fn stamp(&self) -> io::Result<Stamp> {
        Ok(stamp_of(&self.0.metadata()?))
    }

    fn read_from(&mut self, offset: u64, most: u64) -> io::Result<Vec<u8>> {
        let rest = self.0.metadata()?.len().saturating_sub(offset).min(most);
        // Memory that cannot be had is an answer, not a crash.
        let mut bytes = Vec::new();
        bytes.try_reserve(usize::try_from(rest).unwrap_or(usize::MAX))?;
        self.0.seek(SeekFrom::Start(offset))?;
        (&mut self.0).take(most).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        retried(|| self.0.sync_data())
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        retried(|| self.0.set_len(len))
    }

    fn lock(&mut self, share: Share, limit: Duration) -> io::Result<()> {
        let attempt = match share {
            Share::Together => self.0.try_lock_shared(),
            Share::Alone => self.0.try_lock(),
        };
        match attempt {
            Ok(()) => Ok(()),
            Err(TryLockError::Error(cause)) if cause.kind() != ErrorKind::Interrupted => Err(cause),
            Err(_) => lock_within(self.0.try_clone()?, share, limit),
        }
    }
}

/// Waits for a lock, but not for ever: a bench that was stopped while it wrote must not
/// freeze all others.
///
/// The lock belongs to the open file and not to the copy of its handle, so a thread can wait
/// for it on a copy. When it comes too late, it is given back as soon as the last handle is
/// closed; that is why a caller drops the file after a failure.
fn lock_within(file: File, share: Share, limit: Duration) -> io::Result<()> {
    let (done, wait) = mpsc::channel();
    thread::Builder::new()
        .name("lock".to_owned())
        .spawn(move || {
            let got = retried(|| match share {
                Share::Together => file.lock_shared(),
                Share::Alone => file.lock(),
            });
            drop(file);
            // Nobody listens any more when the limit has passed.
            drop(done.send(got));
        })?;
    wait.recv_timeout(limit)
        .unwrap_or_else(|_| Err(ErrorKind::WouldBlock.into()))
}

/// Does an act again as long as a signal interrupts it.
fn retried<T>(mut act: impl FnMut() -> io::Result<T>) -> io::Result<T> {
    loop {
        match act() {
            Err(cause) if cause.kind() == ErrorKind::Interrupted => {}
            done => return done,
        }
    }
}

fn stamp_of(known: &fs::Metadata) -> Stamp {
    #[cfg(unix)]
    let identity = {
        use std::os::unix::fs::MetadataExt;
        Some((known.dev(), known.ino()))
    };
    #[cfg(not(unix))]
    let identity = None;
    Stamp {
        len: known.len(),
        written: known.modified().ok(),
        identity,
    }
}
