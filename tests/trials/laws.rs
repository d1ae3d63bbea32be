//! The laws of decide and replay: nothing that a hand wants makes them panic; after every deed
//! the live standing equals the one replayed from all lines; a refusal writes nothing; what is
//! written comes back from its text as it was, with what a newer version added kept.

use std::sync::OnceLock;

use chrono::{DateTime, Duration, FixedOffset};
use knuckle::card::Cards;
use knuckle::deed::{Deed, Line, Unknown, Value, Work};
use knuckle::standing::{
    Ask, AtStep, Book, House, Intent, clock_views, floor, holds, offers, prompt,
};
use proptest::prelude::*;
use serde_json::{Map, Value as Json, json};

use crate::memory::{Bench, at, sample_cards};

/// Read once, for the reading takes longer than most cases.
pub(crate) fn cards() -> Cards {
    static CARDS: OnceLock<Cards> = OnceLock::new();
    CARDS.get_or_init(sample_cards).clone()
}

pub(crate) fn start() -> DateTime<FixedOffset> {
    at("2026-11-23T08:00:00+00:00")
}

/// A hand's whim: what it reaches for, which of the things there, a number, and how long
/// before it acts.
type Whim = (u8, u16, f64, u16);

fn any_whims() -> impl Strategy<Value = Vec<Whim>> {
    let number = prop_oneof![
        6 => 0.0..60.0_f64,
        2 => -1e6..1e6_f64,
        1 => prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, 0.0, -0.0]),
    ];
    prop::collection::vec((any::<u8>(), any::<u16>(), number, 0..900_u16), 1..40)
}

/// One of several things, by a number.
fn one_of<T: Clone>(all: &[T], pick: u16) -> T {
    all[usize::from(pick) % all.len()].clone()
}

const FIGURES: [&str; 4] = ["hare", "hare", "heron", "no-such-figure"];
const WORDS: [&str; 7] = ["", "  ", "because", "cold", "changed", "ready", "hard"];
const PEOPLE: [&str; 6] = ["odile", "wren", "tobias", "ines", "marguerite", "nobody"];
const TARGETS: [&str; 6] = [
    "J3",
    "J1",
    "body-near",
    "breast-strap",
    "witness-belly",
    "Jx",
];
const ROOMS: [&str; 4] = ["bench-room", "still-room", "stripping-room", "attic"];

/// Sets out from what the bench is asked for, and answers it rightly or not at all rightly.
fn intent_of(bench: &Bench, (kind, pick, number, _): Whim) -> Intent {
    let text = |pick: u16| one_of(&WORDS, pick).to_owned();
    let figure = one_of(&FIGURES, pick).to_owned();
    let book = match pick % 3 {
        0 => Book::Shop,
        _ => Book::Figure(figure.clone()),
    };
    match kind % 32 {
        0..=1 => begin_of(bench, figure, pick),
        2 | 13..=14 => Intent::Strike {
            line: line_of(bench, &book, pick),
            why: text(pick / 3),
            book,
        },
        3 => Intent::Answer {
            figure,
            line: line_of(bench, &book, pick),
            accepted: pick.is_multiple_of(2),
            why: text(pick / 5),
        },
        4 => Intent::Jot {
            book,
            text: text(pick),
        },
        5 => Intent::Ask {
            figure,
            text: text(pick / 7),
        },
        6 => Intent::Air {
            room: one_of(&ROOMS, pick).to_owned(),
            temp_c: number,
            humidity_percent: f64::from(pick % 110),
            source: text(pick),
        },
        7 => Intent::Fan {
            room: one_of(&ROOMS, pick).to_owned(),
            on: pick.is_multiple_of(2),
        },
        8 => Intent::Move {
            figure,
            room: one_of(&ROOMS, pick / 4).to_owned(),
        },
        9 => Intent::OpenDay {
            present: vec![one_of(&PEOPLE, pick).to_owned()],
        },
        10 => Intent::CloseDay {
            checked: vec![text(pick)],
            first_in: Some(one_of(&PEOPLE, pick).to_owned()),
        },
        11 => Intent::Jumped {
            by_s: number,
            how: text(pick),
        },
        12 | 15 => clock_of(bench, figure, pick),
        _ => work_of(bench, kind, pick, number),
    }
}

