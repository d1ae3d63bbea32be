//! The hand at the step in front: what the one next act, a figure or a letter means there.

use crate::card::GateKind;
use crate::deed::{Value, Work};
use crate::standing::{
    Ask, AtStep, CHANGED, Cup, Intent, Offer, OpensBy, Prompt, TestPlace, Verdict,
};

use super::hand::{Reply, follow, list_skip, take_job};
use super::keys::Act;
use super::lists;
use super::problems;
use super::sight::Sight;
use super::view::{AirEntry, List, Make, Over, Said, Then, View, Write};

/// The longest number that is typed, in figures.
const LONGEST_NUMBER: usize = 8;

/// Does an act at the bench.
pub(super) fn act(view: &mut View, sight: &Sight, act: Act) -> Reply {
    let (Some(figure), Some(work), Some(prompt)) =
        (view.figure.clone(), view.work.clone(), &sight.prompt)
    else {
        return pick_from(view, &lists::beginnings(view, sight), act);
    };
    let at = At {
        figure,
        work,
        prompt,
        sight,
    };
    match act {
        Act::Next => at.next(view),
        Act::Type(figure) => typed(view, figure),
        Act::Rub => rubbed(view),
        Act::Pick(digit) => at.pick(view, digit),
        Act::Say { place, word } => at.say(usize::from(place), usize::from(word)),
        Act::NextPlace => {
            view.place = view.place.saturating_add(1);
            Reply::Nothing
        }
        Act::Overrule => at.overrule(view),
        Act::ReadAgain => at.ask(AtStep::ReadAgain),
        Act::Leave => {
            view.over = Over::List(problems::leave(&at.figure, &at.work));
            Reply::Nothing
        }
        Act::Early => at.write(view, "why before its time?", Make::Early),
        Act::Discard => {
            view.over = Over::List(problems::discard(&at.figure, &at.work));
            Reply::Nothing
        }
        _ => Reply::Nothing,
    }
}

fn pick_from(view: &mut View, list: &List, act: Act) -> Reply {
    let digit = match act {
        Act::Pick(digit) => usize::from(digit),
        Act::Next => 1,
        _ => return Reply::Nothing,
    };
    let place = (digit + list_skip(view, list.rows.len())).checked_sub(1);
    match place.and_then(|place| list.rows.get(place)) {
        Some(row) => follow(view, row.then.clone()),
        None => Reply::Nothing,
    }
}

fn typed(view: &mut View, figure: char) -> Reply {
    let second_point = figure == '.' && view.entry.contains('.');
    if !second_point && view.entry.len() < LONGEST_NUMBER {
        view.entry.push(figure);
        view.again = false;
    }
    Reply::Nothing
}

fn rubbed(view: &mut View) -> Reply {
    view.entry.pop();
    view.again = false;
    Reply::Nothing
}

fn hint(view: &mut View, words: &str) -> Reply {
    view.said = Some(Said::Hint(words.to_owned()));
    Reply::Nothing
}

/// Returns the number typed; a hint is left if there is none.
fn number(view: &mut View) -> Option<f64> {
    let number = view.entry.parse::<f64>().ok();
    if number.is_none() {
        hint(view, "type the number first, then Enter");
    }
    number
}

/// The job in front, with the step it shows.
struct At<'a> {
    figure: String,
    work: Work,
    prompt: &'a Prompt,
    sight: &'a Sight,
}

