//! What an operation takes from the shelf that does not stand there: said at its first step,
//! before gloves are on. It warns and shuts nothing; a tin may still be on its way.

use chrono::NaiveDate;

use super::{Here, StepSum, Weight};
use crate::card::{Checklist, Lot, Material, MaterialKind, Step};
use crate::deed::Work;
use crate::standing::{House, as_written, shelf, walk};

/// Returns what the shelf lacks for the work, at its first step.
pub(super) fn at(here: &Here<'_>) -> Vec<StepSum> {
    if here.at != 0 {
        return Vec::new();
    }
    let case = here.case;
    let lacking = lacks(case.house, (case.figure, case.work), case.now.date_naive());
    if lacking.is_empty() {
        return Vec::new();
    }
    let line = format!("the shelf lacks {}", lacking.join("; "));
    let sum = StepSum::new("shelf", line).minded(Weight::Mind);
    vec![
        sum.more("a tin comes on the shelf by `knuckle lot open`, or on its material's card")
            .word("shelf_lacks", lacking.join("; ")),
    ]
}

/// Returns what a work takes for certain and what of it stands nowhere in date, in words;
/// empty where all is there. What only an answer may ask for is not among it.
pub fn lacks(house: House<'_>, (figure, work): (&str, &Work), today: NaiveDate) -> Vec<String> {
    let Some(list) = walk::checklist(house, work) else {
        return Vec::new();
    };
    let leaf = leaf_of(house, figure, work);
    let kinds = kinds(list).into_iter();
    kinds
        .filter_map(|kind| {
            let only = leaf.filter(|_| kind == MaterialKind::Leaf);
            lack(house, (kind, only), today)
        })
        .collect()
}

/// Returns the kinds of material that a work takes for certain, in the order of its steps. What
/// only an answer may ask for is not among them.
pub fn takes(house: House<'_>, work: &Work) -> Vec<MaterialKind> {
    walk::checklist(house, work).map(kinds).unwrap_or_default()
}

/// The kinds of material that every walk of a list takes, in their order; `other` says nothing.
fn kinds(list: &Checklist) -> Vec<MaterialKind> {
    let sure = list.steps.iter().filter(|step| step.only_if.is_none());
    let mut kinds: Vec<MaterialKind> = Vec::new();
    for kind in sure.flat_map(of_step) {
        if kind != MaterialKind::Other && !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    kinds
}

fn of_step(step: &Step) -> impl Iterator<Item = MaterialKind> {
    let lots = step.record.iter().filter_map(|record| record.lot);
    let mix = step.mix.iter().map(|mix| mix.of);
    let coats = step.coats.iter().map(|coats| coats.of);
    lots.chain(mix).chain(coats)
}

/// The leaf that the card of a panel asks for.
fn leaf_of<'a>(house: House<'a>, figure: &str, work: &Work) -> Option<&'a str> {
    let target = work.target.as_deref()?;
    let card = house.cards.figures.get(figure)?;
    let panel = card.panels.iter().find(|panel| panel.id == target)?;
    Some(&panel.leaf)
}

/// What is lacking of a kind, or of one material of it: nothing as soon as one material has
/// all its parts in date, else the parts of the one that lacks least.
fn lack(
    house: House<'_>,
    (kind, only): (MaterialKind, Option<&str>),
    today: NaiveDate,
) -> Option<String> {
    let cards = house.cards.materials.values();
    let cards = cards.filter(|card| card.kind == kind && only.is_none_or(|only| only == card.id));
    let lacking = cards.map(|card| (card, parts_lacking(house, card, today)));
    match lacking.min_by_key(|(_, parts)| parts.len()) {
        Some((_, parts)) if parts.is_empty() => None,
        Some((card, parts)) => Some(words(house, card, &parts)),
        None => Some(format!(
            "a material of kind `{}`: no card is of it",
            as_written(kind)
        )),
    }
}

fn parts_lacking(house: House<'_>, card: &Material, today: NaiveDate) -> Vec<&'static str> {
    let parts: &[&str] = match card.ratio {
        Some(_) => &["a", "b"],
        None => &[""],
    };
    let here = shelf::tins(house, card);
    let in_date = |tin: &&Lot| tin.expires.is_none_or(|expires| today <= expires);
    let there = |part: &str| here.iter().filter(in_date).any(|tin| tin.part == part);
    parts.iter().filter(|part| !there(part)).copied().collect()
}

fn words(house: House<'_>, card: &Material, parts: &[&str]) -> String {
    let named: Vec<&str> = parts
        .iter()
        .filter_map(|part| match *part {
            "a" => Some("resin"),
            "b" => Some("hardener"),
            _ => None,
        })
        .collect();
    let past = shelf::tins(house, card);
    let past = past.iter().any(|tin| parts.contains(&tin.part.as_str()));
    let date = if past { " in date" } else { "" };
    if named.is_empty() {
        return format!("{}{date}", card.name);
    }
    format!("{} of {}{date}", named.join(" and "), card.name)
}
