//! Rework loops keep the first attempt, count it and carry its reason; coats are counted by
//! zone, with what comes between them, and zones of wear have a count of their own; a fault has
//! its cause and its remedy one key away.

use knuckle::card::{GateKind, Wear};
use knuckle::deed::{Deed, Value, Work};
use knuckle::screen::{Over, keys::Act};
use knuckle::standing::{Ask, AtStep, Book, Intent, JobState, OpensBy, Prompt};

use crate::checklists::{all, steps};
use crate::kit::scenes;
use crate::memory::{Bench, at, sample_cards};

fn bench() -> Bench {
    Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"))
}

/// Chooses this word wherever it is offered.
fn choosing(word: &str) -> impl FnMut(&Prompt) -> Option<AtStep> {
    move |prompt| match &prompt.ask {
        Ask::Choice { options, .. } if options.iter().any(|option| option == word) => {
            Some(AtStep::Enter {
                value: Value::Text(word.to_owned()),
                again: false,
            })
        }
        _ => None,
    }
}

fn coats(bench: &Bench, work: &Work) -> Vec<(u32, u32, bool)> {
    let standing = &bench.standing.figures["hare"];
    let here = standing.coats.iter().filter(|kept| kept.work == *work);
    here.map(|kept| (kept.coat.number, kept.coat.of, kept.coat.stripe))
        .collect()
}

#[test]
fn a_loop_keeps_the_first_attempt_counts_it_and_carries_its_reason() {
    let mut bench = bench();
    let first = bench.walk(
        "hare",
        "varnish",
        Some("body-near"),
        &mut choosing("cracks or lifts"),
    );
    let laid = coats(&bench, &first);
    assert!(!laid.is_empty());
    let why = "A hard coat over a soft one; it comes off, waits, and is laid again.";
    let standing = &bench.standing.figures["hare"];
    let job = standing.job(&first).unwrap();
    assert!(matches!(&job.state, JobState::SentBack { why: said, .. } if said == why));
    let second = bench.begin("hare", "varnish", Some("body-near"));
    assert_eq!((first.round, second.round), (1, 2));
    let prompt = bench.prompt("hare", &second);
    assert_eq!(prompt.again.as_deref(), Some(why));
    assert_eq!(
        bench.prompt("hare", &first).again,
        None,
        "the first had no reason"
    );
    let standing = &bench.standing.figures["hare"];
    assert_eq!(standing.rounds("varnish", Some("body-near")), 2);
    assert_eq!(
        coats(&bench, &first),
        laid,
        "what was laid first stays on record"
    );
    assert!(
        coats(&bench, &second).is_empty(),
        "and does not count for the second"
    );
    let lines = &bench.lines[&Book::Figure("hare".into())];
    let sent = lines
        .iter()
        .filter(|line| matches!(line.deed, Deed::SentBack(_)));
    assert_eq!(sent.count(), 1);
}

/// Gold under the brown: the zone waits for its study, and then for a scheme that knows of it.
#[test]
fn a_layer_that_nobody_knew_holds_its_zone_until_study_and_scheme_know_it() {
    let mut bench = bench();
    let zone = Some("body-near");
    bench.walk("hare", "strip", zone, &mut choosing("unexpected layer"));
    let begin = |operation: &str, target: &str| Intent::Begin {
        figure: "hare".into(),
        operation: operation.into(),
        target: Some(target.into()),
    };
    for operation in ["strip", "wash", "prime"] {
        bench.by = bench.worker(operation);
        let no = bench.act(&begin(operation, "body-near")).unwrap_err();
        assert!(no.ask_again, "a reason passes it, and stays to be seen");
        assert!(
            no.why
                .starts_with("body-near waits for: Paint-layer study; "),
            "{no}"
        );
    }
    // What may be needed for the study is free, and so is every other zone.
    bench.by = bench.worker("photograph");
    bench.act(&begin("photograph", "body-near")).unwrap();
    bench.by = bench.worker("strip");
    bench.act(&begin("strip", "neck-near")).unwrap();
    bench.walk("hare", "layer-study", zone, &mut |_| None);
    bench.by = bench.worker("strip");
    let work = bench.begin("hare", "strip", zone);
    let shut = |bench: &Bench| match bench.prompt("hare", &work).ask {
        Ask::Gate(verdict) if verdict.gate == GateKind::Scheme => Some(verdict),
        _ => None,
    };
    let verdict = shut(&bench).expect("the scheme does not know the layer");
    assert!(verdict.hard);
    assert_eq!(
        verdict.why,
        "a layer was found on body-near that the approved scheme does not know"
    );
    assert_eq!(verdict.opens_by, OpensBy::Operation("scheme".into()));
    bench.walk("hare", "scheme", None, &mut |_| None);
    assert_eq!(shut(&bench), None);
}

