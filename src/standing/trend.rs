//! Readings out of the trend of their own series: wood that takes up water where it should
//! dry, air that jumps, cups that all lean to one side. Each reading alone may be usual; it is
//! the series that says to look. A hint for the supervisor, never a gate.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, TimeDelta};

use super::House;
use super::air::{SAME_HOUR, hours_apart_by_the_clock};
use super::facts::{AirReading, Reading};
use crate::card::Measure;
use crate::reckon::readings::middle_of;

/// How many robust deviations from the middle are out of trend (Hampel's identifier: L. Davies
/// and U. Gather, The identification of multiple outliers, J. Am. Stat. Assoc. 88, 1993).
const FENCE: f64 = 3.0;

/// The median of absolute deviations times this is the standard deviation of normal errors,
/// 1 / Φ⁻¹(3/4) (same source).
const SCALE: f64 = 1.4826;

/// Fewer readings make no series. *Common practice*: five.
const LEAST: usize = 5;

/// A rise of wood moisture that a pin meter does not show by chance, % (*common practice*: the
/// same point reads within half a percent; twice that, for two readings).
const RISE_PERCENT: f64 = 1.0;

/// Air that strays by less needs no look, °C (*common practice*).
const AIR_C: f64 = 5.0;

/// Humidity that strays by less needs no look, % (*common practice*).
const AIR_PERCENT: f64 = 10.0;

/// The series of a room's air, days: a week holds its nights and its Sunday.
const AIR_DAYS: i64 = 7;

/// So many cups in a row that lean to one side are no chance: one in sixteen for five fair
/// ones.
const CUPS: usize = 5;

/// Cups that lean by less in the middle are as good as a balance weighs, % (*common practice*).
const LEAN_PERCENT: f64 = 1.0;

/// A reading out of trend.
#[derive(Debug, Clone, PartialEq)]
pub struct OutOfTrend {
    /// Figure id; `None` for the air of a room.
    pub figure: Option<String>,
    /// The room whose air it is; empty for a figure.
    pub room: String,
    /// When it was read.
    pub at: DateTime<FixedOffset>,
    /// Its line and who wrote it, where the standing keeps them; the air of a room does not.
    pub line: Option<(u64, String)>,
    /// What is out of trend, one line.
    pub words: String,
}

/// Returns what was read from a moment on and is out of trend, by figure and room.
pub fn out_of_trend(house: House<'_>, from: DateTime<FixedOffset>) -> Vec<OutOfTrend> {
    let mut found = Vec::new();
    for (figure, standing) in &house.standing.figures {
        found.extend(rises(figure, &standing.readings, from));
    }
    found.extend(leaning(house, from));
    for (room, log) in &house.standing.shop.air {
        found.extend(jumps(room, log, from));
    }
    found
}

/// A point of the wood: its target, its station, and whether it is the core.
type Point<'a> = (Option<&'a str>, Option<&'a str>, bool);

/// Wood that reads wetter than at the reading before, at the same point and depth.
fn rises(figure: &str, readings: &[Reading], from: DateTime<FixedOffset>) -> Vec<OutOfTrend> {
    let mut series: BTreeMap<Point<'_>, Vec<&Reading>> = BTreeMap::new();
    for reading in readings {
        let core = match reading.measure {
            Measure::MoistureCore => true,
            Measure::MoistureSkin => false,
            _ => continue,
        };
        let target = reading.work.target.as_deref();
        let key = (target, reading.station.as_deref(), core);
        series.entry(key).or_default().push(reading);
    }
    let mut found = Vec::new();
    for ((target, station, _), mut points) in series {
        points.sort_by_key(|reading| reading.stamp.at);
        let mut steps: Vec<f64> = Vec::new();
        for (before, now) in points.iter().zip(points.iter().skip(1)) {
            let rise = now.value - before.value;
            if from <= now.stamp.at && fence(&steps, RISE_PERCENT) < rise {
                let place = [target, station].into_iter().flatten();
                let place: Vec<&str> = place.collect();
                found.push(OutOfTrend {
                    figure: Some(figure.to_owned()),
                    room: String::new(),
                    at: now.stamp.at,
                    line: Some((now.stamp.n, now.stamp.by.to_string())),
                    words: format!(
                        "moisture rose from {} to {} % at {}: drying wood does not",
                        before.value,
                        now.value,
                        place.join(", ")
                    ),
                });
            }
            steps.push(rise);
        }
    }
    found
}

