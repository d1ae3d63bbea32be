//! Clocks recomputed from their line, their formula and the air log, whenever they are shown.
//! The sums stand in `reckon`; here they meet a moment.

use std::collections::BTreeMap;

use chrono::{DateTime, Duration, FixedOffset};

use super::House;
use super::air::{Outlook, after, hours_between, latest};
use super::clock_times::{Times, times};
use super::facts::Clock;
use super::learning::Learnt;
use super::rubbed;
use super::sums::dry;
use crate::card::ClockName;
use crate::deed::{Attended, ClockRule, Use, Work};

/// A clock as it stands at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockView {
    /// Line number and name, such as `812.cup`.
    pub id: String,
    /// Figure id.
    pub figure: String,
    /// The work it belongs to.
    pub work: Work,
    /// Which clock.
    pub clock: ClockName,
    /// What it is about.
    pub about: String,
    /// When it started.
    pub started: DateTime<FixedOffset>,
    /// Which side counts.
    pub side: Use,
    /// Who must be there.
    pub attended: Attended,
    /// When what is waited for has come, on the late side.
    pub opens: Option<DateTime<FixedOffset>>,
    /// When it is likely.
    pub likely: Option<DateTime<FixedOffset>>,
    /// When it must be finished, on the early side.
    pub closes: Option<DateTime<FixedOffset>>,
    /// Share of the time to the next deadline that has passed, 0 and up; 1 is the end.
    pub share: f64,
    /// Where it stands.
    pub state: ClockState,
    /// Why these times, one line.
    pub because: String,
    /// Where they come from: `from sheet`, `from this lot (n = 6)`, `common practice`, `guess`.
    pub provenance: String,
    /// Alarm marks that have been reached and nobody has answered: percent, since when.
    pub ringing: Option<(u32, DateTime<FixedOffset>)>,
    /// The next mark to come: percent, when.
    pub next_mark: Option<(u32, DateTime<FixedOffset>)>,
}

/// Where a clock stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ClockState {
    /// A do-before clock past its early bound: over.
    Over,
    /// A do-before clock that still runs, or an open window.
    Running,
    /// A wait-until clock that has not come yet.
    Waiting,
    /// A wait-until clock that has come; a hand must still say so.
    Come,
    /// Frozen: the fan is off, the source uncovered.
    Frozen,
    /// Size that may be dead by now and may not be ready yet: only a test tells.
    Unsure,
}

impl ClockView {
    /// Returns the moment that matters next: the closing of what runs, the opening of what
    /// is waited for.
    pub fn deadline(&self) -> Option<DateTime<FixedOffset>> {
        match self.state {
            ClockState::Over | ClockState::Running | ClockState::Unsure => self.closes,
            ClockState::Waiting | ClockState::Come | ClockState::Frozen => self.opens,
        }
    }
}

/// An alarm that was answered comes back after this if what is over was not ended, minutes
/// (own judgement).
const AGAIN_MIN: i64 = 5;

/// A room that was not read for longer is said to be silent, hours: a night (own choice).
const SILENT_H: f64 = 8.0;

/// The marks of a do-before clock, percent of its time.
const MARKS: [u32; 4] = [50, 75, 90, 100];

/// Returns every clock that no hand has ended, over all figures, what dies first first.
pub fn clock_views(house: House<'_>, now: DateTime<FixedOffset>) -> Vec<ClockView> {
    clock_views_kept(house, now, &mut ClockTimes::default())
}

/// What clocks rest on, as it was reckoned within this minute. It is thrown away when a line was
/// kept; what a minute without a line does to a clock is less than what any of them promises.
#[derive(Debug, Default)]
pub struct ClockTimes {
    minute: i64,
    clocks: BTreeMap<(String, String), Told>,
    /// What nobody started: by figure, with its times.
    unclocked: BTreeMap<String, Vec<(Clock, Times)>>,
}

/// Times, and where they come from.
type Told = (Times, String);

