//! On which part another operation is walked when a work leads to it: a gate of a joint asks
//! for the drying of the zones beside it, a snag of the whole figure goes back to one zone.

use super::House;
use super::decide::fits_path;
use crate::card::{Figure, Scope};
use crate::deed::Work;

/// Returns the targets on which an operation may be walked for a work, those that the work
/// touches before any other, `None` for the whole figure; empty without a card. Where the paths
/// allow none, all of them: beginning it is refused with the reason.
pub fn targets(
    house: House<'_>,
    figure: &str,
    work: &Work,
    operation: &str,
) -> Vec<Option<String>> {
    let card = house.cards.figures.get(figure);
    let list = house.cards.checklists.get(operation);
    let (Some(card), Some(list)) = (card, list) else {
        return Vec::new();
    };
    let here = work.target.as_deref();
    let all = match list.scope {
        Scope::Figure => return vec![None],
        Scope::Zone => zones(card, here),
        Scope::Joint => joints(card, here),
        Scope::Panel => panels(card, here),
    };
    let mut all: Vec<Option<String>> = all.into_iter().map(Some).collect();
    let fits = |target: &Option<String>| fits_path(house, figure, list, target.as_deref()).is_ok();
    // Where it may be walked nowhere all are named, so that beginning it says why.
    if all.iter().any(fits) {
        all.retain(fits);
    }
    all
}

fn zones(card: &Figure, here: Option<&str>) -> Vec<String> {
    if let Some(joint) = card.joints.iter().find(|joint| Some(&*joint.id) == here) {
        return joint.zones.clone();
    }
    let panel = card.panels.iter().find(|panel| Some(&*panel.id) == here);
    let here = panel.map_or(here, |panel| Some(panel.zone.as_str()));
    let zones = card.zones.iter().map(|zone| zone.id.clone());
    zones
        .filter(|zone| here.is_none_or(|here| here == zone))
        .collect()
}

fn joints(card: &Figure, here: Option<&str>) -> Vec<String> {
    let touches = |id: &str, zones: &[String]| {
        here.is_none_or(|here| here == id || zones.iter().any(|zone| zone == here))
    };
    let joints = card.joints.iter();
    joints
        .filter(|joint| touches(&joint.id, &joint.zones))
        .map(|joint| joint.id.clone())
        .collect()
}

fn panels(card: &Figure, here: Option<&str>) -> Vec<String> {
    let panels = card.panels.iter();
    panels
        .filter(|panel| here.is_none_or(|here| here == panel.id || here == panel.zone))
        .map(|panel| panel.id.clone())
        .collect()
}
