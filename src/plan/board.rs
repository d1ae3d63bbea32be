//! Puts blocks on the board one after the other, each as early as people, hours, air and
//! windows let it: serial schedule generation (R. Kolisch, Serial and parallel
//! resource-constrained project scheduling methods revisited, European Journal of Operational
//! Research 90, 1996). A block that windows tie together is placed as one: where a window
//! would be missed, its beginning moves later by just as much and the rest is placed anew.
//!
//! Start reading at [`Board::place`].

use super::free::Free;
use super::order::Order;
use super::project::{EFFECTS, Edge, LINGERS_MIN, Link, Project, Task, slots_for, slots_within};
use super::slots::Slots;
use crate::deed::Attended;

/// How often the beginning of a block is moved before it is given up (own choice: a window that
/// fits nowhere in some months of opening hours fits nowhere).
const MOVES: usize = 600;

/// Nobody.
pub(super) const NOBODY: usize = usize::MAX;

/// Slots for which the one preferred is waited for: half a day (own judgement).
const PATIENCE: u32 = 24;

/// Who could do a task, the best first in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Found {
    rank: u32,
    marks: usize,
    who: usize,
    from: u32,
}

/// A task where it came to lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Placed {
    /// Its block.
    pub block: usize,
    /// The task.
    pub task: usize,
    /// How often its job was walked before: 0 the first time.
    pub again: u32,
    /// First slot.
    pub from: u32,
    /// One past the last slot.
    pub to: u32,
    /// Who does it, for hands.
    pub who: Option<usize>,
}

/// The board: what is taken already.
#[derive(Debug, Clone, Default)]
pub struct Board {
    pub(super) free: Vec<Free>,
    /// When each person is there, nothing taken.
    there: Vec<Free>,
    /// Somebody with the mark is there, for each mark that a watch needs.
    pub(super) watched: Vec<(crate::card::Mark, Slots)>,
    /// Slots shut to what gives an effect to the air, by room and effect.
    pub(super) shut_to_givers: Vec<Slots>,
    /// Slots shut to what cannot bear an effect, by room and effect.
    pub(super) shut_to_bearers: Vec<Slots>,
    /// Whom each block had rather do it.
    prefers: Vec<usize>,
    /// By how much each block holds back what ends its window.
    holds: Vec<u32>,
    /// Who had hands on each job last.
    last: Vec<usize>,
    /// When each block is over; `None` while it is not placed.
    pub(super) over: Vec<Option<u32>>,
    pub(super) placed: Vec<Placed>,
    row: Vec<Spot>,
    /// Where what was placed must be lifted off again: every stretch that shuts an air.
    pub(super) kept: Option<Kept>,
}

/// How many tasks shut each slot of an air, by room and effect: to givers and to bearers. So
/// that one of them can be lifted off, and the others still shut what they shut.
#[derive(Debug, Clone, Default)]
pub(super) struct Kept {
    pub(super) to_givers: Vec<Vec<u16>>,
    pub(super) to_bearers: Vec<Vec<u16>>,
}

/// A task of the block that is being placed.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Spot {
    not_before: u32,
    pub(super) from: u32,
    pub(super) to: u32,
    pub(super) who: usize,
}

impl Spot {
    /// Returns where a task came to lie.
    pub(super) fn of(placed: &Placed) -> Self {
        Self {
            not_before: placed.from,
            from: placed.from,
            to: placed.to,
            who: placed.who.unwrap_or(NOBODY),
        }
    }
}

/// What a run draws: how long each task takes, and how often each job is walked again.
#[derive(Debug, Clone, Default)]
pub struct Luck {
    /// Slots by task.
    pub slots: Vec<u32>,
    /// Times by job.
    pub again: Vec<u32>,
}

impl Luck {
    /// Returns the run in which all takes its likely time and nothing goes wrong.
    pub fn likely(project: &Project) -> Self {
        let likely = |task: &Task| slots_for(task.minutes.get(1).copied().unwrap_or_default());
        Self {
            slots: project.tasks.iter().map(likely).collect(),
            again: vec![0; project.jobs.len()],
        }
    }
}

