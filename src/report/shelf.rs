//! What is said of a lot on the shelf.

use chrono::{DateTime, FixedOffset};

use super::shown::number;
use crate::card::Cards;
use crate::plan::LotStock;
use crate::reckon::counted;

/// Returns an amount in its unit: `68.9 g`, `1.2 l`, `92 leaves`.
pub fn amount(amount: f64, unit: &str) -> String {
    match unit {
        "ml" if 1000.0 <= amount => format!("{} l", number(amount / 1000.0, 2)),
        "ml" => format!("{} ml", number(amount, 0)),
        "leaves" => counted(amount.round(), "leaf"),
        unit => format!("{} {unit}", number(amount, 1)),
    }
}

/// Returns a price with the shop's word for money, where it has one: `12.50 EUR`.
pub fn money(price: f64, word: &str) -> String {
    format!("{price:.2} {word}").trim_end().to_owned()
}

/// Returns in words why a lot was asked twice before it was taken: that it was past its date on
/// that day, or still sealed; both where no card knows the lot.
pub(super) fn taken_on_a_yes(lot: &str, on: DateTime<FixedOffset>, cards: &Cards) -> String {
    let mut lots = cards.materials.values().flat_map(|card| &card.lots);
    match lots.find(|known| known.lot == lot).map(|lot| lot.expires) {
        None => "past its date or still sealed, taken all the same".to_owned(),
        Some(Some(expires)) if expires < on.date_naive() => {
            format!("past its date, {expires}, taken all the same")
        }
        Some(_) => "still sealed till then".to_owned(),
    }
}

/// Returns what must be known of a lot beside its amounts.
pub fn lot_remarks(lot: &LotStock) -> Vec<String> {
    let mut remarks = Vec::new();
    match (lot.past_date, lot.expires) {
        (true, Some(expires)) => remarks.push(format!("past its date, {expires}")),
        (_, Some(expires)) => remarks.push(format!("use by {expires}")),
        _ => {}
    }
    match lot.opened {
        Some(opened) => remarks.push(format!("open since {opened}")),
        None => remarks.push("sealed".to_owned()),
    }
    if lot.under_one_job {
        remarks.push("less than the largest job ahead takes".to_owned());
    }
    if 0.0 < lot.skewings_g {
        remarks.push(format!("{} g of skewings kept", number(lot.skewings_g, 1)));
    }
    if !lot.jars.is_empty() {
        remarks.push(format!("jars {}", lot.jars.join(", ")));
    }
    remarks
}
