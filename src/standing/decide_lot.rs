//! Opening a lot, and pouring one into a jar. Names are held against those that stand on the
//! shelf, for a slip of the pen (O for 0) would end a recall.

use chrono::NaiveDate;

use super::decide::said;
use super::shelf::{as_read, filled, tins};
use super::{House, Refusal};
use crate::card::{Lot, MOST_HELD, MOST_PRICE, Material};
use crate::deed::{Deed, LotDecanted, LotOpened, Pack};

/// The longest name of a lot, as on a card.
const LONGEST: usize = 40;

/// Opens a tin: one that stands sealed on a card, or one that came since.
pub(super) fn open(
    house: House<'_>,
    material: &str,
    (lot, part): (&str, &str),
    (expires, pack): (Option<NaiveDate>, Pack),
) -> Result<Deed, Refusal> {
    let card = house.cards.materials.get(material).ok_or_else(|| {
        let known: Vec<&str> = house.cards.materials.keys().map(String::as_str).collect();
        Refusal::new(format!("no material is called `{material}`"))
            .remedy(format!("there are {}", known.join(", ")))
    })?;
    well_named(lot)?;
    let here = tins(house, card);
    let known = here
        .iter()
        .find(|tin| tin.lot == lot && (part.is_empty() || tin.part == part));
    if let Some(opened) = known.and_then(|tin| tin.opened) {
        return Err(Refusal::new(format!("lot {lot} is open since {opened}")));
    }
    let two_parts = card.ratio.is_some();
    let part = known.map_or(part, |tin| tin.part.as_str());
    match (two_parts, part) {
        (true, "a" | "b") | (false, "") => {}
        (true, _) => {
            let why = format!("lot {lot} of {}: which part is it?", card.name);
            return Err(Refusal::new(why).remedy("say part a (resin) or b (hardener)"));
        }
        (false, _) => {
            return Err(Refusal::new(format!("{} has no parts", card.name)));
        }
    }
    if known.is_none() {
        unlike_others(house, lot)?;
    }
    Ok(Deed::LotOpened(LotOpened {
        material: material.to_owned(),
        kind: card.kind,
        lot: lot.to_owned(),
        part: part.to_owned(),
        expires: expires.or(known.and_then(|tin| tin.expires)),
        pack: packed(card, known, pack)?,
    }))
}

/// Returns what a tin holds and cost, if that can be: held in the unit of its material, and a
/// price only where it is known for how much.
fn packed(card: &Material, known: Option<&Lot>, pack: Pack) -> Result<Pack, Refusal> {
    let unit = card.unit();
    let said = [
        ("g", pack.holds_g),
        ("ml", pack.holds_ml),
        ("leaves", pack.holds_leaves),
    ];
    let held = said.iter().filter_map(|(of, held)| Some((of, (*held)?)));
    for (of, held) in held {
        if *of != unit {
            let why = format!("{} is counted in {unit}, not in {of}", card.name);
            return Err(Refusal::new(why).remedy(format!("say what it holds in {unit}")));
        }
        if !(1..=MOST_HELD).contains(&held) {
            let why = format!("a lot holds from 1 to {MOST_HELD} {unit}, not {held}");
            return Err(Refusal::new(why));
        }
    }
    let Some(price) = pack.price else {
        return Ok(pack);
    };
    if !(0.0..=MOST_PRICE).contains(&price) {
        let why = format!("the price of a lot is from 0 to {MOST_PRICE}, not {price}");
        return Err(Refusal::new(why));
    }
    let tin = filled(known.cloned().unwrap_or_default(), pack);
    if card.priced_amount(&tin).is_none() {
        let why = format!("{price} is the price of how much of {}?", card.name);
        return Err(Refusal::new(why).remedy(format!("say what it holds in {unit}")));
    }
    Ok(pack)
}

/// Pours from an open tin or jar into a new jar; without a name it is called by the lot and a
/// count, to be written on the jar.
pub(super) fn decant(house: House<'_>, lot: &str, into: &str) -> Result<Deed, Refusal> {
    let (card, tin) = find(house, lot)?;
    if tin.opened.is_none() {
        return Err(Refusal::new(format!("lot {lot} is still sealed")).remedy("open it first"));
    }
    let into = if into.trim().is_empty() {
        next_name(house, card, lot)
    } else {
        well_named(into)?;
        unlike_others(house, into)?;
        into.to_owned()
    };
    Ok(Deed::LotDecanted(LotDecanted {
        material: card.id.clone(),
        lot: lot.to_owned(),
        into,
    }))
}

fn find<'a>(house: House<'a>, lot: &str) -> Result<(&'a Material, Lot), Refusal> {
    let found = house.cards.materials.values().find_map(|card| {
        let tin = tins(house, card).into_iter().find(|tin| tin.lot == lot)?;
        Some((card, tin))
    });
    found.ok_or_else(|| {
        let no = Refusal::new(format!("no lot or jar is called `{lot}`"));
        match alike(house, lot) {
            Some(near) => no.remedy(format!("did you mean `{near}`? copy it from the tin")),
            None => no.remedy("open the lot first, or write it on the material's card"),
        }
    })
}

fn next_name(house: House<'_>, card: &Material, lot: &str) -> String {
    let here = tins(house, card);
    let count = here.iter().filter(|tin| {
        let rest = tin.lot.strip_prefix(lot);
        rest.is_some_and(|rest| rest.starts_with('/'))
    });
    let mut number = count.count() + 1;
    loop {
        let name = format!("{lot}/{number}");
        if here.iter().all(|tin| tin.lot != name) {
            return name;
        }
        number += 1;
    }
}

fn well_named(name: &str) -> Result<(), Refusal> {
    said(name, "the name of the lot is empty")?;
    if LONGEST < name.chars().count() || name.chars().any(char::is_control) {
        return Err(Refusal::new(format!(
            "a lot's name has at most {LONGEST} letters and figures"
        )));
    }
    Ok(())
}

/// A new name must not look like one that is there.
fn unlike_others(house: House<'_>, name: &str) -> Result<(), Refusal> {
    match alike(house, name) {
        Some(near) => Err(Refusal::new(format!(
            "`{name}` looks like `{near}`, which stands on the shelf"
        ))
        .remedy("copy the number from the tin, or give the jar another name")),
        None => Ok(()),
    }
}

fn alike(house: House<'_>, name: &str) -> Option<String> {
    let wanted = as_read(name);
    let cards = house.cards.materials.values();
    cards
        .flat_map(|card| tins(house, card))
        .map(|tin| tin.lot)
        .find(|known| as_read(known) == wanted)
}
