//! How an alarm is heard and seen. The screen writes the bell and paints the pulse; here it
//! is only said which. Pure.

use std::time::Duration;

use super::ring::{Quiet, Ring};
use super::words::Urgency;

/// The screen is to strike the bell of the terminal, once for all that rings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bell {
    /// The most urgent of what rings.
    pub urgency: Urgency,
    /// How many strokes, 0 to 3; 0 in quiet work.
    pub strokes: u8,
    /// How the visible form goes, with the sound or without.
    pub pulse: Pulse,
}

/// How the visible form of an alarm goes. It is always there; only its beat differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pulse {
    /// It stands.
    Steady,
    /// It swells and fades, 0.5 times a second.
    Slow,
    /// It flashes, twice a second.
    Quick,
}

impl Pulse {
    /// Returns how long light and dark last each; `None` for a form that stands.
    ///
    /// Middle alarms flash at 0.4 to 0.8 Hz and high ones at 1.4 to 2.8 Hz (IEC 60601-1-8,
    /// *from memory*); more than three flashes a second can hurt (WCAG 2.2, SC 2.3.1).
    pub fn half(self) -> Option<Duration> {
        match self {
            Self::Steady => None,
            Self::Slow => Some(Duration::from_secs(1)),
            Self::Quick => Some(Duration::from_millis(250)),
        }
    }
}

/// Returns how the visible form of an alarm goes.
pub fn pulse(urgency: Urgency, quiet: Quiet) -> Pulse {
    match (quiet, urgency) {
        (Quiet::On, _) | (Quiet::Off, Urgency::Middle) => Pulse::Slow,
        (Quiet::Off, Urgency::Low) => Pulse::Steady,
        (Quiet::Off, Urgency::High) => Pulse::Quick,
    }
}

/// Returns the bell for what [`super::due`] gave: one for all of it, none for nothing.
pub fn bell(rings: &[Ring]) -> Option<Bell> {
    let urgency = rings.iter().map(|ring| ring.urgency).max()?;
    let quiet = rings.iter().map(|ring| ring.quiet).max()?;
    let strokes = match (quiet, urgency) {
        (Quiet::On, _) => 0,
        (Quiet::Off, Urgency::Low) => 1,
        (Quiet::Off, Urgency::Middle) => 2,
        (Quiet::Off, Urgency::High) => 3,
    };
    Some(Bell {
        urgency,
        strokes,
        pulse: pulse(urgency, quiet),
    })
}
