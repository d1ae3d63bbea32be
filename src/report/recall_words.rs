//! Asks the past in free words: "last time oil glaze over that primer in November".
//!
//! A word is met by a line in which a word begins with it, or that names by its short name
//! something whose card holds it so: a material, an operation, a step, a room, a person, a gate, a
//! month. What lies under a coat counts with the coat. Which lines may hold a word is seen in their
//! bytes first; only those are read. Both go by [`Meant`], so that none can be missed.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use chrono::Datelike;
use serde_json::Value as Json;

use super::day::book_name;
use super::needle::Needles;
use super::recall::{
    Archive, FEWEST, Found, OneFigure, Recalled, Shelf, read, recalled, struck_in,
};
use super::tell::{gate_name, material as material_name, work_of};
use crate::card::{Cards, GateKind};
use crate::deed::{Deed, Line};
use crate::journal::{Damage, JournalFault};
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
const DEEDS: [(&str, &str); 16] = [
    ("begun", "began begin"),
    ("finished", "finish"),
    ("sent_back", "sent back rework"),
    ("discarded", "threw thrown away discard"),
    ("poured", "pour weighed"),
    ("mixed", "mix batch cup"),
    ("deviated", "otherwise than planned deviation"),
    ("overruled", "overrule"),
    ("signed", "sign signature"),
    ("shown_again", "show shown again put right hold point"),
    ("put_right", "mended deviation refused"),
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

/// What a line holds, all in small letters but its fields; made once for all words.
struct Told<'l> {
    line: &'l Line,
    book: &'l str,
    by: String,
    at: String,
    tag: String,
    fields: Json,
}

impl<'l> Told<'l> {
    /// `book` is the name of the line's book in small letters.
    fn of(line: &'l Line, book: &'l str) -> Self {
        Self {
            line,
            book,
            by: line.by.to_lowercase(),
            at: line.at.to_rfc3339().to_lowercase(),
            tag: line.deed.tag(),
            fields: Json::Object(line.deed.fields()),
        }
    }
}

impl Meant {
    fn new(word: &str, cards: &Cards) -> Self {
        let word = word.to_lowercase();
        let (names, steps) = (names(&word, cards), steps(&word, cards));
        let said = |words: &str| stands_in(&word, words);
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

    /// Returns whether a line holds the word.
    fn is_in(&self, told: &Told<'_>) -> bool {
        let line = told.line;
        stands_in(&self.word, told.book)
            || stands_in(&self.word, &told.by)
            || self.names.contains(&line.by)
            || self.tags.contains(told.tag.as_str())
            || self.months.contains(&line.at.month())
            || told.at.contains(&self.word)
            || self.is_step(&told.fields)
            || self.is_said(&told.fields)
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
                self.names.contains(text) || stands_in(&self.word, &text.to_lowercase())
            }
            Json::Number(number) => number.to_string().trim_end_matches(".0") == self.word,
            Json::Array(all) => all.iter().any(|one| self.is_said(one)),
            Json::Object(all) => all.values().any(|one| self.is_said(one)),
            Json::Null | Json::Bool(_) => false,
        }
    }

    /// Returns whether a layer of a material holds the word.
    fn is_layer(&self, material: &str) -> bool {
        self.names.contains(material) || stands_in(&self.word, &material.to_lowercase())
    }
}

/// Whether a word begins a word of a text, both in small letters: `raw` stands in `raw wood` and
/// not in `drawing`.
fn stands_in(word: &str, text: &str) -> bool {
    text.match_indices(word).any(|(at, _)| {
        let before = text.get(..at).and_then(|before| before.chars().next_back());
        let first = word.chars().next();
        let goes_on =
            |sign: char| sign.is_alphanumeric() && first.is_some_and(char::is_alphanumeric);
        !before.is_some_and(goes_on)
    })
}

