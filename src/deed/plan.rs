//! Deeds about what lies ahead: what was picked of what was offered, and what was forecast.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

use super::Work;

/// Somebody picked what to do next.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Picked {
    /// Figure id.
    pub figure: String,
    /// The walk picked.
    #[serde(flatten)]
    pub work: Work,
    /// Its place among what was offered, from 1.
    pub place: u32,
    /// All that was offered, best first.
    pub offered: Vec<Offered>,
    /// Minutes that were at hand, if somebody said so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
}

/// Something that was offered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Offered {
    /// Figure id.
    pub figure: String,
    /// The walk.
    #[serde(flatten)]
    pub work: Work,
}

/// When the figures of the shop were forecast to be done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Forecasted {
    /// Figures.
    pub rows: Vec<Promise>,
}

/// When one figure was forecast to be done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Promise {
    /// Figure id.
    pub figure: String,
    /// Done by this day in nine of ten runs; absent when it is not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ninety: Option<NaiveDate>,
    /// Done by this day in half of the runs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fifty: Option<NaiveDate>,
    /// Days by which chance alone may move the late end; absent where it was not reckoned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub give_days: Option<u32>,
    /// Share of runs later than the promise, percent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub risk_percent: Option<u32>,
    /// What moves it most, or why it is never done.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub moved_by: Vec<String>,
}
