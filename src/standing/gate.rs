//! The gates: what each asks, its usual limit and the age of its evidence, and what it
//! says about a work now. Limits are *common practice* unless a source stands beside them;
//! the checklist or the data sheet may set others.

use chrono::{DateTime, Duration, FixedOffset};

use super::air::hours_between;
use super::clock::ClockState;
use super::facts::{Clock, FigureStanding, Job, Reading};
use super::frozen::{self, SCHEME, STUDY};
use super::gate_size::{READY_WORD_H, size_ready};
use super::gate_wood::{is_same_point, moisture, neutral};
use super::prompt::{OpensBy, ShutBy, Verdict};
use super::shared_air::one_air;
use super::{House, air, clock, gate_glue};
use crate::card::{ClockName, Effect, GateAsk, GateKind, Measure, Scope};
use crate::deed::Work;
use crate::reckon::dew::dew_point;
use crate::reckon::{Celsius, Percent, day_beside};

/// Above this humidity no coat is laid whatever the reason, % (as above).
const HUMIDITY_NEVER: f64 = 85.0;
/// Dust settles this long, hours (*common practice*).
const DUST_H: f64 = 2.0;

/// Everything a gate looks at.
#[derive(Clone, Copy)]
pub(super) struct Case<'a> {
    pub(super) house: House<'a>,
    pub(super) figure: &'a str,
    pub(super) standing: &'a FigureStanding,
    pub(super) work: &'a Work,
    /// Step id; empty for the operation as a whole.
    pub(super) step: &'a str,
    pub(super) now: DateTime<FixedOffset>,
}

/// What a gate found: open, or shut with what would open it.
pub(super) struct Found {
    open: bool,
    why: String,
    opens_by: OpensBy,
    shut_by: ShutBy,
}

pub(super) fn open(why: impl Into<String>) -> Found {
    Found {
        open: true,
        why: why.into(),
        opens_by: OpensBy::Nothing,
        shut_by: ShutBy::Other,
    }
}

pub(super) fn shut(why: impl Into<String>, opens_by: OpensBy) -> Found {
    Found {
        open: false,
        why: why.into(),
        opens_by,
        shut_by: ShutBy::Other,
    }
}

/// Shut because what was read has grown old: nothing speaks against the work but its age.
pub(super) fn grown_old(why: impl Into<String>, opens_by: OpensBy) -> Found {
    Found {
        shut_by: ShutBy::OldReading,
        ..shut(why, opens_by)
    }
}

/// Returns what a gate says about a work at a step now.
pub(super) fn judge(case: Case<'_>, ask: &GateAsk) -> Verdict {
    let (name, hard) = title(ask.gate);
    let found = match ask.gate {
        GateKind::Before => finished(case, "photograph", "the record before work"),
        GateKind::Lead => finished(case, "lead-test", "the lead test"),
        GateKind::Scheme => scheme(case),
        GateKind::AirAndGloves => gloves(case),
        GateKind::Moisture => moisture(case, ask),
        GateKind::Neutral => neutral(case, ask),
        GateKind::Temperature => temperature(case, ask),
        GateKind::Dew => dew(case, ask),
        GateKind::Humidity => humidity(case, ask),
        GateKind::Gap => gate_glue::gap(case),
        GateKind::Cured => gate_glue::cured(case),
        GateKind::Washed => gate_glue::washed(case),
        GateKind::Recoat => recoat(case),
        GateKind::QuietAir => quiet_air(case),
        GateKind::SizeReady => size_ready(case, ask),
        GateKind::RagsAway => vouch("Oily rags in the wet lidded can"),
        GateKind::MixLive => gate_glue::mix_live(case),
        GateKind::OpenTime => gate_glue::open_time(case),
    };
    let never = ask.gate == GateKind::Humidity && humidity_is_beyond(case);
    let soft_past = ask.gate == GateKind::Recoat && matches!(found.opens_by, OpensBy::Vouch(_));
    let vouched = was_vouched(case, ask) && matches!(found.opens_by, OpensBy::Vouch(_));
    let asks_air = matches!(found.opens_by, OpensBy::AirReading(_));
    let unfit_air = !found.open && asks_air && fresh_air(case, ask).is_ok();
    Verdict {
        shut_by: if unfit_air {
            ShutBy::UnfitAir
        } else {
            found.shut_by
        },
        gate: ask.gate,
        name,
        hard: (ask.hard.unwrap_or(hard) || never) && !soft_past,
        open: found.open || vouched,
        why: found.why,
        opens_by: if vouched {
            OpensBy::Nothing
        } else {
            found.opens_by
        },
    }
}

