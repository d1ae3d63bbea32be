//! What the screen asks of the shop behind it. The screen itself never writes.

use std::io;
use std::sync::Arc;

use chrono::{DateTime, FixedOffset};

use crate::card::Cards;
use crate::deed::{Line, PhotoKept};
use crate::journal::Damage;
use crate::report::{DaySpan, book_name, gather_day, standing_until};
use crate::shop::{Keeper, KeptLine, Picture, Stop, Watching, show_photo};
use crate::standing::{Book, House, Intent, Moment, Standing};

/// A photograph that is still to be read, by whoever has the time: its pixels, or in words why
/// it cannot be shown.
pub type Unread = Box<dyn FnOnce() -> Result<Picture, String> + Send>;

/// The shop behind the screen.
pub trait Bench {
    /// Returns cards and standing as they are on disk.
    fn house(&self) -> House<'_>;

    /// Returns the cards once more, for whoever reckons beside the hands.
    fn cards(&self) -> Arc<Cards> {
        Arc::new(self.house().cards.clone())
    }

    /// Decides an intent, keeps its lines on disk and replays what was kept.
    ///
    /// # Errors
    /// [`Stop::Refused`] when it may not be: nothing was written. [`Stop::Trouble`] when it
    /// could not be kept: writing stops, reading goes on.
    fn act(&mut self, intent: &Intent, moment: &Moment) -> Result<Vec<KeptLine>, Stop>;

    /// Takes in what other benches have kept since, and returns it.
    ///
    /// # Errors
    /// [`Stop::Trouble`] when the journals cannot be read.
    fn follow(&mut self) -> Result<Vec<KeptLine>, Stop>;

    /// Tries whether what is done here can be kept at all.
    ///
    /// # Errors
    /// [`Stop::Trouble`] when it cannot; then this is a bench to look at only.
    fn try_keeping(&self) -> Result<(), Stop> {
        Ok(())
    }

    /// Calls `tell` whenever other benches may have kept lines, until what comes back is
    /// dropped or `tell` says that nobody listens. `None` where there are no other benches.
    ///
    /// # Errors
    /// The system's, when it lets nobody watch.
    fn watch(&self, _tell: Box<dyn FnMut() -> bool + Send>) -> io::Result<Option<Watching>> {
        Ok(None)
    }

    /// Returns a photograph of a figure that is still to be read, upright and made to fit into
    /// so many pixels.
    fn photograph(&self, _figure: &str, _photo: &PhotoKept, _pixels: [usize; 2]) -> Unread {
        Box::new(|| Err("there are no photographs behind this screen".to_owned()))
    }

    /// Returns what is to be said of the journal of this figure, or of the first one that is
    /// not sound where no figure is named; `None` where all is well.
    fn damage(&self, _figure: Option<&str>) -> Option<String> {
        None
    }

    /// Returns the figures for which nothing can be planned, and why.
    fn unsound(&self) -> Vec<(String, String)> {
        Vec::new()
    }

    /// Returns all lines of a book, oldest first.
    ///
    /// # Errors
    /// [`Stop::Trouble`] when the journal cannot be read.
    fn lines(&self, book: &Book) -> Result<Vec<Line>, Stop>;

    /// Returns the lines of some days and after them over all journals, by time; it may give
    /// earlier ones too.
    ///
    /// # Errors
    /// [`Stop::Trouble`] when the journals cannot be read.
    fn since(&self, _span: &DaySpan) -> Result<Vec<KeptLine>, Stop> {
        let mut all = Vec::new();
        for book in books(self.house()) {
            let lines = self.lines(&book)?.into_iter();
            all.extend(lines.map(|line| KeptLine {
                book: book.clone(),
                line,
            }));
        }
        all.sort_by_key(|one| one.line.at);
        Ok(all)
    }

    /// Returns what stood just before a moment.
    ///
    /// # Errors
    /// [`Stop::Trouble`] when the journals cannot be read.
    fn stood(&self, until: DateTime<FixedOffset>) -> Result<Standing, Stop> {
        let mut standing = Standing::default();
        for book in books(self.house()) {
            let mut lines = self.lines(&book)?;
            lines.retain(|line| line.entered_later.unwrap_or(line.at) < until);
            standing.replay_all(&book, &lines);
        }
        Ok(standing)
    }
}

/// The books of a shop.
fn books(house: House<'_>) -> Vec<Book> {
    let figures = house.cards.figures.keys().cloned().map(Book::Figure);
    std::iter::once(Book::Shop).chain(figures).collect()
}

impl Bench for Keeper {
    fn house(&self) -> House<'_> {
        Keeper::house(self)
    }

    fn cards(&self) -> Arc<Cards> {
        self.shared_cards()
    }

    fn act(&mut self, intent: &Intent, moment: &Moment) -> Result<Vec<KeptLine>, Stop> {
        Keeper::act(self, intent, moment)
    }

    fn follow(&mut self) -> Result<Vec<KeptLine>, Stop> {
        Ok(Keeper::follow(self)?)
    }

    fn try_keeping(&self) -> Result<(), Stop> {
        Ok(self.try_locks()?)
    }

    fn watch(&self, tell: Box<dyn FnMut() -> bool + Send>) -> io::Result<Option<Watching>> {
        self.watcher().start(tell).map(Some)
    }

    fn photograph(&self, figure: &str, photo: &PhotoKept, pixels: [usize; 2]) -> Unread {
        let folder = self.folder().join("figures").join(figure);
        let (disk, photo) = (self.shared_disk(), photo.clone());
        Box::new(move || {
            let shown = show_photo(disk.as_ref(), &folder, &photo, pixels);
            shown.map_err(|fault| fault.to_string())
        })
    }

    fn damage(&self, figure: Option<&str>) -> Option<String> {
        // The shop's own book touches every figure; the one in front comes before it.
        let own = figure.map(|figure| Book::Figure(figure.to_owned()));
        let own = own.and_then(|own| self.damaged().get_key_value(&own));
        let mut others = self.damaged().iter();
        let others = others.find(|(book, _)| figure.is_none() || **book == Book::Shop);
        let (book, damage) = own.or(others)?;
        let what = match damage {
            Damage::Unread(_) | Damage::NoLine(_) => "cannot be read",
            Damage::Places(_) => "has broken lines",
            Damage::Short { .. } => "lost lines",
            Damage::Another { .. } => "is not the one it was",
            Damage::Gone { .. } => "is gone",
            Damage::Torn => "has a torn end",
        };
        // What to do stands first: a low header cuts the rest.
        let name = book_name(book);
        Some(format!("knuckle audit: {name}: its book {what}"))
    }

    fn unsound(&self) -> Vec<(String, String)> {
        Keeper::unsound(self).collect()
    }

    fn lines(&self, book: &Book) -> Result<Vec<Line>, Stop> {
        Ok(Keeper::lines(self, book)?)
    }

    fn since(&self, span: &DaySpan) -> Result<Vec<KeptLine>, Stop> {
        let books = books(Keeper::house(self));
        Ok(gather_day(self.disk(), self.folder(), &books, span)?.0)
    }

    fn stood(&self, until: DateTime<FixedOffset>) -> Result<Standing, Stop> {
        let books = books(Keeper::house(self));
        Ok(standing_until(self.disk(), self.folder(), &books, until)?)
    }
}
