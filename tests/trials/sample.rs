//! The journals of the sample shop: three weeks and more of an invented shop, played act by
//! act through `decide`, then repeated through the journal on disk. The files in
//! `sample-shop/` must be exactly what comes out. `UPDATE_GOLDEN=1` writes them anew; read
//! the difference before keeping it.

#![expect(
    clippy::disallowed_methods,
    reason = "whether the files are written anew is asked of the one who runs the trials"
)]
#![expect(
    clippy::too_many_lines,
    reason = "the story of three weeks is one list"
)]

use std::collections::VecDeque;
use std::path::Path;
use std::sync::Arc;

use chrono::{DateTime, Datelike, Duration, FixedOffset, NaiveTime, Timelike};
use knuckle::deed::Work;
use knuckle::disk::RealDisk;
use knuckle::shop::{Keeper, book_path};
use knuckle::standing::{Ask, AtStep, Book, CLOSING, Intent, Moment, air_conflicts};

use crate::evidence;
use crate::findings;
use crate::memory::{Answered, Bench, at, sample_cards};

const FIRST_DAY: &str = "2026-11-02T07:32:00+00:00";
const LAST_MOMENT: &str = "2026-11-25T07:58:00+00:00";
/// When nobody has anything to do: looked at again after this long.
const IDLE_MIN: i64 = 47;

/// One figure's way through the story.
struct Track {
    figure: &'static str,
    plan: VecDeque<(&'static str, &'static str)>,
    stack: Vec<Work>,
    cursor: DateTime<FixedOffset>,
}

/// Something that happens at its hour, whatever else goes on.
struct Event {
    at: &'static str,
    by: &'static str,
    intent: Intent,
}

struct Story {
    bench: Bench,
    tracks: Vec<Track>,
    events: VecDeque<Event>,
    air_due: DateTime<FixedOffset>,
    turn: u64,
}

fn track(figure: &'static str, from: &str, plan: &[(&'static str, &'static str)]) -> Track {
    Track {
        figure,
        plan: plan.iter().copied().collect(),
        stack: Vec::new(),
        cursor: at(from),
    }
}

/// Operation, and where; a place that begins with a digit is a day before which it waits.
fn tracks() -> Vec<Track> {
    vec![
        track(
            "hare",
            "2026-11-02T08:05:00+00:00",
            &[
                ("receive", ""),
                ("photograph", "body-near"),
                ("photograph", "saddle-seat"),
                ("lead-test", "body-near"),
                ("lead-test", "saddle-seat"),
                ("layer-study", "body-near"),
                ("layer-study", "saddle-seat"),
                ("scheme", ""),
                ("strip", "body-near"),
                ("strip", "saddle-seat"),
                ("wait", "2026-11-11"),
                ("wash", "body-near"),
                ("wash", "saddle-seat"),
                ("joint-survey", "J3"),
                ("joint-survey", "J1"),
                ("open-joint", "J3"),
                ("wait", "2026-11-23"),
                ("dry-fit", "J3"),
            ],
        ),
        track(
            "heron",
            "2026-11-02T08:40:00+00:00",
            &[
                ("receive", ""),
                ("photograph", "strap"),
                ("lead-test", "strap"),
                ("layer-study", "strap"),
                ("scheme", ""),
                ("strip", "strap"),
                ("detail-clean", "strap"),
                ("wash", "strap"),
                ("dry", "strap"),
                ("sand", "strap"),
                ("prime", "strap"),
                ("body-colour", "strap"),
            ],
        ),
        track(
            "bandmaster",
            "2026-11-04T09:10:00+00:00",
            &[
                ("receive", ""),
                ("photograph", "trousers"),
                ("lead-test", "trousers"),
                ("layer-study", "trousers"),
                ("scheme", ""),
                ("strip", "trousers"),
                ("wait", "2026-11-16"),
                ("wash", "trousers"),
                ("dry", "trousers"),
                ("sand", "trousers"),
                ("wait", "2026-11-23"),
                ("prime", "trousers"),
            ],
        ),
        track(
            "lantern-woman",
            "2026-11-09T08:20:00+00:00",
            &[
                ("receive", ""),
                ("photograph", "bodice"),
                ("lead-test", "bodice"),
                ("layer-study", "bodice"),
                ("scheme", ""),
                ("strip", "bodice"),
                ("layer-study", "bodice"),
                ("scheme", ""),
                ("wait", "2026-11-23"),
                ("strip", "bodice"),
            ],
        ),
        track(
            "lion-boss",
            "2026-11-16T10:00:00+00:00",
            &[
                ("receive", ""),
                ("photograph", "mask"),
                ("lead-test", "mask"),
                ("layer-study", "mask"),
                ("scheme", ""),
            ],
        ),
    ]
}

