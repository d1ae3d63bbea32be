//! What can keep a journal from being read or written, in words for the bench.

use std::io::{self, ErrorKind};
use std::path::PathBuf;

use thiserror::Error;

use super::read::scan;
use super::{Damage, Looks, Mark};
use crate::disk::{Ailment, in_words};
use crate::trouble::{ExitKind, Trouble};

/// Why a journal could not be read or an act could not be kept.
///
/// Wherever this comes back from writing, the act was **not** kept and must not be shown.
#[derive(Debug, Error)]
pub enum JournalFault {
    /// The journal is there but cannot be read.
    #[error("cannot read the journal: {}", in_words(cause))]
    Unreadable {
        /// The journal.
        path: PathBuf,
        /// What the system answered.
        cause: io::Error,
    },
    /// The journal cannot be opened for writing.
    #[error("cannot keep the last act: {}", in_words(cause))]
    NotOpened {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
        /// What the system answered.
        cause: io::Error,
    },
    /// The disk has no locks, so two benches could write over each other.
    #[error(
        "nothing can be kept here: this disk cannot lock files, and without locks two benches could spoil each other's lines"
    )]
    NoLocks {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
        /// What the system answered.
        cause: io::Error,
    },
    /// Another program held the lock for longer than [`super::LOCK_LIMIT`].
    #[error("cannot keep the last act: another bench has held this journal for more than {} s", super::LOCK_LIMIT.as_secs())]
    Busy {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
    },
    /// The write failed or went in only in part, and was taken back.
    #[error("cannot keep the last act: {}", in_words(cause))]
    NotWritten {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
        /// What the system answered.
        cause: io::Error,
    },
    /// The write failed and could not be taken back; the writer has stopped.
    #[error(
        "cannot keep the last act, and cannot take back what was written of it: {}",
        in_words(cause)
    )]
    NotTakenBack {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
        /// What the system answered when it was to be taken back.
        cause: io::Error,
    },
    /// The line was written, but the disk did not confirm it; the writer has stopped.
    #[error(
        "cannot be sure that the last act is kept: the disk did not confirm it ({})",
        in_words(cause)
    )]
    NotSynced {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
        /// What the system answered.
        cause: io::Error,
    },
    /// A torn end could not be copied aside or cut off; nothing was written after it.
    #[error("cannot set the torn end of the journal aside: {}", in_words(cause))]
    NotSetAside {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
        /// What the system answered.
        cause: io::Error,
    },
    /// The file holds bytes, but not one line of a journal; it was left as it is.
    #[error("cannot keep the last act: no line of this journal can be read, {looks}")]
    NoLine {
        /// The journal.
        path: PathBuf,
        /// What the file looks like.
        looks: Looks,
    },
    /// The folder of the figure, or the one above it, is a link.
    #[error("cannot keep the last act: this folder is a link to somewhere else")]
    Elsewhere {
        /// The link.
        folder: PathBuf,
    },
    /// The file is no longer what was read; the writer has stopped.
    #[error("nothing can be kept: {}", changed_words(*after, *now))]
    Changed {
        /// The journal.
        path: PathBuf,
        /// The last line that was known.
        after: u64,
        /// The last line that stands there now; `None` where the file is gone.
        now: Option<u64>,
    },
    /// The writer stopped at an earlier fault and waits to be opened again.
    #[error("cannot keep the last act: writing stopped before: {first}")]
    Stopped {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
        /// What it stopped at, in words.
        first: String,
        /// What helps against that.
        remedy: String,
    },
    /// A deed wants a field for itself that belongs to the line. A mistake in this program.
    #[error("cannot keep the last act: its field `{field}` is not in its place")]
    Misplaced {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
        /// The field.
        field: String,
    },
    /// The sealed line could not be read back before it was written; nothing was written.
    #[error("cannot keep the last act: its line could not be read again")]
    WouldNotRead {
        /// The journal.
        path: PathBuf,
        /// The last line that is kept.
        after: u64,
    },
}

/// What helps where something else stands in the place of a journal.
const PLAIN: &str = "put the journal itself there, from a copy if need be, then try again";

/// What the last line of most messages promises.
const NOTHING_LOST: &str = "nothing was lost and nothing is half written";

