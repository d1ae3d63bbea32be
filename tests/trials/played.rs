//! The real round of the screen played over a bench in memory: what a hand presses, what is kept
//! and what the last page shows.

use std::collections::VecDeque;
use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::{Terminal, backend::TestBackend};

use knuckle::deed::Line;
use knuckle::screen::{Bench, Dial, Event, NoEasel, Opening, Silent, Source, Turn, View, go_round};
use knuckle::shop::{KeptLine, Stop};
use knuckle::standing::{Ask, Book, House, Intent, Moment};

use crate::kit::picture;
use crate::memory::{self, at, sample_cards};

/// The bench in memory, as the screen asks for it.
pub(crate) struct Behind(pub(crate) memory::Bench);

impl Bench for Behind {
    fn house(&self) -> House<'_> {
        self.0.house()
    }

    fn act(&mut self, intent: &Intent, moment: &Moment) -> Result<Vec<KeptLine>, Stop> {
        self.0.by.clone_from(&moment.by);
        self.0.now = moment.at;
        let before: Vec<(Book, usize)> = self.count();
        self.0.act(intent).map_err(Stop::Refused)?;
        let grown = self.0.lines.iter().flat_map(|(book, lines)| {
            let known = before.iter().find(|(old, _)| old == book);
            let from = known.map_or(0, |(_, count)| *count);
            lines[from..].iter().map(|line| KeptLine {
                book: book.clone(),
                line: line.clone(),
            })
        });
        Ok(grown.collect())
    }

    fn follow(&mut self) -> Result<Vec<KeptLine>, Stop> {
        Ok(Vec::new())
    }

    fn lines(&self, book: &Book) -> Result<Vec<Line>, Stop> {
        Ok(self.0.lines.get(book).cloned().unwrap_or_default())
    }
}

impl Behind {
    /// Whoever is at the bench has read the sentence above every card, and the figure's open
    /// job was taken up before: what follows is written by the keys alone.
    pub(crate) fn settle(&mut self, figure: &str) {
        let by = self.0.by.clone();
        for person in self.0.cards.shop.people.clone() {
            self.0.by = person.id;
            self.0.act(&Intent::Acknowledge).unwrap();
        }
        if !by.is_empty() {
            self.0.by.clone_from(&by);
        }
        let open = self.0.house().figure(figure);
        let open = open.and_then(|figure| figure.open_jobs().last().map(|job| job.work.clone()));
        if let Some(work) = open {
            let figure = figure.to_owned();
            self.0.act(&Intent::Resume { figure, work }).unwrap();
        }
        self.0.by = by;
    }

    fn count(&self) -> Vec<(Book, usize)> {
        let books = self.0.lines.iter();
        books
            .map(|(book, lines)| (book.clone(), lines.len()))
            .collect()
    }
}

/// A dial that stands.
pub(crate) struct Stands(pub(crate) DateTime<FixedOffset>);

impl Dial for Stands {
    fn look(&mut self) -> (DateTime<FixedOffset>, Option<(f64, String)>) {
        (self.0, None)
    }

    fn wait_for(&self, _due: DateTime<FixedOffset>) -> Option<Duration> {
        None
    }
}

/// A hand that plays events and then leaves.
pub(crate) struct Hand(pub(crate) VecDeque<Event>);

impl Source for Hand {
    fn next(&mut self, _wait: Option<Duration>) -> Event {
        self.0.pop_front().unwrap_or(Event::Quit)
    }
}

/// Returns the events of keys written as `b<space>12.5<enter>`.
pub(crate) fn events(keys: &str) -> VecDeque<Event> {
    let mut all = VecDeque::new();
    let mut letters = keys.chars();
    while let Some(letter) = letters.next() {
        let code = if letter == '<' {
            let name: String = letters
                .by_ref()
                .take_while(|letter| *letter != '>')
                .collect();
            named(&name)
        } else {
            KeyCode::Char(letter)
        };
        all.push_back(Event::Key(KeyEvent::new(code, KeyModifiers::NONE)));
    }
    all
}