/// Mostly a line that is there, the last ones more often than the first.
fn line_of(bench: &Bench, book: &Book, pick: u16) -> u64 {
    let last = bench.lines.get(book).map_or(0, Vec::len) as u64;
    (last + 2).saturating_sub(u64::from(pick % 24))
}

fn begin_of(bench: &Bench, figure: String, pick: u16) -> Intent {
    let ids: Vec<&String> = bench.cards.checklists.keys().collect();
    let offered = offers(bench.house(), &figure);
    match offered.get(usize::from(pick) % (offered.len() + 3)) {
        Some(offer) => Intent::Begin {
            figure,
            operation: offer.work.operation.clone(),
            target: offer.work.target.clone(),
        },
        None => Intent::Begin {
            figure,
            operation: one_of(&ids, pick).clone(),
            target: (!pick.is_multiple_of(4)).then(|| one_of(&TARGETS, pick / 4).to_owned()),
        },
    }
}

fn clock_of(bench: &Bench, figure: String, pick: u16) -> Intent {
    let all = bench.standing.figures.get(&figure);
    let clock = all
        .and_then(|f| f.clocks.get(usize::from(pick) % (f.clocks.len() + 1)))
        .map_or("7.cup".to_owned(), |clock| clock.id.clone());
    if pick.is_multiple_of(2) {
        let how = one_of(&WORDS, pick / 2).to_owned();
        return Intent::EndClock { figure, clock, how };
    }
    Intent::AnswerAlarm {
        figure,
        clock,
        mark: one_of(&[0, 50, 75, 90, 100, 4_000_000_000], pick / 2),
        rang_at: bench.now,
    }
}

/// An act at a job: what is asked for in two of three cases, else anything.
fn work_of(bench: &Bench, kind: u8, pick: u16, number: f64) -> Intent {
    let jobs: Vec<(String, Work)> = bench
        .standing
        .figures
        .iter()
        .flat_map(|(id, f)| f.jobs.iter().map(move |job| (id.clone(), job.work.clone())))
        .collect();
    let never = Work {
        operation: "prime".into(),
        target: None,
        round: 9,
    };
    // Mostly the job begun last, so that walks get somewhere.
    let back = usize::from(pick % 8).saturating_sub(5);
    let at = jobs.len().checked_sub(1 + back);
    let job = at.and_then(|at| jobs.get(at));
    let (figure, work) = job.cloned().unwrap_or(("hare".into(), never));
    let what = match prompt(bench.house(), &figure, &work, bench.now) {
        Some(prompt) if !kind.is_multiple_of(3) => as_asked(bench, &prompt.ask, pick),
        _ => anything(kind, pick, number),
    };
    Intent::Work { figure, work, what }
}

fn as_asked(bench: &Bench, ask: &Ask, pick: u16) -> AtStep {
    let number = |value: f64| AtStep::Enter {
        value: Value::Number(value),
        again: true,
    };
    match ask {
        Ask::Gate(verdict) => match &verdict.opens_by {
            knuckle::standing::OpensBy::Vouch(_) => AtStep::Vouch,
            knuckle::standing::OpensBy::Surface => number(20.0),
            _ => AtStep::Overrule {
                why: "judged".into(),
                second: Some("marguerite".into()),
            },
        },
        Ask::Batch { offers } => AtStep::Plan {
            material: offers
                .first()
                .map(|offer| offer.material.clone())
                .unwrap_or_default(),
        },
        Ask::PourOff { .. } if pick.is_multiple_of(2) => AtStep::Discard {
            why: "too much".into(),
        },
        Ask::PourOff {
            add: Some((_, grams)),
            ..
        } => AtStep::Pour { grams: *grams },
        Ask::Pour { asked_g, .. } if pick.is_multiple_of(3) => AtStep::Pour {
            grams: asked_g * 1.07,
        },
        Ask::Wait { ready: false, .. } => AtStep::DoneEarly {
            why: "in a hurry".into(),
        },
        Ask::Hold { .. } => AtStep::Sign {
            accepted: !pick.is_multiple_of(4),
            why: "crooked".into(),
        },
        Ask::Finished { .. } | Ask::SentBack { .. } => AtStep::Done,
        other => bench.answer_hand(other),
    }
}

