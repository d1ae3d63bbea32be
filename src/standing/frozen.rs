//! A place that went back: what was found there is settled before later work goes on over it.

use super::House;
use super::facts::{FigureStanding, Job, JobState};
use super::provenance::Spot;
use crate::card::Checklist;
use crate::deed::{Stamp, Value};

/// The operation to which a layer that nobody knew sends its zone.
pub(super) const STUDY: &str = "layer-study";
/// The operation that decides what becomes of the layers.
pub(super) const SCHEME: &str = "scheme";

/// Why later work waits at a place, and what comes first.
pub(super) struct Frozen {
    /// Why, one line.
    pub(super) why: String,
    /// What is walked first.
    pub(super) first: String,
}

/// Where a walk leads back to, and since when.
struct Back<'a> {
    to: &'a str,
    why: &'a str,
    stamp: &'a Stamp,
    is_said: &'static str,
}

/// Returns why an operation may not be begun on a place of a figure: it was sent back from
/// there, or a word said in a walk there will send it back once that walk is put away, and
/// nobody has since finished there what it was sent to. What stands before that on the journey
/// may be needed for it and is free.
pub(super) fn look(
    house: House<'_>,
    figure: &str,
    (list, target): (&Checklist, Option<&str>),
) -> Option<Frozen> {
    let standing = house.figure(figure)?;
    let card = house.cards.figures.get(figure);
    let here = Spot::of(card, target);
    standing.jobs.iter().rev().find_map(|job| {
        let back = back(house, job)?;
        let place = job.work.target.as_deref()?;
        let first = house.cards.checklists.get(back.to)?;
        if list.order <= first.order || list.id == first.id || !here.touches(place) {
            return None;
        }
        let spot = Spot::of(card, Some(place));
        let settles = |other: &Job| {
            let is_later =
                matches!(&other.state, JobState::Finished(done) if back.stamp.n < done.n);
            let target = other.work.target.as_deref();
            let touches = target.is_none_or(|target| {
                spot.touches(target) || Spot::of(card, Some(target)).touches(place)
            });
            // Whoever walked the same work again to its end has settled it too.
            let names = [back.to, job.work.operation.as_str()];
            names.contains(&other.work.operation.as_str()) && is_later && touches
        };
        (!standing.jobs.iter().any(settles)).then(|| Frozen {
            why: format!(
                "{place} waits for: {}; {}: {}",
                first.title, back.is_said, back.why
            ),
            first: format!("{} first", first.title),
        })
    })
}

/// A walk that was sent back, or that a word of its own will send back at its end.
fn back<'a>(house: House<'a>, job: &'a Job) -> Option<Back<'a>> {
    match &job.state {
        JobState::SentBack {
            stamp,
            back_to,
            why,
        } => Some(Back {
            to: back_to,
            why,
            stamp,
            is_said: "it went back",
        }),
        JobState::Open => {
            let list = house.cards.checklists.get(&job.work.operation)?;
            let mut branches = list.steps.iter().flat_map(|step| &step.branches);
            branches.find_map(|branch| {
                let said = job.recorded(&branch.record)?;
                let is_taken = said.value == Value::Text(branch.is.clone());
                is_taken.then_some(Back {
                    to: &branch.back_to,
                    why: &branch.why,
                    stamp: &said.stamp,
                    is_said: "it goes back",
                })
            })
        }
        JobState::Finished(_) => None,
    }
}

/// Returns the zones that went back to their layer study since the scheme was approved, and
/// when, the latest first: they showed what the scheme did not know. None before there is one.
pub(super) fn surprises(standing: &FigureStanding) -> impl Iterator<Item = (&str, &Stamp)> {
    let approved = standing.finished(SCHEME, None);
    standing.jobs.iter().rev().filter_map(move |job| {
        let JobState::SentBack { stamp, back_to, .. } = &job.state else {
            return None;
        };
        let is_new = back_to == STUDY && approved?.n < stamp.n;
        is_new.then_some((job.work.target.as_deref()?, stamp))
    })
}
