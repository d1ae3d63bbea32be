//! The only reader of time: wall time, fixed time, sped time.
//!
//! Everything else is *given* the moment. A [`Clock`] says what moment it is and how long to
//! wait for another one; a [`Watch`] notices when the wall clock was set, or when the
//! computer slept. Nothing here counts down: a clock at the bench is a line, a formula and
//! a moment.

use std::time::{Duration, Instant};

use chrono::{
    DateTime, FixedOffset, Local, MappedLocalTime, NaiveDateTime, SubsecRound, TimeDelta, TimeZone,
    Utc,
};
use chrono_tz::Tz;

/// In which zone moments are shown and written down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Zone {
    /// The zone of this computer.
    #[default]
    Local,
    /// The zone that the shop names, whatever the computer thinks.
    Named(Tz),
}

impl Zone {
    /// Returns the same moment with the offset that holds in this zone at that moment,
    /// summer time included.
    pub fn show(self, moment: DateTime<Utc>) -> DateTime<FixedOffset> {
        match self {
            Self::Local => moment.with_timezone(&Local).fixed_offset(),
            Self::Named(zone) => moment.with_timezone(&zone).fixed_offset(),
        }
    }

    /// Returns the moments at which the clocks of this zone show a date and time: one, two
    /// where they are set back over it, none where they are set forward over it.
    pub fn moments(self, shown: NaiveDateTime) -> MappedLocalTime<DateTime<FixedOffset>> {
        match self {
            Self::Local => Local
                .from_local_datetime(&shown)
                .map(|at| at.fixed_offset()),
            Self::Named(zone) => zone.from_local_datetime(&shown).map(|at| at.fixed_offset()),
        }
    }
}

/// Where the program takes its time from.
#[derive(Debug, Clone)]
pub struct Clock {
    course: Course,
    zone: Zone,
    /// When this clock was made, on the steady clock of the computer.
    started: Instant,
}

#[derive(Debug, Clone, Copy)]
enum Course {
    Wall,
    Fixed(DateTime<FixedOffset>),
    Sped { from: DateTime<Utc>, factor: u32 },
}

/// The longest that a wait may last at a stretch. The steady clock stands still while the
/// computer sleeps, so a longer wait would end late by the whole sleep; and a wall clock that
/// is set meanwhile has to be noticed. Chosen here: late by 5 s at most, and a wake-up every
/// 5 s costs nothing that can be measured.
pub const LONGEST_WAIT: Duration = Duration::from_secs(5);

/// The shortest wait, the unit in which moments are kept.
const SHORTEST_WAIT: Duration = Duration::from_millis(1);

impl Clock {
    /// Returns the clock on the wall.
    pub fn wall(zone: Zone) -> Self {
        Self::on(Course::Wall, zone)
    }

    /// Returns a clock that stands still, for tests and rehearsals.
    pub fn fixed(at: DateTime<FixedOffset>) -> Self {
        Self::on(Course::Fixed(at), Zone::Local)
    }

    /// Returns a clock that starts at `from` and runs `factor` times as fast as the wall;
    /// a factor of 0 counts as 1.
    pub fn sped(from: DateTime<FixedOffset>, factor: u32, zone: Zone) -> Self {
        let course = Course::Sped {
            from: from.to_utc(),
            factor: factor.max(1),
        };
        Self::on(course, zone)
    }

