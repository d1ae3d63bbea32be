//! From an act of the hand to what is asked of the shop. Pure: it looks at the sight, turns
//! the view, and never touches a standing.

use crate::deed::{Value, Work};
use crate::standing::{Ask, AtStep, Book, Intent, OpensBy, Prompt, Stage};

use super::day_page;
use super::floor_rows;
use super::keys::{Act, Place};
use super::lists;
use super::problems;
use super::sight::Sight;
use super::view::{List, Make, Over, Page, Question, Said, Then, View, Write};

/// What an act comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Reply {
    /// The view may have changed; nothing is asked.
    Nothing,
    /// These are asked of the shop, one after the other until one is refused.
    Ask(Vec<Intent>),
    /// The program ends.
    Leave,
}

/// Returns the places whose keys count now, the nearest first.
pub fn places(view: &View, sight: &Sight) -> Vec<Place> {
    let mut places = Vec::new();
    if !sight.ringing().is_empty() {
        places.push(Place::Alarm);
    }
    match &view.over {
        Over::Write(_) => return vec![Place::Text],
        // Nothing that lies behind a question is reached before it was answered.
        Over::Question(_) => {
            places.push(Place::Question);
            return places;
        }
        Over::List(_) => places.push(Place::Rows),
        Over::Air(_) => places.push(Place::Number),
        Over::Help => places.push(Place::Long),
        Over::Deferral => {}
        Over::Nothing => match view.page {
            Page::Bench => {
                places.extend_from_slice(bench_places(sight.prompt.as_ref()));
                if sight.live_cup(view).is_some() && !places.contains(&Place::Cup) {
                    places.push(Place::Cup);
                }
                places.push(Place::Bench);
            }
            Page::Dossier => {
                places.extend_from_slice(&[Place::Dossier, Place::Rows, Place::Long]);
            }
            Page::Clocks => {
                places.extend_from_slice(&[Place::Rows, Place::Lots, Place::Long]);
            }
            Page::Day => places.extend_from_slice(&[Place::Rows, Place::Day, Place::Long]),
            Page::Night => {
                places.extend_from_slice(&[Place::Rows, Place::Night, Place::Lots, Place::Long]);
            }
            Page::Floor => places.extend_from_slice(&[Place::Rows, Place::Floor, Place::Long]),
        },
    }
    places.push(Place::Everywhere);
    places
}

fn bench_places(prompt: Option<&Prompt>) -> &'static [Place] {
    let Some(prompt) = prompt else {
        return &[Place::Rows];
    };
    match &prompt.ask {
        Ask::Gate(verdict) if verdict.opens_by == OpensBy::Surface => &[Place::Gate, Place::Number],
        Ask::Gate(_) => &[Place::Gate],
        Ask::Reading { .. } => &[Place::Number, Place::Record],
        Ask::Choice { .. } | Ask::Lot { .. } => &[Place::Rows, Place::Record],
        Ask::Photo { .. } | Ask::Words { .. } => &[Place::Record],
        Ask::Batch { .. } => &[Place::Rows, Place::Batch],
        Ask::Pour { .. } | Ask::PourOff { add: Some(_), .. } | Ask::Start { add: Some(_), .. } => {
            &[Place::Number, Place::Cup]
        }
        Ask::PourOff { .. } | Ask::Start { .. } => &[Place::Cup],
        Ask::Wait { ready: false, .. } => &[Place::Wait],
        Ask::Test { .. } => &[Place::Test],
        Ask::Cautions(_) => &[Place::Long],
        _ => &[],
    }
}

