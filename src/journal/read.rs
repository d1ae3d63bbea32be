//! Reading a journal: every whole line, every flaw with its line, and the torn end.
//!
//! Reading never stops at a flaw and never changes the file.

use std::fmt;

use chrono::{DateTime, FixedOffset, NaiveDate, TimeDelta};
use serde::{Deserialize, Serialize};

use super::OUT_OF_STEP;
use super::line::{Kept, Seal, is_whole, parts, split_seal};
use crate::reckon::counted;

/// What stands in a journal, or in the part of it that was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// Every line that can be read, in the order of the file, also where a flaw is noted.
    pub lines: Vec<Kept>,
    /// What does not fit, in the order of the file; empty for a sound journal.
    pub flaws: Vec<Flaw>,
    /// What stands after the last whole line, when somebody was stopped while writing.
    pub torn: Option<Torn>,
    /// What the file looks like, when it holds bytes and not one line of a journal; nothing
    /// may be written to it then.
    pub strange: Option<Looks>,
    /// How far the whole lines go; a later reading can go on from there.
    pub end: Mark,
}

/// A place between two lines of a journal, and the line before it.
///
/// May be stored beside a picture of the lines before it, in a cache that can be deleted.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark {
    /// Bytes before this place.
    pub len: u64,
    /// Lines in the file before this place, readable or not.
    pub lines: u64,
    /// The count of the last line; 0 at the beginning.
    pub n: u64,
    /// The text of the last readable line without its line end; empty at the beginning.
    pub last: String,
    /// Whether the last line has lost its line end; the next one to be written brings it.
    pub unended: bool,
}

impl Mark {
    /// Returns where the last line begins, provided that it stands right before this place.
    pub(super) fn last_begins(&self) -> u64 {
        let ended = u64::from(!self.unended && !self.last.is_empty());
        self.len.saturating_sub(self.last.len() as u64 + ended)
    }

    /// Returns the bytes of the last line as they stand in the file.
    pub(super) fn last_bytes(&self) -> Vec<u8> {
        let mut bytes = self.last.clone().into_bytes();
        if !self.unended && !bytes.is_empty() {
            bytes.push(b'\n');
        }
        bytes
    }

    /// Returns the seal of the last line as it is written; `None` at the beginning.
    pub fn end_seal(&self) -> Option<String> {
        self.seal().map(|seal| seal.to_string())
    }

    /// Returns the seal to which the next line is tied.
    pub(super) fn seal(&self) -> Option<Seal> {
        split_seal(self.last.as_bytes()).map(|(_, seal)| seal)
    }
}

/// What stands after the last whole line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// The number of the line in the file, from 1.
    pub line: u64,
    /// The bytes, as they are.
    pub bytes: Vec<u8>,
}

/// What a file without any line of a journal looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Looks {
    /// An editor saved it as UTF-16.
    Utf16,
    /// It holds nothing but zeros.
    Zeros,
    /// Anything else.
    Foreign,
}

impl Looks {
    fn of(bytes: &[u8]) -> Self {
        let zeros = bytes.split(|byte| *byte == 0).count().saturating_sub(1);
        let is_marked = bytes.starts_with(b"\xff\xfe") || bytes.starts_with(b"\xfe\xff");
        // Lines of plain letters have a zero in every second byte then.
        let is_wide = 2 * zeros >= bytes.len().saturating_sub(bytes.len() / 8);
        if zeros == bytes.len() {
            Self::Zeros
        } else if is_marked || is_wide {
            Self::Utf16
        } else {
            Self::Foreign
        }
    }
}

impl fmt::Display for Looks {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Utf16 => "it looks as if an editor had saved it as UTF-16",
            Self::Zeros => "it holds nothing but zeros, as a pulled plug can leave them",
            Self::Foreign => "what stands there was not written by this program",
        })
    }
}

/// What a page says of a journal that is not sound.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Damage {
    /// The disk does not hand it out: why, in words.
    Unread(String),
    /// Not one line of it can be read.
    NoLine(Looks),
    /// At so many places lines are missing or broken.
    Places(usize),
    /// It ends before lines that were noted of it.
    Short {
        /// The count of its last line.
        has: u64,
        /// What was noted.
        noted: Noted,
    },
    /// Where a line was noted of it stands another one.
    Another {
        /// What was noted.
        noted: Noted,
    },
    /// It was noted, and neither it nor its folder is there.
    Gone {
        /// What was noted.
        noted: Noted,
    },
    /// Its end is torn: what stands after the last whole line is no line.
    Torn,
}

