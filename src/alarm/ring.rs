//! Which alarms are raised or repeated at a moment. Pure: the moment, the clocks and what
//! rang before are given. It knows neither the screen nor the desktop.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset, TimeDelta};

use super::words::{self, Urgency};
use crate::deed::Use;
use crate::standing::ClockView;

/// An alarm that is told this long after its mark was reached is told late, and says so. The
/// program was off, the computer slept, or a new air reading moved the end into the past.
/// Own judgement: longer than any wait of a running program, shorter than any deadline.
pub const LATE_AFTER: TimeDelta = TimeDelta::seconds(60);

/// Whether work goes on in which a sudden sound would do harm: leaf is open, a gouge is in
/// the wood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Quiet {
    /// Alarms sound.
    #[default]
    Off,
    /// Nothing sounds; what is seen pulses slowly.
    On,
}

/// Whether an alarm is new.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Turn {
    /// It is raised.
    First,
    /// It was told before and nobody has answered.
    Again,
}

/// An alarm that rings until a person answers it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ring {
    /// Figure id.
    pub figure: String,
    /// Clock id, such as `812.cup`; unique within its figure only.
    pub clock: String,
    /// The mark that was reached, percent.
    pub mark_percent: u32,
    /// When it was reached: the true moment, whoever was there to see it.
    pub since: DateTime<FixedOffset>,
    /// By how much it was told late, if it was.
    pub late_by: Option<TimeDelta>,
    /// How urgent.
    pub urgency: Urgency,
    /// What has happened, without a full stop.
    pub headline: String,
    /// What its owner does now.
    pub action: &'static str,
    /// Whether it is new.
    pub turn: Turn,
    /// Whether it keeps quiet.
    pub quiet: Quiet,
}

impl Ring {
    /// Returns since when it rings, and by how much it was told late, for people: on the
    /// clock of `now`, with the date where that is another day.
    pub fn when(&self, now: DateTime<FixedOffset>) -> String {
        let since = self.since.with_timezone(now.offset());
        let at = if since.date_naive() == now.date_naive() {
            since.format("%H:%M")
        } else {
            since.format("%Y-%m-%d %H:%M")
        };
        match self.late_by {
            None => format!("since {at}"),
            Some(late) => format!("since {at}, told {} late", span(late)),
        }
    }
}

fn span(late: TimeDelta) -> String {
    let (days, hours, minutes) = (late.num_days(), late.num_hours(), late.num_minutes());
    if 0 < days {
        format!("{days} d {} h", hours % 24)
    } else if 0 < hours {
        format!("{hours} h {:02} min", minutes % 60)
    } else {
        format!("{minutes} min")
    }
}

/// Figure id, clock id, mark. The same clock id may stand in the journals of two figures.
type Key = (String, String, u32);

