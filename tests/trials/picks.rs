//! What was picked of what was offered: counted, told, and used where nothing else decides.

use knuckle::card::ClockName;
use knuckle::deed::{Deed, Offered, Picked};
use knuckle::disk::{RealDisk, replace};
use knuckle::plan::{Choice, NextAsk, next};
use knuckle::standing::{Book, Intent, clock_views};

use crate::kit::sealed::Sealed;
use crate::memory::{self, at, sample_cards};

/// Two figures of the sample cards in an empty shop: none has a promise, so that nothing but a habit can
/// put two beginnings in order.
fn shop() -> memory::Bench {
    let mut cards = sample_cards();
    let two = ["bandmaster", "hare"];
    cards.figures.retain(|id, _| two.contains(&id.as_str()));
    for card in cards.figures.values_mut() {
        card.promised = None;
    }
    memory::Bench::new(cards, at("2026-11-23T08:00:00+00:00"))
}

fn choices(bench: &memory::Bench) -> Vec<Choice> {
    let ask = NextAsk {
        damaged: &[],
        by: Some("odile"),
        minutes: None,
    };
    next(bench.house(), &ask, bench.now)
}

fn pick(bench: &mut memory::Bench, by: &str, place: usize) {
    let offered = choices(bench);
    let choice = &offered[place - 1];
    let picked = Picked {
        figure: choice.figure.clone(),
        work: choice.work.clone(),
        place: u32::try_from(place).unwrap(),
        offered: offered
            .iter()
            .map(|it| Offered {
                figure: it.figure.clone(),
                work: it.work.clone(),
            })
            .collect(),
        minutes: None,
    };
    by.clone_into(&mut bench.by);
    bench.act(&Intent::Pick { picked }).unwrap();
}

/// The operations offered, in order, each once.
fn operations(bench: &memory::Bench) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for choice in choices(bench) {
        if !all.contains(&choice.work.operation) {
            all.push(choice.work.operation);
        }
    }
    all
}

fn why(bench: &memory::Bench, operation: &str) -> String {
    let all = choices(bench);
    let found = all.iter().find(|it| it.work.operation == operation);
    found.unwrap().why.join("; ")
}

/// A shop where the first choices are two operations, and their names.
fn apart() -> (memory::Bench, String, String) {
    let mut bench = shop();
    // The bandmaster is received: its next operation is another one than that of the rest.
    "odile".clone_into(&mut bench.by);
    bench.walk("bandmaster", "receive", None, &mut |_| None);
    let all = operations(&bench);
    assert!(2 <= all.len(), "{all:?}");
    (bench, all[0].clone(), all[1].clone())
}

/// The place of the first choice of an operation.
fn place(bench: &memory::Bench, operation: &str) -> usize {
    let all = choices(bench);
    let at = all.iter().position(|it| it.work.operation == operation);
    at.unwrap() + 1
}

#[test]
fn what_was_picked_instead_is_told_from_the_third_time_on() {
    let (mut bench, first, second) = apart();
    for _ in 0..2 {
        let at = place(&bench, &second);
        pick(&mut bench, "odile", at);
        assert!(!why(&bench, &first).contains("you picked"));
    }
    let at = place(&bench, &second);
    pick(&mut bench, "odile", at);
    assert!(why(&bench, &second).contains("you picked it 3 of 3 times"));
    let told = why(&bench, &first);
    assert!(told.contains("over this 3 of 3 times"), "{told}");
}

#[test]
fn a_habit_puts_in_order_what_nothing_else_does() {
    let (mut bench, first, second) = apart();
    for _ in 0..3 {
        let at = place(&bench, &second);
        pick(&mut bench, "odile", at);
    }
    assert_eq!(operations(&bench)[..2], [second.clone(), first.clone()]);
    // A promise is more than a habit: the figure that has one comes first again.
    let all = choices(&bench);
    let figure = all.iter().find(|it| it.work.operation == first).unwrap();
    let mut cards = bench.cards.clone();
    let card = cards.figures.get_mut(&figure.figure).unwrap();
    card.promised = Some(bench.now.date_naive() + chrono::Days::new(9));
    bench.cards = cards;
    assert_eq!(operations(&bench)[0], first);
}

