//! Deeds of a batch: planned, poured, mixed, thrown away.

use serde::{Deserialize, Serialize};

use super::{ClockStart, Work};
use crate::card::ClockName;

/// A batch was planned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Planned {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// Material id.
    pub material: String,
    /// Lot of part A and of part B.
    pub lots: [String; 2],
    /// Grams of A asked for in each cup.
    pub a_g: f64,
    /// Grams of B asked for in each cup.
    pub b_g: f64,
    /// How many cups.
    pub cups: u32,
    /// How the grams came about, one line.
    pub because: String,
}

/// Which part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pouring {
    /// Part A.
    Resin,
    /// Part B.
    Hardener,
}

/// One part was weighed into the cup.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Poured {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// Which part.
    pub part: Pouring,
    /// Grams asked for.
    pub asked_g: f64,
    /// Grams on the balance for this pour; a second pour of the same part adds to the first.
    pub got_g: f64,
    /// The cup's clock, where this pour is first contact: it runs, pressed or not, until the
    /// press takes its place.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub starts: Vec<ClockStart>,
}

/// Resin and hardener met: the second that counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mixed {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// Material id.
    pub material: String,
    /// Lot of part A and of part B.
    pub lots: [String; 2],
    /// Grams of A in the cup.
    pub a_g: f64,
    /// Grams of B in the cup.
    pub b_g: f64,
    /// Hardener against the ratio, percent; positive is too much.
    pub off_percent: f64,
    /// Temperature of the resin, °C, if read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resin_c: Option<f64>,
    /// The clocks that one mix starts.
    pub starts: Vec<ClockStart>,
}

/// A cup was thrown away.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Discarded {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// Why.
    pub why: String,
    /// The clock that starts where both parts have met: mixed resin goes on heating itself.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub starts: Vec<ClockStart>,
    /// Of a cup that was mixed already: the clocks of its mix that end with it. Its mixing comes
    /// to the front again, with all that was done since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ends: Vec<ClockName>,
}
