//! The one table of keys. It feeds the input, the help page, the foot of every screen and
//! the readme, so that none of them can say anything else than the others.

use std::fmt::Write as _;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

pub use super::act::{Act, Place};
use super::view::Page;

/// One key of the table.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// The keys that do it.
    pub on: &'static [KeyCode],
    /// The key as it is shown.
    pub shown: &'static str,
    /// Where it counts.
    pub place: Place,
    /// What it does; for figures and letters the one pressed stands in.
    pub act: Act,
    /// What it does, in a few words.
    pub words: &'static str,
}

const FIGURES: &[KeyCode] = &[
    KeyCode::Char('1'),
    KeyCode::Char('2'),
    KeyCode::Char('3'),
    KeyCode::Char('4'),
    KeyCode::Char('5'),
    KeyCode::Char('6'),
    KeyCode::Char('7'),
    KeyCode::Char('8'),
    KeyCode::Char('9'),
];
const NUMBER: &[KeyCode] = &[
    KeyCode::Char('0'),
    KeyCode::Char('1'),
    KeyCode::Char('2'),
    KeyCode::Char('3'),
    KeyCode::Char('4'),
    KeyCode::Char('5'),
    KeyCode::Char('6'),
    KeyCode::Char('7'),
    KeyCode::Char('8'),
    KeyCode::Char('9'),
    KeyCode::Char('.'),
    KeyCode::Char(','),
];
const NEXT: &[KeyCode] = &[KeyCode::Char(' '), KeyCode::Enter];

const fn key(
    on: &'static [KeyCode],
    shown: &'static str,
    place: Place,
    act: Act,
    words: &'static str,
) -> Key {
    Key {
        on,
        shown,
        place,
        act,
        words,
    }
}