/// With how many lines a journal was noted in another one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Noted {
    /// The count of its last line then.
    pub lines: u64,
    /// On which day.
    pub on: NaiveDate,
}

impl Damage {
    /// Returns whether nothing of the journal can be read.
    pub fn hides_all(&self) -> bool {
        matches!(self, Self::Unread(_) | Self::NoLine(_))
    }

    /// Returns the damage with more broken lines, as far as there are any.
    pub fn with(damage: Option<Self>, broken: usize) -> Option<Self> {
        match damage {
            Some(Self::Places(places)) => Some(Self::Places(places.saturating_add(broken))),
            None | Some(Self::Torn) if 0 < broken => Some(Self::Places(broken)),
            other => other,
        }
    }
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unread(why) => write!(
                f,
                "its book cannot be read, so nothing of it is shown and nothing kept: {why}"
            ),
            Self::NoLine(looks) => write!(
                f,
                "no line of its book can be read, so nothing of it is shown: {looks}; bring back a copy"
            ),
            Self::Places(places) => write!(
                f,
                "lines of its book are missing or broken at {}: `knuckle audit` tells where",
                counted(*places, "place")
            ),
            Self::Short { has, noted } => write!(
                f,
                "its book has {}, and had {} on {}: what came after is gone; bring back a copy, or enter it anew",
                counted(*has, "line"),
                noted.lines,
                noted.on.format("%-d %b %Y")
            ),
            Self::Another { noted } => write!(
                f,
                "line {} of its book is not the one that stood there on {}: lines were lost and others written in their place, or it is another book; bring back a copy",
                noted.lines,
                noted.on.format("%-d %b %Y")
            ),
            Self::Gone { noted } => write!(
                f,
                "its book is gone, and had {} on {}: bring back a copy, if it was not taken out of the shop",
                counted(noted.lines, "line"),
                noted.on.format("%-d %b %Y")
            ),
            Self::Torn => write!(
                f,
                "the end of its book is torn: what stands after the last whole line is no line; the next act sets it aside, `knuckle audit` tells more"
            ),
        }
    }
}

/// One thing in a journal that does not fit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// The number of the line in the file, from 1.
    pub line: u64,
    /// What does not fit there.
    pub kind: FlawKind,
}

/// What can be wrong with a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FlawKind {
    /// The line is no line of a journal; it is left out of the reading.
    Unreadable,
    /// The line was changed after it was kept, or the line before it was changed or removed.
    Seal,
    /// Lines are missing before this one.
    Gap {
        /// The count of the first missing line.
        from: u64,
        /// The count of the last missing line.
        to: u64,
    },
    /// The line has a count that has been before.
    OutOfOrder {
        /// The count that was due.
        due: u64,
        /// The count in the line.
        found: u64,
    },
    /// The line was written down earlier than lines before it, by more than [`OUT_OF_STEP`]: a
    /// clock was set back.
    TimeBack {
        /// By how much.
        by: TimeDelta,
    },
    /// The last line has lost its line end, but is whole.
    LineEnd,
    /// The file holds bytes, but not one line of a journal.
    NoLine {
        /// What it looks like.
        looks: Looks,
    },
    /// The end of the journal is torn.
    Torn {
        /// How many bytes stand after the last whole line.
        bytes: u64,
    },
}

impl Flaw {
    /// Returns whether the line itself is sound and only a clock was set back.
    pub fn is_only_a_clock(&self) -> bool {
        matches!(self.kind, FlawKind::TimeBack { .. })
    }
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.kind)
    }
}

impl fmt::Display for FlawKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable => write!(f, "cannot be read as a line of a journal"),
            Self::Seal => write!(
                f,
                "the seal does not fit: this line was changed, or the one before it was changed or removed"
            ),
            Self::Gap { from, to } if from == to => write!(f, "line n={from} is missing before it"),
            Self::Gap { from, to } => write!(f, "lines n={from} to n={to} are missing before it"),
            Self::OutOfOrder { due, found } => {
                write!(f, "n={found} stands where n={due} was due")
            }
            Self::TimeBack { by } => write!(
                f,
                "written {} before the line above it: a clock was set back",
                so_long(*by)
            ),
            Self::LineEnd => write!(f, "the line end is missing; the line itself is whole"),
            Self::NoLine { looks } => write!(f, "no line of it can be read: {looks}"),
            Self::Torn { bytes } => write!(
                f,
                "the end is torn: {bytes} bytes after the last whole line; the next act sets them aside"
            ),
        }
    }
}

