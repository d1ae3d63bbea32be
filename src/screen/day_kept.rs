//! The Day as the screen keeps it between two looks: read when it opens, when the hand turns
//! to another day, when a line was kept, and the page once a minute; never at each key.

use std::sync::Arc;

use chrono::{DateTime, Days, FixedOffset, NaiveDate};

use crate::report::{
    DayLine, DayPage, DaySpan, Entry, Foreseen, PageAsk, day_lines, day_page, entry, zone_of,
};
use crate::shop::Stop;
use crate::standing::{Book, House};

use super::behind::Bench;
use super::sight::Sight;
use super::view::{DayLeaf, View};

/// What was read, and for what.
#[derive(Debug, Default)]
pub(super) struct DayKept {
    lines: Option<(NaiveDate, Vec<DayLine>)>,
    /// The page, the minute it was made in, and when the forecast that it tells was begun.
    page: Option<PageKept>,
    entry: Option<EntryKept>,
}

/// A page with the minute and the forecast it was made of.
type PageKept = (i64, Option<DateTime<FixedOffset>>, Arc<DayPage>);

/// A line by its book and number, and what it says, if it is there.
type EntryKept = ((String, u64), Option<Arc<Entry>>);

impl DayKept {
    /// Puts into the sight what the Day shows.
    ///
    /// # Errors
    /// [`Stop::Trouble`] when the journals cannot be read.
    pub(super) fn look(
        &mut self,
        bench: &dyn Bench,
        (view, sight): (&View, &mut Sight),
        foreseen: Option<&Foreseen>,
    ) -> Result<(), Stop> {
        let zone = zone_of(&sight.shop);
        let today = zone.show(sight.now.to_utc()).date_naive();
        let back = u64::from(view.day.back);
        let before = |days| today.checked_sub_days(Days::new(days)).unwrap_or(today);
        match view.day.leaf {
            DayLeaf::Journal => {
                let date = before(back);
                self.journal(bench, DaySpan::day(date, zone), sight)?;
                sight.other_day = (date != today).then_some(date);
            }
            DayLeaf::Page => {
                let span = DaySpan::day(before(back), zone);
                self.page(bench, span, (view, sight), foreseen)?;
            }
            DayLeaf::Week => {
                let span = DaySpan::week(before(7 * back), zone);
                self.page(bench, span, (view, sight), foreseen)?;
            }
        }
        if let Some((book, n)) = &view.day.entry {
            sight.entry = self.entry(bench, (book, *n))?;
        }
        Ok(())
    }

    fn journal(&mut self, bench: &dyn Bench, span: DaySpan, sight: &mut Sight) -> Result<(), Stop> {
        if self.lines.as_ref().is_none_or(|(day, _)| *day != span.date) {
            let lines = day_lines(&bench.since(&span)?, &span, bench.house().cards);
            self.lines = Some((span.date, lines));
        }
        let lines = self.lines.as_ref().map(|(_, lines)| lines.clone());
        sight.day = lines.unwrap_or_default();
        Ok(())
    }

    fn page(
        &mut self,
        bench: &dyn Bench,
        span: DaySpan,
        (view, sight): (&View, &mut Sight),
        foreseen: Option<&Foreseen>,
    ) -> Result<(), Stop> {
        let ask = PageAsk {
            span,
            figure: view.day.figure.clone(),
            by: view.day.by.clone(),
        };
        let minute = sight.now.timestamp().div_euclid(60);
        let at = foreseen.map(|foreseen| foreseen.at);
        let fits =
            |(made, told, page): &PageKept| (*made, *told) == (minute, at) && page.ask == ask;
        if !self.page.as_ref().is_some_and(fits) {
            let kept = bench.since(&span)?;
            let ends = span.ends();
            let page = if ends <= sight.now {
                // The page of days that are over is told as it stood at their end.
                let standing = bench.stood(ends)?;
                let cards = bench.house().cards;
                let house = House {
                    cards,
                    standing: &standing,
                };
                day_page(&kept, house, (&ask, ends), None)
            } else {
                day_page(&kept, bench.house(), (&ask, sight.now), foreseen)
            };
            self.page = Some((minute, at, Arc::new(page)));
        }
        sight.paper = self.page.as_ref().map(|(_, _, page)| Arc::clone(page));
        Ok(())
    }

    fn entry(
        &mut self,
        bench: &dyn Bench,
        (name, n): (&str, u64),
    ) -> Result<Option<Arc<Entry>>, Stop> {
        let is_it = |((book, line), _): &((String, u64), _)| book == name && *line == n;
        if !self.entry.as_ref().is_some_and(is_it) {
            let house = bench.house();
            let figure = house.cards.figures.contains_key(name);
            let book = if figure {
                Book::Figure(name.to_owned())
            } else {
                Book::Shop
            };
            let lines = bench.lines(&book)?;
            let told = entry(house, (&book, &lines), (n, zone_of(&house.cards.shop)));
            self.entry = Some(((name.to_owned(), n), told.map(Arc::new)));
        }
        Ok(self.entry.as_ref().and_then(|(_, told)| told.clone()))
    }
}
