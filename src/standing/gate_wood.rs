//! The two gates that read the wood itself: dry enough, and free of remover.

use super::air::{self, hours_between};
use super::facts::Reading;
use super::gate::{
    Case, Found, age, evidence_hours, grown_old, last_by_point, oldest_hours, open, places,
    readings, shut,
};
use super::prompt::OpensBy;
use super::provenance::TAKES_OFF;
use crate::card::{GateAsk, Measure};
use crate::reckon::meter::moisture_behind;
use crate::reckon::{Celsius, Percent, SumTrouble};

/// Wood moisture at which glue, filler and paint hold, % (US unified facilities guide
/// specification on painting of historic work: at most 12 % for patching and gluing).
pub(crate) const MOISTURE_PERCENT: f64 = 12.0;
/// Core may be this much wetter than skin, points (*common practice*).
const CORE_OVER_SKIN: f64 = 3.0;
/// Change allowed over two days, points (*common practice*).
const STEADY: f64 = 0.5;
/// Two days, less an hour for the round of the shop.
const STEADY_HOURS: f64 = 47.0;
/// Wet-paper pH of wood that is free of remover (a caustic neutraliser's sheet).
const PH: [f64; 2] = [5.0, 8.0];

/// A moisture reading as the wood really is, on the wet side.
struct Wet<'a> {
    reading: &'a Reading,
    percent: f64,
}

/// Corrects each reading for the temperature of the wood.
fn corrected<'a>(case: Case<'a>, readings: &[&'a Reading]) -> Result<Vec<Wet<'a>>, Found> {
    readings
        .iter()
        .map(|reading| {
            moisture_of(case, reading)
                .map(|percent| Wet { reading, percent })
                .map_err(|refusal| {
                    shut(
                        format!("no valid reading: {refusal}"),
                        OpensBy::Operation("dry".to_owned()),
                    )
                })
        })
        .collect()
}

/// Returns the moisture behind a reading, %, on the wet side.
///
/// # Errors
/// [`SumTrouble`] where no meter can read: the point has no valid reading.
pub(super) fn moisture_of(case: Case<'_>, reading: &Reading) -> Result<f64, SumTrouble> {
    let wood = Celsius(wood_c(case, reading));
    moisture_behind(Percent(reading.value), wood).map(|wet| wet.wait_until().0)
}

/// The temperature of the wood at a reading: the coldest read on the same target within half
/// a day of it. Where the wood was not read then, it is as cold as when it was last read or as
/// the air at that hour, for a second reading two days later meets the same cold wood.
fn wood_c(case: Case<'_>, reading: &Reading) -> f64 {
    let same = |wood: &&Reading| wood.work.target == reading.work.target;
    let all = readings(case, Measure::SurfaceTemperature);
    let wood: Vec<&Reading> = all.into_iter().filter(same).collect();
    let apart = |wood: &Reading| hours_between(wood.stamp.at, reading.stamp.at).0;
    let coldest = |all: &mut dyn Iterator<Item = f64>| all.min_by(f64::total_cmp);
    let near = coldest(
        &mut wood
            .iter()
            .filter(|w| apart(w).abs() <= 12.0)
            .map(|w| w.value),
    );
    near.unwrap_or_else(|| {
        let before = wood.iter().rev().find(|wood| 0.0 <= apart(wood));
        let room = case.house.room_of(case.figure);
        let air = air::latest(case.house, room, reading.stamp.at)
            .filter(|air| hours_between(air.at, reading.stamp.at).0 <= 12.0);
        let known = [before.map(|wood| wood.value), air.map(|air| air.temp_c)];
        coldest(&mut known.into_iter().flatten()).unwrap_or(METER_C)
    })
}

/// Temperature at which a pin meter needs no correction, °C: 70 °F (G. Wengert, 2009).
const METER_C: f64 = 21.1;

pub(super) fn moisture(case: Case<'_>, ask: &GateAsk) -> Found {
    let again = |why: String| shut(why, OpensBy::Operation("dry".to_owned()));
    let limit = ask.limit.unwrap_or(MOISTURE_PERCENT);
    let core_all = readings(case, Measure::MoistureCore);
    let (core, skin) = (
        last_by_point(&core_all),
        last_by_point(&readings(case, Measure::MoistureSkin)),
    );
    if core.is_empty() {
        return again("no moisture reading at depth here".to_owned());
    }
    // A seam lies in the wood of all its zones: a dry one says nothing of the one beside it.
    let is_read = |zone: &String| {
        let mut targets = core.iter().map(|reading| reading.work.target.as_ref());
        targets.any(|target| target == Some(zone))
    };
    if let Some(zone) = seam_zones(case).iter().find(|zone| !is_read(zone)) {
        return again(format!("no moisture reading at depth on {zone}"));
    }
    let hours = oldest_hours(case, &core).max(oldest_hours(case, &skin));
    if evidence_hours(ask) < hours {
        let why = format!("a point was last read {} ago", age(hours));
        return grown_old(why, OpensBy::Operation("dry".to_owned()));
    }
    let (core, skin) = match (corrected(case, &core), corrected(case, &skin)) {
        (Ok(core), Ok(skin)) => (core, skin),
        (Err(found), _) | (_, Err(found)) => return found,
    };
    let worst = core
        .iter()
        .chain(&skin)
        .map(|wet| wet.percent)
        .fold(0.0, f64::max);
    if limit < worst {
        return again(format!("worst point {worst:.1} %, at most {limit} %"));
    }
    let most = core
        .iter()
        .filter_map(|core| wetter_than_skin(core, &skin))
        .fold(0.0, f64::max);
    if CORE_OVER_SKIN < most {
        return again(format!("core is {most:.1} points wetter than skin"));
    }
    match change(&core_all, &core) {
        None => again("a second reading 48 h apart is missing".to_owned()),
        Some(change) if STEADY < change => {
            again(format!("still moving: {change:.1} points in 48 h"))
        }
        Some(_) => open(format!("worst point {worst:.1} %, steady")),
    }
}

/// The zones that the seam of a joint runs through; none for other works.
fn seam_zones(case: Case<'_>) -> &[String] {
    let card = case.house.cards.figures.get(case.figure);
    let joint = card.and_then(|card| {
        let mut joints = card.joints.iter();
        joints.find(|joint| Some(&joint.id) == case.work.target.as_ref())
    });
    joint
        .map(|joint| joint.zones.as_slice())
        .unwrap_or_default()
}

pub(super) fn is_same_point(a: &Reading, b: &Reading) -> bool {
    a.station == b.station && a.work.target == b.work.target
}

fn wetter_than_skin(core: &Wet<'_>, skin: &[Wet<'_>]) -> Option<f64> {
    let skin = skin
        .iter()
        .find(|skin| is_same_point(skin.reading, core.reading))?;
    Some(core.percent - skin.percent)
}

