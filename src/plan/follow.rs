//! A plan that is followed in a changed shop: all that lay on the board of the first lies on
//! this one before anything is moved, and then each piece in turn, in the order in which the
//! first shop began them, is lifted off and laid down as early as it can (left shifts; F. Li,
//! R. Willis, An iterative scheduling technique for resource-constrained project scheduling,
//! European Journal of Operational Research 56, 1992). What still fits where it lay never comes
//! later than there. So hands that nobody needs make nothing later, and what comes later does
//! so because it lasts longer or its window closes sooner.

use super::board::{Board, Kept, Luck, Placed, Spot, stretch, stretches};
use super::order::Order;
use super::project::{Edge, Link, Project, Task, slots_within};
use crate::deed::Attended;

/// What lay on the board of the first shop, in the numbers of the second: for each block its
/// tasks with all its repeats, as they were placed; empty for what has no twin there.
pub(super) type Lying = Vec<Vec<Placed>>;

impl Board {
    /// Places every block in this order, none of them later than it lay, as far as it still fits
    /// there.
    pub(super) fn follow(
        &mut self,
        project: &Project,
        (order, mut lying): (&Order, Lying),
        luck: &Luck,
    ) {
        let slots = usize::try_from(project.slots).unwrap_or_default();
        let none = vec![vec![0; slots]; self.shut_to_givers.len()];
        self.kept = Some(Kept {
            to_givers: none.clone(),
            to_bearers: none,
        });
        self.begin(project, order);
        for &block in &order.blocks {
            let lies = lying.get_mut(block).filter(|lies| !lies.is_empty());
            if let Some(lies) = lies
                && !self.lay(project, block, lies, luck)
            {
                lies.clear();
            }
        }
        for &block in &order.blocks {
            let lay = lying.get_mut(block).map(std::mem::take).unwrap_or_default();
            let end = self.lift(project, (block, &lay), luck);
            if let Some(over) = self.over.get_mut(block) {
                *over = end;
            }
        }
    }

    /// Lays a block and its repeats where they lay, with the lengths of this shop; says whether
    /// all of it fits there, else nothing is laid.
    fn lay(&mut self, project: &Project, block: usize, lies: &mut [Placed], luck: &Luck) -> bool {
        if !is_whole(project, block, lies, luck) {
            return false;
        }
        let mut laid = 0;
        while let Some(first) = lies.get(laid).copied() {
            let walk = |it: &&mut Placed| (it.block, it.again) == (first.block, first.again);
            let rest = lies.iter_mut().skip(laid);
            let count = rest.take_while(walk).count();
            let Some(one) = lies.get_mut(laid..laid + count) else {
                return false;
            };
            if !fit(project, one, luck) || !one.iter().all(|it| self.is_free(project, it)) {
                let before = lies.get(..laid).unwrap_or_default();
                for it in before {
                    self.open(project, it);
                }
                return false;
            }
            for it in &*one {
                if let Some(task) = project.tasks.get(it.task) {
                    self.shut(project, task, Spot::of(it));
                }
            }
            laid += count;
        }
        true
    }

    fn is_free(&self, project: &Project, it: &Placed) -> bool {
        let Some(task) = project.tasks.get(it.task) else {
            return false;
        };
        let slots = it.to - it.from;
        let is_there = match (task.kind, it.who) {
            (Attended::Hands, Some(who)) => {
                let hand = project.hands.get(who);
                let free = self.free.get(who);
                hand.is_some_and(|hand| hand.may(task.mark))
                    && free.is_some_and(|free| free.first(it.from, slots.max(1)) == Some(it.from))
            }
            (Attended::Hands, None) => false,
            (Attended::Watch, _) => {
                let there = self.watched.iter().find(|(mark, _)| *mark == task.mark);
                there.is_some_and(|(_, there)| there.run(it.from, slots) == Some(it.from))
            }
            _ => true,
        };
        is_there && self.air_clash(task, (it.from, it.to)).is_none()
    }

