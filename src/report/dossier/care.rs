//! How the owner looks after the figure, what of the treatment can be undone, and where nothing
//! was touched.

use chrono::{DateTime, Days, FixedOffset};

use super::materials::used;
use super::record::{Record, Stretch};
use super::sheet::{Block, Cell, Fact, Table};
use crate::card::{Build, MaterialKind, Path, Zone};
use crate::deed::{Deed, Value};
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
    let until = |days: u64| until(record, days);
    let shown = Shown(record.cards().shop.units);
    let [coldest, warmest] = TEMPERATURE.map(|c| shown.temperature(c));
    let [driest, dampest, swing] = HUMIDITY;
    let lifted = lifted(record);
    let mut lines = vec![
        format!(
            "Air of {driest} to {dampest} % humidity and {coldest} to {warmest}; humidity should \
             not change by more than {swing} % within a day. Above {MOULD} % mould can grow."
        ),
        "No sun, no heater or lamp near it, no damp or outside wall.".to_owned(),
        "Dust it with a soft dry brush. Where that is not enough, a cloth hardly damp; no polish, \
         no wax, no silicone, no household cleaner."
            .to_owned(),
        format!("Lift it {}. Never by {}.", lifted.by, lifted.never),
        "Once a year look at every numbered joint and at the places where hands and feet touch; \
         write down cracks, with movement and without. A crack that moves is a reason to call."
            .to_owned(),
        "No varnish or paint of the house over it, and nobody sands it.".to_owned(),
    ];
    lines.extend(lead(record));
    let joints = record.ask.figure.joints.iter();
    let joints = joints.map(|joint| match joint.between.trim() {
        "" => joint.id.clone(),
        between => format!("{} ({between})", joint.id),
    });
    let joints: Vec<String> = joints.collect();
    if !joints.is_empty() {
        lines.push(format!("Joints to look at: {}.", joints.join("; ")));
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

/// By what a figure is lifted, and by what never.
pub(super) struct Lifted {
    pub(super) by: &'static str,
    never: &'static str,
}

/// Returns how a figure of its build is lifted (*common practice*: by the thickest wood, never by
/// what stands out).
pub(super) fn lifted(record: &Record<'_>) -> Lifted {
    let (by, never) = match Build::of(record.ask.figure) {
        Some(Build::Animal) => ("by the body", "ears, tail, wings or a raised leg"),
        Some(Build::Standing) => ("by the trunk", "head, arms, hands or what they hold"),
        Some(Build::Head) => (
            "from below, with both hands",
            "ears, nose, hair or what it wears",
        ),
        Some(Build::Boss) => (
            "from below, with both hands",
            "ears, tongue, curls or what stands out of its face",
        ),
        None => ("from below, with both hands", "anything that stands out"),
    };
    Lifted { by, never }
}

/// Returns the day until which the last varnish is handled gently.
pub(super) fn gentle_until(record: &Record<'_>) -> Option<String> {
    until(record, GENTLE_DAYS)
}

/// A day so many days after the last varnish.
fn until(record: &Record<'_>, days: u64) -> Option<String> {
    let end = varnished(record)?.checked_add_days(Days::new(days))?;
    Some(record.day(end))
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

/// Nothing but a laboratory excludes lead, so it is assumed wherever old paint may be.
fn lead(record: &Record<'_>) -> Vec<String> {
    let zones = || record.ask.figure.zones.iter();
    let names = |pick: &dyn Fn(&Zone) -> bool| -> Vec<&str> {
        let picked = zones().filter(|zone| pick(zone));
        picked.map(|zone| zone.name.as_str()).collect()
    };
    let found = leaded(record);
    let old = names(&|zone| !is_bare(record, zone));
    let mut lines = Vec::new();
    if !found.is_empty() {
        lines.push(format!(
            "Lead was found here: {}. It stands here whatever was done since: dust and traces \
             can be left in joints, grain and under new paint.",
            found.join("; ")
        ));
    }
    let place = if old.is_empty() {
        "Where old paint is left".to_owned()
    } else {
        format!("Old paint is left at: {}. There", old.join("; "))
    };
    lines.push(format!(
        "{place} lead must be assumed unless a laboratory says no: never sand, scrape or heat it, \
         and keep children from chewing on it."
    ));
    lines
}

/// Returns the zones where lead was found, by their names on the card.
pub(super) fn leaded<'a>(record: &Record<'a>) -> Vec<&'a str> {
    let zones = record.ask.figure.zones.iter();
    let found = zones.filter(|zone| is_leaded(record, zone));
    found.map(|zone| zone.name.as_str()).collect()
}

/// Whether any test of the zone said lead, or that it is treated as leaded.
fn is_leaded(record: &Record<'_>, zone: &Zone) -> bool {
    record.lines().any(|line| match &line.deed {
        Deed::Recorded(deed) => {
            deed.record == "lead"
                && deed.work.target.as_deref() == Some(&zone.id)
                && deed.value != Value::Text("no".to_owned())
        }
        _ => false,
    })
}

