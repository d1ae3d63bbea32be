//! What ends while the doors are shut: told at the closing round, when it can still be met.

use chrono::{DateTime, FixedOffset};

use super::hours::{noon_after, presence_ahead};
use crate::card::{ClockName, GateKind};
use crate::deed::Work;
use crate::standing::{ClockView, House, Stage, offers, walk_ahead};

/// Returns the windows among the shop's clocks that close from now on and before the doors open
/// again, in their order: size that dies, a coat that keys no longer and of which the route has
/// a next one. All of them where no doors open within two weeks. `opens` is as [`opens_again`] has
/// it.
pub fn overnight<'c>(
    house: House<'_>,
    clocks: &'c [ClockView],
    (now, opens): (DateTime<FixedOffset>, Option<DateTime<FixedOffset>>),
) -> Vec<&'c ClockView> {
    let closes = |view: &&ClockView| {
        let within = |at| now < at && opens.is_none_or(|opens| at < opens);
        view.closes.is_some_and(within)
    };
    let is_met = |view: &&ClockView| match view.clock {
        ClockName::Recoat => is_coated_again(house, &view.figure, &view.work),
        ClockName::TackEdge | ClockName::TackFlat | ClockName::TackHollow => true,
        _ => false,
    };
    clocks.iter().filter(closes).filter(is_met).collect()
}

/// Returns when the doors open the next time; `None` where they do not within two weeks.
pub fn opens_again(house: House<'_>, now: DateTime<FixedOffset>) -> Option<DateTime<FixedOffset>> {
    let there = presence_ahead(&house.cards.shop, now, *noon_after(now).offset());
    let mut opens = there.iter().map(|span| span.from);
    opens.find(|from| now < *from)
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
