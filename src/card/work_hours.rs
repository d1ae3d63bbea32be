//! What an operation usually takes: hours of hands and hours of waiting, for plans. A gate
//! never looks at them.

use serde::Deserialize;

/// What an operation usually takes.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkHours {
    /// Hours of hands when all goes well.
    pub early: f64,
    /// Hours of hands as a rule.
    pub likely: f64,
    /// Hours of hands when it goes slowly.
    pub late: f64,
    /// What the hours are for; a whole figure if absent.
    #[serde(default)]
    pub each: Each,
    /// Where the figures come from.
    pub source: String,
    /// Steps with hours of their own, besides.
    #[serde(default)]
    pub steps: Vec<StepHours>,
    /// Steps that wait for what no clock of the step tells.
    #[serde(default)]
    pub waits: Vec<StepWait>,
}

/// What hours are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Each {
    /// All zones, joints or panels of a large figure together; each has its share by area.
    #[default]
    Figure,
    /// One zone, joint or panel.
    Part,
    /// One coat on all zones of a large figure.
    Coat,
}

/// Hours of hands at one step: for the same as the hours of the operation.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepHours {
    /// Step id; a step between coats counts each time.
    pub step: String,
    /// Hours when all goes well.
    pub early: f64,
    /// Hours as a rule.
    pub likely: f64,
    /// Hours when it goes slowly.
    pub late: f64,
}

/// Hours of waiting before a step can be done.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepWait {
    /// Step id.
    pub step: String,
    /// Hours when all goes well.
    pub early: f64,
    /// Hours as a rule.
    pub likely: f64,
    /// Hours when it goes slowly.
    pub late: f64,
    /// Who or what it needs.
    pub needs: Needs,
}

/// What a wait needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Needs {
    /// A person near.
    Watch,
    /// Nobody; nights count.
    Clock,
    /// Nobody, but the air decides.
    Air,
    /// The owner, a laboratory.
    Other,
}