    #[expect(
        clippy::disallowed_methods,
        reason = "this is the door through which time comes in"
    )]
    fn on(course: Course, zone: Zone) -> Self {
        Self {
            course,
            zone,
            started: Instant::now(),
        }
    }

    /// Returns the moment it is, cut to the millisecond, as a journal line keeps it.
    /// What is decided now is decided on the same moment that is read back later.
    #[expect(
        clippy::disallowed_methods,
        reason = "this is the door through which time comes in"
    )]
    pub fn moment(&self) -> DateTime<FixedOffset> {
        let moment = match self.course {
            Course::Wall => self.zone.show(Utc::now()),
            Course::Fixed(at) => at,
            Course::Sped { from, factor } => self.zone.show(sped(from, factor, self.steady())),
        };
        moment.trunc_subsecs(3)
    }

    /// Returns a moment as it is said in the zone of this clock.
    pub fn show(&self, moment: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
        self.zone.show(moment.to_utc())
    }

    /// Returns the time since this clock was made, on a clock that nobody can set. It stands
    /// still while the computer sleeps (on Linux), which is how a sleep is noticed.
    pub fn steady(&self) -> Duration {
        self.started.elapsed()
    }

    /// Returns how many times faster than the wall this clock runs: 0 for one that stands.
    pub fn factor(&self) -> u32 {
        match self.course {
            Course::Wall => 1,
            Course::Fixed(_) => 0,
            Course::Sped { factor, .. } => factor,
        }
    }

    /// Returns how long to wait for an event before looking at the clock again, when the next
    /// thing to show is due at `due`: zero when it is due already, at most [`LONGEST_WAIT`]
    /// when it is not, and `None` on a clock that stands still and will never get there.
    pub fn wait_for(&self, due: DateTime<FixedOffset>) -> Option<Duration> {
        wait_between(self.moment(), due, self.factor())
    }
}

/// Returns the moment that a sped clock shows after `steady` on the steady clock. The last
/// moment that can be written is where it stops.
fn sped(from: DateTime<Utc>, factor: u32, steady: Duration) -> DateTime<Utc> {
    TimeDelta::from_std(steady.saturating_mul(factor))
        .ok()
        .and_then(|gone| from.checked_add_signed(gone))
        .unwrap_or(DateTime::<Utc>::MAX_UTC)
}

/// Returns the wait from `now` to `due` on a clock of this factor. Rounded up to the
/// millisecond, so that the moment really has come when the wait is over.
fn wait_between(
    now: DateTime<FixedOffset>,
    due: DateTime<FixedOffset>,
    factor: u32,
) -> Option<Duration> {
    // A negative span is none: it is due.
    let ahead = (due - now).to_std().unwrap_or_default();
    if ahead.is_zero() {
        return Some(Duration::ZERO);
    }
    let wait = ahead.checked_div(factor)?;
    Some(wait.saturating_add(SHORTEST_WAIT).min(LONGEST_WAIT))
}

/// The wall clock and the steady clock have parted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Jump {
    /// The wall clock was set back.
    Back {
        /// By how much.
        by: TimeDelta,
    },
    /// The wall clock was set forward, or the computer slept; the two cannot be told apart.
    Ahead {
        /// By how much.
        by: TimeDelta,
    },
}

/// How far the two clocks may part between two looks before it counts as a jump. Slewing by
/// a time service is at most 0.5 ms per second (RFC 5905 and common practice of time
/// services, from memory), far below this over any wait of ours.
pub const JUMP_LIMIT: TimeDelta = TimeDelta::seconds(2);

/// Returns whether the wall clock went further or less far than the steady clock by more
/// than [`JUMP_LIMIT`].
///
/// `wall_delta` may be negative. Spans too long for a clock count as a jump ahead of the
/// wall or none, never as a panic.
pub fn judge_jump(wall_delta: TimeDelta, steady_delta: Duration) -> Option<Jump> {
    let steady = TimeDelta::from_std(steady_delta).unwrap_or(TimeDelta::MAX);
    let parted = wall_delta.checked_sub(&steady)?;
    if JUMP_LIMIT < parted {
        Some(Jump::Ahead { by: parted })
    } else if parted < -JUMP_LIMIT {
        Some(Jump::Back { by: -parted })
    } else {
        None
    }
}

/// Notices jumps between one look and the next.
#[derive(Debug, Clone)]
pub struct Watch {
    wall: DateTime<FixedOffset>,
    steady: Duration,
}

impl Watch {
    /// Returns a watch that starts now.
    pub fn start(clock: &Clock) -> Self {
        Self {
            wall: clock.moment(),
            steady: clock.steady(),
        }
    }

    /// Returns the moment, and the jump since the last look if there was one. Only the wall
    /// clock can jump; a fixed or sped clock is ours.
    pub fn look(&mut self, clock: &Clock) -> (DateTime<FixedOffset>, Option<Jump>) {
        let (wall, steady) = (clock.moment(), clock.steady());
        let jump = match clock.course {
            Course::Wall => judge_jump(wall - self.wall, steady.saturating_sub(self.steady)),
            Course::Fixed(_) | Course::Sped { .. } => None,
        };
        *self = Self { wall, steady };
        (wall, jump)
    }
}

