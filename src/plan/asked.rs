//! Questions from the bench: which work one is about, and how it is told beside that work.

use crate::card::Figure;
use crate::deed::Work;
use crate::standing::OpenMatter;

/// Whether a question is about a work: it names one of its places, or none of the figure at all.
/// Work on the whole figure is about every place.
pub(super) fn is_about(card: &Figure, question: &str, work: &Work) -> bool {
    let Some(target) = work.target.as_deref() else {
        return true;
    };
    let question = question.to_lowercase();
    let words = question.split(|letter: char| !letter.is_alphanumeric() && letter != '-');
    let words: Vec<&str> = words.collect();
    let is_named = |id: &str| words.contains(&id.to_lowercase().as_str());
    let zones = card.zones.iter().map(|zone| (&zone.id, Vec::new()));
    let panels = card.panels.iter();
    let panels = panels.map(|panel| (&panel.id, vec![panel.zone.as_str()]));
    let joints = card.joints.iter();
    let joints = joints.map(|joint| {
        let zones = joint.zones.iter().map(String::as_str);
        (&joint.id, zones.collect())
    });
    let places: Vec<(&String, Vec<&str>)> = zones.chain(panels).chain(joints).collect();
    let here = places.iter().find(|(id, _)| *id == target);
    let within = here.into_iter().flat_map(|(_, zones)| zones);
    is_named(target)
        || within.into_iter().any(|zone| is_named(zone))
        || !places.iter().any(|(id, _)| is_named(id))
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
