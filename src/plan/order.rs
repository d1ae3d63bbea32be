//! Which block comes first: several rules are tried, the best is kept and made better by
//! changing one key at a time (random keys; R. Kolisch, S. Hartmann, Heuristic algorithms for
//! the resource-constrained project scheduling problem, in: Project Scheduling, 1999). Every
//! order keeps each block behind those that come before it, so that any keys give a plan.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::board::{Board, Luck, NOBODY};
use super::chance::Dice;
use super::project::{Project, slots_for};
use super::simulate::Player;
use crate::deed::Attended;

/// Blocks placed while a better order is sought (own choice: about half a second where a shop
/// is largest, and some thousand orders where it is small).
pub const SEARCH: usize = 300_000;

/// Clearing a board takes about as long as placing so many blocks.
const CLEARING: usize = 200;

/// A shop with no more blocks is looked at all over (own choice).
const SMALL: usize = 12;

/// What ends a window is held back by less than so many slots (own choice: an hour).
const MOST_HELD: usize = 6;

/// A late day counts as so many days of a figure that is done (own judgement: a promise weighs
/// more than an early end).
const LATE: u64 = 3;

/// A good order, and what it comes to when all takes its likely time.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Order {
    /// Blocks in the order of placing.
    pub blocks: Vec<usize>,
    /// Whom each block had rather do it, by place of the person; `usize::MAX` is nobody.
    pub prefers: Vec<usize>,
    /// Slots by which each block holds back what ends its window, so that other work fits
    /// between.
    pub holds: Vec<u32>,
    /// Slots until each figure is done, added up, late ones counted more; less is better.
    pub cost: u64,
}

/// A rule that comes to so much more than the best, as a share of it, is e times less likely to
/// be the one that a shop works by (own judgement: much less is lost in the luck of the runs).
const DOUBT: f64 = 0.03;

/// Returns a good order. `search` is how many blocks may be placed while seeking it; the same
/// seed gives the same order.
pub fn order(project: &Project, seed: u64, search: usize) -> Order {
    Rules::of(project).plan(project, (0, 1), seed, (search, 0))
}

/// Each rule is lived through so many times fewer runs than a forecast has, before plans begin with
/// it (own choice: a fifth of those runs, over all rules).
const LIVED: u32 = 30;

/// But through so many at least (own choice: one run alone says nothing of a rule).
const FEWEST_LIVED: u32 = 4;

/// Before one of the orders sought for a plan is chosen, each is lived through so many times fewer
/// runs than the plan has (own choice: half of those runs, over both orders).
const CHOOSING: u32 = 4;

/// What is added to the seed of a plan for the other order that is sought for it (own choice).
const OTHER_SEED: u64 = 500_009;

/// What is added to the seed for the luck by which an order is chosen (own choice).
const OWN_LUCK: u64 = 7_000_003;

/// The rules that a shop might work by, the best first.
pub(super) struct Rules(Vec<Rule>);

/// A rule, with the order that it gives and what that comes to.
struct Rule {
    order: Order,
    keys: Vec<f64>,
    /// As [`Order::cost`]; of a rule that was lived through, over all its runs.
    cost: u64,
}

impl Rules {
    pub(super) fn of(project: &Project) -> Self {
        let mut tried = Tried::new(project);
        let plain = plain(project);
        let rules = rules(project).into_iter();
        let rules = rules.map(|keys| {
            let order = tried.keys(&keys, &plain);
            let cost = order.cost;
            Rule { order, keys, cost }
        });
        Self::sorted(rules.collect())
    }

    fn sorted(mut all: Vec<Rule>) -> Self {
        all.sort_by_key(|rule| rule.cost);
        Self(all)
    }

    /// The same, by what each comes to in a shop as it is lived: things go wrong and are walked
    /// again, and a rule that just keeps a promise when all takes its likely time does not then.
    pub(super) fn lived_through(self, project: &Project, (runs, seed): (u32, u64)) -> Self {
        let runs = (runs / LIVED).max(FEWEST_LIVED);
        let rules = self.0.into_iter().map(|rule| Rule {
            cost: lived(project, &rule.order, (runs, seed)),
            ..rule
        });
        Self::sorted(rules.collect())
    }

