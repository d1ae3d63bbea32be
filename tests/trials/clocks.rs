//! Clocks against time and hands: the published tables through a running clock, marks, the fan
//! and the calendar. Random air stands in `clocks_air.rs`, what decide starts in `clocks_mix.rs`.

use chrono::{DateTime, Duration, FixedOffset};
use knuckle::card::{Cards, ClockName, CureHours, Figure, PotLifePoint, SizeClass};
use knuckle::deed::{Air, ClockRule, ClockStart, Deed, Done, Fan, Place, Use, Work};
use knuckle::standing::{Book, ClockState, ClockView, Intent, clock_views};

use crate::memory::{Bench, at};
use crate::published::{near, published};

const SHOP: &str = "
rooms: [{id: bench, name: bench, volume_m3: 100, air_changes_per_h: 12}]
people: [{id: odile, name: Odile, marks: [join]}]
";
const OWL: &str = "
id: owl
name: owl
room: bench
joints:
  - {id: plain, between: a and b, length_mm: 200, width_mm: 50}
  - {id: loaded, between: a and b, length_mm: 200, width_mm: 50, loaded: true}
";

/// A bench with one room, into which clocks are put as facts.
pub(crate) struct Wall {
    pub(crate) bench: Bench,
}

impl Wall {
    pub(crate) fn new(now: &str) -> Self {
        let figure: Figure = serde_yaml::from_str(OWL).unwrap();
        let cards = Cards {
            shop: serde_yaml::from_str(SHOP).unwrap(),
            figures: [(figure.id.clone(), figure)].into(),
            ..Cards::default()
        };
        Self {
            bench: Bench::new(cards, at(now)),
        }
    }

    pub(crate) fn start(&mut self, clock: ClockName, rule: ClockRule) {
        let work = Work {
            operation: "trial".into(),
            target: Some("plain".into()),
            round: 1,
        };
        let starts = vec![ClockStart {
            clock,
            about: "plain".into(),
            rule,
        }];
        let done = Done {
            work,
            step: "s".into(),
            starts,
            ends: Vec::new(),
            coat: None,
        };
        self.bench
            .keep(&Book::Figure("owl".into()), Deed::Done(done));
    }

    /// The air at so many minutes from now, entered now.
    pub(crate) fn air_at(&mut self, minutes: i64, temp_c: f64) {
        let now = self.bench.now;
        self.bench.now = now + Duration::minutes(minutes);
        let (room, source) = ("bench".into(), "hand".into());
        let deed = Deed::Air(Air {
            room,
            temp_c,
            humidity_percent: 50.0,
            source,
        });
        self.bench.keep(&Book::Shop, deed);
        self.bench.now = now;
    }

    /// Steady air, read every hour from a day before now on, so that its night is known too.
    pub(crate) fn steady(&mut self, hours: i64, temp_c: f64) {
        for hour in -24..=hours {
            self.air_at(hour * 60, temp_c);
        }
    }

    fn fan_at(&mut self, minutes: i64, on: bool) {
        let now = self.bench.now;
        self.bench.now = now + Duration::minutes(minutes);
        self.bench.keep(
            &Book::Shop,
            Deed::Fan(Fan {
                room: "bench".into(),
                on,
            }),
        );
        self.bench.now = now;
    }

    /// The only clock, so many minutes from now.
    pub(crate) fn view(&self, minutes: i64) -> ClockView {
        let clock = self.bench.standing.figures["owl"].clocks.last().unwrap();
        let now = self.bench.now + Duration::minutes(minutes);
        knuckle::standing::view(self.bench.house(), "owl", clock, now)
    }

    pub(crate) fn views(&self, now: DateTime<FixedOffset>) -> Vec<ClockView> {
        clock_views(self.bench.house(), now)
    }
}

pub(crate) fn minutes_of(view: &ClockView, moment: Option<DateTime<FixedOffset>>) -> f64 {
    let span = moment.expect("this bound is known") - view.started;
    f64::from(i32::try_from(span.num_milliseconds()).unwrap()) / 60_000.0
}

pub(crate) fn sheet(early: f64, likely: f64, late: f64, at_c: f64) -> CureHours {
    CureHours {
        early,
        likely,
        late,
        at_c,
    }
}

pub(crate) fn span(minutes: f64, side: Use) -> ClockRule {
    ClockRule::Span {
        early_min: minutes,
        likely_min: minutes,
        late_min: minutes,
        side,
        because: "trial".into(),
    }
}

