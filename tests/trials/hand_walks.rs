//! Every operation of the journey on every path of the sample figures, walked to its end
//! through the real round of the screen, with keys only. The clock stands until nothing can be
//! done by a hand, and then goes on.

use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use chrono::{DateTime, Duration, FixedOffset};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::{buffer::Buffer, layout::Rect};

use knuckle::card::{Figure, Mark};
use knuckle::screen::{
    AirEntry, Dial, Event, LEAST_HEIGHT, LEAST_WIDTH, List, Opening, Over, Sight, Silent, Turn,
    View,
};
use knuckle::standing::{Ask, Book, ClockView, JobState, OpensBy, Stage, Verdict, offers};

use crate::memory::{Bench, at, pick_lot, sample_cards, usual_value};
use crate::played::Behind;

/// A walk that has not ended after so many looks never will.
const LOOKS: usize = 6000;

/// A clock that is put forward by the walker.
struct Moves(Rc<Cell<DateTime<FixedOffset>>>);

impl Dial for Moves {
    fn look(&mut self) -> (DateTime<FixedOffset>, Option<(f64, String)>) {
        (self.0.get(), None)
    }

    fn wait_for(&self, _due: DateTime<FixedOffset>) -> Option<std::time::Duration> {
        None
    }
}

/// What the walker does at one look.
#[derive(Debug, PartialEq)]
enum Step {
    Press(KeyCode),
    Type(String),
    /// Hands can do nothing: so many hours go by.
    Wait(i64),
    /// The gate wants its readings anew, two days later.
    Reread,
    Ended,
}

fn press(letter: char) -> Step {
    Step::Press(KeyCode::Char(letter))
}

const SPACE: Step = Step::Press(KeyCode::Char(' '));
const ENTER: Step = Step::Press(KeyCode::Enter);

/// What is walked: figure, operation, target.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Wanted {
    figure: String,
    operation: String,
    target: Option<String>,
}

struct Walker<'a> {
    wanted: &'a Wanted,
    bench_cards: &'a knuckle::card::Cards,
    /// How often each row of a list of places was picked.
    picked: BTreeMap<String, usize>,
    air: (f64, f64),
}

