//! The part of the turn that asks all figures at once: the overview of the floor, the forecast
//! behind it, and the forecast that follows a day that was closed.

use chrono::{DateTime, FixedOffset};

use super::ahead;
use super::events::Reckoned;
use super::turn::Turn;
use super::view::{DayLeaf, Page};
use crate::standing::{Intent, Moment, OpenGate, floor, open_gates};

/// Returns what was made in this minute, or makes it.
fn of_this_minute<T>(
    kept: &mut Option<(i64, T)>,
    now: DateTime<FixedOffset>,
    make: impl FnOnce() -> T,
) -> &T {
    let minute = now.timestamp().div_euclid(60);
    let fresh = kept.take().filter(|(of, _)| *of == minute);
    &kept.insert(fresh.unwrap_or_else(|| (minute, make()))).1
}

impl Turn<'_> {
    /// The overview of all figures asks every one of them; it is made anew when a line was
    /// kept or another minute has come, and not at each key.
    pub(super) fn take_floor(&mut self, now: DateTime<FixedOffset>) {
        let page = self.view.page;
        let wanted = page == Page::Floor || (page == Page::Bench && self.view.figure.is_none());
        if !wanted {
            return;
        }
        let rows = of_this_minute(&mut self.floor, now, || floor(self.bench.house(), now));
        self.sight.take_floor(rows);
        if page == Page::Floor {
            self.reckon(now);
        }
        let last = self.bench.house().standing.shop.forecasts.last();
        let (rows, noted) = match (self.reckoning.foreseen(), last) {
            (Some(foreseen), _) => (foreseen.rows.as_slice(), None),
            (None, Some((noted, stamp))) => (noted.rows.as_slice(), Some(stamp.at)),
            (None, None) => (&[][..], None),
        };
        self.sight.at_risk = ahead::at_risk(rows);
        self.sight.risk_noted = noted;
        self.sight.reckoning = self.reckoning.is_under_way();
    }

    /// The open gates of all figures are asked for in the same way. One that shuts within the
    /// minute is gone at once.
    pub(super) fn take_gates(&mut self, now: DateTime<FixedOffset>) {
        if self.view.page != Page::Clocks {
            return;
        }
        let ask = || open_gates(self.bench.house(), None, now);
        let gates = of_this_minute(&mut self.gates, now, ask).iter();
        let is_good = |one: &&OpenGate| now < one.evidence.good_until;
        self.sight.open_gates = gates.filter(is_good).cloned().collect();
    }

    /// The page of the day tells the promises as the floor does.
    pub(super) fn reckon_for_page(&mut self, now: DateTime<FixedOffset>) {
        if self.view.page == Page::Day && self.view.day.leaf != DayLeaf::Journal {
            self.reckon(now);
        }
    }

    /// A day that was closed is followed by when all will be done, as it stands that evening;
    /// the closing itself is kept already, whatever becomes of this.
    pub(super) fn note_forecast(&mut self, intent: &Intent, at: DateTime<FixedOffset>) {
        match intent {
            Intent::CloseDay { .. } => {
                self.reckoning.note_for(&self.view.by);
                self.reckon(at);
            }
            Intent::OpenDay { .. } | Intent::Strike { .. } => self.reckoning.forget_note(),
            _ => {}
        }
    }

    /// Begins a forecast where a newer one is wanted and none is under way.
    fn reckon(&mut self, now: DateTime<FixedOffset>) {
        if !self.reckoning.is_due(now) {
            return;
        }
        let house = self.bench.house();
        if house.cards.figures.is_empty() {
            return self.reckoning.forget_note();
        }
        let preparing = ahead::preparing((self.bench.cards(), house.standing.clone()), now);
        if let Some(reckoned) = self.reckoning.begin(now, preparing) {
            self.reckoned(reckoned);
        }
    }

    /// A forecast came: the floor shows it, and a day that was closed is followed by it.
    pub(super) fn reckoned(&mut self, reckoned: Reckoned) {
        let (now, _) = self.dial.look();
        if let Some((forecast, Some(by))) = self.reckoning.take(reckoned, now) {
            let moment = Moment {
                by,
                ..self.moment(now)
            };
            match self.bench.act(&ahead::noted(&forecast), &moment) {
                Ok(_) => {
                    self.forget();
                    self.reckoning.was_noted();
                }
                Err(stop) => self.stopped(stop),
            }
        }
        // Lines were kept meanwhile: what a closed day waits for is made anew.
        if self.reckoning.owes_note() {
            self.reckon(now);
        }
    }

    /// The screen is closed: what follows a closed day is still noted.
    pub fn settle(&mut self) {
        while self.reckoning.owes_note() {
            match self.reckoning.wait() {
                Some(reckoned) => self.reckoned(reckoned),
                None => return,
            }
        }
    }
}
