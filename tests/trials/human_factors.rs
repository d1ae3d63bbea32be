//! How list, hand and head go together: the manner of each operation, short lists with what
//! kills first, work that was left half done, nobody alone, coats that are sprayed.

use std::collections::BTreeMap;

use knuckle::card::{Caution, Checklist, Effect, Manner, MaterialKind, Step, When};
use knuckle::deed::{Deed, TickKind, Value, Work};
use knuckle::standing::{ALONE, Ask, AtStep, Intent, Matter, PAUSE_MIN, WITHIN_CALL};

use crate::checklists::{all, steps};
use crate::memory::{Bench, at, sample_cards};

/// The manner of each operation (*own judgement*): read-do where work is rare, dangerous or
/// cannot be undone, do-confirm where the hand knows its way.
const MANNERS: [(&str, Manner); 24] = [
    ("receive", Manner::DoConfirm),
    ("photograph", Manner::DoConfirm),
    ("lead-test", Manner::ReadDo),
    ("layer-study", Manner::DoConfirm),
    ("scheme", Manner::DoConfirm),
    ("strip", Manner::ReadDo),
    ("detail-clean", Manner::ReadDo),
    ("wash", Manner::ReadDo),
    ("dry", Manner::DoConfirm),
    ("joint-survey", Manner::DoConfirm),
    ("open-joint", Manner::ReadDo),
    ("dry-fit", Manner::DoConfirm),
    ("mix-and-lay-up", Manner::ReadDo),
    ("consolidate", Manner::ReadDo),
    ("splice", Manner::DoConfirm),
    ("fill", Manner::DoConfirm),
    ("sand", Manner::DoConfirm),
    ("prime", Manner::DoConfirm),
    ("body-colour", Manner::DoConfirm),
    ("blend-and-line", Manner::DoConfirm),
    ("size-and-leaf", Manner::DoConfirm),
    ("varnish", Manner::DoConfirm),
    ("final-inspection", Manner::DoConfirm),
    ("hand-over", Manner::DoConfirm),
];

#[test]
fn each_operation_has_the_manner_that_suits_it() {
    let found: Vec<(String, Manner)> = all()
        .into_iter()
        .map(|(_, list)| (list.id, list.manner))
        .collect();
    let wanted: Vec<(String, Manner)> =
        MANNERS.map(|(id, manner)| (id.to_owned(), manner)).to_vec();
    assert_eq!(found, wanted);
    let yaml =
        "{id: x, order: 1, title: X, trade: any, scope: zone, why: w, steps: [{id: s, do: D}]}";
    let silent: Checklist = serde_yaml::from_str(yaml).unwrap();
    assert_eq!(
        silent.manner,
        Manner::ReadDo,
        "the careful manner where nothing is said"
    );
}

/// 5 to 9 items a pause (surgical checklist manual of the WHO, 2008, advice on adapting it;
/// *from memory*): no stop of ours shows more than nine lines to tick.
#[test]
fn no_pause_asks_for_more_than_nine_lines() {
    const MOST: usize = 9;
    for (name, list) in all() {
        assert!(
            list.cautions.len() <= MOST,
            "{name}: cautions of the operation"
        );
        for step in steps(&list) {
            assert!(step.confirm.len() <= MOST, "{name}/{}: checks", step.id);
            assert!(step.cautions.len() <= MOST, "{name}/{}: cautions", step.id);
        }
    }
}

/// Words of checks that keep somebody alive or the house standing.
const KILLERS: [&str; 8] = [
    "extraction",
    "exhaust",
    "mask",
    "glove",
    "eye cover",
    "rags",
    "tied",
    "flame",
];

/// The most critical items stand as near the start as possible, and this wins over the order
/// of the hands (Degani and Wiener, NASA CR-177549, 1990, guideline 10).
#[test]
fn what_kills_stands_first_in_its_list() {
    let mut found = 0;
    for (name, list) in all() {
        for step in steps(&list) {
            let kills = |say: &String| {
                let say = say.to_lowercase();
                KILLERS.iter().any(|word| say.contains(word))
            };
            let kills: Vec<bool> = step.confirm.iter().map(kills).collect();
            found += usize::from(kills.contains(&true));
            let first = kills
                .iter()
                .rposition(|kills| *kills)
                .map_or(0, |last| last + 1);
            assert!(
                kills.iter().take(first).all(|kills| *kills),
                "{name}/{}: {:?}",
                step.id,
                step.confirm
            );
        }
    }
    assert!(20 < found, "only {found} lists with a killer item");
}

/// The completion call is the last item of every list: a signature under what was done.
#[test]
fn the_completion_call_comes_last_and_only_there() {
    for (name, list) in all() {
        let all = steps(&list);
        let last = all.last().unwrap();
        assert!(last.hold.is_some() && last.confirm.is_empty(), "{name}");
    }
}

const LOOK: &str = "
id: look
order: 17
title: Look it over
trade: any
scope: zone
why: To see what an interruption does.
steps:
  - id: first
    do: Lay the tools out
  - id: check
    do: Look the zone over
    confirm: [extraction ON, edges CRISP, dust GONE]
  - id: last
    do: Put the tools away
