//! A big shop: the day's journal, a recall, opening, keys.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::ffi::OsString;
use std::fs;
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::{DateTime, FixedOffset};
use criterion::Criterion;
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use knuckle::command::{Outside, run};
use knuckle::disk::{Disk, RealDisk, Way, write_all};
use knuckle::plan::Prepared;
use knuckle::screen::look::Depth;
use knuckle::screen::{Dial, Event, Opening, Reckoned, Reckoner, Silent, Source, Turn, go_round};
use knuckle::shop::{Cache, Keeper, load};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::big_shop::{DAY, LIVE, NOW, WHOLE, big_shop};
use crate::tail::tail;

pub(crate) fn bench(criterion: &mut Criterion) {
    lines_of_a_day(criterion);
    open(criterion);
}

/// The day's journal of a thousand figures, as the command tells it. Beside it a plain search
/// of all journals for a word that does not stand there. Everything is in the kernel's memory
/// for both; leaves out the start of a process and the disk.
fn lines_of_a_day(criterion: &mut Criterion) {
    let folder = big_shop(WHOLE);
    let mut group = criterion.benchmark_group("shop");
    group.sample_size(10);
    group.bench_function("day/1000x2000", |bencher| {
        bencher.iter(|| {
            let told = said(&folder, &["day", DAY]);
            assert!(told.lines().count() > 1, "{told}");
        });
    });
    group.bench_function("day/1000x2000 (plain search)", |bencher| {
        bencher.iter(|| assert_eq!(searched(&folder, "no such word"), 0));
    });
    group.finish();
}

/// Runs a command in this process and returns what it says.
fn said(folder: &Path, words: &[&str]) -> String {
    let outside = Outside {
        disk: Arc::new(RealDisk),
        here: folder.to_owned(),
        memory: None,
        cache: None,
        passing: folder.to_owned(),
        depth: Depth::Plain,
        bench: "bench".to_owned(),
    };
    let all = ["knuckle"].iter().chain(words).map(OsString::from);
    let (mut out, mut notes) = (Vec::new(), Vec::new());
    run(all, &outside, (&mut out, &mut notes)).unwrap();
    String::from_utf8(out).unwrap()
}

/// Returns how often a word stands in the journals of a shop, reading every one of them.
fn searched(folder: &Path, word: &str) -> usize {
    let figures = fs::read_dir(folder.join("figures")).unwrap();
    let found = figures.map(|figure| {
        let journal = figure.unwrap().path().join("journal.jsonl");
        fs::read_to_string(journal).unwrap().matches(word).count()
    });
    found.sum()
}

/// Opening a shop of 200 live figures: cards and journals read, the first picture drawn.
/// Beside it the same files read and their line ends counted.
fn open(criterion: &mut Criterion) {
    let folder = big_shop(LIVE);
    let mut group = criterion.benchmark_group("shop");
    group.sample_size(10);
    group.bench_function("open/200x2000 (no cache)", |bencher| {
        bencher.iter(|| drawn(&mut keeper(&folder, None)));
    });
    let cache = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let cache = Cache {
        folder: cache.path().to_owned(),
        program: "the bench".to_owned(),
    };
    group.bench_function("open/200x2000 (warm cache)", |bencher| {
        bencher.iter(|| drawn(&mut keeper(&folder, Some(&cache))));
    });
    group.bench_function("open/200x2000 (cards alone)", |bencher| {
        bencher.iter(|| load(&RealDisk, &folder).unwrap());
    });
    group.bench_function("open/200x2000 (plain count of lines)", |bencher| {
        bencher.iter(|| assert_eq!(searched(&folder, "\n"), 400_000));
    });
    group.finish();
}

pub(crate) fn keeper(folder: &Path, cache: Option<&Cache>) -> Keeper {
    let (cards, flaws) = load(&RealDisk, folder).unwrap();
    assert_eq!(flaws, []);
    Keeper::open_with(Arc::new(RealDisk), folder, cards, cache).unwrap()
}

fn drawn(keeper: &mut Keeper) {
    let mut hand = Hand::of(&[]);
    play(keeper, &mut hand);
}

/// A key to a changed screen of 120×40, on every page, among 200 live figures; and a note
/// kept, synced and shown, beside a bare write and sync. Leaves out the terminal itself.
pub(crate) fn keys() {
    let folder = big_shop(LIVE);
    let mut keeper = keeper(&folder, None);
    let round = "fcd?xgbjjkf";
    let keys: Vec<char> = round.chars().cycle().take(50 * round.len()).collect();
    let mut hand = Hand::of(&keys);
    play(&mut keeper, &mut hand);
    tail("screen/key/120x40", &hand.taken.borrow());

    let copy = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let mut bare = RealDisk
        .open(&copy.path().join("bare"), Way::AppendOrMake)
        .unwrap();
    let synced: Vec<Duration> = (0..300)
        .map(|_| {
            let began = Instant::now();
            write_all(bare.as_mut(), &[b'x'; 250]).unwrap();
            bare.sync().unwrap();
            began.elapsed()
        })
        .collect();
    tail("screen/key/120x40 (bare write and sync)", &synced);
}

fn play(keeper: &mut Keeper, hand: &mut Hand) {
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
    let opening = Opening {
        by: "odile".to_owned(),
        bench: "bench".to_owned(),
        ..Opening::default()
    };
    let mut dial = Stands(DateTime::parse_from_rfc3339(NOW).unwrap());
    let mut bell = Silent;
    let mut elsewhere = Elsewhere;
    let turn = Turn::new(keeper, &mut dial, &mut bell, opening);
    let mut turn = turn.with_reckoner(&mut elsewhere);
    go_round(&mut turn, &mut terminal, hand).unwrap();
    let page = terminal.backend().buffer();
    assert!(page.content().iter().any(|cell| cell.symbol() != " "));
}

/// Forecasts are reckoned in another thread, which no key waits for.
struct Elsewhere;

impl Reckoner for Elsewhere {
    fn begin(&mut self, _ticket: u64, _prepared: Prepared) -> Option<Reckoned> {
        None
    }

    fn wait(&mut self) -> Option<Reckoned> {
        None
    }
}

/// A hand that presses keys and notes how long each took to be drawn.
struct Hand {
    keys: VecDeque<Event>,
    pressed: Option<Instant>,
    taken: Rc<RefCell<Vec<Duration>>>,
}

impl Hand {
    fn of(keys: &[char]) -> Self {
        let event = |key: &char| {
            let code = KeyCode::Char(*key);
            Event::Key(KeyEvent::new(code, KeyModifiers::NONE))
        };
        Self {
            keys: keys.iter().map(event).collect(),
            pressed: None,
            taken: Rc::default(),
        }
    }
}

impl Source for Hand {
    fn next(&mut self, _wait: Option<Duration>) -> Event {
        if let Some(pressed) = self.pressed.take() {
            self.taken.borrow_mut().push(pressed.elapsed());
        }
        let event = self.keys.pop_front().unwrap_or(Event::Quit);
        self.pressed = Some(Instant::now());
        event
    }
}

/// A dial that stands.
struct Stands(DateTime<FixedOffset>);

impl Dial for Stands {
    fn look(&mut self) -> (DateTime<FixedOffset>, Option<(f64, String)>) {
        (self.0, None)
    }

    fn wait_for(&self, _due: DateTime<FixedOffset>) -> Option<Duration> {
        None
    }
}
