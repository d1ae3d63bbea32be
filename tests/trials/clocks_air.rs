//! Clocks over random air against a slow integrator of one-minute steps that knows nothing of
//! the program's sums; silences of the log; and what a view may depend on.

use std::ops::Range;

use chrono::{Duration, FixedOffset};
use knuckle::card::{ClockName, RecoatHours, SizeClass};
use knuckle::deed::{ClockRule, Line, Place, Use};
use knuckle::standing::{
    ClockState, ClockTimes, ClockView, Standing, clock_views, clock_views_kept,
};
use proptest::prelude::*;

use crate::clocks::{MORNING, Wall, cup, minutes_of, sheet, span};
use crate::published::near;

/// Temperature at a minute of a log; in silences over two hours what `side` says of the ends.
fn air(log: &[(i64, f64)], minute: f64, side: &dyn Fn(f64, f64) -> f64) -> f64 {
    let minute_of = |at: i64| f64::from(i32::try_from(at).unwrap());
    let after = log.iter().position(|(at, _)| minute < minute_of(*at));
    let Some(after) = after else {
        return log[log.len() - 1].1;
    };
    if after == 0 {
        return log[0].1;
    }
    let ((from, left), (to, right)) = (log[after - 1], log[after]);
    if 120 < to - from {
        return side(left, right);
    }
    left + (right - left) * (minute - minute_of(from)) / minute_of(to - from)
}

/// Adds up one-minute steps until so many minutes at the reference are gathered.
fn integrate(
    log: &[(i64, f64)],
    side: &dyn Fn(f64, f64) -> f64,
    rate: &dyn Fn(f64) -> f64,
    need_min: f64,
) -> f64 {
    let mut gathered = 0.0;
    for minute in 0..200_000 {
        gathered += rate(air(log, f64::from(minute) + 0.5, side));
        if need_min <= gathered {
            return f64::from(minute) + 1.0;
        }
    }
    panic!("never gathered")
}

/// `q` per 10 °C above and below the reference.
fn pace(at_c: f64, hotter: f64, colder: f64) -> impl Fn(f64) -> f64 {
    move |celsius| {
        let tens = (celsius - at_c) / 10.0;
        if 0.0 < tens {
            hotter.powf(tens)
        } else {
            colder.powf(tens)
        }
    }
}

/// Readings from before the start for six days, every quarter of an hour to five hours.
fn any_log() -> impl Strategy<Value = Vec<(i64, f64)>> {
    log_with_steps(15..300, 60..90)
}

/// Readings of six days, so many minutes apart.
fn log_with_steps(apart: Range<i64>, many: Range<usize>) -> impl Strategy<Value = Vec<(i64, f64)>> {
    let longest = apart.end.min(240);
    prop::collection::vec((apart, 8.0..34.0_f64), many).prop_map(move |mut steps| {
        // Long enough for every sum below at 8 °C: behind the last reading nobody knows.
        let span: i64 = steps.iter().map(|(step, _)| step).sum();
        for _ in span / longest..7200 / longest {
            steps.push((longest, 20.0));
        }
        let mut minute = -200;
        steps
            .into_iter()
            .map(|(step, celsius)| {
                minute += step;
                (minute, celsius)
            })
            .collect()
    })
}

fn wall_over(log: &[(i64, f64)]) -> Wall {
    let mut wall = Wall::new(MORNING);
    for (minute, celsius) in log {
        wall.air_at(*minute, *celsius);
    }
    wall
}