impl At<'_> {
    fn ask(&self, what: AtStep) -> Reply {
        Reply::Ask(vec![Intent::Work {
            figure: self.figure.clone(),
            work: self.work.clone(),
            what,
        }])
    }

    fn write(&self, view: &mut View, title: &str, make: fn(String, Work) -> Make) -> Reply {
        view.over = Over::Write(Write {
            title: title.to_owned(),
            field: super::field::Field::default(),
            make: make(self.figure.clone(), self.work.clone()),
        });
        Reply::Nothing
    }

    fn next(&self, view: &mut View) -> Reply {
        match &self.prompt.ask {
            Ask::Gate(verdict) => self.at_gate(view, verdict),
            // A caution that was not on the screen cannot have been read.
            Ask::Cautions(_) if view.hidden => {
                view.scroll = view.scroll.saturating_add(1);
                Reply::Nothing
            }
            Ask::Cautions(_) | Ask::Confirm { .. } => self.ask(AtStep::Tick),
            Ask::Reading { .. } => self.enter(view),
            Ask::Photo { .. } => self.ask(AtStep::Enter {
                value: Value::Text("taken".to_owned()),
                again: false,
            }),
            Ask::Words { ask, .. } => self.write(view, ask, Make::Record),
            Ask::Choice { .. } | Ask::Lot { .. } | Ask::Batch { .. } => {
                hint(view, "pick one by its number")
            }
            Ask::Pour { .. } | Ask::PourOff { add: Some(_), .. } => match number(view) {
                Some(grams) => self.ask(AtStep::Pour { grams }),
                None => Reply::Nothing,
            },
            Ask::PourOff { .. } => hint(view, "only a new cup helps: x throws this one away"),
            Ask::Start { add: Some(_), .. } if !view.entry.is_empty() => match number(view) {
                Some(grams) => self.ask(AtStep::Pour { grams }),
                None => Reply::Nothing,
            },
            Ask::Start { .. } => self.ask(AtStep::Start),
            Ask::Act | Ask::Wait { ready: true, .. } => self.ask(AtStep::Done),
            Ask::Wait { .. } => hint(view, "not yet: wait, or e does it early with a reason"),
            Ask::Test { places, .. } if places.iter().all(|place| place.ready) => {
                self.ask(AtStep::Done)
            }
            Ask::Test { .. } => hint(view, "say the word at each place by its number"),
            Ask::Hold {
                refused: Some(refused),
                ..
            } if refused.again.is_none() => {
                self.write(view, "what was put right?", Make::ShowAgain)
            }
            Ask::Hold { may_sign, .. } if !may_sign.contains(&view.by) => {
                hint(view, "somebody else signs: w says who is here")
            }
            Ask::Hold { sign, .. } => {
                let question = lists::sign(&self.figure, &self.work, sign, &self.sight.person);
                view.over = Over::Question(question);
                Reply::Nothing
            }
            Ask::Finished { .. } => {
                view.work = None;
                Reply::Nothing
            }
            Ask::SentBack { back_to, .. } => self.begin(view, back_to),
        }
    }

    /// Takes up another operation: at the one place where it may be, else at one that is picked.
    fn begin(&self, view: &mut View, operation: &str) -> Reply {
        let begin = |target: &Option<String>| {
            let on_it =
                |offer: &&Offer| offer.work.operation == operation && offer.work.target == *target;
            match self.sight.offers.iter().find(on_it) {
                Some(offer) => take_job(&self.figure, &offer.work, offer.stage),
                None => Then::Do(Box::new(Intent::Begin {
                    figure: self.figure.clone(),
                    operation: operation.to_owned(),
                    target: target.clone(),
                })),
            }
        };
        match self.sight.leads_to.as_slice() {
            [] => follow(view, begin(&self.work.target)),
            [one] => follow(view, begin(one)),
            several => {
                let rows = several.iter().map(|target| {
                    let words = target.as_deref().unwrap_or("the whole figure");
                    lists::row(
                        words,
                        self.stage(operation, target.as_deref()),
                        begin(target),
                    )
                });
                let title = format!("{}: on which?", self.sight.operation_title(operation));
                view.over = Over::List(lists::list(&title, rows.collect()));
                Reply::Nothing
            }
        }
    }

    fn stage(&self, operation: &str, target: Option<&str>) -> &'static str {
        let mut offers = self.sight.offers.iter();
        let offer = offers.find(|offer| {
            offer.work.operation == operation && offer.work.target.as_deref() == target
        });
        offer.map_or("", |offer| lists::stage_word(offer.stage))
    }

    fn at_gate(&self, view: &mut View, verdict: &Verdict) -> Reply {
        match &verdict.opens_by {
            OpensBy::Vouch(_) => self.ask(AtStep::Vouch),
            OpensBy::AirReading(room) => follow(view, Then::Air(AirEntry::of_room(room))),
            OpensBy::Surface => self.enter(view),
            OpensBy::Operation(operation) if *operation == self.work.operation => {
                self.ask(AtStep::ReadAgain)
            }
            OpensBy::Operation(operation) => self.begin(view, operation),
            OpensBy::Renew { figure, clock } => Reply::Ask(vec![Intent::EndClock {
                figure: figure.clone(),
                clock: clock.clone(),
                how: CHANGED.to_owned(),
            }]),
            OpensBy::Wait(_) if verdict.gate == GateKind::MixLive => {
                view.over = Over::List(problems::discard(&self.figure, &self.work));
                Reply::Nothing
            }
            OpensBy::Wait(_) if verdict.gate == GateKind::OpenTime => hint(
                view,
                "p sends it back: open, clean, glue anew; or o overrules it",
            ),
            OpensBy::Wait(_) => hint(
                view,
                "nothing to press: it opens by itself, or o overrules it",
            ),
            OpensBy::Nothing => hint(
                view,
                "put right what it says, then r reads again; or o overrules it",
            ),
        }
    }

    fn enter(&self, view: &mut View) -> Reply {
        let again = view.again;
        match number(view) {
            Some(number) => self.ask(AtStep::Enter {
                value: Value::Number(number),
                again,
            }),
            None => Reply::Nothing,
        }
    }

    fn pick(&self, view: &mut View, digit: u8) -> Reply {
        let place = |rows: usize| (usize::from(digit) + list_skip(view, rows)).checked_sub(1);
        let enter = |text: &str| AtStep::Enter {
            value: Value::Text(text.to_owned()),
            again: false,
        };
        let what =
            match &self.prompt.ask {
                Ask::Choice { options, .. } => place(options.len())
                    .and_then(|place| options.get(place))
                    .map(|option| enter(option)),
                Ask::Lot { options, .. } => {
                    let lot = place(options.len()).and_then(|place| options.get(place));
                    lot.map(|lot| enter(&lot.lot))
                }
                Ask::Batch { offers } => place(offers.len())
                    .and_then(|place| offers.get(place))
                    .map(|offer| AtStep::Plan {
                        material: offer.material.clone(),
                    }),
                Ask::Test { places, .. } => {
                    let front = place_in_front(view, places);
                    return match usize::from(digit).checked_sub(1) {
                        Some(word) => self.say(front, word),
                        None => Reply::Nothing,
                    };
                }
                _ => None,
            };
        what.map_or(Reply::Nothing, |what| self.ask(what))
    }

    fn say(&self, place: usize, word: usize) -> Reply {
        let Ask::Test { places, words, .. } = &self.prompt.ask else {
            return Reply::Nothing;
        };
        match (places.get(place), words.get(word)) {
            (Some(place), Some(word)) => self.ask(AtStep::Test {
                place: place.place.clone(),
                word: (*word).to_owned(),
            }),
            _ => Reply::Nothing,
        }
    }

    /// Who overrules is told how often this gate was overruled before.
    fn overrule(&self, view: &mut View) -> Reply {
        let Ask::Gate(verdict) = &self.prompt.ask else {
            return Reply::Nothing;
        };
        let often = self.sight.overruled_words(verdict.gate);
        let often = if often.is_empty() {
            often
        } else {
            format!(" ({often})")
        };
        if verdict.hard {
            let title = format!("why overrule it? a second person signs next{often}");
            return self.write(view, &title, Make::OverruleHard);
        }
        let title = format!("why pass it all the same?{often}");
        self.write(view, &title, Make::Overrule)
    }
}