impl Board {
    /// Returns an empty board for a project.
    pub fn new(project: &Project) -> Self {
        let air = project.airs.len() * EFFECTS;
        let there = project.hands.iter().map(|hand| Free::of(&hand.there));
        let there: Vec<Free> = there.collect();
        let mut watched: Vec<(crate::card::Mark, Slots)> = Vec::new();
        for task in project.tasks.iter().filter(|it| it.kind == Attended::Watch) {
            if watched.iter().all(|(mark, _)| *mark != task.mark) {
                let mut there = Slots::none(project.slots);
                let may = project.hands.iter().filter(|hand| hand.may(task.mark));
                may.for_each(|hand| there.join(&hand.there));
                watched.push((task.mark, there));
            }
        }
        Self {
            free: there.clone(),
            there,
            watched,
            shut_to_givers: vec![Slots::none(project.slots); air],
            shut_to_bearers: vec![Slots::none(project.slots); air],
            ..Self::default()
        }
    }

    /// Places every block in this order, which keeps each behind those that come before it.
    /// What fits nowhere in the slots that are looked at, and all behind it, stays out.
    pub fn place(&mut self, project: &Project, order: &Order, luck: &Luck) {
        self.kept = None;
        self.begin(project, order);
        for &block in &order.blocks {
            let end = self
                .earliest_of(project, block)
                .and_then(|from| self.place_with_repeats(project, (block, from), luck));
            if let Some(over) = self.over.get_mut(block) {
                *over = end;
            }
        }
    }

    /// Returns where each task came to lie, in the order of placing.
    pub fn placed(&self) -> &[Placed] {
        &self.placed
    }

    /// Returns when a block is over; `None` when it fitted nowhere.
    pub fn over(&self, block: usize) -> Option<u32> {
        self.over.get(block).copied().flatten()
    }

    /// Returns when a figure is done; `None` when it never is, or something of it fitted nowhere.
    pub fn done(&self, project: &Project, goal: usize) -> Option<u32> {
        let goal = project
            .goals
            .get(goal)
            .filter(|goal| goal.never.is_none())?;
        let mut last = 0;
        for block in &goal.blocks {
            last = last.max(self.over(*block)?);
        }
        Some(last)
    }

    /// Takes everything off the board for another order.
    pub(super) fn begin(&mut self, project: &Project, order: &Order) {
        self.prefers.clone_from(&order.prefers);
        self.holds.clone_from(&order.holds);
        for (free, there) in self.free.iter_mut().zip(&self.there) {
            free.copy_from(there);
        }
        let shut = self.shut_to_givers.iter_mut();
        shut.chain(&mut self.shut_to_bearers).for_each(Slots::wipe);
        fill(&mut self.last, project.jobs.len(), NOBODY);
        fill(&mut self.over, project.blocks.len(), None);
        self.placed.clear();
    }

    pub(super) fn earliest_of(&self, project: &Project, block: usize) -> Option<u32> {
        let before = project.blocks.get(block).map(|block| &block.before)?;
        let mut from = 0;
        for other in before {
            from = from.max(self.over(*other)?);
        }
        Some(from)
    }

    /// A job that goes wrong at its last block is walked again before anything behind it.
    pub(super) fn place_with_repeats(
        &mut self,
        project: &Project,
        (block, from): (usize, u32),
        luck: &Luck,
    ) -> Option<u32> {
        let mut end = self.place_block(project, (block, from, 0), luck)?;
        let job = project.blocks.get(block)?.job;
        let ahead = project.jobs.get(job)?;
        let times = luck.again.get(job).copied().unwrap_or_default();
        if let Some(again) = ahead.again.as_ref().filter(|_| block + 1 == ahead.end) {
            for time in 1..=times {
                for &back in &again.blocks {
                    end = self.place_block(project, (back, end, time), luck)?;
                }
            }
        }
        Some(end)
    }

    /// Places one block from a slot on; returns when it is over.
    fn place_block(
        &mut self,
        project: &Project,
        (block, from, again): (usize, u32, u32),
        luck: &Luck,
    ) -> Option<u32> {
        let (first, job) = project
            .blocks
            .get(block)
            .map(|block| (block.first, block.job))?;
        let tasks = project.of_block(block);
        self.lay_out(project, (block, tasks, first, job), from, luck)?;
        let mut end = from;
        for (nth, task) in tasks.iter().enumerate() {
            let spot = self.row.get(nth).copied()?;
            end = end.max(spot.to);
            self.take(project, (task, job), spot);
            self.placed.push(Placed {
                block,
                task: first + nth,
                again,
                from: spot.from,
                to: spot.to,
                who: (spot.who != NOBODY).then_some(spot.who),
            });
        }
        Some(end)
    }

