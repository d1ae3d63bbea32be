//! The one thing that a step asks for now, and the keys that answer it.

use crate::card::Manner;
use crate::standing::{Ask, OpensBy, Prompt, TestPlace};

use super::at_step::place_in_front;
use super::column::Column;
use super::cup;
use super::hand::list_skip;
use super::ink::cells;
use super::keys::Act;
use super::look::{Sign, Tone};
use super::pane::Pane;
use super::safety::{cautions_to_read, gate};
use super::sight::name_of;
use super::times;

/// Returns the one line of a step: the act itself, or what it asks for before it.
pub(super) fn headline(prompt: &Prompt) -> String {
    match &prompt.ask {
        Ask::Gate(verdict) => format!("Gate: {}", verdict.name),
        Ask::Cautions(_) => "Read before you begin".to_owned(),
        // The hand does the whole act first, and only then reads the list.
        Ask::Confirm { .. } if prompt.manner == Manner::DoConfirm => prompt.act.clone(),
        Ask::Confirm { say, .. } => say.clone(),
        Ask::Reading { ask, .. }
        | Ask::Choice { ask, .. }
        | Ask::Lot { ask, .. }
        | Ask::Words { ask, .. } => ask.clone(),
        Ask::Photo { station, .. } => format!("Photograph: {station}"),
        Ask::Batch { .. } => "Choose the batch".to_owned(),
        Ask::Pour {
            part, cup, cups, ..
        } => {
            let cup = if *cups > 1 {
                format!(", cup {cup} of {cups}")
            } else {
                String::new()
            };
            format!("Pour {}{cup}", times::part(*part))
        }
        Ask::PourOff { .. } => "The pour is off".to_owned(),
        Ask::Start { .. } => "Press at first contact".to_owned(),
        Ask::Hold { .. } => "Wait for a signature".to_owned(),
        Ask::Finished { .. } => "Finished".to_owned(),
        Ask::SentBack { .. } => "Sent back".to_owned(),
        Ask::Act | Ask::Wait { .. } | Ask::Test { .. } => prompt.act.clone(),
    }
}

/// Returns the tone of the one line's plate.
pub(super) fn tone(ask: &Ask) -> Tone {
    match ask {
        Ask::Gate(_) | Ask::Cautions(_) | Ask::PourOff { .. } | Ask::SentBack { .. } => {
            Tone::BolePlate
        }
        Ask::Finished { .. } | Ask::Wait { ready: true, .. } => Tone::VerdigrisPlate,
        _ => Tone::GiltPlate,
    }
}

/// Returns what a typed number is and its unit, where a number is asked for.
pub(super) fn number_words(ask: &Ask) -> Option<(&'static str, &'static str)> {
    match ask {
        Ask::Reading { measure, .. } => Some(("", measure.unit())),
        Ask::Pour { .. } | Ask::PourOff { add: Some(_), .. } | Ask::Start { add: Some(_), .. } => {
            Some(("on the balance", "g"))
        }
        Ask::Gate(verdict) if verdict.opens_by == OpensBy::Surface => Some(("surface", "°C")),
        _ => None,
    }
}