/// A span in the largest unit that it fills twice.
fn so_long(span: TimeDelta) -> String {
    if 2 <= span.num_days() {
        return counted(span.num_days(), "day");
    }
    match (span.num_hours(), span.num_minutes()) {
        (2.., _) => counted(span.num_hours(), "hour"),
        (_, 2..) => counted(span.num_minutes(), "minute"),
        _ => format!("{} s", span.num_seconds()),
    }
}

impl Reading {
    /// Returns every flaw, the torn end and a lost line end among them.
    pub fn all_flaws(&self) -> Vec<Flaw> {
        let mut flaws = self.flaws.clone();
        if let Some(looks) = self.strange {
            flaws.push(Flaw {
                line: 1,
                kind: FlawKind::NoLine { looks },
            });
        }
        if self.end.unended {
            flaws.push(Flaw {
                line: self.end.lines,
                kind: FlawKind::LineEnd,
            });
        }
        if let Some(torn) = &self.torn {
            flaws.push(Flaw {
                line: torn.line,
                kind: FlawKind::Torn {
                    bytes: torn.bytes.len() as u64,
                },
            });
        }
        flaws
    }

    /// Returns what a page has to say of it; a clock set back is no damage.
    pub fn damage(&self) -> Option<Damage> {
        let broken = self.flaws.iter().filter(|flaw| !flaw.is_only_a_clock());
        let torn = self.torn.as_ref().map(|_| Damage::Torn);
        let strange = self.strange.map(Damage::NoLine);
        strange.or_else(|| Damage::with(torn, broken.count()))
    }
}

/// Reads `bytes`, which stand in the journal right after `from`.
pub(super) fn scan(bytes: &[u8], from: &Mark) -> Reading {
    let mut scan = Scan::after(from);
    // The torn end is known only when no readable line comes after it.
    let mut doubtful: Vec<Flaw> = Vec::new();
    let mut read_to = from.len;
    let mut at_line = from.lines;
    let mut unread = bytes;
    for piece in bytes.split_inclusive(|byte| *byte == b'\n') {
        at_line += 1;
        read_to += piece.len() as u64;
        let (line, ended) = match piece.strip_suffix(b"\n") {
            Some(line) => (line, true),
            None => (piece, false),
        };
        let text = std::str::from_utf8(line).ok();
        let Some(read) = text.and_then(|text| scan.read(text, ended)) else {
            doubtful.push(Flaw {
                line: at_line,
                kind: FlawKind::Unreadable,
            });
            scan.pass_over(line);
            continue;
        };
        scan.reading.flaws.append(&mut doubtful);
        scan.keep(read, at_line);
        scan.reading.end.len = read_to;
        scan.reading.end.lines = at_line;
        scan.reading.end.unended = !ended;
        unread = tail(bytes, read_to - from.len);
    }
    let holds_a_line = 0 < scan.reading.end.len;
    if !doubtful.is_empty() && !holds_a_line && !begins_like_a_line(unread) {
        scan.reading.strange = Some(Looks::of(unread));
    } else if let Some(first) = doubtful.first() {
        scan.reading.torn = Some(Torn {
            line: first.line,
            bytes: unread.to_vec(),
        });
    }
    scan.reading
}

/// Whether bytes may be what is left of a first line that was being written.
fn begins_like_a_line(bytes: &[u8]) -> bool {
    const OPENS: &[u8] = b"{\"n\":1,";
    let begins = bytes.starts_with(OPENS) || OPENS.starts_with(bytes);
    begins && !bytes.contains(&b'\n')
}

/// As [`scan`], after a last line that may get its lost line end only now.
pub(super) fn scan_on(bytes: &[u8], from: &Mark) -> Reading {
    match bytes.strip_prefix(b"\n") {
        Some(rest) if from.unended => {
            let mut ended = from.clone();
            ended.unended = false;
            ended.len += 1;
            scan(rest, &ended)
        }
        _ => scan(bytes, from),
    }
}

/// Returns when the first of some lines was written down, if it can be read.
pub(super) fn first_written(bytes: &[u8]) -> Option<DateTime<FixedOffset>> {
    let line = bytes.split(|byte| *byte == b'\n').next()?;
    kept(std::str::from_utf8(line).ok()?).map(|line| line.written())
}

/// Returns a line as it stands there, its seal unjudged.
fn kept(text: &str) -> Option<Kept> {
    parts(text).map(|parts| Kept {
        n: parts.n,
        at: parts.at,
        text: text.to_owned(),
    })
}

/// Returns `bytes` from `offset` on.
pub(super) fn tail(bytes: &[u8], offset: u64) -> &[u8] {
    usize::try_from(offset)
        .ok()
        .and_then(|offset| bytes.get(offset..))
        .unwrap_or_default()
}

