//! The kinds of clocks of the trade: each is started by a shipped checklist and ended by a hand;
//! what grows old says until when it is good; several cups are mixed on demand.

use std::collections::BTreeSet;

use chrono::{Duration, NaiveDate};
use knuckle::card::{Checklist, ClockName, Material, MaterialKind, Step};
use knuckle::deed::{Deed, Use, Value, Work};
use knuckle::standing::{Ask, AtStep, CLOSING, Intent, OpensBy, evidence, shelf_lives};

use crate::clocks::{MORNING, Wall, span};
use crate::memory::{at, sample_cards};

/// Every clock of the trade but the drying of wood, which is a matter of readings.
const KINDS: [ClockName; 16] = [
    ClockName::Cup,
    ClockName::Closing,
    ClockName::Clamps,
    ClockName::Load,
    ClockName::Leftover,
    ClockName::FullCure,
    ClockName::Glove,
    ClockName::Cartridge,
    ClockName::Dwell,
    ClockName::Purge,
    ClockName::Recoat,
    ClockName::TackEdge,
    ClockName::TackFlat,
    ClockName::TackHollow,
    ClockName::LeafSet,
    ClockName::Dust,
];

fn steps(list: &Checklist) -> Vec<&Step> {
    let coats = |step: &'_ Step| step.coats.as_ref().map_or(0, |coats| coats.between.len());
    let mut all: Vec<&Step> = list.steps.iter().collect();
    for step in &list.steps {
        if let (Some(coats), 1..) = (&step.coats, coats(step)) {
            all.extend(&coats.between);
        }
    }
    all
}

#[test]
fn every_kind_is_started_by_a_shipped_checklist() {
    let cards = sample_cards();
    let started: BTreeSet<ClockName> = cards
        .checklists
        .values()
        .flat_map(steps)
        .flat_map(|step| step.starts.iter().map(|start| start.clock))
        .collect();
    for kind in KINDS {
        assert!(started.contains(&kind), "{kind:?} is never started");
    }
}

#[test]
fn every_kind_is_ended_by_a_hand_and_by_nothing_else() {
    for kind in KINDS {
        let mut wall = Wall::new(MORNING);
        wall.start(kind, span(60.0, Use::DoBefore));
        // Time running out ends nothing.
        assert_eq!(wall.views(wall.bench.now + Duration::days(9)).len(), 1);
        let end = Intent::EndClock {
            figure: "owl".into(),
            clock: wall.view(0).id,
            how: "looked at".into(),
        };
        wall.bench.act(&end).unwrap();
        assert!(wall.views(wall.bench.now).is_empty(), "{kind:?} runs on");
        wall.bench.assert_live_is_replayed();
    }
}

/// Gloves and a cartridge that are changed begin anew the moment the spent ones come off.
#[test]
fn fresh_gloves_and_a_fresh_cartridge_begin_anew() {
    for kind in [ClockName::Glove, ClockName::Cartridge] {
        let mut wall = Wall::new(MORNING);
        wall.start(kind, span(60.0, Use::DoBefore));
        wall.bench.wait(50);
        let changed = Intent::EndClock {
            figure: "owl".into(),
            clock: wall.view(0).id,
            how: knuckle::standing::CHANGED.into(),
        };
        wall.bench.act(&changed).unwrap();
        let views = wall.views(wall.bench.now);
        assert_eq!(views.len(), 1);
        assert_eq!(
            views[0].closes,
            Some(wall.bench.now + Duration::minutes(60))
        );
    }
}

const MASKED: &str = "
id: masked
order: 1
title: Work in a mask
trade: any
scope: joint
why: w
steps:
  - {id: on, do: Put the mask on, starts: [{clock: cartridge, by: stripper}]}
  - {id: strip, do: Strip, gates: [{gate: air_and_gloves}]}
  - {id: off, do: Take the mask off}
";

/// A shop of two, in which one works in a mask on two joints, one after the other.
fn masked(strength: &str) -> Wall {
    let mut wall = Wall::new(MORNING);
    let list: Checklist = serde_yaml::from_str(MASKED).unwrap();
    wall.bench.cards.checklists.insert(list.id.clone(), list);
    let card = format!("{{id: gel, name: gel, kind: stripper, strength: [{strength}]}}");
    let card: Material = serde_yaml::from_str(&card).unwrap();
    wall.bench.cards.materials.insert(card.id.clone(), card);
    wall
}

