//! What was measured, as drawings and tables: joints, moisture, air, coats, test words.

use super::joint::JointMap;
use super::plot::{Curve, Plot, Timeline};
use super::record::Record;
use super::sheet::{Block, Cell, Fact, Table};
use super::tables::rooms;
use crate::report::Shown;
use crate::report::shown::number;
use crate::standing::{
    Depth, JointSeen, MoistureSeries, TimePoint, coats, joints, moisture, moisture_target,
    test_words,
};

/// Returns the gap map of every joint that has one.
pub(super) fn gap_rows(record: &Record<'_>) -> Vec<JointMap> {
    let all = joints(record.ask.house, &record.ask.figure.id);
    all.iter()
        .filter(|joint| !joint.gaps.rows.is_empty())
        .map(|joint| map(record, joint))
        .collect()
}

fn map(record: &Record<'_>, joint: &JointSeen) -> JointMap {
    let card = record.ask.figure.joints.iter();
    let between = card.clone().find(|card| card.id == joint.id);
    JointMap {
        id: joint.id.clone(),
        between: between.map(|card| card.between.clone()).unwrap_or_default(),
        size_mm: joint.face_mm,
        rows: joint.gaps.rows.clone(),
        read: if joint.gaps.from_card {
            "from the card: an earlier visit".to_owned()
        } else {
            "read at the bench".to_owned()
        },
    }
}

/// Returns how every joint stands, and the maps of their gaps.
pub(super) fn drawings(record: &Record<'_>) -> Vec<Block> {
    let all = joints(record.ask.house, &record.ask.figure.id);
    let rows = all.iter().map(|joint| {
        let [one, other] = &joint.boards;
        let since = joint.since.as_ref();
        let since = since.map_or_else(String::new, |stamp| record.day(stamp.at));
        let cups: Vec<String> = joint
            .cups
            .iter()
            .map(|cup| format!("{}, lots {}", cup.material, cup.lots.join(" + ")))
            .collect();
        vec![
            Cell::of(joint.id.clone()),
            Cell::of(format!("{one}, {other}").trim_end_matches(", ").to_owned()),
            Cell::of(joint.state.words()),
            Cell::of(since),
            Cell::of(record.voice.words(&joint.settled())),
            Cell::of(cups.join("; ")),
        ]
    });
    let mut blocks = vec![Block::Table(Table {
        caption: "Joints and how they stand".to_owned(),
        heads: vec![
            "joint",
            "between",
            "state",
            "since",
            "settled",
            "glued with",
        ],
        rows: rows.collect(),
    })];
    if !all.is_empty() {
        blocks.push(Block::Table(Table {
            caption: "Glue lines".to_owned(),
            heads: vec!["joint", "long", "face wide", "runs through", "carries load"],
            rows: all.iter().map(|joint| glue_line(record, joint)).collect(),
        }));
    }
    let maps = gap_rows(record);
    if maps.is_empty() {
        blocks.push(Block::Facts(vec![Fact::new("maps of gaps", None)]));
    }
    blocks.extend(maps.iter().filter_map(JointMap::draw).map(Block::Drawing));
    blocks
}

fn glue_line(record: &Record<'_>, joint: &JointSeen) -> Vec<Cell> {
    let shown = Shown(record.cards().shop.units);
    let zones: Vec<String> = joint.zones.iter().map(|zone| record.place(zone)).collect();
    let [long, wide] = joint.face_mm.map(|mm| {
        if 0.0 < mm {
            Cell::of(shown.of_unit(mm, "mm"))
        } else {
            Cell::Lacking
        }
    });
    vec![
        Cell::of(joint.id.clone()),
        long,
        wide,
        Cell::of(zones.join("; ")),
        Cell::of(if joint.loaded { "yes" } else { "no" }),
    ]
}

/// Returns moisture, air, coats and test words over time.
pub(super) fn measured(record: &Record<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut put = |name: &str, drawings: Vec<super::sheet::Drawing>| {
        if drawings.is_empty() {
            blocks.push(Block::Facts(vec![Fact::new(name, None)]));
        }
        blocks.extend(drawings.into_iter().map(Block::Drawing));
    };
    put("moisture of the wood", wood(record));
    put("air of the rooms", air(record));
    put("coats", coat_rows(record).draw().into_iter().collect());
    put(
        "tests of tack and drying",
        word_rows(record).draw().into_iter().collect(),
    );
    blocks
}