/// Every key.
pub const TABLE: &[Key] = &[
    key(NEXT, "Space", Place::Alarm, Act::Next, "answer the alarm"),
    key(
        &[KeyCode::Char('z')],
        "z",
        Place::Alarm,
        Act::PutOff,
        "later: what is waited for rings again in 15 min",
    ),
    key(
        NEXT,
        "Space",
        Place::Everywhere,
        Act::Next,
        "the one next act, named on the screen; Enter does the same",
    ),
    key(FIGURES, "1–9", Place::Rows, Act::Pick(0), "pick a row"),
    key(
        &[KeyCode::Char('0')],
        "0",
        Place::Rows,
        Act::More,
        "more rows",
    ),
    key(
        FIGURES,
        "1–9",
        Place::Test,
        Act::Pick(0),
        "say a test word at the place in front",
    ),
    key(
        &[KeyCode::Tab],
        "Tab",
        Place::Test,
        Act::NextPlace,
        "next place",
    ),
    key(
        NUMBER,
        "0–9 .",
        Place::Number,
        Act::Type('0'),
        "type the number; Enter takes it",
    ),
    key(
        &[KeyCode::Backspace],
        "Backspace",
        Place::Number,
        Act::Rub,
        "take a digit back",
    ),
    key(
        &[KeyCode::Char('o')],
        "o",
        Place::Gate,
        Act::Overrule,
        "overrule the gate, with a reason",
    ),
    key(
        &[KeyCode::Char('r')],
        "r",
        Place::Gate,
        Act::ReadAgain,
        "take the readings anew",
    ),
    key(
        &[KeyCode::Char('r')],
        "r",
        Place::Batch,
        Act::ReadAgain,
        "take other lots",
    ),
    key(
        &[KeyCode::Char('n')],
        "n",
        Place::Record,
        Act::Leave,
        "leave it out, with a word why",
    ),
    key(
        &[KeyCode::Char('x')],
        "x",
        Place::Cup,
        Act::Discard,
        "throw the cup away",
    ),
    key(
        &[KeyCode::Char('e')],
        "e",
        Place::Wait,
        Act::Early,
        "do it before its time, with a reason",
    ),
    key(
        &[KeyCode::Char('s')],
        "s",
        Place::Night,
        Act::Size,
        "size: plan with another one of the shelf",
    ),
    key(
        &[KeyCode::Char('m')],
        "m",
        Place::Night,
        Act::Hands,
        "more hands: one gilder tomorrow, two, three",
    ),
    key(
        &[KeyCode::Char('l')],
        "l",
        Place::Lots,
        Act::Lots,
        "lots: lets a lot's own times replace its sheet",
    ),
    key(&[KeyCode::Char('y')], "y", Place::Question, Act::Yes, "yes"),
    key(&[KeyCode::Char('n')], "n", Place::Question, Act::No, "no"),
    key(
        &[KeyCode::Esc],
        "Esc",
        Place::Question,
        Act::Back,
        "neither: takes the question away",
    ),
    key(&[KeyCode::Up], "↑", Place::Long, Act::Up, "one row up"),
    key(
        &[KeyCode::Down],
        "↓",
        Place::Long,
        Act::Down,
        "one row down",
    ),
    key(
        &[KeyCode::PageUp],
        "PgUp",
        Place::Long,
        Act::FarUp,
        "one page up",
    ),
    key(
        &[KeyCode::PageDown],
        "PgDn",
        Place::Long,
        Act::FarDown,
        "one page down",
    ),
    key(
        &[KeyCode::Char('u')],
        "u",
        Place::Everywhere,
        Act::Strike,
        "strike: takes the last act out, within 10 s",
    ),
    key(
        &[KeyCode::Char('!'), KeyCode::Char('p')],
        "p",
        Place::Everywhere,
        Act::Problem,
        "problem: what goes wrong, send back, ask; `!` does the same",
    ),
    key(
        &[KeyCode::Char('w')],
        "w",
        Place::Everywhere,
        Act::Who,
        "who: says who is at the bench",
    ),
    key(
        &[KeyCode::Char('a')],
        "a",
        Place::Everywhere,
        Act::Air,
        "air: temperature, humidity, extraction; the wall of a cup",
    ),
    key(
        &[KeyCode::Char('g')],
        "g",
        Place::Bench,
        Act::Go,
        "go: another figure, operation, room; open or close the day",
    ),
    key(
        &[KeyCode::Char('v')],
        "v",
        Place::Dossier,
        Act::NextLeaf,
        "next leaf: map, joints, old paint, photographs, readings",
    ),
    key(
        &[KeyCode::Char('z')],
        "z",
        Place::Dossier,
        Act::LeafBefore,
        "leaf before",
    ),
    key(
        &[KeyCode::Right],
        "→",
        Place::Dossier,
        Act::NextPart,
        "next part: zone, joint, exposure or plot",
    ),
    key(
        &[KeyCode::Left],
        "←",
        Place::Dossier,
        Act::PartBefore,
        "part before",
    ),
    key(
        &[KeyCode::Char('m')],
        "m",
        Place::Dossier,
        Act::Mark,
        "mark: the map by path, stage, coats, condition, wear, leaf",
    ),
    key(
        &[KeyCode::Char('s')],
        "s",
        Place::Dossier,
        Act::Side,
        "side: near, off, front, back",
    ),
    key(
        &[KeyCode::Char('v')],
        "v",
        Place::Day,
        Act::NextLeaf,
        "view: the journal, the one page of the day, that of the week",
    ),
    key(
        &[KeyCode::Left],
        "←",
        Place::Day,
        Act::PartBefore,
        "the day or week before",
    ),
    key(
        &[KeyCode::Right],
        "→",
        Place::Day,
        Act::NextPart,
        "the day or week after",
    ),
    key(
        &[KeyCode::Char('o')],
        "o",
        Place::Day,
        Act::Only,
        "only: the page of one figure or one person",
    ),
    key(
        &[KeyCode::Char('n')],
        "n",
        Place::Floor,
        Act::WhatNext,
        "next: three choices of what to do now, and what is lost without each",
    ),
    key(
        &[KeyCode::Char('o')],
        "o",
        Place::Floor,
        Act::Order,
        "order: what dies first, promise, name, longest waiting",
    ),
    key(
        &[KeyCode::Char('/')],
        "/",
        Place::Floor,
        Act::Find,
        "seek: figures by name, room, operation or what they wait for",
    ),
    key(
        &[KeyCode::Char('b'), KeyCode::F(1)],
        "b",
        Place::Everywhere,
        Act::Turn(Page::Bench),
        "Bench: one figure, one step; F1 does the same",
    ),
    key(
        &[KeyCode::Char('c'), KeyCode::F(2)],
        "c",
        Place::Everywhere,
        Act::Turn(Page::Clocks),
        "Clocks: what dies first; F2",
    ),
    key(
        &[KeyCode::Char('f'), KeyCode::F(3)],
        "f",
        Place::Everywhere,
        Act::Turn(Page::Floor),
        "Floor: all figures; F3",
    ),
    key(
        &[KeyCode::Char('d'), KeyCode::F(4)],
        "d",
        Place::Everywhere,
        Act::Turn(Page::Day),
        "Day: the journal page; F4",
    ),
    key(
        &[KeyCode::Char('i'), KeyCode::F(7)],
        "i",
        Place::Everywhere,
        Act::Turn(Page::Dossier),
        "Dossier: inside one figure, its map and record; F7",
    ),
    key(
        &[KeyCode::Char('t'), KeyCode::F(6)],
        "t",
        Place::Everywhere,
        Act::Turn(Page::Night),
        "Night: when to lay size this evening; F6",
    ),
    key(
        &[KeyCode::Char('?'), KeyCode::Char('h')],
        "?",
        Place::Everywhere,
        Act::Help,
        "help: explains this screen; `h` does the same",
    ),
    key(
        &[KeyCode::Esc],
        "Esc",
        Place::Everywhere,
        Act::Back,
        "close: takes away what lies over the screen",
    ),
    key(
        &[KeyCode::Char('q')],
        "q",
        Place::Everywhere,
        Act::Quit,
        "leave; asks first while an alarm rings",
    ),
];

