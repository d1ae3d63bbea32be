//! Whom the next morning binds: what comes due after the time at hand, where that time runs to
//! the closing of the doors or past it.

use chrono::{DateTime, Duration, FixedOffset, NaiveDate};

use super::hours::{Present, noon_after, presence_ahead, whole};
use super::next::NextAsk;
use crate::card::DaysOff;
use crate::reckon::counted;
use crate::standing::{ClockState, House, clock_views, hours_between};

/// So many hours that bind hands are told (own choice: whoever wants all looks at the clocks).
const TOLD: usize = 4;

/// Returns, in words, that the doors are shut or close before the time at hand is over, and the fixed hours
/// from then to the end of the next day on which somebody is there, as far as the time at hand
/// reaches to the closing of the doors; and that whoever asks is away, by the shop card.
pub fn hands_after(house: House<'_>, ask: &NextAsk<'_>, now: DateTime<FixedOffset>) -> Vec<String> {
    let there = presence_ahead(&house.cards.shop, now, *noon_after(now).offset());
    let today = there.first().filter(|span| span.from <= now);
    let ends = ask
        .minutes
        .map(|minutes| now + Duration::minutes(whole(minutes)));
    let from = today.map_or(now, |span| span.to);
    let mut told: Vec<String> = away(house, ask, (now, &there)).into_iter().collect();
    if ends.is_some_and(|ends| ends < from) {
        return told;
    }
    if let (Some(today), Some(minutes)) = (today, ask.minutes) {
        let left = hours_between(now, today.to).0 * 60.0;
        if left < minutes {
            let hour = today.to.format("%H:%M");
            told.push(format!(
                "the doors close at {hour}: reckoned with {left:.0} of {minutes:.0} min"
            ));
        }
    }
    let Some(next) = there.iter().find(|span| from <= span.from) else {
        told.push("the doors open no more within two weeks".to_owned());
        return told;
    };
    let mut due: Vec<(DateTime<FixedOffset>, String)> = Vec::new();
    for view in clock_views(house, now) {
        // What is not ready yet may be ready and over again within that time.
        let hours = match view.state {
            ClockState::Waiting => [(view.opens, "ready"), (view.closes, "over")],
            ClockState::Running | ClockState::Unsure => [(None, "ready"), (view.closes, "over")],
            ClockState::Over | ClockState::Come | ClockState::Frozen => continue,
        };
        for (at, what) in hours {
            let Some(at) = at.filter(|at| from <= *at && *at <= next.to) else {
                continue;
            };
            let hour = at.format("%a %H:%M");
            due.push((
                at,
                format!("{hour} {what}: {}, {}", view.figure, view.about),
            ));
        }
    }
    due.sort();
    let more = due.len().saturating_sub(TOLD);
    let doors = next.from.format("%a %-d %b %H:%M");
    if today.is_none() {
        told.push(format!("the doors are shut until {doors}"));
    }
    told.push(if due.is_empty() {
        format!("no fixed hour from then to the end of the next day; doors open {doors}")
    } else {
        format!("hands are bound then (doors open {doors}):")
    });
    told.extend(
        due.into_iter()
            .take(TOLD)
            .map(|(_, words)| format!("  {words}")),
    );
    if 0 < more {
        told.push(format!("  and {} more", counted(more, "hour")));
    }
    told
}

/// That whoever asks is away today or on the next day that the doors open, by the shop card.
fn away(
    house: House<'_>,
    ask: &NextAsk<'_>,
    (now, there): (DateTime<FixedOffset>, &[Present]),
) -> Option<String> {
    let me = house
        .cards
        .shop
        .people
        .iter()
        .find(|one| Some(one.id.as_str()) == ask.by)?;
    let today = now.date_naive();
    let mut days = there.iter().map(|span| span.from.date_naive());
    let next = days.find(|day| today < *day);
    let meets = |off: &&DaysOff| off.holds(today) || next.is_some_and(|day| off.holds(day));
    let off = me.away.iter().find(meets)?;
    let day = |day: NaiveDate| day.format("%a %-d %b").to_string();
    Some(format!(
        "{} is away from {} to {}, by the shop card",
        me.id,
        day(off.from),
        day(off.to)
    ))
}