fn named(name: &str) -> KeyCode {
    match name {
        "space" => KeyCode::Char(' '),
        "enter" => KeyCode::Enter,
        "esc" => KeyCode::Esc,
        "tab" => KeyCode::Tab,
        "back" => KeyCode::Backspace,
        "up" => KeyCode::Up,
        "down" => KeyCode::Down,
        "left" => KeyCode::Left,
        "right" => KeyCode::Right,
        "f2" => KeyCode::F(2),
        other => panic!("no key is called {other}"),
    }
}

/// What a play left behind.
pub(crate) struct After {
    pub(crate) view: View,
    pub(crate) page: String,
    pub(crate) kept: Vec<String>,
    pub(crate) lines: Vec<Line>,
}

/// Plays events on a bench from the figure's open job.
pub(crate) fn play(shop: memory::Bench, figure: &str, events: VecDeque<Event>) -> After {
    let mut behind = Behind(shop);
    behind.settle(figure);
    let before = behind.count();
    let opening = Opening {
        by: behind.0.by.clone(),
        bench: "trial".to_owned(),
        figure: (!figure.is_empty()).then(|| figure.to_owned()),
        ..Opening::default()
    };
    let mut dial = Stands(behind.0.now);
    let mut bell = Silent;
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
    let mut turn = Turn::new(&mut behind, &mut dial, &mut bell, opening);
    go_round(&mut turn, &mut terminal, &mut Hand(events), &mut NoEasel).unwrap();
    let view = turn.view().clone();
    let page = picture::text(terminal.backend().buffer());
    behind.0.assert_live_is_replayed();
    let lines: Vec<Line> = behind
        .0
        .lines
        .iter()
        .flat_map(|(book, lines)| {
            let known = before.iter().find(|(old, _)| old == book);
            lines[known.map_or(0, |(_, count)| *count)..].to_vec()
        })
        .collect();
    After {
        view,
        page,
        kept: lines.iter().map(|line| line.deed.tag()).collect(),
        lines,
    }
}

/// Returns the last page after keys at a step of the hare that asks for an act.
pub(crate) fn floor_after(keys: &str) -> String {
    let (shop, figure) = standing_at("receive", None, |ask| matches!(ask, Ask::Act));
    play(shop, figure, events(keys)).page
}

/// Opens the screen for somebody without any settling, plays keys, and returns what stands
/// behind it and the last page.
pub(crate) fn first_start(mut behind: Behind, by: &str, keys: &str) -> (Behind, String) {
    let opening = Opening {
        by: by.to_owned(),
        bench: "trial".to_owned(),
        ..Opening::default()
    };
    let (mut dial, mut bell) = (Stands(behind.0.now), Silent);
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
    let mut turn = Turn::new(&mut behind, &mut dial, &mut bell, opening);
    go_round(
        &mut turn,
        &mut terminal,
        &mut Hand(events(keys)),
        &mut NoEasel,
    )
    .unwrap();
    (behind, picture::text(terminal.backend().buffer()))
}

/// Plays keys and holds the tags of the deeds kept and words of the last page.
#[track_caller]
pub(crate) fn check(
    before: (memory::Bench, &str),
    keys: &str,
    (kept, shown): (&[&str], &[&str]),
) -> After {
    let (shop, figure) = before;
    let after = play(shop, figure, events(keys));
    assert_eq!(after.kept, kept, "deeds after {keys}\n{}", after.page);
    for words in shown {
        assert!(
            after.page.contains(words),
            "no `{words}` after {keys}\n{}",
            after.page
        );
    }
    after
}

pub(crate) fn shop() -> memory::Bench {
    memory::Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"))
}

/// A bench where an operation of the hare stands at the first step that asks like this.
pub(crate) fn standing_at(
    operation: &str,
    target: Option<&str>,
    mut is_it: impl FnMut(&Ask) -> bool,
) -> (memory::Bench, &'static str) {
    let mut shop = shop();
    shop.walk_until("hare", operation, target, &mut |prompt| is_it(&prompt.ask));
    (shop, "hare")
}
