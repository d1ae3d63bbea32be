//! Lines on disk: append, seal, verify, torn end.
//!
//! # The format
//!
//! A journal is a text file in UTF-8 that is only ever appended to, one JSON object per line,
//! each line ended by a line feed. The fields stand in this order:
//!
//! | field | what |
//! | --- | --- |
//! | `n` | the count of the line, from 1, without gaps |
//! | `at` | when it happened: RFC 3339 with milliseconds and offset |
//! | `by` | who did it |
//! | `bench` | at which bench it was written down |
//! | `deed` | what kind of act it was |
//! | … | the deed's own fields |
//! | `entered_later` | when it was typed, only if that was after the fact; written like `at` |
//! | `seal` | 32 lower-case hexadecimal digits |
//!
//! The seal is the beginning (the first 16 bytes) of the SHA-256 (FIPS 180-4) over
//! the seal of the line before as text (nothing for the first line), a line feed, and the
//! bytes of this line without `,"seal":"…"`, from its opening to its closing brace.
//! So one can check it with common tools, here for line 2 of a journal:
//!
//! ```text
//! before=$(sed -n 1p journal.jsonl | sed 's/.*,"seal":"\([0-9a-f]*\)"}$/\1/')
//! line=$(sed -n 2p journal.jsonl | sed 's/,"seal":"[0-9a-f]*"}$/}/')
//! printf '%s\n%s' "$before" "$line" | sha256sum | cut -c1-32
//! ```
//!
//! The seal shows damage, edits, and lines that were moved or removed (except removed from
//! the very end). It is no signature: who can write the file can seal it anew.
//!
//! # How a line is kept
//!
//! Under an exclusive lock on the journal itself: read what others appended, number, seal,
//! read the sealed bytes back, one write for all lines of the call, data sync, and, when the
//! journal is new, a sync of its folder. Only then does [`Journal::append`] return. What comes
//! back is what may be shown.
//!
//! A write that fails is taken back. A sync that fails is taken back too, but nobody can know
//! what the disk holds then: the writer stops until the journal is opened again.
//! A torn end (a writer was killed, the plug was pulled) is copied into a file beside the
//! journal, `journal.torn-<n>-<time>.txt`, before it is cut off; nothing is ever dropped.
//! A file that holds bytes and not one line is no journal: it is never set aside or written to.
//! A last line that lacks only its line end and whose seal fits is whole and is kept.
//!
//! This room knows lines, not deeds: see `deed` for what is in them. It is given the time
//! and the disk. Start reading at [`Journal`].

mod fault;
mod line;
mod read;
mod readers;
mod torn;

pub use fault::JournalFault;
pub use line::{Draft, Kept, LINE_FIELDS};
pub use read::{Damage, Flaw, FlawKind, Looks, Mark, Noted, Reading, Torn};
pub use readers::{read_all, read_bytes, read_since, seal_of, verify};
pub use torn::SetAside;

use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use chrono::TimeDelta;

use crate::disk::{Disk, OpenFile, Share, Stamp, Way, parent_of};
use read::{scan, scan_on, tail};

/// How long a writer waits for another bench. One append takes some milliseconds, so this
/// means that a bench was stopped in the middle. Chosen here, not measured.
pub const LOCK_LIMIT: Duration = Duration::from_secs(5);

/// How much earlier a line may have been written down than one above it, with every clock right:
/// its moment is that of the key or of the command, and it is kept when the shop has been read and
/// the journal is free, after some tries at worst, each with its wait for the lock. Chosen here,
/// not measured.
pub const OUT_OF_STEP: TimeDelta = TimeDelta::seconds(60);

/// One journal, open for reading on and for appending.
///
/// It holds no file open and no lock between two calls, so any number of benches may have
/// the same journal. Each line is given out exactly once, in the order of the file: by
/// [`Journal::open`], [`Journal::news`], [`Journal::append`] or [`Journal::append_if`].
#[derive(Debug)]
pub struct Journal {
    disk: Arc<dyn Disk>,
    path: PathBuf,
    end: Mark,
    seen: Option<Stamp>,
    /// What writing stopped at and what helps, in words.
    stopped: Option<(String, String)>,
    /// What was set aside by an append that failed afterwards; the next one reports it.
    set_aside: Option<SetAside>,
}

