//! Gates that are shut before work that is offered: which of them keep it back, and how the others
//! are told.

use chrono::{DateTime, FixedOffset};

use crate::deed::Work;
use crate::standing::{Ask, House, OpensBy, Prompt, ShutBy, Verdict, gates_ahead, shut_in_front};

/// A look or a reading that opens a gate takes so long, minutes (own judgement).
pub(super) const GATE_MIN: f64 = 2.0;

/// Whether a gate keeps work back now: no hand opens it, or air that was read just now does not
/// fit. Where it only warns, somebody may have a reason to go on; nobody is sent there.
pub(super) fn keeps_shut(verdict: &Verdict) -> bool {
    match verdict.shut_by {
        ShutBy::UnfitAir => true,
        ShutBy::OldReading => false,
        ShutBy::Other => verdict.hard && !by_hand(&verdict.opens_by),
    }
}

fn by_hand(opens_by: &OpensBy) -> bool {
    match opens_by {
        OpensBy::Nothing
        | OpensBy::Vouch(_)
        | OpensBy::AirReading(_)
        | OpensBy::Surface
        | OpensBy::Renew { .. } => true,
        OpensBy::Operation(_) | OpensBy::Wait(_) => false,
    }
}

/// The gates that are shut before the step in front of an open walk; none where it asks for
/// anything else.
pub(super) fn shut_at(
    house: House<'_>,
    (figure, work): (&str, &Work),
    front: &Prompt,
    now: DateTime<FixedOffset>,
) -> Vec<Verdict> {
    let Ask::Gate(first) = &front.ask else {
        return Vec::new();
    };
    let mut shut = shut_in_front(house, figure, work, now);
    if shut.iter().all(|verdict| verdict.gate != first.gate) {
        shut.insert(0, first.clone());
    }
    shut
}

/// The gates that are shut before a walk that is not begun.
pub(super) fn shut_before(
    house: House<'_>,
    (figure, work): (&str, &Work),
    now: DateTime<FixedOffset>,
) -> Vec<Verdict> {
    let mut shut = gates_ahead(house, figure, work, now);
    shut.retain(|verdict| !verdict.open);
    shut
}

pub(super) fn many(shut: &[Verdict]) -> f64 {
    f64::from(u32::try_from(shut.len()).unwrap_or(u32::MAX))
}

/// A gate that is shut, with why.
pub(super) fn why_shut(verdict: &Verdict) -> String {
    let again = if verdict.shut_by == ShutBy::OldReading {
        ": read the points anew"
    } else {
        ""
    };
    format!("{} ({}{again})", verdict.name, verdict.why)
}

/// The gates that are shut, each with why.
pub(super) fn shut_words(shut: &[Verdict]) -> String {
    let told: Vec<String> = shut.iter().map(why_shut).collect();
    format!("shut till a hand opens it: {}", told.join(", "))
}
