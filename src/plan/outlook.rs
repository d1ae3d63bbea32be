//! What waits will take in the air that a shop has: a week's mean of each room, changed as a
//! question asks; sheet times carried to that warmth; wood that dries, or never does.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, FixedOffset};

use super::Change;
use crate::card::{ClockName, CureHours, Material, MaterialKind, Measure};
use crate::reckon::drying::{self, Drying, drying};
use crate::reckon::meter::moisture_behind;
use crate::reckon::moisture::{EMC_HUMIDITY, emc, humidity_for};
use crate::reckon::{Celsius, Hours, Percent, SumTrouble};
use crate::standing::{House, Reading, hours_between};

/// How many days back the air is looked at (the same as the outlook of the clocks).
const WEEK: i64 = 7;

/// Air of a room that nobody read this week: 20 °C of the sheets, and 60 % (own judgement: on
/// the damp side of what is asked for).
const UNREAD: (f64, f64) = (20.0, 60.0);

/// Curing and drying take twice as long for so many degrees less (*common practice*; technical
/// articles on epoxy agree on a halving per 10 °C, sizes are told alike).
const HALVES_PER_C: f64 = 10.0;

/// Below this an oil coat takes double its printed time, °C (*common practice*).
const COAT_COLD_C: f64 = 14.0;

/// The air may be so much colder, or hotter, than the mean of its week, °C (own judgement).
const SWING_C: f64 = 1.0;

/// Dust settles, hours (*common practice*: two, better over night).
const DUST_H: [f64; 3] = [2.0, 2.0, 12.0];

/// Two readings that agree lie so far apart, hours (*common practice*).
const AGREE_H: f64 = 48.0;

/// Air of a room as a plan takes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Climate {
    /// °C.
    pub(super) warmth: f64,
    /// %.
    pub(super) humidity: f64,
}

/// How long a wait takes, minutes, and after how many minutes its window closes, if it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Span {
    pub(super) minutes: [f64; 3],
    pub(super) closes: Option<f64>,
}

/// Looks at the air of a house, and at what it works with. What every step of every route asks
/// is gathered once, for a shop may keep years of lines.
#[derive(Debug, Clone)]
pub(super) struct Outlook<'a> {
    pub(super) house: House<'a>,
    pub(super) now: DateTime<FixedOffset>,
    pub(super) change: &'a Change,
    /// What was laid or mixed, the last first.
    used: Vec<&'a Material>,
    /// The air of each room on the shop card.
    climates: Vec<(&'a str, Climate)>,
}

impl<'a> Outlook<'a> {
    pub(super) fn of(house: House<'a>, now: DateTime<FixedOffset>, change: &'a Change) -> Self {
        let mut outlook = Self {
            house,
            now,
            change,
            used: used_last(house),
            climates: Vec::new(),
        };
        let rooms = house.cards.shop.rooms.iter();
        let rooms = rooms.map(|room| (room.id.as_str(), outlook.read(&room.id)));
        outlook.climates = rooms.collect();
        outlook
    }

    /// Returns the air of a room.
    pub(super) fn climate(&self, room: &str) -> Climate {
        let mut known = self.climates.iter().filter(|(id, _)| *id == room);
        let known = known.next().map(|(_, climate)| *climate);
        known.unwrap_or_else(|| self.read(room))
    }

    /// Returns the air of a room by its log.
    fn read(&self, room: &str) -> Climate {
        let log = self.house.standing.shop.air.get(room);
        let since = self.now - Duration::days(WEEK);
        let week = log
            .into_iter()
            .flatten()
            .filter(|it| since <= it.at && it.at <= self.now);
        let (mut warmth, mut humidity, mut count) = (0.0, 0.0, 0.0);
        for reading in week {
            warmth += reading.temp_c;
            humidity += reading.humidity_percent;
            count += 1.0;
        }
        let mut climate = if 0.0 < count {
            Climate {
                warmth: warmth / count,
                humidity: humidity / count,
            }
        } else {
            Climate {
                warmth: UNREAD.0,
                humidity: UNREAD.1,
            }
        };
        for (_, by) in self.change.warmer.iter().filter(|(it, _)| it == room) {
            let to = climate.warmth + by;
            let drier = crate::reckon::dew::warmed(
                (Celsius(climate.warmth), Percent(climate.humidity)),
                Celsius(to),
            );
            (climate.warmth, climate.humidity) = (to, drier.0.min(100.0));
        }
        for (_, to) in self.change.humidity.iter().filter(|(it, _)| it == room) {
            climate.humidity = *to;
        }
        climate
    }

