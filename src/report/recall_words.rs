//! Asks the past in free words: "last time oil glaze over that primer in November".
//!
//! A word is met by a line that holds it, or that names by its short name something whose
//! card holds it: a material, an operation, a step, a room, a person, a gate, a month. What
//! lies under a coat counts with the coat. Which lines may hold a word is seen in their bytes
//! first; only those are read. Both go by [`Meant`], so that none can be missed.

use std::collections::BTreeSet;

use chrono::Datelike;
use serde_json::Value as Json;

use super::day::book_name;
use super::needle::Needles;
use super::recall::{Archive, FEWEST, Found, OneFigure, Recalled, Shelf, read, recalled};
use super::tell::{gate_name, work_of};
use crate::card::{Cards, GateKind};
use crate::deed::{Deed, Line};
use crate::journal::JournalFault;
use crate::shop::in_shares;
use crate::standing::Book;

/// Words that say nothing about what is looked for.
const IDLE: [&str; 30] = [
    "the", "a", "an", "of", "over", "on", "in", "at", "that", "this", "last", "time", "when",
    "with", "and", "for", "to", "was", "were", "did", "we", "which", "where", "what", "under",
    "by", "it", "is", "used", "laid",
];

/// The months, as they are said.
const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// What is said of a deed beside its tag.
const DEEDS: [(&str, &str); 14] = [
    ("begun", "began begin"),
    ("finished", "finish"),
    ("sent_back", "sent back rework"),
    ("discarded", "threw thrown away discard"),
    ("poured", "pour weighed"),
    ("mixed", "mix batch cup"),
    ("deviated", "otherwise than planned deviation"),
    ("overruled", "overrule"),
    ("signed", "sign signature"),
    ("asked", "question"),
    ("jotted", "noted note"),
    ("answered", "answer accepted"),
    ("photo_kept", "photograph"),
    ("lot_decanted", "decanted jar"),
];

/// The gates, by the word that stands in a journal.
const GATES: [(&str, GateKind); 18] = [
    ("before", GateKind::Before),
    ("lead", GateKind::Lead),
    ("scheme", GateKind::Scheme),
    ("air_and_gloves", GateKind::AirAndGloves),
    ("moisture", GateKind::Moisture),
    ("neutral", GateKind::Neutral),
    ("temperature", GateKind::Temperature),
    ("dew", GateKind::Dew),
    ("humidity", GateKind::Humidity),
    ("gap", GateKind::Gap),
    ("cured", GateKind::Cured),
    ("washed", GateKind::Washed),
    ("recoat", GateKind::Recoat),
    ("quiet_air", GateKind::QuietAir),
    ("size_ready", GateKind::SizeReady),
    ("rags_away", GateKind::RagsAway),
    ("mix_live", GateKind::MixLive),
    ("open_time", GateKind::OpenTime),
];

/// One word that is looked for, and what stands for it in a line.
struct Meant {
    /// The word in small letters.
    word: String,
    /// Short names of which the card holds the word.
    names: BTreeSet<String>,
    /// Steps of which the act holds the word: operation and step.
    steps: BTreeSet<(String, String)>,
    /// Tags of deeds of which the word is said.
    tags: BTreeSet<&'static str>,
    /// Months that the word may mean, 1 to 12.
    months: Vec<u32>,
    needles: Needles,
}

