//! The ninth point: promises that are near, past, at risk or moved, by the forecast of today or
//! by the one that was noted last.

use chrono::NaiveDate;

use super::{Day, PageRow, plain};
use crate::card::SHOP_BOOK;
use crate::deed::Promise;
use crate::plan::is_at_risk;
use crate::reckon::counted;
use crate::report::moved::moved;
use crate::report::page::NOT_RECKONED;
use crate::standing::{FloorRow, HoldWaiting, JobState, Stage, floor, held_at, holds, offers};

/// Days ahead of a promise from which on the page names it. Chosen here: a month is about
/// what is left to move when a coat has to be laid anew.
const PROMISE_DAYS: i64 = 30;

impl Day<'_> {
    pub(super) fn promises(&self) -> Vec<PageRow> {
        let rows = floor(self.house, self.as_of).into_iter();
        let waiting = holds(self.house, self.as_of);
        let mut near: Vec<(NaiveDate, PageRow)> = rows
            .filter_map(|row| self.promise(&row, &waiting))
            .collect();
        near.sort_by_key(|(promised, _)| *promised);
        let mut rows: Vec<PageRow> = near.into_iter().map(|(_, row)| row).collect();
        let until = (self.span, self.as_of);
        let moved = moved(self.house, until, self.foreseen).into_iter();
        rows.extend(moved.map(|(figure, text, n)| PageRow {
            line: Some((SHOP_BOOK.to_owned(), n)),
            book: Some(figure),
            ..plain(text)
        }));
        rows
    }

    fn promise(&self, row: &FloorRow, waiting: &[HoldWaiting]) -> Option<(NaiveDate, PageRow)> {
        let promised = row.promised?;
        let all = offers(self.house, &row.figure);
        let done = all.iter().filter(|it| it.stage == Stage::Done).count();
        let left = all.iter().filter(|it| it.stage.is_ahead()).count();
        let seen = self.seen(&row.figure);
        let is_at_risk = seen.as_ref().is_some_and(|(seen, ..)| is_at_risk(seen));
        let days = (promised - self.last_seen()).num_days();
        if left == 0 || (PROMISE_DAYS < days && !is_at_risk) {
            return None;
        }
        let when = match days {
            past if past < 0 => format!("{} ago", counted(-past, "day")),
            0 => "today".to_owned(),
            ahead => format!("in {}", counted(ahead, "day")),
        };
        let end = seen.as_ref().map_or_else(
            || format!("; its end {NOT_RECKONED}"),
            |(seen, source, _)| {
                let risk = if is_at_risk { "▲ at risk: " } else { "" };
                format!("; {risk}{} ({source})", end_words(seen))
            },
        );
        let held = match row.waits_for.as_str() {
            "" => String::new(),
            what => format!("; waits for {what}"),
        };
        let text = format!(
            "{}: promised {promised}, {when}; {} finished, {left} to go{end}{held}",
            row.figure,
            counted(done, "job")
        );
        // A forecast of this minute has no line: it leads to what holds the figure; where nothing is
        // begun, to the walk finished last.
        let held_at = held_at(self.house, &row.figure, (waiting, &self.clocks));
        let finished = || {
            let jobs = self.house.figure(&row.figure)?.jobs.iter();
            let ends = jobs.filter_map(|job| match &job.state {
                JobState::Finished(stamp) => Some(stamp.n),
                _ => None,
            });
            Some((row.figure.clone(), ends.max()?))
        };
        let page = PageRow {
            line: seen
                .and_then(|(_, _, noted)| noted)
                .map(|n| (SHOP_BOOK.to_owned(), n))
                .or_else(|| held_at.map(|n| (row.figure.clone(), n)))
                .or_else(finished),
            book: Some(row.figure.clone()),
            ..plain(text)
        };
        Some((promised, page))
    }

    /// Whether there is a forecast of today, or one that was noted by then.
    pub(super) fn is_reckoned(&self) -> bool {
        let mut noted = self.house.standing.shop.forecasts.iter();
        self.foreseen.is_some() || noted.any(|(_, stamp)| stamp.at <= self.as_of)
    }

    /// What a forecast saw of a figure, where it comes from in words, and the line that noted it.
    fn seen(&self, figure: &str) -> Option<(&Promise, String, Option<u64>)> {
        if let Some(foreseen) = self.foreseen {
            let row = foreseen.rows.iter().find(|row| row.figure == figure)?;
            let source = format!("reckoned at {}", self.hour(foreseen.at));
            return Some((row, source, None));
        }
        let noted = self.house.standing.shop.forecasts.iter().rev();
        let mut noted = noted.filter(|(_, stamp)| stamp.at <= self.as_of);
        noted.find_map(|(forecast, stamp)| {
            let row = forecast.rows.iter().find(|row| row.figure == figure)?;
            let local = self.span.zone.show(stamp.at.to_utc());
            let source = format!("forecast noted on {}", local.format("%-d %b %Y"));
            Some((row, source, Some(stamp.n)))
        })
    }
}

/// The late end, and how often it comes after the promise.
fn end_words(seen: &Promise) -> String {
    let end = seen.ninety.map_or_else(
        || "no end in sight".to_owned(),
        |day| format!("done by {day} in nine of ten runs"),
    );
    let late = seen.risk_percent;
    let late = late.map_or_else(String::new, |late| format!(", late in {late} %"));
    let give = seen.give_days.filter(|give| 0 < *give);
    let give = give.map_or_else(String::new, |give| {
        let give = counted(i64::from(give), "day");
        format!(", by chance alone {give} to either side")
    });
    format!("{end}{late}{give}")
}