fn jot(at: &'static str, by: &'static str, figure: &str, text: &str) -> Event {
    let book = if figure.is_empty() {
        Book::Shop
    } else {
        Book::Figure(figure.into())
    };
    Event {
        at,
        by,
        intent: Intent::Jot {
            book,
            text: text.into(),
        },
    }
}

fn ask(at: &'static str, by: &'static str, figure: &str, text: &str) -> Event {
    Event {
        at,
        by,
        intent: Intent::Ask {
            figure: figure.into(),
            text: text.into(),
        },
    }
}

fn events() -> VecDeque<Event> {
    VecDeque::from([
        jot(
            "2026-11-02T09:31:00+00:00",
            "odile",
            "hare",
            "came on a straw bed, near ear loose in its own box",
        ),
        jot(
            "2026-11-03T14:12:00+00:00",
            "wren",
            "heron",
            "two shades of gold on the strap, the older one under a brown glaze",
        ),
        jot(
            "2026-11-06T11:02:00+00:00",
            "tobias",
            "bandmaster",
            "trousers were blue before they were red, see exposure 2",
        ),
        ask(
            "2026-11-10T15:20:00+00:00",
            "odile",
            "hare",
            "old nails in the saddle board: draw them or leave them?",
        ),
        jot(
            "2026-11-12T10:45:00+00:00",
            "ines",
            "lantern-woman",
            "gold under the brown at the collar, stopped there",
        ),
        jot(
            "2026-11-13T16:50:00+00:00",
            "marguerite",
            "",
            "heating man comes Monday, store will be cold over the week end",
        ),
        jot(
            "2026-11-18T09:05:00+00:00",
            "odile",
            "hare",
            "J3 opened by itself at the saddle end while the wedges went in",
        ),
        jot(
            "2026-11-19T13:40:00+00:00",
            "wren",
            "heron",
            "ground rubbed to 600, closed like glass",
        ),
        ask(
            "2026-11-24T15:05:00+00:00",
            "wren",
            "heron",
            "size the strap tonight, or wait for the drier night?",
        ),
        jot(
            "2026-11-24T16:10:00+00:00",
            "tobias",
            "lion-boss",
            "owner came to look, likes the mane as it is",
        ),
    ])
}

/// The notes and questions of the story, and what it has to show in its dossiers.
fn all_events() -> VecDeque<Event> {
    let shown = evidence::events().into_iter();
    let shown = shown.map(|(at, by, intent)| Event { at, by, intent });
    let mut all: Vec<Event> = events().into_iter().chain(shown).collect();
    all.sort_by_key(|event| at(event.at));
    all.into()
}

/// A small stream of numbers that is the same on every machine.
fn drawn(turn: u64) -> u64 {
    let mixed = turn
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    (mixed >> 33) % 1000
}

fn unit(turn: u64) -> f64 {
    f64::from(u32::try_from(drawn(turn)).unwrap()) / 1000.0
}

/// The shop's air by the hour: the heating falls at 18 and rises at 6.
fn air_of(room: &str, now: DateTime<FixedOffset>, turn: u64) -> (f64, f64) {
    let hour = f64::from(now.hour()) + f64::from(now.minute()) / 60.0;
    let warm = match hour {
        h if (9.0..18.0).contains(&h) => 1.0,
        h if (6.0..9.0).contains(&h) => (h - 6.0) / 3.0,
        h if 18.0 <= h => 1.0 - (h - 18.0) / 12.0,
        h => 0.5 - h / 12.0,
    };
    let (cold, span, damp) = match room {
        "still-room" => (16.5, 3.5, 52.0),
        "stripping-room" => (13.5, 5.5, 58.0),
        "store" => (9.0, 3.0, 60.0),
        _ => (14.0, 5.8, 51.0),
    };
    let temp = cold + span * warm + unit(turn) - 0.5;
    let humidity = damp + 6.0 * (1.0 - warm) + 4.0 * (unit(turn + 7) - 0.5);
    ((temp * 2.0).round() / 2.0, humidity.round())
}

impl Story {
    fn new() -> Self {
        Self {
            bench: Bench::new(sample_cards(), at(FIRST_DAY)),
            tracks: tracks(),
            events: all_events(),
            air_due: at(FIRST_DAY),
            turn: 0,
        }
    }

