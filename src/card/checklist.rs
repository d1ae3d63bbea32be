//! A checklist: one operation of the trade as ordered steps, with its gates and cautions.
//! It is a closed vocabulary; there is no expression language.

use serde::Deserialize;

use super::{ClockName, Mark, MaterialKind, Measure, Path, WorkHours};

/// One operation, step by step.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Checklist {
    /// Short name used in routes and journals, such as `mix-and-lay-up`.
    pub id: String,
    /// Place in the journey of a figure, 1 to 24; orders lists on the screen.
    pub order: u32,
    /// Title as a person says it.
    pub title: String,
    /// The mark a person needs for this work.
    pub trade: Mark,
    /// What one walk of the list is about.
    pub scope: Scope,
    /// Why the operation exists, one line.
    pub why: String,
    /// What it usually takes, for plans.
    #[serde(default)]
    pub hours: Option<WorkHours>,
    /// The paths on which it applies; empty means all but `leave`.
    #[serde(default)]
    pub paths: Vec<Path>,
    /// What the work gives to the room's air.
    #[serde(default)]
    pub emits: Vec<Effect>,
    /// What the work cannot bear from the room's air.
    #[serde(default)]
    pub suffers: Vec<Effect>,
    /// Whether the screen keeps quiet (no sound, slow pulse) while it is open.
    #[serde(default)]
    pub quiet: bool,
    /// How list and hand go together.
    #[serde(default)]
    pub manner: Manner,
    /// Nobody does it out of call: before the first step the bench asks who is near.
    #[serde(default)]
    pub lone_work: bool,
    /// Gates that must be open before the first step, and again at every step that cannot be
    /// undone: a mix, a coat, size, leaf.
    #[serde(default)]
    pub gates: Vec<GateAsk>,
    /// Cautions for the whole operation, ticked before the first step.
    #[serde(default)]
    pub cautions: Vec<Caution>,
    /// The steps in order.
    pub steps: Vec<Step>,
}

impl Checklist {
    /// Returns every gate of the list: those of the whole operation, then those of its steps.
    pub fn all_gates(&self) -> impl Iterator<Item = &GateAsk> {
        let of_steps = self.steps.iter().flat_map(|step| &step.gates);
        self.gates.iter().chain(of_steps)
    }

    /// Returns every step of the list, then those between two coats.
    pub fn all_steps(&self) -> impl Iterator<Item = &Step> {
        let coats = self.steps.iter().filter_map(|step| step.coats.as_ref());
        let between = coats.flat_map(|coats| &coats.between);
        self.steps.iter().chain(between)
    }

    /// Returns whether a step of this id rubs its place down.
    pub fn rubs(&self, id: &str) -> bool {
        self.all_steps().any(|step| step.rubs && step.id == id)
    }

    /// Returns whether a gate of this kind stands anywhere in the list.
    pub fn asks(&self, kind: GateKind) -> bool {
        self.all_gates().any(|ask| ask.gate == kind)
    }
}

/// How list and hand go together at the checks of a step (the two ways in which crews of
/// aircraft work through lists: Degani and Wiener, NASA CR-177549, 1990).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Manner {
    /// Each line is read, then done, then ticked, one after the other: for work that is rare,
    /// dangerous or cannot be undone. The bench shows one line at a time.
    #[default]
    ReadDo,
    /// The hand does the whole act as it knows it, then stops and goes through the list: for
    /// work of every day. The bench shows the act large and all lines of the list under it.
    DoConfirm,
}

/// What one walk of a checklist is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Scope {
    /// The whole figure.
    Figure,
    /// One zone of its surface.
    Zone,
    /// One joint.
    Joint,
    /// One panel of leaf.
    Panel,
}

/// What a job gives to, or cannot bear from, shared air (common practice).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Effect {
    /// Dry sanding, sweeping.
    Dust,
    /// Stripper or solvent vapour.
    Vapour,
    /// Fan, door traffic, moving air.
    Draught,
    /// Wash water, wet floor.
    Damp,
    /// Swings of temperature while something cures.
    Swing,
    /// Flame, hot air.
    Heat,
}