/// Cups of one material that lean to one side, one after the other, on whatever figure.
fn leaning(house: House<'_>, from: DateTime<FixedOffset>) -> Vec<OutOfTrend> {
    let mut series: BTreeMap<&str, Vec<(&str, f64, &crate::deed::Stamp)>> = BTreeMap::new();
    for (figure, standing) in &house.standing.figures {
        let acts = standing.jobs.iter().flat_map(|job| job.acts.values());
        for (mixed, stamp) in acts.flat_map(|act| &act.mixed) {
            let cups = series.entry(mixed.material.as_str()).or_default();
            cups.push((figure, mixed.off_percent, stamp));
        }
    }
    let mut found = Vec::new();
    for (material, mut cups) in series {
        cups.sort_by_key(|(_, _, stamp)| stamp.at);
        for run in cups.windows(CUPS) {
            let Some((figure, _, stamp)) = run.last() else {
                continue;
            };
            let offs: Vec<f64> = run.iter().map(|(_, off, _)| *off).collect();
            let one_side = offs.iter().all(|off| 0.0 < *off) || offs.iter().all(|off| *off < 0.0);
            let middle = median(&offs);
            if from <= stamp.at && one_side && LEAN_PERCENT < middle.abs() {
                found.push(OutOfTrend {
                    figure: Some((*figure).to_owned()),
                    room: String::new(),
                    at: stamp.at,
                    line: Some((stamp.n, stamp.by.to_string())),
                    words: format!(
                        "hardener of {material} off to one side in {CUPS} cups running, \
                         {middle:+.1} % in the middle: look at the balance"
                    ),
                });
            }
        }
    }
    found
}

/// What is looked at in the air: its name, its unit, the least that counts, and its value.
type AirKind<'a> = (&'a str, &'a str, f64, fn(&AirReading) -> f64);

/// Air that strays from the same hours of the week before it; the reading that leaves it, not those after.
fn jumps(room: &str, log: &[AirReading], from: DateTime<FixedOffset>) -> Vec<OutOfTrend> {
    let kinds: [AirKind<'_>; 2] = [
        ("temperature", "°C", AIR_C, |air| air.temp_c),
        ("humidity", "%", AIR_PERCENT, |air| air.humidity_percent),
    ];
    let first = log.partition_point(|air| air.at < from);
    let mut found = Vec::new();
    for (what, unit, floor, value) in kinds {
        let mut was_out = false;
        for (place, air) in log.iter().enumerate().skip(first.saturating_sub(1)) {
            let since = air.at - TimeDelta::days(AIR_DAYS);
            let start = log.partition_point(|old| old.at < since);
            let week = alike(log.get(start..place).unwrap_or_default(), air.at);
            let week: Vec<f64> = week.into_iter().map(value).collect();
            let middle = median(&week);
            let strays = (value(air) - middle).abs();
            let is_out = LEAST <= week.len() && fence(&week, floor) < strays;
            if is_out && !was_out && from <= air.at {
                found.push(OutOfTrend {
                    figure: None,
                    room: room.to_owned(),
                    at: air.at,
                    line: None,
                    words: format!(
                        "{what} {} {unit} in {room}, the week before {} {unit}",
                        value(air),
                        (middle * 10.0).round() / 10.0
                    ),
                });
            }
            was_out = is_out;
        }
    }
    found
}

/// The readings at the same hour of the day, where they make a series: a room that cools every
/// night is in trend. Else all of them.
fn alike(week: &[AirReading], at: DateTime<FixedOffset>) -> Vec<&AirReading> {
    let is_same = |air: &&AirReading| hours_apart_by_the_clock(air.at, at) <= SAME_HOUR;
    let same: Vec<&AirReading> = week.iter().filter(is_same).collect();
    if LEAST <= same.len() {
        same
    } else {
        week.iter().collect()
    }
}

/// How far from the middle of a series is out of trend, but never less than the floor.
fn fence(series: &[f64], floor: f64) -> f64 {
    if series.len() < LEAST {
        return floor;
    }
    let middle = median(series);
    let away: Vec<f64> = series.iter().map(|value| (value - middle).abs()).collect();
    floor.max(FENCE * SCALE * median(&away))
}

/// The middle value; 0 for too few to have one.
fn median(values: &[f64]) -> f64 {
    middle_of(values).map_or(0.0, |middle| middle.median)
}