    fn tell(&mut self) {
        let end = at(LAST_MOMENT);
        while let Some(index) = self.next_track(end) {
            let now = open_from(self.tracks[index].cursor);
            if end <= now {
                self.tracks[index].cursor = now;
                continue;
            }
            self.night_between(index, now);
            self.hours_until(now);
            self.bench.now = now;
            let minutes = self.one_act(index);
            self.tracks[index].cursor = self.bench.now + minutes;
        }
        self.hours_until(end);
    }

    fn next_track(&self, end: DateTime<FixedOffset>) -> Option<usize> {
        (0..self.tracks.len())
            .filter(|index| self.tracks[*index].cursor < end)
            .filter(|index| {
                !self.tracks[*index].plan.is_empty() || !self.tracks[*index].stack.is_empty()
            })
            .min_by_key(|index| (self.tracks[*index].cursor, *index))
    }

    /// Everything of the shop that happens by the clock up to a moment.
    fn hours_until(&mut self, now: DateTime<FixedOffset>) {
        while self.air_due <= now {
            let hour = self.air_due;
            self.events_until(hour);
            self.bench.now = hour;
            self.day(hour);
            self.answers(hour);
            for room in ["bench-room", "still-room", "stripping-room", "store"] {
                self.turn += 1;
                let (temp_c, humidity_percent) = air_of(room, hour, self.turn);
                self.bench.by = format!("{room}-sensor");
                self.must(&Intent::Air {
                    room: room.into(),
                    temp_c,
                    humidity_percent,
                    source: format!("{room}-sensor"),
                });
            }
            self.air_due = next_air(hour);
        }
        self.events_until(now);
    }

    fn events_until(&mut self, now: DateTime<FixedOffset>) {
        while self.events.front().is_some_and(|event| at(event.at) <= now) {
            let event = self.events.pop_front().unwrap();
            self.bench.now = at(event.at);
            self.bench.by = event.by.into();
            self.must(&event.intent);
        }
    }

    /// The day is opened with the first reading of a working day and closed with the last.
    fn day(&mut self, hour: DateTime<FixedOffset>) {
        let open = self.bench.standing.shop.day.is_some();
        self.bench.by = "marguerite".into();
        if !open && is_open(hour) {
            let present = if hour.weekday().num_days_from_monday() == 5 {
                vec!["marguerite".into(), "tobias".into()]
            } else {
                ["odile", "wren", "tobias", "ines", "marguerite"]
                    .map(String::from)
                    .to_vec()
            };
            self.must(&Intent::OpenDay { present });
        } else if open && !is_open(hour) {
            self.must(&Intent::CloseDay {
                checked: CLOSING.map(String::from).to_vec(),
                first_in: Some("wren".into()),
            });
        }
    }

    /// The supervisor answers in the afternoon what has waited since the day before.
    fn answers(&mut self, hour: DateTime<FixedOffset>) {
        if hour.hour() != 16 || at("2026-11-23T00:00:00+00:00") < hour {
            return;
        }
        let waiting: Vec<(String, u64)> = self
            .bench
            .standing
            .figures
            .iter()
            .flat_map(|(figure, standing)| standing.unanswered().map(move |m| (figure, m)))
            .filter(|(_, matter)| {
                matter.stamp.by != "marguerite" && matter.stamp.at < hour - Duration::hours(20)
            })
            .map(|(figure, matter)| (figure.clone(), matter.stamp.n))
            .collect();
        for (figure, line) in waiting {
            self.bench.by = "marguerite".into();
            let why = "seen, talked over".to_owned();
            self.must(&Intent::Answer {
                figure,
                line,
                accepted: true,
                why,
            });
        }
    }

    fn must(&mut self, intent: &Intent) {
        self.bench
            .act(intent)
            .unwrap_or_else(|no| panic!("{}: {intent:?}: {no}", self.bench.now));
    }