fn key(view: &ClockView, mark: u32) -> Key {
    (view.figure.clone(), view.id.clone(), mark)
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Told {
    first: DateTime<FixedOffset>,
    last: DateTime<FixedOffset>,
    quiet: Quiet,
}

/// What was told, and when last. It is lost with the program, which does no harm: at the
/// next start everything that nobody has answered is told anew, with its true time.
#[derive(Debug, Clone, PartialEq)]
pub struct Rung {
    told: BTreeMap<Key, Told>,
    pace: i32,
}

impl Default for Rung {
    fn default() -> Self {
        Self::at_pace(1)
    }
}

impl Rung {
    /// Returns an empty memory for a clock that runs `factor` times as fast as the wall. The
    /// ear does not run faster, so the time between two tellings is stretched by the factor;
    /// 0 counts as 1.
    pub fn at_pace(factor: u32) -> Self {
        Self {
            told: BTreeMap::new(),
            pace: i32::try_from(factor).unwrap_or(i32::MAX).max(1),
        }
    }

    /// Keeps what was told at `now`, and forgets what no longer rings. To be called after
    /// every [`due`] with the same clocks, whether it gave anything or not.
    pub fn keep(&mut self, views: &[ClockView], rings: &[Ring], now: DateTime<FixedOffset>) {
        let mut still = BTreeMap::new();
        for (view, (mark, _)) in reached(views) {
            let key = key(view, mark);
            if let Some(told) = self.told.remove(&key) {
                still.insert(key, told);
            }
        }
        for ring in rings {
            let key = (ring.figure.clone(), ring.clock.clone(), ring.mark_percent);
            let first = still.get(&key).map_or(now, |told| told.first);
            still.insert(
                key,
                Told {
                    first,
                    last: now,
                    quiet: ring.quiet,
                },
            );
        }
        self.told = still;
    }

    /// Returns when an alarm is to be told next: at once when it never was, when it was told
    /// in quiet work that is over, or when the clock was set back since.
    fn next(
        &self,
        (view, mark): (&ClockView, u32),
        quiet: Quiet,
        now: DateTime<FixedOffset>,
    ) -> DateTime<FixedOffset> {
        let Some(told) = self.told.get(&key(view, mark)) else {
            return now;
        };
        let is_unheard = quiet < told.quiet;
        if is_unheard || now < told.last {
            return now;
        }
        let between = repeat(words::urgency(view, mark));
        between
            .checked_mul(self.pace)
            .and_then(|between| told.last.checked_add_signed(between))
            .unwrap_or(now)
    }
}

/// Returns how long an alarm stays silent before it is told again. Own judgement.
fn repeat(urgency: Urgency) -> TimeDelta {
    match urgency {
        Urgency::Low => TimeDelta::minutes(5),
        Urgency::Middle => TimeDelta::seconds(60),
        Urgency::High => TimeDelta::seconds(20),
    }
}

/// Returns everything that rings at `now`, told before or not: what the screen shows until a
/// person answers. What is over comes first, then what dies first, then what can wait.
pub fn ringing(
    views: &[ClockView],
    quiet: Quiet,
    now: DateTime<FixedOffset>,
    memory: &Rung,
) -> Vec<Ring> {
    let mut ordered: Vec<_> = reached(views).collect();
    ordered.sort_by_key(|(view, (mark, _))| (dies(view, *mark), key(view, *mark)));
    ordered
        .into_iter()
        .map(|(view, (mark, since))| {
            let told = memory.told.get(&key(view, mark));
            let late = told.map_or(now, |told| told.first) - since;
            let (headline, action) = words::words(view, mark);
            // An alarm that comes back tells since when it is over, not since when it came back.
            let over = view
                .closes
                .filter(|_| mark == 100 && view.side != Use::WaitUntil);
            let since = over.map_or(since, |over| over.min(since));
            Ring {
                figure: view.figure.clone(),
                clock: view.id.clone(),
                mark_percent: mark,
                since,
                late_by: Some(late).filter(|late| LATE_AFTER < *late),
                urgency: words::urgency(view, mark),
                headline,
                action,
                turn: told.map_or(Turn::First, |_| Turn::Again),
                quiet,
            }
        })
        .collect()
}

/// Returns what is to be told at `now`: nothing, or everything that rings, as one list.
///
/// As soon as one alarm is new or has been silent long enough, all are told with it, and the
/// silence of all begins anew. So ten clocks ring as often as the most urgent of them, not
/// ten times as often. Order as in [`ringing`].
pub fn due(
    views: &[ClockView],
    quiet: Quiet,
    now: DateTime<FixedOffset>,
    memory: &Rung,
) -> Vec<Ring> {
    let is_due = |(view, (mark, _)): (_, (u32, _))| memory.next((view, mark), quiet, now) <= now;
    if reached(views).any(is_due) {
        ringing(views, quiet, now, memory)
    } else {
        Vec::new()
    }
}

/// Returns the moment at which [`due`] may give something that it does not give now: the next
/// mark of any clock or the next repeat; `None` when no clock leads anywhere. Never before
/// `now`. To be asked after [`Rung::keep`].
pub fn next_look(
    views: &[ClockView],
    quiet: Quiet,
    now: DateTime<FixedOffset>,
    memory: &Rung,
) -> Option<DateTime<FixedOffset>> {
    let repeats = reached(views).map(|(view, (mark, _))| memory.next((view, mark), quiet, now));
    let marks = views.iter().filter_map(|view| view.next_mark);
    let next = repeats.chain(marks.map(|(_, at)| at)).min()?;
    Some(next.max(now))
}

fn reached(
    views: &[ClockView],
) -> impl Iterator<Item = (&ClockView, (u32, DateTime<FixedOffset>))> {
    views
        .iter()
        .filter_map(|view| view.ringing.map(|ringing| (view, ringing)))
}

/// The order of a list of alarms: what calls for a hand now, then what still can die, by its
/// closing, then what has come or is mended at any time.
fn dies(view: &ClockView, mark: u32) -> (u8, i64) {
    let still = match view.closes {
        _ if words::urgency(view, mark) == Urgency::High => 0,
        Some(_) if mark < 100 => 1,
        _ => 2,
    };
    let at = view.closes.or(view.opens);
    (still, at.map_or(i64::MAX, |at| at.timestamp_millis()))
}