/// Returns a gate's name in the trade's words, and whether it is hard by itself.
pub(super) fn title(gate: GateKind) -> (&'static str, bool) {
    match gate {
        GateKind::Before => ("record before work", true),
        GateKind::Lead => ("lead known", true),
        GateKind::Scheme => ("scheme approved", true),
        GateKind::AirAndGloves => ("air, mask, gloves", true),
        GateKind::Moisture => ("dry enough", true),
        GateKind::Neutral => ("stripper gone", true),
        GateKind::Temperature => ("warm enough", true),
        GateKind::Dew => ("above the dew", true),
        GateKind::Humidity => ("air dry enough", false),
        GateKind::Gap => ("gap map complete", true),
        GateKind::Cured => ("glue cured", true),
        GateKind::Washed => ("blush washed", true),
        GateKind::Recoat => ("recoat window", true),
        GateKind::QuietAir => ("no dust in the air", false),
        GateKind::SizeReady => ("size ready", true),
        GateKind::RagsAway => ("rags away", true),
        GateKind::MixLive => ("mix live", true),
        GateKind::OpenTime => ("joint still open", true),
    }
}

/// Returns the age at which a gate's evidence expires, hours (*common practice*).
pub(super) fn evidence_hours(ask: &GateAsk) -> f64 {
    ask.hours.unwrap_or(match ask.gate {
        GateKind::Dew => 0.5,
        GateKind::Temperature | GateKind::Humidity | GateKind::QuietAir => 2.0,
        GateKind::SizeReady => READY_WORD_H,
        GateKind::AirAndGloves => 4.0,
        GateKind::RagsAway | GateKind::Washed => 12.0,
        GateKind::Moisture => 72.0,
        GateKind::Neutral => 168.0,
        _ => f64::INFINITY,
    })
}

pub(super) fn vouch(say: &str) -> Found {
    shut(format!("look first: {say}"), OpensBy::Vouch(say.to_owned()))
}

/// What was vouched for the operation holds at its steps until it grows old.
fn was_vouched(case: Case<'_>, ask: &GateAsk) -> bool {
    let job = case.standing.job(case.work);
    let acts = ["", case.step].into_iter();
    let mut acts = acts.filter_map(|step| job.and_then(|job| job.act(step)));
    acts.any(|act| {
        act.vouched.iter().any(|(gate, stamp)| {
            *gate == ask.gate && hours_between(stamp.at, case.now).0 <= evidence_hours(ask)
        })
    })
}

/// An operation on zones must be finished on every zone that the work touches.
fn finished(case: Case<'_>, operation: &str, what: &str) -> Found {
    let list = case.house.cards.checklists.get(operation);
    let by_zone = list.is_some_and(|list| list.scope == Scope::Zone);
    let targets: Vec<Option<String>> = if by_zone {
        zones(case).into_iter().map(Some).collect()
    } else {
        vec![None]
    };
    let found = targets
        .iter()
        .map(|target| case.standing.finished(operation, target.as_deref()));
    let stamps: Option<Vec<_>> = found.clone().collect();
    if let Some(stamp) = stamps.and_then(|stamps| stamps.into_iter().max_by_key(|stamp| stamp.n)) {
        return open(format!(
            "{what}: {} by {}",
            day_beside(stamp.at.date_naive(), case.now.date_naive()),
            stamp.by
        ));
    }
    let missing: Vec<String> = targets
        .iter()
        .zip(found)
        .filter(|(_, found)| found.is_none())
        .filter_map(|(target, _)| target.clone())
        .take(3)
        .collect();
    let on = if missing.is_empty() {
        String::new()
    } else {
        format!(" on {}", missing.join(", "))
    };
    shut(
        format!("{what} is not finished{on}"),
        OpensBy::Operation(operation.to_owned()),
    )
}

