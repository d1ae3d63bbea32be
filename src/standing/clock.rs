//! Clocks recomputed from their line, their formula and the air log, whenever they are shown.
//! The sums stand in `reckon`; here they meet a moment.

use chrono::{DateTime, FixedOffset};

use super::House;
use super::air::{self, Traces, after, hours_between};
use super::facts::Clock;
use crate::card::{ClockName, CureHours, PotLifePoint, RecoatHours, SizeClass};
use crate::deed::{Attended, ClockRule, Place, Use, Work};
use crate::reckon::{
    Celsius, Estimate, Grams, Hours, Minutes, Pace, Percent, SheetPoint, SizeTimes, Trace,
    hours_until, promise, tack,
};

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
}

impl ClockView {
    /// Returns the moment that matters next: the closing of what runs, the opening of what
    /// is waited for.
    pub fn deadline(&self) -> Option<DateTime<FixedOffset>> {
        match self.state {
            ClockState::Over | ClockState::Running => self.closes,
            ClockState::Waiting | ClockState::Come | ClockState::Frozen => self.opens,
        }
    }
}

/// Factor per 10 °C of a curing resin: slowest and fastest chemistry (technical articles on
/// epoxy agree on a halving per 10 °C and give 1.5–2.5 as its band).
const CURE_BAND: (f64, f64) = (1.5, 2.5);

/// Factor per 10 °C of drying oil coats, lower and higher edge (*common practice*).
const COAT_BAND: (f64, f64) = (1.6, 2.4);

/// Below this an oil coat takes double its printed time, °C (*common practice*).
const COAT_COLD_C: f64 = 14.0;

/// The marks of a do-before clock, percent of its time.
const MARKS: [u32; 4] = [50, 75, 90, 100];

/// What a rule gives over the air: hours from the start to opening, likely, closing.
struct Times {
    opens: Option<f64>,
    likely: Option<f64>,
    closes: Option<f64>,
    frozen: bool,
    because: String,
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

    /// A rule for what must be done before that cannot be reckoned here: it is over.
    fn unknown(because: impl std::fmt::Display) -> Self {
        Self {
            opens: None,
            likely: None,
            closes: Some(0.0),
            frozen: false,
            because: because.to_string(),
        }
    }
}

/// Returns every clock that no hand has ended, over all figures, what dies first first.
pub fn clock_views(house: House<'_>, now: DateTime<FixedOffset>) -> Vec<ClockView> {
    let mut views: Vec<ClockView> = house
        .standing
        .figures
        .iter()
        .flat_map(|(figure, standing)| {
            standing
                .clocks
                .iter()
                .filter(|clock| clock.ended.is_none())
                .map(move |clock| view(house, figure, clock, now))
        })
        .collect();
    views.sort_by(|a, b| urgency(a).cmp(&urgency(b)).then_with(|| a.id.cmp(&b.id)));
    views
}

/// What dies first comes first: what is over or running by its closing, then what is waited
/// for by its opening.
fn urgency(view: &ClockView) -> (bool, i64) {
    let waited = view.closes.is_none();
    let at = view.deadline().or(view.closes).or(view.opens);
    (waited, at.map_or(i64::MAX, |at| at.timestamp_millis()))
}

