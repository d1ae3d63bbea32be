//! What-ifs: what is told of a changed shop beside the shop as it is comes of the change and not
//! of luck. On random small shops a second pair of hands or a longer day, which nobody needs to
//! use, never shows a later date.

use knuckle::card::Mark;
use knuckle::deed::Attended;
use knuckle::plan::{
    Cause, Effects, Goal, Hand, Order, Project, Slots, is_told, order, simulate_beside,
};

use crate::ahead_kit::{Row, hands, job, shop};

const RUNS: u32 = 100;

/// A random small shop in which every job has luck of its own.
fn lucky(seed: u64) -> Project {
    let mut project = shop(seed);
    for (nth, job) in project.jobs.iter_mut().enumerate() {
        let cause = project.causes.len();
        project.causes.push(Cause {
            figure: job.figure,
            words: format!("job {nth}"),
        });
        project.ratios.push(Vec::new());
        for block in &project.blocks[job.first..job.end] {
            for task in &mut project.tasks[block.first..block.end] {
                task.cause = cause;
                if task.kind == Attended::Hands {
                    let [_, likely, _] = task.minutes;
                    task.minutes = [likely * 4 / 5, likely, likely * 3 / 2];
                }
            }
        }
        if let Some(again) = &mut job.again {
            again.cause = cause;
        }
    }
    project
}

/// The same shop with one more person who has one mark.
fn second(project: &Project, mark: Mark) -> Project {
    let first = project.hands.iter().find(|hand| hand.may(mark)).unwrap();
    let mut more = project.clone();
    more.hands.push(Hand {
        id: "second".into(),
        marks: vec![mark],
        there: first.there.clone(),
    });
    more
}

/// The same shop that opens an hour earlier and closes an hour later.
fn longer(project: &Project) -> Project {
    let mut more = project.clone();
    for hand in &mut more.hands {
        let mut there = Slots::none(project.slots);
        for slot in (6..project.slots - 6).filter(|slot| hand.there.is_set(*slot)) {
            there.set(slot - 6, slot + 7);
        }
        hand.there = there;
    }
    more
}

#[test]
fn one_more_pair_of_hands_or_a_longer_day_is_never_told_as_later() {
    let mut found = Vec::new();
    let (mut sooner, mut told) = (0, 0);
    for seed in 1..=60 {
        let is = lucky(seed);
        let best = order(&is, 1, 3_000);
        let others = [
            ("gilder", second(&is, Mark::Gild)),
            ("joiner", second(&is, Mark::Join)),
            ("longer", longer(&is)),
        ];
        for (name, then) in others {
            let (runs, other) = simulate_beside((&is, &then), &best, (RUNS, 1), None);
            for goal in 0..is.goals.len() {
                for tenths in [5, 9] {
                    let (a, b) = (&runs.done[goal], &other.done[goal]);
                    let end = |ends: &[Option<u32>]| {
                        let mut ends: Vec<u32> =
                            ends.iter().map(|it| it.unwrap_or(u32::MAX)).collect();
                        ends.sort_unstable();
                        ends[ends.len() * tenths / 10 - 1]
                    };
                    if is_told(a, b, tenths) {
                        told += 1;
                        if end(a) < end(b) {
                            found.push((seed, name, goal, tenths, end(a), end(b)));
                        } else {
                            sooner += 1;
                        }
                    }
                }
            }
        }
    }
    eprintln!("told {told} sooner {sooner}");
    assert!(found.is_empty(), "{} {found:?}", found.len());
    assert!(100 < sooner, "{sooner} of {told}");
}

#[test]
fn a_shop_beside_itself_ends_on_the_same_days() {
    let mut alike = 0;
    let mut all = 0;
    for seed in 1..=60 {
        let is = lucky(seed);
        let best = order(&is, 1, 3_000);
        let (a, b) = simulate_beside((&is, &is.clone()), &best, (RUNS, 1), None);
        assert_eq!(a, b);
        // A difference that no work meets leaves every end where it was.
        let mut other = is.clone();
        other.hands.push(Hand {
            id: "nobody".into(),
            marks: Vec::new(),
            there: Slots::none(is.slots),
        });
        let (a, b) = simulate_beside((&is, &other), &best, (RUNS, 1), None);
        for goal in 0..is.goals.len() {
            for tenths in [5, 9] {
                all += 1;
                if !is_told(&a.done[goal], &b.done[goal], tenths) {
                    alike += 1;
                }
            }
        }
    }
    assert_eq!(alike, all);
}