/// A zone that went back to its layer study showed what the scheme did not know: study and
/// scheme come anew.
fn scheme(case: Case<'_>) -> Found {
    let found = finished(case, SCHEME, "the approved scheme");
    let places = places(case);
    let is_here = |zone: &str| places.is_empty() || places.iter().any(|place| place == zone);
    let mut surprises = frozen::surprises(case.standing);
    let Some((zone, surprise)) = surprises.find(|(zone, _)| is_here(zone)) else {
        return found;
    };
    let studied = case.standing.finished(STUDY, Some(zone));
    let next = if studied.is_some_and(|studied| surprise.n < studied.n) {
        SCHEME
    } else {
        STUDY
    };
    shut(
        format!("a layer was found on {zone} that the approved scheme does not know"),
        OpensBy::Operation(next.to_owned()),
    )
}

/// The zones that a work touches; all of them for the whole figure.
fn zones(case: Case<'_>) -> Vec<String> {
    let places = places(case);
    let card = case.house.cards.figures.get(case.figure);
    card.into_iter()
        .flat_map(|card| &card.zones)
        .filter(|zone| places.is_empty() || places.contains(&zone.id))
        .map(|zone| zone.id.clone())
        .collect()
}

/// The zones a work touches, its own target first; empty for the whole figure.
pub(super) fn places(case: Case<'_>) -> Vec<String> {
    let Some(target) = case.work.target.clone() else {
        return Vec::new();
    };
    let mut places = vec![target.clone()];
    if let Some(card) = case.house.cards.figures.get(case.figure) {
        let joint = card.joints.iter().find(|joint| joint.id == target);
        places.extend(
            joint
                .into_iter()
                .flat_map(|joint| joint.zones.iter().cloned()),
        );
        let panel = card.panels.iter().find(|panel| panel.id == target);
        places.extend(panel.map(|panel| panel.zone.clone()));
    }
    places
}

/// Joints whose seam runs through the places of a work.
pub(super) fn joints(case: Case<'_>) -> Vec<String> {
    let places = places(case);
    let card = case.house.cards.figures.get(case.figure);
    card.into_iter()
        .flat_map(|card| &card.joints)
        .filter(|joint| {
            places.is_empty()
                || places.contains(&joint.id)
                || joint.zones.iter().any(|zone| places.contains(zone))
        })
        .map(|joint| joint.id.clone())
        .collect()
}

pub(super) fn readings(case: Case<'_>, measure: Measure) -> Vec<&Reading> {
    let places = places(case);
    case.standing
        .readings
        .iter()
        .filter(|reading| reading.measure == measure)
        .filter(|reading| {
            places.is_empty()
                || reading
                    .work
                    .target
                    .as_ref()
                    .is_some_and(|target| places.contains(target))
        })
        .collect()
}

/// The last reading of each point: target and station.
pub(super) fn last_by_point<'a>(readings: &[&'a Reading]) -> Vec<&'a Reading> {
    let mut last: Vec<&Reading> = Vec::new();
    for reading in readings {
        match last.iter().position(|kept| is_same_point(kept, reading)) {
            Some(place) => {
                if let Some(slot) = last.get_mut(place) {
                    *slot = reading;
                }
            }
            None => last.push(reading),
        }
    }
    last
}

pub(super) fn oldest_hours(case: Case<'_>, readings: &[&Reading]) -> f64 {
    readings
        .iter()
        .map(|reading| hours_between(reading.stamp.at, case.now).0)
        .fold(0.0, f64::max)
}

/// The room's air, if it was read recently enough.
fn fresh_air(case: Case<'_>, ask: &GateAsk) -> Result<super::facts::AirReading, Found> {
    let room = case.house.room_of(case.figure);
    let by = || OpensBy::AirReading(room.to_owned());
    let Some(air) = air::latest(case.house, room, case.now) else {
        return Err(shut("the air of this room was never read", by()));
    };
    let hours = hours_between(air.at, case.now).0;
    if evidence_hours(ask) < hours {
        return Err(shut(
            format!("air was read {} ago: read it again", age(hours)),
            by(),
        ));
    }
    Ok(air)
}