    /// One act of one track; returns how long until its next.
    fn one_act(&mut self, index: usize) -> Duration {
        self.turn += 1;
        let figure = self.tracks[index].figure;
        let Some(work) = self.tracks[index].stack.last().cloned() else {
            return self.next_of_plan(index);
        };
        self.bench.by = self.bench.worker(&work.operation);
        let prompt = self.bench.prompt(figure, &work);
        if matches!(prompt.ask, Ask::Finished { .. } | Ask::SentBack { .. }) {
            self.tracks[index].stack.pop();
            return Duration::minutes(11);
        }
        let room = self.bench.house().room_of(figure).to_owned();
        self.bench.air = air_of(&room, self.bench.now, self.turn);
        if let Some(minutes) = self.by_the_book(index, &work, &prompt.ask) {
            return minutes;
        }
        match self.bench.answer_once(figure, &work, &prompt) {
            Answered::Acted => self.takes(&prompt.ask),
            Answered::Waits => {
                let minutes = self.waits(figure, &work, &prompt.ask);
                if self.turn_to_the_other(index) {
                    Duration::minutes(7)
                } else {
                    minutes
                }
            }
            Answered::First(operation, targets) => {
                for target in targets.into_iter().rev() {
                    self.begin_on(index, &operation, target.as_deref());
                }
                Duration::minutes(6)
            }
        }
    }

    /// What the story wants otherwise than the walker: the supervisor's rounds, the layer
    /// that nobody expected, a question left open.
    fn by_the_book(&mut self, index: usize, work: &Work, ask: &Ask) -> Option<Duration> {
        let figure = self.tracks[index].figure;
        match ask {
            Ask::Hold { .. } if figure == "lion-boss" && work.operation == "scheme" => {
                Some(Duration::days(40))
            }
            Ask::Hold { .. }
                if figure == "lantern-woman" && work.round == 2 && work.operation == "strip" =>
            {
                Some(Duration::days(40))
            }
            // Nobody rubs a coat whose clock says wet.
            Ask::Test { clocks, .. }
                if clocks
                    .iter()
                    .any(|view| view.state == knuckle::standing::ClockState::Waiting)
                    && !(figure == "bandmaster"
                        && at("2026-11-24T13:00:00+00:00") < self.bench.now
                        && !self.was_early(figure)) =>
            {
                Some(Duration::minutes(IDLE_MIN))
            }
            Ask::Wait { ready: false, .. }
                if figure == "bandmaster"
                    && work.operation == "prime"
                    && !self.was_early(figure)
                    && at("2026-11-24T13:00:00+00:00") < self.bench.now =>
            {
                let why = "warm dry room, it sands to powder at edge, flat and hollow".to_owned();
                self.bench
                    .at_step(figure, work, AtStep::DoneEarly { why })
                    .unwrap();
                Some(Duration::minutes(9))
            }
            Ask::Hold { .. } => {
                let round = [10, 15]
                    .into_iter()
                    .find(|hour| self.bench.now.hour() == *hour);
                round.is_none().then_some(Duration::minutes(IDLE_MIN))
            }
            Ask::Choice {
                record, options, ..
            } if figure == "lantern-woman" && work.operation == "strip" && work.round == 1 => {
                let unexpected = options
                    .iter()
                    .find(|option| option.starts_with("unexpected"))?;
                let value = knuckle::deed::Value::Text(unexpected.clone());
                assert!(!record.is_empty());
                self.enter(figure, work, value);
                Some(Duration::minutes(3))
            }
            Ask::Reading { record, .. } if work.operation == "layer-study" => {
                let zone = work.target.as_deref()?;
                let counted = evidence::count(figure, zone, record)?;
                self.enter(figure, work, knuckle::deed::Value::Number(counted));
                Some(Duration::seconds(95))
            }
            Ask::Reading { record, .. } if Self::found(figure, work, record).is_some() => {
                let found = Self::found(figure, work, record)?;
                self.write(figure, work, found);
                Some(self.takes(ask))
            }
            Ask::Words { record, .. } => {
                let found = Self::found(figure, work, record)?;
                self.write(figure, work, found);
                Some(self.takes(ask))
            }
            Ask::Choice { record, .. } if work.operation == "joint-survey" => {
                let chosen = findings::hidden_joint(work.target.as_deref()?, record)?;
                self.enter(figure, work, knuckle::deed::Value::Text(chosen.into()));
                Some(Duration::seconds(70))
            }
            Ask::Reading {
                measure: knuckle::card::Measure::Gap,
                station: Some(station),
                ..
            } => {
                let gap = self.bowed_gap(figure, work, station)?;
                self.enter(figure, work, knuckle::deed::Value::Number(gap));
                Some(Duration::seconds(6))
            }
            _ => None,
        }
    }

    fn enter(&mut self, figure: &str, work: &Work, value: knuckle::deed::Value) {
        let what = AtStep::Enter {
            value,
            again: false,
        };
        self.bench.at_step(figure, work, what).unwrap();
    }

