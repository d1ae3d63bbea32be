//! The rules of clocks met with the air of a room: when each opens, is likely, and closes. The
//! sums stand in `reckon`.

use chrono::{DateTime, FixedOffset};

use super::air::{Traces, hours_between};
use super::facts::Clock;
use super::size::{Damp, SizeSheet};
use super::{House, air, shelf};
use crate::card::{CureHours, GateKind, Material, PotLifePoint, RecoatHours, SizeClass};
use crate::deed::{ClockRule, Place, Use};
use crate::reckon::pot_life::TEMPERATURE;
use crate::reckon::purge::{AirChanges, purge};
use crate::reckon::{
    Celsius, Estimate, Grams, Hours, Minutes, Pace, SheetPoint, Trace, hours_until, promise,
};

/// Factor per 10 °C of a curing resin: slowest and fastest chemistry (technical articles on
/// epoxy agree on a halving per 10 °C and give 1.5–2.5 as its band).
const CURE_BAND: (f64, f64) = (1.5, 2.5);

/// Factor per 10 °C of drying oil coats, lower and higher edge (*common practice*).
const COAT_BAND: (f64, f64) = (1.6, 2.4);

/// Below this an oil coat takes double its printed time, °C (*common practice*).
const COAT_COLD_C: f64 = 14.0;

/// A joint that carries load in use waits this much longer in its clamps (*common practice*).
const LOADED: f64 = 2.0;

/// What a rule gives over the air: hours from the start to opening, likely, closing.
#[derive(Debug, Clone)]
pub(super) struct Times {
    pub(super) opens: Option<f64>,
    pub(super) likely: Option<f64>,
    pub(super) closes: Option<f64>,
    pub(super) frozen: bool,
    pub(super) because: String,
}

impl Times {
    fn before(estimate: &Estimate<Hours>) -> Self {
        Self {
            opens: None,
            likely: Some(estimate.likely().0),
            closes: Some(estimate.do_before().0),
            frozen: false,
            because: estimate.because().to_owned(),
        }
    }

    fn wait(estimate: &Estimate<Hours>) -> Self {
        Self {
            opens: Some(estimate.wait_until().0),
            likely: Some(estimate.likely().0),
            closes: None,
            frozen: false,
            because: estimate.because().to_owned(),
        }
    }

    /// A rule that cannot be reckoned here: what must be done before is over, what is waited
    /// for never comes by itself.
    fn unknown(because: impl std::fmt::Display) -> Self {
        Self {
            opens: None,
            likely: None,
            closes: Some(0.0),
            frozen: false,
            because: because.to_string(),
        }
    }

    fn never(because: String) -> Self {
        Self {
            opens: None,
            likely: None,
            closes: None,
            frozen: false,
            because,
        }
    }
}

/// Returns the times of a clock as its sheet has them, over what was read and what may come.
/// `outlook` gives the outlook of a room, and is asked only where air moves the clock.
pub(super) fn times<'o, 'h: 'o>(
    house: House<'h>,
    figure: &str,
    (clock, now): (&Clock, DateTime<FixedOffset>),
    outlook: impl FnOnce(&str) -> &'o air::Outlook<'h>,
) -> Times {
    let room = house.room_of(figure);
    let start = clock.started.at;
    let traces = |sheet_c: f64| outlook(room).traces(start, sheet_c);
    times_over(house, (figure, room, clock), (start, now), traces)
}

/// Returns the times of a clock as its sheet has them, over the air that was read and nothing
/// that may come: for what is past.
pub(super) fn times_past(
    house: House<'_>,
    figure: &str,
    clock: &Clock,
    end: DateTime<FixedOffset>,
) -> Times {
    let room = house.room_of(figure);
    let span = (clock.started.at, end);
    let traces = |sheet_c: f64| air::behind(house, room, span, sheet_c);
    times_over(house, (figure, room, clock), span, traces)
}

