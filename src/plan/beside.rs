//! Two shops beside each other: the shop as it is, and one in which something was changed.
//! Both meet the same luck, run by run: each number is drawn for a figure and its operation,
//! whatever else stands in the shop (common random numbers; A. Law, Simulation Modeling and
//! Analysis, 5th edition 2015, chapter 11.2). And the changed shop follows the plan of the other
//! as it lay on the board in that run (`follow`), so that no luck of seeking an order stands
//! between them.
//!
//! What is left of chance is told apart by sections of the runs: a shift that is not more than
//! twice its own standard error over them is no shift (batch means by sections; S. Asmussen,
//! P. Glynn, Stochastic Simulation, 2007, chapter III.5).

use super::board::{Board, Luck, Placed};
use super::follow::Lying;
use super::order::{Order, SEARCH, cost, decode, order, rows};
use super::project::{Block, Project};
use super::simulate::{Player, Runs, Turns};

/// Sections of the runs from which the noise of a shift is read (own choice; with nine degrees
/// of freedom twice the standard error leaves about one in thirteen to chance).
const SECTIONS: usize = 10;

/// A section is read from no fewer runs: below, nine of ten would be one run (own choice).
const SECTION_RUNS: usize = 10;

/// From fewer sections no noise is read (own choice).
const LEAST_SECTIONS: usize = 4;

/// A shift by no more than so many standard errors is not told.
pub(super) const ERRORS: f64 = 2.0;

/// Runs a shop, and what is beside it, with the same luck and the same plan, `order` of the
/// first. The jobs of `watched`, a figure of the first, are kept one by one.
pub fn simulate_beside(
    is: &Project,
    beside: &[Beside<'_>],
    order: &Order,
    (turns, watched): (Turns, Option<usize>),
) -> (Runs, Vec<Runs>) {
    let mut first = Player::new(is, turns.seed, watched);
    let beside = beside.iter().map(|it| it.clone().after(order));
    let mut others: Vec<_> = beside
        .map(|it| (Player::new(it.then, turns.seed, None), it))
        .collect();
    for run in turns.runs() {
        first.play(run, order);
        for (other, beside) in &mut others {
            other.follow(run, beside, &first.board);
        }
    }
    let others = others.into_iter().map(|(player, _)| player.all);
    (first.all, others.collect())
}

/// Returns whether the end by which `tenths` of ten runs are done differs by more than its own
/// noise; the ends are those of one figure, run by run, with the same luck in both.
pub fn is_told(is: &[Option<u32>], then: &[Option<u32>], tenths: usize) -> bool {
    differs(is, then, |sorted| f64::from(quantile(sorted, tenths)))
}

/// Returns whether the share of runs that end after a day differs by more than its own noise; the
/// ends are those of one figure, run by run, with the same luck in both.
pub(super) fn is_share_told(is: &[Option<u32>], then: &[Option<u32>], due: u32) -> bool {
    differs(is, then, |sorted| late_share(sorted, due))
}

/// The share of ends that lie after a slot, 0 to 1.
pub(super) fn late_share(ends: &[u32], due: u32) -> f64 {
    share_of(ends.iter().filter(|end| due < **end).count(), ends.len())
}

/// A part of a whole, 0 to 1; nothing of nothing is 0.
pub(super) fn share_of(part: usize, whole: usize) -> f64 {
    let number = |it: usize| f64::from(u32::try_from(it).unwrap_or(u32::MAX));
    number(part) / number(whole.max(1))
}

/// Whether what is measured on sorted ends differs between two by more than its own noise. A few
/// runs have no noise that could be read: then nothing does.
fn differs(is: &[Option<u32>], then: &[Option<u32>], measure: impl Fn(&[u32]) -> f64) -> bool {
    let shift =
        |(section, of)| measure(&sorted(then, (section, of))) - measure(&sorted(is, (section, of)));
    let sections = SECTIONS.min(is.len() / SECTION_RUNS);
    if sections < LEAST_SECTIONS {
        return false;
    }
    let shifts = (0..sections).map(|section| shift((section, sections)));
    ERRORS * standard_error(shifts) < shift((0, 1)).abs()
}

/// The standard error of the mean of some values.
pub(super) fn standard_error(values: impl Iterator<Item = f64>) -> f64 {
    let values: Vec<f64> = values.collect();
    let count = f64::from(u32::try_from(values.len()).unwrap_or(u32::MAX));
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|it| (it - mean).powi(2)).sum();
    (squares / (count - 1.0).max(1.0) / count).sqrt()
}

/// The ends of a section of all runs, the first first.
fn sorted(done: &[Option<u32>], (section, of): (usize, usize)) -> Vec<u32> {
    let ends = done.iter().skip(section).step_by(of);
    let mut sorted: Vec<u32> = ends.map(|end| end.unwrap_or(u32::MAX)).collect();
    sorted.sort_unstable();
    sorted
}

