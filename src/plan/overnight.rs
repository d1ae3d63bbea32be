//! What ends while the doors are shut: told at the closing round, when it can still be met.

use chrono::{DateTime, FixedOffset};

use super::hours::presence;
use crate::card::{ClockName, GateKind};
use crate::deed::Work;
use crate::standing::{ClockView, House, Stage, offers, walk_ahead};

/// Returns the windows among the shop's clocks that close from now on and before the doors open
/// again, in their order: size that dies, a coat that keys no longer and of which the route has
/// a next one. Nothing where no doors open within the next days.
pub fn overnight<'c>(
    house: House<'_>,
    clocks: &'c [ClockView],
    now: DateTime<FixedOffset>,
) -> Vec<&'c ClockView> {
    let there = presence(&house.cards.shop, now, *now.offset());
    let Some(opens) = there.iter().map(|span| span.from).find(|from| now < *from) else {
        return Vec::new();
    };
    let closes = |view: &&ClockView| view.closes.is_some_and(|at| now < at && at < opens);
    let is_met = |view: &&ClockView| match view.clock {
        ClockName::Recoat => is_coated_again(house, &view.figure, &view.work),
        ClockName::TackEdge | ClockName::TackFlat | ClockName::TackHollow => true,
        _ => false,
    };
    clocks.iter().filter(closes).filter(is_met).collect()
}

/// Whether a coat lies ahead over this one: in its own walk, as far as that is open, or in a
/// later one.
fn is_coated_again(house: House<'_>, figure: &str, below: &Work) -> bool {
    let begins = |work: &Work| {
        let list = house.cards.checklists.get(&work.operation);
        list.is_some_and(|list| list.asks(GateKind::Recoat))
    };
    let goes_on = |work: &Work| {
        let left = walk_ahead(house, figure, work).steps;
        left.iter().any(|step| step.coat)
    };
    let mut ahead = offers(house, figure)
        .into_iter()
        .filter(|offer| offer.stage.is_ahead() && offer.work.target == below.target);
    ahead.any(|offer| match offer.stage {
        Stage::Open => goes_on(&offer.work),
        _ => begins(&offer.work),
    })
}