";

/// A bench at the first of three checks.
fn looking() -> (Bench, Work) {
    let mut cards = sample_cards();
    let list: Checklist = serde_yaml::from_str(LOOK).unwrap();
    cards.checklists.insert(list.id.clone(), list);
    let mut bench = Bench::new(cards, at("2026-11-23T08:00:00+00:00"));
    let work = bench.begin("hare", "look", Some("body-near"));
    bench.at_step("hare", &work, AtStep::Done).unwrap();
    (bench, work)
}

fn tick(bench: &mut Bench, work: &Work) {
    bench.wait(1);
    bench.at_step("hare", work, AtStep::Tick).unwrap();
}

/// Which check is asked for: its number, or `None` once the list is whole.
fn asked(bench: &Bench, work: &Work) -> Option<usize> {
    match bench.prompt("hare", work).ask {
        Ask::Confirm { nth, .. } => Some(nth),
        Ask::Act => None,
        other => panic!("{other:?}"),
    }
}

fn resume(bench: &mut Bench, work: &Work) -> usize {
    let (figure, work) = ("hare".to_owned(), work.clone());
    bench.act(&Intent::Resume { figure, work }).unwrap().len()
}

#[test]
fn a_list_left_half_ticked_starts_again_when_it_is_taken_up() {
    let (mut bench, work) = looking();
    tick(&mut bench, &work);
    tick(&mut bench, &work);
    assert_eq!(asked(&bench, &work), Some(3));
    let left = bench.now;
    bench.wait(5);
    assert_eq!(resume(&mut bench, &work), 1, "the mark is a line");
    assert_eq!(resume(&mut bench, &work), 0, "and it is written once");
    let prompt = bench.prompt("hare", &work);
    assert!(matches!(prompt.ask, Ask::Confirm { nth: 1, .. }));
    let since = prompt.interrupted.expect("it says so");
    assert_eq!((since.since, since.by.as_str()), (left, "odile"));
    assert_eq!(
        prompt.last_done.map(|last| last.act).as_deref(),
        Some("Lay the tools out")
    );
    assert!(prompt.checks.iter().all(|(_, counts)| !counts));
    for nth in 1..=3 {
        assert_eq!(asked(&bench, &work), Some(nth));
        tick(&mut bench, &work);
    }
    assert_eq!(asked(&bench, &work), None);
    assert!(bench.prompt("hare", &work).interrupted.is_none());
    bench.assert_live_is_replayed();
}

#[test]
fn a_long_pause_starts_the_list_again_and_a_short_one_does_not() {
    let (mut bench, work) = looking();
    tick(&mut bench, &work);
    bench.wait(PAUSE_MIN);
    assert_eq!(asked(&bench, &work), Some(2));
    bench.wait(1);
    assert_eq!(asked(&bench, &work), Some(1));
    assert!(bench.prompt("hare", &work).interrupted.is_some());
    tick(&mut bench, &work);
    tick(&mut bench, &work);
    tick(&mut bench, &work);
    assert_eq!(
        asked(&bench, &work),
        None,
        "two old and new ticks of one line count once"
    );
}

#[test]
fn a_list_is_of_one_hand_and_stays_whole_once_it_was() {
    let (mut bench, work) = looking();
    tick(&mut bench, &work);
    bench.by = "wren".into();
    tick(&mut bench, &work);
    assert_eq!(asked(&bench, &work), Some(1), "another hand begins anew");
    tick(&mut bench, &work);
    tick(&mut bench, &work);
    assert_eq!(asked(&bench, &work), None);
    bench.wait(60 * 24 * 3);
    assert_eq!(
        asked(&bench, &work),
        None,
        "the act may take as long as it takes"
    );
    assert!(bench.prompt("hare", &work).interrupted.is_none());
    resume(&mut bench, &work);
    assert_eq!(asked(&bench, &work), None);
    assert!(bench.prompt("hare", &work).interrupted.is_some());
    bench.at_step("hare", &work, AtStep::Done).unwrap();
    assert!(bench.prompt("hare", &work).interrupted.is_none());
}

/// At the edge of a step nothing lies half done, and a closed work is not taken up.
#[test]
fn nothing_is_marked_where_nothing_lies_half_done() {
    let (mut bench, work) = looking();
    assert_eq!(resume(&mut bench, &work), 0);
    bench.walk("hare", "receive", None, &mut |_| None);
    let received = bench.standing.figures["hare"]
        .jobs
        .last()
        .unwrap()
        .work
        .clone();
    assert_eq!(resume(&mut bench, &received), 0);
    let never = Work {
        round: 9,
        ..received
    };
    let intent = Intent::Resume {
        figure: "hare".into(),
        work: never,
    };
    assert!(bench.act(&intent).is_err());
}