/// What an append did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Appended {
    /// Lines that other benches had written in between and that come before ours.
    pub others: Vec<Kept>,
    /// Our lines as they stand on the disk.
    pub lines: Vec<Kept>,
    /// A torn end that was moved out of the way first.
    pub set_aside: Option<SetAside>,
}

/// What came of an append that was decided upon a certain last line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AppendOutcome {
    /// The lines are on the disk.
    Kept(Appended),
    /// Nothing was written: these lines of other benches come after the line on which the
    /// caller decided. Replay them and decide again.
    Behind(Vec<Kept>),
}

impl Journal {
    /// Opens a journal and reads all of it. A journal that is not there yet is empty; it is
    /// made by the first append. Nothing is written, also not to a torn end.
    ///
    /// # Errors
    /// [`JournalFault::Unreadable`] when the file is there and cannot be read.
    pub fn open(
        disk: Arc<dyn Disk>,
        path: impl Into<PathBuf>,
    ) -> Result<(Self, Reading), JournalFault> {
        Self::resume(disk, path, Mark::default())
    }

    /// Opens a journal whose lines up to `from` are known already, and reads the rest.
    ///
    /// # Errors
    /// [`JournalFault::Changed`] when the line before `from` is not the one that was known
    /// (then [`Journal::open`] it), [`JournalFault::Unreadable`] when it cannot be read.
    pub fn resume(
        disk: Arc<dyn Disk>,
        path: impl Into<PathBuf>,
        from: Mark,
    ) -> Result<(Self, Reading), JournalFault> {
        let mut journal = Self {
            disk,
            path: path.into(),
            end: from,
            seen: None,
            stopped: None,
            set_aside: None,
        };
        let reading = journal.look()?;
        journal.end = reading.end.clone();
        Ok((journal, reading))
    }

    /// Returns the count of the last line that was given out; 0 for an empty journal.
    pub fn last_n(&self) -> u64 {
        self.end.n
    }

    /// Returns how far the journal was given out, for [`Journal::resume`].
    pub fn mark(&self) -> &Mark {
        &self.end
    }

    /// Returns the file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Returns whether writing stopped at a fault; reading still goes on.
    pub fn has_stopped(&self) -> bool {
        self.stopped.is_some()
    }

    /// Returns the lines that other benches have appended since the last call. Costs one
    /// look at the length and time of the file when there are none.
    ///
    /// # Errors
    /// [`JournalFault::Changed`] when the file is no longer what was read,
    /// [`JournalFault::NotSynced`] when the disk does not confirm the new lines (their writer
    /// may have been killed), and [`JournalFault::Unreadable`].
    pub fn news(&mut self) -> Result<Vec<Kept>, JournalFault> {
        let stamp = self.stamp()?;
        if stamp == self.seen {
            return Ok(Vec::new());
        }
        let reading = self.look()?;
        if !reading.lines.is_empty()
            && let Err(fault @ JournalFault::NotSynced { .. }) = self.settle()
        {
            return Err(fault);
        }
        // Who may not write cannot sync either; but then nothing is decided here.
        self.end = reading.end;
        Ok(reading.lines)
    }

    /// Keeps the drafts as the next lines, whatever others wrote in between. For what needs
    /// no decision: a jotted line, a reading of the air.
    ///
    /// # Errors
    /// Any [`JournalFault`]; then none of the drafts counts as kept.
    pub fn append(&mut self, drafts: &[Draft]) -> Result<Appended, JournalFault> {
        let (mut file, reading) = self.hold()?;
        self.keep(file.as_mut(), reading, drafts)
    }

    /// Keeps the drafts as the next lines if line `decided_on` is still the last one.
    ///
    /// # Errors
    /// Any [`JournalFault`]; then none of the drafts counts as kept.
    pub fn append_if(
        &mut self,
        decided_on: u64,
        drafts: &[Draft],
    ) -> Result<AppendOutcome, JournalFault> {
        let (mut file, reading) = self.hold()?;
        if decided_on == reading.end.n && reading.lines.is_empty() {
            return self
                .keep(file.as_mut(), reading, drafts)
                .map(AppendOutcome::Kept);
        }
        // A bench that was killed may have left lines that are not on the disk yet; nothing
        // may be decided on them before they are.
        file.sync().map_err(|cause| self.unsynced(cause))?;
        if decided_on == self.end.n {
            self.end = reading.end;
            return Ok(AppendOutcome::Behind(reading.lines));
        }
        let all = file
            .read_from(0, u64::MAX)
            .map_err(|c| self.unreadable(c))?;
        let mut whole = scan(&all, &Mark::default());
        if whole.end.n < decided_on {
            return Err(self.changed());
        }
        whole.lines.retain(|line| decided_on < line.n);
        self.end = whole.end;
        Ok(AppendOutcome::Behind(whole.lines))
    }

