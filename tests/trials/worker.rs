//! Odile's evening at joint J3 of the hare, through decide: what goes wrong with a cup, a
//! rehearsal, a gap map, a clamp and a nail, and what stays visible of it.

use chrono::Duration;
use knuckle::card::{ClockName, Measure};
use knuckle::deed::{Deed, DeviationKind, Pouring, Use, Value, Work};
use knuckle::standing::{
    Ask, AtStep, HoldWaiting, Intent, JobState, Matter, OpensBy, Prompt, Stage, holds, matters,
    offers,
};

use crate::laws::cards;
use crate::memory::{Answered, Bench, at};

const MIX: &str = "mix-and-lay-up";

/// A bench at which J3 is dry, read at 1 mm throughout and rehearsed in so many minutes.
fn rehearsed(minutes: f64) -> Bench {
    rehearsed_at(minutes, 1.0)
}

fn rehearsed_at(minutes: f64, gap_mm: f64) -> Bench {
    let mut bench = Bench::new(cards(), at("2026-11-23T08:00:00+00:00"));
    for zone in ["body-near", "saddle-seat"] {
        bench.walk("hare", "dry", Some(zone), &mut |_| None);
    }
    bench.walk(
        "hare",
        "dry-fit",
        Some("J3"),
        &mut |prompt| match &prompt.ask {
            Ask::Reading { record, .. } if record == "rehearsal" => Some(number(minutes)),
            Ask::Reading { record, .. } if record == "gap" => Some(number(gap_mm)),
            _ => None,
        },
    );
    bench.by = "odile".into();
    bench
}

fn number(value: f64) -> AtStep {
    AtStep::Enter {
        value: Value::Number(value),
        again: true,
    }
}

fn word(text: &str) -> AtStep {
    AtStep::Enter {
        value: Value::Text(text.into()),
        again: true,
    }
}

/// Walks on until the step in front asks for something that is looked for.
pub(crate) fn until(bench: &mut Bench, work: &Work, found: &dyn Fn(&Prompt) -> bool) -> Prompt {
    for _ in 0..600 {
        let prompt = bench.prompt("hare", work);
        if found(&prompt) {
            return prompt;
        }
        bench.wait(1);
        match bench.answer_once("hare", work, &prompt) {
            Answered::Acted => {}
            Answered::Waits => {
                bench.wait(60 * 6);
                bench.read_air("hare");
            }
            Answered::First(operation, _) => {
                panic!("{operation} is missing before {}", prompt.step)
            }
        }
    }
    panic!("never came: stands at {:?}", bench.prompt("hare", work).ask);
}

/// The cup of J3 before its first pour.
pub(crate) fn at_the_balance() -> (Bench, Work) {
    let mut bench = rehearsed(6.0);
    let work = bench.begin("hare", MIX, Some("J3"));
    until(&mut bench, &work, &|prompt| {
        matches!(prompt.ask, Ask::Pour { .. })
    });
    (bench, work)
}

pub(crate) fn asked(bench: &Bench, work: &Work) -> (Pouring, f64) {
    match bench.prompt("hare", work).ask {
        Ask::Pour { part, asked_g, .. } => (part, asked_g),
        other => panic!("{other:?}"),
    }
}

/// Pours the resin as asked and the hardener off by a share.
pub(crate) fn pour_off(bench: &mut Bench, work: &Work, off: f64) -> [f64; 2] {
    let (part, a) = asked(bench, work);
    assert_eq!(part, Pouring::Resin);
    bench
        .at_step("hare", work, AtStep::Pour { grams: a })
        .unwrap();
    let (part, b) = asked(bench, work);
    assert_eq!(part, Pouring::Hardener);
    let poured = b * (1.0 + off / 100.0);
    bench
        .at_step("hare", work, AtStep::Pour { grams: poured })
        .unwrap();
    [a, poured]
}

pub(crate) fn deviations(bench: &Bench) -> Vec<(DeviationKind, String)> {
    let matters = &bench.standing.figures["hare"].matters;
    matters
        .iter()
        .filter_map(|open| match open.matter {
            Matter::Deviation(kind) => Some((kind, open.what.clone())),
            _ => None,
        })
        .collect()
}

