//! What was read over time: moisture point by point, the air of a room, coats, test words.
//! Points stand as they were read; nothing is smoothed and no gap is filled.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, TimeDelta};

use super::House;
use super::gate_wood::MOISTURE_PERCENT;
use crate::card::{Checklist, GateKind, Measure, WordScale};

/// One reading in time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimePoint {
    /// When.
    pub at: DateTime<FixedOffset>,
    /// In the unit of its series.
    pub value: f64,
}

/// Readings that lie within so many minutes are of one round of the hand: nothing has changed
/// between them, minutes (*common practice*).
pub const ROUND_MIN: i64 = 60;

/// Returns whether readings are all of one round, so that no curve has anything to tell.
pub fn is_one_round(moments: impl Iterator<Item = DateTime<FixedOffset>> + Clone) -> bool {
    let ends = moments.clone().min().zip(moments.max());
    ends.is_none_or(|(first, last)| last - first <= TimeDelta::minutes(ROUND_MIN))
}

/// How deep a moisture reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Depth {
    /// Near the surface.
    Skin,
    /// At depth.
    Core,
}

/// The moisture of one point at one depth, percent, as the meter showed it.
#[derive(Debug, Clone, PartialEq)]
pub struct MoistureSeries {
    /// Zone or joint; `None` for readings of the whole figure.
    pub target: Option<String>,
    /// The point.
    pub point: String,
    /// Depth.
    pub depth: Depth,
    /// Readings, oldest first.
    pub points: Vec<TimePoint>,
}

/// The air of the room in which the figure stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AirSeries {
    /// Room id.
    pub room: String,
    /// °C, oldest first.
    pub temp_c: Vec<TimePoint>,
    /// Relative humidity, %, oldest first.
    pub humidity_percent: Vec<TimePoint>,
}

/// A coat in time.
#[derive(Debug, Clone, PartialEq)]
pub struct CoatPoint {
    /// When.
    pub at: DateTime<FixedOffset>,
    /// Operation id.
    pub operation: String,
    /// Zone or panel.
    pub target: String,
    /// Material id.
    pub material: String,
    /// Lot.
    pub lot: Option<String>,
    /// Number of the coat in its operation, and how many are planned.
    pub number: [u32; 2],
}

/// A test word in time.
#[derive(Debug, Clone, PartialEq)]
pub struct WordPoint {
    /// When.
    pub at: DateTime<FixedOffset>,
    /// Operation id.
    pub operation: String,
    /// Zone or panel.
    pub target: String,
    /// Edge, flat, hollow, chip.
    pub place: String,
    /// The word.
    pub word: String,
    /// Its place on the scale of oil size, from 0, if it is a word of that scale.
    pub step: Option<usize>,
}

/// Returns the highest moisture that the figure's own gates let pass, percent: the strictest
/// of its route, else the usual one.
pub fn moisture_target(house: House<'_>, figure: &str) -> f64 {
    let route = house.cards.figures.get(figure).map(|card| &card.route);
    let lists = route
        .into_iter()
        .flatten()
        .filter_map(|stop| house.cards.checklists.get(&stop.operation));
    let asks = lists.flat_map(Checklist::all_gates);
    asks.filter(|ask| ask.gate == GateKind::Moisture)
        .filter_map(|ask| ask.limit)
        .fold(MOISTURE_PERCENT, f64::min)
}

/// Returns the moisture of every point that was read, by target, point and depth.
pub fn moisture(house: House<'_>, figure: &str) -> Vec<MoistureSeries> {
    let mut found: BTreeMap<(Option<&str>, &str, Depth), Vec<TimePoint>> = BTreeMap::new();
    for reading in house.figure(figure).into_iter().flat_map(|it| &it.readings) {
        let depth = match reading.measure {
            Measure::MoistureSkin => Depth::Skin,
            Measure::MoistureCore => Depth::Core,
            _ => continue,
        };
        let point = reading.station.as_deref().unwrap_or_default();
        let key = (reading.work.target.as_deref(), point, depth);
        found.entry(key).or_default().push(TimePoint {
            at: reading.stamp.at,
            value: reading.value,
        });
    }
    let series = found
        .into_iter()
        .map(|((target, point, depth), mut points)| {
            points.sort_by_key(|point| point.at);
            MoistureSeries {
                target: target.map(str::to_owned),
                point: point.to_owned(),
                depth,
                points,
            }
        });
    series.collect()
}

/// Returns the air of the figure's room since the figure came, or all of it while nothing is
/// written of the figure.
pub fn room_air(house: House<'_>, figure: &str) -> AirSeries {
    let room = house.room_of(figure);
    let jobs = house.figure(figure).map(|it| &it.jobs);
    let since = jobs.and_then(|jobs| jobs.first()).map(|job| job.begun.at);
    let log = house.standing.shop.air.get(room).into_iter().flatten();
    let log = log.filter(|air| since.is_none_or(|since| since <= air.at));
    let mut series = AirSeries {
        room: room.to_owned(),
        ..AirSeries::default()
    };
    for air in log {
        let point = |value| TimePoint { at: air.at, value };
        series.temp_c.push(point(air.temp_c));
        series.humidity_percent.push(point(air.humidity_percent));
    }
    series
}

/// Returns the coats of a figure, oldest first.
pub fn coats(house: House<'_>, figure: &str) -> Vec<CoatPoint> {
    let coats = house.figure(figure).into_iter().flat_map(|it| &it.coats);
    let coats = coats.map(|kept| CoatPoint {
        at: kept.stamp.at,
        operation: kept.work.operation.clone(),
        target: kept.work.target.clone().unwrap_or_default(),
        material: kept.coat.material.clone(),
        lot: kept.coat.lot.clone(),
        number: [kept.coat.number, kept.coat.of],
    });
    coats.collect()
}

/// Returns the test words of a figure, oldest first.
pub fn test_words(house: House<'_>, figure: &str) -> Vec<WordPoint> {
    let (scale, _) = super::words(WordScale::Tack);
    let jobs = house.figure(figure).into_iter().flat_map(|it| &it.jobs);
    let mut found: Vec<WordPoint> = jobs
        .flat_map(|job| {
            let tests = job.acts.values().flat_map(|act| &act.tests);
            tests.map(|test| WordPoint {
                at: test.stamp.at,
                operation: job.work.operation.clone(),
                target: job.work.target.clone().unwrap_or_default(),
                place: test.place.clone(),
                step: scale.iter().position(|word| **word == *test.word),
                word: test.word.clone(),
            })
        })
        .collect();
    found.sort_by_key(|word| word.at);
    found
}