#[cfg(test)]
mod tests {
    use super::{Clock, Jump, LONGEST_WAIT, Watch, Zone, judge_jump, sped, wait_between};
    use chrono::{DateTime, FixedOffset, TimeDelta};
    use chrono_tz::Tz;
    use std::time::Duration;

    fn moment(text: &str) -> DateTime<FixedOffset> {
        DateTime::parse_from_rfc3339(text).unwrap()
    }

    #[test]
    fn a_fixed_clock_stands_and_keeps_its_offset() {
        let at = moment("2031-03-04T09:12:33.120987+01:00");
        let clock = Clock::fixed(at);
        assert_eq!(
            clock.moment().to_rfc3339(),
            "2031-03-04T09:12:33.120+01:00",
            "a moment is cut to the millisecond, as a line keeps it"
        );
        assert_eq!(clock.wait_for(moment("2031-03-04T09:12:34+01:00")), None);
        assert_eq!(
            clock.wait_for(moment("2031-03-04T09:12:33+01:00")),
            Some(Duration::ZERO)
        );
    }

    #[test]
    fn a_sped_clock_runs_by_the_steady_clock_and_stops_at_the_end_of_time() {
        let from = moment("2031-03-04T09:00:00Z").to_utc();
        let at = sped(from, 60, Duration::from_secs(90));
        assert_eq!(at, moment("2031-03-04T10:30:00Z"));
        let end = sped(from, u32::MAX, Duration::MAX);
        assert_eq!(end, DateTime::<chrono::Utc>::MAX_UTC);
    }

    #[test]
    fn a_wait_under_sped_time_is_shortened_and_never_ends_too_early() {
        let now = moment("2031-03-04T09:00:00Z");
        let due = moment("2031-03-04T09:02:00Z");
        assert_eq!(
            wait_between(now, due, 60),
            Some(Duration::from_millis(2001)),
            "2 min at 60 times are 2 s, and a millisecond for the rounding"
        );
        assert_eq!(wait_between(now, due, 1), Some(LONGEST_WAIT));
        assert_eq!(wait_between(now, due, 0), None);
        assert_eq!(wait_between(due, now, 0), Some(Duration::ZERO));
    }

    /// The rules of summer time in central Europe: clocks go forward at 01:00 UTC on the last
    /// Sunday of March (Directive 2000/84/EC, article 2); 30 March in 2031.
    #[test]
    fn a_named_zone_knows_its_summer_time() {
        let zone = Zone::Named(Tz::Europe__Amsterdam);
        let show = |text| zone.show(moment(text).to_utc()).to_rfc3339();
        assert_eq!(show("2031-03-30T00:59:59Z"), "2031-03-30T01:59:59+01:00");
        assert_eq!(show("2031-03-30T01:00:00Z"), "2031-03-30T03:00:00+02:00");
    }

    #[test]
    fn a_jump_is_told_from_ordinary_going() {
        let second = Duration::from_secs(1);
        let judge = |wall_s, steady| judge_jump(TimeDelta::seconds(wall_s), steady);
        assert_eq!(judge(1, second), None);
        assert_eq!(judge(3, second), None, "exactly 2 s is not yet a jump");
        assert_eq!(judge(-1, second), None);
        let ahead = TimeDelta::seconds(7200);
        assert_eq!(judge(7201, second), Some(Jump::Ahead { by: ahead }));
        let back = TimeDelta::seconds(3601);
        assert_eq!(judge(-3600, second), Some(Jump::Back { by: back }));
    }

    #[test]
    fn spans_beyond_any_clock_do_not_panic() {
        assert_eq!(judge_jump(TimeDelta::MIN, Duration::MAX), None);
        assert!(judge_jump(TimeDelta::MAX, Duration::ZERO).is_some());
    }

    #[test]
    fn a_clock_of_our_own_never_jumps() {
        let clock = Clock::sped(moment("2031-03-04T09:00:00Z"), 3600, Zone::Local);
        let mut watch = Watch::start(&clock);
        assert_eq!(watch.look(&clock).1, None);
    }
}
