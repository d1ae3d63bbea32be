//! A reading of the figure, or a word of a test, that is entered after the fact: it stands where
//! it was taken, and a gate that was passed since and would have been shut is told.

use chrono::Duration;
use knuckle::card::{Checklist, GateKind, Measure, WordScale};
use knuckle::deed::{Deed, DeviationKind, Line, Value, Work};
use knuckle::standing::{Ask, AtStep, Intent, Late, Said, open_gates};

use crate::clocks::{MORNING, Wall};
use crate::memory::{Bench, at, sample_cards};

const COAT: &str = "
id: coat
order: 1
title: Coat
trade: any
scope: joint
why: w
steps:
  - {id: first, do: d, record: [{id: early, ask: a, measure: moisture_core, at: [head, foot]}]}
  - {id: look, do: d, record: [{id: core, ask: a, measure: moisture_core, at: [head, foot]}]}
  - {id: ph, do: d, record: [{id: ph, ask: a, measure: ph}]}
  - {id: coat, do: d, gates: [{gate: moisture}, {gate: neutral}]}
  - {id: size, do: d, until: {words: tack, at: [edge, flat, hollow], hand: h}}
  - {id: lay, do: d, gates: [{gate: size_ready}]}
";

/// The second readings are taken two days after the first, minutes.
const TODAY: i64 = 2 * 24 * 60;

/// Where nothing was stripped, no remover is looked for.
const STRIP: &str = "
{id: strip, order: 1, title: Strip, trade: any, scope: joint, why: w, steps: [{id: s, do: d}]}
";

fn wall() -> (Wall, Work) {
    let mut wall = Wall::new(MORNING);
    for list in [COAT, STRIP] {
        let list: Checklist = serde_yaml::from_str(list).unwrap();
        wall.bench.cards.checklists.insert(list.id.clone(), list);
    }
    wall.air_at(0, 20.0);
    wall.bench.begin("owl", "strip", Some("plain"));
    let work = wall.bench.begin("owl", "coat", Some("plain"));
    (wall, work)
}

fn enter(wall: &mut Wall, work: &Work, value: f64) {
    let value = Value::Number(value);
    let again = false;
    let what = AtStep::Enter { value, again };
    wall.bench.at_step("owl", work, what).unwrap();
}

fn done(wall: &mut Wall, work: &Work) {
    wall.bench.at_step("owl", work, AtStep::Done).unwrap();
}

/// Read two days ago and at eight today, coated at nine; it is ten now.
fn coated() -> (Wall, Work) {
    let (mut wall, work) = wall();
    read(&mut wall, &work);
    wall.bench.wait(TODAY);
    wall.air_at(TODAY, 20.0);
    read(&mut wall, &work);
    enter(&mut wall, &work, 7.0);
    done(&mut wall, &work);
    wall.bench.wait(60);
    done(&mut wall, &work);
    wall.bench.wait(60);
    (wall, work)
}

fn late(said: Said, station: Option<&str>) -> Intent {
    Intent::EnterLater {
        figure: "owl".into(),
        late: Late {
            said,
            target: None,
            station: station.map(str::to_owned),
            again: false,
        },
    }
}

fn core(value: f64, station: &str) -> Intent {
    let measure = Measure::MoistureCore;
    late(Said::Reading { measure, value }, Some(station))
}

fn ph(value: f64) -> Intent {
    let measure = Measure::Ph;
    late(Said::Reading { measure, value }, None)
}

fn size(word: &str, place: &str) -> Intent {
    let said = Said::Word {
        scale: WordScale::Tack,
        word: word.to_owned(),
    };
    late(said, Some(place))
}

fn read(wall: &mut Wall, work: &Work) {
    for percent in [10.0, 10.2] {
        enter(wall, work, percent);
    }
    done(wall, work);
}

/// Enters something that was taken so many minutes after eight today.
fn taken(wall: &mut Wall, minutes: i64, intent: &Intent) -> Vec<Line> {
    let now = wall.bench.now;
    wall.bench.now = at(MORNING) + Duration::minutes(TODAY + minutes);
    let lines = wall.bench.act(intent).unwrap();
    wall.bench.now = now;
    lines
}

