//! Which sizes stand on the shelf for tonight, and which panels still wait for leaf.

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::hours::Present;
use super::leafing::Piece;
use super::night::{NightAsk, SizeChoice};
use super::parts::in_route_order;
use crate::card::{ClockName, Figure, Lot, Material, MaterialKind, Panel};
use crate::standing::{
    Clock, ClockView, House, Offer, SizeSheet, Stage, offers, sized_by_lot, tins, view,
};

/// The operation that sizes and leafs a panel.
pub(super) const LEAFING: &str = "size-and-leaf";

/// The clocks of size that lies somewhere.
const TACK: [ClockName; 3] = [
    ClockName::TackEdge,
    ClockName::TackFlat,
    ClockName::TackHollow,
];

/// A size that could be laid tonight.
#[derive(Debug, Clone)]
pub(super) struct Shelf<'a> {
    pub(super) material: &'a Material,
    pub(super) sheet: SizeSheet,
    pub(super) choice: SizeChoice,
}

/// Returns every size with a usable lot on the shelf, and why the others cannot be planned with.
/// Of lots that differ in nothing the one opened last stands for all.
pub(super) fn sizes<'a>(
    house: House<'a>,
    now: DateTime<FixedOffset>,
) -> (Vec<Shelf<'a>>, Vec<String>) {
    let today = now.date_naive();
    let mut shelf: Vec<Shelf<'a>> = Vec::new();
    let mut why = Vec::new();
    let all = house.cards.materials.values();
    for material in all.filter(|material| material.kind == MaterialKind::Size) {
        let mut lots = tins(house, material);
        lots.retain(|lot| in_date(lot, today));
        lots.sort_by_key(|lot| std::cmp::Reverse(lot.opened));
        if lots.is_empty() {
            why.push(no_lot(material));
        }
        for lot in lots {
            match on_shelf(house, material, &lot) {
                Ok(one) if shelf.iter().any(|other| is_same(other, &one)) => {}
                Ok(one) => shelf.push(one),
                Err(lacks) => {
                    why.push(lacks);
                    break;
                }
            }
        }
    }
    // The slower size levels better and gilds brighter; where nothing speaks, it comes first.
    let late = |one: &Shelf<'_>| one.material.tack_h.map_or(0.0, |tack| tack.late);
    shelf.sort_by(|a, b| late(b).total_cmp(&late(a)));
    (shelf, why)
}

/// Says that a size is on no shelf, and how it comes there.
pub(super) fn no_lot(material: &Material) -> String {
    let (name, id) = (&material.name, &material.id);
    format!("{name}: no lot in date on the shelf; open one: knuckle lot open {id} NUMBER")
}

fn is_same(one: &Shelf<'_>, other: &Shelf<'_>) -> bool {
    one.material.id == other.material.id && one.sheet == other.sheet
}

/// Leaf is laid tomorrow: the lot must hold until then.
fn in_date(lot: &Lot, today: NaiveDate) -> bool {
    let opened = lot.opened.is_none_or(|opened| opened <= today);
    opened && lot.expires.is_none_or(|expires| today < expires)
}

fn on_shelf<'a>(house: House<'a>, material: &'a Material, lot: &Lot) -> Result<Shelf<'a>, String> {
    let (Some(class), Some(ready), Some(dead)) =
        (material.size_class, material.tack_h, material.dead_h)
    else {
        let lacks = "size_class, tack_h and dead_h";
        return Err(format!("{}: its card lacks {lacks}", material.name));
    };
    let own = sized_by_lot(house, (ready, dead), &lot.lot);
    Ok(Shelf {
        material,
        sheet: SizeSheet::new(class, &own.0, &own.1),
        choice: SizeChoice {
            material: material.id.clone(),
            name: material.name.clone(),
            lot: lot.lot.clone(),
            sealed: lot.opened.is_none(),
            provenance: match own.2 {
                0 => "from sheet".to_owned(),
                cases => format!("from this lot (n = {cases})"),
            },
        },
    })
}

/// When to come to size that lies on a panel: from when it is likely at the earliest, while
/// somebody is there; what dies first and comes last stands beside it.
fn lying(
    house: House<'_>,
    (card, panel): (&Figure, &Panel),
    now: DateTime<FixedOffset>,
    present: &[Present],
) -> String {
    let views: Vec<ClockView> = laid(house, card, panel)
        .map(|clock| view(house, &card.id, clock, now))
        .collect();
    let hour = |at: DateTime<FixedOffset>| at.with_timezone(now.offset()).format("%a %H:%M");
    let likely = views.iter().filter_map(|view| view.likely).min();
    let dead = views.iter().filter_map(|view| view.closes).min();
    let ready = views.iter().filter_map(|view| view.opens).max();
    let (Some(likely), Some(dead), Some(ready)) = (likely, dead, ready) else {
        return "its size is laid already: see its clocks".to_owned();
    };
    if dead <= now {
        let dead = hour(dead);
        return format!(
            "its size lies there, and may be dead since {dead}: try it before any leaf"
        );
    }
    let there = present.iter().find(|span| likely < span.to);
    let come = there.map(|span| span.from.max(likely).max(now));
    let come = match come {
        Some(come) if come < dead => format!("come in {}", hour(come)),
        Some(come) => format!(
            "the doors open {}, too late: come in {}",
            hour(come),
            hour(likely)
        ),
        None => format!("come in {}", hour(likely)),
    };
    format!(
        "its size lies there: {come} and try it; edges may be dead from {}, all of it is surely ready {}",
        hour(dead),
        hour(ready)
    )
}

