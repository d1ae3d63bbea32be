//! The clocks that decide starts: five from one mix, a loaded joint's, and the gloves'.

use knuckle::card::{Checklist, ClockName, Material};
use knuckle::deed::{Use, Value};
use knuckle::standing::{Ask, AtStep, ClockView};

use crate::clocks::{MORNING, Wall, minutes_of};
use crate::published::{near, published};

const RESIN: &str = "
id: resin
name: trial resin
kind: epoxy
source: trial
ratio: {a: 100, b: 45, basis: weight}
pot_life: [{minutes: 20, grams: 100, temp_c: 22}]
closing_min: {early: 45, likely: 60, late: 75, at_c: 22}
handling_h: {early: 8, likely: 12, late: 15, at_c: 22}
load_h: {early: 24, likely: 30, late: 36, at_c: 22}
gloves: [{glove: trial glove, breakthrough_min: 60}]
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
  - {id: gloves, do: d, starts: [{clock: glove, by: epoxy}]}
  - id: mix
    do: d
    record: [{id: grams, ask: Grams, measure: mass}]
    mix: {of: epoxy, need: said}
    starts: [{clock: cup}, {clock: closing}, {clock: clamps}, {clock: load}, {clock: leftover}]
";

/// Mixes 58 g on a joint of the owl at 22 °C; returns the wall right after first contact.
fn mixed_on(joint: &str, breakthrough_min: f64) -> Wall {
    let mut wall = Wall::new(MORNING);
    let mut resin: Material = serde_yaml::from_str(RESIN).unwrap();
    resin.gloves[0].breakthrough_min = breakthrough_min;
    let list: Checklist = serde_yaml::from_str(MIX).unwrap();
    wall.bench.cards.materials.insert(resin.id.clone(), resin);
    wall.bench.cards.checklists.insert(list.id.clone(), list);
    wall.steady(60, 22.0);
    let work = wall.bench.begin("owl", "mix", Some(joint));
    for _ in 0..9 {
        let what = match wall.bench.prompt("owl", &work).ask {
            Ask::Finished { .. } => break,
            Ask::Reading { .. } => AtStep::Enter {
                value: Value::Number(58.0),
                again: true,
            },
            other => wall.bench.answer_hand(&other),
        };
        wall.bench.at_step("owl", &work, what).unwrap();
    }
    wall
}

fn of(wall: &Wall, clock: ClockName) -> ClockView {
    let views = wall.views(wall.bench.now);
    views.into_iter().find(|view| view.clock == clock).unwrap()
}

#[test]
fn one_mix_starts_five_clocks_from_first_contact() {
    let wall = mixed_on("plain", 60.0);
    let minutes = |clock| {
        let view = of(&wall, clock);
        minutes_of(&view, view.closes.or(view.opens))
    };
    // What the card prints: the early bound of what is done before, the late of what is waited for.
    near(minutes(ClockName::Cup), 20.0, 1e-3, "cup");
    near(minutes(ClockName::Closing), 45.0, 1e-3, "closing");
    near(minutes(ClockName::Clamps), 15.0 * 60.0, 1e-3, "clamps");
    near(minutes(ClockName::Load), 36.0 * 60.0, 1e-3, "load");
    near(
        minutes(ClockName::Leftover),
        120.0,
        1e-3,
        "leftover, common practice",
    );
    let starts: Vec<_> = wall
        .views(wall.bench.now)
        .iter()
        .map(|view| view.started)
        .collect();
    assert!(starts.iter().all(|start| *start == starts[0]) && starts.len() == 6);
    // What dies first comes first: the third of the gloves and the cup are both 20 min.
    let order: Vec<_> = wall
        .views(wall.bench.now)
        .iter()
        .map(|view| view.clock)
        .collect();
    assert_eq!(
        order[2..],
        [
            ClockName::Closing,
            ClockName::Leftover,
            ClockName::Clamps,
            ClockName::Load
        ]
    );
}

// Common practice: a sprung or loaded joint stays in its clamps twice as long.
#[test]
fn a_loaded_joint_stays_in_its_clamps_twice_as_long() {
    let (plain, loaded) = (mixed_on("plain", 60.0), mixed_on("loaded", 60.0));
    let opens = |wall: &Wall| {
        minutes_of(
            &of(wall, ClockName::Clamps),
            of(wall, ClockName::Clamps).opens,
        )
    };
    near(opens(&loaded), 2.0 * opens(&plain), 1e-3, "clamps");
}

// EN ISO 374-1 levels, each used to a third of its breakthrough.
#[test]
fn gloves_are_used_to_a_third_of_their_breakthrough() {
    let mut rows = 0;
    for row in published("glove_levels") {
        let breakthrough = row.number("breakthrough_over_min");
        if 0.0 < breakthrough {
            let wall = mixed_on("plain", breakthrough);
            let view = of(&wall, ClockName::Glove);
            assert_eq!(view.side, Use::DoBefore);
            let minutes = minutes_of(&view, view.closes);
            // The table rounds down to whole minutes. Longer than 120 min no glove is worn,
            // own judgement on the safe side, as in the sum itself.
            near(
                minutes.floor(),
                row.number("service_min_one_third").min(120.0),
                1e-9,
                "a third",
            );
            rows += 1;
        }
    }
    assert_eq!(rows, 6);
}