fn told(lines: &[Line]) -> Vec<(&str, &str)> {
    let doubts = lines.iter().filter_map(|line| match &line.deed {
        Deed::Deviated(told) => {
            assert_eq!(told.kind, DeviationKind::Reading);
            Some((told.step.as_str(), told.what.as_str()))
        }
        _ => None,
    });
    doubts.collect()
}

#[test]
fn a_gate_that_the_reading_would_have_shut_is_told() {
    let (mut wall, work) = coated();
    let lines = taken(&mut wall, 30, &core(14.0, "foot"));
    let Deed::Recorded(kept) = &lines[0].deed else {
        panic!("{lines:?}");
    };
    assert_eq!((&kept.work, kept.step.as_str()), (&work, "look"));
    assert_eq!(kept.station.as_deref(), Some("foot"));
    let found = told(&lines);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "coat");
    let says = "dry enough was passed 25 Nov 09:00 by odile; by the reading entered since it \
                would have been shut: worst point 14";
    assert!(found[0].1.starts_with(says), "{found:?}");
    assert_eq!(wall.bench.standing.figures["owl"].unanswered().count(), 1);
    wall.bench.assert_live_is_replayed();
}

#[test]
fn another_gate_by_another_reading() {
    let (mut wall, _) = coated();
    // pH 5 to 8 is free of remover (a caustic neutraliser's sheet).
    let lines = taken(&mut wall, 10, &ph(8.0));
    assert_eq!(told(&lines), []);
    // Outside the usual range it is asked again.
    let refused = wall.bench.act(&ph(10.0)).unwrap_err();
    assert!(refused.ask_again, "{refused}");
    let Intent::EnterLater { figure, mut late } = ph(10.0) else {
        unreachable!()
    };
    late.again = true;
    let lines = taken(&mut wall, 20, &Intent::EnterLater { figure, late });
    let found = told(&lines);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].1.starts_with("stripper gone was passed"),
        "{found:?}"
    );
}

#[test]
fn what_changes_nothing_is_not_told() {
    for (minutes, percent) in [
        (30, 10.4),  // The gate would have been open all the same.
        (90, 14.0),  // Taken after the gate was passed.
        (-30, 14.0), // A younger reading of the same place stood behind the gate.
    ] {
        let (mut wall, _) = coated();
        let lines = taken(&mut wall, minutes, &core(percent, "head"));
        assert_eq!(lines.len(), 1, "{minutes} {lines:?}");
    }
}

#[test]
fn it_stands_where_it_was_taken() {
    let (mut wall, work) = coated();
    taken(&mut wall, -30, &core(14.0, "head"));
    taken(&mut wall, 30, &core(11.5, "head"));
    let figure = &wall.bench.standing.figures["owl"];
    let head: Vec<f64> = figure
        .readings
        .iter()
        .filter(|reading| reading.station.as_deref() == Some("head"))
        .map(|reading| reading.value)
        .collect();
    assert_eq!(head, [10.0, 14.0, 10.0, 11.5]);
    let last = figure.job(&work).unwrap().recorded("core").unwrap();
    assert_eq!(last.value, Value::Number(11.5));
    wall.bench.assert_live_is_replayed();
}

/// Read on paper before the step came up: the step in front takes it, and its age counts from
/// when it was taken.
#[test]
fn the_step_in_front_takes_it() {
    let (mut wall, work) = wall();
    read(&mut wall, &work);
    wall.bench.wait(TODAY + 60);
    taken(&mut wall, 30, &core(10.0, "head"));
    let front = wall.bench.prompt("owl", &work);
    let Ask::Reading { station, nth, .. } = &front.ask else {
        panic!("{front:?}");
    };
    assert_eq!((station.as_deref(), *nth), (Some("foot"), 2));
    enter(&mut wall, &work, 10.0);
    done(&mut wall, &work);
    enter(&mut wall, &work, 7.0);
    done(&mut wall, &work);
    let house = wall.bench.house();
    let open = open_gates(house, Some("owl"), wall.bench.now);
    let moisture = open
        .iter()
        .find(|one| one.evidence.gate == GateKind::Moisture);
    let moisture = &moisture.unwrap().evidence;
    assert_eq!(moisture.since, at(MORNING) + Duration::minutes(TODAY + 30));
    assert_eq!(moisture.good_until, moisture.since + Duration::hours(72));
}