/// Does an act: turns the view and says what is to be asked of the shop.
pub fn act(view: &mut View, sight: &Sight, act: Act) -> Reply {
    if let Some(answer) = alarm_answer(view, sight, act) {
        return Reply::Ask(vec![answer]);
    }
    // Somebody must be at the bench to answer what rings there.
    let leaves = matches!(act, Act::Quit | Act::Yes | Act::No);
    let nobody = view.by.is_empty() && view.over == Over::Nothing;
    if nobody && !leaves && !sight.ringing().is_empty() {
        view.over = Over::List(lists::people(sight));
        return Reply::Nothing;
    }
    let answers = matches!(act, Act::Yes | Act::No | Act::Back | Act::Quit);
    if matches!(view.over, Over::Question(_)) && !answers {
        return Reply::Nothing;
    }
    // Nothing that lies behind the page of a fault is reached before that was put aside.
    if view.fault.is_some() && !answers {
        return Reply::Nothing;
    }
    // What was being typed stands there again when the fault was read.
    if act == Act::Back && view.fault.take().is_some() {
        return Reply::Nothing;
    }
    let said = view.said.take();
    if matches!((said, act), (Some(Said::Refused(_)), Act::Type(_))) {
        // What was refused is not gone on with: the next figure begins a new number.
        view.entry.clear();
    }
    if view.page == Page::Floor && view.over == Over::Nothing && floor_rows::turn(view, sight, act)
    {
        return Reply::Nothing;
    }
    if view.page == Page::Day && view.over == Over::Nothing && day_page::turn(view, sight, act) {
        return Reply::Nothing;
    }
    match act {
        Act::Back => {
            if view.over == Over::Nothing {
                view.floor.find.clear();
            }
            view.over = Over::Nothing;
            view.entry.clear();
            view.again = false;
            view.leaving = false;
        }
        Act::Turn(page) => turn_to(view, page),
        Act::Help => {
            view.scroll = 0;
            view.over = if view.over == Over::Help {
                Over::Nothing
            } else {
                Over::Help
            };
        }
        Act::Who => view.over = Over::List(lists::people(sight)),
        Act::Air => view.over = Over::List(lists::air(sight)),
        Act::Problem => view.over = Over::List(problems::problem(view, sight)),
        Act::Go => view.over = Over::List(lists::go(view, sight)),
        Act::Quit => return quit(view, sight),
        Act::Strike => return strike(view, sight),
        Act::Up => view.scroll = view.scroll.saturating_sub(1),
        Act::Down => view.scroll = view.scroll.saturating_add(1),
        Act::FarUp => view.scroll = view.scroll.saturating_sub(10),
        Act::FarDown => view.scroll = view.scroll.saturating_add(10),
        Act::More => view.skip = view.skip.saturating_add(9),
        Act::Size => view.over = Over::List(lists::sizes(sight)),
        Act::Hands => view.night.more_hands(),
        Act::Lots => lots(view, sight),
        other => return in_place(view, sight, other),
    }
    Reply::Nothing
}

/// Whose own times may replace the sheet; only the supervisor's yes does it.
fn lots(view: &mut View, sight: &Sight) {
    let list = lists::own_times(sight);
    if list.rows.is_empty() {
        let words = "no lot has enough cases of its own that nobody trusts yet";
        view.said = Some(Said::Hint(words.to_owned()));
    } else {
        view.over = Over::List(list);
    }
}

/// Whatever key is pressed while an alarm rings answers it, but for typing and for leaving,
/// and for the one that puts it off.
fn alarm_answer(view: &View, sight: &Sight, act: Act) -> Option<Intent> {
    let typing = matches!(
        act,
        Act::Type(_) | Act::Letter(_) | Act::Rub | Act::Quit | Act::Yes | Act::No
    );
    // Nobody is at the bench yet: the list of people comes first.
    if typing || view.by.is_empty() || (matches!(view.over, Over::Question(_)) && view.leaving) {
        return None;
    }
    let clock = *sight.ringing().first()?;
    let (mark, rang_at) = clock.ringing?;
    if act == Act::PutOff {
        return Some(Intent::PutOff {
            figure: clock.figure.clone(),
            clock: clock.id.clone(),
            mark,
            rang_at,
        });
    }
    Some(Intent::AnswerAlarm {
        figure: clock.figure.clone(),
        clock: clock.id.clone(),
        mark,
        rang_at,
    })
}

fn turn_to(view: &mut View, page: Page) {
    view.page = page;
    view.day.entry = None;
    view.over = Over::Nothing;
    view.scroll = 0;
    view.skip = 0;
}