/// Whether bare wood is recorded all over the zone: only then no old paint is left on it. An
/// exposure is kept, and holds every layer.
fn is_bare(record: &Record<'_>, zone: &Zone) -> bool {
    if matches!(zone.path, Path::Leave | Path::Cover | Path::Keep) {
        return false;
    }
    let said = record.lines().rev().find_map(|line| match &line.deed {
        Deed::Recorded(deed) if deed.work.target.as_deref() == Some(&zone.id) => BARE
            .iter()
            .find(|(operation, name, _)| deed.work.operation == *operation && deed.record == *name)
            .map(|(.., word)| deed.value == Value::Text((*word).to_owned())),
        _ => None,
    });
    said == Some(true) && exposures(record, zone).next().is_none()
}

/// Where a checklist asks whether the whole zone is bare: operation, record, and the word.
const BARE: [(&str, &str, &str); 2] = [
    ("sand", "rest-lead", "bare wood only"),
    ("prime", "ground", "bare wood"),
];

/// The exposures of a zone; one that no longer counts was cut all the same.
fn exposures<'a>(record: &Record<'a>, zone: &Zone) -> impl Iterator<Item = &'a str> {
    let id = zone.id.clone();
    record.lines().filter_map(move |line| match &line.deed {
        Deed::LayerRead(read) if read.place.zone == id => Some(read.place.exposure.as_str()),
        _ => None,
    })
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
    let stated = record.last("scheme", "irreversible").map(|stated| {
        if record.is_decided() {
            stated
        } else {
            format!("{stated}; the plan is proposed and not approved")
        }
    });
    vec![
        Block::Facts(vec![Fact::new(
            "stated in the plan as not to be undone",
            stated,
        )]),
        Block::Table(table),
        Block::Words(
            "From the shop's material cards. Try it on a hidden spot first; the data sheet of \
             what you use decides."
                .to_owned(),
        ),
    ]
}

/// Returns where the witness patches are. What the journal tells of work on one wins over the
/// path of the card; a card begins with every zone left, which nobody has decided.
pub(super) fn witness(record: &Record<'_>) -> Vec<Block> {
    let zones = || record.ask.figure.zones.iter().zip(1_usize..);
    let left = || zones().filter(|(zone, _)| zone.path == Path::Leave);
    let caption = "Zones left untouched, with all their layers".to_owned();
    if !record.is_decided() {
        let words = format!("{caption}: {}.", super::record::NOT_DECIDED);
        return vec![Block::Words(words)];
    }
    let rows = left().filter(|(zone, _)| touched(record, zone).is_empty());
    let rows = rows.map(|(zone, number)| {
        let area = if 0.0 < zone.flat_area_m2() {
            format!(
                "{} cm²",
                crate::report::shown::number(zone.flat_area_m2() * 1e4, 1)
            )
        } else {
            String::new()
        };
        [number.to_string(), zone.name.clone(), area]
            .map(Cell::of)
            .to_vec()
    });
    let table = Table {
        caption,
        heads: vec!["no.", "zone", "area"],
        rows: rows.collect(),
    };
    let shown = record.stepped("hand-over", "patches");
    let mut blocks = if table.rows.is_empty() {
        vec![Block::Words(format!("{}: none.", table.caption))]
    } else {
        vec![Block::Table(table)]
    };
    let worked = left().filter_map(|(zone, _)| {
        let done = touched(record, zone);
        (!done.is_empty()).then(|| format!("{}: {}", zone.name, done.join(", ")))
    });
    let worked: Vec<String> = worked.collect();
    if !worked.is_empty() {
        blocks.push(Block::Head(
            "Left by the scheme, but no longer untouched".to_owned(),
        ));
        blocks.push(Block::List(worked));
    }
    blocks.push(Block::Facts(vec![Fact::new("shown to the owner", shown)]));
    blocks.push(Block::Words(
        "They hold the figure's history for whoever works on it next. Leave them as they are."
            .to_owned(),
    ));
    blocks
}

/// Returns what the journal tells was done into or onto a zone: exposures, notches of the lead
/// test, and work of the treatment on it or on a panel of it.
pub(super) fn touched(record: &Record<'_>, zone: &Zone) -> Vec<String> {
    let mut done: Vec<String> = Vec::new();
    let panels = &record.ask.figure.panels;
    let is_here = |target: &str| {
        let mut panels = panels.iter();
        target == zone.id || panels.any(|panel| panel.id == target && panel.zone == zone.id)
    };
    let cut = exposures(record, zone).map(|number| format!("exposure {number}"));
    let worked = record.lines().filter_map(|line| {
        let Deed::Done(deed) = &line.deed else {
            return None;
        };
        let work = &deed.work;
        if !work.target.as_deref().is_some_and(is_here) {
            return None;
        }
        match (work.operation.as_str(), deed.step.as_str()) {
            ("lead-test", "notch") => Some("notch of the lead test".to_owned()),
            ("layer-study", "crater") => Some("exposure of the layer study".to_owned()),
            (operation, _) if record.stretch(operation) == Stretch::Treatment => {
                let list = record.cards().checklists.get(operation);
                Some(list.map_or_else(|| operation.to_owned(), |list| list.title.clone()))
            }
            _ => None,
        }
    });
    for words in cut.chain(worked) {
        if !done.contains(&words) {
            done.push(words);
        }
    }
    done
}
