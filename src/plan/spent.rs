//! Hours of hands, read from the journals: who spent them, on what, and how they compare with
//! what is usual. Nothing about anybody's health is here, and no hour of waiting.
//!
//! The rule: the time before an act belongs to it, from the same person's last act of that
//! day, wherever that was, but at most two hours; the first act of a day, and an act that ended
//! a wait, bring nothing, and the first act behind a gate that time alone opens brings a quarter
//! of an hour at most. Who only signed a walk did no work on it. So nobody's hour counts twice,
//! breaks of more than two hours are cut, and a night is never work.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};

use crate::card::{Checklist, GateKind};
use crate::deed::{Stamp, Work};
use crate::standing::{Act, House, Job, JobState, on_card};

/// Longest time before an act that counts as work, minutes (own judgement: more than that is a
/// break or another trade).
const LONGEST_MIN: f64 = 120.0;

/// Longest time before the first act behind a gate that time alone opens, minutes (own judgement:
/// looking whether it is open; the rest was waiting).
const LOOK_MIN: f64 = 15.0;

/// Blocks of the work, in the order of the journey.
pub const BLOCKS: [&str; 9] = [
    "survey, scheme",
    "strip, wash",
    "dry",
    "joints, wood",
    "fill, sand",
    "prime, paint",
    "gild",
    "varnish",
    "inspect, hand over",
];

/// Returns the place among [`BLOCKS`] of an operation, by its order in the journey.
pub fn block_of(order: u32) -> usize {
    match order {
        0..=5 => 0,
        6..=8 => 1,
        9 => 2,
        10..=15 => 3,
        16..=17 => 4,
        18..=20 => 5,
        21 => 6,
        22 => 7,
        _ => 8,
    }
}

/// Hands of one person on one walk, all together.
#[derive(Debug, Clone, PartialEq)]
pub struct Spent {
    /// Figure id.
    pub figure: String,
    /// The walk.
    pub work: Work,
    /// Person id.
    pub by: String,
    /// Minutes.
    pub minutes: f64,
}

/// An act of a hand.
struct Touch<'a> {
    at: DateTime<FixedOffset>,
    figure: &'a str,
    work: &'a Work,
    by: &'a str,
    n: u64,
    /// As much of the time before it may be its own, minutes.
    most: f64,
}

/// Hands of one person on one figure in some span of time.
#[derive(Debug, Clone, PartialEq)]
pub struct Hands {
    /// Person id.
    pub by: String,
    /// Figure id.
    pub figure: String,
    /// Minutes.
    pub minutes: f64,
    /// The line of the last act.
    pub line: u64,
}

/// Returns the hours of hands on every walk of the shop, by figure, walk and person.
pub fn spent(house: House<'_>) -> Vec<Spent> {
    let mut sums: BTreeMap<(&str, &Work, &str), f64> = BTreeMap::new();
    for (touch, minutes) in counted(house) {
        *sums
            .entry((touch.figure, touch.work, touch.by))
            .or_default() += minutes;
    }
    let all = sums.into_iter().filter(|(_, minutes)| 0.0 < *minutes);
    all.map(|((figure, work, by), minutes)| Spent {
        figure: figure.to_owned(),
        work: work.clone(),
        by: by.to_owned(),
        minutes,
    })
    .collect()
}

/// Returns the hours of hands by person and figure, of the acts whose moment is wanted.
pub fn hands_when(
    house: House<'_>,
    is_wanted: impl Fn(DateTime<FixedOffset>) -> bool,
) -> Vec<Hands> {
    let mut sums: BTreeMap<(&str, &str), (f64, u64)> = BTreeMap::new();
    let wanted = counted(house).into_iter();
    for (touch, minutes) in wanted.filter(|(touch, _)| is_wanted(touch.at)) {
        let (sum, line) = sums.entry((touch.by, touch.figure)).or_default();
        *sum += minutes;
        *line = touch.n.max(*line);
    }
    let all = sums.into_iter().filter(|(_, (minutes, _))| 0.0 < *minutes);
    all.map(|((by, figure), (minutes, line))| Hands {
        by: by.to_owned(),
        figure: figure.to_owned(),
        minutes,
        line,
    })
    .collect()
}