/// Draws what is asked.
pub(super) fn draw(column: &mut Column<'_, '_>, pane: &Pane<'_>, prompt: &Prompt) {
    match &prompt.ask {
        Ask::Gate(verdict) => gate(column, pane, verdict),
        Ask::Cautions(cautions) => cautions_to_read(column, pane, cautions),
        Ask::Confirm { nth, of, say } => {
            if prompt.manner == Manner::DoConfirm {
                column.line(
                    &format!("do it all, then check {nth} of {of}"),
                    Tone::Rubbed,
                );
                checks(column, prompt, say);
            } else {
                column.line(
                    &format!("check {nth} of {of}: look at it, touch it"),
                    Tone::Rubbed,
                );
            }
            column.gap(1);
            column.next_key("Space", "it is so", Act::Next);
            column.keys(&[("p", "it is not", Act::Problem)]);
        }
        Ask::Reading { .. } => reading(column, pane, &prompt.ask),
        Ask::Choice { options, .. } => {
            rows(
                column,
                pane,
                options.iter().map(|word| (word.clone(), String::new())),
            );
            leave_key(column);
        }
        Ask::Lot {
            lacking: Some(tin), ..
        } => {
            no_tin(column, &pane.view.by, tin);
            leave_key(column);
        }
        Ask::Lot { options, .. } => {
            rows(
                column,
                pane,
                options.iter().map(|lot| {
                    let mark = if lot.warning.is_some() { "▲ " } else { "" };
                    let part = if lot.part.is_empty() { "" } else { " part " };
                    let words = format!("{mark}{}{part}{}  {}", lot.lot, lot.part, lot.name);
                    (words, lot.warning.clone().unwrap_or_default())
                }),
            );
            leave_key(column);
        }
        Ask::Photo { .. } => {
            column.next_key("Space", "it is taken", Act::Next);
            column.keys(&[("n", "leave it out", Act::Leave)]);
        }
        Ask::Words { .. } => {
            column.next_key("Space", "write", Act::Next);
            column.keys(&[("n", "leave it out", Act::Leave)]);
        }
        Ask::Batch { .. } | Ask::Pour { .. } | Ask::PourOff { .. } | Ask::Start { .. } => {
            cup::draw(column, pane, &prompt.ask);
        }
        Ask::Test { .. } => test(column, pane, &prompt.ask),
        _ => end(column, pane, prompt),
    }
}

/// Who may sign, and the key of whoever is here.
fn who_signs(column: &mut Column<'_, '_>, pane: &Pane<'_>, may_sign: &[String]) {
    let people = &pane.sight.shop.people;
    let names: Vec<String> = may_sign.iter().map(|id| name_of(people, id)).collect();
    let words = if names.is_empty() {
        "nobody may sign: it wants the mark on shop.yaml, and no hand in this work".to_owned()
    } else {
        format!("may sign: {}", names.join(", "))
    };
    column.wrap(&words, Tone::Rubbed, 3);
    column.gap(1);
    let is_here = may_sign.contains(&pane.view.by);
    if is_here {
        let sign = format!("sign as {}", pane.sight.person);
        column.next_key("Space", &sign, Act::Next);
        column.keys(&[("w", "somebody else", Act::Who)]);
    } else {
        column.next_key("w", "one of them is here", Act::Who);
    }
}