/// Returns what the panels of tonight ask, and which panels were left out and why.
pub(super) fn pieces(
    house: House<'_>,
    card: &Figure,
    (ask, now, present): (&NightAsk<'_>, DateTime<FixedOffset>, &[Present]),
) -> (Vec<Piece>, Vec<(String, String)>) {
    let mut left_out: Vec<(String, String)> = ask
        .panels
        .iter()
        .filter(|named| card.panels.iter().all(|panel| panel.id != **named))
        .map(|named| (named.clone(), "no panel of this figure".to_owned()))
        .collect();
    let route = in_route_order(house.cards, card, offers(house, &card.id));
    let mut found = Vec::new();
    for panel in &card.panels {
        let is_asked = if ask.panels.is_empty() {
            is_waiting(&route, panel)
        } else {
            ask.panels.contains(&panel.id)
        };
        if !is_asked {
            continue;
        }
        let piece = if laid(house, card, panel).next().is_some() {
            Err(lying(house, (card, panel), now, present))
        } else {
            ground(&route, panel).and_then(|()| Piece::of(house.cards, panel, ask.leaves_per_h))
        };
        match piece {
            Ok(piece) => found.push(piece),
            Err(why) => left_out.push((panel.id.clone(), why)),
        }
    }
    (found, left_out)
}

/// Returns the panels of a figure that wait for size, their ground done: id and name, in the
/// card's order; empty where no figure of this name has a card.
pub fn waiting_panels(house: House<'_>, figure: &str) -> Vec<(String, String)> {
    let Some(card) = house.cards.figures.get(figure) else {
        return Vec::new();
    };
    let route = in_route_order(house.cards, card, offers(house, &card.id));
    let waits = |panel: &&Panel| {
        is_waiting(&route, panel)
            && ground(&route, panel).is_ok()
            && laid(house, card, panel).next().is_none()
    };
    let panels = card.panels.iter().filter(waits);
    panels
        .map(|panel| (panel.id.clone(), panel.name.clone()))
        .collect()
}

/// Whether the panel stands on the route with its leaf not finished.
fn is_waiting(route: &[Offer], panel: &Panel) -> bool {
    leafing(route, panel).is_some_and(Stage::is_ahead)
}

/// Returns where the leafing of a panel stands on the route; `None` where it does not.
fn leafing(route: &[Offer], panel: &Panel) -> Option<Stage> {
    let mut stops = route.iter();
    stops
        .find(|offer| is_leafing(offer, panel))
        .map(|offer| offer.stage)
}

fn is_leafing(offer: &Offer, panel: &Panel) -> bool {
    offer.work.operation == LEAFING && offer.work.target.as_ref() == Some(&panel.id)
}

/// Whether all that stands before the leaf of a panel is done, on its zone, on the panel itself
/// and on the whole figure; else what must come first. The leaf of other panels of the zone may
/// come the same night.
fn ground(route: &[Offer], panel: &Panel) -> Result<(), String> {
    match leafing(route, panel) {
        None => {
            return Err(format!(
                "no stop `{LEAFING}` for it on the route of its card"
            ));
        }
        Some(Stage::Open | Stage::Passed | Stage::Done) => return Ok(()),
        Some(Stage::Next | Stage::Later) => {}
    }
    let earlier = route.iter().take_while(|offer| !is_leafing(offer, panel));
    let mut open = earlier.filter(|offer| {
        let target = offer.work.target.as_ref();
        let here = target.is_none_or(|target| *target == panel.zone || *target == panel.id);
        here && offer.stage.is_ahead() && offer.work.operation != LEAFING
    });
    let Some(first) = open.next() else {
        return Ok(());
    };
    let more = match open.count() {
        0 => String::new(),
        more => format!(", then {more} more of the route"),
    };
    Err(format!(
        "its ground is not there yet: first “{}”{more}",
        first.title
    ))
}

/// The clocks of size that lies on a panel.
fn laid<'a>(house: House<'a>, card: &Figure, panel: &Panel) -> impl Iterator<Item = &'a Clock> {
    let clocks = house.figure(&card.id).map(|standing| &standing.clocks);
    clocks.into_iter().flatten().filter(|clock| {
        clock.ended.is_none()
            && TACK.contains(&clock.clock)
            && clock.work.target.as_ref() == Some(&panel.id)
    })
}
