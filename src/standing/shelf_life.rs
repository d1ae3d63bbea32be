//! The shelf life of a lot: a clock that no hand starts. It begins with the tin and ends with
//! the date on it.

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::House;
use super::shelf::tins;

/// A lot near or past its date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShelfLife {
    /// Material id.
    pub material: String,
    /// Name of the material.
    pub name: String,
    /// Lot.
    pub lot: String,
    /// The last day on which it is good.
    pub expires: NaiveDate,
    /// Days left, today not counted; below 0 it is past its date.
    pub days_left: i64,
}

/// A lot is named this many days before its date, so that another can be bought in time
/// (*common practice*: a month's notice).
const NOTICE_DAYS: i64 = 30;

/// Returns the lots on the cards that are past their date or come to it within a month, what
/// ended first first. A lot is good through its last day at the place of `now`.
pub fn shelf_lives(house: House<'_>, now: DateTime<FixedOffset>) -> Vec<ShelfLife> {
    let today = now.date_naive();
    let materials = house.cards.materials.values();
    let mut all: Vec<ShelfLife> = materials
        .flat_map(|material| {
            tins(house, material)
                .into_iter()
                .map(move |lot| (material, lot))
        })
        .filter_map(|(material, lot)| {
            let expires = lot.expires?;
            let days_left = (expires - today).num_days();
            (days_left <= NOTICE_DAYS).then(|| ShelfLife {
                material: material.id.clone(),
                name: material.name.clone(),
                lot: lot.lot,
                expires,
                days_left,
            })
        })
        .collect();
    all.sort_by(|a, b| (a.expires, &a.lot).cmp(&(b.expires, &b.lot)));
    all
}