/// A cartridge belongs to a mask and a mask to a person: on the next joint it is no fresher,
/// somebody else's is another one, and spent it shuts the gate until it is changed.
#[test]
fn a_cartridge_goes_with_its_wearer_from_work_to_work() {
    let mut wall = masked("");
    let don = |wall: &mut Wall, joint: &str| {
        let work = wall.bench.begin("owl", "masked", Some(joint));
        wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
        work
    };
    don(&mut wall, "plain");
    wall.bench.wait(120);
    let work = don(&mut wall, "loaded");
    let views = wall.views(wall.bench.now);
    assert_eq!(views.len(), 1, "the second mask is the first one");
    // Half a shift from the first breath of it (common practice), not from the second.
    assert_eq!(views[0].closes, Some(at(MORNING) + Duration::minutes(240)));

    wall.bench.wait(121);
    let Ask::Gate(verdict) = wall.bench.prompt("owl", &work).ask else {
        panic!("spent cartridges have to stop the work")
    };
    assert_eq!(
        verdict.why,
        "the cartridges of the mask are spent: change them"
    );
    let OpensBy::Renew { figure, clock } = verdict.opens_by else {
        panic!("{:?}", verdict.opens_by)
    };
    let how = knuckle::standing::CHANGED.to_owned();
    wall.bench
        .act(&Intent::EndClock { figure, clock, how })
        .unwrap();
    let Ask::Gate(verdict) = wall.bench.prompt("owl", &work).ask else {
        panic!("air and mask have not been vouched for yet")
    };
    assert!(matches!(verdict.opens_by, OpensBy::Vouch(_)));
    wall.bench.assert_live_is_replayed();
}

/// 29 CFR 1910.1052 and the Pocket Guide allow no cartridge against methylene chloride: a clock
/// for one would say that it helps. Another person's cartridge is another one.
#[test]
fn no_cartridge_is_timed_against_methylene_chloride_and_each_wearer_has_one() {
    let don = |wall: &mut Wall, joint: &str| {
        let work = wall.bench.begin("owl", "masked", Some(joint));
        wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    };
    let mut wall = masked("dcm");
    don(&mut wall, "plain");
    assert!(wall.views(wall.bench.now).is_empty());

    let mut wall = masked("");
    don(&mut wall, "plain");
    let tobias = serde_yaml::from_str("{id: tobias, name: Tobias, marks: [join]}").unwrap();
    wall.bench.cards.shop.people.push(tobias);
    "tobias".clone_into(&mut wall.bench.by);
    don(&mut wall, "loaded");
    assert_eq!(wall.views(wall.bench.now).len(), 2);
}

/// What was worn against solvents is of one day (common practice): the closing round bins it.
#[test]
fn the_closing_round_ends_what_was_worn_that_day() {
    let mut wall = Wall::new(MORNING);
    for kind in [ClockName::Glove, ClockName::Cartridge, ClockName::Clamps] {
        wall.start(kind, span(600.0, Use::DoBefore));
    }
    wall.bench
        .act(&Intent::OpenDay {
            present: vec!["odile".into()],
        })
        .unwrap();
    wall.bench
        .act(&Intent::CloseDay {
            checked: CLOSING.map(String::from).to_vec(),
            first_in: None,
        })
        .unwrap();
    let left = wall.views(wall.bench.now);
    let left: Vec<_> = left.iter().map(|view| view.clock).collect();
    assert_eq!(left, [ClockName::Clamps], "the clamps stay on over night");
    wall.bench.assert_live_is_replayed();
}

const TRY: &str = "
id: try
order: 1
title: Try the size
trade: any
scope: joint
why: w
steps:
  - {id: knuckle, do: Try it, until: {words: tack, at: [edge, flat, hollow]}}
  - id: lay
    do: Lay the leaf
    gates: [{gate: size_ready}]
  - id: coat
    do: Coat it
    gates: [{gate: temperature}, {gate: rags_away}]
";

fn trying() -> (Wall, Work) {
    let mut wall = Wall::new(MORNING);
    let list: Checklist = serde_yaml::from_str(TRY).unwrap();
    wall.bench.cards.checklists.insert(list.id.clone(), list);
    let work = wall.bench.begin("owl", "try", Some("plain"));
    (wall, work)
}

