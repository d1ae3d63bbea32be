//! Faults of time on the core: a journal written in another zone, suspend, a clock set back and
//! forward, the changes of summer time. Midnight and the leap day stand in `clocks.rs`.

use chrono::{DateTime, Duration, FixedOffset};
use knuckle::card::ClockName;
use knuckle::deed::{ClockRule, Line, Use};
use knuckle::standing::{Book, ClockState, ClockView, House, Standing, clock_views};

use crate::clocks::{Wall, cup, sheet, span};
use crate::memory::at;

/// A cup, clamps and gloves at a moment, over air that falls through the night.
fn started(now: &str) -> Wall {
    let mut wall = Wall::new(now);
    for hour in -30..=0 {
        let warm = if hour % 24 < -12 { 14.0 } else { 20.0 };
        wall.air_at(hour * 60, warm);
    }
    wall.start(ClockName::Cup, cup(25.0, 100.0));
    wall.start(
        ClockName::Clamps,
        ClockRule::Cure {
            sheet: sheet(6.0, 8.0, 10.0, 20.0),
            loaded: false,
        },
    );
    wall.start(ClockName::Glove, span(60.0, Use::DoBefore));
    wall
}

fn views(wall: &Wall, lines: &dyn Fn(&Line) -> Line, now: DateTime<FixedOffset>) -> Vec<ClockView> {
    let mut standing = Standing::default();
    for (book, kept) in &wall.bench.lines {
        let kept: Vec<Line> = kept.iter().map(lines).collect();
        standing.replay_all(book, &kept);
    }
    let house = House {
        cards: &wall.bench.cards,
        standing: &standing,
    };
    clock_views(house, now)
}

/// Id, opening, closing, share in millionths and state.
type Said = (String, Option<i64>, Option<i64>, i64, ClockState);

/// What a clock says, whatever offset its moments are written in.
fn said(views: &[ClockView]) -> Vec<Said> {
    let instant = |at: Option<DateTime<FixedOffset>>| at.map(|at| at.timestamp_millis());
    let mut all: Vec<_> = views
        .iter()
        .map(|view| {
            let share: i64 = format!("{:.0}", view.share * 1e6).parse().unwrap();
            let (opens, closes) = (instant(view.opens), instant(view.closes));
            (view.id.clone(), opens, closes, share, view.state)
        })
        .collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    all
}

#[test]
fn a_journal_written_in_another_zone_reads_the_same() {
    let wall = started("2026-10-24T20:00:00+01:00");
    let now = wall.bench.now + Duration::hours(9);
    let home = said(&views(&wall, &Line::clone, now));
    for hours in [-11, -5, 0, 9, 14] {
        let zone = FixedOffset::east_opt(hours * 3600).unwrap();
        let elsewhere = |line: &Line| Line {
            at: line.at.with_timezone(&zone),
            ..line.clone()
        };
        let there = said(&views(&wall, &elsewhere, now));
        assert_eq!(there, home, "written at UTC{hours:+}");
        // And read there.
        let abroad = said(&views(&wall, &Line::clone, now.with_timezone(&zone)));
        assert_eq!(abroad, home, "read at UTC{hours:+}");
    }
}

/// Lisbon's clocks go back on 2026-10-25 at 02:00 and forward on 2027-03-28 at 01:00 (IANA time
/// zone database): a night of 25 hours and one of 23 read as what they are.
#[test]
fn the_nights_of_the_clock_changes_have_their_own_length() {
    for (from, morning, hours) in [
        ("2026-10-24T20:00:00+01:00", "2026-10-25T08:00:00+00:00", 13),
        ("2027-03-27T20:00:00+00:00", "2027-03-28T08:00:00+01:00", 11),
    ] {
        let mut wall = Wall::new(from);
        wall.start(
            ClockName::Leftover,
            span(f64::from(hours) * 60.0, Use::WaitUntil),
        );
        let morning = at(morning);
        let second = Duration::seconds(1);
        assert_eq!(wall.views(morning - second)[0].state, ClockState::Waiting);
        assert_eq!(
            wall.views(morning)[0].state,
            ClockState::Come,
            "from {from}"
        );
    }
}

/// A lid that was shut for three days: whoever looks then sees what whoever watched all along
/// sees, and what rings rings since its true moment.
#[test]
fn a_machine_that_slept_shows_what_one_that_watched_shows() {
    let wall = started("2026-11-25T14:00:00+00:00");
    let woken = wall.bench.now + Duration::days(3);
    let mut watched = Vec::new();
    let mut now = wall.bench.now;
    while now < woken {
        watched = wall.views(now);
        now += Duration::minutes(7);
    }
    let last = now - Duration::minutes(7);
    assert_eq!(watched, wall.views(last));
    let slept = wall.views(woken);
    let glove = slept.iter().find(|view| view.clock == ClockName::Glove);
    let glove = glove.unwrap();
    assert_eq!(glove.state, ClockState::Over);
    let over = wall.bench.now + Duration::hours(1);
    assert_eq!(glove.ringing, Some((100, over)));
}

/// A clock set back shows no negative time, rings nothing that has not come, and once it is
/// right again all reads as before; set forward, what would be over is over.
#[test]
fn a_clock_set_back_and_forward_leaves_no_trace() {
    let wall = started("2026-11-25T14:00:00+00:00");
    let now = wall.bench.now + Duration::minutes(10);
    let before = wall.views(now);
    let book = Book::Figure("owl".to_owned());
    let lines = wall.bench.lines[&book].len();
    for back in [1, 60, 60 * 24 * 40] {
        for view in wall.views(now - Duration::minutes(back)) {
            assert!(0.0 <= view.share, "{view:?}");
            if view.started > now - Duration::minutes(back) {
                assert_eq!(view.ringing, None, "{view:?}");
                assert_ne!(view.state, ClockState::Over, "{view:?}");
            }
        }
    }
    for view in wall.views(now + Duration::days(400)) {
        assert!(
            matches!(view.state, ClockState::Over | ClockState::Come),
            "{view:?}"
        );
    }
    assert_eq!(wall.views(now), before);
    assert_eq!(
        wall.bench.lines[&book].len(),
        lines,
        "looking writes nothing"
    );
}