/// What became of a journal that is no longer the one that was read.
fn changed_words(known: u64, now: Option<u64>) -> String {
    match now {
        None => {
            "the journal is gone: the shop's folder or this file was moved or deleted".to_owned()
        }
        Some(now) if now + 1 == known => {
            format!(
                "line {known}, which was kept, is gone from the journal: something else than a bench changed it"
            )
        }
        Some(now) if now < known => format!(
            "lines {} to {known}, which were kept, are gone from the journal: something else than a bench changed it",
            now + 1
        ),
        Some(_) => "the journal was changed by something else than a bench".to_owned(),
    }
}

impl JournalFault {
    /// Returns what a page says of a journal that the disk does not hand out.
    ///
    /// # Errors
    /// Any other fault, as it is.
    pub fn as_damage(self) -> Result<Damage, Self> {
        match self {
            Self::Unreadable { cause, .. } => Ok(Damage::Unread(in_words(&cause))),
            other => Err(other),
        }
    }

    /// Returns the journal and the last line that is kept in it.
    fn place(&self) -> String {
        match self {
            Self::Unreadable { path, .. } | Self::NoLine { path, .. } => path.display().to_string(),
            Self::Elsewhere { folder } => folder.display().to_string(),
            Self::NotOpened { path, after, .. }
            | Self::NoLocks { path, after, .. }
            | Self::Busy { path, after }
            | Self::NotWritten { path, after, .. }
            | Self::NotTakenBack { path, after, .. }
            | Self::NotSynced { path, after, .. }
            | Self::NotSetAside { path, after, .. }
            | Self::Changed { path, after, .. }
            | Self::Stopped { path, after, .. }
            | Self::Misplaced { path, after, .. }
            | Self::WouldNotRead { path, after } => match after {
                0 => format!("{}, before its first line", path.display()),
                after => format!("{}, after line {after}", path.display()),
            },
        }
    }

    /// Returns what helps, and what was left untouched.
    fn remedy(&self) -> String {
        match self {
            Self::Unreadable { cause, .. } => match Ailment::of(cause) {
                Ailment::NotAllowed => {
                    "ask whoever keeps this computer for the right to read it".to_owned()
                }
                Ailment::NotPlain(_) => format!("{PLAIN}; nothing was opened or changed"),
                _ => "check the disk and its cable; the journal was left untouched".to_owned(),
            },
            Self::NotOpened { cause, .. }
            | Self::NotWritten { cause, .. }
            | Self::NotSetAside { cause, .. } => format!("{}; {NOTHING_LOST}", first_aid(cause)),
            Self::NoLocks { .. } => format!(
                "keep the shop on a disk of this computer, or on a share that can lock files; {NOTHING_LOST}"
            ),
            Self::Busy { .. } => format!(
                "look for a bench that was stopped while it wrote, then try again; {NOTHING_LOST}"
            ),
            Self::NotTakenBack { .. } => {
                "check the disk, then open the shop again: it sets aside what is half written; the lines before are untouched".to_owned()
            }
            Self::NotSynced { .. } => {
                "check the disk, open the shop again, and look whether the act is there before doing it again; the lines before are untouched".to_owned()
            }
            Self::NoLine { .. } => {
                "put a copy of the journal in its place, then try again; the file was left as it is"
                    .to_owned()
            }
            Self::Elsewhere { .. } => {
                "put the folder itself in the place of the link; nothing was written".to_owned()
            }
            Self::Changed { after, now, .. } if now.is_none_or(|now| now < *after) => {
                "write on paper what is done from here on; bring back the folder or a copy of the journal, then open the shop again and run `knuckle audit`".to_owned()
            }
            Self::Changed { .. } => {
                "write on paper what is done from here on; open the shop again and run `knuckle audit`; a copy of the journal from a backup may be needed".to_owned()
            }
            Self::Stopped { remedy, .. } => remedy.clone(),
            Self::Misplaced { .. } | Self::WouldNotRead { .. } => format!(
                "write the act on paper and tell whoever keeps this program; {NOTHING_LOST}"
            ),
        }
    }
}