fn say(wall: &mut Wall, work: &Work, place: &str) {
    let what = AtStep::Test {
        place: place.to_owned(),
        word: "ready".to_owned(),
    };
    wall.bench.at_step("owl", work, what).unwrap();
}

/// A quick size takes leaf for about an hour (gilding leaflets, *common practice*): what the
/// knuckle said longer ago says nothing.
#[test]
fn a_word_said_of_size_grows_old() {
    let (mut wall, work) = trying();
    say(&mut wall, &work, "edge");
    wall.bench.wait(61);
    say(&mut wall, &work, "flat");
    say(&mut wall, &work, "hollow");
    let Ask::Test { places, .. } = wall.bench.prompt("owl", &work).ask else {
        panic!("the edge must be tried again");
    };
    let ready: Vec<bool> = places.iter().map(|place| place.ready).collect();
    assert_eq!(ready, [false, true, true]);
    say(&mut wall, &work, "edge");
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    // The gate of the next step is open on these words, and says until when.
    assert_eq!(wall.bench.prompt("owl", &work).ask, Ask::Act);
    let good = evidence(wall.bench.house(), "owl", &work, wall.bench.now);
    assert_eq!(good.len(), 1);
    assert_eq!(good[0].name, "size ready");
    assert_eq!(good[0].good_until, wall.bench.now + Duration::minutes(60));
    wall.bench.wait(60);
    assert_eq!(wall.bench.prompt("owl", &work).ask, Ask::Act);
    wall.bench.wait(1);
    let Ask::Gate(verdict) = wall.bench.prompt("owl", &work).ask else {
        panic!("an hour later the gate is shut");
    };
    assert_eq!(
        verdict.why,
        "the word is too old, try again: edge, flat, hollow"
    );
    assert!(evidence(wall.bench.house(), "owl", &work, wall.bench.now).is_empty());
}

/// Air stands for two hours, a hand that looked at the rags for twelve (*common practice*).
#[test]
fn an_open_gate_says_until_when_its_evidence_is_good() {
    let (mut wall, work) = trying();
    for place in ["edge", "flat", "hollow"] {
        say(&mut wall, &work, place);
    }
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    let names = |wall: &Wall| -> Vec<(&str, i64)> {
        let now = wall.bench.now;
        let all = evidence(wall.bench.house(), "owl", &work, now);
        all.iter()
            .map(|one| (one.name, one.left(now).num_minutes()))
            .collect()
    };
    assert!(names(&wall).is_empty(), "nothing was read yet");
    wall.air_at(0, 20.0);
    wall.bench.wait(30);
    assert_eq!(names(&wall), [("warm enough", 90)]);
    wall.bench.at_step("owl", &work, AtStep::Vouch).unwrap();
    wall.bench.wait(10);
    assert_eq!(names(&wall), [("warm enough", 80), ("rags away", 710)]);
    wall.bench.wait(81);
    assert_eq!(names(&wall), [("rags away", 629)]);
}

#[test]
fn a_lot_is_named_a_month_before_its_date_and_is_good_through_its_last_day() {
    let mut wall = Wall::new("2026-11-25T08:00:00+00:00");
    let lot = |lot: &str, expires| knuckle::card::Lot {
        lot: lot.into(),
        expires,
        ..knuckle::card::Lot::default()
    };
    let day = |month, day| NaiveDate::from_ymd_opt(2026, month, day);
    let card = Material {
        id: "size".into(),
        name: "trial size".into(),
        kind: MaterialKind::Size,
        lots: vec![
            lot("far", day(12, 26)),
            lot("near", day(12, 25)),
            lot("last", day(11, 25)),
            lot("past", day(11, 24)),
            lot("never", None),
        ],
        ..Material::default()
    };
    wall.bench.cards.materials.insert(card.id.clone(), card);
    let lives = shelf_lives(wall.bench.house(), wall.bench.now);
    let told: Vec<(&str, i64)> = lives
        .iter()
        .map(|life| (life.lot.as_str(), life.days_left))
        .collect();
    assert_eq!(told, [("past", -1), ("last", 0), ("near", 30)]);
}

const RESIN: &str = "
id: resin
name: trial resin
kind: epoxy
source: trial
ratio: {a: 100, b: 50, basis: weight}
pot_life: [{minutes: 20, grams: 100, temp_c: 22}]
lots:
  - {lot: A, part: a, opened: 2026-01-01}
  - {lot: B, part: b, opened: 2026-01-01}
