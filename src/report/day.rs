//! The lines of one day over all journals.

use std::collections::BTreeSet;

use chrono::{DateTime, Days, FixedOffset, NaiveDate, NaiveTime, TimeDelta, Weekday};

use super::tell::{DayLine, DayMark, mark, tell};
use crate::card::{Cards, SHOP_BOOK, Shop};
use crate::deed::Deed;
use crate::now::Zone;
use crate::plan::noon_after;
use crate::shop::KeptLine;
use crate::standing::Book;

/// A day in the zone of a shop, 23, 24 or 25 hours long, or several in a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DaySpan {
    /// The first day.
    pub first: NaiveDate,
    /// The last day; the same where there is only one.
    pub date: NaiveDate,
    /// The zone whose midnight counts.
    pub zone: Zone,
}

/// The farthest that a place of this earth may be ahead of or behind universal time, hours
/// (UTC+14 on the Line Islands, UTC−12; zone database of IANA), rounded up.
const FARTHEST_H: i64 = 15;

/// Returns the zone of a shop: the one on its card, else this computer's. A name that is no
/// zone is a flaw of the card and is told there.
pub fn zone_of(shop: &Shop) -> Zone {
    shop.time_zone.parse().map_or(Zone::Local, Zone::Named)
}

/// Returns the offset of tomorrow: by the next noon it holds, whatever happens to clocks tonight.
pub fn tomorrow(now: DateTime<FixedOffset>, zone: Zone) -> FixedOffset {
    *zone.show(noon_after(now).to_utc()).offset()
}

impl DaySpan {
    /// Returns one day.
    pub fn day(date: NaiveDate, zone: Zone) -> Self {
        Self {
            first: date,
            date,
            zone,
        }
    }

    /// Returns the week of a day, Monday to Sunday (ISO 8601-1:2019, 3.1.1.22).
    pub fn week(date: NaiveDate, zone: Zone) -> Self {
        let week = date.week(Weekday::Mon);
        let (first, last) = (week.checked_first_day(), week.checked_last_day());
        Self {
            first: first.unwrap_or(date),
            date: last.unwrap_or(date),
            zone,
        }
    }

    /// Returns whether it is more than one day.
    pub fn is_long(&self) -> bool {
        self.first < self.date
    }

    /// Returns whether a moment falls on these days, whatever offset it was written with.
    pub fn holds(&self, at: DateTime<FixedOffset>) -> bool {
        let date = self.zone.show(at.to_utc()).date_naive();
        self.first <= date && date <= self.date
    }

    /// Returns a moment that is surely before the first day begins, by less than two days: where
    /// to begin reading.
    pub fn surely_before(&self) -> DateTime<FixedOffset> {
        let midnight = self.first.and_time(NaiveTime::MIN).and_utc();
        let before = midnight.checked_sub_signed(TimeDelta::hours(FARTHEST_H));
        before.unwrap_or(midnight).fixed_offset()
    }

    /// Returns the first minute that is no longer of the last day.
    pub fn ends(&self) -> DateTime<FixedOffset> {
        let next = self.date.checked_add_days(Days::new(1));
        let midnight = next.unwrap_or(self.date).and_time(NaiveTime::MIN).and_utc();
        // Every change of offset falls on a whole minute, so minutes are steps enough.
        let mut after = midnight + TimeDelta::hours(FARTHEST_H);
        let mut within = midnight - TimeDelta::hours(FARTHEST_H);
        while within + TimeDelta::minutes(1) < after {
            let middle = within + TimeDelta::minutes((after - within).num_minutes() / 2);
            if self.zone.show(middle).date_naive() <= self.date {
                within = middle;
            } else {
                after = middle;
            }
        }
        self.zone.show(after)
    }
}

/// Returns the name of a book on a page: `shop`, or the figure's id.
pub fn book_name(book: &Book) -> &str {
    match book {
        Book::Shop => SHOP_BOOK,
        Book::Figure(id) => id,
    }
}

/// Returns which lines are struck by lines among these.
pub fn struck_lines(kept: &[KeptLine]) -> BTreeSet<(Book, u64)> {
    kept.iter()
        .filter_map(|one| match &one.line.deed {
            Deed::Struck(deed) => Some((one.book.clone(), deed.line)),
            _ => None,
        })
        .collect()
}

