//! When washed wood is dry enough: the readings of every point, corrected, over the air of the
//! room. The worst point counts. It is refitted at each look and only readings end it.

use chrono::{DateTime, Duration, FixedOffset};

use super::{Here, StepSum, Weight, day, short};
use crate::card::{ClockName, GateAsk, GateKind, Measure, Step};
use crate::deed::{ClockRule, Stamp, Use, Work};
use crate::reckon::drying::{self, Drying, drying};
use crate::reckon::moisture::{emc, humidity_for};
use crate::reckon::{Celsius, Percent, SumTrouble};
use crate::standing::air::{after, hours_between};
use crate::standing::clock_times::Times;
use crate::standing::facts::{AirReading, Clock, FigureStanding, JobState, Reading};
use crate::standing::gate::{Case, judge, readings};
use crate::standing::gate_wood::moisture_of;
use crate::standing::series::moisture_target;
use crate::standing::{House, walk};

/// The air of so many hours drives the drying; one damp reading at night does not (own
/// judgement: heating and night come round once a day).
const DRIVING_H: i64 = 24;

/// Air that was read longer ago than this is said to be old, hours (own judgement).
const OLD_AIR_H: f64 = 24.0;

/// What the readings come to.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::standing) enum Forecast {
    /// The worst point gets there.
    Reaches {
        early: DateTime<FixedOffset>,
        likely: DateTime<FixedOffset>,
        late: DateTime<FixedOffset>,
        doubtful: bool,
        because: String,
    },
    /// Every point was read at or under the target.
    Under { since: DateTime<FixedOffset> },
    /// Not in this air.
    Never { needed: Option<f64> },
    /// Nothing can be said, and why.
    Unknown(String),
}

/// A forecast with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::standing) struct Outlook {
    forecast: Forecast,
    /// What the strictest gate of the route lets pass, %.
    target: f64,
    /// Where this air leads, %; none where no air was read or it lies outside the table.
    emc: Option<f64>,
    /// The wettest point: its name and its corrected moisture, %.
    worst: Option<(String, f64)>,
    /// The air that counts, in words.
    air: String,
}

/// One corrected reading.
struct Point<'a> {
    reading: &'a Reading,
    name: String,
    percent: Result<f64, String>,
}

/// Returns what the readings of a target come to now.
pub(in crate::standing) fn outlook(case: Case<'_>) -> Outlook {
    let room = case.house.room_of(case.figure);
    let (air, words) = match air_that_counts(case.house, room, case.now) {
        Some((air, words)) => (Some(air), words),
        None => (None, "no air was read in this room".to_owned()),
    };
    let points = points(case);
    let newest = newest(&points);
    let worst = newest
        .iter()
        .filter_map(|point| Some((point.name.clone(), *point.percent.as_ref().ok()?)))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let target = moisture_target(case.house, case.figure);
    Outlook {
        forecast: forecast(&points, &newest, air, Percent(target)),
        target,
        emc: air.and_then(|(warmth, damp)| Some(emc(warmth, damp).ok()?.0)),
        worst,
        air: words,
    }
}

