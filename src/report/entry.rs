//! One line of a journal in full: who, when, where in the work, what, how much, from which
//! lot, in which air, and which line corrects it. What a line does not say is said too.

use chrono::TimeDelta;

use super::day::book_name;
use super::harmless::harmless;
use super::shown::Shown;
use super::tell::{coat_words, sentence, step as said_step, work_of};
use crate::card::{Cards, Figure, Measure};
use crate::deed::{Deed, Line, Value, Work};
use crate::now::Zone;
use crate::reckon::day_beside;
use crate::standing::{Book, House};

/// A reading of the air that is older says nothing about a line, hours. Chosen here: sensors
/// and hands read a room several times a day.
const AIR_H: i64 = 12;

/// What stands where a line says nothing.
const NOT_SAID: &str = "not said";

/// A line in full.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its number, such as `hare:12`.
    pub number: String,
    /// What is told of it, each with its head, in a fixed order.
    pub rows: Vec<(&'static str, String)>,
}

impl Entry {
    /// Returns the entry as plain text.
    pub fn text(&self) -> String {
        let rows = self.rows.iter();
        let rows = rows.map(|(head, words)| format!("{head:<14}{words}\n"));
        std::iter::once(format!("{}\n", self.number))
            .chain(rows)
            .collect()
    }
}

/// Returns a line of a book in full; `None` where the book has no such line. `lines` are all
/// lines of the book, for what corrects a line stands behind it.
pub fn entry(
    house: House<'_>,
    (book, lines): (&Book, &[Line]),
    (n, zone): (u64, Zone),
) -> Option<Entry> {
    let line = lines.iter().find(|line| line.n == n)?;
    let cards = house.cards;
    let work = work_of(&line.deed);
    let card = match book {
        Book::Shop => None,
        Book::Figure(id) => cards.figures.get(id),
    };
    let rows = [
        ("who", who(line, cards)),
        ("when", when(line, zone)),
        ("figure", figure(book, card)),
        (
            "place",
            work.map_or_else(not_said, |work| place(work, card)),
        ),
        (
            "operation",
            work.map_or_else(not_said, |work| operation(line, work, cards)),
        ),
        ("what", sentence(line, cards, card)),
        (
            "how much",
            how_much(&line.deed, cards).unwrap_or_else(not_said),
        ),
        ("lot", lots(&line.deed).unwrap_or_else(not_said)),
        ("air", air(house, (book, lines), line)),
        ("corrections", corrections((book, lines), line, zone)),
    ];
    Some(Entry {
        number: format!("{}:{n}", book_name(book)),
        rows: rows
            .into_iter()
            .map(|(head, words)| (head, harmless(&words).into_owned()))
            .collect(),
    })
}

fn not_said() -> String {
    NOT_SAID.to_owned()
}

fn who(line: &Line, cards: &Cards) -> String {
    let people = &cards.shop.people;
    let person = people.iter().find(|person| person.id == line.by);
    let name = person.map_or_else(
        || line.by.clone(),
        |person| format!("{} ({})", person.name, person.trade),
    );
    match line.bench.as_str() {
        "" => name,
        bench => format!("{name}, at {bench}"),
    }
}

/// The moment in the shop's zone with its offset; and as it was written, where that differs.
fn when(line: &Line, zone: Zone) -> String {
    let shown = zone.show(line.at.to_utc());
    let mut words = shown.format("%A %-d %B %Y, %H:%M:%S %:z").to_string();
    if shown.offset() != line.at.offset() {
        words.push_str(&line.at.format(" (written %H:%M:%S %:z)").to_string());
    }
    if let Some(typed) = line.entered_later {
        let typed = zone.show(typed.to_utc());
        let day = day_beside(typed.date_naive(), shown.date_naive());
        let hour = typed.format("%H:%M %:z");
        words = format!("{words}; entered later, {day} {hour}");
    }
    words
}

fn figure(book: &Book, card: Option<&Figure>) -> String {
    match (book, card) {
        (Book::Shop, _) => "the shop itself".to_owned(),
        (Book::Figure(id), None) => id.clone(),
        (Book::Figure(id), Some(card)) => format!("{} ({id})", card.name),
    }
}

fn place(work: &Work, card: Option<&Figure>) -> String {
    let Some(target) = &work.target else {
        return "the whole figure".to_owned();
    };
    let zone = card.and_then(|card| card.zones.iter().find(|zone| zone.id == *target));
    let panel = card.and_then(|card| card.panels.iter().find(|panel| panel.id == *target));
    let joint = card.and_then(|card| card.joints.iter().find(|joint| joint.id == *target));
    match (zone, panel, joint) {
        (Some(zone), ..) => format!("zone {} ({target})", zone.name),
        (_, Some(panel), _) => format!("panel {} ({target})", panel.name),
        (_, _, Some(joint)) => format!("joint {target}, {}", joint.between),
        _ => target.clone(),
    }
}

