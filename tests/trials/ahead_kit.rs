//! Small invented shops for the trials of plans, and a referee who knows nothing of how a plan
//! is made: it looks at every task where it lies and says what is broken.

use knuckle::card::{Effect, Mark};
use knuckle::deed::{Attended, Work};
use knuckle::plan::{
    Again, Block, Cause, Edge, Effects, Goal, Hand, JobAhead, LINGERS_MIN, Limit, Link, Luck,
    Placed, Project, Slots, Task, slots_for, slots_within,
};

/// A row of numbers from a seed (the minimal standard of S. Park, K. Miller, Random number
/// generators: good ones are hard to find, Communications of the ACM 31, 1988).
pub(crate) struct Row(u64);

impl Row {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed % 2_147_483_646 + 1)
    }

    pub(crate) fn below(&mut self, of: u64) -> u64 {
        self.0 = self.0 * 16_807 % 2_147_483_647;
        self.0 % of
    }

    fn minutes(&mut self, least: u64, most: u64) -> u32 {
        u32::try_from(least + self.below(most - least + 1)).unwrap()
    }
}

/// A task of hands for so many minutes.
pub(crate) fn hands(mark: Mark, room: usize, minutes: u32) -> Task {
    Task {
        kind: Attended::Hands,
        mark,
        room,
        emits: Effects::default(),
        suffers: Effects::default(),
        minutes: [minutes; 3],
        cause: 0,
        link: Link::After,
        limit: None,
        another: false,
    }
}

/// Adds a job of one figure, its blocks behind each other and behind `before`.
pub(crate) fn job(
    project: &mut Project,
    figure: usize,
    blocks: Vec<Vec<Task>>,
    before: &[usize],
) -> usize {
    let first = project.blocks.len();
    let mut waits_for = before.to_vec();
    for tasks in blocks {
        let from = project.tasks.len();
        project.tasks.extend(tasks);
        project.blocks.push(Block {
            first: from,
            end: project.tasks.len(),
            before: waits_for,
            job: project.jobs.len(),
            spare: false,
        });
        let block = project.blocks.len() - 1;
        project.goals[figure].blocks.push(block);
        waits_for = vec![block];
    }
    let nth = u32::try_from(project.jobs.len()).unwrap();
    project.jobs.push(JobAhead {
        figure,
        work: Work {
            operation: format!("work-{nth}"),
            target: None,
            round: 1,
        },
        first,
        end: project.blocks.len(),
        again: None,
    });
    project.blocks.len() - 1
}

/// A coat, its drying in air free of dust, and the next coat before the window closes.
fn coats(row: &mut Row, room: usize) -> Vec<Task> {
    let suffers = Effects::of(&[Effect::Dust]);
    let mut first = hands(Mark::Paint, room, row.minutes(10, 120));
    first.suffers = suffers;
    let wait = row.minutes(300, 1_200);
    let dries = Task {
        kind: Attended::Clock,
        link: Link::AtOnce,
        suffers,
        ..hands(Mark::Any, room, wait)
    };
    let closes = wait + row.minutes(1_500, 3_000);
    let mut second = hands(Mark::Paint, room, row.minutes(10, 120));
    second.suffers = suffers;
    second.limit = Some(Limit {
        from: 0,
        what: Edge::Begun,
        minutes: closes,
    });
    vec![first, dries, second]
}

/// Size, its tack, and leaf that must be over before the size is dead.
fn leaf(row: &mut Row, room: usize) -> Vec<Task> {
    let suffers = Effects::of(&[Effect::Dust, Effect::Draught]);
    let ready = row.minutes(120, 720);
    let mut all = vec![
        hands(Mark::Gild, room, row.minutes(20, 60)),
        Task {
            kind: Attended::Clock,
            link: Link::AtOnce,
            ..hands(Mark::Any, room, ready)
        },
        hands(Mark::Gild, room, row.minutes(30, 150)),
    ];
    for task in &mut all {
        task.suffers = suffers;
    }
    all[2].limit = Some(Limit {
        from: 0,
        what: Edge::Over,
        minutes: ready + row.minutes(240, 600),
    });
    all
}

