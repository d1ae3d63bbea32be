//! How the owner looks after the figure, what of the treatment can be undone, and where nothing
//! was touched.

use chrono::{DateTime, Days, FixedOffset};

use super::materials::used;
use super::record::Record;
use super::sheet::{Block, Cell, Fact, Table};
use crate::card::{MaterialKind, Path, Zone};
use crate::deed::Deed;
use crate::report::Shown;

/// Humidity at which painted wood keeps, percent: lowest, highest, and most change in a day (a
/// state museum's care manual, as quoted in the shop's operation 24).
const HUMIDITY: [u32; 3] = [40, 60, 5];

/// Temperature at which painted wood keeps, °C: lowest and highest (the same manual).
const TEMPERATURE: [f64; 2] = [15.0, 25.0];

/// Humidity from which mould can grow, percent (regional museum notes).
const MOULD: u32 = 65;

/// Days after the last varnish for which it is handled gently (*common practice*: six weeks).
const GENTLE_DAYS: u64 = 42;

/// Days after the last varnish before anything is wrapped around it or stuck to it (*common
/// practice*: twelve weeks).
const UNWRAPPED_DAYS: u64 = 84;

/// Returns the care sheet.
pub(super) fn care(record: &Record<'_>) -> Vec<Block> {
    let varnished = varnished(record);
    let until = |days: u64| {
        let end = varnished.and_then(|last| last.checked_add_days(Days::new(days)));
        end.map(|end| record.day(end))
    };
    let shown = Shown(record.cards().shop.units);
    let [coldest, warmest] = TEMPERATURE.map(|c| shown.temperature(c));
    let [driest, dampest, swing] = HUMIDITY;
    let mut lines = vec![
        format!(
            "Air of {driest} to {dampest} % humidity and {coldest} to {warmest}; humidity should \
             not change by more than {swing} % within a day. Above {MOULD} % mould can grow."
        ),
        "No sun, no heater or lamp near it, no damp or outside wall.".to_owned(),
        "Dust it with a soft dry brush. Where that is not enough, a cloth hardly damp; no polish, \
         no wax, no silicone, no household cleaner."
            .to_owned(),
        "Lift it by the body. Never by ears, tail, arms or a raised leg.".to_owned(),
        "Once a year look at every numbered joint and at the places where hands and feet touch; \
         write down cracks, with movement and without. A crack that moves is a reason to call."
            .to_owned(),
        "No varnish or paint of the house over it, and nobody sands it.".to_owned(),
        lead(record),
    ];
    let joints: Vec<&str> = record
        .ask
        .figure
        .joints
        .iter()
        .map(|joint| joint.id.as_str())
        .collect();
    if !joints.is_empty() {
        lines.push(format!("Joints to look at: {}.", joints.join(", ")));
    }
    vec![
        Block::Facts(vec![
            Fact::new("last varnish", varnished.map(|last| record.day(last))),
            Fact::new("handle gently until", until(GENTLE_DAYS)),
            Fact::new("no wrap, strap or tape until", until(UNWRAPPED_DAYS)),
            record.fact("dates to remember", ("hand-over", "reminders")),
            Fact::new("whom to call", Some(record.cards().shop.name.clone())),
            Fact::new(
                "address and telephone of this shop",
                record.cards().shop.address.clone(),
            ),
        ]),
        Block::List(lines),
        Block::Words(
            "Climate after a state museum's care manual; the rest is common practice. Where \
             your insurer, your conservator or a local code says otherwise, they win."
                .to_owned(),
        ),
    ]
}

/// The day of the last coat of varnish.
fn varnished(record: &Record<'_>) -> Option<DateTime<FixedOffset>> {
    record.lines().rev().find_map(|line| match &line.deed {
        Deed::Done(deed) => {
            let coat = deed.coat.as_ref()?;
            let card = record.cards().materials.get(&coat.material)?;
            (card.kind == MaterialKind::Varnish).then_some(line.at)
        }
        _ => None,
    })
}

/// Nothing but a laboratory excludes lead, so it is assumed wherever old paint stays.
fn lead(record: &Record<'_>) -> String {
    // What the scheme will strip still carries its paint until that is done.
    let standing = record.ask.house.figure(&record.ask.figure.id);
    let old = |zone: &Zone| {
        let stays = matches!(zone.path, Path::Leave | Path::Cover | Path::Keep);
        let stripped = standing.and_then(|it| it.finished("strip", Some(&zone.id)));
        stays || stripped.is_none()
    };
    let zones: Vec<&str> = record
        .ask
        .figure
        .zones
        .iter()
        .filter(|zone| old(zone))
        .map(|zone| zone.name.as_str())
        .collect();
    let place = if zones.is_empty() {
        "Where old paint is left".to_owned()
    } else {
        format!("Old paint is left at: {}. There", zones.join("; "))
    };
    format!(
        "{place} lead must be assumed unless a laboratory says no: never sand, scrape or heat it, \
         and keep children from chewing on it."
    )
}

/// Returns what of the materials comes off again, and with what.
pub(super) fn reversible(record: &Record<'_>) -> Vec<Block> {
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    for one in used(record).into_iter().filter(|one| !one.is_passing()) {
        let card = record.cards().materials.get(&one.material);
        let off = card.map(|card| card.comes_off.clone());
        rows.push(vec![
            Cell::of(one.name),
            Cell::of(one.lot),
            Cell::of(one.at.join("; ")),
            Cell::of(off.unwrap_or_default()),
        ]);
    }
    let table = Table {
        caption: "What stays on the figure, and with what it comes off".to_owned(),
        heads: vec!["material", "lot", "where", "comes off"],
        rows,
    };
    vec![
        Block::Facts(vec![record.fact(
            "stated in the plan as not to be undone",
            ("scheme", "irreversible"),
        )]),
        Block::Table(table),
        Block::Words(
            "From the shop's material cards. Try it on a hidden spot first; the data sheet of \
             what you use decides."
                .to_owned(),
        ),
    ]
}

/// Returns where the witness patches are.
pub(super) fn witness(record: &Record<'_>) -> Vec<Block> {
    let zones = record.ask.figure.zones.iter();
    let rows = zones.filter(|zone| zone.path == Path::Leave).map(|zone| {
        let area = if 0.0 < zone.flat_area_m2() {
            format!(
                "{} cm²",
                crate::report::shown::number(zone.flat_area_m2() * 1e4, 1)
            )
        } else {
            String::new()
        };
        [zone.id.clone(), zone.name.clone(), area]
            .map(Cell::of)
            .to_vec()
    });
    let table = Table {
        caption: "Zones left untouched, with all their layers".to_owned(),
        heads: vec!["zone", "where", "area"],
        rows: rows.collect(),
    };
    let shown = record.stepped("hand-over", "patches");
    vec![
        Block::Table(table),
        Block::Facts(vec![Fact::new("shown to the owner", shown)]),
        Block::Words(
            "They hold the figure's history for whoever works on it next. Leave them as they are."
                .to_owned(),
        ),
    ]
}
