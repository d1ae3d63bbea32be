//! All figures at a glance, and what could be begun on one of them.

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::{ClockView, House};
use crate::deed::Work;

/// One figure among all.
#[derive(Debug, Clone, PartialEq)]
pub struct FloorRow {
    /// Figure id.
    pub figure: String,
    /// Name.
    pub name: String,
    /// Room name.
    pub room: String,
    /// The job worked on last that is still open, and the step in front in words.
    pub doing: Option<(Work, String)>,
    /// What it waits for, one line; empty when hands may go on.
    pub waits_for: String,
    /// Since when.
    pub since: Option<DateTime<FixedOffset>>,
    /// The clock of this figure that matters next.
    pub next: Option<ClockView>,
    /// Matters without an answer.
    pub unanswered: usize,
    /// Hold points waiting for a signature.
    pub holds: usize,
    /// Stops of the route finished, and all of them.
    pub route: (usize, usize),
    /// Promised date.
    pub promised: Option<NaiveDate>,
}

/// A hold point that waits for a signature.
#[derive(Debug, Clone, PartialEq)]
pub struct HoldWaiting {
    /// Figure id.
    pub figure: String,
    /// The job.
    pub work: Work,
    /// Step id.
    pub step: String,
    /// What is accepted.
    pub sign: String,
    /// Who may sign.
    pub may_sign: Vec<String>,
}

/// An operation on a target, as the bench lists it.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// Operation, target and the round it would be.
    pub work: Work,
    /// Title of the operation.
    pub title: String,
    /// Where it stands.
    pub stage: Stage,
}

/// Where an offered operation stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Being walked: go on here.
    Open,
    /// Next on the route.
    Next,
    /// Later on the route.
    Later,
    /// Walked to its end.
    Done,
}

/// Returns every figure of the shop, the one that needs a hand first first.
pub fn floor(_house: House<'_>, _now: DateTime<FixedOffset>) -> Vec<FloorRow> {
    Vec::new()
}

/// Returns every hold point that waits for a signature.
pub fn holds(_house: House<'_>, _now: DateTime<FixedOffset>) -> Vec<HoldWaiting> {
    Vec::new()
}

/// Returns what could be worked on at a figure, open jobs first, then the route in order.
pub fn offers(_house: House<'_>, _figure: &str) -> Vec<Offer> {
    Vec::new()
}
