//! Whom the next morning binds: what comes due after the time at hand, where that time runs to
//! the closing of the doors or past it.

use chrono::{DateTime, Duration, FixedOffset};

use super::hours::{noon_after, presence, whole};
use super::next::NextAsk;
use crate::reckon::counted;
use crate::standing::{ClockState, House, clock_views, hours_between};

/// So many hours that bind hands are told (own choice: whoever wants all looks at the clocks).
const TOLD: usize = 4;

/// Returns, in words, that the doors are shut or close before the time at hand is over, and the fixed hours
/// from then to the end of the next day on which somebody is there; empty while the time at hand
/// ends before the doors close.
pub fn hands_after(house: House<'_>, ask: &NextAsk<'_>, now: DateTime<FixedOffset>) -> Vec<String> {
    let there = presence(&house.cards.shop, now, *noon_after(now).offset());
    let today = there.first().filter(|span| span.from <= now);
    let ends = ask
        .minutes
        .map(|minutes| now + Duration::minutes(whole(minutes)));
    let from = today.map_or(now, |span| span.to);
    if ends.is_some_and(|ends| ends < from) {
        return Vec::new();
    }
    let mut told = Vec::new();
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
