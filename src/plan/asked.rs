//! Questions from the bench and what was answered: which work one is about, and how it is told
//! beside that work.

use chrono::{DateTime, FixedOffset};

use crate::card::Figure;
use crate::deed::Work;
use crate::standing::{House, Matter, OpenMatter, Spot};

/// Returns the questions about a work of a figure that nobody answered, or somebody within these
/// days.
pub(super) fn asked<'a>(
    house: House<'a>,
    (figure, work): (&str, &'a Work),
    now: DateTime<FixedOffset>,
) -> impl Iterator<Item = &'a OpenMatter> {
    let card = house.cards.figures.get(figure);
    let standing = house.figure(figure).into_iter();
    let questions = standing.flat_map(move |it| {
        let open = it
            .unanswered()
            .filter(|open| open.matter == Matter::Question);
        open.chain(it.answered_lately(now))
    });
    questions.filter(move |open| card.is_none_or(|card| is_about(card, &open.what, work)))
}

/// Returns what was said to the bench about a work of a figure: matters of its own that were
/// refused and not accepted since, then its questions that somebody answered within these days,
/// the last first.
pub fn said_of<'a>(
    house: House<'a>,
    (figure, work): (&str, &'a Work),
    now: DateTime<FixedOffset>,
) -> Vec<&'a OpenMatter> {
    let matters = house.figure(figure).into_iter();
    let matters = matters.flat_map(|standing| &standing.matters);
    let is_own = |open: &&OpenMatter| open.work.as_ref() == Some(work);
    let refused = matters.filter(is_own).filter(|open| open.is_back());
    let answered = asked(house, (figure, work), now).filter(|open| open.answer.is_some());
    let mut answered: Vec<&OpenMatter> = answered.collect();
    answered.reverse();
    refused.chain(answered).collect()
}

/// Whether a question is about a work: it names one of its places, or none of the figure at all.
/// Work on the whole figure is about every place.
pub(super) fn is_about(card: &Figure, question: &str, work: &Work) -> bool {
    let question = question.to_lowercase();
    let words = question.split(|letter: char| !letter.is_alphanumeric() && letter != '-');
    let words: Vec<&str> = words.collect();
    let is_named = |id: &&str| words.contains(&id.to_lowercase().as_str());
    let mut named = card.places().filter(is_named).peekable();
    let here = Spot::of(Some(card), work.target.as_deref());
    named.peek().is_none() || named.any(|id| here.touches(id))
}

/// A question from the bench with its answer.
pub(super) fn question_words(open: &OpenMatter) -> String {
    let (by, day) = (&open.stamp.by, open.stamp.at.format("%-d %b"));
    let asked = format!("{by} asked on {day}: {}", open.what);
    match &open.answer {
        None => format!("{asked} (not answered yet)"),
        Some((accepted, why, stamp)) => {
            let yes = if *accepted { "answered" } else { "refused" };
            format!("{asked} ({yes} by {}: {why})", stamp.by)
        }
    }
}