fn quit(view: &mut View, sight: &Sight) -> Reply {
    let ringing = sight.ringing().len();
    if ringing == 0 || view.leaving {
        return Reply::Leave;
    }
    view.leaving = true;
    view.over = Over::Question(Question {
        title: "leave while an alarm rings?".to_owned(),
        words: vec![format!(
            "{ringing} unanswered; clocks run on, but this screen will not call you"
        )],
        yes: Then::Leave,
        no: Then::Close,
    });
    Reply::Nothing
}

fn strike(view: &mut View, sight: &Sight) -> Reply {
    let Some(last) = view
        .last
        .clone()
        .filter(|_| sight.strike_left(view).is_some())
    else {
        view.said = Some(Said::Hint("nothing of the last 10 s to strike".to_owned()));
        return Reply::Nothing;
    };
    let strikes = last
        .lines
        .into_iter()
        .rev()
        .map(|(book, line)| Intent::Strike {
            book,
            line,
            why: "struck at once".to_owned(),
        });
    Reply::Ask(strikes.collect())
}

fn in_place(view: &mut View, sight: &Sight, act: Act) -> Reply {
    match std::mem::take(&mut view.over) {
        Over::Nothing => match view.page {
            Page::Bench => super::at_step::act(view, sight, act),
            Page::Dossier => super::dossier::act(view, sight, act),
            Page::Clocks | Page::Floor | Page::Day | Page::Night => pick_on_page(view, sight, act),
        },
        Over::Help => {
            if act != Act::Next {
                view.over = Over::Help;
            }
            Reply::Nothing
        }
        Over::Deferral if act == Act::Next => Reply::Ask(vec![Intent::Acknowledge]),
        Over::Deferral => {
            view.over = Over::Deferral;
            Reply::Nothing
        }
        Over::List(list) => pick_row(view, list, act),
        Over::Write(write) => type_words(view, sight, write, act),
        Over::Air(air) => super::at_step::air(view, air, act),
        Over::Question(question) => match act {
            Act::Yes => follow(view, question.yes),
            Act::No => {
                view.leaving = false;
                follow(view, question.no)
            }
            _ => {
                view.over = Over::Question(question);
                Reply::Nothing
            }
        },
    }
}

fn pick_row(view: &mut View, list: List, act: Act) -> Reply {
    let Act::Pick(digit) = act else {
        view.over = Over::List(list);
        return Reply::Nothing;
    };
    let place = (usize::from(digit) + list_skip(view, list.rows.len())).checked_sub(1);
    if let Some(row) = place.and_then(|place| list.rows.get(place)) {
        view.skip = 0;
        follow(view, row.then.clone())
    } else {
        view.over = Over::List(list);
        Reply::Nothing
    }
}

/// Returns how many rows of a list are turned over; past its end it begins again.
pub(super) fn list_skip(view: &View, rows: usize) -> usize {
    if view.skip < rows { view.skip } else { 0 }
}

/// Does what follows from a pick.
pub(super) fn follow(view: &mut View, then: Then) -> Reply {
    match then {
        Then::Close => {}
        Then::Do(intent) => return Reply::Ask(vec![*intent]),
        Then::Write(write) => view.over = Over::Write(write),
        Then::List(list) => view.over = Over::List(list),
        Then::Question(question) => view.over = Over::Question(*question),
        Then::Figure(figure) => {
            view.figure = Some(figure);
            view.work = None;
            turn_to(view, Page::Bench);
        }
        Then::Job(figure, work) => {
            view.figure = Some(figure);
            view.work = Some(work);
            turn_to(view, Page::Bench);
        }
        Then::Person(person) => view.by = person,
        Then::Night(figure) => {
            view.figure = Some(figure);
            view.work = None;
            turn_to(view, Page::Night);
        }
        Then::Only(figure, by) => {
            view.day.figure = figure;
            view.day.by = by;
            view.day.row = 0;
        }
        Then::Panel(panel) => {
            if !view.night.without.remove(&panel) {
                view.night.without.insert(panel);
            }
        }
        Then::Size(size) => view.night.size = size,
        Then::Air(entry) => {
            view.entry.clear();
            view.over = Over::Air(entry);
        }
        Then::Leave => return Reply::Leave,
    }
    Reply::Nothing
}

