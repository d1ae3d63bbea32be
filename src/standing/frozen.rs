//! A place that went back: what was found there is settled before later work goes on over it.

use super::House;
use super::facts::{FigureStanding, Job, JobState};
use super::provenance::Spot;
use crate::card::Checklist;
use crate::deed::Stamp;

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

/// Returns why an operation may not be begun on a place of a figure: it was sent back from
/// there, and nobody has since finished there what it was sent to. What stands before that on
/// the journey may be needed for it and is free.
pub(super) fn look(
    house: House<'_>,
    figure: &str,
    (list, target): (&Checklist, Option<&str>),
) -> Option<Frozen> {
    let standing = house.figure(figure)?;
    let card = house.cards.figures.get(figure);
    let here = Spot::of(card, target);
    standing.jobs.iter().rev().find_map(|job| {
        let JobState::SentBack {
            stamp,
            back_to,
            why,
        } = &job.state
        else {
            return None;
        };
        let place = job.work.target.as_deref()?;
        let first = house.cards.checklists.get(back_to)?;
        if list.order <= first.order || list.id == first.id || !here.touches(place) {
            return None;
        }
        let spot = Spot::of(card, Some(place));
        let settles = |other: &Job| {
            let is_later = matches!(&other.state, JobState::Finished(done) if stamp.n < done.n);
            let target = other.work.target.as_deref();
            let touches = target.is_none_or(|target| {
                spot.touches(target) || Spot::of(card, Some(target)).touches(place)
            });
            // Whoever walked the same work again to its end has settled it too.
            let names = [back_to, &job.work.operation];
            names.contains(&&other.work.operation) && is_later && touches
        };
        (!standing.jobs.iter().any(settles)).then(|| Frozen {
            why: format!("{place} waits for: {}; it went back: {why}", first.title),
            first: format!("{} first", first.title),
        })
    })
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
