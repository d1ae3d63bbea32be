//! Rubbing down, which the recoat window goes by: a coat that was rubbed all over once it was dry
//! takes the next one after its window too.

use chrono::{DateTime, FixedOffset};

use super::House;
use super::ahead::on_card;
use super::air::hours_between;
use super::clock_times::Times;
use super::facts::{Clock, Job};

/// Moves the closing of a recoat window to as long after the last rubbing as it was after the
/// coat: the sheet's end is that of an unsanded coat, and what was rubbed is no longer fresh for
/// ever either (*common practice*; how long a rubbed coat keys is our choice, the safe side).
/// What was done before the coat was likely dry rubs nothing.
pub(super) fn keyed_again(
    house: House<'_>,
    (figure, clock): (&str, &Clock),
    times: &mut Times,
    now: DateTime<FixedOffset>,
) {
    let (Some(dry), Some(closes)) = (times.likely, times.closes) else {
        return;
    };
    let start = clock.started.at;
    let hours = |at: DateTime<FixedOffset>| hours_between(start, at).0;
    let jobs = house.figure(figure).into_iter().flat_map(|it| &it.jobs);
    let here = jobs.filter(|job| job.work.target == clock.work.target);
    let rubbed = here.flat_map(|job| rubbings(house, job));
    let Some(last) = rubbed.filter(|at| dry <= hours(*at) && *at <= now).max() else {
        return;
    };
    times.closes = Some(hours(last) + closes);
    let said = last
        .with_timezone(now.offset())
        .format("%a %-d %b %H:%M")
        .to_string();
    times.because.push_str(", from the rubbing on: ");
    times.because.push_str(&said);
}

/// When a job rubbed its place down.
fn rubbings<'a>(
    house: House<'a>,
    job: &'a Job,
) -> impl Iterator<Item = DateTime<FixedOffset>> + 'a {
    let list = house.cards.checklists.get(&job.work.operation);
    let rubs = move |step: &str| list.is_some_and(|list| list.rubs(on_card(step)));
    let acts = job.acts.iter().filter(move |(step, _)| rubs(step));
    acts.filter_map(|(_, act)| Some(act.done.as_ref()?.at))
}