    /// Returns the order of one of several plans, the first of which is number 0. Each begins with
    /// a rule, the better ones in more of them: of two rules that come to nearly the same, the best
    /// of one hour may be the second of the next, and with it two figures would change places in
    /// every plan at once.
    ///
    /// `runs` are those of the forecast. Two orders are sought, one with a better rule, and the one
    /// is taken that comes to less when it is lived through: an order that is good while all takes
    /// its likely time may leave one figure no day to spare, and no shop keeps to it for months.
    pub(super) fn plan(
        &self,
        project: &Project,
        (number, of): (u32, u32),
        seed: u64,
        (search, runs): (usize, u32),
    ) -> Order {
        let mut tried = Tried::new(project);
        let mut sought_by = |number: u32, seed: u64, search: usize| {
            let rule = self.chosen((number, of))?;
            let begun = (rule.order.clone(), rule.keys.clone());
            Some(improved(&mut tried, begun, seed, search))
        };
        let lives = runs / of.max(1) / CHOOSING;
        if lives == 0 {
            return sought_by(number, seed, search).unwrap_or_default();
        }
        let each = search / 2;
        let other = seed.wrapping_add(OTHER_SEED);
        let sought = [
            sought_by(number, seed, each),
            sought_by(number / 2, other, each),
        ];
        // Luck of its own: what is chosen by some runs may not be measured by the same.
        let luck = (lives, seed.wrapping_add(OWN_LUCK));
        let chosen = sought
            .into_iter()
            .flatten()
            .min_by_key(|order| lived(project, order, luck));
        chosen.unwrap_or_default()
    }

    /// Which rule a plan begins with, by its place: of one plan alone the best.
    fn chosen(&self, (number, of): (u32, u32)) -> Option<&Rule> {
        let best = self.0.first()?;
        if of < 2 {
            return Some(best);
        }
        #[expect(
            clippy::cast_precision_loss,
            reason = "slots of some years, many figures"
        )]
        let weight = |rule: &Rule| {
            let more = rule.cost as f64 / best.cost.max(1) as f64 - 1.0;
            (-more / DOUBT).exp()
        };
        let all: f64 = self.0.iter().map(weight).sum();
        let mut left = (f64::from(number) + 0.5) / f64::from(of) * all;
        let found = self.0.iter().find(|rule| {
            let here = left < weight(rule);
            left -= weight(rule);
            here
        });
        found.or(Some(best))
    }
}

/// What an order comes to over so many runs in which things go wrong.
fn lived(project: &Project, order: &Order, (runs, seed): (u32, u64)) -> u64 {
    let mut player = Player::new(project, seed, None);
    (0..u64::from(runs)).for_each(|run| player.play(run, order));
    let done = |run: usize| move |row: &Vec<Option<u32>>| row.get(run).copied().flatten();
    let costs =
        (0..runs as usize).map(|run| cost_of(project, player.all.done.iter().map(done(run))));
    costs.sum()
}

/// The board on which orders are tried, all taking its likely time.
struct Tried<'p> {
    project: &'p Project,
    board: Board,
    luck: Luck,
    rows: Vec<Vec<usize>>,
}

impl<'p> Tried<'p> {
    fn new(project: &'p Project) -> Self {
        Self {
            project,
            board: Board::new(project),
            luck: Luck::likely(project),
            rows: rows(project),
        }
    }

    /// Returns the order that keys give, with what another prefers and holds, and what it costs.
    fn keys(&mut self, keys: &[f64], like: &Order) -> Order {
        let mut found = Order {
            blocks: decode(self.project, &self.rows, keys),
            ..like.clone()
        };
        self.board.place(self.project, &found, &self.luck);
        found.cost = cost(self.project, &self.board);
        found
    }
}

/// Nobody is preferred and nothing is held back.
fn plain(project: &Project) -> Order {
    Order {
        prefers: vec![NOBODY; project.blocks.len()],
        holds: vec![0; project.blocks.len()],
        ..Order::default()
    }
}

/// Changes a key at a time and keeps what is no worse.
fn improved(
    tried: &mut Tried<'_>,
    (mut best, mut keys): (Order, Vec<f64>),
    seed: u64,
    search: usize,
) -> Order {
    let project = tried.project;
    let mut dice = Dice::new(seed);
    let movable: Vec<usize> = best.blocks.clone();
    let rounds = search / (movable.len() + CLEARING);
    for _ in 0..rounds {
        let mut like = best.clone();
        // A small shop is looked at all over, a large one near what is good already.
        let anew = movable.len() <= SMALL && dice.share() < 0.5;
        let changed = if anew {
            keys.iter().map(|_| dice.share()).collect()
        } else {
            change(&keys, &movable, project, &mut dice)
        };
        let times = if anew { movable.len() } else { 1 };
        for _ in 0..times {
            prefer(&mut like, &movable, project, &mut dice);
        }
        let found = tried.keys(&changed, &like);
        if found.cost <= best.cost {
            (best, keys) = (found, changed);
        }
    }
    best
}

