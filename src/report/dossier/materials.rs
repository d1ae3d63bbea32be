//! What was put onto a figure and what was taken off it, by generic type and lot.

use std::collections::BTreeMap;

use super::record::{Record, Stretch, asked};
use super::sheet::{Block, Cell, Table};
use chrono::{DateTime, FixedOffset};

use crate::card::{Cards, MaterialKind};
use crate::deed::{Deed, Line, Recorded, Value, Work};
use crate::reckon::counted;

/// One material with one lot, and where it went.
#[derive(Debug, Clone)]
pub(super) struct Used {
    /// Id of its card; empty when no card has the lot.
    pub(super) material: String,
    /// Its name in words, by generic type.
    pub(super) name: String,
    /// What it is.
    pub(super) kind: MaterialKind,
    /// Lot; of two parts both.
    pub(super) lot: String,
    /// Walks in which it was used: operation and place.
    pub(super) at: Vec<String>,
    /// First and last time.
    pub(super) days: [DateTime<FixedOffset>; 2],
    /// Grams mixed.
    pub(super) grams: f64,
    /// Millilitres that were read as used.
    pub(super) ml: f64,
    /// Coats laid.
    pub(super) coats: u32,
    /// Used in the work itself and not only in tests.
    worked: bool,
}

impl Used {
    /// Whether it was washed off or taken away again, or was only a test's.
    pub(super) fn is_passing(&self) -> bool {
        let passes = matches!(
            self.kind,
            MaterialKind::Stripper | MaterialKind::Rinse | MaterialKind::Thinner
        );
        passes || !self.worked
    }

    /// Returns how much of it, as far as that was recorded.
    pub(super) fn amount(&self) -> String {
        let number = |value| crate::report::shown::number(value, 1);
        let said = [
            (0.0 < self.grams).then(|| format!("{} g mixed", number(self.grams))),
            (0.0 < self.ml).then(|| format!("{} ml", number(self.ml))),
            (0 < self.coats && self.grams <= 0.0).then(|| counted(self.coats, "coat")),
        ];
        said.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

/// What a line used.
struct Use<'a> {
    work: &'a Work,
    material: String,
    kind: Option<MaterialKind>,
    lot: String,
    grams: f64,
    ml: f64,
    coats: u32,
}

/// Returns every material with its lot, in the order of first use.
pub(super) fn used(record: &Record<'_>) -> Vec<Used> {
    let mut order: Vec<(String, String)> = Vec::new();
    let mut all: BTreeMap<(String, String), Used> = BTreeMap::new();
    for line in record.lines() {
        let Some(one) = used_by(line, record) else {
            continue;
        };
        let key = (one.material.clone(), one.lot.clone());
        let place = record.heading(one.work);
        let entry = all.entry(key.clone()).or_insert_with(|| {
            order.push(key);
            fresh(&one, record.cards(), line.at)
        });
        entry.grams += one.grams;
        entry.ml += one.ml;
        entry.coats += one.coats;
        entry.worked |= record.stretch(&one.work.operation) == Stretch::Treatment;
        let [_, last] = &mut entry.days;
        *last = line.at;
        if !entry.at.contains(&place) {
            entry.at.push(place);
        }
    }
    order.iter().filter_map(|key| all.remove(key)).collect()
}

fn fresh(one: &Use<'_>, cards: &Cards, at: DateTime<FixedOffset>) -> Used {
    let card = cards.materials.get(&one.material);
    Used {
        material: one.material.clone(),
        name: card.map_or_else(
            || {
                if one.material.is_empty() {
                    "no card has this lot".to_owned()
                } else {
                    one.material.clone()
                }
            },
            |card| card.name.clone(),
        ),
        kind: card.map(|card| card.kind).or(one.kind).unwrap_or_default(),
        lot: one.lot.clone(),
        at: Vec::new(),
        days: [at, at],
        grams: 0.0,
        ml: 0.0,
        coats: 0,
        worked: false,
    }
}

fn used_by<'a>(line: &'a Line, record: &Record<'_>) -> Option<Use<'a>> {
    let cards = record.cards();
    match &line.deed {
        Deed::Mixed(deed) => {
            let [a, b] = &deed.lots;
            Some(Use {
                work: &deed.work,
                material: deed.material.clone(),
                kind: None,
                lot: format!("{a} + {b}"),
                grams: deed.a_g + deed.b_g,
                ml: 0.0,
                coats: 0,
            })
        }
        Deed::Done(deed) => deed.coat.as_ref().map(|coat| Use {
            work: &deed.work,
            material: coat.material.clone(),
            kind: None,
            lot: coat.lot.clone().unwrap_or_default(),
            grams: 0.0,
            ml: 0.0,
            coats: 1,
        }),
        Deed::Recorded(deed) => picked(deed, cards).or_else(|| poured(deed, record)),
        _ => None,
    }
}

/// A lot that was picked. Which material it is tells the card that has the lot.
fn picked<'a>(deed: &'a Recorded, cards: &Cards) -> Option<Use<'a>> {
    let kind = asked(cards, &deed.work, &deed.record)?.lot?;
    // The lots of a cup stand in the line of its mixing.
    if kind == MaterialKind::Epoxy {
        return None;
    }
    let Value::Text(lot) = &deed.value else {
        return None;
    };
    let has_it = |card: &&crate::card::Material| {
        card.kind == kind && card.lots.iter().any(|one| one.lot == *lot)
    };
    let card = cards.materials.values().find(has_it);
    Some(Use {
        work: &deed.work,
        material: card.map(|card| card.id.clone()).unwrap_or_default(),
        kind: Some(kind),
        lot: lot.clone(),
        grams: 0.0,
        ml: 0.0,
        coats: 0,
    })
}

