//! What stands on the shelf: the lots of the cards, the lots opened since, and the jars that
//! were filled from them. A jar is a node of its own, so that recall never stops at it.

use super::House;
use crate::card::{Lot, Material};
use crate::deed::Pack;

/// Returns every tin and jar of a material: the lots of its card, those opened since, and the
/// jars, each jar with part and date of what it was filled from.
pub fn tins(house: House<'_>, material: &Material) -> Vec<Lot> {
    let shop = &house.standing.shop;
    let mut tins = material.lots.clone();
    for (opened, stamp) in &shop.lots {
        if opened.material != material.id {
            continue;
        }
        let day = stamp.at.date_naive();
        let known = |tin: &&mut Lot| tin.lot == opened.lot && tin.part == opened.part;
        if let Some(tin) = tins.iter_mut().find(known) {
            tin.opened.get_or_insert(day);
            *tin = filled(std::mem::take(tin), opened.pack);
        } else {
            let tin = Lot {
                lot: opened.lot.clone(),
                part: opened.part.clone(),
                opened: Some(day),
                expires: opened.expires,
                ..Lot::default()
            };
            tins.push(filled(tin, opened.pack));
        }
    }
    for (poured, stamp) in &shop.decanted {
        let source = tins.iter().find(|tin| tin.lot == poured.lot).cloned();
        if let Some(source) = source.filter(|_| poured.material == material.id) {
            tins.push(Lot {
                lot: poured.into.clone(),
                part: source.part,
                opened: Some(stamp.at.date_naive()),
                expires: source.expires,
                ..Lot::default()
            });
        }
    }
    tins
}

/// Returns a tin with what was said of it when it was opened; its card comes first.
pub(super) fn filled(tin: Lot, pack: Pack) -> Lot {
    Lot {
        holds_g: tin.holds_g.or(pack.holds_g),
        holds_ml: tin.holds_ml.or(pack.holds_ml),
        holds_leaves: tin.holds_leaves.or(pack.holds_leaves),
        price: tin.price.or(pack.price),
        ..tin
    }
}

/// Returns whether a tin or jar of this name holds the material.
pub(super) fn is_of(house: House<'_>, material: &Material, lot: &str) -> bool {
    let shop = &house.standing.shop;
    let opened = |known: &str, name: &str| known == material.id && name == lot;
    material.lots.iter().any(|known| known.lot == lot)
        || shop.lots.iter().any(|(o, _)| opened(&o.material, &o.lot))
        || shop
            .decanted
            .iter()
            .any(|(poured, _)| opened(&poured.material, &poured.into))
}

/// Returns the lot on the tin that a jar was filled from, over every pouring; a lot that is no
/// jar is its own.
pub fn lot_on_tin<'a>(house: House<'a>, name: &'a str) -> &'a str {
    let poured = &house.standing.shop.decanted;
    let mut name = name;
    // Every pouring names a new jar, so the way up is no longer than there are pourings.
    for _ in 0..poured.len() {
        match poured.iter().find(|(jar, _)| jar.into == name) {
            Some((jar, _)) => name = &jar.lot,
            None => break,
        }
    }
    name
}

/// Returns a name with the signs made one that the eye takes for each other on a tin: O and 0,
/// I, l and 1, S and 5, B and 8, Z and 2; large and small letters alike.
pub(super) fn as_read(name: &str) -> String {
    let read = |sign: char| match sign.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        'S' => '5',
        'B' => '8',
        'Z' => '2',
        other => other,
    };
    name.trim().chars().map(read).collect()
}
