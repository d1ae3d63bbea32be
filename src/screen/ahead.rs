//! What the screen says of the days ahead: the three choices of what to do next, and a promise
//! at risk. The choices are reckoned when their key is pressed; the risk is the one of the last
//! forecast that came, else the one noted when the day was closed last, so that no drawing
//! waits for a forecast.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};

use super::floor_rows::AtRisk;
use super::lists;
use super::view::{List, Then};
use crate::deed::{Forecasted, Offered, Picked, Promise};
use crate::plan::{
    AT_RISK_PERCENT, COARSE_RUNS, Change, Choice, Forecast, ForecastAsk, NextAsk, Prepared, next,
    prepare,
};
use crate::standing::{House, Intent};

/// The same luck every evening, so that dates move by what happened and not by chance.
const SEED: u64 = 1;

/// Returns the choices of what to do next for whoever is at the bench.
pub(super) fn choices(house: House<'_>, by: &str, now: DateTime<FixedOffset>) -> List {
    let ask = NextAsk {
        by: (!by.is_empty()).then_some(by),
        minutes: None,
    };
    let choices = next(house, &ask, now);
    if choices.is_empty() {
        let words = "nothing fits: all that is open waits, or needs another mark";
        return lists::list("what next?", vec![lists::row(words, "", Then::Close)]);
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
    lists::list("what next?", rows.collect())
}

fn offered(choice: &Choice) -> Offered {
    Offered {
        figure: choice.figure.clone(),
        work: choice.work.clone(),
    }
}

/// Takes from the house what a coarse forecast of all figures needs; `None` in a shop without
/// figures.
pub(super) fn prepared(house: House<'_>, now: DateTime<FixedOffset>) -> Option<Prepared> {
    let ask = ForecastAsk {
        figure: None,
        runs: COARSE_RUNS,
        seed: SEED,
        change: &Change::default(),
        tomorrow: *now.offset(),
    };
    (!house.cards.figures.is_empty()).then(|| prepare(house, &ask, now))
}

/// Returns what is noted about the days ahead when a day is closed.
pub(super) fn noted(forecast: &Forecast) -> Intent {
    let rows = forecast.rows.iter().map(|row| {
        let movers = row.movers.iter().map(|mover| &mover.words);
        Promise {
            figure: row.figure.clone(),
            ninety: row.ninety.map(|at| at.date_naive()),
            fifty: row.fifty.map(|at| at.date_naive()),
            risk_percent: row.risk.map(percent),
            moved_by: row.never.iter().chain(movers).cloned().collect(),
        }
    });
    let forecast = Forecasted {
        rows: rows.collect(),
    };
    Intent::NoteForecast { forecast }
}

fn percent(risk: f64) -> u32 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a share of at most one, as a whole percentage"
    )]
    let percent = (risk * 100.0).round() as u32;
    percent
}

/// Returns each promise that a forecast sees at risk, by figure.
pub(super) fn seen_at_risk(forecast: &Forecast) -> BTreeMap<String, AtRisk> {
    let rows = forecast.rows.iter().filter_map(|row| {
        let risk = AtRisk {
            late_percent: percent(row.risk?),
            ninety: row.ninety.map(|at| at.date_naive()),
        };
        Some((row.figure.clone(), risk))
    });
    rows.filter(|(_, risk)| AT_RISK_PERCENT <= risk.late_percent)
        .collect()
}

/// Returns each promise at risk, by figure, as it was noted last.
pub(super) fn at_risk(house: House<'_>) -> BTreeMap<String, AtRisk> {
    let last = house.standing.shop.forecasts.last();
    let rows = last.map_or(&[][..], |(forecast, _)| forecast.rows.as_slice());
    let risk = |row: &Promise| {
        let risk = AtRisk {
            late_percent: row.risk_percent?,
            ninety: row.ninety,
        };
        (AT_RISK_PERCENT <= risk.late_percent).then_some((row.figure.clone(), risk))
    };
    rows.iter().filter_map(risk).collect()
}
