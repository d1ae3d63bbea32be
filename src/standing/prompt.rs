//! What is in front of a worker: the step, and the one thing it asks for now.

use chrono::{DateTime, FixedOffset};

use crate::card::{Caution, Fault, GateKind, Manner, Measure, WordScale};
use crate::deed::{Pouring, Work};

use super::facts::HoldRefused;
use super::{ClockView, StepSum};

/// The step in front of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Prompt {
    /// The job.
    pub work: Work,
    /// Title of the operation.
    pub title: String,
    /// Step id; empty before the first step.
    pub step: String,
    /// The one action, imperative.
    pub act: String,
    /// Why, one line.
    pub why: Option<String>,
    /// Number of this step, from 1, among `of`.
    pub number: usize,
    /// How many steps this walk has.
    pub of: usize,
    /// Why it is walked once more, from the second round on: the word of the earlier one.
    pub again: Option<String>,
    /// The action of the step done last, for whoever comes back to the bench.
    pub last_done: Option<LastDone>,
    /// Cautions that apply here, most important first; the first never scrolls off.
    pub cautions: Vec<Caution>,
    /// What goes wrong here.
    pub goes_wrong: Vec<Fault>,
    /// How list and hand go together here.
    pub manner: Manner,
    /// The checks of this step in order, and whether each counts.
    pub checks: Vec<(String, bool)>,
    /// The step lies half done since then.
    pub interrupted: Option<Interruption>,
    /// Who did a step of this walk, person ids: they neither sign it nor second an overrule.
    pub hands: Vec<String>,
    /// What the trade's arithmetic says here, what is to be minded first.
    pub sums: Vec<StepSum>,
    /// The one thing asked for now.
    pub ask: Ask,
}

/// The step that was done last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastDone {
    /// Its action.
    pub act: String,
    /// When.
    pub at: DateTime<FixedOffset>,
    /// By whom, person id.
    pub by: String,
}

/// Since when a step lies half done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interruption {
    /// The last thing that was taken down there.
    pub since: DateTime<FixedOffset>,
    /// By whom, person id.
    pub by: String,
}

/// The one thing that a step asks for now.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    /// A gate is shut.
    Gate(Verdict),
    /// Cautions to read and tick together.
    Cautions(Vec<Caution>),
    /// A state to look at and tick.
    Confirm {
        /// The state.
        say: String,
        /// Number of this check, from 1.
        nth: usize,
        /// How many.
        of: usize,
    },
    /// A reading.
    Reading {
        /// Record id.
        record: String,
        /// What to read.
        ask: String,
        /// Measure.
        measure: Measure,
        /// Place, if several.
        station: Option<String>,
        /// Number of this reading, from 1.
        nth: usize,
        /// How many.
        of: usize,
        /// Readings of the same record so far: place and value.
        taken: Vec<(String, f64)>,
        /// Believable range.
        plausible: [f64; 2],
        /// Usual range.
        usual: [f64; 2],
    },
    /// A choice of words; digits pick.
    Choice {
        /// Record id.
        record: String,
        /// What to choose.
        ask: String,
        /// The words.
        options: Vec<String>,
    },
    /// A lot; digits pick.
    Lot {
        /// Record id.
        record: String,
        /// What to choose.
        ask: String,
        /// The open lots.
        options: Vec<LotChoice>,
        /// Where no tin is on the shelf: short name of the first card that would do, empty
        /// without one, and the part of it.
        lacking: Option<(String, &'static str)>,
    },
    /// A photograph; one key says it was taken, with its file name entered later.
    Photo {
        /// Record id.
        record: String,
        /// Station.
        station: String,
    },
    /// A line of text.
    Words {
        /// Record id.
        record: String,
        /// What to write.
        ask: String,
        /// May be left with a word why.
        optional: bool,
    },
    /// Batches to choose from; digits pick.
    Batch {
        /// The offers.
        offers: Vec<BatchOffer>,
    },
    /// Weigh one part in.
    Pour {
        /// Which part.
        part: Pouring,
        /// Name of the material.
        material: String,
        /// Grams asked for.
        asked_g: f64,
        /// Which cup, from 1.
        cup: u32,
        /// How many cups.
        cups: u32,
        /// What is in the cup already: part, grams.
        poured: Vec<(Pouring, f64)>,
    },
    /// The pour is off: add or throw away.
    PourOff {
        /// Hardener against the ratio, percent.
        off_percent: f64,
        /// Which part to add, and how much; absent when only a new cup helps.
        add: Option<(Pouring, f64)>,
        /// What is in the cup.
        poured: Vec<(Pouring, f64)>,
    },
    /// Press at first contact.
    Start {
        /// Hardener against the ratio, percent.
        off_percent: f64,
        /// The verdict as a word.
        verdict: String,
        /// Which part to add, and how much, where it is off but may be used so.
        add: Option<(Pouring, f64)>,
        /// Minutes that the cup promises.
        promise_min: f64,
        /// Why that many.
        because: String,
    },
    /// Do it, then say so.
    Act,
    /// Wait for a clock, then a hand says that it has come.
    Wait {
        /// The clock; absent when it was never started here.
        clock: Option<ClockView>,
        /// Whether the late bound has passed.
        ready: bool,
        /// What the hand confirms.
        hand: String,
    },
    /// Test words at places; all must say the ready word.
    Test {
        /// Scale.
        scale: WordScale,
        /// Its words in order.
        words: Vec<&'static str>,
        /// The word that passes.
        ready_word: &'static str,
        /// Places with their last word.
        places: Vec<TestPlace>,
        /// The clocks of these places, if any.
        clocks: Vec<ClockView>,
    },
    /// Nobody goes on without this signature.
    Hold {
        /// What is accepted.
        sign: String,
        /// Who may sign, short names.
        may_sign: Vec<String>,
        /// That it was refused: it is the bench's again, to be put right and shown once more.
        refused: Option<HoldRefused>,
    },
    /// The operation is walked to its end.
    Finished {
        /// When.
        at: DateTime<FixedOffset>,
    },
    /// The target was sent back.
    SentBack {
        /// To which operation.
        back_to: String,
        /// Why.
        why: String,
    },
}