#[test]
fn a_word_of_the_size_would_have_shut_the_gate() {
    let (mut wall, work) = coated();
    let say = |wall: &mut Wall, place: &str, said: &str| {
        let what = AtStep::Test {
            place: place.to_owned(),
            word: said.to_owned(),
        };
        wall.bench.at_step("owl", &work, what).unwrap();
    };
    for place in ["edge", "flat", "hollow"] {
        say(&mut wall, place, "ready");
    }
    done(&mut wall, &work);
    wall.bench.wait(20);
    done(&mut wall, &work);
    wall.bench.wait(60);
    // Ready at ten, laid at twenty past; what was found dead at ten past was on a slip.
    let lines = taken(&mut wall, 130, &size("dead", "edge"));
    let found = told(&lines);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "lay");
    assert!(
        found[0].1.ends_with(
            "by the word entered since it would have been shut: not ready under the knuckle: edge"
        ),
        "{found:?}"
    );
    // Found so before the word that counted: nothing is told.
    let lines = taken(&mut wall, 110, &size("sticky", "flat"));
    assert_eq!(lines.len(), 1, "{lines:?}");
    wall.bench.assert_live_is_replayed();
}

#[test]
fn what_has_no_place_is_refused_with_what_helps() {
    let (mut wall, _) = wall();
    let says = |refused: knuckle::standing::Refusal| {
        format!("{}; {}", refused.why, refused.remedy.unwrap_or_default())
    };
    let measure = Measure::MoistureCore;
    let nowhere = late(
        Said::Reading {
            measure,
            value: 10.0,
        },
        None,
    );
    let refused = says(wall.bench.act(&nowhere).unwrap_err());
    assert!(refused.contains("--place: head; foot"), "{refused}");
    let refused = says(wall.bench.act(&core(10.0, "tail")).unwrap_err());
    assert!(refused.contains("`tail` is not a place"), "{refused}");
    // That step was not reached yet.
    let refused = says(wall.bench.act(&ph(7.0)).unwrap_err());
    assert!(refused.contains("no step that was reached"), "{refused}");
    let refused = says(wall.bench.act(&core(50.0, "head")).unwrap_err());
    assert!(refused.contains("cannot be"), "{refused}");
    // Two joints are at work: on which?
    wall.bench.begin("owl", "coat", Some("loaded"));
    let refused = wall.bench.act(&core(10.0, "head"));
    if let Err(refused) = refused {
        let refused = says(refused);
        assert!(refused.contains("several parts"), "{refused}");
    } else {
        panic!("{refused:?}");
    }
}

/// Whoever comes by tries the size that lies there, before the step that asks for it.
#[test]
fn a_word_of_laid_size_is_always_taken() {
    let mut bench = Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
    let panel = "breast-strap";
    let work = bench.walk_until("heron", "size-and-leaf", Some(panel), &mut |prompt| {
        prompt.step == "note"
    });
    bench.wait(120);
    let said = Intent::EnterLater {
        figure: "heron".into(),
        late: Late {
            target: Some(panel.into()),
            station: Some("edge".into()),
            said: Said::Word {
                scale: WordScale::Tack,
                word: "sticky".into(),
            },
            again: false,
        },
    };
    let lines = bench.act(&said).unwrap();
    assert!(matches!(&lines[0].deed, Deed::Tested(test) if test.step == "knuckle"));
    assert_eq!(bench.prompt("heron", &work).step, "note");
    bench.assert_live_is_replayed();
}