    /// Returns what a clock of a material takes in a room; `None` when its card does not say.
    pub(super) fn clock(
        &self,
        clock: ClockName,
        of: Option<&Material>,
        room: &str,
    ) -> Option<Span> {
        let warmth = self.climate(room).warmth;
        let sheet = |sheet: Option<CureHours>| {
            let sheet = sheet?;
            let factor = factor(sheet.at_c, warmth);
            Some(Span {
                minutes: [sheet.early, sheet.likely, sheet.late].map(|it| it * 60.0 * factor),
                closes: None,
            })
        };
        match clock {
            ClockName::Clamps => sheet(of?.handling_h.or(of?.load_h)),
            ClockName::Load | ClockName::LeafSet => sheet(of?.load_h),
            ClockName::FullCure => sheet(of?.full_cure_h),
            ClockName::Dwell => sheet(of?.dwell_min).map(|span| Span {
                minutes: span.minutes.map(|it| it / 60.0),
                ..span
            }),
            ClockName::Recoat => recoat(of?, warmth),
            ClockName::Dust => Some(Span {
                minutes: DUST_H.map(|it| it * 60.0),
                closes: None,
            }),
            _ => None,
        }
    }

    /// Returns when size is ready and dead on flats, hollows left to the knuckle: ready late in
    /// the colder air, dead early in the hotter. `None` when no size of the shop says.
    fn tack(&self, size: &Material, room: &str) -> Option<Span> {
        let (ready, dead) = (size.tack_h?, size.dead_h?);
        let warmth = self.climate(room).warmth;
        let colder = factor(ready.at_c, warmth - SWING_C);
        let hotter = factor(dead.at_c, warmth + SWING_C);
        Some(Span {
            minutes: [ready.early, ready.likely, ready.late].map(|it| it * 60.0 * colder),
            closes: Some(dead.early * 60.0 * hotter),
        })
    }

    /// Returns what is left until wood has at most `most` percent of moisture: minutes from now on, `None` when too
    /// little was read to say.
    ///
    /// # Errors
    /// Why it never will be in this air, and what air would do.
    pub(super) fn dry(
        &self,
        figure: &str,
        target: Option<&str>,
        most: f64,
    ) -> Result<Option<[f64; 3]>, String> {
        let room = self.house.room_of(figure);
        let climate = self.climate(room);
        let air = (Celsius(climate.warmth), Percent(climate.humidity));
        let readings = self.readings(figure, target, climate.warmth);
        let begun = readings.first().map(|(at, _, _)| *at);
        let course: Vec<drying::Reading> = readings
            .iter()
            .filter_map(|(at, moisture, point)| {
                Some(drying::Reading {
                    at: hours_between(begun?, *at),
                    moisture: Percent(*moisture),
                    point: point.clone(),
                })
            })
            .collect();
        let gone = begun.map_or(0.0, |begun| hours_between(begun, self.now).0);
        match drying(&course, air, Percent(most)) {
            Ok(Drying::Never { .. }) => Err(self.never(room, climate, most)),
            Ok(Drying::Reaches { at, .. }) => {
                let left = |hours: Hours| ((hours.0 - gone).max(0.0) + AGREE_H) * 60.0;
                Ok(Some(
                    [at.do_before(), at.likely(), at.wait_until()].map(left),
                ))
            }
            Err(_too_little) if is_damp(climate, most) => Err(self.never(room, climate, most)),
            Err(_too_little) => Ok(None),
        }
    }

    /// Returns why wood that nothing will dry cannot pass its gate; `None` where the air is dry
    /// enough, or the wood was.
    pub(super) fn stays_wet(
        &self,
        figure: &str,
        target: Option<&str>,
        most: f64,
    ) -> Option<String> {
        let room = self.house.room_of(figure);
        let climate = self.climate(room);
        let all = self.readings(figure, target, climate.warmth);
        let mut last: Vec<&(DateTime<FixedOffset>, f64, String)> = Vec::new();
        for reading in all.iter().rev() {
            if last.iter().all(|it| it.2 != reading.2) {
                last.push(reading);
            }
        }
        let was_dry = !last.is_empty() && last.iter().all(|it| it.1 <= most);
        (is_damp(climate, most) && !was_dry).then(|| self.never(room, climate, most))
    }

    fn never(&self, room: &str, climate: Climate, most: f64) -> String {
        let warmth = Celsius(climate.warmth);
        let more = if EMC_HUMIDITY.high < climate.humidity {
            " or more"
        } else {
            ""
        };
        let leads = leads_to(climate)
            .map_or_else(|why| why.to_string(), |end| format!("{:.1} %{more}", end.0));
        let wanted = Percent(most - drying::DOUBTFUL_POINTS);
        let remedy = humidity_for(wanted, warmth).map_or_else(
            |_| "warm the room".to_owned(),
            |air| format!("bring it to {:.0} % or below", air.0.floor()),
        );
        let name = self.house.cards.shop.rooms.iter().find(|it| it.id == room);
        format!(
            "never dry in the {}: {:.0} °C and {:.0} % lead to {leads}, at most {most} % is needed; {remedy}",
            name.map_or(room, |room| room.name.as_str()),
            climate.warmth,
            climate.humidity
        )
    }