/// Returns the lines of a day as sentences, by time, over all books. `kept` may hold lines of
/// other days: those after it tell what was struck.
pub fn day_lines(kept: &[KeptLine], span: &DaySpan, cards: &Cards) -> Vec<DayLine> {
    let struck = struck_lines(kept);
    kept.iter()
        .filter(|one| span.holds(one.line.at))
        .map(|one| DayLine {
            n: one.line.n,
            at: span.zone.show(one.line.at.to_utc()),
            figure: match &one.book {
                Book::Shop => String::new(),
                Book::Figure(id) => id.clone(),
            },
            by: one.line.by.clone(),
            text: tell(&one.line, cards),
            mark: if struck.contains(&(one.book.clone(), one.line.n)) {
                DayMark::Struck
            } else {
                mark(&one.line)
            },
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{DaySpan, day_lines};
    use crate::card::Cards;
    use crate::deed::{Deed, Jotted, Line, Struck};
    use crate::now::Zone;
    use crate::report::DayMark;
    use crate::shop::KeptLine;
    use crate::standing::Book;
    use chrono::{DateTime, NaiveDate};
    use chrono_tz::Tz;

    fn lisbon(date: &str) -> DaySpan {
        let date = date.parse::<NaiveDate>().unwrap();
        DaySpan::day(date, Zone::Named(Tz::Europe__Lisbon))
    }

    fn jotted(n: u64, at: &str, deed: Deed) -> KeptLine {
        KeptLine {
            book: Book::Figure("hare".into()),
            line: Line {
                n,
                at: DateTime::parse_from_rfc3339(at).unwrap(),
                by: "odile".into(),
                bench: "long bench".into(),
                deed,
                entered_later: None,
                strange: Vec::new(),
            },
        }
    }

    #[test]
    fn a_line_near_midnight_falls_on_the_day_of_the_shop() {
        let day = lisbon("2026-11-25");
        let holds = |at| day.holds(DateTime::parse_from_rfc3339(at).unwrap());
        assert!(holds("2026-11-25T00:00:00Z"));
        assert!(holds("2026-11-25T23:59:59.999Z"));
        assert!(!holds("2026-11-26T00:00:00Z"));
        // Written at a bench whose clock was set to another zone.
        assert!(holds("2026-11-26T00:30:00+01:00"));
        assert!(!holds("2026-11-25T00:30:00+01:00"));
    }

    /// Summer time begins at 01:00 UTC on the last Sunday of March and ends at 01:00 UTC on the
    /// last Sunday of October (Directive 2000/84/EC, articles 2 and 3): 29 March and
    /// 25 October in 2026. Lisbon keeps universal time in winter.
    #[test]
    fn a_day_of_23_and_one_of_25_hours_end_where_they_end() {
        let ends = |date| lisbon(date).ends().to_rfc3339();
        assert_eq!(ends("2026-03-28"), "2026-03-29T00:00:00+00:00");
        assert_eq!(ends("2026-03-29"), "2026-03-30T00:00:00+01:00");
        assert_eq!(ends("2026-10-24"), "2026-10-25T00:00:00+01:00");
        assert_eq!(ends("2026-10-25"), "2026-10-26T00:00:00+00:00");
        let day = lisbon("2026-10-25");
        let holds = |at| day.holds(DateTime::parse_from_rfc3339(at).unwrap());
        assert!(holds("2026-10-24T23:00:00Z"), "00:00 of summer time");
        assert!(!holds("2026-10-24T22:59:59Z"));
        assert!(holds("2026-10-25T23:59:59Z"), "the 25th hour");
        assert!(
            day.surely_before() < DateTime::parse_from_rfc3339("2026-10-24T23:00:00Z").unwrap()
        );
    }

    #[test]
    fn a_line_struck_the_day_after_is_shown_as_struck() {
        let note = Deed::Jotted(Jotted {
            text: "ear found".into(),
        });
        let strike = Deed::Struck(Struck {
            line: 7,
            why: "it was the other ear".into(),
        });
        let kept = [
            jotted(7, "2026-11-25T10:00:00Z", note),
            jotted(8, "2026-11-26T10:00:00Z", strike),
        ];
        let lines = day_lines(&kept, &lisbon("2026-11-25"), &Cards::default());
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].mark, DayMark::Struck);
    }
}
