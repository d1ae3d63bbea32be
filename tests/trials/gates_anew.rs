//! Gates of an operation judged again where it cannot be undone, every zone of a seam, and who
//! may be the second pair of eyes: nobody who had a hand in the work.

use knuckle::card::{Checklist, Measure};
use knuckle::deed::{Deed, Done, Signed, Value};
use knuckle::standing::{Ask, AtStep, Book, OpensBy};

use crate::clocks::{MORNING, Wall};
use crate::gates::{Gate, on};
use crate::memory::{Bench, at, sample_cards};

const CORE: (Measure, &str) = (Measure::MoistureCore, "1");

/// Dry and steady: two readings of a zone two days apart.
fn dry(gate: &mut Gate, zones: &[&str]) {
    for _ in 0..2 {
        for zone in zones {
            gate.read(zone, CORE, 9.0);
        }
        gate.wait(60 * 49);
    }
}

/// What was read some steps before and shuts a gate now is read again there, or the hand would
/// stand before a gate that nothing opens: the wood was cold, and has been warmed since.
#[test]
fn a_reading_of_an_earlier_step_is_taken_anew_from_the_gate_that_it_shuts() {
    const COLD: &str = "
id: glue
order: 1
title: Glue
trade: any
scope: joint
why: w
steps:
  - {id: warmth, do: Read, record: [{id: wood, ask: Wood, measure: surface_temperature}]}
  - {id: gloves, do: Gloves on}
  - {id: mix, do: Mix, gates: [{gate: temperature}]}
";
    let mut wall = Wall::new(MORNING);
    let list: Checklist = serde_yaml::from_str(COLD).unwrap();
    wall.bench.cards.checklists.insert(list.id.clone(), list);
    wall.bench.air = (20.0, 50.0);
    wall.bench.read_air("owl");
    let work = wall.bench.begin("owl", "glue", Some("plain"));
    let read = |celsius| AtStep::Enter {
        value: Value::Number(celsius),
        again: true,
    };
    wall.bench.at_step("owl", &work, read(9.0)).unwrap();
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    let Ask::Gate(verdict) = wall.bench.prompt("owl", &work).ask else {
        panic!("cold wood has to stop the mix")
    };
    assert_eq!(verdict.why, "wood 9 °C, must be 15 to 27 °C");

    wall.bench.at_step("owl", &work, AtStep::ReadAgain).unwrap();
    let ask = wall.bench.prompt("owl", &work).ask;
    assert!(
        matches!(&ask, Ask::Reading { ask, .. } if ask == "Wood"),
        "{ask:?}"
    );
    wall.bench.at_step("owl", &work, read(18.0)).unwrap();
    wall.bench.at_step("owl", &work, AtStep::Done).unwrap();
    let ask = wall.bench.prompt("owl", &work).ask;
    assert!(
        !matches!(ask, Ask::Gate(_) | Ask::Reading { .. }),
        "{ask:?}"
    );
    wall.bench.assert_live_is_replayed();
}

#[test]
fn a_seam_asks_for_readings_of_every_zone_it_runs_through() {
    let mut gate = Gate::new("joint", Some("J1"), "gate: moisture");
    gate.assert_shut("no moisture reading at depth here");
    dry(&mut gate, &["front"]);
    let verdict = gate.assert_shut("no moisture reading at depth on back");
    assert_eq!(verdict.opens_by, OpensBy::Operation("dry".into()));
    dry(&mut gate, &["front", "back"]);
    gate.assert_open();
    let mut zone = Gate::zone("gate: moisture");
    dry(&mut zone, &["front"]);
    zone.assert_open();
}

