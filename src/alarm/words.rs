//! The words of an alarm: what rings, how urgent it is, and what a person does about it.
//! Pure. Every clock has words at every mark, so that nothing can ring without an action.

use crate::card::ClockName;
use crate::deed::Use;
use crate::report::clock_itself;
use crate::standing::{ClockState, ClockView};

/// How urgent an alarm is. Three only, and the highest rare (ANSI/ISA-18.2, *from memory*).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// Worth knowing; nothing is lost by the minute.
    Low,
    /// Soon.
    Middle,
    /// Now.
    High,
}

impl Urgency {
    /// Returns the mark that tells this urgency without any colour.
    pub fn mark(self) -> &'static str {
        match self {
            Self::Low => "*",
            Self::Middle => "**",
            Self::High => "***",
        }
    }

    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Low => "when you can",
            Self::Middle => "soon",
            Self::High => "now",
        }
    }
}

/// What a reached mark means for the hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sense {
    /// Part of the time to do something is gone: percent.
    Going(u32),
    /// A window has opened.
    Opened,
    /// Most of a window is gone: percent.
    Closing(u32),
    /// The time to do something is over.
    Over,
    /// It may be over, and may not have come.
    Unsure,
    /// What was waited for has come.
    Come,
    /// A wait whose end cannot be reckoned. Its clock shows as over, but nothing has come.
    Unknown,
}

fn sense(view: &ClockView, mark: u32) -> Sense {
    match view.side {
        Use::Window if view.state == ClockState::Unsure => Sense::Unsure,
        Use::DoBefore if mark < 100 => Sense::Going(mark),
        Use::WaitUntil | Use::Window if view.opens.is_none() => Sense::Unknown,
        Use::WaitUntil => Sense::Come,
        Use::Window if mark == 0 => Sense::Opened,
        Use::Window if mark < 100 => Sense::Closing(mark),
        Use::DoBefore | Use::Window => Sense::Over,
    }
}

/// Returns how urgent a clock is at a mark, percent.
///
/// A recoat window that closed is not of the highest: sanding mends it at any time.
pub fn urgency(view: &ClockView, mark: u32) -> Urgency {
    match sense(view, mark) {
        Sense::Over if view.clock != ClockName::Recoat => Urgency::High,
        Sense::Over | Sense::Unsure | Sense::Going(75..) | Sense::Closing(_) | Sense::Unknown => {
            Urgency::Middle
        }
        Sense::Going(_) | Sense::Opened | Sense::Come => Urgency::Low,
    }
}

/// Returns the headline and the action of a clock at a mark, percent: the same words on the
/// screen, at the bell and on the desktop.
pub fn words(view: &ClockView, mark: u32) -> (String, &'static str) {
    let mut headline = short(view, mark);
    if !view.about.is_empty() {
        headline = format!("{headline} ({})", view.about);
    }
    (headline, action(view, mark))
}

/// Returns the headline without what the clock is about, for letters seen from afar.
pub fn short(view: &ClockView, mark: u32) -> String {
    let name = clock_itself(view.clock);
    match sense(view, mark) {
        Sense::Going(mark) => format!("{name}: {mark} % of the time gone"),
        Sense::Opened => format!("{name}: the window is open"),
        Sense::Closing(mark) => format!("{name}: {mark} % of the window gone"),
        Sense::Over => format!("{name}: time is over"),
        Sense::Unsure => format!("{name}: may be dead, may not be ready"),
        Sense::Come => format!("{name}: the time has come"),
        Sense::Unknown => format!("{name}: the time cannot be reckoned"),
    }
}

fn action(view: &ClockView, mark: u32) -> &'static str {
    match sense(view, mark) {
        Sense::Going(mark) => going(view.clock, mark),
        Sense::Opened => opened(view.clock),
        Sense::Closing(_) => closing(view.clock),
        Sense::Over => over(view.clock),
        Sense::Unsure => "nothing is sure here: try chip and knuckle, lay leaf where they say so",
        Sense::Come => come(view.clock),
        Sense::Unknown => unknown(view.clock),
    }
}

