//! A shop of two rooms for one invented day: its cards, its air, what was done before that day,
//! and a driver that lets hands act at the minute, repeats every act on the disk, and asks the
//! real program about it.

use std::fs;
use std::sync::Arc;

use chrono::{DateTime, Duration, FixedOffset, Timelike};
use knuckle::deed::{Forecasted, Line, Value, Work};
use knuckle::disk::{RealDisk, replace};
use knuckle::plan::prepare_usual;
use knuckle::report::{tomorrow, zone_of};
use knuckle::shop::{Keeper, load};
use knuckle::standing::{Ask, AtStep, Book, CLOSING, Intent, OpensBy, Prompt, Refusal};

use crate::kit::sealed::{Sealed, Told};
use crate::memory::{Answered, Bench, at};

/// Two rooms that share no air; a gilder who comes early and stays late.
const SHOP: &str = r#"
name: Lantern Quay Carving Rooms
time_zone: Europe/Lisbon
practice: true
open:
  mon: "06:55-21:00"
  tue: "06:55-21:00"
  wed: "06:55-21:00"
  thu: "06:55-21:00"
  fri: "06:55-21:00"
  sat: "08:00-12:00"
  sun: closed
rooms:
  - { id: front-room, name: front room, volume_m3: 180, air_changes_per_h: 4, shares_air_with: [] }
  - { id: yard-room, name: yard room, volume_m3: 60, air_changes_per_h: 12, shares_air_with: [] }
people:
  - { id: ines, name: Ines, trade: worker, marks: [strip, study] }
  - { id: odile, name: Odile, trade: joiner, marks: [join, paint, study] }
  - { id: wren, name: Wren, trade: gilder, marks: [gild, paint] }
  - { id: tobias, name: Tobias, trade: painter, marks: [paint, gild] }
  - { id: marguerite, name: Marguerite, trade: supervisor, marks: [study, sign, overrule] }
balance_g: 0.1
"#;

/// Figure 07, to be repainted whole: COPY.
const MARE: &str = r#"
id: mare
name: grey mare
owner_reference: "07"
purpose: ridden
wood: Lime
build: hollow laminated body, legs and head solid
promised: 2027-01-22
room: front-room
zones:
  - { id: strap, name: breast strap, path: copy, area_m2: 0.24, relief: 1.6, finish: gold, wear: none }
  - { id: bridle, name: bridle, path: copy, area_m2: 0.03, relief: 1.3, finish: gold, wear: none }
  - { id: body-off, name: body off side, path: copy, area_m2: 0.3, relief: 1.15, finish: paint, wear: none }
  - { id: witness, name: witness patch under the belly, path: leave, area_m2: 0.001, relief: 1.0, finish: paint, wear: none }
joints:
  - { id: J4, between: body boards on the off side, zones: [body-off], length_mm: 400, width_mm: 120, loaded: true, gaps: [] }