impl Walker<'_> {
    fn step(&mut self, view: &View, sight: &Sight) -> Step {
        if !sight.ringing().is_empty() && !matches!(view.over, Over::Write(_)) {
            return SPACE;
        }
        match &view.over {
            Over::Deferral => SPACE,
            Over::Question(_) => press('y'),
            Over::Air(AirEntry::Room { temp_c, .. }) => self.of_air(view, temp_c.is_some()),
            Over::Write(write) if write.field.words().is_empty() => {
                Step::Type("as it has to be".to_owned())
            }
            Over::Write(_) => ENTER,
            Over::List(list) => self.of_list(view, sight, list),
            Over::Help | Over::Air(AirEntry::Cup { .. }) => Step::Press(KeyCode::Esc),
            Over::Nothing => self.at_bench(view, sight),
        }
    }

    fn of_air(&self, view: &View, has_temp: bool) -> Step {
        let wanted = if has_temp { self.air.1 } else { self.air.0 };
        if view.entry.is_empty() {
            Step::Type(wanted.to_string())
        } else {
            ENTER
        }
    }

    fn of_list(&mut self, view: &View, sight: &Sight, list: &List) -> Step {
        let place = match list.title.as_str() {
            "who is at the bench?" => {
                let wanted = self.person(view, sight);
                let mut people = sight.shop.people.iter();
                people.position(|person| person.id == wanted).unwrap()
            }
            title if title.ends_with(": on which?") => self.which(sight, list),
            title if title.ends_with(": where?") => {
                let target = self
                    .wanted
                    .target
                    .as_deref()
                    .expect("one of several places");
                let end = format!(" · {target}");
                let mut rows = list.rows.iter();
                rows.position(|row| row.words.ends_with(&end)).unwrap()
            }
            _ => 0,
        };
        pick(view, place, list.rows.len())
    }

    /// The place that the gate names, else the one not walked, else the one picked least.
    fn which(&mut self, sight: &Sight, list: &List) -> usize {
        let why = match sight.prompt.as_ref().map(|prompt| &prompt.ask) {
            Some(Ask::Gate(verdict)) => verdict.why.clone(),
            _ => String::new(),
        };
        let key = |row: &knuckle::screen::Row| {
            let named = why.split([' ', ',']).any(|word| word == row.words);
            let times = self.picked.get(&row.words).copied().unwrap_or_default();
            (!named, row.note == "done", times)
        };
        let best = (0..list.rows.len()).min_by_key(|place| key(&list.rows[*place]));
        let best = best.unwrap();
        *self
            .picked
            .entry(list.rows[best].words.clone())
            .or_default() += 1;
        best
    }

    /// Who stands at the bench: who may sign at a signature, else somebody with the mark.
    fn person(&self, view: &View, sight: &Sight) -> String {
        let prompt = sight.prompt.as_ref();
        if let Some(Ask::Hold { may_sign, .. }) = prompt.map(|prompt| &prompt.ask) {
            return may_sign.first().expect("somebody may sign").clone();
        }
        let at_work = view.work.as_ref().map(|work| work.operation.as_str());
        let asked = match prompt.map(|prompt| &prompt.ask) {
            Some(Ask::Gate(verdict)) => match &verdict.opens_by {
                OpensBy::Operation(operation) => Some(operation.as_str()),
                _ => None,
            },
            _ => None,
        };
        let operation = asked.or(at_work).unwrap_or(&self.wanted.operation);
        let trade = self.bench_cards.checklists[operation].trade;
        let able =
            |person: &&knuckle::card::Person| trade == Mark::Any || person.marks.contains(&trade);
        let mut people = sight.shop.people.iter();
        people.find(able).expect("somebody can").id.clone()
    }

    fn at_bench(&mut self, view: &View, sight: &Sight) -> Step {
        let Some(prompt) = &sight.prompt else {
            return self.at_beginnings(view, sight);
        };
        if view.by != self.person(view, sight) && !matches!(prompt.ask, Ask::Finished { .. }) {
            return press('w');
        }
        match &prompt.ask {
            Ask::Gate(verdict) => self.of_gate(view, verdict),
            Ask::Reading {
                measure,
                usual,
                plausible,
                ..
            } => typed(view, usual_value(*measure, *usual, *plausible, self.air)),
            Ask::Pour { asked_g, .. } => typed(view, *asked_g),
            Ask::Choice { .. } => press('1'),
            Ask::Lot { options, .. } => match pick_lot(options) {
                Some(lot) => {
                    let place = options.iter().position(|one| one == lot).unwrap();
                    pick(view, place, options.len())
                }
                None => press('n'),
            },
            Ask::Batch { offers } => {
                let good = offers.iter().position(|offer| offer.refused.is_none());
                pick(view, good.expect("a batch that may be mixed"), offers.len())
            }
            Ask::Test {
                words,
                ready_word,
                places,
                ..
            } if places.iter().any(|place| !place.ready) => {
                let word = words.iter().position(|word| word == ready_word);
                pick(view, word.unwrap(), words.len())
            }
            Ask::Wait {
                ready: false,
                clock,
                ..
            } => Step::Wait(until(clock.as_ref(), sight.now)),
            Ask::Finished { .. } if self.is_wanted(view) => Step::Ended,
            Ask::SentBack { .. } | Ask::PourOff { .. } => panic!("{:?}", prompt.ask),
            _ => SPACE,
        }
    }

    fn is_wanted(&self, view: &View) -> bool {
        view.work.as_ref().is_some_and(|work| {
            work.operation == self.wanted.operation && work.target == self.wanted.target
        })
    }

    fn at_beginnings(&self, view: &View, sight: &Sight) -> Step {
        if view.by != self.person(view, sight) {
            return press('w');
        }
        // One row for each operation at each stage; what is open keeps its own.
        let mut rows = Vec::new();
        let mut place = None;
        for offer in sight.offers_to_pick() {
            let (stage, work) = (offer.stage, &offer.work);
            let same = |row: &(Stage, &str)| *row == (stage, work.operation.as_str());
            let known = rows.iter().position(same);
            let at = known.filter(|_| stage != Stage::Open).unwrap_or(rows.len());
            if at == rows.len() {
                rows.push((stage, work.operation.as_str()));
            }
            if work.operation == self.wanted.operation && work.target == self.wanted.target {
                place = place.or(Some(at));
            }
        }
        pick(view, place.expect("it is offered"), rows.len())
    }

    fn of_gate(&self, view: &View, verdict: &Verdict) -> Step {
        match &verdict.opens_by {
            OpensBy::Surface => typed(view, self.air.0),
            OpensBy::Operation(operation)
                if view
                    .work
                    .as_ref()
                    .is_some_and(|work| work.operation == *operation) =>
            {
                Step::Reread
            }
            OpensBy::Wait(_) => Step::Wait(A_WHILE_H),
            OpensBy::Nothing => panic!("{verdict:?}"),
            _ => SPACE,
        }
    }
}

