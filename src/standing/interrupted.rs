//! Work that was left half done. After an interruption nobody guesses what was looked at: a
//! list of checks that is not whole starts again from its first line, and the bench says what
//! was done last and what does not count yet (Degani and Wiener, NASA CR-177549, 1990, for
//! lists that are resumed; *from memory*).

use chrono::{DateTime, Duration, FixedOffset};

use super::decide::one;
use super::facts::{Act, JobState};
use super::front::Front;
use super::prompt::{Ask, Interruption, LastDone};
use super::{House, Moment, Refusal, Written};
use crate::card::Step;
use crate::deed::{Deed, Resumed, Stamp, TickKind, Work};

/// After so long without an act nobody remembers for sure what was looked at, minutes
/// (*own judgement*: longer than any single check of the built-in lists takes).
pub const PAUSE_MIN: i64 = 30;

/// Returns the checks of a step that count: those ticked by one hand without a break, and all
/// of them for good once the list was whole.
pub(super) fn confirmed<'a>(
    step: &Step,
    act: Option<&'a Act>,
    now: DateTime<FixedOffset>,
) -> Vec<&'a str> {
    let Some(act) = act else {
        return Vec::new();
    };
    let of_step = |said: &str| step.confirm.iter().any(|say| say == said);
    let ticks = act.ticks.iter();
    let ticks = ticks.filter(|tick| tick.kind == TickKind::Confirm && of_step(&tick.said));
    let mut counted: Vec<&str> = Vec::new();
    let is_whole = |counted: &[&str]| {
        step.confirm
            .iter()
            .all(|say| counted.contains(&say.as_str()))
    };
    let mut last: Option<&Stamp> = None;
    for tick in ticks {
        if last.is_some_and(|last| is_broken(act, last, &tick.stamp)) && !is_whole(&counted) {
            counted.clear();
        }
        counted.push(&tick.said);
        last = Some(&tick.stamp);
    }
    if last.is_some_and(|last| is_left(act, last, now)) && !is_whole(&counted) {
        counted.clear();
    }
    counted
}

/// Whether something came between two ticks: a pause, another hand, a mark of resumption.
fn is_broken(act: &Act, last: &Stamp, next: &Stamp) -> bool {
    let marked = |mark: &Stamp| last.n < mark.n && mark.n < next.n;
    is_long(last.at, next.at) || last.by != next.by || act.resumed.iter().any(marked)
}

fn is_left(act: &Act, last: &Stamp, now: DateTime<FixedOffset>) -> bool {
    is_long(last.at, now) || is_marked_after(act, last)
}

fn is_long(from: DateTime<FixedOffset>, to: DateTime<FixedOffset>) -> bool {
    Duration::minutes(PAUSE_MIN) < to - from
}

fn is_marked_after(act: &Act, last: &Stamp) -> bool {
    act.resumed.iter().any(|mark| last.n < mark.n)
}

/// Returns the last thing that was taken down at a step, whatever it was.
fn last_at(act: &Act) -> Option<&Stamp> {
    let ticks = act.ticks.iter().map(|tick| &tick.stamp);
    let records = act.records.iter().map(|kept| &kept.stamp);
    let words = act.tests.iter().map(|test| &test.stamp);
    let gates = act.vouched.iter().chain(&act.overruled).map(|(_, at)| at);
    let cups = act.mixed.iter().map(|(_, stamp)| stamp);
    let planned = act.planned.iter().map(|planned| &planned.1);
    let all = ticks.chain(records).chain(words).chain(gates);
    all.chain(cups).chain(planned).max_by_key(|stamp| stamp.n)
}

/// Whether a hand is in the middle of this: waits, tests and signatures are no interruption.
fn is_of_the_hand(ask: &Ask) -> bool {
    !matches!(
        ask,
        Ask::Gate(_)
            | Ask::Wait { .. }
            | Ask::Test { .. }
            | Ask::Hold { .. }
            | Ask::Finished { .. }
            | Ask::SentBack { .. }
    )
}

impl Front<'_> {
    /// The newest of what was done before the step in front.
    pub(super) fn last_done(&self) -> Option<LastDone> {
        let before = self.steps.get(..self.at.unwrap_or(self.steps.len()))?;
        let done = before.iter().filter_map(|flat| {
            let stamp = self.job.act(&flat.step.id)?.done.as_ref()?;
            Some((flat, stamp))
        });
        let (flat, stamp) = done.max_by_key(|(_, stamp)| stamp.n)?;
        Some(LastDone {
            act: flat.step.act.clone(),
            at: stamp.at,
            by: stamp.by.to_string(),
        })
    }

    /// Returns the act at what is in front, begun and not done.
    fn half_done(&self) -> Option<(&Act, &Stamp)> {
        let act = self.job.act(self.step_id())?;
        let last = last_at(act)?;
        act.done.is_none().then_some((act, last))
    }

    /// Returns why this round is walked: the last word that sent the target here before it.
    pub(super) fn again(&self) -> Option<String> {
        let work = self.case.work;
        let before = self.case.standing.jobs.iter().rev();
        let mut sent = before.filter_map(|job| match &job.state {
            JobState::SentBack {
                stamp,
                back_to,
                why,
            } if *back_to == work.operation && stamp.n < self.job.begun.n => Some((job, why)),
            _ => None,
        });
        // A snag of the whole figure sends one of its parts back.
        let here = |target: &Option<String>| target.is_none() || *target == work.target;
        let found = sent.find(|(job, _)| here(&job.work.target));
        found.filter(|_| 1 < work.round).map(|(_, why)| why.clone())
    }

    /// Returns since when the step in front lies half done; `None` when it does not.
    pub(super) fn interruption(&self, ask: &Ask) -> Option<Interruption> {
        let (act, last) = self.half_done().filter(|_| is_of_the_hand(ask))?;
        // The act itself may take as long as it takes.
        let is_pause = *ask != Ask::Act && is_long(last.at, self.case.now);
        (is_pause || is_marked_after(act, last)).then(|| Interruption {
            since: last.at,
            by: last.by.to_string(),
        })
    }
}

/// Returns the mark that a step left half done is taken up again; nothing where it was not.
pub(super) fn resume<'a>(
    house: House<'a>,
    moment: &Moment,
    (figure, work): (&'a str, &'a Work),
) -> Result<Vec<Written>, Refusal> {
    let front = Front::look(house, figure, work, moment.at)
        .ok_or_else(|| Refusal::new("this work was never begun"))?;
    let is_new = |(act, last): &(&Act, &Stamp)| !is_marked_after(act, last);
    let half = front.half_done().filter(is_new);
    let half = half.filter(|_| is_of_the_hand(&front.ask()));
    Ok(half.map_or_else(Vec::new, |_| {
        let step = front.step_id().to_owned();
        let work = work.clone();
        one(figure, Deed::Resumed(Resumed { work, step }))
    }))
}