pub(crate) fn cup(minutes: f64, grams: f64) -> ClockRule {
    let sheet = vec![PotLifePoint {
        minutes,
        grams: 100.0,
        temp_c: 22.0,
    }];
    ClockRule::PotLife {
        sheet,
        grams,
        resin_c: None,
    }
}

pub(crate) const MORNING: &str = "2026-11-23T08:00:00+00:00";

#[test]
fn a_cup_promises_what_the_table_of_the_trade_prints() {
    for row in published("pot_life_promise") {
        let mut wall = Wall::new(MORNING);
        wall.steady(3, row.number("celsius"));
        wall.start(ClockName::Cup, cup(25.0, row.number("grams")));
        let view = wall.view(0);
        // Whole minutes in the table.
        near(
            minutes_of(&view, view.closes),
            row.number("safe_min"),
            0.5,
            "safe",
        );
        near(
            minutes_of(&view, view.likely),
            row.number("likely_min"),
            0.5,
            "likely",
        );
        assert_eq!((view.side, view.opens), (Use::DoBefore, None));
    }
}

// Thermochim. Acta 447 (2006) for the activation energies; the rule of doubling beside them.
#[test]
fn no_published_rate_is_faster_than_a_film_s_early_or_slower_than_a_cure_s_late_bound() {
    let all = published("pot_life_q10");
    // The energies that were published for amine and epoxy end at 60 kJ/mol.
    let rows: Vec<_> = all
        .iter()
        .filter(|row| row.number("E_kJ_mol") <= 60.0)
        .collect();
    assert!(30 <= rows.len(), "{} rows", rows.len());
    for row in rows {
        let (sheet_c, air_c) = (row.number("Ta_C"), row.number("Tb_C"));
        for column in ["rate_ratio_arrhenius", "rate_ratio_q10_2"] {
            let ratio = row.number(column);
            let mut wall = Wall::new(MORNING);
            wall.steady(60, air_c);
            wall.start(
                ClockName::Closing,
                ClockRule::Film {
                    sheet: sheet(60.0, 70.0, 80.0, sheet_c),
                },
            );
            let film = wall.view(0);
            // The table has six decimals.
            assert!(
                minutes_of(&film, film.closes) <= 60.0 / ratio + 1e-3,
                "{sheet_c} to {air_c}"
            );
            wall.start(
                ClockName::Clamps,
                ClockRule::Cure {
                    sheet: sheet(8.0, 12.0, 15.0, sheet_c),
                    loaded: false,
                },
            );
            let cure = wall.view(0);
            assert!(
                15.0 * 60.0 / ratio - 1e-2 <= minutes_of(&cure, cure.opens),
                "{sheet_c} to {air_c}"
            );
        }
    }
}

#[test]
fn a_size_of_twelve_hours_is_likely_ready_when_the_table_says() {
    for row in published("size_equivalent") {
        let mut wall = Wall::new(MORNING);
        wall.steady(40, row.number("celsius"));
        let (ready, dead) = (sheet(12.0, 12.0, 12.0, 20.0), sheet(22.0, 22.0, 22.0, 20.0));
        let (class, place) = (SizeClass::Slow, Place::Flat);
        wall.start(
            ClockName::TackFlat,
            ClockRule::Tack {
                class,
                place,
                ready,
                dead,
            },
        );
        let view = wall.view(0);
        // Hours to one decimal.
        near(
            minutes_of(&view, view.likely) / 60.0,
            row.number("hours"),
            0.05,
            "likely",
        );
        assert!(view.likely <= view.opens);
        assert_eq!(view.side, Use::Window);
    }
}

// CDC 2003 and MMWR 1994: minutes by air changes at perfect mixing.
#[test]
fn a_purge_takes_the_published_minutes_times_the_mixing_factor() {
    for row in published("air_change_purge") {
        let to_fraction = 1.0 - row.number("efficiency_pct") / 100.0;
        let wanted = row.number("formula_min");
        for mixing in [1.0, 3.0] {
            let mut wall = Wall::new(MORNING);
            let changes_per_h = row.number("ach_per_h");
            let room = "bench".into();
            wall.start(
                ClockName::Purge,
                ClockRule::Purge {
                    room,
                    changes_per_h,
                    to_fraction,
                    mixing,
                },
            );
            let view = wall.view(0);
            // Four decimals in the table, milliseconds in the clock.
            near(
                minutes_of(&view, view.opens),
                wanted * mixing,
                2e-4 * mixing,
                "purge",
            );
            assert_eq!(view.side, Use::WaitUntil);
        }
    }
}