    /// Lifts a block off and lays it down as early as it can; returns when it is over.
    fn lift(
        &mut self,
        project: &Project,
        (block, lay): (usize, &[Placed]),
        luck: &Luck,
    ) -> Option<u32> {
        for it in lay {
            self.open(project, it);
        }
        let from = self.earliest_of(project, block)?;
        let before = self.placed.len();
        let end = self.place_with_repeats(project, (block, from), luck);
        let lay_until = lay.iter().map(|it| it.to).max();
        let fitted = lay.first().is_some_and(|first| from <= first.from);
        match lay_until.filter(|until| fitted && end.is_none_or(|end| *until < end)) {
            None => end,
            Some(until) => {
                let moved = self.placed.split_off(before);
                for it in &moved {
                    self.open(project, it);
                }
                for it in lay {
                    let job = project.blocks.get(it.block)?.job;
                    self.take(project, (project.tasks.get(it.task)?, job), Spot::of(it));
                    self.placed.push(*it);
                }
                Some(until)
            }
        }
    }

    /// Gives the person and the air of a task back.
    fn open(&mut self, project: &Project, it: &Placed) {
        let Some(task) = project.tasks.get(it.task) else {
            return;
        };
        if task.kind == Attended::Hands
            && let Some(free) = it.who.and_then(|who| self.free.get_mut(who))
        {
            free.give(it.from, it.to);
        }
        for (place, is_given, from, to) in stretches(project, task, Spot::of(it)) {
            let shut = if is_given {
                &mut self.shut_to_bearers
            } else {
                &mut self.shut_to_givers
            };
            let kept = self.kept.as_mut().and_then(|kept| kept.at(place, is_given));
            let (Some(shut), Some(kept)) = (shut.get_mut(place), kept) else {
                continue;
            };
            for (slot, count) in stretch(kept, (from, to)) {
                *count = count.saturating_sub(1);
                if *count == 0 {
                    shut.unset(slot, slot + 1);
                }
            }
        }
    }
}

/// Whether what lay is the block with as many repeats as it has in this run.
fn is_whole(project: &Project, block: usize, lies: &[Placed], luck: &Luck) -> bool {
    let tasks = |block: usize, again: u32| {
        let it = project.blocks.get(block);
        let tasks = it.map_or(0..0, |it| it.first..it.end);
        tasks.map(move |task| (block, again, task))
    };
    let job = project.blocks.get(block).map_or(usize::MAX, |it| it.job);
    let again = project.jobs.get(job).filter(|job| block + 1 == job.end);
    let again = again.and_then(|job| job.again.as_ref());
    let times = again.map_or(0, |_| luck.again.get(job).copied().unwrap_or_default());
    let back = |time: u32| {
        let blocks = again.into_iter().flat_map(|again| &again.blocks);
        blocks.flat_map(move |back| tasks(*back, time))
    };
    let wanted = tasks(block, 0).chain((1..=times).flat_map(back));
    wanted.eq(lies.iter().map(|it| (it.block, it.again, it.task)))
}

/// Gives the tasks of one walk of a block their lengths in this shop; says whether none takes
/// longer than it lay and no window closes before.
fn fit(project: &Project, walk: &mut [Placed], luck: &Luck) -> bool {
    let mut done: Vec<(u32, u32)> = Vec::with_capacity(walk.len());
    for it in walk {
        let task: Option<&Task> = project.tasks.get(it.task);
        let slots = luck.slots.get(it.task).copied();
        let (Some(task), Some(slots)) = (task, slots) else {
            return false;
        };
        let begins = match (task.link, done.last()) {
            (Link::AtOnce, Some((_, end))) => *end,
            _ => it.from,
        };
        let until = begins + slots;
        let closed = task.limit.is_some_and(|limit| {
            let edge = match limit.what {
                Edge::Begun => begins,
                Edge::Over => until,
            };
            let opened = done.get(limit.from).map_or(0, |it| it.1);
            opened + slots_within(limit.minutes) < edge
        });
        if closed || it.to < until || done.last().is_some_and(|last| begins < last.1) {
            return false;
        }
        (it.from, it.to) = (begins, until);
        done.push((begins, until));
    }
    true
}
