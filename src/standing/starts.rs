//! Clocks to start: the card's figures are frozen into the line that starts them.

use super::facts::Job;
use super::gate::{self, Case};
use super::{as_written, mixing};
use crate::card::{ClockName, CureHours, Material, MaterialKind, StartClock, Strength};
use crate::deed::{ClockRule, ClockStart, Place, Use, Value};
use crate::reckon::{Minutes, change_gloves};

/// A left-over cup is watched until cold, minutes: early, likely, late (*common practice*;
/// the hand that feels it cold decides).
const LEFTOVER_MIN: [f64; 3] = [30.0, 60.0, 120.0];

/// Leaf sets before it is rubbed, minutes (*common practice*: 24 to 72 h).
const LEAF_SET_MIN: [f64; 3] = [1440.0, 2880.0, 4320.0];

/// Washed wood dries for days; readings decide, minutes (*common practice*: 4 to 10 days).
const DRYING_MIN: [f64; 3] = [5760.0, 10080.0, 14400.0];

/// Dust settles, minutes (*common practice*).
const DUST_MIN: [f64; 3] = [120.0, 120.0, 120.0];

/// Gloves without a figure on the card: minutes until the first change (own judgement, short).
const GLOVE_UNKNOWN_MIN: f64 = 10.0;

/// Share of vapour left when masks may come off (*common practice*).
const PURGE_TO: f64 = 0.01;

/// Mixing factor of a real room (*common practice*; it may reach 10).
const PURGE_MIXING: f64 = 3.0;

/// A cup that was mixed: what a clock of it needs to know.
#[derive(Clone, Copy)]
pub(super) struct Cup<'a> {
    pub(super) material: &'a Material,
    pub(super) grams: f64,
}

/// Returns the clocks that a step starts under this hand. Whoever wears a cartridge already
/// goes on with it: putting the mask on again makes it no fresher. Against methylene chloride
/// no cartridge protects, so that none is timed.
///
/// # Errors
/// One line when a card lacks the figure that a clock needs.
pub(super) fn clocks(
    case: Case<'_>,
    job: &Job,
    (starts, by): (&[StartClock], &str),
    cup: Option<Cup<'_>>,
) -> Result<Vec<ClockStart>, String> {
    starts
        .iter()
        .filter(|start| {
            start.clock != ClockName::Cartridge || needs_cartridge(case, job, start, by)
        })
        .map(|start| clock(case, job, start, cup))
        .collect()
}

fn needs_cartridge(case: Case<'_>, job: &Job, start: &StartClock, by: &str) -> bool {
    let against = start.by.and_then(|kind| in_use(case, job, kind));
    let protects = against.is_none_or(|it| !it.strength.contains(&Strength::Dcm));
    protects && gate::cartridges(case.house).all(|(_, worn)| worn.started.by != by)
}

fn clock(
    case: Case<'_>,
    job: &Job,
    start: &StartClock,
    cup: Option<Cup<'_>>,
) -> Result<ClockStart, String> {
    let material = match (cup, start.by) {
        (Some(cup), _) => Some(cup.material),
        (None, Some(kind)) => in_use(case, job, kind),
        (None, None) => None,
    };
    let rule = rule(case, job, start.clock, (material, cup))?;
    let target = case
        .work
        .target
        .clone()
        .unwrap_or_else(|| case.figure.to_owned());
    let about = material.map_or(target.clone(), |material| {
        let is_known = cup.is_some() || picked(case, job, material.kind).is_some();
        if is_known || is_alone(case, material) {
            format!("{target}, {}", material.name)
        } else {
            format!(
                "{target}, any {}",
                as_written(material.kind).replace('_', " ")
            )
        }
    });
    Ok(ClockStart {
        clock: start.clock,
        about,
        rule,
    })
}

/// The word for what a material is, where none of its kind has been picked yet.
pub(super) fn kind_word(material: &Material) -> String {
    as_written(material.kind).replace('_', " ")
}

/// Whether no other card of the shop is of the same kind.
fn is_alone(case: Case<'_>, material: &Material) -> bool {
    let mut cards = case.house.cards.materials.values();
    cards.all(|card| card.kind != material.kind || card.id == material.id)
}