#[test]
fn a_cup_three_per_cent_off_is_used_and_noted() {
    let (mut bench, work) = at_the_balance();
    let [a, b] = pour_off(&mut bench, &work, 3.0);
    let Ask::Start {
        off_percent,
        verdict,
        promise_min,
        ..
    } = bench.prompt("hare", &work).ask
    else {
        panic!("{:?}", bench.prompt("hare", &work).ask);
    };
    // The medium epoxy is 100:45 by weight.
    assert!((off_percent - (b / (a * 0.45) - 1.0) * 100.0).abs() < 1e-9);
    assert!(2.0 < off_percent && off_percent < 5.0);
    assert_eq!(verdict, "off, but within 5 %: noted");
    assert!(
        0.0 < promise_min && promise_min <= 20.0 * 1.5_f64.powf(0.2),
        "20 min on the sheet at 22 °C; 20 °C is credited 1.5 per 10 °C at most: {promise_min}"
    );
    let lines = bench.at_step("hare", &work, AtStep::Start).unwrap();
    let Deed::Mixed(mixed) = &lines[0].deed else {
        panic!("{lines:?}")
    };
    assert!((mixed.a_g - a).abs() < 1e-9 && (mixed.b_g - b).abs() < 1e-9);
    assert_eq!(mixed.starts.len(), 5, "five clocks from one mix");
    let all = deviations(&bench);
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].0, DeviationKind::WeightOff);
    bench.assert_live_is_replayed();
}

/// What is a little off can still be put right, by the part that lacks.
#[test]
fn a_cup_three_per_cent_off_can_be_put_right() {
    let (mut bench, work) = at_the_balance();
    let [a, b] = pour_off(&mut bench, &work, 3.0);
    let Ask::Start {
        add: Some((part, grams)),
        ..
    } = bench.prompt("hare", &work).ask
    else {
        panic!("{:?}", bench.prompt("hare", &work).ask);
    };
    assert_eq!(part, Pouring::Resin);
    assert!((grams - (b / 0.45 - a)).abs() <= 0.05 + 1e-9, "{grams}");
    bench
        .at_step("hare", &work, AtStep::Pour { grams })
        .unwrap();
    let Ask::Start {
        off_percent, add, ..
    } = bench.prompt("hare", &work).ask
    else {
        unreachable!()
    };
    assert!(off_percent.abs() < 0.5, "{off_percent}");
    assert_eq!(add, None);
    bench.at_step("hare", &work, AtStep::Start).unwrap();
    assert_eq!(deviations(&bench), []);
    // The press is all that the step still wanted.
    assert_eq!(bench.prompt("hare", &work).step, "stir");
}

#[test]
fn a_good_cup_is_no_deviation() {
    let (mut bench, work) = at_the_balance();
    pour_off(&mut bench, &work, 0.0);
    bench.at_step("hare", &work, AtStep::Start).unwrap();
    assert_eq!(deviations(&bench), []);
}

#[test]
fn a_cup_seven_per_cent_off_is_put_right_or_thrown_away() {
    let (mut bench, work) = at_the_balance();
    let [a, b] = pour_off(&mut bench, &work, 7.0);
    let Ask::PourOff {
        off_percent,
        add: Some((part, grams)),
        poured,
    } = bench.prompt("hare", &work).ask
    else {
        panic!("{:?}", bench.prompt("hare", &work).ask);
    };
    assert!(5.0 < off_percent);
    assert_eq!(
        part,
        Pouring::Resin,
        "too much hardener wants more resin, never less"
    );
    assert!(
        (grams - (b / 0.45 - a)).abs() <= 0.05 + 1e-9,
        "{grams} g to the tenth"
    );
    assert_eq!(poured, [(Pouring::Resin, a), (Pouring::Hardener, b)]);
    let refusal = bench.at_step("hare", &work, AtStep::Start).unwrap_err();
    assert!(
        refusal.why.starts_with("the cup is off by"),
        "{}",
        refusal.why
    );

    let mut mended = (bench.standing.clone(), bench.lines.clone());
    bench
        .at_step("hare", &work, AtStep::Pour { grams })
        .unwrap();
    assert!(
        matches!(bench.prompt("hare", &work).ask, Ask::Start { off_percent, .. } if off_percent.abs() < 1.0)
    );
    assert_eq!(
        deviations(&bench),
        [],
        "what was put right before it met the wood is no deviation"
    );

    // The same cup, thrown away instead.
    std::mem::swap(&mut bench.standing, &mut mended.0);
    std::mem::swap(&mut bench.lines, &mut mended.1);
    let no = bench.at_step("hare", &work, AtStep::Discard { why: " ".into() });
    assert!(no.is_err(), "a cup is thrown away with its reason");
    bench
        .at_step(
            "hare",
            &work,
            AtStep::Discard {
                why: "heavy hand".into(),
            },
        )
        .unwrap();
    let all = deviations(&bench);
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].0, DeviationKind::WeightOff);
    assert!(all[0].1.contains("heavy hand"), "{}", all[0].1);
    assert_eq!(
        asked(&bench, &work),
        (Pouring::Resin, a),
        "a new cup begins with the resin"
    );
}