/// Moisture by place: the worst reading at each depth of each moment, for the worst decides.
fn wood(record: &Record<'_>) -> Vec<super::sheet::Drawing> {
    let all = moisture(record.ask.house, &record.ask.figure.id);
    let mut places: Vec<Option<String>> = Vec::new();
    for series in &all {
        if !places.contains(&series.target) {
            places.push(series.target.clone());
        }
    }
    let target = moisture_target(record.ask.house, &record.ask.figure.id);
    let plots = places.into_iter().filter_map(|place| {
        let here = || all.iter().filter(|one| one.target == place);
        let curve = |name: &str, depth: Depth| Curve {
            name: name.to_owned(),
            points: worst(here().filter(|one| one.depth == depth)),
        };
        let named = place.as_deref();
        let named = named.map_or_else(|| "on arrival".to_owned(), |at| record.place(at));
        Plot {
            title: format!("Moisture of the wood, {named}"),
            unit: "%".to_owned(),
            curves: vec![
                curve("skin, wettest point of each day", Depth::Skin),
                curve("core, wettest point of each day", Depth::Core),
            ],
            limit: Some((
                format!(
                    "not more than {} % before glue and paint",
                    number(target, 1)
                ),
                target,
            )),
        }
        .draw()
    });
    plots.collect()
}

/// The wettest reading of each day.
fn worst<'a>(all: impl Iterator<Item = &'a MoistureSeries>) -> Vec<super::plot::Point> {
    let mut days: Vec<super::plot::Point> = Vec::new();
    let mut points: Vec<&TimePoint> = all.flat_map(|series| &series.points).collect();
    points.sort_by_key(|point| point.at);
    for point in points {
        match days.last_mut() {
            Some((at, value)) if at.date_naive() == point.at.date_naive() => {
                *value = value.max(point.value);
            }
            _ => days.push((point.at, point.value)),
        }
    }
    days
}

fn air(record: &Record<'_>) -> Vec<super::sheet::Drawing> {
    let shown = Shown(record.cards().shop.units);
    let mut plots = Vec::new();
    let rooms = rooms(record);
    for (title, unit, is_humidity) in [
        ("Temperature of the air", "°C", false),
        ("Humidity of the air", "%", true),
    ] {
        let curves = rooms.iter().map(|(room, readings)| {
            let known = record.cards().shop.rooms.iter().find(|one| one.id == *room);
            Curve {
                name: known.map_or(room.as_str(), |room| &room.name).to_owned(),
                points: readings
                    .iter()
                    .map(|one| {
                        let value = if is_humidity {
                            one.humidity_percent
                        } else {
                            shown.number_in_degrees(one.temp_c)
                        };
                        (one.at, value)
                    })
                    .collect(),
            }
        });
        plots.push(Plot {
            title: title.to_owned(),
            unit: if is_humidity { unit } else { shown.degrees() }.to_owned(),
            curves: curves.collect(),
            limit: None,
        });
    }
    plots.iter().filter_map(Plot::draw).collect()
}

fn coat_rows(record: &Record<'_>) -> Timeline {
    let mut rows: Vec<(String, Vec<_>)> = Vec::new();
    for coat in coats(record.ask.house, &record.ask.figure.id) {
        let name = record.place(&coat.target);
        let [number, of] = coat.number;
        let said = format!("{} {number}/{of}", coat.operation);
        match rows.iter_mut().find(|(known, _)| *known == name) {
            Some((_, row)) => row.push((coat.at, said)),
            None => rows.push((name, vec![(coat.at, said)])),
        }
    }
    Timeline {
        title: "Coats, zone by zone".to_owned(),
        rows,
    }
}

fn word_rows(record: &Record<'_>) -> Timeline {
    let mut rows: Vec<(String, Vec<_>)> = Vec::new();
    for test in test_words(record.ask.house, &record.ask.figure.id) {
        let place = record.place(&test.target);
        let name = if test.place.is_empty() {
            place
        } else {
            format!("{place}, {}", test.place)
        };
        match rows.iter_mut().find(|(known, _)| *known == name) {
            Some((_, row)) => row.push((test.at, test.word)),
            None => rows.push((name, vec![(test.at, test.word)])),
        }
    }
    Timeline {
        title: "Test words, place by place".to_owned(),
        rows,
    }
}
