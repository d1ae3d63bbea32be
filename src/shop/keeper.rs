//! A shop at work: its cards, its journals and what they stand for. Every act goes one way:
//! decide, write and sync, replay. What is not on disk is never shown.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use chrono::{DateTime, FixedOffset};

use super::cache::Cache;
use super::find::link_to;
use super::noted::{not_as_noted, with_ends};
use super::opener::{OpenBook, of_a_figure, open_all, read_lines};
use super::watcher::Watcher;
use crate::card::Cards;
use crate::deed::{Deed, Line, NotALine};
use crate::disk::Disk;
use crate::journal::{AppendOutcome, Damage, Draft, Journal, JournalFault, Kept, SetAside};
use crate::standing::{Book, House, Intent, Moment, Refusal, Replayed, Standing, Written, decide};
use crate::trouble::Trouble;

/// How often a decision is taken anew when other benches write in between.
const TRIES: usize = 8;

/// Why an act was not done.
#[derive(Debug)]
pub enum Stop {
    /// Not now, and why.
    Refused(Refusal),
    /// It could not be kept.
    Trouble(Box<Trouble>),
}

impl From<JournalFault> for Stop {
    fn from(fault: JournalFault) -> Self {
        Self::Trouble(Box::new(fault.into()))
    }
}

impl From<Refusal> for Stop {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

/// A line that was kept, and in which journal.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptLine {
    /// Which journal.
    pub book: Book,
    /// The line.
    pub line: Line,
}

/// A shop with its journals open.
#[derive(Debug)]
pub struct Keeper {
    disk: Arc<dyn Disk>,
    folder: PathBuf,
    cards: Arc<Cards>,
    standing: Standing,
    books: BTreeMap<Book, Journal>,
    /// Lines that the file holds and this program cannot read: book, number, why.
    unreadable: Vec<(Book, u64, NotALine)>,
    /// What is to be said of the journals that are not sound.
    damaged: BTreeMap<Book, Damage>,
    set_aside: Vec<SetAside>,
}

/// Returns the file of a book within a shop.
pub fn book_path(folder: &Path, book: &Book) -> PathBuf {
    match book {
        Book::Shop => folder.join("journal.jsonl"),
        Book::Figure(id) => folder.join("figures").join(id).join("journal.jsonl"),
    }
}

impl Keeper {
    /// Opens the journals of a shop whose cards were read, and replays them.
    ///
    /// # Errors
    /// [`JournalFault`] when the journal of the shop is there and cannot be read. A figure whose
    /// journal cannot be read is in [`Keeper::damaged`], and nothing is kept of it.
    pub fn open(
        disk: Arc<dyn Disk>,
        folder: impl Into<PathBuf>,
        cards: Cards,
    ) -> Result<Self, JournalFault> {
        Self::open_with(disk, folder, cards, None)
    }

    /// As [`Keeper::open`], from the pages that earlier openings left in a cache, as far as
    /// they can be trusted; new pages are left there.
    ///
    /// # Errors
    /// As [`Keeper::open`].
    pub fn open_with(
        disk: Arc<dyn Disk>,
        folder: impl Into<PathBuf>,
        cards: Cards,
        cache: Option<&Cache>,
    ) -> Result<Self, JournalFault> {
        let mut keeper = Self {
            disk,
            folder: folder.into(),
            standing: Standing::default(),
            books: BTreeMap::new(),
            unreadable: Vec::new(),
            damaged: BTreeMap::new(),
            set_aside: Vec::new(),
            cards: Arc::new(cards),
        };
        let figures = keeper.cards.figures.keys().cloned().map(Book::Figure);
        let books: Vec<Book> = std::iter::once(Book::Shop).chain(figures).collect();
        for opened in open_all((&keeper.disk, &keeper.folder), &books, cache)? {
            keeper.put(opened);
        }
        let place = (keeper.disk.as_ref(), keeper.folder.as_path());
        let missed = not_as_noted(place, &keeper.standing, &keeper.books);
        keeper.damaged.extend(missed);
        Ok(keeper)
    }

    /// Returns the folder of the shop.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Returns the disk on which the shop lies.
    pub fn disk(&self) -> &dyn Disk {
        self.disk.as_ref()
    }

    /// Returns the same disk, for what is read on another thread.
    pub fn shared_disk(&self) -> Arc<dyn Disk> {
        Arc::clone(&self.disk)
    }

