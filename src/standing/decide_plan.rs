//! Decides the two deeds about what lies ahead. They change nothing that stands; they are kept
//! so that the shop can look back at what it meant to do.

use super::{House, Refusal};
use crate::deed::{Deed, Forecasted, Picked};

/// Keeps a pick, if it is one of what was offered and its figure is known.
pub(super) fn picked(house: House<'_>, picked: &Picked) -> Result<Deed, Refusal> {
    let place = usize::try_from(picked.place).unwrap_or(usize::MAX);
    let offered = place.checked_sub(1).and_then(|at| picked.offered.get(at));
    let is_it = offered.is_some_and(|it| it.figure == picked.figure && it.work == picked.work);
    if !is_it {
        return Err(Refusal::new("this was not among what was offered"));
    }
    if !house.cards.figures.contains_key(&picked.figure) {
        let why = format!("no figure is called `{}`", picked.figure);
        return Err(Refusal::new(why));
    }
    if picked.minutes.is_some_and(|minutes| !minutes.is_finite()) {
        return Err(Refusal::new("the minutes at hand are not a number"));
    }
    Ok(Deed::Picked(picked.clone()))
}

/// Keeps a forecast of figures that are known.
pub(super) fn forecasted(house: House<'_>, forecast: &Forecasted) -> Result<Deed, Refusal> {
    let unknown = forecast
        .rows
        .iter()
        .find(|row| !house.cards.figures.contains_key(&row.figure));
    match unknown {
        Some(row) => Err(Refusal::new(format!(
            "no figure is called `{}`",
            row.figure
        ))),
        None if forecast.rows.is_empty() => Err(Refusal::new("the forecast is empty")),
        None => Ok(Deed::Forecasted(forecast.clone())),
    }
}