/// A step of one minute may be wrong by itself, and once more where a silence begins.
const STEP_MIN: f64 = 2.0;

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(24) })]

    #[test]
    fn bounds_err_on_the_safe_side_of_a_slow_integrator(log in any_log(), late in 6.0..20.0_f64) {
        let last = log[log.len() - 1].0;
        let mut wall = wall_over(&log);
        wall.start(ClockName::Clamps, ClockRule::Cure { sheet: sheet(late / 2.0, late / 1.5, late, 22.0), loaded: false });
        let cure = wall.view(last);
        let slow = integrate(&log, &f64::min, &pace(22.0, 1.5, 2.5), late * 60.0);
        prop_assert!(slow - STEP_MIN <= minutes_of(&cure, cure.opens), "{slow} before {:?}", cure.opens);
        // And it is no idle fear: no silence counts colder than the coldest that was ever read
        // and a night's fall below it.
        let coldest = log.iter().map(|(_, celsius)| *celsius).fold(f64::MAX, f64::min) - 7.0;
        let slowest = integrate(&log, &|_, _| coldest, &pace(22.0, 1.5, 2.5), late * 60.0);
        prop_assert!(minutes_of(&cure, cure.opens) <= slowest + STEP_MIN, "{:?} after {slowest}", cure.opens);
        prop_assert!(cure.likely <= cure.opens);

        wall.start(ClockName::Recoat, ClockRule::Recoat {
            sheet: RecoatHours { min_h: [late / 2.0, late], max_h: Some(late * 2.0), at_c: 20.0 },
        });
        let coat = wall.view(last);
        let slow = integrate(&log, &f64::min, &pace(20.0, 1.6, 2.4), late * 60.0);
        let fast = integrate(&log, &f64::max, &pace(20.0, 2.4, 1.6), late * 120.0);
        prop_assert!(slow - STEP_MIN <= minutes_of(&coat, coat.opens));
        prop_assert!(minutes_of(&coat, coat.closes) <= fast + STEP_MIN);
        prop_assert!(coat.likely <= coat.opens);

        let (ready, dead) = (sheet(late / 2.0, late / 1.5, late, 20.0), sheet(late, late * 1.5, late * 2.0, 20.0));
        for place in [Place::Edge, Place::Flat, Place::Hollow] {
            wall.start(ClockName::TackFlat, ClockRule::Tack { class: SizeClass::Slow, place, ready, dead });
            let tack = wall.view(last);
            let fast = integrate(&log, &f64::max, &pace(20.0, 2.4, 1.6), late * 60.0);
            prop_assert!(slow - STEP_MIN <= minutes_of(&tack, tack.opens));
            prop_assert!(minutes_of(&tack, tack.closes) <= fast + STEP_MIN);
            prop_assert!(tack.likely <= tack.opens);
        }
    }

    /// As time goes by and nobody reads anything, what must be done before never moves later and
    /// what is waited for never moves earlier: nothing is told ready at one look and not at the
    /// next.
    #[test]
    fn without_a_reading_no_clock_gains_time(
        log in log_with_steps(15..700, 3..60), begun in 0..2000_i64, looks in prop::collection::vec(1..700_i64, 6), late in 6.0..60.0_f64
    ) {
        let begun = begun.min(log[log.len() - 1].0.max(0));
        let mut wall = wall_over(&log);
        wall.bench.now = crate::memory::at(MORNING) + Duration::minutes(begun);
        let (ready, dead) = (sheet(late / 2.0, late / 1.5, late, 20.0), sheet(late, late * 1.5, late * 2.0, 20.0));
        let coat = RecoatHours { min_h: [late / 2.0, late], max_h: Some(late * 2.0), at_c: 20.0 };
        wall.start(ClockName::Clamps, ClockRule::Cure { sheet: ready, loaded: false });
        wall.start(ClockName::Recoat, ClockRule::Recoat { sheet: coat });
        wall.start(ClockName::TackEdge, ClockRule::Tack { class: SizeClass::Slow, place: Place::Edge, ready, dead });
        let mut minute = log[log.len() - 1].0.max(begun);
        let mut before = wall.views(crate::memory::at(MORNING) + Duration::minutes(minute));
        for step in looks {
            minute += step;
            let mut now = wall.views(crate::memory::at(MORNING) + Duration::minutes(minute));
            before.sort_by(|a, b| a.id.cmp(&b.id));
            now.sort_by(|a, b| a.id.cmp(&b.id));
            prop_assert_eq!(now.len(), 3);
            for (then, view) in before.iter().zip(&now) {
                prop_assert!(then.opens <= view.opens || view.opens.is_none(), "{then:?} {view:?}");
                prop_assert!(view.closes <= then.closes, "{then:?} {view:?}");
            }
            before = now;
        }
    }

    /// Where the thermometer was never silent for long, nothing is feared that was not read: the
    /// same sum, with the same edge.
    #[test]
    fn without_a_silence_the_bound_is_the_integrator_s(
        log in log_with_steps(15..120, 90..140), late in 6.0..20.0_f64
    ) {
        let last = log[log.len() - 1].0;
        let mut wall = wall_over(&log);
        wall.start(ClockName::Clamps, ClockRule::Cure { sheet: sheet(late / 2.0, late / 1.5, late, 22.0), loaded: false });
        let cure = wall.view(last);
        let slow = integrate(&log, &f64::min, &pace(22.0, 1.5, 2.5), late * 60.0);
        prop_assert!(slow - STEP_MIN <= minutes_of(&cure, cure.opens), "{slow} before {:?}", cure.opens);
        prop_assert!(minutes_of(&cure, cure.opens) <= slow + STEP_MIN, "{:?} after {slow}", cure.opens);
    }

    /// Heat of every minute uses up the life of a cup; cold gives back half as much again at most.
    #[test]
    fn a_cup_and_a_film_close_before_the_integrator_does(log in any_log(), minutes in 20.0..120.0_f64) {
        let hot = pace(22.0, 2.5, 1.5);
        let rate = |celsius: f64| hot(celsius).max(1.0 / 1.5);
        let end = integrate(&log, &f64::max, &rate, minutes);
        #[expect(clippy::cast_possible_truncation, reason = "a few hundred minutes")]
        let ended = end as i64 + 1;
        // Looked at when the first reading after the end is there: nobody knew it before.
        let next = log.iter().position(|(at, _)| ended <= *at).unwrap();
        let mut wall = wall_over(&log[..=next]);
        let now = log[next].0;
        wall.start(ClockName::Cup, cup(minutes, 100.0));
        let view = wall.view(now);
        prop_assert!(minutes_of(&view, view.closes) <= end + STEP_MIN, "{end} before {:?}", view.closes);
        prop_assert_eq!(view.state, ClockState::Over);
        prop_assert!(view.closes <= view.likely);
        wall.start(ClockName::Closing, ClockRule::Film { sheet: sheet(minutes, minutes * 1.3, minutes * 1.6, 22.0) });
        let film = wall.view(now);
        let end = integrate(&log, &f64::max, &|celsius| hot(celsius).max(1.0), minutes);
        prop_assert!(minutes_of(&film, film.closes) <= end + STEP_MIN);
        prop_assert!(film.closes <= film.likely);
    }

    /// At any moment, whatever was read or not: bounds in order, and the same after a restart,
    /// from lines in another order, and from lines and eyes in another offset.
    #[test]
    fn views_depend_on_what_was_and_on_nothing_else(log in any_log(), hour in 0..150_i64, offset in -12..14_i32) {
        let mut wall = wall_over(&log);
        let rules = rules();
        for (clock, rule) in &rules {
            wall.start(*clock, rule.clone());
        }
        let now = wall.bench.now + Duration::hours(hour);
        let views = wall.views(now);
        prop_assert_eq!(views.len(), rules.len());
        for view in &views {
            match view.side {
                Use::DoBefore => prop_assert!(view.started <= view.closes.unwrap() && view.closes <= view.likely),
                Use::WaitUntil | Use::Window => prop_assert!(view.likely <= view.opens, "{view:?}"),
            }
        }
        let mut restarted = Wall::new(MORNING);
        for (book, lines) in &wall.bench.lines {
            restarted.bench.standing.replay_all(book, lines);
        }
        prop_assert_eq!(&restarted.views(now), &views);
        // The air entered from last to first.
        let mut entered_later = Wall::new(MORNING);
        for (minute, celsius) in log.iter().rev() {
            entered_later.air_at(*minute, *celsius);
        }
        for (clock, rule) in &rules {
            entered_later.start(*clock, rule.clone());
        }
        prop_assert_eq!(&entered_later.views(now), &views);
        let zone = FixedOffset::east_opt(offset * 3600 + 1800).unwrap();
        let elsewhere = in_zone(&wall, zone);
        let house = knuckle::standing::House { cards: &wall.bench.cards, standing: &elsewhere };
        prop_assert_eq!(&clock_views(house, now), &views);
        prop_assert_eq!(&clock_views(house, now.with_timezone(&zone)), &views);
    }
}

