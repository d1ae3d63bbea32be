//! Reads from the journals what a page needs, and no more.

use std::collections::BTreeMap;
use std::path::Path;

use chrono::{DateTime, FixedOffset};

use super::day::DaySpan;
use crate::deed::Line;
use crate::disk::Disk;
use crate::journal::{Damage, JournalFault, read_all, read_since};
use crate::shop::{KeptLine, book_path, of_a_figure};
use crate::standing::{Book, Standing};

/// Returns the lines written down on a day or after it, over these books, by time. Lines of
/// the same moment keep the order of the books and of the file.
///
/// Reads backwards from the end of each journal, so the cost grows with the days asked for
/// and not with the history. A line that is no line is left out; what is damaged among the
/// lines that were looked at is told beside them.
///
/// # Errors
/// [`JournalFault`] when a journal is there and cannot be read.
pub fn gather_day(
    disk: &dyn Disk,
    folder: &Path,
    books: &[Book],
    span: &DaySpan,
) -> Result<(Vec<KeptLine>, BTreeMap<Book, Damage>), JournalFault> {
    let since = span.surely_before();
    let mut all = Vec::new();
    let mut damaged = BTreeMap::new();
    for book in books {
        let read = read_since(disk, &book_path(folder, book), since);
        let (kept, damage) = match read {
            Ok(read) => read,
            Err(fault) => (Vec::new(), Some(of_a_figure(book, fault)?)),
        };
        damaged.extend(damage.map(|damage| (book.clone(), damage)));
        all.extend(kept.iter().filter_map(|kept| {
            let line = Line::read(&kept.text).ok()?;
            Some(KeptLine {
                book: book.clone(),
                line,
            })
        }));
    }
    all.sort_by_key(|one| one.line.at);
    Ok((all, damaged))
}

/// Returns what stood just before a moment: every book replayed up to the lines that had been
/// written down by then.
///
/// # Errors
/// [`JournalFault`] when a journal is there and cannot be read.
pub fn standing_until(
    disk: &dyn Disk,
    folder: &Path,
    books: &[Book],
    until: DateTime<FixedOffset>,
) -> Result<Standing, JournalFault> {
    let mut standing = Standing::default();
    for book in books {
        let kept = match read_all(disk, &book_path(folder, book)) {
            Ok(reading) => reading.lines,
            Err(fault) => {
                of_a_figure(book, fault)?;
                continue;
            }
        };
        let lines: Vec<Line> = kept
            .iter()
            .filter(|kept| kept.written() < until)
            .filter_map(|kept| Line::read(&kept.text).ok())
            .collect();
        standing.replay_all(book, &lines);
    }
    Ok(standing)
}
