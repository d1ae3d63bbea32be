//! The air of a room as clocks and gates need it: the last reading, and temperature traces
//! with a safe side for what is not known.
//!
//! Behind now, the trace is the room's log; a silence is filled with the hotter or the colder
//! of its two ends and of what the days around showed at the same hour, for a night may be
//! colder than the evening before it and the morning after it. After the last reading, it is
//! what the seven days before it showed at the same hour: hottest, middle or coldest.

use std::cell::RefCell;
use std::collections::BTreeMap;

use chrono::{DateTime, Duration, FixedOffset};

use super::House;
use super::facts::AirReading;
use super::size::Damp;
use crate::reckon::dew::warmed;
use crate::reckon::{Celsius, Hours, Percent, Trace};

/// A silence of the log longer than this takes the safe bound, hours (common practice: the
/// air of a heated room moves within an hour or two of the heating).
const SILENCE_H: i64 = 2;

/// How far the outlook reaches after the last reading, hours: a week in which nobody read
/// anything, and four days more.
const OUTLOOK_H: i64 = OUTLOOK_DAYS * DAY_H + 96;

/// Hours of a day; what may come is the same every day.
const DAY_H: i64 = 24;

/// How many days back the outlook looks.
pub(crate) const OUTLOOK_DAYS: i64 = 7;

/// Readings within this of the same hour count for it, hours.
pub(super) const SAME_HOUR: f64 = 1.5;

/// A room whose heating is down cools by so much in an hour that nobody ever read, °C (*common
/// practice*: a workshop falls by half a degree to a degree an hour).
const FALL_C_PER_H: f64 = 1.0;

/// And by no more than this in a night, °C (*common practice*: 20 °C in the evening, 13 °C
/// before the heating comes on).
const FALL_C: f64 = 7.0;

/// Where no reading of the room exists at all, the air is taken to be so much warmer than a sheet's
/// own temperature for what must be done before, °C, and by [`FALL_C`] colder for what is waited
/// for, as after a night (own judgement, shown as a guess).
const UNREAD_C: f64 = 4.0;

/// Three traces of one room: for what must be done before, for reading, for what is waited for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Traces {
    /// Hottest that it may be.
    pub(crate) hot: Trace,
    /// Likely.
    pub(crate) likely: Trace,
    /// Coldest that it may be.
    pub(crate) cold: Trace,
    /// Whether any reading stands behind them.
    pub(crate) read: bool,
}

/// Returns the readings of a room up to a moment, oldest first.
fn log<'a>(house: House<'a>, room: &str, now: DateTime<FixedOffset>) -> &'a [AirReading] {
    let all = house
        .standing
        .shop
        .air
        .get(room)
        .map_or(&[][..], Vec::as_slice);
    let until = all.partition_point(|reading| reading.at <= now);
    all.get(..until).unwrap_or_default()
}

/// Returns the last reading of a room at a moment.
pub(crate) fn latest(
    house: House<'_>,
    room: &str,
    now: DateTime<FixedOffset>,
) -> Option<AirReading> {
    log(house, room, now).last().copied()
}

/// Humidity of a room that nobody read this week, driest and dampest, %: beyond the limits at
/// which size dries faster or slower, so that nothing is promised on it (own judgement).
const UNREAD_PERCENT: (f64, f64) = (30.0, 75.0);

/// Returns the driest, the last and the dampest humidity that was read in the seven days before
/// a moment and since then, up to now. Of what was laid at that moment damp hours go on
/// counting, and only a reading widens it.
pub(crate) fn damp(
    house: House<'_>,
    room: &str,
    (start, now): (DateTime<FixedOffset>, DateTime<FixedOffset>),
) -> Damp {
    damp_held(house, room, (start, now), None)
}

