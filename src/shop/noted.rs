//! Books held against what was noted of them in others: each opening and closing of a day notes
//! how far the book of each figure goes, each beginning of a walk how far the shop's own does. So
//! lines gone from an end are missed, and another book in the place of one is seen.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::path::Path;

use super::keeper::book_path;
use crate::deed::{Begun, BookEnd, DayClosed, DayOpened, Deed};
use crate::disk::Disk;
use crate::journal::{Damage, Journal, Noted, seal_of};
use crate::standing::{Book, NotedBook, Standing};

/// Journals by their books.
type Books = BTreeMap<Book, Journal>;

/// Returns a deed with the ends of the books that it notes.
pub(super) fn with_ends<'a>(deed: &'a Deed, books: &Books) -> Cow<'a, Deed> {
    let end = |book: &Book| {
        let mark = books.get(book)?.mark();
        Some(BookEnd {
            n: mark.n,
            seal: mark.end_seal()?,
        })
    };
    let seals = |noted: &BTreeMap<String, u64>| {
        let ends = noted.iter().filter_map(|(figure, n)| {
            let end = end(&Book::Figure(figure.clone()))?;
            (end.n == *n).then(|| (figure.clone(), end.seal))
        });
        ends.collect()
    };
    let noting = match deed {
        Deed::DayOpened(day) => Deed::DayOpened(DayOpened {
            seals: seals(&day.books),
            ..day.clone()
        }),
        Deed::DayClosed(day) => Deed::DayClosed(DayClosed {
            seals: seals(&day.books),
            ..day.clone()
        }),
        Deed::Begun(begun) => Deed::Begun(Begun {
            shop: end(&Book::Shop),
            ..begun.clone()
        }),
        other => return Cow::Borrowed(other),
    };
    Cow::Owned(noting)
}

/// Returns the books that are not as they were noted, and what ails each, of a shop whose journals
/// were read and are not open.
pub fn missed(disk: &dyn Disk, folder: &Path, standing: &Standing) -> BTreeMap<Book, Damage> {
    let all = not_as_noted((disk, folder), standing, &Books::new());
    all.into_iter().collect()
}

/// Returns the books that are not as they were noted, and what ails each.
pub(super) fn not_as_noted(
    (disk, folder): (&dyn Disk, &Path),
    standing: &Standing,
    books: &Books,
) -> Vec<(Book, Damage)> {
    let words = |noted: &NotedBook| Noted {
        lines: noted.lines,
        on: noted.stamp.at.date_naive(),
    };
    let held = |book: &Book, has: u64, noted: &NotedBook| {
        if has < noted.lines {
            let noted = words(noted);
            return Some(Damage::Short { has, noted });
        }
        if noted.seal.is_empty() {
            return None;
        }
        let mark = books.get(book).map(Journal::mark);
        let seal = match mark.filter(|mark| mark.n == noted.lines) {
            Some(mark) => mark.end_seal(),
            // What cannot be read is told elsewhere.
            None => seal_of(disk, &book_path(folder, book), noted.lines).ok()?,
        };
        let is_it = seal.as_ref() == Some(&noted.seal);
        (!is_it).then(|| Damage::Another {
            noted: words(noted),
        })
    };
    let mut all = Vec::new();
    for (figure, noted) in &standing.shop.books {
        let book = Book::Figure(figure.clone());
        let damage = match standing.figures.get(figure) {
            _ if standing.unread.contains(figure) => None,
            Some(here) => held(&book, here.last_n, noted),
            // What was taken out of the shop is not noted any more when the next day begins.
            None => {
                let is_gone = disk.nature(&book_path(folder, &book)).is_err();
                let is_missed = is_gone && standing.shop.noted_last.contains(figure);
                is_missed.then(|| Damage::Gone {
                    noted: words(noted),
                })
            }
        };
        all.extend(damage.map(|damage| (book, damage)));
    }
    let by_figures = standing.figures.values().filter_map(|it| it.shop.as_ref());
    if let Some(noted) = by_figures.max_by_key(|noted| noted.lines) {
        let damage = held(&Book::Shop, standing.shop.last_n, noted);
        all.extend(damage.map(|damage| (Book::Shop, damage)));
    }
    all
}
