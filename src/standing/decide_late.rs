//! A reading of the figure, or a word of a test, that was taken earlier and is entered now. It
//! goes to the step that asked for it then, and what was passed since is judged anew.

use super::afterwards;
use super::decide::{has_mark, known_standing, one};
use super::decide_record::in_range;
use super::facts::{FigureStanding, Job, JobState, Reading, TestKept};
use super::front_wait::{is_word, words};
use super::intent::{Late, Said};
use super::walk::{self, FlatStep};
use super::{House, Moment, Refusal, Written};
use crate::card::{Measure, Record, WordScale};
use crate::deed::{ClockRule, Deed, Recorded, Stamp, Tested, Value};

/// Where something that is entered belongs.
struct Slot<'a> {
    job: &'a Job,
    step: FlatStep<'a>,
}

pub(super) fn decide(
    house: House<'_>,
    moment: &Moment,
    figure: &str,
    late: &Late,
) -> Result<Vec<Written>, Refusal> {
    let standing = known_standing(house, figure)?;
    let slot = slot(house, moment, (figure, standing), late)?;
    let list = walk::checklist(house, &slot.job.work)
        .ok_or_else(|| Refusal::new("the checklist of this work is no longer here"))?;
    has_mark(house, &moment.by, list)?;
    let (deed, news) = match &late.said {
        Said::Reading { measure, value } => {
            let (deed, reading) =
                reading(house, moment, figure, (&slot, late), (*measure, *value))?;
            (deed, afterwards::News::Reading(reading))
        }
        Said::Word { scale, word } => {
            let (deed, test) = tested(moment, &slot, (late, *scale, word))?;
            (deed, afterwards::News::Test(slot.job.work.clone(), test))
        }
    };
    let mut written = one(figure, deed);
    written.extend(afterwards::of_figure(house, &news, (figure, standing)));
    Ok(written)
}

/// Returns the step that asked for it when it was taken: in the work that was being done then
/// on this part, or else in the one before or the first one after.
fn slot<'a>(
    house: House<'a>,
    moment: &Moment,
    (figure, standing): (&str, &'a FigureStanding),
    late: &Late,
) -> Result<Slot<'a>, Refusal> {
    let here = |job: &&Job| late.target.is_none() || job.work.target == late.target;
    let asking: Vec<Slot<'a>> = standing
        .jobs
        .iter()
        .filter(here)
        .filter_map(|job| {
            let step = asking(house, figure, job, (late, moment))?;
            Some(Slot { job, step })
        })
        .collect();
    let at_work = |slot: &&Slot<'_>| slot.job.begun.at <= moment.at && is_open(slot.job, moment);
    let some_at_work = asking.iter().any(|slot| at_work(&slot));
    let mut slots: Vec<Slot<'a>> = asking
        .into_iter()
        .filter(|slot| !some_at_work || at_work(&slot))
        .collect();
    if slots.is_empty() {
        let on = late.target.as_deref().unwrap_or(figure);
        return Err(
            Refusal::new(format!("no step that was reached on {on} asks for it"))
                .remedy("begin the operation that reads it, or keep it as a note with `jot`"),
        );
    }
    let mut targets: Vec<&str> = slots
        .iter()
        .filter_map(|slot| slot.job.work.target.as_deref())
        .collect();
    targets.sort_unstable();
    targets.dedup();
    if 1 < targets.len() {
        let which = format!("say on which part: {}", targets.join(", "));
        return Err(Refusal::new("several parts have such a reading").remedy(which));
    }
    let before = |slot: &Slot<'_>| slot.job.begun.at <= moment.at;
    let place = slots.iter().rposition(before).unwrap_or_default();
    Ok(slots.swap_remove(place))
}

fn is_open(job: &Job, moment: &Moment) -> bool {
    match &job.state {
        JobState::Open => true,
        JobState::Finished(stamp) | JobState::SentBack { stamp, .. } => moment.at <= stamp.at,
    }
}