/// Returns what a key means in the places that count now, the nearest place first.
///
/// A key that means nothing there is `None`: it does nothing.
pub fn act_for(places: &[Place], event: &KeyEvent) -> Option<Act> {
    let held = event.modifiers;
    if held.contains(KeyModifiers::CONTROL) || held.contains(KeyModifiers::ALT) {
        let stops = event.code == KeyCode::Char('c') && held == KeyModifiers::CONTROL;
        return stops.then_some(Act::Quit);
    }
    if places.contains(&Place::Text) {
        return text_act(event.code);
    }
    let code = match event.code {
        KeyCode::Char(letter) => KeyCode::Char(letter.to_ascii_lowercase()),
        other => other,
    };
    places.iter().find_map(|place| {
        let row = TABLE
            .iter()
            .find(|row| row.place == *place && row.on.contains(&code))?;
        Some(with_figure(row.act, code))
    })
}

fn text_act(code: KeyCode) -> Option<Act> {
    match code {
        KeyCode::Char(letter) => Some(Act::Letter(letter)),
        KeyCode::Backspace => Some(Act::Rub),
        KeyCode::Enter => Some(Act::Next),
        KeyCode::Esc => Some(Act::Back),
        _ => None,
    }
}

fn with_figure(act: Act, code: KeyCode) -> Act {
    let KeyCode::Char(figure) = code else {
        return act;
    };
    match act {
        Act::Pick(_) => Act::Pick(
            figure
                .to_digit(10)
                .and_then(|digit| u8::try_from(digit).ok())
                .unwrap_or(0),
        ),
        Act::Type(_) => Act::Type(if figure == ',' { '.' } else { figure }),
        other => other,
    }
}

/// Returns the rows of the table that count in these places, nearest place first.
pub fn rows_for(places: &[Place]) -> Vec<&'static Key> {
    places
        .iter()
        .flat_map(|place| TABLE.iter().filter(move |row| row.place == *place))
        .collect()
}

/// Returns the table as Markdown, for the readme.
pub fn markdown() -> String {
    let mut page = String::from("| key | where | what |\n| --- | --- | --- |\n");
    for row in TABLE {
        // Writing to a String cannot fail.
        let _written = writeln!(
            page,
            "| `{}` | {} | {} |",
            row.shown,
            row.place.words(),
            row.words
        );
    }
    page
}

#[cfg(test)]
mod tests {
    use super::{Act, Place, TABLE, act_for};
    use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

    #[test]
    fn no_key_means_two_things_in_one_place() {
        for (place, row) in TABLE.iter().enumerate() {
            for other in &TABLE[..place] {
                let shared = row.on.iter().any(|key| other.on.contains(key));
                assert!(
                    !(shared && row.place == other.place),
                    "{} and {}",
                    row.words,
                    other.words
                );
            }
        }
    }

    #[test]
    fn the_nearest_place_wins_and_a_strange_key_means_nothing() {
        let press = |code| KeyEvent::new(code, KeyModifiers::NONE);
        let places = [Place::Number, Place::Record, Place::Everywhere];
        assert_eq!(
            act_for(&places, &press(KeyCode::Char('7'))),
            Some(Act::Type('7'))
        );
        assert_eq!(
            act_for(&places, &press(KeyCode::Char(','))),
            Some(Act::Type('.'))
        );
        assert_eq!(act_for(&places, &press(KeyCode::Char('z'))), None);
        assert_eq!(act_for(&places, &press(KeyCode::Char('y'))), None);
        assert_eq!(
            act_for(&[Place::Rows], &press(KeyCode::Char('3'))),
            Some(Act::Pick(3))
        );
    }
}