/// How old a reading is: in minutes, over two hours in hours, from a week on in days.
pub(super) fn age(hours: f64) -> String {
    match hours {
        ..2.0 => format!("{:.0} min", hours * 60.0),
        2.0..168.0 => format!("{:.0} h", hours.floor()),
        _ => format!("{:.0} days", (hours / 24.0).floor()),
    }
}

/// The last readings of a measure, point by point, that are young enough to count.
pub(super) fn fresh<'a>(case: Case<'a>, ask: &GateAsk, measure: Measure) -> Vec<&'a Reading> {
    let mut last = last_by_point(&readings(case, measure));
    last.retain(|reading| hours_between(reading.stamp.at, case.now).0 <= evidence_hours(ask));
    last
}

fn temperature(case: Case<'_>, ask: &GateAsk) -> Found {
    let air = match fresh_air(case, ask) {
        Ok(air) => air,
        Err(found) => return found,
    };
    let [low, high] = ask.range.unwrap_or([15.0, 27.0]);
    let room = case.house.room_of(case.figure);
    // Every point that was read counts, for the coldest and the hottest decide.
    let here = |what: &'static str, measure| {
        fresh(case, ask, measure)
            .into_iter()
            .map(move |reading| (what, reading.value))
    };
    let read = std::iter::once(("air", air.temp_c))
        .chain(here("wood", Measure::SurfaceTemperature))
        .chain(here("resin", Measure::ResinTemperature));
    for (what, value) in read {
        if value < low || high < value {
            let by = if what == "air" {
                OpensBy::AirReading(room.to_owned())
            } else {
                OpensBy::Wait(format!("{what} at {low} to {high} °C, read again"))
            };
            return shut(format!("{what} {value} °C, must be {low} to {high} °C"), by);
        }
    }
    open(format!("air {} °C", air.temp_c))
}

fn dew(case: Case<'_>, ask: &GateAsk) -> Found {
    let air = match fresh_air(case, ask) {
        Ok(air) => air,
        Err(found) => return found,
    };
    let coldest = fresh(case, ask, Measure::SurfaceTemperature)
        .into_iter()
        .min_by(|a, b| a.value.total_cmp(&b.value));
    let Some(surface) = coldest else {
        return shut(
            "the figure's surface was not read in the last half hour",
            OpensBy::Surface,
        );
    };
    let limit = ask.limit.unwrap_or(crate::reckon::dew::COATING_MARGIN_C);
    match dew_point(Celsius(air.temp_c), Percent(air.humidity_percent)) {
        Ok(dew) => {
            let margin = dew.margin(Celsius(surface.value)).0;
            if limit <= margin {
                open(format!("surface {margin:.1} °C above the dew point"))
            } else {
                shut(
                    format!("surface only {margin:.1} °C above the dew point, needs {limit} °C"),
                    OpensBy::Wait("warm the figure, or dry the air".to_owned()),
                )
            }
        }
        Err(refusal) => shut(
            refusal.to_string(),
            OpensBy::AirReading(case.house.room_of(case.figure).to_owned()),
        ),
    }
}

fn humidity(case: Case<'_>, ask: &GateAsk) -> Found {
    let air = match fresh_air(case, ask) {
        Ok(air) => air,
        Err(found) => return found,
    };
    let limit = ask.limit.unwrap_or(65.0).min(HUMIDITY_NEVER);
    let now = air.humidity_percent;
    if now <= limit {
        open(format!("air {now} %"))
    } else {
        shut(
            format!("air {now} %, at most {limit} %"),
            OpensBy::AirReading(case.house.room_of(case.figure).to_owned()),
        )
    }
}

fn humidity_is_beyond(case: Case<'_>) -> bool {
    air::latest(case.house, case.house.room_of(case.figure), case.now)
        .is_some_and(|air| HUMIDITY_NEVER < air.humidity_percent)
}

