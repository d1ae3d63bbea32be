//! The days off on the shop card, in words: a forecast says that it counted them.

use chrono::NaiveDate;

use crate::card::{DaysOff, Shop};

/// Which days off on the shop card a forecast counts on nobody, from a day on; `None` where the
/// card has none ahead.
pub(super) fn days_off(shop: &Shop, today: NaiveDate) -> Option<String> {
    let day = |day: NaiveDate| day.format("%-d %b %Y").to_string();
    let told = |who: &str, off: &DaysOff| {
        if off.from == off.to {
            format!("{who} on {}", day(off.from))
        } else {
            format!("{who} from {} to {}", day(off.from), day(off.to))
        }
    };
    let is_ahead = |off: &&DaysOff| today <= off.to;
    let closed = shop.closed.iter().filter(is_ahead);
    let closed = closed.map(|off| told("the shop is closed", off));
    let away = shop.people.iter().flat_map(|one| {
        let off = one.away.iter().filter(is_ahead);
        off.map(|off| told(&format!("{} is away", one.id), off))
    });
    let all: Vec<String> = closed.chain(away).collect();
    (!all.is_empty()).then(|| format!("counted as well: {}", all.join("; ")))
}
