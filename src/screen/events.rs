//! What can happen to the screen, and what it is given: events, time, a bell.

use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use crossterm::event::{KeyEvent, MouseEvent};

use crate::alarm::Quiet;
use crate::plan::{Forecast, Prepared};
use crate::standing::ClockView;

use super::behind::Unread;
use super::dossier::Shown;
use super::look::Look;

/// Everything that can happen to the screen.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// A key.
    Key(KeyEvent),
    /// Mouse or touch.
    Mouse(MouseEvent),
    /// Text pasted into the terminal.
    Pasted(String),
    /// The terminal has another size.
    Resize,
    /// Something to show is due, or the wait was long enough.
    Due,
    /// Another bench has kept lines.
    Kept,
    /// A forecast that was begun is reckoned.
    Reckoned(Reckoned),
    /// A photograph that was begun is read.
    PhotoRead(PhotoRead),
    /// The terminal, or the system, wants the program to end.
    Quit,
}

/// A forecast, and which one it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoned {
    /// The number it was begun under.
    pub ticket: u64,
    /// What came out.
    pub forecast: Forecast,
}

/// Takes all that a forecast needs from a house as it stood; that too may take its time.
pub type Preparing = Box<dyn FnOnce() -> Prepared + Send>;

/// Who does the long sums of a forecast, so that no key waits for them.
pub trait Reckoner {
    /// Begins a forecast; returns it where it is done at once, else it comes as
    /// [`Event::Reckoned`].
    fn begin(&mut self, ticket: u64, preparing: Preparing) -> Option<Reckoned>;

    /// Waits for what was begun last and has not come yet.
    fn wait(&mut self) -> Option<Reckoned>;
}

/// A photograph that was read, and which one it is.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoRead {
    /// The number it was begun under.
    pub ticket: u64,
    /// Its pixels, or why it cannot be shown.
    pub shown: Shown,
}

/// Who reads photographs, so that no key and no alarm waits for a large one.
pub trait PhotoReader {
    /// Begins to read a photograph; returns it where that is done at once, else it comes as
    /// [`Event::PhotoRead`].
    fn begin(&mut self, ticket: u64, unread: Unread) -> Option<PhotoRead>;
}

/// Where events come from.
pub trait Source {
    /// Returns the next event; [`Event::Due`] when none came in this time. `None` waits for
    /// as long as it takes.
    fn next(&mut self, wait: Option<Duration>) -> Event;
}

/// Where the time comes from.
pub trait Dial {
    /// Returns the moment, and by how many seconds and how the machine's clock has jumped
    /// since the last look, if it has.
    fn look(&mut self) -> (DateTime<FixedOffset>, Option<(f64, String)>);

    /// Returns a moment as it is said here, with the offset that holds then.
    fn show(&self, moment: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
        moment
    }

    /// Returns how long to wait until a moment; `None` on a clock that never gets there.
    fn wait_for(&self, due: DateTime<FixedOffset>) -> Option<Duration>;
}

/// What hears the clocks after every look: bells and notices outside the screen.
pub trait Bell {
    /// Takes note of what rings now; returns when it wants to be asked again, if ever.
    fn hear(
        &mut self,
        clocks: &[ClockView],
        quiet: Quiet,
        now: DateTime<FixedOffset>,
    ) -> Option<DateTime<FixedOffset>>;

    /// Returns a word for the screen when alarms do not get beyond it.
    fn warning(&self) -> Option<&'static str> {
        None
    }
}

/// No bell at all.
#[derive(Debug, Clone, Copy, Default)]
pub struct Silent;

impl Bell for Silent {
    fn hear(
        &mut self,
        _clocks: &[ClockView],
        _quiet: Quiet,
        _now: DateTime<FixedOffset>,
    ) -> Option<DateTime<FixedOffset>> {
        None
    }
}

/// How the screen opens.
#[derive(Debug, Clone, Default)]
pub struct Opening {
    /// Who is at the bench, a person id; empty asks.
    pub by: String,
    /// The bench's name.
    pub bench: String,
    /// A figure to begin with.
    pub figure: Option<String>,
    /// In which colours.
    pub look: Look,
    /// A word for the head: a sped or fixed clock. Empty on an ordinary day.
    pub banner: String,
}