#[test]
fn a_habit_is_of_one_hand_and_a_struck_pick_never_was() {
    let (mut bench, first, second) = apart();
    for _ in 0..4 {
        let at = place(&bench, &second);
        pick(&mut bench, "wren", at);
    }
    "odile".clone_into(&mut bench.by);
    assert_eq!(operations(&bench)[0], first);
    for _ in 0..3 {
        let at = place(&bench, &second);
        pick(&mut bench, "odile", at);
    }
    let (_, lines) = bench.lines.iter().find(|it| *it.0 == Book::Shop).unwrap();
    let last = lines.last().unwrap();
    assert!(matches!(last.deed, Deed::Picked(_)));
    let strike = Intent::Strike {
        book: Book::Shop,
        line: last.n,
        why: "another one was meant".to_owned(),
    };
    bench.act(&strike).unwrap();
    assert!(!why(&bench, &second).contains("you picked"));
}

#[test]
fn nothing_is_offered_on_a_flawed_card_or_a_broken_journal_and_why_is_said() {
    let sealed = Sealed::new();
    let sample = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-shop");
    for book in [
        "journal.jsonl",
        "figures/heron/journal.jsonl",
        "figures/bandmaster/journal.jsonl",
    ] {
        std::fs::copy(sample.join(book), sealed.shop().join(book)).unwrap();
    }
    for other in ["hare", "lantern-woman", "lion-boss"] {
        std::fs::remove_dir_all(sealed.shop().join("figures").join(other)).unwrap();
    }
    let ask = [
        "next",
        "--minutes",
        "600",
        "--clock",
        "2026-11-25T14:00:00Z",
    ];
    let told = || {
        let told = sealed.run(&ask);
        assert_eq!(told.code, 0, "{}", told.err);
        told.out
    };
    let page = told();
    assert!(
        page.contains("  heron:") && page.contains("  bandmaster:"),
        "{page}"
    );
    assert!(!page.contains("not offered"), "{page}");
    let figures = sealed.shop().join("figures");
    let card = figures.join("heron/figure.yaml");
    let text = std::fs::read_to_string(&card).unwrap();
    replace(&RealDisk, &card, format!("{text}colour: red\n").as_bytes()).unwrap();
    let journal = figures.join("bandmaster/journal.jsonl");
    let text = std::fs::read_to_string(&journal).unwrap();
    let mut lines: Vec<&str> = text.lines().collect();
    lines.remove(20);
    replace(&RealDisk, &journal, (lines.join("\n") + "\n").as_bytes()).unwrap();
    let page = told();
    assert!(
        !page.contains("  heron: Begin") && !page.contains("  bandmaster:"),
        "{page}"
    );
    assert!(page.contains("not offered: heron: card flawed: "), "{page}");
    assert!(
        page.contains("not offered: bandmaster: lines of its book are missing"),
        "{page}"
    );
}

/// Remover on the wood dies within the hour at hand: it comes first, though all that is left of
/// its work takes longer than that hour.
#[test]
fn what_dies_within_the_time_at_hand_is_offered_however_long_its_work_is() {
    let mut bench = memory::Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
    bench.walk_until("lantern-woman", "strip", Some("bodice"), &mut |prompt| {
        prompt.step == "corner"
    });
    let clock = clock_views(bench.house(), bench.now)
        .into_iter()
        .find(|view| view.clock == ClockName::Dwell);
    let closes = clock.unwrap().closes.unwrap();
    let offered = |bench: &memory::Bench| {
        let ask = NextAsk {
            damaged: &[],
            by: None,
            minutes: Some(60.0),
        };
        next(bench.house(), &ask, bench.now)
    };
    // Hours before, it does not fit the hour and nothing of it is lost in it.
    let early = offered(&bench);
    assert!(early.iter().all(|it| it.work.operation != "strip"));
    let left = (closes - bench.now).num_minutes();
    bench.wait(left - 20);
    let late = offered(&bench);
    let first = &late[0];
    assert_eq!((first.work.operation.as_str(), first.open), ("strip", true));
    assert!(60.0 < first.minutes, "{}", first.minutes);
    assert!(
        first.why[0].contains("closes") && first.why[1].contains("longer than the time at hand"),
        "{:?}",
        first.why
    );
    assert_eq!(first.lost, "the remover dries on the wood");
}