#[test]
fn a_cup_that_would_grow_by_more_than_a_quarter_can_only_be_thrown_away() {
    let (mut bench, work) = at_the_balance();
    pour_off(&mut bench, &work, 60.0);
    assert!(matches!(
        bench.prompt("hare", &work).ask,
        Ask::PourOff { add: None, .. }
    ));
    let no = bench
        .at_step("hare", &work, AtStep::Pour { grams: 5.0 })
        .unwrap_err();
    assert_eq!(no.why, "this cup cannot be put right: throw it away");
}

#[test]
fn a_rehearsal_over_half_the_promise_refuses_the_batch_with_its_reason() {
    let mut bench = rehearsed(18.0);
    let work = bench.begin("hare", MIX, Some("J3"));
    let prompt = until(&mut bench, &work, &|prompt| {
        matches!(prompt.ask, Ask::Batch { .. })
    });
    let Ask::Batch { offers } = prompt.ask else {
        unreachable!()
    };
    let medium = offers
        .iter()
        .find(|offer| offer.material == "medium-epoxy")
        .unwrap();
    // 20 min on the sheet: half of it is 10 at most, whatever the cups.
    let why = medium.refused.clone().unwrap();
    assert!(why.contains("the clamps took 18 min in rehearsal"), "{why}");
    assert!(why.contains("slower hardener, or two stages"), "{why}");
    let plan = AtStep::Plan {
        material: "medium-epoxy".into(),
    };
    assert_eq!(bench.at_step("hare", &work, plan).unwrap_err().why, why);
}

#[test]
fn a_gap_reading_that_was_left_out_is_a_deviation_and_never_a_thin_joint() {
    let mut bench = Bench::new(cards(), at("2026-11-23T08:00:00+00:00"));
    for zone in ["body-near", "saddle-seat"] {
        bench.walk("hare", "dry", Some(zone), &mut |_| None);
    }
    // One whole row was never read.
    bench.walk(
        "hare",
        "dry-fit",
        Some("J3"),
        &mut |prompt| match &prompt.ask {
            Ask::Reading {
                station: Some(station),
                ..
            } if station.starts_with("200 mm") => Some(AtStep::Leave {
                why: "feeler broke".into(),
            }),
            _ => None,
        },
    );
    assert_eq!(deviations(&bench).len(), 5);
    bench.by = "odile".into();
    let work = bench.begin("hare", MIX, Some("J3"));
    // The bench asks for the missing row again before the cup.
    let prompt = until(&mut bench, &work, &|prompt| {
        prompt.step == "gaps" && matches!(prompt.ask, Ask::Reading { .. })
    });
    assert!(
        matches!(&prompt.ask, Ask::Reading { station: Some(s), .. } if s == "200 mm, 1 of 5"),
        "{:?}",
        prompt.ask
    );
    for _ in 0..5 {
        bench
            .at_step(
                "hare",
                &work,
                AtStep::Leave {
                    why: "no time".into(),
                },
            )
            .unwrap();
    }
    let prompt = until(&mut bench, &work, &|prompt| prompt.step == "mix");
    let Ask::Gate(verdict) = &prompt.ask else {
        panic!("{:?}", prompt.ask)
    };
    assert_eq!(verdict.name, "gap map complete");
    assert!(verdict.hard && !verdict.open);
    assert_eq!(verdict.opens_by, OpensBy::Operation("dry-fit".into()));
}

