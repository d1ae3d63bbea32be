//! What a hand said about a clock, kept beside the clock: the words from which a lot's own
//! times are learned. Part of replay: it notes, it judges nothing.

use super::facts::{Clock, FigureStanding};
use crate::card::ClockName;
use crate::deed::{ClockRule, Done, Place, Stamp, Tested, Value};

use chrono::{DateTime, FixedOffset};

/// Words of the nail test, as the scale of the checklists has them.
const NAIL: [&str; 3] = ["soft", "marks", "hard"];
/// Words of the sanding test, as the scale of the checklists has them.
const POWDER: [&str; 2] = ["crumbs", "powder"];

/// Returns the lot of a two-part mix as one word.
pub(super) fn both_parts([a, b]: &[String; 2]) -> String {
    if b.is_empty() {
        a.clone()
    } else {
        format!("{a} + {b}")
    }
}

impl FigureStanding {
    /// Keeps a test word with every clock of the same target that it speaks about.
    pub(super) fn hear(&mut self, test: &Tested, at: DateTime<FixedOffset>) {
        for (place, clock) in self.clocks.iter_mut().enumerate() {
            let is_here = clock.work.target == test.work.target && clock.started.at <= at;
            let ended = clock.ended.as_ref();
            let ran = ended.is_none_or(|(_, stamp)| at < stamp.at);
            if is_here && ran && speaks_of(clock, test) {
                if clock.words.is_empty() {
                    self.judged.push(place);
                }
                // A word that is entered later stands where it was said.
                let place = clock.words.partition_point(|(_, said)| *said <= at);
                clock.words.insert(place, (test.word.clone(), at));
            }
        }
    }

    /// Keeps how a cup ended with the cup.
    pub(super) fn hear_end(&mut self, id: &str, how: &str, stamp: &Stamp) {
        let found = self.clocks.iter_mut().enumerate();
        let mut found = found.filter(|(_, clock)| clock.id == id && clock.ended.is_none());
        if let Some((place, clock)) = found.next()
            && clock.clock == ClockName::Cup
        {
            clock.words.push((how.to_owned(), stamp.at));
            self.judged.push(place);
        }
    }

    /// Returns what may be the lot behind the clocks that a step starts: the coat's own, else
    /// every word picked in this walk so far.
    pub(super) fn lots_of(&self, deed: &Done) -> Vec<String> {
        if deed.starts.is_empty() {
            return Vec::new();
        }
        if let Some(coat) = &deed.coat {
            return coat.lot.iter().cloned().collect();
        }
        let is_size =
            |start: &crate::deed::ClockStart| matches!(start.rule, ClockRule::Tack { .. });
        if !deed.starts.iter().any(is_size) {
            return Vec::new();
        }
        let acts = self.job(&deed.work).map(|job| job.acts.values());
        let records = acts.into_iter().flatten().flat_map(|act| &act.records);
        records
            .filter_map(|kept| match &kept.value {
                Value::Text(text) => Some(text.clone()),
                Value::Number(_) => None,
            })
            .collect()
    }
}

/// Whether a test word says something about a clock.
fn speaks_of(clock: &Clock, test: &Tested) -> bool {
    let word = test.word.as_str();
    match &clock.rule {
        ClockRule::Tack { place, .. } => {
            clock.work == test.work && test.place == place_name(*place)
        }
        ClockRule::Cure { .. } => {
            let is_clamps = clock.clock == ClockName::Clamps && clock.work == test.work;
            is_clamps && NAIL.contains(&word)
        }
        // The powder test of a coat is made in the operation that sands it.
        ClockRule::Recoat { .. } => POWDER.contains(&word),
        _ => false,
    }
}

fn place_name(place: Place) -> &'static str {
    match place {
        Place::Edge => "edge",
        Place::Flat => "flat",
        Place::Hollow => "hollow",
    }
}
