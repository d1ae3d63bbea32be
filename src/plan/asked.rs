//! Questions from the bench: which work one is about, and how it is told beside that work.

use crate::card::Figure;
use crate::deed::Work;
use crate::standing::{OpenMatter, Spot};

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