    /// Syncs what a writer that was killed may have left unsynced. Called once when a figure
    /// is opened at a bench, so that nothing is worked upon that the disk does not hold.
    ///
    /// # Errors
    /// [`JournalFault::NotSynced`]; the writer has then stopped.
    pub fn settle(&mut self) -> Result<(), JournalFault> {
        match self.disk.open(&self.path, Way::Append) {
            Ok(mut file) => file.sync().map_err(|cause| self.unsynced(cause)),
            Err(cause) if cause.kind() == ErrorKind::NotFound && self.end.n == 0 => Ok(()),
            Err(cause) => Err(self.not_opened(cause)),
        }
    }

    /// Tries whether this disk has locks. A journal that is held by another bench is proof that
    /// it has; one that is not there, or that this user may not write, is proof of nothing.
    ///
    /// # Errors
    /// [`JournalFault::NoLocks`].
    pub fn try_lock(&self) -> Result<(), JournalFault> {
        let Ok(mut file) = self.disk.open(&self.path, Way::Append) else {
            return Ok(());
        };
        match file.lock(Share::Alone, Duration::ZERO) {
            Err(cause) if cause.kind() != ErrorKind::WouldBlock => Err(self.not_locked(cause)),
            _ => Ok(()),
        }
    }

    /// Returns what can be known of the file now; `None` when it is not there.
    fn stamp(&self) -> Result<Option<Stamp>, JournalFault> {
        self.disk
            .stamp(&self.path)
            .map_err(|cause| self.unreadable(cause))
    }

    /// Reads what stands after the known end, together with other readers.
    fn look(&mut self) -> Result<Reading, JournalFault> {
        let seen = self.stamp()?;
        if seen.is_none() && self.end.len == 0 {
            self.seen = None;
            return Ok(scan(&[], &self.end));
        }
        let mut file = match self.disk.open(&self.path, Way::Read) {
            Ok(file) => file,
            Err(cause) if cause.kind() == ErrorKind::NotFound => return Err(self.changed()),
            Err(cause) => return Err(self.unreadable(cause)),
        };
        // Reading goes on where there are no locks. A torn end may then be a line that is
        // being written; it is only cut off by a writer, who does hold the lock.
        drop(file.lock(Share::Together, LOCK_LIMIT));
        let reading = self.catch_up(file.as_mut())?;
        // The stamp from before the reading: what came later is looked at again.
        self.seen = seen;
        Ok(reading)
    }

    /// Opens the file, locks it alone, and reads what others have appended.
    fn hold(&mut self) -> Result<(Box<dyn OpenFile>, Reading), JournalFault> {
        if self.has_stopped() {
            return Err(self.has_to_reopen());
        }
        let way = match self.end.len {
            0 => Way::AppendOrMake,
            _ => Way::Append,
        };
        let mut file = match self.disk.open(&self.path, way) {
            Ok(file) => file,
            Err(cause) if cause.kind() == ErrorKind::NotFound && 0 < self.end.len => {
                return Err(self.changed());
            }
            Err(cause) => return Err(self.not_opened(cause)),
        };
        file.lock(Share::Alone, LOCK_LIMIT)
            .map_err(|cause| self.not_locked(cause))?;
        // A file that was replaced while we waited would take our lines with it to nowhere.
        let open = file.stamp().map_err(|cause| self.unreadable(cause))?;
        if self.stamp()?.map(|stamp| stamp.identity) != Some(open.identity) {
            return Err(self.changed());
        }
        let reading = self.catch_up(file.as_mut())?;
        if let Some(looks) = reading.strange {
            return Err(self.no_line(looks));
        }
        Ok((file, reading))
    }