    /// Finds the earliest slots of all tasks of a block, in `row`. Each move is one that every
    /// placing of the block must make, so the first that fits is the earliest.
    fn lay_out(
        &mut self,
        project: &Project,
        (block, tasks, first, job): (usize, &[Task], usize, usize),
        from: u32,
        luck: &Luck,
    ) -> Option<()> {
        self.row.clear();
        self.row.resize(tasks.len(), Spot::default());
        let mut nth = 0;
        self.row.first_mut()?.not_before = from;
        for _ in 0..MOVES + tasks.len() {
            let Some(task) = tasks.get(nth) else {
                return Some(());
            };
            let slots = luck.slots.get(first + nth).copied().unwrap_or_default();
            let last = self.last_hand(tasks, nth, job);
            let not_before = self.row.get(nth)?.not_before;
            let whom = (last, self.preferred(block));
            let (from, who) = self.earliest(project, (task, slots), not_before, whom)?;
            let to = from + slots;
            if let Some((back, later)) = self.missed(task, nth, (from, to)) {
                let spot = self.row.get_mut(back)?;
                spot.not_before = spot.from + later;
                nth = back;
                continue;
            }
            let spot = self.row.get_mut(nth)?;
            (spot.from, spot.to, spot.who) = (from, to, who);
            nth += 1;
            let ends_window = tasks.get(nth).is_some_and(|next| next.limit.is_some());
            let hold = self.holds.get(block).copied().filter(|_| ends_window);
            if let Some(next) = self.row.get_mut(nth) {
                next.not_before = to + hold.unwrap_or(0);
            }
        }
        (nth == tasks.len()).then_some(())
    }

    /// The person whose hands were on the job before a task.
    fn last_hand(&self, tasks: &[Task], nth: usize, job: usize) -> usize {
        let here = self.row.iter().zip(tasks).take(nth).rev();
        let mut hands = here.filter(|(_, task)| task.kind == Attended::Hands);
        hands.next().map_or_else(
            || self.last.get(job).copied().unwrap_or(NOBODY),
            |(spot, _)| spot.who,
        )
    }

    /// Which earlier task has to move later, and by how much, when a task cannot lie nearer
    /// than `from..to`; `None` when it keeps its link and its limit.
    fn missed(&self, task: &Task, nth: usize, (from, to): (u32, u32)) -> Option<(usize, u32)> {
        if task.link == Link::AtOnce
            && let Some(before) = nth.checked_sub(1)
        {
            let end = self.row.get(before)?.to;
            if end < from {
                return Some((before, from - end));
            }
        }
        let limit = task.limit?;
        let closes = self.row.get(limit.from)?.to + slots_within(limit.minutes);
        let edge = match limit.what {
            Edge::Begun => from,
            Edge::Over => to,
        };
        (closes < edge).then(|| (limit.from, edge - closes))
    }

    fn preferred(&self, block: usize) -> usize {
        self.prefers.get(block).copied().unwrap_or(NOBODY)
    }

    /// The earliest slot for one task, and who does it. `whom`: who must not, and who rather.
    fn earliest(
        &self,
        project: &Project,
        (task, slots): (&Task, u32),
        not_before: u32,
        whom: (usize, usize),
    ) -> Option<(u32, usize)> {
        match task.kind {
            Attended::Hands => self.earliest_hand(project, (task, slots), not_before, whom),
            Attended::Watch => {
                let there = self.watched.iter().find(|(mark, _)| *mark == task.mark)?;
                self.in_air(task, slots, not_before, |at| there.1.run(at, slots))
                    .map(|from| (from, NOBODY))
            }
            Attended::Clock | Attended::Air | Attended::Other => self
                .in_air(task, slots, not_before, Some)
                .map(|from| (from, NOBODY)),
        }
    }