/// One action of a hand, and what must be ticked, read, mixed or waited for around it.
///
/// Order in which the bench asks: gates, cautions, confirm, record, mix, the act itself,
/// until, hold.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Step {
    /// Short name, unique in its checklist.
    pub id: String,
    /// The one action, imperative, short enough to read at two metres.
    #[serde(rename = "do")]
    pub act: String,
    /// Why, one line, for the apprentice.
    pub why: Option<String>,
    /// Gates that must be open before this step.
    pub gates: Vec<GateAsk>,
    /// Cautions of this step, ticked before it counts.
    pub cautions: Vec<Caution>,
    /// Things to look at and tick before it counts; each asks for a state, not "checked".
    pub confirm: Vec<String>,
    /// Readings, choices, lots, photographs, lines of text to take.
    pub record: Vec<Record>,
    /// A batch to mix.
    pub mix: Option<Mix>,
    /// Clocks that start when the step is done (for a mix: at first contact).
    pub starts: Vec<StartClock>,
    /// What must have come before the step can be done.
    pub until: Option<Until>,
    /// A coat laid so many times, with what comes between.
    pub coats: Option<Coats>,
    /// Where a recorded choice leads.
    #[serde(rename = "if")]
    pub branches: Vec<Branch>,
    /// The step is asked only when an earlier choice of the same walk says so.
    pub only_if: Option<Condition>,
    /// Nobody goes on without this signature.
    pub hold: Option<Hold>,
    /// Clocks that this step ends, by name, such as `closing` when the clamps are tight.
    pub ends: Vec<ClockName>,
    /// The place is rubbed down or scuffed all over: the next coat keys to it although the
    /// window of the coat below has closed.
    pub rubs: bool,
    /// What can go wrong here.
    pub goes_wrong: Vec<Fault>,
}

/// A caution, at most 90 characters, most important first.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// The line itself.
    pub say: String,
    /// 1 saves a life and never scrolls off.
    pub rank: u32,
    /// Where the line comes from.
    pub source: String,
    /// Shown only when the work uses this; always, if absent.
    #[serde(default)]
    pub when: When,
}

/// When a caution applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    /// On every walk.
    #[default]
    Always,
    /// Only where lead is not excluded by a test.
    Lead,
    /// Only with a caustic remover.
    Caustic,
    /// Only with imitation metal leaf.
    Metal,
    /// Only with methylene chloride.
    Dcm,
    /// Only with N-methylpyrrolidone.
    Nmp,
    /// Only with an acid remover.
    Acid,
    /// Only where epoxy is handled.
    Epoxy,
    /// Only when spraying: the walk's choice under the record [`LAID_BY`] says [`SPRAYED`].
    Spray,
}

/// The record of a walk whose choice says how a coat is laid.
pub const LAID_BY: &str = "laid-by";

/// The choice under [`LAID_BY`] that brings the cautions of spraying.
pub const SPRAYED: &str = "spray";

impl Caution {
    /// Returns whether the line was recalled and not read in a text.
    pub fn is_from_memory(&self) -> bool {
        self.source.contains("memory")
    }

    /// Returns the caution as it may be shown: a number from memory is no fact, and says so.
    #[must_use]
    pub fn as_shown(mut self) -> Self {
        if self.is_from_memory() && self.say.contains(|sign: char| sign.is_ascii_digit()) {
            self.say.push_str(" (preset: confirm on the data sheet)");
        }
        self
    }

    /// Returns whether the line is about what to do for somebody who is hurt, or about what
    /// hurts at once: the shop's emergency lines stand beside it.
    pub fn is_of_first_aid(&self) -> bool {
        const HURTS: [&str; 12] = [
            "burn", "blind", "eye", "doctor", "rinse", "swallow", "vomit", "killed", "kill",
            "dizzy", "wheeze", "skin",
        ];
        let say = self.say.to_lowercase();
        HURTS.iter().any(|word| say.contains(word))
    }
}

/// One thing to take down. Exactly one of `measure`, `choice`, `lot`, `photo`, `line` is set.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Record {
    /// Short name, unique in its checklist.
    pub id: String,
    /// What to ask for, a few words.
    pub ask: String,
    /// A reading of this kind.
    pub measure: Option<Measure>,
    /// Readings taken in a grid instead of once.
    pub grid: Option<Grid>,
    /// Named places instead of one reading: `[edge, flat, hollow]`, `[1, 2, 3, 4, 5]`.
    pub at: Vec<String>,
    /// Lowest and highest believable value, instead of the measure's own.
    pub plausible: Option<[f64; 2]>,
    /// Outside this the bench asks again, instead of the measure's own.
    pub ask_again: Option<[f64; 2]>,
    /// A choice among these words.
    pub choice: Vec<String>,
    /// The lot of a material of this kind, picked from the open lots.
    pub lot: Option<MaterialKind>,
    /// A photograph of this station.
    pub photo: Option<String>,
    /// A free line of text.
    pub line: bool,
    /// May be left out with "not done" or "not known" and a reason.
    pub optional: bool,
}

impl Record {
    /// Returns within what a reading can be believed, and outside what the bench asks again: its
    /// own ranges, else those of the measure.
    pub fn ranges(&self, measure: Measure) -> [[f64; 2]; 2] {
        [
            self.plausible.unwrap_or_else(|| measure.plausible()),
            self.ask_again.unwrap_or_else(|| measure.ask_again()),
        ]
    }
}