fn recoat(case: Case<'_>) -> Found {
    let last =
        case.standing.clocks.iter().rev().find(|clock| {
            clock.clock == ClockName::Recoat && clock.work.target == case.work.target
        });
    let Some(last) = last else {
        return open("no coat below");
    };
    let view = clock::view(case.house, case.figure, last, case.now);
    let word = |at: Option<DateTime<FixedOffset>>| {
        at.map_or_else(
            || "not known".to_owned(),
            |at| at.format("%a %H:%M").to_string(),
        )
    };
    // Bounds lie wide apart in a cold week: a coat may be past its early closing and yet not
    // surely dry. Waiting comes first, for scuffing does not dry it.
    let is_wet = view.opens.is_none_or(|opens| case.now < opens);
    match view.state {
        _ if is_wet => shut(
            format!("the coat below may be covered from {}", word(view.opens)),
            OpensBy::Wait(word(view.opens)),
        ),
        ClockState::Over => {
            let mut past = vouch("Coat below scuffed all over and wiped again");
            past.why = format!("the window shut {}: scuff first", word(view.closes));
            past
        }
        _ => open("inside the window"),
    }
}

/// Dust made within two hours in this room or one that shares its air.
fn quiet_air(case: Case<'_>) -> Found {
    let room = case.house.room_of(case.figure);
    let rooms = one_air(case.house, room);
    let since = case.now - Duration::minutes(120);
    let dusty = case
        .house
        .standing
        .figures
        .iter()
        .find_map(|(figure, standing)| {
            let near = rooms.iter().any(|room| room == case.house.room_of(figure));
            let made = standing.jobs.iter().filter(|_| near).find(|job| {
                let emits = case.house.cards.checklists.get(&job.work.operation);
                emits.is_some_and(|list| list.emits.contains(&Effect::Dust))
                    && !(job.work == *case.work && figure == case.figure)
                    && job
                        .acts
                        .values()
                        .filter_map(|act| act.done.as_ref())
                        .any(|done| since < done.at)
            });
            made.map(|job| (figure.clone(), job.work.operation.clone()))
        });
    match dusty {
        Some((figure, operation)) => shut(
            format!("{operation} on {figure} made dust here less than {DUST_H} h ago"),
            OpensBy::Wait(format!("{DUST_H} h after the dust, floor damped")),
        ),
        None => vouch("No sanding for 2 h, floor damped, tack-wiped"),
    }
}

fn gloves(case: Case<'_>) -> Found {
    let is_over = |figure: &str, clock: &Clock| {
        clock::view(case.house, figure, clock, case.now).state == ClockState::Over
    };
    let gloves = case.standing.clocks.iter().find(|clock| {
        clock.clock == ClockName::Glove
            && clock.ended.is_none()
            && clock.work == *case.work
            && is_over(case.figure, clock)
    });
    let renew = |figure: &str, clock: &Clock| OpensBy::Renew {
        figure: figure.to_owned(),
        clock: clock.id.clone(),
    };
    if let Some(clock) = gloves {
        let opens_by = renew(case.figure, clock);
        return shut("the gloves are spent: change them", opens_by);
    }
    let job = case.standing.job(case.work);
    let hands = job.map(Job::hands).unwrap_or_default();
    let spent = cartridges(case.house).find(|(figure, clock)| {
        hands.contains(clock.started.by.as_str()) && is_over(figure, clock)
    });
    match spent {
        Some((figure, clock)) => shut(
            "the cartridges of the mask are spent: change them",
            renew(figure, clock),
        ),
        None => vouch("Extraction ON, right mask ON, right gloves ON and fresh"),
    }
}

/// Returns every cartridge in use in the shop, with the figure in whose journal it was begun.
/// It goes with the person who wears it, from figure to figure.
pub(super) fn cartridges(house: House<'_>) -> impl Iterator<Item = (&str, &Clock)> {
    let figures = house.standing.figures.iter();
    figures.flat_map(|(id, standing)| {
        let clocks = standing.clocks.iter();
        let running = clocks.filter(|it| it.clock == ClockName::Cartridge && it.ended.is_none());
        running.map(move |clock| (id.as_str(), clock))
    })
}