#[test]
fn a_purge_is_frozen_while_the_fan_is_off_and_never_set_forward() {
    let rule = ClockRule::Purge {
        room: "bench".into(),
        changes_per_h: 12.0,
        to_fraction: 0.01,
        mixing: 1.0,
    };
    let mut wall = Wall::new(MORNING);
    wall.fan_at(-5, true);
    wall.start(ClockName::Purge, rule);
    // 12 changes an hour, 99 %: 23.0259 min (CDC 2003).
    near(
        minutes_of(&wall.view(0), wall.view(0).opens),
        23.0259,
        1e-3,
        "fan on",
    );
    wall.fan_at(10, false);
    for minute in [11, 30, 300] {
        let view = wall.view(minute);
        assert_eq!(view.state, ClockState::Frozen);
        let opens = minutes_of(&view, view.opens);
        let minute = f64::from(i32::try_from(minute).unwrap());
        near(
            opens - minute,
            13.0259,
            1e-3,
            "minutes of fan still missing",
        );
    }
    wall.fan_at(40, true);
    let view = wall.view(41);
    assert_eq!(view.state, ClockState::Waiting);
    near(
        minutes_of(&view, view.opens),
        53.0259,
        1e-3,
        "30 min of fan lost",
    );
    assert_eq!(wall.view(53).state, ClockState::Waiting);
    assert_eq!(wall.view(54).state, ClockState::Come);
    // Somebody remembers later that it stood still from 2 to 6 as well.
    wall.fan_at(2, false);
    wall.fan_at(6, true);
    near(
        minutes_of(&wall.view(41), wall.view(41).opens),
        57.0259,
        1e-3,
        "34 min lost",
    );
    // And that it was off before it was switched on, which changes nothing.
    wall.fan_at(-10, false);
    near(
        minutes_of(&wall.view(41), wall.view(41).opens),
        57.0259,
        1e-3,
        "switched on before the purge",
    );
}

#[test]
fn pot_life_shortens_when_a_hotter_reading_arrives() {
    let mut wall = Wall::new(MORNING);
    wall.air_at(-10, 22.0);
    wall.start(ClockName::Cup, cup(25.0, 100.0));
    near(
        minutes_of(&wall.view(3), wall.view(3).closes),
        25.0,
        1e-6,
        "as on the sheet",
    );
    wall.air_at(5, 30.0);
    let view = wall.view(6);
    // The table prints 12 at 30 °C; the cup was not cooler than its hottest reading.
    near(minutes_of(&view, view.closes), 12.0, 0.5, "at 30 °C");
    assert!(view.because.contains("30 °C"), "{}", view.because);
    // A cooler reading gives nothing back.
    wall.air_at(8, 20.0);
    near(
        minutes_of(&wall.view(9), wall.view(9).closes),
        12.0,
        0.5,
        "learned shorter",
    );
}

#[test]
fn hotter_resin_than_the_room_counts() {
    let mut wall = Wall::new(MORNING);
    wall.steady(1, 22.0);
    let sheet = vec![PotLifePoint {
        minutes: 25.0,
        grams: 100.0,
        temp_c: 22.0,
    }];
    wall.start(
        ClockName::Cup,
        ClockRule::PotLife {
            sheet,
            grams: 100.0,
            resin_c: Some(30.0),
        },
    );
    near(
        minutes_of(&wall.view(0), wall.view(0).closes),
        12.0,
        0.5,
        "resin of 30 °C",
    );
}

#[track_caller]
fn assert_rings(view: &ClockView, ringing: Option<u32>, next: Option<u32>) {
    let marks = (
        view.ringing.map(|(mark, _)| mark),
        view.next_mark.map(|(mark, _)| mark),
    );
    assert_eq!(marks, (ringing, next), "at {:?}", view.share);
}

