//! The supervisor's page: a day or a week in ten points, each row with the number of the line
//! that it leads to, to be read in three minutes. One model, shown as text, on paper and on
//! the screen; the whole of it, or what concerns one figure or one person.
//!
//! Start reading at [`day_page`]; `points` makes the rows.

mod points;

use chrono::{DateTime, FixedOffset};

use super::day::DaySpan;
use super::harmless::harmless;
use crate::deed::Promise;

pub use points::day_page;

/// What a page is asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PageAsk {
    /// The day, or the days.
    pub span: DaySpan,
    /// Only this book: a figure id, or `shop`.
    pub figure: Option<String>,
    /// Only what this person did, wrote or may sign.
    pub by: Option<String>,
}

/// A forecast that was reckoned for a page of today.
#[derive(Debug, Clone, PartialEq)]
pub struct Foreseen {
    /// Its rows.
    pub rows: Vec<Promise>,
    /// As of when.
    pub at: DateTime<FixedOffset>,
}

/// The supervisor's page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayPage {
    /// Name over the door.
    pub shop: String,
    /// What was asked.
    pub ask: PageAsk,
    /// As of when what waits and what runs is told.
    pub as_of: DateTime<FixedOffset>,
    /// The ten points in their order.
    pub points: Vec<Point>,
}

/// One point of the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Point {
    /// Its number, 1 to 10.
    pub number: u8,
    /// What it is about.
    pub title: &'static str,
    /// Its rows; empty when there is nothing to tell.
    pub rows: Vec<PageRow>,
    /// Whether what it tells was reckoned at all; `false` of promises before the first forecast.
    pub is_reckoned: bool,
}

/// What stands at a point whose sums nobody made: nothing can be said of it.
pub const NOT_RECKONED: &str = "not reckoned";

/// One row of a point.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PageRow {
    /// The row in words.
    pub text: String,
    /// The line it leads to: book and number.
    pub line: Option<(String, u64)>,
    /// The book it is about; `None` for the shop as a whole.
    pub book: Option<String>,
    /// Who did, wrote or may sign it.
    pub who: Vec<String>,
}

impl PageAsk {
    /// Returns the ask for all that happened on these days.
    pub fn whole(span: DaySpan) -> Self {
        Self {
            span,
            figure: None,
            by: None,
        }
    }

    /// Returns whether a row belongs on the page.
    pub(super) fn wants(&self, row: &PageRow) -> bool {
        let is_in = self.figure.is_none() || self.figure == row.book;
        let is_by = self.by.as_ref().is_none_or(|by| row.who.contains(by));
        is_in && is_by
    }
}

impl DayPage {
    /// Returns the day or the days in words, such as `Wednesday 25 November 2026`.
    pub fn days(&self) -> String {
        let (first, last) = (self.ask.span.first, self.ask.span.date);
        if first == last {
            return last.format("%A %-d %B %Y").to_string();
        }
        format!(
            "{} to {}",
            first.format("%A %-d %B"),
            last.format("%A %-d %B %Y")
        )
    }

    /// Returns as of when it is told: `as it stood at 18:00`, `at Thu 18:00` within a week, `at its
    /// end`; of days to come, that they have not been.
    pub fn stood(&self) -> String {
        let (span, zone) = (self.ask.span, self.ask.span.zone);
        let local = zone.show(self.as_of.to_utc());
        if local.date_naive() < span.first {
            let now = local.format("%a %-d %b %H:%M");
            return format!("not yet; what waits is told as of {now}");
        }
        if !span.holds(self.as_of) {
            return "as it stood at its end".to_owned();
        }
        let hour = if span.is_long() { "%a %H:%M" } else { "%H:%M" };
        format!("as it stood at {}", local.format(hour))
    }

    /// Returns as of when and how far it is told: `as it stood at 18:00, only hare`.
    pub fn dated(&self) -> String {
        let only = match self.only() {
            only if only.is_empty() => only,
            only => format!(", {only}"),
        };
        format!("{}{only}", self.stood())
    }

    /// Returns what it is narrowed to, in words: empty for the whole page.
    pub fn only(&self) -> String {
        match (&self.ask.figure, &self.ask.by) {
            (None, None) => String::new(),
            (Some(figure), None) => format!("only {figure}"),
            (None, Some(by)) => format!("only {by}"),
            (Some(figure), Some(by)) => format!("only {figure}, only {by}"),
        }
    }

    /// Returns all rows in their order, each with its point.
    pub fn rows(&self) -> impl Iterator<Item = (&Point, &PageRow)> {
        let points = self.points.iter();
        points.flat_map(|point| point.rows.iter().map(move |row| (point, row)))
    }

    /// Returns the page as plain text, each row with its line in brackets.
    pub fn text(&self) -> String {
        let head = format!("{}, {}", self.days(), self.dated());
        let mut lines = vec![
            harmless(&self.shop).into_owned(),
            harmless(&head).into_owned(),
        ];
        for point in &self.points {
            lines.push(format!("\n{}", point.head()));
            let rows = point.rows.iter();
            lines.extend(rows.map(|row| format!("    {}", harmless(&row.told()))));
            lines.extend(point.none().map(|none| format!("    {none}")));
        }
        lines.push(String::new());
        lines.join("\n")
    }
}

impl Point {
    /// Returns what stands where it has no row: that there is nothing to tell, or that nobody
    /// reckoned it; `None` where it has rows.
    pub fn none(&self) -> Option<&'static str> {
        match (self.rows.is_empty(), self.is_reckoned) {
            (false, _) => None,
            (true, true) => Some("–"),
            (true, false) => Some(NOT_RECKONED),
        }
    }

    /// Returns its title with its number: `point 3: gates overruled`.
    pub fn head(&self) -> String {
        format!("point {}: {}", self.number, self.title)
    }
}

impl PageRow {
    /// Returns the number of its line, such as `hare:12`; empty where none is behind it.
    pub fn number(&self) -> String {
        let line = self.line.as_ref();
        line.map_or_else(String::new, |(book, n)| format!("{book}:{n}"))
    }

    /// Returns the row in words with its line in brackets.
    pub fn told(&self) -> String {
        let line = match self.number() {
            none if none.is_empty() => none,
            number => format!("  [{number}]"),
        };
        format!("{}{line}", self.text)
    }
}