/// As [`damp`], where a night heating will keep the room at `held` °C or above. No water comes
/// into the air with it, so that the driest and the last are as those days would have shown
/// them; that it dries the dampest is not counted on.
pub(crate) fn damp_held(
    house: House<'_>,
    room: &str,
    (start, now): (DateTime<FixedOffset>, DateTime<FixedOffset>),
    held: Option<f64>,
) -> Damp {
    let log = log(house, room, now);
    let since = start - Duration::days(OUTLOOK_DAYS);
    let from = log.partition_point(|reading| reading.at < since);
    let recent = log.get(from..).unwrap_or_default();
    let seen = recent.iter().map(|reading| reading.humidity_percent);
    let heated = || {
        recent.iter().map(|reading| {
            let (was, humidity) = (Celsius(reading.temp_c), Percent(reading.humidity_percent));
            let held = held.filter(|held| reading.temp_c < *held);
            held.map_or(humidity.0, |held| warmed((was, humidity), Celsius(held)).0)
        })
    };
    Damp {
        driest: Some(Percent(
            heated().min_by(f64::total_cmp).unwrap_or(UNREAD_PERCENT.0),
        )),
        likely: heated().next_back().map(Percent),
        dampest: Some(Percent(
            seen.max_by(f64::total_cmp).unwrap_or(UNREAD_PERCENT.1),
        )),
    }
}

/// Returns the traces of a room in hours from `start`. `sheet_c` is the temperature assumed
/// around where the room was never read.
pub(crate) fn traces(
    house: House<'_>,
    room: &str,
    (start, now): (DateTime<FixedOffset>, DateTime<FixedOffset>),
    sheet_c: f64,
) -> Option<Traces> {
    Outlook::of(house, room, now).traces(start, sheet_c)
}

/// A room at one moment: its readings so far, and what may come. All that runs there is
/// reckoned over the same one, whenever it began.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Outlook<'a> {
    log: &'a [AirReading],
    /// Its silences that a clock has asked about, filled, by the reading before them.
    silences: RefCell<BTreeMap<usize, Vec<Seen>>>,
    /// What is to come, in hours after the last reading: hottest, likely, coldest, °C.
    ahead: Vec<(i64, [f64; 3])>,
}

/// A moment of the past: hottest and coldest, °C.
type Seen = (DateTime<FixedOffset>, [f64; 2]);

impl<'a> Outlook<'a> {
    /// Returns the outlook of a room.
    pub(super) fn of(house: House<'a>, room: &str, now: DateTime<FixedOffset>) -> Self {
        let log = log(house, room, now);
        let ahead = ahead(log, now);
        let silences = RefCell::default();
        Self {
            log,
            silences,
            ahead,
        }
    }

    /// Returns the traces in hours from `start`; see [`traces`].
    pub(super) fn traces(&self, start: DateTime<FixedOffset>, sheet_c: f64) -> Option<Traces> {
        if self.log.is_empty() {
            let steady = |change: f64| Trace::steady(Celsius(sheet_c + change)).ok();
            return Some(Traces {
                hot: steady(UNREAD_C)?,
                likely: steady(0.0)?,
                cold: steady(-FALL_C)?,
                read: false,
            });
        }
        let last = (self.log.last()?.at - start).num_milliseconds();
        let filled = self.filled(start);
        let moments = filled.iter();
        let hours: Vec<Hours> = moments.map(|(at, _)| hours_between(start, *at)).collect();
        let side = |side: fn(&[f64; 2]) -> f64| {
            let points = hours.iter().zip(&filled);
            points.map(move |(hour, (_, two))| (*hour, Celsius(side(two))))
        };
        let ahead = |side: fn(&[f64; 3]) -> f64| {
            let ahead = self.ahead.iter();
            ahead.map(move |(hour, three)| (of_ms(last + hour * HOUR_MS), Celsius(side(three))))
        };
        let hot = side(|[hot, _]| *hot).chain(ahead(|[hot, ..]| *hot));
        let likely = past(self.log, start).chain(ahead(|[_, likely, _]| *likely));
        let cold = side(|[_, cold]| *cold).chain(ahead(|[.., cold]| *cold));
        Some(Traces {
            hot: Trace::new(hot.collect()).ok()?,
            likely: Trace::new(likely.collect()).ok()?,
            cold: Trace::new(cold.collect()).ok()?,
            read: true,
        })
    }