/// The largest change of a point against its reading of two days before; `None` when a point
/// has no such reading.
fn change(all: &[&Reading], last: &[Wet<'_>]) -> Option<f64> {
    let changes: Option<Vec<f64>> = last
        .iter()
        .map(|now| {
            let before = all.iter().rev().find(|before| {
                is_same_point(before, now.reading)
                    && STEADY_HOURS <= hours_between(before.stamp.at, now.reading.stamp.at).0
            })?;
            Some((now.reading.value - before.value).abs())
        })
        .collect();
    changes.map(|changes| changes.into_iter().fold(0.0, f64::max))
}

pub(super) fn neutral(case: Case<'_>, ask: &GateAsk) -> Found {
    let again = || OpensBy::Operation("wash".to_owned());
    let places = places(case);
    let stripped: Vec<_> = case
        .standing
        .jobs
        .iter()
        .filter(|job| job.work.operation == TAKES_OFF)
        .filter(|job| {
            places.is_empty() || job.work.target.as_ref().is_none_or(|t| places.contains(t))
        })
        .collect();
    if stripped.is_empty() {
        return open("never stripped here");
    }
    let all = readings(case, Measure::Ph);
    let last = last_by_point(&all);
    // Every stripped place by itself, and every point of it: one fresh spot says nothing of
    // the others.
    let unread = stripped.iter().find(|job| {
        let target = &job.work.target;
        let mut here = last
            .iter()
            .filter(|reading| target.is_none() || reading.work.target == *target);
        let begun = &job.begun;
        here.clone().next().is_none() || here.any(|reading| reading.stamp.at < begun.at)
    });
    if unread.is_some() {
        return shut("no pH since the stripping", again());
    }
    let hours = oldest_hours(case, &last);
    if evidence_hours(ask) < hours {
        return grown_old(
            format!("pH is {:.0} days old", (hours / 24.0).floor()),
            again(),
        );
    }
    match last
        .iter()
        .find(|reading| reading.value < PH[0] || PH[1] < reading.value)
    {
        Some(off) => shut(
            format!(
                "pH {} at {}, must be 5 to 8",
                off.value,
                off.station.as_deref().unwrap_or("a spot")
            ),
            again(),
        ),
        None => open("pH 5 to 8 everywhere"),
    }
}