";
const MIX: &str = "
id: mix
order: 1
title: Mix
trade: any
scope: joint
why: w
steps:
  - id: mix
    do: d
    record:
      - {id: grams, ask: Grams, measure: mass}
      - {id: rehearsal, ask: Minutes, measure: duration}
    mix: {of: epoxy, need: said}
    starts: [{clock: cup}]
  - {id: after, do: d}
";

/// 400 g to mix at 22 °C, after a rehearsal of 8.5 min: the batch in front.
fn at_the_batch() -> (Wall, Work) {
    let mut wall = Wall::new(MORNING);
    let resin: Material = serde_yaml::from_str(RESIN).unwrap();
    let list: Checklist = serde_yaml::from_str(MIX).unwrap();
    wall.bench.cards.materials.insert(resin.id.clone(), resin);
    wall.bench.cards.checklists.insert(list.id.clone(), list);
    wall.steady(5, 22.0);
    let work = wall.bench.begin("owl", "mix", Some("plain"));
    for number in [400.0, 8.5] {
        let what = AtStep::Enter {
            value: Value::Number(number),
            again: true,
        };
        wall.bench.at_step("owl", &work, what).unwrap();
    }
    (wall, work)
}

/// Does what is asked, as asked, so many times.
fn go_on(wall: &mut Wall, work: &Work, times: usize) {
    for _ in 0..times {
        let ask = wall.bench.prompt("owl", work).ask;
        let what = wall.bench.answer_hand(&ask);
        wall.bench.at_step("owl", work, what).unwrap();
    }
}

/// 400 g at 22 °C promise 20 × (400/100)^−0.4 = 11.5 min, 200 g 15.2 min, 133 g 17.8 min (rule
/// of `reckon::pot_life`). A rehearsal of 8.5 min may fill half a promise: three cups.
#[test]
fn a_batch_too_large_for_one_cup_is_mixed_cup_by_cup_on_demand() {
    let (mut wall, work) = at_the_batch();
    let Ask::Batch { offers } = wall.bench.prompt("owl", &work).ask else {
        panic!("a batch is offered");
    };
    assert_eq!(offers[0].cups, 3, "{:?}", offers[0]);
    // A third of 8.5 min each, rounded down.
    let because = &offers[0].because;
    let plan = "; on demand: cup 2 by 2 min, cup 3 by 5 min";
    assert!(because.ends_with(plan), "{because}");
    go_on(&mut wall, &work, 1);
    for nth in 1..=3u32 {
        let Ask::Pour { cup, cups, .. } = wall.bench.prompt("owl", &work).ask else {
            panic!("cup {nth} is weighed");
        };
        assert_eq!((cup, cups), (nth, 3));
        go_on(&mut wall, &work, 3);
        let running = wall.views(wall.bench.now).len();
        assert_eq!(running, 1, "one cup runs at a time");
        if nth < 3 {
            use_up(&mut wall, &work, nth);
        }
    }
    // The press of the last cup goes on into the next step, as that of a single one does.
    assert_eq!(wall.bench.prompt("owl", &work).step, "after");
    wall.bench.assert_live_is_replayed();
}

/// Says of a cup that it is used up, when that is asked.
fn use_up(wall: &mut Wall, work: &Work, nth: u32) {
    let Ask::Wait { clock, ready, hand } = wall.bench.prompt("owl", work).ask else {
        panic!("cup {nth} is used up before the next is weighed");
    };
    assert_eq!(clock.map(|view| view.clock), Some(ClockName::Cup));
    assert!(ready);
    let next = nth + 1;
    assert_eq!(
        hand,
        format!("cup {nth} of 3 is used up, cup {next} comes next")
    );
    wall.bench.wait(3);
    let lines = wall.bench.at_step("owl", work, AtStep::Done).unwrap();
    let [line] = &lines[..] else {
        panic!("{lines:?}");
    };
    assert!(matches!(&line.deed, Deed::ClockEnded(it) if it.how == "used up"));
}

/// A cup that was over before it was used up is told to the supervisor, like any other.
#[test]
fn a_cup_used_up_too_late_is_a_deviation() {
    let (mut wall, work) = at_the_batch();
    go_on(&mut wall, &work, 4);
    wall.bench.wait(60);
    let lines = wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    let tags: Vec<String> = lines.iter().map(|line| line.deed.tag()).collect();
    assert_eq!(tags, ["deviated", "clock_ended"]);
}
