//! Runs a project many times over, each time with other luck, and keeps when each figure was
//! done. One number is drawn for each cause and run: all zones of a figure are stripped fast
//! or all slowly, for it is the same hand and the same paint; so their luck does not cancel
//! out and the late date is not promised too early.

use super::beside::Beside;
use super::board::{Board, Luck};
use super::chance::{draw, name, seen, triangular};
use super::order::Order;
use super::project::{Project, Task, slots_for};
use crate::deed::Attended;

/// Most rounds that one operation is walked again in a run (own choice).
const MOST_AGAIN: u32 = 3;

/// The shop's own ratio of n walks counts by n/(n + 4) against what is usual (robust shrinking;
/// own judgement, the same as for the times of a lot).
const SHRINK: f64 = 4.0;

/// What came of all runs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Runs {
    /// The slot at which each figure was done, run by run; `None` where it was not within the
    /// slots looked at.
    pub done: Vec<Vec<Option<u32>>>,
    /// What was drawn for each cause, run by run.
    pub drawn: Vec<Vec<f64>>,
    /// The slots at which each job of the watched figure began and was over, run by run.
    pub jobs: Vec<(usize, Vec<(u32, u32)>)>,
}

/// Which runs are played, and with whose luck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turns {
    /// The number of the first run.
    pub first: u32,
    /// From one run to the next.
    pub step: u32,
    /// One past the last run.
    pub end: u32,
    /// The same seed gives every run the same luck.
    pub seed: u64,
}

impl Turns {
    pub(super) fn runs(self) -> impl Iterator<Item = u64> {
        let step = usize::try_from(self.step.max(1)).unwrap_or(1);
        (self.first..self.end).step_by(step).map(u64::from)
    }
}

impl Runs {
    /// Returns the runs of several plans as one: the first of each, then the second of each.
    pub fn in_turn(parts: &[&Self]) -> Self {
        let each = |of: &dyn Fn(&Self) -> usize| parts.first().map_or(0, |first| of(first));
        let done = |nth: usize| woven(parts.iter().map(|it| it.done.get(nth)));
        let drawn = |nth: usize| woven(parts.iter().map(|it| it.drawn.get(nth)));
        let spans = |nth: usize| woven(parts.iter().map(|it| it.jobs.get(nth).map(|it| &it.1)));
        let jobs = parts.first().map_or(&[][..], |it| it.jobs.as_slice());
        let jobs = jobs.iter().enumerate();
        Self {
            done: (0..each(&|it| it.done.len())).map(done).collect(),
            drawn: (0..each(&|it| it.drawn.len())).map(drawn).collect(),
            jobs: jobs.map(|(nth, (job, _))| (*job, spans(nth))).collect(),
        }
    }
}

/// The first of each row, then the second of each, as far as they go.
fn woven<'r, T: Copy + 'r>(rows: impl Iterator<Item = Option<&'r Vec<T>>>) -> Vec<T> {
    let rows: Vec<&Vec<T>> = rows.flatten().collect();
    let longest = rows.iter().map(|row| row.len()).max().unwrap_or_default();
    let nth = |nth| rows.iter().filter_map(move |row: &&Vec<T>| row.get(nth));
    (0..longest).flat_map(nth).copied().collect()
}

/// A project that is run over and over.
pub(super) struct Player<'p> {
    project: &'p Project,
    seed: u64,
    pub(super) board: Board,
    /// A number for each cause, from its name.
    names: Vec<u64>,
    luck: Luck,
    pub(super) all: Runs,
}

impl<'p> Player<'p> {
    pub(super) fn new(project: &'p Project, seed: u64, watched: Option<usize>) -> Self {
        let causes = project.causes.iter();
        let jobs = project.jobs.iter().enumerate();
        let watched = jobs.filter(|(_, job)| Some(job.figure) == watched);
        Self {
            project,
            seed,
            board: Board::new(project),
            names: causes.map(|it| cause_name(project, it)).collect(),
            luck: Luck::default(),
            all: Runs {
                done: vec![Vec::new(); project.goals.len()],
                drawn: vec![Vec::new(); project.causes.len()],
                jobs: watched.map(|(job, _)| (job, Vec::new())).collect(),
            },
        }
    }

    /// Draws the luck of one run, places all blocks in this order and keeps what came of it.
    pub(super) fn play(&mut self, run: u64, order: &Order) {
        self.draw(run);
        self.board.place(self.project, order, &self.luck);
        self.keep();
    }