fn times_over(
    house: House<'_>,
    (figure, room, clock): (&str, &str, &Clock),
    span: (DateTime<FixedOffset>, DateTime<FixedOffset>),
    traces: impl FnOnce(f64) -> Option<Traces>,
) -> Times {
    match &clock.rule {
        ClockRule::PotLife {
            sheet,
            grams,
            resin_c,
        } => {
            let read = [*resin_c, clock.wall_c];
            let read = read.into_iter().flatten().reduce(f64::max);
            pot_life_times(sheet, *grams, read, traces(22.0), span)
        }
        ClockRule::Film { sheet } => film_times(sheet, traces(sheet.at_c), span),
        ClockRule::Cure { sheet, loaded } => {
            let least = least_c(house, clock);
            cure_times((sheet, *loaded, least), traces(sheet.at_c))
        }
        ClockRule::Tack {
            class,
            place,
            ready,
            dead,
        } => {
            let damp = air::damp(house, room, span);
            tack_times((*class, *place), (ready, dead), traces(ready.at_c), damp)
        }
        ClockRule::Recoat { sheet } => recoat_times(sheet, traces(sheet.at_c)),
        ClockRule::Span {
            early_min,
            likely_min,
            late_min,
            side,
            because,
        } => {
            let estimate = Estimate::new(
                Minutes(*early_min),
                Minutes(*likely_min),
                Minutes(*late_min),
                because,
            )
            .map(Hours::from);
            match side {
                Use::DoBefore => Times::before(&estimate),
                Use::WaitUntil => Times::wait(&estimate),
                Use::Window => Times {
                    opens: Some(estimate.do_before().0),
                    closes: Some(estimate.wait_until().0),
                    ..Times::before(&estimate)
                },
            }
        }
        ClockRule::Purge {
            room,
            changes_per_h,
            to_fraction,
            mixing,
        } => {
            let fan = fan_log(house, room, (figure, clock));
            purge_times(&fan, span, (*changes_per_h, *to_fraction, *mixing))
        }
    }
}

/// The hottest of resin or cup wall, as read, and room since the mix.
fn pot_life_times(
    sheet: &[PotLifePoint],
    grams: f64,
    read_c: Option<f64>,
    traces: Option<Traces>,
    (start, now): (DateTime<FixedOffset>, DateTime<FixedOffset>),
) -> Times {
    let Some(traces) = traces else {
        return Times::unknown("the air log cannot be read");
    };
    let room = traces.hot.range(Hours(0.0), hours_between(start, now)).1.0;
    let hottest = read_c.map_or(room, |read| read.max(room));
    let points: Vec<SheetPoint> = sheet
        .iter()
        .map(|point| SheetPoint {
            minutes: Minutes(point.minutes),
            grams: Grams(point.grams),
            temperature: Celsius(point.temp_c),
        })
        .collect();
    match promise(&points, Grams(grams), Celsius(hottest)) {
        Ok(promise) => Times::before(&unread(promise.map(Hours::from), traces.read)),
        Err(_) if TEMPERATURE.high < hottest => Times::unknown(format!(
            "{hottest:.0} °C at the cup: it is running away; outside at once, at arm's length"
        )),
        Err(refusal) => Times::unknown(refusal),
    }
}

/// A thin film gets no credit for cold, and loses time to heat like a cup.
fn film_times(
    sheet: &CureHours,
    traces: Option<Traces>,
    (start, now): (DateTime<FixedOffset>, DateTime<FixedOffset>),
) -> Times {
    let Some(traces) = traces else {
        return Times::unknown("the air log cannot be read");
    };
    let hottest = traces.hot.range(Hours(0.0), hours_between(start, now)).1.0;
    let tens = ((hottest - sheet.at_c) / 10.0).max(0.0);
    let minutes = |printed: f64, factor: f64| Minutes(printed / factor.powf(tens));
    let early = minutes(sheet.early, CURE_BAND.1);
    let because = format!(
        "{:.0}–{:.0} min on the sheet at {:.0} °C, {:.0} because up to {hottest:.0} °C",
        sheet.early, sheet.late, sheet.at_c, early.0
    );
    let estimate = Estimate::new(
        early,
        minutes(sheet.likely, 2.0),
        Minutes(sheet.late),
        because,
    );
    Times::before(&unread(estimate.map(Hours::from), traces.read))
}

fn cure_times(
    (sheet, loaded, least): (&CureHours, bool, Option<f64>),
    traces: Option<Traces>,
) -> Times {
    let Some(traces) = traces else {
        return Times::never("the air log cannot be read".to_owned());
    };
    let twice = if loaded { LOADED } else { 1.0 };
    let over = match over_the_traces(&traces, (sheet, twice), CURE_BAND) {
        Ok(over) => over,
        Err(stalled) => return Times::never(stalled),
    };
    let coldest = traces.cold.range(Hours(0.0), over.wait_until()).0.0;
    let mut times = Times::wait(&unread(over, traces.read));
    if let Some(least) = least.filter(|least| coldest < *least) {
        let cold = format!(
            "; colder than the {least:.0} °C of its sheet, which promises nothing there: warm it, the nail decides"
        );
        times.because.push_str(&cold);
    }
    times
}