/// Every act of a hand with the minutes that belong to it, by person and time.
fn counted(house: House<'_>) -> Vec<(Touch<'_>, f64)> {
    let mut touches = Vec::new();
    for (figure, standing) in &house.standing.figures {
        for job in &standing.jobs {
            let list = house.cards.checklists.get(&job.work.operation);
            touches.extend(touches_of(figure, job, list));
        }
    }
    touches.sort_by(|a, b| a.by.cmp(b.by).then(a.at.cmp(&b.at)));
    let mut before: Option<(&str, DateTime<FixedOffset>)> = None;
    let all = touches.into_iter().map(|touch| {
        let same_day =
            before.filter(|(by, at)| *by == touch.by && at.date_naive() == touch.at.date_naive());
        let minutes = same_day.map_or(0.0, |(_, at)| {
            minutes_between(at, touch.at).clamp(0.0, touch.most)
        });
        before = Some((touch.by, touch.at));
        (touch, minutes)
    });
    all.collect()
}

fn touches_of<'a>(
    figure: &'a str,
    job: &'a Job,
    list: Option<&'a Checklist>,
) -> impl Iterator<Item = Touch<'a>> {
    let touch = move |stamp: &'a Stamp, most: f64| Touch {
        at: stamp.at,
        figure,
        work: &job.work,
        by: &stamp.by,
        n: stamp.n,
        most,
    };
    let acts = job.acts.iter().flat_map(move |(step, act)| {
        let most = if waits(list, step) { 0.0 } else { LONGEST_MIN };
        let first = stamps(act).map(|stamp| stamp.n).min();
        let first = first.filter(|_| is_behind_time(list, step));
        stamps(act).map(move |stamp| {
            let is_first = Some(stamp.n) == first;
            touch(stamp, if is_first { most.min(LOOK_MIN) } else { most })
        })
    });
    let end = match &job.state {
        JobState::Finished(stamp) | JobState::SentBack { stamp, .. } => {
            // A signature ends a walk, and is no hour of hands.
            let is_hand = job.hands().contains(stamp.by.as_str());
            Some(touch(stamp, if is_hand { LONGEST_MIN } else { 0.0 }))
        }
        JobState::Open => None,
    };
    std::iter::once(touch(&job.begun, LONGEST_MIN))
        .chain(acts)
        .chain(end)
}

/// Whether a step is one that waits, so that the time before its end is nobody's work.
fn waits(list: Option<&Checklist>, step: &str) -> bool {
    let rests = step.contains('#') && step.ends_with("-dry");
    rests
        || list.is_some_and(|list| {
            let mut steps = list.steps.iter();
            steps.any(|it| it.id == step && it.until.is_some())
        })
}

/// Whether a gate stands before a step that nothing but time opens: a cure, a coat below, dust
/// that settles, size.
fn is_behind_time(list: Option<&Checklist>, step: &str) -> bool {
    let by_time = |kind: GateKind| {
        matches!(
            kind,
            GateKind::Cured | GateKind::Recoat | GateKind::QuietAir | GateKind::SizeReady
        )
    };
    let mut steps = list.into_iter().flat_map(|list| &list.steps);
    steps.any(|it| it.id == on_card(step) && it.gates.iter().any(|ask| by_time(ask.gate)))
}

fn stamps(act: &Act) -> impl Iterator<Item = &Stamp> {
    let ticks = act.ticks.iter().map(|kept| &kept.stamp);
    let records = act.records.iter().map(|kept| &kept.stamp);
    let tests = act.tests.iter().map(|kept| &kept.stamp);
    let vouched = act.vouched.iter().map(|(_, stamp)| stamp);
    let mixed = act.mixed.iter().map(|(_, stamp)| stamp);
    let all = ticks
        .chain(records)
        .chain(tests)
        .chain(vouched)
        .chain(mixed);
    all.chain(act.done.as_ref())
}

fn minutes_between(from: DateTime<FixedOffset>, to: DateTime<FixedOffset>) -> f64 {
    crate::standing::hours_between(from, to).0 * 60.0
}