fn rule(
    case: Case<'_>,
    job: &Job,
    name: ClockName,
    (material, cup): (Option<&Material>, Option<Cup<'_>>),
) -> Result<ClockRule, String> {
    let cure = |what: &str, sheet: fn(&Material) -> Option<CureHours>| {
        let found = material.and_then(sheet);
        found.ok_or_else(|| missing(material, what))
    };
    Ok(match name {
        ClockName::Cup => {
            let cup = cup.ok_or("a cup clock starts with a mix only")?;
            ClockRule::PotLife {
                sheet: cup.material.pot_life.clone(),
                grams: cup.grams,
                resin_c: mixing::resin(case, job),
            }
        }
        ClockName::Closing => ClockRule::Film {
            sheet: cure("closing_min", |m| m.closing_min)?,
        },
        ClockName::Clamps => ClockRule::Cure {
            sheet: cure("handling_h", |m| m.handling_h)?,
            loaded: is_loaded(case),
        },
        ClockName::Load => ClockRule::Cure {
            sheet: cure("load_h", |m| m.load_h)?,
            loaded: false,
        },
        ClockName::FullCure => ClockRule::Cure {
            sheet: cure("full_cure_h", |m| m.full_cure_h)?,
            loaded: false,
        },
        ClockName::Recoat => ClockRule::Recoat {
            sheet: material
                .and_then(|m| m.recoat)
                .ok_or_else(|| missing(material, "recoat"))?,
        },
        ClockName::TackEdge => tack(material, Place::Edge)?,
        ClockName::TackFlat => tack(material, Place::Flat)?,
        ClockName::TackHollow => tack(material, Place::Hollow)?,
        ClockName::Dwell => {
            let sheet = cure("dwell_min", |m| m.dwell_min)?;
            span(
                [sheet.early, sheet.likely, sheet.late],
                Use::Window,
                format!(
                    "try from {:.0} min, never over {:.0} min on the sheet",
                    sheet.early, sheet.late
                ),
            )
        }
        ClockName::Glove => glove(job, material),
        ClockName::Purge => purge(case),
        ClockName::Leftover => span(
            LEFTOVER_MIN,
            Use::WaitUntil,
            "until a hand feels it cold; common practice",
        ),
        ClockName::LeafSet => span(LEAF_SET_MIN, Use::WaitUntil, "24 to 72 h; common practice"),
        ClockName::Drying => span(
            DRYING_MIN,
            Use::WaitUntil,
            "4 to 10 days, readings decide; common practice",
        ),
        ClockName::Dust => span(DUST_MIN, Use::WaitUntil, "2 h to settle; common practice"),
        ClockName::Cartridge => span(
            [240.0, 360.0, 480.0],
            Use::DoBefore,
            "preset of half a shift, common practice; confirm on the cartridge's sheet",
        ),
    })
}

fn missing(material: Option<&Material>, what: &str) -> String {
    match material {
        Some(material) => format!(
            "the card of {} has no `{what}`: copy it from its data sheet",
            material.name
        ),
        None => format!("no lot was picked, so `{what}` is not known"),
    }
}

fn span(minutes: [f64; 3], side: Use, because: impl Into<String>) -> ClockRule {
    let [early_min, likely_min, late_min] = minutes;
    ClockRule::Span {
        early_min,
        likely_min,
        late_min,
        side,
        because: because.into(),
    }
}

/// A joint that carries load in use stays in its clamps twice as long, and so does every joint
/// of a figure whose card could not be read whole.
fn is_loaded(case: Case<'_>) -> bool {
    let card = case.house.cards.figures.get(case.figure);
    let flawed = &case.house.cards.flawed.figures;
    flawed.contains_key(case.figure)
        || card.is_some_and(|card| {
            let mut joints = card.joints.iter();
            joints.any(|joint| Some(&joint.id) == case.work.target.as_ref() && joint.loaded)
        })
}

fn tack(material: Option<&Material>, place: Place) -> Result<ClockRule, String> {
    let of = |what| missing(material, what);
    let size = material.ok_or_else(|| of("tack_h"))?;
    Ok(ClockRule::Tack {
        class: size.size_class.ok_or_else(|| of("size_class"))?,
        place,
        ready: size.tack_h.ok_or_else(|| of("tack_h"))?,
        dead: size.dead_h.ok_or_else(|| of("dead_h"))?,
    })
}

/// The gloves said to be pulled on count; where nobody said, the weakest of the card.
fn glove(job: &Job, material: Option<&Material>) -> ClockRule {
    let said = job.recorded(super::front::GLOVE);
    let gloves = material.into_iter().flat_map(|material| &material.gloves);
    let worn = gloves
        .clone()
        .find(|figure| said.is_some_and(|kept| kept.value == Value::Text(figure.glove.clone())));
    let weakest = gloves.min_by(|a, b| a.breakthrough_min.total_cmp(&b.breakthrough_min));
    match worn.or(weakest) {
        Some(figure) => {
            // A figure that the sum refuses is no figure: the gloves are over at once.
            let stated = Minutes(figure.breakthrough_min);
            let minutes = change_gloves(stated).map_or(0.0, |change| change.after.0);
            span(
                [minutes; 3],
                Use::DoBefore,
                format!(
                    "{minutes:.0} min of the {:.0} stated for {}; at first smear, now",
                    figure.breakthrough_min, figure.glove
                ),
            )
        }
        None => span(
            [GLOVE_UNKNOWN_MIN; 3],
            Use::DoBefore,
            "guess, no breakthrough on the card; at first smear, now",
        ),
    }
}

fn purge(case: Case<'_>) -> ClockRule {
    let room = case.house.room_of(case.figure);
    let card = case
        .house
        .cards
        .shop
        .rooms
        .iter()
        .find(|card| card.id == room);
    ClockRule::Purge {
        room: room.to_owned(),
        changes_per_h: card.map_or(0.0, |card| card.air_changes_per_h),
        to_fraction: PURGE_TO,
        mixing: PURGE_MIXING,
    }
}

/// The material of a kind whose lot was picked last in this walk.
pub(super) fn picked<'a>(case: Case<'a>, job: &Job, kind: MaterialKind) -> Option<&'a Material> {
    job.acts
        .values()
        .flat_map(|act| &act.records)
        .filter_map(|kept| match &kept.value {
            Value::Text(lot) => mixing::material_of_lot(case, lot).map(|m| (kept.stamp.n, m)),
            Value::Number(_) => None,
        })
        .filter(|(_, material)| material.kind == kind)
        .max_by_key(|(n, _)| *n)
        .map(|(_, material)| material)
}

/// The material of a kind in use in this walk: the one whose lot was picked last, else the
/// only one of its kind, else the one with the shortest times to fail on the safe side.
pub(super) fn in_use<'a>(case: Case<'a>, job: &Job, kind: MaterialKind) -> Option<&'a Material> {
    let shortest_glove = |material: &&Material| {
        let least = material.gloves.iter().map(|glove| glove.breakthrough_min);
        least.fold(f64::INFINITY, f64::min)
    };
    picked(case, job, kind).or_else(|| {
        case.house
            .cards
            .materials
            .values()
            .filter(|material| material.kind == kind)
            .min_by(|a, b| shortest_glove(a).total_cmp(&shortest_glove(b)))
    })
}
