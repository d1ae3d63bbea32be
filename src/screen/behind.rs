//! What the screen asks of the shop behind it. The screen itself never writes.

use chrono::{DateTime, FixedOffset, NaiveDate};

use crate::deed::{Deed, Line};
use crate::report::{DayLine, DayMark, mark, tell};
use crate::shop::{Keeper, KeptLine, Stop};
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

    fn day(&self, on: NaiveDate) -> Result<Vec<DayLine>, Stop> {
        let house = Keeper::house(self);
        let figures = house.cards.figures.keys();
        let books = std::iter::once(Book::Shop).chain(figures.cloned().map(Book::Figure));
        let mut all = Vec::new();
        for book in books {
            all.extend(day_of(house, &book, &self.lines(&book)?, on));
        }
        all.sort_by_key(|line| line.at);
        Ok(all)
    }
}

/// Returns the lines of one book on a day; a line struck on any day is marked.
pub fn day_of(house: House<'_>, book: &Book, lines: &[Line], on: NaiveDate) -> Vec<DayLine> {
    let struck: Vec<u64> = lines
        .iter()
        .filter_map(|line| match &line.deed {
            Deed::Struck(deed) => Some(deed.line),
            _ => None,
        })
        .collect();
    let figure = match book {
        Book::Shop => "",
        Book::Figure(id) => id.as_str(),
    };
    lines
        .iter()
        .filter(|line| is_on(line.at, on))
        .map(|line| DayLine {
            n: line.n,
            at: line.at,
            figure: figure.to_owned(),
            by: line.by.clone(),
            text: tell(line, house.cards),
            mark: if struck.contains(&line.n) {
                DayMark::Struck
            } else {
                mark(line)
            },
        })
        .collect()
}

/// A line belongs to the day that its own place had.
fn is_on(at: DateTime<FixedOffset>, day: NaiveDate) -> bool {
    at.date_naive() == day
}