    /// Moisture read on a target, oldest first: when, corrected to the wet side, at which point.
    fn readings(
        &self,
        figure: &str,
        target: Option<&str>,
        wood: f64,
    ) -> Vec<(DateTime<FixedOffset>, f64, String)> {
        let here = |reading: &&Reading| {
            let moist = [Measure::MoistureCore, Measure::MoistureSkin];
            moist.contains(&reading.measure) && reading.work.target.as_deref() == target
        };
        let standing = self.house.figure(figure);
        let all = standing.map_or(&[][..], |it| it.readings.as_slice());
        all.iter()
            .filter(here)
            .filter_map(|reading| {
                let wet = moisture_behind(Percent(reading.value), Celsius(wood)).ok()?;
                let point = reading.station.as_deref().unwrap_or_default();
                let point = format!("{point} {:?}", reading.measure);
                Some((reading.stamp.at, wet.wait_until().0, point))
            })
            .collect()
    }

    /// Returns the times of every size of the shop in a room.
    pub(super) fn sizes(&self, room: &str) -> impl Iterator<Item = Span> {
        let all = self.house.cards.materials.values();
        let sizes = all.filter(|it| it.kind == MaterialKind::Size);
        sizes.filter_map(move |size| self.tack(size, room))
    }

    /// Returns the material of a kind that a plan takes: the one that was asked about, else the
    /// one used last, else the first whose card says what is needed.
    pub(super) fn material(&self, kind: MaterialKind) -> Option<&'a Material> {
        let cards = &self.house.cards.materials;
        let asked = self.change.glue.as_ref().and_then(|id| cards.get(id));
        if let Some(asked) = asked.filter(|material| material.kind == kind) {
            return Some(asked);
        }
        let used = self.used.iter().copied();
        let mut used = used.filter(|material| material.kind == kind);
        used.next()
            .or_else(|| cards.values().find(|it| it.kind == kind && says(it)))
            .or_else(|| cards.values().find(|it| it.kind == kind))
    }
}

/// What was laid or mixed in a house, the last first.
fn used_last(house: House<'_>) -> Vec<&Material> {
    let mut last: BTreeMap<&str, DateTime<FixedOffset>> = BTreeMap::new();
    let mut used = |at: DateTime<FixedOffset>, id| {
        let known = last.entry(id).or_insert(at);
        *known = at.max(*known);
    };
    for figure in house.standing.figures.values() {
        for coat in &figure.coats {
            used(coat.stamp.at, coat.coat.material.as_str());
        }
        let acts = figure.jobs.iter().flat_map(|job| job.acts.values());
        for (mixed, stamp) in acts.flat_map(|act| &act.mixed) {
            used(stamp.at, mixed.material.as_str());
        }
    }
    let known = last.into_iter();
    let known = known.filter_map(|(id, at)| Some((at, house.cards.materials.get(id)?)));
    let mut known: Vec<(DateTime<FixedOffset>, &Material)> = known.collect();
    known.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
    known.into_iter().map(|(_, material)| material).collect()
}

fn is_damp(climate: Climate, most: f64) -> bool {
    leads_to(climate).is_ok_and(|end| most <= end.0)
}

/// The moisture to which wood comes in an air; of air damper than the table has, that of its last
/// row: there wood comes to no less.
fn leads_to(climate: Climate) -> Result<Percent, SumTrouble> {
    let humidity = climate.humidity.min(EMC_HUMIDITY.high);
    emc(Celsius(climate.warmth), Percent(humidity))
}

fn says(material: &Material) -> bool {
    material.recoat.is_some() || material.handling_h.is_some() || material.load_h.is_some()
}

fn recoat(of: &Material, warmth: f64) -> Option<Span> {
    let sheet = of.recoat?;
    let [shortest, longest] = sheet.min_h;
    let hotter = factor(sheet.at_c, warmth + SWING_C);
    let factor = factor(sheet.at_c, warmth);
    let late = if warmth < COAT_COLD_C {
        (2.0 * longest).max(longest * factor)
    } else {
        longest * factor
    };
    Some(Span {
        minutes: [
            shortest * factor,
            f64::midpoint(shortest, longest) * factor,
            late,
        ]
        .map(|it| it * 60.0),
        closes: sheet.max_h.map(|most| most * 60.0 * hotter),
    })
}

/// How many times as long it takes in air of this warmth.
fn factor(at_c: f64, warmth: f64) -> f64 {
    ((at_c - warmth) / HALVES_PER_C).exp2()
}