fn pick_on_page(view: &mut View, sight: &Sight, act: Act) -> Reply {
    let Act::Pick(digit) = act else {
        return Reply::Nothing;
    };
    let rows = match view.page {
        Page::Floor => return pick_figure(view, sight, digit),
        Page::Day => lists::waiting(sight),
        Page::Night if sight.night.is_none() => lists::nights(sight),
        Page::Night => lists::panels(view, sight),
        _ => lists::clocks(sight),
    };
    let skip = list_skip(view, rows.rows.len());
    let place = (usize::from(digit) + skip).checked_sub(1);
    match place.and_then(|place| rows.rows.get(place)) {
        Some(row) => follow(view, row.then.clone()),
        None => Reply::Nothing,
    }
}

fn pick_figure(view: &mut View, sight: &Sight, digit: u8) -> Reply {
    let then = floor_rows::picked(view, sight, digit).map(lists::to_bench);
    then.map_or(Reply::Nothing, |then| follow(view, then))
}

fn type_words(view: &mut View, sight: &Sight, mut write: Write, act: Act) -> Reply {
    match act {
        Act::Letter(letter) => write.field.letter(letter),
        Act::Rub => write.field.rub(),
        Act::Next if write.field.words().is_empty() && write.make != Make::Find => {
            view.said = Some(Said::Hint("write a few words first, or Esc".to_owned()));
        }
        Act::Next => return made(view, sight, write.make, write.field.words().to_owned()),
        _ => {}
    }
    view.over = Over::Write(write);
    Reply::Nothing
}

fn made(view: &mut View, sight: &Sight, make: Make, words: String) -> Reply {
    let at = |figure, work, what| Intent::Work { figure, work, what };
    let why = words.clone();
    let intent = match make {
        Make::Record(figure, work) => {
            let value = Value::Text(words);
            at(
                figure,
                work,
                AtStep::Enter {
                    value,
                    again: false,
                },
            )
        }
        Make::Leave(figure, work) => at(figure, work, AtStep::Leave { why }),
        Make::Overrule(figure, work) => at(figure, work, AtStep::Overrule { why, second: None }),
        Make::OverruleHard(figure, work) => {
            view.over = Over::List(problems::seconds(view, sight, &figure, &work, &words));
            return Reply::Nothing;
        }
        Make::Early(figure, work) => at(figure, work, AtStep::DoneEarly { why }),
        Make::Discard(figure, work) => at(figure, work, AtStep::Discard { why }),
        Make::SendBack(figure, work, back_to) => {
            at(figure, work, AtStep::SendBack { back_to, why })
        }
        Make::ShowAgain(figure, work) => at(figure, work, AtStep::ShowAgain { said: words }),
        Make::PutRight(figure, line) => Intent::PutRight {
            figure,
            line,
            said: words,
        },
        Make::RefuseHold(figure, work) => {
            let accepted = false;
            at(figure, work, AtStep::Sign { accepted, why })
        }
        Make::Despite(figure, operation, target) => Intent::BeginDespite {
            figure,
            operation,
            target,
            why,
        },
        Make::Find => {
            view.floor.find = words;
            return Reply::Nothing;
        }
        Make::Ask(figure) => Intent::Ask {
            figure,
            text: words,
        },
        Make::Jot(book) => Intent::Jot { book, text: words },
        Make::Answer(figure, line, accepted) => Intent::Answer {
            figure,
            line,
            accepted,
            why,
        },
    };
    Reply::Ask(vec![intent])
}

/// Returns the journal an intent about a figure goes to.
pub(super) fn book_of(figure: Option<&str>) -> Book {
    figure.map_or(Book::Shop, |figure| Book::Figure(figure.to_owned()))
}

/// Takes a job to the bench: goes on with an open one, begins another.
pub(super) fn take_job(figure: &str, work: &Work, stage: Stage) -> Then {
    if stage == Stage::Open {
        return Then::Job(figure.to_owned(), work.clone());
    }
    Then::Do(Box::new(Intent::Begin {
        figure: figure.to_owned(),
        operation: work.operation.clone(),
        target: work.target.clone(),
    }))
}