/// Returns the short names whose cards hold a word.
fn names(word: &str, cards: &Cards) -> BTreeSet<String> {
    let holds = |text: &str| stands_in(word, &text.to_lowercase());
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
        let steps = list.all_steps();
        let steps = steps.filter(|step| stands_in(word, &step.act.to_lowercase()));
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

/// A line that holds the words, before it is asked what can be reached of it.
struct Hit {
    book: Book,
    line: Line,
}

impl Archive<'_> {
    /// Returns the newest `most` of the lines that hold all of these words, the newest first, and
    /// how many more there are. Words that say nothing (`the`, `over`, `last time`) are passed
    /// over, unless there are no others.
    ///
    /// A coat is found by its own line and by what lies under it together.
    ///
    /// # Errors
    /// As [`Archive::of_lot`].
    pub fn in_words(&self, words: &[String], most: usize) -> Result<Found, JournalFault> {
        let meant = self.meant(words);
        if meant.is_empty() {
            return Ok(Found::default());
        }
        let ledger = self.shelf()?;
        let shares = in_shares(self.books, FEWEST, |books| {
            self.words_in(books, (&meant, &ledger))
        });
        let (mut hits, mut unread) = (Vec::new(), BTreeMap::new());
        for share in shares {
            let (more, of) = share?;
            hits.extend(more);
            unread.extend(of);
        }
        hits.sort_by(|a, b| newest_first(&a.line, &b.line));
        let more = hits.len().saturating_sub(most);
        hits.truncate(most);
        let mut recalled = self.reached(hits, &ledger, &mut unread)?;
        recalled.sort_by(|a, b| newest_first(&a.line, &b.line));
        Ok(Found {
            recalled,
            more,
            unread,
            ..Found::default()
        })
    }

    /// Asks of the lines that are told what can be reached of them and what they lie over.
    fn reached(
        &self,
        hits: Vec<Hit>,
        ledger: &Shelf<'_>,
        unread: &mut BTreeMap<Book, Damage>,
    ) -> Result<Vec<Recalled>, JournalFault> {
        let mut books: BTreeMap<Book, Vec<Line>> = BTreeMap::new();
        for Hit { book, line } in hits {
            books.entry(book).or_default().push(line);
        }
        let mut all = Vec::new();
        for (book, lines) in books {
            // What cannot be read any more after it was a moment ago: as if nothing lay over it.
            let raw = self.bytes(&book, unread)?.unwrap_or_default();
            let one = self.one(&book, &raw, ledger);
            let mut found = recalled(&book, lines, (&one, ledger));
            for recalled in &mut found {
                recalled.note = self.over_words(&recalled.line, &one);
            }
            all.extend(found);
        }
        Ok(all)
    }

    fn one(&self, book: &Book, raw: &[u8], ledger: &Shelf<'_>) -> OneFigure {
        match book {
            Book::Figure(id) => self.look_at(id, raw, ledger),
            Book::Shop => OneFigure::of_shop(raw),
        }
    }

    fn words_in(
        &self,
        books: &[Book],
        (meant, ledger): (&[Meant], &Shelf<'_>),
    ) -> Result<(Vec<Hit>, BTreeMap<Book, Damage>), JournalFault> {
        let (mut hits, mut unread) = (Vec::new(), BTreeMap::new());
        // One place for the letters made small: making it anew costs more than filling it.
        let mut small = Vec::new();
        for book in books {
            let Some(raw) = self.bytes(book, &mut unread)? else {
                continue;
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
            let lines = self.of_book((book, &name), (&raw, &small), (&open, ledger));
            hits.extend(lines.into_iter().map(|line| Hit {
                book: book.clone(),
                line,
            }));
        }
        Ok((hits, unread))
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
        (book, name): (&Book, &str),
        (raw, small): (&[u8], &[u8]),
        (meant, ledger): (&[&Meant], &Shelf<'_>),
    ) -> Vec<Line> {
        let mut places = match meant.first() {
            Some(first) => first.needles.lines_in(small),
            None => Needles::new([""]).lines_in(small),
        };
        places.retain(|line| {
            let bytes = small.get(line.clone()).unwrap_or_default();
            meant.iter().all(|one| one.needles.is_in(bytes))
        });
        let mut lines = read(raw, &places);
        lines.retain(|line| {
            let told = Told::of(line, name);
            meant.iter().all(|word| word.is_in(&told))
        });
        let known: BTreeSet<u64> = lines.iter().map(|line| line.n).collect();
        let coats = Needles::new([r#""coat":{"#]).lines_in(raw);
        let mut coats = read(raw, &coats);
        // What lay under a coat is asked of the whole journal, and only where it can be what is
        // missing.
        let mixed = Needles::new([r#""deed":"mixed""#]).lines_in(raw);
        let mixed = read(raw, &mixed);
        let mut laid: BTreeSet<&str> = coats.iter().chain(&mixed).filter_map(material).collect();
        laid.extend(self.cards.materials.keys().map(String::as_str));
        let laid: BTreeSet<String> = laid.into_iter().map(str::to_owned).collect();
        let may_be = |word: &&Meant| laid.iter().any(|id| word.is_layer(id));
        let mut one = None;
        coats.retain(|line| {
            if known.contains(&line.n) {
                return false;
            }
            let told = Told::of(line, name);
            let mut missing = meant.iter().filter(|word| !word.is_in(&told));
            if !missing.clone().all(may_be) {
                return false;
            }
            let one = one.get_or_insert_with(|| self.one(book, raw, ledger));
            over(line, one).is_some_and(|under| missing.all(|word| word.is_layer(&under)))
        });
        lines.extend(coats);
        let struck = one.map_or_else(|| struck_in(raw), |one| one.struck);
        lines.retain(|line| !struck.contains(&line.n));
        lines
    }

    fn over_words(&self, line: &Line, one: &OneFigure) -> String {
        let under = over(line, one);
        let name = |id: String| format!("over {}", material_name(&id, self.cards));
        under.map(name).unwrap_or_default()
    }
}

/// The material of a coat or a mix.
fn material(line: &Line) -> Option<&str> {
    match &line.deed {
        Deed::Done(deed) => deed.coat.as_ref().map(|coat| coat.material.as_str()),
        Deed::Mixed(deed) => Some(&deed.material),
        _ => None,
    }
}

fn newest_first(a: &Line, b: &Line) -> Ordering {
    b.at.cmp(&a.at).then(b.n.cmp(&a.n))
}

/// The material that lies under the coat of a line, if it laid one over another.
fn over(line: &Line, one: &OneFigure) -> Option<String> {
    matches!(line.deed, Deed::Done(_)).then_some(())?;
    work_of(&line.deed)?;
    let under = one.past.under(line.n, &one.spot(line), material(line)?)?;
    Some(under.material.clone())
}

#[cfg(test)]
mod tests {
    use super::stands_in;

    #[test]
    fn a_word_is_met_where_a_word_begins_with_it() {
        for (word, text) in [
            ("raw", "over raw wood"),
            ("varn", "oil-varnish"),
            ("2409", "fh-2409-18"),
            ("ö", "heller öl"),
            ("-18", "fh-2409-18"),
        ] {
            assert!(stands_in(word, text), "{word} in {text}");
        }
        for (word, text) in [("raw", "drawing"), ("ten", "hasten on"), ("9", "2409")] {
            assert!(!stands_in(word, text), "{word} in {text}");
        }
    }
}