fn anything(kind: u8, pick: u16, number: f64) -> AtStep {
    let text = one_of(&WORDS, pick).to_owned();
    match kind / 3 % 16 {
        0 => AtStep::Tick,
        1 => AtStep::Vouch,
        2 => AtStep::Overrule {
            why: text,
            second: (!pick.is_multiple_of(3)).then(|| one_of(&PEOPLE, pick / 3).to_owned()),
        },
        3 | 4 => AtStep::Enter {
            value: Value::Number(number),
            again: pick.is_multiple_of(2),
        },
        5 => AtStep::Enter {
            value: Value::Text(text),
            again: pick.is_multiple_of(2),
        },
        6 => AtStep::ReadAgain,
        7 => AtStep::Leave { why: text },
        8 => AtStep::Plan {
            material: one_of(&["medium-epoxy", "slow-size", "x"], pick).into(),
        },
        9 => AtStep::Pour { grams: number },
        10 => AtStep::Start,
        11 => AtStep::Discard { why: text },
        12 => AtStep::Test {
            place: one_of(&["", "edge", "knee"], pick).into(),
            word: text,
        },
        13 => AtStep::DoneEarly { why: text },
        14 => AtStep::Sign {
            accepted: pick.is_multiple_of(2),
            why: text,
        },
        _ if pick.is_multiple_of(6) => AtStep::SendBack {
            back_to: one_of(&["prime", "open-joint", "nowhere"], pick).into(),
            why: text,
        },
        _ => AtStep::Done,
    }
}

/// Everything that can be looked at, looked at.
pub(crate) fn look(house: House<'_>, now: DateTime<FixedOffset>) {
    let _views = clock_views(house, now);
    let _rows = floor(house, now);
    let _holds = holds(house, now);
    for (figure, standing) in &house.standing.figures {
        let _offers = offers(house, figure);
        for job in &standing.jobs {
            let _prompt = prompt(house, figure, &job.work, now);
        }
    }
}

/// The text of a line as the journal writes it, with more fields behind.
fn text_of(line: &Line, more: &Map<String, Json>) -> String {
    let mut fields = Map::new();
    fields.insert("n".into(), line.n.into());
    fields.insert(
        "at".into(),
        line.at
            .to_rfc3339_opts(chrono::SecondsFormat::Millis, false)
            .into(),
    );
    fields.insert("by".into(), line.by.clone().into());
    fields.insert("bench".into(), line.bench.clone().into());
    fields.extend(line.deed.fields());
    fields.extend(more.clone());
    Json::Object(fields).to_string()
}

fn newer() -> Map<String, Json> {
    let fields = json!({"zz_mood": "calm", "zz_angle_deg": 12.5, "zz_list": [1, {"a": null}]});
    fields.as_object().unwrap().clone()
}

