//! Deeds around gates: vouched for, overruled, deviated, answered, signed.

use serde::{Deserialize, Serialize};

use super::Work;
use crate::card::GateKind;

/// A hand vouched for a gate that only a hand can judge.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct GateSaid {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id; empty for the operation as a whole.
    pub step: String,
    /// Which gate.
    pub gate: GateKind,
    /// What was looked at, in full.
    pub said: String,
}

/// A gate was passed against its verdict.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Overruled {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id; empty for the operation as a whole.
    pub step: String,
    /// Which gate.
    pub gate: GateKind,
    /// What the gate said.
    pub verdict: String,
    /// Why it was passed all the same.
    pub why: String,
    /// The second person; absent for a soft gate, which takes a reason alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second: Option<String>,
}

/// Kinds of deviation that the program itself sees.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DeviationKind {
    /// A pour was off the ratio.
    WeightOff,
    /// A clock ran out before the act was done.
    TooLate,
    /// A step was done before its wait was over.
    TooEarly,
    /// Coat, size or leaf missed its window.
    WindowMissed,
    /// A reading lay outside its usual range.
    Reading,
    /// In the worker's words.
    Other,
}

/// Something was done otherwise than planned or allowed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Deviated {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// What kind.
    pub kind: DeviationKind,
    /// What, in one line.
    pub what: String,
}

/// A deviation, overrule or question was answered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answered {
    /// The line it answers.
    pub line: u64,
    /// Accepted, or not.
    pub accepted: bool,
    /// The answer, in words; a refusal needs them.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
}

/// What was refused at a hold point was put right, and is shown once more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShownAgain {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// What was put right.
    pub said: String,
}

/// What was refused in a line (a deviation, an overruled gate) was put right: it waits for its
/// answer once more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PutRight {
    /// The line that was refused.
    pub line: u64,
    /// What was put right.
    pub said: String,
}

/// A hold point was signed or refused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signed {
    /// Where.
    #[serde(flatten)]
    pub work: Work,
    /// Step id.
    pub step: String,
    /// What was accepted, in full.
    pub said: String,
    /// Accepted, or not.
    pub accepted: bool,
    /// Why not, or a remark.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
}