/// The end by which `tenths` of all runs are done; the later one where it lies between two.
pub(super) fn quantile(sorted: &[u32], tenths: usize) -> u32 {
    let place = (sorted.len() * tenths).div_ceil(10);
    let found = place.checked_sub(1).and_then(|place| sorted.get(place));
    found.copied().unwrap_or(u32::MAX)
}

/// When each block was begun first; the last slot of all for what was not placed.
pub(super) fn begun(project: &Project, board: &Board) -> Vec<u32> {
    let mut begun = vec![project.slots; project.blocks.len()];
    for placed in board.placed().iter().filter(|it| it.again == 0) {
        if let Some(begun) = begun.get_mut(placed.block) {
            *begun = placed.from.min(*begun);
        }
    }
    begun
}

/// A block of the second shop that is the same work as one of the first.
#[derive(Debug, Clone, Copy)]
struct Ours {
    block: usize,
    /// Its first task.
    first: usize,
    /// The first task of the other.
    first_is: usize,
}

/// Two shops beside each other: which blocks of them are the same work.
#[derive(Debug, Clone)]
pub struct Beside<'p> {
    is: &'p Project,
    then: &'p Project,
    /// Blocks that wait for each block of the second.
    rows: Vec<Vec<usize>>,
    /// By block of the first, where both have as many tasks.
    ours: Vec<Option<Ours>>,
    /// By block of the second: the block of the first.
    blocks: Vec<Option<usize>>,
    /// By block of the second: its place in the order of the first, which settles what was
    /// begun in the same slot.
    places: Vec<usize>,
    /// When what only the second has is begun by a plan of its own.
    own: Vec<u32>,
    /// Whom the blocks of the second had rather do it and what they hold back.
    plan: Order,
}

impl<'p> Beside<'p> {
    /// Returns two shops with the order of the first. What only the second has to do is put in
    /// by an order of its own, which `seed` gives.
    pub fn of(both: (&'p Project, &'p Project), found: &Order, seed: u64) -> Self {
        Self::blank(both, seed).after(found)
    }

    /// Returns what is the same whatever order the first is worked in.
    pub fn blank((is, then): (&'p Project, &'p Project), seed: u64) -> Self {
        let blocks: Vec<Option<usize>> = then
            .blocks
            .iter()
            .enumerate()
            .map(|(place, block)| twin((is, then), place, block))
            .collect();
        let ahead = then.blocks.iter().zip(&blocks);
        let has_more = ahead
            .into_iter()
            .any(|(block, twin)| twin.is_none() && !block.spare);
        let (plan, own) = if has_more {
            let plan = order(then, seed, SEARCH / 10);
            let mut board = Board::new(then);
            board.place(then, &plan, &Luck::likely(then));
            let own = begun(then, &board);
            (plan, own)
        } else {
            let blank = Order {
                prefers: vec![super::board::NOBODY; blocks.len()],
                holds: vec![0; blocks.len()],
                ..Order::default()
            };
            (blank, vec![then.slots; blocks.len()])
        };
        let mut ours = vec![None; is.blocks.len()];
        for (block, twin) in blocks.iter().enumerate() {
            let Some((twin, its)) = twin.and_then(|it| Some((it, is.blocks.get(it)?))) else {
                continue;
            };
            let both = then.blocks.get(block);
            let both = both.filter(|it| it.end - it.first == its.end - its.first);
            if let (Some(found), Some(it)) = (ours.get_mut(twin), both) {
                *found = Some(Ours {
                    block,
                    first: it.first,
                    first_is: its.first,
                });
            }
        }
        Self {
            is,
            then,
            rows: rows(then),
            ours,
            blocks,
            places: Vec::new(),
            own,
            plan,
        }
    }

    /// Takes over the order of the first, whom it had rather do each block and what it holds
    /// back.
    fn after(mut self, found: &Order) -> Self {
        let last = self.is.blocks.len();
        let mut lies = vec![last; last];
        for (nth, block) in found.blocks.iter().enumerate() {
            if let Some(place) = lies.get_mut(*block) {
                *place = nth;
            }
        }
        let place = |twin: &Option<usize>| twin.and_then(|twin| lies.get(twin).copied());
        let places = self.blocks.iter().map(|it| place(it).unwrap_or(last));
        self.places = places.collect();
        for (place, twin) in self.blocks.iter().enumerate() {
            let Some(twin) = *twin else { continue };
            let kept = (found.prefers.get(twin), found.holds.get(twin));
            let ours = (
                self.plan.prefers.get_mut(place),
                self.plan.holds.get_mut(place),
            );
            if let ((Some(prefers), Some(holds)), (Some(our_prefers), Some(our_holds))) =
                (kept, ours)
            {
                (*our_prefers, *our_holds) = (*prefers, *holds);
            }
        }
        self
    }