/// Vapour and heat in the air, a remover or a thinner in hand: nobody is out of call then
/// (OSHA and NIOSH, hazard alert 2013: the victims worked alone).
fn is_none_to_do_alone(list: &Checklist) -> bool {
    let takes = |step: &&Step| {
        let mut lots = step.record.iter().filter_map(|record| record.lot);
        let hot = step.act.to_lowercase();
        lots.any(|lot| matches!(lot, MaterialKind::Stripper | MaterialKind::Thinner))
            || ["steam", "heat"].iter().any(|word| hot.contains(word))
    };
    list.emits
        .iter()
        .any(|effect| matches!(effect, Effect::Vapour | Effect::Heat))
        || steps(list).iter().any(takes)
        || list
            .cautions
            .iter()
            .any(|caution| caution.say.contains("Steam"))
}

#[test]
fn work_with_solvent_remover_or_heat_asks_who_is_within_call() {
    let mut lone = Vec::new();
    for (name, list) in all() {
        assert_eq!(list.lone_work, is_none_to_do_alone(&list), "{name}");
        if list.lone_work {
            let says = |caution: &Caution| {
                caution.say.contains("Tell someone") && caution.when == When::Always
            };
            assert!(
                list.cautions.iter().any(says),
                "{name}: no caution of lone work"
            );
            lone.push(list.id);
        }
    }
    assert_eq!(
        lone,
        [
            "strip",
            "detail-clean",
            "wash",
            "open-joint",
            "consolidate",
            "sand",
            "body-colour"
        ]
    );
}

/// A bench of the hare that is asked who is within call.
fn stripping() -> (Bench, Work) {
    let mut bench = Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
    let present = ["ines", "wren", "marguerite"].map(String::from).to_vec();
    bench.act(&Intent::OpenDay { present }).unwrap();
    let asks = |ask: &Ask| matches!(ask, Ask::Choice { record, .. } if record == WITHIN_CALL);
    let work = bench.walk_until("hare", "strip", Some("body-near"), &mut |prompt| {
        asks(&prompt.ask)
    });
    (bench, work)
}

fn say(bench: &mut Bench, work: &Work, answer: &str) {
    let value = Value::Text(answer.to_owned());
    let enter = AtStep::Enter {
        value,
        again: false,
    };
    bench.at_step("hare", work, enter).unwrap();
}

#[test]
fn who_is_in_is_offered_and_the_answer_is_kept() {
    let (mut bench, work) = stripping();
    let Ask::Choice { options, .. } = bench.prompt("hare", &work).ask else {
        panic!("no choice");
    };
    assert_eq!(
        options,
        ["Wren", "Marguerite", ALONE],
        "who is in, without the hand itself"
    );
    say(&mut bench, &work, "Wren");
    let standing = &bench.standing.figures["hare"];
    let kept = standing.job(&work).unwrap().recorded(WITHIN_CALL).unwrap();
    assert_eq!(kept.value, Value::Text("Wren".into()));
    assert!(standing.matters.is_empty());
}

/// It is soft: work goes on, and the supervisor reads it.
#[test]
fn who_works_alone_is_on_the_day_s_page() {
    let (mut bench, work) = stripping();
    say(&mut bench, &work, ALONE);
    assert!(!matches!(
        bench.prompt("hare", &work).ask,
        Ask::Choice { .. }
    ));
    let standing = &bench.standing.figures["hare"];
    let matter = standing.unanswered().next().unwrap();
    assert!(matches!(matter.matter, Matter::Deviation(_)));
    assert_eq!(matter.what, "Strip layer by layer: nobody within call");
}

/// The cautions of spraying wait for the choice that says so.
#[test]
fn the_cautions_of_spraying_come_with_the_choice_to_spray() {
    let booth = |how: &'static str| {
        let mut bench = Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
        let mut spray = |prompt: &knuckle::standing::Prompt| match &prompt.ask {
            Ask::Choice { record, .. } if record == knuckle::card::LAID_BY => Some(AtStep::Enter {
                value: Value::Text(how.to_owned()),
                again: false,
            }),
            _ => None,
        };
        let work = bench.walk("hare", "varnish", Some("body-near"), &mut spray);
        let lines = &bench.lines[&knuckle::standing::Book::Figure("hare".into())];
        let ticked = lines.iter().filter(|line| match &line.deed {
            Deed::Ticked(tick) => {
                tick.work == work && tick.kind == TickKind::Caution && tick.said.contains("booth")
            }
            _ => false,
        });
        ticked.count()
    };
    assert_eq!(booth("brush"), 0);
    assert!(0 < booth("spray"), "at every coat");
}

/// Each choice named as the one that brings the cautions of spraying offers that word.
#[test]
fn a_list_that_knows_spraying_asks_how_the_coat_is_laid() {
    let mut asked: BTreeMap<String, bool> = BTreeMap::new();
    for (_, list) in all() {
        let sprays = steps(&list)
            .into_iter()
            .flat_map(|step| &step.cautions)
            .any(|caution| caution.when == When::Spray);
        let asks = steps(&list)
            .into_iter()
            .flat_map(|step| &step.record)
            .any(|record| {
                record.id == knuckle::card::LAID_BY
                    && record
                        .choice
                        .iter()
                        .any(|word| word == knuckle::card::SPRAYED)
            });
        assert_eq!(sprays, asks, "{}", list.id);
        asked.insert(list.id, asks);
    }
    assert_eq!(asked.values().filter(|asks| **asks).count(), 2);
}
