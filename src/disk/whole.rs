//! What takes more than one act on the disk: whole files read, replaced and copied in.

use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use sha2::{Digest, Sha256};

use super::fault::fault;
use super::{Act, Disk, DiskFault, Entry, OpenFile, Way};

/// Returns the whole of a file.
///
/// # Errors
/// [`DiskFault`] when it is missing or cannot be read.
pub fn read(disk: &dyn Disk, path: &Path) -> Result<Vec<u8>, DiskFault> {
    disk.open(path, Way::Read)
        .and_then(|mut file| file.read_from(0, u64::MAX))
        .map_err(|cause| fault(Act::Read, path, cause))
}

/// Returns the names in a folder, sorted.
///
/// # Errors
/// [`DiskFault`] when it is missing or cannot be read.
pub fn list(disk: &dyn Disk, folder: &Path) -> Result<Vec<Entry>, DiskFault> {
    disk.list(folder)
        .map_err(|cause| fault(Act::List, folder, cause))
}

/// Makes a folder and, where needed, the folders above it, each synced into its parent.
/// A folder that is there already is fine.
///
/// # Errors
/// [`DiskFault`] when a folder cannot be made; those above it may have been.
pub fn make_folders(disk: &dyn Disk, folder: &Path) -> Result<(), DiskFault> {
    let met = |cause| fault(Act::MakeFolder, folder, cause);
    // The folder we are in has no parent to walk up to, so it ends the walk.
    if folder.as_os_str().is_empty()
        || folder == Path::new(".")
        || disk.stamp(folder).map_err(met)?.is_some()
    {
        return Ok(());
    }
    let parent = parent_of(folder);
    make_folders(disk, parent)?;
    match disk.make_folder(folder) {
        Err(cause) if cause.kind() != ErrorKind::AlreadyExists => Err(met(cause)),
        _ => disk.sync_folder(parent).map_err(met),
    }
}

