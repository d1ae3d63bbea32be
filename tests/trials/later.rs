//! A reading entered later: clocks are reckoned anew; a gate that was passed and would have been
//! shut by it is told to the supervisor.

use chrono::Duration;
use knuckle::card::{Checklist, ClockName, GateKind};
use knuckle::deed::{ClockRule, Deed, DeviationKind, Line, Work};
use knuckle::standing::{AtStep, Intent};

use crate::clocks::{MORNING, Wall, sheet};

const COAT: &str = "
id: coat
order: 1
title: Coat
trade: any
scope: joint
why: w
gates: [{gate: temperature, range: [15, 27]}]
steps:
  - {id: first, do: d}
  - {id: coat, do: d, gates: [{gate: humidity, limit: 65}]}
";

/// Air of 20 °C and 50 % at eight, both steps done at nine.
fn coated() -> (Wall, Work) {
    let mut wall = Wall::new(MORNING);
    let list: Checklist = serde_yaml::from_str(COAT).unwrap();
    wall.bench.cards.checklists.insert(list.id.clone(), list);
    wall.air_at(0, 20.0);
    let work = wall.bench.begin("owl", "coat", Some("plain"));
    wall.bench.wait(60);
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    wall.bench.wait(60);
    (wall, work)
}

/// Enters a reading that was taken so many minutes after eight.
fn enter(wall: &mut Wall, minutes: i64, (temp_c, humidity_percent): (f64, f64)) -> Vec<Line> {
    let now = wall.bench.now;
    wall.bench.now = crate::memory::at(MORNING) + Duration::minutes(minutes);
    let air = Intent::Air {
        room: "bench".into(),
        temp_c,
        humidity_percent,
        source: "hand".into(),
    };
    let lines = wall.bench.act(&air).unwrap();
    wall.bench.now = now;
    lines
}

#[test]
fn a_gate_that_the_reading_would_have_shut_is_told() {
    let (mut wall, work) = coated();
    let lines = enter(&mut wall, 30, (20.0, 71.0));
    assert_eq!(lines.len(), 2, "{lines:?}");
    let Deed::Deviated(told) = &lines[1].deed else {
        panic!("{lines:?}");
    };
    assert_eq!((&told.work, told.step.as_str()), (&work, "coat"));
    assert_eq!(told.kind, DeviationKind::Reading);
    assert_eq!(
        told.what,
        "air dry enough was passed 23 Nov 09:00 by odile; by the air entered since it would have \
         been shut: air 71 %, at most 65 %"
    );
    // It waits for the supervisor's answer, like any other deviation.
    let open = wall.bench.standing.figures["owl"].unanswered().count();
    assert_eq!(open, 1);
    wall.bench.assert_live_is_replayed();
}

#[test]
fn the_gates_of_the_operation_are_held_against_it_too() {
    let (mut wall, _) = coated();
    let lines = enter(&mut wall, 30, (9.0, 80.0));
    let told: Vec<(String, bool)> = lines[1..]
        .iter()
        .map(|line| match &line.deed {
            Deed::Deviated(told) => (told.step.clone(), told.what.contains("air 9 °C")),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(told, [(String::new(), true), ("coat".to_owned(), false)]);
}

#[test]
fn what_changes_nothing_is_not_told() {
    for (minutes, air) in [
        (30, (20.0, 60.0)),  // The gate would have been open all the same.
        (90, (20.0, 71.0)),  // Taken after the gate was passed.
        (-30, (20.0, 71.0)), // A younger reading stood behind the gate.
    ] {
        let (mut wall, _) = coated();
        let lines = enter(&mut wall, minutes, air);
        assert_eq!(lines.len(), 1, "{minutes} {lines:?}");
    }
}

#[test]
fn a_gate_that_was_overruled_is_answered_for_already() {
    let mut wall = Wall::new(MORNING);
    let list: Checklist = serde_yaml::from_str(COAT).unwrap();
    wall.bench.cards.checklists.insert(list.id.clone(), list);
    wall.air_at(0, 20.0);
    let work = wall.bench.begin("owl", "coat", Some("plain"));
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    let enter_now = |wall: &mut Wall, humidity| enter(wall, 1, (20.0, humidity));
    enter_now(&mut wall, 70.0);
    wall.bench.wait(2);
    let why = "the fan is on".to_owned();
    let second = None;
    let lines = wall
        .bench
        .at_step("owl", &work, AtStep::Overrule { why, second });
    assert!(
        matches!(&lines.unwrap()[0].deed, Deed::Overruled(it) if it.gate == GateKind::Humidity)
    );
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    wall.bench.wait(30);
    let lines = enter(&mut wall, 1, (20.0, 75.0));
    assert_eq!(lines.len(), 1, "{lines:?}");
}

/// 10 h of a sheet at 20 °C take 10 × 2.5 = 25 h at 10 °C, the slow edge of the band.
#[test]
fn clocks_are_reckoned_anew() {
    let mut wall = Wall::new(MORNING);
    wall.steady(0, 20.0);
    wall.start(
        ClockName::Clamps,
        ClockRule::Cure {
            sheet: sheet(6.0, 8.0, 10.0, 20.0),
            loaded: false,
        },
    );
    wall.bench.wait(30 * 60);
    let before = wall.view(0).opens.unwrap();
    for hour in 0..30 {
        enter(&mut wall, hour * 60, (10.0, 50.0));
    }
    let after = wall.view(0).opens.unwrap();
    assert!(before + Duration::hours(10) < after, "{before} {after}");
}