fn rules() -> Vec<(ClockName, ClockRule)> {
    let recoat = RecoatHours {
        min_h: [16.0, 24.0],
        max_h: Some(72.0),
        at_c: 20.0,
    };
    let (ready, dead) = (sheet(10.0, 11.0, 12.0, 20.0), sheet(20.0, 22.0, 24.0, 20.0));
    let (class, place) = (SizeClass::Slow, Place::Hollow);
    vec![
        (ClockName::Cup, cup(25.0, 120.0)),
        (
            ClockName::Closing,
            ClockRule::Film {
                sheet: sheet(45.0, 60.0, 75.0, 22.0),
            },
        ),
        (
            ClockName::Clamps,
            ClockRule::Cure {
                sheet: sheet(8.0, 12.0, 15.0, 22.0),
                loaded: false,
            },
        ),
        (ClockName::Recoat, ClockRule::Recoat { sheet: recoat }),
        (
            ClockName::TackHollow,
            ClockRule::Tack {
                class,
                place,
                ready,
                dead,
            },
        ),
        (ClockName::Glove, span(20.0, Use::DoBefore)),
    ]
}

/// The same lines, written where another time is on the wall.
fn in_zone(wall: &Wall, zone: FixedOffset) -> Standing {
    let mut standing = Standing::default();
    for (book, lines) in &wall.bench.lines {
        let there = |line: &Line| Line {
            at: line.at.with_timezone(&zone),
            ..line.clone()
        };
        let lines: Vec<Line> = lines.iter().map(there).collect();
        standing.replay_all(book, &lines);
    }
    standing
}

