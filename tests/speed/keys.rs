//! Keys among two hundred figures: from the key to the changed screen.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::fs;
use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;
use std::time::{Duration, Instant};

use chrono::{DateTime, FixedOffset};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use knuckle::disk::{Disk, OpenFile, RealDisk, Way, write_all};
use knuckle::screen::{
    Dial, Event, NoEasel, Opening, Preparing, Reckoned, Reckoner, Silent, Source, Turn, go_round,
};
use knuckle::shop::{Keeper, load};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use crate::big_shop::{LIVE, NOW, big_shop};
use crate::tail::{is_wanted, ratio, tail, timed};

/// A key to a changed screen of 120×40, on every page, among 200 live figures; nothing is
/// kept. Leaves out the terminal itself.
pub(crate) fn bench() {
    if is_wanted("screen/key/120x40") {
        let mut hand = Hand::of("fcd?xgbjjkfit", 40, &[]);
        play(&big_shop(LIVE), &mut hand);
        tail("screen/key/120x40", &hand.taken.borrow().shown);
    }
    if is_wanted("screen/key kept/120x40") {
        kept();
    }
}

/// A key that keeps a line, to the changed screen: a reading of the air, and its striking.
/// Beside each a bare write of as many bytes with its sync, right after it. Leaves out the
/// terminal itself.
fn kept() {
    let shop = Copy::of(&big_shop(LIVE));
    let journal = shop.0.path().join("journal.jsonl");
    for (name, keys) in [
        ("screen/key kept/120x40", "a21\n50\n"),
        ("screen/key struck/120x40", "a21\n50\nu"),
    ] {
        let mut hand = Hand::of(keys, 150, std::slice::from_ref(&journal));
        play(shop.0.path(), &mut hand);
        let taken = hand.taken.borrow();
        let is_strike = name.contains("struck");
        let mine = taken.kept.iter().filter(|kept| kept.is_strike == is_strike);
        let (ours, plain): (Vec<_>, Vec<_>) = mine.map(|kept| (kept.shown, kept.bare)).unzip();
        assert!(100 <= ours.len(), "{name}: {} kept", ours.len());
        tail(name, &ours);
        tail(&format!("{name} (bare write and sync)"), &plain);
        ratio(name, &ours, &plain);
    }
}

/// A copy of a shop that may be written to.
struct Copy(tempfile::TempDir);

impl Copy {
    fn of(shop: &Path) -> Self {
        let copy = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        copy_folder(shop, copy.path());
        Self(copy)
    }
}

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let there = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy_folder(&entry.path(), &there);
        } else {
            fs::copy(entry.path(), there).unwrap();
        }
    }
}

/// Opens a shop without a cache.
pub(crate) fn keeper(shop: &Path) -> Keeper {
    let (cards, flaws) = load(&RealDisk, shop).unwrap();
    assert_eq!(flaws, []);
    Keeper::open(Arc::new(RealDisk), shop, cards).unwrap()
}

fn play(shop: &Path, hand: &mut Hand) {
    let mut keeper = keeper(shop);
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
    let opening = Opening {
        by: "odile".to_owned(),
        bench: "bench".to_owned(),
        figure: Some("hare-0001".to_owned()),
        ..Opening::default()
    };
    let mut dial = Stands(DateTime::parse_from_rfc3339(NOW).unwrap());
    let mut bell = Silent;
    let mut elsewhere = Elsewhere;
    let turn = Turn::new(&mut keeper, &mut dial, &mut bell, opening);
    let mut turn = turn.with_reckoner(&mut elsewhere);
    go_round(&mut turn, &mut terminal, hand, &mut NoEasel).unwrap();
    let page = terminal.backend().buffer();
    assert!(page.content().iter().any(|cell| cell.symbol() != " "));
}

/// Forecasts are reckoned in another thread, which no key waits for.
struct Elsewhere;

impl Reckoner for Elsewhere {
    fn begin(&mut self, _ticket: u64, _preparing: Preparing) -> Option<Reckoned> {
        None
    }

    fn wait(&mut self) -> Option<Reckoned> {
        None
    }
}

/// What a hand noted.
#[derive(Default)]
struct Taken {
    /// From each key that kept nothing to its screen.
    shown: Vec<Duration>,
    /// The keys that kept a line.
    kept: Vec<KeptKey>,
}

/// A key that kept a line.
struct KeptKey {
    shown: Duration,
    /// A bare write and sync right after it.
    bare: Duration,
    is_strike: bool,
}

/// A hand that presses keys and notes how long each took to be drawn.
struct Hand {
    keys: VecDeque<char>,
    pressed: Option<(Instant, char)>,
    /// Journals in which a key may keep something, and how long they were.
    journals: Vec<(PathBuf, u64)>,
    bare: Box<dyn OpenFile>,
    _folder: tempfile::TempDir,
    taken: Rc<RefCell<Taken>>,
}

impl Hand {
    fn of(keys: &str, times: usize, journals: &[PathBuf]) -> Self {
        let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
        let bare = RealDisk.open(&folder.path().join("bare"), Way::AppendOrMake);
        let count = keys.chars().count();
        Self {
            // The first key takes away whatever lies over the page.
            keys: keys.chars().cycle().take(count * times).collect(),
            pressed: None,
            journals: journals
                .iter()
                .map(|path| (path.clone(), len(path)))
                .collect(),
            bare: bare.unwrap(),
            _folder: folder,
            taken: Rc::default(),
        }
    }

    /// Returns by how much the journals have grown since the last look.
    fn grown(&mut self) -> u64 {
        let grown = self.journals.iter_mut().map(|(path, before)| {
            let now = len(path);
            now - std::mem::replace(before, now)
        });
        grown.sum()
    }
}

fn len(path: &Path) -> u64 {
    fs::metadata(path).unwrap().len()
}

impl Source for Hand {
    fn next(&mut self, _wait: Option<Duration>) -> Event {
        if let Some((pressed, key)) = self.pressed.take() {
            let shown = pressed.elapsed();
            let grown = usize::try_from(self.grown()).unwrap();
            if grown == 0 {
                self.taken.borrow_mut().shown.push(shown);
            } else {
                let bytes = vec![b'x'; grown];
                let bare = timed(|| {
                    write_all(self.bare.as_mut(), &bytes).unwrap();
                    self.bare.sync().unwrap();
                });
                self.taken.borrow_mut().kept.push(KeptKey {
                    shown,
                    bare,
                    is_strike: key == 'u',
                });
            }
        }
        let Some(key) = self.keys.pop_front() else {
            return Event::Quit;
        };
        let code = match key {
            '\n' => KeyCode::Enter,
            key => KeyCode::Char(key),
        };
        self.pressed = Some((Instant::now(), key));
        Event::Key(KeyEvent::new(code, KeyModifiers::NONE))
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