#[test]
fn marks_ring_at_50_75_90_and_100_a_higher_for_a_lower_and_an_answer_answers_those_below() {
    let mut wall = Wall::new(MORNING);
    wall.start(ClockName::Cup, span(100.0, Use::DoBefore));
    for (minute, ringing, next) in [
        (0, None, Some(50)),
        (49, None, Some(50)),
        (50, Some(50), Some(75)),
        (74, Some(50), Some(75)),
        (75, Some(75), Some(90)),
        (90, Some(90), Some(100)),
        (99, Some(90), Some(100)),
        (100, Some(100), None),
        (5000, Some(100), None),
    ] {
        assert_rings(&wall.view(minute), ringing, next);
    }
    let (mark, since) = wall.view(80).ringing.unwrap();
    assert_eq!((mark, since), (75, wall.bench.now + Duration::minutes(75)));
    wall.bench.now += Duration::minutes(80);
    let answer = |mark| Intent::AnswerAlarm {
        figure: "owl".into(),
        clock: "1.cup".into(),
        mark,
        rang_at: since,
    };
    assert!(
        wall.bench.act(&answer(50)).is_err(),
        "the higher mark took its place"
    );
    let lines = wall.bench.act(&answer(75)).unwrap();
    assert!(matches!(&lines[0].deed, Deed::AlarmAnswered(it) if (it.after_s - 300.0).abs() < 1e-9));
    assert_rings(&wall.view(0), None, Some(90));
    assert_rings(&wall.view(9), None, Some(90));
    assert_rings(&wall.view(10), Some(90), Some(100));
    assert_rings(&wall.view(20), Some(100), None);
    wall.bench.assert_live_is_replayed();
}

#[test]
fn what_is_waited_for_rings_once_and_a_window_at_its_opening_before_its_end_and_at_its_end() {
    let mut wall = Wall::new(MORNING);
    wall.start(ClockName::Leftover, span(60.0, Use::WaitUntil));
    assert_rings(&wall.view(59), None, Some(100));
    assert_rings(&wall.view(60), Some(100), None);
    assert_eq!(
        wall.view(60).state,
        ClockState::Come,
        "and a hand must still say so"
    );
    wall.start(
        ClockName::Dwell,
        ClockRule::Span {
            early_min: 20.0,
            likely_min: 60.0,
            late_min: 120.0,
            side: Use::Window,
            because: "trial".into(),
        },
    );
    for (minute, state, ringing, next) in [
        (19, ClockState::Waiting, None, Some(0)),
        (20, ClockState::Running, Some(0), Some(90)),
        (109, ClockState::Running, Some(0), Some(90)),
        (110, ClockState::Running, Some(90), Some(100)),
        (120, ClockState::Over, Some(100), None),
    ] {
        let view = wall.view(minute);
        assert_eq!(view.state, state, "at {minute}");
        assert_rings(&view, ringing, next);
    }
}

/// Hours are hours, whatever the wall says: Lisbon's clocks go back on 2026-10-25 at 02:00 and
/// forward on 2027-03-28 at 01:00; 2028 has a 29 February.
#[test]
fn midnight_the_changes_of_the_clocks_and_the_leap_day_cost_no_minute() {
    for (started, minutes, ends) in [
        ("2026-11-23T23:30:00+00:00", 60, "2026-11-24T00:30:00+00:00"),
        (
            "2026-10-25T00:30:00+01:00",
            180,
            "2026-10-25T02:30:00+00:00",
        ),
        (
            "2027-03-28T00:30:00+00:00",
            120,
            "2027-03-28T03:30:00+01:00",
        ),
        (
            "2028-02-28T23:00:00+00:00",
            36 * 60,
            "2028-03-01T11:00:00+00:00",
        ),
        ("2026-12-31T23:59:00+00:00", 2, "2027-01-01T00:01:00+00:00"),
    ] {
        for side in [Use::DoBefore, Use::WaitUntil] {
            let mut wall = Wall::new(started);
            wall.start(ClockName::Cup, span(f64::from(minutes), side));
            let ends = at(ends);
            let view = |moment| wall.views(moment)[0].clone();
            let second = Duration::seconds(1);
            assert_eq!(
                view(ends).closes.or(view(ends).opens),
                Some(ends),
                "from {started}"
            );
            let (before, after) = (view(ends - second).state, view(ends).state);
            let due = match side {
                Use::DoBefore => (ClockState::Running, ClockState::Over),
                _ => (ClockState::Waiting, ClockState::Come),
            };
            assert_eq!((before, after), due, "from {started}");
        }
    }
}
