//! What the screen asks of the shop behind it. The screen itself never writes.

use chrono::NaiveDate;

use crate::deed::Line;
use crate::report::DayLine;
use crate::standing::{Book, House, Intent, Moment, Refusal};

/// The shop behind the screen.
pub trait Bench {
    /// Returns cards and standing as they are on disk.
    fn house(&self) -> House<'_>;

    /// Decides an intent, keeps its lines on disk and replays what was kept.
    ///
    /// # Errors
    /// [`Stop::Refused`] when it may not be: nothing was written. [`Stop::Fault`] when it
    /// could not be kept: writing stops, reading goes on.
    fn act(&mut self, intent: &Intent, moment: &Moment) -> Result<Vec<Kept>, Stop>;

    /// Takes in what other benches have kept since; says whether that was anything.
    ///
    /// # Errors
    /// [`Stop::Fault`] when the journals cannot be read.
    fn follow(&mut self) -> Result<bool, Stop>;

    /// Returns the lines of a day in words, over all journals, oldest first.
    fn day(&self, on: NaiveDate) -> Vec<DayLine>;
}

/// A line on disk.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// In which journal.
    pub book: Book,
    /// The line.
    pub line: Line,
}

/// Why nothing was kept.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Stop {
    /// Not now, and why.
    #[error(transparent)]
    Refused(#[from] Refusal),
    /// Disk, lock or seal.
    #[error("{0}")]
    Fault(Fault),
}

/// Writing has stopped: what, where, what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Fault {
    /// What went wrong.
    pub what: String,
    /// Where.
    pub place: String,
    /// What to do.
    pub remedy: String,
}