/// A grid of readings across and along a joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grid {
    /// Readings across, at equal spacing from edge to edge.
    pub across: u32,
    /// One row every so many millimetres along the joint, both ends included.
    pub every_mm: u32,
}

/// A batch by a material card.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mix {
    /// The kind of two-part material; the worker picks one of the shop's cards of it.
    pub of: MaterialKind,
    /// Where the amount comes from.
    pub need: Need,
}

/// Where the needed amount of a batch comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Need {
    /// The gap map recorded for the joint.
    Gap,
    /// The area of the zone.
    Area,
    /// What the worker says (a reading of mass recorded before).
    Said,
}

/// A clock to start.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StartClock {
    /// Which clock.
    pub clock: ClockName,
    /// The kind of material whose card gives the times; for a mix it is the batch's own.
    #[serde(default)]
    pub by: Option<MaterialKind>,
}

/// What must have come, and a hand that says so.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Until {
    /// This clock must have come ready (its late bound has passed).
    pub clock: Option<ClockName>,
    /// A scale of test words; the last word said at each place must be the ready one.
    pub words: Option<WordScale>,
    /// Places tested with the words; empty means one place.
    pub at: Vec<String>,
    /// What the hand confirms once it has come: "cup hard to the nail".
    pub hand: Option<String>,
    /// A gate that must have opened.
    pub gate: Option<GateKind>,
}

/// A closed scale of test words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WordScale {
    /// Oil size: wet, sticky, coming, ready, going, dead.
    Tack,
    /// Sanding: crumbs, powder.
    Powder,
    /// Thumb nail: soft, marks, hard.
    Nail,
    /// Cup: hot, warm, cold.
    Cup,
}

/// A coat laid several times.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coats {
    /// The kind of material laid.
    pub of: MaterialKind,
    /// How many full coats.
    pub count: u32,
    /// How many more on wear zones, laid as stripes before the full coats.
    #[serde(default)]
    pub wear_extra: u32,
    /// What is done between two coats, after the recoat window opened.
    #[serde(default)]
    pub between: Vec<Step>,
}

/// Where a recorded choice leads.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Branch {
    /// The record of this step or an earlier one.
    pub record: String,
    /// The word chosen.
    pub is: String,
    /// The operation the target goes back to (a rework loop).
    pub back_to: String,
    /// Why, one line, kept with the loop.
    pub why: String,
}

/// A condition on an earlier choice of the same walk.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Condition {
    /// The record.
    pub record: String,
    /// The word chosen.
    pub is: String,
}

/// A hold point.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hold {
    /// What is accepted by the signature.
    pub sign: String,
    /// Who may sign: a person with this mark, other than the worker.
    pub mark: Mark,
}

/// Something that goes wrong at a step.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    /// What is seen.
    pub sign: String,
    /// The likely cause.
    #[serde(default)]
    pub cause: String,
    /// What to do.
    #[serde(rename = "do")]
    pub remedy: String,
}

/// A gate as asked for by a checklist.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GateAsk {
    /// Which gate.
    pub gate: GateKind,
    /// Whether it stops (hard) or warns and takes a reason (soft); the gate's own if absent.
    #[serde(default)]
    pub hard: Option<bool>,
    /// The limit, in the gate's own unit, instead of its usual one.
    #[serde(default)]
    pub limit: Option<f64>,
    /// Lowest and highest value, for gates that have a range.
    #[serde(default)]
    pub range: Option<[f64; 2]>,
    /// How old the evidence may be, in hours, instead of the gate's own.
    #[serde(default)]
    pub hours: Option<f64>,
}

/// The gates. What each asks and its usual limits stand in `standing::gate`.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum GateKind {
    /// Photographs and survey of the zone before anything irreversible.
    Before,
    /// Lead status known, or treated as lead.
    Lead,
    /// Scheme and plan approved, with a version.
    Scheme,
    /// Extraction on, mask right, gloves right and fresh.
    AirAndGloves,
    /// Wood dry enough.
    Moisture,
    /// Stripper neutralised.
    Neutral,
    /// Wood, material and air in the temperature range.
    Temperature,
    /// Surface above the dew point.
    Dew,
    /// Humidity of the air.
    Humidity,
    /// Gap map complete.
    Gap,
    /// Previous adhesive or filler cured.
    Cured,
    /// Cured epoxy washed free of blush.
    Washed,
    /// Inside the recoat window.
    Recoat,
    /// No dust made in this air.
    QuietAir,
    /// Size ready at edge, flat and hollow.
    SizeReady,
    /// Oily rags in the wet lidded can.
    RagsAway,
    /// The mix in the cup has not gone off.
    MixLive,
    /// The film on the joint has not gone off.
    OpenTime,
}