/// Returns the place under test in front: where the hand went, else the first not ready.
pub(super) fn place_in_front(view: &View, places: &[TestPlace]) -> usize {
    let first = places.iter().position(|place| !place.ready).unwrap_or(0);
    (first + view.place) % places.len().max(1)
}

/// Does an act while the air of a room is entered, temperature, then humidity; or the wall of
/// a cup.
pub(super) fn air(view: &mut View, mut air: AirEntry, act: Act) -> Reply {
    match act {
        Act::Type(figure) => {
            typed(view, figure);
        }
        Act::Rub => {
            rubbed(view);
        }
        Act::Next => {
            let read = number(view).and_then(|value| reading(&mut air, value));
            if let Some(intent) = read {
                view.over = Over::Air(air);
                return Reply::Ask(vec![intent]);
            }
            view.entry.clear();
        }
        _ => {}
    }
    view.over = Over::Air(air);
    Reply::Nothing
}

/// Takes a number in; returns what is to be kept once all of them are there.
fn reading(air: &mut AirEntry, value: f64) -> Option<Intent> {
    match air {
        AirEntry::Cup { figure, clock, .. } => Some(Intent::ReadCup {
            figure: figure.clone(),
            cup: Cup::Clock(clock.clone()),
            wall_c: value,
        }),
        AirEntry::Room {
            temp_c: temp_c @ None,
            ..
        } => {
            *temp_c = Some(value);
            None
        }
        AirEntry::Room {
            room,
            temp_c: Some(temp_c),
        } => Some(Intent::Air {
            room: room.clone(),
            temp_c: *temp_c,
            humidity_percent: value,
            source: crate::deed::HAND.to_owned(),
        }),
    }
}