/// What to do where no tin of what is asked for is on the shelf; the page follows by itself.
fn no_tin(column: &mut Column<'_, '_>, by: &str, (card, part): &(String, &'static str)) {
    if card.is_empty() {
        let words = "no card of this kind stands in materials/ of the shop: write one, then leave \
                     and start again";
        return column.wrap(words, Tone::Bole, 4);
    }
    let part = if part.is_empty() {
        String::new()
    } else {
        format!(" --part {part}")
    };
    column.wrap("none is on the shelf yet", Tone::Bole, 2);
    let words = "In another terminal, with the number that is on the tin:";
    column.wrap(words, Tone::Chalk, 3);
    let line = format!("knuckle lot open {card} NUMBER{part} --as {by}");
    column.wrap(&line, Tone::Gilt, 3);
    column.wrap("This page then shows it by itself.", Tone::Rubbed, 2);
}

/// The whole list of a step: what counts already, what is asked now, what comes.
fn checks(column: &mut Column<'_, '_>, prompt: &Prompt, now: &str) {
    for (say, counts) in &prompt.checks {
        let (lead, tone, rows) = match (*counts, say == now) {
            (true, _) => ("✓ ", Tone::Verdigris, 1),
            (false, true) => ("▸ ", Tone::Gilt, 3),
            (false, false) => ("· ", Tone::Rubbed, 1),
        };
        // The key that answers stands below and is never pushed off.
        if rows == 3 || column.free() > 3 {
            column.wrap(&format!("{lead}{say}"), tone, rows);
        }
    }
}

fn end(column: &mut Column<'_, '_>, pane: &Pane<'_>, prompt: &Prompt) {
    let now = pane.sight.now;
    match &prompt.ask {
        Ask::Act => {
            if let Some(why) = &prompt.why {
                column.wrap(why, Tone::Rubbed, 3);
                column.gap(1);
            }
            column.next_key("Space", "done", Act::Next);
        }
        Ask::Wait { clock, ready, hand } => {
            let sign = match (ready, clock) {
                (true, _) => Sign::new("●", "come", Tone::Verdigris),
                (false, Some(clock)) => times::sign(clock),
                (false, None) => Sign::new("◇", "no clock was started here", Tone::Bole),
            };
            column.sign(sign, "", Tone::Chalk);
            column.wrap(hand, Tone::Chalk, 4);
            column.gap(1);
            if *ready {
                column.next_key("Space", "it is so", Act::Next);
            } else {
                column.keys(&[("e", "before its time, with a reason", Act::Early)]);
            }
        }
        Ask::Hold {
            sign,
            may_sign,
            refused,
        } => {
            if let Some(refused) = refused {
                let by = name_of(&pane.sight.shop.people, &refused.stamp.by);
                let hour = times::hour(refused.stamp.at, now);
                let words = format!("✗ refused by {by} {hour}: {}", refused.why);
                column.wrap(&words, Tone::Bole, 4);
                if let Some((said, stamp)) = &refused.again {
                    let by = name_of(&pane.sight.shop.people, &stamp.by);
                    let hour = times::hour(stamp.at, now);
                    let words = format!("put right by {by} {hour}, shown once more: {said}");
                    column.wrap(&words, Tone::Gilt, 4);
                }
            }
            column.wrap(sign, Tone::Chalk, 6);
            let is_back = refused.as_ref().is_some_and(|it| it.again.is_none());
            if is_back {
                column.keys(&[("p", "send it back to an earlier operation", Act::Problem)]);
            }
            if is_back {
                column.gap(1);
                column.next_key("Space", "put right: show it once more", Act::Next);
            } else {
                who_signs(column, pane, may_sign);
            }
        }
        Ask::Finished { at } => {
            column.line(&format!("at {}", times::hour(*at, now)), Tone::Chalk);
            column.next_key("Space", "what next?", Act::Next);
        }
        Ask::SentBack { back_to, why } => {
            let title = pane.sight.operation_title(back_to);
            column.line(&format!("back to: {title}"), Tone::Chalk);
            column.wrap(why, Tone::Rubbed, 3);
            column.gap(1);
            column.next_key("Space", &format!("begin {title}"), Act::Next);
        }
        _ => {}
    }
}

fn reading(column: &mut Column<'_, '_>, pane: &Pane<'_>, ask: &Ask) {
    let Ask::Reading {
        measure,
        station,
        nth,
        of,
        taken,
        plausible: [low, high],
        usual,
        ..
    } = ask
    else {
        return;
    };
    let place = station.as_deref().unwrap_or_default();
    if *of > 1 || !place.is_empty() {
        column.line(&format!("{place}  ({nth} of {of})"), Tone::Chalk);
    }
    let unit = measure.unit();
    number(column, pane, unit);
    column.keys(&[
        ("Enter", "take it", Act::Next),
        ("n", "leave it out", Act::Leave),
    ]);
    let [least, most] = usual;
    column.line(
        &format!(
            "usual {}–{} {unit}, possible {}–{}",
            times::number(*least),
            times::number(*most),
            times::number(*low),
            times::number(*high)
        ),
        Tone::Rubbed,
    );
    // The readings taken last stand nearest to the hand.
    let all: Vec<String> = taken
        .iter()
        .rev()
        .map(|(place, value)| format!("{place}: {}", times::number(*value)))
        .collect();
    if !all.is_empty() {
        column.wrap(&format!("so far  {}", all.join(" · ")), Tone::Rubbed, 4);
    }
}

/// The number being typed, large where there is room.
pub(super) fn number(column: &mut Column<'_, '_>, pane: &Pane<'_>, words: &str) {
    let entry = &pane.view.entry;
    if entry.is_empty() {
        column.line(&format!("▸ type it: {words}"), Tone::Gilt);
        return;
    }
    let tone = if pane.view.again {
        Tone::Bole
    } else {
        Tone::Gilt
    };
    let large = column.free() >= 7;
    column.figures(entry, words, tone, large);
}

/// The foot of the page names this key too; it never takes the place of a row.
fn leave_key(column: &mut Column<'_, '_>) {
    if column.free() > 0 {
        column.keys(&[("n", "leave it out", Act::Leave)]);
    }
}

/// Returns how many rows an ask needs at the least, where it is rows that are picked.
pub(super) fn rows_needed(ask: &Ask) -> usize {
    match ask {
        Ask::Choice { options, .. } => options.len().min(9),
        Ask::Lot { options, .. } => options.len().min(9),
        Ask::Batch { offers } => offers.len().min(9),
        Ask::Test { places, .. } => places.len() + 2,
        _ => 0,
    }
}

/// Returns how many rows an ask wants under its one line to be read from two metres: large
/// figures where a number is weighed or read, else its rows, a line of why and the keys.
pub(super) fn rows_wanted(ask: &Ask) -> usize {
    match ask {
        Ask::Reading { .. } | Ask::Pour { .. } | Ask::PourOff { .. } | Ask::Start { .. } => 12,
        Ask::Test { places, .. } => places.len() + 7,
        _ => rows_needed(ask).max(6),
    }
}

fn rows(
    column: &mut Column<'_, '_>,
    pane: &Pane<'_>,
    all: impl ExactSizeIterator<Item = (String, String)>,
) {
    let len = all.len();
    let skip = list_skip(pane.view, len);
    let spaced = usize::from(column.free()) > len * 2 + 2;
    for (place, (words, note)) in all.skip(skip).take(9).enumerate() {
        column.pick(place + 1, &words, &note);
        column.gap(u16::from(spaced));
    }
    if len > 9 {
        let more = len.saturating_sub(skip + 9);
        column.keys(&[("0", &format!("{more} more"), Act::More)]);
    }
}

fn test(column: &mut Column<'_, '_>, pane: &Pane<'_>, ask: &Ask) {
    let Ask::Test {
        words,
        ready_word,
        places,
        ..
    } = ask
    else {
        return;
    };
    let front = place_in_front(pane.view, places);
    let several = places.len() > 1;
    // Where rows are few the words come before the places, and the rest is left to the foot.
    let roomy = usize::from(column.free()) >= places.len() + 5;
    if roomy {
        column.line(&format!("all must say: {ready_word}"), Tone::Rubbed);
    } else {
        said_words(column, front, words);
    }
    for (nth, place) in places.iter().enumerate() {
        test_place(column, pane, place, nth == front && several);
        if nth == front && roomy {
            said_words(column, nth, words);
        }
    }
    if places.iter().all(|place| place.ready) {
        column.next_key("Space", "done", Act::Next);
    } else if several && roomy {
        column.keys(&[("Tab", "next place", Act::NextPlace)]);
    }
}

fn test_place(column: &mut Column<'_, '_>, pane: &Pane<'_>, place: &TestPlace, front: bool) {
    let last = match &place.last {
        Some((word, at)) => format!("{word}, {}", times::hour(*at, pane.sight.now)),
        None => "not tested".to_owned(),
    };
    let lead = if front { "▸ " } else { "  " };
    let name = if place.place.is_empty() {
        "here"
    } else {
        &place.place
    };
    let sign = if place.ready {
        Sign::new("●", "ready", Tone::Verdigris)
    } else {
        Sign::new("◇", "not yet", Tone::Gilt)
    };
    column.sign(sign, &format!("{lead}{name}: {last}"), Tone::Chalk);
}

fn said_words(column: &mut Column<'_, '_>, place: usize, words: &[&str]) {
    let keys: Vec<(String, &str, Act)> = words
        .iter()
        .enumerate()
        .map(|(word, said)| {
            let say = Act::Say {
                place: u8::try_from(place).unwrap_or(0),
                word: u8::try_from(word).unwrap_or(0),
            };
            ((word + 1).to_string(), *said, say)
        })
        .collect();
    let keys: Vec<(&str, &str, Act)> = keys
        .iter()
        .map(|(shown, said, act)| (shown.as_str(), *said, *act))
        .filter(|(shown, said, _)| cells(shown) + cells(said) < column.width())
        .collect();
    column.keys(&keys);
}
