//! Clocks recomputed from their line, their formula and the air log, whenever they are shown.

use chrono::{DateTime, FixedOffset};

use super::House;
use crate::card::ClockName;
use crate::deed::{Attended, Use, Work};

/// A clock as it stands at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockView {
    /// Line number and name, such as `812.cup`.
    pub id: String,
    /// Figure id.
    pub figure: String,
    /// The work it belongs to.
    pub work: Work,
    /// Which clock.
    pub clock: ClockName,
    /// What it is about.
    pub about: String,
    /// When it started.
    pub started: DateTime<FixedOffset>,
    /// Which side counts.
    pub side: Use,
    /// Who must be there.
    pub attended: Attended,
    /// When what is waited for has come, on the late side.
    pub opens: Option<DateTime<FixedOffset>>,
    /// When it is likely.
    pub likely: Option<DateTime<FixedOffset>>,
    /// When it must be finished, on the early side.
    pub closes: Option<DateTime<FixedOffset>>,
    /// Share of the time to the next deadline that has passed, 0 and up; 1 is the end.
    pub share: f64,
    /// Where it stands.
    pub state: ClockState,
    /// Why these times, one line.
    pub because: String,
    /// Alarm marks that have been reached and nobody has answered: percent, since when.
    pub ringing: Option<(u32, DateTime<FixedOffset>)>,
    /// The next mark to come: percent, when.
    pub next_mark: Option<(u32, DateTime<FixedOffset>)>,
}

/// Where a clock stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ClockState {
    /// A do-before clock past its early bound: over.
    Over,
    /// A do-before clock that still runs, or an open window.
    Running,
    /// A wait-until clock that has not come yet.
    Waiting,
    /// A wait-until clock that has come; a hand must still say so.
    Come,
    /// Frozen: the fan is off, the source uncovered.
    Frozen,
}

impl ClockView {
    /// Returns the moment that matters next: the closing of what runs, the opening of what
    /// is waited for.
    pub fn deadline(&self) -> Option<DateTime<FixedOffset>> {
        match self.state {
            ClockState::Over | ClockState::Running => self.closes,
            ClockState::Waiting | ClockState::Come | ClockState::Frozen => self.opens,
        }
    }
}

/// Returns every clock that no hand has ended, over all figures, what dies first first.
pub fn clock_views(_house: House<'_>, _now: DateTime<FixedOffset>) -> Vec<ClockView> {
    Vec::new()
}