impl Meant {
    fn new(word: &str, cards: &Cards) -> Self {
        let word = word.to_lowercase();
        let (names, steps) = (names(&word, cards), steps(&word, cards));
        let said = |words: &str| words.split(' ').any(|said| said.contains(&word));
        let tags: BTreeSet<&'static str> = DEEDS
            .iter()
            .filter(|(_, words)| said(words))
            .map(|(tag, _)| *tag)
            .collect();
        let months: Vec<u32> = (1..)
            .zip(MONTHS)
            .filter(|(_, name)| 3 <= word.len() && name.starts_with(&word))
            .map(|(month, _)| month)
            .collect();
        let mut texts = vec![stem(&word)];
        texts.extend(names.iter().map(|name| stem(name)));
        texts.extend(steps.iter().map(|(_, step)| stem(step)));
        texts.extend(tags.iter().map(|tag| format!(r#""deed":"{tag}""#)));
        texts.extend(months.iter().map(|month| format!("-{month:02}-")));
        Self {
            needles: Needles::new(&texts),
            word,
            names,
            steps,
            tags,
            months,
        }
    }

    /// Returns whether a line of a book holds the word.
    fn is_in(&self, line: &Line, book: &Book) -> bool {
        let fields = Json::Object(line.deed.fields());
        let tag = line.deed.tag();
        book_name(book).to_lowercase().contains(&self.word)
            || line.by.to_lowercase().contains(&self.word)
            || self.names.contains(&line.by)
            || self.tags.contains(tag.as_str())
            || self.months.contains(&line.at.month())
            || line.at.to_rfc3339().to_lowercase().contains(&self.word)
            || self.is_step(&fields)
            || self.is_said(&fields)
    }

    /// A step of a coat is called by the step and its coat: `coat#2`, `coat#2-rub`.
    fn is_step(&self, fields: &Json) -> bool {
        let field = |name: &str| fields.get(name).and_then(Json::as_str);
        let (Some(operation), Some(step)) = (field("operation"), field("step")) else {
            return false;
        };
        let (base, coat) = step.split_once('#').unwrap_or((step, ""));
        let between = coat.split_once('-').map_or("", |(_, between)| between);
        let known = |step: &str| {
            let step = (operation.to_owned(), step.to_owned());
            self.steps.contains(&step)
        };
        known(base) || known(between)
    }

    fn is_said(&self, field: &Json) -> bool {
        match field {
            Json::String(text) => {
                self.names.contains(text) || text.to_lowercase().contains(&self.word)
            }
            Json::Number(number) => number.to_string().trim_end_matches(".0") == self.word,
            Json::Array(all) => all.iter().any(|one| self.is_said(one)),
            Json::Object(all) => all.values().any(|one| self.is_said(one)),
            Json::Null | Json::Bool(_) => false,
        }
    }

    /// Returns whether a layer of a material holds the word.
    fn is_layer(&self, material: &str) -> bool {
        self.names.contains(material) || material.to_lowercase().contains(&self.word)
    }
}

/// Returns the short names whose cards hold a word.
fn names(word: &str, cards: &Cards) -> BTreeSet<String> {
    let holds = |text: &str| text.to_lowercase().contains(word);
    let mut names = BTreeSet::new();
    for card in cards.materials.values().filter(|card| holds(&card.name)) {
        names.insert(card.id.clone());
        names.extend(card.lots.iter().map(|lot| lot.lot.clone()));
    }
    for list in cards.checklists.values() {
        if holds(&list.title) {
            names.insert(list.id.clone());
        }
    }
    let rooms = cards.shop.rooms.iter().filter(|room| holds(&room.name));
    names.extend(rooms.map(|room| room.id.clone()));
    let people = cards.shop.people.iter();
    let people = people.filter(|one| holds(&one.name) || holds(&one.trade));
    names.extend(people.map(|person| person.id.clone()));
    let gates = GATES.iter().filter(|(_, gate)| holds(gate_name(*gate)));
    names.extend(gates.map(|(word, _)| (*word).to_owned()));
    // A name of no letters would stand in every line.
    names.remove("");
    names
}

/// Returns the steps whose act holds a word, those between coats as well.
fn steps(word: &str, cards: &Cards) -> BTreeSet<(String, String)> {
    let mut found = BTreeSet::new();
    for list in cards.checklists.values() {
        let between = list.steps.iter().filter_map(|step| step.coats.as_ref());
        let between = between.flat_map(|coats| &coats.between);
        let steps = list.steps.iter().chain(between);
        let steps = steps.filter(|step| step.act.to_lowercase().contains(word));
        found.extend(steps.map(|step| (list.id.clone(), step.id.clone())));
    }
    found
}

/// Returns the longest part of a text that stands in a line, made small, as it is: without
/// signs that JSON writes otherwise, and without letters of other alphabets.
fn stem(text: &str) -> String {
    let plain = |sign: char| sign.is_ascii() && !sign.is_ascii_control();
    let plain = |sign: char| plain(sign) && sign != '"' && sign != '\\';
    let parts = text.split(|sign| !plain(sign));
    let longest = parts.max_by_key(|part| part.len());
    longest.unwrap_or_default().to_ascii_lowercase()
}

impl Archive<'_> {
    /// Returns the lines that hold all of these words, the newest first. Words that say
    /// nothing (`the`, `over`, `last time`) are passed over, unless there are no others.
    ///
    /// A coat is found by its own line and by what lies under it together.
    ///
    /// # Errors
    /// As [`Archive::of_lot`].
    pub fn in_words(&self, words: &[String]) -> Result<Found, JournalFault> {
        let meant = self.meant(words);
        if meant.is_empty() {
            return Ok(Found::default());
        }
        let ledger = self.shelf()?;
        let shares = in_shares(self.books, FEWEST, |books| {
            self.words_in(books, (&meant, &ledger))
        });
        let mut found = Found::of(shares)?;
        let newest = |a: &Recalled, b: &Recalled| {
            let by_hour = b.line.at.cmp(&a.line.at);
            by_hour.then(b.line.n.cmp(&a.line.n))
        };
        found.recalled.sort_by(newest);
        Ok(found)
    }

    fn words_in(
        &self,
        books: &[Book],
        (meant, ledger): (&[Meant], &Shelf<'_>),
    ) -> Result<Found, JournalFault> {
        let mut found = Found::default();
        // One place for the letters made small: making it anew costs more than filling it.
        let mut small = Vec::new();
        for book in books {
            let raw = match self.bytes(book)? {
                Ok(raw) => raw,
                Err(damage) => {
                    found.unread.insert(book.clone(), damage);
                    continue;
                }
            };
            small.clear();
            small.extend(raw.iter().map(u8::to_ascii_lowercase));
            // The words that the name of the book does not hold already.
            let name = book_name(book).to_lowercase();
            let open = meant.iter().filter(|one| !name.contains(&one.word));
            let open: Vec<&Meant> = open.collect();
            if !open.iter().all(|one| one.needles.is_in(&small)) {
                continue;
            }
            let here = self.of_book(book, (&raw, &small), (&open, ledger));
            found.recalled.extend(here);
        }
        Ok(found)
    }

    fn meant(&self, words: &[String]) -> Vec<Meant> {
        let words = words.iter().flat_map(|word| word.split_whitespace());
        let clean = |word: &str| {
            let ends = |sign: char| matches!(sign, ',' | '.' | '?' | '!' | '"' | '\'');
            word.trim_matches(ends).to_lowercase()
        };
        let all: Vec<String> = words.map(clean).filter(|word| !word.is_empty()).collect();
        let telling = all.iter().filter(|word| !IDLE.contains(&word.as_str()));
        let mut telling: Vec<&String> = telling.collect();
        if telling.is_empty() {
            telling = all.iter().collect();
        }
        let meant = telling.into_iter().map(|word| Meant::new(word, self.cards));
        let mut meant: Vec<Meant> = meant.collect();
        // The word with the fewest meanings is looked for first; a month is in many lines.
        meant.sort_by_key(|one| (!one.months.is_empty(), one.needles.count()));
        meant
    }

    fn of_book(
        &self,
        book: &Book,
        (raw, small): (&[u8], &[u8]),
        (meant, ledger): (&[&Meant], &Shelf<'_>),
    ) -> Vec<Recalled> {
        let mut places = match meant.first() {
            Some(first) => first.needles.lines_in(small),
            None => Needles::new([""]).lines_in(small),
        };
        places.retain(|line| {
            let bytes = small.get(line.clone()).unwrap_or_default();
            meant.iter().all(|one| one.needles.is_in(bytes))
        });
        let one = match book {
            Book::Figure(id) => self.look_at(id, raw, ledger),
            Book::Shop => OneFigure::of_shop(raw),
        };
        let mut lines = read(raw, &places);
        lines.retain(|line| meant.iter().all(|word| word.is_in(line, book)));
        let known: BTreeSet<u64> = lines.iter().map(|line| line.n).collect();
        let coats = Needles::new([r#""coat":{"#]).lines_in(raw);
        let mut coats = read(raw, &coats);
        coats.retain(|line| {
            !known.contains(&line.n)
                && over(line, &one).is_some_and(|under| {
                    let is_met = |word: &&&Meant| word.is_in(line, book) || word.is_layer(&under);
                    meant.iter().filter(is_met).count() == meant.len()
                })
        });
        lines.extend(coats);
        lines.retain(|line| !one.struck.contains(&line.n));
        let mut found = recalled(book, lines, (&one, ledger));
        for recalled in &mut found {
            recalled.note = self.over_words(&recalled.line, &one);
        }
        found
    }

    fn over_words(&self, line: &Line, one: &OneFigure) -> String {
        let under = over(line, one);
        let name = |id: String| match self.cards.materials.get(&id) {
            Some(card) => format!("over {}", card.name),
            None => format!("over {id}"),
        };
        under.map(name).unwrap_or_default()
    }
}

/// The material that lies under the coat of a line, if it laid one over another.
fn over(line: &Line, one: &OneFigure) -> Option<String> {
    let Deed::Done(deed) = &line.deed else {
        return None;
    };
    let coat = deed.coat.as_ref()?;
    work_of(&line.deed)?;
    let under = one.past.under(line.n, &one.spot(line), &coat.material)?;
    Some(under.material.clone())
}