fn operation(line: &Line, work: &Work, cards: &Cards) -> String {
    let list = cards.checklists.get(&work.operation);
    let mut words = vec![list.map_or_else(|| work.operation.clone(), |list| list.title.clone())];
    if 1 < work.round {
        words.push(format!("round {}", work.round));
    }
    let fields = line.deed.fields();
    let step = fields.get("step").and_then(serde_json::Value::as_str);
    let step = step.filter(|step| !step.is_empty());
    if let Some(step) = step {
        words.push(format!("step: {}", said_step(work, step, cards)));
    }
    words.join(", ")
}

fn how_much(deed: &Deed, cards: &Cards) -> Option<String> {
    let shown = Shown(cards.shop.units);
    let said = match deed {
        Deed::Recorded(deed) => match &deed.value {
            Value::Number(value) => {
                shown.of_unit(*value, deed.measure.map(Measure::unit).unwrap_or_default())
            }
            Value::Text(_) => return None,
        },
        Deed::Planned(deed) => format!(
            "{} + {}, {} of them",
            shown.mass(deed.a_g),
            shown.mass(deed.b_g),
            deed.cups
        ),
        Deed::Poured(deed) => format!(
            "{} of {} asked for",
            shown.mass(deed.got_g),
            shown.mass(deed.asked_g)
        ),
        Deed::Mixed(deed) => format!(
            "{} + {}, hardener {:+.1} % off",
            shown.mass(deed.a_g),
            shown.mass(deed.b_g),
            deed.off_percent
        ),
        Deed::Done(deed) => coat_words(deed.coat.as_ref()?, cards),
        Deed::Air(deed) => format!(
            "{}, {}",
            shown.temperature(deed.temp_c),
            shown.of_unit(deed.humidity_percent, "%")
        ),
        _ => return None,
    };
    Some(said)
}

fn lots(deed: &Deed) -> Option<String> {
    let said = match deed {
        Deed::Planned(deed) => deed.lots.join(" and "),
        Deed::Mixed(deed) => deed.lots.join(" and "),
        Deed::Done(deed) => deed.coat.as_ref()?.lot.clone()?,
        Deed::LotOpened(deed) => deed.lot.clone(),
        Deed::LotTrusted(deed) => deed.lot.clone(),
        Deed::LotDecanted(deed) => format!("{} into {}", deed.lot, deed.into),
        _ => return None,
    };
    Some(said)
}

/// The air of the room in which the figure stood then, as it was read last before the line.
fn air(house: House<'_>, (book, lines): (&Book, &[Line]), line: &Line) -> String {
    let Book::Figure(id) = book else {
        return NOT_SAID.to_owned();
    };
    let moved = lines.iter().rev().filter(|one| one.n <= line.n);
    let mut moved = moved.filter_map(|one| match &one.deed {
        Deed::Moved(deed) => Some(deed.room.as_str()),
        _ => None,
    });
    let card = house.cards.figures.get(id);
    let room = moved.next().or(card.map(|card| card.room.as_str()));
    let Some(room) = room else {
        return NOT_SAID.to_owned();
    };
    let log = house.standing.shop.air.get(room).into_iter().flatten();
    let since = line.at - TimeDelta::hours(AIR_H);
    let last = log.rev().find(|air| since <= air.at && air.at <= line.at);
    match last {
        None => format!("{room}: not read in the {AIR_H} h before"),
        Some(air) => {
            let shown = Shown(house.cards.shop.units);
            let minutes = (line.at - air.at).num_minutes();
            format!(
                "{room}: {}, {}, read {minutes} min before",
                shown.temperature(air.temp_c),
                shown.of_unit(air.humidity_percent, "%")
            )
        }
    }
}

/// What a later line says of this one, and which line this one speaks of.
fn corrections((book, lines): (&Book, &[Line]), line: &Line, zone: Zone) -> String {
    let book = book_name(book);
    let of = |other: &Line, what: &str, why: &str| {
        let day = zone.show(other.at.to_utc()).date_naive();
        let by = &other.by;
        let why = if why.is_empty() {
            String::new()
        } else {
            format!(": {why}")
        };
        format!("{what} by {book}:{} ({by}, {day}){why}", other.n)
    };
    let mut said: Vec<String> = match &line.deed {
        Deed::Struck(deed) => vec![format!("strikes {book}:{}", deed.line)],
        Deed::Answered(deed) => vec![format!("answers {book}:{}", deed.line)],
        Deed::PutRight(deed) => vec![format!("puts right {book}:{}", deed.line)],
        _ => Vec::new(),
    };
    said.extend(lines.iter().filter_map(|other| match &other.deed {
        Deed::Struck(deed) if deed.line == line.n => Some(of(other, "struck", &deed.why)),
        Deed::Answered(deed) if deed.line == line.n => {
            let what = if deed.accepted { "accepted" } else { "refused" };
            Some(of(other, what, &deed.why))
        }
        Deed::PutRight(deed) if deed.line == line.n => Some(of(other, "put right", &deed.said)),
        _ => None,
    }));
    if said.is_empty() {
        "none".to_owned()
    } else {
        said.join("; ")
    }
}