    /// Reads from the last known line on and makes sure that this line is still there.
    fn catch_up(&mut self, file: &mut dyn OpenFile) -> Result<Reading, JournalFault> {
        let begins = self.end.last_begins();
        let bytes = file
            .read_from(begins, u64::MAX)
            .map_err(|cause| self.unreadable(cause))?;
        let known = self.end.last_bytes();
        if !bytes.starts_with(&known) {
            return Err(self.changed());
        }
        let reading = scan_on(tail(&bytes, known.len() as u64), &self.end);
        if 0 < self.end.len && !reading.flaws.iter().all(Flaw::is_only_a_clock) {
            return Err(self.changed());
        }
        Ok(reading)
    }

    /// Sets a torn end aside, then writes and syncs the drafts. The file is locked.
    fn keep(
        &mut self,
        file: &mut dyn OpenFile,
        reading: Reading,
        drafts: &[Draft],
    ) -> Result<Appended, JournalFault> {
        let Some(first) = drafts.first() else {
            self.end = reading.end;
            return Ok(Appended {
                others: reading.lines,
                lines: Vec::new(),
                set_aside: self.set_aside.take(),
            });
        };
        if let Some(torn) = &reading.torn {
            let aside = torn::set_aside(
                self.disk.as_ref(),
                file,
                &self.path,
                (&reading.end, torn, first.at),
            )
            .map_err(|cause| self.not_set_aside(cause))?;
            self.set_aside = Some(aside);
        }
        let (block, written) = self.sealed(&reading.end, drafts)?;
        self.write(file, reading.end.len, block.as_bytes())?;
        self.confirm(file, reading.end.len)?;
        self.seen = file.stamp().ok();
        self.end = written.end;
        Ok(Appended {
            others: reading.lines,
            lines: written.lines,
            set_aside: self.set_aside.take(),
        })
    }

    /// Returns the bytes for the drafts, and what a reader will find in them.
    fn sealed(&self, end: &Mark, drafts: &[Draft]) -> Result<(String, Reading), JournalFault> {
        let mut block = String::new();
        if end.unended {
            block.push('\n');
        }
        let mut previous = end.seal();
        for (n, draft) in (end.n + 1..).zip(drafts) {
            if let Some(field) = draft.misplaced_field() {
                return Err(self.misplaced(field));
            }
            let (text, seal) = draft.seal(n, previous);
            block.push_str(&text);
            block.push('\n');
            previous = Some(seal);
        }
        let found = scan_on(block.as_bytes(), end);
        let sound = found.torn.is_none() && found.flaws.iter().all(Flaw::is_only_a_clock);
        if sound && found.lines.len() == drafts.len() {
            Ok((block, found))
        } else {
            Err(self.would_not_read())
        }
    }

    /// Writes the bytes with one call, or leaves the file as it was.
    fn write(
        &mut self,
        file: &mut dyn OpenFile,
        len: u64,
        bytes: &[u8],
    ) -> Result<(), JournalFault> {
        let cause = loop {
            match file.write(bytes) {
                Ok(taken) if taken == bytes.len() => return Ok(()),
                // The disk does not say why it stopped; mostly it is full.
                Ok(_) => break ErrorKind::StorageFull.into(),
                Err(cause) if cause.kind() == ErrorKind::Interrupted => {}
                Err(cause) => break cause,
            }
        };
        match take_back(file, len) {
            Ok(()) => Err(self.not_written(cause)),
            Err(stuck) => Err(self.not_taken_back(stuck)),
        }
    }

    /// Returns when the disk says that it holds what was written after `len`.
    fn confirm(&mut self, file: &mut dyn OpenFile, len: u64) -> Result<(), JournalFault> {
        let synced = file.sync().and_then(|()| match len {
            0 => self.disk.sync_folder(parent_of(&self.path)),
            _ => Ok(()),
        });
        synced.map_err(|cause| {
            // Whether this helps, nobody can know; the writer stops either way.
            drop(take_back(file, len));
            self.unsynced(cause)
        })
    }
}

/// Cuts off what was written after `len`, for good.
fn take_back(file: &mut dyn OpenFile, len: u64) -> io::Result<()> {
    file.cut(len)?;
    file.sync()
}