/// Returns one clock as it stands at a moment.
pub fn view(
    house: House<'_>,
    figure: &str,
    clock: &Clock,
    now: DateTime<FixedOffset>,
) -> ClockView {
    let times = times(house, figure, clock, now);
    let started = clock.started.at;
    let at = |hours: Option<f64>| hours.map(|hours| after(started, hours));
    let (opens, closes) = (at(times.opens), at(times.closes));
    let side = side(&clock.rule, &times);
    let state = state(now, opens, closes, times.frozen);
    let target = match state {
        ClockState::Waiting | ClockState::Come | ClockState::Frozen => opens,
        ClockState::Running | ClockState::Over => closes,
    };
    let mut view = ClockView {
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
        ringing: None,
        next_mark: None,
    };
    mark(&mut view, clock, now);
    view
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
    let answered = clock.answered.iter().map(|(mark, _)| *mark).max();
    view.ringing = marks.iter().rev().find(|(_, at)| *at <= now).copied();
    view.ringing = view.ringing.filter(|(mark, _)| answered < Some(*mark));
    view.next_mark = marks.iter().find(|(_, at)| now < *at).copied();
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

fn times(house: House<'_>, figure: &str, clock: &Clock, now: DateTime<FixedOffset>) -> Times {
    let room = house.room_of(figure);
    let span = (clock.started.at, now);
    let traces = |sheet_c: f64| air::traces(house, room, span, sheet_c);
    match &clock.rule {
        ClockRule::PotLife {
            sheet,
            grams,
            resin_c,
        } => pot_life_times(sheet, *grams, *resin_c, traces(22.0), span),
        ClockRule::Film { sheet } => film_times(sheet, traces(sheet.at_c), span),
        ClockRule::Cure { sheet } => cure_times(sheet, traces(sheet.at_c)),
        ClockRule::Tack {
            class,
            place,
            ready,
            dead,
        } => {
            let humidity = air::latest(house, room, now).map(|air| Percent(air.humidity_percent));
            tack_times(
                (*class, *place),
                (ready, dead),
                traces(ready.at_c),
                humidity,
            )
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
        } => purge_times(house, room, span, (*changes_per_h, *to_fraction, *mixing)),
    }
}

/// The hottest of resin, and room since the mix.
fn pot_life_times(
    sheet: &[PotLifePoint],
    grams: f64,
    resin_c: Option<f64>,
    traces: Option<Traces>,
    (start, now): (DateTime<FixedOffset>, DateTime<FixedOffset>),
) -> Times {
    let Some(traces) = traces else {
        return Times::unknown("the air log cannot be read");
    };
    let room = traces.hot.range(Hours(0.0), hours_between(start, now)).1.0;
    let hottest = resin_c.map_or(room, |resin| resin.max(room));
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

fn cure_times(sheet: &CureHours, traces: Option<Traces>) -> Times {
    let Some(traces) = traces else {
        return Times::never("the air log cannot be read".to_owned());
    };
    let over = over_the_traces(&traces, sheet, CURE_BAND);
    over.map_or_else(Times::never, |estimate| {
        Times::wait(&unread(estimate, traces.read))
    })
}

impl Times {
    /// What is waited for and cannot be reckoned, or stands still: it never comes by itself.
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

/// Carries printed hours over the three traces, each bound on its own side.
fn over_the_traces(
    traces: &Traces,
    sheet: &CureHours,
    band: (f64, f64),
) -> Result<Estimate<Hours>, String> {
    let reference = Celsius(sheet.at_c);
    let middle = (band.0 * band.1).sqrt();
    let early = until(&traces.hot, Pace::fastest(reference, band), sheet.early)?;
    let likely = until(&traces.likely, Pace::even(reference, middle), sheet.likely)?;
    let late = until(&traces.cold, Pace::slowest(reference, band), sheet.late)?;
    let (low, high) = traces.cold.range(Hours(0.0), late);
    let because = format!(
        "{:.0}–{:.0} h on the sheet at {:.0} °C, {:.0} h because {:.0}–{:.0} °C",
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
    let opens = match over_the_traces(&traces, &opening, COAT_BAND) {
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
    let closes = sheet.max_h.and_then(|most| {
        until(
            &traces.hot,
            Pace::fastest(Celsius(sheet.at_c), COAT_BAND),
            most,
        )
        .ok()
    });
    Times {
        opens: Some(wait),
        likely: Some(opens.likely().0),
        closes: closes.map(|closes| closes.0),
        frozen: false,
        because: opens.because().to_owned(),
    }
}

fn tack_times(
    (class, place): (SizeClass, Place),
    (ready, dead): (&CureHours, &CureHours),
    traces: Option<Traces>,
    humidity: Option<Percent>,
) -> Times {
    let Some(traces) = traces else {
        return Times::never("the air log cannot be read".to_owned());
    };
    let three = |sheet: &CureHours| [Hours(sheet.early), Hours(sheet.likely), Hours(sheet.late)];
    let leaf = [
        Hours(dead.early - ready.early),
        Hours(dead.likely - ready.likely),
        Hours(dead.late - ready.late),
    ];
    let size = SizeTimes::new(three(ready), leaf).unwrap_or_else(|_unusual| class_times(class));
    let at = |trace| {
        tack(
            &size,
            leaf_place(place),
            crate::reckon::Air { trace, humidity },
            Hours(0.0),
        )
    };
    match (at(&traces.hot), at(&traces.likely), at(&traces.cold)) {
        (Ok(hot), Ok(likely), Ok(cold)) => Times {
            opens: Some(cold.ready.wait_until().0),
            likely: Some(likely.ready.likely().0),
            closes: Some(hot.dead.do_before().0),
            frozen: false,
            because: unread(cold.ready, traces.read).because().to_owned(),
        },
        (Err(refusal), _, _) | (_, Err(refusal), _) | (_, _, Err(refusal)) => {
            Times::never(refusal.to_string())
        }
    }
}

fn class_times(class: SizeClass) -> SizeTimes {
    match class {
        SizeClass::Quick => crate::reckon::SizeClass::Quick,
        SizeClass::ThreeHour => crate::reckon::SizeClass::ThreeHour,
        SizeClass::Slow => crate::reckon::SizeClass::Slow,
        SizeClass::OldGold => crate::reckon::SizeClass::OldGold,
    }
    .times()
}

fn leaf_place(place: Place) -> crate::reckon::LeafPlace {
    match place {
        Place::Edge => crate::reckon::LeafPlace::Edge,
        Place::Flat => crate::reckon::LeafPlace::Flat,
        Place::Hollow => crate::reckon::LeafPlace::Hollow,
    }
}

/// The fan's running minutes since the start count; while it is off the clock is frozen, not
/// set forward.
fn purge_times(
    house: House<'_>,
    room: &str,
    (start, now): (DateTime<FixedOffset>, DateTime<FixedOffset>),
    (changes_per_h, to_fraction, mixing): (f64, f64, f64),
) -> Times {
    let need = -to_fraction.ln() / changes_per_h * mixing;
    if !need.is_finite() || need < 0.0 {
        return Times::never(
            "the room's air changes are not known: set them on the shop card".into(),
        );
    }
    let fans = house
        .standing
        .shop
        .fans
        .get(room)
        .map_or(&[][..], Vec::as_slice);
    let mut running = fans
        .iter()
        .rev()
        .find(|(at, _)| *at <= start)
        .is_none_or(|(_, on)| *on);
    let (mut counted, mut since) = (0.0, start);
    for (at, on) in fans.iter().filter(|(at, _)| start < *at && *at <= now) {
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
    let because = format!(
        "{:.0} min of fan for {:.0} % left at {changes_per_h:.0} air changes, mixing factor {mixing:.0}{}",
        need * 60.0,
        to_fraction * 100.0,
        if running {
            ""
        } else {
            "; frozen while the fan is off"
        }
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
