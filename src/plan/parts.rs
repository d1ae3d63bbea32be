//! The parts of a figure that a walk is about: its places, its turn on the route, and its share of
//! the hours.

use crate::card::{Cards, Checklist, Figure, Path, Scope};
use crate::deed::Work;
use crate::standing::Offer;

/// Carved surface of a large ridden animal, m²: the hours of the checklists stand for one
/// (3.6–4.2 by the smooth solids of a carver's construction notes; own calculation).
const LARGE_M2: f64 = 3.9;

/// A figure takes at least, and at most, so much of the hours of a large one, whatever its size
/// (own judgement: setting up does not shrink with the figure).
const SIZE: (f64, f64) = (0.25, 1.5);

/// The places of a figure that a walk is about; none for the whole figure.
pub(super) fn places(card: &Figure, list: &Checklist, target: Option<&str>) -> Vec<String> {
    let Some(target) = target else {
        return Vec::new();
    };
    match list.scope {
        Scope::Figure => Vec::new(),
        Scope::Zone => vec![target.to_owned()],
        Scope::Panel => {
            let panel = card.panels.iter().find(|panel| panel.id == target);
            vec![panel.map_or(target, |panel| &panel.zone).to_owned()]
        }
        Scope::Joint => {
            let joint = card.joints.iter().find(|joint| joint.id == target);
            let zones = joint.map_or(&[][..], |joint| joint.zones.as_slice());
            let joint = std::iter::once(format!("joint {target}"));
            joint.chain(zones.iter().cloned()).collect()
        }
    }
}

/// Works in the order of the route; what stands on no stop, by its place in the journey.
pub(super) fn in_route_order(cards: &Cards, card: &Figure, mut all: Vec<Offer>) -> Vec<Offer> {
    let order = |operation: &str| cards.checklists.get(operation).map_or(0, |list| list.order);
    let stop = |operation: &str| {
        let named = card.route.iter().position(|it| it.operation == operation);
        named.map_or_else(
            || {
                let later = |it: &&crate::card::RouteStop| order(operation) < order(&it.operation);
                let before = card.route.iter().take_while(|it| !later(it)).count();
                (before, 0)
            },
            |place| (place, 1),
        )
    };
    let place = |target: Option<&String>| {
        let zone = card.zones.iter().position(|it| Some(&it.id) == target);
        let joint = card.joints.iter().position(|it| Some(&it.id) == target);
        zone.or(joint).unwrap_or_default()
    };
    all.sort_by_key(|it| {
        let target = it.work.target.as_ref();
        (
            stop(&it.work.operation),
            place(target),
            it.work.target.clone(),
        )
    });
    all
}

/// The share of a large figure's hours that falls to one walk: by carved area among all that
/// the stop is walked on, and by the size of the figure.
pub(super) fn share(card: &Figure, list: &Checklist, work: &Work) -> f64 {
    let Some(target) = work.target.as_deref() else {
        return 1.0;
    };
    let stop = card.route.iter().find(|it| it.operation == work.operation);
    let named =
        |id: &str| stop.is_none_or(|it| it.on.is_empty() || it.on.iter().any(|on| on == id));
    let fits = |path: Path| match list.paths.as_slice() {
        [] => path != Path::Leave,
        paths => paths.contains(&path),
    };
    let zone = |id: &str| card.zones.iter().find(|zone| zone.id == id);
    let parts: Vec<(&str, f64)> = match list.scope {
        Scope::Figure => return 1.0,
        Scope::Zone => {
            let zones = card
                .zones
                .iter()
                .filter(|it| fits(it.path) && named(&it.id));
            zones
                .map(|it| (it.id.as_str(), it.carved_area_m2()))
                .collect()
        }
        Scope::Panel => {
            let fits = |id: &str| zone(id).is_some_and(|zone| fits(zone.path));
            let panels = card
                .panels
                .iter()
                .filter(|it| fits(&it.zone) && named(&it.id));
            panels
                .map(|it| (it.id.as_str(), it.carved_area_m2()))
                .collect()
        }
        Scope::Joint => {
            let joints = card.joints.iter().filter(|it| named(&it.id));
            joints.map(|it| (it.id.as_str(), 1.0)).collect()
        }
    };
    let count = f64::from(u32::try_from(parts.len().max(1)).unwrap_or(u32::MAX));
    let sum: f64 = parts.iter().map(|(_, area)| area).sum();
    let own = parts
        .iter()
        .find(|(id, _)| *id == target)
        .map_or(0.0, |it| it.1);
    let measured = parts.iter().all(|(_, area)| 0.0 < *area) && 0.0 < own;
    let share = if measured { own / sum } else { 1.0 / count };
    if list.scope == Scope::Joint {
        return share;
    }
    let surface: f64 = card
        .zones
        .iter()
        .map(crate::card::Zone::carved_area_m2)
        .sum();
    let size = if 0.0 < surface {
        (surface / LARGE_M2).clamp(SIZE.0, SIZE.1)
    } else {
        1.0
    };
    share * size
}
