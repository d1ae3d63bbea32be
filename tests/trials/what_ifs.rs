//! What-ifs: what is told of a changed shop beside the shop as it is comes of the change and not
//! of luck. On random small shops a second pair of hands or a longer day, which nobody needs to
//! use, never shows a later date.

use knuckle::card::Mark;
use knuckle::deed::Attended;
use knuckle::plan::{
    Beside, Board, Cause, Hand, Luck, Order, Project, Runs, Slots, Turns, is_told, order,
    simulate_beside,
};

use crate::ahead_kit::{broken, shop};

const RUNS: u32 = 100;

const TURNS: Turns = Turns {
    first: 0,
    step: 1,
    end: RUNS,
    seed: 1,
};

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

/// The end by which so many of ten runs are done.
fn end(ends: &[Option<u32>], tenths: usize) -> u32 {
    let mut ends: Vec<u32> = ends.iter().map(|it| it.unwrap_or(u32::MAX)).collect();
    ends.sort_unstable();
    ends[ends.len() * tenths / 10 - 1]
}

/// The runs of a shop and of a changed one beside it.
fn beside((is, then): (&Project, &Project), best: &Order) -> (Runs, Runs) {
    let blank = [Beside::blank((is, then), 1)];
    let (runs, mut others) = simulate_beside(is, &blank, best, (TURNS, None));
    (runs, others.remove(0))
}

#[test]
fn one_more_pair_of_hands_or_a_longer_day_makes_nothing_later_in_any_run() {
    let mut sooner = 0;
    for seed in 1..=60 {
        let is = lucky(seed);
        let best = order(&is, 1, 3_000);
        let others = [
            ("gilder", second(&is, Mark::Gild)),
            ("joiner", second(&is, Mark::Join)),
            ("longer", longer(&is)),
        ];
        for (name, then) in others {
            let (runs, other) = beside((&is, &then), &best);
            for (goal, (a, b)) in runs.done.iter().zip(&other.done).enumerate() {
                let later = |(a, b): (&Option<u32>, &Option<u32>)| match (a, b) {
                    (Some(a), Some(b)) => a < b,
                    (Some(_), None) => true,
                    (None, _) => false,
                };
                let found = a.iter().zip(b).position(later);
                assert_eq!(found, None, "{seed} {name}, figure {goal}");
                for tenths in [5, 9] {
                    let told = is_told(a, b, tenths);
                    assert!(!told || end(b, tenths) < end(a, tenths), "{seed} {name}");
                    sooner += usize::from(told);
                }
            }
        }
    }
    assert!(100 < sooner, "{sooner}");
}

/// A wait that is shorter, its window left as it was, makes nothing later either.
#[test]
fn a_shorter_wait_makes_nothing_later() {
    let mut sooner = 0;
    for seed in 1..=60 {
        let is = lucky(seed);
        let mut then = is.clone();
        for task in &mut then.tasks {
            if task.kind == Attended::Clock {
                task.minutes = task.minutes.map(|it| it * 3 / 4);
            }
        }
        let best = order(&is, 1, 3_000);
        let (runs, other) = beside((&is, &then), &best);
        for (a, b) in runs.done.iter().zip(&other.done) {
            for tenths in [5, 9] {
                let told = is_told(a, b, tenths);
                assert!(!told || end(b, tenths) < end(a, tenths), "{seed}");
                sooner += usize::from(told);
            }
        }
    }
    assert!(10 < sooner, "{sooner}");
}

#[test]
fn a_difference_that_no_work_meets_leaves_every_end_where_it_was() {
    for seed in 1..=60 {
        let is = lucky(seed);
        let best = order(&is, 1, 3_000);
        let mut other = is.clone();
        let (a, b) = beside((&is, &other), &best);
        assert_eq!(a, b, "the same shop");
        other.hands.push(Hand {
            id: "nobody".into(),
            marks: Vec::new(),
            there: Slots::none(is.slots),
        });
        let (a, b) = beside((&is, &other), &best);
        assert_eq!(a.done, b.done, "somebody who is never there");
    }
}

/// The referee of the small shops finds nothing in a plan that was followed.
#[test]
fn a_plan_that_is_followed_keeps_every_window_calendar_room_and_mark() {
    for seed in 1..=200 {
        let is = lucky(seed);
        let then = match seed % 3 {
            0 => second(&is, Mark::Gild),
            1 => longer(&is),
            _ => {
                let mut slower = is.clone();
                for task in &mut slower.tasks {
                    if task.kind == Attended::Hands {
                        task.minutes = task.minutes.map(|it| it + it / 4);
                    }
                }
                slower
            }
        };
        let best = order(&is, 1, 1_000);
        let beside = Beside::of((&is, &then), &best, 1);
        let (mut first, mut second) = (Board::new(&is), Board::new(&then));
        let mut luck = Luck::likely(&is);
        luck.again = is
            .jobs
            .iter()
            .map(|job| u32::from(job.again.is_some()))
            .collect();
        first.place(&is, &best, &luck);
        let luck = Luck {
            again: luck.again.clone(),
            ..Luck::likely(&then)
        };
        beside.follow(&first, &mut second, &luck);
        let found = broken(&then, &luck, second.placed());
        assert!(found.is_empty(), "{seed} {found:#?}");
    }
}
