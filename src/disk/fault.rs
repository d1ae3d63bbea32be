//! What ails a disk, in plain words and with what helps.

use std::fmt;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use thiserror::Error;

use super::Nature;
use crate::trouble::{ExitKind, Trouble};

/// Something else than a plain file stands under the name of one; it was not opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("what stands there is {}, not a plain file", .0.in_words())]
pub struct NotPlain(pub Nature);

/// What ails a disk, as far as a person at the bench can do something about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ailment {
    /// There is no room left, or the share for this user is used up.
    Full,
    /// The file may not grow further: a limit of this user or of the file system.
    TooLarge,
    /// The disk can be read but not written.
    ReadOnly,
    /// This user may not do that there.
    NotAllowed,
    /// The file or folder is not there.
    Missing,
    /// Something else stands there than a plain file.
    NotPlain(Nature),
    /// A file stands where a folder was meant.
    NotAFolder,
    /// Anything else.
    Other,
}

impl Ailment {
    /// Returns the ailment behind an answer of the system.
    pub fn of(cause: &io::Error) -> Self {
        let inner = cause.get_ref().and_then(|it| it.downcast_ref());
        if let Some(NotPlain(nature)) = inner {
            return Self::NotPlain(*nature);
        }
        match cause.kind() {
            ErrorKind::StorageFull | ErrorKind::QuotaExceeded => Self::Full,
            ErrorKind::FileTooLarge => Self::TooLarge,
            ErrorKind::ReadOnlyFilesystem => Self::ReadOnly,
            ErrorKind::PermissionDenied => Self::NotAllowed,
            ErrorKind::NotFound => Self::Missing,
            ErrorKind::IsADirectory => Self::NotPlain(Nature::Folder),
            ErrorKind::NotADirectory => Self::NotAFolder,
            _ => Self::Other,
        }
    }
}

/// Returns the cause in plain words; an answer that has none is quoted.
pub fn in_words(cause: &io::Error) -> String {
    match Ailment::of(cause) {
        Ailment::Full => "the disk is full".to_owned(),
        Ailment::TooLarge => "this file may not grow further here".to_owned(),
        Ailment::ReadOnly => "the disk can only be read".to_owned(),
        Ailment::NotAllowed => "this user is not allowed to".to_owned(),
        Ailment::Missing => "there is no such file or folder".to_owned(),
        Ailment::NotPlain(nature) => NotPlain(nature).to_string(),
        Ailment::NotAFolder => "a part of this path is a file, not a folder".to_owned(),
        Ailment::Other => format!("the disk answers `{cause}`"),
    }
}

/// What was being done when the disk failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// A file was being read.
    Read,
    /// A file was being written whole, beside its place.
    Replace,
    /// A photograph or another file was being copied in.
    CopyIn,
    /// A folder was being listed.
    List,
    /// A folder was being made.
    MakeFolder,
}

impl fmt::Display for Act {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Read => "read the file",
            Self::Replace => "write the file",
            Self::CopyIn => "copy the file in",
            Self::List => "list the folder",
            Self::MakeFolder => "make the folder",
        })
    }
}

/// The disk did not do what it was asked. Whatever was there before is untouched.
#[derive(Debug, Error)]
#[error("cannot {act}: {}", in_words(cause))]
pub struct DiskFault {
    /// What was being done.
    pub act: Act,
    /// The file or folder.
    pub path: PathBuf,
    /// What the system answered.
    pub cause: io::Error,
}

impl DiskFault {
    /// Returns whether something was to be made under a name that is taken.
    pub fn is_taken(&self) -> bool {
        let makes = matches!(self.act, Act::CopyIn | Act::Replace);
        makes && self.cause.kind() == ErrorKind::AlreadyExists
    }

    /// Returns what helps, for each ailment.
    pub fn remedy(&self) -> &'static str {
        let reads = matches!(self.act, Act::Read | Act::List);
        match Ailment::of(&self.cause) {
            Ailment::Full => "make room, then try again; what was there before is untouched",
            Ailment::TooLarge => {
                "have the limit on the size of files lifted; what was there before is untouched"
            }
            Ailment::ReadOnly => {
                "make the disk writable or use a folder on another one; what was there before is untouched"
            }
            Ailment::NotAllowed if reads => {
                "ask whoever keeps this computer for the right to read it"
            }
            Ailment::NotAllowed => {
                "ask whoever keeps this computer for the right to write there; what was there before is untouched"
            }
            Ailment::Missing => "check the name and whether the disk is connected",
            Ailment::NotPlain(_) => {
                "put the file itself there, or name another one; nothing was opened or changed"
            }
            Ailment::NotAFolder if self.act == Act::List => {
                "move the file away and put the folder itself there; nothing was changed"
            }
            Ailment::NotAFolder => "name a folder; what was there before is untouched",
            Ailment::Other => {
                "check the disk and its cable, and copy the shop to another disk before going on"
            }
        }
    }
}

impl From<DiskFault> for Trouble {
    fn from(fault: DiskFault) -> Self {
        Trouble::new(ExitKind::Disk, fault.to_string())
            .at(fault.path.display().to_string())
            .remedy(fault.remedy())
    }
}

pub(super) fn fault(act: Act, path: &Path, cause: io::Error) -> DiskFault {
    DiskFault {
        act,
        path: path.to_owned(),
        cause,
    }
}