fn sanding(row: &mut Row, room: usize) -> Vec<Task> {
    let mut task = hands(Mark::Join, room, row.minutes(10, 180));
    task.emits = Effects::of(&[Effect::Dust]);
    vec![task]
}

fn watching(row: &mut Row, room: usize) -> Vec<Task> {
    let mut task = hands(Mark::Join, room, row.minutes(10, 120));
    task.kind = Attended::Watch;
    task.emits = Effects::of(&[Effect::Draught]);
    vec![task]
}

fn signature(room: usize) -> Vec<Task> {
    let mut task = hands(Mark::Any, room, 10);
    task.another = true;
    vec![hands(Mark::Any, room, 30), task]
}

/// A shop of four weeks: two or three people with a weekend and days off, three rooms of which
/// two share their air, up to three figures with a dozen jobs that windows tie together.
pub(crate) fn shop(seed: u64) -> Project {
    let mut row = Row::new(seed);
    let slots = 28 * 144;
    let mut project = Project {
        airs: vec![vec![0, 1], vec![0, 1], vec![2]],
        slots,
        causes: vec![Cause {
            figure: 0,
            words: "all".into(),
        }],
        ratios: vec![Vec::new()],
        ..Project::default()
    };
    let marks = [
        vec![Mark::Join, Mark::Paint],
        vec![Mark::Gild, Mark::Paint],
        vec![Mark::Join, Mark::Sign],
    ];
    for (nth, marks) in marks.into_iter().enumerate() {
        let mut there = Slots::none(slots);
        for day in 0..28 {
            let off = row.below(8) == 0;
            if day % 7 < 5 && !off {
                let from = day * 144 + 48 + u32::try_from(row.below(6)).unwrap();
                there.set(from, from + 54);
            }
        }
        let id = format!("person {nth}");
        project.hands.push(Hand { id, marks, there });
    }
    for nth in 0..=row.below(3) {
        project.goals.push(Goal {
            figure: format!("figure {nth}"),
            due: (row.below(2) == 0).then(|| row.minutes(500, 3_000)),
            ..Goal::default()
        });
    }
    for figure in 0..project.goals.len() {
        let mut last: Vec<usize> = Vec::new();
        for _ in 0..=row.below(5) {
            let before = if row.below(3) == 0 {
                Vec::new()
            } else {
                last.clone()
            };
            let room = usize::try_from(row.below(3)).unwrap();
            let made = match row.below(6) {
                0 => vec![coats(&mut row, room)],
                1 => vec![leaf(&mut row, room)],
                2 => vec![watching(&mut row, room)],
                3 => vec![signature(room)],
                _ => vec![sanding(&mut row, room), sanding(&mut row, room)],
            };
            let block = job(&mut project, figure, made, &before);
            if row.below(4) == 0 {
                let mine = project.jobs.last_mut().unwrap();
                mine.again = Some(Again {
                    chance: 0.5,
                    blocks: (mine.first..mine.end).collect(),
                    cause: 0,
                });
            }
            last = vec![block];
        }
    }
    project
}

