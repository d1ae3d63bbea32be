//! What lies ahead as a network: tasks in blocks, blocks in jobs, people with their hours and
//! marks, rooms with their air. Plain facts; how they are put in order is for `board` and
//! `order`. Times are minutes where a person gives them and slots where they are planned.

use super::slots::Slots;
use crate::card::{Effect, Mark};
use crate::deed::{Attended, Work};

/// The grain of a plan, minutes. Spans are rounded up to it and windows down, so that rounding
/// never promises what the minutes do not hold (own judgement: finer than anybody plans).
pub const GRAIN_MIN: u32 = 10;

/// Dust and vapour hang in the air this long after the hands stop, minutes (*common practice*;
/// the same two hours that shut a room to wet work at the bench).
pub const LINGERS_MIN: u32 = 120;

/// Something that takes time.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// Who must be there.
    pub kind: Attended,
    /// The mark that hands or watch need.
    pub mark: Mark,
    /// Place of the room among the project's.
    pub room: usize,
    /// What it gives to the air.
    pub emits: Effects,
    /// What it cannot bear from the air.
    pub suffers: Effects,
    /// Minutes: early, likely, late.
    pub minutes: [u32; 3],
    /// Place of the cause among the project's, from which its length is drawn.
    pub cause: usize,
    /// How it follows the task before it in its block.
    pub link: Link,
    /// A moment of an earlier task of its block that it must not get too far away from.
    pub limit: Option<Limit>,
    /// It needs another person than the hands before it in its job: a signature.
    pub another: bool,
}

/// How a task follows the one before it in its block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Link {
    /// Not before the end of the one before.
    #[default]
    After,
    /// At the very end of the one before: paint dries from when it is laid.
    AtOnce,
}

/// A window that closes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    /// Place within the block of the task from whose end it counts.
    pub from: usize,
    /// What must have come by then.
    pub what: Edge,
    /// Minutes.
    pub minutes: u32,
}

/// Which end of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// It must have begun.
    Begun,
    /// It must be over.
    Over,
}

/// A set of effects on the air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Effects(u8);

/// How many effects there are.
pub(super) const EFFECTS: usize = 6;

impl Effects {
    /// Returns the set of these effects.
    pub fn of(all: &[Effect]) -> Self {
        Self(all.iter().fold(0, |set, effect| set | 1 << number(*effect)))
    }

    /// Returns whether there is none.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Returns whether the two have one in common.
    pub fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// Returns the number of each effect, below [`EFFECTS`].
    pub(super) fn numbers(self) -> impl Iterator<Item = usize> {
        (0..EFFECTS).filter(move |number| self.0 & (1 << number) != 0)
    }
}

fn number(effect: Effect) -> u8 {
    match effect {
        Effect::Dust => 0,
        Effect::Vapour => 1,
        Effect::Draught => 2,
        Effect::Damp => 3,
        Effect::Swing => 4,
        Effect::Heat => 5,
    }
}

/// Tasks that windows tie together; they are placed as one. Most blocks hold one task.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Block {
    /// Place of its first task.
    pub first: usize,
    /// One past its last task.
    pub end: usize,
    /// Blocks that must be over before it begins.
    pub before: Vec<usize>,
    /// The job it belongs to.
    pub job: usize,
    /// It is walked only when a job is walked again.
    pub spare: bool,
}

/// An operation on a target, as far as it lies ahead.
#[derive(Debug, Clone, PartialEq)]
pub struct JobAhead {
    /// Place of the figure among the project's.
    pub figure: usize,
    /// Operation, target, round.
    pub work: Work,
    /// Its first block.
    pub first: usize,
    /// One past its last block; with no block it is never reached.
    pub end: usize,
    /// How often it goes wrong.
    pub again: Option<Again>,
}

/// A way back.
#[derive(Debug, Clone, PartialEq)]
pub struct Again {
    /// Chance of going back, 0 to 1.
    pub chance: f64,
    /// Blocks walked again, in order, the job's own last.
    pub blocks: Vec<usize>,
    /// Place of the cause among the project's.
    pub cause: usize,
}

/// A person as a plan sees one.
#[derive(Debug, Clone, PartialEq)]
pub struct Hand {
    /// Person id.
    pub id: String,
    /// What this person may do.
    pub marks: Vec<Mark>,
    /// Slots in which this person is there.
    pub there: Slots,
}

impl Hand {
    /// Returns whether this person may do what needs a mark.
    pub fn may(&self, mark: Mark) -> bool {
        mark == Mark::Any || self.marks.contains(&mark)
    }
}

/// A figure as a plan sees one.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Goal {
    /// Figure id.
    pub figure: String,
    /// The slot by which it was promised.
    pub due: Option<u32>,
    /// Its blocks: the figure is done when the last of them is.
    pub blocks: Vec<usize>,
    /// Why it can never be done as things are, if so.
    pub never: Option<String>,
}

/// Something whose length or luck is drawn once in a run, for all tasks that hang on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cause {
    /// Place of the figure among the project's.
    pub figure: usize,
    /// What it is, in the words of the page: `strip, hands`.
    pub words: String,
}

/// All that lies ahead of a shop.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Project {
    /// Tasks, block by block.
    pub tasks: Vec<Task>,
    /// Blocks, job by job.
    pub blocks: Vec<Block>,
    /// Jobs, figure by figure.
    pub jobs: Vec<JobAhead>,
    /// Figures.
    pub goals: Vec<Goal>,
    /// People.
    pub hands: Vec<Hand>,
    /// Rooms that share the air of each room, itself among them.
    pub airs: Vec<Vec<usize>>,
    /// What lengths and luck are drawn from.
    pub causes: Vec<Cause>,
    /// What the shop's own journal says of a cause: ratios of hours spent to hours reckoned,
    /// in order; empty where it says too little.
    pub ratios: Vec<Vec<f64>>,
    /// How many slots are looked at.
    pub slots: u32,
}

impl Project {
    /// Returns the tasks of a block.
    pub fn of_block(&self, block: usize) -> &[Task] {
        let block = self.blocks.get(block);
        block
            .and_then(|block| self.tasks.get(block.first..block.end))
            .unwrap_or_default()
    }
}

/// Returns minutes as slots, rounded up: for what takes time.
pub fn slots_for(minutes: u32) -> u32 {
    minutes.div_ceil(GRAIN_MIN)
}

/// Returns minutes as slots, rounded down: for what closes.
pub fn slots_within(minutes: u32) -> u32 {
    minutes / GRAIN_MIN
}