/// Puts `bytes` in the place of a file: written beside it, synced, renamed, folder synced.
///
/// A reader sees the old file or the new one, never a mixture. When the computer stops in
/// the middle, the old file or the new one is there afterwards; an unfinished hidden file
/// may lie beside it.
///
/// # Errors
/// [`DiskFault`]; the old file is then still there, unless only the last sync of the folder
/// failed.
pub fn replace(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> Result<(), DiskFault> {
    put(disk, path, |file| write_all(file, bytes)).map_err(|cause| fault(Act::Replace, path, cause))
}

/// Makes a file of `bytes` under a name that must be free: of several who want it at once one gets
/// it, and the others are told ([`DiskFault::is_taken`]).
///
/// # Errors
/// [`DiskFault`]; nothing of ours then stands under the name.
pub fn make(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> Result<(), DiskFault> {
    take_name(disk, (Act::Replace, path), || replace(disk, path, bytes))
}

/// Takes a name by an empty file that nobody else can make as well, and fills it; where that fails
/// the empty file goes again.
fn take_name<T>(
    disk: &dyn Disk,
    (act, path): (Act, &Path),
    fill: impl FnOnce() -> Result<T, DiskFault>,
) -> Result<T, DiskFault> {
    let own = disk.open(path, Way::Make);
    drop(own.map_err(|cause| fault(act, path, cause))?);
    // The first cause is the one to tell; an empty file harms nothing.
    fill().inspect_err(|_| drop(disk.remove(path)))
}

/// Lays `bytes` in the place of a file that only its owner may read, and that may as well be
/// lost: written beside it and renamed, not synced. After a pulled plug anything may stand
/// there, so the file must carry its own seal.
///
/// # Errors
/// [`DiskFault`]; the old file is then still there.
pub fn lay(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> Result<(), DiskFault> {
    let beside = name_beside(path);
    let mut file = disk
        .open(&beside, Way::MakePrivate)
        .map_err(|cause| fault(Act::Replace, path, cause))?;
    let laid = write_all(file.as_mut(), bytes).and_then(|()| disk.rename(&beside, path));
    laid.map_err(|cause| {
        drop(disk.remove(&beside));
        fault(Act::Replace, path, cause)
    })
}

/// What was copied in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Copied {
    /// How many bytes.
    pub bytes: u64,
    /// The SHA-256 of the bytes (FIPS 180-4) in lower-case hexadecimal.
    pub sha256: String,
}

/// Copies a file, usually a photograph, to a name that must be free, and returns its hash.
///
/// The name is taken first, by an empty file that nobody else can make as well: of several who
/// want it at once one gets it, and the others are told. A pulled plug may leave the empty file.
///
/// # Errors
/// [`DiskFault`] when the source cannot be read, the name is taken, or the copy cannot be
/// written; nothing of ours then stands under the new name.
pub fn copy_in(disk: &dyn Disk, from: &Path, to: &Path) -> Result<Copied, DiskFault> {
    take_name(disk, (Act::CopyIn, to), || copy_over(disk, from, to))
}

/// Copies a file over one that is our own.
fn copy_over(disk: &dyn Disk, from: &Path, to: &Path) -> Result<Copied, DiskFault> {
    let mut source = disk
        .open(from, Way::Read)
        .map_err(|cause| fault(Act::Read, from, cause))?;
    let mut hash = Sha256::new();
    let mut copied: u64 = 0;
    put(disk, to, |file| {
        loop {
            let piece = source.read_from(copied, COPY_PIECE)?;
            if piece.is_empty() {
                return Ok(());
            }
            hash.update(&piece);
            write_all(file, &piece)?;
            copied += piece.len() as u64;
        }
    })
    .map_err(|cause| fault(Act::CopyIn, to, cause))?;
    Ok(Copied {
        bytes: copied,
        sha256: hex(&hash.finalize()),
    })
}

/// Bytes copied at a time, so that a large photograph never stands whole in memory.
/// Chosen here, not measured.
const COPY_PIECE: u64 = 1 << 20;

/// Returns bytes in lower-case hexadecimal.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .copied()
        .flat_map(hex_digits)
        .map(char::from)
        .collect()
}

/// Returns the two lower-case hexadecimal digits of a byte.
pub(crate) fn hex_digits(byte: u8) -> [u8; 2] {
    let digit = |half: u8| match half {
        0..=9 => b'0' + half,
        _ => b'a' - 10 + half,
    };
    [digit(byte >> 4), digit(byte & 15)]
}

/// Writes all of `bytes`, with as many calls as it takes.
///
/// # Errors
/// Whatever the system answers; some of the bytes may then have been written.
pub fn write_all(file: &mut dyn OpenFile, mut bytes: &[u8]) -> io::Result<()> {
    while !bytes.is_empty() {
        match file.write(bytes) {
            Ok(0) => return Err(ErrorKind::WriteZero.into()),
            Ok(taken) => bytes = bytes.get(taken..).unwrap_or_default(),
            Err(cause) if cause.kind() == ErrorKind::Interrupted => {}
            Err(cause) => return Err(cause),
        }
    }
    Ok(())
}

/// Returns the folder of a path; `.` for a bare name.
pub fn parent_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Fills a hidden file beside `path`, syncs it, and gives it its name.
fn put(
    disk: &dyn Disk,
    path: &Path,
    pour: impl FnOnce(&mut dyn OpenFile) -> io::Result<()>,
) -> io::Result<()> {
    let beside = name_beside(path);
    let mut file = disk.open(&beside, Way::Make)?;
    let placed = pour(file.as_mut())
        .and_then(|()| file.sync())
        .and_then(|()| disk.rename(&beside, path));
    if let Err(cause) = placed {
        // The first cause is the one to tell; a leftover hidden file harms nothing.
        drop(disk.remove(&beside));
        return Err(cause);
    }
    disk.sync_folder(parent_of(path))
}

/// Returns a hidden name in the same folder that no other writer uses at the same time.
fn name_beside(path: &Path) -> PathBuf {
    static COUNT: AtomicU64 = AtomicU64::new(0);
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let count = COUNT.fetch_add(1, Ordering::Relaxed);
    path.with_file_name(format!(".{name}.{}-{count}.new", std::process::id()))
}