    /// Returns the log from the reading before a moment on, with every long silence filled on the
    /// hot side for what must be done before, and on the cold side for what is waited for.
    fn filled(&self, start: DateTime<FixedOffset>) -> Vec<Seen> {
        let after = self.log.partition_point(|reading| reading.at <= start);
        let mut silences = self.silences.borrow_mut();
        let mut all = Vec::new();
        for (nth, reading) in self.log.iter().enumerate().skip(after.saturating_sub(1)) {
            all.push((reading.at, [reading.temp_c; 2]));
            if let Some(next) = self.log.get(nth + 1)
                && Duration::hours(SILENCE_H) < next.at - reading.at
            {
                let silence = silences.entry(nth);
                let silence = silence.or_insert_with(|| silence_of(self.log, (reading, next)));
                all.extend_from_slice(silence);
            }
        }
        all
    }
}

/// Returns what may have been between two readings that are long apart, hour by hour.
fn silence_of(log: &[AirReading], (left, right): (&AirReading, &AirReading)) -> Vec<Seen> {
    let hours = (0..).map(|hour| left.at + Duration::hours(hour));
    let hours = hours.take_while(|at| *at < right.at).chain([right.at]);
    hours
        .map(|at| {
            let (mut seen, fall) = seen_at(around(log, at), at);
            let [_, _, coldest] = three(&seen);
            seen.extend([left.temp_c, right.temp_c]);
            let [hottest, _, end] = three(&seen);
            (at, [hottest, end.min(coldest - fall)])
        })
        .collect()
}

/// Returns the readings of the days around a moment.
fn around(log: &[AirReading], at: DateTime<FixedOffset>) -> &[AirReading] {
    let days = Duration::days(OUTLOOK_DAYS);
    let from = log.partition_point(|reading| reading.at < at - days);
    let to = log.partition_point(|reading| reading.at <= at + days);
    log.get(from..to).unwrap_or_default()
}

/// Returns what readings showed at the hour of a moment. An hour that they never knew may be
/// as any of them was, and colder by the fall that is given with it: whoever reads by day only
/// has not seen the night.
fn seen_at(recent: &[AirReading], at: DateTime<FixedOffset>) -> (Vec<f64>, f64) {
    let apart = |reading: &AirReading| hours_apart_by_the_clock(reading.at, at);
    let same = recent.iter().filter(|one| apart(one) <= SAME_HOUR);
    let seen: Vec<f64> = same.map(|reading| reading.temp_c).collect();
    if !seen.is_empty() {
        return (seen, 0.0);
    }
    let nearest = recent.iter().map(apart).fold(f64::INFINITY, f64::min);
    let all = recent.iter().map(|reading| reading.temp_c).collect();
    (all, (nearest * FALL_C_PER_H).min(FALL_C))
}

/// Returns the traces of a room between two moments, from its readings alone; after the last
/// of them it holds. For what is past.
pub(super) fn behind(
    house: House<'_>,
    room: &str,
    (start, end): (DateTime<FixedOffset>, DateTime<FixedOffset>),
    sheet_c: f64,
) -> Option<Traces> {
    let log = log(house, room, end);
    let read = !log.is_empty();
    let trace = if read {
        Trace::new(past(log, start).collect()).ok()?
    } else {
        Trace::steady(Celsius(sheet_c)).ok()?
    };
    Some(Traces {
        hot: trace.clone(),
        likely: trace.clone(),
        cold: trace,
        read,
    })
}

/// Readings from the one before the start on, in hours from the start.
fn past(
    log: &[AirReading],
    start: DateTime<FixedOffset>,
) -> impl Iterator<Item = (Hours, Celsius)> {
    let after = log.partition_point(|reading| reading.at <= start);
    let since = log.get(after.saturating_sub(1)..).unwrap_or_default();
    let at = move |reading: &AirReading| hours_between(start, reading.at);
    let since = since.iter();
    since.map(move |reading| (at(reading), Celsius(reading.temp_c)))
}