/// As [`clock_views`], with times of the same minute taken from what is kept.
pub fn clock_views_kept(
    house: House<'_>,
    now: DateTime<FixedOffset>,
    kept: &mut ClockTimes,
) -> Vec<ClockView> {
    let minute = now.timestamp().div_euclid(60);
    if kept.minute != minute {
        *kept = ClockTimes {
            minute,
            ..ClockTimes::default()
        };
    }
    let mut reckoner = None;
    let mut views = Vec::new();
    for (figure, standing) in &house.standing.figures {
        for clock in standing.clocks.iter().filter(|clock| clock.ended.is_none()) {
            let told = kept.clocks.entry((figure.clone(), clock.id.clone()));
            let told = told.or_insert_with(|| {
                let reckoner = reckoner.get_or_insert_with(|| Reckoner::new(house, now));
                reckoner.told(figure, clock)
            });
            views.push(marked(figure, clock, told.clone(), now));
        }
        // Nobody started these, so nobody could answer them: they are seen and never ring.
        let unclocked = kept.unclocked.entry(figure.clone());
        let unclocked = unclocked.or_insert_with(|| dry::unclocked(house, (figure, standing), now));
        views.extend(unclocked.iter().map(|(clock, times)| {
            shown(
                figure,
                clock,
                (times.clone(), FROM_READINGS.to_owned()),
                now,
            )
        }));
    }
    views.sort_by(|a, b| urgency(a).cmp(&urgency(b)).then_with(|| a.id.cmp(&b.id)));
    views
}

fn marked(figure: &str, clock: &Clock, told: Told, now: DateTime<FixedOffset>) -> ClockView {
    let mut view = shown(figure, clock, told, now);
    mark(&mut view, clock, now);
    view
}

/// What dies first comes first: what is over or running by its closing, then what is waited
/// for by its opening.
fn urgency(view: &ClockView) -> (bool, i64) {
    let waited = view.closes.is_none();
    let at = view.deadline().or(view.closes).or(view.opens);
    (waited, at.map_or(i64::MAX, |at| at.timestamp_millis()))
}

/// Returns one clock as it stands at a moment. For several clocks of one moment a
/// `Reckoner` costs less.
pub fn view(
    house: House<'_>,
    figure: &str,
    clock: &Clock,
    now: DateTime<FixedOffset>,
) -> ClockView {
    Reckoner::new(house, now).view(figure, clock)
}

/// Reckons clocks at one moment. What several of them ask alike, what may come in a room and
/// what a lot has shown, is worked out once and kept for as long as the reckoner lives.
#[derive(Debug)]
pub(super) struct Reckoner<'a> {
    house: House<'a>,
    now: DateTime<FixedOffset>,
    learnt: Learnt<'a>,
    outlooks: BTreeMap<String, Outlook<'a>>,
}

impl<'a> Reckoner<'a> {
    /// Returns a reckoner for a moment; nothing is worked out yet.
    pub(super) fn new(house: House<'a>, now: DateTime<FixedOffset>) -> Self {
        Self {
            house,
            now,
            learnt: Learnt::of(house),
            outlooks: BTreeMap::new(),
        }
    }

    /// Returns one clock as it stands at the moment.
    pub(super) fn view(&mut self, figure: &str, clock: &Clock) -> ClockView {
        let told = self.told(figure, clock);
        marked(figure, clock, told, self.now)
    }

    /// Returns the times of a clock, and where they come from.
    fn told(&mut self, figure: &str, clock: &Clock) -> Told {
        if let Some(times) = dry::times(self.house, figure, clock, self.now) {
            return (times, FROM_READINGS.to_owned());
        }
        let (mut times, from) = self.by_sheet(figure, clock);
        if clock.clock == ClockName::Recoat {
            rubbed::keyed_again(self.house, (figure, clock), &mut times, self.now);
        }
        if let Some(since) = self.silent_since(figure, &clock.rule) {
            times.because.push_str(&since);
        }
        (times, from)
    }

    /// Says of a clock that air moves that nobody has read the room for a night or longer.
    fn silent_since(&self, figure: &str, rule: &ClockRule) -> Option<String> {
        if matches!(rule, ClockRule::Span { .. } | ClockRule::Purge { .. }) {
            return None;
        }
        let last = latest(self.house, self.house.room_of(figure), self.now)?.at;
        let is_long = SILENT_H < hours_between(last, self.now).0;
        let since = last.with_timezone(self.now.offset()).format("%a %H:%M");
        is_long.then(|| format!("; the air not read since {since}"))
    }