/// To what the seal of the next line may be tied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Tie {
    /// This seal, or nothing before the first line.
    To(Option<Seal>),
    /// After a line whose own seal did not fit: the seal that stands there, or the one that
    /// should. So one changed byte is one flaw and does not accuse the line after it.
    Either(Seal, Seal),
    /// The line before has no seal that can be read; nothing can be compared.
    Unknown,
}

#[derive(Debug)]
struct Scan {
    reading: Reading,
    tie: Tie,
    written: Option<DateTime<FixedOffset>>,
    /// The count due by the count in the line before. Under a broken seal it proves little.
    due_by_count: u64,
    /// The count due by the place in the file, since the last line that could be trusted.
    due_by_place: u64,
}

#[derive(Debug)]
struct Read {
    kept: Kept,
    fits: bool,
    tie: Tie,
}

impl Scan {
    fn after(from: &Mark) -> Self {
        let tie = match from.seal() {
            None if from.n > 0 => Tie::Unknown,
            seal => Tie::To(seal),
        };
        Self {
            reading: Reading {
                lines: Vec::new(),
                flaws: Vec::new(),
                torn: None,
                strange: None,
                end: from.clone(),
            },
            tie,
            written: kept(&from.last).map(|last| last.written()),
            due_by_count: from.n.saturating_add(1),
            due_by_place: from.n.saturating_add(1),
        }
    }

    /// Reads one line; `None` when it is no line of a journal, or the end of one is missing.
    fn read(&self, text: &str, ended: bool) -> Option<Read> {
        let parts = parts(text)?;
        let (fits, tie) = self.compare(parts.sealed);
        let sure = fits && parts.sealed.is_some() && self.tie != Tie::Unknown;
        let whole = sure || (ended && is_whole(text));
        if !whole {
            return None;
        }
        let kept = Kept {
            n: parts.n,
            at: parts.at,
            text: text.to_owned(),
        };
        Some(Read { kept, fits, tie })
    }

    /// Returns whether a seal fits, and to what the line after it may be tied.
    fn compare(&self, sealed: Option<(&[u8], Seal)>) -> (bool, Tie) {
        let Some((body, seal)) = sealed else {
            return (false, Tie::Unknown);
        };
        let fits_to = |previous| Seal::over(previous, body) == seal;
        let fits = match self.tie {
            Tie::To(previous) => fits_to(previous),
            Tie::Either(stands, due) => fits_to(Some(stands)) || fits_to(Some(due)),
            Tie::Unknown => true,
        };
        let tie = match self.tie {
            _ if fits => Tie::To(Some(seal)),
            Tie::To(previous) => Tie::Either(seal, Seal::over(previous, body)),
            Tie::Either(stands, _) => Tie::Either(seal, Seal::over(Some(stands), body)),
            Tie::Unknown => Tie::Unknown,
        };
        (fits, tie)
    }

    /// Leaves an unreadable line out, but keeps what can still be known of its seal and count.
    fn pass_over(&mut self, line: &[u8]) {
        (_, self.tie) = self.compare(split_seal(line));
        self.due_by_place = self.due_by_place.saturating_add(1);
    }

    /// Takes a line in and notes what does not fit.
    fn keep(&mut self, read: Read, line: u64) {
        let Read { kept, fits, tie } = read;
        let mut note = |kind| self.reading.flaws.push(Flaw { line, kind });
        if !fits {
            note(FlawKind::Seal);
        }
        let due = self.due_by_place;
        if kept.n != due && kept.n != self.due_by_count {
            note(if kept.n < due {
                FlawKind::OutOfOrder { due, found: kept.n }
            } else {
                let to = kept.n.saturating_sub(1);
                FlawKind::Gap { from: due, to }
            });
        }
        let written = kept.written();
        let back = self.written.map(|latest| latest - written);
        match back.filter(|by| OUT_OF_STEP < *by) {
            Some(by) => {
                note(FlawKind::TimeBack { by });
                self.written = Some(written);
            }
            None => self.written = self.written.max(Some(written)),
        }
        // A count is never given out twice, for corrections point at it. So where the seal is
        // broken the higher of the two goes on.
        self.reading.end.n = if fits { kept.n } else { kept.n.max(due) };
        self.due_by_count = kept.n.saturating_add(1);
        self.due_by_place = if fits { kept.n } else { due }.saturating_add(1);
        self.reading.end.last.clone_from(&kept.text);
        self.tie = tie;
        self.reading.lines.push(kept);
    }
}
