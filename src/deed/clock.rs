//! Clocks in the journal. A clock is a line, a formula and the air log: the formula's
//! numbers are frozen here as the data sheet had them, so that an old journal replays alike
//! whatever becomes of the card.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use super::Work;
use crate::card::{ClockName, CureHours, PotLifePoint, RecoatHours, SizeClass};

/// A clock that starts with the deed it stands in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClockStart {
    /// Which clock.
    pub clock: ClockName,
    /// What it is about, for the screen: `J3, medium epoxy`.
    pub about: String,
    /// Its formula.
    #[serde(flatten)]
    pub rule: ClockRule,
}

/// The formula of a clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "rule", rename_all = "snake_case")]
pub enum ClockRule {
    /// Pot life of a cup: do before.
    PotLife {
        /// What the sheet prints.
        sheet: Vec<PotLifePoint>,
        /// Mass in the cup, grams.
        grams: f64,
        /// Temperature of the resin at mixing, °C.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        resin_c: Option<f64>,
    },
    /// A thin film that must be closed: minutes of a sheet, do before.
    Film {
        /// Minutes.
        sheet: CureHours,
    },
    /// Cure counted in equivalent hours: wait until.
    Cure {
        /// Hours.
        sheet: CureHours,
        /// The joint carries load in use: it is waited for twice as long. Lines of old have the
        /// doubled hours in their sheet.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        loaded: bool,
    },
    /// Size at a place: ready is waited for, dead comes before.
    Tack {
        /// Class.
        class: SizeClass,
        /// Where.
        place: Place,
        /// Hours to readiness of a flat place.
        ready: CureHours,
        /// Hours until a flat place takes no more leaf.
        dead: CureHours,
    },
    /// Recoat window: not before, and unsanded not after.
    Recoat {
        /// Hours.
        sheet: RecoatHours,
    },
    /// A span that no air moves: glove, cartridge, dwell, left-over cup.
    Span {
        /// Earliest, minutes.
        early_min: f64,
        /// Likely, minutes.
        likely_min: f64,
        /// Latest, minutes.
        late_min: f64,
        /// Which side counts.
        side: Use,
        /// Where the figures come from, one line.
        because: String,
    },
    /// Clearing of air, frozen while the fan is off: wait until.
    Purge {
        /// Room id.
        room: String,
        /// Air changes per hour with the fan on.
        changes_per_h: f64,
        /// Share of the vapour that may be left, 0 to 1.
        to_fraction: f64,
        /// Mixing factor.
        mixing: f64,
    },
}

/// The two uses of an estimate, and both at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Use {
    /// Must be finished before: the early bound counts.
    DoBefore,
    /// Must be waited for: the late bound counts.
    WaitUntil,
    /// Both: not before its opening, not after its closing.
    Window,
}

/// Who must be there while a clock runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Attended {
    /// Hands on the work.
    Hands,
    /// A person near.
    Watch,
    /// Nobody; nights count.
    Clock,
    /// Nobody, but weather decides.
    Air,
    /// Owner, laboratory.
    Other,
}

/// Places of a panel that come ready at different times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Sharp edges dry first.
    Edge,
    /// Flats.
    Flat,
    /// Hollows stay wet.
    Hollow,
}

/// A test word was said at a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tested {
    /// Where in the work.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// Place: `edge`, `flat`, `hollow`; empty for one place.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub place: String,
    /// The word.
    pub word: String,
}

/// The wall of a running cup was measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CupRead {
    /// The clock of the cup: line number and name, such as `812.cup`.
    pub clock: String,
    /// Temperature of its wall, °C.
    pub wall_c: f64,
}

/// A hand ended a clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClockEnded {
    /// The clock: line number and name, such as `812.cup`.
    pub clock: String,
    /// How: `used up`, `cold`, `tight`, `changed`, in the hand's words.
    pub how: String,
    /// The clock that follows at once: fresh gloves, a fresh cartridge.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub starts: Vec<ClockStart>,
}

/// An alarm of something that is waited for was put off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AlarmPutOff {
    /// The clock: line number and name.
    pub clock: String,
    /// The mark that rang, percent.
    pub mark_percent: u32,
    /// When it began to ring.
    pub rang_at: DateTime<FixedOffset>,
    /// When it rings again.
    pub until: DateTime<FixedOffset>,
}

/// An alarm was answered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AlarmAnswered {
    /// The clock: line number and name.
    pub clock: String,
    /// The mark that rang: 50, 75, 90 or 100 percent; 0 where a window opened.
    pub mark_percent: u32,
    /// When it began to ring.
    pub rang_at: DateTime<FixedOffset>,
    /// Seconds until it was answered.
    pub after_s: f64,
}