fn forecast(
    points: &[Point<'_>],
    newest: &[&Point<'_>],
    air: Option<(Celsius, Percent)>,
    target: Percent,
) -> Forecast {
    let Some(air) = air else {
        return Forecast::Unknown("read the air of this room first".to_owned());
    };
    let invalid = newest.iter().find_map(|point| {
        let why = point.percent.as_ref().err()?;
        Some(format!("no valid reading at {}: {why}", point.name))
    });
    if let Some(why) = invalid {
        return Forecast::Unknown(why);
    }
    let (Some(first), false) = (points.first(), newest.is_empty()) else {
        return unread(air, target);
    };
    let wet = |point: &&&Point<'_>| point.percent.as_ref().is_ok_and(|it| target.0 < *it);
    if !newest.iter().any(|point| wet(&point)) {
        let last = newest.iter().map(|point| point.reading.stamp.at).max();
        let since = last.unwrap_or(first.reading.stamp.at);
        return Forecast::Under { since };
    }
    let zero = first.reading.stamp.at;
    let readings: Vec<drying::Reading> = points
        .iter()
        .filter_map(|point| {
            Some(drying::Reading {
                at: hours_between(zero, point.reading.stamp.at),
                moisture: Percent(*point.percent.as_ref().ok()?),
                point: point.name.clone(),
            })
        })
        .collect();
    match drying(&readings, air, target) {
        Ok(Drying::Reaches { at, doubtful, .. }) => Forecast::Reaches {
            early: after(zero, at.do_before().0),
            likely: after(zero, at.likely().0),
            late: after(zero, at.wait_until().0),
            doubtful,
            because: at.because().to_owned(),
        },
        Ok(Drying::Never {
            humidity_needed, ..
        }) => Forecast::Never {
            needed: humidity_needed.map(|it| it.0),
        },
        Err(SumTrouble::TooFew { .. }) => Forecast::Unknown(TOO_FEW.to_owned()),
        Err(refusal) => Forecast::Unknown(refusal.to_string()),
    }
}

/// What a forecast takes.
const TOO_FEW: &str = "two readings of each point, a day apart, make one";

/// Before the first reading the air alone can say never.
fn unread(air: (Celsius, Percent), target: Percent) -> Forecast {
    match emc(air.0, air.1) {
        Ok(end) if target.0 <= end.0 => Forecast::Never {
            needed: humidity_for(Percent(target.0 - drying::DOUBTFUL_POINTS), air.0)
                .ok()
                .map(|it| it.0),
        },
        Ok(_) => Forecast::Unknown(TOO_FEW.to_owned()),
        Err(refusal) => Forecast::Unknown(refusal.to_string()),
    }
}

/// The readings at the points of a work's places since each was last wetted, oldest first,
/// corrected as the gate corrects them: for the temperature of the wood, on the wet side.
fn points(case: Case<'_>) -> Vec<Point<'_>> {
    let wetted = |reading: &Reading| {
        let clocks = case.standing.clocks.iter();
        let washes = clocks.filter(|clock| {
            clock.clock == ClockName::Drying && clock.work.target == reading.work.target
        });
        washes.map(|clock| clock.started.at).max()
    };
    let mut points = Vec::new();
    for (measure, depth) in [
        (Measure::MoistureSkin, "skin"),
        (Measure::MoistureCore, "core"),
    ] {
        let since =
            |reading: &&Reading| wetted(reading).is_none_or(|wetted| wetted <= reading.stamp.at);
        points.extend(
            readings(case, measure)
                .into_iter()
                .filter(since)
                .map(|reading| {
                    let station = reading.station.as_deref().unwrap_or_default();
                    let mut name = format!("{depth} {station}").trim_end().to_owned();
                    if let Some(place) = &reading.work.target
                        && reading.work.target != case.work.target
                    {
                        name = format!("{name} of {place}");
                    }
                    Point {
                        reading,
                        name,
                        percent: moisture_of(case, reading).map_err(|refusal| refusal.to_string()),
                    }
                }),
        );
    }
    points.sort_by_key(|point| point.reading.stamp.at);
    points
}

fn newest<'p, 'a>(points: &'p [Point<'a>]) -> Vec<&'p Point<'a>> {
    let mut newest: Vec<&Point<'_>> = Vec::new();
    for point in points.iter().rev() {
        if newest.iter().all(|kept| kept.name != point.name) {
            newest.push(point);
        }
    }
    newest
}

/// Returns the air that drives the drying, with words: the damper of the last reading and the
/// mean of the last day, for a promise on one dry reading would be too early.
fn air_that_counts(
    house: House<'_>,
    room: &str,
    now: DateTime<FixedOffset>,
) -> Option<((Celsius, Percent), String)> {
    let all = house.standing.shop.air.get(room)?;
    let log = all.get(..all.partition_point(|reading| reading.at <= now))?;
    let last = log.last()?;
    let latest = (Celsius(last.temp_c), Percent(last.humidity_percent));
    let mean = mean_air(log, now);
    let leads = |air: (Celsius, Percent)| emc(air.0, air.1).map_or(f64::INFINITY, |it| it.0);
    let (air, which) = if leads(latest) < leads(mean) {
        (mean, "mean of a day")
    } else {
        (latest, "last reading")
    };
    let age = hours_between(last.at, now).0;
    let old = if OLD_AIR_H < age {
        format!(", {age:.0} h old: read it again")
    } else {
        String::new()
    };
    let words = format!(
        "air of {:.0} °C and {:.0} %, {which}{old}",
        air.0.0, air.1.0
    );
    Some((air, words))
}

/// The mean of the last day, each reading weighed by the time until the next.
fn mean_air(log: &[AirReading], now: DateTime<FixedOffset>) -> (Celsius, Percent) {
    let since = now - Duration::hours(DRIVING_H);
    let from = log.partition_point(|reading| reading.at <= since);
    let held = log.get(from.saturating_sub(1)..).unwrap_or_default();
    let (mut hours, mut warmth, mut damp) = (0.0, 0.0, 0.0);
    for (place, reading) in held.iter().enumerate() {
        let until = held.get(place + 1).map_or(now, |next| next.at);
        // A reading of this very moment still counts for something.
        let weight = hours_between(reading.at.max(since), until).0.max(1e-6);
        hours += weight;
        warmth += weight * reading.temp_c;
        damp += weight * reading.humidity_percent;
    }
    (Celsius(warmth / hours), Percent(damp / hours))
}

/// Returns the drying forecast at the steps that read the air, read the wood, or wait for it,
/// and wherever wet wood shuts a gate.
pub(super) fn at(here: &Here<'_>) -> Vec<StepSum> {
    let waits = |step: &Step| {
        let until = step.until.as_ref();
        until.is_some_and(|until| until.gate == Some(GateKind::Moisture))
    };
    let reads_air = |step: &Step| {
        let mut measures = step.record.iter().filter_map(|record| record.measure);
        measures.any(|measure| measure == Measure::Humidity)
    };
    let stops = |asks: &[GateAsk]| {
        let mut asks = asks.iter().filter(|ask| ask.gate == GateKind::Moisture);
        asks.any(|ask| !judge(here.case, ask).open)
    };
    let is_stopped = (here.at == 0 && stops(&here.list.gates)) || stops(&here.step().gates);
    let is_dried = here.is_between(|step| waits(step) || reads_air(step), waits);
    if !is_dried && !is_stopped {
        return Vec::new();
    }
    let outlook = outlook(here.case);
    // At the gate of other work, wood that nobody has read says nothing new.
    if !is_dried && outlook.worst.is_none() {
        return Vec::new();
    }
    vec![told(&outlook, here.case.now)]
}

fn told(outlook: &Outlook, now: DateTime<FixedOffset>) -> StepSum {
    let target = short(outlook.target);
    let mut sum = match &outlook.forecast {
        Forecast::Reaches { .. } => reaches(&outlook.forecast, &target, now),
        Forecast::Under { .. } => StepSum::new(
            "drying",
            format!("every point at or under {target} %; two readings 48 h apart decide"),
        )
        .is("drying_reaches", true)
        .number("drying_late_h", 0.0),
        Forecast::Never { needed } => never(*needed, &target, outlook.emc.unwrap_or_default()),
        Forecast::Unknown(why) => StepSum::missing("drying", format!("no drying forecast: {why}")),
    };
    sum = sum.more(outlook.air.clone());
    if let Some(end) = outlook.emc {
        sum = sum
            .more(format!(
                "this air leads to {end:.1} % (Wood Handbook, FPL-GTR-190, eq. 4-5)"
            ))
            .number("drying_emc_percent", end);
    }
    if let Some((point, percent)) = &outlook.worst {
        sum = sum
            .more(format!(
                "worst point: {point}, {percent:.1} % corrected for cold wood"
            ))
            .word("drying_worst_point", point.clone())
            .number("drying_worst_percent", *percent);
    }
    sum.more("only readings say that it is dry; consolidated or salty wood has no valid one")
        .number("drying_target_percent", outlook.target)
}

/// The three dates; a date behind now is today, for only a reading can say that it is past.
fn reaches(forecast: &Forecast, target: &str, now: DateTime<FixedOffset>) -> StepSum {
    let Forecast::Reaches {
        early,
        likely,
        late,
        doubtful,
        because,
    } = forecast
    else {
        return StepSum::missing("drying", "no drying forecast");
    };
    let [early, likely, late] = [early, likely, late].map(|at| (*at).max(now));
    let line = format!(
        "dry to {target} %: likely {}, at the latest {}, hardly before {}",
        day(likely),
        day(late),
        day(early)
    );
    let hours = |at: DateTime<FixedOffset>| hours_between(now, at).0;
    let sum = StepSum::new("drying", line)
        .more(because.clone())
        .is("drying_reaches", true)
        .number("drying_early_h", hours(early))
        .number("drying_likely_h", hours(likely))
        .number("drying_late_h", hours(late));
    if *doubtful {
        return sum.minded(Weight::Mind).more(format!(
            "in doubt: {target} % lies within half a point of where this air leads"
        ));
    }
    sum
}

fn never(needed: Option<f64>, target: &str, stops: f64) -> StepSum {
    let remedy = match needed {
        Some(humidity) => format!("bring it to {:.0} %", humidity.floor()),
        None => "no humidity of the table would do at this warmth".to_owned(),
    };
    let line = format!("never {target} % as the air is: it stops at {stops:.1} %; {remedy}");
    let sum = StepSum::new("drying", line)
        .minded(Weight::Mind)
        .is("drying_reaches", false);
    match needed {
        Some(humidity) => sum.number("drying_needs_humidity_percent", humidity.floor()),
        None => sum,
    }
}

/// Returns the times of a drying clock by the readings of its target; `None` while they say
/// nothing, so that the common practice of the clock stands.
pub(in crate::standing) fn times(
    house: House<'_>,
    figure: &str,
    clock: &Clock,
    now: DateTime<FixedOffset>,
) -> Option<Times> {
    if clock.clock != ClockName::Drying {
        return None;
    }
    let standing = house.figure(figure)?;
    let case = Case {
        house,
        figure,
        standing,
        work: &clock.work,
        step: "",
        now,
    };
    times_of(&outlook(case), clock.started.at)
}

fn times_of(outlook: &Outlook, start: DateTime<FixedOffset>) -> Option<Times> {
    let since = |at: DateTime<FixedOffset>| hours_between(start, at).0.max(0.0);
    let worst = outlook
        .worst
        .as_ref()
        .map_or_else(String::new, |(point, percent)| {
            format!("worst {point} {percent:.1} %; ")
        });
    match &outlook.forecast {
        Forecast::Reaches { likely, late, .. } => Some(Times {
            opens: Some(since(*late)),
            likely: Some(since(*likely)),
            closes: None,
            frozen: false,
            because: format!("{worst}{}; only readings end it", outlook.air),
        }),
        Forecast::Under { since: read } => Some(Times {
            opens: Some(since(*read)),
            likely: Some(since(*read)),
            closes: None,
            frozen: false,
            because: format!("{worst}two readings 48 h apart decide"),
        }),
        Forecast::Never { needed } => {
            let stops = outlook.emc.unwrap_or_default();
            let remedy = needed.map_or_else(String::new, |humidity| {
                format!(": bring it to {:.0} %", humidity.floor())
            });
            Some(Times {
                opens: None,
                likely: None,
                closes: None,
                frozen: false,
                because: format!("{worst}air here stops at {stops:.1} %{remedy}"),
            })
        }
        Forecast::Unknown(_) => None,
    }
}

/// Returns the drying of targets whose readings run without a clock: a clock that no line
/// started, with its times. A hand cannot end it; the readings do.
pub(in crate::standing) fn unclocked(
    house: House<'_>,
    (figure, standing): (&str, &FigureStanding),
    now: DateTime<FixedOffset>,
) -> Vec<(Clock, Times)> {
    standing
        .jobs
        .iter()
        .filter(|job| job.state == JobState::Open)
        .filter_map(|job| {
            let step = walk::checklist(house, &job.work)?
                .steps
                .iter()
                .find(|step| {
                    let until = step.until.as_ref();
                    until.is_some_and(|until| until.gate == Some(GateKind::Moisture))
                })?;
            let runs = standing.clocks.iter().any(|clock| {
                clock.clock == ClockName::Drying
                    && clock.ended.is_none()
                    && clock.work.target == job.work.target
            });
            if runs || walk::is_done(job, &step.id) {
                return None;
            }
            let case = Case {
                house,
                figure,
                standing,
                work: &job.work,
                step: "",
                now,
            };
            let first = points(case)
                .first()
                .map(|point| point.reading.stamp.clone())?;
            let clock = unstarted(&job.work, figure, first);
            let times = times_of(&outlook(case), clock.started.at)?;
            Some((clock, times))
        })
        .collect()
}

fn unstarted(work: &Work, figure: &str, first: Stamp) -> Clock {
    let because = "from the readings alone".to_owned();
    Clock {
        id: format!("{}.drying", first.n),
        clock: ClockName::Drying,
        about: work.target.clone().unwrap_or_else(|| figure.to_owned()),
        work: work.clone(),
        rule: ClockRule::Span {
            early_min: 0.0,
            likely_min: 0.0,
            late_min: 0.0,
            side: Use::WaitUntil,
            because,
        },
        started: first,
        ended: None,
        answered: Vec::new(),
        put_off: None,
        lots: Vec::new(),
        words: Vec::new(),
        wall_c: None,
    }
}

#[cfg(test)]
mod tests {
    use super::mean_air;
    use crate::standing::facts::AirReading;
    use chrono::DateTime;

    #[test]
    fn the_mean_of_a_day_weighs_each_reading_by_its_hours() {
        let at = |text: &str| DateTime::parse_from_rfc3339(text).unwrap();
        let reading = |text: &str, humidity_percent: f64| AirReading {
            at: at(text),
            temp_c: 20.0,
            humidity_percent,
        };
        // 40 % from two days ago on, 60 % for the last six of 24 hours: 45 %.
        let log = [
            reading("2026-11-20T12:00:00+00:00", 40.0),
            reading("2026-11-22T06:00:00+00:00", 60.0),
        ];
        let (_, damp) = mean_air(&log, at("2026-11-22T12:00:00+00:00"));
        assert!((damp.0 - 45.0).abs() < 1e-9, "{damp:?}");
    }
}