/// Three days read every hour: 20 °C, at night 10 °C; the fourth night nobody read.
#[test]
fn a_night_that_nobody_read_promises_no_more_than_one_that_was_as_cold_as_the_others() {
    let nights = |read: bool| {
        let mut wall = Wall::new("2026-11-23T18:00:00+00:00");
        for hour in -72..=14_i64 {
            let of_day = (18 + hour).rem_euclid(24);
            if hour <= 0 || read {
                wall.air_at(hour * 60, if of_day <= 6 { 10.0 } else { 20.0 });
            }
        }
        wall.start(
            ClockName::Clamps,
            ClockRule::Cure {
                sheet: sheet(8.0, 12.0, 15.0, 22.0),
                loaded: false,
            },
        );
        wall
    };
    for hour in [3, 8, 14] {
        let (silent, read) = (nights(false), nights(true));
        let (silent, read) = (silent.view(hour * 60), read.view(hour * 60));
        assert!(
            read.opens <= silent.opens,
            "after {hour} h: {:?} before {:?}",
            silent.opens,
            read.opens
        );
    }
}

/// Ten hours from 24 °C down to 14 °C, read at every so many minutes; the day before, every
/// hour was read at `before` °C.
fn over_a_silence(before: Option<f64>, every: i64) -> Wall {
    let mut wall = Wall::new(MORNING);
    let day_before = before.into_iter().flat_map(|celsius| {
        let hours = -24..=-1_i64;
        hours.map(move |hour| (hour * 60, celsius))
    });
    for (minute, celsius) in day_before {
        wall.air_at(minute, celsius);
    }
    for minute in (0..=600).step_by(usize::try_from(every).unwrap()) {
        let share = f64::from(i32::try_from(minute).unwrap()) / 600.0;
        wall.air_at(minute, 24.0 - 10.0 * share);
    }
    wall
}

/// Hours until clamps come off after 6 h on the sheet at 22 °C, seen after the silence.
fn clamps_h(mut wall: Wall) -> f64 {
    let cure = sheet(4.0, 5.0, 6.0, 22.0);
    wall.start(
        ClockName::Clamps,
        ClockRule::Cure {
            sheet: cure,
            loaded: false,
        },
    );
    let view = wall.view(600);
    minutes_of(&view, view.opens) / 60.0
}

