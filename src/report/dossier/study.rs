//! What was measured, as drawings: moisture, air, coats, test words.

use super::plot::{Curve, Plot, Timeline};
use super::record::Record;
use super::sheet::{Block, Fact};
use super::tables::rooms;
use crate::report::Shown;
use crate::report::shown::number;
use crate::standing::{
    Depth, MoistureSeries, TimePoint, coats, moisture, moisture_target, test_words,
};

/// Returns moisture, air, coats and test words over time.
pub(super) fn measured(record: &Record<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    let mut put = |name: &str, told: Vec<Block>| {
        if told.is_empty() {
            blocks.push(Block::Facts(vec![Fact::new(name, None)]));
        }
        blocks.extend(told);
    };
    let drawn = |rows: Timeline| rows.draw().map(Block::Drawing).into_iter().collect();
    put("moisture of the wood", wood(record));
    put("air of the rooms", air(record));
    put("coats", drawn(coat_rows(record)));
    put("tests of tack and drying", drawn(word_rows(record)));
    blocks
}

/// Moisture by place: the worst reading at each depth of each moment, for the worst decides.
fn wood(record: &Record<'_>) -> Vec<Block> {
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
        .told()
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

fn air(record: &Record<'_>) -> Vec<Block> {
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
    plots.iter().filter_map(Plot::told).collect()
}

fn coat_rows(record: &Record<'_>) -> Timeline {
    let mut rows: Vec<(String, Vec<_>)> = Vec::new();
    for coat in coats(record.ask.house, &record.ask.figure.id) {
        let name = record.place(&coat.target);
        let [number, of] = coat.number;
        let operation = coat.operation.replace('-', " ");
        let said = format!("{operation} {number}/{of}");
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