    /// What the story finds where the walker would only say something usual.
    fn found(figure: &str, work: &Work, record: &str) -> Option<knuckle::deed::Value> {
        let asked = (work.operation.as_str(), record);
        let target = work.target.as_deref();
        let number = findings::number(figure, target, asked).map(knuckle::deed::Value::Number);
        number.or_else(|| findings::words(figure, target, asked).map(knuckle::deed::Value::Text))
    }

    /// Enters a value that looks odd to the program on purpose.
    fn write(&mut self, figure: &str, work: &Work, value: knuckle::deed::Value) {
        let what = AtStep::Enter { value, again: true };
        self.bench.at_step(figure, work, what).unwrap();
    }

    /// When hands can do nothing, somebody looks again later; moisture is read again after
    /// two days.
    fn waits(&mut self, figure: &'static str, work: &Work, ask: &Ask) -> Duration {
        self.gloves_off(figure, work);
        let moisture = matches!(ask, Ask::Gate(verdict)
            if verdict.opens_by == knuckle::standing::OpensBy::Operation(work.operation.clone()));
        if moisture {
            let job = self.bench.standing.figures[figure].job(work).unwrap();
            let read = job
                .acts
                .values()
                .flat_map(|act| &act.records)
                .map(|kept| kept.stamp.at);
            let last = read.max().unwrap_or(job.begun.at);
            if Duration::hours(49) <= self.bench.now - last {
                self.bench.at_step(figure, work, AtStep::ReadAgain).unwrap();
                return Duration::minutes(2);
            }
        }
        Duration::minutes(IDLE_MIN)
    }

    /// Whoever goes home takes the gloves off.
    fn night_between(&mut self, index: usize, now: DateTime<FixedOffset>) {
        let left = self.tracks[index].cursor;
        if now - left < Duration::hours(3) {
            return;
        }
        if let Some(work) = self.tracks[index].stack.last().cloned() {
            self.hours_until(left);
            self.bench.now = left;
            self.bench.by = self.bench.worker(&work.operation);
            self.gloves_off(self.tracks[index].figure, &work);
        }
    }

    /// The gap that the card of the joint tells of at a station.
    fn bowed_gap(&self, figure: &str, work: &Work, station: &str) -> Option<f64> {
        let card = &self.bench.cards.figures[figure];
        let joint = card
            .joints
            .iter()
            .find(|joint| Some(&joint.id) == work.target.as_ref())?;
        let (at_mm, place) = station.split_once(" mm, ")?;
        let place: usize = place.split_once(" of ")?.0.parse().ok()?;
        let at_mm: f64 = at_mm.parse().ok()?;
        let row = joint
            .gaps
            .iter()
            .find(|row| (row.at_mm - at_mm).abs() < 0.5)?;
        row.mm.get(place - 1).copied()
    }

    fn was_early(&self, figure: &str) -> bool {
        let early = knuckle::standing::Matter::Deviation(knuckle::deed::DeviationKind::TooEarly);
        self.bench.standing.figures[figure]
            .matters
            .iter()
            .any(|matter| matter.matter == early)
    }

    /// Nobody keeps gloves on while nothing can be done.
    fn gloves_off(&mut self, figure: &'static str, work: &Work) {
        let on_hand = self.bench.standing.figures[figure]
            .clocks
            .iter()
            .find(|clock| {
                clock.clock == knuckle::card::ClockName::Glove
                    && clock.ended.is_none()
                    && clock.work == *work
            });
        if let Some(id) = on_hand.map(|clock| clock.id.clone()) {
            self.must(&Intent::EndClock {
                figure: figure.into(),
                clock: id,
                how: "taken off".into(),
            });
        }
    }

    /// Two zones that dry side by side are read on the same round.
    fn turn_to_the_other(&mut self, index: usize) -> bool {
        let stack = &mut self.tracks[index].stack;
        let [.., below, top] = stack.as_mut_slice() else {
            return false;
        };
        let both_dry = below.operation == "dry" && top.operation == "dry";
        if both_dry && self.turn.is_multiple_of(2) {
            std::mem::swap(below, top);
            return true;
        }
        false
    }

    fn takes(&self, ask: &Ask) -> Duration {
        let spread = i64::try_from(drawn(self.turn)).unwrap();
        match ask {
            Ask::Cautions(_) | Ask::Confirm { .. } | Ask::Gate(_) => {
                Duration::seconds(20 + spread % 70)
            }
            Ask::Reading { .. } | Ask::Choice { .. } | Ask::Lot { .. } => {
                Duration::seconds(40 + spread % 90)
            }
            Ask::Act => Duration::seconds(240 + spread),
            _ => Duration::seconds(90 + spread % 200),
        }
    }

