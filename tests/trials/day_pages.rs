//! The supervisor's page on the screen: at every promised size, of a day, a week, a figure, a
//! person, and the line behind a row; and what was refused.

use knuckle::deed::Deed;
use knuckle::screen::look::{Depth, Look};
use knuckle::screen::{Opening, Preparing, Reckoned, Reckoner, Silent, Turn};
use knuckle::standing::{Ask, Book, Intent};
use ratatui::{buffer::Buffer, layout::Rect};

use crate::kit::{golden, picture};
use crate::memory::{Bench, at, sample_cards};
use crate::played::{Behind, Stands, events};

/// The sizes at which every screen is kept.
const SIZES: [(u16, u16); 4] = [(60, 20), (80, 24), (120, 40), (200, 60)];

/// A Tuesday at which the hare came in, questions were asked and one was refused.
fn day() -> Bench {
    let mut bench = Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
    for person in bench.cards.shop.people.clone() {
        bench.by = person.id;
        bench.act(&Intent::Acknowledge).unwrap();
    }
    let present = vec!["odile".into(), "wren".into(), "marguerite".into()];
    bench.act(&Intent::OpenDay { present }).unwrap();
    ask(&mut bench, "odile", "heron", "may the strap be washed?");
    bench.wait(24 * 60);
    bench.walk_until("hare", "receive", None, &mut |prompt| {
        matches!(prompt.ask, Ask::Act)
    });
    ask(
        &mut bench,
        "odile",
        "hare",
        "draw the old nails, or leave them?",
    );
    ask(&mut bench, "wren", "heron", "size the strap tonight?");
    let line = bench.lines[&Book::Figure("heron".into())].len() as u64;
    bench.by = "marguerite".into();
    bench.wait(30);
    bench
        .act(&Intent::Answer {
            figure: "heron".into(),
            line,
            accepted: false,
            why: "the night is too damp".into(),
        })
        .unwrap();
    bench
}

fn ask(bench: &mut Bench, by: &str, figure: &str, text: &str) {
    bench.by = by.into();
    bench
        .act(&Intent::Ask {
            figure: figure.into(),
            text: text.into(),
        })
        .unwrap();
}

/// Plays keys and draws the screen.
fn shown(keys: &str, size: (u16, u16), depth: Depth) -> String {
    shown_of(day(), keys, size, depth)
}

fn shown_of(bench: Bench, keys: &str, (width, height): (u16, u16), depth: Depth) -> String {
    let (mut dial, mut bell) = (Stands(bench.now), Silent);
    let opening = Opening {
        by: "marguerite".into(),
        bench: "trial".into(),
        look: Look { depth },
        ..Opening::default()
    };
    let mut behind = Behind(bench);
    let mut nobody = Nobody;
    let turn = Turn::new(&mut behind, &mut dial, &mut bell, opening);
    let mut turn = turn.with_reckoner(&mut nobody);
    for event in events(keys) {
        turn.take(event);
        turn.look();
    }
    let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
    turn.pane().draw(buffer.area, &mut buffer);
    picture::text(&buffer)
}

#[test]
fn the_page_stands_on_the_screen_at_every_size() {
    for (name, keys) in [
        ("day-page", "dv"),
        ("day-week", "dvv"),
        ("day-person", "do2"),
        ("day-figure", "do8"),
        ("day-entry", "dv1"),
    ] {
        for size in SIZES {
            let page = shown(keys, size, Depth::Full);
            let file = format!("screens/{name}-{}x{}.txt", size.0, size.1);
            golden::check(&file, &page);
            assert_eq!(
                page,
                shown(keys, size, Depth::Plain),
                "{name} without colour"
            );
        }
    }
}

