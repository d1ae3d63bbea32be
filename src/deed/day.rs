//! Deeds of the shop's own journal: the day, the air, the lots.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use crate::card::MaterialKind;

/// How far a book went when it was noted in another one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BookEnd {
    /// The count of its last line.
    pub n: u64,
    /// The seal of that line.
    pub seal: String,
}

/// The shop was opened for the day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DayOpened {
    /// Who is in, short names.
    pub present: Vec<String>,
    /// How many lines the book of each figure had, so that lines that are gone from its end are
    /// missed.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub books: BTreeMap<String, u64>,
    /// The seal of the last of them, so that another book in its place is seen.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub seals: BTreeMap<String, String>,
}

/// The closing round was walked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DayClosed {
    /// What was looked at and found in order.
    pub checked: Vec<String>,
    /// What was left open, in words; empty is the aim.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_open: Vec<String>,
    /// Who comes first tomorrow.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_in: Option<String>,
    /// As [`DayOpened::books`].
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub books: BTreeMap<String, u64>,
    /// As [`DayOpened::seals`].
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub seals: BTreeMap<String, String>,
}

/// The source of a reading of the air that a person took.
pub const HAND: &str = "hand";

/// Air of a room was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Air {
    /// Room id.
    pub room: String,
    /// Air temperature, °C.
    pub temp_c: f64,
    /// Relative humidity, %.
    pub humidity_percent: f64,
    /// `hand`, or the name of a sensor.
    pub source: String,
}

/// Extraction of a room was switched.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Fan {
    /// Room id.
    pub room: String,
    /// Whether it runs now.
    pub on: bool,
}

/// A lot was opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotOpened {
    /// Material id.
    pub material: String,
    /// What kind it is.
    pub kind: MaterialKind,
    /// Number on the tin.
    pub lot: String,
    /// `a` or `b` for two-part materials.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub part: String,
    /// Use by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires: Option<NaiveDate>,
    /// What it holds and what it cost, as far as somebody said so.
    #[serde(flatten)]
    pub pack: Pack,
}

/// What a tin holds when full, in the unit in which its material is counted, and what it cost.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Pack {
    /// Grams.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holds_g: Option<u32>,
    /// Millilitres.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holds_ml: Option<u32>,
    /// Leaves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holds_leaves: Option<u32>,
    /// Price of all of it, in the shop's money; of leaf that does not say what it holds, of
    /// one book.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
}

/// A lot was poured into a smaller jar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotDecanted {
    /// Material id.
    pub material: String,
    /// From this lot or jar.
    pub lot: String,
    /// Into this jar.
    pub into: String,
}

/// The supervisor lets a lot's own times replace its sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotTrusted {
    /// Material id.
    pub material: String,
    /// Lot; of two parts both, as `A + B`.
    pub lot: String,
}

/// Somebody read the sentence that this tool reminds and does not permit, and said so.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Acknowledged {
    /// The sentence in full: it proves what was shown.
    pub said: String,
}

/// The machine's clock was set, or the machine slept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClockJumped {
    /// Seconds by which the wall clock moved against the steady one; negative is back.
    pub by_s: f64,
    /// `set back`, `set forward` or `asleep`.
    pub how: String,
}