#[test]
fn a_silence_between_two_readings_takes_the_bound_that_does_not_hurt() {
    let read = clamps_h(over_a_silence(None, 60));
    let silent = |before| clamps_h(over_a_silence(Some(before), 600));
    assert!(
        read < silent(14.0),
        "the cold side in a silence of ten hours"
    );
    // 14 °C all ten hours: 6 h · 2.5^0.8 = 12.49 h, the rule of the trade for clamps.
    near(silent(14.0), 12.49, 0.01, "at the colder end");
}

/// The day before, the same hours were colder than both ends of the silence are: so may these
/// have been. 10 h at 9 °C gather 10 / 2.5^1.3 = 3.04 h of the 6, the rest at what may come.
#[test]
fn a_silence_counts_as_cold_as_the_same_hours_of_the_days_around() {
    let (mild, cold) = (
        over_a_silence(Some(14.0), 600),
        over_a_silence(Some(9.0), 600),
    );
    let (mild, cold) = (clamps_h(mild), clamps_h(cold));
    assert!(mild + 1.0 < cold, "{mild} and {cold}");
    let gathered = 10.0 / 2.5_f64.powf(1.3);
    let rest = (6.0 - gathered) * 2.5_f64.powf(1.3);
    assert!(
        cold <= 10.0 + rest + 0.01,
        "{cold}: nothing colder was ever read"
    );
}

/// A shop that reads by day only has never seen its nights: 20 °C at six and at eight, and the
/// night between may have been 13 °C (*common practice*), so that no clamp comes off as if it
/// had been 20 °C.
#[test]
fn a_night_between_two_warm_readings_may_have_been_cold() {
    let by_day = |night_too: bool| {
        let mut wall = Wall::new("2026-11-23T18:00:00+00:00");
        for hour in -72..=14_i64 {
            let of_day = (18 + hour).rem_euclid(24);
            if night_too || (8..=18).contains(&of_day) {
                wall.air_at(hour * 60, 20.0);
            }
        }
        let cure = sheet(8.0, 12.0, 15.0, 20.0);
        wall.start(
            ClockName::Clamps,
            ClockRule::Cure {
                sheet: cure,
                loaded: false,
            },
        );
        let view = wall.view(14 * 60);
        minutes_of(&view, view.opens) / 60.0
    };
    near(by_day(true), 15.0, 0.01, "every hour was read");
    let unread = by_day(false);
    // From 19 to 7 the air falls a degree an hour away from the readings and no more than 7.
    let gathered: f64 = (0..=14)
        .map(|hour: i32| f64::from(hour.min(14 - hour).min(7)))
        .map(|fall| 2.5_f64.powf(-fall / 10.0))
        .sum();
    assert!(
        15.0 + (14.0 - gathered) * 0.9 < unread,
        "{unread}, {gathered}"
    );
    assert!(
        unread < 15.0 + (14.0 - gathered) + 4.0,
        "{unread}, {gathered}"
    );
}

/// What must be done before counts the hotter side: noon of the day before was 30 °C, and two
/// readings of 20 °C six hours apart have not seen this noon.
#[test]
fn a_film_in_a_silence_counts_as_hot_as_the_same_hours_were() {
    let closes = |noon: f64| {
        let mut wall = Wall::new("2026-07-23T09:00:00+00:00");
        for hour in -24..=-12_i64 {
            let celsius = if (-23..=-19).contains(&hour) {
                noon
            } else {
                20.0
            };
            wall.air_at(hour * 60, celsius);
        }
        wall.air_at(0, 20.0);
        wall.air_at(360, 20.0);
        let film = sheet(240.0, 300.0, 360.0, 22.0);
        wall.start(ClockName::Closing, ClockRule::Film { sheet: film });
        let view = wall.view(360);
        minutes_of(&view, view.closes)
    };
    near(closes(20.0), 240.0, 0.1, "nothing hotter than the sheet");
    // 8 °C over the sheet's 22: 240 / 2.5^0.8.
    near(
        closes(30.0),
        240.0 / 2.5_f64.powf(0.8),
        0.5,
        "as hot as yesterday",
    );
}

