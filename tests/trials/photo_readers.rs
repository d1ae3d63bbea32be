//! A photograph that takes its time: its place says that it is being read, keys act and alarms
//! ring meanwhile, and what comes after another one was chosen is dropped.

use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;
use std::time::Duration;

use chrono::{DateTime, FixedOffset};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use knuckle::alarm::Quiet;
use knuckle::screen::{Bell, Dial, Event, Opening, PhotoRead, PhotoReader, Shown, Turn, Unread};
use knuckle::shop::{Keeper, SampleDisk, load};
use knuckle::standing::ClockView;

use crate::kit::picture;
use crate::memory::at;

/// What was begun, in order, and is not read yet.
type Begun = Rc<RefCell<VecDeque<(u64, Unread)>>>;

/// Somebody who begins to read and lets it lie until the trial asks for it.
struct Later(Begun);

impl PhotoReader for Later {
    fn begin(&mut self, ticket: u64, unread: Unread) -> Option<PhotoRead> {
        self.0.borrow_mut().push_back((ticket, unread));
        None
    }
}

/// A dial that the trial turns.
struct Turned(Rc<Cell<DateTime<FixedOffset>>>);

impl Dial for Turned {
    fn look(&mut self) -> (DateTime<FixedOffset>, Option<(f64, String)>) {
        (self.0.get(), None)
    }

    fn wait_for(&self, _due: DateTime<FixedOffset>) -> Option<Duration> {
        None
    }
}

/// A bell that counts what rings.
struct Counts(Rc<Cell<usize>>);

impl Bell for Counts {
    fn hear(
        &mut self,
        clocks: &[ClockView],
        _quiet: Quiet,
        _now: DateTime<FixedOffset>,
    ) -> Option<DateTime<FixedOffset>> {
        let ringing = clocks.iter().filter(|it| it.ringing.is_some()).count();
        self.0.set(ringing);
        None
    }
}

const MORNING: &str = "2026-11-25T08:00:00+00:00";

/// The screen over the sample shop, and what the trial holds of the world around it.
struct Play<'a, 'b> {
    turn: &'a mut Turn<'b>,
    begun: Begun,
    now: Rc<Cell<DateTime<FixedOffset>>>,
    ringing: Rc<Cell<usize>>,
}

impl Play<'_, '_> {
    fn take(&mut self, event: Event) {
        assert!(self.turn.take(event));
        self.turn.look();
    }

    fn press(&mut self, code: KeyCode) {
        self.take(Event::Key(KeyEvent::new(code, KeyModifiers::NONE)));
    }

    fn keys(&mut self, keys: &str) {
        for sign in keys.chars() {
            self.press(KeyCode::Char(sign));
        }
    }

    /// What was begun first is read and comes.
    fn comes(&mut self) {
        let (ticket, unread) = self.begun.borrow_mut().pop_front().unwrap();
        let shown = match unread() {
            Ok(picture) => Shown::Picture(Arc::new(picture)),
            Err(why) => Shown::Not(why),
        };
        self.take(Event::PhotoRead(PhotoRead { ticket, shown }));
    }

    fn lie(&self) -> usize {
        self.begun.borrow().len()
    }

    fn page(&self) -> String {
        let mut page = Buffer::empty(Rect::new(0, 0, 120, 40));
        let area = page.area;
        self.turn.pane().draw(area, &mut page);
        picture::text(&page)
    }

    /// How many of the two places say that they wait, and how many hold a picture.
    fn places(&self) -> [usize; 2] {
        let pane = self.turn.pane();
        let shown = pane.sight.pictures.iter().flatten();
        let many = |wanted: fn(&&Shown) -> bool| shown.clone().filter(wanted).count();
        [
            many(|it| matches!(it, Shown::Unread)),
            many(|it| matches!(it, Shown::Picture(_))),
        ]
    }

    /// Turns to a part of the figure.
    fn part(&mut self, wanted: &str) {
        for _ in 0..60 {
            let pane = self.turn.pane();
            let dossier = pane.sight.dossier.clone().unwrap();
            if dossier.id(pane.view.dossier.part) == Some(wanted) {
                return;
            }
            self.press(KeyCode::Right);
        }
        panic!("no part {wanted}");
    }
}