panels:
  - { id: breast-strap, name: breast strap, zone: strap, area_m2: 0.224, relief: 1.6, waste_percent: 40, leaf: gold-leaf-80 }
  - { id: scroll, name: flat scroll at the strap's end, zone: strap, area_m2: 0.012, relief: 1.0, waste_percent: 10, leaf: gold-leaf-80 }
  - { id: bridle-gold, name: bridle, zone: bridle, area_m2: 0.03, relief: 1.3, waste_percent: 20, leaf: gold-leaf-80 }
route:
  - { operation: dry, on: [body-off] }
  - { operation: dry-fit, on: [J4] }
  - { operation: mix-and-lay-up, on: [J4] }
  - { operation: fill, on: [body-off] }
  - { operation: sand, on: [body-off] }
  - { operation: prime, on: [body-off] }
  - { operation: size-and-leaf, on: [breast-strap, scroll, bridle-gold] }
  - { operation: varnish, on: [strap, bridle, body-off] }
  - operation: final-inspection
  - operation: hand-over
"#;

/// Figure 11: the face is uncovered, KEEP; the coat is repainted, COPY.
const TRUMPETER: &str = r#"
id: trumpeter
name: standing trumpeter
owner_reference: "11"
purpose: shown
wood: Lime
build: solid trunk, arms pinned
promised: 2027-02-26
room: front-room
zones:
  - { id: face, name: face, path: keep, area_m2: 0.04, relief: 1.3, finish: paint, wear: none }
  - { id: drapery, name: drapery, path: copy, area_m2: 0.5, relief: 1.3, finish: paint, wear: none }
  - { id: braid, name: epaulettes and braid, path: copy, area_m2: 0.03, relief: 1.6, finish: gold, wear: none }
  - { id: witness, name: witness patch behind the collar, path: leave, area_m2: 0.001, relief: 1.0, finish: paint, wear: none }
joints: []
panels:
  - { id: epaulettes, name: epaulettes, zone: braid, area_m2: 0.02, relief: 1.6, waste_percent: 50, leaf: gold-leaf-80 }
route:
  - { operation: dry, on: [drapery] }
  - { operation: prime, on: [drapery] }
  - { operation: size-and-leaf, on: [epaulettes] }
  - { operation: varnish, on: [face, drapery, braid] }
  - operation: final-inspection
  - operation: hand-over
"#;

/// Figure 12: the old paint of the face stays and is covered, COVER; only the rim, whose brown
/// is a later one, is stripped, and what is new wood is repainted.
const LION: &str = r#"
id: lion
name: lion's head boss
owner_reference: "12"
purpose: worship
wood: "Oak, white"
build: solid block, turned rim, new plinth and back board
promised: 2027-03-12
room: front-room
zones:
  - { id: mask, name: face of the lion, path: cover, area_m2: 0.08, relief: 1.3, finish: paint, wear: none }
  - { id: mane, name: mane, path: cover, area_m2: 0.16, relief: 1.6, finish: paint, wear: none }
  - { id: rim, name: turned rim, path: copy, area_m2: 0.1, relief: 1.15, finish: paint, wear: none }
  - { id: plinth, name: plinth of new wood, path: copy, area_m2: 0.12, relief: 1.0, finish: paint, wear: none }
  - { id: back-board, name: back board, path: copy, area_m2: 0.15, relief: 1.0, finish: paint, wear: none }
  - { id: witness, name: witness patch under a lock, path: leave, area_m2: 0.001, relief: 1.0, finish: paint, wear: none }
joints: []
panels:
  - { id: eyes, name: eyes, zone: mask, area_m2: 0.004, relief: 1.3, waste_percent: 30, leaf: gold-leaf-80 }
route:
  - { operation: photograph, on: [rim, plinth] }
  - { operation: lead-test, on: [rim, plinth] }
  - { operation: layer-study, on: [rim] }
  - operation: scheme
  - { operation: strip, on: [rim] }
  - { operation: dry, on: [back-board] }
  - { operation: sand, on: [plinth] }
  - { operation: prime, on: [mask, mane, rim, plinth, back-board] }
  - { operation: body-colour, on: [mask, mane, rim, plinth, back-board] }
  - { operation: size-and-leaf, on: [eyes] }
  - operation: final-inspection
  - operation: hand-over
"#;

/// The slow size's card with the figures of another tin's sheet in their place, as the card
/// asks: one that comes overnight.
fn overnight(slow: &str) -> String {
    let (card, _) = slow.split_once("\nlots:\n").unwrap();
    let mut card = format!(
        "{card}\nlots:\n  - {{ lot: \"ZO-2609-14\", opened: 2026-11-02, expires: 2028-03-31 }}\n"
    );
    for [from, to] in [
        ["id: slow-size", "id: overnight-size"],
        [
            "name: slow oil size, about 12 hours",
            "name: overnight oil size, about 6 hours",
        ],
        [
            "tack_h: { early: 10, likely: 11, late: 12,",
            "tack_h: { early: 5, likely: 5.4, late: 5.8,",
        ],
        [
            "dead_h: { early: 20, likely: 22, late: 24,",
            "dead_h: { early: 14, likely: 16, late: 18,",
        ],
    ] {
        assert!(card.contains(from), "{from}");
        card = card.replacen(from, to, 1);
    }
    card
}

/// Temperature of both rooms: 20 °C by day; the heating falls at 18:00 and comes on at 06:00.
pub(crate) fn warmth(now: DateTime<FixedOffset>) -> f64 {
    let hour = f64::from(now.num_seconds_from_midnight()) / 3600.0;
    let along = |from: (f64, f64), to: (f64, f64)| {
        from.1 + (hour - from.0) / (to.0 - from.0) * (to.1 - from.1)
    };
    match hour {
        h if h < 6.0 => along((-6.0, 20.0), (6.0, 13.5)),
        h if h < 8.0 => along((6.0, 13.5), (8.0, 19.5)),
        h if h < 9.0 => along((8.0, 19.5), (9.0, 20.0)),
        h if h < 18.0 => 20.0,
        _ => along((18.0, 20.0), (30.0, 13.5)),
    }
}

/// Humidity: even, but for the day of the story, when rain comes in.
fn damp(room: &str, now: DateTime<FixedOffset>) -> f64 {
    let rain = now.date_naive() == at(TUESDAY).date_naive();
    match (room, now.hour()) {
        ("front-room", 8) if rain => 62.0,
        ("front-room", 9) if rain => 68.0,
        ("front-room", 10) if rain => 69.0,
        ("yard-room", hour) if rain && 8 <= hour => (57.0 + f64::from(hour)).min(68.0),
        _ => 55.0,
    }
}

/// The day of the story.
pub(crate) const TUESDAY: &str = "2026-11-24T00:00:00+00:00";

/// From here on sensors read both rooms every hour.
const SENSORS_SINCE: &str = "2026-11-16T05:00:00+00:00";

/// A job of one pair of hands.
#[derive(Debug, Clone)]
pub(crate) struct Job {
    pub(crate) by: &'static str,
    pub(crate) figure: &'static str,
    pub(crate) work: Work,
}

/// The shop at a minute of its day.
pub(crate) struct Day {
    pub(crate) bench: Bench,
    pub(crate) sealed: Sealed,
    keeper: Keeper,
    played: usize,
    sensors_due: DateTime<FixedOffset>,
}

impl Day {
    /// The shop with its cards, in March.
    pub(crate) fn new() -> Self {
        let sealed = Sealed::new();
        let shop = sealed.shop();
        fs::remove_dir_all(shop.join("figures")).unwrap();
        let slow = fs::read_to_string(shop.join("materials/slow-size.yaml")).unwrap();
        let write = |file: &str, text: &str| {
            let path = shop.join(file);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            replace(&RealDisk, &path, text.as_bytes()).unwrap();
        };
        write("materials/overnight-size.yaml", &overnight(&slow));
        write("shop.yaml", SHOP);
        for (id, card) in [("mare", MARE), ("trumpeter", TRUMPETER), ("lion", LION)] {
            write(&format!("figures/{id}/figure.yaml"), card);
        }
        let (cards, flaws) = load(&RealDisk, &shop).unwrap();
        assert!(flaws.is_empty(), "{flaws:?}");
        let keeper = Keeper::open(Arc::new(RealDisk), shop, cards.clone()).unwrap();
        Self {
            bench: Bench::new(cards, at("2026-03-17T09:00:00+00:00")),
            sealed,
            keeper,
            played: 0,
            sensors_due: at(SENSORS_SINCE),
        }
    }

    /// Lets the time come to a moment; the sensors read on the way.
    pub(crate) fn go(&mut self, to: &str) {
        let to = at(to);
        assert!(self.bench.now <= to, "{} is past {to}", self.bench.now);
        while self.sensors_due <= to {
            self.bench.now = self.sensors_due.max(self.bench.now);
            for room in ["front-room", "yard-room"] {
                let source = format!("{room}-sensor");
                self.bench.by.clone_from(&source);
                let air = Intent::Air {
                    room: room.into(),
                    temp_c: (warmth(self.sensors_due) * 10.0).round() / 10.0,
                    humidity_percent: damp(room, self.sensors_due),
                    source,
                };
                self.bench.act(&air).unwrap();
            }
            self.sensors_due += Duration::hours(1);
        }
        self.bench.now = to;
    }

    /// The same on the day of the story.
    pub(crate) fn clock(&mut self, hour: &str) {
        self.go(&format!("2026-11-24T{hour}:00+00:00"));
    }

    /// Somebody acts.
    pub(crate) fn act(&mut self, by: &str, intent: &Intent) -> Result<Vec<Line>, Refusal> {
        by.clone_into(&mut self.bench.by);
        self.bench.act(intent)
    }

    /// Somebody begins work that nothing speaks against.
    #[track_caller]
    pub(crate) fn begin(
        &mut self,
        (by, figure): (&'static str, &'static str),
        operation: &str,
        target: Option<&str>,
    ) -> Job {
        let intent = Intent::Begin {
            figure: figure.into(),
            operation: operation.into(),
            target: target.map(str::to_owned),
        };
        self.act(by, &intent)
            .unwrap_or_else(|no| panic!("{operation} on {figure}: {no}"));
        let round = self.bench.standing.figures[figure].rounds(operation, target);
        let work = Work {
            operation: operation.into(),
            target: target.map(str::to_owned),
            round,
        };
        Job { by, figure, work }
    }

    pub(crate) fn prompt(&self, job: &Job) -> Prompt {
        self.bench.prompt(job.figure, &job.work)
    }

    pub(crate) fn at_step(&mut self, job: &Job, what: AtStep) -> Result<Vec<Line>, Refusal> {
        job.by.clone_into(&mut self.bench.by);
        self.bench.at_step(job.figure, &job.work, what)
    }

    /// Takes down what the step in front asks for.
    pub(crate) fn enter(&mut self, job: &Job, value: Value) {
        let what = AtStep::Enter { value, again: true };
        self.at_step(job, what).unwrap();
    }

    /// Answers as the trade usually would, a few seconds each, until the wanted thing is in
    /// front; what is known of a record is taken down as it was.
    #[track_caller]
    pub(crate) fn hands(
        &mut self,
        job: &Job,
        known: &[(&str, Value)],
        wanted: &dyn Fn(&Prompt) -> bool,
    ) -> Prompt {
        let air = (
            warmth(self.bench.now),
            damp(self.bench.house().room_of(job.figure), self.bench.now),
        );
        self.bench.air = ((air.0 * 10.0).round() / 10.0, air.1);
        for _ in 0..400 {
            let prompt = self.prompt(job);
            if wanted(&prompt) {
                return prompt;
            }
            job.by.clone_into(&mut self.bench.by);
            self.bench.now += Duration::seconds(4);
            let said = known.iter().find(|(id, _)| asks(&prompt, id));
            if let Some((_, value)) = said {
                self.enter(job, value.clone());
                continue;
            }
            match self.bench.answer_once(job.figure, &job.work, &prompt) {
                Answered::Acted => {}
                _ => panic!(
                    "{} waits at {}: {:?}",
                    job.work.operation, prompt.step, prompt.ask
                ),
            }
        }
        panic!(
            "{} never comes there: {:?}",
            job.work.operation,
            self.prompt(job)
        );
    }

    /// Repeats on the disk whatever was done, and asks the program at this moment.
    pub(crate) fn told(&mut self, words: &[&str]) -> Told {
        for (intent, moment) in self.bench.script.iter().skip(self.played) {
            let kept = self.keeper.act(intent, moment);
            kept.unwrap_or_else(|stop| panic!("{intent:?}: {stop:?}"));
        }
        self.played = self.bench.script.len();
        let clock = self.bench.now.to_rfc3339();
        self.sealed.run(&[words, &["--clock", &clock]].concat())
    }

    /// What it says on paper, where all is well.
    #[track_caller]
    pub(crate) fn says(&mut self, words: &[&str]) -> String {
        let told = self.told(words);
        assert_eq!(told.code, 0, "{words:?}: {}", told.err);
        told.out
    }

    /// What it says in JSON.
    #[track_caller]
    pub(crate) fn json(&mut self, words: &[&str]) -> Vec<serde_json::Value> {
        let out = self.says(&[words, &["--json"]].concat());
        out.lines()
            .map(|line| serde_json::from_str(line).unwrap())
            .collect()
    }

    /// Notes when the figures are forecast to be done, as the screen does when a day is closed.
    pub(crate) fn note_ahead(&mut self) {
        let now = self.bench.now;
        let tomorrow = tomorrow(now, zone_of(&self.bench.cards.shop));
        let ahead = prepare_usual(self.bench.house(), tomorrow, now).reckon();
        let rows = ahead.promises();
        let forecast = Forecasted { rows };
        self.act("marguerite", &Intent::NoteForecast { forecast })
            .unwrap();
    }

    /// The number of the last line of a figure's journal.
    pub(crate) fn last(&self, figure: &str) -> u64 {
        self.bench.lines[&Book::Figure(figure.into())].len() as u64
    }
}

/// Whether a record of this id is asked for.
fn asks(prompt: &Prompt, id: &str) -> bool {
    match &prompt.ask {
        Ask::Reading {
            record, station, ..
        } => {
            let place = station
                .as_ref()
                .map(|station| format!("{record} {station}"));
            record == id || place.as_deref() == Some(id)
        }
        Ask::Choice { record, .. } | Ask::Lot { record, .. } | Ask::Words { record, .. } => {
            record == id
        }
        _ => false,
    }
}

/// Whether a step is in front.
pub(crate) fn is_at(step: &str) -> impl Fn(&Prompt) -> bool {
    move |prompt| prompt.step == step
}

/// Whether the work is over.
pub(crate) fn is_over(prompt: &Prompt) -> bool {
    matches!(prompt.ask, Ask::Finished { .. } | Ask::SentBack { .. })
}

pub(crate) fn word(text: &str) -> Value {
    Value::Text(text.to_owned())
}

/// A tin of slow size that was opened in March.
pub(crate) const MARCH_LOT: &str = "ZS-2511-83";

/// Everything before the day: figure 07 sized last night, 11 with two coats, 12 studied and its
/// scheme approved, and a tin of size that went to three places since March.
pub(crate) fn history(day: &mut Day) -> [Job; 3] {
    let from_march = |prompt: &Prompt| {
        matches!(&prompt.ask, Ask::Lot { record, .. } if record == "size").then(|| AtStep::Enter {
            value: word(MARCH_LOT),
            again: true,
        })
    };
    for (figure, panel) in [("mare", "bridle-gold"), ("trumpeter", "epaulettes")] {
        day.bench.read_air(figure);
        let special = &mut |prompt: &Prompt| from_march(prompt);
        day.bench
            .walk(figure, "size-and-leaf", Some(panel), special);
    }
    day.go("2026-10-12T09:00:00+00:00");
    let eyes = day.begin(("wren", "lion"), "size-and-leaf", Some("eyes"));
    day.hands(&eyes, &[("size", word(MARCH_LOT))], &is_at("leaf"));
    let sent = AtStep::SendBack {
        back_to: "size-and-leaf".into(),
        why: "nobody was in, and it died".into(),
    };
    day.at_step(&eyes, sent).unwrap();
    day.go("2026-11-02T08:00:00+00:00");
    for (operation, target) in [
        ("photograph", Some("rim")),
        ("photograph", Some("plinth")),
        ("lead-test", Some("rim")),
        ("lead-test", Some("plinth")),
        ("layer-study", Some("rim")),
        ("scheme", None),
    ] {
        day.bench.walk("lion", operation, target, &mut |_| None);
    }
    let primed = week(day);
    let [strap, scroll] = evening(day);
    [primed, strap, scroll]
}

/// The days before: wood read twice, two coats on 11.
fn week(day: &mut Day) -> Job {
    day.go("2026-11-16T08:00:00+00:00");
    for person in day.bench.cards.shop.people.clone() {
        day.act(&person.id, &Intent::Acknowledge).unwrap();
    }
    day.go("2026-11-17T10:00:00+00:00");
    let drapery = day.begin(("tobias", "trumpeter"), "dry", Some("drapery"));
    day.hands(&drapery, &[], &is_wet);
    day.go("2026-11-19T11:30:00+00:00");
    day.at_step(&drapery, AtStep::ReadAgain).unwrap();
    day.hands(&drapery, &[], &is_over);
    let primed = day.begin(("tobias", "trumpeter"), "prime", Some("drapery"));
    day.hands(&primed, &[], &is_at("coat#1-dry"));
    day.go("2026-11-21T11:40:00+00:00");
    day.hands(&primed, &[], &is_at("coat#2-dry"));
    let body = day.begin(("odile", "mare"), "dry", Some("body-off"));
    day.hands(&body, &[], &is_wet);
    day.go("2026-11-23T07:00:00+00:00");
    open_day(day);
    day.go("2026-11-23T11:30:00+00:00");
    day.at_step(&body, AtStep::ReadAgain).unwrap();
    day.hands(&body, &[], &is_over);
    day.go("2026-11-23T15:00:00+00:00");
    let drapery = day.begin(("tobias", "trumpeter"), "dry", Some("drapery"));
    day.hands(&drapery, &[], &is_over);
    day.go("2026-11-23T17:40:00+00:00");
    close_day(day).unwrap();
    primed
}

/// The evening before: strap and scroll are sized.
fn evening(day: &mut Day) -> [Job; 2] {
    ["breast-strap", "scroll"].map(|panel| {
        let hour = if panel == "scroll" { "20:50" } else { "20:20" };
        day.go(&format!("2026-11-23T{hour}:00+00:00"));
        let job = day.begin(("wren", "mare"), "size-and-leaf", Some(panel));
        let size = [("size", word("ZO-2609-14"))];
        let sized = |prompt: &Prompt| prompt.step == "size" && prompt.ask == Ask::Act;
        day.hands(&job, &size, &sized);
        if panel == "breast-strap" {
            day.go("2026-11-23T20:40:00+00:00");
        }
        day.at_step(&job, AtStep::Done).unwrap();
        day.hands(&job, &[], &is_at("leaf"));
        job
    })
}

pub(crate) fn is_wet(prompt: &Prompt) -> bool {
    matches!(&prompt.ask, Ask::Gate(verdict) if verdict.opens_by == OpensBy::Operation("dry".into()))
}

pub(crate) fn open_day(day: &mut Day) {
    let present = ["ines", "marguerite", "odile", "tobias", "wren"].map(String::from);
    let present = present.to_vec();
    day.act("marguerite", &Intent::OpenDay { present }).unwrap();
}

/// The round of the shop, and what is noted of the days ahead.
pub(crate) fn close_day(day: &mut Day) -> Result<(), Refusal> {
    let close = Intent::CloseDay {
        checked: CLOSING.map(String::from).to_vec(),
        first_in: Some("wren".into()),
    };
    day.act("marguerite", &close)?;
    day.note_ahead();
    Ok(())
}
