//! The ruler of the night cut into columns: what each column shows, on paper and on the screen.
//! Where a column holds two states, the one that warns wins.

use chrono::{DateTime, FixedOffset, TimeDelta, Timelike};

use crate::plan::{Leafing, Night, PlaceSpan};

/// Minutes that a column may stand for, finest first.
const SCALES: [i64; 5] = [10, 15, 20, 30, 60];

/// What a column shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stretch {
    /// Nothing yet.
    Before,
    /// Nobody is there.
    Away,
    /// Somebody is there.
    There,
    /// Size laid now would not work.
    Shut,
    /// Size may be laid.
    Works,
    /// The best moment to lay size.
    Best,
    /// Size is being laid.
    Sizing,
    /// Not yet ready for leaf.
    Wet,
    /// Takes leaf.
    Ready,
    /// Leaf is being laid.
    Leafing,
    /// Takes no more leaf.
    Dead,
}

/// The scale of a night: where it begins, and what a column stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NightScale {
    from: DateTime<FixedOffset>,
    column_min: i64,
    columns: i64,
}

impl NightScale {
    /// Returns the finest scale that shows a night in at most `widest` columns; `None` for one
    /// without a plan.
    pub fn of(night: &Night, widest: i64) -> Option<Self> {
        let from = night.present.first()?.from;
        let from = from - TimeDelta::minutes(i64::from(from.minute()));
        let last = night.order.iter().map(|row| row.dead.max(row.end)).max()?;
        let minutes = (last - from).num_minutes() + 60;
        let fits = |column: &&i64| minutes <= **column * widest;
        let column_min = SCALES.iter().find(fits).copied().unwrap_or(60);
        Some(Self {
            from,
            column_min,
            columns: (minutes / column_min + 1).min(widest),
        })
    }

    /// Returns how many columns there are.
    pub fn columns(&self) -> i64 {
        self.columns
    }

    /// Returns the moment at which a column begins.
    pub fn at(&self, column: i64) -> DateTime<FixedOffset> {
        self.from + TimeDelta::minutes(column * self.column_min)
    }

    /// Returns whether the hour of a column is named: every third one.
    pub fn is_marked(&self, column: i64) -> bool {
        let at = self.at(column);
        at.minute() == 0 && at.hour().is_multiple_of(3)
    }

    /// Returns whether somebody is there.
    pub fn presence(&self, night: &Night, column: i64) -> Stretch {
        let at = self.at(column);
        let mut spans = night.present.iter();
        if spans.any(|span| span.from <= at && at < span.to) {
            Stretch::There
        } else {
            Stretch::Away
        }
    }

    /// Returns whether size may be laid.
    pub fn laying(&self, night: &Night, column: i64) -> Stretch {
        let (at, next) = (self.at(column), self.at(column + 1));
        let spans = if night.works.is_empty() {
            &night.likely
        } else {
            &night.works
        };
        if night.best.is_some_and(|best| at <= best && best < next) {
            Stretch::Best
        } else if spans.iter().any(|span| span.from < next && at <= span.to) {
            Stretch::Works
        } else {
            Stretch::Shut
        }
    }

    /// Returns what a panel shows as a whole: ready where its last place is, dead where its
    /// first is.
    pub fn panel(&self, row: &Leafing, column: i64) -> Stretch {
        self.sized(row, (row.ready, row.dead), column)
    }

    /// Returns what one place of a panel shows.
    pub fn place(&self, row: &Leafing, place: &PlaceSpan, column: i64) -> Stretch {
        self.sized(row, (place.ready, place.dead), column)
    }

    fn sized(
        &self,
        row: &Leafing,
        (ready, dead): (DateTime<FixedOffset>, DateTime<FixedOffset>),
        column: i64,
    ) -> Stretch {
        let (from, to) = (self.at(column), self.at(column + 1));
        if dead < to {
            Stretch::Dead
        } else if row.start < to && from < row.end {
            Stretch::Leafing
        } else if row.sized.from < to && from < row.sized.to {
            Stretch::Sizing
        } else if ready <= from {
            Stretch::Ready
        } else if row.sized.to <= from {
            Stretch::Wet
        } else {
            Stretch::Before
        }
    }
}