#[test]
fn a_joint_closed_too_late_is_a_deviation_that_says_by_how_much() {
    let (mut bench, work) = at_the_balance();
    pour_off(&mut bench, &work, 0.0);
    bench.at_step("hare", &work, AtStep::Start).unwrap();
    until(&mut bench, &work, &|prompt| prompt.step == "tighten");
    let closing = bench.standing.figures["hare"]
        .clocks
        .iter()
        .find(|clock| clock.clock == ClockName::Closing);
    let view = knuckle::standing::view(bench.house(), "hare", closing.unwrap(), bench.now);
    assert_eq!(view.side, Use::DoBefore);
    bench.now = view.closes.unwrap() + Duration::minutes(7);
    bench.at_step("hare", &work, AtStep::Done).unwrap();
    let all = deviations(&bench);
    assert_eq!(all.len(), 1, "{all:?}");
    assert_eq!(all[0].0, DeviationKind::TooLate);
    assert!(all[0].1.contains("7 min after its time"), "{}", all[0].1);
}

#[test]
fn a_joint_closed_just_in_time_is_no_deviation() {
    let (mut bench, work) = at_the_balance();
    pour_off(&mut bench, &work, 0.0);
    bench.at_step("hare", &work, AtStep::Start).unwrap();
    until(&mut bench, &work, &|prompt| prompt.step == "tighten");
    let closing = bench.standing.figures["hare"]
        .clocks
        .iter()
        .find(|clock| clock.clock == ClockName::Closing);
    let view = knuckle::standing::view(bench.house(), "hare", closing.unwrap(), bench.now);
    bench.now = view.closes.unwrap() - Duration::seconds(1);
    bench.at_step("hare", &work, AtStep::Done).unwrap();
    assert_eq!(deviations(&bench), []);
}

/// Two cups, one after another: the first closes the joint, not the last.
#[test]
fn with_several_cups_the_first_one_says_when_the_joint_is_late() {
    let mut bench = rehearsed_at(9.0, 3.0);
    let work = bench.begin("hare", MIX, Some("J3"));
    let mut first = None;
    until(&mut bench, &work, &|prompt| {
        matches!(prompt.ask, Ask::Pour { .. })
    });
    loop {
        let prompt = bench.prompt("hare", &work);
        match prompt.ask {
            Ask::Pour { cups, .. } => assert!(2 <= cups, "{:?}", prompt.ask),
            Ask::Start { .. } => {}
            _ => break,
        }
        assert!(matches!(
            bench.answer_once("hare", &work, &prompt),
            Answered::Acted
        ));
        if first.is_none() && !bench.standing.figures["hare"].clocks.is_empty() {
            first = bench.standing.figures["hare"]
                .clocks
                .iter()
                .find(|c| c.clock == ClockName::Closing)
                .cloned();
            if first.is_some() {
                bench.wait(5);
            }
        }
    }
    until(&mut bench, &work, &|prompt| prompt.step == "tighten");
    let view = knuckle::standing::view(bench.house(), "hare", &first.unwrap(), bench.now);
    bench.now = view.closes.unwrap() + Duration::minutes(5);
    bench.at_step("hare", &work, AtStep::Done).unwrap();
    let late: Vec<_> = deviations(&bench)
        .into_iter()
        .filter(|(kind, _)| *kind == DeviationKind::TooLate)
        .collect();
    assert_eq!(late.len(), 1, "{late:?}");
}

/// Walks J3 up to the nail and finds the bead cheesy.
fn cheesy() -> (Bench, Work) {
    let (mut bench, work) = at_the_balance();
    until(
        &mut bench,
        &work,
        &|prompt| matches!(&prompt.ask, Ask::Choice { record, .. } if record == "nail"),
    );
    bench.at_step("hare", &work, word("cheesy")).unwrap();
    bench.at_step("hare", &work, AtStep::Done).unwrap();
    (bench, work)
}