/// What a placed board comes to.
pub fn cost(project: &Project, board: &Board) -> u64 {
    let goals = 0..project.goals.len();
    cost_of(project, goals.map(|goal| board.done(project, goal)))
}

/// What the ends of all figures come to, in the order of the goals.
fn cost_of(project: &Project, done: impl Iterator<Item = Option<u32>>) -> u64 {
    let never = u64::from(project.slots) * 2;
    let costs = project.goals.iter().zip(done).map(|(goal, done)| {
        let done = done.map_or(never, u64::from);
        let late = goal
            .due
            .map_or(0, |due| done.saturating_sub(u64::from(due)));
        done + LATE * late
    });
    costs.sum()
}

/// Blocks that wait for each block.
pub(super) fn rows(project: &Project) -> Vec<Vec<usize>> {
    let mut rows = vec![Vec::new(); project.blocks.len()];
    for (place, block) in project.blocks.iter().enumerate() {
        for before in &block.before {
            if let Some(row) = rows.get_mut(*before) {
                row.push(place);
            }
        }
    }
    rows
}

/// A block whose forerunners are all in order already; the smallest key comes out first.
struct Ready(f64, usize);

impl PartialEq for Ready {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Ready {}

impl PartialOrd for Ready {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Ready {
    fn cmp(&self, other: &Self) -> Ordering {
        other.0.total_cmp(&self.0).then(other.1.cmp(&self.1))
    }
}

/// Returns the blocks by their keys, each behind its forerunners.
pub(super) fn decode(project: &Project, rows: &[Vec<usize>], keys: &[f64]) -> Vec<usize> {
    let key = |block: usize| keys.get(block).copied().unwrap_or_default();
    let mut open: Vec<usize> = project.blocks.iter().map(|it| it.before.len()).collect();
    let mut ready: BinaryHeap<Ready> = (0..project.blocks.len())
        .filter(|block| open.get(*block) == Some(&0))
        .filter(|block| project.blocks.get(*block).is_some_and(|it| !it.spare))
        .map(|block| Ready(key(block), block))
        .collect();
    let mut order = Vec::with_capacity(project.blocks.len());
    while let Some(Ready(_, block)) = ready.pop() {
        order.push(block);
        for next in rows.get(block).into_iter().flatten() {
            if let Some(left) = open.get_mut(*next) {
                *left -= 1;
                if *left == 0 {
                    ready.push(Ready(key(*next), *next));
                }
            }
        }
    }
    order
}

/// The keys of the rules that are tried first.
fn rules(project: &Project) -> Vec<Vec<f64>> {
    let tails = tails(project);
    let per_block = |key: &dyn Fn(usize, usize) -> f64| -> Vec<f64> {
        let goals = goal_of(project);
        let rows = (0..project.blocks.len()).zip(goals);
        rows.map(|(block, goal)| key(block, goal)).collect()
    };
    let tail = |block: usize| tails.get(block).copied().unwrap_or_default();
    let longest = tails.iter().copied().fold(0.0, f64::max);
    let due = |goal: usize| {
        let due = project.goals.get(goal).and_then(|goal| goal.due);
        due.map_or(2.0 * longest, f64::from)
    };
    let mut work = vec![0.0; project.goals.len()];
    for (block, goal) in goal_of(project).into_iter().enumerate() {
        if let Some(sum) = work.get_mut(goal) {
            *sum += hands(project, block);
        }
    }
    let work = |goal: usize| work.get(goal).copied().unwrap_or_default();
    vec![
        // Latest start that keeps the promise.
        per_block(&|block, goal| due(goal) - tail(block)),
        // What has most before it.
        per_block(&|block, _| -tail(block)),
        // One figure after the other, the first promised first.
        per_block(&|block, goal| due(goal) * 1e6 - tail(block)),
        // One figure after the other, the one with least work first.
        per_block(&|block, goal| work(goal) * 1e6 - tail(block)),
        // Shortest hands first, of what keeps people busy.
        per_block(&|block, _| hands(project, block)),
        // Least work of the whole figure against what lies before the block.
        per_block(&|block, goal| work(goal) - tail(block)),
    ]
}

/// The figure of each block.
fn goal_of(project: &Project) -> Vec<usize> {
    let job = |job: usize| project.jobs.get(job).map_or(0, |job| job.figure);
    project.blocks.iter().map(|block| job(block.job)).collect()
}

/// Slots of hands in a block, likely.
fn hands(project: &Project, block: usize) -> f64 {
    let tasks = project.of_block(block).iter();
    let hands = tasks.filter(|task| task.kind == Attended::Hands);
    hands.map(|task| f64::from(likely(&task.minutes))).sum()
}

fn likely(minutes: &[u32; 3]) -> u32 {
    let [_, likely, _] = *minutes;
    slots_for(likely)
}

/// Slots from the beginning of each block to the end of all that waits for it, hands counted
/// by the week that they are there.
fn tails(project: &Project) -> Vec<f64> {
    let there: u32 = project.hands.first().map_or(1, |hand| count(&hand.there));
    let stretch = f64::from(project.slots.max(1)) / f64::from(there.max(1));
    let rows = rows(project);
    let mut tails = vec![0.0; project.blocks.len()];
    let order = decode(project, &rows, &vec![0.0; project.blocks.len()]);
    for block in order.into_iter().rev() {
        let behind = rows.get(block).into_iter().flatten();
        let behind = behind
            .filter_map(|next| tails.get(*next).copied())
            .fold(0.0, f64::max);
        let own: f64 = project
            .of_block(block)
            .iter()
            .map(|task| match task.kind {
                Attended::Hands | Attended::Watch => f64::from(likely(&task.minutes)) * stretch,
                _ => f64::from(likely(&task.minutes)),
            })
            .sum();
        if let Some(tail) = tails.get_mut(block) {
            *tail = own + behind;
        }
    }
    tails
}

fn count(slots: &super::slots::Slots) -> u32 {
    let (mut at, mut sum) = (slots.next_set(0), 0);
    while at < slots.len() {
        let to = slots.next_unset(at);
        sum += to - at;
        at = slots.next_set(to);
    }
    sum
}

/// Now and then gives one block to a person, or leaves it to whoever is free, or holds back
/// what ends its window.
fn prefer(order: &mut Order, movable: &[usize], project: &Project, dice: &mut Dice) {
    let kind = dice.share();
    let Some(block) = movable.get(dice.below(movable.len())).copied() else {
        return;
    };
    if kind < 0.3 {
        let who = dice.below(project.hands.len() + 1);
        if let Some(kept) = order.prefers.get_mut(block) {
            *kept = if who < project.hands.len() {
                who
            } else {
                NOBODY
            };
        }
    } else if kind < 0.5 && project.of_block(block).iter().any(|it| it.limit.is_some()) {
        let hold = u32::try_from(dice.below(MOST_HELD)).unwrap_or_default();
        if let Some(kept) = order.holds.get_mut(block) {
            *kept = hold;
        }
    }
}

/// Changes one key: that of a block takes the place of another's, two change places, or a
/// whole figure moves against the others.
fn change(keys: &[f64], movable: &[usize], project: &Project, dice: &mut Dice) -> Vec<f64> {
    let mut changed = keys.to_vec();
    let pick = |dice: &mut Dice| movable.get(dice.below(movable.len())).copied();
    let (Some(one), Some(other)) = (pick(dice), pick(dice)) else {
        return changed;
    };
    let key = |block: usize| keys.get(block).copied().unwrap_or_default();
    let put = |changed: &mut Vec<f64>, block: usize, to: f64| {
        if let Some(key) = changed.get_mut(block) {
            *key = to;
        }
    };
    let kind = dice.share();
    if kind < 0.4 {
        put(&mut changed, one, key(other));
        put(&mut changed, other, key(one));
    } else if kind < 0.8 {
        let near = 0.5 - dice.share();
        put(&mut changed, one, key(other) + near);
    } else {
        let goals = goal_of(project);
        let goal = goals.get(one);
        let by = key(other) - key(one);
        for (block, place) in goals.iter().enumerate() {
            if Some(place) == goal {
                put(&mut changed, block, key(block) + by);
            }
        }
    }
    changed
}