    fn next_of_plan(&mut self, index: usize) -> Duration {
        let Some((operation, target)) = self.tracks[index].plan.front().copied() else {
            return Duration::days(40);
        };
        if operation == "wait" {
            let day = at(&format!("{target}T08:00:00+00:00"));
            if self.bench.now < day {
                return day - self.bench.now;
            }
        } else if operation == "strip" && 8 < self.bench.now.hour() {
            // A zone is stripped in one day, so it is begun in the morning or not at all.
            return Duration::minutes(IDLE_MIN);
        } else if !air_conflicts(
            self.bench.house(),
            self.tracks[index].figure,
            operation,
            self.bench.now,
        )
        .is_empty()
        {
            return Duration::minutes(IDLE_MIN);
        } else {
            let target = (!target.is_empty()).then_some(target);
            self.begin_on(index, operation, target);
        }
        self.tracks[index].plan.pop_front();
        Duration::minutes(4)
    }

    fn begin_on(&mut self, index: usize, operation: &str, target: Option<&str>) {
        let figure = self.tracks[index].figure;
        self.bench.by = self.bench.worker(operation);
        let work = self.bench.begin(figure, operation, target);
        self.tracks[index].stack.push(work);
    }
}

fn is_open(now: DateTime<FixedOffset>) -> bool {
    let cards = sample_hours(now);
    cards.is_some_and(|(from, to)| from <= now.time() && now.time() < to)
}

fn sample_hours(now: DateTime<FixedOffset>) -> Option<(NaiveTime, NaiveTime)> {
    let time = |h, m| NaiveTime::from_hms_opt(h, m, 0).unwrap();
    match now.weekday().num_days_from_monday() {
        0..=4 => Some((time(7, 30), time(17, 20))),
        5 => Some((time(8, 0), time(11, 50))),
        _ => None,
    }
}

/// The moment itself in opening hours, else the next opening.
fn open_from(mut now: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
    while !is_open(now) {
        let next = now + Duration::minutes(10);
        now = next - Duration::seconds(i64::from(next.second()));
    }
    now
}

/// Sensors speak at 7:32, 10, 13, 16, 17:25, 21, 1 and 4.
fn next_air(hour: DateTime<FixedOffset>) -> DateTime<FixedOffset> {
    let times = [
        (1, 0),
        (4, 0),
        (7, 32),
        (10, 0),
        (13, 0),
        (16, 0),
        (17, 25),
        (21, 0),
    ];
    let midnight = hour.with_time(NaiveTime::MIN).unwrap();
    (0..2)
        .flat_map(|day| {
            times.map(move |(h, m)| midnight + Duration::days(day) + Duration::minutes(h * 60 + m))
        })
        .find(|due| hour < *due)
        .unwrap()
}

/// Repeats a script through a shop on disk.
fn play(script: &[(Intent, Moment)], folder: &Path) {
    let mut keeper = Keeper::open(Arc::new(RealDisk), folder, sample_cards()).unwrap();
    for (intent, moment) in script {
        keeper
            .act(intent, moment)
            .unwrap_or_else(|stop| panic!("{intent:?}: {stop:?}"));
    }
}

fn books() -> Vec<Book> {
    let mut books: Vec<Book> = sample_cards()
        .figures
        .into_keys()
        .map(Book::Figure)
        .collect();
    books.push(Book::Shop);
    books
}

#[test]
fn the_journals_of_the_sample_shop_are_what_the_program_writes() {
    let mut story = Story::new();
    story.tell();
    story.bench.assert_live_is_replayed();
    let temp = tempfile::tempdir().unwrap();
    for figure in story.bench.cards.figures.keys() {
        std::fs::create_dir_all(temp.path().join("figures").join(figure)).unwrap();
    }
    play(&story.bench.script, temp.path());
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
    let update = std::env::var_os("UPDATE_GOLDEN").is_some();
    for book in books() {
        let told = std::fs::read(book_path(temp.path(), &book)).unwrap();
        let kept = book_path(&sample, &book);
        if update {
            std::fs::write(&kept, &told).unwrap();
        }
        let kept = std::fs::read(kept).unwrap_or_default();
        assert!(
            told == kept,
            "the journal of {book:?} is not what the program writes"
        );
    }
}