#[test]
fn a_row_leads_to_its_line_and_the_day_before_is_told_as_it_stood() {
    let wide = |keys: &str| shown(keys, (120, 40), Depth::Full);
    let entry = wide("dv3");
    for words in ["who ", "Marguerite (supervisor)", "answers heron:2", "Esc"] {
        assert!(entry.contains(words), "{words}\n{entry}");
    }
    assert_eq!(wide("dv3<esc>"), wide("dv<down><down>"), "Esc leads back");
    let before = wide("dv<left>");
    assert!(
        before.contains("Monday 23 November 2026, as it stood at its end"),
        "{before}"
    );
    assert!(before.contains("may the strap be washed?"), "{before}");
    assert!(!before.contains("size the strap tonight?"), "{before}");
    assert_eq!(wide("dv<left><right>"), wide("dv"));
    assert_eq!(wide("dvvv"), wide("d"));
}

/// A number with two figures takes two keys; every row has one, those below the fold too.
#[test]
fn every_row_is_opened_by_its_number() {
    let many = || {
        let mut bench = day();
        for nth in 1..=12 {
            ask(&mut bench, "odile", "hare", &format!("question {nth}?"));
        }
        bench
    };
    let play = |keys: &str| shown_of(many(), keys, (120, 60), Depth::Full);
    let page = play("dv");
    let number = |words: &str| {
        let line = page.lines().find(|line| line.contains(words)).unwrap();
        line.split_whitespace().next().unwrap().to_owned()
    };
    let last = number("question 12?");
    assert!(10 <= last.parse::<u32>().unwrap(), "{page}");
    let opened = play(&format!("dv{last}"));
    assert!(
        opened.contains("question 12?") && opened.contains("Odile"),
        "{opened}"
    );
    let half = play("dv1");
    assert!(half.contains("▸ 1_"), "{half}");
    let first = play("dv1 ");
    assert!(first.contains("back to the page"), "{first}");
    assert!(!half.contains("back to the page"), "{half}");
}

/// What waits is signed or answered from its own line.
#[test]
fn an_open_line_that_waits_is_answered_there() {
    let page = shown("dv", (120, 60), Depth::Full);
    let line = page
        .lines()
        .find(|line| line.contains("draw the old nails"))
        .unwrap();
    let number = line.split_whitespace().next().unwrap();
    let entry = shown(&format!("dv{number}"), (120, 60), Depth::Full);
    assert!(entry.contains("sign or answer it"), "{entry}");
    let asked = shown(&format!("dv{number}1"), (120, 60), Depth::Full);
    assert!(asked.contains("Marguerite answers it now?"), "{asked}");
    // A line that waits for nobody offers nothing.
    let plain = shown("dv1", (120, 60), Depth::Full);
    assert!(!plain.contains("sign or answer it"), "{plain}");
}

/// A no is an answer to a question: it stands on the page of its day and waits for nobody, and may
/// be changed by who may answer.
#[test]
fn a_question_that_was_answered_with_no_is_answered() {
    let page = shown("dv", (200, 60), Depth::Full);
    let said = "refused: size the strap tonight? (wren): the night is too damp (marguerite)";
    assert!(page.contains(said), "{page}");
    assert_eq!(page.matches("size the strap tonight?").count(), 1, "{page}");
    let mut bench = day();
    let figure = Book::Figure("heron".into());
    let lines = &bench.lines[&figure];
    let asked = &lines[lines.len() - 2];
    assert!(matches!(asked.deed, Deed::Asked(_)));
    let line = asked.n;
    let answer = Intent::Answer {
        figure: "heron".into(),
        line,
        accepted: true,
        why: "the heater is on now".into(),
    };
    bench.by = "wren".into();
    assert!(bench.act(&answer).is_err(), "nobody answers their own");
    bench.by = "marguerite".into();
    bench.act(&answer).unwrap();
    let open = bench.standing.figures["heron"].unanswered();
    let left: Vec<&str> = open.map(|open| open.what.as_str()).collect();
    assert_eq!(left, ["may the strap be washed?"]);
}

/// Screens of these trials have nobody who reckons, so that no forecast is waited for.
struct Nobody;

impl Reckoner for Nobody {
    fn begin(&mut self, _ticket: u64, _preparing: Preparing) -> Option<Reckoned> {
        None
    }

    fn wait(&mut self) -> Option<Reckoned> {
        None
    }
}