/// Looks at where every task came to lie; returns what is broken.
pub(crate) fn broken(project: &Project, luck: &Luck, placed: &[Placed]) -> Vec<String> {
    let mut found = Vec::new();
    let mut say = |what: &str, at: &Placed| found.push(format!("{what}: {at:?}"));
    let task = |at: &Placed| &project.tasks[at.task];
    for at in placed {
        let task = task(at);
        if at.to - at.from != luck.slots[at.task] {
            say("takes another time than was drawn", at);
        }
        let mut slots = at.from..at.to;
        match (task.kind, at.who) {
            (Attended::Hands, Some(who)) => {
                let hand = &project.hands[who];
                if task.mark != Mark::Any && !hand.marks.contains(&task.mark) {
                    say("done by somebody without the mark", at);
                }
                if !slots.all(|slot| hand.there.is_set(slot)) {
                    say("done while that person is not there", at);
                }
            }
            (Attended::Hands, None) => say("done by nobody", at),
            (Attended::Watch, _) => {
                let near = |slot| {
                    let mut may = project.hands.iter();
                    may.any(|hand| hand.may(task.mark) && hand.there.is_set(slot))
                };
                if !slots.all(near) {
                    say("watched by nobody", at);
                }
            }
            _ => {}
        }
        let block = &project.blocks[at.block];
        let nth = at.task - block.first;
        let mate = |nth: usize| {
            let same = |it: &&Placed| it.block == at.block && it.again == at.again;
            let mut mates = placed.iter().filter(same);
            mates.find(|it| it.task == block.first + nth).unwrap()
        };
        if 0 < nth && task.link == Link::AtOnce && mate(nth - 1).to != at.from {
            say("does not begin when the one before it ends", at);
        }
        if 0 < nth && at.from < mate(nth - 1).to {
            say("begins before the one before it ends", at);
        }
        if let Some(limit) = task.limit {
            let closes = mate(limit.from).to + slots_within(limit.minutes);
            let edge = if limit.what == Edge::Begun {
                at.from
            } else {
                at.to
            };
            if closes < edge {
                say("misses its window", at);
            }
        }
        if task.another {
            let before = placed.iter().filter(|it| {
                project.blocks[it.block].job == block.job && it.to <= at.from && it.who.is_some()
            });
            let last = before.max_by_key(|it| it.to);
            if last.is_some_and(|last| last.who == at.who) {
                say("signed by who did it", at);
            }
        }
    }
    found.extend(broken_pairs(project, placed));
    found.extend(broken_order(project, placed));
    found
}

fn broken_pairs(project: &Project, placed: &[Placed]) -> Vec<String> {
    let mut found = Vec::new();
    for (nth, a) in placed.iter().enumerate() {
        for b in &placed[..nth] {
            let meet = |lingers: u32, giver: &Placed, bearer: &Placed| {
                giver.from < bearer.to && bearer.from < giver.to + lingers
            };
            if a.who.is_some() && a.who == b.who && meet(0, a, b) {
                found.push(format!("one person at two places: {a:?} {b:?}"));
            }
            let (one, other) = (&project.tasks[a.task], &project.tasks[b.task]);
            let same = a.block == b.block && a.again == b.again;
            if same || !project.airs[one.room].contains(&other.room) {
                continue;
            }
            let lingers = slots_for(LINGERS_MIN);
            let harm = (one.emits.meets(other.suffers) && meet(lingers, a, b))
                || (other.emits.meets(one.suffers) && meet(lingers, b, a));
            if harm {
                found.push(format!("one harms the other's air: {a:?} {b:?}"));
            }
        }
    }
    found
}

fn broken_order(project: &Project, placed: &[Placed]) -> Vec<String> {
    let mut found = Vec::new();
    let first = |block: usize| placed.iter().filter(move |it| it.block == block);
    for (place, block) in project.blocks.iter().enumerate() {
        let Some(begun) = first(place)
            .filter(|it| it.again == 0)
            .map(|it| it.from)
            .min()
        else {
            continue;
        };
        for before in &block.before {
            let job = &project.jobs[project.blocks[*before].job];
            // Whoever waits for the last block of a job waits for its rework too.
            let again = *before + 1 == job.end;
            let mut over = placed.iter().filter(|it| {
                (it.block == *before && it.again == 0)
                    || (again && 0 < it.again && (job.first..job.end).contains(&it.block))
            });
            if !over.clone().any(|it| it.block == *before) || over.any(|it| begun < it.to) {
                found.push(format!("block {place} begins before {before} is over"));
            }
        }
    }
    found
}