#[cfg(test)]
mod tests {
    use super::{AirReading, Reading, fence, jumps, median, rises};
    use crate::card::Measure;
    use crate::deed::{Stamp, Work};
    use chrono::{DateTime, FixedOffset, TimeDelta};

    fn at(hour: i64) -> DateTime<FixedOffset> {
        let start = DateTime::parse_from_rfc3339("2026-11-16T08:00:00+00:00").unwrap();
        start + TimeDelta::hours(hour)
    }

    fn moisture(values: &[f64]) -> Vec<Reading> {
        let points = values.iter().zip(0_u32..);
        let points = points.map(|(value, day)| Reading {
            work: Work {
                operation: "dry".into(),
                target: Some("mask".into()),
                round: 1,
            },
            measure: Measure::MoistureCore,
            station: Some("1".into()),
            value: *value,
            stamp: Stamp {
                n: u64::from(day) + 1,
                at: at(24 * i64::from(day)),
                by: "ines".into(),
            },
        });
        points.collect()
    }

    #[test]
    fn the_fence_is_three_robust_deviations_and_never_under_its_floor() {
        assert!((median(&[3.0, 1.0, 2.0]) - 2.0).abs() < 1e-12);
        assert!((median(&[4.0, 1.0, 2.0, 3.0]) - 2.5).abs() < 1e-12);
        // Deviations from the middle 3: 2, 1, 0, 1, 97; their median is 1.
        let wild = [1.0, 2.0, 3.0, 4.0, 100.0];
        assert!(
            (fence(&wild, 0.5) - 3.0 * 1.4826).abs() < 1e-9,
            "the wild one counts for nothing"
        );
        assert!((fence(&[50.0; 9], 10.0) - 10.0).abs() < 1e-12);
    }

    #[test]
    fn wood_that_dries_is_in_trend_and_wood_that_takes_up_water_is_not() {
        assert!(rises("lion", &moisture(&[18.0, 16.1, 15.0, 14.4]), at(0)).is_empty());
        assert!(
            rises("lion", &moisture(&[14.0, 13.1, 13.6]), at(0)).is_empty(),
            "meter noise"
        );
        let found = rises("lion", &moisture(&[14.0, 13.1, 14.6]), at(0));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].line, Some((3, "ines".to_owned())));
        assert_eq!(
            found[0].words,
            "moisture rose from 13.1 to 14.6 % at mask, 1: drying wood does not"
        );
        assert!(
            rises("lion", &moisture(&[14.0, 13.1, 14.6]), at(49)).is_empty(),
            "told once"
        );
    }

    #[test]
    fn air_that_leaves_its_week_is_told_once_where_it_leaves_it() {
        let air = |percents: &[f64]| -> Vec<AirReading> {
            let points = percents.iter().zip(0_i32..);
            let points = points.map(|(percent, place)| AirReading {
                at: at(i64::from(place) * 6),
                temp_c: 18.0,
                humidity_percent: *percent,
            });
            points.collect()
        };
        let quiet = [52.0, 54.0, 51.0, 55.0, 53.0, 58.0];
        assert!(jumps("store", &air(&quiet), at(0)).is_empty());
        let damp = [52.0, 54.0, 51.0, 55.0, 53.0, 71.0, 72.0];
        let found = jumps("store", &air(&damp), at(0));
        assert_eq!(found.len(), 1);
        assert_eq!(
            found[0].words,
            "humidity 71 % in store, the week before 53 %"
        );
        // A room that cools every night is in trend; a night that is colder still is not.
        let night = |hour: i64| if hour % 24 < 8 { 20.0 } else { 13.0 };
        let nights = |last: f64| -> Vec<AirReading> {
            let hours = 0..24 * 8;
            let points = hours.map(|hour| AirReading {
                at: at(hour),
                temp_c: if hour == 24 * 8 - 1 {
                    last
                } else {
                    night(hour)
                },
                humidity_percent: 50.0,
            });
            points.collect()
        };
        assert_eq!(jumps("store", &nights(13.0), at(24 * 7)), []);
        assert_eq!(jumps("store", &nights(6.0), at(24 * 7)).len(), 1);
        let few = [52.0, 54.0, 51.0, 55.0, 71.0];
        assert!(
            jumps("store", &air(&few), at(0)).is_empty(),
            "too few to say"
        );
    }
}
