//! How a figure stands to every operation of the journey, for one bar among many.

use super::overview::{Offer, Stage};
use crate::card::Cards;

/// How a figure stands to one operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Leg {
    /// Walked to its end wherever the route asks for it.
    Done,
    /// Being walked, or over at some of its places only.
    AtWork,
    /// On the route, nothing of it begun.
    Ahead,
    /// Not on the route.
    Off,
}

/// Returns the legs of a figure in the order of the journey, one for each checklist; `offers`
/// are what could be worked on at the figure.
pub(super) fn journey(cards: &Cards, offers: &[Offer]) -> Vec<Leg> {
    let mut lists: Vec<_> = cards.checklists.values().collect();
    lists.sort_by_key(|list| (list.order, &list.id));
    let leg = |id: &str| {
        let here = offers.iter().filter(|offer| offer.work.operation == id);
        leg(here.map(|offer| offer.stage))
    };
    lists.into_iter().map(|list| leg(&list.id)).collect()
}

fn leg(stages: impl Iterator<Item = Stage>) -> Leg {
    let (mut done, mut open, mut left) = (false, false, false);
    for stage in stages {
        match stage {
            Stage::Done => done = true,
            Stage::Open => open = true,
            Stage::Next | Stage::Later | Stage::Passed => left = true,
        }
    }
    match (done, open, left) {
        (_, true, _) | (true, false, true) => Leg::AtWork,
        (true, false, false) => Leg::Done,
        (false, false, true) => Leg::Ahead,
        (false, false, false) => Leg::Off,
    }
}

#[cfg(test)]
mod tests {
    use super::{Leg, Stage, leg};

    #[test]
    fn an_operation_is_done_only_where_all_its_places_are() {
        let of = |stages: &[Stage]| leg(stages.iter().copied());
        assert_eq!(of(&[]), Leg::Off);
        assert_eq!(of(&[Stage::Later, Stage::Next]), Leg::Ahead);
        assert_eq!(of(&[Stage::Done, Stage::Open]), Leg::AtWork);
        assert_eq!(of(&[Stage::Done, Stage::Later]), Leg::AtWork);
        assert_eq!(of(&[Stage::Done, Stage::Done]), Leg::Done);
    }
}