/// Moisture is good for 72 h (*common practice*): what was dry at the first step is judged
/// again at the mix.
#[test]
fn what_opened_the_operation_is_judged_again_before_the_mix() {
    let mut bench = Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
    let mut before_mix = |prompt: &knuckle::standing::Prompt| {
        matches!(prompt.ask, Ask::Batch { .. } | Ask::Cautions(_) if prompt.step == "mix")
            || matches!(prompt.ask, Ask::Batch { .. })
    };
    let work = bench.walk_until("hare", "mix-and-lay-up", Some("J3"), &mut before_mix);
    let step = bench.prompt("hare", &work).step;
    bench.wait(60 * 80);
    let prompt = bench.prompt("hare", &work);
    let Ask::Gate(verdict) = &prompt.ask else {
        panic!("no gate at the mix after 80 h: {:?}", prompt.ask);
    };
    assert_eq!(prompt.step, step);
    assert!(
        verdict.why.contains("a point was last read"),
        "{}",
        verdict.why
    );
    assert_eq!(verdict.opens_by, OpensBy::Operation("dry".into()));
}

/// What a second person let pass for the operation is not asked anew at each coat.
#[test]
fn an_overrule_of_the_operation_holds_at_its_steps() {
    let text = "
id: trial
order: 1
title: Trial
trade: any
scope: zone
why: w
gates: [{gate: scheme}]
steps: [{id: s, do: D}, {id: coat, do: Coat, coats: {of: primer, count: 1}}]
";
    let mut gate = Gate::zone("gate: scheme");
    let list: knuckle::card::Checklist = serde_yaml::from_str(text).unwrap();
    gate.bench.cards.checklists.insert("trial".into(), list);
    gate.assert_shut("not finished");
    gate.overrule("owner waits", Some("marguerite")).unwrap();
    gate.assert_open();
    gate.act(AtStep::Done).unwrap();
    gate.assert_open();
    let mut held = Gate::zone("gate: scheme");
    held.bench.cards = gate.bench.cards.clone();
    held.keep(Deed::Done(Done {
        work: on("trial", "front"),
        step: "s".into(),
        starts: Vec::new(),
        ends: Vec::new(),
        coat: None,
    }));
    held.assert_shut("not finished");
}

fn done(gate: &mut Gate, step: &str, by: &str) {
    gate.bench.by = by.into();
    gate.keep(Deed::Done(Done {
        work: on("trial", "front"),
        step: step.into(),
        starts: Vec::new(),
        ends: Vec::new(),
        coat: None,
    }));
}

#[test]
fn the_second_person_has_done_no_step_of_the_work() {
    let mut gate = Gate::zone("gate: scheme");
    done(&mut gate, "earlier", "marguerite");
    done(&mut gate, "later", "odile");
    let no = gate
        .overrule("owner waits", Some("marguerite"))
        .unwrap_err();
    assert_eq!(
        no.why,
        "Marguerite did a step of this work: the second person must come to it fresh"
    );
}

#[test]
fn who_did_any_step_does_not_sign_the_work() {
    let text = "
id: trial
order: 1
title: Trial
trade: any
scope: zone
why: w
steps: [{id: s, do: D}, {id: show, do: Show it, hold: {sign: It is so, mark: sign}}]
";
    let mut gate = Gate::zone("gate: scheme");
    let list: knuckle::card::Checklist = serde_yaml::from_str(text).unwrap();
    gate.bench.cards.checklists.insert("trial".into(), list);
    done(&mut gate, "before", "marguerite");
    done(&mut gate, "s", "odile");
    let work = gate.work.clone();
    let prompt = gate.bench.prompt("owl", &work);
    assert_eq!(prompt.hands, ["marguerite", "odile"]);
    let Ask::Hold { may_sign, .. } = prompt.ask else {
        panic!("{:?}", prompt.ask);
    };
    assert_eq!(may_sign, ["tobias"]);
}

/// A signature is no work: who signed a hold point in the middle signs the one at the end too.
#[test]
fn who_only_signed_may_sign_again() {
    let mut gate = Gate::zone("gate: scheme");
    gate.bench.by = "marguerite".into();
    gate.bench.keep(
        &Book::Figure("owl".into()),
        Deed::Signed(Signed {
            work: on("trial", "front"),
            step: "seen".into(),
            said: "seen".into(),
            accepted: true,
            why: String::new(),
        }),
    );
    let job = gate.bench.standing.figures["owl"].job(&gate.work).unwrap();
    assert!(job.hands().is_empty());
}