/// Returns what to do about an ailing disk before it is tried again.
fn first_aid(cause: &io::Error) -> &'static str {
    match Ailment::of(cause) {
        Ailment::Full => "make room, then try again",
        Ailment::TooLarge => "have the limit on the size of files lifted, then try again",
        Ailment::ReadOnly => "make the disk writable, then try again",
        Ailment::NotAllowed => {
            "ask whoever keeps this computer for the right to write it, then try again"
        }
        Ailment::Missing => "check whether the disk is connected, then try again",
        Ailment::NotPlain(_) | Ailment::NotAFolder => PLAIN,
        Ailment::Other => "check the disk and its cable, then try again",
    }
}

impl From<JournalFault> for Trouble {
    fn from(fault: JournalFault) -> Self {
        Trouble::new(ExitKind::Disk, fault.to_string())
            .at(fault.place())
            .remedy(fault.remedy())
    }
}

/// The faults of one journal. Those after which nobody knows what the file holds stop it.
impl super::Journal {
    pub(super) fn unreadable(&self, cause: io::Error) -> JournalFault {
        let path = self.path.clone();
        JournalFault::Unreadable { path, cause }
    }

    pub(super) fn not_opened(&self, cause: io::Error) -> JournalFault {
        let (path, after) = self.known();
        JournalFault::NotOpened { path, after, cause }
    }

    pub(super) fn not_locked(&self, cause: io::Error) -> JournalFault {
        let (path, after) = self.known();
        match cause.kind() {
            ErrorKind::WouldBlock => JournalFault::Busy { path, after },
            _ => JournalFault::NoLocks { path, after, cause },
        }
    }

    pub(super) fn not_written(&self, cause: io::Error) -> JournalFault {
        let (path, after) = self.known();
        JournalFault::NotWritten { path, after, cause }
    }

    pub(super) fn not_set_aside(&self, cause: io::Error) -> JournalFault {
        let (path, after) = self.known();
        JournalFault::NotSetAside { path, after, cause }
    }

    pub(super) fn no_line(&self, looks: Looks) -> JournalFault {
        let path = self.path.clone();
        JournalFault::NoLine { path, looks }
    }

    pub(super) fn misplaced(&self, field: &str) -> JournalFault {
        let (path, after) = self.known();
        let field = field.to_owned();
        JournalFault::Misplaced { path, after, field }
    }

    pub(super) fn would_not_read(&self) -> JournalFault {
        let (path, after) = self.known();
        JournalFault::WouldNotRead { path, after }
    }

    pub(super) fn not_taken_back(&mut self, cause: io::Error) -> JournalFault {
        let (path, after) = self.known();
        self.stopped_at(JournalFault::NotTakenBack { path, after, cause })
    }

    pub(super) fn unsynced(&mut self, cause: io::Error) -> JournalFault {
        let (path, after) = self.known();
        self.stopped_at(JournalFault::NotSynced { path, after, cause })
    }

    pub(super) fn changed(&mut self) -> JournalFault {
        let (path, after) = self.known();
        let is_gone = matches!(self.disk.stamp(&path), Ok(None));
        let now = (!is_gone).then(|| {
            let read = super::read_bytes(self.disk.as_ref(), &path);
            // What cannot be read may still be there: nothing is said to be gone.
            read.map_or(after, |bytes| scan(&bytes, &Mark::default()).end.n)
        });
        self.stopped_at(JournalFault::Changed { path, after, now })
    }

    /// Nothing more is written after this fault until the journal is opened again.
    fn stopped_at(&mut self, fault: JournalFault) -> JournalFault {
        // The first cause stays the one that is told.
        self.stopped.get_or_insert_with(|| {
            let words = fault.to_string();
            let cause = words.strip_prefix("cannot keep the last act: ");
            let cause = cause.or_else(|| words.strip_prefix("nothing can be kept: "));
            (cause.unwrap_or(&words).to_owned(), fault.remedy())
        });
        fault
    }

    pub(super) fn has_to_reopen(&self) -> JournalFault {
        let (path, after) = self.known();
        let (first, remedy) = self.stopped.clone().unwrap_or_default();
        JournalFault::Stopped {
            path,
            after,
            first,
            remedy,
        }
    }

    fn known(&self) -> (PathBuf, u64) {
        (self.path.clone(), self.end.n)
    }
}