/// From the word on, not only once the walk that said it is put away.
#[test]
fn a_word_that_will_send_a_zone_back_holds_it_at_once() {
    let mut bench = bench();
    let zone = Some("body-near");
    let asks = |prompt: &Prompt| {
        let word = "unexpected layer".to_owned();
        matches!(&prompt.ask, Ask::Choice { options, .. } if options.contains(&word))
    };
    let work = bench.walk_until("hare", "strip", zone, &mut { asks });
    let value = Value::Text("unexpected layer".to_owned());
    let said = AtStep::Enter {
        value,
        again: false,
    };
    bench.at_step("hare", &work, said).unwrap();
    assert_eq!(
        bench.standing.figures["hare"].job(&work).unwrap().state,
        JobState::Open
    );
    bench.by = bench.worker("wash");
    let wash = Intent::Begin {
        figure: "hare".into(),
        operation: "wash".into(),
        target: Some("body-near".into()),
    };
    let no = bench.act(&wash).unwrap_err();
    let why = "body-near waits for: Paint-layer study; it goes back: ";
    assert!(no.why.starts_with(why), "{no}");
    // The walk itself is put away to its end.
    let prompt = bench.prompt("hare", &work);
    assert!(!matches!(prompt.ask, Ask::Gate(_)), "{:?}", prompt.ask);
}

#[test]
fn a_zone_of_wear_has_its_own_count_of_coats() {
    let mut bench = bench();
    let wear = |bench: &Bench, zone: &str| {
        let zones = &bench.cards.figures["hare"].zones;
        zones.iter().find(|card| card.id == zone).unwrap().wear
    };
    assert_eq!(wear(&bench, "saddle-seat"), Wear::Worn);
    assert_ne!(wear(&bench, "body-near"), Wear::Worn);
    let plain = bench.walk("hare", "varnish", Some("body-near"), &mut |_| None);
    let worn = bench.walk("hare", "varnish", Some("saddle-seat"), &mut |_| None);
    let counted = |work| coats(&bench, work);
    assert_eq!(
        counted(&plain),
        [(1, 4, false), (2, 4, false), (3, 4, false), (4, 4, false)]
    );
    assert_eq!(
        counted(&worn),
        [
            (1, 6, true),
            (2, 6, true),
            (3, 6, false),
            (4, 6, false),
            (5, 6, false),
            (6, 6, false)
        ]
    );
    // Between two coats lies what the list wants between them, each time.
    let job = bench.standing.figures["hare"].job(&worn).unwrap();
    for coat in 1..6 {
        for between in ["dry", "film", "rub", "rinse", "tack-again"] {
            let step = format!("coat#{coat}-{between}");
            assert!(
                job.act(&step).is_some_and(|act| act.done.is_some()),
                "{step}"
            );
        }
    }
    assert!(
        job.act("coat#6-rub").is_none(),
        "the last coat is never rubbed"
    );
}

/// Every operation that is walked with the hands names what goes wrong with a remedy, and the
/// key for problems shows both before anything is written.
#[test]
fn a_fault_with_its_cause_and_remedy_is_one_key_away() {
    let mut named = 0;
    for (name, list) in all() {
        let faults = steps(&list).into_iter().flat_map(|step| &step.goes_wrong);
        let faults: Vec<_> = faults.collect();
        assert!(!faults.is_empty(), "{name}: nothing goes wrong?");
        for fault in &faults {
            assert!(!fault.sign.is_empty() && !fault.remedy.is_empty(), "{name}");
            assert!(
                !fault.cause.is_empty(),
                "{name}: {} has no cause",
                fault.sign
            );
        }
        named += faults.len();
    }
    assert!(60 < named, "only {named} faults");
    let (sight, mut view) = scenes::bench(Ask::Act);
    knuckle::screen::act(&mut view, &sight, Act::Problem);
    let Over::List(list) = &view.over else {
        panic!("{:?}", view.over);
    };
    let fault = &sight.prompt.as_ref().unwrap().goes_wrong[0];
    assert_eq!(list.rows[0].words, fault.sign);
    assert!(list.rows[0].note.contains(&fault.cause) && list.rows[0].note.contains(&fault.remedy));
}