#[test]
fn a_cheesy_bead_goes_back_to_the_open_joint_and_round_one_stays_visible() {
    let (mut bench, first) = cheesy();
    let figure = &bench.standing.figures["hare"];
    let JobState::SentBack { back_to, why, .. } = &figure.job(&first).unwrap().state else {
        panic!("{:?}", figure.job(&first).unwrap().state);
    };
    assert_eq!(back_to, "open-joint");
    assert!(why.starts_with("Cheesy resin never hardens"), "{why}");
    let no = bench.at_step("hare", &first, AtStep::Done).unwrap_err();
    assert_eq!(no.why, "this work is closed: begin another round");
    let offer = |bench: &Bench, operation: &str| {
        let all = offers(bench.house(), "hare");
        let here = |offer: &&knuckle::standing::Offer| {
            offer.work.operation == operation && offer.work.target.as_deref() == Some("J3")
        };
        let found = all.iter().find(here).unwrap();
        (found.stage, found.work.round)
    };
    assert_eq!(offer(&bench, MIX).1, 2);
    assert_ne!(offer(&bench, MIX).0, Stage::Done);

    bench.walk("hare", "open-joint", Some("J3"), &mut |_| None);
    bench.by = "odile".into();
    let second = bench.begin("hare", MIX, Some("J3"));
    assert_eq!(second.round, 2);
    let figure = &bench.standing.figures["hare"];
    let old = figure.job(&first).unwrap();
    assert_eq!(
        old.acts["mix"].mixed.len(),
        1,
        "what was mixed in round 1 stays on record"
    );
    assert_eq!(
        old.recorded("nail").unwrap().value,
        Value::Text("cheesy".into())
    );
    assert!(
        figure.job(&second).unwrap().acts.is_empty(),
        "round 2 begins with nothing ticked"
    );
    bench.assert_live_is_replayed();
}

/// Refusals of the hare that wait beside these hold points.
fn refusals(bench: &Bench, waiting: &[HoldWaiting]) -> usize {
    let open = matters(bench.house(), "hare", waiting);
    open.filter(|open| open.matter == Matter::HoldRefused)
        .count()
}

#[test]
fn the_supervisor_signs_and_never_the_worker() {
    let (mut bench, work) = at_the_balance();
    let prompt = until(&mut bench, &work, &|prompt| {
        matches!(prompt.ask, Ask::Hold { .. })
    });
    let Ask::Hold { may_sign, .. } = prompt.ask else {
        unreachable!()
    };
    assert_eq!(may_sign, ["tobias", "marguerite"]);
    let sign = |accepted, why: &str| AtStep::Sign {
        accepted,
        why: why.into(),
    };
    assert_eq!(
        bench
            .at_step("hare", &work, sign(true, ""))
            .unwrap_err()
            .why,
        "Odile may not sign this"
    );
    bench.by = "marguerite".into();
    assert_eq!(
        bench
            .at_step("hare", &work, sign(false, " "))
            .unwrap_err()
            .why,
        "a refusal needs its reason"
    );
    bench
        .at_step("hare", &work, sign(false, "step at the seam"))
        .unwrap();
    let figure = &bench.standing.figures["hare"];
    let open: Vec<_> = figure
        .unanswered()
        .filter(|open| open.matter == Matter::HoldRefused)
        .map(|open| (open.matter, open.what.clone()))
        .collect();
    assert_eq!(open.len(), 1);
    assert_eq!(open[0].0, Matter::HoldRefused);
    assert!(open[0].1.ends_with("step at the seam"));
    assert_eq!(figure.job(&work).unwrap().state, JobState::Open);
    // It waits once: as the hold point that it is, which says that it was refused.
    let waiting = holds(bench.house(), bench.now);
    assert_eq!(waiting.len(), 1);
    let told = waiting[0].told();
    assert!(
        told.ends_with("; refused by marguerite: step at the seam"),
        "{told}"
    );
    assert_eq!(refusals(&bench, &waiting), 0);
    assert_eq!(refusals(&bench, &[]), 1);
    bench.wait(30);
    bench.by = "odile".to_owned();
    let again = AtStep::ShowAgain {
        said: "filled and pared".to_owned(),
    };
    bench.at_step("hare", &work, again).unwrap();
    bench.by = "marguerite".to_owned();
    bench.at_step("hare", &work, sign(true, "")).unwrap();
    assert_eq!(refusals(&bench, &[]), 0);
    assert!(matches!(
        bench.standing.figures["hare"].job(&work).unwrap().state,
        JobState::Finished(_)
    ));
}