/// The least temperature on the sheet of what a clock's lot is of, °C.
fn least_c(house: House<'_>, clock: &Clock) -> Option<f64> {
    let of_lot = |card: &&Material| {
        let mut lots = clock.lots.iter();
        lots.any(|lots| lots.split(" + ").any(|lot| shelf::is_of(house, card, lot)))
    };
    let card = house.cards.materials.values().find(of_lot)?;
    card.range_c.map(|[low, _]| low)
}

/// Carries printed hours over the three traces, each bound on its own side, the late one as
/// many times as is asked.
fn over_the_traces(
    traces: &Traces,
    (sheet, times): (&CureHours, f64),
    band: (f64, f64),
) -> Result<Estimate<Hours>, String> {
    let reference = Celsius(sheet.at_c);
    let middle = (band.0 * band.1).sqrt();
    let early = until(&traces.hot, Pace::fastest(reference, band), sheet.early)?;
    let likely = until(&traces.likely, Pace::even(reference, middle), sheet.likely)?;
    let late = until(
        &traces.cold,
        Pace::slowest(reference, band),
        sheet.late * times,
    )?;
    let (low, high) = traces.cold.range(Hours(0.0), late);
    let load = if 1.0 < times {
        ", twice that under load"
    } else {
        ""
    };
    let because = format!(
        "{:.0}–{:.0} h on the sheet at {:.0} °C{load}, {:.0} h at {:.0}–{:.0} °C, the coldest it may be",
        sheet.early, sheet.late, sheet.at_c, late.0, low.0, high.0
    );
    Ok(Estimate::new(early, likely, late, because))
}

fn until<E: std::fmt::Display>(
    trace: &Trace,
    pace: Result<Pace, E>,
    need: f64,
) -> Result<Hours, String> {
    let pace = pace.map_err(|outside| outside.to_string())?;
    hours_until(trace, &pace, Hours(0.0), Hours(need)).map_err(|stalled| stalled.to_string())
}

fn recoat_times(sheet: &RecoatHours, traces: Option<Traces>) -> Times {
    let Some(traces) = traces else {
        return Times::never("the air log cannot be read".to_owned());
    };
    let [shortest, longest] = sheet.min_h;
    let opening = CureHours {
        early: shortest,
        likely: f64::midpoint(shortest, longest),
        late: longest,
        at_c: sheet.at_c,
    };
    let opens = match over_the_traces(&traces, (&opening, 1.0), COAT_BAND) {
        Ok(estimate) => unread(estimate, traces.read),
        Err(stalled) => return Times::never(stalled),
    };
    let coldest = traces.cold.range(Hours(0.0), opens.wait_until()).0.0;
    let doubled = if coldest < COAT_COLD_C {
        2.0 * longest
    } else {
        longest
    };
    let wait = opens.wait_until().0.max(doubled);
    let because = if opens.wait_until().0 < doubled {
        let cold = format!("but {doubled:.0} h, twice the sheet: under {COAT_COLD_C:.0} °C");
        format!("{}; {cold}", opens.because())
    } else {
        opens.because().to_owned()
    };
    // Cold air makes the window no longer than the sheet does: the next coat is to key.
    let closes = sheet.max_h.map(|most| {
        let pace = Pace::fastest(Celsius(sheet.at_c), COAT_BAND);
        let warm = until(&traces.hot, pace, most);
        let early = warm.ok().filter(|warm| warm.0 < most);
        early.map_or((most, String::new()), |early| {
            let hottest = traces.hot.range(Hours(0.0), early).1.0;
            let words = format!(", not {most:.0}, because up to {hottest:.0} °C");
            (early.0, words)
        })
    });
    let because = match &closes {
        Some((end, words)) => format!("{because}; over at {end:.0} h{words}"),
        None => because,
    };
    Times {
        opens: Some(wait),
        likely: Some(opens.likely().0),
        closes: closes.map(|(end, _)| end),
        frozen: false,
        because,
    }
}