#[test]
fn air_that_nobody_ever_read_is_a_guess_on_the_safe_side_and_says_so() {
    let mut wall = Wall::new(MORNING);
    wall.start(
        ClockName::Clamps,
        ClockRule::Cure {
            sheet: sheet(8.0, 12.0, 15.0, 22.0),
            loaded: false,
        },
    );
    let view = wall.view(0);
    assert!(15.0 * 60.0 < minutes_of(&view, view.opens));
    assert!(
        view.because
            .starts_with("guess, no air reading of this room"),
        "{}",
        view.because
    );
    wall.start(
        ClockName::Closing,
        ClockRule::Film {
            sheet: sheet(45.0, 60.0, 75.0, 22.0),
        },
    );
    assert!(minutes_of(&wall.view(0), wall.view(0).closes) < 45.0);
    // Nobody knows that the night was not under 14 °C, where a coat takes double (common practice).
    let coat = RecoatHours {
        min_h: [16.0, 24.0],
        max_h: None,
        at_c: 20.0,
    };
    wall.start(ClockName::Recoat, ClockRule::Recoat { sheet: coat });
    let views = wall.views(wall.bench.now);
    let coat = views
        .iter()
        .find(|view| view.clock == ClockName::Recoat)
        .unwrap();
    assert!(48.0 * 60.0 <= minutes_of(coat, coat.opens));
}

#[test]
fn a_room_too_cold_to_cure_never_comes_and_air_beyond_belief_opens_nothing() {
    for celsius in [4.0, 300.0] {
        let mut wall = Wall::new(MORNING);
        wall.steady(100, celsius);
        for (clock, rule) in rules() {
            wall.start(clock, rule);
        }
        for view in wall.views(wall.bench.now + Duration::hours(99)) {
            match view.side {
                Use::DoBefore => assert_eq!(view.state, ClockState::Over, "{view:?}"),
                _ => assert!(
                    view.state != ClockState::Come && view.opens.is_none(),
                    "{view:?}"
                ),
            }
        }
    }
}

/// A cure over the night of the change against the integrator, which knows no wall at all.
#[test]
fn a_cure_over_the_change_of_the_clocks_counts_every_hour_once() {
    for (started, offset) in [
        ("2026-10-24T20:00:00+01:00", 0),
        ("2027-03-27T20:00:00+00:00", 3600),
    ] {
        let log: Vec<(i64, f64)> = (0..40)
            .map(|n| (n * 60, if n < 12 { 14.0 } else { 20.0 }))
            .collect();
        let mut wall = Wall::new(started);
        for (minute, celsius) in &log {
            wall.air_at(*minute, *celsius);
        }
        wall.start(
            ClockName::Clamps,
            ClockRule::Cure {
                sheet: sheet(8.0, 12.0, 15.0, 22.0),
                loaded: false,
            },
        );
        let zone = FixedOffset::east_opt(offset).unwrap();
        let now = (wall.bench.now + Duration::hours(39)).with_timezone(&zone);
        let view = wall.views(now)[0].clone();
        let slow = integrate(&log, &f64::min, &pace(22.0, 1.5, 2.5), 15.0 * 60.0);
        near(minutes_of(&view, view.opens), slow, STEP_MIN, started);
    }
}

/// Within a minute the times that were reckoned first are kept; where a clock stands by them is
/// asked at every look.
#[test]
fn what_is_kept_within_a_minute_shows_what_is_reckoned_anew() {
    let mut wall = Wall::new(MORNING);
    wall.start(
        ClockName::Clamps,
        ClockRule::Cure {
            sheet: sheet(8.0, 12.0, 15.0, 22.0),
            loaded: false,
        },
    );
    let begun = crate::memory::at(MORNING);
    let mut kept = ClockTimes::default();
    for seconds in (0..=16 * 60).flat_map(|minute| [minute * 60, minute * 60 + 31]) {
        let now = begun + Duration::seconds(seconds);
        let shown = clock_views_kept(wall.bench.house(), now, &mut kept);
        let anew = clock_views(wall.bench.house(), now);
        let opens = |views: &[ClockView]| views.iter().map(|view| view.opens).collect::<Vec<_>>();
        let states = |views: &[ClockView]| views.iter().map(|view| view.state).collect::<Vec<_>>();
        assert_eq!(states(&shown), states(&anew), "{seconds} s");
        assert_eq!(opens(&shown), opens(&anew), "{seconds} s");
    }
}