    /// Times of the sheet over the room's air, as far as the lot has not shown others.
    fn by_sheet(&mut self, figure: &str, clock: &Clock) -> (Times, String) {
        let (house, now) = (self.house, self.now);
        let outlooks = &mut self.outlooks;
        let sheet = times(house, figure, (clock, now), |room| {
            let known = outlooks.entry(room.to_owned());
            known.or_insert_with(|| Outlook::of(house, room, now))
        });
        self.learnt.apply(house, clock, sheet)
    }
}

/// Where the times of drying wood come from.
pub(super) const FROM_READINGS: &str = "from readings";

/// Lays a clock's times out around its start.
fn shown(
    figure: &str,
    clock: &Clock,
    (times, provenance): (Times, String),
    now: DateTime<FixedOffset>,
) -> ClockView {
    let started = clock.started.at;
    let at = |hours: Option<f64>| hours.map(|hours| after(started, hours));
    // A purge is held against published minutes, and its end against no other hour.
    let is_exact = matches!(clock.rule, ClockRule::Purge { .. });
    let opens = at(times.opens);
    let opens = opens.map(|at| {
        if is_exact {
            at
        } else {
            said_opening(started, at)
        }
    });
    let closes = at(times.closes);
    let side = side(&clock.rule, &times);
    let state = match state(now, opens, closes, times.frozen) {
        ClockState::Over if is_unsure(&clock.rule, opens, closes) => ClockState::Unsure,
        state => state,
    };
    let target = match state {
        ClockState::Waiting | ClockState::Come | ClockState::Frozen => opens,
        ClockState::Running | ClockState::Over | ClockState::Unsure => closes,
    };
    ClockView {
        id: clock.id.clone(),
        figure: figure.to_owned(),
        work: clock.work.clone(),
        clock: clock.clock,
        about: clock.about.clone(),
        started,
        side,
        attended: attended(clock.clock),
        opens,
        likely: at(times.likely),
        closes,
        share: target.map_or(0.0, |target| share(started, target, now)),
        state,
        because: times.because,
        provenance,
        ringing: None,
        next_mark: None,
    }
}

/// From waits of an hour on an opening is said to the minute, and comes with the minute that is
/// said: the next whole one, never before. A closing is said by the minute in which it lies, which
/// is never after it.
fn said_opening(
    started: DateTime<FixedOffset>,
    opens: DateTime<FixedOffset>,
) -> DateTime<FixedOffset> {
    if opens - started < Duration::hours(1) {
        return opens;
    }
    let over = opens.timestamp_millis().rem_euclid(60_000);
    let rest = if over == 0 { 0 } else { 60_000 - over };
    opens + Duration::milliseconds(rest)
}

fn side(rule: &ClockRule, times: &Times) -> Use {
    match rule {
        ClockRule::PotLife { .. } | ClockRule::Film { .. } => Use::DoBefore,
        ClockRule::Tack { .. } => Use::Window,
        ClockRule::Recoat { .. } if times.closes.is_some() => Use::Window,
        ClockRule::Cure { .. } | ClockRule::Purge { .. } | ClockRule::Recoat { .. } => {
            Use::WaitUntil
        }
        ClockRule::Span { side, .. } => *side,
    }
}

/// Size that may die before it is surely ready has no sure window at all.
fn is_unsure(
    rule: &ClockRule,
    opens: Option<DateTime<FixedOffset>>,
    closes: Option<DateTime<FixedOffset>>,
) -> bool {
    matches!(rule, ClockRule::Tack { .. }) && closes < opens
}

