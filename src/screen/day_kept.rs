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
    numbers: Numbers,
}

/// The numbers of the rows of a page: a row keeps its own while the page is open, whatever comes
/// between; what is new is numbered after all that were there.
#[derive(Debug, Default)]
struct Numbers {
    ask: Option<PageAsk>,
    known: Vec<RowId>,
}

/// What a row is known by: its point and its line, without a line its words; and how many like it
/// stand before it.
type RowId = (u8, Result<(String, u64), String>, usize);

impl Numbers {
    /// Returns the number of each row of a page, from 1.
    fn of(&mut self, page: &DayPage) -> Vec<usize> {
        if self.ask.as_ref() != Some(&page.ask) {
            self.ask = Some(page.ask.clone());
            self.known.clear();
        }
        let mut seen: Vec<RowId> = Vec::new();
        for (point, row) in page.rows() {
            let about = row.line.clone().ok_or_else(|| row.text.clone());
            let is_like = |id: &&RowId| id.0 == point.number && id.1 == about;
            let nth = seen.iter().filter(is_like).count();
            seen.push((point.number, about, nth));
        }
        let number = |id: RowId| {
            let place = self.known.iter().position(|known| *known == id);
            let place = place.unwrap_or_else(|| {
                self.known.push(id);
                self.known.len() - 1
            });
            place + 1
        };
        seen.into_iter().map(number).collect()
    }
}

/// A page with the minute and the forecast it was made of.
type PageKept = (i64, Option<DateTime<FixedOffset>>, Arc<DayPage>);

/// A line by its book and number, and what it says, if it is there.
type EntryKept = ((String, u64), Option<Arc<Entry>>);

impl DayKept {
    /// Forgets what was read, for a line was kept; the rows of an open page keep their numbers.
    pub(super) fn forget(&mut self) {
        let numbers = std::mem::take(&mut self.numbers);
        *self = Self {
            numbers,
            ..Self::default()
        };
    }

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
                self.numbers = Numbers::default();
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
            // The first forecast comes while the page is open: its rows stand in their order, and
            // only what stands below them gets other numbers.
            let first = matches!(self.page, Some((_, None, _))) && at.is_some();
            if first && view.day.typed.is_none() {
                self.numbers = Numbers::default();
            }
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
        let numbers = sight.paper.as_deref().map(|page| self.numbers.of(page));
        sight.paper_numbers = numbers.unwrap_or_default();
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

#[cfg(test)]
mod tests {
    use super::Numbers;
    use crate::card::Shop;
    use crate::report::{DayPage, DaySpan, PageAsk, PageRow, Point, zone_of};
    use chrono::{DateTime, NaiveDate};

    fn page(rows: [&[(&str, u64)]; 2]) -> DayPage {
        let day = NaiveDate::from_ymd_opt(2026, 11, 25).unwrap();
        let row = |(text, n): &(&str, u64)| PageRow {
            text: (*text).to_owned(),
            line: (0 < *n).then(|| ("hare".to_owned(), *n)),
            ..PageRow::default()
        };
        let points = (1..).zip(rows).map(|(number, rows)| Point {
            number,
            title: "a point",
            rows: rows.iter().map(row).collect(),
            is_reckoned: true,
        });
        DayPage {
            shop: String::new(),
            ask: PageAsk::whole(DaySpan::day(day, zone_of(&Shop::default()))),
            as_of: DateTime::default(),
            points: points.collect(),
        }
    }

    #[test]
    fn a_row_keeps_its_number_when_a_line_comes_between() {
        let mut numbers = Numbers::default();
        let before = page([&[("in", 1), ("walked", 4)], &[("sum", 0), ("asked", 3)]]);
        assert_eq!(numbers.of(&before), [1, 2, 3, 4]);
        // The words of a row with a line may change, as those of a promise or a clock do.
        let after = page([
            &[("in", 1), ("walked on", 4), ("walked", 9)],
            &[("asked", 8), ("sum", 0), ("asked", 3)],
        ]);
        assert_eq!(numbers.of(&after), [1, 2, 5, 6, 3, 4]);
        // Two rows of one line are two rows.
        let twice = page([&[("ready", 4), ("over", 4)], &[]]);
        assert_eq!(numbers.of(&twice), [2, 7]);
        // Another page begins anew.
        let mut other = before;
        other.ask.figure = Some("hare".to_owned());
        assert_eq!(numbers.of(&other), [1, 2, 3, 4]);
    }
}
