//! Deeds of walking an operation.

use serde::{Deserialize, Serialize};

use super::{BookEnd, ClockStart};
use crate::card::{ClockName, Measure};

/// Where in the work something happened.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Work {
    /// Checklist id.
    pub operation: String,
    /// Zone, joint or panel; absent for the whole figure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target: Option<String>,
    /// 1 for the first walk, 2 for the first rework, and so on.
    pub round: u32,
}

/// Work on an operation began.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Begun {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// How far the shop's own book went then, so that lines that are gone from its end are missed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shop: Option<BookEnd>,
}

impl Begun {
    /// Returns the beginning of a walk; how far the shop's book goes is noted when it is kept.
    pub fn of(work: Work) -> Self {
        Self { work, shop: None }
    }
}

/// What kind of line was ticked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TickKind {
    /// A caution was read.
    Caution,
    /// A state was looked at.
    Confirm,
}

/// A caution or a check was ticked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ticked {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id; empty for the operation as a whole.
    pub step: String,
    /// Caution or check.
    pub kind: TickKind,
    /// The line that was ticked, in full: it proves what was shown.
    pub said: String,
}

/// A recorded value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Value {
    /// A reading in the measure's unit.
    Number(f64),
    /// A chosen word, a lot, a line of text.
    Text(String),
}

/// Something was taken down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Recorded {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// Record id.
    pub record: String,
    /// Place of the reading, such as `120 mm, 3 of 5` or `hollow`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub station: Option<String>,
    /// The measure of a reading.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measure: Option<Measure>,
    /// The value.
    pub value: Value,
    /// The value lay outside the usual range and was confirmed.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub asked_again: bool,
}

/// A coat was laid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoatLaid {
    /// Material id.
    pub material: String,
    /// Lot, if one was picked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<String>,
    /// Number of this coat in this operation, stripes counted.
    pub number: u32,
    /// How many are planned.
    pub of: u32,
    /// Whether it is a stripe coat on a wear zone.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub stripe: bool,
}

/// A step was done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Done {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// Clocks that start now.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub starts: Vec<ClockStart>,
    /// Clocks of this target that end now.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ends: Vec<ClockName>,
    /// The coat that this step laid.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coat: Option<CoatLaid>,
}

/// The readings of a step are taken anew: what was taken stays on record, the step asks again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reread {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
}

/// A step that was left half done was taken up again: checks ticked before it count no more
/// where their list was not whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Resumed {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id; empty for the operation as a whole.
    pub step: String,
}

/// A target went back to an earlier operation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SentBack {
    /// From where.
    #[serde(flatten)]
    pub work: Work,
    /// Step at which it turned.
    pub step: String,
    /// Checklist id it goes back to.
    pub back_to: String,
    /// Why.
    pub why: String,
}

/// An operation was walked to its end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finished {
    /// Which.
    #[serde(flatten)]
    pub work: Work,
}

/// The figure was moved to another room.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Moved {
    /// Room id.
    pub room: String,
}