    /// Draws the luck of one run, follows what lies on the board of another shop and keeps what
    /// came of it.
    pub(super) fn follow(&mut self, run: u64, beside: &Beside<'_>, first: &Board) {
        self.draw(run);
        beside.follow(first, &mut self.board, &self.luck);
        self.keep();
    }

    fn draw(&mut self, run: u64) {
        for (drawn, name) in self.all.drawn.iter_mut().zip(&self.names) {
            drawn.push(draw(self.seed, run, *name));
        }
        fill(self.project, &self.all.drawn, &mut self.luck);
    }

    fn keep(&mut self) {
        for (goal, done) in self.all.done.iter_mut().enumerate() {
            done.push(self.board.done(self.project, goal));
        }
        keep_jobs(self.project, &self.board, &mut self.all.jobs);
    }
}

/// A cause has the same luck in every shop that has it, so that two shops differ by what was
/// changed and not by chance.
fn cause_name(project: &Project, cause: &super::project::Cause) -> u64 {
    let figure = project.goals.get(cause.figure);
    name(&format!(
        "{}/{}",
        figure.map_or("", |goal| goal.figure.as_str()),
        cause.words
    ))
}

fn fill(project: &Project, drawn: &[Vec<f64>], luck: &mut Luck) {
    let last = |cause: usize| drawn.get(cause).and_then(|it| it.last()).copied();
    luck.slots.clear();
    luck.slots.extend(project.tasks.iter().map(|task| {
        let u = last(task.cause).unwrap_or(0.5);
        let ratios = project
            .ratios
            .get(task.cause)
            .map_or(&[][..], Vec::as_slice);
        slots_for(minutes(task, ratios, u))
    }));
    luck.again.clear();
    luck.again.extend(project.jobs.iter().map(|job| {
        let again = job.again.as_ref();
        again.map_or(0, |again| {
            times(again.chance, last(again.cause).unwrap_or(0.0))
        })
    }));
}

/// Minutes of a task where a share `u` of all are shorter: what is usual, and of hands what
/// the shop's own journal says, each by its weight.
fn minutes(task: &Task, ratios: &[f64], u: f64) -> u32 {
    let usual = triangular(task.minutes.map(f64::from), u);
    if ratios.is_empty() || task.kind != Attended::Hands || usual <= 0.0 {
        return whole(usual);
    }
    let count = f64::from(u32::try_from(ratios.len()).unwrap_or(u32::MAX));
    let weight = count / (count + SHRINK);
    let [_, likely, _] = task.minutes;
    let own = f64::from(likely) * seen(ratios, u);
    whole((weight * own.ln() + (1.0 - weight) * usual.ln()).exp())
}

fn whole(minutes: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "held within a century of minutes just here"
    )]
    let whole = minutes.ceil().clamp(0.0, 5e7) as u32;
    whole
}

/// How often a job is walked again when a share `u` of all jobs have less luck.
fn times(chance: f64, u: f64) -> u32 {
    let unlucky = 1.0 - u;
    let mut bar = chance;
    let mut times = 0;
    while unlucky < bar && times < MOST_AGAIN {
        times += 1;
        bar *= chance;
    }
    times
}

fn keep_jobs(project: &Project, board: &Board, jobs: &mut [(usize, Vec<(u32, u32)>)]) {
    if jobs.is_empty() {
        return;
    }
    let mut begun = vec![u32::MAX; project.jobs.len()];
    for placed in board.placed().iter().filter(|it| it.again == 0) {
        let block = project.blocks.get(placed.block);
        if let Some(begun) = block.and_then(|block| begun.get_mut(block.job)) {
            *begun = placed.from.min(*begun);
        }
    }
    for (job, kept) in jobs {
        let ahead = project.jobs.get(*job);
        let last = ahead.and_then(|ahead| ahead.end.checked_sub(1));
        let over = last.and_then(|last| board.over(last));
        let begun = begun.get(*job).copied().unwrap_or(u32::MAX);
        kept.push((begun, over.unwrap_or(u32::MAX)));
    }
}

#[cfg(test)]
mod tests {
    use super::times;

    #[test]
    fn as_many_runs_go_wrong_as_the_chance_says() {
        let runs = 1000;
        let again = |chance: f64| {
            let all = (0..runs).map(|it| times(chance, (f64::from(it) + 0.5) / f64::from(runs)));
            all.filter(|times| 0 < *times).count()
        };
        assert_eq!((again(0.0), again(0.1), again(0.25)), (0, 100, 250));
        // Twice in a row has the square of the chance (geometric distribution).
        assert_eq!(
            (times(0.5, 0.74), times(0.5, 0.76), times(0.5, 0.99)),
            (1, 2, 3)
        );
    }
}