/// Opens the photographs of the hare's near side of the body and plays on from there.
fn play(act: impl FnOnce(&mut Play<'_, '_>)) {
    let disk = Arc::new(SampleDisk::new());
    let (cards, flaws) = load(disk.as_ref(), Path::new("")).unwrap();
    assert_eq!(flaws, []);
    let mut keeper = Keeper::open(disk, "", cards).unwrap();
    let (begun, now) = (Begun::default(), Rc::new(Cell::new(at(MORNING))));
    let ringing = Rc::new(Cell::new(0));
    let (mut dial, mut bell) = (Turned(now.clone()), Counts(ringing.clone()));
    let mut reader = Later(begun.clone());
    let opening = Opening {
        by: "odile".into(),
        bench: "bench 1".into(),
        figure: Some("hare".into()),
        ..Opening::default()
    };
    let turn = Turn::new(&mut keeper, &mut dial, &mut bell, opening);
    let mut turn = turn.with_photo_reader(&mut reader);
    let mut play = Play {
        turn: &mut turn,
        begun,
        now,
        ringing,
    };
    // The sentence above every card comes first; a disk that cannot be written says so.
    play.keys(" ");
    play.press(KeyCode::Esc);
    play.keys("ivvv");
    assert_eq!(play.lie(), 1, "the near side of the whole figure");
    play.comes();
    play.part("body-near");
    act(&mut play);
}

const READING: &str = "this photograph is being read…";

#[test]
fn the_place_of_a_photograph_says_that_it_is_being_read_until_it_is_there() {
    play(|play| {
        assert_eq!((play.lie(), play.places()), (1, [2, 0]), "one at a time");
        assert_eq!(play.page().matches(READING).count(), 2, "{}", play.page());
        play.comes();
        assert_eq!((play.lie(), play.places()), (1, [1, 1]));
        assert_eq!(play.page().matches(READING).count(), 1, "{}", play.page());
        play.comes();
        assert_eq!((play.lie(), play.places()), (0, [0, 2]));
        let page = play.page();
        assert!(!page.contains(READING) && page.contains('▀'), "{page}");
        // What was read once is not read again.
        play.press(KeyCode::Right);
        let of_the_next = play.lie();
        play.press(KeyCode::Left);
        assert_eq!((play.lie(), play.places()), (of_the_next, [0, 2]));
    });
}

#[test]
fn keys_act_and_alarms_ring_while_a_photograph_is_being_read() {
    play(|play| {
        assert_eq!(play.ringing.get(), 0);
        play.keys("c");
        let page = play.page();
        assert!(page.starts_with(" Clocks "), "{page}");
        play.keys("i");
        // The primer of the bandmaster may be gone over from seven minutes past noon.
        play.now.set(at("2026-11-25T12:30:00+00:00"));
        play.take(Event::Due);
        assert_eq!((play.ringing.get(), play.lie()), (1, 1));
        let page = play.page();
        assert!(page.contains("recoat") && page.contains(READING), "{page}");
        play.comes();
        assert_eq!(play.places(), [1, 1]);
    });
}

/// A small one that was asked for later is there before a large one that was left behind; a third
/// waits, for each of them takes its memory.
#[test]
fn one_left_behind_holds_up_the_next_no_longer_and_more_than_two_are_never_read() {
    play(|play| {
        play.part("saddle-seat");
        assert_eq!((play.lie(), play.places()), (2, [1, 0]));
        play.part("J3");
        assert_eq!(
            (play.lie(), play.places()),
            (2, [1, 0]),
            "two are being read"
        );
        play.part("saddle-seat");
        assert_eq!(play.lie(), 2, "it is being read already");
        let newest = play.begun.borrow_mut().pop_back().unwrap();
        play.begun.borrow_mut().push_front(newest);
        play.comes();
        assert_eq!(
            (play.lie(), play.places()),
            (1, [0, 1]),
            "the old one still lies"
        );
        play.comes();
        assert_eq!(play.places(), [0, 1], "and does nothing when it comes");
    });
}

#[test]
fn what_comes_after_another_was_chosen_is_dropped() {
    play(|play| {
        assert_eq!(play.lie(), 1);
        play.part("saddle-seat");
        assert_eq!(play.lie(), 2, "it does not wait for the one left behind");
        play.comes();
        assert_eq!(
            play.places(),
            [1, 0],
            "it is not shown in the new one's place"
        );
        play.comes();
        assert_eq!((play.lie(), play.places()), (0, [0, 1]));
        play.part("body-near");
        // The joint passed by on the way is being read as well.
        assert_eq!((play.lie(), play.places()), (2, [2, 0]), "it was dropped");
        // Nobody began it under that number.
        let shown = Shown::Not("of nobody".into());
        play.take(Event::PhotoRead(PhotoRead { ticket: 0, shown }));
        assert_eq!(play.places(), [2, 0], "{}", play.page());
    });
}
