//! Reading a journal without opening it for writing: for pages, lists and the audit.

use std::io::{self, ErrorKind};
use std::path::Path;

use chrono::{DateTime, FixedOffset};

use super::line::split_seal;
use super::read::{first_written, scan};
use super::{Damage, Flaw, JournalFault, Kept, LOCK_LIMIT, Mark, OUT_OF_STEP, Reading};
use crate::disk::{Disk, OpenFile, Share, Way};

/// Reads a journal without opening it for writing: every whole line, every flaw with its
/// line, the torn end. A journal that is not there is an empty reading.
///
/// # Errors
/// [`JournalFault::Unreadable`] when the file is there and cannot be read.
pub fn read_all(disk: &dyn Disk, path: &Path) -> Result<Reading, JournalFault> {
    let bytes = match open_to_read(disk, path)? {
        Some(mut file) => file
            .read_from(0, u64::MAX)
            .map_err(|cause| unreadable(path, cause))?,
        None => Vec::new(),
    };
    Ok(scan(&bytes, &Mark::default()))
}

/// Returns the bytes of a journal as they stand, nothing judged: for a search that looks at
/// few of its lines. A journal that is not there is empty.
///
/// # Errors
/// As [`read_all`].
pub fn read_bytes(disk: &dyn Disk, path: &Path) -> Result<Vec<u8>, JournalFault> {
    match open_to_read(disk, path)? {
        Some(mut file) => file
            .read_from(0, u64::MAX)
            .map_err(|cause| unreadable(path, cause)),
        None => Ok(Vec::new()),
    }
}

/// Returns the seal of the line with a count, nothing judged; `None` where no line has it.
///
/// # Errors
/// As [`read_all`].
pub fn seal_of(disk: &dyn Disk, path: &Path, n: u64) -> Result<Option<String>, JournalFault> {
    let bytes = read_bytes(disk, path)?;
    let head = format!(r#"{{"n":{n},"#);
    let mut lines = bytes.split(|byte| *byte == b'\n');
    let line = lines.find(|line| line.starts_with(head.as_bytes()));
    Ok(line.and_then(split_seal).map(|(_, seal)| seal.to_string()))
}

/// Returns the lines that were written down at `since` or later, reading backwards from the
/// end, so that the cost grows with what is asked for and not with the age of the journal.
///
/// It stops at a block that begins before `since`, by more than [`OUT_OF_STEP`]. Where a clock was set back, lines before
/// that block may be left out; [`verify`] shows such places. What is damaged among the lines
/// that were looked at is told with them; older lines are not looked at.
///
/// # Errors
/// As [`read_all`].
pub fn read_since(
    disk: &dyn Disk,
    path: &Path,
    since: DateTime<FixedOffset>,
) -> Result<(Vec<Kept>, Option<Damage>), JournalFault> {
    let met = |cause| unreadable(path, cause);
    let Some(mut file) = open_to_read(disk, path)? else {
        return Ok((Vec::new(), None));
    };
    let len = file.stamp().map_err(met)?.len;
    let mut window = FIRST_BLOCK;
    loop {
        let begins = len.saturating_sub(window);
        let bytes = file.read_from(begins, u64::MAX).map_err(met)?;
        let lines = match begins {
            0 => bytes.as_slice(),
            // The first line of a block in the middle of the file is cut in two.
            _ => after_line_end(&bytes),
        };
        if begins == 0 || first_written(lines).is_some_and(|first| first < since - OUT_OF_STEP) {
            let rest = from_first_since(lines, since);
            let is_whole = rest.len() == bytes.len();
            let mut found = scan(rest, &Mark::default());
            if !is_whole {
                // What comes before the first of these lines is not known.
                found.strange = None;
                found.flaws.retain(|flaw| 1 < flaw.line);
            }
            let damage = found.damage();
            found.lines.retain(|line| since <= line.written());
            return Ok((found.lines, damage));
        }
        window = window.saturating_mul(4);
    }
}

/// Leaves out the lines at the beginning that were written down before `since`: their seals need
/// no reckoning.
fn from_first_since(mut lines: &[u8], since: DateTime<FixedOffset>) -> &[u8] {
    while first_written(lines).is_some_and(|first| first < since) {
        lines = after_line_end(lines);
    }
    lines
}

/// Bytes read at first from the end of a journal: some lines, enough to see that nothing was
/// written since. Of a thousand figures only a few have a day at the bench, and theirs is
/// reached in two steps more. Chosen here, not measured.
const FIRST_BLOCK: u64 = 1 << 12;

fn after_line_end(bytes: &[u8]) -> &[u8] {
    let mut pieces = bytes.splitn(2, |byte| *byte == b'\n');
    pieces.nth(1).unwrap_or_default()
}

/// Opens a journal together with other readers; `None` when it is not there.
fn open_to_read(disk: &dyn Disk, path: &Path) -> Result<Option<Box<dyn OpenFile>>, JournalFault> {
    match disk.open(path, Way::Read) {
        Ok(mut file) => {
            // As in `Journal::look`: reading goes on where there are no locks.
            drop(file.lock(Share::Together, LOCK_LIMIT));
            Ok(Some(file))
        }
        Err(cause) if cause.kind() == ErrorKind::NotFound => Ok(None),
        Err(cause) => Err(unreadable(path, cause)),
    }
}

fn unreadable(path: &Path, cause: io::Error) -> JournalFault {
    JournalFault::Unreadable {
        path: path.to_owned(),
        cause,
    }
}

/// Returns every flaw of a journal in the order of the file, the torn end last; empty when
/// the journal is sound. Reading goes on after each flaw, so all are found at once.
///
/// # Errors
/// As [`read_all`].
pub fn verify(disk: &dyn Disk, path: &Path) -> Result<Vec<Flaw>, JournalFault> {
    read_all(disk, path).map(|reading| reading.all_flaws())
}