/// Returns the step of a job that asked for it at that moment; of the steps that were not
/// reached yet none did.
fn asking<'a>(
    house: House<'a>,
    figure: &str,
    job: &Job,
    (late, moment): (&Late, &Moment),
) -> Option<FlatStep<'a>> {
    let mut steps = walk::steps(house, figure, job);
    if let Some(front) = walk::in_front(&steps, job).filter(|_| !lies_there(house, figure, job)) {
        steps.truncate(front + 1);
    }
    steps.retain(|flat| takes(flat, late));
    let open_then = |flat: &FlatStep<'_>| {
        let done = job.act(&flat.step.id).and_then(|act| act.done.as_ref());
        done.is_none_or(|done| moment.at <= done.at)
    };
    let place = steps.iter().position(open_then);
    let place = place.or(steps.len().checked_sub(1))?;
    Some(steps.swap_remove(place))
}

/// Whether size lies on the target: whoever comes by may try it before the step that asks.
fn lies_there(house: House<'_>, figure: &str, job: &Job) -> bool {
    let clocks = house.figure(figure).map(|standing| &standing.clocks);
    let mut clocks = clocks.into_iter().flatten();
    clocks.any(|clock| {
        let is_tack = matches!(clock.rule, ClockRule::Tack { .. });
        is_tack && clock.ended.is_none() && clock.work == job.work
    })
}

fn takes(flat: &FlatStep<'_>, late: &Late) -> bool {
    match &late.said {
        Said::Reading { measure, .. } => record(flat, *measure).is_some(),
        Said::Word { scale, .. } => {
            let until = flat.step.until.as_ref();
            until.is_some_and(|until| until.words == Some(*scale))
        }
    }
}

fn record<'f>(flat: &'f FlatStep<'_>, measure: Measure) -> Option<&'f Record> {
    let mut records = flat.step.record.iter();
    records.find(|record| record.measure == Some(measure))
}

fn reading(
    house: House<'_>,
    moment: &Moment,
    figure: &str,
    (slot, late): (&Slot<'_>, &Late),
    (measure, value): (Measure, f64),
) -> Result<(Deed, Reading), Refusal> {
    let work = &slot.job.work;
    let record = record(&slot.step, measure).ok_or_else(|| Refusal::new("nothing asks for it"))?;
    let known = walk::stations(house, (figure, work), record);
    let station = station(&known, late.station.as_deref())?;
    let [plausible, usual] = record.ranges(measure);
    let asked_again = in_range(value, plausible, usual, (measure, late.again))?;
    let deed = Deed::Recorded(Recorded {
        work: work.clone(),
        step: slot.step.step.id.clone(),
        record: record.id.clone(),
        station: station.clone(),
        measure: Some(measure),
        value: Value::Number(value),
        asked_again,
    });
    let reading = Reading {
        work: work.clone(),
        measure,
        station,
        value,
        stamp: stamp(moment),
    };
    Ok((deed, reading))
}

fn tested(
    moment: &Moment,
    slot: &Slot<'_>,
    (late, scale, word): (&Late, WordScale, &str),
) -> Result<(Deed, TestKept), Refusal> {
    let (known, _) = words(scale);
    is_word(known, word)?;
    let until = slot.step.step.until.as_ref();
    let places = until.map(|until| until.at.clone()).unwrap_or_default();
    let place = station(&places, late.station.as_deref())?.unwrap_or_default();
    let deed = Deed::Tested(Tested {
        work: slot.job.work.clone(),
        step: slot.step.step.id.clone(),
        place: place.clone(),
        word: word.to_owned(),
    });
    let test = TestKept {
        place,
        word: word.to_owned(),
        stamp: stamp(moment),
    };
    Ok((deed, test))
}

/// Returns the place that is meant among those that a step asks about.
fn station(known: &[String], given: Option<&str>) -> Result<Option<String>, Refusal> {
    match given {
        None if known.is_empty() => Ok(None),
        Some(given) if known.iter().any(|place| place == given) => Ok(Some(given.to_owned())),
        Some(given) if known.is_empty() => {
            Err(Refusal::new(format!("this is read once, not at `{given}`"))
                .remedy("leave --place out"))
        }
        given => {
            let what = given.map_or_else(
                || "it is read at several places".to_owned(),
                |given| format!("`{given}` is not a place of it"),
            );
            Err(Refusal::new(what).remedy(format!("say where with --place: {}", known.join("; "))))
        }
    }
}

/// The line has no number yet; it will be the last one.
fn stamp(moment: &Moment) -> Stamp {
    Stamp {
        n: u64::MAX,
        at: moment.at,
        by: moment.by.as_str().into(),
    }
}