/// Somebody looks again after so many hours.
const A_WHILE_H: i64 = 12;

/// Hours until a clock has come, rounded up; a while where it does not say.
fn until(clock: Option<&ClockView>, now: DateTime<FixedOffset>) -> i64 {
    let opens = clock.and_then(|clock| clock.opens);
    opens.map_or(A_WHILE_H, |opens| (opens - now).num_hours() + 1)
}

/// Types a number, takes it, and takes it once more where it is unusual.
fn typed(view: &View, number: f64) -> Step {
    if view.entry.is_empty() {
        Step::Type(number.to_string())
    } else {
        ENTER
    }
}

/// Turns over to the page of a row and presses its figure.
fn pick(view: &View, place: usize, rows: usize) -> Step {
    let skip = if view.skip < rows { view.skip } else { 0 };
    if place / 9 * 9 == skip {
        press(char::from_digit(u32::try_from(place % 9 + 1).unwrap(), 10).unwrap())
    } else {
        press('0')
    }
}

/// Walks one operation by keys, and returns how many keys it took.
fn walk(behind: &mut Behind, wanted: &Wanted) -> usize {
    let cards = behind.0.cards.clone();
    let now = Rc::new(Cell::new(behind.0.now));
    let (mut dial, mut bell) = (Moves(now.clone()), Silent);
    let opening = Opening {
        by: "odile".to_owned(),
        bench: "trial".to_owned(),
        ..Opening::default()
    };
    let mut walker = Walker {
        wanted,
        bench_cards: &cards,
        picked: BTreeMap::new(),
        air: (20.0, 50.0),
    };
    let mut keys = 0;
    let mut turn = Turn::new(behind, &mut dial, &mut bell, opening);
    go_to(&mut turn, &wanted.figure);
    for _ in 0..LOOKS {
        turn.look();
        // What must be read has to be on the page before Space takes it as read.
        let area = Rect::new(0, 0, LEAST_WIDTH, LEAST_HEIGHT);
        let reads = turn.pane().sight.prompt.as_ref();
        if reads.is_some_and(|prompt| matches!(prompt.ask, Ask::Cautions(_))) {
            let drawn = turn.pane().draw(area, &mut Buffer::empty(area));
            turn.drawn(drawn);
        }
        let step = walker.step(turn.view(), turn.pane().sight);
        let all = match step {
            Step::Ended => {
                drop(turn);
                behind.0.now = now.get();
                return keys;
            }
            Step::Wait(hours) => {
                now.set(now.get() + Duration::hours(hours));
                continue;
            }
            Step::Reread => {
                now.set(now.get() + Duration::hours(49));
                vec![KeyCode::Char('r')]
            }
            Step::Press(key) => vec![key],
            Step::Type(text) => text.chars().map(KeyCode::Char).collect(),
        };
        for key in all {
            keys += 1;
            now.set(now.get() + Duration::seconds(1));
            turn.take(Event::Key(KeyEvent::new(key, KeyModifiers::NONE)));
        }
    }
    let sight = turn.pane().sight;
    panic!(
        "{wanted:?} never ends: {:?}, {:?}",
        sight.prompt,
        turn.view()
    );
}

/// Takes a figure to the bench with the keys of a hand: the sentence first, then the list.
fn go_to(turn: &mut Turn<'_>, figure: &str) {
    for _ in 0..20 {
        turn.look();
        let (view, sight) = (turn.view(), turn.pane().sight);
        let key = match &view.over {
            Over::Deferral => ' ',
            _ if !sight.ringing().is_empty() => ' ',
            _ if view.figure.as_deref() == Some(figure) => return,
            _ => {
                let place = sight
                    .floor
                    .iter()
                    .position(|row| row.figure == figure)
                    .unwrap();
                char::from_digit(u32::try_from(place + 1).unwrap(), 10).unwrap()
            }
        };
        turn.take(Event::Key(KeyEvent::new(
            KeyCode::Char(key),
            KeyModifiers::NONE,
        )));
    }
    panic!("{figure} does not come to the bench: {:?}", turn.view());
}

