//! Opens the journals of a shop, many at a time, each from its cached page where there is one.

use std::path::Path;
use std::sync::Arc;

use super::cache::{Cache, Shelf, WORTH_IT, standing_from, standing_to};
use super::keeper::book_path;
use super::shares::in_shares;
use crate::deed::{Line, NotALine};
use crate::disk::Disk;
use crate::journal::{Damage, Journal, JournalFault, Kept};
use crate::standing::{Book, Replayed, Standing};

/// A journal that was opened, and what it adds up to.
#[derive(Debug)]
pub(super) struct OpenBook {
    pub(super) book: Book,
    /// Absent where the disk does not hand the file out.
    pub(super) journal: Option<Journal>,
    /// What stands by this book alone.
    pub(super) standing: Standing,
    pub(super) unreadable: Vec<(Book, u64, NotALine)>,
    /// What is not sound in the file; a journal with damage has no page.
    pub(super) damage: Option<Damage>,
}

/// Returns what ails a figure's journal that the disk does not hand out: pages and clocks of the
/// others go on without it.
///
/// # Errors
/// Any other fault, and one of the shop's own journal: day, air and lots touch every figure.
pub fn of_a_figure(book: &Book, fault: JournalFault) -> Result<Damage, JournalFault> {
    match book {
        Book::Shop => Err(fault),
        Book::Figure(_) => fault.as_damage(),
    }
}

/// The fewest journals that are worth a thread of their own. Chosen here, not measured.
const FEWEST: usize = 16;

/// What is needed to open a journal.
#[derive(Debug, Clone, Copy)]
struct Opener<'a> {
    disk: &'a Arc<dyn Disk>,
    folder: &'a Path,
    shelf: Option<&'a Shelf<'a>>,
}

/// Opens journals and replays them; their order is kept.
///
/// # Errors
/// [`JournalFault`] when the journal of the shop itself is there and cannot be read. That of a
/// figure comes without its journal, and with what ails it.
pub(super) fn open_all(
    (disk, folder): (&Arc<dyn Disk>, &Path),
    books: &[Book],
    cache: Option<&Cache>,
) -> Result<Vec<OpenBook>, JournalFault> {
    let shelf = cache.map(|cache| cache.shelf(disk.as_ref(), folder));
    let opener = Opener {
        disk,
        folder,
        shelf: shelf.as_ref(),
    };
    let mut all = Vec::with_capacity(books.len());
    for share in in_shares(books, FEWEST, |books| opener.several(books)) {
        all.extend(share?);
    }
    Ok(all)
}

impl Opener<'_> {
    fn several(self, books: &[Book]) -> Result<Vec<OpenBook>, JournalFault> {
        books.iter().map(|book| self.one(book)).collect()
    }

    fn one(self, book: &Book) -> Result<OpenBook, JournalFault> {
        let path = book_path(self.folder, book);
        let taken = self.shelf.and_then(|shelf| shelf.take(book, &path));
        if let Some(taken) = taken
            // A journal that does not go on from its page is read whole.
            && let Ok((journal, reading)) = Journal::resume(self.disk.clone(), &path, taken.mark)
        {
            let is_fresh = taken.is_fresh && reading.lines.is_empty();
            let mut opened = OpenBook {
                book: book.clone(),
                journal: Some(journal),
                standing: taken.standing,
                unreadable: Vec::new(),
                damage: reading.damage(),
            };
            if opened.add(&reading.lines) {
                if !is_fresh {
                    self.keep_page(&mut opened, &path);
                }
                return Ok(opened);
            }
        }
        let (journal, reading) = match Journal::open(self.disk.clone(), &path) {
            Ok(opened) => opened,
            Err(fault) => return OpenBook::unread(book, fault),
        };
        let mut opened = OpenBook {
            book: book.clone(),
            journal: Some(journal),
            standing: Standing::default(),
            unreadable: Vec::new(),
            damage: reading.damage(),
        };
        let lines = opened.read(&reading.lines);
        opened.standing.replay_all(book, &lines);
        drop((reading, lines));
        self.keep_page(&mut opened, &path);
        Ok(opened)
    }

    /// Packs what stands by a long book tightly, and keeps it as a page, unless there are lines
    /// that have to be told at every opening.
    fn keep_page(self, opened: &mut OpenBook, path: &Path) {
        let mark = opened.journal.as_ref().map(Journal::mark);
        let Some(mark) = mark.filter(|mark| WORTH_IT <= mark.len) else {
            return;
        };
        let facts = standing_to(&opened.book, &opened.standing);
        if let Some(packed) = standing_from(&opened.book, &facts) {
            opened.standing = packed;
        }
        let has_to_be_told = opened.damage.is_some() || !opened.unreadable.is_empty();
        if let (Some(shelf), false) = (self.shelf, has_to_be_told) {
            shelf.keep(&opened.book, path, (mark, &facts));
        }
    }
}

impl OpenBook {
    /// A figure whose journal the disk does not hand out: the others go on without it.
    fn unread(book: &Book, fault: JournalFault) -> Result<Self, JournalFault> {
        let damage = of_a_figure(book, fault)?;
        let mut standing = Standing::default();
        standing.replay_all(book, &[]);
        Ok(Self {
            book: book.clone(),
            journal: None,
            standing,
            unreadable: Vec::new(),
            damage: Some(damage),
        })
    }

    fn read(&mut self, kept: &[Kept]) -> Vec<Line> {
        read_lines(&self.book, kept, &mut self.unreadable)
    }

    /// Adds lines to what stands; `false` when that takes all lines of the book.
    fn add(&mut self, kept: &[Kept]) -> bool {
        let lines = self.read(kept);
        let book = self.book.clone();
        lines
            .iter()
            .all(|line| self.standing.replay(&book, line) == Replayed::Taken)
    }
}

/// Returns the lines that can be read, and notes the others.
pub(super) fn read_lines(
    book: &Book,
    kept: &[Kept],
    unreadable: &mut Vec<(Book, u64, NotALine)>,
) -> Vec<Line> {
    let mut lines = Vec::with_capacity(kept.len());
    for kept in kept {
        match Line::read(&kept.text) {
            Ok(line) => lines.push(line),
            Err(why) => unreadable.push((book.clone(), kept.n, why)),
        }
    }
    lines
}