/// What of the built-in checklists reads how much was used: operation, record, and the record
/// of the same walk under which the lot of it was picked.
const AMOUNTS: [(&str, &str, &str); 1] = [("wash", "water", "rinse")];

/// An amount in millilitres, of the lot that the same walk picked.
fn poured<'a>(deed: &'a Recorded, record: &Record<'_>) -> Option<Use<'a>> {
    let (_, _, picked_as) = AMOUNTS.iter().find(|(operation, amount, _)| {
        deed.work.operation == *operation && deed.record == *amount
    })?;
    let Value::Number(ml) = deed.value else {
        return None;
    };
    let lot = record.lines().rev().find_map(|line| match &line.deed {
        Deed::Recorded(other) if other.work == deed.work && other.record == *picked_as => {
            picked(other, record.cards())
        }
        _ => None,
    })?;
    Some(Use {
        work: &deed.work,
        ml,
        ..lot
    })
}

/// Returns what was put on, as a table.
pub(super) fn added(record: &Record<'_>) -> Table {
    let rows = used(record).into_iter().map(|one| {
        let [first, last] = one.days.map(|at| record.day(at));
        let days = if first == last {
            first
        } else {
            format!("{first} to {last}")
        };
        let stays = if one.is_passing() {
            "used and taken off again"
        } else {
            "stays"
        };
        vec![
            Cell::of(one.name.clone()),
            Cell::of(one.lot.clone()),
            Cell::of(one.at.join("; ")),
            Cell::of(days),
            Cell::of(one.amount()),
            Cell::of(stays),
        ]
    });
    Table {
        caption: "Materials added, by generic type and lot".to_owned(),
        heads: vec!["material", "lot", "where", "days", "amount", "stays"],
        rows: rows.collect(),
    }
}

/// What of the built-in checklists tells that something was taken off: operation, record, and
/// what it is. A shop's own checklist tells it in its own entries, which the report shows as
/// well.
const REMOVES: [(&str, &str, &str); 8] = [
    ("layer-study", "sample", "sample for a laboratory"),
    ("lead-test", "chip", "chip for a laboratory"),
    ("strip", "waste", "old paint with remover, rags and film"),
    (
        "detail-clean",
        "found",
        "what was found under it, wood lost",
    ),
    ("open-joint", "fasteners", "fasteners, kept in a bag"),
    ("open-joint", "glue", "old glue"),
    ("open-joint", "lost", "wood of the joint"),
    ("sand", "lines-lost", "carving lines"),
];

/// Returns what was taken off, as a table; an answer that nothing was taken is no row of it.
pub(super) fn removed(record: &Record<'_>) -> Block {
    let mut rows = Vec::new();
    let mut was_asked = false;
    for line in record.lines() {
        let Deed::Recorded(deed) = &line.deed else {
            continue;
        };
        let what = REMOVES.iter().find(|(operation, asked, _)| {
            deed.work.operation == *operation && deed.record == *asked
        });
        let Some((_, _, what)) = what else { continue };
        was_asked = true;
        if !is_nothing(&deed.value) {
            rows.push(vec![
                Cell::of(record.when(line.at)),
                Cell::of(record.voice.who(&line.by)),
                Cell::of(record.heading(&deed.work)),
                Cell::of(*what),
                Cell::of(record.value(deed, line.at)),
            ]);
        }
    }
    let caption = "Materials removed, samples taken";
    if rows.is_empty() && was_asked {
        return Block::Words(format!("{caption}: none."));
    }
    Block::Table(Table {
        caption: caption.to_owned(),
        heads: vec!["when", "who", "operation", "taken off", "recorded"],
        rows,
    })
}

/// Whether an answer says that nothing was taken.
fn is_nothing(value: &Value) -> bool {
    match value {
        Value::Number(number) => *number <= 0.0,
        Value::Text(text) => {
            let first = text.split([' ', ',', ';', '.']).next().unwrap_or_default();
            ["none", "nothing", "no"].contains(&first.to_lowercase().as_str())
        }
    }
}