    /// Follows what lies on the board of the first on one of the second. Where that makes some
    /// figure later, for work that lasts longer or windows that close sooner, the same work is
    /// also placed with nothing kept for it, in the order of the first and as it began it, and
    /// what comes to least counts.
    pub fn follow(&self, first: &Board, second: &mut Board, luck: &Luck) {
        let begun = self.plan(&self.keys(&begun(self.is, first)));
        second.follow(self.then, (&begun, self.lying(first)), luck);
        let mut goals = 0..self.then.goals.len();
        let end = |project, board: &Board, goal| board.done(project, goal).unwrap_or(u32::MAX);
        let is_later = |goal| end(self.is, first, goal) < end(self.then, second, goal);
        if !goals.any(is_later) {
            return;
        }
        let followed = (second.clone(), cost(self.then, second));
        let places = self.places.iter().map(|place| as_key(*place));
        let ordered = self.plan(&places.collect::<Vec<_>>());
        let mut best = (followed.1, None);
        for plan in [&ordered, &begun] {
            second.place(self.then, plan, luck);
            let cost = cost(self.then, second);
            if cost < best.0 {
                best = (cost, Some(plan));
            }
        }
        match best.1 {
            Some(plan) => second.place(self.then, plan, luck),
            None => *second = followed.0,
        }
    }

    fn plan(&self, keys: &[f64]) -> Order {
        Order {
            blocks: decode(self.then, &self.rows, keys),
            ..self.plan.clone()
        }
    }

    /// What lies on the board of the first, in the numbers of the second.
    fn lying(&self, board: &Board) -> Lying {
        let mut lying: Lying = vec![Vec::new(); self.blocks.len()];
        let mut of = None;
        for placed in board.placed() {
            let ours = self.ours.get(placed.block).copied().flatten();
            if placed.again == 0 {
                of = ours.filter(|_| board.over(placed.block).is_some());
            }
            let lies = of.and_then(|of| lying.get_mut(of.block));
            if let (Some(lies), Some(ours)) = (lies, ours) {
                lies.push(Placed {
                    block: ours.block,
                    task: placed.task - ours.first_is + ours.first,
                    ..*placed
                });
            }
        }
        lying
    }

    /// The keys of the second's blocks from when those of the first were begun.
    fn keys(&self, begun: &[u32]) -> Vec<f64> {
        let all = self.blocks.iter().zip(&self.places).zip(&self.own);
        let key = |((twin, place), own): ((&Option<usize>, &usize), &u32)| {
            let slot = twin.and_then(|twin| begun.get(twin)).unwrap_or(own);
            // Far more than blocks in any shop, and far less than a double counts.
            f64::from(*slot) * 1e7 + as_key(*place)
        };
        all.map(key).collect()
    }
}

fn as_key(place: usize) -> f64 {
    f64::from(u32::try_from(place).unwrap_or(u32::MAX))
}

/// The block of the first shop that is the same work as one of the second; where a walk falls
/// into more blocks than in the other, the one as far along.
fn twin((is, then): (&Project, &Project), place: usize, block: &Block) -> Option<usize> {
    let job = then.jobs.get(block.job)?;
    let figure = &then.goals.get(job.figure)?.figure;
    let mut jobs = is.jobs.iter();
    let same = jobs.find(|it| {
        let goal = is.goals.get(it.figure);
        it.work == job.work && goal.is_some_and(|goal| goal.figure == *figure)
    })?;
    let (ours, theirs) = (job.end - job.first, same.end - same.first);
    if theirs == 0 {
        return None;
    }
    let nth = (place - job.first) * theirs / ours.max(1);
    Some(same.first + nth.min(theirs - 1))
}

#[cfg(test)]
mod tests {
    use super::{is_told, quantile};

    #[test]
    fn the_late_end_is_never_taken_too_early() {
        let ends: Vec<u32> = (1..=10).collect();
        assert_eq!((quantile(&ends, 9), quantile(&ends, 5)), (9, 5));
        let ends: Vec<u32> = (1..=11).collect();
        assert_eq!((quantile(&ends, 9), quantile(&ends, 5)), (10, 6));
        assert_eq!(quantile(&[], 9), u32::MAX);
    }

    #[test]
    fn a_shift_of_every_run_is_told_and_one_of_a_few_is_not() {
        let is: Vec<Option<u32>> = (0..100).map(|run| Some(run * 7 % 100)).collect();
        let later = |by: u32| -> Vec<_> { is.iter().map(|end| end.map(|it| it + by)).collect() };
        assert!(is_told(&is, &later(3), 9) && is_told(&is, &later(3), 5));
        assert!(!is_told(&is, &is, 9));
        // One run of a hundred comes later by far: the middle is where it was.
        let mut one = is.clone();
        one[40] = Some(5_000);
        assert!(!is_told(&is, &one, 5) && !is_told(&is, &one, 9));
        // What never ends is no noise.
        assert!(is_told(&is, &[None; 100], 9));
    }
}