fn going(clock: ClockName, mark: u32) -> &'static str {
    let [half, late, last] = match clock {
        ClockName::Cup => [
            "go on, and put the rest of the cup to use first",
            "use the cup up; begin nothing new with it",
            "last strokes: make ready to take the cup outside",
        ],
        ClockName::Closing => [
            "finish wetting out, clamps to hand",
            "bring the halves together",
            "close the joint, the last minutes run",
        ],
        ClockName::Glove => [
            "lay fresh gloves ready",
            "plan the change: no new work in this pair",
            "finish this move, then change gloves",
        ],
        ClockName::Cartridge => [
            "see that fresh cartridges are at hand",
            "lay fresh cartridges ready outside the vapour",
            "finish this move, leave the vapour, change cartridges",
        ],
        _ => [
            "look at the work; half of its time is gone",
            "finish this work soon",
            "finish this work, the last of its time runs",
        ],
    };
    match mark {
        ..75 => half,
        75..90 => late,
        _ => last,
    }
}

fn opened(clock: ClockName) -> &'static str {
    match clock {
        ClockName::TackEdge | ClockName::TackFlat | ClockName::TackHollow => {
            "test edge, flat, hollow"
        }
        ClockName::Dwell => "try one small patch with the scraper",
        ClockName::Recoat => "sand a hidden spot: if it powders, the next coat may go on",
        _ => "test the work: the clock alone does not say that it is ready",
    }
}

fn closing(clock: ClockName) -> &'static str {
    match clock {
        ClockName::TackEdge | ClockName::TackFlat | ClockName::TackHollow => {
            "test again, lay the rest of the leaf here first"
        }
        ClockName::Dwell => "lift the stripper now, before it dries or bites",
        ClockName::Recoat => "coat now, or sand before the next coat",
        _ => "finish here, the window closes",
    }
}

fn over(clock: ClockName) -> &'static str {
    match clock {
        ClockName::Cup => "stop using the cup, take it outside",
        ClockName::Closing => {
            "close it while the film is wet; if it is not, open it, clean it, glue anew"
        }
        ClockName::Glove => "change gloves now",
        ClockName::Cartridge => "leave the vapour now, change cartridges",
        ClockName::TackEdge | ClockName::TackFlat | ClockName::TackHollow => {
            "lay no more leaf here; test, and size again what is dead"
        }
        ClockName::Dwell => "lift the stripper now and neutralise as its sheet says",
        ClockName::Recoat => "sand to a key before the next coat",
        _ => "stop here and look at the work",
    }
}

fn come(clock: ClockName) -> &'static str {
    match clock {
        ClockName::Clamps => "clamps may come off: nail test first",
        ClockName::Load => "nail test, then it may be sanded, loaded, coated",
        ClockName::FullCure => "test a hidden spot, then it may go into use",
        ClockName::Leftover => {
            "feel the cup from outside: warm stays outdoors, cold may go to its waste bin"
        }
        ClockName::Purge => "see that every source is covered, only then masks off",
        ClockName::Drying => "take readings: only readings end this wait",
        ClockName::Recoat => "sand a hidden spot: if it powders, the next coat may go on",
        ClockName::LeafSet => "touch a hidden spot; if it holds, rub the leaf down",
        ClockName::Dust => "look along the surface in raking light, then the coat may go on",
        _ => "test the work: the clock alone does not say that it is ready",
    }
}

/// Nothing has come: whoever waits goes on waiting, and mends the reckoning.
fn unknown(clock: ClockName) -> &'static str {
    match clock {
        ClockName::Clamps => "leave the clamps on; read the air of this room",
        ClockName::Purge => "keep masks on; read the air of this room",
        ClockName::TackEdge | ClockName::TackFlat | ClockName::TackHollow => {
            "go by the test alone: edge, flat, hollow; read the air of this room"
        }
        _ => "go on waiting; read the air of this room",
    }
}