    /// Of those who may, the one who is free first; of those free alike, the one who may do
    /// least else. The one preferred is waited for, but not long.
    fn earliest_hand(
        &self,
        project: &Project,
        (task, slots): (&Task, u32),
        not_before: u32,
        (last, rather): (usize, usize),
    ) -> Option<(u32, usize)> {
        let mut best: Option<Found> = None;
        for (who, hand) in project.hands.iter().enumerate() {
            if !hand.may(task.mark) || (task.another && who == last) {
                continue;
            }
            let free = self.free.get(who)?;
            let from = self.in_air(task, slots, not_before, |at| free.first(at, slots.max(1)));
            let patience = if who == rather { PATIENCE } else { 0 };
            let found = from.map(|from| Found {
                rank: from.saturating_sub(patience),
                marks: hand.marks.len(),
                who,
                from,
            });
            if let Some(found) = found.filter(|found| best.is_none_or(|best| *found < best)) {
                best = Some(found);
            }
        }
        best.map(|best| (best.from, best.who))
    }

    /// The earliest slot that `fits` gives and at which the air of the room is fit.
    fn in_air(
        &self,
        task: &Task,
        slots: u32,
        not_before: u32,
        fits: impl Fn(u32) -> Option<u32>,
    ) -> Option<u32> {
        let mut at = fits(not_before)?;
        while let Some(clear) = self.air_clash(task, (at, at + slots)) {
            at = fits(clear)?;
        }
        Some(at)
    }

    pub(super) fn air_clash(&self, task: &Task, (from, to): (u32, u32)) -> Option<u32> {
        let place = |effect| task.room * EFFECTS + effect;
        let borne = task.suffers.numbers().find_map(|effect| {
            let shut = self.shut_to_bearers.get(place(effect))?;
            shut.clash(from, to)
        });
        borne.or_else(|| {
            task.emits.numbers().find_map(|effect| {
                let shut = self.shut_to_givers.get(place(effect))?;
                shut.clash(from, to + slots_for(LINGERS_MIN))
            })
        })
    }

    pub(super) fn take(&mut self, project: &Project, (task, job): (&Task, usize), spot: Spot) {
        if task.kind == Attended::Hands
            && let Some(last) = self.last.get_mut(job)
        {
            *last = spot.who;
        }
        self.shut(project, task, spot);
    }

    /// Takes the person and the air of a task from everybody else.
    pub(super) fn shut(&mut self, project: &Project, task: &Task, spot: Spot) {
        if task.kind == Attended::Hands
            && let Some(free) = self.free.get_mut(spot.who)
        {
            free.take(spot.from, spot.to);
        }
        for (place, is_given, from, to) in stretches(project, task, spot) {
            let shut = if is_given {
                &mut self.shut_to_bearers
            } else {
                &mut self.shut_to_givers
            };
            if let Some(shut) = shut.get_mut(place) {
                shut.set(from, to);
            }
            if let Some(kept) = &mut self.kept
                && let Some(kept) = kept.at(place, is_given)
            {
                stretch(kept, (from, to)).for_each(|(_, count)| *count = count.saturating_add(1));
            }
        }
    }
}

/// The counts of a stretch, with their slots.
pub(super) fn stretch(
    counts: &mut [u16],
    (from, to): (u32, u32),
) -> impl Iterator<Item = (u32, &mut u16)> {
    let skipped = usize::try_from(from).unwrap_or(usize::MAX);
    (from..to).zip(counts.iter_mut().skip(skipped))
}

impl Kept {
    pub(super) fn at(&mut self, place: usize, is_given: bool) -> Option<&mut Vec<u16>> {
        if is_given {
            self.to_bearers.get_mut(place)
        } else {
            self.to_givers.get_mut(place)
        }
    }
}

/// The stretches in which a task shuts the air: place by room and effect, whether it is because
/// the task gives the effect or because it cannot bear it, from, and to.
pub(super) fn stretches(
    project: &Project,
    task: &Task,
    spot: Spot,
) -> impl Iterator<Item = (usize, bool, u32, u32)> {
    let (given, borne) = (task.emits, task.suffers);
    let rooms = project.airs.get(task.room).map_or(&[][..], Vec::as_slice);
    let rooms = rooms
        .iter()
        .filter(move |_| !(given.is_empty() && borne.is_empty()));
    rooms.flat_map(move |room| {
        let lingers = spot.to + slots_for(LINGERS_MIN);
        let given = given.numbers().map(move |it| (it, true, lingers));
        let borne = borne.numbers().map(move |it| (it, false, spot.to));
        let all = given.chain(borne);
        all.map(move |(effect, is_given, to)| (room * EFFECTS + effect, is_given, spot.from, to))
    })
}

fn fill<T: Clone>(row: &mut Vec<T>, len: usize, with: T) {
    row.clear();
    row.resize(len, with);
}