#[track_caller]
pub(crate) fn assert_comes_back(line: &Line) {
    let plain = Line::read(&text_of(line, &Map::new())).unwrap();
    assert_eq!(
        plain.deed, line.deed,
        "a deed must come back from its text as it was"
    );
    assert!(plain.strange.is_empty(), "{:?}", plain.strange);
    let strange = Line::read(&text_of(line, &newer())).unwrap();
    assert_eq!(
        strange.deed, line.deed,
        "a newer field must not change the deed"
    );
    assert_eq!(strange.strange, ["zz_mood", "zz_angle_deg", "zz_list"]);
    // A tag of a newer version keeps every field, in its order.
    let mut fields = line.deed.fields();
    fields.insert("deed".into(), "weighed_on_the_moon".into());
    fields.extend(newer());
    let deed = Deed::read(fields.clone());
    let tag = "weighed_on_the_moon".to_owned();
    assert_eq!(
        deed,
        Deed::Unknown(Unknown {
            tag,
            fields: fields.clone()
        })
    );
    assert_eq!(
        Json::Object(deed.fields()).to_string(),
        Json::Object(fields).to_string()
    );
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) })]

    #[test]
    fn whatever_hands_want_the_standing_is_the_journal_replayed(
        whims in any_whims(),
        (operation, target) in prop::sample::select(WALKS.to_vec()),
        steps in 0..160_u16,
    ) {
        let mut bench = Bench::new(cards(), start());
        walk_into(&mut bench, (operation, target), steps);
        for whim in whims {
            bench.now += Duration::seconds(i64::from(whim.3));
            let intent = intent_of(&bench, whim);
            bench.by = someone(&bench, &intent, whim.1);
            let (before, written) = (bench.standing.clone(), bench.lines.clone());
            match bench.act(&intent) {
                Ok(lines) => {
                    prop_assert!(!lines.is_empty(), "{intent:?} was taken and wrote nothing");
                    bench.assert_live_is_replayed();
                    lines.iter().for_each(assert_comes_back);
                }
                Err(refusal) => {
                    prop_assert!(!refusal.why.trim().is_empty());
                    prop_assert!(!refusal.why.contains('\n'), "one line: {}", refusal.why);
                    prop_assert_eq!(&before, &bench.standing);
                    prop_assert_eq!(&written, &bench.lines);
                }
            }
        }
        look(bench.house(), bench.now);
        look(bench.house(), bench.now - Duration::days(3));
        look(bench.house(), bench.now + Duration::days(300));
    }
}

/// Walks that between them mix, size, strip, coat, wait, read and sign.
const WALKS: [(&str, &str); 6] = [
    ("mix-and-lay-up", "J3"),
    ("varnish", "saddle-seat"),
    ("size-and-leaf", "breast-strap"),
    ("strip", "body-near"),
    ("open-joint", "J3"),
    ("dry", "body-near"),
];

/// Begins a walk and answers what it asks so many times, so that the whims meet it anywhere.
fn walk_into(bench: &mut Bench, (operation, target): (&str, &str), steps: u16) {
    bench.by = bench.worker(operation);
    let work = bench.begin("hare", operation, Some(target));
    for pick in 1..=steps {
        bench.now += Duration::minutes(1);
        let prompt = bench.prompt("hare", &work);
        let what = as_asked(bench, &prompt.ask, pick);
        let figure = "hare".to_owned();
        let intent = Intent::Work {
            figure,
            work: work.clone(),
            what,
        };
        bench.by = someone(bench, &intent, 1);
        let _taken_or_refused = bench.act(&intent);
    }
    bench.assert_live_is_replayed();
}

/// The walks reach what they are there for: a law that never met a mix proves little.
#[test]
fn the_walks_that_whims_fall_into_reach_mixes_coats_tests_and_signatures() {
    let mut tags = std::collections::BTreeSet::new();
    for walk in WALKS {
        let mut bench = Bench::new(cards(), start());
        walk_into(&mut bench, walk, 160);
        let lines = bench.lines.values().flatten();
        tags.extend(lines.map(|line| line.deed.tag()));
    }
    for tag in [
        "planned",
        "poured",
        "mixed",
        "deviated",
        "tested",
        "done",
        "signed",
        "overruled",
        "gate_said",
        "recorded",
        "finished",
    ] {
        assert!(tags.contains(tag), "no walk wrote `{tag}`: {tags:?}");
    }
}

/// Whoever may do it, in three of four cases.
fn someone(bench: &Bench, intent: &Intent, pick: u16) -> String {
    let anybody = one_of(&PEOPLE, pick).to_owned();
    match intent {
        _ if pick.is_multiple_of(4) => anybody,
        Intent::Work {
            what: AtStep::Sign { .. },
            ..
        } => "tobias".into(),
        Intent::Work { work, .. } => bench.worker(&work.operation),
        Intent::Begin { operation, .. } => bench.worker(operation),
        Intent::Answer { .. } => "marguerite".into(),
        _ => anybody,
    }
}
