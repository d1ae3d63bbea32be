//! What the screen says of the days ahead: the three choices of what to do next, and a promise
//! at risk. The choices are reckoned when their key is pressed; the risk is the one of the last
//! forecast that came, else the one noted when the day was closed last, so that no drawing
//! waits for a forecast.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{DateTime, FixedOffset};

use super::events::Preparing;
use super::floor_rows::AtRisk;
use super::lists;
use super::view::{List, Then};
use crate::card::Cards;
use crate::deed::{Forecasted, Offered, Picked, Promise};
use crate::plan::{
    Choice, Forecast, NextAsk, hands_after, held_back, is_at_risk, next_and_later, prepare_usual,
};
use crate::report::{tomorrow, zone_of};
use crate::standing::{House, Intent, Standing};

/// Returns the choices of what to do next for whoever is at the bench.
/// `damaged` are figures whose journal is not sound, and what is to be said of that.
pub(super) fn choices(
    house: House<'_>,
    damaged: Vec<(String, String)>,
    (by, now): (&str, DateTime<FixedOffset>),
) -> List {
    let shut: Vec<String> = damaged.iter().map(|(figure, _)| figure.clone()).collect();
    let ask = NextAsk {
        damaged: &shut,
        by: (!by.is_empty()).then_some(by),
        minutes: None,
    };
    let (choices, later) = next_and_later(house, &ask, now);
    let held = held_back(house, damaged).into_iter();
    let held = held.map(|(figure, why)| {
        let words = format!("not offered: {figure}");
        lists::row(words, why, Then::Close)
    });
    let after = hands_after(house, &ask, now);
    let mut after = after.iter().map(|line| line.trim());
    // Its first line is the heading of the others.
    let after = after.next().map(|heading| {
        let lines: Vec<&str> = after.collect();
        let words = format!("{heading} {}", lines.join("; "));
        lists::row("after closing", words, Then::Close)
    });
    let later = later.iter();
    let later = later.map(|one| lists::row("later", one.told(house, now), Then::Close));
    let held = later.chain(after).chain(held);
    if choices.is_empty() {
        let words = "nothing fits: all that is open waits, or needs another mark";
        let nothing = lists::row(words, "", Then::Close);
        return lists::list("what next?", std::iter::once(nothing).chain(held).collect());
    }
    let offered: Vec<Offered> = choices.iter().map(offered).collect();
    let rows = (1..).zip(&choices).map(|(place, choice)| {
        let list = house.cards.checklists.get(&choice.work.operation);
        let title = list.map_or(choice.work.operation.as_str(), |list| &list.title);
        let card = house.cards.figures.get(&choice.figure);
        let name = card.map_or(choice.figure.as_str(), |card| &card.name);
        let target = choice.work.target.as_deref().unwrap_or("whole figure");
        let why = choice.why.join("; ");
        let picked = Picked {
            figure: choice.figure.clone(),
            work: choice.work.clone(),
            place,
            offered: offered.clone(),
            minutes: None,
        };
        lists::row(
            format!("{name}: {title}, {target}"),
            format!(
                "about {:.0} min; if left: {}; {why}",
                choice.minutes, choice.lost
            ),
            Then::Do(Box::new(Intent::Pick { picked })),
        )
    });
    lists::list("what next?", rows.chain(held).collect())
}

fn offered(choice: &Choice) -> Offered {
    Offered {
        figure: choice.figure.clone(),
        work: choice.work.clone(),
    }
}

/// Returns how all that a forecast of all figures needs is taken from the shop as it stands now,
/// by whoever has the time.
pub(super) fn preparing(
    (cards, standing): (Arc<Cards>, Standing),
    now: DateTime<FixedOffset>,
) -> Preparing {
    Box::new(move || {
        let tomorrow = tomorrow(now, zone_of(&cards.shop));
        let house = House {
            cards: &cards,
            standing: &standing,
        };
        prepare_usual(house, tomorrow, now)
    })
}

/// Returns what is noted about the days ahead when a day is closed.
pub(super) fn noted(forecast: &Forecast) -> Intent {
    let rows = forecast.promises();
    let forecast = Forecasted { rows };
    Intent::NoteForecast { forecast }
}

/// Returns each promise at risk, by figure.
pub(super) fn at_risk(rows: &[Promise]) -> BTreeMap<String, AtRisk> {
    let risk = |row: &Promise| {
        let risk = AtRisk {
            late_percent: row.risk_percent?,
            ninety: row.ninety,
        };
        is_at_risk(row).then_some((row.figure.clone(), risk))
    };
    rows.iter().filter_map(risk).collect()
}