#[test]
fn a_deviation_is_answered_once_by_another_with_the_mark() {
    let (mut bench, work) = at_the_balance();
    pour_off(&mut bench, &work, 3.0);
    bench.at_step("hare", &work, AtStep::Start).unwrap();
    let line = bench.standing.figures["hare"].matters[0].stamp.n;
    let answer = |accepted, why: &str| Intent::Answer {
        figure: "hare".into(),
        line,
        accepted,
        why: why.into(),
    };
    assert_eq!(
        bench.act(&answer(true, "")).unwrap_err().why,
        "Odile has no mark to answer this"
    );
    bench.by = "tobias".into();
    assert_eq!(
        bench.act(&answer(false, "")).unwrap_err().why,
        "a refusal needs its reason"
    );
    bench.act(&answer(true, "")).unwrap();
    assert_eq!(
        bench.act(&answer(true, "")).unwrap_err().why,
        format!("line {line} is answered already")
    );
    assert_eq!(bench.standing.figures["hare"].unanswered().count(), 0);
    assert_eq!(deviations(&bench).len(), 1, "answered, it stays on record");
}

/// A resin that no batch will be given with is not taken down as brought to its warmth.
#[test]
fn a_cold_resin_is_warmed_at_the_step_that_brings_it_there() {
    let mut bench = rehearsed(6.0);
    let work = bench.begin("hare", MIX, Some("J3"));
    let resin = Measure::ResinTemperature;
    until(
        &mut bench,
        &work,
        &|prompt| matches!(&prompt.ask, Ask::Reading { measure, .. } if *measure == resin),
    );
    let read = |value: f64, again| AtStep::Enter {
        value: Value::Number(value),
        again,
    };
    for again in [false, true] {
        let no = bench.at_step("hare", &work, read(12.0, again)).unwrap_err();
        assert_eq!(
            no.why,
            "12 °C: its sheet gives no batch outside 15 to 27 °C"
        );
        assert!(!no.ask_again);
    }
    bench.at_step("hare", &work, read(20.0, false)).unwrap();
}

/// What went into a cup that was thrown away is gone from its tins, mixed or not.
#[test]
fn a_cup_that_was_thrown_away_came_from_its_tins() {
    let used = |bench: &Bench| -> f64 {
        let uses = knuckle::plan::uses(bench.house()).into_iter();
        let of_epoxy = uses.filter(|one| one.tin.material.contains("epoxy"));
        of_epoxy.filter_map(|one| one.amount).sum()
    };
    let (mut bench, work) = at_the_start();
    assert!(used(&bench).abs() < 1e-9);
    let why = "off the ratio".to_owned();
    let discard = AtStep::Discard { why };
    bench.at_step("hare", &work, discard.clone()).unwrap();
    let lost = used(&bench);
    assert!(0.0 < lost, "{lost}");
    // The next cup is used besides; thrown away after its press it counts once all the same.
    loop {
        let prompt = bench.prompt("hare", &work);
        bench.answer("hare", &work, &prompt);
        if matches!(prompt.ask, Ask::Start { .. }) {
            break;
        }
    }
    let both = used(&bench);
    assert!(lost < both, "{lost} {both}");
    bench.at_step("hare", &work, discard).unwrap();
    assert!((used(&bench) - both).abs() < 1e-9);
}

/// The hare's joint with both parts weighed into its cup.
fn at_the_start() -> (Bench, Work) {
    let mut bench = Bench::new(cards(), at("2026-11-23T08:00:00+00:00"));
    let mut is_weighed = |prompt: &Prompt| matches!(prompt.ask, Ask::Start { .. });
    let work = bench.walk_until("hare", MIX, Some("J3"), &mut is_weighed);
    (bench, work)
}