fn state(
    now: DateTime<FixedOffset>,
    opens: Option<DateTime<FixedOffset>>,
    closes: Option<DateTime<FixedOffset>>,
    frozen: bool,
) -> ClockState {
    if frozen {
        return ClockState::Frozen;
    }
    match (opens, closes) {
        (_, Some(closes)) if closes <= now => ClockState::Over,
        (Some(opens), _) if now < opens => ClockState::Waiting,
        (_, Some(_)) => ClockState::Running,
        (Some(_), None) => ClockState::Come,
        (None, None) => ClockState::Waiting,
    }
}

fn share(
    from: DateTime<FixedOffset>,
    to: DateTime<FixedOffset>,
    now: DateTime<FixedOffset>,
) -> f64 {
    let whole = hours_between(from, to).0;
    let gone = hours_between(from, now).0;
    if whole <= 0.0 {
        1.0
    } else {
        (gone / whole).max(0.0)
    }
}

/// Sets which mark rings and which comes next. A higher mark takes the place of a lower one;
/// an answered mark answers those below it.
fn mark(view: &mut ClockView, clock: &Clock, now: DateTime<FixedOffset>) {
    let marks = marks(view);
    let answered = clock
        .answered
        .iter()
        .max_by_key(|(mark, stamp)| (*mark, stamp.n));
    let highest = answered.map(|(mark, _)| *mark);
    view.ringing = marks.iter().rev().find(|(_, at)| *at <= now).copied();
    view.next_mark = marks.iter().find(|(_, at)| now < *at).copied();
    put_off(view, clock, now);
    if highest < view.ringing.map(|(mark, _)| mark) {
        return;
    }
    // What is over and was answered, but not ended, comes back.
    let again = answered
        .filter(|_| matches!(view.state, ClockState::Over | ClockState::Unsure))
        .map(|(mark, stamp)| (*mark, stamp.at + Duration::minutes(AGAIN_MIN)));
    view.ringing = again.filter(|(_, at)| *at <= now);
    view.next_mark = view.next_mark.or(again.filter(|(_, at)| now < *at));
}

/// An alarm that was put off is still until its time, then rings from there. A machine whose
/// clock was set back to before it was put off keeps nothing still.
fn put_off(view: &mut ClockView, clock: &Clock, now: DateTime<FixedOffset>) {
    let (Some((mark, _)), Some((put_off, until, stamp))) = (view.ringing, &clock.put_off) else {
        return;
    };
    if mark != *put_off || view.side != Use::WaitUntil || now < stamp.at {
        return;
    }
    if now < *until {
        view.ringing = None;
        view.next_mark = Some((mark, *until));
    } else {
        view.ringing = Some((mark, *until));
    }
}

/// The marks of a clock: four on the way to a closing, one at an opening; for a window 0 at
/// its opening, then 90 and 100 percent of its span.
fn marks(view: &ClockView) -> Vec<(u32, DateTime<FixedOffset>)> {
    match (view.opens, view.closes) {
        (Some(opens), None) => vec![(100, opens)],
        (Some(opens), Some(closes)) => vec![
            (0, opens),
            (90, before_closing(opens, closes)),
            (100, closes),
        ],
        (None, Some(closes)) => {
            let whole = hours_between(view.started, closes).0;
            MARKS
                .iter()
                .map(|mark| (*mark, after(view.started, whole * f64::from(*mark) / 100.0)))
                .collect()
        }
        (None, None) => Vec::new(),
    }
}

fn before_closing(
    opens: DateTime<FixedOffset>,
    closes: DateTime<FixedOffset>,
) -> DateTime<FixedOffset> {
    after(opens, hours_between(opens, closes).0.max(0.0) * 0.9)
}

fn attended(clock: ClockName) -> Attended {
    match clock {
        ClockName::Cup | ClockName::Closing | ClockName::Glove | ClockName::Cartridge => {
            Attended::Hands
        }
        ClockName::Leftover
        | ClockName::Dwell
        | ClockName::Purge
        | ClockName::TackEdge
        | ClockName::TackFlat
        | ClockName::TackHollow => Attended::Watch,
        ClockName::Clamps
        | ClockName::Load
        | ClockName::FullCure
        | ClockName::Recoat
        | ClockName::LeafSet
        | ClockName::Dust => Attended::Clock,
        ClockName::Drying => Attended::Air,
    }
}
