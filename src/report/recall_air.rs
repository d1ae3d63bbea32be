//! Everything that was laid in such air: colder than so much, damper than so much.

use chrono::{DateTime, FixedOffset, TimeDelta};
use std::collections::BTreeMap;

use super::needle::Needles;
use super::recall::{
    Archive, FEWEST, Found, OneFigure, Shelf, figures, read, recalled, sort, taken_once,
};
use super::shown::number;
use crate::card::MaterialKind;
use crate::deed::{Air, ClockRule, Deed, Line};
use crate::journal::{JournalFault, read_bytes};
use crate::shop::{book_path, in_shares};
use crate::standing::{Book, is_layer, struck};

/// Air that is asked for; both limits together where both are given.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AirAsk {
    /// Relative humidity above this, %.
    pub humidity_above_percent: Option<f64>,
    /// Air colder than this, °C.
    pub colder_than_c: Option<f64>,
}

/// A reading counts for what is laid within so many hours after it (*common practice*: the
/// air of a heated room moves within an hour or two; a sensor that speaks every four hours
/// counts as having been there).
const COUNTS_H: i64 = 4;

impl AirAsk {
    fn holds(self, air: &Air) -> bool {
        self.humidity_above_percent
            .is_none_or(|above| above < air.humidity_percent)
            && self.colder_than_c.is_none_or(|below| air.temp_c < below)
    }
}

/// Readings of a shop by room, oldest first.
struct Log(BTreeMap<String, Vec<(DateTime<FixedOffset>, Air)>>);

impl Log {
    /// Returns the reading of a room that counts at a moment.
    fn at(&self, room: &str, at: DateTime<FixedOffset>) -> Option<&Air> {
        let log = self.0.get(room)?;
        let until = log.partition_point(|(read, _)| *read <= at);
        let (read, air) = log.get(until.checked_sub(1)?)?;
        (at - *read <= TimeDelta::hours(COUNTS_H)).then_some(air)
    }
}

impl Archive<'_> {
    /// Returns everything that was laid in such air, and in which air it was: coats, mixes, size,
    /// and what went on by a lot that was picked, such as leaf, filler or glaze.
    ///
    /// # Errors
    /// As [`Archive::of_lot`].
    pub fn in_air(&self, ask: AirAsk) -> Result<Found, JournalFault> {
        let (log, ledger) = (self.air_log()?, self.shelf()?);
        let shares = in_shares(self.books, FEWEST, |books| {
            self.air_in(books, ask, (&log, &ledger))
        });
        let mut found = Found::of(shares)?;
        sort(&mut found.recalled);
        Ok(found)
    }

    fn air_in(
        &self,
        books: &[Book],
        ask: AirAsk,
        (log, ledger): (&Log, &Shelf<'_>),
    ) -> Result<Found, JournalFault> {
        let records = self.lot_records().into_iter();
        let records = records.map(|record| format!(r#""record":"{record}""#));
        let deeds = [
            r#""coat":{"#,
            r#""deed":"mixed""#,
            r#""rule":"tack""#,
            r#""deed":"moved""#,
        ];
        let about = Needles::new(deeds.into_iter().map(str::to_owned).chain(records));
        let mut found = Found::default();
        for (book, figure) in figures(books) {
            let Some(bytes) = self.bytes(book, &mut found.unread)? else {
                continue;
            };
            let mut lines = read(&bytes, &about.lines_in(&bytes));
            if lines.is_empty() {
                continue;
            }
            let one = self.look_at(figure, &bytes, ledger);
            lines.retain(|line| !one.struck.contains(&line.n));
            let laid = laid_in((&lines, &one), log, ledger);
            lines.retain(|line| laid.contains_key(&line.n));
            let mut lines = taken_once(lines, self.cards);
            let air = |line: &Line| laid.get(&line.n).copied().flatten();
            found.not_read += lines.iter().filter(|line| air(line).is_none()).count();
            lines.retain(|line| air(line).is_some_and(|air| ask.holds(air)));
            let mut here = recalled(book, lines, (&one, ledger));
            for recalled in &mut here {
                recalled.note = air(&recalled.line).map(words).unwrap_or_default();
            }
            found.recalled.extend(here);
        }
        Ok(found)
    }

    fn air_log(&self) -> Result<Log, JournalFault> {
        let bytes = read_bytes(self.disk, &book_path(self.folder, &Book::Shop))?;
        let about = Needles::new([r#""deed":"air""#, r#""deed":"struck""#]);
        let lines = read(&bytes, &about.lines_in(&bytes));
        let struck = struck(&lines);
        let mut log = Log(BTreeMap::new());
        for line in lines {
            if let Deed::Air(air) = line.deed
                && !struck.contains(&line.n)
            {
                let room = log.0.entry(air.room.clone()).or_default();
                room.push((line.at, air));
            }
        }
        for room in log.0.values_mut() {
            room.sort_by_key(|(at, _)| *at);
        }
        Ok(log)
    }
}

/// Returns the lines that laid something, by their numbers, each with the air of the room that the
/// figure stood in then.
fn laid_in<'a>(
    (lines, one): (&[Line], &OneFigure),
    log: &'a Log,
    ledger: &Shelf<'_>,
) -> BTreeMap<u64, Option<&'a Air>> {
    let mut room = one.card.as_ref().map_or("", |card| card.room.as_str());
    let mut laid = BTreeMap::new();
    for line in lines {
        if let Deed::Moved(deed) = &line.deed {
            room = &deed.room;
        }
        if is_laid(line, ledger) {
            laid.insert(line.n, log.at(room, line.at));
        }
    }
    laid
}

/// Whether a line laid something: a coat, a mix, size, or a lot that stays on the figure. Size
/// and epoxy are picked before they are laid, and have lines of their own.
fn is_laid(line: &Line, ledger: &Shelf<'_>) -> bool {
    match &line.deed {
        Deed::Mixed(_) => true,
        Deed::Done(deed) => {
            let size = |rule: &ClockRule| matches!(rule, ClockRule::Tack { .. });
            deed.coat.is_some() || deed.starts.iter().any(|start| size(&start.rule))
        }
        Deed::Recorded(_) => ledger.picked(line).into_iter().any(|kind| match kind {
            MaterialKind::Size => false,
            MaterialKind::Consolidant => true,
            kind => is_layer(kind),
        }),
        _ => false,
    }
}

fn words(air: &Air) -> String {
    format!(
        "in air of {} °C and {} %",
        number(air.temp_c, 1),
        number(air.humidity_percent, 1)
    )
}