    /// Returns cards and standing.
    pub fn house(&self) -> House<'_> {
        House {
            cards: &self.cards,
            standing: &self.standing,
        }
    }

    /// Returns the same cards, for what is reckoned on another thread.
    pub fn shared_cards(&self) -> Arc<Cards> {
        Arc::clone(&self.cards)
    }

    /// Returns torn ends that were moved aside since the last call.
    pub fn take_set_aside(&mut self) -> Vec<SetAside> {
        std::mem::take(&mut self.set_aside)
    }

    /// Returns lines that are no journal lines: book, number, why. `audit` tells more.
    pub fn unreadable(&self) -> &[(Book, u64, NotALine)] {
        &self.unreadable
    }

    /// Returns the books that were not sound when they were opened, and what to say of them.
    pub fn damaged(&self) -> &BTreeMap<Book, Damage> {
        &self.damaged
    }

    /// Returns the figures for which nothing can be planned, and why: their books are not sound. A
    /// torn end takes nothing away that was kept.
    pub fn unsound(&self) -> impl Iterator<Item = (String, String)> {
        let damaged = self.damaged.iter();
        // Of what is gone nothing is offered anyway.
        let is_here = |damage: &Damage| !matches!(damage, Damage::Torn | Damage::Gone { .. });
        let damaged = damaged.filter(move |(_, damage)| is_here(damage));
        damaged.filter_map(|(book, damage)| match book {
            Book::Figure(figure) => Some((figure.clone(), damage.to_string())),
            Book::Shop => None,
        })
    }

    /// Does what an intent wants: decides, writes, and replays what the disk holds.
    ///
    /// # Errors
    /// [`Stop`]; the deeds that were not kept count for nothing.
    pub fn act(&mut self, intent: &Intent, moment: &Moment) -> Result<Vec<KeptLine>, Stop> {
        self.act_later(intent, moment, None)
    }

    /// As [`Keeper::act`], for something that happened at `moment.at` and is typed in at
    /// `entered_later`.
    ///
    /// # Errors
    /// As [`Keeper::act`].
    pub fn act_later(
        &mut self,
        intent: &Intent,
        moment: &Moment,
        entered_later: Option<DateTime<FixedOffset>>,
    ) -> Result<Vec<KeptLine>, Stop> {
        for _ in 0..TRIES {
            let written = decide(self.house(), intent, moment)?;
            if let Some(kept) = self.keep(&written, moment, entered_later)? {
                return Ok(kept);
            }
            // Another bench wrote in between; its lines are replayed now: decide again.
        }
        Err(Refusal::new("other benches write to this figure without a pause: try again").into())
    }

    /// Returns a watcher of the journals of this shop.
    pub fn watcher(&self) -> Watcher {
        let files = self.books.values().map(|book| book.path().to_owned());
        Watcher::of(self.disk.clone(), files)
    }

    /// Tries whether the disk can lock this shop's journals, so that a shop on a share that
    /// cannot is told before the first act. Nothing is written.
    ///
    /// # Errors
    /// [`JournalFault::NoLocks`]. What else may ail the disk is told when something is kept.
    pub fn try_locks(&self) -> Result<(), JournalFault> {
        self.books.values().try_for_each(Journal::try_lock)
    }

    /// Returns the lines that other benches have written, replayed.
    ///
    /// # Errors
    /// [`JournalFault`] when the journal of the shop cannot be read any more.
    pub fn follow(&mut self) -> Result<Vec<KeptLine>, JournalFault> {
        let books: Vec<Book> = self.books.keys().cloned().collect();
        let mut all = Vec::new();
        for book in books {
            let Some(journal) = self.books.get_mut(&book) else {
                continue;
            };
            match journal.news() {
                Ok(news) => {
                    self.hear(&book, None);
                    all.extend(self.take_in(&book, &news)?);
                }
                Err(fault) => {
                    let damage = of_a_figure(&book, fault)?;
                    self.hear(&book, Some(damage));
                }
            }
        }
        Ok(all)
    }

    /// A journal that the disk hands out no more, or again: what stood by it stays, and its
    /// clocks run on.
    fn hear(&mut self, book: &Book, damage: Option<Damage>) {
        match damage {
            Some(damage) => {
                self.damaged.insert(book.clone(), damage);
            }
            None => {
                if matches!(self.damaged.get(book), Some(Damage::Unread(_))) {
                    self.damaged.remove(book);
                }
            }
        }
    }

    /// Reads all lines of a book from the disk, for pages.
    ///
    /// # Errors
    /// [`JournalFault`] when the journal cannot be read.
    pub fn lines(&self, book: &Book) -> Result<Vec<Line>, JournalFault> {
        // Never opened for want of reading: there is nothing to replay. One that fell silent later
        // is not taken for empty.
        let is_shut = !self.books.contains_key(book);
        if let (true, Some(Damage::Unread(_))) = (is_shut, self.damaged.get(book)) {
            return Ok(Vec::new());
        }
        let path = book_path(&self.folder, book);
        let reading = crate::journal::read_all(self.disk.as_ref(), &path)?;
        Ok(reading
            .lines
            .iter()
            .filter_map(|kept| Line::read(&kept.text).ok())
            .collect())
    }

    fn put(&mut self, opened: OpenBook) {
        let mut standing = opened.standing;
        match &opened.book {
            Book::Shop => self.standing.shop = standing.shop,
            Book::Figure(_) => self.standing.figures.append(&mut standing.figures),
        }
        if let Some(damage) = Damage::with(opened.damage, opened.unreadable.len()) {
            if let (Book::Figure(id), true) = (&opened.book, damage.hides_all()) {
                self.standing.unread.insert(id.clone());
            }
            self.damaged.insert(opened.book.clone(), damage);
        }
        self.unreadable.extend(opened.unreadable);
        if let Some(journal) = opened.journal {
            self.books.insert(opened.book, journal);
        }
    }

    /// Writes deeds, each to its book, those of the first deed's book first. `None` when
    /// another bench had written there in between: its lines are replayed, nothing of ours
    /// is written.
    fn keep(
        &mut self,
        written: &[Written],
        moment: &Moment,
        entered_later: Option<DateTime<FixedOffset>>,
    ) -> Result<Option<Vec<KeptLine>>, Stop> {
        let mut all = Vec::new();
        for (place, book) in books_of(written).into_iter().enumerate() {
            let drafts: Vec<Draft> = written
                .iter()
                .filter(|one| one.book == book)
                .map(|one| draft(&with_ends(&one.deed, &self.books), moment, entered_later))
                .collect();
            if let Book::Figure(id) = &book
                && let Some(folder) = link_to(self.disk.as_ref(), &self.folder, id)
            {
                return Err(JournalFault::Elsewhere { folder }.into());
            }
            let Some(journal) = self.books.get_mut(&book) else {
                return Err(self.no_journal(&book).into());
            };
            // The first book carries the decision; a second one only takes a note along.
            let appended = if place == 0 {
                let last = journal.last_n();
                match journal.append_if(last, &drafts)? {
                    AppendOutcome::Kept(appended) => appended,
                    AppendOutcome::Behind(news) => {
                        self.take_in(&book, &news)?;
                        return Ok(None);
                    }
                }
            } else {
                journal.append(&drafts)?
            };
            if appended.set_aside.is_some() && self.damaged.get(&book) == Some(&Damage::Torn) {
                self.damaged.remove(&book);
            }
            self.set_aside.extend(appended.set_aside);
            self.take_in(&book, &appended.others)?;
            all.extend(self.take_in(&book, &appended.lines)?);
        }
        Ok(Some(all))
    }

    fn no_journal(&self, book: &Book) -> Refusal {
        match self.damaged.get(book) {
            Some(damage) => Refusal::new(damage.to_string())
                .remedy("have the disk or its rights mended, then open the shop again"),
            None => Refusal::new("this figure has no journal"),
        }
    }

    fn take_in(&mut self, book: &Book, kept: &[Kept]) -> Result<Vec<KeptLine>, JournalFault> {
        let lines = read_lines(book, kept, &mut self.unreadable);
        let mut whole = false;
        for line in &lines {
            whole |= self.standing.replay(book, line) == Replayed::ReplayWhole;
        }
        if whole {
            let all = self.lines(book)?;
            self.standing.replay_all(book, &all);
        }
        Ok(lines
            .into_iter()
            .map(|line| KeptLine {
                book: book.clone(),
                line,
            })
            .collect())
    }
}

/// The books that deeds go to, in the order of their first deed.
fn books_of(written: &[Written]) -> Vec<Book> {
    let mut books: Vec<Book> = Vec::new();
    for one in written {
        if !books.contains(&one.book) {
            books.push(one.book.clone());
        }
    }
    books
}

fn draft(deed: &Deed, moment: &Moment, entered_later: Option<DateTime<FixedOffset>>) -> Draft {
    Draft {
        at: moment.at,
        by: moment.by.clone(),
        bench: moment.bench.clone(),
        body: deed.fields(),
        entered_later,
    }
}