/// Every operation on every path, each on the first place that a sample figure has for it;
/// of several figures the one with the fewest walks so far takes it.
fn all_walks() -> Vec<Wanted> {
    let bench = Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00"));
    let mut kinds: BTreeMap<(usize, String, String), Vec<Wanted>> = BTreeMap::new();
    for (figure, card) in &bench.cards.figures {
        for offer in offers(bench.house(), figure) {
            let operation = offer.work.operation.clone();
            let target = offer.work.target.clone();
            let order = card
                .route
                .iter()
                .position(|stop| stop.operation == operation);
            let key = (
                order.unwrap(),
                operation.clone(),
                path(card, target.as_deref()),
            );
            let wanted = Wanted {
                figure: figure.clone(),
                operation,
                target,
            };
            kinds.entry(key).or_default().push(wanted);
        }
    }
    let mut seen: BTreeSet<(String, String)> = BTreeSet::new();
    let mut walks: Vec<Wanted> = Vec::new();
    for ((_, operation, path), mut all) in kinds {
        if seen.insert((operation, path)) {
            let busy = |figure: &str| walks.iter().filter(|walk| walk.figure == figure).count();
            all.sort_by_key(|wanted| busy(&wanted.figure));
            walks.extend(all.into_iter().next());
        }
    }
    walks
}

/// The path of a target, in words; empty for the whole figure and for joints.
fn path(card: &Figure, target: Option<&str>) -> String {
    let panel = card.panels.iter().find(|panel| Some(&*panel.id) == target);
    let zone = panel.map_or(target, |panel| Some(panel.zone.as_str()));
    let zone = card.zones.iter().find(|known| Some(&*known.id) == zone);
    zone.map_or_else(String::new, |zone| format!("{:?}", zone.path))
}

fn walk_all_of(figure: &str) {
    let mut behind = Behind(Bench::new(sample_cards(), at("2026-11-23T08:00:00+00:00")));
    for wanted in all_walks()
        .into_iter()
        .filter(|wanted| wanted.figure == figure)
    {
        let all = offers(behind.0.house(), figure);
        let done = all.iter().any(|offer| {
            offer.stage == Stage::Done
                && offer.work.operation == wanted.operation
                && offer.work.target == wanted.target
        });
        // What a gate asked for before was walked by keys then.
        if !done {
            walk(&mut behind, &wanted);
        }
        assert_walked(&behind.0, &wanted);
    }
    behind.0.assert_live_is_replayed();
}

/// The walk ended, and every step of it stands in the journal as done or signed.
fn assert_walked(bench: &Bench, wanted: &Wanted) {
    let standing = &bench.standing.figures[&wanted.figure];
    let job = standing
        .jobs
        .iter()
        .rev()
        .find(|job| job.work.operation == wanted.operation && job.work.target == wanted.target);
    let job = job.unwrap_or_else(|| panic!("{wanted:?} was never begun"));
    assert!(matches!(job.state, JobState::Finished(_)), "{wanted:?}");
    let prompt = bench.prompt(&wanted.figure, &job.work);
    let done = job.acts.values().filter(|act| act.done.is_some()).count();
    assert_eq!(done, prompt.of, "{wanted:?}");
    let lines = &bench.lines[&Book::Figure(wanted.figure.clone())];
    let tags: BTreeSet<String> = lines.iter().map(|line| line.deed.tag()).collect();
    for tag in ["begun", "done", "signed", "finished"] {
        assert!(tags.contains(tag), "{wanted:?}: no `{tag}` in {tags:?}");
    }
}

#[test]
fn all_twenty_four_operations_are_walked_on_every_path_that_has_them() {
    let walks = all_walks();
    let operations: BTreeSet<&str> = walks.iter().map(|walk| walk.operation.as_str()).collect();
    let known: BTreeSet<String> = sample_cards().checklists.into_keys().collect();
    let missing: Vec<&String> = known
        .iter()
        .filter(|known| !operations.contains(known.as_str()))
        .collect();
    assert!(missing.is_empty(), "on no route: {missing:?}");
    assert!(30 < walks.len(), "{} walks", walks.len());
}

#[test]
fn keys_walk_what_the_bandmaster_has() {
    walk_all_of("bandmaster");
}

#[test]
fn keys_walk_what_the_hare_has() {
    walk_all_of("hare");
}

#[test]
fn keys_walk_what_the_heron_has() {
    walk_all_of("heron");
}

#[test]
fn keys_walk_what_the_lantern_woman_has() {
    walk_all_of("lantern-woman");
}

#[test]
fn keys_walk_what_the_lion_boss_has() {
    walk_all_of("lion-boss");
}