fn tack_times(
    (class, place): (SizeClass, Place),
    (ready, dead): (&CureHours, &CureHours),
    traces: Option<Traces>,
    damp: Damp,
) -> Times {
    let Some(traces) = traces else {
        return Times::never("the air log cannot be read".to_owned());
    };
    let sheet = SizeSheet::new(class, ready, dead);
    let air = (&traces, damp);
    let (place, start) = (leaf_place(place), Hours(0.0));
    let early = sheet.hottest(place, air, start);
    let likely = sheet.middling(place, air, start);
    match (early, likely, sheet.latest(place, air, start)) {
        (Ok(early), Ok(likely), Ok(late)) => {
            let end = early.dead.do_before();
            let hottest = traces.hot.range(start, end).1.0;
            let ready = unread(late.ready, traces.read);
            Times {
                opens: Some(ready.wait_until().0),
                likely: Some(likely.ready.likely().0),
                closes: Some(end.0),
                frozen: false,
                because: format!(
                    "{}; may be dead at {:.0} h because up to {hottest:.0} °C",
                    ready.because(),
                    end.0
                ),
            }
        }
        (Err(refusal), _, _) | (_, Err(refusal), _) | (_, _, Err(refusal)) => {
            Times::never(refusal.to_string())
        }
    }
}

pub(super) fn leaf_place(place: Place) -> crate::reckon::LeafPlace {
    match place {
        Place::Edge => crate::reckon::LeafPlace::Edge,
        Place::Flat => crate::reckon::LeafPlace::Flat,
        Place::Hollow => crate::reckon::LeafPlace::Hollow,
    }
}

/// The fan of a room from a moment on: whether it ran then, when it was switched, and what that
/// is known by.
struct FanLog<'a> {
    switched: &'a [(DateTime<FixedOffset>, bool)],
    ran: bool,
    said: &'static str,
}

/// Where nobody noted the fan, a hand that vouched for the air of this work counts; where no
/// hand did, the air stands still, for a mask must not come off on a guess.
fn fan_log<'a>(house: House<'a>, room: &str, (figure, clock): (&str, &Clock)) -> FanLog<'a> {
    let switched = house.standing.shop.fans.get(room);
    let switched = switched.map_or(&[][..], Vec::as_slice);
    let before = switched
        .iter()
        .rev()
        .find(|(at, _)| *at <= clock.started.at);
    if let Some((_, on)) = before {
        return FanLog {
            switched,
            ran: *on,
            said: "",
        };
    }
    let job = house
        .figure(figure)
        .and_then(|standing| standing.job(&clock.work));
    let vouched = job.is_some_and(|job| {
        let mut hands = job.acts.values().flat_map(|act| &act.vouched);
        hands.any(|(gate, stamp)| *gate == GateKind::AirAndGloves && stamp.at <= clock.started.at)
    });
    FanLog {
        switched,
        ran: vouched,
        said: if vouched {
            "; as if the fan runs: a hand said extraction is ON, nobody noted the fan"
        } else {
            "; nobody noted the fan: note it with the air"
        },
    }
}

/// The fan's running minutes since the start count; while it is off the clock is frozen, not
/// set forward.
fn purge_times(
    fan: &FanLog<'_>,
    (start, now): (DateTime<FixedOffset>, DateTime<FixedOffset>),
    (changes_per_h, to_fraction, mixing): (f64, f64, f64),
) -> Times {
    let clearing =
        AirChanges::per_hour(changes_per_h).and_then(|changes| purge(changes, to_fraction, mixing));
    let clearing = match clearing {
        Ok(clearing) => clearing,
        Err(refusal) => {
            return Times::never(format!(
                "{refusal}: set the room's air changes on the shop card"
            ));
        }
    };
    let need = Hours::from(clearing.wait_until()).0;
    let mut running = fan.ran;
    let (mut counted, mut since) = (0.0, start);
    let switched = fan.switched.iter();
    for (at, on) in switched.filter(|(at, _)| start < *at && *at <= now) {
        if running {
            counted += hours_between(since, *at).0;
        }
        (running, since) = (*on, *at);
    }
    let frozen_for = hours_between(start, since).0 - counted;
    let gone = if running {
        counted + hours_between(since, now).0
    } else {
        counted
    };
    let still = if running {
        ""
    } else {
        "; frozen while the fan is off"
    };
    let because = format!(
        "{:.0} min of fan for {:.0} % left; {}{still}{}",
        need * 60.0,
        to_fraction * 100.0,
        clearing.because(),
        fan.said
    );
    let opens = if running {
        need + frozen_for
    } else {
        hours_between(start, now).0 + (need - gone).max(0.0)
    };
    Times {
        opens: Some(opens),
        likely: Some(opens),
        closes: None,
        frozen: !running && gone < need,
        because,
    }
}

/// Says so where no reading of the room stands behind an estimate.
fn unread(estimate: Estimate<Hours>, read: bool) -> Estimate<Hours> {
    if read {
        return estimate;
    }
    Estimate::new(
        estimate.do_before(),
        estimate.likely(),
        estimate.wait_until(),
        format!("guess, no air reading of this room: {}", estimate.because()),
    )
}