/// What may come, hour by hour after the last reading, from what the days before it showed at
/// the same hour: in a silence of half a day the heating came on and nobody wrote it down.
/// Nothing here moves with now, but only with a reading; else a clock would be told ready at
/// one look and not ready at the next. After the last hour it may be as hot, or as cold, as at
/// any hour.
fn ahead(log: &[AirReading], now: DateTime<FixedOffset>) -> Vec<(i64, [f64; 3])> {
    let Some(last) = log.last() else {
        return Vec::new();
    };
    let since = last.at - Duration::days(OUTLOOK_DAYS);
    let from = log.partition_point(|reading| reading.at < since);
    let recent = log.get(from..).unwrap_or_default();
    let temperatures: Vec<f64> = recent.iter().map(|reading| reading.temp_c).collect();
    if Duration::days(OUTLOOK_DAYS) < now - last.at {
        // A reading of last month says little about tonight, nor about the days since.
        let [hot, _, cold] = three(&temperatures);
        let (hot, cold) = (hot.max(last.temp_c + UNREAD_C), cold - FALL_C);
        return vec![(0, [hot, last.temp_c, cold])];
    }
    let day: Vec<[f64; 3]> = (1..=DAY_H)
        .map(|hour| {
            let (seen, fall) = seen_at(recent, last.at + Duration::hours(hour));
            let [hot, likely, cold] = three(&seen);
            [hot, likely, cold - fall]
        })
        .collect();
    let hours = (1..=OUTLOOK_H).zip(day.iter().copied().cycle());
    let mut all: Vec<(i64, [f64; 3])> = hours
        .map(|(hour, [hot, likely, cold])| match hour {
            // The hour after a reading may still be as that reading was.
            1 => (1, [hot.max(last.temp_c), likely, cold.min(last.temp_c)]),
            _ => (hour, [hot, likely, cold]),
        })
        .collect();
    let hot = day.iter().map(|[hot, ..]| *hot).fold(f64::MIN, f64::max);
    let cold = day.iter().map(|[.., cold]| *cold).fold(f64::MAX, f64::min);
    all.push((OUTLOOK_H + 1, [hot, middle(&temperatures), cold]));
    all
}

/// The hottest, the middle and the coldest of what was seen.
fn three(seen: &[f64]) -> [f64; 3] {
    let hot = seen.iter().copied().fold(f64::MIN, f64::max);
    let cold = seen.iter().copied().fold(f64::MAX, f64::min);
    [hot, middle(seen), cold]
}

fn middle(all: &[f64]) -> f64 {
    let mut sorted = all.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied().unwrap_or_default()
}

/// Counted in whole days between the moments, so that a line written in another offset, or on
/// the other side of a change of the clocks, is the same hour of the sun.
pub(super) fn hours_apart_by_the_clock(a: DateTime<FixedOffset>, b: DateTime<FixedOffset>) -> f64 {
    /// Milliseconds of a day.
    const DAY_MS: i64 = DAY_H * HOUR_MS;
    let apart = (a.timestamp_millis() - b.timestamp_millis()).rem_euclid(DAY_MS);
    of_ms(apart.min(DAY_MS - apart)).0
}

/// Returns the hours from one moment to another.
pub(crate) fn hours_between(from: DateTime<FixedOffset>, to: DateTime<FixedOffset>) -> Hours {
    of_ms((to - from).num_milliseconds())
}

/// Milliseconds of an hour.
const HOUR_MS: i64 = 3_600_000;

fn of_ms(milliseconds: i64) -> Hours {
    #[expect(
        clippy::cast_precision_loss,
        reason = "milliseconds of centuries fit in a double"
    )]
    Hours(milliseconds as f64 / HOUR_MS as f64)
}

/// Returns the moment that lies so many hours after another; spans beyond a century are cut.
pub(crate) fn after(from: DateTime<FixedOffset>, hours: f64) -> DateTime<FixedOffset> {
    let seconds = (hours.clamp(-876_000.0, 876_000.0) * 3600.0 * 1000.0).round();
    #[expect(
        clippy::cast_possible_truncation,
        reason = "clamped to a century just above"
    )]
    let span = Duration::milliseconds(seconds as i64);
    from + span
}
