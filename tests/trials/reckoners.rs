//! A forecast that takes its time: the screen goes on, what comes too late is dropped, and a
//! day that was closed is followed by its forecast all the same.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;
use std::time::Duration;

use ratatui::{Terminal, backend::TestBackend};

use knuckle::screen::{
    Event, NoEasel, Opening, Preparing, Reckoned, Reckoner, Silent, Source, Turn, go_round,
};

use crate::kit::picture;
use crate::played::{Behind, Stands, events, shop};

/// What was begun, in order, and has not come yet.
type Begun = Rc<RefCell<VecDeque<(u64, Preparing)>>>;

/// Somebody who begins a forecast and lets it lie until the trial asks for it.
struct Later(Begun);

impl Reckoner for Later {
    fn begin(&mut self, ticket: u64, preparing: Preparing) -> Option<Reckoned> {
        self.0.borrow_mut().push_back((ticket, preparing));
        None
    }

    fn wait(&mut self) -> Option<Reckoned> {
        take(&self.0)
    }
}

fn take(begun: &Begun) -> Option<Reckoned> {
    let (ticket, preparing) = begun.borrow_mut().pop_front()?;
    let forecast = preparing().coarsely().reckon();
    Some(Reckoned { ticket, forecast })
}

/// Keys, and at each `%` the forecast that was begun first comes.
struct Hand {
    parts: VecDeque<VecDeque<Event>>,
    begun: Begun,
}

impl Source for Hand {
    fn next(&mut self, _wait: Option<Duration>) -> Event {
        let Some(keys) = self.parts.front_mut() else {
            return Event::Quit;
        };
        if let Some(key) = keys.pop_front() {
            return key;
        }
        self.parts.pop_front();
        if self.parts.is_empty() {
            return Event::Quit;
        }
        take(&self.begun).map_or(Event::Due, Event::Reckoned)
    }
}

/// How the screen ends.
#[derive(Clone, Copy, PartialEq)]
enum Ends {
    /// Cut off.
    Cut,
    /// Left, with what is owed settled.
    Settled,
}

/// What a play left behind: tags of the lines, the last page, how many forecasts still lie.
struct After {
    kept: Vec<String>,
    page: String,
    lie: usize,
}

fn play(keys: &str, ends: Ends) -> After {
    let mut behind = Behind(shop());
    behind.settle("hare");
    let count = |behind: &Behind| -> usize { behind.0.lines.iter().map(|it| it.1.len()).sum() };
    let before = count(&behind);
    let opening = Opening {
        by: behind.0.by.clone(),
        figure: Some("hare".to_owned()),
        ..Opening::default()
    };
    let begun = Begun::default();
    let (mut dial, mut bell) = (Stands(behind.0.now), Silent);
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).unwrap();
    let mut worker = Later(begun.clone());
    let mut turn = Turn::new(&mut behind, &mut dial, &mut bell, opening).with_reckoner(&mut worker);
    let mut hand = Hand {
        parts: keys.split('%').map(events).collect(),
        begun: begun.clone(),
    };
    go_round(&mut turn, &mut terminal, &mut hand, &mut NoEasel).unwrap();
    if ends == Ends::Settled {
        turn.settle();
    }
    let mut lines: Vec<_> = behind.0.lines.iter().flat_map(|it| it.1.iter()).collect();
    lines.sort_by_key(|line| (line.at, line.n));
    let kept = lines.iter().map(|line| line.deed.tag());
    let mut kept: Vec<String> = kept.collect();
    assert!(before <= kept.len());
    kept.retain(|tag| tag.starts_with("day_") || tag == "forecasted");
    After {
        kept,
        page: picture::text(terminal.backend().buffer()),
        lie: begun.borrow().len(),
    }
}

#[test]
fn a_day_is_closed_at_once_and_its_forecast_follows_when_it_comes() {
    let after = play("g41g51f", Ends::Cut);
    assert_eq!(after.kept, ["day_opened", "day_closed"]);
    assert_eq!(after.lie, 1);
    assert!(
        after.page.contains("promises: reckoning…"),
        "{}",
        after.page
    );
    let after = play("g41g51f%", Ends::Cut);
    assert_eq!(after.kept, ["day_opened", "day_closed", "forecasted"]);
    assert!(!after.page.contains("reckoning…"), "{}", after.page);
    assert!(after.page.contains("promises at risk"), "{}", after.page);
}

#[test]
fn a_forecast_older_than_the_last_line_is_dropped_and_made_anew() {
    // The air is read while the forecast of the evening is under way.
    let air = "a119<enter>55<enter>";
    let after = play(&format!("g41g51{air}%"), Ends::Cut);
    assert_eq!(after.kept, ["day_opened", "day_closed"]);
    assert_eq!(after.lie, 1, "{}", after.page);
    let after = play(&format!("g41g51{air}%%"), Ends::Cut);
    assert_eq!(after.kept, ["day_opened", "day_closed", "forecasted"]);
    assert_eq!(after.lie, 0);
}

#[test]
fn who_leaves_at_once_leaves_the_forecast_of_the_evening_behind() {
    let after = play("g41g51", Ends::Settled);
    assert_eq!(after.kept, ["day_opened", "day_closed", "forecasted"]);
    // A floor that was only looked at owes nothing.
    let after = play("f", Ends::Settled);
    assert_eq!((after.kept.len(), after.lie), (0, 1));
}

#[test]
fn a_closing_that_was_struck_is_followed_by_nothing() {
    let after = play("g41g51u%", Ends::Settled);
    assert_eq!(after.kept, ["day_opened", "day_closed"]);
}

#[test]
fn the_floor_begins_one_forecast_and_no_other_while_nothing_is_kept() {
    let after = play("fffbfcf", Ends::Cut);
    assert_eq!(after.lie, 1);
    let after = play("f%fbf", Ends::Cut);
    assert_eq!(after.lie, 0);
    assert!(after.page.contains("promises at risk"), "{}", after.page);
}

/// The rows of the first forecast stand in their order: what stands below them is numbered after.
#[test]
fn the_numbers_of_the_page_go_up_when_the_first_forecast_has_come() {
    let numbers = |keys: &str| -> Vec<u32> {
        let page = play(keys, Ends::Cut).page;
        let words = page
            .lines()
            .filter_map(|line| line.split_whitespace().next());
        words.filter_map(|word| word.parse().ok()).collect()
    };
    // A question stands at the last point; the forecast puts promises above it.
    let before = numbers("p1may the ear wait?<enter>dv");
    let after = numbers("p1may the ear wait?<enter>dv%");
    assert!(before.len() < after.len(), "{before:?} {after:?}");
    assert!(after.is_sorted(), "{after:?}");
}
