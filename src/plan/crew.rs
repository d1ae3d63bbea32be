//! Who is there when, and which rooms share their air: the shop card as a plan takes it.

use chrono::{DateTime, FixedOffset};

use super::Change;
use super::ahead::DAYS;
use super::hours::Present;
use super::project::{GRAIN_MIN, Hand};
use super::slots::Slots;
use crate::card::{Cards, Room};
use crate::standing::{House, hours_between};

/// Returns the longest sitting that fits between opening and closing, minutes.
pub(super) fn longest(there: &[Present]) -> f64 {
    let minutes = there
        .iter()
        .map(|it| hours_between(it.from, it.to).0 * 60.0);
    // A sitting is rounded up to the grain, which must not push it over the end of a day.
    (minutes.fold(0.0, f64::max) - 2.0 * f64::from(GRAIN_MIN)).max(f64::from(GRAIN_MIN))
}

/// Who is there when: the opening hours, less the days off, less today for who is not in.
pub(super) fn hands(
    house: House<'_>,
    now: DateTime<FixedOffset>,
    there: &[Present],
    change: &Change,
) -> Vec<Hand> {
    let slots = u32::try_from(DAYS).unwrap_or(u32::MAX) * 24 * 60 / GRAIN_MIN;
    let shop = &house.standing.shop;
    let mut hands: Vec<Hand> = Vec::new();
    for person in &house.cards.shop.people {
        let is_out =
            shop.day.is_some() && !shop.present.is_empty() && !shop.present.contains(&person.id);
        let mut free = Slots::none(slots);
        for span in there {
            let day = span.from.date_naive();
            let away = person.is_away(day);
            if !(away || is_out && day == now.date_naive()) {
                free.set(slot_up(now, span.from), slot_down(now, span.to));
            }
        }
        hands.push(Hand {
            id: person.id.clone(),
            marks: person.marks.clone(),
            there: free,
        });
    }
    for mark in &change.second {
        if let Some(first) = hands
            .iter()
            .find(|hand| hand.marks.first() == Some(mark))
            .cloned()
        {
            hands.push(Hand {
                id: format!("second {}", first.id),
                marks: vec![*mark],
                ..first
            });
        } else if let Some(first) = hands.first().cloned() {
            hands.push(Hand {
                id: format!("one more for {mark:?}").to_lowercase(),
                marks: vec![*mark],
                ..first
            });
        }
    }
    hands
}

fn slot_up(now: DateTime<FixedOffset>, at: DateTime<FixedOffset>) -> u32 {
    let seconds = (at - now).num_seconds().max(0);
    let grain = i64::from(GRAIN_MIN) * 60;
    u32::try_from(seconds.div_euclid(grain) + i64::from(seconds.rem_euclid(grain) != 0))
        .unwrap_or(u32::MAX)
}

fn slot_down(now: DateTime<FixedOffset>, at: DateTime<FixedOffset>) -> u32 {
    let seconds = (at - now).num_seconds().max(0);
    u32::try_from(seconds / (i64::from(GRAIN_MIN) * 60)).unwrap_or(u32::MAX)
}

/// Returns the rooms that share the air of each room, itself among them.
pub(super) fn airs(cards: &Cards) -> Vec<Vec<usize>> {
    let rooms = &cards.shop.rooms;
    if rooms.is_empty() {
        return vec![vec![0]];
    }
    let shares = |a: &Room, b: &Room| {
        a.id == b.id || a.shares_air_with.contains(&b.id) || b.shares_air_with.contains(&a.id)
    };
    let near = |room| {
        let all = rooms.iter().enumerate();
        all.filter(|(_, other)| shares(room, other))
            .map(|it| it.0)
            .collect()
    };
    rooms.iter().map(near).collect()
}
