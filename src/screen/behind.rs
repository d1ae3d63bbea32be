//! What the screen asks of the shop behind it. The screen itself never writes.

use std::io;

use chrono::NaiveDate;

use crate::deed::PhotoKept;
use crate::report::{DayLine, DaySpan, day_lines, gather_day, zone_of};
use crate::shop::{Keeper, KeptLine, Picture, Stop, Watching, show_photo};
use crate::standing::{Book, House, Intent, Moment};

/// The shop behind the screen.
pub trait Bench {
    /// Returns cards and standing as they are on disk.
    fn house(&self) -> House<'_>;

    /// Decides an intent, keeps its lines on disk and replays what was kept.
    ///
    /// # Errors
    /// [`Stop::Refused`] when it may not be: nothing was written. [`Stop::Trouble`] when it
    /// could not be kept: writing stops, reading goes on.
    fn act(&mut self, intent: &Intent, moment: &Moment) -> Result<Vec<KeptLine>, Stop>;

    /// Takes in what other benches have kept since; says whether that was anything.
    ///
    /// # Errors
    /// [`Stop::Trouble`] when the journals cannot be read.
    fn follow(&mut self) -> Result<bool, Stop>;

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

    /// Returns a photograph of a figure, upright, made to fit into so many pixels.
    ///
    /// # Errors
    /// Why it cannot be shown, in words.
    fn photograph(
        &self,
        _figure: &str,
        _photo: &PhotoKept,
        _pixels: [usize; 2],
    ) -> Result<Picture, String> {
        Err("there are no photographs behind this screen".to_owned())
    }

    /// Returns the lines of a day in words, over all journals, oldest first.
    ///
    /// # Errors
    /// [`Stop::Trouble`] when the journals cannot be read.
    fn day(&self, on: NaiveDate) -> Result<Vec<DayLine>, Stop>;
}

impl Bench for Keeper {
    fn house(&self) -> House<'_> {
        Keeper::house(self)
    }

    fn act(&mut self, intent: &Intent, moment: &Moment) -> Result<Vec<KeptLine>, Stop> {
        Keeper::act(self, intent, moment)
    }

    fn follow(&mut self) -> Result<bool, Stop> {
        Ok(!Keeper::follow(self)?.is_empty())
    }

    fn try_keeping(&self) -> Result<(), Stop> {
        Ok(self.try_locks()?)
    }

    fn watch(&self, tell: Box<dyn FnMut() -> bool + Send>) -> io::Result<Option<Watching>> {
        self.watcher().start(tell).map(Some)
    }

    fn photograph(
        &self,
        figure: &str,
        photo: &PhotoKept,
        pixels: [usize; 2],
    ) -> Result<Picture, String> {
        let folder = self.folder().join("figures").join(figure);
        show_photo(self.disk(), &folder, photo, pixels).map_err(|fault| fault.to_string())
    }

    fn day(&self, on: NaiveDate) -> Result<Vec<DayLine>, Stop> {
        let cards = Keeper::house(self).cards;
        let span = DaySpan::day(on, zone_of(&cards.shop));
        let figures = cards.figures.keys().cloned().map(Book::Figure);
        let books: Vec<Book> = std::iter::once(Book::Shop).chain(figures).collect();
        let kept = gather_day(self.disk(), self.folder(), &books, &span)?;
        Ok(day_lines(&kept, &span, cards))
    }
}
