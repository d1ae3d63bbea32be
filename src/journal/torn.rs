//! The torn end of a journal, set aside.

use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};

use super::read::{Mark, Torn};
use crate::disk::{Disk, OpenFile, Way, parent_of, write_all};

/// A torn end that was moved into a file of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetAside {
    /// The file beside the journal that now holds the bytes.
    pub file: PathBuf,
    /// The number of the line in the journal at which they stood, from 1.
    pub line: u64,
    /// How many bytes.
    pub bytes: u64,
}

/// Copies the torn end into a new file, syncs it and its name, and only then cuts it off.
///
/// When the computer stops in between, the same bytes stand in both files, and the next
/// writer sets them aside once more. The name carries the count that is free now, and the
/// moment of the act that found the tear.
pub(super) fn set_aside(
    disk: &dyn Disk,
    journal: &mut dyn OpenFile,
    path: &Path,
    (end, torn, at): (&Mark, &Torn, DateTime<FixedOffset>),
) -> io::Result<SetAside> {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let when = at.format("%Y%m%dT%H%M%S");
    let name = format!("{stem}.torn-{}-{when}", end.n.saturating_add(1));
    let (file, mut copy) = free_name(disk, path, &name)?;
    write_all(copy.as_mut(), &torn.bytes)?;
    copy.sync()?;
    disk.sync_folder(parent_of(path))?;
    journal.cut(end.len)?;
    journal.sync()?;
    Ok(SetAside {
        file,
        line: torn.line,
        bytes: torn.bytes.len() as u64,
    })
}

/// Makes the first file of this name that is not there yet.
fn free_name(disk: &dyn Disk, path: &Path, name: &str) -> io::Result<(PathBuf, Box<dyn OpenFile>)> {
    let mut attempt: u32 = 1;
    loop {
        let file = path.with_file_name(match attempt {
            1 => format!("{name}.txt"),
            again => format!("{name}-{again}.txt"),
        });
        match disk.open(&file, Way::Make) {
            Err(cause) if cause.kind() == ErrorKind::AlreadyExists => attempt += 1,
            opened => return opened.map(|copy| (file, copy)),
        }
    }
}
