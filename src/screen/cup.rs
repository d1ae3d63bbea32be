//! A batch from the choice to first contact: offers, pours with large grams, the start.

use crate::deed::Pouring;
use crate::standing::{Ask, BatchOffer};

use super::ask::number;
use super::column::Column;
use super::keys::Act;
use super::look::{Sign, Tone};
use super::pane::Pane;
use super::times;
use crate::reckon::counted;

/// Draws what a cup asks for.
pub(super) fn draw(column: &mut Column<'_, '_>, pane: &Pane<'_>, ask: &Ask) {
    match ask {
        Ask::Batch { offers } => batch(column, offers),
        Ask::Pour {
            material,
            asked_g,
            poured,
            ..
        } => {
            pour(column, pane, (material, *asked_g, poured));
        }
        Ask::PourOff {
            off_percent,
            add,
            poured,
        } => off(column, pane, *off_percent, *add, poured),
        Ask::Start {
            off_percent,
            verdict,
            add,
            promise_min,
            because,
        } => {
            if add.is_some() {
                let sign = Sign::new("▲", "noted", Tone::BolePlate);
                column.sign(sign, &off_words(*off_percent), Tone::Chalk);
                mend(column, pane, *add);
            } else {
                let sign = Sign::new("●", verdict_word(*off_percent), Tone::Verdigris);
                column.sign(sign, verdict, Tone::Chalk);
                column.gap(1);
            }
            let minutes = times::number(promise_min.floor());
            let large = column.free() >= 8;
            column.figures(&minutes, "min from the press", Tone::Gilt, large);
            column.wrap(because, Tone::Rubbed, 2);
            column.next_key("Space", "now", Act::Next);
            column.keys(&[("x", "throw it away", Act::Discard)]);
        }
        _ => {}
    }
}

/// What would bring a cup that is a little off onto its ratio: typed, it counts as poured.
fn mend(column: &mut Column<'_, '_>, pane: &Pane<'_>, add: Option<(Pouring, f64)>) {
    let Some((part, grams)) = add else { return };
    let (part, grams) = (times::part(part), times::grams(grams));
    if pane.view.entry.is_empty() {
        let words = format!("▸ add {grams} g of {part}, type it; or");
        column.line(&words, Tone::Chalk);
    } else {
        number(column, pane, &format!("of {grams} g {part}"));
    }
}

fn off_words(off_percent: f64) -> String {
    let much = if off_percent > 0.0 {
        "too much"
    } else {
        "too little"
    };
    format!("{:.1} % {much} hardener", off_percent.abs())
}

fn verdict_word(off_percent: f64) -> &'static str {
    if off_percent.abs() < 0.05 {
        "on the ratio"
    } else {
        "within the ratio"
    }
}

fn batch(column: &mut Column<'_, '_>, offers: &[BatchOffer]) {
    if offers.is_empty() {
        column.wrap(
            "no card of the shop has an open lot of both parts for this",
            Tone::Bole,
            3,
        );
        return;
    }
    let rows_each = usize::from(column.free().saturating_sub(1)) / offers.len().min(9);
    let roomy = rows_each >= 5;
    for (place, offer) in offers.iter().take(9).enumerate() {
        let [a, b] = offer.grams;
        let grams = format!(
            "{} of {} g + {} g: {} min each",
            counted(offer.cups, "cup"),
            times::grams(a),
            times::grams(b),
            times::number(offer.promise_min.floor())
        );
        if rows_each < 2 {
            let words = match &offer.refused {
                Some(why) => format!("■ {}, not this one: {why}", offer.name),
                None => format!("{}, {grams}", offer.name),
            };
            column.pick(place + 1, &words, "");
            continue;
        }
        column.pick(place + 1, &offer.name, "");
        if !roomy {
            match &offer.refused {
                Some(why) => column.line(&format!("■ not this one: {why}"), Tone::Bole),
                None => column.line(&grams, Tone::Chalk),
            }
            continue;
        }
        column.wrap(&grams, Tone::Chalk, 2);
        let [lot_a, lot_b] = &offer.lots;
        column.line(&format!("lots {lot_a}, {lot_b}"), Tone::Rubbed);
        match &offer.refused {
            Some(why) => column.wrap(&format!("■ not this one: {why}"), Tone::Bole, 2),
            None => column.wrap(&offer.because, Tone::Rubbed, 2),
        }
    }
    column.keys(&[("r", "other lots", Act::ReadAgain)]);
}

fn pour(column: &mut Column<'_, '_>, pane: &Pane<'_>, cup: (&str, f64, &[(Pouring, f64)])) {
    let (material, asked_g, poured) = cup;
    column.line(material, Tone::Chalk);
    let both = column.free() >= 15;
    let typing = !pane.view.entry.is_empty();
    let asked = times::grams(asked_g);
    let large = column.free() >= 7;
    if both {
        column.figures(&asked, "g to pour", Tone::Chalk, true);
        column.gap(1);
        number(column, pane, "g on the balance");
    } else if typing {
        number(column, pane, &format!("g of {asked} g"));
    } else {
        column.figures(&asked, "g to pour", Tone::Chalk, large);
    }
    in_the_cup(column, poured);
    let enter = if typing { "poured" } else { "once it is typed" };
    let mut keys = vec![("Enter", enter, Act::Next)];
    if !poured.is_empty() {
        keys.push(("x", "throw it away", Act::Discard));
    }
    column.keys(&keys);
}

fn in_the_cup(column: &mut Column<'_, '_>, poured: &[(Pouring, f64)]) {
    if poured.is_empty() {
        column.line("the cup is empty: tare it", Tone::Rubbed);
        return;
    }
    let all: Vec<String> = poured
        .iter()
        .map(|(part, grams)| format!("{} {} g", times::part(*part), times::grams(*grams)))
        .collect();
    column.line(&format!("in the cup: {}", all.join(" + ")), Tone::Rubbed);
}

fn off(
    column: &mut Column<'_, '_>,
    pane: &Pane<'_>,
    off_percent: f64,
    add: Option<(Pouring, f64)>,
    poured: &[(Pouring, f64)],
) {
    let sign = Sign::new("▲", "off", Tone::BolePlate);
    column.sign(sign, &off_words(off_percent), Tone::Chalk);
    in_the_cup(column, poured);
    column.gap(1);
    let Some((part, grams)) = add else {
        column.wrap("nothing that is added helps: only a new cup", Tone::Bole, 2);
        column.keys(&[("x", "throw it away", Act::Discard)]);
        return;
    };
    let words = format!("g more of {}", times::part(part));
    let typing = !pane.view.entry.is_empty();
    if typing {
        column.line(&format!("add {} {words}", times::grams(grams)), Tone::Chalk);
        number(column, pane, "g on the balance");
    } else {
        let large = column.free() >= 8;
        column.figures(&times::grams(grams), &words, Tone::Chalk, large);
        column.line("▸ type the grams added", Tone::Gilt);
    }
    column.keys(&[
        ("Enter", "added", Act::Next),
        ("x", "throw it away", Act::Discard),
    ]);
}