/// A place under test.
#[derive(Debug, Clone, PartialEq)]
pub struct TestPlace {
    /// Its name; empty for one place.
    pub place: String,
    /// The last word said there, and when.
    pub last: Option<(String, DateTime<FixedOffset>)>,
    /// Whether that word passes.
    pub ready: bool,
}

/// A lot to pick.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotChoice {
    /// Material id.
    pub material: String,
    /// Name of the material.
    pub name: String,
    /// Lot number.
    pub lot: String,
    /// `a`, `b` or empty.
    pub part: String,
    /// A word of warning: past its date, sealed.
    pub warning: Option<String>,
}

/// A batch that could be mixed.
#[derive(Debug, Clone, PartialEq)]
pub struct BatchOffer {
    /// Material id.
    pub material: String,
    /// Name.
    pub name: String,
    /// Lots of A and B.
    pub lots: [String; 2],
    /// Grams of A and B in each cup.
    pub grams: [f64; 2],
    /// Cups.
    pub cups: u32,
    /// Minutes that a cup promises (early bound).
    pub promise_min: f64,
    /// Where grams and minutes come from.
    pub because: String,
    /// Why this batch may not be mixed, if so.
    pub refused: Option<String>,
}

/// What a gate says.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Which gate.
    pub gate: GateKind,
    /// Its name in the trade's words.
    pub name: &'static str,
    /// Whether it stops, or warns and takes a reason.
    pub hard: bool,
    /// Whether it is open.
    pub open: bool,
    /// Why, one line.
    pub why: String,
    /// What would open it.
    pub opens_by: OpensBy,
    /// What the reading that it is shut by is worth.
    pub shut_by: ShutBy,
}

/// What shuts a gate, as far as reading once more would change it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShutBy {
    /// Anything else; or it is open.
    Other,
    /// A reading of the air that is still young: reading once more opens nothing while the air is
    /// as it is.
    UnfitAir,
    /// Nothing but the age of what was read at the points of the wood: hands at the bench may open
    /// it by reading them anew.
    OldReading,
}

/// What would open a gate.
#[derive(Debug, Clone, PartialEq)]
pub enum OpensBy {
    /// It is open.
    Nothing,
    /// A hand that has looked vouches for this, in full.
    Vouch(String),
    /// A reading of this room's air.
    AirReading(String),
    /// The temperature of the figure's surface, entered here.
    Surface,
    /// Another operation on the same target.
    Operation(String),
    /// Fresh gloves or cartridges: the clock, ended with the word `changed`, begins anew.
    Renew {
        /// Whose clock it is.
        figure: String,
        /// The clock.
        clock: String,
    },
    /// Waiting.
    Wait(String),
}
